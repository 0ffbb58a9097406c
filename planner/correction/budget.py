"""How long a command may take: one clock for all its searches together, as an outer stop only.

What the searches find is decided by counted work (nodes, pairs, passes), never by this clock; when it strikes, the
answer says so.
"""

from __future__ import annotations

import math
import time


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
    """

    def __init__(self, seconds: float = math.inf) -> None:
        self.deadline = time.monotonic() + seconds
        self.struck = False

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


def budget_of(seconds: float | Budget) -> Budget:
    """Return the budget that is handed down, or a new one of so many seconds."""
    return seconds if isinstance(seconds, Budget) else Budget(seconds)
