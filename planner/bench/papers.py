"""Sheet, record, decision sheet and rim strips as PDF, made when they are asked for and kept nowhere."""

from __future__ import annotations

import tempfile
import threading
from pathlib import Path
from urllib.parse import quote

from starlette.responses import Response

from planner.bench.page import Call
from planner.errors import InputError
from planner.jobfile.job import Job
from planner.present.to_paper import paper_of, save_paper

_ONE_AT_A_TIME = threading.Lock()
"""Drawings share fonts and settings of their library, which is not made for threads."""


def paper(call: Call) -> Response:
    """Return a paper of a job as a PDF for the browser to show, print or keep."""
    kind = call.values["paper"]
    job = call.job()
    paper = paper_of("Letter" if job.units.in_inches else "A4")
    template, content, title = _decision(call, job) if kind == "decision" else _content(kind, job)
    with _ONE_AT_A_TIME, tempfile.TemporaryDirectory(prefix="bobplan-") as folder:
        target = Path(folder) / f"{kind}.pdf"
        save_paper(template, content, target, paper=paper, title=title, date=job.details.date)
        made = target.read_bytes()
    name = f"{job.files.job.stem}-{kind}.pdf"
    return Response(
        made,
        media_type="application/pdf",
        headers={"content-disposition": f"inline; filename*=UTF-8''{quote(name)}"},
    )


def _decision(call: Call, job: Job) -> tuple[str, object, str]:
    from planner.bench.quote_part import content_for_paper

    content = content_for_paper(call)
    return "decision", content, job.details.title or content.title


def _content(kind: str, job: Job) -> tuple[str, object, str]:
    if kind == "record":
        from planner.present.pages.record import record_content
        from planner.steps.dialled import ensure_told
        from planner.steps.sheet import record_of

        ensure_told(job)
        record = record_content(record_of(job))
        return "record", record, f"{record.title}: {job.details.title}" if job.details.title else record.title
    if kind not in ("sheet", "strip"):
        raise InputError(f"there is no paper `{kind[:20]}`", hint="sheet, strip, record or decision")
    from planner.bench.head import spot_is_settled
    from planner.steps.keep_plan import keep_plan
    from planner.steps.removal_ratio import with_plan_factor
    from planner.steps.sheet import sheet_of
    from planner.steps.withheld import withheld_of

    if withheld_of(job) is not None or not spot_is_settled(job):
        raise InputError("no cut list is shown for this job yet", hint="settle first what Cut asks")
    told = sheet_of(with_plan_factor(job))
    keep_plan(told.answer)
    if kind == "strip":
        from planner.present.pages.strip import strip_content

        strip = strip_content(told.answer)
        return "strip", strip, strip.title
    from planner.present.pages.sheet import sheet_content

    sheet = sheet_content(told)
    return "sheet", sheet, sheet.title
