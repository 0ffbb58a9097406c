"""One run of the search: variants of the tool list, shares of the tolerance, numbers of cuts."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property

from planner.correction.block import Block, only_drill
from planner.correction.master import Master, Signature
from planner.correction.pairs import PairResult, best_pair, best_single
from planner.correction.polish import Polished, polish
from planner.correction.problem import CorrectionProblem
from planner.correction.rescue import best_effort, rescue
from planner.correction.starts import start_plan
from planner.correction.state import Place, Pool
from planner.correction.supports import Window, build_windows

SIGNATURES = 5
SIGNATURE_GAP = 0.02
"""The master may stop this near to its least cost."""
GOOD_COST = 1.03
"""A plan within this factor of the bound is not sought to be bettered with other signatures."""
MOST_EXTRA_CUTS = 6


@dataclass(frozen=True)
class Found:
    """A plan: places in blocks, its cost, the share of the tolerance it was made for, a bound on the cost."""

    blocks: list[Block]
    places: tuple[Place, ...]
    cost: float
    share: float
    cost_bound: float | None


@dataclass
class Variant:
    """The blocks with one choice of tools, their windows and master."""

    blocks: list[Block]
    windows: list[Window]
    master: Master
    bound_cuts: int = 0
    impossible_cuts: set[tuple[int, float]] = field(default_factory=set)


class Attempt:
    """The search for one problem.

    Parameters
    ----------
    problem : CorrectionProblem
        The problem.
    unbalance_gmm : tuple of 2 complex
        What is left to correct, pinned cuts taken off [g*mm].
    blocks : list of Block
        Everything that could be cut.
    deadline : float
        ``time.monotonic()`` at which to stop.
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
        self.deadline = deadline
        self.bound_cuts = 1
        self.stopped_by_time = False
        self.blocks = blocks
        self._nearest: tuple[float, Found] | None = None
        self._spare: Found | None = None
        self._last_bound: float | None = None

    @cached_property
    def full(self) -> Variant:
        """The variant with all tools."""
        return self._variant(self.blocks)

    def _variant(self, blocks: list[Block]) -> Variant:
        windows = [window for index, block in enumerate(blocks) for window in build_windows(block, index)]
        return Variant(blocks, windows, Master(self.problem, self.unbalance_gmm, blocks, windows))

    def excess_gmm(self) -> tuple[float, list[float]]:
        """Return what remains above the limits whatever is cut (see `Master.excess_gmm`)."""
        return self.full.master.excess_gmm()

    @property
    def _seconds_left(self) -> float:
        return self.deadline - time.monotonic()

    def _late(self) -> bool:
        if self._seconds_left <= 0.0:
            self.stopped_by_time = True
        return self.stopped_by_time

    def run(self, told: Callable[[Found], None]) -> Found | None:
        """Return the best plan of three cuts or more, or None."""
        bound = self._fewest(self.full, self.bound_cuts)
        if bound is None:
            return None
        self.bound_cuts = self.full.bound_cuts = bound
        variants = self._single_drill_variants() or [self.full]
        first = max(3, bound)
        for cuts in range(first, first + MOST_EXTRA_CUTS + 1):
            found = self._with_cuts(cuts, variants, told)
            if found is None and variants[0] is not self.full:
                found = self._with_cuts(cuts, [self.full], told)
            if found is None:
                found = self._rescued(cuts)
                if found is not None:
                    told(found)
            if found is not None:
                return found
            if self._late():
                break
        return self._spare

    def at_most_two(self, told: Callable[[Found], None]) -> Found | None:
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

    def _within_aim(self, found: Found, search: Callable[[Pool], PairResult]) -> Found:
        """Return the plan of as many cuts that is wanted: with one drill, inside the aim, then cheapest."""
        drills = self._drills()
        choices = [self.blocks]
        if self.problem.shop.one_drill and len(drills) > 1:
            choices = [only_drill(self.blocks, drill) for drill in drills]
        for blocks_of in (choices, [self.blocks]):
            for share in self._shares():
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
                    return replace(best, cost_bound=min(known) if len(known) == len(bounds) else None)
        return found

    def _found(self, blocks: list[Block], result: PairResult, share: float) -> Found:
        assert result.places is not None
        return Found(blocks, result.places, result.cost, share, result.cost if result.exact else None)

    def _singles(self, pool: Pool) -> PairResult:
        return best_single(pool)

    def _pairs(self, pool: Pool) -> PairResult:
        return best_pair(pool, deadline=self.deadline)

    def _drills(self) -> list[float]:
        return sorted(
            {float(t) for b in self.blocks if b.kind in ("rim hole", "face hole") for t in b.tool_mm}
        )

    def _shares(self) -> list[float]:
        aim = self.problem.shop.aim
        return list(dict.fromkeys([aim, *(s for s in (0.7, 1.0) if s > aim)]))

    def _fewest(self, variant: Variant, least: int) -> int | None:
        """Return a proven lower bound on the number of cuts; None where no number of them can do."""
        if not variant.windows:
            return None
        answer = variant.master.solve(least_cuts=least, seconds=self._seconds_left)
        if answer.impossible:
            return None
        return least if answer.bound is None else max(least, math.ceil(answer.bound - 1e-6))

    def _single_drill_variants(self) -> list[Variant]:
        shop = self.problem.shop
        drills = self._drills()
        if not shop.one_drill or len(drills) < 2:
            return []
        found = []
        for drill in drills:
            variant = self._variant(only_drill(self.full.blocks, drill))
            bound = self._fewest(variant, self.bound_cuts)
            if bound is not None:
                variant.bound_cuts = bound
                found.append(variant)
        return found

    def _with_cuts(self, cuts: int, variants: list[Variant], told: Callable[[Found], None]) -> Found | None:
        """Return the best plan of so many cuts: smallest aim that can be kept, then least cost."""
        aim, *wider = self._shares()
        found = self._at_share(cuts, aim, variants, told)
        if found is not None or not wider:
            return found
        # The real tolerance decides whether so many cuts can do at all; only then is what lies between of use.
        found = self._at_share(cuts, wider[-1], variants, told)
        if found is None or self._late():
            return found
        for share in wider[:-1]:
            nearer = self._at_share(cuts, share, variants, told)
            if nearer is not None:
                return nearer
        return found

    def _at_share(
        self, cuts: int, share: float, variants: list[Variant], told: Callable[[Found], None]
    ) -> Found | None:
        best: Found | None = None
        bounds: list[float | None] = []
        for variant in variants:
            if variant.bound_cuts > cuts or (best is not None and self._late()):
                continue
            found = self._search(variant, cuts, share, best, told)
            bounds.append(self._last_bound)
            if found is not None and (best is None or found.cost < best.cost - 1e-9):
                best = found
                told(best)
        if best is None:
            return None
        known = [bound for bound in bounds if bound is not None]
        return replace(best, cost_bound=min(known) if len(known) == len(bounds) else None)

    def _rescued(self, cuts: int) -> Found | None:
        """Return a plan on the real tolerance by other moves than signatures, or None."""
        if self._late():
            return None
        pool = Pool(self.problem, self.unbalance_gmm, self.blocks)
        starts = (
            [list(self._nearest[1].places)]
            if self._nearest and self._nearest[1].blocks is self.blocks
            else []
        )
        result = rescue(pool, starts, cuts, deadline=self.deadline, seed=cuts)
        if result is None:
            return None
        self._remember(self.full, result)
        if result.above_gmm > 0.0:
            return None
        return Found(self.blocks, result.places, result.cost, 1.0, None)

    def _search(
        self, variant: Variant, cuts: int, share: float, known: Found | None, told: Callable[[Found], None]
    ) -> Found | None:
        pool = Pool(self.problem, self.unbalance_gmm, variant.blocks, share)
        return self._signatures(pool, variant, cuts, share, known, told)

    def _signatures(
        self,
        pool: Pool,
        variant: Variant,
        cuts: int,
        share: float,
        known: Found | None,
        told: Callable[[Found], None],
    ) -> Found | None:
        """Return the best plan that the signatures of least cost lead to."""
        tried: tuple[Signature, ...] = ()
        best: Polished | None = None
        bound: float | None = None
        self._last_bound = None
        for number in range(SIGNATURES):
            answer = variant.master.solve(
                cuts=cuts,
                share=share,
                without=tried,
                gap=SIGNATURE_GAP,
                seconds=self._seconds_left,
                node_limit=2000,
            )
            if answer.impossible and not tried:
                self._last_bound = math.inf
                return None
            if not tried:
                bound = self._last_bound = answer.bound
                if known is not None and bound is not None and bound >= known.cost:
                    return None
            elif best is not None and (answer.bound is None or answer.bound >= best.cost * 0.998):
                break
            if answer.signature is None:
                break
            tried = (*tried, answer.signature)
            start = start_plan(pool, variant.windows, answer.signature)
            if start is not None:
                result = polish(pool, start, deadline=self.deadline)
                self._remember(variant, result)
                if result.above_gmm <= 0.0 and (best is None or result.cost < best.cost - 1e-9):
                    best = result
                    if known is None:
                        told(Found(variant.blocks, best.places, best.cost, share, bound))
            if self._late() or (best is not None and (bound is None or best.cost <= bound * GOOD_COST)):
                break
            if best is not None and number >= 1:
                break
        if best is None:
            return None
        return Found(variant.blocks, best.places, best.cost, share, bound)

    def _remember(self, variant: Variant, result: Polished) -> None:
        """Keep the set of cuts that comes nearest to the real limits, and the first that keeps them."""
        pool = (
            self._real
            if variant.blocks is self.blocks
            else Pool(self.problem, self.unbalance_gmm, variant.blocks)
        )
        residual = pool.residual(list(result.places))
        above = pool.above(residual)
        found = Found(variant.blocks, result.places, result.cost, 1.0, None)
        if self._nearest is None or above < self._nearest[0] - 1e-9:
            self._nearest = (above, found)
        if above <= 0.0 and (self._spare is None or len(found.places) < len(self._spare.places)):
            self._spare = found

    @cached_property
    def _real(self) -> Pool:
        return Pool(self.problem, self.unbalance_gmm, self.blocks)

    def best_effort(self) -> Found | None:
        """Return the set of cuts that comes nearest to the limits."""
        deadline = max(self.deadline, time.monotonic() + 1.0)
        result = best_effort(self._real, deadline=deadline)
        if result.places:
            self._remember(self.full, result)
        return None if self._nearest is None else self._nearest[1]
