"""The record of a job, spin after spin, as text and as plain data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from planner.formula import Formula, working_lines
from planner.frames import SIDES, ShaftAngle, TwoPlanes
from planner.jobfile.job import Job, MadeCut, Undone
from planner.present.document import Block, Document, Line, block, document, lines, table
from planner.present.pages.check import check_work, limit_words
from planner.present.pages.diagnosis import diagnosis_json, diagnosis_parts
from planner.present.to_json import picked, vectors_json
from planner.present.words import (
    both_planes_words,
    deeper_words,
    degrees,
    drill_words,
    kept_words,
    known_place_words,
    length_words,
    made_words,
    mass_words,
    raw_words,
    rim_cut_words,
    shown_words,
    xy_words,
)
from planner.rotor.vectors import difference_deg, plane_shares
from planner.steps.correction_question import made_effect, shift_of
from planner.steps.dialled import open_cuts, question_lines
from planner.steps.history import History, SpinEntry
from planner.steps.spin import bob_words
from planner.steps.trial import raw_shown


def history_document(told: History) -> Document:
    """Return the record of a job, spin after spin."""
    job = told.job
    first = () if told.trials is None else (told.trials,)
    checked = next((entry.check for entry in (*first, *told.entries) if entry.check is not None), None)
    waiting = open_cuts(job)
    before = told.cuts_before if told.trials is None else ()
    return document(
        block(
            job.details.title or "History",
            () if checked is None else lines(f"Limit: {limit_words(checked)}."),
        ),
        block(
            "",
            lines(*question_lines(job, waiting)),
            lines("`bobplan plan` asks; until then what is foretold below is open too", level=1),
        )
        if waiting
        else None,
        (_spin(job, entry) for entry in first),
        block(
            "Before the first spin, to the plan from the trial runs:",
            lines(*(f"cut {each.number}: {_cut_words(job, each)}" for each in before), level=1),
        )
        if before
        else None,
        None if told.entries else block("There is no spin yet."),
        (_spin(job, entry) for entry in told.entries),
        block("Taken back:", lines(*(undone_words(job, each) for each in job.undone), level=1))
        if job.undone
        else None,
    )


def undone_words(job: Job, entry: Undone) -> str:
    """Return an entry that was taken back in one line: a cut by its dial, a spin by what the display showed."""
    why = f" ({entry.note})" if entry.note else ""
    words = _undone_cut(job, entry.values) if entry.what == "cut" else _undone_spin(job, entry.values)
    return f"{entry.what} {entry.number}{why}: {words}"


def _undone_cut(job: Job, values: Mapping[str, object]) -> str:
    angle = float(str(values.get("angle", 0.0)))
    dialled = values.get("dialled")
    dial = dialled["dial"] if isinstance(dialled, dict) else job.machine.dial_deg(ShaftAngle(angle))
    words = [f"{values.get('cut')} on {values.get('counterweight')}"]
    if "diameter" in values:
        words.append(
            f"{drill_words(job, _length_mm(job, values['diameter']))} at {degrees(float(str(dial)))}"
        )
    for key, what in (
        ("radius", "radius {}"),
        ("from_diameter", "drilled out from {}"),
        ("from_depth", "deeper from {}"),
        ("depth", "{} on the stop"),
    ):
        if key in values:
            words.append(what.format(length_words(job, _length_mm(job, values[key]))))
    if values.get("through"):
        words.append("through")
    if "length" in values:
        words.append(f"slug {length_words(job, _length_mm(job, values['length']))} long")
    if values.get("face") and not values.get("through"):
        words.append(f"from the {values['face']}")
    return ", ".join(words)


def _length_mm(job: Job, value: object) -> float:
    return job.units.parse(str(value), "length", name="length")


def _undone_spin(job: Job, values: Mapping[str, object]) -> str:
    words = []
    for name in SIDES:
        side = values.get(name)
        if isinstance(side, dict):
            amount = job.display_units.parse(str(side["amount"]), job.display_kind, name=name)
            words.append(f"{name} {shown_words(job, amount)} at {degrees(float(side['angle']))}")
    rest = {key: value for key, value in values.items() if key not in SIDES}
    words += [f"{key} {_typed(value)}" for key, value in rest.items()]
    return ", ".join(words)


def _typed(value: object) -> str:
    if isinstance(value, dict):
        if set(value) == {"amount", "angle"}:
            return f"{value['amount']} at {value['angle']}"
        return "{" + ", ".join(f"{key} {_typed(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_typed(each) for each in value) + "]"
    return str(value).lower() if isinstance(value, bool) else str(value)


def _spin(job: Job, entry: SpinEntry) -> Block:
    what = {"state": "", "repeat": ", repeats the one before", "known mass": ", a check with a known mass"}
    speed = f", {entry.spin.speed_rpm:g} rpm" if entry.spin.speed_rpm is not None else ""
    mounted = f", with {', '.join(entry.spin.mounted)}" if entry.spin.mounted else ""
    name = "THE TRIAL RUNS" if entry.kind == "trials" else f"SPIN {entry.number}{what[entry.kind]}"
    rows: list[Sequence[str]] = [["read", *both_planes_words(job, entry.reading_gmm)]]
    rows += _raw(job, entry.reading_gmm)
    if entry.foretold is not None:
        expected = entry.foretold.expected_gmm
        rows.append(["foretold", *both_planes_words(job, expected)])
        rows += _raw(job, expected)
        rows.append(["difference", *both_planes_words(job, entry.reading_gmm - expected)])
    known = entry.spin.known_mass
    if known is not None:
        mass = f"{mass_words(job, known.mass_g)} at radius {length_words(job, known.radius_mm)}"
        rows.append(["known mass", mass, f"{known_place_words(known)}, z {length_words(job, known.z_mm)}"])
    return block(
        f"{name} (bobs {bob_words(job, entry.spin.bobs_g)}{mounted}{speed})",
        table([job.machine.marks, *(f"{side} plane" for side in SIDES)], rows, level=1),
        _judged(job, entry),
        diagnosis_parts(job, entry.diagnosis, level=1),
        lines(*(f"cut {each.number}: {_cut_words(job, each)}" for each in entry.cuts_after), level=1),
    )


def _judged(job: Job, entry: SpinEntry) -> tuple[Line, ...]:
    check = entry.check
    if check is None:
        return ()
    judged = ", ".join(f"{place.at} {kept_words(job, place)}" for place in check.judged)
    mean = f"mean of {len(check.posed.state_numbers)} spins, " if entry.kind == "repeat" else ""
    return lines(f"{check.verdict}: {mean}{judged}", level=1)


def _cut_words(job: Job, made: MadeCut) -> str:
    cut = made.cut
    # a step's number is its cut's; cuts of older files may have others
    planned = "" if made.step in (None, made.number) else f"step {made.step}, "
    at = degrees(job.machine.dial_deg(cut.angle_deg))
    size = [rim_cut_words(job, cut) if cut.on_rim else drill_words(job, cut.diameter_mm)]
    if cut.on_rim:
        pass
    elif cut.through:
        size.append(f"through{deeper_words(job, cut)}")
    elif cut.depth_shoulder_mm is not None:
        stop = job.shop.stop_mm(depth_shoulder_mm=cut.depth_shoulder_mm, diameter_mm=cut.diameter_mm)
        size.append(f"{length_words(job, stop)} to the {job.shop.depth_to}{deeper_words(job, cut)}")
    if cut.radius_mm is not None:
        size.append(f"at radius {length_words(job, cut.radius_mm)}")
    if made.learned_factor != 1.0:
        size.append(f"counted {made.learned_factor:g} times")
    dialled = made.dial_deg
    if dialled is not None and abs(difference_deg(dialled, job.machine.dial_deg(cut.angle_deg))) > 0.05:
        size.append(f"dialled as {degrees(dialled)} under the settings of then")
    return f"{planned}{made_words(job, cut)}, dial {at}, {', '.join(size)}"


def _raw(job: Job, vectors: Sequence[complex] | Any) -> list[Sequence[str]]:
    """Return a row with the same in raw vibration, in the trial runs' unit; none for a job without them."""
    sides = raw_shown(job, vectors)
    return [] if sides is None else [["raw vibration", *(raw_words(side) for side in sides)]]


