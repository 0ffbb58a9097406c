"""What fits where, apart from other new cuts; and the grids of dial, stop and radius."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from geometry_profiles.outline import Outline
from planner.correction.candidates.obstacles import (
    ConvexPiece,
    SymmetricObstacle,
    convex_pieces,
    deepest_keeping_wall,
    keeps_wall_to,
    symmetric_obstacles,
)
from planner.correction.candidates.sections import (
    BoolArray,
    FloatArray,
    Sections,
    between_deg,
    separation_deg,
)
from planner.correction.problem import CorrectionProblem
from planner.correction.store import Tables, content_key, kept
from planner.rotor.crankshaft import Counterweight, Face

LENGTH_SLACK_MM = 1e-9


def dial_angles_deg(problem: CorrectionProblem, counterweight: Counterweight) -> FloatArray:
    """Return the dial's angles from the counterweight's centre line, ascending in -180 .. 180 [deg]."""
    step = problem.shop.angle_step_deg
    count = math.ceil(360.0 / step - 1e-9)
    angles = problem.angle_phase_deg + step * np.arange(count) - counterweight.angle_deg
    wrapped = -((180.0 - np.round(angles, 9)) % 360.0 - 180.0)
    return np.sort(wrapped)


def fits(
    problem: CorrectionProblem,
    counterweight: Counterweight,
    sections: Sections,
    relative_deg: FloatArray,
    inside_radius_mm: FloatArray,
    chains: Sequence[slice] = (),
    extent_mm: tuple[float, float] | None = None,
    in_half: Face | None = None,
) -> BoolArray:
    """Return which sections fit at which angles, shape (C, A): flanks, old holes, keep-outs, oil drillings.

    ``extent_mm`` is where rim holes reach along the shaft, from the middle plane: what is elsewhere is in nobody's way.

    ``chains`` are runs of sections each of which lies inside the next (one drill, ever deeper): measuring few of
    them tells of all.

    ``inside_radius_mm`` has one radius per section on its ray that must lie within the outline; with the walls to
    all straight edges kept, the rest of the section then lies within it too.
    """
    outline = counterweight.outline
    wall = problem.shop.least_wall_mm
    near = symmetric_obstacles(
        counterweight,
        pinned=problem.fixed,
        shop=problem.shop,
        extent_mm=extent_mm,
        wall_mm=wall,
        in_half=in_half,
    )
    pieces = convex_pieces(
        counterweight,
        oil_drillings=problem.oil_drillings,
        least_wall_mm=wall,
        pinned=problem.fixed,
        shop=problem.shop,
        extent_mm=extent_mm,
    )
    obstacles = [
        part
        for one in near
        for part in (one.section.radius_mm, one.section.angle_rad, one.section.grow_mm, one.angle_deg)
    ]
    obstacles += [part for piece in pieces for part in (piece.points_mm, piece.grow_mm, piece.wall_mm)]
    key = content_key(
        "fits",
        outline,
        wall,
        relative_deg,
        inside_radius_mm,
        sections.radius_mm,
        sections.angle_rad,
        sections.grow_mm,
        *obstacles,
    )

    def make() -> Tables:
        legal = _fits(outline, wall, sections, relative_deg, inside_radius_mm, near, pieces, chains)
        return {"legal": np.packbits(legal)}

    count = len(sections) * relative_deg.size
    bits = np.unpackbits(kept(key, make)["legal"], count=count)
    return np.asarray(bits.view(bool).reshape(len(sections), relative_deg.size))


def _fits(
    outline: Outline,
    wall: float,
    sections: Sections,
    relative_deg: FloatArray,
    inside_radius_mm: FloatArray,
    near: list[SymmetricObstacle],
    pieces: list[ConvexPiece],
    chains: Sequence[slice],
) -> BoolArray:
    legal: BoolArray = np.ones((len(sections), relative_deg.size), dtype=bool)
    if outline.half_angle_deg is not None:
        legal &= (np.abs(relative_deg) < outline.half_angle_deg)[None, :]
    elif outline.flanks_mm:
        legal &= _inside(np.array(outline.boundary_mm), inside_radius_mm, np.radians(relative_deg))
    for obstacle in near:
        apart = between_deg(relative_deg, obstacle.angle_deg)
        legal &= apart[None, :] >= separation_deg(sections, obstacle.section, wall)[:, None]
    for piece in pieces:
        columns = np.flatnonzero(legal.any(axis=0))
        if not columns.size:
            continue
        at = np.radians(relative_deg[columns])
        if not chains:
            legal[:, columns] &= keeps_wall_to(sections, at, piece)
        for chain in chains:
            number = np.arange(chain.stop - chain.start)
            own = legal[chain][:, columns]
            deepest = np.where(own.any(axis=0), number.size - 1 - np.argmax(own[::-1], axis=0), -1)
            last = deepest_keeping_wall(sections.take(chain), at, piece, deepest)
            legal[chain, columns] &= number[:, None] <= last[None, :]
    return legal


def _inside(boundary: FloatArray, radius_mm: FloatArray, at_rad: FloatArray) -> BoolArray:
    """Return whether points in polar coordinates lie in a polygon (crossings of a horizontal ray)."""
    x = radius_mm[:, None] * np.cos(at_rad)[None, :]
    y = radius_mm[:, None] * np.sin(at_rad)[None, :]
    inside = np.zeros(x.shape, dtype=bool)
    for (x1, y1), (x2, y2) in zip(boundary, np.roll(boundary, -1, axis=0), strict=True):
        if y1 == y2:
            continue
        crosses = (y1 > y) != (y2 > y)
        inside ^= crosses & (x < (x2 - x1) * (y - y1) / (y2 - y1) + x1)
    return inside


def stops_mm(problem: CorrectionProblem) -> FloatArray:
    """Return the numbers of the depth stop [mm]."""
    shop = problem.shop
    if shop.greatest_depth_mm < shop.least_depth_mm:
        return np.zeros(0)
    count = math.floor((shop.greatest_depth_mm - shop.least_depth_mm) / shop.depth_step_mm + 1e-9) + 1
    return np.asarray(shop.least_depth_mm + shop.depth_step_mm * np.arange(count))


def shoulders_mm(problem: CorrectionProblem, drill_mm: float) -> FloatArray:
    """Return the shoulder depths of the stop's numbers [mm]; negative where only the drill's point enters."""
    shoulders = np.array(
        [
            round(problem.shop.shoulder_depth_mm(stop_mm=float(stop), diameter_mm=drill_mm), 12)
            for stop in stops_mm(problem)
        ]
    )
    return shoulders[shoulders > 1e-6 - problem.shop.cone_height_mm(drill_mm)]


def radii_mm(problem: CorrectionProblem, counterweight: Counterweight, diameter_mm: float) -> FloatArray:
    """Return the radii at which a disc of that diameter stays off the rim and above the body [mm]."""
    shop, outline = problem.shop, counterweight.outline
    step = shop.slug_radius_step_mm
    half = diameter_mm / 2.0
    most = outline.greatest_radius_mm - half
    if counterweight.least_rim_radius_mm is not None:
        most = counterweight.least_rim_radius_mm - half - shop.least_wall_mm
    first = math.ceil((outline.inner_radius_mm + half - LENGTH_SLACK_MM) / step)
    last = math.floor((most + LENGTH_SLACK_MM) / step)
    radii = step * np.arange(max(first, 1), last + 1)
    return np.asarray(np.round(radii, 9), dtype=float)
