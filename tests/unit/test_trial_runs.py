"""Trial runs of a job: the same rotor typed in every way of counting, masses left on, faults of the file.  Data invented."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from planner.errors import FileFaultsError, InputError
from planner.frames import MachineConvention
from planner.jobfile.job import Job, TrialSide
from planner.jobfile.read import load_job
from planner.jobfile.write import store_influence
from planner.machine.spin import Spin
from planner.steps.correction_question import pose
from planner.steps.job_status import standing_of
from planner.steps.spin import foretold_for, spin_of
from planner.steps.trial import raw_reading, solve_job_trials, with_trials
from tests.trial_samples import ALPHA, UNBALANCE, Rig, polar


def job_of(folder: Path, text: str) -> Job:
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return load_job(path)


def faults_of(folder: Path, text: str) -> str:
    with pytest.raises(FileFaultsError) as caught:
        job_of(folder, text)
    return str(caught.value)


WAYS = [
    MachineConvention(direction=direction, viewed_from=end, zero_deg=zero, marks=marks, phase_grows=grows)  # type: ignore[arg-type]
    for direction, end, zero, marks, grows in itertools.product(
        ("ccw", "cw"),
        ("front", "rear"),
        (0.0, 17.3),
        ("heavy spot", "light spot"),
        ("with angles", "against angles"),
    )
]


@pytest.mark.parametrize(
    "machine", WAYS[::3], ids=lambda machine: f"{machine.direction} {machine.viewed_from}"
)
def test_every_way_of_counting_gives_the_same_unbalance(tmp_path: Path, machine: MachineConvention) -> None:
    rig = Rig(machine, zero_text=f"{machine.zero_deg}")
    job = job_of(tmp_path, rig.job(rig.three_runs()))
    answer = solve_job_trials(job)
    assert answer.unbalance_gmm == pytest.approx(UNBALANCE, abs=1e-6)
    # and through the reading that stands for them: display, light spot and all
    assert pose(job).reading.vectors_gmm.tolist() == pytest.approx(list(UNBALANCE), abs=1e-3)
    raw = [TrialSide(amount=a, phase_deg=p) for a, p in map(rig.typed, rig.reading())]
    assert raw_reading(job, raw).unbalance_gmm == pytest.approx(UNBALANCE, abs=1e-6)


def test_masses_left_on_are_on_in_every_later_run(tmp_path: Path) -> None:
    rig, first = Rig(), polar(2400, 90)
    text = rig.run("0", extra="bobs = 0") + rig.run("L", plane="left", mass=first, left_on=True)
    text += rig.run("R", plane="right", mass=polar(2000, 10), already=(first, 0j), left_on=True)
    answer = solve_job_trials(job_of(tmp_path, rig.job(text)))
    assert answer.unbalance_gmm == pytest.approx(UNBALANCE, abs=1e-6)
    assert answer.still_on == ("L", "R")
    # the same readings with the mass said to be taken off come to something else
    taken_off = solve_job_trials(job_of(tmp_path, rig.job(text.replace("left_on = true\n", ""))))
    assert abs(taken_off.unbalance_gmm[0] - UNBALANCE[0]) > 100.0


def test_a_mass_and_a_radius_are_an_unbalance(tmp_path: Path) -> None:
    rig = Rig()
    text = rig.three_runs()
    by_mass = text.replace('unbalance = "2400.0 g*mm"', "mass = 30\nradius = 80")
    assert by_mass != text
    answer = solve_job_trials(job_of(tmp_path, rig.job(by_mass)))
    assert answer.unbalance_gmm == pytest.approx(UNBALANCE, abs=1e-6)


def test_bobs_and_mounted_parts_belong_to_the_runs(tmp_path: Path) -> None:
    rig = Rig()
    light = pose(job_of(tmp_path, rig.job(rig.three_runs(bobs="bobs = 1700.0"))))
    right = pose(job_of(tmp_path, rig.job(rig.three_runs(bobs="bobs = 1724.0"))))
    bare = pose(job_of(tmp_path, rig.job(rig.three_runs(bobs="bobs = 0"))))
    shifts = [abs(posed.bob_shift_gmm).max() for posed in (right, light, bare)]
    assert shifts[0] < shifts[1] < shifts[2]
    each = 'bobs = { "1" = 1724, "2" = 1724, "3" = 1724, "4" = 1700 }'
    assert (
        pose(job_of(tmp_path, rig.job(rig.three_runs(bobs=each)))).bob_shift_gmm[1] != right.bob_shift_gmm[1]
    )


def test_mounted_parts_that_were_on_are_not_shifted_again(tmp_path: Path) -> None:
    rig = Rig()
    part = '\n[[mounted]]\nname = "wheel"\nz = 545\nunbalance = 500\nangle = 0\nin_engine = true\n'
    on = pose(job_of(tmp_path, rig.job(rig.three_runs(bobs='bobs = 0\nmounted = ["wheel"]'), spins=part)))
    off = pose(job_of(tmp_path, rig.job(rig.three_runs(bobs="bobs = 0"), spins=part)))
    assert abs(on.mounted_shift_gmm).max() == 0.0
    assert sum(off.mounted_shift_gmm) == pytest.approx(500.0)


def test_spin_0_until_there_is_a_spin(tmp_path: Path) -> None:
    rig = Rig()
    job = job_of(tmp_path, rig.job(rig.three_runs()))
    posed = pose(job)
    assert posed.spin_number == 0
    assert posed.state_numbers == (0,)
    assert "The state in the trial runs is out of tolerance" in standing_of(job).stands
    spin, _ = spin_of(
        job, (3480, 214, 2910, 33), bobs_g={throw.name: 1724.0 for throw in job.crankshaft.throws}
    )
    foretold = foretold_for(job, spin)
    assert foretold is not None
    assert foretold.before_spin == 0
    assert foretold.measured_gmm == pytest.approx(foretold.expected_gmm, abs=1.0)
    spins = (
        "\n[[spins]]\nbobs = 1724.0\nleft = { amount = 10, angle = 1 }\nright = { amount = 20, angle = 2 }\n"
    )
    spun = job_of(tmp_path, rig.job(rig.three_runs(), spins=spins))
    assert with_trials(spun) is spun
    assert pose(spun).spin_number == 1


def test_from_trials_is_no_key_of_a_file() -> None:
    assert Spin.__dataclass_fields__["from_trials"].default is False


@pytest.mark.parametrize("unit", ["g*mm", "oz-in"])
@pytest.mark.parametrize("grows", ["with angles", "against angles"])
def test_coefficients_survive_the_file(tmp_path: Path, unit: str, grows: str) -> None:
    machine = MachineConvention(phase_grows=grows, zero_deg=17.3, direction="cw")  # type: ignore[arg-type]
    rig = Rig(machine, zero_text="17.3")
    text = rig.job(rig.three_runs(bobs="bobs = 1724\nspeed_rpm = 512"))
    text = text.replace("format = 1\n", f'format = 1\n\n[units]\nunbalance = "{unit}"\n')
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    answer = solve_job_trials(load_job(path))
    assert store_influence(path, answer.influence)
    stored = path.read_text(encoding="utf-8")
    assert stored.startswith(text.rstrip("\n"))
    assert not store_influence(path, answer.influence)
    assert path.read_text(encoding="utf-8") == stored
    # with the coefficients alone, the trial runs gone
    alone = stored.replace(rig.three_runs(bobs="bobs = 1724\nspeed_rpm = 512"), "")
    job = job_of(tmp_path, alone)
    assert not job.trials
    assert job.influence is not None
    assert job.influence.speed_rpm == 512
    assert job.influence.matrix == pytest.approx(answer.influence.matrix, rel=1e-7)
    raw = [TrialSide(amount=a, phase_deg=p) for a, p in map(rig.typed, rig.reading())]
    found = raw_reading(job, raw)
    assert found.influence_from == "[influence]"
    assert found.unbalance_gmm == pytest.approx(UNBALANCE, rel=1e-6)


def test_new_trials_replace_the_coefficients_and_nothing_else(tmp_path: Path) -> None:
    rig = Rig()
    path = tmp_path / "job.toml"
    path.write_text(
        rig.job(rig.three_runs()) + "\n[bobs] # said by the builder\nwanted = 1724\n", encoding="utf-8"
    )
    store_influence(path, solve_job_trials(load_job(path)).influence)
    first = path.read_text(encoding="utf-8")
    path.write_text(first.replace('unbalance = "2400.0 g*mm"', "unbalance = 1200"), encoding="utf-8")
    assert store_influence(path, solve_job_trials(load_job(path)).influence)
    second = path.read_text(encoding="utf-8")
    assert "# said by the builder" in second
    assert second.count("[influence]") == 1
    job = load_job(path)
    assert job.influence is not None
    assert abs(job.influence.matrix[0, 0]) == pytest.approx(2 * abs(ALPHA[0][0]), rel=1e-6)


def test_a_trial_mass_that_does_little_is_questioned(tmp_path: Path) -> None:
    rig = Rig()
    text = (
        rig.run("0")
        + rig.run("L", plane="left", mass=polar(600, 90))
        + rig.run("R", plane="right", mass=polar(2400, 0))
    )
    (warning,) = solve_job_trials(job_of(tmp_path, rig.job(text))).warnings
    assert "run `L` changes the reading by 22 %" in warning


def test_runs_that_miss_are_questioned(tmp_path: Path) -> None:
    rig = Rig()
    text = rig.three_runs() + rig.run("again", plane="left", mass=polar(2400, 200)).replace(
        "angle = 200.", "angle = 178."
    )
    warnings = solve_job_trials(job_of(tmp_path, rig.job(text))).warnings
    assert any("the runs do not agree with one another" in each for each in warnings)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda text: "", "the job has no trial runs"),
        (
            lambda text: only(text, "left"),
            "only the left side was read, but trial masses were in both planes",
        ),
        (
            lambda text: text.split('[[trials]]\nname = "right"')[0],
            "both sides were read, but no run .* this plane: right",
        ),
        (
            lambda text: text.replace("2400.0 g*mm", "24 g*mm").replace("amount = 2.499", "amount = 2.406"),
            "almost|hardly",
        ),
    ],
)
def test_trials_that_say_too_little(tmp_path: Path, change: object, says: str) -> None:
    rig = Rig()
    text = change(rig.three_runs())  # type: ignore[operator]
    if says == "almost|hardly":
        same = rig.run("x").split('name = "x"\n')[1].strip()
        text = rig.run("0") + "".join(
            f'[[trials]]\nname = "{plane}"\nmass_plane = "{plane}"\nunbalance = 24\nangle = 0\n{same}\n'
            for plane in ("left", "right")
        )
        says = "the trial mass in the left plane hardly moves the reading"
    with pytest.raises(InputError, match=says):
        solve_job_trials(job_of(tmp_path, rig.job(text)))


def only(text: str, side: str) -> str:
    other = {"left": "right", "right": "left"}[side]
    return "".join(line for line in text.splitlines(keepends=True) if not line.startswith(f"{other} = "))


def test_what_a_plan_needs_of_trials(tmp_path: Path) -> None:
    rig = Rig()
    job = job_of(tmp_path, rig.job(rig.three_runs(bobs="")))
    with pytest.raises(InputError, match="what was clamped on the throws in the trial runs is not said"):
        pose(job)
    assert "There are trial runs, but what was clamped on" in standing_of(job).stands
    single = rig.run("0", extra="bobs = 0") + rig.run("L", plane="left", mass=polar(2400, 90))
    with pytest.raises(InputError, match="say only what is in the left plane, a plan needs both"):
        pose(job_of(tmp_path, rig.job(only(single, "left"))))


def test_single_plane(tmp_path: Path) -> None:
    rig = Rig()
    single = only(rig.run("0") + rig.run("L", plane="left", mass=polar(2400, 90)), "left")
    job = job_of(tmp_path, rig.job(single))
    answer = solve_job_trials(job)
    # what the left side alone can say: as if all of it were in the left plane
    expected = UNBALANCE[0] + UNBALANCE[1] * ALPHA[0][1] / ALPHA[0][0]
    assert answer.unbalance_gmm == pytest.approx((expected,), abs=1e-6)
    store_influence(job.files.job, answer.influence)
    again = load_job(job.files.job)
    assert again.influence is not None
    assert again.influence.sides == ("left",)


def test_no_coefficients_yet(tmp_path: Path) -> None:
    job = job_of(tmp_path, Rig().job(""))
    with pytest.raises(InputError, match="there are no influence coefficients yet"):
        raw_reading(job, [TrialSide(amount=1.0, phase_deg=0.0)])


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            'name = "left"\n',
            'name = "left"\nbobs = 3\n',
            r"trials\[2\].*bobs: given `3`; this is the same for all runs",
        ),
        (
            'name = "left"\n',
            'name = "left"\nspeed_rpm = 3\n',
            r"speed_rpm: given `3`; this is the same for all runs",
        ),
        (
            'name = "left"\n',
            'name = "left"\nmounted = ["damper"]\n',
            r"trials\[2\].*; this is the same for all runs",
        ),
        ("bobs = 1724.0", 'bobs = { "1" = 5 }', r"trials\[1\].*bobs.*what was on throw `2`"),
        (
            "bobs = 1724.0",
            'bobs = 5\nmounted = ["wheel"]',
            r"mounted.*: given `\"?wheel\"?`; there is no mounted part",
        ),
    ],
)
def test_faults_of_trials(tmp_path: Path, old: str, new: str, says: str) -> None:
    import re

    rig = Rig()
    text = rig.three_runs()
    assert old in text
    message = faults_of(tmp_path, rig.job(text.replace(old, new, 1)))
    assert re.search(says, message), message


def test_sides_must_be_the_same_in_every_run(tmp_path: Path) -> None:
    rig = Rig()
    text = rig.three_runs()
    first, rest = text.split('[[trials]]\nname = "left"')
    assert "the same sides must be read in every run" in faults_of(
        tmp_path, rig.job(only(first, "left") + '[[trials]]\nname = "left"' + rest)
    )
    assert "what was read must be said: left, right, or both" in faults_of(
        tmp_path, rig.job(only(only(first, "left"), "right") + '[[trials]]\nname = "left"' + rest)
    )


def test_influence_is_all_four_or_one(tmp_path: Path) -> None:
    two = "[influence]\nunbalance = 100\n" + "".join(
        f"{key} = {{ amount = 1, phase = 2 }}\n" for key in ("left_from_left", "left_from_right")
    )
    assert "all four coefficients are wanted" in faults_of(tmp_path, Rig().job("", spins=two))


def test_cuts_after_trials_need_trials(tmp_path: Path) -> None:
    made = (
        '\n[[cuts_made]]\nafter_spin = 0\nstep = 1\ncounterweight = "A"\ncut = "rim hole"\nangle = 214\n'
        "diameter = 16\ndepth = 20\n"
    )
    rig = Rig()
    posed = pose(job_of(tmp_path, rig.job(rig.three_runs(), spins=made)))
    assert len(posed.made) == 1
    assert "after_spin: given `0`; there is no spin yet" in faults_of(tmp_path, rig.job("", spins=made))
