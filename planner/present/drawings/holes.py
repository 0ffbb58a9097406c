"""Holes, slugs, keep-outs and oil drillings as shapes to scale in the plane normal to the shaft."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING, Any

from planner.frames import ViewedFrom
from planner.present.drawings import style
from planner.present.drawings.pens import arc, draw_area, draw_circle
from planner.present.drawings.place import seen
from planner.records import dataclass
from planner.rotor.crankshaft import FILLS, cone_height_mm
from planner.rotor.vectors import difference_deg

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from planner.cuts.cut import Cut, Shop
    from planner.rotor.crankshaft import Counterweight, ExistingHole, Face, KeepOut, OilDrilling, RoundKeepOut
    from planner.steps.plan_answer import PlanAnswer


@dataclass(frozen=True, kw_only=True)
class Shape:
    """The section of a hole in the crankshaft frame [mm], as complex numbers ``x + 1j*y``.

    ``corners`` is empty for a circle, which has ``centre`` and ``radius_mm``; ``centre`` is also where a leader
    line ends.  ``face`` is the end that it is open to, None when it is open to both or to the rim.
    """

    centre: complex
    corners: tuple[complex, ...] = ()
    radius_mm: float = 0.0
    face: Face | None = None

    @property
    def reach_mm(self) -> float:
        """Greatest distance from the shaft axis [mm]."""
        if self.corners:
            return max(abs(corner) for corner in self.corners)
        return abs(self.centre) + self.radius_mm


def shape_of_cut(cut: Cut, *, counterweight: Counterweight, shop: Shop) -> Shape:
    """Return the section of a cut: drilled holes with the shop's oversize, slugs as large as their bore."""
    if cut.on_rim:
        return _rim_cut_shape(cut, counterweight)
    if cut.kind == "rim hole":
        drilled_mm = cut.diameter_mm + shop.hole_oversize_mm
        return _rim_shape(
            counterweight,
            angle_deg=cut.angle_deg,
            diameter_mm=drilled_mm,
            cone_mm=shop.cone_height_mm(drilled_mm),
            depth_shoulder_mm=cut.depth_shoulder_mm,
            axis=cut,
        )
    drilled = cut.kind == "face hole"
    return Shape(
        centre=cmath.rect(cut.radius_mm or 0.0, math.radians(cut.angle_deg)),
        radius_mm=0.5 * (cut.diameter_mm + (shop.hole_oversize_mm if drilled else 0.0)),
        face=None if cut.through else cut.face,
    )


def _rim_cut_shape(cut: Cut, counterweight: Counterweight) -> Shape:
    """Return what is taken off the rim: a ring sector, or a segment beyond a chord."""
    rim = counterweight.rim_form().greatest_radius_mm
    low = rim - (cut.depth_shoulder_mm or 0.0)
    half = math.acos(low / rim) if cut.kind == "flat" else math.radians(0.5 * (cut.sector_deg or 0.0))
    count = max(2, math.ceil(math.degrees(half)) + 1)
    turn = cmath.exp(1j * math.radians(cut.angle_deg))
    arc = [turn * cmath.exp(1j * half * (2.0 * i / (count - 1) - 1.0)) for i in range(count)]
    outer = [rim * each for each in arc]
    inner = [] if cut.kind == "flat" else [low * each for each in reversed(arc)]
    return Shape(
        centre=0.5 * (rim + low) * turn,
        corners=(*outer, *inner),
        face=cut.face if cut.kind == "bevel" else None,
    )


def shape_of_existing(hole: ExistingHole, *, counterweight: Counterweight) -> Shape:
    """Return the section of a hole that is there."""
    if hole.kind == "rim hole":
        return _rim_shape(
            counterweight,
            angle_deg=hole.angle_deg,
            diameter_mm=hole.diameter_mm,
            cone_mm=cone_height_mm(diameter_mm=hole.diameter_mm, point_angle_deg=hole.point_angle_deg),
            depth_shoulder_mm=hole.depth_shoulder_mm,
            axis=hole,
        )
    return Shape(
        centre=cmath.rect(hole.radius_mm or 0.0, math.radians(hole.angle_deg)),
        radius_mm=0.5 * hole.diameter_mm,
        face=None if hole.through or hole.depth_shoulder_mm is None else hole.face,
    )


def shape_of_keep_out(keep_out: KeepOut) -> Shape:
    """Return a ring sector, its arcs as chords of at most 2 degrees."""
    start = keep_out.from_angle_deg
    sweep = (keep_out.to_angle_deg - start) % 360.0 or 360.0
    outer = arc(keep_out.to_radius_mm, start, start + sweep)
    inner = reversed(arc(keep_out.from_radius_mm, start, start + sweep))
    middle = 0.5 * (keep_out.from_radius_mm + keep_out.to_radius_mm)
    return Shape(centre=cmath.rect(middle, math.radians(start + 0.5 * sweep)), corners=(*outer, *inner))


def shape_of_round_keep_out(keep_out: RoundKeepOut) -> Shape:
    """Return something round that cuts keep clear of."""
    return Shape(
        centre=cmath.rect(keep_out.radius_mm, math.radians(keep_out.angle_deg)),
        radius_mm=0.5 * keep_out.diameter_mm,
    )


