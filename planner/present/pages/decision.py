"""The decision sheet: the ways side by side, for builder and customer, before money is spent; terminal, paper, HTML, JSON."""

from __future__ import annotations

from typing import Any

from planner.cuts.cut import Shop
from planner.jobfile.job import Job, ShopDetails
from planner.present.document import Block, Document, Values, block, document, lines, remarks, table
from planner.present.logo import Logo, logo_of
from planner.present.numbers import neat
from planner.present.pages.heavy_metal import window_lines
from planner.present.pages.quote import order_words
from planner.present.pages.sheet import Fact, job_facts, said_facts, sentence
from planner.present.to_json import picked, plain
from planner.present.words import (
    CAUTIONS,
    amount_words,
    chance_words,
    degrees,
    percent,
    plural,
    printed,
    shown_amount_words,
)
from planner.records import dataclass
from planner.steps.decision import Decision, Price, Way

LIGHTER = (
    "The new bobs are lighter than what it was built for: metal has to come off the counterweights. Heavy metal adds "
    "weight there and does nothing for this."
)
RESERVE = (
    "A quote before the spin: what the crankshaft reads may differ. Whether a part can lose weight, and which share of the "
    "reciprocating mass an engine wants, is for the maker and the engine builder to say."
)


@dataclass(frozen=True, kw_only=True)
class WayCard:
    """A way as the sheet shows it; ``does_it`` is False where it does not reach the limits."""

    name: str
    does_it: bool
    price: str
    price_note: str
    lines: tuple[str, ...]
    chance: str


@dataclass(frozen=True, kw_only=True)
class DecisionContent:
    """The decision sheet in words."""

    title: str
    shop: ShopDetails
    logo: Logo | None
    facts: tuple[Fact, ...]
    need: str
    reason: tuple[str, ...]
    ways: tuple[WayCard, ...]
    prices: Block
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    reserve: str = RESERVE


def decision_content(decision: Decision) -> DecisionContent:
    """Return the decision sheet in words."""
    quote = decision.quote
    job = quote.job
    units = job.units
    to_correct = ", ".join(
        f"{side} {printed(shown_amount_words(job, side, abs(vector)))}"
        for side, vector in quote.unbalance_gmm.items()
    )
    facts = said_facts(
        *job_facts(job),
        ("New bob", units.text(quote.bob_g, "mass")),
        ("Basis", quote.basis),
        (
            "Not known",
            f"up to {units.text(quote.within_g, 'mass')} of bob, at any angle" if quote.within_g else "",
        ),
        ("To correct", to_correct),
        ("Built with", ", ".join(decision.built_with)),
        ("Runs with", ", ".join(decision.runs_with)),
    )
    reason = [f"{sentence(quote.reason)}."]
    if decision.metal_off:
        reason.append(LIGHTER)
    if decision.built_with != decision.runs_with:
        reason.append(
            f"It was balanced with {_listed(decision.built_with)} and will run with {_listed(decision.runs_with)}: what "
            "the difference carries is to correct."
        )
    reason += [line.text for line in window_lines(job, quote.window)]
    return DecisionContent(
        title="Decision sheet",
        shop=job.shop_details,
        logo=logo_of(job),
        facts=facts,
        need=need_words(decision),
        reason=tuple(reason),
        ways=tuple(_card(job, way) for way in decision.ways),
        prices=_prices(decision),
        notes=quote.notes,
        cautions=CAUTIONS,
    )


def need_words(decision: Decision) -> str:
    """Return whether heavy metal is needed, by what was computed and by nothing else."""
    if decision.metal_off:
        return "Heavy metal: not needed, the new bobs are lighter"
    if decision.need == "not known":
        return "Heavy metal: not known, the time was up before drilling was looked at in every case"
    if decision.need == "in some cases":
        return f"Drilling alone is not enough in {decision.needing} of {decision.draws} cases"
    looked_at = f" ({decision.draws} cases looked at)" if decision.draws > 1 else ""
    return f"Heavy metal or another way: {decision.need}{looked_at}"


def decision_document(decision: Decision) -> Document:
    """Return the decision sheet for the terminal."""
    content = decision_content(decision)
    return document(
        block(content.title, Values(rows=tuple((fact.label, fact.text) for fact in content.facts))),
        block(content.need.upper(), lines(*content.reason)),
        *(
            block(
                f"{way.name.upper()}: {way.price}" + (f" ({way.price_note})" if way.price_note else ""),
                lines(*(each for each in (*way.lines, way.chance) if each), level=1),
            )
            for way in content.ways
        ),
        block(
            content.prices.heading.upper(),
            content.prices.parts,
            lines(content.reserve),
        ),
        remarks("note", content.notes),
    )


