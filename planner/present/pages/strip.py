"""Rim strips: paper at 1:1 to wrap round a counterweight's rim, with where to drill on it.

Across the paper is along the rim, as it looks from outside with the front face at the lower edge: angles that grow
counter-clockwise seen from the front go to the left.  All places are mm from a tile's own left upper corner.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

from planner.cuts.cut import Cut
from planner.errors import InputError
from planner.jobfile.job import Job
from planner.present.drawings.holes import old_holes
from planner.present.drawings.plan import touched_counterweights
from planner.present.words import degrees, dial_words, drill_words
from planner.quantity import MM_PER_IN
from planner.records import dataclass
from planner.rotor.crankshaft import Counterweight, ExistingHole
from planner.rotor.vectors import difference_deg
from planner.steps.plan_answer import PlanAnswer, PlanStep

TILE_MM = 230.0
"""A longer rim is printed in tiles of this length, so that a sheet laid on its side holds one [mm]."""

OVERLAP_MM = 15.0
CHECK_MM = 100.0
CHECK_IN = 4.0
_ABOVE_MM = 14.0
_BELOW_MM = 14.0
_EDGE_MM = 4.0

Kind = Literal["cut", "edge", "centre", "overlap", "across"]


@dataclass(frozen=True, kw_only=True)
class Line:
    """A straight line [mm]; ``kind`` says how it is drawn."""

    kind: Kind
    x0: float
    y0: float
    x1: float
    y1: float


@dataclass(frozen=True, kw_only=True)
class Hole:
    """A hole in the rim: its middle and radius [mm]; ``old`` ones are hatched, new ones have a cross."""

    x: float
    y: float
    r: float
    old: bool


@dataclass(frozen=True, kw_only=True)
class Zone:
    """A part of the rim to keep out of [mm]."""

    x0: float
    x1: float
    y0: float
    y1: float


@dataclass(frozen=True, kw_only=True)
class Words:
    """A text [mm], its middle at ``x``; above or below the strip."""

    x: float
    y: float
    text: str
    bold: bool = False


@dataclass(frozen=True, kw_only=True)
class Tile:
    """One piece of a strip; ``wide`` and ``high`` are the strip's own [mm], ``top`` is where it begins."""

    title: str
    note: str
    wide: float
    high: float
    top: float
    whole: float
    lines: tuple[Line, ...]
    holes: tuple[Hole, ...]
    zones: tuple[Zone, ...]
    words: tuple[Words, ...]


@dataclass(frozen=True, kw_only=True)
class StripContent:
    """All strips of a plan; the check bar is ``bar`` long [mm]."""

    title: str
    numbers: str
    bar: float
    bar_words: str
    tiles: tuple[Tile, ...]


def strip_content(answer: PlanAnswer) -> StripContent:
    """Return the strips of every counterweight that is cut.

    Raises
    ------
    InputError
        If nothing is to be cut, or no counterweight that is cut has a rim.
    """
    job = answer.job
    rims = [each for each in touched_counterweights(answer) if each.outline.rim_radius_mm is not None]
    if not answer.steps or not rims:
        raise InputError(
            "there is no rim strip: "
            + ("nothing is to be cut" if not answer.steps else "no cut is on a round rim"),
            hint="leave out `--strip` for the sheet",
        )
    inches = job.units.in_inches
    return StripContent(
        title=f"Rim strips: {job.details.title or 'correction plan'}",
        numbers=f"Dial numbers are set at the drill: {dial_words(job)}.",
        bar=CHECK_IN * MM_PER_IN if inches else CHECK_MM,
        bar_words=f"this bar is {CHECK_IN:g} in long" if inches else f"this bar is {CHECK_MM:g} mm long",
        tiles=tuple(tile for each in rims for tile in _tiles(answer, each)),
    )


def along_mm(counterweight: Counterweight, angle_deg: float) -> float:
    """Return how far a place lies along the rim from the centre line, to the right on the paper [mm]."""
    radius = counterweight.outline.greatest_radius_mm
    return -math.radians(difference_deg(angle_deg, counterweight.angle_deg)) * radius


def _tiles(answer: PlanAnswer, counterweight: Counterweight) -> Iterator[Tile]:
    arcs = counterweight.outline.rim_arcs_deg
    radius = counterweight.outline.greatest_radius_mm
    # own angles, counter-clockwise from the centre line; on paper the greatest stands at the left
    low, high = min(start for start, _ in arcs), max(end for _, end in arcs)
    if high - low >= 360.0 - 1e-6:
        low, high = -180.0, 180.0
    left, right = -math.radians(high) * radius, -math.radians(low) * radius
    wide = right - left
    count = max(1, math.ceil((wide - OVERLAP_MM) / (TILE_MM - OVERLAP_MM)))
    step = TILE_MM - OVERLAP_MM
    for index in range(count):
        start = left + index * step
        end = min(right, start + TILE_MM)
        yield _tile(answer, counterweight, (start, end), (left, right), index, count)


