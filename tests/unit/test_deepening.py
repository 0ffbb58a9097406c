"""A hole drilled deeper: what that does, which hole it is, and what stands in its way.

Truth: sums of columns written out here, and the whole hole weighed before and after; no value from memory.
"""

from __future__ import annotations

import dataclasses
import math

import pytest

from geometry_profiles.shapes import fan
from planner.correction.candidates.blocks import build_blocks
from planner.correction.candidates.obstacles import symmetric_obstacles
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.correction.verify.verify_plan import verify, weigh
from planner.cuts.cut import Cut, Shop
from planner.cuts.deepening import (
    can_be_deepened,
    can_be_enlarged,
    fills_hole,
    hole_to_deepen,
    same_hole,
    without_deepened,
)
from planner.cuts.effects import effect_of
from planner.errors import InputError
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight, ExistingHole
from planner.steps.chances import uncertain_passes
from planner.steps.first_pass import first_pass_stop_mm
from planner.uncertainty.uncertain_cut import uncertain_cut

SHOP = Shop(drills_mm=(14.0, 16.0), hole_oversize_mm=0.2, greatest_depth_mm=40.0, angle_step_deg=1.0)
RIM = ExistingHole(kind="rim hole", angle_deg=172.3, diameter_mm=16.2, depth_shoulder_mm=20.0)
FACE = ExistingHole(
    kind="face hole", angle_deg=205.0, diameter_mm=14.2, depth_shoulder_mm=8.0, radius_mm=64.0, face="rear"
)
WEIGHT = Counterweight(
    name="A",
    z_mm=52.0,
    angle_deg=180.0,
    thickness_mm=26.0,
    outline=fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0),
    cuts=("rim hole", "face hole", "slug", "fill"),
    existing=(RIM, FACE),
)
PROBLEM = CorrectionProblem(
    unbalance_gmm=TwoPlanes(-3000.0 + 0j, 0j),
    planes_z_mm=TwoPlanes(40.0, 480.0),
    limits=(LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=30_000.0),),
    counterweights=(WEIGHT,),
    shop=SHOP,
    density_g_per_cm3=7.85,
)
DEEPER = Cut(
    kind="rim hole",
    counterweight="A",
    angle_deg=172.3,
    diameter_mm=16.0,
    depth_shoulder_mm=27.0,
    from_depth_mm=20.0,
)
DEEPER_FACE = Cut(
    kind="face hole",
    counterweight="A",
    angle_deg=205.0,
    diameter_mm=14.0,
    depth_shoulder_mm=12.0,
    from_depth_mm=8.0,
    radius_mm=64.0,
    face="rear",
)


def effect(cut: Cut):
    return effect_of(cut, counterweight=WEIGHT, density_g_per_cm3=7.85, shop=SHOP)


def test_between_two_depths_the_metal_is_a_plain_cylinder_of_that_length():
    """Both holes have the same point: moved down by 7 mm it leaves a cylinder of 7 mm and takes its cone along.

    Volume: pi a^2 (27 - 20).  Moment: of the cylinder between the shoulders, less the cone where it was, plus the same
    cone where it is; a cone of height c has its middle c/4 below its base.
    """
    a = 8.1
    c = a / math.tan(math.radians(59.0))
    volume = math.pi * a * a * 7.0
    cone = math.pi * a * a * c / 3.0
    moment = volume * (88.0 - 23.5) + cone * ((88.0 - 27.0 - c / 4.0) - (88.0 - 20.0 - c / 4.0))
    found = effect(DEEPER)
    assert found.mass_g == pytest.approx(-volume * 7.85 / 1000.0, rel=1e-12)
    assert found.unbalance_gmm == pytest.approx(-moment * 7.85 / 1000.0, rel=1e-12)
    assert found.z_mm == 52.0


