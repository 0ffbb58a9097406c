"""The sums behind a tolerance, with the numbers put in, to be followed with a calculator."""

from __future__ import annotations

from planner.rotor.grades import angular_speed_rad_per_s, permissible_residual_gmm
from planner.rotor.tolerance import Allocation


def residual_work(grade_mm_per_s: float, *, mass_kg: float, speed_rpm: float) -> tuple[str, ...]:
    """Return the lines of ``U_per = 1000*G*m/omega`` for a grade [mm/s], a mass [kg] and a speed [rpm]."""
    omega = angular_speed_rad_per_s(speed_rpm)
    total = permissible_residual_gmm(grade_mm_per_s, mass_kg=mass_kg, speed_rpm=speed_rpm)
    return (
        "omega = 2 * pi * n / 60",
        f"      = 2 * 3.14159 * {speed_rpm:g} / 60 = {omega:.2f} rad/s",
        "U_per = 1000 * G * m / omega      (G in mm/s, m in kg; ISO 21940-11)",
        f"      = 1000 * {grade_mm_per_s:g} * {mass_kg:g} / {omega:.2f} = {total:.1f} g*mm",
    )


def allocation_work(
    allocation: Allocation,
    *,
    names: tuple[str, str],
    places_z_mm: tuple[float, float],
    centre_of_mass_z_mm: float,
    total_gmm: float,
) -> tuple[str, ...]:
    """Return the lines of the lever rule.

    Parameters
    ----------
    allocation : Allocation
        See `planner.rotor.tolerance.allocate`.
    names : tuple of 2 str
        What the two places are called.
    places_z_mm : tuple of 2 floats
        Where they are [mm].
    centre_of_mass_z_mm, total_gmm : float
        Centre of mass [mm] and what is shared [g*mm].
    """
    z1, z2 = places_z_mm
    zs = centre_of_mass_z_mm
    low, high = (0.3, 0.7) if allocation.inboard else (0.3, 1.3)
    sums = (f"({z2:g} - {zs:g}) / ({z2:g} - {z1:g})", f"({zs:g} - {z1:g}) / ({z2:g} - {z1:g})")
    lines = ["share = distance of the other place from the centre of mass / distance of the two places"]
    for name, text, lever, share in zip(names, sums, allocation.levers, allocation.shares, strict=True):
        line = f"{name}: {text} = {lever:.4f}"
        if abs(abs(lever) - share) > 1e-12:
            line += f", as an amount within {low:g}..{high:g}: {share:.4f}"
        elif lever < 0.0:
            line += f", as an amount {share:.4f}"
        lines.append(line)
        lines.append(f"{' ' * len(name)}  {share:.4f} * {total_gmm:.1f} = {share * total_gmm:.1f} g*mm")
    return tuple(lines)
