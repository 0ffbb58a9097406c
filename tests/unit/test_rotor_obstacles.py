"""The crankshaft's records as obstacles in an outline's own frame: by hand, in round numbers.  Invented data."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry_profiles.placement import obstacle_polygon
from geometry_profiles.rims import bevelled
from geometry_profiles.shapes import fan
from planner.errors import InputError
from planner.rotor.crankshaft import Counterweight, ExistingHole, KeepOut, OilDrilling
from planner.rotor.obstacles import obstacles_of, rim_hole_shadow

OUTLINE = fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0)


def counterweight(**changes) -> Counterweight:
    return Counterweight(
        name="A",
        z_mm=50.0,
        angle_deg=100.0,
        thickness_mm=20.0,
        outline=OUTLINE,
        cuts=("rim hole",),
        **changes,
    )


def oil(**changes) -> OilDrilling:
    given = {
        "from_z_mm": 30.0,
        "from_radius_mm": 60.0,
        "from_angle_deg": 130.0,
        "to_z_mm": 70.0,
        "to_radius_mm": 60.0,
        "to_angle_deg": 130.0,
        "diameter_mm": 6.0,
        "clearance_mm": 4.0,
    }
    return OilDrilling(**(given | changes))


def test_an_old_face_hole_is_a_disc_seen_from_the_centre_line():
    hole = ExistingHole(kind="face hole", angle_deg=130.0, diameter_mm=12.0, radius_mm=60.0, through=True)
    (found,) = obstacles_of(counterweight(existing=(hole,)))
    # 130 - 100 = 30 degrees ahead of the centre line
    assert found.points_mm[0] == pytest.approx((60.0 * math.cos(math.pi / 6), 30.0))
    assert len(found.points_mm) == 1
    assert found.radius_mm == 6.0
    assert found.clearance_mm is None
    assert found.what == "old face hole at 130 degrees, radius 60 mm"


def test_an_old_rim_hole_is_a_rectangle_and_a_point():
    hole = ExistingHole(kind="rim hole", angle_deg=100.0, diameter_mm=12.0, depth_shoulder_mm=20.0)
    (found,) = obstacles_of(counterweight(existing=(hole,)))
    tip = 88.0 - 20.0 - 6.0 / math.tan(math.radians(59.0))
    corners = {(round(x, 6), round(y, 6)) for x, y in found.points_mm}
    assert corners == {(88.0, -6.0), (88.0, 6.0), (68.0, 6.0), (68.0, -6.0), (round(tip, 6), 0.0)}


def test_an_old_rim_hole_drilled_through_reaches_the_body():
    hole = ExistingHole(kind="rim hole", angle_deg=100.0, diameter_mm=12.0, through=True)
    (found,) = obstacles_of(counterweight(existing=(hole,)))
    assert min(x for x, _ in found.points_mm) == pytest.approx(36.0)


def test_an_old_face_hole_without_a_radius_is_refused():
    hole = ExistingHole(kind="face hole", angle_deg=130.0, diameter_mm=12.0, through=True)
    with pytest.raises(InputError, match="old face hole in counterweight `A` has no radius"):
        obstacles_of(counterweight(existing=(hole,)))


def test_a_keep_out_is_covered_and_hardly_more():
    """Area of a ring sector from 40 to 50 mm, 20 degrees wide: pi*(50^2 - 40^2)*20/360."""
    import shapely

    keep_out = KeepOut(from_angle_deg=350.0, to_angle_deg=10.0, from_radius_mm=40.0, to_radius_mm=50.0)
    pieces = obstacles_of(counterweight(keep_outs=(keep_out,)))
    assert {piece.what for piece in pieces} == {"keep-out from 350 to 10 degrees"}
    union = shapely.unary_union([obstacle_polygon(piece) for piece in pieces])
    exact = math.pi * (50.0**2 - 40.0**2) * 20.0 / 360.0
    assert exact < union.area < exact + 20.0 * 1e-4  # arcs of 31 mm together, 1e-4 mm at most
    # the middle of the sector stands 100 degrees before the centre line
    middle = math.radians(-100.0)
    assert union.centroid.x == pytest.approx(union.centroid.y / math.tan(middle), abs=1e-6)
    assert union.centroid.y < 0.0


def test_a_keep_out_all_round():
    import shapely

    keep_out = KeepOut(from_angle_deg=0.0, to_angle_deg=360.0, from_radius_mm=40.0, to_radius_mm=50.0)
    pieces = obstacles_of(counterweight(keep_outs=(keep_out,)))
    union = shapely.unary_union([obstacle_polygon(piece) for piece in pieces])
    assert union.area == pytest.approx(math.pi * 900.0, rel=1e-4)


def test_an_oil_drilling_along_the_shaft_is_a_disc_with_its_own_clearance():
    (found,) = obstacles_of(counterweight(), oil_drillings=(oil(),))
    for point in found.points_mm:
        assert point == pytest.approx((60.0 * math.cos(math.pi / 6), 30.0))
    assert found.radius_mm == 3.0
    assert found.clearance_mm == 4.0


def test_only_the_part_of_an_oil_drilling_that_is_in_the_counterweight_counts():
    """From the axis at z = 0 to radius 100 at z = 100: at the faces, 40 and 60 mm, less and plus 3 + 4 mm."""
    slanted = oil(from_z_mm=0.0, from_radius_mm=0.0, to_z_mm=100.0, to_radius_mm=100.0)
    (found,) = obstacles_of(counterweight(), oil_drillings=(slanted,))
    radii = sorted(math.hypot(x, y) for x, y in found.points_mm)
    assert radii == pytest.approx([33.0, 67.0])
    assert all(math.degrees(math.atan2(y, x)) == pytest.approx(30.0) for x, y in found.points_mm)


def test_an_oil_drilling_that_passes_by_is_no_obstacle():
    assert obstacles_of(counterweight(), oil_drillings=(oil(from_z_mm=80.0, to_z_mm=120.0),)) == ()


def test_nothing_there_is_nothing_in_the_way():
    assert obstacles_of(counterweight()) == ()


@pytest.mark.parametrize("tilt_deg", [0.0, 12.0, -12.0, 30.0, -30.0])
@pytest.mark.parametrize("beside_mm", [0.0, -20.0])
@pytest.mark.parametrize("depth_mm", [22.0, -1.5])
def test_a_drilled_hole_casts_the_shadow_of_its_points(
    tilt_deg: float, beside_mm: float, depth_mm: float
) -> None:
    """A drill of 12 mm, tip 3.5 mm beyond the shoulder, point by point: where it comes to along the shaft and to the axis.

    With less than its point in the metal (-1.5) the shoulder is still at the rim.
    """
    from_middle, cone = 4.0, 3.5
    turned = np.linspace(0.0, 2.0 * np.pi, 3601)
    tilt = math.radians(tilt_deg)
    enters = math.sqrt(88.0**2 - beside_mm**2)

    def ring(depth: float, radius: float) -> tuple[np.ndarray, np.ndarray]:
        """Return (radial, axial) of a circle about the drill's axis; a tip tilted by + goes to the rear (+)."""
        across = radius * np.cos(turned)
        return (
            enters - depth * math.cos(tilt) + across * math.sin(tilt),
            from_middle + depth * math.sin(tilt) + across * math.cos(tilt),
        )

    deep = max(depth_mm, 0.0)
    rings = [ring(0.0, 6.0), ring(deep, 6.0), ring(depth_mm + cone, 0.0)]
    found = rim_hole_shadow(
        counterweight(),
        diameter_mm=12.0,
        depth_shoulder_mm=depth_mm,
        cone_height_mm=cone,
        from_middle_mm=from_middle,
        beside_mm=beside_mm,
        tilt_deg=tilt_deg,
    )
    assert found.tip_mm == pytest.approx(rings[2][0][0])
    assert found.shoulder_mm == pytest.approx(max(rings[1][0].min(), found.tip_mm), abs=1e-5)
    along = np.concatenate([axial for _, axial in rings])
    assert found.extent_mm == pytest.approx((along.min(), along.max()), abs=1e-5)
    assert found.outer_mm == found.at_rim_mm == 88.0


