"""A plan: one glance tells which counterweight, angle, drill and depth; then what comes next, and where it comes from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.cuts.cut import metal_moved
from planner.frames import SIDES
from planner.jobfile.job import Job
from planner.present.document import Block, Document, Line, Part, block, document, lines, remarks, table
from planner.present.pages.alternatives import alternatives_block
from planner.present.pages.chances import chances_words
from planner.present.pages.check import passing_lines
from planner.present.pages.hand import hand_blocks
from planner.present.pages.heavy_metal import heavy_metal_block
from planner.present.pages.prove import unproved_words
from planner.present.pages.ways_out import no_plan_block
from planner.present.words import (
    CAUTIONS,
    SPIN_CAUTIONS,
    both_planes_words,
    centre_words,
    chance_words,
    convention_words,
    degrees,
    depth_words,
    judged_words,
    kept_words,
    length_words,
    mass_words,
    percent,
    plural,
    raw_words,
    readings_words,
    shown_amount_words,
    spot_line,
    tool_words,
    where_words,
)
from planner.steps.plan_answer import PlanAnswer
from planner.steps.reading_questions import heavy_spots
from planner.steps.trial import raw_shown, spin_words


def plan_document(answer: PlanAnswer) -> Document:
    """Return the whole answer: the cut list first, what should come of it, then the reading that it is for."""
    return document(
        _head(answer),
        remarks("QUESTION", answer.questions),
        _plan(answer),
        _next_reading(answer),
        _verdict(answer),
        _closeness(answer),
        _unbalance(answer),
        heavy_metal_block(answer),
        alternatives_block(answer),
        hand_blocks(answer),
        block("", remarks("warning", answer.warnings), remarks("note", answer.notes)),
        _cautions(answer),
    )


def _head(answer: PlanAnswer) -> Block:
    job = answer.job
    title = job.details.title or "Correction plan"
    spins = (
        spin_words(answer.spin_number)
        if answer.reading_count == 1
        else f"mean of {answer.reading_count} spins, the last is spin {answer.spin_number}"
    )
    unproved = unproved_words(job)
    return block(
        "",
        () if unproved is None else lines(unproved),
        lines(f"{title} ({spins})", f"The machine: {convention_words(job.machine)}."),
        remarks("WHAT IF", answer.what_if),
    )


def _unbalance(answer: PlanAnswer) -> Block:
    job = answer.job
    rows: list[Sequence[str]] = [["reading", *both_planes_words(job, answer.reading_gmm)]]
    raw = raw_shown(job, answer.reading_gmm)
    if raw is not None:
        rows.append(["  raw vibration", *(raw_words(side) for side in raw)])
    if answer.reading_count > 1:
        scatter = answer.reading_scatter_gmm.items()
        rows.append(["  scatter", *(shown_amount_words(job, side, each) for side, each in scatter)])
    changes = [
        [name, *both_planes_words(job, pair)]
        for name, pair in (
            ("tooling taken out", [-v for v in answer.known_error_gmm]),
            ("bobs wanted", answer.bob_shift_gmm),
            ("mounted parts", answer.mounted_shift_gmm),
            ("cuts made since", answer.made_shift_gmm),
        )
        if max(abs(v) for v in pair) > 1e-9
    ]
    rows += changes
    if len(rows) > 1:
        rows.append(["to correct", *both_planes_words(job, answer.unbalance_gmm)])
    return block(
        "",
        table(["", *(f"{side} plane" for side in SIDES)], rows),
        Line(f"({job.machine.marks})"),
        lines(*heavy_spot_lines(job, answer.unbalance_gmm)),
    )


def heavy_spot_lines(job: Job, vectors_gmm: Sequence[complex]) -> list[str]:
    """Return in plain words where the heavy spot of each plane is, relative to the nearest counterweight."""
    return [spot_line(job, spot) for spot in heavy_spots(job, vectors_gmm)]


def _plan(answer: PlanAnswer) -> Block:
    if not answer.steps:
        if answer.outcome.feasible:
            return block("", lines(nothing_to_cut_words(answer)))
        return no_plan_block(answer)
    job = answer.job
    rows = [
        (
            step.label + ("*" if step.pinned else ""),
            where_words(step, job),
            degrees(step.dial_deg),
            tool_words(job, step.cut),
            depth_words(step, job),
            "-" if step.first_pass_mm is None else length_words(job, step.first_pass_mm),
        )
        for step in answer.steps
    ]
    pinned = "* pinned" if answer.what_if else "* pinned by the job file"
    return block(
        f"PLAN: {plural(len(answer.steps), 'cut')}{_proof_words(answer)}",
        table(
            ("#", "cut", "dial", "drill", "on the stop", "first pass"),
            rows,
            below=[centre_words(step, job) for step in answer.steps],
        ),
        lines(pinned) if any(step.pinned for step in answer.steps) else (),
        lines(metal_words(answer), *_wish_lines(answer)),
    )


def metal_words(answer: PlanAnswer) -> str:
    """Return what metal a plan takes off and puts in."""
    job = answer.job
    moved = metal_moved(step.effect for step in answer.steps)
    way = "taken" if any(step.cut.on_rim for step in answer.steps) else "drilled"
    metal = [f"{mass_words(job, moved.drilled_g)} {way} off"] if moved.drilled_g > 0 else []
    if moved.slugs_g > 0:
        bored = mass_words(job, moved.bored_g)
        metal.append(f"{mass_words(job, moved.slugs_g)} heavy metal in, {bored} bored for it")
    plugs = sum(step.effect.mass_g for step in answer.steps if step.cut.kind == "plug")
    if plugs > 0:
        metal.append(f"{mass_words(job, plugs)} steel in")
    return ", ".join(metal)


def _proof_words(answer: PlanAnswer) -> str:
    proof = answer.outcome.proof
    shop = answer.problem.shop
    if proof.fewest_cuts:
        words = ", proven fewest"
    elif answer.kept and answer.steps:
        words = ", what is left of the plan as it was shown"
    elif proof.fewest_passing:
        words = f", proven fewest for a chance of {percent(shop.wanted_chance)}"
    elif proof.bound_cuts > 0:
        words = f", not proven fewest (at least {proof.bound_cuts})"
    else:
        words = ", not proven fewest"
    least = "least cost"
    if shop.prefer == "closest":
        least = "least metal for that"
        share = answer.outcome.aim_reached
        if share is not None and share <= shop.close_enough * (1.0 + 1e-9):
            words += "; as close as is wanted"
        elif proof.closest:
            words += "; proven closest"
        elif not answer.kept:
            words += "; the closest found"
    if proof.gap_cost is not None:
        words += (
            f"; cost within {percent(max(proof.gap_cost, 0.0), digits=1)} of the bound"
            if proof.gap_cost > 5e-4
            else f"; {least}"
        )
    return words


def _wish_lines(answer: PlanAnswer) -> list[str]:
    """Return what fewer cuts could do, and whether the aim is kept."""
    lines = []
    outcome, shop = answer.outcome, answer.problem.shop
    if len(outcome.levels) > 1:
        weighed = [
            f"{plural(level.cuts, 'cut')}: {chance_words(level.chance)}"
            for level in sorted(outcome.levels, key=lambda each: each.cuts)
            if level.chance is not None
        ]
        lines.append(f"Chance that one spin proves it: {'; '.join(weighed)}.")
    if outcome.aim_reached is not None and outcome.aim_reached > shop.aim * (1.0 + 1e-9):
        why = "" if answer.kept else ": no plan of as many cuts that was found is closer"
        lines.append(f"The aim of {percent(shop.aim)} of the limits is missed{why}.")
    return lines


def _next_reading(answer: PlanAnswer) -> Block | None:
    if not answer.steps:
        return None
    said = [f"After these cuts the next spin should show: {readings_words(answer.job, answer.foretold)}."]
    if answer.foretold_raw is not None:
        left, right = (raw_words(side) for side in answer.foretold_raw)
        said.append(f"In raw vibration, in the trial runs' unit: left {left}, right {right}.")
    return block("", lines(*said))


def _verdict(answer: PlanAnswer) -> Block:
    tolerance, when = answer.job.tolerance, "with this plan" if answer.steps else "as it stands"
    limit = f" (limit: {tolerance.stated})" if tolerance is not None and tolerance.stated else ""
    return block(f"VERDICT {when}: {answer.verdict.upper()}{limit}", _judged(answer))


def _judged(answer: PlanAnswer) -> Iterator[Part]:
    job = answer.job
    for each in answer.judged:
        passes = (
            ""
            if each.passes_at_gmm is None
            else f", passes up to {judged_words(job, each.at, each.passes_at_gmm)}"
        )
        yield Line(
            f"{each.at}: {kept_words(job, each)} ({percent(each.share)}){passes}",
            level=1,
        )
    if answer.chances is not None:
        yield Line(f"Chances by the job's error model: {chances_words(answer.chances)}.")
    if answer.first_pass is not None:
        yield Line(f"Expected spins until one proves it: {answer.first_pass.expected_spins:.2f}.")


def nothing_to_cut_words(answer: PlanAnswer) -> str:
    """Return why a plan has no cuts although none are impossible."""
    if answer.verdict == "in tolerance":
        if answer.made:
            return "Nothing to cut any more: with the cuts made the limits should be met; spin again to prove it."
        return "Nothing to cut: in tolerance as it stands."
    if answer.made:
        return (
            "No more cuts before the next spin: what the cuts made should leave is inside the limits, but too close to "
            "call; only a spin decides."
        )
    return (
        "No cut is planned: the reading is inside the limits but too close to call, and no cut of this shop brings it surely "
        "inside; measuring decides."
    )


def _closeness(answer: PlanAnswer) -> Block | None:
    check = answer.closeness
    if check is None:
        return None
    said = (
        "The cuts above bring it to what `bobplan check` accepts. Before them, what would decide it:"
        if answer.steps
        else "What would decide it:"
    )
    return block(
        "TOO CLOSE TO CALL as it stands: nearer to the limit than the readings are certain.",
        lines(said),
        lines(*passing_lines(check), *check.decides, level=1, mark="-"),
    )


def _cautions(answer: PlanAnswer) -> Block | None:
    if answer.steps:
        return block("CAUTION", lines(*CAUTIONS, level=1))
    if answer.outcome.feasible and not (answer.verdict == "in tolerance" and not answer.made):
        # nothing to cut now, but the crankshaft is spun again
        return block("CAUTION", lines(*SPIN_CAUTIONS, level=1))
    return None
