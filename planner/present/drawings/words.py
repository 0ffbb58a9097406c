"""The words on the drawings: what the operator reads beside a hole, a vector or a whole picture.  No matplotlib."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.present.words import (
    counting_words,
    degrees,
    drill_words,
    length_words,
    printed,
    readings_words,
    rim_cut_words,
    shown_vector_words,
    shown_words,
    zero_words,
)
from planner.present.words import judged_words as judged_amount
from planner.rotor.crankshaft import FILLS

if TYPE_CHECKING:
    from planner.cuts.cut import Cut, Shop
    from planner.jobfile.job import Job
    from planner.quantity import UnitSystem
    from planner.steps.plan_answer import PlanAnswer, PlanStep


def convention_words(job: Job) -> str:
    """Return the whole convention of a vector diagram in one sentence."""
    counting = f"{counting_words(job.machine)}, zero at {zero_words(job)}"
    return f"display numbers: {counting}; arrows to the {job.machine.marks}, which the display marks"


def view_words(viewed_from: str) -> str:
    """Return ``seen from the front``; the rear view says that it is mirrored."""
    mirrored = " (front view mirrored)" if viewed_from == "rear" else ""
    return f"seen from the {viewed_from}{mirrored}"


def step_words(step: PlanStep, *, shop: Shop, units: UnitSystem) -> tuple[str, str]:
    """Return the label of a planned step: the dial as its head, then drill and depth."""
    head = f"{step.label}: dial {degrees(step.dial_deg)}"
    words = size_words(step.cut, shop=shop, units=units, stop_mm=step.stop_mm)
    return head, f"{step.hole}: {words}" if step.hole else words


def across_words(units: UnitSystem, diameter_mm: float) -> str:
    """Return a drill's size with the sign of a diameter: ``Ø14 mm``, ``Ø5/8 in``; ``#7`` as it is called."""
    size = drill_words(units, diameter_mm)
    return f"Ø{size}" if size[0].isdigit() else size


def size_words(cut: Cut, *, shop: Shop, units: UnitSystem, stop_mm: float | None = None) -> str:
    """Return drill and depth of a cut in one line, for example ``Ø14 mm, 22.5 mm to the shoulder``."""
    if cut.on_rim:
        return f"{cut.kind}\n{rim_cut_words(units, cut, with_64th=False)}"
    size = across_words(units, cut.diameter_mm)
    at_radius = (
        f", radius {length_words(units, cut.radius_mm, with_64th=False)}" if cut.radius_mm is not None else ""
    )
    if cut.kind in ("slug", *FILLS):
        if cut.through or cut.length_mm is None:
            return f"{cut.kind} {size}{at_radius}\nfull thickness"
        return f"{cut.kind} {size}{at_radius}\n{length_words(units, cut.length_mm, with_64th=False)} long, from the {cut.face}"
    if cut.through or cut.depth_shoulder_mm is None:
        before = ""
        if cut.from_diameter_mm is not None:
            before = f", from {length_words(units, cut.from_diameter_mm, with_64th=False)} wide"
        return f"{size}{at_radius}, through{before}"
    if stop_mm is None:
        stop_mm = shop.stop_of_mm(cut) or 0.0
    depth = f"{length_words(units, stop_mm, with_64th=False)} to the {shop.depth_to}"
    if cut.from_diameter_mm is not None:
        depth += f", from {length_words(units, cut.from_diameter_mm, with_64th=False)} wide"
    elif cut.from_depth_mm is not None:
        depth += f", {length_words(units, cut.depth_shoulder_mm - cut.from_depth_mm, with_64th=False)} deeper"
    if cut.kind == "face hole":
        return f"{size}{at_radius}\n{depth}, from the {cut.face}"
    return f"{size}, {depth}"


def vector_words(vector: complex, job: Job, side: str) -> str:
    """Return a vector of a reading plane as the display shows it: ``4195 g·mm at 138°``, at the spot that it marks."""
    return printed(shown_vector_words(job, side, vector))


def foretold_words(answer: PlanAnswer) -> str:
    """Return what the display should show after the steps, both planes."""
    job, machine = answer.job, answer.job.machine
    if not machine.mass_at_radius:
        return printed(readings_words(job, answer.foretold))
    return "; ".join(
        f"{side} {shown_words(job, reading.amount)} at radius "
        f"{length_words(job, machine.radii_mm.at(side) or 0.0, with_64th=False)}, at {degrees(reading.angle_deg)}"
        for side, reading in answer.foretold.items()
    )


def judged_words(answer: PlanAnswer) -> str:
    """Return what is left against each limit: ``bearing 1: 120 g·mm of 289 g·mm``; empty without a tolerance."""
    return "; ".join(
        limit_words(row.at, abs(vector), row.tolerance_gmm, answer.job)
        for row, vector in zip(answer.problem.limits, judged_vectors(answer), strict=True)
    )


def limit_words(at: str, amount_gmm: float, tolerance_gmm: float, job: Job) -> str:
    """Return ``bearing 1: 120 g·mm of 289 g·mm``; in a reading plane as the display shows it."""
    return printed(f"{at}: {judged_amount(job, at, amount_gmm)} of {judged_amount(job, at, tolerance_gmm)}")


def judged_vectors(answer: PlanAnswer) -> tuple[complex, ...]:
    """Return the residual vector [g*mm] of every limit of the problem, in its order."""
    return tuple(row.seen_gmm(answer.residual_gmm) for row in answer.problem.limits)
