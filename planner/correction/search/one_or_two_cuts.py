"""One or two cuts: all plans of them are looked at, first for their number and then for what is wanted of them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from planner.correction.candidates.block import Block, only_drill
from planner.correction.problem import CorrectionProblem
from planner.correction.search.pairs import PairResult, best_pair, best_single
from planner.correction.search.tie_break import (
    NEARLY,
    WISHES_FROM,
    counterweights,
    drill_changes,
    overshoots,
    single_tools,
)
from planner.correction.search.working_plan import Place, Pool
from planner.frames import TwoPlanes
from planner.records import dataclass

WISH_WORK = 10_000_000
"""Pairs to look at for one wish among plans that cost nearly the same."""
NEARER = 0.01
"""Shares of a limit this near to each other count as equally close."""
STAGES = (0.3, 0.6, 1.0)
"""Shares of the limits at which a plan is looked for where there is none as close as was asked for."""

Search = Callable[..., PairResult]
"""All plans of one or of two cuts: pool, most cost, whether in one counterweight, most work, whether any will do."""


@dataclass(frozen=True)
class Found:
    """A plan: places in blocks, its cost, the share of the tolerance it was made for, what is proven of it.

    ``cost_bound`` is a bound on the cost of any plan of as many cuts inside ``share``; ``closest`` says that none is closer,
    or that this one is as close as was asked for.
    """

    blocks: list[Block]
    places: tuple[Place, ...]
    cost: float
    share: float
    cost_bound: float | None
    closest: bool = False


def drills_of(blocks: list[Block]) -> list[float]:
    """Return the drills that holes can be made with, ascending [mm]."""
    return sorted({float(t) for b in blocks for t in b.tool_mm if b.kind in ("rim hole", "face hole")})


def wanted_share(problem: CorrectionProblem) -> float:
    """Return the share of the limits below which closer is no better."""
    shop = problem.shop
    return shop.close_enough if shop.prefer == "closest" else shop.aim


def shares_of(target: float) -> list[float]:
    """Return the shares of the tolerance to try: the one that is wanted, then wider ones up to all of it."""
    return [target, *(share for share in STAGES if share > target * 1.05)]


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
        unbalance_gmm: TwoPlanes[complex],
        blocks: list[Block],
        deadline: float,
    ) -> None:
        self.problem = problem
        self.unbalance_gmm = unbalance_gmm
        self.blocks = blocks
        self.deadline = deadline
        self.bound_cuts = 1
        self._exact = True  # whether the last search saw everything

    def best(self, cuts: int, target: float) -> Found | None:
        """Return the best plan of one or two cuts: as close as ``target`` or as can be, then what is wanted; None if none.

        All of them are looked at.
        """
        search = self._singles if cuts == 1 else self._pairs
        lists = self._lists()
        found = self._cheapest(lists, target, search)
        if found is None and lists[0] is not self.blocks:
            found = self._cheapest([self.blocks], target, search)
            lists = [self.blocks]
        if found is not None:
            return self._preferred(replace(found, closest=True), lists, search)
        closest = self._closest(target, search)
        if closest is None:
            if self._exact and self.bound_cuts == cuts:
                self.bound_cuts = cuts + 1
            return None
        lists = self._lists()
        inside = replace(closest, share=min(1.0, closest.share + NEARER))
        for some in (lists, [self.blocks]) if lists[0] is not self.blocks else (lists,):
            found = self._cheapest(some, inside.share, search)
            if found is not None:
                found = replace(found, closest=closest.closest)
                return self._preferred(found, some, search)
        return closest

    def cheapest(self, cuts: int, share: float, most_cost: float = math.inf) -> Found | None:
        """Return the cheapest plan of one or two cuts inside a share of the limits, if it costs less than ``most_cost``."""
        search = self._singles if cuts == 1 else self._pairs
        result = search(Pool(self.problem, self.unbalance_gmm, self.blocks, share), most_cost)
        return None if result.places is None else self._found(self.blocks, result, share)

    def _lists(self) -> list[list[Block]]:
        drills = drills_of(self.blocks)
        if self.problem.shop.one_drill and len(drills) > 1:
            return [only_drill(self.blocks, drill) for drill in drills]
        return [self.blocks]

    def _cheapest(self, lists: list[list[Block]], share: float, search: Search) -> Found | None:
        best: Found | None = None
        bounds: list[float | None] = []
        self._exact = True
        for blocks in lists:
            pool = Pool(self.problem, self.unbalance_gmm, blocks, share)
            result = search(pool, math.inf if best is None else best.cost)
            if result.places is not None:
                best = self._found(blocks, result, share)
            if not result.exact:
                bounds.append(None)
                self._exact = False
            elif result.places is not None:
                bounds.append(result.cost)
        if best is None:
            return None
        known = [bound for bound in bounds if bound is not None]
        return replace(best, cost_bound=min(known) if known and len(known) == len(bounds) else None)

    def _closest(self, target: float, search: Search) -> Found | None:
        """Return the plan that leaves the least share of a limit, to within `NEARER`; None if none keeps the limits."""
        best: Found | None = None
        low, exact = target, self._exact
        # most often there is none at all: that is asked first
        within = search(Pool(self.problem, self.unbalance_gmm, self.blocks), any_will_do=True)
        if within.places is None:
            self._exact = within.exact
            return None
        for share in shares_of(target)[1:]:
            result = (
                within
                if share == STAGES[-1]
                else search(Pool(self.problem, self.unbalance_gmm, self.blocks, share), any_will_do=True)
            )
            if result.places is not None:
                best = self._as_close_as_it_is(result)
                break
            exact = self._exact = result.exact
            low = share
        while best is not None and best.share - low > NEARER:
            middle = 0.5 * (low + best.share)
            result = search(Pool(self.problem, self.unbalance_gmm, self.blocks, middle), any_will_do=True)
            if result.places is None:
                low, exact = middle, exact and result.exact
            else:
                best = self._as_close_as_it_is(result)
        return None if best is None else replace(best, closest=exact)

    def _as_close_as_it_is(self, result: PairResult) -> Found:
        found = self._found(self.blocks, result, 1.0)
        pool = Pool(self.problem, self.unbalance_gmm, self.blocks)
        return replace(found, share=pool.worst_share(found.places), cost_bound=None)

    def _preferred(self, best: Found, lists: list[list[Block]], search: Search) -> Found:
        """Return the plan that is wanted among all of one or two cuts that cost nearly as little."""
        if best.share >= WISHES_FROM:
            return best

        def look(lists: list[list[Block]], *, undershoot: bool, together: bool = False) -> Found | None:
            cheapest: Found | None = None
            for blocks in lists:
                pool = Pool(self.problem, self.unbalance_gmm, blocks, best.share, undershoot)
                result = search(
                    pool,
                    best.cost * NEARLY if cheapest is None else cheapest.cost,
                    together=together,
                    most_work=WISH_WORK,
                )
                if result.places is not None:
                    cheapest = replace(best, blocks=blocks, places=result.places, cost=result.cost)
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

    def _singles(self, pool: Pool, most_cost: float = math.inf, **of_pairs: object) -> PairResult:
        """Return the cheapest single cut; what is wished of pairs means nothing to one."""
        result = best_single(pool)
        return result if result.cost < most_cost else PairResult(None, most_cost, result.exact)

    def _pairs(self, pool: Pool, most_cost: float = math.inf, **wishes: Any) -> PairResult:
        return best_pair(pool, most_cost=most_cost, deadline=self.deadline, **wishes)
