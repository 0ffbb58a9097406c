"""Walls as the verification judges them, held against plane geometry worked out here: right triangles and circles.

The counterweights are invented; every number expected is written as its own little sum, from first principles (a chord of
half width a stands at sqrt(R^2 - a^2), a bevel of slope b falls by tan(b) per mm, a point of angle p is a/tan(p/2) high).
"""

from __future__ import annotations

import dataclasses
import math
import re

import pytest

from geometry_profiles.rims import bevelled, rounded, stepped, tapered
from geometry_profiles.shapes import fan
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.correction.verify.walls import NamedCut, wall_faults
from planner.cuts.cut import Cut, Shop
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight, ExistingHole, OilDrilling

CENTRE = 100.0
SHOP = Shop(drills_mm=(14.0,), least_wall_mm=3.0, hole_oversize_mm=0.2, point_angle_deg=118.0)
FAN = fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0)
PLATE = Counterweight(
    name="A",
    z_mm=52.0,
    angle_deg=CENTRE,
    thickness_mm=40.0,
    outline=FAN,
    cuts=("rim hole", "face hole", "slug", "fill"),
)
RIM = Cut(kind="rim hole", counterweight="A", angle_deg=CENTRE, diameter_mm=14.0, depth_shoulder_mm=20.0)
FACE = Cut(
    kind="face hole",
    counterweight="A",
    angle_deg=CENTRE,
    diameter_mm=14.0,
    radius_mm=60.0,
    depth_shoulder_mm=9.0,
    face="front",
)
WIDE = 7.1
"""Half of 14 mm and the 0.2 mm that a drilled hole comes out wider."""
POINT = WIDE / math.tan(math.radians(59.0))


def told(
    counterweight: Counterweight,
    *cuts: Cut,
    shop: Shop = SHOP,
    pinned: str = "",
    drillings: tuple[OilDrilling, ...] = (),
) -> tuple[str, ...]:
    """Return what is found of cuts 1, 2, ..; ``pinned`` names the pinned ones."""
    problem = CorrectionProblem(
        unbalance_gmm=TwoPlanes(0j, 0j),
        planes_z_mm=TwoPlanes(0.0, 200.0),
        limits=(LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=300.0),),
        counterweights=(counterweight,),
        shop=shop,
        density_g_per_cm3=7.85,
        oil_drillings=drillings,
    )
    named = [
        NamedCut(name=f"cut {number}", cut=cut, pinned=str(number) in pinned)
        for number, cut in enumerate(cuts, 1)
    ]
    found = wall_faults(counterweight, named, problem=problem)
    assert not found.warnings or pinned
    return found.faults


def length_mm(text: str, before: str) -> float:
    """Return the number that follows some words."""
    said = re.search(re.escape(before) + r" (-?[\d.]+)", text)
    assert said is not None, text
    return float(said[1])


def formed(rim: object, **changes: object) -> Counterweight:
    return dataclasses.replace(PLATE, rim=rim, **changes)  # type: ignore[arg-type]


def moved(cut: Cut, **changes: object) -> Cut:
    return dataclasses.replace(cut, **changes)  # type: ignore[arg-type]


# two plates: 15 mm at 88 mm radius in front, 25 mm at 80 mm behind; the step is 5 mm before the middle
STEPPED = stepped(plates=((15.0, 88.0), (25.0, 80.0)))


@pytest.mark.parametrize(
    ("place_mm", "wall_mm"),
    [
        # in the rear plate, from the step at -5 mm to the mouth's edge
        (5.2, 5.2 - WIDE + 5.0),
        (5.0, 5.0 - WIDE + 5.0),
        (4.0, 4.0 - WIDE + 5.0),
        # in the front plate
        (-12.5, -5.0 - (-12.5 + WIDE)),
    ],
)
def test_a_wall_is_kept_to_the_step_of_a_rim(place_mm: float, wall_mm: float) -> None:
    found = [
        text for text in told(formed(STEPPED), moved(RIM, from_middle_mm=place_mm)) if "to the step" in text
    ]
    if wall_mm >= 3.0:
        assert not found
    else:
        assert length_mm(found[0], "beside it is") == pytest.approx(wall_mm, abs=0.006)


