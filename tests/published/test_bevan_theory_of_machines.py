"""Rotating masses in pounds and inches, from a textbook.

Source: T. Bevan, The Theory of Machines, 3rd ed., chapter 14, Examples 1(a), 1(b) and 2, p. 491.  Found in text: the
book's data as coded in the FOSSEE Python textbook companion; the geometry of example 1 is inferred from the coded
formulas.  Units here are pounds and inches, to match the text.
"""

from __future__ import annotations

import pytest

from tests.textbook_rotor import Degrees, in_planes, to_add, to_add_in_one_plane


@pytest.mark.parametrize(
    ("z_in", "near_lb", "near_deg", "far_lb", "far_deg"),
    [
        (-10.0, 144.0, 180.0, 24.0, 0.0),  # 1(a): outside the planes, so the far mass sits on the same side
        (10.0, 96.0, 180.0, 24.0, 180.0),  # 1(b): between the planes, both sit opposite
    ],
)
def test_example_1_one_weight_balanced_in_two_planes(z_in, near_lb, near_deg, far_lb, far_deg):
    near, far = to_add(in_planes([(200.0, 9.0, 0.0, z_in)], (0.0, 50.0)))
    assert near.amount / 15.0 == pytest.approx(near_lb, rel=1e-6)
    assert far.amount / 15.0 == pytest.approx(far_lb, rel=1e-6)
    assert near.angle_deg == Degrees(near_deg, within=0.01)
    assert far.angle_deg == Degrees(far_deg, within=0.01)


def test_example_2_static_balance():
    # printed: 57.9 lb at a radius of 24 in; 23.28 deg is the angle of the resultant, the weight sits opposite
    balance = to_add_in_one_plane([(200, 9, 0), (300, 7, 45), (240, 10, 120), (260, 12, 255)])  # lb, in, deg
    assert balance.amount / 24.0 == pytest.approx(57.9, rel=0.002)
    assert balance.angle_deg == Degrees(23.28 + 180.0, within=0.05)
    # recomputed
    assert balance.amount / 24.0 == pytest.approx(57.94423324, rel=1e-4)
    assert balance.angle_deg == Degrees(203.2832549, within=0.01)
