"""`bobplan quote`: before any spin, is heavy metal likely, how much, at what price."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.console import ANSWER_IS_NO, GOOD, leave, say, say_json, show
from planner.cli.options import JobArgument, JsonOption, SecondsOption, finite, number, open_job
from planner.cli.sheet import PaperOption
from planner.errors import InputError

if TYPE_CHECKING:
    from planner.jobfile.job import Job


def quote(
    job: JobArgument = None,
    bob: Annotated[
        str | None, typer.Option(help="The new bob on every throw; what the job wants if left out.")
    ] = None,
    built_for: Annotated[
        str | None,
        typer.Option(help="The bob the crankshaft was balanced for; left out: its last spin, else its file."),
    ] = None,
    within: Annotated[
        str | None,
        typer.Option(help="By how much bob the crankshaft may be off that; 2 percent of it if left out."),
    ] = None,
    slug_price: Annotated[
        list[str] | None,
        typer.Option(
            metavar="SIZE=PRICE", help='Price of one slug, for example "3/4 in=40"; may be repeated.'
        ),
    ] = None,
    minutes_per_cut: Annotated[float | None, typer.Option(min=0.0, help="Minutes for a cut.")] = None,
    labour_per_hour: Annotated[
        float | None, typer.Option(min=0.0, callback=finite, help="Price of an hour.")
    ] = None,
    decide: Annotated[
        bool,
        typer.Option(
            "--decide",
            help="Lay all ways side by side: price all in, chance, and in how many cases of what is not known it does it.",
        ),
    ] = False,
    cases: Annotated[
        int, typer.Option(min=1, max=200, help="How many cases of what is not known are looked at.")
    ] = 8,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="The decision sheet as .pdf, .html, .png or .svg.")
    ] = None,
    paper: PaperOption = None,
    seconds: SecondsOption = 60.0,
    as_json: JsonOption = False,
) -> None:
    """Say before any spin whether heavy metal is likely, how much, at what price; or what lighter parts would save."""
    from planner.cli.plan import progress_line
    from planner.cli.sheet import paper_for, write_pages
    from planner.present.pages.decision import decision_content, decision_document, decision_json
    from planner.present.pages.quote import quote_document, quote_json
    from planner.present.to_paper import check_sheet_file
    from planner.steps.decision import decision_of
    from planner.steps.dialled import ensure_told
    from planner.steps.quote import priced, quote_of

    wants_decision = decide or output is not None
    if output is not None:
        check_sheet_file(output)
    opened = open_job(job, writing=False)
    # what is drilled already counts by its place
    ensure_told(opened)
    units = opened.units
    shop = priced(
        opened.shop,
        slug_price=_prices(slug_price or [], opened),
        minutes_per_cut=minutes_per_cut,
        labour_per_hour=labour_per_hour,
    )
    opened = dataclasses.replace(opened, shop=shop)
    with progress_line() as progress:
        answer = quote_of(
            opened,
            bob_g=None if bob is None else _bob(opened, bob, "--bob"),
            built_for_g=None if built_for is None else _bob(opened, built_for, "--built-for"),
            within_g=units.given(within, "mass", least=0.0, name="--within"),
            seconds=seconds,
            progress=progress,
        )
        decision = (
            decision_of(answer, draws=cases, seconds=max(seconds, 600.0), progress=progress)
            if wants_decision
            else None
        )
        if decision is not None and output is not None:
            content = decision_content(decision)
            title = opened.details.title or content.title
            size = paper_for(paper, inches=units.in_inches)
            write_pages("decision", content, output, size, progress, title=title, date=opened.details.date)
    if as_json:
        extra = {} if decision is None else {"decision": decision_json(decision)}
        say_json({**quote_json(answer), **extra})
    elif decision is None:
        show(quote_document(answer))
    else:
        show(decision_document(decision))
    if output is not None and not as_json:
        say(f"decision sheet written: {output}")
    leave(GOOD if answer.possible else ANSWER_IS_NO)


def _bob(job: Job, text: str, name: str) -> float:
    from planner.jobfile.plausible import refuse_beyond_reason

    mass = job.units.parse(text, "mass", above=0.0, name=name)
    refuse_beyond_reason("bob", mass, what=name, units=job.units, widened=job.plausible)
    return mass


def _prices(texts: list[str], job: Job) -> dict[float, float]:
    prices = {}
    for text in texts:
        size, equals, price = text.partition("=")
        if not equals:
            raise InputError(f"--slug-price `{text}` can't be read", hint='say it like "3/4 in=40"')
        value = number(price, what="--slug-price")
        if value < 0.0:
            raise InputError(f"--slug-price `{text}`: a price is 0 or more", hint='say it like "3/4 in=40"')
        prices[job.units.parse(size, "length", above=0.0, name="--slug-price")] = value
    return prices
