"""Writing into a job file: in one step or not at all, everything that a person typed kept."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from entering import add_made_cut, add_spin
from tomlkit import TOMLDocument

from planner.cuts.cut import Cut
from planner.errors import InputError
from planner.frames import SideReading
from planner.jobfile import lock as locking
from planner.jobfile import write
from planner.jobfile.job import MadeCut, StoredPlan, StoredStep
from planner.jobfile.lock import NotWrittenError, lock_path, locked
from planner.jobfile.nothing_lost import check_kept, comments
from planner.jobfile.read import load_job
from planner.jobfile.sources import SyntaxFaultError
from planner.jobfile.toml_document import append_table
from planner.jobfile.write import store_plan, update_job
from planner.machine.spin import KnownMass, Spin

WHOLE = (Path(__file__).parent / "data" / "whole_job.toml").read_text(encoding="utf-8")
SPIN = Spin(
    left=SideReading(amount=420.5, angle_deg=205.25),
    right=SideReading(amount=0.1 + 0.2, angle_deg=12.0),
    bobs_g={"1": 1729.0, "2": 1729.0, "3": 1729.0, "4": 1729.0},
    mounted=("flywheel",),
    speed_rpm=500.0,
)
RIM = Cut(kind="rim hole", counterweight="A", angle_deg=131.0, diameter_mm=14.0, depth_shoulder_mm=22.5)
SLUG = Cut(kind="slug", counterweight="A", angle_deg=180.3, diameter_mm=19.05, radius_mm=70.0, through=True)
FACE = Cut(
    kind="face hole",
    counterweight="A",
    angle_deg=190.0,
    diameter_mm=10.0,
    radius_mm=60.0,
    depth_shoulder_mm=12.0,
    face="rear",
)
PLAN = StoredPlan(
    after_spin=1,
    steps=(
        StoredStep(number=1, cut=RIM),
        StoredStep(number=2, cut=SLUG, pinned=True),
        StoredStep(number=4, cut=FACE),
    ),
    basis="abc",
    after_cuts=1,
)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(WHOLE, encoding="utf-8")
    return path


def is_kept_in_order(old: str, new: str) -> bool:
    """Return whether every line of the old text is in the new one, in the same order."""
    lines = iter(new.splitlines())
    return all(line in lines for line in old.splitlines())


class TestWhatIsWritten:
    def test_a_spin(self, job: Path) -> None:
        assert add_spin(job, SPIN) == 2
        assert is_kept_in_order(WHOLE, job.read_text(encoding="utf-8"))
        written = load_job(job).spins[1]
        assert written == replace(SPIN, right=SideReading(amount=0.3, angle_deg=12.0))
        # comments between the last spin and the plan stay where they are
        assert (
            '\n[[spins]]\nspeed_rpm = 500\nbobs = 1729\nmounted = ["flywheel"]\n'
            "left = { amount = 420.5, angle = 205.25 }\nright = { amount = 0.3, angle = 12 }\n\n[plan] "
        ) in job.read_text(encoding="utf-8")

    def test_a_check_spin_and_a_repeat(self, job: Path) -> None:
        known = KnownMass(mass_g=10.0, radius_mm=85.0, machine_angle_deg=60.0, z_mm=52.0)
        bobs = {"1": 1729.0, "2": 1729.5, "3": 0.0, "4": 1000.0}
        spin = replace(SPIN, known_mass=known, repeat=True, bobs_g=bobs, mounted=(), speed_rpm=None)
        add_spin(job, spin)
        written = load_job(job).spins[1]
        assert (written.known_mass, written.repeat, written.bobs_g) == (known, True, bobs)

    def test_a_plan(self, job: Path) -> None:
        assert store_plan(job, PLAN)
        assert load_job(job).stored_plan == PLAN
        text = job.read_text(encoding="utf-8")
        assert (
            "[plan]                          # written by `spin`, `plan`, `sheet`: the plan as it was shown"
            in text
        )

    def test_a_plan_shown_again_changes_nothing(self, job: Path) -> None:
        store_plan(job, PLAN)
        before, stamp = job.read_bytes(), job.stat().st_mtime_ns
        assert not store_plan(job, PLAN)
        assert (job.read_bytes(), job.stat().st_mtime_ns) == (before, stamp)

    def test_a_shorter_plan_replaces_a_longer_one(self, job: Path) -> None:
        store_plan(job, PLAN)
        assert store_plan(job, StoredPlan(after_spin=1, steps=()))
        assert load_job(job).stored_plan == StoredPlan(after_spin=1, steps=())

    def test_a_cut_made_with_the_plan_for_the_rest(self, job: Path) -> None:
        made = MadeCut(after_spin=1, cut=FACE)
        add_made_cut(job, made, plan=PLAN)
        after = load_job(job)
        # a cut of no plan gets a number above all that were printed
        number = after.cuts_made[1].number
        assert number not in {after.cuts_made[0].number, *(step.number for step in PLAN.steps)}
        assert after.cuts_made[1] == replace(made, number=number)
        assert after.stored_plan == PLAN

    def test_a_spin_with_its_plan(self, job: Path) -> None:
        add_spin(job, SPIN, plan=replace(PLAN, after_spin=2))
        assert load_job(job).stored_plan == replace(PLAN, after_spin=2)

    def test_first_ones(self, job: Path) -> None:
        start, end = WHOLE.index("[[spins]]"), WHOLE.index("[match]")
        text = (WHOLE[:start] + WHOLE[end:]).rstrip("\n")
        job.write_text(text, encoding="utf-8")
        assert add_spin(job, SPIN, plan=PLAN) == 1
        add_made_cut(job, MadeCut(after_spin=1, cut=RIM, step=1))
        after = load_job(job)
        assert (len(after.spins), after.stored_plan, len(after.cuts_made)) == (1, PLAN, 1)
        assert job.read_text(encoding="utf-8").startswith(text)

    def test_spins_in_one_list(self, job: Path) -> None:
        start, end = WHOLE.index("[[spins]]"), WHOLE.index("[plan]")
        one = "spins = [{ bobs = 0, left = { amount = 1, angle = 2 }, right = { amount = 1, angle = 2 } }] # mine"
        job.write_text(
            (WHOLE[:start] + WHOLE[end:]).replace("format = 1", f"format = 1\n{one}"), encoding="utf-8"
        )
        assert add_spin(job, SPIN) == 2
        assert len(load_job(job).spins) == 2
        assert "# mine" in job.read_text(encoding="utf-8")

    def test_spins_with_tables_of_their_own(self, job: Path) -> None:
        start, end = WHOLE.index("[[spins]]"), WHOLE.index("[plan]")
        long = (
            "[[spins]]\nbobs = 0\n[spins.left]\namount = 1\nangle = 2\n[spins.right]  # the rear\namount = 1\n"
            "angle = 2\n\n# ---- what was planned ----\n"
        )
        job.write_text(WHOLE[:start] + long + WHOLE[end:], encoding="utf-8")
        old = job.read_text(encoding="utf-8")
        assert add_spin(job, SPIN) == 2
        new = job.read_text(encoding="utf-8")
        assert is_kept_in_order(old, new)
        assert "# ---- what was planned ----\n[plan] " in new

    def test_steps_as_tables_are_replaced(self, job: Path) -> None:
        step = '[[plan.steps]]\nnumber = 1\ncounterweight = "A"\ncut = "rim hole"\nangle = 9\ndiameter = 10\ndepth = 9\n'
        job.write_text(WHOLE.replace("steps = []\n", f"\n{step}"), encoding="utf-8")
        assert store_plan(job, PLAN)
        assert load_job(job).stored_plan == PLAN


class TestUnitsOfTheFile:
    def in_inches(self, job: Path) -> None:
        text = WHOLE.replace('length = "mm"', 'length = "in"').replace(
            'unbalance = "g*mm"', 'unbalance = "oz-in"'
        )
        for key in ("left = 40.0", "right = 480.0", "bearing_2_z = 520.0"):
            text = text.replace(key, f'{key.split(" = ")[0]} = "{key.split(" = ")[1]} mm"')
        start, end = text.index("[shop]"), text.index("[errors]")
        text = text[:start] + '[shop]\ndepth_to = "tip"\n' + text[end:]
        start = text.index("[[cuts_made]]")
        # the sizes are those of the metric job: said to be right, for once
        widened = "[plausible]\nthrow_radius = 44.2\ncounterweight_radius = 88\ncounterweight_thickness = 24\nrod_length = 152\n"
        widened += "places = true\ncentre_of_mass_outside = true\n"
        job.write_text(text[:start].replace("existing = [", "# existing = [") + widened, encoding="utf-8")

    def test_numbers_read_like_typed_ones(self, job: Path) -> None:
        self.in_inches(job)
        ounce_inch = 453.59237 / 16 * 25.4
        add_spin(job, replace(SPIN, left=SideReading(amount=5.85 * ounce_inch, angle_deg=205.0)))
        text = job.read_text(encoding="utf-8")
        assert "left = { amount = 5.85, angle = 205 }" in text
        half = replace(RIM, diameter_mm=12.7, depth_shoulder_mm=25.4 * (1 + 3 / 64) - 12.7 * 0.3004303)
        add_made_cut(job, MadeCut(after_spin=2, cut=half))
        text = job.read_text(encoding="utf-8")
        assert "diameter = 0.5\n" in text
        assert 'depth_to = "tip"' in text

    def test_a_metric_drill_in_an_inch_file_keeps_its_unit(self, job: Path) -> None:
        self.in_inches(job)
        add_made_cut(job, MadeCut(after_spin=1, cut=RIM))
        assert 'diameter = "14 mm"' in job.read_text(encoding="utf-8")
        assert load_job(job).cuts_made[0].cut.diameter_mm == pytest.approx(14.0, abs=1e-9)
        assert load_job(job).cuts_made[0].cut.depth_shoulder_mm == pytest.approx(22.5, abs=1e-6)

    def test_a_depth_keeps_its_meaning_when_the_shop_changes(self, job: Path) -> None:
        add_made_cut(job, MadeCut(after_spin=1, cut=RIM))
        text = job.read_text(encoding="utf-8")
        job.write_text(text.replace('depth_to = "shoulder"           ', 'depth_to = "tip"'), encoding="utf-8")
        assert load_job(job).cuts_made[1].cut.depth_shoulder_mm == 22.5

    def test_masses(self, job: Path) -> None:
        text = WHOLE.replace('amounts = "unbalance"', 'amounts = "mass"').replace('mass = "g"', 'mass = "oz"')
        text = text.replace("left = 40.0", "left = 40.0\nleft_radius = 80\nright_radius = 80")
        job.write_text(text, encoding="utf-8")
        add_spin(job, replace(SPIN, left=SideReading(amount=453.59237 / 16 * 0.25, angle_deg=1.0)))
        assert "left = { amount = 0.25, angle = 1 }" in job.read_text(encoding="utf-8")


class TestTheFileItself:
    def test_line_ends_and_mark_are_kept(self, job: Path) -> None:
        job.write_bytes(b"\xef\xbb\xbf" + WHOLE.replace("\n", "\r\n").encode())
        add_spin(job, SPIN, plan=PLAN)
        new = job.read_bytes()
        assert new.startswith(b"\xef\xbb\xbf")
        assert new.count(b"\n") == new.count(b"\r\n")

    @pytest.mark.skipif(os.name == "nt", reason="modes are POSIX's")
    def test_mode_is_kept(self, job: Path) -> None:
        job.chmod(0o640)
        add_spin(job, SPIN)
        assert job.stat().st_mode & 0o777 == 0o640

    @pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root gives files away")
    def test_owner_is_kept(self, job: Path) -> None:
        os.chown(job, 12345, 12345)
        add_spin(job, SPIN)
        assert (job.stat().st_uid, job.stat().st_gid) == (12345, 12345)

    def test_a_link_stays_a_link(self, job: Path, tmp_path: Path) -> None:
        (tmp_path / "elsewhere").mkdir()
        link = tmp_path / "elsewhere" / "link.toml"
        link.symlink_to(job)
        add_spin(link, SPIN)
        assert link.is_symlink()
        assert len(load_job(job).spins) == 2

    def test_nothing_is_left_beside_it(self, job: Path) -> None:
        add_spin(job, SPIN)
        assert [path.name for path in job.parent.iterdir()] == ["job.toml"]

    def test_a_change_that_changes_nothing_writes_nothing(self, job: Path) -> None:
        stamp = job.stat().st_mtime_ns
        assert not update_job(job, lambda document: None)
        assert job.stat().st_mtime_ns == stamp

    def test_a_free_change(self, job: Path) -> None:
        def change(document: TOMLDocument) -> None:
            document["job"]["operator"] = "invented"

        assert update_job(job, change, sections=["job"])
        assert load_job(job).details.operator == "invented"
        assert job.read_text(encoding="utf-8") == WHOLE.replace('operator = ""', 'operator = "invented"')


def set_date(document: TOMLDocument) -> None:
    document["job"]["date"] = "today"


def drop_spins(document: TOMLDocument) -> None:
    del document["spins"]


def drop_comment(document: TOMLDocument) -> None:
    document["machine"]["amounts"].trivia.comment = ""


class TestRefusals:
    @pytest.mark.parametrize(
        ("change", "sections", "says"),
        [
            (set_date, None, r'(?s)the new text of `job\.toml` would not load: .*job\.date: given `"today"`'),
            (set_date, ["spins"], "section `job` would change"),
            (drop_spins, ["spins"], "an entry of `spins` would be lost"),
            (drop_comment, None, "the comment `# unbalance . mass .* would be lost"),
        ],
    )
    def test_what_must_not_be(
        self, job: Path, change: Callable[[TOMLDocument], None], sections: list[str] | None, says: str
    ) -> None:
        with pytest.raises(InputError, match=says) as caught:
            update_job(job, change, sections=sections)
        assert "nothing was changed" in (caught.value.hint or "")
        assert job.read_text(encoding="utf-8") == WHOLE

    def test_a_document_that_can_not_be_changed(self, job: Path) -> None:
        def change(document: TOMLDocument) -> None:
            del document["no such section"]

        with pytest.raises(InputError, match=r"`job\.toml` can't be changed: "):
            update_job(job, change)

    def test_new_text_that_is_no_toml(self) -> None:
        with pytest.raises(InputError, match="the new text is no TOML"):
            check_kept("a = 1", "a = ", name="job.toml")

    def test_a_broken_file_is_left_alone(self, job: Path) -> None:
        job.write_text(WHOLE + "\nradius = 3 in\n", encoding="utf-8")
        before = job.read_bytes()
        with pytest.raises(SyntaxFaultError, match="line 20"):
            add_spin(job, SPIN)
        assert job.read_bytes() == before

    def test_a_faulty_file_is_left_alone(self, job: Path) -> None:
        job.write_text(WHOLE.replace("left = 40.0", "left = -4000000"), encoding="utf-8")
        text = WHOLE.replace("right = 480.0", "right = 40")
        job.write_text(text, encoding="utf-8")
        with pytest.raises(InputError, match="planes; left and right are both"):
            add_spin(job, SPIN)
        assert job.read_text(encoding="utf-8") == text

    def test_spins_that_are_no_list(self, job: Path) -> None:
        with pytest.raises(InputError, match="`match` is no list of tables"):
            update_job(job, lambda document: append_table(document, "match", ["a = 1"]))

    def test_a_missing_file(self, tmp_path: Path) -> None:
        with pytest.raises(InputError, match="is not there"):
            add_spin(tmp_path / "no.toml", SPIN)

    def test_numbers_that_are_none(self, job: Path) -> None:
        with pytest.raises(ValueError, match="no number to write"):
            add_spin(job, replace(SPIN, speed_rpm=float("nan")))
        assert job.read_text(encoding="utf-8") == WHOLE

    def test_changed_by_another_program_meanwhile(self, job: Path) -> None:
        def change(document: TOMLDocument) -> None:
            document["job"]["operator"] = "me"
            job.write_text(WHOLE + "# typed in an editor just now\n", encoding="utf-8")

        with pytest.raises(NotWrittenError, match="was changed by another program meanwhile"):
            update_job(job, change)
        assert job.read_text(encoding="utf-8").endswith("# typed in an editor just now\n")
        assert [path.name for path in job.parent.iterdir()] == ["job.toml"]


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
        ],
    )
    def test_at_every_step(
        self, job: Path, monkeypatch: pytest.MonkeyPatch, owner: Any, name: str, error: BaseException
    ) -> None:
        def stop(*_: object, **__: object) -> None:
            raise error

        with monkeypatch.context() as patch:
            patch.setattr(owner, name, stop)
            with pytest.raises((NotWrittenError, KeyboardInterrupt)):
                update_job(job, lambda document: document.add(tomlkit.comment("more")))
        assert job.read_text(encoding="utf-8") == WHOLE
        assert [path.name for path in job.parent.iterdir()] == ["job.toml"]
        assert add_spin(job, SPIN) == 2

    def test_what_the_system_says_is_passed_on(self, job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        def full(*_: object) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(NotWrittenError, match=r"`job\.toml` can't be written: No space left on device"):
            add_spin(job, SPIN)

    def test_killed_in_the_middle(self, job: Path) -> None:
        code = (
            "import os, sys; from pathlib import Path; from planner.jobfile.write import update_job\n"
            "os.replace = lambda *a: os._exit(9)\n"
            "update_job(Path(sys.argv[1]), lambda d: d['job'].update({'operator': 'x'}))"
        )
        assert subprocess.run([sys.executable, "-c", code, str(job)], check=False).returncode == 9
        assert job.read_text(encoding="utf-8") == WHOLE
        # the lock's file lies there still, its holder is dead
        assert lock_path(job).exists()
        assert add_spin(job, SPIN) == 2


WRITER = """
import sys
from pathlib import Path
from planner.jobfile import lock
from planner.jobfile.write import Entries, enter
from planner.frames import SideReading
from planner.machine.spin import Spin
lock.WAIT_SECONDS = 60.0
for number in range(int(sys.argv[3])):
    side = SideReading(amount=float(sys.argv[2]) + number, angle_deg=1.0)
    spin = Spin(left=side, right=side, bobs_g={n: 0.0 for n in "1234"})
    enter(Path(sys.argv[1]), lambda job, spin=spin: Entries(spins=(spin,)))
