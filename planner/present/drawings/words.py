"""The words on the drawings: what the operator reads beside a hole, a vector or a whole picture.  No matplotlib."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

from planner.present.words import shown_amount_words, shown_vector_words
from planner.quantity import MM_PER_IN
from planner.rotor.drills import number_or_letter
from planner.rotor.vectors import difference_deg

if TYPE_CHECKING:
    from planner.cuts.cut import Cut, Shop
    from planner.jobfile.job import Job
    from planner.machine.spin import SideReading
    from planner.quantity import UnitSystem
    from planner.steps.plan_answer import PlanAnswer, PlanStep

Side = Literal["left", "right"]
SIDES: tuple[Side, Side] = ("left", "right")


def shown(text: str) -> str:
    """Return a text with units as printed: ``g*mm`` becomes ``g·mm``."""
    return text.replace("*", "·")


def number(value: float, *, digits: int = 1) -> str:
    """Return a number without trailing zeros: 131, 131.5."""
    text = f"{value:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def degrees(value: float) -> str:
    """Return an angle [deg] in 0 to 360 as text; never 360."""
    text = number(value)
    return "0°" if text == "360" else f"{text}°"


def length(value_mm: float, units: UnitSystem, *, with_unit: bool = True) -> str:
    """Return a length [mm] in the job's unit, without trailing zeros."""
    text = units.text(value_mm, "length", with_unit=False)
    if not units.in_inches and "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{text} {units.length}" if with_unit else text


def drill(diameter_mm: float, units: UnitSystem) -> str:
    """Return a drill's size: ``Ø14 mm``; in inches the fraction when it is one (``Ø5/8 in``); ``#7`` as it is called."""
    name = number_or_letter(diameter_mm)
    if name is not None:
        return name
    if units.in_inches:
        sixty_fourths = diameter_mm / MM_PER_IN * 64.0
        whole = round(sixty_fourths)
        if whole and abs(sixty_fourths - whole) < 0.02:
            inches, rest = divmod(whole, 64)
            common = math.gcd(rest, 64)
            fraction = f"{rest // common}/{64 // common}" if rest else ""
            parts = [part for part in (str(inches) if inches else "", fraction) if part]
            return f"Ø{'-'.join(parts)} in"
    return f"Ø{length(diameter_mm, units)}"


def unbalance(value_gmm: float, units: UnitSystem) -> str:
    """Return an amount of unbalance [g*mm] in the job's unit."""
    return shown(units.text(value_gmm, "unbalance"))


def zero_words(job: Job) -> str:
    """Return where the machine's zero lies: ``throw 1``, or degrees of the crankshaft's own frame."""
    for throw in job.crankshaft.throws:
        if abs(difference_deg(throw.angle_deg, job.machine.zero_deg)) < 1e-6:
            return f"throw {throw.name}"
    return f"{degrees(job.machine.zero_deg)} of the crankshaft's own frame"


def counting_words(job: Job) -> str:
    """Return how the machine counts: ``clockwise seen from the rear, zero at throw 1``."""
    machine = job.machine
    way = "counter-clockwise" if machine.direction == "ccw" else "clockwise"
    return f"{way} seen from the {machine.viewed_from}, zero at {zero_words(job)}"


def convention_words(job: Job) -> str:
    """Return the whole convention of a vector diagram in one sentence."""
    return (
        f"display numbers: {counting_words(job)}; arrows to the {job.machine.marks}, which the display marks"
    )


def view_words(viewed_from: str) -> str:
    """Return ``seen from the front``; the rear view says that it is mirrored."""
    mirrored = " (front view mirrored)" if viewed_from == "rear" else ""
    return f"seen from the {viewed_from}{mirrored}"


def step_words(step: PlanStep, *, shop: Shop, units: UnitSystem) -> tuple[str, str]:
    """Return the label of a planned step: the dial as its head, then drill and depth."""
    head = f"{step.label}: dial {degrees(step.dial_deg)}"
    words = size_words(step.cut, shop=shop, units=units, stop_mm=step.stop_mm)
    return head, f"{step.hole}: {words}" if step.hole else words


def size_words(cut: Cut, *, shop: Shop, units: UnitSystem, stop_mm: float | None = None) -> str:
    """Return drill and depth of a cut in one line, for example ``Ø14 mm, 22.5 mm to shoulder``."""
    size = drill(cut.diameter_mm, units)
    at_radius = f", radius {length(cut.radius_mm, units)}" if cut.radius_mm is not None else ""
    if cut.kind in ("slug", "fill"):
        if cut.through or cut.length_mm is None:
            return f"{cut.kind} {size}{at_radius}\nfull thickness"
        return f"{cut.kind} {size}{at_radius}\n{length(cut.length_mm, units)} long, from the {cut.face}"
    if cut.through or cut.depth_shoulder_mm is None:
        return f"{size}{at_radius}, through"
    if stop_mm is None:
        stop_mm = shop.stop_mm(depth_shoulder_mm=cut.depth_shoulder_mm, diameter_mm=cut.diameter_mm)
    depth = f"{length(stop_mm, units)} to {shop.depth_to}"
    if cut.from_depth_mm is not None:
        depth += f", {length(cut.depth_shoulder_mm - cut.from_depth_mm, units)} deeper"
    if cut.kind == "face hole":
        return f"{size}{at_radius}\n{depth}, from the {cut.face}"
    return f"{size}, {depth}"


def vector_words(vector: complex, job: Job, side: str) -> str:
    """Return a vector of a reading plane as the display shows it: ``4195 g·mm at 138°``, at the spot that it marks."""
    return shown(shown_vector_words(job, side, vector))


def foretold_words(answer: PlanAnswer) -> str:
    """Return what the display should show after the steps, both planes."""
    sides = zip(SIDES, answer.foretold, strict=True)
    return "; ".join(f"{side} {_display_words(reading, side, answer.job)}" for side, reading in sides)


def judged_words(answer: PlanAnswer) -> str:
    """Return what is left against each limit: ``bearing 1: 120 of 289 g·mm``; empty without a tolerance."""
    return "; ".join(
        limit_words(row.at, abs(vector), row.tolerance_gmm, answer.job)
        for row, vector in zip(answer.problem.limits, judged_vectors(answer), strict=True)
    )


def limit_words(at: str, amount_gmm: float, tolerance_gmm: float, job: Job) -> str:
    """Return ``bearing 1: 120 of 289 g·mm``; in a reading plane as the display shows it."""
    if at in SIDES and job.machine.mass_at_radius:
        both = (shown_amount_words(job, at, each) for each in (amount_gmm, tolerance_gmm))
        return f"{at}: {' of '.join(both)}"
    units = job.units
    amount = units.text(amount_gmm, "unbalance", with_unit=False)
    return f"{at}: {amount} of {unbalance(tolerance_gmm, units)}"


def judged_vectors(answer: PlanAnswer) -> tuple[complex, ...]:
    """Return the residual vector [g*mm] of every limit of the problem, in its order."""
    left, right = answer.residual_gmm
    return tuple(row.weight_1 * left + row.weight_2 * right for row in answer.problem.limits)


def _display_words(reading: SideReading, side: Side, job: Job) -> str:
    at = degrees(reading.angle_deg)
    machine = job.machine
    if machine.mass_at_radius:
        radius_mm = machine.left_radius_mm if side == "left" else machine.right_radius_mm
        where = f" at radius {length(radius_mm, job.units)}" if radius_mm is not None else ""
        return f"{job.units.text(reading.amount, 'mass')}{where}, at {at}"
    return f"{unbalance(reading.amount, job.units)} at {at}"
