"""Trial runs in raw vibration as text, as one JSON object, and with the working."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from planner.formula import Formula
from planner.frames import Side, SideReading
from planner.jobfile.job import Job
from planner.machine.trial_masses import TrialSolution, told_phase
from planner.present.document import Block, Document, block, document, lines, remarks, table
from planner.present.numbers import neat
from planner.present.to_json import vectors_json
from planner.present.words import (
    amount_words,
    convention_words,
    degrees,
    percent,
    plural,
    shown_amount_words,
    shown_words,
    spot_words,
)
from planner.quantity import factor
from planner.rotor.vectors import angle_deg, wrap_deg
from planner.steps.trial import RawReadingAnswer, TrialAnswer, shown_by_the_machine

CAUTIONS = (
    "Trial masses fly off: fasten them so that they hold at speed, guard closed, nobody in line; stay below the machine's "
    "limit of vibration.",
    "The machine's manual, the engine maker's limits, local rules and a qualified machinist's judgement stand above "
    "this answer.",
)


def trial_document(answer: TrialAnswer) -> Document:
    """Return what the trial runs came to."""
    job, planes = answer.job, answer.influence.planes
    uncertainty = answer.solution.uncertainty_gmm.tolist()
    return document(
        _convention(job, "Trial runs", answer.solution),
        _runs(answer),
        _coefficients(answer),
        _unbalance(job, planes, answer.unbalance_gmm, uncertainty),
        _agreement(answer),
        remarks("warning", answer.warnings),
        _still_on(answer),
        _next(answer),
        block("CAUTION", lines(*CAUTIONS, level=1)),
    )


def reading_document(answer: RawReadingAnswer) -> Document:
    """Return what a raw reading came to without new trials."""
    job, planes = answer.job, answer.influence.planes
    speed = answer.influence.speed_rpm
    held = f"at {speed:g} rpm" if speed is not None else "at the speed of the trials"
    read = zip(answer.influence.sides, answer.reading, strict=True)
    return document(
        _convention(job, "Raw reading", answer.solution),
        lines(*(f"{side}: {each.amount:g} at {degrees(each.phase_deg)}" for side, each in read)),
        lines(
            f"Influence coefficients from {answer.influence_from}: they hold {held}, with the same supports, sensors "
            "and marks."
        ),
        _unbalance(job, planes, answer.unbalance_gmm, None),
        lines(*_enter(job, planes, answer.unbalance_gmm)),
        block("CAUTION", lines(*CAUTIONS[1:], level=1)),
    )


def trial_json(answer: TrialAnswer) -> dict[str, Any]:
    """Return what the trial runs came to as plain data; ``unbalance`` as `plan` gives it, in the crankshaft's own frame."""
    job, solution = answer.job, answer.solution
    return {
        "title": job.details.title,
        "phase_grows": job.machine.phase_grows,
        "runs": [
            {
                "name": run.name,
                "readings": [
                    {"side": side, "amount": neat(abs(v)), "phase_deg": neat(job.machine.raw_phase_deg(v))}
                    for side, v in zip(answer.influence.sides, run.readings, strict=True)
                ],
                "masses": [
                    {"plane": plane, "unbalance_gmm": neat(abs(w)), "machine_angle_deg": neat(angle_deg(w))}
                    for plane, w in zip(answer.influence.planes, run.masses_gmm, strict=True)
                ],
                "misses_by": [neat(abs(complex(v))) for v in residual],
            }
            for run, residual in zip(answer.runs, solution.residual, strict=True)
        ],
        "coefficients": _coefficients_json(job, answer),
        "condition": neat(solution.condition),
        "spare_runs": solution.spare_runs,
        "misfit": neat(solution.misfit),
        "unbalance": _vectors(job, answer.influence.planes, answer.unbalance_gmm),
        "uncertainty_gmm": [neat(float(each)) for each in solution.uncertainty_gmm],
        "to_add": _vectors(job, answer.influence.planes, [-each for each in answer.unbalance_gmm]),
        "spin": _spin_json(job, answer.influence.planes, answer.unbalance_gmm),
        "masses_still_on": list(answer.still_on),
        "warnings": list(answer.warnings),
    }


def reading_json(answer: RawReadingAnswer) -> dict[str, Any]:
    """Return what a raw reading came to as plain data."""
    job, planes = answer.job, answer.influence.planes
    return {
        "title": job.details.title,
        "phase_grows": job.machine.phase_grows,
        "coefficients_from": answer.influence_from,
        "coefficients": _coefficients_json(job, answer),
        "unbalance": _vectors(job, planes, answer.unbalance_gmm),
        "to_add": _vectors(job, planes, [-each for each in answer.unbalance_gmm]),
        "spin": _spin_json(job, planes, answer.unbalance_gmm),
    }


