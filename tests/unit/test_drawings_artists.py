"""What is drawn is where the plan says, for both ends that a drawing may be seen from.

The answers are invented (see plan_samples).  Places are measured back from the artists and compared with numbers
worked out here from the definitions (angles counter-clockwise seen from the front; a rear view is its mirror image).
"""

from __future__ import annotations

import cmath
import dataclasses
import math
from typing import Any

import plan_samples
import pytest
from drawing_checks import angle_of, corners, named
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle

from planner.errors import InputError
from planner.frames import MachineConvention, ViewedFrom
from planner.present.drawings import style
from planner.present.drawings.gallery import (
    plan_figure,
    plot_counterweight,
    plot_plane_vectors,
    plot_side_view,
)

VIEWS: tuple[ViewedFrom, ...] = ("front", "rear")
MIRROR = {"front": 1.0, "rear": -1.0}


def back(point: complex, view: str) -> complex:
    """Return a drawn point in the crankshaft frame."""
    return complex(MIRROR[view] * point.real, point.imag)


def circle(artist: Any) -> tuple[complex, float]:
    assert isinstance(artist, Circle)
    return complex(*artist.center), artist.radius


def line_ends(artist: Any) -> tuple[complex, complex]:
    assert isinstance(artist, Line2D)
    x, y = artist.get_data()
    return complex(x[0], y[0]), complex(x[-1], y[-1])


@pytest.mark.parametrize("view", VIEWS)
def test_rim_hole_is_drawn_to_scale_at_its_angle(view: ViewedFrom) -> None:
    ax = plot_counterweight(plan_samples.one_cut(), "A", viewed_from=view)
    points = [back(point, view) for point in corners(named(ax, "step 1"))]
    assert len(points) == 5
    mouth_1, shoulder_1, tip, shoulder_2, mouth_2 = points
    # rim 88, shoulder 22.5 deep, 14 drill with a 118 degree point: tip 14/(2 tan 59 deg) further in
    turn = cmath.exp(1j * math.radians(131.0))
    assert tip == pytest.approx((88.0 - 22.5 - 7.0 / math.tan(math.radians(59.0))) * turn, abs=1e-6)
    assert 0.5 * (shoulder_1 + shoulder_2) == pytest.approx((88.0 - 22.5) * turn, abs=1e-6)
    assert abs(shoulder_1 - shoulder_2) == pytest.approx(14.0, abs=1e-6)
    assert abs(mouth_1) == pytest.approx(88.0, abs=1e-6)
    assert abs(mouth_2) == pytest.approx(88.0, abs=1e-6)
    assert abs(mouth_1 - mouth_2) == pytest.approx(14.0, abs=1e-6)


@pytest.mark.parametrize("view", VIEWS)
def test_all_cuts_of_every_sample_are_where_the_plan_says(view: ViewedFrom) -> None:
    for answer in [make() for make in plan_samples.NAMED.values()] + [plan_samples.random_answer(11)]:
        for name in {step.cut.counterweight for step in answer.steps}:
            ax = plot_counterweight(answer, name, viewed_from=view)
            for step in answer.steps:
                if step.cut.counterweight != name:
                    continue
                artist = named(ax, f"step {step.number}")
                if step.cut.kind == "rim hole":
                    tip = back(corners(artist)[2], view)
                    rim = step.counterweight.outline.rim_radius_mm
                    oversize = (
                        0.3004304 * answer.job.shop.hole_oversize_mm
                    )  # cone of 118 degrees per diameter
                    depth = abs(tip) + oversize
                    assert rim - step.depth_tip_mm == pytest.approx(depth, abs=1e-6)
                    assert cmath.phase(
                        tip * cmath.exp(-1j * math.radians(step.cut.angle_deg))
                    ) == pytest.approx(0.0, abs=1e-9)
                else:
                    centre, radius = circle(artist)
                    expected = cmath.rect(step.cut.radius_mm, math.radians(step.cut.angle_deg))
                    assert back(centre, view) == pytest.approx(expected, abs=1e-6)
                    drilled = step.cut.kind == "face hole"
                    oversize = answer.job.shop.hole_oversize_mm if drilled else 0.0
                    assert 2.0 * radius == pytest.approx(step.cut.diameter_mm + oversize, abs=1e-6)


