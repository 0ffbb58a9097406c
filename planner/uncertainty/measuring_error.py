"""How well a residual is known: the measurement error dU behind a verdict, and how many spins would make it small.

References
----------
.. [1] JCGM 100:2008, Guide to the expression of uncertainty in measurement, 4.2 and G.3: scatter of repeated
   readings, Student's t for few of them.
.. [2] H. P. Bloch, F. K. Geitner, Machinery Component Maintenance and Repair, ch. 6, p. 313 table 6-6: margins to
   use when the measurement error is not known.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np

from planner.records import dataclass
from planner.rotor.grades import default_margin
from planner.rotor.limits import LimitRow
from planner.rotor.tolerance import ToleranceSpec
from planner.rotor.vectors import ComplexArray

ErrorSource = Literal["stated", "repeated spins", "usual margin"]

COVERAGE = 0.95
# the margin of G 16 to G 2.5, where crankshafts are balanced, for limits that are no grade
_MARGIN_WITHOUT_GRADE = 0.15
MOST_SPINS = 12
"""More spins of one state than this nobody makes: then more cutting or a better measurement decides."""


@dataclass(frozen=True, kw_only=True)
class MeasurementError:
    """The measurement error of every limit [g*mm] and where it comes from.

    ``sigma_gmm`` is the standard deviation of a single spin per limit [g*mm] (one component of the vector), None when it
    was not measured; ``margin`` is the share of the limits when the usual margin was taken, ``margin_grade_mm_per_s``
    the grade it belongs to (None: no grade known).
    """

    source: ErrorSource
    errors_gmm: tuple[float, ...]
    spins: int
    sigma_gmm: tuple[float, ...] | None = None
    margin: float | None = None
    margin_grade_mm_per_s: float | None = None


def measurement_error(
    spec: ToleranceSpec,
    rows: Sequence[LimitRow],
    spins_gmm: Sequence[ComplexArray],
    *,
    equivalent_grade_mm_per_s: float | None = None,
) -> MeasurementError:
    """Return the measurement error of each limit: as stated, else from repeated spins, else the usual margin.

    Parameters
    ----------
    spec : ToleranceSpec
        The tolerance; a stated measurement error counts as it stands.
    rows : sequence of LimitRow
        The limits.
    spins_gmm : sequence of ndarray of complex, shape (2,)
        What the spins of this one state read in the two planes [g*mm].
    equivalent_grade_mm_per_s : float, optional
        The grade that limits which are no grade amount to [mm/s].
    """
    sigmas = scatter_sigma_gmm(spins_gmm, rows) if len(spins_gmm) > 1 else None
    count = len(spins_gmm)
    if spec.measurement_error_gmm is not None:
        return MeasurementError(
            source="stated",
            errors_gmm=(spec.measurement_error_gmm,) * len(rows),
            spins=count,
            sigma_gmm=sigmas,
        )
    if sigmas is not None:
        factor = error_factor(count)
        return MeasurementError(
            source="repeated spins",
            errors_gmm=tuple(factor * sigma for sigma in sigmas),
            spins=count,
            sigma_gmm=sigmas,
        )
    grade = spec.grade_mm_per_s if spec.grade_mm_per_s is not None else equivalent_grade_mm_per_s
    margin = _MARGIN_WITHOUT_GRADE if grade is None else default_margin(grade)
    return MeasurementError(
        source="usual margin",
        errors_gmm=tuple(margin * row.tolerance_gmm for row in rows),
        spins=count,
        margin=margin,
        margin_grade_mm_per_s=grade,
    )


def scatter_sigma_gmm(spins_gmm: Sequence[ComplexArray], rows: Sequence[LimitRow]) -> tuple[float, ...]:
    """Return the standard deviation of one spin, per limit [g*mm].

    Both components of the vector that a limit judges are pooled: ``s^2 = sum(|v - mean|^2) / (2*(n - 1))``.

    Raises
    ------
    ValueError
        If there are fewer than two spins.
    """
    if len(spins_gmm) < 2:
        raise ValueError("a scatter needs two spins of the same state")
    each = np.array(spins_gmm, dtype=np.complex128)
    result = []
    for row in rows:
        seen = row.weight_1 * each[:, 0] + row.weight_2 * each[:, 1]
        squares = float(np.sum(np.abs(seen - seen.mean()) ** 2))
        result.append(math.sqrt(squares / (2.0 * (len(each) - 1))))
    return tuple(result)


def error_factor(spins: int) -> float:
    """Return dU of a mean of ``spins`` spins as a multiple of one spin's standard deviation.

    Student's t (95 %, two sides) with ``2*(n - 1)`` degrees of freedom, over ``sqrt(n)``: 3.04 for two spins, 1.60 for
    three, 1.03 for five.
    """
    if spins == 2:  # two degrees of freedom: closed, and no library has to be loaded for it
        return COVERAGE * math.sqrt(2.0 / (1.0 - COVERAGE**2)) / math.sqrt(2.0)
    from scipy.special import stdtrit

    return float(stdtrit(2 * (spins - 1), 0.5 + COVERAGE / 2.0)) / math.sqrt(spins)


def spins_to_decide(sigma_gmm: float, gap_gmm: float) -> int | None:
    """Return how many spins of this state in all make dU smaller than the distance to the limit.

    ``sigma_gmm`` is the standard deviation of one spin and ``gap_gmm`` the distance of the amount from its limit [g*mm],
    both taken to stay as they are.  None: more than `MOST_SPINS`.
    """
    for spins in range(2, MOST_SPINS + 1):
        if error_factor(spins) * sigma_gmm <= gap_gmm:
            return spins
    return None
