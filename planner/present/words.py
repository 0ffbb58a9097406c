"""Phrases that the terminal, the drawings and the sheet share."""

from __future__ import annotations

import math
from typing import Literal

from planner.cuts.cut import Cut
from planner.frames import MachineConvention, ShaftAngle, Shown
from planner.jobfile.job import Job, TrialSide
from planner.machine.spin import KnownMass
from planner.present.numbers import degrees
from planner.quantity import nearest_64th
from planner.rotor.vectors import angle_deg, difference_deg, vector_gmm
from planner.steps.deepening import hole_name
from planner.steps.drill_words import drill_words as drill_words
from planner.steps.plan_answer import PlanStep
from planner.steps.reading_questions import HeavySpot

CAUTIONS = (
    "Before spinning: guard closed, nobody in line with the bobs, bob clamp bolts torqued.",
    "Before cutting: stay clear of oil drillings and fillets; slugs parallel to the axis and held by more than "
    "friction; heavy-metal dust is harmful.",
    "The machine's manual, the engine maker's limits, local rules and a qualified machinist's judgement stand above "
    "this plan.",
)
SPIN_CAUTIONS = (CAUTIONS[0], CAUTIONS[2])
"""What stands where the crankshaft is only spun again."""


def convention_words(machine: MachineConvention) -> str:
    """Return the machine's convention in one sentence."""
    way = "counter-clockwise" if machine.direction == "ccw" else "clockwise"
    amounts = "masses at the planes' radii" if machine.mass_at_radius else "unbalance"
    return (
        f"angles count {way} seen from the {machine.viewed_from}, the display marks the {machine.marks} "
        f"and shows {amounts}"
    )


def dial_words(job: Job) -> str:
    """Return how the dial and the display go together: it holds whatever the display marks."""
    at = degrees(job.machine.dial_deg(job.machine.heavy_spot_deg(Shown(0.0))))
    return f"display 0° is drilled at dial {at}°"


def rear_is_left(job: Job) -> bool:
    """Return whether the crankshaft's rear is at the left of who stands before the machine: where its left plane is."""
    left, right = job.planes_z_mm
    return left > right


def toward_words(from_centre_deg: float, machine: MachineConvention) -> str:
    """Return on which side of a centre line an angle lies, in the machine's numbers."""
    if abs(from_centre_deg) < 0.05:
        return "on the centre line"
    higher = (from_centre_deg > 0) == (machine.sense > 0)
    return f"toward {'higher' if higher else 'lower'} numbers"


def length_words(job: Job, length_mm: float) -> str:
    """Return a length in the job's unit, in inches with the nearest 64th."""
    text = job.units.text(length_mm, "length")
    return f"{text} ({nearest_64th(length_mm)})" if job.units.in_inches else text


def depth_words(step: PlanStep, job: Job) -> str:
    """Return the one number on the stop, said to the shoulder or to the tip, or what else ends the cut."""
    cut = step.cut
    if cut.kind in ("slug", "fill"):
        length = length_words(job, cut.length_mm or step.counterweight.thickness_mm)
        if cut.through:
            return f"through, slug {length} long"
        bore = (
            "" if step.stop_mm is None else f"{length_words(job, step.stop_mm)} to the {job.shop.depth_to}, "
        )
        return f"{bore}slug {length} long, from the {cut.face}"
    if cut.through:
        return "through"
    stop = length_words(job, step.stop_mm if step.stop_mm is not None else 0.0)
    face = f", from the {cut.face}" if cut.kind == "face hole" else ""
    return f"{stop} to the {job.shop.depth_to}{face}{deeper_words(job, cut)}"


def deeper_words(job: Job, cut: Cut) -> str:
    """Return ``, 4.5 mm deeper`` for a deepening, else nothing."""
    if cut.from_depth_mm is None or cut.depth_shoulder_mm is None:
        return ""
    return f", {length_words(job, cut.depth_shoulder_mm - cut.from_depth_mm)} deeper"


