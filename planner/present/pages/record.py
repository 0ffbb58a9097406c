"""The customer's record in words: what came in, what was done, what it reached, against which limit."""

from __future__ import annotations

from dataclasses import dataclass

from planner.present.numbers import plural
from planner.present.pages import sheet_words as words
from planner.present.pages.bob_card import Block, bob_card, without_empty_columns
from planner.present.pages.check import error_words
from planner.present.pages.prove import proved_words
from planner.present.pages.sheet import Fact
from planner.present.pages.sheet_blocks import cuts_made
from planner.steps.sheet import Metal, RecordAnswer

RESERVE = (
    "The figures hold for the parts, bobs and mounted parts named here; other pistons, rods, damper or flywheel change "
    "the balance. The engine maker's limits stand above this record."
)


@dataclass(frozen=True, kw_only=True)
class Bar:
    """An unbalance before or after, against its limit [g*mm], with its text."""

    place: str
    when: str
    amount_gmm: float
    limit_gmm: float
    text: str


@dataclass(frozen=True, kw_only=True)
class RecordContent:
    """The customer's record in words."""

    title: str
    facts: tuple[Fact, ...]
    verdict: str
    state: str
    limit: str
    results: Block
    bars: tuple[Bar, ...]
    metal: tuple[str, ...]
    cuts: Block | None
    bobs: Block | None
    bobs_short: Block | None
    on: str
    signatures: tuple[str, ...]
    reserve: str = RESERVE


def record_content(record: RecordAnswer) -> RecordContent:
    """Return the customer's record in words."""
    job, check = record.job, record.check
    details = job.details
    facts = [
        ("Job", details.title),
        ("Customer", details.customer),
        ("Engine", details.engine or (job.engine.layout or "")),
        ("Crankshaft", details.crankshaft_number),
        ("Date", details.date.isoformat() if details.date else ""),
        ("Operator", details.operator),
    ]
    spin_index = check.posed.spin_number - 1
    spin = job.spins[spin_index]
    on = [f"Bobs on: {words.bobs_on(job, spin_index)}"]
    if spin.mounted:
        on.append(f"mounted: {', '.join(spin.mounted)}")
    if spin.speed_rpm is not None:
        on.append(f"balancing speed {spin.speed_rpm:g} rpm")
    bobs = bob_card(record.bobs, job, None)
    return RecordContent(
        title="Balancing record",
        facts=tuple(Fact(label=label, text=text) for label, text in facts if text),
        verdict=check.verdict if check.measured else f"{check.verdict}, foretold",
        state=_state(record),
        limit=words.limit(check),
        results=_results(record),
        bars=_bars(record),
        metal=metal_lines(record.metal, record),
        cuts=cuts_made(job),
        bobs=bobs,
        bobs_short=None
        if bobs is None
        else Block(
            title=bobs.title,
            table=without_empty_columns([row for row in bobs.table if _is_sum(row, bobs)]),
        ),
        on=f"{', '.join(on)}. {proved_words(job)}",
        signatures=("Balanced by, date", "Received by, date"),
    )


def metal_lines(metal: Metal, record: RecordAnswer) -> tuple[str, ...]:
    """Return what went off and in."""
    units = record.job.units
    steps = record.picture.steps
    slugs = sum(step.effect.slug_mass_g is not None for step in steps)
    # a hole drilled deeper is one hole
    holes = sum(step.effect.slug_mass_g is None and step.hole in ("", "the old hole") for step in steps)
    if not steps:
        return ("No metal was taken off or put in.",)
    lines = []
    if holes:
        lines.append(f"Metal out: {units.text(metal.drilled_g, 'mass')} in {plural(holes, 'hole')}.")
    if slugs:
        bored = f" ({units.text(metal.bored_g, 'mass')} bored for it)" if metal.bored_g > 0.0 else ""
        lines.append(
            f"Heavy metal in: {units.text(metal.slugs_g, 'mass')} in {plural(slugs, 'slug')}{bored}."
        )
    else:
        lines.append("No heavy metal was put in.")
    return tuple(lines)


def _is_sum(row: tuple[str, ...], bobs: Block) -> bool:
    return row == bobs.table[0] or row[0] == "bob wanted"


def _state(record: RecordAnswer) -> str:
    check = record.check
    if not check.measured:
        return "After the cuts made, foretold and not yet measured"
    after = "after correction" if record.is_cut else "as received"
    return f"Measured {after}, {words.spin_of(check)}; measurement error {error_words(check)}"


def _results(record: RecordAnswer) -> Block:
    """Return before and after; one column when nothing was cut."""
    job, check = record.job, record.check
    title, names = ("Before and after", ("before", "after")) if record.is_cut else ("As it stands", ("now",))
    rows: list[tuple[str, ...]] = [("place", *names, "limit", f"{names[-1]}, at the rim", "verdict")]
    for first, place, rim in zip(record.before, check.judged, check.at_radius, strict=True):
        amounts = (first.amount_gmm, place.amount_gmm) if record.is_cut else (place.amount_gmm,)
        rows.append(
            (
                place.at,
                *(words.judged(job, place.at, amount_gmm) for amount_gmm in amounts),
                words.judged(job, place.at, place.tolerance_gmm),
                words.at_radius(job, rim),
                place.verdict,
            )
        )
    if record.before_grade is not None and check.grade is not None:
        aimed = f"G {check.spec.grade_mm_per_s:g}" if check.spec.grade_mm_per_s is not None else ""
        grades = (record.before_grade, check.grade) if record.is_cut else (check.grade,)
        rows.append(("grade", *(words.grade(each) for each in grades), aimed, "", ""))
    return Block(title=title, table=tuple(rows))


def _bars(record: RecordAnswer) -> tuple[Bar, ...]:
    job = record.job
    bars = []
    for first, place in zip(record.before, record.check.judged, strict=True):
        pairs = [("before", first.amount_gmm)] if record.is_cut else []
        for when, amount_gmm in (*pairs, ("after" if record.is_cut else "now", place.amount_gmm)):
            bars.append(
                Bar(
                    place=place.at,
                    when=when,
                    amount_gmm=amount_gmm,
                    limit_gmm=place.tolerance_gmm,
                    text=f"{when}: {words.judged(job, place.at, amount_gmm)}",
                )
            )
    return tuple(bars)
