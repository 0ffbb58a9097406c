"""The slugs of a plan: what to order, what it costs, and what would hold them at service speed."""

from __future__ import annotations

import math
from collections.abc import Iterable

from planner.correction.problem import CorrectionProblem, PlannedCut
from planner.cuts.retention import LEAST_SAFETY_FACTOR, SlugRetention, slug_retention
from planner.errors import InputError
from planner.records import dataclass
from planner.rotor.materials import HEAVY_ALLOYS, Material, like_metal
from planner.steps.slug_rings import Ring, ring_about

FIT_SHARE = 0.001
"""A thousandth of the diameter is a usual press fit (common practice)."""
_FURTHEST_G_PER_CM3 = 0.4
"""A slug is taken for the heavy alloy whose density is nearest, when it is this near."""


@dataclass(frozen=True, kw_only=True)
class SlugOrder:
    """One line of the order: diameter and length [mm], pieces, grams and price of one (None: not in the shop file)."""

    diameter_mm: float
    length_mm: float
    pieces: int
    mass_g: float
    price: float | None
    counterweights: tuple[str, ...]

    @property
    def total_g(self) -> float:
        """Grams of the whole line."""
        return self.pieces * self.mass_g


@dataclass(frozen=True, kw_only=True)
class SlugHold:
    """What a press fit would do for one slug, hot at service speed; an estimate, never a release.

    ``ring`` is the metal around the slug, to the nearest free surface.  ``fit_needed_mm`` is the interference on the
    diameter, cold, that gives a safety factor of 2.
    """

    counterweight: str
    diameter_mm: float
    speed_rpm: float
    ring: Ring
    retention: SlugRetention
    fit_needed_mm: float
    stress_needed_mpa: float


def slug_orders(problem: CorrectionProblem, cuts: Iterable[PlannedCut]) -> tuple[SlugOrder, ...]:
    """Return what heavy metal a plan needs, largest diameter first."""
    named = {each.name: each for each in problem.counterweights}
    lines: dict[tuple[float, float], list[PlannedCut]] = {}
    for planned in cuts:
        if planned.effect.slug_mass_g is not None:
            cut = planned.cut
            length = cut.length_mm if cut.length_mm is not None else named[cut.counterweight].thickness_mm
            lines.setdefault((round(cut.diameter_mm, 6), round(length, 6)), []).append(planned)
    return tuple(
        SlugOrder(
            diameter_mm=diameter,
            length_mm=length,
            pieces=len(members),
            mass_g=members[0].effect.slug_mass_g or 0.0,
            price=problem.shop.price_of_slug(diameter),
            counterweights=tuple(planned.cut.counterweight for planned in members),
        )
        for (diameter, length), members in sorted(lines.items(), reverse=True)
    )


def slug_cost(orders: Iterable[SlugOrder]) -> float | None:
    """Return what the slugs cost together, None when a price is missing or there are none."""
    lines = list(orders)
    if not lines:
        return None
    prices = [line.price for line in lines]
    if any(price is None for price in prices):
        return None
    return sum(line.pieces * (line.price or 0.0) for line in lines)


def slug_holds(
    problem: CorrectionProblem, cuts: Iterable[PlannedCut], *, speed_rpm: float | None
) -> tuple[SlugHold, ...]:
    """Return what a usual press fit would do for every slug of a plan; empty without a service speed.

    The ring of metal around a slug is taken as wide as the thinnest ligament to a free surface, on all sides.
    """
    if speed_rpm is None:
        return ()
    alloy = _alloy(problem.shop.slug_density_g_per_cm3)
    named = {each.name: each for each in problem.counterweights}
    holds = []
    every = list(cuts)
    for planned in every:
        cut, mass = planned.cut, planned.effect.slug_mass_g
        counterweight = named[cut.counterweight]
        if mass is None or alloy is None or cut.radius_mm is None:
            continue
        ring = ring_about(
            counterweight,
            cut,
            others=[
                other.cut
                for other in every
                if other is not planned and other.cut.counterweight == cut.counterweight
            ],
            shop=problem.shop,
            oil_drillings=problem.oil_drillings,
        )
        if ring.diameter_mm <= cut.diameter_mm:
            continue
        parent = like_metal(problem.density_of(counterweight))
        fit = FIT_SHARE * cut.diameter_mm
        sizes = {
            "slug_mass_g": mass,
            "radius_mm": cut.radius_mm,
            "diameter_mm": cut.diameter_mm,
            "length_mm": cut.length_mm or counterweight.thickness_mm,
            "speed_rpm": speed_rpm,
            "boss_diameter_mm": ring.diameter_mm,
        }
        try:
            found = slug_retention(**sizes, fit_mm=fit, boss=parent, slug=alloy)
        except InputError:
            continue  # a size that no press fit can be reckoned for: nothing is said of it
        needed, stress = _needed(found, fit)
        holds.append(
            SlugHold(
                counterweight=cut.counterweight,
                diameter_mm=cut.diameter_mm,
                speed_rpm=speed_rpm,
                ring=ring,
                retention=found,
                fit_needed_mm=needed,
                stress_needed_mpa=stress,
            )
        )
    return tuple(holds)


def _needed(found: SlugRetention, fit_mm: float) -> tuple[float, float]:
    """Return the cold fit [mm] that holds twice the centrifugal force hot, and the bore's stress with it [MPa].

    Pressure, hold and stress are proportional to the fit, so one fit says what every other does.
    """
    cold_hold_per_mm = found.hold_cold_n / fit_mm
    needed = found.fit_lost_hot_mm + LEAST_SAFETY_FACTOR * found.centrifugal_force_n / cold_hold_per_mm
    return needed, found.bore_hoop_stress_mpa * needed / fit_mm


def _alloy(density_g_per_cm3: float) -> Material | None:
    nearest = min(HEAVY_ALLOYS, key=lambda each: abs(each.density_g_per_cm3 - density_g_per_cm3))
    apart = abs(nearest.density_g_per_cm3 - density_g_per_cm3)
    return nearest if math.isfinite(apart) and apart <= _FURTHEST_G_PER_CM3 else None
