"""The crankshaft from the side: bearings, throws, counterweights, planes and cuts along the shaft."""

from __future__ import annotations

import cmath
import dataclasses
import math
from typing import TYPE_CHECKING, Any

from planner.frames import SIDES
from planner.present.drawings import style
from planner.present.drawings.holes import look_of_cut, shape_of_cut
from planner.present.drawings.pens import draw_area, draw_circle, draw_line, write
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
)
from planner.present.words import number, rear_is_left
from planner.quantity import factor
from planner.records import dataclass

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from geometry_profiles.rims import RimForm
    from planner.rotor.crankshaft import Counterweight
    from planner.steps.plan_answer import PlanAnswer

TITLE_IN = 0.4
NOTE_IN = 0.3
_GAP_IN = 0.12
_LEADER_IN = 0.1
_END_IN = 0.85
_LONGEST_IN = 1.5
_LEAST_PT = 6.0
_HIGHEST_IN = 2.4
_LEAST_MOVE_IN = 0.04


def plot_side_view(answer: PlanAnswer, *, ax: Axes | None = None) -> Axes:
    """Draw the crankshaft along its shaft, to scale, as who stands before the machine sees it: its left plane at the left.

    Parameters
    ----------
    answer : PlanAnswer
        The plan.
    ax : matplotlib Axes, optional
        Where to draw; a figure of its own if left out.  The data are z [mm] across (``-z`` when the rear is at the left) and
        the distance from the shaft axis [mm] up, in the plane of the first throw, which is up (without throws: angle 0).

    Returns
    -------
    matplotlib Axes
        The same axes; ``gid`` of a cut's patch: ``step 1``, of a counterweight's: ``counterweight A``, of its name:
        ``name of counterweight A``, of the line from name to part: ``leader of counterweight A``.
    """
    if ax is None:
        ax = own_axes(9.5, overview_height_in(answer, 9.5), top_in=TITLE_IN, bottom_in=NOTE_IN)
    job = answer.job
    throws = job.crankshaft.throws
    up = _upward(answer)
    width_in, height_in = axes_size_in(ax)
    rows = _rows(answer, up, width_in)
    frame = _framed(answer, (width_in, height_in), up, rows)
    frame.apply(ax)
    _draw_shaft(ax, answer, up)
    _draw_cuts(ax, answer, up)
    _write_names(ax, rows, frame)
    _write_ends(ax, answer, frame)
    unit = job.units.length
    note = f"z [{unit}] from the front, the same scale up; circles and bars: cuts"
    ax.set_xlabel(
        wrapped(note, frame.width_in),
        fontsize=style.TEXT_PT,
        fontfamily=style.FONT_FAMILY,
        color=style.INK,
        labelpad=4,
    )
    upward = f"throw {throws[0].name} up" if throws else "angle 0 up"
    head_line(ax, "along the shaft, as seen standing before the machine", upward, frame.width_in)
    return ax


def overview_height_in(answer: PlanAnswer, width_in: float) -> float:
    """Return how high a drawing of that width wants to be, its title and note included [in]."""
    up = _upward(answer)
    rows = _rows(answer, up, width_in - 0.24)
    names_in = sum(row.high_in for row in rows)
    _, high = _extent(answer, up)
    return TITLE_IN + NOTE_IN + names_in + 2.0 * _LEADER_IN + 2.0 * high / _scale(answer, up, width_in - 0.24)


def _extent(answer: PlanAnswer, up: complex) -> tuple[tuple[float, float], float]:
    """Return the least and greatest x, and the greatest distance from the shaft axis, up or down [mm]."""
    crankshaft = answer.job.crankshaft
    across = [*crankshaft.bearings_z_mm, *answer.problem.planes_z_mm]
    across += [throw.z_mm for throw in crankshaft.throws]
    high = [1.0]
    for counterweight, (low, top) in zip(answer.problem.counterweights, _heights(answer, up), strict=True):
        half = 0.5 * counterweight.thickness_mm
        across += [counterweight.z_mm - half, counterweight.z_mm + half]
        high += [abs(low), abs(top)]
    high += [throw.radius_mm for throw in crankshaft.throws]
    xs = [_across(answer, z_mm) for z_mm in across]
    return (min(xs), max(xs)), max(high)


