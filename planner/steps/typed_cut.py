"""What was typed of a cut that was made, read; messages name the command line's options."""

from __future__ import annotations

from planner.errors import InputError
from planner.jobfile.job import Job
from planner.quantity import finite_number, parse_angle_deg
from planner.rotor.drills import parse_drill_mm
from planner.steps.done import AsMade
from planner.steps.requested_cut import KIND_WORDS

MOST_SECTOR_DEG = 150.0
"""As the files have it."""


def read_as_made(
    job: Job,
    *,
    depth: str | None = None,
    angle: float | None = None,
    on: str | None = None,
    drill: str | None = None,
    radius: str | None = None,
    length: str | None = None,
    kind: str | None = None,
    face: str | None = None,
    through: bool = False,
    deeper: int | None = None,
    sector: str | None = None,
) -> AsMade:
    """Return how a cut turned out, from what was typed; what was left out is as planned.

    Raises
    ------
    InputError
        If a size can't be read, or a kind, a face or a counterweight does not exist.
    """

    def size(text: str | None, name: str) -> float | None:
        return job.units.given(text, "length", name=name, above=0.0)

    if kind is not None and kind.lower() not in KIND_WORDS:
        raise InputError(
            f"--kind {kind}: there is no such cut", hint="rim, face, slug, fill, plug, turning, flat or bevel"
        )
    if face not in (None, "front", "rear"):
        raise InputError(f"--from {face}: there is no such face", hint="front or rear")
    names = [each.name for each in job.crankshaft.counterweights]
    if on is not None and on not in names:
        raise InputError(f"--on {on}: there is no such counterweight", hint=f"there are {', '.join(names)}")
    if angle is not None:
        angle = finite_number(str(angle), what="--angle")
    return AsMade(
        stop_mm=size(depth, "--depth"),
        dial_deg=angle,
        on=on,
        drill_mm=None if drill is None else parse_drill_mm(drill, job.units, name="--drill"),
        radius_mm=size(radius, "--radius"),
        length_mm=size(length, "--length"),
        kind=None if kind is None else KIND_WORDS[kind.lower()],
        face="front" if face == "front" else "rear" if face == "rear" else None,
        through=through,
        deeper=deeper,
        sector_deg=None if sector is None else _sector_deg(sector),
    )


def _sector_deg(text: str) -> float:
    sector = parse_angle_deg(text, name="--sector")
    if not 0.0 < sector <= MOST_SECTOR_DEG:
        raise InputError(
            f"--sector: given {sector:g} degrees, more than 0 and at most {MOST_SECTOR_DEG:g} is allowed",
            hint="the whole angle over which the rim was turned",
        )
    return sector
