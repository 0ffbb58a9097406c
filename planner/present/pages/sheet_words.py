"""Words that only the sheets use: amounts as printed, a cut's few big words, limits, spins."""

from __future__ import annotations

import math
from typing import Literal

from planner.cuts.rim_off import flat_half_angle_deg
from planner.frames import ShaftAngle, Side, SideReading
from planner.jobfile.job import Job
from planner.present.words import (
    amount_words,
    deeper_words,
    degrees,
    drill_words,
    judged_words,
    length_words,
    piece_word,
    printed,
    reference_of,
    shown_amount_words,
    shown_words,
    tool_words,
)
from planner.quantity import nearest_64th
from planner.rotor.crankshaft import FILLS
from planner.rotor.tolerance import GradeReached
from planner.rotor.vectors import angle_deg
from planner.steps.check import AtRadius, CheckAnswer
from planner.steps.plan_answer import PlanStep
from planner.steps.slugs import FIT_SHARE
from planner.steps.spin import bob_words


def amount(job: Job, amount_gmm: float) -> str:
    """Return an unbalance [g*mm] in the job's unit, as printed: ``118 g·mm``."""
    return printed(amount_words(job, amount_gmm))


def judged(job: Job, at: str, amount_gmm: float) -> str:
    """Return an amount where it is judged, as printed: as the display shows it in a reading plane."""
    return printed(judged_words(job, at, amount_gmm))


def displayed(job: Job, reading: SideReading) -> str:
    """Return a reading as the display shows it."""
    return f"{printed(shown_words(job, reading.amount))} at {degrees(reading.angle_deg)}"


def display_words(job: Job) -> str:
    """Return what the amounts and angles of a display are: ``As the display shows it: light spot, grams at radius 80 mm``."""
    machine = job.machine
    at = ""
    if machine.mass_at_radius:
        radii = [
            f"{side} {job.units.text(radius_mm, 'length')}"
            for side, radius_mm in machine.radii_mm.items()
            if radius_mm is not None
        ]
        at = f", masses at radius {', '.join(radii)}" if radii else ", masses"
    return f"As the display shows it: the {machine.marks}{at}"


def at_radius(job: Job, place: AtRadius) -> str:
    """Return grams at a counterweight's rim."""
    return f"{job.units.text(place.mass_g, 'mass')} at {job.units.text(place.radius_mm, 'length')}"


def grade(reached: GradeReached | None) -> str:
    """Return a grade reached, empty without one: ``G 7.4 (meets G 16)``."""
    if reached is None:
        return ""
    finest = reached.standard
    meets = f" (meets G {finest.grade_mm_per_s:g})" if finest else ""
    return f"G {reached.grade_mm_per_s:.3g}{meets}"


def limit(check: CheckAnswer) -> str:
    """Return the limit as the builder stated it, and where it is judged."""
    from planner.present.pages.check import limit_words

    return printed(limit_words(check))


def limits_in_amounts(check: CheckAnswer) -> str:
    """Return every limit as an amount: ``bearing 1: 289 g·mm, bearing 2: 276 g·mm``."""
    return ", ".join(f"{row.at}: {judged(check.job, row.at, row.tolerance_gmm)}" for row in check.rows)


def bobs_on(job: Job, spin_index: int) -> str:
    """Return what was clamped on the throws."""
    return bob_words(job, job.spins[spin_index].bobs_g)


def bobs_wanted(job: Job, spin_index: int) -> str:
    """Return the bobs that the engine wants where they are others than those on for a spin, else nothing."""
    wanted = job.bobs_wanted_g
    if wanted is None or dict(wanted) == dict(job.spins[spin_index].bobs_g):
        return ""
    return bob_words(job, wanted)


def displayed_amount(job: Job, side: Side, reading: SideReading) -> str:
    """Return the amount of a reading as the display shows it; a mass with the radius that it is counted at."""
    amount = printed(shown_words(job, reading.amount))
    radius_mm = job.machine.radii_mm.at(side)
    if job.machine.mass_at_radius and radius_mm is not None:
        return f"{amount} at radius {job.units.text(radius_mm, 'length')}"
    return amount


def bare_amount(job: Job, side: str, amount_gmm: float) -> str:
    """Return an amount of a reading plane as the display shows it, without its unit."""
    return shown_amount_words(job, side, amount_gmm).partition(" ")[0]


