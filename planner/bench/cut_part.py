"""Cut: one card per cut with the numbers to set, made by a tap, entered as it came out, planned otherwise by a wish."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from starlette.responses import Response

from planner.bench.head import spot_is_settled
from planner.bench.page import Call, Form, go, refused_on, show_part
from planner.bench.planning import AT_ONCE_SECONDS, Asked, Task
from planner.bench.typed import with_point
from planner.errors import BobplanError, InputError, OpenQuestionError
from planner.jobfile.job import Job, MadeCut
from planner.jobfile.write import Entries, confirm_spot, enter, settle_dialled
from planner.machine.spin import newest_state
from planner.present.document import document
from planner.present.drawings.live import end_view_svg, under_drill_svg
from planner.present.pages.heavy_metal import fewer_words
from planner.present.pages.plan import heavy_spot_lines, metal_words, nothing_to_cut_words, plan_document
from planner.present.pages.prove import unproved_words
from planner.present.pages.sheet import CutCard, card_of
from planner.present.pages.withheld import withheld_document
from planner.present.words import (
    CAUTIONS,
    chance_words,
    cut_words,
    drill_words,
    percent,
    plural,
    readings_words,
)
from planner.quantity import factor, finite_number
from planner.steps.dialled import STORIES, open_cuts, question_lines, read_stories, told
from planner.steps.done import (
    dial_questions,
    free_cut,
    made_cut,
    overshoot_warnings,
    questions_on,
    wall_warnings,
)
from planner.steps.keep_plan import keep_plan
from planner.steps.plan_answer import PlanAnswer, PlanStep
from planner.steps.typed_cut import read_as_made
from planner.steps.withheld import withheld_of

_WORDS = ("heavy_metal", "prefer_cuts", "prefer")
_AFTER_A_FAULT_SECONDS = 15.0
"""The same where something typed was refused: the cut that it was typed for has to be there to type it again."""


@dataclass(frozen=True, kw_only=True)
class Shown:
    """One cut as a card of the page: the words of the sheet's card, the live drawing, what a form starts with."""

    card: CutCard
    drawing: str
    dial: str
    stop: str
    drill: str
    radius: str
    length: str
    sector: str
    kind: str
    counterweight: str
    can_drag: bool


@dataclass(frozen=True, kw_only=True)
class Cost:
    """A plan in a few words, to compare two: cuts, what is left, chance, metal."""

    cuts: str
    left: str
    chance: str
    metal: str


def cut_page(call: Call, *, typed: Form | None = None, error: BobplanError | None = None) -> Response:
    """Return the part with the cut list, or what stands before it."""
    job = call.job()
    form = typed or Form()
    receipt, broken = _receipt(job, call.query.get("entered"))
    common: dict[str, Any] = {
        "typed": form,
        "receipt": receipt,
        "broken": broken,
        "state": "plan",
        "documents": (),
        "drawing": "",
        "lines": (),
        "fewer": "",
        "stream": "",
        "cards": (),
        "now": None,
        "made": made_rows(job),
        "wish": wish_of(call.query),
        "wish_words": (),
        "costs": (),
        "answer": None,
        "warnings": (),
        "cautions": CAUTIONS,
        "names": [each.name for each in job.crankshaft.counterweights],
        "drills": [(f"{size:.10g} mm", drill_words(job, size)) for size in job.shop.drills_mm],
        "asks_unproved": _asks_unproved(job),
        "unit": job.units.length,
        "mm_per_unit": factor(job.units.length, "length"),
        "shown_mm": factor(call.shown(job).units.length, "length"),
        "kept_wishes": [
            (name, value)
            for name, value in call.query.pairs
            if value and name in ("fix", "forbid", "drill", "greatest_depth", *_WORDS, "one_drill")
        ],
        "depth_to": job.shop.depth_to,
        "next_reading": "",
        "verdict": "",
        "whole": document(),
    }

    def page(**content: Any) -> Response:
        return show_part(call, "cut", job, error=content.pop("error", error), **{**common, **content})

    try:
        if "pin_label" in call.query:
            kept = [
                (name, value)
                for name, value in call.query.pairs
                if value and not name.startswith("pin_") and not _is_moved(value, call.query)
            ]
            return go(f"{call.to('cut')}?{urlencode([*kept, ('fix', _pinned(call.query))])}")
        before = _before_any_plan(call, job)
        if before is not None:
            return page(**before)
        task = _asked(call, job)
        if not task.wait(AT_ONCE_SECONDS if error is None else _AFTER_A_FAULT_SECONDS):
            return page(state="planning", stream=call.asked_at("cut/news"), lines=tuple(task.texts))
        if task.error is not None:
            raise task.error
        answer = task.answer
        assert answer is not None
        why = None
        if not common["wish"]:
            why = keep_plan(answer)
            if not answer.kept:
                job = call.job()  # the plan stands in the file now
            common["made"] = made_rows(job)
        return page(**_plan(call, answer, () if why is None else (why,)))
    except BobplanError as trouble:
        return page(state="no", error=error or trouble)


