"""A grade may be of the crankshaft drive: its mass makes the limits.  The jobs are invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.errors import FileFaultsError
from planner.jobfile.job import Job
from planner.jobfile.read import load_job
from planner.steps.correction_question import limits_of

WHOLE = (Path(__file__).parent / "data" / "whole_job.toml").read_text(encoding="utf-8")


def load(folder: Path, line: str, *, grade: str = 'grade = "G 16"') -> Job:
    path = folder / "job.toml"
    assert 'grade = "G 16"' in WHOLE
    path.write_text(WHOLE.replace('grade = "G 16"', f"{grade}\n{line}"), encoding="utf-8")
    return load_job(path)


def test_limits_are_in_proportion(tmp_path: Path) -> None:
    own = limits_of(load(tmp_path, ""))
    job = load(tmp_path, 'drive_mass = "36.15 kg"')
    for before, after in zip(own, limits_of(job), strict=True):
        assert after.tolerance_gmm == pytest.approx(before.tolerance_gmm * 36.15 / 24.1)
    assert job.graded_mass_kg == pytest.approx(36.15)


@pytest.mark.parametrize(
    ("line", "grade", "says"),
    [
        ('drive_mass = "24 kg"', 'grade = "G 16"', "less than the crankshaft's own mass"),
        ('drive_mass = "36 kg"', "total = 260", "belongs to a grade"),
        ('drive_mass = "3 t"', 'grade = "G 16"', "drive_mass"),
        ('drive_mass = "2500 kg"', 'grade = "G 16"', "beyond reason for a crankshaft"),
    ],
)
def test_faults(tmp_path: Path, line: str, grade: str, says: str) -> None:
    with pytest.raises(FileFaultsError, match=says):
        load(tmp_path, line, grade=grade)
