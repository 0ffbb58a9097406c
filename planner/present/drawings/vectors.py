"""Vector diagrams: what has to be corrected in a plane, what every step does to it, what is left."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING, Any

from planner.errors import InputError
from planner.frames import SIDES, MachineAngle, MachineConvention, ShaftAngle, Side, ViewedFrom
from planner.present.drawings import style
from planner.present.drawings.dimensions import draw_head, round_below
from planner.present.drawings.labels import Columns, Label, best_columns, draw_columns, possible_columns
from planner.present.drawings.pens import draw_circle, draw_line, half_in, write
from planner.present.drawings.place import (
    Frame,
    axes_size_in,
    checked_view,
    fitted_frame,
    head_line,
    own_axes,
    seen,
    text_size_in,
    wrapped,
)
from planner.present.drawings.words import convention_words, judged_vectors, limit_words, vector_words
from planner.present.words import amount_words, degrees, length_words, number, printed
from planner.quantity import factor
from planner.rotor.limits import LimitRow
from planner.rotor.vectors import plane_shares

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from planner.jobfile.job import Job
    from planner.steps.plan_answer import PlanAnswer

_TICK_STEP_DEG = 30
_SMALL_IN = 0.65
_TICKS_ACROSS_IN = 0.42
_TICKS_UP_IN = 0.24
Dashes = Any  # matplotlib's line style: a name, or offset and lengths of dashes and gaps
_RING_LINES: tuple[Dashes, ...] = (":", (0, (5, 1.5, 1, 1.5)), "--")

# a cut at one plane does this share of itself in the other
_NOTHING = 1e-9


def plot_plane_vectors(
    answer: PlanAnswer,
    side: Side,
    *,
    viewed_from: ViewedFrom = "front",
    ax: Axes | None = None,
    zoom: bool = False,
) -> Axes:
    """Draw the vectors of one reading plane as the display shows them: to the spot, heavy or light, that it marks.

    Parameters
    ----------
    answer : PlanAnswer
        The plan.
    side : {"left", "right"}
        The plane.
    viewed_from : {"front", "rear"}
        The end it is seen from, as in `plot_counterweight`.  The axes' data are in the job's unbalance unit.
    ax : matplotlib Axes, optional
        Where to draw; a figure of its own if left out.  The drawing is laid out for the size that the axes have now.
    zoom : bool
        False: unbalance, every step tip to tail, and what is left.  True: only what is left, large, with the
        tolerance ring; where the limit is judged at the bearings (or as static and couple) these vectors
        and their rings.

    Returns
    -------
    matplotlib Axes
        The same axes; ``gid`` of a vector's line: ``unbalance``, ``correction 1``, ``residual``,
        ``judged bearing 1``; of a ring: ``ring bearing 1``.

    Raises
    ------
    InputError
        If ``side`` or ``viewed_from`` is none of those.
    """
    view = checked_view(viewed_from)
    if side not in SIDES:
        raise InputError(
            f"`{side}` is no reading plane; `left` and `right` are allowed",
            hint="left and right are the machine's two planes, as in the job's `[planes]`",
        )
    if ax is None:
        ax = own_axes(6.2, 4.3, bottom_in=0.75)
    drawing = _zoomed(answer, side, view) if zoom else _whole(answer, side, view)
    drawing.draw(ax, answer, view)
    return ax


def words_below_in(answer: PlanAnswer, side: Side, *, width_in: float, zoom: bool) -> float:
    """Return how much room [in] the words below a diagram of that width take."""
    drawing = _zoomed(answer, side, "front") if zoom else _whole(answer, side, "front")
    return text_size_in(wrapped(f"unbalance\n{drawing.words}", width_in))[1] + 0.15


def vector_labels_in(answer: PlanAnswer, side: Side) -> float:
    """Return how high the labels of a whole diagram are in one column [in]."""
    return sum(label.height_in for label in _whole(answer, side, "front").labels)


def rows_of_side(answer: PlanAnswer, side: Side) -> tuple[tuple[LimitRow, complex], ...]:
    """Return the limits that a plane's zoom shows, with what is left at each [g*mm].

    A plane's own limit, else the bearing on that plane's side, else (static and couple) one each.
    """
    rows = list(zip(answer.problem.limits, judged_vectors(answer), strict=True))
    if len(rows) < 2:
        return tuple(rows)
    z_left, z_right = answer.problem.planes_z_mm
    if all(row.z_mm is not None for row, _ in rows):
        rows.sort(key=lambda pair: pair[0].z_mm or 0.0, reverse=z_left > z_right)
    half = len(rows) // 2
    return tuple(rows[:half] if side == "left" else rows[half:])


class _Drawing:
    """What a diagram holds, in the job's unit and already as seen, before the scale is known."""

    def __init__(self, *, title: str, words: str, machine: MachineConvention, columns: bool) -> None:
        self.title = title
        self.words = words
        self.machine = machine
        self.columns = columns
        self.enlarged = "" if columns else "enlarged, "
        self.vectors: list[tuple[str, complex, complex, style.Look]] = []
        self.rings: list[tuple[str, float, Dashes]] = []
        self.labels: list[Label] = []

    def vector(self, gid: str, start: complex, end: complex, look: style.Look, text: str) -> None:
        """Add an arrow with its label: in a side column, or in the words below when there are no columns."""
        self.vectors.append((gid, start, end, look))
        if not self.columns:
            self.words = f"{text}\n{self.words}"
            return
        middle = 0.5 * (start + end)
        self.labels.append(Label(text=text, x=middle.real, y=middle.imag, gid=gid))

    def ring(self, gid: str, radius: float, line: Dashes, text: str) -> None:
        """Add a ring about the origin, labelled at its lower right where there are columns."""
        self.rings.append((gid, radius, line))
        if not self.columns:
            return
        at = radius * cmath.exp(-1j * math.radians(40.0))
        self.labels.append(Label(text=text, x=at.real, y=at.imag, gid=gid))

    def reach(self) -> float:
        """Return the radius of the circle that holds everything."""
        ends = [abs(end) for _, start, end, _ in self.vectors] + [
            abs(start) for _, start, _, _ in self.vectors
        ]
        reach = max([*ends, *(radius for _, radius, _ in self.rings)], default=0.0)
        return 1.06 * reach if reach > 0.0 else 1.0

    def draw(self, ax: Axes, answer: PlanAnswer, view: ViewedFrom) -> None:
        """Lay everything out for the size of the axes and draw it."""
        size_in = axes_size_in(ax)
        reach = self.reach()

        def frame_of(columns: Columns) -> Frame:
            return fitted_frame(
                (-reach, -reach, reach, reach),
                size_in=size_in,
                left_in=columns.left_in + _TICKS_ACROSS_IN,
                right_in=columns.right_in + _TICKS_ACROSS_IN,
                bottom_in=_TICKS_UP_IN,
                top_in=_TICKS_UP_IN,
            )

        columns, frame = best_columns(possible_columns(self.labels, middle_x=0.0), frame_of)
        frame.apply(ax)
        step = self._draw_grid(ax, frame, reach, view)
        for gid, radius, line in self.rings:
            border = {**style.RING.border, "linestyle": line}
            draw_circle(ax, 0j, radius, fill=False, **border, zorder=4, gid=gid)
        for gid, start, end, look in self.vectors:
            _draw_vector(ax, start, end, look=look, frame=frame, gid=gid)
        draw_columns(ax, columns, frame)
        units = answer.job.units
        unit = printed(units.unbalance)
        text = f"unbalance [{unit}], circles every {number(step, digits=6)} {unit}"
        ax.set_xlabel(
            wrapped(f"{text}\n{self.words}".rstrip(), frame.width_in),
            fontsize=style.TEXT_PT,
            fontfamily=style.FONT_FAMILY,
            color=style.INK,
            parse_math=False,
            labelpad=4,
        )
        head_line(ax, self.title, f"{self.enlarged}seen from the {view}", frame.width_in)

    def _draw_grid(self, ax: Axes, frame: Frame, reach: float, view: ViewedFrom) -> float:
        """Draw amount circles and the machine's angles round them; return the circles' step."""
        step = round_below(0.5 * reach)
        radii = [step * count for count in range(1, math.floor(reach / step + 1e-9) + 1)]
        for radius in (*radii, reach):
            colour, gid = style.GRID.edge, "circle"
            if radius == reach:
                colour, gid = style.PALE_INK, "rim of the diagram"
            thick = style.GRID.width_pt
            draw_circle(ax, 0j, radius, fill=False, edgecolor=colour, linewidth=thick, zorder=1, gid=gid)
        # numbers round a small circle would stand on each other
        every = _TICK_STEP_DEG if reach / frame.per_in > _SMALL_IN else 90
        for angle in range(0, 360, every):
            turn = seen(cmath.exp(1j * math.radians(self.machine.place_deg(MachineAngle(angle)))), view)
            draw_line(ax, [0j, reach * turn], **style.GRID.pen, zorder=1, gid=f"spoke {angle}")
            out_in = 0.06 + half_in(degrees(angle), turn, bold=angle == 0)
            write(
                ax,
                turn * (reach + out_in * frame.per_in),
                degrees(angle),
                color=style.PALE_INK if angle else style.INK,
                fontweight="normal" if angle else "bold",
                gid=f"tick {angle}",
                bbox={"boxstyle": "square,pad=0.05", "facecolor": style.PAPER, "edgecolor": "none"},
            )
        return step


