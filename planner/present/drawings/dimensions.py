"""Dimension arcs, the compass of the dial's numbers, and the scale bar."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from planner.frames import Dial, MachineConvention, ViewedFrom
from planner.present.drawings import style
from planner.present.drawings.pens import arc, draw_area, draw_circle, draw_line, half_in, write
from planner.present.drawings.place import Frame, seen, text_size_in
from planner.present.words import number
from planner.quantity import UnitSystem, factor

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from planner.rotor.crankshaft import Counterweight
    from planner.steps.plan_answer import PlanStep

_FIRST_ARC_IN = 0.16
_ARC_PITCH_IN = 0.18
_COMPASS_RADIUS_IN = 0.27
_LEAST_BAR_ROOM_IN = 0.1


def arc_reach_in(levels: int) -> float:
    """Return how far beyond the rim that many dimension arcs reach, their texts included [in]."""
    return 0.08 if levels == 0 else _FIRST_ARC_IN + (levels - 1) * _ARC_PITCH_IN + 0.12


def arc_levels(steps: Sequence[PlanStep]) -> dict[int, int]:
    """Return on which arc (0 = next to the rim) each step's angle from the centre line is written, by step number.

    Either side of the centre line counts for itself, the smallest angle next to the rim.
    """
    levels: dict[int, int] = {}
    count = {True: 0, False: 0}
    for step in sorted(steps, key=lambda step: (abs(step.from_centre_deg), step.number)):
        side = step.from_centre_deg >= 0.0
        levels[step.number] = count[side]
        count[side] += 1
    return levels


def arc_text(offset_deg: float) -> str:
    """Return an angle from the centre line as its dimension shows it: without a sign, the arc shows the side."""
    return f"{number(abs(offset_deg))}°"


def draw_dimension_arcs(
    ax: Axes,
    counterweight: Counterweight,
    steps: Sequence[PlanStep],
    *,
    frame: Frame,
    viewed_from: ViewedFrom,
) -> None:
    """Draw the angle of every step from the centre line as an arc outside the rim, with its number along it."""
    rim_mm = counterweight.outline.greatest_radius_mm
    levels = arc_levels(steps)

    def place(radius_mm: float, offset_deg: float) -> complex:
        return seen(cmath.rect(radius_mm, math.radians(counterweight.angle_deg + offset_deg)), viewed_from)

    for step in steps:
        offset_deg = step.from_centre_deg
        radius_mm = rim_mm + (_FIRST_ARC_IN + levels[step.number] * _ARC_PITCH_IN) * frame.per_in
        centre_deg = counterweight.angle_deg
        along = [seen(p, viewed_from) for p in arc(radius_mm, centre_deg, centre_deg + offset_deg)]
        beyond_mm = radius_mm + 0.05 * frame.per_in
        extension = [place(rim_mm, offset_deg), place(beyond_mm, offset_deg)]
        for points, gid in ((along, "angle"), (extension, "extension")):
            draw_line(ax, points, **style.DIMENSION.pen, zorder=3, gid=f"{gid} of step {step.label}")
        way = -1.0 if offset_deg < 0.0 else 1.0
        deg_per_in = math.degrees(frame.per_in / radius_mm)
        if abs(offset_deg) > 0.12 * deg_per_in:
            draw_head(
                ax,
                tip=along[-1],
                direction=place(1.0, offset_deg + way * 90.0),
                size_in=0.075,
                frame=frame,
                colour=style.DIMENSION.edge,
                gid=f"arrow of step {step.label}",
            )
        wide_deg = (text_size_in(arc_text(offset_deg))[0] + 0.06) * deg_per_in
        # on the arc where it is long enough (a short rest of line before a number reads as a minus), else beyond
        # its end: never across the centre line
        on_arc = abs(offset_deg) > 2.2 * wide_deg
        at_deg = 0.47 * abs(offset_deg) if on_arc else abs(offset_deg) + 0.5 * wide_deg
        _write_along(ax, place(radius_mm, way * at_deg), arc_text(offset_deg), step.number)


def _write_along(ax: Axes, at: complex, text: str, number: int) -> None:
    """Write a text across the radius through a point, the right way up."""
    turn_deg = (math.degrees(cmath.phase(at)) + 90.0) % 180.0
    write(
        ax,
        at,
        text,
        rotation=turn_deg - 180.0 if turn_deg > 90.0 else turn_deg,
        rotation_mode="anchor",
        gid=f"angle text of step {number}",
        bbox={"boxstyle": "square,pad=0.05", "facecolor": style.PAPER, "edgecolor": "none"},
        zorder=7,
    )


def draw_head(
    ax: Axes,
    *,
    tip: complex,
    direction: complex,
    size_in: float,
    frame: Frame,
    colour: str,
    gid: str,
    face: str | None = None,
    zorder: float = 5.0,
) -> None:
    """Draw an arrow head (a triangle) whose tip is at ``tip`` and that points along ``direction`` (data units)."""
    along = direction / abs(direction) * size_in * frame.per_in
    base = tip - along
    across = 0.38j * along
    draw_area(
        ax,
        [tip, base + across, base - across],
        facecolor=colour if face is None else face,
        edgecolor=colour,
        linewidth=0.8,
        joinstyle="miter",
        zorder=zorder,
        gid=gid,
    )


def draw_compass(
    ax: Axes,
    machine: MachineConvention,
    *,
    centre_in: tuple[float, float],
    frame: Frame,
    viewed_from: ViewedFrom,
) -> None:
    """Draw which way the dial's numbers grow in this view, and which place its zero brings under the drill."""
    centre = frame.at(*centre_in)
    settings = machine.drill_settings

    def point(dial_deg: float, radius_in: float) -> complex:
        place = cmath.rect(radius_in * frame.per_in, math.radians(settings.place_deg(Dial(dial_deg))))
        return centre + seen(place, viewed_from)

    ring = [point(angle, _COMPASS_RADIUS_IN) for angle in range(0, 361, 5)]
    draw_line(ax, ring, color=style.GRID.edge, linewidth=0.8, zorder=3, gid="compass ring")
    for angle in (0, 90, 180, 270):
        inner = point(angle, 0.0 if angle == 0 else _COMPASS_RADIUS_IN - 0.05)
        outer = point(angle, _COMPASS_RADIUS_IN + 0.04)
        thick = 1.6 if angle == 0 else 0.8
        draw_line(ax, [inner, outer], color=style.INK, linewidth=thick, zorder=4, gid=f"compass tick {angle}")
        turn = point(angle, 1.0) - centre
        out_in = 0.08 + half_in(str(angle), turn / abs(turn), bold=angle == 0)
        weight = "bold" if angle == 0 else "normal"
        at = point(angle, _COMPASS_RADIUS_IN + out_in)
        write(ax, at, str(angle), fontweight=weight, gid=f"compass number {angle}")
    way = [point(angle, 0.62 * _COMPASS_RADIUS_IN) for angle in range(15, 76, 5)]
    draw_line(ax, way, color=style.INK, linewidth=1.3, zorder=4, gid="compass arc")
    draw_head(
        ax,
        tip=point(84.0, 0.62 * _COMPASS_RADIUS_IN),
        direction=point(84.0, 0.62 * _COMPASS_RADIUS_IN) - point(70.0, 0.62 * _COMPASS_RADIUS_IN),
        size_in=0.08,
        frame=frame,
        colour=style.INK,
        gid="compass head",
    )
    above = centre + 1j * (_COMPASS_RADIUS_IN + 0.31) * frame.per_in
    write(ax, above, "dial numbers", gid="compass title")


