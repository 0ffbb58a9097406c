"""Spin: four numbers off the display, the heavy spot as a drawing while they are typed, and the yes that it is there."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

from starlette.responses import Response

from planner.bench.page import Call, Form, go, refused_on, show, show_part
from planner.bench.typed import with_point
from planner.errors import BobplanError, InputError, OpenQuestionError
from planner.jobfile.job import Job
from planner.jobfile.write import Entries
from planner.machine.spin import KnownMass, Spin
from planner.machine.unbalance import spin_vectors
from planner.present.drawings.live import end_view_svg
from planner.present.pages.plan import heavy_spot_lines
from planner.present.pages.spin import compared_words
from planner.present.pages.withheld import open_steps_words
from planner.present.words import (
    SPIN_CAUTIONS,
    convention_words,
    counting_words,
    zero_words,
)
from planner.steps.dialled import ensure_told
from planner.steps.done import dial_questions, made_as_planned
from planner.steps.reading_slips import asked_about
from planner.steps.spin import Foretold, bobs_known, foretold_for, spin_of
from planner.steps.typed_spin import four_numbers, read_bobs, refuse_raw

FIELDS = ("left_amount", "left_angle", "right_amount", "right_angle")
_WORDS = ("left amount", "left angle", "right amount", "right angle")


_LEAST_RPM = 30.0
"""No balancing machine spins a crankshaft slower (common practice): a point that parts thousands reads as one."""


@dataclass(frozen=True, kw_only=True)
class Look:
    """What four numbers mean, before they are entered.

    ``looked`` are the four numbers that the drawing was made from, ``missing`` names the boxes that are still empty; ``spots``
    are sentences, ``foretold`` how the reading compares with what was foretold; ``open_steps`` ask whether those cuts were
    made; ``questions`` have to be answered with a yes.
    """

    looked: str = ""
    missing: tuple[str, ...] = ()
    drawing: str = ""
    spots: tuple[str, ...] = ()
    foretold: tuple[str, ...] = ()
    open_steps: str = ""
    looks_cut: bool = False
    questions: tuple[str, ...] = ()
    error: BobplanError | None = None


def spin_page(call: Call, *, typed: Form | None = None, error: BobplanError | None = None) -> Response:
    """Return the part for entering a spin."""
    job = call.job()
    form = typed or Form()
    return show_part(
        call,
        "spin",
        job,
        error=error,
        typed=form,
        look=look_of(job, form),
        **spin_setting(job, form),
    )


def look(call: Call) -> Response:
    """Return what the numbers typed so far mean: asked for while they are typed."""
    job = call.job()
    return show(call, "spin_look", look=look_of(job, call.form), typed=call.form, job=job)


@refused_on(spin_page)
def enter_spin(call: Call) -> Response:
    """Enter a spin whose heavy spot was found where it is said to be, and go on to the cuts."""
    if call.form.get("act") == "look":  # Enter in a box says nothing about the heavy spot
        return spin_page(call, typed=call.form)
    _enter(call)
    return go(call.to("cut"))


def look_of(job: Job, form: Form) -> Look:
    """Return what was typed means; nothing is written."""
    missing = tuple(words for name, words in zip(FIELDS, _WORDS, strict=True) if not form.get(name))
    if missing:
        return Look(missing=missing, drawing=end_view_svg(job))
    try:
        spin, _ = typed_spin(job, form)
        seen_job, foretold = _with_made(job, spin, form)
        left, right = spin_vectors(spin, machine=job.machine)
        vectors = (complex(left), complex(right))
        return Look(
            looked=_looked(form),
            drawing=end_view_svg(job, vectors),
            spots=tuple(heavy_spot_lines(job, vectors)),
            foretold=() if foretold is None else tuple(compared_words(job, foretold)),
            open_steps="" if foretold is None or not foretold.open_steps else _open_words(foretold),
            looks_cut=foretold is not None and foretold.looks_cut,
            questions=tuple(asked_about(seen_job, spin, foretold).words),
        )
    except BobplanError as error:
        return Look(drawing=end_view_svg(job), error=error)


def _looked(form: Form) -> str:
    """Return what a yes is said to: the four numbers as typed."""
    return " | ".join(form.get(name) for name in FIELDS)


def _enter(call: Call) -> None:
    form, job = call.form, call.job_as_seen()
    spin, _ = typed_spin(job, form)
    made = made_as_planned(job) if form.get("cut") == "yes" else ()
    dials = dial_questions(job, made)
    if dials:
        raise OpenQuestionError("; ".join(dials), hint="enter each of these cuts as it was made, under Cut")
    after, foretold = _with_made(job, spin, form)
    if foretold is not None and foretold.open_steps and form.get("cut") not in ("yes", "no"):
        raise OpenQuestionError(
            f"{_open_words(foretold)}: were they cut?", hint="say yes or no below the four numbers"
        )
    questions = asked_about(after, spin, foretold).words
    if questions and form.get("as_read") != "yes":
        raise OpenQuestionError(
            "; ".join(questions), hint="if the numbers are right as typed, say so below them"
        )
    if form.get("there") != "yes":
        raise OpenQuestionError(
            "is the heavy spot there?", hint="turn the crankshaft by hand and look; nothing was entered"
        )
    if form.get("looked") != _looked(form):
        raise OpenQuestionError(
            "the numbers are others than those that the drawing was made from",
            hint="look again: the drawing is of these numbers now; nothing was entered",
        )
    asked = bool(questions) or (foretold is not None and foretold.looks_cut)
    new = dataclasses.replace(spin, spot_seen=True, as_read=asked)
    call.enter(job, Entries(made=made, spins=(new,)))


def typed_spin(job: Job, form: Form, *, known_mass: KnownMass | None = None) -> tuple[Spin, tuple[str, ...]]:
    """Return the spin that was typed, and what it takes from the spin before; ``known_mass`` is what was put on for it.

    Raises
    ------
    InputError
        If a box can't be read, or what was clamped on is not known.
    """
    amounts_like = "likely" if job.display_units.unit_of("unbalance") in ("g*mm", "g*cm") else "absurd"
    texts = [
        with_point(form.get(name), name=words, thousands=amounts_like if "amount" in name else "absurd")  # type: ignore[arg-type]
        for name, words in zip(FIELDS, _WORDS, strict=True)
    ]
    values = four_numbers(texts, job)
    refuse_raw(texts, values, job)
    bobs = form.get("bobs")
    bobs = bobs if "=" in bobs else with_point(bobs, name="bobs", thousands="likely")
    if not bobs and not bobs_known(job):
        raise InputError(
            "which bobs were clamped on is not known yet", hint="type them, or 0 for a bare crankshaft"
        )
    speed = form.get("speed")
    spin, taken = spin_of(
        job,
        values,
        bobs_g=read_bobs(bobs, job) if bobs else None,
        mounted=form.all("mounted") if "mounted_asked" in form else None,
        repeat=form.get("repeat") == "yes",
        speed_rpm=_speed(speed) if speed else None,
        known_mass=known_mass,
    )
    return spin, tuple(taken)


def _speed(text: str) -> float:
    from planner.quantity import finite_number

    speed = finite_number(with_point(text, name="speed", thousands="likely"), what="speed")
    if speed < _LEAST_RPM:
        raise InputError(
            f"speed: given `{text}`, at least {_LEAST_RPM:g} rpm is needed",
            hint="leave it empty if it is not known",
        )
    return speed


def _with_made(job: Job, spin: Spin, form: Form) -> tuple[Job, Foretold | None]:
    """Return the job with the open cuts made where that was said, and what was foretold for this spin."""
    if form.get("repeat") == "yes":
        return job, None
    if form.get("cut") == "yes":
        job = dataclasses.replace(job, cuts_made=(*job.cuts_made, *made_as_planned(job)))
    try:
        ensure_told(job)
        return job, foretold_for(job, spin)
    except OpenQuestionError:
        return job, None


def _open_words(foretold: Foretold) -> str:
    return open_steps_words(foretold.open_steps, foretold.before_spin)


def spin_setting(job: Job, form: Form) -> dict[str, Any]:
    """Return what stands beside the four boxes: unit, convention, bobs, mounted parts."""
    newest = job.spins[-1] if job.spins else None
    on = form.all("mounted") if "mounted_asked" in form else (newest.mounted if newest is not None else ())
    if newest is None and "mounted_asked" not in form:
        on = tuple(part.name for part in job.mounted if part.built_with)
    wanted = sorted(set((job.bobs_wanted_g or {}).values()))
    return {
        "unit": job.display_unit,
        "convention": convention_words(job.machine),
        "counting": f"The numbers grow {counting_words(job.machine)}, zero at {zero_words(job)}.",
        "marks": job.machine.marks,
        "bobs_known": bobs_known(job),
        "bobs_before": _bobs_before(job),
        "bobs_wanted": [job.units.text(mass, "mass") for mass in (wanted[:1] + wanted[1:][-1:])],
        "mounted": [(part.name, part.name in on) for part in job.mounted],
        "number": len(job.spins) + 1,
        "has_spin": newest is not None and newest.known_mass is None,
        "cautions": SPIN_CAUTIONS,
    }


def _bobs_before(job: Job) -> str:
    from planner.steps.spin import bob_words

    spins = [spin for spin in job.spins if spin.known_mass is None]
    return bob_words(job, spins[-1].bobs_g) if spins else ""
