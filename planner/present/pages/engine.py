"""What an engine leaves unbalanced, as text."""

from __future__ import annotations

from collections.abc import Sequence

from planner.engine.forces import HarmonicVector, Inherent
from planner.engine.fraction_choice import FractionChoice
from planner.present.numbers import degrees, plural
from planner.present.table import table
from planner.present.words import shown_vector_words
from planner.steps.engine_forces import EngineAnswer

NOTHING = 5e-4
"""Smaller amounts, in units of m r omega^2, are shown as nothing."""

ORDER_WORDS = {1: "primary", 2: "secondary", 4: "4th order", 6: "6th order"}


def newtons(value: float) -> str:
    """Return a force or couple with four digits, never in powers of ten."""
    return f"{value:.0f}" if abs(value) >= 1000.0 else f"{value:.4g}"


def engine_text(answer: EngineAnswer) -> str:
    """Return the answer: throws, firing, forces and couples, fractions and what they cost."""
    blocks = [
        _head(answer),
        _throws(answer),
        _firing(answer),
        _bobs(answer),
        _forces(answer),
        _fractions(answer),
        _costs(answer),
        [f"WARNING: {each}" for each in answer.warnings],
        [f"note: {each}" for each in answer.notes],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _head(answer: EngineAnswer) -> list[str]:
    engine = answer.engine
    lines = []
    if answer.job is not None and answer.job.details.title:
        lines.append(answer.job.details.title)
    name = answer.layout_name or f"{plural(len(engine.cylinders), 'cylinder')} as listed in the job"
    lines.append(f"{name}, turning {engine.rotation} as seen from the front")
    lines.append("Angles below count counter-clockwise as seen from the front, throws and banks alike.")
    return lines


def _throws(answer: EngineAnswer) -> list[str]:
    engine = answer.engine
    real = answer.job is not None
    units = None if answer.job is None else answer.job.units
    unit = "spacings" if units is None else units.length
    rows: list[Sequence[str]] = [["throw", "angle", f"z ({unit})", "cylinder at bank angle"]]
    for throw in engine.throws:
        z = units.text(throw.z_mm, "length", with_unit=False) if units and real else f"{throw.z_mm:g}"
        hung = [
            f"{each.name} at {degrees(_signed(each.bank_angle_deg))}°"
            + ("" if not each.offset_mm else f" (offset {each.offset_mm:g} mm)")
            for each in engine.cylinders
            if each.throw == throw.name
        ]
        rows.append([throw.name, f"{degrees(throw.angle_deg)}°", z, ", ".join(hung)])
    return ["THROWS AND BANKS", *table(rows, indent=2)]


def _signed(angle: float) -> float:
    wrapped = (angle + 180.0) % 360.0 - 180.0
    return 180.0 if wrapped == -180.0 else wrapped


def _travel(interval_deg: float) -> str:
    return f"{round(interval_deg, 1):g}"


def _firing(answer: EngineAnswer) -> list[str]:
    if answer.firing_fault is not None:
        message, way_out = answer.firing_fault
        return ["FIRING ORDER: NO", f"  {message}", f"  {way_out}"]
    firing = answer.firing
    if firing is None:
        return ["FIRING ORDER: not given (`--firing-order 1-3-4-2`, or firing_order under [engine])"]
    head = f"FIRING ORDER {'-'.join(firing.order)}"
    # intervals, not directions: a whole turn stays 360
    least, most = min(firing.intervals_deg), max(firing.intervals_deg)
    if firing.even:
        lines = [f"{head}: fits, even, every {_travel(most)}° of crank travel"]
    elif most - least < 3.0:
        lines = [
            f"{head}: fits, even within {most - least:.2g}° (every {_travel(least)}° to {_travel(most)}°)"
        ]
    else:
        steps = ", ".join(_travel(each) for each in firing.intervals_deg)
        lines = [f"{head}: fits, uneven", f"  degrees from one to the next: {steps}"]
    if not firing.unique:
        lines.append("  these pins allow other intervals in the same order; shown are the evenest")
    return lines


def _bobs(answer: EngineAnswer) -> list[str]:
    if answer.matter == "no":
        return [
            "BOBS: not needed",
            "  equal bobs cancel in force and couple: they may be left off, and their mass is free; only they must be "
            "equal",
        ]
    if answer.matter == "hardly":
        return [
            "BOBS: hardly matter",
            "  equal bobs all but cancel (the throws' places as measured leave less than 1 percent); their equality counts",
        ]
    radius, spacing = answer.engine.throws[0].radius_mm, answer.engine.spacing_mm
    static, couple = abs(answer.need.static) / radius, abs(answer.need.couple) / radius / spacing
    ways = []
    if static > 0.01:
        ways.append(f"a force of {static:.3f} g x throw radius")
    if couple > 0.01:
        ways.append(f"a couple of {couple:.3f} g x throw radius x throw spacing")
    return [
        "BOBS: needed, equal bobs read on the machine",
        f"  one gram too much per rod, on every throw, reads like {' and '.join(ways)}",
    ]


def _forces(answer: EngineAnswer) -> list[str]:
    scale = answer.scale
    lines = ["WHAT IS LEFT, WHATEVER THE COUNTERWEIGHTS"]
    if scale.force_n is not None:
        lines.append(
            f"  unit of force: m r omega^2 = {newtons(scale.force_n)} N at {scale.speed_rpm:g} rpm"
            + (
                ""
                if scale.couple_nm is None
                else f"; of couple: times the throw spacing = {newtons(scale.couple_nm)} N*m"
            )
        )
    else:
        lines.append(
            "  unit of force: m r omega^2 (m the reciprocating mass of one cylinder); of couple: times the throw spacing"
        )
        lines.append(f"  no newtons: {_missing(answer)}")
    lines.append(
        f"  coefficients at this rod ratio: A2 = {answer.second:.4f}, A4 = {answer.fourth:.5f} (in the numbers below)"
    )
    for quantity in ("force", "couple"):
        lines.append("")
        lines += _quantity(answer, quantity)
    lines += [
        "",
        "  with: turns with the crank, a counterweight can take it away; against: turns the other way, none can",
        "  along and across the reference axis"
        + (
            f" ({degrees(answer.engine.reference_axis_deg)}°)"
            if answer.engine.reference_axis_deg
            else " (0°, what the bank angles count from)"
        ),
    ]
    return lines


def _missing(answer: EngineAnswer) -> str:
    scale = answer.scale
    missing = []
    if scale.unit_gmm is None:
        missing.append(
            "mass (--reciprocating-mass)" if answer.job is not None else "--reciprocating-mass and --radius"
        )
    if scale.speed_rpm is None:
        missing.append("--speed")
    return f"not known: {', '.join(missing)}"


def _quantity(answer: EngineAnswer, quantity: str) -> list[str]:
    engine, scale = answer.engine, answer.scale
    unit = engine.unit_gmm * (1.0 if quantity == "force" else engine.spacing_mm)
    real, name = (scale.force_n, "N") if quantity == "force" else (scale.couple_nm, "N*m")
    head = [quantity, "with", "against", "largest", "least", "along", "across"]
    rows: list[Sequence[str]] = [[*head, f"largest {name}"] if real is not None else head]
    for words, left, order in rows_of(answer):
        vector = left.force[order] if quantity == "force" else left.couple[order]
        numbers = in_units(vector, unit)
        cells = [f"{each:.3f}" if abs(each) >= NOTHING else "0" for each in numbers]
        if real is not None:
            amount = numbers[2] * real
            cells.append(newtons(amount) if numbers[2] >= NOTHING else "0")
        rows.append([words, *cells])
    return table(rows, indent=2)


def rows_of(answer: EngineAnswer) -> tuple[tuple[str, Inherent, int], ...]:
    """Return what the table lists: words, the state, the order."""
    return (
        ("primary, rotating masses balanced only", answer.bare, 1),
        (f"primary, {answer.left_by}", answer.left, 1),
        ("secondary", answer.left, 2),
        ("4th order", answer.left, 4),
        ("6th order", answer.left, 6),
    )


def in_units(vector: HarmonicVector, unit: float) -> tuple[float, float, float, float, float, float]:
    """Return with, against, largest, least, along, across, over the unit."""
    return (
        abs(vector.forward) / unit,
        abs(vector.backward) / unit,
        vector.largest / unit,
        vector.least / unit,
        vector.along / unit,
        vector.across / unit,
    )


def _fractions(answer: EngineAnswer) -> list[str]:
    lines = [
        "WHICH FRACTION of the reciprocating mass (always of all of it on a throw, both cylinders of a V together)"
    ]
    acting = [each for each in (answer.force, answer.couple) if each is not None and each.acts]
    if not acting:
        return [*lines, "  it makes no difference: the bobs cancel, whatever they carry"]
    along, across = answer.weights
    for choice in acting:
        lines.append(f"  for the {choice.quantity}")
        lines += [f"    {each}" for each in _criteria(choice, along, across)]
    return lines


def _criteria(choice: FractionChoice, along: float, across: float) -> list[str]:
    lines = []
    if choice.least_rms is not None:
        lines.append(f"least RMS (all orders): {choice.least_rms:.3f}")
    if choice.least_peak is not None and choice.peak_at_least_peak is not None:
        lines.append(
            f"least peak (all orders): {choice.least_peak:.3f} (peak {choice.peak_at_least_peak:.3f}, "
            f"with one half {choice.peak_at_half or 0.0:.3f})"
        )
    for each in choice.one_plane:
        if each.amplitude < NOTHING or len(choice.one_plane) == 1:
            lines.append(f"primary gone altogether: {each.fraction:.3f}")
        else:
            lines.append(
                f"primary in one plane only: {each.fraction:.3f} "
                f"(what is left acts along {degrees(each.axis_deg % 180.0)}°)"
            )
    if choice.weighted is not None and along != across:
        lines.append(f"axes weighted {along:g}:{across:g} along to across: {choice.weighted:.3f}")
    return lines


def _costs(answer: EngineAnswer) -> list[str]:
    if answer.force is None and answer.couple is None:
        return []
    lines = ["WHAT A FRACTION COSTS (all orders, in the units above)"]
    rows: list[Sequence[str]] = [["fraction", "force RMS", "peak", "couple RMS", "peak", "bobs"]]
    for cost in answer.costs:
        left = cost.left
        mark = f"{left.fraction:g}" + (" (own)" if left.fraction == answer.fraction else "")
        numbers = (left.force_rms, left.force_peak, left.couple_rms, left.couple_peak)
        rows.append([mark, *(f"{each:.3f}" for each in numbers), _bob_cell(answer, cost.bobs_g)])
    if answer.costs[0].bobs_g is None:
        rows = [row[:-1] for row in rows]
    lines += table(rows, indent=2)
    job = answer.job
    for cost in answer.costs:
        if job is None or cost.planes_gmm is None or cost.left.fraction == answer.fraction:
            continue
        shown = [
            f"{side} {shown_vector_words(job, side, v)}"
            for side, v in zip(("left", "right"), cost.planes_gmm, strict=True)
        ]
        lines.append(
            f"  from {answer.fraction:g} to {cost.left.fraction:g} the wanted bobs move the {job.machine.marks} by "
            f"{', '.join(shown)}"
        )
    return lines


def _bob_cell(answer: EngineAnswer, bobs_g: object) -> str:
    if not isinstance(bobs_g, dict) or answer.job is None:
        return ""
    masses = list(bobs_g.values())
    show = answer.job.units.text
    digits = 1 if answer.job.units.mass == "g" else 4
    least, most = (show(each, "mass", digits=digits) for each in (min(masses), max(masses)))
    return least if least == most else f"{least} to {most}"
