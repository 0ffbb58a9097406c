"""`bobplan trial` as a user types it, and the plan before the first spin.  All data invented."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from planner.frames import MachineConvention
from tests.cli.conftest import Ran
from tests.trial_samples import ALPHA, EXAMPLE, UNBALANCE, Rig, degrees_of, polar

Bobplan = Callable[..., Ran]


@pytest.fixture
def job(tmp_path: Path) -> Path:
    rig = Rig()
    path = tmp_path / "job.toml"
    path.write_text(rig.job(rig.three_runs(bobs="bobs = 1724.0\nspeed_rpm = 500")), encoding="utf-8")
    return path


def vector(entry: dict[str, float]) -> complex:
    return polar(entry["amount_gmm"], entry["angle_deg"])


def test_unbalance_as_plan_gives_it_and_coefficients(bobplan: Bobplan, job: Path) -> None:
    before = job.read_text(encoding="utf-8")
    ran = bobplan("trial", job, "--json")
    assert ran.code == 0, ran.err
    assert [vector(each) for each in ran.json["unbalance"]] == pytest.approx(list(UNBALANCE), abs=1e-4)
    assert [each["plane"] for each in ran.json["unbalance"]] == ["left", "right"]
    assert [each["z_mm"] for each in ran.json["unbalance"]] == [52.0, 468.0]
    assert [vector(each) for each in ran.json["to_add"]] == pytest.approx([-u for u in UNBALANCE], abs=1e-4)
    first = ran.json["coefficients"][0]
    assert (first["side"], first["plane"]) == ("left", "left")
    assert first["amount_per_gmm"] == pytest.approx(0.9e-3, rel=1e-9)
    assert first["phase_deg"] == pytest.approx(40.0)
    after = job.read_text(encoding="utf-8")
    assert after.startswith(before.rstrip("\n"))
    assert "[influence]" in after
    assert "written into job.toml" in ran.err


def test_no_store_and_a_second_time_leave_the_file_alone(bobplan: Bobplan, job: Path) -> None:
    before = job.read_bytes()
    assert bobplan("trial", job, "--no-store").code == 0
    assert job.read_bytes() == before
    bobplan("trial", job)
    stored = job.read_bytes()
    bobplan("trial", job)
    assert job.read_bytes() == stored


def test_text_says_where_the_heavy_spot_is_and_how_sure(bobplan: Bobplan, job: Path) -> None:
    out = bobplan("trial", job, "--show-work").out
    assert "left: 3480 g*mm heavy at 214°" in out
    assert "add it at 34°" in out
    assert "uncertain by" in out
    assert "No more runs than needed" in out
    assert "Next: `bobplan plan`" in out
    assert "CAUTION" in out
    # the working can be followed: (V - V0)/W by hand
    v0, v1 = polar(2.406, 243.87), polar(2.4997, 191.66)
    assert "(2.49972 at 191.66) - (2.40598 at 243.87)) / (2400 at 90.00) = 0.0009 at 40.00" in out
    assert abs((v1 - v0) / polar(2400, 90)) == pytest.approx(0.0009, rel=1e-3)


def test_more_runs_show_their_residual(bobplan: Bobplan, tmp_path: Path) -> None:
    rig = Rig()
    path = tmp_path / "job.toml"
    more = rig.run("again", plane="left", mass=polar(2400, 200), left_on=True)
    path.write_text(rig.job(rig.three_runs() + more), encoding="utf-8")
    ran = bobplan("trial", path)
    assert "1 more run than needed: fitted by least squares, missing by 0.0 %" in ran.out
    assert "Still on at the end: the trial mass of `again`" in ran.out
    assert "V0 and a of every side are fitted" in bobplan("trial", path, "--show-work").out
    answer = bobplan("trial", path, "--json").json
    assert answer["spare_runs"] == 1
    assert answer["masses_still_on"] == ["again"]


def test_a_later_reading_needs_no_new_trials(bobplan: Bobplan, job: Path) -> None:
    bobplan("trial", job)
    rig = Rig()
    text = job.read_text(encoding="utf-8").replace(rig.three_runs(bobs="bobs = 1724.0\nspeed_rpm = 500"), "")
    job.write_text(text, encoding="utf-8")
    later = Rig(unbalance=(polar(310, 20), polar(150, 250)))
    numbers = [f"{value:.9g}" for side in later.reading() for value in (abs(side), degrees_of(side) - 360.0)]
    ran = bobplan("trial", job, "--reading", *numbers, "--json")
    assert ran.code == 0, ran.err
    assert [vector(each) for each in ran.json["unbalance"]] == pytest.approx(list(later.unbalance), abs=1e-2)
    assert ran.json["coefficients_from"] == "[influence]"
    shown = bobplan("trial", job, "--reading", *numbers)
    assert "they hold at 500 rpm" in shown.out
    command = shown.out.split("`bobplan spin ")[1].split("`")[0].split()
    spun = bobplan("spin", *command, "--bobs", "1724", "--json", folder=job.parent)
    assert [vector(each) for each in spun.json["reading"]] == pytest.approx(list(later.unbalance), abs=0.1)


def test_plan_done_and_spin_go_on_from_the_trials(bobplan: Bobplan, job: Path) -> None:
    ran = bobplan("plan", job, "--json")
    assert ran.code == 0, ran.err
    plan = ran.json
    assert plan["spin"] == 0
    assert plan["verdict"] == "in tolerance"
    assert [vector(each) for each in plan["reading"]] == pytest.approx(list(UNBALANCE), abs=1e-3)
    # own arithmetic: reading plus bobs plus steps by the lever rule is what remains
    z = [each["z_mm"] for each in plan["unbalance"]]
    for index in (0, 1):
        total = vector(plan["reading"][index]) + vector(plan["bob_shift"][index])
        for step in plan["steps"]:
            share = (z[1 - index] - step["z_mm"]) / (z[1 - index] - z[index])
            total += share * polar(step["unbalance_gmm"], step["angle_deg"])
        assert abs(total - vector(plan["residual"][index])) < 1e-4
    first = plan["steps"][0]["number"]
    assert bobplan("done", str(first), folder=job.parent).code == 0
    text = job.read_text(encoding="utf-8")
    assert "after_spin = 0" in text
    assert "left to cut" in bobplan(folder=job.parent).out
    head = bobplan("plan", job).out.splitlines()[0]
    assert "the state in the trial runs" in head
    assert "the state in the trial runs, left: U =" in bobplan("plan", job, "--show-work").out
    foretold = plan["foretold"]
    bobplan("done", *(str(step["number"]) for step in plan["steps"][1:]), folder=job.parent)
    numbers = [f"{value:.6f}" for side in foretold for value in (side["amount"], side["angle_deg"])]
    spun = bobplan("spin", *numbers, "--bobs", "1724", folder=job.parent)
    assert spun.code == 0, spun.err
    assert "Spin 1 is in job.toml" in spun.out


def test_other_commands_know_the_state_of_the_trials(bobplan: Bobplan, job: Path) -> None:
    check = bobplan("check", job)
    assert check.code == 1
    assert "the state in the trial runs" in check.out
    assert bobplan("bobs", job).code == 0
    ran = bobplan("plan", job, "--plot", job.with_suffix(".svg"), "--no-store")
    assert ran.code == 0
    assert job.with_suffix(".svg").stat().st_size > 1000


def test_light_spot_from_the_rear(bobplan: Bobplan, tmp_path: Path) -> None:
    from planner.frames import MachineConvention

    machine = MachineConvention(
        direction="cw", viewed_from="front", zero_deg=17.3, marks="light spot", phase_grows="against angles"
    )
    rig = Rig(machine, zero_text="17.3")
    path = tmp_path / "job.toml"
    path.write_text(rig.job(rig.three_runs()), encoding="utf-8")
    answer = bobplan("trial", path, "--json").json
    assert [vector(each) for each in answer["unbalance"]] == pytest.approx(list(UNBALANCE), abs=1e-4)
    # a place never has the 180 of the light spot, what a display would show has it
    assert answer["unbalance"][0]["machine_angle_deg"] == pytest.approx((17.3 - 214.0) % 360.0)
    assert answer["spin"][0]["angle_deg"] == pytest.approx((17.3 - 214.0 + 180.0) % 360.0)
    assert "The phase falls when a mass is moved toward larger angles" in bobplan("trial", path).out


def test_single_plane(bobplan: Bobplan, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    trials = """
[[trials]]
name = "0"
right = { amount = 2.0, phase = 40 }
bobs = 0
[[trials]]
name = "1"
right = { amount = 4.0, phase = 40 }
mass_plane = "right"
unbalance = 500
angle = 100
"""
    path.write_text(Rig().job(trials), encoding="utf-8")
    ran = bobplan("trial", path, "--json", "--show-work")
    # the reading doubled at the same phase: the unbalance is as large as the trial mass, at its place
    (only,) = ran.json["unbalance"]
    assert only["plane"] == "right"
    assert only["z_mm"] == 468.0
    assert only["amount_gmm"] == pytest.approx(500.0)
    assert only["angle_deg"] == pytest.approx(100.0)
    assert ran.json["spin"] is None
    assert any(line.startswith("U right = V0 / a") for line in ran.json["working"])
    assert "One plane only" in bobplan("trial", path).out
    reading = bobplan("trial", path, "--reading", "1", "40", "--json").json
    assert reading["unbalance"][0]["amount_gmm"] == pytest.approx(250.0)
    ran = bobplan("plan", path)
    assert ran.code == 2
    assert "a plan needs both planes" in ran.err


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["1", "2", "3", "4"], "--reading"),
        (["--reading"], "needs four numbers (two for a single plane), given 0"),
        (["--reading", "1", "2", "3"], "given 3"),
        (["--reading", "1", "2"], "given readings of 1 sides"),
        (["--reading", "-1", "2", "3", "4"], "left amount: given `-1`"),
        (["--reading", "1", "2000", "3", "4"], "left phase: given `2000`"),
        (["--reading", "1", "2", "3", "x"], "right phase: given `x`"),
        (["nowhere.toml"], "nowhere.toml"),
    ],
)
def test_bad_arguments(arguments: list[str], says: str, bobplan: Bobplan, job: Path) -> None:
    before = job.read_bytes()
    ran = bobplan("trial", *arguments, folder=job.parent)
    assert ran.code == 2
    assert says in ran.err
    assert ran.out == ""
    assert job.read_bytes() == before


def test_a_trial_mass_that_is_too_small_is_refused_with_advice(bobplan: Bobplan, tmp_path: Path) -> None:
    rig = Rig()
    text = rig.run("0", extra="bobs = 0") + rig.run("L", plane="left", mass=polar(40, 90))
    path = tmp_path / "job.toml"
    path.write_text(rig.job(text + rig.run("R", plane="right", mass=polar(2400, 0))), encoding="utf-8")
    for command in ("trial", "plan"):
        ran = bobplan(command, path)
        assert ran.code == 2
        assert "the trial mass in the left plane hardly moves the reading" in ran.err
        assert "larger trial mass" in ran.err
        assert "[influence]" not in path.read_text(encoding="utf-8")


def test_known_errors_are_taken_out_of_trials_too(bobplan: Bobplan, job: Path) -> None:
    text = job.read_text(encoding="utf-8")
    error = '\n[[known_errors]]\nname = "adapter"\nleft = { amount = 100, angle = 0 }\nright = { amount = 0, angle = 0 }\n'
    job.write_text(text + error, encoding="utf-8")
    plan = bobplan("plan", job, "--json", "--no-store").json
    expected = UNBALANCE[0] - 100.0 + vector(plan["bob_shift"][0])
    assert abs(vector(plan["unbalance"][0]) - expected) < 1e-3
    assert math.isclose(plan["known_errors"][0]["amount_gmm"], 100.0)


def test_the_odds_count_what_the_trials_leave_uncertain(bobplan: Bobplan, job: Path) -> None:
    """By brute force: raw readings with noise, solved anew each time with numpy, against the plan's residual."""
    quiet = "depth = 0\nangle = 0\ndiameter = 0\nradius = 0\ndensity_percent = 0\nbob_mass = 0\n"
    job.write_text(
        f"{job.read_text(encoding='utf-8')}\n[errors]\nreading_percent = 1.5\nreading_angle = 0.5\n{quiet}",
        encoding="utf-8",
    )
    ran = bobplan("odds", job, "--json")
    plan = bobplan("plan", job, "--no-store", "--json").json
    rng = np.random.default_rng(4)
    count = 20_000
    raw = []
    for run in tomllib.loads(job.read_text(encoding="utf-8"))["trials"]:
        exact = np.array([polar(run[side]["amount"], run[side]["phase"]) for side in ("left", "right")])
        amount, turn = rng.standard_normal((2, count, 2))
        raw.append(exact * (1 + 0.015 * amount) * np.exp(1j * np.radians(0.5) * turn))
    masses = [
        polar(float(run["unbalance"].split()[0]), run["angle"])
        for run in tomllib.loads(job.read_text(encoding="utf-8"))["trials"][1:]
    ]
    coefficients = np.stack([(raw[k + 1] - raw[0]) / masses[k] for k in (0, 1)], axis=2)
    drawn = np.linalg.solve(coefficients, raw[0][..., None])[..., 0]
    left = [vector(each) for each in plan["residual"]]
    # the true state is off from what the trials say by as much, the cuts do what was planned
    rest = drawn - np.array(UNBALANCE) + np.array(left)
    good = np.ones(count, dtype=bool)
    for at, limit in zip((0.0, 520.0), plan["judged"], strict=True):
        weight = (
            ((520.0 - 52.0) / 520.0, (520.0 - 468.0) / 520.0) if at == 0.0 else (52.0 / 520.0, 468.0 / 520.0)
        )
        good &= np.abs(weight[0] * rest[:, 0] + weight[1] * rest[:, 1]) <= limit["tolerance_gmm"]
    # the uncertainty takes the largest reading's noise for all of a side's runs: on the cautious side, never hopeful
    assert good.mean() - 0.12 < ran.json["chance"] < good.mean() + 0.02
    # a single reading's error would promise 99 percent and more
    assert ran.json["chance"] < 0.97
    assert "for the state in the trial runs" in bobplan("odds", job).out


