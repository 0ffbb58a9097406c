"""Static balance of drilled and weighted discs, from a textbook.

Source: S. S. Rao, Mechanical Vibrations, chapter 9: Problem 9.4 (SI edition); US edition Problem 9.3 (SI edition
Problem 9.5).
"""

from __future__ import annotations

import pytest

from planner.rotor.vectors import angle_deg, difference_deg, resolve, static_and_couple, vector_gmm


def static_of(masses: list[tuple[float, float, float]]) -> complex:
    """Return the static vector of masses (mass, radius, angle in degrees) in one plane."""
    sources = [(0.0, vector_gmm(mass * radius, deg)) for mass, radius, deg in masses]
    static, _ = static_and_couple(resolve(sources, (0.0, 1.0)), (0.0, 1.0), 0.0)
    return static


def test_problem_9_4_fifth_drilled_hole():
    # inputs found in text (a textbook-answer site); 22 922 g*mm is a homework site's resultant (it squares 21 650
    # wrongly), the book's own answer was not seen
    holes = [(-100, 100, 0), (-100, 100, 60), (-150, 100, 120), (-150, 100, 180)]  # removed g, mm, deg
    left = static_of(holes)
    assert abs(left) == pytest.approx(22912.87847, rel=1e-4)
    assert abs(left) == pytest.approx(22922.0, rel=0.001)
    # the fifth hole goes where the disc is heavy now
    assert abs(left) / 125.0 == pytest.approx(183.3030278, rel=1e-4)
    assert difference_deg(angle_deg(left), 289.1066054) == pytest.approx(0.0, abs=0.01)
    drilled = [*holes, (-183.3030278, 125, 289.1066054)]
    assert abs(static_of(drilled)) <= 1e-4 * 22912.9


def test_us_problem_9_3_fourth_mass_on_a_rim():
    # US inputs and answer from memory: 0.99 lb at -35 deg
    fourth = -static_of([(0.5, 1.0, 10), (0.7, 1.0, 100), (1.2, 1.0, 190)])  # lb, same radius, deg
    assert abs(fourth) == pytest.approx(0.9899494937, rel=1e-4)
    assert difference_deg(angle_deg(fourth), -35.0) == pytest.approx(0.0, abs=0.01)
    assert abs(fourth) == pytest.approx(0.99, rel=0.001)


def test_si_problem_9_5_recomputed_only():
    # SI inputs found in text (a textbook-answer site); the answer is our own exact evaluation, none was seen in print
    fourth = -static_of([(225, 1.0, 10), (320, 1.0, 100), (550, 1.0, 190)])  # g, same radius, deg
    assert abs(fourth) == pytest.approx(456.0975773, rel=1e-4)
    assert difference_deg(angle_deg(fourth), -34.55585557) == pytest.approx(0.0, abs=0.01)
