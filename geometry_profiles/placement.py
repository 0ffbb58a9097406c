"""Does this hole fit?  Walls from new holes to an outline, to what is already there and to each other.

Everything is judged in the plane normal to the shaft axis, at full depth: a rim hole is its section as drawn
(:func:`~geometry_profiles.obstacles.rim_hole_corners`), a face hole its circle.  Circles are exact: a wall to
one is the distance to its centre less its radius, never the distance to a many-sided polygon.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import KW_ONLY, dataclass
from typing import TYPE_CHECKING, Literal

from geometry_profiles.distances import Shape, convex_hull, wall_between_mm
from geometry_profiles.obstacles import rim_hole_corners
from geometry_profiles.outline import RIM_TOLERANCE_MM, Obstacle, Outline

if TYPE_CHECKING:
    from shapely import Polygon

TOLERANCE_MM = 1e-6
"""A wall may fall short of what is needed by rounding, not by more [mm]."""


class PlacementError(ValueError):
    """A hole, a thickness or a wall can't be as it was given."""


@dataclass(frozen=True)
class HoleSection:
    """A new hole as far as its place is concerned.

    Attributes
    ----------
    kind : "rim" or "face"
        Drilled from the rim toward the axis, or parallel to the axis (a slug's bore too).
    angle_deg : float
        Relative to the outline's +x [deg].
    diameter_mm : float
        Diameter of the hole, oversize included [mm].
    depth_shoulder_mm : float or None
        Depth of the full diameter [mm], from the rim on the hole's axis or from the face; None: through.
    cone_height_mm : float
        How far the tip lies beyond the shoulder [mm]; of no account for a through hole.
    radius_mm : float or None
        Of a face hole's axis [mm]; None for a rim hole.
    beside_mm : float
        How far a rim hole's axis passes beside the shaft axis, counter-clockwise [mm].
    outer_radius_mm, mouth_radius_mm : float or None
        Of a rim hole in a rim that is not plain: the radius at which its section begins, from which its depth counts here,
        and the rim's where its axis enters [mm]; None: the outline's rim radius.
    extent_mm, land_mm, mouth_mm : tuple of (from, to) or None
        Of a rim hole: from where to where it reaches along the shaft, where there is metal beside its mouth, and where the
        mouth is, from the middle plane [mm]; None: in the middle, from face to face.
    open_to : "front", "rear" or None
        From which face a face hole is drilled.
    name : str
        How a message calls it; empty: after its kind, diameter and angle.

    Raises
    ------
    PlacementError
        If a size is missing, not a number or out of range.
    """

    kind: Literal["rim", "face"]
    _: KW_ONLY
    angle_deg: float
    diameter_mm: float
    depth_shoulder_mm: float | None = None
    cone_height_mm: float = 0.0
    radius_mm: float | None = None
    beside_mm: float = 0.0
    outer_radius_mm: float | None = None
    mouth_radius_mm: float | None = None
    extent_mm: tuple[float, float] | None = None
    land_mm: tuple[float, float] | None = None
    mouth_mm: tuple[float, float] | None = None
    open_to: Literal["front", "rear"] | None = None
    name: str = ""

    def __post_init__(self) -> None:
        if self.kind not in ("rim", "face"):
            raise PlacementError(f"a hole has kind `{self.kind}`, rim or face is allowed")
        if not math.isfinite(self.angle_deg):
            raise PlacementError(f"{self.called} has angle {self.angle_deg}, a finite number is needed")
        if not (math.isfinite(self.diameter_mm) and self.diameter_mm > 0.0):
            raise PlacementError(f"{self.called} has diameter {self.diameter_mm} mm, more than 0 is allowed")
        for what, value in (("depth", self.depth_shoulder_mm), ("cone height", self.cone_height_mm)):
            if value is not None and not (math.isfinite(value) and value >= 0.0):
                raise PlacementError(f"{self.called} has {what} {value} mm, 0 or more is allowed")
        if self.kind == "rim" and self.depth_shoulder_mm is None:
            raise PlacementError(f"{self.called} has no depth; a rim hole is never through")
        if self.kind == "rim" and self.radius_mm is not None:
            raise PlacementError(f"{self.called} has a radius; a rim hole starts at the rim")
        if self.kind == "face" and not (
            self.radius_mm is not None and math.isfinite(self.radius_mm) and self.radius_mm >= 0.0
        ):
            raise PlacementError(f"{self.called} has radius {self.radius_mm} mm, 0 or more is needed")

    @property
    def called(self) -> str:
        """The hole's name for a message."""
        return self.name or f"{self.diameter_mm:.4g} mm {self.kind} hole at {self.angle_deg:+.4g} degrees"


