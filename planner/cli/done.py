"""`bobplan done`: a cut is made."""

from __future__ import annotations

import dataclasses
import re
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.console import leave, note, say
from planner.cli.options import (
    AnywayOption,
    JobOption,
    JsonOption,
    PlotOption,
    SecondsOption,
    confirm_or_leave,
    number,
    open_job,
    settled,
    typed_for,
)
from planner.errors import InputError

if TYPE_CHECKING:
    from planner.jobfile.job import Job, StoredPlan
    from planner.jobfile.write import Entries
    from planner.steps.done import AsMade


def done(
    context: typer.Context,
    steps: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[NUMBER...]",
            help="The cut's number in the plan (several: cut as planned), or a1 of a what-if plan; none for a cut that no "
            "plan had.",
        ),
    ] = None,
    job: JobOption = None,
    depth: Annotated[
        str | None, typer.Option(help="The number on the stop as it turned out. Left out: as planned.")
    ] = None,
    angle: Annotated[
        float | None,
        typer.Option("--angle", "--dial", help="The angle as dialled. Left out: as planned."),
    ] = None,
    on: Annotated[
        str | None, typer.Option(metavar="NAME", help="The counterweight. Left out: as planned.")
    ] = None,
    drill: Annotated[str | None, typer.Option(metavar="SIZE", help="The drill, or the slug's bore.")] = None,
    radius: Annotated[str | None, typer.Option(help="The radius of a face hole, slug or fill.")] = None,
    length: Annotated[str | None, typer.Option(help="The length of a slug or fill.")] = None,
    kind: Annotated[
        str | None,
        typer.Option(
            help="Of a cut that no plan had: rim (taken if left out), face, slug, fill, plug, turning, flat, bevel."
        ),
    ] = None,
    sector: Annotated[
        str | None, typer.Option(help="Over which angle a rim was turned or bevelled [deg].")
    ] = None,
    face: Annotated[
        str | None, typer.Option("--from", metavar="FACE", help="The face it was made from: front or rear.")
    ] = None,
    through: Annotated[bool, typer.Option("--through", help="It goes through.")] = False,
    deeper: Annotated[
        int | None,
        typer.Option(
            metavar="NUMBER",
            help="The hole of this cut was drilled deeper; --depth is the stop for the whole hole.",
        ),
    ] = None,
    yes: Annotated[
        bool, typer.Option("--yes", "-y", help="Don't ask when a value looks like a slip.")
    ] = False,
    unproved: Annotated[
        bool,
        typer.Option(
            "--unproved", help="Cut with settings that are not proved; asked once per job otherwise."
        ),
    ] = False,
    anyway: AnywayOption = False,
    plot: PlotOption = None,
    as_json: JsonOption = False,
    seconds: SecondsOption = 10.0,
) -> None:
    """Enter a cut as made, as planned or as it turned out; the rest is planned again at once."""
    from planner.cli import plan as plan_command
    from planner.jobfile.loaded import load_known
    from planner.jobfile.write import enter
    from planner.present.words import cut_words
    from planner.steps.done import dial_questions, overshoot_warnings, questions_on, wall_warnings
    from planner.steps.typed_cut import read_as_made

    given = list(steps or [])
    if given and job is None and (given[0].endswith(".toml") or Path(given[0]).is_file()):
        job = given.pop(0)
    opened = open_job(job, writing=True)
    typed = read_as_made(opened, **typed_for(read_as_made, context))
    prepare = _prepared(opened, given, typed)
    shown = prepare(opened)
    opened = settled(opened, ask=sys.stdin.isatty() and not as_json and not yes)
    before = dataclasses.replace(opened, stored_plan=shown.plan or opened.stored_plan)
    questions = [text for made in shown.made for text in questions_on(before, made)]
    if given and typed.dial_deg is None:
        questions += [f"{text} Say it with `--dial`" for text in dial_questions(before, shown.made)]
    receipts = [
        f"cut {made.number}{_letter(text)}, {cut_words(opened, made.cut)}"
        for made, text in zip(shown.made, given or [""], strict=False)
    ]
    if questions and not yes:
        _ask(receipts, questions, as_json=as_json)
    unproved = ask_unproved(opened, unproved=unproved, as_json=as_json)

    def checked(now: Job) -> Entries:
        entries = prepare(now)
        if entries != shown:
            raise InputError(
                f"`{opened.files.job.name}` was changed meanwhile: it is not the plan that was shown any more",
                hint="nothing was entered; `bobplan plan` shows the plan of now",
            )
        return dataclasses.replace(entries, cut_unproved=unproved)

    enter(opened.files.job, checked)
    after = load_known(opened.files.job)
    for receipt in receipts:
        (note if as_json else say)(f"entered: {receipt}")
    if not anyway:
        plan_command.stop_if_withheld(after, as_json=as_json, before={"entered": receipts})
    answer = plan_command.planned(after, seconds=seconds)
    plan_command.store(answer)
    warnings = [*wall_warnings(before, shown.made), *overshoot_warnings(after, answer)]
    if not as_json:
        for warning in warnings:
            say(warning)
        say()
    more = {"entered": receipts, "warnings": [*warnings, *answer.warnings]}
    plan_command.show_plan(answer, as_json=as_json, plot=plot, more=more)
    leave(plan_command.exit_code(answer))


