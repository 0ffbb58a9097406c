"""Does a hole fit: every rule with numbers from first principles, written out."""

from __future__ import annotations

import math
from typing import Any

import pytest
import shapely
import shapely.testing

from geometry_profiles import shapes
from geometry_profiles.distances import wall_between_mm
from geometry_profiles.obstacles import (
    drilling_obstacle,
    face_hole_obstacle,
    rim_hole_corners,
    rim_hole_obstacle,
    ring_sector_obstacles,
)
from geometry_profiles.outline import Obstacle, Outline, OutlineError
from geometry_profiles.placement import (
    HoleSection,
    PlacementError,
    PlacementFault,
    obstacle_polygon,
    placement_faults,
    section_polygon,
)

FAN = shapes.fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0)
CONE_14 = 7.0 / math.tan(math.radians(59.0))  # a 14 mm drill with a 118 degree point: 4.206 mm


def rim(angle: float, depth: float = 20.0, *, diameter: float = 14.0, name: str = "rim hole") -> HoleSection:
    cone = diameter / 2.0 / math.tan(math.radians(59.0))
    return HoleSection(
        "rim",
        angle_deg=angle,
        diameter_mm=diameter,
        depth_shoulder_mm=depth,
        cone_height_mm=cone,
        name=name,
    )


def face(
    angle: float, radius: float, *, diameter: float = 20.0, depth: float | None = None, name: str = "bore"
) -> HoleSection:
    return HoleSection(
        "face",
        angle_deg=angle,
        diameter_mm=diameter,
        depth_shoulder_mm=depth,
        cone_height_mm=0.0 if depth is None else 3.0,
        radius_mm=radius,
        name=name,
    )


def faults(
    *holes: HoleSection,
    outline: Outline = FAN,
    obstacles: tuple[Obstacle, ...] = (),
    wall: float = 3.0,
    thickness: float = 24.0,
) -> tuple[PlacementFault, ...]:
    return placement_faults(
        outline, thickness_mm=thickness, holes=holes, obstacles=obstacles, least_wall_mm=wall
    )


def only(found: tuple[PlacementFault, ...]) -> PlacementFault:
    assert len(found) == 1, [fault.text for fault in found]
    return found[0]


def sin(angle_deg: float) -> float:
    return math.sin(math.radians(angle_deg))


def cos(angle_deg: float) -> float:
    return math.cos(math.radians(angle_deg))


def test_holes_that_fit_have_no_faults() -> None:
    assert faults(rim(0.0), rim(-30.0), face(30.0, 60.0)) == ()
    assert faults() == ()


# --- flanks ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_wall_from_a_rim_hole_to_a_flank_is_measured_at_its_shoulder(side: float) -> None:
    # 10 degrees from the flank the corner (R - h, d/2) is nearest: (R - h)*sin 10 - d/2*cos 10 = 4.914 mm
    expected = 68.0 * sin(10.0) - 7.0 * cos(10.0)
    assert expected == pytest.approx(4.914, abs=5e-4)
    assert faults(rim(side * 48.0), wall=4.91) == ()
    fault = only(faults(rim(side * 48.0), wall=5.0))
    assert fault.wall_mm == pytest.approx(expected, abs=1e-9)
    assert fault.needed_mm == 5.0
    assert fault.hole == "rim hole"
    assert fault.with_what == f"flank at {side * 58:+.0f} degrees"
    assert fault.text == f"rim hole: wall to the flank at {side * 58:+.0f} degrees is 4.91 mm, needed 5.00 mm"


def test_the_tolerance_is_a_millionth_of_a_millimetre() -> None:
    # deepest hole 10 degrees from the flank with a wall of 3: h = R - (d/2*cos 10 + 3)/sin 10
    deepest = 88.0 - (7.0 * cos(10.0) + 3.0) / sin(10.0)
    assert faults(rim(48.0, deepest)) == ()
    assert faults(rim(48.0, deepest + 5e-6)) == ()  # 0.87e-6 mm of wall missing
    fault = only(faults(rim(48.0, deepest + 2e-5)))  # 3.5e-6 mm missing
    assert fault.text.endswith("is 2.999997 mm, needed 3.000000 mm")


