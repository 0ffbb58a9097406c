"""What stands above every part of a job: where the job stands, which part is due, what Undo takes back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.errors import BobplanError
from planner.jobfile.job import Job
from planner.jobfile.undo import newest_entry, newest_undone
from planner.machine.spin import newest_state
from planner.present.pages.history import undone_words
from planner.present.pages.prove import unproved_words
from planner.present.pages.withheld import withheld_words
from planner.present.words import cut_words, readings_words
from planner.rotor.verdict import overall_verdict
from planner.steps.correction_question import pose
from planner.steps.done import open_steps
from planner.steps.job_status import standing_of
from planner.steps.judging import judged_of
from planner.steps.withheld import withheld_of

if TYPE_CHECKING:
    from planner.bench.page import Call


@dataclass(frozen=True, kw_only=True)
class Taken:
    """An entry that can be taken back, or put back: what it is in words, and how a form names it."""

    name: str
    words: str
    of: str


@dataclass(frozen=True, kw_only=True)
class Head:
    """The head of a job's page; ``due`` is the part that comes next."""

    title: str
    stands: str
    next_step: str
    due: str
    unproved: str
    undo: Taken | None
    redo: Taken | None
    questions: tuple[str, ...]
    notes: tuple[str, ...]


def head_of(call: Call, job: Job) -> Head:
    """Return the head of a job's page."""
    shown = call.shown(job)
    try:
        withheld = withheld_of(job)
        standing = standing_of(shown)
        stands, next_step = (
            withheld_words(withheld) if withheld is not None else (standing.stands, standing.next_step)
        )
        if not spot_is_settled(job):
            next_step = "look whether the heavy spot is there, under Cut"
    except BobplanError as error:
        stands, next_step = f"{error.message}.", error.hint or ""
    return Head(
        title=job.details.title or job.files.job.stem,
        stands=stands,
        next_step=next_step,
        due=due_part(job),
        unproved=unproved_words(job) or "",
        undo=_undo(shown),
        redo=_redo(shown),
        questions=job.questions,
        notes=job.notes,
    )


def due_part(job: Job) -> str:
    """Return which part of the work comes next."""
    if not job.spins and not job.trials:
        return "spin" if job.bobs_wanted_g is not None else "parts"
    try:
        newest_state(job.spins)
    except BobplanError:
        return "spin"
    try:
        if not spot_is_settled(job):
            return "cut"
        posed = pose(job)
        foretold = bool(posed.made)
        verdict = overall_verdict(judged_of(job, posed, posed.problem.unbalance_gmm, foretold=foretold))
        if verdict == "in tolerance":
            return "spin" if foretold else "judge"
        return "cut" if not foretold or open_steps(job) or verdict == "out of tolerance" else "spin"
    except BobplanError:
        return "cut"


def spot_is_settled(job: Job) -> bool:
    """Return whether cuts may be shown: somebody found the heavy spot where it is said to be, or the settings are proved."""
    if unproved_words(job) is None or not job.spins:
        return True
    newest = newest_state(job.spins)
    if any(job.spins[index].spot_seen for index in newest):
        return True
    # who cuts to this spin has looked
    return any(made.after_spin > newest[-1] for made in job.cuts_made)


def _undo(job: Job) -> Taken | None:
    try:
        what, number = newest_entry(job)
    except BobplanError:
        return None
    if what == "cut":
        made = next(each for each in job.cuts_made if each.number == number)
        words = cut_words(job, made.cut)
    else:
        spin = job.spins[number - 1]
        words = readings_words(job, spin.shown)
    return Taken(name=f"{what} {number}", words=words, of=f"{what}:{number}")


def _redo(job: Job) -> Taken | None:
    try:
        entry = newest_undone(job)
    except BobplanError:
        return None
    return Taken(
        name=f"{entry.what} {entry.number}", words=undone_words(job, entry), of=f"{entry.what}:{entry.number}"
    )
