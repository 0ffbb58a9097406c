"""A counterweight's outline, checked when it is made, and what may stand in a hole's way.

Own frame of an outline: the shaft axis is the origin, +x is the counterweight's centre line, angles grow
counter-clockwise from +x as seen from the front of the crankshaft.  All lengths in mm, all angles in degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shapely import Polygon

Point = tuple[float, float]
Segment = tuple[Point, Point]

LEAST_SPACING_MM = 1e-3
"""Neighbouring boundary points closer than this are taken for one point given twice [mm]."""

RIM_TOLERANCE_MM = 0.05
"""A corner this close to the rim radius lies on the rim; an edge whose arc bulges by no more is rim [mm]."""


class OutlineError(ValueError):
    """An outline, or something that stands in a hole's way, can't be as it was given."""


@dataclass(frozen=True)
class Outline:
    """A closed boundary with its rim, its inner radius and the edges to which a wall is kept.

    Immutable and hashable.  Use the functions of :mod:`geometry_profiles.shapes` to make one.

    Attributes
    ----------
    name : str
        What it is, for messages.
    rim_radius_mm : float or None
        Outer radius about the shaft axis from which rim holes are drilled [mm]; None: no rim, no rim holes.
    inner_radius_mm : float
        Where the crankshaft's body begins [mm]: no wall is kept to it, but no tip or bore passes below it.
    boundary_mm : tuple of (x, y), shape (n, 2)
        Corners, counter-clockwise, not closed twice [mm]; arcs as chords.
    flanks_mm : tuple of ((x, y), (x, y))
        Straight edges to which a wall is kept [mm] (a fan: two rays from the axis to the rim).
    rim_arcs_deg : tuple of (from, to)
        Where the boundary is the rim, counter-clockwise from/to [deg], ``to > from``; (-180, 180) for a disc.
    half_angle_deg : float or None
        Half of a fan's opening angle [deg]; None for other shapes.
    flank_names : tuple of str
        One name per flank for messages, or empty: named after their angle or ends.

    Raises
    ------
    OutlineError
        If the boundary is not one simple counter-clockwise ring in millimetres, or the radii contradict it.
    """

    name: str
    rim_radius_mm: float | None
    inner_radius_mm: float
    boundary_mm: tuple[Point, ...]
    flanks_mm: tuple[Segment, ...] = ()
    rim_arcs_deg: tuple[tuple[float, float], ...] = ()
    half_angle_deg: float | None = None
    flank_names: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        boundary = tuple(_point(point, owner=self._called) for point in self.boundary_mm)
        flanks = tuple(
            (_point(start, owner=self._called), _point(end, owner=self._called))
            for start, end in self.flanks_mm
        )
        arcs = tuple((float(start), float(end)) for start, end in self.rim_arcs_deg)
        # Lists and whole numbers are welcome, but the record itself stays hashable.
        for field_name, value in (
            ("boundary_mm", boundary),
            ("flanks_mm", flanks),
            ("rim_arcs_deg", arcs),
            ("flank_names", tuple(self.flank_names)),
        ):
            object.__setattr__(self, field_name, value)
        self._check_boundary()
        self._check_radii()
        self._check_flanks_and_arcs()

    @property
    def _called(self) -> str:
        return f"outline `{self.name}`"

    @property
    def greatest_radius_mm(self) -> float:
        """The rim radius, or where there is no rim the farthest corner's distance from the axis [mm]."""
        if self.rim_radius_mm is not None:
            return self.rim_radius_mm
        return max(math.hypot(x, y) for x, y in self.boundary_mm)

    @property
    def edges_mm(self) -> tuple[Segment, ...]:
        """The boundary's straight edges, in order [mm]."""
        return tuple(zip(self.boundary_mm, self.boundary_mm[1:] + self.boundary_mm[:1], strict=True))

    @cached_property
    def _polygon(self) -> Polygon:
        import shapely

        polygon = shapely.Polygon(self.boundary_mm)
        shapely.prepare(polygon)
        return polygon

    def polygon(self) -> Polygon:
        """Return the boundary as a shapely polygon (made once) [mm]."""
        return self._polygon

    def flank_name(self, index: int) -> str:
        """Return how a message calls that flank, for example ``flank at +58 degrees``."""
        if self.flank_names:
            return self.flank_names[index]
        (x1, y1), (x2, y2) = self.flanks_mm[index]
        if math.hypot(x1, y1) < LEAST_SPACING_MM:
            return f"flank at {math.degrees(math.atan2(y2, x2)):+.4g} degrees"
        return f"edge from ({x1:.4g}, {y1:.4g}) to ({x2:.4g}, {y2:.4g})"

    def _check_boundary(self) -> None:
        import shapely

        corners = self.boundary_mm
        if len(corners) < 3:
            raise OutlineError(f"{self._called} has {len(corners)} points, at least 3 are needed")
        if math.dist(corners[0], corners[-1]) < LEAST_SPACING_MM:
            raise OutlineError(
                f"{self._called} is closed twice: its last point repeats the first, {_text(corners[0])}; "
                "leave the last one out"
            )
        for index, (start, end) in enumerate(self.edges_mm[:-1]):
            if math.dist(start, end) < LEAST_SPACING_MM:
                raise OutlineError(
                    f"{self._called} has point {index + 2} {_text(end)} less than {LEAST_SPACING_MM} mm "
                    f"after point {index + 1}; leave one of them out"
                )
        polygon = self._polygon
        if not polygon.is_valid:
            raise OutlineError(f"{self._called} is not a simple ring: {shapely.is_valid_reason(polygon)}")
        if polygon.area <= LEAST_SPACING_MM**2:
            raise OutlineError(f"{self._called} has no area")
        if not polygon.exterior.is_ccw:
            raise OutlineError(f"{self._called} runs clockwise; its points go counter-clockwise")

    def _check_radii(self) -> None:
        inner, rim = self.inner_radius_mm, self.rim_radius_mm
        if not (math.isfinite(inner) and inner >= 0.0):
            raise OutlineError(f"{self._called} has inner radius {inner} mm, 0 or more is allowed")
        if rim is not None:
            if not (math.isfinite(rim) and rim > 0.0):
                raise OutlineError(f"{self._called} has rim radius {rim} mm, more than 0 is allowed")
            for x, y in self.boundary_mm:
                if math.hypot(x, y) > rim + RIM_TOLERANCE_MM:
                    raise OutlineError(
                        f"{self._called} has point {_text((x, y))} at radius {math.hypot(x, y):.3f} mm, "
                        f"outside its rim radius {rim:g} mm"
                    )
        if inner >= self.greatest_radius_mm:
            raise OutlineError(
                f"{self._called} has inner radius {inner:g} mm, less than its outer radius "
                f"{self.greatest_radius_mm:g} mm is allowed"
            )

    def _check_flanks_and_arcs(self) -> None:
        if self.flank_names and len(self.flank_names) != len(self.flanks_mm):
            raise OutlineError(
                f"{self._called} has {len(self.flank_names)} flank names for {len(self.flanks_mm)} flanks"
            )
        for start, end in self.flanks_mm:
            if math.dist(start, end) < LEAST_SPACING_MM:
                raise OutlineError(f"{self._called} has a flank without length at {_text(start)}")
        if self.rim_arcs_deg and self.rim_radius_mm is None:
            raise OutlineError(f"{self._called} has rim arcs but no rim radius")
        for start_deg, end_deg in self.rim_arcs_deg:
            if not 0.0 < end_deg - start_deg <= 360.0 + 1e-9:
                raise OutlineError(
                    f"{self._called} has a rim arc from {start_deg:g} to {end_deg:g} degrees, "
                    "more than 0 and at most 360 degrees counter-clockwise are allowed"
                )
        if self.half_angle_deg is not None and not 0.0 < self.half_angle_deg < 180.0:
            raise OutlineError(
                f"{self._called} has half angle {self.half_angle_deg:g} degrees, between 0 and 180 is allowed"
            )


