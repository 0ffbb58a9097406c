"""Turning the crankshaft by hand: which way the machine counts, and where the drill stands; simulated on its own.

The shaft is a disc with numbers on it, seen from one end; a pointer and a drill stand still beside it.  Angles in space and
on the disc grow counter-clockwise as seen from that end.  Nothing of the product is used but what is tested.
"""

from __future__ import annotations

import itertools

import pytest

from planner.frames import MachineConvention


def number_at(place_on_disc: float, *, counts: str, zero: float) -> float:
    """The number written on the disc at a place: it grows counter-clockwise (ccw) or clockwise (cw) from its zero."""
    return (place_on_disc - zero if counts == "ccw" else zero - place_on_disc) % 360.0


@pytest.mark.parametrize(("counts", "end"), list(itertools.product(("ccw", "cw"), ("front", "rear"))))
def test_the_convention_agrees_seen_from_either_end(counts: str, end: str) -> None:
    """From the rear what is counter-clockwise from the front is clockwise: the frame's angles grow the other way there."""
    machine = MachineConvention(direction=counts, viewed_from=end, zero_deg=25.0)  # type: ignore[arg-type]
    for frame in range(0, 360, 15):
        seen = frame if end == "front" else -frame
        zero = 25.0 if end == "front" else -25.0
        assert machine.machine_angle_deg(frame) == pytest.approx(number_at(seen, counts=counts, zero=zero))


@pytest.mark.parametrize(("counts", "end"), list(itertools.product(("ccw", "cw"), ("front", "rear"))))
def test_the_sign_of_the_drill_offset(counts: str, end: str) -> None:
    """The place called 0 is turned under the drill; what the display shows then is the offset, and dial = place + offset."""
    pointer, drill = 77.0, 140.0

    def display_with_under_drill(place_seen: float) -> float:
        shaft = drill - place_seen
        return number_at(pointer - shaft, counts=counts, zero=0.0)

    offset = display_with_under_drill(0.0)
    machine = MachineConvention(
        direction=counts,
        viewed_from=end,
        zero_deg=0.0,
        drill_offset_deg=offset,  # type: ignore[arg-type]
    )
    for frame in range(0, 360, 15):
        seen = frame if end == "front" else -frame
        assert machine.dial_deg(frame) == pytest.approx(display_with_under_drill(seen) % 360.0, abs=1e-9)


def test_the_example_of_the_words() -> None:
    machine = MachineConvention(drill_offset_deg=90.0)
    assert machine.dial_deg(machine.place_deg(40.0)) == 130.0
