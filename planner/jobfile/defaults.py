"""Every default of a job file, metric and inch, in one table.

Which column counts decides the unit of length of the file that holds ``[shop]`` (of the job file if there is no
such section).  A default is written here as it could be written in a file.  The values are common practice.

A default stands once: in the record or schema that has it (:class:`planner.cuts.cut.Shop`, ``ErrorModel``, the sections);
this table reads it there and adds what the records don't know: the inch value and what it is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from planner.cuts.cut import Shop
from planner.jobfile.schema.base import toml_key
from planner.jobfile.schema.shop import ShopSection
from planner.records import dataclass
from planner.uncertainty.error_model import ErrorModel

Value = str | float | bool | tuple[str, ...] | tuple[float, ...]


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


def _shop(name: str, what: str, *, inch: Value | None = None) -> Default:
    """Return the default that a field of the shop's record has; ``inch`` where a length is another one in inches."""
    value = getattr(Shop, name)
    metric = f"{value:g} mm" if name.endswith("_mm") else value
    return Default(
        section="shop", key=toml_key(name), metric=metric, inch=metric if inch is None else inch, what=what
    )


SHOP_DEFAULTS: tuple[Default, ...] = (
    # the record has no drills and no slugs of its own
    Default(
        section="shop",
        key="drills",
        metric=("10 mm", "12 mm", "14 mm", "16 mm", "18 mm", "20 mm"),
        inch=("3/8 in", "7/16 in", "1/2 in", "9/16 in", "5/8 in", "3/4 in"),
        what="drills at hand",
    ),
    _shop("hole_oversize_mm", "how much larger than its drill a hole comes out", inch="0 in"),
    _shop("point_angle_deg", "point angle of the drills, degrees"),
    _shop("depth_to", "what a depth is counted to"),
    _shop("depth_step_mm", "depths are least_depth + a whole number of these", inch="1/64 in"),
    _shop("angle_step_deg", "angles to dial are whole multiples of this, degrees"),
    _shop("least_depth_mm", "least depth of a hole", inch="3/16 in"),
    _shop("greatest_depth_mm", "greatest depth of a hole", inch="1 3/4 in"),
    _shop("least_wall_mm", "least wall between cuts, to flanks and faces", inch="1/8 in"),
    # heavy-metal bar is stocked in these sizes in both worlds
    _same(
        "shop",
        "slug_diameters",
        ("1/2 in", "5/8 in", "3/4 in", "7/8 in", "1 in"),
        "heavy-metal slugs at hand",
    ),
    _shop("slug_density_g_per_cm3", "density of the slugs, g/cm3 (tungsten alloy of 92.5 %)"),
    _shop("plug_density_g_per_cm3", "density of steel plugs for old holes, g/cm3"),
    _shop("slug_stack", "so many slugs of slug_lengths may stand on one another in a bore"),
    _shop(
        "opposite_face_holes",
        "blind holes and slugs may stand opposite, from both faces, each in its own half",
    ),
    _shop("enlarge_holes", "open blind holes may be drilled out with a wider drill, as deep or deeper"),
    _shop("rim_cut_sectors_deg", "sectors over which a rim is turned or bevelled, degrees"),
    _shop("rim_cut_step_mm", "cuts of the rim are whole multiples of this off the radius", inch="0.005 in"),
    _shop("greatest_rim_cut_mm", "greatest cut off the radius", inch="5/32 in"),
    _shop("bevel_slope_deg", "slope of a bevel, degrees"),
    _shop("slug_radius_step_mm", "radii of slugs and face holes are whole multiples of this", inch="1/16 in"),
    _shop("heavy_metal", "slugs and fills: if needed (drilling alone can't), allowed or never"),
    _shop("prefer_cuts", "fewest cuts that pass with wanted_chance; fewest: on the bare tolerance"),
    _shop("wanted_chance", "chance that the next spin passes its check"),
    _shop("prefer", "then closest to zero, then least metal; least metal: the other way round"),
    _shop("close_enough", "share of the tolerance below which closer is no better"),
    _shop("aim", "plan inside this share of the tolerance"),
    _shop("one_drill", "prefer one drill when it costs no cut"),
    _shop(
        "heavy_metal_cost",
        "a gram of slug counts as so many grams drilled; with a `slug_price` for every size by price",
    ),
    _shop("least_cuts", "fewest cuts first; false: least cost, whatever the number"),
    _shop("minutes_per_cut", "minutes for a cut"),
    _shop("minutes_per_drill_change", "minutes for a change of drill"),
    _shop("labour_per_hour", "price of an hour"),
    _shop("base_price", "what every job costs before a spin or a cut"),
    _shop("price_per_spin", "price of a spin"),
    _shop("quoted_spins", "spins that a quote counts"),
)

