"""Static balance, from a textbook.

Source: S. S. Rattan, Theory of Machines, chapter 14, static-balance example (its number is not recalled).  Inputs and
answer from memory.
"""

from __future__ import annotations

import pytest

from planner.rotor.vectors import angle_deg, difference_deg, resolve, static_and_couple, vector_gmm


def test_chapter_14_countermass():
    masses = [(4, 75, 45), (3, 85, 135), (2.5, 50, 240)]  # kg, mm, deg
    static, _ = static_and_couple(
        resolve([(0.0, vector_gmm(kg * mm, deg)) for kg, mm, deg in masses], (0.0, 10.0)), (0.0, 10.0), 0.0
    )
    balance = -static / 75.0  # kg, at a radius of 75 mm
    assert abs(balance) == pytest.approx(3.81123133, rel=1e-4)
    assert difference_deg(angle_deg(balance), 276.1615728) == pytest.approx(0.0, abs=0.01)
    # printed: 3.81 kg at 276.2 deg
    assert abs(balance) == pytest.approx(3.81, rel=0.001)
    assert difference_deg(angle_deg(balance), 276.2) == pytest.approx(0.0, abs=0.1)
