"""The shop sheet on paper, page after page."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from planner.present.drawings import style
from planner.present.drawings.convention import SIZE_IN, plot_convention
from planner.present.drawings.counterweight import head_of, labels_height_in, plot_counterweight
from planner.present.drawings.place import head_height_in, text_size_in, wrapped
from planner.present.drawings.plan import draw_key, key_of, touched_counterweights
from planner.present.drawings.save import quiet_about_glyphs
from planner.present.drawings.side import plot_side_view
from planner.present.drawings.vectors import plot_plane_vectors, vector_labels_in, words_below_in
from planner.present.drawings.words import SIDES, view_words
from planner.present.pages.bob_card import Block
from planner.present.pages.sheet import SheetContent, sheet_content
from planner.present.sheet.cards import write_cards
from planner.present.sheet.paper import MARGIN_IN, SMALL_PT, Pages, Paper, lines_in
from planner.rotor.crankshaft import Counterweight
from planner.steps.plan_answer import PlanAnswer
from planner.steps.sheet import SheetAnswer
from planner.steps.trial import spin_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from planner.present.pages.sheet import Fact

Progress = Callable[[str], None]
PANEL_TITLE_IN = 0.42
_GAP_IN = 0.3
_PANEL_IN = 2.6
_IN_ONE_COLUMN = 3
_FULL = 3
_VECTORS_IN = 2.4
_SIDE_IN = 2.3
_TITLE_PT = 17.0
_KEPT_IN = 4.0
_READING_PT = 15.0


@quiet_about_glyphs()
def sheet_figures(sheet: SheetAnswer, *, paper: Paper, progress: Progress | None = None) -> list[Figure]:
    """Return the pages of the shop sheet.

    Parameters
    ----------
    sheet : SheetAnswer
        What it tells.
    paper : Paper
        Its size.
    progress : callable, optional
        Called with a short text before every part that takes a while.

    Returns
    -------
    list of matplotlib Figure
        One per page.
    """
    say = progress or (lambda text: None)
    content = sheet_content(sheet)
    answer = sheet.answer
    pages = Pages(paper, running_title=f"{content.title}, {spin_words(answer.spin_number)}")
    say("writing the cut list")
    write_head(pages, content.title, content.facts, answer, content.convention)
    _write_cuts(pages, content)
    say("drawing the counterweights")
    draw_counterweights(pages, answer)
    say("drawing the crankshaft from the side")
    draw_side_view(pages, answer)
    say("drawing the vectors")
    _draw_vectors(pages, answer)
    for block in content.blocks:
        write_block(pages, block)
    pages.number_pages()
    return pages.figures


def write_head(
    pages: Pages, title: str, facts: tuple[Fact, ...], answer: PlanAnswer, convention: str
) -> None:
    """Write title and facts at the left, the machine's counting at the right."""
    room = pages.paper.room_in
    wide_in, high_in = SIZE_IN
    text_room = room - wide_in - 0.2
    top_in = pages.y_in
    words = wrapped(title, text_room, size_pt=_TITLE_PT, bold=True)
    pages.text(pages.left_in, top_in, words, size_pt=_TITLE_PT, fontweight="bold", gid="page title")
    y_in = top_in + lines_in(words, _TITLE_PT) + 0.06
    label_in = 0.95
    for fact in facts:
        value = wrapped(fact.text, text_room - label_in, size_pt=9.5)
        pages.text(pages.left_in, y_in, fact.label, size_pt=9.5, color=style.PALE_INK)
        pages.text(pages.left_in + label_in, y_in, value, size_pt=9.5)
        y_in += lines_in(value, 9.5) + 0.015
    ax = pages.axes(pages.left_in + room - wide_in, top_in - 0.05, wide_in, high_in)
    plot_convention(answer.job, ax=ax)
    note = wrapped(convention, wide_in)
    note_y = top_in - 0.05 + high_in + 0.02
    pages.text(pages.left_in + room - wide_in, note_y, note, size_pt=SMALL_PT)
    pages.y_in = max(y_in, note_y + lines_in(note, SMALL_PT)) + 0.08


def _write_cuts(pages: Pages, content: SheetContent) -> None:
    pages.rule()
    pages.paragraph(content.cuts_head, size_pt=13.0, bold=True, gid="cuts head")
    pages.y_in += 0.04
    for line in content.why:
        pages.paragraph(line, size_pt=11.0)
    if content.cards:
        write_cards(pages, content.cards)
        pages.gap(0.1)
        _write_next(pages, content)
    pages.gap(0.06)
    pages.need(0.8)
    pages.paragraph(content.verdict, size_pt=12.0, bold=True, gid="verdict")
    pages.paragraph("; ".join(content.verdict_rows), size_pt=10.0)
    for line in content.attention:
        pages.gap(0.03)
        pages.paragraph(line, size_pt=9.5, bold=True)
    if content.cards:
        pages.gap(0.05)
        pages.paragraph(f"{content.metal}. {content.enter_hint}".replace("`", ""), size_pt=9.0)
    pages.gap(0.05)
    write_cautions(pages, content.cautions)


