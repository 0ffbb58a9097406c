"""Everything that could be cut: per counterweight and kind, the settings of the tool times the angles of the dial.

A *setting* is all that the operator chooses except the angle (drill and depth, slug and radius ...).  Its effect
``amount * exp(1j*angle)`` has one signed amount, one axial offset and one cost; its section decides what fits.  A
*block* is one kind of cut in one counterweight.  A new kind of cut is a new block builder: nothing else in the search
has to know about it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from planner.correction.effects import (
    blind_hole_amounts,
    filled_hole_mass_g,
    rim_hole_amounts,
    slug_amounts,
    through_hole_amounts,
)
from planner.correction.obstacles import convex_pieces, keeps_wall_to, symmetric_obstacles
from planner.correction.problem import CorrectionProblem
from planner.correction.sections import (
    BoolArray,
    FloatArray,
    IntArray,
    Sections,
    disc_sections,
    rim_hole_sections,
    separation_deg,
)
from planner.cuts.cut import Cut
from planner.rotor.crankshaft import Counterweight, CutKind
from planner.rotor.vectors import difference_deg, wrap_deg

LENGTH_SLACK_MM = 1e-9


@dataclass(frozen=True)
class Block:
    """One kind of cut in one counterweight.

    Attributes
    ----------
    counterweight : int
        Index into the problem's counterweights.
    amount_gmm : ndarray, shape (S,)
        Signed effect of each setting [g*mm]: negative where metal goes.  Within a family its size grows and so
        does the cost, never the ease of fitting.
    offset_mm : ndarray, shape (S,)
        Axial offset of the effect from the counterweight's middle plane [mm].
    cost : ndarray, shape (S,)
        Grams drilled + heavy-metal cost * grams of heavy metal.
    family : ndarray of int, shape (S,)
        Settings of one tool; apart from blind face holes a greater amount in a family never costs less.
    section_of : ndarray of int, shape (S,)
        Index into ``sections``.
    relative_deg : ndarray, shape (A,)
        Angles of the dial that come into question, from the counterweight's centre line, ascending [deg].
    legal : ndarray of bool, shape (C, A)
        Whether a section fits at an angle, apart from other new cuts.
    """

    counterweight: int
    kind: CutKind
    centre_deg: float
    z_mm: float
    amount_gmm: FloatArray
    offset_mm: FloatArray
    cost: FloatArray
    family: IntArray
    tool_mm: FloatArray
    depth_mm: FloatArray
    radius_mm: FloatArray
    length_mm: FloatArray
    through: BoolArray
    rear: BoolArray
    section_of: IntArray
    sections: Sections
    relative_deg: FloatArray
    legal: BoolArray
    step_deg: float
    wall_mm: float
    most_cuts: int = 1000

    @property
    def has_offset(self) -> bool:
        """Whether some effect acts outside the counterweight's middle plane."""
        return bool(np.any(self.offset_mm != 0.0))

    def legal_settings(self) -> BoolArray:
        """Return ``legal`` per setting, shape (S, A)."""
        return np.asarray(self.legal[self.section_of])

    def angle_deg(self, index: int) -> float:
        """Return a dial angle in the crankshaft frame [deg], cleared of rounding dust."""
        return wrap_deg(round(self.centre_deg + float(self.relative_deg[index]), 9))

    def cut(self, setting: int, angle: int, name: str) -> Cut:
        """Return the record of one cut of this block."""
        depth, radius, length = (
            None if math.isnan(float(values[setting])) else float(values[setting])
            for values in (self.depth_mm, self.radius_mm, self.length_mm)
        )
        return Cut(
            kind=self.kind,
            counterweight=name,
            angle_deg=self.angle_deg(angle),
            diameter_mm=float(self.tool_mm[setting]),
            depth_shoulder_mm=depth,
            radius_mm=radius,
            length_mm=length,
            through=bool(self.through[setting]),
            face="rear" if self.rear[setting] else "front",
        )


def dial_angles_deg(problem: CorrectionProblem, counterweight: Counterweight) -> FloatArray:
    """Return the dial's angles from the counterweight's centre line, ascending in -180 .. 180 [deg]."""
    step = problem.shop.angle_step_deg
    count = math.ceil(360.0 / step - 1e-9)
    angles = problem.angle_phase_deg + step * np.arange(count) - counterweight.angle_deg
    wrapped = -((180.0 - np.round(angles, 9)) % 360.0 - 180.0)
    return np.sort(wrapped)


