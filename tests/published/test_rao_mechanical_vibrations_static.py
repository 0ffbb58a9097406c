"""Static balance of a drilled disc, from a textbook.

Source: S. S. Rao, Mechanical Vibrations, chapter 9, Problem 9.4 (SI edition).  Inputs found in text (a textbook-answer
site); 22 922 g*mm is a homework site's resultant (it squares 21 650 wrongly), the book's own answer was not seen.
"""

from __future__ import annotations

import pytest

from tests.textbook_rotor import Degrees, to_add_in_one_plane


def test_problem_9_4_fifth_drilled_hole():
    holes = [(-100, 100, 0), (-100, 100, 60), (-150, 100, 120), (-150, 100, 180)]  # removed g, mm, deg
    missing = to_add_in_one_plane(holes)
    assert missing.amount == pytest.approx(22922.0, rel=0.001)
    # recomputed; the fifth hole is drilled opposite to where metal is missing
    assert missing.amount == pytest.approx(22912.87847, rel=1e-4)
    assert missing.amount / 125.0 == pytest.approx(183.3030278, rel=1e-4)
    assert missing.angle_deg + 180.0 == Degrees(289.1066054, within=0.01)
    drilled = to_add_in_one_plane([*holes, (-183.3030278, 125, 289.1066054)])
    assert drilled.amount <= 1e-4 * 22912.9
