"""All plans of one or two cuts on the full grid: exact in number and in cost.

For a first cut the limits leave the second an interval of amounts along every dial angle.  Within a tool's settings a
smaller amount never costs more and never fits worse, so the smallest one in the interval decides; discs, which may
fit at one radius and not at the next, are tried one after another.  Two bounds keep the work small: what the first cut
leaves must be within reach of the second, and the cheapest second cut of the needed size must still beat the best plan.
"""

from __future__ import annotations

import time
from collections.abc import Iterator

import numpy as np

from planner.correction.candidates.sections import BoolArray, FloatArray, IntArray
from planner.correction.search.polish import MOST_LAID_OUT, _next_fitting, _unreachable
from planner.correction.search.working_plan import ComplexArray, Place, Pool
from planner.records import dataclass

CHUNK = 2000
MOST_WORK = 40_000_000
MOST_STEPS = 80


@dataclass
class PairResult:
    """The best plan of at most two cuts, and whether nothing better can exist."""

    places: tuple[Place, ...] | None
    cost: float
    exact: bool


def best_single(pool: Pool) -> PairResult:
    """Return the cheapest single cut that keeps all limits."""
    best = PairResult(None, np.inf, True)
    for index, block in enumerate(pool.blocks):
        if not _reach(pool, (index,)):
            continue
        found = []
        for settings, angles in _places(pool, index, np.arange(block.amount_gmm.size)):
            effect = block.amount_gmm[settings] * pool.phases(index)[angles]
            good = pool.kept(pool.start[:, None] + pool.row_weights(index, settings) * effect)
            found.append((settings[good], angles[good]))
        settings, angles = (np.concatenate(parts) for parts in zip(*found, strict=True))
        if settings.size:
            one = int(np.argmin(block.cost[settings]))
            cost = float(block.cost[settings[one]])
            if cost < best.cost - 1e-9:
                best = PairResult(((index, int(settings[one]), int(angles[one])),), cost, True)
    return best


