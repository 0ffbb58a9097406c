"""``[shop]`` and ``[errors]``: what is said, and the defaults for the rest."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import fields
from typing import Any

from planner.cuts.cut import Shop
from planner.errors import InputError
from planner.frames import MachineConvention
from planner.jobfile.defaults import shop_default, shop_defaults
from planner.jobfile.job import ShopDetails
from planner.jobfile.schema.sections import Sections, Where
from planner.jobfile.schema.shop import ErrorsSection, ShopDetailsSection, ShopSection
from planner.rotor.drills import is_named_drill, named_drill_mm
from planner.rotor.materials import slug_class
from planner.uncertainty.error_model import ErrorModel

_SAME_MM = 1e-6
_WHOLE = 1e-9


def build_shop(sections: Sections, *, notes: list[str]) -> Shop:
    """Return the shop; what the file does not say is filled from the defaults, drills and slugs with a note."""
    inches = sections.units("shop").in_inches
    values: dict[str, Any] = shop_defaults(inches=inches)
    section, where = sections.table("shop", ShopSection), sections.at("shop")
    said: dict[str, Any] = {}
    if section is not None:
        said = {
            name: value for name, value in section.model_dump(exclude_unset=True).items() if value is not None
        }
        _check_lists(where, section)
        if section.slug_class is not None:
            _add_slug_class(where, section, said)
    values |= said
    if "drills_mm" not in said and "shop" not in sections.faulty:
        notes.append(f"[shop] names no drills: {', '.join(shop_default('drills', inches=inches))} are taken")
    if section is not None:
        _check_steps(where, values)
        _check_names_and_prices(where, section, values["slug_diameters_mm"])
    values.pop("slug_class", None)
    lists = {name: tuple(value) for name, value in values.items() if isinstance(value, list)}
    return Shop(**values | lists)


def build_shop_details(sections: Sections) -> ShopDetails:
    """Return ``[shop_details]``; the logo's file is looked for when a record is written, not before."""
    section = sections.table("shop_details", ShopDetailsSection)
    if section is None:
        return ShopDetails()
    logo = sections.source("shop_details").path.parent / section.logo if section.logo else None
    return section.record(ShopDetails, logo=logo)


def build_drill_names(sections: Sections, *, notes: list[str]) -> dict[float, str]:
    """Return what the shop calls its drills: diameter [mm, 6 decimals] to the name as typed."""
    raw = sections.raw("shop")
    listed = raw.get("drills") if isinstance(raw, dict) else None
    names: dict[float, str] = {}
    taps = []
    for typed in listed if isinstance(listed, list) else ():
        if isinstance(typed, str) and is_named_drill(typed):
            size = round(named_drill_mm(typed) or 0.0, 6)
            names[size] = " ".join(typed.split())
            if "tap" in typed.casefold():
                taps.append(names[size])
    if taps:
        notes.append(
            f"{', '.join(taps)}: the tap drill is reckoned with; the thread cut afterwards takes about a sixth more, "
            "a plug puts metal back"
        )
    return names


def _check_lists(shop: Where, section: ShopSection) -> None:
    if section.drills_mm is not None and not section.drills_mm:
        shop.fault(
            "drills",
            allowed="the list is empty, at least one drill is wanted",
            hint='if nothing may be drilled, say allow = ["slug"] and keep one drill',
        )
    for key, values in (
        ("drills", section.drills_mm or []),
        ("slug_diameters", section.slug_diameters_mm or []),
        ("slug_lengths", section.slug_lengths_mm or []),
    ):
        for index, value in enumerate(values):
            twin = next((i for i in range(index) if abs(values[i] - value) < _SAME_MM), None)
            if twin is not None:
                shop.fault(key, index, allowed=f"every size is named once; {key}[{twin + 1}] is the same")
    if section.rim_cut_sectors_deg is not None and not section.rim_cut_sectors_deg:
        shop.fault("rim_cut_sectors", allowed="the list is empty, at least one sector is wanted")
    if section.allow is not None and not section.allow:
        shop.fault("allow", allowed="the list is empty, at least one kind of cut is wanted")


