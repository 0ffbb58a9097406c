"""The vocabulary: how a number, a length, a drill, an angle, an amount, a cut, a convention is said.

Terminal, paper, page and drawings say it with these words and no others.  One spelling per unit: ``g*mm`` and ``oz*in``,
which is also how they may be typed (`printed` has them for paper: ``g·mm``); ``131°``; ``98 %``; lengths in inches with the
nearest 64th beside them.  What needs no more than units takes the job or its `UnitSystem`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence

from planner.cuts.cut import Cut
from planner.frames import SIDES, MachineConvention, ShaftAngle, Shown, Side, SideReading, TwoPlanes
from planner.jobfile.job import Job, TrialSide
from planner.machine.spin import KnownMass
from planner.quantity import UnitSystem, nearest_64th
from planner.quantity import percent as percent
from planner.rotor.crankshaft import FILLS
from planner.rotor.drills import drill_size
from planner.rotor.vectors import ComplexArray, angle_deg, difference_deg, vector_gmm
from planner.rotor.verdict import Judged
from planner.steps.deepening import hole_name
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


NOTHING_GMM = 1e-6
"""What is smaller than a plane's vector can be and still be one [g*mm]."""


def plural(count: int, noun: str) -> str:
    """Return ``1 cut`` or ``3 cuts``."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def counted(names: Iterable[str]) -> str:
    """Return names, each once, with how often it is there: ``A x2, B``."""
    return ", ".join(name if count == 1 else f"{name} x{count}" for name, count in Counter(names).items())


def number(value: float, *, digits: int = 1) -> str:
    """Return a number without trailing zeros: ``131``, ``131.5``."""
    text = f"{value:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def degrees(angle: float) -> str:
    """Return an angle [deg] with at most one decimal: ``131°``, ``293.7°``; never ``360°``."""
    text = number(angle)
    return "0°" if text == "360" else f"{text}°"


def chance_words(chance: float, *, digits: int | None = None) -> str:
    """Return a chance in percent, never rounded to certain or impossible when it is not."""
    if chance >= 0.9995:
        return "over 99.9 %"
    if 0.0 < chance < 0.0005:
        return "under 0.1 %"
    fine = chance >= 0.99 or 0.0 < chance < 0.01
    return percent(chance, digits=digits if digits is not None else 1 if fine else 0)


def printed(text: str) -> str:
    """Return a text with its units as they are set on paper: ``g·mm``."""
    return text.replace("*", "·")


_NEWTONS_PER_LBF = 4.4482216152605
_METRES_PER_FT = 0.3048
"""Exact: 1 lbf = 0.45359237 kg x 9.80665 m/s2, 1 ft = 12 in of 25.4 mm."""


def force_unit(units: UnitSystem | None) -> tuple[str, float]:
    """Return the unit of force that goes with a job's lengths, and how many newtons it has."""
    return ("lbf", _NEWTONS_PER_LBF) if units is not None and units.in_inches else ("N", 1.0)


def couple_unit(units: UnitSystem | None) -> tuple[str, float]:
    """Return the unit of a couple that goes with a job's lengths, and how many newton metres it has."""
    in_inches = units is not None and units.in_inches
    return ("lbf·ft", _NEWTONS_PER_LBF * _METRES_PER_FT) if in_inches else ("N·m", 1.0)


def counting_words(machine: MachineConvention) -> str:
    """Return how the machine's angles count: ``clockwise seen from the rear``."""
    way = "counter-clockwise" if machine.direction == "ccw" else "clockwise"
    return f"{way} seen from the {machine.viewed_from}"


def convention_words(machine: MachineConvention) -> str:
    """Return the machine's convention in one sentence."""
    amounts = "masses at the planes' radii" if machine.mass_at_radius else "unbalance"
    return (
        f"angles count {counting_words(machine)}, the display marks the {machine.marks} and shows {amounts}"
    )


def zero_words(job: Job) -> str:
    """Return where the machine's zero lies: ``throw 1``, or degrees of the crankshaft's own frame."""
    for throw in job.crankshaft.throws:
        if abs(difference_deg(throw.angle_deg, job.machine.zero_deg)) < 1e-6:
            return f"throw {throw.name}"
    return f"{degrees(job.machine.zero_deg)} of the crankshaft's own frame"


def dial_words(job: Job) -> str:
    """Return how the dial and the display go together: it holds whatever the display marks."""
    at = degrees(job.machine.dial_deg(job.machine.heavy_spot_deg(Shown(0.0))))
    return f"display 0° is drilled at dial {at}"


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


