"""Many jobs as one table: on the terminal, as CSV, as plain data."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

from planner.present.document import Document, block, document, lines, table
from planner.present.to_json import plain
from planner.present.words import chance_words, percent
from planner.steps.several import JobRow
from planner.visible_text import visible

_HEAD = ("job", "verdict", "cuts", "slugs", "of the limit", "inside")


def several_document(rows: Sequence[JobRow]) -> Document:
    """Return the table, and below it what could not be planned."""
    planned = [row for row in rows if not row.error]
    failed = [f"{row.job}: {row.error.splitlines()[0]}" for row in rows if row.error]
    asked = [f"{row.job}: {question}" for row in planned for question in row.questions]
    late = [row.job for row in planned if row.stopped_by_time]
    return document(
        table(_HEAD, map(_cells, planned)) if planned else None,
        block("Questioned, enter again or confirm:", lines(*asked, level=1)) if asked else None,
        block(f"The time given ran out (--seconds): {', '.join(late)}") if late else None,
        block("Not planned:", lines(*failed, level=1)) if failed else None,
    )


def _cells(row: JobRow) -> tuple[str, ...]:
    share = "-" if row.share_of_limit is None else percent(row.share_of_limit)
    inside = "-" if row.chance_inside is None else chance_words(row.chance_inside)
    return (visible(row.job), row.verdict, str(row.cuts), str(row.slugs), share, inside)


def several_csv(rows: Sequence[JobRow]) -> list[list[str]]:
    """Return the lines of the CSV file: a head, and one line per job."""
    names = [field.name for field in dataclasses.fields(JobRow)]
    return [names, *([_cell(getattr(row, name)) for name in names] for row in rows)]


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, tuple):
        return _cell("; ".join(value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    return str(value)


def several_json(rows: Sequence[JobRow]) -> dict[str, Any]:
    """Return the rows as plain data."""
    return {"jobs": [plain(row) for row in rows]}
