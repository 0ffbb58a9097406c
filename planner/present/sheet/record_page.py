"""The customer's record on paper: one page, whatever the job."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.present.drawings import style
from planner.present.drawings.counterweight import head_of, plot_counterweight
from planner.present.drawings.place import head_height_in, text_size_in, wrapped, write
from planner.present.drawings.plan import touched_counterweights
from planner.present.drawings.save import quiet_about_glyphs
from planner.present.drawings.words import view_words
from planner.present.pages.bob_card import Block
from planner.present.pages.record import RecordContent, record_content
from planner.present.sheet.pages import PANEL_TITLE_IN, draw_side_view
from planner.present.sheet.paper import SMALL_PT, Pages, Paper, lines_in
from planner.steps.sheet import RecordAnswer

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SIGNATURE_IN = 0.75
_BAR_IN = 0.2
_BETWEEN_IN = 0.08
_SIDE_IN = 2.2
_DETAIL_IN = 2.5
_HEADING_IN = 0.4
_FACT_LINES = 2


@quiet_about_glyphs()
def record_figure(record: RecordAnswer, *, paper: Paper) -> Figure:
    """Return the customer's record as one page."""
    content = record_content(record)
    pages = Pages(paper, running_title=content.title, single=True)
    _write_head(pages, content)
    _write_results(pages, content)
    _draw(pages, record)
    _write_metal(pages, content)
    room_in = pages.left_over_in - _bottom_in(pages, content)
    bobs = _bobs_that_fit(pages, content, room_in)
    if bobs is not None:
        pages.heading(bobs.title, with_in=0.0)
        pages.table(bobs.table)
        for line in bobs.lines:
            pages.paragraph(line)
    _write_bottom(pages, content)
    return pages.figure


def plot_before_after(content: RecordContent, *, ax: Axes, width_in: float, height_in: float) -> Axes:
    """Draw before and after at every place that is judged, the limit as a dashed line.

    The data are inches from the axes' lower left corner; ``gid`` of a bar: ``before bearing 1``.
    """
    from matplotlib.patches import Rectangle

    ax.set_xlim(0.0, width_in)
    ax.set_ylim(0.0, height_in)
    ax.set_axis_off()
    names_in = max(text_size_in(bar.place, bold=True)[0] for bar in content.bars) + 0.15
    texts_in = max(text_size_in(bar.text)[0] for bar in content.bars) + 0.2
    most = max(max(bar.amount_gmm, bar.limit_gmm) for bar in content.bars)
    per_gmm = (width_in - names_in - texts_in) / most
    places = list(dict.fromkeys(bar.place for bar in content.bars))
    top_in = height_in
    for place in places:
        bars = [bar for bar in content.bars if bar.place == place]
        limit_in = names_in + bars[0].limit_gmm * per_gmm
        bottom_in = top_in - len(bars) * _BAR_IN
        for index, bar in enumerate(bars):
            look = style.RING if bar.amount_gmm <= bar.limit_gmm else style.RESIDUAL
            middle_in = top_in - (index + 0.5) * _BAR_IN
            long_in = max(0.01, bar.amount_gmm * per_gmm)
            before = bar.when == "before"
            ax.add_patch(
                Rectangle(
                    (names_in, middle_in - 0.5 * _BAR_IN + 0.03),
                    long_in,
                    _BAR_IN - 0.06,
                    facecolor="none" if before else look.edge,
                    edgecolor=look.edge,
                    hatch="////" if before else None,
                    linewidth=1.0,
                    gid=f"{bar.when} {bar.place}",
                )
            )
            # never under the limit's line
            text_in = names_in + long_in + 0.08
            if text_in - 0.05 < limit_in < text_in + text_size_in(bar.text)[0] + 0.05:
                text_in = limit_in + 0.08
            write(ax, text_in, middle_in, bar.text, ha="left", va="center")
        write(ax, 0.0, 0.5 * (top_in + bottom_in), place, ha="left", va="center", fontweight="bold")
        ax.plot(
            [limit_in, limit_in],
            [bottom_in, top_in],
            color=style.INK,
            linestyle="--",
            linewidth=1.3,
            gid=f"limit {place}",
        )
        top_in = bottom_in - _BETWEEN_IN
    return ax


def bars_height_in(content: RecordContent) -> float:
    """Return how high the drawing of before and after is [in]."""
    places = len({bar.place for bar in content.bars})
    return len(content.bars) * _BAR_IN + (places - 1) * _BETWEEN_IN


def _write_head(pages: Pages, content: RecordContent) -> None:
    room = pages.paper.room_in
    pages.paragraph(content.title, size_pt=20.0, bold=True, gid="page title")
    pages.y_in += 0.05
    column_in = 0.5 * room
    label_in = 0.95
    half = (len(content.facts) + 1) // 2
    bottoms = [pages.y_in]
    for column, facts in enumerate((content.facts[:half], content.facts[half:])):
        y_in = pages.y_in
        for fact in facts:
            value = _clipped(wrapped(fact.text, column_in - label_in - 0.2, size_pt=10.0))
            x_in = pages.left_in + column * column_in
            pages.text(x_in, y_in, fact.label, size_pt=10.0, color=style.PALE_INK)
            pages.text(x_in + label_in, y_in, value, size_pt=10.0)
            y_in += lines_in(value, 10.0) + 0.03
        bottoms.append(y_in)
    pages.y_in = max(bottoms) + 0.06
    pages.rule(width_pt=1.4)


