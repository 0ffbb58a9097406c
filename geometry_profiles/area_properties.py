"""Area, centroid and second moments of an outline, exact: straight edges and true arcs, no chords.

What is weighed is the counterweight **outside** its inner radius; the body inside belongs to the crankshaft.
Rim edges count as the arc that they stand for.

The integrals run round the boundary.  Each piece of it spans a figure with the origin: a straight piece a
triangle, a rim piece a sector; the sector of the inner radius over the same angle is taken off.  Pieces inside
the inner radius span nothing.  The moments of a triangle with one corner at the origin and of a circular sector
are elementary integrals, written out below.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from geometry_profiles.outline import RIM_TOLERANCE_MM, Outline, OutlineError, Point, Segment

Moments = tuple[float, float, float, float, float, float]
"""Integrals over the area of 1, x, y, x^2, y^2, x*y [mm2, mm3, mm3, mm4, mm4, mm4]."""

_ROUNDING_DEG = 1e-6


@dataclass(frozen=True, kw_only=True)
class AreaProperties:
    """Properties of an outline's area in its own frame, about the shaft axis where a moment needs a centre.

    Attributes
    ----------
    area_mm2 : float
        Area outside the inner radius [mm2].
    centroid_x_mm, centroid_y_mm : float
        Centroid [mm], x along the centre line.
    first_moment_x_mm3, first_moment_y_mm3 : float
        Integrals of x and of y over the area [mm3].
    second_moment_x_mm4, second_moment_y_mm4 : float
        About the x axis (integral of y^2) and about the y axis (integral of x^2) [mm4].
    product_moment_mm4 : float
        Integral of x*y [mm4]; 0 for an outline that is symmetric about its centre line.
    """

    area_mm2: float
    centroid_x_mm: float
    centroid_y_mm: float
    first_moment_x_mm3: float
    first_moment_y_mm3: float
    second_moment_x_mm4: float
    second_moment_y_mm4: float
    product_moment_mm4: float

    @property
    def centroid_radius_mm(self) -> float:
        """Distance of the centroid from the shaft axis [mm]."""
        return math.hypot(self.centroid_x_mm, self.centroid_y_mm)

    @property
    def centroid_angle_deg(self) -> float:
        """Direction of the centroid from the centre line [deg]."""
        return math.degrees(math.atan2(self.centroid_y_mm, self.centroid_x_mm))

    @property
    def polar_moment_mm4(self) -> float:
        """Integral of the squared distance from the shaft axis [mm4]."""
        return self.second_moment_x_mm4 + self.second_moment_y_mm4

    @property
    def second_moment_x_centroid_mm4(self) -> float:
        """About the axis through the centroid along x [mm4]."""
        return self.second_moment_x_mm4 - self.area_mm2 * self.centroid_y_mm**2

    @property
    def second_moment_y_centroid_mm4(self) -> float:
        """About the axis through the centroid along y [mm4]."""
        return self.second_moment_y_mm4 - self.area_mm2 * self.centroid_x_mm**2


def area_properties(outline: Outline, *, within_radius_mm: float | None = None) -> AreaProperties:
    """Return area, centroid and second moments of an outline outside its inner radius.

    Parameters
    ----------
    outline : Outline
        The outline, lengths [mm].
    within_radius_mm : float, optional
        Count only what lies within this radius of the shaft axis [mm].

    Returns
    -------
    AreaProperties
        Exact for straight edges and circular rims; a rim drawn with points off the rim radius is off by no
        more than they are.

    Raises
    ------
    OutlineError
        If nothing of the outline lies outside its inner radius.
    """
    total = [0.0] * 6
    for piece in _pieces(outline, within_radius_mm):
        for index, value in enumerate(piece):
            total[index] += value
    area, first_x, first_y, square_x, square_y, product = total
    if area <= 0.0:
        raise OutlineError(
            f"outline `{outline.name}` has no area outside its inner radius {outline.inner_radius_mm:g} mm"
            + (f" and within {within_radius_mm:g} mm" if within_radius_mm is not None else "")
        )
    return AreaProperties(
        area_mm2=area,
        centroid_x_mm=first_x / area,
        centroid_y_mm=first_y / area,
        first_moment_x_mm3=first_x,
        first_moment_y_mm3=first_y,
        second_moment_x_mm4=square_y,
        second_moment_y_mm4=square_x,
        product_moment_mm4=product,
    )


def _pieces(outline: Outline, within_mm: float | None = None) -> Iterator[Moments]:
    """Yield the moments that each piece of the boundary spans, signed by its direction about the origin.

    A piece beyond ``within_mm`` spans the sector of that radius.
    """
    inner_mm = outline.inner_radius_mm
    for start, end in outline.edges_mm:
        if _is_rim_edge(outline, start, end):
            assert outline.rim_radius_mm is not None
            radius_mm = outline.rim_radius_mm
            yield _sector(radius_mm if within_mm is None else min(radius_mm, within_mm), start, end)
            yield _minus(_sector(inner_mm, start, end))
            continue
        for first, second in _outside(start, end, radius_mm=inner_mm):
            if within_mm is None:
                yield _triangle(first, second)
            else:
                yield from _spanned(first, second, within_mm)
            yield _minus(_sector(inner_mm, first, second))


def _is_rim_edge(outline: Outline, start: Point, end: Point) -> bool:
    """Say whether the edge stands for a piece of the rim: both ends on it, all between within one rim arc."""
    if outline.rim_radius_mm is None:
        return False
    if any(abs(math.hypot(*point) - outline.rim_radius_mm) > RIM_TOLERANCE_MM for point in (start, end)):
        return False
    half_deg = 0.5 * math.degrees(_sweep(start, end))
    middle_deg = math.degrees(math.atan2(start[1], start[0])) + half_deg
    # A flat from one end of the rim to the other has its ends on the rim too, but runs clockwise or outside it.
    return half_deg > 0.0 and any(
        to_deg - from_deg >= 360.0 - _ROUNDING_DEG
        or half_deg - _ROUNDING_DEG
        <= (middle_deg - from_deg) % 360.0
        <= to_deg - from_deg - half_deg + _ROUNDING_DEG
        for from_deg, to_deg in outline.rim_arcs_deg
    )


def _outside(start: Point, end: Point, *, radius_mm: float) -> Iterator[Segment]:
    """Yield the pieces of a straight edge that lie outside the circle about the origin (none, one or two)."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    # |start + t*d|^2 = radius^2 is a quadratic in t; the edge is inside between its roots.
    a = dx * dx + dy * dy
    half_b = start[0] * dx + start[1] * dy
    c = start[0] ** 2 + start[1] ** 2 - radius_mm**2
    discriminant = half_b * half_b - a * c
    if radius_mm <= 0.0 or discriminant <= 0.0:
        yield start, end
        return
    root = math.sqrt(discriminant)
    enters, leaves = (-half_b - root) / a, (-half_b + root) / a

    def at(share: float) -> Point:
        return start[0] + share * dx, start[1] + share * dy

    if enters > 0.0:
        yield start, at(min(1.0, enters))
    if leaves < 1.0:
        yield at(max(0.0, leaves)), end


