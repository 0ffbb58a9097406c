"""Where things go in a drawing: the view, the scale, and texts that never meet.

Text is measured in inches from the font itself, so that a drawing is laid out before anything is rendered and comes
out the same whatever the resolution.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Sequence
from typing import TYPE_CHECKING, get_args

from planner.errors import InputError
from planner.frames import ViewedFrom
from planner.present.drawings import style
from planner.records import dataclass

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PT_PER_IN = 72.0
_SLACK = 1.05  # rendered (hinted) text is up to a few per cent wider than the font's own numbers
LINE_IN = style.TEXT_PT * style.LINE_SPACING / PT_PER_IN
LABEL_GAP_IN = 0.07


def checked_view(viewed_from: str) -> ViewedFrom:
    """Return the end a drawing is seen from.

    Raises
    ------
    InputError
        If it is neither ``front`` nor ``rear``.
    """
    for allowed in get_args(ViewedFrom):
        if viewed_from == allowed:
            return allowed  # type: ignore[no-any-return]
    raise InputError(
        f"`{viewed_from}` is no end of a crankshaft to look from; `front` and `rear` are allowed",
        hint="use the end that the machine views from, or leave it out",
    )


def seen(point: complex, viewed_from: ViewedFrom) -> complex:
    """Return where a point of the crankshaft frame appears: from the rear mirrored left to right.

    The same function takes a drawn point back to the crankshaft frame.
    """
    return point if viewed_from == "front" else complex(-point.real, point.imag)


@functools.lru_cache(maxsize=4096)
def text_size_in(text: str, *, size_pt: float = style.TEXT_PT, bold: bool = False) -> tuple[float, float]:
    """Return width and height [in] of a text of one or more lines."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family=style.FONT_FAMILY, size=size_pt, weight="bold" if bold else "normal")
    lines = text.split("\n")
    widths = [
        text_to_path.get_text_width_height_descent(line, font, ismath=False)[0] for line in lines if line
    ]
    width_in = max(widths, default=0.0) * _SLACK / PT_PER_IN
    return width_in, len(lines) * size_pt * style.LINE_SPACING / PT_PER_IN


def wrapped(text: str, width_in: float, *, size_pt: float = style.TEXT_PT, bold: bool = False) -> str:
    """Return a text broken into lines that are not wider than ``width_in`` [in]; a lone long word is cut."""
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for word in paragraph.split():
            longer = f"{line} {word}" if line else word
            if text_size_in(longer, size_pt=size_pt, bold=bold)[0] <= width_in:
                line = longer
                continue
            if line:
                lines.append(line)
            line = word
            while len(line) > 1 and text_size_in(line, size_pt=size_pt, bold=bold)[0] > width_in:
                keep = len(line) - 1
                while keep > 1 and text_size_in(line[:keep], size_pt=size_pt, bold=bold)[0] > width_in:
                    keep -= 1
                lines.append(line[:keep])
                line = line[keep:]
        lines.append(line)
    return "\n".join(lines)


def spread(wanted: Sequence[float], sizes: Sequence[float], low: float, high: float) -> list[float]:
    """Return centres of intervals that do not overlap, as near to the wanted centres as they can be.

    Parameters
    ----------
    wanted : sequence of floats
        Centres, in rising order.
    sizes : sequence of floats
        Length of each interval.
    low, high : float
        All intervals lie between these; when they are too long for that they start at ``low``.

    Returns
    -------
    list of floats
        Centres in the same order; the sum of squared displacements is least (isotonic regression by pooling
        adjacent violators, then clipping: textbook algorithm).
    """
    if not wanted:
        return []
    offsets = [0.0]
    for before, after in itertools.pairwise(sizes):
        offsets.append(offsets[-1] + 0.5 * (before + after))
    pools: list[tuple[float, int]] = []
    for centre, offset in zip(wanted, offsets, strict=True):
        pools.append((centre - offset, 1))
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            (mean_1, count_1), (mean_2, count_2) = pools[-2:]
            count = count_1 + count_2
            pools[-2:] = [((mean_1 * count_1 + mean_2 * count_2) / count, count)]
    pooled = [mean for mean, count in pools for _ in range(count)]
    least = low + 0.5 * sizes[0]
    most = max(least, high - 0.5 * sizes[-1] - offsets[-1])
    return [min(max(shift, least), most) + offset for shift, offset in zip(pooled, offsets, strict=True)]


