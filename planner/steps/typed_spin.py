"""What was typed of a spin, read: four numbers, bobs, mounted parts, a known mass.

The command line and the page read the same texts; messages name the command line's options, which the page says by its own
labels.
"""

from __future__ import annotations

from collections.abc import Sequence

from planner.errors import InputError
from planner.frames import SIDES, MachineAngle
from planner.jobfile.job import Job
from planner.jobfile.plausible import refuse_beyond_reason
from planner.machine.spin import KnownMass
from planner.quantity import finite_number
from planner.steps.known_mass import places_of
from planner.steps.spin import looks_raw


def four_numbers(given: Sequence[str], job: Job) -> tuple[float, float, float, float]:
    """Return a reading typed as four texts: amounts in g*mm (or g), angles in machine degrees.

    Raises
    ------
    InputError
        If there are not four, or one is none.
    """
    if len(given) != 4:
        raise InputError(
            f"a spin needs four numbers, given {len(given)}",
            hint="left amount, left angle, right amount, right angle: `bobplan spin 5.85 205 5.07 12`",
        )
    amounts = [
        job.display_units.parse(text, job.display_kind, name=f"{side} amount", least=0.0)
        for side, text in zip(SIDES, given[::2], strict=True)
    ]
    for side, amount in zip(SIDES, amounts, strict=True):
        gmm, what = job.machine.amount_gmm(amount, side=side), f"{side} amount"
        refuse_beyond_reason("reading", gmm, what=what, units=job.units, widened=job.plausible)
    angles = [
        finite_number(text, what=f"{side} angle") for side, text in zip(SIDES, given[1::2], strict=True)
    ]
    for side, value in zip(SIDES, angles, strict=True):
        if not -360.0 <= value <= 360.0:
            raise InputError(
                f"{side} angle: given `{value:g}`, allowed -360 to 360 degrees",
                hint="the order is left amount, left angle, right amount, right angle",
            )
    return amounts[0], angles[0], amounts[1], angles[1]


def refuse_raw(given: Sequence[str], values: tuple[float, float, float, float], job: Job) -> None:
    """Refuse raw vibration typed as unbalance; an amount typed with its unit is taken at its word."""
    if not job.trials or any(letter.isalpha() for text in (given[0], given[2]) for letter in text):
        return
    if looks_raw(job, (values[0], values[2])):
        unit = job.display_unit
        raise InputError(
            f"{given[0]} and {given[2]} look like raw vibration, as in the trial runs; `spin` takes unbalance in {unit}",
            hint=f"`bobplan trial --reading {' '.join(given)}` turns it into unbalance and says what to enter; if it is "
            f'unbalance already, say its unit: `bobplan spin "{given[0]} {unit}" {given[1]} "{given[2]} {unit}" {given[3]}`',
        )


def read_bobs(text: str | None, job: Job) -> dict[str, float] | None:
    """Return the bobs typed as one mass or as ``1=1729,2=1729.5`` [g]; None when nothing was.

    Raises
    ------
    InputError
        If a throw is unknown or left out, or a mass is none.
    """
    if text is None:
        return None
    names = [throw.name for throw in job.crankshaft.throws]
    if "=" not in text:
        value = job.units.parse(text, "mass", name="--bobs", least=0.0)
        refuse_beyond_reason("bob", value, what="--bobs", units=job.units, widened=job.plausible)
        return dict.fromkeys(names, value)
    bobs: dict[str, float] = {}
    for part in text.split(","):
        name, _, mass = part.partition("=")
        if name.strip() not in names:
            raise InputError(
                f"--bobs: there is no throw `{name.strip()}`", hint=f"the throws are {', '.join(names)}"
            )
        bobs[name.strip()] = job.units.parse(mass, "mass", name=f"--bobs {name.strip()}", least=0.0)
        refuse_beyond_reason(
            "bob", bobs[name.strip()], what=f"--bobs {name.strip()}", units=job.units, widened=job.plausible
        )
    missing = [name for name in names if name not in bobs]
    if missing:
        raise InputError(
            f"--bobs: nothing is said of throw {', '.join(missing)}", hint="say 0 for a bare throw"
        )
    return bobs


def read_names(text: str) -> tuple[str, ...]:
    """Return the names of mounted parts typed with commas; ``none`` is none."""
    return () if text.strip() in ("", "none") else tuple(part.strip() for part in text.split(","))


def read_known_mass(
    job: Job,
    mass: str | None,
    radius: str | None,
    angle: float | None,
    at: str | None,
    offset: float | None,
    z: str | None,
) -> KnownMass | None:
    """Return a known mass with its place, from what was typed; None when nothing was.

    Raises
    ------
    InputError
        If the place is said without a mass, is not whole, or does not exist.
    """
    others = (radius, angle, at, offset, z)
    if mass is None:
        if any(value is not None for value in others):
            raise InputError(
                "a known mass's place is given, but not `--known-mass`",
                hint='for example `--known-mass "10 g"`',
            )
        return None
    places = places_of(job)
    if (
        at is not None
        and at not in places
        and (offset is None or at.startswith(("throw ", "counterweight ")))
    ):
        raise InputError(
            f"--known-at: given `{at}`",
            hint=f"allowed: {', '.join(places)}; another mark (a keyway) needs its angle in the crankshaft's frame as "
            "`--known-offset`",
        )
    if offset is not None and at is None:
        raise InputError("--known-offset: from which place?", hint="name it with `--known-at`")
    place_z = places[at][1] if at in places else None
    z_mm = place_z if z is None else job.units.parse(z, "length", name="--known-z")
    if radius is None or (at is None and angle is None) or z_mm is None:
        raise InputError(
            "a known mass needs its place: radius, angle and z",
            hint='`--known-radius 85 --known-at "counterweight A"` (angle and z by name), or '
            "`--known-radius 85 --known-angle 60 --known-z 52` (the machine's own number)",
        )
    return KnownMass(
        mass_g=job.units.parse(mass, "mass", name="--known-mass", above=0.0),
        radius_mm=job.units.parse(radius, "length", name="--known-radius", above=0.0),
        z_mm=z_mm,
        machine_angle_deg=None if angle is None else MachineAngle(angle),
        at=at,
        offset_deg=offset or 0.0,
    )
