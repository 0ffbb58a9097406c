"""A drawing inside a page: inline, to scale, with a text that says what it shows, its colours those of the page."""

from __future__ import annotations

import re
from html import escape
from typing import TYPE_CHECKING

from planner.errors import BobplanError
from planner.present.drawings.svg import svg_inside
from planner.present.page_colours import DARK, variable

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_OWN_STYLE = re.compile(r"<style[^>]*>[^<]*</style>")  # would hold for the whole page, which has its own
_PART = re.compile(r'data-part="([^"]*)"')
_STEP = re.compile(
    r"(?:(?:head |label |leader )?step|(?:angle|extension|arrow|angle text) of step"
    r"|(?:head of |label |leader )?correction) (\d+)"
)
_STYLE = re.compile(r'\bstyle="[^"]*"')  # a name may look like a colour: only what is a style is one
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}\b")
_ATTRIBUTE = re.compile(r'\b(fill|stroke)="(#[0-9a-fA-F]{6})"')


def drawing_markup(
    figure: Figure, *, prefix: str, title: str, says: str, wide: bool = False, caption: str = ""
) -> str:
    """Return a figure as inline SVG in a ``<figure>``.

    Parameters
    ----------
    figure : matplotlib Figure
        The drawing.
    prefix : str
        Makes its ids unique in the page.
    title, says : str
        What it is, and what it shows, for those who don't see it.
    wide : bool
        A wide drawing scrolls on a narrow screen instead of shrinking.
    caption : str
        What stands below it.
    """
    width_in, height_in = figure.get_size_inches()
    inside = _in_page_colours(_with_steps(svg_inside(figure, prefix=f"{prefix}-")))
    inside = _OWN_STYLE.sub("", inside)
    name = f"{prefix}-title"
    svg = (
        f'<svg viewBox="0 0 {72.0 * width_in:g} {72.0 * height_in:g}" role="img" aria-labelledby="{name} {prefix}-says">'
        f'<title id="{name}">{escape(title)}</title><desc id="{prefix}-says">{escape(says)}</desc>{inside}</svg>'
    )
    below = f"<figcaption>{escape(caption)}</figcaption>" if caption else ""
    if wide:
        label = escape(title)
        return f'<figure class="wide full scroll" role="region" aria-label="{label}" tabindex="0">{svg}{below}</figure>'
    return f"<figure>{svg}{below}</figure>"


def _with_steps(inside: str) -> str:
    """Give everything that belongs to a step its number, so that the page can light it up."""

    def marked(found: re.Match[str]) -> str:
        step = _STEP.fullmatch(found[1])
        return found[0] if step is None else f'{found[0]} data-step="{step[1]}"'

    return _PART.sub(marked, inside)


def _in_page_colours(inside: str) -> str:
    """Return the drawing with the page's colours, which are others on a dark screen."""
    known = {colour.lower(): variable(colour) for colour in DARK}

    def of_page(found: re.Match[str]) -> str:
        colour = found[0].lower()
        if colour not in known:
            raise BobplanError(f"the page has no dark colour for {colour}")
        return f"var({known[colour]})"

    # a variable counts in a style only, not in an attribute of its own
    inside = _ATTRIBUTE.sub(lambda found: f'style="{found[1]}: {found[2]}"', inside)
    return _STYLE.sub(lambda found: _COLOUR.sub(of_page, found[0]), inside)
