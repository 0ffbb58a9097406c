"""Areas and moments of outlines against closed forms, from first principles.

The closed forms follow from the integral of r dr dt over a sector of half angle a between radii r and R:

    area                 a*(R^2 - r^2)
    first moment, x      2/3*sin(a)*(R^3 - r^3)
    integral of x^2      (R^4 - r^4)/4*(a + sin(a)*cos(a))
    integral of y^2      (R^4 - r^4)/4*(a - sin(a)*cos(a))

They are the sector and segment entries of any handbook's table of plane areas (sector centroid
2/3*R*sin(a)/a; semicircle 4*R/(3*pi); circle pi*R^4/4 - common practice).
"""

from __future__ import annotations

import math

import pytest
import shapely

from geometry_profiles import shapes
from geometry_profiles.area_properties import area_properties
from geometry_profiles.outline import Outline, OutlineError


@pytest.mark.parametrize("half_angle", [10.0, 58.0, 90.0, 135.0, 179.0])
@pytest.mark.parametrize("inner", [0.0, 36.0])
def test_a_fan_is_exact_whatever_its_chords(half_angle: float, inner: float) -> None:
    a = math.radians(half_angle)
    for tolerance_mm in (0.001, 2.0):
        made = area_properties(
            shapes.fan(
                outer_radius_mm=88.0,
                half_angle_deg=half_angle,
                inner_radius_mm=inner,
                chord_tolerance_mm=tolerance_mm,
            )
        )
        assert made.area_mm2 == pytest.approx(a * (88.0**2 - inner**2), rel=1e-12)
        first = 2.0 / 3.0 * math.sin(a) * (88.0**3 - inner**3)
        assert made.first_moment_x_mm3 == pytest.approx(first, rel=1e-12)
        assert made.first_moment_y_mm3 == pytest.approx(0.0, abs=1e-6)
        assert made.centroid_radius_mm == pytest.approx(first / (a * (88.0**2 - inner**2)), rel=1e-12)
        ring = (88.0**4 - inner**4) / 4.0
        assert made.second_moment_y_mm4 == pytest.approx(ring * (a + math.sin(a) * math.cos(a)), rel=1e-12)
        assert made.second_moment_x_mm4 == pytest.approx(ring * (a - math.sin(a) * math.cos(a)), rel=1e-12)
        assert made.polar_moment_mm4 == pytest.approx(2.0 * ring * a, rel=1e-12)
        assert made.product_moment_mm4 == pytest.approx(0.0, abs=1e-4)


def test_a_disc_is_a_ring() -> None:
    made = area_properties(shapes.disc(outer_radius_mm=88.0, inner_radius_mm=36.0))
    assert made.area_mm2 == pytest.approx(math.pi * (88.0**2 - 36.0**2), rel=1e-12)
    assert made.centroid_radius_mm == pytest.approx(0.0, abs=1e-10)
    assert made.second_moment_x_mm4 == pytest.approx(math.pi / 4.0 * (88.0**4 - 36.0**4), rel=1e-12)
    assert made.second_moment_y_mm4 == pytest.approx(made.second_moment_x_mm4, rel=1e-12)


def test_a_half_disc_has_the_semicircles_centroid() -> None:
    made = area_properties(shapes.half_disc(outer_radius_mm=88.0, inner_radius_mm=0.0))
    assert made.area_mm2 == pytest.approx(math.pi / 2.0 * 88.0**2, rel=1e-12)
    assert made.centroid_x_mm == pytest.approx(4.0 * 88.0 / (3.0 * math.pi), rel=1e-12)
    assert made.second_moment_y_mm4 == pytest.approx(math.pi / 8.0 * 88.0**4, rel=1e-12)
    # about its own centroid: (pi/8 - 8/(9*pi))*R^4 = 0.109757*R^4
    assert made.second_moment_y_centroid_mm4 == pytest.approx(
        (math.pi / 8.0 - 8.0 / (9.0 * math.pi)) * 88.0**4, rel=1e-12
    )
    assert made.second_moment_x_centroid_mm4 == pytest.approx(math.pi / 8.0 * 88.0**4, rel=1e-12)