def build_blocks(problem: CorrectionProblem) -> list[Block]:
    """Return all blocks that have at least one cut that fits, counterweight by counterweight."""
    shop = problem.shop
    blocks: list[Block] = []
    for index, counterweight in enumerate(problem.counterweights):
        if counterweight.name in shop.forbid:
            continue
        kinds = set(counterweight.cuts) & set(shop.allow)
        density = problem.density_of(counterweight)
        candidates: list[Block | None] = []
        if "rim hole" in kinds:
            candidates += [_rim_holes(problem, index, counterweight, density)]
        if "face hole" in kinds:
            candidates += [
                _face_holes(problem, index, counterweight, density, through=True),
                _face_holes(problem, index, counterweight, density, through=False),
            ]
        if "slug" in kinds:
            candidates += [_slugs(problem, index, counterweight, density)]
        if "fill" in kinds:
            candidates += _fills(problem, index, counterweight)
        blocks += [block for block in candidates if block is not None]
    return blocks


def fits(
    problem: CorrectionProblem,
    counterweight: Counterweight,
    sections: Sections,
    relative_deg: FloatArray,
    inside_radius_mm: FloatArray,
) -> BoolArray:
    """Return which sections fit at which angles, shape (C, A): flanks, old holes, keep-outs, oil drillings.

    ``inside_radius_mm`` has one radius per section on its ray that must lie within the outline; with the walls to
    all straight edges kept, the rest of the section then lies within it too.
    """
    outline = counterweight.outline
    wall = problem.shop.least_wall_mm
    legal = np.ones((len(sections), relative_deg.size), dtype=bool)
    if outline.half_angle_deg is not None:
        legal &= (np.abs(relative_deg) < outline.half_angle_deg)[None, :]
    elif outline.flanks_mm:
        legal &= _inside(np.array(outline.boundary_mm), inside_radius_mm, np.radians(relative_deg))
    for obstacle in symmetric_obstacles(counterweight, pinned=problem.fixed, shop=problem.shop):
        apart = np.abs((relative_deg - obstacle.angle_deg + 180.0) % 360.0 - 180.0)
        legal &= apart[None, :] >= separation_deg(sections, obstacle.section, wall)[:, None]
    if not legal.any():
        return legal
    for piece in convex_pieces(counterweight, oil_drillings=problem.oil_drillings, least_wall_mm=wall):
        columns = np.flatnonzero(legal.any(axis=0))
        legal[:, columns] &= keeps_wall_to(sections, np.radians(relative_deg[columns]), piece)
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


def _finish(
    problem: CorrectionProblem,
    index: int,
    counterweight: Counterweight,
    kind: CutKind,
    legal: BoolArray,
    relative_deg: FloatArray,
    sections: Sections,
    section_of: IntArray,
    most_cuts: int = 1000,
    **settings: FloatArray,
) -> Block | None:
    """Return the block without the angles and settings that never fit; None if nothing is left."""
    fitting = legal.any(axis=1)
    columns = np.flatnonzero(legal.any(axis=0))
    keep = fitting[section_of] & (np.abs(settings["amount"]) > 0.0)
    if not keep.any():
        return None
    count = section_of.size
    nothing = np.full(count, np.nan)
    chosen = np.flatnonzero(fitting)
    renumber = np.full(fitting.size, -1)
    renumber[chosen] = np.arange(chosen.size)
    return Block(
        counterweight=index,
        kind=kind,
        centre_deg=counterweight.angle_deg,
        z_mm=counterweight.z_mm,
        amount_gmm=settings["amount"][keep],
        offset_mm=settings.get("offset", np.zeros(count))[keep],
        cost=settings["cost"][keep],
        family=settings["family"][keep].astype(np.int64),
        tool_mm=settings["tool"][keep],
        depth_mm=settings.get("depth", nothing)[keep],
        radius_mm=settings.get("radius", nothing)[keep],
        length_mm=settings.get("length", nothing)[keep],
        through=settings.get("through", np.zeros(count))[keep].astype(bool),
        rear=settings.get("rear", np.zeros(count))[keep].astype(bool),
        section_of=renumber[section_of[keep]],
        sections=sections.take(chosen),
        relative_deg=relative_deg[columns],
        legal=legal[np.ix_(chosen, columns)],
        step_deg=problem.shop.angle_step_deg,
        wall_mm=problem.shop.least_wall_mm,
        most_cuts=most_cuts,
    )


