"""Which of the shop's rules a single cut breaks: kinds, tools, grids, limits, lengths.  For verification only.

Walls, those to both faces included, are not here (see `verify_walls`).  Every rule is written out again from its
wording and shares no code with the search.  Texts are whole sentences without the cut's name and full stop.
"""

from __future__ import annotations

import math

from planner.correction.problem import CorrectionProblem
from planner.correction.verify.integrals import cone_mm
from planner.cuts.cut import Cut, Shop
from planner.rotor.crankshaft import FILLS, Counterweight, ExistingHole

TOLERANCE_DEG = 1e-6
TOLERANCE_MM = 1e-6
DEEPENING_TOLERANCE = 1e-4
"""How well a deepening must meet its hole [mm, deg]: files keep angles to a millionth of a degree."""


def impossible(cut: Cut, counterweight: Counterweight) -> tuple[str, ...]:
    """Return what is missing, not a number or can't be at all in a cut, so that it can't be weighed."""
    if cut.on_rim:
        return _impossible_on_rim(cut, counterweight)
    needed: dict[str, float | None] = {"angle": cut.angle_deg, "diameter": cut.diameter_mm}
    if cut.kind != "rim hole":
        needed["radius"] = cut.radius_mm
    if cut.kind == "rim hole" or (cut.kind == "face hole" and not cut.through):
        needed["depth"] = cut.depth_shoulder_mm
    if cut.kind in FILLS or (cut.kind == "slug" and not cut.through):
        needed["length"] = cut.length_mm
    found = []
    for name, value in needed.items():
        if value is None or not math.isfinite(value):
            found.append(f"its {name} is not given as a number")
        elif name != "angle" and name != "depth" and value <= 0.0:
            found.append(f"its {name} is {value:g} mm, more than 0 is allowed")
    start, end = cut.from_depth_mm, cut.depth_shoulder_mm
    if cut.from_diameter_mm is not None and start is None and not found:
        if cut.kind != "face hole" or not cut.through:
            found.append("how deep the hole was that is enlarged is not given")
        elif not 0.0 < cut.from_diameter_mm < cut.diameter_mm + 1.0:
            found.append(f"it is to enlarge a hole of {cut.from_diameter_mm:g} mm and does not hold it")
    if start is not None and not found:
        if cut.kind not in ("rim hole", "face hole") or cut.through or end is None:
            found.append("only a rim hole or a blind face hole can be drilled deeper")
        elif cut.from_diameter_mm is not None:
            if not (0.0 < cut.from_diameter_mm < cut.diameter_mm + 1.0) or start > end + TOLERANCE_MM:
                found.append(
                    f"it is to enlarge a hole of {cut.from_diameter_mm:g} mm, {start:g} mm deep, and does not hold it"
                )
        elif not math.isfinite(start) or start >= end:
            found.append(f"it is to go from {start:g} to {end:g} mm, which is no deeper")
    if cut.kind == "rim hole" and not found:
        rim = counterweight.outline.rim_radius_mm
        if rim is None:
            found.append(f"counterweight {counterweight.name} has no rim to drill from")
        elif cut.diameter_mm >= rim:
            found.append(
                f"its diameter {cut.diameter_mm:g} mm is out of proportion to a rim radius of {rim:g} mm"
            )
    return tuple(found)


def _impossible_on_rim(cut: Cut, counterweight: Counterweight) -> tuple[str, ...]:
    rim = counterweight.outline.rim_radius_mm
    if rim is None:
        return (f"counterweight {counterweight.name} has no rim",)
    needed: dict[str, tuple[float | None, float]] = {"depth": (cut.depth_shoulder_mm, rim)}
    if cut.kind != "flat":
        needed["sector"] = (cut.sector_deg, 180.0)
    if cut.kind == "bevel":
        needed["slope"] = (cut.slope_deg, 90.0)
    found = []
    for name, (value, below) in needed.items():
        if value is None or not math.isfinite(value):
            found.append(f"its {name} is not given as a number")
        elif not 0.0 < value < below:
            found.append(f"its {name} is {value:g}, more than 0 and less than {below:g} is allowed")
    if not math.isfinite(cut.angle_deg):
        found.append("its angle is not given as a number")
    if cut.kind == "bevel" and not found:
        if counterweight.rim is not None:
            found.append(
                f"the rim of {counterweight.name} has a form already: what a bevel takes off is not worked out"
            )
        elif _number(cut.depth_shoulder_mm) > counterweight.thickness_mm * math.tan(
            math.radians(_number(cut.slope_deg))
        ):
            found.append(f"it is wider than counterweight {counterweight.name} is thick")
    return tuple(found)


