"""Bobs as a file states them: one mass for all throws, or one for each."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, ValidationInfo

from planner.jobfile.schema.base import shown
from planner.quantity import QuantityError, UnitSystem


def _bobs(value: object, info: ValidationInfo) -> float | dict[str, float]:
    """Return one mass for all throws, or throw -> mass [g]; 0 is a bare spin."""
    units = info.context if isinstance(info.context, UnitSystem) else UnitSystem()
    if isinstance(value, dict):
        masses: dict[str, float] = {}
        for throw, mass in value.items():
            if isinstance(mass, bool) or not isinstance(mass, str | int | float):
                raise QuantityError(
                    given=f"{shown(mass)} for throw {throw}",
                    allowed="a mass is a number, or a text with a unit",
                )
            masses[str(throw)] = units.parse(mass, "mass", least=0.0)
        return masses
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise QuantityError(
            given=shown(value),
            allowed='one mass, or a table of throws, is wanted: 1729.0 or { "1" = 1729.0, "2" = 1729.5 }',
        )
    return units.parse(value, "mass", least=0.0)


Bobs = Annotated[float | dict[str, float], BeforeValidator(_bobs)]
"""A mass for all throws, or throw -> mass [g]."""
