"""One cut by itself: what it does, in the units that were typed."""

from __future__ import annotations

from typing import Any

from planner.formula import working_lines
from planner.present.document import Document, Values, block, document, remarks
from planner.quantity import format_quantity, format_unbalance_both, nearest_64th, nearest_64th_mm
from planner.steps.one_cut import OneCut, Row

CUTTING_CAUTION = (
    "clamp the crankshaft, guard closed, eye protection; stay clear of oil drillings and fillets; the machine's "
    "manual, the engine maker's limits and a qualified machinist's judgement stand above these numbers"
)
SLUG_CAUTION = (
    "heavy-metal dust is harmful: no dry grinding, no compressed air; bore parallel to the shaft, hold the slug by "
    "more than friction"
)


def one_cut_document(cut: OneCut, *, in_inches: bool) -> Document:
    """Return what a cut does; ``in_inches`` when its sizes were typed so."""
    return document(
        block(_title(cut, in_inches=in_inches)),
        Values(rows=tuple((row.label, _said(row, in_inches=in_inches)) for row in cut.rows), level=1),
        block(
            "",
            remarks("note", cut.notes),
            remarks("warning", cut.warnings),
            remarks("caution", _cautions(cut)),
        ),
    )


def one_cut_working(cut: OneCut) -> list[str]:
    """Return the sums behind a cut, line by line."""
    return ["the sums, to follow with a calculator (mm, g, degrees)", *(f"  {each}" for each in _lines(cut))]


def one_cut_json(cut: OneCut, *, show_work: bool) -> dict[str, Any]:
    """Return what a cut does as plain data."""
    said = {"notes": list(cut.notes), "warnings": list(cut.warnings), "cautions": _cautions(cut)}
    return {**cut.data, **said, **({"work": _lines(cut)} if show_work else {})}


def _lines(cut: OneCut) -> list[str]:
    return list(working_lines(cut.working))


def _cautions(cut: OneCut) -> list[str]:
    return [CUTTING_CAUTION, *([SLUG_CAUTION] if "slug_g" in cut.data else [])]


def _title(cut: OneCut, *, in_inches: bool) -> str:
    if cut.title:
        return cut.title
    data = cut.data

    def size(key: str) -> str:
        return _size(data[key], in_inches=in_inches)

    if data["cut"] == "rim hole":
        point = f"{data['point_angle_deg']:g} degree point"
        return f"rim hole: {size('diameter_mm')} drill, {point}, rim at {size('outer_radius_mm')}, {cut.metal.words}"
    if data["cut"] == "face hole":
        through = ", through" if data["through"] else ""
        return f"face hole: {size('diameter_mm')} at radius {size('radius_mm')}{through}, {cut.metal.words}"
    return (
        f"slug: {size('diameter_mm')} x {size('length_mm')} of {data['slug_density_g_per_cm3']:g} g/cm3 "
        f"at radius {size('radius_mm')} in {cut.metal.words}"
    )


def _said(row: Row, *, in_inches: bool) -> str:
    if isinstance(row.value, str):
        return row.value
    if row.kind == "unbalance":
        return format_unbalance_both(row.value)
    plain = f"{row.value:.2f} mm"
    if in_inches:
        plain = f"{format_quantity(row.value, 'length', 'in'):>10}   nearest 64th: {nearest_64th(row.value)} in   ({plain})"
    return plain + row.mark


def _size(length_mm: float, *, in_inches: bool) -> str:
    """Return a size [mm] for a title, in the unit that was typed: a 64th where it is one, else decimals."""
    if not in_inches:
        return f"{round(length_mm, 2):g} mm"
    if abs(nearest_64th_mm(length_mm) - length_mm) < 1e-6:
        return f"{nearest_64th(length_mm)} in"
    return format_quantity(length_mm, "length", "in")
