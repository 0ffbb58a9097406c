"""Sheets and records for tests: of the samples of plan_samples, of random answers, and of the examples.  All invented."""

from __future__ import annotations

import dataclasses
import functools
from pathlib import Path

import plan_samples

from geometry_profiles.shapes import fan
from planner.frames import ShaftAngle, SideReading
from planner.jobfile.job import Job, MadeCut
from planner.jobfile.read import load_job
from planner.machine.spin import Spin
from planner.quantity import UnitSystem
from planner.rotor.crankshaft import CUT_KINDS, Counterweight
from planner.steps.sheet import RecordAnswer, SheetAnswer, record_of, sheet_from, sheet_of

EXAMPLES = Path(__file__).parents[1] / "examples"
EXAMPLE_NAMES = ("cross_plane_v8", "external_balance_v8", "inline_three_light_spot")
INJECTION = "\"><script>alert('x')</script><img src=http://x.invalid/a.png onerror=alert(1)>&amp;`</style>"


@functools.cache
def example(name: str) -> SheetAnswer:
    """Return the sheet of an example; planned once, nothing is written."""
    job = load_job(EXAMPLES / name / "job.toml")
    return sheet_of(dataclasses.replace(job, stored_plan=None))


@functools.cache
def sample(name: str) -> SheetAnswer:
    """Return the sheet of a sample answer, or of a random one: ``random 3``."""
    if name.startswith("random "):
        return sheet_from(plan_samples.random_answer(int(name.split()[1])))
    return sheet_from(plan_samples.NAMED[name]())


def in_inches(told: SheetAnswer) -> SheetAnswer:
    """Return the same sheet for a job in inches and ounce-inches."""
    units = UnitSystem(length="in", mass="g", unbalance="oz*in")
    return sheet_from(dataclasses.replace(told.answer, job=dataclasses.replace(told.answer.job, units=units)))


def cut_job(name: str, *, spun: bool = True, share: float = 1.0) -> Job:
    """Return an example with its plan cut, and, if ``spun``, a second spin of ``share`` times what was foretold."""
    told = example(name).answer
    number = told.spin_number
    made = tuple(MadeCut(after_spin=number, cut=step.cut, step=step.number) for step in told.steps)
    job = dataclasses.replace(told.job, cuts_made=made)
    if not spun:
        return job
    last = job.spins[-1]
    left, right = (
        SideReading(amount=share * each.amount, angle_deg=each.angle_deg) for each in told.foretold
    )
    spin = Spin(left=left, right=right, bobs_g=last.bobs_g, mounted=last.mounted, speed_rpm=last.speed_rpm)
    return dataclasses.replace(job, spins=(*job.spins, spin))


@functools.cache
def record(name: str, *, spun: bool = True) -> RecordAnswer:
    """Return the record of an example after its plan was cut."""
    return record_of(cut_job(name, spun=spun))


def with_hostile_texts(answer: SheetAnswer) -> SheetAnswer:
    """Return a sheet whose every free text tries to break out of the page."""
    job = answer.answer.job
    details = dataclasses.replace(
        job.details,
        title=f"title {INJECTION}",
        customer=f"customer {INJECTION}",
        engine=f"engine {INJECTION}",
        crankshaft_number=f"number {INJECTION}",
        operator=f"operator {INJECTION}",
    )
    names = {each.name: f"{each.name} {INJECTION}" for each in job.crankshaft.counterweights}
    throws = {each.name: f"{each.name} {INJECTION}" for each in job.crankshaft.throws}
    counterweights = tuple(
        dataclasses.replace(each, name=names[each.name]) for each in job.crankshaft.counterweights
    )
    crank = dataclasses.replace(
        job.crankshaft,
        counterweights=counterweights,
        throws=tuple(dataclasses.replace(each, name=throws[each.name]) for each in job.crankshaft.throws),
    )
    spins = tuple(
        dataclasses.replace(
            spin,
            bobs_g={throws[name]: mass for name, mass in spin.bobs_g.items()},
            mounted=(f"damper {INJECTION}",),
        )
        for spin in job.spins
    )
    changed = dataclasses.replace(job, details=details, crankshaft=crank, spins=spins)
    cuts = [
        dataclasses.replace(step.cut, counterweight=names[step.cut.counterweight])
        for step in answer.answer.steps
    ]
    plan = plan_samples.answer_of(cuts, crank=crank)
    plan = dataclasses.replace(
        plan,
        job=changed,
        questions=(f"question {INJECTION}",),
        warnings=(f"warning {INJECTION}",),
        notes=(f"note {INJECTION}",),
    )
    return sheet_from(plan)


def crowded() -> SheetAnswer:
    """Return fourteen counterweights with names of forty letters in Latin, Greek and Cyrillic, and twelve cuts.

    Four of the cuts are slugs on one counterweight.
    """
    names = [
        "counterweight of the foremost throw no 1",
        "αντίβαρο του πρώτου στροφείου αριστερά 2",
        "противовес второй щеки коленчатого вала3",
        *(f"counterweight between bearings, place {n:02d}"[:40] for n in range(4, 15)),
    ]
    outline = fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0)
    weights = tuple(
        Counterweight(
            name=name,
            z_mm=30.0 + 35.0 * index,
            angle_deg=ShaftAngle((90.0 * index) % 360.0),
            thickness_mm=22.0,
            outline=outline,
            cuts=CUT_KINDS,
        )
        for index, name in enumerate(names)
    )
    cuts = [
        dataclasses.replace(
            plan_samples.slug(names[0], angle, radius_mm=70.0, diameter_mm=15.0), length_mm=22.0
        )
        for angle in (-36.0, -12.0, 12.0, 36.0)
    ]
    cuts += [plan_samples.rim(name, 90.0 * (index + 1)) for index, name in enumerate(names[1:9])]
    crank = plan_samples.crankshaft(counterweights=weights)
    return sheet_from(
        plan_samples.answer_of(
            cuts, crank=crank, title="A title of a job that goes on and on for a line or two"
        )
    )
