"""One limit on the residual: which mixture of the two planes' vectors must stay below which amount."""

from __future__ import annotations

from collections.abc import Sequence

from planner.records import dataclass
from planner.rotor.vectors import ComplexArray, plane_shares


@dataclass(frozen=True, kw_only=True)
class LimitRow:
    """One limit on the residual: ``|weight_1*T1 + weight_2*T2| <= tolerance_gmm``.

    T1 and T2 are the residual vectors [g*mm] in the reading planes.  The weights are real: (1, 0) judges
    plane 1, lever shares judge a bearing, (1, 1) the static vector, and so on.  ``z_mm`` is None for static
    and couple.
    """

    at: str
    weight_1: float
    weight_2: float
    tolerance_gmm: float
    z_mm: float | None = None

    def seen_gmm(self, vectors_gmm: Sequence[complex] | ComplexArray) -> complex:
        """Return what this row judges of a left and a right vector [g*mm]."""
        left, right = vectors_gmm
        return complex(self.weight_1 * left + self.weight_2 * right)

    def weight_of_source(self, z_mm: float, planes_z_mm: tuple[float, float]) -> float:
        """Return the real weight with which a vector at ``z_mm`` [mm] enters this row."""
        share1, share2 = plane_shares(z_mm, planes_z_mm)
        return self.weight_1 * share1 + self.weight_2 * share2
