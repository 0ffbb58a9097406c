"""`bobplan plan`: the main job."""

from __future__ import annotations

import contextlib
import dataclasses
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planner.cli.console import ANSWER_IS_NO, GOOD, ProgressLine, leave, note, say, say_json, show
from planner.cli.options import (
    AnywayOption,
    JobsArgument,
    JsonOption,
    PlotOption,
    SecondsOption,
    WorkOption,
    open_job,
    print_pictures,
    settled,
    typed_for,
)
from planner.errors import InputError
from planner.frames import ShaftAngle

if TYPE_CHECKING:
    from planner.jobfile.job import Job
    from planner.steps.dialled import OpenCut, Story
    from planner.steps.plan_answer import PlanAnswer
    from planner.steps.what_if import WhatIf


_OF_SEVERAL = ("jobs", "as_json", "seconds", "workers", "csv", "no_store", "as_stated")
"""What several jobs may be planned with; the last two change nothing for them."""


def plan(
    context: typer.Context,
    jobs: JobsArgument = None,
    plot: PlotOption = None,
    as_json: JsonOption = False,
    show_work: WorkOption = False,
    seconds: SecondsOption = 10.0,
    no_store: Annotated[
        bool, typer.Option("--no-store", help="Don't write the plan into the job file.")
    ] = False,
    store_it: Annotated[
        bool, typer.Option("--store", help="Write a what-if plan into the job file too.")
    ] = False,
    fix: Annotated[
        list[str] | None,
        typer.Option(
            metavar="CUT",
            help='A cut that is wanted, for example "16 mm at 131 on A, depth 22" (the angle is the one to dial; without '
            'a depth the planner chooses it; also "face hole 14 mm at 131 on A, radius 70, through"). May be repeated.',
        ),
    ] = None,
    forbid: Annotated[
        list[str] | None, typer.Option(metavar="NAMES", help="Counterweights to leave alone: A,B.")
    ] = None,
    drill: Annotated[
        list[str] | None,
        typer.Option(metavar="SIZES", help='Only this drill, for example the one in the chuck: "16 mm".'),
    ] = None,
    greatest_depth: Annotated[
        str | None, typer.Option(metavar="DEPTH", help="No hole deeper than this.")
    ] = None,
    aim: Annotated[
        float | None,
        typer.Option(help="Plan inside this share of the tolerance: 1 is cheapest, 0.3 most certain."),
    ] = None,
    one_drill: Annotated[
        bool | None,
        typer.Option("--one-drill/--many-drills", help="One drill where it costs no cut, or any mixture."),
    ] = None,
    heavy_metal: Annotated[
        str | None,
        typer.Option(
            metavar="WHEN",
            help='"if needed" (drilling alone can\'t do it), "allowed" or "never".',
        ),
    ] = None,
    prefer_cuts: Annotated[
        str | None,
        typer.Option(
            metavar="WHICH",
            help='"passes": the fewest with which the next spin passes; "fewest": on the bare tolerance.',
        ),
    ] = None,
    wanted_chance: Annotated[
        float | None, typer.Option(help="Chance that the next spin passes its check, 0.95.")
    ] = None,
    prefer: Annotated[
        str | None,
        typer.Option(metavar="WHAT", help='Of as many cuts: "closest" to zero, or "least metal".'),
    ] = None,
    close_enough: Annotated[
        float | None,
        typer.Option(help="Share of the tolerance below which closer is no better."),
    ] = None,
    only: Annotated[
        list[str] | None,
        typer.Option(metavar="KINDS", help="Only these cuts: rim, face, slug, fill, drilling."),
    ] = None,
    use_learned: Annotated[
        bool,
        typer.Option(
            "--use-learned", help="Plan with what earlier cuts really removed, by the spins after them."
        ),
    ] = False,
    alternatives: Annotated[
        bool, typer.Option("--alternatives", help="Show other ways to correct, side by side.")
    ] = False,
    method: Annotated[
        str, typer.Option(help="`best`, or `hand`: also how it is done by hand, every step shown.")
    ] = "best",
    made_cuts: Annotated[
        str | None,
        typer.Option(
            metavar="WHICH",
            help="After a change of [machine]: `dialled`, the setting was wrong when the cuts were made, the holes are where "
            "the dial says now; or `stay`, the machine was changed afterwards and the holes stay where they were; cut by cut: "
            "`1=dialled,2=stay`.",
        ),
    ] = None,
    as_stated: Annotated[
        bool,
        typer.Option(
            "--as-stated",
            help="What is questioned in the files is right: remembered under [plausible], not asked again.",
        ),
    ] = False,
    window: Annotated[
        bool, typer.Option("--window", help="Work out which bob masses drilling alone could balance.")
    ] = False,
    anyway: AnywayOption = False,
    dxf: Annotated[
        Path | None,
        typer.Option(
            metavar="FOLDER",
            help="Write a DXF drawing per counterweight into this folder, the planned cuts on a layer of their own.",
        ),
    ] = None,
    csv: Annotated[
        Path | None, typer.Option(help="With several jobs: write the table into this file too.")
    ] = None,
    workers: Annotated[
        int | None, typer.Option(min=1, help="With several jobs: how many are planned at once.")
    ] = None,
) -> None:
    """Plan the correction for the newest spin: which counterweight, angle, drill and depth.

    Options that pin or limit something make a what-if: the plan is shown but only stored with --store.
    Several jobs, or a folder of jobs, are planned side by side: a table is shown, nothing is stored.
    """
    from planner.correction.budget import Budget
    from planner.steps.plan import with_alternatives, with_bob_window
    from planner.steps.removal_ratio import with_learned, with_plan_factor
    from planner.steps.what_if import changed_shop, plan_what_if, read_what_if

    several = _several(jobs or [])
    if several is not None:
        given = [
            each.opts[0]
            for each in context.command.params
            if each.name not in _OF_SEVERAL and context.params[each.name] not in (each.default, None, ())
        ]
        if given:
            raise InputError(
                f"{given[0]} goes with one job, {len(several)} are named",
                hint="with several jobs only --seconds, --workers, --csv and --json; wishes for all of them stand in [shop]",
            )
        from planner.cli.plan_several import plan_several

        leave(plan_several(several, seconds=seconds, workers=workers, csv=csv, as_json=as_json))
    if csv is not None or workers is not None:
        raise InputError(
            f"{'--csv' if csv is not None else '--workers'} goes with several jobs, one is named",
            hint="name more jobs, or a folder of jobs",
        )
    job = jobs[0] if jobs else None
    if method not in ("best", "hand"):
        raise InputError(f"--method {method}: there is no such method", hint="`best` or `hand`")
    opened = open_job(job, writing=made_cuts is not None or as_stated)

    def wishes(now: Job) -> WhatIf:
        read = read_what_if(now, **typed_for(read_what_if, context))
        changed_shop(now.shop, read)
        return read

    wished = wishes(opened)
    opened = settled(opened, ask=sys.stdin.isatty() and not as_json and not no_store, right=as_stated)
    # all options are checked before what is said of the cuts made is written; it may move a hole that a wish names
    plan_basis = _with_story(opened, made_cuts, ask=sys.stdin.isatty() and not as_json)
    if plan_basis is not opened:
        wished = wishes(plan_basis)
    opened = with_learned(plan_basis) if use_learned else with_plan_factor(plan_basis, anew=True)
    if not anyway:
        stop_if_withheld(plan_basis, as_json=as_json)
    budget = Budget(seconds)
    with progress_line() as progress:
        answer = plan_what_if(opened, wished, seconds=budget, progress=progress, anew=True)
        if alternatives:
            answer = with_alternatives(answer, seconds=budget, progress=progress)
        if method == "hand":
            from planner.steps.hand import plan_by_hand

            answer = dataclasses.replace(answer, hand=plan_by_hand(answer.problem))
        if window:
            answer = with_bob_window(answer, seconds=budget, progress=progress)
    if store_it or not (no_store or wished):
        store(answer, basis_of=plan_basis)
        stored = "stored; `bobplan plan` without options plans by the files again"
    else:
        answer = with_letter(answer, basis_of=plan_basis)
        stored = "not stored (--store keeps it)"
        if answer.steps:
            stored = f"not stored: --store keeps it, `bobplan done {answer.steps[0].label}` takes it with its first cut"
    if wished:
        answer = dataclasses.replace(answer, what_if=(*answer.what_if, stored))
    show_plan(answer, as_json=as_json, show_work=show_work, plot=plot)
    if dxf is not None:
        from planner.present.drawings.dxf import write_plan_dxf

        for path in write_plan_dxf(answer, dxf):
            note(f"drawn: {path}")
    leave(exit_code(answer))


