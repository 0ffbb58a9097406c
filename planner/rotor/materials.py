"""Densities and elastic figures of what crankshafts and slugs are made of.

A table is a start: nodular irons alone spread by 3 % of the drilled mass.  Weighing the chips, or the slug
itself, beats every figure here.
"""

from __future__ import annotations

import difflib

from planner.errors import InputError
from planner.records import dataclass

_FROM_MEMORY = "from memory, not checked against a source"


@dataclass(frozen=True)
class Material:
    """A material by its name.

    Attributes
    ----------
    name : str
        The name to type.
    density_g_per_cm3 : float
        The figure to use [g/cm3].
    density_low_g_per_cm3, density_high_g_per_cm3 : float
        The range it usually lies in [g/cm3].
    source : str
        Where the densities come from.
    elastic_modulus_gpa, poisson_ratio, expansion_per_million_k : float or None
        Young's modulus [GPa], Poisson's ratio, linear expansion [1e-6/K]; None where no figure is offered.
    elastic_source : str
        Where those come from.
    yield_mpa : float or None
        The least yield strength that is expected of it [MPa]; None where no figure is offered.
    yield_source : str
        Where that comes from.
    """

    name: str
    density_g_per_cm3: float
    density_low_g_per_cm3: float
    density_high_g_per_cm3: float
    source: str
    elastic_modulus_gpa: float | None = None
    poisson_ratio: float | None = None
    expansion_per_million_k: float | None = None
    elastic_source: str = ""
    yield_mpa: float | None = None
    yield_source: str = ""


_STEEL_ELASTIC = "vocational college table of ferrous metals: E 200-207 GPa, ratio 0.29-0.30, expansion 12"
_IRON_ELASTIC = "open materials data for ductile iron: E 170-180 GPa, ratio 0.28-0.31, expansion 11"
_HEAVY_ELASTIC = (
    "open materials data for the 97 % class: E 270 GPa, ratio 0.28, expansion 4.5; other data, "
    + _FROM_MEMORY
    + ", put tungsten heavy alloys at 310-365 GPa and 5"
)


def _heavy_alloy(number: int, percent: str, low: float, high: float, middle: float) -> Material:
    source = f"ASTM B777-15, Table 1: tungsten heavy alloy, {percent} % W; middle of its range"
    name = f"ASTM B777 class {number}"
    return Material(name, middle, low, high, source, 270.0, 0.28, 4.5, _HEAVY_ELASTIC)


HEAVY_ALLOYS: tuple[Material, ...] = (
    _heavy_alloy(1, "90", 16.85, 17.30, 17.08),
    _heavy_alloy(2, "92.5", 17.15, 17.85, 17.50),
    _heavy_alloy(3, "95", 17.75, 18.35, 18.05),
    _heavy_alloy(4, "97", 18.25, 18.85, 18.55),
)

_NODULAR = "open materials data: 7.1-7.5, foundry note: 7.1-7.3; the single figure " + _FROM_MEMORY
_NODULAR_YIELD = (
    "ASTM A536 grade 60-40-18, whose name says 40 ksi, "
    + _FROM_MEMORY
    + "; crankshaft irons are mostly stronger"
)
_FORGED = "vocational college table of ferrous metals: 4340 7.85, 1045 7.87, forged 1055 7.85"
_FORGED_YIELD = (
    "1045 hot rolled, Shigley, table A-20, " + _FROM_MEMORY + "; crankshaft steels are mostly stronger"
)
_CAST = "public density tables: 7.8; the range " + _FROM_MEMORY
_CAST_YIELD = "carbon steel castings, " + _FROM_MEMORY
_GRAY = "public density tables: 6.6-7.4; the single figure " + _FROM_MEMORY
_LEAD = "public density tables: 11.34; the range " + _FROM_MEMORY

# name; density, from, to, source; E, ratio, expansion, source; yield, source
MATERIALS: tuple[Material, ...] = (
    Material(
        "forged steel", 7.85, 7.83, 7.87, _FORGED, 207.0, 0.29, 12.0, _STEEL_ELASTIC, 310.0, _FORGED_YIELD
    ),
    Material("cast steel", 7.8, 7.75, 7.85, _CAST, 207.0, 0.29, 12.0, _STEEL_ELASTIC, 240.0, _CAST_YIELD),
    Material(
        "nodular iron", 7.15, 7.1, 7.5, _NODULAR, 170.0, 0.28, 11.0, _IRON_ELASTIC, 276.0, _NODULAR_YIELD
    ),
    Material("gray iron", 7.15, 6.6, 7.4, _GRAY),
    *HEAVY_ALLOYS,
    Material("tungsten", 19.25, 19.25, 19.3, "public density tables, pure metal"),
    Material("lead", 11.34, 11.34, 11.35, _LEAD),
)

_STEEL_FROM_G_PER_CM3 = 7.6  # between the irons and the steels

_ALSO_CALLED = {
    "steel": "forged steel",
    "forged": "forged steel",
    "billet steel": "forged steel",
    "steel casting": "cast steel",
    "ductile iron": "nodular iron",
    "spheroidal graphite iron": "nodular iron",
    "sg iron": "nodular iron",
    "grey iron": "gray iron",
    "gray cast iron": "gray iron",
    "grey cast iron": "gray iron",
}


def like_metal(density_g_per_cm3: float) -> Material:
    """Return the crankshaft metal whose elastic figures are taken for a density: forged steel, or nodular iron."""
    return material("forged steel" if density_g_per_cm3 >= _STEEL_FROM_G_PER_CM3 else "nodular iron")


def material(name: str) -> Material:
    """Return the material of a name.

    Case, spaces, hyphens and underscores don't matter; ``ductile iron`` is ``nodular iron``,
    ``B777 class 2`` or
    ``class 2`` is ``ASTM B777 class 2``.

    Raises
    ------
    InputError
        If there is no such material; the message lists them.
    """
    wanted = _key(name)
    known = {_key(one.name): one for one in MATERIALS}
    by_name = {**known, **{_key(other): known[_key(proper)] for other, proper in _ALSO_CALLED.items()}}
    for alloy in HEAVY_ALLOYS:
        by_name[_key(alloy.name.removeprefix("ASTM "))] = alloy
        by_name[_key(alloy.name.removeprefix("ASTM B777 "))] = alloy
    if wanted in by_name:
        return by_name[wanted]
    close = difflib.get_close_matches(wanted, list(by_name), n=1)
    advice = f"did you mean `{by_name[close[0]].name}`? Or give" if close else "give"
    raise InputError(
        f"material `{name}` is not known, known are: {', '.join(one.name for one in MATERIALS)}",
        hint=f"{advice} the density itself in g/cm3",
    )


def density_of(name: str) -> float:
    """Return the density of a material [g/cm3]; see `material`."""
    return material(name).density_g_per_cm3


def slug_class(name: str) -> Material:
    """Return the heavy alloy of a class, for example ``ASTM B777 class 2``.

    Raises
    ------
    InputError
        If it is not one of the four classes.
    """
    try:
        found = material(name)
    except InputError:
        found = None
    if found is None or found not in HEAVY_ALLOYS:
        raise InputError(
            f"slug class `{name}` is not known, known are: {', '.join(one.name for one in HEAVY_ALLOYS)}",
            hint="or give the slug's density itself in g/cm3: weigh one and measure it",
        )
    return found


def _key(name: str) -> str:
    return "".join(character for character in name.lower() if character not in " -_,")