def _add_slug_class(shop: Where, section: ShopSection, said: dict[str, Any]) -> None:
    if section.slug_density_g_per_cm3 is not None:
        allowed = "say slug_density or slug_class, not both"
        shop.fault("slug_class", given=section.slug_class, allowed=allowed)
        return
    try:
        said["slug_density_g_per_cm3"] = slug_class(str(section.slug_class)).density_g_per_cm3
    except InputError as error:
        shop.error(error, "slug_class")


def _check_steps(shop: Where, values: dict[str, Any]) -> None:
    def length(name: str) -> str:
        return shop.units.text(values[name], "length")

    step = values["angle_step_deg"]
    count = 360.0 / step
    # steps too small to count are refused with the other sizes (`plausible`)
    if math.isfinite(count) and abs(count - round(count)) > _WHOLE * count:
        near = 360.0 / max(1, round(count))
        allowed = "a whole number of steps must make 360 degrees"
        shop.fault(
            "angle_step", given=step, allowed=allowed, hint=f"{near:.6g} would, or one of 0.5, 1, 2, 5"
        )
    if values["rim_cut_step_mm"] > values["greatest_rim_cut_mm"]:
        allowed = (
            f"the step off the rim must not be more than greatest_rim_cut, {length('greatest_rim_cut_mm')}"
        )
        shop.fault("rim_cut_step", allowed=allowed)
    least, greatest = values["least_depth_mm"], values["greatest_depth_mm"]
    if least >= greatest:
        shop.fault(
            "least_depth",
            allowed=f"least_depth {length('least_depth_mm')} must be below greatest_depth "
            f"{length('greatest_depth_mm')}",
            hint="say both when one of them is unusual: the other has its default",
        )
    elif values["depth_step_mm"] > greatest - least:
        shop.fault(
            "depth_step",
            allowed=f"depth_step {length('depth_step_mm')} is more than lies between least_depth and greatest_depth",
        )
    if least <= 0.0:
        shop.fault("least_depth", allowed="least_depth must be more than 0")
    smallest = min(values["drills_mm"], default=1.0)
    if values["hole_oversize_mm"] > 0.2 * smallest:
        shop.fault(
            "hole_oversize",
            allowed=f"{length('hole_oversize_mm')} is more than a fifth of the smallest "
            f"drill, {shop.units.text(smallest, 'length')}",
            hint="holes come out about 0.1 mm larger than the drill",
        )


def _check_names_and_prices(shop: Where, section: ShopSection, diameters_mm: Sequence[float]) -> None:
    for index, name in enumerate(section.forbid):
        shop.check_name("forbid", index, name=name, of="counterweights", noun="counterweight")
    stated = shop.sections.raw("shop").get("slug_price", {})
    for key, diameter in zip(stated, section.slug_price, strict=False):
        if not any(abs(diameter - each) < _SAME_MM for each in diameters_mm):
            allowed = "no slug of this diameter is in slug_diameters"
            shop.fault("slug_price", key, allowed=allowed, hint="say the same sizes in both")


def build_errors(sections: Sections, machine: MachineConvention | None) -> ErrorModel:
    """Return the error model; what the file does not say is the model's own default.

    A machine that states the least unbalance it can tell apart has half of that as its absolute uncertainty.
    """
    section = sections.table("errors", ErrorsSection)
    said: dict[str, float] = {}
    if machine is not None and machine.least_unbalance_gmm is not None:
        said["reading_absolute_gmm"] = 0.5 * machine.least_unbalance_gmm
    if section is not None:
        said |= {name: value for name, value in section.model_dump().items() if value is not None}
    known = {field.name for field in fields(ErrorModel)}
    return ErrorModel(**{name: value for name, value in said.items() if name in known})
