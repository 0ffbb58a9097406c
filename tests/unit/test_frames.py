"""The four kinds of angle: mypy refuses a swapped one, and only `frames.py` reckons with zero, sense and drill offset.

What the conversions do is checked against an independent machine in `tests/invariants/test_machine.py` and `tests/simulator/`.
"""

from __future__ import annotations

import ast
import cmath
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from planner.frames import Dial, MachineAngle, MachineConvention, ShaftAngle, Shown, TwoPlanes

ROOT = Path(__file__).parents[2]

WRONG = """\
from planner.cuts.cut import Cut
from planner.frames import MachineAngle, MachineConvention, ShaftAngle, Shown, SideReading


def right(machine: MachineConvention, reading: SideReading, cut: Cut) -> ShaftAngle:
    machine.dial_deg(cut.angle_deg)
    return machine.heavy_spot_deg(reading.angle_deg)


def wrong(machine: MachineConvention, reading: SideReading, cut: Cut) -> None:
    machine.dial_deg(machine.machine_angle_deg(cut.angle_deg))
    machine.place_deg(reading.angle_deg)
    SideReading(amount=1.0, angle_deg=cut.angle_deg)
"""


def test_a_swapped_frame_is_a_type_error(tmp_path: Path) -> None:
    """Three wrong lines, three errors, none in the right ones: of machine, display and cut."""
    file = tmp_path / "swapped.py"
    file.write_text(WRONG, encoding="utf-8")
    pytest.importorskip("mypy", reason="mypy comes with the extra `lint`")
    ran = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--no-error-summary", "--follow-imports=silent",
         "--cache-dir", str(tmp_path / "cache"), str(file)],
        capture_output=True, text=True, check=False, cwd=ROOT,
    )  # fmt: skip
    lines = [line for line in ran.stdout.splitlines() if ": error:" in line]
    first = 1 + WRONG.splitlines().index("    machine.dial_deg(machine.machine_angle_deg(cut.angle_deg))")
    assert [int(line.split(":")[1]) for line in lines] == [first, first + 1, first + 2], (
        ran.stdout + ran.stderr
    )
    assert 'expected "ShaftAngle"' in lines[0]
    assert 'expected "MachineAngle"' in lines[1]
    assert 'expected "Shown"' in lines[2]


KNOWS = {"zero_deg", "sense", "drill_offset_deg", "offset_deg"}
ALLOWED = {
    # tries other settings than those set, in the display's own counting
    "planner/machine/settings_fit.py",
    # compares a number on the dial with and without the offset, and proposes another zero
    "planner/steps/prove.py",
    # says which of the settings differ from those of another day
    "planner/steps/dialled.py",
    # the engine's own turning direction, and a mark's own offset on the crankshaft: no machine's
    "planner/engine/engine.py",
    "planner/engine/forces.py",
    "planner/present/drawings/engine.py",
    "planner/steps/known_mass.py",
}


def test_nobody_else_reckons_with_zero_sense_and_offset() -> None:
    """No product file but `frames.py` adds, subtracts or multiplies one of these numbers."""
    found = []
    for path in sorted((ROOT / "planner").rglob("*.py")):
        name = path.relative_to(ROOT).as_posix()
        if name == "planner/frames.py" or name in ALLOWED:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add | ast.Sub | ast.Mult):
                for side in (node.left, node.right):
                    if isinstance(side, ast.Attribute) and side.attr in KNOWS:
                        found.append(f"{name}:{node.lineno} {side.attr}")
    assert found == []


@pytest.mark.parametrize("direction", ["ccw", "cw"])
@pytest.mark.parametrize("viewed_from", ["front", "rear"])
@pytest.mark.parametrize("marks", ["heavy spot", "light spot"])
def test_every_way_there_has_its_way_back(direction: str, viewed_from: str, marks: str) -> None:
    machine = MachineConvention(
        direction=direction,
        viewed_from=viewed_from,
        marks=marks,
        zero_deg=ShaftAngle(37.0),
        drill_offset_deg=90.0,
    )  # type: ignore[arg-type]
    for angle in (0.0, 12.5, 200.0, 359.0):
        place = ShaftAngle(angle)
        assert machine.under_drill_deg(machine.dial_deg(place)) == pytest.approx(angle)
        assert machine.place_deg(machine.machine_angle_deg(place)) == pytest.approx(angle)
        assert machine.heavy_spot_deg(machine.reading_angle_deg(place)) == pytest.approx(angle)


