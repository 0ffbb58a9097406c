"""Drills by number and letter and taps, as typed; the jobs are invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.jobfile.read import load_job
from planner.present.words import drill_words
from planner.quantity import QuantityError, UnitSystem
from planner.rotor.drills import drill_size, is_named_drill, named_drill_mm, number_or_letter, parse_drill_mm

WHOLE = (Path(__file__).parent / "data" / "whole_job.toml").read_text(encoding="utf-8")
INCHES = UnitSystem(length="in", mass="g", unbalance="oz*in")


@pytest.mark.parametrize(
    ("text", "size_in"),
    [
        ("#7", 0.201),
        ("# 7", 0.201),
        ("No. 7", 0.201),
        ("no 7", 0.201),
        ("number 7 drill", 0.201),
        ("#5", 0.2055),
        ("letter F", 0.257),
        ("F", 0.257),
        ("f drill", 0.257),
        ("Z", 0.413),
        ("#80", 0.0135),
        ("tap 3/8-16", 0.3125),
        ("3/8-16 tap", 0.3125),
        ("tap 3/8 - 16 UNC", 0.3125),
        ("tap 5/16-18", 0.257),
        ("tap 1-8", 0.875),
    ],
)
def test_names_are_read(text: str, size_in: float) -> None:
    assert named_drill_mm(text) == pytest.approx(size_in * 25.4, abs=1e-12)
    assert is_named_drill(text)
    assert parse_drill_mm(text, INCHES) == parse_drill_mm(text, UnitSystem())


def test_metric_taps_are_read() -> None:
    assert named_drill_mm("tap M10") == named_drill_mm("tap M10x1.5") == 8.5
    assert named_drill_mm("M10 x 1 tap") == 9.0


@pytest.mark.parametrize("text", ["12", "1/2 in", "14 mm", "9/16", "in", "", "7#"])
def test_other_texts_are_no_names(text: str) -> None:
    assert named_drill_mm(text) is None
    assert not is_named_drill(text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("#81", "from #1 .* to #80"),
        ("#0", "from #1 .* to #80"),
        ("tap 3/8-17", "not in the table"),
        ("M10", "this is a thread"),
        ("3/8-16", "this is a thread"),
    ],
)
def test_what_is_in_no_table_is_said(text: str, says: str) -> None:
    with pytest.raises(QuantityError, match=says):
        parse_drill_mm(text, INCHES)


def test_sizes_get_their_name_back_where_no_round_size_is_the_same() -> None:
    assert number_or_letter(0.201 * 25.4) == "#7"
    assert number_or_letter(0.257 * 25.4) == "letter F"
    assert number_or_letter(0.25 * 25.4) is None  # letter E is 1/4 in
    assert number_or_letter(14.0) is None
    assert number_or_letter(0.2011 * 25.4) is None


def test_a_job_with_named_drills_says_them_as_typed(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    old = 'drills = [10, 12, 14, "5/8 in"]'
    assert old in WHOLE
    path.write_text(WHOLE.replace(old, 'drills = ["No. 7", "letter F", "tap 3/8-16", 12]'), encoding="utf-8")
    job = load_job(path)
    assert job.shop.drills_mm == pytest.approx((0.201 * 25.4, 0.257 * 25.4, 0.3125 * 25.4, 12.0))
    assert [drill_words(job, each) for each in job.shop.drills_mm] == [
        "No. 7",
        "letter F",
        "tap 3/8-16",
        "12 mm",
    ]
    assert any("tap drill is reckoned with" in each for each in job.notes)


def test_a_made_cut_is_written_back_by_name(tmp_path: Path) -> None:
    from planner.jobfile.render import diameter

    assert diameter(0.201 * 25.4, UnitSystem()) == '"#7"'
    assert diameter(0.201 * 25.4, INCHES) == '"#7"'
    assert diameter(14.0, UnitSystem()) == "14"


@pytest.mark.parametrize(
    ("size_mm", "in_mm", "in_inches"),
    [
        (14.0, "14 mm", "14 mm"),
        (12.3, "12.3 mm", "12.3 mm"),
        (14.05, "14.05 mm", "0.553 in"),
        (12.7, "1/2 in", "1/2 in"),
        (25.4 * 33 / 64, "33/64 in", "33/64 in"),
        # two inches and a half are 63.5 mm too: called as the shop counts
        (63.5, "63.5 mm", "2 1/2 in"),
        (0.201 * 25.4, "#7", "#7"),
        (0.257 * 25.4, "letter F", "letter F"),
        # letter E is a quarter of an inch, number 2 is 0.221 in and nothing else
        (6.35, "1/4 in", "1/4 in"),
        (0.221 * 25.4, "#2", "#2"),
    ],
)
def test_a_drill_is_called_as_it_is_stamped(size_mm: float, in_mm: str, in_inches: str) -> None:
    assert drill_size(size_mm, UnitSystem()) == in_mm
    assert drill_size(size_mm, INCHES) == in_inches


def test_what_the_shop_calls_a_drill_goes_first() -> None:
    assert drill_size(0.201 * 25.4, INCHES, {5.1054: "No. 7"}) == "No. 7"