def _places(
    pool: Pool, block: int, settings: IntArray, columns: IntArray | None = None
) -> Iterator[tuple[IntArray, IntArray]]:
    """Yield settings and angles of the places that fit, a slice of the settings at a time (at least one slice)."""
    legal = pool.legal(block)
    if columns is not None:
        legal = legal[:, columns]
    rows = max(1, MOST_LAID_OUT // max(1, legal.shape[1]))
    for begin in range(0, max(1, settings.size), rows):
        some = settings[begin : begin + rows]
        number, angles = np.nonzero(legal[some])
        yield some[number], angles if columns is None else columns[angles]


def best_pair(
    pool: Pool,
    *,
    most_cost: float = np.inf,
    together: bool = False,
    deadline: float,
    most_work: int = MOST_WORK,
    any_will_do: bool = False,
) -> PairResult:
    """Return the cheapest two cuts that keep all limits.

    Parameters
    ----------
    most_cost : float
        Only cheaper plans are looked for.
    together : bool
        Only plans with both cuts in one counterweight.
    deadline : float
        ``time.monotonic()`` at which to stop (then not exact).
    most_work : int
        Pairs of a place and an angle to look at before giving up (then not exact).
    any_will_do : bool
        The first two cuts that keep the limits will do (then not exact, unless there are none).
    """
    search = _PairSearch(pool, most_cost, deadline, most_work)
    count = len(pool.blocks)
    pairs = [(first, second) for first in range(count) for second in range(first, count)]
    if together:
        where = [block.counterweight for block in pool.blocks]
        pairs = [(first, second) for first, second in pairs if where[first] == where[second]]
    blind = [pair for pair in pairs if any(pool.blocks[one].has_offset for one in pair)]
    for pair in pairs:
        if pair not in blind:
            search.run(*pair)
            if any_will_do and search.best.places is not None:
                search.best.exact = False
                return search.best
    if blind and search.best.places is not None:
        # Blind holes have many times the settings of all others, and would rarely be cheaper: not looked at where
        # the number of cuts is reached without them, and the cost is not called proven then.
        search.best.exact = False
        return search.best
    for pair in blind:
        search.run(*pair)
    return search.best


def _reach(pool: Pool, blocks: tuple[int, ...]) -> bool:
    """Whether the largest cuts of some blocks are large enough for every limit, wherever they stand."""
    most = np.zeros(pool.start.size)
    for index in blocks:
        block = pool.blocks[index]
        every = np.arange(block.amount_gmm.size)
        most += np.abs(pool.row_weights(index, every) * block.amount_gmm).max(axis=1)
    return bool(np.all(np.abs(pool.start) <= pool.tolerance + most + 1e-6))


class _PairSearch:
    """The state of one search over pairs of blocks."""

    def __init__(self, pool: Pool, most_cost: float, deadline: float, most_work: int) -> None:
        self.pool = pool
        self.best = PairResult(None, most_cost, True)
        self.deadline = deadline
        self.left_work = most_work
        self._fitting: dict[tuple[int, int], IntArray] = {}

    def run(self, first: int, second: int) -> None:
        """Search all pairs of one place in each of two blocks."""
        pool = self.pool
        if first == second and pool.blocks[first].most_cuts < 2:
            return
        if time.monotonic() > self.deadline:
            self.best.exact = False
            return
        if pool.blocks[second].has_offset:
            first, second = second, first
        if pool.blocks[second].has_offset:
            self.best.exact = False  # two blind cuts: their own z would have to enter the intervals
            return
        if not _reach(pool, (first, second)):
            return
        b1, b2 = pool.blocks[first], pool.blocks[second]
        settings, angles, left = self._first_places(first, second)
        if settings.size == 0:
            return
        least_cost = self._least_cost(left, second) + b1.cost[settings]
        order = np.argsort(least_cost, kind="stable")
        order = order[np.isfinite(least_cost[order])]
        for begin in range(0, order.size, CHUNK):
            chunk = order[begin : begin + CHUNK]
            chunk = chunk[least_cost[chunk] < self.best.cost - 1e-9]
            if chunk.size == 0:
                return
            self.left_work -= chunk.size * b2.relative_deg.size
            if self.left_work < 0 or time.monotonic() > self.deadline:
                self.best.exact = False
                return
            self._chunk(first, second, settings[chunk], angles[chunk], left[:, chunk])

    def _first_places(self, first: int, second: int) -> tuple[IntArray, IntArray, ComplexArray]:
        """Return settings and angles of first cuts that a second one could complete, and what each leaves."""
        pool = self.pool
        b1, cheapest = pool.blocks[first], float(pool.blocks[second].cost.min())
        wanted = np.flatnonzero(b1.cost + cheapest < self.best.cost - 1e-9)
        columns = self._angles_in_line(first, second)
        found = []
        for settings, angles in _places(pool, first, wanted, columns):
            part = pool.row_weights(first, settings) * (b1.amount_gmm[settings] * pool.phases(first)[angles])
            off = _unreachable(pool, pool.start, part, second)
            if off is not None:
                keep = off <= 1e-6
                settings, angles, part = settings[keep], angles[keep], part[:, keep]
            found.append((settings, angles, pool.start[:, None] + part))
        every = [np.concatenate(parts, axis=-1) for parts in zip(*found, strict=True)]
        return every[0], every[1], every[2]

    def _angles_in_line(self, first: int, second: int) -> IntArray:
        """Return the angles of a first cut at which it can bring what the second can't reach down to the tolerances.

        The combination of two limits that does not feel the second cut is brought down along the cut's own ray only, so
        what stands across that ray stays, however large the cut.
        """
        pool = self.pool
        phase = pool.phases(first)
        weight = pool.weight[:, second]
        fine = np.ones(phase.size, dtype=bool)
        for a in range(pool.start.size):
            for b in range(a):
                if abs(weight[a]) + abs(weight[b]) < 1e-9:
                    continue
                left = weight[b] * pool.start[a] - weight[a] * pool.start[b]
                most = abs(weight[b]) * pool.tolerance[a] + abs(weight[a]) * pool.tolerance[b]
                fine &= np.abs((np.conj(phase) * left).imag) <= most + 1e-5
        return np.flatnonzero(fine)

    def _least_cost(self, left: ComplexArray, second: int) -> FloatArray:
        """Return the least cost of a second cut that is large enough, inf where there is none."""
        pool = self.pool
        needed = np.zeros(left.shape[1])
        possible = np.ones(left.shape[1], dtype=bool)
        for row in range(left.shape[0]):
            weight = abs(pool.weight[row, second])
            over = np.abs(left[row]) - pool.tolerance[row]
            if weight < 1e-9:
                possible &= over <= 0.0
            else:
                needed = np.maximum(needed, over / weight)
        size = np.abs(pool.blocks[second].amount_gmm)
        order = np.argsort(size, kind="stable")
        cheapest = np.minimum.accumulate(pool.blocks[second].cost[order][::-1])[::-1]
        at = np.searchsorted(size[order], needed - 1e-9)
        table = np.append(cheapest, np.inf)
        return np.where(possible, table[at], np.inf)

    def _chunk(
        self, first: int, second: int, settings: IntArray, angles: IntArray, left: ComplexArray
    ) -> None:
        pool = self.pool
        b1, b2 = pool.blocks[first], pool.blocks[second]
        sign = -1.0 if b2.amount_gmm[0] < 0.0 else 1.0
        phase = pool.phases(second) * sign
        low = np.zeros((settings.size, phase.size))
        high = np.full(low.shape, np.inf)
        for row in range(left.shape[0]):
            weight = pool.weight[row, second]
            if abs(weight) < 1e-9:
                continue  # judged before
            along = left[row][:, None] * np.conj(phase)[None, :]
            under = pool.tolerance[row] ** 2 - along.imag**2
            chord = np.sqrt(np.maximum(under, 0.0))
            middle = -along.real / weight
            half = chord / abs(weight)
            low = np.maximum(low, middle - half)
            high = np.where(under < 0.0, -np.inf, np.minimum(high, middle + half))
        low, high = pool.one_sided(left, phase, second, low, high)
        item, angle = np.nonzero(low <= high)
        if item.size == 0:
            return
        low, high = low[item, angle], high[item, angle]
        for number, family in enumerate(pool.families(second)):
            following = self._following(second, number)
            at = following[np.searchsorted(family.size_gmm, low - 1e-9), angle]
            self._take(
                first, second, settings[item], angles[item], angle, at, high, number, b1.cost[settings[item]]
            )

    def _following(self, block: int, number: int) -> IntArray:
        if (block, number) not in self._fitting:
            family = self.pool.families(block)[number]
            self._fitting[block, number] = _next_fitting(family, self.pool.legal(block))[0]
        return self._fitting[block, number]

    def _take(
        self,
        first: int,
        second: int,
        settings: IntArray,
        angles: IntArray,
        angle_2: IntArray,
        at: IntArray,
        high: FloatArray,
        number: int,
        cost_1: FloatArray,
    ) -> None:
        """Look at second cuts at positions ``at`` of a family, and at later ones where a disc does not fit."""
        pool = self.pool
        b2 = pool.blocks[second]
        family = pool.families(second)[number]
        following = self._following(second, number)
        size = np.append(family.size_gmm, np.inf)
        cost_of = np.append(b2.cost[family.settings], np.inf)
        alive = np.arange(at.size)
        for _ in range(MOST_STEPS):
            total = cost_1[alive] + cost_of[at[alive]]
            inside = (
                (at[alive] >= 0) & (size[at[alive]] <= high[alive] + 1e-9) & (total < self.best.cost - 1e-9)
            )
            alive, total = alive[inside], total[inside]
            if alive.size == 0:
                return
            order = np.argsort(np.round(total, 9), kind="stable")
            alive, total = alive[order], total[order]
            chosen = family.settings[at[alive]]
            good = self._first_good(
                first, second, settings[alive], angles[alive], chosen, angle_2[alive], np.round(total, 9)
            )
            if good is not None:
                k = alive[good]
                self.best.places = (
                    (first, int(settings[k]), int(angles[k])),
                    (second, int(chosen[good]), int(angle_2[k])),
                )
                self.best.cost = float(total[good])
            if b2.kind == "rim hole" or not pool.conflicts(first, second):
                return
            at = at.copy()
            at[alive] = following[np.minimum(at[alive] + 1, size.size - 1), angle_2[alive]]

    def _first_good(
        self,
        first: int,
        second: int,
        s1: IntArray,
        a1: IntArray,
        s2: IntArray,
        a2: IntArray,
        total: FloatArray,
    ) -> int | None:
        """Return the first pair that keeps its wall and, judged exactly, all limits; of those that cost as much the closest.

        So a symmetric question gets the symmetric plan: a heavy spot at 0 a hole at 0, not one at 1 and one at 359.
        """
        pool = self.pool
        for begin in range(0, s1.size, 4000):
            part = slice(begin, begin + 4000)
            good: BoolArray = pool.apart((first, s1[part], a1[part]), (second, s2[part], a2[part]))
            effect_1 = pool.blocks[first].amount_gmm[s1[part]] * pool.phases(first)[a1[part]]
            effect_2 = pool.blocks[second].amount_gmm[s2[part]] * pool.phases(second)[a2[part]]
            left = (
                pool.start[:, None]
                + pool.row_weights(first, s1[part]) * effect_1
                + pool.row_weights(second, s2[part]) * effect_2
            )
            good = good & pool.kept(left)
            if good.any():
                as_cheap = np.flatnonzero(good & (total[part] == total[part][int(np.argmax(good))]))
                share = (np.abs(left[:, as_cheap]) / pool.full_tolerance[:, None]).max(axis=0)
                return begin + int(as_cheap[np.argmin(np.round(share, 9))])
        return None
