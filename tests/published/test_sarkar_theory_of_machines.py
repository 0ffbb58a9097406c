"""Rotating masses, from a textbook.

Source: B. K. Sarkar, Theory of Machines, 1st ed., Tata McGraw-Hill, 2002, Illustrations 8.3 (p. 223), 8.6 (p. 228)
and 8.7 (p. 229).  Answers found in text: the book's data as coded in the FOSSEE Python textbook companion.

The book's units are kept (kg*mm, kg*m); "recomputed" is our own exact evaluation of the same statement.
"""

from __future__ import annotations

import math

import pytest

from tests.textbook_rotor import Degrees, in_planes, static_and_couple, to_add, to_add_in_one_plane


def test_illustration_8_3_two_planes_between_the_masses():
    # printed: X 350 kg at 146 deg (to be read clockwise), Y 182.5 kg, both at a radius of 100 mm
    masses = [(200, 80, 0, 0), (300, 70, 45, 300), (400, 60, 115, 400), (200, 80, 235, 700)]  # kg, mm, deg, z
    x, y = to_add(in_planes(masses, (100.0, 500.0)))
    assert x.amount / 100.0 == pytest.approx(350.0, rel=0.01)
    assert x.angle_deg == Degrees(-146.0, within=2.0)
    assert y.amount / 100.0 == pytest.approx(182.5, rel=0.01)
    # recomputed
    assert x.amount / 100.0 == pytest.approx(352.9721187, rel=1e-4)
    assert y.amount / 100.0 == pytest.approx(184.0590238, rel=1e-4)
    assert x.angle_deg == Degrees(213.3713235, within=0.01)
    assert y.angle_deg == Degrees(347.1977262, within=0.01)


def test_illustration_8_6_two_masses_one_angle_and_one_place():
    # printed: A 19.5 kg, D 16.5 kg at 252 deg (measured on a drawing).  The spacing of the planes is not in the
    # companion; masses and angle only need its ratio AB : BC = 1 : 2, taken from the same problem elsewhere.
    masses = [(36, 150, 0, 100.0), (25, 150, 100, 300.0)]  # kg, mm, deg, z mm
    a, d = to_add(in_planes(masses, (0.0, 366.6856461)))  # both at a radius of 200 mm
    assert a.angle_deg == Degrees(190.0, within=0.01)  # stated
    assert a.amount / 200.0 == pytest.approx(19.5, rel=0.05)
    assert d.amount / 200.0 == pytest.approx(16.5, rel=0.05)
    assert d.angle_deg == Degrees(252.0, within=1.5)
    # recomputed
    assert a.amount / 200.0 == pytest.approx(19.3384185, rel=1e-4)
    assert d.amount / 200.0 == pytest.approx(15.82113867, rel=1e-4)
    assert d.angle_deg == Degrees(252.7202422, within=0.01)


def test_illustration_8_7_couple_and_bearing_loads():
    # printed: angles A to B 164, B to C 129, C to A 67; couple 868.2 N*m; bearing load 482.3 N
    pulleys = [(48, 0.015, 0.0, 0.0), (56, 0.015, 163.7879088, 1.35), (20, 0.0125, -69.73339822, 2.7)]
    bearings = (0.45, 2.25)
    static, couple = static_and_couple(in_planes(pulleys, bearings), bearings, 1.35)
    assert static <= 1e-4 * 48 * 0.015
    load_n = couple * (2 * math.pi * 300 / 60) ** 2
    assert load_n == pytest.approx(482.3, rel=0.04)
    assert load_n * (2.25 - 0.45) == pytest.approx(868.2, rel=0.04)
    # with B at the printed 164 deg, C must come out near the printed 129 deg from B
    pulley_c = to_add_in_one_plane([(48, 0.015, 0.0), (56, 0.015, 164.0)])
    assert pulley_c.angle_deg == Degrees(164.0 + 129.0, within=3.0)
