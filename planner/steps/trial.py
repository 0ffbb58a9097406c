"""Trial runs in raw vibration: influence coefficients, and unbalance in the crankshaft frame."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence

import numpy as np

from planner.errors import InputError
from planner.frames import SIDES, MachineAngle, Side, SideReading, TwoPlanes
from planner.jobfile.job import Job, TrialRun, TrialSide
from planner.machine.spin import Spin
from planner.machine.trial_masses import (
    Influence,
    RawRun,
    TrialSolution,
    disagreement,
    solve_trials,
    told_phase,
    unbalance_of_reading,
)
from planner.quantity import percent
from planner.records import dataclass
from planner.rotor.vectors import ComplexArray, angle_deg, vector_gmm

# a trial mass should change the reading by this share, or its phase by about as many degrees (common practice)
_GOOD_CHANGE = 0.3
# spare runs that miss by more than this share of the readings want a look
_POOR_FIT = 0.05


@dataclass(frozen=True, kw_only=True)
class TrialAnswer:
    """What the trial runs of a job came to.

    Attributes
    ----------
    job : Job
        The job.
    runs : tuple of RawRun
        The runs with the masses that were on, in the machine's counting.
    solution : TrialSolution
        Coefficients and unbalance, in the machine's counting.
    unbalance_gmm : tuple of complex
        Per plane of the coefficients, in the crankshaft frame, pointing to the heavy spot [g*mm].
    still_on : tuple of str
        Runs whose trial mass is on at the end.
    warnings : tuple of str
        What is odd about the runs.
    """

    job: Job
    runs: tuple[RawRun, ...]
    solution: TrialSolution
    unbalance_gmm: tuple[complex, ...]
    still_on: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def influence(self) -> Influence:
        """The coefficients."""
        return self.solution.influence

    @property
    def both_planes(self) -> bool:
        """True when unbalance is known in both planes: then it can be planned."""
        return self.influence.planes == SIDES


@dataclass(frozen=True, kw_only=True)
class RawReadingAnswer:
    """What a raw reading without new trials comes to; ``unbalance_gmm`` as for `TrialAnswer`, ``solution`` the trial runs'."""

    job: Job
    influence: Influence
    influence_from: str
    reading: tuple[TrialSide, ...]
    unbalance_gmm: tuple[complex, ...]
    solution: TrialSolution | None = None


def solve_job_trials(job: Job) -> TrialAnswer:
    """Return what the trial runs of a job come to.

    Raises
    ------
    InputError
        If there are none, too few, or such that they say too little.
    """
    if not job.trials:
        raise InputError(
            "the job has no trial runs",
            hint="add `[[trials]]` to the job file: one run without a trial mass, and one with a trial mass in each plane",
        )
    sides = tuple(side for side in SIDES if getattr(job.trials[0], side) is not None)
    planes = tuple(side for side in SIDES if any(run.mass_plane == side for run in job.trials))
    if len(sides) == 1 and len(planes) == 2:
        raise InputError(
            f"only the {sides[0]} side was read, but trial masses were in both planes",
            hint="read both sides in every run, or keep to trial masses in one plane",
        )
    if len(sides) == 2 and len(planes) < 2:
        missing = ", ".join(side for side in SIDES if side not in planes)
        raise InputError(
            f"both sides were read, but no run has a trial mass in this plane: {missing}",
            hint="add such a run; for a single-plane job give the readings of one side only",
        )
    runs = raw_runs(job, sides=sides, planes=planes)
    errors = job.errors
    share = math.hypot(errors.reading_percent / 100.0, math.radians(errors.reading_angle_deg))
    first_bare = next(run for run in job.trials if run.mass_plane is None)
    solution = solve_trials(
        runs, sides=sides, planes=planes, reading_share=max(share, 1e-6), speed_rpm=first_bare.speed_rpm
    )
    return TrialAnswer(
        job=job,
        runs=runs,
        solution=solution,
        unbalance_gmm=in_crankshaft_frame(job, solution.unbalance_gmm),
        still_on=tuple(run.name for run in job.trials if run.left_on),
        warnings=tuple(_warnings(job, solution)),
    )


