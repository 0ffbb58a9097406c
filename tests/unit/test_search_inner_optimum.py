"""Linear programs solved to the middle of what is best."""

from __future__ import annotations

import time

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.sparse import csr_matrix

from planner.correction.search.inner_optimum import inner_optimum


@pytest.mark.parametrize("seed", range(5))
def test_value_and_prices_are_those_of_another_method(seed: int) -> None:
    """The dual simplex method of scipy's HiGHS; and the prices prove the value without it (weak duality)."""
    rng = np.random.default_rng(seed)
    rows, columns = 30, 60
    matrix = np.where(rng.random((rows, columns)) < 0.3, rng.random((rows, columns)), 0.0)
    matrix = np.vstack([matrix, np.ones(columns)])
    most = np.append(rng.uniform(1.0, 2.0, rows), 50.0)
    cost = -rng.random(columns)
    found = inner_optimum(cost, csr_matrix(matrix), most)
    known = linprog(cost, A_ub=matrix, b_ub=most, method="highs-ds")
    assert found is not None
    assert found.value == pytest.approx(known.fun, abs=0.01 * abs(known.fun))
    assert (matrix @ found.amounts <= most + 1e-3).all()
    assert (found.prices >= 0.0).all()
    lacking = np.minimum(cost + matrix.T @ found.prices, 0.0)
    proven = -found.prices @ most + 50.0 * lacking.min()
    assert known.fun >= proven
    assert proven == pytest.approx(known.fun, abs=0.05 * abs(known.fun))


def test_what_has_no_solution_has_none() -> None:
    """An amount from 0 on can't be less than -1."""
    assert inner_optimum(np.ones(1), csr_matrix(np.ones((1, 1))), np.array([-1.0])) is None


def test_time_that_does_not_suffice_is_no_optimum() -> None:
    """A program that takes some seconds, a twentieth of one given: broken off by the clock, whatever it had come to."""
    rng = np.random.default_rng(0)
    matrix = csr_matrix(rng.random((700, 700)))
    began = time.process_time()
    assert inner_optimum(-rng.random(700), matrix, np.ones(700), seconds=0.05) is None
    broken_off = time.process_time() - began
    began = time.process_time()
    assert inner_optimum(-rng.random(700), matrix, np.ones(700)) is not None
    assert broken_off < 0.5 * (time.process_time() - began)
