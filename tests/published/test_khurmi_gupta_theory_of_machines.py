"""Rotating masses, from a textbook.

Source: R. S. Khurmi, J. K. Gupta, Theory of Machines, 14th ed., Eurasia / S. Chand, chapter 21 "Balancing of
rotating masses".

Every test says whether its figures were found in text or are from memory.  The book's units are kept: amounts are
kg*mm (or kg*m), which the vector functions carry as they carry g*mm, because they are linear.  The book measures and
rounds on drawings; "recomputed" is our own exact evaluation of the same statement, kept beside the printed figure.
"""

from __future__ import annotations

import math

import pytest

from planner.rotor.vectors import angle_deg, difference_deg, resolve, static_and_couple, transfer, vector_gmm


def test_example_21_1_static_balance_of_four_masses():
    # inputs and answer found in text (a college assignment sheet; a quiz of an Indian virtual laboratory)
    masses = [(200, 200, 0), (300, 150, 45), (240, 250, 120), (260, 300, 255)]  # kg, mm, deg
    in_one_plane = resolve([(0.0, vector_gmm(kg * mm, deg)) for kg, mm, deg in masses], (0.0, 100.0))
    static, _ = static_and_couple(in_one_plane, (0.0, 100.0), 0.0)
    balance = -static / 200.0  # kg, at a radius of 200 mm

    assert abs(balance) == pytest.approx(116.0989457, rel=1e-4)
    assert difference_deg(angle_deg(balance), 201.3119131) == pytest.approx(0.0, abs=0.01)
    # printed (components rounded to 0.1): 116 kg at 201.48 deg
    assert abs(balance) == pytest.approx(116.0, rel=0.002)
    assert difference_deg(angle_deg(balance), 201.48) == pytest.approx(0.0, abs=0.3)


def test_example_21_2_two_planes_between_the_masses():
    # inputs found in text (a college assignment sheet); printed answer from memory: X 355 kg at 145 deg, Y 182.5 kg
    # at 12 deg clockwise from A.  The printed X angle is only right when it is read clockwise.
    masses = [
        (200, 80, 0, 0),
        (300, 70, 45, 300),
        (400, 60, 115, 400),
        (200, 80, 235, 700),
    ]  # kg, mm, deg, z mm
    x_plane, y_plane = resolve([(z, vector_gmm(kg * mm, deg)) for kg, mm, deg, z in masses], (100.0, 500.0))
    x, y = -x_plane / 100.0, -y_plane / 100.0  # kg, both at a radius of 100 mm

    assert abs(x) == pytest.approx(352.9721187, rel=1e-4)
    assert abs(y) == pytest.approx(184.0590238, rel=1e-4)
    assert difference_deg(angle_deg(x), 213.3713235) == pytest.approx(0.0, abs=0.01)
    assert difference_deg(angle_deg(y), 347.1977262) == pytest.approx(0.0, abs=0.01)
    assert abs(x) == pytest.approx(355.0, rel=0.01)
    assert abs(y) == pytest.approx(182.5, rel=0.01)
    assert difference_deg(angle_deg(x), -145.0) == pytest.approx(0.0, abs=2.0)
    assert difference_deg(angle_deg(y), -12.0) == pytest.approx(0.0, abs=2.0)


def test_example_21_4_two_masses_one_angle_and_one_place():
    # inputs found in text (two question sites, also IAS 2004); printed answer from memory: D 8 kg at 251 deg
    b, c = vector_gmm(18 * 60, 0), vector_gmm(12.5 * 60, 100)  # kg*mm, at z = 100 and 300 mm
    z_d = 366.6856461  # recomputed place of D, put in: then A must come out at the stated 190 deg
    a_plane, d_plane = resolve([(100.0, b), (300.0, c)], (0.0, z_d))
    a, d = -a_plane / 80.0, -d_plane / 80.0  # kg, both at a radius of 80 mm

    assert difference_deg(angle_deg(a), 190.0) == pytest.approx(0.0, abs=0.01)
    assert abs(a) == pytest.approx(9.669209249, rel=1e-4)
    assert abs(d) == pytest.approx(7.910569336, rel=1e-4)
    assert difference_deg(angle_deg(d), 252.7202422) == pytest.approx(0.0, abs=0.01)
    assert abs(d) == pytest.approx(8.0, rel=0.015)
    assert difference_deg(angle_deg(d), 251.0) == pytest.approx(0.0, abs=2.0)

    all_four = resolve([(0.0, 80 * a), (100.0, b), (300.0, c), (z_d, 80 * d)], (50.0, 250.0))
    assert abs(all_four) == pytest.approx(0.0, abs=1e-9 * 18 * 60)


PULLEYS = ((48, 0.015, 0.0), (56, 0.015, 1.35), (20, 0.0125, 2.7))  # kg, m, z m


