"""Whatever way the machine counts: there and back is where you were, and the same crankshaft is the same crankshaft."""

from __future__ import annotations

import cmath
import math
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.frames import MachineConvention
from planner.rotor.vectors import difference_deg

WAYS = [
    {"direction": direction, "viewed_from": view, "marks": marks, "mass_at_radius": mass}
    for direction, view, marks, mass in product(
        ("ccw", "cw"), ("front", "rear"), ("heavy spot", "light spot"), (False, True)
    )
]

angles = st.floats(0.0, 360.0, exclude_max=True)
offsets = st.floats(-180.0, 180.0)


def machine(way, zero_deg: float, offset_deg: float = 0.0) -> MachineConvention:
    return MachineConvention(
        **way, zero_deg=zero_deg, drill_offset_deg=offset_deg, left_radius_mm=82.0, right_radius_mm=77.5
    )


@pytest.mark.parametrize("way", WAYS)
@settings(max_examples=25, derandomize=True)
@given(zero=angles, offset=offsets, angle=angles, amount=st.floats(0.0, 1e5))
def test_every_way_of_counting_leads_back(way, zero, offset, angle, amount):
    m = machine(way, zero, offset)
    assert difference_deg(m.place_deg(m.machine_angle_deg(angle)), angle) == pytest.approx(0.0, abs=1e-8)
    assert difference_deg(m.machine_angle_deg(m.place_deg(angle)), angle) == pytest.approx(0.0, abs=1e-8)
    # the settings that a made cut keeps say the same as the machine that it was made on
    kept = m.drill_settings
    assert difference_deg(kept.place_deg(m.dial_deg(angle)), angle) == pytest.approx(0.0, abs=1e-8)
    assert difference_deg(kept.dial_deg(angle), m.dial_deg(angle)) == pytest.approx(0.0, abs=1e-8)
    assert kept.agrees(machine(way, zero + kept.sense * 7.0, offset + 7.0).drill_settings)
    # a reading is rounded to a millionth of a degree on its way in
    assert difference_deg(m.heavy_spot_deg(m.reading_angle_deg(angle)), angle) == pytest.approx(0.0, abs=2e-6)
    assert difference_deg(m.reading_angle_deg(m.heavy_spot_deg(angle)), angle) == pytest.approx(0.0, abs=2e-6)
    for number in (
        m.place_deg(angle),
        m.machine_angle_deg(angle),
        m.dial_deg(angle),
        m.heavy_spot_deg(angle),
    ):
        assert 0.0 <= number < 360.0
    for side in ("left", "right"):
        assert m.amount_gmm(m.display_amount(amount, side=side), side=side) == pytest.approx(
            amount, rel=1e-12
        )


def seen(way, zero_deg: float, frame_deg: float) -> float:
    """Return the display of a machine for a heavy spot, from a picture: no formula of the project.

    Put the spot on a circle, look at it from the machine's side (from the rear the picture is mirrored), and count
    from the machine's zero mark the way the machine counts.
    """
    spot, mark = (cmath.exp(1j * math.radians(a)) for a in (frame_deg, zero_deg))
    if way["marks"] == "light spot":
        spot = -spot
    if way["viewed_from"] == "rear":
        spot, mark = (complex(-p.real, p.imag) for p in (spot, mark))
    counted = math.degrees(cmath.phase(spot / mark))
    return counted if way["direction"] == "ccw" else -counted


@pytest.mark.parametrize("way", WAYS)
@settings(max_examples=25, derandomize=True)
@given(zero=angles, frame=angles)
def test_the_display_is_what_one_sees_from_that_side(way, zero, frame):
    shown = machine(way, zero).reading_angle_deg(frame)
    assert difference_deg(shown, seen(way, zero, frame)) == pytest.approx(0.0, abs=1e-6)


@settings(max_examples=60, derandomize=True)
@given(zero=angles, frame=angles)
def test_equal_unbalance_stated_in_every_way_gives_one_heavy_spot(zero, frame):
    spots = {
        machine(way, zero).heavy_spot_deg(round(machine(way, zero).reading_angle_deg(frame), 9))
        for way in WAYS
    }
    # all ways agree to the rounding step
    assert max(abs(difference_deg(spot, frame)) for spot in spots) <= 1.1e-6


@pytest.mark.parametrize("way", WAYS)
@settings(max_examples=25, derandomize=True)
@given(zero=angles, offset=offsets, step=st.sampled_from([0.5, 1.0, 5.0]), count=st.integers(0, 719))
def test_the_grid_of_the_frame_is_the_grid_of_whole_dial_numbers(way, zero, offset, step, count):
    m = machine(way, zero, offset)
    phase = m.angle_phase_deg(step)
    assert 0.0 <= phase < step
    dial = m.dial_deg(phase + count * step)
    assert math.remainder(dial, step) == pytest.approx(0.0, abs=1e-7)
