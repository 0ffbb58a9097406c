"""Parts: weights with what to grind beside each, the bobs that they make, and what other parts would change."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.responses import Response

from planner.bench.page import Call, Form, go, refused_on, show, show_part
from planner.bench.parts_form import (
    Weights,
    another_part,
    beside,
    boxes_of,
    ensure_whole,
    read_fraction,
    states_bob,
    weights_of,
)
from planner.bench.planning import AT_ONCE_SECONDS, Asked, Task
from planner.bench.seen import stamp_of
from planner.bench.typed import mass_g, with_point
from planner.engine.parts import PartSet, bobs
from planner.engine.parts import part as standard_part
from planner.errors import BobplanError, InputError
from planner.jobfile.job import Job
from planner.jobfile.loaded import load_known
from planner.jobfile.plausible import refuse_beyond_reason
from planner.jobfile.read import file_of
from planner.jobfile.write import PartEntries, enter_parts, name_cylinders
from planner.present.document import Document, document
from planner.present.pages.bobs import bobs_document
from planner.present.pages.heavy_metal import window_lines
from planner.present.pages.match import grams, pairing_block
from planner.present.words import judged_words, readings_words, shown_vector_words
from planner.quantity import finite_number, from_g
from planner.rotor.crankshaft import HEAVY_METAL
from planner.steps.bob_window import BobWindow
from planner.steps.bobs import bobs_of
from planner.steps.bobs import what_if as work_out
from planner.steps.bobs_drilled import DrilledBound, DrillingReach
from planner.steps.match import MatchAnswer, match_job, matched_masses_g, named_throws, unlisted_parts
from planner.steps.parts_csv import StockTable, stock_of_text

_PAIR_SECONDS = 5.0
_CHANGE = "change."
_SLIDERS = (("piston", "every piston"), ("pin", "every piston pin"))
_SAVED = {
    "weighed": "Saved: the weights as weighed.",
    "ground": "Saved: the weights as they are after grinding. Weigh again after grinding.",
    "bob": "Saved: the wanted bob.",
    "cylinders": "Saved: which cylinders hang on which throw.",
    "before": "These are the weights as they were before. Save them as weighed to have them back.",
    "same": "The file has this already; nothing was changed.",
}


@dataclass(frozen=True, kw_only=True)
class BobRow:
    """The bob of one throw, in the job's unit without it: by the file, as weighed, after grinding."""

    throw: str
    cylinders: str
    file: str
    weighed: str
    ground: str


@dataclass(frozen=True, kw_only=True)
class Look:
    """What the weights typed so far mean: what stands beside them, the bobs that they make."""

    kinds: tuple[Any, ...]
    bobs: tuple[BobRow, ...] = ()
    notes: tuple[str, ...] = ()
    trouble: BobplanError | None = None


@dataclass(frozen=True, kw_only=True)
class Slider:
    """A size to slide: its box, its range, what it is now; all in the job's unit."""

    name: str
    label: str
    value: str
    least: str
    most: str
    step: str
    unit: str
    now: str


@dataclass(frozen=True, kw_only=True)
class Then:
    """What other parts would change, in words."""

    changes: str = ""
    bob: str = ""
    difference: str = ""
    rows: tuple[tuple[str, ...], ...] = ()
    moves: str = ""
    reading: str = ""
    mounted: str = ""
    plan: tuple[str, ...] = ()
    plan_holds: bool | None = None
    heavy: str = ""
    heavy_why: tuple[str, ...] = ()
    heavy_mark: str = ""
    quote: str = ""
    trouble: BobplanError | None = None


