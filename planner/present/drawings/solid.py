"""A counterweight as a body: seen aslant from the front, its rim shaded, front and rear face named."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING

from planner.present.drawings import style
from planner.present.drawings.pens import draw_area, draw_circle, draw_line, write
from planner.rotor.weighing import WeighedCounterweight

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_BACK = cmath.rect(0.62, math.radians(35.0))
"""A millimetre along the shaft, to the rear, on the paper [mm]: a cabinet projection."""

_LIGHT = cmath.rect(1.0, math.radians(120.0))
_DARKEST, _BRIGHTEST = 0.52, 0.9


def plot_solid(weighed: WeighedCounterweight, *, ax: Axes) -> Axes:
    """Draw a counterweight as a body in its own frame, the front face toward the reader.

    Parameters
    ----------
    weighed : WeighedCounterweight
        The counterweight.
    ax : matplotlib Axes
        Where to draw; the data are mm of the front face, the rear face stands up and to the right of it.

    Returns
    -------
    matplotlib Axes
        The same axes; ``gid`` of the faces: ``front face``, ``rear face``, of a piece of the rim or a flank: ``side``.
    """
    outline = weighed.outline
    back = weighed.thickness_mm * _BACK
    # both ends of the rim where it is not cylindrical: the outline there is the outline scaled at the rim
    front = _face(weighed, at_front=True)
    rear = [point + back for point in _face(weighed, at_front=False)]
    look = {"facecolor": str(_DARKEST), "edgecolor": style.INK, "linewidth": 1.0}
    draw_area(ax, rear, **look, zorder=1, gid="rear face")
    count = len(front)
    sides = []
    for index in range(count):
        here, there = front[index], front[(index + 1) % count]
        if abs(there - here) < 1e-9:
            continue
        outward = -1j * (there - here) / abs(there - here)
        facing = (outward * back.conjugate()).real
        if facing > 0.0:  # turned toward the reader's right and up: seen
            sides.append((facing, index, outward))
    for _, index, outward in sorted(sides, key=lambda side: side[0]):
        corners = [front[index], front[(index + 1) % count], rear[(index + 1) % count], rear[index]]
        light = 0.5 + 0.5 * (outward * _LIGHT.conjugate()).real
        grey = str(round(_DARKEST + (_BRIGHTEST - _DARKEST) * light, 3))
        draw_area(ax, corners, facecolor=grey, edgecolor=grey, linewidth=0.4, zorder=2, gid="side")
    look = {"facecolor": style.STEEL, "edgecolor": style.INK, "linewidth": 1.4}
    draw_area(ax, front, **look, zorder=3, gid="front face")
    if outline.inner_radius_mm > 0.0:
        border = style.INNER.border
        draw_circle(
            ax, 0j, outline.inner_radius_mm, facecolor=style.PAPER, **border, zorder=3.5, gid="inner radius"
        )
    axis = {"marker": "+", "color": style.INK, "markersize": 12, "linestyle": "none"}
    draw_line(ax, [0j], **axis, zorder=4, gid="shaft")
    middle = 0.5 * (outline.inner_radius_mm + outline.greatest_radius_mm)
    write(ax, complex(middle), "front face", fontweight="bold", gid="front face text")
    # beside the rear edge that is seen, farthest up and to the right
    edge = max(rear, key=lambda point: (point * back.conjugate()).real)
    reach = outline.greatest_radius_mm
    at = edge + 0.14 * reach * back / abs(back)
    draw_line(ax, [edge, at], color=style.LEADER.edge, linewidth=0.6, zorder=4, gid="leader")
    write(ax, at, "rear face", ha="left", va="bottom", fontweight="bold", gid="rear face text")
    ax.set_aspect("equal")
    ax.set_axis_off()
    ax.margins(0.12)
    return ax


def _face(weighed: WeighedCounterweight, *, at_front: bool) -> list[complex]:
    """Return the outline at one face, counter-clockwise: where the rim is lower there, the outline ends lower."""
    outline, rim = weighed.outline, weighed.rim
    points = [complex(x, y) for x, y in outline.boundary_mm]
    if abs(points[0] - points[-1]) < 1e-9:
        points = points[:-1]
    area = sum((a.conjugate() * b).imag for a, b in zip(points, [*points[1:], points[0]], strict=True))
    if area < 0.0:
        points.reverse()
    if rim is None:
        return points
    radius = rim.pieces[0].from_radius_mm if at_front else rim.pieces[-1].to_radius_mm
    return [point if abs(point) <= radius else point / abs(point) * radius for point in points]
