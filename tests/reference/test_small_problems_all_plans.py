"""Small invented problems against all their plans, and against an integer program: no better plan elsewhere.

The other side shares no code with the planner: elementary integrals for the holes, polygons for the walls, all pairs of
places, HiGHS over the whole grid (``python -m tests.benchmarks.planner_best`` has a hundred of them).
"""

from __future__ import annotations

import pytest

from tests.benchmarks.planner_best import against_all, against_programs


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BOBPLAN_CACHE", "off")


@pytest.mark.parametrize("seed", [0, 1, 2, 5])
def test_no_plan_of_one_or_two_cuts_is_better(seed: int) -> None:
    assert against_all(seed) == ("", True)


@pytest.mark.parametrize("seed", [0, 1])
def test_no_integer_program_finds_a_better_plan(seed: int) -> None:
    assert against_programs(seed, seconds=20.0)[0] == ""
