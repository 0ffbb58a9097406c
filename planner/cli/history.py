"""`bobplan history`: spin after spin."""

from __future__ import annotations

from planner.cli.console import GOOD, leave, tell
from planner.cli.options import JobArgument, JsonOption, WorkOption, open_job


def history(job: JobArgument = None, as_json: JsonOption = False, show_work: WorkOption = False) -> None:
    """Show spin after spin: reading, what was foretold, the difference, cuts between, verdict, what went wrong."""
    from planner.present.pages.history import history_document, history_json, history_work
    from planner.steps.history import history_of

    told = history_of(open_job(job, writing=False))
    tell(told, history_json, history_document, working=history_work if show_work else None, as_json=as_json)
    leave(GOOD)