def test_a_steep_tip_can_be_nearer_to_the_flank_than_the_shoulder() -> None:
    # flat flank of a half disc, hole straight at it: only the tip counts
    half = shapes.half_disc(outer_radius_mm=88.0, inner_radius_mm=10.0, flat_offset_mm=20.0)
    fault = only(faults(rim(0.0, 62.0), outline=half))
    assert fault.wall_mm == pytest.approx(88.0 - 62.0 - CONE_14 - 20.0, abs=1e-9)  # 1.794
    assert fault.text == "rim hole: wall to the flat is 1.79 mm, needed 3.00 mm"


def test_flanks_are_rays_from_the_axis_and_not_whole_lines() -> None:
    # a fan of 150 degrees half angle: a bore at 0 degrees, 25 mm out, meets the lines' far sides but no ray
    wide = shapes.fan(outer_radius_mm=88.0, half_angle_deg=150.0, inner_radius_mm=10.0)
    to_the_lines = 25.0 * sin(30.0) - 10.0
    assert to_the_lines == pytest.approx(2.5)  # less than the wall: would be refused
    assert faults(face(0.0, 25.0), outline=wide) == ()


def test_wall_from_a_bore_to_a_flank_and_into_it() -> None:
    # centre 60 mm out, 12 degrees from the flank: 60*sin 12 - 10 = 2.475
    fault = only(faults(face(46.0, 60.0)))
    assert fault.wall_mm == pytest.approx(60.0 * sin(12.0) - 10.0, abs=1e-9)
    assert fault.text == "bore: wall to the flank at +58 degrees is 2.47 mm, needed 3.00 mm"
    # 5 degrees from it: 60*sin 5 - 10 = -4.771
    fault = only(faults(face(53.0, 60.0)))
    assert fault.wall_mm == pytest.approx(60.0 * sin(5.0) - 10.0, abs=1e-9)
    assert fault.text == "bore: runs 4.77 mm into the flank at +58 degrees, needed wall 3.00 mm"


def test_a_rim_hole_through_a_flank_says_how_far_it_runs_into_it() -> None:
    # hole 3 degrees from the flank: the corner (68, 7) lies 7*cos 3 - 68*sin 3 = 3.43 mm beyond it, the corner at
    # the rim (88, 7) 2.38 mm; to part them the hole would have to move by the larger
    found = faults(rim(55.0), wall=0.0)
    by_partner = {fault.with_what: fault for fault in found}
    assert set(by_partner) == {"flank at +58 degrees", "rim"}
    assert by_partner["flank at +58 degrees"].wall_mm == pytest.approx(
        -(7.0 * cos(3.0) - (88.0 - 20.0) * sin(3.0)), abs=1e-9
    )
    assert "runs 3.43 mm into the flank" in by_partner["flank at +58 degrees"].text


# --- the rim -----------------------------------------------------------------------------------------------------


def test_the_whole_mouth_must_lie_on_the_rim() -> None:
    # half a mouth of 14 mm takes asin(7/88) = 4.5624 degrees of the rim
    half_mouth = math.degrees(math.asin(7.0 / 88.0))
    block = Outline(
        name="block",
        rim_radius_mm=88.0,
        inner_radius_mm=36.0,
        boundary_mm=FAN.boundary_mm,
        rim_arcs_deg=((-20.0, 30.0), (170.0, 200.0)),
    )
    for angle in (30.0 - half_mouth - 1e-7, -20.0 + half_mouth + 1e-7, 170.0 + half_mouth + 1e-7, -170.0):
        assert faults(rim(angle), outline=block) == (), angle
    for angle, missing_deg in (
        (30.0 - half_mouth + 0.5, 0.5),
        (-20.0 + half_mouth - 0.5, 0.5),
        (35.0, 5.0 + half_mouth),
        (-22.0, 2.0 + half_mouth),  # its centre just before an arc begins
        (-160.0, half_mouth),  # -160 is 200, the second arc's end
    ):
        fault = only(faults(rim(angle), outline=block))
        assert fault.with_what == "rim"
        assert fault.wall_mm == pytest.approx(-math.radians(missing_deg) * 88.0, abs=1e-6), angle
    assert (
        "its mouth reaches 0.77 mm past the end of the rim"
        in faults(rim(30.0 - half_mouth + 0.5), outline=block)[0].text
    )