def test_a_blind_face_hole_made_deeper_acts_deeper_inside_than_the_whole_hole():
    a = 7.1
    c = a / math.tan(math.radians(59.0))
    cylinder, cone = math.pi * a * a * 4.0, math.pi * a * a * c / 3.0
    # depths below the rear face: cylinder from 8 to 12, the cone moved from 8 to 12
    inside = (cylinder * 10.0 + cone * ((12.0 + c / 4.0) - (8.0 + c / 4.0))) / cylinder
    found = effect(DEEPER_FACE)
    assert found.mass_g == pytest.approx(-cylinder * 7.85 / 1000.0, rel=1e-12)
    assert found.unbalance_gmm == pytest.approx(-cylinder * 7.85 / 1000.0 * 64.0, rel=1e-12)
    assert found.z_mm == pytest.approx(52.0 + 13.0 - inside, abs=1e-9)
    whole = effect(dataclasses.replace(DEEPER_FACE, from_depth_mm=None))
    assert found.z_mm < whole.z_mm


@pytest.mark.parametrize("cut", [DEEPER, DEEPER_FACE])
def test_first_pass_and_deepening_are_the_whole_hole(cut):
    assert cut.from_depth_mm is not None
    whole = effect(dataclasses.replace(cut, from_depth_mm=None))
    first = effect(dataclasses.replace(cut, depth_shoulder_mm=cut.from_depth_mm, from_depth_mm=None))
    rest = effect(cut)
    assert first.mass_g + rest.mass_g == pytest.approx(whole.mass_g, rel=1e-12)
    assert first.unbalance_gmm + rest.unbalance_gmm == pytest.approx(whole.unbalance_gmm, rel=1e-12)
    together = first.unbalance_gmm * first.z_mm + rest.unbalance_gmm * rest.z_mm
    assert together == pytest.approx(whole.unbalance_gmm * whole.z_mm, rel=1e-12)


@pytest.mark.parametrize("cut", [DEEPER, DEEPER_FACE])
def test_verification_weighs_it_the_same_by_columns(cut):
    found, formula = weigh(cut, WEIGHT, problem=PROBLEM), effect(cut)
    assert found.mass_g == pytest.approx(formula.mass_g, rel=1e-9)
    assert found.drilled_g == pytest.approx(-formula.mass_g, rel=1e-9)
    assert found.unbalance_gmm == pytest.approx(formula.unbalance_gmm, rel=1e-9)
    assert found.z_mm == pytest.approx(formula.z_mm, abs=1e-7)


def test_a_shallow_start_in_the_curve_of_the_rim_is_exact_too():
    shallow = dataclasses.replace(DEEPER, from_depth_mm=0.1, depth_shoulder_mm=6.0)
    found = weigh(shallow, WEIGHT, problem=PROBLEM)
    assert found.unbalance_gmm == pytest.approx(effect(shallow).unbalance_gmm, rel=1e-9)


def test_a_good_deepening_has_no_fault_though_its_own_hole_is_in_its_place():
    report = verify(PROBLEM, [DEEPER, DEEPER_FACE])
    assert report.faults == ()
    # without saying that it is the same hole it runs into it
    other = dataclasses.replace(DEEPER, from_depth_mm=None, angle_deg=172.0)
    assert any("runs" in fault or "wall" in fault for fault in verify(PROBLEM, [other]).faults)


def test_the_whole_new_depth_keeps_its_walls_to_others():
    near = ExistingHole(kind="face hole", angle_deg=173.0, diameter_mm=10.0, radius_mm=50.0, through=True)
    weight = dataclasses.replace(WEIGHT, existing=(RIM, FACE, near))
    problem = dataclasses.replace(PROBLEM, counterweights=(weight,))
    assert any("old face hole" in fault for fault in verify(problem, [DEEPER]).faults)
    assert verify(problem, [dataclasses.replace(DEEPER, depth_shoulder_mm=21.0)]).faults == ()


