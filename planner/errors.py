"""The errors that bobplan raises on purpose.

::

    BobplanError                 every error raised on purpose; carries a hint
    ├── InputError  (ValueError) what was given can't be right; command line exit code 2
    │   └── FileFaultsError      all faults of one or more files at once
    └── NoAnswerError            the question is sound but the answer is "no"; exit code 1
        └── OpenQuestionError    something has to be said first that only the user can know

The library raises, only the command line prints.
"""

from __future__ import annotations

from collections.abc import Sequence

from planner.records import dataclass


class BobplanError(Exception):
    """Base of all errors raised on purpose.

    Parameters
    ----------
    message : str
        What was given and what is allowed, one sentence without a final full stop.
    hint : str, optional
        What to do about it.
    """

    def __init__(self, message: str, *, hint: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


class InputError(BobplanError, ValueError):
    """What was given can't be right."""


class NoAnswerError(BobplanError):
    """The question is sound, the answer is no."""


class OpenQuestionError(NoAnswerError):
    """Something only the user can know has to be said first; the hint says how."""


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One fault of a file.

    Attributes
    ----------
    path : str
        Key path as a person would write it, for example ``counterweights[2].outline.outer_radius``.
    given : str
        The value as given, or empty.
    allowed : str
        What is allowed there.
    hint : str
        What to do, for example ``did you mean `diameter`?``; may be empty.
    file : str
        Name of the file as the user gave it.
    """

    path: str
    given: str
    allowed: str
    hint: str = ""
    file: str = ""

    def text(self) -> str:
        """Return the fault in one line (two with a hint)."""
        given = f": given {self.given}" if self.given else ""
        line = f"{self.path}{given}; {self.allowed}" if self.path else f"{self.allowed}{given}"
        return f"{line}\n    hint: {self.hint}" if self.hint else line


class FileFaultsError(InputError):
    """All faults of the files of a job, found in one pass."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        count = len(self.faults)
        noun = "fault" if count == 1 else "faults"
        by_file: dict[str, list[Fault]] = {}
        for fault in self.faults:
            by_file.setdefault(fault.file, []).append(fault)
        blocks = []
        for file, found in by_file.items():
            lines = [f"  {fault.text()}" for fault in found]
            blocks.append("\n".join([f"in `{file}`:" if file else "in the job:", *lines]))
        super().__init__(f"{count} {noun} found\n" + "\n".join(blocks))
