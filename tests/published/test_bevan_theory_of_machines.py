"""Rotating masses in pounds and inches, from a textbook.

Source: T. Bevan, The Theory of Machines, 3rd ed., chapter 14, Examples 1(a), 1(b) and 2, p. 491.  Found in text: the
book's data as coded in the FOSSEE Python textbook companion; the geometry of example 1 is inferred from the coded
formulas.  Units here are pounds and inches, to match the text.
"""

from __future__ import annotations

import pytest

from planner.rotor.vectors import angle_deg, difference_deg, resolve, static_and_couple, vector_gmm


@pytest.mark.parametrize(
    ("z_in", "near_lb", "near_deg", "far_lb", "far_deg"),
    [
        (-10.0, 144.0, 180.0, 24.0, 0.0),  # 1(a): outside the planes, so the far mass sits on the same side
        (10.0, 96.0, 180.0, 24.0, 180.0),  # 1(b): between the planes, both sit opposite
    ],
)
def test_example_1_one_weight_balanced_in_two_planes(z_in, near_lb, near_deg, far_lb, far_deg):
    near, far = -resolve([(z_in, vector_gmm(200.0 * 9.0, 0.0))], (0.0, 50.0)) / 15.0
    assert abs(near) == pytest.approx(near_lb, rel=1e-6)
    assert abs(far) == pytest.approx(far_lb, rel=1e-6)
    assert difference_deg(angle_deg(near), near_deg) == pytest.approx(0.0, abs=0.01)
    assert difference_deg(angle_deg(far), far_deg) == pytest.approx(0.0, abs=0.01)


def test_example_2_static_balance():
    weights = [(200, 9, 0), (300, 7, 45), (240, 10, 120), (260, 12, 255)]  # lb, in, deg
    static, _ = static_and_couple(
        resolve([(0.0, vector_gmm(lb * inch, deg)) for lb, inch, deg in weights], (0.0, 1.0)), (0.0, 1.0), 0.0
    )
    balance = -static / 24.0  # lb, at a radius of 24 in
    assert abs(balance) == pytest.approx(57.94423324, rel=1e-4)
    assert difference_deg(angle_deg(balance), 203.2832549) == pytest.approx(0.0, abs=0.01)
    # printed: 57.9 lb; 23.28 deg is the angle of the resultant, the weight sits opposite
    assert abs(balance) == pytest.approx(57.9, rel=0.002)
    assert difference_deg(angle_deg(static), 23.28) == pytest.approx(0.0, abs=0.05)