@dataclass(frozen=True, kw_only=True)
class PlacementFault:
    """One reason why a hole does not fit.

    Attributes
    ----------
    hole : str
        Name of the hole.
    with_what : str
        The partner: a flank, the rim, the faces, an obstacle or another hole.
    wall_mm : float
        Wall as found [mm]; negative: how far one reaches into the other.
    needed_mm : float
        Wall that is needed [mm].
    text : str
        Both partners and both walls in words.
    """

    hole: str
    with_what: str
    wall_mm: float
    needed_mm: float
    text: str


def placement_faults(
    outline: Outline,
    *,
    thickness_mm: float,
    holes: Sequence[HoleSection],
    obstacles: Sequence[Obstacle] | Callable[[HoleSection], Sequence[Obstacle]] = (),
    least_wall_mm: float,
    least_rim_radius_mm: float | None = None,
    may_stand_opposite: Callable[[HoleSection, HoleSection], bool] | None = None,
) -> tuple[PlacementFault, ...]:
    """Return every reason why these new holes do not fit; an empty tuple: they fit.

    Parameters
    ----------
    outline : Outline
        The counterweight's outline.
    thickness_mm : float
        Its thickness along the shaft [mm].
    holes : sequence of HoleSection
        The new holes, all of them: each is held against each other.
    obstacles : sequence of Obstacle, or callable
        Existing holes, keep-outs and oil drillings; pieces with one name give one fault, the worst.  A callable is asked
        hole by hole.
    least_wall_mm : float
        Wall to keep [mm].
    least_rim_radius_mm : float, optional
        To which face holes keep the wall, where the rim is not plain [mm].
    may_stand_opposite : callable, optional
        Asked of two face holes: whether they may stand opposite one another, from the two faces.

    Returns
    -------
    tuple of PlacementFault
        Hole by hole, each with its outline, its faces, its obstacles; then pairs of holes.

    Raises
    ------
    PlacementError
        If the thickness is not positive, the wall is negative, or a rim hole is as wide as the rim.
    """
    if not (math.isfinite(thickness_mm) and thickness_mm > 0.0):
        raise PlacementError(f"the thickness is {thickness_mm} mm, more than 0 is allowed")
    if not (math.isfinite(least_wall_mm) and least_wall_mm >= 0.0):
        raise PlacementError(f"the least wall is {least_wall_mm} mm, 0 or more is allowed")
    found: list[PlacementFault] = []
    for hole in holes:
        if hole.kind == "rim":
            if outline.rim_radius_mm is None or not outline.rim_arcs_deg:
                text = f"{hole.called}: `{outline.name}` has no rim that a hole could be drilled from"
                found.append(
                    PlacementFault(hole=hole.called, with_what="rim", wall_mm=0.0, needed_mm=0.0, text=text)
                )
                continue
            if hole.diameter_mm >= 2.0 * outline.rim_radius_mm:
                raise PlacementError(
                    f"{hole.called} has diameter {hole.diameter_mm:g} mm, less than twice the rim radius "
                    f"{outline.rim_radius_mm:g} mm is allowed"
                )
            found.extend(_rim_hole_faults(hole, outline))
        else:
            found.extend(
                _face_hole_faults(hole, outline, least_wall_mm=least_wall_mm, rim_mm=least_rim_radius_mm)
            )
        found.extend(_flank_faults(hole, outline, least_wall_mm=least_wall_mm))
        found.extend(_thickness_faults(hole, thickness_mm=thickness_mm, least_wall_mm=least_wall_mm))
        around = obstacles(hole) if callable(obstacles) else obstacles
        found.extend(_obstacle_faults(hole, outline, around, least_wall_mm=least_wall_mm))
    placed = [hole for hole in holes if hole.kind == "face" or outline.rim_radius_mm is not None]
    for first, second in itertools.combinations(placed, 2):
        if _apart_along_shaft(first, second.extent_mm, least_wall_mm) and second.kind == "rim":
            continue
        if may_stand_opposite is not None and may_stand_opposite(first, second):
            continue
        wall_mm = wall_between_mm(_shape(first, outline), _shape(second, outline))
        found.extend(_short(first, second.called, wall_mm, least_wall_mm))
    return tuple(found)