def test_the_wall_to_a_step_is_measured_to_a_millionth() -> None:
    """At 5 + 3 mm from the mouth's edge it is kept; a thousandth nearer it is not."""
    kept = -5.0 + 3.0 + WIDE
    assert told(formed(STEPPED), moved(RIM, from_middle_mm=kept + 2e-6)) == ()
    assert len(told(formed(STEPPED), moved(RIM, from_middle_mm=kept - 1e-3))) == 1


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_bevel_of_up_to_sixty_degrees_is_drilled_into_and_a_steeper_one_is_a_face(mirrored: bool) -> None:
    """Bevels 6 mm wide, from -14 mm on: what is left of a mouth to the edge at -20 mm counts, or to where the bevel begins."""
    way = -1.0 if mirrored else 1.0
    end = "rear" if mirrored else "front"

    def faults(slope_deg: float, edge_mm: float) -> tuple[str, ...]:
        rim = bevelled(
            outer_radius_mm=88.0,
            thickness_mm=40.0,
            **{f"{end}_width_mm": 6.0, f"{end}_slope_deg": slope_deg},  # type: ignore[arg-type]
        )
        place = way * (edge_mm + WIDE)
        return told(formed(rim), moved(RIM, from_middle_mm=place, depth_shoulder_mm=30.0))

    for slope in (30.0, 59.0, 60.0):
        assert faults(slope, -15.0) == ()
        assert any("either face" in text for text in faults(slope, -17.5))
    for slope in (61.0, 75.0):
        assert faults(slope, -10.9) == ()
        (text,) = faults(slope, -11.5)
        assert length_mm(text, "beside it is") == pytest.approx(2.5, abs=0.006)


def test_a_rounding_is_no_step_however_steep_it_ends() -> None:
    rim = rounded(outer_radius_mm=88.0, thickness_mm=40.0, front_rounding_mm=8.0, rear_rounding_mm=8.0)
    for edge in (-16.9, 16.9):
        place = edge - math.copysign(WIDE, edge)
        assert told(formed(rim), moved(RIM, from_middle_mm=place, depth_shoulder_mm=30.0)) == ()


def test_beside_two_steps_the_nearer_one_counts() -> None:
    """A groove: plates 10, 20 and 10 mm; a hole 1 mm behind the middle is 9 - 7.1 mm from the rear step."""
    rim = stepped(plates=((10.0, 88.0), (20.0, 82.0), (10.0, 88.0)))
    for place in (1.0, -1.0):
        (text,) = told(formed(rim), moved(RIM, from_middle_mm=place))
        assert length_mm(text, "beside it is") == pytest.approx(9.0 - WIDE, abs=0.006)


def test_a_tilted_holes_mouth_is_narrower_along_the_shaft() -> None:
    """Half a bore along the shaft is 7.1 mm times the cosine of its tilt, as the verification counts it."""
    tilt = 12.0
    rim = bevelled(outer_radius_mm=88.0, thickness_mm=40.0, front_width_mm=6.0, front_slope_deg=70.0)
    half = WIDE * math.cos(math.radians(tilt))
    cut = moved(RIM, from_middle_mm=-14.0 + 2.0 + half, tilt_deg=tilt)
    found = [text for text in told(formed(rim), cut) if "to the step" in text]
    assert length_mm(found[0], "beside it is") == pytest.approx(2.0, abs=0.006)


def test_the_mouth_is_judged_at_the_rims_own_radius() -> None:
    """A taper of 20 degrees: at -8 mm the radius is 88 - 8*tan(20), where the same hole's mouth takes a wider angle."""
    rim = tapered(outer_radius_mm=88.0, thickness_mm=40.0, taper_deg=20.0)
    at = 88.0 - 8.0 * math.tan(math.radians(20.0))
    angle = 54.5
    cut = moved(RIM, angle_deg=CENTRE + angle, from_middle_mm=-8.0, depth_shoulder_mm=3.0)
    past = math.radians(angle + math.degrees(math.asin(WIDE / at)) - 58.0) * at
    text = next(each for each in told(formed(rim), cut) if "mouth" in each)
    assert length_mm(text, "its mouth reaches") == pytest.approx(past, abs=0.006)
    plain = next(each for each in told(PLATE, cut) if "mouth" in each)
    past = math.radians(angle + math.degrees(math.asin(WIDE / 88.0)) - 58.0) * 88.0
    assert length_mm(plain, "its mouth reaches") == pytest.approx(past, abs=0.006)