"""


class TestTwoWriters:
    def test_both_survive(self, job: Path) -> None:
        each = 6
        running = [
            subprocess.Popen([sys.executable, "-c", WRITER, str(job), base, str(each)])
            for base in ("100", "200")
        ]
        assert [process.wait(timeout=120) for process in running] == [0, 0]
        after = load_job(job)
        amounts = sorted(spin.left.amount for spin in after.spins[1:])
        assert amounts == [float(base + number) for base in (100, 200) for number in range(each)]
        assert is_kept_in_order(WHOLE, job.read_text(encoding="utf-8"))

    def test_one_that_waits_too_long_says_so(self, job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("planner.jobfile.lock.WAIT_SECONDS", 0.1)
        with (
            locked(job),
            pytest.raises(
                NotWrittenError, match=r"is being written by another run of the program, waited 0.1 s"
            ),
        ):
            add_spin(job, SPIN)
        assert job.read_text(encoding="utf-8") == WHOLE
        assert add_spin(job, SPIN) == 2

    def test_a_folder_that_can_not_be_written(self, job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        plain_open = os.open

        def refuse(path: Path, flags: int, *mode: int) -> int:
            # reading goes on: only nothing new can be made in the folder
            if flags & os.O_CREAT:
                raise PermissionError(13, "Permission denied")
            return plain_open(path, flags, *mode)

        monkeypatch.setattr(os, "open", refuse)
        with pytest.raises(NotWrittenError, match="its folder must be writable"):
            add_spin(job, SPIN)

    def test_a_lock_that_its_last_holder_took_away_is_none(
        self, job: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        take, calls = locking._take, []

        def take_one_just_removed(handle: int, path: Path) -> bool:
            calls.append(handle)
            if len(calls) == 1:
                lock_path(job).unlink()
            return take(handle, path)

        monkeypatch.setattr(locking, "_take", take_one_just_removed)
        with locked(job):
            assert len(calls) == 2
            assert lock_path(job).exists()

    @pytest.mark.skipif(os.name == "nt", reason="locks are of another kind there")
    def test_a_disk_without_locks(self, job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        import fcntl

        def refuse(*_: object) -> None:
            raise OSError(37, "No locks available")

        monkeypatch.setattr(fcntl, "flock", refuse)
        with pytest.raises(NotWrittenError, match="can't be locked: No locks available"):
            add_spin(job, SPIN)


class TestComments:
    def test_only_real_comments(self) -> None:
        text = (
            'a = "# no"  # one\n'
            "b = '#no' # two\n"
            'c = """\n# no "" \\""" # no\n""" # three\n'
            "d = '''\n# no\n''' # four\n"
            "e = [ # five\n  [1], # six\n]\n"
            'f = "\\"# no" # seven\n'
            'g = """ends with its own quote"""" # seven and a half\n'
            "[plan] # not counted\nx = 1 # not counted\n"
            '["quoted"] # eight\n'
        )
        found = [each.strip("# ") for each in comments(text)]
        assert found == ["one", "two", "three", "four", "five", "six", "seven", "seven and a half", "eight"]


