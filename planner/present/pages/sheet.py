"""The shop sheet as words and drawings without a layout: paper and HTML are painted from the same record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from planner.correction.problem import PlanOutcome
from planner.cuts.cut import metal_moved
from planner.frames import SIDES, Side
from planner.jobfile.job import Job
from planner.present.document import Block
from planner.present.drawings import convention, under_drill
from planner.present.drawings.counterweight import head_of, labels_height_in, plot_counterweight
from planner.present.drawings.picture import Picture
from planner.present.drawings.place import head_height_in, own_axes
from planner.present.drawings.plan import draw_key, key_looks, key_of, touched_counterweights
from planner.present.drawings.side import NOTE_IN, TITLE_IN, overview_height_in, plot_side_view
from planner.present.drawings.vectors import plot_plane_vectors, vector_labels_in, words_below_in
from planner.present.drawings.words import vector_words, view_words
from planner.present.pages import sheet_words as words
from planner.present.pages.check import state_words
from planner.present.pages.plan import nothing_to_cut_words
from planner.present.pages.prove import unproved_words
from planner.present.pages.sheet_blocks import blocks_of
from planner.present.pages.ways_out import nothing_fits_lines
from planner.present.words import (
    CAUTIONS,
    centre_words,
    chance_words,
    convention_words,
    counting_words,
    degrees,
    depth_words,
    dial_words,
    drill_words,
    how_words,
    kept_words,
    percent,
    plural,
    printed,
    rear_is_left,
    reference_of,
    row_words,
    zero_words,
)
from planner.records import dataclass
from planner.rotor.crankshaft import FILLS, Counterweight
from planner.steps.plan_answer import PlanAnswer, PlanStep
from planner.steps.sheet import SheetAnswer, newest_spin
from planner.steps.trial import spin_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_MANY = 5
"""From so many cuts on a diagram of their vectors takes the whole width."""

_FULL = 3
"""From so many cuts on a counterweight's drawing takes the whole width."""


@dataclass(frozen=True, kw_only=True)
class Fact:
    """A line of the head."""

    label: str
    text: str


def said_facts(*pairs: tuple[str, str]) -> tuple[Fact, ...]:
    """Return the lines of a head that say something."""
    return tuple(Fact(label=label, text=text) for label, text in pairs if text)


def job_facts(job: Job) -> tuple[tuple[str, str], ...]:
    """Return what the head of a customer's paper says of the job."""
    details = job.details
    return (
        ("Job", details.title),
        ("Customer", details.customer),
        ("Engine", details.engine or job.engine.layout or ""),
        ("Crankshaft", details.crankshaft_number),
        ("Date", details.date.isoformat() if details.date else ""),
    )


@dataclass(frozen=True, kw_only=True)
class BigNumber:
    """A number to set: what it is, the number itself, its unit, the same otherwise (a fraction), what it is counted to.

    ``words`` stands in its place where there is nothing to set ("through", "nothing to drill").
    """

    label: str
    value: str = ""
    unit: str = ""
    other: str = ""
    note: str = ""
    words: str = ""


@dataclass(frozen=True, kw_only=True)
class CutCard:
    """One cut as the operator reads it from two metres away.

    ``numbers`` are what is set, in the order of setting; ``tool`` is the drill, or the bore for a slug; ``way`` is where the
    hole lies from ``reference`` (the centre line, or a mark) as drawn: ``left``, ``right`` or ``on``; ``way_words`` says how
    far; ``notes`` are in smaller print; ``enter`` is the command that records the cut.
    """

    number: int
    label: str
    counterweight: str
    cut: str
    tool: str
    stands: str
    tool_note: str
    numbers: tuple[BigNumber, ...]
    way: Literal["left", "right", "on"]
    reference: str
    way_words: tuple[str, ...]
    notes: tuple[str, ...]
    pinned: bool
    has_depth: bool
    enter: str
    picture_words: str
    picture: Picture


@dataclass(frozen=True, kw_only=True)
class Reading:
    """What the display should show in one plane."""

    side: str
    amount: str
    angle: str


@dataclass(frozen=True, kw_only=True)
class SheetContent:
    """The shop sheet: words and drawings without a layout.

    ``cuts_head`` is the line above the cuts, or the answer when there are none; ``why`` explains a no; ``verdict`` says the
    verdict with its chance in one sentence; ``attention`` are questions and warnings; ``next_reading`` has one entry per
    plane, empty when nothing is to be cut; ``numbers`` says what dial and display numbers are.
    """

    title: str
    spin: str
    facts: tuple[Fact, ...]
    convention: str
    numbers: str
    cuts_head: str
    why: tuple[str, ...]
    verdict: str
    verdict_rows: tuple[str, ...]
    cards: tuple[CutCard, ...]
    metal: str
    next_note: str
    next_reading: tuple[Reading, ...]
    attention: tuple[str, ...]
    enter_hint: str
    cautions: tuple[str, ...]
    counting: Picture
    overview: Picture
    counterweights: tuple[Picture, ...]
    key: Picture | None
    vectors: tuple[Picture, ...]
    blocks: tuple[Block, ...]


