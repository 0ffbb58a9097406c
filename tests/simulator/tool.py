"""The program as an operator uses it: command line in, exit code and JSON out, in this process."""

from __future__ import annotations

import contextlib
import io
import json
import sys
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Said:
    """What a command left."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Its one JSON object."""
        return json.loads(self.out)


def bobplan(*arguments: object) -> Said:
    """Run the command line with these arguments."""
    from planner.cli.main import run

    out, err = io.StringIO(), io.StringIO()
    before = sys.argv
    sys.argv = ["bobplan", *map(str, arguments)]
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            try:
                run()
            except SystemExit as end:
                code = end.code if isinstance(end.code, int) else 1
            else:
                code = 0
    finally:
        sys.argv = before
    if code > 2:
        raise AssertionError(f"bobplan {' '.join(map(str, arguments))} ended with {code}:\n{err.getvalue()}")
    return Said(code, out.getvalue(), err.getvalue())


def checked(*arguments: object) -> Any:
    """Run a command with ``--json`` and return its object; bad input is a fault of the simulation."""
    said = bobplan(*arguments, "--json")
    if said.code == 2:
        raise AssertionError(f"bobplan {' '.join(map(str, arguments))}: {said.err}\n{said.out}")
    return said.json
