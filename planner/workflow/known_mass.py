"""The check before the first cut: a known mass at a known place must read where and what it is.

All check spins of the newest state are looked at together: two places that are not 0 or 180 degrees apart settle
direction, zero mark, heavy or light spot, plane order and unit; one place leaves some of it open, and that is said.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from planner.errors import InputError
from planner.job.model import Job
from planner.reading.spin import newest_state
from planner.reading.unbalance import mean_reading, spin_vectors
from planner.rotor.vectors import ComplexArray
from planner.units import G_PER_OZ, GMM_PER_OZ_IN, MM_PER_IN
from planner.workflow.spinning import known_mass_vectors

# a check spin is trusted to this share and this angle: two readings of 1.5 % and 0.5 degrees each, with some room
_SHARE = 0.06
_TURN_DEG = 4.0
_FACTORS = (
    (GMM_PER_OZ_IN, "ounce-inches and gram-millimetres"),
    (G_PER_OZ, "ounces and grams"),
    (MM_PER_IN, "inches and millimetres"),
    (10.0, "gram-centimetres and gram-millimetres"),
    (2.0, "diameter and radius"),
)


@dataclass(frozen=True, kw_only=True)
class Explanation:
    """One way to explain a check spin: what is wrong (empty for "nothing"), and how badly it misses [share]."""

    faults: tuple[str, ...]
    misfit: float

    @property
    def words(self) -> str:
        """What is wrong, in words."""
        return " and ".join(self.faults) if self.faults else "everything is set right"


@dataclass(frozen=True, kw_only=True)
class KnownMassCheck:
    """What the check spins proved.

    ``explanations`` are all that fit, simplest first; ``settled`` is True when only one does.
    """

    places: int
    expected_gmm: tuple[ComplexArray, ...]
    measured_gmm: tuple[ComplexArray, ...]
    explanations: tuple[Explanation, ...]

    @property
    def settled(self) -> bool:
        """True when exactly one explanation fits."""
        return len(self.explanations) == 1

    @property
    def good(self) -> bool:
        """True when "everything is set right" fits and nothing equally simple does."""
        return bool(self.explanations) and not self.explanations[0].faults


def check_known_masses(job: Job) -> KnownMassCheck:
    """Return what the check spins since the newest ordinary spin prove.

    Raises
    ------
    InputError
        If there is no check spin, or none without the mass to compare it with.
    """
    state = newest_state(job.spins)
    base = mean_reading([job.spins[index] for index in state], machine=job.machine).vectors_gmm
    checks = [spin for spin in job.spins[state[0] :] if spin.known_mass is not None]
    if not checks:
        raise InputError(
            "there is no spin with a known mass after the newest ordinary spin",
            hint='put a known mass on and enter `bobplan spin ... --known-mass "10 g" --known-radius 85 --known-angle 60 '
            "--known-z 52`",
        )
    expected, measured = [], []
    for spin in checks:
        if spin.known_mass is not None:
            expected.append(known_mass_vectors(job, spin.known_mass))
            measured.append(spin_vectors(spin, machine=job.machine) - base)
    return KnownMassCheck(
        places=len(expected),
        expected_gmm=tuple(expected),
        measured_gmm=tuple(measured),
        explanations=tuple(_explanations(np.array(expected), np.array(measured), job.machine.zero_deg)),
    )


def _explanations(expected: ComplexArray, measured: ComplexArray, zero_deg: float) -> Iterator[Explanation]:
    """Yield what fits: ``measured = c * expected``, perhaps mirrored about the zero mark, perhaps planes swapped."""
    zero = cmath.rect(1.0, math.radians(zero_deg))
    found = []
    for planes_swapped in (False, True):
        for mirrored in (False, True):
            model = expected[:, ::-1] if planes_swapped else expected
            if mirrored:
                model = np.conj(model / zero) * zero
            factor = complex(np.vdot(model, measured) / np.vdot(model, model))
            missed = float(np.linalg.norm(measured - factor * model))
            misfit = missed / max(float(np.linalg.norm(measured)), 1e-12)
            if misfit > 2 * _SHARE:
                continue
            faults = list(_factor_faults(factor))
            if mirrored:
                faults.insert(0, "the angle direction is reversed")
            if planes_swapped:
                faults.insert(0, "the left and right plane are swapped")
            found.append(Explanation(faults=tuple(faults), misfit=misfit))
    found.sort(key=lambda each: (len(each.faults), each.misfit))
    yield from found


def _factor_faults(factor: complex) -> Iterator[str]:
    turn = math.degrees(cmath.phase(factor))
    if abs(abs(turn) - 180.0) <= _TURN_DEG:
        yield "heavy and light spot are swapped"
    elif abs(turn) > _TURN_DEG:
        yield f"the zero mark is off by {turn:.0f} degrees"
    size = abs(factor)
    if abs(size - 1.0) > _SHARE:
        yield _size_fault(size)


def _size_fault(size: float) -> str:
    for value, words in _FACTORS:
        for power in (value, 1.0 / value):
            if abs(size / power - 1.0) <= _SHARE:
                return f"amounts read {size:.3g} times what they should: are {words} mixed up?"
    return f"amounts read {size:.3g} times what they should (unit, radius or mass wrong)"
