"""Units at the edge: text to numbers in mm, g, g*mm, g/cm3, degrees, rpm, and back.

Inside the project every number is in these units; only what people type or read goes through here.

==========  ============  ===================================================================
kind        inside        what may be typed
==========  ============  ===================================================================
length      mm            mm, cm, m, in (also inch, inches, ``"``), fractions: ``53/64 in``
mass        g             g, kg, oz, lb
unbalance   g*mm          g*mm, g*cm, g*m, g*in, kg*mm, kg*cm, kg*m, oz*in, lb*in; the two
                          parts in either order, joined by ``*  -  .  ·`` or a space
density     g/cm3         g/cm3, g/mm3, kg/m3, kg/dm3, oz/in3, lb/in3
angle       deg           deg, rad
speed       rpm           rpm, rad/s, Hz
==========  ============  ===================================================================

The factors are exact by definition: 1 in = 25.4 mm, 1 lb = 453.59237 g, 1 oz = 1 lb/16 (international
yard and pound agreement of 1959).  oz is the avoirdupois ounce.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TypedDict, Unpack

from planner.errors import InputError
from planner.quantity_reading import QuantityError as QuantityError
from planner.quantity_reading import (
    allowed_units,
    exact,
    find_unit,
    in_range,
    split_number,
    unit_hint,
    wanted,
)
from planner.quantity_units import DIGITS, FACTORS, INSIDE, WORDS
from planner.quantity_units import G_PER_OZ as G_PER_OZ
from planner.quantity_units import GMM_PER_OZ_IN as GMM_PER_OZ_IN
from planner.quantity_units import MM_PER_IN as MM_PER_IN
from planner.quantity_units import Kind as Kind
from planner.records import dataclass


class Limits(TypedDict, total=False):
    """What a caller may say of a number: its name for errors, and its limits in internal units."""

    name: str | None
    least: float | None
    above: float | None
    most: float | None


def unit_name(text: str, kind: Kind) -> str:
    """Return the canonical spelling of a unit, ``oz-in`` -> ``oz*in``.

    Raises
    ------
    QuantityError
        If the text is no unit of that kind.
    """
    found = find_unit(text, kind)
    if found is None:
        raise QuantityError(
            given=f"the unit `{text.strip()}`", allowed=allowed_units(kind), hint=unit_hint(text, kind)
        )
    return found


def factor(unit: str, kind: Kind) -> float:
    """Return how many internal units (mm, g, g*mm, g/cm3, deg, rpm) one ``unit`` is."""
    return float(FACTORS[kind][unit_name(unit, kind)])


def parse_quantity(
    value: str | int | float,
    kind: Kind,
    *,
    default_unit: str | None = None,
    name: str | None = None,
    least: float | None = None,
    above: float | None = None,
    most: float | None = None,
) -> float:
    """Read a number, or a text with or without its own unit.

    Parameters
    ----------
    value : str, int or float
        For example ``12.7``, ``"12.7"``, ``"1 1/2 in"``, ``"0.5 oz-in"``.
    kind : Kind
        What it is.
    default_unit : str, optional
        Unit of a bare number; the internal unit if left out.
    name : str, optional
        What the number is called in an error.
    least, above, most : float, optional
        Limits in internal units: at least, more than, at most.

    Returns
    -------
    float
        The value in mm, g, g*mm, g/cm3, degrees or rpm.

    Raises
    ------
    QuantityError
        If it can't be read, is not finite or lies outside the limits.
    """
    bare_unit = unit_name(default_unit, kind) if default_unit is not None else INSIDE[kind]
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        shown = str(value).lower() if isinstance(value, bool) else repr(value)
        raise QuantityError(given=f"`{shown}`", allowed=wanted(kind), name=name)
    if isinstance(value, str):
        number, unit_text = split_number(value, kind, name)
        unit = find_unit(unit_text, kind) if unit_text else bare_unit
        if unit is None:
            raise QuantityError(
                given=f"`{value.strip()}`",
                allowed=allowed_units(kind),
                name=name,
                hint=unit_hint(unit_text, kind),
            )
        given = f"`{value.strip()}`"
    else:
        unit = bare_unit
        given = f"`{value:g}`" if isinstance(value, float) else f"`{str(value)[:40]}`"
        number = exact(repr(value)) if isinstance(value, float) else in_range(value)
    result = None if number is None else in_range(number * FACTORS[kind][unit])
    if result is None:
        raise QuantityError(given=given, allowed=f"{WORDS[kind]} must be a finite number", name=name)
    _check_limits(float(result), kind, unit, given=given, name=name, least=least, above=above, most=most)
    return float(result)


def parse_length_mm(value: str | int | float, *, default_unit: str = "mm", **limits: Unpack[Limits]) -> float:
    """Return a length [mm]; see `parse_quantity`."""
    return parse_quantity(value, "length", default_unit=default_unit, **limits)


def parse_mass_g(value: str | int | float, *, default_unit: str = "g", **limits: Unpack[Limits]) -> float:
    """Return a mass [g]; see `parse_quantity`."""
    return parse_quantity(value, "mass", default_unit=default_unit, **limits)


def parse_unbalance_gmm(value: str | int | float, **limits: Unpack[Limits]) -> float:
    """Return an unbalance [g*mm]; see `parse_quantity`."""
    return parse_quantity(value, "unbalance", **limits)


def parse_density_g_per_cm3(value: str | int | float, **limits: Unpack[Limits]) -> float:
    """Return a density [g/cm3]; see `parse_quantity`."""
    return parse_quantity(value, "density", **limits)


def parse_angle_deg(value: str | int | float, **limits: Unpack[Limits]) -> float:
    """Return an angle [deg], not wrapped; see `parse_quantity`."""
    return parse_quantity(value, "angle", **limits)


def parse_speed_rpm(value: str | int | float, **limits: Unpack[Limits]) -> float:
    """Return a speed [rpm]; see `parse_quantity`."""
    return parse_quantity(value, "speed", **limits)


def from_mm(length_mm: float, unit: str) -> float:
    """Return a length [mm] as a number of ``unit``."""
    return length_mm / factor(unit, "length")


def from_g(mass_g: float, unit: str) -> float:
    """Return a mass [g] as a number of ``unit``."""
    return mass_g / factor(unit, "mass")


def from_gmm(unbalance_gmm: float, unit: str) -> float:
    """Return an unbalance [g*mm] as a number of ``unit``."""
    return unbalance_gmm / factor(unit, "unbalance")


def format_quantity(
    value: float, kind: Kind, unit: str, *, digits: int | None = None, with_unit: bool = True
) -> str:
    """Return a value in internal units as text in ``unit``, with as many digits as that unit deserves.

    Parameters
    ----------
    value : float
        In mm, g, g*mm, g/cm3, degrees or rpm.
    kind : Kind
        What it is.
    unit : str
        The unit to show.
    digits : int, optional
        Digits after the point, instead of the unit's own.
    with_unit : bool
        False leaves the unit away.
    """
    canonical = unit_name(unit, kind)
    number = value / float(FACTORS[kind][canonical])
    few, threshold, many = DIGITS[canonical]
    places = digits if digits is not None else (few if abs(number) < threshold else many)
    text = f"{number:.{places}f}"
    if digits is None and canonical == "mm" and text.endswith("0"):
        text = text[:-1]  # 22.5 and 14.25 in one column: the second digit only where it says something
    if float(text) == 0.0:
        text = text.lstrip("-")
    return f"{text} {canonical}" if with_unit else text


class Look(TypedDict, total=False):
    """How a number is shown: digits after the point instead of the unit's own, with or without the unit."""

    digits: int | None
    with_unit: bool


