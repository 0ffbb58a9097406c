"""The main job against a rigid-body engine: reactions before, plan, cuts in solids, reactions after.

Sources: manifold3d for the bodies, MuJoCo for the forces (see `rigid_body`, `solid_crankshaft`).  The crankshaft is
invented: cross-plane, eight fans in pairs opposite their throws, bobs that match them, three error masses.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from geometry_profiles.shapes import fan
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut, Shop
from planner.frames import TwoPlanes
from planner.machine.unbalance import bob_shift
from planner.rotor.crankshaft import Counterweight, Throw
from planner.rotor.vectors import plane_shares, transfer
from tests.physics.rigid_body import PointMass, readings
from tests.physics.solid_crankshaft import bodies, extrapolated

PLANES = TwoPlanes(470.0, 55.0)  # the left plane is the rear one
BEARINGS = (0.0, 520.0)
RIM, INNER, HALF, THICKNESS = 88.0, 36.0, 58.0, 24.0
THROWS = tuple(
    Throw(name=str(index + 1), angle_deg=angle, z_mm=95.0 + 110.0 * index, radius_mm=44.2, rods=2)
    for index, angle in enumerate((0.0, 90.0, 270.0, 180.0))
)
OUTLINE = fan(outer_radius_mm=RIM, half_angle_deg=HALF, inner_radius_mm=INNER)
COUNTERWEIGHTS = tuple(
    Counterweight(
        name=f"{throw.name}{side}",
        z_mm=throw.z_mm + (-35.0 if side == "f" else 35.0),
        angle_deg=(throw.angle_deg + 180.0) % 360.0,
        thickness_mm=THICKNESS,
        outline=OUTLINE,
        cuts=("rim hole", "slug"),
    )
    for throw in THROWS
    for side in "fr"
)
# two fans opposite a throw hold a bob of this mass in balance: 2 * rho t (2/3)(R^3 - r^3) sin(half) = bob * throw
MATCHED_BOB_G = (
    2.0
    * 7.85e-3
    * THICKNESS
    * 2.0
    / 3.0
    * (RIM**3 - INNER**3)
    * math.sin(math.radians(HALF))
    / THROWS[0].radius_mm
)
ERRORS = (
    PointMass(31.0, 52.0, 71.0, 158.0),
    PointMass(17.0, 300.0, 60.0, 301.0),
    PointMass(29.0, 470.0, 80.0, 15.0),
)


def bobs(mass_g: float) -> list[PointMass]:
    return [PointMass(mass_g, t.z_mm, t.radius_mm, t.angle_deg) for t in THROWS]


def problem_of(unbalance: np.ndarray, allow: tuple[str, ...]) -> CorrectionProblem:
    shares = [plane_shares(z, BEARINGS) for z in PLANES]
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes.vectors(unbalance),
        planes_z_mm=PLANES,
        limits=tuple(
            LimitRow(
                at=f"bearing {side + 1}",
                weight_1=shares[0][side],
                weight_2=shares[1][side],
                tolerance_gmm=tolerance,
                z_mm=BEARINGS[side],
            )
            for side, tolerance in enumerate((220.0, 260.0))
        ),
        counterweights=COUNTERWEIGHTS,
        shop=Shop(
            drills_mm=(14.0,),
            slug_diameters_mm=(19.0, 25.4),
            slug_density_g_per_cm3=17.5,
            allow=allow,
            angle_step_deg=5.0,
        ),
        density_g_per_cm3=7.85,
    )


def spun(bob_g: float, planes: tuple[float, float], cuts: tuple[Cut, ...] = ()) -> np.ndarray:
    """Return what the machine reads with these bobs on and these cuts made, free of facets."""
    blank = problem_of(np.zeros(2), ("rim hole", "slug"))
    points = [*ERRORS, *bobs(bob_g)]
    return extrapolated(
        lambda facets: readings(planes, points=points, bodies=bodies(blank, cuts, facets=facets)), 24
    )


@cache
def uncut(bob_g: float) -> np.ndarray:
    return spun(bob_g, PLANES)


def test_matched_bobs_leave_only_the_error_masses():
    found = uncut(MATCHED_BOB_G)
    np.testing.assert_allclose(found, readings(PLANES, points=ERRORS), atol=0.1, rtol=0)
    assert np.abs(found).min() > 1000.0


@pytest.mark.parametrize(
    ("on_more_g", "wanted_more_g", "allow"),
    [
        pytest.param(0.0, 0.0, ("rim hole",), id="drilled"),
        pytest.param(0.0, 90.0, ("rim hole", "slug"), id="bobs heavier than those on, slugs allowed"),
        pytest.param(60.0, -40.0, ("rim hole",), id="bobs lighter than those on"),
    ],
)
def test_the_plan_leaves_what_it_foretells(on_more_g, wanted_more_g, allow):
    on, wanted = MATCHED_BOB_G + on_more_g, MATCHED_BOB_G + wanted_more_g
    names = [t.name for t in THROWS]
    shift = bob_shift(
        throws=THROWS,
        bobs_on_g=dict.fromkeys(names, on),
        bobs_wanted_g=dict.fromkeys(names, wanted),
        planes_z_mm=PLANES,
    )
    problem = problem_of(uncut(on) + shift, allow)
    outcome = find_plan(problem)
    assert outcome.feasible
    cuts = tuple(planned.cut for planned in outcome.cuts)
    assert cuts
    report = verify(problem, cuts)
    assert report.good, report

    # the engine runs with the wanted bobs: spin the finished crankshaft with them
    after = spun(wanted, PLANES, cuts)
    np.testing.assert_allclose(outcome.residual_gmm, after, atol=0.3, rtol=0)
    np.testing.assert_allclose(report.residual_gmm, after, atol=0.3, rtol=0)
    for found, row in zip(transfer(after, PLANES, BEARINGS), problem.limits, strict=True):
        assert abs(found) <= row.tolerance_gmm + 0.3
    if on_more_g:
        # with the old bobs still on, the machine shows the same less the shift
        np.testing.assert_allclose(spun(on, PLANES, cuts), after - shift, atol=0.3, rtol=0)
