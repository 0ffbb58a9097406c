"""What earlier cuts really removed, learned from the spins after them and carried into the next plan on request.

Measured change = k * foretold change: k is 1.05 when every hole comes out five percent heavier than its size says (wide
drill, deep stop, dense metal: one number for all of them).  The next plan counts every drilled cut k times; that is
exact, because a cut's effect is proportional to the metal's density.
"""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from planner.errors import InputError
from planner.jobfile.job import Job
from planner.machine.spin import newest_state
from planner.records import dataclass
from planner.steps.correction_question import with_metal
from planner.steps.fault_words import explained_words

if TYPE_CHECKING:
    from planner.steps.diagnosis import SpinDiagnosis


@dataclass(frozen=True, kw_only=True)
class Learned:
    """Measured over foretold change, its standard uncertainty, and the spins that taught it."""

    factor: float
    sigma: float
    spins: tuple[int, ...]

    @property
    def words(self) -> str:
        """The same in words."""
        spins = (
            f"spin {self.spins[0]}" if len(self.spins) == 1 else f"spins {', '.join(map(str, self.spins))}"
        )
        return f"learned from {spins}: drilled cuts remove {self.factor:.3f} \u00b1 {self.sigma:.3f} times what their sizes say"


def learned_of(job: Job) -> Learned:
    """Return what the spins after cuts teach; every spin counts by its certainty.

    Raises
    ------
    InputError
        If there is nothing to learn from, something else went wrong, or the factor is none that drilling explains.
    """
    # most plans learn nothing
    from planner.steps.diagnosis import GREATEST_FACTOR, LEAST_FACTOR, is_size
    from planner.steps.history import history_of

    # against what the sizes say, whatever was learned before
    plain = dataclasses.replace(
        job, cuts_made=tuple(dataclasses.replace(made, learned_factor=1.0) for made in job.cuts_made)
    )
    taught: list[tuple[int, SpinDiagnosis]] = []
    for entry in history_of(plain).entries:
        found = entry.diagnosis
        if found is None or found.weak or entry.foretold is None or entry.foretold.cuts_between == 0:
            continue
        explanations = found.diagnosis.explanations
        # sizes that differ from what was entered are what a factor stands for, whatever the reason of it
        if not found.good and not (
            explanations
            and all(each.kind == "scale" or is_size(each) for each in explanations)
            and any(each.kind == "scale" for each in explanations)
        ):
            what = " or ".join(map(explained_words, found.diagnosis.explanations)) or "nothing known fits"
            raise InputError(
                f"nothing can be learned while it is open what went wrong before spin {entry.number}: {what}",
                hint="`bobplan history` shows it; mend that first, or take a wrong entry back with `bobplan undo`",
            )
        taught.append((entry.number, found))
    if not taught:
        raise InputError(
            "there is nothing to learn from yet: no spin follows cuts that were entered",
            hint="enter the cuts with `bobplan done`, spin again and enter the spin",
        )
    weights = [1.0 / found.diagnosis.factor_sigma**2 for _, found in taught]
    factor = sum(w * found.diagnosis.factor for w, (_, found) in zip(weights, taught, strict=True)) / sum(
        weights
    )
    if not LEAST_FACTOR <= factor <= GREATEST_FACTOR:
        raise InputError(
            f"the cuts removed {factor:.3g} times what their sizes say; {LEAST_FACTOR:g} to {GREATEST_FACTOR:g} is what "
            "drilling explains",
            hint="look for a wrong unit, radius, density or drill; `bobplan history` shows the likely one",
        )
    return Learned(
        factor=factor, sigma=1.0 / math.sqrt(sum(weights)), spins=tuple(number for number, _ in taught)
    )


def with_learned(job: Job) -> Job:
    """Return the job with what was learned, rounded to a thousandth as it is stored.

    Raises
    ------
    InputError
        See `learned_of`.
    """
    learned = learned_of(job)
    changed = with_factor(job, round(learned.factor, 3))
    return dataclasses.replace(changed, notes=(*changed.notes, learned.words))


def with_plan_factor(job: Job, *, anew: bool = False) -> Job:
    """Return the job with the factor of its stored plan, while that is the plan for the newest spin; else the job itself.

    ``anew``: a plan by the files is asked for; then the factor only stays while cuts of the plan carry it out.
    """
    plan = job.stored_plan
    if plan is None or plan.learned_factor == 1.0 or not job.spins:
        return job
    number = newest_state(job.spins)[-1] + 1
    if plan.after_spin != number or (anew and not any(made.after_spin >= number for made in job.cuts_made)):
        return job
    return with_factor(job, plan.learned_factor)


def with_factor(job: Job, factor: float) -> Job:
    """Return the job with every drilled cut counting ``factor`` times what its size says."""
    nominal = job.filed_crankshaft
    return dataclasses.replace(
        job,
        crankshaft=with_metal(nominal, factor),
        nominal_crankshaft=None if factor == 1.0 else nominal,
        learned_factor=factor,
    )
