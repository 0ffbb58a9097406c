"""Is a new reading what it says, or a wrong setting or a slip of the keys?  Asked before anything is planned from it."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence

from planner.frames import SIDES, MachineConvention, TwoPlanes
from planner.jobfile.job import Job
from planner.machine.spin import Spin, newest_state
from planner.machine.unbalance import bob_shift, known_error_sum, mounted_shift, spin_vectors
from planner.quantity import factor
from planner.records import dataclass
from planner.rotor.vectors import ComplexArray, difference_deg, plane_shares
from planner.steps.known_mass import reading_error
from planner.steps.prove import proved_settings, rotor_mass_kg
from planner.steps.reading_questions import far_words, questions_about
from planner.steps.spin import Foretold, foretold_for
from planner.steps.withheld import job_before
from planner.uncertainty.likely import Expected, Picture, Slip, Suspicion, suspicions

# how often each is wrong in a job where it is not proved, and a slip of the keys (judgement)
_SETTING, _UNIT, _DECIMAL, _KEYS = 0.02, 0.02, 0.003, 0.002
# .. of a setting that is proved
_PROVED = 0.0002
# more than this is asked about
_ASKED = 0.30
# what is left of a crankshaft that was balanced for other bobs [um], and of the bobs' own change
_LEFT_UM, _LEFT_SHARE = 25.0, 0.25
# an angle typed from the other plane agrees to the display's last figure, a degree
_TYPED_RAD = math.radians(1.0)


@dataclass(frozen=True, kw_only=True)
class ReadingQuestions:
    """What is asked about a reading, in words; ``suspicions`` are what it rests on, the most probable first."""

    words: tuple[str, ...]
    suspicions: tuple[Suspicion, ...] = ()


def asked_about(job: Job, spin: Spin, foretold: Foretold | None = None) -> ReadingQuestions:
    """Return what must be asked about a new spin before it is planned from; nothing when it was confirmed already.

    Parameters
    ----------
    job : Job
        The job before the spin.
    spin : Spin
        The spin.
    foretold : Foretold, optional
        What was expected of it; worked out when left out.
    """
    if spin.as_read or spin.known_mass is not None or spin.from_trials:
        return ReadingQuestions(words=())
    if foretold is None and not spin.repeat:
        foretold = foretold_for(job, spin)
    twice = _twice(job, spin)
    if twice is not None:
        return ReadingQuestions(words=(twice,))
    reading = spin_vectors(spin, machine=job.machine) - known_error_sum(job.known_errors)
    # how large it may be is said by the older rule too: it knows the bobs where no mass is stated
    words = list(questions_about(job, reading_gmm=[complex(v) for v in reading]))
    found: tuple[Suspicion, ...] = ()
    if not spin.repeat:
        slips = list(_slips(job, spin, settings=foretold is None or foretold.cuts_between == 0))
        found = suspicions(TwoPlanes.vectors(reading), picture_of(job, spin, foretold), slips)
        if sum(each.probability for each in found) > _ASKED:
            far = far_words(job, [complex(v) for v in reading])
            words.append(_words(found, far))
    return ReadingQuestions(words=tuple(words), suspicions=found)


def asked_of_newest(job: Job) -> tuple[str, ...]:
    """Return what stands open about the newest state's first spin, in words; nothing once it was confirmed."""
    index = newest_state(job.spins)[0]
    before = job_before(job, index) or dataclasses.replace(job, spins=(), cuts_made=())
    return asked_about(before, job.spins[index]).words


def standing_questions(job: Job) -> tuple[str, ...]:
    """Return what was asked about the newest reading and never answered; nothing once it was cut on.

    Also where nothing would be cut: a slipped decimal point may be all that puts a crankshaft inside its limits.
    """
    if all(spin.known_mass is not None for spin in job.spins):
        return ()
    newest = newest_state(job.spins)[0] + 1
    return () if any(made.after_spin >= newest for made in job.cuts_made) else asked_of_newest(job)


