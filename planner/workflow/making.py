"""A cut is made: as planned or as it turned out."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence

from planner.errors import InputError
from planner.job.model import Job, MadeCut, StoredStep
from planner.rotor.vectors import ComplexArray
from planner.workflow.answer import PlanAnswer
from planner.workflow.broken_rules import walls_broken_by
from planner.workflow.pinning import check_place
from planner.workflow.posing import effect_on, pose, shift_of


def open_steps(job: Job) -> tuple[StoredStep, ...]:
    """Return the steps of the stored plan that belong to the newest spin and are not entered as made."""
    number = pose(job).spin_number
    if job.stored_plan is None or job.stored_plan.after_spin != number:
        return ()
    done = {entry.step for entry in job.cuts_made if entry.after_spin >= number}
    return tuple(step for step in job.stored_plan.steps if step.number not in done)


def made_cut(
    job: Job, number: int, *, stop_mm: float | None = None, dial_deg: float | None = None
) -> MadeCut:
    """Return the record of a step that was cut.

    Parameters
    ----------
    job : Job
        The job with the stored plan.
    number : int
        The step's number as shown.
    stop_mm : float, optional
        The depth as it turned out, counted as the shop's ``depth_to`` says [mm]; as planned if left out.
    dial_deg : float, optional
        The angle as dialled [deg]; as planned if left out.

    Raises
    ------
    InputError
        If there is no such step left to make, a depth is given for a cut that has none, or the counterweight has no
        metal at the angle.
    """
    steps = {step.number: step for step in open_steps(job)}
    if number not in steps:
        left = ", ".join(str(each) for each in steps) or "none"
        raise InputError(
            f"there is no step {number} left to make",
            hint=f"steps left: {left}; `bobplan plan` shows them"
            if steps
            else "there is no plan for the newest spin with cuts left; `bobplan plan` shows where the job stands",
        )
    cut = steps[number].cut
    if stop_mm is not None:
        if cut.depth_shoulder_mm is None or cut.through:
            raise InputError(f"step {number} is a {cut.kind} without a depth", hint="leave `--depth` away")
        shoulder = job.shop.shoulder_depth_mm(stop_mm=stop_mm, diameter_mm=cut.diameter_mm)
        if shoulder <= 0:
            raise InputError(
                f"a depth of {job.units.text(stop_mm, 'length')} to the {job.shop.depth_to} leaves no full-diameter hole",
                hint="give the number that stood on the stop",
            )
        cut = dataclasses.replace(cut, depth_shoulder_mm=shoulder)
    if dial_deg is not None:
        if not -360.0 <= dial_deg <= 360.0:
            raise InputError(
                f"`--angle`: given {dial_deg:g}, allowed -360 to 360 degrees",
                hint="give the angle as dialled",
            )
        cut = dataclasses.replace(
            cut, angle_deg=job.machine.place_deg(dial_deg - job.machine.drill_offset_deg)
        )
        # nothing can be drilled out of air: a slip of the keys, not a cut
        check_place(cut, job.crankshaft.counterweight(cut.counterweight), f"step {number} at {dial_deg:g}")
    # a cut that no metal could have given (a depth beyond the shaft) must not get into the file
    effect_on(job.crankshaft, cut, shop=job.shop)
    plan = job.stored_plan
    return MadeCut(
        after_spin=pose(job).spin_number,
        step=number,
        cut=cut,
        learned_factor=1.0 if plan is None else plan.learned_factor,
    )


def wall_warnings(job: Job, made: Sequence[MadeCut]) -> tuple[str, ...]:
    """Return a warning per wall that cuts break as they turned out; ``job`` is the one before they were entered."""
    broken = walls_broken_by(job, pose(job).problem, [each.cut for each in made])
    return tuple(f"the cut as entered breaks a rule: {text}" for text in broken)


def overshoot_warnings(job: Job, answer: PlanAnswer) -> tuple[str, ...]:
    """Return a warning per plane where the cuts made did more than the reading asked for.

    The steps of the plan that are still open count as made: a slug or a fill may go beyond what is to correct and a hole
    planned with it take it back; that is no reason to stop.
    """
    posed = pose(job)
    still = shift_of(
        [(step.cut, effect_on(job.crankshaft, step.cut, shop=job.shop)) for step in open_steps(job)],
        planes_z_mm=job.planes_z_mm,
    )
    left = [now + complex(each) for now, each in zip(answer.unbalance_gmm, still, strict=True)]
    start = (
        posed.problem.unbalance_gmm[0] - posed.made_shift_gmm[0],
        (posed.problem.unbalance_gmm[1] - posed.made_shift_gmm[1]),
    )
    return tuple(_overshoot(job, start, left, [row.tolerance_gmm for row in answer.problem.limits]))


def _overshoot(
    job: Job, start: Sequence[complex], now: Sequence[complex] | ComplexArray, tolerances: Sequence[float]
) -> Iterator[str]:
    least = min(tolerances)
    for side, before, after in zip(("left", "right"), start, now, strict=True):
        if before == 0:
            continue
        along = (complex(after) / before).real * abs(before)
        if along < -least:
            yield (
                f"STOP: on the {side} side {job.units.text(-along, 'unbalance')} too much is off already, more than the "
                "limit; don't drill on there, plan again from a fresh spin (a slug, a weld or cuts on the other side)"
            )
