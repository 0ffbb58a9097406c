"""The exact tables over subsets and the bounds by prices, against counting out."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from planner.engine.matching.pairing_prices import price_bound
from planner.engine.matching.pairing_proof import least_cost_pairing
from planner.engine.matching.pairing_subsets import (
    BARRED,
    Prices,
    cheapest_below,
    ends,
    pair_costs,
    subsets_of,
)
from planner.engine.matching.pairing_weights import Clock, OutOfTime, Weights
from planner.engine.matching.pairing_windows import fits_windows
from tests.unit.test_engine_pairing_search import random_weights

TWOS = [(0, 1), (2, 3), (4, 5)]


def random_costs(dice: random.Random, *, greatest: int, barred: float) -> np.ndarray:
    """Cost of every cylinder with every pin and rod, six of each."""
    costs = [BARRED if dice.random() < barred else dice.randrange(greatest + 1) for _ in range(6**3)]
    return np.array(costs, dtype=np.int64).reshape(6, 6, 6)


def counted_out(costs: np.ndarray) -> int:
    """Least cost of all pairings of six cylinders, by looking at all of them."""
    orders = np.array(list(itertools.permutations(range(6))))
    best = 2 * BARRED
    for pins in orders:
        by_rod = costs[np.arange(6), pins]  # what every cylinder costs with every rod
        best = min(best, int(by_rod[np.arange(6), orders].sum(axis=1).min()))
    return best


def cost_of(table: np.ndarray, found: list[tuple[int, int]]) -> int:
    return sum(int(table[two, pin, rod]) for two, (pin, rod) in enumerate(found))


def no_clock() -> Clock:
    return Clock(stop_at=float("inf"))


def random_prices(dice: random.Random, size: float) -> Prices:
    draw = [np.array([dice.gauss(0.0, size) for _ in range(6)]) for _ in range(2)]
    return Prices(pin=draw[0], rod=draw[1])


# the widest costs need whole numbers of one, two and eight bytes, with budgets up to the edge of each
@pytest.mark.parametrize("greatest", [3, 60, 127, 20000, 1 << 20])
@pytest.mark.parametrize("seed", range(6))
def test_tables_find_the_least_whatever_the_prices(greatest, seed):
    dice = random.Random(1000 * seed + greatest)
    costs = random_costs(dice, greatest=greatest, barred=(0.0, 0.3, 0.6)[seed % 3])
    subsets = subsets_of(6)
    table = pair_costs(costs, TWOS, subsets)
    least = counted_out(costs)
    assert least < BARRED
    for size in (0.0, 0.3 * greatest, 3.0 * greatest):
        prices = random_prices(dice, size)
        for budget in {least + 1, 2 * least + 5, max(least + 1, 127), max(least + 1, 128), 8 * greatest + 8}:
            found = cheapest_below(table, budget=budget, prices=prices, subsets=subsets, clock=no_clock())
            assert found is not None
            assert cost_of(table, found) == least
            masks = (
                [subsets.pair_masks[pin] for pin, _ in found],
                [subsets.pair_masks[rod] for _, rod in found],
            )
            assert [sum(mask) for mask in masks] == [63, 63]  # every pin and every rod once
        if least:
            assert (
                cheapest_below(table, budget=least, prices=prices, subsets=subsets, clock=no_clock()) is None
            )


@pytest.mark.parametrize("budget", [127, 32767])
def test_prices_do_not_change_the_least_of_twelve(budget):
    """Three twos in each half: sums of three costs just below the budget must not run over the small numbers.

    Every cylinder has a pin and a rod of its own that cost little (planted); whether that is the least is not
    known, but it can't depend on the prices.
    """
    dice = random.Random(budget)
    costs = np.array([dice.randrange(budget // 3, budget) for _ in range(12**3)], dtype=np.int64).reshape(
        12, 12, 12
    )
    places = np.arange(12)
    costs[places, dice.sample(range(12), 12), dice.sample(range(12), 12)] = budget // 13
    subsets = subsets_of(12)
    table = pair_costs(costs, [(k, k + 1) for k in range(0, 12, 2)], subsets)
    least = None
    for size in (0.0, 0.8 * budget):
        draw = [np.array([dice.gauss(0.0, size) for _ in range(12)]) for _ in range(2)]
        found = cheapest_below(
            table,
            budget=budget,
            prices=Prices(pin=draw[0], rod=draw[1]),
            subsets=subsets,
            clock=no_clock(),
        )
        assert found is not None
        least = cost_of(table, found) if least is None else least
        assert cost_of(table, found) == least <= 12 * (budget // 13)


@pytest.mark.parametrize("seed", range(20))
def test_prices_never_show_more_than_the_least(seed):
    dice = random.Random(seed)
    costs = random_costs(dice, greatest=30, barred=0.2 * (seed % 3))
    table = pair_costs(costs, TWOS, subsets_of(6))
    least = counted_out(costs)
    for target in (max(1, least // 2), least + 1, least + 40):
        for steps in (1, 7, 40):
            start = random_prices(dice, 5.0)
            shown = price_bound(table, target=target, subsets=subsets_of(6), start=start, steps=steps)
            # what is above the target is only known to be above it
            assert min(shown.bound, target) <= least


def test_steps_raise_the_bound_and_a_target_stops_them():
    table = pair_costs(random_costs(random.Random(3), greatest=30, barred=0.0), TWOS, subsets_of(6))
    first = price_bound(table, target=1000, subsets=subsets_of(6), steps=1)
    best = price_bound(table, target=1000, subsets=subsets_of(6))
    assert first.bound < best.bound
    low = price_bound(table, target=first.bound, subsets=subsets_of(6))
    assert low.bound == first.bound
    assert not low.prices.pin.any()


def test_subsets_are_built_from_all_their_pairs():
    subsets = subsets_of(6)
    assert [len(level) for level in subsets.masks] == [1, 15, 15, 1]
    for t in (1, 2, 3):
        for place, mask in enumerate(subsets.masks[t]):
            made = {
                (subsets.masks[t - 1][b], subsets.pair_masks[a])
                for b, a in zip(subsets.before[t][:, place], subsets.added[t][:, place], strict=True)
            }
            assert len(made) == t * (2 * t - 1)
            assert all(old & pair == 0 and old | pair == mask for old, pair in made)


def test_ends_add_up_to_the_least_of_all():
    dice = random.Random(8)
    subsets = subsets_of(6)
    table = np.array([[float(dice.randrange(50)) for _ in range(15)] for _ in range(3)])
    disjoint = [
        (a, b, c)
        for a, b, c in itertools.product(range(15), repeat=3)
        if subsets.pair_masks[a] + subsets.pair_masks[b] + subsets.pair_masks[c] == 63
        and not subsets.pair_masks[a] & subsets.pair_masks[b]
        and not subsets.pair_masks[c] & (subsets.pair_masks[a] | subsets.pair_masks[b])
    ]
    least = min(table[0, a] + table[1, b] + table[2, c] for a, b, c in disjoint)
    done, rest = ends(table, subsets)
    for t in range(4):
        assert (done[t] + rest[t]).min() == least
    for place, mask in enumerate(subsets.masks[1]):
        own = [x for x in disjoint if subsets.pair_masks[x[0]] == mask]
        assert rest[1][place] == min(table[1, b] + table[2, c] for _, b, c in own)


def planted(dice: random.Random, rods: int) -> Weights:
    """Twelve cylinders whose parts can be paired without any grinding (invented), well mixed."""
    piston = [dice.randrange(-20, 21) + 4120 for _ in range(12)]
    pin = [dice.randrange(-10, 11) + 1180 for _ in range(12)]
    small_end = [7020 - p - q for p, q in zip(piston, pin, strict=True)]
    big_end = [4420] * 12
    if rods == 2:
        for k in range(0, 12, 2):
            above = dice.randrange(30)
            big_end[k], big_end[k + 1] = 4420 + above, 4420 - above
    dice.shuffle(pin)
    order = dice.sample(range(12), 12)
    return Weights(
        piston=tuple(piston),
        pin=tuple(pin),
        small_end=tuple(small_end[k] for k in order),
        big_end=tuple(big_end[k] for k in order),
        throws=tuple(tuple(range(k, k + rods)) for k in range(0, 12, rods)),
        tolerance=0,
    )


@pytest.mark.parametrize("rods", [1, 2])
@pytest.mark.parametrize("seed", range(3))
def test_a_pairing_without_grinding_is_found_among_twelve(rods, seed):
    weights = planted(random.Random(seed), rods)
    found = least_cost_pairing(weights, seconds=60.0, walks=False)
    assert weights.cost(range(12), range(12)) > 0
    assert found.proven
    assert found.cost == weights.cost(found.pins, found.rods) == 0


@pytest.mark.parametrize("rods", [1, 2])
def test_twelve_cylinders_are_proven_in_the_same_way_every_time(rods):
    weights = random_weights(random.Random(4 + rods), 12, rods, 5)
    found = least_cost_pairing(weights, seconds=60.0)
    assert found.proven
    assert found == least_cost_pairing(weights, seconds=60.0)


def test_out_of_time_leaves_a_bound_that_holds():
    weights = random_weights(random.Random(5), 12, 2, 5)
    best = least_cost_pairing(weights, seconds=60.0)
    hurried = least_cost_pairing(weights, seconds=0.0)
    assert not hurried.proven
    assert hurried.bound <= best.cost <= hurried.cost
    assert hurried.cost == weights.cost(hurried.pins, hurried.rods)


def test_the_tables_stop_at_the_nodes_allowed():
    table = pair_costs(random_costs(random.Random(1), greatest=9, barred=0.0), TWOS, subsets_of(6))
    with pytest.raises(OutOfTime):
        cheapest_below(
            table,
            budget=100,
            prices=random_prices(random.Random(1), 0.0),
            subsets=subsets_of(6),
            clock=Clock(stop_at=float("inf"), most_nodes=3),
        )


def test_nothing_is_found_where_a_pin_fits_nowhere():
    costs = random_costs(random.Random(1), greatest=9, barred=0.0)
    costs[:, 2, :] = BARRED
    table = pair_costs(costs, TWOS, subsets_of(6))
    prices = random_prices(random.Random(1), 4.0)
    assert cheapest_below(table, budget=60, prices=prices, subsets=subsets_of(6), clock=no_clock()) is None
    assert price_bound(table, target=60, subsets=subsets_of(6)).bound >= 60


@pytest.mark.parametrize(("count", "rods"), [(14, 2), (6, 3), (14, 1)])
def test_more_parts_or_rods_get_the_best_found_and_a_bound(count, rods):
    dice = random.Random(2)
    assert fits_windows(random_weights(dice, 12, 2, 5))
    weights = random_weights(dice, count, rods, 5)
    assert not fits_windows(weights)
    found = least_cost_pairing(weights, seconds=20.0)
    assert found == least_cost_pairing(weights, seconds=20.0)
    assert (
        found.bound <= found.cost == weights.cost(found.pins, found.rods) < weights.cost(*[range(count)] * 2)
    )
    # a local optimum at least: no two pins or rods changed over are cheaper
    for row in (found.pins, found.rods):
        for a, b in itertools.combinations(range(count), 2):
            row[a], row[b] = row[b], row[a]
            assert weights.cost(found.pins, found.rods) >= found.cost
            row[a], row[b] = row[b], row[a]
