"""What a tolerance means at bearings and planes, and the verdict.

Worked out by hand here (levers, sums); published examples stand in tests/published/.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.correction.problem import LimitRow as LimitRowOfTheProblem
from planner.errors import InputError
from planner.formula import working_lines
from planner.rotor.grades import (
    default_margin,
    grade_of_residual_mm_per_s,
    next_standard_grade,
    parse_grade_mm_per_s,
    permissible_residual_gmm,
)
from planner.rotor.limits import LimitRow
from planner.rotor.tolerance import (
    ToleranceSpec,
    allocate,
    check_places,
    grade_reached,
    grams_at_radius_g,
    limit_rows,
    tolerance_notes,
    total_gmm,
)
from planner.rotor.tolerance import static_and_couple as couple_limits
from planner.rotor.tolerance_work import allocation_work, residual_work
from planner.rotor.vectors import resolve, transfer, vector_gmm
from planner.rotor.verdict import Judged, judge, overall_verdict, verdict_of

PLANES = (40.0, 480.0)
BEARINGS = (0.0, 520.0)


@pytest.mark.parametrize(("grade", "gmm"), [(40, 1469.1), (16, 587.6), (6.3, 231.4), (2.5, 91.8)])
def test_a_25_kg_crankshaft_at_6500_rpm(grade, gmm):
    # by calculator: 1000 * G * 25 / (2*pi*6500/60)
    assert permissible_residual_gmm(grade, mass_kg=25, speed_rpm=6500) == pytest.approx(gmm, abs=0.05)
    back = grade_of_residual_mm_per_s(gmm, mass_kg=25, speed_rpm=6500)
    assert back == pytest.approx(grade, rel=1e-3)


@pytest.mark.parametrize(
    ("name", "numbers"),
    [
        ("grade", (0.0, 25.0, 6500.0)),
        ("mass", (6.3, -1.0, 6500.0)),
        ("service speed", (6.3, 25.0, math.nan)),
    ],
)
def test_a_residual_needs_positive_numbers(name, numbers):
    grade, mass, speed = numbers
    with pytest.raises(InputError, match=f"given a {name} of .*; it must be a positive number"):
        permissible_residual_gmm(grade, mass_kg=mass, speed_rpm=speed)


@pytest.mark.parametrize("text", ["6.3", "G6.3", "G 6.3", "g 6.3", " G 6.3 ", 6.3])
def test_spellings_of_a_grade(text):
    assert parse_grade_mm_per_s(text) == 6.3


@pytest.mark.parametrize(
    "text", ["0", "-6.3", "G", "G.", "", "G 6.3 x", "6,3", "nan", "inf", math.nan, True, 1e12]
)
def test_what_is_no_grade(text):
    with pytest.raises(InputError, match=r"a balance grade is a positive number such as `G 6.3`") as caught:
        parse_grade_mm_per_s(text)
    assert caught.value.hint is not None
    assert "G 6.3" in caught.value.hint


def test_standard_grades_around_a_quality():
    row = next_standard_grade(6.3)
    assert row is not None
    assert row.grade_mm_per_s == 6.3
    row = next_standard_grade(6.4)
    assert row is not None
    assert row.grade_mm_per_s == 16
    row = next_standard_grade(0.0)
    assert row is not None
    assert row.grade_mm_per_s == 0.4
    assert next_standard_grade(4001.0) is None


def test_margins_between_rows_and_beyond():
    assert default_margin(10.0) == 0.15  # between G 16 and G 6.3
    assert default_margin(20.0) == 0.15  # between G 40 and G 16: the wider one
    assert default_margin(1.5) == 0.20
    assert default_margin(0.1) == 0.30
    assert default_margin(9000.0) == 0.10


@pytest.mark.parametrize(
    ("given_limits", "way", "place"),
    [
        ({"grade_mm_per_s": 16.0}, "grade", "bearings"),
        ({"total_gmm": 600.0}, "total", "bearings"),
        ({"each_side_gmm": 300.0}, "each_side", "planes"),
        ({"left_gmm": 300.0, "right_gmm": 200.0}, "left and right", "planes"),
        ({"static_gmm": 300.0, "couple_gmm": 200.0}, "static and couple", "planes"),
    ],
)
def test_ways_of_stating_and_where_they_are_judged(given_limits, way, place):
    spec = ToleranceSpec(**given_limits)
    assert (spec.way, spec.place) == (way, place)
    assert ToleranceSpec(**given_limits, judged_at="planes").place == "planes"
    assert ToleranceSpec(**given_limits, judged_at="bearings").place == "bearings"


@pytest.mark.parametrize(
    ("given_limits", "match"),
    [
        ({}, "given nothing as the tolerance; exactly one way of stating it is allowed"),
        (
            {"grade_mm_per_s": 16.0, "total_gmm": 5.0},
            "given `grade`, `total` as the tolerance; exactly one way",
        ),
        (
            {"each_side_gmm": 5.0, "left_gmm": 5.0, "right_gmm": 5.0},
            "given `each_side`, `left`, `right` as the tolerance",
        ),
        ({"left_gmm": 5.0}, "given a tolerance `left` without `right`; the two belong together"),
        ({"right_gmm": 5.0}, "given a tolerance `right` without `left`; the two belong together"),
        ({"couple_gmm": 5.0}, "given a tolerance `couple` without `static`; the two belong together"),
        ({"total_gmm": 0.0}, "given a tolerance `total` of 0; it must be a positive number"),
        ({"each_side_gmm": math.nan}, "given a tolerance `each_side` of nan; it must be a positive number"),
        (
            {"total_gmm": 5.0, "measurement_error_gmm": -1.0},
            "measurement error of -1 g[*]mm; it must be 0 or more",
        ),
        (
            {"total_gmm": 5.0, "judged_at": "moon"},
            "given judged_at `moon`; `bearings` or `planes` is allowed",
        ),
    ],
)
def test_a_tolerance_is_stated_in_one_way(given_limits, match):
    with pytest.raises(InputError, match=match):
        ToleranceSpec(**given_limits)


@pytest.mark.parametrize(
    ("centre", "levers", "shares", "inboard", "limited"),
    [
        (260.0, (0.5, 0.5), (0.5, 0.5), True, False),
        (208.0, (0.6, 0.4), (0.6, 0.4), True, False),
        (104.0, (0.8, 0.2), (0.7, 0.3), True, True),
        (0.0, (1.0, 0.0), (0.7, 0.3), True, True),
        (-52.0, (1.1, -0.1), (1.1, 0.3), False, True),
        (-208.0, (1.4, -0.4), (1.3, 0.4), False, True),
        (624.0, (-0.2, 1.2), (0.3, 1.2), False, True),
        (-182.0, (1.35, -0.35), (1.3, 0.35), False, True),
    ],
)
def test_shares_by_hand(centre, levers, shares, inboard, limited):
    allocation = allocate(BEARINGS, centre_of_mass_z_mm=centre)
    assert allocation.levers == pytest.approx(levers)
    assert allocation.shares == pytest.approx(shares)
    assert allocation.inboard is inboard
    assert allocation.limited is limited
    # numbered the other way round, the same place has the same share
    assert allocate(BEARINGS[::-1], centre_of_mass_z_mm=centre).shares == pytest.approx(shares[::-1])


def test_a_grade_judged_at_the_bearings():
    rows = limit_rows(
        ToleranceSpec(grade_mm_per_s=16.0),
        planes_z_mm=PLANES,
        bearings_z_mm=BEARINGS,
        mass_kg=25.0,
        speed_rpm=6500.0,
        centre_of_mass_z_mm=208.0,
    )
    assert [row.at for row in rows] == ["bearing 1", "bearing 2"]
    assert [row.z_mm for row in rows] == [0.0, 520.0]
    assert [row.tolerance_gmm for row in rows] == pytest.approx([0.6 * 587.6, 0.4 * 587.6], rel=1e-4)
    assert (rows[0].weight_1, rows[0].weight_2) == pytest.approx((480 / 520, 40 / 520))
    assert (rows[1].weight_1, rows[1].weight_2) == pytest.approx((40 / 520, 480 / 520))


def test_the_middle_of_the_bearings_stands_in_for_the_centre_of_mass():
    rows = limit_rows(ToleranceSpec(total_gmm=600.0), planes_z_mm=PLANES, bearings_z_mm=BEARINGS)
    assert [row.tolerance_gmm for row in rows] == pytest.approx([300.0, 300.0])


def test_each_side_and_left_right_are_judged_in_the_planes():
    rows = limit_rows(ToleranceSpec(each_side_gmm=250.0), planes_z_mm=PLANES, bearings_z_mm=BEARINGS)
    assert [(row.at, row.weight_1, row.weight_2, row.tolerance_gmm, row.z_mm) for row in rows] == [
        ("left", 1.0, 0.0, 250.0, 40.0),
        ("right", 0.0, 1.0, 250.0, 480.0),
    ]
    rows = limit_rows(
        ToleranceSpec(left_gmm=250.0, right_gmm=150.0), planes_z_mm=PLANES[::-1], bearings_z_mm=BEARINGS
    )
    assert [(row.at, row.tolerance_gmm, row.z_mm) for row in rows] == [
        ("left", 250.0, 480.0),
        ("right", 150.0, 40.0),
    ]


@pytest.mark.parametrize(("planes", "tolerances"), [(PLANES, [250.0, 150.0]), (PLANES[::-1], [150.0, 250.0])])
def test_left_and_right_judged_at_the_bearings_stay_on_their_side(planes, tolerances):
    rows = limit_rows(
        ToleranceSpec(left_gmm=250.0, right_gmm=150.0, judged_at="bearings"),
        planes_z_mm=planes,
        bearings_z_mm=BEARINGS,
    )
    assert [row.at for row in rows] == ["bearing 1", "bearing 2"]
    assert [row.tolerance_gmm for row in rows] == tolerances


def test_a_total_judged_in_the_planes_is_shared_between_the_planes():
    rows = limit_rows(
        ToleranceSpec(total_gmm=600.0, judged_at="planes"),
        planes_z_mm=PLANES,
        bearings_z_mm=BEARINGS,
        centre_of_mass_z_mm=216.0,
    )
    assert [(row.at, row.weight_1, row.weight_2) for row in rows] == [("left", 1.0, 0.0), ("right", 0.0, 1.0)]
    assert [row.tolerance_gmm for row in rows] == pytest.approx([360.0, 240.0])  # (480-216)/440 = 0.6


def static_and_couple(pair, planes, about):
    """By force and moment: the static vector at ``about``, and the pair in the planes that has the moment about it."""
    moment = sum(vector * (z - about) for vector, z in zip(pair, planes, strict=True))
    return sum(pair), moment / (planes[1] - planes[0])


@settings(max_examples=60)
@given(
    st.tuples(st.complex_numbers(max_magnitude=1e4), st.complex_numbers(max_magnitude=1e4)),
    st.floats(-100.0, 600.0),
    st.sampled_from([PLANES, PLANES[::-1], (-80.0, 700.0), (100.0, 160.0)]),
)
def test_rows_judge_what_statics_says(pair, centre, planes):
    def amounts(**limits):
        rows = limit_rows(
            ToleranceSpec(**limits), planes_z_mm=planes, bearings_z_mm=BEARINGS, centre_of_mass_z_mm=centre
        )
        return [place.amount_gmm for place in judge(pair, rows)]

    size = 1e-9 * (1.0 + 100.0 * sum(abs(v) for v in pair))
    at_bearings = transfer(pair, planes, BEARINGS)
    assert amounts(total_gmm=1.0) == pytest.approx(abs(at_bearings), abs=size)
    static, couple = static_and_couple(pair, planes, centre)
    assert amounts(static_gmm=1.0, couple_gmm=1.0) == pytest.approx([abs(static), abs(couple)], abs=size)
    _, at_ends = static_and_couple(at_bearings, BEARINGS, centre)
    assert amounts(static_gmm=1.0, couple_gmm=1.0, judged_at="bearings") == pytest.approx(
        [abs(static), abs(at_ends)], abs=size
    )


def test_a_pure_couple_and_a_pure_static():
    rows = limit_rows(
        ToleranceSpec(static_gmm=1.0, couple_gmm=1.0),
        planes_z_mm=(0.0, 100.0),
        bearings_z_mm=BEARINGS,
        centre_of_mass_z_mm=30.0,
    )
    assert [place.amount_gmm for place in judge((-5.0, 5.0), rows)] == pytest.approx([0.0, 5.0])
    at_the_centre = resolve([(30.0, 7j)], (0.0, 100.0))
    assert [place.amount_gmm for place in judge(at_the_centre, rows)] == pytest.approx([7.0, 0.0])


def test_static_and_couple_rows_make_up_the_pair():
    """A static vector at the centre of mass and the couple pair in the planes are the pair again."""
    pair, planes, centre = (30.0 - 12.0j, -4.0 + 55.0j), (40.0, 480.0), 205.0
    rows = limit_rows(
        ToleranceSpec(static_gmm=1.0, couple_gmm=1.0),
        planes_z_mm=planes,
        bearings_z_mm=BEARINGS,
        centre_of_mass_z_mm=centre,
    )
    static, couple = (row.weight_1 * pair[0] + row.weight_2 * pair[1] for row in rows)
    rebuilt = resolve([(centre, static), (planes[0], -couple), (planes[1], couple)], planes)
    assert rebuilt == pytest.approx(np.array(pair), rel=1e-12)


def test_a_source_enters_a_row_like_its_share_of_the_planes():
    row = LimitRow(at="bearing 1", weight_1=0.9, weight_2=0.1, tolerance_gmm=5.0)
    u1, u2 = resolve([(100.0, 3.0)], PLANES)
    assert 3.0 * row.weight_of_source(100.0, PLANES) == pytest.approx(0.9 * u1 + 0.1 * u2)
    assert LimitRowOfTheProblem is LimitRow


@pytest.mark.parametrize(
    ("known", "missing"),
    [
        ({}, "mass and service speed"),
        ({"mass_kg": 25.0}, "service speed"),
        ({"speed_rpm": 6500.0}, "mass"),
    ],
)
def test_a_grade_without_mass_or_speed_says_which(known, missing):
    with pytest.raises(InputError, match=f"given the grade G 16 without the crankshaft's {missing};"):
        limit_rows(ToleranceSpec(grade_mm_per_s=16.0), planes_z_mm=PLANES, bearings_z_mm=BEARINGS, **known)


def test_totals():
    assert total_gmm(ToleranceSpec(total_gmm=600.0), mass_kg=None, speed_rpm=None) == 600.0
    assert total_gmm(ToleranceSpec(each_side_gmm=6.0), mass_kg=25.0, speed_rpm=6500.0) is None
    grade = ToleranceSpec(grade_mm_per_s=6.3)
    assert total_gmm(grade, mass_kg=25.0, speed_rpm=6500.0) == pytest.approx(231.4, abs=0.05)


def test_places_that_say_nothing_are_refused():
    with pytest.raises(InputError, match="both bearings at z = 7 mm; they must be apart"):
        check_places(PLANES, (7.0, 7.0))
    with pytest.raises(InputError, match=r"planes 51 mm apart .*; planes must be at least a tenth"):
        limit_rows(ToleranceSpec(each_side_gmm=1.0), planes_z_mm=(100.0, 151.0), bearings_z_mm=BEARINGS)
    check_places((100.0, 152.0), BEARINGS)


@pytest.mark.parametrize(
    ("amount", "verdict"),
    [
        (0.0, "in tolerance"),
        (80.0, "in tolerance"),
        (80.0 + 1e-6, "too close to call"),
        (100.0, "too close to call"),
        (120.0, "too close to call"),
        (120.0 + 1e-6, "out of tolerance"),
        (math.nan, "out of tolerance"),
    ],
)
def test_three_verdicts_with_an_error_of_20(amount, verdict):
    assert verdict_of(amount, tolerance_gmm=100.0, error_gmm=20.0) == verdict


def test_two_verdicts_without_error():
    assert verdict_of(100.0, tolerance_gmm=100.0) == "in tolerance"
    assert verdict_of(100.0001, tolerance_gmm=100.0) == "out of tolerance"
    # the same amount by two roads differs in the last bits
    assert verdict_of(abs(vector_gmm(100.0, 33.0)), tolerance_gmm=100.0) == "in tolerance"


def test_an_error_larger_than_the_tolerance_never_passes():
    assert verdict_of(0.0, tolerance_gmm=100.0, error_gmm=150.0) == "too close to call"
    (place,) = judge(
        (0j, 0j),
        [LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=100.0)],
        errors_gmm=[150.0],
    )
    assert place.passes_at_gmm is None


def test_judging_a_residual():
    rows = limit_rows(ToleranceSpec(each_side_gmm=100.0), planes_z_mm=PLANES, bearings_z_mm=BEARINGS)
    judged = judge((vector_gmm(60.0, 12.0), vector_gmm(95.0, 200.0)), rows, errors_gmm=(10.0, 10.0))
    assert [place.at for place in judged] == ["left", "right"]
    assert [place.amount_gmm for place in judged] == pytest.approx([60.0, 95.0])
    assert [place.verdict for place in judged] == ["in tolerance", "too close to call"]
    assert [place.passes_at_gmm for place in judged] == [90.0, 90.0]
    assert [place.z_mm for place in judged] == [40.0, 480.0]
    assert overall_verdict(judged) == "too close to call"


@pytest.mark.parametrize(
    ("verdicts", "overall"),
    [
        (("in tolerance", "in tolerance"), "in tolerance"),
        (("in tolerance", "too close to call"), "too close to call"),
        (("out of tolerance", "too close to call"), "out of tolerance"),
        (("in tolerance", "out of tolerance"), "out of tolerance"),
    ],
)
def test_the_worst_place_decides(verdicts, overall):
    judged = [Judged(at="", z_mm=None, amount_gmm=0.0, tolerance_gmm=1.0, verdict=v) for v in verdicts]
    assert overall_verdict(judged) == overall


@settings(max_examples=60)
@given(
    st.tuples(st.complex_numbers(max_magnitude=500.0), st.complex_numbers(max_magnitude=500.0)).filter(
        lambda pair: sum(abs(v) for v in pair) > 1.0
    ),
    st.floats(-100.0, 600.0),
)
def test_the_grade_reached_is_the_grade_that_just_passes(pair, centre):
    known = {
        "planes_z_mm": PLANES,
        "bearings_z_mm": BEARINGS,
        "mass_kg": 25.0,
        "speed_rpm": 6500.0,
        "centre_of_mass_z_mm": centre,
    }
    reached = grade_reached(pair, **known)

    def verdict(factor: float) -> str:
        spec = ToleranceSpec(grade_mm_per_s=reached.grade_mm_per_s * factor)
        return overall_verdict(judge(pair, limit_rows(spec, **known)))

    assert verdict(1.0) == "in tolerance"
    assert verdict(0.999) == "out of tolerance"
    assert reached.standard is not None
    assert reached.standard.grade_mm_per_s >= reached.grade_mm_per_s * (1 - 1e-9)


def test_notes_are_only_for_a_share_between_planes():
    far = {"planes_z_mm": (-40.0, 560.0), "bearings_z_mm": (0.0, 480.0)}
    assert len(tolerance_notes(ToleranceSpec(total_gmm=600.0, judged_at="planes"), **far)) == 1
    assert tolerance_notes(ToleranceSpec(total_gmm=600.0), **far) == ()
    assert tolerance_notes(ToleranceSpec(each_side_gmm=600.0), **far) == ()
    inside = {"planes_z_mm": PLANES, "bearings_z_mm": BEARINGS}
    assert tolerance_notes(ToleranceSpec(total_gmm=600.0, judged_at="planes"), **inside) == ()


def test_grams_at_radius():
    assert grams_at_radius_g(231.4, radius_mm=80.0) == pytest.approx(2.8925)
    with pytest.raises(InputError, match="given a radius of 0 mm; it must be more than 0 mm"):
        grams_at_radius_g(231.4, radius_mm=0.0)


def test_the_work_can_be_followed_with_a_calculator():
    lines = list(working_lines(residual_work(6.3, mass_kg=25.0, speed_rpm=6500.0)))
    assert lines[1].strip() == "= 2 * pi * 6500 / 60 = 680.678 rad/s"
    assert lines[3].strip() == "= 1000 * 6.3 * 25 / 680.67841 = 231.387 g*mm"
    assert pytest.approx(231.4, abs=0.05) == 1000 * 6.3 * 25 / 680.68
    lines = list(
        working_lines(
            allocation_work(
                allocate(BEARINGS, centre_of_mass_z_mm=104.0),
                names=("bearing 1", "bearing 2"),
                places_z_mm=BEARINGS,
                centre_of_mass_z_mm=104.0,
                total_gmm=231.4,
            )
        )
    )
    assert lines[:5] == [
        "share of bearing 1 = (z2 - zs) / (z2 - z1)",
        "  = (520 - 104) / (520 - 0) = 0.8",
        "  as an amount within 0.3..0.7: 0.7000",
        "limit at bearing 1 = share * total",
        "  = 0.7 * 231.4 = 161.98 g*mm",
    ]


@pytest.mark.parametrize(
    ("planes", "bearings", "static", "couple", "case", "needed"),
    [
        # between: U/2, and U/2 * 3d/(4b)
        ((300.0, 400.0), (100.0, 600.0), 500.0, 500.0 * 3.0 * 500.0 / 400.0, "between", True),
        ((250.0, 450.0), (100.0, 600.0), 500.0, 500.0 * 3.0 * 500.0 / 800.0, "between", False),
        ((266.0, 434.0), (600.0, 100.0), 500.0, 500.0 * 3.0 * 500.0 / 672.0, "between", False),
        ((267.0, 433.0), (100.0, 600.0), 500.0, 500.0 * 3.0 * 500.0 / 664.0, "between", True),
        # both beyond the rear bearing, the farther one 200 mm; both beyond the front one, 150 mm
        ((700.0, 800.0), (100.0, 600.0), 500.0 * 500.0 / 400.0, 1875.0, "overhung", True),
        ((600.0, 800.0), (100.0, 600.0), 500.0 * 500.0 / 400.0, 937.5, "overhung", True),
        ((50.0, -50.0), (100.0, 600.0), 500.0 * 500.0 / 300.0, 1875.0, "overhung", True),
        ((100.0, -50.0), (100.0, 600.0), 500.0 * 500.0 / 300.0, 1250.0, "overhung", True),
        ((90.0, 190.0), (100.0, 600.0), 500.0, 1875.0, "between", True),
    ],
)
def test_static_and_couple_by_hand(planes, bearings, static, couple, case, needed):
    """The rule as Bloch & Geitner print it (ch. 6, p. 307), its numbers put in here: a regression of what stands there."""
    found = couple_limits(1000.0, planes_z_mm=planes, bearings_z_mm=bearings)
    assert found.static_gmm == pytest.approx(static)
    assert found.couple_gmm == pytest.approx(couple)
    assert (found.case, found.needed) == (case, needed)


@pytest.mark.parametrize(("planes", "bearings"), [((5.0, 5.0), (0.0, 9.0)), ((5.0, 6.0), (9.0, 9.0))])
def test_static_and_couple_want_places_apart(planes, bearings):
    with pytest.raises(InputError, match="at the same place; they must be apart"):
        couple_limits(1000.0, planes_z_mm=planes, bearings_z_mm=bearings)


def test_a_couple_at_the_bearings_is_the_pair_there_with_the_same_moment():
    """Bearings at 100 and 600 mm, planes at 200 and 450 mm: a couple of 8 in the planes, 8*250 = 4*500 at the bearings."""
    rows = limit_rows(
        ToleranceSpec(static_gmm=1.0, couple_gmm=1.0, judged_at="bearings"),
        planes_z_mm=(200.0, 450.0),
        bearings_z_mm=(100.0, 600.0),
    )
    assert [place.amount_gmm for place in judge((-8.0, 8.0), rows)] == pytest.approx([0.0, 4.0])


def test_left_and_right_follow_the_planes_whatever_their_order():
    for planes, tolerances in (((200.0, 450.0), (70.0, 90.0)), ((450.0, 200.0), (90.0, 70.0))):
        rows = limit_rows(
            ToleranceSpec(left_gmm=70.0, right_gmm=90.0, judged_at="bearings"),
            planes_z_mm=planes,
            bearings_z_mm=(100.0, 600.0),
        )
        assert tuple(row.tolerance_gmm for row in rows) == tolerances


def test_notes_on_where_the_planes_are():
    """A third of the bearings' 300 mm, and their distance, are the bounds; the bearings need not begin at nothing."""
    total = ToleranceSpec(total_gmm=600.0, judged_at="planes")

    def notes(*planes: float) -> str:
        return " ".join(tolerance_notes(total, planes_z_mm=planes, bearings_z_mm=(400.0, 100.0)))

    assert notes(150.0, 250.0) == ""
    assert "are closer than a third of the bearings' distance" in notes(150.0, 249.0)
    assert notes(90.0, 390.0) == ""
    assert "farther apart than the bearings" in notes(90.0, 391.0)
    assert "both lie outside the bearings" in notes(401.0, 520.0)
    assert notes(400.0, 520.0) == ""


def test_no_error_is_an_error_of_nothing_and_no_mass_is_none():
    assert ToleranceSpec(total_gmm=5.0, measurement_error_gmm=0.0).measurement_error_gmm == 0.0
    assert ToleranceSpec(total_gmm=5.0, measurement_error_gmm=0.5).measurement_error_gmm == 0.5
    assert ToleranceSpec(total_gmm=5.0, drive_mass_kg=0.5).drive_mass_kg == 0.5
    for mass in (0.0, -1.0, math.inf):
        with pytest.raises(InputError, match=r"drive mass of .* kg; it must be a positive number"):
            ToleranceSpec(total_gmm=5.0, drive_mass_kg=mass)
    assert grams_at_radius_g(100.0, radius_mm=0.5) == 200.0
