"""Permissible residual unbalance and its share per bearing.

Source: ISO 1940-1:2003, Mechanical vibration - Balance quality requirements for rotors in a constant (rigid) state,
worked example in an informative annex (now ISO 21940-11).  Figures and geometry from memory: someone with the bought
standard should confirm them.
"""

from __future__ import annotations

import pytest

from planner.rotor.grades import permissible_residual_gmm
from planner.rotor.tolerance import ToleranceSpec, allocate, limit_rows


def test_annex_example_3600_kg_rotor():
    # 3600 kg, 3000 r/min, G 2.5; bearing A 1500 mm and bearing B 900 mm from the centre of mass
    total = permissible_residual_gmm(2.5, mass_kg=3600, speed_rpm=3000)
    assert total == pytest.approx(28647.88976, rel=1e-4)
    assert total == pytest.approx(28.6e3, rel=0.005)

    allocation = allocate((0.0, 2400.0), centre_of_mass_z_mm=1500.0)
    assert not allocation.limited
    a, b = (share * total for share in allocation.shares)
    assert (a, b) == pytest.approx((10742.95866, 17904.9311), rel=1e-4)
    assert (a, b) == pytest.approx((10.7e3, 17.9e3), rel=0.005)


def test_annex_example_as_limits_on_two_planes():
    # the same numbers must reach the limits that a residual is judged by (planes in the bearings, for the example
    # says nothing about correction planes)
    rows = limit_rows(
        ToleranceSpec(grade_mm_per_s=2.5),
        planes_z_mm=(0.0, 2400.0),
        bearings_z_mm=(0.0, 2400.0),
        mass_kg=3600,
        speed_rpm=3000,
        centre_of_mass_z_mm=1500.0,
    )
    assert [row.tolerance_gmm for row in rows] == pytest.approx([10.7e3, 17.9e3], rel=0.005)
    assert [(row.weight_1, row.weight_2) for row in rows] == [(1.0, 0.0), (0.0, 1.0)]
