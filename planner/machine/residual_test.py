"""Residual unbalance of one plane by a trial mass in several places: the readings' size alone says how much is left.

A trial unbalance ``T`` is put on at 6, 8 or 12 evenly spaced places in turn; only the amount of each reading is used,
so that the machine's angle, zero and gain may be wrong.  With the residual ``R`` at ``phi`` and an unknown gain ``k`` a
linear machine reads

    A^2 = k^2 (T^2 + R^2) + 2 k^2 T R cos(theta - phi)

Two figures come of it.  The published one, ``T (max - min)/(max + min)``, takes the greatest and the least reading for
the extremes; the places miss the true extremes, so without noise it can only read low.  The exact one is the first
harmonic of ``A^2``: with its mean ``a0``, its amplitude ``c`` and ``x = c/a0`` the residual is ``T (1 - sqrt(1 - x^2))/x``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.records import dataclass
from planner.rotor.vectors import angle_deg

PLACES = (6, 8, 12)
"""How many places the test is made at: six by the published procedure, more where the residual is near its limit."""


@dataclass(frozen=True, kw_only=True)
class ResidualTest:
    """What a residual test found.

    Attributes
    ----------
    trial_gmm : float
        The trial unbalance [g*mm].
    places_deg : tuple of floats
        Where it was put [deg].
    readings, fitted : tuple of floats
        Read, and the exact circle at the same places; in the machine's own unit.
    published_gmm, exact_gmm : float
        The residual by greatest and least reading, and by the first harmonic [g*mm].
    heavy_spot_deg : float
        Where it is, counted as the places are [deg].
    mean_square, harmonic : float
        ``a0`` and ``c``.
    scatter : float
        Root mean square of (read - fitted), as a share of the mean reading.
    repeat_share : float or None
        By how much the first place read again differs, as a share of the mean reading.
    """

    trial_gmm: float
    places_deg: tuple[float, ...]
    readings: tuple[float, ...]
    fitted: tuple[float, ...]
    published_gmm: float
    exact_gmm: float
    heavy_spot_deg: float
    mean_square: float
    harmonic: float
    scatter: float
    repeat_share: float | None = None

    @property
    def greatest_gmm(self) -> float:
        """The larger of the two figures [g*mm]: this one is held against a limit."""
        return max(self.published_gmm, self.exact_gmm)


def residual_test(
    readings: Sequence[float],
    *,
    trial_gmm: float,
    first_place_deg: float = 0.0,
    first_again: float | None = None,
) -> ResidualTest:
    """Return the residual unbalance of one plane.

    Parameters
    ----------
    readings : sequence of 6, 8 or 12 floats
        Amounts read with the trial mass at evenly spaced places, in the order of growing angles.
    trial_gmm : float
        The trial unbalance [g*mm]; it must be more than the residual.
    first_place_deg : float
        The first place [deg].
    first_again : float, optional
        The first place read again at the end, a check that nothing drifted.

    Raises
    ------
    InputError
        If the number of places is another, a reading is no amount, or the readings don't fit a trial larger than the
        residual.
    """
    count = len(readings)
    if count not in PLACES:
        raise InputError(
            f"given {count} readings; the test has 6, 8 or 12 evenly spaced places",
            hint="give one reading for every place; the first place read again has an option of its own",
        )
    amounts = np.array([*readings, *([] if first_again is None else [first_again])], dtype=float)
    if not np.all(np.isfinite(amounts)) or np.any(amounts < 0.0):
        raise InputError(
            "a reading is negative or not finite; readings are amounts, 0 or more",
            hint="give the amount alone, without its angle",
        )
    if not trial_gmm > 0.0:
        raise InputError(
            f"the trial unbalance is {trial_gmm:g} g*mm, it must be more than 0",
            hint="once to twice the greatest residual allowed (common practice: 1.5 times)",
        )
    places = first_place_deg + 360.0 / count * np.arange(count)
    amounts = amounts[:count]
    square = amounts**2
    mean_square = float(square.mean())
    if mean_square == 0.0:
        raise InputError(
            "all readings are 0, they say nothing", hint="is the machine's range set too coarse?"
        )
    turn = np.exp(1j * np.radians(places))
    harmonic = complex(2.0 / count * (square @ turn))
    x = abs(harmonic) / mean_square
    if x >= 1.0:
        raise InputError(
            "the readings swing more than a trial mass larger than the residual can make them: the first harmonic of "
            f"their squares is {x:.3g} times their mean, less than 1 is needed",
            hint="the residual is about as large as the trial unbalance, or the readings scatter: correct first, or take a "
            "larger trial mass and read again",
        )
    # (1 - sqrt(1 - x^2))/x without the loss of digits at small x
    exact = trial_gmm * x / (1.0 + math.sqrt(1.0 - x * x))
    greatest, least = float(amounts.max()), float(amounts.min())
    fitted = _fitted(mean_square, harmonic, turn)
    mean = float(amounts.mean())
    return ResidualTest(
        trial_gmm=trial_gmm,
        places_deg=tuple(float(each) % 360.0 for each in places),
        readings=tuple(float(each) for each in amounts),
        fitted=tuple(float(each) for each in fitted),
        published_gmm=trial_gmm * (greatest - least) / (greatest + least),
        exact_gmm=exact,
        heavy_spot_deg=angle_deg(harmonic),
        mean_square=mean_square,
        harmonic=abs(harmonic),
        scatter=float(np.sqrt(((amounts - fitted) ** 2).mean())) / mean,
        repeat_share=None if first_again is None else (first_again - float(amounts[0])) / mean,
    )


def _fitted(mean_square: float, harmonic: complex, turn: NDArray[np.complex128]) -> NDArray[np.float64]:
    square = mean_square + np.real(np.conj(harmonic) * turn)
    return np.asarray(np.sqrt(np.maximum(square, 0.0)), dtype=np.float64)