@pytest.mark.parametrize("view", VIEWS)
def test_old_holes_keep_outs_and_oil_drilling_are_in_place(view: ViewedFrom) -> None:
    ax = plot_counterweight(plan_samples.one_cut(), "A", viewed_from=view)
    assert angle_of(back(corners(named(ax, "old 1"))[2], view)) == pytest.approx(171.0)
    centre, radius = circle(named(ax, "old 2"))
    assert back(centre, view) == pytest.approx(cmath.rect(66.0, math.radians(200.0)))
    assert radius == pytest.approx(6.0)
    sector = [back(point, view) for point in corners(named(ax, "keep-out 1"))]
    assert min(map(abs, sector)) == pytest.approx(40.0)
    assert max(map(abs, sector)) == pytest.approx(70.0)
    assert min(map(angle_of, sector)) == pytest.approx(222.0)
    assert max(map(angle_of, sector)) == pytest.approx(232.0)
    # the drilling climbs 44.2 in 65 mm of z along angle 0; A lies from z 40 to 64; 3 radius + 3 clearance round it
    oil = [back(point, view) for point in corners(named(ax, "oil 1"))]
    slope = 44.2 / 65.0
    assert min(p.real for p in oil) == pytest.approx(10.0 * slope - 6.0)
    assert max(p.real for p in oil) == pytest.approx(34.0 * slope + 6.0)
    assert max(p.imag for p in oil) == pytest.approx(6.0)


def test_oil_drilling_elsewhere_is_not_drawn() -> None:
    ax = plot_counterweight(plan_samples.one_cut(), "F")
    assert not ax.findobj(lambda artist: str(artist.get_gid()).startswith("oil"))


def test_cuts_made_are_not_drawn_as_old_holes_too() -> None:
    ax = plot_counterweight(plan_samples.eight_cuts(), "A")
    assert angle_of(corners(named(ax, "made 1"))[2]) == pytest.approx(180.0)
    assert not ax.findobj(lambda artist: str(artist.get_gid()).startswith("old"))


def test_a_hole_about_to_be_filled_is_drawn_once() -> None:
    ax = plot_counterweight(plan_samples.slugs(), "A")
    assert named(ax, "step 1").get_hatch() == style.FILL.hatch
    assert named(ax, "old 1").get_hatch() == style.OLD_SLUG.hatch
    assert not ax.findobj(lambda artist: artist.get_gid() == "old 2")


@pytest.mark.parametrize(("view", "line"), [("front", "--"), ("rear", "-")])
def test_a_blind_hole_from_the_far_face_is_dashed(view: ViewedFrom, line: str) -> None:
    ax = plot_counterweight(plan_samples.eight_cuts(), "C", viewed_from=view)
    assert named(ax, "step 5").get_linestyle() == line  # drilled from the rear
    assert named(ax, "step 6").get_linestyle() == "-"  # through


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("machine_view", VIEWS)
@pytest.mark.parametrize("direction", ["ccw", "cw"])
def test_compass_turns_as_the_machine_counts(
    view: ViewedFrom, machine_view: ViewedFrom, direction: Any
) -> None:
    machine = MachineConvention(direction=direction, viewed_from=machine_view, zero_deg=30.0)
    answer = plan_samples.answer_of([plan_samples.rim("A", 131.0)], machine=machine)
    ax = plot_counterweight(answer, "A", viewed_from=view)
    at = {n: complex(*named(ax, f"compass number {n}").get_position()) for n in (0, 90, 180, 270)}
    middle = sum(at.values()) / 4.0
    growth = (at[90] - middle) / (at[0] - middle)
    # seen from the machine's own end the numbers turn as stated, from the other end the other way
    as_stated = 1.0 if view == machine_view else -1.0
    assert math.copysign(1.0, growth.imag) == as_stated * (1.0 if direction == "ccw" else -1.0)
    _, zero = line_ends(named(ax, "compass tick 0"))
    centre, _ = line_ends(named(ax, "compass tick 0"))
    assert angle_of(back(zero - centre, view)) == pytest.approx(30.0)
    arrow_tip = corners(named(ax, "compass head"))[0] - centre
    expected = 30.0 + machine.sense * 84.0
    assert angle_of(back(arrow_tip, view)) == pytest.approx(expected % 360.0)


