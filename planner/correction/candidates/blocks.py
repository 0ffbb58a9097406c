"""Lays out everything that could be cut: one builder per kind of cut."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from geometry_profiles.outline import Outline
from planner.correction.budget import Budget
from planner.correction.candidates.block import Block, Row, finished
from planner.correction.candidates.effects import (
    blind_hole_amounts,
    filled_hole_mass_g,
    formed_rim_hole_amounts,
    rim_hole_amounts,
    slug_amounts,
    through_hole_amounts,
)
from planner.correction.candidates.extent import refuse_too_many, refuse_too_many_places
from planner.correction.candidates.fitting import (
    LENGTH_SLACK_MM,
    dial_angles_deg,
    fits,
    radii_mm,
    shoulders_mm,
)
from planner.correction.candidates.obstacles import rim_hole_extent_mm, row_sections, stays_in_half
from planner.correction.candidates.rim_cuts import rim_cut_blocks
from planner.correction.candidates.sections import (
    BoolArray,
    FloatArray,
    Sections,
    disc_sections,
    join,
    rim_hole_sections,
)
from planner.correction.heavy_metal import heavy_cost
from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import Cut
from planner.cuts.deepening import PLACE_MM, can_be_deepened, can_be_enlarged
from planner.rotor.crankshaft import FILLS, RIM_CUTS, Counterweight, CutKind, ExistingHole, Face
from planner.rotor.vectors import difference_deg, wrap_deg


def build_blocks(problem: CorrectionProblem, budget: Budget | None = None) -> list[Block]:
    """Return all blocks that have at least one cut that fits, counterweight by counterweight.

    Raises
    ------
    TimeIsUpError
        If the budget's time is up before all of them are made.
    TooManyPlacesError
        If the steps are so fine, or the sizes so large, that the tables would fill the memory.
    """
    shop = problem.shop
    blocks: list[Block] = []
    for index, counterweight in enumerate(problem.counterweights):
        if counterweight.name in shop.forbid:
            continue
        if budget is not None:
            budget.check()
        kinds = set(counterweight.cuts) & set(shop.allow)
        density = problem.density_of(counterweight)
        candidates: list[Block | None] = []
        for kind in sorted(kinds - set(FILLS)):
            refuse_too_many(problem, counterweight, kind)
        if "rim hole" in kinds:
            if is_plain(counterweight, problem):
                candidates += [_rim_holes(problem, index, counterweight, density)]
            else:
                candidates += [
                    _rim_row(problem, index, counterweight, density, place)
                    for place in counterweight.rim_rows_mm
                ]
        if "face hole" in kinds:
            candidates += [
                _face_holes(problem, index, counterweight, density, through=True),
                _face_holes(problem, index, counterweight, density, through=False),
            ]
            if shop.opposite_face_holes:
                candidates += [
                    _face_holes(problem, index, counterweight, density, through=False, in_half=face)
                    for face in _FACES
                ]
        candidates += [
            _deeper(problem, index, counterweight, density, number)
            for number, hole in enumerate(counterweight.existing)
            if hole.kind in kinds and can_be_deepened(hole, shop=shop)
        ]
        if shop.enlarge_holes:
            for number, hole in enumerate(counterweight.existing):
                if hole.kind in kinds and can_be_enlarged(hole, shop=shop):
                    candidates += _larger(problem, index, counterweight, density, number)
        if "slug" in kinds:
            candidates += [_slugs(problem, index, counterweight, density)]
            if shop.opposite_face_holes and shop.slug_lengths_mm:
                candidates += [
                    _slugs(problem, index, counterweight, density, in_half=face) for face in _FACES
                ]
        for kind in RIM_CUTS:
            if kind in kinds:
                candidates += rim_cut_blocks(problem, index, counterweight, density, kind)
        for kind in FILLS:
            if kind in kinds:
                candidates += _fills(problem, index, counterweight, kind)
        blocks += [block for block in candidates if block is not None]
        refuse_too_many_places(problem, blocks)
    # The order in which a file lists its counterweights decides nothing.
    blocks.sort(key=lambda block: (block.z_mm, wrap_deg(block.centre_deg)))
    return blocks


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
        shoulders = shoulders_mm(problem, drill)
        cone = shop.cone_height_mm(real)
        shoulders = shoulders[rim - shoulders - cone >= outline.inner_radius_mm - LENGTH_SLACK_MM]
        tools.append(np.full(shoulders.size, drill))
        depths.append(shoulders)
        families.append(np.full(shoulders.size, number))
    if not tools or not sum(t.size for t in tools):
        return None
    tool, depth = np.concatenate(tools), np.concatenate(depths)
    family = np.concatenate(families)
    wide = tool + shop.hole_oversize_mm
    cones = np.array([shop.cone_height_mm(float(d)) for d in wide])
    sections = rim_hole_sections(
        rim_radius_mm=rim,
        diameter_mm=wide,
        depth_shoulder_mm=np.maximum(depth, 0.0),
        cone_mm=cones + np.minimum(depth, 0.0),
    )
    relative = dial_angles_deg(problem, counterweight)
    mouth = np.degrees(np.arcsin(np.minimum(wide / 2.0 / rim, 1.0)))
    on_rim = np.zeros((tool.size, relative.size), dtype=bool)
    for start, end in outline.rim_arcs_deg:
        if end - start >= 360.0 - 1e-9:
            on_rim[:] = True
            continue
        along = (relative - start) % 360.0
        on_rim |= (along[None, :] >= mouth[:, None]) & (along[None, :] <= (end - start) - mouth[:, None])
    tip = rim - depth - cones
    ends = np.cumsum([each.size for each in depths]).tolist()
    chains = [slice(start, end) for start, end in zip([0, *ends[:-1]], ends, strict=True) if end > start]
    legal = on_rim & fits(problem, counterweight, sections, relative, np.maximum(tip, 1e-6), chains)
    amount, cost = rim_hole_amounts(
        rim_radius_mm=rim,
        diameter_mm=wide,
        depth_shoulder_mm=depth,
        point_angle_deg=shop.point_angle_deg,
        density_g_per_cm3=density,
    )
    return finished(
        problem, index, counterweight, "rim hole", legal, relative, sections, np.arange(tool.size),
        amount=amount, cost=cost, family=family, tool=tool, depth=depth,
    )  # fmt: skip


_FACES: tuple[Face, ...] = ("front", "rear")


def _ends(in_half: Face | None) -> tuple[int, ...]:
    """Return from which ends (0 front, 1 rear) holes are drilled."""
    return (0, 1) if in_half is None else (int(in_half == "rear"),)


def _of_discs(
    problem: CorrectionProblem,
    index: int,
    counterweight: Counterweight,
    kind: CutKind,
    rows: list[FloatArray],
    discs: list[tuple[float, float]],
    in_half: Face | None,
) -> Block | None:
    """Return the block of cuts along the shaft: one row per setting (the last its disc), radius and diameter per disc."""
    if not rows:
        return None
    table = np.concatenate(rows).T
    radius, diameter = np.array(discs).T
    sections = disc_sections(radius_mm=radius, diameter_mm=diameter)
    relative = dial_angles_deg(problem, counterweight)
    legal = fits(problem, counterweight, sections, relative, radius, in_half=in_half)
    deep = {"length" if kind == "slug" else "depth": table[5]}
    return _in_half(in_half, finished(
        problem, index, counterweight, kind, legal, relative, sections, table[9].astype(np.int64),
        amount=table[0], offset=table[1], cost=table[2], family=table[3], tool=table[4],
        radius=table[6], through=table[7], rear=table[8], **deep,
    ))  # fmt: skip


def _in_half(in_half: Face | None, block: Block | None) -> Block | None:
    return block if block is None or in_half is None else replace(block, in_half=in_half)


def is_plain(counterweight: Counterweight, problem: CorrectionProblem) -> bool:
    """Return whether all rim holes are square to the middle of a plain rim with nothing to tell apart along the shaft."""
    return (
        counterweight.rim is None
        and counterweight.rim_rows_mm == (0.0,)
        and counterweight.rim_hole_tilt_deg == 0.0
        and not problem.oil_drillings
        and all(hole.from_middle_mm == hole.tilt_deg == 0.0 for hole in counterweight.existing)
        and all(cut.from_middle_mm == cut.tilt_deg == 0.0 for cut in problem.fixed)
    )


def _rim_row(
    problem: CorrectionProblem,
    index: int,
    counterweight: Counterweight,
    density: float,
    from_middle: float,
) -> Block | None:
    """Return the rim holes of one row: any form of rim, any place along the shaft, tilted or not."""
    shop, outline = problem.shop, counterweight.outline
    if outline.rim_radius_mm is None or not outline.rim_arcs_deg:
        return None
    form, tilt = counterweight.rim_form(), counterweight.rim_hole_tilt_deg
    half_thickness, wall = 0.5 * counterweight.thickness_mm, shop.least_wall_mm
    if not -half_thickness < from_middle < half_thickness:
        return None
    low, high = form.land_mm(from_middle)
    relative = dial_angles_deg(problem, counterweight)
    at = form.radius_mm(from_middle)
    parts: list[tuple[Sections, BoolArray, dict[str, FloatArray], FloatArray]] = []
    for number, drill in enumerate(sorted(shop.drills_mm)):
        real = drill + shop.hole_oversize_mm
        cone = shop.cone_height_mm(real)
        depths = shoulders_mm(problem, drill)
        reach = [
            rim_hole_extent_mm(
                diameter_mm=real,
                depth_shoulder_mm=float(depth),
                tip_mm=float(depth) + cone,
                from_middle_mm=from_middle,
                tilt_deg=tilt,
            )
            for depth in depths
        ]
        extents = np.array(reach).reshape(-1, 2)
        mouth = 0.5 * real * math.cos(math.radians(tilt))
        keeps = (
            (from_middle - mouth >= low + wall - LENGTH_SLACK_MM)
            & (from_middle + mouth <= high - wall + LENGTH_SLACK_MM)
            & (extents[:, 0] >= -half_thickness + wall - LENGTH_SLACK_MM)
            & (extents[:, 1] <= half_thickness - wall + LENGTH_SLACK_MM)
        )
        sections = row_sections(
            counterweight,
            diameter_mm=real,
            depth_shoulder_mm=depths,
            cone_mm=cone,
            from_middle_mm=from_middle,
            tilt_deg=tilt,
        )
        tip = sections.radius_mm[:, 2]
        keeps &= tip >= outline.inner_radius_mm - LENGTH_SLACK_MM
        if not keeps.any():
            continue
        depths, extents, tip = depths[keeps], extents[keeps], tip[keeps]
        sections = sections.take(np.flatnonzero(keeps))
        legal = _on_rim(outline, relative, real, at)[None, :] & _fits_row(
            problem, counterweight, sections, relative, tip, extents
        )
        amount, cost, places = formed_rim_hole_amounts(
            form=form,
            diameter_mm=real,
            depth_shoulder_mm=depths,
            point_angle_deg=shop.point_angle_deg,
            density_g_per_cm3=density,
            from_middle_mm=from_middle,
            tilt_deg=tilt,
        )
        settings = {
            "amount": amount,
            "cost": cost,
            # equal places stay what they are, without dust of the integration
            "offset": np.where(np.abs(places - from_middle) < 1e-9, from_middle, places),
            "family": np.full(depths.size, float(number)),
            "tool": np.full(depths.size, drill),
            "depth": depths,
            "from_middle": np.full(depths.size, from_middle),
        }
        parts.append((sections, legal, settings, extents))
    if not parts:
        return None
    joined = {name: np.concatenate([part[2][name] for part in parts]) for name in parts[0][2]}
    count = joined["depth"].size
    return finished(
        problem, index, counterweight, "rim hole", np.concatenate([part[1] for part in parts]), relative,
        join([part[0] for part in parts]), np.arange(count),
        1000, None, Row(np.concatenate([part[3] for part in parts]), tilt), **joined,
    )  # fmt: skip


def _fits_row(
    problem: CorrectionProblem,
    counterweight: Counterweight,
    sections: Sections,
    relative: FloatArray,
    tip: FloatArray,
    extents: FloatArray,
) -> BoolArray:
    """Return which holes of one drill and row fit where; a tilted one reaches along the shaft as far as it is deep."""
    inside = np.maximum(tip, 1e-6)
    if np.ptp(extents, axis=0).max(initial=0.0) < 1e-12:
        reach = (float(extents[0, 0]), float(extents[0, 1]))
        return fits(problem, counterweight, sections, relative, inside, [slice(0, len(sections))], reach)
    rows = [
        fits(
            problem,
            counterweight,
            sections.take(np.array([one])),
            relative,
            inside[one : one + 1],
            (),
            (float(extents[one, 0]), float(extents[one, 1])),
        )
        for one in range(len(sections))
    ]
    return np.concatenate(rows)


def _on_rim(outline: Outline, relative: FloatArray, diameter_mm: float, rim_mm: float) -> BoolArray:
    """Return at which angles the whole mouth of a hole lies on the rim."""
    mouth = math.degrees(math.asin(min(0.5 * diameter_mm / rim_mm, 1.0)))
    on_rim = np.zeros(relative.size, dtype=bool)
    for start, end in outline.rim_arcs_deg:
        if end - start >= 360.0 - 1e-9:
            return np.ones(relative.size, dtype=bool)
        along = (relative - start) % 360.0
        on_rim |= (along >= mouth) & (along <= (end - start) - mouth)
    return on_rim


def _face_holes(
    problem: CorrectionProblem,
    index: int,
    counterweight: Counterweight,
    density: float,
    *,
    through: bool,
    in_half: Face | None = None,
) -> Block | None:
    shop, thickness = problem.shop, counterweight.thickness_mm
    rows: list[FloatArray] = []
    discs: list[tuple[float, float]] = []
    family = 0
    for drill in sorted(shop.drills_mm):
        real = drill + shop.hole_oversize_mm
        if through:
            amount1, mass = through_hole_amounts(
                diameter_mm=real, thickness_mm=thickness, density_g_per_cm3=density
            )
            for radius in radii_mm(problem, counterweight, real):
                whole = (amount1 * radius, 0.0, mass, family, drill, math.nan, radius, 1, 0, len(discs))
                rows.append(np.array([whole], dtype=float))
                discs.append((radius, real))
            family += 1
            continue
        cone = shop.cone_height_mm(real)
        depths = shoulders_mm(problem, drill)
        depths = depths[depths + cone + shop.least_wall_mm <= thickness + LENGTH_SLACK_MM]
        if in_half is not None:
            depths = depths[[stays_in_half(d + cone, thickness, shop.least_wall_mm) for d in depths]]
        if not depths.size:
            continue
        amounts1, masses, inside = blind_hole_amounts(
            diameter_mm=real,
            depth_shoulder_mm=depths,
            point_angle_deg=shop.point_angle_deg,
            density_g_per_cm3=density,
        )
        for radius in radii_mm(problem, counterweight, real):
            for rear in _ends(in_half):
                offsets = (thickness / 2.0 - inside) * (1.0 if rear else -1.0)
                some = np.empty((depths.size, 10))
                some[:, 0], some[:, 1], some[:, 2], some[:, 5] = amounts1 * radius, offsets, masses, depths
                some[:, 3:5] = family, drill
                some[:, 6:] = radius, 0.0, rear, len(discs)
                rows.append(some)
            discs.append((radius, real))
        family += 1
    return _of_discs(problem, index, counterweight, "face hole", rows, discs, in_half)


def _deeper(
    problem: CorrectionProblem, index: int, counterweight: Counterweight, density: float, number: int
) -> Block | None:
    """Return the depths to which an open blind hole can be drilled on, with the drill that made it."""
    shop, hole = problem.shop, counterweight.existing[number]
    start = hole.depth_shoulder_mm
    drill = next(
        (each for each in shop.drills_mm if abs(each + shop.hole_oversize_mm - hole.diameter_mm) <= PLACE_MM),
        None,
    )
    if drill is None or start is None or any(_in_hole(cut, hole, counterweight) for cut in problem.fixed):
        return None
    depths = shoulders_mm(problem, drill)
    depths = depths[depths > max(start, 0.0) + 0.5 * shop.depth_step_mm]
    wide, cone = hole.diameter_mm, shop.cone_height_mm(hole.diameter_mm)
    outline, thickness = counterweight.outline, counterweight.thickness_mm
    around = replace(
        counterweight, existing=(*counterweight.existing[:number], *counterweight.existing[number + 1 :])
    )
    relative = np.array([difference_deg(hole.angle_deg, counterweight.angle_deg)])
    if hole.kind == "rim hole":
        rim = outline.rim_radius_mm
        if rim is None or start < 0.0:
            return None
        if hole.beside_mm:
            return None  # not symmetric about its ray: left to the user
        if hole.from_middle_mm or hole.tilt_deg or counterweight.rim is not None:
            return _deeper_in_row(problem, index, counterweight, density, hole, drill, start, depths, around)
        depths = depths[rim - depths - cone >= outline.inner_radius_mm - LENGTH_SLACK_MM]
        if not depths.size or wide > thickness - 2.0 * shop.least_wall_mm + LENGTH_SLACK_MM:
            return None
        every = np.append(depths, start)
        amounts, masses = rim_hole_amounts(
            rim_radius_mm=rim,
            diameter_mm=np.full(every.size, wide),
            depth_shoulder_mm=every,
            point_angle_deg=shop.point_angle_deg,
            density_g_per_cm3=density,
        )
        offset = np.zeros(depths.size)
        amount = amounts[:-1] - amounts[-1]
        sections = rim_hole_sections(
            rim_radius_mm=rim,
            diameter_mm=np.full(depths.size, wide),
            depth_shoulder_mm=depths,
            cone_mm=np.full(depths.size, cone),
        )
        section_of = np.arange(depths.size)
        inside = np.maximum(rim - depths - cone, 1e-6)
        radius = np.full(depths.size, math.nan)
    else:
        depths = depths[depths + cone + shop.least_wall_mm <= thickness + LENGTH_SLACK_MM]
        if not depths.size or hole.radius_mm is None:
            return None
        every = np.append(depths, start)
        amounts, masses, below = blind_hole_amounts(
            diameter_mm=wide,
            depth_shoulder_mm=every,
            point_angle_deg=shop.point_angle_deg,
            density_g_per_cm3=density,
        )
        places = (thickness / 2.0 - below) * (1.0 if hole.face == "rear" else -1.0)
        amount = (amounts[:-1] - amounts[-1]) * hole.radius_mm
        offset = (amounts[:-1] * places[:-1] - amounts[-1] * places[-1]) / (amounts[:-1] - amounts[-1])
        sections = disc_sections(radius_mm=np.array([hole.radius_mm]), diameter_mm=np.array([wide]))
        section_of = np.zeros(depths.size, dtype=np.int64)
        inside = np.array([hole.radius_mm])
        radius = np.full(depths.size, hole.radius_mm)
    legal = fits(problem, around, sections, relative, inside)
    return finished(
        problem, index, counterweight, hole.kind, legal, relative, sections, section_of,
        most_cuts=1, from_depth_mm=start, amount=amount, offset=offset, cost=masses[:-1] - masses[-1],
        family=np.zeros(depths.size), tool=np.full(depths.size, drill), depth=depths, radius=radius,
        rear=np.full(depths.size, float(hole.kind == "face hole" and hole.face == "rear")),
    )  # fmt: skip


def _larger(
    problem: CorrectionProblem, index: int, counterweight: Counterweight, density: float, number: int
) -> list[Block | None]:
    """Return what wider drills can do in an open blind hole: as deep as it is, or deeper; a block per drill."""
    shop, hole = problem.shop, counterweight.existing[number]
    start, wall, thickness = hole.depth_shoulder_mm, shop.least_wall_mm, counterweight.thickness_mm
    if hole.through:
        return _larger_through(problem, index, counterweight, density, number)
    if start is None or start < 0.0 or hole.beside_mm:
        return []
    if any(_in_hole(cut, hole, counterweight) for cut in problem.fixed):
        return []
    around = replace(
        counterweight, existing=(*counterweight.existing[:number], *counterweight.existing[number + 1 :])
    )
    relative = np.array([difference_deg(hole.angle_deg, counterweight.angle_deg)])
    rim = hole.kind == "rim hole"
    if (rim and counterweight.outline.rim_radius_mm is None) or (not rim and hole.radius_mm is None):
        return []
    blocks: list[Block | None] = []
    for drill in sorted(shop.drills_mm):
        wide = drill + shop.hole_oversize_mm
        if wide <= hole.diameter_mm + PLACE_MM:
            continue
        cone = shop.cone_height_mm(wide)
        depths = shoulders_mm(problem, drill)
        depths = depths[depths >= start - 1e-9]
        if not rim:
            depths = depths[depths + cone + wall <= thickness + LENGTH_SLACK_MM]
            least = counterweight.least_rim_radius_mm
            radius = float(hole.radius_mm or 0.0)
            if radius - 0.5 * wide < counterweight.outline.inner_radius_mm - LENGTH_SLACK_MM or (
                least is not None and radius + 0.5 * wide + wall > least + LENGTH_SLACK_MM
            ):
                continue
        if not depths.size:
            continue
        row: Row | None = None
        if rim:
            where = {"from_middle_mm": hole.from_middle_mm, "tilt_deg": hole.tilt_deg}
            sections = row_sections(
                counterweight, diameter_mm=wide, depth_shoulder_mm=depths, cone_mm=cone, **where
            )
            reach = [
                rim_hole_extent_mm(
                    diameter_mm=wide, depth_shoulder_mm=float(d), tip_mm=float(d) + cone, **where
                )
                for d in depths
            ]
            extents, tip = np.array(reach).reshape(-1, 2), sections.radius_mm[:, 2]
            low, high = counterweight.rim_form().land_mm(hole.from_middle_mm)
            mouth = 0.5 * wide * math.cos(math.radians(hole.tilt_deg))
            keeps = (
                (tip >= counterweight.outline.inner_radius_mm - LENGTH_SLACK_MM)
                & (extents[:, 0] >= -0.5 * thickness + wall - LENGTH_SLACK_MM)
                & (extents[:, 1] <= 0.5 * thickness - wall + LENGTH_SLACK_MM)
                & (hole.from_middle_mm - mouth >= low + wall - LENGTH_SLACK_MM)
                & (hole.from_middle_mm + mouth <= high - wall + LENGTH_SLACK_MM)
            )
            if not keeps.any():
                continue
            chosen = np.flatnonzero(keeps)
            depths, extents, tip, sections = (
                depths[chosen],
                extents[chosen],
                tip[chosen],
                sections.take(chosen),
            )
            form = counterweight.rim_form()
            at = form.radius_mm(hole.from_middle_mm)
            legal = _fits_row(problem, around, sections, relative, tip, extents)
            legal &= _on_rim(counterweight.outline, relative, wide, at)[None, :]
            (after, mass, place), (before, mass_before, place_before) = (
                formed_rim_hole_amounts(
                    form=form,
                    diameter_mm=each,
                    depth_shoulder_mm=deep,
                    point_angle_deg=shop.point_angle_deg,
                    density_g_per_cm3=density,
                    **where,
                )
                for each, deep in ((wide, depths), (hole.diameter_mm, np.array([start])))
            )
            section_of, row = np.arange(depths.size), Row(extents, hole.tilt_deg)
        else:
            radius = float(hole.radius_mm or 0.0)
            (per_mm, mass, below), (per_before, mass_before, below_before) = (
                blind_hole_amounts(
                    diameter_mm=each,
                    depth_shoulder_mm=deep,
                    point_angle_deg=shop.point_angle_deg,
                    density_g_per_cm3=density,
                )
                for each, deep in ((wide, depths), (hole.diameter_mm, np.array([start])))
            )
            way = 1.0 if hole.face == "rear" else -1.0
            after, before = per_mm * radius, per_before * radius
            place, place_before = (0.5 * thickness - below) * way, (0.5 * thickness - below_before) * way
            sections = disc_sections(radius_mm=np.array([radius]), diameter_mm=np.array([wide]))
            legal = fits(problem, around, sections, relative, np.array([radius]))
            section_of = np.zeros(depths.size, dtype=np.int64)
        amount = after - before[0]
        settings = {
            "amount": amount,
            "offset": (after * place - before[0] * place_before[0]) / amount,
            "cost": mass - mass_before[0],
            "family": np.zeros(depths.size),
            "tool": np.full(depths.size, drill),
            "depth": depths,
            "radius": np.full(depths.size, math.nan if rim else float(hole.radius_mm or 0.0)),
            "rear": np.full(depths.size, float(not rim and hole.face == "rear")),
            "from_middle": np.full(depths.size, hole.from_middle_mm),
        }
        block = finished(
            problem,
            index,
            counterweight,
            hole.kind,
            legal,
            relative,
            sections,
            section_of,
            1,
            start,
            row,
            **settings,
        )
        blocks.append(None if block is None else replace(block, from_diameter_mm=hole.diameter_mm))
    return blocks


def _larger_through(
    problem: CorrectionProblem, index: int, counterweight: Counterweight, density: float, number: int
) -> list[Block | None]:
    """Return what wider drills can do in an open through face hole; a block per drill, a single cut each."""
    shop, hole = problem.shop, counterweight.existing[number]
    if hole.radius_mm is None or any(_in_hole(cut, hole, counterweight) for cut in problem.fixed):
        return []
    radius, wall, thickness = hole.radius_mm, shop.least_wall_mm, counterweight.thickness_mm
    around = replace(
        counterweight, existing=(*counterweight.existing[:number], *counterweight.existing[number + 1 :])
    )
    relative = np.array([difference_deg(hole.angle_deg, counterweight.angle_deg)])
    least = counterweight.least_rim_radius_mm
    before, mass_before = through_hole_amounts(
        diameter_mm=hole.diameter_mm, thickness_mm=thickness, density_g_per_cm3=density
    )
    blocks: list[Block | None] = []
    for drill in sorted(shop.drills_mm):
        wide = drill + shop.hole_oversize_mm
        if wide <= hole.diameter_mm + PLACE_MM:
            continue
        if radius - 0.5 * wide < counterweight.outline.inner_radius_mm - LENGTH_SLACK_MM or (
            least is not None and radius + 0.5 * wide + wall > least + LENGTH_SLACK_MM
        ):
            continue
        per_mm, mass = through_hole_amounts(
            diameter_mm=wide, thickness_mm=thickness, density_g_per_cm3=density
        )
        one = np.ones(1)
        sections = disc_sections(radius_mm=one * radius, diameter_mm=one * wide)
        block = finished(
            problem,
            index,
            counterweight,
            "face hole",
            fits(problem, around, sections, relative, one * radius),
            relative,
            sections,
            np.zeros(1, dtype=np.int64),
            1,
            amount=one * (per_mm - before) * radius,
            cost=one * (mass - mass_before),
            family=one * 0,
            tool=one * drill,
            radius=one * radius,
            through=one,
        )
        blocks.append(None if block is None else replace(block, from_diameter_mm=hole.diameter_mm))
    return blocks


def _deeper_in_row(
    problem: CorrectionProblem,
    index: int,
    counterweight: Counterweight,
    density: float,
    hole: ExistingHole,
    drill: float,
    start: float,
    depths: FloatArray,
    around: Counterweight,
) -> Block | None:
    """Return the depths to which a hole in a formed rim or beside the middle can be drilled on."""
    shop, wall, half = problem.shop, problem.shop.least_wall_mm, 0.5 * counterweight.thickness_mm
    cone = shop.cone_height_mm(hole.diameter_mm)
    where = {"from_middle_mm": hole.from_middle_mm, "tilt_deg": hole.tilt_deg}
    sections = row_sections(
        counterweight, diameter_mm=hole.diameter_mm, depth_shoulder_mm=depths, cone_mm=cone, **where
    )
    extents = np.array([
        rim_hole_extent_mm(
            diameter_mm=hole.diameter_mm, depth_shoulder_mm=float(depth), tip_mm=float(depth) + cone, **where
        )
        for depth in depths
    ]).reshape(-1, 2)  # fmt: skip
    tip = sections.radius_mm[:, 2]
    keeps = (
        (tip >= counterweight.outline.inner_radius_mm - LENGTH_SLACK_MM)
        & (extents[:, 0] >= -half + wall - LENGTH_SLACK_MM)
        & (extents[:, 1] <= half - wall + LENGTH_SLACK_MM)
    )
    if not keeps.any():
        return None
    depths, extents, tip = depths[keeps], extents[keeps], tip[keeps]
    sections = sections.take(np.flatnonzero(keeps))
    amounts, masses, places = formed_rim_hole_amounts(
        form=counterweight.rim_form(),
        diameter_mm=hole.diameter_mm,
        depth_shoulder_mm=np.append(depths, start),
        point_angle_deg=shop.point_angle_deg,
        density_g_per_cm3=density,
        **where,
    )
    amount = amounts[:-1] - amounts[-1]
    relative = np.array([difference_deg(hole.angle_deg, counterweight.angle_deg)])
    legal = _fits_row(problem, around, sections, relative, tip, extents)
    return finished(
        problem, index, counterweight, "rim hole", legal, relative, sections, np.arange(depths.size),
        most_cuts=1, from_depth_mm=start, row=Row(extents, hole.tilt_deg), amount=amount,
        offset=(amounts[:-1] * places[:-1] - amounts[-1] * places[-1]) / amount, cost=masses[:-1] - masses[-1],
        family=np.zeros(depths.size), tool=np.full(depths.size, drill), depth=depths,
        from_middle=np.full(depths.size, hole.from_middle_mm),
    )  # fmt: skip


def _in_hole(cut: Cut, hole: ExistingHole, counterweight: Counterweight) -> bool:
    """Whether a pinned cut deepens or fills a hole already."""
    return (
        cut.counterweight == counterweight.name
        and (cut.deepens or cut.kind in FILLS)
        and abs(difference_deg(cut.angle_deg, hole.angle_deg)) < 1e-3
        and abs((cut.radius_mm or 0.0) - (hole.radius_mm or 0.0)) < 1e-3
    )


def _slugs(
    problem: CorrectionProblem,
    index: int,
    counterweight: Counterweight,
    density: float,
    *,
    in_half: Face | None = None,
) -> Block | None:
    """Return all slugs of one counterweight: sizes, lengths, faces and radii."""
    shop, thickness = problem.shop, counterweight.thickness_mm
    rows: list[FloatArray] = []
    discs: list[tuple[float, float]] = []
    family = 0
    for diameter in sorted(shop.slug_diameters_mm):
        radii = radii_mm(problem, counterweight, diameter)
        first = len(discs)
        discs += [(float(radius), diameter) for radius in radii]
        for length in sorted(shop.stacks_mm() or (thickness,)):
            full = length >= thickness - LENGTH_SLACK_MM
            if full and length > thickness + LENGTH_SLACK_MM:
                continue  # would stand proud of the faces
            bore = length + shop.cone_height_mm(diameter)
            if not full and bore + shop.least_wall_mm > thickness + LENGTH_SLACK_MM:
                continue
            if in_half is not None and (full or not stays_in_half(bore, thickness, shop.least_wall_mm)):
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
            cost = heavy_cost(problem, diameter_mm=diameter, mass_g=slug_mass)
            for rear in (0,) if full else _ends(in_half):
                some = np.empty((len(radii), 10))
                some[:, 0], some[:, 6] = amount1 * np.asarray(radii), radii
                some[:, 1:6] = -offset if rear else offset, cost, family, diameter, length
                some[:, 7:9] = full, rear
                some[:, 9] = first + np.arange(len(radii))
                rows.append(some)
                family += 1
    return _of_discs(problem, index, counterweight, "slug", rows, discs, in_half)


def _fills(
    problem: CorrectionProblem, index: int, counterweight: Counterweight, kind: CutKind
) -> list[Block | None]:
    """Return one block per empty face hole: a slug or steel plug of its diameter, as long as the hole is deep."""
    shop = problem.shop
    filled = [cut for cut in problem.fixed if cut.kind in FILLS and cut.counterweight == counterweight.name]
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
        plug = kind == "plug"
        mass = filled_hole_mass_g(
            density_g_per_cm3=shop.plug_density_g_per_cm3 if plug else shop.slug_density_g_per_cm3,
            diameter_mm=hole.diameter_mm,
            length_mm=length,
        )
        offset = 0.0
        if not through:
            offset = (counterweight.thickness_mm / 2.0 - length / 2.0) * (1 if hole.face == "rear" else -1)
        relative = np.array([difference_deg(hole.angle_deg, counterweight.angle_deg)])
        one = np.ones(1)
        blocks.append(
            finished(
                problem,
                index,
                counterweight,
                kind,
                np.ones((1, 1), dtype=bool),
                relative,
                disc_sections(radius_mm=one * hole.radius_mm, diameter_mm=one * hole.diameter_mm),
                np.zeros(1, dtype=np.int64),
                most_cuts=1,
                amount=one * mass * hole.radius_mm,
                offset=one * offset,
                cost=one * (mass if plug else heavy_cost(problem, diameter_mm=hole.diameter_mm, mass_g=mass)),
                family=one * 0,
                tool=one * hole.diameter_mm,
                radius=one * hole.radius_mm,
                length=one * length,
                through=one * float(through),
                rear=one * float(hole.face == "rear"),
            )
        )
    return blocks


def _same_place(cut: Cut, angle_deg: float, radius_mm: float) -> bool:
    return (
        cut.radius_mm is not None
        and abs(cut.radius_mm - radius_mm) < 1e-3
        and abs(difference_deg(cut.angle_deg, angle_deg)) < 1e-3
    )
