"""The verification route: against the planner's closed formulas, and one test per rule that it has to notice.

All crankshafts here are invented.
"""

from __future__ import annotations

import dataclasses
import json
import math
import subprocess
import sys

import numpy as np
import pytest

from geometry_profiles.shapes import disc, fan, points
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.correction.verify.integrals import cone_mm, face_hole, rim_hole
from planner.correction.verify.verify_plan import verify, weigh
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import effect_of
from planner.errors import InputError
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight, ExistingHole, KeepOut, OilDrilling
from planner.rotor.vectors import resolve, vector_gmm
from tests.generator import random_case, random_cut

PLANES = TwoPlanes(40.0, 480.0)


def problem_of(*, shop: dict | None = None, front: dict | None = None, **changes) -> CorrectionProblem:
    """Two fans at z = 52 (centre 180) and z = 470 (centre 0) mm, one 14 mm and one 16 mm drill, all cuts allowed."""
    outline = fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0)
    cuts = ("rim hole", "face hole", "slug", "fill")
    first = Counterweight(name="A", z_mm=52.0, angle_deg=180.0, thickness_mm=24.0, outline=outline, cuts=cuts)
    second = Counterweight(name="B", z_mm=470.0, angle_deg=0.0, thickness_mm=24.0, outline=outline, cuts=cuts)
    given = {"drills_mm": (14.0, 16.0), "slug_diameters_mm": (19.0,), "slug_density_g_per_cm3": 17.5}
    base = CorrectionProblem(
        unbalance_gmm=TwoPlanes(vector_gmm(2200.0, 170.0), vector_gmm(1500.0, 10.0)),
        planes_z_mm=PLANES,
        limits=(
            LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=300.0, z_mm=PLANES[0]),
            LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=300.0, z_mm=PLANES[1]),
        ),
        counterweights=(dataclasses.replace(first, **(front or {})), second),
        shop=Shop(**(given | (shop or {}))),
        density_g_per_cm3=7.85,
    )
    return dataclasses.replace(base, **changes)


RIM = Cut(kind="rim hole", counterweight="A", angle_deg=170.0, diameter_mm=14.0, depth_shoulder_mm=20.0)
FACE = Cut(
    kind="face hole", counterweight="A", angle_deg=150.0, diameter_mm=14.0, radius_mm=60.0, through=True
)
BLIND = Cut(
    kind="face hole",
    counterweight="A",
    angle_deg=150.0,
    diameter_mm=14.0,
    radius_mm=60.0,
    depth_shoulder_mm=9.0,
)
SLUG = Cut(
    kind="slug",
    counterweight="A",
    angle_deg=210.0,
    diameter_mm=19.0,
    radius_mm=70.0,
    length_mm=24.0,
    through=True,
)
OLD = ExistingHole(kind="face hole", angle_deg=205.0, diameter_mm=15.0, radius_mm=60.0, through=True)
FILL = Cut(
    kind="fill",
    counterweight="A",
    angle_deg=205.0,
    diameter_mm=15.0,
    radius_mm=60.0,
    length_mm=24.0,
    through=True,
)


def changed(cut: Cut, **changes) -> Cut:
    return dataclasses.replace(cut, **changes)


# --- numbers ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(40))
def test_weighs_random_cuts_as_the_closed_formulas_do(seed):
    case = random_case(seed, slugs=True)
    problem = dataclasses.replace(
        case.problem, shop=dataclasses.replace(case.problem.shop, allow=("rim hole", "face hole", "slug"))
    )
    rng = np.random.default_rng(seed)
    by_name = {c.name: c for c in problem.counterweights}
    for _ in range(10):
        cut = random_cut(rng, problem)
        if cut is None:
            continue
        counterweight = by_name[cut.counterweight]
        density = problem.density_of(counterweight)
        expected = effect_of(cut, counterweight=counterweight, density_g_per_cm3=density, shop=problem.shop)
        found = weigh(cut, counterweight, problem=problem)
        assert found.mass_g == pytest.approx(expected.mass_g, rel=1e-9)
        assert found.unbalance_gmm == pytest.approx(expected.unbalance_gmm, rel=1e-9)
        assert found.z_mm == pytest.approx(expected.z_mm, abs=1e-7)
        assert found.heavy_metal_g == pytest.approx(expected.slug_mass_g or 0.0, rel=1e-9)
        assert found.drilled_g == pytest.approx(0.0 if cut.kind == "slug" else -expected.mass_g, rel=1e-9)


