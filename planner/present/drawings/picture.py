"""A drawing as a part of a page: its name, its words, its size, and how it is drawn; no matplotlib until it is painted."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Literal

from planner.records import dataclass

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Size = Literal["full", "wide", "half", "narrow", "card"]


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A drawing that a page holds.

    Attributes
    ----------
    name : str
        Its own name within the page; letters, digits and hyphens.
    title, says : str
        What it is, and what it shows, for those who don't see it.
    size : {"full", "wide", "half", "narrow", "card"}
        How much of the page's width it wants; wide and narrow stand side by side.
    draw : callable
        Given a width [in], draws into a figure of its own and returns the axes.
    """

    name: str
    title: str
    says: str
    size: Size
    draw: Callable[[float], Axes]

    def figure(self, width_in: float) -> Figure:
        """Return it drawn that wide [in], without paper: the page shows through."""
        from matplotlib.figure import Figure

        from planner.present.drawings.save import quiet_about_glyphs

        with quiet_about_glyphs():
            figure = self.draw(width_in).figure
        assert isinstance(figure, Figure)
        figure.patch.set_visible(False)
        for each in figure.axes:
            each.patch.set_visible(False)
        return figure