def draw_scale_bar(ax: Axes, units: UnitSystem, *, frame: Frame, between_in: tuple[float, float]) -> None:
    """Draw a bar of a round length in the job's unit at the lower edge, between the side columns; none without room."""
    room_in = frame.width_in - between_in[0] - between_in[1]
    if room_in < _LEAST_BAR_ROOM_IN:
        return
    mm_per_unit = factor(units.length, "length")
    longest = 0.4 * room_in * frame.per_in / mm_per_unit
    bar_mm = round_below(longest) * mm_per_unit
    text = f"{number(bar_mm / mm_per_unit, digits=6)} {units.length}"
    text_in = text_size_in(text)[0]
    bar_in = bar_mm / frame.per_in
    start_in = between_in[0] + 0.5 * (room_in - bar_in - text_in - 0.08)
    for x0, x1, y0, y1 in (
        (start_in, start_in + bar_in, 0.12, 0.12),
        (start_in, start_in, 0.07, 0.17),
        (start_in + bar_in, start_in + bar_in, 0.07, 0.17),
    ):
        gid = "scale bar" if y0 == y1 else "scale bar end"
        draw_line(ax, [frame.at(x0, y0), frame.at(x1, y1)], color=style.INK, linewidth=1.2, zorder=4, gid=gid)
    write(ax, frame.at(start_in + bar_in + 0.08, 0.12), text, ha="left", gid="scale bar text")


def round_below(value: float) -> float:
    """Return the largest of 1, 2, 5 times a power of ten that is not above ``value`` (which is above 0)."""
    power = 10.0 ** math.floor(math.log10(value))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= value * (1.0 + 1e-12))


def draw_body(ax: Axes, corners: Sequence[complex], inner_mm: float) -> None:
    """Draw the metal of a counterweight by its corners as seen [mm], and the inner radius [mm] where it has one."""
    look = style.OUTLINE
    draw_area(ax, corners, facecolor=look.face, **look.border, zorder=2, gid="outline")
    if inner_mm > 0.0:
        draw_circle(ax, 0j, inner_mm, fill=False, **style.INNER.border, zorder=3, gid="inner radius")


def draw_shaft_axis(ax: Axes, *, size_pt: float) -> None:
    """Mark the shaft axis, where the data are 0."""
    look = {"marker": "+", "markersize": size_pt, "markeredgewidth": 1.2, "color": style.INK}
    draw_line(ax, [0j], **look, zorder=4, gid="shaft axis")
