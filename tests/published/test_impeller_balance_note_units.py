"""Small unbalances in milligram-inches and ounce-inches.

Source: a public impeller-balance note that states residuals both ways.  Read in text.
"""

from __future__ import annotations

import pytest

from planner.quantity import from_gmm, parse_unbalance_gmm


@pytest.mark.parametrize(
    ("mg_in", "oz_in", "half_digit"),
    [(367.0, 0.0129, 5e-5), (286.0, 0.0100, 1e-4), (14.6, 0.00051, 5e-6), (16.0, 0.00056, 5e-6)],
)
def test_both_ways_of_stating_a_residual_agree(mg_in, oz_in, half_digit):
    assert from_gmm(parse_unbalance_gmm(f"{mg_in / 1000.0} g-in"), "oz-in") == pytest.approx(
        oz_in, abs=half_digit
    )
