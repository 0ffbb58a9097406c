"""Linear programs solved to somewhere in the middle of all that is best, by an interior point method.

At a corner the prices of a program over few cuts say little about all the others: they jump from one step of a column
generation to the next.  Those from the middle do not, and come to a proof in a quarter of the steps.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from planner.correction.candidates.sections import FloatArray
from planner.correction.search.growing_program import Optimum
from planner.correction.search.master import quiet_stdout

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

ITERATIONS = 300
"""Then it gives up: a limit that does not depend on the clock.  Twenty to sixty is what it takes."""
TOLERANCE = 1e-4
"""Nearer to the optimum the prices prove no more, whatever they are, and take longer."""


def inner_optimum(
    cost: FloatArray, matrix: csr_matrix, most: FloatArray, seconds: float = math.inf
) -> Optimum | None:
    """Return about the least cost of amounts from 0 on that take at most so much of each row.

    None if there is none, or the time does not suffice.
    """
    from highspy import Highs, HighsLp, HighsModelStatus, MatrixFormat

    by_column = matrix.tocsc()
    program = HighsLp()
    program.num_row_, program.num_col_ = by_column.shape
    program.col_cost_ = cost
    program.col_lower_, program.col_upper_ = np.zeros(cost.size), np.full(cost.size, np.inf)
    program.row_lower_, program.row_upper_ = np.full(most.size, -np.inf), most
    program.a_matrix_.format_ = MatrixFormat.kColwise
    program.a_matrix_.start_ = by_column.indptr
    program.a_matrix_.index_ = by_column.indices
    program.a_matrix_.value_ = by_column.data
    with quiet_stdout():
        solver = Highs()  # type: ignore[no-untyped-call]
        for name, value in (
            ("output_flag", False), ("threads", 1), ("solver", "ipm"), ("run_crossover", "off"),
            ("ipm_optimality_tolerance", TOLERANCE), ("ipm_iteration_limit", ITERATIONS),
            ("time_limit", max(0.05, seconds)),
        ):  # fmt: skip
            solver.setOptionValue(name, value)
        solver.passModel(program)
        solver.run()
    found = solver.getSolution()
    in_time = solver.getModelStatus() != HighsModelStatus.kTimeLimit
    if not (in_time and found.value_valid and found.dual_valid):
        return None
    amounts, too_dear, prices = (np.array(each) for each in (found.col_value, found.col_dual, found.row_dual))
    return Optimum(float(cost @ amounts), amounts, too_dear, np.maximum(0.0, -prices))
