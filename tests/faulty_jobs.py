"""A whole job told on a computer that fails: a slow disk, a disk that is full at some write, Ctrl-C at some step.

The operator does what a person does: after a command that failed he looks where he stands (`plan`), and types it again
unless what he typed is in the file.  Whatever failed when, exit code, words and file must agree after every command, and
in the end the file must hold what it holds on a computer that never fails.
"""

from __future__ import annotations

import contextlib
import errno
import os
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.fuzz.harness import SMALL, run_line

STORY: tuple[tuple[str, ...], ...] = (
    ("plan",),
    ("done", "1", "--depth", "9", "--yes", "--unproved"),
    ("done", "--on", "B", "--dial", "40", "--drill", "14", "--depth", "6", "--yes"),
    ("undo", "--yes", "--note", "typed on the wrong counterweight"),
    ("done", "2", "--yes"),
    ("spin", "300", "190", "250", "10", "--yes"),
    ("undo", "--yes"),
    ("undo", "--redo"),
    ("spin", "120", "190", "90", "10", "--yes", "--cut-as-planned"),
    ("check",),
    ("sheet", "--customer", "-o", "record.html"),
)
"""What is typed from the first plan to the record; a command that does not end with 0 or 1 has to be typed again."""
ENTERING = ("done", "spin", "undo")
WRITES = ("tempfile.mkstemp", "os.replace", "os.fsync", "os.chmod", "os.write", "os.open")


@dataclass
class Told:
    """What a story came to: the file, what broke a promise, how often the fault struck."""

    text: str = ""
    broken: list[str] = field(default_factory=list)
    struck: int = 0


Fault = Callable[[Told], contextlib.AbstractContextManager[Any]]


def tell(folder: Path, fault: Fault | None = None, *, only: Sequence[int] | None = None) -> Told:
    """Tell the job in a folder, every command (or those of these places) under a fault the first time it is typed."""
    told = Told()
    file = folder / "job.toml"
    file.write_text(SMALL, encoding="utf-8")
    for place, arguments in enumerate(STORY):
        before = file.read_bytes()
        struck = told.struck
        under = (
            fault(told) if fault is not None and (only is None or place in only) else contextlib.nullcontext()
        )
        code, out, err = run_line(list(arguments), folder, around=under)
        _look(told, arguments, code, out + err, before, file)
        if told.struck == struck:
            continue
        # he looks where he stands, and types it again unless it is there
        entered = _entries(before) != _entries(file.read_bytes())
        code, out, err = run_line(["plan"], folder)
        if code not in (0, 1):
            told.broken.append(f"after {arguments}: `plan` ends with {code}: {err[-300:]}")
        if not entered:
            code, out, err = run_line(list(arguments), folder)
            if code not in (0, 1):
                told.broken.append(f"{arguments} again ends with {code}: {err[-300:]}")
    # what is left of a writer that died belongs to nobody any more
    left = [each.name for each in folder.iterdir() if each.name.endswith((".new", ".lock", ".part"))]
    if left or any(each.name.startswith(".writing") for each in folder.iterdir()):
        told.broken.append(f"left behind: {left}")
    told.text = file.read_text(encoding="utf-8")
    return told


def _look(
    told: Told, arguments: Sequence[str], code: int | None, said: str, before: bytes, file: Path
) -> None:
    after = file.read_bytes()
    if code not in (0, 1, 2):
        told.broken.append(f"{arguments} ends with {code}: {said[-600:]}")
    if code == 2 and after != before:
        told.broken.append(f"{arguments}: 2, but the file is changed")
    if after != before and "nothing was changed" in said:
        told.broken.append(f"{arguments}: changed, and says that nothing was")
    entered = _entries(after) != _entries(before)
    if arguments[0] in ENTERING and not entered and code == 0:
        told.broken.append(f"{arguments}: 0, but nothing is entered")
    if arguments[0] in ENTERING and not entered and "entered:" in said:
        told.broken.append(f"{arguments}: says what it entered, and it is not there")
    if "Traceback" in said:
        told.broken.append(f"{arguments}: {said[-600:]}")


def _entries(content: bytes) -> tuple[int, int, int]:
    data = tomllib.loads(content.decode("utf-8"))
    return len(data.get("spins", [])), len(data.get("cuts_made", [])), len(data.get("undone", []))


@contextlib.contextmanager
def _patched(name: str, made: Callable[[Callable[..., Any]], Callable[..., Any]]) -> Iterator[None]:
    owner: Any = {"os": os, "tempfile": tempfile}[name.split(".")[0]]
    key = name.split(".")[1]
    plain = getattr(owner, key)
    setattr(owner, key, made(plain))
    try:
        yield
    finally:
        setattr(owner, key, plain)


def slow_disk(seconds: float) -> Fault:
    """Return a disk that takes so long for everything that is written or put in its place."""

    @contextlib.contextmanager
    def around(told: Told) -> Iterator[None]:
        def slow(plain: Callable[..., Any]) -> Callable[..., Any]:
            def call(*given: Any, **named: Any) -> Any:
                time.sleep(seconds)
                return plain(*given, **named)

            return call

        with contextlib.ExitStack() as stack:
            for name in WRITES:
                stack.enter_context(_patched(name, slow))
            yield

    return around


def full_disk(at: int) -> Fault:
    """Return a disk that is full from the ``at``-th write on (1 = the first), as long as a command runs."""

    @contextlib.contextmanager
    def around(told: Told) -> Iterator[None]:
        calls = [0]

        def full(plain: Callable[..., Any]) -> Callable[..., Any]:
            def call(*given: Any, **named: Any) -> Any:
                reads = plain is _OPEN and not (
                    len(given) > 1 and given[1] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
                )
                if not reads:
                    calls[0] += 1
                    if calls[0] >= at:
                        told.struck += 1
                        raise OSError(errno.ENOSPC, "No space left on device")
                return plain(*given, **named)

            return call

        with contextlib.ExitStack() as stack:
            for name in WRITES:
                stack.enter_context(_patched(name, full))
            yield

    return around


_OPEN = os.open


def least_room(most_bytes: int) -> Fault:
    """Return a disk on which no file can grow beyond so many bytes while a command runs  (POSIX only)."""
    import resource

    @contextlib.contextmanager
    def around(told: Told) -> Iterator[None]:
        soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
        told.struck += 1
        resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, hard))
        try:
            yield
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))

    return around


def interrupted(at: int) -> Fault:
    """Return somebody who presses Ctrl-C when the ``at``-th Python function of the program is entered."""

    @contextlib.contextmanager
    def around(told: Told) -> Iterator[None]:
        calls = [0]

        def watch(frame: Any, event: str, _: object) -> None:
            if event != "call" or "/planner/" not in frame.f_code.co_filename.replace("\\", "/"):
                return
            calls[0] += 1
            if calls[0] == at:
                sys.setprofile(None)
                told.struck += 1
                raise KeyboardInterrupt

        sys.setprofile(watch)
        try:
            yield
        finally:
            sys.setprofile(None)

    return around
