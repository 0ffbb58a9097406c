"""What stands in the way of new cuts in one counterweight, as symmetric sections and as convex pieces.

Old holes and a fan's flanks are symmetric about their own ray, so that they are handled like cuts: by a least angle
(:func:`planner.correction.candidates.sections.separation_deg`).  Everything else - straight edges of other outlines, keep-outs,
oil drillings - becomes convex pieces, and the wall to them is measured.  Ring sectors are cut into narrow pieces whose
hulls contain them; an oil drilling becomes the capsule that contains its shadow: both never too small.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from planner.correction.candidates.sections import (
    BoolArray,
    FloatArray,
    IntArray,
    Sections,
    disc_sections,
    ray_section,
    rim_cut_sections,
    rim_hole_sections,
    separation_deg,
)
from planner.cuts.cut import Cut, Shop
from planner.cuts.deepening import same_hole, without_deepened
from planner.cuts.rim_off import flat_half_angle_deg
from planner.records import dataclass
from planner.rotor.crankshaft import (
    FILLS,
    Counterweight,
    ExistingHole,
    Face,
    KeepOut,
    OilDrilling,
    cone_height_mm,
)
from planner.rotor.obstacles import obstacles_of
from planner.rotor.vectors import difference_deg

KEEP_OUT_PIECE_DEG = 2.0
KEEP_OUT_SAFETY_MM = 2e-4
"""Added to the wall to a keep-out [mm]: more than any other way of covering it reaches past its arcs."""

WALL_SAFETY_MM = 1e-8
"""Added to measured walls [mm], so that rounding can never eat into a wall."""
_MOST_TOGETHER = 20_000
_ON_AXIS_MM = 1e-6


@dataclass(frozen=True)
class SymmetricObstacle:
    """A section at an angle of the counterweight's own frame [deg]; new cuts keep the wall to it."""

    section: Sections
    angle_deg: float


@dataclass(frozen=True)
class ConvexPiece:
    """The hull of points [mm] grown by a radius [mm], in the counterweight's own frame, with the wall to keep."""

    points_mm: FloatArray
    grow_mm: float
    wall_mm: float


def existing_section(hole: ExistingHole, counterweight: Counterweight) -> Sections:
    """Return the section of a hole that is already there; full depth counts, whatever its z."""
    outline = counterweight.outline
    diameter = np.array([hole.diameter_mm])
    if hole.kind == "face hole":
        assert hole.radius_mm is not None
        return disc_sections(radius_mm=np.array([hole.radius_mm]), diameter_mm=diameter)
    cone = cone_height_mm(diameter_mm=hole.diameter_mm, point_angle_deg=hole.point_angle_deg)
    depth = hole.depth_shoulder_mm
    if depth is None:  # drilled right through to the body
        rim = outline.greatest_radius_mm
        return rim_hole_sections(
            rim_radius_mm=rim,
            diameter_mm=diameter,
            depth_shoulder_mm=np.array([max(rim - outline.inner_radius_mm, 1e-6)]),
            cone_mm=np.zeros(1),
        )
    return row_sections(
        counterweight,
        diameter_mm=hole.diameter_mm,
        depth_shoulder_mm=np.array([depth]),
        cone_mm=cone,
        from_middle_mm=hole.from_middle_mm,
        beside_mm=hole.beside_mm,
        tilt_deg=hole.tilt_deg,
    )


