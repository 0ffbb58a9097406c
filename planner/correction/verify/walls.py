"""Whether the cuts of one counterweight keep their walls, by polygons.  For verification only."""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from geometry_profiles.outline import Outline
from geometry_profiles.placement import HoleSection, placement_faults, section_polygon
from geometry_profiles.rims import RimForm
from planner.correction.problem import CorrectionProblem
from planner.correction.verify.integrals import cone_mm
from planner.correction.verify.rules import deepened_holes
from planner.cuts.cut import Cut, Shop
from planner.records import dataclass
from planner.rotor.crankshaft import FILLS, Counterweight
from planner.rotor.obstacles import obstacles_of, rim_hole_shadow

if TYPE_CHECKING:
    from shapely import Polygon

_SAMPLES = 2000


@dataclass(frozen=True, kw_only=True)
class NamedCut:
    """A cut, how a text calls it, and whether the user pinned it."""

    name: str
    cut: Cut
    pinned: bool


@dataclass(frozen=True, kw_only=True)
class BrokenWalls:
    """Texts of broken walls: those that the planner made, and those that pinned cuts make by themselves."""

    faults: tuple[str, ...]
    warnings: tuple[str, ...]


def wall_faults(
    counterweight: Counterweight, cuts: Sequence[NamedCut], *, problem: CorrectionProblem
) -> BrokenWalls:
    """Return the walls that the cuts of one counterweight break.

    A `fill` makes no new hole: the hole that it fills stands among the obstacles already.  A deepening is a hole of its
    full new depth, and the hole that it deepens is no obstacle any more.  Two fills or two deepenings of one hole are a
    fault.
    """
    deepened: dict[int, str] = {}
    twice: list[str] = []
    for item in cuts:
        for index in deepened_holes(item.cut, counterweight, shop=problem.shop):
            if index in deepened:
                twice.append(f"{item.name}: {deepened[index]} deepens the same hole")
            deepened.setdefault(index, item.name)
    counterweight = dataclasses.replace(
        counterweight,
        existing=tuple(hole for index, hole in enumerate(counterweight.existing) if index not in deepened),
    )
    drilled = [item for item in cuts if item.cut.kind not in FILLS and not item.cut.on_rim]
    holes = [_section(item, counterweight, problem) for item in drilled]
    pinned = {item.name for item in cuts if item.pinned}
    planned = {item.name for item in cuts if not item.pinned}
    faults: list[str] = list(twice)
    warnings: list[str] = []
    for fault in placement_faults(
        counterweight.outline,
        thickness_mm=counterweight.thickness_mm,
        holes=holes,
        obstacles=lambda hole: obstacles_of(
            _without_opposite(counterweight, hole, problem.shop),
            oil_drillings=problem.oil_drillings,
            extent_mm=hole.extent_mm if hole.kind == "rim" else None,
        ),
        least_wall_mm=problem.shop.least_wall_mm,
        least_rim_radius_mm=_least_rim(counterweight),
        may_stand_opposite=lambda one, other: _opposite(one, other, counterweight, problem.shop),
    ):
        user_alone = fault.hole in pinned and fault.with_what not in planned
        (warnings if user_alone else faults).append(fault.text)
    for item, text, partner in _rim_cut_faults(counterweight, cuts, holes, problem):
        user_alone = item.pinned and partner not in planned
        (warnings if user_alone else faults).append(f"{item.name}: {text}")
    filled: list[tuple[float, float | None]] = []
    for item in cuts:
        if item.cut.kind in FILLS:
            place = (round(item.cut.angle_deg % 360.0, 6) % 360.0, item.cut.radius_mm)
            if place in filled:
                faults.append(f"{item.name}: the hole is filled twice")
            filled.append(place)
    return BrokenWalls(faults=tuple(faults), warnings=tuple(warnings))


