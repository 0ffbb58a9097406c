"""Walls between convex shapes: hulls of points grown by a radius, so that circles are exact."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

from geometry_profiles.outline import Point

Shape = tuple[tuple[Point, ...], float]
"""Points of a convex hull [mm] and by how much it is grown [mm]; one point and a radius are a circle."""


def wall_between_mm(first: Shape, second: Shape) -> float:
    """Return the wall between two shapes [mm]; negative: the shortest shift that would just part them.

    Parameters
    ----------
    first, second : Shape
        Hull points [mm] and growth [mm].
    """
    import shapely

    distance_mm = float(shapely.distance(convex_hull(first[0]), convex_hull(second[0])))
    if distance_mm <= 0.0:
        distance_mm = -_overlap_mm(_corners(first[0]), _corners(second[0]))
    return distance_mm - first[1] - second[1]


@lru_cache(maxsize=4096)
def convex_hull(points_mm: tuple[Point, ...]) -> Any:
    """Return the convex hull of points as a shapely point, line or polygon [mm]."""
    import shapely

    return shapely.MultiPoint(points_mm).convex_hull


def _corners(points_mm: tuple[Point, ...]) -> tuple[Point, ...]:
    """Return the corners of the convex hull in order; a polygon repeats its first one."""
    import shapely

    return tuple((float(x), float(y)) for x, y in shapely.get_coordinates(convex_hull(points_mm)))


def _overlap_mm(first: tuple[Point, ...], second: tuple[Point, ...]) -> float:
    """Return the shortest shift that parts two convex hulls that meet [mm].

    Separating axes: of the normals of all edges of both, the one along which their shadows overlap least.
    """
    least_mm = math.inf
    for ring in (first, second):
        for (x1, y1), (x2, y2) in zip(ring, (*ring[1:], ring[0]), strict=True):
            length_mm = math.hypot(x2 - x1, y2 - y1)
            if length_mm == 0.0:
                continue
            nx, ny = (y2 - y1) / length_mm, (x1 - x2) / length_mm
            along_1 = [nx * x + ny * y for x, y in first]
            along_2 = [nx * x + ny * y for x, y in second]
            least_mm = min(least_mm, max(along_1) - min(along_2), max(along_2) - min(along_1))
    # Two single points that meet have no edges and nothing to overlap.
    return 0.0 if math.isinf(least_mm) else max(0.0, least_mm)
