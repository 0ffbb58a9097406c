"""How many spins a plan takes: what must hold whatever the numbers, and a large unbalance that one pass can't settle."""

from __future__ import annotations

import dataclasses

import pytest

from planner.jobfile.job import Job
from planner.steps.correction_question import pose
from planner.steps.expected_spins import MOST_OVER, FirstPass, first_pass_of
from planner.steps.plan import plan_job
from tests.unit.test_bob_window import job_of


@pytest.fixture(scope="module")
def job() -> Job:
    return job_of("cross_plane_v8")


def first(job: Job, share: float = 1.0) -> FirstPass:
    answer = plan_job(job)
    return first_pass_of(job, pose(job), [step.cut for step in answer.steps], share=share)


def test_a_plan_that_passes_for_sure_takes_one_spin(job: Job) -> None:
    found = first(job)
    assert found.share == 1.0
    assert 1.0 <= found.expected_spins < 1.01
    assert found.over <= MOST_OVER


def test_half_of_it_takes_a_spin_more(job: Job) -> None:
    assert first(job, share=0.5).expected_spins == pytest.approx(2.0, abs=0.05)


def test_worse_readings_take_more_spins_and_never_overshoot(job: Job) -> None:
    last = 0.0
    for percent in (1.5, 6.0, 12.0):
        worse = dataclasses.replace(
            job,
            errors=dataclasses.replace(job.errors, reading_percent=percent, reading_angle_deg=percent / 3.0),
        )
        found = first(worse, share=1.0)
        assert found.over <= MOST_OVER
        assert found.expected_spins >= last
        last = found.expected_spins
    assert last > 1.5
