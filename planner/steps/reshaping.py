"""A crankshaft changed beyond drilling: an old hole filled with steel, a rim turned down."""

from __future__ import annotations

import dataclasses

from geometry_profiles.area_properties import area_properties
from geometry_profiles.body_properties import body_properties
from geometry_profiles.outline import Outline
from geometry_profiles.shapes import fan, half_disc
from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import CutEffect, Shop
from planner.cuts.deepening import cut_in_hole
from planner.cuts.effects import effect_of
from planner.rotor.crankshaft import Counterweight, ExistingHole
from planner.rotor.vectors import resolve, vector_gmm


def hole_effect(hole: ExistingHole, counterweight: Counterweight, *, density_g_per_cm3: float) -> CutEffect:
    """Return what an old hole did to the rotor when it was drilled (removed is negative)."""
    cut = cut_in_hole(
        hole,
        counterweight.name,
        diameter_mm=hole.diameter_mm,
        depth_shoulder_mm=hole.depth_shoulder_mm,
        through=hole.through or (hole.kind == "face hole" and hole.depth_shoulder_mm is None),
    )
    # an old hole is as wide as it is and has its own point
    shop = Shop(drills_mm=(hole.diameter_mm,), point_angle_deg=hole.point_angle_deg)
    return effect_of(cut, counterweight=counterweight, density_g_per_cm3=density_g_per_cm3, shop=shop)


def with_hole_filled(problem: CorrectionProblem, name: str, index: int) -> CorrectionProblem:
    """Return the question with one old hole welded shut or plugged with steel: no obstacle, its moment back in.

    Parameters
    ----------
    problem : CorrectionProblem
        The question.
    name : str
        The counterweight.
    index : int
        Which of its old holes; an empty one.

    Raises
    ------
    InputError
        If the hole's sizes can't be weighed.
    """
    counterweight = next(each for each in problem.counterweights if each.name == name)
    hole = counterweight.existing[index]
    effect = hole_effect(hole, counterweight, density_g_per_cm3=problem.density_of(counterweight))
    changed = dataclasses.replace(
        counterweight, existing=(*counterweight.existing[:index], *counterweight.existing[index + 1 :])
    )
    return _changed(problem, changed, [(effect.z_mm, -effect.vector_gmm(hole.angle_deg))])


def turned_outline(outline: Outline, off_mm: float) -> Outline | None:
    """Return an outline with its rim turned down by ``off_mm``; None for shapes that this is not worked out for."""
    rim = outline.rim_radius_mm
    if rim is None or rim - off_mm <= outline.inner_radius_mm:
        return None
    if outline.name == "fan" and outline.half_angle_deg is not None:
        return fan(
            outer_radius_mm=rim - off_mm,
            half_angle_deg=outline.half_angle_deg,
            inner_radius_mm=outline.inner_radius_mm,
        )
    if outline.name == "half disc" and outline.flanks_mm:
        flat = outline.flanks_mm[0][0][0]
        return half_disc(
            outer_radius_mm=rim - off_mm, flat_offset_mm=flat, inner_radius_mm=outline.inner_radius_mm
        )
    return None


def with_rim_turned(problem: CorrectionProblem, name: str, off_mm: float) -> CorrectionProblem | None:
    """Return the question with the rim of one counterweight turned down; None where that can't be worked out.

    The ring between the old rim and the new one is gone, but for what old rim holes had taken out of it already; those
    holes are as much shallower.

    Raises
    ------
    InputError
        If an old hole's sizes can't be weighed.
    """
    counterweight = next(each for each in problem.counterweights if each.name == name)
    outline = turned_outline(counterweight.outline, off_mm) if counterweight.rim is None else None
    if outline is None:
        return _with_form_turned(problem, counterweight, off_mm)
    before, after = area_properties(counterweight.outline), area_properties(outline)
    ring = complex(
        before.first_moment_x_mm3 - after.first_moment_x_mm3,
        before.first_moment_y_mm3 - after.first_moment_y_mm3,
    )
    metal = counterweight.thickness_mm * problem.density_of(counterweight) / 1000.0
    vector = -ring * metal * vector_gmm(1.0, counterweight.angle_deg)
    turned = dataclasses.replace(counterweight, outline=outline)
    existing, taken = _holes_after(problem, counterweight, turned)
    given_back = [(z, -gone) for z, gone in taken]
    turned = dataclasses.replace(turned, existing=existing)
    return _changed(problem, turned, [(counterweight.z_mm, vector), *given_back])


