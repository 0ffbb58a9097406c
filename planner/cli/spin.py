"""`bobplan spin`: four numbers off the display, and what they mean."""

from __future__ import annotations

import dataclasses
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.console import ANSWER_IS_NO, GOOD, leave, note, say, say_json, show, tell
from planner.cli.options import (
    READING_PROMPTS,
    AnywayOption,
    JobOption,
    JsonOption,
    PlotOption,
    SecondsOption,
    WorkOption,
    confirm_or_leave,
    finite,
    names_job,
    open_job,
    settled,
)
from planner.errors import InputError

if TYPE_CHECKING:
    from planner.jobfile.job import Job, MadeCut


def spin(
    numbers: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[LEFT ANGLE RIGHT ANGLE]",
            help="Left amount, left angle, right amount, right angle, in the job's units; none: four prompts.",
        ),
    ] = None,
    job: JobOption = None,
    bobs: Annotated[
        str | None,
        typer.Option(
            help="What was clamped on: `1729`, or `1=1729,2=1729.5`; 0 = bare. Left out: as before."
        ),
    ] = None,
    mounted: Annotated[
        str | None, typer.Option(help="Mounted parts that were on, by comma; `none`. Left out: as before.")
    ] = None,
    repeat: Annotated[
        bool, typer.Option("--repeat", help="Same state as the spin before: averaged with it.")
    ] = False,
    speed: Annotated[
        float | None, typer.Option(help="Speed of the spin [rpm].", min=1.0, callback=finite)
    ] = None,
    cut_as_planned: Annotated[
        bool,
        typer.Option(
            "--cut-as-planned", help="Every open step of the plan was cut as planned before this spin."
        ),
    ] = False,
    known_mass: Annotated[
        str | None, typer.Option(help="A check spin: the mass that was put on, for example `10 g`.")
    ] = None,
    known_radius: Annotated[str | None, typer.Option(help="Its radius.")] = None,
    known_angle: Annotated[
        float | None,
        typer.Option(
            help="Its place by the machine's own number; with --known-at: the number with the mass at the pointer."
        ),
    ] = None,
    known_at: Annotated[
        str | None, typer.Option(help="Its place by name: `throw 1` or `counterweight A` (centre line).")
    ] = None,
    known_offset: Annotated[
        float | None,
        typer.Option(
            help="Degrees from that place on, counter-clockwise seen from the front.", min=-360.0, max=360.0
        ),
    ] = None,
    known_z: Annotated[str | None, typer.Option(help="Its z along the crankshaft.")] = None,
    yes: Annotated[
        bool, typer.Option("--yes", "-y", help="Don't ask when the reading looks odd: it is right as typed.")
    ] = False,
    unproved: Annotated[
        bool,
        typer.Option(
            "--unproved",
            help="With --cut-as-planned: cut with settings that are not proved; asked once per job otherwise.",
        ),
    ] = False,
    anyway: AnywayOption = False,
    plot: PlotOption = None,
    as_json: JsonOption = False,
    show_work: WorkOption = False,
    seconds: SecondsOption = 10.0,
) -> None:
    """Enter a spin: says where the heavy spot is, writes it into the job file and shows the plan."""
    from planner.cli import plan
    from planner.cli.done import ask_unproved
    from planner.jobfile.loaded import load_known
    from planner.jobfile.write import Entries, enter
    from planner.present.document import document
    from planner.present.pages.diagnosis import diagnosis_json
    from planner.present.pages.spin import foretold_json, spin_block
    from planner.present.pages.withheld import open_steps_words, questioned_block, questioned_json
    from planner.present.words import cut_words
    from planner.steps.diagnosis import diagnose
    from planner.steps.dialled import ensure_told
    from planner.steps.done import made_as_planned
    from planner.steps.reading_slips import asked_about
    from planner.steps.spin import bobs_known, foretold_for, spin_of
    from planner.steps.typed_spin import (
        four_numbers,
        read_bobs,
        read_known_mass,
        read_names,
        refuse_raw,
    )
    from planner.steps.withheld import withheld_of

    given = list(numbers or [])
    if job is None and names_job(given, numbers=4):
        job = given.pop(0)
    opened = open_job(job, writing=True)
    ask = sys.stdin.isatty() and not as_json and not yes
    asked = not given
    given = given or _asked()
    values = four_numbers(given, opened)
    refuse_raw(given, values, opened)
    if bobs is None and (ask or asked) and not bobs_known(opened):
        bobs = bobs_asked(opened)
    known = read_known_mass(opened, known_mass, known_radius, known_angle, known_at, known_offset, known_z)
    new, taken = spin_of(
        opened,
        values,
        bobs_g=read_bobs(bobs, opened),
        mounted=None if mounted is None else read_names(mounted),
        repeat=repeat,
        speed_rpm=speed,
        known_mass=known,
    )
    # all that was typed is checked before anything is written
    opened = settled(opened, ask=ask)
    for line in taken:
        note(line)
    path = opened.files.job
    foretold = foretold_for(opened, new) if known is None and not repeat else None
    said_uncut = False
    if foretold is not None and foretold.open_steps and ask and not cut_as_planned:
        cut_as_planned = typer.confirm(
            f"{open_steps_words(foretold.open_steps, foretold.before_spin)}. Cut as planned?",
            default=foretold.looks_cut,
        )
        said_uncut = foretold.looks_cut and not foretold.cuts_between and not cut_as_planned
    made = made_as_planned(opened) if cut_as_planned else ()
    if made and not yes:
        _ask_dial(opened, made)
    cut_unproved = bool(made) and ask_unproved(opened, unproved=unproved, as_json=as_json)
    if made:
        opened = dataclasses.replace(opened, cuts_made=(*opened.cuts_made, *made))
        foretold = foretold_for(opened, new) if known is None and not repeat else None
    questions = asked_about(opened, new, foretold).words
    if (questions or (foretold is not None and foretold.looks_cut)) and (yes or anyway):
        new = dataclasses.replace(new, as_read=True)
    elif questions and ask:
        for question in questions:
            say(f"QUESTION: {question}")
        confirm_or_leave("Enter it all the same?")
        new = dataclasses.replace(new, as_read=True)
    elif said_uncut:
        new = dataclasses.replace(new, as_read=True)  # it was asked, and answered

    def entries(now: Job) -> Entries:
        if cut_as_planned and made_as_planned(now) != made:
            raise InputError(
                f"`{path.name}` was changed meanwhile: other steps of the plan are open now",
                hint="nothing was entered; `bobplan` says where the job stands",
            )
        return Entries(made=made, spins=(new,), cut_unproved=cut_unproved)

    # cuts and spin in one step: no spin without the cuts that came before it
    enter(path, entries)
    for each in made:
        (note if as_json else say)(f"entered: cut {each.number}, {cut_words(opened, each.cut)}")
    after = load_known(path)
    if known is None:
        ensure_told(after)
    found = diagnose(opened, new, foretold)

    if known is not None:
        _show_known_mass(after, as_json=as_json)
        return
    before = {
        "foretold_before": foretold_json(foretold),
        "diagnosis": diagnosis_json(after, found),
    }
    if not anyway and withheld_of(after) is not None:
        if not as_json:
            # what was found follows with the reason why there is no cut list
            show(document(spin_block(after, foretold)))
        plan.stop_if_withheld(after, as_json=as_json, before=before)
    if questions and not new.as_read:
        # nobody is there to answer: what was typed stays, but nothing is planned on it before it is looked at
        if as_json:
            say_json({**questioned_json(after, questions), **before})
        else:
            show(document(spin_block(after, foretold, found), questioned_block(questions)))
        leave(ANSWER_IS_NO)
    answer = plan.planned(after, seconds=seconds)
    if not as_json:
        show(document(spin_block(after, foretold, found, spots=False)))
        say()
    plan.store(answer)
    plan.show_plan(answer, as_json=as_json, show_work=show_work and not as_json, plot=plot, more=before)
    leave(plan.exit_code(answer))