def length_words(job: Job | UnitSystem, length_mm: float, *, with_64th: bool = True) -> str:
    """Return a length in the job's unit, in inches with the nearest 64th (labels have no room for it)."""
    units = _units(job)
    text = units.text(length_mm, "length")
    return f"{text} ({nearest_64th(length_mm)})" if units.in_inches and with_64th else text


def along_words(job: Job, length_mm: float) -> str:
    """Return a length along a rim, as a tape measure shows it."""
    return job.units.text(abs(length_mm), "length", digits=2 if job.units.in_inches else 1)


def drill_words(job: Job | UnitSystem, diameter_mm: float) -> str:
    """Return a drill's size: as the shop calls it, inches as a fraction where it is one, millimetres as they are."""
    if isinstance(job, UnitSystem):
        return drill_size(diameter_mm, job)
    return drill_size(diameter_mm, job.units, job.drill_names)


def tool_words(job: Job | UnitSystem, cut: Cut) -> str:
    """Return what a cut is made with: a drill's or slug's size, or the machine that takes metal off the rim."""
    if not cut.on_rim:
        return drill_words(job, cut.diameter_mm)
    return {"rim turning": "lathe", "flat": "mill"}.get(cut.kind, "lathe")


def rim_cut_words(job: Job | UnitSystem, cut: Cut, *, with_64th: bool = True) -> str:
    """Return how far a cut of the rim goes: ``1.5 mm off the radius, over 60°``."""
    off = length_words(job, cut.depth_shoulder_mm or 0.0, with_64th=with_64th)
    if cut.kind == "flat":
        return f"{off} below the rim"
    over = f"over {degrees(cut.sector_deg or 0.0)}"
    if cut.kind == "bevel":
        return f"{off} off at the {cut.face} face, slope {degrees(cut.slope_deg or 0.0)}, {over}"
    return f"{off} off the radius, {over}"


def mass_words(job: Job | UnitSystem, mass_g: float) -> str:
    """Return a mass [g] in the job's unit."""
    return _units(job).text(mass_g, "mass")


def depth_words(step: PlanStep, job: Job) -> str:
    """Return the one number on the stop, said to the shoulder or to the tip, or what else ends the cut."""
    cut = step.cut
    if cut.on_rim:
        return rim_cut_words(job, cut)
    if cut.kind in ("slug", *FILLS):
        length = length_words(job, cut.length_mm or step.counterweight.thickness_mm)
        if cut.through:
            return f"through, {piece_word(cut)} {length} long"
        bore = (
            "" if step.stop_mm is None else f"{length_words(job, step.stop_mm)} to the {job.shop.depth_to}, "
        )
        pieces = job.shop.stacks_mm().get(round(cut.length_mm or 0.0, 6), ())
        if cut.kind == "slug" and len(pieces) > 1:
            sizes = " + ".join(job.units.text(piece, "length") for piece in pieces)
            length = f"{length} ({sizes})"
        return f"{bore}{piece_word(cut)} {length} long, from the {cut.face}"
    if cut.through:
        return f"through{deeper_words(job, cut)}"
    stop = length_words(job, step.stop_mm if step.stop_mm is not None else 0.0)
    face = f", from the {cut.face}" if cut.kind == "face hole" else ""
    return f"{stop} to the {job.shop.depth_to}{face}{deeper_words(job, cut)}"


def piece_word(cut: Cut) -> str:
    """Return what goes into a bore: ``slug``, or ``steel plug``."""
    return "steel plug" if cut.kind == "plug" else "slug"


def how_words(cut: Cut) -> str:
    """Return whether a hole that is there is drilled ``deeper`` or ``wider``."""
    return "wider" if cut.enlarges else "deeper"


def deeper_words(job: Job, cut: Cut) -> str:
    """Return ``, 4.5 mm deeper`` for a deepening, else nothing."""
    wider = ""
    if cut.from_diameter_mm is not None:
        wider = f", drilled out from {length_words(job, cut.from_diameter_mm, with_64th=False)}"
    if cut.through or cut.from_depth_mm is None or cut.depth_shoulder_mm is None:
        return wider
    more = cut.depth_shoulder_mm - cut.from_depth_mm
    return wider if wider and more <= 1e-6 else f"{wider}, {length_words(job, more)} deeper"


