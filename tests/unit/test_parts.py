"""Parts and bobs: sums line by line, lists, errors, factors, sensitivities.  All masses are invented."""

from __future__ import annotations

import math

import pytest

from planner.engine.bob_errors import (
    bob_error_gmm,
    bob_factors,
    bob_sensitivity,
    over_balance,
)
from planner.engine.parts import (
    Part,
    PartSet,
    bobs,
    check_fraction,
    cylinder_order,
    masses_per_cylinder_g,
    part,
)
from planner.errors import InputError
from planner.rotor.crankshaft import Throw
from planner.rotor.limits import LimitRow

PARTS = PartSet(
    parts=(
        part("piston", 412.0),
        part("pin", 118.0),
        part("rings", 38.0),
        part("clips", 2.0),
        part("rod_small_end", 182.0),
        part("rod_big_end", 442.0),
        part("bearing_shells", 42.0),
        part("oil_per_throw", 4.0),
    )
)


def throw(name="1", *, rods=2, cylinders=(), angle=0.0, z=0.0, radius=44.0, wanted=None) -> Throw:
    return Throw(
        name=name,
        angle_deg=angle,
        z_mm=z,
        radius_mm=radius,
        rods=rods,
        cylinders=tuple(cylinders),
        bob_wanted_g=wanted,
    )


FOUR = tuple(
    throw(str(k + 1), cylinders=(str(k + 1), str(k + 5)), angle=angle, z=112.0 * k - 168.0)
    for k, angle in enumerate((0.0, 90.0, 270.0, 180.0))
)


def test_bob_of_two_rods_line_by_line():
    (bob,) = bobs(PARTS, throws=[throw()]).bobs
    # 2*(442 + 42) + 4 + 0.5 * 2*(412 + 118 + 38 + 2 + 182), added by hand
    assert bob.rotating_g == pytest.approx(972.0)
    assert bob.reciprocating_g == pytest.approx(1504.0)
    assert bob.sum_g == pytest.approx(1724.0)
    assert bob.wanted_g == bob.sum_g
    assert sum(line.grams for line in bob.lines) == pytest.approx(1724.0)
    lines = {line.part: line for line in bob.lines}
    assert (lines["piston"].count, lines["piston"].fraction, lines["piston"].grams) == (2, 0.5, 412.0)
    assert (lines["rod_big_end"].count, lines["rod_big_end"].fraction, lines["rod_big_end"].grams) == (
        2,
        1.0,
        884.0,
    )
    assert (lines["oil_per_throw"].count, lines["oil_per_throw"].grams) == (1, 4.0)


def test_split_pin_is_a_throw_of_its_own_with_one_rod():
    table = bobs(PARTS, throws=[throw("1a", rods=1), throw("1b", rods=1, angle=30.0)])
    assert [bob.sum_g for bob in table.bobs] == pytest.approx([864.0, 864.0])


def test_lists_go_in_the_order_of_the_cylinders_names():
    """Ten comes after nine, and a throw may carry cylinders that are far apart in the list."""
    throws = [throw("1", cylinders=("10", "1")), throw("2", rods=8, cylinders=[str(k) for k in range(2, 10)])]
    parts = PartSet(parts=(part("rod_big_end", [float(k) for k in range(1, 11)]),))
    table = bobs(parts, throws=throws)
    assert cylinder_order(throws) == tuple(str(k) for k in range(1, 11))
    assert table.bobs[0].lines[0].each_g == (10.0, 1.0)
    assert table.bobs[1].sum_g == pytest.approx(44.0)


def test_names_with_letters_in_order():
    assert cylinder_order([throw(cylinders=("R1", "L2")), throw("2", cylinders=("L10", "R2"))]) == (
        "L2",
        "L10",
        "R1",
        "R2",
    )


def test_unequal_cylinders_give_unequal_bobs():
    pistons = [412.0] * 7 + [420.0]
    parts = PartSet(parts=(part("piston", pistons), part("rod_big_end", 442.0)))
    sums = [bob.sum_g for bob in bobs(parts, throws=FOUR).bobs]
    assert sums == pytest.approx([1296.0, 1296.0, 1296.0, 1300.0])


def test_equal_list_needs_no_names():
    parts = PartSet(parts=(part("piston", [400.0, 400.0]),))
    assert bobs(parts, throws=[throw()]).bobs[0].sum_g == pytest.approx(400.0)