def test_labels_say_dial_drill_and_depth() -> None:
    def written(answer: Any, name: str) -> list[str]:
        ax = plot_counterweight(answer, name, ax=Figure((7, 6)).add_axes((0.02, 0.02, 0.96, 0.88)))
        return [text.get_text() for text in ax.texts]

    metric = written(plan_samples.one_cut(), "A")
    assert {"1: dial 131°", "Ø14 mm, 22.5 mm to the shoulder", "49°", "old hole", "keep out"} <= set(metric)
    tip = written(plan_samples.rear_view(), "A")
    # pointer at 131.3 - 17.3 = 114, drill 90 degrees on; 22.5 + 14*0.3004 to the tip
    assert {"1: dial 204°", "Ø14 mm, 26.71 mm to the tip", "48.7°"} <= set(tip)
    inch = written(plan_samples.inches(), "A")
    assert {"1: dial 142°", "Ø5/8 in, 0.875 in to the shoulder"} <= set(inch)
    slug = written(plan_samples.slugs(), "F")
    assert any(text.startswith("slug Ø3/4 in") and "16.0 mm long" in text for text in slug)
    made = written(plan_samples.eight_cuts(), "A")
    assert any(text.startswith("cut since spin 1") for text in made)


@pytest.mark.parametrize("view", VIEWS)
def test_dimension_arc_runs_from_the_centre_line_to_the_hole(view: ViewedFrom) -> None:
    ax = plot_counterweight(plan_samples.one_cut(), "A", viewed_from=view)
    start, end = (back(point, view) for point in line_ends(named(ax, "angle of step 1")))
    assert angle_of(start) == pytest.approx(180.0)
    assert angle_of(end) == pytest.approx(131.0)
    assert abs(start) > 88.0


@pytest.mark.parametrize(("make", "unit", "mm"), [("one cut", "mm", 1.0), ("inches", "in", 25.4)])
def test_scale_bar_is_as_long_as_it_says(make: str, unit: str, mm: float) -> None:
    ax = plot_counterweight(plan_samples.NAMED[make](), "A")
    value, given = named(ax, "scale bar text").get_text().split()
    start, end = line_ends(named(ax, "scale bar"))
    assert given == unit
    assert abs(end - start) == pytest.approx(float(value) * mm)


@pytest.mark.parametrize("view", VIEWS)
def test_title_says_name_place_and_view(view: ViewedFrom) -> None:
    title = plot_counterweight(plan_samples.one_cut(), "A", viewed_from=view).get_title()
    assert title.startswith("counterweight A, z 52.0 mm")
    assert f"seen from the {view}" in title
    assert ("mirrored" in title) == (view == "rear")


def test_rim_and_inner_radius_are_to_scale() -> None:
    ax = plot_counterweight(plan_samples.one_cut(), "A")
    assert circle(named(ax, "inner radius"))[1] == pytest.approx(36.0)
    start, end = line_ends(named(ax, "rim"))
    assert (abs(start), abs(end)) == pytest.approx((88.0, 88.0))
    assert sorted([angle_of(start), angle_of(end)]) == pytest.approx([122.0, 238.0])
    assert ax.get_aspect() == 1.0