def test_a_disc_takes_a_rim_hole_at_any_angle() -> None:
    disc = shapes.disc(outer_radius_mm=88.0, inner_radius_mm=36.0)
    for angle in (0.0, 179.9, 180.0, -180.0, 361.0, 1234.5):
        assert faults(rim(angle), outline=disc) == ()


def test_no_rim_no_rim_hole() -> None:
    square = shapes.points([(40, -30), (80, -30), (80, 30), (40, 30)], inner_radius_mm=36.0)
    fault = only(faults(rim(0.0), rim(0.0, name="second"), outline=square)[:1])
    assert fault.text == "rim hole: `points` has no rim that a hole could be drilled from"
    assert len(faults(rim(0.0), rim(0.0), outline=square)) == 2  # and no pair of holes without a place
    with pytest.raises(PlacementError, match="`points` has no rim radius to drill from"):
        section_polygon(rim(0.0), square)


def test_wall_from_a_bore_to_the_rim_is_to_the_true_circle() -> None:
    # 88 - 66 - 10 = 12 less the wall: r = 75 leaves exactly 3
    for angle in (0.0, 0.731, 20.0):  # over corners of the drawn rim and between them
        assert faults(face(angle, 75.0)) == ()
        fault = only(faults(face(angle, 75.001)))
        assert fault.wall_mm == pytest.approx(2.999, abs=1e-9)
        assert fault.with_what == "rim"
    assert only(faults(face(0.0, 76.0))).text == "bore: wall to the rim is 2.00 mm, needed 3.00 mm"
    assert "runs 2.00 mm into the rim" in only(faults(face(0.0, 80.0))).text


def test_without_a_rim_radius_the_boundary_takes_its_part() -> None:
    square = shapes.points([(40, -30), (80, -30), (80, 30), (40, 30)], inner_radius_mm=36.0)
    assert faults(face(0.0, 65.0), outline=square) == ()
    fault = only(faults(face(0.0, 68.0), outline=square))
    assert fault.wall_mm == pytest.approx(2.0)
    assert fault.text == "bore: wall to the edge from (80, -30) to (80, 30) is 2.00 mm, needed 3.00 mm"


def test_a_bore_outside_the_outline_is_told_so() -> None:
    fault = only(faults(face(180.0, 60.0)))
    assert fault.with_what == "outline"
    corner = 36.0 * complex(cos(58.0), sin(58.0))
    away = abs(corner + 60.0)
    assert fault.wall_mm == pytest.approx(-away - 10.0, abs=1e-6)
    assert fault.text == f"bore: its centre lies {away:.2f} mm outside the outline"


# --- inner radius, faces -----------------------------------------------------------------------------------------


def test_no_tip_and_no_bore_below_the_inner_radius_and_no_wall_to_it() -> None:
    deepest = 88.0 - 36.0 - CONE_14
    assert faults(rim(0.0, deepest)) == ()
    fault = only(faults(rim(0.0, deepest + 1.0)))
    assert fault.wall_mm == pytest.approx(-1.0)
    assert fault.needed_mm == 0.0
    assert fault.text == "rim hole: its tip reaches radius 35.00 mm, 1.00 mm below the inner radius 36 mm"
    assert faults(face(0.0, 46.0)) == ()
    fault = only(faults(face(0.0, 45.5)))
    assert fault.text == "bore: its bore reaches radius 35.50 mm, 0.50 mm below the inner radius 36 mm"
    assert fault.with_what == "inner radius"
    assert only(faults(face(0.0, 20.0))).wall_mm == pytest.approx(-26.0)


def test_a_rim_hole_keeps_the_wall_to_both_faces() -> None:
    assert faults(rim(0.0, diameter=18.0)) == ()  # 18 = 24 - 2*3
    fault = only(faults(rim(0.0, diameter=18.1)))
    assert fault.wall_mm == pytest.approx(2.95)
    assert fault.text == "rim hole: wall to either face is 2.95 mm, needed 3.00 mm"


