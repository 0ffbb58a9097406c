"""The sums behind a tolerance, with the numbers put in, to be followed with a calculator."""

from __future__ import annotations

from collections.abc import Iterator

from planner.formula import Formula
from planner.rotor.grades import angular_speed_rad_per_s, permissible_residual_gmm
from planner.rotor.tolerance import INBOARD_LIMITS, OUTBOARD_LIMITS, Allocation


def residual_work(grade_mm_per_s: float, *, mass_kg: float, speed_rpm: float) -> tuple[Formula, ...]:
    """Return ``U_per = 1000*G*m/omega`` for a grade [mm/s], a mass [kg] and a speed [rpm]."""
    omega = angular_speed_rad_per_s(speed_rpm)
    of = {"n": speed_rpm, "G": grade_mm_per_s, "m": mass_kg, "omega": omega}
    permitted = permissible_residual_gmm(grade_mm_per_s, mass_kg=mass_kg, speed_rpm=speed_rpm)
    return (
        Formula("omega", "2 * pi * n / 60", of, omega, "rad/s"),
        Formula("U_per", "1000 * G * m / omega", of, permitted, "g*mm", "G in mm/s, m in kg; ISO 21940-11"),
    )


def allocation_work(
    allocation: Allocation,
    *,
    names: tuple[str, str],
    places_z_mm: tuple[float, float],
    centre_of_mass_z_mm: float,
    total_gmm: float,
) -> Iterator[Formula | str]:
    """Yield the lever rule: distance of the other place from the centre of mass over the distance of the two.

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
    low, high = INBOARD_LIMITS if allocation.inboard else OUTBOARD_LIMITS
    of = {"z1": places_z_mm[0], "z2": places_z_mm[1], "zs": centre_of_mass_z_mm}
    sums = ("(z2 - zs) / (z2 - z1)", "(zs - z1) / (z2 - z1)")
    for name, symbols, lever, share in zip(names, sums, allocation.levers, allocation.shares, strict=True):
        yield Formula(f"share of {name}", symbols, of, lever)
        if abs(abs(lever) - share) > 1e-12:
            yield f"  as an amount within {low:g}..{high:g}: {share:.4f}"
        elif lever < 0.0:
            yield f"  as an amount: {share:.4f}"
        limit = {"share": share, "total": total_gmm}
        yield Formula(f"limit at {name}", "share * total", limit, share * total_gmm, "g*mm")
