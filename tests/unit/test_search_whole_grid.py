"""On coarse grids the closest plan of three or four cuts is found and proven: held against all plans, made another way."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from planner.correction.search.find_plan import find_plan
from tests.benchmarks.planner_best import Places, Small, asked, far_enough, places, shares, small


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BOBPLAN_CACHE", "off")


def best_of_three(problem: Small, given: Places) -> float:
    """Return the least share that three holes leave, all triples looked at."""
    best = np.inf
    count = len(given.polygons)
    first, second = np.triu_indices(count, 1)
    left, right = (
        given.left_gmm[first] + given.left_gmm[second],
        given.right_gmm[first] + given.right_gmm[second],
    )
    for third in range(count):
        share = shares(problem, left + given.left_gmm[third], right + given.right_gmm[third])
        for pair in np.flatnonzero(share < best)[np.argsort(share[share < best], kind="stable")].tolist():
            three = (third, int(first[pair]), int(second[pair]))
            if second[pair] < third and all(
                far_enough(given, *two) for two in itertools.combinations(three, 2)
            ):
                best = float(share[pair])
                break
    return best


@pytest.mark.parametrize("seed", [19])
def test_three_cuts_leave_the_least_that_any_three_leave(seed: int) -> None:
    problem = small(seed, holes=3 + seed % 3, coarse=True)
    outcome = find_plan(asked(problem), seconds=3600.0)
    assert len(outcome.cuts) == 3
    assert outcome.proof.closest
    best = best_of_three(problem, places(problem))
    assert outcome.aim_reached is not None
    assert best - 1e-6 <= outcome.aim_reached <= best + 0.01


def test_four_cuts_come_as_near_as_an_integer_program_says() -> None:
    """An integer program over the whole grid has a plan that leaves 0.303 of a limit (`planner_best`)."""
    problem = small(53, holes=3 + 53 % 3, coarse=True)
    outcome = find_plan(asked(problem), seconds=3600.0)
    assert len(outcome.cuts) == 4
    assert outcome.proof.closest
    assert outcome.aim_reached is not None
    assert outcome.aim_reached < 0.303