def section_polygon(hole: HoleSection, outline: Outline) -> Polygon:
    """Return the hole's section [mm] to look at or to cut with; a circle as 128 chords (up to 0.03 % inside).

    Raises
    ------
    PlacementError
        If a rim hole is asked for on an outline without a rim radius.
    """
    points, radius_mm = _shape(hole, outline)
    hull = convex_hull(points)
    return hull.buffer(radius_mm, quad_segs=32) if radius_mm > 0.0 else hull


def obstacle_polygon(obstacle: Obstacle) -> Polygon:
    """Return the obstacle's area [mm] to look at; roundings as 32 chords a quarter."""
    hull = convex_hull(obstacle.points_mm)
    return hull.buffer(obstacle.radius_mm, quad_segs=32) if obstacle.radius_mm > 0.0 else hull


# --- one rule each -------------------------------------------------------------------------------------------


def _rim_hole_faults(hole: HoleSection, outline: Outline) -> Iterator[PlacementFault]:
    """The whole mouth on the rim; no tip below the inner radius."""
    rim_mm = outline.rim_radius_mm
    assert rim_mm is not None
    assert hole.depth_shoulder_mm is not None
    mouth_mm = rim_mm if hole.mouth_radius_mm is None else hole.mouth_radius_mm
    spare_mm = _mouth_spare_mm(hole, outline, rim_radius_mm=mouth_mm)
    if spare_mm < -TOLERANCE_MM:
        text = (
            f"{hole.called}: its mouth reaches {_number(-spare_mm)} mm past the end of the rim, "
            "all of it must lie on the rim"
        )
        yield PlacementFault(hole=hole.called, with_what="rim", wall_mm=spare_mm, needed_mm=0.0, text=text)
    begins_mm = rim_mm if hole.outer_radius_mm is None else hole.outer_radius_mm
    tip_radius_mm = begins_mm - hole.depth_shoulder_mm - hole.cone_height_mm
    yield from _below_inner(hole, outline, what="tip", radius_mm=tip_radius_mm)


def _face_hole_faults(
    hole: HoleSection, outline: Outline, *, least_wall_mm: float, rim_mm: float | None = None
) -> Iterator[PlacementFault]:
    """The bore inside the outline, a wall to the rim, nothing below the inner radius."""
    import shapely

    assert hole.radius_mm is not None
    half_mm = 0.5 * hole.diameter_mm
    if hole.radius_mm > outline.inner_radius_mm:
        # Chords lie inside their arc, so a centre may stand outside the polygon by their tolerance and still
        # be inside the outline; the rim's own rule below is exact.
        (centre,), _ = _shape(hole, outline)
        outside_mm = float(shapely.distance(outline.polygon(), shapely.Point(centre)))
        if outside_mm > RIM_TOLERANCE_MM:
            text = f"{hole.called}: its centre lies {_number(outside_mm)} mm outside the outline"
            yield PlacementFault(
                hole=hole.called,
                with_what="outline",
                wall_mm=-outside_mm - half_mm,
                needed_mm=least_wall_mm,
                text=text,
            )
    if outline.rim_radius_mm is not None:
        wall_mm = (outline.rim_radius_mm if rim_mm is None else rim_mm) - hole.radius_mm - half_mm
        yield from _short(hole, "the rim", wall_mm, least_wall_mm)
    yield from _below_inner(hole, outline, what="bore", radius_mm=hole.radius_mm - half_mm)


