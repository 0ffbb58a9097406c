"""``bobplan grade`` as a user types it."""

from __future__ import annotations

import json

import pytest
import typer
from typer.testing import CliRunner

from planner.cli.grade import grade
from planner.errors import InputError

GRADE = ["--grade", "6.3", "--mass", "25 kg", "--speed", "6500"]
BEARINGS = ["--bearing-1-z", "0", "--bearing-2-z", "520", "--centre-of-mass-z", "250"]


@pytest.fixture
def run():
    app = typer.Typer(rich_markup_mode=None, add_completion=False)
    app.command()(grade)

    def invoke(*arguments: str):
        result = CliRunner().invoke(app, list(arguments))
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return invoke


def test_json_has_total_and_bearings(run):
    result = run(*GRADE, *BEARINGS, "--json")
    answer = json.loads(result.stdout)
    # by calculator: 1000*6.3*25/680.678 = 231.387; shares 270/520 and 250/520
    assert answer["total_gmm"] == pytest.approx(231.387, abs=0.001)
    assert answer["bearing_1_gmm"] == pytest.approx(120.143, abs=0.001)
    assert answer["bearing_2_gmm"] == pytest.approx(111.244, abs=0.001)
    assert answer["total_ozin"] == pytest.approx(231.387 / 720.077887375, abs=1e-5)
    assert result.exit_code == 0
    assert result.stderr == ""


@pytest.mark.parametrize("spelling", ["G 6.3", "6.3", "G6.3"])
def test_spellings_of_the_grade(run, spelling):
    answer = json.loads(run("--grade", spelling, "--mass", "25 kg", "--speed", "6500 rpm", "--json").stdout)
    assert answer["total_gmm"] == pytest.approx(231.387, abs=0.001)
    assert answer["bearing_1_gmm"] == pytest.approx(answer["bearing_2_gmm"])


def test_words_in_both_units(run):
    text = run(*GRADE, *BEARINGS, "--radius", "80").stdout
    assert "G 6.3, crankshaft 25 kg, greatest service speed 6500 rpm" in text
    total, first, second = (line for line in text.splitlines() if "g*mm" in line)
    assert "231.4 g*mm" in total
    assert "0.321 oz*in" in total
    assert "2.89 g at 80 mm" in total
    assert "bearing 1" in first
    assert "120.1 g*mm" in first
    assert "52 %" in first
    assert "111.2 g*mm" in second
    assert "lever rule about the centre of mass at z = 250 mm" in text


def test_show_work_prints_the_numbers(run):
    text = run(*GRADE, *BEARINGS, "--show-work").stdout
    assert "= 1000 * 6.3 * 25 / 680.67841 = 231.387 g*mm" in text
    assert "share of bearing 1 = (z2 - zs) / (z2 - z1)" in text
    assert "= (520 - 250) / (520 - 0) = 0.519231" in text
    assert "/ 720.078 = 0.321336 oz*in" in text
    work = json.loads(run(*GRADE, "--show-work", "--json").stdout)["work"]
    assert work[-2] == "each bearing = U_per / 2"
    assert work[-1].endswith(" / 2 = 115.693 g*mm")


def test_bare_mass_is_grams_and_questioned(run):
    result = run("--grade", "6.3", "--mass", "25", "--speed", "6500", "--json")
    assert json.loads(result.stdout)["mass_kg"] == 0.025
    assert "25 g is very light for a crankshaft, did you mean 25 kg?" in result.stderr
    assert result.exit_code == 0
    assert "did you mean" not in run("--grade", "6.3", "--mass", "0.5 lb", "--speed", "6500").stderr


def test_slow_speed_and_odd_grade_are_questioned(run):
    result = run("--grade", "10", "--mass", "25 kg", "--speed", "500")
    assert "500 rpm is slow for an engine" in result.stderr
    assert "G 10 is no standard grade; the nearest are G 16 and G 6.3" in result.stderr
    assert "nearest are G 0.4" in run("--grade", "0.2", "--mass", "25 kg", "--speed", "6500").stderr
    assert run(*GRADE).stderr == ""


@pytest.mark.parametrize(
    ("centre", "said"),
    [
        ("20 mm", "each share is kept within 0.3..0.7 of the total"),
        ("-2 in", "lies outside the bearings: each share is kept within 0.3..1.3 of the total"),
    ],
)
def test_limits_of_the_shares_are_said(run, centre, said):
    assert said in run(*GRADE, *BEARINGS[:4], "--centre-of-mass-z", centre).stdout


def test_what_was_not_given_is_said(run):
    assert "half at each bearing" in run(*GRADE).stdout
    text = run(*GRADE, *BEARINGS[:4]).stdout
    assert "centre of mass at z = 260 mm (not given: the middle of the bearings)" in text


