"""Catalogue look-up, firing orders, engines from layouts, from throws, and custom ones."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.engine.engine import (
    Engine,
    EngineCylinder,
    custom_engine,
    engine_from_layout,
    engine_from_throws,
    match_layout,
    sense_of,
)
from planner.engine.firing import check_firing_order
from planner.engine.forces import inherent
from planner.engine.layouts import LAYOUTS, layout
from planner.errors import InputError
from planner.rotor.crankshaft import Throw


@pytest.mark.parametrize(
    "name",
    [
        "V8, 90 degree banks, cross-plane",
        "v8 90 degree banks cross plane",
        "V8, 90° banks, cross-plane",
        "V8, 90 deg banks, cross-plane",
        "V8, 90degrees banks, cross-plane",
    ],
)
def test_spelling_does_not_matter(name):
    assert layout(name).name == "V8, 90 degree banks, cross-plane"


def test_inline_without_hyphen():
    assert layout("inline 4").name == "in-line 4"


def test_names_are_unique():
    assert len({each.name for each in LAYOUTS}) == len(LAYOUTS)


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("V8", "did you mean `V8, 90 degree banks, cross-plane` or `V8, 90 degree banks, flat-plane`"),
        ("V6, 90 degree banks, pins split 31 degrees", "pins split 30 degrees"),
        ("inlin 6", "in-line 6"),
        ("rotary", "or describe the engine by its throws"),
    ],
)
def test_did_you_mean(name, hint):
    with pytest.raises(InputError, match="there is no layout") as caught:
        layout(name)
    assert hint in caught.value.hint


FOUR = {"1": 0.0, "2": 180.0, "3": 180.0, "4": 0.0}


def test_firing_order_and_intervals():
    firing = check_firing_order(["1", "3", "4", "2"], dead_centres_deg=FOUR)
    assert firing.intervals_deg == (180.0,) * 4
    assert firing.even
    assert firing.unique


def test_uneven_twin_is_not_unique():
    firing = check_firing_order(["1", "2"], dead_centres_deg={"1": 22.5, "2": -22.5})
    assert firing.intervals_deg == (315.0, 405.0)
    assert not firing.even
    assert not firing.unique


def test_two_stroke_cycle():
    firing = check_firing_order(
        ["1", "3", "2"], dead_centres_deg={"1": 0.0, "2": 240.0, "3": 120.0}, revolutions=1
    )
    assert firing.intervals_deg == pytest.approx((120.0,) * 3)


@pytest.mark.parametrize(
    ("order", "message"),
    [
        (["1", "2", "3", "5"], "names cylinder `5`"),
        (["1", "2", "3"], "must name each of the 4 cylinders once"),
        (["1", "2", "3", "3"], "must name each"),
    ],
)
def test_firing_orders_that_are_none(order, message):
    with pytest.raises(InputError, match=message):
        check_firing_order(order, dead_centres_deg=FOUR)


def test_firing_order_that_needs_too_many_turns():
    centres = {"1": 0.0, "2": 270.0, "3": 180.0, "4": 90.0}
    with pytest.raises(InputError, match="does not fit these pins"):
        check_firing_order(["1", "2", "3", "4"], dead_centres_deg=centres)


def test_sense_words():
    assert (sense_of("ccw"), sense_of("cw")) == (1, -1)
    with pytest.raises(InputError, match="must be `cw` or `ccw`"):
        sense_of("left")


def real_throws(angles, *, rods=2, spacing=100.0, offset=0.0):
    return [
        Throw(name=chr(65 + k), angle_deg=(a + offset) % 360.0, z_mm=spacing * k, radius_mm=44.0, rods=rods)
        for k, a in enumerate(angles)
    ]


def test_throws_of_a_layout_are_recognised_wherever_their_zero_is():
    cross = layout("V8, 90 degree banks, cross-plane")
    match = match_layout(cross, throws=real_throws((0, 90, 270, 180), offset=37.0), rotation="ccw")
    assert match.agrees
    assert not match.mirrored
    assert match.offset_deg == pytest.approx(37.0)
    assert match.worst_deg == pytest.approx(0.0, abs=1e-9)


def test_a_clockwise_engine_is_not_mirrored():
    """In the crankshaft's frame (counter-clockwise) the angles of a clockwise engine change their sign."""
    cross = layout("V8, 90 degree banks, cross-plane")
    clockwise = real_throws((0, 270, 90, 180))
    assert match_layout(cross, throws=clockwise, rotation="cw").agrees
    wrong = match_layout(cross, throws=clockwise, rotation="ccw")
    assert not wrong.agrees
    assert wrong.mirrored
    with pytest.raises(InputError, match="not those of") as caught:
        engine_from_throws(cross, throws=clockwise, rotation="ccw", rod_length_mm=150.0)
    assert "turning the other way" in caught.value.hint


