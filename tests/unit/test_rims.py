"""Forms of a rim, and holes in them: first principles, the closed form for a taper, bad input."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry_profiles import rims
from geometry_profiles.outline import OutlineError
from planner.cuts.rim_form_hole import (
    rim_form_hole,
    rim_form_hole_depth_mm,
    rim_form_holes,
    rim_hole_breaking_out,
)
from planner.errors import InputError

PLAIN = {"outer_radius_mm": 88.0, "thickness_mm": 24.0}


def test_a_bevel_falls_by_the_tangent_of_its_slope() -> None:
    form = rims.bevelled(**PLAIN, front_width_mm=4.0, rear_width_mm=6.0, rear_slope_deg=30.0)
    assert form.radius_mm(-12.0) == pytest.approx(84.0)
    assert form.radius_mm(0.0) == 88.0
    assert form.radius_mm(12.0) == pytest.approx(88.0 - 6.0 * math.tan(math.radians(30.0)))
    assert form.breaks_mm == (-12.0, -8.0, 6.0, 12.0)
    assert form.least_radius_mm(-9.0, 2.0) == pytest.approx(87.0)
    assert form.greatest_radius_mm == 88.0


def test_a_knife_edge_has_no_land() -> None:
    form = rims.bevelled(**PLAIN, front_width_mm=12.0, rear_width_mm=12.0, front_slope_deg=30.0)
    assert len(form.pieces) == 2
    assert form.radius_mm(0.0) == pytest.approx(88.0)


def test_a_rounding_is_a_quarter_of_a_circle() -> None:
    form = rims.rounded(**PLAIN, front_rounding_mm=5.0)
    assert form.radius_mm(-12.0) == pytest.approx(83.0)
    assert form.radius_mm(-12.0 + 5.0 * (1.0 - math.sqrt(0.5))) == pytest.approx(
        88.0 - 5.0 + 5.0 * math.sqrt(0.5)
    )
    assert form.radius_mm(12.0) == 88.0


def test_a_step_belongs_to_the_plate_that_reaches_farther() -> None:
    form = rims.stepped([(10.0, 88.0), (14.0, 80.0)])
    assert form.radius_mm(-2.0) == 88.0
    assert form.radius_mm(-1.9) == 80.0
    assert form.land_mm(-7.0) == (-12.0, -2.0)
    assert form.land_mm(5.0) == (-2.0, 12.0)


def test_a_bevel_is_drilled_into_and_a_steep_one_is_a_face() -> None:
    gentle = rims.bevelled(**PLAIN, front_width_mm=4.0, rear_width_mm=4.0)
    assert gentle.land_mm(0.0) == (-12.0, 12.0)
    steep = rims.bevelled(
        **PLAIN, front_width_mm=4.0, rear_width_mm=4.0, front_slope_deg=75.0, rear_slope_deg=45.0
    )
    assert steep.land_mm(0.0) == (-8.0, 12.0)


def test_mirrored_exchanges_the_ends() -> None:
    form = rims.bevelled(**PLAIN, front_width_mm=4.0, rear_width_mm=2.0, rear_slope_deg=20.0)
    other = form.mirrored()
    for s in (-11.0, -3.0, 0.0, 5.5, 12.0):
        assert other.radius_mm(-s) == pytest.approx(form.radius_mm(s), abs=1e-12)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: rims.bevelled(**PLAIN), "needs a bevel"),
        (lambda: rims.bevelled(**PLAIN, front_width_mm=13.0, rear_width_mm=12.0), "at most the thickness"),
        (lambda: rims.bevelled(**PLAIN, front_width_mm=-1.0), "front bevel is -1"),
        (lambda: rims.bevelled(**PLAIN, rear_width_mm=2.0, rear_slope_deg=85.0), "at most 80"),
        (lambda: rims.bevelled(outer_radius_mm=5.0, thickness_mm=24.0, front_width_mm=8.0), "comes down"),
        (lambda: rims.tapered(**PLAIN, taper_deg=0.0), "tapered by 0"),
        (lambda: rims.tapered(**PLAIN, taper_deg=40.0), "tapered by 40"),
        (lambda: rims.rounded(**PLAIN), "needs a rounding"),
        (lambda: rims.rounded(**PLAIN, front_rounding_mm=20.0, rear_rounding_mm=20.0), "together at most"),
        (lambda: rims.rounded(**PLAIN, rear_rounding_mm=-1.0), "rear rounding is -1"),
        (lambda: rims.stepped([(10.0, 80.0)]), "at least 2"),
        (lambda: rims.stepped([(10.0, 80.0), (0.0, 70.0)]), "thickness 0"),
        (lambda: rims.cylindrical(outer_radius_mm=-1.0, thickness_mm=20.0), "outer radius -1"),
        (lambda: rims.cylindrical(**PLAIN).radius_mm(13.0), "outside the cylindrical rim"),
    ],
)
def test_bad_rims_are_refused_in_words(make, words) -> None:
    with pytest.raises(OutlineError, match=words):
        make()


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ({"from_middle_mm": 9.0}, "leaves a counterweight"),
        ({"from_middle_mm": 20.0}, "outside the"),
        ({"beside_mm": 85.0}, "misses a rim"),
        ({"tilt_deg": 40.0}, "tilted by 40"),
        ({"tilt_deg": math.nan}, "tilt is not a number"),
        ({"depth_shoulder_mm": 86.0}, "passes the shaft axis"),
        ({"depth_shoulder_mm": 60.0, "tilt_deg": 10.0}, "comes out at a face"),
        ({"depth_shoulder_mm": -9.0}, "does not touch"),
        ({"depth_shoulder_mm": math.nan}, "depth is not a number"),
    ],
)
def test_bad_holes_are_refused_in_words(numbers, words) -> None:
    whole = {"diameter_mm": 12.0, "depth_shoulder_mm": 20.0, **numbers}
    with pytest.raises(InputError, match=words):
        rim_form_hole(form=rims.cylindrical(**PLAIN), **whole)


def test_a_tilt_in_a_stepped_rim_is_refused() -> None:
    with pytest.raises(InputError, match="stepped rim is not worked out"):
        rim_form_hole(
            form=rims.stepped([(12.0, 88.0), (12.0, 80.0)]),
            diameter_mm=8.0,
            depth_shoulder_mm=9.0,
            from_middle_mm=-6.0,
            tilt_deg=3.0,
        )


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    R=st.floats(60.0, 110.0),
    d=st.floats(6.0, 18.0),
    taper=st.floats(0.5, 12.0),
    beside=st.floats(-6.0, 6.0),
    depth=st.floats(12.0, 30.0),
)
def test_a_tapered_rim_has_a_closed_form(R, d, taper, beside, depth) -> None:
    """pi a^2 [x h - h^2/2 - a^2/8 (1 - tan^2 taper) + (c/3)(x - h - c/4)], x = sqrt(R^2 - e^2): own derivation."""
    form = rims.tapered(outer_radius_mm=R, thickness_mm=30.0, taper_deg=taper)
    found = rim_form_hole(form=form, diameter_mm=d, depth_shoulder_mm=depth, beside_mm=beside)
    a, x = d / 2.0, math.sqrt(R * R - beside * beside)
    c = a / math.tan(math.radians(59.0))
    closed = (
        math.pi
        * a
        * a
        * (
            x * depth
            - depth**2 / 2.0
            - a * a / 8.0 * (1.0 - math.tan(math.radians(taper)) ** 2)
            + c / 3.0 * (x - depth - c / 4.0)
        )
    )
    assert found.radial_mm4 == pytest.approx(closed, rel=1e-12)


def test_a_deeper_hole_removes_more_and_many_depths_are_the_same_as_one_by_one() -> None:
    form = rims.bevelled(**PLAIN, front_width_mm=7.0, rear_width_mm=5.0)
    depths = [0.2, 0.8, 2.0, 4.0, 9.0, 20.0]
    many = rim_form_holes(form=form, diameter_mm=12.0, depths_shoulder_mm=depths, from_middle_mm=2.0)
    moments = [each.first_moment_mm4 for each in many]
    assert moments == sorted(moments)
    one = rim_form_hole(form=form, diameter_mm=12.0, depth_shoulder_mm=4.0, from_middle_mm=2.0)
    assert one == many[3]


def test_the_depth_goes_there_and_back() -> None:
    form = rims.rounded(**PLAIN, front_rounding_mm=6.0, rear_rounding_mm=3.0)
    where = {"form": form, "diameter_mm": 10.0, "from_middle_mm": -3.0, "tilt_deg": 4.0}
    wanted = rim_form_hole(depth_shoulder_mm=17.5, **where).first_moment_mm4
    assert rim_form_hole_depth_mm(first_moment_mm4=wanted, **where) == pytest.approx(17.5, abs=1e-8)
    with pytest.raises(InputError, match="can't be reached"):
        rim_form_hole_depth_mm(first_moment_mm4=1e9, **where)


def test_a_hole_that_comes_out_nowhere_breaks_out_of_nothing() -> None:
    form = rims.cylindrical(**PLAIN)
    whole = rim_form_hole(form=form, diameter_mm=12.0, depth_shoulder_mm=20.0)
    same = rim_hole_breaking_out(
        form=form, diameter_mm=12.0, depth_shoulder_mm=20.0, flanks_deg=(40.0, -30.0)
    )
    assert same.radial_mm4 == pytest.approx(whole.radial_mm4, rel=1e-10)
    less = rim_hole_breaking_out(form=form, diameter_mm=12.0, depth_shoulder_mm=20.0, flanks_deg=(3.0,))
    assert less.radial_mm4 < 0.95 * whole.radial_mm4
    # the metal lies clockwise of a positive flank, so what is left of the moment turns that way
    assert less.turned_deg < -0.1
    with pytest.raises(InputError, match="between 0 and 90"):
        rim_hole_breaking_out(form=form, diameter_mm=12.0, depth_shoulder_mm=20.0, flanks_deg=(120.0,))
