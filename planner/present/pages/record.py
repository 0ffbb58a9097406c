"""The customer's record in words: what came in, what was done, what it reached, against which limit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.cuts.cut import MetalMoved
from planner.jobfile.job import Job, ShopDetails
from planner.present.document import Block, block, lines, table
from planner.present.drawings.before_after import Bar, bars_height_in, plot_before_after
from planner.present.drawings.picture import Picture
from planner.present.drawings.place import own_axes
from planner.present.logo import Logo, logo_of
from planner.present.pages import sheet_words as words
from planner.present.pages.bob_card import bob_card, parts_by_cylinder
from planner.present.pages.check import error_words, state_words
from planner.present.pages.prove import proved_words
from planner.present.pages.sheet import (
    Fact,
    counterweight_pictures,
    job_facts,
    key_picture,
    overview_picture,
    said_facts,
    sentence,
)
from planner.present.pages.sheet_blocks import cuts_made
from planner.present.words import convention_words, degrees, dial_words, plural
from planner.records import dataclass
from planner.steps.sheet import RecordAnswer

if TYPE_CHECKING:
    from matplotlib.axes import Axes

RESERVE = (
    "The figures hold for the parts, bobs and mounted parts named here; other pistons, rods, damper or flywheel change "
    "the balance. The engine maker's limits stand above this record."
)


@dataclass(frozen=True, kw_only=True)
class RecordContent:
    """The customer's record: words and drawings without a layout.  Everything that was made stands on it."""

    title: str
    shop: ShopDetails
    logo: Logo | None
    facts: tuple[Fact, ...]
    verdict: str
    good: bool
    state: str
    wanted: tuple[str, ...]
    results: Block
    readings: Block
    bars: Picture
    metal: tuple[str, ...]
    cuts: Block | None
    overview: Picture
    counterweights: tuple[Picture, ...]
    key: Picture | None
    bobs: Block | None
    parts: Block | None
    mounted: Block | None
    on: str
    numbers: str
    signatures: tuple[str, ...]
    reserve: str = RESERVE


def record_content(record: RecordAnswer) -> RecordContent:
    """Return the customer's record in words and drawings.

    Raises
    ------
    InputError
        If the shop's logo can't be read.
    """
    job, check = record.job, record.check
    spin_index = check.posed.spin_number - 1
    spin = job.spins[spin_index]
    on = [f"Bobs on: {words.bobs_on(job, spin_index)}"]
    wanted = words.bobs_wanted(job, spin_index)
    if wanted:
        on.append(f"bobs wanted: {wanted}")
    if spin.mounted:
        on.append(f"mounted: {', '.join(spin.mounted)}")
    if spin.speed_rpm is not None:
        on.append(f"balancing speed {spin.speed_rpm:g} rpm")
    return RecordContent(
        title="Balancing record",
        shop=job.shop_details,
        logo=logo_of(job),
        facts=said_facts(
            *job_facts(job), ("Operator", job.details.operator), ("Machine", convention_words(job.machine))
        ),
        verdict=sentence(check.verdict if check.measured else f"{check.verdict}, foretold"),
        good=check.verdict == "in tolerance",
        state=_state(record),
        wanted=_wanted(record),
        results=_results(record),
        readings=_readings(record),
        bars=_bars_picture(_bars(record)),
        metal=metal_lines(record.metal, record),
        cuts=cuts_made(job, with_metal=True),
        overview=overview_picture(record.picture, made=True),
        counterweights=counterweight_pictures(record.picture),
        key=key_picture(record.picture, made=True),
        bobs=bob_card(record.bobs, job, None),
        parts=parts_by_cylinder(job),
        mounted=_mounted(job),
        on=f"{', '.join(on)}. {proved_words(job)}",
        numbers=f"Dial numbers are those set at the drill, display numbers those read off the machine: {dial_words(job)}.",
        signatures=("Balanced by, date", "Received by, date"),
    )


def _wanted(record: RecordAnswer) -> tuple[str, ...]:
    """Return the limit as the builder stated it, and what it comes to in his unit."""
    check = record.check
    lines = [f"Limit: {words.limit(check)}.", f"That is {words.limits_in_amounts(check)}."]
    if check.grade is not None:
        lines.append(f"Balance grade reached: {words.grade(check.grade)}.")
    return tuple(lines)


def _readings(record: RecordAnswer) -> Block:
    """Return the first and the last reading as the display showed them."""
    job = record.job
    last = record.check.posed.spin_number
    read = [
        number
        for number, spin in enumerate(job.spins, start=1)
        if spin.known_mass is None and not spin.from_trials
    ]
    first = read[0] if read else last
    called = {last: "the only one"} if first == last else {first: "first", last: "last"}
    rows = [
        (f"{what}, spin {number}", *(words.displayed(job, each) for each in job.spins[number - 1].shown))
        for number, what in called.items()
    ]
    return block("Readings", table(("reading", "left", "right"), rows), lines(f"{words.display_words(job)}."))


def _mounted(job: Job) -> Block | None:
    """Return the parts that carry unbalance of their own."""
    if not job.mounted:
        return None
    rows = [
        (
            part.name,
            words.amount(job, part.unbalance_gmm),
            degrees(job.machine.reading_angle_deg(part.angle_deg)),
            "yes" if part.in_engine else "no",
        )
        for part in job.mounted
    ]
    return block("Mounted parts", table(("part", "carries", "at display number", "in the engine"), rows))


def _bars_picture(bars: tuple[Bar, ...]) -> Picture:
    def draw(width_in: float) -> Axes:
        high_in = bars_height_in(bars)
        ax = own_axes(width_in, high_in + 0.1, top_in=0.05, bottom_in=0.05)
        return plot_before_after(bars, ax=ax, width_in=width_in - 0.24, height_in=high_in)

    return Picture(
        name="bars",
        title="Before and after against the limit",
        says="; ".join(f"{bar.place}, {bar.text}" for bar in bars),
        size="full",
        draw=draw,
    )


def metal_lines(metal: MetalMoved, record: RecordAnswer) -> tuple[str, ...]:
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


def _state(record: RecordAnswer) -> str:
    check = record.check
    if not check.measured:
        return "After the cuts made, foretold and not yet measured"
    after = "after correction" if record.is_cut else "as received"
    return f"Measured {after}, {state_words(check)}; measurement error {error_words(check)}"


def _results(record: RecordAnswer) -> Block:
    """Return before and after; one column when nothing was cut."""
    job, check = record.job, record.check
    title, names = ("Before and after", ("before", "after")) if record.is_cut else ("As it stands", ("now",))
    rows: list[tuple[str, ...]] = []
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
    return block(title, table(("place", *names, "limit", f"{names[-1]}, at the rim", "verdict"), rows))


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
