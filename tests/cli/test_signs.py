"""Signs that nothing else would catch: parts that are off, numbers that run backwards, holes that come out larger.

On the third example, whose machine counts against the file's angles and whose flywheel is in the engine but not on.  Every
expectation is worked out here from the numbers that a display showed, without the product.  All data invented.
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner.jobfile.read import load_job
from planner.steps.correction_question import pose
from tests.cli.conftest import Ran

Bobplan = Callable[..., Ran]
Example = Callable[[str], Path]
NAME = "inline_three_light_spot"
RADIUS_MM = 70.0
LEFT_Z, RIGHT_Z = 262.0, 38.0
FLYWHEEL = (322.0, 60.0, 40.0)


def vector(amount: float, angle_deg: float) -> complex:
    return cmath.rect(amount, math.radians(angle_deg))


def heavy(shown_g: float, shown_deg: float) -> complex:
    """A light spot read on a machine that counts against the file's angles, zero at throw 1: 180 - a."""
    return vector(shown_g * RADIUS_MM, 180.0 - shown_deg)


def shared(z: float, what: complex) -> tuple[complex, complex]:
    left = (RIGHT_Z - z) / (RIGHT_Z - LEFT_Z)
    return left * what, (1.0 - left) * what


READ = (
    (heavy(15.2, 212.0) + heavy(15.4, 213.0)) / 2.0,
    (heavy(11.9, 15.0) + heavy(12.0, 14.0)) / 2.0,
)


def shown(data: list[dict[str, Any]]) -> list[complex]:
    return [heavy(side["amount"], side["angle_deg"]) for side in data]


def steps_of(plan: dict[str, Any]) -> list[complex]:
    total = [0j, 0j]
    for step in plan["steps"]:
        for side, part in enumerate(shared(step["z_mm"], vector(step["unbalance_gmm"], step["angle_deg"]))):
            total[side] += part
    return total


def test_the_foretold_reading_is_without_the_flywheel(bobplan: Bobplan, example: Example) -> None:
    """What the display shows changes by the cuts alone, whatever is still to be put on."""
    plan = bobplan("plan", example(NAME), "--json").json
    for found, before, cut in zip(shown(plan["foretold"]), READ, steps_of(plan), strict=True):
        assert abs(found - (before + cut)) < 0.01
    # and what is corrected is with it
    for found, before, part in zip(
        plan["unbalance"], READ, shared(FLYWHEEL[0], vector(FLYWHEEL[1], FLYWHEEL[2])), strict=True
    ):
        assert abs(vector(found["amount_gmm"], found["angle_deg"]) - (before + part)) < 1e-3


def test_a_new_spin_with_the_flywheel_on_is_compared_with_it(bobplan: Bobplan, example: Example) -> None:
    folder = example(NAME)
    ran = bobplan(
        "spin", "15.3", "212", "12", "14", "--mounted", "flywheel", "--yes", "--json", folder=folder
    ).json
    expected = [vector(v["amount_gmm"], v["angle_deg"]) for v in ran["foretold_before"]["expected"]]
    added = shared(FLYWHEEL[0], vector(FLYWHEEL[1], FLYWHEEL[2]))
    for found, before, part in zip(expected, READ, added, strict=True):
        assert abs(found - (before + part)) < 1e-3
    # taken off again: as it was read first
    back = bobplan(
        "spin", "15.3", "212.5", "11.95", "14.5", "--mounted", "none", "--yes", "--json", folder=folder
    )
    found = [vector(v["amount_gmm"], v["angle_deg"]) for v in back.json["foretold_before"]["expected"]]
    for each, read, part in zip(found, (heavy(15.3, 212.0), heavy(12.0, 14.0)), added, strict=True):
        assert abs(each - (read - part)) < 1e-3


