"""A rim turned down and an old hole filled: against closed forms and against integration.

Sector of a ring about the axis: first moment ``(2/3) (R^3 - r^3) sin(half angle) * thickness * density`` along its centre
line (Gieck, Technical Formulae, centre of area of a sector, from memory; integrated here by hand: integral of r*cos over
r dr d(angle)).  Half ring: the same with 90 degrees.
"""

from __future__ import annotations

import cmath
import dataclasses
import math

import pytest

from geometry_profiles import rims
from geometry_profiles.shapes import disc, fan, half_disc
from planner.correction.problem import CorrectionProblem
from planner.correction.verify.integrals import cone_mm, rim_hole
from planner.cuts.cut import Shop
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight, ExistingHole
from planner.rotor.limits import LimitRow
from planner.steps.reshaping import turned_outline, with_hole_filled, with_rim_turned

METAL = 7.85e-3
FAN = fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0)
HOLE = ExistingHole(
    kind="rim hole", angle_deg=215.0, diameter_mm=12.0, depth_shoulder_mm=20.0, point_angle_deg=135.0
)


def problem_with(counterweight: Counterweight) -> CorrectionProblem:
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes(100 + 0j, 50j),
        planes_z_mm=TwoPlanes(0.0, 400.0),
        limits=(LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=100.0),),
        counterweights=(counterweight,),
        # neither the shop's point nor its oversize may leak into an old hole
        shop=Shop(drills_mm=(16.0,), hole_oversize_mm=0.2, point_angle_deg=118.0),
        density_g_per_cm3=7.85,
    )


def counterweight(**changes: object) -> Counterweight:
    base = Counterweight(
        name="A", z_mm=100.0, angle_deg=198.0, thickness_mm=24.0, outline=FAN, cuts=("rim hole",)
    )
    return dataclasses.replace(base, **changes)  # type: ignore[arg-type]


def change_at(before: CorrectionProblem, after: CorrectionProblem) -> complex:
    """Return the change at z = 100, three quarters of which enter the left plane."""
    left = after.unbalance_gmm[0] - before.unbalance_gmm[0]
    right = after.unbalance_gmm[1] - before.unbalance_gmm[1]
    assert left == pytest.approx(3.0 * right)
    return left + right


def taken_by(hole: ExistingHole, rim_mm: float) -> float:
    assert hole.depth_shoulder_mm is not None
    return (
        METAL
        * rim_hole(
            rim_radius_mm=rim_mm,
            diameter_mm=hole.diameter_mm,
            depth_shoulder_mm=hole.depth_shoulder_mm,
            cone_height_mm=cone_mm(diameter_mm=hole.diameter_mm, point_angle_deg=hole.point_angle_deg),
            z_mm=100.0,
        ).moment_mm4
    )


@pytest.mark.parametrize("off", [0.5, 1.0, 2.0, 4.0])
def test_a_fans_ring(off: float) -> None:
    before = problem_with(counterweight())
    after = with_rim_turned(before, "A", off)
    assert after is not None
    ring = 2.0 / 3.0 * (88.0**3 - (88.0 - off) ** 3) * math.sin(math.radians(58.0)) * 24.0 * METAL
    assert change_at(before, after) == pytest.approx(-ring * cmath.rect(1.0, math.radians(198.0)), rel=1e-9)
    assert after.counterweights[0].outline.rim_radius_mm == 88.0 - off


def test_a_half_discs_ring() -> None:
    outline = half_disc(outer_radius_mm=66.0, inner_radius_mm=30.0)
    before = problem_with(counterweight(outline=outline))
    after = with_rim_turned(before, "A", 2.0)
    assert after is not None
    ring = 2.0 / 3.0 * (66.0**3 - 64.0**3) * 24.0 * METAL
    assert change_at(before, after) == pytest.approx(-ring * cmath.rect(1.0, math.radians(198.0)), rel=1e-6)


def test_the_ring_has_no_metal_where_an_old_hole_is() -> None:
    before = problem_with(counterweight(existing=(HOLE,)))
    after = with_rim_turned(before, "A", 2.0)
    assert after is not None
    (left,) = after.counterweights[0].existing
    assert left.depth_shoulder_mm == 18.0
    ring = 2.0 / 3.0 * (88.0**3 - 86.0**3) * math.sin(math.radians(58.0)) * 24.0 * METAL
    missing = taken_by(HOLE, 88.0) - taken_by(left, 86.0)
    expected = -ring * cmath.rect(1.0, math.radians(198.0)) + missing * cmath.rect(1.0, math.radians(215.0))
    assert change_at(before, after) == pytest.approx(expected, rel=1e-6)


def test_a_hole_shallower_than_the_ring_is_gone() -> None:
    shallow = dataclasses.replace(HOLE, depth_shoulder_mm=1.5)
    after = with_rim_turned(problem_with(counterweight(existing=(shallow,))), "A", 2.0)
    assert after is not None
    assert after.counterweights[0].existing == ()


