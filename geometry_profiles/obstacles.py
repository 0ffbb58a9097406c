"""What stands in a new hole's way, made from plain sizes: holes, keep-outs, oil drillings.

All angles are relative to the outline's own +x (its centre line) [deg], counter-clockwise seen from the front.
"""

from __future__ import annotations

import math

from geometry_profiles.arcs import CHORD_TOLERANCE_MM, chord_step_deg
from geometry_profiles.outline import Obstacle, OutlineError, Point


def rim_hole_corners(
    rim_radius_mm: float,
    *,
    angle_deg: float,
    diameter_mm: float,
    depth_shoulder_mm: float,
    cone_height_mm: float,
    beside_mm: float = 0.0,
) -> tuple[Point, ...]:
    """Return the section of a rim hole as drawn: a rectangle from the chord at the rim to the shoulder, a point.

    Parameters
    ----------
    rim_radius_mm : float
        Radius from which the depth counts, on the hole's axis [mm].
    angle_deg : float
        Direction of the hole's axis [deg].
    diameter_mm, depth_shoulder_mm, cone_height_mm : float
        Width, depth of the full diameter, and how far the tip lies beyond the shoulder [mm].
    beside_mm : float
        How far the axis passes beside the shaft axis, counter-clockwise [mm].

    Returns
    -------
    tuple of (x, y), shape (5, 2)
        Corners, counter-clockwise [mm]; a flat bottom (cone height 0) leaves its middle as the fifth.
    """
    half_mm = 0.5 * diameter_mm
    shoulder_mm = rim_radius_mm - depth_shoulder_mm
    corners = (
        (rim_radius_mm, beside_mm - half_mm),
        (rim_radius_mm, beside_mm + half_mm),
        (shoulder_mm, beside_mm + half_mm),
        (shoulder_mm - cone_height_mm, beside_mm),
        (shoulder_mm, beside_mm - half_mm),
    )
    return tuple(_turned(corner, angle_deg=angle_deg) for corner in corners)


def rim_hole_obstacle(
    *,
    rim_radius_mm: float,
    angle_deg: float,
    diameter_mm: float,
    depth_shoulder_mm: float,
    cone_height_mm: float,
    what: str,
    beside_mm: float = 0.0,
    extent_mm: tuple[float, float] | None = None,
) -> Obstacle:
    """Return an existing rim hole as a five-cornered obstacle (sizes as for :func:`rim_hole_corners`)."""
    _check(what, diameter_mm=diameter_mm, depth_shoulder_mm=depth_shoulder_mm)
    corners = rim_hole_corners(
        rim_radius_mm,
        angle_deg=angle_deg,
        diameter_mm=diameter_mm,
        depth_shoulder_mm=depth_shoulder_mm,
        cone_height_mm=cone_height_mm,
        beside_mm=beside_mm,
    )
    return Obstacle(points_mm=corners, radius_mm=0.0, what=what, extent_mm=extent_mm)


def face_hole_obstacle(*, radius_mm: float, angle_deg: float, diameter_mm: float, what: str) -> Obstacle:
    """Return an existing face hole (or anything round) as a disc: centre at a radius and an angle [mm, deg]."""
    _check(what, diameter_mm=diameter_mm)
    return Obstacle(
        points_mm=(_polar(radius_mm, angle_deg=angle_deg),), radius_mm=0.5 * diameter_mm, what=what
    )


def ring_sector_obstacles(
    *,
    from_angle_deg: float,
    to_angle_deg: float,
    from_radius_mm: float,
    to_radius_mm: float,
    what: str,
    chord_tolerance_mm: float = CHORD_TOLERANCE_MM,
) -> tuple[Obstacle, ...]:
    """Return a keep-out between two angles and two radii as convex pieces that together cover it.

    Each piece reaches beyond either arc by at most the chord tolerance, never short of it, so that what clears
    the pieces clears the keep-out.

    Parameters
    ----------
    from_angle_deg, to_angle_deg : float
        Counter-clockwise from/to [deg]; ``to`` below ``from`` runs through 360 (350 to 10 is 20 degrees wide).
    from_radius_mm, to_radius_mm : float
        Inner and outer radius [mm].
    what : str
        How a message calls it; all pieces carry it.
    chord_tolerance_mm : float
        How far a piece may reach beyond the arcs [mm].

    Raises
    ------
    OutlineError
        If the angles are equal or more than a turn apart, or the radii are not ``0 <= from < to``.
    """
    if not 0.0 <= from_radius_mm < to_radius_mm:
        raise OutlineError(
            f"obstacle `{what}` reaches from radius {from_radius_mm:g} to {to_radius_mm:g} mm, "
            "0 or more and growing is allowed"
        )
    sweep_deg = to_angle_deg - from_angle_deg
    if -360.0 < sweep_deg < 0.0:
        sweep_deg += 360.0
    if not 0.0 < sweep_deg <= 360.0:
        raise OutlineError(
            f"obstacle `{what}` reaches from {from_angle_deg:g} to {to_angle_deg:g} degrees, "
            "two different angles at most a full turn apart are allowed"
        )
    # The tip of the tangents over half a step t/2 = q lies R*(1/cos(q) - 1) outside the arc; allowing 0.9 of the
    # tolerance for the chord R*(1 - cos(q)) keeps that tip inside the full tolerance for every q up to 22.5 deg.
    step_deg = chord_step_deg(to_radius_mm, chord_tolerance_mm=0.9 * chord_tolerance_mm)
    count = max(1, math.ceil(sweep_deg / step_deg))
    half_deg = 0.5 * sweep_deg / count
    tip_mm = to_radius_mm / math.cos(math.radians(half_deg))
    pieces = []
    for index in range(count):
        middle_deg = from_angle_deg + (2 * index + 1) * half_deg
        pieces.append(
            Obstacle(
                points_mm=(
                    _polar(from_radius_mm, angle_deg=middle_deg - half_deg),
                    _polar(to_radius_mm, angle_deg=middle_deg - half_deg),
                    _polar(tip_mm, angle_deg=middle_deg),
                    _polar(to_radius_mm, angle_deg=middle_deg + half_deg),
                    _polar(from_radius_mm, angle_deg=middle_deg + half_deg),
                ),
                radius_mm=0.0,
                what=what,
            )
        )
    return tuple(pieces)