def parts_page(
    call: Call,
    *,
    typed: Form | None = None,
    error: BobplanError | None = None,
    paired: Document | None = None,
    chosen: str = "ground_paired",
) -> Response:
    """Return the part with the weights and the bobs."""
    job = call.job()
    # weights as they were before they were saved over come with the address
    form = typed or (call.query if "weights" in call.query else Form())
    content: dict[str, Any] = {
        "typed": form,
        "weights": None,
        "look": None,
        "named": any(throw.cylinders for throw in job.crankshaft.throws),
        "cylinders": (),
        "saved": _SAVED.get(call.query.get("saved"), ""),
        "before": call.query.get("was"),
        "paired": paired,
        "chosen": chosen,
        "unit": job.units.mass,
        "tolerance": grams(job, job.match.tolerance_g),
        "states_bob": states_bob(job),
        "wanted": _wanted_boxes(job, form),
        "bob_doc": document(),
        "bob_sums": document(),
        "sliders": tuple(sliders_of(job, form)),
        "then": then_of(call, job, form),
        "makeup": job.bob_set is not None and job.bobs_wanted_g is not None,
        "stream": "",
        "lines": (),
        "window": (),
    }
    try:
        throws = named_throws(job.crankshaft.throws)
        content["cylinders"] = tuple(
            (throw.name, form.get(f"on.{throw.name}") or ", ".join(throw.cylinders)) for throw in throws
        )
        weights = weights_of(job, form)
        content["weights"] = weights
        content["look"] = look_of(job, weights)
        if job.parts is not None or job.bobs_wanted_g is not None:
            over = call.query.get("over")
            percent = (
                finite_number(with_point(over, name="percent over"), what="percent over") if over else None
            )
            blocks = bobs_document(bobs_of(call.shown(job), percent_over=percent)).blocks[1:]
            sums = [each for each in blocks if each.heading.startswith("BOB ")]
            content["bob_sums"] = document(sums)
            content["bob_doc"] = document([each for each in blocks if each not in sums])
        if call.query.get("window") == "yes":
            content |= _window(call, job)
    except BobplanError as trouble:
        error = error or trouble
    return show_part(call, "parts", job, error=error, **content)


def look(call: Call) -> Response:
    """Return what the weights typed so far mean: asked for while they are typed."""
    job = call.job()
    return show(
        call, "parts_look", look=look_of(job, weights_of(job, call.form)), job=job, unit=job.units.mass
    )


def what_if(call: Call) -> Response:
    """Return what other parts would change: asked for while a slider moves."""
    job = call.job()
    if "page" in call.form:
        return parts_page(call, typed=call.form)
    return show(call, "parts_then", then=then_of(call, job, call.form), job=job)


def makeup(call: Call) -> Response:
    """Return which pieces of the shop's bob set go on which throw."""
    from planner.present.pages.bob_makeup import makeup_block
    from planner.steps.bob_makeup import makeup_of

    job = call.job()
    return show(call, "parts_makeup", made=document(makeup_block(job, makeup_of(job))))


@refused_on(parts_page)
def save(call: Call) -> Response:
    """Save the weights as weighed, or as they are after grinding; or pair them and show it."""
    form = call.form
    do = form.get("do")
    if do in ("pair", "stock"):
        job = call.job()
        weights = weights_of(job, form)
        ensure_whole(weights, leave_out=True)
        stock = _stock(job, form) if do == "stock" else None
        answer = _matched(job, weights.parts, weights, paired=do == "pair", stock=stock)
        found = pairing_block(answer)
        return parts_page(
            call,
            typed=form,
            paired=None if found is None else document(found),
            chosen="ground_paired" if do == "pair" else "ground_stock",
        )
    before = boxes_of(call.job())
    if not _save(call, do):
        return go(call.to("parts", saved="same"))
    was = urlencode([*before, ("saved", "before")]) if before else ""
    return go(call.to("parts", saved="weighed" if do == "weighed" else "ground", was=was))


@refused_on(parts_page)
def save_bob(call: Call) -> Response:
    """Save the wanted bob of every throw, where only that is known."""

    def entries(now: Job) -> PartEntries:
        call.ensure_unchanged(now)
        return PartEntries(wanted_g=_wanted_g(now, call.form))

    job = call.job_as_seen()
    _refuse_elsewhere(job)
    changed = enter_parts(job.files.job, entries)
    return go(call.to("parts", saved="bob" if changed else "same"))