def _scale(answer: PlanAnswer, up: complex, room_in: float) -> float:
    """Return the scale [mm/in] at which the shaft fills that width, or its height becomes what it may be."""
    (low, top), high = _extent(answer, up)
    return max((top - low) / (room_in - 2.0 * _END_IN), 2.0 * high / _HIGHEST_IN)


def _upward(answer: PlanAnswer) -> complex:
    throws = answer.job.crankshaft.throws
    return cmath.exp(-1j * math.radians(throws[0].angle_deg if throws else 0.0))


def _across(answer: PlanAnswer, z_mm: float) -> float:
    return -z_mm if rear_is_left(answer.job) else z_mm


@dataclass(frozen=True)
class _Name:
    """A name with the part that it belongs to: ``x`` across and ``end`` up [mm], where its leader ends."""

    gid: str
    text: str
    x: float
    end: float
    bold: bool = False


@dataclass(frozen=True)
class _Row:
    """Names side by side above or below the shaft, lying or standing; widths and height [in], ``size_pt`` of the text."""

    names: tuple[_Name, ...]
    above: bool
    standing: bool
    size_pt: float
    widths_in: tuple[float, ...]
    high_in: float


def _rows(answer: PlanAnswer, up: complex, room_in: float) -> tuple[_Row, _Row, _Row]:
    """Return the names above the shaft, those below, and the lowest row with bearings and planes.

    A counterweight and a throw are named on the side to which they point: the nearest name is then their own.
    """
    job = answer.job
    steps: dict[str, list[str]] = {}
    for step in answer.steps:
        steps.setdefault(step.cut.counterweight, []).append(step.label)
    sides: dict[bool, list[_Name]] = {True: [], False: []}
    for each, (low, top) in zip(answer.problem.counterweights, _heights(answer, up), strict=True):
        cut = f"\ncut {', '.join(steps[each.name])}" if each.name in steps else ""
        is_up = top >= -low
        x, end = _across(answer, each.z_mm), top if is_up else low
        name = _Name(f"counterweight {each.name}", f"{each.name}{cut}", x, end, bool(cut))
        sides[is_up].append(name)
    for throw in job.crankshaft.throws:
        height = throw.radius_mm * (cmath.exp(1j * math.radians(throw.angle_deg)) * up).real
        called = f"throw {throw.name}"
        sides[height >= -1e-6].append(_Name(called, called, _across(answer, throw.z_mm), height))
    per_unit = factor(job.units.length, "length")
    places = [(f"bearing {count}", z_mm) for count, z_mm in enumerate(job.crankshaft.bearings_z_mm, start=1)]
    places += [(f"{side} plane", z_mm) for side, z_mm in answer.problem.planes_z_mm.items()]
    lowest = [
        _Name(what, f"{what}\n{number(z_mm / per_unit, digits=3)}", _across(answer, z_mm), 0.0)
        for what, z_mm in places
    ]
    scale = _scale(answer, up, room_in)
    return (
        _row(sides[True], room_in, scale, above=True),
        _row(sides[False], room_in, scale, above=False),
        _row(lowest, room_in, scale, above=False, may_stand=False),
    )


