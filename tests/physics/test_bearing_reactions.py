"""Vectors in two planes are what a rigid-body engine finds at the bearings.

Source: MuJoCo, general-purpose rigid-body engine (``mujoco-core`` 4.0; inverse dynamics of a body on a hinge).  The
crankshafts are invented.
"""

from __future__ import annotations

import numpy as np
import pytest

from planner.machine.spin import MountedPart
from planner.machine.unbalance import bob_shift, mounted_shift
from planner.rotor.crankshaft import Throw
from planner.rotor.vectors import resolve, transfer, vector_gmm
from tests.physics.rigid_body import PointMass, readings

PLANES = (40.0, 480.0)


def vectors_of(points):
    return [(p.z_mm, vector_gmm(p.mass_g * p.radius_mm, p.angle_deg)) for p in points]


def test_one_mass_at_30_degrees_near_the_front_plane():
    """By hand as well: 10 g at 60 mm, 40 mm behind the front plane of two 440 mm apart: 600*400/440, 600*40/440."""
    mass = PointMass(10.0, 80.0, 60.0, 30.0)
    found = readings(PLANES, points=[mass])
    by_hand = 600.0 * np.exp(1j * np.pi / 6) * np.array([400.0 / 440.0, 40.0 / 440.0])
    np.testing.assert_allclose(found, by_hand, atol=1e-6, rtol=0)
    np.testing.assert_allclose(resolve(vectors_of([mass]), PLANES), found, atol=1e-6, rtol=0)


def test_the_answer_does_not_depend_on_where_the_rotor_stands_or_how_fast_it_turns():
    mass = PointMass(10.0, 80.0, 60.0, 30.0)
    still = readings(PLANES, points=[mass])
    for speed, turned in ((500.0, 77.0), (1000.0, 200.0)):
        again = readings(PLANES, points=[mass], speed_rpm=speed, turned_deg=turned)
        np.testing.assert_allclose(again, still, atol=1e-6, rtol=0)


def test_a_mass_ahead_of_the_front_plane_reads_backwards_at_the_rear():
    mass = PointMass(10.0, -20.0, 60.0, 30.0)
    found = readings(PLANES, points=[mass])
    assert abs(found[0]) > 600.0
    np.testing.assert_allclose(resolve(vectors_of([mass]), PLANES), found, atol=1e-6, rtol=0)


@pytest.mark.parametrize("seed", range(6))
def test_many_masses_in_any_two_planes(seed):
    rng = np.random.default_rng(seed)
    points = [
        PointMass(
            float(rng.uniform(1, 400)),
            float(rng.uniform(-50, 550)),
            float(rng.uniform(20, 95)),
            float(rng.uniform(0, 360)),
        )
        for _ in range(9)
    ]
    planes = tuple(float(z) for z in rng.uniform(0, 500, 2) + np.array([0.0, 300.0]))
    rear_first = planes[::-1]
    for pair in (planes, rear_first):
        found = readings(pair, points=points)
        np.testing.assert_allclose(resolve(vectors_of(points), pair), found, atol=1e-6, rtol=0)
    # moving the pair of vectors to the bearings is what the engine reads there
    bearings = (-10.0, 530.0)
    at_bearings = transfer(readings(planes, points=points), planes, bearings)
    np.testing.assert_allclose(at_bearings, readings(bearings, points=points), atol=1e-6, rtol=0)


# A cross-plane crankshaft of 44.2 mm throw radius, throws at 0, 90, 270, 180 degrees (invented)
THROWS = tuple(
    Throw(name=str(index + 1), angle_deg=angle, z_mm=95.0 + 110.0 * index, radius_mm=44.2, rods=2)
    for index, angle in enumerate((0.0, 90.0, 270.0, 180.0))
)
ERRORS = [
    PointMass(31.0, 52.0, 71.0, 138.0),
    PointMass(17.0, 300.0, 60.0, 301.0),
    PointMass(9.0, 470.0, 80.0, 15.0),
]


def bobs(masses_g):
    return [
        PointMass(mass, t.z_mm, t.radius_mm, t.angle_deg)
        for t, mass in zip(THROWS, masses_g, strict=True)
        if mass > 0.0
    ]


@pytest.mark.parametrize(
    ("on", "wanted"),
    [
        ((1729.0, 1729.0, 1729.0, 1729.0), (1850.0, 1850.0, 1850.0, 1850.0)),
        ((1729.0, 1729.5, 1728.2, 1730.0), (1741.0, 1740.0, 1742.5, 1741.1)),
        ((0.0, 0.0, 0.0, 0.0), (1850.0, 1850.0, 1850.0, 1850.0)),  # spun bare
        ((1850.0, 1850.0, 1850.0, 1850.0), (1600.0, 1600.0, 1600.0, 1600.0)),
    ],
    ids=["heavier", "unequal", "bare", "lighter"],
)
def test_other_bobs_shift_the_reading_as_foretold(on, wanted):
    before = readings(PLANES, points=ERRORS + bobs(on))
    after = readings(PLANES, points=ERRORS + bobs(wanted))
    names = [t.name for t in THROWS]
    shift = bob_shift(
        throws=THROWS,
        bobs_on_g=dict(zip(names, on, strict=True)),
        bobs_wanted_g=dict(zip(names, wanted, strict=True)),
        planes_z_mm=PLANES,
    )
    np.testing.assert_allclose(before + shift, after, atol=1e-5, rtol=0)
    assert np.abs(shift).max() > 10.0  # the shift is no rounding


def test_a_mounted_part_that_was_not_on_and_one_that_was():
    flywheel = PointMass(24.0, 545.0, 60.0, 33.0)  # 1440 g*mm behind the rear plane, wanted in the engine
    adapter = PointMass(3.0, -60.0, 50.0, 250.0)  # 150 g*mm ahead of the front one, only on the machine
    parts = (
        MountedPart(name="flywheel", z_mm=545.0, unbalance_gmm=1440.0, angle_deg=33.0, in_engine=True),
        MountedPart(name="adapter", z_mm=-60.0, unbalance_gmm=150.0, angle_deg=250.0, in_engine=False),
        MountedPart(name="damper", z_mm=-40.0, unbalance_gmm=700.0, angle_deg=10.0, in_engine=True),
    )
    damper = PointMass(10.0, -40.0, 70.0, 10.0)
    spun = readings(PLANES, points=[*ERRORS, adapter, damper])
    wanted = readings(PLANES, points=[*ERRORS, flywheel, damper])
    shift = mounted_shift(parts=parts, mounted=("adapter", "damper"), planes_z_mm=PLANES)
    np.testing.assert_allclose(spun + shift, wanted, atol=1e-6, rtol=0)