@refused_on(cut_page)
def confirm(call: Call) -> Response:
    """Note that the heavy spot of the newest spin was found where it is said to be."""
    confirm_spot(call.file, call.ensure_unchanged)
    return go(call.to("cut"))


@refused_on(cut_page)
def settle(call: Call) -> Response:
    """Answer once what the files are questioned about, or where cuts are that were made under other settings."""
    from planner.jobfile.plausible import right_lines
    from planner.jobfile.write import remember_right

    job = call.job_as_seen()
    stories = call.form.starting("story.")
    if stories:
        text = ",".join(f"{number}={story}" for number, story in stories.items() if story in STORIES)
        said = read_stories(text, open_cuts(job))

        def decided(now: Job) -> Mapping[int, MadeCut]:
            call.ensure_unchanged(now)
            return told(now, said)

        settle_dialled(job.files.job, decided)
    elif call.form.get("right") == "yes":
        remember_right(job, right_lines(job.questions))
    return go(call.to("cut"))


@refused_on(cut_page)
def enter_cut(call: Call) -> Response:
    """Enter a cut as made: a step of the plan as planned or as it turned out, or one that no plan had."""
    number = _enter(call, call.job())
    # the rest is being planned while the browser follows
    _asked(dataclasses.replace(call, query=Form()), call.job())
    return go(call.to("cut", entered=str(number)))


def take(call: Call) -> Response:
    """Take a plan that was asked for with a wish as the job's plan."""
    wanted = dataclasses.replace(
        call, query=Form(tuple(pair for pair in call.form.pairs if pair[0] != "seen"))
    )
    try:
        job = call.job_as_seen()
        task = _asked(wanted, job)
        task.wait(120.0)
        if task.error is not None:
            raise task.error
        if task.answer is None:
            raise InputError("the plan is not ready yet", hint="wait for it, then take it")
        why = keep_plan(task.answer, basis_of=job)
        if why is not None:
            raise InputError(why)
    except BobplanError as error:
        return cut_page(wanted, error=error)
    return go(call.to("cut"))


def task_of(call: Call) -> Task:
    """Return the search that a page listens to."""
    return _asked(call, call.job())


def _before_any_plan(call: Call, job: Job) -> dict[str, Any] | None:
    """Return what has to be settled first; None when a plan can be shown."""
    if not job.spins and not job.trials:
        raise InputError(
            "there is no spin yet, a plan needs one",
            hint="spin the crankshaft and enter the four numbers under Spin",
        )
    from planner.jobfile.plausible import right_lines

    if right_lines(job.questions):
        return {"state": "right", "lines": job.questions}
    waiting = open_cuts(job)
    if waiting:
        return {
            "state": "stories",
            "lines": tuple(question_lines(job, waiting)),
            "cards": tuple((one.made.number, cut_words(job, one.made.cut)) for one in waiting),
        }
    withheld = withheld_of(job)
    if withheld is not None and "anyway" not in call.query:
        return {"state": "withheld", "whole": withheld_document(job, withheld)}
    if not spot_is_settled(job):
        from planner.steps.correction_question import pose

        reading = [complex(each) for each in pose(job).reading.vectors_gmm]
        return {
            "state": "confirm",
            "drawing": end_view_svg(job, reading),
            "lines": tuple(heavy_spot_lines(call.shown(job), reading)),
        }
    return None