def _write_next(pages: Pages, content: SheetContent) -> None:
    """Write what the next spin should read, in a frame."""
    head = f"the next spin should read, {content.next_note}"
    room = pages.paper.room_in
    texts = [f"{side}  {text}" for side, text in content.next_reading]
    size_pt = _READING_PT
    while size_pt > 10.0 and any(
        text_size_in(text, size_pt=size_pt, bold=True)[0] > 0.5 * room - 0.2 for text in texts
    ):
        size_pt -= 1.0
    texts = [wrapped(text, 0.5 * room - 0.2, size_pt=size_pt, bold=True) for text in texts]
    high_in = lines_in("", 9.5) + max(lines_in(text, size_pt) for text in texts) + 0.16
    pages.need(high_in)
    pages.box(pages.left_in, pages.y_in, room, high_in, width_pt=1.4, gid="next reading")
    pages.text(pages.left_in + 0.1, pages.y_in + 0.05, head, size_pt=9.5, color=style.PALE_INK)
    for index, text in enumerate(texts):
        x_in = pages.left_in + 0.1 + index * 0.5 * room
        y_in = pages.y_in + 0.08 + lines_in("", 9.5)
        pages.text(x_in, y_in, text, size_pt=size_pt, fontweight="bold")
    pages.y_in += high_in


def write_cautions(pages: Pages, cautions: tuple[str, ...]) -> None:
    """Write the cautions in a frame that is never broken over two pages."""
    room = pages.paper.room_in - 0.2
    texts = [wrapped(text, room, size_pt=SMALL_PT) for text in ("CAUTION", *cautions)]
    high_in = sum(lines_in(text, SMALL_PT) for text in texts) + 0.12
    pages.need(high_in)
    pages.box(
        pages.left_in, pages.y_in, pages.paper.room_in, high_in, edge=style.KEEP_OUT.edge, gid="cautions"
    )
    y_in = pages.y_in + 0.06
    for index, text in enumerate(texts):
        weight = "bold" if index == 0 else "normal"
        pages.text(pages.left_in + 0.1, y_in, text, size_pt=SMALL_PT, fontweight=weight)
        y_in += lines_in(text, SMALL_PT)
    pages.y_in += high_in


def draw_counterweights(pages: Pages, answer: PlanAnswer) -> None:
    """Draw every counterweight that is cut, as seen from the end that the machine views from."""
    cut = touched_counterweights(answer)
    if not cut:
        return
    view = answer.job.machine.viewed_from
    for group, per_row in _rows(answer, cut):
        wide_in = (pages.paper.room_in - (per_row - 1) * _GAP_IN) / per_row
        high_in = _panel_height_in(answer, group, per_row)
        title_in = max(
            PANEL_TITLE_IN,
            *(head_height_in(head_of(answer, each), view_words(view), wide_in) for each in group),
        )
        pages.gap(0.16)
        pages.need(title_in + high_in)
        for column, counterweight in enumerate(group):
            x_in = pages.left_in + column * (wide_in + _GAP_IN)
            ax = pages.axes(x_in, pages.y_in + title_in, wide_in, high_in)
            plot_counterweight(answer, counterweight, viewed_from=view, ax=ax)
        pages.y_in += title_in + high_in
    pages.gap(0.06)
    pages.need(0.4)
    key = key_of(answer)
    top_in = pages.paper.height_in - pages.y_in
    draw_key(pages.figure, key, top_in=top_in, left_in=MARGIN_IN, columns=4)
    pages.y_in += 0.24 * math.ceil(len(key) / 4)


def _rows(
    answer: PlanAnswer, cut: tuple[Counterweight, ...]
) -> Iterator[tuple[tuple[Counterweight, ...], int]]:
    """Yield rows of drawings with how many have room in each: few, or full ones, stand alone, the others in pairs."""
    waiting: list[Counterweight] = []
    for each in cut:
        if len(cut) <= _IN_ONE_COLUMN or _is_full(answer, each):
            yield (each,), 1
            continue
        waiting.append(each)
        if len(waiting) == 2:
            yield tuple(waiting), 2
            waiting = []
    if waiting:
        yield tuple(waiting), 2


