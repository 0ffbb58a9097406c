"""Balance quality grades.

Source: ISO 21940-11:2016, Mechanical vibration - Rotor balancing - Part 11, Table 1 (read in a public reproduction)
and the definition G = e_per * Omega.  The constant 9549.3 = 30000/pi is also printed on a public one-page
residual-unbalance check sheet citing API 687 / ISO 21940-11.
"""

from __future__ import annotations

import itertools
import math

import pytest

from planner.rotor.grades import (
    BALANCE_GRADES,
    next_standard_grade,
    permissible_eccentricity_um,
    permissible_residual_gmm,
    standard_grade,
)

TABLE_1 = (4000, 1600, 630, 250, 100, 40, 16, 6.3, 2.5, 1, 0.4)


def test_table_1_has_eleven_grades_in_steps_of_about_two_and_a_half():
    assert tuple(row.grade_mm_per_s for row in BALANCE_GRADES) == TABLE_1
    for coarser, finer in itertools.pairwise(TABLE_1):
        assert coarser / finer == pytest.approx(10**0.4, rel=0.015)
        assert next_standard_grade(finer * 1.01) is standard_grade(coarser)
    assert standard_grade(10) is None


@pytest.mark.parametrize(
    ("grade", "word"),
    [
        (4000, "can't balance themselves"),
        (630, "elastic"),
        (250, "rigid"),
        (100, "complete piston engines"),
        (40, "balance themselves, on elastic mounts"),
        (16, "balance themselves, on rigid mounts"),
        (6.3, "pumps"),
        (2.5, "turbines"),
        (1, "grinding"),
        (0.4, "gyroscopes"),
    ],
)
def test_table_1_machinery(grade, word):
    row = standard_grade(grade)
    assert row is not None
    assert word in row.machinery


def test_the_row_that_the_reproduction_repeats_is_marked_as_from_memory():
    assert {row.grade_mm_per_s for row in BALANCE_GRADES if row.mark == "memory"} == {1600, 2.5}


def test_the_constant_of_the_check_sheet():
    # U_per = 9549.3 * G * m / n (g*mm, kg, r/min)
    for grade in TABLE_1:
        assert permissible_residual_gmm(grade, mass_kg=25, speed_rpm=6500) == pytest.approx(
            9549.3 * grade * 25 / 6500, rel=1e-6
        )
    assert permissible_residual_gmm(1.0, mass_kg=1.0, speed_rpm=1.0) == pytest.approx(30000 / math.pi)


def test_a_grade_is_specific_unbalance_times_angular_speed():
    # the definition: e_per [mm] * Omega [rad/s] = G [mm/s]
    e_mm = permissible_eccentricity_um(6.3, speed_rpm=3000) / 1000.0
    assert e_mm * 2 * math.pi * 3000 / 60 == pytest.approx(6.3, rel=1e-12)
