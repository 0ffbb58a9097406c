"""Where one command meets another: what is entered, taken back and shown must be the same in each.  All data invented."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Ran

Bobplan = Callable[..., Ran]
Example = Callable[[str], Path]


def _file(folder: Path) -> dict[str, Any]:
    return tomllib.loads((folder / "job.toml").read_text(encoding="utf-8"))


def _replace(folder: Path, old: str, new: str) -> None:
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


@pytest.fixture
def planned(bobplan: Bobplan, example: Example) -> tuple[Path, Any]:
    """The first example with its plan: cut 1 on A, cut 2 on F."""
    folder = example("cross_plane_v8")
    return folder, bobplan("plan", "--json", folder=folder).json


def test_a_what_if_made_with_other_cuts_in_the_metal_is_refused(
    bobplan: Bobplan, planned: tuple[Path, Any]
) -> None:
    """As many cuts, but not the same: the plan with cut 1 in the metal is none for a crankshaft with cut 2 instead."""
    folder, _ = planned
    bobplan("done", "1", folder=folder)
    shown = bobplan("plan", "--drill", "12", "--json", folder=folder).json
    assert shown["steps"]
    label = shown["steps"][0]["label"]
    bobplan("undo", folder=folder)
    bobplan("done", "2", folder=folder)
    before = (folder / "job.toml").read_bytes()
    ran = bobplan("done", label, "--yes", folder=folder)
    assert ran.code == 2, ran.out
    assert "is not for what the job says now" in ran.err
    assert (folder / "job.toml").read_bytes() == before


def test_where_the_holes_are_is_not_written_while_another_option_is_wrong(
    bobplan: Bobplan, planned: tuple[Path, Any]
) -> None:
    folder, _ = planned
    bobplan("done", "1", folder=folder)
    _replace(folder, 'angle_zero = "throw 1"', "angle_zero = 2")
    before = (folder / "job.toml").read_bytes()
    for wrong in (("--drill", "1/0"), ("--forbid", "Z"), ("--aim", "7"), ("--fix", "nonsense")):
        ran = bobplan("plan", "--made-cuts", "stay", *wrong, folder=folder)
        assert ran.code == 2, (wrong, ran.err)
        assert (folder / "job.toml").read_bytes() == before, wrong


@pytest.mark.parametrize(
    "wrong",
    [
        ("--at", "throw 9"),
        ("--mass", "0"),
        ("--radius", "x"),
        ("--line", "throw 1"),
        ("--reading", "1 2 3"),
        ("--reading", "a 2 3 4"),
        ("--reading", "1 2 3 4 400"),
        ("--reading", "1 2 3 4", "--reading", "1 2 3 4", "--reading", "1 2 3 4"),
    ],
)
def test_a_spin_without_the_mass_is_not_entered_while_another_option_is_wrong(
    bobplan: Bobplan, planned: tuple[Path, Any], wrong: tuple[str, ...]
) -> None:
    folder, _ = planned
    before = (folder / "job.toml").read_bytes()
    ran = bobplan("prove", "--base", "3400 214 2900 33", *wrong, folder=folder)
    assert ran.code == 2, ran.err
    assert (folder / "job.toml").read_bytes() == before


def test_the_sheet_counts_as_its_plan_does(
    bobplan: Bobplan, planned: tuple[Path, Any], tmp_path: Path
) -> None:
    """What was learned holds for the rest of the plan on paper as on the screen."""
    import cmath
    import math

    folder, plan = planned
    bobplan("done", "1", "2", folder=folder)

    def vector(amount: float, angle: float) -> complex:
        return cmath.rect(amount, math.radians(angle))

    before = [vector(each["amount_gmm"], each["angle_deg"]) for each in plan["reading"]]
    foretold = [vector(each["amount"], each["angle_deg"]) for each in plan["foretold"]]
    after = [b + 0.85 * (f - b) for b, f in zip(before, foretold, strict=True)]
    numbers = [f"{n:.5f}" for v in after for n in (abs(v), math.degrees(cmath.phase(v)))]
    bobplan("spin", *numbers, "--yes", folder=folder)
    learned = bobplan("plan", "--use-learned", "--json", folder=folder).json
    assert len(learned["steps"]) > 1
    bobplan("done", str(learned["steps"][0]["number"]), folder=folder)
    screen = bobplan("plan", "--json", folder=folder).json
    paper = bobplan("sheet", "-o", tmp_path / "s.html", "--json", folder=folder).json["plan"]
    assert paper["foretold"] == screen["foretold"]
    assert paper["steps"] == screen["steps"]


def test_a_sheet_of_a_plan_that_is_overtaken_is_not_written(
    bobplan: Bobplan, planned: tuple[Path, Any], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A spin that comes in while the sheet is made: its cut list must not lie at the machine."""
    from planner.workflow import sheet

    folder, _ = planned
    real = sheet.plan_job
    spin = "\n[[spins]]\nbobs = 1724\nleft = { amount = 1500, angle = 205 }\nright = { amount = 1320, angle = 12 }\n"

    def slow(*arguments: Any, **more: Any) -> Any:
        answer = real(*arguments, **more)
        path = folder / "job.toml"
        path.write_text(path.read_text(encoding="utf-8") + spin, encoding="utf-8")
        return answer

    monkeypatch.setattr(sheet, "plan_job", slow)
    ran = bobplan("sheet", "-o", tmp_path / "s.html", folder=folder)
    assert ran.code == 2, ran.out
    assert "was changed while this plan was being made" in ran.err
    assert not (tmp_path / "s.html").exists()


