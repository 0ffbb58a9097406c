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
from dataclasses import dataclass

import numpy as np

from planner.rotor.limits import LimitRow
from planner.uncertainty.draws import Floats, Planes, Question, draw_parts, kept
from planner.uncertainty.measuring_error import error_factor

# the draws of the next spins start elsewhere than those of the plan
_READING_SEED = 977


@dataclass(frozen=True, kw_only=True)
class Chances:
    """The chances of a plan: see the head of this module."""

    inside: float
    one_spin_proves: float
    two_spins_prove: float


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
    drawn = draw_parts(question, draws=draws, seed=seed)
    shown = _shown(question, drawn.seen, drawn.change)
    rng = np.random.default_rng([seed, _READING_SEED])
    first, second = (_noise(question, shown, rng) for _ in range(2))
    proved_once = np.ones(draws, dtype=bool)
    proved_twice = np.ones(draws, dtype=bool)
    half = np.float32(0.5)
    for row, error in zip(limits, one_spin_errors_gmm, strict=True):
        (x, y), (dx, dy) = drawn.seen.at(row), drawn.change.at(row)
        (x1, y1), (x2, y2) = first.at(row), second.at(row)
        left_x, left_y = x + dx, y + dy
        proved_once &= np.hypot(left_x + x1, left_y + y1) <= row.tolerance_gmm - error
        room: Floats | np.float32 = np.float32(row.tolerance_gmm - error)
        if not stated:
            # the standard deviation of one spin from two of them is half their distance, see `measuring`
            sigma = half * np.hypot(x1 - x2, y1 - y2)
            room = np.float32(row.tolerance_gmm) - np.float32(error_factor(2)) * sigma
        proved_twice &= np.hypot(left_x + half * (x1 + x2), left_y + half * (y1 + y2)) <= room
    drawn.seen.add_all(drawn.bobs)
    inside = np.logical_and.reduce(kept(drawn.seen, drawn.change, limits))
    return Chances(
        inside=float(inside.mean()),
        one_spin_proves=float(proved_once.mean()),
        two_spins_prove=float((proved_once | proved_twice).mean()),
    )


def _shown(question: Question, seen: Planes, change: Planes) -> Planes:
    """Return what the next spin would show without an error: bobs and parts that are on now stay on."""
    shown = Planes(len(seen.left_x))
    shown.add_all(seen)
    shown.add_all(change)
    left, right = (complex(shift) for shift in question.shift_gmm)
    shown.left_x -= np.float32(left.real)
    shown.left_y -= np.float32(left.imag)
    shown.right_x -= np.float32(right.real)
    shown.right_y -= np.float32(right.imag)
    return shown


def _noise(question: Question, shown: Planes, rng: np.random.Generator) -> Planes:
    """Return the error of one spin in both planes: of amount, angle and floor, each plane its own."""
    draws = len(shown.left_x)
    noise = Planes(draws)
    percent = np.float32(question.errors.reading_percent / 100.0)
    turn = np.float32(math.radians(question.errors.reading_angle_deg))
    for x, y, to_x, to_y in (
        (shown.left_x, shown.left_y, noise.left_x, noise.left_y),
        (shown.right_x, shown.right_y, noise.right_x, noise.right_y),
    ):
        along = percent * rng.standard_normal(draws, dtype=np.float32)
        across = turn * rng.standard_normal(draws, dtype=np.float32)
        to_x += along * x - across * y
        to_y += along * y + across * x
        floor = np.float32(question.errors.reading_absolute_gmm)
        to_x += floor * rng.standard_normal(draws, dtype=np.float32)
        to_y += floor * rng.standard_normal(draws, dtype=np.float32)
    return noise
