"""What-if plans that were shown and not stored, by letter: kept for this user beside the job used last, not in the job file.

A letter once given stays that plan's: ``done a1`` can only mean what was shown as a1.  What can't be read, or does not
carry the sum of its own content, is as good as not there.
"""

from __future__ import annotations

import contextlib
import dataclasses
import hashlib
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from planner.cuts.cut import Cut
from planner.files import private_folder, read_bytes, remember
from planner.frames import DrillSettings
from planner.jobfile.find import state_folder
from planner.jobfile.job import StoredPlan, StoredStep
from planner.jobfile.lock import locked

_MOST = 200
_GREATEST_BYTES = 4_000_000
_LOCK_SECONDS = 2.0


def letters(number: int) -> str:
    """Return the letters of the n-th plan, 0 = first: a, b, ... z, aa, ab."""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("a") + rest) + text
    return text


def keep_lettered(job: Path, plan: StoredPlan) -> str:
    """Keep a what-if plan and return its letter: the one it had before, or the next.

    A folder that can't be written is no reason to stop: the letter is given all the same.  Two runs at once get two letters.
    """
    with contextlib.ExitStack() as held:
        with contextlib.suppress(OSError, RuntimeError):
            private_folder(_file(job).parent)
            held.enter_context(locked(_file(job), seconds=_LOCK_SECONDS))
        return _kept(job, plan)


def _kept(job: Path, plan: StoredPlan) -> str:
    kept = lettered_plans(job)
    for letter, other in kept.items():
        if _same(other, plan):
            return letter
    letter = letters(_next(job))
    plans = dict(list({**kept, letter: plan}.items())[-_MOST:])
    _write(
        job,
        {"next": _next(job) + 1, "plans": {name: dataclasses.asdict(each) for name, each in plans.items()}},
    )
    return letter


def lettered_plans(job: Path) -> Mapping[str, StoredPlan]:
    """Return the what-if plans that were shown for a job, by letter; empty when there are none."""
    body = _read(job)
    try:
        return {name: _plan(data) for name, data in body.get("plans", {}).items()}
    except (TypeError, ValueError, KeyError, AttributeError):
        return {}


def _same(one: StoredPlan, other: StoredPlan) -> bool:
    cuts = [[step.cut for step in plan.steps] for plan in (one, other)]
    return (
        (one.after_spin, one.after_cuts, one.basis, one.metal)
        == (other.after_spin, other.after_cuts, other.basis, other.metal)
        and one.learned_factor == other.learned_factor
        and cuts[0] == cuts[1]
    )


def _next(job: Path) -> int:
    value = _read(job).get("next", 0)
    return value if isinstance(value, int) and value >= 0 else 0


def _plan(data: Mapping[str, Any]) -> StoredPlan:
    steps = tuple(
        StoredStep(number=int(each["number"]), cut=Cut(**each["cut"]), pinned=bool(each["pinned"]))
        for each in data["steps"]
    )
    under = data["shown_under"]
    return StoredPlan(
        **{**data, "steps": steps, "wish": tuple(data["wish"])}
        | {"shown_under": None if under is None else DrillSettings(**under)}
    )


def _file(job: Path) -> Path:
    name = hashlib.sha256(os.fsencode(os.path.realpath(job))).hexdigest()[:24]
    return state_folder() / "what-ifs" / f"{name}.json"


def _read(job: Path) -> dict[str, Any]:
    try:
        data = json.loads(read_bytes(_file(job), greatest_bytes=_GREATEST_BYTES))
        body = data["body"]
        return body if isinstance(body, dict) and data["sum"] == _sum(body) else {}
    except (OSError, ValueError, RuntimeError, KeyError, TypeError):
        return {}


def _write(job: Path, body: dict[str, Any]) -> None:
    # what is read back must have the same sum: tuples are lists there
    body = json.loads(json.dumps(body))
    with contextlib.suppress(OSError, RuntimeError):
        remember(_file(job), json.dumps({"sum": _sum(body), "body": body}).encode())


def _sum(body: Mapping[str, Any]) -> str:
    return hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()
