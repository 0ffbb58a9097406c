"""Balance quality grades of ISO 21940-11 and the residual that a grade permits.

A grade G is the product of the permissible specific unbalance and the angular speed [mm/s]; the table has
eleven grades in steps of about 2.5.  The machinery types stand here in our own short words.

References
----------
.. [1] ISO 21940-11:2016, Mechanical vibration - Rotor balancing - Part 11, Table 1 (read in a public
   reproduction; formerly ISO 1940-1).
.. [2] H. P. Bloch, F. K. Geitner, Machinery Component Maintenance and Repair, ch. 6, p. 305 (older wording of
   the table), p. 313 table 6-6 (margins of operator and inspector).
"""

from __future__ import annotations

import math
import re

from planner.errors import InputError
from planner.records import dataclass


@dataclass(frozen=True)
class BalanceGrade:
    """One row of the table.

    Attributes
    ----------
    grade_mm_per_s : float
        G [mm/s].
    machinery : str
        Typical rotors, in our own words.
    margin : float
        Share of the tolerance to keep as a margin when the measurement error is not known [2]_.
    mark : str
        ``text`` when the row was read in a copy of the standard's table, ``memory`` when part of it was not.
    """

    grade_mm_per_s: float
    machinery: str
    margin: float
    mark: str = "text"


BALANCE_GRADES: tuple[BalanceGrade, ...] = (
    BalanceGrade(
        4000.0,
        "crank drives of large slow ship diesels (pistons below 9 m/s) that can't balance themselves",
        0.10,
    ),
    BalanceGrade(
        1600.0,
        "crank drives of large slow ship diesels (pistons below 9 m/s) that balance themselves",
        0.10,
        "memory",
    ),
    BalanceGrade(630.0, "crank drives that can't balance themselves, on elastic mounts", 0.10),
    BalanceGrade(250.0, "crank drives that can't balance themselves, on rigid mounts", 0.10),
    BalanceGrade(100.0, "complete piston engines of cars, trucks and locomotives", 0.10),
    BalanceGrade(
        40.0, "crank drives that balance themselves, on elastic mounts; car wheels, rims, drive shafts", 0.10
    ),
    BalanceGrade(
        16.0,
        "crank drives that balance themselves, on rigid mounts; cardan shafts; farm and crushing machines",
        0.15,
    ),
    BalanceGrade(
        6.3,
        "pumps, fans, gears, general machinery, machine tools, turbochargers, slower electric motors; "
        "in older wording also flywheels and engine parts with special requirements",
        0.15,
    ),
    BalanceGrade(
        2.5,
        "compressors, gas and steam turbines, faster electric motors, machine-tool drives",
        0.15,
        "memory",
    ),
    BalanceGrade(1.0, "grinding-machine drives, audio and video drives", 0.20),
    BalanceGrade(0.4, "gyroscopes, spindles of high-precision systems", 0.30),
)


def parse_grade_mm_per_s(value: str | int | float) -> float:
    """Return a balance grade [mm/s] from ``6.3``, ``"G 6.3"`` or ``"G6.3"``.

    Grades between those of the table are allowed; see `standard_grade`.

    Raises
    ------
    InputError
        If it is not a positive number.
    """
    allowed = "a balance grade is a positive number such as `G 6.3` or `6.3`"
    listed = ", ".join(f"G {row.grade_mm_per_s:g}" for row in BALANCE_GRADES)
    hint = f"the standard grades are {listed}"
    shown = str(value).strip()
    if isinstance(value, str):
        match = re.fullmatch(r"\s*[gG]?\s*([0-9]{0,9}\.?[0-9]{0,9})\s*", value)
        if "," in value:
            hint = "write a decimal point: G 6.3"
        number = float(match[1]) if match and re.search("[0-9]", match[1]) else math.nan
    else:
        number = math.nan if isinstance(value, bool) or abs(value) > 1e9 else float(value)
    if not (math.isfinite(number) and number > 0.0):
        raise InputError(f"given the balance grade `{shown[:40]}`; {allowed}", hint=hint)
    return number


def standard_grade(grade_mm_per_s: float) -> BalanceGrade | None:
    """Return the row of the table with that grade, or None if it is no standard grade."""
    for row in BALANCE_GRADES:
        if math.isclose(row.grade_mm_per_s, grade_mm_per_s, rel_tol=1e-9):
            return row
    return None


def next_standard_grade(grade_mm_per_s: float) -> BalanceGrade | None:
    """Return the finest standard grade that a rotor of this quality [mm/s] meets; None beyond G 4000."""
    met = [row for row in BALANCE_GRADES if row.grade_mm_per_s >= grade_mm_per_s * (1.0 - 1e-9)]
    return met[-1] if met else None


def default_margin(grade_mm_per_s: float) -> float:
    """Return the margin, as a share of the tolerance, to use when the measurement error is not known.

    0.10 down to G 40, 0.15 from G 16 to G 2.5, 0.20 at G 1, 0.30 at G 0.4 [1]_; a grade between two rows
    takes the wider margin.

    References
    ----------
    .. [1] Bloch & Geitner, Machinery Component Maintenance and Repair, ch. 6, p. 313 table 6-6.
    """
    for row in BALANCE_GRADES:
        if row.grade_mm_per_s <= grade_mm_per_s * (1.0 + 1e-9):
            return row.margin
    return BALANCE_GRADES[-1].margin


def angular_speed_rad_per_s(speed_rpm: float) -> float:
    """Return ``2*pi*n/60`` [rad/s]."""
    return 2.0 * math.pi * speed_rpm / 60.0


def permissible_residual_gmm(grade_mm_per_s: float, *, mass_kg: float, speed_rpm: float) -> float:
    """Return the permissible residual unbalance of a rotor, ISO 21940-11.

    ``U_per = 1000 * G * m / omega``

    Parameters
    ----------
    grade_mm_per_s : float
        Balance grade G [mm/s].
    mass_kg : float
        Mass of the rotor [kg].
    speed_rpm : float
        Its greatest service speed [rpm], not the speed of the balancing machine.

    Returns
    -------
    float
        [g*mm], for the whole rotor.

    Raises
    ------
    InputError
        If one of them is not a positive number.
    """
    for name, value, unit in (
        ("grade", grade_mm_per_s, "mm/s"),
        ("mass", mass_kg, "kg"),
        ("service speed", speed_rpm, "rpm"),
    ):
        if not (math.isfinite(value) and value > 0.0):
            raise InputError(f"given a {name} of {value:g} {unit}; it must be a positive number")
    return 1000.0 * grade_mm_per_s * mass_kg / angular_speed_rad_per_s(speed_rpm)


def grade_of_residual_mm_per_s(unbalance_gmm: float, *, mass_kg: float, speed_rpm: float) -> float:
    """Return the grade [mm/s] that a residual [g*mm] of the whole rotor just meets: ``U*omega/(1000*m)``."""
    return unbalance_gmm / permissible_residual_gmm(1.0, mass_kg=mass_kg, speed_rpm=speed_rpm)


def permissible_eccentricity_um(grade_mm_per_s: float, *, speed_rpm: float) -> float:
    """Return the permissible specific unbalance [g*mm/kg], which is the same number in micrometres."""
    return permissible_residual_gmm(grade_mm_per_s, mass_kg=1.0, speed_rpm=speed_rpm)
