"""The crankshaft as the planner sees it: throws, counterweights, what is already cut, planes and bearings."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import field
from typing import TYPE_CHECKING, Literal

from geometry_profiles.outline import Outline
from geometry_profiles.rims import RimForm, cylindrical
from planner.frames import ShaftAngle
from planner.records import dataclass

if TYPE_CHECKING:
    from geometry_profiles.exchange import DrawingFrame

CutKind = Literal["rim hole", "face hole", "slug", "fill", "plug", "rim turning", "flat", "bevel"]
CUT_KINDS: tuple[CutKind, ...] = ("rim hole", "face hole", "slug", "fill")
"""What comes into question where a counterweight does not say which cuts are allowed in it."""
FILLS: tuple[CutKind, ...] = ("fill", "plug")
"""An open face hole filled: with heavy metal, or with steel (only where a counterweight allows it by name)."""
RIM_CUTS: tuple[CutKind, ...] = ("rim turning", "flat", "bevel")
"""Metal taken off the rim itself, by a lathe or a mill: only where a counterweight allows it by name."""
HEAVY_METAL: tuple[CutKind, ...] = ("slug", "fill")
"""What puts heavy metal in."""
DRILLING: tuple[CutKind, ...] = ("rim hole", "face hole", *RIM_CUTS)
"""What takes metal off and puts none in."""
Face = Literal["front", "rear"]


def cone_height_mm(*, diameter_mm: float, point_angle_deg: float) -> float:
    """Return how far a drill's tip lies beyond its shoulder [mm]: ``d / (2*tan(p/2))``, 0 for a flat bottom."""
    if point_angle_deg >= 180.0:
        return 0.0
    return diameter_mm / (2.0 * math.tan(math.radians(point_angle_deg) / 2.0))


@dataclass(frozen=True, kw_only=True)
class Throw:
    """A crankpin (a split pin is two throws).  Lengths [mm], angle [deg] in the crankshaft frame, masses [g]."""

    name: str
    angle_deg: ShaftAngle
    z_mm: float
    radius_mm: float
    rods: int
    cylinders: tuple[str, ...] = ()
    bob_wanted_g: float | None = None
    pin_diameter_mm: float | None = None
    pin_length_mm: float | None = None
    pin_bore_mm: float | None = None
    pin_fillet_mm: float | None = None


@dataclass(frozen=True, kw_only=True)
class Web:
    """An arm between journal and crankpin: a plate of even width with a round end.

    Lengths [mm], angle [deg] in the crankshaft frame; ``from_radius_mm`` is where it leaves the body that is symmetric
    about the shaft axis.
    """

    angle_deg: ShaftAngle
    z_mm: float
    thickness_mm: float
    width_mm: float
    from_radius_mm: float
    to_radius_mm: float


@dataclass(frozen=True, kw_only=True)
class ExistingHole:
    """A hole that is already there: an obstacle, and already part of every reading taken since.

    Angles [deg] in the crankshaft frame, lengths [mm].  ``depth_shoulder_mm`` is None for a through hole;
    ``radius_mm`` is None for a rim hole; ``filled_density_g_per_cm3`` is None for an empty hole.  A rim hole's axis meets
    the rim ``from_middle_mm`` from the counterweight's middle plane (toward the rear), passes ``beside_mm`` beside the
    shaft axis (counter-clockwise) and is tilted by ``tilt_deg`` along the shaft (its tip toward the rear).
    """

    kind: Literal["rim hole", "face hole"]
    angle_deg: ShaftAngle
    diameter_mm: float
    depth_shoulder_mm: float | None = None
    point_angle_deg: float = 118.0
    radius_mm: float | None = None
    through: bool = False
    face: Face = "front"
    filled_density_g_per_cm3: float | None = None
    from_middle_mm: float = 0.0
    beside_mm: float = 0.0
    tilt_deg: float = 0.0


@dataclass(frozen=True, kw_only=True)
class KeepOut:
    """A ring sector that no cut may touch; angles [deg] in the crankshaft frame, counter-clockwise from/to."""

    from_angle_deg: ShaftAngle
    to_angle_deg: ShaftAngle
    from_radius_mm: float
    to_radius_mm: float


@dataclass(frozen=True, kw_only=True)
class RoundKeepOut:
    """Something round that cuts keep the wall to: a crankpin with its fillet, a threaded or balance hole, a plug.

    ``angle_deg`` in the crankshaft frame, ``radius_mm`` of its middle, ``diameter_mm`` all of it; ``what`` names it.
    """

    angle_deg: ShaftAngle
    radius_mm: float
    diameter_mm: float
    what: str


