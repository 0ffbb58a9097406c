"""Ready-made outlines: plain functions that return one :class:`~geometry_profiles.outline.Outline`.

Every outline lies in its own frame: shaft axis at the origin, +x along the counterweight's centre line.
"""

from __future__ import annotations

import itertools
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


def flanked_fan(
    *,
    outer_radius_mm: float,
    half_angle_deg: float,
    inner_radius_mm: float,
    flank_angle_deg: float,
    chord_tolerance_mm: float = CHORD_TOLERANCE_MM,
) -> Outline:
    """Return a fan whose flanks are straight but need not point to the shaft axis.

    Parameters
    ----------
    outer_radius_mm, inner_radius_mm, chord_tolerance_mm
        As for :func:`fan` [mm].
    half_angle_deg : float
        From the centre line to where the rim ends [deg], between 0 and 90.
    flank_angle_deg : float
        Between the flank and the centre line [deg]: 0 is parallel to it, the half angle is a fan's radial flank, more is
        an undercut flank, which leaves the counterweight narrower inward; negative: wider inward.

    Raises
    ------
    OutlineError
        If a size is out of range, or the flanks meet before they reach the inner radius.
    """
    name = "flanked fan"
    _check_radii(name, outer_radius_mm=outer_radius_mm, inner_radius_mm=inner_radius_mm)
    if not 0.0 < half_angle_deg < 90.0:
        raise OutlineError(
            f"outline `{name}` has half angle {half_angle_deg:g} degrees, between 0 and 90 is allowed"
        )
    if not -60.0 <= flank_angle_deg < 90.0:
        raise OutlineError(
            f"outline `{name}` has flank angle {flank_angle_deg:g} degrees, from -60 to less than 90 is allowed"
        )
    rim = arc_points(
        outer_radius_mm,
        from_deg=-half_angle_deg,
        to_deg=half_angle_deg,
        chord_tolerance_mm=chord_tolerance_mm,
    )
    x, y = rim[-1]
    dx, dy = -math.cos(math.radians(flank_angle_deg)), -math.sin(math.radians(flank_angle_deg))
    # how far along the flank its foot on the shaft axis lies, and how far the flank passes from that axis
    foot = -(x * dx + y * dy)
    passes = abs(x * dy - y * dx)
    if passes < inner_radius_mm:
        along = foot - math.sqrt(inner_radius_mm**2 - passes**2)
        end = (x + along * dx, y + along * dy)
        if along <= 0.0:
            raise OutlineError(f"outline `{name}` has flanks that do not run inward from the rim")
        if end[1] <= 0.0:
            raise OutlineError(
                f"outline `{name}` has flanks that meet on the centre line before they reach the inner radius "
                f"{inner_radius_mm:g} mm; make the flank angle less than {flank_angle_deg:g} degrees"
            )
        inner_half = math.degrees(math.atan2(end[1], end[0]))
        inner = arc_points(
            inner_radius_mm, from_deg=inner_half, to_deg=-inner_half, chord_tolerance_mm=chord_tolerance_mm
        )
        boundary: tuple[Point, ...] = rim + inner
    else:
        # it passes the body: it ends where it is nearest to the axis, and the body is drawn over
        if foot <= LEAST_SPACING_MM:
            raise OutlineError(f"outline `{name}` has flanks that do not run inward from the rim")
        end = (x + foot * dx, y + foot * dy)
        if end[1] <= 0.0:
            raise OutlineError(
                f"outline `{name}` has flanks that meet on the centre line outside the inner radius "
                f"{inner_radius_mm:g} mm; make the flank angle less than {flank_angle_deg:g} degrees"
            )
        boundary = (*rim, end, AXIS, _mirror(end)) if inner_radius_mm > 0.0 else (*rim, end, _mirror(end))
        if inner_radius_mm > 0.0:
            return _of_ring(name, boundary, inner_radius_mm=inner_radius_mm, rim_radius_mm=outer_radius_mm)
    names = (f"flank at {half_angle_deg:+.4g} degrees", f"flank at {-half_angle_deg:+.4g} degrees")
    return Outline(
        name=name,
        rim_radius_mm=float(outer_radius_mm),
        inner_radius_mm=float(inner_radius_mm),
        boundary_mm=boundary,
        flanks_mm=((end, rim[-1]), (_mirror(end), rim[0])),
        rim_arcs_deg=((-half_angle_deg, half_angle_deg),),
        flank_names=names,
    )


