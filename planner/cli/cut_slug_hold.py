"""What holds a slug: the force and press-fit rows of ``bobplan cut slug``."""

from __future__ import annotations

from dataclasses import asdict

from planner.cli.cut_inputs import CutAnswer, Metal, plain_number
from planner.cli.cut_slug_work import force_lines, retention_lines
from planner.cuts.retention import centrifugal_force_n, slug_retention
from planner.errors import InputError
from planner.quantity import parse_length_mm, parse_speed_rpm
from planner.rotor.materials import Material
from planner.rotor.materials import material as material_of

_STEEL_FROM_G_PER_CM3 = 7.6  # between the irons and the steels


def add_retention(
    answer: CutAnswer,
    *,
    metal: Metal,
    slug: Material | None,
    slug_mass_g: float,
    diameter_mm: float,
    length_mm: float,
    radius_mm: float,
    outer_radius_mm: float | None,
    speed: str | None,
    fit: str | None,
    temperature_rise: str,
    friction: str,
) -> None:
    """Add the centrifugal force when the speed is known, and the press fit when that is too.

    Parameters
    ----------
    answer : CutAnswer
        Gets rows, data, notes, warnings and sums.
    metal, slug : Metal, Material or None
        The counterweight's metal and the slug's, None when its figures are not known.
    slug_mass_g, diameter_mm, length_mm, radius_mm : float
        The slug: mass [g], sizes and radius of its axis [mm].
    outer_radius_mm : float or None
        Radius of the rim [mm], for the ring of metal around the slug; None takes a ring of twice the diameter.
    speed, fit, temperature_rise, friction : str or None
        As typed.

    Raises
    ------
    InputError
        If something is not a number, a fit comes without a speed, or there are no elastic figures for the slug.
    """
    if speed is None:
        if fit is not None:
            raise InputError(
                "--fit needs --speed", hint="give the engine's highest speed, for example --speed 7000"
            )
        return
    rpm = parse_speed_rpm(speed, name="--speed", above=0.0)
    force = centrifugal_force_n(mass_g=slug_mass_g, radius_mm=radius_mm, speed_rpm=rpm)
    answer.rows.append((f"force at {rpm:g} rpm", f"{force:.0f} N"))
    answer.data["centrifugal_force_n"] = force
    answer.work = [
        *answer.work,
        *force_lines(slug_mass_g=slug_mass_g, radius_mm=radius_mm, speed_rpm=rpm),
    ]
    if fit is None:
        return
    if slug is None:
        raise InputError(
            "there are no elastic figures for a slug of that density, so a press fit can't be reckoned",
            hint="give --slug-class, or leave --fit away",
        )
    if outer_radius_mm is not None:
        boss = 2.0 * (outer_radius_mm - radius_mm)
    else:
        boss = 2.0 * diameter_mm
        answer.notes.append(f"metal around the slug taken as a ring of {boss:g} mm diameter")
    parent = metal.material
    if parent is None:
        is_steel = metal.density_g_per_cm3 >= _STEEL_FROM_G_PER_CM3
        parent = material_of("forged steel" if is_steel else "nodular iron")
        answer.notes.append(f"elastic figures of {parent.name} taken for the counterweight")
    rise = plain_number(temperature_rise, name="--temperature-rise")
    grip = plain_number(friction, name="--friction", above=0.0)
    found = slug_retention(
        slug_mass_g=slug_mass_g,
        radius_mm=radius_mm,
        diameter_mm=diameter_mm,
        length_mm=length_mm,
        speed_rpm=rpm,
        fit_mm=parse_length_mm(fit, name="--fit", above=0.0),
        boss_diameter_mm=boss,
        boss=parent,
        slug=slug,
        temperature_rise_k=rise,
        friction=grip,
    )
    hot = found.fit_mm - found.fit_lost_hot_mm
    answer.rows += [
        ("fit, cold", f"{found.fit_mm:.4f} mm, pressure {found.pressure_cold_mpa:.0f} MPa"),
        ("fit, hot", f"{hot:.4f} mm, pressure {found.pressure_hot_mpa:.0f} MPa"),
        ("stress at the bore", f"{found.bore_hoop_stress_mpa:.0f} MPa hoop, cold"),
        ("stress in the ligament", f"{found.ligament_stress_mpa:.0f} MPa by fit and pull, equivalent"),
        ("held by friction, hot", f"{found.hold_hot_n:.0f} N"),
        ("safety factor", f"{found.safety_factor:.2f}"),
    ]
    answer.warnings += found.warnings
    retention = {key: value for key, value in asdict(found).items() if key != "warnings"}
    answer.data["retention"] = {**retention, "boss_diameter_mm": boss}
    answer.work = [
        *answer.work,
        *retention_lines(
            found,
            diameter_mm=diameter_mm,
            length_mm=length_mm,
            boss_diameter_mm=boss,
            boss=parent,
            slug=slug,
            temperature_rise_k=rise,
            friction=grip,
        ),
    ]