def test_example_21_5_pulleys_balanced_statically_leave_a_couple():
    # inputs found in text (two question sites), answer found in text (book data as coded in the FOSSEE Python
    # textbook companion).  Angles: A to B 163.79, C to A 69.73 (recomputed), put in.
    angles = (0.0, 163.7879088, -69.73339822)
    sources = [(z, vector_gmm(kg * m, deg)) for (kg, m, z), deg in zip(PULLEYS, angles, strict=True)]
    bearings = (0.45, 2.25)
    pair = resolve(sources, bearings)
    static, couple = static_and_couple(pair, bearings, 1.35)
    largest = max(abs(vector) for _, vector in sources)
    assert abs(static) <= 1e-4 * largest

    omega = 2 * math.pi * 300 / 60
    load_n = abs(couple) * omega**2
    assert load_n == pytest.approx(499.9639024, rel=1e-4)
    assert load_n * 1.8 == pytest.approx(899.9350244, rel=1e-4)
    # printed (measured on a drawing): 482.3 N and 868.2 N*m
    assert load_n == pytest.approx(482.3, rel=0.04)
    assert load_n * 1.8 == pytest.approx(868.2, rel=0.04)
    assert [abs(vector) * omega**2 for vector in pair] == pytest.approx([load_n, load_n], rel=1e-4)


def test_example_21_5_the_printed_angles_balance_within_three_degrees():
    # printed: A to B 164, B to C 129, C to A 67; with B as printed, C must come out at its stated 20 kg x 12.5 mm
    a_and_b = [(0.0, vector_gmm(48 * 0.015, 0.0)), (1.35, vector_gmm(56 * 0.015, 164.0))]
    static, _ = static_and_couple(resolve(a_and_b, (0.45, 2.25)), (0.45, 2.25), 1.35)
    assert abs(static) == pytest.approx(20 * 0.0125, rel=0.04)
    assert difference_deg(angle_deg(-static), 164.0 + 129.0) == pytest.approx(0.0, abs=3.0)
    assert difference_deg(angle_deg(-static), -67.0) == pytest.approx(0.0, abs=3.0)


def test_exercise_1_static_balance():
    # from memory; printed: 7.56 kg, 87 deg clockwise of A (= 273)
    masses = [(12, 40, 0), (10, 50, 60), (18, 60, 135), (15, 30, 270)]  # kg, mm, deg
    static, _ = static_and_couple(
        resolve([(0.0, vector_gmm(kg * mm, deg)) for kg, mm, deg in masses], (-50.0, 50.0)),
        (-50.0, 50.0),
        0.0,
    )
    balance = -static / 100.0  # kg, at a radius of 100 mm
    assert abs(balance) == pytest.approx(7.474470115, rel=1e-4)
    assert difference_deg(angle_deg(balance), 272.5822664) == pytest.approx(0.0, abs=0.01)
    assert abs(balance) == pytest.approx(7.56, rel=0.015)
    assert difference_deg(angle_deg(balance), 273.0) == pytest.approx(0.0, abs=0.6)


def test_exercise_2_three_masses_and_one_angle():
    # from memory; equal radii, planes one unit apart; B 7 kg at 0, C at 90, D at 240 deg;
    # printed: A 5 kg at 205 deg, C 6 kg, D 4.67 kg
    b, c, d = vector_gmm(7.0, 0), vector_gmm(6.062177826, 90), vector_gmm(4.666666667, 240)
    at_a, at_d = resolve([(1.0, b), (2.0, c), (3.0, d)], (0.0, 3.0))
    assert abs(at_d) <= 1e-4 * 7.0  # the recomputed C and D leave nothing in D's plane
    a = -at_a
    assert abs(a) == pytest.approx(5.085382101, rel=1e-4)
    assert difference_deg(angle_deg(a), 203.4132244) == pytest.approx(0.0, abs=0.01)

    assert abs(a) == pytest.approx(5.0, rel=0.02)
    assert difference_deg(angle_deg(a), 205.0) == pytest.approx(0.0, abs=2.0)
    # the printed masses leave, in D's plane, no more than 2 percent of what C and D bring there
    printed = resolve([(1.0, b), (2.0, vector_gmm(6.0, 90)), (3.0, vector_gmm(4.67, 240))], (0.0, 3.0))
    assert abs(printed[1]) <= 0.02 * (2.0 / 3.0 * 6.0 + 4.67)


def test_example_21_2_answer_put_on_balances_in_any_other_planes():
    # the recomputed answer, put on: nothing may be left in planes of our own choice
    masses = [(200, 80, 0, 0), (300, 70, 45, 300), (400, 60, 115, 400), (200, 80, 235, 700)]
    balance = [(352.9721187, 100, 213.3713235, 100), (184.0590238, 100, 347.1977262, 500)]
    left = resolve([(z, vector_gmm(kg * mm, deg)) for kg, mm, deg, z in masses + balance], (100.0, 500.0))
    for planes in ((0.0, 700.0), (-200.0, 50.0)):
        moved = transfer(left, (100.0, 500.0), planes)
        assert abs(moved) == pytest.approx(0.0, abs=1e-4 * 300 * 70)
