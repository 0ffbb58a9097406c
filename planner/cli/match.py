"""`bobplan match`: what to grind off which part; the pairing with the least grinding."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.console import ANSWER_IS_NO, leave, note, tell
from planner.cli.options import JobArgument, JsonOption, WorkOption, open_job
from planner.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Collection

    from planner.steps.match import MatchAnswer


def match(
    job: JobArgument = None,
    pair: Annotated[
        bool,
        typer.Option("--pair", help="Find which pin and rod go with which piston for the least grinding."),
    ] = False,
    from_stock: Annotated[
        Path | None,
        typer.Option(
            help="Choose from this CSV of parts: part, piston_g, pin_g, rod_small_end_g, rod_big_end_g."
        ),
    ] = None,
    csv_in: Annotated[
        Path | None,
        typer.Option("--csv", help="Weights from this CSV, one row per cylinder: cylinder, piston_g, .."),
    ] = None,
    csv_out: Annotated[Path | None, typer.Option(help="Write one row per cylinder into this CSV.")] = None,
    tolerance: Annotated[str | None, typer.Option(help="How equal is equal; else [match] tolerance.")] = None,
    seconds: Annotated[float, typer.Option(help="Time for the search.", min=0.1)] = 5.0,
    store: Annotated[
        bool,
        typer.Option(
            "--store", help="Write the weights after grinding into [parts] of the job file, for the bobs."
        ),
    ] = False,
    as_json: JsonOption = False,
    show_work: WorkOption = False,
) -> None:
    """Show what to grind off which part so that all of a kind match the lightest, or pair them for less grinding."""
    from planner.jobfile.write import PartEntries, enter_parts
    from planner.present.pages.match import csv_rows, match_document, match_json, match_working
    from planner.steps.match import match_job, matched_masses_g, unlisted_parts
    from planner.steps.parts_csv import read_stock, read_weights, write_csv

    if pair and from_stock is not None:
        raise InputError(
            "`--pair` and `--from-stock` are two ways",
            hint="a choice from stock is paired already: leave --pair out",
        )
    opened = open_job(job, writing=store)
    known = [each.name for each in opened.parts.parts] if opened.parts else []
    answer = match_job(
        opened,
        weights_g=None if csv_in is None else read_weights(csv_in, units=opened.units, known=known),
        stock=None if from_stock is None else read_stock(from_stock, units=opened.units),
        pair=pair,
        tolerance_g=opened.units.given(tolerance, "mass", name="--tolerance", least=0.0),
        seconds=seconds,
    )
    masses = matched_masses_g(answer) if store else {}
    if store and not masses:
        raise InputError(
            "there is nothing to store: every part has one weight for all", hint="weigh each one, then match"
        )
    if csv_out is not None:
        _not_an_input(csv_out, (csv_in, from_stock))
        write_csv(csv_out, csv_rows(answer))
        note(f"written: {csv_out}")
    entries = PartEntries(masses_g=masses, others=unlisted_parts(answer))
    stored = store and enter_parts(opened.files.job, lambda job: entries)
    tell(
        answer,
        lambda answer: match_json(answer) | ({"stored": stored} if store else {}),
        match_document,
        working=match_working if show_work else None,
        as_json=as_json,
    )
    if store:
        # below the table: it is about what stands there
        for line in _receipt(answer, masses, stored=stored):
            note(line)
    if not answer.good:
        leave(ANSWER_IS_NO)


def _receipt(answer: MatchAnswer, masses: Collection[str], *, stored: bool) -> list[str]:
    """Return what was written into the job file."""
    name = answer.job.files.job.name
    if not stored:
        return [f"{name} has these weights already"]
    return [
        f"[parts] of {name} has the weights after grinding now: {', '.join(masses)}; weigh again after grinding",
        "`bobplan bobs` shows the bobs that they want",
    ]


def _not_an_input(target: Path, inputs: tuple[Path | None, ...]) -> None:
    for each in inputs:
        if each is not None and target.exists() and each.exists() and target.samefile(each):
            raise InputError(
                f"`{target}` is what was read, it is not written over", hint="give the answer another name"
            )