def trial_working(answer: TrialAnswer) -> Iterator[Formula | str]:
    """Yield the working, with the numbers put in."""
    solution, planes = answer.solution, answer.influence.planes
    yield "WORKING (g*mm; angles in the machine's counting; a vector is amount at angle)"
    yield "V = reading, W = trial mass, U = unbalance, a = influence coefficient: V = a (U + W), without a mass V0 = a U"
    if solution.spare_runs:
        yield (
            f"{len(answer.runs)} runs, {len(planes) + 1} needed: V0 and a of every side are fitted to all runs, so that "
            "the sum of the squared misses is least"
        )
    for row, side in enumerate(answer.influence.sides):
        yield f"V0 {side} = {_polar(complex(solution.initial[row]))}"
    for row, side in enumerate(answer.influence.sides):
        for column, plane in enumerate(planes):
            yield _coefficient(answer, row, column, name=f"a {side} from {plane}")
    initial = [complex(value) for value in solution.initial]
    unbalance = [complex(value) for value in solution.unbalance_gmm]
    if len(planes) == 1:
        of = {"V0": initial[0], "a": complex(answer.influence.per_gmm[0][0])}
        yield Formula(f"U {planes[0]}", "V0 / a", of, unbalance[0], "g*mm")
    else:
        (ll, lr), (rl, rr) = answer.influence.per_gmm
        of = {"a_ll": ll, "a_lr": lr, "a_rl": rl, "a_rr": rr, "V0_l": initial[0], "V0_r": initial[1]}
        of["D"] = complex(ll * rr - lr * rl)
        yield Formula("D", "a_ll * a_rr - a_lr * a_rl", of, of["D"])
        yield Formula("U left", "(a_rr * V0_l - a_lr * V0_r) / D", of, unbalance[0], "g*mm")
        yield Formula("U right", "(a_ll * V0_r - a_rl * V0_l) / D", of, unbalance[1], "g*mm")
    yield "U points to the heavy spot; to add is the same amount 180 degrees away"


def _coefficient(answer: TrialAnswer, row: int, column: int, *, name: str) -> Formula | str:
    """Return ``(V - V0)/W`` of a run that differs from the bare one by one mass; the bare number of a fit."""
    value = complex(answer.influence.per_gmm[row][column])
    bare = next((run for run in answer.runs if not any(run.masses_gmm)), None)
    if not answer.solution.spare_runs and bare is not None:
        for run in answer.runs:
            others = [w for index, w in enumerate(run.masses_gmm) if index != column]
            if run.masses_gmm[column] and not any(others):
                read = {"V": complex(run.readings[row]), "V0": complex(bare.readings[row])}
                of = read | {"W": complex(run.masses_gmm[column])}
                return Formula(name, "(V - V0) / W", of, value, "per g*mm")
    return f"{name} = {_polar(value)} per g*mm"


def _convention(job: Job, what: str, solution: TrialSolution | None = None) -> Block:
    grows = "grows" if job.machine.phase_grows == "with angles" else "falls"
    said = f'`phase_grows = "{job.machine.phase_grows}"` under [machine]'
    if solution is not None and told_phase(solution):
        said = "told by the trial runs"
    elif not job.machine.phase_stated:
        said = f"taken, nobody said it; {said} says it"
    return block(
        f"{job.details.title or what} ({what.lower()})",
        lines(
            f"The machine: {convention_words(job.machine)}.",
            f"The phase {grows} when a mass is moved toward larger angles ({said}).",
        ),
    )


def _runs(answer: TrialAnswer) -> Block:
    job, influence = answer.job, answer.influence
    rows = []
    for run in answer.runs:
        masses = [
            f"{plane} {amount_words(job, abs(w))} at {degrees(angle_deg(w))}"
            for plane, w in zip(influence.planes, run.masses_gmm, strict=True)
            if w
        ]
        rows.append((run.name, ", ".join(masses) or "none", *(_raw(job, v) for v in run.readings)))
    return block("", table(("run", "trial masses on", *(f"{side} reads" for side in influence.sides)), rows))


def _coefficients(answer: TrialAnswer) -> Block:
    job, influence = answer.job, answer.influence
    unit = job.units.unit_of("unbalance")
    per_unit = factor(unit, "unbalance")
    rows = [
        (side, *(_raw(job, each * per_unit) for each in row))
        for side, row in zip(influence.sides, influence.per_gmm, strict=True)
    ]
    condition = f"condition number {answer.solution.condition:.2g} (1 is best; large: the planes are hard to tell apart)"
    return block(
        "",
        table((f"reading per {unit}", *(f"mass in the {plane} plane" for plane in influence.planes)), rows),
        lines(condition) if len(influence.planes) == 2 else (),
    )