@pytest.mark.parametrize(("offset", "inner"), [(20.0, 0.0), (40.0, 36.0), (-30.0, 20.0)])
def test_a_segment_less_the_body(offset: float, inner: float) -> None:
    # a flat at e: half angle b = acos(e/R), area R^2*b - e*sqrt(R^2 - e^2), first moment 2/3*(R^2 - e^2)^1.5;
    # the body of radius i lies wholly on one side of the flat in these cases, inside (e < -i) or outside (e > i)
    made = area_properties(
        shapes.half_disc(outer_radius_mm=88.0, inner_radius_mm=inner, flat_offset_mm=offset)
    )
    b = math.acos(offset / 88.0)
    body = math.pi * inner**2 if offset < 0.0 else 0.0
    assert made.area_mm2 == pytest.approx(
        88.0**2 * b - offset * math.sqrt(88.0**2 - offset**2) - body, rel=1e-12
    )
    assert made.first_moment_x_mm3 == pytest.approx(2.0 / 3.0 * (88.0**2 - offset**2) ** 1.5, rel=1e-12)


def test_a_half_disc_through_the_axis_is_a_fan_of_90_degrees() -> None:
    half = area_properties(shapes.half_disc(outer_radius_mm=88.0, inner_radius_mm=36.0))
    fan = area_properties(shapes.fan(outer_radius_mm=88.0, half_angle_deg=90.0, inner_radius_mm=36.0))
    assert half.area_mm2 == pytest.approx(fan.area_mm2, rel=1e-12)
    assert half.first_moment_x_mm3 == pytest.approx(fan.first_moment_x_mm3, rel=1e-12)
    assert half.second_moment_x_mm4 == pytest.approx(fan.second_moment_x_mm4, rel=1e-12)


def test_a_rectangle_away_from_the_axis() -> None:
    made = area_properties(shapes.points([(40, -10), (60, -10), (60, 20), (40, 20)], inner_radius_mm=30.0))
    assert made.area_mm2 == pytest.approx(20.0 * 30.0)
    assert (made.centroid_x_mm, made.centroid_y_mm) == (pytest.approx(50.0), pytest.approx(5.0))
    assert made.second_moment_x_centroid_mm4 == pytest.approx(20.0 * 30.0**3 / 12.0)
    assert made.second_moment_y_centroid_mm4 == pytest.approx(30.0 * 20.0**3 / 12.0)
    assert made.product_moment_mm4 == pytest.approx(600.0 * 50.0 * 5.0)
    assert made.centroid_angle_deg == pytest.approx(math.degrees(math.atan2(5.0, 50.0)))


@pytest.mark.parametrize(
    "outline",
    [
        shapes.trimmed_fan(
            outer_radius_mm=88.0, half_angle_deg=70.0, inner_radius_mm=36.0, half_width_mm=50.0
        ),
        shapes.trimmed_fan(
            outer_radius_mm=88.0, half_angle_deg=70.0, inner_radius_mm=36.0, half_width_mm=20.0
        ),
        shapes.half_disc(outer_radius_mm=88.0, inner_radius_mm=36.0, flat_offset_mm=-20.0),
        shapes.half_disc(outer_radius_mm=88.0, inner_radius_mm=36.0, flat_offset_mm=20.0),
        shapes.points([(-50, -60), (70, -40), (80, 10), (20, 70), (-60, 30), (5, 5)], inner_radius_mm=30.0),
        shapes.points([(45, -60), (70, -40), (80, 10), (20, 70), (50, 0)], inner_radius_mm=40.0),
        shapes.points([(0, 0), (70, -40), (80, 10), (20, 70)], inner_radius_mm=0.0),
    ],
    ids=lambda outline: outline.name,
)
def test_other_shapes_against_finely_cut_polygons(outline: Outline) -> None:
    # shapely's own area and centroid of the outline less the body, arcs as 4000 chords a quarter (3e-8 inside),
    # the outline's own rim as its chords of 0.01 mm (0.02 % of area at most)
    body = shapely.Point(0.0, 0.0).buffer(outline.inner_radius_mm, quad_segs=4000)
    region = outline.polygon().difference(body)
    made = area_properties(outline)
    assert made.area_mm2 == pytest.approx(region.area, rel=3e-4)
    assert made.centroid_x_mm == pytest.approx(region.centroid.x, abs=0.01)
    assert made.centroid_y_mm == pytest.approx(region.centroid.y, abs=0.01)
    if outline.rim_radius_mm is None:
        assert made.area_mm2 == pytest.approx(region.area, rel=1e-6)


def test_nothing_outside_the_body_is_refused() -> None:
    # drawn wholly inside its body but for a rim it does not reach
    hidden = Outline(
        name="hidden",
        rim_radius_mm=88.0,
        inner_radius_mm=50.0,
        boundary_mm=((0.0, 0.0), (20.0, 0.0), (20.0, 20.0)),
    )
    with pytest.raises(OutlineError, match="`hidden` has no area outside its inner radius 50 mm"):
        area_properties(hidden)
