"""The residual test against the readings of an exact linear machine of unknown gain.  All data invented."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import InputError
from planner.machine.residual_test import residual_test
from planner.rotor.vectors import difference_deg


def readings_of(
    count: int, *, trial: float, residual: float, heavy_deg: float, gain: float = 1.0, first_deg: float = 0.0
) -> list[float]:
    places = np.radians(first_deg + 360.0 / count * np.arange(count))
    total = trial * np.exp(1j * places) + residual * np.exp(1j * np.radians(heavy_deg))
    return [float(each) for each in gain * np.abs(total)]


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    count=st.sampled_from([6, 8, 12]),
    share=st.floats(0.01, 0.95),
    heavy=st.floats(0, 360),
    gain=st.floats(0.01, 100),
    first=st.floats(-90, 90),
)
def test_exact_recovers_and_published_never_reads_high(
    count: int, share: float, heavy: float, gain: float, first: float
) -> None:
    trial = 250.0
    readings = readings_of(
        count, trial=trial, residual=share * trial, heavy_deg=heavy, gain=gain, first_deg=first
    )
    found = residual_test(readings, trial_gmm=trial, first_place_deg=first)
    assert found.exact_gmm == pytest.approx(share * trial, rel=1e-9)
    assert difference_deg(found.heavy_spot_deg, heavy) == pytest.approx(0.0, abs=1e-6)
    assert found.scatter < 1e-9
    assert found.published_gmm <= share * trial * (1 + 1e-9)


@pytest.mark.parametrize(
    ("count", "losses"), [(6, (15, 20, 25)), (8, (9, 12, 16)), (12, (4, 6, 8))], ids=["6", "8", "12"]
)
def test_how_much_the_published_figure_loses(count: int, losses: tuple[int, ...]) -> None:
    """Worst loss in percent over all heavy spots; the figures were worked out on their own beforehand."""
    for share, loss in zip((0.25, 0.5, 0.67), losses, strict=True):
        worst = min(
            residual_test(
                readings_of(count, trial=1.0, residual=share, heavy_deg=heavy), trial_gmm=1.0
            ).published_gmm
            / share
            for heavy in np.linspace(0.0, 360.0 / count, 61)
        )
        assert 100.0 * (1.0 - worst) == pytest.approx(loss, abs=0.9)


def test_nothing_left_reads_nothing() -> None:
    found = residual_test([7.0] * 8, trial_gmm=100.0)
    assert found.published_gmm == 0.0
    assert found.exact_gmm == pytest.approx(0.0, abs=1e-9)


def test_a_residual_larger_than_the_trial_mass_reads_like_its_mirror() -> None:
    """Known and said in the documentation: keep the trial mass larger than the residual."""
    found = residual_test(readings_of(12, trial=50.0, residual=100.0, heavy_deg=40), trial_gmm=50.0)
    assert found.exact_gmm == pytest.approx(25.0)


def test_first_place_again() -> None:
    readings = readings_of(6, trial=100.0, residual=30.0, heavy_deg=10)
    found = residual_test(readings, trial_gmm=100.0, first_again=readings[0] * 1.1)
    mean = sum(readings) / 6
    assert found.repeat_share == pytest.approx(0.1 * readings[0] / mean)


@pytest.mark.parametrize(
    ("readings", "trial", "says"),
    [
        ([1.0] * 7, 1.0, "given 7 readings; the test has 6, 8 or 12"),
        ([], 1.0, "given 0 readings"),
        ([1.0, 2.0, 3.0, -1.0, 1.0, 1.0], 1.0, "a reading is negative or not finite"),
        ([1.0, 2.0, float("nan"), 1.0, 1.0, 1.0], 1.0, "a reading is negative or not finite"),
        ([1.0] * 6, 0.0, "the trial unbalance is 0 g"),
        ([0.0] * 6, 1.0, "all readings are 0"),
        ([1.0, 0.0, 0.0, 0.0, 0.0, 0.0], 1.0, "the readings swing more than"),
    ],
)
def test_refused(readings: list[float], trial: float, says: str) -> None:
    with pytest.raises(InputError, match=says):
        residual_test(readings, trial_gmm=trial)


def test_places_are_on_the_turn_the_larger_figure_counts_and_a_swing_too_wide_is_refused() -> None:
    """Invented readings of a machine of unknown gain: sqrt(T^2 + R^2 + 2TR cos) at six places, R/T = 0.5."""
    shown = [7.0 * math.sqrt(1.25 + math.cos(math.radians(60.0 * k - 60.0))) for k in range(6)]
    found = residual_test(shown, trial_gmm=400.0, first_place_deg=330.0)
    assert found.places_deg == pytest.approx((330.0, 30.0, 90.0, 150.0, 210.0, 270.0))
    assert found.exact_gmm == pytest.approx(200.0)
    assert found.greatest_gmm == max(found.published_gmm, found.exact_gmm)
    assert found.heavy_spot_deg == pytest.approx(30.0)
    assert residual_test(shown, trial_gmm=400.0).places_deg[0] == 0.0  # by habit
    low = residual_test([1.0, 2.0, 1.0, 1.0, 1.0, 1.0], trial_gmm=1.0)
    assert low.published_gmm == pytest.approx(1.0 / 3.0)
    assert low.greatest_gmm == max(low.published_gmm, low.exact_gmm)
    with pytest.raises(InputError, match="less than 1 is needed"):
        # all swing and no mean: squares 0, 3, 12, 3 ... have a first harmonic larger than their mean
        residual_test([0.0, 0.0, 0.0, 9.0, 0.0, 0.0], trial_gmm=1.0)
    with pytest.raises(InputError, match="less than 1 is needed"):
        # squares 1, 1, 0.2, 0, 0.2, 1: first harmonic (2 - 0.2)/3 = 0.6, mean 3.4/6 = 0.567
        residual_test([1.0, 1.0, 0.2**0.5, 0.0, 0.2**0.5, 1.0], trial_gmm=1.0)
    with pytest.raises(InputError, match="all readings are 0"):
        residual_test([0.0] * 6, trial_gmm=1.0)
    # mean square below 1 is a reading like any other
    assert residual_test([each / 100.0 for each in shown], trial_gmm=400.0).exact_gmm == pytest.approx(200.0)