def picture_of(job: Job, spin: Spin, foretold: Foretold | None) -> Picture:
    """Return what makes readings of a spin likely: the crankshaft, the spin before, the bobs that it was built for."""
    half_mass = 0.5 * rotor_mass_kg(job)
    sides = []
    for side in (0, 1):
        metal = [
            (each.angle_deg, share * (each.outline.rim_radius_mm or each.outline.greatest_radius_mm))
            for each in job.crankshaft.counterweights
            if (share := plane_shares(each.z_mm, job.planes_z_mm)[side]) > 0.25
        ]
        sides.append(metal)
    expected = []
    if foretold is not None:
        expected += [
            _around(job, each, change=each - foretold.before_gmm)
            for each in (foretold.expected_gmm, foretold.planned_gmm)
            if each is not None
        ]
    elif job.crankshaft.built_for_bob_g is not None and job.crankshaft.built_for_percent is None:
        built = job.crankshaft.built_bobs_g
        wanted = bob_shift(
            throws=job.crankshaft.throws,
            bobs_on_g=built,
            bobs_wanted_g=spin.bobs_g,
            planes_z_mm=job.planes_z_mm,
        ) - mounted_shift(parts=job.mounted, mounted=spin.mounted, planes_z_mm=job.planes_z_mm)
        left = _LEFT_UM * half_mass
        sigma = [math.hypot(left, _LEFT_SHARE * abs(complex(v))) for v in wanted]
        expected.append(Expected(vectors_gmm=TwoPlanes.vectors(wanted), sigma_gmm=(sigma[0], sigma[1])))
    return Picture(half_mass_kg=half_mass, metal_deg=(sides[0], sides[1]), expected=tuple(expected))


def _around(job: Job, vectors: ComplexArray, *, change: ComplexArray) -> Expected:
    percent, angle, floor = reading_error(job)
    share = math.hypot(percent / 100.0, math.radians(angle))
    sigma = [
        math.sqrt(2.0 * (share * abs(v)) ** 2 + (0.1 * abs(c)) ** 2 + floor**2 + rotor_mass_kg(job) ** 2)
        for v, c in zip(vectors, change, strict=True)
    ]
    return Expected(vectors_gmm=TwoPlanes.vectors(vectors), sigma_gmm=(sigma[0], sigma[1]))


def _slips(job: Job, spin: Spin, *, settings: bool) -> Iterator[Slip]:
    """Yield what may be wrong; settings only where nothing was cut between, for what cuts did is looked at elsewhere."""
    if settings:
        yield from _wrong_settings(job, spin)
    for side, other in (("left", "right"), ("right", "left")):
        mine, others = getattr(spin, side), getattr(spin, other)
        for by, how in ((0.1, "ten times too large"), (10.0, "ten times too small")):
            if mine.amount * by > 0.0:
                meant = dataclasses.replace(
                    spin, **{side: dataclasses.replace(mine, amount=mine.amount * by)}
                )
                words = f"the {side} amount has a slipped decimal point ({how})"
                yield _slip(job, "decimal", words, _DECIMAL, meant)
        if abs(difference_deg(mine.angle_deg, others.angle_deg)) < 0.05:
            # the right angle may be any: the chance is spread over the circle, against a degree that agrees
            for turn in range(15, 360, 15):
                meant = dataclasses.replace(
                    spin, **{side: dataclasses.replace(mine, angle_deg=(mine.angle_deg + turn) % 360.0)}
                )
                chance = _KEYS / 23.0 * (2.0 * math.pi / _TYPED_RAD) / (2.0 * math.pi)
                yield _slip(job, "angle", f"the {side} angle is that of the {other} plane", chance, meant)
    swapped_angles = dataclasses.replace(
        spin,
        left=dataclasses.replace(spin.left, angle_deg=spin.right.angle_deg),
        right=dataclasses.replace(spin.right, angle_deg=spin.left.angle_deg),
    )
    yield _slip(job, "angle", "the angles of the two planes are exchanged", _KEYS, swapped_angles)


