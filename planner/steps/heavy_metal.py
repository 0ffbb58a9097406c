"""Is heavy metal needed, and why; what to order, and which bob masses would do without it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

from planner.correction.budget import Budget
from planner.correction.problem import Certificate, CorrectionProblem, PlanOutcome
from planner.correction.search.find_plan import find_plan
from planner.jobfile.job import Job
from planner.steps.bob_window import DRILLING, BobWindow, bob_window_of, drilling_only, wanted_bob_g
from planner.steps.correction_question import Posed
from planner.steps.plan_answer import HeavyMetal
from planner.steps.slugs import slug_cost, slug_holds, slug_orders
from planner.steps.ways_out import WaysOut

Progress = Callable[[str], None]
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
    progress: Progress | None = None,
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
    progress : callable, optional
        Called with what is being done.
    """
    needed, reason, certificate = _needed(job, posed.problem, outcome, seconds=seconds, progress=progress)
    found: BobWindow | None = None
    if window and (needed or not outcome.feasible):
        found = _window(job, posed, full=False, seconds=seconds, progress=progress)
    orders = slug_orders(posed.problem, outcome.cuts)
    confirmed = found.confirmed_g if found is not None else None
    return HeavyMetal(
        needed=needed,
        reason=reason,
        bob_window_g=found.proven_g if found is not None else None,
        confirmed_window_g=confirmed,
        window=found,
        certificate=certificate,
        orders=orders,
        cost=slug_cost(orders),
        holds=slug_holds(posed.problem, outcome.cuts, speed_rpm=job.crankshaft.service_speed_rpm),
    )


def certificate_words(job: Job, problem: CorrectionProblem, certificate: Certificate) -> str:
    """Return in the job's units how much at least remains above the limits whatever is cut."""

    def amount(value_gmm: float) -> str:
        return job.units.text(value_gmm, "unbalance")

    parts = [
        f"{limit.at} at least {amount(excess)}"
        for limit, excess in zip(problem.limits, certificate.excess_gmm, strict=True)
        if excess > 0.0
    ]
    together = "over both limits together" if len(problem.limits) == 2 else "over all limits together"
    text = f"at least {amount(certificate.excess_sum_gmm)} too much remains {together}"
    if not parts:
        return f"{text}; each limit alone could be kept, not all of them at once"
    if len(parts) == 1 and len(problem.limits) == 1:
        return f"{problem.limits[0].at}: at least {amount(certificate.excess_sum_gmm)} too much remains"
    return f"{text}; each taken by itself: {', '.join(parts)}"


def _needed(
    job: Job,
    problem: CorrectionProblem,
    outcome: PlanOutcome,
    *,
    seconds: float | Budget,
    progress: Progress | None,
) -> tuple[bool | None, str, Certificate | None]:
    slugs = [planned for planned in outcome.cuts if planned.cut.kind in ("slug", "fill")]
    if outcome.feasible and not slugs:
        return False, _drilling_reason(len(outcome.cuts)), None
    if not outcome.feasible:
        return None, _no_plan_reason(problem, outcome), None
    asked = drilling_only(problem)
    drilled = outcome.drilling or find_plan(asked, seconds=seconds, progress=progress)
    if drilled.feasible:
        saves = "; heavy metal only saves cuts here" if len(outcome.cuts) < len(drilled.cuts) else ""
        return (
            False,
            f"drilling alone reaches the tolerance too, with {_cuts(len(drilled.cuts))}{saves}",
            None,
        )
    if drilled.certificate is not None:
        words = certificate_words(job, asked, drilled.certificate)
        return (
            True,
            f"no drilling can reach the tolerance, proven: whatever is drilled, {words}",
            drilled.certificate,
        )
    if drilled.proof.stopped_by_time:
        return (
            True,
            "no plan by drilling alone was found in the time given; that there is none is not proven",
            None,
        )
    return True, "no plan by drilling alone was found; that there is none is not proven", None


def _window(
    job: Job, posed: Posed, *, full: bool, seconds: float | Budget, progress: Progress | None
) -> BobWindow | None:
    bob = wanted_bob_g(job, posed.spin_number)
    if bob is None or not any(kind in posed.problem.shop.allow for kind in DRILLING):
        return None
    return bob_window_of(
        job,
        posed.problem,
        bob_g=bob,
        seconds=seconds,
        steps=_FULL_STEPS if full else _QUICK_STEPS,
        nearest_end_only=not full,
        progress=progress,
    )


def with_window(
    job: Job,
    posed: Posed,
    heavy: HeavyMetal,
    *,
    seconds: float | Budget = 10.0,
    progress: Progress | None = None,
) -> HeavyMetal:
    """Return the same answer with the window of bob masses worked out and confirmed as far as time allows."""
    found = _window(job, posed, full=True, seconds=seconds, progress=progress)
    if found is None:
        return heavy
    return dataclasses.replace(
        heavy, window=found, bob_window_g=found.proven_g, confirmed_window_g=found.confirmed_g
    )


def with_way_out(heavy: HeavyMetal, ways: WaysOut, outcome: PlanOutcome) -> HeavyMetal:
    """Return the answer for a job without a plan: heavy metal is needed when it is what makes one possible.

    Without a proof that there is no plan with the cuts allowed it is not known to be needed.
    """
    way = next((each for each in ways.found if each.kind == "heavy metal"), None)
    if way is None:
        return heavy
    grams = f"{way.heavy_metal_g:.0f} g in {_cuts(len(way.cuts))}"
    if outcome.certificate is None:
        return dataclasses.replace(
            heavy,
            reason="with the cuts allowed no plan was found, not proven that there is none; with heavy metal there is one "
            f"({grams})",
        )
    return dataclasses.replace(
        heavy,
        needed=True,
        reason=f"with the cuts allowed there is no plan; with heavy metal there is ({grams})",
    )


def _no_plan_reason(problem: CorrectionProblem, outcome: PlanOutcome) -> str:
    slugs = "slug" in problem.shop.allow and any("slug" in each.cuts for each in problem.counterweights)
    what = "with heavy metal or without" if slugs else "heavy metal is not among them"
    if outcome.certificate is not None:
        return f"there is no plan with the cuts allowed, {what}"
    return f"no plan was found with the cuts allowed, {what}; that there is none is not proven"


def _drilling_reason(count: int) -> str:
    if count == 0:
        return "nothing has to be cut"
    return f"drilling alone reaches the tolerance, with {_cuts(count)}"


def _cuts(count: int) -> str:
    return "1 cut" if count == 1 else f"{count} cuts"
