"""The sums behind ``bobplan cut slug``, in the manner of `planner.cli.cut_work`."""

from __future__ import annotations

import math

from planner.cli.cut_work import n, r, rim_lines
from planner.cuts.retention import SlugRetention
from planner.rotor.crankshaft import cone_height_mm
from planner.rotor.materials import Material


def length_lines(
    *,
    wanted_gmm: float,
    diameter_mm: float,
    length_mm: float,
    radius_mm: float,
    point_angle_deg: float | None,
    parent_density_g_per_cm3: float,
    slug_density_g_per_cm3: float,
) -> list[str]:
    """Return the sums that find a slug's length; ``point_angle_deg`` is None when there is no empty cone."""
    a, rho, heavy = diameter_mm / 2.0, parent_density_g_per_cm3, slug_density_g_per_cm3
    if point_angle_deg is None:
        return [
            "length = U / (pi * a^2 * radius / 1000) / (slug density - density bored away)",
            f"  = {n(wanted_gmm)} / (pi * {n(a)}^2 * {n(radius_mm)} / 1000) / ({n(heavy)} - {n(rho)})"
            f" = {r(length_mm)} mm",
        ]
    c = cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
    return [
        "length = (U / (pi * a^2 * radius / 1000) + density * c / 3) / (slug density - density)",
        f"  = ({n(wanted_gmm)} / (pi * {n(a)}^2 * {n(radius_mm)} / 1000) + {n(rho)} * {n(c)} / 3) / "
        f"({n(heavy)} - {n(rho)}) = {r(length_mm)} mm",
    ]


def pocket_lines(
    *,
    bore: str,
    diameter_mm: float,
    length_mm: float,
    radius_mm: float,
    point_angle_deg: float,
    volume_mm3: float,
    whole: bool,
) -> list[str]:
    """Return the sums of the bore of an axial slug; ``whole`` says that the drill's point stays inside."""
    a = diameter_mm / 2.0
    if bore == "existing":
        return ["bored away: nothing, the hole is there already"]
    if bore == "through":
        first = [
            "bored away: V = pi * a^2 * length",
            f"  = pi * {n(a)}^2 * {n(length_mm)} = {r(volume_mm3)} mm3",
        ]
    elif whole:
        c = cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
        first = [
            "bored away: V = pi * a^2 * (length + c / 3)",
            f"  = pi * {n(a)}^2 * ({n(length_mm)} + {n(c)} / 3) = {r(volume_mm3)} mm3",
        ]
    else:
        first = [
            f"bored away: the drill's point comes out of the far face; V = {n(volume_mm3)} mm3 in the metal"
        ]
    return [
        *first,
        "M = V * radius",
        f"  = {n(volume_mm3)} * {n(radius_mm)} = {r(volume_mm3 * radius_mm)} mm4",
    ]


def radial_pocket_lines(
    *,
    outer_radius_mm: float,
    diameter_mm: float,
    depth_shoulder_mm: float,
    length_mm: float,
    point_angle_deg: float,
    density_g_per_cm3: float,
    volume_mm3: float,
    first_moment_mm4: float,
) -> list[str]:
    """Return the sums of the rim hole of a radial slug, and of the slug's place in it."""
    R, h, long = outer_radius_mm, depth_shoulder_mm, length_mm
    return [
        "bored away:",
        *rim_lines(
            outer_radius_mm=R,
            diameter_mm=diameter_mm,
            depth_shoulder_mm=h,
            point_angle_deg=point_angle_deg,
            density_g_per_cm3=density_g_per_cm3,
            volume_mm3=volume_mm3,
            first_moment_mm4=first_moment_mm4,
        ),
        "slug's radius = R - h + length / 2",
        f"  = {n(R)} - {n(h)} + {n(long)} / 2 = {r(R - h + long / 2.0)} mm",
    ]


