"""Lower bound on a pairing by prices: the parts of one kind may be used twice, at a price.

Every pin has a price, which is taken off the cost of whatever uses it; every two cylinders then choose their
pins freely (the same pin may be chosen twice), only the rods are dealt out properly.  Together with the sum of
all prices this never costs more than the best pairing, and prices that rise for what is wanted twice and fall
for what is wanted by none bring it close (the usual subgradient steps of a Lagrangian relaxation).  The same
with rods and pins changed over.
"""

from __future__ import annotations

import math

import numpy as np

from planner.engine.matching.pairing_subsets import Floats, Ints, Prices, Subsets
from planner.records import dataclass

#: Steps for the prices of each kind: about as long as a quick exact search.
STEPS = 40

#: After so many steps without gain they are halved.
_PATIENCE = 5

#: A bound is a sum of decimal fractions below a whole number.
_GUARD = 1e-6


@dataclass(frozen=True)
class PriceBound:
    """No pairing costs less than ``bound``, as the ``prices`` show."""

    bound: int
    prices: Prices


def price_bound(
    costs: Ints, *, target: int, subsets: Subsets, start: Prices | None = None, steps: int = STEPS
) -> PriceBound:
    """Return a lower bound on the cost of every pairing, and the prices that show it.

    Parameters
    ----------
    costs : ndarray, shape (twos, pin pairs, rod pairs)
    target : int
        A bound that is high enough: the search for prices stops there.
    subsets : Subsets
    start : Prices, optional
        Prices to start from: those of a similar problem save most of the steps; none if left out.
    steps : int
        Most steps for the prices of each kind; 1 only tells what the prices to start from show.
    """
    start = start or Prices(pin=np.zeros(2 * len(costs)), rod=np.zeros(2 * len(costs)))
    # what is not allowed only needs to cost more than the target
    table = np.minimum(costs, 2 * target).astype(np.float64)
    by_pin, pin = _raise_prices(table, target, subsets, start.pin, steps)
    rod = start.rod
    by_rod = -math.inf
    if by_pin < target:
        by_rod, rod = _raise_prices(
            np.ascontiguousarray(table.transpose(0, 2, 1)), target, subsets, start.rod, steps
        )
    return PriceBound(math.ceil(max(by_pin, by_rod) - _GUARD), Prices(pin=pin, rod=rod))


def _raise_prices(
    table: Floats, target: int, subsets: Subsets, prices: Floats, steps: int
) -> tuple[float, Floats]:
    """Return the best bound and prices found for the kind of the second axis, from ``prices`` on."""
    twos = len(table)
    one, two = subsets.pairs[:, 0], subsets.pairs[:, 1]
    best, best_prices, stride, stalled = -math.inf, prices, 1.0, 0
    for _ in range(steps):
        reduced = table - (prices[one] + prices[two])[None, :, None]
        cheapest = reduced.min(axis=1)
        levels, ways = [np.zeros(1)], []
        for cost, before, added in zip(cheapest, subsets.before[1:], subsets.added[1:], strict=True):
            ways.append(levels[-1][before] + cost[added])
            levels.append(ways[-1].min(axis=0))
        value = float(levels[-1][0] + prices.sum())
        if value > best + _GUARD:
            best, best_prices, stalled = value, prices, 0
        else:
            stalled += 1
            if stalled == _PATIENCE:
                stride, stalled, prices = stride / 2.0, 0, best_prices
        if best >= target:
            break
        wanted, place = np.zeros(2 * twos), 0
        for t in range(twos, 0, -1):
            way = int(ways[t - 1][:, place].argmin())
            pair = int(reduced[t - 1][:, subsets.added[t][way, place]].argmin())
            wanted[one[pair]] += 1.0
            wanted[two[pair]] += 1.0
            place = int(subsets.before[t][way, place])
        excess = wanted - 1.0
        if not excess.any():
            break
        prices = prices - stride * max(1.0, target - value) / float(excess @ excess) * excess
    return best, best_prices
