"""A counterweight weighed from its outline, thickness and density."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry_profiles.area_properties import AreaProperties, area_properties
from geometry_profiles.outline import Outline
from planner.errors import InputError


@dataclass(frozen=True, kw_only=True)
class WeighedCounterweight:
    """A plate of one thickness: what it weighs outside its inner radius and what it does to the balance.

    Attributes
    ----------
    outline : Outline
        Its outline.
    thickness_mm : float
        Along the shaft [mm].
    density_g_per_cm3 : float
        Of its metal [g/cm3].
    area : AreaProperties
        Of the outline, exact [mm].
    """

    outline: Outline
    thickness_mm: float
    density_g_per_cm3: float
    area: AreaProperties

    @property
    def volume_mm3(self) -> float:
        """Area times thickness [mm3]."""
        return self.area.area_mm2 * self.thickness_mm

    @property
    def mass_g(self) -> float:
        """Volume times density [g]."""
        return self.volume_mm3 * self.density_g_per_cm3 / 1000.0

    @property
    def unbalance_gmm(self) -> complex:
        """First moment of its mass about the shaft axis, in the outline's own frame [g*mm]."""
        first = complex(self.area.first_moment_x_mm3, self.area.first_moment_y_mm3)
        return first * self.thickness_mm * self.density_g_per_cm3 / 1000.0

    @property
    def polar_mass_moment_gmm2(self) -> float:
        """Moment of inertia of its mass about the shaft axis [g*mm2]."""
        return self.area.polar_moment_mm4 * self.thickness_mm * self.density_g_per_cm3 / 1000.0


def weigh(outline: Outline, *, thickness_mm: float, density_g_per_cm3: float) -> WeighedCounterweight:
    """Return a counterweight weighed outside its inner radius, holes and fillets left out.

    Parameters
    ----------
    outline : Outline
        Its outline [mm].
    thickness_mm : float
        Along the shaft [mm].
    density_g_per_cm3 : float
        Of its metal [g/cm3].

    Raises
    ------
    InputError
        If thickness or density is not positive.
    """
    for name, value, unit in (
        ("thickness", thickness_mm, "mm"),
        ("density", density_g_per_cm3, "g/cm3"),
    ):
        if not (math.isfinite(value) and value > 0.0):
            raise InputError(f"given {name} {value:g} {unit}; more than 0 is allowed")
    return WeighedCounterweight(
        outline=outline,
        thickness_mm=thickness_mm,
        density_g_per_cm3=density_g_per_cm3,
        area=area_properties(outline),
    )


def weighing_work(weighed: WeighedCounterweight) -> tuple[str, ...]:
    """Return the formulas with the numbers put in, one per line, for a calculator.

    A fan's area and centroid are the textbook sector of a ring, derived by integrating r dr dt.
    """
    area, outline = weighed.area, weighed.outline
    lines = []
    if outline.half_angle_deg is not None and outline.rim_radius_mm is not None:
        rim, inner, half = outline.rim_radius_mm, outline.inner_radius_mm, outline.half_angle_deg
        lines += [
            f"half angle: {half:g} * pi / 180 = {math.radians(half):.6f} rad",
            f"area: {math.radians(half):.6f} * ({rim:g}^2 - {inner:g}^2) = {area.area_mm2:.2f} mm2",
            f"first moment: 2/3 * sin({half:g} deg) * ({rim:g}^3 - {inner:g}^3) = "
            f"{area.first_moment_x_mm3:.1f} mm3",
            f"centroid radius: {area.first_moment_x_mm3:.1f} / {area.area_mm2:.2f} = "
            f"{area.centroid_x_mm:.3f} mm",
        ]
    thickness, density = weighed.thickness_mm, weighed.density_g_per_cm3
    lines += [
        f"volume: {area.area_mm2:.2f} * {thickness:g} = {weighed.volume_mm3:.1f} mm3",
        f"mass: {weighed.volume_mm3:.1f} * {density:g} / 1000 = {weighed.mass_g:.2f} g",
        f"unbalance: {weighed.mass_g:.2f} * {area.centroid_radius_mm:.3f} = {abs(weighed.unbalance_gmm):.1f} g*mm",
    ]
    return tuple(lines)
