"""`bobplan`: one command per step of the job; with none it says where the job stands and what comes next."""

from __future__ import annotations

import functools
import importlib
import os
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer
import typer.main

from planner.cli.console import guarded, leave, say, say_error_json

if TYPE_CHECKING:
    from typer._click.core import Command

# negative numbers are numbers there, not options
_NUMBERS: dict[str, Any] = {"ignore_unknown_options": True}

COMMANDS: dict[str, tuple[str, str, dict[str, Any]]] = {
    "start": ("start", "start", {}),
    "plan": ("plan", "plan", {}),
    "quote": ("quote", "quote", {}),
    "prove": ("prove", "prove", {}),
    "spin": ("spin", "spin", _NUMBERS),
    "done": ("done", "done", {}),
    "trial": ("trial", "trial", _NUMBERS),
    "check": ("check", "check", {}),
    "odds": ("odds", "odds", {}),
    "history": ("history", "history", {}),
    "undo": ("undo", "undo", {}),
    "match": ("match", "match", {}),
    "bobs": ("bobs", "bobs", {}),
    "engine": ("engine", "engine", {}),
    "rod": ("rod", "rod", {}),
    "sheet": ("sheet", "sheet", {}),
    "grade": ("grade", "grade", {}),
    "chart": ("chart", "chart", {}),
    "profile": ("profile", "profile", {}),
    "cut": ("cut", "cut_app", {}),
    "machine": ("machine", "machine_app", {}),
}
"""Every command: the module below `planner.cli` and the name in it (a function, or commands of its own), its settings."""

# what typer makes of Ctrl-C
_INTERRUPTED = 130


def command_line(names: Sequence[str]) -> Command:
    """Return the command line with these commands: reading the options of all of them takes longer than most of the work."""
    # rich is not needed for plain help texts and costs start-up time; typer falls back to click's own
    app = typer.Typer(
        name="bobplan",
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        no_args_is_help=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback(invoke_without_command=True)(main)
    for name in names:
        module, attribute, settings = COMMANDS[name]
        what = getattr(importlib.import_module(f"planner.cli.{module}"), attribute)
        if isinstance(what, typer.Typer):
            app.add_typer(what, name=name)
        else:
            app.command(name, context_settings=settings or None)(what)
    return typer.main.get_command(app)


@functools.cache
def _command_line_for(name: str | None) -> Command:
    """Return the command line that a command needs; with all commands where none is known by that name (help, errors)."""
    return command_line(tuple(COMMANDS) if name is None else (name,))


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
            first = next((each for each in arguments if not each.startswith("-")), None)
            line = _command_line_for(first if first in COMMANDS else None)
            code = line.main(args=arguments, prog_name="bobplan", standalone_mode=False)
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
