"""Face hole: bored parallel to the shaft, blind or through, also where it breaks out through the rim.

Symbols: r radius of the hole's axis, a = d/2, h shoulder depth from the face, c cone height, t thickness, R
rim radius, all [mm].

=================== ==================================================================
inside the rim      ``V = pi a^2 (h + c/3)`` blind, ``pi a^2 t`` through; ``M = V r``
breaks out          lens of the two circles: with ``x = (r^2 + R^2 - a^2)/(2r)``,
                    ``cos b = x/R``, ``cos g = (r - x)/a``
                    area ``R^2 (b - sin b cos b) + a^2 (g - sin g cos g)``,
                    moment ``r a^2 (g - sin g cos g)`` (the segments' moments cancel)
=================== ==================================================================

A drill's point that breaks out is integrated over its radius by Gauss-Legendre quadrature.  Circle
geometry, own derivation, checked against solid kernels.
"""

from __future__ import annotations

import math

import numpy as np

from planner.cuts.solid import FloatArray, Solid, checked_point_angle, checked_positive, root_of_increasing
from planner.errors import InputError
from planner.rotor.crankshaft import cone_height_mm

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(40)


def disc_inside_rim(
    *, radius_mm: float, diameter_mm: float, outer_radius_mm: float | None = None
) -> tuple[float, float]:
    """Return area [mm2] and first moment about the shaft axis [mm3] of the part of a disc that is inside
    the rim.

    Parameters
    ----------
    radius_mm, diameter_mm : float
        Radius of the disc's centre and its diameter [mm].
    outer_radius_mm : float, optional
        Radius of the rim [mm]; the whole disc counts if left out.
    """
    r, a, R = radius_mm, diameter_mm / 2.0, outer_radius_mm
    if R is None or r + a <= R:
        return math.pi * a**2, math.pi * a**2 * r
    if r - a >= R:
        return 0.0, 0.0
    x = (r**2 + R**2 - a**2) / (2.0 * r)
    # Half the common chord by Heron's formula: acos would lose half the digits where the circles nearly
    # touch.
    half_chord = math.sqrt((r + R + a) * (r + R - a) * (r - R + a) * (R + a - r)) / (2.0 * r)
    b, g = math.atan2(half_chord, x), math.atan2(half_chord, r - x)
    hole_part = a**2 * (g - math.sin(g) * math.cos(g))
    return R**2 * (b - math.sin(b) * math.cos(b)) + hole_part, r * hole_part


def face_hole(
    *,
    radius_mm: float,
    diameter_mm: float,
    depth_shoulder_mm: float | None = None,
    through: bool = False,
    thickness_mm: float | None = None,
    point_angle_deg: float = 118.0,
    outer_radius_mm: float | None = None,
) -> Solid:
    """Return what one face hole removes.

    Parameters
    ----------
    radius_mm, diameter_mm : float
        Radius of the hole's axis and its diameter [mm]; the hole must not reach the shaft axis.
    depth_shoulder_mm : float, optional
        Depth of the full diameter from the face [mm]; needed unless ``through``.  Negative down to ``-cone
        height`` when only the point enters.
    through : bool
        The hole goes through ``thickness_mm``, which is then needed.
    thickness_mm : float, optional
        Thickness of the counterweight [mm]: what of a blind hole would lie beyond it is not there to remove.
    point_angle_deg : float
        The drill's point angle [deg], 180 for a flat bottom.
    outer_radius_mm : float, optional
        Radius of the rim [mm]: what lies outside is not there to remove.

    Raises
    ------
    InputError
        If a size is missing or not a number above zero, the hole reaches the shaft axis, lies outside the
        rim, or does not touch the face.
    """
    r, a, c = _checked_bore(radius_mm, diameter_mm, point_angle_deg, outer_radius_mm)
    area, moment = disc_inside_rim(radius_mm=r, diameter_mm=2.0 * a, outer_radius_mm=outer_radius_mm)
    t = None if thickness_mm is None else float(checked_positive(thickness_mm, "thickness", "mm"))
    if through:
        if t is None:
            raise InputError("a through hole needs the thickness", hint="give the counterweight's thickness")
        return Solid(volume_mm3=area * t, first_moment_mm4=moment * t, from_face_mm=t / 2.0)
    if depth_shoulder_mm is None:
        raise InputError("a blind face hole needs a depth", hint="give the depth, or make it a through hole")
    h = float(depth_shoulder_mm)
    if not math.isfinite(h):
        raise InputError("depth is not a number", hint="give the depth as a number above 0")
    if h + c <= 0.0:
        raise InputError(
            f"depth is {h:g} mm to the shoulder: the drill does not touch the face",
            hint="depths are counted from the face and are above 0",
        )
    straight = max(0.0, h if t is None else min(h, t))
    volume, first, axial = area * straight, moment * straight, area * straight**2 / 2.0
    if c > 0.0:
        widest = a * min(1.0, (h + c) / c)
        narrowest = 0.0 if t is None else a * min(1.0, max(0.0, h + c - t) / c)
        s, weight, areas, moments = _cone_slices(r, narrowest, widest, outer_radius_mm)
        per_radius = c / a
        volume += per_radius * float(np.sum(weight * areas))
        first += per_radius * float(np.sum(weight * moments))
        axial += per_radius * float(np.sum(weight * areas * (h + c * (1.0 - s / a))))
    # a point that enters only where there is no metal any more, beyond the rim, removes nothing
    from_face = axial / volume if volume > 0.0 else 0.0
    return Solid(volume_mm3=volume, first_moment_mm4=first, from_face_mm=from_face)