@pytest.mark.parametrize("face", ["front", "rear"])
@pytest.mark.parametrize(
    "cut",
    [
        BLIND,
        changed(SLUG, through=False, length_mm=12.0),
        FILL,
        changed(FILL, through=False, length_mm=10.0),
        changed(RIM, depth_shoulder_mm=0.3),  # the rim falls away below the shoulder
        changed(RIM, depth_shoulder_mm=-1.5),  # only the point enters
    ],
)
def test_weighs_cuts_that_the_generator_does_not_draw(cut, face):
    problem = problem_of(shop={"hole_oversize_mm": 0.1, "point_angle_deg": 135.0})
    counterweight = problem.counterweights[0]
    cut = changed(cut, face=face)
    expected = effect_of(cut, counterweight=counterweight, density_g_per_cm3=7.85, shop=problem.shop)
    found = weigh(cut, counterweight, problem=problem)
    assert found.mass_g == pytest.approx(expected.mass_g, rel=1e-9)
    assert found.unbalance_gmm == pytest.approx(expected.unbalance_gmm, rel=1e-9)
    assert found.z_mm == pytest.approx(expected.z_mm, abs=1e-7)


# Reference numbers of two solid kernels (Open CASCADE Technology 8.0 boolean common, relative 1e-9; manifold3d 3.5.4
# with Richardson extrapolation, 1e-6): rim radius, diameter, shoulder depth, point angle -> mm3, mm.
SOLIDS = [
    pytest.param(90.0, 14.0, 20.0, 118.0, 3284.0989, 79.242017, id="R01"),
    pytest.param(75.0, 12.0, 15.0, 118.0, 1825.5802, 66.846861, id="R02"),
    pytest.param(82.5, 25.4, 30.0, 118.0, 16365.909, 66.056477, id="R03"),
    pytest.param(60.0, 10.0, 12.0, 90.0, 1069.2833, 53.089695, id="R04"),
    pytest.param(70.0, 22.0, 0.5, 118.0, 946.59058, 68.063366, id="X02 shallow"),
    pytest.param(90.0, 16.0, 22.0, 180.0, 4405.4726, 78.955692, id="X03 flat bottom"),
]


@pytest.mark.parametrize(("radius", "diameter", "depth", "point", "volume", "centroid"), SOLIDS)
def test_integrals_equal_two_solid_kernels(radius, diameter, depth, point, volume, centroid):
    found = rim_hole(
        rim_radius_mm=radius,
        diameter_mm=diameter,
        depth_shoulder_mm=depth,
        cone_height_mm=cone_mm(diameter_mm=diameter, point_angle_deg=point),
        z_mm=52.0,
    )
    assert found.volume_mm3 == pytest.approx(volume, rel=1e-6)
    assert found.moment_mm4 / found.volume_mm3 == pytest.approx(centroid, rel=1e-6)
    assert found.moment_z_mm5 / found.moment_mm4 == pytest.approx(52.0, rel=1e-12)


def test_nothing_is_removed_by_a_drill_that_does_not_touch():
    found = rim_hole(
        rim_radius_mm=90.0, diameter_mm=14.0, depth_shoulder_mm=-5.0, cone_height_mm=4.2, z_mm=0.0
    )
    assert (found.volume_mm3, found.moment_mm4) == (0.0, 0.0)


@pytest.mark.parametrize("depth", [20.5, 24.0, 40.0])
def test_no_metal_beyond_the_far_face(depth):
    """A point that comes out of the far face removes what is inside the plate only (own integral of the cone)."""
    a, c, t = 7.0, 4.2, 24.0
    found = face_hole(
        radius_mm=60.0,
        diameter_mm=2 * a,
        depth_shoulder_mm=depth,
        cone_height_mm=c,
        thickness_mm=t,
        face_z_mm=0.0,
        inward=1.0,
    )
    beyond = max(depth + c - t, 0.0)  # height of the small cone that is cut off
    small = math.pi * (a * beyond / c) ** 2 * beyond / 3.0
    whole = math.pi * a * a * (depth + c / 3.0)
    expected = math.pi * a * a * t if depth >= t else whole - small
    assert found.volume_mm3 == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("seed", range(12))
