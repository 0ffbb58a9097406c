"""`bobplan plan`: the main job."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.console import ANSWER_IS_NO, GOOD, ProgressLine, leave, note, say, say_json
from planner.cli.options import JobArgument, JsonOption, PlotOption, SecondsOption, WorkOption, open_job

if TYPE_CHECKING:
    from planner.workflow.answer import PlanAnswer


def plan(
    job: JobArgument = None,
    plot: PlotOption = None,
    as_json: JsonOption = False,
    show_work: WorkOption = False,
    seconds: SecondsOption = 10.0,
    no_store: Annotated[
        bool, typer.Option("--no-store", help="Don't write the plan into the job file.")
    ] = False,
) -> None:
    """Plan the correction for the newest spin: which counterweight, angle, drill and depth."""
    answer = planned(open_job(job, writing=False), seconds=seconds)
    if not no_store:
        store(answer)
    show_plan(answer, as_json=as_json, show_work=show_work, plot=plot)
    leave(exit_code(answer))


def planned(job: object, *, seconds: float) -> PlanAnswer:
    """Return the plan of a job, with a progress line when it takes longer than a second."""
    from planner.job.model import Job
    from planner.workflow.planning import plan_job

    assert isinstance(job, Job)
    progress = ProgressLine()
    try:
        return plan_job(job, seconds=seconds, progress=progress)
    finally:
        progress.clear()


def store(answer: PlanAnswer) -> None:
    """Write the plan into the job file as it was shown; a file that can't be written is said, not fatal."""
    from planner.job.writing import store_plan
    from planner.workflow.planning import stored_plan_of

    try:
        store_plan(answer.job.files.job, stored_plan_of(answer))
    except OSError as error:
        note(f"the plan could not be stored in `{answer.job.files.job}`: {error.strerror or error}")


def show_plan(
    answer: PlanAnswer, *, as_json: bool, show_work: bool = False, plot: Path | None = None
) -> None:
    """Print a plan, and draw it if a file is given."""
    if as_json:
        from planner.report.plan_json import plan_json

        data = plan_json(answer)
        if show_work:
            from planner.report.working import working_lines

            data["working"] = working_lines(answer)
        say_json(data)
    else:
        from planner.report.plan_text import plan_text

        say(plan_text(answer))
        if show_work:
            from planner.report.working import working_lines

            say("\n" + "\n".join(working_lines(answer)))
    if plot is not None:
        draw(answer, plot)


def draw(answer: PlanAnswer, path: Path) -> None:
    """Draw a plan into a file."""
    from planner.report.drawings import plan_figure, save_figure

    save_figure(plan_figure(answer), path)
    note(f"drawn: {path}")


def exit_code(answer: PlanAnswer) -> int:
    """Return 0 when the plan reaches the limits, else 1."""
    return GOOD if answer.outcome.feasible and answer.verdict == "in tolerance" else ANSWER_IS_NO
