"""`bobplan undo`: a wrong entry is taken back, or put back again."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.console import GOOD, leave, say, say_json
from planner.cli.options import JobOption, JsonOption, confirm_or_leave, open_job
from planner.errors import InputError, OpenQuestionError

if TYPE_CHECKING:
    from planner.jobfile.job import Job
    from planner.jobfile.undo import What


def undo(
    spin: Annotated[int | None, typer.Option(help="This spin, by its number in `bobplan history`.")] = None,
    cut: Annotated[
        int | None, typer.Option(help="This cut made, by its number in `bobplan history`.")
    ] = None,
    note: Annotated[str, typer.Option(help="Why, kept with the trace.")] = "",
    redo: Annotated[bool, typer.Option("--redo", help="Put back what was taken back last.")] = False,
    yes: Annotated[bool, typer.Option("--yes", "-y", help="Don't ask before a spin is taken back.")] = False,
    job: JobOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take back the last spin or cut entered, or the one named; it stays in the file under [[undone]].

    A cut taken back brings its plan back. `--redo` puts back what was taken back last, as long as nothing was entered since.
    """
    from planner.jobfile.loaded import load_known
    from planner.jobfile.undo import newest_entry, newest_undone, place_of, put_back, take_back
    from planner.present.pages.history import undone_words

    if spin is not None and cut is not None:
        raise InputError("`--spin` and `--cut` are for one entry at a time", hint="take them back one by one")
    if redo and (spin is not None or cut is not None or note):
        raise InputError(
            "`--redo` puts back what was taken back last", hint="leave `--spin`, `--cut` and `--note` away"
        )
    opened = open_job(job, writing=True)
    path = opened.files.job
    if redo:
        entry = newest_undone(opened)
        put_back(path)
        after = load_known(path)
        _show(after, "Put back", undone_words(after, entry), entry.what, entry.number, "", as_json=as_json)
        leave(GOOD)
    what: What
    if spin is not None:
        what, chosen = "spin", spin
    elif cut is not None:
        what, chosen = "cut", cut
    else:
        what, chosen = newest_entry(opened)
    place = place_of(opened, what, chosen)
    if what == "spin" and spin is None and not yes:
        _ask(opened, place, as_json=as_json)
    take_back(path, what, chosen, note=note)
    after = load_known(path)
    _show(after, "Taken back", undone_words(after, after.undone[-1]), what, chosen, note, as_json=as_json)
    leave(GOOD)


def _ask(job: Job, number: int, *, as_json: bool) -> None:
    """Ask before a spin goes that was not named: it can't be read off the machine again once metal is off."""
    from planner.present.words import readings_words

    spin = job.spins[number - 1]
    words = f"spin {number}, {readings_words(job, spin.shown)}"
    cuts = [made.number for made in job.cuts_made if made.after_spin == number]
    if cuts:
        words += f"; cuts made after it (cut {', '.join(map(str, cuts))}) would come after the one before"
    if sys.stdin.isatty() and not as_json:
        confirm_or_leave(f"Take back {words}?", refused="Nothing was taken back.")
        return
    raise OpenQuestionError(
        f"the newest entry is {words}: is that to be taken back?",
        hint=f"nothing was changed; `bobplan undo --yes`, or `bobplan undo --spin {number}`",
    )


def _show(job: Job, done: str, words: str, what: str, number: int, note: str, *, as_json: bool) -> None:
    from planner.steps.job_status import standing_of

    standing = standing_of(job)
    if as_json:
        say_json(
            {
                "what": what,
                "number": number,
                "note": note,
                "done": done.lower(),
                "words": words,
                "stands": standing.stands,
                "next": standing.next_step,
            }
        )
        return
    say(f"{done}: {words}.")
    if done == "Taken back":
        say(
            f"It stays in {job.files.job.name} under [[undone]]; nothing is calculated from it. "
            "`bobplan undo --redo` puts it back."
        )
    say(f"{standing.stands}\nNext: {standing.next_step}")
