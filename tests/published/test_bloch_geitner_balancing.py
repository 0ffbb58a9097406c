"""Shares of a tolerance, margins, and what an angle error costs.

Source: H. P. Bloch, F. K. Geitner, Machinery Component Maintenance and Repair, chapter 6 "Balancing of Machinery
Components": p. 301 (whole or half of the residual per plane), p. 307 (7:3 limit, larger share at the plane nearer the
centre of mass, rule on the planes' distance), p. 291 table 6-3 (angle error), p. 313 table 6-6 (margins when the
measurement error is not known).  Read in text.
"""

from __future__ import annotations

import cmath
import math

import pytest

from planner.rotor.grades import default_margin
from planner.rotor.tolerance import ToleranceSpec, allocate, tolerance_notes
from planner.rotor.vectors import vector_gmm

TABLE_6_3 = (
    (1, 1.7), (2, 3.5), (3, 5.2), (4, 7.0), (5, 8.7), (6, 10.5), (8, 14.0), (10, 17.4), (12, 20.9), (15, 26.1),
)  # fmt: skip
TABLE_6_6 = (
    (4000, 0.10), (1600, 0.10), (630, 0.10), (250, 0.10), (100, 0.10), (40, 0.10),
    (16, 0.15), (6.3, 0.15), (2.5, 0.15),
    (1, 0.20), (0.4, 0.30),
)  # fmt: skip


@pytest.mark.parametrize(("error_deg", "percent"), TABLE_6_3)
def test_table_6_3_angle_error(error_deg, percent):
    # a full correction put on (or taken off) at an angle that is wrong by so much leaves this share
    unbalance = vector_gmm(1000.0, 131.0)
    left = unbalance - vector_gmm(1000.0, 131.0 + error_deg)
    assert 100.0 * abs(left) / abs(unbalance) == pytest.approx(percent, abs=0.06)
    # recomputed
    assert abs(left) == pytest.approx(1000.0 * 2.0 * math.sin(math.radians(error_deg) / 2.0), rel=1e-9)


@pytest.mark.parametrize("error_deg", [5, 60])
def test_angle_and_amount_error_together(error_deg):
    # law of cosines on the same triangle, with the correction 0.8 of what is needed
    left = 1.0 - 0.8 * cmath.exp(1j * math.radians(error_deg))
    vectors = vector_gmm(1.0, 40.0) - vector_gmm(0.8, 40.0 + error_deg)
    # recomputed
    law = math.sqrt(1.0 + 0.8**2 - 2.0 * 0.8 * math.cos(math.radians(error_deg)))
    assert abs(vectors) == pytest.approx(abs(left)) == pytest.approx(law)


@pytest.mark.parametrize(("grade", "margin"), TABLE_6_6)
def test_table_6_6_margins(grade, margin):
    assert default_margin(grade) == margin


def test_page_301_half_of_the_residual_in_each_of_two_symmetric_planes():
    assert allocate((0.0, 520.0), centre_of_mass_z_mm=260.0).shares == pytest.approx((0.5, 0.5))


def test_page_307_larger_share_nearer_the_centre_of_mass_and_never_beyond_7_to_3():
    for centre in (20.0, 100.0, 200.0):
        near, far = allocate((0.0, 520.0), centre_of_mass_z_mm=centre).shares
        assert near > far
        assert near <= 0.7 + 1e-12
        assert far >= 0.3 - 1e-12
    assert allocate((0.0, 520.0), centre_of_mass_z_mm=20.0).shares == pytest.approx((0.7, 0.3))


def test_page_307_planes_farther_apart_than_the_bearings():
    spec = ToleranceSpec(total_gmm=600.0, judged_at="planes")
    (note,) = tolerance_notes(spec, planes_z_mm=(-40.0, 560.0), bearings_z_mm=(0.0, 480.0))
    assert "0.80 times as large" in note


@pytest.mark.parametrize("planes", [(200.0, 350.0), (540.0, 720.0)])
def test_page_307_near_or_outboard_planes_want_static_and_couple(planes):
    spec = ToleranceSpec(total_gmm=600.0, judged_at="planes")
    (note,) = tolerance_notes(spec, planes_z_mm=planes, bearings_z_mm=(0.0, 520.0))
    assert "state the tolerance as static and couple" in note
