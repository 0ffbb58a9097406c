"""A plan as text for the terminal: one glance tells which counterweight, angle, drill and depth, and what comes next."""

from __future__ import annotations

from collections.abc import Sequence

from planner.present.numbers import degrees, plural
from planner.present.pages.alternatives import alternatives_lines
from planner.present.pages.chances import chances_words, percent_words
from planner.present.pages.check import passing_lines
from planner.present.pages.hand import hand_lines
from planner.present.pages.heavy_metal import heavy_metal_lines
from planner.present.pages.prove import unproved_words
from planner.present.pages.ways_out import no_plan_lines
from planner.present.table import table
from planner.present.words import (
    CAUTIONS,
    SPIN_CAUTIONS,
    centre_words,
    convention_words,
    depth_words,
    drill_words,
    judged_words,
    length_words,
    raw_words,
    shown_amount_words,
    shown_vector_words,
    shown_words,
    spot_line,
    where_words,
)
from planner.steps.plan_answer import PlanAnswer
from planner.steps.reading_questions import heavy_spots
from planner.steps.trial import raw_shown, spin_words


def plan_text(answer: PlanAnswer) -> str:
    """Return the whole answer as text."""
    blocks = [
        _head(answer),
        _unbalance(answer),
        _questions(answer),
        _plan(answer),
        _next_reading(answer),
        _verdict(answer),
        _closeness(answer),
        heavy_metal_lines(answer),
        alternatives_lines(answer),
        hand_lines(answer),
        _remarks(answer),
        _cautions(answer),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _head(answer: PlanAnswer) -> list[str]:
    job = answer.job
    title = job.details.title or "Correction plan"
    spins = (
        spin_words(answer.spin_number)
        if answer.reading_count == 1
        else f"mean of {answer.reading_count} spins, the last is spin {answer.spin_number}"
    )
    lines = [f"{title} ({spins})", f"The machine: {convention_words(job.machine)}."]
    unproved = unproved_words(job)
    return [
        *([] if unproved is None else [unproved]),
        *lines,
        *(f"WHAT IF: {text}" for text in answer.what_if),
    ]


def _unbalance(answer: PlanAnswer) -> list[str]:
    rows: list[Sequence[str]] = [["", "left plane", "right plane"]]
    rows.append(["reading", *_polar(answer, answer.reading_gmm)])
    raw = raw_shown(answer.job, answer.reading_gmm)
    if raw is not None:
        rows.append(["  raw vibration", *(raw_words(side) for side in raw)])
    if answer.reading_count > 1:
        rows.append(
            [
                "  scatter",
                *(
                    shown_amount_words(answer.job, side, each)
                    for side, each in zip(("left", "right"), answer.reading_scatter_gmm, strict=True)
                ),
            ]
        )
    for name, pair in (
        ("tooling taken out", tuple(-v for v in answer.known_error_gmm)),
        ("bobs wanted", answer.bob_shift_gmm),
        ("mounted parts", answer.mounted_shift_gmm),
        ("cuts made since", answer.made_shift_gmm),
    ):
        if max(abs(v) for v in pair) > 1e-9:
            rows.append([name, *_polar(answer, pair)])
    if len(rows) > 2:
        rows.append(["to correct", *_polar(answer, answer.unbalance_gmm)])
    lines = table(rows)
    lines.append(f"({answer.job.machine.marks})")
    return lines + heavy_spot_lines(answer)


def heavy_spot_lines(answer: PlanAnswer) -> list[str]:
    """Return in plain words where the heavy spot to be corrected is, relative to the nearest counterweight."""
    return [spot_line(answer.job, spot) for spot in heavy_spots(answer.job, answer.unbalance_gmm)]


def _questions(answer: PlanAnswer) -> list[str]:
    return [f"QUESTION: {question}" for question in answer.questions]


def _plan(answer: PlanAnswer) -> list[str]:
    if not answer.steps:
        if answer.outcome.feasible:
            return [nothing_to_cut_words(answer)]
        return no_plan_lines(answer)
    job = answer.job
    lines = [f"PLAN: {plural(len(answer.steps), 'cut')}{_proof_words(answer)}"]
    stop = "on the stop"
    rows: list[Sequence[str]] = [["#", "cut", "dial", "drill", stop, "first pass"]]
    for step in answer.steps:
        first = "-" if step.first_pass_mm is None else length_words(job, step.first_pass_mm)
        rows.append(
            [
                step.label + ("*" if step.pinned else ""),
                where_words(step, job),
                f"{degrees(step.dial_deg)}°",
                drill_words(job, step.cut.diameter_mm),
                depth_words(step, job),
                first,
            ]
        )
    head, *cuts = table(rows)
    lines.append(head)
    for step, line in zip(answer.steps, cuts, strict=True):
        lines += [line, f"     {centre_words(step, job)}"]
    if any(step.pinned for step in answer.steps):
        lines.append("* pinned" if answer.what_if else "* pinned by the job file")
    drilled = -sum(step.effect.mass_g for step in answer.steps if step.effect.slug_mass_g is None)
    bored = -sum(step.effect.bored_mass_g or 0.0 for step in answer.steps)
    slugs = sum(step.effect.slug_mass_g or 0.0 for step in answer.steps)
    metal = [f"{job.units.text(drilled, 'mass')} drilled off"] if drilled > 0 else []
    if slugs > 0:
        metal.append(
            f"{job.units.text(slugs, 'mass')} heavy metal in, {job.units.text(bored, 'mass')} bored for it"
        )
    lines.append(", ".join(metal))
    return lines + _wish_lines(answer)


def _proof_words(answer: PlanAnswer) -> str:
    proof = answer.outcome.proof
    shop = answer.problem.shop
    if proof.fewest_cuts:
        words = ", proven fewest"
    elif answer.kept and answer.steps:
        words = ", what is left of the plan as it was shown"
    elif proof.fewest_passing:
        words = f", proven fewest for a chance of {shop.wanted_chance:.0%}"
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
            f"; cost within {max(proof.gap_cost, 0.0):.1%} of the bound"
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
            f"{plural(level.cuts, 'cut')}: {percent_words(level.chance)}"
            for level in sorted(outcome.levels, key=lambda each: each.cuts)
            if level.chance is not None
        ]
        lines.append(f"Chance that one spin proves it: {'; '.join(weighed)}.")
    if outcome.aim_reached is not None and outcome.aim_reached > shop.aim * (1.0 + 1e-9):
        why = "" if answer.kept else ": no plan of as many cuts that was found is closer"
        lines.append(f"The aim of {shop.aim:.0%} of the limits is missed{why}.")
    return lines