def _below_inner(
    hole: HoleSection, outline: Outline, *, what: str, radius_mm: float
) -> Iterator[PlacementFault]:
    """No tip or bore below the inner radius; no wall is kept to it."""
    over_mm = radius_mm - outline.inner_radius_mm
    if over_mm < -TOLERANCE_MM:
        text = (
            f"{hole.called}: its {what} reaches radius {_number(radius_mm)} mm, {_number(-over_mm)} mm below "
            f"the inner radius {outline.inner_radius_mm:.6g} mm"
        )
        yield PlacementFault(
            hole=hole.called, with_what="inner radius", wall_mm=over_mm, needed_mm=0.0, text=text
        )


def _flank_faults(hole: HoleSection, outline: Outline, *, least_wall_mm: float) -> Iterator[PlacementFault]:
    """A wall to every flank."""
    shape = _shape(hole, outline)
    for index, flank in enumerate(outline.flanks_mm):
        wall_mm = wall_between_mm(shape, (flank, 0.0))
        yield from _short(hole, f"the {outline.flank_name(index)}", wall_mm, least_wall_mm)


def _thickness_faults(
    hole: HoleSection, *, thickness_mm: float, least_wall_mm: float
) -> Iterator[PlacementFault]:
    """A rim hole between both faces; a blind face hole above the far face."""
    if hole.kind == "rim":
        wall_mm = 0.5 * (thickness_mm - hole.diameter_mm)
        if hole.extent_mm is not None:
            half_mm = 0.5 * thickness_mm
            wall_mm = min(hole.extent_mm[0] + half_mm, half_mm - hole.extent_mm[1])
        yield from _short(hole, "faces", wall_mm, least_wall_mm, wall="wall to either face")
        if hole.land_mm is not None and hole.extent_mm is not None and hole.mouth_mm is not None:
            wall_mm = min(hole.mouth_mm[0] - hole.land_mm[0], hole.land_mm[1] - hole.mouth_mm[1])
            yield from _short(
                hole, "step", wall_mm, least_wall_mm, wall="wall to the step of the rim beside it"
            )
    elif hole.depth_shoulder_mm is not None:
        wall_mm = thickness_mm - hole.depth_shoulder_mm - hole.cone_height_mm
        yield from _short(hole, "far face", wall_mm, least_wall_mm, wall="wall below its tip")


def _obstacle_faults(
    hole: HoleSection, outline: Outline, obstacles: Sequence[Obstacle], *, least_wall_mm: float
) -> Iterator[PlacementFault]:
    """A wall to everything that is there; of the pieces of one thing the worst."""
    shape = _shape(hole, outline)
    worst: dict[str, tuple[float, float]] = {}
    for obstacle in obstacles:
        if _apart_along_shaft(hole, obstacle.extent_mm, least_wall_mm):
            continue
        wall_mm = wall_between_mm(shape, (obstacle.points_mm, obstacle.radius_mm))
        needed_mm = least_wall_mm if obstacle.clearance_mm is None else obstacle.clearance_mm
        before = worst.get(obstacle.what)
        if before is None or wall_mm - needed_mm < before[0] - before[1]:
            worst[obstacle.what] = wall_mm, needed_mm
    for what, (wall_mm, needed_mm) in worst.items():
        yield from _short(hole, what, wall_mm, needed_mm)


def _apart_along_shaft(hole: HoleSection, other: tuple[float, float] | None, least_wall_mm: float) -> bool:
    """Whether two rim holes are the wall apart along the shaft."""
    if hole.kind != "rim" or hole.extent_mm is None or other is None:
        return False
    gap_mm = max(other[0] - hole.extent_mm[1], hole.extent_mm[0] - other[1])
    return gap_mm >= least_wall_mm - TOLERANCE_MM


