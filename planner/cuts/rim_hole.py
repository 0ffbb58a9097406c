"""Rim hole: drilled from the outer diameter toward the shaft axis, through the convex rim.

Symbols: R rim radius, a = d/2, h shoulder depth on the hole's axis, c cone height, all [mm].  The rim falls
away from the drill's axis by ``R - sqrt(R^2 - y^2)``; neglecting that overstates the first moment by
``pi*a^2 * a^2/8`` whatever R and h.

===================== ===========================================================
first moment [mm4]    ``pi a^2 [R h - h^2/2 - a^2/8 + (c/3)(R - h - c/4)]``
volume [mm3]          ``pi a^2 (h - mean sag + c/3)``, the mean sag by elliptic integrals
===================== ===========================================================

Both hold exactly while the shoulder is at least as deep as the rim's sag at the hole's edge; above that
`shallow_rim_hole` takes over, continuously.  Own derivation from the disc's moments (``<y^2> = a^2/4``),
checked against solid kernels.  `rim_hole` serves one hole, the other functions take arrays and broadcast.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from planner.cuts.shallow_rim_hole import shallow_volume_and_moment
from planner.cuts.solid import (
    FloatArray,
    Solid,
    checked_point_angle,
    checked_positive,
    cone_height_array_mm,
    root_of_increasing,
)
from planner.errors import InputError

# Mean of 1 - sqrt(1 - (y/R)^2) over the disc = sum over n of [binom(2n,n)/4^n]^2/((2n-1)(n+1)) * (a/R)^(2n).
# 40 terms leave less than 1e-17 up to (a/R)^2 = 0.4.
_SAG_SERIES = [(math.comb(2 * n, n) / 4.0**n) ** 2 / ((2 * n - 1) * (n + 1)) for n in range(1, 41)]
_SAG_SERIES_UP_TO = 0.4


def mean_sag_mm(*, outer_radius_mm: ArrayLike, diameter_mm: ArrayLike) -> FloatArray:
    """Return how far the rim lies below its crown, averaged over the hole's disc [mm].

    Parameters
    ----------
    outer_radius_mm, diameter_mm : array_like
        Rim radius and hole diameter [mm], shapes broadcast.

    Notes
    -----
    ``R - (4R/(3 pi a^2)) [(R^2 + a^2) E(m) - (R^2 - a^2) K(m)]`` with ``m = (a/R)^2``, as a power series
    where it converges fast (no cancellation), else with the complete elliptic integrals K and E.
    """
    R = np.asarray(outer_radius_mm, dtype=np.float64)
    m = (np.asarray(diameter_mm, dtype=np.float64) / (2.0 * R)) ** 2
    series = np.zeros_like(m)
    for coefficient in reversed(_SAG_SERIES):
        series = (series + coefficient) * np.minimum(m, _SAG_SERIES_UP_TO)
    if np.all(m <= _SAG_SERIES_UP_TO):
        return np.asarray(R * series)
    from scipy.special import ellipe, ellipk  # holes so wide are rare, and scipy takes a while to load

    large = np.clip(m, _SAG_SERIES_UP_TO, 1.0 - 1e-15)
    k, e = ellipk(large), ellipe(large)
    ratio = 1.0 - 4.0 / (3.0 * np.pi * large) * ((1.0 + large) * e - (1.0 - large) * k)
    return np.asarray(R * np.where(m <= _SAG_SERIES_UP_TO, series, ratio))


def edge_sag_mm(*, outer_radius_mm: ArrayLike, diameter_mm: ArrayLike) -> FloatArray:
    """Return how far the rim lies below its crown at the hole's edge [mm]: ``R - sqrt(R^2 - a^2)``."""
    R = np.asarray(outer_radius_mm, dtype=np.float64)
    a = np.asarray(diameter_mm, dtype=np.float64) / 2.0
    return np.asarray(a**2 / (R + np.sqrt(np.maximum(R**2 - a**2, 0.0))))


def rim_hole_volume_mm3(
    *,
    outer_radius_mm: ArrayLike,
    diameter_mm: ArrayLike,
    depth_shoulder_mm: ArrayLike,
    point_angle_deg: ArrayLike = 118.0,
) -> FloatArray:
    """Return the volume of metal that rim holes remove [mm3], shapes broadcast (see `rim_hole`)."""
    return _volume_and_moment(outer_radius_mm, diameter_mm, depth_shoulder_mm, point_angle_deg)[0]


