"""Layout helpers, words and looks of the drawings."""

from __future__ import annotations

import itertools

import pytest
from drawing_checks import covered
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.figure import Figure

from planner.present.drawings import style
from planner.present.drawings.dimensions import round_below
from planner.present.drawings.place import checked_view, seen, spread, text_size_in, wrapped
from planner.present.drawings.words import across_words
from planner.present.words import degrees, length_words
from planner.quantity import UnitSystem

INCHES = UnitSystem(length="in", unbalance="oz*in")

intervals = st.lists(st.tuples(st.floats(-50.0, 50.0), st.floats(0.1, 5.0)), min_size=1, max_size=12).map(
    lambda pairs: sorted(pairs)
)


@settings(derandomize=True, max_examples=150)
@given(intervals)
def test_spread_intervals_do_not_overlap_and_stay_inside(pairs: list[tuple[float, float]]) -> None:
    wanted, sizes = [w for w, _ in pairs], [s for _, s in pairs]
    low, high = -40.0, 40.0  # at most 60 long in all: there is room
    centres = spread(wanted, sizes, low, high)
    for (c1, s1), (c2, s2) in itertools.pairwise(zip(centres, sizes, strict=True)):
        assert c2 - c1 >= 0.5 * (s1 + s2) - 1e-9
    assert centres[0] - 0.5 * sizes[0] >= low - 1e-9
    assert centres[-1] + 0.5 * sizes[-1] <= high + 1e-9


def test_spread_moves_no_more_than_it_has_to() -> None:
    assert spread([], [], 0.0, 1.0) == []
    assert spread([2.0, 8.0], [1.0, 1.0], 0.0, 10.0) == [2.0, 8.0]
    assert spread([5.0, 5.0], [2.0, 2.0], 0.0, 10.0) == pytest.approx([4.0, 6.0])
    assert spread([0.0, 0.0], [2.0, 2.0], 0.0, 10.0) == pytest.approx([1.0, 3.0])
    # too long for the room: starts at the lower end
    assert spread([5.0, 5.0], [8.0, 8.0], 0.0, 10.0) == pytest.approx([4.0, 12.0])


def test_rear_view_mirrors_left_to_right_and_back() -> None:
    assert seen(3.0 + 4.0j, "front") == 3.0 + 4.0j
    assert seen(3.0 + 4.0j, "rear") == -3.0 + 4.0j
    assert seen(seen(3.0 + 4.0j, "rear"), "rear") == 3.0 + 4.0j
    assert checked_view("rear") == "rear"


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize(
    "text", ["1: dial 131°", "Ø14 mm, 22.5 mm to the shoulder", "machine's numbers\nsecond"]
)
def test_measured_text_is_never_smaller_than_rendered(text: str, bold: bool) -> None:
    figure = Figure(figsize=(6.0, 2.0))
    drawn = figure.text(
        0.1,
        0.5,
        text,
        fontsize=style.TEXT_PT,
        fontfamily=style.FONT_FAMILY,
        fontweight="bold" if bold else "normal",
        linespacing=style.LINE_SPACING,
    )
    x0, y0, x1, y1 = covered(drawn).bounds
    width_in, height_in = text_size_in(text, bold=bold)
    assert (x1 - x0) / figure.dpi <= width_in <= 1.1 * (x1 - x0) / figure.dpi
    assert (y1 - y0) / figure.dpi <= height_in + 0.02


def test_wrapped_lines_fit() -> None:
    text = "a long sentence that has to be broken into lines, with averyveryveryverylongwordinit at the end"
    for line in wrapped(text, 1.2).split("\n"):
        assert text_size_in(line)[0] <= 1.2
    assert wrapped(text, 1.2).replace("\n", "").replace(" ", "") == text.replace(" ", "")
    assert wrapped("one\ntwo", 5.0) == "one\ntwo"


def test_round_lengths() -> None:
    assert [round_below(v) for v in (1.0, 1.9, 4.99, 5.0, 73.0, 0.3)] == pytest.approx(
        [1.0, 1.0, 2.0, 5.0, 50.0, 0.2]
    )


def test_drills_in_inches_are_fractions_where_they_are() -> None:
    assert across_words(INCHES, 15.875) == "Ø5/8 in"
    assert across_words(INCHES, 25.4) == "Ø1 in"
    assert across_words(INCHES, 38.1) == "Ø1 1/2 in"
    assert across_words(INCHES, 14.0) == "Ø14 mm"
    assert across_words(UnitSystem(), 14.0) == "Ø14 mm"
    assert across_words(UnitSystem(), 12.7) == "Ø1/2 in"


def test_numbers_have_no_empty_digits() -> None:
    assert degrees(131.0) == "131°"
    assert degrees(131.26) == "131.3°"
    assert degrees(359.97) == "0°"
    assert length_words(UnitSystem(), 22.0) == "22.0 mm"
    assert length_words(UnitSystem(), 22.25) == "22.25 mm"
    assert length_words(INCHES, 22.225) == "0.875 in (7/8)"
    assert length_words(INCHES, 22.225, with_64th=False) == "0.875 in"


@pytest.mark.parametrize("looks", [style.PART_LOOKS, style.VECTOR_LOOKS])
def test_roles_stay_apart_without_colour(looks: tuple[style.Look, ...]) -> None:
    without_colour = [(look.hatch, look.line, look.width_pt) for look in looks]
    assert len(set(without_colour)) == len(looks)
    pairs = [(look.hatch, look.line, look.face == style.PAPER) for look in looks]
    assert len(set(pairs)) == len(looks)


def test_texts_are_readable() -> None:
    assert min(style.TEXT_PT, style.TITLE_PT, style.PAGE_TITLE_PT) >= 8.0