@refused_on(parts_page)
def save_cylinders(call: Call) -> Response:
    """Save which cylinders hang on which throw."""
    job = call.job_as_seen()
    call.folder.ensure_inside(file_of(job, "throws"))
    on = {
        throw.name: tuple(
            each for text in call.form.get(f"on.{throw.name}").split(",") if (each := text.strip())
        )
        for throw in job.crankshaft.throws
    }
    wrong = [throw for throw in job.crankshaft.throws if len(on[throw.name]) != throw.rods]
    if wrong:
        raise InputError(
            "\n".join(
                f"throw {throw.name} has {throw.rods} rods, {len(on[throw.name])} cylinders are named"
                for throw in wrong
            ),
            hint="name them with commas between: 1, 5",
        )
    name_cylinders(job, on, call.ensure_unchanged)
    return go(call.to("parts", saved="cylinders"))


def task_of(call: Call) -> Task:
    """Return the search for the bobs that drilling alone can balance."""
    return call.planner.ask(_window_asked(call.job()))


def look_of(job: Job, weights: Weights) -> Look:
    """Return what the weights typed so far mean; nothing is written."""
    kinds = beside(job, weights)
    parts = weights.parts
    if parts is None:
        return Look(kinds=kinds, notes=tuple(weights.faults))
    try:
        ground = matched_masses_g(match_job(replace(job, parts=parts), tolerance_g=weights.tolerance_g))
        throws = job.crankshaft.throws
        own = [replace(throw, bob_wanted_g=None) for throw in throws]
        weighed = bobs(parts, throws=own)
        after = bobs(_replaced(parts, ground), throws=own)
        rows = tuple(
            BobRow(
                throw=one.throw,
                cylinders=", ".join(one.cylinders),
                file="" if job.bobs_wanted_g is None else _grams(job, job.bobs_wanted_g[one.throw]),
                weighed="" if one.sum_g is None else _grams(job, one.sum_g),
                ground="" if two.sum_g is None else _grams(job, two.sum_g),
            )
            for one, two in zip(weighed.bobs, after.bobs, strict=True)
        )
        notes = list(weighed.notes)
        unfinished = [kind.title for kind in weights.kinds if kind.started and kind.missing]
        if unfinished:
            notes.append(f"without {', '.join(unfinished)}: not every weight is there yet")
        if states_bob(job):
            notes.append("the file states the bob itself: that one counts, not the weights")
        return Look(kinds=kinds, bobs=rows, notes=tuple(notes))
    except BobplanError as trouble:
        return Look(kinds=kinds, trouble=trouble)


def then_of(call: Call, job: Job, form: Form) -> Then | None:
    """Return what the sliders ask; None where there is nothing to slide."""
    if job.bobs_wanted_g is None:
        return None
    try:
        changes, fraction = _changes(job, form)
        answer = work_out(job, changes, fraction=fraction)
    except BobplanError as trouble:
        return Then(trouble=trouble)
    shown = call.shown(job)
    rows = tuple(
        (
            name,
            *(_grams(job, mass) for mass in (before, answer.after_g[name])),
            _signed(job, answer.after_g[name] - before),
        )
        for name, before in answer.before_g.items()
    )
    same = len({row[1:] for row in rows}) == 1
    differences = {answer.after_g[name] - before for name, before in answer.before_g.items()}
    moves = reading = ""
    if answer.shift_gmm is not None and answer.expected is not None:
        left, right = (shown_vector_words(shown, side, vector) for side, vector in answer.shift_gmm.items())
        moves = f"left {left}, right {right}" if any(abs(each) > 1e-9 for each in differences) else ""
        reading = readings_words(shown, answer.expected)
    plan: tuple[str, ...] = ()
    if answer.judged is not None:
        plan = tuple(
            f"{each.at}: {judged_words(shown, each.at, each.amount_gmm)} of "
            f"{judged_words(shown, each.at, each.tolerance_gmm)}"
            for each in answer.judged
        )
    heavy, mark, why = _heavy(call, job, answer.after_g)
    if answer.verdict == "in tolerance" and job.stored_plan is not None and not _has_slugs(job):
        heavy, mark = "Not needed", "good"
        why = ("the present plan, by drilling alone, still holds", *why[-1:])
    mean_g = sum(answer.after_g.values()) / len(answer.after_g)
    return Then(
        bob=f"{rows[0][2]} {job.units.mass}" if same else "",
        difference=f"{rows[0][3]} {job.units.mass}" if same and float(rows[0][3]) else "",
        rows=() if same else rows,
        moves=moves,
        reading=reading,
        mounted=", ".join(part.name for part in job.mounted if part.in_engine),
        plan=plan,
        plan_holds=None if answer.verdict is None else answer.verdict == "in tolerance",
        heavy=heavy,
        heavy_mark=mark,
        heavy_why=why,
        quote=call.to("quote", bob=_number(job, mean_g)),
    )


