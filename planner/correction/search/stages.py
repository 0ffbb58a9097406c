"""One run of the search: numbers of cuts one after another, for each the plan that is wanted, until one is good enough."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import field, replace
from functools import cached_property

from planner.correction.budget import Budget
from planner.correction.candidates.block import Block, only_drill
from planner.correction.candidates.reach_bounds import Window, build_windows
from planner.correction.problem import CorrectionProblem, Level
from planner.correction.search import rim_rows, room_proof, whole_packings
from planner.correction.search.initial_plans import start_plan
from planner.correction.search.master import SCALE_GMM, Master, MasterAnswer, Signature
from planner.correction.search.one_or_two_cuts import (
    NEARER,
    FewCuts,
    Found,
    drills_of,
    shares_of,
    wanted_share,
)
from planner.correction.search.packing import Counted, Packing
from planner.correction.search.polish import HOPELESS, PENALTIES, Polished, polish
from planner.correction.search.rescue import INSIDE, best_effort, rescue
from planner.correction.search.sites import packed_plan
from planner.correction.search.tie_break import WISHES_FROM, Plan, preferred
from planner.correction.search.together import Together
from planner.correction.search.wanted_cuts import Passing
from planner.correction.search.whole_grid import CUTS, WholeGrid
from planner.correction.search.working_plan import Place, Pool
from planner.frames import TwoPlanes
from planner.records import dataclass
from planner.rotor.crankshaft import HEAVY_METAL

SIGNATURES = 3
SIGNATURE_GAP = 0.02
"""The master may stop this near to its least cost."""
FEW_CUTS = 6
MANY_WINDOWS = 12
MOST_DEARER_CUTS = 4
NODES = 2000
"""Branches that the master may look at for one question; a limit that does not depend on the clock."""
FIRST_NODES = 500
OTHER_NODES = 100
"""The same for the first signature of so many cuts, and for each one after it."""
FAR = 0.1
"""A plan that leaves so much more than the bound is sought with its cuts in other counterweights too."""
ROOM_FIRST = 10
"""From so many cuts on what programs of many cuts say of walls goes before signatures, and a plan with heavy metal is made
before drilling alone is looked at any further."""
LOOK_AHEAD = 2
"""So many cuts more are looked at by signatures before other ways to few cuts are tried."""
NEAR_SIGNATURES = 2
"""So many signatures that leave little are tried with one choice of tools."""
FAR_OFF = 1.5
"""A signature whose cuts leave so many times the limits has no neighbour that leaves little: none is asked for."""
HARDLY = 2.0
MOST_MISSED = 2
"""After so many signatures whose cuts leave so many times the limits no other is tried where a plan of more cuts is in hand."""
HARD_CUTS = 5
"""From so many cuts on, and not of rim holes alone, whether there is room for them is looked at first and a plan is packed."""
GOOD_COST = 1.05
"""A plan within this factor of the bound is not sought to be bettered with other signatures."""
MOST_EXTRA_CUTS = 6
QUICK_EXTRA_CUTS = 2
MORE_FOR_CHANCE = 3
"""So many cuts more than the fewest are tried for the wanted chance."""
ALIKE_CHANCE = 0.02
"""Chances this near to each other count as equal where the wanted one is out of reach."""
MOST_POLISHED = 60
"""A plan of more cuts that were packed is not polished: it takes minutes."""
DRAWN_IN = 4
"""Steps by which a plan is drawn in toward what is close enough."""
LEAST_DRAWN = 1e-3
"""A step that brings less than that was too long."""


@dataclass
class Variant:
    """The blocks with one choice of tools, their windows and master."""

    blocks: list[Block]
    windows: list[Window]
    master: Master
    answers: dict[tuple[int, float, tuple[Signature, ...]], MasterAnswer] = field(default_factory=dict)
    polished: dict[tuple[float, Signature], Polished | None] = field(default_factory=dict)
    nearest: dict[tuple[int, float, tuple[Signature, ...]], MasterAnswer] = field(default_factory=dict)
    started: dict[tuple[float, tuple[Place, ...]], Polished] = field(default_factory=dict)


ChanceOf = Callable[[Found, bool], float]
"""The chance that the next spin passes after a plan; with True: if it left nothing on average."""


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
    budget : Budget
        The outer stop.
    passing : Passing, optional
        What the next spin needs; None: nothing is asked about it.
    chances : callable, optional
        The chances of a plan, for ``passing``.
    quick : bool
        Some plan will do, and little work.
    before_long : callable, optional
        Called once before what takes long.
    """

    def __init__(
        self,
        problem: CorrectionProblem,
        unbalance_gmm: TwoPlanes[complex],
        blocks: list[Block],
        budget: Budget,
        passing: Passing | None = None,
        chances: ChanceOf | None = None,
        *,
        quick: bool = False,
        before_long: Callable[[], None] = lambda: None,
    ) -> None:
        self.problem = problem
        self.unbalance_gmm = unbalance_gmm
        self.budget = budget
        self.deadline = budget.deadline
        self.bound_cuts = 1
        self.bound_passing: int | None = None
        self.blocks = blocks
        self.levels: list[tuple[Found, Level]] = []
        self.target = wanted_share(problem)
        self._passing = passing if problem.shop.prefer_cuts == "passes" else None
        self._chances = chances
        self._quick = quick
        self._before_long = before_long
        self._few = FewCuts(problem, unbalance_gmm, blocks, self.deadline)
        self._nearest: tuple[float, Found] | None = None
        self._spare: Found | None = None
        self._any: Found | None = None
        self._tried_any = False
        self._by_count: dict[int, Found] = {}
        self._signed: dict[int, Found | None] = {}
        self._drawn: dict[tuple[int, tuple[Place, ...], float, bool], Found | None] = {}
        self._moved: dict[tuple[int, tuple[Place, ...], float, bool], list[Place] | None] = {}
        self._closest: dict[int, tuple[tuple[Place, ...] | None, bool]] = {}
        self.impossible = False
        self.without_room_gmm = 0.0
        """What remains above the limits at least because the cuts need room beside each other, where that proves that none do."""
        self._packed = False
        self._counted: Counted | None = None
        self._walls_decide = False
        self._met: list[tuple[float, list[Block], tuple[Place, ...]]] = []

    @property
    def stopped_by_time(self) -> bool:
        """Whether time decided something."""
        return self.budget.struck

    @property
    def in_hand(self) -> Found | None:
        """The plan of fewest cuts of those met on the way, not yet the best of as many."""
        met = [one for one in (self._spare, self._any) if one is not None]
        return min(met, key=lambda one: len(one.places), default=None)

    def some_plan(self) -> Found | None:
        """Keep any plan at all, should the time be up before a good one is found; return it.

        One cut after another where it does most, then moved on the shop's grid as long as that halves what is above the
        limits.
        """
        if self._any is None and not self._tried_any and not self._late():
            self._tried_any = True
            result = self._greedy
            before = HOPELESS * float(self._real.full_tolerance.sum())
            while 0.0 < result.above_gmm < before:
                before = 0.5 * result.above_gmm
                result = polish(
                    self._real, list(result.places),
                    deadline=self.deadline, penalties=PENALTIES[-1:], most_passes=1,
                )  # fmt: skip
            if result.above_gmm <= 0.0:
                self._any = self._as_it_is(Found(self.blocks, result.places, result.cost, 1.0, None))
        return self._any

    @cached_property
    def _greedy(self) -> Polished:
        return best_effort(self._real, deadline=self.deadline)

    def _have_some(self, told: Callable[[Found], None]) -> None:
        """Have some plan in hand before what takes long."""
        if self.in_hand is None and not self._quick:
            some = self.some_plan()
            if some is not None:
                told(some)

    @cached_property
    def full(self) -> Variant:
        """The variant with all tools."""
        return self._variant(self.blocks)

    def _variant(self, blocks: list[Block]) -> Variant:
        windows: list[Window] = []
        for index, block in enumerate(blocks):
            self.budget.check()
            windows += build_windows(block, index)
        return Variant(blocks, windows, Master(self.problem, self.unbalance_gmm, blocks, windows))

    def excess_gmm(self) -> tuple[float, list[float]]:
        """Return what remains above the limits whatever is cut (see `Master.excess_gmm`); 0 when out of time."""
        if self._late():
            return 0.0, [0.0] * len(self.problem.limits)
        return self.full.master.excess_gmm()

    def excess_with_numbers_gmm(self) -> float:
        """Return what at least remains above the limits with whole numbers of cuts; 0 where nothing is proven."""
        answer = self.full.master.solve(wish="excess", seconds=self.budget.left, node_limit=NODES, gap=0.02)
        return 0.0 if answer.bound is None else max(0.0, answer.bound * SCALE_GMM - 0.01)

    def _late(self) -> bool:
        return self.budget.late()

    def few(self, told: Callable[[Found], None]) -> bool:
        """Weigh all plans of one and of two cuts; return whether one of them is good enough."""
        for cuts in (1, 2):
            found = self._few.best(cuts, self.target)
            self.bound_cuts = self._few.bound_cuts
            self._late()  # what was not looked at then is said not to be proven
            if found is not None:
                told(found)
                if self._weigh(self._with_less_heavy_metal(found)):
                    return True
        return False

    def many(self, told: Callable[[Found], None]) -> None:
        """Weigh plans of more cuts than could be looked at one by one, until one is good enough."""
        if self._late():
            return
        if not self.levels and len(self.full.windows) > MANY_WINDOWS:
            # The master may take its time here: a plan, not yet the best, is in hand before.
            self._remember(self.blocks, self._greedy)
            if self._spare is not None:
                told(self._spare)
        if self.levels:
            first = max(3, len(self.levels[-1][0].places) + 1)
            last = len(self.levels[0][0].places) + MORE_FOR_CHANCE
        else:
            bound = self._fewest(self.full, self.bound_cuts)
            if bound is None:
                self.impossible = not self._late()
                return
            self.bound_cuts = bound
            first = max(2, bound)  # two blind holes are not looked at pair by pair
            last = first + (QUICK_EXTRA_CUTS if self._quick else MOST_EXTRA_CUTS)
        variants = self._single_drill_variants() or [self.full]
        cuts = first
        if not self.levels:
            early = first >= ROOM_FIRST and self._spare is None and not self._quick
            if early or (first >= HARD_CUTS and not self._only_rim_holes):
                self._have_some(told)
                if early:
                    self._before()
                if self._without_room():
                    return
                self.pack()
            if not self._packed:
                for ahead in range(first, min(first + LOOK_AHEAD, last) + 1):
                    if self._late() or self._by_signatures(ahead, variants, told) is not None:
                        break
                    self._have_some(told)
                    if self._only_rim_holes and self._without_room():  # of rim holes this is told soon
                        return
            if not any(self._signed.values()):
                if self._without_room():
                    return
                if self._spare is None or len(self._spare.places) > first + LOOK_AHEAD:
                    self.pack()
            if self._packed:
                cuts = max(self.bound_cuts, first)
                # signatures know less of walls than programs of many cuts that came to nothing
                self._walls_decide = cuts >= ROOM_FIRST and self._spare is None
                if self._walls_decide and self._without_room(whole=True):
                    return
                if cuts >= HARD_CUTS:
                    variants = [self.full]
                if self._spare is None:
                    last = cuts if self._walls_decide else cuts + LOOK_AHEAD
                else:
                    last = max(last, len(self._spare.places))
                    cuts = self._first_beside_packed(cuts, len(self._spare.places), variants, told)
        found: Found | None = None
        while cuts <= last and not self._late():
            if self.levels and self.bound_passing is None:
                self._bound_passing(cuts)
            if self.bound_passing is not None and cuts < self.bound_passing:
                cuts = min(self.bound_passing, last + 1)
                continue
            spare = self._spare
            if spare is not None and not self.levels and cuts >= len(spare.places):
                packed = self._closer(self._as_it_is(spare), self.target) if self._packed else None
                if packed is not None and packed.share <= self.target + FAR:
                    found = packed
                else:
                    found = self._by_signatures(cuts, variants, told)
                if found is None or len(spare.places) < cuts or found.share > self.target + FAR:
                    other = packed or self._closer(self._as_it_is(spare), self.target)
                    if found is None or len(spare.places) < cuts or other.share < found.share - NEARER:
                        found = other
            else:
                found = self._of(cuts, variants, told)
            if found is not None:
                if self._weigh(self._with_less_heavy_metal(found)):
                    return
                last = min(last, len(self.levels[0][0].places) + MORE_FOR_CHANCE)
            cuts += 1
        if not self.levels and self._spare is not None:
            self._weigh(self._spare)
        elif not self.levels and self._any is not None:
            self._weigh(self._closer(self._any, self.target))
        elif not self.levels and self._packed:
            self._without_room(whole=True)

    def _first_beside_packed(
        self, cuts: int, packed: int, variants: list[Variant], told: Callable[[Found], None]
    ) -> int:
        """Return from which number of cuts on plans of fewer than were packed are sought: a few numbers alone are tried."""
        if packed > cuts + LOOK_AHEAD:
            for ahead in range(cuts, cuts + LOOK_AHEAD + 1):
                if self._late() or self._by_signatures(ahead, variants, told) is not None:
                    break
                if cuts < ROOM_FIRST and self._rescued(ahead) is not None:
                    return ahead
        return cuts if any(self._signed.values()) else max(cuts, packed - LOOK_AHEAD)

    @cached_property
    def _only_rim_holes(self) -> bool:
        return all(block.kind == "rim hole" for block in self.blocks)

    def _without_room(self, *, whole: bool = False) -> bool:
        """Whether it is proven that there is no room (for ``whole`` cuts), asked where no plan is at hand; it ends the search."""
        asked = self._spare is None and not self._quick
        self.impossible = asked and (self._proven_by_whole_packings if whole else self._proven_by_room)
        return self.impossible

    @cached_property
    def _proven_by_room(self) -> bool:
        """Whether the cuts have not room enough beside each other to reach the limits, however many they are."""
        # with a plan in hand nothing is to be proven; what counts in that program plans of many cuts begin with
        if self._late() or (self._only_rim_holes and self._any is not None):
            return False
        if self._only_rim_holes:
            self.without_room_gmm = rim_rows.least_excess_gmm(self._real, self.budget)
        else:
            self.without_room_gmm, self._counted = room_proof.least_excess(self._real, self.budget)
        return self.without_room_gmm > 0.0 and self._any is None

    @cached_property
    def _proven_by_whole_packings(self) -> bool:
        if self._late() or self._any is not None or self._only_rim_holes or not self._packing.knows_all:
            return False
        self.without_room_gmm = whole_packings.least_excess_gmm(self._packing)
        return self.without_room_gmm > 0.0

    def _of(self, cuts: int, variants: list[Variant], told: Callable[[Found], None]) -> Found | None:
        """Return the wanted plan of so many cuts, or None."""
        found = self._by_signatures(cuts, variants, told)
        if found is not None:
            return found
        found = self._found_on_whole_grid(cuts)
        if found is not None:
            told(found)
            return found
        # Other ways take longer: only as far as the signatures do not lead to a plan soon.
        ahead = next(
            (more for more in range(cuts + 1, cuts + LOOK_AHEAD + 1) if self._signed.get(more)), None
        )
        if ahead is None and self._spare is None:
            self.pack()
        if not (self._quick or self._walls_decide) and (
            self._spare is None or (not self._packed and cuts >= len(self._spare.places) - 1)
        ):
            found = self._rescued(cuts)
        if found is not None:
            told(found)
        return found

    def _by_signatures(
        self, cuts: int, variants: list[Variant], told: Callable[[Found], None]
    ) -> Found | None:
        """Return the wanted plan of so many cuts that the master's signatures lead to, or None."""
        if cuts not in self._signed:
            found = self._with_cuts(cuts, variants, told)
            if (found is None or not found.closest) and variants[0] is not self.full:
                mixed = self._with_cuts(cuts, [self.full], told)
                if found is None or (mixed is not None and mixed.share < found.share - NEARER):
                    found = mixed
            self._signed[cuts] = found
        return self._signed[cuts]

    def _weigh(self, found: Found) -> bool:
        """Add a plan to those weighed; return whether it is good enough to look no further."""
        pool = Pool(self.problem, self.unbalance_gmm, found.blocks)
        share = pool.worst_share(found.places)
        level = Level(cuts=len(found.places), share=share)
        if self._passing is None or self._chances is None:
            self.levels.append((found, level))
            return True
        chance = self._chances(found, False)
        if chance < self._passing.wanted and self.problem.shop.prefer == "least metal":
            found, chance = self._surer(found, chance)
        level = replace(level, chance=chance)
        before = max((other.chance or 0.0 for _, other in self.levels), default=None)
        self.levels.append((found, level))
        if chance >= self._passing.wanted:
            return True
        if self._passing.circle_gmm() is None or before is not None:
            # What is missing can't be had by coming closer, and more cuts make little of it: no more are tried.
            centred = self._chances(found, True)
            if self._passing.circle_gmm() is None and chance >= centred - ALIKE_CHANCE:
                return True
            return before is not None and centred < self._passing.wanted and chance < before + ALIKE_CHANCE
        return False

    def _surer(self, found: Found, chance: float) -> tuple[Found, float]:
        """Return a plan of as many cuts, farther inside, that has the wanted chance - or the best chance met."""
        assert self._passing is not None
        assert self._chances is not None
        cuts = len(found.places)
        shop = self.problem.shop
        for target in (0.6 * found.share, 0.35 * found.share, shop.close_enough):
            if target >= found.share or self._late():
                continue
            if cuts <= 2:
                other = self._few.best(cuts, target)
            else:
                other = self._with_cuts(cuts, [self.full], lambda _: None, target)
            if other is None:
                continue
            its = self._chances(other, False)
            if its > chance:
                found, chance = other, its
            if chance >= self._passing.wanted or other.share > target:
                break
        return found, chance

    def chosen(self) -> Found | None:
        """Return the plan that is wanted among those weighed."""
        if not self.levels:
            return None
        if self._passing is None:
            found, met = self.levels[0][0], self.in_hand
            # cut off by the clock, a search may not have come to as few cuts as were met on the way
            return found if met is None or len(met.places) >= len(found.places) else self._as_it_is(met)
        best = max(level.chance or 0.0 for _, level in self.levels)
        enough = min(self._passing.wanted, best - ALIKE_CHANCE)
        return next(found for found, level in self.levels if (level.chance or 0.0) >= enough)

    def _bound_passing(self, least: int) -> None:
        """Find out how many cuts at least a plan takes that leaves no more than the wanted chance allows."""
        passing = self._passing
        self.bound_passing = self.bound_cuts
        circle = None if passing is None else passing.circle_gmm()
        if circle is None or not self.full.windows or self._late():
            return
        shares = tuple(
            min(1.0, radius / max(limit.tolerance_gmm, 1e-9))
            for radius, limit in zip(circle, self.problem.limits, strict=True)
        )
        answer = self.full.master.solve(
            least_cuts=self.bound_cuts,
            most_cuts=least + MORE_FOR_CHANCE,
            share=shares,
            seconds=self.budget.left,
            node_limit=NODES,
        )
        if answer.impossible:
            self.bound_passing = least + MORE_FOR_CHANCE + 1
        elif answer.bound is not None:
            self.bound_passing = max(self.bound_cuts, math.ceil(answer.bound - 1e-6))

    def _with_less_heavy_metal(self, found: Found) -> Found:
        """Return a plan of as many cuts with less heavy metal where one passes as well, else as close with no more of it."""
        heavy = _heavy(found)
        if heavy <= 0.0 or self.problem.shop.prefer == "least metal":
            return found
        cuts = len(found.places)
        for share in shares_of(self.target)[1:] if cuts <= 2 else (1.0,):
            if share <= found.share or self._late():
                continue
            if cuts <= 2:
                other = self._few.cheapest(cuts, share, found.cost * 0.999)
            else:
                bound = self._cheapest(self.full, cuts, share, ()).bound
                if bound is not None and bound >= found.cost * 0.99:
                    continue
                other = self._at_share(cuts, share, [self.full], lambda _: None, signatures=1, enough=1)
            if other is None or _heavy(other) >= heavy * 0.999:
                continue
            if not self._passes_as_well(other, found):
                continue
            found, heavy = self._as_close(other), _heavy(other)
        return found

    def _passes_as_well(self, other: Found, found: Found) -> bool:
        """Whether a plan passes with the wanted chance, or at least with another one's."""
        if self._passing is None or self._chances is None:
            return True
        return self._chances(other, False) >= min(self._passing.wanted, self._chances(found, False))

    def _as_close(self, found: Found) -> Found:
        """Return a plan drawn in as far as its heavy metal allows."""
        cuts = len(found.places)
        for share in shares_of(self.target):
            if share >= found.share:
                break
            other = (
                self._few.cheapest(cuts, share, found.cost * 1.0005)
                if cuts <= 2
                else self._drawn_in(found, share)
            )
            if other is not None and other.share < found.share and _heavy(other) <= _heavy(found) * 1.001:
                return other
        return found

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

    def preferred(self, found: Found) -> Found:
        """Return the plan that is wanted among those met that have as few cuts and cost nearly as little."""
        if found.share >= WISHES_FROM or len(found.places) < 3:
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
        other = replace(found, blocks=blocks, places=chosen, cost=cost)
        if self._passing is not None and self._chances is not None and chosen != found.places:
            before, after = self._chances(found, False), self._chances(other, False)
            if after < min(self._passing.wanted, before - ALIKE_CHANCE):
                return found
        return other

    def _fewest(self, variant: Variant, least: int) -> int | None:
        """Return a proven lower bound on the number of cuts; None where no number of them can do."""
        if not variant.windows:
            return None
        # A small problem first: if so few cuts can't do, that is proven too, and the large one starts from there.
        if least <= FEW_CUTS:
            answer = variant.master.solve(
                least_cuts=least, most_cuts=FEW_CUTS, seconds=self.budget.left, node_limit=NODES
            )
            if not answer.impossible:
                return least if answer.bound is None else max(least, math.ceil(answer.bound - 1e-6))
            least = FEW_CUTS + 1
        answer = variant.master.solve(least_cuts=least, seconds=self.budget.left, node_limit=NODES)
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

    def _with_cuts(
        self,
        cuts: int,
        variants: list[Variant],
        told: Callable[[Found], None],
        target: float | None = None,
    ) -> Found | None:
        """Return the plan of so many cuts that is as close as is wanted, or the closest found; then least cost."""
        target = self.target if target is None else target
        least = self._least_share(self.full, cuts, target)
        if least.impossible:
            return None  # so many cuts can't do it at all
        if self._walls_decide:
            found = self._at_share(cuts, 1.0, variants, told, signatures=1, enough=1)
            return None if found is None else self._closer(self._as_it_is(found), target)
        bound = target if least.bound is None else max(target, least.bound)
        if bound <= target:
            inner = target
        else:
            inner = min(1.0, bound + 2.0 * NEARER)
        first = SIGNATURES if cuts < HARD_CUTS or inner >= 1.0 else 1
        if cuts >= HARD_CUTS and target < inner < 1.0:
            # Whether the bound can be met at all is told without costs in a fraction of the time.
            near = self._toward_zero(cuts, variants, inner, target)
            if near is None:
                found = self._at_share(cuts, 1.0, variants, told)
                return None if found is None else self._closer(self._as_it_is(found), target)
            if near.share > inner + NEARER:
                told(near)
                return self._closer(near, target)
        found = self._at_share(cuts, inner, variants, told, signatures=first)
        if found is not None:
            return self._judged(found if inner <= target else self._as_it_is(found), target)
        if inner >= 1.0:
            return None
        found = self._toward_zero(cuts, variants, inner, target)
        if found is not None:
            told(found)
            return self._closer(found, target)
        # The real tolerance decides whether so many cuts can do at all; only then is more work on the rest of use.
        found = self._at_share(cuts, 1.0, variants, told)
        return None if found is None else self._closer(self._as_it_is(found), target)

    def _least_share(
        self, variant: Variant, cuts: int, target: float, without: tuple[Signature, ...] = ()
    ) -> MasterAnswer:
        """Return what the master says of the least share that so many cuts leave, ``target`` or more."""
        key = (cuts, target, without)
        if key not in variant.nearest:
            variant.nearest[key] = variant.master.solve(
                cuts=cuts,
                wish="share",
                least_share=target,
                without=without,
                gap=SIGNATURE_GAP,
                seconds=self.budget.left,
                node_limit=OTHER_NODES if without else FIRST_NODES,
            )
        return variant.nearest[key]

    def _out_of_reach(
        self, variant: Variant, cuts: int, share: float, without: tuple[Signature, ...]
    ) -> bool:
        """Whether so many cuts can't come inside a share of the limits; asked first, because without costs it is quickly told."""
        # how far inside the whole limits others than the first come is not asked: that takes longer
        near = share if without and share >= 1.0 else min(self.target, share)
        least = self._least_share(variant, cuts, near, without)
        return least.impossible or (least.bound is not None and least.bound > share + 1e-6)

    def _toward_zero(self, cuts: int, variants: list[Variant], share: float, target: float) -> Found | None:
        """Return the nearest set of so many cuts met that keeps the limits, after signatures that leave little."""
        for variant in variants:
            best = self._by_count.get(cuts)
            if self._late() or (best is not None and best.share <= share + NEARER):
                break
            answer = self._least_share(variant, cuts, target)
            if answer.signature is None or (best is not None and (answer.bound or 0.0) >= best.share):
                continue
            pool = Pool(self.problem, self.unbalance_gmm, variant.blocks, share)
            tried: tuple[Signature, ...] = ()
            while answer.signature is not None and len(tried) < NEAR_SIGNATURES and not self._late():
                tried = (*tried, answer.signature)
                result = self._polished(variant, pool, share, answer.signature)
                if result is not None:
                    self._remember(variant.blocks, result)
                    if result.above_gmm > 0.0:
                        result = self._all_moved(pool, result, share)
                        self._remember(variant.blocks, result)
                    if result.above_gmm <= 0.0 or pool.worst_share(result.places) > FAR_OFF:
                        break
                if len(tried) == NEAR_SIGNATURES:
                    break
                answer = self._least_share(variant, cuts, target, tried)
        best = self._by_count.get(cuts)
        return None if best is None or best.share > 1.0 else best

    def _all_moved(self, pool: Pool, result: Polished, share: float) -> Polished:
        """Return a set of cuts that the polish left above its limits with all of them moved at once, if it is nearer."""
        if not math.isfinite(result.above_gmm):
            return result
        places = Together(pool, self.deadline).closer(list(result.places), share)
        if places is None:
            return result
        above = pool.above(pool.residual(places))
        if above >= result.above_gmm - 1e-9:
            return result
        return Polished(tuple(places), pool.cost(places), above)

    def _judged(self, found: Found, target: float) -> Found:
        """Return a plan with what is proven of its closeness."""
        if found.share <= target:
            return replace(found, closest=True)
        answer = self.full.nearest.get((len(found.places), target, ()))
        bound = 0.0 if answer is None or answer.bound is None or answer.bound <= target else answer.bound
        return replace(found, closest=found.share <= max(target, bound) + NEARER and bound > 0.0)

    def _as_it_is(self, found: Found) -> Found:
        """Return a plan with the share that it really leaves."""
        pool = Pool(self.problem, self.unbalance_gmm, found.blocks)
        return replace(found, share=pool.worst_share(found.places), cost_bound=None)

    def _closer(self, found: Found, target: float) -> Found:
        """Return a plan drawn in step by step as far as its cuts can be, at most to what the bound allows."""
        cuts = len(found.places)
        if found.share <= target or not cuts:
            return replace(found, share=max(found.share, target), closest=True)
        low = self._bound_of(cuts, target)
        tried = low if low <= target else min(1.0, low + NEARER)
        if found.share - low > NEARER and not self._late():
            found = self._nearer_of(found, self._drawn_in(found, tried))
        found = self._together(found, low)
        if found.share > low + FAR and not self._late():
            # none of its cuts may be where it should: each may move to any other counterweight
            found = self._together(found, low, elsewhere=True)
        for _ in range(DRAWN_IN):
            if found.share - low <= NEARER or self._late():
                break
            before, tried = found.share, 0.5 * (low + found.share)
            found = self._nearer_of(found, self._drawn_in(found, tried, quick=True))
            if found.share >= before - LEAST_DRAWN:
                low = tried
        found = replace(found, share=max(found.share, target))
        return self._on_whole_grid(found, self._bound_of(cuts, target)) or self._judged(found, target)

    def _on_whole_grid(self, found: Found, low: float) -> Found | None:
        """Return the closest plan of as many cuts, with its proof, where the grid is so coarse that all can be looked at."""
        cuts = len(found.places)
        if found.share - low <= NEARER or not self._all_can_be_looked_at(cuts):
            return None
        places, exact = self._closest_on_grid(cuts)
        if places is not None:
            best = self._as_it_is(Found(self.blocks, places, self._real.cost(list(places)), 1.0, None))
            if best.share < found.share - NEARER:
                found = replace(best, share=max(best.share, low))
            if exact:
                return replace(found, closest=True)
        return self._judged(found, self.target)

    def _found_on_whole_grid(self, cuts: int) -> Found | None:
        """Return the closest plan of so many cuts where all can be looked at; that there is none raises the bound."""
        if not self._all_can_be_looked_at(cuts):
            return None
        places, exact = self._closest_on_grid(cuts)
        if places is None:
            if exact and self.bound_cuts == cuts:
                self.bound_cuts = cuts + 1
            return None
        best = self._as_it_is(Found(self.blocks, places, self._real.cost(list(places)), 1.0, None))
        return replace(best, share=max(best.share, self.target), closest=exact)

    def _all_can_be_looked_at(self, cuts: int) -> bool:
        drilled = all(block.kind not in HEAVY_METAL for block in self.blocks)
        return cuts in CUTS and drilled and not self._late() and WholeGrid.is_small(self._real)

    def _closest_on_grid(self, cuts: int) -> tuple[tuple[Place, ...] | None, bool]:
        if cuts not in self._closest:
            self._closest[cuts] = self._whole_grid.closest(cuts, 1.0)
        return self._closest[cuts]

    @cached_property
    def _whole_grid(self) -> WholeGrid:
        return WholeGrid(self._real)

    @staticmethod
    def _nearer_of(found: Found, other: Found | None) -> Found:
        return found if other is None or other.share >= found.share - 1e-9 else other

    def _together(self, found: Found, low: float, *, elsewhere: bool = False) -> Found:
        """Return a plan with all its cuts moved at once, or one after another to other counterweights, if that is nearer."""
        if found.share - low <= NEARER or self._late():
            return found
        key = (id(found.blocks), found.places, low, elsewhere)
        if key not in self._moved:
            together = Together(Pool(self.problem, self.unbalance_gmm, found.blocks), self.deadline)
            places = list(found.places)
            self._moved[key] = together.elsewhere(places, low) if elsewhere else together.closer(places, low)
        moved = self._moved[key]
        if moved is None:
            return found
        cost = Pool(self.problem, self.unbalance_gmm, found.blocks).cost(moved)
        return self._nearer_of(found, self._as_it_is(Found(found.blocks, tuple(moved), cost, 1.0, None)))

    def _bound_of(self, cuts: int, target: float) -> float:
        answer = self._least_share(self.full, cuts, target)
        return target if answer.bound is None else max(target, answer.bound)

    def _drawn_in(self, found: Found, share: float, *, quick: bool = False) -> Found | None:
        key = (id(found.blocks), found.places, share, quick)
        if key not in self._drawn:
            self._drawn[key] = self._draw_in(found, share, quick=quick)
        return self._drawn[key]

    def _draw_in(self, found: Found, share: float, *, quick: bool) -> Found | None:
        """Return a plan polished toward a smaller share of the tolerances, with the share it comes to; None if it fails."""
        pool = Pool(self.problem, self.unbalance_gmm, found.blocks, share)
        penalties = PENALTIES[-1:] if quick else PENALTIES
        result = polish(pool, list(found.places), deadline=self.deadline, penalties=penalties)
        if not math.isfinite(result.above_gmm):
            return None
        if result.above_gmm <= 0.0:
            self._met.append((share, found.blocks, result.places))
            return Found(found.blocks, result.places, result.cost, share, None)
        other = self._as_it_is(Found(found.blocks, result.places, result.cost, 1.0, None))
        return other if other.share <= 1.0 else None

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
            if self._out_of_reach(variant, cuts, share, ()):
                continue
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
                seconds=self.budget.left,
                node_limit=OTHER_NODES if without else FIRST_NODES,
            )
        return variant.answers[key]

    def _before(self) -> None:
        """Do what is to be done before what takes long, once."""
        before, self._before_long = self._before_long, lambda: None
        before()

    def pack(self) -> None:
        """Keep a plan made of cuts that have room beside each other, however many; it bounds their number from below too.

        Raises
        ------
        TimeIsUpError
            If the time is up before anything is known.
        """
        if self._packed or self._quick or self._late():
            return
        self._before()
        self._packed = True
        first: list[Place] = []

        def so_far(places: list[Place]) -> None:
            first[:] = places
            self._keep_packed(places)

        places, least = packed_plan(self._packing, self._counted, so_far)
        self.bound_cuts = max(self.bound_cuts, least)
        if places and places != first:  # what was not bettered is kept already
            self._keep_packed(places)

    def _keep_packed(self, places: list[Place]) -> None:
        """Keep cuts that were packed, moved on the shop's grid where they do not keep the limits as they are."""
        result = Polished(
            tuple(places), self._real.cost(places), self._real.above(self._real.residual(places))
        )
        if result.above_gmm > 0.0 and len(places) <= MOST_POLISHED:
            result = polish(self._real, places, deadline=self.deadline, penalties=PENALTIES[-1:])
            moved = Together(self._real, self.deadline).elsewhere(list(result.places), INSIDE)
            if result.above_gmm > 0.0 and moved is not None:
                self._remember(self.blocks, result)
                result = polish(self._real, moved, deadline=self.deadline, penalties=PENALTIES[-1:])
        self._remember(self.blocks, result)

    @cached_property
    def _packing(self) -> Packing:
        return Packing(self._real, self.budget)

    def _rescued(self, cuts: int) -> Found | None:
        """Return a plan on the real tolerance by other moves than signatures, or None."""
        if self._late():
            return None
        pool = Pool(self.problem, self.unbalance_gmm, self.blocks)
        if self._nearest is not None and self._nearest[0] > HOPELESS * float(pool.full_tolerance.sum()):
            return None  # moves of real cuts mend what is near, not what is far off
        near = [self._by_count.get(cuts), None if self._nearest is None else self._nearest[1]]
        starts = [
            list(one.places)
            for one in near
            if one is not None and one.blocks is self.blocks and len(one.places) <= cuts
        ]
        result = rescue(pool, starts, cuts, deadline=self.deadline, seed=cuts)
        if result is None:
            return None
        self._remember(self.blocks, result)
        if result.above_gmm > 0.0:
            return None
        return self._closer(
            self._as_it_is(Found(self.blocks, result.places, result.cost, 1.0, None)), self.target
        )

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
        missed = 0
        best: Polished | None = None
        while answer.signature is not None:
            tried = (*tried, answer.signature)
            result = self._polished(variant, pool, share, answer.signature)
            if result is not None:
                self._remember(variant.blocks, result)
                if result.above_gmm <= 0.0:
                    self._met.append((share, variant.blocks, result.places))
                if result.above_gmm <= 0.0 and (best is None or result.cost < best.cost - 1e-9):
                    best = result
                    if known_cost is None:
                        told(Found(variant.blocks, best.places, best.cost, share, first_bound))
                if best is None and share < 1.0 and pool.worst_share(result.places) > 1.0:
                    break  # not even the whole limits are kept: that is asked next
            if result is not None and pool.worst_share(result.places) > HARDLY:
                missed += 1
            if best is None and missed >= MOST_MISSED and self._spare is not None:
                break
            if self._late() or len(tried) >= (signatures if best is None else enough):
                break
            if best is not None and (first_bound is None or best.cost <= first_bound * GOOD_COST):
                break
            if best is None and self._out_of_reach(variant, cuts, share, tried):
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
            if start is None:
                variant.polished[key] = None
            else:  # signatures that differ in their targets only may lead to the same start
                known = (share, tuple(start))
                if known not in variant.started:
                    variant.started[known] = polish(pool, start, deadline=self.deadline)
                variant.polished[key] = variant.started[known]
        return variant.polished[key]

    def _remember(self, blocks: list[Block], result: Polished) -> None:
        """Keep the set of cuts that comes nearest to the real limits, and of those that keep them the one of fewest cuts."""
        pool = self._real if blocks is self.blocks else Pool(self.problem, self.unbalance_gmm, blocks)
        residual = pool.residual(list(result.places))
        above = pool.above(residual)
        found = Found(blocks, result.places, result.cost, 1.0, None)
        if self._nearest is None or above < self._nearest[0] - 1e-9:
            self._nearest = (above, found)
        share = pool.worst_share(result.places)
        best = self._by_count.get(len(result.places))
        if math.isfinite(result.above_gmm) and (best is None or share < best.share - 1e-9):
            self._by_count[len(result.places)] = replace(found, share=share)
        if above <= 0.0 and (self._spare is None or len(found.places) < len(self._spare.places)):
            self._spare = found

    @cached_property
    def _real(self) -> Pool:
        return Pool(self.problem, self.unbalance_gmm, self.blocks)

    def keeps_limits(self, found: Found) -> bool:
        """Whether a set of cuts keeps the real limits."""
        return Pool(self.problem, self.unbalance_gmm, found.blocks).keeps(list(found.places))

    def best_effort(self) -> Found | None:
        """Return the plan of fewest cuts of those met, or the set of cuts that comes nearest to the limits."""
        if self.in_hand is not None:
            return self._as_it_is(self.in_hand)
        result = self._greedy
        if result.places:
            self._remember(self.blocks, result)
        return None if self._nearest is None else self._nearest[1]


def _heavy(found: Found) -> float:
    """Return what the heavy metal of a plan costs."""
    return float(
        sum(
            found.blocks[block].cost[setting]
            for block, setting, _ in found.places
            if found.blocks[block].kind in HEAVY_METAL
        )
    )
