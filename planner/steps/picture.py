"""The bare crankshaft's unbalance foretold from its picture: counterweights, crankpins, arms, holes, oil drillings.

What is symmetric about the shaft axis (journals, flange, nose, the body inside a counterweight's inner radius) does
nothing and is not asked for.  Fillets are left out.  Every part is taken to be known to two percent of its own moment
(common practice, from memory), and because large moments nearly cancel, what is left is rough: enough to see before the
first spin whether heavy metal is likely, and after it whether the picture is the crankshaft's.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from typing import Literal

from planner.errors import InputError
from planner.frames import TwoPlanes
from planner.jobfile.job import Job
from planner.records import dataclass
from planner.rotor.crankshaft import Counterweight, Crankshaft, ExistingHole, OilDrilling, Throw, Web
from planner.rotor.vectors import resolve, vector_gmm
from planner.rotor.weighing import weigh
from planner.steps.correction_question import effect_on, pose
from planner.steps.reshaping import hole_effect

PART_SHARE = 0.02
"""A part's moment is known to this share (common practice, from memory)."""
FITS_WITHIN = 2.0
"""Foretold and read agree when they differ by no more than so many times the rough error."""

What = Literal["counterweight", "crankpin", "arm", "hole", "oil drilling"]


@dataclass(frozen=True)
class PicturePart:
    """A part of the picture: what it is, its mass [g] (negative: missing metal), first moment [g*mm] and place z [mm]."""

    what: What
    name: str
    mass_g: float
    vector_gmm: complex
    z_mm: float


@dataclass(frozen=True, kw_only=True)
class Picture:
    """The bare crankshaft as its file describes it.

    Attributes
    ----------
    job : Job
        The job.
    parts : tuple of PicturePart
        What was weighed.
    missing : tuple of str
        What the picture does not describe, in words; empty when it is whole.
    bare_gmm : tuple of 2 complex
        Unbalance of the bare crankshaft in the reading planes, the cuts made so far taken off [g*mm].
    rough_gmm : tuple of 2 float
        How far off that may be, by two percent of every part [g*mm].
    to_correct_gmm : tuple of 2 complex or None
        The same with the wanted bobs and mounted parts on: what would have to be corrected; None without wanted bobs.
    read_gmm : tuple of 2 complex or None
        The same by the newest spin; None before it.
    """

    job: Job
    parts: tuple[PicturePart, ...]
    missing: tuple[str, ...]
    bare_gmm: TwoPlanes[complex]
    rough_gmm: tuple[float, float]
    to_correct_gmm: TwoPlanes[complex] | None
    read_gmm: TwoPlanes[complex] | None

    @property
    def whole(self) -> bool:
        """Whether nothing is missing that has a moment."""
        return not self.missing

    @property
    def difference_gmm(self) -> TwoPlanes[complex] | None:
        """Read less foretold [g*mm]; None before a spin."""
        if self.read_gmm is None or self.to_correct_gmm is None:
            return None
        return self.read_gmm.plus(self.to_correct_gmm, -1.0)

    @property
    def fits(self) -> bool | None:
        """Whether the reading is what the picture says, within its roughness; None before a spin."""
        if self.difference_gmm is None:
            return None
        return all(
            abs(one) <= FITS_WITHIN * rough
            for one, rough in zip(self.difference_gmm, self.rough_gmm, strict=True)
        )


def picture_of(job: Job) -> Picture:
    """Return what the job's crankshaft is foretold to do, bare and with the wanted bobs.

    Raises
    ------
    InputError
        If no throw has a described crankpin: without them there is nothing to weigh the counterweights against.
    """
    crankshaft = job.crankshaft
    parts = tuple(_parts(crankshaft))
    described = [throw for throw in crankshaft.throws if throw.pin_diameter_mm and throw.pin_length_mm]
    if not described:
        raise InputError(
            "the picture has no crankpins: nothing can be foretold from counterweights alone",
            hint="give pin_diameter and pin_length under [[throws]], and the arms under [[webs]]",
        )
    made = [(each.cut, effect_on(crankshaft, each.cut, shop=job.shop)) for each in job.cuts_made]
    sources = [(part.z_mm, part.vector_gmm) for part in parts]
    sources += [(effect.z_mm, effect.vector_gmm(cut.angle_deg)) for cut, effect in made]
    bare = resolve(sources, job.planes_z_mm)
    # errors of parts are independent: their squares add up, plane by plane
    squares = [0.0, 0.0]
    for part in parts:
        share = resolve([(part.z_mm, PART_SHARE * part.vector_gmm)], job.planes_z_mm)
        squares = [square + abs(complex(each)) ** 2 for square, each in zip(squares, share, strict=True)]
    bare_pair = TwoPlanes.vectors(bare)
    to_correct = None
    if job.bobs_wanted_g is not None:
        wanted_g = job.bobs_wanted_g
        put_on = [
            (each.z_mm, vector_gmm(wanted_g.get(each.name, 0.0) * each.radius_mm, each.angle_deg))
            for each in crankshaft.throws
        ]
        put_on += [
            (part.z_mm, vector_gmm(part.unbalance_gmm, part.angle_deg))
            for part in job.mounted
            if part.in_engine
        ]
        to_correct = bare_pair.plus(resolve(put_on, job.planes_z_mm))
    read = None
    if to_correct is not None and any(spin.known_mass is None for spin in job.spins):
        read = pose(dataclasses.replace(job, stored_plan=None)).problem.unbalance_gmm
    return Picture(
        job=job,
        parts=parts,
        missing=tuple(_missing(crankshaft)),
        bare_gmm=bare_pair,
        rough_gmm=(math.sqrt(squares[0]), math.sqrt(squares[1])),
        to_correct_gmm=to_correct,
        read_gmm=read,
    )


