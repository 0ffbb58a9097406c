"""Does a press fit hold a slug?  An estimate for the calculator, never a release for use.

A slug bored parallel to the shaft leans on the wall outside of it: the wall carries the centrifugal force
and the fit only has to stop it from creeping along its bore.  As a cautious yardstick (common practice) the
fit's axial hold is compared with the whole centrifugal force, hot.

=================== ==========================================================================================
centrifugal force   ``m r omega^2``
contact pressure    thick cylinders (Lame): Shigley, Mechanical Engineering Design, 9th ed., Eq. 7-39
bore's hoop stress  Shigley, 9th ed., Eq. 7-45
ligament            at the bore: the fit's pressure cold and the slug's pull on its wall (force over ``d L``, added all
                    around: cautious), hoop and radial stress by Lame, their equivalent by distortion energy (Shigley,
                    ch. 5, equation from memory), against yield
axial hold          friction coefficient x pressure x contact area
hot                 the bore grows more than a tungsten alloy slug and takes away fit
=================== ==========================================================================================
"""

from __future__ import annotations

import math

from planner.cuts.solid import checked_positive
from planner.errors import InputError
from planner.records import dataclass
from planner.rotor.materials import Material

# A cautious dry value; course notes have 0.15-0.20, oiled surfaces 0.05-0.08.
DRY_FRICTION = 0.12
LEAST_SAFETY_FACTOR = 2.0
LEAST_YIELD_FACTOR = 1.0
"""Of yield over the stress in the ligament: a ring that yields keeps no fit.  The yields are the least of each material."""
NOT_A_RELEASE = (
    "an estimate, not a release for use: the fit and its safety are a qualified machinist's judgement"
)


@dataclass(frozen=True, kw_only=True)
class SlugRetention:
    """What a press fit does against the centrifugal force.

    Forces [N], pressures and stress [MPa], fits [mm on the diameter].  ``safety_factor`` is the hot hold
    over the centrifugal force.  ``ligament_stress_mpa`` is the equivalent stress of the thinnest metal around the slug,
    ``yield_factor`` the material's yield over it, None where no yield is known.  ``warnings`` are meant to be shown with it.
    """

    centrifugal_force_n: float
    fit_mm: float
    fit_lost_hot_mm: float
    pressure_cold_mpa: float
    pressure_hot_mpa: float
    bore_hoop_stress_mpa: float
    hold_cold_n: float
    hold_hot_n: float
    safety_factor: float
    ligament_stress_mpa: float
    yield_factor: float | None
    warnings: tuple[str, ...]


def centrifugal_force_n(*, mass_g: float, radius_mm: float, speed_rpm: float) -> float:
    """Return the centrifugal force of a mass at a radius [N]: ``m r omega^2``.

    Raises
    ------
    InputError
        If mass, radius or speed is not a number above zero.
    """
    checked_positive(mass_g, "mass", "g")
    checked_positive(radius_mm, "radius", "mm")
    omega = 2.0 * math.pi * float(checked_positive(speed_rpm, "speed", "rpm")) / 60.0
    return mass_g / 1000.0 * radius_mm / 1000.0 * omega**2


def press_fit_pressure_mpa(
    *,
    fit_mm: float,
    diameter_mm: float,
    boss_diameter_mm: float,
    boss_modulus_gpa: float,
    boss_poisson: float,
    slug_modulus_gpa: float,
    slug_poisson: float,
) -> float:
    """Return the contact pressure of a press fit of a solid slug [MPa]; Shigley, 9th ed., Eq. 7-39.

    Parameters
    ----------
    fit_mm : float
        Interference on the diameter [mm]; 0 or less is a loose fit without pressure.
    diameter_mm, boss_diameter_mm : float
        Diameter of the joint and outer diameter of the ring around it [mm].
    boss_modulus_gpa, slug_modulus_gpa : float
        Young's moduli [GPa].
    boss_poisson, slug_poisson : float
        Poisson's ratios.

    Raises
    ------
    InputError
        If a size is not a number above zero or the boss is not wider than the slug.
    """
    d = float(checked_positive(diameter_mm, "diameter", "mm"))
    outer = float(checked_positive(boss_diameter_mm, "boss diameter", "mm"))
    boss_e = 1000.0 * float(checked_positive(boss_modulus_gpa, "modulus", "GPa"))
    slug_e = 1000.0 * float(checked_positive(slug_modulus_gpa, "modulus", "GPa"))
    if not d < outer:
        raise InputError(
            f"diameters {d:g} and {outer:g} mm do not grow from the slug to the boss",
            hint="there must be metal around the slug: move it inward from the rim",
        )
    if not math.isfinite(fit_mm):
        raise InputError("fit is not a number", hint="give the interference on the diameter in mm")
    if fit_mm <= 0.0:
        return 0.0
    boss = (d / boss_e) * ((outer**2 + d**2) / (outer**2 - d**2) + boss_poisson)
    slug = (d / slug_e) * (1.0 - slug_poisson)
    return fit_mm / (boss + slug)


def bore_hoop_stress_mpa(*, pressure_mpa: float, diameter_mm: float, boss_diameter_mm: float) -> float:
    """Return the hoop stress at the bore of the boss [MPa]; Shigley, 9th ed., Eq. 7-45."""
    d2, outer2 = diameter_mm**2, boss_diameter_mm**2
    return pressure_mpa * (outer2 + d2) / (outer2 - d2)


def ligament_stress_mpa(*, pressure_mpa: float, diameter_mm: float, boss_diameter_mm: float) -> float:
    """Return the equivalent stress at the bore of a ring under inner pressure [MPa], by distortion energy, plane stress.

    With the hoop stress ``t`` of Lame's thick cylinder and the radial stress ``-p``: ``sqrt(t^2 + t p + p^2)``.
    """
    hoop = bore_hoop_stress_mpa(
        pressure_mpa=pressure_mpa, diameter_mm=diameter_mm, boss_diameter_mm=boss_diameter_mm
    )
    return math.sqrt(hoop**2 + hoop * pressure_mpa + pressure_mpa**2)


