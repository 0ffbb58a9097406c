"""Making up bobs from a set, and weighing rods end by end.  The set's masses are invented."""

from __future__ import annotations

import itertools
import math

import pytest

from planner.engine.matching.bob_set import BobPiece, make_up_bobs
from planner.engine.rod_ends import check_weighing, rod_errors, rod_inertia, split_rod
from planner.errors import InputError

SET = (
    BobPiece(name="body", mass_g=900.0, count=8, body=True),
    *(
        BobPiece(name=f"plate {mass:g}", mass_g=mass, count=count)
        for mass, count in ((200, 16), (100, 16), (50, 16), (20, 32), (10, 16), (5, 16), (2, 32), (1, 16))
    ),
    BobPiece(name="washer 0.5", mass_g=0.5, count=16),
    BobPiece(name="washer 0.2", mass_g=0.2, count=32),
)


def test_four_equal_bobs():
    made = make_up_bobs(dict.fromkeys("1234", 1853.4), pieces=SET)
    assert made.proven
    assert made.notes == ()
    assert made.largest_error_g == pytest.approx(0.0, abs=1e-9)
    for bob in made.bobs:
        assert bob.mass_g == pytest.approx(1853.4)
        assert bob.pieces["body"] == 1
        # the same on both sides
        assert all(count % 2 == 0 for name, count in bob.pieces.items() if name != "body")
    for piece in SET:
        used = sum(bob.pieces.get(piece.name, 0) for bob in made.bobs)
        assert used + made.left_over[piece.name] == piece.count
        assert made.left_over[piece.name] >= 0


def test_nearest_makeup_and_the_note():
    pieces = [
        BobPiece(name="body", mass_g=100.0, count=2, body=True),
        BobPiece(name="plate", mass_g=10.0, count=4),
    ]
    made = make_up_bobs({"1": 123.0, "2": 130.0}, pieces=pieces)
    assert [bob.mass_g for bob in made.bobs] == [120.0, 120.0]
    assert made.proven is True
    first, second = made.notes
    assert first == "throw 1: the set is 3.00 g short of 123.00 g, add 1.50 g on each side"
    assert "10.00 g short of 130.00 g" in second
    over = make_up_bobs({"1": 90.0}, pieces=pieces)
    assert over.notes == ("throw 1: the nearest makeup is 10.00 g over 90.00 g",)


def test_a_piece_in_the_middle_is_not_paired():
    pieces = [
        BobPiece(name="body", mass_g=100.0, count=1, body=True),
        BobPiece(name="collar", mass_g=7.0, count=1, paired=False),
    ]
    made = make_up_bobs({"1": 107.0}, pieces=pieces)
    assert made.bobs[0].pieces == {"body": 1, "collar": 1}


def test_two_kinds_of_bodies():
    pieces = [
        BobPiece(name="small", mass_g=500.0, count=1, body=True),
        BobPiece(name="large", mass_g=900.0, count=1, body=True),
        BobPiece(name="plate", mass_g=50.0, count=2),
    ]
    made = make_up_bobs({"1": 900.0, "2": 600.0}, pieces=pieces)
    assert [bob.mass_g for bob in made.bobs] == [900.0, 600.0]


def brute_force(wanted, pieces):
    """Every way to share out the (pairs of) pieces: least (largest error, sum of errors)."""
    each = [1 if p.body or not p.paired else 2 for p in pieces]
    stock = [p.count // e for p, e in zip(pieces, each, strict=True)]
    rows = [
        row
        for row in itertools.product(*(range(s + 1) for s in stock))
        if sum(n for n, p in zip(row, pieces, strict=True) if p.body) == 1
    ]
    best = (math.inf, math.inf)
    for table in itertools.product(rows, repeat=len(wanted)):
        if any(sum(column) > s for column, s in zip(zip(*table, strict=True), stock, strict=True)):
            continue
        errors = [
            abs(sum(n * e * p.mass_g for n, e, p in zip(row, each, pieces, strict=True)) - w)
            for row, w in zip(table, wanted, strict=True)
        ]
        best = min(best, (max(errors), sum(errors)))
    return best


@pytest.mark.parametrize(
    "wanted", [(131.0, 137.0), (120.0, 160.0), (150.0, 150.0), (104.0, 170.0), (133.3, 133.9)]
)
def test_scarce_pieces_are_shared_out_as_well_as_possible(wanted):
    pieces = [
        BobPiece(name="body", mass_g=100.0, count=2, body=True),
        BobPiece(name="ten", mass_g=10.0, count=6),
        BobPiece(name="four", mass_g=4.0, count=2),
        BobPiece(name="one", mass_g=1.5, count=4),
    ]
    made = make_up_bobs({str(k): w for k, w in enumerate(wanted)}, pieces=pieces)
    largest, total = brute_force(wanted, pieces)
    assert made.proven
    assert (made.largest_error_g, sum(abs(bob.error_g) for bob in made.bobs)) == pytest.approx(
        (largest, total), abs=1e-3
    )


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: BobPiece(name="x", mass_g=0.0, count=1), "must be above 0"),
        (lambda: BobPiece(name="x", mass_g=1.0, count=-1), "must be 0 or more"),
        (lambda: make_up_bobs({"1": 1.0}, pieces=[SET[0], SET[0]]), "given twice"),
        (lambda: make_up_bobs({"1": 0.0}, pieces=SET), "must be above 0"),
        (lambda: make_up_bobs(dict.fromkeys("123456789", 1.0), pieces=SET), "8 bodies for 9 throws"),
    ],
)
def test_sets_that_are_refused(make, message):
    with pytest.raises(InputError, match=message):
        make()