def _plan(call: Call, answer: PlanAnswer, warnings: tuple[str, ...]) -> dict[str, Any]:
    shown = call.shown(answer.job)
    told = dataclasses.replace(answer, job=shown)
    cards = tuple(_shown(step, told, answer) for step in answer.steps)
    chosen = call.query.get("card")
    # a hole that was just put somewhere is what one wants to see
    first = next((each for each in cards if each.card.pinned), None) if call.query.all("fix") else None
    step = call.form.get("step")
    if step:  # the cut that was typed is the one to look at
        chosen = next((each.card.label for each in cards if str(each.card.number) == step), chosen)
    now = next((each for each in cards if each.card.label == chosen), first or (cards[0] if cards else None))
    fewer = answer.heavy_metal.fewer
    notes = (*warnings, *overshoot_warnings(answer.job, answer))
    return {
        "answer": told,
        "cards": cards,
        "now": now,
        "warnings": notes,
        "wish_words": answer.what_if,
        "costs": _costs(call, answer) if wish_of(call.query) else (),
        "lines": () if answer.steps else (_none_words(told),),
        "whole": plan_document(told),
        "next_reading": readings_words(shown, answer.foretold) if answer.steps else "",
        "verdict": _verdict(answer),
        "fewer": "" if fewer is None else fewer_words(fewer),
    }


def _none_words(answer: PlanAnswer) -> str:
    if answer.outcome.feasible:
        return nothing_to_cut_words(answer)
    proven = answer.outcome.certificate is not None
    return "No plan is possible: proven." if proven else "No plan was found."


def _verdict(answer: PlanAnswer) -> str:
    chance = (
        ""
        if answer.chances is None
        else f", the next spin proves it with {chance_words(answer.chances.one_spin_proves)}"
    )
    return f"{'With these cuts' if answer.steps else 'As it stands'}: {answer.verdict}{chance}"


def _shown(step: PlanStep, told: PlanAnswer, answer: PlanAnswer) -> Shown:
    """Return a card in the units to show; what a form starts with is in the job's own."""
    card = card_of(step, told)
    units = answer.job.units
    cut = step.cut
    drawing = under_drill_svg(told, step, label=f"{card.picture.title}. {card.picture.says}")
    return Shown(
        card=card,
        drawing=drawing,
        dial=f"{step.dial_deg:.10g}",
        stop="" if step.stop_mm is None else _number(units.text(step.stop_mm, "length")),
        drill=f"{cut.diameter_mm:.10g} mm",
        radius="" if cut.radius_mm is None else _number(units.text(cut.radius_mm, "length")),
        length="" if cut.length_mm is None else _number(units.text(cut.length_mm, "length")),
        sector="" if cut.sector_deg is None else f"{cut.sector_deg:.10g}",
        kind=cut.kind,
        counterweight=cut.counterweight,
        can_drag=" data-rim=" in drawing,
    )


def _number(text: str) -> str:
    return text.partition(" ")[0]


def _costs(call: Call, answer: PlanAnswer) -> tuple[tuple[str, Cost], ...]:
    """Return the plan by the files and the one with the wish, side by side; the first only if it is at hand soon."""
    found = []
    plain = dataclasses.replace(call, query=Form())
    task = _asked(plain, call.job())
    if task.wait(AT_ONCE_SECONDS) and task.answer is not None:
        found.append(("by the files", _cost(task.answer)))
    found.append(("with this wish", _cost(answer)))
    return tuple(found)


def _cost(answer: PlanAnswer) -> Cost:
    if not answer.steps and not answer.outcome.feasible:
        return Cost(cuts="no plan", left="", chance="", metal="")
    return Cost(
        cuts=plural(len(answer.steps), "cut"),
        left=f"leaves {percent(answer.share_of_limit)} of the limit",
        chance=""
        if answer.chances is None
        else f"next spin passes: {chance_words(answer.chances.one_spin_proves)}",
        metal=metal_words(answer),
    )


def wish_of(query: Form) -> dict[str, Any]:
    """Return what an address wishes of the plan, as `planner.steps.what_if.read_what_if` takes it; empty for none."""
    wish: dict[str, Any] = {}
    for name in ("fix", "forbid", "drill"):
        if query.all(name):
            wish[name] = tuple(query.all(name))
    if query.get("greatest_depth"):
        wish["greatest_depth"] = with_point(query.get("greatest_depth"), name="no deeper than")
    for name in _WORDS:
        if query.get(name):
            wish[name] = query.get(name)
    if query.get("one_drill") == "yes":
        wish["one_drill"] = True
    return wish


def _asked(call: Call, job: Job) -> Task:
    wish = wish_of(call.query)
    asked = Asked.of(job, wish=tuple(sorted(wish.items())), anew=call.query.get("anew") == "yes")
    return call.planner.ask(asked)