def _number(value: float | None) -> float:
    assert value is not None
    return value


def filled_hole(cut: Cut, counterweight: Counterweight) -> ExistingHole | None:
    """Return the open face hole that a `fill` fills, or None if there is none at its place."""
    for hole in counterweight.existing:
        if hole.kind != "face hole" or hole.filled_density_g_per_cm3 is not None or hole.radius_mm is None:
            continue
        apart_deg = abs((hole.angle_deg - cut.angle_deg + 180.0) % 360.0 - 180.0)
        if (
            apart_deg <= TOLERANCE_DEG
            and cut.radius_mm is not None
            and abs(hole.radius_mm - cut.radius_mm) <= TOLERANCE_MM
            and abs(hole.diameter_mm - cut.diameter_mm) <= TOLERANCE_MM
        ):
            return hole
    return None


def deepened_holes(cut: Cut, counterweight: Counterweight, *, shop: Shop) -> tuple[int, ...]:
    """Return which open blind holes stand exactly where a deepening begins, by index; not one means that none is there."""
    if cut.from_depth_mm is None and cut.from_diameter_mm is None:
        return ()
    wide = cut.diameter_mm + shop.hole_oversize_mm
    if cut.from_diameter_mm is not None:
        if wide <= cut.from_diameter_mm:
            return ()  # no wider than it is
        wide = cut.from_diameter_mm
    found = []
    if cut.through:
        return _drilled_out_through(cut, counterweight, wide)
    if cut.from_depth_mm is None:
        return ()
    for index, hole in enumerate(counterweight.existing):
        if hole.kind != cut.kind or hole.through or hole.depth_shoulder_mm is None:
            continue
        if hole.filled_density_g_per_cm3 is not None or hole.point_angle_deg != shop.point_angle_deg:
            continue
        turned = (hole.angle_deg - cut.angle_deg) % 360.0
        sizes = [(hole.diameter_mm, wide), (hole.depth_shoulder_mm, cut.from_depth_mm)]
        if cut.kind == "rim hole":
            sizes += [(hole.from_middle_mm, cut.from_middle_mm), (hole.beside_mm, cut.beside_mm)]
            sizes.append((hole.tilt_deg, cut.tilt_deg))
        if cut.kind == "face hole":
            if hole.face != cut.face or hole.radius_mm is None or cut.radius_mm is None:
                continue
            sizes.append((hole.radius_mm, cut.radius_mm))
        if min(turned, 360.0 - turned) <= DEEPENING_TOLERANCE and all(
            abs(one - other) <= DEEPENING_TOLERANCE for one, other in sizes
        ):
            found.append(index)
    return tuple(found)


def _drilled_out_through(cut: Cut, counterweight: Counterweight, wide_before: float) -> tuple[int, ...]:
    """Return which open through holes stand exactly where a wider one is to go through."""
    found = []
    for index, hole in enumerate(counterweight.existing):
        if hole.kind != "face hole" or not hole.through or hole.filled_density_g_per_cm3 is not None:
            continue
        if hole.radius_mm is None or cut.radius_mm is None:
            continue
        turned = (hole.angle_deg - cut.angle_deg) % 360.0
        if (
            min(turned, 360.0 - turned) <= DEEPENING_TOLERANCE
            and abs(hole.radius_mm - cut.radius_mm) <= DEEPENING_TOLERANCE
            and abs(hole.diameter_mm - wide_before) <= DEEPENING_TOLERANCE
        ):
            found.append(index)
    return tuple(found)


def deepening_faults(cut: Cut, counterweight: Counterweight, *, shop: Shop) -> tuple[str, ...]:
    """Return what is wrong with the hole that a deepening is to deepen."""
    if cut.from_depth_mm is None and cut.from_diameter_mm is None:
        return ()
    if deepened_holes(cut, counterweight, shop=shop):
        return ()
    if cut.from_depth_mm is None:
        return (f"there is no open through hole of {cut.from_diameter_mm:g} mm at its place to drill out",)
    return (
        f"there is no open hole of {cut.diameter_mm:g} mm, {cut.from_depth_mm:g} mm deep, at its place to deepen",
    )