def test_the_record_is_not_drawn_before_it_is_said_where_the_holes_are(
    bobplan: Bobplan, planned: tuple[Path, Any], tmp_path: Path
) -> None:
    folder, _ = planned
    bobplan("done", "1", folder=folder)
    _replace(folder, 'angle_zero = "throw 1"', "angle_zero = 2")
    ran = bobplan("sheet", "--customer", "-o", tmp_path / "r.html", folder=folder)
    assert ran.code == 1, ran.out
    assert "[machine] has changed since a cut was made" in ran.err
    assert not (tmp_path / "r.html").exists()


def test_a_mended_drill_offset_says_that_cuts_were_made_with_the_wrong_one(
    bobplan: Bobplan, planned: tuple[Path, Any]
) -> None:
    """The known mass reads right, only the line under the drill does not: every hole was made at the wrong place."""
    from tests.cli.test_prove_command import RIGHT

    folder, _ = planned
    _replace(folder, "drill_offset = 0\n", "drill_offset = 20\n")
    readings = [part for each in RIGHT for part in ("--reading", each)]
    bobplan("plan", folder=folder)
    assert bobplan("prove", *readings, folder=folder).code == 0
    bobplan(
        "done",
        "--on",
        "A",
        "--dial",
        "218",
        "--drill",
        "16",
        "--depth",
        "9",
        "--yes",
        "--unproved",
        folder=folder,
    )
    assert len(_file(folder)["cuts_made"]) == 1
    ran = bobplan("prove", "--line", "throw 1 = 0", "--yes", folder=folder)
    assert "drill_offset" in ran.out
    assert _file(folder)["machine"]["drill_offset"] == 0
    assert "Cuts were made with the wrong setting" in ran.out


def test_cut_unproved_is_remembered_only_with_the_cut(
    bobplan: Bobplan, planned: tuple[Path, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """`nothing was entered` means a file as it was."""
    from planner.workflow import making

    folder, plan = planned
    path = folder / "job.toml"
    path.write_text(
        "".join(
            each
            for each in path.read_text(encoding="utf-8").splitlines(True)
            if not each.startswith("proved =")
        ),
        encoding="utf-8",
    )
    assert "proved" not in _file(folder)["machine"]
    changed: list[bytes] = []
    real = making.questions_on

    def meanwhile(job: Any, made: Any) -> tuple[str, ...]:
        depth = plan["steps"][0]["stop_mm"]
        _replace(folder, f"depth = {depth:g}", f"depth = {depth - 3.0:g}")
        changed.append(path.read_bytes())
        return real(job, made)

    monkeypatch.setattr(making, "questions_on", meanwhile)
    ran = bobplan("done", "1", "--unproved", folder=folder)
    assert ran.code == 2
    assert "nothing was entered" in ran.err
    assert path.read_bytes() == changed[-1]


def test_a_face_is_nothing_that_a_deeper_hole_can_change(bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
    folder, plan = planned
    step = plan["steps"][0]
    bobplan("done", "1", "--depth", f"{step['stop_mm'] - 5.0:g}", folder=folder)
    ran = bobplan("done", "--deeper", "1", "--depth", f"{step['stop_mm']:g}", "--from", "rear", folder=folder)
    assert ran.code == 2
    assert "keeps its place and its drill" in ran.err


def test_a_repeat_of_the_same_figures_is_not_told_to_be_a_repeat(
    bobplan: Bobplan, planned: tuple[Path, Any]
) -> None:
    folder, _ = planned
    ran = bobplan("spin", "3480", "214", "2910", "33", "--repeat", folder=folder)
    assert "or did the display show the same again?" in ran.out
    assert "entered with `--repeat`" not in ran.out