def _tile(
    answer: PlanAnswer,
    counterweight: Counterweight,
    span: tuple[float, float],
    whole: tuple[float, float],
    index: int,
    count: int,
) -> Tile:
    job = answer.job
    start, end = span
    thick = counterweight.thickness_mm
    top = _ABOVE_MM
    middle = top + 0.5 * thick
    lines: list[Line] = []
    words: list[Words] = []
    holes: list[Hole] = []

    def inside(place: float, *, margin: float = 0.0) -> bool:
        return start - margin <= place <= end + margin

    def upright(kind: Kind, place: float, beyond: float = 0.0) -> None:
        x = place - start
        lines.append(Line(kind=kind, x0=x, y0=top - beyond, x1=x, y1=top + thick + beyond))

    def below(place: float, text: str, down: float = 6.5) -> None:
        words.append(Words(x=place - start, y=top + thick + down, text=text))

    def drilled(hole: Cut | ExistingHole, place: float, *, old: bool) -> None:
        y = middle - hole.from_middle_mm
        holes.append(Hole(x=place - start, y=y, r=0.5 * hole.diameter_mm, old=old))

    for place in whole:
        if inside(place):
            upright("edge", place, _EDGE_MM)
            below(place, "edge")
    if index > 0:
        upright("overlap", start + OVERLAP_MM, 2.0)
        below(start + OVERLAP_MM, "the piece before ends here", 10.5)
    if index < count - 1:
        upright("overlap", end - OVERLAP_MM, 2.0)
        below(end - OVERLAP_MM, "the next piece begins here", 10.5)
    if inside(0.0):
        upright("centre", 0.0, _EDGE_MM)
        below(0.0, f"centre line, dial {degrees(job.machine.dial_deg(counterweight.angle_deg))}")
    for step in answer.steps:
        place = along_mm(counterweight, step.cut.angle_deg)
        if step.cut.counterweight != counterweight.name or not inside(place):
            continue
        y = top - 9.0 + 4.2 * (step.number % 2)
        words.append(Words(x=place - start, y=y, text=_called(step, job, degrees(step.dial_deg)), bold=True))
        if step.cut.sector_deg is not None:
            # from where to where the rim is turned or bevelled
            half = 0.5 * math.radians(step.cut.sector_deg) * counterweight.outline.greatest_radius_mm
            for end_mm in (place - half, place + half):
                if inside(end_mm):
                    upright("across", end_mm)
        if step.cut.kind == "rim hole":
            drilled(step.cut, place, old=False)
        else:
            upright("across", place)
    for hole in old_holes(answer, counterweight):
        place = along_mm(counterweight, hole.angle_deg)
        if hole.kind == "rim hole" and inside(place, margin=0.5 * hole.diameter_mm):
            drilled(hole, place, old=True)
    for cut, _ in answer.made:
        place = along_mm(counterweight, cut.angle_deg)
        if cut.counterweight == counterweight.name and cut.kind == "rim hole" and inside(place):
            drilled(cut, place, old=True)
    view = "the rear face is the upper edge, the front face the lower one; wrap it with the print outside"
    piece = f", piece {index + 1} of {count}" if count > 1 else ""
    return Tile(
        title=f"counterweight {counterweight.name}{piece}",
        note=view,
        wide=end - start,
        high=thick,
        top=top,
        whole=top + thick + _BELOW_MM,
        lines=tuple(lines),
        holes=tuple(holes),
        zones=tuple(_zones(counterweight, span, top)),
        words=tuple(words),
    )


def _called(step: PlanStep, job: Job, at: str) -> str:
    cut = step.cut
    if cut.on_rim:
        return f"{step.label}: dial {at}, {cut.kind}"
    size = drill_words(job, cut.diameter_mm)
    if cut.kind == "rim hole":
        return f"{step.label}: dial {at}, {size}"
    radius = "" if cut.radius_mm is None else f" at radius {job.units.text(cut.radius_mm, 'length')}"
    return f"{step.label}: dial {at}, {cut.kind}{radius}"


def _zones(counterweight: Counterweight, span: tuple[float, float], top: float) -> Iterator[Zone]:
    """Yield the keep-outs that reach the rim, as far as they lie on this piece."""
    start, end = span
    rim = counterweight.outline.greatest_radius_mm
    for keep_out in counterweight.keep_outs:
        if keep_out.to_radius_mm < rim - 1e-6:
            continue
        first = along_mm(counterweight, keep_out.to_angle_deg)
        last = along_mm(counterweight, keep_out.from_angle_deg)
        if last < first:  # it lies across the far side
            last, first = end, first
        x0, x1 = max(start, first), min(end, last)
        if x0 < x1:
            yield Zone(x0=x0 - start, x1=x1 - start, y0=top, y1=top + counterweight.thickness_mm)