def _ask(receipts: Sequence[str], questions: Sequence[str], *, as_json: bool) -> None:
    """Ask once about what looks like a slip; on no, or where nobody can answer, nothing is entered."""
    if sys.stdin.isatty() and not as_json:
        for receipt in receipts:
            say(f"about to enter: {receipt}")
        for question in questions:
            say(f"QUESTION: {question}")
        confirm_or_leave("Enter it all the same?")
        return
    from planner.errors import OpenQuestionError

    raise OpenQuestionError(
        "; ".join(questions),
        hint="nothing was entered; give it again as it really was, or with `--yes` if it is right",
    )


def ask_unproved(job: Job, *, unproved: bool, as_json: bool) -> bool:
    """Ask once per job before its first cut whether to cut with settings that are not proved; a no ends with 1.

    Returns whether it was asked, and is to be remembered with the cut.
    """
    from planner.errors import OpenQuestionError
    from planner.present.pages.prove import unproved_words

    words = unproved_words(job)
    if words is None or job.cut_unproved or job.cuts_made:
        return False
    if not unproved:
        if as_json or not sys.stdin.isatty():
            raise OpenQuestionError(
                f"{words}; nothing was entered",
                hint="prove them, or say `--unproved` with the first cut of this job: it is not asked again",
            )
        say(f"{words}.")
        confirm_or_leave("Enter the cut all the same?")
    return True


def _prepared(opened: Job, given: Sequence[str], typed: AsMade) -> Callable[[Job], Entries]:
    """Return what makes the entries from a job: asked before and again under the lock."""
    from planner.jobfile.write import Entries
    from planner.steps.done import free_cut, made_in_turn

    if not given:
        if not typed:
            raise InputError(
                "which step was cut?",
                hint="`bobplan done 1`; a cut that no plan had: `bobplan done --on A --dial 213 --drill 16 --depth 27`",
            )
        return lambda job: Entries(made=(free_cut(job, typed),))
    if typed.deeper is not None:
        raise InputError(
            "a step's number and `--deeper` don't go together",
            hint="`--deeper 1 --depth 27` enters a hole drilled deeper that no plan had",
        )
    letter = _letter_of(given)
    numbers = [_step_number(text) for text in given]
    twice = next((text for text in given if given.count(text) > 1), None)
    if twice is not None:
        raise InputError(f"step {twice} is named twice", hint="a step is cut once")
    if len(numbers) > 1 and typed:
        raise InputError(
            "`--depth`, `--angle` and the like are for one step at a time", hint="enter the steps one by one"
        )
    if not letter:
        return lambda job: Entries(made=made_in_turn(job, numbers, typed))

    def taken(job: Job) -> Entries:
        plan, own = _what_if(job, letter, numbers)
        with_plan = dataclasses.replace(job, stored_plan=plan)
        return Entries(plan=plan, made=made_in_turn(with_plan, own, typed))

    return taken


def _what_if(job: Job, letter: str, numbers: Sequence[int]) -> tuple[StoredPlan, list[int]]:
    """Return a what-if plan under the numbers of the job, and those of its cuts that are meant."""
    from planner.jobfile.lettered import lettered_plans
    from planner.steps.correction_question import metal_of, pose
    from planner.steps.plan import numbered_plan

    plans = lettered_plans(job.files.job)
    if letter not in plans:
        there = ", ".join(plans) or "none"
        raise InputError(f"there is no what-if plan {letter}", hint=f"shown and not stored: {there}")
    plan = plans[letter]
    posed = pose(job)
    asks = (posed.spin_number, len(posed.made), posed.basis, metal_of(posed))
    if (plan.after_spin, plan.after_cuts, plan.basis, plan.metal) != asks:
        raise InputError(
            f"what-if plan {letter} is not for what the job says now: a spin, a cut or a setting came since",
            hint="nothing was entered; ask for it again with `bobplan plan` and its options",
        )
    wrong = next((each for each in numbers if each > len(plan.steps)), None)
    if wrong is not None:
        raise InputError(
            f"what-if plan {letter} has no cut {letter}{wrong}", hint=f"it has {len(plan.steps)}"
        )
    plan = numbered_plan(job, dataclasses.replace(plan, metal=""))
    return plan, [plan.steps[each - 1].number for each in numbers]


_LABEL = re.compile(r"^([a-z]+)([0-9]+)$")


def _letter(text: str) -> str:
    """Return `` (a1)`` for a label of a what-if plan, else nothing."""
    return f" ({text})" if _LABEL.match(text) else ""


def _letter_of(given: Sequence[str]) -> str:
    found = {match[1] if (match := _LABEL.match(text)) else "" for text in given}
    if len(found) > 1:
        raise InputError("cuts of different plans are named", hint="enter those of one plan at a time")
    return found.pop()


def _step_number(text: str) -> int:
    match = _LABEL.match(text)
    value = number(match[2] if match else text, what="the step's number")
    if value != int(value) or value < 1:
        raise InputError(
            f"given `{text}`, a step's number is 1, 2, 3 ...", hint="`bobplan plan` shows the numbers"
        )
    return int(value)
