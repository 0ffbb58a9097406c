"""Exact pairing for one pair of thresholds at a time: what each costs at least, and the cheapest pairing.

A *window* is a pair of thresholds: all reciprocating sums reach ``theta``, all big-end sums ``beta``, and what
lies more than the tolerance above is ground down to them.  The best pairing is the cheapest of all windows.
"""

from __future__ import annotations

import functools

import numpy as np

from planner.engine.matching.pairing_prices import PriceBound, price_bound
from planner.engine.matching.pairing_subsets import (
    BARRED,
    MOST_PARTS,
    Ints,
    Prices,
    cheapest_below,
    pair_costs,
    subsets_of,
)
from planner.engine.matching.pairing_weights import Clock, Weights

#: So many tables of costs are kept (a few hundred kilobytes each).
_TABLES = 200


def fits_windows(weights: Weights) -> bool:
    """Return whether the parts are few enough, with one or two rods on a throw."""
    return len(weights.piston) <= MOST_PARTS and weights.rods_per_throw <= 2


class Windows:
    """Bounds and cheapest pairings, window by window, for one or two rods on a throw."""

    def __init__(self, weights: Weights, clock: Clock) -> None:
        self.w, self.clock = weights, clock
        count = len(weights.piston)
        # an odd number of cylinders gets one more, with a pin and a rod of its own
        self.padded = count + count % 2
        self.subsets = subsets_of(self.padded)
        if weights.rods_per_throw == 2:
            self.twos = [(throw[0], throw[1]) for throw in weights.throws]
        else:
            # the oddest pistons go together: they leave the least choice, which keeps the tables short
            order = sorted(range(count), key=lambda k: -abs(weights.piston[k] * count - sum(weights.piston)))
            order += range(count, self.padded)
            self.twos = [(order[k], order[k + 1]) for k in range(0, self.padded, 2)]
        # neighbouring windows have much the same prices
        self._latest_prices: Prices | None = None
        self._recip_costs = functools.lru_cache(maxsize=_TABLES)(self._costs_of_sums)

    def _costs_of_sums(self, theta: int) -> Ints:
        """Return what every two cylinders cost with every two pins and rods, shape (twos, pin pairs, rod pairs)."""
        piston, pin, rod = (np.array(kind) for kind in (self.w.piston, self.w.pin, self.w.small_end))
        count = len(piston)
        costs = np.full((self.padded,) * 3, BARRED, dtype=np.int64)
        costs[:count, :count, :count] = self._cost(
            piston[:, None, None] + pin[None, :, None] + rod[None, None, :] - theta
        )
        if self.padded > count:
            costs[count, count, count] = 0
        return pair_costs(costs, self.twos, self.subsets)

    def _cost(self, over: Ints) -> Ints:
        """Return what is ground of sums that lie so much over the threshold."""
        return np.where(over < 0, BARRED, np.where(over <= self.w.tolerance, 0, over)).astype(np.int64)

    def costs(self, theta: int, beta: int) -> Ints:
        """Return what every two cylinders cost, with what the big ends cost where two share a throw."""
        costs = self._recip_costs(theta)
        if self.w.rods_per_throw == 1:
            return costs
        big_end = np.array(self.w.big_end)
        return costs + self._cost(big_end[self.subsets.pairs].sum(axis=1) - beta)[None, None, :]

    def quick_bound(self, theta: int, beta: int, *, target: int) -> PriceBound:
        """Return what the latest prices show of a pairing in the window; ``target`` is high enough.

        Raises
        ------
        OutOfTime
        """
        self.clock.look()
        return price_bound(
            self.costs(theta, beta),
            target=target,
            subsets=self.subsets,
            start=self._latest_prices,
            steps=1,
        )

    def bound(self, theta: int, beta: int, *, target: int) -> PriceBound:
        """Return a lower bound on what a pairing in the window costs; ``target`` is high enough.

        Raises
        ------
        OutOfTime
        """
        self.clock.look()
        shown = price_bound(
            self.costs(theta, beta), target=target, subsets=self.subsets, start=self._latest_prices
        )
        self._latest_prices = shown.prices
        return shown

    def cheapest(
        self, theta: int, beta: int, *, budget: int, prices: Prices
    ) -> tuple[list[int], list[int]] | None:
        """Return pins and rods of the cheapest pairing in the window, None when the budget is not undercut.

        Raises
        ------
        OutOfTime
        """
        self.clock.look()
        found = cheapest_below(
            self.costs(theta, beta),
            budget=budget,
            prices=prices,
            subsets=self.subsets,
            clock=self.clock,
        )
        if found is None:
            return None
        pins, rods = [0] * self.padded, [0] * self.padded
        for two, (pin_pair, rod_pair) in zip(self.twos, found, strict=True):
            (a, b), (j, k), (r, s) = two, self.subsets.pairs[pin_pair], self.subsets.pairs[rod_pair]
            ways = [(p, q) for p in ((j, k), (k, j)) for q in ((r, s), (s, r))]
            pin, rod = min(ways, key=lambda way: self._two_costs(theta, (a, b), *way))
            (pins[a], pins[b]), (rods[a], rods[b]) = map(int, pin), map(int, rod)
        count = len(self.w.piston)
        return pins[:count], rods[:count]

    def _two_costs(
        self, theta: int, cylinders: tuple[int, int], pins: tuple[int, int], rods: tuple[int, int]
    ) -> int:
        """Return what two cylinders cost with these pins and rods in this order."""
        count, cost = len(self.w.piston), 0
        for k, j, r in zip(cylinders, pins, rods, strict=True):
            if count in (k, j, r):
                cost += 0 if k == j == r else BARRED
                continue
            cost += int(self._cost(np.array(self.w.piston[k] + self.w.pin[j] + self.w.small_end[r] - theta)))
        return cost
