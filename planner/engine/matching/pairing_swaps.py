"""Good pairings quickly: random swaps that are taken the less readily the later (simulated annealing).

Where many pairings are (nearly) free of grinding this finds one at once while an exhaustive search loses itself
in dead ends; where hardly any is, it is the other way round.  No proof depends on this file.  Whole numbers, as
in `planner.engine.matching.pairing_weights`.  The dice are seeded: the same parts give the same answer.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

from planner.engine.matching.pairing_weights import Weights
from planner.records import dataclass

_CHECK_EVERY = 512


@dataclass(frozen=True)
class Arrangement:
    """Which piston, pin and rod (indices) is in each cylinder, and what that grinds."""

    pistons: tuple[int, ...]
    pins: tuple[int, ...]
    rods: tuple[int, ...]
    cost: int


def _ground(sums: Sequence[int], tolerance: int) -> int:
    least = min(sums)
    limit = least + tolerance
    cost = 0
    for each in sums:
        if each > limit:
            cost += each - least
    return cost


def anneal(
    weights: Weights, *, steps: int, seed: int, start: Arrangement | None = None, move_pistons: bool = False
) -> Arrangement:
    """Return the best arrangement met on a walk of random swaps.

    Parameters
    ----------
    weights : Weights
        Kinds may have more parts than there are cylinders: the rest is spare, and swapped in where it helps.
    steps : int
        Length of the walk.
    seed : int
    start : Arrangement, optional
        The first parts of every kind if left out.
    move_pistons : bool
        False keeps the pistons of the start in their cylinders.
    """
    dice = random.Random(seed)
    count = sum(len(throw) for throw in weights.throws)
    tolerance, big_end = weights.tolerance, weights.big_end
    kinds = (weights.pin, weights.small_end, weights.piston)
    first = start or Arrangement(tuple(range(count)), tuple(range(count)), tuple(range(count)), 0)
    places = [
        [*used, *(k for k in range(len(kind)) if k not in used)]
        for kind, used in zip(kinds, (first.pins, first.rods, first.pistons), strict=True)
    ]
    throw_of = {k: t for t, throw in enumerate(weights.throws) for k in throw}
    sums = [sum(kind[place[k]] for kind, place in zip(kinds, places, strict=True)) for k in range(count)]
    throw_sums = [sum(big_end[places[1][k]] for k in throw) for throw in weights.throws]
    recip_cost, throw_cost = _ground(sums, tolerance), _ground(throw_sums, tolerance)
    cost = recip_cost + throw_cost

    def snapshot() -> Arrangement:
        return Arrangement(tuple(places[2][:count]), tuple(places[0][:count]), tuple(places[1][:count]), cost)

    best = snapshot()
    hot = max(1.0, tolerance, (max(sums) - min(sums)) / 4.0)
    cold = hot / 60.0
    movable = [kind for kind in range(3 if move_pistons else 2) if len(places[kind]) > 1]
    heat = hot
    for step in range(steps):
        if step % _CHECK_EVERY == 0:
            if best.cost == 0 or not movable:
                break
            heat = hot * (cold / hot) ** (step / steps)
        kind = movable[int(dice.random() * len(movable))]
        masses, place = kinds[kind], places[kind]
        a = int(dice.random() * count)
        b = int(dice.random() * (len(place) - 1))
        b += b >= a
        both = b < count
        change = masses[place[b]] - masses[place[a]]
        sums[a] += change
        if both:
            sums[b] -= change
        new_recip, new_throw = _ground(sums, tolerance), throw_cost
        big_change = 0
        if kind == 1:
            big_change = big_end[place[b]] - big_end[place[a]]
            throw_sums[throw_of[a]] += big_change
            if both:
                throw_sums[throw_of[b]] -= big_change
            new_throw = _ground(throw_sums, tolerance)
        rise = new_recip + new_throw - cost
        if rise <= 0 or dice.random() < math.exp(-rise / heat):
            place[a], place[b] = place[b], place[a]
            recip_cost, throw_cost = new_recip, new_throw
            cost = recip_cost + throw_cost
            if cost < best.cost:
                best = snapshot()
            continue
        sums[a] -= change
        if both:
            sums[b] += change
        if kind == 1:
            throw_sums[throw_of[a]] -= big_change
            if both:
                throw_sums[throw_of[b]] += big_change
    return best