def axial_hold_n(*, pressure_mpa: float, diameter_mm: float, length_mm: float, friction: float) -> float:
    """Return the axial force that friction can hold [N]: ``f p pi d L``."""
    return friction * pressure_mpa * math.pi * diameter_mm * length_mm


def fit_lost_hot_mm(
    *,
    diameter_mm: float,
    temperature_rise_k: float,
    boss_expansion_per_million_k: float,
    slug_expansion_per_million_k: float,
) -> float:
    """Return how much interference on the diameter is lost when all is warmer [mm]; negative is gained."""
    difference = (boss_expansion_per_million_k - slug_expansion_per_million_k) * 1e-6
    return diameter_mm * difference * temperature_rise_k


def slug_retention(
    *,
    slug_mass_g: float,
    radius_mm: float,
    diameter_mm: float,
    length_mm: float,
    speed_rpm: float,
    fit_mm: float,
    boss_diameter_mm: float,
    boss: Material,
    slug: Material,
    temperature_rise_k: float = 100.0,
    friction: float = DRY_FRICTION,
) -> SlugRetention:
    """Return whether a press fit holds a slug, cautiously: hot, and against the whole centrifugal force.

    Parameters
    ----------
    slug_mass_g : float
        Mass of the slug [g].
    radius_mm : float
        Radius of its axis [mm].
    diameter_mm, length_mm : float
        Diameter and length of the joint [mm].
    speed_rpm : float
        Highest speed of the engine [rpm], not that of the balancing machine.
    fit_mm : float
        Interference on the diameter, cold [mm].
    boss_diameter_mm : float
        Outer diameter of the ring of metal around the slug [mm]; twice the distance from the slug's axis to
        the nearest free surface.
    boss, slug : Material
        The two materials, with elastic figures.
    temperature_rise_k : float
        How much warmer than at assembly [K].
    friction : float
        Coefficient of friction in the joint.

    Raises
    ------
    InputError
        If a size is not a number above zero, or a material has no elastic figures.
    """
    boss_e, boss_nu, boss_alpha = _elastic(boss)
    slug_e, slug_nu, slug_alpha = _elastic(slug)
    length = float(checked_positive(length_mm, "length", "mm"))
    checked_positive(friction, "friction", "")
    checked_positive(fit_mm, "fit", "mm")
    force = centrifugal_force_n(mass_g=slug_mass_g, radius_mm=radius_mm, speed_rpm=speed_rpm)
    lost = fit_lost_hot_mm(
        diameter_mm=diameter_mm,
        temperature_rise_k=temperature_rise_k,
        boss_expansion_per_million_k=boss_alpha,
        slug_expansion_per_million_k=slug_alpha,
    )

    ring = {"diameter_mm": diameter_mm, "boss_diameter_mm": boss_diameter_mm}
    boss_elastic = {"boss_modulus_gpa": boss_e, "boss_poisson": boss_nu}
    elastic = {**boss_elastic, "slug_modulus_gpa": slug_e, "slug_poisson": slug_nu}
    cold, hot = (press_fit_pressure_mpa(fit_mm=fit, **ring, **elastic) for fit in (fit_mm, fit_mm - lost))
    hold_cold, hold_hot = (
        axial_hold_n(pressure_mpa=each, diameter_mm=diameter_mm, length_mm=length, friction=friction)
        for each in (cold, hot)
    )
    factor = hold_hot / force
    warnings = [NOT_A_RELEASE]
    if hot == 0.0:
        warnings.insert(0, f"the fit is lost when {temperature_rise_k:g} K warmer: the slug is loose")
    elif factor < LEAST_SAFETY_FACTOR:
        warnings.insert(
            0,
            f"safety factor {factor:.2f} is below {LEAST_SAFETY_FACTOR:g}: more fit, or stake or weld it as well",
        )
    stress = ligament_stress_mpa(pressure_mpa=cold + force / (diameter_mm * length), **ring)
    spare = None if boss.yield_mpa is None else boss.yield_mpa / stress
    if spare is not None and spare < LEAST_YIELD_FACTOR:
        ligament = 0.5 * (boss_diameter_mm - diameter_mm)
        warnings.insert(
            len(warnings) - 1,
            f"the thinnest metal around the slug ({ligament:.1f} mm) is stressed to {stress:.0f} MPa by fit and pull and may "
            f"yield ({boss.name}: {boss.yield_mpa:g} MPa at least): a slug farther from the edge and from other holes, or "
            "less fit and another hold",
        )
    return SlugRetention(
        centrifugal_force_n=force,
        fit_mm=fit_mm,
        fit_lost_hot_mm=lost,
        pressure_cold_mpa=cold,
        pressure_hot_mpa=hot,
        bore_hoop_stress_mpa=bore_hoop_stress_mpa(pressure_mpa=cold, **ring),
        hold_cold_n=hold_cold,
        hold_hot_n=hold_hot,
        safety_factor=factor,
        ligament_stress_mpa=stress,
        yield_factor=spare,
        warnings=tuple(warnings),
    )


def _elastic(material: Material) -> tuple[float, float, float]:
    e, nu, alpha = material.elastic_modulus_gpa, material.poisson_ratio, material.expansion_per_million_k
    if e is None or nu is None or alpha is None:
        raise InputError(
            f"there are no elastic figures for {material.name}, so a press fit can't be reckoned",
            hint="take forged steel, cast steel or nodular iron, and an ASTM B777 class for the slug",
        )
    return e, nu, alpha