def drilling_obstacle(
    *,
    from_z_mm: float,
    from_radius_mm: float,
    from_angle_deg: float,
    to_z_mm: float,
    to_radius_mm: float,
    to_angle_deg: float,
    diameter_mm: float,
    plate_from_z_mm: float,
    plate_to_z_mm: float,
    what: str,
    clearance_mm: float | None = None,
) -> Obstacle | None:
    """Return the shadow that a straight drilling throws on a plate, as a capsule, or None where it passes by.

    Only the length of its axis within the plate's thickness counts, both faces moved out by the drilling's
    radius and clearance: a drilling at a slant reaches that much past the point where its axis leaves.

    Parameters
    ----------
    from_z_mm, from_radius_mm, from_angle_deg, to_z_mm, to_radius_mm, to_angle_deg : float
        Ends of the axis: along the shaft [mm], from the shaft axis [mm], relative to the outline's +x [deg].
    diameter_mm : float
        Bore of the drilling [mm].
    plate_from_z_mm, plate_to_z_mm : float
        Faces of the counterweight [mm].
    what : str
        How a message calls it.
    clearance_mm : float, optional
        Wall to keep to it [mm]; None: the shop's least wall.

    Raises
    ------
    OutlineError
        If a size is not positive or the plate's faces are the wrong way round.
    """
    _check(what, diameter_mm=diameter_mm)
    if not plate_from_z_mm < plate_to_z_mm:
        raise OutlineError(
            f"obstacle `{what}` meets a plate from z {plate_from_z_mm:g} to {plate_to_z_mm:g} mm, "
            "two growing numbers are needed"
        )
    grown_mm = 0.5 * diameter_mm + (clearance_mm or 0.0)
    low_mm, high_mm = plate_from_z_mm - grown_mm, plate_to_z_mm + grown_mm
    start = _polar(from_radius_mm, angle_deg=from_angle_deg)
    end = _polar(to_radius_mm, angle_deg=to_angle_deg)
    length_mm = to_z_mm - from_z_mm
    if length_mm == 0.0:
        if not low_mm <= from_z_mm <= high_mm:
            return None
        shares = (0.0, 1.0)
    else:
        at_faces = sorted(((low_mm - from_z_mm) / length_mm, (high_mm - from_z_mm) / length_mm))
        shares = (max(0.0, at_faces[0]), min(1.0, at_faces[1]))
        if shares[0] > shares[1]:
            return None
    return Obstacle(
        points_mm=tuple(
            (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
            for share in shares
        ),
        radius_mm=0.5 * diameter_mm,
        what=what,
        clearance_mm=clearance_mm,
    )


def _polar(radius_mm: float, *, angle_deg: float) -> Point:
    angle = math.radians(angle_deg)
    return radius_mm * math.cos(angle), radius_mm * math.sin(angle)


def _turned(point: Point, *, angle_deg: float) -> Point:
    angle = math.radians(angle_deg)
    x, y = point
    return x * math.cos(angle) - y * math.sin(angle), x * math.sin(angle) + y * math.cos(angle)


def _check(what: str, *, diameter_mm: float, depth_shoulder_mm: float = 0.0) -> None:
    if not (math.isfinite(diameter_mm) and diameter_mm > 0.0):
        raise OutlineError(f"obstacle `{what}` has diameter {diameter_mm} mm, more than 0 is allowed")
    if not (math.isfinite(depth_shoulder_mm) and depth_shoulder_mm >= 0.0):
        raise OutlineError(f"obstacle `{what}` has depth {depth_shoulder_mm} mm, 0 or more is allowed")
