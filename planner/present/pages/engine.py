"""What an engine leaves unbalanced, as text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from planner.engine.forces import HarmonicVector, Inherent
from planner.engine.fraction_choice import FractionChoice
from planner.present.document import Block, Document, Line, Table, block, document, lines, remarks, table
from planner.present.words import couple_unit, degrees, force_unit, plural, shown_vector_words
from planner.steps.engine_forces import EngineAnswer

NOTHING = 5e-4
"""Smaller amounts, in units of m r omega^2, are shown as nothing."""


def newtons(value: float) -> str:
    """Return a force or couple with four digits, never in powers of ten."""
    return f"{value:.0f}" if abs(value) >= 1000.0 else f"{value:.4g}"


def _typed(unit: str) -> str:
    """Return a printed unit as it is typed: `N*m`."""
    return unit.replace("·", "*")


def engine_document(answer: EngineAnswer) -> Document:
    """Return the answer: throws, firing, forces and couples, fractions and what they cost."""
    return document(
        _head(answer),
        _throws(answer),
        _firing(answer),
        _bobs(answer),
        _forces(answer),
        _fractions(answer),
        _costs(answer),
        block("", remarks("WARNING", answer.warnings), remarks("note", answer.notes)),
    )


def _head(answer: EngineAnswer) -> Block:
    engine = answer.engine
    title = "" if answer.job is None else answer.job.details.title
    name = answer.layout_name or f"{plural(len(engine.cylinders), 'cylinder')} as listed in the job"
    return block(
        title,
        lines(
            f"{name}, turning {engine.rotation} as seen from the front",
            "Angles below count counter-clockwise as seen from the front, throws and banks alike.",
        ),
    )


def _throws(answer: EngineAnswer) -> Block:
    engine = answer.engine
    units = None if answer.job is None else answer.job.units
    rows = []
    for throw in engine.throws:
        z = f"{throw.z_mm:g}" if units is None else units.text(throw.z_mm, "length", with_unit=False)
        hung = [
            f"{each.name} at {degrees(_signed(each.bank_angle_deg))}"
            + ("" if not each.offset_mm else f" (offset {each.offset_mm:g} mm)")
            for each in engine.cylinders
            if each.throw == throw.name
        ]
        rows.append((throw.name, degrees(throw.angle_deg), z, ", ".join(hung)))
    unit = "spacings" if units is None else units.length
    return block(
        "THROWS AND BANKS", table(("throw", "angle", f"z ({unit})", "cylinder at bank angle"), rows, level=1)
    )


def _signed(angle: float) -> float:
    wrapped = (angle + 180.0) % 360.0 - 180.0
    return 180.0 if wrapped == -180.0 else wrapped


def _travel(interval_deg: float) -> str:
    return f"{round(interval_deg, 1):g}"


def _firing(answer: EngineAnswer) -> Block:
    if answer.firing_fault is not None:
        return block("FIRING ORDER: NO", lines(*answer.firing_fault, level=1))
    firing = answer.firing
    if firing is None:
        return block("FIRING ORDER: not given (`--firing-order 1-3-4-2`, or firing_order under [engine])")
    head = f"FIRING ORDER {'-'.join(firing.order)}"
    # intervals, not directions: a whole turn stays 360
    least, most = min(firing.intervals_deg), max(firing.intervals_deg)
    said = []
    if firing.even:
        head += f": fits, even, every {_travel(most)}° of crank travel"
    elif most - least < 3.0:
        head += f": fits, even within {most - least:.2g}° (every {_travel(least)}° to {_travel(most)}°)"
    else:
        head += ": fits, uneven"
        said.append(
            f"degrees from one to the next: {', '.join(_travel(each) for each in firing.intervals_deg)}"
        )
    if not firing.unique:
        said.append("these pins allow other intervals in the same order; shown are the evenest")
    return block(head, lines(*said, level=1))


def _bobs(answer: EngineAnswer) -> Block:
    head, said = {
        "no": (
            "BOBS: not needed",
            "equal bobs cancel in force and couple: they may be left off, and their mass is free; only they must be equal",
        ),
        "hardly": (
            "BOBS: hardly matter",
            "equal bobs all but cancel (the throws' places as measured leave less than 1 percent); their equality counts",
        ),
    }.get(answer.matter, ("BOBS: needed, equal bobs read on the machine", ""))
    if not said:
        radius, spacing = answer.engine.throws[0].radius_mm, answer.engine.spacing_mm
        static, couple = abs(answer.need.static) / radius, abs(answer.need.couple) / radius / spacing
        ways = []
        if static > 0.01:
            ways.append(f"a force of {static:.3f} g x throw radius")
        if couple > 0.01:
            ways.append(f"a couple of {couple:.3f} g x throw radius x throw spacing")
        said = f"one gram too much per rod, on every throw, reads like {' and '.join(ways)}"
    return block(head, lines(said, level=1))


def _forces(answer: EngineAnswer) -> tuple[Block, ...]:
    scale = answer.scale
    if scale.force_n is not None:
        units = None if answer.job is None else answer.job.units
        (force_name, one_force), (couple_name, one_couple) = force_unit(units), couple_unit(units)
        couple = (
            ""
            if scale.couple_nm is None
            else f"; of couple: times the throw spacing = {newtons(scale.couple_nm / one_couple)} {_typed(couple_name)}"
        )
        unit = [
            f"unit of force: m r omega^2 = {newtons(scale.force_n / one_force)} {force_name} at {scale.speed_rpm:g} rpm"
            f"{couple}"
        ]
    else:
        unit = [
            "unit of force: m r omega^2 (m the reciprocating mass of one cylinder); of couple: times the throw spacing",
            f"no newtons: {_missing(answer)}",
        ]
    axis = answer.engine.reference_axis_deg
    return (
        block(
            "WHAT IS LEFT, WHATEVER THE COUNTERWEIGHTS",
            lines(
                *unit,
                f"coefficients at this rod ratio: A2 = {answer.second:.4f}, A4 = {answer.fourth:.5f} (in the numbers below)",
                level=1,
            ),
        ),
        block("", _quantity(answer, "force")),
        block("", _quantity(answer, "couple")),
        block(
            "",
            lines(
                "with: turns with the crank, a counterweight can take it away; against: turns the other way, none can",
                "along and across the reference axis "
                f"({degrees(axis) if axis else '0°, what the bank angles count from'})",
                level=1,
            ),
        ),
    )


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


def _quantity(answer: EngineAnswer, quantity: str) -> Table:
    engine, scale = answer.engine, answer.scale
    unit = engine.unit_gmm * (1.0 if quantity == "force" else engine.spacing_mm)
    units = None if answer.job is None else answer.job.units
    real = scale.force_n if quantity == "force" else scale.couple_nm
    name, one = force_unit(units) if quantity == "force" else couple_unit(units)
    heads = [quantity, "with", "against", "largest", "least", "along", "across"]
    rows = []
    for words, left, order in rows_of(answer):
        vector = left.force[order] if quantity == "force" else left.couple[order]
        numbers = in_units(vector, unit)
        cells = [f"{each:.3f}" if abs(each) >= NOTHING else "0" for each in numbers]
        if real is not None:
            cells.append(newtons(numbers[2] * real / one) if numbers[2] >= NOTHING else "0")
        rows.append((words, *cells))
    return table(heads if real is None else [*heads, f"largest {_typed(name)}"], rows, level=1)


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


def _fractions(answer: EngineAnswer) -> Block:
    head = "WHICH FRACTION of the reciprocating mass (always of all of it on a throw, both cylinders of a V together)"
    acting = [each for each in (answer.force, answer.couple) if each is not None and each.acts]
    if not acting:
        return block(head, lines("it makes no difference: the bobs cancel, whatever they carry", level=1))
    along, across = answer.weights
    said: list[Line] = []
    for choice in acting:
        said.append(Line(f"for the {choice.quantity}", level=1))
        said += lines(*_criteria(choice, along, across), level=2)
    return block(head, said)


def _criteria(choice: FractionChoice, along: float, across: float) -> list[str]:
    said = []
    if choice.least_rms is not None:
        said.append(f"least RMS (all orders): {choice.least_rms:.3f}")
    if choice.least_peak is not None and choice.peak_at_least_peak is not None:
        said.append(
            f"least peak (all orders): {choice.least_peak:.3f} (peak {choice.peak_at_least_peak:.3f}, "
            f"with one half {choice.peak_at_half or 0.0:.3f})"
        )
    for each in choice.one_plane:
        if each.amplitude < NOTHING or len(choice.one_plane) == 1:
            said.append(f"primary gone altogether: {each.fraction:.3f}")
        else:
            said.append(
                f"primary in one plane only: {each.fraction:.3f} "
                f"(what is left acts along {degrees(each.axis_deg % 180.0)})"
            )
    if choice.weighted is not None and along != across:
        said.append(f"axes weighted {along:g}:{across:g} along to across: {choice.weighted:.3f}")
    return said


def _costs(answer: EngineAnswer) -> Block | None:
    if answer.force is None and answer.couple is None:
        return None
    rows: list[Sequence[str]] = []
    for cost in answer.costs:
        left = cost.left
        mark = f"{left.fraction:g}" + (" (own)" if left.fraction == answer.fraction else "")
        numbers = (left.force_rms, left.force_peak, left.couple_rms, left.couple_peak)
        rows.append([mark, *(f"{each:.3f}" for each in numbers), _bob_cell(answer, cost.bobs_g)])
    heads = ["fraction", "force RMS", "peak", "couple RMS", "peak", "bobs"]
    if answer.costs[0].bobs_g is None:
        heads, rows = heads[:-1], [row[:-1] for row in rows]
    job = answer.job
    moved = []
    for cost in answer.costs:
        if job is None or cost.planes_gmm is None or cost.left.fraction == answer.fraction:
            continue
        shown = ", ".join(f"{side} {shown_vector_words(job, side, v)}" for side, v in cost.planes_gmm.items())
        moved.append(
            f"from {answer.fraction:g} to {cost.left.fraction:g} the wanted bobs move the {job.machine.marks} by {shown}"
        )
    return block(
        "WHAT A FRACTION COSTS (all orders, in the units above)",
        table(heads, rows, level=1),
        lines(*moved, level=1),
    )


def _bob_cell(answer: EngineAnswer, bobs_g: object) -> str:
    if not isinstance(bobs_g, dict) or answer.job is None:
        return ""
    masses = list(bobs_g.values())
    show = answer.job.units.text
    digits = 1 if answer.job.units.mass == "g" else 4
    least, most = (show(each, "mass", digits=digits) for each in (min(masses), max(masses)))
    return least if least == most else f"{least} to {most}"


def layouts_document(layouts: Sequence[Mapping[str, Any]]) -> Document:
    """Return the catalogue of layouts with what every one leaves (see `engine_json.layouts_data`)."""
    rows = []
    for count, each in enumerate(layouts, start=1):
        left = [
            f"{_short(each[f'{what}_force{end}'])} / {_short(each[f'{what}_couple{end}'])}"
            for what, end in (("primary", ""), ("primary", "_at_half"), ("secondary", ""))
        ]
        needed = "needed" if each["bobs_needed"] else "free"
        rows.append((str(count), each["name"], needed, *left, "-".join(each["firing_order"])))
    heads = ("#", "layout", "bobs", "primary F / C", "at one half F / C", "secondary F / C", "fires")
    return document(
        table(heads, rows),
        lines(
            "F = force in m r omega^2 of one cylinder, C = couple in that times the throw spacing, largest over a turn; "
            "rods 3.5 throw radii long; at one half: bobs with half of the reciprocating mass"
        ),
    )


def _short(value: float) -> str:
    return "0" if abs(value) < 5e-4 else f"{value:.3f}"
