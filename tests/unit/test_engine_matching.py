"""Matching kind by kind, pairing, stock: small cases by hand and by brute force.  All masses are invented."""

from __future__ import annotations

import itertools
import math
import random

import pytest

from planner.engine.matching.match import PairingRequest, match_kind, pair_parts, removals_g
from planner.engine.matching.stock import Stock, choose_from_stock
from planner.errors import InputError


def request(piston, pin, small, big=None, *, throws=None, tolerance=0.0, other=()) -> PairingRequest:
    names = tuple(str(k + 1) for k in range(len(piston)))
    return PairingRequest(
        piston_g=tuple(piston),
        pin_g=tuple(pin),
        small_end_g=tuple(small),
        big_end_g=tuple(big or [440.0] * len(piston)),
        cylinders=names,
        throws=throws or tuple((name,) for name in names),
        other_kinds_g=(tuple(other),) if other else (),
        tolerance_g=tolerance,
    )


def test_the_lightest_is_left_alone():
    match = match_kind("piston", masses_g=[412.6, 411.9, 413.0, 412.2])
    assert match.remove_g == pytest.approx((0.7, 0.0, 1.1, 0.3))
    assert match.lightest == 1
    assert (match.spread_before_g, match.spread_after_g) == pytest.approx((1.1, 0.0))
    assert match.ground_g == pytest.approx(2.1)
    # if 411.9 were 412.2: 0.4 + 0 + 0.8 + 0
    assert match.outlier_costs_g == pytest.approx(2.1 - 1.2)


def test_what_lies_within_the_tolerance_is_not_ground():
    match = match_kind("pin", masses_g=[118.0, 118.5, 118.6], tolerance_g=0.5)
    assert match.remove_g == pytest.approx(
        (0.0, 0.0, 0.6)
    )  # ground to the lightest, not only into the tolerance
    assert match.spread_after_g == pytest.approx(0.5)


def test_decimal_fractions_do_not_decide():
    """0.1 + 0.2 is more than 0.3 in floating point; 0.3 above the least is within 0.3 all the same."""
    assert removals_g([1.0, 1.0 + 0.1 + 0.2], tolerance_g=0.3) == (0.0, 0.0)


def test_greatest_removal_is_warned_of():
    match = match_kind(
        "piston", masses_g=[400.0, 412.0, 401.0], greatest_removal_g=8.0, names=["1", "2", "3"]
    )
    (warning,) = match.warnings
    assert warning.startswith("piston 2: 12.0 g would have to come off, no more than 8 g may")
    assert match_kind("piston", masses_g=[400.0]).outlier_costs_g == 0.0


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: removals_g([1.0], tolerance_g=-1.0), "must be 0 or more"),
        (lambda: removals_g([]), "nothing to match"),
        (lambda: match_kind("pin", masses_g=[1.0, 2.0], names=["1"]), "2 masses of `pin` for 1 names"),
        (lambda: pair_parts(request([1.0, 2.0], [1.0], [1.0, 2.0])), "1 masses of `pin` for 2"),
        (lambda: pair_parts(request([1.0, -2.0], [1.0, 1.0], [1.0, 2.0])), "0 or more"),
        (lambda: pair_parts(request([1.0], [1.0], [1.0], tolerance=-0.1)), "match tolerance -0.1"),
        (
            lambda: pair_parts(request([1.0] * 2, [1.0] * 2, [1.0] * 2, throws=(("1",),))),
            "the throws carry 1;",
        ),
        (
            lambda: pair_parts(request([1.0] * 3, [1.0] * 3, [1.0] * 3, throws=(("1",), ("2", "3")))),
            "different numbers of rods",
        ),
        (lambda: pair_parts(request([1.0], [1.0], [1.0], other=(1.0, 2.0))), "`other parts`"),
    ],
)
def test_what_is_refused(make, message):
    with pytest.raises(InputError, match=message):
        make()


PISTONS = (412.3, 409.8, 411.1, 413.6)
PINS = (118.2, 117.4, 118.9, 117.0)
SMALL = (171.5, 173.2, 170.1, 172.6)


def test_worked_example_of_four():
    """Computed beforehand by brute force over all 576 pairings and by a mixed-integer programme: 0.9 g, pins
    2, 3, 4, 1 and rods 1, 4, 2, 3; each kind to its lightest 18.1 g, as numbered 5.3 g.
    """
    found = pair_parts(request(PISTONS, PINS, SMALL))
    assert found.proven
    assert found.ground_g == pytest.approx(0.9)
    assert found.as_numbered_g == pytest.approx(5.3)
    assert found.each_to_lightest_g == pytest.approx(18.1)
    assert [each.pin for each in found.sets] == ["2", "3", "4", "1"]
    assert [each.rod for each in found.sets] == ["1", "4", "2", "3"]
    assert [each.sum_g for each in found.sets] == pytest.approx([701.2, 701.3, 701.3, 701.9])
    assert [each.remove_g for each in found.sets] == pytest.approx([0.0, 0.1, 0.1, 0.7])