@pytest.mark.parametrize("off_mm", [0.7, 1.3, 2.6, 3.9, 5.1])
def test_a_hole_just_as_deep_as_the_ring_is_gone_however_radii_round(off_mm: float) -> None:
    hole = ExistingHole(kind="rim hole", angle_deg=198.0, diameter_mm=12.0, depth_shoulder_mm=off_mm)
    for rim_mm in (83.3, 88.0):
        fan_of = fan(outer_radius_mm=rim_mm, half_angle_deg=58.0, inner_radius_mm=36.0)
        turned = with_rim_turned(problem_with(counterweight(outline=fan_of, existing=(hole,))), "A", off_mm)
        assert turned is not None
        assert turned.counterweights[0].existing == ()


def test_face_holes_stay() -> None:
    face = ExistingHole(kind="face hole", angle_deg=190.0, diameter_mm=12.0, radius_mm=60.0, through=True)
    plain, drilled = counterweight(), counterweight(existing=(face,))
    one = with_rim_turned(problem_with(plain), "A", 2.0)
    other = with_rim_turned(problem_with(drilled), "A", 2.0)
    assert one is not None
    assert other is not None
    assert other.counterweights[0].existing == (face,)
    assert one.unbalance_gmm == other.unbalance_gmm


def test_what_can_not_be_turned() -> None:
    assert turned_outline(disc(outer_radius_mm=88.0, inner_radius_mm=36.0), 1.0) is None
    assert turned_outline(FAN, 60.0) is None
    assert with_rim_turned(problem_with(counterweight()), "A", 60.0) is None


def test_filling_a_rim_hole_puts_its_moment_back() -> None:
    before = problem_with(counterweight(existing=(HOLE,)))
    after = with_hole_filled(before, "A", 0)
    assert after.counterweights[0].existing == ()
    expected = taken_by(HOLE, 88.0) * cmath.rect(1.0, math.radians(215.0))
    assert change_at(before, after) == pytest.approx(expected, rel=1e-6)


def test_filling_a_through_face_hole() -> None:
    face = ExistingHole(kind="face hole", angle_deg=190.0, diameter_mm=12.0, radius_mm=60.0, through=True)
    other = dataclasses.replace(face, angle_deg=220.0)
    before = problem_with(counterweight(existing=(other, face)))
    after = with_hole_filled(before, "A", 1)
    assert after.counterweights[0].existing == (other,)
    moment = METAL * math.pi / 4 * 12.0**2 * 24.0 * 60.0
    assert change_at(before, after) == pytest.approx(moment * cmath.rect(1.0, math.radians(190.0)), rel=1e-9)


@pytest.mark.parametrize("existing", [(), (HOLE,)])
def test_a_plain_rim_given_as_a_form_turns_to_the_same(existing) -> None:
    """Two routes: the outline drawn smaller, and the rim's form cut off, summed across the thickness."""
    plain = problem_with(counterweight(existing=existing))
    form = rims.cylindrical(outer_radius_mm=88.0, thickness_mm=24.0)
    formed = problem_with(counterweight(existing=existing, rim=form))
    one, other = (with_rim_turned(each, "A", 2.0) for each in (plain, formed))
    assert one is not None
    assert other is not None
    assert other.unbalance_gmm == pytest.approx(one.unbalance_gmm, rel=1e-9)
    assert other.counterweights[0].rim is not None
    assert other.counterweights[0].rim.greatest_radius_mm == 86.0
    assert other.counterweights[0].existing == one.counterweights[0].existing


def test_a_bevelled_rim_turned_down_keeps_its_bevel_below() -> None:
    """From first principles: 1 mm off a land of 16 mm between bevels of 4 mm at 45 degrees takes a trapezium's ring."""
    form = rims.bevelled(outer_radius_mm=88.0, thickness_mm=24.0, front_width_mm=4.0, rear_width_mm=4.0)
    before = problem_with(counterweight(rim=form))
    after = with_rim_turned(before, "A", 1.0)
    assert after is not None
    sine = 2.0 / 3.0 * math.sin(math.radians(58.0)) * METAL
    land = 16.0 * (88.0**3 - 87.0**3)
    # either bevel: integral over x from 0 to 1 of (88 - x)^3 - 87^3
    bevels = 2.0 * ((88.0**4 - 87.0**4) / 4.0 - 87.0**3)
    assert change_at(before, after) == pytest.approx(
        -sine * (land + bevels) * cmath.rect(1.0, math.radians(198.0)), rel=1e-9
    )
    turned = after.counterweights[0].rim
    assert turned is not None
    assert turned.radius_mm(0.0) == 87.0
    assert turned.radius_mm(12.0) == pytest.approx(84.0)


def test_a_rounding_that_would_be_cut_into_is_left_alone() -> None:
    form = rims.rounded(outer_radius_mm=88.0, thickness_mm=24.0, front_rounding_mm=5.0)
    assert with_rim_turned(problem_with(counterweight(rim=form)), "A", 2.0) is None
