"""A job that was loaded is given again as long as its files say the same, and not a moment longer."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from planner.errors import FileFaultsError, InputError
from planner.jobfile import loaded
from planner.jobfile.loaded import load_known
from planner.jobfile.read import load_job
from planner.jobfile.shop_folders import VARIABLE
from planner.jobfile.write import Entries, enter

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture
def job_file(tmp_path: Path) -> Path:
    shutil.copytree(EXAMPLES / "external_balance_v8", tmp_path / "v8")
    path = tmp_path / "v8/job.toml"
    assert load_job(path).files.shop is not None, "this example uses a file of the shop"
    return path


def test_the_same_job_is_given_again(job_file: Path) -> None:
    job = load_known(job_file)
    assert load_known(job_file) is job
    assert job == load_job(job_file)


def _job(path: Path) -> None:
    path.write_text(path.read_text() + "\n# looked at\n")


def _shop(path: Path) -> None:
    shop = load_job(path).files.shop
    assert shop is not None
    shop.write_text(shop.read_text() + "\n# looked at\n")


@pytest.mark.parametrize("change", [_job, _shop])
def test_a_file_that_says_something_else_is_read_again(
    job_file: Path, change: Callable[[Path], None]
) -> None:
    job = load_known(job_file)
    change(job_file)
    assert load_known(job_file) is not job


def test_a_file_that_became_faulty_is_said(job_file: Path) -> None:
    load_known(job_file)
    text = job_file.read_text()
    job_file.write_text("\nno_such_key = 1\n" + text)
    with pytest.raises(FileFaultsError, match="no_such_key"):
        load_known(job_file)
    job_file.unlink()
    with pytest.raises(InputError, match="is not there"):
        load_known(job_file)


def test_another_folder_of_the_shop_is_another_question(
    tmp_path: Path, job_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop = load_job(job_file).files.shop
    assert shop is not None
    (tmp_path / "shop").mkdir()
    shop.rename(tmp_path / "shop" / shop.name)
    text = job_file.read_text()
    job_file.write_text(text.replace(f'"{shop.name}"', f'"../shop/{shop.name}"'))
    monkeypatch.setenv(VARIABLE, str(tmp_path / "shop"))
    load_known(job_file)
    monkeypatch.delenv(VARIABLE)
    with pytest.raises(FileFaultsError, match="folder"):
        load_known(job_file)


def test_what_was_written_is_not_read_again(job_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    spin = load_job(job_file).spins[-1]
    enter(job_file, lambda job: Entries(spins=(spin,)))

    def read_again(path: Path) -> None:
        raise AssertionError(path)

    monkeypatch.setattr(loaded, "load_job", read_again)
    known = load_known(job_file)
    monkeypatch.undo()
    assert len(known.spins) == 2
    assert known == load_job(job_file)
    assert known.files == load_job(job_file).files


def test_only_some_are_kept(job_file: Path) -> None:
    first = load_known(job_file)
    for number in range(20):
        copy = job_file.with_name(f"job{number}.toml")
        shutil.copy(job_file, copy)
        load_known(copy)
    assert load_known(job_file) is not first
