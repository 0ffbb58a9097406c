"""``[tolerance]``: as the builder states it, in one of five ways."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, ValidationInfo

from planner.errors import InputError
from planner.jobfile.schema.base import Mass, Section, UnbalanceOr0, file_units, shown, typed
from planner.jobfile.schema.rotor import CrankshaftSection
from planner.jobfile.schema.sections import Sections
from planner.quantity import QuantityError, UnitSystem
from planner.rotor.grades import parse_grade_mm_per_s
from planner.rotor.tolerance import ToleranceSpec

WAYS = {
    "grade": "{}",
    "total": "{} in all",
    "each_side": "{} each side",
    "left": "{} left",
    "right": "{} right",
    "static": "static {}",
    "couple": "couple {}",
}


def _grade(value: object) -> float:
    try:
        return parse_grade_mm_per_s(typed(value, 'a balance grade is wanted here, for example "G 16"'))
    except QuantityError:
        raise
    except InputError as error:
        raise QuantityError(given=shown(value), allowed=error.message, hint=error.hint) from None


_AT_RADIUS = re.compile(r"(?P<mass>.*\S)\s*(?:\bat\b|@)\s*(?:radius\s+)?(?P<radius>\S.*)", re.IGNORECASE)


def limit_gmm(value: str | int | float, *, units: UnitSystem) -> float:
    """Return a limit [g*mm], stated as an unbalance or as a mass at a radius: ``"3 g at 88 mm"``.

    Raises
    ------
    QuantityError
        If it can't be read, or is not above 0.
    """
    found = _AT_RADIUS.fullmatch(value.strip()) if isinstance(value, str) else None
    if found is None:
        try:
            return units.parse(value, "unbalance", above=0.0)
        except QuantityError as error:
            if not isinstance(value, str):
                raise
            raise QuantityError(
                given=error.given,
                allowed=error.allowed,
                hint=f'{f"{error.hint}; " if error.hint else ""}or a mass at a radius: "3 g at 88 mm"',
            ) from None
    mass = units.parse(found["mass"], "mass", above=0.0)
    return mass * units.parse(found["radius"], "length", above=0.0)


def _limit(value: object, info: ValidationInfo) -> float:
    return limit_gmm(typed(value), units=file_units(info))


Limit = Annotated[float, BeforeValidator(_limit)]


class ToleranceSection(Section):
    """``[tolerance]``."""

    grade: Annotated[float, BeforeValidator(_grade)] | None = None
    total_gmm: Limit | None = None
    each_side_gmm: Limit | None = None
    left_gmm: Limit | None = None
    right_gmm: Limit | None = None
    static_gmm: Limit | None = None
    couple_gmm: Limit | None = None
    judged_at: Literal["bearings", "planes"] | None = None
    measurement_error_gmm: UnbalanceOr0 | None = None
    # read as grams like every mass; the record has kilograms
    drive_mass_g: Mass | None = None


def build_tolerance(sections: Sections, crankshaft: CrankshaftSection | None) -> ToleranceSpec | None:
    """Return the tolerance; None when there is none, or when it has faults."""
    section, where = sections.table("tolerance", ToleranceSection), sections.at("tolerance")
    if section is None:
        return None
    if section.grade is not None and crankshaft is not None:
        for key, value in (
            ("mass", crankshaft.mass_g or section.drive_mass_g),
            ("service_speed_rpm", crankshaft.service_speed_rpm),
        ):
            if value is None:
                sections.at("crankshaft", key).fault(
                    allowed="must be said, because the tolerance is a grade",
                    hint="a grade needs mass and service speed; or state the tolerance as a total",
                )
    values: dict[str, Any] = section.model_dump()
    values["grade_mm_per_s"] = values.pop("grade")
    drive_mass_g = values.pop("drive_mass_g")
    values["drive_mass_kg"] = None if drive_mass_g is None else drive_mass_g / 1000.0
    if drive_mass_g is not None:
        if section.grade is None:
            where.fault("drive_mass", allowed="it belongs to a grade, and none is said")
        own_g = None if crankshaft is None else crankshaft.mass_g
        if own_g is not None and drive_mass_g < own_g:
            where.fault(
                "drive_mass",
                allowed="it is less than the crankshaft's own mass, which is part of the drive",
                hint="the crankshaft with flywheel, clutch, pulley and damper, whatever turns with it",
            )
    try:
        return ToleranceSpec(**values, stated=_stated(sections))
    except InputError as error:
        where.error(error)
        return None


def _stated(sections: Sections) -> str:
    """Return the tolerance the way the builder put it."""
    raw = sections.raw("tolerance")
    unit = sections.units("tolerance").unbalance
    words = []
    for key, form in WAYS.items():
        if key not in raw:
            continue
        value = raw[key]
        if key == "grade":
            text = value.strip() if isinstance(value, str) else f"G {value:g}"
        else:
            bare = not isinstance(value, str) or value.strip().replace(".", "", 1).isdigit()
            text = f"{value} {unit}" if bare else str(value).strip()
        words.append(form.format(text))
    return ", ".join(words)
