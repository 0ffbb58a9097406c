"""What it means to pass, as two numbers: the residual is inside the limit, and a spin proves it.

============== ======================================================================================================
inside         the true residual, in the engine with its own parts, keeps every limit
one spin       the next spin, with its own reading error, is judged "in tolerance": the limit less the measurement
               error that one spin has (as stated in the file, else the usual margin)
two spins      the next spin is judged so, or else, spun again, the mean of the two: less the stated error, else less what
               the scatter of the two comes to.  A second spin is made only where the first proves nothing, so two never
               prove less than one
============== ======================================================================================================

The bobs' own errors count for the first number only: the same bobs stay on, so no spin shows them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from planner.frames import TwoPlanes
from planner.records import dataclass
from planner.rotor.limits import LimitRow
from planner.uncertainty.draws import Floats, Question, before_gmm, draw_parts, judged
from planner.uncertainty.measuring_error import error_factor

# the draws of the next spins start elsewhere than those of the plan
_READING_SEED = 977
_NOTHING = np.float32(1e-6)


@dataclass(frozen=True, kw_only=True)
class Chances:
    """The chances of a plan: see the head of this module.

    ``over`` is the chance that the cuts overshoot some limit: leave more than the limit on the other side of the axis.
    """

    inside: float
    one_spin_proves: float
    two_spins_prove: float
    over: float


def chances_of_question(
    question: Question,
    limits: Sequence[LimitRow],
    *,
    one_spin_errors_gmm: Sequence[float],
    stated: bool,
    draws: int,
    seed: int,
) -> Chances:
    """Return the chances of a plan by simulation; equal input gives equal output.

    Parameters
    ----------
    question : Question
        The plan and its reading.
    limits : sequence of LimitRow
        The limits.
    one_spin_errors_gmm : sequence of floats
        Measurement error of a single spin, per limit [g*mm].
    stated : bool
        True when that error is stated in the file: it then holds for a mean of two as well.
    draws, seed : int
        Number of draws, and where they start.
    """
    rng = np.random.default_rng([seed, _READING_SEED])
    shift = np.array([complex(each) for each in question.shift_gmm])
    shift_rows = np.stack([shift.real, shift.imag], axis=1).ravel().astype(np.float32)[:, None]
    towards = [_unit(row, before_gmm(question)) for row in limits]
    room = [
        (np.float32(row.tolerance_gmm - error), np.float32(row.tolerance_gmm))
        for row, error in zip(limits, one_spin_errors_gmm, strict=True)
    ]
    half, factor = np.float32(0.5), np.float32(error_factor(2))
    inside = once = twice = over = 0
    for part, drawn in draw_parts(question, draws=draws, seed=seed):
        count = part.stop - part.start
        left = drawn.seen + drawn.change
        # bobs and parts that are on now stay on
        first, second = _noise(question, left - shift_rows, rng)
        mean = half * (first + second)
        proved_once, proved_twice, kept = (np.ones(count, dtype=bool) for _ in range(3))
        beyond = np.zeros(count, dtype=bool)
        real = left + drawn.bobs
        for row, (own, whole), unit in zip(limits, room, towards, strict=True):
            residual = judged(row, left)
            proved_once &= _amount(residual + judged(row, first)) <= own
            allowed: Floats | np.float32 = own
            if not stated:
                # the standard deviation of one spin from two of them is half their distance, see `measuring_error`
                allowed = whole - factor * half * _amount(judged(row, first - second))
            proved_twice &= _amount(residual + judged(row, mean)) <= allowed
            at_limit = judged(row, real)
            kept &= _amount(at_limit) <= whole
            if unit is not None:
                beyond |= at_limit[0] * np.float32(unit.real) + at_limit[1] * np.float32(unit.imag) < -whole
        inside += int(np.count_nonzero(kept))
        once += int(np.count_nonzero(proved_once))
        twice += int(np.count_nonzero(proved_once | proved_twice))
        over += int(np.count_nonzero(beyond))
    return Chances(
        inside=inside / draws,
        one_spin_proves=once / draws,
        two_spins_prove=twice / draws,
        over=over / draws,
    )


def _amount(vectors: Floats) -> Floats:
    x, y = vectors
    return np.asarray(np.sqrt(x * x + y * y), dtype=np.float32)


def _unit(row: LimitRow, before: TwoPlanes[complex]) -> complex | None:
    """Return the direction of what there is to correct at a limit; None where it is kept already."""
    vector = row.weight_1 * before[0] + row.weight_2 * before[1]
    return None if abs(vector) <= row.tolerance_gmm else vector / abs(vector)


def _noise(question: Question, shown: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Return the errors of two spins that would show ``shown`` without one: of amount, angle and floor, each plane its own.

    Along and across what is shown the floor adds to the errors of amount and angle: one number each has both.
    """
    errors = question.errors
    percent, turn = errors.reading_percent / 100.0, math.radians(errors.reading_angle_deg)
    floor = np.float32(errors.reading_absolute_gmm**2)
    found = tuple(np.empty_like(shown) for _ in range(2))
    for side in (0, 2):
        amount = _amount(shown[side : side + 2])
        square = amount * amount
        # where nothing is shown any direction serves
        unit = shown[side : side + 2] / np.maximum(amount, _NOTHING)
        unit[0, amount < _NOTHING] = 1.0
        along = np.sqrt(np.float32(percent**2) * square + floor)
        across = np.sqrt(np.float32(turn**2) * square + floor)
        for spin in found:
            drawn = rng.standard_normal((2, len(amount)), dtype=np.float32)
            one, other = along * drawn[0], across * drawn[1]
            spin[side] = one * unit[0] - other * unit[1]
            spin[side + 1] = one * unit[1] + other * unit[0]
    return found[0], found[1]
