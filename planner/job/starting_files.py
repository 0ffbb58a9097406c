"""New files, all of them or none, and never over one that is there; what was answered the last time."""

from __future__ import annotations

import contextlib
import json
import os
import re
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from planner.errors import InputError
from planner.files import changed, read_bytes, remember, umask
from planner.job.finding import state_folder

_ANSWERS = "start-answers.json"
_GREATEST_BYTES = 100_000

#: Keys of answers whose bare numbers are in the job's units.
_IN_UNITS = re.compile(r"(?:.*_)?radius|spacing|.*_z|.*_plane|thickness|drills|tolerance")


def create_files(texts: Sequence[tuple[Path, str]]) -> None:
    """Write new files, in that order; when one can't be made, those made before are taken away again.

    A file appears with its whole text, or not at all: it is written under another name in its folder and then linked
    to its own, which fails when that is taken.

    Raises
    ------
    InputError
        If a file is there already, or a folder can't be written.
    """
    made: list[Path] = []
    try:
        for path, text in texts:
            _create(path, text)
            made.append(path)
        changed.extend(made)
    except BaseException:
        for path in made:
            path.unlink(missing_ok=True)
        raise


def _create(path: Path, text: str) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=".start-", dir=path.parent)
    except OSError as error:
        raise _unwritable(path, error) from error
    half_done = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        half_done.chmod(0o666 & ~umask())
        try:
            os.link(half_done, path)
        except FileExistsError:
            raise
        except OSError:
            # no links on this disk: the name is taken first, so that nothing can be overwritten
            _create_plainly(path, text)
    except FileExistsError:
        raise InputError(
            f"`{path}` is there already, it is not written over", hint="give the new file another name"
        ) from None
    except OSError as error:
        raise _unwritable(path, error) from error
    finally:
        half_done.unlink(missing_ok=True)


def _create_plainly(path: Path, text: str) -> None:
    handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def _unwritable(path: Path, error: OSError) -> InputError:
    return InputError(
        f"`{path}` can't be written: {error.strerror or error}", hint="choose a folder where you may write"
    )


def last_answers() -> dict[str, str]:
    """Return what was answered the last time, by key; empty when nothing is remembered."""
    try:
        data = json.loads(read_bytes(state_folder() / _ANSWERS, greatest_bytes=_GREATEST_BYTES))
    except (OSError, ValueError, RuntimeError, RecursionError):
        return {}
    if not isinstance(data, dict):
        return {}
    return {key: value for key, value in data.items() if isinstance(key, str) and isinstance(value, str)}


def carried_over(last: Mapping[str, str], units: str | None) -> dict[str, str]:
    """Return the last answers that still hold for a job in these units: a bare 1.75 of an inch job is no 1.75 mm."""
    if last.get("units", "mm") == (units or "mm"):
        return dict(last)
    return {key: value for key, value in last.items() if not (_IN_UNITS.fullmatch(key) and _bare(value))}


def _bare(text: str) -> bool:
    """Return whether a number in a text leaves its unit to the file."""
    return any(re.search(r"\d", each) and not re.search(r"[A-Za-z\"]", each) for each in text.split(","))


def remember_answers(answers: Mapping[str, str | None]) -> None:
    """Remember answers for the next time; a state folder that can't be written is no reason to stop."""
    with contextlib.suppress(OSError, RuntimeError):
        kept = carried_over(last_answers(), answers.get("units")) | {
            key: value for key, value in answers.items() if value is not None
        }
        remember(state_folder() / _ANSWERS, json.dumps(kept, indent=1).encode())