def test_residual_is_unbalance_plus_corrections(seed):
    case = random_case(seed, feasible=True)
    problem = case.problem
    by_name = {c.name: c for c in problem.counterweights}
    sources = []
    for cut in case.hidden:
        counterweight = by_name[cut.counterweight]
        effect = effect_of(
            cut,
            counterweight=counterweight,
            density_g_per_cm3=problem.density_of(counterweight),
            shop=problem.shop,
        )
        sources.append((effect.z_mm, vector_gmm(effect.unbalance_gmm, cut.angle_deg)))
    expected = np.array(problem.unbalance_gmm) + resolve(sources, problem.planes_z_mm)
    report = verify(problem, case.hidden)
    np.testing.assert_allclose(report.residual_gmm, expected, atol=1e-7, rtol=0)
    for (row, amount), same in zip(report.limits, problem.limits, strict=True):
        assert row is same
        assert amount == pytest.approx(abs(row.weight_1 * expected[0] + row.weight_2 * expected[1]), abs=1e-7)
    assert report.good
    assert report.warnings == ()


def test_a_hole_in_one_plane_acts_there_alone():
    """By hand: a through face hole in the plane z = 40, 14 mm at radius 60, 24 mm thick, 7.85 g/cm3.

    pi*49*24*60*7.85/1000 = 1740.16 g*mm at 150 degrees, nothing in the other plane.
    """
    problem = problem_of(front={"z_mm": 40.0}, unbalance_gmm=TwoPlanes(0j, 0j))
    left, right = verify(problem, [FACE]).residual_gmm
    assert abs(left) == pytest.approx(math.pi * 49 * 24 * 60 * 7.85e-3, rel=1e-12)
    assert math.degrees(math.atan2(left.imag, left.real)) == pytest.approx(150.0 - 180.0)
    assert abs(right) < 1e-9


def test_masses_are_told_apart():
    report = verify(problem_of(), [RIM, SLUG])
    assert report.mass_removed_g == pytest.approx(25.78, abs=0.02)  # 7.85e-3 * 3283 mm3; R01 has 3284 at R 90
    assert report.heavy_metal_g == pytest.approx(math.pi * 9.5**2 * 24 * 17.5e-3, rel=1e-9)


def test_a_residual_above_a_limit_is_seen():
    report = verify(problem_of(), [])
    assert not report.keeps_limits
    assert not report.good
    assert report.faults == ()
    assert [amount for _, amount in report.limits] == pytest.approx([2200.0, 1500.0])


def test_a_residual_that_is_not_a_number_is_not_kept():
    assert not verify(problem_of(unbalance_gmm=TwoPlanes(complex("nan"), 0j)), []).keeps_limits


def test_equal_planes_are_refused():
    with pytest.raises(InputError, match="both at z = 40 mm"):
        verify(problem_of(planes_z_mm=TwoPlanes(40.0, 40.0)), [])


# --- rules ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("cut", [RIM, FACE, BLIND, SLUG], ids=["rim", "through", "blind", "slug"])
def test_sound_cuts_break_no_rule(cut):
    assert verify(problem_of(), [cut]).faults == ()


def test_a_fill_of_an_open_hole_breaks_no_rule():
    assert verify(problem_of(front={"existing": (OLD,)}), [FILL]).faults == ()


