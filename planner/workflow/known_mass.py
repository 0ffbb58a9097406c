"""The check before the first cut: a known mass at a known place must read where and what it is.

All check spins of the newest state are looked at together: two places that are not 0 or 180 degrees apart settle
direction, zero mark, heavy or light spot, plane order and unit; one place leaves some of it open, and that is said.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.assurance.check_fit import Explanation, explain_checks
from planner.errors import InputError
from planner.job.model import Job
from planner.reading.spin import newest_state
from planner.reading.unbalance import mean_reading, spin_vectors
from planner.rotor.vectors import ComplexArray
from planner.workflow.spinning import known_mass_vectors


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
        explanations=explain_checks(np.array(expected), np.array(measured), zero_deg=job.machine.zero_deg),
    )
