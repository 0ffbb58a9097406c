"""What went wrong between two spins of a job, with the evidence and the cheapest experiment that decides."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator

import numpy as np

from planner.frames import TwoPlanes
from planner.jobfile.job import Job, MadeCut
from planner.machine.deciding_spin import DecidingMass, NamedPlace, deciding_mass
from planner.machine.plane_maps import Matrix, reading_covariance, real
from planner.machine.spin import Spin, newest_state
from planner.machine.unbalance import spin_vectors
from planner.machine.what_went_wrong import (
    SLIPS,
    BobEffect,
    BobWay,
    Diagnosis,
    Explained,
    Kind,
    Mistyped,
    diagnose_change,
)
from planner.records import dataclass
from planner.rotor.vectors import ComplexArray, plane_shares, vector_gmm
from planner.steps.cut_slips import cuts_between, cuts_covariance, double_slips, possible_slips
from planner.steps.spin import Foretold
from planner.steps.trial import trial_uncertainty_gmm, with_trials

# a bob does not slide farther than this along its pin, nor sit farther to the side of it [mm]
_MOST_SLIDE_MM, _MOST_TURN_MM = 25.0, 10.0
# what is nothing out of the way: a washer forgotten, a clamp that crept
_USUAL_G, _USUAL_SLIDE_MM, _USUAL_TURN_MM = 30.0, 5.0, 2.0
# what [errors] says of the readings counts as much as this many components of repeated spins
_TRUST = 8.0
_LEAST_SHARE = 0.25
# a known mass shows clearly when it is this many times the reading's error
_TIMES_ERROR = 8.0

# cuts that remove less or more than this share of what their sizes say are no matter of drilling: a unit, a radius or an
# entry is wrong
LEAST_FACTOR, GREATEST_FACTOR = 0.6, 1.6

_REMEDIES: dict[Kind, str] = {
    "swapped spot": "if a known mass proves it, change `angle_marks` under [machine]: what is cut now makes it worse",
    "reversed direction": "if a known mass proves it, change `angle_direction` or `viewed_from` under [machine]",
    "swapped planes": "if a known mass proves it, exchange `left` and `right` under [planes], or enter the display's sides "
    "the other way round",
    "zero mark": "if a known mass proves it, correct `angle_zero` under [machine], or set the machine's zero again",
    "scale": "if so, mend the cause; `bobplan plan --use-learned` plans with what the cuts really did",
    "bobs moved": "if so, weigh and clamp the bobs again and spin; don't cut to that reading",
    "slipped decimal": "if the display shows another number: `bobplan undo`, then enter the spin again",
    "not made": "if so, take the spin back (`bobplan undo`), then that cut (`bobplan undo --cut`, numbered as in "
    "`bobplan history`), and enter the spin again; the hole is still to be made",
}
_AS_IT_IS = (
    "if so, take the spin back (`bobplan undo`), then that cut (`bobplan undo --cut`, numbered as in "
    "`bobplan history`), enter the hole as it is and the spin again; the plan then knows "
    "what metal is left"
)


@dataclass(frozen=True, kw_only=True)
class SpinDiagnosis:
    """What went wrong before a spin.

    ``weak`` says that the foretold change is too small against the readings' errors to prove anything.  ``decides`` is a
    known mass that tells wrong settings apart, from each other and from right ones; None when no setting is in question.
    ``cuts`` are the cuts that the explanations speak of, by their place in it.
    """

    diagnosis: Diagnosis
    weak: bool
    decides: DecidingMass | None
    error_gmm: float
    cuts: tuple[MadeCut, ...] = ()

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
        that is as foretold, or holes that came out larger or smaller than they should at their right places, speak
        against neither.
        """
        if self.good or self.weak:
            return False
        explanations = self.diagnosis.explanations
        return not explanations or not all(is_size(each) for each in explanations)


def is_size(explanation: Explained) -> bool:
    """Return whether an explanation is only about how much metal the holes took, at their right places."""
    if explanation.slip is not None:
        return all(kind in ("depth counted", "other drill") for _, kind, _ in explanation.slip.each)
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
    made = cuts_between(job, foretold.before_spin)
    cuts = cuts_covariance(job, made)
    diagnosis = diagnose_change(
        change,
        foretold.measured_gmm - foretold.before_gmm,
        reading_covariance_gmm2=reading,
        foretold_covariance_gmm2=cuts,
        zero_deg=job.machine.zero_deg,
        bobs=tuple(_bob_effects(job, spin)),
        slips=possible_slips(job, made, foretold_gmm=change),
        more_slips=lambda: double_slips(job, made, foretold_gmm=change),
        # who looked at the display again and said so is not doubted
        mistyped=() if spin.as_read else tuple(_mistyped(job, spin, foretold)),
    )
    error = math.sqrt(float(np.trace(reading)) / 4.0)
    swapped = diagnose_change(
        -change,
        foretold.measured_gmm - foretold.before_gmm,
        reading_covariance_gmm2=reading,
        foretold_covariance_gmm2=cuts,
    )
    return SpinDiagnosis(
        diagnosis=diagnosis,
        # when the opposite change would have been "as foretold" too, nothing is proved
        weak=diagnosis.good and swapped.good,
        decides=_deciding(job, diagnosis, least_gmm=_TIMES_ERROR * error),
        error_gmm=error,
        cuts=made,
    )