TURNED = fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0)
NO_RIM = points([(10.0, -60.0), (80.0, -60.0), (80.0, 60.0), (10.0, 60.0)], inner_radius_mm=8.0)
KEEP_OUT = KeepOut(from_angle_deg=168.0, to_angle_deg=172.0, from_radius_mm=60.0, to_radius_mm=70.0)
OIL = OilDrilling(
    from_z_mm=40.0,
    from_radius_mm=75.0,
    from_angle_deg=170.0,
    to_z_mm=60.0,
    to_radius_mm=75.0,
    to_angle_deg=170.0,
    diameter_mm=6.0,
    clearance_mm=4.0,
)
BROKEN = {
    # name: (cuts, problem, words of the fault)
    "unknown counterweight": ([changed(RIM, counterweight="Z")], {}, "there is no counterweight Z"),
    "forbidden": ([RIM], {"shop": {"forbid": ("A",)}}, "counterweight A is to be left alone"),
    "kind not allowed by the shop": (
        [RIM],
        {"shop": {"allow": ("slug",)}},
        "the shop does not allow a rim hole",
    ),
    "kind not allowed there": (
        [RIM],
        {"front": {"cuts": ("slug",)}},
        "counterweight A does not allow a rim hole",
    ),
    "no such drill": ([changed(RIM, diameter_mm=15.0)], {}, "there is no 15 mm drill"),
    "no such drill for a face hole": ([changed(FACE, diameter_mm=15.0)], {}, "there is no 15 mm drill"),
    "no such slug": ([changed(SLUG, diameter_mm=18.0)], {}, "there is no 18 mm slug"),
    "angle grid": ([changed(RIM, angle_deg=170.5)], {}, "not on the dial's grid of 1 degrees"),
    "angle grid with a phase": ([RIM], {"angle_phase_deg": 0.25}, "not on the dial's grid of 1 degrees"),
    "coarse angle grid": (
        [changed(RIM, angle_deg=171.0)],
        {"shop": {"angle_step_deg": 5.0}},
        "grid of 5 degrees",
    ),
    "depth grid": (
        [changed(RIM, depth_shoulder_mm=20.2)],
        {},
        "20.2 mm to the shoulder is not on the grid 5",
    ),
    "depth grid to the tip": ([RIM], {"shop": {"depth_to": "tip"}}, "to the tip is not on the grid"),
    "depth grid of a blind face hole": ([changed(BLIND, depth_shoulder_mm=9.3)], {}, "is not on the grid"),
    "too shallow": ([changed(RIM, depth_shoulder_mm=4.5)], {}, "4.5 mm to the shoulder is less than 5 mm"),
    "too deep": ([changed(RIM, depth_shoulder_mm=45.5)], {}, "45.5 mm to the shoulder is more than 45 mm"),
    "only the point enters": (
        [changed(RIM, depth_shoulder_mm=-2.0)],
        {},
        "-2 mm to the shoulder is less than 5 mm",
    ),
    "radius grid": ([changed(SLUG, radius_mm=70.5)], {}, "70.5 mm is not a whole multiple of 1 mm"),
    "radius grid of a face hole": (
        [changed(FACE, radius_mm=61.0)],
        {"shop": {"slug_radius_step_mm": 2.0}},
        "not a whole multiple of 2 mm",
    ),
    "rim hole in a thin counterweight": (
        [RIM],
        {"front": {"thickness_mm": 18.0}},
        "wall to either face is 2",
    ),
    "oversize eats the wall to the faces": (
        [RIM],
        {"front": {"thickness_mm": 20.0}, "shop": {"hole_oversize_mm": 0.1}},
        "wall to either face is 2.95 mm",
    ),
    "blind hole near the far face": (
        [changed(BLIND, depth_shoulder_mm=18.0)],
        {},
        "below its tip is",
    ),
    "slug that does not fill": ([changed(SLUG, length_mm=20.0)], {}, "does not fill the thickness of 24 mm"),
    "short slug that is not in stock": (
        [changed(SLUG, length_mm=10.0, through=False)],
        {"shop": {"slug_lengths_mm": (12.0,)}},
        "there is no slug 10 mm long",
    ),
    "full slug where other lengths are in stock": (
        [SLUG],
        {"shop": {"slug_lengths_mm": (12.0,)}},
        "there is no slug 24 mm long",
    ),
    "short slug where none is in stock": (
        [changed(SLUG, length_mm=10.0, through=False)],
        {},
        "10 mm is not in stock: only the full thickness is filled",
    ),
    "slug too long": (
        [changed(SLUG, length_mm=26.0, through=False)],
        {"shop": {"slug_lengths_mm": (26.0,)}},
        "26 mm is more than the thickness of 24 mm",
    ),
    "short slug's bore near the far face": (
        [changed(SLUG, length_mm=18.0, through=False)],
        {"shop": {"slug_lengths_mm": (18.0,)}},
        "below its tip is",
    ),
    "nothing to fill": ([FILL], {}, "no open face hole at its place"),
    "filled already": (
        [FILL],
        {"front": {"existing": (dataclasses.replace(OLD, filled_density_g_per_cm3=17.5),)}},
        "no open face hole at its place",
    ),
    "filled twice": ([FILL, FILL], {"front": {"existing": (OLD,)}}, "the hole is filled twice"),
    "fill too long": (
        [changed(FILL, length_mm=24.5)],
        {"front": {"existing": (OLD,)}},
        "24.5 mm is more than the hole's 24 mm",
    ),
    "fill from the wrong face": (
        [changed(FILL, length_mm=8.0, through=False)],
        {
            "front": {
                "existing": (dataclasses.replace(OLD, through=False, depth_shoulder_mm=9.0, face="rear"),)
            }
        },
        "open to the rear, not to the front",
    ),
    "flank": ([changed(RIM, angle_deg=235.0)], {}, "flank at +58 degrees"),
    "slug at a flank": ([changed(SLUG, angle_deg=230.0)], {}, "flank at +58 degrees"),
    "tip below the inner radius": (
        [changed(RIM, diameter_mm=16.0, depth_shoulder_mm=45.0)],
        {"front": {"outline": fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=39.0)}},
        "inner radius",
    ),
    "bore below the inner radius": ([changed(SLUG, radius_mm=45.0)], {}, "inner radius"),
    "slug near the rim": ([changed(SLUG, radius_mm=76.0)], {}, "wall to the rim"),
    "two rim holes side by side": ([RIM, changed(RIM, angle_deg=181.0)], {}, "cut 2, rim hole"),
    "two deep rim holes converge": (
        # 15 degrees are 23 mm at the rim, but only 12.5 mm at the shoulders
        [changed(RIM, depth_shoulder_mm=40.0), changed(RIM, angle_deg=185.0, depth_shoulder_mm=40.0)],
        {},
        "cut 2, rim hole",
    ),
    "rim hole into a slug": ([RIM, changed(SLUG, angle_deg=175.0)], {}, "cut 2, slug"),
    "same cut twice": ([RIM, RIM], {}, "cut 2, rim hole"),
    "old face hole": (
        [changed(RIM, angle_deg=205.0)],
        {"front": {"existing": (OLD,)}},
        "old face hole at 205",
    ),
    "old rim hole": (
        [RIM],
        {
            "front": {
                "existing": (
                    ExistingHole(kind="rim hole", angle_deg=181.0, diameter_mm=12.0, depth_shoulder_mm=20.0),
                )
            }
        },
        "old rim hole at 181",
    ),
    "keep-out": ([RIM], {"front": {"keep_outs": (KEEP_OUT,)}}, "keep-out from 168 to 172"),
    "oil drilling": ([RIM], {"oil_drillings": (OIL,)}, "oil drilling"),
    "no rim": (
        [changed(RIM, angle_deg=180.0)],
        {"front": {"outline": NO_RIM}},
        "counterweight A has no rim to drill from",
    ),
    "no depth": ([changed(RIM, depth_shoulder_mm=None)], {}, "its depth is not given as a number"),
    "depth is not a number": (
        [changed(RIM, depth_shoulder_mm=math.nan)],
        {},
        "its depth is not given as a number",
    ),
    "no radius": ([changed(SLUG, radius_mm=None)], {}, "its radius is not given as a number"),
    "no length": (
        [changed(FILL, length_mm=None)],
        {"front": {"existing": (OLD,)}},
        "its length is not given",
    ),
    "negative radius": ([changed(SLUG, radius_mm=-70.0)], {}, "its radius is -70 mm, more than 0 is allowed"),
    "absurd diameter": (
        [changed(RIM, diameter_mm=200.0)],
        {},
        "is out of proportion to a rim radius of 88 mm",
    ),
    "missing pinned cut": ([], {"fixed": (RIM,)}, "the pinned rim hole 14 mm in A at 170 degrees is missing"),
    "pinned cut only once": ([RIM], {"fixed": (RIM, RIM)}, "is missing"),
}