def row_sections(
    counterweight: Counterweight,
    *,
    diameter_mm: float,
    depth_shoulder_mm: FloatArray,
    cone_mm: float,
    from_middle_mm: float = 0.0,
    beside_mm: float = 0.0,
    tilt_deg: float = 0.0,
) -> Sections:
    """Return the sections of rim holes of one drill in one row, as they are seen along the shaft, rather too large.

    The section reaches out to the greatest radius that the rim has across the hole; a tilted hole's is its shadow.  Beside
    the radius it is meant about a ray of its own, moved aside (see `beside_piece`).
    """
    outline = counterweight.outline
    outer = outline.greatest_radius_mm
    at = outer
    if counterweight.rim is not None:
        reach = 0.5 * diameter_mm
        low, high = counterweight.rim.breaks_mm[0], counterweight.rim.breaks_mm[-1]
        place = min(max(from_middle_mm, low), high)
        at = counterweight.rim.radius_mm(place)
        outer = counterweight.rim.most_radius_mm(max(low, place - reach), min(high, place + reach))
    enters = math.sqrt(max(at * at - beside_mm * beside_mm, 0.0))
    tilt = math.radians(abs(tilt_deg))
    depth = np.asarray(depth_shoulder_mm, dtype=float)
    shoulder = enters - (depth * math.cos(tilt) + 0.5 * diameter_mm * math.sin(tilt))
    tip = np.minimum(enters - (depth + cone_mm) * math.cos(tilt), shoulder)
    # only the point enters: the cone begins at the rim, as wide as the drill
    shoulder = np.minimum(shoulder, np.maximum(outer, enters) if tilt_deg else enters)
    return rim_hole_sections(
        rim_radius_mm=outer,
        diameter_mm=np.full(depth.shape, diameter_mm),
        depth_shoulder_mm=outer - shoulder,
        cone_mm=np.maximum(shoulder - tip, 0.0),
    )


def rim_hole_extent_mm(
    *, diameter_mm: float, tip_mm: float, depth_shoulder_mm: float, from_middle_mm: float, tilt_deg: float
) -> tuple[float, float]:
    """Return from where to where a rim hole reaches along the shaft, from the middle plane [mm]."""
    tilt, half = math.radians(tilt_deg), 0.5 * diameter_mm
    wide = half * math.cos(tilt)
    places = (
        from_middle_mm - wide,
        from_middle_mm + wide,
        from_middle_mm + max(depth_shoulder_mm, 0.0) * math.sin(tilt) - wide,
        from_middle_mm + max(depth_shoulder_mm, 0.0) * math.sin(tilt) + wide,
        from_middle_mm + tip_mm * math.sin(tilt),
    )
    return min(places), max(places)


def _extent_of(hole: ExistingHole) -> tuple[float, float]:
    cone = cone_height_mm(diameter_mm=hole.diameter_mm, point_angle_deg=hole.point_angle_deg)
    depth = 1000.0 if hole.depth_shoulder_mm is None and hole.tilt_deg else hole.depth_shoulder_mm or 0.0
    return rim_hole_extent_mm(
        diameter_mm=hole.diameter_mm,
        depth_shoulder_mm=depth,
        tip_mm=depth + cone,
        from_middle_mm=hole.from_middle_mm,
        tilt_deg=hole.tilt_deg,
    )


def cut_extent_mm(cut: Cut, shop: Shop) -> tuple[float, float]:
    """Return from where to where a rim hole that is wanted reaches along the shaft, from the middle plane [mm]."""
    diameter = cut.diameter_mm + shop.hole_oversize_mm
    depth = cut.depth_shoulder_mm or 0.0
    return rim_hole_extent_mm(
        diameter_mm=diameter,
        depth_shoulder_mm=depth,
        tip_mm=depth + shop.cone_height_mm(diameter),
        from_middle_mm=cut.from_middle_mm,
        tilt_deg=cut.tilt_deg,
    )


def apart_along_shaft(
    one: tuple[float, float] | None, other: tuple[float, float] | None, wall_mm: float
) -> bool:
    """Return whether two rim holes' reaches along the shaft are the wall apart."""
    if one is None or other is None:
        return False
    return max(other[0] - one[1], one[0] - other[1]) >= wall_mm - 1e-9


def pinned_section(cut: Cut, counterweight: Counterweight, shop: Shop) -> Sections | None:
    """Return the section of a cut that the user pinned; None for a fill, whose hole is there already."""
    if cut.kind in FILLS:
        return None
    if cut.on_rim:
        rim, off = counterweight.outline.greatest_radius_mm, cut.depth_shoulder_mm or 0.0
        half = flat_half_angle_deg(greatest_radius_mm=rim, off_mm=off)
        if cut.sector_deg is not None:
            half = 0.5 * cut.sector_deg
        return rim_cut_sections(
            outer_radius_mm=np.array([rim]), off_mm=np.array([off]), half_angle_deg=np.array([half])
        )
    diameter = cut.diameter_mm + (0.0 if cut.kind == "slug" else shop.hole_oversize_mm)
    if cut.kind != "rim hole":
        return disc_sections(radius_mm=np.array([cut.radius_mm or 0.0]), diameter_mm=np.array([diameter]))
    return row_sections(
        counterweight,
        diameter_mm=diameter,
        depth_shoulder_mm=np.array([cut.depth_shoulder_mm or 0.0]),
        cone_mm=shop.cone_height_mm(diameter),
        from_middle_mm=cut.from_middle_mm,
        beside_mm=cut.beside_mm,
        tilt_deg=cut.tilt_deg,
    )


