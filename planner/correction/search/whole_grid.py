"""All plans of three or four cuts of a coarse grid: which one leaves least?

On a coarse dial with few depths rounding decides how close a plan comes, and moves of two cuts, or of all of them a little,
do not lead from one good rounding to the next.  There are few places then: what all pairs of them do together are
points in a space of two numbers per limit, and a plan of four cuts is a pair of such points, one of three a point and a
place, whose sum comes near what has to be corrected.  A tree of the points finds all that do.
"""

from __future__ import annotations

import math

import numpy as np

from planner.correction.candidates.sections import FloatArray, IntArray
from planner.correction.search.working_plan import Place, Pool

MOST_PAIRS = 250_000
CUTS = (3, 4)
"""Numbers of cuts that are looked at: of more there are too many."""
FIRST_NEAREST = 8
TARGETS = 2000
"""So many points are asked about at once."""
MOST_MET = 4_000_000
"""So many plans that come near enough are looked at."""
LESS = 1e-9


class WholeGrid:
    """All places of a problem, where they are few.

    Parameters
    ----------
    pool : Pool
        Blocks and limits.
    """

    def __init__(self, pool: Pool) -> None:
        self.pool = pool
        self.places: list[Place] = [
            (index, setting, angle)
            for index in range(len(pool.blocks))
            for setting, angle in np.argwhere(pool.legal(index)).tolist()
        ]
        block, setting, angle = (np.array(column) for column in zip(*self.places, strict=True))
        self._apart = self._which_apart(block, setting, angle)
        effects = np.array([pool.contribution(place) for place in self.places]) / pool.full_tolerance
        self._effects = _as_numbers(effects)
        first, second = np.nonzero(np.triu(self._apart, 1))
        self._pairs = np.stack([first, second], axis=1)

    @staticmethod
    def is_small(pool: Pool) -> bool:
        """Whether a problem has so few places that all plans can be looked at."""
        total = sum(int(np.count_nonzero(pool.legal(index))) for index in range(len(pool.blocks)))
        return 0 < total * total <= 2 * MOST_PAIRS

    def _which_apart(self, block: IntArray, setting: IntArray, angle: IntArray) -> FloatArray:
        """Return which places can be cut together, shape (n, n)."""
        apart = np.ones((block.size, block.size), dtype=bool)
        for one in np.unique(block).tolist():
            for two in np.unique(block).tolist():
                if two < one or not (one == two or self.pool.conflicts(one, two)):
                    continue
                i, j = (grid.ravel() for grid in np.meshgrid(
                    np.flatnonzero(block == one), np.flatnonzero(block == two), indexing="ij"
                ))  # fmt: skip
                fits = self.pool.apart((one, setting[i], angle[i]), (two, setting[j], angle[j]))
                apart[i, j] = apart[j, i] = fits
        np.fill_diagonal(apart, False)
        return apart

    def closest(self, cuts: int, share: float) -> tuple[tuple[Place, ...] | None, bool]:
        """Return the plan of so many cuts that leaves least, if that is less than a share of the limits.

        Parameters
        ----------
        cuts : int
            Three or four.
        share : float
            Of the limits at the worst one; plans that leave as much or more are not looked for.

        Returns
        -------
        places : tuple of Place or None
            The plan, None if none leaves less.
        exact : bool
            Whether all plans were looked at: then none leaves less than the one returned, or than ``share``.
        """
        from scipy.spatial import cKDTree

        if not self._pairs.size:
            return None, True
        sums = self._effects[self._pairs[:, 0]] + self._effects[self._pairs[:, 1]]
        tree = cKDTree(sums)
        start = _as_numbers((self.pool.start / self.pool.full_tolerance)[None, :])[0]
        others = self._effects if cuts == CUTS[0] else sums
        members = np.arange(len(self.places))[:, None] if cuts == CUTS[0] else self._pairs
        limits = self.pool.start.size
        best, found, met = share, None, 0
        # what comes nearest first, so that less has to be looked at afterwards
        near = min(FIRST_NEAREST, sums.shape[0])
        for begin in range(0, others.shape[0], TARGETS):
            targets = -start - others[begin : begin + TARGETS]
            nearest = np.asarray(tree.query(targets, k=near)[1]).reshape(targets.shape[0], near)
            own = np.repeat(np.arange(begin, begin + targets.shape[0]), near)
            best, found = self._better(start, sums, others, members, own, nearest.ravel(), best, found)
        for begin in range(0, others.shape[0], TARGETS):
            targets = -start - others[begin : begin + TARGETS]
            reach = best * math.sqrt(limits) * (1.0 + 1e-9)
            count = np.asarray(tree.query_ball_point(targets, reach, return_length=True))
            met += int(count.sum())
            if met > MOST_MET:
                return found, False
            some = np.flatnonzero(count)
            lists = tree.query_ball_point(targets[some], reach, return_sorted=True)
            own = np.repeat(begin + some, count[some])
            if own.size:
                inside = np.concatenate([np.asarray(each, dtype=np.int64) for each in lists])
                best, found = self._better(start, sums, others, members, own, inside, best, found)
        return found, True

    def _better(
        self,
        start: FloatArray,
        sums: FloatArray,
        others: FloatArray,
        members: IntArray,
        own: IntArray,
        pair: IntArray,
        best: float,
        found: tuple[Place, ...] | None,
    ) -> tuple[float, tuple[Place, ...] | None]:
        """Return the best of some plans, or the one that was the best before."""
        left = start + others[own] + sums[pair]
        share = np.hypot(left[:, 0::2], left[:, 1::2]).max(axis=1)
        order = np.flatnonzero(share < best - LESS)
        for one in order[np.argsort(share[order], kind="stable")].tolist():
            chosen = [*members[own[one]].tolist(), *self._pairs[pair[one]].tolist()]
            if len(set(chosen)) < len(chosen):
                continue
            if all(self._apart[i, j] for k, i in enumerate(chosen) for j in chosen[:k]):
                return float(share[one]), tuple(self.places[i] for i in sorted(chosen))
        return best, found


def _as_numbers(vectors: FloatArray) -> FloatArray:
    """Return complex numbers, shape (n, m), as two numbers each, shape (n, 2m)."""
    return np.stack([vectors.real, vectors.imag], axis=-1).reshape(vectors.shape[0], -1)
