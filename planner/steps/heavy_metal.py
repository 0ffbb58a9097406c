"""Is heavy metal needed, and why; what to order, and which bob masses would do without it."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.correction.budget import Budget, budget_of
from planner.correction.problem import CorrectionProblem, PlanOutcome
from planner.correction.search.find_plan import find_plan
from planner.jobfile.job import Job
from planner.rotor.crankshaft import DRILLING, HEAVY_METAL
from planner.steps.bob_window import BobWindow, bob_window_of, drilling_only, wanted_bob_g
from planner.steps.correction_question import Posed
from planner.steps.plan_answer import HeavyMetal, HeavyMetalWhy
from planner.steps.slugs import slug_cost, slug_holds, slug_orders

if TYPE_CHECKING:
    from planner.steps.ways_out import WaysOut

# a plan that needs heavy metal must not wait long for the window; --window tries more plans
_QUICK_STEPS = 1
_FULL_STEPS = 5


def heavy_metal_of(
    job: Job,
    posed: Posed,
    outcome: PlanOutcome,
    *,
    window: bool = True,
    seconds: float | Budget = 10.0,
) -> HeavyMetal:
    """Return whether heavy metal is needed for a job whose best plan is known.

    Needed means (None where there is no plan at all): no drilling alone reaches the tolerance, by certificate or because
    no such plan was found, and with heavy metal there is a plan; the reason says which of the two.  The window of bob
    masses is worked out, quickly, when there is no plan by drilling alone (`with_window` takes its time).

    Parameters
    ----------
    job, posed, outcome : Job, Posed, PlanOutcome
        The job, its question and the best plan.
    window : bool
        Whether the bob masses that drilling could do are worked out where it can't do those wanted.
    seconds : float or Budget
        Outer stop [s].
    """
    budget = budget_of(seconds)
    heavy = _needed(posed.problem, outcome, budget)
    found: BobWindow | None = None
    if window and (heavy.needed or not outcome.feasible):
        found = _window(job, posed, budget, full=False)
    orders = slug_orders(posed.problem, outcome.cuts)
    return dataclasses.replace(
        heavy,
        window=found,
        orders=orders,
        cost=slug_cost(orders),
        holds=slug_holds(posed.problem, outcome.cuts, speed_rpm=job.crankshaft.service_speed_rpm),
    )


def _needed(problem: CorrectionProblem, outcome: PlanOutcome, budget: Budget) -> HeavyMetal:
    """Return the answer without what is worked out besides."""
    count = len(outcome.cuts)
    if not outcome.feasible:
        slugs = "slug" in problem.shop.allow and any("slug" in each.cuts for each in problem.counterweights)
        why: HeavyMetalWhy = "no plan: not found" if outcome.certificate is None else "no plan: proven"
        return HeavyMetal(needed=None, why=why, among_cuts=slugs)
    if not any(planned.cut.kind in HEAVY_METAL for planned in outcome.cuts):
        other = any(planned.cut.on_rim or planned.cut.kind == "plug" for planned in outcome.cuts)
        why = ("other cuts do it" if other else "drilling does it") if count else "nothing to cut"
        fewer = len(outcome.with_heavy_metal) if why == "drilling does it" else 0
        return HeavyMetal(needed=False, why=why, drilled_cuts=count, fewer=fewer or None)
    drilled = outcome.drilling or find_plan(drilling_only(problem), seconds=budget, progress=budget.say)
    if drilled.feasible:
        by_drill = len(drilled.cuts)
        return HeavyMetal(
            needed=False, why="drilling does it too", drilled_cuts=by_drill, saves_cuts=count < by_drill
        )
    if drilled.certificate is not None:
        return HeavyMetal(needed=True, why="drilling can't: proven", certificate=drilled.certificate)
    late = drilled.proof.stopped_by_time
    return HeavyMetal(needed=True, why="drilling: not found in time" if late else "drilling: not found")


def _window(job: Job, posed: Posed, budget: Budget, *, full: bool) -> BobWindow | None:
    bob = wanted_bob_g(job, posed.spin_number)
    if bob is None or not any(kind in posed.problem.shop.allow for kind in DRILLING):
        return None
    return bob_window_of(
        job,
        posed.problem,
        bob_g=bob,
        seconds=budget,
        steps=_FULL_STEPS if full else _QUICK_STEPS,
        nearest_end_only=not full,
    )


def with_window(job: Job, posed: Posed, heavy: HeavyMetal, *, seconds: float | Budget = 10.0) -> HeavyMetal:
    """Return the same answer with the window of bob masses worked out and confirmed as far as time allows."""
    found = _window(job, posed, budget_of(seconds), full=True)
    return heavy if found is None else dataclasses.replace(heavy, window=found)


def with_way_out(heavy: HeavyMetal, ways: WaysOut, outcome: PlanOutcome) -> HeavyMetal:
    """Return the answer for a job without a plan: heavy metal is needed when it is what makes one possible.

    Without a proof that there is no plan with the cuts allowed it is not known to be needed.
    """
    way = next((each for each in ways.found if each.kind == "heavy metal"), None)
    if way is None:
        return heavy
    amount = way.heavy_metal_g, len(way.cuts)
    if outcome.certificate is None:
        return dataclasses.replace(heavy, why="found with heavy metal only", way=amount)
    return dataclasses.replace(heavy, needed=True, why="only with heavy metal", way=amount)
