"""Flanks that are not radial, steps, flats, generic profiles, tracing: from first principles and against shapely."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from geometry_profiles import rims, shapes
from geometry_profiles.area_properties import area_properties
from geometry_profiles.body_properties import body_properties
from geometry_profiles.catalogue import RIM_SIZES, SHAPE_SIZES, generic_profiles, outline_of, rim_of
from geometry_profiles.outline import Outline, OutlineError
from geometry_profiles.tracing import trace_fan

FAN = {"outer_radius_mm": 88.0, "half_angle_deg": 58.0, "inner_radius_mm": 36.0}
MANY = {
    "fan": shapes.fan(**FAN),
    "undercut": shapes.flanked_fan(**FAN, flank_angle_deg=70.0),
    "parallel": shapes.flanked_fan(**{**FAN, "half_angle_deg": 20.0}, flank_angle_deg=0.0),
    "parallel, wider than the body": shapes.flanked_fan(
        **{**FAN, "half_angle_deg": 40.0}, flank_angle_deg=0.0
    ),
    "stepped": shapes.stepped_fan(**FAN, steps=[(70.0, 40.0), (55.0, 65.0)]),
    "half disc": shapes.half_disc(outer_radius_mm=88.0, inner_radius_mm=36.0, flat_offset_mm=10.0),
    "two flats": shapes.trimmed_disc(
        outer_radius_mm=88.0, inner_radius_mm=36.0, flats=[(70.0, 0.0), (60.0, 180.0)]
    ),
}


def ring(outer: float, inner: float):
    return (
        shapely.Point(0, 0)
        .buffer(outer, quad_segs=4000)
        .difference(shapely.Point(0, 0).buffer(inner, quad_segs=4000))
    )


def test_a_flank_angle_equal_to_the_half_angle_is_a_fan() -> None:
    ours, fan = area_properties(shapes.flanked_fan(**FAN, flank_angle_deg=58.0)), area_properties(MANY["fan"])
    assert ours.area_mm2 == pytest.approx(fan.area_mm2, rel=1e-12)
    assert ours.first_moment_x_mm3 == pytest.approx(fan.first_moment_x_mm3, rel=1e-12)


def test_parallel_flanks_are_a_strip() -> None:
    """Half width w = R sin(20 deg): area = 2 * integral over y from 0 to w of sqrt(R^2-y^2) - sqrt(r^2-y^2)."""
    w = 88.0 * math.sin(math.radians(20.0))

    def under(R: float) -> float:
        return 0.5 * (w * math.sqrt(R * R - w * w) + R * R * math.asin(w / R))

    assert area_properties(MANY["parallel"]).area_mm2 == pytest.approx(
        2.0 * (under(88.0) - under(36.0)), rel=1e-6
    )


def test_a_stepped_fan_is_a_stack_of_ring_sectors() -> None:
    """Its own chords at the steps are 0.01 mm inside their arcs at most."""
    expected = sum(
        math.radians(half) * (R * R - r * r)
        for R, r, half in ((88.0, 70.0, 58.0), (70.0, 55.0, 40.0), (55.0, 36.0, 65.0))
    )
    assert area_properties(MANY["stepped"]).area_mm2 == pytest.approx(expected, rel=2e-4)


def test_a_flat_takes_a_segment() -> None:
    """R^2 (b - sin b cos b) with cos b = offset/R, twice; the body's disc is not weighed."""
    taken = 0.0
    for offset in (70.0, 60.0):
        b = math.acos(offset / 88.0)
        taken += 88.0**2 * (b - math.sin(b) * math.cos(b))
    area = area_properties(MANY["two flats"])
    assert area.area_mm2 == pytest.approx(math.pi * (88.0**2 - 36.0**2) - taken, rel=1e-9)
    assert area.first_moment_y_mm3 == pytest.approx(0.0, abs=1e-6)


def test_flats_that_meet_leave_a_corner() -> None:
    made = shapes.trimmed_disc(
        outer_radius_mm=88.0, inner_radius_mm=36.0, flats=[(60.0, 150.0), (60.0, 210.0)]
    )
    corner = (-60.0 / math.cos(math.radians(30.0)), 0.0)
    assert min(math.dist(corner, point) for point in made.boundary_mm) < 1e-9


@pytest.mark.parametrize("name", MANY)
@pytest.mark.parametrize("within", [80.0, 60.0, 45.0])
def test_what_lies_within_a_radius(name: str, within: float) -> None:
    outline = MANY[name]
    ours = area_properties(outline, within_radius_mm=within)
    theirs = outline.polygon().intersection(ring(within, 36.0))
    assert ours.area_mm2 == pytest.approx(theirs.area, rel=1e-6)
    assert ours.centroid_x_mm == pytest.approx(theirs.centroid.x, abs=1e-4)


