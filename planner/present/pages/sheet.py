"""What stands on the sheets, as plain texts without a layout: the PDF and the HTML are made from the same records."""

from __future__ import annotations

from dataclasses import dataclass

from planner.correction.problem import PlanOutcome
from planner.jobfile.job import Job
from planner.present.numbers import plural
from planner.present.pages import sheet_words as words
from planner.present.pages.bob_card import Block
from planner.present.pages.plan import nothing_to_cut_words
from planner.present.pages.prove import unproved_words
from planner.present.pages.sheet_blocks import blocks_of
from planner.present.pages.ways_out import nothing_fits_lines
from planner.present.words import CAUTIONS, centre_words, convention_words
from planner.steps.plan_answer import PlanAnswer, PlanStep
from planner.steps.sheet import SheetAnswer, newest_spin
from planner.steps.trial import spin_words


@dataclass(frozen=True, kw_only=True)
class Fact:
    """A line of the head."""

    label: str
    text: str


@dataclass(frozen=True, kw_only=True)
class CutCard:
    """One cut as the operator reads it at arm's length.

    ``dial``, ``stop``, ``counterweight`` and ``drill`` are the big words; ``stop_64th`` is empty unless lengths are in
    inches; ``stop_note`` says what the stop is counted to; ``enter`` is the command that records the cut.
    """

    number: int
    counterweight: str
    cut: str
    dial: str
    place: str
    drill: str
    stop: str
    stop_64th: str
    stop_note: str
    first_pass: str
    pinned: bool


@dataclass(frozen=True, kw_only=True)
class SheetContent:
    """The shop sheet in words.

    ``cuts_head`` is the line above the cuts, or the answer when there are none; ``why`` explains a no; ``attention`` are
    questions and warnings; ``next_reading`` has one text per plane, empty when nothing is to be cut.
    """

    title: str
    facts: tuple[Fact, ...]
    convention: str
    cuts_head: str
    why: tuple[str, ...]
    cards: tuple[CutCard, ...]
    metal: str
    next_reading: tuple[tuple[str, str], ...]
    next_note: str
    verdict: str
    verdict_rows: tuple[str, ...]
    attention: tuple[str, ...]
    enter_hint: str
    blocks: tuple[Block, ...]
    cautions: tuple[str, ...] = CAUTIONS


def sheet_content(sheet: SheetAnswer) -> SheetContent:
    """Return the shop sheet in words."""
    answer = sheet.answer
    job = answer.job
    metal = ", ".join(_metal(answer))
    first = answer.steps[0].number if answer.steps else 1
    return SheetContent(
        title=job.details.title or "Correction plan",
        facts=facts_of(sheet),
        convention=f"{convention_words(job.machine)}"[:1].upper() + convention_words(job.machine)[1:],
        cuts_head=_cuts_head(answer),
        why=_why(answer.outcome) if not answer.steps else (),
        cards=tuple(card_of(step, answer) for step in answer.steps),
        metal=metal[:1].upper() + metal[1:],
        next_reading=tuple(
            (side, words.displayed(job, reading))
            for side, reading in zip(words.SIDES, answer.foretold, strict=True)
        )
        if answer.steps
        else (),
        next_note="with the same bobs and parts on",
        verdict=f"{'With this plan' if answer.steps else 'As it stands'}: {answer.verdict}",
        verdict_rows=_verdict_rows(sheet),
        attention=(*_unproved(job), *(f"Question: {text}" for text in answer.questions), *answer.warnings),
        enter_hint=f"Cut as planned: `bobplan done {first}`. Turned out differently: "
        f"`bobplan done {first} --depth .. --angle ..`; what is left is planned again."
        if answer.steps
        else "",
        blocks=blocks_of(sheet),
    )


