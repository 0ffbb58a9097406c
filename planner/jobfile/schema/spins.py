"""The sections about the machine and what it read: ``[machine]``, spins, trials, known errors."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, ConfigDict, Field

from planner.frames import Side
from planner.jobfile.schema.base import (
    Angle,
    CountFrom1,
    Date,
    Flag,
    Length,
    Mass,
    Name,
    NumberOr0,
    Place,
    Section,
    Speed,
    Text,
    Unbalance,
    UnbalanceOr0,
    shown,
    typed,
)
from planner.jobfile.schema.bobs import Bobs
from planner.quantity import QuantityError


def _zero(value: object) -> str | float:
    """Return ``throw NAME`` as it stands, or degrees."""
    if isinstance(value, str):
        if value.startswith("throw ") and value[6:].strip():
            return value
    elif isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= 360:
        return float(value)
    hint = f'did you mean "throw {value}"?' if isinstance(value, str) and value.strip() else None
    raise QuantityError(
        given=shown(value), allowed='"throw NAME", or degrees as a bare number, is wanted here', hint=hint
    )


class ProvedSection(Section):
    """``proved`` under ``[machine]``: what a known mass proved, with the values that each setting had then.

    ``earlier`` are proofs before that one, of what it did not test again: each keeps its own day.
    """

    on: Date
    by: Text = ""
    mass_g: Mass | None = None
    places: list[Text] = Field(default_factory=list)
    direction: Text | None = None
    zero: Text | None = None
    spot: Text | None = None
    planes: Text | None = None
    unit: Text | None = None
    radius: Text | None = None
    amounts: Text | None = None
    drill_offset: Text | None = None
    earlier: list[ProvedSection] = Field(default_factory=list)


class DrillLineSection(Section):
    """What the dial showed with the middle of a named place under the drill."""

    place: Text
    dial_deg: Angle


class ProofSection(Section):
    """``[proof]`` of a job: what was proved with this crankshaft; ``cut_unproved``: asked and answered, cut all the same.

    ``drill_line`` is a line under the drill that spoke against ``drill_offset`` and was not mended then.
    """

    proved: ProvedSection | None = None
    drill_line: DrillLineSection | None = None
    cut_unproved: Flag = False


class MachineSection(Section):
    """``[machine]``: how the balancing machine states a reading."""

    angle_direction: Literal["ccw", "cw"] | None = None
    viewed_from: Literal["front", "rear"] | None = None
    angle_zero: Annotated[str | float, BeforeValidator(_zero)] | None = None
    angle_marks: Literal["heavy spot", "light spot"] | None = None
    amounts: Literal["unbalance", "mass"] = "unbalance"
    drill_offset_deg: Angle = 0.0
    least_unbalance_gmm: Unbalance | None = None
    phase_grows: Literal["with angles", "against angles"] | None = None
    display_unit: Text | None = None
    proved: ProvedSection | None = None


class ReadingSection(Section):
    """``left`` and ``right`` of a spin; whether the amount is an unbalance or a mass, the machine says."""

    amount: Annotated[str | int | float, BeforeValidator(lambda value: typed(value))]
    angle_deg: Angle


class KnownMassSection(Section):
    """``known_mass`` of a check spin."""

    mass_g: Mass
    radius_mm: Length
    angle_deg: Angle | None = None
    z_mm: Place
    at: Text | None = None
    offset_deg: Angle = 0.0


class SpinSection(Section):
    """One of ``[[spins]]``."""

    speed_rpm: Speed | None = None
    bobs: Bobs
    mounted: list[Name] = Field(default_factory=list)
    left: ReadingSection
    right: ReadingSection
    repeat: Flag = False
    known_mass: KnownMassSection | None = None
    as_read: Flag = False
    spot_seen: Flag = False


class UndoneSection(Section):
    """One of ``[[undone]]``: an entry taken back, its own keys as they stood; nothing is calculated from it."""

    model_config = ConfigDict(extra="allow")

    what: Literal["spin", "cut"]
    number: CountFrom1
    place: CountFrom1 | None = None
    of: CountFrom1 | None = None
    cuts_after: list[CountFrom1] = Field(default_factory=list)
    repeated: Flag = False
    note: Text = ""


class VectorSection(Section):
    """An unbalance vector of the crankshaft's frame."""

    amount_gmm: UnbalanceOr0
    angle_deg: Angle


class KnownErrorSection(Section):
    """One of ``[[known_errors]]``."""

    name: Name
    left: VectorSection
    right: VectorSection


class TrialSideSection(Section):
    """A raw vibration reading: amount in the instrument's unit, phase in machine degrees."""

    amount: NumberOr0
    phase_deg: Angle


class TrialSection(Section):
    """One of ``[[trials]]``; ``bobs``, ``mounted`` and ``speed_rpm`` are said in the first run without a trial mass."""

    name: Name
    left: TrialSideSection | None = None
    right: TrialSideSection | None = None
    bobs: Bobs | None = None
    mounted: list[Name] = Field(default_factory=list)
    speed_rpm: Speed | None = None
    mass_plane: Side | None = None
    unbalance_gmm: Unbalance | None = None
    mass_g: Mass | None = None
    radius_mm: Length | None = None
    angle_deg: Angle | None = None
    left_on: Flag = False


class InfluenceSection(Section):
    """``[influence]``: what the sides read for an unbalance whose heavy spot is at the machine's 0."""

    unbalance_gmm: Unbalance
    speed_rpm: Speed | None = None
    left_from_left: TrialSideSection | None = None
    left_from_right: TrialSideSection | None = None
    right_from_left: TrialSideSection | None = None
    right_from_right: TrialSideSection | None = None


class BobsSection(Section):
    """``[bobs]``: what the builder wants clamped on."""

    wanted: Bobs
