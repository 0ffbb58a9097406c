"""Options and readers that several commands share."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planner.errors import InputError

if TYPE_CHECKING:
    from planner.jobfile.job import Job


def finite(context: typer.Context, option: typer.CallbackParam, value: float | None) -> float | None:
    """Refuse what is no number that can be worked with: ``inf`` and ``nan`` read as numbers.

    Raises
    ------
    InputError
        If the value is one of those.
    """
    import math

    if value is not None and not math.isfinite(value):
        raise InputError(
            f"--{str(option.name).replace('_', '-')}: given `{value}`, a finite number is needed"
        )
    return value


DRAWING_ENDINGS = (".png", ".svg", ".pdf")


def plot_file(path: Path | None) -> Path | None:
    """Refuse a drawing that can't be written before anything is entered or worked out.

    Raises
    ------
    InputError
        See `planner.files.check_output`.
    """
    from planner.files import check_output

    if path is not None:
        check_output(path, endings=DRAWING_ENDINGS, hint=f"write for example `{path.stem or 'plan'}.pdf`")
    return path


JobArgument = Annotated[
    str | None,
    typer.Argument(
        metavar="[JOB]",
        help="The job file, or its folder. Left out: the only job file here, else the job used last.",
    ),
]
JobsArgument = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="JOB",
        help="The job file, or its folder; several, or a folder of jobs, for a table of all. Left out: the only job file "
        "here, else the job used last.",
    ),
]
JobOption = Annotated[
    str | None, typer.Option("--job", help="The job file, or its folder. Left out: the only job file here.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="One JSON object on standard output, nothing else.")]
SecondsOption = Annotated[
    float,
    typer.Option(
        "--seconds",
        help="Outer stop of the search; the answer says when it struck.",
        min=0.1,
        callback=finite,
    ),
]
PlotOption = Annotated[
    Path | None,
    typer.Option("--plot", help="Draw the plan into this file: .png, .svg or .pdf.", callback=plot_file),
]
AnywayOption = Annotated[
    bool,
    typer.Option("--anyway", help="Show a cut list even where what was found speaks against the settings."),
]
WorkOption = Annotated[bool, typer.Option("--show-work", help="Print each formula with the numbers put in.")]
DensityOption = Annotated[str | None, typer.Option("--density", help="Density of the metal [g/cm3].")]
MaterialOption = Annotated[
    str | None, typer.Option("--material", help="Or its material: 'forged steel', 'nodular iron'.")
]
PointAngleOption = Annotated[
    str, typer.Option("--point-angle", help="The drill's point angle [deg]; 180 is a flat bottom.")
]
DepthToOption = Annotated[str, typer.Option("--depth-to", help="What the depth counts to: shoulder or tip.")]
RimRadiusOption = Annotated[
    str | None, typer.Option("--outer-radius", help="Radius of the counterweight's rim.")
]
ThicknessOption = Annotated[str | None, typer.Option("--thickness", help="Thickness of the counterweight.")]

READING_PROMPTS = ("left amount", "left angle", "right amount", "right angle")


def open_job(argument: str | None, *, writing: bool) -> Job:
    """Find and read a job; say on standard error which one when it was not named.

    Raises
    ------
    InputError
        If there is none, or it has faults.
    """
    from planner.cli.console import note
    from planner.jobfile.find import find_job, remember_job
    from planner.jobfile.loaded import load_known

    found = find_job(argument, Path.cwd(), writing=writing)
    if argument is None:
        note(f"job: {found}")
    job = load_known(found)
    remember_job(found)
    return job


def confirm_or_leave(question: str, *, refused: str = "Nothing was entered.") -> None:
    """Ask somebody at a terminal; a no is told as ``refused`` and ends with 1."""
    from planner.cli.console import ANSWER_IS_NO, leave, say

    if not typer.confirm(question, default=False):
        say(refused)
        leave(ANSWER_IS_NO)


def settled(job: Job, *, ask: bool, right: bool = False) -> Job:
    """Return the job with what its files are questioned about answered, once: a yes is remembered under ``[plausible]``.

    Parameters
    ----------
    job : Job
        The job with its questions.
    ask : bool
        Somebody sits at a terminal.  A no ends with 1, nothing is changed.
    right : bool
        It was said on the command line that all of it is right.
    """
    from planner.cli.console import note, say
    from planner.jobfile.loaded import load_known
    from planner.jobfile.plausible import right_lines
    from planner.jobfile.write import remember_right

    lines = right_lines(job.questions)
    if not lines or not (ask or right):
        return job
    if not right:
        for question in job.questions:
            say(f"QUESTION: {question}")
        refused = "Mend the file, then type it again; nothing was entered."
        confirm_or_leave("Is all of that right? A yes is remembered", refused=refused)
    path = remember_right(job, lines)
    note(f"remembered under [plausible] of {path.name}: {', '.join(lines)}")
    return load_known(job.files.job)


def print_pictures(template: str, content: Any, path: Path, job: Job | None) -> None:
    """Write drawings on pages that a printer has, instead of one picture of any size; ``job`` says paper and date."""
    from planner.cli.console import note
    from planner.present.to_paper import paper_of, save_paper

    paper = paper_of("Letter" if job is not None and job.units.in_inches else "A4")
    date = None if job is None else job.details.date
    for text in save_paper(template, content, path, paper=paper, title=content.title, date=date).notes:
        note(text)


def typed_for(reader: Callable[..., Any], context: typer.Context) -> dict[str, Any]:
    """Return what was typed for a function whose keywords are called like options; what was left out is left out."""
    import inspect

    keywords = [
        each for each in inspect.signature(reader).parameters.values() if each.kind is each.KEYWORD_ONLY
    ]
    said = {each.name: context.params[each.name] for each in keywords}
    return {name: value for name, value in said.items() if value is not None}


def names_job(given: Sequence[str], *, numbers: int) -> bool:
    """Return whether the first of some arguments names a job: where as many numbers as are wanted stand, none does.

    A folder may be called ``900``: four numbers are a reading all the same.
    """
    if not given:
        return False
    if given[0].endswith(".toml"):
        return True
    with contextlib.suppress(ValueError):
        float(given[0])
        if len(given) == numbers:
            return False
    return os.path.exists(given[0])


def number(text: str, *, what: str) -> float:
    """Return a finite number typed on the command line; see `planner.quantity.finite_number`."""
    from planner.quantity import finite_number

    return finite_number(text, what=what)
