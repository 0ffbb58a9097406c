"""What goes wrong between two spins of a real plan, simulated, and what the program says of it.

A `Case` is a job whose first plan was made by the program and entered as made.  `History` is one carrying out of that
plan with the shop's errors and one fault, and the spin after it.  Every history draws its own true unbalance: what it
must have been for the first spin to show what it showed.
"""

from __future__ import annotations

import copy
import random
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simulator.crankshaft import unit
from simulator.examples import EXAMPLES, NAMES, example_job
from simulator.jobs import SLIPS, Errors, SimulatedJob, random_job
from simulator.tool import checked

from planner.jobfile.job import Job
from planner.jobfile.read import load_job
from planner.steps.diagnosis import SpinDiagnosis, diagnose
from planner.steps.spin import foretold_for, spin_of

SLIP_KIND = {
    "not made": "not made",
    "other side": "other side",
    "neighbour": "neighbour",
    "tip": "depth counted",
    "other drill": "other drill",
    "no offset": "no offset",
}
BOBS = ("bob grams", "bob slides", "bob turns")
SETTINGS = ("swapped spot", "reversed direction", "swapped planes", "zero mark")
FAULTS = (
    "fine",
    *(f"{slip}, one" for slip in SLIPS),
    *(f"{slip}, all" for slip in SLIPS),
    *BOBS,
    "scale",
    *SETTINGS,
)
STANDARD = Errors(
    depth_mm=0.25,
    angle_deg=1.0,
    diameter_mm=0.05,
    reading_percent=1.5,
    reading_angle_deg=0.5,
    reading_absolute_gmm=5.0,
)
"""The program's own defaults of [errors]."""


def times(errors: Errors, factor: float) -> Errors:
    """All errors so many times as large."""
    return Errors(**{key: factor * value for key, value in vars(errors).items()})


@dataclass
class Case:
    """A job with its plan entered as made; ``shown`` is what the first spin showed."""

    name: str
    simulated: SimulatedJob
    job: Job
    steps: list[dict[str, Any]]
    shown: tuple[float, float, float, float]


@dataclass(frozen=True)
class History:
    """What happened and what was said; ``distance`` is how many standard deviations the fault lies from "fine"."""

    fault: str
    truth: tuple[str, ...]
    found: SpinDiagnosis
    distance: float

    @property
    def said(self) -> tuple[tuple[str, ...], ...]:
        """What fits, as (kind, which)."""
        return tuple(_named(each) for each in self.found.diagnosis.explanations)

    @property
    def alone(self) -> bool:
        """The truth and nothing else."""
        return self.said == (self.truth,)

    @property
    def listed(self) -> bool:
        """The truth is among what fits."""
        return self.truth in self.said

    @property
    def wrong_alone(self) -> bool:
        """One cause, and a wrong one."""
        return len(self.said) == 1 and self.said[0] not in (self.truth, ("fine",))


def _named(each: Any) -> tuple[str, ...]:
    if each.slip is not None:
        return (each.kind, *(str(place) for place in each.slip.cuts))
    if each.bob is not None:
        return ("bobs moved", each.bob.way, each.bob.throw)
    return (each.kind,)


def random_case(seed: int, folder: Path, *, errors: Errors, trim: bool = False) -> Case | None:
    """A random crankshaft with its first plan; ``trim``: a small rest and a tight limit.  None when nothing is cut."""
    simulated = random_job(seed, errors=errors)
    if trim:
        hidden = simulated.crankshaft.hidden
        simulated.crankshaft.hidden = [(z, 0.12 * vector) for z, vector in hidden]
        simulated.limit_gmm = 50.0
    shown = simulated.machine.shown(*simulated.crankshaft.in_planes(simulated.machine))
    path = simulated.write(folder)
    plan = checked("spin", path, *shown, "--bobs", simulated.crankshaft.bob_g)
    return _case(f"random {seed}", simulated, path, plan, shown)


def example_case(name: str, folder: Path, *, errors: Errors) -> Case | None:
    """An example with its plan, the errors written into its file."""
    simulated = example_job(name, errors=errors)
    shutil.copytree(EXAMPLES / name, folder / name)
    path = folder / name / "job.toml"
    text = path.read_text(encoding="utf-8").split("\n[[spins]]", 2)
    # a repeat of the first spin is left out: one reading, one error
    own = (
        f'\n[errors]\ndepth = "{errors.depth_mm} mm"\nangle = {errors.angle_deg}\n'
        f'diameter = "{errors.diameter_mm} mm"\nradius = "0 mm"\ndensity_percent = 0.0\nbob_mass = 0.0\n'
        f"reading_percent = {errors.reading_percent}\nreading_angle = {errors.reading_angle_deg}\n"
        f'reading_absolute = "{errors.reading_absolute_gmm} g*mm"\n'
    )
    path.write_text(text[0] + "\n[[spins]]" + text[1] + own, encoding="utf-8")
    plan = checked("plan", path)
    shown = simulated.machine.shown(*simulated.crankshaft.in_planes(simulated.machine))
    return _case(name, simulated, path, plan, shown)


def _case(
    name: str, simulated: SimulatedJob, path: Path, plan: dict[str, Any], shown: Sequence[float]
) -> Case | None:
    steps = plan["steps"]
    if not steps:
        return None
    checked("done", *(step["number"] for step in steps), "--job", path, "--unproved")
    left, left_deg, right, right_deg = shown
    job = load_job(path)
    if len(job.cuts_made) != len(steps):
        raise AssertionError(f"{name}: {len(job.cuts_made)} of {len(steps)} cuts were entered")
    return Case(name, simulated, job, steps, (left, left_deg, right, right_deg))