def test_the_list(run, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    text = run("--list").stdout
    assert text.count("\nG ") == 11
    assert max(len(line) for line in text.splitlines()) <= 80
    rows = json.loads(run("--list", "--json").stdout)["grades"]
    assert [row["grade_mm_per_s"] for row in rows] == [4000, 1600, 630, 250, 100, 40, 16, 6.3, 2.5, 1, 0.4]


@pytest.mark.parametrize(
    ("arguments", "match"),
    [
        ([], "not given: --grade, --mass, --speed; a permissible residual needs"),
        (["--grade", "6.3"], "not given: --mass, --speed; a permissible residual needs"),
        (
            ["--grade", "fine", *GRADE[2:]],
            "given the balance grade `fine`; a balance grade is a positive number",
        ),
        ([*GRADE[:2], "--mass", "0", *GRADE[4:]], "--mass: given `0`; more than 0 g is allowed"),
        ([*GRADE[:4], "--speed", "6500 km"], "--speed: given `6500 km`; a speed is in rpm"),
        ([*GRADE, "--bearing-1-z", "0"], "given only some of --bearing-1-z"),
        ([*GRADE, "--centre-of-mass-z", "0"], "given only some of --bearing-1-z"),
        (
            [*GRADE, "--bearing-1-z", "0", "--bearing-2-z", "0"],
            "both bearings at z = 0 mm; they must be apart",
        ),
        ([*GRADE, *BEARINGS, "--radius", "0"], "--radius: given `0`; more than 0 mm is allowed"),
    ],
)
def test_bad_input(run, arguments, match):
    with pytest.raises(InputError, match=match):
        run(*arguments)


def test_the_drives_mass_counts_where_it_is_given(run):
    own = run("--grade", "16", "--mass", "24 kg", "--speed", "6500")
    assert "means the crankshaft drive" in own.stdout
    assert "flywheel, clutch" in own.stdout
    drive = json.loads(
        run("--grade", "16", "--mass", "24 kg", "--drive-mass", "36 kg", "--speed", "6500", "--json").stdout
    )
    # ISO 21940-11: proportional to the mass; 9549.30 * G * m / n
    assert drive["total_gmm"] == pytest.approx(9549.30 * 16 * 36 / 6500, rel=1e-5)
    assert drive["of_drive"]
    alone = run("--grade", "16", "--drive-mass", "36 kg", "--speed", "6500")
    assert "crankshaft drive 36 kg" in alone.stdout
    assert "--drive-mass`" not in alone.stdout
    with pytest.raises(InputError, match="less than the crankshaft's own"):
        run("--grade", "16", "--mass", "24 kg", "--drive-mass", "20 kg", "--speed", "6500")


def test_what_is_from_memory_is_said_on_the_screen(run):
    three = ("--mass", "24 kg", "--speed", "6500", "--bearing-1-z", "0", "--bearing-2-z", "500")
    inside = run("--grade", "16", *three).stdout
    assert "limits 0.3..0.7 of the shares: Bloch & Geitner, ch. 6, p. 307" in inside
    assert "lever rule's clause in the standard: from memory" in inside
    outside = run("--grade", "16", *three, "--centre-of-mass-z", "600").stdout
    assert "limits 0.3..1.3 of rotors with the centre of mass outside the bearings: from memory" in outside
    assert "what G 2.5 is for: partly from memory" in run("--grade", "2.5", *three).stdout
    assert "crankshaft drive" not in run("--grade", "2.5", *three).stdout


def test_static_and_couple_limits_of_planes_close_together(run):
    """By hand: U = 9549.30 * 16 * 24 / 6500 = 564.1; d = 520, b = 100: U/2 and U/2 * 3 d/(4 b)."""
    two = ("--bearing-1-z", "0", "--bearing-2-z", "520")
    one = ("--grade", "16", "--mass", "24 kg", "--speed", "6500", *two)
    ran = run(*one, "--plane-1-z", "200", "--plane-2-z", "300", "--json")
    found = json.loads(ran.stdout)["static_and_couple"]
    total = 9549.30 * 16 * 24 / 6500
    assert (found["static_gmm"], found["couple_gmm"]) == pytest.approx(
        (total / 2, total / 2 * 3 * 520 / 400), rel=1e-5
    )
    assert found["needed"]
    assert found["case"] == "between"
    # a third of the bearings' distance is the bound
    for far, needed in (("373", True), ("374", False)):
        assert (
            json.loads(run(*one, "--plane-1-z", "200", "--plane-2-z", far, "--json").stdout)[
                "static_and_couple"
            ]["needed"]
            is needed
        )
    # both planes outside: the farther one is 120 from the bearing, U/2 * d/(2 c)
    over = json.loads(run(*one, "--plane-1-z", "580", "--plane-2-z", "640", "--json").stdout)[
        "static_and_couple"
    ]
    assert over["case"] == "overhung"
    assert over["static_gmm"] == pytest.approx(total / 2 * 520 / 240, rel=1e-5)
    assert over["couple_gmm"] == pytest.approx(total / 2 * 3 * 520 / (4 * 60), rel=1e-5)
    shown = run(*one, "--plane-1-z", "200", "--plane-2-z", "300")
    assert "formulas from memory, to be checked against the standard" in shown.stdout
    assert '[tolerance] static = "282.1 g*mm", couple = "1100.1 g*mm"' in shown.stdout
    with pytest.raises(InputError, match="need both planes and both bearings"):
        run("--grade", "16", "--mass", "24 kg", "--speed", "6500", "--plane-1-z", "1")
