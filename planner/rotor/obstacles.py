"""What stands in a new hole's way in one counterweight: old holes, keep-outs, oil drillings.

Turns the crankshaft's records, whose angles are in the crankshaft's frame, into obstacles in the outline's own
frame (+x is the counterweight's centre line).  An old hole is full in two dimensions whatever its depth along the
shaft; so is an oil drilling, over the part of it that runs through the counterweight.
"""

from __future__ import annotations

from collections.abc import Sequence

from geometry_profiles.obstacles import (
    drilling_obstacle,
    face_hole_obstacle,
    rim_hole_obstacle,
    ring_sector_obstacles,
)
from geometry_profiles.outline import Obstacle
from planner.errors import InputError
from planner.rotor.crankshaft import Counterweight, ExistingHole, OilDrilling, cone_height_mm

KEEP_OUT_BULGE_MM = 1e-4
"""The pieces that cover a keep-out reach past its arcs by no more than this [mm]."""


def obstacles_of(
    counterweight: Counterweight, *, oil_drillings: Sequence[OilDrilling] = ()
) -> tuple[Obstacle, ...]:
    """Return everything that new holes in a counterweight keep away from.

    Parameters
    ----------
    counterweight : Counterweight
        With its existing holes and keep-outs.
    oil_drillings : sequence of OilDrilling
        All of the crankshaft's; those that pass this counterweight by are left out.

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
    half = 0.5 * counterweight.thickness_mm
    for drilling in oil_drillings:
        passage = drilling_obstacle(
            from_z_mm=drilling.from_z_mm,
            from_radius_mm=drilling.from_radius_mm,
            from_angle_deg=drilling.from_angle_deg - centre,
            to_z_mm=drilling.to_z_mm,
            to_radius_mm=drilling.to_radius_mm,
            to_angle_deg=drilling.to_angle_deg - centre,
            diameter_mm=drilling.diameter_mm,
            plate_from_z_mm=counterweight.z_mm - half,
            plate_to_z_mm=counterweight.z_mm + half,
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
    return rim_hole_obstacle(
        rim_radius_mm=rim,
        angle_deg=own,
        diameter_mm=hole.diameter_mm,
        depth_shoulder_mm=max(depth, 0.0),
        cone_height_mm=cone_height_mm(diameter_mm=hole.diameter_mm, point_angle_deg=point_angle),
        what=f"old rim hole at {hole.angle_deg:g} degrees",
    )