def overlapping(
    fixed: Sequence[Cut], counterweights: Sequence[Counterweight], shop: Shop
) -> list[tuple[Cut, Cut]]:
    """Return pairs of pinned cuts that meet: no wall at all is left between them.

    Two passes in one hole (a cut and its deepening) are one hole.
    """
    named = {each.name: each for each in counterweights}
    found = []
    for number, one in enumerate(fixed):
        for other in fixed[:number]:
            counterweight = named.get(one.counterweight)
            if counterweight is None or other.counterweight != one.counterweight:
                continue
            if same_hole(one, other) and (one.deepens or other.deepens):
                continue
            sections = [pinned_section(cut, counterweight, shop) for cut in (other, one)]
            if sections[0] is None or sections[1] is None:
                if one.kind in FILLS and other.kind in FILLS and _same_fill(one, other):
                    found.append((other, one))
                continue
            both_rim = one.kind == other.kind == "rim hole"
            if both_rim and apart_along_shaft(cut_extent_mm(one, shop), cut_extent_mm(other, shop), 1e-6):
                continue
            if one.beside_mm or other.beside_mm:
                # not symmetric about their rays: measured
                first, second = (
                    _moved_aside(each, section, counterweight)
                    for each, section in ((one, sections[1]), (other, sections[0]))
                )
                if hull_distance_mm(first[None], second)[0] <= 0.0:
                    found.append((other, one))
                continue
            least = float(separation_deg(sections[0], sections[1], 0.0)[0])
            if abs(difference_deg(one.angle_deg, other.angle_deg)) < least - 1e-6:
                found.append((other, one))
    return found


def _same_fill(one: Cut, other: Cut) -> bool:
    return (
        abs((one.radius_mm or 0.0) - (other.radius_mm or 0.0)) < 1e-3
        and abs(difference_deg(one.angle_deg, other.angle_deg)) < 1e-3
    )


def symmetric_obstacles(
    counterweight: Counterweight,
    *,
    pinned: tuple[Cut, ...] = (),
    shop: Shop | None = None,
    extent_mm: tuple[float, float] | None = None,
    wall_mm: float = 0.0,
    in_half: Face | None = None,
) -> list[SymmetricObstacle]:
    """Return old holes, pinned cuts and the flanks that are rays from the shaft axis.

    A hole that a pinned cut deepens stands there with its new depth only.  For a rim hole that reaches over ``extent_mm``
    along the shaft, rim holes that are the wall away along it are in nobody's way.  Holes beside the radius are not
    symmetric: see `convex_pieces`.
    """
    found = []
    if shop is not None:
        counterweight = without_deepened(counterweight, pinned, shop=shop)
    for cut in pinned:
        section = (
            pinned_section(cut, counterweight, shop)
            if shop is not None and cut.counterweight == counterweight.name and not cut.beside_mm
            else None
        )
        rim = cut.kind == "rim hole" and shop is not None
        if rim and shop is not None and apart_along_shaft(extent_mm, cut_extent_mm(cut, shop), wall_mm):
            continue
        if shop is not None and in_half is not None and _stays_opposite(cut, in_half, counterweight, shop):
            continue
        if section is not None:
            found.append(SymmetricObstacle(section, difference_deg(cut.angle_deg, counterweight.angle_deg)))
    found += [
        SymmetricObstacle(
            existing_section(hole, counterweight), difference_deg(hole.angle_deg, counterweight.angle_deg)
        )
        for hole in counterweight.existing
        if not hole.beside_mm
        and not (hole.kind == "rim hole" and apart_along_shaft(extent_mm, _extent_of(hole), wall_mm))
        and not (in_half is not None and _hole_opposite(hole, in_half, counterweight, wall_mm))
    ]
    found += [
        SymmetricObstacle(
            disc_sections(radius_mm=np.array([each.radius_mm]), diameter_mm=np.array([each.diameter_mm])),
            difference_deg(each.angle_deg, counterweight.angle_deg),
        )
        for each in counterweight.round_keep_outs
        if each.radius_mm >= _ON_AXIS_MM
    ]
    for (x1, y1), (x2, y2) in counterweight.outline.flanks_mm:
        if math.hypot(x1, y1) < 1e-9:
            found.append(SymmetricObstacle(ray_section(math.hypot(x2, y2)), math.degrees(math.atan2(y2, x2))))
        elif math.hypot(x2, y2) < 1e-9:
            found.append(SymmetricObstacle(ray_section(math.hypot(x1, y1)), math.degrees(math.atan2(y1, x1))))
    return found


