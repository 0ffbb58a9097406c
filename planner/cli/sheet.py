"""`bobplan sheet`: the shop sheet, or the customer's record, as PDF, HTML, PNG or SVG."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planner.cli.console import ANSWER_IS_NO, GOOD, leave, note, say, say_json
from planner.cli.options import AnywayOption, JobArgument, JsonOption, SecondsOption, open_job
from planner.cli.plan import exit_code, progress_line, stop_if_withheld, store
from planner.errors import InputError

if TYPE_CHECKING:
    import datetime

    from planner.cli.console import ProgressLine
    from planner.jobfile.job import Job
    from planner.present.pages.sheet import SheetContent
    from planner.present.pages.strip import StripContent
    from planner.present.to_paper import Paper
    from planner.steps.plan_answer import PlanAnswer

PaperOption = Annotated[
    str | None, typer.Option("--paper", help="A4 or Letter. Left out: Letter for inches, else A4.")
]
OpenOption = Annotated[bool, typer.Option("--open", help="Open the file when it is written.")]


def sheet(
    job: JobArgument = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            help="Where to: .pdf, .html, .png or .svg (pages one below the other). Left out: sheet.pdf or record.pdf "
            "beside the job.",
        ),
    ] = None,
    paper: PaperOption = None,
    customer: Annotated[
        bool,
        typer.Option("--customer", help="The one-page record for the customer instead of the shop sheet."),
    ] = False,
    strip: Annotated[
        bool,
        typer.Option(
            "--strip",
            help="Strips at 1:1 instead, to wrap round the rims: holes, old holes, edges, a bar to check.",
        ),
    ] = False,
    open_it: OpenOption = False,
    as_json: JsonOption = False,
    seconds: SecondsOption = 10.0,
    no_store: Annotated[
        bool, typer.Option("--no-store", help="Don't write the plan into the job file.")
    ] = False,
    anyway: AnywayOption = False,
) -> None:
    """Write the shop sheet: the cut list in big type, drawings, vectors, checklist, bobs, parts, spins.

    The plan on it is stored in the job file, as `plan` does. --customer writes the record of what was done and reached.
    """
    from planner.present.to_paper import PAPER_ENDINGS, SHEET_ENDINGS, check_sheet_file

    opened = open_job(job, writing=output is None)
    kind = "record" if customer else "strip" if strip else "sheet"
    target = output or opened.files.job.parent / f"{kind}.pdf"
    check_sheet_file(target, endings=PAPER_ENDINGS if strip else SHEET_ENDINGS)
    if strip and customer:
        raise InputError("--strip and --customer ask for two papers", hint="write one after the other")
    if not customer and not anyway:
        stop_if_withheld(opened, as_json=as_json)
    size = paper_for(paper, inches=opened.units.in_inches)
    with progress_line() as progress:
        if customer:
            pages, verdict, code = _write_record(opened, target, size, progress)
            plan = None
        else:
            plan, pages, verdict, code = _write_sheet(
                opened, target, size, progress, seconds=seconds, stores=not no_store, strip=strip
            )
    if as_json:
        data: dict[str, Any] = {"file": str(target), "pages": pages, "kind": kind, "verdict": verdict}
        if plan is not None:
            from planner.present.pages.plan_json import plan_json

            data["plan"] = plan_json(plan)
        say_json(data)
    else:
        what = {"record": "record", "strip": "rim strip", "sheet": "shop sheet"}[kind]
        count = "" if pages is None else f", {pages} page{'' if pages == 1 else 's'}"
        say(f"{what} written: {target}{count}; {verdict}")
    if open_it:
        open_file(target)
    leave(code)


def paper_for(name: str | None, *, inches: bool) -> Paper:
    """Return the paper that was asked for; else the one that goes with the units."""
    from planner.present.to_paper import paper_of

    return paper_of(name if name is not None else "Letter" if inches else "A4")


def open_file(target: Path) -> None:
    """Open a file with the program that the system has for it; when there is none, say so."""
    path = target.resolve()
    if sys.platform == "win32":
        import os

        os.startfile(path)
        return
    import webbrowser

    if not webbrowser.open(path.as_uri()):
        note(f"no program was found to open `{path}`; open it yourself")


def _write_sheet(
    job: Job, target: Path, paper: Paper, progress: ProgressLine, *, seconds: float, stores: bool, strip: bool
) -> tuple[PlanAnswer, int | None, str, int]:
    from planner.steps.removal_ratio import with_plan_factor
    from planner.steps.sheet import sheet_of

    told = sheet_of(with_plan_factor(job), seconds=seconds, progress=progress)
    if stores:
        # before the file is written: a cut list that was overtaken meanwhile must not lie at the machine
        store(told.answer)
    content: SheetContent | StripContent
    if strip:
        from planner.present.pages.strip import strip_content

        template, content = "strip", strip_content(told.answer)
    else:
        from planner.present.pages.sheet import sheet_content

        template, content = "sheet", sheet_content(told)
    pages = write_pages(
        template, content, target, paper, progress, title=content.title, date=job.details.date
    )
    when = "with this plan" if told.answer.steps else "as it stands"
    return told.answer, pages, f"{when} {told.answer.verdict}", exit_code(told.answer)


def _write_record(
    job: Job, target: Path, paper: Paper, progress: ProgressLine
) -> tuple[int | None, str, int]:
    from planner.steps.dialled import ensure_told
    from planner.steps.sheet import record_of

    ensure_told(job)
    record = record_of(job)
    from planner.present.pages.record import record_content

    content = record_content(record)
    title = f"{content.title}: {job.details.title}" if job.details.title else content.title
    pages = write_pages("record", content, target, paper, progress, title=title, date=job.details.date)
    verdict = record.check.verdict + ("" if record.check.measured else " (foretold)")
    return pages, verdict, GOOD if record.check.verdict == "in tolerance" else ANSWER_IS_NO


def write_pages(
    template: str,
    content: object,
    target: Path,
    paper: Paper,
    progress: ProgressLine,
    *,
    title: str,
    date: datetime.date | None,
) -> int | None:
    """Write a page by the file's ending; return how many pages there are, None for HTML."""
    if target.suffix.lower() == ".html":
        from planner.present.to_html import html_page, save_html

        save_html(html_page(template, content, title=title, progress=progress), target)
        return None
    from planner.present.to_paper import save_paper

    printed = save_paper(template, content, target, paper=paper, title=title, date=date, progress=progress)
    for text in printed.notes:
        note(text)
    return printed.pages
