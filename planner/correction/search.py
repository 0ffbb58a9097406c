"""The planner: fewest cuts on the real tolerance, inside the aim, least cost - with proof, or a reason why not.

The stages, each a module of its own:

1. nothing to do? (`ordering`)
2. everything that could be cut (`blocks`), with outer bounds on its reach (`supports`)
3. certificate: can any number of cuts do it? (`master`, a linear program)
4. fewest cuts: lower bound for every plan on the grid (`master`)
5. one or two cuts: all of them (`few`, `pairs`); more: signatures of least cost (`master`) -> fans (`starts`) -> pair
   moves on the shop's grid (`polish`), until a plan meets the bound
6. a plan for the aim at that number of cuts - or, where the shop does not mind the number, more cuts as long
   as they are cheaper; among plans that cost nearly the same the one that is wanted (`choice`); the shop's order
   (`ordering`)

There is no clock inside the search: limits on passes, nodes and pairs end it, so that the same input gives the same
plan.  ``seconds`` is the outer stop; a plan found under it says so.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from planner.correction.attempt import Attempt
from planner.correction.blocks import build_blocks
from planner.correction.few import Found
from planner.correction.ordering import cost_of, in_order, plan_of, planned, residual_gmm, worst_share
from planner.correction.problem import Certificate, CorrectionProblem, PlannedCut, PlanOutcome, Proof

Progress = Callable[[str], None]
"""Called with what is being done, in words for the user."""


def find_plan(
    problem: CorrectionProblem, *, seconds: float = 10.0, progress: Progress | None = None
) -> PlanOutcome:
    """Return the best plan, with what is proven of it.

    Parameters
    ----------
    problem : CorrectionProblem
        What has to be corrected, with which limits, counterweights and shop.
    seconds : float
        Outer stop [s].
    progress : callable, optional
        Called with a text as the search goes on; ``a plan of N cuts`` as soon as there is one.

    Returns
    -------
    PlanOutcome
        ``feasible`` with a plan; or not feasible with a certificate; or neither, with the best effort.

    Raises
    ------
    InputError
        If a pinned cut can't be what it says, or the two planes are at one place.
    """
    deadline = time.monotonic() + seconds
    pinned = tuple(planned(problem, cut, pinned=True) for cut in problem.fixed)
    start = residual_gmm(problem, pinned)
    if worst_share(problem, start) <= 1.0:
        return _outcome(
            problem, in_order(problem, pinned), Proof(fewest_cuts=True, bound_cuts=len(pinned), gap_cost=0.0)
        )
    _tell(progress, "laying out what can be cut")
    attempt = Attempt(problem, start, build_blocks(problem), deadline)

    def told(found: Found) -> None:
        _tell(progress, f"a plan of {len(found.places) + len(pinned)} cuts")

    found = attempt.at_most_two(told)
    if found is not None:
        if not problem.shop.least_cuts:
            few, found = found, attempt.cheaper(found, told)
            if found is not few:
                found = attempt.preferred(found)
        return _with_plan(problem, attempt, pinned, found)
    excess_sum, excess = attempt.excess_gmm()
    if excess_sum > 0.0:
        _tell(progress, "proven impossible, looking for the best that can be done")
        found = attempt.best_effort()
        return _no_plan(problem, attempt, pinned, found, Certificate(
            excess_sum_gmm=excess_sum, excess_gmm=tuple(excess), text=_certificate_text(problem, excess_sum, excess),
        ))  # fmt: skip
    found = attempt.run(told)
    if found is None:
        _tell(progress, "no plan found, looking for the best that can be done")
        effort = attempt.best_effort()
        if effort is None or not attempt.keeps_limits(effort):
            return _no_plan(problem, attempt, pinned, effort, None)
        found = effort
    if not problem.shop.least_cuts:
        found = attempt.cheaper(found, told)
    return _with_plan(problem, attempt, pinned, attempt.preferred(found))


def _tell(progress: Progress | None, text: str) -> None:
    if progress is not None:
        progress(text)


def _with_plan(
    problem: CorrectionProblem, attempt: Attempt, pinned: tuple[PlannedCut, ...], found: Found
) -> PlanOutcome:
    cuts = plan_of(problem, found.blocks, found.places, pinned)
    bound = attempt.bound_cuts
    own_cost = cost_of(problem, [cut for cut in cuts if not cut.pinned])
    gap = None
    if found.cost_bound is not None:
        gap = 0.0 if own_cost <= 0.0 else max(0.0, (own_cost - found.cost_bound) / own_cost)
    proof = Proof(
        fewest_cuts=len(found.places) <= bound,
        bound_cuts=bound + len(pinned),
        gap_cost=gap,
        stopped_by_time=attempt.stopped_by_time,
    )
    return _outcome(problem, cuts, proof)


def _outcome(problem: CorrectionProblem, cuts: tuple[PlannedCut, ...], proof: Proof) -> PlanOutcome:
    residual = residual_gmm(problem, cuts)
    share = worst_share(problem, residual)
    return PlanOutcome(
        feasible=share <= 1.0,
        cuts=cuts,
        residual_gmm=residual,
        cost=cost_of(problem, cuts),
        proof=proof,
        aim_reached=share,
    )


def _no_plan(
    problem: CorrectionProblem,
    attempt: Attempt,
    pinned: tuple[PlannedCut, ...],
    found: Found | None,
    certificate: Certificate | None,
) -> PlanOutcome:
    best = in_order(problem, pinned)
    if found is not None:
        best = plan_of(problem, found.blocks, found.places, pinned)
    residual = residual_gmm(problem, best)
    return PlanOutcome(
        feasible=False,
        cuts=(),
        residual_gmm=residual,
        cost=cost_of(problem, best),
        proof=Proof(
            fewest_cuts=False,
            bound_cuts=attempt.bound_cuts + len(pinned),
            stopped_by_time=attempt.stopped_by_time,
        ),
        aim_reached=worst_share(problem, residual),
        certificate=certificate,
        best_effort=best,
    )


def _certificate_text(problem: CorrectionProblem, excess_sum: float, excess: list[float]) -> str:
    parts = [
        f"{limit.at}: at least {amount:.0f} g*mm above its limit"
        for limit, amount in zip(problem.limits, excess, strict=True)
        if amount > 0.0
    ]
    each = "; ".join(parts) if parts else "each limit alone could be kept, not all of them together"
    return (
        "no choice of the allowed cuts can reach the tolerance: at least "
        f"{excess_sum:.0f} g*mm too much remains (sum over the limits); {each}"
    )
