"""Toward higher or lower numbers: whoever turns the crankshaft by this must turn it the right way, on every machine.

The machine is the simulator's, which counts by turning a vector about the line of sight and holds no product code.
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Ran
from tests.invariants.test_plan_convention import HEAVY_FRONT, HEAVY_REAR, job_text
from tests.simulator.machine import Machine

CENTRES = {"A": 180.0, "B": 270.0, "C": 90.0, "D": 0.0}
ZERO, OFFSET, TURN = -40.0, -15.0, 35.0


def way_round(number: float, reference: float) -> str:
    return "higher" if 0.0 < (number - reference) % 360.0 < 180.0 else "lower"


@pytest.mark.parametrize("marks", ["heavy spot", "light spot"])
@pytest.mark.parametrize("seen_from", ["front", "rear"])
@pytest.mark.parametrize("counts", ["ccw", "cw"])
def test_toward_higher_numbers_is_what_the_wheel_shows(
    bobplan: Callable[..., Ran], tmp_path: Path, counts: str, seen_from: str, marks: str
) -> None:
    machine = Machine(
        counts=counts,
        seen_from=seen_from,
        zero_deg=ZERO + TURN,
        marks=marks,
        left_z_mm=52.0,
        right_z_mm=470.0,
        drill_deg=OFFSET,
    )

    def number(angle_deg: float) -> float:
        return machine.number_deg(cmath.rect(1.0, math.radians(angle_deg)))

    job = tmp_path / "job.toml"
    text = job_text((counts, seen_from, marks, "unbalance", "left in front"), (ZERO, OFFSET, TURN))
    job.write_text(text, encoding="utf-8")
    out = " ".join(bobplan("plan", job, "--no-store").out.split())

    # where the heavy spots are, from the nearest counterweight's centre line
    spots = re.findall(r"from the centre line of counterweight (\w), toward (higher|lower) numbers", out)
    heavy = {"A": HEAVY_FRONT, "D": HEAVY_REAR}
    assert [name for name, _ in spots] == ["A", "D"]
    for name, way in spots:
        spot = number(math.degrees(cmath.phase(heavy[name])) + TURN)
        assert way == way_round(spot, number(CENTRES[name] + TURN)), name

    # where the cuts are: by the number to dial and what the wheel shows with the centre line under the drill
    cuts = re.findall(
        r"rim hole on (\w) ([\d.]+)° .*?([\d.]+)° = [\d.]+ mm along the rim from the centre line, toward (higher|lower)",
        out,
    )
    assert cuts
    for name, dial, off, way in cuts:
        centre = (number(CENTRES[name] + TURN) + OFFSET) % 360.0
        assert way == way_round(float(dial), centre), (name, dial, centre)
        between = abs((float(dial) - centre + 180.0) % 360.0 - 180.0)
        assert between == pytest.approx(float(off), abs=0.51)
