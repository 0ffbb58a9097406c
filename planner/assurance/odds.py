"""The chance that a plan passes when depth, angle, drill, metal and reading are only as good as they are.

Every draw has its own errors, normally distributed with the standard uncertainties of the `ErrorModel`:

============ ===========================================================================================
depth        every hole its own
angle        every cut its own
diameter     one for all holes of one drill: a drill that cuts large always does
radius       one for the rim holes of one counterweight (its outer radius), every other cut its own
density      one for the crankshaft's metal, one for the slugs'
reading      amount and angle, each plane its own; averaged spins count with the root of their number
bob masses   every throw its own
============ ===========================================================================================

What a cut does is developed about its planned size: second order in the depth, first order in the rest (errors are
small against every size).  The change of its place along the shaft is neglected.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.assurance.error_model import ErrorModel
from planner.cuts.cut import Cut, CutEffect, Shop
from planner.cuts.effects import effect_of
from planner.rotor.crankshaft import Counterweight, Throw
from planner.rotor.limits import LimitRow
from planner.rotor.vectors import plane_shares, vector_gmm

Floats = NDArray[np.float32]
DRAWS = 100_000
SEED = 20_240_229
_DEPTH_STEP_MM = 0.2
_DIAMETER_STEP_MM = 0.02


@dataclass(frozen=True, kw_only=True)
class UncertainCut:
    """What a cut does, and how that changes with its sizes.

    ``amount_gmm`` is the planned effect [g*mm] (negative: metal removed) at ``angle_deg`` and ``z_mm``, of which
    ``heavy_gmm`` comes from the slug.  ``per_depth_gmm_per_mm``, ``curvature_gmm_per_mm2``,
    ``per_diameter_gmm_per_mm`` and ``per_radius_gmm_per_mm`` are derivatives of the signed amount.  Cuts with equal
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
        less, more = (
            effect(
                dataclasses.replace(cut, depth_shoulder_mm=cut.depth_shoulder_mm + sign * step)
            ).unbalance_gmm
            for sign in (-1, 1)
        )
        depth, curvature = (more - less) / (2.0 * step), (more - 2.0 * amount + less) / step**2
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
        angle_deg=cut.angle_deg,
        z_mm=planned.z_mm,
        heavy_gmm=heavy,
        per_depth_gmm_per_mm=depth,
        curvature_gmm_per_mm2=curvature,
        per_diameter_gmm_per_mm=(amount - narrower) / _DIAMETER_STEP_MM,
        # moved outward by a millimetre every gram counts a millimetre more
        per_radius_gmm_per_mm=planned.mass_g,
        drill=("drill" if planned.slug_mass_g is None else "slug", cut.diameter_mm),
        radius_of=("rim", cut.counterweight) if cut.kind == "rim hole" else ("own", cut),
    )


def chance_to_pass(
    cuts: Sequence[UncertainCut],
    *,
    reading_gmm: Sequence[complex],
    planes_z_mm: tuple[float, float],
    limits: Sequence[LimitRow],
    errors: ErrorModel,
    shift_gmm: Sequence[complex] = (0j, 0j),
    readings: int = 1,
    throws: Sequence[Throw] = (),
    draws: int = DRAWS,
    seed: int = SEED,
) -> float:
    """Return the share of draws in which every limit is kept after the cuts.

    Parameters
    ----------
    cuts : sequence of UncertainCut
        The cuts still to be made, and those made since the reading.
    reading_gmm : sequence of 2 complex
        What the machine read, in the crankshaft frame [g*mm]; carries the reading's errors.
    planes_z_mm : tuple of 2 floats
        The reading planes [mm].
    limits : sequence of LimitRow
        The limits.
    errors : ErrorModel
        Standard uncertainties.
    shift_gmm : sequence of 2 complex
        What is added to the reading and known well (bobs, mounted parts, known errors) [g*mm].
    readings : int
        How many spins were averaged.
    throws : sequence of Throw
        Throws that carried a bob; empty for a bare crankshaft.
    draws, seed : int
        Number of draws, and where they start; equal input gives equal output.
    """
    rng = np.random.default_rng(seed)

    def normal(sigma: float) -> Floats:
        return rng.standard_normal(draws, dtype=np.float32) * np.float32(sigma)

    left_x, left_y, right_x, right_y = (np.zeros(draws, dtype=np.float32) for _ in range(4))

    def add(vector: complex, shares: Sequence[float], along: Floats, across: Floats) -> None:
        """Add ``vector * (along + i*across)`` to the planes with its shares."""
        x = np.float32(vector.real) * along - np.float32(vector.imag) * across
        y = np.float32(vector.imag) * along + np.float32(vector.real) * across
        for share, to_x, to_y in ((shares[0], left_x, left_y), (shares[1], right_x, right_y)):
            to_x += np.float32(share) * x
            to_y += np.float32(share) * y

    one, half = np.float32(1.0), np.float32(0.5)
    root = math.sqrt(max(1, readings))
    for vector, shift, own in zip(reading_gmm, shift_gmm, ((1.0, 0.0), (0.0, 1.0)), strict=True):
        amount = one + normal(errors.reading_percent / 100.0 / root)
        turn = normal(math.radians(errors.reading_angle_deg) / root)
        add(complex(vector), own, amount * (one - half * turn * turn), amount * turn)
        add(complex(shift), own, np.ones(1, dtype=np.float32), np.zeros(1, dtype=np.float32))
    metal, heavy = normal(errors.density_percent / 100.0), normal(errors.density_percent / 100.0)
    shared: dict[Hashable, Floats] = {}
    for cut in cuts:
        for key, sigma in ((cut.drill, errors.diameter_mm), (cut.radius_of, errors.radius_mm)):
            if key not in shared:
                shared[key] = normal(sigma)
        depth, turn = normal(errors.depth_mm), normal(math.radians(errors.angle_deg))
        amount = (
            np.float32(cut.amount_gmm)
            + np.float32(cut.per_depth_gmm_per_mm) * depth
            + np.float32(cut.curvature_gmm_per_mm2 / 2.0) * depth * depth
            + np.float32(cut.per_diameter_gmm_per_mm) * shared[cut.drill]
            + np.float32(cut.per_radius_gmm_per_mm) * shared[cut.radius_of]
            + np.float32(cut.amount_gmm - cut.heavy_gmm) * metal
            + np.float32(cut.heavy_gmm) * heavy
        )
        direction = vector_gmm(1.0, cut.angle_deg)
        add(
            direction, plane_shares(cut.z_mm, planes_z_mm), amount * (one - half * turn * turn), amount * turn
        )
    for throw in throws:
        bob = normal(errors.bob_mass_g * throw.radius_mm)
        add(
            vector_gmm(1.0, throw.angle_deg),
            plane_shares(throw.z_mm, planes_z_mm),
            bob,
            np.zeros(1, dtype=np.float32),
        )
    passed = np.ones(draws, dtype=bool)
    for row in limits:
        first, second = np.float32(row.weight_1), np.float32(row.weight_2)
        square = (first * left_x + second * right_x) ** 2 + (first * left_y + second * right_y) ** 2
        passed &= square <= np.float32(row.tolerance_gmm) ** 2
    return float(passed.mean())
