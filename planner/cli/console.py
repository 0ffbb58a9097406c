"""Printing, and errors turned into exit codes: 0 done and good, 1 the answer is no, 2 bad input."""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable
from typing import Any, NoReturn

from planner.errors import BobplanError, FileFaultsError, InputError

GOOD, ANSWER_IS_NO, BAD_INPUT = 0, 1, 2
# not one of the three answers: a fault of the program itself
PROGRAM_FAULT = 70


def say(text: str = "") -> None:
    """Print to standard output."""
    sys.stdout.write(text + "\n")


def note(text: str) -> None:
    """Print to standard error, so that standard output stays what was asked for."""
    sys.stderr.write(text + "\n")


def say_json(data: Any) -> None:
    """Print one JSON object to standard output."""
    say(json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False))


def report_error(error: BobplanError, *, as_json: bool = False) -> int:
    """Show an error raised on purpose and return the exit code that belongs to it."""
    note(f"error: {error.message}")
    if error.hint:
        note(f"\nhint: {error.hint}")
    if as_json:
        say_json(error_json(error))
    return BAD_INPUT if isinstance(error, InputError) else ANSWER_IS_NO


def error_json(error: BobplanError) -> dict[str, Any]:
    """Return an error as plain data."""
    data: dict[str, Any] = {"error": error.message, "hint": error.hint}
    if isinstance(error, FileFaultsError):
        data["faults"] = [
            {
                "file": fault.file,
                "path": fault.path,
                "given": fault.given,
                "allowed": fault.allowed,
                "hint": fault.hint,
            }
            for fault in error.faults
        ]
    return data


def leave(code: int) -> NoReturn:
    """End the program with an exit code."""
    sys.stdout.flush()
    raise SystemExit(code)


def guarded(arguments: list[str], command: Callable[[], None]) -> int:
    """Run a command and return its exit code; errors raised on purpose become messages, never tracebacks."""
    try:
        command()
    except BobplanError as error:
        return report_error(error, as_json="--json" in arguments)
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else ANSWER_IS_NO
    except KeyboardInterrupt:
        note("stopped; nothing was changed")
        return BAD_INPUT
    except BrokenPipeError:
        # the reader of a pipe went away: not our error, and Python must not complain at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return GOOD
    except OSError as error:
        where = f" `{error.filename}`" if error.filename else ""
        note(f"error: {error.strerror or error}{where}")
        return BAD_INPUT
    except Exception as error:
        if os.environ.get("BOBPLAN_DEBUG"):
            raise
        note(f"error: bobplan failed: {type(error).__name__}: {error}")
        note(
            "\nhint: this is a fault of the program, nothing in your files was changed; please report it with the files"
        )
        return PROGRAM_FAULT
    return GOOD


class ProgressLine:
    """A line on standard error that appears when something takes longer than a second."""

    def __init__(self, *, after_s: float = 1.0) -> None:
        self._start = time.monotonic()
        self._after_s = after_s
        self._shown = False
        self._live = sys.stderr.isatty()

    def __call__(self, text: str) -> None:
        """Show a text if it is time to."""
        elapsed = time.monotonic() - self._start
        if elapsed < self._after_s:
            return
        if self._live:
            sys.stderr.write(f"\r{elapsed:4.0f} s  {text:<70.70}")
            sys.stderr.flush()
        elif not self._shown:
            note(f"working: {text}")
        self._shown = True

    def clear(self) -> None:
        """Take the line away again."""
        if self._shown and self._live:
            sys.stderr.write("\r" + " " * 80 + "\r")
            sys.stderr.flush()