SPLIT = layout("V6, 90 degree banks, pins split 30 degrees")
SPLIT_ANGLES = (345, 15, 225, 255, 105, 135)


@pytest.mark.parametrize(("rotation", "sense"), [("ccw", 1), ("cw", -1)])
def test_split_pins_either_way_leave_the_same(rotation, sense):
    """Taken the wrong way round the split would be -30 and the backward couple another one."""
    throws = [
        replace(t, z_mm=100.0 * (k // 2) + 20.0 * (k % 2))
        for k, t in enumerate(real_throws([sense * a for a in SPLIT_ANGLES], rods=1))
    ]
    engine = engine_from_throws(SPLIT, throws=throws, rotation=rotation, rod_length_mm=150.0)
    assert (engine.spacing_mm, engine.middle_z_mm) == pytest.approx((100.0, 110.0))
    left = inherent(engine, fraction=0.5)
    # the halves' distance adds nothing: its sum over the three pins is zero
    couple = abs(left.couple[1].backward) / left.unit_gmm / 100.0
    assert couple == pytest.approx(0.448288, abs=1e-6)


def test_names_and_masses_of_the_job():
    throws = [replace(t, cylinders=(f"L{k}", f"R{k}")) for k, t in enumerate(real_throws((0, 270, 90, 180)))]
    masses = {name: (700.0 + len(name), 440.0) for t in throws for name in t.cylinders}
    engine = engine_from_throws(
        layout("V8, 90 degree banks, cross-plane"),
        throws=throws,
        rotation="cw",
        rod_length_mm=150.0,
        masses_g=masses,
        rods_apart_mm=24.0,
    )
    first, second = engine.cylinders[:2]
    assert (first.name, first.throw, first.bank_angle_deg, first.z_mm) == ("L0", "A", -45.0, -12.0)
    assert (second.name, second.bank_angle_deg, second.z_mm) == ("R0", 45.0, 12.0)
    assert first.reciprocating_g == 702.0
    assert engine.bobs_g(0.5)["A"] == pytest.approx(2 * 440.0 + 702.0)
    assert engine.middle_z_mm == pytest.approx(150.0)
    assert engine.spacing_mm == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("throws", "message"),
    [
        (real_throws((0, 90, 270)), "has 4 throws, the crankshaft has 3"),
        (real_throws((0, 90, 270, 180), rods=1), "has 1 rods"),
        (real_throws((0, 90, 270, 185)), "off by 2.5 degrees"),
    ],
)
def test_throws_that_are_not_the_layout(throws, message):
    with pytest.raises(InputError, match=message):
        engine_from_throws(
            layout("V8, 90 degree banks, cross-plane"), throws=throws, rotation="ccw", rod_length_mm=150.0
        )


def one(**changes) -> EngineCylinder:
    return replace(
        EngineCylinder(name="1", throw="A", bank_angle_deg=0.0, z_mm=0.0, rod_length_mm=150.0), **changes
    )


@pytest.mark.parametrize(
    ("cylinders", "message"),
    [
        ([], "has no cylinders"),
        ([one(), one()], "given twice"),
        ([one(throw="Z")], "hangs on throw `Z`"),
        ([one(rod_length_mm=44.0)], "must be more than"),
        ([one(rod_length_mm=50.0, offset_mm=-7.0)], "must be more than"),
        ([one(reciprocating_g=-1.0)], "masses must be 0 or more"),
    ],
)
def test_engines_that_cannot_turn(cylinders, message):
    with pytest.raises(InputError, match=message):
        custom_engine(throws=real_throws((0,)), cylinders=cylinders, rotation="cw")


def test_engine_rotation_is_checked():
    with pytest.raises(InputError, match="must be `cw`"):
        Engine(throws=tuple(real_throws((0,))), cylinders=(one(),), rotation="clockwise")


def test_unknown_throw_of_an_engine():
    with pytest.raises(KeyError):
        engine_from_layout(layout("single cylinder")).throw("9")


def test_dead_centre_with_an_offset():
    """The piston is farthest out when rod and crank are in one line, a little past the bank angle."""
    import numpy as np

    from planner.engine.forces import piston_acceleration

    engine = custom_engine(throws=real_throws((0,)), cylinders=[one(offset_mm=9.0)], rotation="ccw")
    top = engine.dead_centres_deg()["1"]
    assert top == pytest.approx(2.659, abs=1e-3)  # asin(9 / 194)
    r, length, d = 44.0, 150.0, 9.0
    angle = np.radians(np.linspace(top - 1.0, top + 1.0, 2001))
    height = r * np.cos(angle) + np.sqrt(length**2 - (r * np.sin(angle) - d) ** 2)
    assert np.degrees(angle[np.argmax(height)]) == pytest.approx(top, abs=2e-3)
    assert piston_acceleration(angle, rod_ratio=length / r, offset_ratio=d / r).shape == angle.shape