def stepped_fan(
    *,
    outer_radius_mm: float,
    half_angle_deg: float,
    inner_radius_mm: float,
    steps: Sequence[tuple[float, float]],
    chord_tolerance_mm: float = CHORD_TOLERANCE_MM,
) -> Outline:
    """Return a fan whose half angle changes in steps with the radius.

    Parameters
    ----------
    outer_radius_mm, inner_radius_mm, half_angle_deg, chord_tolerance_mm
        As for :func:`fan` [mm, mm, deg, mm]; the half angle is that of the part with the rim.
    steps : sequence of (radius, half angle), shape (n, 2)
        From the rim inward: inside this radius [mm] the half angle is this [deg], between 0 and 180.

    Raises
    ------
    OutlineError
        If a size is out of range or the radii do not fall.
    """
    name = "stepped fan"
    _check_radii(name, outer_radius_mm=outer_radius_mm, inner_radius_mm=inner_radius_mm)
    if not steps:
        raise OutlineError(f"outline `{name}` has no steps; a plain fan has none")
    for half in (half_angle_deg, *(each for _, each in steps)):
        _check_half_angle(name, half)
    radii = [outer_radius_mm, *(radius for radius, _ in steps)]
    for before, after in itertools.pairwise(radii):
        if not inner_radius_mm < after < before - LEAST_SPACING_MM:
            raise OutlineError(
                f"outline `{name}` has a step at radius {after:g} mm; between the inner radius "
                f"{inner_radius_mm:g} and {before:g} mm is allowed, from the rim inward"
            )
    halves = [half_angle_deg, *(half for _, half in steps)]
    upper: list[Point] = list(
        arc_points(
            outer_radius_mm, from_deg=0.0, to_deg=half_angle_deg, chord_tolerance_mm=chord_tolerance_mm
        )
    )
    for radius, (before, after) in zip(radii[1:], itertools.pairwise(halves), strict=True):
        if abs(after - before) < 1e-6:
            raise OutlineError(f"outline `{name}` has a step at radius {radius:g} mm that changes nothing")
        upper += arc_points(radius, from_deg=before, to_deg=after, chord_tolerance_mm=chord_tolerance_mm)
    if inner_radius_mm > 0.0:
        upper += arc_points(
            inner_radius_mm, from_deg=halves[-1], to_deg=0.0, chord_tolerance_mm=chord_tolerance_mm
        )
    else:
        upper.append(AXIS)
    lower = [_mirror(point) for point in upper[1:-1]]
    boundary = (*upper, *reversed(lower))
    return _of_ring(name, boundary, inner_radius_mm=inner_radius_mm, rim_radius_mm=outer_radius_mm)


