"""A counterweight as it stands under the drill when the dial shows a cut's number, from the end that the operator looks from."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING

from planner.present.drawings import style
from planner.present.drawings.counterweight import shapes_in
from planner.present.drawings.dimensions import draw_body, draw_head, draw_shaft_axis
from planner.present.drawings.holes import Shape, draw_shape
from planner.present.drawings.pens import arc, draw_area, draw_line, write
from planner.present.drawings.place import axes_size_in, fitted_frame, own_axes, seen, text_size_in
from planner.present.words import degrees, reference_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from planner.present.drawings.place import Frame
    from planner.steps.plan_answer import PlanAnswer, PlanStep

SIZE_IN = (2.05, 2.25)
"""Width and height of the drawing on a card [in]."""

_DRILL_IN = 0.42
_ARROW_IN = 0.13
_SIDE_IN = 0.05
_BELOW_IN = 0.3
_LEAST_WAY_IN = 0.4
_ARROW_PT = 3.2


def plot_under_drill(answer: PlanAnswer, step: PlanStep, *, ax: Axes | None = None) -> Axes:
    """Draw a step's counterweight turned so that the hole faces the drill, which is drawn at the top.

    Parameters
    ----------
    answer : PlanAnswer
        The plan.
    step : PlanStep
        One of its steps.
    ax : matplotlib Axes, optional
        Where to draw; a figure of its own if left out.  The data are mm from the shaft axis, the hole on the upward axis,
        as seen from the end that the machine views from.

    Returns
    -------
    matplotlib Axes
        The same axes; ``gid`` as in `plot_counterweight`, and ``drill``, ``way`` (the arrow from the centre line to the hole).
    """
    if ax is None:
        ax = own_axes(*SIZE_IN, top_in=0.02, bottom_in=0.02)
    view = answer.job.machine.viewed_from
    counterweight = step.counterweight
    turn = cmath.exp(1j * math.radians(90.0 - step.cut.angle_deg))
    # what is under the drill comes last: it lies on top of everything
    steps = tuple(
        each for each in answer.steps if each.cut.counterweight == counterweight.name and each != step
    )
    drawn = shapes_in(answer, counterweight, (*steps, step))
    outline = counterweight.outline
    own = cmath.exp(1j * math.radians(counterweight.angle_deg)) * turn
    body = [seen(complex(x, y) * own, view) for x, y in outline.boundary_mm]
    inner_mm = outline.inner_radius_mm
    rim_mm = outline.greatest_radius_mm
    name, reference_deg, from_deg = reference_of(step)
    away = from_deg if view == "front" else -from_deg
    # the arrow's room beyond the rim, nearly: the scale is not known yet
    beyond = [cmath.rect(1.14 * rim_mm, math.radians(90.0 - away * i / 8.0)) for i in range(1, 9)]
    reach = [
        *body,
        *beyond,
        complex(0.0, rim_mm),
        complex(-inner_mm, -inner_mm),
        complex(inner_mm, -inner_mm),
    ]
    frame = fitted_frame(
        (min(p.real for p in reach), min(p.imag for p in reach), max(p.real for p in reach), rim_mm),
        size_in=axes_size_in(ax),
        left_in=_SIDE_IN,
        right_in=_SIDE_IN,
        bottom_in=_BELOW_IN,
        top_in=_DRILL_IN + 0.06,
    )
    frame.apply(ax)
    draw_body(ax, body, inner_mm)
    draw_shaft_axis(ax, size_pt=12)
    mine = f"step {step.label}"
    for gid, shape, look in drawn:
        turned = Shape(
            centre=shape.centre * turn,
            corners=tuple(corner * turn for corner in shape.corners),
            radius_mm=shape.radius_mm,
            face=shape.face,
        )
        draw_shape(
            ax,
            turned,
            look=_filled(look) if gid == mine else look,
            viewed_from=view,
            gid=gid,
            zorder=6.0 if gid == mine else 4.0,
        )
    line = cmath.exp(1j * math.radians(reference_deg)) * turn
    text = f"{name} at dial {degrees(answer.job.machine.dial_deg(reference_deg))}"
    _draw_centre_line(ax, seen(line, view) * rim_mm, text, frame)
    _draw_way(ax, step, away, frame)
    if step.cut.kind == "rim hole":
        _draw_drill(ax, step.cut.diameter_mm, rim_mm, frame)
    return ax


def _filled(look: style.Look) -> style.Look:
    """Return the look of the hole to drill now: as its own kind, in a colour that no other hole has."""
    return style.Look(edge=look.edge, face=style.NOW, hatch=look.hatch, width_pt=2.0)


def _draw_centre_line(ax: Axes, reach: complex, text: str, frame: Frame) -> None:
    """Draw the line that the hole's place is told from, with the number that brings it under the drill."""
    end = 1.05 * reach
    draw_line(ax, [-0.1 * end, end], **style.CENTRE_LINE.pen, zorder=3.5, gid="centre line")
    write(ax, frame.at(0.5 * frame.width_in, 0.1), text, fontweight="bold", gid="centre line text")


def _draw_way(ax: Axes, step: PlanStep, away: float, frame: Frame) -> None:
    """Draw one thick arrow along the rim from the centre line to the hole."""
    if abs(away) < 0.05:
        return
    radius = step.counterweight.outline.greatest_radius_mm + _ARROW_IN * frame.per_in
    # the hole is at 90 degrees; counter-clockwise of the centre line when `away` is positive
    end = 90.0
    # short ways begin before the centre line: an arrow that is all head says little
    start = end - math.copysign(max(abs(away), math.degrees(_LEAST_WAY_IN * frame.per_in / radius)), away)
    room_deg = math.degrees(0.5 * step.cut.diameter_mm / radius) + 2.0
    end -= math.copysign(min(room_deg, 0.3 * abs(end - start)), away)
    head_in = min(0.17, 0.6 * math.radians(abs(end - start)) * radius / frame.per_in)
    head_deg = math.degrees(head_in * frame.per_in / radius)
    neck = end - math.copysign(head_deg, away)
    way = arc(radius, start, neck)
    draw_line(ax, way, color=style.WAY, linewidth=_ARROW_PT, solid_capstyle="butt", zorder=6, gid="way")
    tip = cmath.rect(radius, math.radians(end))
    draw_head(
        ax,
        tip=tip,
        direction=tip - way[-1],
        size_in=head_in,
        frame=frame,
        colour=style.WAY,
        gid="way head",
        zorder=6.0,
    )


def _draw_drill(ax: Axes, diameter_mm: float, rim_mm: float, frame: Frame) -> None:
    """Draw the drill above the rim, its point toward the shaft."""
    half = max(0.5 * diameter_mm, 0.05 * frame.per_in)
    tip = rim_mm + 0.05 * frame.per_in
    shoulder = tip + 0.6 * half
    top = rim_mm + (_DRILL_IN - 0.02) * frame.per_in
    right = [complex(half, shoulder), complex(half, top)]
    left = [-point.conjugate() for point in reversed(right)]
    look = {"facecolor": style.BEARING.face, "edgecolor": style.INK, "linewidth": 1.0}
    draw_area(ax, [complex(0.0, tip), *right, *left], **look, zorder=5, gid="drill")
    wide_in, _ = text_size_in("drill", bold=True)
    beside = half + 0.06 * frame.per_in + 0.5 * wide_in * frame.per_in
    write(ax, complex(beside, top - 0.09 * frame.per_in), "drill", fontweight="bold", gid="drill text")
