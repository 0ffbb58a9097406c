"""The sections about the engine round the crankshaft, its parts and the bobs; and the job's own heading."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from planner.jobfile.schema.base import (
    Angle,
    Count,
    Date,
    Length,
    Mass,
    MassOr0,
    Name,
    Place,
    Section,
    Text,
    number,
)
from planner.quantity import QuantityError

Fraction = Annotated[float, number(what="a share from 0 to 1", least=0.0, most=1.0)]


def _one_or_list(value: object) -> Any:
    """Return a list: a single number serves all."""
    if isinstance(value, list):
        if not value:
            raise QuantityError(given="an empty list", allowed="one number, or one per cylinder, is wanted")
        return value
    return [value]


Masses = Annotated[list[MassOr0], BeforeValidator(_one_or_list)]


class JobSection(Section):
    """``[job]``: printed on the sheets."""

    title: Text = ""
    customer: Text = ""
    engine: Text = ""
    crankshaft_number: Text = ""
    operator: Text = ""
    date: Date = None


class UseSection(Section):
    """``[use]``: the files that this job builds on."""

    shop: Text | None = None
    crankshaft: Text | None = None


USUAL_ROTATION: Literal["cw", "ccw"] = "cw"
"""The way of turning, seen from the front, of an engine whose file does not say it."""


class EngineSection(Section):
    """``[engine]``."""

    layout: Text | None = None
    rotation: Literal["cw", "ccw"] | None = None
    firing_order: list[Name] = Field(default_factory=list)
    reference_axis_deg: Angle = 0.0


class CylinderSection(Section):
    """One of ``[[cylinders]]``."""

    name: Name
    throw: Name
    bank_angle_deg: Angle = 0.0
    z_mm: Place | None = None
    rod_length_mm: Length | None = None
    offset_mm: Place = 0.0


class OtherPartSection(Section):
    """A part that is not one of the standard ones, or is counted in another way."""

    mass_g: Masses
    per: Literal["rod", "cylinder", "throw"] | None = None
    motion: Literal["rotating", "reciprocating"] | None = None


class FractionSection(Section):
    """What ``[parts]`` says besides parts."""

    reciprocating_fraction: Fraction = 0.5


class MatchSection(Section):
    """``[match]``."""

    tolerance_g: MassOr0 = 0.5
    greatest_removal_g: dict[str, MassOr0] = Field(default_factory=dict)


class BobPieceSection(Section):
    """A kind of piece of the shop's bob set."""

    name: Name | None = None
    weight_g: Mass
    count: Count = 1


class BobSetSection(Section):
    """``[bob_set]``."""

    bodies: list[BobPieceSection] = Field(default_factory=list)
    plates: list[BobPieceSection] = Field(default_factory=list)
    washers: list[BobPieceSection] = Field(default_factory=list)
