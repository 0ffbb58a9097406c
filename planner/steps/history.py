"""Spin after spin: what each read, what was foretold, what was cut between, and the verdict of each."""

from __future__ import annotations

import dataclasses

from planner.errors import InputError
from planner.jobfile.job import Job, MadeCut
from planner.machine.spin import Spin, newest_state
from planner.machine.unbalance import spin_vectors
from planner.records import dataclass
from planner.rotor.vectors import ComplexArray
from planner.steps.check import CheckAnswer, check_job
from planner.steps.diagnosis import SpinDiagnosis, diagnose
from planner.steps.dialled import open_cuts
from planner.steps.spin import Foretold, foretold_for
from planner.steps.trial import with_trials


@dataclass(frozen=True, kw_only=True)
class SpinEntry:
    """One spin of the record.

    ``kind`` says whether it begins a state of the crankshaft, repeats the one before, or is a check with a known mass, or
    what trial runs came to.
    ``foretold`` and ``diagnosis`` are None for the first spin, for repeats and check spins; ``check`` judges the state
    as read up to and with this spin, None for check spins and without a tolerance.  ``cuts_after`` are the cuts made
    after it.
    """

    number: int
    spin: Spin
    kind: str
    reading_gmm: ComplexArray
    foretold: Foretold | None
    diagnosis: SpinDiagnosis | None
    check: CheckAnswer | None
    cuts_after: tuple[MadeCut, ...]


@dataclass(frozen=True, kw_only=True)
class History:
    """The record of a job, spin after spin.

    ``trials`` is what the trial runs came to (number 0), None without them or where they can't be planned from;
    ``cuts_before`` were made to a plan from them, before any spin.
    """

    job: Job
    entries: tuple[SpinEntry, ...]
    cuts_before: tuple[MadeCut, ...] = ()
    trials: SpinEntry | None = None


def history_of(job: Job) -> History:
    """Return the record of a job; each spin is judged with its own bobs, against today's tolerance."""
    return History(
        job=job,
        entries=tuple(_entry(job, index) for index in range(len(job.spins))),
        cuts_before=_cuts_after(job, 0),
        trials=_trials(job),
    )


def job_at(job: Job, index: int) -> Job:
    """Return the job as it stood when spin ``index`` (0 = first) had just been entered; its plan is not known any more."""
    return dataclasses.replace(
        job,
        spins=job.spins[: index + 1],
        cuts_made=tuple(made for made in job.cuts_made if made.after_spin <= index),
        stored_plan=None,
    )


def _trials(job: Job) -> SpinEntry | None:
    """Return what the trial runs came to, judged before any cut."""
    first = dataclasses.replace(job, spins=(), cuts_made=(), stored_plan=None)
    try:
        state = with_trials(first)
    except InputError:
        return None
    if not state.spins:
        return None
    return SpinEntry(
        number=0,
        spin=state.spins[0],
        kind="trials",
        reading_gmm=spin_vectors(state.spins[0], machine=job.machine),
        foretold=None,
        diagnosis=None,
        check=check_job(first) if job.tolerance is not None else None,
        cuts_after=_cuts_after(job, 0),
    )


def _entry(job: Job, index: int) -> SpinEntry:
    spin = job.spins[index]
    now = job_at(job, index)
    kind = "known mass" if spin.known_mass is not None else "repeat" if spin.repeat else "state"
    foretold = None
    # foretold_for takes the trial runs as the state before the first spin
    if kind == "state" and (job.trials or any(each.known_mass is None for each in job.spins[:index])):
        foretold = foretold_for(dataclasses.replace(now, spins=job.spins[:index]), spin)
    return SpinEntry(
        number=index + 1,
        spin=spin,
        kind=kind,
        reading_gmm=spin_vectors(spin, machine=job.machine),
        foretold=foretold,
        diagnosis=diagnose(dataclasses.replace(now, spins=job.spins[:index]), spin, foretold)
        # where holes are has to be said first: what is foretold with them blames the wrong thing
        if foretold is not None and not open_cuts(job)
        else None,
        check=check_job(now)
        if kind != "known mass" and job.tolerance is not None and newest_state(now.spins)
        else None,
        cuts_after=_cuts_after(job, index + 1),
    )


def _cuts_after(job: Job, number: int) -> tuple[MadeCut, ...]:
    return tuple(made for made in job.cuts_made if made.after_spin == number)
