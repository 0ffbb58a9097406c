"""Files, read within bounds and written in one step: whatever the program reads or writes goes through here.

Reading never waits and never fills the memory: a pipe, a device or a file of gigabytes is refused in words.  Writing
puts the whole new content beside the old one and moves it into place, so that a reader sees the one or the other.
"""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

from planner.errors import InputError

_NO_WAITING = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0)


changed: list[Path] = []
"""Files of the user's that this command has changed, in that order: what fails afterwards must not say otherwise."""


class NotOrdinaryError(OSError):
    """A pipe, a socket or a device stands where an ordinary file is wanted."""


class TooLargeError(OSError):
    """A file has more bytes than are allowed; ``size_bytes`` is what it has, as far as that is known."""

    def __init__(self, size_bytes: int) -> None:
        super().__init__(f"{size_bytes} bytes")
        self.size_bytes = size_bytes


def read_bytes(path: Path, *, greatest_bytes: int) -> bytes:
    """Return the content of an ordinary file.

    Parameters
    ----------
    path : Path
        The file; links are followed.
    greatest_bytes : int
        How many bytes are read at most.

    Raises
    ------
    IsADirectoryError
        If it is a folder.
    NotOrdinaryError
        If it is a pipe, a socket or a device: those may never end.
    TooLargeError
        If it has more than ``greatest_bytes``, also when it grows while it is read.
    OSError, ValueError
        If it is not there, can't be read, or its name can't be one.
    """
    # opened without waiting: a pipe that nobody writes into would hold the program for ever
    handle = os.open(path, os.O_RDONLY | _NO_WAITING)
    try:
        found = os.fstat(handle)
        if stat.S_ISDIR(found.st_mode):
            raise IsADirectoryError(errno.EISDIR, "it is a folder")
        if not stat.S_ISREG(found.st_mode):
            raise NotOrdinaryError(errno.EINVAL, "it is no ordinary file")
        if found.st_size > greatest_bytes:
            raise TooLargeError(found.st_size)
        with open(handle, "rb", closefd=False) as file:
            content = file.read(greatest_bytes + 1)
    finally:
        os.close(handle)
    if len(content) > greatest_bytes:
        raise TooLargeError(len(content))
    return content


def read_list_text(path: Path, *, greatest_bytes: int, what: str) -> str:
    """Return the text of a list that the user named (a CSV file), every trouble said in words.

    Parameters
    ----------
    path : Path
        The file, as the user wrote it.
    greatest_bytes : int
        How many bytes are read at most.
    what : str
        What is wanted, for the message: "a comma-separated file (CSV)".

    Raises
    ------
    InputError
        If it can't be read, is no ordinary file, far too large, or no text in UTF-8.
    """
    hint = f"name {what}"
    try:
        text = read_bytes(path, greatest_bytes=greatest_bytes).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(f"`{path}` is no text in UTF-8", hint=f"save it as {what}, UTF-8") from None
    except TooLargeError as error:
        raise InputError(
            f"`{path}` has {error.size_bytes / 1e6:.1f} MB or more, at most {greatest_bytes / 1e6:g} MB are read",
            hint=hint,
        ) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise InputError(f"`{path}` can't be read: {why}", hint=hint) from None
    if "\0" in text:
        raise InputError(f"`{path}` is no text", hint=f"save it as {what}, UTF-8")
    return text


def check_output(target: Path, *, endings: Sequence[str], hint: str) -> None:
    """Refuse a file that can't be written, before anything is worked out.

    Parameters
    ----------
    target : Path
        Where something is to be written.
    endings : sequence of str
        What its name may end in, in small letters: ``.png``.
    hint : str
        What to do about a wrong ending.

    Raises
    ------
    InputError
        If its ending is another, its folder does not exist, or something stands there that is no ordinary file.
    """
    if target.suffix.lower() not in endings:
        allowed = f"{', '.join(endings[:-1])} and {endings[-1]} are allowed as endings"
        raise InputError(f"given `{target.name}`; {allowed}", hint=hint)
    try:
        if not target.parent.is_dir():
            raise InputError(
                f"there is no folder `{target.parent}` to write `{target.name}` to", hint="make it first"
            )
        _real_target(target)
    except (OSError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        raise unwritable(target, error) from error


@contextlib.contextmanager
def in_one_step(target: Path) -> Iterator[Path]:
    """Give a file to write to, which takes the target's place at the end, or leaves it as it was.

    A link to a file is followed, so that the link stays one.

    Raises
    ------
    InputError
        If the file can't be written there, or something that is no ordinary file stands there.
    """
    try:
        real = _real_target(target)
        handle, name = tempfile.mkstemp(prefix=".writing-", suffix=target.suffix, dir=real.parent)
        os.close(handle)
    except (OSError, ValueError) as error:
        raise unwritable(target, error) from error
    half_done = Path(name)
    try:
        yield half_done
        half_done.chmod(0o666 & ~umask())
        sync(half_done)
        half_done.replace(real)
    except OSError as error:
        raise unwritable(target, error) from error
    finally:
        half_done.unlink(missing_ok=True)


def write_bytes(target: Path, content: bytes) -> None:
    """Write a file in one step; what is there is replaced.

    Raises
    ------
    InputError
        See `in_one_step`.
    """
    with in_one_step(target) as half_done:
        half_done.write_bytes(content)


def write_through(handle: int, content: bytes) -> None:
    """Write to an open file and close it; what is written lasts through a power cut."""
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def remember(target: Path, content: bytes) -> None:
    """Write something of the program's own into a folder that is the user's alone; raises OSError when it can't."""
    private_folder(target.parent)
    handle, name = tempfile.mkstemp(prefix=f"{target.name}.", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.replace(name, target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def private_folder(folder: Path) -> None:
    """Make a folder that nobody else may look into; raises OSError when it can't be made or is another user's."""
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    if hasattr(os, "getuid"):
        found = folder.stat()
        if found.st_uid != os.getuid():
            raise PermissionError(f"{folder} belongs to another user")
        if stat.S_IMODE(found.st_mode) & 0o077:
            folder.chmod(0o700)


def sync(path: Path) -> None:
    """Make a file's content, or a folder's names, last through a power cut, where the system can do that."""
    try:
        handle = os.open(path, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)


def umask() -> int:
    """Return the process's file mode mask: a temporary file is private, what it becomes is not."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


def unwritable(target: Path, error: OSError | ValueError) -> InputError:
    """Return the error for a file that can't be written."""
    return InputError(
        f"`{target}` can't be written: {getattr(error, 'strerror', None) or error}",
        hint="choose a folder that exists and where you may write",
    )


def _real_target(target: Path) -> Path:
    real = Path(os.path.realpath(target))
    try:
        mode = os.stat(real).st_mode
    except FileNotFoundError:
        return real
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, "it is a folder")
    if not stat.S_ISREG(mode):
        raise NotOrdinaryError(errno.EINVAL, "no ordinary file stands there")
    return real
