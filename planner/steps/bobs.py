"""The bobs of a job: their sums, what the mounted ones are off by, and what other parts would change."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

from planner.correction.verify.verify_plan import verify
from planner.engine.bob_errors import (
    BobFactor,
    BobSensitivity,
    OverBalance,
    bob_error_gmm,
    bob_factors,
    bob_sensitivity,
    over_balance,
)
from planner.engine.parts import BobTable, Part, PartSet, bobs
from planner.errors import InputError
from planner.frames import SideReading, TwoPlanes
from planner.jobfile.job import Job
from planner.records import dataclass
from planner.rotor.crankshaft import Throw
from planner.rotor.verdict import Judged, overall_verdict
from planner.steps.correction_question import limits_of, pose
from planner.steps.judging import judged_of

TENTH = 0.1
"""The share of the tolerance that bobs may use up (common practice)."""


@dataclass(frozen=True, kw_only=True)
class BobsOff:
    """What the bobs of a spin are off by: grams per throw (on minus wanted) and vectors left, right [g*mm]."""

    spin_number: int
    off_g: Mapping[str, float]
    off_gmm: TwoPlanes[complex]


@dataclass(frozen=True, kw_only=True)
class BobsAnswer:
    """All that `bobplan bobs` says.

    ``sensitivity`` is empty without a tolerance, ``off`` is None without a spin or without wanted bobs, ``factors`` are
    empty without parts.
    """

    job: Job
    table: BobTable
    factors: tuple[BobFactor, ...]
    sensitivity: tuple[BobSensitivity, ...]
    off: BobsOff | None
    over: tuple[OverBalance, OverBalance] | None = None


@dataclass(frozen=True, kw_only=True)
class WhatIf:
    """What other parts would change, without another spin.

    ``fraction`` is another share of the reciprocating mass, None for that of the job.  ``expected`` is what the display would
    show for the crankshaft as it is now, cuts made included, with the new bobs on and everything mounted that the engine
    has; ``judged`` is the present plan's residual for them, None without a plan.
    """

    changes_g: Mapping[str, float]
    before_g: Mapping[str, float]
    after_g: Mapping[str, float]
    fraction: float | None = None
    shift_gmm: TwoPlanes[complex] | None = None
    expected: TwoPlanes[SideReading] | None = None
    judged: tuple[Judged, ...] | None = None
    verdict: str | None = None


def bobs_of(job: Job, *, percent_over: float | None = None) -> BobsAnswer:
    """Return the bobs of a job.

    Raises
    ------
    InputError
        If the job has neither parts nor wanted bobs, or a percentage is asked for without parts.
    """
    if job.parts is None and job.bobs_wanted_g is None:
        raise InputError(
            "the job states neither parts nor wanted bobs",
            hint="weigh the parts and add [parts], or add `[bobs]` with `wanted = GRAMS` when only that is known",
        )
    throws = job.crankshaft.throws
    over = None
    if percent_over is not None:
        if job.parts is None:
            raise InputError(
                "so many percent over of what? the job has no [parts]",
                hint="without the parts only the whole bob can be scaled; state the bob that is wanted",
            )
        over = over_balance(job.parts, throws=throws, percent=percent_over)
    sensitivity: tuple[BobSensitivity, ...] = ()
    if job.tolerance is not None:
        sensitivity = bob_sensitivity(
            throws=throws, planes_z_mm=job.planes_z_mm, limits=limits_of(job), share=TENTH
        )
    return BobsAnswer(
        job=job,
        table=bobs(job.parts, throws=throws),
        factors=bob_factors(job.parts, throws=throws) if job.parts is not None else (),
        sensitivity=sensitivity,
        off=_off(job),
        over=over,
    )


def wanted_g(job: Job) -> dict[str, float]:
    """Return the wanted bob per throw [g].

    Raises
    ------
    InputError
        If the job states none.
    """
    if job.bobs_wanted_g is None:
        raise InputError(
            "the job states no wanted bob", hint="add [parts], or `[bobs]` with `wanted = GRAMS`"
        )
    return dict(job.bobs_wanted_g)


def what_if(job: Job, changes_g: Mapping[str, float], *, fraction: float | None = None) -> WhatIf:
    """Return what grams more or less on parts, or another share of the reciprocating mass, would change.

    Parameters
    ----------
    job : Job
        With parts, or with wanted bobs only (then the one change allowed is ``bob``).
    changes_g : mapping
        Part name (or ``bob``) to grams added to every one of them [g]; negative is lighter.
    fraction : float, optional
        Another share of the reciprocating mass that the bobs carry, 0..1.

    Raises
    ------
    InputError
        If a part is unknown, or would weigh less than nothing.
    """
    before = wanted_g(job)
    changed = _with_changes(job, changes_g, fraction)
    after = wanted_g(changed)
    answer = WhatIf(changes_g=changes_g, before_g=before, after_g=after, fraction=fraction)
    if not job.spins:
        return answer
    difference = {name: after[name] - before[name] for name in after}
    shift = bob_error_gmm(difference, throws=job.crankshaft.throws, planes_z_mm=job.planes_z_mm)
    posed = pose(changed)
    unbalance = posed.problem.unbalance_gmm.plus(posed.known_error_gmm)
    judged = None
    stored = job.stored_plan
    if stored is not None and stored.after_spin == posed.spin_number:
        done = {entry.step for entry, _ in posed.made}
        steps = [step.cut for step in stored.steps if step.number not in done]
        judged = judged_of(changed, posed, verify(posed.problem, steps).residual_gmm, foretold=True)
    return dataclasses.replace(
        answer,
        shift_gmm=TwoPlanes.vectors(shift),
        expected=unbalance.shown(job.machine),
        judged=judged,
        verdict=None if judged is None else overall_verdict(judged),
    )


def _with_changes(job: Job, changes_g: Mapping[str, float], fraction: float | None) -> Job:
    throws = job.crankshaft.throws
    rest = dict(changes_g)
    bob_change = rest.pop("bob", 0.0)
    parts = job.parts
    if rest:
        if parts is None:
            raise InputError(
                f"the job has no [parts], so `{next(iter(rest))}` can't be changed",
                hint="without parts only the bob itself can be: `--what-if bob=-12g`",
            )
        parts = dataclasses.replace(parts, parts=_changed_parts(parts, rest))
    if fraction is not None:
        if parts is None:
            raise InputError(
                "the job has no [parts], so no share of them can be changed",
                hint="without parts only the bob itself can be changed",
            )
        parts = dataclasses.replace(parts, reciprocating_fraction=fraction)
    new = dict(job.bobs_wanted_g or {})
    if parts is not None and parts is not job.parts:
        old_sums, new_sums = (_sums(each, throws=throws) for each in (job.parts, parts))
        # a throw that states its own bob still follows the parts' change
        new = {name: value + new_sums[name] - old_sums[name] for name, value in new.items()}
    new = {name: value + bob_change for name, value in new.items()}
    return dataclasses.replace(job, parts=parts, bobs_wanted_g=new)


def _sums(parts: PartSet | None, *, throws: Sequence[Throw]) -> dict[str, float]:
    table = bobs(parts, throws=throws)
    return {bob.throw: bob.sum_g or 0.0 for bob in table.bobs}


def _changed_parts(parts: PartSet, changes_g: Mapping[str, float]) -> tuple[Part, ...]:
    names = [each.name for each in parts.parts]
    for name in changes_g:
        if name not in names:
            raise InputError(
                f"there is no part `{name}`", hint=f"the job's parts are {', '.join(names)}, and `bob`"
            )
    changed = []
    for each in parts.parts:
        change = changes_g.get(each.name, 0.0)
        masses = tuple(mass + change for mass in each.masses_g)
        if min(masses) < 0.0:
            raise InputError(
                f"`{each.name}` would weigh {min(masses):g} g",
                hint=f"the lightest weighs {min(each.masses_g):g} g now",
            )
        changed.append(dataclasses.replace(each, masses_g=masses))
    return tuple(changed)


def _off(job: Job) -> BobsOff | None:
    if not job.spins or job.bobs_wanted_g is None:
        return None
    spin = job.spins[-1]
    off = {name: spin.bobs_g[name] - wanted for name, wanted in job.bobs_wanted_g.items()}
    vectors = bob_error_gmm(off, throws=job.crankshaft.throws, planes_z_mm=job.planes_z_mm)
    return BobsOff(spin_number=len(job.spins), off_g=off, off_gmm=TwoPlanes.vectors(vectors))