def reading_angle(job: Job, vector_gmm: complex) -> str:
    """Return where the display shows a vector, to a tenth of a degree."""
    at = round(job.machine.reading_angle_deg(angle_deg(complex(vector_gmm))), 1) % 360.0
    return f"{at:.1f}"


def split_length(job: Job, length_mm: float) -> tuple[str, str, str]:
    """Return a length as its number, its unit, and the nearest 64th with its unit (in inches only)."""
    value, _, unit = job.units.text(length_mm, "length").partition(" ")
    return value, unit, f"{nearest_64th(length_mm)} in" if job.units.in_inches else ""


def tool(step: PlanStep, job: Job) -> tuple[str, str]:
    """Return what is in the spindle, and for a slug the bore of a usual press fit."""
    cut = step.cut
    if cut.on_rim:
        return tool_words(job, cut), ""
    size = drill_words(job, cut.diameter_mm)
    if cut.kind not in ("slug", *FILLS):
        return f"drill {size}", ""
    length_mm = cut.length_mm or step.counterweight.thickness_mm
    slug = f"{piece_word(cut)} {size} x {length_words(job, length_mm)}"
    fit_mm = FIT_SHARE * cut.diameter_mm
    if cut.kind in FILLS:
        what = "plug" if cut.kind == "plug" else "slug"
        return slug, f"press fit in the hole that is there: measure the hole, fit the {what} to it"
    bore = _fine_length(job, cut.diameter_mm - fit_mm)
    return (
        f"bore {bore}",
        f"for {slug}: a press fit of {_fine_length(job, fit_mm)} is usual, a machinist chooses it",
    )


def _fine_length(job: Job, length_mm: float) -> str:
    """Return a length to the digits of a press fit."""
    return f"{length_mm / 25.4:.4f} in" if job.units.in_inches else f"{length_mm:.3f} mm"


def way(step: PlanStep, job: Job) -> Literal["left", "right", "on"]:
    """Return on which side of the centre line the hole lies as drawn: at the top, seen from the machine's own end."""
    _, _, away_deg = reference_of(step)
    if abs(away_deg) < 0.05:
        return "on"
    counter_clockwise = (away_deg > 0.0) == (job.machine.viewed_from == "front")
    return "left" if counter_clockwise else "right"


def card_notes(step: PlanStep, job: Job) -> tuple[str, ...]:
    """Return the rest of what a card says."""
    notes = [first_pass(step, job)]
    if step.cut.deepens and step.from_stop_mm is not None:
        notes.append(
            f"the stop stood at {length_words(job, step.from_stop_mm)} for it{deeper_words(job, step.cut)}"
        )
    if step.cut.enlarges and step.cut.through:
        notes.append(deeper_words(job, step.cut).removeprefix(", "))
    notes.append(rim_ends(step, job))
    if step.cut.kind in ("slug", *FILLS) and not step.cut.through:
        notes.append(f"from the {step.cut.face}")
    return tuple(note for note in notes if note)


def rim_ends(step: PlanStep, job: Job) -> str:
    """Return between which numbers on the dial a cut of the rim goes; empty for others."""
    cut = step.cut
    if not cut.on_rim:
        return ""
    half = 0.5 * (cut.sector_deg or 0.0)
    if cut.kind == "flat":
        rim = step.counterweight.rim_form().greatest_radius_mm
        half = flat_half_angle_deg(greatest_radius_mm=rim, off_mm=cut.depth_shoulder_mm or 0.0)
        wide = 2.0 * rim * math.sin(math.radians(half))
        return f"the flat is {length_words(job, wide, with_64th=False)} wide"
    low, high = (-half, half) if job.machine.sense > 0 else (half, -half)
    first, last = (
        degrees(job.machine.dial_deg(ShaftAngle((cut.angle_deg + turn) % 360.0))) for turn in (low, high)
    )
    return f"from dial {first} to dial {last}, the dial number is its middle"


def first_pass(step: PlanStep, job: Job) -> str:
    """Return the stop of the first pass, empty when there is none."""
    if step.first_pass_mm is None or step.stop_mm is None:
        return ""
    if step.first_pass_mm > step.stop_mm - 1e-6:
        return "in one pass"
    return f"first pass {length_words(job, step.first_pass_mm)}"
