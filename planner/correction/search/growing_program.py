"""A linear program that columns and rows join, solved each time from where it was left.

Programs over everything that could be cut are solved over a few cuts first, and again whenever others have joined them.
Solved anew each time they take two to ten times as long.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.correction.candidates.sections import FloatArray, IntArray
from planner.correction.search.master import quiet_stdout
from planner.records import dataclass

DUAL_SIMPLEX = 1
ITERATIONS = 10_000
"""After so many it goes round in circles and begins anew, with the program made simpler beforehand."""
MOST_ITERATIONS = 30_000
"""Then it gives up: a limit that does not depend on the clock."""


@dataclass(frozen=True)
class Optimum:
    """The least value, the columns' amounts, what each costs too much, and what each row's limit is worth."""

    value: float
    amounts: FloatArray
    too_dear: FloatArray
    prices: FloatArray


class GrowingProgram:
    """The least cost of amounts from 0 on, with rows that have an upper limit each; empty at first."""

    def __init__(self) -> None:
        from highspy import Highs

        with quiet_stdout():
            self._solver = Highs()  # type: ignore[no-untyped-call]
            for name, value in (
                ("output_flag", False), ("threads", 1), ("simplex_strategy", DUAL_SIMPLEX)
            ):  # fmt: skip
                self._solver.setOptionValue(name, value)
        self.rows = 0
        self.columns = 0
        self.iterations = 0
        """What was done in all, counted."""

    def add_rows(self, most: FloatArray, row: IntArray, column: IntArray, value: FloatArray) -> None:
        """Add rows with these limits, and what columns that are there take of them (rows counted from the first new one)."""
        starts, columns, values = _packed(row, column, value, most.size)
        self._solver.addRows(
            most.size, np.full(most.size, -np.inf), most, values.size, starts, columns, values
        )
        self.rows += most.size

    def add_columns(self, cost: FloatArray, column: IntArray, row: IntArray, value: FloatArray) -> None:
        """Add columns with these costs, and what they take of rows that are there (columns counted from the first new one)."""
        starts, rows, values = _packed(column, row, value, cost.size)
        self._solver.addCols(
            cost.size,
            cost,
            np.zeros(cost.size),
            np.full(cost.size, np.inf),
            values.size,
            starts,
            rows,
            values,
        )
        self.columns += cost.size

    def solve(self, seconds: float) -> Optimum | None:
        """Return the optimum; None if there is none, or time or iterations do not suffice."""
        from highspy import HighsModelStatus

        with quiet_stdout():
            # the solver's clock goes on from one run to the next
            self._solver.setOptionValue("time_limit", self._solver.getRunTime() + max(0.05, seconds))
            # made simpler beforehand it could not go on from its last basis
            self._run("off", ITERATIONS)
            if self._solver.getModelStatus() == HighsModelStatus.kIterationLimit:
                self._solver.clearSolver()
                self._run("on", MOST_ITERATIONS)
        if self._solver.getModelStatus() != HighsModelStatus.kOptimal:
            return None
        found = self._solver.getSolution()
        return Optimum(
            float(self._solver.getInfo().objective_function_value),
            np.array(found.col_value),
            np.array(found.col_dual),
            np.maximum(0.0, -np.array(found.row_dual)),
        )

    def _run(self, presolve: str, iterations: int) -> None:
        self._solver.setOptionValue("presolve", presolve)
        self._solver.setOptionValue("simplex_iteration_limit", iterations)
        self._solver.run()
        self.iterations += max(0, self._solver.getInfo().simplex_iteration_count)


def _packed(
    of: IntArray, other: IntArray, value: FloatArray, count: int
) -> tuple[NDArray[np.int32], NDArray[np.int32], FloatArray]:
    """Return entries one row (or column) after another as the solver takes them: where each begins, the others, the values."""
    order = np.argsort(of, kind="stable")
    starts = np.searchsorted(of[order], np.arange(count))
    return starts.astype(np.int32), other[order].astype(np.int32), value[order]
