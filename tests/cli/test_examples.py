"""Every example plans into tolerance, and what it is there to show is in its answer.  All its data are invented."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import EXAMPLES, Ran

NAMES = sorted(file.parent.name for file in EXAMPLES.glob("*/job.toml"))


def test_there_are_four_examples() -> None:
    assert NAMES == ["cross_plane_v8", "external_balance_v8", "inline_three_light_spot", "v_twin_bevelled"]


@pytest.mark.parametrize("name", NAMES)
def test_plans_into_tolerance(name: str, bobplan: Callable[..., Ran], example: Callable[[str], Path]) -> None:
    folder = example(name)
    ran = bobplan("plan", folder, "--json")
    assert ran.code == 0, ran.err
    plan = ran.json
    assert plan["feasible"] is True
    assert plan["verdict"] == "in tolerance"
    assert plan["steps"]
    for judged in plan["judged"]:
        assert judged["amount_gmm"] <= judged["tolerance_gmm"]


@pytest.mark.parametrize("name", NAMES)
def test_unbalance_plus_steps_is_the_residual(
    name: str, bobplan: Callable[..., Ran], example: Callable[[str], Path]
) -> None:
    """Own arithmetic on the JSON alone: lever rule and vector sum written out here."""
    plan = bobplan("plan", example(name), "--json").json
    planes = [entry["z_mm"] for entry in plan["unbalance"]]
    for index in (0, 1):
        other = 1 - index
        total = _vector(plan["unbalance"][index])
        for step in plan["steps"]:
            share = (planes[other] - step["z_mm"]) / (planes[other] - planes[index])
            angle = math.radians(step["angle_deg"])
            total += share * step["unbalance_gmm"] * complex(math.cos(angle), math.sin(angle))
        residual = _vector(plan["residual"][index])
        assert abs(total - residual) < 1e-5


def _vector(entry: dict[str, float]) -> complex:
    angle = math.radians(entry["angle_deg"])
    return entry["amount_gmm"] * complex(math.cos(angle), math.sin(angle))


def test_a_second_plan_changes_nothing(bobplan: Callable[..., Ran], example: Callable[[str], Path]) -> None:
    folder = example("cross_plane_v8")
    first = bobplan("plan", folder)
    stored = (folder / "job.toml").read_bytes()
    second = bobplan("plan", folder)
    assert (folder / "job.toml").read_bytes() == stored
    assert first.out == second.out


def test_storing_the_plan_keeps_every_line_of_the_job(
    bobplan: Callable[..., Ran], example: Callable[[str], Path]
) -> None:
    folder = example("cross_plane_v8")
    before = (folder / "job.toml").read_text(encoding="utf-8")
    bobplan("plan", folder)
    after = (folder / "job.toml").read_text(encoding="utf-8")
    assert after.startswith(before.rstrip("\n"))
    assert "[plan]" in after


def test_no_store_leaves_the_file_alone(bobplan: Callable[..., Ran], example: Callable[[str], Path]) -> None:
    folder = example("cross_plane_v8")
    before = (folder / "job.toml").read_bytes()
    assert bobplan("plan", folder, "--no-store").code == 0
    assert (folder / "job.toml").read_bytes() == before


def test_the_v8_needs_no_heavy_metal(bobplan: Callable[..., Ran], example: Callable[[str], Path]) -> None:
    plan = bobplan("plan", example("cross_plane_v8"), "--json").json
    assert plan["heavy_metal"]["needed"] is False
    assert {step["cut"] for step in plan["steps"]} == {"rim hole"}
    assert max(entry["amount_gmm"] for entry in plan["bob_shift"]) > 10.0


def test_the_external_balance_needs_slugs(
    bobplan: Callable[..., Ran], example: Callable[[str], Path]
) -> None:
    ran = bobplan("plan", example("external_balance_v8"), "--json")
    plan = ran.json
    assert plan["heavy_metal"]["needed"] is True
    assert "slug" in {step["cut"] for step in plan["steps"]}
    # the settings are proved, so it is the heavier parts: said, not questioned
    assert plan["questions"] == []
    assert any("far from every counterweight" in each for each in plan["notes"])
    for step in plan["steps"]:
        # the drill stands a quarter turn from the pointer
        assert step["dial_deg"] == pytest.approx((step["machine_angle_deg"] + 90.0) % 360.0)
        assert step["dial_deg"] == round(step["dial_deg"])
    assert {entry["unit"] for entry in plan["foretold"]} == {"oz*in"}
    # damper and flywheel are in the engine and were on: nothing to shift
    assert all(entry["amount_gmm"] == 0.0 for entry in plan["mounted_shift"])


def test_the_rear_view_machine(bobplan: Callable[..., Ran], example: Callable[[str], Path]) -> None:
    plan = bobplan("plan", example("inline_three_light_spot"), "--json").json
    assert plan["spins_averaged"] == 2
    left = plan["reading"][0]
    # 15.3 g x 70 mm; the display marks the light spot at 212.5 and counts against the file: 180 - 212.5 is 327.5
    assert left["amount_gmm"] == pytest.approx(15.3 * 70.0, rel=1e-3)
    assert left["angle_deg"] == pytest.approx(327.5, abs=0.1)
    assert all(scatter > 0 for scatter in plan["reading_scatter_gmm"])
    assert {entry["unit"] for entry in plan["foretold"]} == {"g"}
    # a foretold reading is a reading: grams at 70 mm, light spot, counted backwards, and without the flywheel that is off
    foretold = plan["foretold"][0]
    heavy = {"amount_gmm": foretold["amount"] * 70.0, "angle_deg": 180.0 - foretold["angle_deg"]}
    flywheel = _vector(plan["mounted_shift"][0])
    # 60 g*mm at 40 degrees, z 322: the lever over planes at 262 and 38
    assert abs(flywheel) == pytest.approx(60.0 * (322.0 - 38.0) / (262.0 - 38.0))
    assert abs(_vector(heavy) + flywheel - _vector(plan["residual"][0])) < 1e-3


def test_show_work_can_be_followed(bobplan: Callable[..., Ran], example: Callable[[str], Path]) -> None:
    out = bobplan("plan", example("cross_plane_v8"), "--show-work").out
    assert "M = pi * a^2 * (R * h - h^2 / 2 - a^2 / 8 + c / 3 * (R - h - c / 4))" in out
    assert "3480" in out
    assert "share left = (z_right - z)/(z_right - z_left)" in out


def test_the_bevelled_example_is_drilled_on_its_land_clear_of_the_oil_drilling(
    bobplan: Callable[..., Ran], example: Callable[[str], Path], tmp_path: Path
) -> None:
    folder = example("v_twin_bevelled")
    plan = bobplan("plan", folder, "--json", "--dxf", tmp_path / "drawings").json
    assert {step["from_middle_mm"] for step in plan["steps"]} == {3.0, -3.0}
    assert (tmp_path / "drawings" / "A.dxf").exists()
    picture = bobplan("profile", "--whole", folder, "--json").json
    assert picture["whole"] is True
    assert picture["fits"] is True
