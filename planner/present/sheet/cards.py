"""The cut list on paper: one card per cut, its four big words readable at arm's length, a box to tick, a line to fill."""

from __future__ import annotations

from dataclasses import dataclass

from planner.present.drawings import style
from planner.present.drawings.place import text_size_in, wrapped
from planner.present.pages.sheet import CutCard
from planner.present.sheet.paper import Pages, lines_in

BIG_PT = (26.0, 23.0, 20.0, 17.0, 14.0, 11.0, 9.0)
"""Sizes tried for a card's big words, the largest that fits is taken [pt]."""

NOTE_PT = 9.5
COMPACT_BIG_PT = BIG_PT[2:]
COMPACT_NOTE_PT = 8.5
MANY_CUTS = 7
"""From so many cuts on the cards are lower."""

_PAD_IN = 0.06
_GAP_IN = 0.12

# number, counterweight, dial, drill, stop, box: shares of the width
_SHARES = (0.065, 0.155, 0.27, 0.165, 0.21, 0.135)
HEADS = ("", "counterweight", "dial", "drill", "on the stop", "done")


@dataclass(frozen=True)
class _Words:
    """Lines of one size in a cell."""

    text: str
    size_pt: float
    bold: bool = False

    @property
    def height_in(self) -> float:
        return lines_in(self.text, self.size_pt) if self.text else 0.0


def write_cards(pages: Pages, cards: tuple[CutCard, ...]) -> None:
    """Write the cut list; its head stands again on every page that it comes to."""
    room = pages.paper.room_in
    widths = [share * room for share in _SHARES]
    many = len(cards) >= MANY_CUTS
    sizes, note_pt = (COMPACT_BIG_PT, COMPACT_NOTE_PT) if many else (BIG_PT, NOTE_PT)
    cells = [_cells(card, widths, sizes, note_pt) for card in cards]
    heights = [
        max(0.66, *(sum(words.height_in for words in column) for column in columns)) + 2.0 * _PAD_IN
        for columns in cells
    ]
    for index, (card, columns, height_in) in enumerate(zip(cards, cells, heights, strict=True)):
        head_in = lines_in("", style.TEXT_PT) + 0.04
        if index == 0:
            pages.need(head_in + height_in)
            _head(pages, widths)
        elif height_in > pages.left_over_in:
            pages.new_page()
            _head(pages, widths)
        _card(pages, card, columns, widths, height_in)


def _cells(
    card: CutCard, widths: list[float], sizes: tuple[float, ...], note_pt: float
) -> list[list[_Words]]:
    """Return the words of the four columns between the number and the box."""
    inner = [width - _GAP_IN for width in widths]

    def note(text: str, column: int) -> _Words:
        return _Words(wrapped(text, inner[column], size_pt=note_pt) if text else "", note_pt)

    stop = [_big(card.stop, inner[4], sizes)]
    if card.stop_64th:
        stop.append(_big(f"{card.stop_64th} in", inner[4], sizes[2:]))
    return [
        [_big(card.counterweight, inner[1], sizes), note(card.cut, 1)],
        [_big(card.dial, inner[2], sizes), note(card.place, 2)],
        [_big(card.drill, inner[3], sizes[1:])],
        [*stop, note(", ".join(text for text in (card.stop_note, card.first_pass) if text), 4)],
    ]


def _big(text: str, width_in: float, sizes: tuple[float, ...]) -> _Words:
    """Return a text in the largest size at which it stays in one line, else wrapped in the smallest."""
    for size_pt in sizes:
        if text_size_in(text, size_pt=size_pt, bold=True)[0] <= width_in:
            return _Words(text, size_pt, True)
    return _Words(wrapped(text, width_in, size_pt=sizes[-1], bold=True), sizes[-1], True)


def _head(pages: Pages, widths: list[float]) -> None:
    x_in = pages.left_in
    for text, width_in in zip(HEADS, widths, strict=True):
        if text:
            pages.text(x_in, pages.y_in, text, size_pt=style.TEXT_PT, color=style.PALE_INK)
        x_in += width_in
    pages.y_in += lines_in("", style.TEXT_PT) + 0.02
    pages.rule(width_pt=1.6)
    pages.y_in -= 0.06


def _card(
    pages: Pages, card: CutCard, columns: list[list[_Words]], widths: list[float], height_in: float
) -> None:
    top_in = pages.y_in
    x_in = pages.left_in
    side_in = 0.38
    pages.box(x_in, top_in + _PAD_IN + 0.04, side_in, side_in, face=style.INK, gid=f"card {card.number}")
    size_pt = 20.0 if card.number < 10 else 15.0
    pages.text(
        x_in + 0.5 * side_in,
        top_in + _PAD_IN + 0.04 + 0.5 * side_in,
        str(card.number),
        size_pt=size_pt,
        color=style.PAPER,
        fontweight="bold",
        ha="center",
        va="center",
    )
    if card.pinned:
        pages.text(x_in, top_in + _PAD_IN + side_in + 0.08, "pinned", size_pt=style.TEXT_PT)
    x_in += widths[0]
    for words_in_cell, width_in in zip(columns, widths[1:5], strict=True):
        y_in = top_in + _PAD_IN
        for words in words_in_cell:
            if words.text:
                weight = "bold" if words.bold else "normal"
                pages.text(x_in, y_in, words.text, size_pt=words.size_pt, fontweight=weight)
                y_in += words.height_in
        x_in += width_in
    box_in = 0.3
    pages.box(x_in, top_in + _PAD_IN + 0.04, box_in, box_in, width_pt=1.6, gid=f"tick {card.number}")
    if card.stop != "through":
        line_y = top_in + _PAD_IN + box_in + 0.24
        pages.line([(x_in, line_y), (x_in + widths[5], line_y)], width_pt=0.8)
        pages.text(x_in, line_y + 0.02, "actual depth", size_pt=style.TEXT_PT, color=style.PALE_INK)
    pages.y_in = top_in + height_in
    right = pages.left_in + pages.paper.room_in
    pages.line([(pages.left_in, pages.y_in), (right, pages.y_in)], colour=style.GRID.edge)