_ERROR_WORDS: Mapping[str, str] = {
    "depth_mm": "standard uncertainty of a depth, mm",
    "rim_cut_mm": "standard uncertainty of what is turned or milled off a rim, mm",
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

CRANKSHAFT_DENSITY_G_PER_CM3 = 7.85


def _other_defaults() -> tuple[Default, ...]:
    """Return the defaults of the other sections; their schemas are loaded here, for a job needs only what it has."""
    from planner.jobfile.schema.base import Section
    from planner.jobfile.schema.engine import USUAL_ROTATION, EngineSection, FractionSection, MatchSection
    from planner.jobfile.schema.spins import MachineSection
    from planner.quantity import UnitSystem
    from planner.rotor.crankshaft import CUT_KINDS

    def of(model: type[Section], name: str) -> Value:
        value: Value = model.model_fields[name].default
        return value

    units = UnitSystem()
    return (
        _same("units", "length", units.length, "unit of bare lengths"),
        _same("units", "mass", units.mass, "unit of bare masses"),
        _same("units", "unbalance", units.unbalance, "unit of bare unbalances"),
        _same("machine", "amounts", of(MachineSection, "amounts"), "what the display shows"),
        _same(
            "machine",
            "drill_offset",
            of(MachineSection, "drill_offset_deg"),
            "machine degrees from the pointer to the drill",
        ),
        _same("crankshaft", "density", CRANKSHAFT_DENSITY_G_PER_CM3, "density of the crankshaft, g/cm3"),
        _same("counterweights", "cuts", CUT_KINDS, "cuts allowed in it"),
        _same(
            "parts",
            "reciprocating_fraction",
            of(FractionSection, "reciprocating_fraction"),
            "share of the reciprocating mass in a bob",
        ),
        _same("engine", "rotation", USUAL_ROTATION, "way of turning, seen from the front"),
        _same(
            "engine",
            "reference_axis",
            of(EngineSection, "reference_axis_deg"),
            "what bank angles count from, degrees",
        ),
        _same("match", "tolerance", of(MatchSection, "tolerance_g"), "how equal parts are ground, g"),
    )


def all_defaults() -> tuple[Default, ...]:
    """Return every default, section by section, for the docs."""
    return (*_other_defaults(), *SHOP_DEFAULTS, *ERROR_DEFAULTS)


def shop_default(key: str, *, inches: bool) -> Any:
    """Return what counts in the shop where its file does not say a key; None where nothing does."""
    found = next((each for each in SHOP_DEFAULTS if each.key == key), None)
    return None if found is None else found.inch if inches else found.metric


def shop_defaults(*, inches: bool) -> dict[str, Any]:
    """Return the defaults of ``[shop]`` by field name (``depth_step_mm``), in inner units."""
    raw: dict[str, Any] = {}
    for default in SHOP_DEFAULTS:
        value = default.inch if inches else default.metric
        raw[default.key] = list(value) if isinstance(value, tuple) else value
    return ShopSection.model_validate(raw).model_dump(exclude_unset=True)
