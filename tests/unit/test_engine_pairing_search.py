"""The exact search for the least grinding on its own, without the random swaps that usually go before it; its bounds."""

from __future__ import annotations

import itertools
import random

import pytest

from planner.engine.matching.pairing_bounds import NEVER, SumBounds, in_coarsest_unit, throw_bound
from planner.engine.matching.pairing_proof import least_cost_pairing
from planner.engine.matching.pairing_swaps import anneal
from planner.engine.matching.pairing_weights import Weights, ground


def random_weights(dice: random.Random, count: int, rods: int, tolerance: int) -> Weights:
    def kind(spread: float) -> tuple[int, ...]:
        masses = [round(dice.gauss(1000, spread)) for _ in range(count)]
        if dice.random() < 0.3:
            masses[dice.randrange(count)] += dice.choice((-1, 1)) * dice.randrange(20, 80)
        return tuple(masses)

    return Weights(
        piston=kind(10),
        pin=kind(5),
        small_end=kind(12),
        big_end=kind(15),
        throws=tuple(tuple(range(k, k + rods)) for k in range(0, count, rods)),
        tolerance=tolerance,
    )


def all_costs(weights: Weights) -> list[int]:
    orders = list(itertools.permutations(range(len(weights.piston))))
    return [weights.cost(pins, rods) for rods in orders for pins in orders]


@pytest.mark.parametrize("seed", range(60))
def test_search_alone_finds_the_optimum(seed):
    dice = random.Random(seed)
    count = dice.choice((3, 4, 4, 4)) if seed % 20 else 5
    rods = dice.choice([r for r in (1, 2) if count % r == 0])
    weights = random_weights(dice, count, rods, dice.choice((0, 0, 1, 5, 10)))
    found = least_cost_pairing(weights, seconds=20.0, walks=False)
    assert found.proven
    assert found.cost == min(all_costs(weights))
    assert weights.cost(found.pins, found.rods) == found.cost


@pytest.mark.parametrize("seed", range(12))
def test_bounds_hold_at_every_threshold(seed):
    """For every least sum: no pairing with just that least sum is cheaper than the bound."""
    dice = random.Random(100 + seed)
    weights = random_weights(dice, 4, dice.choice((1, 2)), dice.choice((1, 5, 10)))
    bounds = SumBounds(weights).of_all()
    cheapest: dict[int, int] = {}
    orders = list(itertools.permutations(range(4)))
    for rods in orders:
        for pins in orders:
            sums = weights.sums(pins, rods)
            cost = ground(sums, weights.tolerance)
            cheapest[min(sums)] = min(cost, cheapest.get(min(sums), cost))
    assert set(cheapest) <= set(bounds)
    for theta, cost in cheapest.items():
        assert bounds[theta] <= cost


@pytest.mark.parametrize("rods", [1, 2])
def test_walks_keep_parts_apart_and_count_right(rods):
    weights = random_weights(random.Random(5), 8, rods, 3)
    found = anneal(weights, steps=4000, seed=1)
    assert found.pistons == tuple(range(8))
    assert sorted(found.pins) == sorted(found.rods) == list(range(8))
    assert found.cost == weights.cost(found.pins, found.rods)
    assert found == anneal(weights, steps=4000, seed=1)


def test_coarsest_unit_keeps_every_cost():
    weights = random_weights(random.Random(9), 4, 2, 5)
    fine = Weights(
        piston=tuple(20 * m for m in weights.piston),
        pin=tuple(20 * m for m in weights.pin),
        small_end=tuple(20 * m for m in weights.small_end),
        big_end=tuple(20 * m for m in weights.big_end),
        throws=weights.throws,
        tolerance=5 * 20 + 13,
    )
    coarse, unit = in_coarsest_unit(fine)
    assert unit % 20 == 0
    for pins in itertools.permutations(range(4)):
        assert coarse.cost(pins, range(4)) * unit == fine.cost(pins, range(4))


def pairings(free: tuple[int, ...]):
    if not free:
        yield ()
        return
    for k in range(1, len(free)):
        for rest in pairings(free[1:k] + free[k + 1 :]):
            yield ((free[0], free[k]), *rest)


@pytest.mark.parametrize("seed", range(10))
def test_bound_of_the_throws_is_the_least_of_all_ways(seed):
    """Six rods, two on a throw, against every way to pair them."""
    dice = random.Random(seed)
    weights = random_weights(dice, 6, 2, dice.choice((0, 3, 8)))
    big = weights.big_end
    for beta in sorted({a + b for a, b in itertools.combinations(big, 2)}):
        costs = []
        for pairs in pairings(tuple(range(6))):
            sums = [big[a] + big[b] for a, b in pairs]
            if min(sums) >= beta:
                costs.append(sum(x - beta for x in sums if x - beta > weights.tolerance))
        assert throw_bound(weights, beta) == min(costs, default=NEVER)
