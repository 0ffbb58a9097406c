"""Firing orders: can an engine fire in that order, and at which intervals.

Angles [deg] count in the direction of rotation; a cylinder is at top dead centre when its pin has come to its
bank angle.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planner.errors import InputError
from planner.records import dataclass

_SAME_DEG = 1e-6


@dataclass(frozen=True, kw_only=True)
class Firing:
    """A checked firing order.

    ``intervals_deg[k]`` [deg of crank travel] is from cylinder ``order[k]`` to the next one.  ``unique`` is
    False when the pins allow other intervals with the same order (a whole turn may go elsewhere).
    """

    order: tuple[str, ...]
    intervals_deg: tuple[float, ...]
    even: bool
    unique: bool


def check_firing_order(
    order: Sequence[str], *, dead_centres_deg: Mapping[str, float], revolutions: int = 2
) -> Firing:
    """Return the intervals of a firing order.

    Parameters
    ----------
    order : sequence of str
        Every cylinder once.
    dead_centres_deg : mapping of cylinder to float
        Crank travel to top dead centre [deg], any turn (``bank - throw``).
    revolutions : int
        Turns of one working cycle: 2 for four-stroke, 1 for two-stroke engines.

    Notes
    -----
    From one cylinder to the next the crank turns by the difference of their dead centres, plus whole turns.
    The intervals must add up to one cycle.  Where whole turns are left over they go to the smallest interval,
    which is the evenest firing; then ``unique`` is False.

    Raises
    ------
    InputError
        If the order misses, repeats or invents a cylinder, or needs more than one cycle.
    """
    known = ", ".join(f"`{name}`" for name in dead_centres_deg)
    for name in order:
        if name not in dead_centres_deg:
            raise InputError(f"firing order names cylinder `{name}`, the cylinders are {known}")
    if len(set(order)) != len(order) or len(order) != len(dead_centres_deg):
        raise InputError(
            f"firing order {'-'.join(order)} must name each of the {len(dead_centres_deg)} cylinders once",
            hint=f"the cylinders are {known}",
        )
    centres = [dead_centres_deg[name] for name in order]
    steps = []
    for k, centre in enumerate(centres):
        step = (centres[(k + 1) % len(centres)] - centre) % 360.0
        steps.append(0.0 if 360.0 - step < _SAME_DEG else step)
    turns_left = revolutions - round(sum(steps) / 360.0)
    if turns_left < 0:
        raise InputError(
            f"firing order {'-'.join(order)} does not fit these pins and banks: it needs "
            f"{revolutions - turns_left} turns, a cycle has {revolutions}",
            hint="check the order, the cylinders' numbers, the banks and the direction of rotation",
        )
    unique = turns_left == 0 or len(order) == 1
    if turns_left and turns_left == steps.count(0.0):
        unique = True  # a whole turn for each pair that comes to the top together: they can't fire at once
    for _ in range(turns_left):
        smallest = min(range(len(steps)), key=lambda k: (steps[k], -k))
        steps[smallest] += 360.0
    if min(steps) < _SAME_DEG:
        unique = False
    return Firing(
        order=tuple(order),
        intervals_deg=tuple(steps),
        even=max(steps) - min(steps) < _SAME_DEG,
        unique=unique,
    )
