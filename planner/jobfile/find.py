"""Which job a command means: the one named, the only one of the folder, or (to read only) the one used last.

A job file is a TOML file that has one of the sections that stand in job files alone (``[use]``, ``[job]``,
``[[spins]]``, ``[[trials]]``, ``[plan]``, ``[[cuts_made]]``), or that has both a crankshaft and a shop, a machine or
parts.
A file that another job of the folder names under ``[use]`` is none.
"""

from __future__ import annotations

import contextlib
import difflib
import os
import re
import sys
import tomllib
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from planner.errors import InputError
from planner.files import read_bytes, remember

_JOB_SECTIONS = ("use", "job", "spins", "trials", "plan", "cuts_made")
_CRANKSHAFT_SECTIONS = ("crankshaft", "throws", "counterweights")
_OTHER_SECTIONS = ("machine", "shop", "parts", "bobs", "tolerance")
_HEADER = re.compile(r"^\s*\[\[?\s*([a-z_]+)\s*\]", re.MULTILINE)
_GREATEST_BYTES = 2_000_000
_GREATEST_NAME_BYTES = 10_000
_MAKE_ONE = "name the job file, or make one with `bobplan start`"


def find_job(argument: str | None, cwd: Path, *, writing: bool = True) -> Path:
    """Return the job file that is meant.

    Parameters
    ----------
    argument : str or None
        A file, or a folder that holds exactly one job file; None: the only job file of ``cwd``.
    cwd : Path
        The current folder.
    writing : bool
        A command that writes never guesses a job of another folder.  One that only reads takes the job used
        last where nothing is named and the folder has no job file: the caller says so on screen.

    Raises
    ------
    InputError
        If there is none, or more than one.
    """
    if argument is None:
        last = None if writing or job_files(cwd) else last_job()
        return last or _only_job(cwd, "in this folder", None)
    if not argument.strip() or "\0" in argument:
        raise InputError("given an empty name, the name of a job file is wanted", hint=_MAKE_ONE)
    path = cwd / Path(argument).expanduser()
    if _is_folder(path):
        return _only_job(path, f"in the folder `{argument}`", argument)
    if not _is_there(path):
        with_ending = path.with_name(f"{path.name}.toml")
        if path.name and _is_there(with_ending) and not _is_folder(with_ending):
            return with_ending
        raise InputError(f"`{argument}` is not there", hint=_near(path) or _MAKE_ONE)
    return path


def job_files(folder: Path) -> tuple[Path, ...]:
    """Return the job files of a folder, by name; files that others use are left out."""
    try:
        files = sorted(path for path in folder.glob("*.toml") if path.is_file())
    except OSError:
        return ()
    found: list[Path] = []
    used: set[Path] = set()
    for path in files:
        text = _text(path)
        if text is None:
            continue
        try:
            data: Mapping[str, Any] = tomllib.loads(text)
        except (tomllib.TOMLDecodeError, RecursionError):
            # a job with a slip of the pen is still the job that is meant: reading it will say what is wrong
            data = dict.fromkeys(_HEADER.findall(text))
        if is_job(data):
            found.append(path)
            used |= _used(data, folder)
    return tuple(path for path in found if _real(path) not in used)


def sections_named(path: Path) -> frozenset[str]:
    """Return the sections whose headers stand in a file, without reading it as TOML: quick for a folder of a thousand files."""
    text = _text(path)
    return frozenset() if text is None else frozenset(_HEADER.findall(text))


def is_job(sections: Collection[str]) -> bool:
    """Return whether a file with such sections is a job file."""
    if any(section in sections for section in _JOB_SECTIONS):
        return True
    return any(section in sections for section in _CRANKSHAFT_SECTIONS) and any(
        section in sections for section in _OTHER_SECTIONS
    )


def _used(data: Mapping[str, Any], folder: Path) -> set[Path]:
    use = data.get("use")
    names = use.values() if isinstance(use, Mapping) else ()
    return {_real(folder / name) for name in names if isinstance(name, str) and name and "\0" not in name}


def _real(path: Path) -> Path:
    return Path(os.path.realpath(path))


def _text(path: Path) -> str | None:
    try:
        return read_bytes(path, greatest_bytes=_GREATEST_BYTES).decode("utf-8-sig")
    except (OSError, ValueError):
        return None


def _only_job(folder: Path, where: str, argument: str | None) -> Path:
    found = job_files(folder)
    if len(found) == 1:
        return found[0]
    if not found:
        raise InputError(f"there is no job file {where}", hint=_MAKE_ONE)
    names = ", ".join(f"`{path.name}`" for path in found)
    shown = found[0].name if argument is None else str(Path(argument) / found[0].name)
    raise InputError(
        f"there are {len(found)} job files {where}: {names}",
        hint=f"name the one you mean, for example `{shown}`",
    )


def _is_there(path: Path) -> bool:
    with contextlib.suppress(OSError, ValueError):
        return path.exists()
    return False


def _is_folder(path: Path) -> bool:
    with contextlib.suppress(OSError, ValueError):
        return path.is_dir()
    return False


def _near(path: Path) -> str:
    """Return a "did you mean" of the folder's files."""
    try:
        names = [each.name for each in path.parent.glob("*.toml")]
    except (OSError, ValueError):
        return ""
    close = difflib.get_close_matches(path.name, names, n=1, cutoff=0.5)
    return f"did you mean `{close[0]}`?" if close else ""


def state_folder() -> Path:
    """Return the folder of what the program remembers for this user."""
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA") or str(Path.home() / "AppData" / "Local")
        return Path(base) / "bobplan"
    base = os.environ.get("XDG_STATE_HOME") or ""
    # the standard says that a relative path there is to be ignored
    return (Path(base) if os.path.isabs(base) else Path.home() / ".local" / "state") / "bobplan"


def remember_job(path: Path) -> None:
    """Remember the job used last; a state folder that can't be written is no reason to stop."""
    with contextlib.suppress(OSError, RuntimeError):
        remember(state_folder() / "last-job", os.fsencode(f"{path.absolute()}\n"))


def last_job() -> Path | None:
    """Return the job used last, None when none is remembered or it is gone."""
    try:
        content = read_bytes(state_folder() / "last-job", greatest_bytes=_GREATEST_NAME_BYTES)
        text = os.fsdecode(content).removesuffix("\n")
    except (OSError, ValueError, RuntimeError):
        return None
    path = Path(text)
    return path if text and path.is_absolute() and _is_there(path) and not _is_folder(path) else None