def _ask_dial(job: Job, made: Sequence[MadeCut]) -> None:
    """Refuse to take cuts as planned whose numbers on the dial are others by now."""
    from planner.errors import OpenQuestionError
    from planner.steps.done import dial_questions

    questions = dial_questions(job, made)
    if questions:
        raise OpenQuestionError(
            "; ".join(questions),
            hint=f"nothing was entered; enter each first as it was made, `bobplan done {made[0].number} --dial ...`, or say "
            "`--yes` where the numbers of now were dialled",
        )


def _show_known_mass(job: Job, *, as_json: bool) -> None:
    """Say what the check spins prove, and end: 0 when all that they test is set right, 1 when not or nothing is proved."""
    from planner.present.document import block, document, lines
    from planner.present.pages.prove import check_json, check_parts
    from planner.steps.known_mass import check_known_masses
    from planner.steps.prove import settings_tested

    check = check_known_masses(job)
    tested = settings_tested(check)
    mends = lines("`bobplan prove` writes what is proved into the file, or mends what is wrong.")
    tell(
        check,
        lambda check: check_json(job, check, tested=tested),
        lambda check: document(block("", check_parts(job, check, tested=tested), mends)),
        as_json=as_json,
    )
    leave(GOOD if check.good else ANSWER_IS_NO)


def _asked() -> list[str]:
    """Return four answers to four prompts; fewer when the input ends before."""
    answers: list[str] = []
    try:
        for text in READING_PROMPTS:
            answers.append(typer.prompt(text, err=True))
    except (typer.Abort, OSError):  # the input ended, or there is none
        note("")
    return answers


def bobs_asked(job: Job) -> str | None:
    """Return what was answered about the bobs of a first spin; None when the input ended, Enter means what is wanted."""
    from planner.steps.typed_spin import read_bobs

    wanted = sorted(set((job.bobs_wanted_g or {}).values()))
    exact = (
        ",".join(f"{name}={mass!r} g" for name, mass in (job.bobs_wanted_g or {}).items()) if wanted else ""
    )
    shown = " to ".join(job.units.text(mass, "mass") for mass in (wanted[:1] + wanted[1:][-1:]))
    while True:
        try:
            text: str = typer.prompt(
                "bobs clamped on each throw, 0 = bare" + (f" [{shown}, as wanted]" if shown else ""),
                default="",
                show_default=False,
                err=True,
            )
        except (typer.Abort, OSError):
            note("")
            return None
        text = text.strip() or exact
        try:
            if text and read_bobs(text, job) is not None:
                return text
        except InputError as error:
            if not sys.stdin.isatty():
                raise
            note(f"  {error.message}{f' ({error.hint})' if error.hint else ''}")