def _whole(answer: PlanAnswer, side: Side, view: ViewedFrom) -> _Drawing:
    job = answer.job
    scale = 1.0 / factor(job.units.unbalance, "unbalance")
    place = length_words(job, answer.problem.planes_z_mm.at(side), with_64th=False)
    drawing = _Drawing(
        title=f"{side} plane, z {place}",
        words=convention_words(job),
        machine=job.machine,
        columns=True,
    )

    def at(vector: complex) -> complex:
        return seen(vector * scale * marked(job), view)

    tip = answer.unbalance_gmm.at(side)
    drawing.vector(
        "unbalance", 0j, at(tip), style.UNBALANCE, f"{job.machine.marks} now\n{vector_words(tip, job, side)}"
    )
    for step, change in zip(answer.steps, changes_gmm(answer, side), strict=True):
        if abs(change) <= _NOTHING * abs(step.effect.unbalance_gmm):
            continue  # a cut in the other plane does nothing in this one
        drawing.vector(
            f"correction {step.label}",
            at(tip),
            at(tip + change),
            style.CORRECTION,
            f"step {step.label}: {printed(amount_words(job, abs(change)))}",
        )
        tip += change
    residual = answer.residual_gmm.at(side)
    drawing.vector(
        "residual", 0j, at(residual), style.RESIDUAL, f"what is left\n{vector_words(residual, job, side)}"
    )
    for row, _ in rows_of_side(answer, side):
        if row.at == side:
            text = f"tolerance {printed(amount_words(job, row.tolerance_gmm))}"
            drawing.ring(f"ring {row.at}", row.tolerance_gmm * scale, _RING_LINES[0], text)
    return drawing


