"""Vector diagrams: tip to tail in the job's unit, rings where the limit is judged, the convention in words.

The answers are invented (see plan_samples).  1 oz*in = 28.349523125 g * 25.4 mm (exact by definition).
"""

from __future__ import annotations

import cmath
import dataclasses
import math
from typing import Any

import plan_samples
import pytest
from drawing_checks import angle_of, corners, named

from planner.frames import SIDES, MachineConvention, TwoPlanes, ViewedFrom
from planner.present.drawings.gallery import plan_figure, plot_plane_vectors
from planner.present.drawings.plan import footer_lines
from planner.present.drawings.vectors import changes_gmm, rows_of_side
from planner.rotor.tolerance import ToleranceSpec
from planner.steps.plan_answer import PlanAnswer

OZ_IN = 28.349523125 * 25.4


def ends(ax: Any, gid: str, view: str) -> tuple[complex, complex]:
    x, y = named(ax, gid).get_data()
    sign = 1.0 if view == "front" else -1.0
    return complex(sign * x[0], y[0]), complex(sign * x[-1], y[-1])


@pytest.mark.parametrize("view", ["front", "rear"])
@pytest.mark.parametrize(("name", "unit"), [("eight cuts", 1.0), ("inches", OZ_IN), ("slugs", 1.0)])
def test_corrections_lead_from_the_unbalance_to_what_is_left(
    name: str, unit: float, view: ViewedFrom
) -> None:
    answer = plan_samples.NAMED[name]()
    for index, side in enumerate(SIDES):
        ax = plot_plane_vectors(answer, side, viewed_from=view)
        start, tip = ends(ax, "unbalance", view)
        assert start == 0.0
        assert tip == pytest.approx(answer.unbalance_gmm[index] / unit, rel=1e-9)
        for step in answer.steps:
            start, end = ends(ax, f"correction {step.number}", view)
            assert start == pytest.approx(tip, abs=1e-9)
            tip = end
        start, end = ends(ax, "residual", view)
        assert start == 0.0
        assert end == pytest.approx(answer.residual_gmm[index] / unit, rel=1e-9)
        # the sample's unbalance is what these cuts leave its residual of
        assert tip == pytest.approx(end, abs=1e-6)


def test_drilling_pulls_away_from_its_angle_and_a_slug_toward_it() -> None:
    answer = plan_samples.slugs()
    for step, change in zip(answer.steps, changes_gmm(answer, "left"), strict=True):
        if step.cut.counterweight == "A":  # between the planes, near the left one: a positive share
            along = change * cmath.exp(-1j * math.radians(step.cut.angle_deg))
            assert along.real * (1.0 if step.cut.kind in ("slug", "fill") else -1.0) > 0.0
            # lever rule: (480 - 52)/(480 - 40)
            assert abs(change) == pytest.approx(abs(step.effect.unbalance_gmm) * 428.0 / 440.0)


def test_heads_point_along_their_vectors() -> None:
    ax = plot_plane_vectors(plan_samples.four_cuts(), "left")
    start, end = ends(ax, "unbalance", "front")
    tip, base_1, base_2 = corners(named(ax, "head of unbalance"))
    assert tip == pytest.approx(end)
    assert cmath.phase((tip - 0.5 * (base_1 + base_2)) / (end - start)) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("side", SIDES)
def test_zoom_at_bearings_shows_their_own_vectors_and_rings(side: Any) -> None:
    answer = plan_samples.one_cut()
    judged = answer.judged[SIDES.index(side)]
    bearing = "bearing 1" if side == "left" else "bearing 2"
    ax = plot_plane_vectors(answer, side, zoom=True)
    _, end = ends(ax, f"judged {bearing}", "front")
    assert abs(end) == pytest.approx(judged.amount_gmm)
    # lever rule: bearings at 0 and 520, planes at 40 and 480
    left, right = answer.residual_gmm
    z_left, z_right, far = 40.0, 480.0, 520.0
    share = (1.0 - z_left / far, 1.0 - z_right / far) if side == "left" else (z_left / far, z_right / far)
    assert end == pytest.approx(share[0] * left + share[1] * right)
    assert named(ax, f"ring {bearing}").radius == pytest.approx(judged.tolerance_gmm)
    assert f"{bearing}: " in ax.get_xlabel()
    assert bearing in ax.get_title()


