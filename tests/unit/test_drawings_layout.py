"""Nothing that is written in a drawing covers another text, leaves the page or is too small to read.

The answers are invented (see plan_samples); the extents are those of the rendered texts, not those of the layout.
"""

from __future__ import annotations

import dataclasses
from pathlib import Path

import plan_samples
import pytest
from drawing_checks import (
    covered,
    covered_by_compass,
    outside,
    outside_axes,
    overlapping,
    texts_of,
)
from matplotlib.figure import Figure

from planner.present.drawings.counterweight import labels_height_in
from planner.present.drawings.gallery import (
    plan_figure,
    plot_counterweight,
    plot_plane_vectors,
    plot_side_view,
)
from planner.steps.plan_answer import PlanAnswer

LEAST_PT = 8.0


def faults_of(figure: Figure) -> list[object]:
    figure.draw_without_rendering()  # axis labels and the key find their places only now
    return [
        *overlapping(figure),
        *outside(figure),
        *(text.get_text() for text in texts_of(figure) if text.get_fontsize() < LEAST_PT),
        *(text for ax in figure.axes for text in outside_axes(ax)),
        *(gid for ax in figure.axes for gid in covered_by_compass(ax)),
    ]


@pytest.mark.parametrize("name", plan_samples.NAMED)
def test_texts_of_the_whole_picture_keep_apart(name: str) -> None:
    assert faults_of(plan_figure(plan_samples.NAMED[name]())) == []


@pytest.mark.parametrize("seed", range(5))
def test_texts_of_random_pictures_keep_apart(seed: int) -> None:
    assert faults_of(plan_figure(plan_samples.random_answer(seed))) == []


@pytest.mark.parametrize("name", ["eight cuts", "slugs", "inches"])
def test_texts_of_single_drawings_keep_apart(name: str) -> None:
    answer = plan_samples.NAMED[name]()
    drawn = [
        plot_counterweight(answer, "A", viewed_from="rear"),
        plot_plane_vectors(answer, "left"),
        plot_plane_vectors(answer, "right", viewed_from="rear", zoom=True),
        plot_side_view(answer),
    ]
    for ax in drawn:
        assert faults_of(ax.figure) == []


def test_long_names_and_formula_signs_keep_apart() -> None:
    answer = plan_samples.one_cut()
    long = "front counterweight $x_1$, the one beside the oil pump's drive"
    crank = answer.job.crankshaft
    first = dataclasses.replace(crank.counterweights[0], name=long)
    renamed = dataclasses.replace(crank, counterweights=(first, *crank.counterweights[1:]))
    title = "a title that goes on and on, " * 12
    drawn = plan_figure(plan_samples.answer_of([plan_samples.rim(long, 131.0)], crank=renamed, title=title))
    assert faults_of(drawn) == []
    assert any("$x_1$" in text.get_text() for text in texts_of(drawn))


def test_labels_are_cut_down_to_the_dial_when_the_axes_are_too_low() -> None:
    answer = plan_samples.eight_cuts()
    ax = Figure(figsize=(5.0, 2.6)).add_axes((0.02, 0.02, 0.96, 0.8))
    plot_counterweight(answer, "A", ax=ax)
    written = [text.get_text() for text in ax.texts]
    assert "1: dial 131°" in written
    assert not any("to the shoulder" in text and "cut since" not in text for text in written)
    assert faults_of(ax.figure) == []


def test_fuller_counterweights_are_given_more_height() -> None:
    answer = plan_samples.eight_cuts()
    heights = {each.name: labels_height_in(answer, each) for each in answer.problem.counterweights}
    assert heights["A"] > heights["C"] > heights["B"]


def test_overlaps_are_found() -> None:
    figure = Figure(figsize=(4.0, 2.0))
    figure.text(0.1, 0.5, "one text")
    assert overlapping(figure) == []
    figure.text(0.15, 0.5, "another")
    figure.text(0.9, 0.1, "runs out of the page")
    assert overlapping(figure) == [("one text", "another")]
    assert outside(figure) == ["runs out of the page"]


def test_turned_texts_cover_turned_rectangles() -> None:
    figure = Figure(figsize=(4.0, 4.0))
    text = figure.text(0.5, 0.5, "a rather long text", ha="center", va="center", rotation_mode="anchor")
    flat = covered(text)
    text.set_rotation(90.0)
    upright = covered(text)
    assert upright.area == pytest.approx(flat.area)
    assert upright.bounds[3] - upright.bounds[1] == pytest.approx(flat.bounds[2] - flat.bounds[0])


def test_samples_differ() -> None:
    answers: list[PlanAnswer] = [make() for make in plan_samples.NAMED.values()]
    assert len({len(answer.steps) for answer in answers}) >= 4
    assert plan_samples.random_answer(3) == plan_samples.random_answer(3)


def test_a_counterweight_with_many_labels_is_still_drawn_large() -> None:
    """In half a page, with an oil drilling: room kept for an angle's text must not shrink the body to a dot."""
    import planner as bp
    from planner.present.drawings.place import own_axes

    answer = bp.plan(Path(__file__).parents[2] / "examples" / "v_twin_bevelled").answer
    for counterweight in answer.problem.counterweights:
        room_in = max(2.6, 0.85 * labels_height_in(answer, counterweight) + 0.4)
        ax = own_axes(3.6, room_in + 0.6, top_in=0.5, bottom_in=0.05)
        plot_counterweight(answer, counterweight, ax=ax)
        low, high = ax.get_ylim()
        radius_in = counterweight.outline.greatest_radius_mm / ((high - low) / (room_in + 0.05))
        assert radius_in > 0.5, f"{counterweight.name}: {radius_in:.2f} in"
