"""The crankshaft from the side: bearings, throws, counterweights, planes and cuts along the shaft."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING, Any

from planner.present.drawings import style
from planner.present.drawings.holes import look_of_cut, shape_of_cut
from planner.present.drawings.place import (
    LABEL_GAP_IN,
    Frame,
    axes_size_in,
    fitted_frame,
    head_line,
    own_axes,
    spread,
    text_size_in,
    wrapped,
    write,
)
from planner.present.drawings.words import length, number
from planner.quantity import factor

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from geometry_profiles.rims import RimForm
    from planner.rotor.crankshaft import Counterweight
    from planner.steps.plan_answer import PlanAnswer

_ROW_IN = 0.24
_ROWS_ABOVE = 2
_ROWS_BELOW = 2
_MARGIN_IN = 0.12


def plot_side_view(answer: PlanAnswer, *, ax: Axes | None = None) -> Axes:
    """Draw the crankshaft along its shaft, front at the left, to scale.

    Parameters
    ----------
    answer : PlanAnswer
        The plan.
    ax : matplotlib Axes, optional
        Where to draw; a figure of its own if left out.  The data are z [mm] across and the distance from the
        shaft axis [mm] up, in the plane of the first throw, which is up (without throws: angle 0).

    Returns
    -------
    matplotlib Axes
        The same axes; ``gid`` of a cut's patch: ``step 1``, of a counterweight's: ``counterweight A``.
    """
    if ax is None:
        ax = own_axes(9.5, 4.2, bottom_in=0.45)
    job = answer.job
    throws = job.crankshaft.throws
    up = cmath.exp(-1j * math.radians(throws[0].angle_deg if throws else 0.0))
    frame = _framed(answer, axes_size_in(ax), up)
    frame.apply(ax)
    _draw_shaft(ax, answer, up)
    _draw_cuts(ax, answer, up)
    _write_rows(ax, answer, frame)
    unit = job.units.length
    ax.set_xlabel(
        wrapped(
            f"z [{unit}] from front (left) to rear, the same scale up; circles and bars: cuts of the plan",
            frame.width_in,
        ),
        fontsize=style.TEXT_PT,
        fontfamily=style.FONT_FAMILY,
        color=style.INK,
        labelpad=4,
    )
    upward = f"throw {throws[0].name} up" if throws else "angle 0 up"
    head_line(ax, "along the shaft", f"seen from the side, {upward}", frame.width_in)
    return ax


def _heights(answer: PlanAnswer, up: complex) -> list[tuple[float, float]]:
    """Return the lowest and highest point of every counterweight's outline in this view [mm]."""
    heights = []
    for counterweight in answer.problem.counterweights:
        turn = cmath.exp(1j * math.radians(counterweight.angle_deg)) * up
        points = [(complex(x, y) * turn).real for x, y in counterweight.outline.boundary_mm]
        heights.append((min(points), max(points)))
    return heights


def _framed(answer: PlanAnswer, size_in: tuple[float, float], up: complex) -> Frame:
    crankshaft = answer.job.crankshaft
    across = [*crankshaft.bearings_z_mm, *answer.problem.planes_z_mm]
    across += [throw.z_mm for throw in crankshaft.throws]
    high = [1.0]
    for counterweight, (low, top) in zip(answer.problem.counterweights, _heights(answer, up), strict=True):
        half = 0.5 * counterweight.thickness_mm
        across += [counterweight.z_mm - half, counterweight.z_mm + half]
        high += [abs(low), abs(top)]
    high += [throw.radius_mm for throw in crankshaft.throws]
    return fitted_frame(
        (min(across), -max(high), max(across), max(high)),
        size_in=size_in,
        left_in=3.0 * _MARGIN_IN,
        right_in=3.0 * _MARGIN_IN,
        bottom_in=_ROWS_BELOW * _ROW_IN + _MARGIN_IN,
        top_in=_ROWS_ABOVE * _ROW_IN + _MARGIN_IN,
    )