def test_ring_is_in_the_plane_where_the_limit_is_judged_there() -> None:
    planes = plan_samples.rear_view()  # 180 g*mm each side, judged in the planes
    assert named(plot_plane_vectors(planes, "left"), "ring left").radius == pytest.approx(180.0)
    assert named(plot_plane_vectors(planes, "right", zoom=True), "ring right").radius == pytest.approx(180.0)
    bearings = plot_plane_vectors(plan_samples.one_cut(), "left")
    assert not bearings.findobj(lambda artist: str(artist.get_gid()).startswith("ring"))


def test_bearings_go_to_the_plane_on_their_side() -> None:
    swapped = plan_samples.answer_of([plan_samples.rim("A", 131.0)], planes_z_mm=TwoPlanes(480.0, 40.0))
    assert [row.at for row, _ in rows_of_side(swapped, "left")] == ["bearing 2"]
    assert [row.at for row, _ in rows_of_side(swapped, "right")] == ["bearing 1"]


def test_static_and_couple_have_one_zoom_each() -> None:
    answer = plan_samples.inches()
    static = plot_plane_vectors(answer, "left", zoom=True)
    couple = plot_plane_vectors(answer, "right", zoom=True)
    _, end = ends(static, "judged static", "front")
    assert end == pytest.approx(sum(answer.residual_gmm) / OZ_IN)
    assert named(couple, "ring couple").radius == pytest.approx(360.0 / OZ_IN)


def test_without_a_limit_the_zoom_shows_what_is_left_alone() -> None:
    answer = plan_samples.one_cut()
    problem = dataclasses.replace(answer.problem, limits=())
    ax = plot_plane_vectors(dataclasses.replace(answer, problem=problem), "left", zoom=True)
    assert ends(ax, "residual", "front")[1] == pytest.approx(answer.residual_gmm[0])
    assert "states no tolerance" in ax.get_xlabel()


def test_one_limit_is_shown_on_both_sides() -> None:
    answer = plan_samples.one_cut()
    problem = dataclasses.replace(answer.problem, limits=answer.problem.limits[:1])
    answer = dataclasses.replace(answer, problem=problem)
    assert rows_of_side(answer, "left") == rows_of_side(answer, "right") != ()


def test_a_crankshaft_without_any_unbalance_can_be_drawn() -> None:
    answer = plan_samples.answer_of([], residual_gmm=TwoPlanes(0j, 0j))
    for zoom in (False, True):
        ax = plot_plane_vectors(answer, "left", zoom=zoom)
        assert ax.get_xlim()[1] > 0.0


@pytest.mark.parametrize("view", ["front", "rear"])
@pytest.mark.parametrize("sense", ["ccw", "cw"])
def test_angle_ticks_are_the_machines(sense: Any, view: ViewedFrom) -> None:
    machine = MachineConvention(direction=sense, viewed_from="rear", zero_deg=17.3, marks="light spot")
    answer = plan_samples.answer_of([plan_samples.rim("A", 131.0)], machine=machine)
    ax = plot_plane_vectors(answer, "left", viewed_from=view)
    for shown in (0, 90, 240):
        x, y = named(ax, f"tick {shown}").get_position()
        place = angle_of(complex(x if view == "front" else -x, y))
        # cw seen from the rear grows as the frame's angles do, ccw seen from the rear against them
        assert place == pytest.approx((17.3 + (shown if sense == "cw" else -shown)) % 360.0)