def marked(job: Job) -> float:
    """Return the sign that turns a vector to the heavy spot into one to the spot that the display marks."""
    return 1.0 if job.machine.marks == "heavy spot" else -1.0


def changes_gmm(answer: PlanAnswer, side: Side) -> tuple[complex, ...]:
    """Return what every step changes in one reading plane [g*mm], crankshaft frame."""
    return tuple(
        step.effect.unbalance_gmm
        * plane_shares(step.effect.z_mm, answer.problem.planes_z_mm)[SIDES.index(side)]
        * cmath.exp(1j * math.radians(step.cut.angle_deg))
        for step in answer.steps
    )


def _zoomed(answer: PlanAnswer, side: Side, view: ViewedFrom) -> _Drawing:
    job = answer.job
    scale = 1.0 / factor(job.units.unbalance, "unbalance")
    rows = rows_of_side(answer, side)
    residual = answer.residual_gmm.at(side)
    if not rows:
        drawing = _Drawing(
            title=f"what is left: {side} plane",
            words="the job states no tolerance",
            machine=job.machine,
            columns=False,
        )
        drawing.vector(
            "residual",
            0j,
            seen(residual * scale * marked(job), view),
            style.RESIDUAL,
            vector_words(residual, job, side),
        )
        return drawing
    places = " and ".join(f"{row.at} plane" if row.at in SIDES else row.at for row, _ in rows)
    drawing = _Drawing(
        title=f"what is left: {places}",
        words=_ring_words(job),
        machine=job.machine,
        columns=False,
    )
    for count, (row, vector) in enumerate(rows):
        text = limit_words(row.at, abs(vector), row.tolerance_gmm, job)
        at = degrees(job.machine.reading_angle_deg(ShaftAngle(math.degrees(cmath.phase(vector)))))
        drawing.vector(
            f"judged {row.at}",
            0j,
            seen(vector * scale * marked(job), view),
            style.RESIDUAL,
            f"{text},\n{job.machine.marks} at {at}",
        )
        line = _RING_LINES[count % len(_RING_LINES)]
        text = f"tolerance {printed(amount_words(job, row.tolerance_gmm))}"
        drawing.ring(f"ring {row.at}", row.tolerance_gmm * scale, line, text)
    return drawing


def _ring_words(job: Job) -> str:
    stated = printed(job.tolerance.stated) if job.tolerance is not None else ""
    return f"ring: tolerance ({stated})" if stated else "ring: tolerance"


def _draw_vector(ax: Axes, start: complex, end: complex, *, look: style.Look, frame: Frame, gid: str) -> None:
    """Draw an arrow as a line from start to end and a head at its end that is never longer than the arrow."""
    draw_line(ax, [start, end], **look.pen, solid_capstyle="butt", zorder=5, gid=gid)
    long_in = abs(end - start) / frame.per_in
    if long_in > 0.01:
        draw_head(
            ax,
            tip=end,
            direction=end - start,
            size_in=min(0.06 + 0.025 * look.width_pt, 0.7 * long_in),
            frame=frame,
            colour=look.edge,
            face=look.face,
            gid=f"head of {gid}",
            zorder=5.5,
        )
