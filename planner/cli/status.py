"""Bare `bobplan`: where the job stands and what comes next."""

from __future__ import annotations

from pathlib import Path

from planner.cli.console import note, say, say_json
from planner.errors import FileFaultsError, InputError


def show_status(*, as_json: bool) -> None:
    """Say where the job of this folder (or the one used last) stands and what comes next."""
    from planner.job.finding import find_job
    from planner.job.reading import load_job
    from planner.workflow.standing import standing_of

    try:
        path = find_job(None, Path.cwd(), writing=False)
    except InputError as error:
        if as_json:
            say_json({"job": None, "stands": error.message, "next": error.hint})
        else:
            say(f"{error.message}.\n{error.hint or ''}\n\n`bobplan --help` lists the commands.")
        return
    note(f"job: {path}")
    try:
        job = load_job(path)
    except FileFaultsError as error:
        if not as_json:
            note("next: mend the file, then call again")
        raise error
    standing = standing_of(job)
    if as_json:
        say_json(
            {
                "job": str(path),
                "stands": standing.stands,
                "next": standing.next_step,
                "questions": list(job.questions),
            }
        )
    else:
        for question in job.questions:
            say(f"QUESTION: {question}")
        say(f"{job.details.title or path.name}\n{standing.stands}\nNext: {standing.next_step}")