def test_a_new_hole_keeps_its_wall_to_the_deepened_one():
    # beside the old depth there is room, beside the new tip there is not
    beside = Cut(
        kind="face hole", counterweight="A", angle_deg=172.0, diameter_mm=14.0, radius_mm=44.0, through=True
    )
    assert verify(PROBLEM, [beside]).faults == ()
    deep = dataclasses.replace(DEEPER, depth_shoulder_mm=33.0)
    assert any("wall" in fault or "runs" in fault for fault in verify(PROBLEM, [beside, deep]).faults)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"angle_deg": 172.5}, "no open hole of 16 mm, 20 mm deep"),
        ({"from_depth_mm": 19.0}, "no open hole of 16 mm, 19 mm deep"),
        ({"diameter_mm": 14.0}, "no open hole of 14 mm"),
        ({"depth_shoulder_mm": 20.0}, "which is no deeper"),
        ({"from_depth_mm": float("nan")}, "which is no deeper"),
        ({"depth_shoulder_mm": 27.3}, "not on the grid"),
        ({"depth_shoulder_mm": 40.5}, "more than 40 mm"),
    ],
)
def test_verification_faults_a_deepening_that_is_none(change, words):
    report = verify(PROBLEM, [dataclasses.replace(DEEPER, **change)])
    assert any(words in fault for fault in report.faults), report.faults


def test_two_deepenings_of_one_hole_are_a_fault():
    report = verify(PROBLEM, [DEEPER, dataclasses.replace(DEEPER, depth_shoulder_mm=25.0)])
    assert any("deepens the same hole" in fault for fault in report.faults)


def test_another_point_is_another_hole():
    """A hole with a flat bottom would lose the cone's share more or less: not the difference of two of the shop's."""
    flat = dataclasses.replace(RIM, point_angle_deg=180.0)
    weight = dataclasses.replace(WEIGHT, existing=(flat,))
    assert hole_to_deepen(DEEPER, weight, shop=SHOP) is None
    faults = verify(dataclasses.replace(PROBLEM, counterweights=(weight,)), [DEEPER]).faults
    assert any("no open hole" in fault for fault in faults)


def test_which_hole_it_is():
    assert hole_to_deepen(DEEPER, WEIGHT, shop=SHOP) == 0
    assert hole_to_deepen(DEEPER_FACE, WEIGHT, shop=SHOP) == 1
    assert hole_to_deepen(dataclasses.replace(DEEPER_FACE, face="front"), WEIGHT, shop=SHOP) is None
    filled = dataclasses.replace(FACE, filled_density_g_per_cm3=17.5)
    weight = dataclasses.replace(WEIGHT, existing=(RIM, filled))
    assert hole_to_deepen(DEEPER_FACE, weight, shop=SHOP) is None
    assert without_deepened(WEIGHT, [DEEPER], shop=SHOP).existing == (FACE,)
    assert same_hole(DEEPER, dataclasses.replace(DEEPER, depth_shoulder_mm=30.0, from_depth_mm=27.0))
    assert not same_hole(DEEPER, dataclasses.replace(DEEPER, angle_deg=173.3))


def test_a_pinned_deepening_stands_in_the_way_with_its_new_depth_only():
    before = symmetric_obstacles(WEIGHT, shop=SHOP)
    after = symmetric_obstacles(WEIGHT, pinned=(DEEPER,), shop=SHOP)
    assert len(after) == len(before)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"kind": "slug", "radius_mm": 60.0, "length_mm": 10.0}, "can't be made deeper"),
        ({"kind": "face hole", "radius_mm": 60.0, "through": True}, "can't be made deeper"),
        ({"depth_shoulder_mm": 20.0}, "is no deeper"),
        ({"depth_shoulder_mm": None}, "has no depth"),
    ],
)
def test_what_can_not_be_made_deeper_is_refused(change, words):
    with pytest.raises(InputError, match=words):
        effect(dataclasses.replace(DEEPER, **change))


@pytest.mark.parametrize(
    ("thickness_mm", "there"), [(26.0, True), (22.2, True), (22.1, False), (18.0, False)]
)
def test_the_search_deepens_no_hole_without_a_wall_to_the_faces(thickness_mm: float, there: bool) -> None:
    thin = dataclasses.replace(WEIGHT, thickness_mm=thickness_mm, existing=(RIM,))
    problem = dataclasses.replace(PROBLEM, counterweights=(thin,))
    blocks = [block for block in build_blocks(problem) if block.from_depth_mm is not None]
    assert bool(blocks) == there
    assert (not verify(problem, [DEEPER]).faults) == there