@pytest.mark.parametrize("name", MANY)
def test_turned_and_mirrored_outlines_turn_and_mirror_everything(name: str) -> None:
    outline = MANY[name]
    area = area_properties(outline)
    turn = math.radians(33.0)
    for sign in (1.0, -1.0):
        points = [
            (x * math.cos(turn) - sign * y * math.sin(turn), x * math.sin(turn) + sign * y * math.cos(turn))
            for x, y in outline.boundary_mm
        ]
        turned = area_properties(shapes.points(points, inner_radius_mm=36.0, rim_radius_mm=88.0))
        assert turned.area_mm2 == pytest.approx(area.area_mm2, rel=1e-5)
        assert turned.centroid_radius_mm == pytest.approx(area.centroid_radius_mm, rel=1e-4, abs=1e-3)
        if area.centroid_radius_mm > 1.0:
            assert turned.centroid_angle_deg == pytest.approx(33.0 + sign * area.centroid_angle_deg, abs=1e-3)


def test_a_bevel_takes_its_ring_off_a_fan() -> None:
    """From first principles: half angle times the integral of R^2 - (R - x tan)^2 along the bevel's width."""
    form = rims.bevelled(outer_radius_mm=88.0, thickness_mm=24.0, front_width_mm=4.0, front_slope_deg=30.0)
    body = body_properties(MANY["fan"], thickness_mm=24.0, rim=form)
    k, a = math.tan(math.radians(30.0)), math.radians(58.0)
    gone = a * (88.0 * k * 4.0**2 - k * k * 4.0**3 / 3.0)
    plain = a * (88.0**2 - 36.0**2) * 24.0
    assert body.volume_mm3 == pytest.approx(plain - gone, rel=1e-12)
    # what is gone was at the front: the centroid lies to the rear
    assert body.first_moment_s_mm4 > 0.0


def test_a_tapered_fan_has_more_moment_at_its_larger_end() -> None:
    form = rims.tapered(outer_radius_mm=88.0, thickness_mm=24.0, taper_deg=5.0)
    body = body_properties(MANY["fan"], thickness_mm=24.0, rim=form)
    a, k = math.radians(58.0), math.tan(math.radians(5.0))
    # integral of R(s)^2 - r^2: the square of the taper adds k^2 t^3/12
    assert body.volume_mm3 == pytest.approx(
        a * ((88.0**2 - 36.0**2) * 24.0 + k * k * 24.0**3 / 12.0), rel=1e-12
    )
    assert body.moment_xs_mm5 > 0.0


def test_a_rim_of_another_thickness_is_refused() -> None:
    form = rims.tapered(outer_radius_mm=88.0, thickness_mm=20.0, taper_deg=5.0)
    with pytest.raises(OutlineError, match="20 mm thick and the counterweight 24"):
        body_properties(MANY["fan"], thickness_mm=24.0, rim=form)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (
            lambda: shapes.flanked_fan(**{**FAN, "half_angle_deg": 95.0}, flank_angle_deg=0.0),
            "between 0 and 90",
        ),
        (
            lambda: shapes.flanked_fan(**FAN, flank_angle_deg=89.9),
            "meet on the centre line|do not run inward",
        ),
        (lambda: shapes.flanked_fan(**FAN, flank_angle_deg=-70.0), "from -60"),
        (lambda: shapes.stepped_fan(**FAN, steps=[]), "no steps"),
        (lambda: shapes.stepped_fan(**FAN, steps=[(90.0, 40.0)]), "a step at radius 90"),
        (lambda: shapes.stepped_fan(**FAN, steps=[(60.0, 58.0)]), "changes nothing"),
        (lambda: shapes.trimmed_disc(outer_radius_mm=88.0, inner_radius_mm=36.0, flats=[]), "no flats"),
        (
            lambda: shapes.trimmed_disc(outer_radius_mm=88.0, inner_radius_mm=36.0, flats=[(90.0, 0.0)]),
            "a flat 90",
        ),
        (lambda: outline_of("star", {}), "no shape `star`"),
        (lambda: rim_of("wavy", {}, outer_radius_mm=88.0, thickness_mm=20.0), "no rim `wavy`"),
        (
            lambda: rim_of(
                "stepped", {"plates": [(9.0, 88.0), (9.0, 80.0)]}, outer_radius_mm=88.0, thickness_mm=20.0
            ),
            "18 mm thick together",
        ),
        (
            lambda: rim_of(
                "stepped", {"plates": [(10.0, 86.0), (10.0, 80.0)]}, outer_radius_mm=88.0, thickness_mm=20.0
            ),
            "largest plate has radius 86",
        ),
    ],
)
def test_sizes_that_cannot_be_are_refused(make, words) -> None:
    with pytest.raises(OutlineError, match=words):
        make()


