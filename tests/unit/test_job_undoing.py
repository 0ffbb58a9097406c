"""Taking back an entry: moved, never lost.  Faults at every step of the write."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from entering import add_made_cut, add_spin

from planner.cuts.cut import Cut
from planner.errors import InputError
from planner.frames import SideReading
from planner.jobfile import undo, write
from planner.jobfile.job import MadeCut, StoredPlan, StoredStep
from planner.jobfile.lock import NotWrittenError
from planner.jobfile.nothing_lost import check_moved, comments, headers
from planner.jobfile.read import load_job
from planner.jobfile.undo import newest_entry, take_back
from planner.jobfile.write import store_plan
from planner.machine.spin import KnownMass, Spin
from planner.present.pages.history import history_document
from planner.present.to_text import to_text
from planner.steps.history import history_of

WHOLE = (Path(__file__).parent / "data" / "whole_job.toml").read_text(encoding="utf-8")
HEAD = WHOLE[: WHOLE.index("[[spins]]")]
BOBS = dict.fromkeys("1234", 1729.0)
RIM = Cut(kind="rim hole", counterweight="A", angle_deg=131.0, diameter_mm=14.0, depth_shoulder_mm=22.5)


def spin(amount: float, **more: Any) -> Spin:
    side = SideReading(amount=amount, angle_deg=1.0)
    return Spin(left=side, right=side, bobs_g=BOBS, **more)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Spin 1, cut, spin 2, its repeat, cut, check spin; with comments everywhere."""
    path = tmp_path / "job.toml"
    path.write_text(
        HEAD
        + """# before the first
[[spins]]   # first
bobs = 1729   # weighed
left = { amount = 1, angle = 1 }
right = { amount = 1, angle = 1 }   # last line of one
# belongs to one

# heads two
[[spins]]
bobs = 1729
left = { amount = 2, angle = 1 }   # of two
right = { amount = 2, angle = 1 }

# heads three
[[spins]]
bobs = 1729
left = { amount = 3, angle = 1 }
right = { amount = 3, angle = 1 }
repeat = true   # of three

[[cuts_made]]   # cut one
after_spin = 1
counterweight = "A"
cut = "rim hole"
angle = 131
diameter = 14
depth = 22.5   # as read

[[cuts_made]]
after_spin = 3   # after the repeat
counterweight = "A"
cut = "rim hole"
angle = 150
diameter = 14
depth = 10

# the end
""",
        encoding="utf-8",
    )
    load_job(path)
    return path


def amounts(path: Path) -> list[float]:
    return [each.left.amount for each in load_job(path).spins]