def convex_pieces(
    counterweight: Counterweight,
    *,
    oil_drillings: tuple[OilDrilling, ...],
    least_wall_mm: float,
    pinned: tuple[Cut, ...] = (),
    shop: Shop | None = None,
    extent_mm: tuple[float, float] | None = None,
) -> list[ConvexPiece]:
    """Return straight edges that are not rays, keep-outs, oil drillings, and holes beside the radius.

    Of an oil drilling only the part counts that runs through ``extent_mm`` along the shaft (the counterweight's thickness
    when left out) and near it.
    """
    pieces = [
        ConvexPiece(np.array(edge, dtype=float), 0.0, least_wall_mm)
        for edge in counterweight.outline.flanks_mm
        if min(math.hypot(*edge[0]), math.hypot(*edge[1])) >= 1e-9
    ]
    # what stands about the shaft axis is in the way at every angle or at none
    pieces += [
        ConvexPiece(np.zeros((2, 2)), 0.5 * each.diameter_mm, least_wall_mm)
        for each in counterweight.round_keep_outs
        if each.radius_mm < _ON_AXIS_MM
    ]
    for keep_out in counterweight.keep_outs:
        pieces += _ring_sector_pieces(keep_out, counterweight.angle_deg, least_wall_mm)
    if shop is not None:
        counterweight = without_deepened(counterweight, pinned, shop=shop)
    for hole in counterweight.existing:
        if hole.beside_mm and not apart_along_shaft(extent_mm, _extent_of(hole), least_wall_mm):
            section = existing_section(hole, counterweight)
            pieces.append(ConvexPiece(_aside(section, hole, counterweight), 0.0, least_wall_mm))
    for cut in pinned:
        if shop is None or not cut.beside_mm or cut.counterweight != counterweight.name:
            continue
        wanted = pinned_section(cut, counterweight, shop)
        if wanted is not None and not apart_along_shaft(extent_mm, cut_extent_mm(cut, shop), least_wall_mm):
            pieces.append(ConvexPiece(_moved_aside(cut, wanted, counterweight), 0.0, least_wall_mm))
    passing = replace(counterweight, existing=(), keep_outs=(), round_keep_outs=())
    for obstacle in obstacles_of(passing, oil_drillings=oil_drillings, extent_mm=extent_mm):
        clearance = least_wall_mm if obstacle.clearance_mm is None else obstacle.clearance_mm
        pieces.append(ConvexPiece(np.array(obstacle.points_mm), obstacle.radius_mm, clearance))
    return pieces


def stays_in_half(tip_mm: float, thickness_mm: float, wall_mm: float) -> bool:
    """Return whether what is drilled so deep from a face, point included, stays half a wall short of the middle."""
    return tip_mm <= 0.5 * (thickness_mm - wall_mm) + 1e-9


def _stays_opposite(cut: Cut, in_half: Face, counterweight: Counterweight, shop: Shop) -> bool:
    if cut.kind not in ("face hole", "slug") or cut.through or cut.face == in_half or cut.drilled_mm is None:
        return False
    diameter = cut.diameter_mm + (0.0 if cut.kind == "slug" else shop.hole_oversize_mm)
    tip = cut.drilled_mm + shop.cone_height_mm(diameter)
    return stays_in_half(tip, counterweight.thickness_mm, shop.least_wall_mm)


def _hole_opposite(hole: ExistingHole, in_half: Face, counterweight: Counterweight, wall_mm: float) -> bool:
    if hole.kind != "face hole" or hole.through or hole.face == in_half or hole.depth_shoulder_mm is None:
        return False
    tip = hole.depth_shoulder_mm + cone_height_mm(
        diameter_mm=hole.diameter_mm, point_angle_deg=hole.point_angle_deg
    )
    return stays_in_half(tip, counterweight.thickness_mm, wall_mm)