def sheet_content(sheet: SheetAnswer) -> SheetContent:
    """Return the shop sheet in words and drawings."""
    answer = sheet.answer
    job = answer.job
    unproved = unproved_words(job)
    first = answer.steps[0].number if answer.steps else 1
    return SheetContent(
        title=job.details.title or "Correction plan",
        spin=spin_words(answer.spin_number),
        facts=facts_of(sheet),
        convention=sentence(convention_words(job.machine)),
        numbers=f"Dial numbers are set at the drill, display numbers are read off the machine: {dial_words(job)}.",
        cuts_head=_cuts_head(answer),
        why=_why(answer.outcome) if not answer.steps else (),
        verdict=_verdict(sheet),
        verdict_rows=tuple(
            f"{place.at}: {printed(kept_words(job, place))} ({percent(place.share)})"
            for place in answer.judged
        ),
        cards=tuple(card_of(step, answer) for step in answer.steps),
        metal=sentence(", ".join(_metal(answer))),
        next_note=f"the display after these cuts, with the same on as for {spin_words(answer.spin_number)} "
        f"({words.bobs_on(job, answer.spin_number - 1)})",
        next_reading=tuple(
            Reading(
                side=side,
                amount=words.displayed_amount(job, side, reading),
                angle=degrees(reading.angle_deg),
            )
            for side, reading in answer.foretold.items()
        )
        if answer.steps
        else (),
        attention=(
            *(() if unproved is None else (f"{unproved}.",)),
            *(f"Question: {text}" for text in answer.questions),
            *answer.warnings,
        ),
        enter_hint=f"Cut as planned: `bobplan done {first}`. Turned out differently: "
        f"`bobplan done {first} --depth .. --angle ..`; what is left is planned again."
        if answer.steps
        else "",
        cautions=CAUTIONS,
        counting=counting_picture(job),
        overview=overview_picture(answer),
        counterweights=counterweight_pictures(answer),
        key=key_picture(answer),
        vectors=vector_pictures(answer),
        blocks=blocks_of(sheet),
    )


def facts_of(sheet: SheetAnswer) -> tuple[Fact, ...]:
    """Return the lines of the head; what the file does not say is left out."""
    answer, check = sheet.answer, sheet.check
    job, details, spin = answer.job, answer.job.details, newest_spin(answer)
    speed = "" if spin.speed_rpm is None else f", at {spin.speed_rpm:g} rpm"
    return said_facts(
        ("Date", details.date.isoformat() if details.date else ""),
        ("Customer", details.customer),
        ("Engine", details.engine or (job.engine.layout or "")),
        ("Crankshaft", details.crankshaft_number),
        ("Operator", details.operator),
        ("Spin", state_words(check) + speed),
        ("Bobs on", words.bobs_on(job, answer.spin_number - 1)),
        ("Bobs wanted", words.bobs_wanted(job, answer.spin_number - 1)),
        ("Mounted", ", ".join(spin.mounted)),
        ("Limit", words.limit(check)),
        ("", words.limits_in_amounts(check)),
        ("Grade now", words.grade(check.grade)),
        ("Grade after", words.grade(sheet.grade_after) if answer.steps else ""),
    )


def card_of(step: PlanStep, answer: PlanAnswer) -> CutCard:
    """Return a step as a card."""
    job = answer.job
    cut = step.cut
    tool, tool_note = words.tool(step, job)
    view = job.machine.viewed_from
    way = words.way(step, job)
    at = degrees(step.dial_deg)
    return CutCard(
        number=step.number,
        label=step.label,
        counterweight=cut.counterweight,
        cut=f"{step.hole}, {how_words(cut)}" if cut.deepens else cut.kind,
        tool=tool,
        stands="the middle of the cut, as it stands when it is set"
        if cut.on_rim
        else "the hole, as it stands at the drill",
        tool_note=tool_note,
        numbers=_numbers(step, job),
        way=way,
        reference=reference_of(step)[0],
        way_words=_way_words(step, job),
        notes=words.card_notes(step, job),
        pinned=step.pinned,
        has_depth=cut.drilled_mm is not None,
        enter=f"bobplan done {step.label}",
        picture_words=f"seen from the {view}, as it stands at dial {at}",
        picture=Picture(
            name=f"card-{step.label}",
            title=f"Counterweight {cut.counterweight} under the drill, seen from the {view}",
            says=f"At dial {at} the {'middle' if cut.on_rim else 'hole'} of cut {step.label} faces the drill at the top; "
            f"{' '.join(_way_words(step, job))}.",
            size="card",
            draw=lambda width_in: _draw_card(answer, step, width_in),
        ),
    )


