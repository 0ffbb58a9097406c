"""`bobplan prove`: are the machine's settings right?  A known mass at named places says so."""

from __future__ import annotations

import dataclasses
import datetime
import re
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planner.cli.console import ANSWER_IS_NO, GOOD, leave, note, say, say_json, show, tell
from planner.cli.options import READING_PROMPTS, JobArgument, JsonOption, number, open_job
from planner.errors import InputError

if TYPE_CHECKING:
    from planner.jobfile.job import Job
    from planner.machine.spin import Spin
    from planner.steps.known_mass import KnownMassCheck
    from planner.steps.prove import LineCheck, Place, Proposal

# the four numbers of the display, and the machine's own with the mass at the pointer where that was read, as typed
_Reading = tuple[list[str], str | None]


def prove(
    job: JobArgument = None,
    reading: Annotated[
        list[str] | None,
        typer.Option(
            help='What the display shows with the mass at the first place, the second ...: "3480 214 2910 33"; a fifth '
            "number is the machine's own with the mass at the pointer."
        ),
    ] = None,
    base: Annotated[
        str | None,
        typer.Option(help="A new spin without the mass first, its four numbers. Left out: the newest spin."),
    ] = None,
    bobs: Annotated[
        str | None, typer.Option(help="What is clamped on, when there is no spin yet; as in `spin`.")
    ] = None,
    at: Annotated[
        list[str] | None,
        typer.Option(help="A place of your own choice, `throw 1` or `counterweight A`; one per reading."),
    ] = None,
    mass: Annotated[str | None, typer.Option(help="The mass at hand, when it is another.")] = None,
    radius: Annotated[str | None, typer.Option(help="The radius it is at, when it is another.")] = None,
    line: Annotated[
        list[str] | None,
        typer.Option(help='A named place under the drill and what the dial shows then: "throw 1 = 90".'),
    ] = None,
    on: Annotated[
        str | None, typer.Option(help="Date of the proof, 2026-01-31. Left out: the job's, else today.")
    ] = None,
    by: Annotated[str | None, typer.Option(help="Who proved it. Left out: the job's operator.")] = None,
    yes: Annotated[
        bool,
        typer.Option("--yes", "-y", help="Write what is proved, and mend what is wrong, without asking."),
    ] = False,
    plot: Annotated[
        Path | None, typer.Option(help="Draw where the mass goes into this file: .png, .svg or .pdf.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Prove the machine's settings with a known mass: says which mass where, takes the readings, says what they prove.

    Ends with 0 when what was tested is set right (or was mended), with 1 while something is wrong or nothing is proved.
    """
    from planner.jobfile.loaded import load_known
    from planner.jobfile.write import Entries, enter
    from planner.present.document import document
    from planner.present.pages.prove import proposal_block, proposal_json, state_block
    from planner.steps.known_mass import has_checks
    from planner.steps.prove import ensure_uncut, named_place, propose, proved_settings
    from planner.steps.spin import spin_of

    opened = open_job(job, writing=True)
    ask = sys.stdin.isatty() and not as_json
    date = _date(on, opened)
    mass_g = opened.units.given(mass, "mass", name="--mass", above=0.0)
    radius_mm = opened.units.given(radius, "length", name="--radius", above=0.0)
    for name in at or ():
        named_place(opened, name, radius_mm=radius_mm)
    lines = _lines(opened, line or ())
    readings = [_reading(text) for text in reading or ()]
    for values, pointer in readings:
        _numbers(opened, values)
        _pointer(pointer)
    # all options are checked before anything is asked or written
    first = _base(opened, base, bobs, ask=ask and not reading)
    opened = dataclasses.replace(opened, spins=(*opened.spins, *first))
    proposal = propose(opened, names=at or (), mass_g=mass_g, radius_mm=radius_mm)
    _check_count(readings, proposal)
    if plot is not None:
        from planner.present.drawings.prove import prove_figure
        from planner.present.drawings.save import save_figure

        save_figure(prove_figure(opened, proposal), plot)
        note(f"drawn: {plot}")
    # check spins after the newest spin without a mass
    since_base = bool(opened.spins) and opened.spins[-1].known_mass is not None
    takes = not readings and (not since_base or at is not None)
    if lines and at is None and not first and has_checks(opened):
        takes = False  # the line is compared with what is proved already
    if not as_json and (takes or readings):
        show(document(proposal_block(opened, proposal)))
        say()
    if readings or (takes and ask):
        ensure_uncut(opened)
    if takes and ask:
        if first:  # it was typed: whatever stops the rest, it stays
            enter(opened.files.job, lambda _: Entries(spins=first))
            first = ()
        readings = _ask_readings(opened, proposal)
        lines = lines or _ask_line(opened)
    new = [
        spin_of(opened, _numbers(opened, values), known_mass=_known(place, proposal.mass_g, pointer))[0]
        for (values, pointer), place in zip(readings, proposal.places, strict=False)
    ]
    if first or new:
        spins = (*first, *new)
        enter(opened.files.job, lambda _: Entries(spins=spins))
    opened = load_known(opened.files.job)
    if not has_checks(opened) or (takes and not readings):
        data = {"proposal": proposal_json(opened, proposal), "state": proved_settings(opened)}
        tell(opened, lambda _: data, lambda job: document(state_block(job)), as_json=as_json)
        if not as_json:
            say('Then: `bobplan prove --reading "LEFT ANGLE RIGHT ANGLE NUMBER" --reading "..."`')
        leave(ANSWER_IS_NO)
    _answer(opened, lines, proposal, fresh=bool(new), date=date, by=by, ask=ask, yes=yes, as_json=as_json)


def _answer(
    job: Job,
    under_drill: Sequence[tuple[str, float]],
    proposal: Proposal,
    *,
    fresh: bool,
    date: datetime.date,
    by: str | None,
    ask: bool,
    yes: bool,
    as_json: bool,
) -> None:
    """Say what the check spins prove, write it when that is wanted, and end; ``fresh``: some of them were read just now."""
    from planner.present.document import block, document
    from planner.present.pages.prove import check_json, check_parts, line_lines, proposal_json, state_block
    from planner.steps.known_mass import check_known_masses
    from planner.steps.prove import (
        check_drill_lines,
        mended_job,
        mended_values,
        proved_settings,
        settings_tested,
    )
    from planner.steps.write_proof import write_checked

    check = check_known_masses(job)
    only = check.explanations[0] if check.settled else None
    # a line is compared with direction and zero as they are put right, never with wrong ones
    lines = () if only is None else check_drill_lines(mended_job(job, only), under_drill)
    tested = settings_tested(check, lines)
    mended = mended_values(job, only) if only is not None else None
    wrong_line = any(each.mended_deg is not None for each in lines)
    if not as_json:
        # the evidence before what follows from it
        show(document(block("", line_lines(job, lines), check_parts(job, check, tested=tested))))
    written: tuple[Path, ...] = ()
    good = check.good and not wrong_line
    can_write = mended is not None and (bool(tested) or not check.good or wrong_line)
    if can_write and only is not None:
        question = _question(job, check, mended or {}, lines)
        if yes or (ask and typer.confirm(question, default=True)):
            written = write_checked(
                job, check, lines, renewed=("line", "spins") if fresh else ("line",), date=date, by=by
            )
            good = True
        elif not as_json and not ask:
            say(f"Not written: {question} `--yes` does it.")
    if lines and ((wrong_line and not written) or job.drill_line is not None):
        from planner.jobfile.write import note_drill_line

        # a line that was refused is remembered, and the next one takes its place
        said = next((each for each in lines if each.mended_deg is not None), lines[-1])
        note_drill_line(job, said.place, said.showed_deg)
        if said.mended_deg is not None:
            note("the line is kept under [proof]: there is no cut list while it speaks against drill_offset")
    if written or lines:
        from planner.jobfile.loaded import load_known

        job = load_known(job.files.job)
    if written and not as_json:
        say(f"Written into {' and '.join(path.name for path in written)}.")
    if as_json:
        data: dict[str, Any] = check_json(job, check, tested=tested, lines=lines)
        data |= {
            "written": [str(path) for path in written],
            "state": proved_settings(job),
            "proposal": proposal_json(job, proposal),
        }
        say_json(data)
    else:
        show(document(state_block(job, against=None if written else check)))
        if good and job.spins[-1].known_mass is not None:
            say("Take the known mass off; `bobplan` says what comes next.")
        if job.cuts_made and written and (wrong_line or not check.good):
            say(
                "Cuts were made with the wrong setting: look at each on the crankshaft before you go on, then spin again."
            )
    leave(GOOD if good and (written or tested) else ANSWER_IS_NO)


def _question(job: Job, check: KnownMassCheck, mended: Any, lines: Sequence[LineCheck]) -> str:
    keys = [f"{key} = {value}" for keys in mended.values() for key, value in keys.items()]
    keys += [f"drill_offset = {each.mended_deg:g}" for each in lines if each.mended_deg is not None]
    if keys:
        return f"Mend {', '.join(keys)}, and write that it is proved?"
    return "Write that these are proved?"


def _base(job: Job, base: str | None, bobs: str | None, *, ask: bool) -> tuple[Spin, ...]:
    """Return a new spin without the mass; asks for one when there is none, nothing where one is there and none given."""
    from planner.cli.spin import bobs_asked
    from planner.steps.spin import spin_of
    from planner.steps.typed_spin import read_bobs

    there = any(spin.known_mass is None for spin in job.spins)
    if base is None and there:
        return ()
    if base is None and not ask:
        raise InputError(
            "there is no spin yet, the known mass needs one without it to compare with",
            hint='`bobplan prove --base "LEFT ANGLE RIGHT ANGLE" --bobs GRAMS`, or `bobplan spin` first',
        )
    if base is None:
        say("First a spin without the mass, with what will stay on:")
        if bobs is None:
            bobs = bobs_asked(job)
        given = [typer.prompt(text, err=True) for text in READING_PROMPTS]
    else:
        given = _split(base)
    if len(given) != 4:
        raise InputError(
            f"--base: four numbers are needed, given {len(given)}", hint='`--base "5.85 205 5.07 12"`'
        )
    spin, taken = spin_of(job, _numbers(job, given), bobs_g=read_bobs(bobs, job))
    for line in taken:
        note(line)
    return (spin,)


def _numbers(job: Job, given: Sequence[str]) -> tuple[float, float, float, float]:
    from planner.steps.typed_spin import four_numbers

    return four_numbers(given, job)


def _split(text: str) -> list[str]:
    return [part for part in re.split(r"[\s,;]+", text.strip()) if part]


def _reading(text: str) -> _Reading:
    parts = _split(text)
    if len(parts) not in (4, 5):
        raise InputError(
            f"--reading: given `{text}`, four or five numbers are needed",
            hint="left amount, left angle, right amount, right angle, and the machine's number with the mass at the pointer",
        )
    return parts[:4], parts[4] if len(parts) > 4 else None


def _ask_readings(job: Job, proposal: Proposal) -> list[_Reading]:
    """Return what is typed for each place; a reading that can't be read is asked again, the others stay."""
    readings: list[_Reading] = []
    for count, place in enumerate(proposal.places, start=1):
        say(f"Mass {count} at {place.name}:")
        while len(readings) < count:
            values = [typer.prompt(text, err=True) for text in READING_PROMPTS]
            typed = typer.prompt(
                "the machine's number with the mass at the pointer (empty: not read)",
                default="",
                show_default=False,
                err=True,
            )
            pointer = typed.strip() or None
            try:
                _numbers(job, values)
                _known(place, proposal.mass_g, pointer)
            except InputError as error:
                note(f"  {error.message}; once more:")
                continue
            readings.append((values, pointer))
    return readings


def _ask_line(job: Job) -> list[tuple[str, float]]:
    """Return what the dial shows with a throw under the drill, for `drill_offset`; nothing when it was not read."""
    if not job.crankshaft.throws:
        return []
    name = f"throw {job.crankshaft.throws[0].name}"
    text = typer.prompt(
        f"the number on the dial with a line scribed at {name} under the drill (empty: not read)",
        default="",
        show_default=False,
        err=True,
    )
    return [(name, number(text.strip(), what="the number on the dial"))] if text.strip() else []


def _known(place: Place, mass_g: float, pointer: str | None) -> Any:
    from planner.steps.prove import known_mass_at

    return known_mass_at(place, mass_g, number_deg=_pointer(pointer))


def _pointer(text: str | None) -> float | None:
    value = None if text is None else number(text, what="the number at the pointer")
    if value is not None and not -360.0 <= value <= 360.0:
        raise InputError(f"the number at the pointer: given `{text}`, allowed -360 to 360 degrees")
    return value


def _check_count(readings: Sequence[object], proposal: Proposal) -> None:
    if len(readings) > len(proposal.places):
        raise InputError(
            f"{len(readings)} readings are given for {len(proposal.places)} places",
            hint="name a place for each with `--at`",
        )


def _lines(job: Job, texts: Sequence[str]) -> list[tuple[str, float]]:
    from planner.steps.prove import named_place

    lines = []
    for text in texts:
        name, equals, value = text.partition("=")
        if not equals:
            raise InputError(
                f"--line: given `{text}`", hint='`--line "throw 1 = 90"`: place, then the dial\'s number'
            )
        place = named_place(job, name.strip(), radius_mm=1.0)
        lines.append((place.name, number(value.strip(), what="--line")))
    return lines


def _date(text: str | None, job: Job) -> datetime.date:
    if text is None:
        return job.details.date or datetime.date.today()
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise InputError(f"--on: given `{text}`", hint="year, month, day: 2026-01-31") from None