def _rim_cut_faults(
    counterweight: Counterweight,
    cuts: Sequence[NamedCut],
    holes: Sequence[HoleSection],
    problem: CorrectionProblem,
) -> Iterator[tuple[NamedCut, str, str]]:
    """Return what cuts of the rim itself break: the cut, the words, what it comes too near to.

    What they take seen along the shaft is a polygon whose arcs are chords of a quarter of a degree, the outer one around the
    rim.  It keeps the wall to flanks, to what is there and to every other cut, and stays so far from the body.
    """
    import shapely

    wall = problem.shop.least_wall_mm
    outline = counterweight.outline
    taken = [(item, _taken_off(item.cut, counterweight)) for item in cuts if item.cut.on_rim]
    for number, (item, area) in enumerate(taken):
        off = item.cut.depth_shoulder_mm or 0.0
        left = counterweight.rim_form().greatest_radius_mm - off - outline.inner_radius_mm
        if left < wall - 1e-6:
            yield item, f"it leaves {left:.3f} mm above the inner radius, {wall:g} mm is needed", "body"
        near: list[tuple[str, float, float]] = []
        for index, flank in enumerate(outline.flanks_mm):
            near.append(
                (f"the {outline.flank_name(index)}", float(area.distance(shapely.LineString(flank))), wall)
            )
        for obstacle in obstacles_of(counterweight, oil_drillings=problem.oil_drillings):
            shape = shapely.MultiPoint(obstacle.points_mm).convex_hull
            needed = wall if obstacle.clearance_mm is None else obstacle.clearance_mm
            near.append((obstacle.what, float(area.distance(shape)) - obstacle.radius_mm, needed))
        for hole in holes:
            near.append((hole.called, _to_hole(area, hole, outline), wall))
        for other, there in taken[:number]:
            near.append((other.name, float(area.distance(there)), wall))
        for what, apart, needed in near:
            if apart < needed - 1e-6:
                yield item, f"{apart:.3f} mm to {what}, {needed:g} mm is needed", what
        if not _ends_on_rim(item.cut, counterweight):
            yield item, "it reaches past the end of the rim", "rim"


def _taken_off(cut: Cut, counterweight: Counterweight) -> Polygon:
    """Return what a cut of the rim takes seen along the shaft, in the outline's own frame [mm]."""
    import shapely

    rim = counterweight.rim_form().greatest_radius_mm
    low = rim - (cut.depth_shoulder_mm or 0.0)
    half = math.acos(low / rim) if cut.kind == "flat" else math.radians(0.5 * (cut.sector_deg or 0.0))
    middle = math.radians(cut.angle_deg - counterweight.angle_deg)
    count = max(2, math.ceil(math.degrees(2.0 * half) / 0.25))
    angles = middle + np.linspace(-half, half, count + 1)
    around = rim / math.cos(half / count)
    between = 0.5 * (angles[1:] + angles[:-1])
    outer = [(rim, angles[0]), *((around, at) for at in between), (rim, angles[-1])]
    inner = [] if cut.kind == "flat" else [(low, at) for at in angles[::-1]]
    return shapely.Polygon([(r * math.cos(at), r * math.sin(at)) for r, at in (*outer, *inner)])


def _to_hole(area: Polygon, hole: HoleSection, outline: Outline) -> float:
    """Return the wall from an area to a hole's section [mm]; a circle exactly."""
    import shapely

    if hole.kind == "rim":
        return float(area.distance(section_polygon(hole, outline)))
    at, radius = math.radians(hole.angle_deg), hole.radius_mm or 0.0
    centre = shapely.Point(radius * math.cos(at), radius * math.sin(at))
    return float(area.distance(centre)) - 0.5 * hole.diameter_mm


def _ends_on_rim(cut: Cut, counterweight: Counterweight) -> bool:
    """Whether both ends of what a cut takes lie on one arc of the rim."""
    rim = counterweight.rim_form().greatest_radius_mm
    half = 0.5 * (cut.sector_deg or 0.0)
    if cut.kind == "flat":
        half = math.degrees(math.acos((rim - (cut.depth_shoulder_mm or 0.0)) / rim))
    middle = cut.angle_deg - counterweight.angle_deg
    return any(
        end - start >= 360.0 - 1e-9 or (middle - half - start) % 360.0 <= (end - start) - 2.0 * half + 1e-6
        for start, end in counterweight.outline.rim_arcs_deg
    )


def _section(item: NamedCut, counterweight: Counterweight, problem: CorrectionProblem) -> HoleSection:
    """Return the section of a cut in the outline's own frame; drilled holes come out larger than the drill."""
    cut, shop = item.cut, problem.shop
    oversize = 0.0 if cut.kind == "slug" else shop.hole_oversize_mm
    diameter = cut.diameter_mm + oversize
    cone = cone_mm(diameter_mm=diameter, point_angle_deg=shop.point_angle_deg)
    depth = cut.length_mm if cut.kind == "slug" else cut.depth_shoulder_mm
    if cut.through:
        depth = None
    elif cut.kind == "rim hole" and depth is not None:
        return _rim_section(item, counterweight, diameter, depth, cone)
    elif depth is not None and depth < 0.0:
        # only the point enters: less of a cone, here as wide as the drill
        depth, cone = 0.0, max(cone + depth, 0.0)
    return HoleSection(
        kind="rim" if cut.kind == "rim hole" else "face",
        angle_deg=cut.angle_deg - counterweight.angle_deg,
        diameter_mm=diameter,
        depth_shoulder_mm=depth,
        cone_height_mm=cone,
        radius_mm=None if cut.kind == "rim hole" else cut.radius_mm,
        open_to=None if cut.kind == "rim hole" else cut.face,
        name=item.name,
    )


