"""A quote for the terminal, one screen, and as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.jobfile.job import Job
from planner.present.document import Block, Document, block, document, lines, remarks, table
from planner.present.numbers import neat
from planner.present.pages.chances import chances_cells, chances_json
from planner.present.pages.heavy_metal import window_lines
from planner.present.to_json import picked, vectors_json
from planner.present.words import counted, drill_words, length_words, mass_words, shown_amount_words
from planner.steps.quote import Quote, QuoteRow
from planner.steps.slugs import SlugOrder


def quote_document(quote: Quote) -> Document:
    """Return the quote: one screen."""
    job = quote.job
    title = job.details.title or "Quote"
    basis = f"Basis: {quote.basis}; new bob {mass_words(job, quote.bob_g)}"
    if quote.built_for_g is not None:
        more_g = quote.bob_g - quote.built_for_g
        basis += (
            f", {mass_words(job, abs(more_g))} {'heavier' if more_g >= 0 else 'lighter'}; the crankshaft may be off by "
            f"{mass_words(job, quote.within_g)} of bob"
        )
    before = quote.built_for_g is not None or quote.foretold
    vectors = quote.unbalance_gmm.items()
    correct = ", ".join(f"{side} {shown_amount_words(job, side, abs(vector))}" for side, vector in vectors)
    return document(
        lines(
            f"{title}: quote {'before the spin' if before else 'from the last spin'}",
            f"{basis}.",
            f"To correct: {correct}",
        ),
        block(f"HEAVY METAL: {quote.likely.upper()}; {quote.reason}.", window_lines(job, quote.window)),
        _table(quote),
        _remarks(quote),
    )


def _table(quote: Quote) -> Block:
    job = quote.job
    unit = job.display_unit
    rows: list[Sequence[str]] = []
    for row in quote.rows:
        cells = [_grams(job, each) for each in (row.lighter_g, row.off_piston_g, row.off_rod_g)]
        if not row.feasible:
            rows.append([*cells, *"------", row.note])
            continue
        remains = row.residual_gmm.items()
        rows.append(
            [
                *cells,
                f"{_grams(job, row.drilled_g)} x{row.cuts - row.pieces}" if row.drilled_g > 0 else "-",
                f"{row.minutes:g} min",
                _money(row),
                " / ".join(
                    shown_amount_words(job, side, abs(vector)).removesuffix(f" {unit}")
                    for side, vector in remains
                ),
                *chances_cells(row.chances),
                "; ".join(order_words(job, order) for order in row.orders) or "none",
            ]
        )
    what = "BUY OR LIGHTEN (grams off each part; " if len(quote.rows) > 1 else "WHAT IT TAKES ("
    heads = ("off bob", "off piston/pin", "or rod big end", "drilled", "time", "money")
    return block(
        f"{what}remains: left / right; chances: inside, proved by one spin; drilled: grams x holes)",
        table((*heads, f"remains {unit}", "inside", "proved", "slugs to order"), rows),
    )


def order_words(job: Job, order: SlugOrder) -> str:
    """Return one line of the slug order: pieces, diameter (which is the bore), length, and where."""
    length, where = length_words(job, order.length_mm, with_64th=False), counted(order.counterweights)
    return f"{order.pieces} x {drill_words(job, order.diameter_mm)} x {length} ({where})"


def _money(row: QuoteRow) -> str:
    if row.money is None:
        return "no price" if row.labour_money == 0.0 else f"{row.labour_money:.2f} + slugs"
    return f"{row.money:.2f}" if row.money > 0.0 else "-"


def _grams(job: Job, mass_g: float | None) -> str:
    return "?" if mass_g is None else "-" if mass_g == 0.0 else mass_words(job, mass_g)


def _remarks(quote: Quote) -> Block:
    said = []
    if any(row.orders for row in quote.rows):
        said.append(
            "Bores are of the slugs' diameter, less the press fit that a machinist chooses; slugs parallel to the axis."
        )
    if any(row.money is None for row in quote.rows if row.feasible):
        said.append('Prices are missing: `--slug-price "3/4 in=40"`, or slug_price in the shop\'s file.')
    if quote.job.shop.labour_per_hour == 0.0:
        said.append("Labour is not priced: `--labour-per-hour 80`, or labour_per_hour in the shop's file.")
    if len(quote.rows) > 1:
        said.append("Whether a part can lose that much is for its maker and the engine builder to say.")
    return block("", lines(*said), remarks("note", quote.notes))


def quote_json(quote: Quote) -> dict[str, Any]:
    """Return the quote as plain data."""
    window, planes = quote.window, quote.job.planes_z_mm
    return {
        "title": quote.job.details.title,
        **picked(quote, "basis bob_g within_g reason notes built_for_bob_g=built_for_g heavy_metal=likely"),
        **picked(window, "bob_window_g=proven_g confirmed_window_g=confirmed_g bob_matters=matters"),
        "unbalance": vectors_json(quote.unbalance_gmm, planes),
        "options": [_row_json(row, planes) for row in quote.rows],
    }


def _row_json(row: QuoteRow, planes_z_mm: Sequence[float]) -> dict[str, Any]:
    return {
        **picked(
            row,
            "feasible heavy_metal_g drilled_g cuts minutes slug_money labour_money note "
            "lighter_bob_g=lighter_g off_piston_or_pin_g=off_piston_g off_rod_big_end_g=off_rod_g "
            "slugs=orders",
        ),
        "money": neat(row.money) if row.feasible else None,
        "residual": vectors_json(row.residual_gmm, planes_z_mm) if row.feasible else None,
        **chances_json(row.chances),
    }