def _several(named: list[str]) -> list[str] | None:
    """Return the jobs when more than one is meant."""
    if not named or (len(named) == 1 and not Path(named[0]).expanduser().is_dir()):
        return None
    from planner.steps.several import named_jobs

    jobs = named_jobs(named, Path.cwd())
    return jobs if len(jobs) > 1 else None


def stop_if_withheld(job: Job, *, as_json: bool, before: dict[str, Any] | None = None) -> None:
    """Say what was found instead of a cut list and end with 1, when it speaks against settings or picture.

    ``before`` is more plain data that the command has to tell.
    """
    from planner.steps.withheld import withheld_of

    withheld = withheld_of(job)
    if withheld is None:
        return
    from planner.present.pages.withheld import withheld_document, withheld_json

    if as_json:
        say_json({**withheld_json(job, withheld), **(before or {})})
    else:
        show(withheld_document(job, withheld))
    leave(ANSWER_IS_NO)


@contextlib.contextmanager
def progress_line() -> Iterator[ProgressLine]:
    """Give a progress line and take it away again."""
    progress = ProgressLine()
    try:
        yield progress
    finally:
        progress.clear()


def planned(job: Job, *, seconds: float) -> PlanAnswer:
    """Return the plan of a job, with a progress line when it takes longer than a second."""
    from planner.steps.plan import plan_job
    from planner.steps.removal_ratio import with_plan_factor

    with progress_line() as progress:
        return plan_job(with_plan_factor(job), seconds=seconds, progress=progress)