def test_a_blind_bore_keeps_the_wall_below_its_tip_and_a_through_one_has_none() -> None:
    assert faults(face(0.0, 60.0, depth=18.0)) == ()  # 18 + 3 (cone) + 3 = 24
    fault = only(faults(face(0.0, 60.0, depth=18.5)))
    assert fault.wall_mm == pytest.approx(2.5)
    assert fault.text == "bore: wall below its tip is 2.50 mm, needed 3.00 mm"
    assert only(faults(face(0.0, 60.0, depth=22.0))).text.startswith("bore: wall below its tip is -1.00 mm")
    assert faults(face(0.0, 60.0)) == ()


# --- holes to each other and to what is there ----------------------------------------------------------------------


def test_rim_holes_converge_below_the_rim() -> None:
    # Two equal holes at +-t: by symmetry each keeps half the wall to the bisector, at its shoulder:
    # 2*((R - h)*sin t - d/2*cos t).  t = 8: 2*(48*sin 8 - 7*cos 8) = -0.503 at 40 mm, though at the rim they are
    # 2*(88*sin 8 - 7*cos 8) = 10.63 mm apart.
    one, two = rim(8.0, 5.0, name="one"), rim(-8.0, 5.0, name="two")
    shallow = faults(one, two, wall=9.5, thickness=60.0)
    assert only(shallow).wall_mm == pytest.approx(2.0 * (83.0 * sin(8.0) - 7.0 * cos(8.0)), abs=1e-9)
    fault = only(faults(rim(8.0, 40.0, name="one"), rim(-8.0, 40.0, name="two")))
    assert fault.wall_mm < 0.0
    assert (fault.hole, fault.with_what) == ("one", "two")
    fault = only(faults(rim(10.0, 40.0, name="one"), rim(-10.0, 40.0, name="two")))
    assert fault.wall_mm == pytest.approx(2.0 * (48.0 * sin(10.0) - 7.0 * cos(10.0)), abs=1e-9)
    assert fault.text == "one: wall to two is 2.88 mm, needed 3.00 mm"


def test_a_rim_hole_beside_a_bore() -> None:
    # bore of 20 at radius 74, t degrees off the hole's axis: across the hole 74*sin t - 7 - 10
    fault = only(faults(rim(0.0, 30.0), face(15.0, 74.0)))
    assert fault.wall_mm == pytest.approx(74.0 * sin(15.0) - 17.0, abs=1e-9)  # 2.153
    assert fault.text == "rim hole: wall to bore is 2.15 mm, needed 3.00 mm"
    # straight under it: 88 - 26 - cone - (46 + 10)
    fault = only(faults(rim(0.0, 26.0), face(0.0, 46.0)))
    assert fault.wall_mm == pytest.approx(88.0 - 26.0 - CONE_14 - 56.0, abs=1e-9)


def test_two_bores_are_circles() -> None:
    # centres 2*60*sin 10 apart, less two radii of 10: 0.838
    fault = only(faults(face(0.0, 60.0, name="one"), face(20.0, 60.0, name="two")))
    assert fault.wall_mm == pytest.approx(2.0 * 60.0 * sin(10.0) - 20.0, abs=1e-9)
    fault = only(faults(face(0.0, 60.0, name="one"), face(0.0, 60.0, name="two")))
    assert fault.wall_mm == pytest.approx(-20.0)
    assert fault.text == "one: runs 20.00 mm into two, needed wall 3.00 mm"


def test_every_pair_is_held_against_each_other() -> None:
    found = faults(rim(8.0, name="a"), rim(0.0, name="b"), rim(-8.0, name="c"), rim(45.0, name="d"))
    assert [(fault.hole, fault.with_what) for fault in found] == [("a", "b"), ("b", "c")]
    found = faults(rim(8.0, 40.0, name="a"), rim(0.0, 5.0, name="b"), rim(-8.0, 40.0, name="c"))
    assert ("a", "c") in [(fault.hole, fault.with_what) for fault in found]  # past the shallow one between


