"""Cuts as solids: what a boolean difference takes away, and what the bearings feel of it.

Sources: manifold3d (general-purpose solid kernel) for the bodies, MuJoCo (rigid-body engine) for the forces.  The
counterweights are invented.  Facet errors are removed by Richardson's extrapolation.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from geometry_profiles.shapes import disc, fan
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import effect_of
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight, ExistingHole
from planner.rotor.vectors import resolve, vector_gmm
from tests.physics.rigid_body import PointMass, readings
from tests.physics.solid_crankshaft import bodies, drill_solid, extrapolated, first_moments, plate_solid

PLANES = TwoPlanes(40.0, 480.0)
SHOP = Shop(
    drills_mm=(10.0, 12.0, 14.0, 18.0, 19.0),
    slug_diameters_mm=(19.0,),
    slug_lengths_mm=(12.0, 24.0),
    slug_density_g_per_cm3=17.5,
    angle_step_deg=0.1,
)
ALL = ("rim hole", "face hole", "slug", "fill")
OLD = ExistingHole(kind="face hole", angle_deg=15.0, diameter_mm=15.0, radius_mm=60.0, through=True)
COUNTERWEIGHTS = tuple(
    Counterweight(
        name=name,
        z_mm=z,
        angle_deg=angle,
        thickness_mm=24.0,
        outline=outline,
        cuts=ALL,
        existing=existing,
        density_g_per_cm3=density,
    )
    for name, z, angle, outline, existing, density in (
        ("A", 52.0, 180.0, fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0), (), None),
        ("B", 215.0, 270.0, fan(outer_radius_mm=79.5, half_angle_deg=50.0, inner_radius_mm=36.0), (), 7.1),
        ("C", 300.0, 90.0, disc(outer_radius_mm=84.0, inner_radius_mm=36.0), (), None),
        ("D", 470.0, 0.0, fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0), (OLD,), None),
    )
)


def problem_of(**shop) -> CorrectionProblem:
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes(0j, 0j),
        planes_z_mm=PLANES,
        limits=(LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=300.0),),
        counterweights=COUNTERWEIGHTS,
        shop=dataclasses.replace(SHOP, **shop),
        density_g_per_cm3=7.85,
    )


def rim(counterweight: str, angle: float, diameter: float, depth: float) -> Cut:
    return Cut(
        kind="rim hole",
        counterweight=counterweight,
        angle_deg=angle,
        diameter_mm=diameter,
        depth_shoulder_mm=depth,
    )


def foretold(problem: CorrectionProblem, cuts: list[Cut]) -> np.ndarray:
    """What the closed formulas say that the cuts change in the two planes [g*mm]."""
    by_name = {c.name: c for c in problem.counterweights}
    sources = []
    for cut in cuts:
        counterweight = by_name[cut.counterweight]
        density = problem.density_of(counterweight)
        effect = effect_of(cut, counterweight=counterweight, density_g_per_cm3=density, shop=problem.shop)
        sources.append((effect.z_mm, vector_gmm(effect.unbalance_gmm, cut.angle_deg)))
    return resolve(sources, problem.planes_z_mm)


CUTS = {
    "rim hole": rim("A", 170.0, 14.0, 20.0),
    "deep rim hole at an odd angle": rim("D", 337.3, 18.0, 40.0),
    "rim hole in iron": rim("B", 255.0, 12.0, 15.5),
    "rim hole in a disc": rim("C", 30.0, 10.0, 33.0),
    "face hole through": Cut(
        kind="face hole", counterweight="A", angle_deg=150.0, diameter_mm=14.0, radius_mm=60.0, through=True
    ),
    "blind face hole from the front": Cut(
        kind="face hole",
        counterweight="A",
        angle_deg=150.0,
        diameter_mm=14.0,
        radius_mm=60.0,
        depth_shoulder_mm=9.0,
    ),
    "blind face hole from the rear": Cut(
        kind="face hole",
        counterweight="D",
        angle_deg=45.0,
        diameter_mm=19.0,
        radius_mm=66.0,
        depth_shoulder_mm=8.0,
        face="rear",
    ),
    "slug": Cut(
        kind="slug",
        counterweight="A",
        angle_deg=210.0,
        diameter_mm=19.0,
        radius_mm=70.0,
        length_mm=24.0,
        through=True,
    ),
    "short slug from the rear": Cut(
        kind="slug",
        counterweight="C",
        angle_deg=210.0,
        diameter_mm=19.0,
        radius_mm=65.0,
        length_mm=12.0,
        face="rear",
    ),
    "fill": Cut(
        kind="fill",
        counterweight="D",
        angle_deg=15.0,
        diameter_mm=15.0,
        radius_mm=60.0,
        length_mm=24.0,
        through=True,
    ),
}
POINTS = {"point 118": {}, "point 135": {"point_angle_deg": 135.0}, "oversize": {"hole_oversize_mm": 0.2}}


HOLES = [(n, "point 118") for n, c in CUTS.items() if c.kind in ("rim hole", "face hole")]
HOLES += [
    (n, shop) for n in ("rim hole", "blind face hole from the rear") for shop in POINTS if shop != "point 118"
]


@pytest.mark.parametrize(("name", "shop"), HOLES)
def test_a_hole_takes_away_what_the_formula_says(name, shop):
    """Volume, first moment and place along the shaft of plate and drill's common body, to 5e-6."""
    cut, problem = CUTS[name], problem_of(**POINTS[shop])
    counterweight = next(c for c in problem.counterweights if c.name == cut.counterweight)

    def removed(facets: int) -> np.ndarray:
        plate = plate_solid(dataclasses.replace(counterweight, existing=()), facets)
        volume, moment = first_moments(plate ^ drill_solid(cut, counterweight, problem, facets))
        return np.array([volume, *moment])

    volume, x, y, minus_z = extrapolated(removed, 48)
    density = problem.density_of(counterweight)
    effect = effect_of(cut, counterweight=counterweight, density_g_per_cm3=density, shop=problem.shop)
    assert volume * density / 1000.0 == pytest.approx(-effect.mass_g, rel=5e-6)
    found = complex(x, y) * density / 1000.0
    # a round number for the angle of a hole's first moment: the cut's own
    expected = vector_gmm(-effect.unbalance_gmm, cut.angle_deg)
    assert abs(found - expected) < 5e-6 * abs(expected)
    assert -minus_z / volume == pytest.approx(effect.z_mm, abs=1e-4)


