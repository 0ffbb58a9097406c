"""What the next spin needs to pass, as the search sees it: circles for what may be left, and the chance of a plan.

Both are worked out above the search, from the job's error model; the search stays a pure function of its problem and of
these.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from planner.cuts.cut import Cut
from planner.records import dataclass


@dataclass(frozen=True, kw_only=True)
class Passing:
    """What it takes to pass.

    Attributes
    ----------
    wanted : float
        The chance that is wanted.
    room_gmm : tuple of float
        Up to which amount a reading passes, one per limit [g*mm].
    circle_gmm : callable
        Amounts, one per limit [g*mm]: no plan that leaves more at a limit has the wanted chance, whatever its cuts; None:
        no plan has it at all, the reading alone is too uncertain.
    chance : callable
        The chance that the next spin passes after these cuts.
    centred_chance : callable
        The same if the cuts left nothing on average: what cannot be had by coming closer.
    """

    wanted: float
    room_gmm: tuple[float, ...]
    circle_gmm: Callable[[], tuple[float, ...] | None]
    chance: Callable[[Sequence[Cut]], float]
    centred_chance: Callable[[Sequence[Cut]], float]
