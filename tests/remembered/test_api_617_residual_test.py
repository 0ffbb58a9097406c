"""The sample of a residual unbalance test.

Source: API Standard 617 (7th edition, 2002), chapter 1, annex 1B.  The journal loads of the sample, 530.7 and 571.5 kg, were
found in text; all its other figures (10 000 r/min, trial unbalances, readings) are from memory.  The formula was read in text in
a one-page residual unbalance check sheet citing API 687: Y = (max - min)/2, Z = (max + min)/2, U = U_trial Y/Z.  The limit is
6350 W/N g*mm (W in kg), read in the same sheet.
"""

from __future__ import annotations

import math

import pytest

from planner.machine.residual_test import residual_test

G_IN = 25.4  # g*mm
LEFT = (14.0, 12.0, 14.0, 23.5, 23.0, 15.5)
RIGHT = (4.6, 4.2, 4.7, 5.2, 5.8, 5.1)


@pytest.mark.parametrize(
    ("readings", "trial_g_in", "published_g_in", "load_kg", "limit_g_in"),
    [(LEFT, 21.3, 6.9, 530.7, 13.27), (RIGHT, 22.9, 3.7, 571.5, 14.29)],
)
def test_sample(readings, trial_g_in, published_g_in, load_kg, limit_g_in):
    found = residual_test(readings, trial_gmm=trial_g_in * G_IN)
    assert found.published_gmm / G_IN == pytest.approx(published_g_in, abs=0.05)
    limit_gmm = 6350.0 * load_kg / 10_000
    assert limit_gmm / G_IN == pytest.approx(limit_g_in, abs=0.005)
    assert found.greatest_gmm < limit_gmm
    # 1 to 2 times the limit is the trial unbalance of the procedure
    assert limit_gmm < found.trial_gmm < 2 * limit_gmm


@pytest.mark.parametrize(("readings", "trial", "exact"), [(LEFT, 21.3, 8.6), (RIGHT, 22.9, 3.3)])
def test_exact_fit_of_the_sample(readings, trial, exact):
    """Recomputed here by another route: a grid search for the R/T and phi that fit the squared readings best."""
    found = residual_test(readings, trial_gmm=trial)
    assert found.exact_gmm == pytest.approx(exact, abs=0.05)
    squares = [reading**2 for reading in readings]
    best = math.inf, 0.0
    for hundredth in range(1, 90):
        q = hundredth / 100.0
        for phi in range(0, 360, 2):
            model = [1 + q * q + 2 * q * math.cos(math.radians(60 * place - phi)) for place in range(6)]
            gain = sum(m * s for m, s in zip(model, squares, strict=True)) / sum(m * m for m in model)
            miss = sum((s - gain * m) ** 2 for m, s in zip(model, squares, strict=True))
            best = min(best, (miss, q))
    assert found.exact_gmm / trial == pytest.approx(best[1], abs=0.006)
