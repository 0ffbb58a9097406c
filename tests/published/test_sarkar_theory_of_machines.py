"""Rotating masses, from a textbook.

Source: B. K. Sarkar, Theory of Machines, 1st ed., Tata McGraw-Hill, 2002, Illustrations 8.3 (p. 223), 8.6 (p. 228)
and 8.7 (p. 229).  Answers found in text: the book's data as coded in the FOSSEE Python textbook companion.

The book's units are kept (kg*mm, kg*m); "recomputed" is our own exact evaluation of the same statement.
"""

from __future__ import annotations

import math

import pytest

from planner.rotor.vectors import angle_deg, difference_deg, resolve, static_and_couple, vector_gmm


def test_illustration_8_3_two_planes_between_the_masses():
    # printed: X 350 kg at 146 deg (to be read clockwise), Y 182.5 kg
    masses = [
        (200, 80, 0, 0),
        (300, 70, 45, 300),
        (400, 60, 115, 400),
        (200, 80, 235, 700),
    ]  # kg, mm, deg, z mm
    x_plane, y_plane = resolve([(z, vector_gmm(kg * mm, deg)) for kg, mm, deg, z in masses], (100.0, 500.0))
    x, y = -x_plane / 100.0, -y_plane / 100.0
    assert abs(x) == pytest.approx(350.0, rel=0.01)
    assert difference_deg(angle_deg(x), -146.0) == pytest.approx(0.0, abs=2.0)
    assert abs(y) == pytest.approx(182.5, rel=0.01)
    assert abs(x) == pytest.approx(352.9721187, rel=1e-4)
    assert abs(y) == pytest.approx(184.0590238, rel=1e-4)


def test_illustration_8_6_two_masses_one_angle_and_one_place():
    # printed: A 19.5 kg, D 16.5 kg at 252 deg (measured on a drawing).  The spacing of the planes is not in the
    # companion; masses and angle only need its ratio AB : BC = 1 : 2, taken from the same problem elsewhere.
    b, c = vector_gmm(36 * 150, 0), vector_gmm(25 * 150, 100)  # kg*mm, at z = 100 and 300 mm
    a_plane, d_plane = resolve([(100.0, b), (300.0, c)], (0.0, 366.6856461))
    a, d = -a_plane / 200.0, -d_plane / 200.0  # kg, both at a radius of 200 mm
    assert difference_deg(angle_deg(a), 190.0) == pytest.approx(0.0, abs=0.01)  # stated
    assert abs(a) == pytest.approx(19.3384185, rel=1e-4)
    assert abs(d) == pytest.approx(15.82113867, rel=1e-4)
    assert difference_deg(angle_deg(d), 252.7202422) == pytest.approx(0.0, abs=0.01)
    assert abs(a) == pytest.approx(19.5, rel=0.05)
    assert abs(d) == pytest.approx(16.5, rel=0.05)
    assert difference_deg(angle_deg(d), 252.0) == pytest.approx(0.0, abs=1.5)


def test_illustration_8_7_couple_and_bearing_loads():
    # printed: angles A to B 164, B to C 129, C to A 67; couple 868.2 N*m; bearing load 482.3 N
    pulleys = [(48, 0.015, 0.0, 0.0), (56, 0.015, 1.35, 163.7879088), (20, 0.0125, 2.7, -69.73339822)]
    bearings = (0.45, 2.25)
    pair = resolve([(z, vector_gmm(kg * m, deg)) for kg, m, z, deg in pulleys], bearings)
    static, couple = static_and_couple(pair, bearings, 1.35)
    assert abs(static) <= 1e-4 * 48 * 0.015
    load_n = abs(couple) * (2 * math.pi * 300 / 60) ** 2
    assert load_n == pytest.approx(482.3, rel=0.04)
    assert load_n * (2.25 - 0.45) == pytest.approx(868.2, rel=0.04)
    # with B at the printed 164 deg, C must come out near the printed 129 deg from B
    printed = resolve([(0.0, vector_gmm(48 * 0.015, 0.0)), (1.35, vector_gmm(56 * 0.015, 164.0))], bearings)
    needed, _ = static_and_couple(-printed, bearings, 1.35)
    assert difference_deg(angle_deg(needed), 164.0 + 129.0) == pytest.approx(0.0, abs=3.0)
