"""`bobplan done`: a cut is made."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from planner.cli.console import leave, say, say_json
from planner.cli.options import JobOption, JsonOption, PlotOption, SecondsOption, number, open_job
from planner.errors import InputError


def done(
    steps: Annotated[
        list[str], typer.Argument(metavar="NUMBER...", help="The step's number (several: cut as planned).")
    ],
    job: JobOption = None,
    depth: Annotated[
        str | None,
        typer.Option("--depth", help="The number on the stop as it turned out. Left out: as planned."),
    ] = None,
    angle: Annotated[
        float | None, typer.Option("--angle", help="The angle as dialled. Left out: as planned.")
    ] = None,
    plot: PlotOption = None,
    as_json: JsonOption = False,
    seconds: SecondsOption = 10.0,
) -> None:
    """Enter a cut as made; the rest is planned again at once, with the new reading to expect."""
    from planner.cli import plan_command
    from planner.job.reading import load_job
    from planner.job.writing import add_made_cut
    from planner.workflow.making import made_cut, overshoot_warnings, wall_warnings

    given = list(steps)
    if job is None and (given[0].endswith(".toml") or Path(given[0]).is_file()):
        job = given.pop(0)
    numbers = [_step_number(text) for text in given]
    if not numbers:
        raise InputError("which step was cut?", hint="`bobplan done 1`")
    twice = next((each for each in numbers if numbers.count(each) > 1), None)
    if twice is not None:
        raise InputError(f"step {twice} is named twice", hint="a step is cut once")
    if len(numbers) > 1 and (depth is not None or angle is not None):
        raise InputError(
            "`--depth` and `--angle` are for one step at a time", hint="enter the steps one by one"
        )
    opened = open_job(job, writing=True)
    stop_mm = None if depth is None else opened.units.parse(depth, "length", name="--depth", above=0.0)
    made = [made_cut(opened, each, stop_mm=stop_mm, dial_deg=angle) for each in numbers]
    for entry in made:
        add_made_cut(opened.files.job, entry)
    after = load_job(opened.files.job)
    answer = plan_command.planned(after, seconds=seconds)
    plan_command.store(answer)
    warnings = (*wall_warnings(opened, made), *overshoot_warnings(after, answer))
    if as_json:
        from planner.report.plan_json import plan_json

        data = plan_json(answer)
        data["warnings"] = [*warnings, *data["warnings"]]
        say_json(data)
        if plot is not None:
            plan_command.draw(answer, plot)
    else:
        for warning in warnings:
            say(warning)
        if warnings:
            say()
        plan_command.show_plan(answer, as_json=False, plot=plot)
    leave(plan_command.exit_code(answer))


def _step_number(text: str) -> int:
    value = number(text, what="the step's number")
    if value != int(value) or value < 1:
        raise InputError(
            f"given `{text}`, a step's number is 1, 2, 3 ...", hint="`bobplan plan` shows the numbers"
        )
    return int(value)