def store(answer: PlanAnswer, *, basis_of: Job | None = None) -> None:
    """Write the plan into the job file as it is going to be shown; a file that can't be written is said, not fatal.

    Raises
    ------
    InputError
        See `planner.steps.keep_plan.keep_plan`.
    """
    from planner.steps.keep_plan import keep_plan

    why = keep_plan(answer, basis_of=basis_of)
    if why is not None:
        note(why)


def with_letter(answer: PlanAnswer, *, basis_of: Job) -> PlanAnswer:
    """Return a plan that is not stored with a letter before its numbers, kept so that `done` can take it."""
    from planner.jobfile.lettered import keep_lettered
    from planner.steps.correction_question import metal_of, pose
    from planner.steps.plan import lettered, stored_plan_of

    if not answer.steps:
        return answer
    plan = dataclasses.replace(stored_plan_of(answer, basis_of=basis_of), metal=metal_of(pose(basis_of)))
    return lettered(answer, keep_lettered(answer.job.files.job, plan))


def _with_story(job: Job, story: str | None, *, ask: bool) -> Job:
    """Return the job with what was said about cuts made under other settings written into its file."""
    from planner.jobfile.loaded import load_known
    from planner.jobfile.write import settle_dialled
    from planner.steps.dialled import STORIES, open_cuts, question_lines, read_stories, told

    waiting = open_cuts(job)
    if not waiting:
        if story is not None:
            if story not in STORIES and "=" not in story:
                raise InputError(
                    f"--made-cuts {story}: there is no such answer",
                    hint="`dialled` or `stay`, or `1=dialled,2=stay`",
                )
            raise InputError(
                "no cut was made under other settings than those of [machine] now",
                hint="leave `--made-cuts` away",
            )
        return job
    if story is None:
        if not ask:
            return job  # planning raises the question
        say("\n".join(question_lines(job, waiting)))
        stories = _stories_asked(waiting)
    else:
        stories = read_stories(story, waiting)
    if not stories:
        return job
    settle_dialled(job.files.job, lambda fresh: told(fresh, stories))
    for one in waiting:
        if one.made.number not in stories:
            continue
        at = one.dialled_at_deg if stories[one.made.number] == "dialled" else one.stays_at_deg
        note(
            f"cut {one.made.number}, {one.made.cut.kind} on {one.made.cut.counterweight}: at "
            f"{job.machine.dial_deg(ShaftAngle(at)):g} on today's dial"
        )
    if "stay" in stories.values():
        note("spins entered before that change are read with today's settings too: enter a fresh one")
    return load_known(job.files.job)


