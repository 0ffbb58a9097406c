"""Turn-over (index) test and scatter of repeated readings: what the tooling adds, and how well a reading repeats.

The rotor is turned on its tooling in ``k`` equal steps and read in every position.  With the tooling's error ``F`` and the
rotor's own unbalance ``R`` a reading is, counted from a mark on the tooling or from one on the rotor,

    tooling's mark: M_i = F + R turned by i steps        rotor's mark: M_i = R + F turned back by i steps

Summed over a full turn what moves falls out: with two positions ``F = (M0 + M180)/2``, ``R = (M0 - M180)/2`` for the
tooling's mark, and the other way round for the rotor's.  First principles; both are stated for the first position.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np

from planner.errors import InputError
from planner.records import dataclass
from planner.rotor.vectors import ComplexArray

Mark = Literal["tooling", "crankshaft"]


@dataclass(frozen=True, kw_only=True)
class IndexTest:
    """What an index test found in one plane.

    Attributes
    ----------
    tooling_gmm, crankshaft_gmm : complex
        The tooling's error and the rotor's own unbalance, both as they stand in the first position [g*mm].
    misses_gmm : tuple of floats
        What is left of every reading [g*mm]; with two positions nothing can be left.
    turned_with_angles : bool or None
        Whether the rotor was turned toward growing angles; None with two positions, where it makes no difference.
    mark : str
        What the angles count from.
    """

    tooling_gmm: complex
    crankshaft_gmm: complex
    misses_gmm: tuple[float, ...]
    turned_with_angles: bool | None
    mark: Mark


@dataclass(frozen=True, kw_only=True)
class RepeatTest:
    """How well readings of one plane repeat.

    Attributes
    ----------
    mean_gmm : complex
        The mean vector [g*mm]: this is the reading.
    radius_gmm : float
        Radius of the smallest circle about the mean that holds all readings [g*mm].
    deviation_gmm : float
        Standard deviation of one reading: ``sqrt(sum |M - mean|^2 / (n - 1))`` [g*mm].
    distances_gmm : tuple of floats
        Every reading's distance from the mean [g*mm].
    """

    mean_gmm: complex
    radius_gmm: float
    deviation_gmm: float
    distances_gmm: tuple[float, ...]

    @property
    def deviation_of_mean_gmm(self) -> float:
        """Standard deviation of the mean [g*mm]."""
        return self.deviation_gmm / math.sqrt(len(self.distances_gmm))


def index_test(readings_gmm: Sequence[complex], *, mark: Mark) -> IndexTest:
    """Return what belongs to the tooling and what to the rotor.

    Parameters
    ----------
    readings_gmm : sequence of complex
        One vector for every position [g*mm], 360/k degrees from one to the next.
    mark : str
        What the angles count from: a mark on the ``tooling`` or on the ``crankshaft``.

    Raises
    ------
    InputError
        If there are fewer than two positions.

    Notes
    -----
    With three positions or more the way the rotor was turned shows in the readings: of both ways the one that fits
    better is taken.
    """
    count = len(readings_gmm)
    if count < 2:
        raise InputError(
            f"given {count} position; an index test needs at least two",
            hint="read, turn the crankshaft half a turn on its tooling, read again",
        )
    readings = np.array(readings_gmm, dtype=np.complex128)
    fixed = complex(readings.mean())
    steps = np.exp(2j * np.pi / count * np.arange(count))
    fits = []
    for sense, turn in ((1, steps), (-1, steps.conj())):
        moving = complex((readings * turn.conj()).mean())
        misses = np.abs(readings - fixed - moving * turn)
        fits.append((float(misses @ misses), sense, moving, misses))
    best = fits[0] if count == 2 or fits[0][0] <= fits[1][0] else fits[1]
    _, sense, moving, misses = best
    on_tooling = mark == "tooling"
    return IndexTest(
        tooling_gmm=fixed if on_tooling else moving,
        crankshaft_gmm=moving if on_tooling else fixed,
        misses_gmm=(0.0,) * count if count == 2 else tuple(float(each) for each in misses),
        # seen from the rotor the tooling moves the other way
        turned_with_angles=None if count == 2 else (sense > 0) == on_tooling,
        mark=mark,
    )


def repeat_test(readings_gmm: Sequence[complex]) -> RepeatTest:
    """Return mean and scatter of repeated readings of one state [g*mm].

    Raises
    ------
    InputError
        If there are fewer than two.
    """
    if len(readings_gmm) < 2:
        raise InputError(
            f"given {len(readings_gmm)} reading; scatter needs at least two, better five",
            hint="take the crankshaft off and mount it again between the readings",
        )
    readings: ComplexArray = np.array(readings_gmm, dtype=np.complex128)
    mean = complex(readings.mean())
    distances = np.abs(readings - mean)
    return RepeatTest(
        mean_gmm=mean,
        radius_gmm=float(distances.max()),
        deviation_gmm=float(np.sqrt((distances**2).sum() / (len(distances) - 1))),
        distances_gmm=tuple(float(each) for each in distances),
    )