@dataclass(frozen=True)
class Obstacle:
    """Something that a new hole keeps away from: the convex hull of points, grown by a radius.

    One point and a radius are a disc, two points a capsule (an oil drilling), five points and no radius a rim
    hole's section.

    Attributes
    ----------
    points_mm : tuple of (x, y), shape (n, 2)
        In the outline's own frame [mm].
    radius_mm : float
        Growth of the hull [mm].
    what : str
        How a message calls it; pieces of one thing carry the same text.
    clearance_mm : float or None
        Wall to keep to it [mm]; None: the least wall of the shop.
    extent_mm : tuple of (from, to) or None
        Of a rim hole: from where to where it reaches along the shaft, from the middle plane [mm]; a rim hole that is the
        wall away from there is not in its way.  None: in the way whatever the place along the shaft.

    Raises
    ------
    OutlineError
        If there is no point, a coordinate is not a number, or the radius or clearance is negative.
    """

    points_mm: tuple[Point, ...]
    radius_mm: float
    what: str
    clearance_mm: float | None = None
    extent_mm: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        called = f"obstacle `{self.what}`"
        points = tuple(_point(point, owner=called) for point in self.points_mm)
        object.__setattr__(self, "points_mm", points)
        if not points:
            raise OutlineError(f"{called} has no points, at least 1 is needed")
        if not (math.isfinite(self.radius_mm) and self.radius_mm >= 0.0):
            raise OutlineError(f"{called} has radius {self.radius_mm} mm, 0 or more is allowed")
        clearance = self.clearance_mm
        if clearance is not None and not (math.isfinite(clearance) and clearance >= 0.0):
            raise OutlineError(f"{called} has clearance {clearance} mm, 0 or more is allowed")


def _point(point: Point, *, owner: str) -> Point:
    """Return the point as two floats; OutlineError when it is not two finite numbers."""
    try:
        x, y = (float(value) for value in point)
    except (TypeError, ValueError):
        raise OutlineError(f"{owner} has point {point!r}, two numbers are needed, e.g. (88.0, 0.0)") from None
    if not (math.isfinite(x) and math.isfinite(y)):
        raise OutlineError(f"{owner} has point ({x}, {y}), two finite numbers are needed")
    return x, y


def _text(point: Point) -> str:
    """Return a point for a message."""
    return f"({point[0]:.6g}, {point[1]:.6g})"
