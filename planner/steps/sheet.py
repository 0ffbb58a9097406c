"""What the shop sheet and the customer's record tell: the plan and the state, gathered from the other workflows."""

from __future__ import annotations

import dataclasses

from planner.correction.budget import Progress
from planner.correction.problem import CorrectionProblem, PlanOutcome, Proof
from planner.cuts.cut import Cut, MetalMoved, metal_moved
from planner.frames import TwoPlanes
from planner.jobfile.job import Job
from planner.machine.spin import Spin
from planner.records import dataclass
from planner.rotor.tolerance import GradeReached
from planner.rotor.verdict import Judged
from planner.steps.bobs import BobsAnswer, bobs_of
from planner.steps.check import CheckAnswer, check_job, grade_of
from planner.steps.correction_question import pose
from planner.steps.history import History, history_of, job_at
from planner.steps.judging import judged_of
from planner.steps.odds import question_of
from planner.steps.plan import plan_job, step_of
from planner.steps.plan_answer import HeavyMetal, PlanAnswer, PlanStep
from planner.steps.trial import with_trials
from planner.uncertainty.odds_sources import first_order_variances


@dataclass(frozen=True, kw_only=True)
class SheetAnswer:
    """All that the shop sheet tells.

    ``bobs`` is None when the job has neither parts nor wanted bobs; ``history`` has no entries before the first spin;
    ``grade_after`` is the grade that the plan's residual would reach, None without the crankshaft's mass and speed.
    ``error_shares`` are the sources of error and their shares (first order) of what may go wrong at the fullest limit
    ``worst``, the largest first; empty when there is no plan.
    """

    answer: PlanAnswer
    check: CheckAnswer
    history: History
    bobs: BobsAnswer | None
    grade_after: GradeReached | None
    worst: Judged | None = None
    error_shares: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, kw_only=True)
class RecordAnswer:
    """All that the customer's record tells.

    ``before`` judges the first state that was spun, without any cut; ``check`` the newest state.  ``picture`` has every
    cut made as a step, numbered as made, for the drawings; it is no plan.
    """

    job: Job
    check: CheckAnswer
    before: tuple[Judged, ...]
    before_gmm: TwoPlanes[complex]
    before_grade: GradeReached | None
    picture: PlanAnswer
    metal: MetalMoved
    bobs: BobsAnswer | None

    @property
    def is_cut(self) -> bool:
        """Whether anything was cut at all."""
        return bool(self.picture.steps)


def sheet_of(job: Job, *, seconds: float = 10.0, progress: Progress | None = None) -> SheetAnswer:
    """Return what the shop sheet tells of a job; plans as `plan_job` does.

    Raises
    ------
    InputError
        If the job lacks something that a plan needs.
    BobplanError
        If the plan fails its own check.
    """
    answer = plan_job(job, seconds=seconds, progress=progress)
    return sheet_from(answer)


def sheet_from(answer: PlanAnswer) -> SheetAnswer:
    """Return what the shop sheet tells of a plan."""
    job = answer.job
    spun = tuple(spin for spin in job.spins if not spin.from_trials)
    worst, shares = _error_shares(answer)
    return SheetAnswer(
        answer=answer,
        check=check_job(job),
        history=history_of(dataclasses.replace(job, spins=spun)),
        bobs=bobs_or_none(job),
        grade_after=grade_of(job, answer.residual_gmm),
        worst=worst,
        error_shares=shares,
    )


def record_of(job: Job) -> RecordAnswer:
    """Return what the customer's record tells of a job; plans nothing.

    Raises
    ------
    InputError
        If there is no spin or no tolerance.
    """
    job = with_trials(job)
    check = check_job(job)
    first = pose(job_at(job, _last_of_first_state(job.spins)))
    before = TwoPlanes.vectors(first.problem.unbalance_gmm)
    steps = tuple(_made_step(job, entry.number, entry.cut) for entry in job.cuts_made)
    return RecordAnswer(
        job=job,
        check=check,
        before=judged_of(job_at(job, _last_of_first_state(job.spins)), first, before, foretold=False),
        before_gmm=before,
        before_grade=grade_of(job, before),
        picture=_picture(job, check, steps),
        metal=metal_moved(step.effect for step in steps),
        bobs=bobs_or_none(job),
    )


def bobs_or_none(job: Job) -> BobsAnswer | None:
    """Return the bobs of a job, None when it says neither parts nor wanted bobs."""
    return None if job.parts is None and job.bobs_wanted_g is None else bobs_of(job)


def newest_spin(answer: PlanAnswer) -> Spin:
    """Return the spin that a plan is for (what trial runs came to, before the first spin)."""
    return answer.job.spins[answer.spin_number - 1]


def _error_shares(answer: PlanAnswer) -> tuple[Judged | None, tuple[tuple[str, float], ...]]:
    if not answer.outcome.feasible or not answer.judged:
        return None, ()
    index = max(range(len(answer.judged)), key=lambda each: answer.judged[each].share)
    variances = first_order_variances(question_of(answer), answer.problem.limits[index])
    total = sum(variances.values()) or 1.0
    ordered = sorted(variances.items(), key=lambda pair: (-pair[1], pair[0]))
    return answer.judged[index], tuple((source, variance / total) for source, variance in ordered)


def _last_of_first_state(spins: tuple[Spin, ...]) -> int:
    """Return the index of the last spin of the first state: the first spin, and those that repeat it at once."""
    last = next(index for index, spin in enumerate(spins) if spin.known_mass is None)
    for index in range(last + 1, len(spins)):
        if spins[index].known_mass is not None:
            continue
        if not spins[index].repeat:
            break
        last = index
    return last


def _made_step(job: Job, number: int, cut: Cut) -> PlanStep:
    step = step_of(job, job.crankshaft.counterweight(cut.counterweight), cut, number=number)
    # of a slug that was put in the record says how long it is, not how deep its bore
    return dataclasses.replace(step, depth_tip_mm=None, stop_mm=None) if cut.kind == "slug" else step


def _picture(job: Job, check: CheckAnswer, steps: tuple[PlanStep, ...]) -> PlanAnswer:
    """Return the cuts made as the drawings want them; the counterweights carry only what was there before."""
    posed = check.posed
    problem = CorrectionProblem(
        unbalance_gmm=posed.problem.unbalance_gmm,
        planes_z_mm=job.planes_z_mm,
        limits=posed.problem.limits,
        counterweights=job.crankshaft.counterweights,
        shop=job.shop,
        density_g_per_cm3=job.crankshaft.density_g_per_cm3,
        oil_drillings=job.crankshaft.oil_drillings,
    )
    residual = check.residual_gmm
    none = TwoPlanes(0j, 0j)
    return PlanAnswer(
        job=job,
        spin_number=posed.spin_number,
        problem=problem,
        outcome=PlanOutcome(
            feasible=check.verdict == "in tolerance",
            cuts=(),
            residual_gmm=residual,
            cost=0.0,
            proof=Proof(fewest_cuts=False, bound_cuts=0),
        ),
        reading_gmm=posed.reading_gmm,
        reading_scatter_gmm=posed.reading.scatter_gmm,
        reading_count=posed.reading.count,
        known_error_gmm=none,
        bob_shift_gmm=none,
        mounted_shift_gmm=none,
        made_shift_gmm=none,
        unbalance_gmm=residual,
        steps=steps,
        residual_gmm=residual,
        foretold=residual.shown(job.machine),
        judged=check.judged,
        verdict=check.verdict,
        heavy_metal=HeavyMetal(needed=any(step.effect.slug_mass_g for step in steps), why="as cut"),
    )
