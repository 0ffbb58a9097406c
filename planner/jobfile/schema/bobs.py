"""Bobs as a file states them: one mass for all throws, or one for each."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, ValidationInfo

from planner.jobfile.schema.base import file_units, shown, typed


def _bobs(value: object, info: ValidationInfo) -> float | dict[str, float]:
    """Return one mass for all throws, or throw -> mass [g]; 0 is a bare spin."""
    units = file_units(info)
    if isinstance(value, dict):
        wanted = "a mass is a number, or a text with a unit"
        return {
            str(throw): units.parse(
                typed(mass, wanted, given=f"{shown(mass)} for throw {throw}"), "mass", least=0.0
            )
            for throw, mass in value.items()
        }
    wanted = 'one mass, or a table of throws, is wanted: 1729.0 or { "1" = 1729.0, "2" = 1729.5 }'
    return units.parse(typed(value, wanted), "mass", least=0.0)


Bobs = Annotated[float | dict[str, float], BeforeValidator(_bobs)]
"""A mass for all throws, or throw -> mass [g]."""