def _moved_aside(cut: Cut, section: Sections | None, counterweight: Counterweight) -> FloatArray:
    assert section is not None
    return _aside(section, cut, counterweight)


def _aside(section: Sections, hole: ExistingHole | Cut, counterweight: Counterweight) -> FloatArray:
    """Return the corners of a rim hole's section moved beside its ray and turned to its angle [mm]."""
    corners = section.hull_xy_mm()[0] + np.array([0.0, hole.beside_mm])
    at = math.radians(difference_deg(hole.angle_deg, counterweight.angle_deg))
    turn = np.array([[math.cos(at), math.sin(at)], [-math.sin(at), math.cos(at)]])
    return np.asarray(corners @ turn)


def _ring_sector_pieces(keep_out: KeepOut, centre_deg: float, wall_mm: float) -> list[ConvexPiece]:
    span = (keep_out.to_angle_deg - keep_out.from_angle_deg) % 360.0 or 360.0
    count = max(1, math.ceil(span / KEEP_OUT_PIECE_DEG))
    half = math.radians(span / count) / 2.0
    start = math.radians(keep_out.from_angle_deg - centre_deg)
    pieces = []
    for index in range(count):
        middle = start + (2 * index + 1) * half
        corners = [
            (keep_out.from_radius_mm, middle - half),
            (keep_out.from_radius_mm, middle + half),
            (keep_out.to_radius_mm, middle + half),
            (keep_out.to_radius_mm / math.cos(half / 2.0), middle + half / 2.0),
            (keep_out.to_radius_mm / math.cos(half / 2.0), middle - half / 2.0),
            (keep_out.to_radius_mm, middle - half),
        ]
        points = np.array([(r * math.cos(a), r * math.sin(a)) for r, a in corners])
        pieces.append(ConvexPiece(points, 0.0, wall_mm + KEEP_OUT_SAFETY_MM))
    return pieces


