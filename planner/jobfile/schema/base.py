"""What every section of a file has in common: unknown keys are refused, numbers carry their units.

A field is named as everywhere in the code, with its unit as a suffix; in the file the key is the same word
without it (``outer_radius_mm`` is the key ``outer_radius``).  The unit of a bare number comes from the file's
own ``[units]``, which reading hands over as pydantic's context.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from dataclasses import fields
from functools import cache
from typing import Annotated, Any, TypeAlias, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationInfo

from planner.quantity import Kind, QuantityError, UnitSystem
from planner.rotor.drills import parse_drill_mm
from planner.visible_text import hidden_characters, visible

R = TypeVar("R")

_UNIT_SUFFIXES = ("_g_per_cm3", "_gmm", "_mm", "_deg", "_kg", "_g")
_LIST_SHOWN = 60


def toml_key(field_name: str) -> str:
    """Return the key in the file of a field: its name without the unit."""
    for suffix in _UNIT_SUFFIXES:
        if field_name.endswith(suffix):
            return field_name.removesuffix(suffix)
    # `from` is a word of Python: its field is `from_`
    return field_name.removesuffix("_")


class Section(BaseModel):
    """A section, or a table within one, as it stands in a file; every number already in the inner units."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        strict=True,
        alias_generator=toml_key,
        populate_by_name=False,
        # built when a file has the section: most jobs have half of them
        defer_build=True,
    )

    def says(self, field_name: str) -> bool:
        """Return whether the file states that field (a default is not a statement)."""
        return field_name in self.model_fields_set

    def record(self, kind: Callable[..., R], /, **own: object) -> R:
        """Return a record of that kind.

        A field is what is given here, else what the section has by the same name (a list as a tuple), else its default.
        """
        said = {name: getattr(self, name) for name in _shared_fields(kind, type(self)) if name not in own}
        lists = {name: tuple(value) for name, value in said.items() if isinstance(value, list)}
        return kind(**said | lists | own)


@cache
def _shared_fields(kind: Callable[..., object], section: type[Section]) -> tuple[str, ...]:
    return tuple(each.name for each in fields(kind) if each.name in section.model_fields)  # type: ignore[arg-type]


def shown(value: Any) -> str:
    """Return a value in backticks, the way a person would write it in the file, cut short."""
    text = visible(_written(value).replace("\n", "\\n"))
    return f"`{text[:_LIST_SHOWN]}..`" if len(text) > _LIST_SHOWN else f"`{text}`"


def _written(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, int) and abs(value) >= 10**_LIST_SHOWN:
        return "a whole number of more than 60 digits"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = .." for key in value) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_written(each) for each in value[:8]) + (", ..]" if len(value) > 8 else "]")
    return str(value)


def file_units(info: ValidationInfo) -> UnitSystem:
    """Return the units of the bare numbers of the file that is read."""
    return info.context if isinstance(info.context, UnitSystem) else UnitSystem()


