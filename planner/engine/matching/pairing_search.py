"""Exact search for the pairing of pistons, pins and rods with the least grinding.

Whole numbers only (the caller turns grams into a fine unit).  A *triple* is (cylinder, pin, rod): cylinder k
keeps piston k.  Its *excess* is how far its reciprocating sum lies above a threshold ``theta``.  What lies
more than the tolerance above the least sum is ground down to the least; the cost of an excess e is therefore
0 up to the tolerance and e beyond.

The search is for one threshold at a time: all sums reach theta.  It goes depth first, picks the part with the
fewest triples left (pistons, pins and rods alike, so that an outlier of any kind is placed first) and uses that
excesses are never negative and add up to a known total: a triple above what is left of that total can't be
used.  Triples are ranked by their sum and kept as bits of one integer, so "all between theta and theta plus the
rest" is a mask.
"""

from __future__ import annotations

import time
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Weights:
    """Whole-number weights; ``throws`` are tuples of cylinder indices, all of the same length.

    ``piston`` carries whatever stays with the cylinder.  ``big_end`` counts only when throws have two or more
    rods; with one rod each the big ends cost the same whatever the pairing.
    """

    piston: tuple[int, ...]
    pin: tuple[int, ...]
    small_end: tuple[int, ...]
    big_end: tuple[int, ...]
    throws: tuple[tuple[int, ...], ...]
    tolerance: int

    @property
    def rods_per_throw(self) -> int:
        """Number of rods on each throw."""
        return len(self.throws[0])

    def sums(self, pins: Sequence[int], rods: Sequence[int]) -> list[int]:
        """Return the reciprocating sum of every cylinder."""
        return [p + self.pin[q] + self.small_end[r] for p, q, r in zip(self.piston, pins, rods, strict=True)]

    def throw_sums(self, rods: Sequence[int]) -> list[int]:
        """Return the big-end sum of every throw."""
        return [sum(self.big_end[rods[k]] for k in throw) for throw in self.throws]

    def cost(self, pins: Sequence[int], rods: Sequence[int]) -> int:
        """Return what a pairing grinds in all."""
        return ground(self.sums(pins, rods), self.tolerance) + ground(self.throw_sums(rods), self.tolerance)


def ground(sums: Sequence[int], tolerance: int) -> int:
    """Return what is ground when every sum beyond the tolerance comes down to the least."""
    least = min(sums)
    return sum(each - least for each in sums if each - least > tolerance)


class OutOfTime(Exception):  # noqa: N818 - never leaves this package
    """The time or the nodes of the search are used up."""


@dataclass
class Clock:
    """Counts nodes, and stops the search when its time (or the number of nodes allowed) is used up."""

    stop_at: float
    nodes: int = 0
    most_nodes: int = 1 << 60

    def tick(self) -> None:
        """Count one node."""
        self.nodes += 1
        if self.nodes > self.most_nodes:
            raise OutOfTime
        if self.nodes % 256 == 0:
            self.look()

    def look(self) -> None:
        """Stop when the time is used up; before a longer step."""
        if time.perf_counter() > self.stop_at:
            raise OutOfTime


@dataclass(frozen=True)
class ThrowPlan:
    """What the big ends may do: all sums reach ``beta``, their cost is at least ``bound``.

    ``barred[r]`` is the mask of the triples whose rod can't share a throw with rod r; empty when not known.
    """

    beta: int
    bound: int
    barred: tuple[int, ...] = ()


