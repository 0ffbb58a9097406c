"""A new spin: checked, compared with what was foretold, ready to be written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planner.errors import InputError
from planner.frames import Shown, SideReading
from planner.jobfile.job import Job
from planner.machine.spin import KnownMass, Spin, newest_state
from planner.machine.unbalance import bob_shift, mean_reading, mounted_shift, spin_vectors
from planner.quantity import factor
from planner.records import dataclass
from planner.rotor.vectors import ComplexArray
from planner.steps.correction_question import effect_on, limits_of, made_effect, shift_of, with_metal
from planner.steps.trial import solve_job_trials, spin_number, with_trials

# raw vibration typed as unbalance: within this factor of the trial runs' readings ..
_OF_ONE_SIZE = 4.0
# .. and this factor away from the unbalance they came to
_FAR_APART = 20.0
# or below this share of the limits: no crankshaft gets so good
_TOO_GOOD = 0.02


@dataclass(frozen=True, kw_only=True)
class Foretold:
    """What a new spin was expected to read, beside what it read: (left, right) vectors [g*mm] in the crankshaft frame.

    ``unchanged_gmm`` is the reading of the spin before; ``planned_gmm`` is what it would have become with every step of
    the stored plan that is not entered as made, None when there is no such step.
    """

    before_spin: int
    before_gmm: ComplexArray
    expected_gmm: ComplexArray
    measured_gmm: ComplexArray
    cuts_between: int
    planned_gmm: ComplexArray | None
    open_steps: tuple[int, ...]

    @property
    def looks_cut(self) -> bool:
        """True when steps are not entered as made but the reading is nearer to what they would have made of it."""
        if self.planned_gmm is None:
            return False
        to_plan = abs(self.measured_gmm - self.planned_gmm).sum()
        to_old = abs(self.measured_gmm - self.expected_gmm).sum()
        return bool(to_plan < to_old)


def spin_of(
    job: Job,
    numbers: Sequence[float],
    *,
    bobs_g: Mapping[str, float] | None = None,
    mounted: Sequence[str] | None = None,
    repeat: bool = False,
    speed_rpm: float | None = None,
    known_mass: KnownMass | None = None,
) -> tuple[Spin, tuple[str, ...]]:
    """Return a new spin with what was taken over from the last one, in words.

    Parameters
    ----------
    job : Job
        The job before the spin.
    numbers : sequence of 4 floats
        Left amount, left angle, right amount, right angle; amounts in g*mm (or g), angles in machine degrees.
    bobs_g : mapping, optional
        Mass on every throw [g]; if left out the last spin's, before any spin the trial runs'.
    mounted : sequence of str, optional
        Names of mounted parts that were on; the last spin's if left out.
    repeat : bool
        The state of the crankshaft is that of the spin before.
    speed_rpm : float, optional
        Speed; the last spin's if left out.
    known_mass : KnownMass, optional
        What was put on for a check spin.

    Raises
    ------
    InputError
        If the bobs are said neither now nor by a spin before, a part is unknown, or nothing can be repeated.
    """
    last = job.spins[-1] if job.spins else None
    # what was on in the trial runs is still on for the first spin
    trial = next((run for run in job.trials if run.mass_plane is None), None)
    before, before_words = (last, f"spin {len(job.spins)}") if last is not None else (trial, "the trial runs")
    taken: list[str] = []
    if bobs_g is None:
        if before is None or before.bobs_g is None:
            raise InputError(
                "the first spin must say what was clamped on the throws",
                hint="add `--bobs 1729` (grams on every throw), `--bobs 1=1729,2=1729.5`, or `--bobs 0` for a bare "
                "crankshaft",
            )
        bobs_g = before.bobs_g
        taken.append(f"bobs as for {before_words}: {bob_words(job, bobs_g)}")
    if mounted is None:
        mounted = before.mounted if before is not None else ()
        if mounted:
            taken.append(f"mounted as for {before_words}: {', '.join(mounted)}")
    known = {part.name for part in job.mounted}
    for name in mounted:
        if name not in known:
            allowed = ", ".join(f"`{each}`" for each in sorted(known)) or "none, the job has no [[mounted]]"
            raise InputError(f"there is no mounted part `{name}`", hint=f"the mounted parts are {allowed}")
    if (repeat or known_mass is not None) and last is None:
        raise InputError(
            "there is no spin before this one to repeat or to compare with",
            hint="spin without the known mass first",
        )
    if repeat and any(made.after_spin >= len(job.spins) for made in job.cuts_made):
        raise InputError(
            "a repeat can't follow a cut: the crankshaft is not the same",
            hint="enter it as an ordinary spin, without `--repeat`",
        )
    left_amount, left_angle, right_amount, right_angle = numbers
    spin = Spin(
        left=SideReading(amount=left_amount, angle_deg=Shown(left_angle)),
        right=SideReading(amount=right_amount, angle_deg=Shown(right_angle)),
        bobs_g=dict(bobs_g),
        mounted=tuple(mounted),
        repeat=repeat,
        speed_rpm=speed_rpm if speed_rpm is not None else (None if before is None else before.speed_rpm),
        known_mass=known_mass,
    )
    return spin, tuple(taken)


def bobs_known(job: Job) -> bool:
    """Return whether a new spin can take its bobs over from the last one, or from the trial runs."""
    if job.spins:
        return True
    return any(run.bobs_g is not None for run in job.trials if run.mass_plane is None)


def looks_raw(job: Job, amounts_gmm: Sequence[float]) -> bool:
    """Return whether amounts typed as unbalance look like raw vibration of the job's trial runs.

    They do when they are of the size that the runs read and far (a factor of 20) from the unbalance that the runs came
    to; or no larger than the readings, and a small part of what the tolerance allows: no crankshaft gets that good.

    Parameters
    ----------
    job : Job
    amounts_gmm : sequence of float
        Left and right as typed, in g*mm (in g where the machine states masses).
    """
    try:
        answer = solve_job_trials(job)
    except InputError:
        return False
    unit = factor(job.display_unit, job.display_kind)
    typed = max(amounts_gmm) / unit
    shown = max(
        job.machine.display_amount(abs(each), side=side) / unit
        for side, each in zip(answer.influence.planes, answer.unbalance_gmm, strict=True)
    )
    raw = max(abs(each) for run in answer.runs for each in run.readings)
    if min(typed, shown, raw) <= 0.0:
        return False
    of_their_size = 1.0 / _OF_ONE_SIZE < typed / raw < _OF_ONE_SIZE
    if of_their_size and not 1.0 / _FAR_APART < typed / shown < _FAR_APART:
        return True
    if (
        job.tolerance is None
        or job.machine.mass_at_radius
        or not answer.both_planes
        or typed > _OF_ONE_SIZE * raw
    ):
        return False
    return bool(max(amounts_gmm) < _TOO_GOOD * min(row.tolerance_gmm for row in limits_of(job)))


def bob_words(job: Job, bobs_g: Mapping[str, float]) -> str:
    """Return bob masses in the job's unit, one number when they are all alike."""
    values = list(bobs_g.values())
    if not values or max(values) == 0.0:
        return "none (bare)"
    if max(values) - min(values) < 1e-9:
        return f"{job.units.text(values[0], 'mass')} on every throw"
    return ", ".join(f"throw {name} {job.units.text(value, 'mass')}" for name, value in bobs_g.items())


