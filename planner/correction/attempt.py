"""One run of the search: variants of the tool list, shares of the tolerance, numbers of cuts."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property

from planner.correction.block import Block, only_drill
from planner.correction.choice import Plan, preferred
from planner.correction.few import FewCuts, Found, drills_of, shares_of
from planner.correction.master import Master, MasterAnswer, Signature
from planner.correction.polish import Polished, polish
from planner.correction.problem import CorrectionProblem
from planner.correction.rescue import best_effort, rescue
from planner.correction.starts import start_plan
from planner.correction.state import Place, Pool
from planner.correction.supports import Window, build_windows

SIGNATURES = 3
SIGNATURE_GAP = 0.02
"""The master may stop this near to its least cost."""
FEW_CUTS = 6
MANY_WINDOWS = 12
MOST_DEARER_CUTS = 4
NODES = 2000
"""Branches that the master may look at for one signature; a limit that does not depend on the clock."""
HARD_CUTS = 5
"""From so many cuts on a plan of more cuts is sought first where the first attempt fails."""
GOOD_COST = 1.05
"""A plan within this factor of the bound is not sought to be bettered with other signatures."""
MOST_EXTRA_CUTS = 6


@dataclass
class Variant:
    """The blocks with one choice of tools, their windows and master."""

    blocks: list[Block]
    windows: list[Window]
    master: Master
    answers: dict[tuple[int, float, tuple[Signature, ...]], MasterAnswer] = field(default_factory=dict)
    polished: dict[tuple[float, Signature], Polished | None] = field(default_factory=dict)


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
        self._met: list[tuple[float, list[Block], tuple[Place, ...]]] = []

    @cached_property
    def full(self) -> Variant:
        """The variant with all tools."""
        return self._variant(self.blocks)

    def _variant(self, blocks: list[Block]) -> Variant:
        windows = [window for index, block in enumerate(blocks) for window in build_windows(block, index)]
        return Variant(blocks, windows, Master(self.problem, self.unbalance_gmm, blocks, windows))

    def excess_gmm(self) -> tuple[float, list[float]]:
        """Return what remains above the limits whatever is cut (see `Master.excess_gmm`); 0 when out of time."""
        if self._late():
            return 0.0, [0.0] * len(self.problem.limits)
        return self.full.master.excess_gmm()

    @property
    def _seconds_left(self) -> float:
        return self.deadline - time.monotonic()

    def _late(self) -> bool:
        if self._seconds_left <= 0.0:
            self.stopped_by_time = True
        return self.stopped_by_time

    def run(self, told: Callable[[Found], None]) -> Found | None:
        """Return the best plan of more cuts than could be looked at one by one, or None."""
        if self._late():
            return None
        if len(self.full.windows) > MANY_WINDOWS:
            # The master may take its time here: a plan, not yet the best, is in hand before.
            self._remember(self.full, best_effort(self._real, deadline=self.deadline))
            if self._spare is not None:
                told(self._spare)
        bound = self._fewest(self.full, self.bound_cuts)
        if bound is None:
            return None
        self.bound_cuts = bound
        variants = self._single_drill_variants() or [self.full]
        first = max(2, bound)  # two blind holes are not looked at pair by pair
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

    def cheaper(self, found: Found, told: Callable[[Found], None]) -> Found:
        """Return a cheaper plan of more cuts if there is one: what is wanted where the number does not matter."""
        best = found
        for cuts in range(len(found.places) + 1, len(found.places) + MOST_DEARER_CUTS + 1):
            if self._late():
                break
            variants = self._single_drill_variants() or [self.full]
            more = self._at_share(cuts, best.share, variants, told)
            if more is None or more.cost >= best.cost - 1e-9:
                break
            best = more
        return best

    def at_most_two(self, told: Callable[[Found], None]) -> Found | None:
        """Return the best plan of one or two cuts: all of them are looked at."""
        few = FewCuts(self.problem, self.unbalance_gmm, self.blocks, self.deadline)
        found = few.best(told)
        self.bound_cuts = few.bound_cuts
        self._late()  # what was not looked at then is said not to be proven
        return found

    def preferred(self, found: Found) -> Found:
        """Return the plan that is wanted among those met that have as few cuts and cost nearly as little."""
        if self.problem.shop.aim >= 1.0 or len(found.places) < 2:
            return found
        plans: list[Plan] = [(found.blocks, found.places)]
        for share, blocks, places in self._met:
            if share <= found.share and len(places) == len(found.places) and places != found.places:
                plans.append((blocks, places))
        plans[1:] = sorted(
            plans[1:], key=lambda plan: Pool(self.problem, self.unbalance_gmm, plan[0]).cost(list(plan[1]))
        )[:3]
        blocks, chosen = preferred(
            self.problem, self.unbalance_gmm, found.share, plans, deadline=self.deadline
        )
        cost = Pool(self.problem, self.unbalance_gmm, blocks).cost(list(chosen))
        return replace(found, blocks=blocks, places=chosen, cost=cost)

    def _fewest(self, variant: Variant, least: int) -> int | None:
        """Return a proven lower bound on the number of cuts; None where no number of them can do."""
        if not variant.windows:
            return None
        # A small problem first: if so few cuts can't do, that is proven too, and the large one starts from there.
        if least <= FEW_CUTS:
            answer = variant.master.solve(
                least_cuts=least, most_cuts=FEW_CUTS, seconds=self._seconds_left, node_limit=NODES
            )
            if not answer.impossible:
                return least if answer.bound is None else max(least, math.ceil(answer.bound - 1e-6))
            least = FEW_CUTS + 1
        answer = variant.master.solve(least_cuts=least, seconds=self._seconds_left, node_limit=NODES)
        if answer.impossible:
            return None
        return least if answer.bound is None else max(least, math.ceil(answer.bound - 1e-6))

    def _single_drill_variants(self) -> list[Variant]:
        shop = self.problem.shop
        drills = drills_of(self.blocks)
        if not shop.one_drill or len(drills) < 2:
            return []
        found: list[Variant] = []
        for drill in drills:
            if found and self._late():
                break
            variant = self._variant(only_drill(self.full.blocks, drill))
            if variant.windows:
                found.append(variant)
        return found

    def _with_cuts(self, cuts: int, variants: list[Variant], told: Callable[[Found], None]) -> Found | None:
        """Return the best plan of so many cuts: smallest aim that can be kept, then least cost."""
        *inner, real = shares_of(self.problem)
        if inner:
            first = SIGNATURES if cuts < HARD_CUTS else 1
            found = self._at_share(cuts, inner[0], variants, told, signatures=first)
            if found is not None:
                return found
        if cuts >= HARD_CUTS and self._spare is None:
            self._in_hand(cuts, told)
        # The real tolerance decides whether so many cuts can do at all; only then is more work on the aim of use.
        found = self._at_share(cuts, real, variants, told)
        if found is None:
            return None
        for share in inner:
            if self._late():
                break
            nearer = self._at_share(cuts, share, variants, told)
            if nearer is not None:
                return nearer
            answers = [self._cheapest(variant, cuts, share, ()) for variant in variants]
            nearer = None if all(answer.impossible for answer in answers) else self._drawn_in(found, share)
            if nearer is not None:
                bounds = [-math.inf if a.bound is None else a.bound for a in answers if not a.impossible]
                return replace(nearer, cost_bound=min(bounds) if math.isfinite(min(bounds)) else None)
        return found

    def _in_hand(self, cuts: int, told: Callable[[Found], None]) -> None:
        """Look for a plan of a few cuts more, to have one before the long work on the fewest."""
        for more in (1, max(2, cuts // 8), max(4, cuts // 4)):
            if self._late():
                return
            found = self._at_share(cuts + more, 1.0, [self.full], told, signatures=1, enough=1)
            if found is not None:
                self._spare = found
                return

    def _drawn_in(self, found: Found, share: float) -> Found | None:
        """Return a plan polished into a smaller share of the tolerances; None if that does not succeed."""
        pool = Pool(self.problem, self.unbalance_gmm, found.blocks, share)
        result = polish(pool, list(found.places), deadline=self.deadline)
        if result.above_gmm > 0.0:
            return None
        return Found(found.blocks, result.places, result.cost, share, None)

    def _at_share(
        self,
        cuts: int,
        share: float,
        variants: list[Variant],
        told: Callable[[Found], None],
        signatures: int = SIGNATURES,
        enough: int = 2,
    ) -> Found | None:
        """Return the cheapest plan of so many cuts within a share of the tolerances, over the variants."""
        firsts = []
        for number, variant in enumerate(variants):
            answer = self._cheapest(variant, cuts, share, ())
            if not answer.impossible:
                bound = -math.inf if answer.bound is None else answer.bound
                firsts.append((bound, number, variant, answer))
        firsts.sort(key=lambda first: first[:2])
        best: Found | None = None
        for bound, _, variant, answer in firsts:
            if best is not None and (bound >= best.cost or self._late()):
                break
            known_cost = None if best is None else best.cost
            found = self._signatures(variant, cuts, share, answer, known_cost, told, signatures, enough)
            if found is not None and (best is None or found.cost < best.cost - 1e-9):
                best = found
                told(best)
        if best is None:
            return None
        least = firsts[0][0]
        return replace(best, cost_bound=least if math.isfinite(least) else None)

    def _cheapest(
        self, variant: Variant, cuts: int, share: float, without: tuple[Signature, ...]
    ) -> MasterAnswer:
        key = (cuts, share, without)
        if key not in variant.answers:
            variant.answers[key] = variant.master.solve(
                cuts=cuts,
                share=share,
                without=without,
                gap=SIGNATURE_GAP,
                seconds=self._seconds_left,
                node_limit=NODES,
            )
        return variant.answers[key]

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
        found = Found(self.blocks, result.places, result.cost, 1.0, None)
        for share in shares_of(self.problem)[:-1]:
            nearer = self._drawn_in(found, share)
            if nearer is not None:
                return nearer
        return found

    def _signatures(
        self,
        variant: Variant,
        cuts: int,
        share: float,
        answer: MasterAnswer,
        known_cost: float | None,
        told: Callable[[Found], None],
        signatures: int,
        enough: int,
    ) -> Found | None:
        """Return the best plan that the signatures of least cost lead to, ``answer`` having the first."""
        pool = Pool(self.problem, self.unbalance_gmm, variant.blocks, share)
        first_bound = answer.bound
        tried: tuple[Signature, ...] = ()
        best: Polished | None = None
        while answer.signature is not None:
            tried = (*tried, answer.signature)
            result = self._polished(variant, pool, share, answer.signature)
            if result is not None:
                self._remember(variant, result)
                if result.above_gmm <= 0.0:
                    self._met.append((share, variant.blocks, result.places))
                if result.above_gmm <= 0.0 and (best is None or result.cost < best.cost - 1e-9):
                    best = result
                    if known_cost is None:
                        told(Found(variant.blocks, best.places, best.cost, share, first_bound))
            if self._late() or len(tried) >= (signatures if best is None else enough):
                break
            if best is not None and (first_bound is None or best.cost <= first_bound * GOOD_COST):
                break
            answer = self._cheapest(variant, cuts, share, tried)
            most = min(math.inf if best is None else best.cost * 0.998, known_cost or math.inf)
            if answer.impossible or (answer.bound is not None and answer.bound >= most):
                break
        return None if best is None else Found(variant.blocks, best.places, best.cost, share, first_bound)

    def _polished(self, variant: Variant, pool: Pool, share: float, signature: Signature) -> Polished | None:
        key = (share, signature)
        if key not in variant.polished:
            start = start_plan(pool, variant.windows, signature)
            variant.polished[key] = None if start is None else polish(pool, start, deadline=self.deadline)
        return variant.polished[key]

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

    def keeps_limits(self, found: Found) -> bool:
        """Whether a set of cuts keeps the real limits."""
        return Pool(self.problem, self.unbalance_gmm, found.blocks).keeps(list(found.places))

    def best_effort(self) -> Found | None:
        """Return the set of cuts that comes nearest to the limits."""
        deadline = max(self.deadline, time.monotonic() + 0.5)
        result = best_effort(self._real, deadline=deadline)
        if result.places:
            self._remember(self.full, result)
        return None if self._nearest is None else self._nearest[1]