def test_the_first_spin_goes_on_from_the_trials(bobplan: Bobplan, job: Path) -> None:
    """Bobs and speed as in the trial runs; history shows what they came to, and the first spin against it."""
    told = bobplan("history", job)
    assert "THE TRIAL RUNS (bobs 1724.0 g on every throw, 500 rpm)" in told.out
    assert "out of tolerance" in told.out
    plan = bobplan("plan", job, "--json").json
    for number in range(1, len(plan["steps"]) + 1):
        bobplan("done", str(number), "--job", job)
    checked = bobplan("check", job).out
    assert "made since the trial runs" in checked
    assert "the trial runs leave the state uncertain by" in checked
    four = [str(each[key]) for each in plan["foretold"] for key in ("amount", "angle_deg")]
    ran = bobplan("spin", *four, "--job", job)
    assert ran.code == 0, ran.err
    assert "bobs as for the trial runs: 1724.0 g on every throw" in ran.err
    told = bobplan("history", job, "--json").json
    assert [vector(each) for each in told["trials"]["reading"]] == pytest.approx(list(UNBALANCE), abs=1e-4)
    assert len(told["trials"]["cuts_after"]) == len(plan["steps"])
    spin = told["spins"][0]
    assert max(abs(vector(each)) for each in spin["difference"]) < 1.0
    assert spin["diagnosis"]["good"]
    out = bobplan("history", job).out
    assert "foretold" in out
    assert "500 rpm" in out.split("SPIN 1")[1]