@pytest.mark.parametrize(
    ("from_middle", "at_rim", "outer"),
    # 20 thick, bevelled 5 mm at 45 degrees in the rear: from 88 at +5 down to 83 at +10.  A drill of 6 mm reaches 3 to both
    # sides; one that stands beyond the face counts as at the face: rather too much is kept clear
    [
        (0.0, 88.0, 88.0),
        (7.0, 86.0, 88.0),
        (9.0, 84.0, 87.0),
        (12.0, 83.0, 86.0),
        (-9.0, 88.0, 88.0),
        (-12.0, 88.0, 88.0),
    ],
)
def test_a_shadow_begins_at_the_highest_metal_that_the_drill_meets(
    from_middle: float, at_rim: float, outer: float
) -> None:
    rim = bevelled(outer_radius_mm=88.0, thickness_mm=20.0, rear_width_mm=5.0)
    found = rim_hole_shadow(
        counterweight(rim=rim),
        diameter_mm=6.0,
        depth_shoulder_mm=10.0,
        cone_height_mm=0.0,
        from_middle_mm=from_middle,
    )
    assert found.at_rim_mm == pytest.approx(at_rim)
    assert found.outer_mm == pytest.approx(outer)
    assert found.tip_mm == pytest.approx(at_rim - 10.0)