def _stops_mm(problem: CorrectionProblem) -> FloatArray:
    shop = problem.shop
    if shop.greatest_depth_mm < shop.least_depth_mm:
        return np.zeros(0)
    count = math.floor((shop.greatest_depth_mm - shop.least_depth_mm) / shop.depth_step_mm + 1e-9) + 1
    return np.asarray(shop.least_depth_mm + shop.depth_step_mm * np.arange(count))


def _shoulders_mm(problem: CorrectionProblem, drill_mm: float) -> FloatArray:
    """Return the shoulder depths of the stop's numbers [mm]; negative where only the drill's point enters."""
    shoulders = np.array(
        [
            round(problem.shop.shoulder_depth_mm(stop_mm=float(stop), diameter_mm=drill_mm), 12)
            for stop in _stops_mm(problem)
        ]
    )
    return shoulders[shoulders > 1e-6 - problem.shop.cone_height_mm(drill_mm)]


def _rim_holes(
    problem: CorrectionProblem, index: int, counterweight: Counterweight, density: float
) -> Block | None:
    shop, outline = problem.shop, counterweight.outline
    rim = outline.rim_radius_mm
    if rim is None or not outline.rim_arcs_deg:
        return None
    tools, depths, families = [], [], []
    for number, drill in enumerate(sorted(shop.drills_mm)):
        real = drill + shop.hole_oversize_mm
        if real > counterweight.thickness_mm - 2.0 * shop.least_wall_mm + LENGTH_SLACK_MM:
            continue
        shoulders = _shoulders_mm(problem, drill)
        cone = shop.cone_height_mm(real)
        shoulders = shoulders[rim - shoulders - cone >= outline.inner_radius_mm - LENGTH_SLACK_MM]
        tools.append(np.full(shoulders.size, drill))
        depths.append(shoulders)
        families.append(np.full(shoulders.size, number))
    if not tools or not sum(t.size for t in tools):
        return None
    tool, depth, family = (np.concatenate(parts).astype(float) for parts in (tools, depths, families))
    real = tool + shop.hole_oversize_mm
    cone = np.array([shop.cone_height_mm(float(d)) for d in real])
    sections = rim_hole_sections(
        rim_radius_mm=rim,
        diameter_mm=real,
        depth_shoulder_mm=np.maximum(depth, 0.0),
        cone_mm=cone + np.minimum(depth, 0.0),
    )
    relative = dial_angles_deg(problem, counterweight)
    mouth = np.degrees(np.arcsin(np.minimum(real / 2.0 / rim, 1.0)))
    on_rim = np.zeros((tool.size, relative.size), dtype=bool)
    for start, end in outline.rim_arcs_deg:
        if end - start >= 360.0 - 1e-9:
            on_rim[:] = True
            continue
        along = (relative - start) % 360.0
        on_rim |= (along[None, :] >= mouth[:, None]) & (along[None, :] <= (end - start) - mouth[:, None])
    tip = rim - depth - cone
    legal = on_rim & fits(problem, counterweight, sections, relative, np.maximum(tip, 1e-6))
    amount, cost = rim_hole_amounts(
        rim_radius_mm=rim,
        diameter_mm=real,
        depth_shoulder_mm=depth,
        point_angle_deg=shop.point_angle_deg,
        density_g_per_cm3=density,
    )
    return _finish(
        problem, index, counterweight, "rim hole", legal, relative, sections, np.arange(tool.size),
        amount=amount, cost=cost, family=family, tool=tool, depth=depth,
    )  # fmt: skip


