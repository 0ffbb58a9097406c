"""A counterweight weighed from its outline, thickness and density."""

from __future__ import annotations

import math
from collections.abc import Iterator

from geometry_profiles.area_properties import AreaProperties, area_properties
from geometry_profiles.body_properties import BodyProperties, body_properties
from geometry_profiles.outline import Outline
from geometry_profiles.rims import RimForm
from planner.errors import InputError
from planner.formula import Formula
from planner.records import dataclass


@dataclass(frozen=True, kw_only=True)
class WeighedCounterweight:
    """What a counterweight weighs outside its inner radius and what it does to the balance.

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
    body : BodyProperties
        Of the whole body, its rim's form taken off [mm].
    rim : RimForm or None
        The form of its rim; None: plain.
    """

    outline: Outline
    thickness_mm: float
    density_g_per_cm3: float
    area: AreaProperties
    body: BodyProperties
    rim: RimForm | None = None

    @property
    def volume_mm3(self) -> float:
        """Area times thickness, less what the rim's form takes off [mm3]."""
        return self.body.volume_mm3

    @property
    def centroid_mm(self) -> complex:
        """Centroid in the outline's own frame, x + iy [mm]."""
        return complex(self.body.first_moment_x_mm4, self.body.first_moment_y_mm4) / self.body.volume_mm3

    @property
    def mass_g(self) -> float:
        """Volume times density [g]."""
        return self.volume_mm3 * self.density_g_per_cm3 / 1000.0

    @property
    def unbalance_gmm(self) -> complex:
        """First moment of its mass about the shaft axis, in the outline's own frame [g*mm]."""
        first = complex(self.body.first_moment_x_mm4, self.body.first_moment_y_mm4)
        return first * self.density_g_per_cm3 / 1000.0

    @property
    def from_middle_mm(self) -> float:
        """Where its unbalance acts along the shaft, from the middle plane [mm]."""
        first = complex(self.body.first_moment_x_mm4, self.body.first_moment_y_mm4)
        along = complex(self.body.moment_xs_mm5, self.body.moment_ys_mm5)
        return (along * first.conjugate()).real / abs(first) ** 2 if abs(first) > 0.0 else 0.0

    @property
    def polar_mass_moment_gmm2(self) -> float:
        """Moment of inertia of its mass about the shaft axis [g*mm2]."""
        return self.body.polar_moment_mm5 * self.density_g_per_cm3 / 1000.0


def weigh(
    outline: Outline, *, thickness_mm: float, density_g_per_cm3: float, rim: RimForm | None = None
) -> WeighedCounterweight:
    """Return a counterweight weighed outside its inner radius, holes and fillets left out.

    Parameters
    ----------
    outline : Outline
        Its outline [mm].
    thickness_mm : float
        Along the shaft [mm].
    density_g_per_cm3 : float
        Of its metal [g/cm3].
    rim : RimForm, optional
        The form of its rim; plain when left out.

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
        body=body_properties(outline, thickness_mm=thickness_mm, rim=rim),
        rim=rim,
    )


def weighing_work(weighed: WeighedCounterweight) -> Iterator[Formula | str]:
    """Yield the formulas with the numbers put in, for a calculator.

    A fan's area and centroid are the textbook sector of a ring, derived by integrating r dr dt.
    """
    area, outline = weighed.area, weighed.outline
    plain = area.area_mm2 * weighed.thickness_mm
    of = {"area": area.area_mm2, "thickness": weighed.thickness_mm, "density": weighed.density_g_per_cm3}
    if outline.half_angle_deg is not None and outline.rim_radius_mm is not None:
        half, first = math.radians(outline.half_angle_deg), area.first_moment_x_mm3
        fan = {"R": outline.rim_radius_mm, "r": outline.inner_radius_mm, "half angle": half}
        yield Formula("half angle", "degrees * pi / 180", {"degrees": outline.half_angle_deg}, half, "rad")
        yield Formula("area", "half angle * (R^2 - r^2)", fan, area.area_mm2, "mm2")
        yield Formula("first moment", "2/3 * sin(half angle) * (R^3 - r^3)", fan, first, "mm3")
        of["first moment"] = first
        yield Formula("centroid radius", "first moment / area", of, area.centroid_x_mm, "mm")
    yield Formula("volume", "area * thickness", of, plain, "mm3")
    if weighed.rim is not None:
        yield (
            f"{weighed.rim.name} rim, area within the rim's radius summed along the shaft: {plain:.1f} "
            f"{weighed.volume_mm3 - plain:+.1f} = {weighed.volume_mm3:.1f} mm3"
        )
    of |= {"volume": weighed.volume_mm3, "mass": weighed.mass_g, "centroid radius": abs(weighed.centroid_mm)}
    yield Formula("mass", "volume * density / 1000", of, weighed.mass_g, "g")
    yield Formula("unbalance", "mass * centroid radius", of, abs(weighed.unbalance_gmm), "g*mm")
