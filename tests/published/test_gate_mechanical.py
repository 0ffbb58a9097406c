"""A balance mass, from an examination paper.

Source: GATE (Graduate Aptitude Test in Engineering, India), Mechanical Engineering, paper of 2005.  Question, answer and
arithmetic found in text (an examination site).
"""

from __future__ import annotations

import pytest

from tests.textbook_rotor import Degrees, to_add_in_one_plane


def test_2005_radius_of_a_balance_mass():
    # official choice: 150 mm
    balance = to_add_in_one_plane([(0.5, 50, 0), (0.5, 60, 150)])  # kg, mm, deg; a mass of 0.1 kg is put on
    assert balance.amount / 0.1 == pytest.approx(150.0, rel=0.003)
    # recomputed
    assert balance.amount / 0.1 == pytest.approx(150.3202895, rel=1e-4)
    assert balance.angle_deg == Degrees(273.7409105, within=0.01)
