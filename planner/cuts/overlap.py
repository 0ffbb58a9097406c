"""Two rim holes that meet: what both together remove, each piece of metal counted once.

Planned cuts keep a wall and never meet; this is for what is there already, and for a break-out into another hole that
somebody wants.  Both holes are convex (a cylinder with a point, open outward), so a straight line parallel to the middle
ray runs through each over one stretch, known in closed form; the two stretches overlap, cut off by the rim, are integrated over
all such lines, panels halved until the sum stands still.

Own derivation; checked against reference solids.
"""

from __future__ import annotations

import itertools
import math

import numpy as np

from geometry_profiles.rims import RimForm
from planner.cuts.rim_form_hole import HoleMoments, rim_form_hole
from planner.cuts.solid import FloatArray
from planner.records import dataclass
from planner.rotor.crankshaft import cone_height_mm

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_RELATIVE = 1e-8
_MOST_PARTS = 16


@dataclass(frozen=True, kw_only=True)
class RimHolePlace:
    """A radial rim hole: angle [deg], place from the middle [mm], diameter, shoulder depth [mm], point angle [deg]."""

    angle_deg: float
    diameter_mm: float
    depth_shoulder_mm: float
    from_middle_mm: float = 0.0
    point_angle_deg: float = 118.0


def two_rim_holes(
    form: RimForm, first: RimHolePlace, second: RimHolePlace
) -> tuple[HoleMoments, HoleMoments]:
    """Return what two holes remove together, and the part that they share.

    Parameters
    ----------
    form : RimForm
        The rim.
    first, second : RimHolePlace
        The holes; angles at most 90 degrees apart.

    Returns
    -------
    tuple of HoleMoments
        Together and shared, both about the ray midway between the two: radial along it, tangential across it.

    Raises
    ------
    InputError
        If a hole can't be as it was given.
    """
    half = 0.5 * ((second.angle_deg - first.angle_deg + 180.0) % 360.0 - 180.0)
    total = np.zeros(6)
    for hole, turned in ((first, -half), (second, half)):
        one = rim_form_hole(
            form=form,
            diameter_mm=hole.diameter_mm,
            depth_shoulder_mm=hole.depth_shoulder_mm,
            point_angle_deg=hole.point_angle_deg,
            from_middle_mm=hole.from_middle_mm,
        )
        cos, sin = math.cos(math.radians(turned)), math.sin(math.radians(turned))
        # a radial hole has no moment across its own ray
        total += np.array([
            one.volume_mm3,
            one.radial_mm4 * cos,
            one.radial_mm4 * sin,
            one.radial_s_mm5 * cos,
            one.radial_s_mm5 * sin,
            one.along_mm4,
        ])  # fmt: skip
    shared = _shared(form, first, second, half)
    return HoleMoments(*map(float, total - shared)), HoleMoments(*map(float, shared))


def _shared(form: RimForm, first: RimHolePlace, second: RimHolePlace, half_deg: float) -> FloatArray:
    a1, a2 = 0.5 * first.diameter_mm, 0.5 * second.diameter_mm
    low = max(first.from_middle_mm - a1, second.from_middle_mm - a2, form.breaks_mm[0])
    high = min(first.from_middle_mm + a1, second.from_middle_mm + a2, form.breaks_mm[-1])
    if low >= high:
        return np.zeros(6)
    middles = (first.from_middle_mm, second.from_middle_mm, *form.breaks_mm)
    stops = np.unique([low, high, *(b for b in middles if low < b < high)])
    before, parts = None, 1
    while True:
        s, s_weight = _panels(stops, parts)
        total = np.zeros(6)
        # row by row, so that fine grids stay small
        for at, weight in zip(s, s_weight, strict=True):
            w1, w2 = (
                math.sqrt(max(0.25 * hole.diameter_mm**2 - (float(at) - hole.from_middle_mm) ** 2, 0.0))
                for hole in (first, second)
            )
            # no line farther out runs through both
            wide = min(w1, w2) if half_deg == 0.0 else 0.5 * (w1 + w2) / math.cos(math.radians(half_deg))
            if wide <= 0.0:
                continue
            y, y_weight = _panels(np.array([-wide, 0.0, wide]), 2 * parts)
            total += weight * (_row(form, first, second, half_deg, float(at), y) * y_weight).sum(axis=1)
        if before is not None and np.all(
            np.abs(total - before) <= _RELATIVE * max(np.abs(total).max(), 1e-9)
        ):
            return total
        if parts >= _MOST_PARTS:
            return total
        before, parts = total, 2 * parts


def _panels(stops: FloatArray, parts: int) -> tuple[FloatArray, FloatArray]:
    edges = np.unique(np.concatenate([np.linspace(a, b, parts + 1) for a, b in itertools.pairwise(stops)]))
    middle, half = 0.5 * (edges[1:] + edges[:-1])[:, None], 0.5 * np.diff(edges)[:, None]
    return (middle + half * _NODES).ravel(), (half * _WEIGHTS).ravel()


def _row(
    form: RimForm, first: RimHolePlace, second: RimHolePlace, half_deg: float, s: float, y: FloatArray
) -> FloatArray:
    """Return the integrals of 1, x, y, x*s, y*s, s along lines parallel to the middle ray, shape (6, lines)."""
    R = form.radius_mm(s)
    inward = np.zeros(y.size)
    outward = np.sqrt(np.maximum(R * R - y * y, 0.0))
    for hole, turned in ((first, -half_deg), (second, half_deg)):
        low, high = _through(form, hole, turned, s, y)
        inward, outward = np.maximum(inward, low), np.minimum(outward, high)
    meets = outward > inward
    inward, outward = np.where(meets, inward, 0.0), np.where(meets, outward, 0.0)
    length, first_x = outward - inward, 0.5 * (outward**2 - inward**2)
    return np.stack([length, first_x, y * length, s * first_x, s * y * length, s * length])


def _through(
    form: RimForm, hole: RimHolePlace, turned_deg: float, s: float, y: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return from where to where (x) lines at y are inside a hole."""
    a = 0.5 * hole.diameter_mm
    off = s - hole.from_middle_mm
    w = math.sqrt(max(a * a - off * off, 0.0))
    cos, sin = math.cos(math.radians(turned_deg)), math.sin(math.radians(turned_deg))
    # own frame of the hole: along = x cos + y sin, across = y cos - x sin
    if abs(sin) < 1e-12:
        fits = np.abs(y) <= w
        low = np.where(fits, -np.inf, np.inf)
        high = np.where(fits, np.inf, -np.inf)
    else:
        ends = np.sort(np.stack([(y * cos - w) / sin, (y * cos + w) / sin]), axis=0)
        low, high = ends[0], ends[1]
    c = cone_height_mm(diameter_mm=hole.diameter_mm, point_angle_deg=hole.point_angle_deg)
    shoulder = form.radius_mm(hole.from_middle_mm) - hole.depth_shoulder_mm
    if c == 0.0:
        return np.maximum(low, (shoulder - y * sin) / cos), high
    # inside the point: sqrt(across^2 + off^2) <= (along - tip) a/c, one branch of a hyperbola along the line
    tip, k = shoulder - c, a / c
    A = sin * sin - k * k * cos * cos
    B = -y * cos * sin - k * k * cos * (y * sin - tip)
    C = y * y * cos * cos + off * off - k * k * (y * sin - tip) ** 2
    root = np.sqrt(np.maximum(B * B - A * C, 0.0))
    # A < 0 for any usual point: inside beyond the greater root
    return np.maximum(low, np.maximum((-B + root) / A, (-B - root) / A)), high
