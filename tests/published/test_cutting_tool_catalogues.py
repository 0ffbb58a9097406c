"""Permissible residuals in metric units.

Source: technical pages on ISO 1940 of two cutting-tool catalogues, one in English and one in German (makers not
named here).  Read in text.
"""

from __future__ import annotations

import pytest

from planner.rotor.grades import permissible_eccentricity_um, permissible_residual_gmm


def test_english_catalogue_2_kg_at_10000_rpm_in_g_6_3():
    # printed: 12 g*mm, which is 6 g*mm/kg
    assert permissible_residual_gmm(6.3, mass_kg=2.0, speed_rpm=10000) == pytest.approx(12.0, abs=0.5)
    assert permissible_eccentricity_um(6.3, speed_rpm=10000) == pytest.approx(6.0, abs=0.05)


@pytest.mark.parametrize(("speed_rpm", "printed_um"), [(15000, 4.0), (30000, 2.0)])
def test_german_catalogue_specific_unbalance_in_g_6_3(speed_rpm, printed_um):
    assert permissible_eccentricity_um(6.3, speed_rpm=speed_rpm) == pytest.approx(printed_um, abs=0.05)
    assert permissible_residual_gmm(6.3, mass_kg=1.0, speed_rpm=speed_rpm) == pytest.approx(
        printed_um, abs=0.05
    )