def foretold_for(job: Job, spin: Spin) -> Foretold | None:
    """Return what was expected of a new spin, or None when it is the first.

    Expected is the state before, plus the cuts entered since, plus what changed in bobs and mounted parts.
    """
    try:
        job = with_trials(job)
        state = newest_state(job.spins)
    except InputError:
        return None
    before = job.spins[state[-1]]
    number = spin_number(job, state[-1])
    reading = mean_reading([job.spins[index] for index in state], machine=job.machine).vectors_gmm
    changed = bob_shift(
        throws=job.crankshaft.throws,
        bobs_on_g=before.bobs_g,
        bobs_wanted_g=spin.bobs_g,
        planes_z_mm=job.planes_z_mm,
    )
    # a part that was not on and now is: the same sum as "in the engine but not on for the spin"
    changed = (
        changed
        - mounted_shift(parts=job.mounted, mounted=spin.mounted, planes_z_mm=job.planes_z_mm)
        + mounted_shift(parts=job.mounted, mounted=before.mounted, planes_z_mm=job.planes_z_mm)
    )
    made = [entry for entry in job.cuts_made if entry.after_spin >= number]
    cut = shift_of(
        [(entry.cut, made_effect(job.filed_crankshaft, entry, shop=job.shop)) for entry in made],
        planes_z_mm=job.planes_z_mm,
    )
    expected = reading + changed + cut
    stored = job.stored_plan
    done = {entry.step for entry in made}
    open_steps = (
        [step for step in stored.steps if step.number not in done]
        if stored is not None and stored.after_spin == number
        else []
    )
    planned = None
    if open_steps:
        metal = with_metal(job.filed_crankshaft, 1.0 if stored is None else stored.learned_factor)
        planned = expected + shift_of(
            [(step.cut, effect_on(metal, step.cut, shop=job.shop)) for step in open_steps],
            planes_z_mm=job.planes_z_mm,
        )
    return Foretold(
        before_spin=number,
        before_gmm=reading,
        expected_gmm=expected,
        measured_gmm=spin_vectors(spin, machine=job.machine),
        cuts_between=len(made),
        planned_gmm=planned,
        open_steps=tuple(step.number for step in open_steps),
    )
