"""What known masses prove, which setting is wrong and on what evidence, in words and as plain data."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from planner.frames import Shown, Side, SideReading, TwoPlanes
from planner.jobfile.job import PROVABLE, Job
from planner.machine.settings_fit import Explanation
from planner.present.document import Block, Line, Part, Values, block, lines
from planner.present.numbers import neat
from planner.present.to_json import picked, plain, shown_json
from planner.present.words import (
    degrees,
    known_place_words,
    length_words,
    mass_words,
    readings_words,
    shown_amount_words,
)
from planner.rotor.vectors import wrap_deg
from planner.steps.known_mass import KnownMassCheck, places_of, shown_for
from planner.steps.prove import (
    LineCheck,
    Proposal,
    mended_values,
    mended_zero,
    not_proved,
    proof_words,
    proved_settings,
)

NAMES = {
    "direction": "direction and viewing end",
    "zero": "zero mark",
    "spot": "heavy or light spot",
    "planes": "plane order",
    "unit": "unit",
    "radius": "radius of the planes",
    "amounts": "kind of amounts",
    "drill_offset": "drill_offset",
}
"""What each provable setting is called."""


def fault_words(job: Job, found: Explanation) -> tuple[str, ...]:
    """Return what an explanation says is wrong, one text per setting; empty when nothing is."""
    machine = job.machine
    words = []
    for fault in found.faults:
        if fault == "direction":
            other = "cw" if machine.direction == "ccw" else "ccw"
            words.append(
                f"the angle direction is reversed: the numbers grow {other} seen from the {machine.viewed_from}, not "
                f"{machine.direction} (or that is the other end: angle_direction and viewed_from act only together)"
            )
        elif fault == "spot":
            other = "light spot" if machine.marks == "heavy spot" else "heavy spot"
            words.append(f"heavy and light spot are swapped: the display marks the {other}")
        elif fault == "zero":
            zero = mended_zero(job, found.turn_deg)
            at = zero if isinstance(zero, str) else f"{degrees(zero)} of the crankshaft's frame"
            words.append(f"the zero mark is off by {found.turn_deg:.0f} degrees: it lies at {at}")
        elif fault == "planes":
            words.append("the left and right plane are swapped")
        elif fault == "unit":
            words.append(f"the unit is wrong: the display shows {found.unit}, not {job.display_unit}")
        elif fault in ("left radius", "right radius"):
            side: Side = "left" if fault == "left radius" else "right"
            radius = machine.radii_mm.at(side) or 0.0
            right = length_words(job, float(f"{radius / found.gains.at(side):.3g}"))
            words.append(f"{side}_radius is wrong: {right} fits, {length_words(job, radius)} is set")
        elif fault == "amounts":
            other = "unbalance" if machine.mass_at_radius else "masses at the planes' radii"
            unit = "" if found.unit is None else f", in {found.unit}"
            words.append(f"the kind of amounts is wrong: the display shows {other}{unit}")
        else:
            words.append(
                f"amounts read {found.gains[0]:.3g} times what they should, and no unit explains it: was the mass and its "
                "radius as you said, is the machine calibrated for this crankshaft?"
            )
    return tuple(words)


def explained_words(job: Job, found: Explanation) -> str:
    """Return what an explanation says in one sentence."""
    faults = fault_words(job, found)
    return " and ".join(faults) if faults else "everything is set right"


def check_parts(
    job: Job, check: KnownMassCheck, *, tested: Sequence[str], commands: bool = True
) -> Iterator[Part]:
    """Yield what check spins prove, or what is wrong and the evidence.

    ``commands`` is False on a page that has boxes for what else is to be read.
    """
    yield from _evidence(job, check)
    if not check.explanations:
        yield Line(
            "That fits nothing that is known: was the mass where it was said, was anything else changed, were the "
            "planes set? Don't cut; repeat the check, with a spin without the mass before it."
        )
        return
    if check.good:
        yield from _proved_lines(tested, commands=commands)
        yield from _in_one_line(job, tested, commands=commands)
        return
    if check.settled:
        only = check.explanations[0]
        yield Line(f"WRONG: {explained_words(job, only)}.")
        yield Line(
            f"with that, everything read is explained to {only.misses_by:.1f} times the expected error; as set it misses by "
            f"{check.fit.as_set.misses_by:.1f} times",
            level=1,
        )
        if mended_values(job, only) is None:
            yield Line("No setting mends that: find the cause, then prove again.", level=1)
        return
    yield Line("Something is set wrong. It fits that:")
    yield from lines(*(explained_words(job, each) for each in check.explanations), level=1)
    yield Line(f"{_deciding(check)} Don't cut before.")


def _in_one_line(job: Job, tested: Sequence[str], *, commands: bool) -> Iterator[Line]:
    """Yield how to prove the direction where all named places lie in one line through the shaft, as in a flat crankshaft."""
    places = places_of(job)
    angles = [angle for angle, _ in places.values()]
    flat = all(abs(math.sin(math.radians(angle - angles[0]))) < 0.05 for angle in angles)
    if "direction" in tested or not flat:
        return
    first = next((name for name in places if name.startswith("counterweight ")), next(iter(places)))
    how = (
        f": `bobplan spin LEFT ANGLE RIGHT ANGLE --known-mass GRAMS --known-radius RADIUS --known-at "
        f'"{first}" --known-offset 45`, then `bobplan prove`'
        if commands
        else f": choose {first} and 45 degrees from it"
    )
    yield Line(
        "All throws and counterweights of this crankshaft lie in one line, so no two of their centres can prove it. A mass "
        f"45 degrees from one of them, counter-clockwise seen from the front, does{how}.",
        level=1,
    )


def _deciding(check: KnownMassCheck) -> str:
    kinds = [set(each.faults) for each in check.explanations]
    if any("zero" in kind for kind in kinds) and any("spot" in kind for kind in kinds):
        return (
            "The machine's own number decides: turn the place to the pointer, read the number there, and give it with the "
            "reading as a fifth number."
        )
    return "A second check with the mass at another named place, 90 degrees further on, decides."


def _evidence(job: Job, check: KnownMassCheck) -> Iterator[Part]:
    shows_other = not check.good and bool(check.explanations)
    other = check.explanations[0] if shows_other else None
    for index, spin in enumerate(check.spins):
        known = spin.known
        yield Line(
            f"spin {spin.number}: {mass_words(job, known.mass_g)} {known_place_words(known)}, radius "
            f"{length_words(job, known.radius_mm)}"
        )
        rows = [
            (
                "the display should have shown, as set:",
                _two(job, _expected(job, check, check.fit.as_set, index)),
            )
        ]
        if other is not None:
            mended = _two(job, _expected(job, check, other, index))
            rows.append(("the display should have shown, as mended:", mended))
        yield Values(rows=(*rows, ("the display showed:", _two(job, spin.shown))), level=1)


def _expected(job: Job, check: KnownMassCheck, found: Explanation, index: int) -> TwoPlanes[SideReading]:
    return shown_for(check.base.plus(found.predicted[index]), job.machine)


def _two(job: Job, shown: TwoPlanes[SideReading]) -> str:
    return readings_words(
        job,
        shown.map(lambda each: SideReading(amount=each.amount, angle_deg=Shown(wrap_deg(each.angle_deg)))),
    )


def _proved_lines(tested: Sequence[str], *, commands: bool) -> Iterator[Line]:
    open_ = [name for name in PROVABLE if name not in tested]
    if tested:
        yield Line(f"Proved: {', '.join(NAMES[name] for name in tested)}.")
    else:
        yield Line(
            "The readings fit the settings, but they prove none of them: the mass is too small, or nothing tests them."
        )
    if not open_:
        return
    yield Line(f"Not yet: {', '.join(NAMES[name] for name in open_)}.")
    if "direction" in open_ or "zero" in open_:
        yield Line(
            "Direction, viewing end and zero are only tested by a mass at two places named on the crankshaft itself (throw, "
            "counterweight), not 0 or 180 degrees apart; a place by the machine's own numbers reads the same whatever they are.",
            level=1,
        )
    if ("zero" in open_) != ("direction" in open_) or ("spot" in open_ and "zero" in open_):
        yield Line(
            "Zero and marked spot turned by half a turn read alike: read the machine's number with the mass at the pointer, "
            "too.",
            level=1,
        )
    if "drill_offset" in open_:
        how = ': `bobplan prove --line "throw 1 = NUMBER"`' if commands else ""
        yield Line(
            f"drill_offset: bring a named place under the drill and give the number on the dial{how}.",
            level=1,
        )


def line_lines(job: Job, checks: Sequence[LineCheck]) -> Iterator[Line]:
    """Yield what scribed lines under the drill say of ``drill_offset``."""
    for line in checks:
        yield Line(
            f"{line.place} under the drill: the dial should show {degrees(line.should_deg)}, it showed "
            f"{degrees(line.showed_deg)}"
        )
        if line.mended_deg is None:
            continue
        what = "the sign of drill_offset is wrong" if line.sign else "drill_offset is wrong"
        yield Line(f"WRONG: {what}: {line.mended_deg:g} fits, {job.machine.drill_offset_deg:g} is set.")


def proposal_block(job: Job, proposal: Proposal) -> Block:
    """Return which mass to put where, in words."""
    mass = mass_words(job, proposal.mass_g)
    errors = " and ".join(shown_amount_words(job, side, each) for side, each in proposal.error_gmm.items())
    said = [
        Line(
            f"A mass of {mass} shows clearly here: a change between two readings is uncertain by {errors} (left, right)."
        )
    ]
    for number, place in enumerate(proposal.places, start=1):
        # what should stand at the pointer is not said: a number that is expected is easily read
        said.append(
            Line(
                f"{mass} at {place.name}, radius {length_words(job, place.radius_mm)}, z "
                f"{length_words(job, place.z_mm)}: {place.how}. Spin as always, nothing else changed.\n"
                "Then turn the crankshaft by hand until the middle of the mass is at the machine's pointer and read the "
                "number there.",
                mark=f"{number}.",
            )
        )
    others = [each for each in proposal.offered if each.name not in {p.name for p in proposal.places}]
    if others:
        listed = ", ".join(f"{each.name} (radius {length_words(job, each.radius_mm)})" for each in others)
        said.append(Line(f"Other places: {listed}: `--at`, with `--mass` and `--radius` where yours differ."))
    said.append(Line("Fix the mass so that it can't fly off, guard closed, nobody in line with it."))
    return block("", said)


def state_block(job: Job, *, against: KnownMassCheck | None = None) -> Block:
    """Return which settings are proved, which not yet, and which a check that failed speaks against."""
    doubted: set[str] = set()
    if against is not None and not against.good:
        named = {fault for each in against.explanations for fault in each.faults}
        doubted = {"radius" if each.endswith(" radius") else each for each in named}
    state = proved_settings(job)
    rows = tuple(
        (NAMES[name], "in doubt" if name in doubted else "proved" if state[name] else "not yet")
        for name in PROVABLE
    )
    return block("As it stands:", Values(rows=rows, level=1), lines(*proof_words(job), level=1))


def unproved_words(job: Job) -> str | None:
    """Return the line that heads a plan while settings are not proved; None when all are."""
    open_ = not_proved(job)
    if not open_:
        return None
    which = "none is" if len(open_) == len(PROVABLE) else ", ".join(NAMES[name] for name in open_)
    told = f"{which} proved" if which == "none is" else f"not yet {which}"
    return f"SETTINGS NOT PROVED ({told}): `bobplan prove` before metal is lost"


def proved_words(job: Job) -> str:
    """Return in one short sentence whether the machine's settings were proved, for the customer's record."""
    if not_proved(job):
        return "The machine's settings were not all proved with a known mass."
    dates = sorted(proof.on.isoformat() for proof in job.proofs if proof.on is not None)
    when = f", {dates[0]}" if dates else ""
    if len(set(dates)) > 1:
        when += f" to {dates[-1]}"
    return f"The machine's settings were proved with a known mass{when}."


def check_json(
    job: Job, check: KnownMassCheck, *, tested: Sequence[str], lines: Sequence[LineCheck] = ()
) -> dict[str, Any]:
    """Return what check spins prove as plain data."""
    return {
        "places": check.places,
        "good": check.good and all(line.mended_deg is None for line in lines),
        "settled": check.settled,
        "proved": list(tested),
        "explanations": [
            {
                "faults": list(fault_words(job, each)),
                "settings": list(each.faults),
                "misses_by": neat(each.misses_by),
                "mended": plain(mended_values(job, each)),
            }
            for each in check.explanations
        ],
        "as_set_misses_by": neat(check.fit.as_set.misses_by),
        "evidence": [
            {
                "spin": spin.number,
                "as_set": shown_json(_expected(job, check, check.fit.as_set, index), job),
                "as_mended": None
                if check.good or not check.explanations
                else shown_json(_expected(job, check, check.explanations[0], index), job),
                "showed": shown_json(spin.shown, job),
            }
            for index, spin in enumerate(check.spins)
        ],
        "lines": [picked(line, "place should_deg showed_deg mended_deg") for line in lines],
    }


def proposal_json(job: Job, proposal: Proposal) -> dict[str, Any]:
    """Return which mass to put where as plain data."""
    places = [picked(place, "radius_mm z_mm angle_deg how at=name") for place in proposal.places]
    return {**picked(proposal, "mass_g error_gmm"), "places": places}
