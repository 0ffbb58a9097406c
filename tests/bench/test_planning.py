"""Planning beside the page: the newest question of a job wins, what dies is said, and another process is ready."""

from __future__ import annotations

import dataclasses
import shutil
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from planner.bench.planning import Asked, OvertakenError, Planner, Task
from planner.jobfile.job import Job
from planner.jobfile.read import load_job
from planner.steps.plan_answer import PlanAnswer

EXAMPLES = Path(__file__).parents[2] / "examples"


def asked(path: Path, **wish: object) -> Asked:
    return Asked.of(load_job(path), wish=tuple(sorted(wish.items())))


def answered(task: Task) -> PlanAnswer:
    assert task.wait(120.0)
    assert task.error is None, task.error
    assert isinstance(task.answer, PlanAnswer)
    return task.answer


def test_what_is_said_on_the_way_and_the_answer_come(planner: Planner, folder: Path) -> None:
    task = planner.ask(asked(folder / "cross_plane_v8/job.toml"))
    assert len(answered(task).steps) == 2
    assert any(text.startswith("a plan of 2 cuts") for text in task.texts)
    assert task.texts_after(0, 0.0) == tuple(task.texts)


def test_the_same_question_is_asked_once(planner: Planner, folder: Path) -> None:
    path = folder / "cross_plane_v8/job.toml"
    assert planner.ask(asked(path)) is planner.ask(asked(path))


def test_a_newer_question_about_the_job_ends_the_older_one(folder: Path) -> None:
    planner = Planner(workers=2)
    try:
        path = folder / "external_balance_v8/job.toml"
        answered(planner.ask(asked(path, forbid=("front",))))  # both workers are warm now, or nearly
        older = planner.ask(asked(path))
        time.sleep(0.05)
        newer = planner.ask(asked(path, heavy_metal="never"))
        assert older.wait(60.0)
        assert isinstance(older.error, OvertakenError)
        assert not answered(newer).outcome.feasible
    finally:
        planner.close()


def test_questions_about_two_jobs_do_not_disturb_each_other(planner: Planner, folder: Path) -> None:
    one = planner.ask(asked(folder / "cross_plane_v8/job.toml", forbid=("B",)))
    other = planner.ask(asked(folder / "v_twin_bevelled/job.toml", forbid=()))
    assert answered(one).steps
    assert answered(other).steps


def test_a_worker_that_dies_is_said_and_replaced(folder: Path) -> None:
    planner = Planner(workers=1)
    try:
        path = folder / "external_balance_v8/job.toml"
        task = planner.ask(asked(path))
        for _ in range(200):
            if task._process is not None and task.texts:
                break
            time.sleep(0.05)
        task._process.kill()
        assert task.wait(60.0)
        assert task.error is not None
        assert "ended before it had an answer" in task.error.message
        assert answered(planner.ask(asked(folder / "cross_plane_v8/job.toml"))).steps
    finally:
        planner.close()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda job: dataclasses.replace(job, spins=()), "no spin"),
        (lambda job: dataclasses.replace(job, tolerance=None), "no tolerance"),
        (lambda job: dataclasses.replace(job, machine=None), "the program failed here"),
    ],
)
def test_a_job_that_can_not_be_planned_is_an_error_in_words(
    planner: Planner, folder: Path, change: Callable[[Job], Job], words: str
) -> None:
    job = load_job(folder / "cross_plane_v8/job.toml")
    task = planner.ask(dataclasses.replace(Asked.of(job), job=change(job)))
    assert task.wait(60.0)
    assert task.error is not None
    assert words in task.error.message
    assert "Traceback" not in task.error.message


def test_the_files_are_not_written_by_workers(planner: Planner, folder: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(folder, copy)
    answered(planner.ask(asked(folder / "cross_plane_v8/job.toml", aim=0.5)))
    for path in sorted(copy.rglob("*.toml")):
        assert path.read_bytes() == (folder / path.relative_to(copy)).read_bytes()