def facts_of(sheet: SheetAnswer) -> tuple[Fact, ...]:
    """Return the lines of the head; what the file does not say is left out."""
    answer, check = sheet.answer, sheet.check
    job, details, spin = answer.job, answer.job.details, newest_spin(answer)
    speed = "" if spin.speed_rpm is None else f", at {spin.speed_rpm:g} rpm"
    pairs = [
        ("Date", details.date.isoformat() if details.date else ""),
        ("Customer", details.customer),
        ("Engine", details.engine or (job.engine.layout or "")),
        ("Crankshaft", details.crankshaft_number),
        ("Operator", details.operator),
        ("Spin", words.spin_of(check) + speed),
        ("Bobs on", words.bobs_on(job, answer.spin_number - 1)),
        ("Mounted", ", ".join(spin.mounted)),
        ("Limit", words.limit(check)),
        ("", words.limits_in_amounts(check)),
        ("Grade now", words.grade(check.grade)),
        ("Grade after", words.grade(sheet.grade_after) if answer.steps else ""),
    ]
    return tuple(Fact(label=label, text=text) for label, text in pairs if text)


def card_of(step: PlanStep, answer: PlanAnswer) -> CutCard:
    """Return a step as a card."""
    job = answer.job
    stop, stop_64th, note = words.stop_words(step, job)
    from planner.present.numbers import degrees

    return CutCard(
        number=step.number,
        counterweight=step.cut.counterweight,
        cut=words.kind_and_radius(step, job),
        dial=f"{degrees(step.dial_deg)}°",
        place=centre_words(step, job),
        drill=words.drill(step, job),
        stop=stop,
        stop_64th=stop_64th,
        stop_note=note,
        first_pass=words.first_pass(step, job),
        pinned=step.pinned,
    )


def _cuts_head(answer: PlanAnswer) -> str:
    if answer.steps:
        since = f" ({plural(len(answer.made), 'cut')} made since the spin)" if answer.made else ""
        left = " left" if answer.made else ""
        return f"{plural(len(answer.steps), 'cut')}{left} for {spin_words(answer.spin_number)}, in this order{since}"
    if answer.outcome.feasible:
        return nothing_to_cut_words(answer)
    if answer.nothing_fits is not None:
        return " ".join(nothing_fits_lines(answer.job, answer.nothing_fits))
    if answer.outcome.certificate is not None:
        return "NO PLAN IS POSSIBLE with the cuts allowed (proven)."
    return "NO PLAN WAS FOUND; that there is none is not proven."


def _why(outcome: PlanOutcome) -> tuple[str, ...]:
    lines = [outcome.certificate.text] if outcome.certificate is not None else []
    if outcome.best_effort:
        lines.append(
            f"The best cuts found ({plural(len(outcome.best_effort), 'cut')}) would not reach the limits."
        )
    return tuple(lines)


def _metal(answer: PlanAnswer) -> list[str]:
    from planner.steps.sheet import metal_of

    units = answer.job.units
    metal = metal_of([(step.cut, step.effect) for step in answer.steps])
    texts = [f"{units.text(metal.drilled_g, 'mass')} to drill off"] if metal.drilled_g > 0.0 else []
    if metal.slugs_g > 0.0:
        texts.append(
            f"{units.text(metal.slugs_g, 'mass')} heavy metal in, {units.text(metal.bored_g, 'mass')} bored for it"
        )
    return texts


def _verdict_rows(sheet: SheetAnswer) -> tuple[str, ...]:
    from planner.present.pages.chances import chances_words

    answer, job = sheet.answer, sheet.answer.job
    rows = [
        f"{place.at}: {words.judged(job, place.at, place.amount_gmm)} of "
        f"{words.judged(job, place.at, place.tolerance_gmm)} "
        f"({place.amount_gmm / place.tolerance_gmm:.0%})"
        for place in answer.judged
    ]
    if answer.chances is not None:
        rows.append(f"chances: {chances_words(answer.chances)}")
    return tuple(rows)


def _unproved(job: Job) -> tuple[str, ...]:
    """Return the line about settings that are not proved; nothing when all are."""
    words = unproved_words(job)
    return () if words is None else (f"{words}.",)
