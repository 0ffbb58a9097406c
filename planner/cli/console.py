"""Printing, and errors turned into exit codes: 0 done and good, 1 the answer is no, 2 bad input."""

from __future__ import annotations

import contextlib
import json
import os
import sys
import time
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any, NoReturn, TextIO, TypeVar

from planner.errors import BobplanError, FileFaultsError, InputError
from planner.files import changed
from planner.visible_text import visible

if TYPE_CHECKING:
    from planner.formula import Formula
    from planner.present.document import Document

GOOD, ANSWER_IS_NO, BAD_INPUT = 0, 1, 2
JSON_VERSION = 1
# not one of the three answers: a fault of the program itself
PROGRAM_FAULT = 70

Answer = TypeVar("Answer")


def say(text: str = "") -> None:
    """Print to standard output; what a terminal would obey is shown as an escape."""
    _write(sys.stdout, visible(text, line_breaks=True) + "\n")


def show(answer: Document, *, working: Iterable[Formula | str] = ()) -> None:
    """Print an answer to standard output, as wide as the window, and its working if there is one to show."""
    from planner.formula import working_lines
    from planner.present.document import document, working_blocks
    from planner.present.to_text import to_text

    say(to_text(document(answer.blocks, working_blocks(tuple(working_lines(working))))))


def tell(
    answer: Answer,
    data: Callable[[Answer], dict[str, Any]],
    page: Callable[[Answer], Document],
    *,
    working: Callable[[Answer], Iterable[Formula | str]] | None = None,
    as_json: bool,
) -> None:
    """Print an answer as it was asked for: one JSON object, or its page; the working with it where that was asked for."""
    work = None if working is None else working(answer)
    if as_json:
        from planner.formula import working_lines

        say_json(data(answer) | ({} if work is None else {"working": list(working_lines(work))}))
    else:
        show(page(answer), working=work or ())


def note(text: str) -> None:
    """Print to standard error, so that standard output stays what was asked for."""
    _write(sys.stderr, visible(text, line_breaks=True) + "\n")


def say_json(data: dict[str, Any]) -> None:
    """Print one JSON object to standard output; ``version`` says which schema it keeps (`bobplan schema`)."""
    _JSON_SAID.append(True)
    data = {"version": JSON_VERSION, **data}
    text = json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False)
    if not _can_show(sys.stdout, text):
        text = json.dumps(data, indent=2, allow_nan=False)
    _write(sys.stdout, text + "\n")


_JSON_SAID: list[bool] = []
"""Not empty once this command has printed its object: an error after that must not print a second one."""


def say_error_json(data: dict[str, Any]) -> None:
    """Print an error as the one JSON object of a command; nothing when it has printed one already."""
    if not _JSON_SAID:
        say_json(data)


def _write(stream: TextIO | None, text: str) -> None:
    """Write to a stream; letters that it has no code for become escapes, a stream that was closed takes nothing."""
    if stream is None:
        return
    if not _can_show(stream, text):
        code = stream.encoding or "ascii"
        text = text.encode(code, errors="backslashreplace").decode(code)
    stream.write(text)


def _can_show(stream: TextIO | None, text: str) -> bool:
    try:
        text.encode(getattr(stream, "encoding", None) or "utf-8")
    except UnicodeEncodeError:
        return False
    return True


def report_error(error: BobplanError, *, as_json: bool = False) -> int:
    """Show an error raised on purpose and return the exit code that belongs to it."""
    note(f"error: {error.message}")
    if error.hint:
        note(f"\nhint: {error.hint}")
    if as_json:
        said = {"changed": [path.name for path in dict.fromkeys(changed)]} if changed else {}
        say_error_json(error_json(error) | said)
    return BAD_INPUT if isinstance(error, InputError) else ANSWER_IS_NO


def error_json(error: BobplanError) -> dict[str, Any]:
    """Return an error as plain data."""
    data: dict[str, Any] = {"error": error.message, "hint": error.hint}
    if isinstance(error, FileFaultsError):
        from planner.present.to_json import picked

        data["faults"] = [picked(fault, "file path given allowed hint") for fault in error.faults]
    return data


def leave(code: int) -> NoReturn:
    """End the program with an exit code."""
    if sys.stdout is not None:
        sys.stdout.flush()
    raise SystemExit(code)


def guarded(arguments: list[str], command: Callable[[], None]) -> int:
    """Run a command and return its exit code; errors raised on purpose become messages, never tracebacks."""
    as_json = "--json" in arguments
    changed.clear()
    _JSON_SAID.clear()
    try:
        command()
        if sys.stdout is not None:
            # a full disk behind a redirection shows itself here, while it can still be said
            sys.stdout.flush()
    except BobplanError as error:
        code = report_error(error, as_json=as_json)
        return _after_change(code)
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else ANSWER_IS_NO
    except KeyboardInterrupt:
        return stopped(as_json=as_json)
    except BrokenPipeError:
        # the reader of a pipe went away: not our error, and Python must not complain at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return GOOD
    except OSError as error:
        where = f" `{error.filename}`" if error.filename else ""
        text = f"{error.strerror or error}{where}"
        note(f"error: {text}")
        if as_json:
            say_error_json({"error": text, "hint": None})
        _let_go_of_output()
        return _after_change(BAD_INPUT)
    except Exception as error:
        if os.environ.get("BOBPLAN_DEBUG"):
            raise
        text = f"bobplan failed: {type(error).__name__}: {error}"
        kept = "" if changed else ", nothing in your files was changed"
        hint = f"this is a fault of the program{kept}; please report it with the files"
        note(f"error: {text}\n\nhint: {hint}")
        if as_json:
            say_error_json({"error": text, "hint": hint})
        _after_change(PROGRAM_FAULT)
        return PROGRAM_FAULT
    return GOOD


def stopped(*, as_json: bool) -> int:
    """Say that Ctrl-C ended the command, and return the exit code that tells the truth about the files."""
    note("stopped" if changed else "stopped; nothing was changed")
    if as_json:
        say_error_json({"error": "stopped", "hint": None})
    return _after_change(BAD_INPUT)


def _after_change(code: int) -> int:
    """Return the exit code of a command that ended early; what it has entered stays entered, and that is said.

    2 means bad input and a file as it was: with an entry in the file it is 1, "done, but there is no answer".
    """
    if not changed:
        return code
    names = ", ".join(f"`{path.name}`" for path in dict.fromkeys(changed))
    note(
        f"note: what was entered before that stands in {names}; `bobplan` says where the job stands, "
        "`bobplan undo` takes it back"
    )
    return ANSWER_IS_NO


def _let_go_of_output() -> None:
    """Let Python not try once more, at its end, to write what could not be written."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        sys.stdout.flush()
        return
    with contextlib.suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


class ProgressLine:
    """A line on standard error that appears when something takes longer than a second."""

    def __init__(self) -> None:
        self._start = time.monotonic()
        self._shown = False
        self._live = sys.stderr is not None and sys.stderr.isatty()

    def __call__(self, text: str) -> None:
        """Show a text if it is time to."""
        elapsed = time.monotonic() - self._start
        if elapsed < 1.0:
            return
        if self._live:
            _write(sys.stderr, f"\r{elapsed:4.0f} s  {visible(text):<70.70}")
            sys.stderr.flush()
        elif not self._shown:
            note(f"working: {text}")
        self._shown = True

    def clear(self) -> None:
        """Take the line away again."""
        if self._shown and self._live:
            sys.stderr.write("\r" + " " * 80 + "\r")
            sys.stderr.flush()
