"""The ring of metal around a slug: to the nearest free surface, whatever that is.

A press fit is only as good as its thinnest ligament.  Free surfaces are the rim, the flanks, and every other bore of the
counterweight: old holes, oil drillings, and the cuts of the same plan.  A neighbouring bore counts as free whether or not it
is filled, which is cautious.  Where the crankshaft's body begins there is metal beyond, no surface.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence

from geometry_profiles.obstacles import rim_hole_corners
from planner.cuts.cut import Cut, Shop
from planner.records import dataclass
from planner.rotor.crankshaft import FILLS, Counterweight, OilDrilling, cone_height_mm
from planner.rotor.obstacles import obstacles_of

Point = tuple[float, float]
_SAME_MM = 1e-6
# a chord of the inner arc lies below the inner radius, a flank's middle well above it
_INNER_SHARE = 1.001


@dataclass(frozen=True, kw_only=True)
class Ring:
    """The largest circle about a slug's axis that is all metal: its diameter [mm], and the surface that ends it."""

    diameter_mm: float
    ends_at: str

    def ligament_mm(self, slug_diameter_mm: float) -> float:
        """Return the least metal between the slug and a free surface [mm]."""
        return 0.5 * (self.diameter_mm - slug_diameter_mm)


def ring_about(
    counterweight: Counterweight,
    slug: Cut,
    *,
    others: Sequence[Cut],
    shop: Shop,
    oil_drillings: Sequence[OilDrilling] = (),
) -> Ring:
    """Return the ring of metal about a slug or fill.

    Parameters
    ----------
    counterweight : Counterweight
        With its old holes; a fill's own hole is not counted.
    slug : Cut
        The slug or fill, with its radius.
    others : sequence of Cut
        The other cuts of the plan on this counterweight.
    shop : Shop
        For drills and points.
    oil_drillings : sequence of OilDrilling
        All of the crankshaft's.

    Raises
    ------
    ValueError
        If the cut has no radius.
    """
    if slug.radius_mm is None:
        raise ValueError("a slug has a radius")
    own = math.radians(slug.angle_deg - counterweight.angle_deg)
    centre = slug.radius_mm * math.cos(own), slug.radius_mm * math.sin(own)
    surfaces = [
        *_boundary(counterweight, centre),
        *_old(counterweight, slug, centre, oil_drillings),
        *(
            _cut(each, counterweight, shop, centre)
            for each in others
            if each.kind not in FILLS and not _opposite(each, slug, shop)
        ),
    ]
    nearest, what = min(surfaces)
    return Ring(diameter_mm=2.0 * max(nearest, 0.0), ends_at=what)


def _opposite(cut: Cut, slug: Cut, shop: Shop) -> bool:
    """Whether two cuts from the two faces keep to their own halves: the wall between them is not beside the slug."""
    return (
        shop.opposite_face_holes
        and cut.kind in ("face hole", "slug")
        and not cut.through
        and not slug.through
        and cut.face != slug.face
    )


def _boundary(counterweight: Counterweight, centre: Point) -> Iterator[tuple[float, str]]:
    outline = counterweight.outline
    inner = outline.inner_radius_mm * _INNER_SHARE
    for start, end in outline.edges_mm:
        middle = 0.5 * (start[0] + end[0]), 0.5 * (start[1] + end[1])
        if math.hypot(*middle) <= inner:
            continue
        rim = outline.rim_radius_mm is not None and all(
            math.hypot(*point) > outline.rim_radius_mm * 0.999 for point in (start, end)
        )
        # where the rim is not plain, as far in as it comes anywhere across the thickness
        back = (outline.rim_radius_mm or 0.0) - (counterweight.least_rim_radius_mm or 0.0) if rim else 0.0
        yield _to_segment(centre, start, end) - back, "the rim" if rim else "the flank"


def _old(
    counterweight: Counterweight, slug: Cut, centre: Point, oil_drillings: Sequence[OilDrilling]
) -> Iterator[tuple[float, str]]:
    bare = dataclasses.replace(
        counterweight,
        keep_outs=(),
        round_keep_outs=(),
        existing=tuple(
            hole
            for hole in counterweight.existing
            if not (
                slug.kind in FILLS
                and hole.kind == "face hole"
                and hole.radius_mm is not None
                and abs(hole.radius_mm - (slug.radius_mm or 0.0)) < _SAME_MM
                and abs((hole.angle_deg - slug.angle_deg + 180.0) % 360.0 - 180.0) < _SAME_MM
            )
        ),
    )
    # a clearance is a rule, not metal that is missing
    passages = [dataclasses.replace(each, clearance_mm=0.0) for each in oil_drillings]
    for obstacle in obstacles_of(bare, oil_drillings=passages):
        yield _to_points(centre, obstacle.points_mm) - obstacle.radius_mm, f"the {obstacle.what}"


def _cut(cut: Cut, counterweight: Counterweight, shop: Shop, centre: Point) -> tuple[float, str]:
    own = cut.angle_deg - counterweight.angle_deg
    wide = cut.diameter_mm + (0.0 if cut.kind == "slug" else shop.hole_oversize_mm)
    what = f"the {cut.kind} of this plan beside it"
    if cut.kind == "rim hole":
        outline = counterweight.outline
        corners = rim_hole_corners(
            outline.greatest_radius_mm,
            angle_deg=own,
            diameter_mm=wide,
            depth_shoulder_mm=max(cut.depth_shoulder_mm or 0.0, 0.0),
            cone_height_mm=cone_height_mm(diameter_mm=wide, point_angle_deg=shop.point_angle_deg),
        )
        return _to_points(centre, corners), what
    radius = cut.radius_mm or 0.0
    other = radius * math.cos(math.radians(own)), radius * math.sin(math.radians(own))
    return math.dist(centre, other) - 0.5 * wide, what


def _to_points(centre: Point, points: Sequence[Point]) -> float:
    """Return the distance [mm] to a convex area given by its corners, in order or not; 0 inside."""
    if len(points) == 1:
        return math.dist(centre, points[0])
    if len(points) == 2:
        return _to_segment(centre, points[0], points[1])
    import shapely

    return float(shapely.MultiPoint(points).convex_hull.distance(shapely.Point(centre)))


def _to_segment(point: Point, start: Point, end: Point) -> float:
    along = end[0] - start[0], end[1] - start[1]
    length2 = along[0] ** 2 + along[1] ** 2
    share = 0.0
    if length2 > 0.0:
        share = ((point[0] - start[0]) * along[0] + (point[1] - start[1]) * along[1]) / length2
    share = min(1.0, max(0.0, share))
    return math.dist(point, (start[0] + share * along[0], start[1] + share * along[1]))
