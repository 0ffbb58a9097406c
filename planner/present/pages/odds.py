"""The odds of a plan, as text and as plain data."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from planner.formula import Formula
from planner.frames import SIDES
from planner.jobfile.job import Job
from planner.present.document import Block, Document, block, document, lines, remarks, table
from planner.present.numbers import neat
from planner.present.pages.chances import chances_json, chances_words
from planner.present.to_json import picked, plain
from planner.present.words import (
    amount_words,
    chance_words,
    judged_words,
    mass_words,
    percent,
    plural,
    xy_words,
)
from planner.steps.odds import OddsAnswer
from planner.steps.trial import spin_words
from planner.uncertainty.odds_sources import SOURCES

# shares of the first cut that the text shows, beside the best one
_SHOWN = (1.0, 0.98, 0.96, 0.94, 0.9, 0.8)


def odds_document(answer: OddsAnswer) -> Document:
    """Return the chances, which error matters most, what a first cut short of all gains."""
    said = block("", remarks("note", _notes(answer)), remarks("warning", answer.plan.warnings))
    return document(_head(answer), _sources(answer), _first_cut(answer), said)


def _head(answer: OddsAnswer) -> Block:
    plan = answer.plan
    state = spin_words(plan.spin_number)
    what = (
        f"the plan of {plural(len(plan.steps), 'cut')} for {state}"
        if plan.steps
        else f"{state} as it stands, with nothing left to cut"
    )
    limits = (
        f"{row.at}: {chance_words(chance, digits=1)} within {judged_words(plan.job, row.at, row.tolerance_gmm)}"
        for row, chance in answer.chance_at
    )
    return block(
        plan.job.details.title or "Odds",
        lines(f"CHANCES: {chances_words(answer.chances)} ({what}; {answer.draws} draws)"),
        lines(*limits, level=1),
    )


def _sources(answer: OddsAnswer) -> Block:
    job = answer.plan.job
    row, shares = answer.worst
    rows = [
        (
            each.source,
            _assumed(job, SOURCES[each.source][0]),
            judged_words(job, row.at, math.sqrt(each.variance_gmm2)),
            percent(each.share),
            percent(each.simulated_share),
            chance_words(answer.without[each.source], digits=1),
        )
        for each in shares
    ]
    return block(
        f"Which error matters, at {row.at} (standard uncertainties; [errors] in the file sets them):",
        table(("error", "assumed", "spread", "share", "drawn alone", "inside without it"), rows, level=1),
    )


def _assumed(job: Job, key: str) -> str:
    """Return a standard uncertainty of the error model as text, in the job's units."""
    value: float = getattr(job.errors, key)
    if key.endswith("_mm"):
        return job.units.text(value, "length", digits=4 if job.units.in_inches else 2)
    if key.endswith("_g"):
        return f"{mass_words(job, value)} each"
    if key.endswith("_gmm"):
        return amount_words(job, value)
    return f"{value:g}{'°' if key.endswith('_deg') else ' %'}"


def _first_cut(answer: OddsAnswer) -> Block | None:
    if not answer.plan.steps:
        return None
    first = answer.first_cut
    spins = f"over-drilling at {first.over_cost:g} spins"
    rows = [
        (
            percent(share),
            chance_words(passed, digits=1),
            chance_words(over, digits=1),
            f"{cost:.2f}{'  <- best' if share == first.share else ''}",
        )
        for share, passed, over, cost in first.table
        if share == first.share or any(abs(share - shown) < 1e-9 for shown in _SHOWN)
    ]
    return block(
        f"Cut all of it at once: with {spins} nothing is gained by stopping short."
        if first.share >= 1.0
        else f"Cut {percent(first.share)} of the unbalance first, then spin: best with {spins} (--over-cost).",
        table(("share cut", "inside", "over-drilled", "cost in spins"), rows, level=1),
    )


def _notes(answer: OddsAnswer) -> Iterator[str]:
    errors = answer.plan.job.errors
    biases = [
        text
        for value, text in (
            (errors.depth_bias_mm, f"depths {errors.depth_bias_mm:+g} mm"),
            (errors.diameter_bias_mm, f"diameters {errors.diameter_bias_mm:+g} mm"),
            (errors.angle_bias_deg, f"angles {errors.angle_bias_deg:+g}°"),
        )
        if value
    ]
    if biases:
        yield f"known to be off on average: {', '.join(biases)}"
    if answer.reading_percents is not None:
        left, right = answer.reading_percents
        yield (
            f"what the trial runs came to is uncertain by {left:.2g} % left, {right:.2g} % right, more than a reading's "
            "own error, because the coefficients are differences of readings: that much is drawn"
        )
    yield (
        "a spin proves it when `bobplan check` says in tolerance: inside the limits less what the readings are uncertain "
        "by; the shares and the first cut are about being inside"
    )
    yield (
        "bob masses count for the crankshaft in its engine; while the same bobs stay on, the next spin itself does not "
        "show their error"
    )