def test_its_depth_error_is_the_whole_holes_and_the_first_passes_is_drilled_away():
    whole = dataclasses.replace(DEEPER, from_depth_mm=None)
    first = dataclasses.replace(whole, depth_shoulder_mm=20.0)
    settings = {"counterweight": WEIGHT, "density_g_per_cm3": 7.85, "shop": SHOP}
    one, other = uncertain_cut(DEEPER, **settings), uncertain_cut(whole, **settings)
    assert one.per_depth_gmm_per_mm == pytest.approx(other.per_depth_gmm_per_mm, rel=1e-9)
    assert one.curvature_gmm_per_mm2 == pytest.approx(other.curvature_gmm_per_mm2, rel=1e-6)
    made, cuts = uncertain_passes(PROBLEM, [first], [DEEPER])
    assert made[0].per_depth_gmm_per_mm == 0.0
    assert cuts[0].per_depth_gmm_per_mm == one.per_depth_gmm_per_mm
    assert made[0].amount_gmm + cuts[0].amount_gmm == pytest.approx(other.amount_gmm, rel=1e-12)


def test_its_own_first_pass_is_a_share_of_what_it_adds():
    stop = first_pass_stop_mm(DEEPER, WEIGHT, shop=SHOP, share=0.7)
    assert stop is not None
    assert 20.0 < stop < 27.0
    added = effect(dataclasses.replace(DEEPER, depth_shoulder_mm=stop)).unbalance_gmm
    more = effect(dataclasses.replace(DEEPER, depth_shoulder_mm=stop + 0.5)).unbalance_gmm
    assert abs(added) <= 0.7 * abs(effect(DEEPER).unbalance_gmm) < abs(more)
    # a step that would add nothing is no pass
    small = dataclasses.replace(DEEPER, depth_shoulder_mm=20.5)
    assert first_pass_stop_mm(small, WEIGHT, shop=SHOP, share=0.7) == 20.5
    shares = dataclasses.replace(SHOP, first_pass=0.5)
    assert first_pass_stop_mm(DEEPER, WEIGHT, shop=shares, share=1.0) == 23.5


OPEN = ExistingHole(kind="face hole", angle_deg=205.0, diameter_mm=14.2, radius_mm=64.0, through=True)
DRILLED_OUT = Cut(
    kind="face hole",
    counterweight="A",
    angle_deg=205.0,
    diameter_mm=16.0,
    from_diameter_mm=14.2,
    radius_mm=64.0,
    through=True,
)


def with_holes(*holes: ExistingHole) -> Counterweight:
    return dataclasses.replace(WEIGHT, existing=holes)


@pytest.mark.parametrize(
    ("change", "index"),
    [
        ({}, 1),
        # two of a degree's hundredths, a tenth of a millimetre: another hole than the one meant
        ({"angle_deg": 205.02}, None),
        ({"radius_mm": 64.1}, None),
        ({"from_diameter_mm": 14.1}, None),
        # across the zero it is the same angle
        ({"angle_deg": 205.0 - 360.0}, 1),
    ],
)
def test_which_through_hole_is_drilled_out(change: dict[str, object], index: int | None) -> None:
    counterweight = with_holes(RIM, OPEN)
    assert (
        hole_to_deepen(dataclasses.replace(DRILLED_OUT, **change), counterweight, shop=SHOP) == index  # type: ignore[arg-type]
    )


@pytest.mark.parametrize(
    "hole",
    [
        # filled with heavy metal: a drill would go through the slug
        dataclasses.replace(OPEN, filled_density_g_per_cm3=17.5),
        dataclasses.replace(OPEN, through=False, depth_shoulder_mm=20.0),
        # at the same angle, but drilled from the rim
        ExistingHole(kind="rim hole", angle_deg=205.0, diameter_mm=14.2, through=True),
    ],
)
def test_only_an_open_through_hole_is_drilled_out_through(hole: ExistingHole) -> None:
    assert hole_to_deepen(DRILLED_OUT, with_holes(hole), shop=SHOP) is None