def rim_hole_first_moment_mm4(
    *,
    outer_radius_mm: ArrayLike,
    diameter_mm: ArrayLike,
    depth_shoulder_mm: ArrayLike,
    point_angle_deg: ArrayLike = 118.0,
) -> FloatArray:
    """Return the first moment that rim holes remove [mm4], shapes broadcast (see `rim_hole`)."""
    return _volume_and_moment(outer_radius_mm, diameter_mm, depth_shoulder_mm, point_angle_deg)[1]


def rim_hole(
    *, outer_radius_mm: float, diameter_mm: float, depth_shoulder_mm: float, point_angle_deg: float = 118.0
) -> Solid:
    """Return what one rim hole removes.

    Parameters
    ----------
    outer_radius_mm : float
        Radius of the rim about the shaft axis [mm].
    diameter_mm : float
        Diameter of the hole [mm], at most ``2*outer_radius_mm``.
    depth_shoulder_mm : float
        Depth of the full diameter, measured on the hole's axis from the rim [mm].  From ``-cone height`` (the
        point just touches) to where the tip reaches the shaft axis.
    point_angle_deg : float
        The drill's point angle [deg], 180 for a flat bottom.

    Raises
    ------
    InputError
        If a size is not a number above zero, the hole is wider than the rim's circle, the drill does not
        touch the rim, or its tip would pass the shaft axis.
    """
    volume, moment = _volume_and_moment(outer_radius_mm, diameter_mm, depth_shoulder_mm, point_angle_deg)
    return Solid(volume_mm3=float(volume), first_moment_mm4=float(moment))


def rim_hole_depth_mm(
    *,
    first_moment_mm4: ArrayLike,
    outer_radius_mm: ArrayLike,
    diameter_mm: ArrayLike,
    point_angle_deg: ArrayLike = 118.0,
) -> FloatArray:
    """Return the shoulder depth that removes a wanted first moment [mm], shapes broadcast.

    Closed form ``h = p - sqrt(p^2 - 2Q)`` with ``p = R - c/3`` and
    ``Q = M/(pi a^2) + a^2/8 + c^2/12 - cR/3``; below the border of the closed form by bisection.  A negative
    depth means that only the drill's point has to enter.

    Raises
    ------
    InputError
        If a size is not a number above zero, or the wanted moment is more than the hole can remove before
        its tip reaches the shaft axis; the message says how much that is, and at which depth.
    """
    R, d, c = _checked_drill(outer_radius_mm, diameter_mm, point_angle_deg)
    wanted = checked_positive(first_moment_mm4, "wanted first moment", "mm4")
    R, d, c, wanted = np.broadcast_arrays(R, d, c, wanted)
    a = d / 2.0
    greatest = _deep_moment(R, a, R - c, c)
    beyond = wanted > greatest * (1.0 + 1e-12)
    if np.any(beyond):
        one = int(np.flatnonzero(beyond)[0])
        most, deep = float(greatest.flat[one]), float((R - c).flat[one])
        raise InputError(
            f"first moment {float(wanted.flat[one]):g} mm4 can't be reached with a {float(d.flat[one]):g} mm "
            f"rim hole: the greatest is {most:g} mm4 at {deep:.2f} mm to the shoulder, where the tip reaches "
            "the shaft axis",
            hint="take a larger drill or more than one hole",
        )
    p = R - c / 3.0
    Q = wanted / (np.pi * a**2) + a**2 / 8.0 + c**2 / 12.0 - c * R / 3.0
    depth = np.array(2.0 * Q / (p + np.sqrt(np.maximum(p**2 - 2.0 * Q, 0.0))))
    in_closed_form = wanted >= _deep_moment(R, a, edge_sag_mm(outer_radius_mm=R, diameter_mm=d), c)
    for shallow in np.flatnonzero(~in_closed_form):
        depth.flat[shallow] = _shallow_depth(
            float(R.flat[shallow]),
            float(d.flat[shallow]),
            float(c.flat[shallow]),
            float(wanted.flat[shallow]),
        )
    return depth