def _short(
    hole: HoleSection, partner: str, wall_mm: float, needed_mm: float, *, wall: str | None = None
) -> Iterator[PlacementFault]:
    """Yield a fault if the wall is short; ``wall`` says in words which wall, when not the one to the partner."""
    if wall_mm >= needed_mm - TOLERANCE_MM:
        return
    if wall is None and wall_mm < -TOLERANCE_MM:
        text = f"{hole.called}: runs {_number(-wall_mm)} mm into {partner}, needed wall {needed_mm:.2f} mm"
    else:
        found, needed = _number_pair(wall_mm, needed_mm)
        text = f"{hole.called}: {wall or f'wall to {partner}'} is {found} mm, needed {needed} mm"
    with_what = partner.removeprefix("the ")
    yield PlacementFault(
        hole=hole.called, with_what=with_what, wall_mm=wall_mm, needed_mm=needed_mm, text=text
    )


def _shape(hole: HoleSection, outline: Outline) -> Shape:
    """Return the hole's section as a hull and a growth."""
    if hole.kind == "face":
        assert hole.radius_mm is not None
        angle = math.radians(hole.angle_deg)
        centre = (hole.radius_mm * math.cos(angle), hole.radius_mm * math.sin(angle))
        return (centre,), 0.5 * hole.diameter_mm
    if outline.rim_radius_mm is None:
        raise PlacementError(f"{hole.called}: `{outline.name}` has no rim radius to drill from")
    assert hole.depth_shoulder_mm is not None
    corners = rim_hole_corners(
        outline.rim_radius_mm if hole.outer_radius_mm is None else hole.outer_radius_mm,
        angle_deg=hole.angle_deg,
        diameter_mm=hole.diameter_mm,
        depth_shoulder_mm=hole.depth_shoulder_mm,
        cone_height_mm=hole.cone_height_mm,
        beside_mm=hole.beside_mm,
    )
    return corners, 0.0


def _mouth_spare_mm(hole: HoleSection, outline: Outline, *, rim_radius_mm: float) -> float:
    """Return how much rim is left beside the mouth, on the nearer side, along the rim [mm]; negative: missing."""
    half_mm = 0.5 * hole.diameter_mm
    # beside the radius the mouth lies to one side: its middle and half its width, as angles
    ends_deg = [
        math.degrees(math.asin(max(-1.0, min(1.0, (hole.beside_mm + side * half_mm) / rim_radius_mm))))
        for side in (-1.0, 1.0)
    ]
    half_mouth_deg = 0.5 * (ends_deg[1] - ends_deg[0])
    middle_deg = hole.angle_deg + 0.5 * (ends_deg[0] + ends_deg[1])
    spare_deg = -math.inf
    for start_deg, end_deg in outline.rim_arcs_deg:
        if end_deg - start_deg >= 360.0 - 1e-9:
            return math.inf
        after_start_deg = (middle_deg - start_deg) % 360.0
        # Just before an arc's start the remainder is near 360: that side is tried too.
        for offset_deg in (after_start_deg, after_start_deg - 360.0):
            spare_deg = max(
                spare_deg,
                min(offset_deg - half_mouth_deg, end_deg - start_deg - offset_deg - half_mouth_deg),
            )
    return math.radians(spare_deg) * rim_radius_mm


def _number(value_mm: float) -> str:
    """Return a length for a message: hundredths, more digits where hundredths would read 0."""
    for digits in range(2, 7):
        if abs(value_mm) >= 0.5 * 10.0**-digits:
            return f"{value_mm:.{digits}f}"
    return f"{value_mm:.2f}"


def _number_pair(found_mm: float, needed_mm: float) -> tuple[str, str]:
    """Return found and needed wall with as many digits as it takes to tell them apart."""
    for digits in range(2, 7):
        pair = f"{found_mm:.{digits}f}", f"{needed_mm:.{digits}f}"
        if pair[0] != pair[1]:
            return pair
    return pair