def raw_runs(job: Job, *, sides: Sequence[Side], planes: Sequence[Side]) -> tuple[RawRun, ...]:
    """Return the runs in the machine's counting; a mass that was left on is on in every later run."""
    on = dict.fromkeys(planes, 0j)
    runs = []
    for run in job.trials:
        now = dict(on)
        if run.mass_plane is not None:
            plane: Side = "left" if run.mass_plane == "left" else "right"
            now[plane] += vector_gmm(run.trial_gmm or 0.0, run.machine_angle_deg or 0.0)
        if run.left_on:
            on = now
        runs.append(
            RawRun(
                name=run.name,
                readings=tuple(_raw(job, _side_of(run, side)) for side in sides),
                masses_gmm=tuple(now[plane] for plane in planes),
            )
        )
    return tuple(runs)


def raw_reading(job: Job, reading: Sequence[TrialSide]) -> RawReadingAnswer:
    """Return what a raw reading comes to, by the job's trial runs or else by its stored coefficients.

    Raises
    ------
    InputError
        If there are neither, or the reading has not as many sides as they have.
    """
    solution = None
    if job.trials:
        solved = solve_job_trials(job)
        influence, solution, source = solved.influence, solved.solution, "the trial runs"
    elif job.influence is not None:
        influence, source = job.influence, "[influence]"
    else:
        raise InputError(
            "there are no influence coefficients yet",
            hint="make trial runs, enter them as `[[trials]]` and call `bobplan trial JOB` once",
        )
    vector = unbalance_of_reading([_raw(job, side) for side in reading], influence=influence)
    return RawReadingAnswer(
        job=job,
        influence=influence,
        influence_from=source,
        reading=tuple(reading),
        unbalance_gmm=in_crankshaft_frame(job, vector),
        solution=solution,
    )


def in_crankshaft_frame(job: Job, vectors_gmm: ComplexArray) -> tuple[complex, ...]:
    """Return vectors of the machine's counting (heavy spots as places) in the crankshaft frame [g*mm]."""
    return tuple(
        vector_gmm(abs(vector), job.machine.place_deg(MachineAngle(angle_deg(vector))))
        for vector in (complex(each) for each in vectors_gmm)
    )


def shown_by_the_machine(job: Job, unbalance_gmm: Sequence[complex]) -> TwoPlanes[SideReading]:
    """Return what a display would show for this unbalance: the four numbers for `bobplan spin`."""
    return TwoPlanes.vectors(unbalance_gmm).shown(job.machine)


def raw_shown(job: Job, vectors_gmm: Sequence[complex] | ComplexArray) -> TwoPlanes[TrialSide] | None:
    """Return what the vibration instrument reads for vectors in the crankshaft frame [g*mm], left and right.

    In the unit of the job's trial runs; None for a job without influence coefficients of both sides and planes.
    """
    influence = job.influence
    if job.trials:
        try:
            influence = solve_job_trials(job).influence
        except InputError:
            return None
    if influence is None or influence.planes != SIDES or influence.sides != SIDES:
        return None
    # coefficients are in the machine's counting
    seen = np.array(
        [
            vector_gmm(abs(vector), job.machine.machine_angle_deg(angle_deg(vector)))
            for vector in (complex(each) for each in vectors_gmm)
        ]
    )
    return TwoPlanes.vectors(influence.matrix @ seen).map(
        lambda raw: TrialSide(amount=abs(raw), phase_deg=job.machine.raw_phase_deg(raw))
    )