def whole_picture_of(job: Job) -> Picture | None:
    """Return the picture of a crankshaft that is described whole, None of any other."""
    crankshaft = job.crankshaft
    if not crankshaft.webs or any(not throw.pin_diameter_mm for throw in crankshaft.throws):
        return None  # most files: nothing is weighed
    try:
        found = picture_of(job)
    except InputError:
        return None
    return found if found.whole else None


def _missing(crankshaft: Crankshaft) -> Iterator[str]:
    bare = [throw.name for throw in crankshaft.throws if not (throw.pin_diameter_mm and throw.pin_length_mm)]
    if bare:
        yield f"the crankpins of {', '.join(bare)} (pin_diameter, pin_length under [[throws]])"
    if not crankshaft.webs:
        yield "the arms between journals and crankpins ([[webs]])"


def _parts(crankshaft: Crankshaft) -> Iterator[PicturePart]:
    for counterweight in crankshaft.counterweights:
        density = counterweight.density_g_per_cm3 or crankshaft.density_g_per_cm3
        weighed = weigh(
            counterweight.outline,
            thickness_mm=counterweight.thickness_mm,
            density_g_per_cm3=density,
            rim=counterweight.rim,
        )
        vector = weighed.unbalance_gmm * vector_gmm(1.0, counterweight.angle_deg)
        place = counterweight.z_mm + weighed.from_middle_mm
        yield PicturePart("counterweight", counterweight.name, weighed.mass_g, vector, place)
        for hole in counterweight.existing:
            yield _hole(counterweight, hole, density)
    for throw in crankshaft.throws:
        if throw.pin_diameter_mm and throw.pin_length_mm:
            yield _pin(throw, crankshaft.density_g_per_cm3)
    for number, web in enumerate(crankshaft.webs, start=1):
        yield _web(web, number, crankshaft.density_g_per_cm3)
    for number, drilling in enumerate(crankshaft.oil_drillings, start=1):
        yield _drilling(drilling, number, crankshaft.density_g_per_cm3)


def _hole(counterweight: Counterweight, hole: ExistingHole, density: float) -> PicturePart:
    effect = hole_effect(hole, counterweight, density_g_per_cm3=density)
    gone = 1.0 if hole.filled_density_g_per_cm3 is None else 1.0 - hole.filled_density_g_per_cm3 / density
    name = f"{hole.kind} on {counterweight.name} at {hole.angle_deg:g}"
    return PicturePart(
        "hole", name, effect.mass_g * gone, effect.vector_gmm(hole.angle_deg) * gone, effect.z_mm
    )


def _pin(throw: Throw, density: float) -> PicturePart:
    """A crankpin: a cylinder about the throw's own axis, its bore taken out."""
    wide, bore, long = (
        each or 0.0 for each in (throw.pin_diameter_mm, throw.pin_bore_mm, throw.pin_length_mm)
    )
    mass = math.pi / 4.0 * (wide**2 - bore**2) * long * density / 1000.0
    vector = vector_gmm(mass * throw.radius_mm, throw.angle_deg)
    return PicturePart("crankpin", throw.name, mass, vector, throw.z_mm)


def _web(web: Web, number: int, density: float) -> PicturePart:
    """An arm: a plate of even width with a round end, from where it leaves the symmetric body outward.

    Rectangle from a to b = end - w/2: ``w (b^2 - a^2)/2``; half disc: ``pi w^2/8 (b + 2 w/(3 pi))`` (centroid of a half
    disc ``4 r/(3 pi)`` from its diameter, any handbook).
    """
    w, a = web.width_mm, web.from_radius_mm
    b = web.to_radius_mm - 0.5 * w
    area = w * (b - a) + math.pi * w * w / 8.0
    first = w * (b * b - a * a) / 2.0 + math.pi * w * w / 8.0 * (b + 2.0 * w / (3.0 * math.pi))
    metal = web.thickness_mm * density / 1000.0
    return PicturePart("arm", str(number), area * metal, vector_gmm(first * metal, web.angle_deg), web.z_mm)


def _drilling(one: OilDrilling, number: int, density: float) -> PicturePart:
    """An oil drilling: a straight cylinder, its metal gone."""
    start = vector_gmm(one.from_radius_mm, one.from_angle_deg)
    end = vector_gmm(one.to_radius_mm, one.to_angle_deg)
    length = math.hypot(abs(end - start), one.to_z_mm - one.from_z_mm)
    mass = -math.pi / 4.0 * one.diameter_mm**2 * length * density / 1000.0
    middle, long_z = 0.5 * (start + end), one.to_z_mm - one.from_z_mm
    # one that also runs outward is heavier in moment at its outer end: twelfths of its length, as of any rod
    beside = 0.0
    if abs(middle) > 0.0:
        twelfth = (1.0 - 0.75 * (one.diameter_mm / length) ** 2) / 12.0
        beside = long_z * twelfth * ((end - start) * middle.conjugate()).real / abs(middle) ** 2
    place = 0.5 * (one.from_z_mm + one.to_z_mm) + beside
    return PicturePart("oil drilling", str(number), mass, middle * mass, place)
