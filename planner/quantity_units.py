"""The units that may be typed: exact factors, spellings, digits.

The factors are exact by definition: 1 in = 25.4 mm, 1 lb = 453.59237 g, 1 oz = 1 lb/16 (international yard
and pound agreement of 1959).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Literal, get_args

Kind = Literal["length", "mass", "unbalance", "density", "angle", "speed"]
KINDS: tuple[Kind, ...] = get_args(Kind)

# as fractions: 1 1/2 in is 38.1 mm to the last bit, not 38.099999999999994
_IN = Fraction(254, 10)
_LB = Fraction(45_359_237, 100_000)
_OZ = _LB / 16
_IN3 = (_IN / 10) ** 3

MM_PER_IN = float(_IN)
G_PER_OZ = float(_OZ)
GMM_PER_OZ_IN = float(_OZ * _IN)

FACTORS: dict[Kind, dict[str, Fraction]] = {
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
INSIDE: dict[Kind, str] = {
    "length": "mm",
    "mass": "g",
    "unbalance": "g*mm",
    "density": "g/cm3",
    "angle": "deg",
    "speed": "rpm",
}
WORDS: dict[Kind, str] = {
    "length": "a length",
    "mass": "a mass",
    "unbalance": "an unbalance (mass x radius)",
    "density": "a density",
    "angle": "an angle",
    "speed": "a speed",
}
SAMPLES: dict[Kind, str] = {
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
NEED_SEPARATOR = {"gm": "g*m", "mg": "g*m", "mkg": "kg*m"}


def _spellings() -> Iterator[tuple[Kind, str, str]]:
    """Yield every accepted spelling as (kind, normalised spelling, canonical unit)."""
    for unit, names in _LENGTH_SPELLINGS.items():
        yield from (("length", name, unit) for name in names)
    for unit, names in _MASS_SPELLINGS.items():
        yield from (("mass", name, unit) for name in names)
    for unit in FACTORS["unbalance"]:
        mass, length = unit.split("*")
        for mass_name in _MASS_SPELLINGS[mass]:
            for length_name in _LENGTH_SPELLINGS[length]:
                for first, second in ((mass_name, length_name), (length_name, mass_name)):
                    yield "unbalance", f"{first}*{second}", unit
                    if first + second not in NEED_SEPARATOR and '"' not in first + second:
                        yield "unbalance", first + second, unit
    for unit in FACTORS["density"]:
        yield "density", unit, unit
    yield from (("density", name, "g/cm3") for name in ("g/cc", "g/ccm", "g/ml"))
    yield from (("density", name, "lb/in3") for name in ("lb/cuin", "lbs/in3", "lbs/cuin"))
    yield from (("angle", name, "deg") for name in ("deg", "degs", "degree", "degrees", "°"))
    yield from (("angle", name, "rad") for name in ("rad", "rads", "radian", "radians"))
    yield from (("speed", name, "rpm") for name in ("rpm", "r/min", "rev/min", "1/min", "min-1", "u/min"))
    yield from (("speed", name, "rad/s") for name in ("rad/s", "rad/sec"))
    yield from (("speed", name, "Hz") for name in ("hz", "rev/s", "r/s"))


SPELLINGS: dict[Kind, dict[str, str]] = {kind: {} for kind in KINDS}
for _kind, _name, _unit in _spellings():
    SPELLINGS[_kind][_name] = _unit

# (digits of amounts below the threshold, threshold in that unit, digits from there on)
DIGITS: dict[str, tuple[int, float, int]] = {
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
