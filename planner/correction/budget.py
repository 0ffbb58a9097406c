"""How long a command may take, and whom it tells what it is at: one clock for all its searches, as an outer stop only.

What the searches find is decided by counted work (nodes, pairs, passes), never by this clock; when it strikes, the
answer says so.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable

Progress = Callable[[str], None]
"""Called now and then with a short text."""


class TimeIsUpError(Exception):
    """Work that has no half result (tables, bounds) was broken off by the clock."""


class Budget:
    """The time left for everything a command does.

    Parameters
    ----------
    seconds : float
        How long from now [s].

    Attributes
    ----------
    struck : bool
        Whether somebody asked for more time when none was left: then time decided something.
    progress : callable or None
        Who is told what is being done.
    """

    def __init__(self, seconds: float = math.inf, progress: Progress | None = None) -> None:
        self.deadline = time.monotonic() + seconds
        self.struck = False
        self.progress = progress

    def say(self, text: str) -> None:
        """Tell what is being done."""
        if self.progress is not None:
            self.progress(text)

    @property
    def left(self) -> float:
        """Seconds left, 0 or more."""
        return max(0.0, self.deadline - time.monotonic())

    def late(self) -> bool:
        """Whether the time is up; asking remembers that it was."""
        if time.monotonic() >= self.deadline:
            self.struck = True
        return self.struck

    def check(self) -> None:
        """Break off work that has no half result once the time is up.

        Raises
        ------
        TimeIsUpError
            If the time is up.
        """
        if self.late():
            raise TimeIsUpError


def budget_of(seconds: float | Budget, progress: Progress | None = None) -> Budget:
    """Return the budget that is handed down, or a new one of so many seconds; it tells ``progress`` where that is given."""
    budget = seconds if isinstance(seconds, Budget) else Budget(seconds)
    budget.progress = budget.progress if progress is None else progress
    return budget
