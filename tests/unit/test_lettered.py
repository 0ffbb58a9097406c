"""What-if plans by letter: what was shown under a letter is what is found under it, or nothing."""

from __future__ import annotations

import contextlib
import json
import threading
from dataclasses import replace
from pathlib import Path

import pytest

from planner.cuts.cut import Cut
from planner.jobfile import lettered
from planner.jobfile.job import StoredPlan, StoredStep
from planner.jobfile.lettered import keep_lettered, lettered_plans, letters

CUT = Cut(
    kind="rim hole",
    counterweight="A",
    angle_deg=213.1234567,
    diameter_mm=16.0,
    depth_shoulder_mm=27.0,
    from_depth_mm=22.5,
)
PLAN = StoredPlan(
    after_spin=2,
    steps=(StoredStep(number=4, cut=CUT, pinned=True),),
    basis="abc",
    after_cuts=1,
    learned_factor=0.97,
    wish=("drills: 16 mm only",),
)


@pytest.fixture(autouse=True)
def _state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "state"))


def test_letters_go_on() -> None:
    assert [letters(n) for n in (0, 1, 25, 26, 27, 701, 702)] == ["a", "b", "z", "aa", "ab", "zz", "aaa"]


def test_there_and_back(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    other = replace(PLAN, steps=(replace(PLAN.steps[0], cut=replace(CUT, counterweight="B")),))
    assert keep_lettered(job, PLAN) == "a"
    assert keep_lettered(job, other) == "b"
    assert keep_lettered(job, replace(PLAN, wish=())) == "a"  # the same cuts for the same question
    assert lettered_plans(job) == {"a": PLAN, "b": other}
    assert lettered_plans(tmp_path / "another.toml") == {}


def test_a_letter_is_not_given_twice_when_old_ones_are_dropped(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lettered, "_MOST", 3)
    job = tmp_path / "job.toml"
    given = [keep_lettered(job, replace(PLAN, basis=str(number))) for number in range(6)]
    assert given == ["a", "b", "c", "d", "e", "f"]
    assert list(lettered_plans(job)) == ["d", "e", "f"]


@pytest.mark.parametrize("spoil", ["depth", "cut off", "other kind"])
def test_what_was_spoilt_is_not_there(tmp_path: Path, spoil: str) -> None:
    job = tmp_path / "job.toml"
    keep_lettered(job, PLAN)
    path = lettered._file(job)
    data = json.loads(path.read_text(encoding="utf-8"))
    if spoil == "depth":
        data["body"]["plans"]["a"]["steps"][0]["cut"]["depth_shoulder_mm"] = 37.0
        path.write_text(json.dumps(data), encoding="utf-8")
    elif spoil == "cut off":
        path.write_text(path.read_text(encoding="utf-8")[:-20], encoding="utf-8")
    else:
        path.write_text("[]", encoding="utf-8")
    assert lettered_plans(job) == {}


def test_two_runs_at_once_get_two_letters(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both look which letter is next before either has written: `done a1` would mean the one that wrote last."""
    job = tmp_path / "job.toml"
    both = threading.Barrier(2)
    real = lettered._next

    def together(path: Path) -> int:
        found = real(path)
        with contextlib.suppress(threading.BrokenBarrierError):
            both.wait(timeout=0.5)
        return found

    monkeypatch.setattr(lettered, "_next", together)
    given: dict[str, str] = {}

    def run(basis: str) -> None:
        given[keep_lettered(job, replace(PLAN, basis=basis))] = basis

    runs = [threading.Thread(target=run, args=(basis,)) for basis in ("one", "other")]
    for each in runs:
        each.start()
    for each in runs:
        each.join()
    assert sorted(given) == ["a", "b"]
    assert {letter: plan.basis for letter, plan in lettered_plans(job).items()} == given