def sliders_of(job: Job, form: Form) -> Iterator[Slider]:
    """Yield what can be slid: piston, pin and the share of the reciprocating mass, or the bob alone without weights."""
    if job.bobs_wanted_g is None:
        return
    found: list[tuple[str, str, tuple[float, ...]]] = []
    if job.parts is None:
        bob_g = max(job.bobs_wanted_g.values())
        found.append(("bob", "every bob", (bob_g,)))
    else:
        for name, label in _SLIDERS:
            part = job.parts.named(name)
            if part is not None:
                found.append((name, label, part.masses_g))
    for name, label, masses_g in found:
        mean = from_g(sum(masses_g) / len(masses_g), job.units.mass)
        reach = _round_up(0.25 * mean)
        yield Slider(
            name=f"{_CHANGE}{name}",
            label=f"{label} lighter (-) or heavier",
            value=form.get(f"{_CHANGE}{name}") or "0",
            least=f"{-reach:g}",
            most=f"{reach:g}",
            step=f"{_step(reach):g}",
            unit=job.units.mass,
            now=f"{'mean now' if len(masses_g) > 1 else 'now'} {grams(job, sum(masses_g) / len(masses_g))} {job.units.mass}",
        )
    if job.parts is not None:
        own = job.parts.reciprocating_fraction
        yield Slider(
            name="what_fraction",
            label="share of the reciprocating mass in the bob",
            value=form.get("what_fraction") or f"{own:g}",
            least=f"{min(0.3, own):g}",
            most=f"{max(0.7, own):g}",
            step="0.005",
            unit="",
            now=f"now {own:g}",
        )


def _changes(job: Job, form: Form) -> tuple[dict[str, float], float | None]:
    """Return grams more or less per part, and another share; what is not changed is left out."""
    changes: dict[str, float] = {}
    for name, text in form.starting(_CHANGE).items():
        if not text:
            continue
        plain = text.replace("\N{MINUS SIGN}", "-")
        change = mass_g(job, plain, name.replace("_", " "))
        if change:
            changes[name] = change
    text = form.get("what_fraction")
    fraction = read_fraction(text) if text else None
    if job.parts is None or fraction == job.parts.reciprocating_fraction:
        fraction = None
    return changes, fraction


def _heavy(call: Call, job: Job, after_g: Mapping[str, float]) -> tuple[str, str, tuple[str, ...]]:
    """Return whether heavy metal is needed with these bobs: a sentence, its mark, and why."""
    try:
        reach = _reach(job.files.job, stamp_of(job))
        bound = reach.with_bobs(after_g)
    except BobplanError as trouble:
        return "Not known", "", tuple(each for each in (trouble.message, trouble.hint) if each)
    words, mark, why = _bound_words(job, bound, _confirmed(call, job))
    return words, mark, (*why, f"reckoned from {reach.basis}")


def _has_slugs(job: Job) -> bool:
    steps = () if job.stored_plan is None else job.stored_plan.steps
    return any(step.cut.kind in HEAVY_METAL for step in steps)


