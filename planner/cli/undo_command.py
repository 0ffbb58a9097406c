"""`bobplan undo`: a wrong entry is taken back."""

from __future__ import annotations

from typing import Annotated

import typer

from planner.cli.console import GOOD, leave, say, say_json
from planner.cli.options import JobOption, JsonOption, open_job
from planner.errors import InputError


def undo(
    spin: Annotated[
        int | None, typer.Option("--spin", help="This spin, by its number in `bobplan history`.")
    ] = None,
    cut: Annotated[
        int | None, typer.Option("--cut", help="This cut made, by its number in `bobplan history`.")
    ] = None,
    note: Annotated[str, typer.Option("--note", help="Why, kept with the trace.")] = "",
    job: JobOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take back the last spin or cut entered, or the one named; it stays in the file under [[undone]]."""
    from planner.job.reading import load_job
    from planner.job.undoing import newest_entry, take_back
    from planner.report.history_text import undone_words
    from planner.workflow.standing import standing_of

    if spin is not None and cut is not None:
        raise InputError("`--spin` and `--cut` are for one entry at a time", hint="take them back one by one")
    opened = open_job(job, writing=True)
    if spin is not None:
        what, number = "spin", spin
    elif cut is not None:
        what, number = "cut", cut
    else:
        what, number = newest_entry(opened)
    path = opened.files.job
    take_back(path, "spin" if what == "spin" else "cut", number, note=note)
    after = load_job(path)
    standing = standing_of(after)
    if as_json:
        taken = after.undone[-1]
        say_json(
            {
                "what": what,
                "number": number,
                "note": note,
                "words": undone_words(taken),
                "stands": standing.stands,
                "next": standing.next_step,
            }
        )
    else:
        say(f"Taken back: {undone_words(after.undone[-1])}.")
        say(f"It stays in {path.name} under [[undone]]; nothing is calculated from it.")
        say(f"{standing.stands}\nNext: {standing.next_step}")
    leave(GOOD)