def format_unbalance_both(unbalance_gmm: float) -> str:
    """Return an unbalance [g*mm] in both units of the trade: ``1500.0 g*mm (2.083 oz*in)``."""
    metric = format_quantity(unbalance_gmm, "unbalance", "g*mm", digits=1)
    return f"{metric} ({format_quantity(unbalance_gmm, 'unbalance', 'oz*in', digits=3)})"


def percent(share: float, *, digits: int = 0, signed: bool = False) -> str:
    """Return a share (1 = all of it) in percent, as it is printed everywhere: ``98 %``, ``49.6 %``, ``+1.2 %``."""
    text = f"{100.0 * share:{'+' if signed else ''}.{digits}f}"
    return f"{text.lstrip('-') if float(text) == 0.0 and not signed else text} %"


def nearest_64th(length_mm: float) -> str:
    """Return the nearest 64th of an inch as text without unit: ``53/64``, ``1 3/8``, ``2``, ``0``."""
    count = math.floor(abs(length_mm) / MM_PER_IN * 64.0 + 0.5)
    whole, rest = divmod(count, 64)
    common = math.gcd(rest, 64)
    fraction = f"{rest // common}/{64 // common}" if rest else ""
    text = " ".join(part for part in (str(whole) if whole or not rest else "", fraction) if part)
    return f"-{text}" if length_mm < 0 and count else text