def test_the_tip_of_a_rim_hole_is_its_depth_and_its_point_below_where_it_enters() -> None:
    rim = bevelled(outer_radius_mm=88.0, thickness_mm=40.0, front_width_mm=10.0, front_slope_deg=30.0)
    enters = 88.0 - 1.0 * math.tan(math.radians(30.0))
    cases = [
        (PLATE, moved(RIM, depth_shoulder_mm=49.0), 88.0 - 49.0 - POINT),
        (formed(rim), moved(RIM, depth_shoulder_mm=49.0, from_middle_mm=-11.0), enters - 49.0 - POINT),
        # 10 mm beside the radius it enters where a circle of 88 mm stands over 10 mm
        (PLATE, moved(RIM, depth_shoulder_mm=49.0, beside_mm=10.0), math.sqrt(88**2 - 100.0) - 49.0 - POINT),
    ]
    # all of this one's mouth lies below the outline's own radius, on a taper toward the front
    taper = tapered(outer_radius_mm=88.0, thickness_mm=40.0, taper_deg=20.0)
    enters = 88.0 - 8.0 * math.tan(math.radians(20.0))
    cases.append(
        (formed(taper), moved(RIM, depth_shoulder_mm=49.0, from_middle_mm=-8.0), enters - 49.0 - POINT)
    )
    for counterweight, cut, tip in cases:
        text = next(each for each in told(counterweight, cut) if "below the inner radius" in each)
        assert length_mm(text, "its tip reaches radius") == pytest.approx(tip, abs=0.006)


def test_a_hole_of_which_only_the_point_enters() -> None:
    """A face hole whose shoulder stands 1 mm above the face goes in by its point less 1 mm; the far wall is what is left."""
    thin = dataclasses.replace(PLATE, thickness_mm=5.0)
    (text,) = told(thin, moved(FACE, depth_shoulder_mm=-1.0))
    assert length_mm(text, "wall below its tip is") == pytest.approx(5.0 - (POINT - 1.0), abs=0.006)
    # no deeper than its point it has none: it does not enter at all
    assert (
        told(dataclasses.replace(thin, thickness_mm=3.0), moved(FACE, depth_shoulder_mm=-POINT - 0.5)) == ()
    )
    # at nothing the whole point is in
    (text,) = told(thin, moved(FACE, depth_shoulder_mm=0.0))
    assert length_mm(text, "wall below its tip is") == pytest.approx(5.0 - POINT, abs=0.006)


@pytest.mark.parametrize("depth_mm", [-1.0, 0.0, 0.5])
def test_a_shallow_rim_hole_ends_at_its_point(depth_mm: float) -> None:
    """Above an old bore whose top is at 82.5 mm: what is left to the tip, at 88 mm less depth and point."""
    old = ExistingHole(kind="face hole", angle_deg=CENTRE, diameter_mm=15.0, radius_mm=75.0, through=True)
    counterweight = dataclasses.replace(PLATE, existing=(old,))
    (text,) = told(counterweight, moved(RIM, depth_shoulder_mm=depth_mm))
    left = 88.0 - depth_mm - POINT - 82.5
    assert length_mm(text, "radius 75 mm is") == pytest.approx(left, abs=0.006)


@pytest.mark.parametrize(
    ("angles", "twice"),
    [((205.0, 205.0), True), ((205.0, 565.0), True), ((0.0, 359.9999999), True), ((205.0, 206.0), False)],
)
def test_a_hole_is_filled_once(angles: tuple[float, float], twice: bool) -> None:
    cuts = [
        Cut(
            kind="fill",
            counterweight="A",
            angle_deg=angle,
            diameter_mm=15.0,
            radius_mm=60.0,
            length_mm=24.0,
            through=True,
        )
        for angle in angles
    ]
    assert told(PLATE, *cuts) == (("cut 2: the hole is filled twice",) if twice else ())
    assert told(PLATE, cuts[0], moved(cuts[1], radius_mm=50.0)) == ()