def trimmed_disc(
    *,
    outer_radius_mm: float,
    inner_radius_mm: float,
    flats: Sequence[tuple[float, float]],
    chord_tolerance_mm: float = CHORD_TOLERANCE_MM,
) -> Outline:
    """Return a disc with flats: everything beyond a straight line is cut off.

    Parameters
    ----------
    outer_radius_mm, inner_radius_mm, chord_tolerance_mm
        As for :func:`disc` [mm].
    flats : sequence of (offset, angle), shape (n, 2)
        How far each flat lies from the shaft axis [mm], and in which direction, from the centre line [deg].

    Raises
    ------
    OutlineError
        If a size is out of range, a flat misses the disc, or nothing of the rim is left.
    """
    name = "trimmed disc"
    _check_radii(name, outer_radius_mm=outer_radius_mm, inner_radius_mm=inner_radius_mm)
    if not flats:
        raise OutlineError(f"outline `{name}` has no flats; a plain disc has none")
    for offset, angle in flats:
        if not (0.0 < offset < outer_radius_mm and math.isfinite(angle)):
            raise OutlineError(
                f"outline `{name}` has a flat {offset:g} mm from the axis at {angle:g} degrees; more than 0 "
                f"and less than its outer radius {outer_radius_mm:g} mm is allowed"
            )
    # the rim's points at which a flat begins or ends stand exactly, the rest of the rim as chords between them
    stops = sorted(
        {
            round((angle + side * math.degrees(math.acos(offset / outer_radius_mm))) % 360.0, 12)
            for offset, angle in flats
            for side in (-1.0, 1.0)
        }
    )

    def kept(point: Point) -> bool:
        return all(
            point[0] * math.cos(math.radians(angle)) + point[1] * math.sin(math.radians(angle))
            <= offset + 1e-9
            for offset, angle in flats
        )

    ring: list[Point] = []
    for start, end in zip(stops, (*stops[1:], stops[0] + 360.0), strict=True):
        if end - start < 1e-9:
            continue
        middle = math.radians(0.5 * (start + end))
        if kept((outer_radius_mm * math.cos(middle), outer_radius_mm * math.sin(middle))):
            for point in arc_points(
                outer_radius_mm, from_deg=start, to_deg=end, chord_tolerance_mm=chord_tolerance_mm
            ):
                if not ring or math.dist(ring[-1], point) >= LEAST_SPACING_MM:
                    ring.append(point)
    # two flats may meet off the rim: corners where their lines cross, inside the disc and all other flats
    for (o1, a1), (o2, a2) in itertools.combinations(flats, 2):
        c1, s1, c2, s2 = (f(math.radians(a)) for a in (a1, a2) for f in (math.cos, math.sin))
        determinant = c1 * s2 - c2 * s1
        if abs(determinant) < 1e-9:
            continue
        corner = ((o1 * s2 - o2 * s1) / determinant, (o2 * c1 - o1 * c2) / determinant)
        if math.hypot(*corner) < outer_radius_mm - LEAST_SPACING_MM and kept(corner):
            ring.append(corner)
    if len(ring) < 3:
        raise OutlineError(f"outline `{name}` has flats that leave nothing of it")
    # an intersection of a disc and half planes round the axis is convex: by angle is in order
    ring.sort(key=lambda point: math.atan2(point[1], point[0]))
    clean = [p for i, p in enumerate(ring) if math.dist(p, ring[i - 1]) >= LEAST_SPACING_MM]
    return _of_ring(name, tuple(clean), inner_radius_mm=inner_radius_mm, rim_radius_mm=outer_radius_mm)


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
    ring = _counter_clockwise(tuple(points_mm))
    return _of_ring("points", ring, inner_radius_mm=inner_radius_mm, rim_radius_mm=rim_radius_mm)


def _of_ring(
    name: str, ring: tuple[Point, ...], *, inner_radius_mm: float, rim_radius_mm: float | None
) -> Outline:
    """Return an outline from its corners: rim where edges lie on the rim radius, flanks elsewhere."""
    bare = Outline(name=name, rim_radius_mm=rim_radius_mm, inner_radius_mm=inner_radius_mm, boundary_mm=ring)
    rim_edges = [_is_rim(edge, rim_radius_mm=rim_radius_mm) for edge in bare.edges_mm]
    if rim_radius_mm is not None and not any(rim_edges):
        step_deg = chord_step_deg(rim_radius_mm, chord_tolerance_mm=RIM_TOLERANCE_MM)
        raise OutlineError(
            f"outline `{name}` has no edge on its rim radius {rim_radius_mm:g} mm; "
            f"give points on the rim at most {step_deg:.1f} degrees apart"
        )
    flanks = tuple(
        edge
        for edge, is_rim in zip(bare.edges_mm, rim_edges, strict=True)
        if not is_rim and not _is_inside(edge, radius_mm=inner_radius_mm)
    )
    return Outline(
        name=name,
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
