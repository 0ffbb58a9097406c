"""Free forces and couples of the usual layouts.

Source: Automotive Handbook (SAE / Bentley), table of free forces and moments of piston engines; in-line 4 also
Den Hartog, Mechanical Vibrations, chapter on multicylinder engines.  All figures FROM MEMORY, not re-read.
Units: F1 = m r w^2, F2 = A2 m r w^2 (the handbook: lambda m r w^2), a = throw spacing.
"""

from __future__ import annotations

import math

import pytest

from planner.engine.engine import engine_from_layout
from planner.engine.forces import acceleration_coefficients, inherent
from planner.engine.layouts import layout

RATIO = 4.0
A2 = abs(acceleration_coefficients(RATIO)[2])


def left(name: str, fraction: float = 0.0):
    return inherent(engine_from_layout(layout(name), rotation="cw", rod_ratio=RATIO), fraction=fraction)


# layout, primary force F1, primary couple F1*a, secondary force F2, secondary couple F2*a; None: not in the table
TABLE = [
    ("in-line 3", 0, math.sqrt(3), 0, math.sqrt(3), 1e-9),
    ("in-line 4", 0, 0, 4, 0, 1e-9),
    ("in-line 5", 0, 0.449, 0, 4.98, 1e-3),
    ("in-line 6", 0, 0, 0, 0, 1e-9),
    ("flat 4", 0, 0, 0, 2, 1e-9),
    ("flat 6", 0, 0, 0, 0, 1e-9),
    ("V6, 60 degree banks, pins split 60 degrees", 0, 1.5, 0, 1.5, 1e-9),
    ("V6, 90 degree banks, shared pins", 0, math.sqrt(3), 0, math.sqrt(6), 1e-9),
    ("V8, 90 degree banks, cross-plane", 0, math.sqrt(10), 0, 0, 1e-9),
    ("V12, 60 degree banks", 0, 0, 0, 0, 1e-9),
]


@pytest.mark.parametrize(("name", "f1", "c1", "f2", "c2", "within"), TABLE)
def test_free_forces_and_couples_before_counterweights(name, f1, c1, f2, c2, within):
    bare = left(name)
    assert bare.force[1].largest == pytest.approx(f1, abs=1e-9)
    assert bare.couple[1].largest == pytest.approx(c1, abs=within)
    assert bare.force[2].largest / A2 == pytest.approx(f2, abs=1e-9)
    assert bare.couple[2].largest / A2 == pytest.approx(c2, abs=max(within, 1e-9))


def test_v6_with_pins_split_30_degrees_after_half():
    """0.4483 F1*a in both planes, turning backward."""
    couple = left("V6, 90 degree banks, pins split 30 degrees", fraction=0.5).couple[1]
    assert abs(couple.backward) == pytest.approx(0.4483, abs=5e-5)
    assert abs(couple.forward) < 1e-12


def test_v6_with_pins_split_30_degrees_second_order():
    """(0.966 +- 0.256) sqrt(3) F2*a as remembered; exact is cos 15 and sin 15 degrees, 0.9659 +- 0.2588."""
    couple = left("V6, 90 degree banks, pins split 30 degrees").couple[2]
    high, low = couple.largest / A2 / math.sqrt(3), couple.least / A2 / math.sqrt(3)
    assert 0.5 * (high + low) == pytest.approx(0.966, abs=5e-4)
    assert 0.5 * (high - low) == pytest.approx(0.256, rel=0.012)
    assert 0.5 * (high - low) == pytest.approx(math.sin(math.radians(15)), abs=1e-9)


def test_first_order_of_v8_vanishes_with_half():
    """Complete first-order balance of the cross-plane V8 by counterweights."""
    after = left("V8, 90 degree banks, cross-plane", fraction=0.5)
    assert after.force[1].largest < 1e-12
    assert after.couple[1].largest < 1e-12
