"""A terminal session of the program: what is typed and what stands on the screen, as a plain text that can be compared.

A transcript is a text: ``$ `` and the command line, then what an operator sees (standard output and error in the order
in which they come, his answers where he typed them; the folder is called /shop), then ``[exit code N]`` where that is
not 0.  ``# `` before a command is what he does meanwhile.  Lines that only say that something is still being worked on
are left out: whether they come depends on how busy the computer is.
"""

from __future__ import annotations

import contextlib
import difflib
import io
import os
import re
import shlex
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

Answer = str | Callable[[str], str]
"""What is typed at a question; a callable gets the screen so far and returns what to type."""

COLUMNS = 100
"""How wide the operators' windows are."""
HEADING = re.compile(r"^(?:\$ |# )", re.MULTILINE)


@dataclass(frozen=True)
class Screen:
    """One command and what it left on the screen."""

    command: str
    shown: str
    code: int
    told: str = ""

    @property
    def text(self) -> str:
        """It as it stands in a transcript."""
        lines = [f"# {line}" for line in self.told.splitlines()]
        lines += [f"$ {self.command}", self.shown.rstrip("\n")]
        if self.code:
            lines.append(f"[exit code {self.code}]")
        return "\n".join(line.rstrip() for line in "\n".join(lines).splitlines()) + "\n"


class _Keyboard(io.StringIO):
    """Standard input of a terminal: hands out one answer after the other and shows each on the screen."""

    def __init__(self, answers: tuple[Answer, ...], screen: io.StringIO) -> None:
        super().__init__()
        self._answers = list(answers)
        self._screen = screen

    def isatty(self) -> bool:
        return True

    def readline(self, size: int | None = -1, /) -> str:
        if not self._answers:
            raise AssertionError(f"nothing is left to type at:\n{self._screen.getvalue()[-2000:]}")
        answer = self._answers.pop(0)
        text = answer if isinstance(answer, str) else answer(self._screen.getvalue())
        self._screen.write(text + "\n")
        return text + "\n"

    @property
    def left(self) -> int:
        """How many answers were not asked for."""
        return len(self._answers)


@dataclass
class Session:
    """An operator at a terminal in a folder."""

    folder: Path
    screens: list[Screen] = field(default_factory=list)

    def types(self, command: str, *answers: Answer, code: int | None = 0, told: str = "") -> Screen:
        """Type a command line and, at its questions, these answers; ``code`` is the exit code that is expected."""
        screen = io.StringIO()
        keyboard = _Keyboard(answers, screen)
        with _at_terminal(self.folder, ["bobplan", *shlex.split(command)[1:]], screen, keyboard):
            found = _run()
        shown = re.sub(r"(?m)^working: .*\n", "", screen.getvalue())
        for where in {str(self.folder), str(self.folder.resolve())}:
            shown = shown.replace(where, "/shop")
        done = Screen(command, shown, found, told)
        self.screens.append(done)
        if code is not None and found != code:
            raise AssertionError(f"ended with {found}, expected {code}:\n{done.text}")
        if keyboard.left:
            raise AssertionError(f"{keyboard.left} answers were not asked for:\n{done.text}")
        return done

    @property
    def text(self) -> str:
        """The whole transcript."""
        return "\n".join(screen.text for screen in self.screens)


@contextlib.contextmanager
def _at_terminal(
    folder: Path, arguments: list[str], screen: io.StringIO, keyboard: io.StringIO
) -> Iterator[None]:
    before, where, columns = (sys.argv, sys.stdin), Path.cwd(), os.environ.get("COLUMNS")
    os.chdir(folder)
    os.environ["COLUMNS"] = str(COLUMNS)
    sys.argv, sys.stdin = arguments, keyboard
    try:
        with contextlib.redirect_stdout(screen), contextlib.redirect_stderr(screen):
            yield
    finally:
        sys.argv, sys.stdin = before
        if columns is None:
            del os.environ["COLUMNS"]
        else:
            os.environ["COLUMNS"] = columns
        os.chdir(where)


def _run() -> int:
    from planner.cli.main import run

    try:
        run()
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else 1
    return 0


def screens_of(text: str) -> list[str]:
    """A transcript cut into its screens, each with what is told before it."""
    screens: list[list[str]] = []
    told = False
    for line in text.splitlines():
        starts = HEADING.match(line) is not None
        if starts and not told:
            screens.append([])
        told = line.startswith("# ")
        if screens:
            screens[-1].append(line)
    return ["\n".join(lines).strip("\n") for lines in screens]


def differences(found: str, golden: str) -> list[str]:
    """What differs between two transcripts, screen by screen, ready to be read."""
    now, before = screens_of(found), screens_of(golden)
    lines: list[str] = []
    for index in range(max(len(now), len(before))):
        new = now[index] if index < len(now) else ""
        old = before[index] if index < len(before) else ""
        if new == old:
            continue
        command = next((line for line in (new or old).splitlines() if line.startswith("$ ")), "")
        lines.append(f"screen {index + 1}, {command}")
        lines += difflib.unified_diff(
            old.splitlines(), new.splitlines(), "as kept", "as shown now", lineterm="", n=2
        )
        lines.append("")
    return lines