def made_words(job: Job, cut: Cut) -> str:
    """Return what a cut is and on which counterweight: ``rim hole on A``, ``hole 1 on A, deeper``."""
    if cut.deepens:
        return f"{hole_name(job, cut)} on {cut.counterweight}, {how_words(cut)}"
    return f"{cut.kind} on {cut.counterweight}{row_words(job, cut)}"


def cut_words(job: Job, cut: Cut) -> str:
    """Return a cut in one line, as the operator enters it: ``rim hole on A, 16 mm at 213, 27.0 mm on the stop``."""
    at, what = degrees(job.machine.dial_deg(cut.angle_deg)), made_words(job, cut)
    if cut.on_rim:
        return f"{what}, middle at {at}, {rim_cut_words(job, cut)}"
    words = [what, f"{drill_words(job, cut.diameter_mm)} at {at}"]
    if cut.radius_mm is not None:
        words.append(f"radius {length_words(job, cut.radius_mm)}")
    stop = job.shop.stop_of_mm(cut)
    if stop is not None:
        deeper = f" ({deeper_words(job, cut)[2:]})" if cut.deepens else ""
        words.append(f"{length_words(job, stop)} on the stop{deeper}")
    if cut.kind in ("slug", *FILLS):
        words.append(
            "full thickness"
            if cut.length_mm is None
            else f"{piece_word(cut)} {length_words(job, cut.length_mm)} long"
        )
    elif cut.through:
        words.append(f"through{deeper_words(job, cut)}")
    if cut.kind != "rim hole" and not cut.through:
        words.append(f"from the {cut.face}")
    return ", ".join(words)


def centre_words(step: PlanStep, job: Job) -> str:
    """Return where a cut lies from its counterweight's centre line or mark: degrees, along the rim, toward which numbers."""
    name, _, off_deg = reference_of(step)
    toward = toward_words(off_deg, job.machine)
    if toward == "on the centre line":
        return toward if step.counterweight.mark is None else f"at the {name}"
    radius = step.counterweight.rim_radius_at_mm(step.cut.from_middle_mm) or step.cut.radius_mm or 0.0
    along = along_words(job, math.radians(off_deg) * radius)
    return f"{degrees(abs(off_deg))} = {along} along the rim from the {name}, {toward}"


def reference_of(step: PlanStep) -> tuple[str, ShaftAngle, float]:
    """Return what a cut's place is told from: its name, its angle, and how far the cut lies from it [deg], + as the frame.

    That is the centre line of the counterweight, or its named mark where it has one: a disc's centre line can't be seen.
    """
    counterweight = step.counterweight
    if counterweight.mark is None:
        return "centre line", counterweight.angle_deg, step.from_centre_deg
    name, at_deg = counterweight.mark
    return name, ShaftAngle(at_deg), difference_deg(step.cut.angle_deg, at_deg)


def spot_line(job: Job, spot: HeavySpot) -> str:
    """Return where a heavy spot is: as the display shows it, and how far from the nearest counterweight's centre line."""
    place = counterweight_words(spot.counterweight.name, spot.from_centre_deg, job.machine)
    vector = vector_gmm(spot.amount_gmm, spot.angle_deg)
    return f"{spot.side}: {spot_words(job, spot.side, vector)}, {place}"


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
        words += f", tilted {degrees(abs(cut.tilt_deg))}, tip to the {end}"
    return words


def where_words(step: PlanStep, job: Job) -> str:
    """Return the cut and its counterweight, with the radius where a hole is parallel to the shaft."""
    cut = step.cut
    radius = "" if cut.radius_mm is None else f" at radius {length_words(job, cut.radius_mm)}"
    if cut.deepens:
        return f"{step.hole} on {cut.counterweight}{radius}, {how_words(cut)}"
    return f"{cut.kind} on {cut.counterweight}{radius}{row_words(job, cut)}"


def counterweight_words(name: str, from_centre_deg: float, machine: MachineConvention) -> str:
    """Return where an angle lies from a counterweight's centre line: ``13° from the centre line of counterweight A, ..``."""
    toward = toward_words(from_centre_deg, machine)
    if toward == "on the centre line":
        return f"{toward} of counterweight {name}"
    return f"{degrees(abs(from_centre_deg))} from the centre line of counterweight {name}, {toward}"


def amount_words(job: Job | UnitSystem, amount_gmm: float) -> str:
    """Return an unbalance [g*mm] in the job's unit."""
    return _units(job).text(amount_gmm, "unbalance")


