"""What a cut is, and what the shop can do: plain records, no formulas."""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Iterable, Mapping
from dataclasses import field
from typing import Literal

from planner.frames import ShaftAngle
from planner.records import dataclass
from planner.rotor.crankshaft import CUT_KINDS, FILLS, RIM_CUTS, CutKind, Face, cone_height_mm

DepthTo = Literal["shoulder", "tip"]
HeavyMetalUse = Literal["if needed", "allowed", "never"]
FewestOf = Literal["passes", "fewest"]
Prefer = Literal["closest", "least metal"]

_SAME_MM = 1e-6
"""Diameters this near to each other are one size."""


@dataclass(frozen=True, kw_only=True)
class Shop:
    """Drills, slugs, steps and limits of a shop, and what it prefers.

    Lengths [mm], angles [deg], densities [g/cm3].  Depths (``least_depth_mm``, ``greatest_depth_mm``, the grid of
    ``depth_step_mm``) count the way ``depth_to`` says.  ``slug_lengths_mm`` is empty when slugs fill the full
    thickness; up to ``slug_stack`` of them may stand on one another in a bore.  With ``opposite_face_holes`` blind holes and
    slugs may stand opposite one another, from the two faces, each in its own half of the thickness.
    Cuts of the rim itself go over a sector of ``rim_cut_sectors_deg`` [deg], in steps of ``rim_cut_step_mm`` off the radius up to
    ``greatest_rim_cut_mm``; bevels fall at ``bevel_slope_deg``.
     ``first_pass`` is a share of the depth, or None to take it from the error model.

    Money is in whatever the shop counts: ``base_price`` for the job, ``price_per_spin`` times ``quoted_spins``,
    ``labour_per_hour`` for the minutes, ``slug_price`` by diameter, ``lightening_price`` for one piece of a kind of part.
    ``minutes_per_slug`` is None where a slug takes as long as any cut.

    What is wanted of a plan: ``heavy_metal`` says when slugs and fills come into question; ``prefer_cuts`` whether the
    fewest cuts are those with which the next spin passes its check with a chance of ``wanted_chance``, or those that reach
    the bare tolerance; ``prefer`` whether what is left or the metal drilled comes first.  What is left counts as equal
    below ``close_enough``, a share of the limits; with ``prefer = "least metal"`` plans are inside ``aim`` of them.
    """

    drills_mm: tuple[float, ...]
    hole_oversize_mm: float = 0.0
    point_angle_deg: float = 118.0
    depth_to: DepthTo = "shoulder"
    depth_step_mm: float = 0.5
    angle_step_deg: float = 1.0
    least_depth_mm: float = 5.0
    greatest_depth_mm: float = 45.0
    least_wall_mm: float = 3.0
    slug_diameters_mm: tuple[float, ...] = ()
    slug_density_g_per_cm3: float = 17.5
    plug_density_g_per_cm3: float = 7.85
    slug_radius_step_mm: float = 1.0
    slug_lengths_mm: tuple[float, ...] = ()
    slug_stack: int = 1
    opposite_face_holes: bool = False
    enlarge_holes: bool = False
    rim_cut_sectors_deg: tuple[float, ...] = (30, 45, 60, 90, 120)
    rim_cut_step_mm: float = 0.1
    greatest_rim_cut_mm: float = 4.0
    bevel_slope_deg: float = 45.0
    allow: tuple[CutKind, ...] = (*CUT_KINDS, "plug", *RIM_CUTS)
    forbid: tuple[str, ...] = ()
    aim: float = 0.5
    one_drill: bool = True
    heavy_metal: HeavyMetalUse = "if needed"
    prefer_cuts: FewestOf = "passes"
    wanted_chance: float = 0.95
    prefer: Prefer = "closest"
    close_enough: float = 0.1
    heavy_metal_cost: float = 10.0
    least_cuts: bool = True
    first_pass: float | None = None
    minutes_per_cut: float = 6.0
    minutes_per_drill_change: float = 2.0
    labour_per_hour: float = 0.0
    slug_price: Mapping[float, float] = field(default_factory=dict)
    minutes_per_slug: float | None = None
    base_price: float = 0.0
    price_per_spin: float = 0.0
    quoted_spins: int = 3
    lightening_price: Mapping[str, float] = field(default_factory=dict)

    def stacks_mm(self) -> dict[float, tuple[float, ...]]:
        """Return the lengths of slug that stock lengths make up [mm], each with its pieces, fewest first."""
        found: dict[float, tuple[float, ...]] = {}
        for count in range(1, self.slug_stack + 1):
            for pieces in itertools.combinations_with_replacement(
                sorted(self.slug_lengths_mm, reverse=True), count
            ):
                found.setdefault(round(sum(pieces), 6), pieces)
        return found

    def price_of_slug(self, diameter_mm: float) -> float | None:
        """Return the price of one slug of a diameter [mm], None where none is said."""
        for size, price in self.slug_price.items():
            if abs(size - diameter_mm) < _SAME_MM:
                return price
        return None

    def cone_height_mm(self, diameter_mm: float) -> float:
        """Return the cone height [mm] that this shop's drill of that diameter leaves below the shoulder."""
        return cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=self.point_angle_deg)

    def shoulder_depth_mm(self, *, stop_mm: float, diameter_mm: float) -> float:
        """Return the shoulder depth [mm] of a number on the stop (counted as ``depth_to`` says)."""
        return stop_mm - (self.cone_height_mm(diameter_mm) if self.depth_to == "tip" else 0.0)

    def stop_mm(self, *, depth_shoulder_mm: float, diameter_mm: float) -> float:
        """Return the number on the stop [mm] for a shoulder depth."""
        return depth_shoulder_mm + (self.cone_height_mm(diameter_mm) if self.depth_to == "tip" else 0.0)

    def stop_of_mm(self, cut: Cut) -> float | None:
        """Return the number on the stop [mm] for a cut; None for what has no depth to set (see `Cut.drilled_mm`)."""
        deep = cut.drilled_mm
        return None if deep is None else self.stop_mm(depth_shoulder_mm=deep, diameter_mm=cut.diameter_mm)

    def stop_before_mm(self, cut: Cut) -> float | None:
        """Return what stood on the stop [mm] for the hole that a cut makes deeper; None for a new hole."""
        deep = cut.from_depth_mm
        return None if deep is None else self.stop_mm(depth_shoulder_mm=deep, diameter_mm=cut.diameter_mm)