def test_an_old_hole_is_an_obstacle_at_full_depth() -> None:
    old = rim_hole_obstacle(
        rim_radius_mm=88.0,
        angle_deg=-10.0,
        diameter_mm=14.0,
        depth_shoulder_mm=40.0,
        cone_height_mm=CONE_14,
        what="old rim hole",
    )
    fault = only(faults(rim(10.0, 40.0), obstacles=(old,)))
    assert fault.wall_mm == pytest.approx(2.0 * (48.0 * sin(10.0) - 7.0 * cos(10.0)), abs=1e-9)
    assert fault.text == "rim hole: wall to old rim hole is 2.88 mm, needed 3.00 mm"
    bore = face_hole_obstacle(radius_mm=60.0, angle_deg=0.0, diameter_mm=20.0, what="old bore")
    fault = only(faults(face(20.0, 60.0, diameter=0.6 * 20.0), obstacles=(bore,), wall=5.0))
    assert fault.wall_mm == pytest.approx(2.0 * 60.0 * sin(10.0) - 16.0, abs=1e-9)


def test_a_clearance_of_its_own_replaces_the_least_wall() -> None:
    oil = Obstacle(points_mm=((40.0, 0.0), (60.0, 0.0)), radius_mm=3.0, what="oil drilling", clearance_mm=5.0)
    hole = face(0.0, 77.4, diameter=10.0)  # 77.4 - 5 - 60 - 3 = 9.4, and 5.6 to the rim
    assert faults(hole, obstacles=(oil,)) == ()
    fault = only(faults(face(0.0, 72.0, diameter=10.0), obstacles=(oil,)))
    assert fault.wall_mm == pytest.approx(4.0)
    assert fault.text == "bore: wall to oil drilling is 4.00 mm, needed 5.00 mm"


def test_pieces_of_one_thing_give_one_fault_the_worst() -> None:
    pieces = ring_sector_obstacles(
        from_angle_deg=10.0, to_angle_deg=40.0, from_radius_mm=36.0, to_radius_mm=60.0, what="keep-out"
    )
    assert len(pieces) > 5
    fault = only(faults(rim(0.0, 40.0), obstacles=pieces))
    # nearest: the keep-out's flat side at 10 degrees, the hole's shoulder corner (48, 7) above it:
    # 48*sin 10 - 7*cos 10
    assert fault.wall_mm == pytest.approx(48.0 * sin(10.0) - 7.0 * cos(10.0), abs=1e-9)
    assert fault.text.startswith("rim hole: wall to keep-out is 1.44 mm")


def test_an_open_mouth_keeps_its_wall_along_the_section_as_drawn() -> None:
    # the corner of the section at the rim is (88, 7), outside the rim's circle: an old hole beside the mouth
    # counts from there
    beside = Obstacle(points_mm=((88.0, 8.5),), radius_mm=0.0, what="mark")
    assert only(faults(rim(0.0), obstacles=(beside,))).wall_mm == pytest.approx(1.5)


# --- input ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sizes", "message"),
    [
        ({"kind": "edge"}, "a hole has kind `edge`, rim or face is allowed"),
        ({"angle_deg": math.nan}, "first has angle nan, a finite number"),
        ({"diameter_mm": 0.0}, "first has diameter 0.0 mm, more than 0"),
        ({"depth_shoulder_mm": -1.0}, "first has depth -1.0 mm, 0 or more"),
        ({"cone_height_mm": math.inf}, "first has cone height inf mm"),
        ({"depth_shoulder_mm": None}, "first has no depth; a rim hole is never through"),
        ({"radius_mm": 60.0}, "first has a radius; a rim hole starts at the rim"),
        ({"kind": "face"}, "first has radius None mm, 0 or more is needed"),
        ({"kind": "face", "radius_mm": -1.0}, "first has radius -1.0 mm"),
    ],
)
def test_a_hole_that_cannot_be_is_refused(sizes: dict[str, Any], message: str) -> None:
    good = {"kind": "rim", "angle_deg": 0.0, "diameter_mm": 14.0, "depth_shoulder_mm": 20.0, "name": "first"}
    with pytest.raises(PlacementError, match=message):
        HoleSection(**{**good, **sizes})


def test_a_hole_without_a_name_is_called_by_its_size() -> None:
    hole = HoleSection("rim", angle_deg=12.0, diameter_mm=14.0, depth_shoulder_mm=20.0)
    assert hole.called == "14 mm rim hole at +12 degrees"


