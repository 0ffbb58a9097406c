"""Permissible residuals in ounce-inches.

Source: Energy-Tech magazine, article on rotor-balance standards (id 18389, pp. 3-4 of 6): U_per[oz*in] =
6.015*G*W[lb]/n, and worked examples for grades and for the 4W/N rule of API.  Read in text.  The note "about G 0.7"
for 4W/N is from a dictionary of machinery terms (Kane, entry "rotor balance standard").
"""

from __future__ import annotations

import pytest

from planner.quantity import from_gmm, parse_mass_g, parse_unbalance_gmm
from planner.rotor.grades import grade_of_residual_mm_per_s, permissible_residual_gmm
from planner.rotor.tolerance import allocate


def residual_ozin(grade: float, weight: str, speed_rpm: float) -> float:
    """Return a permissible residual in ounce-inches for a weight with its unit."""
    mass_kg = parse_mass_g(weight) / 1000.0
    return from_gmm(permissible_residual_gmm(grade, mass_kg=mass_kg, speed_rpm=speed_rpm), "oz*in")


def test_1000_lb_at_15000_rpm_in_g_2_5():
    # printed: 1.0 oz*in in total, 0.5 in each of two planes
    total = residual_ozin(2.5, "1000 lb", 15000)
    assert total == pytest.approx(1.0, abs=0.05)
    share1, share2 = allocate((0.0, 60.0), centre_of_mass_z_mm=30.0).shares
    assert (share1 * total, share2 * total) == pytest.approx((0.5, 0.5), abs=0.05)


def test_the_imperial_constants():
    # printed 6.015 (oz*in); 170.5 (g*in) is printed in a trade note
    assert residual_ozin(1.0, "1 lb", 1.0) == pytest.approx(6.015, abs=0.0005)
    in_gin = from_gmm(permissible_residual_gmm(1.0, mass_kg=0.45359237, speed_rpm=1.0), "g*in")
    assert in_gin == pytest.approx(170.5, abs=0.05)


def test_the_4w_over_n_rule_is_about_g_0_7():
    # printed: 500 lb on a journal at 15 000 r/min, 0.13 oz*in per plane
    grade = grade_of_residual_mm_per_s(
        parse_unbalance_gmm("0.13 oz-in"), mass_kg=parse_mass_g("500 lb") / 1000.0, speed_rpm=15000
    )
    assert grade == pytest.approx(0.7, abs=0.06)
    assert residual_ozin(grade, "500 lb", 15000) == pytest.approx(0.13)
