"""The sections that say what the crankshaft is: ``[crankshaft]``, throws, counterweights, planes."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from planner.jobfile.schema.base import (
    Angle,
    CountFrom1,
    Density,
    Drill,
    Flag,
    Length,
    LengthOr0,
    Mass,
    Name,
    Number,
    Place,
    Positive,
    Section,
    Speed,
    Text,
    UnbalanceOr0,
    number,
    quantity,
)
from planner.jobfile.schema.bobs import Bobs
from planner.rotor.crankshaft import CutKind

PointAngle = Annotated[float, number(what="a point angle in degrees", least=60.0, most=180.0)]
HalfAngle = Annotated[float, number(what="a half angle in degrees", above=0.0, most=180.0)]
SlopeAngle = Annotated[float, number(what="a slope in degrees", above=0.0, most=80.0)]
TiltAngle = Annotated[float, number(what="a tilt in degrees", least=-30.0, most=30.0)]
PointMm = Annotated[float, quantity("length")]


def _spaced(value: object) -> object:
    """Return a shape's name with spaces: ``half_disc`` is welcome too."""
    return value.replace("_", " ") if isinstance(value, str) else value


class CrankshaftSection(Section):
    """``[crankshaft]``: the rotor as a whole."""

    # read as grams like every mass; the record has kilograms
    mass_g: Mass | None = None
    centre_of_mass_z_mm: Place | None = None
    density_g_per_cm3: Density | None = None
    material: Text | None = None
    bearing_1_z_mm: Place
    bearing_2_z_mm: Place
    service_speed_rpm: Speed | None = None
    built_for_bob_g: Bobs | None = None
    built_for_percent: Positive | None = None


class PlanesSection(Section):
    """``[planes]``: where the machine's two reading planes are on this crankshaft."""

    left_mm: Place
    right_mm: Place
    left_radius_mm: Length | None = None
    right_radius_mm: Length | None = None


class ThrowSection(Section):
    """One of ``[[throws]]``."""

    name: Name
    angle_deg: Angle | None = None
    machine_angle_deg: Angle | None = None
    z_mm: Place
    radius_mm: Length
    rods: CountFrom1 | None = None
    cylinders: list[Name] = Field(default_factory=list)
    bob_wanted_g: Mass | None = None
    pin_diameter_mm: Length | None = None
    pin_length_mm: Length | None = None
    pin_bore_mm: LengthOr0 | None = None
    pin_fillet_mm: LengthOr0 | None = None


class FlankStepSection(Section):
    """A step of a stepped fan: inside this radius the half angle is another."""

    radius_mm: Length
    half_angle_deg: HalfAngle


class FlatSection(Section):
    """A flat of a trimmed disc: how far it lies from the shaft axis, in which direction from the centre line."""

    offset_mm: Length
    angle_deg: Angle


class PlateSection(Section):
    """A plate of a stepped rim."""

    thickness_mm: Length
    outer_radius_mm: Length


class RimSection(Section):
    """A counterweight's ``rim``; which keys go with which form is checked when it is made."""

    form: Literal["bevelled", "tapered", "rounded", "stepped"]
    width_mm: Length | None = None
    slope_deg: SlopeAngle | None = None
    front_width_mm: LengthOr0 | None = None
    rear_width_mm: LengthOr0 | None = None
    front_slope_deg: SlopeAngle | None = None
    rear_slope_deg: SlopeAngle | None = None
    taper_deg: Angle | None = None
    rounding_mm: Length | None = None
    front_rounding_mm: LengthOr0 | None = None
    rear_rounding_mm: LengthOr0 | None = None
    plates: list[PlateSection] | None = None


class MarkSection(Section):
    """A counterweight's ``mark``: what distances along its rim are measured from."""

    name: Name
    angle_deg: Angle | None = None
    machine_angle_deg: Angle | None = None


