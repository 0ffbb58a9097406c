"""The exhaustive search for the least grinding on its own, without the random swaps that usually go before it."""

from __future__ import annotations

import itertools
import random

import pytest

from planner.engine.matching.pairing_bounds import NEVER, in_coarsest_unit, throw_plan
from planner.engine.matching.pairing_proof import least_cost_pairing
from planner.engine.matching.pairing_search import (
    Clock,
    ThresholdSearch,
    ThrowPlan,
    TripleTable,
    Weights,
    ground,
)
from planner.engine.matching.pairing_swaps import anneal


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


@pytest.mark.parametrize("windows", [True, False], ids=["tables", "triples"])
@pytest.mark.parametrize("seed", range(60))
def test_search_alone_finds_the_optimum(seed, windows):
    dice = random.Random(seed)
    count = dice.choice((3, 4, 4, 4)) if seed % 20 else 5
    rods = dice.choice([r for r in (1, 2) if count % r == 0])
    weights = random_weights(dice, count, rods, dice.choice((0, 0, 1, 5, 10)))
    found = least_cost_pairing(weights, seconds=20.0, walks=False, windows=windows)
    assert found.proven
    assert found.cost == min(all_costs(weights))
    assert weights.cost(found.pins, found.rods) == found.cost


@pytest.mark.parametrize("seed", range(12))
def test_bounds_hold_at_every_threshold(seed):
    """For every least sum: the cheapest pairing with just that least sum, against all pairings."""
    dice = random.Random(100 + seed)
    weights = random_weights(dice, 4, dice.choice((1, 2)), dice.choice((1, 5, 10)))
    table = TripleTable(weights)
    cheapest: dict[int, int] = {}
    orders = list(itertools.permutations(range(4)))
    for rods in orders:
        throws = ground(weights.throw_sums(rods), weights.tolerance)
        for pins in orders:
            sums = weights.sums(pins, rods)
            cost = ground(sums, weights.tolerance) + throws
            cheapest[min(sums)] = min(cost, cheapest.get(min(sums), cost))
    everything = 1 << 40
    for theta in sorted(set(table.sums)):
        best = None
        # the lowest possible big-end sum lets every pairing through; with it the cost of big ends is not lowered
        for beta in sorted({weights.big_end[a] + b for a in range(4) for b in (0, *weights.big_end)}):
            if weights.rods_per_throw == 1 and beta != min(weights.big_end):
                continue
            floor = ground(weights.big_end, weights.tolerance) if weights.rods_per_throw == 1 else 0
            search = ThresholdSearch(
                weights,
                table,
                theta=theta,
                throws=ThrowPlan(beta, floor),
                exact=True,
                budget=everything,
                clock=Clock(stop_at=float("inf")),
            )
            if search.run():
                cost = weights.cost(*search.best)
                best = cost if best is None else min(best, cost)
        assert best == cheapest.get(theta)


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
def test_which_rods_may_share_a_throw(seed):
    """Bound and barred pairs of the big ends against every way to pair six rods."""
    dice = random.Random(seed)
    weights = random_weights(dice, 6, 2, dice.choice((0, 3, 8)))
    table = TripleTable(weights)
    big = weights.big_end
    for beta in sorted({a + b for a, b in itertools.combinations(big, 2)}):
        costs = {}
        for pairs in pairings(tuple(range(6))):
            sums = [big[a] + big[b] for a, b in pairs]
            if min(sums) >= beta:
                costs[pairs] = sum(x - beta for x in sums if x - beta > weights.tolerance)
        bound = min(costs.values(), default=NEVER)
        assert throw_plan(weights, table, beta, None).bound == bound
        for room in sorted(set(costs.values())):
            plan = throw_plan(weights, table, beta, room)
            assert plan.bound == bound
            allowed = {pair for pairs, cost in costs.items() if cost <= room for pair in pairs}
            for a, b in itertools.permutations(range(6), 2):
                own = table.masks[12 + b]
                assert (plan.barred[a] & own == own) is ((min(a, b), max(a, b)) not in allowed)