class TestWhatIsTakenBack:
    def test_a_spin_with_its_comments(self, job: Path) -> None:
        before = list(comments(job.read_text(encoding="utf-8")))
        take_back(job, "spin", 2, note="wrong column")
        after = load_job(job)
        assert amounts(job) == [1.0, 3.0]
        assert after.undone[0].what == "spin"
        assert after.undone[0].number == 2
        assert after.undone[0].note == "wrong column"
        assert after.undone[0].values["left"] == {"amount": 2, "angle": 1}
        text = job.read_text(encoding="utf-8")
        assert sorted(comments(text)) == sorted(before)
        assert text.endswith(
            '# the end\n\n[[undone]]\nwhat = "spin"\nnumber = 2\nof = 3\nrepeated = true\nnote = "wrong column"\nbobs = 1729\n'
            "left = { amount = 2, angle = 1 }   # of two\nright = { amount = 2, angle = 1 }\n"
        )
        # what headed it stays where it was
        assert "# belongs to one\n\n# heads two\n\n# heads three\n[[spins]]\n" in text

    def test_numbers_of_later_spins_follow(self, job: Path) -> None:
        store_plan(job, StoredPlan(after_spin=3, steps=(StoredStep(number=1, cut=RIM),), basis="x"))
        take_back(job, "spin", 2)
        after = load_job(job)
        # the repeat of the spin that is gone begins the state now, the cuts and the plan follow
        assert [each.repeat for each in after.spins] == [False, False]
        assert [made.after_spin for made in after.cuts_made] == [1, 2]
        assert after.stored_plan is not None
        assert after.stored_plan.after_spin == 2
        assert len(after.stored_plan.steps) == 1
        assert "after_spin = 2   # after the repeat" in job.read_text(encoding="utf-8")

    def test_cuts_after_a_spin_taken_back_come_after_the_one_before(self, job: Path) -> None:
        take_back(job, "spin", 3)
        assert [made.after_spin for made in load_job(job).cuts_made] == [1, 2]

    def test_the_plan_of_a_spin_goes_with_it(self, job: Path) -> None:
        store_plan(job, StoredPlan(after_spin=3, steps=(StoredStep(number=1, cut=RIM),), basis="x"))
        take_back(job, "spin", 3)
        assert load_job(job).stored_plan == StoredPlan(after_spin=2, steps=())

    def test_the_only_spin(self, tmp_path: Path) -> None:
        path = tmp_path / "job.toml"
        path.write_text(HEAD, encoding="utf-8")
        plan = StoredPlan(after_spin=1, steps=(StoredStep(number=1, cut=RIM),))
        add_spin(path, spin(7.0), plan=plan)
        take_back(path, "spin", 1)
        after = load_job(path)
        assert (after.spins, after.stored_plan) == ((), None)
        assert after.undone[0].values["left"] == {"amount": 7, "angle": 1}
        # and the job goes on
        assert add_spin(path, spin(8.0)) == 1
        assert amounts(path) == [8.0]
        assert len(load_job(path).undone) == 1

    def test_a_cut(self, job: Path) -> None:
        take_back(job, "cut", 1)
        after = load_job(job)
        assert [made.cut.angle_deg for made in after.cuts_made] == [150.0]
        assert after.undone[0].values["depth"] == 22.5
        assert '[[undone]]   # cut one\nwhat = "cut"\nnumber = 1\n' in job.read_text(encoding="utf-8")

    def test_traces_pile_up_in_order(self, job: Path) -> None:
        take_back(job, "cut", 2)
        take_back(job, "spin", 3)
        take_back(job, "cut", 1)
        assert [(each.what, each.number) for each in load_job(job).undone] == [
            ("cut", 2),
            ("spin", 3),
            ("cut", 1),
        ]
        assert "cuts_made" not in tomllib.loads(job.read_text(encoding="utf-8"))

    def test_a_plan_that_started_from_the_cut_is_dropped(self, job: Path) -> None:
        steps = (StoredStep(number=3, cut=RIM),)
        store_plan(job, StoredPlan(after_spin=3, steps=steps, basis="x", after_cuts=1))
        take_back(job, "cut", 2)
        plan = load_job(job).stored_plan
        assert plan is not None
        assert plan.steps == ()

    def test_a_plan_whose_step_it_was_stays(self, job: Path) -> None:
        steps = (StoredStep(number=3, cut=RIM),)
        plan = StoredPlan(after_spin=3, steps=steps, basis="x", after_cuts=0)
        store_plan(job, plan)
        take_back(job, "cut", 2)
        assert load_job(job).stored_plan == plan

    def test_line_ends_are_kept(self, job: Path) -> None:
        job.write_bytes(job.read_bytes().replace(b"\n", b"\r\n"))
        take_back(job, "spin", 2)
        new = job.read_bytes()
        assert new.count(b"\n") == new.count(b"\r\n")
        assert amounts(job) == [1.0, 3.0]

    def test_sub_tables_go_along(self, tmp_path: Path) -> None:
        path = tmp_path / "job.toml"
        path.write_text(
            HEAD + "[[spins]]\nbobs = 0\n[spins.left]  # the left\namount = 1\nangle = 2\n"
            "[spins.right]\namount = 1\nangle = 2\n\n# ---- more ----\n[match]\ntolerance = 0.4\n",
            encoding="utf-8",
        )
        take_back(path, "spin", 1)
        text = path.read_text(encoding="utf-8")
        assert load_job(path).undone[0].values["right"] == {"amount": 1, "angle": 2}
        assert "[undone.left]  # the left\n" in text
        assert "# ---- more ----\n[match]\n" in text

    def test_one_list(self, tmp_path: Path) -> None:
        path = tmp_path / "job.toml"
        one = "{ bobs = 0, left = { amount = 1, angle = 2 }, right = { amount = 1, angle = 2 } }"
        path.write_text(
            HEAD.replace("format = 1", f"format = 1\nspins = [{one}, {one}] # mine"), encoding="utf-8"
        )
        take_back(path, "spin", 2)
        after = load_job(path)
        assert len(after.spins) == 1
        assert after.undone[0].values["bobs"] == 0
        assert "# mine" in path.read_text(encoding="utf-8")

    def test_one_list_with_a_truth_value_in_it(self, tmp_path: Path) -> None:
        path = tmp_path / "job.toml"
        one = "{ bobs = 0, left = { amount = 1, angle = 2 }, right = { amount = 1, angle = 2 } }"
        odd = one.replace(" }, right", " }, as_read = true, spot_seen = false, right")
        path.write_text(HEAD.replace("format = 1", f"format = 1\nspins = [{one}, {odd}]"), encoding="utf-8")
        take_back(path, "spin", 2)
        after = load_job(path)
        assert len(after.spins) == 1
        assert after.undone[0].values["as_read"] is True
        assert after.undone[0].values["spot_seen"] is False


