"""Tables that cost time are kept: in memory, and on disk in the user's cache folder.

A table's key is a hash of everything it was made from and of the version of its making, so a kept table is never
stale.  A kept file begins with a hash of its key and its content: one that is cut short, overwritten, of another key or
of another making is made anew, because a wrong table would "prove" something.  The folder is the user's alone and may
be deleted at any time; that changes nothing but time.  ``BOBPLAN_CACHE=/folder`` keeps the tables there,
``BOBPLAN_CACHE=off`` keeps everything off the disk.
"""

from __future__ import annotations

import contextlib
import hashlib
import hmac
import io
import os
import time
import zipfile
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.files import read_bytes, remember

Tables = dict[str, NDArray[Any]]

VERSION = b"3"
MOST_IN_MEMORY = 512
MOST_ON_DISK = 2000
ENDING = ".tables"
_MARK = b"bobplan tables 2\n"
_HASH_BYTES = 32
_GREATEST_BYTES = 200_000_000
_LEFT_SECONDS = 3600.0
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
    tables = None if folder is None else _read(folder / f"{key}{ENDING}", key)
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
    wish = os.environ.get("BOBPLAN_CACHE", "").strip()
    if wish.lower() in ("off", "0", "no"):
        return None
    if wish:
        # a folder of our own inside the one that is named: it is closed to others, and that one may be for all
        return Path(wish).expanduser().absolute() / "bobplan"
    for name in ("XDG_CACHE_HOME", "LOCALAPPDATA"):
        place = os.environ.get(name)
        if place and Path(place).is_absolute():
            return Path(place) / "bobplan"
    try:
        return Path.home() / ".cache" / "bobplan"
    except RuntimeError:
        return None


def _seal(key: str, content: bytes) -> bytes:
    return hashlib.sha256(_MARK + key.encode() + b"\n" + content).digest()


def _read(path: Path, key: str) -> Tables | None:
    """Return the tables of a file, None if it is not exactly what was written for this key."""
    try:
        whole = read_bytes(path, greatest_bytes=_GREATEST_BYTES)
    except (OSError, ValueError):
        return None
    start = len(_MARK) + _HASH_BYTES
    seal, content = whole[len(_MARK) : start], whole[start:]
    if not whole.startswith(_MARK) or not hmac.compare_digest(seal, _seal(key, content)):
        return None
    try:
        with np.load(io.BytesIO(content), allow_pickle=False) as file:
            return {name: np.asarray(file[name]) for name in file.files}
    except (OSError, ValueError, KeyError, EOFError, TypeError, AttributeError, zipfile.BadZipFile):
        return None


def _write(folder: Path, key: str, tables: Tables) -> None:
    held = io.BytesIO()
    np.savez(held, **tables)  # type: ignore[arg-type]
    content = held.getvalue()
    # a full or read-only disk, or a folder of another user, costs time, nothing else
    with contextlib.suppress(OSError):
        remember(folder / f"{key}{ENDING}", _MARK + _seal(key, content) + content)
        _thin(folder)


def _thin(folder: Path) -> None:
    """Delete the oldest files once there are too many."""
    for left in (*folder.glob("*.npz"), *folder.glob("*.part")):
        # of an older making; of a writer that was killed (one at work now makes its table again another time)
        if time.time() - left.stat().st_mtime > _LEFT_SECONDS:
            left.unlink(missing_ok=True)
    files = list(folder.glob(f"*{ENDING}"))
    if len(files) <= MOST_ON_DISK:
        return
    files.sort(key=lambda path: path.stat().st_mtime)
    for path in files[: len(files) - MOST_ON_DISK * 3 // 4]:
        path.unlink(missing_ok=True)