def _numbers(step: PlanStep, job: Job) -> tuple[BigNumber, ...]:
    """Return what is set for a cut, in the order of setting."""
    cut = step.cut
    dial = BigNumber(label="dial number", value=degrees(step.dial_deg))
    if cut.radius_mm is None:
        return dial, _stop(step, job)
    return dial, _length("radius", cut.radius_mm, "from the shaft axis", job), _stop(step, job)


def _length(label: str, length_mm: float, note: str, job: Job) -> BigNumber:
    value, unit, other = words.split_length(job, length_mm)
    return BigNumber(label=label, value=value, unit=unit, other=other, note=note)


def _stop(step: PlanStep, job: Job) -> BigNumber:
    cut = step.cut
    if cut.kind in FILLS:
        return BigNumber(label="stop", words="nothing to drill")
    deep_mm = cut.drilled_mm
    if deep_mm is None:
        return BigNumber(label="stop", words="through")
    if cut.on_rim:
        notes = {"flat": "below the rim", "bevel": f"off at the {cut.face} face"}
        return _length("stop", deep_mm, notes.get(cut.kind, "off the radius"), job)
    face = f", from the {cut.face}" if cut.kind != "rim hole" else ""
    return _length("stop", job.shop.stop_of_mm(cut) or 0.0, f"to the {job.shop.depth_to}{face}", job)


def _way_words(step: PlanStep, job: Job) -> tuple[str, ...]:
    """Return where the hole lies from the centre line (or the mark), with a row or a tilt where it has them."""
    text = centre_words(step, job).replace(" numbers", " dial numbers")
    row = row_words(job, step.cut).removeprefix(", ") if step.cut.kind == "rim hole" else ""
    return (text, row) if row else (text,)


def _draw_card(answer: PlanAnswer, step: PlanStep, width_in: float) -> Axes:
    wide_in, high_in = under_drill.SIZE_IN
    ax = own_axes(width_in, width_in / wide_in * high_in, top_in=0.02, bottom_in=0.02)
    return under_drill.plot_under_drill(answer, step, ax=ax)


def counting_picture(job: Job) -> Picture:
    """Return how the machine counts, as a drawing."""

    def draw(width_in: float) -> Axes:
        high_in = convention.SIZE_IN[1] + 0.1
        return convention.plot_convention(job, ax=own_axes(width_in, high_in, top_in=0.0, bottom_in=0.0))

    return Picture(
        name="counting",
        title="How the display counts",
        says=f"Display numbers grow {counting_words(job.machine)}, zero at {zero_words(job)}.",
        size="card",
        draw=draw,
    )


def overview_picture(answer: PlanAnswer, *, made: bool = False) -> Picture:
    """Return the crankshaft along its shaft; ``made`` when the steps are cuts that were made."""
    cut = ", ".join(f"cut {step.label} on {step.cut.counterweight}" for step in answer.steps)
    names = ", ".join(each.name for each in answer.problem.counterweights)

    def draw(width_in: float) -> Axes:
        ax = own_axes(width_in, overview_height_in(answer, width_in), top_in=TITLE_IN, bottom_in=NOTE_IN)
        return plot_side_view(answer, ax=ax)

    ends = "rear at the left" if rear_is_left(answer.job) else "front at the left"
    return Picture(
        name="overview",
        title="Along the shaft, cuts made" if made else "Along the shaft",
        says=f"{sentence(ends)}. Counterweights {names}. {sentence(cut)}",
        size="full",
        draw=draw,
    )


def counterweight_pictures(answer: PlanAnswer) -> tuple[Picture, ...]:
    """Return every counterweight that is cut, front to rear, with all its cuts, old holes and places to keep out of."""
    view = answer.job.machine.viewed_from
    pictures = []
    for number, counterweight in enumerate(touched_counterweights(answer), start=1):
        cuts = [*(step.cut for step in answer.steps), *(cut for cut, _ in answer.made)]
        full = sum(cut.counterweight == counterweight.name for cut in cuts) >= _FULL

        def draw(width_in: float, subject: Counterweight = counterweight) -> Axes:
            title_in = head_height_in(head_of(answer, subject), view_words(view), width_in - 0.24)
            narrow = width_in < 5.0
            labels_in = labels_height_in(answer, subject)
            high_in = max(2.6, 0.85 * labels_in + 0.4) if narrow else max(3.2, 0.6 * labels_in + 0.4)
            ax = own_axes(width_in, high_in + title_in + 0.1, top_in=title_in, bottom_in=0.05)
            return plot_counterweight(answer, subject, viewed_from=view, ax=ax)

        pictures.append(
            Picture(
                name=f"counterweight-{number}",
                title=f"Counterweight {counterweight.name}, seen from the {view}, to scale",
                says=steps_words(answer, counterweight.name) or "Only cuts made since the spin.",
                size="full" if full else "half",
                draw=draw,
            )
        )
    return tuple(pictures)


