"""What a form was made from: the state of the job's files then, so that nothing entered meanwhile is overwritten."""

from __future__ import annotations

import json
from dataclasses import dataclass

from planner.errors import InputError
from planner.jobfile.job import Job
from planner.jobfile.schema.sections import Sections
from planner.jobfile.sources import sum_of

_ENTRIES = ("spins", "plan", "former_plans", "cuts_made", "undone", "proof")


class StaleError(InputError):
    """The form was made from another state of the job than that of now; ``changed`` says what came between."""

    def __init__(self, changed: tuple[str, ...]) -> None:
        self.changed = changed
        super().__init__(
            f"this job was changed meanwhile: {'; '.join(changed)}",
            hint="nothing was entered and what you typed is still here; look at it again with the job as it is now",
        )


@dataclass(frozen=True, kw_only=True)
class Seen:
    """The state of a job: how many entries there are, the plan as shown, and everything else in its files."""

    spins: int
    cuts: int
    undone: int
    plan: str
    files: str

    @property
    def token(self) -> str:
        """The state as a form carries it."""
        return f"{self.spins}.{self.cuts}.{self.undone}.{self.plan}.{self.files}"


def seen_of(job: Job) -> Seen:
    """Return the state of a job as its files were when it was loaded."""
    sources = sections_of(job).sources
    own = {key: value for key, value in sources[0].data.items() if key not in _ENTRIES}
    return Seen(
        spins=len(job.spins),
        cuts=len(job.cuts_made),
        undone=len(job.undone),
        plan=_digest(repr(job.stored_plan)),
        files=_digest(json.dumps(own, default=str, sort_keys=True), *(each.sum for each in sources[1:])),
    )


def ensure_unchanged(token: str, job: Job, *, plan: bool = False, files: bool = True) -> None:
    """Refuse a form that was made from another state of the job.

    ``plan`` and ``files`` say whether another plan, or other sizes and settings, matter to what is to be entered.

    Raises
    ------
    StaleError
        If something that matters came between.
    InputError
        If the form carries no state.
    """
    then = _read(token)
    now = seen_of(job)
    changed: list[str] = []
    if now.spins > then.spins:
        changed.append("a spin was entered" if now.spins == then.spins + 1 else "spins were entered")
    if now.cuts > then.cuts:
        changed.append("a cut was entered" if now.cuts == then.cuts + 1 else "cuts were entered")
    if now.undone != then.undone or now.spins < then.spins or now.cuts < then.cuts:
        changed.append("something was taken back or put back")
    if files and now.files != then.files:
        changed.append("sizes, weights or settings in the files are others")
    if plan and now.plan != then.plan and not changed:
        changed.append("another plan was made")
    if changed:
        raise StaleError(tuple(changed))


def stamp_of(job: Job) -> str:
    """Return a sum of everything that stood in the job's files when it was loaded: what a plan made from it answers."""
    return _digest(*(each.sum for each in sections_of(job).sources))


def sections_of(job: Job) -> Sections:
    """Return the sections that a job was loaded with."""
    assert job.sections is not None, "a job that was loaded has its sections"
    return job.sections


def _read(token: str) -> Seen:
    pieces = token.split(".")
    if len(pieces) != 5 or not all(each.isascii() and each.isdigit() for each in pieces[:3]):
        raise InputError("this form does not say what it was made from", hint="load the page again")
    return Seen(
        spins=int(pieces[0]), cuts=int(pieces[1]), undone=int(pieces[2]), plan=pieces[3], files=pieces[4]
    )


def _digest(*texts: str) -> str:
    return sum_of("\0".join(texts))
