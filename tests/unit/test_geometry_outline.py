"""Outlines are checked when they are made; the shapes' numbers are from first principles, written out."""

from __future__ import annotations

import itertools
import math
import pickle
from collections.abc import Callable
from typing import Any

import pytest
import shapely
import shapely.testing

from geometry_profiles import shapes
from geometry_profiles.arcs import arc_points, chord_step_deg
from geometry_profiles.outline import Obstacle, Outline, OutlineError

SQUARE = ((40.0, -10.0), (60.0, -10.0), (60.0, 10.0), (40.0, 10.0))


def outline(**changes: Any) -> Outline:
    return Outline(
        **{"name": "block", "rim_radius_mm": None, "inner_radius_mm": 30.0, "boundary_mm": SQUARE, **changes}
    )


def test_an_outline_is_immutable_hashable_and_survives_another_process() -> None:
    made = outline(boundary_mm=[[40, -10], [60, -10], [60, 10], [40, 10]])
    assert made == outline()
    assert hash(made) == hash(outline())
    with pytest.raises(AttributeError, match="cannot assign"):
        made.name = "other"  # type: ignore[misc]
    assert made.polygon() is made.polygon()
    again = pickle.loads(pickle.dumps(made))
    assert again == made
    assert again.polygon().area == 400.0  # 20 mm x 20 mm
    shapely.testing.assert_geometries_equal(made.polygon(), shapely.box(40, -10, 60, 10), normalize=True)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"boundary_mm": SQUARE[:2]}, r"outline `block` has 2 points, at least 3 are needed"),
        ({"boundary_mm": (*SQUARE, SQUARE[0])}, r"closed twice.*\(40, -10\).*leave the last one out"),
        (
            {"boundary_mm": (*SQUARE[:2], (60.0, -9.9999), *SQUARE[2:])},
            r"point 3 \(60, -9.9999\) less than 0.001 mm",
        ),
        (
            {"boundary_mm": ((0, 0), (50, 50), (50, 0), (0, 50))},
            r"`block` is not a simple ring: Self-inter.*25 25",
        ),
        ({"boundary_mm": SQUARE[::-1]}, "runs clockwise; its points go counter-clockwise"),
        ({"boundary_mm": ((40, 0), (50, 0), (60, 0))}, "not a simple ring|no area"),
        ({"boundary_mm": ((40, 0), (math.nan, 0), (60, 9))}, "two finite numbers are needed"),
        ({"boundary_mm": ((40, 0), (50,), (60, 9))}, r"point \(50,\), two numbers are needed"),
        ({"inner_radius_mm": -1.0}, "inner radius -1.0 mm, 0 or more is allowed"),
        ({"inner_radius_mm": math.inf}, "inner radius inf mm"),
        ({"inner_radius_mm": 61.0}, r"inner radius 61 mm, less than its outer radius 60.8276 mm"),
        ({"rim_radius_mm": 0.0}, "rim radius 0.0 mm, more than 0 is allowed"),
        ({"rim_radius_mm": 60.0}, r"point \(60, -10\) at radius 60.828 mm, outside its rim radius 60 mm"),
        ({"flanks_mm": (((1, 1), (1, 1)),)}, r"flank without length at \(1, 1\)"),
        ({"flank_names": ("left",)}, "1 flank names for 0 flanks"),
        ({"rim_arcs_deg": ((-5, 5),)}, "rim arcs but no rim radius"),
        ({"rim_radius_mm": 61.0, "rim_arcs_deg": ((5, 5),)}, "rim arc from 5 to 5 degrees"),
        ({"rim_radius_mm": 61.0, "rim_arcs_deg": ((0, 361),)}, "rim arc from 0 to 361 degrees"),
        ({"half_angle_deg": 180.0}, "half angle 180 degrees, between 0 and 180"),
    ],
)
def test_a_bad_outline_is_refused_by_name(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(OutlineError, match=message):
        outline(**changes)


@pytest.mark.parametrize(
    ("points", "radius", "clearance", "message"),
    [
        ((), 1.0, None, "obstacle `oil` has no points"),
        (((1.0, 2.0),), -1.0, None, "obstacle `oil` has radius -1.0 mm, 0 or more"),
        (((1.0, 2.0),), 1.0, -0.5, "obstacle `oil` has clearance -0.5 mm"),
        (((1.0, math.inf),), 1.0, None, "obstacle `oil` has point"),
    ],
)
def test_a_bad_obstacle_is_refused_by_name(
    points: tuple[tuple[float, float], ...], radius: float, clearance: float | None, message: str
) -> None:
    with pytest.raises(OutlineError, match=message):
        Obstacle(points_mm=points, radius_mm=radius, what="oil", clearance_mm=clearance)


@pytest.mark.parametrize("tolerance_mm", [0.5, 0.01, 0.001])
def test_arc_chords_keep_the_tolerance_and_not_much_less(tolerance_mm: float) -> None:
    points = arc_points(88.0, from_deg=-58.0, to_deg=58.0, chord_tolerance_mm=tolerance_mm)
    inside = [
        88.0 - math.hypot(0.5 * (x1 + x2), 0.5 * (y1 + y2))
        for (x1, y1), (x2, y2) in itertools.pairwise(points)
    ]
    assert 0.7 * tolerance_mm < max(inside) <= tolerance_mm * (1.0 + 1e-9)
    assert all(math.isclose(math.hypot(x, y), 88.0, rel_tol=1e-14) for x, y in points)
    assert points[0] == pytest.approx((88.0 * math.cos(math.radians(58)), -88.0 * math.sin(math.radians(58))))
    assert points[-1] == pytest.approx((88.0 * math.cos(math.radians(58)), 88.0 * math.sin(math.radians(58))))


def test_an_arc_runs_either_way_and_never_coarser_than_45_degrees() -> None:
    assert arc_points(1.0, from_deg=90.0, to_deg=0.0)[0] == pytest.approx((0.0, 1.0))
    assert chord_step_deg(1.0, chord_tolerance_mm=5.0) == 45.0
    assert len(arc_points(1.0, from_deg=0.0, to_deg=360.0, chord_tolerance_mm=5.0)) == 9


@pytest.mark.parametrize(
    ("radius", "to", "tolerance", "message"),
    [
        (0.0, 10.0, 0.01, "an arc has radius 0.0 mm"),
        (math.nan, 10.0, 0.01, "an arc has radius nan mm"),
        (1.0, 10.0, 0.0, "chord tolerance 0.0 mm"),
        (1.0, 0.0, 0.01, "from 0 to 0 degrees"),
        (1.0, 361.0, 0.01, "from 0 to 361 degrees"),
    ],
)
def test_a_bad_arc_is_refused(radius: float, to: float, tolerance: float, message: str) -> None:
    with pytest.raises(OutlineError, match=message):
        arc_points(radius, from_deg=0.0, to_deg=to, chord_tolerance_mm=tolerance)


FAN = shapes.fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0)