def _radii_mm(problem: CorrectionProblem, counterweight: Counterweight, diameter_mm: float) -> FloatArray:
    """Return the radii at which a disc of that diameter stays off the rim and above the body [mm]."""
    shop, outline = problem.shop, counterweight.outline
    step = shop.slug_radius_step_mm
    half = diameter_mm / 2.0
    most = outline.greatest_radius_mm - half
    if outline.rim_radius_mm is not None:
        most -= shop.least_wall_mm
    first = math.ceil((outline.inner_radius_mm + half - LENGTH_SLACK_MM) / step)
    last = math.floor((most + LENGTH_SLACK_MM) / step)
    radii = step * np.arange(max(first, 1), last + 1)
    return np.asarray(np.round(radii, 9), dtype=float)


def _face_holes(
    problem: CorrectionProblem, index: int, counterweight: Counterweight, density: float, *, through: bool
) -> Block | None:
    shop, thickness = problem.shop, counterweight.thickness_mm
    rows: list[tuple[float, ...]] = []
    discs: list[tuple[float, float]] = []
    family = 0
    for drill in sorted(shop.drills_mm):
        real = drill + shop.hole_oversize_mm
        if through:
            amount1, mass = through_hole_amounts(
                diameter_mm=real, thickness_mm=thickness, density_g_per_cm3=density
            )
            for radius in _radii_mm(problem, counterweight, real):
                rows.append((amount1 * radius, 0.0, mass, family, drill, math.nan, radius, 1, 0, len(discs)))
                discs.append((radius, real))
            family += 1
            continue
        cone = shop.cone_height_mm(real)
        depths = _shoulders_mm(problem, drill)
        depths = depths[depths + cone + shop.least_wall_mm <= thickness + LENGTH_SLACK_MM]
        if not depths.size:
            continue
        amounts1, masses, inside = blind_hole_amounts(
            diameter_mm=real,
            depth_shoulder_mm=depths,
            point_angle_deg=shop.point_angle_deg,
            density_g_per_cm3=density,
        )
        for radius in _radii_mm(problem, counterweight, real):
            for rear in (0, 1):
                offsets = (thickness / 2.0 - inside) * (1.0 if rear else -1.0)
                for amount1, offset, mass, depth in zip(amounts1, offsets, masses, depths, strict=True):
                    rows.append(
                        (amount1 * radius, offset, mass, family, drill, depth, radius, 0, rear, len(discs))
                    )
            discs.append((radius, real))
        family += 1
    if not rows:
        return None
    table = np.array(rows, dtype=float).T
    radius, diameter = np.array(discs).T
    sections = disc_sections(radius_mm=radius, diameter_mm=diameter)
    relative = dial_angles_deg(problem, counterweight)
    legal = fits(problem, counterweight, sections, relative, radius)
    return _finish(
        problem, index, counterweight, "face hole", legal, relative, sections, table[9].astype(np.int64),
        amount=table[0], offset=table[1], cost=table[2], family=table[3], tool=table[4], depth=table[5],
        radius=table[6], through=table[7], rear=table[8],
    )  # fmt: skip


def _slugs(
    problem: CorrectionProblem, index: int, counterweight: Counterweight, density: float
) -> Block | None:
    """Return all slugs of one counterweight: sizes, lengths, faces and radii."""
    shop, thickness = problem.shop, counterweight.thickness_mm
    rows: list[tuple[float, ...]] = []
    discs: list[tuple[float, float]] = []
    family = 0
    for diameter in sorted(shop.slug_diameters_mm):
        radii = _radii_mm(problem, counterweight, diameter)
        first = len(discs)
        discs += [(float(radius), diameter) for radius in radii]
        for length in sorted(shop.slug_lengths_mm or (thickness,)):
            full = length >= thickness - LENGTH_SLACK_MM
            if full and length > thickness + LENGTH_SLACK_MM:
                continue  # would stand proud of the faces
            bore = length + shop.cone_height_mm(diameter)
            if not full and bore + shop.least_wall_mm > thickness + LENGTH_SLACK_MM:
                continue
            amount1, slug_mass, offset = slug_amounts(
                shop=shop,
                diameter_mm=diameter,
                length_mm=length,
                through=full,
                thickness_mm=thickness,
                density_g_per_cm3=density,
            )
            if amount1 <= 0.0:
                continue  # not denser than the metal it replaces
            cost = shop.heavy_metal_cost * slug_mass
            for rear in (0,) if full else (0, 1):
                rows += [
                    (
                        amount1 * r,
                        -offset if rear else offset,
                        cost,
                        family,
                        diameter,
                        length,
                        r,
                        full,
                        rear,
                        first + k,
                    )
                    for k, r in enumerate(radii)
                ]
                family += 1
    if not rows:
        return None
    table = np.array(rows, dtype=float).T
    radius, disc_diameter = np.array(discs).T
    sections = disc_sections(radius_mm=radius, diameter_mm=disc_diameter)
    relative = dial_angles_deg(problem, counterweight)
    legal = fits(problem, counterweight, sections, relative, radius)
    return _finish(
        problem, index, counterweight, "slug", legal, relative, sections, table[9].astype(np.int64),
        amount=table[0], offset=table[1], cost=table[2], family=table[3], tool=table[4], length=table[5],
        radius=table[6], through=table[7], rear=table[8],
    )  # fmt: skip


