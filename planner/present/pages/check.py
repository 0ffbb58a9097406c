"""The residual against the tolerance, as text, as plain data and as sums to follow."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from planner.formula import Formula
from planner.present.document import Block, Document, block, document, lines, remarks, table
from planner.present.numbers import neat
from planner.present.pages.chances import chances_json, chances_words
from planner.present.pages.plan_json import judged_json
from planner.present.to_json import picked, vectors_json
from planner.present.words import (
    CAUTIONS,
    amount_words,
    degrees,
    length_words,
    limit_cells,
    mass_words,
    percent,
    plural,
    shown_vector_words,
    shown_words,
)
from planner.rotor.tolerance_work import allocation_work, residual_work
from planner.steps.check import AtRadius, CheckAnswer, moved_residual
from planner.steps.reading_slips import standing_questions
from planner.steps.trial import spin_words


def check_document(answer: CheckAnswer) -> Document:
    """Return the answer: state and limit, residual, what each limit says of it, the verdict."""
    return document(
        _head(answer),
        _residual(answer),
        _limits(answer),
        _verdict(answer),
        remarks("note", answer.notes),
        None if answer.measured else remarks("CAUTION", CAUTIONS[:1]),
    )


def limit_words(answer: CheckAnswer) -> str:
    """Return the limit the way the builder stated it, and where it is judged."""
    stated = answer.spec.stated or answer.spec.way
    where = {"bearings": "at the bearings", "planes": "in the reading planes"}[answer.spec.place]
    if answer.spec.way == "static and couple":
        where = f"about the centre of mass, the couple {where}"
    return f"{stated}, judged {where}"


def error_words(answer: CheckAnswer) -> str:
    """Return where the measurement error comes from."""
    error = answer.error
    if error.source == "stated":
        return "as stated in the file"
    if error.source == "repeated spins":
        return f"from the scatter of {error.spins} spins (95 %)"
    share = percent(error.margin) if error.margin is not None else ""
    of = (
        f"usual for G {error.margin_grade_mm_per_s:.3g}"
        if error.margin_grade_mm_per_s is not None
        else "usual for crankshafts"
    )
    return f"not measured: a margin of {share}, {of} (Bloch & Geitner, table 6-6)"


def _head(answer: CheckAnswer) -> Block:
    job, numbers = answer.job, answer.posed.state_numbers
    title = job.details.title or "Check"
    said = [f"{title} ({state_words(answer)})", f"Limit: {limit_words(answer)}.", *_split(answer)]
    if not answer.measured:
        since = "that spin" if numbers[0] else "the trial runs"
        cuts = plural(len(answer.posed.made), "cut")
        said.append(f"FORETOLD, not measured: {cuts} made since {since}; spin again to know.")
    return block("", lines(*said))


def state_words(answer: CheckAnswer) -> str:
    """Return which spin the state was read in, or of which it is the mean."""
    numbers = answer.posed.state_numbers
    return spin_words(numbers[0]) if len(numbers) == 1 else f"mean of spins {', '.join(map(str, numbers))}"


def _split(answer: CheckAnswer) -> Iterator[str]:
    if answer.allocation is None or answer.total_gmm is None:
        return
    allocation = answer.allocation
    shares = " and ".join(
        f"{percent(share, digits=1)} at {row.at}"
        for share, row in zip(allocation.shares, answer.rows, strict=True)
    )
    between = "between them" if allocation.inboard else "outside them"
    held = ""
    if allocation.limited:
        held = f", held within {'0.3 to 0.7' if allocation.inboard else '0.3 to 1.3'}"
    yield f"That is {amount_words(answer.job, answer.total_gmm)} in all: {shares} (centre of mass {between}{held})."


def _residual(answer: CheckAnswer) -> Block:
    job = answer.job
    rows = [
        (
            f"{side} plane",
            shown_vector_words(job, side, answer.residual_gmm.at(side)),
            f"{mass_words(job, place.mass_g)} at {length_words(job, place.radius_mm)} (counterweight {place.counterweight})",
        )
        for side, place in answer.side_radii.items()
    ]
    return block("", table(("residual", job.machine.marks, "at the rim"), rows))


def _limits(answer: CheckAnswer) -> Block:
    job = answer.job
    rows = [
        (
            *limit_cells(job, place),
            f"{mass_words(job, rim.mass_g)} of {mass_words(job, rim.limit_g)} at "
            f"{length_words(job, rim.radius_mm, with_64th=False)}",
            place.verdict,
        )
        for place, rim in zip(answer.judged, answer.at_radius, strict=True)
    ]
    return block(
        "",
        table(("", "residual", "limit", "share", "error", "in grams", "verdict"), rows),
        lines(f"Measurement error: {error_words(answer)}."),
    )


def _verdict(answer: CheckAnswer) -> Block:
    said = [f"Chances by the job's error model: {chances_words(answer.chances)}."]
    if answer.grade is not None:
        finest = answer.grade.standard
        meets = (
            f", which meets G {finest.grade_mm_per_s:g}" if finest else ", beyond every grade of the table"
        )
        said.append(f"Grade reached: G {answer.grade.grade_mm_per_s:.3g}{meets}.")
    elif answer.spec.way != "grade":
        said.append("Grade reached: needs the crankshaft's mass and service speed in the file.")
    said += passing_lines(answer)
    if answer.verdict == "too close to call" and answer.measured:
        said.append("`bobplan plan` plans the cuts, if any, that bring it there.")
    if answer.decides:
        said.append("What would decide it:")
    return block(
        f"VERDICT: {answer.verdict.upper()}{'' if answer.measured else ' (foretold)'}",
        lines(*said),
        lines(*answer.decides, level=1, mark="-"),
    )


def passing_lines(answer: CheckAnswer) -> Iterator[str]:
    """Yield which reading would pass; nothing when it does as it is."""
    if answer.verdict == "in tolerance":
        return
    passing = answer.passing
    if passing is None:
        yield "No reading would pass: the measurement error is as large as the limit. Measure better first."
        return
    shown = ", ".join(
        f"{side} {_at_most(answer, value.amount)} at {degrees(value.angle_deg)}"
        for side, value in passing.at_same_angle.items()
    )
    yield f"The reading that would pass (display): {shown}; {percent(passing.share)} of the residual."
    if passing.any_angle is not None:
        amounts = ", ".join(
            f"{side} up to {_at_most(answer, amount)}" for side, amount in passing.any_angle.items()
        )
        yield f"At whatever angle: {amounts}."


def _at_most(answer: CheckAnswer, amount: float) -> str:
    """Return an amount of the display, rounded down: what is said to pass must pass as it is said."""
    number, _, unit = shown_words(answer.job, amount).partition(" ")
    exact = _display(answer, amount)
    step = 10.0 ** -len(number.partition(".")[2])
    if float(number) > exact:
        number = f"{max(0.0, float(number) - step):.{len(number.partition('.')[2])}f}"
    return f"{number} {unit}"


def check_json(answer: CheckAnswer) -> dict[str, Any]:
    """Return the answer as plain data; ``passing`` is in the display's units and counting."""
    job, error, passing = answer.job, answer.error, answer.passing
    reached, met = "grade.grade_mm_per_s", "grade.standard.grade_mm_per_s"
    return {
        "title": job.details.title,
        "spins": list(answer.posed.state_numbers),
        "measured": answer.measured,
        "cuts_made_since": len(answer.posed.made),
        "tolerance": {
            **picked(answer, "spec.stated spec.way judged_at=spec.place total_gmm"),
            "shares": None if answer.allocation is None else list(answer.allocation.shares),
            **picked(answer, "allocation.inboard"),
        },
        "residual": vectors_json(answer.residual_gmm, job.planes_z_mm),
        "residual_at_rim": [_rim_json(place) for place in answer.side_radii],
        "measurement_error": picked(error, "source spins sigma_gmm margin") | {"words": error_words(answer)},
        "judged": [
            {**judged_json(place), "at_rim": _rim_json(rim)}
            for place, rim in zip(answer.judged, answer.at_radius, strict=True)
        ],
        "verdict": answer.verdict,
        **picked(answer, f"grade_reached_mm_per_s={reached} standard_grade_met_mm_per_s={met}"),
        "passing": None
        if passing is None
        else {
            "share": neat(passing.share),
            "unit": job.units.unit_of(job.display_kind),
            "at_same_angle": [
                {"plane": side, "amount": _display(answer, value.amount), "angle_deg": neat(value.angle_deg)}
                for side, value in passing.at_same_angle.items()
            ],
            "any_angle": None
            if passing.any_angle is None
            else [_display(answer, amount) for amount in passing.any_angle],
        },
        "decides": list(answer.decides),
        **chances_json(answer.chances),
        "questions": list(standing_questions(job)),
        "notes": list(answer.notes),
    }


