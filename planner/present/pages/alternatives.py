"""Other ways to correct, side by side: a table for the terminal and plain data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.jobfile.job import Job
from planner.present.document import Block, block, lines, table
from planner.present.pages.chances import chances_cells, chances_json
from planner.present.to_json import picked
from planner.present.words import counted, mass_words, percent
from planner.steps.alternatives import Alternative
from planner.steps.plan_answer import PlanAnswer

_TITLES = {
    "plan": "this plan",
    "heavy metal": "with heavy metal",
    "end counterweights": "end counterweights only",
    "cheapest": "cheapest (least metal)",
    "most certain": "most certain (closest)",
}


def alternatives_block(answer: PlanAnswer) -> Block | None:
    """Return the table of alternatives, None when there are none."""
    if not answer.alternatives:
        return None
    job = answer.job
    rows: list[Sequence[str]] = []
    for each in answer.alternatives:
        title = _TITLES.get(each.name, each.name)
        if not each.feasible:
            rows.append([title, *"-------", each.note])
            continue
        rows.append(
            [
                title,
                str(len(each.cuts)),
                _grams(job, each.drilled_g),
                _grams(job, each.heavy_metal_g),
                "-" if each.share is None else percent(each.share),
                *chances_cells(each.chances),
                f"{each.minutes:g} min",
                counted(planned.cut.counterweight for planned in each.cuts),
            ]
        )
    noted = [each for each in answer.alternatives if each.feasible and each.note]
    return block(
        "OTHER WAYS (residual as a share of the tolerance; chances: inside the limit, and that one spin proves it)",
        table(
            ("", "cuts", "drilled", "heavy metal", "residual", "inside", "proved", "at the press", "on"), rows
        ),
        lines(*(f"{_TITLES.get(each.name, each.name)}: {each.note}" for each in noted), level=1),
    )


def alternative_json(each: Alternative) -> dict[str, Any]:
    """Return one alternative as plain data."""
    amounts = picked(each, "drilled_g heavy_metal_g minutes") | {"cuts": len(each.cuts)}
    return {
        **picked(each, "name feasible share chance_to_pass note"),
        **(amounts if each.feasible else dict.fromkeys(amounts)),
        **chances_json(each.chances),
        "steps": [
            picked(
                planned.cut,
                "counterweight angle_deg diameter_mm depth_shoulder_mm radius_mm through cut=kind",
            )
            for planned in each.cuts
        ],
    }


def _grams(job: Job, mass_g: float) -> str:
    return mass_words(job, mass_g) if mass_g > 0 else "-"