def _bound_words(
    job: Job, bound: DrilledBound, confirmed_g: tuple[float, float] | None
) -> tuple[str, str, tuple[str, ...]]:
    window = bound.window

    def mass(mass_g: float) -> str:
        return job.units.text(mass_g, "mass", digits=1 if job.units.mass == "g" else 3)

    low, high = window.proven_g or (math.nan, math.nan)
    if bound.drilled == "ruled out, too heavy":
        why = f"drilling alone can't do it with bobs above {mass(high)}: proven"
        return "Needed, or another way", "bad", (why,)
    if bound.drilled == "ruled out, too light":
        why = f"with bobs below {mass(low)} more would have to come off the counterweights than can be drilled: proven"
        return "No; but drilling alone can't do it", "bad", (why,)
    if bound.drilled == "ruled out":
        return "Drilling alone can't do it", "bad", ("proven; Quote looks at the other ways",)
    if not window.matters:
        return "Not for the bobs' sake", "good", ("equal bobs cancel in this crankshaft",)
    inside = (
        f"drilling alone is ruled out only above {mass(high)}"
        if low <= 0.0
        else f"drilling alone is ruled out only below {mass(low)} and above {mass(high)}"
    )
    if confirmed_g is not None and confirmed_g[0] - 1e-6 <= bound.bob_g <= confirmed_g[1] + 1e-6:
        ends = f"{mass(confirmed_g[0])} and {mass(confirmed_g[1])}"
        why = f"plans by drilling alone were found at {ends}, on both sides of it"
        return "Not needed", "good", (why, inside)
    return "Not proven either way", "close", (f"{inside}; look for plans to know more",)


@functools.lru_cache(maxsize=8)
def _reach(path: Path, stamp: str) -> DrillingReach:
    """Return what drilling can do for a job as its files are: ``stamp`` makes another of changed files."""
    del stamp
    return DrillingReach(load_known(path))


def _window_asked(job: Job) -> Asked:
    return Asked.of(job, what="window")


def _confirmed(call: Call, job: Job) -> tuple[float, float] | None:
    task = call.planner.known(_window_asked(job))
    if task is None or task.error is not None or not task.ended:
        return None
    window: BobWindow = task.answer
    return window.confirmed_g


def _window(call: Call, job: Job) -> dict[str, Any]:
    task = call.planner.ask(_window_asked(job))
    if not task.wait(AT_ONCE_SECONDS):
        return {"stream": call.to("parts/news", window="yes"), "lines": tuple(task.texts)}
    if task.error is not None:
        raise task.error
    return {"window": tuple(line.text for line in window_lines(call.shown(job), task.answer))}


def _save(call: Call, do: str) -> bool:
    form = call.form
    if do not in ("weighed", "ground", "ground_paired", "ground_stock"):
        raise InputError(
            "how the weights are to be saved was not said", hint="use a button below the weights"
        )

    def entries(now: Job) -> PartEntries:
        call.ensure_unchanged(now)
        weights = weights_of(now, form)
        gone = ensure_whole(weights, leave_out=form.get("leave_out") == "yes")
        parts, new = weights.parts, another_part(now, form)
        if new is not None:
            parts = replace(parts or PartSet(parts=()), parts=(*(parts.parts if parts else ()), new))
        if parts is None:
            raise InputError(
                "there is no weight yet", hint="type them, or the wanted bob where only that is known"
            )
        pieces = {part.name: part for part in parts.parts}
        answer = None
        if do != "weighed":
            stock = _stock(now, form) if do == "ground_stock" else None
            answer = _matched(now, parts, weights, paired=do == "ground_paired", stock=stock)
            for name, masses in matched_masses_g(answer).items():
                there = pieces.get(name)
                pieces[name] = (
                    standard_part(name, masses) if there is None else replace(there, masses_g=masses)
                )
        old = {part.name: part.masses_g for part in (now.parts.parts if now.parts else ())}
        elsewhere = now.parts is not None and file_of(now, "parts") != now.files.job
        own = 0.5 if now.parts is None else now.parts.reciprocating_fraction
        return PartEntries(
            masses_g={
                name: part.masses_g if len(part.masses_g) > 1 else part.masses_g[0]
                for name, part in pieces.items()
                if _other(part.masses_g, old.get(name))
            },
            kinds={} if new is None else {new.name: (new.per, new.motion)},
            left_out=gone,
            fraction=weights.fraction if weights.fraction is not None and weights.fraction != own else None,
            others=unlisted_parts(match_job(now)) if elsewhere else None,
            weights_say_bob=form.get("weights_say_bob") == "yes",
        )

    job = call.job()
    entries(job)
    if form.get("weights_say_bob") == "yes":
        _refuse_elsewhere(job)
    return enter_parts(job.files.job, entries)


