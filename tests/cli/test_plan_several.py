"""`bobplan plan JOB JOB ...`: a table of many jobs.  Invented jobs."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import EXAMPLES, Ran


@pytest.fixture
def jobs(tmp_path: Path) -> Path:
    """A folder with two jobs side by side, one of them broken, and one with a spreadsheet's formula as its title."""
    text = (EXAMPLES / "cross_plane_v8" / "job.toml").read_text(encoding="utf-8")
    (tmp_path / "one.toml").write_text(
        text.replace("Cross-plane V8, lighter pistons", "=1+1"), encoding="utf-8"
    )
    (tmp_path / "two.toml").write_text(text.replace('grade = "G 16"', 'grade = "G -16"'), encoding="utf-8")
    return tmp_path


def test_a_folder_of_jobs(bobplan: Callable[..., Ran], jobs: Path) -> None:
    before = {path: path.read_bytes() for path in jobs.iterdir()}
    ran = bobplan("plan", ".", "--csv", "plans.csv", "--workers", "1", folder=jobs)
    assert ran.code == 1, "one of them could not be planned"
    assert "one.toml" in ran.out
    assert "in tolerance" in ran.out
    assert "Not planned:" in ran.out
    assert "two.toml" in ran.out
    rows = list(csv.DictReader((jobs / "plans.csv").read_text(encoding="utf-8").splitlines()))
    assert [row["job"] for row in rows] == ["one.toml", "two.toml"]
    assert rows[0]["title"] == "'=1+1"
    assert float(rows[0]["share_of_limit"]) < 1.0
    assert "G -16" in rows[1]["error"]
    assert {path: path.read_bytes() for path in before} == before, "nothing is stored"


def test_folders_below_and_several_names(bobplan: Callable[..., Ran], tmp_path: Path) -> None:
    for name in ("a", "b"):
        shutil.copytree(EXAMPLES / "cross_plane_v8", tmp_path / "jobs" / name)
    ran = bobplan("plan", "jobs", "--json", "--workers", "1")
    assert ran.code == 0
    assert [row["job"] for row in ran.json["jobs"]] == ["jobs/a/job.toml", "jobs/b/job.toml"]
    assert all(row["verdict"] == "in tolerance" for row in ran.json["jobs"])
    ran = bobplan("plan", "jobs/a", "jobs/b/job.toml", "--json", "--workers", "2")
    assert [row["cuts"] for row in ran.json["jobs"]] == [2, 2]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("jobs/a", "jobs/b", "--aim", "0.5"), "--aim goes with one job, 2 are named"),
        (("jobs/a", "jobs/b", "--store"), "--store goes with one job"),
        (("jobs/a", "--csv", "x.csv"), "--csv goes with several jobs"),
        (("jobs/a", "jobs/b", "--csv", "x.pdf"), ".csv and .txt are allowed"),
        (("jobs/a", "empty"), "there is no job in the folder `empty`"),
    ],
)
def test_what_does_not_go_together(
    bobplan: Callable[..., Ran], tmp_path: Path, arguments: tuple[str, ...], words: str
) -> None:
    (tmp_path / "empty").mkdir()
    for name in ("a", "b"):
        shutil.copytree(EXAMPLES / "cross_plane_v8", tmp_path / "jobs" / name)
    ran = bobplan("plan", *arguments)
    assert ran.code == 2
    assert words in ran.err