def test_thickness_wall_and_width_are_checked() -> None:
    with pytest.raises(PlacementError, match=r"the thickness is 0.0 mm, more than 0"):
        faults(thickness=0.0)
    with pytest.raises(PlacementError, match=r"the least wall is -1.0 mm, 0 or more"):
        faults(wall=-1.0)
    with pytest.raises(PlacementError, match="diameter 176 mm, less than twice the rim radius 88 mm"):
        faults(rim(0.0, diameter=176.0))


# --- sections and obstacles as drawn ---------------------------------------------------------------------------------


def test_a_rim_holes_section_is_a_rectangle_with_a_point() -> None:
    polygon = section_polygon(rim(90.0, 20.0), FAN)
    expected = shapely.Polygon([(7, 88), (-7, 88), (-7, 68), (0, 68 - CONE_14), (7, 68)])
    shapely.testing.assert_geometries_equal(polygon, expected, normalize=True, tolerance=1e-9)
    assert polygon.area == pytest.approx(14.0 * 20.0 + 0.5 * 14.0 * CONE_14)
    corners = rim_hole_corners(
        88.0, angle_deg=90.0, diameter_mm=14.0, depth_shoulder_mm=20.0, cone_height_mm=CONE_14
    )
    assert shapely.LinearRing(corners).is_ccw


def test_a_bore_is_drawn_as_a_circle_just_inside_itself() -> None:
    polygon = section_polygon(face(30.0, 60.0), FAN)
    assert polygon.centroid.x == pytest.approx(60.0 * cos(30.0))
    # a regular polygon of 128 sides: n/2 * r^2 * sin(360/n)
    assert polygon.area == pytest.approx(64.0 * 100.0 * sin(360.0 / 128.0))


def test_obstacles_as_drawn() -> None:
    capsule = Obstacle(points_mm=((40.0, 0.0), (60.0, 0.0)), radius_mm=3.0, what="oil")
    area = obstacle_polygon(capsule).area
    assert area == pytest.approx(20.0 * 6.0 + math.pi * 9.0, rel=1e-3)
    flat = Obstacle(points_mm=((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)), radius_mm=0.0, what="wedge")
    assert obstacle_polygon(flat).area == 0.5


@pytest.mark.parametrize(
    ("start", "end", "width"), [(10.0, 40.0, 30.0), (350.0, 10.0, 20.0), (0.0, 360.0, 360.0)]
)
def test_a_keep_outs_pieces_cover_it_and_little_more(start: float, end: float, width: float) -> None:
    tolerance_mm = 0.05
    pieces = ring_sector_obstacles(
        from_angle_deg=start,
        to_angle_deg=end,
        from_radius_mm=36.0,
        to_radius_mm=60.0,
        what="keep-out",
        chord_tolerance_mm=tolerance_mm,
    )
    cover = shapely.union_all([obstacle_polygon(piece) for piece in pieces])
    radii = [math.hypot(x, y) for x, y in shapely.get_coordinates(cover)]
    assert max(radii) <= 60.0 + tolerance_mm
    assert cover.distance(shapely.Point(0.0, 0.0)) >= 36.0 - tolerance_mm
    assert {piece.what for piece in pieces} == {"keep-out"}
    for step in range(201):
        angle = math.radians(start + width * step / 200.0)
        for radius in (36.0, 48.0, 60.0):
            point = shapely.Point(radius * math.cos(angle), radius * math.sin(angle))
            assert cover.distance(point) < 1e-9
    exact = math.radians(width) / 2.0 * (60.0**2 - 36.0**2)
    assert exact <= cover.area <= exact + math.radians(width) * (60.0 + 36.0) * tolerance_mm


@pytest.mark.parametrize(
    ("sizes", "message"),
    [
        ({"to_radius_mm": 36.0}, "`box` reaches from radius 36 to 36 mm, 0 or more and growing"),
        ({"from_radius_mm": -1.0}, "`box` reaches from radius -1"),
        ({"to_angle_deg": 10.0}, "`box` reaches from 10 to 10 degrees"),
        ({"to_angle_deg": 371.0}, "`box` reaches from 10 to 371 degrees"),
        ({"to_angle_deg": -360.0}, "`box` reaches from 10 to -360 degrees"),
    ],
)
def test_a_keep_out_that_cannot_be_is_refused(sizes: dict[str, float], message: str) -> None:
    good = {"from_angle_deg": 10.0, "to_angle_deg": 40.0, "from_radius_mm": 36.0, "to_radius_mm": 60.0}
    with pytest.raises(OutlineError, match=message):
        ring_sector_obstacles(**{**good, **sizes}, what="box")


