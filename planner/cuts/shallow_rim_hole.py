"""Rim holes so shallow that the drill's full diameter is not yet all around in the metal.

At its edge the hole starts lower than on its axis, because the rim falls away there.  When the shoulder
does not reach that edge, or only the drill's point is in the metal, the closed formulas of `rim_hole` do
not hold.  Columns parallel to the drill, in polar coordinates about its axis, are then cut off where they
leave the metal; along the radius they integrate in closed form, around the drill by Gauss-Legendre
quadrature.
"""

from __future__ import annotations

import math

import numpy as np

# With panels no longer than their distance to the nearest singularity 20 nodes leave less than 1e-16.
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(20)


def shallow_volume_and_moment(
    *, outer_radius_mm: float, diameter_mm: float, depth_shoulder_mm: float, cone_height_mm: float
) -> tuple[float, float]:
    """Return volume [mm3] and first moment about the shaft axis [mm4] of the metal that a shallow hole
    removes.

    Parameters
    ----------
    outer_radius_mm, diameter_mm, cone_height_mm : float
        Rim radius, hole diameter, height of the point [mm].
    depth_shoulder_mm : float
        Depth of the full diameter on the hole's axis [mm]; may be negative down to ``-cone_height_mm``,
        when only the point has entered.

    Notes
    -----
    Own derivation.  With R the rim's radius, a the hole's, ``q = R - h - c`` the tip's radius, ``t = c/a``
    and ``k = sin(angle around the drill, from the shaft's direction)``, the column at distance s from the
    drill's axis has length ``sqrt(R^2 - k^2 s^2) - q - t*s`` and moment
    ``(R^2 - k^2 s^2 - (q + t*s)^2)/2``.  It vanishes at
    ``s = (R^2 - q^2) / (q*t + sqrt(q^2 t^2 + (k^2 + t^2)(R^2 - q^2)))``.
    Works for any depth; used where the closed formulas don't.
    """
    R, a, h, c = outer_radius_mm, diameter_mm / 2.0, depth_shoulder_mm, cone_height_mm
    tip = h + c
    if tip <= 0.0:
        return 0.0, 0.0
    q, t = R - tip, c / a
    square_difference = tip * (2.0 * R - tip)  # R^2 - q^2 without cancellation

    # Up to this angle around the drill the full diameter is in the metal.
    entry_half_width = math.sqrt(h * (2.0 * R - h)) if h > 0.0 else 0.0
    full_to = math.asin(min(1.0, entry_half_width / a))
    near = max(full_to, t * R / math.sqrt(square_difference))  # distance of the integrand's singularities
    edges = [0.0, full_to] if full_to > 0.0 else [0.0]
    while edges[-1] < math.pi / 2.0:
        edges.append(min(math.pi / 2.0, edges[-1] + max(edges[-1], near)))

    start, end = np.array(edges[:-1])[:, None], np.array(edges[1:])[:, None]
    angle = 0.5 * (start + end) + 0.5 * (end - start) * _NODES
    weight = 0.5 * (end - start) * _WEIGHTS
    k = np.sin(angle)
    root = np.sqrt((q * t) ** 2 + (k**2 + t**2) * square_difference)
    s = np.minimum(a, square_difference / (q * t + root))
    e = (k * s) ** 2 / (R + np.sqrt(R**2 - (k * s) ** 2))  # how far the rim has fallen at s
    volume = s**2 * (tip / 2.0 - e * (3.0 * R - 2.0 * e) / (6.0 * (2.0 * R - e))) - t * s**3 / 3.0
    moment = 0.5 * (square_difference * s**2 / 2.0 - 2.0 * q * t * s**3 / 3.0 - (k**2 + t**2) * s**4 / 4.0)
    return 4.0 * float(np.sum(weight * volume)), 4.0 * float(np.sum(weight * moment))
