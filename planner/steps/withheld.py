"""When no cut list may be shown: what was found speaks against the machine's settings or against the picture of the job."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.errors import InputError
from planner.jobfile.job import Job
from planner.machine.spin import newest_state
from planner.records import dataclass
from planner.steps.dialled import open_cuts
from planner.steps.history import job_at
from planner.steps.known_mass import KnownMassCheck, check_known_masses, has_checks
from planner.steps.prove import LineCheck, check_line
from planner.steps.spin import foretold_for
from planner.steps.trial import spin_number, with_trials

if TYPE_CHECKING:
    from planner.steps.diagnosis import SpinDiagnosis


@dataclass(frozen=True, kw_only=True)
class Withheld:
    """Why a cut list is withheld: a proof that failed (``check``, ``line``), or what a spin showed (``diagnosis``).

    ``not_entered`` are the steps of the plan for spin ``before_spin`` that are not entered as made, where the spin reads as if
    they were cut.
    """

    spin_number: int
    check: KnownMassCheck | None = None
    line: LineCheck | None = None
    diagnosis: SpinDiagnosis | None = None
    before_spin: int = 0
    not_entered: tuple[int, ...] = ()


def withheld_of(job: Job) -> Withheld | None:
    """Return why no cut list may be shown for the newest spin; None when nothing speaks against it.

    The newest check with known masses counts, until a later one or a mended setting makes it good; and what the newest
    state's first spin says against the one before it.
    """
    if has_checks(job):
        try:
            check = check_known_masses(job)
        except InputError:
            check = None
        if check is not None and not check.good:
            return Withheld(spin_number=check.spins[-1].number, check=check)
    line = _wrong_line(job)
    if line is not None:
        return Withheld(spin_number=len(job.spins), line=line)
    if open_cuts(job):
        return None  # where holes are has to be said first: what is foretold with them blames the wrong thing
    job = with_trials(job)
    try:
        index = newest_state(job.spins)[0]
    except InputError:
        return None
    before = None if job.spins[index].from_trials else job_before(job, index)
    if before is None:
        return None
    from planner.steps.diagnosis import diagnose  # a first spin needs none

    found = diagnose(before, job.spins[index], foretold_for(before, job.spins[index]))
    # the plan for the spin before stands in the file until one for this spin is stored
    with_plan = foretold_for(dataclasses.replace(before, stored_plan=job.stored_plan), job.spins[index])
    looks_cut = with_plan is not None and with_plan.looks_cut
    # nothing entered at all is judged by nothing else; who said that the reading is right has answered
    silent = found is None and looks_cut and not job.spins[index].as_read
    if not silent and (found is None or not found.against_settings):
        return None
    return Withheld(
        spin_number=spin_number(job, index),
        diagnosis=found,
        before_spin=with_plan.before_spin if with_plan is not None else 0,
        not_entered=with_plan.open_steps if with_plan is not None and looks_cut else (),
    )


def _wrong_line(job: Job) -> LineCheck | None:
    """Return the line under the drill that speaks against ``drill_offset`` as it is set; None when none does."""
    if job.drill_line is None:
        return None
    try:
        line = check_line(job, *job.drill_line)
    except InputError:  # the place is gone from the file
        return None
    return None if line.mended_deg is None else line


def job_before(job: Job, index: int) -> Job | None:
    """Return the job as it stood before spin ``index`` (0 = first) was entered; None when there was no spin."""
    if not job.trials and not any(spin.known_mass is None for spin in job.spins[:index]):
        return None
    return dataclasses.replace(job_at(job, index), spins=job.spins[:index])
