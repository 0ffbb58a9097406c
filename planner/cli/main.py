"""`bobplan`: one command per step of the job; with none it says where the job stands and what comes next."""

from __future__ import annotations

import os
import sys
from typing import Annotated

import typer

from planner.cli.bobs_command import bobs
from planner.cli.chart_command import chart
from planner.cli.check_command import check
from planner.cli.console import guarded, leave, say, say_error_json
from planner.cli.cut_command import cut_app
from planner.cli.done_command import done
from planner.cli.engine_command import engine
from planner.cli.grade_command import grade
from planner.cli.history_command import history
from planner.cli.machine_command import machine_app
from planner.cli.match_command import match
from planner.cli.odds_command import odds
from planner.cli.plan_command import plan
from planner.cli.profile_command import profile
from planner.cli.prove_command import prove
from planner.cli.quote_command import quote
from planner.cli.rod_command import rod
from planner.cli.sheet_command import sheet
from planner.cli.spin_command import spin
from planner.cli.start_command import start
from planner.cli.trial_command import trial
from planner.cli.undo_command import undo

# rich is not needed for plain help texts and costs start-up time; typer falls back to click's own
app = typer.Typer(
    name="bobplan",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.command("start")(start)
app.command("plan")(plan)
app.command("quote")(quote)
app.command("prove")(prove)
# negative numbers are numbers here, not options
app.command("spin", context_settings={"ignore_unknown_options": True})(spin)
app.command("done")(done)
app.command("trial", context_settings={"ignore_unknown_options": True})(trial)
app.command("check")(check)
app.command("odds")(odds)
app.command("history")(history)
app.command("undo")(undo)
app.command("match")(match)
app.command("bobs")(bobs)
app.command("engine")(engine)
app.command("rod")(rod)
app.command("sheet")(sheet)
app.command("grade")(grade)
app.command("chart")(chart)
app.command("profile")(profile)
app.add_typer(cut_app, name="cut")
app.add_typer(machine_app, name="machine")

# what typer makes of Ctrl-C
_INTERRUPTED = 130


@app.callback(invoke_without_command=True)
def main(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version and end.")] = False,
    as_json: Annotated[
        bool, typer.Option("--json", help="Say where the job stands as one JSON object.")
    ] = False,
) -> None:
    """Plan the correction of an engine crankshaft on the balancing machine.

    With no command: says where the job of this folder stands and what comes next.
    """
    if version:
        from planner import __version__

        say(f"bobplan {__version__}")
        leave(0)
    if context.invoked_subcommand is None:
        from planner.cli.status import show_status

        show_status(as_json=as_json)


def run() -> None:
    """Run the command line and end the process with its exit code."""
    arguments = sys.argv[1:]
    _pass_over_drawing_settings_here()
    os.environ.setdefault("TYPER_USE_RICH", "0")

    def command() -> None:
        try:
            code = app(args=arguments, prog_name="bobplan", standalone_mode=False)
        except Exception as error:
            # click's own errors (unknown option, missing argument); typer may carry its own copy of click, so
            # they are known by what they can do, not by their class
            show, exit_code = getattr(error, "show", None), getattr(error, "exit_code", None)
            if callable(show) and isinstance(exit_code, int):
                show()
                if "--json" in arguments:
                    say_error_json(
                        {"error": str(getattr(error, "message", error)), "hint": "`bobplan COMMAND --help`"}
                    )
                leave(exit_code)
            if type(error).__name__ == "Abort":
                # Ctrl-C or the end of the input at a question
                raise KeyboardInterrupt from None
            raise
        if code == _INTERRUPTED:
            raise KeyboardInterrupt
        if isinstance(code, int) and code:
            leave(code)

    raise SystemExit(guarded(arguments, command))


def _pass_over_drawing_settings_here() -> None:
    """Load matplotlib from elsewhere when a ``matplotlibrc`` lies in the current folder.

    It would be obeyed when matplotlib is loaded: the job's drawings would look different in that folder, or fail.
    """
    if not os.path.exists("matplotlibrc"):
        return
    here = os.getcwd()
    os.chdir(os.path.dirname(os.path.abspath(__file__)))
    try:
        import matplotlib  # noqa: F401
    finally:
        os.chdir(here)
