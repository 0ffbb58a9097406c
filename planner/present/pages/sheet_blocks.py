"""The smaller print of the shop sheet: what was on, parts, bobs, spins, cuts made, verdict, remarks."""

from __future__ import annotations

from collections.abc import Iterator

from planner.cuts.cut import Cut, metal_moved
from planner.frames import SIDES
from planner.jobfile.job import Job
from planner.present.document import Block, Ticks, block, lines, table, texts
from planner.present.drawings.vectors import changes_gmm
from planner.present.pages import sheet_words as words
from planner.present.pages.bob_card import bob_card, parts_by_cylinder
from planner.present.pages.chances import chances_words
from planner.present.pages.check import error_words, state_words
from planner.present.pages.heavy_metal import heavy_metal_block
from planner.present.words import (
    both_planes_words,
    deeper_words,
    degrees,
    drill_words,
    how_words,
    length_words,
    limit_cells,
    percent,
    printed,
)
from planner.rotor.crankshaft import FILLS
from planner.steps.check import CheckAnswer
from planner.steps.correction_question import effect_on
from planner.steps.deepening import hole_name
from planner.steps.history import History, SpinEntry
from planner.steps.plan_answer import PlanAnswer
from planner.steps.sheet import SheetAnswer, newest_spin
from planner.steps.trial import spin_words

MOST_SPINS = 12
"""More spins than this are not listed on a sheet."""

# What may be on a crankshaft for a spin and changes the reading (common practice), unless the job's file names it
USUAL_PARTS = (
    ("timing gear or sprocket", ("gear", "sprocket", "pulley")),
    ("keys (half keys where nothing is on)", ("key",)),
    ("dowels", ("dowel",)),
    ("oil plugs", ("plug",)),
    ("damper, its index mark at ______°", ("damper", "balancer")),
    ("flywheel or flexplate, its index mark at ______°", ("flywheel", "flexplate")),
    ("pilot bearing or bush", ("pilot",)),
)


def blocks_of(sheet: SheetAnswer) -> tuple[Block, ...]:
    """Return the parts of the sheet for which the job has data."""
    answer = sheet.answer
    job = answer.job
    blocks = [
        vectors(answer),
        measured(sheet.check),
        _odds(sheet),
        _what_was_on(sheet),
        bob_card(sheet.bobs, job, answer.spin_number - 1),
        parts_by_cylinder(job),
        cuts_made(job),
        spins(sheet.history),
        _heavy_metal(sheet),
        block("Notes", lines(*answer.notes)),
    ]
    return tuple(each for each in blocks if each is not None and each.parts)


def measured(check: CheckAnswer) -> Block:
    """Return the newest state against its limits."""
    job = check.job
    rows = [
        (*map(printed, limit_cells(job, place)), words.at_radius(job, rim), place.verdict)
        for place, rim in zip(check.judged, check.at_radius, strict=True)
    ]
    state = "As it stands" if check.measured else "Foretold after the cuts made since"
    return block(
        f"{state}, {state_words(check)}",
        table(("place", "unbalance", "limit", "share", "error", "at the rim", "verdict"), rows),
        lines(f"Measurement error: {error_words(check)}."),
        [] if check.grade is None else lines(f"Grade: {words.grade(check.grade)}."),
    )


def vectors(answer: PlanAnswer) -> Block | None:
    """Return the unbalance, what every cut changes and what is left in both planes, as the display shows it."""
    if not answer.steps:
        return None
    job = answer.job
    changes = [changes_gmm(answer, side) for side in SIDES]
    named = [
        (f"read, {spin_words(answer.spin_number)}", answer.reading_gmm),
        ("to correct", answer.unbalance_gmm),
        *(
            (f"cut {step.label}", pair)
            for step, pair in zip(answer.steps, zip(*changes, strict=True), strict=True)
        ),
        ("left over", answer.residual_gmm),
    ]
    columns: list[list[str]] = []
    for index, side in enumerate(SIDES):
        cells = [
            (words.bare_amount(job, side, abs(pair[index])), words.reading_angle(job, pair[index]))
            for _, pair in named
        ]
        columns += [aligned([amount for amount, _ in cells]), aligned([at for _, at in cells])]
    unit = printed(job.display_unit)
    head = ("vector", f"left [{unit}]", "at [°]", f"right [{unit}]", "at [°]")
    rows = [(text, *cells) for (text, _), *cells in zip(named, *columns, strict=True)]
    return block("Vectors as the display shows them", table(head, rows), lines("Angles are display numbers."))


def aligned(numbers: list[str]) -> list[str]:
    """Return numbers padded at the right with blanks as wide as digits: at the right, their points stand in line."""
    behind = [len(each.partition(".")[2]) for each in numbers]
    most = max(behind)
    point = "" if not most else "\u2008"
    return [
        each + ("" if count else point) + "\u2007" * (most - count)
        for each, count in zip(numbers, behind, strict=True)
    ]


