"""Mass and moments of a cut by numerical integration, for verification only.

Shares no code with the closed formulas that the planner uses: every cut is a bundle of straight columns over the
hole's disc, integrated in polar coordinates with Gauss-Legendre points.  Smooth pieces are integrated apart (where
a shallow rim hole's bottom leaves the rim, where a point breaks through the far face), so that the result is good to
about 1e-12 relative for holes up to a third of the rim radius.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from functools import cache

import numpy as np
from numpy.typing import NDArray

from geometry_profiles.rims import RimForm
from planner.records import dataclass

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


def rim_cut(
    *,
    form: RimForm,
    off_mm: float,
    half_angle_deg: float | None,
    slope_deg: float | None,
    front: bool,
    z_mm: float,
) -> Integrals:
    """Return the integrals of metal taken off a rim: columns along the cut's ray, across the ray, along the shaft.

    Parameters
    ----------
    form : RimForm
        The rim before.
    off_mm : float
        How far below the rim's greatest radius it ends [mm], of a bevel at its face.
    half_angle_deg : float or None
        To either side of the ray [deg], less than 90; None: a flat, everything beyond a chord.
    slope_deg : float or None
        Of a bevel [deg]; ``front`` says which edge.
    z_mm : float
        The counterweight's middle plane [mm].
    """
    first, last = form.breaks_mm[0], form.breaks_mm[-1]
    top = form.greatest_radius_mm
    low = top - off_mm
    ends = {*form.breaks_mm}
    if slope_deg is not None:
        fall = math.tan(math.radians(slope_deg))
        inner = first + off_mm / fall if front else last - off_mm / fall
        ends = {first, inner} if front else {inner, last}
    else:
        ends |= {float(s) for s in _crossings(form, low)}
    volume = moment = moment_s = 0.0
    stops = sorted(end for end in ends if first <= end <= last)
    for start, end in itertools.pairwise(stops):
        s, s_weight = (each[0] for each in _graded(np.array([start]), np.array([end])))
        R = _radii(form, s)
        if slope_deg is None:
            floor = np.full_like(s, low)
        else:
            floor = top - fall * ((inner - s) if front else (s - inner))
        there = floor < R
        if not there.any():
            continue
        s, s_weight, R, floor = s[there], s_weight[there], R[there], np.minimum(floor, R)[there]
        if half_angle_deg is None:
            wide = np.sqrt(np.maximum(R * R - floor * floor, 0.0))
            pieces = [(np.zeros_like(wide), wide)]
            slope = 0.0
        else:
            sine = math.sin(math.radians(half_angle_deg))
            slope = math.cos(math.radians(half_angle_deg)) / sine
            pieces = [(np.zeros_like(R), floor * sine), (floor * sine, R * sine)]
        for from_y, to_y in pieces:
            y, weight = _graded(from_y, to_y)
            outside = np.sqrt(np.maximum((R * R)[:, None] - y * y, 0.0))
            if half_angle_deg is None:
                inside = np.broadcast_to(floor[:, None], y.shape)
            else:
                inside = np.maximum(np.sqrt(np.maximum((floor * floor)[:, None] - y * y, 0.0)), y * slope)
            area = 2.0 * weight * s_weight[:, None]
            volume += float(np.sum(area * (outside - inside)))
            part = area * 0.5 * (outside * outside - inside * inside)
            moment += float(np.sum(part))
            moment_s += float(np.sum(part * s[:, None]))
    return Integrals(volume_mm3=volume, moment_mm4=moment, moment_z_mm5=moment * z_mm + moment_s)


def _crossings(form: RimForm, radius_mm: float) -> list[float]:
    """Return where a rim passes a radius, by bisection between the ends of its pieces."""
    found = []
    for piece in form.pieces:
        low, high = piece.from_mm, piece.to_mm
        above = [float(piece.radius_mm(end)) > radius_mm for end in (low, high)]
        if above[0] == above[1]:
            continue
        for _ in range(60):
            middle = 0.5 * (low + high)
            if (float(piece.radius_mm(middle)) > radius_mm) == above[0]:
                low = middle
            else:
                high = middle
        found.append(0.5 * (low + high))
    return found


@dataclass(frozen=True, kw_only=True)
class FormedIntegrals:
    """Volume integrals of a rim hole in a rim of any form: along the cut's ray (x) and across it (y).

    Attributes
    ----------
    volume_mm3, moment_mm4, across_mm4 : float
        Integrals of 1, x and y [mm3, mm4].
    moment_z_mm5, across_z_mm5 : float
        Integrals of x*z and y*z, z along the shaft [mm5].
    """

    volume_mm3: float
    moment_mm4: float
    across_mm4: float
    moment_z_mm5: float
    across_z_mm5: float


def formed_rim_hole(
    *,
    form: RimForm,
    diameter_mm: float,
    depth_shoulder_mm: float,
    cone_height_mm: float,
    from_middle_mm: float,
    beside_mm: float,
    tilt_deg: float,
    z_mm: float,
    flanks_deg: tuple[float, ...] = (),
    comes_out: bool = False,
) -> FormedIntegrals:
    """Return the integrals of a hole in a rim of any form, column by column along the drill.

    Columns stand on a grid across the drill: outside along v (square to ray and shaft), inside along u, numerically both,
    split at the drill's axis, where the rim's pieces end and where the bottom leaves the metal.  Another order than the
    planner's formulas and no code of theirs.  With ``comes_out`` only what lies between the faces counts, and between radial
    flanks that stand so many degrees from the hole's ray.  Good to about 1e-8 of a hole whose full diameter is in the metal.
    """
    a, h, c = 0.5 * diameter_mm, depth_shoulder_mm, cone_height_mm
    tilt = math.radians(tilt_deg)
    R0 = float(_radii(form, np.array([from_middle_mm]))[0])
    x0 = math.sqrt(max(R0 * R0 - beside_mm * beside_mm, 0.0))
    faces = (form.breaks_mm[0], form.breaks_mm[-1]) if comes_out else None
    drill = _DrillAt(
        form=form,
        a=a,
        h=h,
        c=c,
        x0=x0,
        e=beside_mm,
        s0=from_middle_mm,
        tilt=tilt,
        faces=faces,
        flanks=flanks_deg,
    )
    totals = np.zeros(5)
    # also where a piece of the rim passes the drill's edge
    places = [(end - from_middle_mm) / math.cos(tilt) for p in form.pieces for end in (p.from_mm, p.to_mm)]
    kinks = [math.sqrt(a * a - u * u) for u in places if abs(u) < a]
    # where a flank passes rim, shoulder and tip
    for flank in flanks_deg:
        slope = math.tan(math.radians(flank))
        met = (R0 * math.sin(math.radians(flank)), (x0 - h) * slope, (x0 - h - c) * slope)
        kinks += [abs(v) for v in met if abs(v) < a]
    stops = sorted({0.0, *(sign * v for v in (0.5 * a, a, *kinks) for sign in (-1.0, 1.0))})
    for low, high in itertools.pairwise(stops):
        v, v_weight = _graded(np.array([low]), np.array([high]))
        totals += drill.across(v[0], v_weight[0])
    volume, moment, across, moment_s, across_s = (float(each) for each in totals)
    return FormedIntegrals(
        volume_mm3=volume,
        moment_mm4=moment,
        across_mm4=across,
        moment_z_mm5=moment * z_mm + moment_s,
        across_z_mm5=across * z_mm + across_s,
    )


@dataclass(frozen=True, kw_only=True)
class _DrillAt:
    """A drill (half diameter a, depth h, point c) that meets the rim at (x0, e, s0), tilted by so many radians."""

    form: RimForm
    a: float
    h: float
    c: float
    x0: float
    e: float
    s0: float
    tilt: float
    faces: tuple[float, float] | None = None
    flanks: tuple[float, ...] = ()

    def across(self, v: FloatArray, v_weight: FloatArray) -> FloatArray:
        """Return the integrals over columns at places v off the drill's axis, shape (5,)."""
        half = np.sqrt(np.maximum(self.a**2 - v**2, 0.0))
        ends = [-half, np.zeros_like(half), half]
        for stop in sorted({end for p in self.form.pieces for end in (p.from_mm, p.to_mm)})[1:-1]:

            def beyond(u: FloatArray, stop: float = stop) -> FloatArray:
                return np.asarray(self._s(u, self.top(u, v)) - stop)

            ends.append(self._where(beyond, -half, half))
        for side in (-1.0, 1.0):
            ends.append(
                self._where(lambda u: self._depth(u, v) - self.top(u, v), np.zeros_like(half), side * half)
            )
        edges = np.sort(np.stack(ends, axis=1), axis=1)
        if self.faces is not None:
            edges = np.clip(edges, self.faces[0] - self.s0, self.faces[1] - self.s0)
        u, weight = _graded(edges[:, :-1], edges[:, 1:])
        v3 = v[:, None, None]
        top, bottom = self.top(u, v3), self._depth(u, v3)
        for flank in self.flanks:
            # metal is inside of the flank: no column goes on below where the flank passes it
            slope = math.tan(math.radians(flank))
            if slope > 0.0:
                bottom = np.where(v3 > 0.0, np.minimum(bottom, self.x0 - v3 / slope), bottom)
            else:
                bottom = np.where(v3 < 0.0, np.minimum(bottom, self.x0 - v3 / slope), bottom)
        there = bottom > top
        weight = weight * v_weight[:, None, None] * there
        # along a column x and s change evenly: Simpson's rule is exact for their product
        length = bottom - top
        ends_and_middle = [(top, 1.0 / 6.0), (0.5 * (top + bottom), 4.0 / 6.0), (bottom, 1.0 / 6.0)]
        sums = [np.sum(weight * length)]
        for what in ("x", "y", "xs", "ys"):
            part = np.zeros_like(length)
            for at, share in ends_and_middle:
                x, s = self._x(u, at), self._s(u, at)
                value = {"x": x, "y": v3 + self.e + 0.0 * x, "xs": x * s, "ys": (v3 + self.e) * s}[what]
                part = part + share * value
            sums.append(np.sum(weight * length * part))
        return np.array([float(each) for each in sums])

    def _x(self, u: FloatArray, t: FloatArray) -> FloatArray:
        return np.asarray(self.x0 + u * math.sin(self.tilt) - t * math.cos(self.tilt))

    def _s(self, u: FloatArray, t: FloatArray) -> FloatArray:
        return np.asarray(self.s0 + u * math.cos(self.tilt) + t * math.sin(self.tilt))

    def _depth(self, u: FloatArray, v: FloatArray) -> FloatArray:
        return np.asarray(self.h + self.c * (1.0 - np.sqrt(u * u + v * v) / self.a))

    def top(self, u: FloatArray, v: FloatArray) -> FloatArray:
        """Return how deep along the drill a column meets the rim: outside before, metal after, put in again and again."""
        y = v + self.e
        if self.tilt == 0.0:
            R = _radii(self.form, self.s0 + u)
            return np.asarray(self.x0 - np.sqrt(np.maximum(R * R - y * y, 0.0)))
        # the rim's radius hardly changes with the depth: put in and worked out anew until it stands
        t = np.zeros(np.broadcast_shapes(u.shape, y.shape))
        for _ in range(200):
            R = _radii(self.form, self._s(u, t))
            x = np.sqrt(np.maximum(R * R - y * y, 0.0))
            anew = (self.x0 + u * math.sin(self.tilt) - x) / math.cos(self.tilt)
            change = float(np.max(np.abs(anew - t)))
            t = anew
            if change < 1e-12:
                break
        return t

    def _where(
        self, value: Callable[[FloatArray], FloatArray], start: FloatArray, end: FloatArray
    ) -> FloatArray:
        """Return where a function of u changes its sign between start and end, else the end; by bisection."""
        low, high = start.copy(), end.copy()
        sign = value(low) < 0.0
        changes = sign != (value(high) < 0.0)
        for _ in range(46):
            middle = 0.5 * (low + high)
            same = (value(middle) < 0.0) == sign
            low, high = np.where(same, middle, low), np.where(same, high, middle)
        return np.where(changes, 0.5 * (low + high), end)


def _graded(low: FloatArray, high: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return points and weights between limits (one more axis), close together toward both ends."""
    p, w = _points(0.0, 0.5 * math.pi)
    width = (high - low)[..., None]
    return low[..., None] + width * np.sin(p) ** 2, width * w * 2.0 * np.sin(p) * np.cos(p)


def _radii(form: RimForm, s: FloatArray) -> FloatArray:
    """Return the rim's radius at places along the shaft; beyond the faces the last pieces are carried on."""
    found = np.full(s.shape, -np.inf)
    for piece in form.pieces:
        inside = (s >= piece.from_mm) & (s <= piece.to_mm)
        found = np.where(inside, np.maximum(found, piece.radius_mm(s)), found)
    first, last = form.pieces[0], form.pieces[-1]
    found = np.where(s < first.from_mm, first.radius_mm(s), found)
    return np.asarray(np.where(s > last.to_mm, last.radius_mm(s), found))


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
