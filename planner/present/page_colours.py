"""The colours of a page on the screen: those of the drawings, and what each becomes on a dark screen."""

from __future__ import annotations

from planner.present.drawings import style

DARK = {
    style.INK: "#e8ecf1",
    style.PALE_INK: "#aab4bf",
    style.PAPER: "#14191f",
    style.STEEL: "#2b333c",
    style.NOW: "#1f4f86",
    style.GRID.edge: "#47515c",
    style.NEW_HOLE.edge: "#7db7ff",
    style.SLUG.edge: "#e39be6",
    style.SLUG.face: "#6e3a73",
    style.OLD_HOLE.edge: "#9aa5af",
    style.OLD_HOLE.face: "#3d464f",
    style.OLD_SLUG.face: "#574a59",
    style.MADE_CUT.edge: "#f0b95a",
    style.MADE_CUT.face: "#5b4313",
    style.KEEP_OUT.edge: "#ff8a80",
    style.RING.edge: "#6bd39c",
    style.BEARING.face: "#66707a",
}
"""What every colour of the drawings becomes on a dark screen."""

NAMES = {
    "ink": style.INK,
    "pale": style.PALE_INK,
    "paper": style.PAPER,
    "grid": style.GRID.edge,
    "warn": style.KEEP_OUT.edge,
    "good": style.RING.edge,
    "bad": style.RESIDUAL.edge,
    "way": style.WAY,
}
"""What the style sheet calls the colours that it uses."""


def variable(colour: str) -> str:
    """Return the name under which a page knows a colour of the drawings."""
    return f"--c{colour.lstrip('#').lower()}"
