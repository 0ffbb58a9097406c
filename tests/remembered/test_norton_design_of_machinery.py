"""Static balance, from a textbook.

Source: R. L. Norton, Design of Machinery, chapter 12, Example 12-1.  Inputs and answer from memory.
"""

from __future__ import annotations

import pytest

from planner.rotor.vectors import angle_deg, difference_deg, resolve, static_and_couple, vector_gmm


def test_example_12_1_mass_radius_product():
    masses = [(1.2, 1.135, 113.4), (1.8, 0.822, 48.8)]  # kg, m, deg
    static, _ = static_and_couple(
        resolve([(0.0, vector_gmm(kg * m, deg)) for kg, m, deg in masses], (0.0, 1.0)), (0.0, 1.0), 0.0
    )
    balance = -static  # kg*m
    assert abs(balance) == pytest.approx(2.402717911, rel=1e-4)
    assert difference_deg(angle_deg(balance), 259.6013355) == pytest.approx(0.0, abs=0.01)
    # printed: 2.402 kg*m at 259.6 deg
    assert abs(balance) == pytest.approx(2.402, rel=0.001)
    assert difference_deg(angle_deg(balance), 259.6) == pytest.approx(0.0, abs=0.05)
