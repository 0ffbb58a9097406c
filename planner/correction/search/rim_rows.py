"""What rows of rim holes can do at most, whole rows at a time: the proof of last resort where only rims are drilled.

The holes of a row follow one another round the counterweight, and each keeps its wall to the next.  What a row is worth at
most at given prices of the limits is found exactly, angle after angle: the best row that ends in a certain hole here is that
hole and the best row that ends far enough before it.  So the linear program over all rows there are, each made in part or
whole, is solved by rows joining it as its prices ask for them (Dantzig and Wolfe: Decomposition principle for linear programs,
Operations Research 8, 1960; from memory), and every step's prices prove a bound by themselves: what remains above the limits
less what all rows are worth.  It knows more than a bound by points of the metal: between two holes that are near each other
nothing else fits.

Only relaxed, never sharpened: holes next but one to each other, rows side by side along the shaft, and a hole that is drilled
on, are in nobody's way; the two ends of a row all round may meet; neighbouring depths of one drill count as one, with the
effect of the one that does most and the room of the shallowest.  There are few such classes first, more where they prove nothing.
"""

from __future__ import annotations

import numpy as np

from planner.correction.budget import Budget
from planner.correction.candidates.block import Block
from planner.correction.candidates.sections import BoolArray, FloatArray, IntArray, separation_deg
from planner.correction.search.decomposition import Worth, least_excess
from planner.correction.search.master import SCALE_GMM
from planner.correction.search.working_plan import ComplexArray, Place, Pool

CLASSES = (60, 180, 480)
"""How many classes of depth a row's holes are put into, all drills together; one number after another."""
SLACK_DEG = 1e-6
"""Holes may be nearer to each other by so much than the planner lets them be."""


def least_excess_gmm(pool: Pool, budget: Budget) -> float:
    """Return what remains above the limits in all at least, whatever rim holes are drilled [g*mm]; 0: nothing is proven.

    Raises
    ------
    TimeIsUpError
        If the time is up before it is known.
    """
    assert all(block.kind == "rim hole" for block in pool.blocks)
    for classes in CLASSES:
        rows = [_Row(pool, index, classes) for index in range(len(pool.blocks))]
        least = least_excess(pool, rows, budget)
        if least > 0.0:
            return least
        if all(row.exact for row in rows):
            break
    return 0.0


class _Row:
    """The holes of one block in classes: settings ordered by drill and depth, ``starts`` where each class begins."""

    def __init__(self, pool: Pool, index: int, classes: int) -> None:
        self.pool, self.index = pool, index
        b = pool.blocks[index]
        tools = np.unique(b.tool_mm)
        self.settings: IntArray = np.lexsort((b.depth_mm, b.tool_mm))
        most = max(1, classes // tools.size)
        starts: list[int] = []
        for tool in tools.tolist():
            own = np.flatnonzero(b.tool_mm[self.settings] == tool)
            starts += np.unique(np.linspace(own[0], own[-1] + 1, most + 1).astype(int))[:-1].tolist()
        self.starts = np.array(starts)
        self.exact = self.starts.size == self.settings.size
        self.alone = b.most_cuts == 1
        self.legal: BoolArray = pool.legal(index)[self.settings]
        # places on the dial, with those between that do not come into question
        self.at: IntArray = np.rint((b.relative_deg - b.relative_deg[0]) / b.step_deg).astype(int)
        self.steps = self._steps_apart(b)

    def _steps_apart(self, b: Block) -> IntArray:
        """Return how many steps of the dial a hole of one class is from one of another at least."""
        shallowest = b.sections.take(b.section_of[self.settings[self.starts]])
        apart = separation_deg(
            shallowest.take((slice(None), None)), shallowest.take((None, slice(None))), b.wall_mm
        )
        return np.maximum(1, np.ceil((apart - SLACK_DEG) / b.step_deg)).astype(int)

    def best(self, by_limit: ComplexArray) -> Worth:
        """Return the row that is worth most where the limits pay ``by_limit``."""
        b = self.pool.blocks[self.index]
        gain = self.pool.gain(self.index, by_limit)
        phase = self.pool.phases(self.index)
        amount = b.amount_gmm[self.settings]
        paid = -(
            amount[:, None] * (gain[0] * phase).real
            + (amount * b.offset_mm[self.settings])[:, None] * (gain[1] * phase).real
        )
        paid = np.where(self.legal, paid, -np.inf) / SCALE_GMM
        by_class = np.maximum.reduceat(paid, self.starts, axis=0)
        if self.alone:
            worth = float(by_class.max(initial=0.0))
            one, angle = divmod(int(by_class.argmax()), by_class.shape[1])
            found = [(one, angle)] if worth > 0.0 else []
        else:
            worth, found = self._chain(by_class)
        ends = np.append(self.starts, self.settings.size)
        holes: list[Place] = []
        for one, angle in found:
            own = paid[ends[one] : ends[one + 1], angle]
            holes.append((self.index, int(self.settings[ends[one] + int(own.argmax())]), int(angle)))
        return Worth(worth, holes, worth)

    def sharper(self, worth: Worth, enough: float) -> Worth:
        """Return what a row is worth: that is known exactly."""
        return worth

    def _chain(self, paid: FloatArray) -> tuple[float, list[tuple[int, int]]]:
        """Return what the best row pays and its holes as (class, angle)."""
        classes, every = paid.shape[0], np.arange(paid.shape[0])
        places = int(self.at[-1]) + 1
        # [class, n]: the best row whose last hole is of that class and stands before place n; 0 where there is none
        best = np.zeros((classes, places + 1))
        last = np.full((classes, places + 1), -1)
        before = np.full((classes, self.at.size), -1)
        angle_at = np.full(places, -1)
        angle_at[self.at] = np.arange(self.at.size)
        for place in range(places):
            best[:, place + 1], last[:, place + 1] = best[:, place], last[:, place]
            angle = int(angle_at[place])
            if angle < 0:
                continue
            until = np.maximum(0, place + 1 - self.steps)
            rows = best[every[None, :], until]
            follows = rows.argmax(axis=1)
            value = paid[:, angle] + rows[every, follows]
            better = value > best[:, place + 1]
            best[better, place + 1], last[better, place + 1] = value[better], angle
            # the row before is named by its class and last hole
            hole = last[follows, until[every, follows]]
            before[:, angle] = np.where(hole < 0, -1, follows * self.at.size + hole)
        one = int(best[:, places].argmax())
        angle, worth, found = int(last[one, places]), float(best[one, places]), []
        while angle >= 0:
            found.append((one, angle))
            one, angle = divmod(int(before[one, angle]), self.at.size) if before[one, angle] >= 0 else (0, -1)
        return worth, found
