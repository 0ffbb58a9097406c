"""The same plan whatever is around: tables kept or not, another hash seed, another image, a slow computer.

A fixed sample of the invented problems of ``python -m tests.benchmarks.planner_same``, which has more and really keeps the
computer busy.
"""

from __future__ import annotations

import time

import pytest

from tests.benchmarks.planner_same import differences, planned
from tests.benchmarks.wide_problems import wide_problem

SEED = 11


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BOBPLAN_CACHE", "off")  # put back afterwards: the sample changes it


def test_the_same_plan_in_all_surroundings() -> None:
    assert differences(SEED, hash_seeds=("4242",)) == []


def test_the_same_plan_on_a_computer_a_hundred_times_slower(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = wide_problem(SEED)
    plain = planned(problem)
    real, start = time.monotonic, time.monotonic()
    monkeypatch.setattr(time, "monotonic", lambda: start + 100.0 * (real() - start))
    assert planned(problem) == plain
    assert len(plain) == 4