def _clipped(text: str) -> str:
    """Return at most so many lines of a text that one page holds all facts."""
    lines = text.split("\n")
    return (
        text
        if len(lines) <= _FACT_LINES
        else "\n".join([*lines[: _FACT_LINES - 1], f"{lines[_FACT_LINES - 1]} …"])
    )


def _write_results(pages: Pages, content: RecordContent) -> None:
    pages.paragraph(f"{content.verdict[:1].upper()}{content.verdict[1:]}", size_pt=16.0, bold=True)
    pages.paragraph(f"Limit: {content.limit}.", size_pt=10.5)
    pages.paragraph(f"{content.state}.", size_pt=9.0)
    pages.gap(0.08)
    pages.table(content.results.table, size_pt=9.0)
    pages.gap(0.08)
    high_in = bars_height_in(content)
    ax = pages.axes(pages.left_in, pages.y_in, pages.paper.room_in, high_in)
    plot_before_after(content, ax=ax, width_in=pages.paper.room_in, height_in=high_in)
    pages.y_in += high_in
    pages.paragraph("dashed: the limit", color=style.PALE_INK)


def _write_metal(pages: Pages, content: RecordContent) -> None:
    """Write what went off and in, and the cuts as far as they fit with the bobs' sums and the signatures below."""
    pages.heading("Metal out and in", with_in=0.0)
    for line in content.metal:
        pages.paragraph(line, size_pt=9.5)
    if content.cuts is None:
        return
    pages.gap(0.05)
    rows = content.cuts.table
    sums = content.bobs_short
    room_in = pages.left_over_in - _bottom_in(pages, content) - (_block_in(pages, sums) if sums else 0.0)
    kept = len(rows)
    while kept > 2 and pages.table_height_in(rows[:kept]) + (0.18 if kept < len(rows) else 0.0) > room_in:
        kept -= 1
    pages.table(rows[:kept])
    if kept < len(rows):
        pages.paragraph(f"and {len(rows) - kept} more, in the shop's file")


def _bobs_that_fit(pages: Pages, content: RecordContent, room_in: float) -> Block | None:
    for block in (content.bobs, content.bobs_short):
        if block is not None and _block_in(pages, block) <= room_in:
            return block
    return None


def _block_in(pages: Pages, block: Block) -> float:
    lines = [wrapped(line, pages.paper.room_in) for line in block.lines]
    text_in = sum(lines_in(line, SMALL_PT) for line in lines)
    return _HEADING_IN + pages.table_height_in(block.table) + text_in


def _draw(pages: Pages, record: RecordAnswer) -> None:
    """Draw one or two counterweights that were cut side by side; else the crankshaft from the side."""
    cut = touched_counterweights(record.picture)
    if not 1 <= len(cut) <= 2:
        ax = draw_side_view(pages, record.picture, high_in=_SIDE_IN)
        ax.set_xlabel(ax.get_xlabel().replace("cuts of the plan", "cuts made"))
        return
    view = record.job.machine.viewed_from
    gap_in = 0.3 * (len(cut) - 1)
    wide_in = (pages.paper.room_in - gap_in) / len(cut)
    title_in = max(
        PANEL_TITLE_IN,
        *(head_height_in(head_of(record.picture, each), view_words(view), wide_in) for each in cut),
    )
    for column, counterweight in enumerate(cut):
        x_in = pages.left_in + column * (wide_in + gap_in)
        ax = pages.axes(x_in, pages.y_in + 0.1 + title_in, wide_in, _DETAIL_IN)
        plot_counterweight(record.picture, counterweight, viewed_from=view, ax=ax)
    pages.y_in += 0.1 + title_in + _DETAIL_IN


def _bottom_in(pages: Pages, content: RecordContent) -> float:
    text = wrapped(f"{content.on} {content.reserve}", pages.paper.room_in)
    return _SIGNATURE_IN + lines_in(text, SMALL_PT) + 0.15


def _write_bottom(pages: Pages, content: RecordContent) -> None:
    """Write what the record holds for, and lines to sign on, at the foot of the page."""
    pages.y_in = pages.y_in + pages.left_over_in - _bottom_in(pages, content) + 0.1
    pages.paragraph(f"{content.on} {content.reserve}")
    half_in = 0.5 * pages.paper.room_in
    y_in = pages.y_in + 0.5
    for column, text in enumerate(content.signatures):
        x_in = pages.left_in + column * half_in
        pages.line([(x_in, y_in), (x_in + half_in - 0.4, y_in)], width_pt=0.9)
        pages.text(x_in, y_in + 0.03, text, size_pt=SMALL_PT, color=style.PALE_INK)
    pages.y_in = y_in + 0.25