@pytest.mark.skipif(os.name == "nt", reason="modes and links are another matter there")
class TestOtherPeoplesFiles:
    def test_a_read_only_file_is_left_alone(self, job: Path) -> None:
        before = job.read_bytes()
        job.chmod(0o444)
        with pytest.raises(NotWrittenError, match="read-only"):
            add_spin(job, SPIN)
        assert job.read_bytes() == before

    def test_a_second_name_would_keep_the_old_content(self, job: Path, tmp_path: Path) -> None:
        before = job.read_bytes()
        os.link(job, tmp_path / "second.toml")
        with pytest.raises(NotWrittenError, match="2 names"):
            add_spin(job, SPIN)
        assert job.read_bytes() == before

    def test_a_link_in_the_place_of_the_lock(self, job: Path, tmp_path: Path) -> None:
        elsewhere = tmp_path / "elsewhere"
        lock_path(job).symlink_to(elsewhere)
        with pytest.raises(NotWrittenError, match="is a link"):
            add_spin(job, SPIN)
        assert not elsewhere.exists()

    def test_a_group_that_can_not_be_kept(self, job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        before = job.read_bytes()
        plain_stat = Path.stat

        class Other:
            """The status of a file of another group."""

            def __init__(self, found: os.stat_result) -> None:
                self._found = found

            def __getattr__(self, name: str) -> Any:
                return getattr(self._found, name) + (1 if name == "st_gid" else 0)

        def stat_of(path: Path, **options: Any) -> Any:
            found = plain_stat(path, **options)
            return Other(found) if path.name == "job.toml" else found

        def refuse(*_: object) -> None:
            raise PermissionError(1, "Operation not permitted")

        job.chmod(0o664)
        monkeypatch.setattr(Path, "stat", stat_of)
        monkeypatch.setattr(os, "chown", refuse)
        with pytest.raises(NotWrittenError, match="group can't be kept"):
            add_spin(job, SPIN)
        assert job.read_bytes() == before


class TestMixedLineEnds:
    def test_every_old_line_keeps_its_own(self, job: Path) -> None:
        lines = job.read_text(encoding="utf-8").splitlines()
        mixed = "".join(line + ("\r\n" if number % 3 else "\n") for number, line in enumerate(lines))
        job.write_bytes(mixed.encode())
        add_spin(job, SPIN)
        after = job.read_bytes().decode()
        old_lines = mixed.splitlines(keepends=True)
        new_lines = after.splitlines(keepends=True)
        left = list(new_lines)
        for line in old_lines:
            left.remove(line)  # fails when the line is there no more, with its own end
        assert left
        assert all(line.endswith("\r\n") for line in left)

    def test_a_text_without_an_end_of_its_last_line(self) -> None:
        assert write.with_old_line_ends("a\r\nb\nc", "a\nb\nx\nc") == "a\r\nb\nx\r\nc"
