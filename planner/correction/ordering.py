"""From places on the grid to the records of a plan, in the shop's order and judged with the rounded numbers."""

from __future__ import annotations

from collections.abc import Iterable

from planner.correction.heavy_metal import heavy_cost
from planner.correction.problem import CorrectionProblem, PlannedCut
from planner.cuts.cut import Cut
from planner.cuts.effects import effect_of
from planner.errors import InputError
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight
from planner.rotor.vectors import plane_shares, wrap_deg


def planned(problem: CorrectionProblem, cut: Cut, *, pinned: bool = False) -> PlannedCut:
    """Return a cut with its effect."""
    counterweight = named(problem, cut.counterweight)
    effect = effect_of(
        cut,
        counterweight=counterweight,
        density_g_per_cm3=problem.density_of(counterweight),
        shop=problem.shop,
    )
    return PlannedCut(cut=cut, effect=effect, pinned=pinned)


def named(problem: CorrectionProblem, name: str) -> Counterweight:
    """Return the counterweight of that name; InputError if there is none."""
    for counterweight in problem.counterweights:
        if counterweight.name == name:
            return counterweight
    known = ", ".join(counterweight.name for counterweight in problem.counterweights)
    raise InputError(
        f"a cut is in counterweight `{name}`, this crankshaft has {known or 'none'}",
        hint="check the name of the counterweight",
    )


def in_order(problem: CorrectionProblem, cuts: Iterable[PlannedCut]) -> tuple[PlannedCut, ...]:
    """Return cuts in the shop's order."""

    def key(item: PlannedCut) -> tuple[float, float, str, float, str, float, float, str]:
        cut = item.cut
        return (
            -cut.diameter_mm,
            named(problem, cut.counterweight).z_mm,
            cut.counterweight,
            round(wrap_deg(cut.angle_deg), 6),
            cut.kind,
            cut.radius_mm or 0.0,
            cut.depth_shoulder_mm or cut.length_mm or 0.0,
            cut.face,
        )

    return tuple(sorted(cuts, key=key))


def residual_gmm(problem: CorrectionProblem, cuts: Iterable[PlannedCut]) -> TwoPlanes[complex]:
    """Return what remains in the reading planes after cuts [g*mm]."""
    first, second = (complex(u) for u in problem.unbalance_gmm)
    for item in cuts:
        vector = item.effect.vector_gmm(item.cut.angle_deg)
        share_1, share_2 = plane_shares(item.effect.z_mm, problem.planes_z_mm)
        first, second = first + share_1 * vector, second + share_2 * vector
    return TwoPlanes(first, second)


def cost_of(problem: CorrectionProblem, cuts: Iterable[PlannedCut]) -> float:
    """Return grams drilled + what heavy metal counts as (`heavy_cost`); chips of slug bores are not counted."""
    total = 0.0
    for item in cuts:
        heavy = item.effect.slug_mass_g
        if heavy is None:
            total += abs(item.effect.mass_g)
        else:
            total += heavy_cost(problem, diameter_mm=item.cut.diameter_mm, mass_g=heavy)
    return total


def worst_share(problem: CorrectionProblem, residual: TwoPlanes[complex]) -> float:
    """Return the greatest share of its limit that any limit row uses (1: just in tolerance)."""
    shares = [0.0]
    for limit in problem.limits:
        amount = abs(limit.weight_1 * residual[0] + limit.weight_2 * residual[1])
        if limit.tolerance_gmm > 0.0:
            shares.append(amount / limit.tolerance_gmm)
        elif amount > 0.0:
            shares.append(float("inf"))
    return max(shares)
