"""Unbalance reduction test of a balancing machine: how much of an unbalance one correction takes away.

A rotor that is balanced well carries a stationary mass at one place, and a travelling mass at the other places of a wheel
of steps, one after the other; every run is read.  The exact vector of a run is the sum of the two.  What would be left
after correcting by the reading is ``|read - exact|``, so the unbalance reduction ratio of a run is

    URR = 1 - |read - exact| / |exact|

and a machine that claims a ratio keeps every run within the circle of radius ``(1 - URR) * |exact|`` about the exact vector.

References
----------
.. [1] H. P. Bloch, F. K. Geitner, Machinery Component Maintenance and Repair, ch. 6, p. 291: what the ratio is (amount,
   angle and plane separation in one step).
.. [2] ISO 21940-21 (formerly ISO 2953): the test itself; stationary mass 20 to 60 times the least residual that the machine
   can reach, travelling mass five times that, 11 runs, typical claim 95 %: from memory.  The circle's radius follows from
   the definition.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence

import numpy as np

from planner.errors import InputError
from planner.records import dataclass
from planner.rotor.vectors import vector_gmm

USUAL_RATIO = 0.95
USUAL_RUNS = 11
LEAST_RUNS = 4


@dataclass(frozen=True, kw_only=True)
class ReductionTest:
    """What a reduction test found in one plane.

    Attributes
    ----------
    places_deg : tuple of floats
        Where the travelling mass was [deg].
    read_gmm, exact_gmm : tuple of complex
        What was read, and what the two masses really made [g*mm].
    ratios : tuple of floats
        Unbalance reduction ratio of every run; below 0 a correction would make it worse.
    claimed : float
        The ratio that is held against.
    gain : float
        Amount read over amount there, the same factor in all runs (least squares).
    turn_deg : float
        Angle read minus angle there, the same in all runs [deg].
    ratios_mended : tuple of floats
        The ratios that would be left with that factor and that turn taken out: what scatters.
    """

    places_deg: tuple[float, ...]
    read_gmm: tuple[complex, ...]
    exact_gmm: tuple[complex, ...]
    ratios: tuple[float, ...]
    claimed: float
    gain: float
    turn_deg: float
    ratios_mended: tuple[float, ...]

    @property
    def worst(self) -> float:
        """The least ratio of all runs."""
        return min(self.ratios)

    @property
    def passed(self) -> bool:
        """Whether every run is within its circle."""
        return self.worst >= self.claimed - 1e-12


def reduction_test(
    readings_gmm: Sequence[complex],
    *,
    stationary_gmm: float,
    stationary_deg: float,
    travelling_gmm: float,
    places_deg: Sequence[float],
    claimed: float = USUAL_RATIO,
) -> ReductionTest:
    """Return what a reduction test found.

    Parameters
    ----------
    readings_gmm : sequence of complex
        Vectors read, one for each place [g*mm].
    stationary_gmm, stationary_deg : float
        The stationary mass: amount [g*mm] and place [deg].
    travelling_gmm : float
        The travelling mass [g*mm].
    places_deg : sequence of float
        Where the travelling mass was in each run [deg], in the same counting as readings.
    claimed : float
        The ratio that the machine claims, between 0 and 1.

    Raises
    ------
    InputError
        If runs are too few, amounts are not above 0, the travelling mass could cancel the stationary one, or the ratio is
        none.
    """
    if len(readings_gmm) != len(places_deg) or len(readings_gmm) < LEAST_RUNS:
        raise InputError(
            f"given {len(readings_gmm)} readings; a reading for each of at least {LEAST_RUNS} places is wanted",
            hint=f"usual are {USUAL_RUNS} runs, 30 degrees apart, the stationary mass's own place left out",
        )
    if not (stationary_gmm > 0.0 and travelling_gmm > stationary_gmm):
        raise InputError(
            f"the travelling mass ({travelling_gmm:g} g*mm) must be larger than the stationary one ({stationary_gmm:g} "
            "g*mm), and both above 0",
            hint="five times is usual (from memory of ISO 21940-21)",
        )
    if not 0.0 < claimed < 1.0:
        raise InputError(
            f"given a reduction ratio of {claimed:g}; between 0 and 1 is allowed", hint="95 % is 0.95"
        )
    exact = np.array(
        [vector_gmm(stationary_gmm, stationary_deg) + vector_gmm(travelling_gmm, each) for each in places_deg]
    )
    read = np.array(readings_gmm, dtype=complex)
    if not np.all(np.isfinite(read)):
        raise InputError("a reading is not finite", hint="give amount and angle of every run")
    common = complex(np.vdot(exact, read) / np.vdot(exact, exact))
    # a common factor of nought is a machine that reads nothing
    mended = read if abs(common) < 1e-9 else read / common
    return ReductionTest(
        places_deg=tuple(float(each) % 360.0 for each in places_deg),
        read_gmm=tuple(complex(each) for each in read),
        exact_gmm=tuple(complex(each) for each in exact),
        ratios=_ratios(read, exact),
        claimed=claimed,
        gain=abs(common),
        turn_deg=math.degrees(cmath.phase(common)),
        ratios_mended=_ratios(mended, exact),
    )


def _ratios(read: np.ndarray, exact: np.ndarray) -> tuple[float, ...]:
    return tuple(float(each) for each in 1.0 - np.abs(read - exact) / np.abs(exact))
