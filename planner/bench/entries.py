"""Undo, in sight on every part: the newest entry is taken back, or what was taken back last is put back."""

from __future__ import annotations

from functools import partial
from typing import Literal

from starlette.responses import Response

from planner.bench.page import Call, go
from planner.errors import BobplanError, InputError
from planner.jobfile.undo import newest_entry, newest_undone, put_back, take_back

_PARTS = ("parts", "spin", "cut", "judge", "shop", "quote")


def undo(call: Call) -> Response:
    """Take back the entry that the form names, if it still is the newest."""
    return _done(call, "undo")


def redo(call: Call) -> Response:
    """Put back the entry that the form names, if it still is the one taken back last."""
    return _done(call, "redo")


def _done(call: Call, way: Literal["undo", "redo"]) -> Response:
    part = call.form.get("part")
    where = {"prove": "shop/prove"}.get(part, part if part in _PARTS else "cut")
    unchanged = partial(call.ensure_unchanged, files=False)
    try:
        job = call.job()
        unchanged(job)
        named = call.form.get("of")
        if way == "undo":
            what, number = newest_entry(job)
            if named != f"{what}:{number}":
                raise InputError("it is not the newest entry any more", hint="look at what Undo says now")
            take_back(job.files.job, what, number, still=unchanged)
        else:
            entry = newest_undone(job)
            if named != f"{entry.what}:{entry.number}":
                raise InputError(
                    "it is not what was taken back last", hint="look at what can be put back now"
                )
            put_back(job.files.job, still=unchanged)
    except BobplanError as error:
        from planner.bench.judge_part import judge_page

        return judge_page(call, error=error)
    return go(call.to(where))
