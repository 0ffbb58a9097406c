"""Cuts made in files: their numbers, what was dialled, deeper holes; and wishes for deeper holes."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from entering import add_made_cut

from planner.cuts.cut import Cut
from planner.errors import FileFaultsError, InputError
from planner.frames import DrillSettings
from planner.jobfile.job import MadeCut, StoredPlan, StoredStep
from planner.jobfile.read import load_job
from planner.jobfile.write import store_plan
from planner.steps.correction_question import pose, with_made_cuts
from planner.steps.dialled import ensure_told, open_cuts, told
from planner.steps.done import AsMade, free_cut, made_as_planned, open_steps
from planner.steps.requested_cut import read_wish
from planner.steps.spin import foretold_for

EXAMPLES = Path(__file__).parents[2] / "examples"
RIM = Cut(kind="rim hole", counterweight="A", angle_deg=214.0, diameter_mm=16.0, depth_shoulder_mm=16.0)
NOW = DrillSettings(zero_deg=0.0, sense=1, offset_deg=0.0)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    folder = tmp_path / "v8"
    shutil.copytree(EXAMPLES / "cross_plane_v8", folder)
    job = folder / "job.toml"
    job.write_text(job.read_text(encoding="utf-8").split("\n[plan]")[0], encoding="utf-8")
    return job


def made(cut: Cut = RIM, **more: object) -> MadeCut:
    return replace(
        MadeCut(after_spin=1, cut=cut, step=1, number=1, dial_deg=cut.angle_deg, dialled_under=NOW),
        **more,  # type: ignore[arg-type]
    )


def test_all_of_a_cut_made_goes_there_and_back(path: Path) -> None:
    settings = DrillSettings(zero_deg=12.5, sense=-1, offset_deg=30.0)
    entry = made(dial_deg=359.5, dialled_under=settings, stays_under=NOW, learned_factor=0.97)
    deeper = made(replace(RIM, from_depth_mm=16.0, depth_shoulder_mm=27.0), step=None, number=7)
    for each in (entry, deeper):
        add_made_cut(path, each)
    assert load_job(path).cuts_made == (entry, deeper)


def test_a_deeper_hole_in_a_file_that_counts_to_the_tip(path: Path) -> None:
    """Both depths are numbers on the stop: the point's length is in both."""
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text
        + '\n[[cuts_made]]\nafter_spin = 1\ncounterweight = "A"\ncut = "rim hole"\nangle = 214\ndiameter = 16\n'
        'depth = 31.807\nfrom_depth = 20.807\ndepth_to = "tip"\n',
        encoding="utf-8",
    )
    cut = load_job(path).cuts_made[0].cut
    assert cut.from_depth_mm == pytest.approx(16.0, abs=1e-3)
    assert cut.depth_shoulder_mm == pytest.approx(27.0, abs=1e-3)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ("depth = 20\nfrom_depth = 20", "less than its depth"),
        ('cut = "slug"\nradius = 60\nlength = 10\nfrom_depth = 5', "only a rim hole or a blind face hole"),
        (
            'cut = "face hole"\nradius = 60\nthrough = true\nfrom_depth = 5',
            "only a rim hole or a blind face hole",
        ),
        ("depth = 20\ndialled = { dial = 3, zero = 0, sense = 2 }", "sense"),
        ("depth = 20\ncut_number = 1", "a number of its own"),
    ],
)
def test_faults_of_the_file_are_named(path: Path, lines: str, words: str) -> None:
    kind = "" if "cut = " in lines else 'cut = "rim hole"\n'
    add_made_cut(path, made())
    text = path.read_text(encoding="utf-8")
    path.write_text(
        f'{text}\n[[cuts_made]]\nafter_spin = 1\ncounterweight = "A"\nangle = 190\ndiameter = 16\n{kind}{lines}\n',
        encoding="utf-8",
    )
    with pytest.raises(FileFaultsError) as caught:
        load_job(path)
    assert any(words in f"{fault.path} {fault.allowed}" for fault in caught.value.faults), caught.value.faults


