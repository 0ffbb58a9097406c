"""Every conversion of `frames.py` against the simulator's machine, which turns a vector about the line of sight.

The simulator holds no product code; it knows nothing of senses and signs.
"""

from __future__ import annotations

import cmath
import itertools
import math
from typing import Any

import pytest

from planner.frames import Dial, DrillSettings, MachineAngle, MachineConvention, ShaftAngle, Shown
from tests.simulator.machine import Machine

WAYS = list(itertools.product(("ccw", "cw"), ("front", "rear"), ("heavy spot", "light spot")))
SETTINGS = [(0.0, 0.0), (95.0, 90.0), (-40.0, -15.0), (331.25, 187.5)]
ANGLES = (0.0, 17.0, 120.5, 199.0, 301.25)


def both(way: tuple[str, str, str], setting: tuple[float, float]) -> tuple[MachineConvention, Machine]:
    counts, seen_from, marks = way
    zero, offset = setting
    options: dict[str, Any] = {"direction": counts, "viewed_from": seen_from, "marks": marks}
    ours = MachineConvention(**options, zero_deg=ShaftAngle(zero), drill_offset_deg=offset)
    theirs = Machine(
        counts=counts,
        seen_from=seen_from,
        zero_deg=zero,
        marks=marks,
        left_z_mm=0.0,
        right_z_mm=100.0,
        drill_deg=offset,
    )
    return ours, theirs


def apart(one: float, other: float) -> float:
    return abs(math.remainder(one - other, 360.0))


def unit(angle_deg: float) -> complex:
    return cmath.rect(1.0, math.radians(angle_deg))


@pytest.mark.parametrize("setting", SETTINGS, ids=str)
@pytest.mark.parametrize("way", WAYS, ids=", ".join)
def test_places_dials_and_readings(way: tuple[str, str, str], setting: tuple[float, float]) -> None:
    ours, theirs = both(way, setting)
    for angle in map(ShaftAngle, ANGLES):
        number = theirs.number_deg(unit(angle))
        assert apart(ours.machine_angle_deg(angle), number) < 1e-9
        assert apart(ours.place_deg(MachineAngle(number)), angle) < 1e-9
        dial = ours.dial_deg(angle)
        assert 0.0 <= dial < 360.0
        assert apart(theirs.under_drill_deg(dial), angle) < 1e-9
        assert apart(ours.under_drill_deg(dial), angle) < 1e-9
        assert apart(ours.drill_settings.dial_deg(angle), dial) < 1e-9
        assert apart(ours.drill_settings.place_deg(dial), angle) < 1e-9
        # dialled by its number, with the drill forgotten
        assert apart(ours.dialled_without_offset_deg(angle), theirs.under_drill_deg(number)) < 1e-9
        shown = theirs.shown(unit(angle), unit(angle + 77.0))
        assert apart(ours.heavy_spot_deg(Shown(shown[1])), angle) < 1e-6
        assert apart(ours.heavy_spot_deg(Shown(shown[3])), angle + 77.0) < 1e-6
        assert apart(ours.reading_angle_deg(angle), shown[1]) < 1e-9


@pytest.mark.parametrize("setting", SETTINGS, ids=str)
@pytest.mark.parametrize("way", WAYS, ids=", ".join)
def test_a_sector_is_the_same_metal(way: tuple[str, str, str], setting: tuple[float, float]) -> None:
    """From one number of the machine to a larger one: the angles between are those between on the machine."""
    ours, theirs = both(way, setting)
    start, end = ours.sector_deg(MachineAngle(350.0), MachineAngle(380.0))
    assert end - start == pytest.approx(
        30.0
    )  # counter-clockwise seen from the front, whichever way the machine counts
    inside = {
        round((theirs.number_deg(unit(start + share * 30.0)) - 350.0) % 360.0, 6)
        for share in (0.0, 0.25, 1.0)
    }
    assert inside in ({0.0, 7.5, 30.0}, {30.0, 22.5, 0.0})


@pytest.mark.parametrize("step", [0.5, 1.0, 5.0, 7.5])
@pytest.mark.parametrize("setting", [*SETTINGS, (10.0, 10.0 - 1e-13), (0.3, 0.1)], ids=str)
@pytest.mark.parametrize("way", WAYS[::2], ids=", ".join)
def test_the_grid_of_places_is_the_grid_of_whole_steps(
    way: tuple[str, str, str], setting: tuple[float, float], step: float
) -> None:
    ours, _ = both(way, setting)
    phase = ours.angle_phase_deg(step)
    assert 0.0 <= phase < step - 1e-9
    for k in (0, 1, 7):
        steps = ours.dial_deg(ShaftAngle(phase + k * step)) / step
        assert abs(steps - round(steps)) < 1e-9


def test_settings_agree_when_every_number_comes_to_the_same_place() -> None:
    one = DrillSettings(zero_deg=ShaftAngle(10.0), sense=1, offset_deg=30.0)
    assert one.agrees(one)
    # the zero mark turned on by 25 and the drill counted from there
    assert one.agrees(DrillSettings(zero_deg=ShaftAngle(35.0), sense=1, offset_deg=55.0))
    assert one.agrees(DrillSettings(zero_deg=ShaftAngle(370.0), sense=1, offset_deg=30.0))
    assert not one.agrees(DrillSettings(zero_deg=ShaftAngle(10.5), sense=1, offset_deg=30.0))
    assert not one.agrees(DrillSettings(zero_deg=ShaftAngle(190.0), sense=1, offset_deg=30.0))
    # the other way round: one number may come to the same place, not all
    mirrored = DrillSettings(zero_deg=ShaftAngle(-50.0), sense=-1, offset_deg=30.0)
    assert apart(mirrored.place_deg(Dial(0.0)), one.place_deg(Dial(0.0))) < 1e-9
    assert not one.agrees(mirrored)


def test_amounts_are_masses_at_their_own_planes_radius() -> None:
    machine = MachineConvention(mass_at_radius=True, left_radius_mm=80.0, right_radius_mm=50.0)
    assert machine.amount_gmm(3.0, side="left") == 240.0
    assert machine.amount_gmm(3.0, side="right") == 150.0
    assert machine.display_amount(240.0, side="left") == 3.0
    assert machine.display_amount(150.0, side="right") == 3.0
    plain = MachineConvention(left_radius_mm=80.0, right_radius_mm=50.0)
    assert plain.amount_gmm(3.0, side="left") == plain.display_amount(3.0, side="right") == 3.0
    with pytest.raises(ValueError, match="no right radius"):
        MachineConvention(mass_at_radius=True, left_radius_mm=80.0).amount_gmm(3.0, side="right")


@pytest.mark.parametrize(("grows", "sign"), [("with angles", 1.0), ("against angles", -1.0)])
def test_raw_phases(grows: Any, sign: float) -> None:
    """A meter that shows the lag counts the other way than one that shows the lead."""
    machine = MachineConvention(phase_grows=grows)
    vector = machine.raw_vector(2.0, 30.0)
    assert abs(vector) == pytest.approx(2.0)
    assert math.degrees(cmath.phase(vector)) == pytest.approx(sign * 30.0)
    assert machine.raw_phase_deg(vector) == pytest.approx(30.0)
    assert machine.raw_phase_deg(0j) == 0.0


def test_what_is_not_said_is_the_plain_machine() -> None:
    machine = MachineConvention()
    assert (machine.sense, machine.zero_deg, machine.drill_offset_deg) == (1, 0.0, 0.0)
    assert not machine.mass_at_radius
    assert not machine.phase_stated  # nobody said it: it is asked
