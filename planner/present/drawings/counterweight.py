"""One counterweight with its cuts, to scale, as seen from one end of the crankshaft."""

from __future__ import annotations

import cmath
import dataclasses
import math
from typing import TYPE_CHECKING

import numpy as np

from planner.cuts.cut import Cut
from planner.errors import InputError
from planner.frames import ViewedFrom
from planner.present.drawings import style
from planner.present.drawings.dimensions import (
    arc_levels,
    arc_reach_in,
    arc_text,
    draw_body,
    draw_compass,
    draw_dimension_arcs,
    draw_scale_bar,
    draw_shaft_axis,
)
from planner.present.drawings.holes import (
    Shape,
    draw_shape,
    look_of_cut,
    old_holes,
    shape_of_cut,
    shape_of_existing,
    shape_of_keep_out,
    shape_of_oil_drilling,
    shape_of_round_keep_out,
)
from planner.present.drawings.labels import Columns, Label, best_columns, draw_columns, possible_columns
from planner.present.drawings.pens import arc, draw_line
from planner.present.drawings.place import (
    Frame,
    axes_size_in,
    checked_view,
    fitted_frame,
    head_line,
    own_axes,
    seen,
    text_size_in,
)
from planner.present.drawings.words import size_words, step_words, view_words
from planner.present.words import degrees, length_words
from planner.rotor.crankshaft import Counterweight
from planner.rotor.vectors import ComplexArray

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from planner.steps.plan_answer import PlanAnswer, PlanStep
from planner.steps.trial import spin_words

COMPASS_IN = (1.28, 1.26)
"""Width and height that the compass of the machine's numbers takes in a corner [in]."""

SCALE_BAR_IN = 0.3
_MARGIN_IN = 0.1
_ARC_POINTS = 60
_MOST_BEYOND_DEG = 45.0


def plot_counterweight(
    answer: PlanAnswer,
    counterweight: Counterweight | str,
    *,
    viewed_from: ViewedFrom = "front",
    ax: Axes | None = None,
) -> Axes:
    """Draw one counterweight with the cuts of a plan.

    Parameters
    ----------
    answer : PlanAnswer
        The plan.
    counterweight : Counterweight or str
        The counterweight, or its name.
    viewed_from : {"front", "rear"}
        The end it is seen from.  From the front the axes' data are the crankshaft frame [mm]; from the rear they
        are mirrored left to right, ``x = -x``.
    ax : matplotlib Axes, optional
        Where to draw; a figure of its own if left out.  The drawing is laid out for the size that the axes have now.

    Returns
    -------
    matplotlib Axes
        The same axes; every artist's ``gid`` says what it is, for example ``step 1``, ``old 2``, ``outline``.

    Raises
    ------
    InputError
        If there is no such counterweight, or ``viewed_from`` is no end of a crankshaft.
    """
    view = checked_view(viewed_from)
    subject = _found(answer, counterweight)
    if ax is None:
        ax = own_axes(6.2, 4.3)
    steps = tuple(step for step in answer.steps if step.cut.counterweight == subject.name)
    drawn = shapes_in(answer, subject, steps)
    labels = _labels(answer, subject, steps, drawn, view)

    size_in = axes_size_in(ax)
    columns, frame = _laid_out(subject, steps, labels, size_in, view)
    if columns.missing_in(size_in[1]) > 0.0:  # axes too low for everything: the dial matters most
        columns, frame = _laid_out(subject, steps, [label.shortened() for label in labels], size_in, view)
    frame.apply(ax)
    _draw_body(ax, subject, view)
    for gid, shape, look in drawn:
        draw_shape(ax, shape, look=look, viewed_from=view, gid=gid, zorder=5.0 if gid[:4] == "step" else 4.0)
    draw_dimension_arcs(ax, subject, steps, frame=frame, viewed_from=view)
    draw_columns(ax, columns, frame)
    compass_left = columns.left_bottom_in > 0.0
    draw_compass(
        ax,
        answer.job.machine,
        centre_in=(
            0.5 * COMPASS_IN[0] if compass_left else frame.width_in - 0.5 * COMPASS_IN[0],
            0.5 * COMPASS_IN[1] - 0.06,
        ),
        frame=frame,
        viewed_from=view,
    )
    between_in = (
        max(columns.left_in, COMPASS_IN[0] if compass_left else 0.0),
        max(columns.right_in, 0.0 if compass_left else COMPASS_IN[0]),
    )
    draw_scale_bar(ax, answer.job.units, frame=frame, between_in=between_in)
    head_line(ax, head_of(answer, subject), view_words(view), frame.width_in)
    return ax