def keeps_wall_to(sections: Sections, at_rad: FloatArray, piece: ConvexPiece) -> BoolArray:
    """Return which sections, turned to the angles, keep the wall to a convex piece.

    Parameters
    ----------
    sections : Sections
        n of them.
    at_rad : ndarray, shape (m,)
        Angles in the counterweight's own frame [rad].
    piece : ConvexPiece
        What to keep away from.

    Returns
    -------
    ndarray of bool, shape (n, m)
    """
    count, turns = len(sections), at_rad.size
    keeps = np.empty((count, turns), dtype=bool)
    rows = max(1, _MOST_TOGETHER // max(1, turns))
    for begin in range(0, count, rows):
        some = np.arange(begin, min(begin + rows, count))
        every = sections.take(np.repeat(some, turns))
        keeps[some] = keeps_wall_each(every, np.tile(at_rad, some.size), piece).reshape(some.size, turns)
    return keeps


def deepest_keeping_wall(
    chain: Sections, at_rad: FloatArray, piece: ConvexPiece, deepest: IntArray
) -> IntArray:
    """Return, per angle, the last section of a chain that keeps the wall, -1 if none does.

    Parameters
    ----------
    chain : Sections
        Holes of one drill, each inside the next: where one keeps the wall all before it do.
    at_rad : ndarray, shape (m,)
        Angles in the counterweight's own frame [rad].
    piece : ConvexPiece
        What to keep away from.
    deepest : ndarray of int, shape (m,)
        The last section that comes into question at each angle, -1: none.
    """
    low = np.full(at_rad.shape, -1, dtype=np.int64)
    high = deepest.astype(np.int64).copy()
    # the deepest first: most angles are far away from the piece
    while True:
        open_ones = np.flatnonzero(low < high)
        if not open_ones.size:
            return low
        first = bool((low[open_ones] == -1).all() and (high[open_ones] == deepest[open_ones]).all())
        middle = high[open_ones] if first else (low[open_ones] + high[open_ones] + 1) // 2
        keeps = keeps_wall_each(chain.take(middle), at_rad[open_ones], piece)
        low[open_ones] = np.where(keeps, middle, low[open_ones])
        high[open_ones] = np.where(keeps, high[open_ones], middle - 1)


def keeps_wall_each(sections: Sections, at_rad: FloatArray, piece: ConvexPiece) -> BoolArray:
    """Return which of n sections, each turned to an angle of its own, keep the wall to a convex piece."""
    hull = sections.hull_xy_mm()
    if not sections.angle_rad.any() and not np.ptp(sections.radius_mm, axis=-1).any():
        hull = hull[:, :1]  # a disc's corners are all its centre
    cos, sin = np.cos(at_rad)[:, None], np.sin(at_rad)[:, None]
    x = hull[:, :, 0] * cos - hull[:, :, 1] * sin
    y = hull[:, :, 0] * sin + hull[:, :, 1] * cos
    needed = sections.grow_mm + piece.grow_mm + piece.wall_mm + WALL_SAFETY_MM
    keeps = np.ones(x.shape[0], dtype=bool)
    # Far away by their bounding circles: nothing to measure.
    cx, cy = x.mean(axis=-1), y.mean(axis=-1)
    own = np.sqrt(((x - cx[..., None]) ** 2 + (y - cy[..., None]) ** 2).max(axis=-1))
    middle = piece.points_mm.mean(axis=0)
    theirs = float(np.hypot(*(piece.points_mm - middle).T).max())
    near = np.hypot(cx - middle[0], cy - middle[1]) < own + theirs + needed
    if near.any():
        polygons = np.stack([x[near], y[near]], axis=-1)
        keeps[near] = hull_distance_mm(polygons, piece.points_mm, needed[near]) >= needed[near]
    return keeps


def hull_distance_mm(
    polygons: FloatArray, other: FloatArray, asked_mm: FloatArray | None = None
) -> FloatArray:
    """Return the distance of convex polygons to another one [mm], 0 where they overlap.

    Parameters
    ----------
    polygons : ndarray, shape (n, m, 2)
        Corners in order; repeated corners are allowed, so are points and segments.
    other : ndarray, shape (p, 2)
        Corners in order.
    asked_mm : ndarray, shape (n,), optional
        Only whether they are so far from each other is asked: of nearer ones any less than that is told.
    """
    broadcast = np.broadcast_to(other, (polygons.shape[0], *other.shape))
    best = np.minimum(_corner_to_edge_mm(polygons, broadcast), _corner_to_edge_mm(broadcast, polygons))
    # whether they overlap matters only where no corner is near
    open_ones = np.flatnonzero(best >= (0.0 if asked_mm is None else asked_mm))
    if open_ones.size:
        apart = _apart(polygons[open_ones], broadcast[open_ones])
        best[open_ones] = np.where(apart, best[open_ones], 0.0)
    return best


def _apart(polygons: FloatArray, others: FloatArray) -> BoolArray:
    """Return which pairs of convex polygons do not meet."""
    # Two convex sets are apart exactly if the direction of some edge (or across it) separates their shadows.
    apart = np.zeros(polygons.shape[0], dtype=bool)
    # The line between their middles serves where both are points.
    between = (others.mean(axis=1) - polygons.mean(axis=1))[:, None, :]
    for edges in (
        np.roll(polygons, -1, axis=1) - polygons,
        np.roll(others, -1, axis=1) - others,
        between,
    ):
        for tx, ty in (
            (edges[..., 0], edges[..., 1]),
            (-edges[..., 1], edges[..., 0]),
        ):
            first = polygons[:, None, :, 0] * tx[..., None] + polygons[:, None, :, 1] * ty[..., None]
            second = others[:, None, :, 0] * tx[..., None] + others[:, None, :, 1] * ty[..., None]
            gap = np.maximum(second.min(-1) - first.max(-1), first.min(-1) - second.max(-1))
            apart |= (gap > 0.0).any(axis=1)
    return apart


def _corner_to_edge_mm(corners: FloatArray, polygon: FloatArray) -> FloatArray:
    start = polygon[:, None, :, :]
    edge = np.roll(polygon, -1, axis=1)[:, None, :, :] - start
    to = corners[:, :, None, :] - start
    square = (edge**2).sum(-1)
    share = np.clip((to * edge).sum(-1) / np.where(square > 0.0, square, 1.0), 0.0, 1.0)
    off = to - share[..., None] * edge
    return np.asarray(np.sqrt((off**2).sum(-1)).min(axis=(1, 2)))
