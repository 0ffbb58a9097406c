"""Where one command meets another: what is entered, taken back and shown must be the same in each.  All data invented."""

from __future__ import annotations

import cmath
import dataclasses
import math
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner.jobfile.read import load_job
from planner.steps.fault_words import explained_words
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


def test_a_sheet_of_a_plan_that_is_overtaken_is_not_written(
    bobplan: Bobplan, planned: tuple[Path, Any], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A spin that comes in while the sheet is made: its cut list must not lie at the machine."""
    from planner.steps import sheet

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
    from planner.steps import done

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
    real = done.questions_on

    def meanwhile(job: Any, made: Any) -> tuple[str, ...]:
        depth = plan["steps"][0]["stop_mm"]
        _replace(folder, f"depth = {depth:g}", f"depth = {depth - 3.0:g}")
        changed.append(path.read_bytes())
        return real(job, made)

    monkeypatch.setattr(done, "questions_on", meanwhile)
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
    assert "or did the display show the same again?\n" in ran.out
    assert "entered with `--repeat`" not in ran.out


def test_a_hole_that_was_drilled_deeper_is_not_taken_back_from_under_it(
    bobplan: Bobplan, planned: tuple[Path, Any]
) -> None:
    """The deepening alone counts for a few millimetres: a hole of 27 mm would count as one of 5."""
    folder, plan = planned
    stop = plan["steps"][0]["stop_mm"]
    bobplan("done", "1", "--depth", f"{stop - 5.0:g}", folder=folder)
    bobplan("done", "--deeper", "1", "--depth", f"{stop:g}", folder=folder)
    deeper = load_job(folder / "job.toml").cuts_made[1].number
    before = (folder / "job.toml").read_bytes()
    ran = bobplan("undo", "--cut", "1", folder=folder)
    assert ran.code == 2, ran.out
    assert f"cut 1 can't be taken back while cut {deeper}, which drilled it deeper, stands" in ran.err
    assert (folder / "job.toml").read_bytes() == before
    for number in (deeper, 1):
        assert bobplan("undo", "--cut", str(number), folder=folder).code == 0
    assert load_job(folder / "job.toml").cuts_made == ()
    for _ in range(2):
        assert bobplan("undo", "--redo", folder=folder).code == 0
    assert [made.number for made in load_job(folder / "job.toml").cuts_made] == [1, deeper]


def test_a_cut_of_no_plan_does_not_make_the_plan_too_much(
    bobplan: Bobplan, planned: tuple[Path, Any]
) -> None:
    """A first pass is followed as the operator likes: the step planned for the same hole is not on top of it."""
    folder, plan = planned
    stop = plan["steps"][0]["stop_mm"]
    bobplan("done", "1", "--depth", f"{stop - 5.0:g}", folder=folder)
    ran = bobplan("done", "--deeper", "1", "--depth", f"{stop:g}", folder=folder)
    assert ran.code == 0, ran.err
    assert "STOP" not in ran.out


def test_a_step_that_was_cut_and_not_entered_is_named_before_the_settings(
    bobplan: Bobplan, planned: tuple[Path, Any]
) -> None:
    """One of two cuts entered, both made: a look decides it, no known mass."""
    folder, plan = planned
    bobplan("done", "1", folder=folder)
    numbers = [f"{row[key]:.3f}" for row in plan["foretold"] for key in ("amount", "angle_deg")]
    spun = bobplan("spin", *numbers, folder=folder)
    assert spun.code == 1
    words = "Step 2 of the plan for spin 1 is not entered as made, but spin 2 reads as if cut"
    assert f"NO CUT LIST: {words}" in spun.out
    assert "look whether the hole is there" in spun.out
    assert "PLAN:" not in spun.out
    assert f"{words}: no cut list." in bobplan(folder=folder).out
    shown = bobplan("plan", "--json", folder=folder)
    assert shown.json["withheld"]["because"] == "not entered"
    assert shown.json["withheld"]["not_entered"] == [2]
    # as it says: the spin back, and again with the cuts
    assert bobplan("undo", "--yes", folder=folder).code == 0
    again = bobplan("spin", *numbers, "--cut-as-planned", folder=folder)
    assert again.code == 0, again.out
    assert len(_file(folder)["cuts_made"]) == 2


class TestPlanShownUnderOtherSettings:
    """Printed with one number on the dial, entered when the same place has another: the hole is where the drill was."""

    @pytest.mark.parametrize(
        ("old", "new", "now"),
        [
            ('angle_zero = "throw 1"', "angle_zero = 2", 31.0),
            # whole steps of the grid: the question that the plan answers stays the same
            ("drill_offset = 0\n", "drill_offset = 20\n", 53.0),
        ],
    )
    def test_which_number_was_dialled_is_asked(
        self, bobplan: Bobplan, planned: tuple[Path, Any], old: str, new: str, now: float
    ) -> None:
        folder, plan = planned
        assert plan["steps"][1]["dial_deg"] == 33.0
        _replace(folder, old, new)
        before = (folder / "job.toml").read_bytes()
        asked = bobplan("done", "2", "--unproved", folder=folder)
        assert asked.code == 1
        assert f"cut 2 was at 33 on the dial then and is at {now:g} now" in asked.err
        spun = bobplan("spin", "100", "205", "120", "12", "--cut-as-planned", folder=folder)
        assert spun.code == 1
        assert "cut 1 was at 214 on the dial then" in spun.err
        assert (folder / "job.toml").read_bytes() == before
        for dial in (33.0, now):
            (folder / "job.toml").write_bytes(before)
            ran = bobplan("done", "2", "--dial", f"{dial:g}", "--unproved", "--yes", folder=folder)
            assert ran.code in (0, 1), ran.err
            made = load_job(folder / "job.toml").cuts_made[0]
            assert made.dial_deg == dial
            assert made.cut.angle_deg == pytest.approx(33.0 + dial - now)

    def test_shown_again_it_is_not_asked(self, bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
        folder, _ = planned
        _replace(folder, "drill_offset = 0\n", "drill_offset = 20\n")
        bobplan("done", "1", "--dial", "234", "--unproved", folder=folder)
        kept = bobplan("plan", "--json", folder=folder).json
        assert [step["dial_deg"] for step in kept["steps"]] == [53.0]
        ran = bobplan("done", str(kept["steps"][0]["number"]), folder=folder)
        assert "which number" not in ran.err
        assert len(load_job(folder / "job.toml").cuts_made) == 2


def test_an_error_after_an_entry_says_in_json_what_was_changed(
    bobplan: Bobplan, planned: tuple[Path, Any]
) -> None:
    """A script that gets an error must not enter the spin again."""
    folder, _ = planned
    bobplan("done", "1", folder=folder)
    _replace(folder, 'angle_zero = "throw 1"', "angle_zero = 2")
    asked = bobplan("plan", "--json", folder=folder)
    assert "changed" not in asked.json
    ran = bobplan("spin", "100", "205", "120", "12", "--json", folder=folder)
    assert ran.code == 1
    assert ran.json["changed"] == ["job.toml"]
    assert len(_file(folder)["spins"]) == 2


def test_a_known_mass_is_judged_with_the_error_that_the_job_states(
    bobplan: Bobplan, planned: tuple[Path, Any]
) -> None:
    """400 g*mm stay however small a reading is: a change of 400 more than set proves nothing wrong."""
    from planner.steps.known_mass import reading_error

    folder, _ = planned
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    assert "[errors]" not in text
    path.write_text(text + "\n[errors]\nreading_absolute = 400\n", encoding="utf-8")
    assert reading_error(load_job(path))[2] == 400.0


class TestLearned:
    """What cuts really removed meets what is foretold, the chances, the next entry and the sheet."""

    @pytest.fixture
    def taught(self, bobplan: Bobplan, planned: tuple[Path, Any]) -> Path:
        """Both cuts of the first plan took 0.85 times what their sizes say; a spin after them."""
        folder, plan = planned
        bobplan("done", "1", "2", folder=folder)

        def vector(amount: float, angle: float) -> complex:
            return cmath.rect(amount, math.radians(angle))

        before = [vector(each["amount_gmm"], each["angle_deg"]) for each in plan["reading"]]
        foretold = [vector(each["amount"], each["angle_deg"]) for each in plan["foretold"]]
        after = [b + 0.85 * (f - b) for b, f in zip(before, foretold, strict=True)]
        numbers = [f"{n:.5f}" for v in after for n in (abs(v), math.degrees(cmath.phase(v)))]
        bobplan("spin", *numbers, "--yes", folder=folder)
        return folder

    def test_the_sheet_has_the_plan_that_was_shown(
        self, bobplan: Bobplan, taught: Path, tmp_path: Path
    ) -> None:
        screen = bobplan("plan", "--use-learned", "--json", folder=taught).json
        paper = bobplan("sheet", "-o", tmp_path / "s.html", "--json", folder=taught).json["plan"]
        assert paper["steps"] == screen["steps"]
        assert paper["foretold"] == screen["foretold"]
        assert _file(taught)["plan"]["learned_factor"] == pytest.approx(0.85, abs=0.002)
        # asked for by the files, it is planned by the files
        assert bobplan("plan", "--json", folder=taught).json["steps"] != screen["steps"]

    def test_the_sheet_counts_as_its_plan_does(self, bobplan: Bobplan, taught: Path, tmp_path: Path) -> None:
        learned = bobplan("plan", "--use-learned", "--json", folder=taught).json
        assert len(learned["steps"]) > 1
        bobplan("done", str(learned["steps"][0]["number"]), folder=taught)
        screen = bobplan("plan", "--json", folder=taught).json
        paper = bobplan("sheet", "-o", tmp_path / "s.html", "--json", folder=taught).json["plan"]
        assert paper["foretold"] == screen["foretold"]
        assert paper["steps"] == screen["steps"]

    def test_the_rest_of_the_plan_is_no_overshoot(self, bobplan: Bobplan, taught: Path) -> None:
        """With a factor far from 1: what is still to be cut counts as it was planned, not as its size says."""
        from planner.steps.done import made_cut, overshoot_warnings
        from planner.steps.plan import plan_job, stored_plan_of
        from planner.steps.removal_ratio import with_factor

        job = dataclasses.replace(
            load_job(taught / "job.toml"), spins=load_job(taught / "job.toml").spins[:1]
        )
        job = dataclasses.replace(job, cuts_made=(), stored_plan=None, former_plans=())
        answer = plan_job(with_factor(job, 0.7))
        job = dataclasses.replace(job, stored_plan=stored_plan_of(answer, basis_of=job))
        job = dataclasses.replace(job, cuts_made=(made_cut(job, answer.steps[0].number),))
        after = plan_job(with_factor(job, 0.7))
        assert len(after.steps) == len(answer.steps) - 1
        assert overshoot_warnings(job, after) == ()

    def test_chances_are_of_what_is_foretold(self, taught: Path) -> None:
        """A cut counts in the draws as in the residual: with the factor that it was planned with."""
        from planner.steps.chances import question_of_cuts
        from planner.steps.correction_question import pose
        from planner.steps.removal_ratio import with_factor
        from planner.uncertainty.draws import before_gmm

        job = load_job(taught / "job.toml")
        for now, then in ((1.0, 0.85), (0.85, 0.85), (0.85, 1.0)):
            made = tuple(
                dataclasses.replace(each, after_spin=2, learned_factor=then) for each in job.cuts_made
            )
            asked = with_factor(dataclasses.replace(job, cuts_made=made), now)
            posed = pose(asked)
            drawn = before_gmm(question_of_cuts(asked, posed, ()))
            for one, other in zip(drawn, posed.problem.unbalance_gmm, strict=True):
                assert abs(one - complex(other)) < 1e-6 * (1.0 + abs(other))

    def test_what_was_foretold_of_a_spin_stays_so(self, taught: Path) -> None:
        """Planning with what was learned does not change what the spin before was expected to read."""
        import numpy as np

        from planner.steps.diagnosis import diagnose
        from planner.steps.removal_ratio import with_factor
        from planner.steps.spin import foretold_for

        job = load_job(taught / "job.toml")
        before = dataclasses.replace(job, spins=job.spins[:1], stored_plan=None)
        plain = foretold_for(before, job.spins[1])
        learned = foretold_for(with_factor(before, 0.85), job.spins[1])
        assert plain is not None
        assert learned is not None
        assert np.allclose(plain.expected_gmm, learned.expected_gmm, rtol=1e-12)
        one, other = (diagnose(each, job.spins[1], plain) for each in (before, with_factor(before, 0.85)))
        assert one is not None
        assert other is not None
        assert one.diagnosis.factor == pytest.approx(other.diagnosis.factor, rel=1e-9)
        assert [explained_words(each) for each in one.diagnosis.explanations] == [
            explained_words(each) for each in other.diagnosis.explanations
        ]
