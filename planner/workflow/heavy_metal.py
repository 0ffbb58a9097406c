"""Is heavy metal needed, and why."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

from planner.correction.problem import CorrectionProblem, PlanOutcome
from planner.correction.search import find_plan
from planner.rotor.crankshaft import CutKind
from planner.workflow.answer import HeavyMetal

DRILLING: tuple[CutKind, ...] = ("rim hole", "face hole")


def heavy_metal_of(
    problem: CorrectionProblem,
    outcome: PlanOutcome,
    *,
    seconds: float = 10.0,
    progress: Callable[[str], None] | None = None,
) -> HeavyMetal:
    """Return whether heavy metal is needed for a problem whose best plan is known.

    Needed means: no drilling alone reaches the tolerance, by certificate or because no such plan was found; the reason
    says which of the two.
    """
    slugs = [planned for planned in outcome.cuts if planned.cut.kind in ("slug", "fill")]
    if outcome.feasible and not slugs:
        return HeavyMetal(needed=False, reason=_drilling_reason(len(outcome.cuts)))
    drilled = (
        outcome if not _may_add(problem) else _drilling_only(problem, seconds=seconds, progress=progress)
    )
    if drilled.feasible:
        return HeavyMetal(
            needed=False,
            reason=f"drilling alone reaches the tolerance too, with {_cuts(len(drilled.cuts))}; "
            "heavy metal only saves cuts here",
        )
    if drilled.certificate is not None:
        reason = drilled.certificate.text
    elif drilled.proof.stopped_by_time:
        reason = "no plan by drilling alone was found in the time given; that there is none is not proven"
    else:
        reason = "no plan by drilling alone was found; that there is none is not proven"
    return HeavyMetal(needed=True, reason=reason)


def _may_add(problem: CorrectionProblem) -> bool:
    adding = {"slug", "fill"} & set(problem.shop.allow)
    return bool(adding) and any(adding & set(each.cuts) for each in problem.counterweights)


def _drilling_only(
    problem: CorrectionProblem, *, seconds: float, progress: Callable[[str], None] | None
) -> PlanOutcome:
    allow = tuple(kind for kind in problem.shop.allow if kind in DRILLING)
    shop = dataclasses.replace(problem.shop, allow=allow)
    drilled = tuple(cut for cut in problem.fixed if cut.kind in DRILLING)
    return find_plan(
        dataclasses.replace(problem, shop=shop, fixed=drilled), seconds=seconds, progress=progress
    )


def _drilling_reason(count: int) -> str:
    if count == 0:
        return "nothing has to be cut"
    return f"drilling alone reaches the tolerance, with {_cuts(count)}"


def _cuts(count: int) -> str:
    return "1 cut" if count == 1 else f"{count} cuts"
