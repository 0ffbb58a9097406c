"""`bobplan odds`: the chance that the next spin passes."""

from __future__ import annotations

from typing import Annotated

import typer

from planner.cli.console import ANSWER_IS_NO, GOOD, leave, tell
from planner.cli.options import (
    AnywayOption,
    JobArgument,
    JsonOption,
    SecondsOption,
    WorkOption,
    finite,
    open_job,
)


def odds(
    job: JobArgument = None,
    over_cost: Annotated[
        float, typer.Option(help="What an over-drilled crankshaft costs, in spins.", callback=finite)
    ] = 10.0,
    draws: Annotated[int, typer.Option(help="Number of draws.")] = 100_000,
    seed: Annotated[
        int | None, typer.Option(help="Where the draws start; the same seed gives the same answer.", min=0)
    ] = None,
    anyway: AnywayOption = False,
    as_json: JsonOption = False,
    show_work: WorkOption = False,
    seconds: SecondsOption = 10.0,
) -> None:
    """Work out the chance that the next spin passes with the present plan, and which error matters most.

    Ends with 1 when there is no plan that could pass.
    """
    from planner.cli.plan import progress_line, stop_if_withheld
    from planner.present.pages.odds import odds_document, odds_json, odds_work
    from planner.steps.odds import odds_of
    from planner.steps.removal_ratio import with_plan_factor
    from planner.uncertainty.odds import SEED

    opened = open_job(job, writing=False)
    # the chances are reckoned with the settings as they are
    if not anyway:
        stop_if_withheld(opened, as_json=as_json)
    opened = with_plan_factor(opened)
    with progress_line() as progress:
        answer = odds_of(
            opened,
            over_cost=over_cost,
            draws=draws,
            seed=SEED if seed is None else seed,
            seconds=seconds,
            progress=progress,
        )
    tell(answer, odds_json, odds_document, working=odds_work if show_work else None, as_json=as_json)
    leave(GOOD if answer.plan.outcome.feasible else ANSWER_IS_NO)
