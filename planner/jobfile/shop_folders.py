"""Which files a job may use: those of its own folder tree, and those of the shop's folders that the user stated.

A job file may come from anybody.  What it names under ``[use]`` is read and, where it has faults, shown: so it must not
reach just any file of the computer.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from planner.files import read_bytes, remember
from planner.jobfile.find import state_folder

VARIABLE = "BOBPLAN_SHOP_FOLDERS"
_FILE = "shop-folders"
_GREATEST_BYTES = 100_000


def shop_folders() -> tuple[Path, ...]:
    """Return the shop's folders: those of ``BOBPLAN_SHOP_FOLDERS`` (separated as in ``PATH``), and those stated to `start`."""
    stated = [each for each in os.environ.get(VARIABLE, "").split(os.pathsep) if each.strip()]
    with contextlib.suppress(OSError, ValueError, RuntimeError):
        lines = os.fsdecode(read_bytes(state_folder() / _FILE, greatest_bytes=_GREATEST_BYTES))
        stated += [line for line in lines.split("\n") if line]
    folders = (Path(os.path.realpath(os.path.expanduser(each))) for each in stated if "\0" not in each)
    return tuple(dict.fromkeys(folder for folder in folders if folder.is_absolute()))


def state_shop_folder(folder: Path) -> None:
    """Remember a folder whose files jobs of other folders may use, because the user named it."""
    real = Path(os.path.realpath(folder))
    known = shop_folders()
    if real in known:
        return
    with contextlib.suppress(OSError, RuntimeError):
        remember(state_folder() / _FILE, b"".join(os.fsencode(f"{each}\n") for each in (*known, real)))


def may_use(file: Path, *, job_folder: Path) -> bool:
    """Return whether a job of that folder may read that file; links count as what they point to."""
    real = Path(os.path.realpath(file))
    return any(
        real.is_relative_to(folder) for folder in (Path(os.path.realpath(job_folder)), *shop_folders())
    )
