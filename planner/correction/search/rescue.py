"""When signatures lead to no plan: cuts added one by one, moved elsewhere, shaken - and polished again.

Near the capacity of a crankshaft, or between its sectors, the master's relaxations promise more than the walls
allow.  These moves promise nothing, but they work on real cuts only.  What they find at their best is also what is
shown when no plan exists.
"""

from __future__ import annotations

import math
import time

import numpy as np

from planner.correction.candidates.sections import BoolArray
from planner.correction.search.polish import PENALTIES, Polished, polish
from planner.correction.search.together import Together
from planner.correction.search.working_plan import ComplexArray, Place, Pool

MOST_BEST_EFFORT = 40
MOST_POLISHED = 8
SHAKES = 4
MOST_TOGETHER = 500_000
"""Places that are weighed at once."""
INSIDE = 0.98
"""A plan that leaves less than that of a limit keeps it after rounding too."""


def add_one(pool: Pool, places: list[Place], *, deadline: float = math.inf) -> list[Place] | None:
    """Return the cuts with the one more that brings the residual down most; None if none fits or helps."""
    left = pool.residual(places)
    before = float(np.sum(np.maximum(np.abs(left) / pool.tolerance, 1.0)))
    best: tuple[float, Place] | None = None
    for index in range(len(pool.blocks)):
        if time.monotonic() > deadline:
            break
        found = _best_place(pool, index, pool.free(index, places), left)
        if found is not None and (best is None or found[0] < best[0] - 1e-9):
            best = (found[0], (index, found[1], found[2]))
    if best is None or best[0] >= before - 1e-6:
        return None
    return [*places, best[1]]


def _best_place(pool: Pool, index: int, free: BoolArray, left: ComplexArray) -> tuple[float, int, int] | None:
    """Return the place of a block that brings the residual down most: score, setting, angle; None if nothing fits."""
    block, phase = pool.blocks[index], pool.phases(index)
    along = (np.conj(left)[:, None] * phase[None, :]).real
    best: tuple[float, int, int] | None = None
    rows = max(1, MOST_TOGETHER // max(1, phase.size))
    columns = np.flatnonzero(free.any(axis=0))
    for begin in range(0, block.amount_gmm.size if columns.size else 0, rows):
        settings = np.arange(begin, min(begin + rows, block.amount_gmm.size))
        fits = free[block.section_of[settings]][:, columns]
        size = pool.row_weights(index, settings) * block.amount_gmm[settings]
        score = np.zeros(fits.shape)
        for row in range(left.size):
            square = (
                abs(left[row]) ** 2
                + 2.0 * size[row][:, None] * along[row, columns][None, :]
                + (size[row] ** 2)[:, None]
            )
            score += np.maximum(np.sqrt(np.maximum(square, 0.0)) / pool.tolerance[row], 1.0)
        score = np.where(fits, np.round(score, 9), np.inf)
        one = int(np.argmin(score))
        least = float(score.flat[one])
        if np.isfinite(least) and (best is None or least < best[0]):
            best = (least, int(settings[one // columns.size]), int(columns[one % columns.size]))
    return best


def greedy(pool: Pool, cuts: int, *, deadline: float, start: list[Place] | None = None) -> list[Place]:
    """Return up to so many cuts, each the best one more."""
    places = list(start or [])
    while len(places) < cuts and time.monotonic() < deadline:
        more = add_one(pool, places, deadline=deadline)
        if more is None:
            break
        places = more
    return places


def best_effort(pool: Pool, *, deadline: float) -> Polished:
    """Return a set of cuts that comes near the limits where no set reaches them."""
    places: list[Place] = []
    while len(places) < MOST_BEST_EFFORT and time.monotonic() < deadline:
        more = add_one(pool, places, deadline=deadline)
        if more is None:
            break
        places = more
    if 1 < len(places) <= MOST_POLISHED:
        return polish(pool, places, deadline=deadline, penalties=(400.0,), most_passes=3)
    return Polished(tuple(places), pool.cost(places), pool.above(pool.residual(places)))


def rescue(
    pool: Pool, starts: list[list[Place]], cuts: int, *, deadline: float, seed: int
) -> Polished | None:
    """Return the best of several polished starts of exactly so many cuts, None if there is none.

    Starts with fewer cuts are filled up; then each cut may move to any other block, and at last the best set is shaken
    with a fixed random sequence.
    """
    together = Together(pool, deadline)
    best: Polished | None = None
    filled = [greedy(pool, cuts, deadline=deadline, start=start[:cuts]) for start in [*starts, []]]
    for places in filled:
        if len(places) != cuts or time.monotonic() > deadline:
            continue
        result = polish(pool, places, deadline=deadline)
        best = _better(best, result)
        if result.above_gmm > 0.0 and math.isfinite(result.above_gmm):
            moved = together.elsewhere(list(result.places), INSIDE)
            if moved is not None:
                best = _better(best, polish(pool, moved, deadline=deadline, penalties=PENALTIES[-1:]))
        if best.above_gmm <= 0.0:
            return best
    random = np.random.default_rng(seed)
    for _ in range(SHAKES):
        if best is None or best.above_gmm <= 0.0 or time.monotonic() > deadline:
            break
        kept = list(best.places)
        for _ in range(max(1, cuts // 4)):
            kept.pop(int(random.integers(len(kept))))
        places = greedy(pool, cuts, deadline=deadline, start=kept)
        if len(places) == cuts:
            best = _better(best, polish(pool, places, deadline=deadline))
    return best


def _better(best: Polished | None, new: Polished) -> Polished:
    if best is None or (new.above_gmm, new.cost) < (best.above_gmm - 1e-9, best.cost):
        return new
    return best
