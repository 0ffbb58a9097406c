"""Rotating masses from textbooks and examinations, as remembered.

Recalled from: R. L. Norton, Design of Machinery, Example 12-1; S. S. Rattan, Theory of Machines, ch. 14; R. S. Khurmi, J. K.
Gupta, Theory of Machines, 14th ed., Examples 21.2 and 21.4, Exercises 21.1 and 21.2; GATE Mechanical 2016; S. S. Rao,
Mechanical Vibrations, US edition Problem 9.3 (SI edition Problem 9.5).  Not read; where inputs were read it says so.
"""

from __future__ import annotations

import pytest

from tests.textbook_rotor import Degrees, in_planes, to_add, to_add_in_one_plane


def test_norton_example_12_1_mass_radius_product():
    # recalled: 2.402 kg*m at 259.6 deg
    balance = to_add_in_one_plane([(1.2, 1.135, 113.4), (1.8, 0.822, 48.8)])  # kg, m, deg
    assert balance.amount == pytest.approx(2.402, rel=0.001)
    assert balance.angle_deg == Degrees(259.6, within=0.05)
    assert balance.amount == pytest.approx(2.402717911, rel=1e-4)
    assert balance.angle_deg == Degrees(259.6013355, within=0.01)


def test_rattan_chapter_14_countermass():
    # recalled: 3.81 kg at 276.2 deg, at a radius of 75 mm
    balance = to_add_in_one_plane([(4, 75, 45), (3, 85, 135), (2.5, 50, 240)])  # kg, mm, deg
    assert balance.amount / 75.0 == pytest.approx(3.81, rel=0.001)
    assert balance.angle_deg == Degrees(276.2, within=0.1)
    assert balance.amount / 75.0 == pytest.approx(3.81123133, rel=1e-4)
    assert balance.angle_deg == Degrees(276.1615728, within=0.01)


def test_khurmi_gupta_example_21_2():
    # inputs read (a college assignment sheet); recalled: X 355 kg at 145 deg (to be read clockwise), Y 182.5 kg at 12 deg
    # clockwise from A
    masses = [(200, 80, 0, 0), (300, 70, 45, 300), (400, 60, 115, 400), (200, 80, 235, 700)]  # kg, mm, deg, z
    x, y = to_add(in_planes(masses, (100.0, 500.0)))
    assert x.amount / 100.0 == pytest.approx(355.0, rel=0.01)
    assert y.amount / 100.0 == pytest.approx(182.5, rel=0.01)
    assert x.angle_deg == Degrees(-145.0, within=2.0)
    assert y.angle_deg == Degrees(-12.0, within=2.0)


def test_khurmi_gupta_example_21_4_two_masses_one_angle_and_one_place():
    # inputs read (two question sites, also IAS 2004); recalled: D 8 kg at 251 deg, both at a radius of 80 mm
    z_d = 366.6856461  # recomputed place of D, put in: then A must come out at the stated 190 deg
    masses = [(18, 60, 0, 100.0), (12.5, 60, 100, 300.0)]
    a, d = to_add(in_planes(masses, (0.0, z_d)))
    assert a.angle_deg == Degrees(190.0, within=0.01)
    assert d.amount / 80.0 == pytest.approx(8.0, rel=0.015)
    assert d.angle_deg == Degrees(251.0, within=2.0)
    assert a.amount / 80.0 == pytest.approx(9.669209249, rel=1e-4)
    assert d.amount / 80.0 == pytest.approx(7.910569336, rel=1e-4)
    assert d.angle_deg == Degrees(252.7202422, within=0.01)
    balance = [(a.amount / 80, 80, a.angle_deg, 0.0), (d.amount / 80, 80, d.angle_deg, z_d)]
    assert abs(in_planes([*masses, *balance], (50.0, 250.0))) == pytest.approx(0.0, abs=1e-9 * 18 * 60)


def test_khurmi_gupta_exercise_1_static_balance():
    # recalled: 7.56 kg at a radius of 100 mm, 87 deg clockwise of A (= 273)
    balance = to_add_in_one_plane([(12, 40, 0), (10, 50, 60), (18, 60, 135), (15, 30, 270)])  # kg, mm, deg
    assert balance.amount / 100.0 == pytest.approx(7.56, rel=0.015)
    assert balance.angle_deg == Degrees(273.0, within=0.6)
    assert balance.amount / 100.0 == pytest.approx(7.474470115, rel=1e-4)
    assert balance.angle_deg == Degrees(272.5822664, within=0.01)


def test_khurmi_gupta_exercise_2_three_masses_and_one_angle():
    # recalled: equal radii, planes one unit apart; B 7 kg at 0, C at 90, D at 240 deg; A 5 kg at 205 deg, C 6 kg, D 4.67 kg
    masses = [(7.0, 1.0, 0, 1.0), (6.062177826, 1.0, 90, 2.0), (4.666666667, 1.0, 240, 3.0)]
    vectors = in_planes(masses, (0.0, 3.0))
    assert abs(vectors[1]) <= 1e-4 * 7.0  # the recomputed C and D leave nothing in D's plane
    a, _ = to_add(vectors)
    assert a.amount == pytest.approx(5.0, rel=0.02)
    assert a.angle_deg == Degrees(205.0, within=2.0)
    assert a.amount == pytest.approx(5.085382101, rel=1e-4)
    assert a.angle_deg == Degrees(203.4132244, within=0.01)
    # the recalled masses leave, in D's plane, no more than 2 percent of what C and D bring there
    recalled = in_planes([masses[0], (6.0, 1.0, 90, 2.0), (4.67, 1.0, 240, 3.0)], (0.0, 3.0))
    assert abs(recalled[1]) <= 0.02 * (2.0 / 3.0 * 6.0 + 4.67)


def left_in_the_planes(m1_kg: float) -> float:
    """Return the larger vector [kg*mm] that two opposed pairs leave; the second pair's place does not matter."""
    pairs = [(1.0, 50, 0, 0.0), (1.0, 50, 180, 2.0), (m1_kg, 20, 180, -0.3), (m1_kg, 20, 0, 2.2)]
    return float(max(abs(in_planes(pairs, (0.0, 2.0)))))


def test_gate_2016_two_opposed_couples():
    # inputs read (examination sites), recalled: 2 kg; 1 kg at 50 mm, 2.0 m apart, against m1 at 20 mm, 2.5 m apart
    assert left_in_the_planes(2.0) <= 1e-9 * 50
    assert left_in_the_planes(2.01) > 1e-3 * 50  # and no other mass does


def test_rao_us_problem_9_3_fourth_mass_on_a_rim():
    # recalled: 0.99 lb at -35 deg
    fourth = to_add_in_one_plane([(0.5, 1.0, 10), (0.7, 1.0, 100), (1.2, 1.0, 190)])  # lb, same radius, deg
    assert fourth.amount == pytest.approx(0.99, rel=0.001)
    assert fourth.angle_deg == Degrees(-35.0, within=0.01)
    assert fourth.amount == pytest.approx(0.9899494937, rel=1e-4)


def test_rao_si_problem_9_5_recomputed_only():
    # inputs read (a textbook-answer site); the answer is our own exact evaluation, none was seen in print
    fourth = to_add_in_one_plane([(225, 1.0, 10), (320, 1.0, 100), (550, 1.0, 190)])  # g, same radius, deg
    assert fourth.amount == pytest.approx(456.0975773, rel=1e-4)
    assert fourth.angle_deg == Degrees(-34.55585557, within=0.01)
