"""A document on a terminal: nothing is wider than the window, nothing is lost, numbers stand under one another."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.present.document import (
    Figure,
    Line,
    Ticks,
    Values,
    block,
    document,
    lines,
    remarks,
    table,
    texts,
    working_blocks,
)
from planner.present.to_text import to_text, wide, window_columns, wrapped

SENTENCE = "The reading that would pass (display): left 51.0 g*mm at 193°, right 51.0 g*mm at 294°; 98 % of the residual."
CUTS = table(
    ("#", "cut", "dial", "drill", "on the stop", "first pass"),
    (
        ("1", "rim hole on A", "193°", "10 mm", "34.0 mm to the tip", "30.0 mm"),
        ("2", "hole 1 on D, deeper", "9.5°", "5/8 in", "7.25 mm to the tip, 4.0 mm deeper", "-"),
    ),
    below=("13° = 15.0 mm along the rim", "on the centre line"),
)


@given(
    st.text(st.characters(codec="ascii", categories=("L", "N", "P", "Zs")), max_size=300),
    st.integers(40, 120),
)
def test_no_word_is_lost_and_no_line_is_wider_than_the_window(text: str, columns: int) -> None:
    found = wrapped(text, columns, first="- ", then="  ")
    assert " ".join(found).removeprefix("-").split() == text.split()
    for line in found:
        assert wide(line) <= columns or len(line.split()) <= 2


def test_what_belongs_together_is_not_parted() -> None:
    for columns in range(40, 110):
        text = "\n".join(wrapped(SENTENCE + " Call `bobplan spin ... --known-mass 10` now.", columns))
        assert "51.0 g*mm" in text
        assert "at 193°" in text
        assert "98 %" in text
        assert "`bobplan spin ... --known-mass 10`" in text


def test_a_sentence_stands_in_under_its_mark() -> None:
    text = to_text(document(block("", lines(SENTENCE, level=1, mark="-"))), columns=50)
    first, *rest = text.splitlines()
    assert first.startswith("  - The reading")
    assert rest
    assert all(line.startswith("    ") and line[4] != " " for line in rest)


def test_the_decimal_points_of_a_column_stand_under_one_another() -> None:
    amounts = ("3480 g*mm", "84.3 g*mm", "-", "1.25 g*mm")
    shown = to_text(
        document(block("", table(("amount", "at"), [(each, "x") for each in amounts]))), columns=80
    )
    _, *rows = shown.splitlines()
    points = [re.search(r"\d(?=[. ])", row) for row in rows]
    assert {found.start() for found in points if found is not None} == {3}
    assert rows[2].startswith("   -")


def test_fractions_and_words_are_not_pushed_about() -> None:
    drills = to_text(document(block("", table(("drill",), (("5/8 in",), ("10 mm",))))), columns=80)
    assert drills == "drill\n5/8 in\n10 mm"


@pytest.mark.parametrize("columns", [60, 80, 200])
def test_a_row_and_what_is_below_it_stay_together(columns: int) -> None:
    shown = to_text(document(block("PLAN", CUTS)), columns=columns)
    assert all(wide(line) <= columns for line in shown.splitlines())
    places = [shown.index(word) for word in ("PLAN", "#", "193°", "13° =", "9.5°", "on the centre")]
    assert places == sorted(places)
    # every word of every cell is there, in whatever lines
    for row in CUTS.rows:
        for cell in row:
            for word in cell.split():
                assert word in shown


def test_a_table_too_wide_even_so_comes_in_bands_under_its_first_column() -> None:
    names = [f"cylinder{number}" for number in range(1, 13)]
    wide_table = table(("part", *names), [("weighs", *(f"{number}.5" for number in range(1, 13)))])
    shown = to_text(document(block("", wide_table)), columns=60)
    assert all(wide(line) <= 60 for line in shown.splitlines())
    assert shown.count("weighs") == shown.count("part") > 1
    assert [name for name in shown.split() if name.startswith("cylinder")] == names


def test_wide_letters_take_two_columns() -> None:
    shown = to_text(document(block("", table(("name", "x"), (("曲軸", "1"), ("abcd", "2"))))), columns=80)
    first, second = shown.splitlines()[1:]
    assert wide("曲軸") == 4
    assert wide(first[: first.index("1")]) == wide(second[: second.index("2")])


def test_the_other_parts() -> None:
    whole = document(
        block(
            "HEAD",
            remarks("note", ["one"], level=1),
            Values(rows=(("zero mark", "proved"), ("unit", "not yet")), level=1),
            Ticks(boxes=(("guard closed", None),)),
            Figure(caption="drawn", file="plan.pdf"),
        ),
        None,
        block(""),
        working_blocks(["WORKING", "  a = 1", "", "b = 2"]),
    )
    assert to_text(whole, columns=80) == (
        "HEAD\n  note: one\n  zero mark  proved\n  unit       not yet\n[ ] guard closed\ndrawn: plan.pdf\n\n"
        "WORKING\n  a = 1\n\nb = 2"
    )
    assert texts(block("A", Line("b"), remarks("note", ["c"]))) == ("A", "b", "note: c")


def test_the_window_is_80_when_piped_and_columns_is_obeyed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    monkeypatch.setattr("os.get_terminal_size", lambda *_: (_ for _ in ()).throw(OSError()))
    assert window_columns() == 80
    monkeypatch.setenv("COLUMNS", "132")
    assert window_columns() == 132
    monkeypatch.setenv("COLUMNS", "7")
    assert window_columns() == 40


def test_a_table_without_heads_begins_with_its_first_row() -> None:
    rows = (("static", "282.1 g*mm"), ("couple", "1100.1 g*mm"))
    assert to_text(document(block("", table(("", ""), rows)))).splitlines() == [
        "static   282.1 g*mm",
        "couple  1100.1 g*mm",
    ]


def test_blocks_and_bare_parts_one_after_another_are_all_kept_in_their_order() -> None:
    whole = document([*lines("before"), block("HEAD", lines("within", level=1)), *lines("after")])
    said = [line.strip() for line in to_text(whole, columns=80).splitlines() if line.strip()]
    assert said == ["before", "HEAD", "within", "after"]