def head_of(answer: PlanAnswer, counterweight: Counterweight) -> str:
    """Return what the title of a drawing calls the counterweight."""
    return f"counterweight {counterweight.name}, z {length_words(answer.job, counterweight.z_mm, with_64th=False)}"


def labels_height_in(answer: PlanAnswer, counterweight: Counterweight) -> float:
    """Return how high all labels and the compass of a drawing are together [in], to choose a height for it."""
    steps = tuple(step for step in answer.steps if step.cut.counterweight == counterweight.name)
    drawn = shapes_in(answer, counterweight, steps)
    labels = _labels(answer, counterweight, steps, drawn, "front")
    # narrowed: a drawing between broken labels is the larger one, where they find the height
    return sum(label.narrowed().height_in for label in labels) + COMPASS_IN[1]


def _found(answer: PlanAnswer, counterweight: Counterweight | str) -> Counterweight:
    if isinstance(counterweight, Counterweight):
        return counterweight
    known = answer.problem.counterweights
    for each in known:
        if each.name == counterweight:
            return each
    raise InputError(
        f"there is no counterweight `{counterweight}`; there are "
        + ", ".join(f"`{each.name}`" for each in known),
        hint="use one of these names",
    )


def shapes_in(
    answer: PlanAnswer, counterweight: Counterweight, steps: tuple[PlanStep, ...]
) -> list[tuple[str, Shape, style.Look]]:
    """Return everything that lies in a counterweight, these steps of the plan among it: id, shape, look."""

    def cut_shape(cut: Cut) -> Shape:
        return shape_of_cut(cut, counterweight=counterweight, shop=answer.job.shop)

    def planned(*, deeper: bool) -> list[tuple[str, Shape, style.Look]]:
        return [
            (f"step {step.label}", cut_shape(step.cut), look_of_cut(step.cut))
            for step in steps
            if step.cut.deepens == deeper
        ]

    drawn = [
        (f"keep-out {count}", shape_of_keep_out(keep_out), style.KEEP_OUT)
        for count, keep_out in enumerate(counterweight.keep_outs, start=1)
    ]
    drawn += [
        (f"round keep-out {count}", shape_of_round_keep_out(pin), style.KEEP_OUT)
        for count, pin in enumerate(counterweight.round_keep_outs, start=1)
    ]
    for count, oil in enumerate(answer.problem.oil_drillings, start=1):
        shape = shape_of_oil_drilling(oil, counterweight=counterweight)
        if shape is not None:
            drawn.append((f"oil {count}", shape, style.OIL))
    # a hole drilled deeper lies below what is there of it, so that both are seen
    drawn += planned(deeper=True)
    for count, hole in enumerate(old_holes(answer, counterweight), start=1):
        look = style.OLD_HOLE if hole.filled_density_g_per_cm3 is None else style.OLD_SLUG
        drawn.append((f"old {count}", shape_of_existing(hole, counterweight=counterweight), look))
    made = [cut for cut, _ in answer.made if cut.counterweight == counterweight.name]
    # the last pass first: the ones before lie within it
    drawn += reversed(
        [(f"made {count}", cut_shape(cut), style.MADE_CUT) for count, cut in enumerate(made, start=1)]
    )
    return [*drawn, *planned(deeper=False)]


