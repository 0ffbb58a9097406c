"""When signatures lead to no plan: cuts added one by one, moved elsewhere, shaken - and polished again.

Near the capacity of a crankshaft, or between its sectors, the master's relaxations promise more than the walls
allow.  These moves promise nothing, but they work on real cuts only.  What they find at their best is also what is
shown when no plan exists.
"""

from __future__ import annotations

import math
import time

import numpy as np

from planner.correction.candidates.sections import BoolArray, FloatArray, IntArray
from planner.correction.search.polish import PENALTIES, Polished, polish
from planner.correction.search.together import Together
from planner.correction.search.working_plan import ComplexArray, Place, Pool
from planner.records import dataclass

MOST_BEST_EFFORT = 40
MOST_POLISHED = 8
SHAKES = 4
MOST_TOGETHER = 500_000
"""Places that are weighed at once."""
FIRST_WEIGHED = 32
"""So many settings are weighed first, then ever more."""
INSIDE = 0.98
"""A plan that leaves less than that of a limit keeps it after rounding too."""


def add_one(pool: Pool, places: list[Place], *, deadline: float = math.inf) -> list[Place] | None:
    """Return the cuts with the one more that brings the residual down most; None if none fits or helps."""
    left = pool.residual(places)
    before = float(np.sum(np.maximum(np.abs(left) / pool.tolerance, 1.0)))
    fitting = []
    for index in range(len(pool.blocks)):
        if time.monotonic() > deadline:
            break
        one = _fitting(pool, index, pool.room(index, places).free, left)
        if one is not None:
            fitting.append(one)
    # those that promise most first: what they come to leaves little to look at of the others
    best: tuple[float, Place] | None = None
    for one in sorted(fitting, key=lambda one: float(one.bound.min())):
        if time.monotonic() > deadline:
            break
        best = _best_place(pool, one, left, best)
    if best is None or best[0] >= before - 1e-6:
        return None
    return [*places, best[1]]


@dataclass(frozen=True)
class _Fitting:
    """The settings of a block that fit somewhere: their sizes in the limits, shape (rows, n), and what they leave at least.

    ``free`` and ``along`` are of the ``columns``, the angles at which some of them fit.
    """

    index: int
    settings: IntArray
    section: IntArray
    columns: IntArray
    free: BoolArray
    along: FloatArray
    size: FloatArray
    bound: FloatArray


def _fitting(pool: Pool, index: int, free: BoolArray, left: ComplexArray) -> _Fitting | None:
    """Return what fits of a block; the bound is what each would do if it stood at the best angle of every limit."""
    block = pool.blocks[index]
    columns = np.flatnonzero(free.any(axis=0))
    settings = np.flatnonzero(np.asarray(free.any(axis=1))[block.section_of])
    if not settings.size:
        return None
    fits: BoolArray = free[:, columns]
    along = (np.conj(left)[:, None] * pool.phases(index)[None, columns]).real
    size = pool.row_weights(index, settings) * block.amount_gmm[settings]
    section = block.section_of[settings]
    bound = np.zeros(settings.size)
    for row in range(left.size):
        least = np.where(fits, along[row], np.inf).min(axis=1)[section]
        most = np.where(fits, along[row], -np.inf).max(axis=1)[section]
        bound += _weighed(pool, row, left[row], size[row], np.where(size[row] < 0.0, most, least))
    return _Fitting(index, settings, section, columns, fits, along, size, bound)


def _best_place(
    pool: Pool, one: _Fitting, left: ComplexArray, best: tuple[float, Place] | None
) -> tuple[float, Place] | None:
    """Return the place that brings the residual down most with its score, the best so far or one of a block.

    The settings are looked at in the order of their bounds, and those that can't do better than what is found not at all.
    """
    order = np.arange(one.bound.size)
    if best is not None:
        order = order[one.bound <= best[0] + 1e-8]
    order = order[np.argsort(one.bound[order], kind="stable")]
    begin, rows = 0, FIRST_WEIGHED
    while begin < order.size:
        some = order[begin : begin + rows]
        if best is not None:
            some = some[one.bound[some] <= best[0] + 1e-8]
        if not some.size:
            break
        some = np.sort(some)
        score = np.zeros((some.size, one.columns.size))
        for row in range(left.size):
            score += _weighed(pool, row, left[row], one.size[row, some][:, None], one.along[row][None, :])
        score = np.where(one.free[one.section[some]], np.round(score, 9), np.inf)
        number, column = divmod(int(np.argmin(score)), one.columns.size)
        place = (one.index, int(one.settings[some[number]]), int(one.columns[column]))
        found = (float(score[number, column]), place)
        best = found if best is None else min(best, found)
        begin += rows
        rows = min(2 * rows, max(1, MOST_TOGETHER // one.columns.size))
    return best


def _weighed(pool: Pool, row: int, left: complex, size: FloatArray, along: FloatArray) -> FloatArray:
    """Return the share of a limit that remains after cuts of a size ``along`` what is left; what is kept counts as 1."""
    square = abs(left) ** 2 + 2.0 * size * along + size**2
    return np.asarray(np.maximum(np.sqrt(np.maximum(square, 0.0)) / pool.tolerance[row], 1.0))


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
