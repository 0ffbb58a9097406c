"""`bobplan plan JOB JOB ...`: many jobs side by side, a table of what came out."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path

from planner.cli.console import ANSWER_IS_NO, GOOD, note, tell
from planner.visible_text import visible


def plan_several(
    jobs: Sequence[str], *, seconds: float, workers: int | None, csv: Path | None, as_json: bool
) -> int:
    """Plan jobs in other processes, show the table, and return the exit code: 0 when every job has a plan that passes."""
    from planner.files import check_output, write_bytes
    from planner.library import Failed, plan_many
    from planner.present.pages.several import several_csv, several_document, several_json
    from planner.steps.parts_csv import csv_bytes
    from planner.steps.several import JobRow, row_of

    if csv is not None:
        check_output(csv, endings=(".csv", ".txt"), hint="write for example `plans.csv`")
    live = sys.stderr is not None and sys.stderr.isatty()
    names = [os.path.relpath(each) if os.path.isabs(each) else each for each in jobs]
    rows: list[JobRow] = []
    for name, result in zip(names, plan_many(jobs, workers=workers, seconds=seconds), strict=True):
        if isinstance(result, Failed):
            rows.append(JobRow(job=name, error=result.error))
        else:
            rows.append(row_of(result.answer, job=name))
        if live:
            _bar(len(rows), len(names), name)
    if live:
        sys.stderr.write("\r" + " " * 79 + "\r")
        sys.stderr.flush()
    if csv is not None:
        write_bytes(csv, csv_bytes(several_csv(rows)))
    tell(rows, several_json, several_document, as_json=as_json)
    if not as_json:
        note("no plan was stored: `bobplan plan JOB` for one of them keeps its plan")
    if csv is not None:
        note(f"written: {csv}")
    return GOOD if all(row.verdict == "in tolerance" and not row.error for row in rows) else ANSWER_IS_NO


def _bar(done: int, of: int, name: str) -> None:
    filled = round(30 * done / of)
    sys.stderr.write(f"\r[{'#' * filled}{'.' * (30 - filled)}] {done} of {of}  {visible(name):<30.30}")
    sys.stderr.flush()
