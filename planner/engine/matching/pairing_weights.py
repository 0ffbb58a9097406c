"""The parts of a pairing as whole numbers (the caller turns grams into a fine unit), what a pairing costs, the clock.

Cylinder k keeps piston k.  What lies more than the tolerance above the least sum is ground down to the least: the cost of a
sum that lies e above it is 0 up to the tolerance and e beyond.
"""

from __future__ import annotations

import time
from collections.abc import Sequence

from planner.records import dataclass


@dataclass(frozen=True, kw_only=True)
class Weights:
    """Whole-number weights; ``throws`` are tuples of cylinder indices, all of the same length.

    ``piston`` carries whatever stays with the cylinder.  ``big_end`` counts only when throws have two or more
    rods; with one rod each the big ends cost the same whatever the pairing.
    """

    piston: tuple[int, ...]
    pin: tuple[int, ...]
    small_end: tuple[int, ...]
    big_end: tuple[int, ...]
    throws: tuple[tuple[int, ...], ...]
    tolerance: int

    @property
    def rods_per_throw(self) -> int:
        """Number of rods on each throw."""
        return len(self.throws[0])

    @property
    def total(self) -> int:
        """All reciprocating weights together, whatever the pairing."""
        return sum(self.piston) + sum(self.pin) + sum(self.small_end)

    def sums(self, pins: Sequence[int], rods: Sequence[int]) -> list[int]:
        """Return the reciprocating sum of every cylinder."""
        return [p + self.pin[q] + self.small_end[r] for p, q, r in zip(self.piston, pins, rods, strict=True)]

    def throw_sums(self, rods: Sequence[int]) -> list[int]:
        """Return the big-end sum of every throw."""
        return [sum(self.big_end[rods[k]] for k in throw) for throw in self.throws]

    def cost(self, pins: Sequence[int], rods: Sequence[int]) -> int:
        """Return what a pairing grinds in all."""
        return ground(self.sums(pins, rods), self.tolerance) + ground(self.throw_sums(rods), self.tolerance)


def ground(sums: Sequence[int], tolerance: int) -> int:
    """Return what is ground when every sum beyond the tolerance comes down to the least."""
    least = min(sums)
    return sum(each - least for each in sums if each - least > tolerance)


class OutOfTime(Exception):  # noqa: N818 - never leaves this package
    """The time or the nodes of the search are used up."""


@dataclass
class Clock:
    """Counts nodes, and stops the search when its time (or the number of nodes allowed) is used up."""

    stop_at: float
    nodes: int = 0
    most_nodes: int = 1 << 60

    def tick(self) -> None:
        """Count one node."""
        self.nodes += 1
        if self.nodes > self.most_nodes:
            raise OutOfTime
        if self.nodes % 256 == 0:
            self.look()

    def look(self) -> None:
        """Stop when the time is used up; before a longer step."""
        if time.perf_counter() > self.stop_at:
            raise OutOfTime
