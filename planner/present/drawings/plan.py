"""The whole picture of a plan: every counterweight that is cut, the vectors of both planes, and what to know."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from planner.frames import SIDES
from planner.present.drawings import style
from planner.present.drawings.counterweight import labels_height_in, plot_counterweight
from planner.present.drawings.holes import old_holes
from planner.present.drawings.place import text_size_in, wrapped
from planner.present.drawings.save import quiet_about_glyphs
from planner.present.drawings.vectors import plot_plane_vectors, vector_labels_in, words_below_in
from planner.present.drawings.words import convention_words, foretold_words, judged_words
from planner.present.words import CAUTIONS, dial_words
from planner.records import dataclass
from planner.rotor.crankshaft import FILLS, RIM_CUTS, Counterweight, CutKind
from planner.steps.trial import spin_words

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch

    from planner.steps.plan_answer import PlanAnswer

WIDTH_IN = 16.54
"""Width of an A3 sheet laid on its side [in]."""

_MARGIN_IN = 0.35
_GAP_IN = 0.3
_PANEL_TITLE_IN = 0.45
_PANEL_IN = 3.3
_VECTORS_IN = 3.1
_FEW_LABELS_IN = 2.8
_KEY_IN = 0.3


@dataclass(frozen=True)
class _Row:
    """A row of drawings: height of the axes, room for their titles and for what stands below them [in]."""

    axes_in: float
    above_in: float
    below_in: float

    @property
    def whole_in(self) -> float:
        return self.axes_in + self.above_in + self.below_in


@quiet_about_glyphs()
def plan_figure(answer: PlanAnswer) -> Figure:
    """Return the whole picture of a plan, seen from the end that the machine views from.

    Parameters
    ----------
    answer : PlanAnswer
        The plan.

    Returns
    -------
    matplotlib Figure
        16.54 in wide, as high as it has to be for text of 8 pt or more.
    """
    from matplotlib.figure import Figure

    view = answer.job.machine.viewed_from
    cut = touched_counterweights(answer)
    width_in = WIDTH_IN
    room_in = width_in - 2.0 * _MARGIN_IN
    per_row = _per_row(answer, cut)
    groups = [cut[start : start + per_row] for start in range(0, len(cut), per_row)]
    # so high that the fullest drawing of a row has room for its labels
    fullest_in = [max(labels_height_in(answer, each) for each in group) for group in groups]
    rows = [_Row(max(_PANEL_IN, 0.6 * each + 0.5), _PANEL_TITLE_IN, 0.0) for each in fullest_in]
    panels_in = [(room_in - (per_row - 1) * _GAP_IN) / per_row] * per_row
    zoom_in = _VECTORS_IN - 0.2
    whole_in = 0.5 * (room_in - 3.0 * _GAP_IN) - zoom_in
    diagrams_in = [whole_in, zoom_in, whole_in, zoom_in]
    places = [(side, zoom) for side in SIDES for zoom in (False, True)]
    below_in = max(
        words_below_in(answer, side, width_in=each_in, zoom=zoom)
        for (side, zoom), each_in in zip(places, diagrams_in, strict=True)
    )
    labels_in = max(vector_labels_in(answer, side) for side in SIDES)
    vectors = _Row(max(_VECTORS_IN, labels_in + 0.1), _PANEL_TITLE_IN, below_in)
    title = wrapped(plan_title(answer), room_in, size_pt=style.PAGE_TITLE_PT, bold=True)
    title_in = text_size_in(title, size_pt=style.PAGE_TITLE_PT, bold=True)[1] + 0.1
    footer = "\n".join(wrapped(line, room_in) for line in footer_lines(answer))
    footer_in = text_size_in(footer)[1] + 0.1
    key = key_of(key_looks(answer))
    key_in = _KEY_IN * math.ceil(len(key) / 5) + 0.1
    height_in = (
        2.0 * _MARGIN_IN
        + title_in
        + sum(row.whole_in + _GAP_IN for row in (*rows, vectors))
        + key_in
        + footer_in
    )
    figure = Figure(figsize=(width_in, height_in), facecolor=style.PAPER)

    def box(
        row: _Row, top_in: float, widths_in: Sequence[float], column: int
    ) -> tuple[float, float, float, float]:
        left_in = _MARGIN_IN + sum(widths_in[:column]) + column * _GAP_IN
        bottom_in = top_in - row.above_in - row.axes_in
        return (
            left_in / width_in,
            bottom_in / height_in,
            widths_in[column] / width_in,
            row.axes_in / height_in,
        )

    top_in = height_in - _MARGIN_IN
    _write(figure, title, top_in, size_pt=style.PAGE_TITLE_PT, bold=True, gid="page title")
    top_in -= title_in
    for row, group in zip(rows, groups, strict=True):
        for column, counterweight in enumerate(group):
            ax = figure.add_axes(box(row, top_in, panels_in, column))
            plot_counterweight(answer, counterweight, viewed_from=view, ax=ax)
        top_in -= row.whole_in + _GAP_IN
    for index, (side, zoom) in enumerate(places):
        ax = figure.add_axes(box(vectors, top_in, diagrams_in, index))
        plot_plane_vectors(answer, side, viewed_from=view, ax=ax, zoom=zoom)
    top_in -= vectors.whole_in + _GAP_IN
    draw_key(figure, key, top_in=top_in)
    top_in -= key_in
    _write(figure, footer, top_in, size_pt=style.TEXT_PT, bold=False, gid="footer")
    return figure


def touched_counterweights(answer: PlanAnswer) -> tuple[Counterweight, ...]:
    """Return the counterweights that the plan cuts or that were cut since the spin, front to rear."""
    names = {step.cut.counterweight for step in answer.steps} | {cut.counterweight for cut, _ in answer.made}
    found = [each for each in answer.problem.counterweights if each.name in names]
    return tuple(sorted(found, key=lambda each: (each.z_mm, each.name)))


def footer_lines(answer: PlanAnswer) -> tuple[str, ...]:
    """Return what stands at the foot: convention, verdict, next reading, caution; each one paragraph."""
    job = answer.job
    view = job.machine.viewed_from
    lines = [f"Convention: {convention_words(job)}. All views are seen from the {view}."]
    if job.machine.drill_offset_deg:
        lines.append(
            f"Numbers at counterweights are dial numbers, at vectors display numbers: {dial_words(job)}."
        )
    judged = judged_words(answer)
    lines.append(f"Verdict of this plan: {answer.verdict}" + (f" ({judged})." if judged else "."))
    if not answer.outcome.feasible and answer.outcome.certificate is not None:
        lines.append(f"Why: {answer.outcome.certificate.text}")
    after = "after these cuts" if answer.steps else "with nothing cut"
    after += " and with the same bobs and parts on"
    lines.append(f"The next spin should read, {after}: {foretold_words(answer)}.")
    lines.append(CAUTIONS[-1])
    return tuple(lines)


def plan_title(answer: PlanAnswer) -> str:
    """Return what the whole picture of a plan is called."""
    details = answer.job.details
    count = len(answer.steps)
    cuts = "nothing to cut" if count == 0 else "1 cut" if count == 1 else f"{count} cuts"
    if count == 0 and not answer.outcome.feasible:
        cuts = "no plan reaches the tolerance"
    named = details.title or details.engine or details.crankshaft_number or "crankshaft"
    date = f", {details.date.isoformat()}" if details.date else ""
    return f"{named}: correction plan after {spin_words(answer.spin_number)}, {cuts}{date}"


def _per_row(answer: PlanAnswer, cut: Sequence[Counterweight]) -> int:
    """Return how many counterweights stand side by side: four only where each has few labels."""
    fullest_in = max((labels_height_in(answer, each) for each in cut), default=0.0)
    most = 4 if fullest_in < _FEW_LABELS_IN and len(cut) not in (5, 6) else 3
    rows = math.ceil(len(cut) / most)
    return max(1, math.ceil(len(cut) / max(1, rows)))


def key_of(looks: Sequence[style.Look]) -> list[Patch]:
    """Return one patch for every look."""
    from matplotlib.patches import Patch as PatchArtist

    return [
        PatchArtist(
            facecolor=look.face,
            edgecolor=look.edge,
            hatch=look.hatch or None,
            linestyle=look.line,
            linewidth=look.width_pt,
            label=look.words,
        )
        for look in looks
    ]


def key_looks(answer: PlanAnswer, *, made: bool = False) -> tuple[style.Look, ...]:
    """Return every look that the counterweights show; ``made`` when the steps are cuts that were made."""
    cut = touched_counterweights(answer)
    kinds = {step.cut.kind for step in answer.steps}
    holes = [hole for each in cut for hole in old_holes(answer, each)]
    present = (
        (
            bool(kinds & {"rim hole", "face hole", *RIM_CUTS}),
            dataclasses.replace(style.NEW_HOLE, words="drilled" if made else _now(kinds))
            if made or kinds & set(RIM_CUTS)
            else style.NEW_HOLE,
        ),
        ("slug" in kinds, style.SLUG),
        (bool(kinds & set(FILLS)), style.FILL),
        (bool(answer.made), style.MADE_CUT),
        (any(hole.filled_density_g_per_cm3 is None for hole in holes), style.OLD_HOLE),
        (any(hole.filled_density_g_per_cm3 is not None for hole in holes), style.OLD_SLUG),
        (any(each.keep_outs or each.round_keep_outs for each in cut), style.KEEP_OUT),
        (bool(answer.problem.oil_drillings), style.OIL),
    )
    return tuple(look for shown, look in present if shown)


def _now(kinds: set[CutKind]) -> str:
    return "drill, turn or mill now" if kinds & {"rim hole", "face hole"} else "turn or mill off now"


def draw_key(
    figure: Figure, key: list[Patch], *, top_in: float, left_in: float = _MARGIN_IN, columns: int = 5
) -> None:
    """Draw the key below ``top_in`` (counted up from the figure's lower edge) [in]."""
    if not key:
        return
    width_in, height_in = figure.get_size_inches()
    figure.legend(
        handles=key,
        loc="upper left",
        bbox_to_anchor=(left_in / width_in, top_in / height_in),
        ncols=columns,
        frameon=False,
        borderpad=0.0,
        borderaxespad=0.0,
        handlelength=2.4,
        handleheight=1.4,
        prop={"family": style.FONT_FAMILY, "size": style.TEXT_PT},
    )


def _write(figure: Figure, text: str, top_in: float, *, size_pt: float, bold: bool, gid: str) -> None:
    width_in, height_in = figure.get_size_inches()
    figure.text(
        _MARGIN_IN / width_in,
        top_in / height_in,
        text,
        ha="left",
        va="top",
        fontsize=size_pt,
        fontfamily=style.FONT_FAMILY,
        fontweight="bold" if bold else "normal",
        color=style.INK,
        parse_math=False,
        linespacing=style.LINE_SPACING,
        gid=gid,
    )
