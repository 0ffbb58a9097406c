"""Volume and moments of a counterweight: its outline from face to face, its rim of any form.

Across the thickness every plane shows the outline within the rim's radius there; the areas' exact moments are
integrated along the shaft, piece by piece of the rim (Gauss-Legendre).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometry_profiles.area_properties import area_properties
from geometry_profiles.outline import Outline, OutlineError
from geometry_profiles.rims import RimForm

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)


@dataclass(frozen=True, kw_only=True)
class BodyProperties:
    """Volume integrals outside the inner radius, in the outline's own frame; s along the shaft from the middle plane.

    Attributes
    ----------
    volume_mm3 : float
        Integral of 1 [mm3].
    first_moment_x_mm4, first_moment_y_mm4, first_moment_s_mm4 : float
        Integrals of x, y and s [mm4].
    moment_xs_mm5, moment_ys_mm5 : float
        Integrals of x*s and y*s [mm5].
    polar_moment_mm5 : float
        Integral of the squared distance from the shaft axis [mm5].
    """

    volume_mm3: float
    first_moment_x_mm4: float
    first_moment_y_mm4: float
    first_moment_s_mm4: float
    moment_xs_mm5: float
    moment_ys_mm5: float
    polar_moment_mm5: float

    @property
    def centroid_radius_mm(self) -> float:
        """Distance of the centroid from the shaft axis [mm]."""
        return math.hypot(self.first_moment_x_mm4, self.first_moment_y_mm4) / self.volume_mm3


def body_properties(outline: Outline, *, thickness_mm: float, rim: RimForm | None = None) -> BodyProperties:
    """Return the volume integrals of a counterweight, holes left out.

    Parameters
    ----------
    outline : Outline
        Its outline [mm].
    thickness_mm : float
        From face to face [mm].
    rim : RimForm, optional
        The form of its rim; a plain one when left out.  Where it reaches beyond the outline's rim radius (a taper), the
        outline is taken to reach as far along its own flanks.

    Raises
    ------
    OutlineError
        If the rim is not as thick as the counterweight, or nothing is left outside the inner radius.
    """
    if rim is None:
        area = area_properties(outline)
        return BodyProperties(
            volume_mm3=area.area_mm2 * thickness_mm,
            first_moment_x_mm4=area.first_moment_x_mm3 * thickness_mm,
            first_moment_y_mm4=area.first_moment_y_mm3 * thickness_mm,
            first_moment_s_mm4=0.0,
            moment_xs_mm5=0.0,
            moment_ys_mm5=0.0,
            polar_moment_mm5=area.polar_moment_mm4 * thickness_mm,
        )
    if abs(rim.thickness_mm - thickness_mm) > 1e-6:
        raise OutlineError(
            f"the rim is {rim.thickness_mm:g} mm thick and the counterweight {thickness_mm:g} mm"
        )
    total = np.zeros(7)
    for piece in rim.pieces:
        # a rounding is upright at its end: graded
        p = 0.25 * np.pi * (_NODES + 1.0)
        width = piece.to_mm - piece.from_mm
        s = piece.from_mm + width * np.sin(p) ** 2
        weight = 0.25 * np.pi * _WEIGHTS * width * 2.0 * np.sin(p) * np.cos(p)
        for at, share in zip(s, weight, strict=True):
            radius = float(piece.radius_mm(at))
            values = _area(outline, radius)
            total += share * np.array(
                [values[0], values[1], values[2], at * values[0], at * values[1], at * values[2], values[3]]
            )
    return BodyProperties(
        volume_mm3=float(total[0]),
        first_moment_x_mm4=float(total[1]),
        first_moment_y_mm4=float(total[2]),
        first_moment_s_mm4=float(total[3]),
        moment_xs_mm5=float(total[4]),
        moment_ys_mm5=float(total[5]),
        polar_moment_mm5=float(total[6]),
    )


def _area(outline: Outline, radius_mm: float) -> tuple[float, float, float, float]:
    """Return area, first moments and polar moment within a radius; beyond the rim's own the rim's sectors grow."""
    rim = outline.rim_radius_mm
    if rim is None or radius_mm <= rim:
        found = area_properties(outline, within_radius_mm=radius_mm)
        return (
            found.area_mm2,
            found.first_moment_x_mm3,
            found.first_moment_y_mm3,
            found.polar_moment_mm4,
        )
    found = area_properties(outline)
    values = [
        found.area_mm2,
        found.first_moment_x_mm3,
        found.first_moment_y_mm3,
        found.polar_moment_mm4,
    ]
    for start_deg, end_deg in outline.rim_arcs_deg:
        start, end = math.radians(start_deg), math.radians(end_deg)
        values[0] += (end - start) * (radius_mm**2 - rim**2) / 2.0
        third = (radius_mm**3 - rim**3) / 3.0
        values[1] += (math.sin(end) - math.sin(start)) * third
        values[2] += (math.cos(start) - math.cos(end)) * third
        values[3] += (end - start) * (radius_mm**4 - rim**4) / 4.0
    return values[0], values[1], values[2], values[3]
