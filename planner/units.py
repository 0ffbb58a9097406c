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

import difflib
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypedDict, Unpack, get_args

from planner.errors import InputError

Kind = Literal["length", "mass", "unbalance", "density", "angle", "speed"]
KINDS: tuple[Kind, ...] = get_args(Kind)

# as fractions: 1 1/2 in is 38.1 mm to the last bit, not 38.099999999999994
_IN = Fraction(254, 10)
_LB = Fraction(45_359_237, 100_000)
_OZ = _LB / 16
_IN3 = (_IN / 10) ** 3

MM_PER_IN = float(_IN)
G_PER_LB = float(_LB)
G_PER_OZ = float(_OZ)
GMM_PER_OZ_IN = float(_OZ * _IN)

_FACTORS: dict[Kind, dict[str, Fraction]] = {
    "length": {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": _IN},
    "mass": {"g": Fraction(1), "kg": Fraction(1000), "oz": _OZ, "lb": _LB},
    "unbalance": {
        "g*mm": Fraction(1),
        "g*cm": Fraction(10),
        "g*m": Fraction(1000),
        "g*in": _IN,
        "kg*mm": Fraction(1000),
        "kg*cm": Fraction(10_000),
        "kg*m": Fraction(1_000_000),
        "oz*in": _OZ * _IN,
        "lb*in": _LB * _IN,
    },
    "density": {
        "g/cm3": Fraction(1),
        "g/mm3": Fraction(1000),
        "kg/m3": Fraction(1, 1000),
        "kg/dm3": Fraction(1),
        "oz/in3": _OZ / _IN3,
        "lb/in3": _LB / _IN3,
    },
    "angle": {"deg": Fraction(1), "rad": Fraction(180.0 / math.pi)},
    "speed": {"rpm": Fraction(1), "rad/s": Fraction(30.0 / math.pi), "Hz": Fraction(60)},
}
_INSIDE: dict[Kind, str] = {
    "length": "mm",
    "mass": "g",
    "unbalance": "g*mm",
    "density": "g/cm3",
    "angle": "deg",
    "speed": "rpm",
}
_WORDS: dict[Kind, str] = {
    "length": "a length",
    "mass": "a mass",
    "unbalance": "an unbalance (mass x radius)",
    "density": "a density",
    "angle": "an angle",
    "speed": "a speed",
}
_SAMPLES: dict[Kind, str] = {
    "length": "`3.48 in`, `53/64 in`",
    "mass": "`412.6 g`, `53 lb`",
    "unbalance": "`420 g*mm`, `0.5 oz*in`",
    "density": "`7.85 g/cm3`, `0.284 lb/in3`",
    "angle": "`131`, `131 deg`",
    "speed": "`6500`, `6500 rpm`",
}
_LENGTH_SPELLINGS = {
    "in": ("in", "inch", "inches", '"'),
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    "m": ("m", "metre", "metres", "meter", "meters"),
}
_MASS_SPELLINGS = {
    "g": ("g", "gram", "grams", "gramme", "grammes"),
    "kg": ("kg", "kgs", "kilogram", "kilograms", "kilo", "kilos"),
    "oz": ("oz", "ozs", "ounce", "ounces"),
    "lb": ("lb", "lbs", "pound", "pounds"),
}
# `gm` is also a gram and `mg` a milligram: these need their separator
_NEED_SEPARATOR = {"gm": "g*m", "mg": "g*m", "mkg": "kg*m"}


def _spellings() -> Iterator[tuple[Kind, str, str]]:
    """Yield every accepted spelling as (kind, normalised spelling, canonical unit)."""
    for unit, names in _LENGTH_SPELLINGS.items():
        yield from (("length", name, unit) for name in names)
    for unit, names in _MASS_SPELLINGS.items():
        yield from (("mass", name, unit) for name in names)
    for unit in _FACTORS["unbalance"]:
        mass, length = unit.split("*")
        for mass_name in _MASS_SPELLINGS[mass]:
            for length_name in _LENGTH_SPELLINGS[length]:
                for first, second in ((mass_name, length_name), (length_name, mass_name)):
                    yield "unbalance", f"{first}*{second}", unit
                    if first + second not in _NEED_SEPARATOR and '"' not in first + second:
                        yield "unbalance", first + second, unit
    for unit in _FACTORS["density"]:
        yield "density", unit, unit
    yield from (("density", name, "g/cm3") for name in ("g/cc", "g/ccm", "g/ml"))
    yield from (("density", name, "lb/in3") for name in ("lb/cuin", "lbs/in3", "lbs/cuin"))
    yield from (("angle", name, "deg") for name in ("deg", "degs", "degree", "degrees", "°"))
    yield from (("angle", name, "rad") for name in ("rad", "rads", "radian", "radians"))
    yield from (("speed", name, "rpm") for name in ("rpm", "r/min", "rev/min", "1/min", "min-1", "u/min"))
    yield from (("speed", name, "rad/s") for name in ("rad/s", "rad/sec"))
    yield from (("speed", name, "Hz") for name in ("hz", "rev/s", "r/s"))


_TABLE: dict[Kind, dict[str, str]] = {kind: {} for kind in KINDS}
for _kind, _name, _unit in _spellings():
    _TABLE[_kind][_name] = _unit

_UNSIGNED = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_NUMBER = re.compile(
    r"(?P<sign>[+-]?)\s*(?:"
    r"(?:(?P<whole>[0-9]+)(?:\s+|\s*-\s*))?(?P<top>[0-9]+)\s*/\s*(?P<bottom>[0-9]+)"
    rf"|(?P<decimal>{_UNSIGNED})"
    r")(?![0-9./])"
)
_VULGAR = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_LOOKALIKES = str.maketrans(
    {
        "−": "-",
        "–": "-",
        "⁄": "/",
        "″": '"',
        "“": '"',
        "”": '"',
        "\N{NO-BREAK SPACE}": " ",
        "²": "2",
        "³": "3",
    }
)


class Limits(TypedDict, total=False):
    """What a caller may say of a number: its name for errors, and its limits in internal units."""

    name: str | None
    least: float | None
    above: float | None
    most: float | None


class QuantityError(InputError):
    """A number with a unit that can't be read or lies outside its limits.

    Attributes
    ----------
    given, allowed : str
        The two halves of the message, for callers that collect faults.
    """

    def __init__(self, *, given: str, allowed: str, name: str | None = None, hint: str | None = None) -> None:
        self.given = given
        self.allowed = allowed
        super().__init__(f"{name + ': ' if name else ''}given {given}; {allowed}", hint=hint)


def unit_names(kind: Kind) -> tuple[str, ...]:
    """Return the canonical units of a kind, the internal one first."""
    return tuple(_FACTORS[kind])


def unit_name(text: str, kind: Kind) -> str:
    """Return the canonical spelling of a unit, ``oz-in`` -> ``oz*in``.

    Raises
    ------
    QuantityError
        If the text is no unit of that kind.
    """
    found = _find_unit(text, kind)
    if found is None:
        raise QuantityError(
            given=f"the unit `{text.strip()}`", allowed=_allowed_units(kind), hint=_unit_hint(text, kind)
        )
    return found


def factor(unit: str, kind: Kind) -> float:
    """Return how many internal units (mm, g, g*mm, g/cm3, deg, rpm) one ``unit`` is."""
    return float(_FACTORS[kind][unit_name(unit, kind)])


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
    bare_unit = unit_name(default_unit, kind) if default_unit is not None else _INSIDE[kind]
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        shown = str(value).lower() if isinstance(value, bool) else repr(value)
        raise QuantityError(given=f"`{shown}`", allowed=_wanted(kind), name=name)
    if isinstance(value, str):
        number, unit_text = _split(value, kind, name)
        unit = _find_unit(unit_text, kind) if unit_text else bare_unit
        if unit is None:
            raise QuantityError(
                given=f"`{value.strip()}`",
                allowed=_allowed_units(kind),
                name=name,
                hint=_unit_hint(unit_text, kind),
            )
        given = f"`{value.strip()}`"
    else:
        unit = bare_unit
        given = f"`{value:g}`" if isinstance(value, float) else f"`{str(value)[:40]}`"
        number = _exact(repr(value)) if isinstance(value, float) else _in_range(value)
    result = None if number is None else _in_range(number * _FACTORS[kind][unit])
    if result is None:
        raise QuantityError(given=given, allowed=f"{_WORDS[kind]} must be a finite number", name=name)
    _check_limits(float(result), kind, unit, given=given, name=name, least=least, above=above, most=most)
    return float(result)


def parse_length_mm(value: str | int | float, *, default_unit: str = "mm", **limits: Unpack[Limits]) -> float:
    """Return a length [mm]; see `parse_quantity`."""
    return parse_quantity(value, "length", default_unit=default_unit, **limits)


def parse_mass_g(value: str | int | float, *, default_unit: str = "g", **limits: Unpack[Limits]) -> float:
    """Return a mass [g]; see `parse_quantity`."""
    return parse_quantity(value, "mass", default_unit=default_unit, **limits)


def parse_unbalance_gmm(
    value: str | int | float, *, default_unit: str = "g*mm", **limits: Unpack[Limits]
) -> float:
    """Return an unbalance [g*mm]; see `parse_quantity`."""
    return parse_quantity(value, "unbalance", default_unit=default_unit, **limits)


def parse_density_g_per_cm3(
    value: str | int | float, *, default_unit: str = "g/cm3", **limits: Unpack[Limits]
) -> float:
    """Return a density [g/cm3]; see `parse_quantity`."""
    return parse_quantity(value, "density", default_unit=default_unit, **limits)


def parse_angle_deg(
    value: str | int | float, *, default_unit: str = "deg", **limits: Unpack[Limits]
) -> float:
    """Return an angle [deg], not wrapped; see `parse_quantity`."""
    return parse_quantity(value, "angle", default_unit=default_unit, **limits)


def parse_speed_rpm(
    value: str | int | float, *, default_unit: str = "rpm", **limits: Unpack[Limits]
) -> float:
    """Return a speed [rpm]; see `parse_quantity`."""
    return parse_quantity(value, "speed", default_unit=default_unit, **limits)


def from_mm(length_mm: float, unit: str) -> float:
    """Return a length [mm] as a number of ``unit``."""
    return length_mm / factor(unit, "length")


def from_g(mass_g: float, unit: str) -> float:
    """Return a mass [g] as a number of ``unit``."""
    return mass_g / factor(unit, "mass")


def from_gmm(unbalance_gmm: float, unit: str) -> float:
    """Return an unbalance [g*mm] as a number of ``unit``."""
    return unbalance_gmm / factor(unit, "unbalance")


def from_g_per_cm3(density_g_per_cm3: float, unit: str) -> float:
    """Return a density [g/cm3] as a number of ``unit``."""
    return density_g_per_cm3 / factor(unit, "density")


# (digits of amounts below the threshold, threshold in that unit, digits from there on)
_DIGITS: dict[str, tuple[int, float, int]] = {
    "mm": (2, math.inf, 2),
    "cm": (2, math.inf, 2),
    "m": (4, math.inf, 4),
    "in": (3, math.inf, 3),
    "g": (1, math.inf, 1),
    "kg": (3, math.inf, 3),
    "oz": (3, math.inf, 3),
    "lb": (3, math.inf, 3),
    "g*mm": (1, 100.0, 0),
    "g*cm": (2, 10.0, 1),
    "g*m": (4, 0.1, 3),
    "g*in": (2, 10.0, 1),
    "kg*mm": (4, 0.1, 3),
    "kg*cm": (5, 0.01, 4),
    "kg*m": (7, 0.0001, 6),
    "oz*in": (3, 1.0, 2),
    "lb*in": (4, 0.1, 3),
    "g/cm3": (2, math.inf, 2),
    "g/mm3": (5, math.inf, 5),
    "kg/m3": (0, math.inf, 0),
    "kg/dm3": (2, math.inf, 2),
    "oz/in3": (3, math.inf, 3),
    "lb/in3": (4, math.inf, 4),
    "deg": (1, math.inf, 1),
    "rad": (4, math.inf, 4),
    "rpm": (0, math.inf, 0),
    "rad/s": (1, math.inf, 1),
    "Hz": (2, math.inf, 2),
}


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
    number = value / float(_FACTORS[kind][canonical])
    few, threshold, many = _DIGITS[canonical]
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


def format_length(length_mm: float, unit: str, **look: Unpack[Look]) -> str:
    """Return a length [mm] as text in ``unit``; see `format_quantity`."""
    return format_quantity(length_mm, "length", unit, **look)


def format_mass(mass_g: float, unit: str, **look: Unpack[Look]) -> str:
    """Return a mass [g] as text in ``unit``; see `format_quantity`."""
    return format_quantity(mass_g, "mass", unit, **look)


def format_unbalance(unbalance_gmm: float, unit: str, **look: Unpack[Look]) -> str:
    """Return an unbalance [g*mm] as text in ``unit``; see `format_quantity`."""
    return format_quantity(unbalance_gmm, "unbalance", unit, **look)


def format_density(density_g_per_cm3: float, unit: str, **look: Unpack[Look]) -> str:
    """Return a density [g/cm3] as text in ``unit``; see `format_quantity`."""
    return format_quantity(density_g_per_cm3, "density", unit, **look)


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

    @property
    def in_inches(self) -> bool:
        """True when lengths are in inches: round-inch defaults, 64ths beside decimals."""
        return self.length == "in"

    def unit_of(self, kind: Kind) -> str:
        """Return the unit of bare numbers of a kind (density, angle and speed have fixed ones)."""
        own = {"length": self.length, "mass": self.mass, "unbalance": self.unbalance}
        return own.get(kind, _INSIDE[kind])

    def parse(self, value: str | int | float, kind: Kind, **limits: Unpack[Limits]) -> float:
        """Return a number read with this system's unit as the default; see `parse_quantity`."""
        return parse_quantity(value, kind, default_unit=self.unit_of(kind), **limits)

    def text(self, value: float, kind: Kind, **look: Unpack[Look]) -> str:
        """Return a value in internal units as text in this system's unit; see `format_quantity`."""
        return format_quantity(value, kind, self.unit_of(kind), **look)


def _find_unit(text: str, kind: Kind) -> str | None:
    """Return the canonical unit, or None."""
    return _TABLE[kind].get(_normalised(text, kind))


def _normalised(text: str, kind: Kind) -> str:
    """Return a unit text with one spelling of case, separators and powers."""
    plain = text.translate(_LOOKALIKES).casefold().strip()
    if kind == "density":
        plain = plain.replace("**", "").replace("^", "").replace("cubic", "cu").replace("cu.", "cu")
        return re.sub(r"\s+", "", plain).replace("inch", "in")
    if kind == "unbalance":
        plain = plain.removesuffix(".")
        # one separator, with or without spaces; `.` may also end an abbreviation ("oz. in")
        return re.sub(r"\s*[*·⋅•×.\-]\s*|\s+", "*", plain)
    if kind == "speed":
        return re.sub(r"\s+", "", plain).replace("^", "")
    return plain.removesuffix(".")


def _exact(decimal: str) -> Fraction | None:
    """Return a decimal number as typed, or None if it is not finite."""
    if not math.isfinite(float(decimal)):
        return None
    # more digits than a float can hold say nothing, and very many of them would be slow
    return Fraction(decimal) if len(decimal) <= 40 else Fraction(float(decimal))


def _in_range(number: Fraction | int) -> Fraction | None:
    """Return a number that a float can hold, or None."""
    try:
        float(number)
    except OverflowError:
        return None
    return Fraction(number)


def _split(text: str, kind: Kind, name: str | None) -> tuple[Fraction | None, str]:
    """Return the number and the unit text of ``1-1/2 in``."""
    plain = text.translate(_LOOKALIKES).strip()
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, f" {fraction}").strip()
    given = f"`{text.strip()}`" if text.strip() else "an empty text"
    if "," in plain:
        raise QuantityError(
            given=given,
            allowed="commas are not read",
            name=name,
            hint=f"write a decimal point and no separator of thousands: `{plain.replace(',', '.')}`"
            if plain.count(",") == 1 and "." not in plain
            else "write a decimal point and no separator of thousands",
        )
    if re.match(r"[+-]?\s*(nan|inf)", plain, re.IGNORECASE):
        raise QuantityError(given=given, allowed=f"{_WORDS[kind]} must be a finite number", name=name)
    match = _NUMBER.match(plain)
    if match is None:
        raise QuantityError(given=given, allowed=_wanted(kind), name=name)
    number: Fraction | None
    if match["decimal"] is not None:
        number = _exact(match["decimal"])
    else:
        whole, top, bottom = (_exact(match[part] or "0") for part in ("whole", "top", "bottom"))
        if bottom == 0:
            raise QuantityError(given=given, allowed="a fraction can't have 0 below its line", name=name)
        number = whole + top / bottom if whole is not None and top is not None and bottom else None
    rest = plain[match.end() :].strip()
    # "1/2-in" and "5-mm" are shop spellings
    unit_text = rest[1:].strip() if len(rest) > 1 and rest[0] == "-" and rest[1].isalpha() else rest
    return (-number if number is not None and match["sign"] == "-" else number), unit_text