def _draw_shaft(ax: Axes, answer: PlanAnswer, up: complex) -> None:
    """Draw axis, bearings, throws, counterweights and planes."""
    from matplotlib.patches import Polygon, Rectangle

    crankshaft = answer.job.crankshaft
    x0, x1 = ax.get_xlim()
    y0, y1 = ax.get_ylim()
    ax.plot([x0, x1], [0.0, 0.0], color=style.INK, linestyle="-.", linewidth=0.9, zorder=3, gid="shaft axis")
    for side, z_mm in zip(("left", "right"), answer.problem.planes_z_mm, strict=True):
        ax.plot(
            [z_mm, z_mm],
            [0.72 * y0, 0.72 * y1],
            color=style.PLANE.edge,
            linestyle=style.PLANE.line,
            linewidth=style.PLANE.width_pt,
            zorder=6,
            gid=f"{side} plane",
        )
    wide = 0.02 * (x1 - x0)
    for count, z_mm in enumerate(crankshaft.bearings_z_mm, start=1):
        ax.add_patch(
            Polygon(
                [(z_mm, 0.0), (z_mm - wide, -1.7 * wide), (z_mm + wide, -1.7 * wide)],
                closed=True,
                facecolor=style.BEARING.face,
                edgecolor=style.BEARING.edge,
                linewidth=style.BEARING.width_pt,
                zorder=5,
                gid=f"bearing {count}",
            )
        )
    for throw in crankshaft.throws:
        height = throw.radius_mm * (cmath.exp(1j * math.radians(throw.angle_deg)) * up).real
        ax.plot(
            [throw.z_mm, throw.z_mm],
            [0.0, height],
            color=style.THROW.edge,
            linewidth=style.THROW.width_pt,
            zorder=2,
            gid=f"arm of throw {throw.name}",
        )
        ax.plot(
            [throw.z_mm],
            [height],
            marker="s",
            markersize=7,
            markerfacecolor=style.THROW.face,
            markeredgecolor=style.THROW.edge,
            linestyle="none",
            zorder=5,
            gid=f"throw {throw.name}",
        )
    for counterweight, (low, top) in zip(answer.problem.counterweights, _heights(answer, up), strict=True):
        half = 0.5 * counterweight.thickness_mm
        look: dict[str, Any] = {
            "facecolor": style.OUTLINE.face,
            "edgecolor": style.OUTLINE.edge,
            "linewidth": style.OUTLINE.width_pt,
            "zorder": 1.5,
            "gid": f"counterweight {counterweight.name}",
        }
        if counterweight.rim is None:
            ax.add_patch(Rectangle((counterweight.z_mm - half, low), 2.0 * half, top - low, **look))
        else:
            ax.add_patch(
                Polygon(_silhouette(counterweight, counterweight.rim, low, top), closed=True, **look)
            )


def _silhouette(
    counterweight: Counterweight, rim: RimForm, low: float, top: float
) -> list[tuple[float, float]]:
    """Return a counterweight from the side: a box, its ends cut back as the rim is where they reach the rim."""
    z, greatest = counterweight.z_mm, counterweight.outline.greatest_radius_mm
    across: list[tuple[float, float]] = []
    for piece in rim.pieces:
        count = 8 if piece.rounding_mm else 1
        for step in range(count + 1):
            s = piece.from_mm + (piece.to_mm - piece.from_mm) * step / count
            across.append((s, float(piece.radius_mm(s)) - greatest))
    ends = []
    for height, sign in ((top, 1.0), (low, -1.0)):
        reaches = abs(abs(height) - greatest) < 0.5 and height * sign > 0.0
        line = [(z + s, height + sign * change if reaches else height) for s, change in across]
        ends.append(line if sign > 0.0 else line[::-1])
    return [*ends[0], *ends[1]]


