"""Rotating masses, from examination papers.

Source: GATE (Graduate Aptitude Test in Engineering, India), Mechanical Engineering, papers of 2005 and 2016.
"""

from __future__ import annotations

import pytest

from planner.rotor.vectors import angle_deg, difference_deg, resolve, static_and_couple, vector_gmm


def test_2005_radius_of_a_balance_mass():
    # question, answer and arithmetic found in text (an examination site); official choice 150 mm
    masses = [(0.5, 50, 0), (0.5, 60, 150)]  # kg, mm, deg
    static, _ = static_and_couple(
        resolve([(0.0, vector_gmm(kg * mm, deg)) for kg, mm, deg in masses], (0.0, 1.0)), (0.0, 1.0), 0.0
    )
    balance = -static / 0.1  # mm, for a mass of 0.1 kg
    assert abs(balance) == pytest.approx(150.3202895, rel=1e-4)
    assert difference_deg(angle_deg(balance), 273.7409105) == pytest.approx(0.0, abs=0.01)
    assert abs(balance) == pytest.approx(150.0, rel=0.003)


def left_in_the_planes(m1_kg: float) -> float:
    """Return the larger vector [kg*mm] that two opposed pairs leave; the second pair's place does not matter."""
    first = [(0.0, vector_gmm(1.0 * 50, 0)), (2.0, vector_gmm(1.0 * 50, 180))]  # z m, kg*mm
    second = [(-0.3, vector_gmm(m1_kg * 20, 180)), (2.2, vector_gmm(m1_kg * 20, 0))]
    return float(max(abs(resolve(first + second, (0.0, 2.0)))))


def test_2016_two_opposed_couples():
    # inputs found in text (examination sites), official answer 2 kg from memory; 1 kg at 50 mm, 2.0 m apart, against
    # m1 at 20 mm, 2.5 m apart
    assert left_in_the_planes(2.0) <= 1e-9 * 50
    assert left_in_the_planes(2.01) > 1e-3 * 50  # and no other mass does
