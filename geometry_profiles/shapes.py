"""Ready-made outlines: plain functions that return one :class:`~geometry_profiles.outline.Outline`.

Every outline lies in its own frame: shaft axis at the origin, +x along the counterweight's centre line.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from geometry_profiles.arcs import CHORD_TOLERANCE_MM, arc_points, chord_step_deg
from geometry_profiles.outline import (
    LEAST_SPACING_MM,
    RIM_TOLERANCE_MM,
    Outline,
    OutlineError,
    Point,
    Segment,
)

AXIS: Point = (0.0, 0.0)


def fan(
    *,
    outer_radius_mm: float,
    half_angle_deg: float,
    inner_radius_mm: float,
    chord_tolerance_mm: float = CHORD_TOLERANCE_MM,
) -> Outline:
    """Return a sector about the shaft axis, symmetric about +x, from the inner to the outer radius.

    Its flanks are straight lines through the axis; walls are kept to the whole rays from the axis to the rim.

    Parameters
    ----------
    outer_radius_mm, inner_radius_mm : float
        Rim, and where the crankshaft's body begins [mm]; an inner radius of 0 draws the sector to its point.
    half_angle_deg : float
        From the centre line to either flank [deg], between 0 and 180.
    chord_tolerance_mm : float
        How far the chords that stand for the arcs may lie inside them [mm].

    Raises
    ------
    OutlineError
        If a size is not positive, the inner radius is not below the outer, or the half angle is out of range.
    """
    _check_radii("fan", outer_radius_mm=outer_radius_mm, inner_radius_mm=inner_radius_mm)
    _check_half_angle("fan", half_angle_deg)
    rim = arc_points(
        outer_radius_mm,
        from_deg=-half_angle_deg,
        to_deg=half_angle_deg,
        chord_tolerance_mm=chord_tolerance_mm,
    )
    inner: tuple[Point, ...] = (AXIS,)
    if inner_radius_mm > 0.0:
        inner = arc_points(
            inner_radius_mm,
            from_deg=half_angle_deg,
            to_deg=-half_angle_deg,
            chord_tolerance_mm=chord_tolerance_mm,
        )
    return Outline(
        name="fan",
        rim_radius_mm=float(outer_radius_mm),
        inner_radius_mm=float(inner_radius_mm),
        boundary_mm=rim + inner,
        flanks_mm=((AXIS, rim[-1]), (AXIS, rim[0])),
        rim_arcs_deg=((-half_angle_deg, half_angle_deg),),
        half_angle_deg=float(half_angle_deg),
        flank_names=(f"flank at {half_angle_deg:+.4g} degrees", f"flank at {-half_angle_deg:+.4g} degrees"),
    )


def trimmed_fan(
    *,
    outer_radius_mm: float,
    half_angle_deg: float,
    inner_radius_mm: float,
    half_width_mm: float,
    chord_tolerance_mm: float = CHORD_TOLERANCE_MM,
) -> Outline:
    """Return a fan whose sides are cut off parallel to its centre line, at ``half_width_mm`` from it.

    Parameters
    ----------
    outer_radius_mm, inner_radius_mm, half_angle_deg, chord_tolerance_mm
        As for :func:`fan` [mm, mm, deg, mm]; the half angle is at most 90 degrees.
    half_width_mm : float
        From the centre line to either cut side [mm].

    Raises
    ------
    OutlineError
        As for :func:`fan`, or if the sides cut nothing off.
    """
    name = "trimmed fan"
    _check_radii(name, outer_radius_mm=outer_radius_mm, inner_radius_mm=inner_radius_mm)
    if not 0.0 < half_angle_deg <= 90.0:
        raise OutlineError(
            f"outline `{name}` has half angle {half_angle_deg:g} degrees, "
            "more than 0 and at most 90 is allowed"
        )
    _check_positive(name, "half width", half_width_mm)
    widest_mm = outer_radius_mm * math.sin(math.radians(half_angle_deg))
    if half_width_mm > widest_mm - LEAST_SPACING_MM:
        raise OutlineError(
            f"outline `{name}` has half width {half_width_mm:g} mm, which cuts nothing off; "
            f"less than {widest_mm:.3f} mm is allowed"
        )
    rim_half_deg = math.degrees(math.asin(half_width_mm / outer_radius_mm))
    corner_radius_mm = half_width_mm / math.sin(math.radians(half_angle_deg))
    # The ray of the fan is left over only where it leaves the body before it meets the cut side.
    has_ray = corner_radius_mm > inner_radius_mm + LEAST_SPACING_MM
    inner_half_deg = half_angle_deg
    corner = (half_width_mm / math.tan(math.radians(half_angle_deg)), half_width_mm)
    if not has_ray:
        inner_half_deg = math.degrees(math.asin(min(1.0, half_width_mm / inner_radius_mm)))
        corner = (math.sqrt(max(0.0, inner_radius_mm**2 - half_width_mm**2)), half_width_mm)
    rim = arc_points(
        outer_radius_mm, from_deg=-rim_half_deg, to_deg=rim_half_deg, chord_tolerance_mm=chord_tolerance_mm
    )
    inner: tuple[Point, ...] = (AXIS,)
    if inner_radius_mm > 0.0:
        inner = arc_points(
            inner_radius_mm,
            from_deg=inner_half_deg,
            to_deg=-inner_half_deg,
            chord_tolerance_mm=chord_tolerance_mm,
        )
    boundary = (*rim, corner, *inner, _mirror(corner)) if has_ray else rim + inner
    sides: tuple[Segment, ...] = ((corner, rim[-1]), (_mirror(corner), rim[0]))
    names: tuple[str, ...] = (f"side at +{half_width_mm:.4g} mm", f"side at -{half_width_mm:.4g} mm")
    if has_ray:
        sides += ((AXIS, corner), (AXIS, _mirror(corner)))
        names += (f"flank at {half_angle_deg:+.4g} degrees", f"flank at {-half_angle_deg:+.4g} degrees")
    return Outline(
        name=name,
        rim_radius_mm=float(outer_radius_mm),
        inner_radius_mm=float(inner_radius_mm),
        boundary_mm=boundary,
        flanks_mm=sides,
        rim_arcs_deg=((-rim_half_deg, rim_half_deg),),
        flank_names=names,
    )


def half_disc(
    *,
    outer_radius_mm: float,
    inner_radius_mm: float,
    flat_offset_mm: float = 0.0,
    chord_tolerance_mm: float = CHORD_TOLERANCE_MM,
) -> Outline:
    """Return the part of a disc beyond a flat that stands across the centre line at ``x = flat_offset_mm``.

    The boundary is the flat and the rim; the body inside ``inner_radius_mm`` is drawn over, not cut out.

    Parameters
    ----------
    outer_radius_mm, inner_radius_mm : float
        Rim, and where the crankshaft's body begins [mm].
    flat_offset_mm : float
        Where the flat is on the centre line [mm]; 0: through the axis, negative: more than half a disc.
    chord_tolerance_mm : float
        How far the chords that stand for the arc may lie inside it [mm].

    Raises
    ------
    OutlineError
        If a size is not positive, the inner radius is not below the outer, or the flat misses the disc.
    """
    _check_radii("half disc", outer_radius_mm=outer_radius_mm, inner_radius_mm=inner_radius_mm)
    if not abs(flat_offset_mm) < outer_radius_mm:
        raise OutlineError(
            f"outline `half disc` has flat offset {flat_offset_mm:g} mm, between -{outer_radius_mm:g} and "
            f"{outer_radius_mm:g} mm (its outer radius) is allowed"
        )
    rim_half_deg = math.degrees(math.acos(flat_offset_mm / outer_radius_mm))
    rim = arc_points(
        outer_radius_mm, from_deg=-rim_half_deg, to_deg=rim_half_deg, chord_tolerance_mm=chord_tolerance_mm
    )
    return Outline(
        name="half disc",
        rim_radius_mm=float(outer_radius_mm),
        inner_radius_mm=float(inner_radius_mm),
        boundary_mm=rim,
        flanks_mm=((rim[-1], rim[0]),),
        rim_arcs_deg=((-rim_half_deg, rim_half_deg),),
        flank_names=("flat",),
    )


def disc(
    *, outer_radius_mm: float, inner_radius_mm: float, chord_tolerance_mm: float = CHORD_TOLERANCE_MM
) -> Outline:
    """Return a full disc about the shaft axis; the body inside the inner radius is drawn over, not cut out.

    Parameters
    ----------
    outer_radius_mm, inner_radius_mm : float
        Rim, and where the crankshaft's body begins [mm].
    chord_tolerance_mm : float
        How far the chords that stand for the rim may lie inside it [mm].

    Raises
    ------
    OutlineError
        If a size is not positive or the inner radius is not below the outer.
    """
    _check_radii("disc", outer_radius_mm=outer_radius_mm, inner_radius_mm=inner_radius_mm)
    rim = arc_points(outer_radius_mm, from_deg=-180.0, to_deg=180.0, chord_tolerance_mm=chord_tolerance_mm)
    return Outline(
        name="disc",
        rim_radius_mm=float(outer_radius_mm),
        inner_radius_mm=float(inner_radius_mm),
        boundary_mm=rim[:-1],
        rim_arcs_deg=((-180.0, 180.0),),
    )


def points(
    points_mm: Sequence[Point], *, inner_radius_mm: float, rim_radius_mm: float | None = None
) -> Outline:
    """Return an outline through measured points, in order round the counterweight, either way round.

    An edge is **rim** when both ends lie on the rim radius and its arc bulges by no more than
    :data:`~geometry_profiles.outline.RIM_TOLERANCE_MM` (at 88 mm: points up to 3.9 degrees apart).  An edge
    inside the inner radius belongs to the body: no wall is kept to it.  All other edges are flanks.

    Parameters
    ----------
    points_mm : sequence of (x, y), shape (n, 2)
        Corners in the counterweight's own frame [mm], not closed twice.
    inner_radius_mm : float
        Where the crankshaft's body begins [mm].
    rim_radius_mm : float, optional
        Radius of the rim about the shaft axis [mm]; without it no rim holes can be drilled.

    Raises
    ------
    OutlineError
        If the ring is not simple, no edge lies on the rim radius, a point lies outside it, or the radii
        contradict each other.
    """
    bare = Outline(
        name="points",
        rim_radius_mm=rim_radius_mm,
        inner_radius_mm=inner_radius_mm,
        boundary_mm=_counter_clockwise(tuple(points_mm)),
    )
    rim_edges = [_is_rim(edge, rim_radius_mm=rim_radius_mm) for edge in bare.edges_mm]
    if rim_radius_mm is not None and not any(rim_edges):
        step_deg = chord_step_deg(rim_radius_mm, chord_tolerance_mm=RIM_TOLERANCE_MM)
        raise OutlineError(
            f"outline `points` has no edge on its rim radius {rim_radius_mm:g} mm; "
            f"give points on the rim at most {step_deg:.1f} degrees apart"
        )
    flanks = tuple(
        edge
        for edge, is_rim in zip(bare.edges_mm, rim_edges, strict=True)
        if not is_rim and not _is_inside(edge, radius_mm=inner_radius_mm)
    )
    return Outline(
        name="points",
        rim_radius_mm=rim_radius_mm,
        inner_radius_mm=inner_radius_mm,
        boundary_mm=bare.boundary_mm,
        flanks_mm=flanks,
        rim_arcs_deg=_rim_arcs(bare.edges_mm, rim_edges),
    )


def _counter_clockwise(ring: tuple[Point, ...]) -> tuple[Point, ...]:
    """Return the ring counter-clockwise from the same first point; anything odd is left for the checks."""
    try:
        twice_area = sum(
            x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(ring, ring[1:] + ring[:1], strict=True)
        )
    except (TypeError, ValueError):
        return ring
    return ring if twice_area >= 0.0 else ring[:1] + ring[:0:-1]


def _is_rim(edge: Segment, *, rim_radius_mm: float | None) -> bool:
    """Say whether the edge is a chord of the rim within the rim tolerance."""
    if rim_radius_mm is None:
        return False
    on_rim = all(abs(math.hypot(x, y) - rim_radius_mm) <= RIM_TOLERANCE_MM for x, y in edge)
    half_chord_mm = 0.5 * math.dist(*edge)
    bulge_mm = rim_radius_mm - math.sqrt(max(0.0, rim_radius_mm**2 - half_chord_mm**2))
    return on_rim and bulge_mm <= RIM_TOLERANCE_MM


def _is_inside(edge: Segment, *, radius_mm: float) -> bool:
    """Say whether the edge lies inside that radius (chords of the inner arc do)."""
    return all(math.hypot(x, y) <= radius_mm + RIM_TOLERANCE_MM for x, y in edge)


def _rim_arcs(edges: tuple[Segment, ...], rim_edges: list[bool]) -> tuple[tuple[float, float], ...]:
    """Return the rim as arcs [deg], neighbouring edges joined, each beginning in [-180, 180)."""
    count = len(edges)
    if all(rim_edges):
        return ((-180.0, 180.0),)
    arcs: list[tuple[float, float]] = []
    for first in range(count):
        if not rim_edges[first] or rim_edges[first - 1]:
            continue
        (x, y), _ = edges[first]
        start_deg = math.degrees(math.atan2(y, x))
        sweep_deg = 0.0
        index = first
        while rim_edges[index % count]:
            (x1, y1), (x2, y2) = edges[index % count]
            sweep_deg += math.degrees(math.atan2(x1 * y2 - x2 * y1, x1 * x2 + y1 * y2))
            index += 1
        arcs.append((start_deg, start_deg + sweep_deg))
    return tuple(arcs)


def _mirror(point: Point) -> Point:
    return point[0], -point[1]


def _check_positive(name: str, what: str, value_mm: float) -> None:
    if not (math.isfinite(value_mm) and value_mm > 0.0):
        raise OutlineError(f"outline `{name}` has {what} {value_mm} mm, more than 0 is allowed")


def _check_radii(name: str, *, outer_radius_mm: float, inner_radius_mm: float) -> None:
    _check_positive(name, "outer radius", outer_radius_mm)
    if not (math.isfinite(inner_radius_mm) and 0.0 <= inner_radius_mm < outer_radius_mm):
        raise OutlineError(
            f"outline `{name}` has inner radius {inner_radius_mm} mm, "
            f"0 or more and less than its outer radius {outer_radius_mm:g} mm is allowed"
        )


def _check_half_angle(name: str, half_angle_deg: float) -> None:
    if not 0.0 < half_angle_deg < 180.0:
        raise OutlineError(
            f"outline `{name}` has half angle {half_angle_deg:g} degrees, between 0 and 180 is allowed"
        )
