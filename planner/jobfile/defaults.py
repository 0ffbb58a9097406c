"""Every default of a job file, metric and inch, in one table.

Which column counts decides the unit of length of the file that holds ``[shop]`` (of the job file if there is no
such section).  A default is written here as it could be written in a file.  The values are common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from planner.jobfile.schema.base import toml_key
from planner.jobfile.schema.shop import ShopSection
from planner.uncertainty.error_model import ErrorModel

Value = str | float | bool | tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Default:
    """A default: the key as in the file, its value in metric files and in inch files, what it is."""

    section: str
    key: str
    metric: Value
    inch: Value
    what: str


def _same(section: str, key: str, value: Value, what: str) -> Default:
    return Default(section=section, key=key, metric=value, inch=value, what=what)


def _shop(key: str, metric: Value, inch: Value, what: str) -> Default:
    return Default(section="shop", key=key, metric=metric, inch=inch, what=what)


_DRILLS_METRIC = ("10 mm", "12 mm", "14 mm", "16 mm", "18 mm", "20 mm")
_DRILLS_INCH = ("3/8 in", "7/16 in", "1/2 in", "9/16 in", "5/8 in", "3/4 in")
# heavy-metal bar is stocked in these sizes in both worlds
_SLUGS = ("1/2 in", "5/8 in", "3/4 in", "7/8 in", "1 in")

SHOP_DEFAULTS: tuple[Default, ...] = (
    _shop("drills", _DRILLS_METRIC, _DRILLS_INCH, "drills at hand"),
    _shop("hole_oversize", "0 mm", "0 in", "how much larger than its drill a hole comes out"),
    _shop("point_angle", 118.0, 118.0, "point angle of the drills, degrees"),
    _shop("depth_to", "shoulder", "shoulder", "what a depth is counted to"),
    _shop("depth_step", "0.5 mm", "1/64 in", "depths are least_depth + a whole number of these"),
    _shop("angle_step", 1.0, 1.0, "angles to dial are whole multiples of this, degrees"),
    _shop("least_depth", "5 mm", "3/16 in", "least depth of a hole"),
    _shop("greatest_depth", "45 mm", "1 3/4 in", "greatest depth of a hole"),
    _shop("least_wall", "3 mm", "1/8 in", "least wall between cuts, to flanks and faces"),
    _shop("slug_diameters", _SLUGS, _SLUGS, "heavy-metal slugs at hand"),
    _shop("slug_density", 17.5, 17.5, "density of the slugs, g/cm3 (tungsten alloy of 92.5 %)"),
    _shop("slug_radius_step", "1 mm", "1/16 in", "radii of slugs and face holes are whole multiples of this"),
    _shop(
        "heavy_metal",
        "if needed",
        "if needed",
        "slugs and fills: if needed (drilling alone can't), allowed or never",
    ),
    _shop(
        "prefer_cuts",
        "passes",
        "passes",
        "fewest cuts that pass with wanted_chance; fewest: on the bare tolerance",
    ),
    _shop("wanted_chance", 0.95, 0.95, "chance that the next spin passes its check"),
    _shop(
        "prefer",
        "closest",
        "closest",
        "then closest to zero, then least metal; least metal: the other way round",
    ),
    _shop("close_enough", 0.1, 0.1, "share of the tolerance below which closer is no better"),
    _shop("aim", 0.5, 0.5, "plan inside this share of the tolerance"),
    _shop("one_drill", True, True, "prefer one drill when it costs no cut"),
    _shop("heavy_metal_cost", 10.0, 10.0, "a gram of slug counts as so many grams drilled"),
    _shop("least_cuts", True, True, "fewest cuts first; false: least cost, whatever the number"),
    _shop("minutes_per_cut", 6.0, 6.0, "minutes for a cut"),
    _shop("minutes_per_drill_change", 2.0, 2.0, "minutes for a change of drill"),
    _shop("labour_per_hour", 0.0, 0.0, "price of an hour"),
)

_ERROR_WORDS: Mapping[str, str] = {
    "depth_mm": "standard uncertainty of a depth, mm",
    "angle_deg": "standard uncertainty of a cut's angle, degrees",
    "diameter_mm": "standard uncertainty of a hole's diameter, mm",
    "radius_mm": "standard uncertainty of the rim's or a hole's radius, mm",
    "density_percent": "standard uncertainty of the density, percent",
    "reading_percent": "standard uncertainty of a reading's amount, percent",
    "reading_angle_deg": "standard uncertainty of a reading's angle, degrees",
    "reading_absolute_gmm": "standard uncertainty of a reading however small, g*mm; half of `least_unbalance` where that is said",
    "bob_mass_g": "standard uncertainty of a bob, g",
    "depth_bias_mm": "how much deeper than the stop says depths come out on average, mm",
    "diameter_bias_mm": "how much wider than drill and hole_oversize say holes come out on average, mm",
    "angle_bias_deg": "how far ahead in the crankshaft's own frame cuts come out on average, degrees",
}

ERROR_DEFAULTS: tuple[Default, ...] = tuple(
    _same("errors", toml_key(field.name), getattr(ErrorModel(), field.name), _ERROR_WORDS.get(field.name, ""))
    for field in fields(ErrorModel)
)

OTHER_DEFAULTS: tuple[Default, ...] = (
    _same("units", "length", "mm", "unit of bare lengths"),
    _same("units", "mass", "g", "unit of bare masses"),
    _same("units", "unbalance", "g*mm", "unit of bare unbalances"),
    _same("machine", "amounts", "unbalance", "what the display shows"),
    _same("machine", "drill_offset", 0.0, "machine degrees from the pointer to the drill"),
    _same("crankshaft", "density", 7.85, "density of the crankshaft, g/cm3"),
    _same("counterweights", "cuts", ("rim hole", "face hole", "slug", "fill"), "cuts allowed in it"),
    _same("parts", "reciprocating_fraction", 0.5, "share of the reciprocating mass in a bob"),
    _same("engine", "rotation", "cw", "way of turning, seen from the front"),
    _same("engine", "reference_axis", 0.0, "what bank angles count from, degrees"),
    _same("match", "tolerance", 0.5, "how equal parts are ground, g"),
)

CRANKSHAFT_DENSITY_G_PER_CM3 = 7.85


def all_defaults() -> tuple[Default, ...]:
    """Return every default, section by section, for the docs."""
    return (*OTHER_DEFAULTS, *SHOP_DEFAULTS, *ERROR_DEFAULTS)


def shop_defaults(*, inches: bool) -> dict[str, Any]:
    """Return the defaults of ``[shop]`` by field name (``depth_step_mm``), in inner units."""
    raw: dict[str, Any] = {}
    for default in SHOP_DEFAULTS:
        value = default.inch if inches else default.metric
        raw[default.key] = list(value) if isinstance(value, tuple) else value
    return ShopSection.model_validate(raw).model_dump(exclude_unset=True)