def test_the_reading_that_would_pass_passes(bobplan: Bobplan, example: Example) -> None:
    """Entered as a spin it is judged in, and just so: with the flywheel that is not on.  The error is stated, so that one
    spin is judged as the two were."""
    folder = example(NAME)
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("total = 260 ", "total = 260\nmeasurement_error = 20 "), encoding="utf-8")
    passing = bobplan("check", "--json", folder=folder).json["passing"]
    numbers = [
        # a hair less: the JSON rounds
        str(value)
        for side in passing["at_same_angle"]
        for value in (side["amount"] * 0.9999, side["angle_deg"])
    ]
    bobplan("spin", *numbers, "--yes", folder=folder)
    checked = bobplan("check", "--json", folder=folder).json
    assert checked["verdict"] == "in tolerance"
    fullest = max(place["amount_gmm"] / place["passes_at_gmm"] for place in checked["judged"])
    assert fullest == pytest.approx(1.0, abs=1e-3)
    # with the flywheel on a bare amount at any angle can't be said
    assert passing["any_angle"] is None


def test_toward_higher_numbers_means_the_numbers_of_the_machine(bobplan: Bobplan, example: Example) -> None:
    """A cut's dial against its counterweight's centre line, both as machine numbers, from the file's angles by hand."""
    folder = example(NAME)
    centre = {"A": -150.0, "B": -165.0, "C": -315.0, "D": -330.0}
    ran = bobplan("plan", folder)
    rows = re.findall(r"^\d+ +\w+ hole on (\w).*? (\d+)° .*\n +(.*)$", ran.out, re.MULTILINE)
    assert len(rows) == 3
    sides = set()
    for name, dial, words in rows:
        off = (float(dial) - centre[name] + 180.0) % 360.0 - 180.0
        assert abs(off) > 0.5
        assert f"toward {'higher' if off > 0 else 'lower'} numbers" in words
        sides.add(off > 0)
    assert sides == {True, False}
    spot = re.search(r"left: .* heavy at ([\d.]+)°, .* counterweight D, toward (\w+) numbers", ran.out)
    assert spot is not None
    assert (spot.group(2) == "higher") == ((float(spot.group(1)) - 30.0) > 0.0)


@pytest.mark.parametrize("oversize", [0.0, 0.4])
def test_a_made_hole_is_as_wide_as_it_came_out(oversize: float, bobplan: Bobplan, example: Example) -> None:
    folder = example(NAME)
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("[shop]\n", f"[shop]\nhole_oversize = {oversize}\n"), encoding="utf-8")
    plan = bobplan("plan", "--json", folder=folder).json
    step = plan["steps"][0]
    bobplan("done", "1", "--unproved", folder=folder)
    counterweights = pose(load_job(path)).problem.counterweights
    hole = next(each for each in counterweights if each.name == step["counterweight"]).existing[-1]
    assert hole.diameter_mm == pytest.approx(step["diameter_mm"] + oversize)


def test_the_working_of_a_mean_with_a_check_spin_between_adds_up(bobplan: Bobplan, example: Example) -> None:
    folder = example(NAME)
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    check = (
        "[[spins]]\nbobs = 498.0\nleft = { amount = 14.0, angle = 200 }\nright = { amount = 12.5, angle = 20 }\n"
        "known_mass = { mass = 10, radius = 60, angle = 60, z = 38 }\n\n"
    )
    second = text.rindex("[[spins]]")
    path.write_text(text[:second] + check + text[second:], encoding="utf-8")
    out = bobplan("plan", folder, "--show-work", "--no-store", "--anyway").out
    lines = re.findall(r"(spin \d+|mean),? (left|right).*X ([+-][\d.]+)  Y ([+-][\d.]+)$", out, re.MULTILINE)
    assert [line[0] for line in lines] == ["spin 1", "spin 1", "spin 3", "spin 3", "mean", "mean"]
    for side in ("left", "right"):
        first, other, mean = (complex(float(x), float(y)) for _, where, x, y in lines if where == side)
        assert abs((first + other) / 2.0 - mean) < 0.11
    # the check is no spin of the state, and the mean does not say that it is
    assert "mean of spins 1, 3" in bobplan("check", folder=folder).out
