"""Pages of paper to write on from top to bottom: texts, rules, tables and drawings, measured before they are placed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from planner.errors import InputError
from planner.present.drawings import style
from planner.present.drawings.place import PT_PER_IN, text_size_in, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MARGIN_IN = 0.5
FOOT_IN = 0.28
SMALL_PT = style.TEXT_PT
_ASCENT = 0.93  # of the font, as a share of its size
_CELL_GAP_IN = 0.14
_ROW_GAP_IN = 0.05


@dataclass(frozen=True, kw_only=True)
class Paper:
    """A sheet of paper, upright [in]."""

    name: str
    width_in: float
    height_in: float

    @property
    def room_in(self) -> float:
        """Width between the margins [in]."""
        return self.width_in - 2.0 * MARGIN_IN


PAPERS = (
    Paper(name="A4", width_in=210.0 / 25.4, height_in=297.0 / 25.4),
    Paper(name="Letter", width_in=8.5, height_in=11.0),
)


def paper_of(name: str) -> Paper:
    """Return a paper by its name, whatever the case.

    Raises
    ------
    InputError
        If it is neither A4 nor Letter.
    """
    for paper in PAPERS:
        if paper.name.lower() == name.strip().lower():
            return paper
    raise InputError(
        f"--paper: given `{name}`; A4 and Letter are allowed",
        hint="leave it out: inches print on Letter, else A4",
    )


def lines_in(text: str, size_pt: float) -> float:
    """Return how high a text of some lines is [in]."""
    return (text.count("\n") + 1) * size_pt * style.LINE_SPACING / PT_PER_IN


class Pages:
    """Pages under way: ``y_in`` is how far down the page the next thing goes [in].

    A ``single`` page never goes on to a second one: whoever writes it sees to it that everything fits.
    """

    def __init__(self, paper: Paper, *, running_title: str, single: bool = False) -> None:
        self.paper = paper
        self.single = single
        self.running_title = running_title
        self.figures: list[Figure] = []
        self.y_in = 0.0
        self.new_page()

    @property
    def figure(self) -> Figure:
        """The page under way."""
        return self.figures[-1]

    @property
    def left_in(self) -> float:
        """Where the text begins [in]."""
        return MARGIN_IN

    @property
    def left_over_in(self) -> float:
        """How much of the page is left [in]."""
        return self.paper.height_in - MARGIN_IN - FOOT_IN - self.y_in

    def new_page(self) -> None:
        """Begin a page; what is to be a single page goes on where it is."""
        if self.single and self.figures:
            return
        from matplotlib.figure import Figure

        self.figures.append(
            Figure(figsize=(self.paper.width_in, self.paper.height_in), facecolor=style.PAPER)
        )
        self.y_in = MARGIN_IN

    def need(self, height_in: float) -> None:
        """Begin a page unless that much is left [in]; what is higher than a page starts one all the same."""
        if height_in > self.left_over_in + 1e-9 and self.y_in > MARGIN_IN + 1e-9:
            self.new_page()

    def gap(self, height_in: float) -> None:
        """Leave some room, not at the top of a page [in]."""
        if self.y_in > MARGIN_IN + 1e-9:
            self.y_in += height_in

    def text(self, x_in: float, y_in: float, text: str, *, size_pt: float, **look: Any) -> None:
        """Write a text with its upper left corner there (from the page's upper left corner).

        Every line is written by its own baseline, so that words with and without descenders stand in one line.
        """
        settings: dict[str, Any] = {
            "ha": "left",
            "va": "baseline",
            "fontsize": size_pt,
            "fontfamily": style.FONT_FAMILY,
            "color": style.INK,
            "parse_math": False,
            **look,
        }
        for index, line in enumerate(text.split("\n")):
            down_in = y_in + index * lines_in("", size_pt)
            if "va" not in look:
                down_in += _ASCENT * size_pt / PT_PER_IN
            self.figure.text(
                x_in / self.paper.width_in, 1.0 - down_in / self.paper.height_in, line, **settings
            )

    def box(
        self,
        x_in: float,
        y_in: float,
        width_in: float,
        height_in: float,
        *,
        edge: str = style.INK,
        face: str = "none",
        width_pt: float = 1.0,
        gid: str | None = None,
    ) -> None:
        """Draw a box whose upper left corner is there."""
        from matplotlib.patches import Rectangle

        width, height = self.paper.width_in, self.paper.height_in
        self.figure.add_artist(
            Rectangle(
                (x_in / width, 1.0 - (y_in + height_in) / height),
                width_in / width,
                height_in / height,
                transform=self.figure.transFigure,
                edgecolor=edge,
                facecolor=face,
                linewidth=width_pt,
                gid=gid,
                zorder=-1.0,
            )
        )

    def line(
        self, points_in: Sequence[tuple[float, float]], *, colour: str = style.INK, width_pt: float = 1.0
    ) -> None:
        """Draw a line through points given from the page's upper left corner."""
        from matplotlib.lines import Line2D

        self.figure.add_artist(
            Line2D(
                [x / self.paper.width_in for x, _ in points_in],
                [1.0 - y / self.paper.height_in for _, y in points_in],
                transform=self.figure.transFigure,
                color=colour,
                linewidth=width_pt,
            )
        )

    def rule(self, *, width_pt: float = 0.8, colour: str = style.INK) -> None:
        """Draw a line across the page and go on below it."""
        right = self.left_in + self.paper.room_in
        self.line([(self.left_in, self.y_in), (right, self.y_in)], colour=colour, width_pt=width_pt)
        self.y_in += 0.06

    def axes(self, x_in: float, y_in: float, width_in: float, height_in: float) -> Axes:
        """Return axes whose upper left corner is there."""
        return self.figure.add_axes(
            (
                x_in / self.paper.width_in,
                1.0 - (y_in + height_in) / self.paper.height_in,
                width_in / self.paper.width_in,
                height_in / self.paper.height_in,
            )
        )

    def paragraph(self, text: str, *, size_pt: float = SMALL_PT, bold: bool = False, **look: Any) -> None:
        """Write a text across the page, page by page as it comes, and go on below it."""
        for line in wrapped(text, self.paper.room_in, size_pt=size_pt, bold=bold).split("\n"):
            self.need(lines_in("", size_pt))
            self.text(
                self.left_in,
                self.y_in,
                line,
                size_pt=size_pt,
                fontweight="bold" if bold else "normal",
                **look,
            )
            self.y_in += lines_in("", size_pt)

    def heading(self, text: str, *, with_in: float = 0.5) -> None:
        """Write a heading; ``with_in`` of what follows stays on its page [in]."""
        self.gap(0.14)
        self.need(lines_in("", style.TITLE_PT + 1.0) + with_in)
        self.paragraph(text, size_pt=style.TITLE_PT + 1.0, bold=True, gid="heading")
        self.y_in += 0.03

    def table(self, rows: Sequence[Sequence[str]], *, size_pt: float = SMALL_PT) -> None:
        """Write a table: the first row is its head and stands on every page that the table comes to."""
        widths = column_widths_in(rows, self.paper.room_in, size_pt=size_pt)
        head, *body = rows
        first = _Row(head, widths, size_pt=size_pt, bold=True)
        drawn = [_Row(row, widths, size_pt=size_pt, bold=False) for row in body]
        self.need(first.height_in + sum(row.height_in for row in drawn[:2]))
        self._row(first)
        for row in drawn:
            if row.height_in > self.left_over_in:
                self.new_page()
                self._row(first)
            self._row(row)

    def table_height_in(self, rows: Sequence[Sequence[str]], *, size_pt: float = SMALL_PT) -> float:
        """Return how high a table is [in]."""
        if not rows:
            return 0.0
        widths = column_widths_in(rows, self.paper.room_in, size_pt=size_pt)
        return sum(
            _Row(row, widths, size_pt=size_pt, bold=index == 0).height_in for index, row in enumerate(rows)
        )

    def _row(self, row: _Row) -> None:
        x_in = self.left_in
        for cell, width_in in zip(row.cells, row.widths_in, strict=True):
            if cell:
                self.text(
                    x_in,
                    self.y_in,
                    cell,
                    size_pt=row.size_pt,
                    fontweight="bold" if row.bold else "normal",
                )
            x_in += width_in
        self.y_in += row.height_in
        right = self.left_in + sum(row.widths_in) - _CELL_GAP_IN
        y_in = self.y_in - 0.5 * _ROW_GAP_IN
        self.line(
            [(self.left_in, y_in), (right, y_in)],
            colour=style.INK if row.bold else style.GRID.edge,
            width_pt=0.8 if row.bold else 0.5,
        )

    def number_pages(self) -> None:
        """Write the running title and the page's number at the foot of every page."""
        count = len(self.figures)
        for number, figure in enumerate(self.figures, start=1):
            text = f"page {number} of {count}"
            width_in = self.paper.room_in - text_size_in(text)[0] - 0.3
            lines = wrapped(self.running_title, width_in).split("\n")
            title = lines[0] if len(lines) == 1 else f"{lines[0]} …"
            for x_in, words, align in (
                (MARGIN_IN, title, "left"),
                (self.paper.width_in - MARGIN_IN, text, "right"),
            ):
                figure.text(
                    x_in / self.paper.width_in,
                    (MARGIN_IN - 0.05) / self.paper.height_in,
                    words,
                    ha=align,
                    va="bottom",
                    fontsize=SMALL_PT,
                    fontfamily=style.FONT_FAMILY,
                    color=style.PALE_INK,
                    parse_math=False,
                )


class _Row:
    """A row of a table, its cells wrapped to their columns."""

    def __init__(
        self, cells: Sequence[str], widths_in: Sequence[float], *, size_pt: float, bold: bool
    ) -> None:
        self.widths_in = widths_in
        self.size_pt = size_pt
        self.bold = bold
        self.cells = [
            wrapped(cell, width_in - _CELL_GAP_IN + 1e-6, size_pt=size_pt, bold=bold)
            for cell, width_in in zip(cells, widths_in, strict=True)
        ]
        self.height_in = max(lines_in(cell, size_pt) for cell in self.cells) + _ROW_GAP_IN


def column_widths_in(rows: Sequence[Sequence[str]], room_in: float, *, size_pt: float) -> list[float]:
    """Return widths of columns [in], gaps included: as wide as their texts, or the widest ones narrowed to fit."""
    natural = [
        max(text_size_in(row[column], size_pt=size_pt, bold=index == 0)[0] for index, row in enumerate(rows))
        + _CELL_GAP_IN
        for column in range(len(rows[0]))
    ]
    room_in += _CELL_GAP_IN  # none needed behind the last one
    if sum(natural) <= room_in:
        return natural
    # columns that are narrower than their fair share keep their width, the others share what is left
    widths = list(natural)
    wide = set(range(len(natural)))
    while True:
        fair = (room_in - sum(natural[c] for c in range(len(natural)) if c not in wide)) / len(wide)
        fitting = {column for column in wide if natural[column] <= fair}
        if not fitting:
            break
        wide -= fitting
    for column in wide:
        widths[column] = fair
    return widths
