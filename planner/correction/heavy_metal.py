"""What heavy metal counts as in a plan's cost: by its price where all sizes have one, else by its grams.

A plan's cost is in grams drilled.  A gram of heavy metal counts as ``heavy_metal_cost`` of them; with prices a slug counts
as its own price does among the shop's sizes, so that of two plans with as many cuts the cheaper slugs have the lower cost
and ``heavy_metal_cost`` keeps its meaning for a slug of the usual price by the gram.
"""

from __future__ import annotations

import math

from planner.correction.problem import CorrectionProblem


def heavy_cost(problem: CorrectionProblem, *, diameter_mm: float, mass_g: float) -> float:
    """Return what one slug or fill counts as [grams drilled].

    Parameters
    ----------
    problem : CorrectionProblem
        Its shop has the prices; where one of the sizes that it could use has none, grams count for all of them.
    diameter_mm : float
        Diameter of the slug [mm].
    mass_g : float
        Its mass [g].
    """
    shop = problem.shop
    usual = usual_price_per_g(problem)
    price = shop.price_of_slug(diameter_mm)
    if usual is None or price is None:
        return shop.heavy_metal_cost * mass_g
    return shop.heavy_metal_cost * price / usual


def usual_price_per_g(problem: CorrectionProblem) -> float | None:
    """Return the price of a gram over all sizes, each as long as the counterweights are thick; None where a price is missing."""
    shop = problem.shop
    sizes = {round(diameter, 6) for diameter in shop.slug_diameters_mm if "slug" in shop.allow}
    if "fill" in shop.allow:
        sizes |= {
            round(hole.diameter_mm, 6)
            for each in problem.counterweights
            for hole in each.existing
            if "fill" in each.cuts and hole.kind == "face hole" and hole.filled_density_g_per_cm3 is None
        }
    prices = [shop.price_of_slug(size) for size in sorted(sizes)]
    known = [price for price in prices if price is not None]
    if not known or len(known) < len(prices) or sum(known) <= 0.0:
        return None
    thickness = math.fsum(each.thickness_mm for each in problem.counterweights) / len(problem.counterweights)
    grams = shop.slug_density_g_per_cm3 * 1e-3 * thickness * math.fsum(math.pi / 4.0 * d * d for d in sizes)
    return sum(known) / grams