def odds_work(answer: OddsAnswer) -> list[str]:
    """Return the sums behind the odds: what remains at each limit, the variances, the counts of the draws."""
    plan = answer.plan
    left, right = plan.residual_gmm if plan.steps else plan.unbalance_gmm
    lines = [
        "WORKING (g*mm; X = U*cos(angle), Y = U*sin(angle), angles counter-clockwise seen from the front)",
        f"1. What is left at a limit when all comes out as planned: left {xy_words(left)}; right {xy_words(right)}",
    ]
    for row, _ in answer.chance_at:
        of = {"w1": row.weight_1, "w2": row.weight_2, "left": left, "right": right}
        vector = row.seen_gmm((left, right))
        at_limit = Formula(row.at, "w1 * left + w2 * right", of, vector)
        lines.append(
            f"   {row.at}: {at_limit.in_line(_weighted)}; U = {abs(vector):.1f} of {row.tolerance_gmm:.1f}"
        )
    lines.append(
        "2. Variance of what is left there = sum of (effect of one standard uncertainty)^2, by source"
    )
    for row, shares in answer.shares:
        terms = {each.source: each.variance_gmm2 for each in shares if each.variance_gmm2 > 0.0}
        total = math.fsum(terms.values())
        variance = Formula(row.at, " + ".join(terms) or "0", terms, total).in_line(
            lambda source, value: (
                f"{math.sqrt(value.real):.1f}^2 ({source})" if source else f"{value.real:.0f}"
            )
        )
        lines.append(f"   {row.at}: {variance}; standard uncertainty {math.sqrt(total):.1f}")
    lines.append(
        "3. Chance = draws in which U stays within the limit / all draws, +- 2 sqrt(p (1 - p) / draws)"
    )
    names = [*(row.at for row, _ in answer.chance_at), "all limits"]
    chances = [*(chance for _, chance in answer.chance_at), answer.chances.inside]
    for name, chance in zip(names, chances, strict=True):
        spread = chance * (1.0 - chance)
        unsure = 2.0 * math.sqrt(spread / answer.draws) if spread > 0.0 else 3.0 / answer.draws
        of = {"inside": round(chance * answer.draws), "draws": answer.draws}
        counted = Formula(name, "inside / draws", of, chance)
        lines.append(f"   {name}: {of['inside']} of {of['draws']} = {counted.value.real:.4f} +- {unsure:.4f}")
    if plan.steps:
        lines.append(
            f"4. First cut: cost in spins = 1 - inside - over-drilled + {answer.first_cut.over_cost:g} x over-drilled, least at "
            f"{percent(answer.first_cut.share)}"
        )
        for share, passed, over, cost in answer.first_cut.table:
            if share != answer.first_cut.share and all(abs(share - shown) > 1e-9 for shown in _SHOWN):
                continue
            of = {"inside": passed, "over": over, "dear": answer.first_cut.over_cost}
            worked = Formula("cost", "1 - inside - over + dear * over", of, cost).in_line(
                lambda name, value: f"{value.real:{ {'': '.3f', 'dear': 'g'}.get(name, '.4f') }}"
            )
            lines.append(f"   {percent(share)}: {worked}")
    return lines


def _weighted(name: str, value: complex) -> str:
    return name if name in SIDES else f"{value.real:.4f}" if name else xy_words(value)


def odds_json(answer: OddsAnswer) -> dict[str, Any]:
    """Return the odds as plain data."""
    plan, first = answer.plan, answer.first_cut
    return {
        "title": plan.job.details.title,
        "spin": plan.spin_number,
        "steps": [step.number for step in plan.steps],
        "feasible": plan.outcome.feasible,
        **chances_json(answer.chances),
        # "chance": the older name of chance_inside
        **picked(answer, "chance draws seed chance_without=without"),
        "judged": [{**picked(row, "at tolerance_gmm"), "chance": chance} for row, chance in answer.chance_at],
        "shares": [
            {
                "at": row.at,
                "sources": [
                    {
                        **picked(each, "source share simulated_share"),
                        "sigma_gmm": neat(math.sqrt(each.variance_gmm2)),
                        "simulated_sigma_gmm": neat(math.sqrt(each.simulated_variance_gmm2)),
                    }
                    for each in shares
                ],
            }
            for row, shares in answer.shares
        ],
        "first_cut": {
            **picked(first, "share over_cost"),
            "table": [
                dict(zip(("share", "passes", "over", "cost"), plain(row), strict=True)) for row in first.table
            ],
        },
        "warnings": list(plan.warnings),
    }