def test_a_light_spot_is_opposite_and_only_on_the_display() -> None:
    """A display that marks the light spot shows 180 for a heavy spot at its zero; the place there is still number 0."""
    machine = MachineConvention(marks="light spot")
    assert machine.reading_angle_deg(ShaftAngle(0.0)) == 180.0
    assert machine.machine_angle_deg(ShaftAngle(0.0)) == 0.0
    assert machine.heavy_spot_deg(Shown(180.0)) == 0.0


def test_a_sector_runs_backwards_on_a_machine_that_counts_the_other_way() -> None:
    """From 30 to 70 clockwise from the front is from -70 to -30 in the crankshaft frame."""
    machine = MachineConvention(direction="cw")
    assert machine.sector_deg(MachineAngle(30.0), MachineAngle(70.0)) == (-70.0, -30.0)


def test_the_offset_forgotten_puts_the_hole_that_much_off() -> None:
    """Dial = place + offset: who dials the place alone drills the offset before it, in the machine's counting."""
    machine = MachineConvention(drill_offset_deg=90.0)
    assert machine.dialled_without_offset_deg(ShaftAngle(100.0)) == pytest.approx(10.0)
    assert machine.under_drill_deg(Dial(100.0)) == pytest.approx(10.0)
    other = MachineConvention(direction="cw", drill_offset_deg=90.0)
    assert other.dialled_without_offset_deg(ShaftAngle(100.0)) == pytest.approx(190.0)


@pytest.mark.parametrize(
    ("direction", "viewed_from", "front", "rear"),
    # a clock on the wall behind the crankshaft: what runs clockwise for who stands in front runs the other way from behind
    [("ccw", "front", 1, -1), ("cw", "front", -1, 1), ("ccw", "rear", -1, 1), ("cw", "rear", 1, -1)],
)
def test_which_way_angles_grow_as_seen_from_either_end(
    direction: str, viewed_from: str, front: int, rear: int
) -> None:
    machine = MachineConvention(direction=direction, viewed_from=viewed_from)  # type: ignore[arg-type]
    assert machine.sense_seen_from("front") == front
    assert machine.sense_seen_from("rear") == rear


def test_two_planes_are_shown_as_the_display_has_them() -> None:
    """By hand: cw from the front, zero at 37, light spot; 120 is s(120 - 37) = -83 = 277 on the machine, 97 on the display."""
    machine = MachineConvention(
        direction="cw", viewed_from="front", marks="light spot", zero_deg=ShaftAngle(37.0),
        mass_at_radius=True, left_radius_mm=80.0, right_radius_mm=50.0,
    )  # fmt: skip
    pair = TwoPlanes(cmath.rect(400.0, math.radians(120.0)), cmath.rect(100.0, math.radians(37.0)))
    shown = pair.shown(machine)
    assert [side for side, _ in shown.items()] == ["left", "right"]
    assert (shown.left.amount, shown.left.angle_deg) == pytest.approx((5.0, 97.0))
    assert (shown.at("right").amount, shown.at("right").angle_deg) == pytest.approx((2.0, 180.0))
    back = [machine.vector_gmm(reading, side=side) for side, reading in shown.items()]
    assert back == pytest.approx(list(pair))


def test_two_planes_reckon_with_both_and_are_a_pair() -> None:
    pair = TwoPlanes(1.0 + 2.0j, -3.0 + 0j)
    assert pair.plus([1j, 1.0], -2.0) == (1.0 + 0j, -5.0 + 0j)
    assert pair.map(abs) == pytest.approx((5.0**0.5, 3.0))
    left, right = TwoPlanes.vectors(np.array([1j, 2.0]))
    assert (left, right, type(left)) == (1j, 2.0 + 0j, complex)
    assert MachineConvention(left_radius_mm=80.0).radii_mm == (80.0, None)
