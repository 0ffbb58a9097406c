"""`bobplan bobs`: the bob mass per throw."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.console import ANSWER_IS_NO, leave, say_json, show
from planner.cli.options import JobArgument, JsonOption, open_job
from planner.errors import InputError

if TYPE_CHECKING:
    from planner.jobfile.job import Job


def bobs(
    job: JobArgument = None,
    what_if: Annotated[
        list[str] | None,
        typer.Option(
            help="Grams more or less on every one of a part, for example `piston=-12g`; may be repeated."
        ),
    ] = None,
    percent_over: Annotated[
        float | None, typer.Option(help="Show both meanings of so many percent over.")
    ] = None,
    make_up: Annotated[
        bool, typer.Option("--make-up", help="Which pieces of [bob_set] go on which throw.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Show the bob mass per throw, line by line; what the mounted bobs are off, and what other parts would change."""
    from planner.present.document import document
    from planner.present.pages.bobs import bobs_document, bobs_json, what_if_block, what_if_json
    from planner.steps.bobs import bobs_of
    from planner.steps.bobs import what_if as work_out

    opened = open_job(job, writing=False)
    answer = bobs_of(opened, percent_over=percent_over)
    changed = work_out(opened, _changes(opened, what_if)) if what_if else None
    made = None
    if make_up:
        from planner.present.pages.bob_makeup import makeup_block, makeup_json
        from planner.steps.bob_makeup import makeup_of

        made = makeup_of(opened)
    if as_json:
        data = bobs_json(answer)
        if made is not None:
            data["make_up"] = makeup_json(made)
        if changed is not None:
            data["what_if"] = what_if_json(opened, changed)
        say_json(data)
    else:
        show(
            document(
                bobs_document(answer).blocks,
                None if made is None else makeup_block(opened, made),
                None if changed is None else what_if_block(opened, changed),
            )
        )
    if (made is not None and made.notes) or (
        changed is not None and changed.verdict not in (None, "in tolerance")
    ):
        leave(ANSWER_IS_NO)


def _changes(job: Job, given: list[str]) -> dict[str, float]:
    changes: dict[str, float] = {}
    for text in given:
        name, equals, mass = text.partition("=")
        if not equals:
            raise InputError(
                f"--what-if: given `{text}`", hint="a part and grams are needed: `--what-if piston=-12g`"
            )
        changes[name.strip()] = changes.get(name.strip(), 0.0) + job.units.parse(
            mass, "mass", name=f"--what-if {name.strip()}"
        )
    return changes
