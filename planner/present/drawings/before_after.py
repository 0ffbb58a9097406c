"""Before and after at every place that is judged, as bars against the limit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from planner.present.drawings import style
from planner.present.drawings.pens import draw_line, write
from planner.present.drawings.place import text_size_in
from planner.records import dataclass

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_BAR_IN = 0.2
_BETWEEN_IN = 0.08


@dataclass(frozen=True, kw_only=True)
class Bar:
    """An unbalance before or after, against its limit [g*mm], with its text."""

    place: str
    when: str
    amount_gmm: float
    limit_gmm: float
    text: str


def plot_before_after(bars: Sequence[Bar], *, ax: Axes, width_in: float, height_in: float) -> Axes:
    """Draw before and after at every place that is judged, the limit as a dashed line.

    The data are inches from the axes' lower left corner; ``gid`` of a bar: ``before bearing 1``.
    """
    from matplotlib.patches import Rectangle

    ax.set_xlim(0.0, width_in)
    ax.set_ylim(0.0, height_in)
    ax.set_axis_off()
    names_in = max(text_size_in(bar.place, bold=True)[0] for bar in bars) + 0.15
    texts_in = max(text_size_in(bar.text)[0] for bar in bars) + 0.2
    most = max(max(bar.amount_gmm, bar.limit_gmm) for bar in bars)
    per_gmm = (width_in - names_in - texts_in) / most
    places = list(dict.fromkeys(bar.place for bar in bars))
    top_in = height_in
    for place in places:
        here = [bar for bar in bars if bar.place == place]
        limit_in = names_in + here[0].limit_gmm * per_gmm
        bottom_in = top_in - len(here) * _BAR_IN
        for index, bar in enumerate(here):
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
            write(ax, complex(text_in, middle_in), bar.text, ha="left")
        write(ax, complex(0.0, 0.5 * (top_in + bottom_in)), place, ha="left", fontweight="bold")
        limit = [complex(limit_in, bottom_in), complex(limit_in, top_in)]
        draw_line(ax, limit, color=style.INK, linestyle="--", linewidth=1.3, gid=f"limit {place}")
        top_in = bottom_in - _BETWEEN_IN
    return ax


def bars_height_in(bars: Sequence[Bar]) -> float:
    """Return how high the drawing of before and after is [in]."""
    places = len({bar.place for bar in bars})
    return len(bars) * _BAR_IN + (places - 1) * _BETWEEN_IN