def _unbalance(
    job: Job, planes: Sequence[str], vectors: Sequence[complex], uncertainty_gmm: Sequence[float] | None
) -> Block:
    said = []
    for index, (plane, vector) in enumerate(zip(planes, vectors, strict=True)):
        heavy = job.machine.machine_angle_deg(angle_deg(vector))
        sure = (
            ""
            if uncertainty_gmm is None
            else f" (uncertain by {shown_amount_words(job, plane, uncertainty_gmm[index])})"
        )
        said.append(
            f"{plane}: {spot_words(job, plane, vector)}{sure}: take it off where it is heavy, or add it at "
            f"{degrees(wrap_deg(heavy + 180.0))}"
        )
    return block("UNBALANCE (angles as on the machine)", lines(*said, level=1))


def _agreement(answer: TrialAnswer) -> Block:
    solution = answer.solution
    if not solution.spare_runs:
        return block(
            "",
            lines(
                "No more runs than needed: nothing shows whether they agree. The uncertainty is that of [errors] "
                "reading_percent and reading_angle."
            ),
        )
    rows = [
        (run.name, *(_miss(abs(complex(each)), run.readings) for each in residual))
        for run, residual in zip(answer.runs, solution.residual, strict=True)
    ]
    return block(
        f"{plural(solution.spare_runs, 'more run')} than needed: fitted by least squares, missing by "
        f"{percent(solution.misfit, digits=1)} of the readings",
        table(("run", *(f"{side} misses by" for side in answer.influence.sides)), rows, level=1),
    )


def _miss(amount: float, readings: Sequence[complex]) -> str:
    """Return by how much a reading misses; what is left of rounding in the computer is nothing."""
    return f"{amount:.3g}" if amount > 1e-9 * max(abs(each) for each in readings) else "0"


def _still_on(answer: TrialAnswer) -> Block | None:
    if not answer.still_on:
        return None
    names = ", ".join(f"`{name}`" for name in answer.still_on)
    return block(
        "",
        lines(
            f"Still on at the end: the trial mass of {names}. Take it off; the unbalance above is without it."
        ),
    )


def _next(answer: TrialAnswer) -> Block:
    if not answer.both_planes:
        said = ["One plane only: it says nothing of the other plane, so that no plan can be made from it."]
    elif answer.job.spins:
        said = _enter(answer.job, answer.influence.planes, answer.unbalance_gmm)
    else:
        said = ["Next: `bobplan plan` plans the correction from these trial runs."]
    return block("", lines(*said))


def _enter(job: Job, planes: Sequence[Side], vectors: Sequence[complex]) -> list[str]:
    if len(planes) != 2:
        return []
    left, right = shown_by_the_machine(job, vectors)
    numbers = " ".join(_entered(job, side) for side in (left, right))
    return [f"Next: enter it as a spin, the plan comes with it: `bobplan spin {numbers}`"]


def _entered(job: Job, side: SideReading) -> str:
    kind = job.display_kind
    amount = side.amount / factor(job.units.unit_of(kind), kind)
    return f"{amount:.6g} {round(side.angle_deg, 2):g}"


def _spin_json(job: Job, planes: Sequence[Side], vectors: Sequence[complex]) -> list[dict[str, Any]] | None:
    """Return the four numbers to enter as a spin, as the display would show them; None for a single plane."""
    if len(planes) != 2:
        return None
    return [
        {"plane": plane, "shown": shown_words(job, side.amount), "angle_deg": neat(side.angle_deg)}
        for plane, side in zip(planes, shown_by_the_machine(job, vectors), strict=True)
    ]


def _vectors(job: Job, planes: Sequence[Side], vectors: Sequence[complex]) -> list[dict[str, Any]]:
    places = [job.planes_z_mm.at(plane) for plane in planes]
    entries = vectors_json(vectors, places, planes=planes)
    for entry, vector in zip(entries, vectors, strict=True):
        entry["machine_angle_deg"] = neat(job.machine.machine_angle_deg(angle_deg(vector)))
    return entries


def _coefficients_json(job: Job, answer: TrialAnswer | RawReadingAnswer) -> list[dict[str, Any]]:
    influence = answer.influence
    return [
        {
            "side": side,
            "plane": plane,
            # not rounded to 9 decimals: a reading per g*mm can be a very small number
            "amount_per_gmm": float(f"{abs(each):.12g}"),
            "phase_deg": neat(job.machine.raw_phase_deg(each)),
        }
        for side, row in zip(influence.sides, influence.per_gmm, strict=True)
        for plane, each in zip(influence.planes, row, strict=True)
    ]


def _raw(job: Job, vector: complex) -> str:
    return f"{abs(vector):.4g} at {degrees(job.machine.raw_phase_deg(vector))}"


def _polar(vector: complex) -> str:
    return f"{abs(vector):.5g} at {angle_deg(vector):.2f}"