def _deciding(job: Job, diagnosis: Diagnosis, *, least_gmm: float) -> DecidingMass | None:
    """Return the known mass that tells settings apart, from each other and from "the machine is set right"."""
    settings = diagnosis.settings
    if not settings:
        return None
    others = [each for each in diagnosis.explanations if not each.is_setting]
    right = others[0] if others else diagnosis.fine
    return deciding_mass((right, *settings), unbalance_gmm=least_gmm, places=tuple(_named_places(job)))


def _named_places(job: Job) -> Iterator[NamedPlace]:
    for counterweight in job.crankshaft.counterweights:
        outline = counterweight.outline
        yield NamedPlace(
            name=f"counterweight {counterweight.name}",
            angle_deg=counterweight.angle_deg,
            radius_mm=outline.rim_radius_mm or outline.greatest_radius_mm,
            shares=plane_shares(counterweight.z_mm, job.planes_z_mm),
        )


def remedy_of(explanation: Explained) -> str | None:
    """Return what to do when an explanation is true."""
    return _AS_IT_IS if explanation.kind in SLIPS - {"not made"} else _REMEDIES.get(explanation.kind)


def _reading_covariance(job: Job, foretold: Foretold) -> Matrix:
    """Return the covariance of the difference of the two readings, as [errors] and repeated spins have it."""
    count = len(newest_state(job.spins))
    uncertain = trial_uncertainty_gmm(job)
    share = _repeats_share(job)
    # what trial runs came to has its own uncertainty and no reading's
    before = (
        share * _one_reading(job, foretold.before_gmm) / count
        if uncertain is None
        else np.diag(np.repeat(np.square(uncertain) / 2.0, 2))
    )
    return np.asarray(before + share * _one_reading(job, foretold.measured_gmm))


def _mistyped(job: Job, spin: Spin, foretold: Foretold) -> Iterator[Mistyped]:
    """Yield the slipped decimal points that a reading may have."""
    for index, (side, read) in enumerate(spin.shown.items()):
        for factor, how in ((10.0, "small"), (0.1, "large")):
            if read.amount <= 0.0:
                continue
            meant = foretold.measured_gmm.copy()
            meant[index] *= factor
            added = foretold.measured_gmm - meant
            shown, right = (
                job.display_units.text(amount, job.display_kind)
                for amount in (read.amount, read.amount * factor)
            )
            yield Mistyped(
                words=f"the {side} amount was typed ten times too {how}: {shown} instead of {right}",
                side=side,
                added_gmm=TwoPlanes.vectors(added),
                reading_covariance_gmm2=_reading_covariance(
                    job, dataclasses.replace(foretold, measured_gmm=meant)
                ),
            )


def _one_reading(job: Job, reading_gmm: ComplexArray) -> Matrix:
    errors = job.errors
    return reading_covariance(
        reading_gmm,
        percent=errors.reading_percent,
        angle_deg=errors.reading_angle_deg,
        floor_gmm=errors.reading_absolute_gmm,
    )


def _repeats_share(job: Job) -> float:
    """Return how many times the variance of [errors] the repeated spins of this job show, both taken together."""
    square, components = 0.0, 0
    group: list[ComplexArray] = []
    for spin in [*job.spins, None]:
        if spin is not None and spin.known_mass is not None:
            continue
        if spin is None or not spin.repeat:
            if len(group) > 1:
                mean = np.mean(group, axis=0)
                W = np.linalg.pinv(_one_reading(job, mean))
                square += sum(float(real(each - mean) @ W @ real(each - mean)) for each in group)
                components += 4 * (len(group) - 1)
            group = []
        if spin is not None and not spin.from_trials:
            group.append(spin_vectors(spin, machine=job.machine))
    return max(_LEAST_SHARE, (_TRUST + square) / (_TRUST + components))


def _bob_effects(job: Job, spin: Spin) -> Iterator[BobEffect]:
    """Yield what the bobs of a spin can have done; nothing for a bare crankshaft."""
    z1, z2 = job.planes_z_mm
    for throw in job.crankshaft.throws:
        mass = spin.bobs_g.get(throw.name, 0.0)
        if mass <= 0.0:
            continue
        arm = vector_gmm(throw.radius_mm, throw.angle_deg)
        left, right = plane_shares(throw.z_mm, job.planes_z_mm)
        slide, side = mass * arm / (z2 - z1), 1j * mass * vector_gmm(1.0, throw.angle_deg)
        ways: tuple[tuple[BobWay, complex, complex, float, float], ...] = (
            ("grams", left * arm, right * arm, mass, _USUAL_G),
            ("slides", -slide, slide, _MOST_SLIDE_MM, _USUAL_SLIDE_MM),
            ("turns", left * side, right * side, _MOST_TURN_MM, _USUAL_TURN_MM),
        )
        for way, at_left, at_right, most, usual in ways:
            per_unit = TwoPlanes(at_left, at_right)
            yield BobEffect(throw=throw.name, way=way, per_unit_gmm=per_unit, most=most, usual=usual)