# a rod of 620 g, 150 mm, centre of gravity 42 mm from the big end; errors computed beforehand from the same statics
ROD = {"length_mm": 150.0, "centre_from_big_end_mm": 42.0}


def test_split():
    split = split_rod(620.0, **ROD)
    assert (split.small_end_g, split.big_end_g) == pytest.approx((173.6, 446.4))


@pytest.mark.parametrize(("tilt", "off_line", "friction"), [(1, 0.14, 0.30), (2, 0.29, 0.61), (5, 0.72, 1.5)])
def test_rod_not_level(tilt, off_line, friction):
    lean, push, _ = rod_errors(620.0, **ROD, tilt_deg=tilt, centre_off_line_mm=2.0, friction=0.1)
    assert lean.small_end_g == lean.big_end_g == pytest.approx(off_line, abs=0.006)
    assert push.small_end_g == pytest.approx(friction, abs=0.02)


def test_tilt_alone_is_harmless():
    assert [e.small_end_g for e in rod_errors(620.0, **ROD, tilt_deg=5.0)] == [0.0, 0.0, 0.0]


def test_contact_off_the_centre():
    contact = rod_errors(620.0, **ROD, contact_off_mm=0.5)[2]
    assert contact.small_end_g == pytest.approx(-0.58, abs=0.005)
    assert contact.big_end_g == pytest.approx(-1.49, abs=0.01)


def test_contact_error_by_moments():
    """Moments about the far support, written out."""
    for off in (-3.0, 0.7, 4.0):
        contact = rod_errors(620.0, **ROD, contact_off_mm=off)[2]
        assert contact.small_end_g == pytest.approx(620.0 * 42.0 / (150.0 + off) - 173.6)
        assert contact.big_end_g == pytest.approx(620.0 * 108.0 / (150.0 + off) - 446.4)


def test_tilt_error_by_moments():
    """Turn the rod with its off-line centre of gravity and take moments: load = m * horizontal arm / span."""
    tilt, h = math.radians(3.0), 2.0
    # small end low on the scale: along the line 42 from the big end, 2 above it
    arm = 42.0 * math.cos(tilt) + h * math.sin(tilt)
    load = 620.0 * arm / (150.0 * math.cos(tilt))
    lean = rod_errors(620.0, **ROD, tilt_deg=3.0, centre_off_line_mm=h)[0]
    assert load - 173.6 == pytest.approx(lean.small_end_g)


def test_both_ends_against_the_whole():
    assert check_weighing(small_end_g=173.6, big_end_g=446.4, whole_g=620.0).agrees
    assert check_weighing(small_end_g=173.7, big_end_g=446.5, whole_g=620.0).agrees
    off = check_weighing(small_end_g=174.0, big_end_g=446.4, whole_g=619.0)
    assert not off.agrees
    assert off.difference_g == pytest.approx(1.4)
    assert "1.4 g more than the rod" in off.text
    assert "less" in check_weighing(small_end_g=172.0, big_end_g=446.4, whole_g=620.0).text


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: split_rod(0.0, **ROD), "both must be above 0"),
        (lambda: split_rod(620.0, length_mm=150.0, centre_from_big_end_mm=151.0), "from 0 to the length"),
        (lambda: check_weighing(small_end_g=0.0, big_end_g=1.0, whole_g=1.0), "small end: 0 g"),
        (
            lambda: check_weighing(small_end_g=1.0, big_end_g=1.0, whole_g=2.0, scale_g=0.0),
            "scale reads to 0",
        ),
        (lambda: rod_errors(620.0, **ROD, tilt_deg=50.0), "between -45 and 45"),
        (lambda: rod_errors(620.0, **ROD, friction=-0.1), "must be 0 or more"),
        (lambda: rod_errors(620.0, **ROD, contact_off_mm=80.0), "below half the rod length"),
        (lambda: rod_inertia(620.0, **ROD, inertia_gmm2=0.0), "moment of inertia 0"),
        (
            lambda: rod_inertia(620.0, length_mm=150.0, centre_from_big_end_mm=0.0, inertia_gmm2=1.0),
            "at an end",
        ),
    ],
)
def test_rods_that_are_refused(make, message):
    with pytest.raises(InputError, match=message):
        make()