def _labels(
    answer: PlanAnswer,
    counterweight: Counterweight,
    steps: tuple[PlanStep, ...],
    drawn: list[tuple[str, Shape, style.Look]],
    view: ViewedFrom,
) -> list[Label]:
    job = answer.job
    texts: dict[str, str] = {}
    heads: dict[str, str] = {}
    for step in steps:
        heads[f"step {step.label}"], texts[f"step {step.label}"] = step_words(
            step, shop=job.shop, units=job.units
        )
    made = [cut for cut, _ in answer.made if cut.counterweight == counterweight.name]
    for count, cut in enumerate(made, start=1):
        size = size_words(cut, shop=job.shop, units=job.units)
        texts[f"made {count}"] = f"cut since {spin_words(answer.spin_number)}\n{size}"
    # one label for all of a kind: the hatch tells the rest
    for gid, _, look in drawn:
        kind = gid.split(" ")[0]
        if kind in ("old", "keep-out", "oil") and not any(text == look.words for text in texts.values()):
            texts[gid] = look.words
    labels = []
    for gid, shape, _ in drawn:
        if gid in texts:
            point = seen(shape.centre, view)
            labels.append(
                Label(text=texts[gid], x=point.real, y=point.imag, gid=gid, head=heads.get(gid, ""))
            )
    outline = counterweight.outline
    # the leader of the centre line ends below the rim, clear of the dimension arcs
    reach = outline.inner_radius_mm + 0.15 * (outline.greatest_radius_mm - outline.inner_radius_mm)
    end = seen(cmath.rect(reach, math.radians(counterweight.angle_deg)), view)
    at = degrees(job.machine.dial_deg(counterweight.angle_deg))
    labels.append(Label(text=f"centre line\ndial {at}", x=end.real, y=end.imag, gid="centre line"))
    return labels


def _laid_out(
    counterweight: Counterweight,
    steps: tuple[PlanStep, ...],
    labels: list[Label],
    size_in: tuple[float, float],
    view: ViewedFrom,
) -> tuple[Columns, Frame]:
    """Return columns and scale: the body, its dimension arcs and the shaft axis between the side columns."""
    arcs_in = arc_reach_in(max(arc_levels(steps).values(), default=-1) + 1)
    border = _Border(counterweight, steps, arcs_in=arcs_in, view=view)

    def frame_of(columns: Columns) -> Frame:
        if columns.reserved:
            return border.fitted(columns, size_in, beside_in=0.0)
        # the compass stands in a corner of the drawing: make way for it only as far as it is in the way
        for tenths in range(0, 11, 2):
            frame = border.fitted(columns, size_in, beside_in=0.1 * tenths * COMPASS_IN[0])
            if border.is_clear_of_compass(columns, frame):
                break
        return frame

    x0, _, x1, _ = border.bounds(0.0)
    middle_x = 0.5 * (x0 + x1)
    narrow = [
        dataclasses.replace(columns, liking=0.92)
        for columns in possible_columns(
            [label.narrowed() for label in labels], middle_x=middle_x, corner_in=COMPASS_IN
        )
    ]
    wide = possible_columns(labels, middle_x=middle_x, corner_in=COMPASS_IN)
    return best_columns([*wide, *narrow], frame_of)


