"""The proof by room: too much remains above the limits, whatever is cut, since no two cuts stand on the same metal.

The program over everything that could be cut in part (`packing`) is solved for what remains above the limits.  Prices of its
points and limits prove a bound, solved to the end or not; those of the program over few cuts prove little at first, and jump.
So bounds are asked for at prices between the best so far and the new ones (Wentges: Weighted Dantzig-Wolfe decomposition for
linear mixed-integer programming, International Transactions in Operational Research 4, 1997; from memory), and the cuts that
would pay there join the program.  Cuts and points that have not counted for some steps leave it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from planner.correction.budget import Budget
from planner.correction.candidates.sections import BoolArray, IntArray
from planner.correction.search.inner_optimum import inner_optimum
from planner.correction.search.master import SCALE_GMM
from planner.correction.search.packing import (
    DIRECTIONS,
    EPSILON,
    Counted,
    Packing,
    Prices,
    Solved,
    counted_once,
    knows_all,
    row_per_set,
)
from planner.correction.search.working_plan import ComplexArray, Place, Pool
from planner.records import dataclass

RINGS_MM = 1.0
"""Twice as near to each other as for plans: between them discs stand on each other's edges, which can be all that is missing."""
ROUNDS = 40
STEADY = 0.7
"""So far the prices stay with those that have proven most."""
STAY, STAY_POINTS = 3, 4
"""So many steps cuts stay in the program that are not made in part, and points that cost nothing."""
ENOUGH, MORE = 0.01, 1
GOOD = 0.5
"""A proof that so much of the limits remains is enough after so many steps more, or one of so much of the program's own value."""
MISSES = 7
"""A program that left less than enough so many times is not going to prove anything."""
NOTHING, COSTS = 1e-6, 1e-5
"""Parts of cuts so small, and prices so small beside the dearest point's, count as none: it is not solved to its very end."""
NEARLY = 1e-3
"""A cut that costs no more than so much too much [kg*mm] stays."""


def least_excess(pool: Pool, budget: Budget) -> tuple[float, Counted | None]:
    """Return what remains above the limits in all at least, whatever is cut.

    Returns
    -------
    excess_gmm : float
        So much [g*mm]; 0: nothing is proven.
    counted : Counted or None
        The cuts and points that the program was left with: if nothing is proven others about the same crankshaft may begin
        with them.

    Raises
    ------
    TimeIsUpError
        If the time is up before it is known.
    """
    if not knows_all(pool):
        return 0.0, None
    packing = Packing(pool, budget, rings_mm=RINGS_MM)
    enough = ENOUGH * float(pool.full_tolerance.sum()) / SCALE_GMM
    free = [pool.free(index, []) for index in range(len(pool.blocks))]
    program = _Few(packing, free)
    best, at = -math.inf, None
    misses, more = 0, 0
    for _ in range(ROUNDS):
        solved = program.solved()
        if best < enough:
            budget.check()
        if solved is None:
            break
        new: list[Place] = []
        if solved.value < enough:
            misses += 1  # what little remains more cuts make less: only points join
        else:
            more += int(best >= enough)
            before = at
            bound, new = packing.priced(solved.prices, pool.start, free, per_area=True)
            if bound > best:
                best, at = bound, solved.prices
            if before is not None:
                if best < enough:
                    budget.check()
                steady = solved.prices.toward(before, STEADY)
                its_bound, steady_new = packing.priced(steady, pool.start, free, per_area=True)
                if its_bound > best:
                    best, at = its_bound, steady
                new = program.unknown(steady_new) or new
        if best >= GOOD * solved.value > 0.0 or more >= MORE or misses >= MISSES:
            break
        if not program.grows(solved, program.unknown(new)):
            break
    return max(0.0, best * SCALE_GMM - 0.01 * pool.start.size), program.counted


@dataclass
class _Cut:
    """A cut that takes part: what points it covers, what it does, and since how many steps it does not count."""

    place: Place
    covers: IntArray
    effect: ComplexArray
    idle: int = 0


class _Few:
    """The program over few cuts and few points."""

    def __init__(self, packing: Packing, free: list[BoolArray]) -> None:
        self.packing = packing
        self._asked = packing.first_points()
        self._idle = np.zeros(packing.points, dtype=np.int64)
        self._cuts = self._made(packing.fitting(packing.first_cuts(), free))

    def _made(self, places: Sequence[Place]) -> list[_Cut]:
        packing = self.packing
        return [_Cut(place, packing.covered(place), packing.pool.contribution(place)) for place in places]

    @property
    def counted(self) -> Counted:
        """The cuts and points that take part."""
        return self.packing.counted([cut.place for cut in self._cuts], self._asked)

    def unknown(self, places: Sequence[Place]) -> list[Place]:
        """Return the cuts that do not take part yet, each once."""
        known = {cut.place for cut in self._cuts}
        return [place for place in dict.fromkeys(places) if place not in known]

    def solved(self) -> Solved | None:
        """Return about the program's solution; None if there is none, or the time is up."""
        from scipy.sparse import csr_matrix, hstack, vstack

        packing, limits, count = self.packing, self.packing.pool.start.size, len(self._cuts)
        points = np.flatnonzero(self._asked)
        of_block = np.array([cut.place[0] for cut in self._cuts])
        counted = np.equal.outer(np.array(packing.numbered, dtype=np.int64), of_block)
        done = packing.by_direction([cut.effect for cut in self._cuts]).T
        covers = row_per_set([cut.covers for cut in self._cuts], packing.points)[:, points].T
        above = -np.repeat(np.eye(limits), DIRECTIONS, axis=0)
        most = np.concatenate([
            packing.left_by_limits(packing.pool.start), packing.most_of_numbered, np.ones(points.size)
        ])  # fmt: skip
        above = np.vstack([above, np.zeros((most.size - above.shape[0], limits))])
        best = inner_optimum(
            np.append(np.zeros(count), np.ones(limits)),
            hstack(
                [vstack([csr_matrix(done), csr_matrix(counted.astype(float)), covers]), csr_matrix(above)]
            ),
            most,
            packing.budget.left,
        )
        if best is None:
            return None
        bends = limits * DIRECTIONS
        by_limit, numbers, of_points = np.split(best.prices, [bends, bends + len(packing.numbered)])
        priced = np.zeros(packing.points)
        priced[points] = of_points
        prices = Prices(priced, counted_once(by_limit.reshape(limits, DIRECTIONS)).ravel(), numbers)
        return Solved(best.value, best.amounts[:count], best.too_dear[:count], prices)

    def grows(self, solved: Solved, new: list[Place]) -> bool:
        """Let cuts and points join, and those leave that have not counted for long; return whether any joined."""
        seen = self.packing.too_often(solved.parts, [cut.covers for cut in self._cuts]) & ~self._asked
        counts = (solved.parts > NOTHING) | (solved.too_dear < NEARLY)
        for cut, does in zip(self._cuts, counts.tolist(), strict=True):
            cut.idle = 0 if does else cut.idle + 1
        self._cuts = [cut for cut in self._cuts if cut.idle < STAY] + self._made(new)
        prices = solved.prices.points
        costs = prices > COSTS * max(float(prices.max()), EPSILON)
        self._idle = np.where(costs | seen, 0, self._idle + 1)
        self._asked = (self._asked & (self._idle < STAY_POINTS)) | seen
        return bool(new) or bool(seen.any())
