"""Colours, line styles, hatches and text sizes of everything that is drawn.

Chosen for this project so that the roles stay apart for colour-blind readers and on a black-and-white print: no
two roles that may meet in one drawing share both their hatch and their line style, and the colours differ in
lightness as well as in hue.
"""

from __future__ import annotations

from typing import Any, Literal

from planner.records import dataclass

Line = Literal["-", "--", "-.", ":"]

FONT_FAMILY = "DejaVu Sans"
"""Comes with matplotlib: the same text, as wide, on every machine."""

TEXT_PT = 8.5
"""Labels, ticks, footer; nothing smaller than 8 pt is ever drawn [pt]."""

TITLE_PT = 10.0
"""Title of one drawing [pt]."""

PAGE_TITLE_PT = 14.0
"""Title of the whole picture [pt]."""

LINE_SPACING = 1.2
"""Matplotlib's own default: line pitch as a multiple of the text's size."""

DOTS_PER_INCH = 150
"""Resolution of a saved PNG."""

INK = "#1b2430"
PALE_INK = "#6a7480"
PAPER = "#ffffff"
STEEL = "#e6e9ec"


@dataclass(frozen=True, kw_only=True)
class Look:
    """How one role is drawn.

    Attributes
    ----------
    edge, face : str
        Colours of line and area; ``face`` "none" leaves the area open.
    hatch : str
        Matplotlib's hatch, or empty.
    line : str
        Matplotlib's line style.
    width_pt : float
        Line width [pt].
    words : str
        What the key calls it.
    """

    edge: str
    face: str = "none"
    hatch: str = ""
    line: Line = "-"
    width_pt: float = 1.0
    words: str = ""

    @property
    def pen(self) -> dict[str, Any]:
        """What matplotlib is told to draw a line so."""
        return {"color": self.edge, "linestyle": self.line, "linewidth": self.width_pt}

    @property
    def border(self) -> dict[str, Any]:
        """What matplotlib is told to draw the edge of an area so."""
        return {"edgecolor": self.edge, "linestyle": self.line, "linewidth": self.width_pt}


NOW = "#8fbdf2"
"""The hole to drill now."""

WAY = "#0a4f9e"
"""The arrow from the centre line to the hole."""

OUTLINE = Look(edge=INK, face=STEEL, width_pt=1.4, words="counterweight")
INNER = Look(edge=PALE_INK, line=":", width_pt=1.0, words="inner radius: no cut goes below")
CENTRE_LINE = Look(edge=INK, line="-.", width_pt=0.9, words="centre line")
LEADER = Look(edge=PALE_INK, width_pt=0.6)
DIMENSION = Look(edge=INK, width_pt=0.7, words="angle from the centre line")

NEW_HOLE = Look(edge="#0a4f9e", face=PAPER, width_pt=1.8, words="drill now")
SLUG = Look(edge="#6b1f6f", face="#e3a7d8", hatch="...", width_pt=1.8, words="slug of heavy metal")
FILL = Look(edge="#6b1f6f", face="#e3a7d8", hatch="ooo", width_pt=1.8, words="fill an old hole")
OLD_HOLE = Look(edge="#7d8790", face="#cfd4d8", hatch="////", width_pt=1.0, words="old hole")
OLD_SLUG = Look(edge="#7d8790", face="#b9aab8", hatch="+++", width_pt=1.0, words="old slug")
MADE_CUT = Look(edge="#8a5a00", face="#f3d9a0", hatch="xxx", width_pt=1.3, words="cut since the last spin")
KEEP_OUT = Look(edge="#b3261e", face=PAPER, hatch="\\\\\\", line="--", width_pt=1.0, words="keep out")
OIL = Look(edge="#b3261e", face=PAPER, hatch="|||", line=":", width_pt=1.0, words="oil drilling")

PART_LOOKS = (NEW_HOLE, SLUG, FILL, MADE_CUT, OLD_HOLE, OLD_SLUG, KEEP_OUT, OIL)
"""Everything with an area that may lie in one counterweight."""

UNBALANCE = Look(edge=INK, face=INK, width_pt=2.4, words="unbalance (to the heavy spot)")
CORRECTION = Look(edge="#0a4f9e", face=PAPER, width_pt=1.3, words="what a step does")
RESIDUAL = Look(edge="#b3261e", face="#b3261e", line="--", width_pt=2.0, words="what is left")
RING = Look(edge="#1c7a4c", line=":", width_pt=1.8, words="tolerance")
GRID = Look(edge="#c5cbd1", width_pt=0.6)

VECTOR_LOOKS = (UNBALANCE, CORRECTION, RESIDUAL, RING)
"""Everything that may meet in one vector diagram."""

BEARING = Look(edge=INK, face="#9aa3ab", width_pt=1.0, words="bearing")
PLANE = Look(edge="#1c7a4c", line="-.", width_pt=1.3, words="plane of the machine")
THROW = Look(edge=PALE_INK, face=PAPER, width_pt=1.0, words="throw")