@dataclass(frozen=True, kw_only=True)
class Frame:
    """The scale of a drawing: ``data = corner + inches * per_in``, the same in both directions."""

    width_in: float
    height_in: float
    per_in: float
    corner_x: float
    corner_y: float

    def x(self, inches: float) -> float:
        """Return the data x of a distance from the left edge [in]."""
        return self.corner_x + inches * self.per_in

    def y(self, inches: float) -> float:
        """Return the data y of a distance from the lower edge [in]."""
        return self.corner_y + inches * self.per_in

    def at(self, x_in: float, y_in: float) -> complex:
        """Return the place of distances from the left and the lower edge [in]."""
        return complex(self.x(x_in), self.y(y_in))

    def y_in(self, y: float) -> float:
        """Return the distance from the lower edge [in] of a data y."""
        return (y - self.corner_y) / self.per_in

    def apply(self, ax: Axes) -> None:
        """Give the axes this scale, without ticks and frame."""
        ax.set_xlim(self.x(0.0), self.x(self.width_in))
        ax.set_ylim(self.y(0.0), self.y(self.height_in))
        ax.set_aspect("equal", adjustable="box")
        ax.set_xticks([])
        ax.set_yticks([])
        for spine in ax.spines.values():
            spine.set_visible(False)


def axes_size_in(ax: Axes) -> tuple[float, float]:
    """Return width and height [in] of the axes as they stand in their figure now."""
    box = ax.get_position(original=True)
    whole = ax.figure.bbox
    return box.width * whole.width / ax.figure.dpi, box.height * whole.height / ax.figure.dpi


def fitted_frame(
    bounds: tuple[float, float, float, float],
    *,
    size_in: tuple[float, float],
    left_in: float,
    right_in: float,
    bottom_in: float,
    top_in: float,
) -> Frame:
    """Return the largest scale at which ``bounds`` (x0, y0, x1, y1) keep these margins [in] to the axes' edges."""
    width_in, height_in = size_in
    x0, y0, x1, y1 = bounds
    room_x = max(width_in - left_in - right_in, 0.2)
    room_y = max(height_in - bottom_in - top_in, 0.2)
    per_in = max((x1 - x0) / room_x, (y1 - y0) / room_y)
    return Frame(
        width_in=width_in,
        height_in=height_in,
        per_in=per_in,
        corner_x=0.5 * (x0 + x1) - per_in * (left_in + 0.5 * room_x),
        corner_y=0.5 * (y0 + y1) - per_in * (bottom_in + 0.5 * room_y),
    )


def head_text(what: str, view: str, width_in: float) -> str:
    """Return the title of a drawing: in one line where it fits, else the view in a line of its own."""
    text = f"{what}, {view}"
    if text_size_in(text, size_pt=style.TITLE_PT, bold=True)[0] > width_in:
        text = f"{what},\n{view}"
    return wrapped(text, width_in, size_pt=style.TITLE_PT, bold=True)


def head_height_in(what: str, view: str, width_in: float) -> float:
    """Return how much room the title of a drawing takes above its axes [in]."""
    return text_size_in(head_text(what, view, width_in), size_pt=style.TITLE_PT, bold=True)[1] + 0.1


def head_line(ax: Axes, what: str, view: str, width_in: float) -> None:
    """Set the title of a drawing."""
    ax.set_title(
        head_text(what, view, width_in),
        fontsize=style.TITLE_PT,
        fontfamily=style.FONT_FAMILY,
        fontweight="bold",
        color=style.INK,
        parse_math=False,
        pad=5,
    )


def own_axes(width_in: float, height_in: float, *, top_in: float = 0.55, bottom_in: float = 0.15) -> Axes:
    """Return axes in a figure of their own [in], with room for a title and what stands below."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_in, height_in))
    side = 0.12 / width_in
    return figure.add_axes(
        (side, bottom_in / height_in, 1.0 - 2.0 * side, 1.0 - (top_in + bottom_in) / height_in)
    )
