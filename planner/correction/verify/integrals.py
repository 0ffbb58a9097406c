"""Mass and moments of a cut by numerical integration, for verification only.

Shares no code with the closed formulas that the planner uses: every cut is a bundle of straight columns over the
hole's disc, integrated in polar coordinates with Gauss-Legendre points.  Smooth pieces are integrated apart (where
a shallow rim hole's bottom leaves the rim, where a point breaks through the far face), so that the result is good to
about 1e-12 relative for holes up to a third of the rim radius.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

POINTS = 24
"""Gauss-Legendre points per piece and direction."""


@dataclass(frozen=True, kw_only=True)
class Integrals:
    """Volume integrals of a body whose middle plane holds the shaft axis.

    Attributes
    ----------
    volume_mm3 : float
        Integral of 1 [mm3].
    moment_mm4 : float
        Integral of x, the distance from the shaft axis along the cut's own ray [mm4].
    moment_z_mm5 : float
        Integral of x*z, with z the place along the shaft [mm5].
    """

    volume_mm3: float
    moment_mm4: float
    moment_z_mm5: float


def cone_mm(*, diameter_mm: float, point_angle_deg: float) -> float:
    """Return the height of a drill's point [mm]: the slope of its flank is half the point angle."""
    half = math.radians(0.5 * point_angle_deg)
    return 0.0 if point_angle_deg >= 180.0 else 0.5 * diameter_mm * math.cos(half) / math.sin(half)


def rim_hole(
    *, rim_radius_mm: float, diameter_mm: float, depth_shoulder_mm: float, cone_height_mm: float, z_mm: float
) -> Integrals:
    """Return the integrals of a radial hole with a point, entered through the convex rim.

    Each column runs along the drill's axis from the bottom (cone, then shoulder) to the rim's cylinder.
    """
    R, a, h, c = rim_radius_mm, 0.5 * diameter_mm, depth_shoulder_mm, cone_height_mm
    if h + c <= 0.0:
        return Integrals(volume_mm3=0.0, moment_mm4=0.0, moment_z_mm5=0.0)
    quarter = 0.5 * math.pi
    # pieces of the quarter turn round the drill's axis (0: along the rim's curve), and whether the rim there lies
    # below the shoulder at the hole's edge
    pieces = [(0.0, quarter, False)]
    if h <= 0.0:
        pieces = [(0.0, quarter, True)]
    elif h < R - math.sqrt(max(R * R - a * a, 0.0)):
        edge = math.acos(min(math.sqrt(R * R - (R - h) ** 2) / a, 1.0))
        pieces = [(0.0, edge, True), (edge, quarter, False)]
    volume = moment = 0.0
    for low, high, clipped in pieces:
        theta, theta_weight = _points(low, high)
        reach = _reach(R, a, h, c, theta) if clipped else np.full_like(theta, a)
        unit, unit_weight = _points(0.0, 1.0)
        rho = reach[:, None] * unit[None, :]
        area = theta_weight[:, None] * reach[:, None] * unit_weight[None, :] * rho
        top = np.sqrt(np.maximum(R * R - (rho * np.cos(theta)[:, None]) ** 2, 0.0))
        bottom = (R - h) - c * (1.0 - rho / a)
        volume += 4.0 * float(np.sum(area * (top - bottom)))
        moment += 4.0 * float(np.sum(area * 0.5 * (top * top - bottom * bottom)))
    return Integrals(volume_mm3=volume, moment_mm4=moment, moment_z_mm5=moment * z_mm)


def face_hole(
    *,
    radius_mm: float,
    diameter_mm: float,
    depth_shoulder_mm: float,
    cone_height_mm: float,
    thickness_mm: float,
    face_z_mm: float,
    inward: float,
) -> Integrals:
    """Return the integrals of a hole parallel to the shaft, as deep as the counterweight is thick at most.

    Parameters
    ----------
    radius_mm, diameter_mm : float
        Where the hole's axis stands, and its size [mm].
    depth_shoulder_mm, cone_height_mm : float
        Depth of the full diameter from the face, and the point below it [mm].
    thickness_mm : float
        The counterweight's [mm]: no metal beyond it.
    face_z_mm, inward : float
        The entered face's place along the shaft [mm], and +1 or -1 for the way the drill goes.
    """
    a, h, c, t = 0.5 * diameter_mm, depth_shoulder_mm, cone_height_mm, thickness_mm
    through = 0.0  # share of the hole's radius inside which the point comes out on the far side
    if h >= t:
        through = 1.0
    elif h + c > t:
        through = 1.0 - (t - h) / c
    theta, theta_weight = _points(0.0, math.pi)
    volume = moment = moment_s = 0.0
    for low, high in ((0.0, through), (through, 1.0)):
        if high <= low:
            continue
        share, share_weight = _points(low, high)
        rho = a * share
        depth = np.minimum(h + c * (1.0 - share), t)
        area = theta_weight[:, None] * (a * share_weight * rho)[None, :]
        x = radius_mm + rho[None, :] * np.cos(theta)[:, None]
        volume += 2.0 * float(np.sum(area * depth))
        moment += 2.0 * float(np.sum(area * x * depth))
        moment_s += 2.0 * float(np.sum(area * x * 0.5 * depth**2))
    return Integrals(
        volume_mm3=volume, moment_mm4=moment, moment_z_mm5=moment * face_z_mm + inward * moment_s
    )


def _reach(R: float, a: float, h: float, c: float, theta: FloatArray) -> FloatArray:
    """Return how far from the drill's axis the bottom meets the rim, per angle, by bisection [mm]."""
    low, high = np.zeros_like(theta), np.full_like(theta, a)
    for _ in range(60):
        middle = 0.5 * (low + high)
        inside = np.sqrt(R * R - (middle * np.cos(theta)) ** 2) > (R - h) - c * (1.0 - middle / a)
        low, high = np.where(inside, middle, low), np.where(inside, high, middle)
    return 0.5 * (low + high)


@cache
def _legendre() -> tuple[FloatArray, FloatArray]:
    nodes, weights = np.polynomial.legendre.leggauss(POINTS)
    return nodes, weights


def _points(low: float, high: float) -> tuple[FloatArray, FloatArray]:
    """Return Gauss-Legendre points and weights between two limits."""
    nodes, weights = _legendre()
    half = 0.5 * (high - low)
    return low + half * (nodes + 1.0), half * weights
