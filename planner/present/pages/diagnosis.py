"""What went wrong, in words and as plain data."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from planner.cuts.cut import Cut
from planner.frames import SIDES, TwoPlanes
from planner.jobfile.job import Job
from planner.present.document import Line, lines
from planner.present.numbers import neat
from planner.present.to_json import picked
from planner.present.words import (
    along_words,
    degrees,
    drill_words,
    length_words,
    listed,
    mass_words,
    reading_words,
    shown_words,
    toward_words,
)
from planner.rotor.vectors import difference_deg
from planner.steps.diagnosis import SpinDiagnosis, remedy_of
from planner.steps.fault_words import explained_faults, explained_words


def diagnosis_parts(job: Job, found: SpinDiagnosis | None, *, level: int = 0) -> tuple[Line, ...]:
    """Return what went wrong before a spin, with the evidence; empty when nothing was foretold to change."""
    return () if found is None else tuple(_lines(job, found, level))


def _lines(job: Job, found: SpinDiagnosis, level: int) -> Iterator[Line]:
    diagnosis = found.diagnosis
    explanations = diagnosis.explanations
    if found.weak:
        yield Line(
            "The foretold change is too small against the readings' errors to prove that the machine is set right.",
            level,
        )
        return
    if found.good:
        yield Line(
            f"The change is as foretold within the errors: {diagnosis.factor:.3f} ± {diagnosis.factor_sigma:.3f} times as "
            "large, in the right direction (direction and zero mark are only tested by holes placed from a centre line, not by "
            "the dial alone).",
            level,
        )
        return
    if not explanations:
        yield Line(
            f"WHAT WENT WRONG: the change misses what was foretold by {_times(diagnosis.fine.misses_by)} the expected error, "
            "and no single fault explains it. Was everything entered that was cut? Are bobs, mounted parts and planes as "
            "they were? Repeat the spin before you cut again.",
            level,
        )
        return
    if len(explanations) == 1:
        only = explanations[0]
        said = explained_words(only)
        yield Line(f"WHAT WENT WRONG: {said}{'' if said.endswith('?') else '.'}", level)
        yield Line(
            f"evidence: this explains the change to within {_times(only.misses_by)} the expected error, "
            f'"nothing is wrong" misses by {_times(diagnosis.fine.misses_by)}',
            level + 1,
        )
        yield from lines(*(f"look: {look}" for look in looks(job, found)), level=level + 1)
        remedy = remedy_of(only)
        yield from lines(*([remedy] if remedy else []), level=level + 1)
        yield from _deciding_lines(job, found, level + 1)
        return
    yield Line(
        'WHAT WENT WRONG: "nothing is wrong" misses by '
        f"{_times(diagnosis.fine.misses_by)} the expected error. This change alone does not show which it is; it fits that:",
        level,
    )
    for number, each in enumerate(explanations, start=1):
        yield Line(f"{each.likelihood or 'possible'}: {explained_words(each)}", level + 1, mark=f"{number}.")
    found_looks = looks(job, found)
    if found_looks:
        yield Line("Look first, it costs nothing:", level + 1)
        yield from lines(*found_looks, level=level + 2)
    if diagnosis.settings and len(diagnosis.settings) < len(explanations):
        yield Line(
            "Don't change a setting of the machine while a slip or a bob explains it as well.", level + 1
        )
    yield from _deciding_lines(job, found, level + 1)


def _times(multiple: float) -> str:
    return f"{multiple:.1f} times" if multiple < 9.95 else f"{multiple:.0f} times"


def looks(job: Job, found: SpinDiagnosis) -> list[str]:
    """Return what to look at, gauge or weigh, the cheapest first: each decides among the explanations that fit."""
    explanations = found.diagnosis.explanations
    sides = sorted({each.mistyped.side for each in explanations if each.mistyped is not None})
    said = [f"look at the display again: the {' and the '.join(sides)} amount"] if sides else []
    for place, made in enumerate(found.cuts):
        asked: set[tuple[str, str]] = {
            (kind, other)
            for each in explanations
            if each.slip is not None
            for at, kind, other in each.slip.each
            if at == place
        }
        if asked:
            said.append(_look_at(job, made.cut, asked))
    bobs = [each.bob for each in explanations if each.bob is not None]
    moved = sorted({bob.throw for bob in bobs if bob.way != "grams"})
    weighed = sorted({bob.throw for bob in bobs if bob.way == "grams"})
    if moved:
        said.append(
            f"is the bob on throw {listed(moved)} still where it was clamped, along its throw and around it?"
        )
    if weighed:
        said.append(f"weigh the bob on throw {listed(weighed)}")
    if any(each.kind == "scale" for each in explanations):
        said.append("gauge depth and diameter of a hole, and look at the unit of the display")
    return said


def _look_at(job: Job, cut: Cut, asked: set[tuple[str, str]]) -> str:
    kinds = {kind for kind, _ in asked}
    counterweight = job.crankshaft.counterweight(cut.counterweight)
    beside = difference_deg(cut.angle_deg, counterweight.angle_deg)
    radius = cut.radius_mm or counterweight.outline.rim_radius_mm or counterweight.outline.greatest_radius_mm
    toward = toward_words(beside, job.machine)
    along = along_words(job, math.radians(abs(beside)) * radius)
    off = f"{degrees(abs(beside))} ({along} along the rim) from the centre line, "
    place = toward if toward == "on the centre line" else off + toward
    if cut.radius_mm is not None and toward != "on the centre line":
        place = place.replace("along the rim", "at its radius")
    questions = []
    if "not made" in kinds:
        questions.append("is it there?")
    if "neighbour" in kinds:
        others = sorted({other for kind, other in asked if kind == "neighbour"})
        questions.append(f"is it on {cut.counterweight}, or on {listed(others)}?")
    if "other side" in kinds:
        questions.append("is it on that side of the centre line, or as far on the other side?")
    if "no offset" in kinds:
        wrong = degrees(job.machine.machine_angle_deg(cut.angle_deg))
        questions.append(
            f"what does the dial show over it: {degrees(job.machine.dial_deg(cut.angle_deg))} as printed, or "
            f"{degrees(job.machine.dial_deg(job.machine.dialled_without_offset_deg(cut.angle_deg)))} "
            f"(dialled {wrong}, without the offset)?"
        )
    if "depth counted" in kinds:
        ends = ("shoulder", "tip") if job.shop.depth_to == "shoulder" else ("tip", "shoulder")
        questions.append("is that depth to the {}, or to the {}?".format(*ends))
    if "other drill" in kinds:
        others = sorted({other for kind, other in asked if kind == "other drill"})
        questions.append(f"is it {drill_words(job, cut.diameter_mm)} wide, or {listed(others)}?")
    size = drill_words(job, cut.diameter_mm)
    depth = ""
    if cut.depth_shoulder_mm is not None and not cut.through:
        stop = job.shop.stop_mm(depth_shoulder_mm=cut.depth_shoulder_mm, diameter_mm=cut.diameter_mm)
        depth = f", {length_words(job, stop)} to the {job.shop.depth_to}"
    return f"the {cut.kind} on {cut.counterweight} ({size}{depth}, {place}): {' '.join(questions)}"


def _deciding_lines(job: Job, found: SpinDiagnosis, level: int) -> Iterator[Line]:
    mass = found.decides
    if mass is None or mass.place is None:
        if found.diagnosis.settings:
            yield Line("A known mass at a named place of the crankshaft does not tell these apart.", level)
        return
    place = mass.place
    grams = _round_up(mass.unbalance_gmm / place.radius_mm)
    slips = len(found.diagnosis.settings) < len(found.diagnosis.explanations)
    yield Line(
        f"{'If the holes are as printed and the bobs sit, the' if slips else 'The'} cheapest way to decide: one spin with a "
        f"known mass of about {mass_words(job, grams)} at {length_words(job, place.radius_mm, with_64th=False)} on the centre "
        f'line of {place.name} (`bobplan spin ... --known-mass ... --known-at "{place.name}"`). The reading '
        "then changes by, as the display shows it:",
        level,
    )
    scale = grams * place.radius_mm / mass.unbalance_gmm
    for each, pair in zip(mass.tells_apart, mass.expected_gmm, strict=True):
        shown = TwoPlanes.vectors(scale * vector for vector in pair).shown(job.machine)
        seen = ", ".join(
            f"{side} {reading_words(job, value) if abs(vector) > 1e-3 * mass.unbalance_gmm else shown_words(job, value.amount)}"
            for side, value, vector in zip(SIDES, shown, pair, strict=True)
        )
        yield Line(
            f"{seen}: {explained_words(each) if each.is_setting else 'the machine is set right'}", level + 1
        )


def _round_up(grams: float) -> float:
    """Return a mass of one or two figures, as one would weigh it."""
    step = 10.0 ** math.floor(math.log10(grams)) / 2.0
    return math.ceil(grams / step) * step


def diagnosis_json(job: Job, found: SpinDiagnosis | None) -> dict[str, Any] | None:
    """Return what went wrong as plain data."""
    if found is None:
        return None
    diagnosis, decides = found.diagnosis, found.decides
    cuts = [picked(made.cut, "counterweight cut=kind angle_deg") for made in found.cuts]
    return {
        **picked(found, "good settled weak against_settings"),
        "looks": looks(job, found),
        **picked(diagnosis, "factor factor_sigma"),
        "fine_misses_by": neat(diagnosis.fine.misses_by),
        "explanations": [
            {
                **picked(each, "kind likelihood misses_by factor turn_deg setting=is_setting"),
                "faults": list(explained_faults(each)),
                "bob": None if each.bob is None else each.bob.throw,
                "cuts": [] if each.slip is None else [cuts[place] for place in each.slip.cuts],
            }
            for each in diagnosis.explanations
        ],
        "decides": None
        if decides is None
        else {
            **picked(decides, "plane angle_deg unbalance_gmm"),
            "place": None if decides.place is None else decides.place.name,
        },
    }