def _holes_after(
    problem: CorrectionProblem, before: Counterweight, after: Counterweight
) -> tuple[tuple[ExistingHole, ...], list[tuple[float, complex]]]:
    """Return the holes once the rim is turned down, and what they had taken out of what is turned off (removed is negative).

    Rim holes are as much shallower as the rim is lower over them, the shallow ones gone.  Metal that a hole had taken out
    can't be turned off once more.
    """
    density = problem.density_of(before)
    existing, taken = [], []
    for hole in before.existing:
        if hole.kind != "rim hole" or hole.depth_shoulder_mm is None:
            existing.append(hole)
            continue
        z = hole.from_middle_mm
        shallower = before.rim_form().radius_mm(z) - after.rim_form().radius_mm(z)
        old = hole_effect(hole, before, density_g_per_cm3=density)
        taken.append((old.z_mm, old.vector_gmm(hole.angle_deg)))
        # a hole just as deep is gone, whichever way the difference of the radii rounds
        if hole.depth_shoulder_mm > shallower + 1e-9:
            left = dataclasses.replace(hole, depth_shoulder_mm=hole.depth_shoulder_mm - shallower)
            existing.append(left)
            rest = hole_effect(left, after, density_g_per_cm3=density)
            taken.append((rest.z_mm, -rest.vector_gmm(hole.angle_deg)))
    return tuple(existing), taken


def _with_form_turned(
    problem: CorrectionProblem, counterweight: Counterweight, off_mm: float
) -> CorrectionProblem | None:
    """Return the question with a rim of any form, on any outline, turned down; None where that can't be worked out."""
    if counterweight.outline.rim_radius_mm is None:
        return None
    before = counterweight.rim_form()
    low = before.greatest_radius_mm - off_mm
    after = before.turned_to(low) if low > counterweight.outline.inner_radius_mm else None
    if after is None:
        return None
    solids = [
        body_properties(counterweight.outline, thickness_mm=counterweight.thickness_mm, rim=form)
        for form in (before, after)
    ]
    metal = problem.density_of(counterweight) / 1000.0
    turn = vector_gmm(metal, counterweight.angle_deg)
    first = [complex(each.first_moment_x_mm4, each.first_moment_y_mm4) * turn for each in solids]
    along = [complex(each.moment_xs_mm5, each.moment_ys_mm5) * turn for each in solids]
    turned = dataclasses.replace(counterweight, rim=after)
    existing, taken = _holes_after(problem, counterweight, turned)
    gone = first[0] - first[1] + sum(vector for _, vector in taken)
    gone_along = along[0] - along[1] + sum(vector * (z - counterweight.z_mm) for z, vector in taken)
    turned = dataclasses.replace(turned, existing=existing)
    if abs(gone) < 1e-6:
        return None  # a full disc: nothing of its moment comes off
    place = (gone_along * gone.conjugate()).real / abs(gone) ** 2
    return _changed(problem, turned, [(counterweight.z_mm + place, -gone)])


def _changed(
    problem: CorrectionProblem, counterweight: Counterweight, sources: list[tuple[float, complex]]
) -> CorrectionProblem:
    change = resolve(sources, problem.planes_z_mm)
    return dataclasses.replace(
        problem,
        unbalance_gmm=problem.unbalance_gmm.plus(change),
        counterweights=tuple(
            counterweight if each.name == counterweight.name else each for each in problem.counterweights
        ),
    )