def test_the_generic_profiles_can_be_made_and_weighed() -> None:
    found = generic_profiles()
    assert len(found) >= 8
    assert {each.shape for each in found.values()} <= set(SHAPE_SIZES)
    assert {each.rim_form for each in found.values()} <= {None, *RIM_SIZES}
    for each in found.values():
        outline = each.outline()
        assert isinstance(outline, Outline)
        assert body_properties(outline, thickness_mm=each.thickness_mm, rim=each.rim()).volume_mm3 > 1e4
        assert each.words


def _polar(r: float, a: float) -> tuple[float, float]:
    return r * math.cos(math.radians(a)), r * math.sin(math.radians(a))


def test_tracing_finds_the_fan_that_the_points_were_taken_from() -> None:
    rim = [_polar(88.0, 200.0 + a) for a in (-50.0, -20.0, 0.0, 30.0, 55.0)]
    flank = [_polar(r, 200.0 + side * 58.0) for r in (50.0, 70.0, 87.0) for side in (1.0, -1.0)]
    found = trace_fan(rim, flank, inner_radius_mm=36.0)
    assert found.flanks == "radial"
    assert found.rim_radius_mm == pytest.approx(88.0, abs=1e-9)
    assert found.half_angle_deg == pytest.approx(58.0, abs=1e-9)
    assert found.centre_line_deg % 360.0 == pytest.approx(200.0, abs=1e-9)
    assert found.rms_mm < 1e-9
    assert found.outline.half_angle_deg == pytest.approx(58.0)


@pytest.mark.parametrize("flank_angle", [0.0, 30.0, 72.0])
def test_tracing_tells_flanks_that_are_not_radial(flank_angle: float) -> None:
    made = shapes.flanked_fan(**FAN, flank_angle_deg=flank_angle)
    (x1, y1), (x2, y2) = made.flanks_mm[0]
    upper = [(x1 + k * (x2 - x1), y1 + k * (y2 - y1)) for k in (0.1, 0.5, 0.95)]
    found = trace_fan(
        [_polar(88.0, a) for a in (-40.0, 0.0, 40.0)],
        [*upper, *((x, -y) for x, y in upper)],
        inner_radius_mm=36.0,
    )
    assert found.flanks == ("parallel" if flank_angle == 0.0 else "straight")
    assert found.flank_angle_deg == pytest.approx(flank_angle, abs=1e-6)
    assert found.half_angle_deg == pytest.approx(58.0, abs=1e-6)
    assert area_properties(found.outline).area_mm2 == pytest.approx(area_properties(made).area_mm2, rel=1e-6)


def test_the_stated_error_of_a_tracing_is_the_scatter_of_many() -> None:
    """200 tracings with 0.1 mm of error in every coordinate: their scatter is what each says of itself, within a third."""
    random = np.random.default_rng(3)
    found = []
    for _ in range(200):
        rim = [_polar(88.0, a) for a in (-50.0, -20.0, 0.0, 30.0, 55.0)]
        flank = [_polar(r, side * 58.0) for r in (45.0, 60.0, 72.0, 86.0) for side in (1.0, -1.0)]
        moved = [
            [(x + 0.1 * random.normal(), y + 0.1 * random.normal()) for x, y in points]
            for points in (rim, flank)
        ]
        found.append(trace_fan(*moved, inner_radius_mm=36.0, flanks="radial"))
    for name in ("rim_radius", "half_angle", "centre_line"):
        unit = "mm" if name == "rim_radius" else "deg"
        scatter = np.std([getattr(each, f"{name}_{unit}") for each in found])
        said = np.mean([getattr(each, f"{name}_error_{unit}") for each in found])
        assert said == pytest.approx(scatter, rel=0.33)


@pytest.mark.parametrize(
    ("rim", "flank", "words"),
    [
        ([], [(50.0, 50.0), (50.0, -50.0)], "at least one point on the rim"),
        ([(88.0, 0.0)], [(50.0, 50.0)], "both sides"),
        ([(30.0, 0.0)], [(20.0, 20.0), (20.0, -20.0)], "more than the inner radius"),
        ([(math.nan, 0.0)], [(50.0, 50.0), (50.0, -50.0)], "two finite numbers"),
    ],
)
def test_too_few_points_are_refused_in_words(rim, flank, words) -> None:
    with pytest.raises(OutlineError, match=words):
        trace_fan(rim, flank, inner_radius_mm=36.0)
