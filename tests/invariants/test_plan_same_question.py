"""Turned by whole dial steps, mirrored or listed in another order a crankshaft gets the same plan.

The crankshafts are invented (``tests/generator.py``).  A fixed sample; ``python -m tests.benchmarks.planner_same``
has more, of all kinds.
"""

from __future__ import annotations

import pytest

from planner.correction.problem import CorrectionProblem
from planner.correction.search.find_plan import find_plan
from planner.cuts.cut import Cut
from tests.benchmarks.wide_problems import wide_problem
from tests.generator import random_case
from tests.same_question import IMAGES, back, image, other_forms

SEEDS = (1, 6, 13, 14)


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BOBPLAN_CACHE", "off")


def cuts_of(problem: CorrectionProblem) -> list[Cut]:
    return [item.cut for item in find_plan(problem, seconds=300.0).cuts]


@pytest.mark.parametrize("seed", SEEDS)
def test_the_same_plan_for_every_image(seed: int) -> None:
    problem = random_case(seed, feasible=True).problem
    plain = sorted(map(repr, cuts_of(problem)))
    assert plain
    for name in IMAGES:
        turned = [back(cut, name, problem) for cut in cuts_of(image(problem, name))]
        assert sorted(map(repr, turned)) == plain, name


def test_every_image_of_a_problem_has_one_form_to_the_last_bit() -> None:
    """So that the search is asked the very same question; with keep-outs, old holes, discs and half discs among them."""
    for seed in (*range(200, 240), 242, 270, 323):
        assert other_forms(wide_problem(seed)) == [], seed