def drilling(**changes: Any) -> Obstacle | None:
    sizes: dict[str, Any] = {
        "from_z_mm": 0.0,
        "from_radius_mm": 0.0,
        "from_angle_deg": 0.0,
        "to_z_mm": 100.0,
        "to_radius_mm": 50.0,
        "to_angle_deg": 90.0,
        "diameter_mm": 6.0,
        "plate_from_z_mm": 40.0,
        "plate_to_z_mm": 60.0,
        "what": "oil drilling",
        "clearance_mm": 2.0,
    }
    return drilling_obstacle(**{**sizes, **changes})


def test_a_drilling_at_a_slant_throws_its_shadow_on_the_plate() -> None:
    # grown by 3 + 2 on either face the plate reaches from 35 to 65: shares 0.35 and 0.65 of the radius 50
    made = drilling()
    assert made is not None
    assert made.points_mm[0] == pytest.approx((0.0, 17.5))
    assert made.points_mm[1] == pytest.approx((0.0, 32.5))
    assert made.radius_mm == 3.0
    assert made.clearance_mm == 2.0
    backwards = drilling(
        from_z_mm=100.0, from_radius_mm=50.0, from_angle_deg=90.0, to_z_mm=0.0, to_radius_mm=0.0
    )
    assert backwards is not None
    assert sorted(backwards.points_mm) == [pytest.approx((0.0, 17.5)), pytest.approx((0.0, 32.5))]


def test_a_drilling_that_ends_early_passes_by_or_runs_across() -> None:
    ends = drilling(plate_from_z_mm=90.0, plate_to_z_mm=120.0)
    assert ends is not None
    assert ends.points_mm[1] == pytest.approx((0.0, 50.0))
    assert drilling(plate_from_z_mm=106.0, plate_to_z_mm=120.0) is None
    assert drilling(plate_from_z_mm=104.0, plate_to_z_mm=120.0) is not None
    across = drilling(from_z_mm=50.0, to_z_mm=50.0)
    assert across is not None
    assert across.points_mm == (pytest.approx((0.0, 0.0)), pytest.approx((0.0, 50.0)))
    assert drilling(from_z_mm=34.0, to_z_mm=34.0) is None


def test_bad_obstacle_sizes_are_refused() -> None:
    with pytest.raises(OutlineError, match=r"`oil drilling` has diameter 0.0 mm"):
        drilling(diameter_mm=0.0)
    with pytest.raises(OutlineError, match="meets a plate from z 60 to 40 mm, two growing numbers"):
        drilling(plate_from_z_mm=60.0, plate_to_z_mm=40.0)
    with pytest.raises(OutlineError, match=r"`old` has depth -1.0 mm"):
        rim_hole_obstacle(
            rim_radius_mm=88.0,
            angle_deg=0.0,
            diameter_mm=14.0,
            depth_shoulder_mm=-1.0,
            cone_height_mm=0.0,
            what="old",
        )


def test_overlaps_are_the_shortest_way_out() -> None:
    box = ((0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (0.0, 4.0))
    assert wall_between_mm((box, 0.0), (((5.0, 3.0),), 0.0)) == pytest.approx(-1.0)
    assert wall_between_mm((box, 0.0), (((5.0, 3.0),), 2.0)) == pytest.approx(-3.0)
    assert wall_between_mm((box, 0.0), (((5.0, -5.0), (5.0, 9.0)), 0.0)) == pytest.approx(-5.0)
    # corners out of order are still the same hull
    mixed = (box[0], box[2], box[1], box[3])
    assert wall_between_mm((mixed, 0.0), (((5.0, 3.0),), 0.0)) == pytest.approx(-1.0)
    point = (((1.0, 1.0),), 2.0)
    assert wall_between_mm(point, point) == pytest.approx(-4.0)
