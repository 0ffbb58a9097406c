"""The sections about how metal comes off and how sure that is: ``[shop]``, ``[errors]``, cuts and plans."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, ValidationInfo

from planner.jobfile.schema.base import (
    Angle,
    Count,
    CountFrom1,
    Density,
    Drill,
    Flag,
    Length,
    LengthOr0,
    MassOr0,
    Name,
    NumberOr0,
    Place,
    Positive,
    Section,
    Text,
    UnbalanceOr0,
    file_units,
    number,
    shown,
)
from planner.jobfile.schema.rotor import PointAngle, TiltAngle
from planner.quantity import QuantityError
from planner.rotor.crankshaft import CutKind

Share = Annotated[float, number(what="a share", above=0.0, most=1.0)]
Sector = Annotated[float, number(what="a sector", above=0.0, most=150.0)]
Slope = Annotated[float, number(what="a slope", least=5.0, most=85.0)]
Chance = Annotated[float, number(what="a chance", least=0.5, most=0.999)]


def _prices(value: object, info: ValidationInfo) -> dict[float, float]:
    """Return diameter [mm] -> price; the keys are texts because a TOML key is one."""
    if not isinstance(value, dict):
        raise QuantityError(
            given=shown(value), allowed='a table is wanted here, for example { "3/4 in" = 40 }'
        )
    prices: dict[float, float] = {}
    for key, price in value.items():
        diameter = file_units(info).parse(str(key), "length", above=0.0)
        if isinstance(price, bool) or not isinstance(price, int | float) or not 0 <= price < 1e9:
            raise QuantityError(given=f"{shown(price)} for {key}", allowed="a price is a number from 0")
        if diameter in prices:
            raise QuantityError(
                given=f"`{key}`", allowed="every diameter has one price; this one is given twice"
            )
        prices[diameter] = float(price)
    return prices


class ShopSection(Section):
    """``[shop]``: what is not said comes from :mod:`planner.jobfile.defaults`."""

    drills_mm: list[Drill] | None = None
    hole_oversize_mm: LengthOr0 | None = None
    point_angle_deg: PointAngle | None = None
    depth_to: Literal["shoulder", "tip"] | None = None
    depth_step_mm: Length | None = None
    angle_step_deg: Positive | None = None
    least_depth_mm: LengthOr0 | None = None
    greatest_depth_mm: Length | None = None
    least_wall_mm: LengthOr0 | None = None
    slug_diameters_mm: list[Length] | None = None
    slug_density_g_per_cm3: Density | None = None
    plug_density_g_per_cm3: Density | None = None
    slug_class: Text | None = None
    slug_radius_step_mm: Length | None = None
    slug_lengths_mm: list[Length] | None = None
    slug_stack: CountFrom1 | None = None
    opposite_face_holes: Flag | None = None
    enlarge_holes: Flag | None = None
    rim_cut_sectors_deg: list[Sector] | None = None
    rim_cut_step_mm: Length | None = None
    greatest_rim_cut_mm: Length | None = None
    bevel_slope_deg: Slope | None = None
    allow: list[CutKind] | None = None
    forbid: list[Name] = Field(default_factory=list)
    aim: Share | None = None
    one_drill: Flag | None = None
    heavy_metal: Literal["if needed", "allowed", "never"] | None = None
    prefer_cuts: Literal["passes", "fewest"] | None = None
    wanted_chance: Chance | None = None
    prefer: Literal["closest", "least metal"] | None = None
    close_enough: Share | None = None
    heavy_metal_cost: NumberOr0 | None = None
    least_cuts: Flag | None = None
    first_pass: Share | None = None
    minutes_per_cut: NumberOr0 | None = None
    minutes_per_drill_change: NumberOr0 | None = None
    labour_per_hour: NumberOr0 | None = None
    slug_price: Annotated[dict[float, float], BeforeValidator(_prices)] = Field(default_factory=dict)
    minutes_per_slug: NumberOr0 | None = None
    base_price: NumberOr0 | None = None
    price_per_spin: NumberOr0 | None = None
    quoted_spins: CountFrom1 | None = None
    lightening_price: dict[Name, NumberOr0] = Field(default_factory=dict)


class ShopDetailsSection(Section):
    """``[shop_details]``: the head of the customer's record; ``logo`` is a picture beside the file that names it."""

    name: Text = ""
    lines: list[Text] = Field(default_factory=list)
    logo: Text = ""


class ErrorsSection(Section):
    """``[errors]``: standard uncertainties; what is not said is the error model's own default."""

    depth_mm: LengthOr0 | None = None
    rim_cut_mm: LengthOr0 | None = None
    angle_deg: NumberOr0 | None = None
    diameter_mm: LengthOr0 | None = None
    radius_mm: LengthOr0 | None = None
    density_percent: NumberOr0 | None = None
    reading_percent: NumberOr0 | None = None
    reading_angle_deg: NumberOr0 | None = None
    reading_absolute_gmm: UnbalanceOr0 | None = None
    bob_mass_g: MassOr0 | None = None
    depth_bias_mm: Place | None = None
    diameter_bias_mm: Place | None = None
    angle_bias_deg: Angle | None = None


class CutSection(Section):
    """A cut as the files state it; which keys go with which kind is checked when it is made."""

    counterweight: Name
    cut: CutKind
    angle_deg: Angle | None = None
    machine_angle_deg: Angle | None = None
    diameter_mm: Drill | None = None
    off_mm: Length | None = None
    sector_deg: Sector | None = None
    slope_deg: Slope | None = None
    depth_mm: Length | None = None
    depth_to: Literal["shoulder", "tip"] | None = None
    from_depth_mm: LengthOr0 | None = None
    from_diameter_mm: Length | None = None
    radius_mm: Length | None = None
    length_mm: Length | None = None
    through: Flag | None = None
    face: Literal["front", "rear"] = "front"
    from_middle_mm: Place | None = None
    beside_mm: Place | None = None
    tilt_deg: TiltAngle | None = None


class FixedCutSection(CutSection):
    """One of ``[[fixed_cuts]]``."""


class StepSection(CutSection):
    """A step of ``[plan]``."""

    number: CountFrom1
    pinned: Flag = False


class SettingsSection(Section):
    """What a number on the dial meant: ``place = zero + sense * (dial - offset)``."""

    zero_deg: Angle
    sense: Literal[1, -1]
    offset_deg: Angle = 0.0


class PlanSection(Section):
    """``[plan]``: the plan as it was shown."""

    after_spin: Count
    after_cuts: Count = 0
    basis: Text = ""
    learned_factor: Positive = 1.0
    wish: list[Text] = Field(default_factory=list)
    shown: SettingsSection | None = None
    steps: list[StepSection] = Field(default_factory=list)


class FormerPlanSection(PlanSection):
    """One of ``[[former_plans]]``: a plan that was shown and gave way to another; its numbers stay its cuts'.

    ``withdrawn`` says that the spin it was for was taken back.
    """

    withdrawn: Flag = False


class DialledSection(SettingsSection):
    """What was dialled, and what the dial meant then."""

    dial_deg: Angle


class MadeCutSection(CutSection):
    """One of ``[[cuts_made]]``."""

    after_spin: Count
    step: CountFrom1 | None = None
    cut_number: CountFrom1 | None = None
    learned_factor: Positive = 1.0
    dialled: DialledSection | None = None
    stays: SettingsSection | None = None
