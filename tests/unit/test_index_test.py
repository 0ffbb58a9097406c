"""Index test and scatter from first principles: readings are made from a known tooling and a known crankshaft."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import InputError
from planner.machine.index_test import Mark, index_test, repeat_test
from tests.trial_samples import polar


def readings_of(
    tooling: complex, crankshaft: complex, count: int, *, mark: Mark, sense: int = 1
) -> list[complex]:
    """Return what is read while the crankshaft is turned on its tooling."""
    turns = [polar(1.0, sense * 360.0 / count * step) for step in range(count)]
    fixture = [tooling + crankshaft * turn for turn in turns]
    if mark == "tooling":
        return fixture
    # the same vectors, their angles counted from the crankshaft, which stands turned by then
    return [vector / turn for vector, turn in zip(fixture, turns, strict=True)]


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    count=st.integers(2, 8),
    mark=st.sampled_from(["tooling", "crankshaft"]),
    sense=st.sampled_from([1, -1]),
    tooling=st.tuples(st.floats(1, 500), st.floats(0, 360)),
    crankshaft=st.tuples(st.floats(1, 500), st.floats(0, 360)),
)
def test_recovers_both(
    count: int, mark: Mark, sense: int, tooling: tuple[float, float], crankshaft: tuple[float, float]
) -> None:
    F, R = polar(*tooling), polar(*crankshaft)
    found = index_test(readings_of(F, R, count, mark=mark, sense=sense), mark=mark)
    assert found.tooling_gmm == pytest.approx(F, abs=1e-9)
    assert found.crankshaft_gmm == pytest.approx(R, abs=1e-9)
    assert max(found.misses_gmm) < 1e-9
    assert found.turned_with_angles is (None if count == 2 else sense > 0)


def test_two_positions_are_half_sum_and_half_difference() -> None:
    """M0 = F + R, M180 = F - R (algebra; in graphical form in H. P. Bloch, F. K. Geitner, Machinery Component Maintenance
    and Repair, chapter 6, p. 312)."""
    first, second = 10 + 4j, 6 - 2j
    found = index_test([first, second], mark="tooling")
    assert found.tooling_gmm == pytest.approx(8 + 1j)
    assert found.crankshaft_gmm == pytest.approx(2 + 3j)
    turned = index_test([first, -second], mark="crankshaft")
    assert turned.tooling_gmm == pytest.approx(8 + 1j)
    assert turned.crankshaft_gmm == pytest.approx(2 + 3j)


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("mark", ["tooling", "crankshaft"])
def test_three_positions_tell_which_way_it_was_turned(sense: int, mark: Mark) -> None:
    """The fewest that do: two fit both ways."""
    F, R = polar(31.0, 40.0), polar(17.0, 250.0)
    found = index_test(readings_of(F, R, 3, mark=mark, sense=sense), mark=mark)
    assert found.tooling_gmm == pytest.approx(F)
    assert found.crankshaft_gmm == pytest.approx(R)
    assert found.turned_with_angles is (sense > 0)
    assert max(found.misses_gmm) < 1e-9
    slipped = readings_of(F, R, 3, mark=mark, sense=sense)
    slipped[1] += 3.0
    # three readings, two vectors: a third of the slip is left over at each position
    assert index_test(slipped, mark=mark).misses_gmm == pytest.approx((1.0, 1.0, 1.0))


def test_scatter_shows_with_four_positions() -> None:
    readings = readings_of(polar(50, 20), polar(200, 100), 4, mark="tooling")
    readings[2] += 8.0
    found = index_test(readings, mark="tooling")
    assert 1.0 < max(found.misses_gmm) < 8.0
    assert abs(found.tooling_gmm - polar(50, 20)) == pytest.approx(2.0)


def test_one_position_is_refused() -> None:
    with pytest.raises(InputError, match="an index test needs at least two"):
        index_test([1 + 1j], mark="tooling")


def test_scatter_of_repeated_readings() -> None:
    readings = [3 + 4j, 5 + 4j, 4 + 3j, 4 + 5j]
    found = repeat_test(readings)
    assert found.mean_gmm == pytest.approx(4 + 4j)
    assert found.radius_gmm == pytest.approx(1.0)
    assert found.deviation_gmm == pytest.approx(math.sqrt(4.0 / 3.0))
    assert found.deviation_of_mean_gmm == pytest.approx(math.sqrt(1.0 / 3.0))


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.lists(st.complex_numbers(max_magnitude=1e4), min_size=2, max_size=12), st.floats(0, 360))
def test_scatter_turns_with_the_readings_and_matches_numpy(readings: list[complex], turn: float) -> None:
    found = repeat_test(readings)
    parts = np.array([[each.real, each.imag] for each in readings])
    assert found.deviation_gmm == pytest.approx(math.sqrt(parts.var(axis=0, ddof=1).sum()), abs=1e-6)
    assert all(abs(each - found.mean_gmm) <= found.radius_gmm * (1 + 1e-9) for each in readings)
    turned = repeat_test([each * polar(1.0, turn) for each in readings])
    assert turned.radius_gmm == pytest.approx(found.radius_gmm, abs=1e-6)


def test_one_reading_has_no_scatter() -> None:
    with pytest.raises(InputError, match="scatter needs at least two"):
        repeat_test([1j])