def test_one_hole_is_drilled_deeper_once() -> None:
    old = ExistingHole(
        kind="rim hole",
        angle_deg=CENTRE,
        diameter_mm=14.2,
        depth_shoulder_mm=20.0,
        point_angle_deg=118.0,
    )
    counterweight = dataclasses.replace(PLATE, existing=(old,))
    deeper = moved(RIM, from_depth_mm=20.0, depth_shoulder_mm=26.0)
    assert told(counterweight, deeper) == ()
    faults = told(counterweight, deeper, deeper)
    assert faults[0] == "cut 2: cut 1 deepens the same hole"
    # a new hole beside it sees the old one, or the deeper one in its place, never both
    beside = moved(RIM, angle_deg=CENTRE + 8.0)
    assert sum("old rim hole" in text for text in told(counterweight, beside)) == 1
    both = told(counterweight, deeper, beside)
    assert sum("old rim hole" in text for text in both) == 0
    assert sum("cut 2" in text and "cut 1" in text for text in both) == 1


def test_drilled_holes_come_out_wider_and_bores_of_slugs_do_not() -> None:
    """Two on one radius, the wall between them the chord less both half widths: kept or short by a hundredth."""
    for kind, half in (("face hole", WIDE), ("slug", 7.0)):
        chord = 2.0 * half + 3.0
        turn = 2.0 * math.degrees(math.asin(chord / (2.0 * 60.0)))
        changes = {"length_mm": 40.0, "depth_shoulder_mm": None} if kind == "slug" else {}
        cut = moved(FACE, kind=kind, through=True, **(changes or {"depth_shoulder_mm": None}))
        beside = moved(cut, angle_deg=CENTRE + turn)
        assert told(PLATE, cut, beside) == ()
        (text,) = told(PLATE, cut, moved(beside, angle_deg=CENTRE + turn - 0.01))
        assert "cut 1" in text
        assert "cut 2" in text


def test_face_holes_keep_the_wall_to_the_lowest_place_of_a_rim() -> None:
    """Of a bevel 10 mm wide at 45 degrees: 78 mm at the face, wherever the hole goes in."""
    rim = bevelled(outer_radius_mm=88.0, thickness_mm=40.0, front_width_mm=10.0)
    for radius in (78.0 - 3.0 - WIDE - 1e-7, 78.0 - 2.9 - WIDE):
        kept = radius < 78.0 - 3.0 - WIDE
        assert bool(told(formed(rim), moved(FACE, radius_mm=radius))) is not kept
    groove = stepped(plates=((18.0, 88.0), (4.0, 70.0), (18.0, 88.0)))
    (text,) = told(formed(groove), moved(FACE, radius_mm=61.0))
    assert length_mm(text, "wall to the rim is") == pytest.approx(70.0 - 61.0 - WIDE, abs=0.006)


def test_opposite_holes_each_keep_to_their_half() -> None:
    """20 mm to the middle, half a wall of 3 mm short of it: 18.5 mm for depth and point together."""
    shop = dataclasses.replace(SHOP, opposite_face_holes=True)
    greatest = 20.0 - 1.5 - POINT
    front, rear = moved(FACE, depth_shoulder_mm=greatest), moved(FACE, face="rear", depth_shoulder_mm=5.0)
    assert told(PLATE, front, rear, shop=shop) == ()
    assert told(PLATE, rear, front, shop=shop) == ()
    too_deep = moved(front, depth_shoulder_mm=greatest + 1e-3)
    assert told(PLATE, too_deep, rear, shop=shop)
    assert told(PLATE, rear, too_deep, shop=shop)
    assert told(PLATE, front, moved(rear, face="front"), shop=shop)
    assert told(PLATE, front, rear)  # the shop does not allow it
    # one that goes through, or a rim hole, stands opposite to nothing
    assert told(PLATE, front, moved(rear, through=True, depth_shoulder_mm=None), shop=shop)
    assert told(PLATE, front, moved(RIM, depth_shoulder_mm=25.0), shop=shop)