def _row(names: list[_Name], room_in: float, per_in: float, *, above: bool, may_stand: bool = True) -> _Row:
    """Return names in a row: lying where each keeps its own part's place, else standing; smaller where that is too much."""
    ordered = tuple(sorted(names, key=lambda name: name.x))
    lying = [text_size_in(name.text, bold=name.bold) for name in ordered]
    wide = [size[0] + LABEL_GAP_IN for size in lying]
    wanted = [name.x / per_in for name in ordered]
    # pushed aside, a name would come nearer to its neighbour's part
    moved = [abs(there - here) for here, there in zip(wanted, spread(wanted, wide, -1e6, 1e6), strict=True)]
    if not may_stand or max(moved, default=0.0) <= _LEAST_MOVE_IN:
        high = max((size[1] + _GAP_IN for size in lying), default=0.0)
        return _Row(ordered, above, False, style.TEXT_PT, tuple(wide), high)
    size_pt = style.TEXT_PT
    while True:
        texts = [_folded(name.text, size_pt, bold=name.bold) for name in ordered]
        sizes = [
            text_size_in(text, size_pt=size_pt, bold=name.bold)
            for text, name in zip(texts, ordered, strict=True)
        ]
        thick = [size[1] + 0.05 for size in sizes]
        if sum(thick) <= room_in or size_pt <= _LEAST_PT:
            break
        size_pt -= 0.5
    named = tuple(dataclasses.replace(name, text=text) for name, text in zip(ordered, texts, strict=True))
    high = max(size[0] for size in sizes) + _GAP_IN
    return _Row(named, above, True, size_pt, tuple(thick), high)


def _folded(text: str, size_pt: float, *, bold: bool) -> str:
    """Return a text in lines that are no longer than a standing name may be; a word is never split."""
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for word in paragraph.split():
            longer = f"{line} {word}" if line else word
            if line and text_size_in(longer, size_pt=size_pt, bold=bold)[0] > _LONGEST_IN:
                lines.append(line)
                line = word
            else:
                line = longer
        lines.append(line)
    return "\n".join(lines)


def _heights(answer: PlanAnswer, up: complex) -> list[tuple[float, float]]:
    """Return the lowest and highest point of every counterweight's outline in this view [mm]."""
    heights = []
    for counterweight in answer.problem.counterweights:
        turn = cmath.exp(1j * math.radians(counterweight.angle_deg)) * up
        points = [(complex(x, y) * turn).real for x, y in counterweight.outline.boundary_mm]
        heights.append((min(points), max(points)))
    return heights


def _framed(
    answer: PlanAnswer, size_in: tuple[float, float], up: complex, rows: tuple[_Row, _Row, _Row]
) -> Frame:
    (low, top), high = _extent(answer, up)
    above, below, lowest = rows
    return fitted_frame(
        (low, -high, top, high),
        size_in=size_in,
        left_in=_END_IN,
        right_in=_END_IN,
        bottom_in=below.high_in + lowest.high_in + _LEADER_IN,
        top_in=above.high_in + _LEADER_IN,
    )