class TripleTable:
    """All triples of a set of parts by rising sum, with a mask of the triples of every part."""

    def __init__(self, weights: Weights) -> None:
        n = len(weights.piston)
        ranked = sorted(
            (p + q + s, k, j, r)
            for k, p in enumerate(weights.piston)
            for j, q in enumerate(weights.pin)
            for r, s in enumerate(weights.small_end)
        )
        self.sums = [triple[0] for triple in ranked]
        self.triples = [triple[1:] for triple in ranked]
        self.masks = [0] * (3 * n)  # cylinders, then pins, then rods
        for rank, (k, j, r) in enumerate(self.triples):
            for item in (k, n + j, 2 * n + r):
                self.masks[item] |= 1 << rank
        self.by_big_end = sorted(range(n), key=lambda r: weights.big_end[r])
        self.big_ends = [weights.big_end[r] for r in self.by_big_end]
        self.lighter = [0]  # masks of the triples of the 0, 1, 2, .. lightest big ends
        for r in self.by_big_end:
            self.lighter.append(self.lighter[-1] | self.masks[2 * n + r])
        self.throw_of = {k: t for t, throw in enumerate(weights.throws) for k in throw}
        self.total = sum(weights.piston) + sum(weights.pin) + sum(weights.small_end)

    def between(self, low: int, high: int) -> int:
        """Return the mask of the triples whose sum is from ``low`` to ``high``."""
        up_to = (1 << bisect_right(self.sums, high)) - 1
        return up_to & ~((1 << bisect_left(self.sums, low)) - 1)