class TestRawVibrationIsNoSpin:
    """Raw vibration typed into `spin` is refused with the command that takes it; the example's trial runs."""

    def test_the_readings_of_the_trial_runs(self, bobplan: Bobplan, job: Path) -> None:
        before = job.read_bytes()
        # what the instrument showed as it came: about 3.8 and 3.2, where the unbalance is 3480 and 2910 g*mm
        ran = bobplan("spin", "3.8", "254", "3.2", "63", "--job", job)
        assert ran.code == 2
        assert "3.8 and 3.2 look like raw vibration" in ran.err
        assert "`bobplan trial --reading 3.8 254 3.2 63`" in ran.err
        assert job.read_bytes() == before
        # the command that it names takes them
        assert bobplan("trial", job, "--reading", "3.8", "254", "3.2", "63").code == 0

    def test_of_their_size_though_no_tolerance_says_how_good_is_too_good(
        self, bobplan: Bobplan, job: Path
    ) -> None:
        text = job.read_text(encoding="utf-8")
        start = text.index("[tolerance]")
        job.write_text(text[:start] + text[text.index("\n[", start) + 1 :], encoding="utf-8")
        ran = bobplan("spin", "9", "254", "8", "63", "--job", job)
        assert ran.code == 2
        assert "look like raw vibration" in ran.err

    def test_after_a_correction_raw_numbers_are_smaller_still(self, bobplan: Bobplan, job: Path) -> None:
        ran = bobplan("spin", "0.3", "254", "0.2", "63", "--job", job)
        assert ran.code == 2
        assert "look like raw vibration" in ran.err

    @pytest.mark.parametrize(
        "four", [["3480", "214", "2910", "33"], ["170", "20", "90", "200"], ["60", "1", "25", "2"]]
    )
    def test_unbalance_passes_large_or_small(self, bobplan: Bobplan, job: Path, four: list[str]) -> None:
        assert "raw vibration" not in bobplan("spin", *four, "--job", job, "--seconds", "1").err
        assert len(tomllib.loads(job.read_text(encoding="utf-8"))["spins"]) == 1

    def test_a_typed_unit_is_taken_at_its_word(self, bobplan: Bobplan, job: Path) -> None:
        ran = bobplan("spin", "3.8 g*mm", "254", "3.2 g*mm", "63", "--job", job, "--seconds", "1")
        assert "raw vibration" not in ran.err
        assert len(tomllib.loads(job.read_text(encoding="utf-8"))["spins"]) == 1


