"""How far the allowed cuts can reach at all: the linear program behind the certificates, for many readings at once.

The bounds on what each counterweight can give belong to the crankshaft and the shop, not to the reading: they are made
once, and every reading after that costs a few milliseconds.
"""

from __future__ import annotations

import dataclasses

from planner.correction.candidates.blocks import build_blocks
from planner.correction.candidates.reach_bounds import build_windows
from planner.correction.candidates.shared_reach import shared_bounds
from planner.correction.ordering import planned, residual_gmm
from planner.correction.problem import CorrectionProblem
from planner.correction.search.master import Master
from planner.frames import TwoPlanes


class Capacity:
    """What a shop can take off (and put into) one crankshaft.

    Parameters
    ----------
    problem : CorrectionProblem
        Counterweights, shop, limits, planes and pinned cuts; its unbalance is only the default.
    """

    def __init__(self, problem: CorrectionProblem) -> None:
        self.problem = problem
        self._pinned = tuple(planned(problem, cut, pinned=True) for cut in problem.fixed)
        self._blocks = build_blocks(problem)
        self._windows = [w for number, block in enumerate(self._blocks) for w in build_windows(block, number)]
        self._shared = shared_bounds(self._blocks)

    def excess_gmm(self, unbalance_gmm: TwoPlanes[complex] | None = None) -> tuple[float, tuple[float, ...]]:
        """Return what at least remains above the limits whatever is cut [g*mm].

        Parameters
        ----------
        unbalance_gmm : tuple of 2 complex, optional
            What has to be corrected in the two planes [g*mm]; the problem's own if left out.

        Returns
        -------
        excess_sum_gmm : float
            A lower bound on the sum over the limits; 0 where nothing is proven.  As a function of the unbalance it is
            convex.
        excess_gmm : tuple of float
            Per limit, the least above it when only that one is looked at.
        """
        total, each = self._master(unbalance_gmm).excess_gmm()
        return total, tuple(each)

    def excess_sum_gmm(self, unbalance_gmm: TwoPlanes[complex] | None = None) -> float:
        """Return the lower bound on the sum over the limits alone, in a third of the time [g*mm]."""
        return self._master(unbalance_gmm).excess_gmm(each_limit=False)[0]

    def _master(self, unbalance_gmm: TwoPlanes[complex] | None) -> Master:
        unbalance = self.problem.unbalance_gmm if unbalance_gmm is None else unbalance_gmm
        asked = dataclasses.replace(self.problem, unbalance_gmm=unbalance)
        left = residual_gmm(asked, self._pinned)
        return Master(asked, left, self._blocks, self._windows, self._shared)
