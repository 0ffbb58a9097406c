"""One honest transaction: whatever fails at whichever moment, exit code, words and file agree, and the next command works.

A fault is injected at the n-th call of each thing that a command does to the system, for every n until the command runs
through: a full disk, or Ctrl-C.
"""

from __future__ import annotations

import errno
import os
import sys
import tempfile
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.fuzz.harness import SMALL

from .conftest import Ran

Bobplan = Callable[..., Ran]

COMMANDS = {
    "spin": ["spin", "880", "190", "690", "12", "--yes"],
    "cut as planned": ["spin", "80", "190", "69", "12", "--yes", "--cut-as-planned", "--unproved"],
    "done": ["done", "1", "--unproved", "--yes"],
    "undo": ["undo", "--yes"],
    "plan": ["plan"],
}
PLACES = ("os.replace", "tempfile.mkstemp", "os.fsync", "os.chmod", "sys.stdout.write")
FAULTS = {"full disk": lambda: OSError(errno.ENOSPC, "No space left on device"), "Ctrl-C": KeyboardInterrupt}
MOST_CALLS = 60


class Injected:
    """Raises a fault at the n-th call, and counts."""

    def __init__(self, plain: Callable[..., Any], fault: Callable[[], BaseException], at: int) -> None:
        self._plain, self._fault, self._at = plain, fault, at
        self.calls = 0

    def __call__(self, *given: Any, **named: Any) -> Any:
        self.calls += 1
        if self.calls == self._at:
            raise self._fault()
        return self._plain(*given, **named)


def entries(job: Path) -> tuple[int, int, int]:
    """Return how many spins, cuts made and entries taken back stand in a file."""
    data = tomllib.loads(job.read_text(encoding="utf-8"))
    return len(data.get("spins", [])), len(data.get("cuts_made", [])), len(data.get("undone", []))


@pytest.fixture
def job(bobplan: Bobplan, tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(SMALL, encoding="utf-8")
    assert bobplan("plan").code == 0
    return path


def at_every_call(
    job: Path, bobplan: Bobplan, place: str, fault: Callable[[], BaseException], arguments: list[str]
) -> Iterator[tuple[Ran, tuple[int, int, int], tuple[int, int, int]]]:
    """Run a command with a fault at the first call, the second, ...; give what it said, and the entries before and after."""
    content = job.read_bytes()
    for at in range(1, MOST_CALLS):
        job.write_bytes(content)
        with pytest.MonkeyPatch.context() as patch:
            injected = _patched(patch, place, fault, at)
            ran = bobplan(*arguments)
        yield ran, _counted(content, job), entries(job)
        if injected.calls < at:
            return
    pytest.fail("the command calls that more often than the test tries")


def _counted(content: bytes, job: Path) -> tuple[int, int, int]:
    held = job.with_name("before.txt")
    held.write_bytes(content)
    found = entries(held)
    held.unlink()
    return found


def _patched(patch: pytest.MonkeyPatch, place: str, fault: Callable[[], BaseException], at: int) -> Injected:
    owner: Any = {"os": os, "tempfile": tempfile, "sys": sys}[place.split(".")[0]]
    if place == "sys.stdout.write":
        import planner.cli.console as console

        injected = Injected(console._write, fault, at)
        patch.setattr(
            console,
            "_write",
            lambda stream, text: (injected if stream is sys.stdout else _plain)(stream, text),
        )
        _plain = injected._plain
        return injected
    name = place.split(".")[1]
    injected = Injected(getattr(owner, name), fault, at)
    patch.setattr(owner, name, injected)
    return injected


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("command", COMMANDS)
def test_code_words_and_file_agree(job: Path, bobplan: Bobplan, command: str, place: str, fault: str) -> None:
    if command == "undo":
        assert bobplan("spin", "880", "190", "690", "12", "--yes").code in (0, 1)
    whole = False
    for ran, before, after in at_every_call(job, bobplan, place, FAULTS[fault], COMMANDS[command]):
        changed = before != after
        told = (command, place, fault, ran)
        assert ran.code in (0, 1, 2), told
        if ran.code == 2:
            assert not changed, told
        if changed:
            assert "nothing was changed" not in ran.err + ran.out, told
        # all of an entry or nothing of it: never the cuts without the spin, or the other way round
        grown = tuple(new - old for old, new in zip(before, after, strict=True))
        assert (
            grown
            in {
                "spin": [(0, 0, 0), (1, 0, 0)],
                "cut as planned": [(0, 0, 0), (1, 2, 0)],
                "done": [(0, 0, 0), (0, 1, 0)],
                "undo": [(0, 0, 0), (-1, 0, 1)],
                "plan": [(0, 0, 0)],
            }[command]
        ), told
        whole = whole or (ran.code in (0, 1) and (changed or command == "plan"))
    assert whole
    # the last round ran through; what broken rounds left is swept, and the job is a job
    assert bobplan("check").code in (0, 1)
    left = [path.name for path in job.parent.iterdir() if path.name.endswith((".new", ".lock"))]
    assert not left
