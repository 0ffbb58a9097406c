"""The verdict on a residual: in tolerance, out of tolerance, or too close to call.

References
----------
.. [1] ISO 21940-14:2012 (formerly ISO 1940-2): acceptance with a measurement error (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from planner.records import dataclass
from planner.rotor.limits import LimitRow
from planner.rotor.vectors import ComplexArray

Verdict = Literal["in tolerance", "out of tolerance", "too close to call"]

# two roads to the same residual differ in the last bits: that must not turn a verdict
_RELATIVE_SLACK = 1e-9


@dataclass(frozen=True, kw_only=True)
class Judged:
    """One place of the residual against its limit.

    ``error_gmm`` is the measurement error that the verdict used; ``amount_gmm`` and ``tolerance_gmm`` [g*mm].
    """

    at: str
    z_mm: float | None
    amount_gmm: float
    tolerance_gmm: float
    verdict: Verdict
    error_gmm: float = 0.0

    @property
    def share(self) -> float:
        """The amount as a share of the tolerance; 1 is the limit."""
        return self.amount_gmm / self.tolerance_gmm

    @property
    def passes_at_gmm(self) -> float | None:
        """The greatest amount [g*mm] that would pass; None when the measurement error eats the tolerance."""
        room = self.tolerance_gmm - self.error_gmm
        return room if room >= 0.0 else None


def judge(
    residual_gmm: Sequence[complex] | ComplexArray,
    rows: Sequence[LimitRow],
    *,
    errors_gmm: Sequence[float] | None = None,
) -> tuple[Judged, ...]:
    """Return the residual against each limit.

    Parameters
    ----------
    residual_gmm : sequence of 2 complex
        Residual vectors in the reading planes, left and right [g*mm].
    rows : sequence of LimitRow
        See `limit_rows`.
    errors_gmm : sequence of floats, optional
        Measurement error per limit [g*mm]; 0 for a planned residual.

    Notes
    -----
    In tolerance when ``U <= U_per - dU``, out of tolerance when ``U > U_per + dU``, otherwise too close to call
    (ISO 21940-14, from memory).
    """
    judged = []
    errors = (0.0,) * len(rows) if errors_gmm is None else errors_gmm
    for row, error in zip(rows, errors, strict=True):
        amount = abs(row.seen_gmm(residual_gmm))
        judged.append(
            Judged(
                at=row.at,
                z_mm=row.z_mm,
                amount_gmm=amount,
                tolerance_gmm=row.tolerance_gmm,
                verdict=verdict_of(amount, tolerance_gmm=row.tolerance_gmm, error_gmm=error),
                error_gmm=error,
            )
        )
    return tuple(judged)


def verdict_of(amount_gmm: float, *, tolerance_gmm: float, error_gmm: float = 0.0) -> Verdict:
    """Return the verdict on one amount [g*mm]; a NaN is never in tolerance."""
    slack = _RELATIVE_SLACK * tolerance_gmm
    if amount_gmm <= tolerance_gmm - error_gmm + slack:
        return "in tolerance"
    if amount_gmm <= tolerance_gmm + error_gmm + slack:
        return "too close to call"
    return "out of tolerance"


def overall_verdict(judged: Sequence[Judged]) -> Verdict:
    """Return the worst verdict: one place out is out, else one too close to call is too close to call."""
    verdicts = {place.verdict for place in judged}
    if "out of tolerance" in verdicts:
        return "out of tolerance"
    return "too close to call" if "too close to call" in verdicts else "in tolerance"
