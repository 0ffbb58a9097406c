"""What went wrong, in words and as plain data."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from planner.job.model import Job
from planner.report.numbers import degrees, neat
from planner.report.words import amount_words
from planner.rotor.vectors import angle_deg
from planner.workflow.checking import nearest_counterweight
from planner.workflow.diagnosing import SpinDiagnosis, remedy_of


def diagnosis_lines(job: Job, found: SpinDiagnosis | None) -> list[str]:
    """Return what went wrong before a spin, with the evidence; empty when nothing was foretold to change."""
    return [] if found is None else list(_lines(job, found))


def _lines(job: Job, found: SpinDiagnosis) -> Iterator[str]:
    diagnosis = found.diagnosis
    explanations = diagnosis.explanations
    if found.weak:
        yield "The foretold change is too small against the readings' errors to prove that the machine is set right."
        return
    if found.good:
        yield (
            f"The change is as foretold within the errors: {diagnosis.factor:.3f} ± {diagnosis.factor_sigma:.3f} times as "
            "large, in the right direction (direction and zero mark are only tested by holes placed from a centre line, not by "
            "the dial alone)."
        )
        return
    if not explanations:
        yield (
            f"WHAT WENT WRONG: the change misses what was foretold by {_times(diagnosis.fine.misses_by)} the expected error, "
            "and no single fault explains it. Was everything entered that was cut? Are bobs, mounted parts and planes as "
            "they were? Repeat the spin before you cut again."
        )
        return
    if len(explanations) == 1:
        only = explanations[0]
        yield f"WHAT WENT WRONG: {only.words}{'' if only.words.endswith('?') else '.'}"
        yield (
            f"  evidence: this explains the change to within {_times(only.misses_by)} the expected error, "
            f'"nothing is wrong" misses by {_times(diagnosis.fine.misses_by)}'
        )
        remedy = remedy_of(only)
        if remedy:
            yield f"  {remedy}"
        return
    yield (
        'WHAT WENT WRONG: "nothing is wrong" misses by '
        f"{_times(diagnosis.fine.misses_by)} the expected error. This change alone does not show which it is; it fits that:"
    )
    for number, each in enumerate(explanations, start=1):
        yield f"  {number}. {each.words} (within {_times(each.misses_by)} the expected error)"
    yield from _deciding_lines(job, found)


def _times(multiple: float) -> str:
    return f"{multiple:.1f} times" if multiple < 9.95 else f"{multiple:.0f} times"


def _deciding_lines(job: Job, found: SpinDiagnosis) -> Iterator[str]:
    mass = found.decides
    if mass is None:
        yield "  A known mass does not tell these apart: weigh the bobs, gauge the cuts, and spin again."
        return
    z_mm = job.planes_z_mm[0 if mass.plane == "left" else 1]
    counterweight = nearest_counterweight(job, z_mm)
    radius = counterweight.outline.rim_radius_mm or counterweight.outline.greatest_radius_mm
    at = degrees(job.machine.machine_angle_deg(mass.angle_deg))
    grams = _round_up(mass.unbalance_gmm / radius)
    yield (
        f"  The cheapest way to decide: one spin with a known mass of about {job.units.text(grams, 'mass')} at "
        f"{job.units.text(radius, 'length')}, machine angle {at}, in the {mass.plane} plane (`bobplan spin ... --known-mass`). "
        "The heavy spot then changes:"
    )
    scale = grams * radius / mass.unbalance_gmm
    for number, pair in enumerate(mass.expected_gmm, start=1):
        seen = ", ".join(
            f"{side} {amount_words(job, scale * abs(vector))}"
            + (
                f" at {degrees(job.machine.machine_angle_deg(angle_deg(vector)))}"
                if abs(vector) > 1e-3 * mass.unbalance_gmm
                else ""
            )
            for side, vector in zip(("left", "right"), pair, strict=True)
        )
        yield f"    {number}. {seen}"


def _round_up(grams: float) -> float:
    """Return a mass of one or two figures, as one would weigh it."""
    step = 10.0 ** math.floor(math.log10(grams)) / 2.0
    return math.ceil(grams / step) * step


def diagnosis_json(found: SpinDiagnosis | None) -> dict[str, Any] | None:
    """Return what went wrong as plain data."""
    if found is None:
        return None
    diagnosis = found.diagnosis
    return {
        "good": found.good,
        "settled": found.settled,
        "weak": found.weak,
        "factor": neat(diagnosis.factor),
        "factor_sigma": neat(diagnosis.factor_sigma),
        "fine_misses_by": neat(diagnosis.fine.misses_by),
        "explanations": [
            {
                "kind": each.kind,
                "faults": list(each.faults),
                "misses_by": neat(each.misses_by),
                "factor": neat(each.factor),
                "turn_deg": neat(each.turn_deg),
                "bob": each.bob,
            }
            for each in diagnosis.explanations
        ],
        "decides": None
        if found.decides is None
        else {
            "plane": found.decides.plane,
            "angle_deg": neat(found.decides.angle_deg),
            "unbalance_gmm": neat(found.decides.unbalance_gmm),
        },
    }