def _spanned(start: Point, end: Point, within_mm: float) -> Iterator[Moments]:
    """Yield what a straight piece spans within a radius: triangles inside it, sectors outside."""
    far = list(_outside(start, end, radius_mm=within_mm))
    if not far and max(math.hypot(*start), math.hypot(*end)) > within_mm:
        far = [(start, end)]
    elif len(far) == 1 and far[0] == (start, end) and _nearest(start, end) < within_mm - 1e-12:
        # _outside hands on an edge that its circle does not meet: it is outside as a whole, or inside
        far = [] if max(math.hypot(*start), math.hypot(*end)) <= within_mm else far
    for first, second in far:
        yield _sector(within_mm, first, second)
    at = start
    for first, second in [*far, (end, end)]:
        if math.dist(at, first) > 0.0:
            yield _triangle(at, first)
        at = second


def _nearest(start: Point, end: Point) -> float:
    """Return how near a straight piece comes to the origin."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    square = dx * dx + dy * dy
    share = 0.0 if square == 0.0 else min(1.0, max(0.0, -(start[0] * dx + start[1] * dy) / square))
    return math.hypot(start[0] + share * dx, start[1] + share * dy)


def _sweep(start: Point, end: Point) -> float:
    """Return the signed angle from one point to another, seen from the origin [rad]."""
    cross = start[0] * end[1] - start[1] * end[0]
    return math.atan2(cross, start[0] * end[0] + start[1] * end[1])


def _triangle(start: Point, end: Point) -> Moments:
    """Moments of the triangle origin, start, end, positive when it runs counter-clockwise.

    With corners 0, p, q: the area is half the cross product, the centroid (p + q)/3, and the mean of x*y over the
    triangle is (2*px*py + 2*qx*qy + px*qy + qx*py)/12 (so the mean of x^2 is (px^2 + qx^2 + px*qx)/6).
    """
    (px, py), (qx, qy) = start, end
    area = 0.5 * (px * qy - py * qx)
    return (
        area,
        area * (px + qx) / 3.0,
        area * (py + qy) / 3.0,
        area * (px * px + qx * qx + px * qx) / 6.0,
        area * (py * py + qy * qy + py * qy) / 6.0,
        area * (2.0 * px * py + 2.0 * qx * qy + px * qy + qx * py) / 12.0,
    )


def _sector(radius_mm: float, start: Point, end: Point) -> Moments:
    """Moments of the sector of that radius between the directions of two points, signed like :func:`_triangle`.

    From the integral of r dr dt: r^2/2 * t; r^3/3 * (sin, -cos); r^4/4 * the integrals of cos^2, sin^2, sin*cos.
    """
    sweep = _sweep(start, end)
    middle = math.atan2(start[1], start[0]) + 0.5 * sweep
    # Differences of sines over a narrow sector cancel; the product form 2*sin(t/2)*cos(middle) does not.
    chord = 2.0 * math.sin(0.5 * sweep)
    double = math.sin(sweep)
    fourth = radius_mm**4 / 8.0
    return (
        0.5 * radius_mm**2 * sweep,
        radius_mm**3 / 3.0 * chord * math.cos(middle),
        radius_mm**3 / 3.0 * chord * math.sin(middle),
        fourth * (sweep + double * math.cos(2.0 * middle)),
        fourth * (sweep - double * math.cos(2.0 * middle)),
        fourth * double * math.sin(2.0 * middle),
    )


def _minus(moments: Moments) -> Moments:
    a, x, y, xx, yy, xy = moments
    return -a, -x, -y, -xx, -yy, -xy
