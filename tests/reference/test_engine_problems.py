"""Textbook problems whose statements were read and whose answers were computed apart from this project."""

from __future__ import annotations

import pytest

from planner.engine.engine import custom_engine
from planner.engine.forces import acceleration_coefficients, couple_nm, inherent
from tests.textbook_engine import cylinder, throw


def test_four_cylinder_quarter_cranks_1_4_2_3_problem():
    """A textbook problem (its title is not known; with r/l): r 50, l 200, 2000 rpm, 2 kg, spacing
    200 mm: couples 1241 N*m (sqrt(2) F1*a) and 877 N*m (4 lambda F1*a).
    """
    angles = {"1": 0.0, "2": 180.0, "3": 270.0, "4": 90.0}
    engine = custom_engine(
        throws=[throw(n, a, 200.0 * k, 50.0) for k, (n, a) in enumerate(angles.items())],
        cylinders=[cylinder(n, n, z=200.0 * k, rod=200.0, mass_kg=2.0) for k, n in enumerate(angles)],
        rotation="ccw",
    )
    left = inherent(engine, fraction=0.0)
    assert couple_nm(left.couple[1].largest, speed_rpm=2000.0) == pytest.approx(1241.0, abs=0.5)
    a2 = abs(acceleration_coefficients(4.0)[2])
    assert couple_nm(left.couple[2].largest, speed_rpm=2000.0) * 0.25 / a2 == pytest.approx(877.0, abs=0.5)
