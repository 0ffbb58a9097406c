"""The one rule by which a residual is judged, wherever it is shown: the limit less what the readings are uncertain by.

Plan, spin, check, sheet, record and the bare command all ask here, so that no two of them give two verdicts.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

from planner.correction.problem import CorrectionProblem
from planner.errors import InputError
from planner.jobfile.job import Job
from planner.machine.unbalance import spin_vectors
from planner.rotor.limits import LimitRow
from planner.rotor.tolerance import ToleranceSpec
from planner.rotor.vectors import ComplexArray
from planner.rotor.verdict import Judged, judge
from planner.steps.correction_question import Posed
from planner.steps.trial import with_trials
from planner.uncertainty.measuring_error import MeasurementError, measurement_error


def error_of_state(job: Job, posed: Posed) -> MeasurementError:
    """Return the measurement error of the newest state, by the spins that it was read in."""
    job = with_trials(job)
    spins = [spin_vectors(job.spins[number - 1], machine=job.machine) for number in posed.state_numbers]
    return _error(job, posed.problem.limits, spins)


def error_of_one_spin(job: Job, rows: Sequence[LimitRow]) -> MeasurementError:
    """Return the measurement error that a single new spin will have: as stated, else the usual margin."""
    return _error(job, rows, ())


def judged_of(
    job: Job, posed: Posed, residual_gmm: Sequence[complex], *, foretold: bool
) -> tuple[Judged, ...]:
    """Return a residual [g*mm] against every limit.

    Parameters
    ----------
    job, posed : Job, Posed
        The job and its question.
    residual_gmm : sequence of 2 complex
        Left and right [g*mm].
    foretold : bool
        False for what the newest spins read: their own error counts.  True for what is left after cuts: it will be read
        by one new spin, so that one's error counts, and the reading foretold gets the same verdict once it is entered.
    """
    limits = posed.problem.limits
    error = error_of_one_spin(job, limits) if foretold else error_of_state(job, posed)
    return judge(residual_gmm, limits, errors_gmm=error.errors_gmm)


def error_of_verdict(job: Job, posed: Posed) -> MeasurementError:
    """Return the measurement error that the state as it stands is judged with: foretold once cuts were made since the spin."""
    return error_of_one_spin(job, posed.problem.limits) if posed.made else error_of_state(job, posed)


def drawn_in(job: Job, problem: CorrectionProblem) -> CorrectionProblem | None:
    """Return a question with every limit drawn in to what one new spin must read to pass; None when no room is left."""
    rows = []
    for row, error in zip(problem.limits, error_of_one_spin(job, problem.limits).errors_gmm, strict=True):
        if row.tolerance_gmm - error <= 0.0:
            return None
        rows.append(dataclasses.replace(row, tolerance_gmm=row.tolerance_gmm - error))
    return dataclasses.replace(problem, limits=tuple(rows))


def _error(job: Job, rows: Sequence[LimitRow], spins: Sequence[ComplexArray]) -> MeasurementError:
    spec = job.tolerance
    if spec is None:
        raise InputError(
            "the job states no tolerance, there is nothing to judge by", hint="add `[tolerance]`"
        )
    return measurement_error(
        spec,
        rows,
        spins,
        equivalent_grade_mm_per_s=equivalent_grade_mm_per_s(job, spec, rows),
    )


def equivalent_grade_mm_per_s(job: Job, spec: ToleranceSpec, rows: Sequence[LimitRow]) -> float | None:
    """Return the grade [mm/s] that limits stated in another way amount to; None when that can't be said."""
    crankshaft = job.crankshaft
    if spec.grade_mm_per_s is not None or crankshaft.mass_kg is None or crankshaft.service_speed_rpm is None:
        return spec.grade_mm_per_s
    if spec.way == "static and couple":
        return None
    total = sum(row.tolerance_gmm for row in rows)
    return total * 2.0 * math.pi * crankshaft.service_speed_rpm / 60.0 / (1000.0 * crankshaft.mass_kg)