def test_an_old_blind_hole_opposite_is_left_out_for_face_holes_alone() -> None:
    shop = dataclasses.replace(SHOP, opposite_face_holes=True)
    greatest = 20.0 - 1.5 - 7.0 / math.tan(math.radians(59.0))
    old = ExistingHole(
        kind="face hole",
        angle_deg=CENTRE,
        diameter_mm=14.0,
        depth_shoulder_mm=greatest,
        radius_mm=60.0,
        face="rear",
        point_angle_deg=118.0,
    )

    def faults(cut: Cut, **changes: object) -> tuple[str, ...]:
        hole = dataclasses.replace(old, **changes)  # type: ignore[arg-type]
        return told(dataclasses.replace(PLATE, existing=(hole,)), cut, shop=shop)

    assert faults(FACE) == ()
    assert faults(FACE, depth_shoulder_mm=greatest + 1e-3)
    assert faults(FACE, face="front")
    assert faults(FACE, through=True, depth_shoulder_mm=None)
    # a rim hole of 25 mm comes down to its bore whatever face it was drilled from
    assert faults(moved(RIM, depth_shoulder_mm=25.0))


@pytest.mark.parametrize(("pinned", "fault"), [("", True), ("1", True), ("2", True), ("12", False)])
def test_what_pinned_cuts_do_to_each_other_is_a_warning(pinned: str, fault: bool) -> None:
    assert bool(told(PLATE, RIM, moved(RIM, angle_deg=CENTRE + 5.0), pinned=pinned)) is fault


def test_an_oil_drilling_counts_where_a_rim_hole_reaches_and_for_face_holes_all_through() -> None:
    """A drilling along the shaft at 75 mm that ends 13.2 mm ahead of the middle plane: 7.1, its 3 and its wall of 3."""
    drilling = OilDrilling(
        from_z_mm=0.0,
        from_radius_mm=75.0,
        from_angle_deg=CENTRE,
        to_z_mm=52.0 - 13.2,
        to_radius_mm=75.0,
        to_angle_deg=CENTRE,
        diameter_mm=6.0,
        clearance_mm=3.0,
    )

    def hit(cut: Cut) -> bool:
        return any("oil drilling" in text for text in told(PLATE, cut, drillings=(drilling,)))

    assert not hit(RIM)  # 7.1 mm about the middle plane: the drilling ends ahead of it
    assert hit(moved(RIM, from_middle_mm=-8.0))
    assert hit(moved(FACE, radius_mm=70.0, face="rear"))


def test_only_old_blind_face_holes_are_left_out() -> None:
    shop = dataclasses.replace(SHOP, opposite_face_holes=True)
    rim = ExistingHole(kind="rim hole", angle_deg=CENTRE, diameter_mm=14.0, depth_shoulder_mm=22.0)
    through = ExistingHole(kind="face hole", angle_deg=CENTRE, diameter_mm=14.0, radius_mm=60.0, through=True)
    for old in (rim, through):
        assert told(dataclasses.replace(PLATE, existing=(old,)), FACE, shop=shop)


TURNED = Cut(
    kind="rim turning",
    counterweight="A",
    angle_deg=CENTRE,
    diameter_mm=0.0,
    depth_shoulder_mm=4.0,
    sector_deg=30.0,
)
FLAT = dataclasses.replace(TURNED, kind="flat", depth_shoulder_mm=8.0, sector_deg=None)


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(
    ("sector_deg", "near_mm", "past"),
    # its middle 40 degrees from the centre line, the flank at 58; nearest to it at the bottom, on 84 mm
    [(30.0, None, False), (31.9, None, False), (34.0, 84.0 * math.sin(math.radians(1.0)), False), (36.1, 0.0, True)],
)  # fmt: skip
def test_turning_a_rim_keeps_off_the_flank(
    side: float, sector_deg: float, near_mm: float | None, past: bool
) -> None:
    cut = dataclasses.replace(TURNED, angle_deg=CENTRE + side * 40.0, sector_deg=sector_deg)
    found = told(PLATE, cut)
    flank = [each for each in found if "flank" in each or "edge" in each]
    assert [float(re.findall(r"[\d.]+ mm to", each)[0].split()[0]) for each in flank] == pytest.approx(
        [] if near_mm is None else [near_mm], abs=1e-3
    )
    assert any("past the end of the rim" in each for each in found) == past


