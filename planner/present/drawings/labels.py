"""Labels in columns at the sides of a drawing, each with a leader line to its point."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from planner.present.drawings import style
from planner.present.drawings.pens import draw_line, write
from planner.present.drawings.place import LABEL_GAP_IN, LINE_IN, Frame, spread, text_size_in
from planner.records import dataclass

if TYPE_CHECKING:
    from matplotlib.axes import Axes

LEADER_IN = 0.22
"""Between a column and the drawing [in]: room for the straight start of a leader line."""


@dataclass(frozen=True, kw_only=True)
class Label:
    """A text for a side column, and the point of the drawing that it belongs to (data units).

    ``head`` is the first line, in bold, or empty; ``text`` the lines below it.
    """

    text: str
    x: float
    y: float
    gid: str
    head: str = ""

    @property
    def width_in(self) -> float:
        """Width [in]."""
        return max(text_size_in(self.text)[0], text_size_in(self.head, bold=True)[0])

    @property
    def height_in(self) -> float:
        """Height [in] with the gap to the next label."""
        return (self.text.count("\n") + bool(self.text) + bool(self.head)) * LINE_IN + LABEL_GAP_IN

    def narrowed(self) -> Label:
        """Return the label with a line for every part of its text: narrower and higher."""
        return dataclasses.replace(self, text=self.text.replace(", ", "\n"))

    def shortened(self) -> Label:
        """Return the label in one line: its head, or the first line of its text."""
        return dataclasses.replace(self, text="" if self.head else self.text.split("\n")[0])


@dataclass(frozen=True, kw_only=True)
class Columns:
    """Which labels stand in which side column, the columns' widths and what they leave free at the bottom [in].

    ``far`` counts the labels that stand across from their points.  ``reserved`` is False when what takes the corner
    may reach beyond its column, so that the drawing has to stay clear of it.  ``liking`` below 1 says that the
    drawing must be that much larger for these columns to be taken.
    """

    left: tuple[Label, ...]
    right: tuple[Label, ...]
    left_in: float
    right_in: float
    left_bottom_in: float = 0.0
    right_bottom_in: float = 0.0
    far: int = 0
    reserved: bool = True
    liking: float = 1.0

    def missing_in(self, height_in: float) -> float:
        """Return how much height the fuller column lacks in axes of that height [in]."""
        return max(
            0.0,
            sum(label.height_in for label in self.left) + self.left_bottom_in - height_in,
            sum(label.height_in for label in self.right) + self.right_bottom_in - height_in,
        )


def possible_columns(
    labels: Sequence[Label], *, middle_x: float, corner_in: tuple[float, float] = (0.0, 0.0)
) -> list[Columns]:
    """Return the ways to share labels out to two side columns: all left, all right, or each to its own side.

    ``corner_in`` is width and height [in] of something that takes the lower corner of one column.
    """
    by_x = sorted(labels, key=lambda label: label.x)
    own = sum(label.x <= middle_x for label in by_x)
    splits = {0, len(by_x), own, (len(by_x) + 1) // 2}
    return [
        _columns(
            by_x[:split],
            by_x[split:],
            corner_in,
            corner_left=corner_left,
            far=abs(split - own),
            reserved=reserved,
        )
        for split in sorted(splits)
        for corner_left in ((True, False) if corner_in[0] > 0.0 else (True,))
        for reserved in ((True, False) if corner_in[0] > 0.0 else (True,))
    ]


def _columns(
    left: Sequence[Label],
    right: Sequence[Label],
    corner_in: tuple[float, float],
    *,
    corner_left: bool,
    far: int,
    reserved: bool,
) -> Columns:
    def wide(column: Sequence[Label], corner: bool) -> float:
        text = max((label.width_in for label in column), default=0.0)
        return max(text + LEADER_IN if column else 0.0, corner_in[0] if corner and reserved else 0.0)

    return Columns(
        left=tuple(left),
        right=tuple(right),
        left_in=wide(left, corner_left),
        right_in=wide(right, not corner_left),
        left_bottom_in=corner_in[1] if corner_left else 0.0,
        right_bottom_in=0.0 if corner_left else corner_in[1],
        far=far,
        reserved=reserved,
    )


def best_columns(
    candidates: Sequence[Columns],
    frame_of: Callable[[Columns], Frame],
) -> tuple[Columns, Frame]:
    """Return the columns, and their scale, that draw largest.

    Columns that are too high are taken only when all are; labels across from their points must buy a clearly larger
    drawing.
    """

    def cost(pair: tuple[Columns, Frame]) -> tuple[float, float]:
        columns, frame = pair
        count = max(1, len(columns.left) + len(columns.right))
        return columns.missing_in(frame.height_in), frame.per_in * (
            1.0 + 0.3 * columns.far / count
        ) / columns.liking

    return min(((columns, frame_of(columns)) for columns in candidates), key=cost)


def draw_columns(ax: Axes, columns: Columns, frame: Frame) -> None:
    """Write the labels into their columns, in the order of their points' heights, and draw the leader lines."""
    for column, at_left in ((columns.left, True), (columns.right, False)):
        ordered = sorted(column, key=lambda label: (label.y, label.x))
        centres = spread(
            [frame.y_in(label.y) for label in ordered],
            [label.height_in for label in ordered],
            columns.left_bottom_in if at_left else columns.right_bottom_in,
            frame.height_in,
        )
        width_in = columns.left_in if at_left else columns.right_in
        edge_in = width_in - LEADER_IN if at_left else frame.width_in - width_in + LEADER_IN
        inward = 1.0 if at_left else -1.0
        for label, centre_in in zip(ordered, centres, strict=True):
            _write_label(ax, label, frame, edge_in=edge_in, centre_in=centre_in, at_left=at_left)
            straight = [frame.at(edge_in + out_in * inward, centre_in) for out_in in (0.04, 0.12)]
            draw_line(
                ax,
                [*straight, complex(label.x, label.y)],
                **style.LEADER.pen,
                marker="o",
                markevery=[2],
                markersize=2.6,
                zorder=6,
                gid=f"leader {label.gid}",
            )


def _write_label(
    ax: Axes, label: Label, frame: Frame, *, edge_in: float, centre_in: float, at_left: bool
) -> None:
    """Write a label's head and its text below it, together centred at ``centre_in``."""
    align = "right" if at_left else "left"
    text_lines = label.text.count("\n") + bool(label.text)
    if label.head:
        at = frame.at(edge_in, centre_in + 0.5 * text_lines * LINE_IN)
        write(ax, at, label.head, ha=align, fontweight="bold", gid=f"head {label.gid}")
        centre_in -= 0.5 * LINE_IN
    if label.text:
        write(ax, frame.at(edge_in, centre_in), label.text, ha=align, gid=f"label {label.gid}")
