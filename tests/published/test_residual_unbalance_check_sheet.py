"""The residual unbalance test and its limit.

Source: a public one-page residual unbalance check sheet citing API 687: Y = (max - min)/2, Z = (max + min)/2,
U = U_trial*Y/Z; permissible 6350*W/N g*mm per plane (W in kg on the journal, N in rpm); a trial unbalance of 1.5 times that.
Read in text.  The journal loads 530.7 kg (1170 lb) and 571.5 kg (1260 lb) are those of API Standard 617 (7th edition,
2002), chapter 1, annex 1B, read in text; the readings are invented.
"""

from __future__ import annotations

import pytest

from planner.machine.residual_test import residual_test
from planner.quantity import parse_mass_g
from planner.rotor.grades import grade_of_residual_mm_per_s


@pytest.mark.parametrize(
    ("readings", "y", "z"),
    [((10.0, 12.0, 15.0, 16.0, 14.0, 11.0), 3.0, 13.0), ((4.0, 4.5, 5.5, 6.0, 5.5, 4.5), 1.0, 5.0)],
)
def test_formula_of_the_sheet(readings, y, z):
    found = residual_test(readings, trial_gmm=400.0)
    assert found.published_gmm == pytest.approx(400.0 * y / z, rel=1e-12)


def test_the_limit_of_the_sheet_as_a_grade():
    # 6350 W/N is the same quality whatever W and N: 6350/9549.3
    for kg, rpm in ((530.7, 10_000.0), (571.5, 3600.0)):
        assert grade_of_residual_mm_per_s(6350.0 * kg / rpm, mass_kg=kg, speed_rpm=rpm) == pytest.approx(
            6350.0 / 9549.3, rel=1e-5
        )


@pytest.mark.parametrize(("pounds", "kilograms"), [(1170, 530.7), (1260, 571.5)])
def test_journal_loads_of_the_annex_in_both_units(pounds, kilograms):
    assert parse_mass_g(f"{pounds} lb") / 1000.0 == pytest.approx(kilograms, abs=0.05)