def rim_hole_greatest_depth_mm(
    *, outer_radius_mm: float, diameter_mm: float, point_angle_deg: float = 118.0
) -> float:
    """Return the shoulder depth at which the tip reaches the shaft axis [mm]."""
    R, _, c = _checked_drill(outer_radius_mm, diameter_mm, point_angle_deg)
    return float(R - c)


def _shallow_depth(R: float, d: float, c: float, wanted: float) -> float:
    def too_much(depth: float) -> float:
        return (
            shallow_volume_and_moment(
                outer_radius_mm=R, diameter_mm=d, depth_shoulder_mm=depth, cone_height_mm=c
            )[1]
            - wanted
        )

    return root_of_increasing(too_much, -c, float(edge_sag_mm(outer_radius_mm=R, diameter_mm=d)))


def _deep_moment(R: FloatArray, a: FloatArray, h: FloatArray, c: FloatArray) -> FloatArray:
    return np.asarray(np.pi * a**2 * (R * h - h**2 / 2.0 - a**2 / 8.0 + c / 3.0 * (R - h - c / 4.0)))


def _volume_and_moment(
    outer_radius_mm: ArrayLike,
    diameter_mm: ArrayLike,
    depth_shoulder_mm: ArrayLike,
    point_angle_deg: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    R, d, c = _checked_drill(outer_radius_mm, diameter_mm, point_angle_deg)
    h = np.asarray(depth_shoulder_mm, dtype=np.float64)
    R, d, c, h = np.broadcast_arrays(R, d, c, h)
    _check_depth(R, c, h)
    a = d / 2.0
    sag = mean_sag_mm(outer_radius_mm=R, diameter_mm=d)
    volume = np.array(np.pi * a**2 * (h - sag + c / 3.0))
    moment = np.array(_deep_moment(R, a, h, c))
    for one in np.flatnonzero(h < edge_sag_mm(outer_radius_mm=R, diameter_mm=d)):
        volume.flat[one], moment.flat[one] = shallow_volume_and_moment(
            outer_radius_mm=float(R.flat[one]),
            diameter_mm=float(d.flat[one]),
            depth_shoulder_mm=float(h.flat[one]),
            cone_height_mm=float(c.flat[one]),
        )
    return volume, moment


def _checked_drill(
    outer_radius_mm: ArrayLike, diameter_mm: ArrayLike, point_angle_deg: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    R = checked_positive(outer_radius_mm, "outer radius", "mm")
    d = checked_positive(diameter_mm, "diameter", "mm")
    if np.any(d >= 2.0 * R):
        raise InputError(
            f"diameter {float(np.max(d)):g} mm is not smaller than the rim's own, "
            f"{2.0 * float(np.min(R)):g} mm",
            hint="check the diameter, the outer radius and their units",
        )
    c = cone_height_array_mm(d, checked_point_angle(point_angle_deg))
    if np.any(c >= R):
        raise InputError(
            f"the drill's point is {float(np.max(c)):.2f} mm high, more than the outer radius "
            f"{float(np.min(R)):g} mm",
            hint="check the diameter and the point angle",
        )
    return R, d, c


def _check_depth(R: FloatArray, c: FloatArray, h: FloatArray) -> None:
    if np.any(~np.isfinite(h)):
        raise InputError("depth is not a number", hint="give the depth as a number above 0")
    if np.any(h + c <= 0.0):
        raise InputError(
            f"depth is {float(np.min(h)):g} mm to the shoulder: the drill does not touch the rim",
            hint="depths are counted inward from the rim, on the hole's axis, and are above 0",
        )
    beyond = h + c > R * (1.0 + 1e-12)
    if np.any(beyond):
        one = int(np.flatnonzero(beyond)[0])
        raise InputError(
            f"depth {float(h.flat[one]):g} mm to the shoulder puts the tip at "
            f"{float((h + c).flat[one]):.2f} mm, beyond the shaft axis at {float(R.flat[one]):g} mm",
            hint=f"the greatest depth to the shoulder is {float((R - c).flat[one]):.2f} mm; "
            "check the depth's unit",
        )