def cut_words(job: Job, cut: Cut) -> str:
    """Return a cut in one line, as the operator enters it: ``rim hole on A, 16 mm at 213, 27.0 mm on the stop``."""
    at = degrees(job.machine.dial_deg(cut.angle_deg))
    what = (
        f"{hole_name(job, cut)} on {cut.counterweight}, deeper"
        if cut.deepens
        else f"{cut.kind} on {cut.counterweight}{row_words(job, cut)}"
    )
    words = [what, f"{drill_words(job, cut.diameter_mm)} at {at}°"]
    if cut.radius_mm is not None:
        words.append(f"radius {length_words(job, cut.radius_mm)}")
    if cut.drilled_mm is not None:
        stop = job.shop.stop_mm(depth_shoulder_mm=cut.drilled_mm, diameter_mm=cut.diameter_mm)
        deeper = f" ({deeper_words(job, cut)[2:]})" if cut.deepens else ""
        words.append(f"{length_words(job, stop)} on the stop{deeper}")
    if cut.kind in ("slug", "fill"):
        words.append(
            "full thickness" if cut.length_mm is None else f"slug {length_words(job, cut.length_mm)} long"
        )
    elif cut.through:
        words.append("through")
    if cut.kind != "rim hole" and not cut.through:
        words.append(f"from the {cut.face}")
    return ", ".join(words)


def centre_words(step: PlanStep, job: Job) -> str:
    """Return where a cut lies from its counterweight's centre line: degrees, along the rim, toward which numbers."""
    digits = 2 if job.units.in_inches else 1
    mark = step.counterweight.mark
    if mark is not None:
        return _mark_words(step, job, mark, digits)
    toward = toward_words(step.from_centre_deg, job.machine)
    if toward == "on the centre line":
        return toward
    along = job.units.text(abs(step.from_centre_along_rim_mm), "length", digits=digits)
    return f"{degrees(abs(step.from_centre_deg))}° = {along} along the rim from the centre line, {toward}"


def reference_of(step: PlanStep) -> tuple[str, ShaftAngle, float]:
    """Return what a cut's place is told from: its name, its angle, and how far the cut lies from it [deg], + as the frame.

    That is the centre line of the counterweight, or its named mark where it has one.
    """
    counterweight = step.counterweight
    if counterweight.mark is None:
        return "centre line", counterweight.angle_deg, step.from_centre_deg
    name, at_deg = counterweight.mark
    return name, ShaftAngle(at_deg), difference_deg(step.cut.angle_deg, at_deg)


def spot_line(job: Job, spot: HeavySpot) -> str:
    """Return where a heavy spot is: as the display shows it, and how far from the nearest counterweight's centre line."""
    name, toward = spot.counterweight.name, toward_words(spot.from_centre_deg, job.machine)
    if toward == "on the centre line":
        place = f"on the centre line of counterweight {name}"
    else:
        place = (
            f"{degrees(abs(spot.from_centre_deg))}° from the centre line of counterweight {name}, {toward}"
        )
    vector = vector_gmm(spot.amount_gmm, spot.angle_deg)
    return f"{spot.side}: {spot_words(job, spot.side, vector)}, {place}"


def _mark_words(step: PlanStep, job: Job, mark: tuple[str, float], digits: int) -> str:
    """Return where a cut lies from the counterweight's named mark: a disc's centre line can't be seen."""
    name, at_deg = mark
    off_deg = difference_deg(step.cut.angle_deg, at_deg)
    toward = toward_words(off_deg, job.machine)
    if toward == "on the centre line":
        return f"at the {name}"
    radius = step.counterweight.rim_radius_at_mm(step.cut.from_middle_mm) or step.cut.radius_mm or 0.0
    along = job.units.text(math.radians(abs(off_deg)) * radius, "length", digits=digits)
    return f"{degrees(abs(off_deg))}° = {along} along the rim from the {name}, {toward}"