def _next_reading(answer: PlanAnswer) -> list[str]:
    if not answer.steps:
        return []
    job = answer.job
    shown = [
        f"{side} {shown_words(job, value.amount)} at {degrees(value.angle_deg)}°"
        for side, value in zip(("left", "right"), answer.foretold, strict=True)
    ]
    lines = [f"After these cuts the next spin should show: {', '.join(shown)}."]
    if answer.foretold_raw is not None:
        left, right = (raw_words(side) for side in answer.foretold_raw)
        lines.append(f"In raw vibration, in the trial runs' unit: left {left}, right {right}.")
    return lines


def _verdict(answer: PlanAnswer) -> list[str]:
    job = answer.job
    when = "with this plan" if answer.steps else "as it stands"
    lines = [f"VERDICT {when}: {answer.verdict.upper()}"]
    if job.tolerance is not None and job.tolerance.stated:
        lines[0] += f" (limit: {job.tolerance.stated})"
    for judged in answer.judged:
        lines.append(
            f"  {judged.at}: {judged_words(job, judged.at, judged.amount_gmm)} of "
            f"{judged_words(job, judged.at, judged.tolerance_gmm)}"
            f" ({judged.amount_gmm / judged.tolerance_gmm:.0%})"
            + (
                ""
                if judged.passes_at_gmm is None
                else f", passes up to {judged_words(job, judged.at, judged.passes_at_gmm)}"
            )
        )
    if answer.chances is not None:
        lines.append(f"Chances by the job's error model: {chances_words(answer.chances)}.")
    if answer.first_pass is not None:
        lines.append(f"Expected spins until one proves it: {answer.first_pass.expected_spins:.2f}.")
    return lines


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


def _closeness(answer: PlanAnswer) -> list[str]:
    check = answer.closeness
    if check is None:
        return []
    lines = ["TOO CLOSE TO CALL as it stands: nearer to the limit than the readings are certain."]
    if answer.steps:
        lines.append(
            "The cuts above bring it to what `bobplan check` accepts. Before them, what would decide it:"
        )
    else:
        lines.append("What would decide it:")
    lines += [f"  - {text}" for text in passing_lines(check)]
    return lines + [f"  - {text}" for text in check.decides]


def _remarks(answer: PlanAnswer) -> list[str]:
    return [f"warning: {text}" for text in answer.warnings] + [f"note: {text}" for text in answer.notes]


def _cautions(answer: PlanAnswer) -> list[str]:
    if answer.steps:
        return ["CAUTION", *(f"  {line}" for line in CAUTIONS)]
    if answer.outcome.feasible and not (answer.verdict == "in tolerance" and not answer.made):
        # nothing to cut now, but the crankshaft is spun again
        return ["CAUTION", *(f"  {line}" for line in SPIN_CAUTIONS)]
    return []


NOTHING_GMM = 1e-6
"""What is smaller than a plane's vector can be and still be one [g*mm]."""


def _polar(answer: PlanAnswer, vectors: Sequence[complex]) -> list[str]:
    job = answer.job
    return [
        # nothing has no angle: a cut right in the other plane
        "nothing" if abs(vector) < NOTHING_GMM else shown_vector_words(job, side, vector)
        for side, vector in zip(("left", "right"), vectors, strict=True)
    ]