def row_faults(cut: Cut, counterweight: Counterweight) -> tuple[str, ...]:
    """Return what is wrong with where along the shaft, how far beside the radius and how tilted a new rim hole is."""
    if cut.kind != "rim hole" or cut.from_depth_mm is not None:
        return ()
    faults = []
    if not _one_of(cut.from_middle_mm, counterweight.rim_rows_mm):
        rows = ", ".join(f"{place:g}" for place in counterweight.rim_rows_mm)
        faults.append(
            f"it is drilled {cut.from_middle_mm:g} mm from the middle; the rows of {counterweight.name} are at {rows} mm"
        )
    if abs(cut.tilt_deg - counterweight.rim_hole_tilt_deg) > TOLERANCE_DEG:
        faults.append(
            f"it is tilted by {cut.tilt_deg:g} degrees; rim holes of {counterweight.name} are by "
            f"{counterweight.rim_hole_tilt_deg:g}"
        )
    if cut.beside_mm != 0.0:
        faults.append(
            f"its axis passes {cut.beside_mm:g} mm beside the shaft axis; planned holes go toward it"
        )
    return tuple(faults)


def choice_faults(cut: Cut, counterweight: Counterweight, *, shop: Shop) -> tuple[str, ...]:
    """Return what is wrong with where the cut is, its kind and its tool."""
    faults = []
    if counterweight.name in shop.forbid:
        faults.append(f"counterweight {counterweight.name} is to be left alone")
    if cut.kind not in shop.allow:
        faults.append(f"the shop does not allow a {cut.kind}")
    if cut.kind not in counterweight.cuts:
        faults.append(f"counterweight {counterweight.name} does not allow a {cut.kind}")
    if cut.kind in ("rim hole", "face hole"):
        if not _one_of(cut.diameter_mm, shop.drills_mm):
            faults.append(f"there is no {cut.diameter_mm:g} mm drill")
    elif cut.kind == "slug" and not _one_of(cut.diameter_mm, shop.slug_diameters_mm):
        faults.append(f"there is no {cut.diameter_mm:g} mm slug")
    elif cut.kind in ("rim turning", "bevel"):
        if not _one_of(_number(cut.sector_deg), shop.rim_cut_sectors_deg):
            faults.append(f"a sector of {cut.sector_deg:g} degrees is none of the shop's")
        if cut.kind == "bevel" and abs(_number(cut.slope_deg) - shop.bevel_slope_deg) > TOLERANCE_DEG:
            faults.append(f"its slope is {cut.slope_deg:g} degrees, the shop's is {shop.bevel_slope_deg:g}")
    return tuple(faults)


def grid_faults(cut: Cut, *, problem: CorrectionProblem) -> tuple[str, ...]:
    """Return which grids the cut's angle, depth and radius are not on, and the depth limits that it breaks."""
    if cut.kind in FILLS:
        return ()  # the hole is where it is
    shop = problem.shop
    if cut.from_diameter_mm is not None and cut.through:
        return ()  # the hole is where it is
    if cut.from_depth_mm is not None:
        # the hole is where it is; only its new depth is chosen
        return tuple(_depth_faults(cut.depth_shoulder_mm or 0.0, cut.diameter_mm, shop))
    faults = []
    # a step that does not divide the turn has another grid after each turn: any of them will do
    if not any(
        _on_grid(
            cut.angle_deg + turn,
            origin=problem.angle_phase_deg,
            step=shop.angle_step_deg,
            within=TOLERANCE_DEG,
        )
        for turn in (0.0, 360.0, -360.0)
    ):
        faults.append(
            f"its angle {cut.angle_deg:g} is not on the dial's grid of {shop.angle_step_deg:g} degrees"
        )
    if cut.radius_mm is not None and not _on_grid(
        cut.radius_mm, origin=0.0, step=shop.slug_radius_step_mm, within=TOLERANCE_MM
    ):
        faults.append(
            f"its radius {cut.radius_mm:g} mm is not a whole multiple of {shop.slug_radius_step_mm:g} mm"
        )
    if cut.on_rim:
        off = _number(cut.depth_shoulder_mm)
        if off > shop.greatest_rim_cut_mm + TOLERANCE_MM:
            faults.append(f"its depth {off:g} mm is more than {shop.greatest_rim_cut_mm:g} mm")
        if not _on_grid(off, origin=0.0, step=shop.rim_cut_step_mm, within=TOLERANCE_MM):
            faults.append(f"its depth {off:g} mm is not a whole multiple of {shop.rim_cut_step_mm:g} mm")
    elif cut.depth_shoulder_mm is not None and not cut.through and cut.kind != "slug":
        faults += _depth_faults(cut.depth_shoulder_mm, cut.diameter_mm, shop)
    return tuple(faults)


