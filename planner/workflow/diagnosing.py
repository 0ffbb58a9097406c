"""What went wrong between two spins of a job, with the evidence and the cheapest experiment that decides."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from planner.assurance.deciding import DecidingMass, deciding_mass
from planner.assurance.diagnosis import BobEffect, Diagnosis, Explained, Kind, diagnose_change
from planner.assurance.odds import uncertain_cut
from planner.assurance.plane_maps import Matrix, reading_covariance, vector_covariance
from planner.job.model import Job
from planner.reading.spin import Spin, newest_state
from planner.rotor.vectors import plane_shares, vector_gmm
from planner.workflow.spinning import Foretold
from planner.workflow.trial import trial_uncertainty_gmm, with_trials

# a bob does not slide farther than this on its pin [mm]
_MOST_SLIDE_MM = 25.0
# spins with bobs and cuts between them repeat no better than this, however good the machine is (common practice): a
# fault of setting is far larger, and what is smaller must not raise an alarm
_LEAST_PERCENT = 3.0
_LEAST_TURN_DEG = 2.0
# a known mass shows clearly when it is this many times the reading's error
_TIMES_ERROR = 8.0

# cuts that remove less or more than this share of what their sizes say are no matter of drilling: a unit, a radius or an
# entry is wrong
LEAST_FACTOR, GREATEST_FACTOR = 0.6, 1.6

_REMEDIES: dict[Kind, str] = {
    "swapped spot": "if so, change `angle_marks` under [machine]: what is cut now makes it worse",
    "reversed direction": "if so, change `angle_direction` or `viewed_from` under [machine]",
    "swapped planes": "if so, exchange `left` and `right` under [planes], or enter the display's sides the other way round",
    "zero mark": "if so, correct `angle_zero` under [machine], or set the machine's zero again",
    "scale": "if so, mend the cause; `bobplan plan --use-learned` plans with what the cuts really did",
    "bobs moved": "if so, weigh and clamp the bobs again and spin; don't cut to that reading",
}


@dataclass(frozen=True, kw_only=True)
class SpinDiagnosis:
    """What went wrong before a spin.

    ``weak`` says that the foretold change is too small against the readings' errors to prove anything.  ``decides`` is a
    known mass that tells the explanations apart, None when there is nothing to tell apart.
    """

    diagnosis: Diagnosis
    weak: bool
    decides: DecidingMass | None
    error_gmm: float

    @property
    def good(self) -> bool:
        """True when nothing is wrong, as far as can be told."""
        return self.diagnosis.good

    @property
    def settled(self) -> bool:
        """True when one explanation fits and the change was large enough to say so."""
        return len(self.diagnosis.explanations) == 1 and not self.weak

    @property
    def against_settings(self) -> bool:
        """True when what was found speaks against the machine's settings or against what is known of the crankshaft.

        Then a plan from this reading may take off metal at the wrong place: it has to be decided first.  Only a change
        that is as foretold, or a size of the cuts that drilling explains, speaks against neither.
        """
        if self.good or self.weak:
            return False
        explanations = self.diagnosis.explanations
        return not explanations or not all(_is_drilling(each) for each in explanations)


def _is_drilling(explanation: Explained) -> bool:
    factor = explanation.factor
    return explanation.kind == "scale" and factor is not None and LEAST_FACTOR <= factor <= GREATEST_FACTOR


def diagnose(job: Job, spin: Spin, foretold: Foretold | None) -> SpinDiagnosis | None:
    """Return what went wrong before a spin.

    Parameters
    ----------
    job : Job
        The job before the spin.
    spin : Spin
        The new spin.
    foretold : Foretold or None
        What was expected of it.

    Returns
    -------
    SpinDiagnosis or None
        None when nothing was foretold to change, or when steps seem to be cut that are not entered.
    """
    if foretold is None or foretold.looks_cut:
        return None
    job = with_trials(job)  # before the first spin the trial runs are what it is compared with
    change = foretold.expected_gmm - foretold.before_gmm
    if float(np.abs(change).max()) < 1e-6:
        return None
    reading = _reading_covariance(job, foretold)
    cuts = _cut_covariance(job, foretold)
    diagnosis = diagnose_change(
        change,
        foretold.measured_gmm - foretold.before_gmm,
        reading_covariance_gmm2=reading,
        foretold_covariance_gmm2=cuts,
        zero_deg=job.machine.zero_deg,
        bobs=tuple(_bob_effects(job, spin)),
    )
    error = math.sqrt(float(np.trace(reading)) / 4.0)
    swapped = diagnose_change(
        -change,
        foretold.measured_gmm - foretold.before_gmm,
        reading_covariance_gmm2=reading,
        foretold_covariance_gmm2=cuts,
    )
    decides = None
    if len(diagnosis.explanations) > 1:
        amount = max(_TIMES_ERROR * error, 0.5 * float(np.abs(change).max()))
        decides = deciding_mass(diagnosis.explanations, unbalance_gmm=amount)
    return SpinDiagnosis(
        diagnosis=diagnosis,
        # when the opposite change would have been "as foretold" too, nothing is proved
        weak=diagnosis.good and swapped.good,
        decides=decides,
        error_gmm=error,
    )


def remedy_of(explanation: Explained) -> str | None:
    """Return what to do when an explanation is true."""
    return _REMEDIES.get(explanation.kind)


def _reading_covariance(job: Job, foretold: Foretold) -> Matrix:
    floor = 0.5 * (job.machine.least_unbalance_gmm or 0.0)
    percent = max(job.errors.reading_percent, _LEAST_PERCENT)
    turn_deg = max(job.errors.reading_angle_deg, _LEAST_TURN_DEG)
    count = len(newest_state(job.spins))
    uncertain = trial_uncertainty_gmm(job) or (0.0, 0.0)
    return np.asarray(
        np.diag(np.repeat(np.square(uncertain) / 2.0, 2))
        + reading_covariance(
            foretold.before_gmm,
            percent=percent,
            angle_deg=turn_deg,
            floor_gmm=floor,
            count=count,
        )
        + reading_covariance(
            foretold.measured_gmm,
            percent=percent,
            angle_deg=turn_deg,
            floor_gmm=floor,
        )
    )


def _cut_covariance(job: Job, foretold: Foretold) -> Matrix:
    """Return the covariance of what the cuts made since the spin before do, every cut with its own errors."""
    errors, result = job.errors, np.zeros((4, 4))
    for made in job.cuts_made:
        if made.after_spin < foretold.before_spin:
            continue
        counterweight = job.crankshaft.counterweight(made.cut.counterweight)
        density = counterweight.density_g_per_cm3 or job.crankshaft.density_g_per_cm3
        cut = uncertain_cut(made.cut, counterweight=counterweight, density_g_per_cm3=density, shop=job.shop)
        along = math.sqrt(
            (cut.per_depth_gmm_per_mm * errors.depth_mm) ** 2
            + (cut.per_diameter_gmm_per_mm * errors.diameter_mm) ** 2
            + (cut.per_radius_gmm_per_mm * errors.radius_mm) ** 2
            + (cut.amount_gmm * errors.density_percent / 100.0) ** 2
        )
        result += vector_covariance(
            vector_gmm(1.0, cut.angle_deg),
            plane_shares(cut.z_mm, job.planes_z_mm),
            along_gmm=along,
            across_gmm=abs(cut.amount_gmm) * math.radians(errors.angle_deg),
        )
    return result


def _bob_effects(job: Job, spin: Spin) -> Iterator[BobEffect]:
    """Yield what the bobs of a spin can have done; nothing for a bare crankshaft."""
    z1, z2 = job.planes_z_mm
    for throw in job.crankshaft.throws:
        mass = spin.bobs_g.get(throw.name, 0.0)
        if mass <= 0.0:
            continue
        arm = vector_gmm(throw.radius_mm, throw.angle_deg)
        left, right = plane_shares(throw.z_mm, job.planes_z_mm)
        yield BobEffect(throw=throw.name, way="grams", per_unit_gmm=(left * arm, right * arm), most=mass)
        slide = mass * arm / (z2 - z1)
        yield BobEffect(throw=throw.name, way="slides", per_unit_gmm=(-slide, slide), most=_MOST_SLIDE_MM)