def _fills(problem: CorrectionProblem, index: int, counterweight: Counterweight) -> list[Block | None]:
    """Return one block per empty face hole: a slug of its diameter, as long as the hole is deep."""
    shop = problem.shop
    filled = [cut for cut in problem.fixed if cut.kind == "fill" and cut.counterweight == counterweight.name]
    blocks: list[Block | None] = []
    for hole in counterweight.existing:
        if hole.kind != "face hole" or hole.filled_density_g_per_cm3 is not None or hole.radius_mm is None:
            continue
        if any(_same_place(cut, hole.angle_deg, hole.radius_mm) for cut in filled):
            continue
        through = hole.through or hole.depth_shoulder_mm is None
        length = counterweight.thickness_mm if through else float(hole.depth_shoulder_mm or 0.0)
        if length <= 0.0:
            continue
        mass = filled_hole_mass_g(shop=shop, diameter_mm=hole.diameter_mm, length_mm=length)
        offset = 0.0
        if not through:
            offset = (counterweight.thickness_mm / 2.0 - length / 2.0) * (1 if hole.face == "rear" else -1)
        relative = np.array([difference_deg(hole.angle_deg, counterweight.angle_deg)])
        one = np.ones(1)
        blocks.append(
            _finish(
                problem,
                index,
                counterweight,
                "fill",
                np.ones((1, 1), dtype=bool),
                relative,
                disc_sections(radius_mm=one * hole.radius_mm, diameter_mm=one * hole.diameter_mm),
                np.zeros(1, dtype=np.int64),
                most_cuts=1,
                amount=one * mass * hole.radius_mm,
                offset=one * offset,
                cost=one * mass * shop.heavy_metal_cost,
                family=one * 0,
                tool=one * hole.diameter_mm,
                radius=one * hole.radius_mm,
                length=one * length,
                through=one * float(through),
                rear=one * float(hole.face == "rear"),
            )  # fmt: skip
        )
    return blocks


def _same_place(cut: Cut, angle_deg: float, radius_mm: float) -> bool:
    return (
        cut.radius_mm is not None
        and abs(cut.radius_mm - radius_mm) < 1e-3
        and abs(difference_deg(cut.angle_deg, angle_deg)) < 1e-3
    )


def only_drill(blocks: list[Block], drill_mm: float) -> list[Block]:
    """Return the blocks with all holes made by one drill; slugs and fills stay."""
    return [
        kept
        for block in blocks
        if (
            kept := block
            if block.kind in ("slug", "fill")
            else _with_settings(block, block.tool_mm == drill_mm)
        )
        is not None
    ]


def _with_settings(block: Block, keep: BoolArray) -> Block | None:
    """Return the block with some of its settings, sections and angles that serve no other left out."""
    if not keep.any():
        return None
    used = np.unique(block.section_of[keep])
    columns = np.flatnonzero(block.legal[used].any(axis=0))
    renumber = np.full(len(block.sections), -1)
    renumber[used] = np.arange(used.size)
    per_setting = {
        name: getattr(block, name)[keep]
        for name in (
            "amount_gmm",
            "offset_mm",
            "cost",
            "family",
            "tool_mm",
            "depth_mm",
            "radius_mm",
            "length_mm",
            "through",
            "rear",
        )  # fmt: skip
    }
    return replace(
        block,
        section_of=renumber[block.section_of[keep]],
        sections=block.sections.take(used),
        relative_deg=block.relative_deg[columns],
        legal=block.legal[np.ix_(used, columns)],
        **per_setting,
    )