class TestWhichIsTheNewest:
    def test_a_cut_after_the_newest_spin(self, job: Path) -> None:
        assert newest_entry(load_job(job)) == ("cut", 2)
        take_back(job, "cut", 2)
        assert newest_entry(load_job(job)) == ("spin", 3)

    def test_a_check_spin_after_a_cut_can_not_be_told(self, job: Path) -> None:
        known = KnownMass(mass_g=1.0, radius_mm=80.0, machine_angle_deg=1.0, z_mm=50.0)
        add_spin(job, spin(9.0, known_mass=known))
        with pytest.raises(InputError, match="which of them came last is not recorded") as caught:
            newest_entry(load_job(job))
        assert "--spin 4" in (caught.value.hint or "")

    def test_nothing(self, tmp_path: Path) -> None:
        path = tmp_path / "job.toml"
        path.write_text(HEAD, encoding="utf-8")
        with pytest.raises(InputError, match="nothing to take back"):
            newest_entry(load_job(path))


class TestRefusals:
    def test_no_such_entry(self, job: Path) -> None:
        before = job.read_bytes()
        with pytest.raises(InputError, match="there is no cut 3 to take back; there are 2"):
            take_back(job, "cut", 3)
        with pytest.raises(InputError, match="there is no spin 0 to take back; there are 3"):
            take_back(job, "spin", 0)
        assert job.read_bytes() == before

    def test_cuts_hang_on_the_first_spin(self, job: Path) -> None:
        with pytest.raises(InputError, match="spin 1 can't be taken back while cuts made after it") as caught:
            take_back(job, "spin", 1)
        assert "--cut 1" in (caught.value.hint or "")

    @pytest.mark.parametrize(
        ("new", "says"),
        [
            ("a = 2\n[[undone]]\nx = 1\n", "section `a` would change"),
            ("a = 1\n[[spins]]\nx = 3\n[[undone]]\nx = 1\n", "another entry of `spins` would change"),
            ("a = 1\n[[spins]]\nx = 2\n", "trace of what is taken back would not be complete"),
            (
                "a = 1\n[[spins]]\nx = 2\n[[undone]]\ny = 1\n",
                "trace of what is taken back would not be complete",
            ),
            ("a = 1\n[[spins]]\nx = 2\n[[undone]]\nx = 1\n", "the comment `# mine` would be lost"),
        ],
    )
    def test_a_change_that_loses_something(self, new: str, says: str) -> None:
        old = "a = 1\n[[spins]]\nx = 1 # mine\n[[spins]]\nx = 2\n"
        with pytest.raises(InputError, match=says):
            check_moved(old, new, section="spins", index=0, name="job.toml")

    def test_a_form_that_is_neither(self) -> None:
        with pytest.raises(InputError, match="in a form that can't be changed safely"):
            undo._moved("spins = 1\n", "spins", 0, "")

    def test_a_face_hole_that_was_filled(self, job: Path) -> None:
        """Without its hole a slug's whole weight would count where only the air that it fills was."""
        hole = Cut(
            kind="face hole",
            counterweight="A",
            angle_deg=140.0,
            diameter_mm=14.0,
            radius_mm=60.0,
            through=True,
        )
        fill = replace(hole, kind="fill")
        add_made_cut(job, MadeCut(after_spin=3, cut=hole, number=7))
        add_made_cut(job, MadeCut(after_spin=3, cut=fill, number=8))
        before = job.read_bytes()
        with pytest.raises(InputError, match="while cut 8, which filled it, stands"):
            take_back(job, "cut", 7)
        assert job.read_bytes() == before
        take_back(job, "cut", 8)
        take_back(job, "cut", 7)


