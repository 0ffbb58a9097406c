"""The drive of the pairing search: thresholds, bounds, the proof that no pairing grinds less.

Works on the whole numbers of `planner.engine.pairing_search.Weights`.
"""

from __future__ import annotations

import contextlib
import functools
import itertools
import math
import time
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from planner.engine.pairing_search import (
    Clock,
    OutOfTime,
    ThresholdSearch,
    ThrowPlan,
    TripleTable,
    Weights,
    ground,
)
from planner.engine.pairing_swaps import anneal

#: Share of the time for descents before the exhaustive search.
_SWAP_SHARE = 0.2

#: Nodes of the first attempt; most sets need no more.
_FIRST_NODES = 1500

#: More than any cost.
NEVER = 1 << 60


@dataclass
class Outcome:
    """Best pairing known, a lower bound on the cost of every pairing, nodes searched."""

    pins: list[int]
    rods: list[int]
    cost: int
    bound: int
    nodes: int

    @property
    def proven(self) -> bool:
        """Whether nothing cheaper exists."""
        return self.bound >= self.cost


def least_cost_pairing(weights: Weights, *, seconds: float, walks: bool = True) -> Outcome:
    """Return the pairing with the least cost, proven when the time allows.

    The pairing as numbered is the first candidate, so that the answer never grinds more than it, and is kept
    when nothing is cheaper.
    """
    started = time.perf_counter()
    clock = Clock(stop_at=started + seconds, most_nodes=_FIRST_NODES)
    weights, unit = in_coarsest_unit(weights)
    drive = _Drive(weights, clock)
    if walks:
        drive.improve_by_swaps(walks=1, steps=60, until=clock.stop_at)
    try:
        drive.prove()
    except OutOfTime:
        # not settled at once: a better pairing to start from makes the search shorter
        clock.most_nodes = NEVER
        if walks and weights.tolerance:
            drive.improve_by_swaps(walks=6, steps=400, until=started + _SWAP_SHARE * seconds)
        with contextlib.suppress(OutOfTime):
            drive.prove()
    drive.bound = min(drive.cost, drive.bound)
    return Outcome(
        pins=drive.pins,
        rods=drive.rods,
        cost=drive.cost * unit,
        bound=drive.bound * unit,
        nodes=clock.nodes,
    )


