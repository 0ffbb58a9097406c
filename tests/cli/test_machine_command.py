"""`bobplan machine`: residual, index and repeat as a user types them, and the tooling's error through to the plan.

All data invented but the readings of the residual test (see tests/remembered/test_api_617_residual_test.py).
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from planner.rotor.vectors import angle_deg
from tests.cli.conftest import Ran
from tests.trial_samples import polar

Bobplan = Callable[..., Ran]
SIX = ["14", "12", "14", "23.5", "23", "15.5"]


def vector(entry: dict[str, float]) -> complex:
    return polar(entry["amount_gmm"], entry["angle_deg"])


def test_residual_shows_both_figures_and_judges_the_larger(bobplan: Bobplan) -> None:
    ran = bobplan(
        "machine", "residual", *SIX, "--trial", "21.3 g-in", "--limit", "13.27 g-in", "--unit", "g-in"
    )
    assert ran.code == 0
    assert "6.90 g*in" in ran.out
    assert "8.60 g*in, heavy at 215.2°" in ran.out
    assert "PASSED: the larger figure is 8.60 g*in, the limit 13.3 g*in" in ran.out
    tight = bobplan("machine", "residual", *SIX, "--trial", "21.3", "--limit", "8", "--unit", "g-in")
    assert tight.code == 1
    assert "NOT PASSED" in tight.out
    assert "one figure passes and the other does not" in tight.out


def test_residual_json_work_and_repeat(bobplan: Bobplan) -> None:
    ran = bobplan(
        "machine", "residual", *SIX, "--trial", "21.3 g-in", "--first-again", "11", "--show-work", "--json"
    )
    assert ran.code == 0
    assert ran.json["published_gmm"] == pytest.approx(6.9 * 25.4)
    assert ran.json["exact_gmm"] == pytest.approx(8.5955426 * 25.4)
    assert ran.json["passed"] is None
    assert ran.json["first_again"] == pytest.approx(-3.0 / 17.0)
    assert any("something drifts" in note for note in ran.json["notes"])
    assert any("541.02 * (23.5 - 12) / (23.5 + 12) = 175.26" in line for line in ran.json["working"])


@pytest.mark.parametrize(
    "text",
    [
        "place,reading\n0,14\n60,12\n120,14\n180,23.5\n240,23\n300,15.5\n",
        "300;15.5\n0;14\n60;12\n120;14\n\n180;23.5\n240;23\n",
        "14\n12\n14\n23.5\n23\n15.5\n",
    ],
    ids=["names", "any order", "readings alone"],
)
def test_residual_from_csv(bobplan: Bobplan, tmp_path: Path, text: str) -> None:
    path = tmp_path / "readings.csv"
    path.write_text(text, encoding="utf-8")
    ran = bobplan("machine", "residual", "--csv", path, "--trial", "21.3", "--json")
    assert ran.json["published_gmm"] == pytest.approx(6.9)
    assert ran.json["heavy_spot_deg"] == pytest.approx(215.218, abs=1e-3)


def test_repeat_gives_the_line_for_the_tolerance(bobplan: Bobplan) -> None:
    numbers = ["12", "-1", "5", "90", "10", "0", "5", "90", "11", "359", "8", "90"]
    ran = bobplan("machine", "repeat", *numbers, "--json")
    left, right = ran.json["planes"]
    assert right["mean"] == {"amount_gmm": 6.0, "angle_deg": 90.0}
    assert right["radius_gmm"] == pytest.approx(2.0)
    assert right["deviation_gmm"] == pytest.approx((6.0 / 2.0) ** 0.5)
    assert left["radius_gmm"] == pytest.approx(1.0, abs=0.1)
    text = bobplan("machine", "repeat", *numbers, "--show-work").out
    assert 'measurement_error = "2 g*mm"' in text
    assert "five readings or more" in text
    assert "right: mean = sum of M / 3 = X" in text


def test_repeat_line_is_read_by_a_job(bobplan: Bobplan, example: Callable[[str], Path]) -> None:
    from planner.jobfile.read import load_job

    path = example("cross_plane_v8") / "job.toml"
    out = bobplan("machine", "repeat", "10", "0", "5", "90", "12", "0", "5", "90", "--unit", "oz-in").out
    line = next(line for line in out.splitlines() if line.startswith("measurement_error"))
    path.write_text(
        path.read_text(encoding="utf-8").replace("[tolerance]\n", f"[tolerance]\n{line}\n"), encoding="utf-8"
    )
    tolerance = load_job(path).tolerance
    assert tolerance is not None
    assert tolerance.measurement_error_gmm == pytest.approx(720.078, rel=1e-3)


def test_one_plane_and_work_of_index(bobplan: Bobplan) -> None:
    arguments = ["machine", "index", "10", "0", "4", "0", "--one-plane", "--mark", "tooling"]
    (plane,) = bobplan(*arguments, "--json").json["planes"]
    assert plane["tooling"] == {"amount_gmm": 7.0, "angle_deg": 0.0}
    assert plane["crankshaft"] == {"amount_gmm": 3.0, "angle_deg": 0.0}
    out = bobplan(*arguments, "--show-work").out
    assert "[[known_errors]] of a job file needs both planes" in out
    assert "single: crankshaft = (M0 - M1)/2 = X +3 Y +0" in out
    swapped = bobplan(
        "machine", "index", "10", "0", "4", "0", "--one-plane", "--mark", "crankshaft", "--json"
    )
    assert swapped.json["planes"][0]["tooling"]["amount_gmm"] == 3.0


def test_four_positions_show_scatter_and_the_way_it_was_turned(bobplan: Bobplan) -> None:
    numbers = []
    for step in range(4):
        for tooling, crankshaft in ((polar(20, 30), polar(90, 200)), (polar(10, 300), polar(50, 10))):
            total = tooling + crankshaft * polar(1, -90 * step)
            numbers += [f"{abs(total):.9f}", f"{angle_deg(total):.9f}"]
    ran = bobplan("machine", "index", *numbers, "--mark", "tooling", "--json")
    left, right = ran.json["planes"]
    assert vector(left["tooling"]) == pytest.approx(polar(20, 30), abs=1e-6)
    assert vector(right["crankshaft"]) == pytest.approx(polar(50, 10), abs=1e-6)
    assert left["turned_with_angles"] is False
    assert (
        "turned toward falling angles (left plane)"
        in bobplan("machine", "index", *numbers, "--mark", "tooling").out
    )


TOOLING = (polar(300, 70), polar(180, 250))  # in the crankshaft frame, as it stands in the first position


def test_the_toolings_error_is_taken_out_and_put_back(
    bobplan: Bobplan, example: Callable[[str], Path]
) -> None:
    path = example("cross_plane_v8") / "job.toml"
    clean = bobplan("plan", path, "--json", "--no-store").json
    truth = [vector(each) for each in clean["reading"]]
    # the index test, read on this machine (ccw from the front, zero at throw 1: the crankshaft frame), mark on the tooling
    numbers = []
    for turn in (1, -1):
        for tooling, own in zip(TOOLING, truth, strict=True):
            total = tooling + turn * own
            numbers += [f"{abs(total):.9f}", f"{angle_deg(total):.9f}"]
    out = bobplan("machine", "index", *numbers, "--mark", "tooling", "--job", path, "--name", "adapter").out
    lines = out[out.index("[[known_errors]]") :]
    assert "angles as typed" not in lines
    text = path.read_text(encoding="utf-8")
    for tooling, own, old in zip(
        TOOLING, truth, ("{ amount = 3480, angle = 214 }", "{ amount = 2910, angle = 33 }"), strict=True
    ):
        total = tooling + own
        assert old in text
        text = text.replace(old, f"{{ amount = {abs(total):.9f}, angle = {angle_deg(total):.9f} }}")
    path.write_text(f"{text}\n{lines}\n", encoding="utf-8")
    plan = bobplan("plan", path, "--json").json
    for index in (0, 1):
        assert abs(vector(plan["reading"][index]) - truth[index] - TOOLING[index]) < 0.01
        assert abs(vector(plan["known_errors"][index]) - TOOLING[index]) < 0.01
        assert abs(vector(plan["unbalance"][index]) - vector(clean["unbalance"][index])) < 0.02
        # the display will show the tooling's error again, and the bobs as they are on
        shown = polar(plan["foretold"][index]["amount"], plan["foretold"][index]["angle_deg"])
        expected = vector(plan["residual"][index]) - vector(plan["bob_shift"][index]) + TOOLING[index]
        assert abs(shown - expected) < 0.02
    assert "tooling taken out" in bobplan("plan", path).out


def test_a_machine_that_marks_the_light_spot_from_the_rear(
    bobplan: Bobplan, example: Callable[[str], Path]
) -> None:
    """Amounts are masses at the planes' radii there; the lines to paste are in the crankshaft's own frame."""
    from planner.jobfile.read import load_job

    folder = example("inline_three_light_spot")
    job = load_job(folder / "job.toml")
    machine = job.machine
    assert machine.marks == "light spot"
    assert machine.mass_at_radius
    own = (polar(900, 10), polar(700, 140))
    numbers = []
    for turn in (1, -1):
        for side, tooling, rotor in zip(("left", "right"), TOOLING, own, strict=True):
            total = tooling + turn * rotor
            radius = machine.left_radius_mm if side == "left" else machine.right_radius_mm
            assert radius is not None
            display = machine.sense * (angle_deg(total) - machine.zero_deg) + 180.0
            numbers += [f"{abs(total) / radius:.9f}", f"{display % 360.0:.9f}"]
    ran = bobplan("machine", "index", *numbers, "--mark", "tooling", "--job", folder, "--json")
    (entry,) = tomllib.loads(ran.json["known_errors"])["known_errors"]
    for side, tooling in zip(("left", "right"), TOOLING, strict=True):
        amount = float(entry[side]["amount"].removesuffix(" g*mm"))
        assert abs(polar(amount, entry[side]["angle"]) - tooling) < 0.01


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["residual", *SIX], "the trial unbalance is not given"),
        (["residual", *SIX[:5], "--trial", "5"], "given 5 readings; the test has 6, 8 or 12"),
        (["residual", *SIX, "--trial", "5 mm"], "--trial"),
        (["residual", *SIX[:5], "x", "--trial", "5"], "reading: given `x`"),
        (["residual", "--trial", "5"], "no readings are given; one amount"),
        (["residual", "--trial", "5", "--csv", "nowhere.csv"], "nowhere.csv"),
        (["residual", *SIX, "--trial", "5", "--csv", "nowhere.csv"], "on the command line and in a CSV file"),
        (["residual", *SIX, "--trial", "5", "--limit", "0"], "--limit"),
        (["index", "1", "2", "3", "4", "5", "6", "7", "8"], "--mark: nothing given"),
        (["index", "1", "2", "--mark", "bench"], "--mark: given `bench`"),
        (["index", "1", "2", "3", "--mark", "tooling"], "given 3 numbers; left amount"),
        (["index", "1", "2", "3", "4", "--mark", "tooling"], "needs at least two"),
        (["index", "1", "400", "3", "4", "5", "6", "7", "8", "--mark", "tooling"], "left angle: given `400`"),
        (["repeat", "1", "2", "3", "4"], "scatter needs at least two"),
        (["repeat", "-1", "2", "3", "4", "1", "2", "3", "4"], "left amount"),
        (["repeat", "1", "2", "3", "4", "--unit", "mm"], "mm"),
    ],
)
def test_bad_input(arguments: list[str], says: str, bobplan: Bobplan) -> None:
    ran = bobplan("machine", *arguments)
    assert ran.code == 2
    assert says in ran.err
    assert ran.out == ""


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "has no readings"),
        ("name,angle\n", "has no readings"),
        ("0,1\n50,1\n120,1\n180,1\n240,1\n300,1\n", "the places are not evenly spaced: 60 degrees apart"),
        ("0,1\n60\n", "reading 2 has 1 columns"),
        ("1,2,3\n", "reading 1 has 3 columns"),
        ("1\n" * 1001, "has 1001 rows"),
    ],
)
def test_bad_csv(text: str, says: str, bobplan: Bobplan, tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    path.write_text(text, encoding="utf-8")
    ran = bobplan("machine", "residual", "--csv", path, "--trial", "5")
    assert ran.code == 2
    assert says in ran.err


def test_csv_that_is_no_text(bobplan: Bobplan, tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    path.write_bytes(b"\xff\xfe1\x00")
    ran = bobplan("machine", "residual", "--csv", path, "--trial", "5")
    assert ran.code == 2
    assert "is no text in UTF-8" in ran.err


def test_lines_for_the_job_file_are_in_the_users_unit(
    bobplan: Bobplan, example: Callable[[str], Path]
) -> None:
    folder = example("external_balance_v8")
    readings = ["7.85", "12", "7.07", "205", "7.80", "13", "7.10", "204"]
    out = bobplan("machine", "repeat", *readings, "--job", folder).out
    # by hand: half the distance of the two left readings
    half = abs(polar(7.85, 12) - polar(7.8, 13)) / 2
    assert f'measurement_error = "{half:.5f} oz*in"' in out
    turned = ["7.85", "12", "7.07", "205", "7.80", "192", "7.10", "24"]
    out = bobplan("machine", "index", *turned, "--mark", "tooling", "--job", folder).out
    assert 'left = { amount = "0.025 oz*in", angle = 12.000 }' in out


def test_reduction_in_two_units_and_from_csv(bobplan: Bobplan, tmp_path: Path) -> None:
    """A machine that reads 0.96 times the amount: every ratio is 96 %; by hand from two vectors."""
    import cmath
    import math

    rows = []
    for k in range(1, 12):
        exact = 2.0 + cmath.rect(10.0, math.radians(30 * k))
        rows.append((0.96 * abs(exact), math.degrees(cmath.phase(exact)) % 360.0))
    four = [f"{each:.6f}" for row in rows for each in row]
    ran = bobplan("machine", "reduction", *four, "--stationary", "2 oz-in", "--unit", "oz-in", "--json")
    assert ran.code == 0, ran.err
    assert ran.json["worst"] == pytest.approx(0.96, abs=1e-5)
    assert ran.json["gain"] == pytest.approx(0.96, abs=1e-5)
    assert "from memory" in ran.json["source"]
    strict = bobplan(
        "machine",
        "reduction",
        *four,
        "--stationary",
        "2 oz-in",
        "--unit",
        "oz-in",
        "--ratio",
        "97",
        "--show-work",
    )
    assert strict.code == 1
    assert "NOT PASSED: the least ratio is 96.0 %, 97 % is claimed" in strict.out
    assert "with that taken out the least ratio is 100.0 %" in strict.out
    assert "WORKING" in strict.out
    path = tmp_path / "runs.csv"
    path.write_text(
        "place,amount,angle\n" + "".join(f"{30 * k},{a},{b}\n" for k, (a, b) in enumerate(rows, 1))
    )
    told = bobplan(
        "machine", "reduction", "--csv", path, "--stationary", "2 oz-in", "--unit", "oz-in", "--json"
    )
    assert told.json["worst"] == pytest.approx(ran.json["worst"], abs=1e-6)
    assert bobplan("machine", "reduction", *four).code == 2
