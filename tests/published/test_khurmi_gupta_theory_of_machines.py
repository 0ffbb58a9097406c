"""Rotating masses, from a textbook.

Source: R. S. Khurmi, J. K. Gupta, Theory of Machines, 14th ed., Eurasia / S. Chand, chapter 21 "Balancing of
rotating masses".  Inputs and answers found in text (where, stands at each test).

The book's units are kept: amounts are kg*mm (or kg*m).  The book measures and rounds on drawings; "recomputed" is our own
exact evaluation of the same statement, kept beside the printed figure.
"""

from __future__ import annotations

import math

import pytest

from planner.rotor.vectors import transfer
from tests.textbook_rotor import Degrees, in_planes, static_and_couple, to_add, to_add_in_one_plane


def test_example_21_1_static_balance_of_four_masses():
    # inputs and answer found in text (a college assignment sheet; a quiz of an Indian virtual laboratory)
    # printed (components rounded to 0.1): 116 kg at a radius of 200 mm, 201.48 deg
    balance = to_add_in_one_plane([(200, 200, 0), (300, 150, 45), (240, 250, 120), (260, 300, 255)])
    assert balance.amount / 200.0 == pytest.approx(116.0, rel=0.002)
    assert balance.angle_deg == Degrees(201.48, within=0.3)
    # recomputed
    assert balance.amount / 200.0 == pytest.approx(116.0989457, rel=1e-4)
    assert balance.angle_deg == Degrees(201.3119131, within=0.01)


PULLEYS = ((48, 0.015, 0.0), (56, 0.015, 1.35), (20, 0.0125, 2.7))  # kg, m, z m
BEARINGS = (0.45, 2.25)


def test_example_21_5_pulleys_balanced_statically_leave_a_couple():
    # inputs found in text (two question sites), answer found in text (book data as coded in the FOSSEE Python
    # textbook companion).  Angles: A to B 163.79, C to A 69.73 (recomputed), put in.
    # printed (measured on a drawing): 482.3 N and 868.2 N*m
    angles = (0.0, 163.7879088, -69.73339822)
    pair = in_planes([(kg, m, deg, z) for (kg, m, z), deg in zip(PULLEYS, angles, strict=True)], BEARINGS)
    static, couple = static_and_couple(pair, BEARINGS, 1.35)
    assert static <= 1e-4 * 56 * 0.015

    omega = 2 * math.pi * 300 / 60
    load_n = couple * omega**2
    assert load_n == pytest.approx(482.3, rel=0.04)
    assert load_n * 1.8 == pytest.approx(868.2, rel=0.04)
    # recomputed
    assert load_n == pytest.approx(499.9639024, rel=1e-4)
    assert load_n * 1.8 == pytest.approx(899.9350244, rel=1e-4)
    assert [abs(vector) * omega**2 for vector in pair] == pytest.approx([load_n, load_n], rel=1e-4)


def test_example_21_5_the_printed_angles_balance_within_three_degrees():
    # printed: A to B 164, B to C 129, C to A 67; with B as printed, C must come out at its stated 20 kg x 12.5 mm
    pulley_c = to_add_in_one_plane([(48, 0.015, 0.0), (56, 0.015, 164.0)])
    assert pulley_c.amount / 0.0125 == pytest.approx(20.0, rel=0.04)
    assert pulley_c.angle_deg == Degrees(164.0 + 129.0, within=3.0)
    assert pulley_c.angle_deg == Degrees(-67.0, within=3.0)


def test_example_21_2_answer_put_on_balances_in_any_other_planes():
    # inputs found in text (a college assignment sheet); the recomputed answer, put on: nothing may be left in planes of our
    # own choice.  The answer as printed in another book stands in test_sarkar_theory_of_machines.py.
    masses = [(200, 80, 0, 0), (300, 70, 45, 300), (400, 60, 115, 400), (200, 80, 235, 700)]
    x, y = to_add(in_planes(masses, (100.0, 500.0)))
    balance = [(x.amount / 100, 100, x.angle_deg, 100), (y.amount / 100, 100, y.angle_deg, 500)]
    assert (balance[0][0], balance[1][0]) == pytest.approx((352.9721187, 184.0590238), rel=1e-4)
    left = in_planes([*masses, *balance], (100.0, 500.0))
    for planes in ((0.0, 700.0), (-200.0, 50.0)):
        assert abs(transfer(left, (100.0, 500.0), planes)) == pytest.approx(0.0, abs=1e-4 * 300 * 70)
