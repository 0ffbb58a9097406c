"""Why no cut list is shown, what was found, and the experiment that decides."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from planner.jobfile.job import Job
from planner.present.document import Block, Document, Line, Part, block, document, lines, remarks, texts
from planner.present.pages.diagnosis import diagnosis_json, diagnosis_parts
from planner.present.pages.prove import check_json, check_parts, line_lines, unproved_words
from planner.present.to_text import WHOLE, to_text
from planner.present.words import listed
from planner.steps.diagnosis import SpinDiagnosis
from planner.steps.prove import proved_settings
from planner.steps.withheld import Withheld

_SHOWN_ALL_THE_SAME = "`--anyway` shows a plan all the same: what it cuts can make it worse."


_ENTER_THEM = "`bobplan undo`, then this spin again with `--cut-as-planned`"


def open_steps_words(numbers: Sequence[int], before_spin: int) -> str:
    """Return which steps of the plan before a spin are not entered as made."""
    steps, verb = ("Step", "is") if len(numbers) == 1 else ("Steps", "are")
    named = listed([str(number) for number in numbers], "and")
    return f"{steps} {named} of the plan for spin {before_spin} {verb} not entered as made"


def _not_entered(withheld: Withheld) -> str:
    words = open_steps_words(withheld.not_entered, withheld.before_spin)
    return f"{words}, but spin {withheld.spin_number} reads as if cut"


def _holes(withheld: Withheld) -> str:
    return "hole is" if len(withheld.not_entered) == 1 else "holes are"


def withheld_document(job: Job, withheld: Withheld) -> Document:
    """Return why no cut list is shown, and what decides."""
    unproved = unproved_words(job)
    return document(
        block(
            "",
            () if unproved is None else lines(unproved),
            _found(job, withheld),
            lines(_SHOWN_ALL_THE_SAME),
        )
    )


def _found(job: Job, withheld: Withheld) -> Iterator[Part]:
    if withheld.check is not None:
        yield Line("NO CUT LIST: a known mass did not read as the settings say.")
        yield from check_parts(job, withheld.check, tested=())
        yield Line(
            "What decides: `bobplan prove` mends the setting that is wrong, or takes another check with the mass at two "
            "named places."
        )
    elif withheld.line is not None:
        yield Line("NO CUT LIST: a line under the drill did not read as the settings say.")
        yield from line_lines(job, [withheld.line])
        yield Line(
            "What decides: `bobplan prove` with the line read again (`--line`), which mends drill_offset; or the right "
            "drill_offset under [machine]."
        )
    elif withheld.not_entered:
        yield Line(f"NO CUT LIST: {_not_entered(withheld)}: where metal is gone is not known.")
        yield Line(f"What decides: look whether the {_holes(withheld)} there.")
        yield Line(f"If so: {_ENTER_THEM}, so that the new holes are known.", level=1)
        first, *rest = diagnosis_parts(job, withheld.diagnosis, level=1) or lines(
            "without a cut the reading should be what it was: look at bobs, mounted parts and display, and spin again "
            "(`--yes` says that the reading is right as typed).",
            level=1,
        )
        yield replace(first, text=f"If not: {first.text}")
        yield from rest
    else:
        yield Line(
            f"NO CUT LIST: what spin {withheld.spin_number} shows speaks against the settings or what is known of the job."
        )
        yield from diagnosis_parts(job, withheld.diagnosis)
        yield Line(_deciding(withheld.diagnosis))


def _deciding(found: SpinDiagnosis | None) -> str:
    if found is not None and found.diagnosis.explanations:
        if not found.diagnosis.settings:
            # a slip at the drill or a bob: no known mass shows it, a look does
            return "What decides: the look named above, before anything is cut or set."
        if found.decides is None or found.decides.place is None:
            # too small a fault for a known mass: to say that one decides would contradict the lines above
            return "What decides: look at the cuts and bobs named above, then spin again."
    return (
        "What decides: a known mass tests every setting (`bobplan prove`); where it finds them right, look at the cuts "
        "and bobs named above and spin again."
    )


def withheld_words(withheld: Withheld) -> tuple[str, str]:
    """Return in two sentences where a job stands whose cut list is withheld, and what comes next."""
    if withheld.check is not None:
        return "A known mass did not read as the settings say: no cut list.", "`bobplan prove`"
    if withheld.line is not None:
        return (
            "A line under the drill did not read as the settings say: no cut list.",
            "`bobplan prove --line ...`",
        )
    if withheld.not_entered:
        words = _not_entered(withheld)
        return f"{words}: no cut list.", f"if so, {_ENTER_THEM}; if not, `bobplan history` says what fits"
    found = withheld.diagnosis
    # a setting is among what fits, or nothing that is known fits
    a_setting = found is None or not found.diagnosis.explanations or found.diagnosis.settings
    return (
        f"What spin {withheld.spin_number} shows speaks against the settings or what is known of the job: no cut list.",
        "`bobplan history` says what fits and what to look at"
        + (", `bobplan prove` tests the settings" if a_setting else ""),
    )


def withheld_json(job: Job, withheld: Withheld) -> dict[str, Any]:
    """Return the same as plain data, in place of a plan."""
    check = withheld.check
    return {
        "title": job.details.title,
        "spin": withheld.spin_number,
        "feasible": None,
        "steps": [],
        "verdict": None,
        "withheld": {
            "because": "known mass"
            if check is not None
            else "line under the drill"
            if withheld.line is not None
            else "not entered"
            if withheld.not_entered
            else "what went wrong",
            "not_entered": list(withheld.not_entered),
            "found": to_text(withheld_document(job, withheld), columns=WHOLE).splitlines(),
            "check": None if check is None else check_json(job, check, tested=()),
            "diagnosis": diagnosis_json(job, withheld.diagnosis),
        },
        "settings_proved": proved_settings(job),
        "questions": list(job.questions),
        "warnings": [],
    }


def questioned_block(questions: Sequence[str]) -> Block:
    """Return what is asked about a reading that was entered without anybody to answer, and what to do."""
    return block(
        "",
        remarks("QUESTION", questions),
        lines(
            "The spin stays in the file; `bobplan undo` takes it back, `bobplan plan` plans on it all the same."
        ),
    )


def questioned_json(job: Job, questions: Sequence[str]) -> dict[str, Any]:
    """Return the same as plain data, in place of a plan."""
    return {
        "title": job.details.title,
        "spin": len(job.spins),
        "feasible": None,
        "steps": [],
        "verdict": None,
        "withheld": {"because": "question", "found": list(texts(questioned_block(questions))), "check": None},
        "settings_proved": proved_settings(job),
        "questions": [*job.questions, *questions],
        "warnings": [],
    }