class OutlineSection(Section):
    """A counterweight's ``outline``; which keys go with which shape is checked when it is made."""

    shape: Annotated[
        Literal[
            "fan",
            "trimmed fan",
            "flanked fan",
            "stepped fan",
            "half disc",
            "disc",
            "trimmed disc",
            "points",
            "drawing",
            "generic",
        ],
        BeforeValidator(_spaced),
    ]
    outer_radius_mm: Length | None = None
    inner_radius_mm: LengthOr0 | None = None
    half_angle_deg: HalfAngle | None = None
    half_width_mm: Length | None = None
    flat_offset_mm: Place | None = None
    points_mm: list[list[PointMm]] | None = None
    rim_radius_mm: Length | None = None
    flank_angle_deg: Angle | None = None
    steps: list[FlankStepSection] | None = None
    flats: list[FlatSection] | None = None
    profile: Text | None = None
    file: Text | None = None
    units: Text | None = None
    layer: Text | None = None
    origin: list[Number] | None = None
    centre_line_deg: Angle | None = None
    seen_from: Literal["front", "rear"] | None = None


class ExistingSection(Section):
    """A hole that is already there."""

    cut: Literal["rim hole", "face hole"]
    angle_deg: Angle | None = None
    machine_angle_deg: Angle | None = None
    diameter_mm: Drill
    depth_mm: Length | None = None
    depth_to: Literal["shoulder", "tip"] | None = None
    point_angle_deg: PointAngle | None = None
    radius_mm: Length | None = None
    through: Flag = False
    face: Literal["front", "rear"] = "front"
    filled_density_g_per_cm3: Density | None = None
    from_middle_mm: Place = 0.0
    beside_mm: Place = 0.0
    tilt_deg: TiltAngle = 0.0


class KeepOutSection(Section):
    """What no cut may touch: a ring sector, or something round (``at_radius``, ``angle``, ``diameter``)."""

    from_angle_deg: Angle | None = None
    to_angle_deg: Angle | None = None
    from_machine_angle_deg: Angle | None = None
    to_machine_angle_deg: Angle | None = None
    from_radius_mm: LengthOr0 | None = None
    to_radius_mm: Length | None = None
    name: Text = ""
    angle_deg: Angle | None = None
    machine_angle_deg: Angle | None = None
    at_radius_mm: Length | None = None
    diameter_mm: Length | None = None


class CounterweightSection(Section):
    """One of ``[[counterweights]]``."""

    name: Name
    z_mm: Place
    angle_deg: Angle | None = None
    machine_angle_deg: Angle | None = None
    thickness_mm: Length
    outline: OutlineSection
    cuts: list[CutKind] | None = None
    break_outs: Flag = False
    existing: list[ExistingSection] = Field(default_factory=list)
    keep_out: list[KeepOutSection] = Field(default_factory=list)
    part: Text = ""
    density_g_per_cm3: Density | None = None
    material: Text | None = None
    rim: RimSection | None = None
    rim_rows_mm: list[Place] | None = None
    rim_hole_tilt_deg: TiltAngle = 0.0
    mark: MarkSection | None = None


class MountedSection(Section):
    """One of ``[[mounted]]``: a damper, flywheel or adapter and what it is wanted to carry."""

    name: Name
    z_mm: Place
    unbalance_gmm: UnbalanceOr0
    angle_deg: Angle | None = None
    machine_angle_deg: Angle | None = None
    in_engine: Flag
    built_with: Flag = True


class WebSection(Section):
    """One of ``[[webs]]``: an arm between journal and crankpin."""

    angle_deg: Angle | None = None
    machine_angle_deg: Angle | None = None
    z_mm: Place
    thickness_mm: Length
    width_mm: Length
    from_radius_mm: LengthOr0 = 0.0
    to_radius_mm: Length


class JournalSection(Section):
    """One of ``[[journals]]``: a main journal; cuts keep clear of it and its fillet where it meets a counterweight."""

    name: Name
    z_mm: Place
    diameter_mm: Length
    length_mm: Length
    fillet_mm: LengthOr0 = 0.0


class DrillingEndSection(Section):
    """One end of an oil drilling."""

    z_mm: Place
    radius_mm: LengthOr0
    angle_deg: Angle | None = None
    machine_angle_deg: Angle | None = None


class OilDrillingSection(Section):
    """One of ``[[oil_drillings]]``: a straight passage."""

    name: Text = ""
    from_: DrillingEndSection
    to: DrillingEndSection
    diameter_mm: Length
    clearance_mm: LengthOr0 | None = None
