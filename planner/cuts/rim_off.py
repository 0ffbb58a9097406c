"""Metal taken off the rim: turned or milled down over a sector, a flat, a bevelled edge; both ways.

Across the thickness every plane loses a figure with an elementary moment; they are added up along the shaft, piece by
piece of the rim (Gauss-Legendre).  R(s) the rim's radius at a place s, 2b the sector's angle, all about the cut's own ray:

============ =======================================================================================================
rim turned   ring sector from r to R: area ``b (R^2 - r^2)``, moment ``2/3 sin(b) (R^3 - r^3)``
flat         segment beyond a chord q from the axis: area ``R^2 (c - sin c cos c)``, ``cos c = q/R``; moment
             ``2/3 (R^2 - q^2)^(3/2)``
bevel        ring sector from ``R - x tan(slope)`` to R, x from the bevel's inner end to the face
============ =======================================================================================================

Circle geometry, any handbook's ring sector and segment; checked against a solid kernel.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np

from geometry_profiles.rims import RimForm
from planner.cuts.rim_form_hole import HoleMoments
from planner.cuts.solid import FloatArray, checked_positive, root_of_increasing
from planner.errors import InputError
from planner.rotor.crankshaft import CutKind, Face

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(40)
MOST_SECTOR_DEG = 360.0


def rim_cut_moments(
    kind: CutKind,
    *,
    form: RimForm,
    off_mm: float,
    sector_deg: float | None = None,
    slope_deg: float | None = None,
    face: Face = "front",
) -> HoleMoments:
    """Return what a cut of the rim of any kind takes off, ``off_mm`` off its greatest radius.

    Raises
    ------
    InputError
        If a size is missing or out of range.
    """
    if kind == "flat":
        return flat(form=form, off_mm=off_mm)
    if sector_deg is None:
        raise InputError(f"a {kind} has no sector", hint="give the whole angle that it goes over")
    if kind == "rim turning":
        return rim_turned(form=form, off_mm=off_mm, sector_deg=sector_deg)
    if kind != "bevel" or slope_deg is None:
        raise InputError(f"a {kind} has no slope", hint="give the angle by which the radius falls")
    off = float(checked_positive(off_mm, "depth", "mm"))
    return edge_bevel(
        form=form,
        width_mm=off / math.tan(math.radians(slope_deg)),
        slope_deg=slope_deg,
        sector_deg=sector_deg,
        face=face,
    )


def flat_half_angle_deg(*, greatest_radius_mm: float, off_mm: float) -> float:
    """Return half the angle that a flat takes of the rim [deg]."""
    return math.degrees(math.acos(max(-1.0, min(1.0, 1.0 - off_mm / greatest_radius_mm))))


def rim_turned(*, form: RimForm, off_mm: float, sector_deg: float) -> HoleMoments:
    """Return what turning or milling the rim down over a sector takes off.

    Parameters
    ----------
    form : RimForm
        The rim before.
    off_mm : float
        How far below the rim's greatest radius it ends [mm]; where it lies lower already nothing goes.
    sector_deg : float
        Angle of the sector, its middle on the cut's ray, up to a full turn [deg]; the walls at its ends are radial.

    Raises
    ------
    InputError
        If a size is out of range.
    """
    off = float(checked_positive(off_mm, "depth", "mm"))
    half = _half_sector(sector_deg)
    low = form.greatest_radius_mm - off
    if low <= 0.0:
        raise InputError(
            f"{off:g} mm off a rim of radius {form.greatest_radius_mm:g} mm leaves nothing",
            hint="the depth is counted on the radius; check its unit",
        )
    return _summed(form, lambda R, s: _ring(np.minimum(R, low), R, half), cut_at=low)


def rim_turned_off_mm(*, form: RimForm, first_moment_mm4: float, sector_deg: float) -> float:
    """Return how far a rim has to be turned down over a sector for a first moment [mm].

    Raises
    ------
    InputError
        If a size is out of range, or the sector can't give as much.
    """
    wanted = float(checked_positive(first_moment_mm4, "wanted first moment", "mm4"))
    most = form.greatest_radius_mm * (1.0 - 1e-9)
    greatest = rim_turned(form=form, off_mm=most, sector_deg=sector_deg).radial_mm4
    _check_reachable(wanted, greatest, "sector", "take a wider sector")
    return root_of_increasing(
        lambda off: rim_turned(form=form, off_mm=off, sector_deg=sector_deg).radial_mm4 - wanted, 1e-9, most
    )


def rim_turned_sector_deg(*, form: RimForm, first_moment_mm4: float, off_mm: float) -> float:
    """Return over which sector a rim has to be turned down by a depth for a first moment [deg], up to half a turn.

    Raises
    ------
    InputError
        If a size is out of range, or half a turn is not enough.
    """
    wanted = float(checked_positive(first_moment_mm4, "wanted first moment", "mm4"))
    half_turn = rim_turned(form=form, off_mm=off_mm, sector_deg=180.0).radial_mm4
    _check_reachable(
        wanted,
        half_turn,
        "half a turn",
        "turn it down farther; more than half a turn takes off what it is to leave",
    )
    return 2.0 * math.degrees(math.asin(min(1.0, wanted / half_turn)))


def flat(*, form: RimForm, off_mm: float) -> HoleMoments:
    """Return what milling a flat across the rim takes off: everything beyond a chord.

    Parameters
    ----------
    form : RimForm
        The rim before.
    off_mm : float
        How far the flat lies below the rim's greatest radius, on the cut's ray [mm].

    Raises
    ------
    InputError
        If a size is out of range.
    """
    off = float(checked_positive(off_mm, "depth", "mm"))
    q = form.greatest_radius_mm - off
    if q <= 0.0:
        raise InputError(
            f"a flat {off:g} mm below a rim of radius {form.greatest_radius_mm:g} mm passes the shaft axis",
            hint="the depth is counted on the radius; check its unit",
        )

    def segment(R: FloatArray, s: FloatArray) -> tuple[FloatArray, FloatArray]:
        inside = np.maximum(R * R - q * q, 0.0)
        c = np.arccos(np.minimum(q / np.maximum(R, q), 1.0))
        return np.where(q < R, R * R * (c - np.sin(c) * np.cos(c)), 0.0), 2.0 / 3.0 * inside**1.5

    return _summed(form, segment, cut_at=q)


def flat_off_mm(*, form: RimForm, first_moment_mm4: float) -> float:
    """Return how deep a flat has to be for a first moment [mm].

    Raises
    ------
    InputError
        If a flat can't give as much.
    """
    wanted = float(checked_positive(first_moment_mm4, "wanted first moment", "mm4"))
    most = form.greatest_radius_mm * (1.0 - 1e-9)
    _check_reachable(wanted, flat(form=form, off_mm=most).radial_mm4, "flat", "use more than one cut")
    return root_of_increasing(lambda off: flat(form=form, off_mm=off).radial_mm4 - wanted, 1e-12 * most, most)


def edge_bevel(
    *, form: RimForm, width_mm: float, slope_deg: float, sector_deg: float, face: Face = "front"
) -> HoleMoments:
    """Return what bevelling one edge of the rim over a sector takes off.

    Parameters
    ----------
    form : RimForm
        The rim before; one radius along the bevel's width.
    width_mm : float
        How far the bevel reaches in from the face, along the shaft [mm].
    slope_deg : float
        The radius falls by ``tan(slope)`` per mm toward the face [deg].
    sector_deg : float
        Angle of the sector [deg].
    face : "front" or "rear"
        Which edge.

    Raises
    ------
    InputError
        If a size is out of range, or the edge is not square before.
    """
    width = float(checked_positive(width_mm, "width", "mm"))
    half = _half_sector(sector_deg)
    if not 0.0 < slope_deg < 90.0:
        raise InputError(
            f"the slope is {slope_deg:g} degrees, between 0 and 90 is allowed", hint="45 is the usual one"
        )
    ends = form.breaks_mm[0], form.breaks_mm[-1]
    if width > form.thickness_mm + 1e-9:
        raise InputError(
            f"a bevel {width:g} mm wide is wider than the counterweight, {form.thickness_mm:g} mm",
            hint="the width is counted along the shaft",
        )
    start, end = (ends[0], ends[0] + width) if face == "front" else (ends[1] - width, ends[1])
    top = form.radius_mm(0.5 * (start + end))
    if (
        abs(form.least_radius_mm(start, end) - top) > 1e-9
        or abs(form.most_radius_mm(start, end) - top) > 1e-9
    ):
        raise InputError(
            "the edge is not square before: what a bevel takes off a formed edge is not worked out",
            hint="describe the rim as it is afterwards and compare the two with `bobplan profile`",
        )
    fall = math.tan(math.radians(slope_deg))
    if top - fall * width <= 0.0:
        raise InputError(
            f"a bevel {width:g} mm wide at {slope_deg:g} degrees reaches the shaft axis",
            hint="check its sizes",
        )
    s = 0.5 * (start + end) + 0.5 * width * _NODES
    weight = 0.5 * width * _WEIGHTS
    into = end - s if face == "front" else s - start
    area, moment = _ring(top - fall * into, np.full(s.shape, top), half)
    return _moments(weight, area, moment, s)


def _half_sector(sector_deg: float) -> float:
    if not 0.0 < sector_deg <= MOST_SECTOR_DEG:
        raise InputError(
            f"the sector is {sector_deg:g} degrees, more than 0 and at most {MOST_SECTOR_DEG:g} is allowed",
            hint="it is the whole angle, half of it on either side of the cut's ray",
        )
    return math.radians(0.5 * sector_deg)


def _ring(inner: FloatArray, outer: FloatArray, half: float) -> tuple[FloatArray, FloatArray]:
    """Return area and moment of ring sectors of half angle ``half``."""
    return half * (outer**2 - inner**2), 2.0 / 3.0 * math.sin(half) * (outer**3 - inner**3)


def _summed(
    form: RimForm,
    figure: Callable[[FloatArray, FloatArray], tuple[FloatArray, FloatArray]],
    *,
    cut_at: float,
) -> HoleMoments:
    """Return the sum along the shaft; pieces are split where the rim passes the radius at which the cut begins."""
    total = np.zeros(6)
    for piece in form.pieces:
        edges = [piece.from_mm, piece.to_mm]
        low, high = sorted((piece.from_radius_mm, piece.to_radius_mm))
        if low < cut_at < high:
            if piece.rounding_mm == 0.0:
                edges.insert(1, piece.from_mm + (cut_at - piece.from_radius_mm) / piece.slope)
            else:
                rho = piece.rounding_mm
                off = math.sqrt(max(rho * rho - (cut_at - (high - rho)) ** 2, 0.0))
                rising = piece.to_radius_mm > piece.from_radius_mm
                edges.insert(1, piece.to_mm - off if rising else piece.from_mm + off)
        for start, end in itertools.pairwise(edges):
            # graded toward both ends: a flat begins like a square root, a rounding is upright
            p = 0.25 * np.pi * (_NODES + 1.0)
            s = start + (end - start) * np.sin(p) ** 2
            weight = 0.25 * np.pi * _WEIGHTS * (end - start) * 2.0 * np.sin(p) * np.cos(p)
            area, moment = figure(piece.radius_mm(s), s)
            part = _moments(weight, area, moment, s)
            total += np.array([part.volume_mm3, part.radial_mm4, 0.0, part.radial_s_mm5, 0.0, part.along_mm4])
    return HoleMoments(*(float(value) for value in total))


def _moments(weight: FloatArray, area: FloatArray, moment: FloatArray, s: FloatArray) -> HoleMoments:
    return HoleMoments(
        volume_mm3=float(np.sum(weight * area)),
        radial_mm4=float(np.sum(weight * moment)),
        tangential_mm4=0.0,
        radial_s_mm5=float(np.sum(weight * moment * s)),
        tangential_s_mm5=0.0,
        along_mm4=float(np.sum(weight * area * s)),
    )


def _check_reachable(wanted: float, greatest: float, what: str, hint: str) -> None:
    if wanted > greatest * (1.0 + 1e-12):
        raise InputError(
            f"first moment {wanted:g} mm4 can't be reached: the greatest of this {what} is {greatest:g} mm4",
            hint=hint,
        )