@dataclass(frozen=True, kw_only=True)
class Counterweight:
    """A counterweight, with its outline's own x axis along ``angle_deg`` of the crankshaft frame.

    ``rim`` is the form of its rim across the thickness, None for a plain one.  New rim holes are drilled where
    ``rim_rows_mm`` says, places from the middle plane toward the rear [mm]; tilted by ``rim_hole_tilt_deg``.  ``mark`` names
    what distances along the rim are measured from, and its angle [deg] of the crankshaft frame; None: the centre line.
    ``drawn_in`` is where the drawing that its outline came from has shaft axis and centre line, and its unit.
    With ``break_outs`` a hole that the user pins or makes may come out at a face or at a fan's flank: what it takes off is
    reckoned as far as there is metal.
    """

    name: str
    z_mm: float
    angle_deg: ShaftAngle
    thickness_mm: float
    outline: Outline
    cuts: tuple[CutKind, ...]
    existing: tuple[ExistingHole, ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    part: str = ""
    density_g_per_cm3: float | None = None
    rim: RimForm | None = None
    rim_rows_mm: tuple[float, ...] = (0.0,)
    rim_hole_tilt_deg: float = 0.0
    mark: tuple[str, float] | None = None
    drawn_in: tuple[DrawingFrame, str] | None = None
    round_keep_outs: tuple[RoundKeepOut, ...] = ()
    break_outs: bool = False

    def flanks_beside_deg(self, angle_deg: float) -> tuple[float, ...]:
        """Return where a fan's radial flanks stand, from a ray of the crankshaft frame [deg]: those ahead of 90 degrees."""
        half = self.outline.half_angle_deg
        if half is None:
            return ()
        off = (angle_deg - self.angle_deg + 180.0) % 360.0 - 180.0
        return tuple(each for each in (half - off, -half - off) if 0.0 < abs(each) < 90.0)

    def rim_form(self) -> RimForm:
        """Return the form of the rim, a plain one too (ValueError where there is no rim)."""
        if self.rim is not None:
            return self.rim
        if self.outline.rim_radius_mm is None:
            raise ValueError(f"counterweight {self.name} has no rim")
        return cylindrical(outer_radius_mm=self.outline.rim_radius_mm, thickness_mm=self.thickness_mm)

    @property
    def usual_row_mm(self) -> float:
        """The row of rim holes nearest to the middle [mm]: where one is drilled when nothing else is said."""
        return min(self.rim_rows_mm, key=lambda place: (abs(place), place), default=0.0)

    def rim_radius_at_mm(self, from_middle_mm: float) -> float | None:
        """Return the rim's radius at a place along the shaft, from the middle plane [mm]; None without a rim."""
        if self.rim is None:
            return self.outline.rim_radius_mm
        low, high = self.rim.breaks_mm[0], self.rim.breaks_mm[-1]
        return self.rim.radius_mm(min(max(from_middle_mm, low), high))

    @property
    def least_rim_radius_mm(self) -> float | None:
        """The least radius of the rim across the thickness [mm]; None without a rim."""
        if self.rim is None:
            return self.outline.rim_radius_mm
        return self.rim.least_radius_mm(self.rim.breaks_mm[0], self.rim.breaks_mm[-1])


@dataclass(frozen=True, kw_only=True)
class OilDrilling:
    """A straight oil passage between two points (z, radius, angle) of the crankshaft frame [mm, mm, deg]."""

    from_z_mm: float
    from_radius_mm: float
    from_angle_deg: ShaftAngle
    to_z_mm: float
    to_radius_mm: float
    to_angle_deg: ShaftAngle
    diameter_mm: float
    clearance_mm: float


@dataclass(frozen=True, kw_only=True)
class Crankshaft:
    """The whole rotor.  z and lengths [mm], mass [kg], density [g/cm3], speed [rpm]."""

    throws: tuple[Throw, ...]
    counterweights: tuple[Counterweight, ...]
    bearing_1_z_mm: float
    bearing_2_z_mm: float
    density_g_per_cm3: float
    mass_kg: float | None = None
    centre_of_mass_z_mm: float | None = None
    service_speed_rpm: float | None = None
    built_for_bob_g: float | Mapping[str, float] | None = None
    built_for_percent: float | None = None
    oil_drillings: tuple[OilDrilling, ...] = field(default=())
    webs: tuple[Web, ...] = field(default=())

    @property
    def bearings_z_mm(self) -> tuple[float, float]:
        """The two bearing planes [mm]."""
        return self.bearing_1_z_mm, self.bearing_2_z_mm

    @property
    def centre_of_mass_or_middle_z_mm(self) -> float:
        """The stated centre of mass, else the middle of the bearings [mm]."""
        if self.centre_of_mass_z_mm is not None:
            return self.centre_of_mass_z_mm
        return 0.5 * (self.bearing_1_z_mm + self.bearing_2_z_mm)

    @property
    def built_bobs_g(self) -> dict[str, float]:
        """The bob that it was balanced for on every throw [g]; empty when it is not said."""
        built = self.built_for_bob_g
        if built is None:
            return {}
        if isinstance(built, Mapping):
            return dict(built)
        return dict.fromkeys((throw.name for throw in self.throws), built)

    def counterweight(self, name: str) -> Counterweight:
        """Return the counterweight of that name (KeyError if there is none)."""
        for counterweight in self.counterweights:
            if counterweight.name == name:
                return counterweight
        raise KeyError(name)

    @property
    def rods_per_throw(self) -> int | None:
        """How many rods every throw carries; None when the numbers differ."""
        rods = {throw.rods for throw in self.throws}
        return rods.pop() if len(rods) == 1 else None

    def throw(self, name: str) -> Throw:
        """Return the throw of that name (KeyError if there is none)."""
        for throw in self.throws:
            if throw.name == name:
                return throw
        raise KeyError(name)
