"""Which job a command means."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from planner.errors import InputError
from planner.jobfile.find import find_job, job_files, last_job, remember_job, state_folder

JOB = "format = 1\n[[spins]]\nbobs = 0\n"
SHOP = "format = 1\n[machine]\nangle_marks = 'heavy spot'\n[shop]\ndrills = [10]\n"
CRANKSHAFT = "format = 1\n[crankshaft]\nbearing_1_z = 0\n[planes]\nleft = 1\n"


@pytest.fixture(autouse=True)
def own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "state"
    monkeypatch.setenv("XDG_STATE_HOME", str(folder))
    monkeypatch.setenv("LOCALAPPDATA", str(folder))
    return folder


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "work"
    made.mkdir()
    return made


def write(folder: Path, name: str, text: str = JOB) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


class TestNamed:
    def test_a_file(self, folder: Path) -> None:
        path = write(folder, "a.toml")
        assert find_job("a.toml", folder) == path

    def test_a_file_whatever_its_ending(self, folder: Path) -> None:
        path = write(folder, "a.txt")
        assert find_job("a.txt", folder) == path

    def test_the_ending_may_be_left_out(self, folder: Path) -> None:
        path = write(folder, "a.toml")
        assert find_job("a", folder) == path

    def test_a_folder_with_one_job(self, folder: Path) -> None:
        path = write(folder, "a.toml")
        assert find_job(folder.name, folder.parent) == path

    def test_a_folder_with_two(self, folder: Path) -> None:
        write(folder, "a.toml")
        write(folder, "b.toml")
        with pytest.raises(
            InputError, match=r"2 job files in the folder `work`: `a\.toml`, `b\.toml`"
        ) as caught:
            find_job("work", folder.parent)
        assert str(Path("work") / "a.toml") in (caught.value.hint or "")

    def test_a_folder_without(self, folder: Path) -> None:
        with pytest.raises(InputError, match="no job file in the folder"):
            find_job("work", folder.parent)

    def test_missing(self, folder: Path) -> None:
        write(folder, "engine.toml")
        with pytest.raises(InputError, match=r"`enginee\.toml` is not there") as caught:
            find_job("enginee.toml", folder)
        assert caught.value.hint == "did you mean `engine.toml`?"
        with pytest.raises(InputError, match="`x` is not there") as caught:
            find_job("x", folder)
        assert "bobplan start" in (caught.value.hint or "")

    @pytest.mark.parametrize("name", ["", "  ", "a\0b"])
    def test_no_name(self, folder: Path, name: str) -> None:
        with pytest.raises(InputError, match="given an empty name"):
            find_job(name, folder)

    def test_absurd_names(self, folder: Path) -> None:
        with pytest.raises(InputError, match="is not there"):
            find_job("x" * 10_000, folder)


class TestOfTheFolder:
    def test_the_only_one(self, folder: Path) -> None:
        path = write(folder, "a.toml")
        write(folder, "shop.toml", SHOP)
        write(folder, "crank.toml", CRANKSHAFT)
        write(folder, "pyproject.toml", "[project]\nname = 'x'\n")
        write(folder, "notes.txt")
        assert find_job(None, folder) == path

    def test_one_file_with_everything_before_its_first_spin(self, folder: Path) -> None:
        path = write(folder, "a.toml", CRANKSHAFT + "[shop]\ndrills = [1]\n")
        assert find_job(None, folder) == path

    def test_a_used_file_is_no_job_though_it_looks_like_one(self, folder: Path) -> None:
        write(folder, "crank.toml", CRANKSHAFT + "[shop]\ndrills = [1]\n")
        path = write(folder, "a.toml", "[use]\ncrankshaft = 'crank.toml'\nshop = 5\n")
        assert find_job(None, folder) == path

    def test_several(self, folder: Path) -> None:
        write(folder, "a.toml")
        write(folder, "b.toml")
        with pytest.raises(InputError, match=r"2 job files in this folder: `a\.toml`, `b\.toml`"):
            find_job(None, folder, writing=False)

    def test_a_job_with_a_slip_of_the_pen_is_still_meant(self, folder: Path) -> None:
        path = write(folder, "a.toml", JOB + "radius = 3 in\n")
        assert find_job(None, folder) == path

    def test_noise_is_none(self, folder: Path) -> None:
        (folder / "n.toml").write_bytes(b"\xff\xfe[use]")
        (folder / "big.toml").write_text(JOB + "#" * 2_000_001, encoding="utf-8")
        write(folder, "deep.toml", "x = " + "[" * 50_000)
        (folder / "f.toml").mkdir()
        (folder / "dead.toml").symlink_to(folder / "nowhere.toml")
        assert job_files(folder) == ()
        assert job_files(folder / "nowhere") == ()

    def test_none(self, folder: Path) -> None:
        with pytest.raises(InputError, match="there is no job file in this folder"):
            find_job(None, folder)


class TestUsedLast:
    def test_to_read_only(self, folder: Path, tmp_path: Path) -> None:
        path = write(tmp_path, "a.toml")
        remember_job(path)
        assert find_job(None, folder, writing=False) == path
        # a command that writes never guesses another folder's job
        with pytest.raises(InputError, match="there is no job file in this folder"):
            find_job(None, folder)

    def test_the_folders_own_comes_first(self, folder: Path, tmp_path: Path) -> None:
        remember_job(write(tmp_path, "a.toml"))
        own = write(folder, "b.toml")
        assert find_job(None, folder, writing=False) == own

    def test_gone(self, folder: Path, tmp_path: Path) -> None:
        path = write(tmp_path, "a.toml")
        remember_job(path)
        path.unlink()
        assert last_job() is None
        with pytest.raises(InputError, match="no job file in this folder"):
            find_job(None, folder, writing=False)

    def test_the_newest_is_kept_and_nothing_else(self, tmp_path: Path, own_state: Path) -> None:
        for name in ("a.toml", "b.toml"):
            remember_job(write(tmp_path, name))
        assert last_job() == tmp_path / "b.toml"
        assert [path.name for path in (own_state / "bobplan").iterdir()] == ["last-job"]

    def test_a_name_relative_to_the_current_folder(
        self, folder: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        write(folder, "a.toml")
        monkeypatch.chdir(folder)
        remember_job(Path("a.toml"))
        assert last_job() == folder / "a.toml"

    def test_nonsense_remembered(self, own_state: Path) -> None:
        (own_state / "bobplan").mkdir(parents=True)
        for content in (b"", b"a.toml", b"\xff", b"/a\0b", b"/" + b"x" * 5000):
            (own_state / "bobplan" / "last-job").write_bytes(content)
            assert last_job() is None

    def test_a_state_folder_that_can_not_be_made_is_no_reason_to_stop(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (tmp_path / "file").write_text("", encoding="utf-8")
        monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "file"))
        monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "file"))
        remember_job(write(tmp_path, "a.toml"))
        assert last_job() is None

    def test_a_failed_step_leaves_nothing(
        self, tmp_path: Path, own_state: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def stop(*_: object) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(os, "replace", stop)
        remember_job(write(tmp_path, "a.toml"))
        assert list((own_state / "bobplan").iterdir()) == []

    @pytest.mark.skipif(sys.platform == "win32", reason="the standard of POSIX desktops")
    def test_where_it_is(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        # XDG Base Directory Specification: relative paths are ignored, the default is ~/.local/state
        monkeypatch.setenv("HOME", str(tmp_path))
        monkeypatch.setenv("XDG_STATE_HOME", "relative")
        assert state_folder() == tmp_path / ".local" / "state" / "bobplan"
        monkeypatch.delenv("XDG_STATE_HOME")
        assert state_folder() == tmp_path / ".local" / "state" / "bobplan"
