"""A cut developed about its planned sizes: what it does, and how that changes with small errors."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Hashable

from planner.cuts.cut import Cut, CutEffect, Shop
from planner.cuts.effects import effect_of
from planner.records import dataclass
from planner.rotor.crankshaft import Counterweight

_DEPTH_STEP_MM = 0.2
_DIAMETER_STEP_MM = 0.02


@dataclass(frozen=True, kw_only=True)
class UncertainCut:
    """What a cut does, and how that changes with its sizes.

    ``amount_gmm`` is the planned effect [g*mm] (negative: metal removed) at ``angle_deg`` and ``z_mm``, of which
    ``heavy_gmm`` comes from the slug.  ``per_depth_gmm_per_mm``, ``curvature_gmm_per_mm2``,
    ``per_diameter_gmm_per_mm`` and ``per_radius_gmm_per_mm`` are derivatives of the signed amount.  Cuts
    ``on_rim`` keep their depth as a lathe or mill does.  Those with equal
    ``drill`` share their diameter's error, those with equal ``radius_of`` their radius's.
    """

    amount_gmm: float
    angle_deg: float
    z_mm: float
    heavy_gmm: float
    per_depth_gmm_per_mm: float
    curvature_gmm_per_mm2: float
    per_diameter_gmm_per_mm: float
    per_radius_gmm_per_mm: float
    drill: Hashable
    radius_of: Hashable
    on_rim: bool = False


def uncertain_cut(
    cut: Cut, *, counterweight: Counterweight, density_g_per_cm3: float, shop: Shop
) -> UncertainCut:
    """Return a cut as the draws see it.

    Parameters
    ----------
    cut : Cut
        The cut with its planned sizes.
    counterweight : Counterweight
        The one it is made in.
    density_g_per_cm3 : float
        Density of the counterweight's metal [g/cm3].
    shop : Shop
        Gives hole oversize, point angle and the slugs' density.
    """

    def effect(changed: Cut) -> CutEffect:
        return effect_of(changed, counterweight=counterweight, density_g_per_cm3=density_g_per_cm3, shop=shop)

    planned = effect(cut)
    amount = planned.unbalance_gmm
    depth, curvature = 0.0, 0.0
    if cut.depth_shoulder_mm is not None and not cut.through:
        step = min(_DEPTH_STEP_MM, 0.5 * cut.depth_shoulder_mm)
        # of a deepening too: what the hole was before changes nothing in how its amount grows with its depth
        whole = dataclasses.replace(cut, from_depth_mm=None)
        less, middle, more = (
            effect(
                dataclasses.replace(whole, depth_shoulder_mm=cut.depth_shoulder_mm + sign * step)
            ).unbalance_gmm
            for sign in (-1, 0, 1)
        )
        depth, curvature = (more - less) / (2.0 * step), (more - 2.0 * middle + less) / step**2
    elif cut.kind == "slug" and not cut.through and cut.radius_mm is not None:
        # a bore too deep takes metal from under the slug
        area_mm2 = math.pi / 4.0 * cut.diameter_mm**2
        depth = -density_g_per_cm3 / 1000.0 * area_mm2 * cut.radius_mm
    narrower = effect(dataclasses.replace(cut, diameter_mm=cut.diameter_mm - _DIAMETER_STEP_MM)).unbalance_gmm
    heavy = 0.0
    if planned.slug_mass_g is not None and cut.radius_mm is not None:
        heavy = planned.slug_mass_g * cut.radius_mm
    return UncertainCut(
        amount_gmm=amount,
        angle_deg=cut.angle_deg + planned.turned_deg,
        z_mm=planned.z_mm,
        heavy_gmm=heavy,
        per_depth_gmm_per_mm=depth,
        curvature_gmm_per_mm2=curvature,
        per_diameter_gmm_per_mm=(amount - narrower) / _DIAMETER_STEP_MM,
        # moved outward by a millimetre every gram counts a millimetre more
        per_radius_gmm_per_mm=planned.mass_g,
        drill=("drill" if planned.slug_mass_g is None else "slug", cut.diameter_mm),
        radius_of=("rim", cut.counterweight) if cut.kind == "rim hole" or cut.on_rim else ("own", cut),
        on_rim=cut.on_rim,
    )