class ThresholdSearch:
    """Cheapest pairing whose reciprocating sums all reach ``theta`` and big-end sums all ``throws.beta``.

    A pairing must cost less than ``budget``.  With ``exact`` the least reciprocating sum must be ``theta``
    itself (so that no pairing is looked at twice when every theta is searched).
    """

    def __init__(
        self,
        weights: Weights,
        table: TripleTable,
        *,
        theta: int,
        throws: ThrowPlan,
        exact: bool,
        budget: int,
        clock: Clock,
    ) -> None:
        self.weights, self.table, self.clock = weights, table, clock
        self.theta, self.exact, self.budget = theta, exact, budget
        self.beta, self.throw_bound, self.barred = throws.beta, throws.bound, throws.barred
        self.best: tuple[list[int], list[int]] | None = None
        self.count = len(weights.piston)
        self.tolerance = weights.tolerance
        self.pairs_matter = weights.rods_per_throw > 1
        self.first_only = weights.tolerance == 0
        # the partial pairing
        self.pins, self.rods = [-1] * self.count, [-1] * self.count
        self.recip_cost = self.throw_cost = 0
        self.open_sums = [0] * len(weights.throws)
        self.open_left = [weights.rods_per_throw] * len(weights.throws)
        self.throw_rest = sum(weights.big_end) - len(weights.throws) * self.beta

    def run(self) -> bool:
        """Search; True when a pairing below the budget was found (it is ``best``)."""
        rest = self.table.total - self.count * self.theta
        spare = self.budget - 1 - self.throw_bound
        if rest < 0 or spare < 0:
            return False
        avail = self.table.between(self.theta, self.theta + min(rest, max(self.tolerance, spare)))
        items = list(range(3 * self.count))
        if not self.exact:
            self._place(avail, items, rest)
            return self.best is not None
        at_theta = self.table.between(self.theta, self.theta)
        while at_theta:
            bit = at_theta & -at_theta
            at_theta ^= bit
            if self._branch(avail, bit, items, rest):
                break
            avail ^= bit
        return self.best is not None

    def _place(self, avail: int, items: list[int], rest: int) -> bool:
        """Place one more triple; True to stop.  ``rest`` is the excess that the open cylinders must have."""
        self.clock.tick()
        if not items:
            self.budget = self.recip_cost + max(self.throw_cost, self.throw_bound)
            self.best = (self.pins.copy(), self.rods.copy())
            return self.first_only
        tolerance, sums, masks, n, theta = (
            self.tolerance,
            self.table.sums,
            self.table.masks,
            self.count,
            self.theta,
        )
        room = self.budget - 1 - self.recip_cost - max(self.throw_cost, self.throw_bound)
        left = len(items) // 3
        # the least every open part must have, kind by kind
        least, most, least_cost, most_cost, beyond = [0] * 3, [0] * 3, [0] * 3, [0] * 3, [0] * 3
        fewest, chosen = 1 << 60, -1
        for item in items:
            own = avail & masks[item]
            if not own:
                return False
            low = sums[(own & -own).bit_length() - 1] - theta
            kind = item // n
            least[kind] += low
            if low > most[kind]:
                most[kind] = low
            if low > tolerance:
                beyond[kind] += 1
                least_cost[kind] += low
                if low > most_cost[kind]:
                    most_cost[kind] = low
            number = own.bit_count()
            if number < fewest:
                fewest, chosen = number, item
        # what can't be left alone is ground whole; the others can take no more than the tolerance each
        free = left - max(beyond)
        if rest > left * tolerance and free == left:
            free -= 1
        if rest - free * tolerance > room:
            return False
        reach = rest
        for kind in range(3):
            if least[kind] > rest or least_cost[kind] > room:
                return False
            reach = min(
                reach,
                rest - least[kind] + most[kind],
                max(tolerance, room - least_cost[kind] + most_cost[kind]),
            )
        avail &= (1 << bisect_right(sums, theta + reach)) - 1
        return self._branch(avail, avail & masks[chosen], items, rest)

    def _branch(self, avail: int, own: int, items: list[int], rest: int) -> bool:
        """Try every triple of ``own``, the lightest first."""
        masks, n, w = self.table.masks, self.count, self.weights
        tried: set[tuple[int, int, int, int]] = set()
        while own:
            bit = own & -own
            own ^= bit
            rank = bit.bit_length() - 1
            k, j, r = self.table.triples[rank]
            twin = (k, w.pin[j], w.small_end[r], w.big_end[r])
            if twin in tried:  # parts of equal weight stand for each other
                continue
            tried.add(twin)
            gap = self.table.sums[rank] - self.theta
            cost = gap if gap > self.tolerance else 0
            narrowed: int | None = avail & ~(masks[k] | masks[n + j] | masks[2 * n + r])
            before, t = (self.throw_cost, self.throw_rest), self.table.throw_of[k]
            self.recip_cost += cost
            self.pins[k], self.rods[k] = j, r
            if self.pairs_matter:
                self.open_sums[t] += w.big_end[r]
                self.open_left[t] -= 1
                narrowed = self._throw_allows(t, r, narrowed or 0)
            if narrowed is not None:
                fewer = [item for item in items if item not in (k, n + j, 2 * n + r)]
                if self._place(narrowed, fewer, rest - gap):
                    return True
            self.recip_cost -= cost
            self.pins[k] = self.rods[k] = -1
            if self.pairs_matter:
                self.open_sums[t] -= w.big_end[r]
                self.open_left[t] += 1
                self.throw_cost, self.throw_rest = before
        return False

    def _throw_allows(self, t: int, r: int, avail: int) -> int | None:
        """Book rod r on throw t; return the triples still allowed, None when the throw can't be right."""
        big_ends, lighter = self.table.big_ends, self.table.lighter
        open_sum, left = self.open_sums[t], self.open_left[t]
        spare = max(self.tolerance, self.budget - 1 - self.recip_cost - self.throw_cost)
        low, high = self.beta - open_sum, self.beta + min(spare, self.throw_rest) - open_sum
        if left == 0:
            over = -low
            self.throw_cost += over if over > self.tolerance else 0
            self.throw_rest -= over
            return avail if over >= 0 and high >= 0 else None
        if left * big_ends[-1] < low or left * big_ends[0] > high:
            return None
        if left > 1:
            return avail
        bad = lighter[bisect_left(big_ends, low)] | (lighter[-1] & ~lighter[bisect_right(big_ends, high)])
        if self.barred:
            bad |= self.barred[r]
        for k in self.weights.throws[t]:
            if self.rods[k] < 0:
                avail &= ~(self.table.masks[k] & bad)
        return avail
