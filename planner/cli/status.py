"""Bare `bobplan`: where the job stands and what comes next."""

from __future__ import annotations

from pathlib import Path

from planner.cli.console import ANSWER_IS_NO, leave, note, say, say_json
from planner.errors import FileFaultsError, InputError


def show_status(*, as_json: bool) -> None:
    """Say where the job of this folder (or the one used last) stands and what comes next."""
    from planner.jobfile.find import find_job
    from planner.jobfile.read import load_job
    from planner.present.pages.prove import unproved_words
    from planner.present.pages.withheld import withheld_words
    from planner.present.words import CAUTIONS
    from planner.steps.job_status import Standing, standing_of
    from planner.steps.prove import proved_settings
    from planner.steps.reading_slips import standing_questions
    from planner.steps.withheld import withheld_of

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
    withheld = withheld_of(job)
    if withheld is not None:
        stands, next_step = withheld_words(withheld)
        standing = Standing(stands=stands, next_step=next_step)
    unproved = unproved_words(job)
    asked = () if withheld is not None else standing_questions(job)
    if as_json:
        say_json(
            {
                "job": str(path),
                "stands": standing.stands,
                "next": standing.next_step,
                "questions": [*job.questions, *asked],
                "settings_proved": proved_settings(job),
                "withheld": withheld is not None,
            }
        )
    else:
        for question in (*job.questions, *asked):
            say(f"QUESTION: {question}")
        if unproved is not None:
            say(unproved)
        say(f"{job.details.title or path.name}\n{standing.stands}\nNext: {standing.next_step}")
        if "spin LEFT ANGLE" in standing.next_step:
            say(f"CAUTION: {CAUTIONS[0]}")
    if withheld is not None or asked:
        leave(ANSWER_IS_NO)
