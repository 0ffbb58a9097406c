"""Good pairings quickly: swaps from many starts, on the whole numbers of the exact search.

Where many pairings are (nearly) free of grinding, descents find one at once while an exhaustive search loses
itself in dead ends; where hardly any is, it is the other way round.  The proof never depends on this file.
"""

from __future__ import annotations

import heapq
import itertools
import random
from collections.abc import Iterator

from planner.engine.pairing_search import Clock, Weights, ground

#: As many ways of putting the rods on the throws are started from, the cheapest first.
_GROUPINGS = 40
_MOST_PAIRED_RODS = 12


def groupings(weights: Weights) -> list[tuple[int, tuple[tuple[int, ...], ...]]]:
    """Return the cheapest ways to group the rods by throws, as (cost, groups); one way when they are many."""
    rods, count = weights.rods_per_throw, len(weights.big_end)
    if rods == 1:
        return [(ground(weights.big_end, weights.tolerance), tuple((r,) for r in range(count)))]
    if rods > 2 or count > _MOST_PAIRED_RODS:
        # deal out the sorted big ends to and fro
        ordered = sorted(range(count), key=lambda r: weights.big_end[r])
        throws = len(weights.throws)
        groups: list[list[int]] = [[] for _ in range(throws)]
        for row, start in enumerate(range(0, count, throws)):
            dealt = ordered[start : start + throws]
            for group, r in zip(groups, dealt if row % 2 == 0 else reversed(dealt), strict=True):
                group.append(r)
        sums = [sum(weights.big_end[r] for r in group) for group in groups]
        return [(ground(sums, weights.tolerance), tuple(tuple(group) for group in groups))]

    def cost_of(pairs: tuple[tuple[int, ...], ...]) -> int:
        return ground([weights.big_end[a] + weights.big_end[b] for a, b in pairs], weights.tolerance)

    return heapq.nsmallest(_GROUPINGS, ((cost_of(p), p) for p in _pairs(tuple(range(count)))))


def _pairs(free: tuple[int, ...]) -> Iterator[tuple[tuple[int, ...], ...]]:
    """Yield every way to put things in pairs."""
    if not free:
        yield ()
        return
    for place in range(1, len(free)):
        for rest in _pairs(free[1:place] + free[place + 1 :]):
            yield ((free[0], free[place]), *rest)


def descend(
    weights: Weights, *, rods: list[int], pins: list[int], clock: Clock
) -> tuple[list[int], list[int]]:
    """Return a pairing whose reciprocating sums no single swap brings nearer together (in squares).

    Swaps: two pins; two rods of one throw; all rods of two throws.  The grouping of the rods is kept.
    """
    w = weights
    sums = w.sums(pins, rods)
    within = [pair for throw in w.throws for pair in itertools.combinations(throw, 2)]
    between = [tuple(zip(a, b, strict=True)) for a, b in itertools.combinations(w.throws, 2)]
    better = True
    while better:
        better = False
        clock.tick()
        for a, b in itertools.combinations(range(len(pins)), 2):
            step = w.pin[pins[b]] - w.pin[pins[a]]
            if step * (sums[a] - sums[b] + step) < 0:
                pins[a], pins[b] = pins[b], pins[a]
                sums[a] += step
                sums[b] -= step
                better = True
        for swaps in itertools.chain(((pair,) for pair in within), between):
            change = 0
            for a, b in swaps:
                step = w.small_end[rods[b]] - w.small_end[rods[a]]
                change += step * (sums[a] - sums[b] + step)
            if change < 0:
                for a, b in swaps:
                    step = w.small_end[rods[b]] - w.small_end[rods[a]]
                    rods[a], rods[b] = rods[b], rods[a]
                    sums[a] += step
                    sums[b] -= step
                better = True
    return pins, rods


def polish(
    weights: Weights, *, rods: list[int], pins: list[int], clock: Clock
) -> tuple[list[int], list[int]]:
    """Return a pairing whose real cost no single swap of two pins or two rods lowers."""
    cost = weights.cost(pins, rods)
    better = True
    while better and cost > 0:
        better = False
        clock.tick()
        for row in (pins, rods):
            for a, b in itertools.combinations(range(len(pins)), 2):
                row[a], row[b] = row[b], row[a]
                new = weights.cost(pins, rods)
                if new < cost:
                    cost, better = new, True
                else:
                    row[a], row[b] = row[b], row[a]
    return pins, rods


def starts(
    weights: Weights, *, starts_per_grouping: int, clock: Clock
) -> Iterator[tuple[list[int], list[int]]]:
    """Yield descended pairings, grouping by grouping, from random starts (always the same ones)."""
    dice = random.Random(20)
    count = len(weights.piston)
    options = groupings(weights)
    for turn in range(starts_per_grouping * len(options)):
        _, groups = options[turn % len(options)]
        shuffled = list(groups)
        dice.shuffle(shuffled)
        rods = [0] * count
        for throw, group in zip(weights.throws, shuffled, strict=True):
            for k, r in zip(throw, dice.sample(group, len(group)), strict=True):
                rods[k] = r
        pins = dice.sample(range(count), count)
        yield descend(weights, rods=rods, pins=pins, clock=clock)
