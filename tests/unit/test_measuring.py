"""The measurement error behind a verdict, and how many spins make it small.  Data invented."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from planner.rotor.limits import LimitRow
from planner.rotor.tolerance import ToleranceSpec
from planner.uncertainty.measuring_error import (
    error_factor,
    measurement_error,
    scatter_sigma_gmm,
    spins_to_decide,
)

ROWS = (
    LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=100.0),
    LimitRow(at="bearing", weight_1=0.5, weight_2=0.5, tolerance_gmm=50.0),
)


def test_two_spins_by_hand() -> None:
    """Two points 8 apart: each 4 from the mean; s^2 = (16 + 16) / (2 * 1) = 16."""
    spins = [np.array([10.0 + 0j, 2j]), np.array([18.0 + 0j, 2j])]
    assert scatter_sigma_gmm(spins, ROWS) == pytest.approx((4.0, 2.0))


def test_factor_is_student_over_root_n() -> None:
    """Against the quantiles of the t distribution as printed in JCGM 100:2008, table G.2 (95 %): 4.30, 2.78, 2.45."""
    for spins, t in ((2, 4.30), (3, 2.78), (4, 2.45)):
        assert error_factor(spins) == pytest.approx(t / math.sqrt(spins), abs=0.005)


def test_the_mean_lies_within_du_of_the_truth_95_percent_of_the_time() -> None:
    rng = np.random.default_rng(5)
    n, runs, sigma = 4, 4000, 7.0
    inside = 0
    for _ in range(runs):
        noise = rng.normal(scale=sigma, size=(n, 2)) @ np.array([1, 1j])
        spins = [np.array([500.0 + each, 0j]) for each in noise]
        error = measurement_error(ToleranceSpec(each_side_gmm=1.0), ROWS[:1], spins).errors_gmm[0]
        inside += abs(abs(500.0 + noise.mean()) - 500.0) <= error
    assert inside / runs == pytest.approx(0.95, abs=0.012)


def test_order_of_sources() -> None:
    spins = [np.array([10.0 + 0j, 2j]), np.array([18.0 + 0j, 2j])]
    stated = measurement_error(ToleranceSpec(each_side_gmm=9.0, measurement_error_gmm=3.0), ROWS, spins)
    assert (stated.source, stated.errors_gmm) == ("stated", (3.0, 3.0))
    repeated = measurement_error(ToleranceSpec(each_side_gmm=9.0), ROWS, spins)
    assert repeated.source == "repeated spins"
    assert repeated.errors_gmm == pytest.approx(tuple(s * stats.t.ppf(0.975, 2) / 2**0.5 for s in (4.0, 2.0)))
    usual = measurement_error(ToleranceSpec(grade_mm_per_s=16.0), ROWS, spins[:1])
    assert (usual.source, usual.margin, usual.errors_gmm) == ("usual margin", 0.15, (15.0, 7.5))
    coarse = measurement_error(
        ToleranceSpec(total_gmm=150.0), ROWS, spins[:1], equivalent_grade_mm_per_s=41.0
    )
    assert (coarse.margin, coarse.margin_grade_mm_per_s) == (0.10, 41.0)
    unknown = measurement_error(ToleranceSpec(total_gmm=150.0), ROWS, spins[:1])
    assert (unknown.margin, unknown.margin_grade_mm_per_s) == (0.15, None)


def test_spins_to_decide_is_the_smallest_number() -> None:
    for gap in (1.0, 3.0, 6.0, 14.0):
        count = spins_to_decide(4.0, gap)
        if count is None:
            assert stats.t.ppf(0.975, 22) * 4.0 / 12**0.5 > gap
            continue
        assert stats.t.ppf(0.975, 2 * (count - 1)) * 4.0 / count**0.5 <= gap
        if count > 2:
            assert stats.t.ppf(0.975, 2 * (count - 2)) * 4.0 / (count - 1) ** 0.5 > gap
    assert spins_to_decide(4.0, 1.0) is None


def test_one_spin_has_no_scatter() -> None:
    with pytest.raises(ValueError, match="two spins"):
        scatter_sigma_gmm([np.array([1.0 + 0j, 1j])], ROWS)