def _stories_asked(waiting: Sequence[OpenCut]) -> dict[int, Story]:
    """Return what is answered about cuts made under other settings: of all of them at once, or one by one."""

    def asked(which: str) -> Story | None:
        if typer.confirm(f"Was the setting wrong when {which} made?", default=None):
            return "dialled"
        return "stay" if typer.confirm("Was the machine itself changed afterwards?", default=None) else None

    numbers = [one.made.number for one in waiting]
    if len(numbers) > 1 and not typer.confirm("Is it the same for all of them?", default=True):
        found = {number: asked(f"cut {number} was") for number in numbers}
    else:
        found = dict.fromkeys(numbers, asked("these cuts were" if len(numbers) > 1 else "this cut was"))
    return {number: story for number, story in found.items() if story is not None}


def show_plan(
    answer: PlanAnswer,
    *,
    as_json: bool,
    show_work: bool = False,
    plot: Path | None = None,
    more: Mapping[str, Any] | None = None,
) -> None:
    """Print a plan, and draw it if a file is given; ``more`` is plain data that the command has to tell beside it."""
    from planner.present.working import working_lines

    working = working_lines(answer) if show_work else []
    if as_json:
        from planner.present.pages.plan_json import plan_json

        say_json({**plan_json(answer), **(more or {}), **({"working": working} if show_work else {})})
    else:
        from planner.present.pages.plan import plan_document

        show(plan_document(answer), working=working)
    if plot is not None:
        draw(answer, plot)


def draw(answer: PlanAnswer, path: Path) -> None:
    """Draw a plan into a file; once something was entered, a drawing that fails is said and no more."""
    from planner.files import changed

    try:
        if path.suffix.lower() == ".pdf":
            from planner.present.pages.plan_picture import plan_pictures

            print_pictures("plan", plan_pictures(answer), path, answer.job)
        else:
            from planner.present.drawings.gallery import plan_figure, save_figure

            save_figure(plan_figure(answer), path)
    except InputError as error:
        if not changed:
            raise
        note(f"not drawn: {error.message}")
    else:
        note(f"drawn: {path}")


def exit_code(answer: PlanAnswer) -> int:
    """Return 0 when there are cuts that reach the limits, or when it passes without any, as `bobplan check` has it.

    Else 1, and so while the reading is questioned and nobody confirmed it.
    """
    if answer.asked:
        return ANSWER_IS_NO
    if answer.steps:
        return GOOD if answer.outcome.feasible and answer.verdict != "out of tolerance" else ANSWER_IS_NO
    return GOOD if answer.outcome.feasible and answer.verdict == "in tolerance" else ANSWER_IS_NO
