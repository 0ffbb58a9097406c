"""The one frame: angles, vectors, and how they move along the shaft (statics of a rigid shaft)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import InputError
from planner.rotor.vectors import (
    angle_deg,
    difference_deg,
    plane_shares,
    resolve,
    transfer,
    vector_gmm,
    wrap_deg,
)

places = st.floats(-500.0, 500.0)
amounts = st.complex_numbers(max_magnitude=1e5, allow_nan=False)


def apart(planes: tuple[float, float]) -> bool:
    return abs(planes[1] - planes[0]) > 1.0


planes_z = st.tuples(places, places).filter(apart)


@pytest.mark.parametrize(
    ("amount", "angle", "expected"),
    [(10.0, 0.0, 10.0), (10.0, 90.0, 10.0j), (10.0, 180.0, -10.0), (10.0, -90.0, -10.0j), (5.0, 450.0, 5.0j)],
)
def test_a_vector_grows_counter_clockwise_from_plus_x(amount, angle, expected):
    assert vector_gmm(amount, angle) == pytest.approx(expected)


def test_angles_of_vectors():
    assert angle_deg(0j) == 0.0
    assert angle_deg(-1j) == pytest.approx(270.0)
    assert angle_deg(vector_gmm(3.0, 131.0)) == pytest.approx(131.0)
    assert angle_deg(complex(1.0, -1e-18)) == 0.0  # never reads 360


@pytest.mark.parametrize(
    ("angle", "wrapped"),
    [(0.0, 0.0), (360.0, 0.0), (-1e-15, 0.0), (-10.0, 350.0), (725.0, 5.0), (359.9999999999, 0.0)],
)
def test_wrapped_angles(angle, wrapped):
    assert wrap_deg(angle) == pytest.approx(wrapped)
    assert 0.0 <= wrap_deg(angle) < 360.0


@pytest.mark.parametrize(
    ("angle", "reference", "difference"),
    [
        (10.0, 350.0, 20.0),
        (350.0, 10.0, -20.0),
        (180.0, 0.0, 180.0),
        (0.0, 180.0, 180.0),
        (131.0, 180.0, -49.0),
    ],
)
def test_differences_go_the_short_way(angle, reference, difference):
    assert difference_deg(angle, reference) == pytest.approx(difference)


@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))
def test_a_difference_leads_back(angle, reference):
    difference = difference_deg(angle, reference)
    assert -180.0 < difference <= 180.0
    assert math.remainder(reference + difference - angle, 360.0) == pytest.approx(0.0, abs=1e-8)


def test_shares_of_the_lever():
    assert plane_shares(0.0, (0.0, 100.0)) == (1.0, 0.0)
    assert plane_shares(25.0, (0.0, 100.0)) == (0.75, 0.25)
    assert plane_shares(25.0, (100.0, 0.0)) == (0.25, 0.75)  # plane 1 may be the rear one
    assert plane_shares(120.0, (0.0, 100.0)) == pytest.approx((-0.2, 1.2))  # outside


def test_planes_must_be_apart():
    with pytest.raises(InputError, match="both at z = 40 mm, they must be apart") as caught:
        plane_shares(0.0, (40.0, 40.0))
    assert caught.value.hint is not None
    assert "same zero point" in caught.value.hint


@given(st.lists(st.tuples(places, amounts), max_size=6), planes_z)
def test_resolving_keeps_force_and_moment(sources, planes):
    pair = resolve(sources, planes)
    size = 1.0 + sum(abs(vector) for _, vector in sources)
    assert sum(pair) == pytest.approx(sum(vector for _, vector in sources), abs=1e-6 * size)
    moment = sum(z * vector for z, vector in sources)
    assert planes[0] * pair[0] + planes[1] * pair[1] == pytest.approx(moment, abs=1e-6 * size * 500.0)


@given(st.tuples(amounts, amounts), planes_z, planes_z)
def test_moving_to_other_planes_and_back(pair, planes, others):
    there = transfer(pair, planes, others)
    back = transfer(there, others, planes)
    size = 1.0 + float(max(abs(there))) + max(abs(v) for v in pair)
    assert back[0] == pytest.approx(pair[0], abs=1e-6 * size)
    assert back[1] == pytest.approx(pair[1], abs=1e-6 * size)


def test_no_sources_are_no_unbalance():
    assert np.array_equal(resolve([], (0.0, 100.0)), np.zeros(2))


@given(st.tuples(amounts, amounts), planes_z, planes_z, st.floats(0.0, 360.0))
def test_turning_everything_turns_the_answer(pair, planes, others, turn):
    turned = tuple(v * vector_gmm(1.0, turn) for v in pair)
    there = transfer(pair, planes, others)
    assert transfer(turned, planes, others) == pytest.approx(
        there * vector_gmm(1.0, turn), abs=1e-6 * (1.0 + float(max(abs(there))))
    )


def test_as_many_vectors_as_planes():
    with pytest.raises(ValueError, match="zip"):
        transfer((1.0, 2.0, 3.0), (0.0, 100.0), (10.0, 90.0))
