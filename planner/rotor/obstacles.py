"""What stands in a new hole's way in one counterweight: old holes, keep-outs, oil drillings.

Turns the crankshaft's records, whose angles are in the crankshaft's frame, into obstacles in the outline's own
frame (+x is the counterweight's centre line).  An old hole is full in two dimensions whatever its depth along the
shaft; so is an oil drilling, over the part of it that runs through the counterweight.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from geometry_profiles.obstacles import (
    drilling_obstacle,
    face_hole_obstacle,
    rim_hole_obstacle,
    ring_sector_obstacles,
)
from geometry_profiles.outline import Obstacle
from planner.errors import InputError
from planner.records import dataclass
from planner.rotor.crankshaft import Counterweight, ExistingHole, OilDrilling, cone_height_mm

KEEP_OUT_BULGE_MM = 1e-4
"""The pieces that cover a keep-out reach past its arcs by no more than this [mm]."""


def obstacles_of(
    counterweight: Counterweight,
    *,
    oil_drillings: Sequence[OilDrilling] = (),
    extent_mm: tuple[float, float] | None = None,
) -> tuple[Obstacle, ...]:
    """Return everything that new holes in a counterweight keep away from.

    Parameters
    ----------
    counterweight : Counterweight
        With its existing holes and keep-outs.
    oil_drillings : sequence of OilDrilling
        All of the crankshaft's; those that pass this counterweight by are left out.
    extent_mm : tuple of (from, to), optional
        Only drillings that run here along the shaft, from the counterweight's middle plane, are in the way (a cut's own
        reach) [mm]; the whole thickness when left out.

    Returns
    -------
    tuple of Obstacle
        In the outline's own frame [mm]; one keep-out may give several pieces of the same name.  Oil drillings
        carry their own clearance, the others are kept away from by the shop's least wall.

    Raises
    ------
    InputError
        If an old face hole has no radius.
    """
    centre = counterweight.angle_deg
    obstacles = [_existing(hole, counterweight) for hole in counterweight.existing]
    for keep_out in counterweight.keep_outs:
        first, last = keep_out.from_angle_deg, keep_out.to_angle_deg
        sweep = (last - first) % 360.0
        obstacles += ring_sector_obstacles(
            from_angle_deg=first - centre,
            to_angle_deg=first - centre + (sweep if sweep else 360.0),
            from_radius_mm=keep_out.from_radius_mm,
            to_radius_mm=keep_out.to_radius_mm,
            what=f"keep-out from {first:g} to {last:g} degrees",
            chord_tolerance_mm=KEEP_OUT_BULGE_MM,
        )
    obstacles += [
        face_hole_obstacle(
            radius_mm=each.radius_mm,
            angle_deg=each.angle_deg - centre,
            diameter_mm=each.diameter_mm,
            what=each.what,
        )
        for each in counterweight.round_keep_outs
    ]
    half = 0.5 * counterweight.thickness_mm
    low, high = (-half, half) if extent_mm is None else extent_mm
    for drilling in oil_drillings:
        passage = drilling_obstacle(
            from_z_mm=drilling.from_z_mm,
            from_radius_mm=drilling.from_radius_mm,
            from_angle_deg=drilling.from_angle_deg - centre,
            to_z_mm=drilling.to_z_mm,
            to_radius_mm=drilling.to_radius_mm,
            to_angle_deg=drilling.to_angle_deg - centre,
            diameter_mm=drilling.diameter_mm,
            plate_from_z_mm=counterweight.z_mm + low,
            plate_to_z_mm=counterweight.z_mm + high,
            what="oil drilling",
            clearance_mm=drilling.clearance_mm,
        )
        if passage is not None:
            obstacles.append(passage)
    return tuple(obstacles)


def _existing(hole: ExistingHole, counterweight: Counterweight) -> Obstacle:
    outline = counterweight.outline
    own = hole.angle_deg - counterweight.angle_deg
    if hole.kind == "face hole":
        if hole.radius_mm is None:
            raise InputError(
                f"an old face hole in counterweight `{counterweight.name}` has no radius",
                hint="give its `radius`, from the shaft axis to the middle of the hole",
            )
        return face_hole_obstacle(
            radius_mm=hole.radius_mm,
            angle_deg=own,
            diameter_mm=hole.diameter_mm,
            what=f"old face hole at {hole.angle_deg:g} degrees, radius {hole.radius_mm:g} mm",
        )
    rim = outline.greatest_radius_mm
    depth, point_angle = hole.depth_shoulder_mm, hole.point_angle_deg
    if depth is None:  # drilled right through, down to where the crankshaft's body begins
        depth, point_angle = rim - outline.inner_radius_mm, 180.0
    cone = cone_height_mm(diameter_mm=hole.diameter_mm, point_angle_deg=point_angle)
    shadow = rim_hole_shadow(
        counterweight,
        diameter_mm=hole.diameter_mm,
        depth_shoulder_mm=depth,
        cone_height_mm=cone,
        from_middle_mm=hole.from_middle_mm,
        beside_mm=hole.beside_mm,
        tilt_deg=hole.tilt_deg,
    )
    return rim_hole_obstacle(
        rim_radius_mm=shadow.outer_mm,
        angle_deg=own,
        diameter_mm=hole.diameter_mm,
        depth_shoulder_mm=max(shadow.outer_mm - shadow.shoulder_mm, 0.0),
        cone_height_mm=max(shadow.shoulder_mm - shadow.tip_mm, 0.0),
        what=f"old rim hole at {hole.angle_deg:g} degrees",
        beside_mm=hole.beside_mm,
        extent_mm=shadow.extent_mm,
    )


@dataclass(frozen=True, kw_only=True)
class RimHoleShadow:
    """A rim hole seen along the shaft [mm]: radii at which its section begins, its shoulder, its tip; its reach there.

    A tilted hole's shoulder is where the lowest point of its full diameter lies.
    """

    outer_mm: float
    at_rim_mm: float
    shoulder_mm: float
    tip_mm: float
    extent_mm: tuple[float, float]


def rim_hole_shadow(
    counterweight: Counterweight,
    *,
    diameter_mm: float,
    depth_shoulder_mm: float,
    cone_height_mm: float,
    from_middle_mm: float = 0.0,
    beside_mm: float = 0.0,
    tilt_deg: float = 0.0,
) -> RimHoleShadow:
    """Return how a rim hole looks along the shaft, in a rim of any form.

    Parameters
    ----------
    counterweight : Counterweight
        Gives the rim.
    diameter_mm, depth_shoulder_mm, cone_height_mm : float
        Diameter, depth along the drill and height of the point [mm].
    from_middle_mm, beside_mm, tilt_deg : float
        Where it is drilled (see `planner.cuts.cut.Cut`) [mm, mm, deg].
    """
    outer = at_rim = counterweight.outline.greatest_radius_mm
    half = 0.5 * diameter_mm
    if counterweight.rim is not None:
        faces = counterweight.rim.breaks_mm[0], counterweight.rim.breaks_mm[-1]
        place = min(max(from_middle_mm, faces[0]), faces[1])
        at_rim = counterweight.rim.radius_mm(place)
        outer = counterweight.rim.most_radius_mm(max(faces[0], place - half), min(faces[1], place + half))
    sin, cos = math.sin(math.radians(abs(tilt_deg))), math.cos(math.radians(tilt_deg))
    enters = math.sqrt(max(at_rim**2 - beside_mm**2, 0.0))
    tip = enters - (depth_shoulder_mm + cone_height_mm) * cos
    shoulder = max(enters - max(depth_shoulder_mm, 0.0) * cos - half * sin, tip)
    way = math.copysign(sin, tilt_deg)
    deep = max(depth_shoulder_mm, 0.0)
    ends = [from_middle_mm + t * way + side * half * cos for t in (0.0, deep) for side in (-1.0, 1.0)]
    ends.append(from_middle_mm + (depth_shoulder_mm + cone_height_mm) * way)
    return RimHoleShadow(
        outer_mm=outer,
        at_rim_mm=at_rim,
        shoulder_mm=shoulder,
        tip_mm=tip,
        extent_mm=(min(ends), max(ends)),
    )