@pytest.mark.parametrize(
    ("off_mm", "left"), [(48.9, None), (49.0, None), (49.1, "it leaves 2.900 mm above the inner radius")]
)
def test_turning_a_rim_leaves_the_wall_to_the_body(off_mm: float, left: str | None) -> None:
    """From 88 down to 36 are 52; 3 stay."""
    found = told(PLATE, dataclasses.replace(TURNED, depth_shoulder_mm=off_mm, sector_deg=20.0))
    assert [each for each in found if "leaves" in each] == (
        [] if left is None else [f"cut 1: {left}, 3 mm is needed"]
    )


@pytest.mark.parametrize("turned_deg", [0.0, 25.0, -25.0])
@pytest.mark.parametrize(("radius", "wall"), [(69.9, None), (71.0, 1.9)])
def test_a_flat_keeps_the_wall_to_a_hole_below_it(
    turned_deg: float, radius: float, wall: float | None
) -> None:
    """The flat lies 80 mm from the shaft; a hole of 14.2 mm at radius 69.9 ends 3 mm below it."""
    angle = CENTRE + turned_deg
    hole = dataclasses.replace(FACE, radius_mm=radius, angle_deg=angle)
    found = told(PLATE, dataclasses.replace(FLAT, angle_deg=angle), hole)
    assert len(found) == (0 if wall is None else 1)
    if wall is not None:
        assert f"{wall:.3f} mm to" in found[0]


def test_a_hole_beside_a_flat_is_measured_to_its_corner() -> None:
    """The flat ends where its chord meets the rim, at acos(80/88) = 24.62 degrees; a hole at 70 mm, 35 degrees on.

    From its middle (57.340, 40.150) to the corner (80, 36.661): 22.927 less 7.1.  Farther than any wall here: asked for by a
    shop that keeps 20 mm.
    """
    hole = dataclasses.replace(FACE, radius_mm=70.0, angle_deg=CENTRE + 35.0)
    found = told(PLATE, FLAT, hole, shop=dataclasses.replace(SHOP, least_wall_mm=20.0))
    x, y = 70.0 * math.cos(math.radians(35.0)), 70.0 * math.sin(math.radians(35.0))
    corner = math.hypot(80.0 - x, math.sqrt(88.0**2 - 80.0**2) - y)
    assert any(f"{corner - 7.1:.3f} mm to" in each for each in found)


def test_two_cuts_of_one_rim_keep_the_wall_to_one_another() -> None:
    """Sectors of 30 degrees, 32 apart: 2 degrees between them, at the bottom on 84 mm."""
    other = dataclasses.replace(TURNED, angle_deg=CENTRE + 32.0)
    apart = 2.0 * 84.0 * math.sin(math.radians(1.0))
    (found,) = told(PLATE, TURNED, other)
    assert f"{apart:.3f} mm to cut 1, 3 mm is needed" in found
    assert told(PLATE, TURNED, dataclasses.replace(other, angle_deg=CENTRE + 33.0)) == ()


def test_a_flat_reaches_past_the_rims_end() -> None:
    """At 40 degrees from the centre line it takes 24.6 to either side: 64.6, and the rim ends at 58."""
    found = told(PLATE, dataclasses.replace(FLAT, angle_deg=CENTRE + 40.0))
    assert any("past the end of the rim" in each for each in found)
    assert told(PLATE, dataclasses.replace(FLAT, angle_deg=CENTRE + 30.0)) == ()


def test_what_the_user_asked_of_the_rim_is_his_own_but_what_the_plan_adds_is_not() -> None:
    """Turned up to a degree from the flank, as pinned: a warning.  A planned hole under a pinned flat: the plan's fault."""
    near_flank = dataclasses.replace(TURNED, angle_deg=CENTRE + 40.0, sector_deg=34.0)
    assert told(PLATE, near_flank, pinned="1") == ()
    assert len(told(PLATE, near_flank)) == 1
    hole = dataclasses.replace(FACE, radius_mm=71.0)
    assert len(told(PLATE, FLAT, hole, pinned="1")) == 1
    assert len(told(PLATE, FLAT, hole, pinned="2")) == 1
    assert told(PLATE, FLAT, hole, pinned="12") == ()
