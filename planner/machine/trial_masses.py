"""Unbalance from raw vibration: influence coefficients from trial masses.

Everything here is complex and in the machine's own counting: a raw reading ``V`` is amount and phase, a trial mass ``W``
is an unbalance [g*mm] at the machine angle where it sits.  The rotor is taken as linear:

    V = alpha (U + W)

with the unbalance ``U`` in the planes of the trial masses and the influence coefficients ``alpha`` [reading per g*mm].
A run without a trial mass reads ``V0 = alpha U``, so ``U = alpha^-1 V0``, and ``-U`` is what has to be added.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.frames import Side
from planner.quantity import percent
from planner.records import dataclass
from planner.rotor.vectors import ComplexArray

# a trial's effect must be this many times its own standard uncertainty to say anything about amount and angle
_LEAST_SIGNAL = 3.0
# condition number times the share by which the coefficients are uncertain: at 1 they may hide a singular matrix
_GREATEST_SPOILT = 0.5
# columns of the runs' masses that are nearly alike can't be told apart whatever the readings
_GREATEST_DESIGN_CONDITION = 100.0
_ADVICE = (
    "take a larger trial mass (common practice: 30 percent or 30 degrees of change) or put it somewhere else"
)


@dataclass(frozen=True, kw_only=True)
class RawRun:
    """One run: the raw reading of each side that was read, and the trial unbalance [g*mm] that was on in each plane."""

    name: str
    readings: tuple[complex, ...]
    masses_gmm: tuple[complex, ...]


@dataclass(frozen=True, kw_only=True)
class Influence:
    """Influence coefficients in the machine's counting.

    Attributes
    ----------
    sides : tuple of str
        Which sides are read; the rows.
    planes : tuple of str
        In which planes the unbalance is stated; the columns.
    per_gmm : tuple of tuples of complex
        Reading per g*mm; the phase is that of the reading, as a vector, less the heavy spot's machine angle.
    speed_rpm : float, optional
        The speed at which they hold.
    """

    sides: tuple[Side, ...]
    planes: tuple[Side, ...]
    per_gmm: tuple[tuple[complex, ...], ...]
    speed_rpm: float | None = None

    @property
    def matrix(self) -> ComplexArray:
        """The coefficients, shape (sides, planes)."""
        return np.array(self.per_gmm, dtype=np.complex128)


@dataclass(frozen=True, kw_only=True)
class TrialSolution:
    """What trial runs say.

    Attributes
    ----------
    influence : Influence
        The coefficients.
    initial : ndarray of complex, shape (sides,)
        The reading without trial masses, fitted.
    unbalance_gmm : ndarray of complex, shape (planes,)
        The unbalance without trial masses [g*mm], pointing to the heavy spot.
    uncertainty_gmm : ndarray, shape (planes,)
        Its standard uncertainty (root mean square length of the error vector) [g*mm].
    residual : ndarray of complex, shape (runs, sides)
        Measured less fitted readings; all zero when there are no more runs than needed.
    scatter : ndarray, shape (sides,)
        Standard uncertainty of a reading: from the residual, and never less than the share that was assumed.
    spare_runs : int
        Runs more than needed.
    condition : float
        Condition number of the coefficients, every side's row scaled to length 1 (an instrument's gain says nothing).
    misfit, misfit_mirrored : float
        Residual as a share of the readings; the same if the phase counted the other way.
    """

    influence: Influence
    initial: ComplexArray
    unbalance_gmm: ComplexArray
    uncertainty_gmm: NDArray[np.float64]
    residual: ComplexArray
    scatter: NDArray[np.float64]
    spare_runs: int
    condition: float
    misfit: float
    misfit_mirrored: float


def solve_trials(
    runs: Sequence[RawRun],
    *,
    sides: tuple[Side, ...],
    planes: tuple[Side, ...],
    reading_share: float,
    speed_rpm: float | None = None,
) -> TrialSolution:
    """Return coefficients and unbalance from runs without and with trial masses.

    Parameters
    ----------
    runs : sequence of RawRun
        At least one more than planes; more are fitted by least squares.
    sides, planes : tuple of str
        What was read, and where trial masses were.
    reading_share : float
        Standard uncertainty of a reading, as a share of it; what the spare runs' residual shows is taken when it is more.
    speed_rpm : float, optional
        Kept with the coefficients.

    Raises
    ------
    InputError
        If runs are too few or alike, if a trial mass hardly moves the readings, or if the two planes can't be told apart.

    Notes
    -----
    Every side's row ``(V0, alpha_1, alpha_2)`` is a linear least-squares fit with the same design matrix ``A``, one row
    ``(1, W_1, W_2)`` a run.  First-order propagation: ``dU = alpha^-1 (dV0 - dalpha U)``, hence the variance of ``U_p``
    is ``c (A^H A)^-1 c^H * sum_s |alpha^-1_ps|^2 sigma_s^2`` with ``c = (1, -U_1, -U_2)`` (own derivation, checked by
    drawing).
    """
    readings = np.array([run.readings for run in runs], dtype=np.complex128).reshape(len(runs), len(sides))
    masses = np.array([run.masses_gmm for run in runs], dtype=np.complex128).reshape(len(runs), len(planes))
    design, scale = _design(masses, planes)
    pinv = np.linalg.pinv(design)
    fitted = (pinv @ readings) / scale[:, None]  # rows: V0, alpha of each plane; columns: sides
    residual = readings - (design * scale) @ fitted
    spare = len(runs) - len(planes) - 1
    if spare == 0:
        residual = np.zeros_like(residual)
    rms = np.sqrt((np.abs(readings) ** 2).mean(axis=0))
    assumed = reading_share * rms
    scatter = assumed
    if spare:
        scatter = np.maximum(assumed, np.sqrt((np.abs(residual) ** 2).sum(axis=0) / spare))
    mirrored = readings.conj()
    mirrored_residual = mirrored - design @ (pinv @ mirrored)
    size = max(float(np.linalg.norm(readings)), 1e-300)
    misfit = float(np.linalg.norm(residual)) / size
    misfit_mirrored = float(np.linalg.norm(mirrored_residual)) / size if spare else 0.0
    initial, alpha = fitted[0], fitted[1:].T
    # standard uncertainty of every fitted number, in units of the side's scatter
    covariance = (pinv @ pinv.conj().T) / np.outer(scale, scale)
    spread = np.sqrt(np.real(np.diag(covariance)))
    condition = _condition(alpha)
    _check_signal(alpha, masses, spread[1:], assumed, planes)
    _check_condition(alpha, spread[1:], assumed, condition)
    try:
        _check_signal(alpha, masses, spread[1:], scatter, planes)
        _check_condition(alpha, spread[1:], scatter, condition)
    except InputError:
        # the trial masses are large enough, it is the runs that contradict one another
        raise InputError(
            disagreement(misfit, misfit_mirrored), hint="take the run out that does not fit, or run it again"
        ) from None
    inverse = np.linalg.inv(alpha)
    unbalance = inverse @ initial
    chain = np.concatenate([[1.0], -unbalance])
    shared = float(np.real(chain @ covariance @ chain.conj()))
    uncertainty = np.sqrt(shared * (np.abs(inverse) ** 2 @ scatter**2))
    return TrialSolution(
        influence=Influence(
            sides=sides,
            planes=planes,
            per_gmm=tuple(tuple(complex(each) for each in row) for row in alpha),
            speed_rpm=speed_rpm,
        ),
        initial=initial,
        unbalance_gmm=unbalance,
        uncertainty_gmm=uncertainty,
        residual=residual,
        scatter=scatter,
        spare_runs=spare,
        condition=condition,
        misfit=misfit,
        misfit_mirrored=misfit_mirrored,
    )


TOLD_SHARE = 0.3
"""One way of counting the phase is told from the other when it misses by less than this share of what the other does."""
LEAST_TELLING = 0.03
"""The wrong way must miss by this share of the readings at least, else what tells them apart is noise."""


def told_phase(solution: TrialSolution) -> bool | None:
    """Return whether the runs tell which way the phase counts.

    Returns
    -------
    bool or None
        True: the way that was taken, False: the other one, None: the runs fit both ways, or neither.  Without a run to
        spare every set of readings fits both ways: the unbalance then comes out mirrored about the trial mass.
    """
    # both nearly nil: the masses lie on one line, and mirroring about it changes nothing
    if not solution.spare_runs or max(solution.misfit, solution.misfit_mirrored) < LEAST_TELLING:
        return None
    if solution.misfit < TOLD_SHARE * solution.misfit_mirrored:
        return True
    if solution.misfit_mirrored < TOLD_SHARE * solution.misfit:
        return False
    return None


def disagreement(misfit: float, misfit_mirrored: float) -> str:
    """Return in words that runs contradict one another, and what it may be."""
    text = f"the runs do not agree with one another: they miss by {percent(misfit)} of the readings"
    if misfit_mirrored < TOLD_SHARE * misfit:
        return (
            f"{text}; they would miss by {percent(misfit_mirrored)} if the phase counted the other way: is `phase_grows` of "
            "[machine] right? (a meter that shows the lag instead of the lead counts the other way)"
        )
    return f"{text}; is an angle, a mass, a plane or `left_on` entered wrongly, or was the speed another one?"


def unbalance_of_reading(readings: Sequence[complex], *, influence: Influence) -> ComplexArray:
    """Return the unbalance [g*mm] of a raw reading, shape (planes,), in the machine's counting.

    Raises
    ------
    InputError
        If the number of readings is not that of the coefficients, or these can't tell the planes apart.
    """
    matrix = influence.matrix
    if len(readings) != len(influence.sides):
        raise InputError(
            f"given readings of {len(readings)} sides; the influence coefficients are for {' and '.join(influence.sides)}",
            hint="give amount and phase of every side that was read in the trials",
        )
    if matrix.shape[0] != matrix.shape[1] or not np.isfinite(_condition(matrix)):
        raise InputError(
            "the influence coefficients can't tell the two planes apart",
            hint="run the trials again: `bobplan trial JOB`",
        )
    vector = np.array(readings, dtype=np.complex128)
    return np.asarray(np.linalg.solve(matrix, vector), dtype=np.complex128)


def _design(masses: ComplexArray, planes: Sequence[str]) -> tuple[ComplexArray, NDArray[np.float64]]:
    """Return the scaled design matrix, columns 1 and the masses of each plane, with the columns' scales."""
    count = len(masses)
    for column, plane in enumerate(planes):
        if not np.any(masses[:, column]):
            raise InputError(
                f"no run has a trial mass in the {plane} plane",
                hint=f"add a run with a trial mass in the {plane} plane",
            )
    if count < len(planes) + 1:
        raise InputError(
            f"{count} runs are given; {len(planes)} planes need at least {len(planes) + 1}",
            hint="one run without a trial mass, and one with a trial mass in each plane",
        )
    full = np.column_stack([np.ones(count, dtype=np.complex128), masses])
    scale = np.sqrt((np.abs(full) ** 2).mean(axis=0))
    design = full / scale
    if np.linalg.cond(design) > _GREATEST_DESIGN_CONDITION:
        raise InputError(
            "the runs are so alike that the trial masses' effects can't be told apart",
            hint="one run without a trial mass, and trial masses in each plane in runs of their own",
        )
    return design, scale


