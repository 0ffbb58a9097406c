"""How much could be cut at all: counted before it is laid out, so that no shop file fills the memory.

Very fine steps, or sizes far from any crankshaft's, give more places than a computer holds.  They are refused in words; no
answer is made from a thinned-out grid, because what is proven would be proven of that grid only.
"""

from __future__ import annotations

import math

from planner.correction.candidates.block import Block
from planner.correction.problem import CorrectionProblem
from planner.errors import InputError
from planner.rotor.crankshaft import RIM_CUTS, Counterweight

MOST_PLACES = 120_000_000
"""Settings times dial angles of all that fits: at most about 900 MB (measured, see `tests.benchmarks.memory`)."""
MOST_SETTINGS = 1_000_000
"""Settings of one kind of cut in one counterweight, before it is known what fits."""
MOST_ANGLES_LAID_OUT = 150_000_000
"""Holes times angles all around the dial that are looked at to see what fits, of one counterweight."""


class TooManyPlacesError(InputError):
    """The shop's steps and the counterweights' sizes give more places than can be looked at."""


def refuse_too_many(problem: CorrectionProblem, counterweight: Counterweight, kind: str) -> None:
    """Refuse a kind of cut in one counterweight whose settings are too many, counted without laying them out.

    Raises
    ------
    TooManyPlacesError
        If they are.
    """
    shop = problem.shop
    depths = _count(shop.greatest_depth_mm - shop.least_depth_mm, shop.depth_step_mm)
    radii = _count(
        counterweight.outline.greatest_radius_mm - counterweight.outline.inner_radius_mm,
        shop.slug_radius_step_mm,
    )
    if kind == "rim hole":
        settings = sections = len(shop.drills_mm) * depths
    elif kind == "face hole":
        # at most as deep as the counterweight is thick; from both faces
        inside = min(depths, _count(counterweight.thickness_mm, shop.depth_step_mm))
        sections = len(shop.drills_mm) * radii
        settings = sections * inside * 2
    elif kind in RIM_CUTS:
        sections = settings = (
            2 * len(shop.rim_cut_sectors_deg) * _count(shop.greatest_rim_cut_mm, shop.rim_cut_step_mm)
        )
    else:
        sections = len(shop.slug_diameters_mm) * radii
        settings = sections * max(1, len(shop.slug_lengths_mm)) * 2
    if settings > MOST_SETTINGS or sections * 360.0 / shop.angle_step_deg > MOST_ANGLES_LAID_OUT:
        raise _error(problem, f"{settings:,} different {kind}s on counterweight {counterweight.name} alone")


def refuse_too_many_places(problem: CorrectionProblem, blocks: list[Block]) -> None:
    """Refuse what fits when it has too many places.

    Raises
    ------
    TooManyPlacesError
        If it has.
    """
    places = sum(block.amount_gmm.size * block.relative_deg.size for block in blocks)
    if places > MOST_PLACES:
        raise _error(
            problem, f"{places:,} places on {len({block.counterweight for block in blocks})} counterweights"
        )


def _count(length_mm: float, step_mm: float) -> int:
    """Return how many steps lie in a length, ends included; also where both are beyond reason."""
    steps = length_mm / step_mm
    return 0 if steps < 0.0 else math.floor(min(steps, 1e15) + 1e-9) + 1


def _error(problem: CorrectionProblem, what: str) -> TooManyPlacesError:
    shop = problem.shop
    return TooManyPlacesError(
        f"with [shop] depth_step {shop.depth_step_mm:g} mm, angle_step {shop.angle_step_deg:g} degrees, slug_radius_step "
        f"{shop.slug_radius_step_mm:g} mm and {len(shop.drills_mm)} drills there are {what}: more than can be looked at",
        hint="take the steps that the machine is really set by (0.1 mm or more, 0.25 degrees or more), fewer drills, or look "
        "at the counterweights' sizes",
    )
