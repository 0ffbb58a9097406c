"""A residual by the 4W/N rule.

Source: V. S. Lobanoff, R. R. Ross, Centrifugal Pumps: Design & Application, 2nd ed., 1992, p. 457 (rule of API 610,
7th ed.).  Read in text.  The same page's figure for G 2.5 (1000 lb, 3600 r/min: 4.5 oz*in) was read off a chart, 7.7 %
above the formula, and is no check.
"""

from __future__ import annotations

import pytest

from planner.quantity import parse_mass_g, parse_unbalance_gmm
from planner.rotor.grades import grade_of_residual_mm_per_s


def test_1000_lb_at_3600_rpm():
    # printed: 1.1 oz*in in total for two planes, which is 4W/N; 4W/N is "about G 0.7" (Kane's machinery dictionary)
    grade = grade_of_residual_mm_per_s(
        parse_unbalance_gmm("1.1 oz-in"), mass_kg=parse_mass_g("1000 lb") / 1000.0, speed_rpm=3600
    )
    assert grade == pytest.approx(0.7, abs=0.05)
    # 4W/N per plane in metric (6350*W/N g*mm, W in kg: the public check sheet citing API 687) is the same quality
    assert grade == pytest.approx(6350.0 / 9549.3, rel=0.012)