def test_a_fan_is_a_sector_of_a_ring_with_rays_from_the_axis() -> None:
    assert FAN.rim_radius_mm == 88.0
    assert FAN.inner_radius_mm == 36.0
    assert FAN.half_angle_deg == 58.0
    assert FAN.rim_arcs_deg == ((-58.0, 58.0),)
    assert [FAN.flank_name(index) for index in (0, 1)] == ["flank at +58 degrees", "flank at -58 degrees"]
    upper = (88.0 * math.cos(math.radians(58.0)), 88.0 * math.sin(math.radians(58.0)))
    assert FAN.flanks_mm[0][0] == FAN.flanks_mm[1][0] == (0.0, 0.0)
    assert FAN.flanks_mm[0][1] == pytest.approx(upper)
    assert FAN.flanks_mm[1][1] == pytest.approx((upper[0], -upper[1]))
    # Sector of a ring: half angle [rad] * (R^2 - r^2); chords lose at most tolerance * rim length
    exact = math.radians(58.0) * (88.0**2 - 36.0**2)
    assert FAN.polygon().area == pytest.approx(exact, abs=0.01 * 2.0 * math.radians(58.0) * (88.0 + 36.0))
    mirrored = shapely.transform(FAN.polygon(), lambda xy: xy * [1.0, -1.0])
    shapely.testing.assert_geometries_equal(mirrored, FAN.polygon(), normalize=True, tolerance=1e-9)


def test_a_fan_without_inner_radius_comes_to_a_point() -> None:
    made = shapes.fan(outer_radius_mm=88.0, half_angle_deg=100.0, inner_radius_mm=0.0)
    assert made.boundary_mm[-1] == (0.0, 0.0)
    assert made.polygon().area == pytest.approx(math.radians(100.0) * 88.0**2, rel=3e-4)


def test_a_half_disc_and_a_disc() -> None:
    half = shapes.half_disc(outer_radius_mm=88.0, inner_radius_mm=36.0)
    assert half.rim_arcs_deg[0] == pytest.approx((-90.0, 90.0))
    assert half.flanks_mm[0][0] == pytest.approx((0.0, 88.0))
    assert half.flanks_mm[0][1] == pytest.approx((0.0, -88.0))
    assert half.flank_name(0) == "flat"
    more = shapes.half_disc(outer_radius_mm=100.0, inner_radius_mm=36.0, flat_offset_mm=-60.0)
    # 3-4-5 triangle: at x = -60 the rim of 100 is at y = 80
    assert more.flanks_mm[0][0] == pytest.approx((-60.0, 80.0))
    whole = shapes.disc(outer_radius_mm=88.0, inner_radius_mm=36.0)
    assert whole.rim_arcs_deg == ((-180.0, 180.0),)
    assert whole.flanks_mm == ()
    assert (
        half.polygon()
        .symmetric_difference(shapely.box(0.0, -100.0, 100.0, 100.0).intersection(whole.polygon()))
        .area
        < 0.02 * math.pi * 88.0
    )