def net_lines(
    *,
    diameter_mm: float,
    length_mm: float,
    slug_radius_mm: float,
    density_g_per_cm3: float,
    slug_density_g_per_cm3: float,
    pocket_volume_mm3: float,
    pocket_first_moment_mm4: float,
) -> list[str]:
    """Return the sums from slug and bore to the net."""
    a, rho, heavy = diameter_mm / 2.0, density_g_per_cm3, slug_density_g_per_cm3
    slug_mm3 = math.pi * a**2 * length_mm
    slug_g, bored_g = heavy * slug_mm3 / 1000.0, rho * pocket_volume_mm3 / 1000.0
    bored_gmm = rho * pocket_first_moment_mm4 / 1000.0
    return [
        "slug: V = pi * a^2 * length",
        f"  = pi * {n(a)}^2 * {n(length_mm)} = {r(slug_mm3)} mm3",
        "slug's mass = slug density / 1000 * V",
        f"  = {n(heavy)} / 1000 * {n(slug_mm3)} = {r(slug_g)} g",
        "mass bored away = density / 1000 * V",
        f"  = {n(rho)} / 1000 * {n(pocket_volume_mm3)} = {r(bored_g)} g",
        "unbalance bored away = density / 1000 * M",
        f"  = {n(rho)} / 1000 * {n(pocket_first_moment_mm4)} = {r(bored_gmm)} g*mm",
        "net mass = slug - bored away",
        f"  = {n(slug_g)} - {n(bored_g)} = {r(slug_g - bored_g)} g",
        "net unbalance = slug's mass * its radius - unbalance bored away",
        f"  = {n(slug_g)} * {n(slug_radius_mm)} - {n(bored_gmm)} = {r(slug_g * slug_radius_mm - bored_gmm)} g*mm",
    ]


def force_lines(*, slug_mass_g: float, radius_mm: float, speed_rpm: float) -> list[str]:
    """Return the sum of the centrifugal force."""
    omega = 2.0 * math.pi * speed_rpm / 60.0
    force = slug_mass_g / 1000.0 * radius_mm / 1000.0 * omega**2
    return [
        "centrifugal force = mass [kg] * radius [m] * (2 * pi * n / 60)^2",
        f"  = {n(slug_mass_g / 1000.0)} * {n(radius_mm / 1000.0)} * (2 * pi * {n(speed_rpm)} / 60)^2 = {r(force)} N",
    ]


def retention_lines(
    found: SlugRetention,
    *,
    diameter_mm: float,
    length_mm: float,
    boss_diameter_mm: float,
    boss: Material,
    slug: Material,
    temperature_rise_k: float,
    friction: float,
) -> list[str]:
    """Return the sums of the press fit, hot (E in MPa)."""
    d, outer = diameter_mm, boss_diameter_mm
    boss_e, slug_e = 1000.0 * (boss.elastic_modulus_gpa or 0.0), 1000.0 * (slug.elastic_modulus_gpa or 0.0)
    boss_nu, slug_nu = boss.poisson_ratio or 0.0, slug.poisson_ratio or 0.0
    grown = (boss.expansion_per_million_k or 0.0), (slug.expansion_per_million_k or 0.0)
    hot = found.fit_mm - found.fit_lost_hot_mm
    lines = [
        "fit lost hot = d * (expansion of counterweight - of slug) * temperature rise",
        f"  = {n(d)} * ({n(grown[0])} - {n(grown[1])}) * 10^-6 * {n(temperature_rise_k)}"
        f" = {r(found.fit_lost_hot_mm)} mm",
    ]
    if hot <= 0.0:
        return [*lines, f"fit hot = {n(found.fit_mm)} - {n(found.fit_lost_hot_mm)}: no fit is left"]
    return [
        *lines,
        "pressure hot = fit / (d / Eo * ((D^2 + d^2) / (D^2 - d^2) + vo) + d / Ei * (1 - vi))      (Lame; D boss, "
        "o counterweight, i slug)",
        f"  = {n(hot)} / ({n(d)} / {n(boss_e)} * (({n(outer)}^2 + {n(d)}^2) / ({n(outer)}^2 - {n(d)}^2) + {n(boss_nu)})"
        f" + {n(d)} / {n(slug_e)} * (1 - {n(slug_nu)})) = {r(found.pressure_hot_mpa)} MPa",
        "hold = friction * pressure * pi * d * length",
        f"  = {n(friction)} * {n(found.pressure_hot_mpa)} * pi * {n(d)} * {n(length_mm)} = {r(found.hold_hot_n)} N",
        "stress in the ligament = sqrt(t^2 + t*p + p^2), t = p * (D^2 + d^2) / (D^2 - d^2), p = pressure cold + force / (d * "
        f"length): {r(found.ligament_stress_mpa)} MPa",
        "safety factor = hold / centrifugal force",
        f"  = {n(found.hold_hot_n)} / {n(found.centrifugal_force_n)} = {r(found.safety_factor)}",
    ]
