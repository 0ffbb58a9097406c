"""Three overhung pulleys, from a textbook that could not be identified.

Source: a theory-of-machines textbook, problem 12.43 (book not identified; solution text hosted by a
textbook-solution site).  Inputs and angles found in text; the printed bearing load was cut off, so only the angles are
checked.
"""

from __future__ import annotations

import math

from tests.textbook_rotor import Degrees, in_planes, static_and_couple, to_add_in_one_plane

PULLEYS = ((50, 0.020, -0.5), (55, 0.015, 1.0), (20, 0.015, 2.5))  # kg, m, z m
BEARINGS = (0.0, 2.0)


def test_printed_angles_balance_within_their_tolerance():
    # printed (measured on a drawing): A to B 165, B to C 61, C to A 134; tolerance 1.5 deg
    angles = (0.0, 165.0, 165.0 + 61.0)
    pair = in_planes([(kg, m, deg, z) for (kg, m, z), deg in zip(PULLEYS, angles, strict=True)], BEARINGS)
    static, couple = static_and_couple(pair, BEARINGS, 1.0)
    assert static <= math.radians(1.5) * 55 * 0.015
    assert couple > 10.0 * static  # what is left is a couple, as the problem says
    pulley_c = to_add_in_one_plane([(50, 0.020, 0.0), (55, 0.015, 165.0)])
    assert pulley_c.angle_deg == Degrees(165.0 + 61.0, within=1.5)
    assert pulley_c.angle_deg == Degrees(-134.0, within=1.5)
