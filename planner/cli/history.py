"""`bobplan history`: spin after spin."""

from __future__ import annotations

from planner.cli.console import GOOD, leave, say, say_json
from planner.cli.options import JobArgument, JsonOption, open_job


def history(job: JobArgument = None, as_json: JsonOption = False) -> None:
    """Show spin after spin: reading, what was foretold, the difference, cuts between, verdict, what went wrong."""
    from planner.present.pages.history import history_json, history_text
    from planner.steps.history import history_of

    told = history_of(open_job(job, writing=False))
    if as_json:
        say_json(history_json(told))
    else:
        say(history_text(told))
    leave(GOOD)