def _matched(
    job: Job, parts: PartSet | None, weights: Weights, *, paired: bool, stock: StockTable | None
) -> MatchAnswer:
    """Return what to grind off which of the weights that are typed: as they are, paired, or chosen from a stock."""
    return match_job(
        replace(job, parts=parts),
        pair=paired,
        stock=stock,
        tolerance_g=weights.tolerance_g,
        seconds=_PAIR_SECONDS,
    )


def _stock(job: Job, form: Form) -> StockTable:
    text = form.get("stock")
    if not text:
        raise InputError(
            "no stock was pasted", hint="paste a table: part, piston_g, pin_g, rod_small_end_g, rod_big_end_g"
        )
    return stock_of_text(text, called="the stock", units=job.units)


def _other(new_g: tuple[float, ...], old_g: tuple[float, ...] | None) -> bool:
    """Return whether weights differ from those of the file by more than the last digit that is shown."""
    if old_g is None or len(old_g) != len(new_g):
        return True
    return any(abs(new - old) > 1e-6 for new, old in zip(new_g, old_g, strict=True))


def _refuse_elsewhere(job: Job) -> None:
    """Refuse to change a bob that a file states which other jobs use too."""
    section = "throws" if any(throw.bob_wanted_g is not None for throw in job.crankshaft.throws) else "bobs"
    where = file_of(job, section)
    if where != job.files.job:
        raise InputError(
            f"the wanted bob stands in `{where.name}`, which other jobs may use too",
            hint="it is changed there; nothing was saved",
        )


def _wanted_boxes(job: Job, form: Form) -> tuple[tuple[str, str], ...]:
    wanted = job.bobs_wanted_g or {}
    return tuple(
        (
            throw.name,
            form.get(f"bob.{throw.name}")
            or ("" if throw.name not in wanted else _number(job, wanted[throw.name])),
        )
        for throw in job.crankshaft.throws
    )


def _wanted_g(job: Job, form: Form) -> dict[str, float]:
    """Return the wanted bob of every throw; one box that is filled serves all the empty ones."""
    texts = [form.get(f"bob.{throw.name}") for throw in job.crankshaft.throws]
    given = [text for text in texts if text]
    if not given:
        raise InputError("no wanted bob was typed", hint="type the mass of one throw's bob; it serves all")
    if len(given) not in (1, len(texts)):
        empty = [throw.name for throw, text in zip(job.crankshaft.throws, texts, strict=True) if not text]
        raise InputError(
            f"the bob of throw {', '.join(empty)} is missing",
            hint="fill one box for all throws, or every one",
        )
    wanted = {}
    for throw, text in zip(job.crankshaft.throws, texts, strict=True):
        name = f"bob of throw {throw.name}"
        mass = mass_g(job, text or given[0], name, above=0.0)
        refuse_beyond_reason("bob", mass, what=name, units=job.units, widened=job.plausible)
        wanted[throw.name] = mass
    return wanted


def _replaced(parts: Any, ground_g: Mapping[str, tuple[float, ...]]) -> Any:
    return replace(
        parts,
        parts=tuple(
            replace(part, masses_g=ground_g[part.name]) if part.name in ground_g else part
            for part in parts.parts
        ),
    )


def _grams(job: Job, mass_g: float) -> str:
    return job.units.text(mass_g, "mass", digits=1 if job.units.mass == "g" else 4, with_unit=False)


def _signed(job: Job, mass_g: float) -> str:
    text = _grams(job, abs(mass_g))
    if not float(text):
        return text
    return f"{'-' if mass_g < 0.0 else '+'}{text}"


def _number(job: Job, mass_g: float) -> str:
    return f"{from_g(mass_g, job.units.mass):.10g}"


def _round_up(value: float) -> float:
    """Return a round number that is no less: 1, 2 or 5 of its power of ten."""
    if value <= 0.0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(value))
    return next(each * power for each in (1.0, 2.0, 5.0, 10.0) if each * power >= value * (1.0 - 1e-9))


def _step(reach: float) -> float:
    return _round_up(reach / 200.0)