@pytest.mark.parametrize("rule", BROKEN)
def test_each_broken_rule_is_found(rule):
    cuts, changes, words = BROKEN[rule]
    report = verify(problem_of(**changes), cuts)
    assert not report.good
    assert any(words in fault for fault in report.faults), report.faults
    assert report.warnings == ()
    assert all(math.isfinite(abs(vector)) for vector in report.residual_gmm)


def test_only_the_broken_rule_is_found():
    """Most of the cases above break one rule alone; the texts of one are kept whole here."""
    report = verify(problem_of(), [changed(RIM, angle_deg=170.5, depth_shoulder_mm=20.25)])
    name = "cut 1, rim hole 14 mm in A at 170.5 degrees"
    assert report.faults == (
        f"{name}: its angle 170.5 is not on the dial's grid of 1 degrees",
        f"{name}: its depth 20.25 mm to the shoulder is not on the grid 5 + n x 0.5 mm",
    )


def test_walls_that_are_just_kept_are_no_faults():
    """A 14 mm slug-like face hole 3 mm from the rim, 3 mm from a flank and 3 mm from another: by hand."""
    problem = problem_of(shop={"angle_step_deg": 0.0001, "slug_radius_step_mm": 0.0001})
    radius = 88.0 - 3.0 - 7.0
    at_rim = changed(FACE, radius_mm=radius)
    assert verify(problem, [at_rim]).faults == ()
    assert verify(problem, [changed(at_rim, radius_mm=radius + 0.001)]).faults
    beside_flank = math.degrees(math.asin((3.0 + 7.0) / 60.0))
    near = changed(FACE, angle_deg=round(180.0 + 58.0 - beside_flank - 0.00005, 4))
    assert verify(problem, [near]).faults == ()
    assert verify(problem, [changed(near, angle_deg=near.angle_deg + 0.001)]).faults
    apart = 2.0 * math.degrees(math.asin((3.0 + 14.0) / (2.0 * 60.0)))
    second = changed(FACE, angle_deg=round(FACE.angle_deg + apart + 0.00005, 4))
    assert verify(problem, [FACE, second]).faults == ()
    assert verify(problem, [FACE, changed(second, angle_deg=second.angle_deg - 0.001)]).faults


