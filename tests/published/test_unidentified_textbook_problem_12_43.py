"""Three overhung pulleys, from a textbook that could not be identified.

Source: a theory-of-machines textbook, problem 12.43 (book not identified; solution text hosted by a
textbook-solution site).  Inputs and angles found in text; the printed bearing load was cut off, so couple and load are
our own exact evaluation only.
"""

from __future__ import annotations

import math

import pytest

from planner.rotor.vectors import angle_deg, difference_deg, resolve, static_and_couple, vector_gmm

PULLEYS = ((50, 0.020, -0.5), (55, 0.015, 1.0), (20, 0.015, 2.5))  # kg, m, z m
BEARINGS = (0.0, 2.0)


def pair(b_deg: float, c_deg: float) -> tuple[complex, complex]:
    """Return static vector and couple vector [kg*m] with pulley A at 0 and the others at these angles."""
    sources = [
        (z, vector_gmm(kg * m, deg)) for (kg, m, z), deg in zip(PULLEYS, (0.0, b_deg, c_deg), strict=True)
    ]
    return static_and_couple(resolve(sources, BEARINGS), BEARINGS, 1.0)


def test_recomputed_angles_balance_statically_and_leave_a_couple():
    static, couple = pair(164.5826943, 164.5826943 + 62.3943231)
    assert abs(static) <= 1e-4 * 50 * 0.020
    load_n = abs(couple) * (2 * math.pi * 300 / 60) ** 2
    assert load_n == pytest.approx(906.3921622, rel=1e-4)
    assert load_n * 2.0 == pytest.approx(1812.784324, rel=1e-4)


def test_printed_angles_balance_within_their_tolerance():
    # printed (measured on a drawing): A to B 165, B to C 61, C to A 134; tolerance 1.5 deg
    static, _ = pair(165.0, 165.0 + 61.0)
    assert abs(static) <= math.radians(1.5) * 55 * 0.015
    a_and_b = [(-0.5, vector_gmm(50 * 0.020, 0.0)), (1.0, vector_gmm(55 * 0.015, 165.0))]
    needed, _ = static_and_couple(-resolve(a_and_b, BEARINGS), BEARINGS, 1.0)
    assert difference_deg(angle_deg(needed), 165.0 + 61.0) == pytest.approx(0.0, abs=1.5)
    assert difference_deg(angle_deg(needed), -134.0) == pytest.approx(0.0, abs=1.5)