def _opposite(one: HoleSection, other: HoleSection, counterweight: Counterweight, shop: Shop) -> bool:
    """Whether two blind holes from the two faces each keep to their own half, half a wall short of the middle."""
    if not shop.opposite_face_holes or one.kind != "face" or other.kind != "face":
        return False
    if one.open_to is None or other.open_to is None or one.open_to == other.open_to:
        return False
    room = 0.5 * counterweight.thickness_mm - 0.5 * shop.least_wall_mm
    return all(
        each.depth_shoulder_mm is not None and each.depth_shoulder_mm + each.cone_height_mm <= room + 1e-6
        for each in (one, other)
    )


def _without_opposite(counterweight: Counterweight, hole: HoleSection, shop: Shop) -> Counterweight:
    """Return the counterweight without the old blind holes that a new one may stand opposite to."""
    if not shop.opposite_face_holes or hole.kind != "face":
        return counterweight
    kept = []
    for old in counterweight.existing:
        if old.kind == "face hole" and not old.through and old.depth_shoulder_mm is not None:
            section = HoleSection(
                kind="face",
                angle_deg=0.0,
                diameter_mm=old.diameter_mm,
                depth_shoulder_mm=old.depth_shoulder_mm,
                cone_height_mm=cone_mm(diameter_mm=old.diameter_mm, point_angle_deg=old.point_angle_deg),
                radius_mm=old.radius_mm,
                open_to=old.face,
            )
            if _opposite(hole, section, counterweight, shop):
                continue
        kept.append(old)
    return dataclasses.replace(counterweight, existing=tuple(kept))


def _rim_section(
    item: NamedCut, counterweight: Counterweight, diameter: float, depth: float, cone: float
) -> HoleSection:
    """Return a rim hole's section: its shadow along the shaft, and where along the shaft it is."""
    cut = item.cut
    shadow = rim_hole_shadow(
        counterweight,
        diameter_mm=diameter,
        depth_shoulder_mm=depth,
        cone_height_mm=cone,
        from_middle_mm=cut.from_middle_mm,
        beside_mm=cut.beside_mm,
        tilt_deg=cut.tilt_deg,
    )
    half = 0.5 * diameter * math.cos(math.radians(cut.tilt_deg))
    formed = counterweight.rim is not None
    return HoleSection(
        kind="rim",
        angle_deg=cut.angle_deg - counterweight.angle_deg,
        diameter_mm=diameter,
        depth_shoulder_mm=max(shadow.outer_mm - shadow.shoulder_mm, 0.0),
        cone_height_mm=max(min(shadow.shoulder_mm, shadow.outer_mm) - shadow.tip_mm, 0.0),
        beside_mm=cut.beside_mm,
        outer_radius_mm=shadow.outer_mm if formed else None,
        mouth_radius_mm=shadow.at_rim_mm if formed else None,
        extent_mm=shadow.extent_mm,
        land_mm=_land(counterweight.rim, cut.from_middle_mm) if counterweight.rim is not None else None,
        mouth_mm=(cut.from_middle_mm - half, cut.from_middle_mm + half),
        name=item.name,
    )


def _least_rim(counterweight: Counterweight) -> float | None:
    """Return the least radius that a rim has anywhere between the faces; None where it is plain."""
    return None if counterweight.rim is None else _least_radius(counterweight.rim)


@functools.lru_cache(maxsize=256)
def _least_radius(rim: RimForm) -> float:
    """Return the least radius of a rim by sampling it [mm]."""
    s = np.linspace(rim.breaks_mm[0], rim.breaks_mm[-1], _SAMPLES)
    return float(min(rim.radius_mm(float(at)) for at in (*s, *rim.breaks_mm)))


@functools.lru_cache(maxsize=256)
def _land(rim: RimForm, from_middle_mm: float) -> tuple[float, float]:
    """Return from where to where along the shaft there is metal beside a mouth, by walking over the rim both ways.

    It ends where the radius changes more steeply than a slope of 60 degrees: at a step, a steep bevel, a face.
    """
    first, last = rim.breaks_mm[0], rim.breaks_mm[-1]
    ends = []
    for way in (-1.0, 1.0):
        at, step = min(max(from_middle_mm, first), last), (last - first) / _SAMPLES
        radius = rim.radius_mm(at)
        while True:
            following = at + way * step
            if not first <= following <= last:
                at = first if way < 0.0 else last
                break
            changed = rim.radius_mm(following)
            rounding = rim.piece_at(following).rounding_mm > 0.0
            if abs(changed - radius) > math.tan(math.radians(60.0)) * step * (1.0 + 1e-6) and not rounding:
                # the step lies between: finer
                if step < 1e-9:
                    break
                step /= 8.0
                continue
            at, radius = following, changed
        ends.append(at)
    return ends[0], ends[1]
