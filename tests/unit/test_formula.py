"""A formula prints what it reckons, and refuses a value that it does not give."""

from __future__ import annotations

import math

import pytest

from planner.formula import Formula, working_lines


def test_symbols_and_numbers() -> None:
    """A cone of a 14 mm drill of 118 degrees, by hand: 7 / tan 59 = 4.2060."""
    cone = Formula(
        name="c",
        symbols="d / (2 * tan(point angle / 2))",
        of={"d": 14.0, "point angle": 118.0},
        value=7.0 / math.tan(math.radians(59.0)),
        unit="mm",
        remark="the drill's point",
    )
    assert cone.lines() == (
        "c = d / (2 * tan(point angle / 2))      (the drill's point)",
        "  = 14 / (2 * tan(118 / 2)) = 4.20602 mm",
    )
    assert list(working_lines(["first", cone])) == ["first", *cone.lines()]


def test_longer_names_win_and_negative_numbers_are_in_brackets() -> None:
    found = Formula(
        name="x",
        symbols="slug density - density * s",
        of={"density": -2.0, "slug density": 17.0, "s": 3.0},
        value=23.0,
    )
    assert found.lines()[1] == "  = 17 - (-2) * 3 = 23"


@pytest.mark.parametrize(
    ("symbols", "of", "value"),
    [
        ("a^2 * 10^-6", {"a": 3.0}, 9e-6),
        ("-a^2", {"a": 3.0}, -9.0),
        ("a^2", {"a": -3.0}, 9.0),
        ("pi * sqrt(a)", {"a": 4.0}, 2.0 * math.pi),
        ("sin(b) / cos(b)", {"b": 0.5}, math.tan(0.5)),
        ("acos(x / R)", {"x": 0.0, "R": 2.0}, math.pi / 2.0),
    ],
)
def test_what_it_gives(symbols: str, of: dict[str, float], value: float) -> None:
    assert Formula(name="y", symbols=symbols, of=of, value=value).worked_out() == pytest.approx(
        value, rel=1e-12
    )


def test_a_value_that_the_symbols_do_not_give_is_refused() -> None:
    with pytest.raises(ArithmeticError, match=r"V = a \* b is 6, not 7"):
        Formula(name="V", symbols="a * b", of={"a": 2.0, "b": 3.0}, value=7.0)


@pytest.mark.parametrize("symbols", ["a.b", "a + unknown", "open(a)", "a if a else a"])
def test_what_is_no_formula_is_refused(symbols: str) -> None:
    with pytest.raises((ValueError, KeyError)):
        Formula(name="V", symbols=symbols, of={"a": 2.0}, value=2.0)


def test_in_one_line_every_number_is_written_as_the_page_writes_it() -> None:
    parts = {"piston P1": 410.0, "pin 2": 118.5}
    total = Formula(name="cylinder 1", symbols="piston P1 + pin 2", of=parts, value=528.5)
    assert (
        total.in_line(lambda name, value: f"{name} {value.real:g}".lstrip())
        == "piston P1 410 + pin 2 118.5 = 528.5"
    )
    with pytest.raises(ArithmeticError):
        Formula(name="cylinder 1", symbols="piston P1 + pin 2", of=parts, value=528.6)
