"""A program that grows has the optimum that another solver finds for the whole of it at once."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

from planner.correction.search import growing_program
from planner.correction.search.growing_program import GrowingProgram

NOTHING = np.zeros(0, dtype=np.int64)


def some(random: np.random.Generator, rows: int, columns: int) -> np.ndarray:
    """Return a matrix with many zeros."""
    return np.where(random.random((rows, columns)) < 0.6, random.normal(size=(rows, columns)), 0.0)


def held_to_another(seed: int, steps: int = 5) -> None:
    """Let rows and columns join a random program; hold each step's optimum against `scipy.optimize.linprog`."""
    random = np.random.default_rng(seed)
    program = GrowingProgram()
    # all amounts together are at most ten, so that there is an optimum
    program.add_rows(np.array([10.0]), NOTHING, NOTHING, np.zeros(0))
    matrix, most, cost = np.zeros((1, 0)), np.array([10.0]), np.zeros(0)
    for _ in range(steps):
        rows = some(random, int(random.integers(1, 5)), cost.size)
        limits = random.uniform(0.5, 2.0, rows.shape[0])
        program.add_rows(limits, *np.nonzero(rows), rows[np.nonzero(rows)])
        matrix, most = np.vstack([matrix, rows]), np.append(most, limits)
        columns = some(random, most.size, int(random.integers(1, 6)))
        columns[0] = 1.0
        prices = random.normal(size=columns.shape[1])
        program.add_columns(prices, *np.nonzero(columns)[::-1], columns[np.nonzero(columns)])
        matrix, cost = np.hstack([matrix, columns]), np.append(cost, prices)
        best = program.solve(60.0)
        other = linprog(cost, A_ub=matrix, b_ub=most, bounds=(0.0, None))
        assert best is not None
        assert (program.rows, program.columns) == matrix.shape
        assert best.value == pytest.approx(other.fun, abs=1e-6)
        assert float(best.amounts @ cost) == pytest.approx(other.fun, abs=1e-6)
        assert (matrix @ best.amounts <= most + 1e-6).all()
        # the prices prove it: they give the same value, and no column costs less than they ask
        assert -float(best.prices @ most) == pytest.approx(other.fun, abs=1e-6)
        assert best.too_dear == pytest.approx(cost + best.prices @ matrix, abs=1e-6)
        assert (best.too_dear >= -1e-6).all()


@pytest.mark.parametrize("seed", range(8))
def test_a_grown_program_has_the_optimum_of_the_whole(seed: int) -> None:
    held_to_another(seed)


def test_a_program_that_goes_in_circles_begins_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(growing_program, "ITERATIONS", 0)
    held_to_another(1)


def test_iterations_end_it_and_not_only_the_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(growing_program, "ITERATIONS", 0)
    monkeypatch.setattr(growing_program, "MOST_ITERATIONS", 0)
    # what is made simpler beforehand may be solved then already; a matrix that can't be made so is not
    random = np.random.default_rng(5)
    matrix = random.uniform(0.1, 1.0, (12, 12))
    program = GrowingProgram()
    program.add_rows(np.ones(12), NOTHING, NOTHING, np.zeros(0))
    column, row = (each.ravel() for each in np.meshgrid(np.arange(12), np.arange(12), indexing="ij"))
    program.add_columns(-random.uniform(0.5, 1.0, 12), column, row, matrix[row, column])
    assert program.solve(60.0) is None
    monkeypatch.setattr(growing_program, "MOST_ITERATIONS", 1000)
    assert program.solve(60.0) is not None