def test_other_parts_stay_with_the_cylinder():
    shifted = request([p - k for k, p in enumerate(PISTONS)], PINS, SMALL, other=[float(k) for k in range(4)])
    assert pair_parts(shifted).ground_g == pytest.approx(0.9)


def test_within_the_tolerance_nothing_is_ground():
    found = pair_parts(request(PISTONS, PINS, SMALL, tolerance=0.7))
    assert found.ground_g == 0.0
    assert found.proven
    assert all(each.remove_g == 0.0 for each in found.sets)


def cost_of(req: PairingRequest, pins, rods) -> float:
    sums = [req.piston_g[k] + req.pin_g[pins[k]] + req.small_end_g[rods[k]] for k in range(len(pins))]
    place = {name: k for k, name in enumerate(req.cylinders)}
    throws = [sum(req.big_end_g[rods[place[name]]] for name in throw) for throw in req.throws]
    total = 0.0
    for values in (sums, throws):
        total += sum(v - min(values) for v in values if v - min(values) > req.tolerance_g + 1e-6)
    return total


def random_request(
    dice: random.Random, count: int, rods: int, tolerance: float, digits: int
) -> PairingRequest:
    def kind(mean: float, spread: float) -> list[float]:
        masses = [round(dice.gauss(mean, spread), digits) for _ in range(count)]
        if dice.random() < 0.3:  # an outlier, light or heavy
            masses[dice.randrange(count)] += round(dice.choice((-1, 1)) * dice.uniform(2, 8), digits)
        return masses

    throws = tuple(tuple(str(k + 1) for k in range(s, s + rods)) for s in range(0, count, rods))
    return request(
        kind(412, 1), kind(118, 0.5), kind(172, 1.2), kind(442, 1.5), throws=throws, tolerance=tolerance
    )


@pytest.mark.parametrize("seed", range(40))
def test_brute_force_up_to_five(seed):
    """Every pairing tried, independent of the search: singles, pairs and fours on a throw, with tolerance."""
    dice = random.Random(seed)
    count = dice.choice((2, 3, 4, 4, 4)) if seed else 5
    rods = dice.choice([r for r in (1, 2, 4) if count % r == 0])
    req = random_request(dice, count, rods, dice.choice((0.0, 0.1, 0.5, 1.0)), dice.choice((1, 2, 4)))
    orders = list(itertools.permutations(range(count)))
    best = min(cost_of(req, pins, rods_) for rods_ in orders for pins in orders)
    found = pair_parts(req)
    assert found.proven or rods > 2  # no proof is tried there
    assert found.at_least_g <= best + 1e-4
    assert found.ground_g == pytest.approx(best, abs=1e-4)
    place = {name: k for k, name in enumerate(req.cylinders)}
    told = cost_of(req, [place[s.pin] for s in found.sets], [place[s.rod] for s in found.sets])
    assert told == pytest.approx(best, abs=1e-4)
    assert math.fsum(s.remove_g for s in (*found.sets, *found.throws)) == pytest.approx(best, abs=1e-4)


@pytest.mark.parametrize(("count", "rods"), [(8, 2), (12, 2), (12, 1), (6, 1)])
def test_optimum_of_large_sets_is_proven(count, rods):
    """Against a bound that needs no search: the sum is fixed, so each throw's and cylinder's mean bounds it."""
    dice = random.Random(count + rods)
    req = random_request(dice, count, rods, 0.0, 1)
    found = pair_parts(req, seconds=20.0)
    assert found.proven
    assert found.at_least_g == found.ground_g
    assert found.ground_g <= found.as_numbered_g <= found.each_to_lightest_g * 2
    # nothing near it is better: any two pins or rods changed over
    place = {name: k for k, name in enumerate(req.cylinders)}
    pins, where = [place[s.pin] for s in found.sets], [place[s.rod] for s in found.sets]
    for row in (pins, where):
        for a, b in itertools.combinations(range(count), 2):
            row[a], row[b] = row[b], row[a]
            assert cost_of(req, pins, where) >= found.ground_g - 1e-4
            row[a], row[b] = row[b], row[a]