def nearest_64th_mm(length_mm: float) -> float:
    """Return a length [mm] rounded to the nearest 64th of an inch [mm]."""
    count = math.floor(abs(length_mm) / MM_PER_IN * 64.0 + 0.5)
    return math.copysign(count * MM_PER_IN / 64.0, length_mm) if count else 0.0


@dataclass(frozen=True, kw_only=True)
class UnitSystem:
    """The units of a file's bare numbers, in their canonical spelling.

    Attributes
    ----------
    length, mass, unbalance : str
        Any spelling may be given; ``oz-in`` is kept as ``oz*in``.

    Raises
    ------
    QuantityError
        If one is no unit of its kind.
    """

    length: str = "mm"
    mass: str = "g"
    unbalance: str = "g*mm"

    def __post_init__(self) -> None:
        for kind in ("length", "mass", "unbalance"):
            object.__setattr__(self, kind, unit_name(getattr(self, kind), kind))

    def shown_in(self, display_unit: str | None) -> UnitSystem:
        """Return these units with the unit that a machine's display has, a mass or an unbalance; None: these."""
        if display_unit is None:
            return self
        for kind in ("mass", "unbalance"):
            if find_unit(display_unit, kind) is not None:
                return replace(self, **{kind: display_unit})
        raise QuantityError(
            given=f"`{display_unit}`",
            allowed=f"the display's unit is one of {allowed_units('unbalance')}, or one of {allowed_units('mass')}",
        )

    @property
    def in_inches(self) -> bool:
        """True when lengths are in inches: round-inch defaults, 64ths beside decimals."""
        return self.length == "in"

    def unit_of(self, kind: Kind) -> str:
        """Return the unit of bare numbers of a kind (density, angle and speed have fixed ones)."""
        own = {"length": self.length, "mass": self.mass, "unbalance": self.unbalance}
        return own.get(kind, INSIDE[kind])

    def parse(self, value: str | int | float, kind: Kind, **limits: Unpack[Limits]) -> float:
        """Return a number read with this system's unit as the default; see `parse_quantity`."""
        return parse_quantity(value, kind, default_unit=self.unit_of(kind), **limits)

    def given(self, value: str | None, kind: Kind, **limits: Unpack[Limits]) -> float | None:
        """Return a number that may be left out, None where it was; see `parse_quantity`."""
        return None if value is None else self.parse(value, kind, **limits)

    def text(self, value: float, kind: Kind, **look: Unpack[Look]) -> str:
        """Return a value in internal units as text in this system's unit; see `format_quantity`."""
        return format_quantity(value, kind, self.unit_of(kind), **look)


def _check_limits(
    value: float,
    kind: Kind,
    unit: str,
    *,
    given: str,
    name: str | None,
    least: float | None,
    above: float | None,
    most: float | None,
) -> None:
    def shown(limit: float) -> str:
        return f"{limit / float(FACTORS[kind][unit]):.6g} {unit}"

    if above is not None and not value > above:
        raise QuantityError(given=given, allowed=f"more than {shown(above)} is allowed", name=name)
    if least is not None and value < least:
        raise QuantityError(given=given, allowed=f"at least {shown(least)} is allowed", name=name)
    if most is not None and value > most:
        raise QuantityError(given=given, allowed=f"at most {shown(most)} is allowed", name=name)


METRIC = UnitSystem()


def number_or_nan(text: str) -> float:
    """Return the number that a text is; NaN when it is none, which no limit lets pass."""
    try:
        return float(text)
    except ValueError:
        return math.nan


def finite_number(text: str, *, what: str) -> float:
    """Return a finite number typed as plain text.

    Raises
    ------
    InputError
        If it is none.
    """
    value = number_or_nan(text)
    if not math.isfinite(value):
        raise InputError(f"{what}: given `{text}`, a number is needed", hint="for example `205` or `5.85`")
    return value