class TestWhichWayThePhaseCounts:
    """A meter that shows the lag is told from one that shows the lead, or it is asked."""

    def asked(self, bobplan: Bobplan, path: Path, text: str) -> str:
        path.write_text(text, encoding="utf-8")
        ran = bobplan("trial", path, "--no-store")
        return ran.out + ran.err

    def test_three_runs_fit_both_ways_and_it_is_asked(self, bobplan: Bobplan, tmp_path: Path) -> None:
        rig = Rig()
        text = rig.job(rig.three_runs())
        # said in the file: nothing is asked
        assert "QUESTION" not in self.asked(bobplan, tmp_path / "job.toml", text)
        unsaid = text.replace('phase_grows = "with angles"\n', "")
        shown = self.asked(bobplan, tmp_path / "job.toml", unsaid)
        assert "QUESTION: does the phase grow or fall" in shown
        assert "taken, nobody said it" in shown

    @pytest.mark.parametrize("grows", ["with angles", "against angles"])
    def test_one_more_run_tells(self, bobplan: Bobplan, tmp_path: Path, grows: str) -> None:
        from planner.frames import MachineConvention

        rig = Rig(MachineConvention(phase_grows=grows))  # type: ignore[arg-type]
        runs = rig.three_runs() + rig.run("left again", plane="left", mass=polar(2400, 180))
        text = rig.job(runs).replace(f'phase_grows = "{grows}"\n', "")
        shown = self.asked(bobplan, tmp_path / "job.toml", text)
        if grows == "with angles":
            assert "told by the trial runs" in shown
            assert "QUESTION" not in shown
        else:
            assert "if the phase counted the other way" in shown
            assert "a meter that shows the lag instead of the lead" in shown

    def test_masses_on_one_line_tell_nothing(self, bobplan: Bobplan, tmp_path: Path) -> None:
        rig = Rig()
        runs = rig.three_runs() + rig.run("left again", plane="left", mass=polar(2400, 270))
        text = rig.job(runs).replace('phase_grows = "with angles"\n', "")
        assert "QUESTION: does the phase grow" in self.asked(bobplan, tmp_path / "job.toml", text)