def test_optimum_against_a_mixed_integer_programme():
    """The same question as a linear programme with whole numbers, solved by SciPy (HiGHS): six cylinders."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    dice = random.Random(6)
    req = random_request(dice, 6, 2, 0.0, 1)
    n, m = 6, 3
    size = 2 * n * n + 2  # pins, rods, least sums
    rows, low, high = [], [], []
    for kind in range(2):
        for k in range(n):
            for row in ((kind * n * n + k * n + np.arange(n)), (kind * n * n + np.arange(n) * n + k)):
                line = np.zeros(size)
                line[row] = 1.0
                rows.append(line)
                low.append(1.0)
                high.append(1.0)
    for k in range(n):
        line = np.zeros(size)
        line[k * n : k * n + n] = req.pin_g
        line[n * n + k * n : n * n + k * n + n] = req.small_end_g
        line[-2] = -1.0
        rows.append(line)
        low.append(-req.piston_g[k])
        high.append(np.inf)
    for t in range(m):
        line = np.zeros(size)
        for k in (2 * t, 2 * t + 1):
            line[n * n + k * n : n * n + k * n + n] = req.big_end_g
        line[-1] = -1.0
        rows.append(line)
        low.append(0.0)
        high.append(np.inf)
    cost = np.zeros(size)
    cost[-2], cost[-1] = -n, -m
    whole = np.ones(size)
    whole[-2:] = 0
    upper = np.ones(size)
    upper[-2:] = np.inf
    solved = milp(
        cost,
        integrality=whole,
        bounds=Bounds(np.zeros(size), upper),
        constraints=LinearConstraint(np.array(rows), low, high),
        options={"mip_rel_gap": 0.0},
    )
    everything = sum(req.piston_g) + sum(req.pin_g) + sum(req.small_end_g) + sum(req.big_end_g)
    found = pair_parts(req)
    assert found.proven
    assert found.ground_g == pytest.approx(everything + solved.fun, abs=1e-3)


def test_no_time_gives_a_pairing_and_says_that_it_is_not_proven():
    req = random_request(random.Random(3), 12, 2, 0.0, 4)
    found = pair_parts(req, seconds=0.0)
    assert not found.proven
    assert found.at_least_g < found.ground_g <= found.as_numbered_g


def test_parts_that_would_lose_too_much_are_warned_of():
    req = request([412.0, 412.0], [118.0, 118.0], [172.0, 190.0], [440.0, 452.0], throws=(("1",), ("2",)))
    limits = {"piston": 8.0, "pin": 1.0, "rod_small_end": 3.0, "rod_big_end": 5.0}
    small, big = pair_parts(req, greatest_removal_g=limits).warnings
    assert "18.0 g would have to come off, piston, pin and small end together may lose 12 g" in small
    assert "12.0 g would have to come off, together they may lose 5 g" in big


def test_choosing_from_stock():
    dice = random.Random(11)

    def kind(count: int, mean: float, spread: float) -> tuple[float, ...]:
        return tuple(round(dice.gauss(mean, spread), 1) for _ in range(count))

    stock = Stock(
        piston_g=kind(40, 412, 1.5),
        pin_g=kind(8, 118, 0.3),
        small_end_g=(rods := kind(30, 172, 1.2)),
        big_end_g=kind(len(rods), 442, 1.5),
    )
    names = [str(k + 1) for k in range(8)]
    throws = [names[k : k + 2] for k in range(0, 8, 2)]
    found = choose_from_stock(stock, cylinders=names, throws=throws, tolerance_g=0.5, seconds=3.0)
    assert found.proven
    assert found.ground_g == 0.0
    assert len(set(found.pistons)) == len(set(found.rods)) == len(set(found.pins)) == 8
    sums = [
        stock.piston_g[p] + stock.pin_g[q] + stock.small_end_g[r]
        for p, q, r in zip(found.pistons, found.pins, found.rods, strict=True)
    ]
    assert max(sums) - min(sums) <= 0.5 + 1e-9
    pairs = [stock.big_end_g[found.rods[k]] + stock.big_end_g[found.rods[k + 1]] for k in range(0, 8, 2)]
    assert max(pairs) - min(pairs) <= 0.5 + 1e-9


@pytest.mark.parametrize("tolerance", [0.0, 0.3])
def test_choice_from_a_tiny_stock_against_every_choice(tolerance):
    stock = Stock(
        piston_g=(410.0, 411.3, 412.9),
        pin_g=(118.0, 118.4),
        small_end_g=(171.0, 172.2, 173.1),
        big_end_g=(440.0, 441.1, 442.7),
    )
    best = min(
        cost_of(
            request(
                [stock.piston_g[k] for k in p],
                stock.pin_g,
                [stock.small_end_g[k] for k in r],
                [stock.big_end_g[k] for k in r],
                tolerance=tolerance,
            ),
            pins,
            (0, 1),
        )
        for p in itertools.permutations(range(3), 2)
        for r in itertools.permutations(range(3), 2)
        for pins in ((0, 1), (1, 0))
    )
    found = choose_from_stock(
        stock, cylinders=["1", "2"], throws=[["1"], ["2"]], tolerance_g=tolerance, seconds=5.0
    )
    assert found.ground_g == pytest.approx(best, abs=1e-4)
    assert found.proven
    assert found.at_least_g == pytest.approx(found.ground_g, abs=1e-4)


def test_stock_with_too_few():
    few = Stock(piston_g=(1.0,), pin_g=(1.0, 1.0), small_end_g=(1.0, 1.0), big_end_g=(1.0, 1.0))
    with pytest.raises(InputError, match="1 pistons in stock for 2 cylinders"):
        choose_from_stock(few, cylinders=["1", "2"], throws=[["1"], ["2"]])
    odd = Stock(piston_g=(1.0, 1.0), pin_g=(1.0, 1.0), small_end_g=(1.0, 1.0), big_end_g=(1.0,))
    with pytest.raises(InputError, match="2 small ends for 1 big ends"):
        choose_from_stock(odd, cylinders=["1", "2"], throws=[["1"], ["2"]])