def _is_full(answer: PlanAnswer, counterweight: Counterweight) -> bool:
    cuts = [*(step.cut for step in answer.steps), *(cut for cut, _ in answer.made)]
    return sum(cut.counterweight == counterweight.name for cut in cuts) >= _FULL


def _panel_height_in(answer: PlanAnswer, group: tuple[Counterweight, ...], per_row: int) -> float:
    labels_in = max(labels_height_in(answer, each) for each in group)
    # in narrow panels the labels stand in more lines
    return max(_PANEL_IN, (0.55 if per_row == 1 else 0.85) * labels_in + 0.4)


def draw_side_view(pages: Pages, answer: PlanAnswer, *, high_in: float = _SIDE_IN) -> Axes:
    """Draw the crankshaft along its shaft, as wide as the page."""
    below_in = 0.3
    pages.gap(0.16)
    pages.need(PANEL_TITLE_IN + high_in + below_in)
    ax = pages.axes(pages.left_in, pages.y_in + PANEL_TITLE_IN, pages.paper.room_in, high_in)
    plot_side_view(answer, ax=ax)
    pages.y_in += PANEL_TITLE_IN + high_in + below_in
    return ax


def _draw_vectors(pages: Pages, answer: PlanAnswer) -> None:
    """Draw both planes one below the other, each with what is left enlarged beside it."""
    view = answer.job.machine.viewed_from
    room = pages.paper.room_in
    zoom_in = 0.42 * (room - _GAP_IN)
    whole_in = room - _GAP_IN - zoom_in
    for side in SIDES:
        below_in = max(
            words_below_in(answer, side, width_in=whole_in, zoom=False),
            words_below_in(answer, side, width_in=zoom_in, zoom=True),
        )
        high_in = max(_VECTORS_IN, vector_labels_in(answer, side) + 0.1)
        pages.gap(0.16)
        pages.need(PANEL_TITLE_IN + high_in + below_in)
        for x_in, wide_in, zoom in ((0.0, whole_in, False), (whole_in + _GAP_IN, zoom_in, True)):
            ax = pages.axes(pages.left_in + x_in, pages.y_in + PANEL_TITLE_IN, wide_in, high_in)
            plot_plane_vectors(answer, side, viewed_from=view, ax=ax, zoom=zoom)
        pages.y_in += PANEL_TITLE_IN + high_in + below_in


def write_block(pages: Pages, block: Block) -> None:
    """Write a block: heading, table, boxes, lines; a short one is kept on one page."""
    high_in = _block_height_in(pages, block)
    pages.heading(block.title, with_in=high_in if high_in < _KEPT_IN else 0.5)
    if block.table:
        pages.table(block.table)
    if block.ticks:
        _write_ticks(pages, block)
    for line in block.lines:
        pages.gap(0.03)
        pages.paragraph(line)


def _block_height_in(pages: Pages, block: Block) -> float:
    """Return how high a block is below its heading, nearly [in]."""
    lines = [wrapped(line, pages.paper.room_in) for line in block.lines]
    return (
        pages.table_height_in(block.table)
        + 0.24 * math.ceil(len(block.ticks) / 2)
        + sum(lines_in(line, SMALL_PT) + 0.03 for line in lines)
    )


def _write_ticks(pages: Pages, block: Block) -> None:
    """Write boxes with their texts, two in a row."""
    half_in = 0.5 * pages.paper.room_in
    box_in = 0.15
    texts = [wrapped(text, half_in - box_in - 0.3, size_pt=9.0) for text, _ in block.ticks]
    for start in range(0, len(texts), 2):
        group = texts[start : start + 2]
        high_in = max(lines_in(text, 9.0) for text in group) + 0.06
        pages.need(high_in)
        for column, text in enumerate(group):
            x_in, y_in = pages.left_in + column * half_in, pages.y_in
            pages.box(x_in, y_in, box_in, box_in, width_pt=1.0)
            state = block.ticks[start + column][1]
            if state is not None:
                x1, x2, y1, y2 = x_in + 0.025, x_in + box_in - 0.025, y_in + 0.025, y_in + box_in - 0.025
                if state:
                    pages.line([(x1, y_in + 0.08), (x_in + 0.06, y2), (x2, y1)], width_pt=1.8)
                else:
                    pages.line([(x1, y1), (x2, y2)], width_pt=1.2)
                    pages.line([(x1, y2), (x2, y1)], width_pt=1.2)
            pages.text(x_in + box_in + 0.1, y_in - 0.005, text, size_pt=9.0)
        pages.y_in += high_in