@pytest.mark.parametrize(
    "machine",
    [
        MachineConvention(),
        MachineConvention(
            direction="cw", viewed_from="front", marks="light spot", phase_grows="against angles"
        ),
    ],
)
def test_what_was_read_in_vibration_is_foretold_in_vibration(
    machine: MachineConvention, bobplan: Bobplan, tmp_path: Path
) -> None:
    """The rotor's own response to what is left, worked out here: its coefficients are known, they made the trial runs."""
    rig = Rig(machine)
    path = tmp_path / "job.toml"
    path.write_text(rig.job(rig.three_runs(bobs="bobs = 1724.5625")), encoding="utf-8")
    plan = bobplan("plan", path, "--json").json
    left = list(UNBALANCE)
    for step in plan["steps"]:
        cut = polar(step["unbalance_gmm"], step["angle_deg"])
        share = (468.0 - step["z_mm"]) / (468.0 - 52.0)
        left[0] += share * cut
        left[1] += (1.0 - share) * cut
    expected = [rig.typed(row[0] * left[0] + row[1] * left[1]) for row in ALPHA]
    for found, (amount, phase) in zip(plan["foretold_raw"], expected, strict=True):
        assert found["amount"] == pytest.approx(amount, rel=1e-4)
        assert (found["phase_deg"] - phase + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=0.01)
    text = bobplan("plan", path).out
    assert f"In raw vibration, in the trial runs' unit: left {expected[0][0]:.4g} at" in text
    amount, phase = rig.typed(rig.reading()[0])
    assert re.search(rf"raw vibration +{amount:.4g} at {phase:.1f}", text)
    # spin after spin as well
    bobplan("done", *[str(step["number"]) for step in plan["steps"]], "--unproved", folder=tmp_path)
    numbers = [str(value) for side in plan["foretold"] for value in (side["amount"], side["angle_deg"])]
    bobplan("spin", *numbers, "--yes", folder=tmp_path)
    told = bobplan("history", folder=tmp_path).out
    assert told.count(f"{expected[0][0]:.4g} at") == 2


def test_a_job_without_trials_has_no_vibration_to_foretell(bobplan: Bobplan, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(EXAMPLE.read_text(encoding="utf-8").split("\n[plan]")[0], encoding="utf-8")
    ran = bobplan("plan", path, "--json")
    assert ran.json["foretold_raw"] is None
    assert "raw vibration" not in bobplan("plan", path).out
