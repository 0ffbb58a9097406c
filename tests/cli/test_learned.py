"""What the cuts really removed, carried into the next plan on request.  All data invented."""

from __future__ import annotations

import cmath
import math
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Ran, prefer_least_metal

Bobplan = Callable[..., Ran]
Example = Callable[[str], Path]


def _vectors(rows: list[dict[str, float]]) -> list[complex]:
    return [cmath.rect(row["amount_gmm"], math.radians(row["angle_deg"])) for row in rows]


def _file(folder: Path) -> dict[str, Any]:
    return tomllib.loads((folder / "job.toml").read_text(encoding="utf-8"))


def _cut_with(factor: float, bobplan: Bobplan, folder: Path) -> None:
    """Plan, cut as planned, and spin a crankshaft from which every cut took ``factor`` times as much."""
    plan = bobplan("plan", "--json", folder=folder).json
    bobplan("done", *(str(step["number"]) for step in plan["steps"]), "--json", folder=folder)
    before = _vectors(plan["reading"])
    foretold = [cmath.rect(row["amount"], math.radians(row["angle_deg"])) for row in plan["foretold"]]
    after = [b + factor * (f - b) for b, f in zip(before, foretold, strict=True)]
    numbers = [f"{value:.5f}" for v in after for value in (abs(v), math.degrees(cmath.phase(v)))]
    bobplan("spin", *numbers, "--yes", "--json", folder=folder)


@pytest.fixture
def taught(bobplan: Bobplan, example: Example) -> Path:
    folder = example("cross_plane_v8")
    prefer_least_metal(folder)
    _cut_with(0.85, bobplan, folder)
    return folder


def test_the_next_plan_counts_every_cut_as_it_really_is(bobplan: Bobplan, taught: Path) -> None:
    plain = bobplan("plan", "--no-store", "--json", folder=taught).json
    learned = bobplan("plan", "--use-learned", "--json", folder=taught).json
    assert any("learned from spin 2: drilled cuts remove 0.850" in text for text in learned["notes"])
    assert _file(taught)["plan"]["learned_factor"] == pytest.approx(0.85, abs=0.002)
    # the same hole counts 0.85 times
    factor = _file(taught)["plan"]["learned_factor"]
    ends = [step for step in learned["steps"] if step["counterweight"] in ("A", "F")]
    assert ends
    for step in ends:
        size = (
            "--outer-radius",
            "88",
            "--diameter",
            step["diameter_mm"],
            "--depth",
            step["depth_shoulder_mm"],
        )
        alone = bobplan("cut", "rim", *size, "--density", "7.85", "--json", folder=taught).json
        assert -step["unbalance_gmm"] == pytest.approx(factor * alone["unbalance_gmm"], rel=1e-3)
    assert learned["verdict"] == plain["verdict"] == "in tolerance"
    # deeper or more holes than the plain plan
    assert sum(step["mass_g"] / factor for step in learned["steps"]) < sum(
        s["mass_g"] for s in plain["steps"]
    )


def test_a_crankshaft_that_goes_on_so_comes_into_tolerance_as_foretold(
    bobplan: Bobplan, taught: Path
) -> None:
    plan = bobplan("plan", "--use-learned", "--json", folder=taught).json
    numbers = [str(step["number"]) for step in plan["steps"]]
    after = bobplan("done", numbers[0], "--json", folder=taught).json
    # the rest of the plan keeps its steps and its foretold reading
    assert [step["number"] for step in after["steps"]] == [step["number"] for step in plan["steps"][1:]]
    for now, then in zip(after["foretold"], plan["foretold"], strict=True):
        assert now["amount"] == pytest.approx(then["amount"], rel=1e-6)
    assert _file(taught)["cuts_made"][-1]["learned_factor"] == _file(taught)["plan"]["learned_factor"]
    for number in numbers[1:]:
        bobplan("done", number, folder=taught)
    shown = [f"{plan['foretold'][i][key]:.5f}" for i in (0, 1) for key in ("amount", "angle_deg")]
    spun = bobplan("spin", *shown, "--json", folder=taught).json
    assert spun["verdict"] == "in tolerance"
    assert bobplan("history", "--json", folder=taught).json["spins"][2]["diagnosis"]["good"] is True


def test_nothing_to_learn_from(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    ran = bobplan("plan", "--use-learned", folder=folder)
    assert ran.code == 2
    assert "nothing to learn from yet" in ran.err


def test_what_drilling_does_not_explain_is_not_learned(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    _cut_with(0.5, bobplan, folder)
    ran = bobplan("plan", "--use-learned", folder=folder)
    assert ran.code == 2
    assert "0.5 times what their sizes say" in ran.err


def test_another_fault_is_mended_first(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    _cut_with(-1.0, bobplan, folder)
    ran = bobplan("plan", "--use-learned", folder=folder)
    assert ran.code == 2
    assert "heavy and light spot are swapped" in ran.err
