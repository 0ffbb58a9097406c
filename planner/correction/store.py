"""Tables that cost time are kept: in memory, and on disk in the user's cache folder.

A table's key is a hash of everything it was made from and of the version of its making, so a kept table is never
stale.  The folder may be deleted at any time; that changes nothing but time.  Files are written beside their place
and moved there in one step; what cannot be read is ignored and made anew.  ``BOBPLAN_CACHE=off`` keeps everything
off the disk.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import zipfile
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Tables = dict[str, NDArray[Any]]

VERSION = b"1"
MOST_IN_MEMORY = 512
MOST_ON_DISK = 2000
_memory: OrderedDict[str, Tables] = OrderedDict()


def content_key(*parts: object) -> str:
    """Return a hash of arrays and plain values; equal content gives equal keys on every machine."""
    digest = hashlib.sha256(VERSION)
    for part in parts:
        if isinstance(part, np.ndarray):
            digest.update(f"{part.dtype.str}{part.shape}".encode())
            digest.update(np.ascontiguousarray(part).tobytes())
        else:
            digest.update(repr(part).encode())
        digest.update(b"|")
    return digest.hexdigest()


def kept(key: str, make: Callable[[], Tables]) -> Tables:
    """Return the tables of a key, made now if they are not kept yet."""
    if key in _memory:
        _memory.move_to_end(key)
        return _memory[key]
    folder = cache_folder()
    tables = None if folder is None else _read(folder / f"{key}.npz")
    if tables is None:
        tables = make()
        if folder is not None:
            _write(folder, key, tables)
    _memory[key] = tables
    while len(_memory) > MOST_IN_MEMORY:
        _memory.popitem(last=False)
    return tables


def forget() -> None:
    """Forget what is kept in memory (the disk stays)."""
    _memory.clear()


def cache_folder() -> Path | None:
    """Return the folder for tables, None if the disk is not to be used or there is no home for it."""
    if os.environ.get("BOBPLAN_CACHE", "").strip().lower() in ("off", "0", "no"):
        return None
    for name in ("XDG_CACHE_HOME", "LOCALAPPDATA"):
        place = os.environ.get(name)
        if place and Path(place).is_absolute():
            return Path(place) / "bobplan"
    try:
        return Path.home() / ".cache" / "bobplan"
    except RuntimeError:
        return None


def _read(path: Path) -> Tables | None:
    try:
        # opened here, so that it is closed here too when its content turns out to be no archive
        with path.open("rb") as handle, np.load(handle, allow_pickle=False) as file:
            tables = {name: np.asarray(file[name]) for name in file.files}
    except (OSError, ValueError, KeyError, EOFError, TypeError, AttributeError, zipfile.BadZipFile):
        return None
    return tables if "complete" in tables else None


def _write(folder: Path, key: str, tables: Tables) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(suffix=".part", dir=folder)
        try:
            with os.fdopen(handle, "wb") as file:
                np.savez(file, complete=np.ones(1), **tables)  # type: ignore[arg-type]
            os.replace(name, folder / f"{key}.npz")
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
        _thin(folder)
    except OSError:
        return  # a full or read-only disk costs time, nothing else


def _thin(folder: Path) -> None:
    """Delete the oldest files once there are too many."""
    files = list(folder.glob("*.npz"))
    if len(files) <= MOST_ON_DISK:
        return
    files.sort(key=lambda path: path.stat().st_mtime)
    for path in files[: len(files) - MOST_ON_DISK * 3 // 4]:
        path.unlink(missing_ok=True)
