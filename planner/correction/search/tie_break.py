"""Which of several plans that cost nearly the same: undershoot, one drill, few counterweights, then a fixed order.

A plan that undershoots leaves the heavy spots where they were: a second pass can go on drilling there.  None of these
wishes costs a cut, a narrower share of the tolerance, or more than half a percent.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from planner.correction.candidates.block import Block, only_tool
from planner.correction.problem import CorrectionProblem
from planner.correction.search.polish import Polished, polish
from planner.correction.search.working_plan import LEAST_LEFT_GMM, Place, Pool, toward
from planner.frames import TwoPlanes

NEARLY = 1.005
"""Plans within this factor of the least cost found count as equally cheap."""
WISHES_FROM = 1.0
"""A shop that aims at the whole tolerance wants the least metal and nothing else."""

Plan = tuple[list[Block], tuple[Place, ...]]
Key = tuple[bool, int, int, float, tuple[tuple[object, ...], ...]]


def overshoots(problem: CorrectionProblem, pool: Pool, places: Sequence[Place]) -> bool:
    """Whether some limit's vector ends beyond the shaft axis."""
    left = pool.residual(list(places))
    along = (np.conj(toward(problem)) * left).real
    return bool(np.any((toward(problem) != 0.0) & (along < LEAST_LEFT_GMM)))


def drill_changes(problem: CorrectionProblem, plan: Plan) -> int:
    """Return how often the tool has to be changed, pinned cuts included."""
    sizes = {round(cut.diameter_mm, 6) for cut in problem.fixed}
    sizes |= {round(float(plan[0][block].tool_mm[setting]), 6) for block, setting, _ in plan[1]}
    return max(0, len(sizes) - 1)


def counterweights(problem: CorrectionProblem, plan: Plan) -> int:
    """Return how many counterweights are cut, pinned cuts included."""
    names = {cut.counterweight for cut in problem.fixed}
    names |= {problem.counterweights[plan[0][block].counterweight].name for block, _, _ in plan[1]}
    return len(names)


def wishes(problem: CorrectionProblem, pool: Pool, places: Sequence[Place]) -> Key:
    """Return what decides between plans that cost nearly the same; the smaller the better."""
    plan = (pool.blocks, tuple(places))
    order = []
    for index, setting, angle in places:
        block = pool.blocks[index]
        order.append((
            block.z_mm, round(block.angle_deg(angle), 6), block.kind, float(block.tool_mm[setting]),
            round(abs(float(block.amount_gmm[setting])), 6),
        ))  # fmt: skip
    return (
        overshoots(problem, pool, places),
        drill_changes(problem, plan),
        counterweights(problem, plan),
        round(pool.cost(list(places)), 6),
        tuple(sorted(order)),
    )


def single_tools(lists: Sequence[list[Block]]) -> list[list[Block]]:
    """Return the lists of blocks with every tool alone."""
    found = []
    for blocks in lists:
        tools = sorted({float(tool) for block in blocks for tool in np.unique(block.tool_mm)})
        found += [blocks] if len(tools) < 2 else [only_tool(blocks, tool) for tool in tools]
    return found


def preferred(
    problem: CorrectionProblem,
    unbalance_gmm: TwoPlanes[complex],
    share: float,
    plans: Sequence[Plan],
    *,
    deadline: float,
) -> Plan:
    """Return the plan that is wanted among some of the same number of cuts and what they lead to.

    Parameters
    ----------
    problem : CorrectionProblem
        Limits, pinned cuts.
    unbalance_gmm : tuple of 2 complex
        What is left to correct [g*mm].
    share : float
        Share of the tolerances that all plans keep.
    plans : sequence of Plan
        Plans at that share; the first is the cheapest.
    deadline : float
        ``time.monotonic()`` at which to stop looking for more.
    """
    least = min(_cost(plan) for plan in plans)
    near = [plan for plan in plans if _cost(plan) <= least * 1.1]
    more: list[Plan] = []
    for plan in near:
        if overshoots(problem, Pool(problem, unbalance_gmm, plan[0], share), plan[1]):
            more += _polished(
                problem, unbalance_gmm, share, plan, plan[1], undershoot=True, deadline=deadline
            )
    for plan in [*near, *more]:
        if drill_changes(problem, plan) == 0 or not plan[1]:
            continue
        for blocks in single_tools([plan[0]]):
            moved = _moved(plan, blocks)
            if moved is None:
                continue
            one = (blocks, moved)
            either = _polished(problem, unbalance_gmm, share, one, moved, undershoot=False, deadline=deadline)
            if either:  # what keeps no limits does not undershoot either
                more += _polished(
                    problem, unbalance_gmm, share, one, moved, undershoot=True, deadline=deadline
                )
            more += either
    everything = [*plans, *more]
    least = min(_cost(plan) for plan in everything)
    keyed = [
        (wishes(problem, Pool(problem, unbalance_gmm, plan[0], share), plan[1]), number)
        for number, plan in enumerate(everything)
        if _cost(plan) <= least * NEARLY + 1e-9
    ]
    return everything[min(keyed)[1]]


def _cost(plan: Plan) -> float:
    return float(sum(plan[0][block].cost[setting] for block, setting, _ in plan[1]))


def _polished(
    problem: CorrectionProblem,
    unbalance_gmm: TwoPlanes[complex],
    share: float,
    plan: Plan,
    places: tuple[Place, ...],
    *,
    undershoot: bool,
    deadline: float,
) -> list[Plan]:
    pool = Pool(problem, unbalance_gmm, plan[0], share, undershoot)
    result: Polished = polish(pool, list(places), deadline=deadline, penalties=(10.0, 400.0))
    return [(plan[0], result.places)] if result.above_gmm <= 0.0 else []


def _moved(plan: Plan, blocks: list[Block]) -> tuple[Place, ...] | None:
    """Return cuts of about the same effect in other blocks of the same counterweights and kinds; None if there are none."""
    places: list[Place] = []
    for index, setting, angle in plan[1]:
        old = plan[0][index]
        for number, new in enumerate(blocks):
            if new.counterweight == old.counterweight and new.kind == old.kind:
                amount = int(np.argmin(np.abs(new.amount_gmm - old.amount_gmm[setting])))
                turn = int(np.argmin(np.abs(new.relative_deg - old.relative_deg[angle])))
                places.append((number, amount, turn))
                break
    return tuple(places) if len(places) == len(plan[1]) else None
