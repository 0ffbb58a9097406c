"""What check spins with known masses prove: measured against expected changes, all masses together.

Beside `planner.assurance.diagnosis`: there a change is one pair of vectors and every explanation is tried on its own;
here masses at several places settle factor, turn, direction and planes at once.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from planner.assurance.fault_words import amount_fault, turn_fault
from planner.rotor.vectors import ComplexArray

# a check spin is trusted to this share and this angle: two readings of 1.5 % and 0.5 degrees each, with some room
_SHARE = 0.06
_TURN_DEG = 4.0


@dataclass(frozen=True, kw_only=True)
class Explanation:
    """One way to explain check spins: what is wrong (empty for "nothing"), and how badly it misses [share]."""

    faults: tuple[str, ...]
    misfit: float

    @property
    def words(self) -> str:
        """What is wrong, in words."""
        return " and ".join(self.faults) if self.faults else "everything is set right"


def explain_checks(
    expected_gmm: ComplexArray, measured_gmm: ComplexArray, *, zero_deg: float
) -> tuple[Explanation, ...]:
    """Return what fits, simplest first: ``measured = c * expected``, perhaps mirrored, perhaps planes swapped.

    Parameters
    ----------
    expected_gmm, measured_gmm : ndarray of complex, shape (n, 2)
        Change by every known mass in the left and right plane [g*mm], in the crankshaft frame.
    zero_deg : float
        Where the machine's zero mark is supposed to be [deg]; a reversed direction mirrors about it.
    """
    zero = cmath.rect(1.0, math.radians(zero_deg))
    found = []
    for planes_swapped in (False, True):
        for mirrored in (False, True):
            model = expected_gmm[:, ::-1] if planes_swapped else expected_gmm
            if mirrored:
                model = np.conj(model / zero) * zero
            factor = complex(np.vdot(model, measured_gmm) / np.vdot(model, model))
            missed = float(np.linalg.norm(measured_gmm - factor * model))
            misfit = missed / max(float(np.linalg.norm(measured_gmm)), 1e-12)
            if misfit > 2 * _SHARE:
                continue
            faults = list(_factor_faults(factor))
            if mirrored:
                faults.insert(0, "the angle direction is reversed")
            if planes_swapped:
                faults.insert(0, "the left and right plane are swapped")
            found.append(Explanation(faults=tuple(faults), misfit=misfit))
    found.sort(key=lambda each: (len(each.faults), each.misfit))
    return tuple(found)


def _factor_faults(factor: complex) -> Iterator[str]:
    yield from turn_fault(math.degrees(cmath.phase(factor)), within_deg=_TURN_DEG)
    if abs(abs(factor) - 1.0) > _SHARE:
        yield amount_fault(abs(factor))
