"""Forms of a rim: how far out the metal reaches at each place across a counterweight's thickness.

Own frame: ``s`` [mm] runs along the shaft from the counterweight's middle plane, growing toward the rear, so the faces
are at ``-thickness/2`` (front) and ``+thickness/2``.  A form is a run of pieces from face to face; a piece is straight
(a land, a bevel, a taper) or a quarter of a circle (a rounding).  Between two pieces the radius may jump: then the
counterweight is a stack of plates.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import KW_ONLY, dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry_profiles.outline import OutlineError

FloatArray = NDArray[np.float64]

STEEPEST_BEVEL_DEG = 80.0
STEEPEST_TAPER_DEG = 30.0
ENTRY_SLOPE_DEG = 60.0
"""A bevel up to this slope is surface that is drilled into; a steeper one counts as a face, to which a wall is kept."""
_SLACK_MM = 1e-9


@dataclass(frozen=True)
class RimPiece:
    """A piece of a rim: radius against the place along the shaft.

    Attributes
    ----------
    from_mm, to_mm : float
        Where it begins and ends along the shaft, from the middle plane [mm].
    from_radius_mm, to_radius_mm : float
        Radius about the shaft axis at either end [mm].
    rounding_mm : float
        0 for a straight piece, else the radius of the circle whose quarter it is [mm]; the circle's middle is level with
        the end of greater radius.
    """

    from_mm: float
    to_mm: float
    from_radius_mm: float
    to_radius_mm: float
    _: KW_ONLY
    rounding_mm: float = 0.0

    @property
    def slope(self) -> float:
        """Growth of the radius per mm along the shaft, of a straight piece."""
        return (self.to_radius_mm - self.from_radius_mm) / (self.to_mm - self.from_mm)

    def radius_mm(self, s_mm: ArrayLike) -> FloatArray:
        """Return the radius at places along the shaft [mm], any shape."""
        s = np.asarray(s_mm, dtype=np.float64)
        if self.rounding_mm == 0.0:
            return np.asarray(self.from_radius_mm + self.slope * (s - self.from_mm))
        rising = self.to_radius_mm > self.from_radius_mm
        middle = self.to_mm if rising else self.from_mm
        top = max(self.from_radius_mm, self.to_radius_mm)
        rho = self.rounding_mm
        return np.asarray(top - rho + np.sqrt(np.maximum(rho * rho - (s - middle) ** 2, 0.0)))


@dataclass(frozen=True)
class RimForm:
    """A rim from the front face to the rear one.

    Use :func:`bevelled`, :func:`tapered`, :func:`rounded`, :func:`stepped` to make one.

    Attributes
    ----------
    name : str
        ``"cylindrical"``, ``"bevelled"``, ``"tapered"``, ``"rounded"`` or ``"stepped"``.
    pieces : tuple of RimPiece
        From front to rear, without gaps.

    Raises
    ------
    OutlineError
        If the pieces do not follow one another or a radius is not above 0.
    """

    name: str
    pieces: tuple[RimPiece, ...]

    def __post_init__(self) -> None:
        if not self.pieces:
            raise OutlineError(f"the {self.name} rim has no pieces")
        for before, after in zip(self.pieces, self.pieces[1:], strict=False):
            if abs(before.to_mm - after.from_mm) > _SLACK_MM:
                raise OutlineError(f"the {self.name} rim has a gap at {before.to_mm:g} mm from the middle")
        for piece in self.pieces:
            numbers = (piece.from_mm, piece.to_mm, piece.from_radius_mm, piece.to_radius_mm)
            if not all(math.isfinite(each) for each in numbers) or piece.to_mm <= piece.from_mm:
                raise OutlineError(f"the {self.name} rim has a piece without width")
            if min(piece.from_radius_mm, piece.to_radius_mm) <= 0.0:
                raise OutlineError(
                    f"the {self.name} rim comes down to radius "
                    f"{min(piece.from_radius_mm, piece.to_radius_mm):.4g} mm; more than 0 is allowed"
                )

    @cached_property
    def breaks_mm(self) -> tuple[float, ...]:
        """Where pieces meet, both faces included [mm]."""
        return (self.pieces[0].from_mm, *(piece.to_mm for piece in self.pieces))

    @property
    def thickness_mm(self) -> float:
        """From face to face [mm]."""
        return self.pieces[-1].to_mm - self.pieces[0].from_mm

    @cached_property
    def greatest_radius_mm(self) -> float:
        """The farthest that the rim reaches [mm]."""
        return max(max(piece.from_radius_mm, piece.to_radius_mm) for piece in self.pieces)

    def piece_at(self, s_mm: float) -> RimPiece:
        """Return the piece at a place along the shaft; at a step the farther reaching one."""
        near = [p for p in self.pieces if p.from_mm - _SLACK_MM <= s_mm <= p.to_mm + _SLACK_MM]
        if not near:
            raise OutlineError(
                f"{s_mm:g} mm from the middle is outside the {self.name} rim, which goes from "
                f"{self.breaks_mm[0]:g} to {self.breaks_mm[-1]:g} mm"
            )
        return max(near, key=lambda piece: float(piece.radius_mm(s_mm)))

    def radius_mm(self, s_mm: float) -> float:
        """Return the radius at a place along the shaft [mm].

        Raises
        ------
        OutlineError
            If the place is beyond a face.
        """
        return float(self.piece_at(s_mm).radius_mm(s_mm))

    def least_radius_mm(self, from_mm: float, to_mm: float) -> float:
        """Return the least radius between two places along the shaft [mm]; pieces have it at their ends."""
        return min(self._ends(from_mm, to_mm))

    def most_radius_mm(self, from_mm: float, to_mm: float) -> float:
        """Return the greatest radius between two places along the shaft [mm]."""
        return max(self._ends(from_mm, to_mm))

    def _ends(self, from_mm: float, to_mm: float) -> list[float]:
        found: list[float] = []
        for piece in self.pieces:
            low, high = max(piece.from_mm, from_mm), min(piece.to_mm, to_mm)
            if low <= high:
                found += [float(piece.radius_mm(low)), float(piece.radius_mm(high))]
        if not found:
            raise OutlineError(f"from {from_mm:g} to {to_mm:g} mm there is no rim")
        return found

    def land_mm(self, s_mm: float) -> tuple[float, float]:
        """Return from where to where along the shaft a rim hole at ``s_mm`` has metal beside it [mm].

        Steps in radius, and bevels steeper than :data:`ENTRY_SLOPE_DEG`, end it as the faces do.
        """
        steep = math.tan(math.radians(ENTRY_SLOPE_DEG)) * (1.0 + 1e-9)

        def ends(piece: RimPiece) -> bool:
            return piece.rounding_mm == 0.0 and abs(piece.slope) > steep

        place = self.pieces.index(self.piece_at(s_mm))
        low, high = self.pieces[place].from_mm, self.pieces[place].to_mm
        for step, at in ((-1, place), (1, place)):
            here = at
            while 0 <= here + step < len(self.pieces):
                this, following = self.pieces[here], self.pieces[here + step]
                mine = this.from_radius_mm if step < 0 else this.to_radius_mm
                theirs = following.to_radius_mm if step < 0 else following.from_radius_mm
                if abs(mine - theirs) > _SLACK_MM or ends(following):
                    break
                here += step
            low = self.pieces[here].from_mm if step < 0 else low
            high = self.pieces[here].to_mm if step > 0 else high
        return low, high

    def turned_to(self, radius_mm: float) -> RimForm | None:
        """Return the form with everything beyond a radius turned off; None where that cuts into a rounding."""
        pieces: list[RimPiece] = []
        for p in self.pieces:
            low, high = sorted((p.from_radius_mm, p.to_radius_mm))
            if high <= radius_mm:
                pieces.append(p)
            elif low >= radius_mm:
                pieces.append(RimPiece(p.from_mm, p.to_mm, radius_mm, radius_mm))
            elif p.rounding_mm:
                return None
            else:
                at = p.from_mm + (radius_mm - p.from_radius_mm) / p.slope
                if p.slope > 0.0:
                    pieces += [
                        RimPiece(p.from_mm, at, p.from_radius_mm, radius_mm),
                        RimPiece(at, p.to_mm, radius_mm, radius_mm),
                    ]
                else:
                    pieces += [
                        RimPiece(p.from_mm, at, radius_mm, radius_mm),
                        RimPiece(at, p.to_mm, radius_mm, p.to_radius_mm),
                    ]
        joined: list[RimPiece] = []
        for p in pieces:
            before = joined[-1] if joined else None
            flat = p.rounding_mm == 0.0 and p.from_radius_mm == p.to_radius_mm
            if (
                before is not None
                and flat
                and before.rounding_mm == 0.0
                and before.from_radius_mm == before.to_radius_mm == p.from_radius_mm
            ):
                joined[-1] = RimPiece(before.from_mm, p.to_mm, p.from_radius_mm, p.from_radius_mm)
            else:
                joined.append(p)
        return RimForm(self.name, tuple(joined))

    def mirrored(self) -> RimForm:
        """Return the form seen from the other end of the shaft: front and rear exchanged."""
        return RimForm(
            self.name,
            tuple(
                RimPiece(-p.to_mm, -p.from_mm, p.to_radius_mm, p.from_radius_mm, rounding_mm=p.rounding_mm)
                for p in reversed(self.pieces)
            ),
        )


def cylindrical(*, outer_radius_mm: float, thickness_mm: float) -> RimForm:
    """Return a plain rim: one radius from face to face [mm]."""
    _check(outer_radius_mm=outer_radius_mm, thickness_mm=thickness_mm)
    half = 0.5 * thickness_mm
    return RimForm("cylindrical", (RimPiece(-half, half, outer_radius_mm, outer_radius_mm),))


def bevelled(
    *,
    outer_radius_mm: float,
    thickness_mm: float,
    front_width_mm: float = 0.0,
    rear_width_mm: float = 0.0,
    front_slope_deg: float = 45.0,
    rear_slope_deg: float = 45.0,
) -> RimForm:
    """Return a rim bevelled on one or both edges; both bevels together may be as wide as the rim (a knife edge).

    Parameters
    ----------
    outer_radius_mm, thickness_mm : float
        Radius of the land between the bevels, and from face to face [mm].
    front_width_mm, rear_width_mm : float
        How far the bevels reach in from either face, along the shaft [mm]; 0: no bevel.
    front_slope_deg, rear_slope_deg : float
        The radius falls by ``tan(slope)`` per mm along the shaft [deg].

    Raises
    ------
    OutlineError
        If a size is out of range, or there is no bevel at all.
    """
    _check(outer_radius_mm=outer_radius_mm, thickness_mm=thickness_mm)
    for name, width, slope in (
        ("front", front_width_mm, front_slope_deg),
        ("rear", rear_width_mm, rear_slope_deg),
    ):
        if not (math.isfinite(width) and width >= 0.0):
            raise OutlineError(f"the {name} bevel is {width} mm wide, 0 or more is allowed")
        if not 0.0 < slope <= STEEPEST_BEVEL_DEG:
            raise OutlineError(
                f"the {name} bevel has slope {slope:g} degrees, more than 0 and at most "
                f"{STEEPEST_BEVEL_DEG:g} is allowed"
            )
    if front_width_mm + rear_width_mm <= 0.0:
        raise OutlineError("a bevelled rim needs a bevel: give the width of the front or the rear one")
    if front_width_mm + rear_width_mm > thickness_mm + _SLACK_MM:
        raise OutlineError(
            f"the bevels are {front_width_mm:g} and {rear_width_mm:g} mm wide, together at most the "
            f"thickness, {thickness_mm:g} mm, is allowed"
        )
    half, land = 0.5 * thickness_mm, float(outer_radius_mm)
    first, last = -half + front_width_mm, half - rear_width_mm
    pieces = []
    if front_width_mm > 0.0:
        low = land - front_width_mm * math.tan(math.radians(front_slope_deg))
        pieces.append(RimPiece(-half, first, low, land))
    if last - first > _SLACK_MM:
        pieces.append(RimPiece(first, last, land, land))
    if rear_width_mm > 0.0:
        low = land - rear_width_mm * math.tan(math.radians(rear_slope_deg))
        pieces.append(RimPiece(pieces[-1].to_mm if pieces else first, half, land, low))
    return RimForm("bevelled", tuple(pieces))


def tapered(*, outer_radius_mm: float, thickness_mm: float, taper_deg: float) -> RimForm:
    """Return a rim whose radius grows evenly from front to rear, by ``tan(taper)`` per mm.

    Parameters
    ----------
    outer_radius_mm, thickness_mm : float
        Radius in the middle plane, and from face to face [mm].
    taper_deg : float
        Slope along the shaft [deg]; negative: the front is the larger.

    Raises
    ------
    OutlineError
        If a size is out of range.
    """
    _check(outer_radius_mm=outer_radius_mm, thickness_mm=thickness_mm)
    if not 0.0 < abs(taper_deg) <= STEEPEST_TAPER_DEG:
        raise OutlineError(
            f"the rim is tapered by {taper_deg:g} degrees, up to {STEEPEST_TAPER_DEG:g} either way and not 0 is allowed"
        )
    half = 0.5 * thickness_mm
    change = half * math.tan(math.radians(taper_deg))
    return RimForm("tapered", (RimPiece(-half, half, outer_radius_mm - change, outer_radius_mm + change),))


def rounded(
    *,
    outer_radius_mm: float,
    thickness_mm: float,
    front_rounding_mm: float = 0.0,
    rear_rounding_mm: float = 0.0,
) -> RimForm:
    """Return a rim whose edges are rounded by a quarter of a circle; both may meet in the middle (a bull nose).

    Parameters
    ----------
    outer_radius_mm, thickness_mm : float
        Radius of the land, and from face to face [mm].
    front_rounding_mm, rear_rounding_mm : float
        Radius of either rounding [mm]; 0: a sharp edge.

    Raises
    ------
    OutlineError
        If a size is out of range, or nothing is rounded.
    """
    _check(outer_radius_mm=outer_radius_mm, thickness_mm=thickness_mm)
    for name, size in (("front", front_rounding_mm), ("rear", rear_rounding_mm)):
        if not (math.isfinite(size) and size >= 0.0):
            raise OutlineError(f"the {name} rounding is {size} mm, 0 or more is allowed")
    if front_rounding_mm + rear_rounding_mm <= 0.0:
        raise OutlineError("a rounded rim needs a rounding: give the front or the rear one")
    if front_rounding_mm + rear_rounding_mm > thickness_mm + _SLACK_MM:
        raise OutlineError(
            f"the roundings are {front_rounding_mm:g} and {rear_rounding_mm:g} mm, together at most the "
            f"thickness, {thickness_mm:g} mm, is allowed"
        )
    half, land = 0.5 * thickness_mm, float(outer_radius_mm)
    first, last = -half + front_rounding_mm, half - rear_rounding_mm
    pieces = []
    if front_rounding_mm > 0.0:
        pieces.append(RimPiece(-half, first, land - front_rounding_mm, land, rounding_mm=front_rounding_mm))
    if last - first > _SLACK_MM:
        pieces.append(RimPiece(first, last, land, land))
    if rear_rounding_mm > 0.0:
        start = pieces[-1].to_mm if pieces else first
        pieces.append(RimPiece(start, half, land, land - rear_rounding_mm, rounding_mm=rear_rounding_mm))
    return RimForm("rounded", tuple(pieces))


def stepped(plates: Sequence[tuple[float, float]]) -> RimForm:
    """Return the rim of a counterweight that is a stack of plates.

    Parameters
    ----------
    plates : sequence of (thickness, outer radius), shape (n, 2)
        From front to rear [mm].

    Raises
    ------
    OutlineError
        If there are fewer than two plates, or a size is not positive.
    """
    if len(plates) < 2:
        raise OutlineError(f"a stepped rim has {len(plates)} plates, at least 2 are needed")
    for thickness, radius in plates:
        _check(outer_radius_mm=radius, thickness_mm=thickness)
    total = sum(thickness for thickness, _ in plates)
    pieces, at = [], -0.5 * total
    for index, (thickness, radius) in enumerate(plates):
        end = 0.5 * total if index == len(plates) - 1 else at + thickness
        pieces.append(RimPiece(at, end, float(radius), float(radius)))
        at = end
    return RimForm("stepped", tuple(pieces))


def _check(*, outer_radius_mm: float, thickness_mm: float) -> None:
    for name, value in (("outer radius", outer_radius_mm), ("thickness", thickness_mm)):
        if not (math.isfinite(value) and value > 0.0):
            raise OutlineError(f"the rim has {name} {value} mm, more than 0 is allowed")
