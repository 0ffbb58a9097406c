"""In, out, too close to call: where each begins, by hand; and what a place without room passes at."""

from __future__ import annotations

import math

import pytest

from planner.rotor.limits import LimitRow
from planner.rotor.verdict import Judged, judge, overall_verdict, verdict_of


@pytest.mark.parametrize(
    ("amount", "verdict"),
    [
        (0.0, "in tolerance"),
        (70.0, "in tolerance"),  # at the limit less the error: still in
        (70.001, "too close to call"),
        (100.0, "too close to call"),
        (130.0, "too close to call"),  # at the limit plus the error: not yet out
        (130.001, "out of tolerance"),
        (math.nan, "out of tolerance"),
    ],
)
def test_where_each_verdict_begins(amount: float, verdict: str) -> None:
    assert verdict_of(amount, tolerance_gmm=100.0, error_gmm=30.0) == verdict


@pytest.mark.parametrize("limit", [1e-3, 1.0, 1e5])
def test_a_planned_residual_at_its_limit_is_in_whatever_the_size_of_the_limit(limit: float) -> None:
    """The last digits of a sum must not decide; a millionth of the limit does."""
    assert verdict_of(limit * (1.0 + 1e-10), tolerance_gmm=limit) == "in tolerance"
    assert verdict_of(limit * (1.0 + 1e-6), tolerance_gmm=limit) == "out of tolerance"


def place(*, tolerance: float, error: float) -> Judged:
    return Judged(
        at="left", z_mm=0.0, amount_gmm=0.0, tolerance_gmm=tolerance, verdict="in tolerance", error_gmm=error
    )


def test_what_passes_is_the_limit_less_the_error_and_nothing_where_that_is_below_zero() -> None:
    assert place(tolerance=100.0, error=30.0).passes_at_gmm == 70.0
    assert place(tolerance=30.5, error=30.0).passes_at_gmm == 0.5
    assert place(tolerance=30.0, error=30.0).passes_at_gmm == 0.0
    assert place(tolerance=29.9, error=30.0).passes_at_gmm is None
    exact = Judged(at="left", z_mm=0.0, amount_gmm=0.0, tolerance_gmm=10.0, verdict="in tolerance")
    assert exact.passes_at_gmm == 10.0  # a planned residual has no error


def test_each_row_has_its_own_weights_and_error() -> None:
    rows = (
        LimitRow(at="static", weight_1=1.0, weight_2=1.0, tolerance_gmm=10.0),
        LimitRow(at="couple", weight_1=-0.5, weight_2=0.5, tolerance_gmm=10.0),
    )
    static, couple = judge((3.0 + 4.0j, -3.0 + 4.0j), rows, errors_gmm=(1.0, 8.0))
    assert (static.amount_gmm, couple.amount_gmm) == pytest.approx((8.0, 3.0))
    assert (static.verdict, couple.verdict) == ("in tolerance", "too close to call")
    assert overall_verdict((static, couple)) == "too close to call"
    assert overall_verdict((static,)) == "in tolerance"
    with pytest.raises(ValueError, match="zip"):
        judge((0j, 0j), rows, errors_gmm=(1.0,))