class _Border:
    """Points all round what is drawn, as seen [mm]: body, inner radius, and dimension arcs as wide as they are."""

    def __init__(
        self, counterweight: Counterweight, steps: tuple[PlanStep, ...], *, arcs_in: float, view: ViewedFrom
    ) -> None:
        outline = counterweight.outline
        turn = cmath.exp(1j * math.radians(counterweight.angle_deg))
        body = [
            complex(x1 + (x2 - x1) * share, y1 + (y2 - y1) * share) * turn
            for (x1, y1), (x2, y2) in outline.edges_mm
            for share in (0.0, 0.25, 0.5, 0.75)
        ]
        body += [cmath.rect(outline.inner_radius_mm, math.radians(angle)) for angle in range(0, 360, 5)]
        offsets = [step.from_centre_deg for step in steps]
        self.low, self.high = min([0.0, *offsets]), max([0.0, *offsets])
        self.text_in = max((text_size_in(arc_text(offset))[0] for offset in offsets), default=0.0) + 0.08
        self.centre_deg, self.view = counterweight.angle_deg, view
        self.rim_mm = outline.greatest_radius_mm
        self.arcs_in = arcs_in
        self.body = np.array([seen(point, view) for point in body])

    def points(self, per_in: float) -> ComplexArray:
        """Return the points at a scale [mm per in]."""
        radius_mm = self.rim_mm + self.arcs_in * per_in
        # a text may stand beyond the end of a short arc: the smaller the drawing, the more degrees it takes, but never round
        # to the other side, where room for it would make the drawing smaller still and so on
        beyond = min(max(8.0, math.degrees(self.text_in * per_in / self.rim_mm)), _MOST_BEYOND_DEG)
        angles = np.radians(self.centre_deg + np.linspace(self.low - beyond, self.high + beyond, _ARC_POINTS))
        arc = radius_mm * np.exp(1j * angles)
        return np.concatenate([self.body, arc if self.view == "front" else -arc.conj()])

    def bounds(self, per_in: float) -> tuple[float, float, float, float]:
        """Return x0, y0, x1, y1 at a scale [mm]."""
        points = self.points(per_in)
        x, y = points.real, points.imag
        return float(x.min()), float(y.min()), float(x.max()), float(y.max())

    def fitted(self, columns: Columns, size_in: tuple[float, float], *, beside_in: float) -> Frame:
        """Return the scale that fills the room between the columns, ``beside_in`` of it left free at the compass."""
        corner_left = columns.left_bottom_in > 0.0
        per_in = self.rim_mm / size_in[1]
        # the arcs are as wide on paper whatever the scale, so the scale that takes them in is found by repetition
        for _ in range(12):
            frame = fitted_frame(
                self.bounds(per_in),
                size_in=size_in,
                left_in=columns.left_in + _MARGIN_IN + (beside_in if corner_left else 0.0),
                right_in=columns.right_in + _MARGIN_IN + (0.0 if corner_left else beside_in),
                bottom_in=SCALE_BAR_IN + _MARGIN_IN,
                top_in=_MARGIN_IN,
            )
            per_in = frame.per_in
        return frame

    def is_clear_of_compass(self, columns: Columns, frame: Frame) -> bool:
        """Return whether nothing lies where the compass stands, or next to it."""
        width_in, height_in = COMPASS_IN
        start_in = 0.0 if columns.left_bottom_in > 0.0 else frame.width_in - width_in
        points = self.points(frame.per_in)
        beside = (points.real < frame.x(start_in - _MARGIN_IN)) | (
            points.real > frame.x(start_in + width_in + _MARGIN_IN)
        )
        return bool(np.all(beside | (points.imag > frame.y(height_in + _MARGIN_IN))))


def _draw_body(ax: Axes, counterweight: Counterweight, view: ViewedFrom) -> None:
    """Draw outline, rim, inner radius, shaft axis and centre line."""
    outline = counterweight.outline
    turn = cmath.exp(1j * math.radians(counterweight.angle_deg))
    corners = [seen(complex(x, y) * turn, view) for x, y in outline.boundary_mm]
    draw_body(ax, corners, outline.inner_radius_mm)
    for start_deg, end_deg in outline.rim_arcs_deg:
        assert outline.rim_radius_mm is not None
        rim = [seen(turn * point, view) for point in arc(outline.rim_radius_mm, start_deg, end_deg)]
        thick = 2.0 * style.OUTLINE.width_pt
        look = {"color": style.OUTLINE.edge, "linewidth": thick, "solid_capstyle": "butt"}
        draw_line(ax, rim, **look, zorder=3, gid="rim")
    end = seen(1.04 * outline.greatest_radius_mm * turn, view)
    draw_line(ax, [-0.12 * end, end], **style.CENTRE_LINE.pen, zorder=3.5, gid="centre line")
    draw_shaft_axis(ax, size_pt=14)
