"""Whether the cuts of one counterweight keep their walls, by polygons.  For verification only."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

from geometry_profiles.placement import HoleSection, placement_faults
from planner.correction.problem import CorrectionProblem
from planner.correction.verify.integrals import cone_mm
from planner.correction.verify.rules import deepened_holes
from planner.cuts.cut import Cut
from planner.rotor.crankshaft import Counterweight
from planner.rotor.obstacles import obstacles_of


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
    holes = [_section(item, counterweight, problem) for item in cuts if item.cut.kind != "fill"]
    pinned = {item.name for item in cuts if item.pinned}
    planned = {item.name for item in cuts if not item.pinned}
    faults: list[str] = list(twice)
    warnings: list[str] = []
    for fault in placement_faults(
        counterweight.outline,
        thickness_mm=counterweight.thickness_mm,
        holes=holes,
        obstacles=obstacles_of(counterweight, oil_drillings=problem.oil_drillings),
        least_wall_mm=problem.shop.least_wall_mm,
    ):
        user_alone = fault.hole in pinned and fault.with_what not in planned
        (warnings if user_alone else faults).append(fault.text)
    filled: list[tuple[float, float | None]] = []
    for item in cuts:
        if item.cut.kind == "fill":
            place = (round(item.cut.angle_deg % 360.0, 6) % 360.0, item.cut.radius_mm)
            if place in filled:
                faults.append(f"{item.name}: the hole is filled twice")
            filled.append(place)
    return BrokenWalls(faults=tuple(faults), warnings=tuple(warnings))


def _section(item: NamedCut, counterweight: Counterweight, problem: CorrectionProblem) -> HoleSection:
    """Return the section of a cut in the outline's own frame; drilled holes come out larger than the drill."""
    cut, shop = item.cut, problem.shop
    oversize = 0.0 if cut.kind == "slug" else shop.hole_oversize_mm
    diameter = cut.diameter_mm + oversize
    cone = cone_mm(diameter_mm=diameter, point_angle_deg=shop.point_angle_deg)
    depth = cut.length_mm if cut.kind == "slug" else cut.depth_shoulder_mm
    if cut.through:
        depth = None
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
        name=item.name,
    )