def history_work(told: History) -> list[str]:
    """Return the sums behind the record: what was foretold of every spin, what it missed by, and its verdict."""
    job = told.job
    planes = job.planes_z_mm
    lines = [
        "WORKING (g*mm; X = U*cos(angle), Y = U*sin(angle), angles counter-clockwise seen from the front)",
        "foretold = the state before + cuts made since + what changed in bobs and mounted parts",
    ]
    entries = (*(() if told.trials is None else (told.trials,)), *told.entries)
    for entry in entries:
        lines.append("THE TRIAL RUNS" if entry.kind == "trials" else f"SPIN {entry.number}")
        for side, vector in TwoPlanes.vectors(entry.reading_gmm).items():
            lines.append(f"   {side} read: {xy_words(vector)}")
        foretold = entry.foretold
        if foretold is not None:
            made = [each for each in job.cuts_made if foretold.before_spin <= each.after_spin < entry.number]
            cuts = np.zeros(2, dtype=np.complex128)
            for each in made:
                effect = made_effect(job.filed_crankshaft, each, shop=job.shop)
                change = shift_of([(each.cut, effect)], planes_z_mm=planes)
                cuts += change
                shares = plane_shares(effect.z_mm, planes)
                lines.append(
                    f"   cut {each.number}: {effect.unbalance_gmm:+.1f} at {degrees(each.cut.angle_deg)}, z = {effect.z_mm:g}: "
                    + "; ".join(
                        f"{side} x {share:.4f}: {xy_words(vector)}"
                        for side, share, vector in zip(SIDES, shares, change, strict=True)
                    )
                )
            rest = foretold.expected_gmm - foretold.before_gmm - cuts
            for index, (side, expected) in enumerate(TwoPlanes.vectors(foretold.expected_gmm).items()):
                of = {"before": complex(foretold.before_gmm[index])}
                if made:
                    of["cuts"] = complex(cuts[index])
                if abs(rest[index]) > 1e-6:
                    of["bobs and mounted parts"] = complex(rest[index])
                missed = entry.reading_gmm[index] - expected
                total = Formula(side, " + ".join(of), of, expected).in_line(_term)
                lines.append(
                    f"   {side} foretold: {total}; read - foretold = {xy_words(missed)}, U = {abs(missed):.1f}"
                )
        if entry.check is not None:
            lines += [f"   {line}" for line in working_lines(check_work(entry.check)[1:])]
    return lines


