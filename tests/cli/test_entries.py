"""Entries as they happen: what `done` takes, numbers that stay, what-ifs by letter, undo and redo, settings mended later.

All data invented; truth is what was typed, and the plan as it was shown.
"""

from __future__ import annotations

import threading
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner.errors import InputError
from planner.jobfile.read import load_job
from planner.jobfile.write import Entries, enter
from planner.steps.done import made_cut
from tests.cli.conftest import Ran

Bobplan = Callable[..., Ran]
Example = Callable[[str], Path]


def _file(folder: Path) -> dict[str, Any]:
    return tomllib.loads((folder / "job.toml").read_text(encoding="utf-8"))


def _set(folder: Path, old: str, new: str) -> None:
    path = folder / "job.toml"
    for each in (path, *folder.glob("*.toml")):
        text = each.read_text(encoding="utf-8")
        if old in text:
            each.write_text(text.replace(old, new, 1), encoding="utf-8")
            return
    raise AssertionError(f"{old} is in no file")


@pytest.fixture
def planned(bobplan: Bobplan, example: Example) -> tuple[Path, Any]:
    """The first example with its plan: cut 1 on A, cut 2 on F."""
    folder = example("cross_plane_v8")
    return folder, bobplan("plan", "--json", folder=folder).json


def test_done_names_what_it_enters(bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
    folder, plan = planned
    step = plan["steps"][0]
    ran = bobplan("done", "1", folder=folder)
    stop, dial = step["stop_mm"], step["dial_deg"]
    words = (
        f"entered: cut 1, rim hole on A, {step['diameter_mm']:g} mm at {dial:g}°, {stop:.1f} mm on the stop\n"
    )
    assert ran.out.startswith(words)
    written = _file(folder)["cuts_made"][0]
    assert written["dialled"]["dial"] == pytest.approx(dial)
    # the plan stays in the file as it was shown: what is left follows from the cuts
    assert [each["number"] for each in _file(folder)["plan"]["steps"]] == [1, 2]


def test_the_same_step_twice_is_refused_by_name(bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
    folder, _ = planned
    bobplan("done", "1", folder=folder)
    again = bobplan("done", "1", folder=folder)
    assert again.code == 2
    assert "cut 1 is entered already" in again.err
    assert len(_file(folder)["cuts_made"]) == 1


def test_two_at_once_enter_the_hole_once(planned: tuple[Path, Any]) -> None:
    """Both read the file, both go for the lock: the second one finds the step made."""
    folder, _ = planned
    path = folder / "job.toml"
    errors: list[Exception] = []
    ready = threading.Barrier(2)

    def one() -> None:
        load_job(path)
        ready.wait()
        try:
            enter(path, lambda job: Entries(made=(made_cut(job, 1),)))
        except InputError as error:
            errors.append(error)

    both = [threading.Thread(target=one) for _ in range(2)]
    for each in both:
        each.start()
    for each in both:
        each.join()
    assert len(load_job(path).cuts_made) == 1
    assert [error.message for error in errors] == ["cut 1 is entered already; a cut is made once"]


def test_a_plan_that_changed_between_looking_and_locking_enters_nothing(
    bobplan: Bobplan, planned: tuple[Path, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another run stores another plan under the same number in between: it must not be entered unseen."""
    from planner.steps import done as making

    folder, _ = planned
    real = making.questions_on

    def meanwhile(job: Any, made: Any) -> tuple[str, ...]:
        text = (folder / "job.toml").read_text(encoding="utf-8")
        depth = _file(folder)["plan"]["steps"][0]["depth"]
        (folder / "job.toml").write_text(
            text.replace(f"depth = {depth:g}", f"depth = {depth - 3.0:g}", 1), encoding="utf-8"
        )
        return real(job, made)

    monkeypatch.setattr(making, "questions_on", meanwhile)
    ran = bobplan("done", "1", folder=folder)
    assert ran.code == 2
    assert "was changed meanwhile" in ran.err
    assert "cuts_made" not in _file(folder)


def test_a_slow_plan_does_not_stand_in_the_place_of_a_newer_spins(
    bobplan: Bobplan, example: Example, monkeypatch: pytest.MonkeyPatch
) -> None:
    from planner.steps import plan as planning

    folder = example("cross_plane_v8")
    real = planning.find_plan

    def slow(*arguments: Any, **more: Any) -> Any:
        found = real(*arguments, **more)
        monkeypatch.setattr(planning, "find_plan", real)
        # meanwhile, at the machine
        text = (folder / "job.toml").read_text(encoding="utf-8")
        spin = "\n[[spins]]\nbobs = 1724\nleft = { amount = 1500, angle = 205 }\nright = { amount = 1320, angle = 12 }\n"
        (folder / "job.toml").write_text(text + spin, encoding="utf-8")
        return found

    monkeypatch.setattr(planning, "find_plan", slow)
    ran = bobplan("plan", folder=folder)
    assert ran.code == 2
    assert "was changed while this plan was being made" in ran.err
    assert "PLAN" not in ran.out
    assert "plan" not in _file(folder)


class TestAsMade:
    def test_a_cut_that_no_plan_had(self, bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
        folder, plan = planned
        drill = plan["steps"][0]["diameter_mm"]
        ran = bobplan(
            "done",
            "--on",
            "A",
            "--dial",
            "197",
            "--drill",
            f"{drill:g} mm",
            "--depth",
            "12 mm",
            "--json",
            folder=folder,
        )
        assert ran.code in (0, 1), ran.err
        made = _file(folder)["cuts_made"][0]
        assert made["counterweight"] == "A"
        assert made["dialled"]["dial"] == 197
        assert made["depth"] == 12
        assert "step" not in made
        assert made["cut_number"] == 3  # 1 and 2 were printed already
        assert all(step["number"] != 3 for step in ran.json["steps"])

    def test_other_numbers_of_a_step(self, bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
        folder, plan = planned
        dial = plan["steps"][0]["dial_deg"] + 2.0
        assert bobplan("done", "1", "--dial", f"{dial:g}", folder=folder).code in (0, 1)
        assert _file(folder)["cuts_made"][0]["dialled"]["dial"] == pytest.approx(dial)

    def test_a_slug_a_face_hole_and_what_is_missing(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        folder, _ = planned
        refused = bobplan("done", "--on", "A", "--kind", "face", "--depth", "8", folder=folder)
        assert refused.code == 2
        assert "needs --dial, --drill, --radius too" in refused.err
        ran = bobplan(
            "done", "--on", "A", "--kind", "face", "--dial", "190", "--drill", "12", "--radius", "60",
            "--depth", "9", "--from", "rear", "--yes", folder=folder,
        )  # fmt: skip
        assert ran.code in (0, 1), ran.err
        assert (
            "entered: cut 3, face hole on A, 12 mm at 190°, radius 60.0 mm, 9.0 mm on the stop, from the rear"
            in ran.out
        )
        assert _file(folder)["cuts_made"][0]["face"] == "rear"

    @pytest.mark.parametrize(
        ("options", "words"),
        [
            (("--depth", "2.15"), "one place too far left"),
            (("--depth", "44"), "far from the plan's"),
            (("--dial", "250"), "degrees from the plan's"),
            (("--drill", "17"), "the shop has no drill of 17"),
            (("--on", "F"), "not on F"),
            (("--dial", "33"), "the dial points at"),
        ],
    )
    def test_what_looks_like_a_slip_is_asked_and_not_entered(
        self, bobplan: Bobplan, planned: tuple[Path, Any], options: tuple[str, ...], words: str
    ) -> None:
        folder, plan = planned
        if options == ("--depth", "2.15"):
            options = ("--depth", f"{plan['steps'][0]['stop_mm'] / 10.0:g}")
        before = (folder / "job.toml").read_bytes()
        ran = bobplan("done", "1", *options, folder=folder)
        assert ran.code == 1, ran.err
        assert words in ran.err
        assert "nothing was entered" in ran.err
        assert (folder / "job.toml").read_bytes() == before
        assert bobplan("done", "1", *options, "--yes", "--json", folder=folder).json["entered"]

    def test_a_first_pass_is_no_slip(self, bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
        folder, plan = planned
        first = plan["steps"][0]["first_pass_mm"]
        ran = bobplan("done", "1", "--depth", f"{first:g}", folder=folder)
        assert "looks like" not in ran.err
        assert _file(folder)["cuts_made"][0]["depth"] == first

    def test_the_same_place_again_is_a_deeper_hole(self, bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
        folder, plan = planned
        step = plan["steps"][0]
        first = step["stop_mm"] - 5.0
        bobplan("done", "1", "--depth", f"{first:g}", folder=folder)
        again = bobplan(
            "done", "--on", "A", "--dial", f"{step['dial_deg']:g}", "--drill", f"{step['diameter_mm']:g}",
            "--depth", f"{step['stop_mm']:g}", "--yes", folder=folder,
        )  # fmt: skip
        assert again.code == 2
        assert "hole 1 on A is at that place already" in again.err
        assert "--deeper 1" in again.err
        ran = bobplan("done", "--deeper", "1", "--depth", f"{step['stop_mm']:g}", folder=folder)
        assert f"hole 1 on A, deeper, {step['diameter_mm']:g} mm at" in ran.out
        assert "(5.0 mm deeper)" in ran.out
        made = _file(folder)["cuts_made"]
        assert made[1]["from_depth"] == first
        # together they are the hole as planned
        after = bobplan("plan", "--json", folder=folder).json
        shift = after["made_shift"][0]["amount_gmm"]
        other = folder.parent / "other"
        import shutil

        shutil.copytree(folder, other)
        text = (other / "job.toml").read_text(encoding="utf-8").split("[[cuts_made]]")[0]
        (other / "job.toml").write_text(
            text.split("[plan]")[0].split("[[former_plans]]")[0], encoding="utf-8"
        )
        bobplan("plan", folder=other)
        whole = bobplan("done", "1", "--json", folder=other).json["made_shift"][0]["amount_gmm"]
        assert shift == pytest.approx(whole, abs=1e-3)

    def test_no_hole_to_deepen(self, bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
        folder, _ = planned
        ran = bobplan("done", "--deeper", "7", "--depth", "20", folder=folder)
        assert ran.code == 2
        assert "no cut 7 is entered as made" in ran.err
        bobplan("done", "1", folder=folder)
        ran = bobplan("done", "--deeper", "1", "--depth", "3", folder=folder)
        assert ran.code == 2
        assert "is no deeper" in ran.err


class TestNumbers:
    def test_a_number_once_printed_is_never_another_cut(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        """Settings change, plans change: who cuts by an old sheet must not be understood otherwise."""
        folder, first = planned
        seen = {step["number"]: step for step in first["steps"]}
        for drill in ("12", "14", "12", "16"):
            plan = bobplan("plan", "--drill", drill, "--store", "--json", folder=folder).json
            for step in plan["steps"]:
                before = seen.setdefault(step["number"], step)
                for key in ("counterweight", "diameter_mm"):
                    assert before[key] == step[key]
                assert before["dial_deg"] == pytest.approx(step["dial_deg"], abs=0.51)
                assert before["stop_mm"] == pytest.approx(step["stop_mm"], abs=0.26)
        assert len(seen) > 2
        # the plan by the files has its old numbers again
        again = bobplan("plan", "--json", folder=folder).json
        assert [step["number"] for step in again["steps"]] == [1, 2]

    def test_a_depth_half_a_step_away_is_another_number_on_the_stop(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        """The sheet at the machine says 28.5 for cut 1; with a coarser stop 28 is planned, within half a step of that."""
        folder, plan = planned
        assert plan["steps"][0]["stop_mm"] == pytest.approx(28.5)
        _set(folder, "depth_step = 0.5", "depth_step = 1")
        again = bobplan("plan", "--json", folder=folder).json
        assert len(again["steps"]) == 2
        before = {(s["number"], s["counterweight"], s["dial_deg"], s["stop_mm"]) for s in plan["steps"]}
        printed = {each[0] for each in before}
        for step in again["steps"]:
            same = (step["number"], step["counterweight"], step["dial_deg"], step["stop_mm"]) in before
            assert same == (step["number"] in printed), step
        assert again["steps"][0]["number"] not in printed

    def test_the_next_spins_cuts_have_numbers_of_their_own(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        folder, _ = planned
        bobplan("done", "1", "2", folder=folder)
        plan = bobplan("spin", "1500", "205", "1320", "12", "--anyway", "--json", folder=folder).json
        assert plan["steps"]
        assert all(step["number"] > 2 for step in plan["steps"])
        wrong = bobplan("done", "1", folder=folder)
        assert wrong.code == 2
        assert "entered already" in wrong.err

    def test_a_cut_keeps_its_number_when_an_earlier_one_is_taken_back(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        folder, _ = planned
        bobplan("done", "1", folder=folder)
        bobplan("done", "2", folder=folder)
        bobplan("undo", "--cut", "1", folder=folder)
        assert [made.number for made in load_job(folder / "job.toml").cuts_made] == [2]
        assert "cut 2" in bobplan("history", folder=folder).out
        assert bobplan("undo", "--cut", "1", folder=folder).code == 2
        assert bobplan("undo", "--cut", "2", folder=folder).code == 0


class TestWhatIfs:
    def test_they_have_letters_and_done_takes_them_by_it(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        folder, plan = planned
        before = (folder / "job.toml").read_bytes()
        shown = bobplan("plan", "--drill", "12", "--json", folder=folder).json
        assert [step["label"] for step in shown["steps"]][:2] == ["a1", "a2"]
        assert (folder / "job.toml").read_bytes() == before
        # the same question has the same letter, another one another
        assert bobplan("plan", "--drill", "12", "--json", folder=folder).json["letter"] == "a"
        assert bobplan("plan", "--drill", "14", "--json", folder=folder).json["letter"] == "b"
        text = bobplan("plan", "--drill", "12", folder=folder).out
        assert "a1" in text
        assert "`bobplan done a1` takes it" in text
        ran = bobplan("done", "a1", "--json", folder=folder)
        entered = _file(folder)["cuts_made"][0]
        assert entered["angle"] == pytest.approx(shown["steps"][0]["angle_deg"], abs=1e-5)
        assert entered["diameter"] == 12
        assert entered["step"] not in [step["number"] for step in plan["steps"]]
        assert "(a1)" in ran.json["entered"][0]
        # the rest of that plan is the job's plan now
        rest = [(s["counterweight"], s["dial_deg"], s["stop_mm"]) for s in ran.json["steps"]]
        assert rest == [(s["counterweight"], s["dial_deg"], s["stop_mm"]) for s in shown["steps"][1:]]

    def test_done_1_is_the_stored_plans(self, bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
        """Today's trap: a what-if shows another counterweight, `done 1` enters the stored plan's hole."""
        folder, plan = planned
        shown = bobplan("plan", "--drill", "12", folder=folder)
        assert "\n1  " not in shown.out
        ran = bobplan("done", "1", folder=folder)
        assert f"entered: cut 1, rim hole on {plan['steps'][0]['counterweight']}" in ran.out

    def test_a_letter_of_an_older_question_is_refused(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        folder, _ = planned
        bobplan("plan", "--drill", "12", folder=folder)
        bobplan("done", "2", folder=folder)
        ran = bobplan("done", "a1", folder=folder)
        assert ran.code == 2
        assert "is not for what the job says now" in ran.err
        assert bobplan("done", "c1", folder=folder).code == 2
        assert bobplan("done", "a1", "2", folder=folder).code == 2


class TestKeptPlans:
    def test_an_empty_plan_is_not_kept_against_a_newer_search(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        """Was: `no plan` for ever, until [plan] was deleted by hand."""
        folder, _ = planned
        bobplan("done", "1", folder=folder)
        none = bobplan("plan", "--forbid", "D,E,F", "--store", "--json", folder=folder).json
        assert none["steps"] == []
        again = bobplan("plan", "--json", folder=folder).json
        assert [step["number"] for step in again["steps"]] == [2]
        assert again["feasible"]

    def test_a_wish_lasts_until_a_plan_by_the_files_is_asked_for(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        folder, _ = planned
        bobplan("done", "2", folder=folder)
        wished = bobplan("plan", "--drill", "12", "--store", "--json", folder=folder).json
        assert _file(folder)["plan"]["wish"][0].startswith("drills: 12")
        # the sheet and the next entry go by it
        odds = bobplan("odds", "--draws", "1000", "--json", folder=folder)
        assert odds.code in (0, 1), odds.err
        plain = bobplan("plan", "--json", folder=folder).json
        assert plain["steps"] != wished["steps"]
        assert any("made with a wish" in note for note in plain["notes"])


class TestUndo:
    def test_undoing_a_cut_brings_its_plan_back(self, bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
        folder, plan = planned
        bobplan("done", "1", "--depth", f"{plan['steps'][0]['stop_mm'] - 2.0:g}", folder=folder)
        assert [s["number"] for s in _file(folder)["plan"]["steps"]] != [1, 2]
        ran = bobplan("undo", folder=folder)
        assert "left to cut: step 1, 2" in ran.out
        assert bobplan("plan", "--json", folder=folder).json["steps"] == plan["steps"]

    def test_a_spin_is_asked_for_and_can_be_put_back(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        folder, _ = planned
        bobplan("done", "1", "2", folder=folder)
        bobplan("spin", "1500", "205", "1320", "12", folder=folder)
        before = load_job(folder / "job.toml")
        asked = bobplan("undo", folder=folder)
        assert asked.code == 1
        assert "the newest entry is spin 2, left 1500 g*mm at 205°, right 1320 g*mm at 12°" in asked.err
        assert load_job(folder / "job.toml") == before
        assert bobplan("undo", "--yes", folder=folder).code == 0
        assert len(load_job(folder / "job.toml").spins) == 1
        back = bobplan("undo", "--redo", folder=folder)
        assert back.code == 0, back.err
        assert "Put back: spin 2" in back.out
        after = load_job(folder / "job.toml")
        assert (after.spins, after.cuts_made, after.undone) == (before.spins, before.cuts_made, ())
        assert after.stored_plan == before.stored_plan
        assert bobplan("undo", "--redo", folder=folder).code == 2

    def test_redo_of_a_cut_in_the_middle(self, bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
        folder, _ = planned
        bobplan("done", "1", folder=folder)
        bobplan("done", "2", folder=folder)
        before = load_job(folder / "job.toml")
        bobplan("undo", "--cut", "1", folder=folder)
        assert bobplan("undo", "--redo", folder=folder).code == 0
        after = load_job(folder / "job.toml")
        assert (after.cuts_made, after.undone) == (before.cuts_made, ())

    def test_redo_is_refused_once_something_else_stands_there(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        folder, _ = planned
        bobplan("spin", "1500", "205", "1320", "12", folder=folder)
        bobplan("undo", "--yes", folder=folder)
        bobplan("spin", "1510", "205", "1320", "12", folder=folder)
        ran = bobplan("undo", "--redo", folder=folder)
        assert ran.code == 2
        assert "spin 2 can't be put back" in ran.err
        assert bobplan("undo", "--redo", "--cut", "1", folder=folder).code == 2


class TestSettingsMended:
    """The zero was typed 2 degrees off; the holes were dialled, and are, where the dial says."""

    def mend(self, folder: Path, zero: str = "2") -> None:
        _set(folder, 'angle_zero = "throw 1"', f"angle_zero = {zero}")

    def test_nothing_is_planned_before_it_is_said_where_the_holes_are(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        folder, _ = planned
        bobplan("done", "1", folder=folder)
        self.mend(folder)
        before = (folder / "job.toml").read_bytes()
        for command in (("plan",), ("odds",), ("sheet",), ("check",)):
            ran = bobplan(*command, folder=folder)
            assert ran.code == 1, ran.out
            assert "[machine] has changed since a cut was made" in ran.err
            assert "the zero was at 0 and is at 2 degrees" in ran.err
        assert (folder / "job.toml").read_bytes() == before
        assert "must be said first" in bobplan(folder=folder).out
        # a spin is taken, and nothing is blamed before that is said
        spun = bobplan("spin", "100", "205", "120", "12", folder=folder)
        assert spun.code == 1
        assert "[machine] has changed" in spun.err
        assert "settings" not in spun.out
        assert len(_file(folder)["spins"]) == 2
        assert "speaks against" not in bobplan(folder=folder).out
        assert "[machine] has changed" in bobplan("history", folder=folder).out

    @pytest.mark.parametrize("story", ["dialled", "stay"])
    def test_either_story(self, bobplan: Bobplan, planned: tuple[Path, Any], story: str) -> None:
        folder, _ = planned
        bobplan("done", "1", folder=folder)
        old = load_job(folder / "job.toml").cuts_made[0]
        self.mend(folder)
        ran = bobplan("plan", "--made-cuts", story, folder=folder)
        assert ran.code in (0, 1), ran.err
        new = load_job(folder / "job.toml").cuts_made[0]
        assert new.dial_deg == old.dial_deg
        moved = (new.cut.angle_deg - old.cut.angle_deg) % 360.0
        assert moved == pytest.approx(2.0 if story == "dialled" else 0.0, abs=1e-6)
        # said once, it is not asked again
        assert "where the holes are" not in bobplan("plan", folder=folder).err
        told = bobplan("history", folder=folder).out
        assert ("dialled as" in told) == (story == "stay")
        # a second change is another question
        _set(folder, "angle_zero = 2", "angle_zero = 4")
        assert "has changed since" in bobplan("plan", folder=folder).err
        assert bobplan("plan", "--made-cuts", "perhaps", folder=folder).code == 2

    def test_cut_by_cut(self, bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
        """One hole was drilled before the zero was mended, the other after the machine was changed: each has its own story."""
        folder, _ = planned
        bobplan("done", "1", "2", folder=folder)
        old = load_job(folder / "job.toml").cuts_made
        self.mend(folder)
        before = (folder / "job.toml").read_bytes()
        for wrong in ("1=perhaps", "7=stay", "1=stay,1=dialled", "stay,2=dialled", "1=stay,", "=stay", ""):
            ran = bobplan("plan", "--made-cuts", wrong, folder=folder)
            assert ran.code == 2, wrong
            assert "--made-cuts" in ran.err
        assert (folder / "job.toml").read_bytes() == before
        # what is not named stays open
        ran = bobplan("plan", "--made-cuts", "2=stay", folder=folder)
        assert ran.code == 1
        assert "cut 1, rim hole on A, dialled" in ran.err
        assert "cut 2, rim hole on F, dialled" not in ran.err
        assert bobplan("plan", "--made-cuts", "1=dialled", folder=folder).code in (0, 1)
        new = load_job(folder / "job.toml").cuts_made
        moved = [(new[k].cut.angle_deg - old[k].cut.angle_deg) % 360.0 for k in (0, 1)]
        assert moved == pytest.approx([2.0, 0.0], abs=1e-6)

    def test_cuts_of_older_files_stay_where_their_angle_says(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        folder, _ = planned
        bobplan("done", "1", folder=folder)
        path = folder / "job.toml"
        lines = path.read_text(encoding="utf-8").splitlines()
        path.write_text(
            "\n".join(each for each in lines if not each.startswith("dialled")) + "\n", encoding="utf-8"
        )
        self.mend(folder)
        ran = bobplan("plan", "--json", folder=folder)
        assert ran.code in (0, 1), ran.err
        assert any("entered without what was dialled" in note for note in ran.json["notes"])

    def test_the_story_makes_the_difference_to_what_is_foretold(
        self, bobplan: Bobplan, planned: tuple[Path, Any]
    ) -> None:
        """A hole is where the drill was: of a machine whose zero was wrong all along, only the dial tells the truth."""
        folder, _ = planned
        bobplan("done", "1", folder=folder)
        self.mend(folder)
        shifts = {}
        text = (folder / "job.toml").read_text(encoding="utf-8")
        for story in ("dialled", "stay"):
            (folder / "job.toml").write_text(text, encoding="utf-8")
            shifts[story] = bobplan("plan", "--made-cuts", story, "--json", folder=folder).json["made_shift"][
                0
            ]
        assert shifts["dialled"]["amount_gmm"] == pytest.approx(shifts["stay"]["amount_gmm"], rel=1e-9)
        turned = (shifts["dialled"]["angle_deg"] - shifts["stay"]["angle_deg"]) % 360.0
        assert turned == pytest.approx(2.0, abs=1e-6)


def test_cut_as_planned_and_the_spin_are_one_write(
    bobplan: Bobplan, planned: tuple[Path, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever stops it: both are in the file or neither."""
    import os

    folder, _ = planned
    real, calls = os.replace, []

    def counting(source: Any, target: Any) -> None:
        if str(target).endswith("job.toml"):
            calls.append(tomllib.loads(Path(source).read_text(encoding="utf-8")))
        real(source, target)

    monkeypatch.setattr(os, "replace", counting)
    bobplan("spin", "100", "205", "120", "12", "--cut-as-planned", folder=folder)
    assert len(calls[0]["cuts_made"]) == 2
    assert len(calls[0]["spins"]) == 2


def test_a_first_pass_is_followed_in_the_same_hole(bobplan: Bobplan, planned: tuple[Path, Any]) -> None:
    """Drilled to a first depth: the rest is the same hole, deeper; the other cut keeps its number and its sizes."""
    folder, plan = planned
    first, second = plan["steps"]
    after = bobplan("done", "1", "--depth", f"{first['stop_mm'] - 12.5:g}", "--json", folder=folder).json
    deeper = next(step for step in after["steps"] if step["deepens"] == "hole 1")
    assert deeper["number"] == 3
    assert deeper["stop_mm"] == first["stop_mm"]
    assert deeper["from_stop_mm"] == pytest.approx(first["stop_mm"] - 12.5)
    assert deeper["dial_deg"] == pytest.approx(first["dial_deg"])
    assert next(step for step in after["steps"] if step["number"] == 2) == second
    shown = bobplan("plan", folder=folder).out
    assert "3  hole 1 on A, deeper" in shown
    assert f"{first['stop_mm']:.1f} mm to the shoulder, 12.5 mm deeper" in shown
    bobplan("done", "3", folder=folder)
    left = bobplan("done", "2", "--json", folder=folder).json
    for now, then in zip(left["foretold"], plan["foretold"], strict=True):
        assert now["amount"] == pytest.approx(then["amount"], abs=0.01)
