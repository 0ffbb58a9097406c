"""What a balance grade permits: the amounts, who shares them, where the figures come from; and the table of grades."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from planner.formula import working_lines
from planner.present.document import Block, Document, Table, block, document, lines, remarks, table
from planner.present.to_json import chosen
from planner.present.words import percent
from planner.quantity import format_quantity, from_gmm
from planner.rotor.grades import BALANCE_GRADES, next_standard_grade, standard_grade
from planner.steps.grade import GradeAnswer, GradeQuestion, grade_working

# lighter than this is a typing slip, not a crankshaft [g]
_LIGHT_G = 1000.0
# slower than this is more likely the balancing machine's speed than an engine's [rpm]
_SLOW_RPM = 1000.0


def grade_document(answer: GradeAnswer) -> Document:
    """Return what a grade permits."""
    question = answer.question
    what = "crankshaft drive" if question.of_drive else "crankshaft"
    drive = (
        "The standard's row for crankshafts means the crankshaft drive: the crankshaft with what turns with it "
        "(flywheel, clutch, pulley, damper, the rotating part of the rods). Where that is what the builder's grade is for, "
        "give its mass: `--drive-mass` (in a job: drive_mass under [tolerance]); a heavier rotor may keep more."
    )
    return document(
        block(
            f"G {question.grade_mm_per_s:g}, {what} {answer.mass_kg:g} kg, "
            f"greatest service speed {question.speed_rpm:g} rpm",
        ),
        _amounts(answer),
        lines(_shares(answer)),
        _pair(answer),
        lines(drive) if answer.grade_of_drives and not question.of_drive else None,
        remarks("source", sources(answer)),
    )


def _amounts(answer: GradeAnswer) -> Table:
    bearings, shares, total = answer.question.bearings_z_mm, answer.allocation.shares, answer.total_gmm
    rows = [("in total", "", total, "")]
    for i in (0, 1):
        place = "" if bearings is None else f"z = {bearings[i]:g} mm"
        rows.append((f"bearing {i + 1}", place, shares[i] * total, percent(shares[i])))
    return table(
        ("",) * (5 if answer.question.radius_mm is None else 6),
        [
            (name, place, *_both(amount), *_grams(answer, amount), share)
            for name, place, amount, share in rows
        ],
    )


def _both(amount_gmm: float) -> tuple[str, str]:
    metric = format_quantity(amount_gmm, "unbalance", "g*mm", digits=1)
    return metric, format_quantity(amount_gmm, "unbalance", "oz*in", digits=3)


def _grams(answer: GradeAnswer, amount_gmm: float) -> tuple[str, ...]:
    grams = answer.grams_g(amount_gmm)
    return () if grams is None else (f"{grams:.2f} g at {answer.question.radius_mm:g} mm",)


def _shares(answer: GradeAnswer) -> str:
    if answer.question.bearings_z_mm is None:
        return "half at each bearing: the bearings were not given, so the centre of mass is taken midway"
    text = f"shared by the lever rule about the centre of mass at z = {answer.centre_z_mm:g} mm"
    if answer.question.centre_of_mass_z_mm is None:
        text += " (not given: the middle of the bearings)"
    if not answer.allocation.inboard:
        text += ", which lies outside the bearings: each share is kept within 0.3..1.3 of the total"
    elif answer.allocation.limited:
        text += "; each share is kept within 0.3..0.7 of the total"
    return text


def _pair(answer: GradeAnswer) -> Block | None:
    pair = answer.pair
    if pair is None:
        return None
    if not pair.needed:
        why = "the planes are far enough apart: limits at the bearings are the usual way"
    elif pair.case == "between":
        why = "the planes are closer than a third of the bearings' distance: state the tolerance like this"
    else:
        why = "both planes are outside the bearings: state the tolerance like this"
    rows = [("static", *_both(pair.static_gmm)), ("couple, in each plane", *_both(pair.couple_gmm))]
    return block(
        "",
        table(("", "", ""), rows),
        lines(
            f"{why}; formulas from memory, to be checked against the standard",
            f'in a job: [tolerance] static = "{pair.static_gmm:.1f} g*mm", couple = "{pair.couple_gmm:.1f} g*mm"',
        ),
    )


def sources(answer: GradeAnswer) -> Iterator[str]:
    """Yield where the figures come from, and which of them are from memory."""
    row = standard_grade(answer.question.grade_mm_per_s)
    yield "U_per = 1000 G m/omega and the grades: ISO 21940-11, table 1, in a public reproduction"
    if row is not None and row.mark == "memory":
        yield f"what G {row.grade_mm_per_s:g} is for: partly from memory"
    if answer.grade_of_drives:
        yield "what belongs to a crankshaft drive: from memory of a footnote of the older standard"
    if not answer.allocation.inboard:
        yield "limits 0.3..1.3 of rotors with the centre of mass outside the bearings: from memory"
    else:
        yield (
            "limits 0.3..0.7 of the shares: Bloch & Geitner, ch. 6, p. 307; the lever rule's clause in the standard: "
            "from memory"
        )
    if answer.pair is not None:
        yield "when static and couple limits are wanted: Bloch & Geitner, ch. 6, p. 307; their formulas: from memory"


def grade_questions(question: GradeQuestion, *, unit_is_missing: bool) -> Iterator[str]:
    """Yield what is questioned in words, none of it an error; a mass without a unit may have lost its ``kg``."""
    mass, speed, grade = question.mass_g, question.speed_rpm, question.grade_mm_per_s
    if mass < _LIGHT_G:
        meant = ""
        if mass >= 1.0 and unit_is_missing:
            meant = f", did you mean {mass:g} kg? (bare numbers are grams; write --mass '{mass:g} kg')"
        yield f"{mass:g} g is very light for a crankshaft{meant}"
    if speed < _SLOW_RPM:
        yield f"{speed:g} rpm is slow for an engine: the greatest service speed counts, not the balancing machine's"
    if standard_grade(grade) is None:
        finer = [row for row in BALANCE_GRADES if row.grade_mm_per_s < grade]
        near = [row for row in (next_standard_grade(grade), finer[0] if finer else None) if row]
        yield f"G {grade:g} is no standard grade; the nearest are " + " and ".join(
            f"G {row.grade_mm_per_s:g}" for row in near
        )


def grades_document() -> Document:
    """Return the table of grades, coarsest first."""
    rows = [
        (f"G {row.grade_mm_per_s:g}", row.machinery + (" *" if row.mark == "memory" else ""))
        for row in BALANCE_GRADES
    ]
    return document(
        block("balance grades of ISO 21940-11 (G in mm/s; machinery in our own short words)"),
        table(("", ""), rows),
        lines("* partly from memory; have the bought standard at hand for a contract"),
    )


def grades_json() -> dict[str, Any]:
    """Return the table of grades for a program."""
    fields = "grade_mm_per_s machinery default_margin=margin mark"
    return {"grades": [chosen(row, fields) for row in BALANCE_GRADES]}


def grade_json(answer: GradeAnswer, *, show_work: bool) -> dict[str, Any]:
    """Return what a grade permits for a program."""
    question, total, pair = answer.question, answer.total_gmm, answer.pair
    share_1, share_2 = answer.allocation.shares
    z_1, z_2 = question.bearings_z_mm or (None, None)
    data: dict[str, Any] = {
        "grade_mm_per_s": question.grade_mm_per_s,
        "standard_grade": standard_grade(question.grade_mm_per_s) is not None,
        **chosen(answer, "mass_kg question.speed_rpm eccentricity_um total_gmm"),
        "bearing_1_gmm": share_1 * total,
        "bearing_2_gmm": share_2 * total,
        "bearing_1_share": share_1,
        "bearing_2_share": share_2,
        **chosen(answer, "share_limited=allocation.limited centre_of_mass_z_mm=centre_z_mm"),
        "bearing_1_z_mm": z_1,
        "bearing_2_z_mm": z_2,
        "total_ozin": from_gmm(total, "oz*in"),
        "of_drive": question.of_drive,
        "static_and_couple": None if pair is None else chosen(pair, "static_gmm couple_gmm case needed"),
        "sources": list(sources(answer)),
    }
    if question.radius_mm is not None:
        data |= {"radius_mm": question.radius_mm, "total_g_at_radius": answer.grams_g(total)}
    if show_work:
        data["work"] = list(working_lines(grade_working(answer)))
    return data