def _term(name: str, vector: complex) -> str:
    """Return a part of what was foretold; the cuts stand singly above."""
    if name == "cuts":
        return name
    return f"{name} ({xy_words(vector)})" if " " in name else f"{name} {xy_words(vector)}".lstrip()


def history_json(told: History) -> dict[str, Any]:
    """Return the record as plain data; angles in the crankshaft's frame."""
    job = told.job
    return {
        "title": job.details.title,
        "trials": None if told.trials is None else _spin_json(job, told.trials),
        "spins": [_spin_json(job, entry) for entry in told.entries],
        "cuts_before": [_cut_json(each) for each in told.cuts_before],
        "undone": [
            {**picked(each, "what number note"), "words": undone_words(job, each)} for each in job.undone
        ],
    }


def _spin_json(job: Job, entry: SpinEntry) -> dict[str, Any]:
    planes, foretold = job.planes_z_mm, entry.foretold
    return {
        "number": entry.number,
        "kind": entry.kind,
        "reading": vectors_json(entry.reading_gmm, planes),
        "foretold": None if foretold is None else vectors_json(foretold.expected_gmm, planes),
        "difference": None
        if foretold is None
        else vectors_json(entry.reading_gmm - foretold.expected_gmm, planes),
        "verdict": None if entry.check is None else entry.check.verdict,
        "judged": []
        if entry.check is None
        else [picked(place, "at amount_gmm tolerance_gmm error_gmm verdict") for place in entry.check.judged],
        "diagnosis": diagnosis_json(job, entry.diagnosis),
        "cuts_after": [_cut_json(each) for each in entry.cuts_after],
    }


def _cut_json(made: MadeCut) -> dict[str, Any]:
    sizes = (
        "counterweight angle_deg diameter_mm depth_shoulder_mm cut=kind from_depth_shoulder_mm=from_depth_mm"
    )
    return {**picked(made, "number step dial_deg learned_factor"), **picked(made.cut, sizes)}
