"""``bobplan grade`` as a user types it."""

from __future__ import annotations

import json

import pytest
import typer
from typer.testing import CliRunner

from planner.cli.grade_command import grade
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
    assert "= 1000 * 6.3 * 25 / 680.68 = 231.4 g*mm" in text
    assert "bearing 1: (520 - 250) / (520 - 0) = 0.5192" in text
    assert "231.4 / 720.078 = 0.321 oz*in" in text
    work = json.loads(run(*GRADE, "--show-work", "--json").stdout)["work"]
    assert work[-1] == "each bearing: 231.4 / 2 = 115.7 g*mm"


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


def test_the_list(run):
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