@pytest.mark.parametrize(
    ("hole", "deeper", "wider"),
    [
        (RIM, True, True),
        (FACE, True, True),
        (OPEN, False, True),
        (dataclasses.replace(OPEN, filled_density_g_per_cm3=17.5), False, False),
        (dataclasses.replace(FACE, filled_density_g_per_cm3=17.5), False, False),
        # through the rim to the shaft: nothing to say how deep, nor a face to come out at
        (dataclasses.replace(RIM, through=True, depth_shoulder_mm=None), False, False),
        # another point than the shop's drills have
        (dataclasses.replace(RIM, point_angle_deg=135.0), False, False),
    ],
)
def test_what_can_be_made_deeper_or_wider(hole: ExistingHole, deeper: bool, wider: bool) -> None:
    assert can_be_deepened(hole, shop=SHOP) == deeper
    assert can_be_enlarged(hole, shop=SHOP) == wider


@pytest.mark.parametrize("kind", ["slug", "fill", "flat"])
def test_only_holes_are_made_deeper(kind: str) -> None:
    """A slug that says a depth before is no deepening, wherever it sits; nor is a cut that says none."""
    assert hole_to_deepen(dataclasses.replace(DEEPER_FACE, kind=kind), WEIGHT, shop=SHOP) is None
    assert hole_to_deepen(dataclasses.replace(DEEPER_FACE, from_depth_mm=None), WEIGHT, shop=SHOP) is None
    assert hole_to_deepen(dataclasses.replace(DEEPER_FACE, through=True), WEIGHT, shop=SHOP) is None


TILTED = dataclasses.replace(RIM, from_middle_mm=-3.0, beside_mm=10.0, tilt_deg=5.0)


@pytest.mark.parametrize(
    ("change", "same"),
    [
        ({}, True),
        ({"from_middle_mm": 3.0}, False),
        ({"beside_mm": -10.0}, False),
        ({"tilt_deg": -5.0}, False),
        ({"angle_deg": 172.3 + 0.01}, False),
        ({"diameter_mm": 14.0}, False),
        ({"from_depth_mm": 20.1}, False),
        ({"counterweight": "B"}, None),
    ],
)
def test_a_hole_off_the_middle_is_known_by_its_axis(change: dict[str, object], same: bool | None) -> None:
    there = dataclasses.replace(DEEPER, from_middle_mm=-3.0, beside_mm=10.0, tilt_deg=5.0)
    cut = dataclasses.replace(there, **change)  # type: ignore[arg-type]
    if same is not None:  # the counterweight is the caller's
        assert hole_to_deepen(cut, with_holes(TILTED), shop=SHOP) == (0 if same else None)
    left = without_deepened(with_holes(TILTED, FACE), [cut], shop=SHOP).existing
    assert left == ((FACE,) if same else (TILTED, FACE))
    # two cuts in one hole: depths don't matter
    depth_alone = set(change) <= {"from_depth_mm"}
    assert same_hole(there, cut) == same_hole(cut, there) == depth_alone


def test_a_face_hole_from_the_other_face_is_another_hole() -> None:
    front = dataclasses.replace(DEEPER_FACE, face="front")
    assert hole_to_deepen(front, WEIGHT, shop=SHOP) is None
    assert not same_hole(front, DEEPER_FACE)
    assert same_hole(DEEPER_FACE, dataclasses.replace(DEEPER_FACE, depth_shoulder_mm=9.0))


def test_a_fill_belongs_to_the_hole_at_its_place() -> None:
    fill = Cut(
        kind="fill", counterweight="A", angle_deg=205.0, diameter_mm=14.0, radius_mm=64.0, length_mm=10.0
    )
    assert fills_hole(fill, DRILLED_OUT)
    assert fills_hole(dataclasses.replace(fill, kind="plug", angle_deg=205.0 - 360.0), DRILLED_OUT)
    for change in (
        {"angle_deg": 205.01},
        {"radius_mm": 63.9},
        {"counterweight": "B"},
        {"kind": "slug"},
    ):
        assert not fills_hole(dataclasses.replace(fill, **change), DRILLED_OUT)  # type: ignore[arg-type]
    assert not fills_hole(fill, dataclasses.replace(DEEPER, angle_deg=205.0))