def cuts_made(job: Job, *, with_metal: bool = False) -> Block | None:
    """Return every cut made; ``with_metal`` what each took out and put in [g], and the sums."""
    if not job.cuts_made:
        return None
    head = ["cut", "after spin", "step", "counterweight", "dial number", "drill", "depth"]
    rows: list[tuple[str, ...]] = []
    sums = [0.0, 0.0]
    for made in job.cuts_made:
        cut = made.cut
        depth = "through"
        if cut.kind in ("slug", *FILLS):
            depth = f"slug {length_words(job, cut.length_mm)} long" if cut.length_mm else "slug"
        elif (stop := job.shop.stop_of_mm(cut)) is not None:
            depth = f"{length_words(job, stop)} to the {job.shop.depth_to}{deeper_words(job, cut)}"
        radius = "" if cut.radius_mm is None else f", radius {length_words(job, cut.radius_mm)}"
        what = f"{hole_name(job, cut)}, {how_words(cut)}," if cut.deepens else cut.kind
        rows.append(
            (
                str(made.number),
                str(made.after_spin),
                "-" if made.step is None else str(made.step),
                f"{what} on {cut.counterweight}{radius}",
                f"{degrees(job.machine.dial_deg(cut.angle_deg))}",
                drill_words(job, cut.diameter_mm),
                depth,
                *(_metal_cells(job, cut, sums) if with_metal else ()),
            )
        )
    if with_metal:
        out, put_in = (job.units.text(each, "mass") if each else "-" for each in sums)
        rows.append(("sum", "", "", "", "", "", "", out, put_in))
    return block("Cuts made", table((*head, "out", "in") if with_metal else head, rows))


def _metal_cells(job: Job, cut: Cut, sums: list[float]) -> tuple[str, str]:
    """Return the metal that a cut takes out and puts in, and add it to the sums [g]."""
    metal = metal_moved([effect_on(job.crankshaft, cut, shop=job.shop)])
    out_g, in_g = metal.drilled_g + metal.bored_g, metal.slugs_g
    sums[0] += out_g
    sums[1] += in_g
    return tuple(job.units.text(each, "mass") if each else "-" for each in (out_g, in_g))  # type: ignore[return-value]


def spins(history: History) -> Block | None:
    """Return spin after spin, the newest of them when there are very many."""
    if not history.entries:
        return None
    job = history.job
    head = ("spin", "left read", "right read", "left foretold", "right foretold", "cuts after", "verdict")
    kept = history.entries[-MOST_SPINS:]
    said = [f"{words.display_words(job)}."]
    if len(kept) < len(history.entries):
        said.append(f"Spins 1 to {kept[0].number - 1} are in the job's file.")
    return block("Spins", table(head, [tuple(_spin_cells(job, entry)) for entry in kept]), lines(*said))


def _spin_cells(job: Job, entry: SpinEntry) -> Iterator[str]:
    kind = {"state": "", "repeat": " (repeat)", "known mass": " (known mass)"}[entry.kind]
    yield f"{entry.number}{kind}"
    yield from (words.displayed(job, reading) for reading in entry.spin.shown)
    foretold = ("-", "-") if entry.foretold is None else both_planes_words(job, entry.foretold.expected_gmm)
    yield from map(printed, foretold)
    yield str(len(entry.cuts_after)) if entry.cuts_after else "-"
    yield entry.check.verdict if entry.check is not None else "-"


def _what_was_on(sheet: SheetAnswer) -> Block:
    job = sheet.answer.job
    spin = newest_spin(sheet.answer)
    ticks: list[tuple[str, bool | None]] = []
    for part in job.mounted:
        carries = words.amount(job, part.unbalance_gmm)
        at = degrees(job.machine.machine_angle_deg(part.angle_deg))
        belongs = "in the engine" if part.in_engine else "not in the engine"
        ticks.append((f"{part.name}: carries {carries} at {at}, {belongs}", part.name in spin.mounted))
    named = " ".join(part.name.lower() for part in job.mounted)
    ticks += [(text, None) for text, keys in USUAL_PARTS if not any(key in named for key in keys)]
    speed = "not stated" if spin.speed_rpm is None else f"{spin.speed_rpm:g} rpm"
    return block(
        "What was on for the spin",
        Ticks(boxes=tuple(ticks)),
        lines(
            f"Balancing speed: {speed}. Bobs: {words.bobs_on(job, sheet.answer.spin_number - 1)}.",
            "Ticked and crossed boxes are what the file says; tick the rest by hand.",
        ),
    )


def _odds(sheet: SheetAnswer) -> Block | None:
    """Return the chances that it passes, and which errors matter most."""
    answer = sheet.answer
    if answer.chances is None or sheet.worst is None:
        return None
    largest = [f"{source} {percent(share)}" for source, share in sheet.error_shares[:4] if share >= 0.005]
    said = [f"Chances by the job's error model: {chances_words(answer.chances)}."]
    if largest:
        said.append(f"What matters most at {sheet.worst.at}, the fullest limit: {', '.join(largest)}.")
    return block("Odds", lines(*said))


def _heavy_metal(sheet: SheetAnswer) -> Block | None:
    answer = sheet.answer
    if not answer.heavy_metal.needed and answer.outcome.feasible:
        return None
    return block("Heavy metal", lines(*(printed(line) for line in texts(heavy_metal_block(answer)))))