def face_hole_depth_mm(
    *,
    first_moment_mm4: float,
    radius_mm: float,
    diameter_mm: float,
    thickness_mm: float | None = None,
    point_angle_deg: float = 118.0,
    outer_radius_mm: float | None = None,
) -> float:
    """Return the shoulder depth of a blind face hole that removes a wanted first moment [mm].

    ``h = M/(pi a^2 r) - c/3`` while the hole lies inside the rim and its tip inside the thickness, else by
    bisection.  A negative depth means that only the drill's point has to enter.

    Raises
    ------
    InputError
        If a size is not a number above zero, or the wanted moment is more than a through hole removes.
    """
    wanted = float(checked_positive(first_moment_mm4, "wanted first moment", "mm4"))
    r, a, c = _checked_bore(radius_mm, diameter_mm, point_angle_deg, outer_radius_mm)
    per_mm = disc_inside_rim(radius_mm=r, diameter_mm=2.0 * a, outer_radius_mm=outer_radius_mm)[1]
    if thickness_mm is not None:
        t = float(checked_positive(thickness_mm, "thickness", "mm"))
        if wanted > per_mm * t * (1.0 + 1e-12):
            raise InputError(
                f"first moment {wanted:g} mm4 can't be reached with a {2.0 * a:g} mm face hole at radius {r:g} mm: "
                f"the greatest is {per_mm * t:g} mm4 at {t:.2f} mm, all the way through",
                hint="take a larger drill, a larger radius or more than one hole",
            )
    inside_rim = outer_radius_mm is None or r + a <= outer_radius_mm
    depth = wanted / per_mm - c / 3.0
    if inside_rim and depth >= 0.0 and (thickness_mm is None or depth + c <= thickness_mm):
        return depth
    # Bisect on the tip's depth; the straight part alone would need wanted/per_mm, so the shoulder is above
    # that.
    highest = wanted / per_mm + c

    def too_little(tip: float) -> float:
        solid = face_hole(
            radius_mm=r,
            diameter_mm=2.0 * a,
            depth_shoulder_mm=tip - c,
            thickness_mm=thickness_mm,
            point_angle_deg=point_angle_deg,
            outer_radius_mm=outer_radius_mm,
        )
        return solid.first_moment_mm4 - wanted

    return root_of_increasing(too_little, 0.0, highest) - c


def _cone_slices(
    r: float, narrowest: float, widest: float, outer_radius_mm: float | None
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return radii of discs of the drill's point, with weights, areas and moments, to integrate over the radius."""
    breaks_from = math.inf if outer_radius_mm is None else abs(outer_radius_mm - r)
    split = min(max(breaks_from, narrowest), widest)
    plain = 0.5 * (narrowest + split) + 0.5 * (split - narrowest) * _NODES
    # Beyond the split the discs are cut by the rim and their area starts off like (s - split)^(3/2); with
    # s = split + (widest - split) u^2 it is smooth in u.
    u = 0.5 + 0.5 * _NODES
    cut = split + (widest - split) * u**2
    s = np.concatenate([plain, cut])
    weight = np.concatenate(
        [0.5 * (split - narrowest) * _WEIGHTS, 0.5 * _WEIGHTS * 2.0 * u * (widest - split)]
    )
    pairs = [
        disc_inside_rim(radius_mm=r, diameter_mm=2.0 * float(x), outer_radius_mm=outer_radius_mm) for x in s
    ]
    return s, weight, np.array([p[0] for p in pairs]), np.array([p[1] for p in pairs])


def _checked_bore(
    radius_mm: float, diameter_mm: float, point_angle_deg: float, outer_radius_mm: float | None
) -> tuple[float, float, float]:
    r = float(checked_positive(radius_mm, "radius", "mm"))
    d = float(checked_positive(diameter_mm, "diameter", "mm"))
    point = float(checked_point_angle(point_angle_deg))
    if r <= d / 2.0:
        raise InputError(
            f"a {d:g} mm hole at radius {r:g} mm reaches the shaft axis",
            hint="the radius is that of the hole's axis and is more than half the diameter; check the units",
        )
    if outer_radius_mm is not None:
        R = float(checked_positive(outer_radius_mm, "outer radius", "mm"))
        if r - d / 2.0 >= R:
            raise InputError(
                f"a {d:g} mm hole at radius {r:g} mm lies outside the rim at {R:g} mm",
                hint="check the radius, the outer radius and their units",
            )
    return r, d / 2.0, cone_height_mm(diameter_mm=d, point_angle_deg=point)