def _draw_cuts(ax: Axes, answer: PlanAnswer, up: complex) -> None:
    """Draw every cut: rim holes as their circle seen along the drill, holes along the shaft as a bar."""
    from matplotlib.patches import Circle, Rectangle

    for step in answer.steps:
        cut, look = step.cut, look_of_cut(step.cut)
        counterweight = step.counterweight
        shape = shape_of_cut(cut, counterweight=counterweight, shop=answer.job.shop)
        height = (shape.centre * up).real
        settings: dict[str, Any] = {
            "facecolor": look.face,
            "edgecolor": look.edge,
            "hatch": look.hatch or None,
            "linewidth": look.width_pt,
            "zorder": 4,
            "gid": f"step {step.label}",
        }
        if cut.kind == "rim hole":
            place = counterweight.z_mm + cut.from_middle_mm
            ax.add_patch(Circle((place, height), 0.5 * cut.diameter_mm, **settings))
            continue
        half = 0.5 * counterweight.thickness_mm
        long_mm = counterweight.thickness_mm
        if not cut.through:
            long_mm = cut.length_mm or cut.depth_shoulder_mm or long_mm
        start = counterweight.z_mm - half if cut.face == "front" else counterweight.z_mm + half - long_mm
        ax.add_patch(Rectangle((start, height - 0.5 * cut.diameter_mm), long_mm, cut.diameter_mm, **settings))


def _write_rows(ax: Axes, answer: PlanAnswer, frame: Frame) -> None:
    """Write two rows of names above and two below, spread so that none meet."""
    job = answer.job
    per_unit = factor(job.units.length, "length")
    steps: dict[str, list[str]] = {}
    for step in answer.steps:
        steps.setdefault(step.cut.counterweight, []).append(step.label)
    weights = [(each.name, each.z_mm) for each in answer.problem.counterweights]
    cut_row = [
        (f"cut {', '.join(steps[each.name])}", each.z_mm)
        for each in answer.problem.counterweights
        if each.name in steps
    ]
    throws = [(f"throw {throw.name}", throw.z_mm) for throw in job.crankshaft.throws]
    places = [
        (f"bearing {count}\n{number(z_mm / per_unit, digits=3)}", z_mm)
        for count, z_mm in enumerate(job.crankshaft.bearings_z_mm, start=1)
    ]
    places += [
        (f"{side} plane\n{number(z_mm / per_unit, digits=3)}", z_mm)
        for side, z_mm in zip(("left", "right"), answer.problem.planes_z_mm, strict=True)
    ]
    top = frame.height_in
    for row, (entries, y_in, bold) in enumerate(
        (
            (cut_row, top - 0.5 * _ROW_IN, True),
            (weights, top - 1.5 * _ROW_IN, False),
            (throws, 2.1 * _ROW_IN, False),
            (places, 0.8 * _ROW_IN, False),
        )
    ):
        ordered = _shortened(sorted(entries, key=lambda entry: entry[1]), frame.width_in, bold=bold)
        sizes = [text_size_in(text, bold=bold)[0] + LABEL_GAP_IN for text, _ in ordered]
        wanted = [(z_mm - frame.corner_x) / frame.per_in for _, z_mm in ordered]
        centres = spread(wanted, sizes, 0.0, frame.width_in)
        for (text, z_mm), centre_in in zip(ordered, centres, strict=True):
            write(
                ax,
                frame.x(centre_in),
                frame.y(y_in),
                text,
                ha="center",
                va="center",
                fontweight="bold" if bold else "normal",
                # a plane's line passes through the rows: names stay readable on top of it
                bbox={"facecolor": style.PAPER, "edgecolor": "none", "pad": 0.8},
                gid=f"row {row}: {length(z_mm, job.units)}",
            )


def _shortened(entries: list[tuple[str, float]], room_in: float, *, bold: bool) -> list[tuple[str, float]]:
    """Return a row's texts with the longest ones cut until all stand side by side in that room [in]."""

    def wide_in(text: str) -> float:
        return text_size_in(text, bold=bold)[0] + LABEL_GAP_IN

    texts = [text for text, _ in entries]
    while len(texts) > 0 and sum(wide_in(text) for text in texts) > room_in:
        longest = max(range(len(texts)), key=lambda index: wide_in(texts[index]))
        kept = texts[longest].removesuffix("…")
        if len(kept) < 2:
            break
        texts[longest] = f"{kept[:-1].rstrip()}…"
    return [(text, z_mm) for text, (_, z_mm) in zip(texts, entries, strict=True)]
