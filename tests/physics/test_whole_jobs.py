"""Whole jobs on a simulated machine and drill press: spin, plan, cut as printed, spin, and once more where needed.

A small sample of `tests/benchmarks/whole_jobs.py` with fixed seeds: every choice of the machine's way of counting comes
up both ways.  Errors (standard uncertainties): depth 0.5 mm, angle 1 degree, reading 2 % and 1 degree.  Data invented.
"""

from __future__ import annotations

import pytest
from simulator.jobs import random_job
from simulator.whole_job import Told, tell

SEEDS = (0, 63, 11, 52, 22, 41, 37, 26, 5, 58)


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> list[Told]:
    patch = pytest.MonkeyPatch()
    folder = tmp_path_factory.mktemp("jobs")
    for name in ("XDG_CACHE_HOME", "XDG_STATE_HOME", "LOCALAPPDATA"):
        patch.setenv(name, str(folder / name.lower()))
    try:
        return [tell(random_job(seed), folder) for seed in SEEDS]
    finally:
        patch.undo()


def test_every_choice_comes_up_both_ways() -> None:
    words = [random_job(seed).convention() for seed in SEEDS]
    ways = {each[0] for each in words}
    assert ways == {"ccw from front", "ccw from rear", "cw from front", "cw from rear"}
    assert {each[1] for each in words} == {"heavy spot", "light spot"}
    assert {each[3] for each in words} == {"left plane front", "left plane rear"}
    assert {each[4] for each in words} == {"drill offset", "no drill offset"}
    assert "mass at radius" in {each[2] for each in words}


def test_truly_inside_after_two_rounds_at_most(told: list[Told]) -> None:
    assert all(each.start > 1.0 for each in told)
    outside = [each.seed for each in told if not each.inside]
    assert len(outside) <= 1, outside


def test_the_first_cut_never_makes_it_worse(told: list[Told]) -> None:
    assert not [each.seed for each in told if each.first_cut_made_it_worse]


def test_what_check_says_is_true(told: list[Told]) -> None:
    for each in told:
        for one in each.rounds:
            if one.verdict == "in tolerance":
                assert one.inside, each.seed
            if one.verdict == "out of tolerance":
                assert not one.inside, each.seed


def test_right_work_raises_no_alarm(told: list[Told]) -> None:
    assert sum(not one.good for each in told for one in each.rounds) <= 1