def key_picture(answer: PlanAnswer, *, made: bool = False) -> Picture | None:
    """Return what the hatches of the counterweights mean; nothing when none is drawn."""
    looks = key_looks(answer, made=made)
    if not looks or not touched_counterweights(answer):
        return None

    def draw(width_in: float) -> Axes:
        from matplotlib.figure import Figure

        columns = max(1, int(width_in / 1.8))
        rows = -(-len(looks) // columns)
        ax = own_axes(width_in, 0.26 * rows + 0.05, top_in=0.0, bottom_in=0.0)
        ax.set_axis_off()
        # `get_figure(root=True)` is newer than the oldest matplotlib that is allowed
        figure = ax.figure
        assert isinstance(figure, Figure)
        draw_key(figure, key_of(looks), top_in=0.26 * rows, left_in=0.0, columns=columns)
        return ax

    return Picture(
        name="key", title="Key", says=", ".join(look.words for look in looks), size="full", draw=draw
    )


def vector_pictures(answer: PlanAnswer) -> tuple[Picture, ...]:
    """Return the vectors of both planes: the whole, and what is left enlarged."""
    job, view = answer.job, answer.job.machine.viewed_from
    pictures = []
    # many labels want the whole width; what is left then stands below, side by side
    many = len(answer.steps) >= _MANY
    order = [(side, zoom) for side in SIDES for zoom in (False, True)]
    for side, zoom in sorted(order, key=lambda each: each[1]) if many else order:

        def draw(width_in: float, side: Side = side, zoom: bool = zoom) -> Axes:
            below_in = words_below_in(answer, side, width_in=width_in - 0.24, zoom=zoom) + 0.05
            high_in = max(2.4, vector_labels_in(answer, side) + 0.1) + 0.5
            ax = own_axes(width_in, high_in + below_in, bottom_in=below_in)
            return plot_plane_vectors(answer, side, viewed_from=view, ax=ax, zoom=zoom)

        left = vector_words(answer.residual_gmm.at(side), job, side)
        now = vector_words(answer.unbalance_gmm.at(side), job, side)
        what = "what is left, enlarged" if zoom else "unbalance and what every cut does"
        pictures.append(
            Picture(
                name=f"{side}-{'left-over' if zoom else 'vectors'}",
                title=f"{side.capitalize()} plane, {what}, seen from the {view}",
                says=f"Left over: {left}." if zoom else f"Heavy spot now: {now}; after the cuts: {left}.",
                size="narrow" if zoom else "full" if many else "wide",
                draw=draw,
            )
        )
    return tuple(pictures)


def steps_words(answer: PlanAnswer, name: str) -> str:
    """Return the cuts of a counterweight in sentences."""
    job = answer.job
    return " ".join(
        f"Cut {step.label}: {step.cut.kind}, dial {degrees(step.dial_deg)}, {centre_words(step, job)}, "
        f"drill {drill_words(job, step.cut.diameter_mm)}, {depth_words(step, job)}."
        for step in answer.steps
        if step.cut.counterweight == name
    )


def sentence(text: str) -> str:
    """Return a text that starts with a capital."""
    return f"{text[:1].upper()}{text[1:]}"


def _verdict(sheet: SheetAnswer) -> str:
    """Return the verdict with its chance in one sentence; the one never stands without the other."""
    answer = sheet.answer
    if not answer.steps:
        return f"As it stands: {answer.verdict}."
    start = f"{sentence(answer.verdict)} if cut as planned"
    if answer.chances is None:
        return f"{start}; the chance was not worked out."
    inside, shown = answer.chances.inside, answer.chances.one_spin_proves
    return (
        f"{start}: {chance_words(inside)} of such jobs end inside the limits, and one spin shows it in "
        f"{chance_words(shown)}."
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
    units = answer.job.units
    metal = metal_moved(step.effect for step in answer.steps)
    texts = [f"{units.text(metal.drilled_g, 'mass')} to drill off"] if metal.drilled_g > 0.0 else []
    if metal.slugs_g > 0.0:
        texts.append(
            f"{units.text(metal.slugs_g, 'mass')} heavy metal in, {units.text(metal.bored_g, 'mass')} bored for it"
        )
    return texts