def cases(
    folder: Path, *, count: int, errors: Errors, examples: bool = True, trim: bool = False, first: int = 0
) -> Iterator[Case]:
    """Yield the examples and so many random crankshafts."""
    if examples and not trim:
        for name in NAMES:
            case = example_case(name, folder, errors=errors)
            if case is not None:
                yield case
    made, number = 0, first
    while made < count:
        # going round all ways of counting whatever the count
        case = random_case(13 * number, folder, errors=errors, trim=trim)
        number += 1
        if case is not None:
            made += 1
            yield case


def history(case: Case, fault: str, draw: random.Random) -> History | None:
    """One carrying out of a case's plan with that fault; None where it can't happen to it."""
    truth, prepared = _prepared(case, fault, draw)
    if prepared is None:
        return None
    exact = copy.deepcopy(prepared)
    exact.job.errors = Errors()
    found = _outcome(case, prepared, draw, noisy=True)
    expected = _outcome(case, exact, draw, noisy=False)
    if found is None or expected is None:
        return None
    return History(fault, truth, found, expected.diagnosis.fine.chi2**0.5)


@dataclass
class _Prepared:
    job: SimulatedJob
    slips: dict[int, str]
    by: str = "dial"
    share: float = 1.0
    grams: tuple[str, float] | None = None
    moved: tuple[str, float, float] | None = None


def _prepared(case: Case, fault: str, draw: random.Random) -> tuple[tuple[str, ...], _Prepared | None]:
    job = copy.deepcopy(case.simulated)
    job.draw = draw
    slip, _, how_many = fault.partition(", ")
    if how_many:
        places = range(len(case.steps))
        if how_many == "all" and len(case.steps) < 2:
            return (), None
        chosen = list(places) if how_many == "all" else [draw.choice(list(places))]
        truth = (SLIP_KIND[slip], *(str(place) for place in chosen))
        return truth, _Prepared(job, dict.fromkeys(chosen, slip))
    throw = draw.choice([t.name for t in job.crankshaft.throws])
    sign = draw.choice((-1.0, 1.0))
    if fault in ("bob grams", "bob 6 g"):
        grams = 6.0 if fault == "bob 6 g" else draw.uniform(6, 60)
        return ("bobs moved", "grams", throw), _Prepared(job, {}, grams=(throw, sign * grams))
    if fault == "bob slides":
        return ("bobs moved", "slides", throw), _Prepared(
            job, {}, moved=(throw, sign * draw.uniform(2, 12), 0)
        )
    if fault == "bob turns":
        return ("bobs moved", "turns", throw), _Prepared(
            job, {}, moved=(throw, 0, sign * draw.uniform(0.3, 3))
        )
    if fault == "scale":
        share = draw.choice((draw.uniform(0.6, 0.85), draw.uniform(1.18, 1.5)))
        return ("scale",), _Prepared(job, {}, share=share)
    m = job.machine
    changes: dict[str, dict[str, Any]] = {
        "swapped spot": {"marks": "light spot" if m.marks == "heavy spot" else "heavy spot"},
        "reversed direction": {"counts": "cw" if m.counts == "ccw" else "ccw"},
        "swapped planes": {
            "left_z_mm": m.right_z_mm,
            "right_z_mm": m.left_z_mm,
            "radii_mm": None if m.radii_mm is None else m.radii_mm,
        },
        "zero mark": {"zero_deg": m.zero_deg + sign * draw.uniform(15, 150)},
    }
    job.machine = m.changed(**changes.get(fault, {}))
    return (fault,), _Prepared(job, {}, by="dial" if fault == "fine" else "centre line")


def _outcome(case: Case, prepared: _Prepared, draw: random.Random, *, noisy: bool) -> SpinDiagnosis | None:
    job = prepared.job
    e = job.errors
    read = job.machine.read(case.shown)
    true = []
    for vector in read:
        # what it must have been to be read like this
        noise = (
            complex(draw.gauss(0, e.reading_absolute_gmm), draw.gauss(0, e.reading_absolute_gmm))
            if noisy
            else 0j
        )
        factor = (1.0 + draw.gauss(0, e.reading_percent / 100.0)) if noisy else 1.0
        turned = unit(draw.gauss(0, e.reading_angle_deg)) if noisy else 1.0
        true.append((vector - noise) / (factor * turned))
    job.crankshaft.hidden = [(job.machine.left_z_mm, true[0]), (job.machine.right_z_mm, true[1])]
    for place, step in enumerate(case.steps):
        slip = prepared.slips.get(place)
        if not job.carry_out(step, slip=slip, by=prepared.by, share=prepared.share):
            if slip is None:
                raise AssertionError(f"{case.name}: {step['cut']} on {step['counterweight']} finds no metal")
            return None
    if prepared.grams:
        job.bob_off(*prepared.grams)
    if prepared.moved:
        throw, rearward, around = prepared.moved
        job.bob_slid(throw, rearward_mm=rearward, around_mm=around)
    spin, _ = spin_of(case.job, _inner(case, job.spin(rounded=False)))
    return diagnose(case.job, spin, foretold_for(case.job, spin))


def _inner(case: Case, shown: Sequence[float]) -> tuple[float, float, float, float]:
    per = case.simulated.machine.unit_gmm
    return shown[0] * per, shown[1], shown[2] * per, shown[3]