def shown_words(job: Job, amount: float) -> str:
    """Return an amount as the display shows it (an unbalance, or a mass at the plane's radius)."""
    return job.display_units.text(amount, job.display_kind)


def reading_words(job: Job, reading: SideReading) -> str:
    """Return one side's reading as the display shows it: ``1500 g*mm at 205°``."""
    return f"{shown_words(job, reading.amount)} at {degrees(reading.angle_deg)}"


def readings_words(job: Job, readings: TwoPlanes[SideReading]) -> str:
    """Return what the display shows in both planes: ``left 1500 g*mm at 205°, right 1320 g*mm at 12°``."""
    return ", ".join(f"{side} {reading_words(job, reading)}" for side, reading in readings.items())


def both_planes_words(job: Job, vectors_gmm: Sequence[complex] | ComplexArray) -> list[str]:
    """Return the vectors of the two reading planes as the display shows them; ``nothing`` has no angle."""
    return [
        "nothing" if abs(vector) < NOTHING_GMM else shown_vector_words(job, side, vector)
        for side, vector in TwoPlanes.vectors(vectors_gmm).items()
    ]


def shown_vector_words(job: Job, side: str, vector_gmm: complex) -> str:
    """Return a vector of a reading plane as the display shows it: its units, its counting, its marked spot."""
    vector = complex(vector_gmm)
    at = degrees(job.machine.reading_angle_deg(angle_deg(vector)))
    return f"{shown_amount_words(job, side, abs(vector))} at {at}"


def shown_amount_words(job: Job, side: str, amount_gmm: float) -> str:
    """Return an amount of a reading plane as the display shows it (an unbalance, or a mass at the plane's radius)."""
    where: Side = "left" if side == "left" else "right"
    return shown_words(job, job.machine.display_amount(amount_gmm, side=where))


def raw_words(side: TrialSide) -> str:
    """Return a raw vibration reading as the instrument shows it, in its own unit."""
    return f"{side.amount:.4g} at {degrees(side.phase_deg)}"


def judged_words(job: Job, at: str, amount_gmm: float) -> str:
    """Return an amount where it is judged: as the display shows it in a reading plane, else as an unbalance."""
    return shown_amount_words(job, at, amount_gmm) if at in SIDES else amount_words(job, amount_gmm)


def kept_words(job: Job, place: Judged) -> str:
    """Return what a place has of its limit: ``120 g*mm of 289 g*mm``."""
    return f"{judged_words(job, place.at, place.amount_gmm)} of {judged_words(job, place.at, place.tolerance_gmm)}"


def limit_cells(job: Job, place: Judged) -> tuple[str, ...]:
    """Return the row of a table of limits: place, amount, limit, share, measurement error."""
    amount, limit, error = (
        judged_words(job, place.at, each) for each in (place.amount_gmm, place.tolerance_gmm, place.error_gmm)
    )
    return place.at, amount, limit, percent(place.share), f"±{error}"


def listed(names: Sequence[str], last: str = "or") -> str:
    """Return names with a word before the last: ``A, B or C``."""
    return f" {last} ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def xy_words(vector: complex) -> str:
    """Return a vector as a working adds it up: ``X +120.4  Y -33.0``."""
    return f"X {complex(vector).real:+.1f}  Y {complex(vector).imag:+.1f}"


def spot_words(job: Job, side: str, vector_gmm: complex) -> str:
    """Return an amount with the place that is heavy; on a display that marks the light spot, what it shows as well."""
    vector = complex(vector_gmm)
    amount = shown_amount_words(job, side, abs(vector))
    at = degrees(job.machine.machine_angle_deg(angle_deg(vector)))
    if job.machine.marks == "heavy spot":
        return f"{amount} heavy at {at}"
    light = degrees(job.machine.reading_angle_deg(angle_deg(vector)))
    return f"{amount} light at {light}, heavy at {at}"


def known_place_words(known: KnownMass) -> str:
    """Return where a known mass was put: by its name on the crankshaft, or by the machine's own number."""
    if known.at is None:
        return f"at machine angle {degrees(known.machine_angle_deg or 0.0)}"
    offset = f" {known.offset_deg:+g}°" if known.offset_deg else ""
    pointer = (
        "" if known.machine_angle_deg is None else f" ({degrees(known.machine_angle_deg)} at the pointer)"
    )
    return f"at {known.at}{offset}{pointer}"


def _units(job: Job | UnitSystem) -> UnitSystem:
    return job if isinstance(job, UnitSystem) else job.units
