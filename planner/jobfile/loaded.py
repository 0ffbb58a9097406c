"""Jobs that were loaded already, as long as their files say the same: one step of the work asks for its job several times."""

from __future__ import annotations

import os
import threading
from collections import OrderedDict
from pathlib import Path

from planner.errors import InputError
from planner.jobfile.job import Job
from planner.jobfile.read import load_job
from planner.jobfile.shop_folders import shop_folders
from planner.jobfile.sources import read_text, sum_of

_MOST = 8

_kept: OrderedDict[tuple[object, ...], Job] = OrderedDict()
_lock = threading.Lock()


def load_known(path: Path) -> Job:
    """Return the job of a file as `load_job` does; the very job loaded before where no file of it has other bytes now.

    A job never changes, so who asks for it again may be given the same one.

    Raises
    ------
    InputError
        See `load_job`.
    """
    key = _key(path)
    with _lock:
        known = _kept.get(key)
    if known is None or not _says_the_same(known):
        known = load_job(path)
    _keep(key, known)
    return known


def keep_loaded(job: Job) -> None:
    """Keep a job that was loaded, for who asks for it while its files say the same."""
    _keep(_key(job.files.job), job)


def _keep(key: tuple[object, ...], job: Job) -> None:
    with _lock:
        _kept[key] = job
        _kept.move_to_end(key)
        while len(_kept) > _MOST:
            _kept.popitem(last=False)


def _key(path: Path) -> tuple[object, ...]:
    # which files a job may use is not said by the files themselves
    return path, os.path.abspath(path), shop_folders()


def _says_the_same(job: Job) -> bool:
    if job.sections is None:
        return False
    try:
        return all(
            sum_of(read_text(source.path, name=source.name)) == source.sum for source in job.sections.sources
        )
    except InputError:
        return False  # loading it says what is wrong