def test_depths_counted_to_the_tip_have_their_grid_there():
    problem = problem_of(shop={"depth_to": "tip"})
    cone = 7.0 / math.tan(math.radians(59.0))
    assert verify(problem, [changed(RIM, depth_shoulder_mm=24.5 - cone)]).faults == ()


@pytest.mark.parametrize("angle", [3.0, 353.0])
def test_a_step_that_does_not_divide_the_turn_has_its_grid_from_either_side(angle):
    """Seven-degree steps: 3 is 363 on the second turn only if the grid goes on; 353 is -7."""
    problem = problem_of(shop={"angle_step_deg": 7.0})
    found = verify(problem, [changed(RIM, counterweight="B", angle_deg=angle)]).faults
    on_grid = any(abs((angle + turn) / 7.0 - round((angle + turn) / 7.0)) < 1e-9 for turn in (0, 360, -360))
    assert (found == ()) == on_grid


def test_sectors_across_zero_and_whole_discs_are_understood():
    round_one = disc(outer_radius_mm=88.0, inner_radius_mm=36.0)
    problem = problem_of(front={"outline": round_one})
    for angle in (0.0, 90.0, 359.0):
        assert verify(problem, [changed(RIM, angle_deg=angle)]).faults == ()
    assert verify(problem, [changed(RIM, counterweight="B", angle_deg=355.0)]).faults == ()
    assert verify(problem, [changed(RIM, counterweight="B", angle_deg=-5.0)]).faults == ()


# --- pinned cuts ---------------------------------------------------------------------------------------------


def test_a_pinned_cut_needs_no_grid():
    odd = changed(RIM, angle_deg=170.37, depth_shoulder_mm=21.3)
    report = verify(problem_of(fixed=(odd,)), [odd])
    assert (report.faults, report.warnings) == ((), ())


def test_what_a_pinned_cut_breaks_alone_is_a_warning():
    odd = changed(RIM, angle_deg=236.0, diameter_mm=15.0)
    report = verify(problem_of(fixed=(odd,)), [odd])
    assert report.faults == ()
    assert any("there is no 15 mm drill" in text for text in report.warnings)
    assert any("flank at +58 degrees" in text for text in report.warnings)


def test_a_planned_cut_too_close_to_a_pinned_one_is_a_fault():
    near = changed(RIM, angle_deg=181.0)
    for order in ([RIM, near], [near, RIM]):
        report = verify(problem_of(fixed=(RIM,)), order)
        assert len(report.faults) == 1
        assert report.warnings == ()


def test_two_pinned_cuts_too_close_are_a_warning():
    near = changed(RIM, angle_deg=181.0)
    report = verify(problem_of(fixed=(RIM, near)), [RIM, near])
    assert report.faults == ()
    assert len(report.warnings) == 1


def test_a_pinned_cut_counts_once():
    """A second, equal cut is the planner's own and has to keep the rules."""
    odd = changed(RIM, angle_deg=170.37)
    report = verify(problem_of(fixed=(odd,)), [odd, odd])
    assert any("cut 2" in text and "grid" in text for text in report.faults)


# --- another route -------------------------------------------------------------------------------------------


def test_no_formula_of_the_planner_is_loaded_with_the_verification():
    """Only the plain records of the cuts, and nothing of the search; shapely not before it is needed."""
    code = (
        "import sys, json, planner.correction.verify.verify_plan; "
        "print(json.dumps([m for m in sys.modules if m.startswith(('planner.', 'shapely', 'scipy'))]))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    loaded = json.loads(out)
    assert "planner.correction.verify.verify_plan" in loaded
    assert [m for m in loaded if m.startswith("planner.cuts.")] == ["planner.cuts.cut"]
    for module in loaded:
        if module.startswith("planner.correction."):
            assert module.removeprefix("planner.correction.").split(".")[0] in ("problem", "verify"), module
        assert not module.startswith(("shapely", "scipy")), module
