"""The unbalance reduction test of a machine, against sums by hand; all readings are invented."""

from __future__ import annotations

import cmath
import math

import pytest

from planner.errors import InputError
from planner.machine.reduction_test import ReductionTest, reduction_test

PLACES = [30.0 * k for k in range(1, 12)]


def exact(place: float, stationary: float = 300.0, at: float = 0.0, travelling: float = 1500.0) -> complex:
    return cmath.rect(stationary, math.radians(at)) + cmath.rect(travelling, math.radians(place))


def judged(readings: list[complex]) -> ReductionTest:
    return reduction_test(
        readings, stationary_gmm=300.0, stationary_deg=0.0, travelling_gmm=1500.0, places_deg=PLACES
    )


def test_an_exact_machine_reduces_all() -> None:
    found = judged([exact(each) for each in PLACES])
    assert found.ratios == pytest.approx([1.0] * 11)
    assert found.passed
    assert (found.gain, found.turn_deg) == pytest.approx((1.0, 0.0))


def test_95_of_100_leaves_5() -> None:
    """Bloch & Geitner, p. 291: a machine of 95 % leaves 5 of 100."""
    found = judged([0.95 * exact(each) for each in PLACES])
    assert found.ratios == pytest.approx([0.95] * 11)
    assert found.passed
    assert not judged([0.949 * exact(each) for each in PLACES]).passed


@pytest.mark.parametrize(
    ("turn", "left"), [(1, 0.017), (2, 0.035), (3, 0.052), (5, 0.087), (10, 0.174), (15, 0.261)]
)
def test_an_angle_alone(turn: float, left: float) -> None:
    """Bloch & Geitner, p. 291, table 6-3: a correction misplaced by so many degrees leaves that share."""
    found = judged([exact(each) * cmath.exp(1j * math.radians(turn)) for each in PLACES])
    assert found.worst == pytest.approx(1.0 - left, abs=0.0006)
    assert found.turn_deg == pytest.approx(turn)
    assert min(found.ratios_mended) == pytest.approx(1.0)


def test_one_run_outside_its_circle_fails_on_either_side_of_it() -> None:
    readings = [exact(each) for each in PLACES]
    for share, passed in ((0.0499, True), (0.0501, False)):
        moved = list(readings)
        moved[4] += cmath.rect(share * abs(moved[4]), 1.234)
        found = judged(moved)
        assert found.passed is passed
        assert found.ratios[4] == pytest.approx(1.0 - share)


def test_the_stationary_place_counts() -> None:
    readings = [exact(each, at=90.0) for each in PLACES]
    right = reduction_test(
        readings, stationary_gmm=300.0, stationary_deg=90.0, travelling_gmm=1500.0, places_deg=PLACES
    )
    assert right.worst == pytest.approx(1.0)
    assert judged(readings).worst < 0.8


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"travelling_gmm": 300.0}, "must be larger than the stationary"),
        ({"stationary_gmm": 0.0}, "both above 0"),
        ({"places_deg": [1.0, 2.0]}, "a reading for each"),
        ({"claimed": 95.0}, "between 0 and 1"),
    ],
)
def test_bad_input(change: dict[str, object], says: str) -> None:
    arguments: dict[str, object] = {
        "stationary_gmm": 300.0, "stationary_deg": 0.0, "travelling_gmm": 1500.0, "places_deg": PLACES,
    }  # fmt: skip
    with pytest.raises(InputError, match=says):
        reduction_test([exact(each) for each in PLACES], **(arguments | change))  # type: ignore[arg-type]


def test_bounds_of_what_is_asked() -> None:
    places = [0.0, 90.0, 180.0, 270.0]
    four = {"stationary_gmm": 300.0, "stationary_deg": 0.0, "travelling_gmm": 1500.0}
    found = reduction_test(
        [exact(each) for each in places], places_deg=[each + 720.0 for each in places], **four
    )
    assert found.places_deg == pytest.approx(tuple(places))  # four runs are enough; places are on the turn
    with pytest.raises(InputError, match=r"1\.05; between 0 and 1 is allowed"):
        reduction_test([exact(each) for each in places], places_deg=places, claimed=1.05, **four)
    # masses below 1 g*mm are masses too
    tiny = reduction_test(
        [exact(each, stationary=0.5, travelling=0.9) for each in places],
        places_deg=places,
        stationary_gmm=0.5,
        stationary_deg=0.0,
        travelling_gmm=0.9,
    )
    assert tiny.ratios == pytest.approx([1.0] * 4)
    one_bad = [exact(each) for each in places]
    one_bad[2] = complex(math.nan, 0.0)
    with pytest.raises(InputError, match="a reading is not finite"):
        reduction_test(one_bad, places_deg=places, **four)