@dataclass(frozen=True, kw_only=True)
class Cut:
    """One cut in one counterweight, planned or made.

    ``angle_deg`` is in the crankshaft frame; ``diameter_mm`` is the drill's (the hole is larger by the shop's
    ``hole_oversize_mm``) or the slug's bore.  By kind:

    ========= ==================================================================
    rim hole  ``depth_shoulder_mm`` measured on the hole's axis from the rim; its axis meets the rim ``from_middle_mm``
              from the middle plane (+ toward the rear), passes ``beside_mm`` beside the shaft axis (+
              counter-clockwise) and is tilted by ``tilt_deg`` along the shaft (+ sends the tip to the rear)
    face hole ``radius_mm``; ``through``, or ``depth_shoulder_mm`` and ``face``
    slug      ``radius_mm``; ``length_mm``; ``through`` when it fills the full thickness, else ``face``
    fill      an existing face hole (its radius, angle, diameter) filled with heavy metal; ``length_mm``
    plug      the same with steel
    ========= ==================================================================

    Cuts of the rim itself have no tool's diameter (0) and ``depth_shoulder_mm`` off the greatest radius:

    =========== ================================================================
    rim turning turned or milled down over ``sector_deg``, the cut's angle in its middle
    flat        everything beyond a chord square to the cut's angle
    bevel       one edge (``face``) over ``sector_deg``: the radius falls at ``slope_deg``, by the depth at the face
    =========== ================================================================

    A rim hole or a blind face hole with ``from_depth_mm`` **deepens** a hole that is there already: that is its shoulder
    depth before, ``depth_shoulder_mm`` the new one, both from the same rim or face; drill, angle, radius and face are
    the hole's own.  With ``from_diameter_mm`` too (alone for a through face hole) it **enlarges** that hole: its diameter
    before, oversize included, while ``diameter_mm`` is the wider drill's.  What it does is the exact difference of the two
    holes (see `planner.cuts.deepening`).
    """

    kind: CutKind
    counterweight: str
    angle_deg: ShaftAngle
    diameter_mm: float
    depth_shoulder_mm: float | None = None
    radius_mm: float | None = None
    length_mm: float | None = None
    through: bool = False
    face: Face = "front"
    from_depth_mm: float | None = None
    from_diameter_mm: float | None = None
    from_middle_mm: float = 0.0
    beside_mm: float = 0.0
    tilt_deg: float = 0.0
    sector_deg: float | None = None
    slope_deg: float | None = None

    @property
    def on_rim(self) -> bool:
        """Whether this cut takes metal off the rim itself (turned, a flat, a bevel)."""
        return self.kind in RIM_CUTS

    @property
    def deepens(self) -> bool:
        """Whether this cut makes a hole deeper or wider that is there already."""
        return self.from_depth_mm is not None or self.from_diameter_mm is not None

    @property
    def enlarges(self) -> bool:
        """Whether this cut makes a hole wider that is there already, as deep or deeper."""
        return self.from_diameter_mm is not None

    @property
    def drilled_mm(self) -> float | None:
        """How deep the full diameter is drilled [mm]; a blind slug's bore is as deep as the slug is long.

        None for what has no depth to set: through holes, and fills of holes that are there.
        """
        if self.through or self.kind in FILLS:
            return None
        return self.length_mm if self.kind == "slug" else self.depth_shoulder_mm


@dataclass(frozen=True, kw_only=True)
class CutEffect:
    """What a cut does to the rotor; removed is negative, added positive.

    ``unbalance_gmm`` is the signed first moment about the shaft axis, acting at the cut's angle and at ``z_mm``
    (the axial centroid of the change), or ``turned_deg`` counter-clockwise of it for a hole beside the radius.
    ``mass_g`` is the net change; ``bored_mass_g`` (negative) and
    ``slug_mass_g`` are its parts for a slug, None for holes; a fill has no bored mass.
    """

    mass_g: float
    unbalance_gmm: float
    z_mm: float
    slug_mass_g: float | None = None
    bored_mass_g: float | None = None
    turned_deg: float = 0.0

    def vector_gmm(self, angle_deg: float) -> complex:
        """Return the signed unbalance as a vector of the crankshaft's frame, for a cut at that angle [g*mm]."""
        return cmath.rect(self.unbalance_gmm, math.radians(angle_deg + self.turned_deg))


@dataclass(frozen=True, kw_only=True)
class MetalMoved:
    """What cuts take off and put in [g], all positive: drilled off, bored out for slugs, slugs put in."""

    drilled_g: float = 0.0
    bored_g: float = 0.0
    slugs_g: float = 0.0


def metal_moved(effects: Iterable[CutEffect]) -> MetalMoved:
    """Return how much metal cuts take off and put in."""
    every = list(effects)
    return MetalMoved(
        drilled_g=sum(max(0.0, -each.mass_g) for each in every if each.slug_mass_g is None),
        bored_g=-sum(each.bored_mass_g or 0.0 for each in every),
        slugs_g=sum(each.slug_mass_g or 0.0 for each in every),
    )