def typed(
    value: object, wanted: str = "a number, or a text with its unit, is wanted here", *, given: str = ""
) -> str | int | float:
    """Return a value that is a number or a text; a QuantityError says that one is ``wanted``."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise QuantityError(given=given or shown(value), allowed=wanted)
    return value


def quantity(kind: Kind, **limits: float) -> BeforeValidator:
    """Return the reader of a number with a unit: ``least``, ``above`` and ``most`` are in inner units."""

    def read(value: object, info: ValidationInfo) -> float:
        return file_units(info).parse(typed(value), kind, **limits)  # type: ignore[arg-type]  # keys are those of Limits

    return BeforeValidator(read)


def number(
    *,
    what: str = "a number",
    least: float | None = None,
    above: float | None = None,
    most: float | None = None,
) -> BeforeValidator:
    """Return the reader of a number that has no unit of its own to state."""

    def read(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise QuantityError(given=shown(value), allowed=f"{what} is wanted here", hint=_unquote(value))
        result = float(value) if abs(value) < 1e300 else math.inf
        if not math.isfinite(result):
            raise QuantityError(given=shown(value), allowed=f"{what} must be a finite number")
        for limit, kept, words in (
            (above, above is None or result > above, "more than"),
            (least, least is None or result >= least, "at least"),
            (most, most is None or result <= most, "at most"),
        ):
            if not kept:
                raise QuantityError(given=shown(value), allowed=f"{words} {limit:g} is allowed")
        return result

    return BeforeValidator(read)


def _unquote(value: object) -> str | None:
    """Return the hint for a number that was written as a text."""
    if isinstance(value, str):
        text = value.strip().removesuffix("deg").removesuffix("°").strip()
        try:
            float(text)
        except ValueError:
            return None
        return f"write it without quotes and unit: {text}"
    return None


def _count(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        whole = isinstance(value, float) and value.is_integer()
        hint = f"write {int(value)}" if whole and isinstance(value, float) else _unquote(value)
        raise QuantityError(given=shown(value), allowed="a whole number is wanted here", hint=hint)
    if not 0 <= value <= 1_000_000:
        raise QuantityError(given=shown(value), allowed="a whole number from 0 to 1000000 is allowed")
    return value


def _count_from_1(value: object) -> int:
    count = _count(value)
    if count < 1:
        raise QuantityError(given=shown(value), allowed="1 or more is allowed")
    return count


def name_text(value: object) -> str:
    """Return a name; a whole number is taken as one (``name = 1``)."""
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)
    if not isinstance(value, str):
        raise QuantityError(given=shown(value), allowed='a name in quotes is wanted here, for example "A"')
    if not value.strip():
        raise QuantityError(given="an empty name", allowed="a name must have at least one letter or digit")
    if value != value.strip() or any(ord(letter) < 32 for letter in value):
        raise QuantityError(given=shown(value), allowed="a name has no spaces at its ends and no line breaks")
    hidden = hidden_characters(value)
    if hidden:
        raise QuantityError(
            given=shown(value),
            allowed=f"a name has only characters that can be seen, this one has `{visible(hidden)}`",
            hint="write the name again by hand",
        )
    return value


def _date(value: object) -> datetime.date | None:
    if isinstance(value, datetime.datetime):
        return value.date()
    if isinstance(value, datetime.date):
        return value
    if value == "":
        return None
    hint = None
    if isinstance(value, str):
        try:
            hint = f"write it without quotes: {datetime.date.fromisoformat(value).isoformat()}"
        except ValueError:
            hint = "year, month, day: 2026-01-31"
    raise QuantityError(
        given=shown(value), allowed="a date such as 2026-01-31 is wanted, without quotes", hint=hint
    )


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise QuantityError(given=shown(value), allowed="true or false is wanted here, without quotes")
    return value


def _text(value: object) -> str:
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)
    if not isinstance(value, str):
        raise QuantityError(given=shown(value), allowed="a text in quotes is wanted here")
    # the file keeps what was typed; on screen, in drawings and on paper a control character is shown, never obeyed
    return visible(value)


Text: TypeAlias = Annotated[str, BeforeValidator(_text)]
Name: TypeAlias = Annotated[str, BeforeValidator(name_text)]
Flag: TypeAlias = Annotated[bool, BeforeValidator(_flag)]
Count: TypeAlias = Annotated[int, BeforeValidator(_count)]
CountFrom1: TypeAlias = Annotated[int, BeforeValidator(_count_from_1)]
Date: TypeAlias = Annotated[datetime.date | None, BeforeValidator(_date)]

Place: TypeAlias = Annotated[float, quantity("length", least=-1e6, most=1e6)]
"""A z [mm], of either sign, within a kilometre: one of 1e300 mm left sums of moments without a digit."""


def _drill(value: object, info: ValidationInfo) -> float:
    """Return the size of a drill: a length, or its number, letter or tap."""
    return parse_drill_mm(typed(value), file_units(info))


Length: TypeAlias = Annotated[float, quantity("length", above=0.0)]
LengthOr0: TypeAlias = Annotated[float, quantity("length", least=0.0)]
Drill: TypeAlias = Annotated[float, BeforeValidator(_drill)]
"""A diameter [mm], also said as `#7`, `letter F` or `tap 3/8-16`."""
Mass: TypeAlias = Annotated[float, quantity("mass", above=0.0)]
MassOr0: TypeAlias = Annotated[float, quantity("mass", least=0.0)]
Unbalance: TypeAlias = Annotated[float, quantity("unbalance", above=0.0)]
UnbalanceOr0: TypeAlias = Annotated[float, quantity("unbalance", least=0.0)]
Density: TypeAlias = Annotated[float, quantity("density", above=0.5, most=25.0)]
Speed: TypeAlias = Annotated[float, quantity("speed", above=0.0)]
Angle: TypeAlias = Annotated[float, number(what="an angle in degrees, a bare number,", least=-360, most=360)]
Number: TypeAlias = Annotated[float, number()]
NumberOr0: TypeAlias = Annotated[float, number(least=0.0)]
Positive: TypeAlias = Annotated[float, number(above=0.0)]
