"""What the next spin of a job needs to pass, for the planner: circles by the error model, and the chance of a plan."""

from __future__ import annotations

import cmath
import dataclasses
import functools
import math
from collections.abc import Sequence

import numpy as np

from planner.correction.ordering import planned, residual_gmm
from planner.correction.problem import CorrectionProblem
from planner.correction.search.wanted_cuts import Passing
from planner.cuts.cut import Cut
from planner.jobfile.job import Job
from planner.rotor.limits import LimitRow
from planner.steps.chances import chances_of, drawn_chances, question_of_cuts
from planner.steps.correction_question import Posed
from planner.steps.judging import error_of_one_spin
from planner.steps.trial import reading_times, with_trials
from planner.uncertainty.error_model import ErrorModel
from planner.uncertainty.passing import Chances

_BISECTIONS = 60


def passing_of(
    job: Job,
    posed: Posed,
    *,
    problem: CorrectionProblem | None = None,
    known: dict[tuple[Cut, ...], Chances] | None = None,
) -> Passing:
    """Return what the next spin needs to pass its check with the shop's wanted chance.

    Parameters
    ----------
    job, posed : Job, Posed
        The job and its question.
    problem : CorrectionProblem, optional
        The question as it is asked, when its shop or counterweights differ from the job's.  Its limits do not
        count: a plan is judged by the job's.
    known : dict, optional
        Where the chances of plans that were asked about are kept.

    Notes
    -----
    The circle: let E be what the reading's own errors leave uncertain at a limit, w the wanted chance and f(t) the chance
    that ``|t + E|`` is within the room.  Further errors, of the cuts, are independent and symmetric; f is log-concave and
    symmetric (an integral of a normal density over a disc), so that ``f(t + e) f(t - e) <= f(t)^2`` and the mean of
    the two is at most ``(1 + f(t)^2)/2``.  So a plan that leaves t has the chance w only where ``f(t) >= sqrt(2 w - 1)``.
    E is taken as wide in every direction as in its narrowest: that makes f larger, never smaller.
    """
    asked = posed.problem if problem is None else problem
    job = with_trials(job)
    # a question with its limits drawn in is still judged by the job's own
    limits = posed.problem.limits
    wanted = asked.shop.wanted_chance
    one_spin = error_of_one_spin(job, limits)
    room = tuple(
        max(0.0, row.tolerance_gmm - error) for row, error in zip(limits, one_spin.errors_gmm, strict=True)
    )
    rows = tuple(
        dataclasses.replace(row, tolerance_gmm=max(each, 1e-9))
        for row, each in zip(limits, room, strict=True)
    )
    reading = posed.reading_gmm
    times = reading_times(job, posed.reading.vectors_gmm)
    known = {} if known is None else known

    def chance(cuts: Sequence[Cut]) -> float:
        key = tuple(cuts)
        if key not in known:
            known[key] = chances_of(job, posed, cuts, problem=asked)
        return known[key].one_spin_proves

    def centred(cuts: Sequence[Cut]) -> float:
        question = question_of_cuts(job, posed, cuts, problem=asked)
        off = residual_gmm(asked, [planned(asked, cut) for cut in cuts])
        left, right = (complex(shift) - each for shift, each in zip(question.shift_gmm, off, strict=True))
        asked_off = dataclasses.replace(question, shift_gmm=(left, right))
        return drawn_chances(job, posed, asked_off).one_spin_proves

    @functools.cache
    def circle() -> tuple[float, ...] | None:
        if any(abs(getattr(job.errors, name)) > 0.0 for name in _BIASES):
            # what cuts do on average is then not what the plan says: no circle holds
            return tuple(row.tolerance_gmm for row in limits)
        least = math.sqrt(2.0 * wanted - 1.0)
        radii = [_circle_gmm(row, reading, job.errors, posed.reading.count, times, least) for row in rows]
        return None if any(radius is None for radius in radii) else tuple(radius or 0.0 for radius in radii)

    return Passing(wanted=wanted, room_gmm=room, circle_gmm=circle, chance=chance, centred_chance=centred)


_BIASES = ("depth_bias_mm", "diameter_bias_mm", "angle_bias_deg")


def _circle_gmm(
    row: LimitRow,
    reading_gmm: Sequence[complex],
    errors: ErrorModel,
    readings: int,
    times: Sequence[float],
    least: float,
) -> float | None:
    """Return the greatest amount t with ``f(t) >= least`` [g*mm]; None if there is none."""
    from scipy.special import chndtr

    spread = np.zeros((2, 2))
    for weight, vector, factor in zip((row.weight_1, row.weight_2), reading_gmm, times, strict=True):
        along = factor * weight * abs(vector) * errors.reading_percent / 100.0
        across = factor * weight * abs(vector) * math.radians(errors.reading_angle_deg)
        turn = cmath.phase(vector)
        axes = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
        spread += axes @ np.diag([along**2, across**2]) @ axes.T / max(1, readings)
    variance = float(np.linalg.eigvalsh(spread)[0])
    room = row.tolerance_gmm
    if variance < (1e-6 * room) ** 2:
        return room

    def good(amount_gmm: float) -> bool:
        return float(chndtr(room**2 / variance, 2.0, amount_gmm**2 / variance)) >= least

    if not good(0.0):
        return None
    low, high = 0.0, room
    if good(high):
        return high
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if good(middle) else (low, middle)
    return high
