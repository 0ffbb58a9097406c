"""Other ways to correct, side by side: a table for the terminal and plain data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.jobfile.job import Job
from planner.present.pages.chances import chances_json, percent_words
from planner.present.table import table
from planner.present.to_json import picked
from planner.steps.alternatives import Alternative
from planner.steps.plan_answer import PlanAnswer

_TITLES = {
    "plan": "this plan",
    "heavy metal": "with heavy metal",
    "end counterweights": "end counterweights only",
    "cheapest": "cheapest (least metal)",
    "most certain": "most certain (closest)",
}


def alternatives_lines(answer: PlanAnswer) -> list[str]:
    """Return the table of alternatives, empty when there are none."""
    if not answer.alternatives:
        return []
    job = answer.job
    rows: list[Sequence[str]] = [
        ["", "cuts", "drilled", "heavy metal", "residual", "inside", "proved", "at the press", "on"]
    ]
    notes = []
    for each in answer.alternatives:
        title = _TITLES.get(each.name, each.name)
        if not each.feasible:
            rows.append([title, "-", "-", "-", "-", "-", "-", "-", each.note])
            continue
        rows.append(
            [
                title,
                str(len(each.cuts)),
                _grams(job, each.drilled_g),
                _grams(job, each.heavy_metal_g),
                f"{each.share:.0%}" if each.share is not None else "-",
                *(
                    ("-", "-")
                    if each.chances is None
                    else (percent_words(each.chances.inside), percent_words(each.chances.one_spin_proves))
                ),
                f"{each.minutes:g} min",
                _places(each),
            ]
        )
        if each.note:
            notes.append(f"  {title}: {each.note}")
    head = "OTHER WAYS (residual as a share of the tolerance; chances: inside the limit, and that one spin proves it)"
    return [head, *table(rows), *notes]


def alternative_json(each: Alternative) -> dict[str, Any]:
    """Return one alternative as plain data."""
    amounts = picked(each, "drilled_g", "heavy_metal_g", "minutes") | {"cuts": len(each.cuts)}
    return {
        **picked(each, "name", "feasible", "share", "chance_to_pass", "note"),
        **(amounts if each.feasible else dict.fromkeys(amounts)),
        **chances_json(each.chances),
        "steps": [
            picked(
                planned.cut,
                "counterweight",
                "angle_deg",
                "diameter_mm",
                "depth_shoulder_mm",
                "radius_mm",
                "through",
                cut="kind",
            )
            for planned in each.cuts
        ],
    }


def _grams(job: Job, mass_g: float) -> str:
    return job.units.text(mass_g, "mass") if mass_g > 0 else "-"


def _places(each: Alternative) -> str:
    names = [planned.cut.counterweight for planned in each.cuts]
    return ", ".join(
        name if names.count(name) == 1 else f"{name} x{names.count(name)}" for name in dict.fromkeys(names)
    )