def _draw_shaft(ax: Axes, answer: PlanAnswer, up: complex) -> None:
    """Draw axis, bearings, throws, counterweights and planes."""
    from matplotlib.patches import Rectangle

    crankshaft = answer.job.crankshaft
    x0, x1 = ax.get_xlim()
    y0, y1 = ax.get_ylim()
    axis = {"color": style.INK, "linestyle": "-.", "linewidth": 0.9}
    draw_line(ax, [complex(x0), complex(x1)], **axis, zorder=3, gid="shaft axis")
    for side, z_mm in answer.problem.planes_z_mm.items():
        ends = [complex(_across(answer, z_mm), 0.72 * y) for y in (y0, y1)]
        draw_line(ax, ends, **style.PLANE.pen, zorder=6, gid=f"{side} plane")
    wide = 0.02 * (x1 - x0)
    for count, z_mm in enumerate(crankshaft.bearings_z_mm, start=1):
        corners = [_across(answer, z_mm) + wide * corner for corner in (0j, -1.0 - 1.7j, 1.0 - 1.7j)]
        look = style.BEARING
        draw_area(ax, corners, facecolor=look.face, **look.border, zorder=5, gid=f"bearing {count}")
    for throw in crankshaft.throws:
        height = throw.radius_mm * (cmath.exp(1j * math.radians(throw.angle_deg)) * up).real
        foot = complex(_across(answer, throw.z_mm))
        arm = [foot, foot + 1j * height]
        draw_line(ax, arm, **style.THROW.pen, zorder=2, gid=f"arm of throw {throw.name}")
        draw_line(
            ax,
            arm[1:],
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
        box: dict[str, Any] = {
            "facecolor": style.OUTLINE.face,
            **style.OUTLINE.border,
            "zorder": 1.5,
            "gid": f"counterweight {counterweight.name}",
        }
        if counterweight.rim is None:
            left = _across(answer, counterweight.z_mm) - half
            ax.add_patch(Rectangle((left, low), 2.0 * half, top - low, **box))
        else:
            silhouette = _silhouette(counterweight, counterweight.rim, low, top)
            draw_area(ax, [complex(_across(answer, z), height) for z, height in silhouette], **box)


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
    from matplotlib.patches import Rectangle

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
            place = _across(answer, counterweight.z_mm + cut.from_middle_mm)
            draw_circle(ax, complex(place, height), 0.5 * cut.diameter_mm, **settings)
            continue
        half = 0.5 * counterweight.thickness_mm
        long_mm = counterweight.thickness_mm
        high_mm = cut.depth_shoulder_mm or 0.0 if cut.on_rim else cut.diameter_mm
        if cut.kind == "bevel":
            long_mm = min(long_mm, high_mm / math.tan(math.radians(cut.slope_deg or 45.0)))
        elif not cut.through and not cut.on_rim:
            long_mm = cut.length_mm or cut.depth_shoulder_mm or long_mm
        start = counterweight.z_mm - half if cut.face == "front" else counterweight.z_mm + half - long_mm
        if rear_is_left(answer.job):
            start = -(start + long_mm)
        ax.add_patch(Rectangle((start, height - 0.5 * high_mm), long_mm, high_mm, **settings))


def _write_names(ax: Axes, rows: tuple[_Row, _Row, _Row], frame: Frame) -> None:
    """Write every row of names, each name with a line to its own part."""
    above, below, lowest = rows
    starts = {
        0: frame.height_in - above.high_in + 0.5 * _GAP_IN,
        1: lowest.high_in + below.high_in - 0.5 * _GAP_IN,
        2: lowest.high_in - 0.5 * _GAP_IN,
    }
    for index, row in enumerate(rows):
        wanted = [(name.x - frame.corner_x) / frame.per_in for name in row.names]
        centres = spread(wanted, row.widths_in, 0.0, frame.width_in)
        start_in = starts[index]
        for name, centre_in in zip(row.names, centres, strict=True):
            if index < 2:
                start = frame.at(centre_in, start_in - (0.03 if row.above else -0.03))
                leader = [start, complex(name.x, name.end)]
                draw_line(ax, leader, **style.LEADER.pen, zorder=1.2, gid=f"leader of {name.gid}")
            write(
                ax,
                frame.at(centre_in, start_in),
                name.text,
                multialignment="left" if row.standing else "center",
                va="bottom" if row.above else "top",
                fontsize=row.size_pt,
                # a standing name begins at its part
                rotation=(90.0 if row.above else -90.0) if row.standing else 0.0,
                fontweight="bold" if name.bold else "normal",
                # a plane's line passes through the rows: names stay readable on top of it
                bbox={"facecolor": style.PAPER, "edgecolor": "none", "pad": 0.6},
                gid=f"name of {name.gid}",
            )


def _write_ends(ax: Axes, answer: PlanAnswer, frame: Frame) -> None:
    """Write at each end of the shaft whether it is the front or the rear, and from which one the angles are counted."""
    job = answer.job
    ends = ("rear", "front") if rear_is_left(job) else ("front", "rear")
    for end, x_in, side in zip(ends, (0.0, frame.width_in), SIDES, strict=True):
        here = "\nangles are\nseen from\nthis end" if end == job.machine.viewed_from else ""
        write(
            ax,
            complex(frame.x(x_in)),
            f"{end}{here}",
            ha=side,
            fontweight="bold",
            bbox={"facecolor": style.PAPER, "edgecolor": "none", "pad": 0.6},
            gid=f"{side} end",
        )