def test_list_of_oil_goes_by_throw():
    parts = PartSet(parts=(part("oil_per_throw", [3.0, 4.0, 5.0, 6.0]),))
    assert [bob.sum_g for bob in bobs(parts, throws=FOUR).bobs] == [3.0, 4.0, 5.0, 6.0]


def test_another_part_says_what_it_is_per():
    parts = PartSet(parts=(part("spacer", 1.5, per="cylinder", motion="reciprocating"),))
    assert bobs(parts, throws=[throw()]).bobs[0].sum_g == pytest.approx(1.5)


def test_stated_bob_stands_instead_of_the_sum():
    (bob,) = bobs(PARTS, throws=[throw(wanted=1800.0)]).bobs
    assert bob.sum_g == pytest.approx(1724.0)
    assert bob.wanted_g == 1800.0
    table = bobs(None, throws=[throw(wanted=1800.0)])
    assert table.wanted_g() == {"1": 1800.0}
    assert table.bobs[0].sum_g is None


def test_masses_per_cylinder_share_the_oil():
    masses = masses_per_cylinder_g(PARTS, throws=FOUR)
    assert set(masses) == set("12345678")
    assert masses["5"] == pytest.approx((752.0, 486.0))


@pytest.mark.parametrize("fraction", [0.3, 0.5, 0.7])
def test_usual_fractions_are_not_questioned(fraction):
    assert check_fraction(fraction) == ()


@pytest.mark.parametrize("fraction", [0.0, 0.29, 0.71, 1.0])
def test_unusual_fractions_are_questioned(fraction):
    (note,) = check_fraction(fraction)
    assert "share of all reciprocating mass" in note
    parts = PartSet(parts=(part("piston", 400.0),), reciprocating_fraction=fraction)
    assert bobs(parts, throws=[throw()]).notes == (note,)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: check_fraction(50.0), "must be from 0 to 1"),
        (lambda: check_fraction(math.nan), "must be from 0 to 1"),
        (lambda: PartSet(parts=(), reciprocating_fraction=-0.1), "must be from 0 to 1"),
        (lambda: PartSet(parts=(part("pin", 1.0), part("pin", 2.0))), "given twice"),
        (lambda: part("spacer", 1.0), "must say `per`"),
        (lambda: Part(name="x", masses_g=(1.0,), per="valve", motion="rotating"), "must be `rod`"),
        (lambda: Part(name="x", masses_g=(1.0,), per="rod", motion="swinging"), "must be `rotating`"),
        (lambda: part("pin", []), "has no mass"),
        (lambda: part("pin", [118.0, -1.0]), "must be 0 or more"),
        (lambda: part("pin", math.nan), "must be 0 or more"),
        (lambda: cylinder_order([throw(cylinders=("1", "1"))]), "hangs on two throws"),
        (lambda: bobs(PARTS, throws=[throw(rods=0)]), "must have one or more"),
        (lambda: bobs(PARTS, throws=[throw(rods=2, cylinders=("1",))]), "names 1 cylinders"),
        (lambda: bobs(PartSet(parts=(part("pin", [1.0, 2.0, 3.0]),)), throws=FOUR), "has 3 numbers"),
        (lambda: bobs(PartSet(parts=(part("oil_per_throw", [1.0, 2.0]),)), throws=FOUR), "4 throws"),
        (lambda: bobs(PartSet(parts=(part("pin", [1.0, 2.0]),)), throws=[throw()]), "does not name"),
        (
            lambda: bobs(
                PartSet(parts=(part("pin", [1.0, 2.0, 3.0, 4.0]),)),
                throws=[throw(cylinders=("1", "2")), throw("2")],
            ),
            "only 2 of 4 cylinders",
        ),
        (lambda: bobs(None, throws=[throw()]).wanted_g(), "neither parts nor a bob"),
        (lambda: masses_per_cylinder_g(PARTS, throws=[throw()]), "does not name its cylinders"),
    ],
)
def test_what_is_refused(make, message):
    with pytest.raises(InputError, match=message):
        make()


def test_percent_given_as_a_number_is_explained():
    with pytest.raises(InputError) as caught:
        check_fraction(50.0)
    assert "so 50 percent is 0.5" in caught.value.hint


