"""A plan written into the job file as it is going to be shown."""

from __future__ import annotations

from planner.jobfile.job import Job
from planner.jobfile.write import store_plan
from planner.steps.plan import still_planned, stored_plan_of
from planner.steps.plan_answer import PlanAnswer


def keep_plan(answer: PlanAnswer, *, basis_of: Job | None = None) -> str | None:
    """Write the plan into the job file; return why a file that the system does not let be written has it not.

    ``basis_of`` is the job as its files have it, when the plan was made as if they said something else.

    Raises
    ------
    InputError
        If the file was changed while the plan was being made: then it must not be shown either.
    """
    there = answer.job.stored_plan
    if answer.kept and there is not None:
        shown, now = there.shown_under, answer.job.machine.drill_settings
        # it stands in the file with the numbers on the dial that it has now (older files don't say); what is left of it
        # follows from the cuts made
        if shown is None or shown.agrees(now):
            return None
    path = answer.job.files.job
    try:
        plan = stored_plan_of(answer, basis_of=basis_of)
        store_plan(path, plan, still=lambda job: still_planned(job, answer, basis_of=basis_of))
    except OSError as error:
        return f"the plan could not be stored in `{path}`: {error.strerror or error}"
    return None
