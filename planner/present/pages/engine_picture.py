"""An engine's shaking force and couple as drawings on a page of real paper: what ``engine --plot x.pdf`` writes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.present.drawings.picture import Picture
from planner.records import dataclass
from planner.steps.engine_forces import EngineAnswer

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from planner.present.drawings.engine import Quantity

RESERVE = (
    "Foretold from the sizes and masses given, for a rigid crankshaft at steady speed: no gas forces, no torsion. What an "
    "engine and its mounts bear is for its maker to say."
)


@dataclass(frozen=True, kw_only=True)
class EnginePictures:
    """The drawings of an engine with what to know."""

    title: str
    settings: str
    pictures: tuple[Picture, ...]
    reserve: str = RESERVE


def engine_pictures(answer: EngineAnswer) -> EnginePictures:
    """Return the drawings of an engine."""
    from planner.present.drawings.engine import QUANTITIES, engine_title

    title, settings = engine_title(answer)
    return EnginePictures(
        title=title,
        settings=settings[:1].upper() + settings[1:],
        pictures=tuple(_picture(answer, quantity) for quantity in QUANTITIES),
    )


def _picture(answer: EngineAnswer, quantity: Quantity) -> Picture:
    def draw(width_in: float) -> Axes:
        from planner.present.drawings.engine import shaking_drawing

        return shaking_drawing(answer, quantity, width_in)

    return Picture(
        name=quantity,
        title=f"{quantity.capitalize()} that is left over one turn",
        says="At the left its path seen from the front, at the right along and across the reference axis against crank travel.",
        size="full",
        draw=draw,
    )