def shape_of_oil_drilling(oil: OilDrilling, *, counterweight: Counterweight) -> Shape | None:
    """Return the part of an oil drilling within a counterweight's thickness, grown by its clearance; None: it misses."""
    half_mm = 0.5 * counterweight.thickness_mm
    low, high = counterweight.z_mm - half_mm, counterweight.z_mm + half_mm
    start = cmath.rect(oil.from_radius_mm, math.radians(oil.from_angle_deg))
    end = cmath.rect(oil.to_radius_mm, math.radians(oil.to_angle_deg))
    length_z = oil.to_z_mm - oil.from_z_mm
    if abs(length_z) < 1e-9:
        if not low <= oil.from_z_mm <= high:
            return None
        shares = (0.0, 1.0)
    else:
        at_low, at_high = sorted(((low - oil.from_z_mm) / length_z, (high - oil.from_z_mm) / length_z))
        shares = (max(0.0, at_low), min(1.0, at_high))
        if shares[0] >= shares[1]:
            return None
    first, last = (start + share * (end - start) for share in shares)
    grown_mm = 0.5 * oil.diameter_mm + oil.clearance_mm
    along = last - first
    direction = along / abs(along) if abs(along) > 1e-9 else 1.0 + 0.0j
    half_turn = [math.radians(90.0 - 10.0 * i) for i in range(19)]
    cap_1 = [last + grown_mm * direction * cmath.exp(1j * turn) for turn in reversed(half_turn)]
    cap_2 = [first - grown_mm * direction * cmath.exp(1j * turn) for turn in reversed(half_turn)]
    return Shape(centre=0.5 * (first + last), corners=(*cap_1, *cap_2))


def _rim_shape(
    counterweight: Counterweight,
    *,
    angle_deg: float,
    diameter_mm: float,
    cone_mm: float,
    depth_shoulder_mm: float | None,
    axis: Cut | ExistingHole,
) -> Shape:
    """Return the pentagon of a rim hole: two corners on the rim, two at the shoulder, the tip.

    A tilted hole is drawn as deep as it looks along the shaft, one beside the radius beside it.
    """
    rim_mm = counterweight.rim_radius_at_mm(axis.from_middle_mm) or counterweight.outline.greatest_radius_mm
    rim_mm = math.sqrt(max(rim_mm**2 - axis.beside_mm**2, 0.0))
    if depth_shoulder_mm is not None and axis.tilt_deg:
        depth_shoulder_mm *= math.cos(math.radians(axis.tilt_deg))
    half_mm = 0.5 * diameter_mm
    depth_mm = depth_shoulder_mm
    if depth_mm is None:  # through: down to the body
        depth_mm, cone_mm = rim_mm - counterweight.outline.inner_radius_mm, 0.0
    mouth_mm = math.sqrt(max(0.0, rim_mm**2 - half_mm**2))
    shoulder_mm = rim_mm - depth_mm
    own = [
        complex(mouth_mm, half_mm),
        complex(shoulder_mm, half_mm),
        complex(shoulder_mm - cone_mm, 0.0),
        complex(shoulder_mm, -half_mm),
        complex(mouth_mm, -half_mm),
    ]
    turn = cmath.exp(1j * math.radians(angle_deg))
    own = [point + 1j * axis.beside_mm for point in own]
    return Shape(
        centre=turn * (1j * axis.beside_mm + rim_mm - 0.5 * depth_mm),
        corners=tuple(point * turn for point in own),
    )


def old_holes(answer: PlanAnswer, counterweight: Counterweight) -> tuple[ExistingHole, ...]:
    """Return the holes of a counterweight apart from the cuts made since the spin and the holes about to be filled.

    A hole that is to be drilled deeper stays: the deeper one is drawn around it.

    The record of the problem has the cuts made since among its existing holes; they are drawn as cuts made.
    """
    since = [cut for cut, _ in answer.made if cut.counterweight == counterweight.name]
    fills = [
        step.cut
        for step in answer.steps
        if step.cut.counterweight == counterweight.name and step.cut.kind in FILLS
    ]
    shop = answer.job.shop
    return tuple(
        hole
        for hole in counterweight.existing
        if not any(_same_place(hole, cut, shop=shop) for cut in (*since, *fills))
    )


def _same_place(hole: ExistingHole, cut: Cut, *, shop: Shop) -> bool:
    if cut.on_rim:
        return False
    rim = cut.kind == "rim hole"
    if (hole.kind == "rim hole") != rim or abs(difference_deg(hole.angle_deg, cut.angle_deg)) > 1e-6:
        return False
    oversize_mm = shop.hole_oversize_mm if cut.kind in ("rim hole", "face hole") else 0.0
    if abs(hole.diameter_mm - cut.diameter_mm - oversize_mm) > 1e-6:
        return False
    if rim:
        if abs(hole.from_middle_mm - cut.from_middle_mm) > 1e-6 or abs(hole.beside_mm - cut.beside_mm) > 1e-6:
            return False
        return abs((hole.depth_shoulder_mm or 0.0) - (cut.depth_shoulder_mm or 0.0)) < 1e-6
    return abs((hole.radius_mm or 0.0) - (cut.radius_mm or 0.0)) < 1e-6


def draw_shape(
    ax: Axes, shape: Shape, *, look: style.Look, viewed_from: ViewedFrom, gid: str, zorder: float = 4.0
) -> None:
    """Draw a section; a blind hole that opens to the far side has a dashed edge."""
    hidden = shape.face is not None and shape.face != viewed_from
    line = "--" if hidden else look.line
    settings: dict[str, Any] = {
        "edgecolor": look.edge,
        "facecolor": look.face,
        "hatch": look.hatch or None,
        "linestyle": line,
        "linewidth": look.width_pt,
        "zorder": zorder,
        "gid": gid,
    }
    if shape.corners:
        corners = (seen(corner, viewed_from) for corner in shape.corners)
        draw_area(ax, corners, joinstyle="miter", **settings)
    else:
        draw_circle(ax, seen(shape.centre, viewed_from), shape.radius_mm, **settings)


def look_of_cut(cut: Cut) -> style.Look:
    """Return how a planned cut is drawn."""
    return {"slug": style.SLUG, "fill": style.FILL, "plug": style.FILL}.get(cut.kind, style.NEW_HOLE)
