"""The chances that the present plan passes, which error matters most, and how much to cut first."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import numpy as np

from planner.errors import InputError
from planner.jobfile.job import Job
from planner.records import dataclass
from planner.rotor.limits import LimitRow
from planner.steps.chances import chances_of, question_of_cuts
from planner.steps.correction_question import pose
from planner.steps.plan import plan_job
from planner.steps.plan_answer import PlanAnswer
from planner.steps.trial import trial_uncertainty_gmm, with_trials
from planner.uncertainty.draws import Question, draw_planes, kept
from planner.uncertainty.odds import DRAWS, SEED
from planner.uncertainty.odds_sources import (
    SOURCES,
    FirstCut,
    SourceShare,
    best_first_cut,
    errors_of,
    source_shares,
)
from planner.uncertainty.passing import Chances

OVER_COST = 10.0
"""An over-drilled crankshaft costs this many spins, unless the user says otherwise."""
# shares and "what if it were nothing" need fewer draws than the chance itself
_FEWER = 4


@dataclass(frozen=True, kw_only=True)
class OddsAnswer:
    """The odds of a plan.

    Attributes
    ----------
    plan : PlanAnswer
        The plan.
    chances : Chances
        That every limit is kept, and that one spin, or the mean of two, proves it.
    chance_at : tuple of (LimitRow, float)
        That each limit is kept.
    shares : tuple of (LimitRow, tuple of SourceShare)
        Which error matters how much, at each limit.
    without : mapping of str to float
        The chance to be inside if a source of error were nothing.
    first_cut : FirstCut
        How much of the plan to cut first.
    reading_percents : tuple of 2 floats or None
        After trial runs: how uncertain the state is in the planes [%].
    draws, seed : int
        Number of draws, and where they start.
    """

    plan: PlanAnswer
    chances: Chances
    chance_at: tuple[tuple[LimitRow, float], ...]
    shares: tuple[tuple[LimitRow, tuple[SourceShare, ...]], ...]
    without: dict[str, float]
    first_cut: FirstCut
    reading_percents: tuple[float, float] | None
    draws: int
    seed: int

    @property
    def chance(self) -> float:
        """That every limit is kept."""
        return self.chances.inside

    @property
    def worst(self) -> tuple[LimitRow, tuple[SourceShare, ...]]:
        """The limit that fails most often, with its shares."""
        index = min(range(len(self.chance_at)), key=lambda each: self.chance_at[each][1])
        return self.shares[index]


def odds_of(
    job: Job,
    *,
    over_cost: float = OVER_COST,
    draws: int = DRAWS,
    seed: int = SEED,
    seconds: float = 10.0,
    progress: Callable[[str], None] | None = None,
) -> OddsAnswer:
    """Return the odds of the present plan of a job.

    Parameters
    ----------
    job : Job
        The job; its plan is made anew as `bobplan plan` does, and not stored.
    over_cost : float
        What an over-drilled crankshaft costs, in spins with their handling.
    draws, seed : int
        Number of draws, and where they start; equal input gives equal output.
    seconds : float
        Outer stop of the search for the plan [s].
    progress : callable, optional
        Called now and then with a short text.

    Raises
    ------
    InputError
        If the job can't be planned, or a number makes no sense.
    """
    if not over_cost >= 0.0:
        raise InputError(f"given {over_cost:g} as the cost of over-drilling; 0 or more is allowed, in spins")
    if not 100 <= draws <= 10_000_000:
        raise InputError(f"given {draws} draws; 100 to 10000000 are allowed")
    plan = plan_job(job, seconds=seconds, progress=progress)
    question = question_of(plan)
    limits = plan.problem.limits
    start, change = draw_planes(question, draws=draws, seed=seed)
    each = kept(start, change, limits)
    fewer = max(100, draws // _FEWER)
    without = {}
    for source in SOURCES:
        others = errors_of(question.errors, [other for other in SOURCES if other != source])
        planes = draw_planes(dataclasses.replace(question, errors=others), draws=fewer, seed=seed)
        without[source] = float(np.logical_and.reduce(kept(*planes, limits)).mean())
    return OddsAnswer(
        plan=plan,
        chances=chances_of(
            with_trials(job),
            pose(job),
            [step.cut for step in plan.steps],
            problem=plan.problem,
            draws=draws,
            seed=seed,
        ),
        chance_at=tuple((row, float(inside.mean())) for row, inside in zip(limits, each, strict=True)),
        shares=tuple((row, source_shares(question, row, draws=fewer, seed=seed)) for row in limits),
        without=without,
        first_cut=best_first_cut(question, limits, over_cost=over_cost, draws=draws, seed=seed),
        reading_percents=_reading_percents(plan, question),
        draws=draws,
        seed=seed,
    )


def _reading_percents(plan: PlanAnswer, question: Question) -> tuple[float, float] | None:
    uncertain = trial_uncertainty_gmm(with_trials(plan.job))
    if uncertain is None:
        return None
    left, right = (
        100.0 * each / max(abs(complex(vector)), 1e-12)
        for each, vector in zip(uncertain, question.reading_gmm, strict=True)
    )
    return left, right


def question_of(plan: PlanAnswer) -> Question:
    """Return what is drawn for a plan."""
    job = with_trials(plan.job)
    return question_of_cuts(job, pose(job), [step.cut for step in plan.steps], problem=plan.problem)