class TestCrashes:
    """Whatever stops the writing, and wherever: the old file stands, nothing lies about, the lock is free."""

    @pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyboardInterrupt()])
    @pytest.mark.parametrize(
        ("owner", "name"),
        [
            (tempfile, "mkstemp"),
            (os, "fdopen"),
            (os, "fsync"),
            (os, "chmod"),
            (os, "replace"),
            (write, "load_job"),
            (undo, "load_known"),
            (undo, "check_moved"),
        ],
    )
    def test_at_every_step(
        self, job: Path, monkeypatch: pytest.MonkeyPatch, owner: Any, name: str, error: BaseException
    ) -> None:
        before = job.read_bytes()

        def stop(*_: object, **__: object) -> None:
            raise error

        with monkeypatch.context() as patch:
            patch.setattr(owner, name, stop)
            with pytest.raises((OSError, KeyboardInterrupt)):
                take_back(job, "spin", 2)
        assert job.read_bytes() == before
        assert [path.name for path in job.parent.iterdir()] == ["job.toml"]
        take_back(job, "spin", 2)
        assert amounts(job) == [1.0, 3.0]

    def test_killed_in_the_middle(self, job: Path) -> None:
        before = job.read_bytes()
        code = (
            "import os, sys; from pathlib import Path; from planner.jobfile.undo import take_back\n"
            "os.replace = lambda *a: os._exit(9)\n"
            "take_back(Path(sys.argv[1]), 'spin', 2)"
        )
        assert subprocess.run([sys.executable, "-c", code, str(job)], check=False).returncode == 9
        assert job.read_bytes() == before
        take_back(job, "spin", 2)
        assert amounts(job) == [1.0, 3.0]

    def test_what_a_killed_writer_left_is_swept_up(self, job: Path) -> None:
        left = job.with_name(".job.toml.abc123.new")
        other = job.with_name(".other.toml.abc123.new")
        left.write_text("half", encoding="utf-8")
        other.write_text("half", encoding="utf-8")
        take_back(job, "spin", 2)
        assert not left.exists()
        assert other.exists()

    def test_changed_by_another_program_meanwhile(self, job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        def check(old_text: str, new_text: str, **_: object) -> None:
            job.write_text(old_text + "# typed just now\n", encoding="utf-8")

        monkeypatch.setattr(undo, "check_moved", check)
        with pytest.raises(NotWrittenError, match="changed by another program"):
            take_back(job, "spin", 2)
        assert job.read_text(encoding="utf-8").endswith("# typed just now\n")


def test_headers_in_strings_are_none() -> None:
    text = 'a = """\n[[spins]]\n"""\n[[spins]] # [x]\nb = [\n  [1],\n]\n[ "plan" ]\n'
    assert [name for _, name in headers(text)] == ["spins", '"plan"']


def test_a_made_cut_survives_the_round_trip(job: Path) -> None:
    made = MadeCut(after_spin=3, cut=replace(RIM, angle_deg=99.0), step=4)
    add_made_cut(job, made)
    take_back(job, "cut", 4)  # its own number, not its place
    assert load_job(job).undone[-1].values["angle"] == 99
    assert load_job(job).undone[-1].values["step"] == 4


def test_a_cut_to_the_plan_of_trial_runs_is_the_newest_entry(tmp_path: Path) -> None:
    """Before any spin: made after spin 0, the trial runs."""
    path = tmp_path / "job.toml"
    text = HEAD if "[[trials]]" in HEAD else HEAD + WHOLE[WHOLE.index("[[trials]]") :].split("\n\n")[0] + "\n"
    path.write_text(text, encoding="utf-8")
    add_made_cut(path, MadeCut(after_spin=0, cut=RIM))
    assert newest_entry(load_job(path)) == ("cut", 1)
    told = history_of(load_job(path))
    assert (told.entries, [each.number for each in told.cuts_before]) == ((), [1])
    assert "Before the first spin, to the plan from the trial runs:\n  cut 1: rim hole on A" in to_text(
        history_document(told)
    )
    take_back(path, "cut", 1)
    assert load_job(path).cuts_made == ()