def test_numbers_of_older_files(path: Path) -> None:
    """Every plan began at 1 again, and a cut of no plan had none: none is given twice."""
    for step, angle in ((1, 214.0), (None, 190.0), (1, 171.0), (2, 230.0)):
        add_made_cut(
            path, MadeCut(after_spin=1, cut=replace(RIM, angle_deg=angle, depth_shoulder_mm=8.0), step=step)
        )
    text = path.read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("cut_number")]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    numbers = [each.number for each in load_job(path).cuts_made]
    assert len(set(numbers)) == 4
    assert numbers[0] == 1
    assert numbers[3] == 2
    assert numbers == [each.number for each in load_job(path).cuts_made]


def test_a_deepened_hole_is_one_hole_of_the_new_depth(path: Path) -> None:
    job = load_job(path)
    deeper = replace(RIM, from_depth_mm=16.0, depth_shoulder_mm=27.0)
    crankshaft = with_made_cuts(job.crankshaft, [RIM, deeper], shop=job.shop)
    holes = crankshaft.counterweight("A").existing
    assert len(holes) == len(job.crankshaft.counterweight("A").existing) + 1
    assert holes[-1].depth_shoulder_mm == 27.0
    # and what both took off is what the whole hole takes off
    add_made_cut(path, made())
    add_made_cut(path, made(deeper, step=None, number=2))
    two = pose(load_job(path)).made_shift_gmm
    whole = replace(job, cuts_made=(made(replace(RIM, depth_shoulder_mm=27.0)),))
    assert abs(two - pose(whole).made_shift_gmm).max() < 1e-6


def test_of_a_pinned_hole_the_rest_is_left_after_a_first_pass(path: Path) -> None:
    job = load_job(path)
    pinned = replace(RIM, depth_shoulder_mm=27.0)
    job = replace(job, fixed_cuts=(pinned,))
    assert pose(job).problem.fixed == (pinned,)
    first = replace(job, cuts_made=(made(),))
    assert pose(first).problem.fixed == (replace(pinned, from_depth_mm=16.0),)
    done = replace(
        job, cuts_made=(made(), made(replace(RIM, from_depth_mm=16.0, depth_shoulder_mm=27.0), number=2))
    )
    assert pose(done).problem.fixed == ()


class TestWishes:
    def test_a_hole_by_its_cuts_number(self, path: Path) -> None:
        add_made_cut(path, made())
        wish = read_wish("hole 1 on A deeper to 27", load_job(path))
        assert wish.cut == replace(RIM, from_depth_mm=16.0, depth_shoulder_mm=27.0)
        assert not wish.depth_open
        assert read_wish("Hole 1 on A, deeper", load_job(path)).depth_open

    def test_an_old_hole_by_its_dial(self, path: Path) -> None:
        job = load_job(path)
        old = job.crankshaft.counterweight("A").existing[0]
        wish = read_wish(f"old hole at {job.machine.dial_deg(old.angle_deg):g} on A deeper to 30", job)
        assert wish.cut.from_depth_mm == old.depth_shoulder_mm
        assert wish.cut.depth_shoulder_mm == 30.0

    def test_a_hole_beside_the_middle_stays_where_it_is(self, path: Path) -> None:
        """Drilled on, a hole in a row keeps its row: what it takes off is the difference of two holes there."""
        there = replace(RIM, from_middle_mm=4.0)
        add_made_cut(path, made(there))
        wish = read_wish("hole 1 on A deeper to 27", load_job(path))
        assert wish.cut == replace(there, from_depth_mm=16.0, depth_shoulder_mm=27.0)

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            ("hole 2 on A deeper to 27", "there is no hole 2 on A"),
            ("hole 1 on F deeper to 27", "there is no hole 1 on F"),
            ("hole 1 on Q deeper to 27", "there is no counterweight `Q`"),
            ("hole 1 on A deeper to 12", "16.0 mm deep to the shoulder already"),
            ("hole 1 on A deeper to much", "much"),
            ("old hole at 90 on A deeper to 27", "no hole there that can be drilled deeper"),
        ],
    )
    def test_what_can_not_be(self, path: Path, text: str, words: str) -> None:
        add_made_cut(path, made())
        with pytest.raises(InputError, match=words):
            read_wish(text, load_job(path))