def _display(answer: CheckAnswer, amount: float) -> float:
    job = answer.job
    return neat(float(job.units.text(amount, job.display_kind, digits=9, with_unit=False)))


def _rim_json(place: AtRadius) -> dict[str, Any]:
    return picked(place, "counterweight radius_mm mass_g" + (" limit_g" if place.limit_g > 0.0 else ""))


def check_work(answer: CheckAnswer) -> list[Formula | str]:
    """Return the sums behind the check, in g*mm and mm."""
    job, spec = answer.job, answer.spec
    crankshaft = job.crankshaft
    lines: list[Formula | str] = ["WORKING (mm, g, g*mm)"]
    if spec.grade_mm_per_s is not None and job.graded_mass_kg and crankshaft.service_speed_rpm:
        lines += residual_work(
            spec.grade_mm_per_s, mass_kg=job.graded_mass_kg, speed_rpm=crankshaft.service_speed_rpm
        )
    bearings = spec.place == "bearings"
    if answer.allocation is not None and answer.total_gmm is not None:
        lines += allocation_work(
            answer.allocation,
            names=(answer.rows[0].at, answer.rows[1].at),
            places_z_mm=crankshaft.bearings_z_mm if bearings else job.planes_z_mm,
            centre_of_mass_z_mm=crankshaft.centre_of_mass_or_middle_z_mm,
            total_gmm=answer.total_gmm,
        )
    for row, place, moved in zip(answer.rows, answer.judged, moved_residual(answer), strict=True):
        lines.append(f"{row.at}: vector = {row.weight_1:.4f} * left + {row.weight_2:.4f} * right")
        vector = moved if spec.way != "static and couple" else row.seen_gmm(answer.residual_gmm)
        lines.append(f"  X {vector.real:+.1f}  Y {vector.imag:+.1f}, amount {abs(vector):.1f}")
        lines.append(
            f"  in when {place.amount_gmm:.1f} <= {place.tolerance_gmm:.1f} - {place.error_gmm:.1f} = "
            f"{place.tolerance_gmm - place.error_gmm:.1f}; out when more than "
            f"{place.tolerance_gmm + place.error_gmm:.1f}: {place.verdict}"
        )
    return lines
