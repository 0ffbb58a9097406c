"""`bobplan trial`: raw vibration readings with trial masses, and later readings without."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.console import note, tell
from planner.cli.options import JsonOption, WorkOption, names_job, number, open_job
from planner.errors import InputError
from planner.frames import SIDES

if TYPE_CHECKING:
    from planner.jobfile.job import TrialSide


def trial(
    given: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[JOB] [LEFT PHASE RIGHT PHASE]",
            help="The job file or its folder (left out: the only one here); with --reading also the raw reading.",
        ),
    ] = None,
    reading: Annotated[
        bool,
        typer.Option(
            "--reading",
            help="A raw reading without trial masses follows: left amount, phase, right amount, phase.",
        ),
    ] = False,
    as_json: JsonOption = False,
    show_work: WorkOption = False,
    no_store: Annotated[
        bool, typer.Option("--no-store", help="Don't write the coefficients into the job file.")
    ] = False,
) -> None:
    """Turn raw vibration readings into unbalance: [[trials]] of the job file, or --reading by their coefficients."""
    from planner.present.pages import trial as trial_text
    from planner.steps.trial import raw_reading, solve_job_trials

    words = list(given or [])
    name = words.pop(0) if words and _names_a_job(words) else None
    if words and not reading:
        raise InputError(
            f"given `{' '.join(words)}`, a job file or its folder is wanted",
            hint="a raw reading needs `--reading`: `bobplan trial JOB --reading 4.1 63 2.8 206`",
        )
    job = open_job(name, writing=not no_store and not reading)
    if reading:
        answer = raw_reading(job, _sides(words))
        tell(answer, trial_text.reading_json, trial_text.reading_document, as_json=as_json)
        return
    solved = solve_job_trials(job)
    if not no_store:
        from planner.jobfile.write import store_influence

        try:
            if store_influence(job.files.job, solved.influence):
                note(f"[influence] is written into {job.files.job.name}")
        except OSError as error:
            note(f"the coefficients could not be stored in `{job.files.job}`: {error.strerror or error}")
    tell(
        solved,
        trial_text.trial_json,
        trial_text.trial_document,
        working=trial_text.trial_working if show_work else None,
        as_json=as_json,
    )


def _names_a_job(words: Sequence[str]) -> bool:
    try:
        float(words[0])
    except ValueError:
        return True
    # a folder named `4` is a job, the number 4 of a reading is none: those come in pairs
    return len(words) % 2 == 1 and names_job(words, numbers=0)


def _sides(words: Sequence[str]) -> tuple[TrialSide, ...]:
    from planner.jobfile.job import TrialSide

    if len(words) not in (2, 4):
        raise InputError(
            f"a raw reading needs four numbers (two for a single plane), given {len(words)}",
            hint="left amount, left phase, right amount, right phase: `bobplan trial JOB --reading 4.1 63 2.8 206`",
        )
    sides = []
    for index in range(0, len(words), 2):
        name = SIDES[index // 2]
        amount = number(words[index], what=f"{name} amount")
        phase = number(words[index + 1], what=f"{name} phase")
        if amount < 0:
            raise InputError(
                f"{name} amount: given `{amount:g}`, 0 or more is allowed",
                hint="a reading turned round is the same amount with 180 degrees more phase",
            )
        if not -360.0 <= phase <= 360.0:
            raise InputError(
                f"{name} phase: given `{phase:g}`, allowed -360 to 360 degrees",
                hint="the order is left amount, left phase, right amount, right phase",
            )
        sides.append(TrialSide(amount=amount, phase_deg=phase))
    return tuple(sides)
