"""What is kept in the cache folder changes nothing but time."""

from __future__ import annotations

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
    assert [path.name for path in folder.iterdir()] == ["key.npz"]


def test_deleting_the_folder_costs_time_only(folder: Path) -> None:
    make = Maker()
    store.kept("key", make)
    (folder / "key.npz").unlink()
    store.forget()
    check(store.kept("key", make))
    assert make.calls == 2


@pytest.mark.parametrize("content", [b"", b"not a zip file", b"PK\x03\x04 cut off"])
def test_what_cannot_be_read_is_made_anew(folder: Path, content: bytes) -> None:
    folder.mkdir(parents=True)
    (folder / "key.npz").write_bytes(content)
    make = Maker()
    check(store.kept("key", make))
    assert make.calls == 1
    store.forget()
    check(store.kept("key", make))
    assert make.calls == 1


def test_a_file_without_its_end_mark_is_made_anew(folder: Path) -> None:
    folder.mkdir(parents=True)
    np.savez(folder / "key.npz", a=np.zeros(1))
    make = Maker()
    check(store.kept("key", make))
    assert make.calls == 1


def test_objects_are_never_unpickled(folder: Path) -> None:
    folder.mkdir(parents=True)
    np.savez(folder / "key.npz", complete=np.array([{"a": 1}], dtype=object), allow_pickle=True)
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
    assert len(list(folder.glob("*.npz"))) <= 4
    assert not list(folder.glob("*.part"))


def test_keys_tell_contents_apart() -> None:
    one = store.content_key("w", np.array([1.0, 2.0]))
    assert one == store.content_key("w", np.array([1.0, 2.0]))
    assert one != store.content_key("w", np.array([1.0, 2.0 + 1e-12]))
    assert one != store.content_key("w", np.array([[1.0, 2.0]]))
    assert one != store.content_key("v", np.array([1.0, 2.0]))