def _is_moved(fix: str, query: Form) -> bool:
    """Return whether a wish is the hole that is being put elsewhere: it was pinned before."""
    was = query.get("pin_was")
    if not was:
        return False
    dial = finite_number(was, what="the dial number before")
    return fix.startswith(f"{query.get('pin_drill')} at {dial:g} on {query.get('pin_on')},")


def _pinned(query: Form) -> str:
    """Return a hole that was dragged, or whose numbers were typed, as the wish to keep it there."""
    on, drill = query.get("pin_on"), query.get("pin_drill")
    dial = finite_number(with_point(query.get("pin_dial"), name="dial"), what="dial")
    depth = with_point(query.get("pin_depth"), name="depth")
    return f"{drill} at {dial:g} on {on}" + (f", depth {depth}" if depth else "")


def _receipt(job: Job, number: str) -> tuple[str, tuple[str, ...]]:
    """Return the newest cut in words, and the walls that it breaks, when it is the one that was just entered."""
    made = job.cuts_made[-1] if job.cuts_made else None
    if made is None or str(made.number) != number:
        return "", ()
    before = dataclasses.replace(job, cuts_made=job.cuts_made[:-1])
    try:
        warnings = wall_warnings(before, [made])
    except BobplanError:
        warnings = ()
    return f"cut {made.number}, {cut_words(job, made.cut)}", warnings


def _enter(call: Call, job: Job) -> int:
    form = call.form
    number = form.get("step")

    def prepared(now: Job) -> MadeCut:
        call.ensure_unchanged(now, plan=bool(number))
        typed = _as_made(now, form)
        if not number:
            return free_cut(now, typed)
        if not re.fullmatch(r"[0-9]{1,4}", number):
            raise InputError(f"`{number[:20]}` is no cut of the plan", hint="load the page again")
        return made_cut(now, int(number), typed)

    made = prepared(job)
    receipt = f"cut {made.number}, {cut_words(job, made.cut)}"
    if form.get("yes") != "yes":
        questions = list(questions_on(job, made))
        if number and not form.get("dial"):
            questions += dial_questions(job, [made])
        if questions:
            raise OpenQuestionError(
                f"{receipt}: {'; '.join(questions)}",
                hint="if it really is so, say yes below and enter it again; nothing was entered",
            )
    unproved = _asks_unproved(job)
    if unproved and form.get("unproved") != "yes":
        raise OpenQuestionError(
            f"{unproved_words(job)}; nothing was entered",
            hint="prove them by the known-mass walk-through under Shop, or say that you cut all the same",
        )

    def entries(now: Job) -> Entries:
        # the very job that was looked at: nothing was written since
        if now is not job and prepared(now) != made:
            raise InputError(
                "the plan is not the one that was shown any more",
                hint="nothing was entered; look at the plan of now",
            )
        return Entries(made=(made,), cut_unproved=bool(unproved))

    enter(job.files.job, entries)
    return made.number


def _as_made(job: Job, form: Form) -> Any:
    """Return what was typed of a cut; a box that still says what was planned is as planned."""

    if form.get("as") == "planned":  # what stands in boxes beside it is not meant
        return read_as_made(job)

    def text(name: str) -> str | None:
        typed, planned = form.get(name), form.get(f"planned_{name}")
        if not typed or typed == planned:
            return None
        return with_point(typed, name=name)

    angle = text("dial")
    return read_as_made(
        job,
        depth=text("stop"),
        angle=None if angle is None else finite_number(angle, what="dial"),
        on=_other(form, "on"),
        drill=_other(form, "drill"),
        radius=text("radius"),
        length=text("length"),
        sector=text("sector"),
        kind=form.get("kind") or None,
        face=form.get("face") or None,
        through=form.get("through") == "yes",
    )


def _other(form: Form, name: str) -> str | None:
    typed = form.get(name)
    if not typed or typed == form.get(f"planned_{name}"):
        return None
    return with_point(typed, name=name) if name == "drill" else typed


def _asks_unproved(job: Job) -> bool:
    """Return whether it has to be said once that this job is cut with settings that are not proved."""
    return unproved_words(job) is not None and not job.cut_unproved and not job.cuts_made


def made_rows(job: Job) -> tuple[tuple[int, str], ...]:
    """Return the cuts made since the newest spin: number and words."""
    try:
        newest = newest_state(job.spins)[-1] + 1
    except InputError:
        newest = 0
    return tuple(
        (made.number, cut_words(job, made.cut)) for made in job.cuts_made if made.after_spin >= newest
    )
