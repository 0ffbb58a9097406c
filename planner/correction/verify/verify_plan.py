"""Checks a plan by another route than the one that made it.

========== ===================================================================================================
what       how, here
========== ===================================================================================================
mass,      numerical integration of columns over each hole (`integrals`), no closed formula
moment, z
residual   force and moment equation of the shaft, solved as two equations for the vectors in two planes
walls      polygons (`geometry_profiles.placement`), all holes of a counterweight at once
grids,     every rule written out again from its wording (`verify_rules`)
limits
========== ===================================================================================================

Nothing here comes from the search or from the formulas of `planner.cuts` (a contract of import-linter sees to it);
only the plain records are shared.

A **pinned** cut is the user's own decision.  It is exempt from the grids and limits of the shop; whatever else it
breaks alone (a wall to the outline, an old hole, an oil drilling or another pinned cut, a drill that the shop does
not have) is a *warning*, because the planner may not change it.  A planned cut that comes too close to a pinned one is
a *fault* like any other: the planner could have gone elsewhere.  So a plan without faults is one that the planner
may answer for, and its warnings have to be shown with it.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np

from planner.correction.problem import CorrectionProblem
from planner.correction.verify.integrals import (
    Integrals,
    cone_mm,
    face_hole,
    formed_rim_hole,
    rim_cut,
    rim_hole,
)
from planner.correction.verify.rules import (
    choice_faults,
    deepening_faults,
    grid_faults,
    impossible,
    length_faults,
    row_faults,
)
from planner.correction.verify.walls import NamedCut, wall_faults
from planner.cuts.cut import Cut
from planner.errors import InputError
from planner.frames import TwoPlanes
from planner.records import dataclass
from planner.rotor.crankshaft import FILLS, Counterweight
from planner.rotor.limits import LimitRow

LIMIT_TOLERANCE_GMM = 1e-6
"""A residual this little above its limit is rounding [g*mm]."""


@dataclass(frozen=True, kw_only=True)
class WeighedCut:
    """What one cut does, by integration; removed is negative, added positive.

    Attributes
    ----------
    mass_g : float
        Net change [g].
    unbalance_gmm : float
        First moment about the shaft axis, at the cut's own angle [g*mm].
    moment_z_gmm2 : float
        The same times its place along the shaft [g*mm2].
    drilled_g : float
        Mass removed by drilling [g], positive; 0 for slugs and fills (a slug's chips are not counted).
    heavy_metal_g : float
        Mass of slugs [g].
    across_gmm, across_z_gmm2 : float
        First moment square to the cut's own angle, counter-clockwise, and times its place along the shaft: of holes beside
        the radius [g*mm, g*mm2].
    """

    mass_g: float
    unbalance_gmm: float
    moment_z_gmm2: float
    drilled_g: float = 0.0
    heavy_metal_g: float = 0.0
    across_gmm: float = 0.0
    across_z_gmm2: float = 0.0

    @property
    def z_mm(self) -> float:
        """Where the change acts along the shaft [mm]."""
        return self.moment_z_gmm2 / self.unbalance_gmm


@dataclass(frozen=True, kw_only=True)
class VerificationReport:
    """What a plan leaves, and which rules it breaks.

    Attributes
    ----------
    residual_gmm : tuple of 2 complex
        What remains in the two reading planes, rounded numbers as they stand [g*mm].
    limits : tuple of (LimitRow, float)
        Every limit and the residual's amount there [g*mm].
    mass_removed_g : float
        Mass removed by rim and face holes [g], positive.
    heavy_metal_g : float
        Mass of slugs and fills [g].
    faults : tuple of str
        Broken rules that the planner has to answer for.
    warnings : tuple of str
        Rules that pinned cuts break by themselves.
    """

    residual_gmm: TwoPlanes[complex]
    limits: tuple[tuple[LimitRow, float], ...]
    mass_removed_g: float
    heavy_metal_g: float
    faults: tuple[str, ...]
    warnings: tuple[str, ...] = ()

    @property
    def keeps_limits(self) -> bool:
        """True when the residual keeps every limit."""
        return all(amount <= row.tolerance_gmm + LIMIT_TOLERANCE_GMM for row, amount in self.limits)

    @property
    def good(self) -> bool:
        """True when no rule is broken and every limit is kept."""
        return not self.faults and self.keeps_limits


def verify(problem: CorrectionProblem, cuts: Sequence[Cut]) -> VerificationReport:
    """Return what a plan leaves and which rules it breaks, by a route of its own.

    Parameters
    ----------
    problem : CorrectionProblem
        The question that the plan answers.
    cuts : sequence of Cut
        The plan with its rounded numbers, pinned cuts included.

    Returns
    -------
    VerificationReport
        A cut whose counterweight is unknown or whose numbers are missing is a fault and weighs nothing.

    Raises
    ------
    InputError
        If the two reading planes are the same.
    """
    sound, faults, warnings = _checked(problem, cuts)
    counterweights = {c.name: c for c in problem.counterweights}
    weighed = [weigh(item.cut, counterweights[item.cut.counterweight], problem=problem) for item in sound]
    residual = _residual(problem, [item.cut.angle_deg for item in sound], weighed)
    return VerificationReport(
        residual_gmm=residual,
        limits=tuple(
            (row, abs(row.weight_1 * residual[0] + row.weight_2 * residual[1])) for row in problem.limits
        ),
        mass_removed_g=sum(item.drilled_g for item in weighed),
        heavy_metal_g=sum(item.heavy_metal_g for item in weighed),
        faults=tuple(faults),
        warnings=tuple(warnings),
    )


def broken_rules(problem: CorrectionProblem, cuts: Sequence[Cut]) -> tuple[str, ...]:
    """Return the faults that `verify` finds, without weighing anything."""
    return tuple(_checked(problem, cuts)[1])


def _checked(problem: CorrectionProblem, cuts: Sequence[Cut]) -> tuple[list[NamedCut], list[str], list[str]]:
    """Return the cuts that can be weighed, the faults and the warnings."""
    counterweights = {c.name: c for c in problem.counterweights}
    faults: list[str] = []
    warnings: list[str] = []
    left = list(problem.fixed)
    sound: list[NamedCut] = []
    for number, cut in enumerate(cuts, start=1):
        pinned = cut in left
        if pinned:
            left.remove(cut)
        size = f"{cut.depth_shoulder_mm} mm deep" if cut.on_rim else f"{cut.diameter_mm:g} mm"
        name = f"cut {number}, {cut.kind} {size} in {cut.counterweight} at {cut.angle_deg:g} degrees"
        counterweight = counterweights.get(cut.counterweight)
        if counterweight is None:
            faults.append(f"{name}: there is no counterweight {cut.counterweight}")
            continue
        missing = impossible(cut, counterweight)
        if missing:
            faults += [f"{name}: {text}" for text in missing]
            continue
        sound.append(NamedCut(name=name, cut=cut, pinned=pinned))
        own = choice_faults(cut, counterweight, shop=problem.shop)
        own += length_faults(cut, counterweight, shop=problem.shop)
        own += deepening_faults(cut, counterweight, shop=problem.shop)
        (warnings if pinned else faults).extend(f"{name}: {text}" for text in own)
        if not pinned:
            faults += [f"{name}: {text}" for text in grid_faults(cut, problem=problem)]
            faults += [f"{name}: {text}" for text in row_faults(cut, counterweight)]
    faults += [
        f"the pinned {cut.kind} {cut.diameter_mm:g} mm in {cut.counterweight} at {cut.angle_deg:g} degrees is missing"
        for cut in left
    ]
    for counterweight in problem.counterweights:
        here = [named for named in sound if named.cut.counterweight == counterweight.name]
        if here:
            broken = wall_faults(counterweight, here, problem=problem)
            faults += broken.faults
            warnings += broken.warnings
    return sound, faults, warnings


def weigh(cut: Cut, counterweight: Counterweight, *, problem: CorrectionProblem) -> WeighedCut:
    """Return what one cut does, by numerical integration.

    Parameters
    ----------
    cut : Cut
        A cut with all its numbers.
    counterweight : Counterweight
        The one it is in.
    problem : CorrectionProblem
        For the shop and the metal's density.
    """
    if cut.from_depth_mm is not None or cut.from_diameter_mm is not None:
        whole = dataclasses.replace(cut, from_depth_mm=None, from_diameter_mm=None)
        there = whole if cut.through else dataclasses.replace(whole, depth_shoulder_mm=cut.from_depth_mm)
        if cut.from_diameter_mm is not None:
            drill = cut.from_diameter_mm - problem.shop.hole_oversize_mm
            there = dataclasses.replace(there, diameter_mm=drill)
        now, before = (weigh(each, counterweight, problem=problem) for each in (whole, there))
        return WeighedCut(
            mass_g=now.mass_g - before.mass_g,
            unbalance_gmm=now.unbalance_gmm - before.unbalance_gmm,
            moment_z_gmm2=now.moment_z_gmm2 - before.moment_z_gmm2,
            drilled_g=now.drilled_g - before.drilled_g,
            across_gmm=now.across_gmm - before.across_gmm,
            across_z_gmm2=now.across_z_gmm2 - before.across_z_gmm2,
        )
    shop = problem.shop
    metal = problem.density_of(counterweight) / 1000.0
    placed = (cut.from_middle_mm, cut.beside_mm, cut.tilt_deg) != (0.0, 0.0, 0.0)
    if cut.on_rim:
        taken = rim_cut(
            form=counterweight.rim_form(),
            off_mm=_number(cut.depth_shoulder_mm),
            half_angle_deg=None if cut.kind == "flat" else 0.5 * _number(cut.sector_deg),
            slope_deg=_number(cut.slope_deg) if cut.kind == "bevel" else None,
            front=cut.face == "front",
            z_mm=counterweight.z_mm,
        )
        return _removed(taken, metal)
    if cut.kind == "rim hole" and (counterweight.rim is not None or placed or counterweight.break_outs):
        return _formed(cut, counterweight, problem, metal)
    if cut.kind == "rim hole":
        diameter = cut.diameter_mm + shop.hole_oversize_mm
        hole = rim_hole(
            rim_radius_mm=_number(counterweight.outline.rim_radius_mm),
            diameter_mm=diameter,
            depth_shoulder_mm=_number(cut.depth_shoulder_mm),
            cone_height_mm=cone_mm(diameter_mm=diameter, point_angle_deg=shop.point_angle_deg),
            z_mm=counterweight.z_mm,
        )
        return _removed(hole, metal)
    if cut.kind == "face hole":
        diameter = cut.diameter_mm + shop.hole_oversize_mm
        depth = counterweight.thickness_mm if cut.through else _number(cut.depth_shoulder_mm)
        cone = cone_mm(diameter_mm=diameter, point_angle_deg=shop.point_angle_deg)
        return _removed(_from_face(cut, counterweight, diameter, depth, 0.0 if cut.through else cone), metal)
    heavy = shop.slug_density_g_per_cm3 / 1000.0
    length = counterweight.thickness_mm if cut.length_mm is None else cut.length_mm
    slug = _from_face(cut, counterweight, cut.diameter_mm, length, 0.0)
    added = heavy * slug.volume_mm3
    if cut.kind == "plug":
        steel = shop.plug_density_g_per_cm3 / 1000.0
        return WeighedCut(
            mass_g=steel * slug.volume_mm3,
            unbalance_gmm=steel * slug.moment_mm4,
            moment_z_gmm2=steel * slug.moment_z_mm5,
        )
    if cut.kind in FILLS:
        return WeighedCut(
            mass_g=added,
            unbalance_gmm=heavy * slug.moment_mm4,
            moment_z_gmm2=heavy * slug.moment_z_mm5,
            heavy_metal_g=added,
        )
    bore = slug
    if not cut.through:  # drilled to the slug's length, the point below it stays empty
        cone = cone_mm(diameter_mm=cut.diameter_mm, point_angle_deg=shop.point_angle_deg)
        bore = _from_face(cut, counterweight, cut.diameter_mm, length, cone)
    return WeighedCut(
        mass_g=added - metal * bore.volume_mm3,
        unbalance_gmm=heavy * slug.moment_mm4 - metal * bore.moment_mm4,
        moment_z_gmm2=heavy * slug.moment_z_mm5 - metal * bore.moment_z_mm5,
        heavy_metal_g=added,
    )


def _formed(cut: Cut, counterweight: Counterweight, problem: CorrectionProblem, metal: float) -> WeighedCut:
    """Return what a rim hole in a formed rim, beside the middle or the radius, or tilted does."""
    diameter = cut.diameter_mm + problem.shop.hole_oversize_mm
    hole = formed_rim_hole(
        form=counterweight.rim_form(),
        diameter_mm=diameter,
        depth_shoulder_mm=_number(cut.depth_shoulder_mm),
        cone_height_mm=cone_mm(diameter_mm=diameter, point_angle_deg=problem.shop.point_angle_deg),
        from_middle_mm=cut.from_middle_mm,
        beside_mm=cut.beside_mm,
        tilt_deg=cut.tilt_deg,
        z_mm=counterweight.z_mm,
        comes_out=counterweight.break_outs and cut.tilt_deg == cut.beside_mm == 0.0,
        flanks_deg=_flanks(cut, counterweight),
    )
    mass = metal * hole.volume_mm3
    return WeighedCut(
        mass_g=-mass,
        unbalance_gmm=-metal * hole.moment_mm4,
        moment_z_gmm2=-metal * hole.moment_z_mm5,
        across_gmm=-metal * hole.across_mm4,
        across_z_gmm2=-metal * hole.across_z_mm5,
        drilled_g=mass,
    )


def _flanks(cut: Cut, counterweight: Counterweight) -> tuple[float, ...]:
    """Return where radial flanks stand from a hole's ray [deg], for one that may come out there."""
    if not counterweight.break_outs or cut.tilt_deg or cut.beside_mm:
        return ()
    found = []
    for (x1, y1), (x2, y2) in counterweight.outline.flanks_mm:
        if min(math.hypot(x1, y1), math.hypot(x2, y2)) > 1e-9:
            continue  # not a ray from the shaft axis
        far = (x2, y2) if math.hypot(x1, y1) < 1e-9 else (x1, y1)
        turn = math.degrees(math.atan2(far[1], far[0])) - (cut.angle_deg - counterweight.angle_deg)
        turn = (turn + 180.0) % 360.0 - 180.0
        if 0.0 < abs(turn) < 90.0:
            found.append(turn)
    return tuple(found)


def _removed(hole: Integrals, metal: float) -> WeighedCut:
    mass = metal * hole.volume_mm3
    return WeighedCut(
        mass_g=-mass,
        unbalance_gmm=-metal * hole.moment_mm4,
        moment_z_gmm2=-metal * hole.moment_z_mm5,
        drilled_g=mass,
    )


def _from_face(
    cut: Cut, counterweight: Counterweight, diameter: float, depth: float, cone: float
) -> Integrals:
    """Return the integrals of what is drilled (or filled) from the cut's face inward."""
    inward = 1.0 if cut.face == "front" else -1.0
    return face_hole(
        radius_mm=_number(cut.radius_mm),
        diameter_mm=diameter,
        depth_shoulder_mm=depth,
        cone_height_mm=cone,
        thickness_mm=counterweight.thickness_mm,
        face_z_mm=counterweight.z_mm - inward * 0.5 * counterweight.thickness_mm,
        inward=inward,
    )


def _residual(
    problem: CorrectionProblem, angles_deg: Sequence[float], weighed: Sequence[WeighedCut]
) -> TwoPlanes[complex]:
    """Return the two vectors whose force and moment equal those of the reading and all cuts together."""
    z1, z2 = problem.planes_z_mm
    if z1 == z2:
        raise InputError(
            f"the two reading planes are both at z = {z1:g} mm, they must be apart",
            hint="measure the two planes' z from the same zero point",
        )
    u1, u2 = problem.unbalance_gmm
    # columns: across (angle 0) and up (angle 90); rows: sum of forces, sum of moments about the middle
    middle = 0.5 * (z1 + z2)
    force = np.array([u1.real + u2.real, u1.imag + u2.imag])
    moment = (z1 - middle) * np.array([u1.real, u1.imag]) + (z2 - middle) * np.array([u2.real, u2.imag])
    for angle_deg, item in zip(angles_deg, weighed, strict=True):
        turned = math.radians(angle_deg)
        direction = np.array([math.cos(turned), math.sin(turned)])
        force = force + item.unbalance_gmm * direction
        moment = moment + (item.moment_z_gmm2 - item.unbalance_gmm * middle) * direction
        if item.across_gmm:
            beside = np.array([-direction[1], direction[0]])
            force = force + item.across_gmm * beside
            moment = moment + (item.across_z_gmm2 - item.across_gmm * middle) * beside
    planes = np.linalg.solve(np.array([[1.0, 1.0], [z1 - middle, z2 - middle]]), np.array([force, moment]))
    return TwoPlanes(*(complex(x, y) for x, y in planes))


def _number(value: float | None) -> float:
    """Return a number that `impossible` has seen."""
    assert value is not None
    return value