def _wrong_settings(job: Job, spin: Spin) -> Iterator[Slip]:
    machine, proved = job.machine, proved_settings(job)

    def chance(name: str, usual: float) -> float:
        return _PROVED if proved[name] else usual

    def other(kind: str, words: str, usual: float, **changed: object) -> Slip:
        return _slip(job, kind, words, usual, spin, machine=dataclasses.replace(machine, **changed))  # type: ignore[arg-type]

    marks = "light spot" if machine.marks == "heavy spot" else "heavy spot"
    yield other("spot", "heavy and light spot are swapped", chance("spot", _SETTING), marks=marks)
    direction = "cw" if machine.direction == "ccw" else "ccw"
    yield other(
        "direction", "the angle direction is reversed", chance("direction", _SETTING), direction=direction
    )
    meant = spin_vectors(spin, machine=machine)
    yield Slip(
        kind="planes",
        words="the left and right plane are swapped",
        chance=chance("planes", _SETTING) + _KEYS,
        meant_gmm=TwoPlanes.vectors(meant[::-1]),
    )
    angles = {round(each.angle_deg % 360.0, 3) for each in job.crankshaft.throws}
    angles -= {round(machine.zero_deg % 360.0, 3)}
    for angle in sorted(angles):
        name = next(t.name for t in job.crankshaft.throws if round(t.angle_deg % 360.0, 3) == angle)
        yield other(
            "zero",
            f"the zero mark is not where it is set (at throw {name}?)",
            chance("zero", _SETTING) / len(angles),
            zero_deg=angle,
        )
    kind = job.display_kind
    own = factor(job.display_unit, kind)
    units = ("g", "oz") if kind == "mass" else ("g*mm", "g*cm", "g*in", "oz*in")
    for unit in units:
        by = factor(unit, kind) / own
        if abs(by - 1.0) > 0.01:
            yield Slip(
                kind="unit",
                words=f"the display shows {unit}",
                chance=chance("unit", _UNIT) / len(units),
                meant_gmm=TwoPlanes.vectors(by * meant),
            )


def _slip(
    job: Job, kind: str, words: str, chance: float, spin: Spin, *, machine: MachineConvention | None = None
) -> Slip:
    meant = spin_vectors(spin, machine=machine or job.machine) - known_error_sum(job.known_errors)
    return Slip(kind=kind, words=words, chance=chance, meant_gmm=TwoPlanes.vectors(meant))


def _twice(job: Job, spin: Spin) -> str | None:
    """Return the question about a spin that shows the very numbers of the one before, figure by figure."""
    last = next((each for each in reversed(job.spins) if each.known_mass is None), None)
    if last is None or last.from_trials:
        return None
    same = all(
        math.isclose(getattr(getattr(spin, side), key), getattr(getattr(last, side), key), rel_tol=1e-9)
        for side in SIDES
        for key in ("amount", "angle_deg")
    )
    if not same:
        return None
    number = max(i for i, each in enumerate(job.spins) if each is last) + 1
    words = (
        f"these are the very numbers of spin {number}, figure by figure: is it the same spin entered twice"
    )
    if spin.repeat:
        return f"{words}, or did the display show the same again?"
    return f"{words}? Two spins of one state are entered with `--repeat`"


def _words(found: Sequence[Suspicion], far: str) -> str:
    together: dict[tuple[str, str], float] = {}
    for each in found:
        key = (each.slip.words, each.slip.kind)
        together[key] = together.get(key, 0.0) + each.probability
    ordered = sorted(together.items(), key=lambda pair: -pair[1])
    likely = [key for key, probability in ordered if probability >= 0.15 * ordered[0][1]][:4]
    names = [words for words, _ in likely]
    fits = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"
    typed = {kind for _, kind in likely} <= {"decimal", "angle"}
    way = "Look at the display and type it again" if typed else "A known mass decides it: `bobplan prove`"
    return (
        "this reading is odd for this crankshaft, its counterweights, its bobs and what it read before; it would fit better if "
        f"{fits}. {far}{way}"
    )