def _card(job: Job, way: Way) -> WayCard:
    lines = []
    units = job.units
    if way.lighter_g > 0.0 and way.percent is None:
        each = [f"{units.text(way.lighter_g, 'mass')} off every bob"]
        if way.reciprocating_g is not None:
            each.append(f"that is {units.text(way.reciprocating_g, 'mass')} off every piston with pin")
        if way.rod_g is not None:
            each.append(f"or {units.text(way.rod_g, 'mass')} off every rod's big end")
        lines.append(", ".join(each))
    if way.percent is not None:
        lines.append(
            f"{way.percent:.1f} % of the reciprocating mass in the bob, {units.text(way.lighter_g, 'mass')} less bob"
        )
    for z_mm, amount_gmm, angle in way.external:
        at = degrees(job.machine.machine_angle_deg(angle))
        lines.append(
            f"at z {units.text(z_mm, 'length')}: {printed(amount_words(job, amount_gmm))}, heavy at machine angle {at}"
        )
    if way.orders:
        lines.append("order " + "; ".join(order_words(job, order) for order in way.orders))
        lines.append(f"{units.text(way.heavy_metal_g, 'mass')} heavy metal in {plural(way.pieces, 'piece')}")
    if way.drilled_g > 0.0:
        holes = plural(way.cuts - way.pieces, "hole")
        lines.append(f"{units.text(way.drilled_g, 'mass')} drilled off in {holes}")
    if way.minutes > 0.0:
        lines.append(f"{way.minutes:g} minutes at the press")
    if way.share is not None:
        lines.append(f"what remains: {percent(way.share)} of the limit")
    if way.proven:
        lines.append(way.proven)
    return WayCard(
        name=sentence(way.name),
        does_it=way.feasible,
        price="does not do it"
        if not way.feasible and way.name != "as it is"
        else f"{way.price.total:.2f}"
        if way.price.total > 0.0
        else "no price stated",  # what has no price at all is not free
        price_note=f"without {', '.join(way.price.missing)}: no price stated"
        if way.feasible and way.price.missing and way.price.total > 0.0
        else "",
        lines=tuple(lines),
        chance=_chance(way),
    )


def _chance(way: Way) -> str:
    cases = (
        f"does it in {way.cases} of {way.draws} cases"
        if way.draws > 1
        else "does it"
        if way.cases
        else "does not do it"
    )
    if way.late:
        cases += f" (in {way.late} the time was up: `--seconds`)"
    if way.chances is None and way.chance_range is None:
        return cases
    low, high = way.chance_range or (0.0, 0.0)
    own = "" if way.chances is None else f"chance to end inside: {chance_words(way.chances.inside)}; "
    if way.draws == 1:
        return f"{own}{cases}"
    least, most = chance_words(low), chance_words(high)
    between = f"{least} to {most}" if least != most else most
    return f"{own}{cases}, there with {between}"


def _prices(decision: Decision) -> Block:
    shop = decision.quote.job.shop
    rows = [
        (way.name, *_cells(way.price, shop))
        for way in decision.ways
        if (way.feasible or way.name == "as it is") and way.price.total > 0.0
    ]
    missing = sorted({each for way in decision.ways if way.feasible for each in way.price.missing})
    said = (
        [
            f"No price is stated for {', '.join(missing)}: see [shop] (labour_per_hour, slug_price, lightening_price)."
        ]
        if missing
        else []
    )
    if any(UNPRICED in row for row in rows):
        said.append(
            f"{sentence(UNPRICED)}: the shop's file has no price for it (base_price, price_per_spin, labour_per_hour, "
            'slug_price, lightening_price), and "all in" is without it.'
        )
    heads = ("way", "job", "spins", "labour", "slugs", "lightening", "all in")
    return block("What it costs", [table(heads, rows)] if rows else [], lines(*said))


UNPRICED = "not stated"
"""In the place of an amount: what has no price is not free."""


def _cells(price: Price, shop: Shop) -> tuple[str, ...]:
    """Return the amounts of a way: what has no price says so, what it does not need is a dash."""
    stated = {"job": shop.base_price > 0.0, "spins": shop.price_per_spin > 0.0}
    names = ("job", "spins", "labour", "slugs", "lightening")
    parts = (price.base, price.spins, price.labour, price.slugs, price.lightening)
    cells = [
        f"{part:.2f}"
        if part > 0.0
        else UNPRICED
        if name in price.missing or not stated.get(name, True)
        else "-"
        for name, part in zip(names, parts, strict=True)
    ]
    return (*cells, f"{price.total:.2f}")


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(names) if names else "nothing mounted"


def decision_json(decision: Decision) -> dict[str, Any]:
    """Return the decision as plain data."""
    return {
        **picked(
            decision,
            "need metal_off built_with runs_with cases_that_need_more_than_drilling=needing cases=draws",
        ),
        "ways": [_way_json(way) for way in decision.ways],
    }


def _way_json(way: Way) -> dict[str, Any]:
    return {
        **picked(
            way,
            "name feasible proven percent drilled_g heavy_metal_g cuts minutes chance_range "
            "lighter_bob_g=lighter_g off_piston_or_pin_g=reciprocating_g off_rod_big_end_g=rod_g "
            "slugs=orders share_of_limit=share cases_done=cases cases_without_answer=late",
        ),
        "price": {**plain(way.price), "total": neat(way.price.total)},
        "external": [
            {"z_mm": neat(z), "amount_gmm": neat(amount), "angle_deg": neat(angle)}
            for z, amount, angle in way.external
        ],
        **picked(way, "chance_inside=chances.inside"),
    }