def test_a_trimmed_fan_with_and_without_its_rays() -> None:
    # sin 30 = 1/2: the ray meets the side y = 40 at radius 80, x = 80*cos 30
    wide = shapes.trimmed_fan(
        outer_radius_mm=100.0, half_angle_deg=30.0, inner_radius_mm=50.0, half_width_mm=40.0
    )
    assert wide.flank_names == (
        "side at +40 mm",
        "side at -40 mm",
        "flank at +30 degrees",
        "flank at -30 degrees",
    )
    assert wide.flanks_mm[2] == ((0.0, 0.0), pytest.approx((80.0 * math.sqrt(3.0) / 2.0, 40.0)))
    assert wide.rim_arcs_deg[0][1] == pytest.approx(math.degrees(math.asin(0.4)))
    fan = shapes.fan(outer_radius_mm=100.0, half_angle_deg=30.0, inner_radius_mm=50.0)
    strip = shapely.box(0.0, -40.0, 200.0, 40.0)
    assert wide.polygon().symmetric_difference(fan.polygon().intersection(strip)).area < 0.02 * 100.0
    # the side meets the body's circle of 50 at y = 30, x = 40 (3-4-5) before the ray of 60 degrees leaves it
    slim = shapes.trimmed_fan(
        outer_radius_mm=100.0, half_angle_deg=60.0, inner_radius_mm=50.0, half_width_mm=30.0
    )
    assert slim.flank_names == ("side at +30 mm", "side at -30 mm")
    assert slim.flanks_mm[0][0] == pytest.approx((40.0, 30.0))
    assert slim.half_angle_deg is None


POINTS: Callable[..., Outline] = shapes.points


def test_measured_points_of_a_fan_give_its_rim_and_flanks_either_way_round() -> None:
    rim = [(88.0 * math.cos(a), 88.0 * math.sin(a)) for a in (math.radians(d) for d in range(-57, 58, 3))]
    inner = [(36.0 * math.cos(a), 36.0 * math.sin(a)) for a in (math.radians(d) for d in range(57, -58, -3))]
    made = shapes.points(rim + inner, inner_radius_mm=36.0, rim_radius_mm=88.0)
    assert len(made.rim_arcs_deg) == 1
    assert made.rim_arcs_deg[0] == pytest.approx((-57.0, 57.0))
    assert len(made.flanks_mm) == 2  # the chords on the inner radius are the body's: no wall is kept to them
    assert set(made.flanks_mm) == {(rim[-1], inner[0]), (inner[-1], rim[0])}
    backwards = shapes.points((rim + inner)[::-1], inner_radius_mm=36.0, rim_radius_mm=88.0)
    shapely.testing.assert_geometries_equal(backwards.polygon(), made.polygon(), normalize=True)
    assert backwards.rim_arcs_deg[0] == pytest.approx((-57.0, 57.0))
    assert backwards.polygon().exterior.is_ccw


def test_a_flat_on_the_rim_parts_it_into_two_arcs() -> None:
    degrees = [
        *range(-57, -11, 3),
        *range(12, 58, 3),
    ]  # from -12 to +12 a flat: bulge 88*(1 - cos 12) = 1.92 mm
    rim = [(88.0 * math.cos(a), 88.0 * math.sin(a)) for a in map(math.radians, degrees)]
    made = shapes.points([*rim, (20.0, 20.0), (20.0, -20.0)], inner_radius_mm=30.0, rim_radius_mm=88.0)
    assert sorted(made.rim_arcs_deg) == [pytest.approx((-57.0, -12.0)), pytest.approx((12.0, 57.0))]
    flat = next(edge for edge in made.flanks_mm if edge[0][0] > 80.0 and edge[1][0] > 80.0)
    assert flat[0][0] == pytest.approx(88.0 * math.cos(math.radians(12.0)))
    assert made.flank_name(made.flanks_mm.index(flat)) == "edge from (86.08, -18.3) to (86.08, 18.3)"


