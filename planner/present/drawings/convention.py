"""A small drawing of how the machine counts: its numbers round the crankshaft, the way they grow, where the throws are."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING

from planner.frames import MachineAngle
from planner.present.drawings import style
from planner.present.drawings.dimensions import draw_head
from planner.present.drawings.pens import draw_line, half_in, write
from planner.present.drawings.place import Frame, axes_size_in, own_axes, seen, text_size_in

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from planner.jobfile.job import Job

SIZE_IN = (1.75, 1.72)
"""Width and height that the drawing wants [in]."""

_RING_IN = 0.52
_THROW_IN = 0.25
_NAME_IN = 0.37
_ARROW_IN = 0.66


def plot_convention(job: Job, *, ax: Axes | None = None) -> Axes:
    """Draw the machine's counting as seen from the end that it views from.

    Parameters
    ----------
    job : Job
        The job.
    ax : matplotlib Axes, optional
        Where to draw; a figure of its own if left out.  The data are inches on paper from the shaft axis.

    Returns
    -------
    matplotlib Axes
        The same axes; ``gid`` of a number: ``machine 90``, of a throw's line: ``throw 1``.
    """
    if ax is None:
        ax = own_axes(*SIZE_IN, top_in=0.0, bottom_in=0.0)
    machine = job.machine
    view = machine.viewed_from
    width_in, height_in = axes_size_in(ax)
    frame = Frame(
        width_in=width_in,
        height_in=height_in,
        per_in=1.0,
        corner_x=-0.5 * width_in,
        corner_y=-0.5 * height_in + 0.12,
    )
    frame.apply(ax)

    def place(angle_deg: float, radius_in: float) -> complex:
        """Return where a place of the crankshaft's frame appears."""
        return seen(cmath.rect(radius_in, math.radians(angle_deg)), view)

    def counted(machine_deg: float, radius_in: float) -> complex:
        return place(machine.place_deg(MachineAngle(machine_deg)), radius_in)

    _line(ax, [counted(angle, _RING_IN) for angle in range(0, 361, 3)], width_pt=1.2, gid="ring")
    for angle in range(0, 360, 30):
        inner = _RING_IN - (0.07 if angle % 90 == 0 else 0.035)
        _line(ax, [counted(angle, inner), counted(angle, _RING_IN)], width_pt=1.0, gid=f"tick {angle}")
    for angle in (0, 90, 180, 270):
        out_in = 0.05 + half_in(f"{angle}°", counted(angle, 1.0), bold=True)
        at = counted(angle, _RING_IN + out_in)
        write(ax, at, f"{angle}°", fontweight="bold", gid=f"machine {angle}")
    _line(ax, [counted(angle, _ARROW_IN) for angle in range(28, 60, 2)], width_pt=1.6, gid="way")
    tip = counted(66.0, _ARROW_IN)
    draw_head(
        ax,
        tip=tip,
        direction=tip - counted(56.0, _ARROW_IN),
        size_in=0.11,
        frame=frame,
        colour=style.INK,
        gid="way head",
    )
    _draw_throws(ax, job)
    above = complex(0.0, 0.5 * height_in + 0.1)
    write(ax, above, f"seen from the {view}", va="top", fontweight="bold", gid="view")
    return ax


def _draw_throws(ax: Axes, job: Job) -> None:
    """Draw a line per throw; throws at one angle share it, a name that would cover another is left out."""
    view = job.machine.viewed_from
    names: dict[float, list[str]] = {}
    for throw in job.crankshaft.throws:
        names.setdefault(round(throw.angle_deg % 360.0, 3), []).append(throw.name)
    taken: list[tuple[complex, float, float]] = []
    for angle_deg, throws in names.items():
        text = ", ".join(throws)
        wide_in, high_in = text_size_in(text)
        turn = seen(cmath.rect(1.0, math.radians(angle_deg)), view)
        reach_in = half_in(text, turn)
        at = turn * min(_NAME_IN, _RING_IN - 0.08 - reach_in)
        end = turn * max(0.05, min(_THROW_IN, abs(at) - reach_in - 0.02))
        _line(ax, [0j, end], width_pt=2.4, gid=f"throw {throws[0]}")
        corner_in = math.hypot(abs(at.real) + 0.5 * wide_in, abs(at.imag) + 0.5 * high_in)
        inside = corner_in < _RING_IN - 0.04 and abs(at) > reach_in
        clear = all(
            abs(at.real - other.real) > 0.5 * (wide_in + wide)
            or abs(at.imag - other.imag) > 0.5 * (high_in + high)
            for other, wide, high in taken
        )
        if inside and clear:
            write(ax, at, text, gid=f"name {throws[0]}")
            taken.append((at, wide_in, high_in))
    draw_line(ax, [0j], marker="o", markersize=5, color=style.INK, linestyle="none", gid="shaft axis")


def _line(ax: Axes, points: list[complex], *, width_pt: float, gid: str) -> None:
    draw_line(ax, points, color=style.INK, linewidth=width_pt, solid_capstyle="butt", gid=gid)