def _check_signal(
    alpha: ComplexArray,
    masses: ComplexArray,
    spread: NDArray[np.float64],
    scatter: NDArray[np.float64],
    planes: Sequence[str],
) -> None:
    for column, plane in enumerate(planes):
        greatest = float(np.abs(masses[:, column]).max())
        change = np.abs(alpha[:, column]) * greatest
        noise = spread[column] * greatest * scatter
        if np.all(change < _LEAST_SIGNAL * noise):
            best = int(np.argmax(change / np.maximum(noise, 1e-300)))
            raise InputError(
                f"the trial mass in the {plane} plane hardly moves the reading: it changes by {change[best]:.3g}, and the "
                f"readings scatter by {noise[best]:.3g}",
                hint=_ADVICE,
            )


def _condition(alpha: ComplexArray) -> float:
    lengths = np.linalg.norm(alpha, axis=1)
    if np.any(lengths == 0.0) or not np.all(np.isfinite(alpha)):
        return float("inf")
    condition = float(np.linalg.cond(alpha / lengths[:, None]))
    return condition if condition < 1e12 else float("inf")


def _check_condition(
    alpha: ComplexArray, spread: NDArray[np.float64], scatter: NDArray[np.float64], condition: float
) -> None:
    if len(alpha) == 1:
        return
    lengths = np.linalg.norm(alpha, axis=1)
    share = float(np.max(np.linalg.norm(spread) * scatter / np.maximum(lengths, 1e-300)))
    if not condition * share < _GREATEST_SPOILT:
        raise InputError(
            "both trial masses move the two sides almost alike, so that the planes can't be told apart: condition number "
            f"{condition:.3g}, coefficients uncertain by {100.0 * share:.2g} percent",
            hint="put the trial masses in planes farther apart, read at two places farther apart, or "
            + _ADVICE,
        )
