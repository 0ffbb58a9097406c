"""`bobplan`: one command per step of the job; with none it says where the job stands and what comes next."""

from __future__ import annotations

import functools
import gc
import importlib
import os
import sys
from typing import TYPE_CHECKING, Annotated, Any

import typer
import typer.main
from typer.core import TyperGroup

from planner.cli.console import guarded, leave, say, say_error_json, stopped
from planner.cli.plain_help import in_plain_words, speak_plainly

if TYPE_CHECKING:
    from typer._click.core import Command, Context
    from typer._click.formatting import HelpFormatter

# negative numbers are numbers there, not options
_NUMBERS: dict[str, Any] = {"ignore_unknown_options": True}

COMMANDS: dict[str, tuple[str, dict[str, Any], str]] = {
    "bench": ("bench", {}, "Serve the whole job as a page for the tablet beside the machine."),
    "start": ("start", {}, "Make the files of a new job by asking one thing at a time."),
    "match": ("match", {}, "Show what to grind off which part, and which part goes on which rod."),
    "bobs": ("bobs", {}, "Show the bob mass per throw, line by line."),
    "engine": ("engine", {}, "Show what an engine leaves unbalanced whatever the bob."),
    "rod": ("rod", {}, "Check a rod's two ends against the whole rod, or split it."),
    "quote": ("quote", {}, "Say before any spin whether heavy metal is likely, and at what price."),
    "machine": ("machine_app", {}, "Test the balancing machine itself."),
    "prove": ("prove", {}, "Prove the machine's settings with a known mass."),
    "trial": ("trial", _NUMBERS, "Turn raw vibration readings into unbalance."),
    "spin": ("spin", _NUMBERS, "Enter a spin: where the heavy spot is, and the plan for it."),
    "plan": ("plan", {}, "Plan the correction: which counterweight, angle, drill and depth."),
    "done": ("done", {}, "Enter a cut as made; the rest is planned again at once."),
    "check": ("check", {}, "Judge the newest state against the tolerance."),
    "odds": ("odds", {}, "Work out the chance that the next spin passes."),
    "history": ("history", {}, "Show spin after spin, and what went wrong."),
    "undo": ("undo", {}, "Take back the last spin or cut entered."),
    "sheet": ("sheet", {}, "Write the shop sheet, or the customer's record."),
    "chart": ("chart", {}, "Write a drilling chart: depth on the stop against unbalance."),
    "grade": ("grade", {}, "Show the residual unbalance that a balance grade permits."),
    "cut": ("cut_app", {}, "Work out depth and unbalance of one cut, without a job file."),
    "profile": ("profile", {}, "Weigh a counterweight from its outline."),
    "schema": ("schema", {}, "Print the JSON schema of what --json prints."),
}
"""Every command in the order of the job: the name in the module of `planner.cli` that is called like it (a function, or
commands of its own), its settings, and its line in the list of commands.  The line stands here so that the list needs none of
the modules."""

# what typer makes of Ctrl-C
_INTERRUPTED = 130


class _Commands(TyperGroup):
    """The commands, each loaded when it is called: reading the options of all takes longer than most of the work."""

    def list_commands(self, ctx: Context) -> list[str]:
        """Return the names in the order of the job."""
        return list(COMMANDS)

    def get_command(self, ctx: Context, cmd_name: str) -> Command | None:
        """Return a command, None for a name that is none."""
        return _command(cmd_name) if cmd_name in COMMANDS else None

    def format_commands(self, ctx: Context, formatter: HelpFormatter) -> None:
        """Write the list of commands without loading them."""
        with formatter.section("Commands, in the order of the job"):
            formatter.write_dl([(name, line) for name, (_, _, line) in COMMANDS.items()])


@functools.cache
def _command(name: str) -> Command:
    """Return one command with its options."""
    attribute, settings, _ = COMMANDS[name]
    what = getattr(importlib.import_module(f"planner.cli.{name}"), attribute)
    app = _app()
    if isinstance(what, typer.Typer):
        app.add_typer(what, name=name)
    else:
        app.command(name, context_settings=settings or None)(what)
    # two commands make a group of it; the other one is never called
    app.command("-", hidden=True)(_nothing)
    group = typer.main.get_command(app)
    assert isinstance(group, TyperGroup)
    return speak_plainly(group.commands[name])


def _nothing() -> None:
    """Nothing."""


def _app(cls: type[TyperGroup] | None = None) -> typer.Typer:
    # rich is not needed for plain help texts and costs start-up time; typer falls back to click's own
    return typer.Typer(
        name="bobplan",
        cls=cls or TyperGroup,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        no_args_is_help=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )


@functools.cache
def command_line() -> Command:
    """Return the whole command line; a command is loaded when it is asked for."""
    app = _app(_Commands)
    app.callback(invoke_without_command=True)(main)
    return speak_plainly(typer.main.get_command(app))


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
    # loading makes hundreds of thousands of objects that all stay: looking for garbage after every 700 is in vain
    gc.set_threshold(100_000, 20, 20)

    def command() -> None:
        try:
            code = command_line().main(args=arguments, prog_name="bobplan", standalone_mode=False)
        except Exception as error:
            # click's own errors (unknown option, missing argument); typer may carry its own copy of click, so
            # they are known by what they can do, not by their class
            show, exit_code = getattr(error, "show", None), getattr(error, "exit_code", None)
            if callable(show) and isinstance(exit_code, int):
                in_plain_words(error)
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

    try:
        _pass_over_drawing_settings_here()
        os.environ.setdefault("TYPER_USE_RICH", "0")
        code = guarded(arguments, command)
    except KeyboardInterrupt:  # before the command began, or while its end was told
        code = stopped(as_json="--json" in arguments)
    raise SystemExit(code)


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
