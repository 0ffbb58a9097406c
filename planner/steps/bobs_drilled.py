"""Which bobs drilling alone can balance, for bobs that are only thought of: a bound that is there at once.

The bound is that of `planner.correction.search.capacity`: what drilling can reach belongs to crankshaft and shop, so that
every other bob costs one linear program more.  Where it rules drilling out that is proven; where it does not, a plan is
still to be found.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from planner.correction.budget import Budget, Progress, budget_of
from planner.correction.search.capacity import Capacity
from planner.engine.bob_errors import bob_error_gmm
from planner.jobfile.job import Job
from planner.records import dataclass
from planner.steps.bob_window import BobWindow, bob_window_of, drilling_only
from planner.steps.quote import question_of

Drilled = Literal["ruled out, too heavy", "ruled out, too light", "ruled out", "not ruled out"]


@dataclass(frozen=True, kw_only=True)
class DrilledBound:
    """Whether drilling alone can do it with some bobs.

    ``bob_g`` is their mean [g], ``excess_gmm`` what at least remains above the limits together whatever is drilled [g*mm], 0
    where nothing is proven.  ``too heavy`` bobs would want heavy metal, for ``too light`` ones more metal would have to come
    off the counterweights than drilling can.
    """

    bob_g: float
    excess_gmm: float
    drilled: Drilled
    window: BobWindow


class DrillingReach:
    """What drilling alone can do for the crankshaft of a job, whatever bobs are wanted.

    Parameters
    ----------
    job : Job
        With wanted bobs, and with a spin or what it was balanced for.

    Raises
    ------
    InputError
        If it is not known what the crankshaft is off; as `planner.steps.quote.question_of`.
    """

    def __init__(self, job: Job) -> None:
        question = question_of(job)
        problem = question.posed.problem
        self._job = question.job
        self._wanted_g = question.wanted_g
        self._unbalance_gmm = problem.unbalance_gmm
        self._capacity = Capacity(drilling_only(problem))
        self.basis = question.basis
        self.window = bob_window_of(
            question.job, problem, bob_g=_mean_g(question.wanted_g), confirm=False, seconds=60.0
        )

    def with_bobs(self, wanted_g: Mapping[str, float]) -> DrilledBound:
        """Return whether drilling alone can do it with these bobs, per throw [g]."""
        difference = {name: mass - self._wanted_g[name] for name, mass in wanted_g.items()}
        shift = bob_error_gmm(
            difference, throws=self._job.crankshaft.throws, planes_z_mm=self._job.planes_z_mm
        )
        excess = self._capacity.excess_sum_gmm(self._unbalance_gmm.plus(shift))
        bob_g, proven_g = _mean_g(wanted_g), self.window.proven_g
        drilled: Drilled = "not ruled out"
        if excess > 0.0:
            drilled = "ruled out"
            if proven_g is not None and bob_g > proven_g[1]:
                drilled = "ruled out, too heavy"
            elif proven_g is not None and bob_g < proven_g[0]:
                drilled = "ruled out, too light"
        return DrilledBound(bob_g=bob_g, excess_gmm=excess, drilled=drilled, window=self.window)


def window_of(job: Job, *, seconds: float | Budget = 10.0, progress: Progress | None = None) -> BobWindow:
    """Return which bobs drilling alone can balance, the end nearer to the wanted ones confirmed by plans.

    Raises
    ------
    InputError
        As `planner.steps.quote.question_of`.
    """
    question = question_of(job)
    return bob_window_of(
        question.job,
        question.posed.problem,
        bob_g=_mean_g(question.wanted_g),
        seconds=budget_of(seconds, progress),
        steps=2,
        nearest_end_only=True,
    )


def _mean_g(bobs_g: Mapping[str, float]) -> float:
    return sum(bobs_g.values()) / len(bobs_g)