def in_coarsest_unit(weights: Weights) -> tuple[Weights, int]:
    """Return the weights above the lightest of their kind in the coarsest unit that keeps them whole.

    Scales show tenths or hundredths: costs are then whole numbers of these, which shortens proofs.
    """
    kinds = [
        [mass - min(kind) for mass in kind]
        for kind in (weights.piston, weights.pin, weights.small_end, weights.big_end)
    ]
    unit = math.gcd(*(mass for kind in kinds for mass in kind)) or 1
    piston, pin, small_end, big_end = (tuple(mass // unit for mass in kind) for kind in kinds)
    coarse = Weights(
        piston=piston,
        pin=pin,
        small_end=small_end,
        big_end=big_end,
        throws=weights.throws,
        tolerance=weights.tolerance // unit,
    )
    return coarse, unit


class _Drive:
    """State of the search: the best pairing so far and what is proven."""

    def __init__(self, weights: Weights, clock: Clock) -> None:
        self.w, self.clock = weights, clock
        self.count = len(weights.piston)
        self.pins = list(range(self.count))
        self.rods = list(range(self.count))
        self.cost = weights.cost(self.pins, self.rods)
        self.table = TripleTable(weights)
        highest = _highest_least_sum(weights)
        self.thetas = [theta for theta in sorted(set(self.table.sums)) if theta <= highest]
        kinds = (weights.piston, weights.pin, weights.small_end)
        self.partners = [
            sorted(a + b for a in kinds[(own + 1) % 3] for b in kinds[(own + 2) % 3]) for own in range(3)
        ]
        self.lightest_sums = _lightest_sums(weights)
        self.recip_bounds = {theta: self._recip_bound(theta) for theta in self.thetas}
        plans = {beta: throw_plan(weights, self.table, beta, None) for beta in _betas(weights)}
        self.throw_bounds = {beta: plan.bound for beta, plan in plans.items() if plan.bound < NEVER}
        self.lowest = min(self.recip_bounds.values()) + min(self.throw_bounds.values())
        self.bound = min(self.lowest, self.cost)

    def keep(self, pins: Sequence[int], rods: Sequence[int]) -> None:
        """Take a pairing when it is cheaper."""
        cost = self.w.cost(pins, rods)
        if cost < self.cost:
            self.pins, self.rods, self.cost = list(pins), list(rods), cost

    def improve_by_swaps(self, *, walks: int, steps: int, until: float) -> None:
        """Walks of random swaps until the time is up or nothing is left to gain."""
        for seed in range(walks):
            if self.cost <= self.bound or time.perf_counter() > until:
                return
            found = anneal(self.w, steps=steps * self.count**2, seed=seed)
            self.keep(found.pins, found.rods)

    def _try(self, theta: int, throws: ThrowPlan, *, budget: int, exact: bool) -> bool:
        """Search one pair of thresholds; True when a cheaper pairing was found."""
        search = ThresholdSearch(
            self.w, self.table, theta=theta, throws=throws, exact=exact, budget=budget, clock=self.clock
        )
        try:
            return search.run()
        finally:
            if search.best is not None:
                self.keep(*search.best)

    def prove(self) -> None:
        """Find the optimum and prove it, by searches with a rising limit on the cost.

        With a low limit hardly anything fits, so these searches are short; the first limit that anything
        fits below contains the optimum, and all lower ones are the proof.
        """
        tolerance = self.w.tolerance
        recip_bounds, throw_bounds, lowest = self.recip_bounds, self.throw_bounds, self.lowest
        # with nothing that must be ground, the least cost above none is just beyond the tolerance
        forced = min(recip_bounds.values()) or (self.w.rods_per_throw > 1 and min(throw_bounds.values()))
        step, first = 0, max(1, tolerance // 16) if forced else tolerance + 1
        if not tolerance:
            step = first = max(1, (self.cost - lowest) // 256)
        search_up_to = self._with_tolerance if tolerance else self._without_tolerance
        found = False
        while self.bound < self.cost:
            limit = self.cost - 1 if found else min(self.cost - 1, lowest + step)
            found = search_up_to(limit, recip_bounds, throw_bounds)
            if not found:
                self.bound = limit + 1 if forced or step or not tolerance else lowest + first
                self.bound = min(self.bound, self.cost)
            elif tolerance:
                self.bound = self.cost
                return  # nothing cheaper at this limit: it was searched to the end
            step = max(2 * step, first)

    def _without_tolerance(
        self, limit: int, recip_bounds: dict[int, int], throw_bounds: dict[int, int]
    ) -> bool:
        """Search for a pairing that costs no more than the limit, for tolerance 0; True when there is one.

        The cost of reaching thresholds is then fixed by them, and reaching gets harder when either rises: for
        every beta only the lowest theta within the limit needs a search.
        """
        for beta, throw_bound in sorted(throw_bounds.items(), key=lambda pair: pair[1]):
            within = [theta for theta in self.thetas if recip_bounds[theta] + throw_bound <= limit]
            if within:
                plan = throw_plan(self.w, self.table, beta, throw_bound)
                if self._try(within[0], plan, budget=limit + 1, exact=False):
                    return True
        return False

    def _with_tolerance(self, limit: int, recip_bounds: dict[int, int], throw_bounds: dict[int, int]) -> bool:
        """Search every pair of thresholds whose pairings could cost no more than the limit.

        Those in whose middle the sums would lie come first: they are the likeliest to be cheap.
        """
        room = limit - min(recip_bounds.values())
        plans = [
            throw_plan(self.w, self.table, beta, room)
            for beta, bound in throw_bounds.items()
            if bound <= room
        ]
        half = self.count * self.w.tolerance // 2
        pairs = sorted(
            (bound + plan.bound, abs(self.table.total - self.count * theta - half), theta, index)
            for theta, bound in recip_bounds.items()
            for index, plan in enumerate(plans)
            if bound + plan.bound <= limit
        )
        found = False
        for bound, _, theta, index in pairs:
            budget = min(self.cost, limit + 1)
            if bound < budget:
                found |= self._try(theta, plans[index], budget=budget, exact=True)
        return found

    def _recip_bound(self, theta: int) -> int:
        """Lower bound on the cost of the reciprocating sums when theta is the least of them.

        What can't come within the tolerance is ground whole; of the others one is theta itself and the rest
        take up no more than the tolerance each of the total excess.
        """
        w, tolerance = self.w, self.w.tolerance
        rest = self.table.total - self.count * theta
        kinds = (w.piston, w.pin, w.small_end)
        bound, free = 0, self._most_free(theta)
        for own in range(3):
            cost = beyond = 0
            for item in kinds[own]:
                place = bisect_left(self.partners[own], theta - item)
                if place == len(self.partners[own]):
                    return NEVER
                gap = item + self.partners[own][place] - theta
                if gap > tolerance:
                    cost += gap
                    beyond += 1
            bound, free = max(bound, cost), min(free, self.count - beyond)
        if free < 1:
            return NEVER
        if free == self.count and rest > (free - 1) * tolerance:
            free -= 1
        return max(bound, rest - (free - 1) * tolerance if free < self.count else 0)

    def _most_free(self, theta: int) -> int:
        """Upper bound on how many reciprocating sums can be within the tolerance above theta.

        j free sums need the j lightest of every kind to be light enough.  Sums that hold one of a few very
        light parts say nothing (their partners may be heavy): they are set aside as free, in several ways.
        """
        most = self.count
        for aside, lightest in self.lightest_sums:
            j = 0
            while (
                j < len(lightest)
                and lightest[j] - (j + 1) * (theta + self.w.tolerance) <= aside * self.w.tolerance
            ):
                j += 1
            most = min(most, aside + j)
        return most


def _lightest_sums(w: Weights) -> list[tuple[int, list[int]]]:
    """Return (parts set aside, sums of the 1, 2, .. lightest others of every kind) for a few ways to do so."""
    kinds = [sorted(w.piston), sorted(w.pin), sorted(w.small_end)]
    found = []
    for aside in itertools.product(range(3), repeat=3):
        if sum(aside) < min(3, len(w.piston)):
            rows = [kind[skip:] for kind, skip in zip(kinds, aside, strict=True)]
            shortest = min(len(row) for row in rows)
            sums = list(itertools.accumulate(sum(row[j] for row in rows) for j in range(shortest)))
            found.append((sum(aside), sums))
    return found


def _highest_least_sum(w: Weights) -> int:
    """Upper bound on the least reciprocating sum: the lightest j of a kind with the heaviest j of the others."""
    kinds = [sorted(w.piston), sorted(w.pin), sorted(w.small_end)]
    count = len(w.piston)
    bound = NEVER
    for own in range(3):
        others = [kinds[kind] for kind in range(3) if kind != own]
        for j in range(1, count + 1):
            total = sum(kinds[own][:j]) + sum(others[0][-j:]) + sum(others[1][-j:])
            bound = min(bound, total // j)
    return bound


def _betas(w: Weights) -> list[int]:
    """Return the values that the least big-end sum can have, rising."""
    rods = w.rods_per_throw
    if rods == 1:
        return [min(w.big_end)]
    ordered = sorted(w.big_end)
    highest = sum(ordered) // len(w.throws)
    for j in range(1, len(w.throws) + 1):
        # j throws that hold the j lightest rods can have at best the heaviest others
        if len(ordered) - (rods - 1) * j >= j:
            highest = min(highest, (sum(ordered[:j]) + sum(ordered[len(ordered) - (rods - 1) * j :])) // j)
    lowest = sum(ordered[:rods])
    return sorted(
        {
            total
            for total in (sum(group) for group in itertools.combinations(w.big_end, rods))
            if lowest <= total <= highest
        }
    )


def throw_plan(w: Weights, table: TripleTable, beta: int, room: int | None) -> ThrowPlan:
    """Return what the big ends may do when every throw reaches beta at a cost up to ``room`` (None: any).

    For two rods on a throw the bound is exact (`NEVER` when no way of pairing reaches beta), and two rods are
    barred from sharing a throw when no way to pair the others costs little enough.
    """
    tolerance, rods, count = w.tolerance, w.rods_per_throw, len(w.big_end)
    if rods == 1:
        return ThrowPlan(beta, ground(w.big_end, tolerance))
    rest = sum(w.big_end) - len(w.throws) * beta
    if rods > 2 or count > 16:
        return ThrowPlan(
            beta, max(0, rest - (len(w.throws) - 1) * tolerance) if rest > len(w.throws) * tolerance else 0
        )

    def cost_of(a: int, b: int) -> int:
        over = w.big_end[a] + w.big_end[b] - beta
        if over < 0:
            return NEVER
        cost = over if over > tolerance else 0
        return cost if room is None or cost <= room else NEVER

    costs = [[cost_of(a, b) for b in range(count)] for a in range(count)]

    @functools.cache
    def cheapest(free: int) -> int:
        if not free:
            return 0
        first = (free & -free).bit_length() - 1
        others = free & (free - 1)
        best = NEVER
        remaining = others
        while remaining:
            bit = remaining & -remaining
            remaining ^= bit
            cost = costs[first][bit.bit_length() - 1]
            if cost < best:
                best = min(best, cost + cheapest(others ^ bit))
        return best

    everything = (1 << count) - 1
    bound = cheapest(everything)
    if room is None:
        return ThrowPlan(beta, bound)
    barred = []
    for a in range(count):
        mask = 0
        for b in range(count):
            if b == a:
                continue
            cost = costs[a][b]
            if cost > room or cost + cheapest(everything ^ (1 << a) ^ (1 << b)) > room:
                mask |= table.masks[2 * count + b]
        barred.append(mask)
    return ThrowPlan(beta, bound, tuple(barred))
