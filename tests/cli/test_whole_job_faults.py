"""A whole job on a slow disk, a full one, and with Ctrl-C: file and words agree after every command, and in the end.

`tests/benchmarks/whole_job_faults.py` goes through every write and many more moments.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests import faulty_jobs
from tests.faulty_jobs import Fault, full_disk, interrupted, slow_disk, tell


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory: pytest.TempPathFactory) -> str:
    told = tell(tmp_path_factory.mktemp("undisturbed"))
    assert not told.broken
    # the spin of the file and two more; two cuts and both of the plan after the second spin; one entry taken back
    assert faulty_jobs._entries(told.text.encode()) == (3, 4, 1)
    return told.text


CASES: dict[str, tuple[Fault, list[int] | None]] = {
    "slow disk": (slow_disk(0.01), None),
    "full from the second write on": (full_disk(2), [1, 3, 8]),
    "Ctrl-C in the work": (interrupted(3000), [1, 5, 8]),
}


@pytest.mark.parametrize("case", CASES)
def test_file_and_words_agree(case: str, undisturbed: str, tmp_path: Path) -> None:
    fault, places = CASES[case]
    told = tell(tmp_path, fault, only=places)
    assert not told.broken
    assert told.text == undisturbed
    # the fault struck, or slowed, every command that it was to
    assert told.struck >= len(places or [])


def test_a_file_that_can_not_grow(undisturbed: str, tmp_path: Path) -> None:
    pytest.importorskip("resource")
    told = tell(tmp_path, faulty_jobs.least_room(700), only=[1, 8])
    assert not told.broken
    assert told.text == undisturbed


def test_a_promise_that_is_broken_is_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A `done` that says what it enters and loses it; nothing else is looked at."""
    import planner.jobfile.write as write

    def loses(path: Path, prepare: object, **_: object) -> object:
        from planner.jobfile.read import load_job

        return prepare(load_job(path))  # type: ignore[operator]

    monkeypatch.setattr(write, "enter", loses)
    broken = tell(tmp_path).broken
    assert any("says what it entered, and it is not there" in each for each in broken)
