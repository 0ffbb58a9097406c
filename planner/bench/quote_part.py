"""Quote: the ways to do a job side by side, with prices and chances, before money is spent."""

from __future__ import annotations

import dataclasses
from typing import Any

from starlette.responses import Response

from planner.bench.page import Call, Form, show_part
from planner.bench.planning import AT_ONCE_SECONDS, Asked, Task
from planner.bench.typed import mass_g, with_point
from planner.errors import BobplanError, InputError
from planner.jobfile.job import Job
from planner.jobfile.plausible import refuse_beyond_reason
from planner.present.pages.decision import DecisionContent, decision_content
from planner.present.pages.quote import quote_document
from planner.present.words import drill_words
from planner.quantity import finite_number
from planner.steps.decision import DRAWS, Decision

_PAPER_SECONDS = 300.0
_MOST_CASES = 200
_PRICE = "slug_price."


def quote_page(call: Call) -> Response:
    """Return the decision sheet, or news of how it is worked out."""
    job = call.job()
    common: dict[str, Any] = {
        "state": "no",
        "typed": call.query,
        "stream": "",
        "lines": (),
        "content": None,
        "whole": None,
        "paper": "",
        "sizes": [(f"{size:.10g} mm", drill_words(job, size)) for size in job.shop.slug_diameters_mm],
        "placeholders": _stated(job),
        "draws": DRAWS,
    }
    try:
        task = task_of(call)
        if not task.wait(AT_ONCE_SECONDS):
            common |= {"state": "working", "stream": call.asked_at("quote/news"), "lines": tuple(task.texts)}
            return show_part(call, "quote", job, **common)
        decision = _decision(task)
    except BobplanError as error:
        return show_part(call, "quote", job, error=error, **common)
    told = _in_shown_units(call, decision)
    common |= {
        "state": "told",
        "content": decision_content(told),
        "whole": quote_document(told.quote),
        "paper": call.asked_at("decision.pdf"),
    }
    return show_part(call, "quote", job, **common)


def task_of(call: Call) -> Task:
    """Return the search that a page of a quote listens to."""
    job = call.job()
    wish = tuple(sorted(_wish(job, call.query).items()))
    return call.planner.ask(Asked.of(job, wish=wish, what="quote"))


def content_for_paper(call: Call) -> DecisionContent:
    """Return the decision sheet that an address asks for, waiting for it where it is not at hand.

    Raises
    ------
    InputError
        If it can't be worked out, or is not ready yet.
    """
    task = task_of(call)
    task.wait(_PAPER_SECONDS)
    return decision_content(_decision(task))


def _decision(task: Task) -> Decision:
    if task.error is not None:
        raise task.error
    if not task.ended:
        raise InputError("the quote is not ready yet", hint="wait for it under Quote, then ask for the paper")
    decision: Decision = task.answer
    return decision


def _in_shown_units(call: Call, decision: Decision) -> Decision:
    quote = decision.quote
    return dataclasses.replace(decision, quote=dataclasses.replace(quote, job=call.shown(quote.job)))


def _wish(job: Job, query: Form) -> dict[str, Any]:
    """Return what an address asks besides the job's files; every fault of it at once."""
    wish: dict[str, Any] = {}
    faults: list[BobplanError] = []

    def read(name: str, key: str, reader: Any) -> None:
        if query.get(name):
            try:
                wish[key] = reader(query.get(name))
            except BobplanError as error:
                faults.append(error)

    read("bob", "bob_g", lambda text: _bob_g(job, text, "new bob"))
    read("built_for", "built_for_g", lambda text: _bob_g(job, text, "balanced for"))
    read("within", "within_g", lambda text: mass_g(job, text, "it may be off by", least=0.0))
    read("minutes_per_cut", "minutes_per_cut", lambda text: _amount(text, "minutes for a cut"))
    read("labour_per_hour", "labour_per_hour", lambda text: _amount(text, "price of an hour"))
    read("cases", "draws", _cases)
    prices: list[tuple[float, float]] = []
    for size, price in query.starting(_PRICE).items():
        if price:
            try:
                diameter_mm = job.units.parse(size, "length", above=0.0, name="slug")
                words = f"price of a slug of {drill_words(job, diameter_mm)}"
                prices.append((diameter_mm, _amount(price, words)))
            except BobplanError as error:
                faults.append(error)
    if prices:
        wish["slug_price"] = tuple(prices)
    if len(faults) == 1:
        raise faults[0]
    if faults:
        raise InputError(
            "\n".join(each.message for each in faults),
            hint="; ".join(dict.fromkeys(each.hint for each in faults if each.hint)),
        )
    return wish


def _bob_g(job: Job, text: str, name: str) -> float:
    mass = mass_g(job, text, name, above=0.0)
    refuse_beyond_reason("bob", mass, what=name, units=job.units, widened=job.plausible)
    return mass


def _amount(text: str, name: str) -> float:
    amount = finite_number(with_point(text, name=name, thousands="likely"), what=name)
    if amount < 0.0:
        raise InputError(f"{name}: given `{text}`, it is 0 or more")
    return amount


def _cases(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= _MOST_CASES):
        raise InputError(
            f"cases: given `{text[:20]}`, a whole number from 1 to {_MOST_CASES} is needed",
            hint=f"{DRAWS} is usual",
        )
    return int(text)


def _stated(job: Job) -> dict[str, str]:
    """Return what counts where a box stays empty, in words."""
    from planner.steps.spin import bob_words

    wanted = job.bobs_wanted_g
    crankshaft = job.crankshaft
    built = "not stated"
    if any(spin.known_mass is None for spin in job.spins):
        built = "what the last spin read counts"
    elif job.trials:
        built = "what the trial runs came to counts"
    elif crankshaft.built_for_bob_g is not None:
        built = f"the crankshaft's file says {bob_words(job, crankshaft.built_bobs_g)}"
    elif crankshaft.built_for_percent is not None and job.parts is not None:
        built = f"the crankshaft's file says {crankshaft.built_for_percent:g} percent of these parts"
    shop = job.shop
    prices = {f"{size:.10g} mm": f"{price:g}" for size, price in shop.slug_price.items()}
    return {
        "bob": "not stated" if wanted is None else f"the job wants {bob_words(job, wanted)}",
        "built_for": built,
        "within": "2 percent of what it was balanced for; nothing for a reading",
        "minutes_per_cut": f"{shop.minutes_per_cut:g}",
        "labour_per_hour": f"{shop.labour_per_hour:g}" if shop.labour_per_hour else "not stated",
        **{f"{_PRICE}{size}": price for size, price in prices.items()},
    }