class TestDialled:
    SETTINGS = tuple(
        DrillSettings(zero_deg=zero, sense=sense, offset_deg=offset)
        for zero in (0.0, 37.25)
        for sense in (1, -1)
        for offset in (0.0, -90.0)
    )

    @pytest.mark.parametrize("then", SETTINGS)
    def test_both_stories(self, path: Path, then: DrillSettings) -> None:
        """Dialled 100 under other settings: where the drill was by them, or where 100 is by those of now."""
        dial = 100.0
        was = then.zero_deg + then.sense * (dial - then.offset_deg)
        entry = made(replace(RIM, angle_deg=was % 360.0), dial_deg=dial, dialled_under=then)
        job = replace(load_job(path), cuts_made=(entry,))
        waiting = open_cuts(job)
        if abs((was - 100.0 + 180.0) % 360.0 - 180.0) < 1e-6:
            assert waiting == ()
            return
        assert [one.made.number for one in waiting] == [1]
        assert told(job, {1: "dialled"})[0].cut.angle_deg == pytest.approx(100.0)
        stays = told(job, {1: "stay"})[0]
        assert stays.cut.angle_deg == pytest.approx(was % 360.0)
        for story in ("dialled", "stay"):
            settled = replace(job, cuts_made=(told(job, {1: story})[0],))  # type: ignore[dict-item]
            assert open_cuts(settled) == ()
            ensure_told(settled)


def test_a_cut_of_no_plan_has_a_number_above_all(path: Path) -> None:
    store_plan(path, StoredPlan(after_spin=1, steps=(StoredStep(number=41, cut=RIM),)))
    job = load_job(path)
    entry = free_cut(job, AsMade(on="A", dial_deg=190.0, drill_mm=16.0, stop_mm=10.0))
    assert (entry.number, entry.step) == (42, None)
    add_made_cut(path, entry)
    assert load_job(path).cuts_made[0] == entry
    assert [step.number for step in open_steps(load_job(path))] == [41]


def test_a_step_of_an_older_files_second_plan_is_open(path: Path) -> None:
    """Older files: every plan began at 1 again.  A cut of spin 1 closes no step of the plan for spin 2."""
    spin = "\n[[spins]]\nbobs = 1724\nleft = { amount = 900, angle = 205 }\nright = { amount = 800, angle = 12 }\n"
    cut = (
        'counterweight = "A", cut = "rim hole", angle = 220, diameter = 16, depth = 9, depth_to = "shoulder"'
    )
    path.write_text(
        path.read_text(encoding="utf-8")
        + spin
        + '\n[[cuts_made]]\nafter_spin = 1\nstep = 1\ncounterweight = "A"\ncut = "rim hole"\nangle = 200\ndiameter = 16\n'
        f"depth = 16\n\n[plan]\nafter_spin = 2\nsteps = [ {{ number = 1, {cut} }} ]\n",
        encoding="utf-8",
    )
    job = load_job(path)
    assert [step.number for step in open_steps(job)] == [1]
    spun = replace(job.spins[1], left=replace(job.spins[1].left, amount=100.0))
    foretold = foretold_for(job, spun)
    assert foretold is not None
    assert foretold.open_steps == (1,)
    (entered,) = made_as_planned(job)
    assert (entered.step, entered.number) == (1, 2)
    add_made_cut(path, entered)
    after = load_job(path)
    assert [each.number for each in after.cuts_made] == [1, 2]
    assert open_steps(after) == ()