def _wanted(kind: Kind) -> str:
    return f"{_WORDS[kind]} is a number or a text such as {_SAMPLES[kind]}"


def _allowed_units(kind: Kind) -> str:
    *others, last = _FACTORS[kind]
    return f"{_WORDS[kind]} is in {', '.join(others)} or {last}"


def _unit_hint(text: str, kind: Kind) -> str | None:
    """Return a "did you mean", or what the unit is a unit of."""
    for other in KINDS:
        found = _find_unit(text, other) if other != kind else None
        if found is not None:
            twin = {"oz": "oz*in", "g": "g*mm", "kg": "kg*mm", "lb": "lb*in"}.get(found)
            also = f"; did you mean `{twin}`?" if kind == "unbalance" and twin else ""
            return f"`{found}` is a unit of {_WORDS[other]}{also}"
    plain = _normalised(text, kind)
    if kind == "unbalance" and plain in _NEED_SEPARATOR:
        return f"write `{_NEED_SEPARATOR[plain]}` if mass x radius is meant"
    if kind == "length" and plain in ("'", "ft", "foot", "feet"):
        return "feet are not read: write inches"
    close = difflib.get_close_matches(plain, _TABLE[kind], n=1, cutoff=0.5)
    return f"did you mean `{_TABLE[kind][close[0]]}`?" if close else None


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
        return f"{limit / float(_FACTORS[kind][unit]):.6g} {unit}"

    if above is not None and not value > above:
        raise QuantityError(given=given, allowed=f"more than {shown(above)} is allowed", name=name)
    if least is not None and value < least:
        raise QuantityError(given=given, allowed=f"at least {shown(least)} is allowed", name=name)
    if most is not None and value > most:
        raise QuantityError(given=given, allowed=f"at most {shown(most)} is allowed", name=name)


METRIC = UnitSystem()