def length_faults(cut: Cut, counterweight: Counterweight, *, shop: Shop) -> tuple[str, ...]:
    """Return what is wrong with the length of a slug or fill, or with the hole that is to be filled."""
    thickness = counterweight.thickness_mm
    if cut.kind == "slug":
        length = thickness if cut.length_mm is None else cut.length_mm
        return tuple(_slug_length_faults(cut, length, thickness, shop))
    if cut.kind not in FILLS or cut.length_mm is None:
        return ()
    length = cut.length_mm
    hole = filled_hole(cut, counterweight)
    if hole is None:
        return ("there is no open face hole at its place to fill",)
    faults = []
    through = hole.through or hole.depth_shoulder_mm is None
    room = thickness if through else hole.depth_shoulder_mm
    assert room is not None
    if length > room + TOLERANCE_MM:
        faults.append(f"its length {length:g} mm is more than the hole's {room:g} mm")
    if not through and cut.face != hole.face:
        faults.append(f"the hole is open to the {hole.face}, not to the {cut.face}")
    return tuple(faults)


def _slug_length_faults(cut: Cut, length: float, thickness: float, shop: Shop) -> list[str]:
    """Slugs fill the full thickness, unless the shop lists lengths: then only those."""
    faults = []
    full = abs(length - thickness) <= TOLERANCE_MM
    if cut.through and not full:
        faults.append(f"its length {length:g} mm does not fill the thickness of {thickness:g} mm")
    elif length > thickness + TOLERANCE_MM:
        faults.append(f"its length {length:g} mm is more than the thickness of {thickness:g} mm")
    if shop.slug_lengths_mm:
        if not _stacked(length, shop):
            faults.append(f"there is no slug {length:g} mm long")
    elif not cut.through:
        faults.append(f"its length {length:g} mm is not in stock: only the full thickness is filled")
    return faults


def _stacked(length_mm: float, shop: Shop) -> bool:
    """Whether up to so many slugs of stock lengths are together as long."""
    reached = {0.0}
    for _ in range(max(1, shop.slug_stack)):
        reached = {start + piece for start in reached for piece in shop.slug_lengths_mm}
        if any(abs(length_mm - each) <= TOLERANCE_MM for each in reached):
            return True
    return False


def _depth_faults(depth_shoulder_mm: float, diameter_mm: float, shop: Shop) -> list[str]:
    stop = depth_shoulder_mm
    if shop.depth_to == "tip":
        stop += cone_mm(diameter_mm=diameter_mm, point_angle_deg=shop.point_angle_deg)
    faults = []
    called = f"its depth {stop:g} mm to the {shop.depth_to}"
    if stop < shop.least_depth_mm - TOLERANCE_MM:
        faults.append(f"{called} is less than {shop.least_depth_mm:g} mm")
    if stop > shop.greatest_depth_mm + TOLERANCE_MM:
        faults.append(f"{called} is more than {shop.greatest_depth_mm:g} mm")
    if not _on_grid(stop, origin=shop.least_depth_mm, step=shop.depth_step_mm, within=TOLERANCE_MM):
        faults.append(f"{called} is not on the grid {shop.least_depth_mm:g} + n x {shop.depth_step_mm:g} mm")
    return faults


def _one_of(value: float, allowed: tuple[float, ...]) -> bool:
    return any(abs(value - one) <= TOLERANCE_MM for one in allowed)


def _on_grid(value: float, *, origin: float, step: float, within: float) -> bool:
    off = (value - origin) % step
    return min(off, step - off) <= within
