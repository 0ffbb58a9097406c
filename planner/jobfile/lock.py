"""One writer at a time: a lock beside the job file, given back by the system when its holder dies."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from planner.errors import InputError


class NotWrittenError(InputError, OSError):
    """A file could not be written, for a reason of the system or of another program; it is as it was."""


WAIT_SECONDS = 10.0
"""How long a writer waits for another."""
_POLL_SECONDS = 0.02
_BUSY = (errno.EACCES, errno.EAGAIN, errno.EDEADLK)


def lock_path(path: Path) -> Path:
    """Return the file that holds the lock of a job file."""
    return path.with_name(f".{path.name}.lock")


@contextlib.contextmanager
def locked(path: Path, *, seconds: float | None = None) -> Iterator[None]:
    """Hold the lock of a file.

    Parameters
    ----------
    path : Path
        The file to be changed, links resolved.
    seconds : float, optional
        How long to wait for another writer; left out: `WAIT_SECONDS`.

    Raises
    ------
    NotWrittenError
        If another writer holds it all that time, or the folder can't be written.
    """
    beside = lock_path(path)
    wait = WAIT_SECONDS if seconds is None else seconds
    end = time.monotonic() + wait
    while True:
        handle = _open(beside, path)
        if _take(handle, path) and _is_still(beside, handle):
            break
        os.close(handle)
        if time.monotonic() >= end:
            raise NotWrittenError(
                f"`{path.name}` is being written by another run of the program, waited {wait:g} s",
                hint="wait until it has finished, then try again; nothing was written",
            )
        time.sleep(_POLL_SECONDS)
    try:
        yield
    finally:
        _give_back(handle, beside)


def _open(beside: Path, path: Path) -> int:
    try:
        # a link in the lock's place would make or lock a file somewhere else
        return os.open(beside, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), 0o666)
    except OSError as error:
        if error.errno == errno.ELOOP:
            raise NotWrittenError(
                f"`{path.name}` can't be locked: `{beside.name}` beside it is a link",
                hint="nothing was changed; remove that link, then try again",
            ) from None
        raise NotWrittenError(
            f"`{path.name}` can't be written: {error.strerror or error} (its folder must be writable)",
            hint="nothing was changed; check the folder's permissions",
        ) from None


def _is_still(beside: Path, handle: int) -> bool:
    """Return whether the file locked is the one beside the job: its last holder may have removed it meanwhile."""
    try:
        return os.path.samestat(os.fstat(handle), os.stat(beside))
    except FileNotFoundError:
        return False


if sys.platform == "win32":
    import msvcrt

    def _take(handle: int, path: Path) -> bool:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            if error.errno in _BUSY:
                return False
            raise _no_locks(path, error) from None
        return True

    def _give_back(handle: int, beside: Path) -> None:
        with contextlib.suppress(OSError):
            msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)
        os.close(handle)
        # here an open file can't be removed: whoever waits keeps it, and removes it later
        with contextlib.suppress(OSError):
            beside.unlink()

else:
    import fcntl

    def _take(handle: int, path: Path) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            if error.errno in _BUSY:
                return False
            os.close(handle)
            raise _no_locks(path, error) from None
        return True

    def _give_back(handle: int, beside: Path) -> None:
        # removed while it is held: whoever waits for it sees that its file is gone, and begins again
        with contextlib.suppress(OSError):
            beside.unlink()
        os.close(handle)


def _no_locks(path: Path, error: OSError) -> NotWrittenError:
    return NotWrittenError(
        f"`{path.name}` can't be locked: {error.strerror or error}",
        hint="nothing was changed; keep the job on a disk that knows file locks",
    )
