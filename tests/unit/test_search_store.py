"""What is kept in the cache folder changes nothing but time."""

from __future__ import annotations

import io
import os
import stat
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from planner.correction import store


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.delenv("BOBPLAN_CACHE", raising=False)
    store.forget()
    yield tmp_path / "bobplan"
    store.forget()


class Maker:
    """Makes tables and counts how often."""

    def __init__(self) -> None:
        self.calls = 0

    def __call__(self) -> store.Tables:
        self.calls += 1
        return {"a": np.arange(5.0), "b": np.array([[1.5, -np.inf]])}


def check(tables: store.Tables) -> None:
    assert tables["a"].tolist() == [0.0, 1.0, 2.0, 3.0, 4.0]
    assert tables["b"].tolist() == [[1.5, -np.inf]]


def test_made_once_then_kept_in_memory_and_on_disk(folder: Path) -> None:
    make = Maker()
    check(store.kept("key", make))
    check(store.kept("key", make))
    assert make.calls == 1
    store.forget()
    check(store.kept("key", make))
    assert make.calls == 1
    assert [path.name for path in folder.iterdir()] == ["key.tables"]


def test_deleting_the_folder_costs_time_only(folder: Path) -> None:
    make = Maker()
    store.kept("key", make)
    (folder / "key.tables").unlink()
    store.forget()
    check(store.kept("key", make))
    assert make.calls == 2


@pytest.mark.parametrize("content", [b"", b"not a zip file", b"PK\x03\x04 cut off"])
def test_what_cannot_be_read_is_made_anew(folder: Path, content: bytes) -> None:
    folder.mkdir(parents=True)
    (folder / "key.tables").write_bytes(content)
    make = Maker()
    check(store.kept("key", make))
    assert make.calls == 1
    store.forget()
    check(store.kept("key", make))
    assert make.calls == 1


def test_tables_that_are_not_sealed_are_made_anew(folder: Path) -> None:
    folder.mkdir(parents=True)
    with (folder / "key.tables").open("wb") as file:
        np.savez(file, a=np.zeros(1))
    make = Maker()
    check(store.kept("key", make))
    assert make.calls == 1


def test_every_changed_byte_and_every_cut_is_seen(folder: Path) -> None:
    # a zeroed table would "prove" that no plan is possible
    store.kept("key", Maker())
    whole = (folder / "key.tables").read_bytes()
    spoiled = [whole[:size] for size in range(0, len(whole), 7)]
    for place in range(0, len(whole), 5):
        spoiled.append(whole[:place] + bytes([whole[place] ^ 0xFF]) + whole[place + 1 :])
    spoiled.append(whole + b"\0")
    spoiled.append(whole[:50] + bytes(len(whole) - 50))
    for content in spoiled:
        (folder / "key.tables").write_bytes(content)
        store.forget()
        make = Maker()
        check(store.kept("key", make))
        assert make.calls == 1
        assert (folder / "key.tables").read_bytes() == whole


def test_the_table_of_another_question_is_not_taken(folder: Path) -> None:
    store.kept("key", Maker())
    (folder / "key.tables").rename(folder / "other.tables")
    store.forget()
    make = Maker()
    check(store.kept("other", make))
    assert make.calls == 1


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names on this system")
def test_a_pipe_in_the_place_of_a_table_holds_nobody_up(folder: Path) -> None:
    folder.mkdir(parents=True)
    os.mkfifo(folder / "key.tables")
    check(store.kept("key", Maker()))


@pytest.mark.skipif(os.name == "nt", reason="modes of folders are another matter there")
def test_the_folder_is_the_users_alone(folder: Path) -> None:
    folder.mkdir(parents=True, mode=0o755)
    store.kept("key", Maker())
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE((folder / "key.tables").stat().st_mode) == 0o600


def test_a_folder_of_ones_own_choice(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    chosen = tmp_path / "for tables"
    chosen.mkdir(mode=0o755)
    monkeypatch.setenv("BOBPLAN_CACHE", str(chosen))
    store.kept("key", Maker())
    assert (chosen / "bobplan" / "key.tables").exists()
    assert not folder.exists()
    if os.name != "nt":
        assert stat.S_IMODE(chosen.stat().st_mode) == 0o755


def test_leftovers_are_swept_but_not_those_of_a_writer_at_work(folder: Path) -> None:
    folder.mkdir(parents=True)
    for name, age_s in (("old.part", 7200.0), ("new.part", 0.0), ("of-before.npz", 7200.0)):
        (folder / name).write_bytes(b"x")
        os.utime(folder / name, (time.time() - age_s, time.time() - age_s))
    store.kept("key", Maker())
    assert sorted(path.name for path in folder.iterdir()) == ["key.tables", "new.part"]


def test_objects_are_never_unpickled(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder.mkdir(parents=True)
    held = io.BytesIO()
    np.savez(held, a=np.array([{"a": 1}], dtype=object), allow_pickle=True)
    monkeypatch.setattr(store.np, "savez", lambda file, **tables: file.write(held.getvalue()))
    store.kept("key", Maker())
    store.forget()
    make = Maker()
    check(store.kept("key", make))
    assert make.calls == 1


def test_switched_off_leaves_the_disk_alone(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BOBPLAN_CACHE", "off")
    assert store.cache_folder() is None
    check(store.kept("key", Maker()))
    assert not folder.exists()


def test_a_folder_that_cannot_be_written_does_not_matter(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder.parent / "file").write_text("in the way", encoding="utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder.parent / "file"))
    check(store.kept("key", Maker()))


def test_windows_folder_serves_where_there_is_no_xdg(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.delenv("BOBPLAN_CACHE", raising=False)
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path))
    assert store.cache_folder() == tmp_path / "bobplan"
    monkeypatch.delenv("LOCALAPPDATA")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert store.cache_folder() == tmp_path / ".cache" / "bobplan"


def test_the_oldest_files_go_when_there_are_too_many(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "MOST_ON_DISK", 4)
    for number in range(8):
        store.kept(f"key{number}", Maker())
    assert len(list(folder.glob("*.tables"))) <= 4
    assert not list(folder.glob("*.part"))


def test_keys_tell_contents_apart() -> None:
    one = store.content_key("w", np.array([1.0, 2.0]))
    assert one == store.content_key("w", np.array([1.0, 2.0]))
    assert one != store.content_key("w", np.array([1.0, 2.0 + 1e-12]))
    assert one != store.content_key("w", np.array([[1.0, 2.0]]))
    assert one != store.content_key("v", np.array([1.0, 2.0]))
