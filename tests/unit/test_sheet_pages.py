"""The shop sheet on paper: nothing covers anything, what must be read at arm's length is large, places are to scale.

The answers are invented (see plan_samples); extents are those of the rendered texts, not those of the layout.
"""

from __future__ import annotations

import cmath
import dataclasses
import functools
import math

import numpy as np
import plan_samples
import pytest
import sheet_samples
from drawing_checks import corners, named, outside, outside_axes, overlapping, texts_of
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from planner.errors import InputError
from planner.present.drawings.convention import plot_convention
from planner.present.sheet.cards import BIG_PT, COMPACT_BIG_PT
from planner.present.sheet.pages import sheet_figures
from planner.present.sheet.paper import PAPERS, Pages, column_widths_in, paper_of
from planner.rotor.vectors import difference_deg
from planner.steps.sheet import sheet_from

A4, LETTER = PAPERS
LEAST_PT = 8.0


@functools.cache
def pages_of(name: str) -> list[Figure]:
    """Return a sample's pages on Letter, made once."""
    return sheet_figures(sheet_samples.sample(name), paper=LETTER)


def faults_of(figures: list[Figure]) -> list[object]:
    found: list[object] = []
    for figure in figures:
        figure.draw_without_rendering()  # axis labels and the key find their places only now
        found += [
            *overlapping(figure),
            *outside(figure),
            *(text.get_text() for text in texts_of(figure) if text.get_fontsize() < LEAST_PT),
            *(text for ax in figure.axes for text in outside_axes(ax)),
        ]
    return found


@pytest.mark.parametrize("name", plan_samples.NAMED)
def test_texts_of_samples_keep_apart(name: str) -> None:
    assert faults_of(pages_of(name)) == []


@pytest.mark.parametrize("seed", range(5))
def test_texts_of_random_sheets_keep_apart(seed: int) -> None:
    assert faults_of(pages_of(f"random {seed}")) == []


@pytest.mark.parametrize("name", sheet_samples.EXAMPLE_NAMES)
def test_texts_of_examples_keep_apart(name: str) -> None:
    figures = sheet_figures(sheet_samples.example(name), paper=A4)
    assert faults_of(figures) == []
    assert len(figures) <= 4


def test_hostile_and_long_texts_keep_apart() -> None:
    told = sheet_samples.with_hostile_texts(sheet_samples.sample("four cuts"))
    figures = sheet_figures(told, paper=LETTER)
    assert faults_of(figures) == []
    assert any("<script>" in text.get_text() for text in texts_of(figures[0]))


@pytest.mark.parametrize("name", ["one cut", "four cuts", "inches"])
def test_four_words_of_a_cut_are_read_at_arms_length(name: str) -> None:
    told = sheet_samples.sample(name)
    page = pages_of(name)[0]
    sizes = {text.get_text(): text.get_fontsize() for text in texts_of(page)}
    for step in told.answer.steps:
        dial = f"{step.dial_deg:g}°"
        assert sizes[dial] == BIG_PT[0]
        if step.stop_mm is not None:
            assert sizes[told.answer.job.units.text(step.stop_mm, "length")] >= 17.0


def test_many_cuts_are_written_smaller_but_still_large() -> None:
    figures = pages_of("eight cuts")
    dials = [
        t
        for t in texts_of(figures[0])
        if t.get_text() in ("131°", "146°", "214°") and t.get_weight() == "bold"
    ]
    assert {text.get_fontsize() for text in dials} == {COMPACT_BIG_PT[0]}


def test_every_cut_has_a_box_to_tick() -> None:
    told = sheet_samples.sample("eight cuts")
    gids = [str(artist.get_gid()) for figure in pages_of("eight cuts") for artist in figure.findobj()]
    for step in told.answer.steps:
        assert gids.count(f"tick {step.number}") == 1


def test_nothing_to_cut_and_no_plan_say_so() -> None:
    nothing = " ".join(t.get_text() for t in texts_of(pages_of("nothing to cut")[0]))
    assert "Nothing to cut" in nothing
    no = " ".join(t.get_text() for t in texts_of(pages_of("no plan")[0]))
    assert "NO PLAN IS POSSIBLE" in no
    assert "too little metal" in no


def test_pages_have_the_papers_size() -> None:
    for paper, points in ((A4, (595.28, 841.89)), (LETTER, (612.0, 792.0))):
        (figure,) = Pages(paper, running_title="t").figures
        assert tuple(72.0 * figure.get_size_inches()) == pytest.approx(points, abs=0.01)
    assert {tuple(figure.get_size_inches()) for figure in pages_of("one cut")} == {(8.5, 11.0)}


