"""Exact pairing for one pair of thresholds, over subsets of the parts.

The cylinders are taken two at a time: the two of a throw, or any two where every throw carries one rod.  What
the first t of these twos grind in the cheapest way depends only on *which* 2 t pins and *which* 2 t rods they
hold: with twelve cylinders there are 924 x 924 such cases half-way, whatever the weights.  The tables are built
from both ends and meet in the middle.  A case is dropped when what it has ground and what the rest must grind
at least (see `Prices`) reach the budget; with hardly any case left the search takes milliseconds.

Whole numbers, as in `planner.engine.matching.pairing_weights`; `BARRED` stands for what is not allowed.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Sequence
from dataclasses import field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.engine.matching.pairing_weights import Clock
from planner.records import dataclass

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Row = NDArray[np.integer[Any]]

#: Cost of what is not allowed.
BARRED = 1 << 40

#: Most parts of a kind for which the tables are small enough.
MOST_PARTS = 12

#: Bounds are sums of decimal fractions; costs are whole numbers, so that this much never decides wrongly.
_GUARD = 1e-6


@dataclass(frozen=True)
class Subsets:
    """Subsets of 0, 2, 4, .. of ``count`` parts, and how two more parts lead from one to the next.

    Attributes
    ----------
    pairs : ndarray, shape (pairs, 2)
        The two parts of every pair; ``pair_masks`` the same as bits.
    masks, places : tuple
        For every level t the subsets of 2 t parts, rising, and where each is in that list.
    before, added : tuple of ndarray, shape (ways, subsets)
        For every level t >= 1: ``before[t][w, s]`` is the subset at level t - 1 and ``added[t][w, s]`` the pair
        that make subset s in way w.  (Entry 0 is empty.)
    """

    pairs: NDArray[np.intp]
    pair_masks: tuple[int, ...]
    masks: tuple[tuple[int, ...], ...]
    places: tuple[dict[int, int], ...]
    before: tuple[NDArray[np.intp], ...]
    added: tuple[NDArray[np.intp], ...]

    def weights(self, weight: Floats) -> list[Floats]:
        """Return the sum of the weights of the parts of every subset, level by level."""
        totals = [np.zeros(1)]
        of_pair = weight[self.pairs].sum(axis=1)
        for before, added in zip(self.before[1:], self.added[1:], strict=True):
            totals.append(totals[-1][before[0]] + of_pair[added[0]])
        return totals


@functools.cache
def subsets_of(count: int) -> Subsets:
    """Return the subsets of an even number of parts."""
    pairs = list(itertools.combinations(range(count), 2))
    pair_masks = [(1 << a) | (1 << b) for a, b in pairs]
    index = {mask: k for k, mask in enumerate(pair_masks)}
    masks, places, befores, addeds = [], [], [], []
    for t in range(count // 2 + 1):
        level = sorted(sum(1 << k for k in chosen) for chosen in itertools.combinations(range(count), 2 * t))
        masks.append(tuple(level))
        places.append({mask: k for k, mask in enumerate(level)})
        ways = list(itertools.combinations(range(2 * t), 2)) if t else []
        before = np.zeros((len(ways), len(level)), dtype=np.intp)
        added = np.zeros_like(before)
        for s, mask in enumerate(level if t else []):
            members = [k for k in range(count) if mask >> k & 1]
            for way, (a, b) in enumerate(ways):
                pair = (1 << members[a]) | (1 << members[b])
                before[way, s] = places[t - 1][mask ^ pair]
                added[way, s] = index[pair]
        befores.append(before)
        addeds.append(added)
    return Subsets(
        np.array(pairs, dtype=np.intp),
        tuple(pair_masks),
        tuple(masks),
        tuple(places),
        tuple(befores),
        tuple(addeds),
    )


@dataclass(frozen=True)
class Prices:
    """A price for every part of one kind; see `planner.engine.matching.pairing_prices`.

    With the prices of all pins taken off the cost of what uses them, every two cylinders may choose their pins
    freely and the sum of all prices is added again: never more than what a pairing really costs.
    """

    pin: Floats
    rod: Floats


@dataclass
class _Half:
    """Cheapest costs level by level; ``rows[t][rod subset]`` holds one number per kept pin subset, then the budget.

    ``column[t]`` says which of these numbers belongs to a pin subset (the last where it is not kept).
    """

    costs: Ints
    rows: list[dict[int, Row]] = field(default_factory=list)
    column: list[NDArray[np.intp]] = field(default_factory=list)


def ends(costs: Floats, subsets: Subsets) -> tuple[list[Floats], list[Floats]]:
    """Return the least of the first t twos on every subset, and of the others on what that leaves, for every t.

    ``costs`` has shape (twos, pairs): what each of the twos costs with each pair of parts.
    """

    def forward(table: Floats) -> list[Floats]:
        levels = [np.zeros(1)]
        for cost, before, added in zip(table, subsets.before[1:], subsets.added[1:], strict=True):
            levels.append((levels[-1][before] + cost[added]).min(axis=0))
        return levels

    # the complements of rising subsets are falling
    return forward(costs), [level[::-1] for level in forward(costs[::-1])[::-1]]


def cheapest_below(
    costs: Ints, *, budget: int, prices: Prices, subsets: Subsets, clock: Clock
) -> list[tuple[int, int]] | None:
    """Return the pairs of pins and of rods of every two cylinders with the least cost, if it is below the budget.

    Parameters
    ----------
    costs : ndarray, shape (twos, pin pairs, rod pairs)
    budget : int
    prices : Prices
        Any prices are right; good ones make it quick.
    subsets : Subsets
    clock : Clock

    Returns
    -------
    list of (pin pair, rod pair) or None

    Raises
    ------
    OutOfTime
    """
    twos = len(costs)
    order = _sparse_ends_first((costs < budget).sum(axis=(1, 2)))
    costs = np.minimum(costs[order], budget)
    middle = (twos + 1) // 2
    bounds = _Bounds(costs, prices, subsets)
    front = _fill(costs, middle, budget, bounds, subsets, clock)
    back = _fill(costs[::-1], twos - middle, budget, bounds.reversed(), subsets, clock)
    meeting = _meet(front, back, middle, budget, subsets)
    if meeting is None:
        return None
    rods, pins, value, rest = meeting
    everything = subsets.masks[-1][0]
    first = _trace(front, middle, rods, pins, value, subsets)
    last = _trace(back, twos - middle, everything ^ rods, everything ^ pins, rest, subsets)
    found = [(0, 0)] * twos
    for place, choice in zip(order, [*first, *last[::-1]], strict=True):
        found[place] = choice
    return found


def _sparse_ends_first(allowed: Ints) -> list[int]:
    """Order the twos so that those with the least choice come first from either end."""
    front: list[int] = []
    back: list[int] = []
    for number, two in enumerate(int(k) for k in np.argsort(allowed, kind="stable")):
        (back if number % 2 else front).append(two)
    return front + back[::-1]


class _Bounds:
    """What the twos that are not placed yet must cost at least, by the rods and by the pins that are used.

    The bound for rods R and pins P at level t is the larger of ``by_rods[t][R] + pins_left[t][P]`` and
    ``by_pins[t][P] + rods_left[t][R]``.
    """

    def __init__(self, costs: Ints, prices: Prices, subsets: Subsets) -> None:
        pin_pairs = prices.pin[subsets.pairs].sum(axis=1)
        rod_pairs = prices.rod[subsets.pairs].sum(axis=1)
        self.rod_costs: Floats = (costs - pin_pairs[None, :, None]).min(axis=1)
        self.rods_done, self.by_rods = ends(self.rod_costs, subsets)
        self.pins_done, self.by_pins = ends((costs - rod_pairs[None, None, :]).min(axis=2), subsets)
        self.all_pins, self.all_rods = float(prices.pin.sum()), float(prices.rod.sum())
        self.pins_left = [self.all_pins - used for used in subsets.weights(prices.pin)]
        self.rods_left = [self.all_rods - used for used in subsets.weights(prices.rod)]

    def reversed(self) -> _Bounds:
        """Return the bounds for the twos from last to first."""
        other = object.__new__(_Bounds)
        other.__dict__.update(self.__dict__)
        other.rod_costs = self.rod_costs[::-1]
        for done, by in (("rods_done", "by_rods"), ("pins_done", "by_pins")):
            setattr(other, done, [level[::-1] for level in getattr(self, by)[::-1]])
            setattr(other, by, [level[::-1] for level in getattr(self, done)[::-1]])
        return other


def _fill(costs: Ints, levels: int, budget: int, bounds: _Bounds, subsets: Subsets, clock: Clock) -> _Half:
    """Build the tables of the first ``levels`` twos."""
    # sums of two capped costs must fit; small numbers are several times as fast
    small = np.uint8 if 2 * budget < 1 << 8 else np.uint16 if 2 * budget < 1 << 16 else np.int64
    top = budget - 1 + _GUARD
    half = _Half(costs, [{0: np.array([0, budget], dtype=small)}], [np.zeros(1, dtype=np.intp)])
    for t in range(1, levels + 1):
        kept = np.flatnonzero(bounds.pins_done[t] + bounds.by_pins[t] + bounds.all_rods <= top)
        column = np.full(len(subsets.masks[t]), len(kept), dtype=np.intp)
        column[kept] = np.arange(len(kept))
        before, added = half.column[t - 1][subsets.before[t][:, kept]], subsets.added[t][:, kept]
        of_pair = costs[t - 1].astype(small)
        choices = [
            (pair, mask, float(bounds.rod_costs[t - 1][pair]), of_pair[:, pair][added])
            for pair, mask in enumerate(subsets.pair_masks)
            if costs[t - 1][:, pair].min() < budget
        ]
        done, by_rods = bounds.rods_done[t - 1].tolist(), (bounds.by_rods[t] + bounds.all_pins).tolist()
        places = subsets.places[t]
        filled: dict[int, Row] = {}
        for used, row in half.rows[t - 1].items():
            start, spread = done[subsets.places[t - 1][used]], None
            for _, mask, least, added_cost in choices:
                if mask & used or start + least + by_rods[places[used | mask]] > top:
                    continue
                clock.tick()
                if spread is None:
                    spread = row[before]
                cheapest = (spread + added_cost).min(axis=0)
                known = filled.get(used | mask)
                filled[used | mask] = cheapest if known is None else np.minimum(known, cheapest)
        rows: dict[int, Row] = {}
        for used, cost in filled.items():
            place = places[used]
            rest = np.maximum(
                bounds.by_rods[t][place] + bounds.pins_left[t][kept],
                bounds.by_pins[t][kept] + bounds.rods_left[t][place],
            )
            # with odd prices the rest can be below 0: a cost above the budget must not stay in the table
            fits = (cost < budget) & (cost + rest <= top)
            if fits.any():
                rows[used] = np.append(np.where(fits, cost, budget), budget).astype(small)
        half.rows.append(rows)
        half.column.append(column)
    return half


def _meet(
    front: _Half, back: _Half, middle: int, budget: int, subsets: Subsets
) -> tuple[int, int, int, int] | None:
    """Return rods, pins and cost of the front half and cost of the back half, at the least sum below the budget."""
    everything = subsets.masks[-1][0]
    best, found = budget, None
    ahead, behind = front.column[-1], back.column[-1][::-1]
    for used, row in front.rows[-1].items():
        other = back.rows[-1].get(everything ^ used)
        if other is None:
            continue
        costs, others = row[ahead].astype(np.int64), other[behind].astype(np.int64)
        place = int((costs + others).argmin())
        if costs[place] + others[place] < best:
            best = int(costs[place] + others[place])
            found = (used, subsets.masks[middle][place], int(costs[place]), int(others[place]))
    return found


def _trace(
    half: _Half, level: int, rods: int, pins: int, value: int, subsets: Subsets
) -> list[tuple[int, int]]:
    """Return the (pin pair, rod pair) of every two of a half that lead to a cost of its last table."""
    path = []
    for t in range(level, 0, -1):
        pin_place, rod_place = subsets.places[t][pins], subsets.places[t][rods]
        pin_pair, rod_pair, value = next(
            (int(pin_pair), int(rod_pair), left)
            for rod_pair in subsets.added[t][:, rod_place]
            for pin_pair, column in zip(
                subsets.added[t][:, pin_place],
                half.column[t - 1][subsets.before[t][:, pin_place]],
                strict=True,
            )
            if (row := half.rows[t - 1].get(rods ^ subsets.pair_masks[rod_pair])) is not None
            and (left := int(row[column])) + half.costs[t - 1][pin_pair, rod_pair] == value
        )
        pins ^= subsets.pair_masks[pin_pair]
        rods ^= subsets.pair_masks[rod_pair]
        path.append((pin_pair, rod_pair))
    return path[::-1]


def pair_costs(costs: Ints, twos: Sequence[tuple[int, int]], subsets: Subsets) -> Ints:
    """Return the cost of every two cylinders with every two pins and every two rods, in the cheaper order.

    ``costs`` has shape (cylinders, pins, rods); the result (twos, pin pairs, rod pairs).
    """
    one, two = subsets.pairs[:, 0], subsets.pairs[:, 1]
    ways = ((one, two, one, two), (one, two, two, one), (two, one, one, two), (two, one, two, one))
    return np.stack(
        [
            np.minimum.reduce(
                [
                    costs[a][np.ix_(pin_a, rod_a)] + costs[b][np.ix_(pin_b, rod_b)]
                    for pin_a, pin_b, rod_a, rod_b in ways
                ]
            )
            for a, b in twos
        ]
    )
