"""One or two cuts: all plans of them are looked at, first for their number and then for what is wanted of them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from planner.correction.block import Block, only_drill
from planner.correction.choice import NEARLY, counterweights, drill_changes, overshoots, single_tools
from planner.correction.pairs import MOST_WORK, PairResult, best_pair, best_single
from planner.correction.problem import CorrectionProblem
from planner.correction.state import Place, Pool

WISH_WORK = 10_000_000
"""Pairs to look at for one wish among plans that cost nearly the same."""

Search = Callable[..., PairResult]
"""All plans of one or of two cuts: pool, most cost, whether in one counterweight, most work."""


@dataclass(frozen=True)
class Found:
    """A plan: places in blocks, its cost, the share of the tolerance it was made for, a bound on the cost."""

    blocks: list[Block]
    places: tuple[Place, ...]
    cost: float
    share: float
    cost_bound: float | None


def drills_of(blocks: list[Block]) -> list[float]:
    """Return the drills that holes can be made with, ascending [mm]."""
    return sorted({float(t) for b in blocks for t in b.tool_mm if b.kind in ("rim hole", "face hole")})


def shares_of(problem: CorrectionProblem) -> list[float]:
    """Return the shares of the tolerance to try: the aim, then wider ones up to all of it."""
    aim = problem.shop.aim
    return list(dict.fromkeys([aim, *(s for s in (0.7, 1.0) if s > aim)]))


class FewCuts:
    """The search for plans of one or two cuts.

    Parameters
    ----------
    problem, unbalance_gmm, blocks, deadline
        As `Attempt` has them.

    Attributes
    ----------
    bound_cuts : int
        Proven: no plan has fewer cuts.
    """

    def __init__(
        self,
        problem: CorrectionProblem,
        unbalance_gmm: tuple[complex, complex],
        blocks: list[Block],
        deadline: float,
    ) -> None:
        self.problem = problem
        self.unbalance_gmm = unbalance_gmm
        self.blocks = blocks
        self.deadline = deadline
        self.bound_cuts = 1

    def best(self, told: Callable[[Found], None]) -> Found | None:
        """Return the best plan of one or two cuts: all of them are looked at."""
        pool = Pool(self.problem, self.unbalance_gmm, self.blocks)
        for cuts, search in ((1, self._singles), (2, self._pairs)):
            result = search(pool)
            if result.places is None:
                if result.exact and self.bound_cuts == cuts:
                    self.bound_cuts = cuts + 1
                continue
            told(self._found(self.blocks, result, 1.0))
            return self._within_aim(self._found(self.blocks, result, 1.0), search)
        return None

    def _within_aim(self, found: Found, search: Search) -> Found:
        """Return the plan of as many cuts that is wanted: with one drill, inside the aim, then cheapest."""
        drills = drills_of(self.blocks)
        choices = [self.blocks]
        if self.problem.shop.one_drill and len(drills) > 1:
            choices = [only_drill(self.blocks, drill) for drill in drills]
        for blocks_of in (choices, [self.blocks]):
            for share in shares_of(self.problem):
                best: Found | None = None
                bounds = []
                for blocks in blocks_of:
                    result = search(Pool(self.problem, self.unbalance_gmm, blocks, share))
                    if result.places is not None:
                        candidate = self._found(blocks, result, share)
                        bounds.append(candidate.cost_bound)
                        if best is None or candidate.cost < best.cost - 1e-9:
                            best = candidate
                    elif not result.exact:
                        bounds.append(None)
                if best is not None:
                    known = [bound for bound in bounds if bound is not None]
                    best = replace(best, cost_bound=min(known) if len(known) == len(bounds) else None)
                    return self._preferred_of_few(best, blocks_of, search)
        return found

    def _preferred_of_few(self, best: Found, lists: list[list[Block]], search: Search) -> Found:
        """Return the plan that is wanted among all of one or two cuts that cost nearly as little."""
        if self.problem.shop.aim >= 1.0:
            return best

        def look(lists: list[list[Block]], *, undershoot: bool, together: bool = False) -> Found | None:
            cheapest: Found | None = None
            for blocks in lists:
                pool = Pool(self.problem, self.unbalance_gmm, blocks, best.share, undershoot)
                result = search(
                    pool, best.cost * NEARLY if cheapest is None else cheapest.cost, together, WISH_WORK
                )
                if result.places is not None:
                    cheapest = replace(self._found(blocks, result, best.share), cost_bound=best.cost_bound)
            return cheapest

        pool = Pool(self.problem, self.unbalance_gmm, best.blocks, best.share)
        under: Found | None = best
        if overshoots(self.problem, pool, best.places):
            under = look(lists, undershoot=True)
        chosen, undershoot = under or best, under is not None
        alone = single_tools(lists)
        if drill_changes(self.problem, (chosen.blocks, chosen.places)) > 0:
            one = look(alone, undershoot=undershoot)
            chosen, lists = (chosen, lists) if one is None else (one, alone)
        else:
            lists = alone
        if counterweights(self.problem, (chosen.blocks, chosen.places)) > 1:
            chosen = look(lists, undershoot=undershoot, together=True) or chosen
        return chosen

    def _found(self, blocks: list[Block], result: PairResult, share: float) -> Found:
        assert result.places is not None
        return Found(blocks, result.places, result.cost, share, result.cost if result.exact else None)

    def _singles(
        self, pool: Pool, most_cost: float = math.inf, together: bool = False, most_work: int = MOST_WORK
    ) -> PairResult:
        del together, most_work
        result = best_single(pool)
        return result if result.cost < most_cost else PairResult(None, most_cost, result.exact)

    def _pairs(
        self, pool: Pool, most_cost: float = math.inf, together: bool = False, most_work: int = MOST_WORK
    ) -> PairResult:
        return best_pair(
            pool, most_cost=most_cost, together=together, deadline=self.deadline, most_work=most_work
        )