def with_trials(job: Job) -> Job:
    """Return the job with what its trial runs came to as spin 0, when nothing was spun since; else the job itself.

    Raises
    ------
    InputError
        If the trial runs can't be planned from: one plane only, or no word of the bobs.
    """
    if job.spins or not job.trials:
        return job
    answer = solve_job_trials(job)
    if not answer.both_planes:
        raise InputError(
            f"the trial runs say only what is in the {answer.influence.planes[0]} plane, a plan needs both planes",
            hint="read both sides and add a run with a trial mass in the other plane",
        )
    first_bare = next(run for run in job.trials if run.mass_plane is None)
    if first_bare.bobs_g is None:
        raise InputError(
            f"what was clamped on the throws in the trial runs is not said (run `{first_bare.name}`)",
            hint="add `bobs = ..` to the first run without a trial mass: a mass for every throw, 0 = bare",
        )
    left, right = shown_by_the_machine(job, answer.unbalance_gmm)
    spin = Spin(
        left=left,
        right=right,
        bobs_g=first_bare.bobs_g,
        mounted=first_bare.mounted,
        speed_rpm=first_bare.speed_rpm,
        from_trials=True,
    )
    return dataclasses.replace(job, spins=(spin,))


def trial_uncertainty_gmm(job: Job) -> tuple[float, float] | None:
    """Return how uncertain the state in the trial runs is, per plane [g*mm]; None where a real spin is the newest.

    It is far more than a reading's own error: the coefficients are differences of readings.
    """
    if not job.spins or not job.spins[-1].from_trials:
        return None
    left, right = solve_job_trials(job).solution.uncertainty_gmm
    return float(left), float(right)


def reading_times(job: Job, reading_gmm: ComplexArray) -> tuple[float, float]:
    """Return, per plane, how many times a reading's own error the newest state is uncertain: 1 after a real spin."""
    uncertain = trial_uncertainty_gmm(job)
    share = math.hypot(job.errors.reading_percent / 100.0, math.radians(job.errors.reading_angle_deg))
    if uncertain is None or share == 0.0:
        return 1.0, 1.0
    left, right = (
        each / (share * max(abs(complex(vector)), 1e-6 * each, 1e-12))
        for each, vector in zip(uncertain, reading_gmm, strict=True)
    )
    return left, right


def spin_number(job: Job, index: int) -> int:
    """Return the number of the spin at an index of ``job.spins``: 1 = first, 0 = what trial runs came to."""
    return 0 if job.spins[index].from_trials else index + 1


def spin_words(number: int) -> str:
    """Return what a spin's number means, in words."""
    return f"spin {number}" if number else "the state in the trial runs"


def _side_of(run: TrialRun, side: Side) -> TrialSide:
    found = run.left if side == "left" else run.right
    if found is None:
        # the job's reader sees to it that every run has the same sides
        raise InputError(
            f"run `{run.name}` has no reading of the {side} side",
            hint="the same sides must be read in every run",
        )
    return found


def _raw(job: Job, side: TrialSide) -> complex:
    return job.machine.raw_vector(side.amount, side.phase_deg)


def _warnings(job: Job, solution: TrialSolution) -> Iterator[str]:
    planes = solution.influence.planes
    for run in job.trials:
        if run.mass_plane is not None:
            effect = solution.influence.matrix[:, [str(each) for each in planes].index(run.mass_plane)]
            steps = abs(effect) * (run.trial_gmm or 0.0)
            shares = [step / max(abs(v), 1e-300) for step, v in zip(steps, solution.initial, strict=True)]
            if max(shares) < _GOOD_CHANGE:
                yield (
                    f"the trial mass of run `{run.name}` changes the reading by {percent(max(shares))} at most; common practice "
                    "asks for 30 % or 30 degrees: a larger trial mass makes the answer surer"
                )
    if told_phase(solution) is None and not job.machine.phase_stated:
        yield (
            "QUESTION: does the phase grow or fall when a mass is moved toward larger angles? Nobody said it, these runs fit "
            "both ways, and the wrong one mirrors the unbalance about the trial mass (a meter that shows the lag counts "
            "the other way than one that shows the lead). One more run tells it: the same trial mass in the same plane, "
            'about 90 degrees further on. Or say it: `phase_grows = "with angles"` or "against angles" under [machine]'
        )
    if solution.spare_runs and solution.misfit > _POOR_FIT:
        yield disagreement(solution.misfit, solution.misfit_mirrored)