@pytest.mark.parametrize("shop", POINTS)
@pytest.mark.parametrize(
    ("name", "before_mm"),
    [
        ("rim hole", 12.5),
        ("deep rim hole at an odd angle", 31.0),
        ("rim hole in iron", 0.4),
        ("blind face hole from the front", 5.5),
        ("blind face hole from the rear", 3.0),
    ],
)
def test_drilling_a_hole_deeper_takes_away_what_the_formula_says(name, before_mm, shop):
    """The plate with the first pass drilled, less what the second pass sweeps: mass, moment and place, to 1e-5."""
    problem = problem_of(**POINTS[shop])
    after = CUTS[name]
    first = dataclasses.replace(after, depth_shoulder_mm=before_mm)
    cut = dataclasses.replace(after, from_depth_mm=before_mm)
    counterweight = next(c for c in problem.counterweights if c.name == cut.counterweight)

    def removed(facets: int) -> np.ndarray:
        plate = plate_solid(dataclasses.replace(counterweight, existing=()), facets)
        plate = plate - drill_solid(first, counterweight, problem, facets)
        volume, moment = first_moments(plate ^ drill_solid(after, counterweight, problem, facets))
        return np.array([volume, *moment])

    volume, x, y, minus_z = extrapolated(removed, 48)
    density = problem.density_of(counterweight)
    effect = effect_of(cut, counterweight=counterweight, density_g_per_cm3=density, shop=problem.shop)
    assert volume * density / 1000.0 == pytest.approx(-effect.mass_g, rel=1e-5)
    expected = vector_gmm(-effect.unbalance_gmm, cut.angle_deg)
    assert abs(complex(x, y) * density / 1000.0 - expected) < 1e-5 * abs(expected)
    assert -minus_z / volume == pytest.approx(effect.z_mm, abs=2e-4)


@pytest.mark.parametrize("name", CUTS)
def test_the_bearings_feel_what_is_foretold(name):
    cut = CUTS[name]
    problem = problem_of()
    # the other counterweights stay as they are and cancel: leave them out
    alone = dataclasses.replace(
        problem, counterweights=tuple(c for c in COUNTERWEIGHTS if c.name == cut.counterweight)
    )

    def change(facets: int) -> np.ndarray:
        before = readings(PLANES, bodies=bodies(alone, [], facets=facets))
        return readings(PLANES, bodies=bodies(alone, [cut], facets=facets)) - before

    expected = foretold(problem, [cut])
    found = extrapolated(change, 24)
    np.testing.assert_allclose(found, expected, atol=3e-5 * np.abs(expected).max(), rtol=0)
    report = verify(dataclasses.replace(problem, unbalance_gmm=TwoPlanes(0j, 0j)), [cut])
    np.testing.assert_allclose(report.residual_gmm, found, atol=3e-5 * np.abs(expected).max(), rtol=0)


def test_a_whole_crankshaft_with_bobs_and_cuts_of_every_kind():
    """Four throws with bobs, four counterweights, nine cuts: reading after = reading before + what is foretold."""
    problem = problem_of()
    # every cut of the list that does not meet another one
    cuts = [cut for name, cut in CUTS.items() if name != "blind face hole from the front"]
    report = verify(problem, cuts)
    assert report.faults == ()
    bobs = [
        PointMass(1729.0 + index, 95.0 + 110.0 * index, 44.2, angle)
        for index, angle in enumerate((0.0, 90.0, 270.0, 180.0))
    ]

    def change(facets: int) -> np.ndarray:
        before = readings(PLANES, points=bobs, bodies=bodies(problem, [], facets=facets))
        return readings(PLANES, points=bobs, bodies=bodies(problem, cuts, facets=facets)) - before

    found = extrapolated(change, 24)
    np.testing.assert_allclose(found, foretold(problem, cuts), atol=0.3, rtol=0)
    np.testing.assert_allclose(found, report.residual_gmm, atol=0.3, rtol=0)
    # flat entry (no convex rim) would read 7.4 g*mm too much for each 14 mm hole: the check can tell
    assert np.abs(found).max() > 1000.0