def test_factors_in_words():
    texts = {factor.part: factor.text for factor in bob_factors(PARTS, throws=FOUR)}
    assert texts["piston"] == (
        "1 g on one piston is 0.5 g of bob; 1 g on every piston is 1 g on a throw with 2 rods"
    )
    assert texts["rod_big_end"].endswith("1 g on every big end is 2 g on a throw with 2 rods")
    assert texts["oil_per_throw"] == "1 g on the oil of a throw is 1 g of bob"
    assert {f.rods for f in bob_factors(PARTS, throws=[*FOUR, throw("9", rods=1)])} == {1, 2}


def test_factors_agree_with_the_sum():
    """Add one gram to every piece of a part and see the bob move."""
    from dataclasses import replace

    before = bobs(PARTS, throws=FOUR).bobs[0].sum_g
    for factor in bob_factors(PARTS, throws=FOUR):
        heavier = tuple(
            replace(each, masses_g=(each.masses_g[0] + 1.0,)) if each.name == factor.part else each
            for each in PARTS.parts
        )
        after = bobs(PartSet(parts=heavier), throws=FOUR).bobs[0].sum_g
        assert after - before == pytest.approx(factor.every_g)


def test_two_percent_over_has_two_meanings():
    fraction, scaled = over_balance(PARTS, throws=FOUR, percent=2.0)
    assert fraction.name == "fraction 0.52"
    assert fraction.fraction == pytest.approx(0.52)
    normal = bobs(PARTS, throws=FOUR).bobs[0].sum_g
    assert fraction.bobs_g["1"] - normal == pytest.approx(0.02 * 1504.0)
    assert scaled.name == "bob x 1.02"
    assert scaled.fraction is None
    assert scaled.bobs_g["1"] - normal == pytest.approx(0.02 * 1724.0)
    with pytest.raises(InputError, match="from 0 to 1"):
        over_balance(PARTS, throws=FOUR, percent=60.0)


# sizes of things: cross-plane V8, r 44, spacing 112, planes two spacings off the middle (computed beforehand)
PLANES = (-224.0, 224.0)


@pytest.mark.parametrize(
    ("name", "left", "right"), [("1", 38.5, 5.5), ("2", 27.5, 16.5), ("3", 16.5, 27.5), ("4", 5.5, 38.5)]
)
def test_one_gram_on_a_pin(name, left, right):
    vectors = bob_error_gmm({name: 1.0}, throws=FOUR, planes_z_mm=PLANES)
    assert abs(vectors) == pytest.approx([left, right])
    angle = next(t.angle_deg for t in FOUR if t.name == name)
    assert math.degrees(math.atan2(vectors[0].imag, vectors[0].real)) % 360.0 == pytest.approx(angle)


def test_one_gram_on_every_pin():
    vectors = bob_error_gmm(dict.fromkeys("1234", 1.0), throws=FOUR, planes_z_mm=PLANES)
    assert abs(vectors) == pytest.approx([34.8, 34.8], abs=0.05)
    assert vectors[0] == pytest.approx(-vectors[1])


def test_unknown_throw():
    with pytest.raises(InputError, match="there is no throw `7`"):
        bob_error_gmm({"7": 1.0}, throws=FOUR, planes_z_mm=PLANES)


def test_how_exact_the_bobs_must_be():
    limits = (
        LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=385.0),
        LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=385.0),
    )
    found = bob_sensitivity(throws=FOUR, planes_z_mm=PLANES, limits=limits, share=0.1)
    assert [each.throw for each in found] == ["1", "2", "3", "4", "every throw"]
    assert found[0].allowed_g == pytest.approx(1.0)
    assert found[0].limit == "left"
    assert found[3].limit == "right"
    assert found[-1].allowed_g == pytest.approx(38.5 / 34.785, abs=1e-3)


def test_bobs_that_cancel_may_be_anything():
    flat = [throw(str(k), angle=a, z=100.0 * k) for k, a in enumerate((0.0, 180.0, 180.0, 0.0))]
    limits = (LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=100.0),)
    every = bob_sensitivity(throws=flat, planes_z_mm=(0.0, 300.0), limits=limits)[-1]
    assert every.allowed_g == math.inf
    assert every.limit == ""
    assert every.per_gram_gmm == (0j, 0j)


def test_share_must_be_positive():
    with pytest.raises(InputError, match="must be above 0"):
        bob_sensitivity(throws=FOUR, planes_z_mm=PLANES, limits=(), share=0.0)