def axes_titled(figures: list[Figure], start: str) -> Axes:
    found = [ax for figure in figures for ax in figure.axes if ax.get_title().startswith(start)]
    assert len(found) == 1
    return found[0]


@pytest.mark.parametrize("view", ["front", "rear"])
def test_drawn_holes_measured_back_from_the_page(view: str) -> None:
    """A rim hole's axis has the machine angle of its step, its tip and mouth the planned depth: from pixels to mm."""
    told = plan_samples.four_cuts()
    machine = dataclasses.replace(
        told.job.machine, viewed_from=view, direction="cw" if view == "rear" else "ccw", zero_deg=20.0
    )
    job = dataclasses.replace(told.job, machine=machine)
    figures = sheet_figures(sheet_from(dataclasses.replace(told, job=job)), paper=A4)
    for step in told.steps:
        ax = axes_titled(figures, f"counterweight {step.cut.counterweight},")
        ax.figure.draw_without_rendering()
        points = corners(named(ax, f"step {step.number}"))
        pixels = ax.transData.transform([(p.real, p.imag) for p in points])
        shaft = ax.transData.transform((0.0, 0.0))
        bar = named(ax, "scale bar").get_xdata()  # type: ignore[attr-defined]
        bar_px = np.diff(ax.transData.transform([(x, 0.0) for x in bar])[:, 0])[0]
        bar_text = named(ax, "scale bar text").get_text()  # type: ignore[attr-defined]
        mm_per_px = float(bar_text.split()[0]) / bar_px
        seen = [complex(x - shaft[0], y - shaft[1]) * mm_per_px for x, y in pixels]
        # on the page: counter-clockwise as printed; seen from the rear the crankshaft frame runs clockwise
        tip = min(seen, key=abs)
        angle = math.degrees(cmath.phase(tip))
        frame_deg = angle if view == "front" else 180.0 - angle
        assert difference_deg(frame_deg, step.cut.angle_deg) == pytest.approx(0.0, abs=0.05)
        rim = step.counterweight.outline.greatest_radius_mm
        assert step.depth_tip_mm is not None
        assert abs(tip) == pytest.approx(rim - step.depth_tip_mm, abs=0.05)


@pytest.mark.parametrize("view", ["front", "rear"])
@pytest.mark.parametrize("direction", ["cw", "ccw"])
def test_the_convention_counts_the_stated_way(view: str, direction: str) -> None:
    """As seen from the machine's own end, its numbers grow the way it says; zero is where throw 1 is drawn."""
    job = sheet_samples.sample("one cut").answer.job
    machine = dataclasses.replace(job.machine, viewed_from=view, direction=direction, zero_deg=0.0)
    ax = plot_convention(dataclasses.replace(job, machine=machine))
    zero, ninety = (complex(*named(ax, f"machine {angle}").get_position()) for angle in (0, 90))  # type: ignore[attr-defined]
    turn = math.degrees(cmath.phase(ninety / zero))
    assert turn == pytest.approx(90.0 if direction == "ccw" else -90.0, abs=1e-6)
    throw = named(ax, "throw 1")
    x, y = throw.get_xdata()[-1], throw.get_ydata()[-1]  # type: ignore[attr-defined]
    assert cmath.phase(complex(x, y) / zero) == pytest.approx(0.0, abs=1e-9)
    assert named(ax, "view").get_text() == f"seen from the {view}"  # type: ignore[attr-defined]


def test_paper_is_a4_or_letter() -> None:
    assert paper_of(" a4 ") is A4
    with pytest.raises(InputError, match=r"A3.*A4 and Letter are allowed"):
        paper_of("A3")


def test_columns_share_what_is_left() -> None:
    rows = [["a", "b"], ["short", "a very long text " * 10]]
    widths = column_widths_in(rows, 3.0, size_pt=9.0)
    assert widths[0] < 0.7
    assert sum(widths) == pytest.approx(3.14)
    narrow = column_widths_in([["a"], ["b"]], 3.0, size_pt=9.0)
    assert narrow[0] < 0.4


def test_a_long_table_goes_on_with_its_head() -> None:
    pages = Pages(A4, running_title="long")
    pages.table([["head", "other"], *([f"row {index}", "x"] for index in range(120))])
    assert len(pages.figures) >= 2
    for figure in pages.figures:
        assert "head" in [text.get_text() for text in texts_of(figure)]
    written = [text.get_text() for figure in pages.figures for text in texts_of(figure)]
    assert all(written.count(f"row {index}") == 1 for index in range(120))


def test_sections_without_data_are_left_out() -> None:
    written = " ".join(text.get_text() for figure in pages_of("one cut") for text in texts_of(figure))
    assert "Bob card" not in written  # the samples state neither parts nor wanted bobs
    assert "Cuts made" not in written
    assert "What was on for the spin" in written
