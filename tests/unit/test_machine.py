"""How a balancing machine counts, against cases worked out by hand.

The checked case (zero 17.3, place 131, the machine counting like the frame, light spot marked) follows from the rule
`angle = zero + s*a`, plus 180 for a light spot: the place reads 131 - 17.3 = 113.7, a heavy spot there reads 293.7.
"""

from __future__ import annotations

import pytest

from planner.frames import MachineConvention


def test_the_hand_worked_case():
    machine = MachineConvention(zero_deg=17.3, marks="light spot")
    assert machine.sense == 1
    assert machine.reading_angle_deg(131.0) == pytest.approx(293.7)
    assert machine.heavy_spot_deg(293.7) == pytest.approx(131.0)
    assert machine.machine_angle_deg(131.0) == pytest.approx(113.7)
    assert machine.place_deg(113.7) == pytest.approx(131.0)
    assert machine.dial_deg(131.0) == pytest.approx(113.7)


@pytest.mark.parametrize(
    ("direction", "viewed_from", "sense"),
    [("ccw", "front", 1), ("cw", "rear", 1), ("cw", "front", -1), ("ccw", "rear", -1)],
)
def test_the_sense_of_counting(direction, viewed_from, sense):
    assert MachineConvention(direction=direction, viewed_from=viewed_from).sense == sense


def test_a_clockwise_machine_by_hand():
    # 0 at throw 1 (frame 40 deg), angles grow clockwise seen from the front: the machine's 10 deg is frame 30 deg
    machine = MachineConvention(direction="cw", zero_deg=40.0, drill_offset_deg=90.0)
    assert machine.place_deg(10.0) == pytest.approx(30.0)
    assert machine.machine_angle_deg(30.0) == pytest.approx(10.0)
    assert machine.dial_deg(30.0) == pytest.approx(100.0)
    assert machine.heavy_spot_deg(10.0) == pytest.approx(30.0)
    assert machine.reading_angle_deg(30.0) == pytest.approx(10.0)


def test_the_light_spot_turns_readings_only_never_places():
    heavy = MachineConvention(direction="cw", zero_deg=40.0)
    light = MachineConvention(direction="cw", zero_deg=40.0, marks="light spot")
    assert light.place_deg(10.0) == heavy.place_deg(10.0)
    assert light.dial_deg(30.0) == heavy.dial_deg(30.0)
    assert light.heavy_spot_deg(10.0) == pytest.approx(heavy.heavy_spot_deg(190.0))
    assert light.reading_angle_deg(30.0) == pytest.approx(190.0)


def test_readings_are_rounded_to_a_millionth_of_a_degree():
    assert MachineConvention().heavy_spot_deg(131.00000004) == 131.0
    assert MachineConvention().heavy_spot_deg(-0.00000004) == 0.0
    assert MachineConvention().heavy_spot_deg(359.99999996) == 0.0


def test_amounts_as_unbalance_and_as_mass_at_radius():
    assert MachineConvention().amount_gmm(4210.0, side="left") == 4210.0
    machine = MachineConvention(mass_at_radius=True, left_radius_mm=80.0, right_radius_mm=75.0)
    assert machine.amount_gmm(10.0, side="left") == 800.0
    assert machine.amount_gmm(10.0, side="right") == 750.0
    assert machine.display_amount(750.0, side="right") == 10.0


def test_a_missing_radius_is_named():
    machine = MachineConvention(mass_at_radius=True, left_radius_mm=80.0)
    with pytest.raises(ValueError, match="amounts are masses but there is no right radius"):
        machine.amount_gmm(10.0, side="right")


def test_the_grid_of_whole_dial_numbers_by_hand():
    # 0 at 17.3: whole dial degrees lie at 0.3, 1.3, ... of the frame
    assert MachineConvention(zero_deg=17.3).angle_phase_deg(1.0) == pytest.approx(0.3)
    assert MachineConvention(zero_deg=17.3, direction="cw").angle_phase_deg(5.0) == pytest.approx(2.3)
    assert MachineConvention(zero_deg=17.3, drill_offset_deg=2.1).angle_phase_deg(1.0) == pytest.approx(0.2)
    assert MachineConvention(zero_deg=17.3, drill_offset_deg=2.1, direction="cw").angle_phase_deg(
        1.0
    ) == pytest.approx(0.4)