@pytest.mark.parametrize(("name", "unit"), [("one cut", "g·mm"), ("inches", "oz·in")])
@pytest.mark.parametrize("zoom", [False, True])
def test_axis_label_has_quantity_and_unit(name: str, unit: str, zoom: bool) -> None:
    label = plot_plane_vectors(plan_samples.NAMED[name](), "right", zoom=zoom).get_xlabel()
    assert label.startswith(f"unbalance [{unit}]")


def test_convention_is_said_in_words() -> None:
    def words(answer: PlanAnswer) -> str:
        return plot_plane_vectors(answer, "left").get_xlabel().replace("\n", " ")

    assert (
        "display numbers: counter-clockwise seen from the front, zero at throw 1; arrows to the heavy spot"
    ) in words(plan_samples.one_cut())
    light = words(plan_samples.rear_view())
    assert "clockwise seen from the rear, zero at 17.3° of the crankshaft's own frame" in light
    assert "arrows to the light spot, which the display marks" in light


def test_labels_say_amount_and_place_in_the_machines_numbers() -> None:
    ax = plot_plane_vectors(plan_samples.rear_view(), "left")
    written = [text.get_text() for text in ax.texts]
    # residual 80 + 40j: 89.4 at 26.565 degrees, 17.3 less on this machine, whose display marks the light spot opposite
    assert "what is left\n89.4 g·mm at 189.3°" in written
    assert "tolerance 180 g·mm" in written
    # the arrow stands where its number stands: at 189.3 on the display, which is 26.565 degrees in the frame, turned by 180
    line = named(ax, "residual")
    tip = complex(line.get_xdata()[-1], line.get_ydata()[-1])  # type: ignore[attr-defined]
    assert tip == pytest.approx(-(80.0 + 40.0j))


def test_footer_says_convention_verdict_next_reading_and_caution() -> None:
    light = " ".join(footer_lines(plan_samples.rear_view()))
    assert "clockwise seen from the rear" in light
    assert "in tolerance (left: 89.4 g·mm of 180 g·mm; right: 67.1 g·mm of 180 g·mm)" in light
    assert (
        "after these cuts and with the same bobs and parts on: left 89.4 g·mm at 189.3°" in light
    )  # light spot: 180 on
    assert "Numbers at counterweights are dial numbers, at vectors display numbers" in light
    # zero at 17.3, drill 90 on, light spot: what reads 0 is heavy at 180 and comes under the drill at 270
    assert "display 0° is drilled at dial 270°" in light
    assert "qualified machinist" in light
    no = " ".join(footer_lines(plan_samples.no_plan()))
    assert "out of tolerance" in no
    assert "too little metal at 40 to 80 degrees" in no
    grams = " ".join(footer_lines(plan_samples.other_outlines()))
    assert "left 1.1 g at radius 80.0 mm, at 63.4°" in grams  # 89.4/80; cw from 90: 90 - 26.565


def test_title_says_what_comes_out() -> None:
    def title(answer: PlanAnswer) -> str:
        return named(plan_figure(answer), "page title").get_text().replace("\n", " ")

    assert "correction plan after spin 1, 1 cut, 2026-01-31" in title(plan_samples.one_cut())
    assert "8 cuts" in title(plan_samples.eight_cuts())
    assert "nothing to cut" in title(plan_samples.nothing_to_cut())
    assert "no plan reaches the tolerance" in title(plan_samples.no_plan())


def test_limits_of_unequal_planes_keep_their_own_rings() -> None:
    answer = plan_samples.answer_of(
        [plan_samples.rim("A", 131.0)],
        tolerance=ToleranceSpec(left_gmm=150.0, right_gmm=250.0, stated="150 and 250 g*mm"),
    )
    for side, radius in (("left", 150.0), ("right", 250.0)):
        ax = plot_plane_vectors(answer, side, zoom=True)  # type: ignore[arg-type]
        assert named(ax, f"ring {side}").radius == pytest.approx(radius)
        assert "150 and 250 g·mm" in ax.get_xlabel()
