"""What verification makes of cuts that a search does not choose by itself, by sums done here: beside the radius, plugs, fills.

Sizes and readings invented.
"""

from __future__ import annotations

import cmath
import dataclasses
import math

import numpy as np
import pytest

from planner.correction.problem import CorrectionProblem, LimitRow
from planner.correction.verify.verify_plan import verify, weigh
from planner.cuts.cut import Cut
from planner.frames import ShaftAngle
from planner.rotor.crankshaft import ExistingHole
from planner.rotor.vectors import vector_gmm
from tests.unit.test_verify import FILL, problem_of

STEEL = 7.85e-3


def beside_by_grains(cut: Cut, *, z_mm: float, grain_mm: float = 0.1) -> tuple[float, complex, complex]:
    """Mass, first moment and moment along the shaft of a flat-bottomed hole, grain by grain of its disc and depth.

    As vectors along (real) and across (imaginary) the cut's own ray.  The hole's axis meets the rim of 88 mm beside the ray and
    runs along it, its tip tilted toward the rear.
    """
    a, b, tilt = 0.5 * cut.diameter_mm, cut.beside_mm, math.radians(cut.tilt_deg)
    enters = math.sqrt(88.0**2 - b**2)
    depth = cut.depth_shoulder_mm or 0.0
    u, v, t = np.meshgrid(
        np.arange(-a + grain_mm / 2, a, grain_mm),
        np.arange(-a + grain_mm / 2, a, grain_mm),
        np.arange(-8.0 + grain_mm / 2, depth, grain_mm),
        indexing="ij",
    )
    x = enters + u * math.sin(tilt) - t * math.cos(tilt)
    s = cut.from_middle_mm + u * math.cos(tilt) + t * math.sin(tilt)
    y = b + v
    there = (u * u + v * v <= a * a) & (x * x + y * y <= 88.0**2)
    grain = grain_mm**3 * STEEL
    place = x[there] + 1j * y[there]
    return (
        float(there.sum()) * grain,
        complex(place.sum()) * grain,
        complex((place * (z_mm + s[there])).sum()) * grain,
    )


BESIDE = Cut(
    kind="rim hole",
    counterweight="A",
    angle_deg=170.0,
    diameter_mm=10.0,
    depth_shoulder_mm=14.0,
    beside_mm=15.0,
)


@pytest.mark.parametrize(
    "cut",
    [
        BESIDE,
        dataclasses.replace(BESIDE, beside_mm=-15.0, from_middle_mm=4.0),
        dataclasses.replace(BESIDE, tilt_deg=12.0),
    ],
)
def test_a_hole_beside_the_radius_leaves_what_its_grains_say(cut: Cut) -> None:
    """The residual in both reading planes: the reading less what goes, its part across the cut's angle too."""
    problem = problem_of(shop={"point_angle_deg": 180.0, "drills_mm": (10.0,)})
    mass, moment, along_shaft = beside_by_grains(cut, z_mm=52.0)
    weighed = weigh(cut, problem.counterweights[0], problem=problem)
    assert weighed.mass_g == pytest.approx(-mass, rel=4e-3)
    assert weighed.drilled_g == pytest.approx(mass, rel=4e-3)
    assert weighed.unbalance_gmm == pytest.approx(-moment.real, rel=4e-3)
    assert weighed.across_gmm == pytest.approx(-moment.imag, rel=4e-3)
    assert weighed.moment_z_gmm2 == pytest.approx(-along_shaft.real, rel=4e-3)
    assert weighed.across_z_gmm2 == pytest.approx(-along_shaft.imag, rel=4e-3)
    turned = cmath.exp(1j * math.radians(170.0))
    z1, z2 = problem.planes_z_mm
    right = (along_shaft - z1 * moment) * turned / (z2 - z1)
    left = moment * turned - right
    found = verify(problem, [cut]).residual_gmm
    before = (vector_gmm(2200.0, 170.0), vector_gmm(1500.0, 10.0))
    assert found[0] == pytest.approx(before[0] - left, abs=4e-3 * abs(moment))
    assert found[1] == pytest.approx(before[1] - right, abs=4e-3 * abs(moment))


def test_a_plug_is_steel_and_no_heavy_metal() -> None:
    """10 mm of a hole of 15 filled with steel of 7.9 g/cm3 from the front face, at z = 52 - 12, radius 60."""
    problem = problem_of(shop={"plug_density_g_per_cm3": 7.9})
    plug = dataclasses.replace(FILL, kind="plug", through=False, length_mm=10.0)
    mass = 7.9e-3 * math.pi * 7.5**2 * 10.0
    weighed = weigh(plug, problem.counterweights[0], problem=problem)
    assert weighed.mass_g == pytest.approx(mass)
    assert weighed.unbalance_gmm == pytest.approx(mass * 60.0)
    assert weighed.z_mm == pytest.approx(52.0 - 12.0 + 5.0)
    assert (weighed.heavy_metal_g, weighed.drilled_g) == (0.0, 0.0)


def test_a_fill_is_heavy_metal_and_drills_nothing() -> None:
    problem = problem_of()
    fill = dataclasses.replace(FILL, through=False, length_mm=10.0, face="rear")
    mass = 17.5e-3 * math.pi * 7.5**2 * 10.0
    weighed = weigh(fill, problem.counterweights[0], problem=problem)
    assert weighed.mass_g == weighed.heavy_metal_g == pytest.approx(mass)
    assert weighed.unbalance_gmm == pytest.approx(mass * 60.0)
    assert weighed.z_mm == pytest.approx(52.0 + 12.0 - 5.0)
    assert weighed.drilled_g == 0.0


