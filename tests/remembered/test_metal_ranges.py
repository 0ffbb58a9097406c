"""Ranges of density and least yield strengths of metals, from memory: no copy of a source was at hand.

Steel castings lie within half a percent of 7.8 g/cm3; lead is 11.34 to 11.35.  ASTM A536's grade 60-40-18 says its least yield
strength in its name, 40,000 psi; 1045 hot rolled has 45,000 psi (Shigley, table A-20), carbon steel castings 35,000 psi.
"""

from __future__ import annotations

import pytest

from planner.rotor.materials import material

PSI_PA = 6894.757  # by definition of pound and inch


@pytest.mark.parametrize(("name", "low", "high"), [("cast steel", 7.75, 7.85), ("lead", 11.34, 11.35)])
def test_ranges_of_density(name: str, low: float, high: float) -> None:
    found = material(name)
    assert found.density_low_g_per_cm3 == low
    assert found.density_high_g_per_cm3 == high


@pytest.mark.parametrize(
    ("name", "psi"), [("nodular iron", 40_000.0), ("forged steel", 45_000.0), ("cast steel", 35_000.0)]
)
def test_yield_strengths_are_the_least_that_is_sold(name: str, psi: float) -> None:
    assert material(name).yield_mpa == pytest.approx(psi * PSI_PA / 1e6, rel=0.01)