def row_words(job: Job, cut: Cut) -> str:
    """Return where a rim hole is drilled when it is not square to the middle: ``, 7.0 mm to the rear of the middle``."""
    words = ""
    if cut.from_middle_mm:
        end = "rear" if cut.from_middle_mm > 0.0 else "front"
        words += f", {length_words(job, abs(cut.from_middle_mm))} to the {end} of the middle"
    if cut.beside_mm:
        way = toward_words(math.copysign(90.0, cut.beside_mm), job.machine)
        words += f", axis {length_words(job, abs(cut.beside_mm))} beside the shaft axis {way}"
    if cut.tilt_deg:
        end = "rear" if cut.tilt_deg > 0.0 else "front"
        words += f", tilted {degrees(abs(cut.tilt_deg))}°, tip to the {end}"
    return words


def where_words(step: PlanStep, job: Job) -> str:
    """Return the cut and its counterweight, with the radius where a hole is parallel to the shaft."""
    cut = step.cut
    radius = "" if cut.radius_mm is None else f" at radius {length_words(job, cut.radius_mm)}"
    if cut.deepens:
        return f"{step.hole} on {cut.counterweight}{radius}, deeper"
    return f"{cut.kind} on {cut.counterweight}{radius}{row_words(job, cut)}"


def amount_words(job: Job, amount_gmm: float) -> str:
    """Return an unbalance [g*mm] in the job's unit."""
    return job.units.text(amount_gmm, "unbalance")


def shown_words(job: Job, amount: float) -> str:
    """Return an amount as the display shows it (an unbalance, or a mass at the plane's radius)."""
    return job.display_units.text(amount, "mass" if job.machine.mass_at_radius else "unbalance")


def shown_vector_words(job: Job, side: str, vector_gmm: complex) -> str:
    """Return a vector of a reading plane as the display shows it: its units, its counting, its marked spot."""
    vector = complex(vector_gmm)
    at = degrees(job.machine.reading_angle_deg(angle_deg(vector)))
    return f"{shown_amount_words(job, side, abs(vector))} at {at}°"


def shown_amount_words(job: Job, side: str, amount_gmm: float) -> str:
    """Return an amount of a reading plane as the display shows it (an unbalance, or a mass at the plane's radius)."""
    where: Literal["left", "right"] = "left" if side == "left" else "right"
    return shown_words(job, job.machine.display_amount(amount_gmm, side=where))


def raw_words(side: TrialSide) -> str:
    """Return a raw vibration reading as the instrument shows it, in its own unit."""
    return f"{side.amount:.4g} at {degrees(side.phase_deg)}°"


def judged_words(job: Job, at: str, amount_gmm: float) -> str:
    """Return an amount where it is judged: as the display shows it in a reading plane, else as an unbalance."""
    return (
        shown_amount_words(job, at, amount_gmm) if at in ("left", "right") else amount_words(job, amount_gmm)
    )


def spot_words(job: Job, side: str, vector_gmm: complex) -> str:
    """Return an amount with the place that is heavy; on a display that marks the light spot, what it shows as well."""
    vector = complex(vector_gmm)
    amount = shown_amount_words(job, side, abs(vector))
    at = degrees(job.machine.machine_angle_deg(angle_deg(vector)))
    if job.machine.marks == "heavy spot":
        return f"{amount} heavy at {at}°"
    light = degrees(job.machine.reading_angle_deg(angle_deg(vector)))
    return f"{amount} light at {light}°, heavy at {at}°"


def known_place_words(known: KnownMass) -> str:
    """Return where a known mass was put: by its name on the crankshaft, or by the machine's own number."""
    if known.at is None:
        return f"at machine angle {degrees(known.machine_angle_deg or 0.0)}°"
    offset = f" {known.offset_deg:+g}°" if known.offset_deg else ""
    pointer = (
        "" if known.machine_angle_deg is None else f" ({degrees(known.machine_angle_deg)}° at the pointer)"
    )
    return f"at {known.at}{offset}{pointer}"