@pytest.mark.parametrize(
    ("amount", "limit", "kept"), [(300.0, 300.0, True), (300.0, 299.999, False), (0.0, 0.0, True)]
)
def test_a_limit_is_kept_to_the_last_figure(amount: float, limit: float, kept: bool) -> None:
    problem: CorrectionProblem = dataclasses.replace(
        problem_of(),
        unbalance_gmm=(vector_gmm(amount, 170.0), 0j),
        limits=(LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=limit, z_mm=40.0),),
    )
    assert verify(problem, []).keeps_limits == kept


def test_a_limit_may_be_judged_where_both_planes_act() -> None:
    """A bearing that feels 1.2 of the left plane and -0.2 of the right one: 1.2 * 100 + 0.2 * 50 opposite."""
    problem = dataclasses.replace(
        problem_of(),
        unbalance_gmm=(100.0 + 0j, -50.0 + 0j),
        limits=(LimitRow(at="bearing 1", weight_1=1.2, weight_2=-0.2, tolerance_gmm=131.0),),
    )
    report = verify(problem, [])
    assert report.limits[0][1] == pytest.approx(130.0)
    assert report.good


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize("centre", [0.0, 30.0, 100.0, 330.0, 359.0])
def test_a_hole_that_comes_out_at_a_flank_is_the_same_wherever_its_counterweight_stands(
    centre: float, side: float
) -> None:
    """54 degrees off the centre line, 4 from the flank: the way round the shaft is no matter, across the zero neither."""

    def weighed(at: float) -> tuple[float, ...]:
        problem = problem_of(front={"angle_deg": at, "break_outs": True})
        cut = Cut(
            kind="rim hole",
            counterweight="A",
            angle_deg=(at + side * 54.0) % 360.0,
            diameter_mm=14.0,
            depth_shoulder_mm=20.0,
        )
        found = weigh(cut, problem.counterweights[0], problem=problem)
        whole = weigh(dataclasses.replace(cut, angle_deg=at), problem.counterweights[0], problem=problem)
        assert found.mass_g > whole.mass_g + 0.5  # at least half a gram less is there to be drilled away
        return found.mass_g, found.unbalance_gmm, found.across_gmm

    mass, unbalance, across = weighed(180.0)
    # the metal that is left is toward the centre line
    assert across * side > 0.0
    assert weighed(centre) == pytest.approx((mass, unbalance, across), rel=1e-6)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({}, None),
        ({"from_middle_mm": 3.0}, "drilled 3 mm from the middle; the rows of A are at 0, -4 mm"),
        ({"from_middle_mm": -4.0}, None),
        ({"beside_mm": 2.0}, "passes 2 mm beside the shaft axis"),
        ({"tilt_deg": 5.0}, "tilted by 5 degrees; rim holes of A are by 0"),
    ],
)
def test_a_planned_rim_hole_stands_in_a_row_and_goes_toward_the_shaft(
    change: dict[str, float], says: str | None
) -> None:
    """What a drill on its stand can do by the number on the dial alone."""
    problem = problem_of(front={"rim_rows_mm": (0.0, -4.0), "thickness_mm": 40.0})
    cut = Cut(kind="rim hole", counterweight="A", angle_deg=170.0, diameter_mm=14.0, depth_shoulder_mm=20.0)
    faults = verify(problem, [dataclasses.replace(cut, **change)]).faults  # type: ignore[arg-type]
    assert [each for each in faults if "drilled" in each or "beside" in each or "tilted" in each] == [
        each for each in faults if says is not None and says in each
    ]
    assert len(faults) == (0 if says is None else 1)


def test_a_face_hole_knows_no_rows() -> None:
    problem = problem_of(front={"rim_rows_mm": (-4.0,), "thickness_mm": 40.0})
    face = Cut(
        kind="face hole", counterweight="A", angle_deg=150.0, diameter_mm=14.0, radius_mm=60.0, through=True
    )
    assert verify(problem, [face]).faults == ()


@pytest.mark.parametrize(("before", "now"), [(359.9999999, 0.0), (0.0, 359.9999999), (0.0, 0.0)])
def test_a_hole_at_the_zero_is_made_deeper_from_either_side_of_it(before: float, now: float) -> None:
    old = ExistingHole(
        kind="rim hole", angle_deg=ShaftAngle(before), diameter_mm=14.0, depth_shoulder_mm=10.0
    )
    problem = problem_of(front={"angle_deg": 0.0, "existing": (old,)})
    deeper = Cut(
        kind="rim hole",
        counterweight="A",
        angle_deg=ShaftAngle(now),
        diameter_mm=14.0,
        depth_shoulder_mm=20.0,
        from_depth_mm=10.0,
    )
    assert [each for each in verify(problem, [deeper]).faults if "no open hole" in each] == []
    off = dataclasses.replace(deeper, angle_deg=ShaftAngle(now + 1.0))
    assert any("no open hole" in each for each in verify(problem, [off]).faults)


@pytest.mark.parametrize(("before", "now"), [(359.9999999, 0.0), (0.0, 359.9999999)])
def test_a_through_hole_at_the_zero_is_drilled_out_from_either_side_of_it(before: float, now: float) -> None:
    old = ExistingHole(
        kind="face hole", angle_deg=ShaftAngle(before), diameter_mm=10.0, radius_mm=60.0, through=True
    )
    problem = problem_of(front={"angle_deg": 0.0, "existing": (old,)})
    wider = Cut(
        kind="face hole",
        counterweight="A",
        angle_deg=ShaftAngle(now),
        diameter_mm=14.0,
        radius_mm=60.0,
        through=True,
        from_diameter_mm=10.0,
    )
    assert [each for each in verify(problem, [wider]).faults if "no open through hole" in each] == []
    off = dataclasses.replace(wider, radius_mm=61.0)
    assert any("no open through hole" in each for each in verify(problem, [off]).faults)
