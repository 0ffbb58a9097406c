"""What rows of rim holes can do at most: against integer programs on shapely's polygons; what can and what can't be done."""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, milp

from planner.correction.budget import Budget
from planner.correction.candidates.blocks import build_blocks
from planner.correction.search import rim_rows
from planner.correction.search.find_plan import find_plan
from planner.correction.search.working_plan import Pool
from planner.correction.verify.verify_plan import verify
from planner.frames import TwoPlanes
from tests.benchmarks.planner_best import Small, asked, far_enough, places, small
from tests.benchmarks.planner_certificates import excess_gmm
from tests.benchmarks.wide_problems import wide_problem


def _pool(problem: Small) -> Pool:
    question = asked(problem)
    return Pool(question, question.unbalance_gmm, build_blocks(question))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("toward_deg", [0.0, 35.0])
def test_the_best_row_is_that_of_an_integer_program(seed: int, toward_deg: float) -> None:
    """HiGHS over every hole of the grid, no two together that shapely finds nearer than the wall; moments by hand.

    The row may be worth more only where a hole next but one is in the way.
    """
    problem = small(seed, holes=1, coarse=True)
    problem = dataclasses.replace(problem, fans=problem.fans[:1], planes_mm=TwoPlanes(50.0, 100.0))
    given = places(problem)
    here = np.exp(1j * np.radians(problem.fans[0].angle_deg + toward_deg))
    pays = (np.conj(here) * (given.left_gmm + given.right_gmm)).real
    pairs = [pair for pair in itertools.combinations(range(pays.size), 2) if not far_enough(given, *pair)]
    matrix = np.zeros((len(pairs), pays.size))
    for row, pair in enumerate(pairs):
        matrix[row, list(pair)] = 1.0
    answer = milp(
        -pays, integrality=np.ones(pays.size), bounds=(0, 1), constraints=LinearConstraint(matrix, ub=1.0)
    )
    [block] = range(len(_pool(problem).blocks))
    found = rim_rows._Row(_pool(problem), block, 10_000).best(np.conj(here) * np.ones(2))
    assert found.found * 1000.0 == pytest.approx(-answer.fun, rel=1e-6)
    assert len(found.cuts) == int(np.rint(answer.x).sum())


@pytest.mark.parametrize("seed", range(6))
def test_what_can_be_done_is_never_said_to_be_impossible(seed: int) -> None:
    problem = small(seed, holes=5, coarse=seed % 2 == 0)
    assert rim_rows.least_excess_gmm(_pool(problem), Budget()) == 0.0


@pytest.mark.parametrize("seed", range(4))
def test_it_bounds_what_remains_of_any_plan(seed: int) -> None:
    """Four times what five hidden holes leave: too much, and no plan that is known leaves less than the bound."""
    problem = small(seed, holes=5, coarse=False)
    problem = dataclasses.replace(problem, unbalance_gmm=problem.unbalance_gmm.map(lambda one: 4.0 * one))
    least = rim_rows.least_excess_gmm(_pool(problem), Budget())
    outcome = find_plan(asked(problem), seconds=3600.0)
    assert not outcome.feasible
    made = verify(asked(problem), [item.cut for item in outcome.best_effort])
    assert 0.0 < least <= excess_gmm(asked(problem), made.residual_gmm)


def test_little_too_much_is_proven_by_the_rows_alone() -> None:
    """Seed 1062 of the wide problems: 1.03 of the limits is the best that is known, and no bound by windows saw it."""
    outcome = find_plan(wide_problem(1062), seconds=3600.0)
    assert outcome.certificate is not None
    assert 0.0 < outcome.certificate.excess_sum_gmm < 20.0
    assert "with the walls between them" in outcome.certificate.text
