"""The pens of all drawings: lines, areas, circles and texts; a place is a complex number, ``x + 1j*y``, as all vectors are."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from planner.present.drawings import style
from planner.present.drawings.place import text_size_in

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.text import Text


def draw_line(ax: Axes, points: Sequence[complex], **look: Any) -> None:
    """Draw a line through points; one point is a marker."""
    ax.plot([point.real for point in points], [point.imag for point in points], **look)


def draw_area(ax: Axes, corners: Iterable[complex], **look: Any) -> None:
    """Draw what lies between corners."""
    from matplotlib.patches import Polygon

    ax.add_patch(Polygon([(corner.real, corner.imag) for corner in corners], closed=True, **look))


def draw_circle(ax: Axes, centre: complex, radius: float, **look: Any) -> None:
    """Draw a circle, or with a ``facecolor`` what lies in it."""
    from matplotlib.patches import Circle

    ax.add_patch(Circle((centre.real, centre.imag), radius, **look))


def write(ax: Axes, at: complex, text: str, **look: Any) -> Text:
    """Write a text about a place in the project's font; names of a job are never read as formulas."""
    settings: dict[str, Any] = {
        "ha": "center",
        "va": "center",
        "fontsize": style.TEXT_PT,
        "fontfamily": style.FONT_FAMILY,
        "color": style.INK,
        "parse_math": False,
        "linespacing": style.LINE_SPACING,
        "zorder": 8,
        **look,
    }
    return ax.text(at.real, at.imag, text, **settings)


def arc(radius: float, from_deg: float, to_deg: float, *, step_deg: float = 2.0) -> list[complex]:
    """Return points of an arc about the origin, both ends among them."""
    count = max(2, math.ceil(abs(to_deg - from_deg) / step_deg) + 1)
    sweep = to_deg - from_deg
    return [cmath.rect(radius, math.radians(from_deg + sweep * i / (count - 1))) for i in range(count)]


def half_in(text: str, way: complex, *, bold: bool = False) -> float:
    """Return how far the box of a text reaches along a direction (of length 1) from its middle [in]."""
    wide_in, high_in = text_size_in(text, bold=bold)
    return 0.5 * (abs(way.real) * wide_in + abs(way.imag) * high_in)
