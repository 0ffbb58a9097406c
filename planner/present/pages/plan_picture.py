"""A plan as drawings on pages of real paper: what ``plan --plot x.pdf`` writes."""

from __future__ import annotations

from planner.present.drawings.picture import Picture
from planner.present.drawings.plan import footer_lines, plan_title
from planner.present.pages.sheet import counterweight_pictures, key_picture, overview_picture, vector_pictures
from planner.records import dataclass
from planner.steps.plan_answer import PlanAnswer


@dataclass(frozen=True, kw_only=True)
class PlanPictures:
    """The drawings of a plan with what to know; no cut list, that is the sheet's."""

    title: str
    counterweights: tuple[Picture, ...]
    key: Picture | None
    vectors: tuple[Picture, ...]
    overview: Picture
    footer: tuple[str, ...]


def plan_pictures(answer: PlanAnswer) -> PlanPictures:
    """Return the drawings of a plan."""
    return PlanPictures(
        title=plan_title(answer),
        counterweights=counterweight_pictures(answer),
        key=key_picture(answer),
        vectors=vector_pictures(answer),
        overview=overview_picture(answer),
        footer=footer_lines(answer),
    )
