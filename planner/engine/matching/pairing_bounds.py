"""Lower bounds on what a pairing grinds, by the least sum of the cylinders and by that of the throws.

Works on the whole numbers of `planner.engine.matching.pairing_weights.Weights`.
"""

from __future__ import annotations

import functools
import itertools
import math
from bisect import bisect_left

from planner.engine.matching.pairing_weights import Weights, ground

#: More than any cost.
NEVER = 1 << 60


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


class SumBounds:
    """Lower bounds on what the reciprocating sums cost, by the least of them."""

    def __init__(self, weights: Weights) -> None:
        self.w = weights
        self.count = len(weights.piston)
        kinds = (weights.piston, weights.pin, weights.small_end)
        self.partners = [
            sorted(a + b for a in kinds[(own + 1) % 3] for b in kinds[(own + 2) % 3]) for own in range(3)
        ]
        self.lightest_sums = _lightest_sums(weights)

    def of_all(self) -> dict[int, int]:
        """Return the bound for every value that the least sum can have."""
        highest = _highest_least_sum(self.w)
        return {theta: self.at(theta) for theta in self._sums() if theta <= highest}

    def _sums(self) -> list[int]:
        w = self.w
        return sorted({p + q + r for p in set(w.piston) for q in set(w.pin) for r in set(w.small_end)})

    def at(self, theta: int) -> int:
        """Lower bound on the cost of the reciprocating sums when theta is the least of them.

        What can't come within the tolerance is ground whole; of the others one is theta itself and the rest
        take up no more than the tolerance each of the total excess.
        """
        w, tolerance = self.w, self.w.tolerance
        rest = self.w.total - self.count * theta
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


def least_throw_sums(w: Weights) -> list[int]:
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


def throw_bound(w: Weights, beta: int) -> int:
    """Return a lower bound on what the big ends cost when every throw reaches beta.

    For two rods on a throw it is exact, up to 16 rods (`NEVER` when no way of pairing reaches beta).
    """
    tolerance, rods, count = w.tolerance, w.rods_per_throw, len(w.big_end)
    if rods == 1:
        return ground(w.big_end, tolerance)
    rest = sum(w.big_end) - len(w.throws) * beta
    if rods > 2 or count > 16:
        return max(0, rest - (len(w.throws) - 1) * tolerance) if rest > len(w.throws) * tolerance else 0

    def cost_of(a: int, b: int) -> int:
        over = w.big_end[a] + w.big_end[b] - beta
        return NEVER if over < 0 else over if over > tolerance else 0

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

    return cheapest((1 << count) - 1)