@pytest.mark.parametrize("plot", ["counterweight", "vectors", "zoom", "side"])
def test_everything_is_drawn_on_the_given_axes(plot: str) -> None:
    answer = plan_samples.slugs()
    figure = Figure(figsize=(12.0, 5.0))
    other = figure.add_axes((0.02, 0.2, 0.45, 0.6))
    mine = figure.add_axes((0.52, 0.2, 0.45, 0.6))
    before = len(other.get_children())
    drawn: Axes = {
        "counterweight": lambda: plot_counterweight(answer, "A", ax=mine),
        "vectors": lambda: plot_plane_vectors(answer, "left", ax=mine),
        "zoom": lambda: plot_plane_vectors(answer, "left", ax=mine, zoom=True),
        "side": lambda: plot_side_view(answer, ax=mine),
    }[plot]()
    assert drawn is mine
    assert len(other.get_children()) == before
    assert figure.axes == [other, mine]
    assert not figure.texts
    assert len(mine.texts) > 4


def test_side_view_is_to_scale_along_the_shaft() -> None:
    answer = plan_samples.eight_cuts()
    ax = plot_side_view(answer)
    block = named(ax, "counterweight A")
    assert (block.get_x(), block.get_width()) == pytest.approx((40.0, 24.0))
    assert block.get_y() == pytest.approx(-88.0, abs=0.02)  # A lies opposite throw 1, which is up
    assert line_ends(named(ax, "left plane"))[0].real == 40.0
    assert corners(named(ax, "bearing 2"))[0] == 520.0
    assert named(ax, "throw 1").get_ydata()[0] == pytest.approx(44.2)
    assert named(ax, "throw 2").get_ydata()[0] == pytest.approx(0.0, abs=1e-9)
    blind = named(ax, "step 5")  # 14 deep from the rear face of C, z 150 to 174
    assert (blind.get_x(), blind.get_width()) == pytest.approx((160.0, 14.0))
    assert circle(named(ax, "step 1"))[0].real == 52.0
    assert "z [mm]" in ax.get_xlabel()
    assert "throw 1 up" in ax.get_title()


def test_side_view_without_throws() -> None:
    answer = plan_samples.one_cut()
    bare = dataclasses.replace(answer.job.crankshaft, throws=())
    answer = dataclasses.replace(answer, job=dataclasses.replace(answer.job, crankshaft=bare))
    assert "angle 0 up" in plot_side_view(answer).get_title()


def test_wrong_names_are_refused() -> None:
    answer = plan_samples.one_cut()
    with pytest.raises(InputError, match="no counterweight `Z`; there are `A`, `B`"):
        plot_counterweight(answer, "Z")
    with pytest.raises(InputError, match="`top` is no end of a crankshaft"):
        plot_counterweight(answer, "A", viewed_from="top")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="`middle` is no reading plane"):
        plot_plane_vectors(answer, "middle")  # type: ignore[arg-type]


def test_plan_figure_shows_every_counterweight_cut_from_the_machines_end() -> None:
    figure = plan_figure(plan_samples.rear_view())
    titles = [ax.get_title().replace("\n", " ") for ax in figure.axes]
    for name in "ADF":
        assert any(title.startswith(f"counterweight {name},") for title in titles)
    assert len(titles) == 3 + 4
    assert all("seen from the rear" in title for title in titles)


@pytest.mark.parametrize("size_in", [(2.0, 1.0), (1.0, 1.0), (0.5, 0.3), (0.3, 3.0), (3.0, 0.05)])
def test_axes_smaller_than_their_margins_are_drawn_without_a_scale_bar(size_in: tuple[float, float]) -> None:
    from matplotlib.figure import Figure

    figure = Figure(figsize=size_in)
    ax = plot_counterweight(plan_samples.one_cut(), "A", ax=figure.add_axes((0.0, 0.0, 1.0, 1.0)))
    assert named(ax, "step 1") is not None
    bars = [line for line in ax.get_lines() if line.get_gid() == "scale bar"]
    assert len(bars) == (1 if size_in[0] == 3.0 else 0)