def test_points_over_the_half_turn_and_all_round() -> None:
    degrees = range(130, 231, 2)  # across 180
    rim = [(88.0 * math.cos(a), 88.0 * math.sin(a)) for a in map(math.radians, degrees)]
    made = shapes.points([*rim, (-10.0, -10.0), (-10.0, 10.0)], inner_radius_mm=30.0, rim_radius_mm=88.0)
    assert made.rim_arcs_deg[0] == pytest.approx((130.0, 230.0))
    ring = [(88.0 * math.cos(a), 88.0 * math.sin(a)) for a in map(math.radians, range(0, 360, 3))]
    assert POINTS(ring, inner_radius_mm=30.0, rim_radius_mm=88.0).rim_arcs_deg == ((-180.0, 180.0),)
    assert POINTS(SQUARE, inner_radius_mm=30.0).rim_arcs_deg == ()
    assert len(POINTS(SQUARE, inner_radius_mm=30.0).flanks_mm) == 4


@pytest.mark.parametrize(
    ("make", "sizes", "message"),
    [
        (
            shapes.fan,
            {"outer_radius_mm": 0, "half_angle_deg": 58, "inner_radius_mm": 36},
            "`fan` has outer radius 0",
        ),
        (
            shapes.fan,
            {"outer_radius_mm": 88, "half_angle_deg": 0, "inner_radius_mm": 36},
            "`fan` has half angle 0 deg",
        ),
        (
            shapes.fan,
            {"outer_radius_mm": 88, "half_angle_deg": 180, "inner_radius_mm": 36},
            "half angle 180 degrees",
        ),
        (
            shapes.fan,
            {"outer_radius_mm": 88, "half_angle_deg": 58, "inner_radius_mm": 88},
            "inner radius 88 mm, 0 or",
        ),
        (
            shapes.fan,
            {"outer_radius_mm": 88, "half_angle_deg": 58, "inner_radius_mm": -1},
            "inner radius -1 mm",
        ),
        (shapes.disc, {"outer_radius_mm": 88, "inner_radius_mm": 90}, "`disc` has inner radius 90 mm"),
        (shapes.disc, {"outer_radius_mm": math.inf, "inner_radius_mm": 90}, "`disc` has outer radius inf mm"),
        (
            shapes.half_disc,
            {"outer_radius_mm": 88, "inner_radius_mm": 36, "flat_offset_mm": 88},
            "`half disc` has flat offset 88 mm, between -88 and 88 mm",
        ),
        (
            shapes.trimmed_fan,
            {"outer_radius_mm": 88, "inner_radius_mm": 36, "half_angle_deg": 91, "half_width_mm": 30},
            "`trimmed fan` has half angle 91 degrees, more than 0 and at most 90",
        ),
        (
            shapes.trimmed_fan,
            {"outer_radius_mm": 88, "inner_radius_mm": 36, "half_angle_deg": 30, "half_width_mm": 0},
            "`trimmed fan` has half width 0 mm",
        ),
        (
            shapes.trimmed_fan,
            {"outer_radius_mm": 88, "inner_radius_mm": 36, "half_angle_deg": 30, "half_width_mm": 44},
            "half width 44 mm, which cuts nothing off; less than 44.000 mm",
        ),
    ],
)
def test_a_shape_that_cannot_be_is_refused(
    make: Callable[..., Outline], sizes: dict[str, float], message: str
) -> None:
    with pytest.raises(OutlineError, match=message):
        make(**sizes)


@pytest.mark.parametrize(
    ("points", "sizes", "message"),
    [
        (
            SQUARE,
            {"inner_radius_mm": 30, "rim_radius_mm": 88},
            r"no edge on its rim radius 88 mm.*3.9 degrees apart",
        ),
        (SQUARE, {"inner_radius_mm": 30, "rim_radius_mm": 55}, "outside its rim radius 55 mm"),
        (SQUARE, {"inner_radius_mm": 70}, "inner radius 70 mm, less than its outer radius"),
        ((*SQUARE, SQUARE[0]), {"inner_radius_mm": 30}, "`points` is closed twice"),
        ((1.0, 2.0, 3.0), {"inner_radius_mm": 30}, "`points` has point 1.0, two numbers are needed"),
        (((1, "a"), (2, 2), (3, 1)), {"inner_radius_mm": 0}, "`points` has point"),
    ],
)
def test_points_that_contradict_themselves_are_refused(
    points: Any, sizes: dict[str, float], message: str
) -> None:
    with pytest.raises(OutlineError, match=message):
        shapes.points(points, **sizes)


@pytest.mark.parametrize("radius_mm", [1e9, 1e21])
def test_an_arc_without_end_is_refused(radius_mm: float) -> None:
    with pytest.raises(OutlineError, match="no part has such a rim"):
        shapes.fan(outer_radius_mm=radius_mm, half_angle_deg=58.0, inner_radius_mm=36.0)
