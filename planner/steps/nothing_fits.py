"""No cut at all fits any counterweight: then it is not the reading that is out of reach, and what would fit is said."""

from __future__ import annotations

import dataclasses

from planner.correction.candidates.blocks import build_blocks
from planner.correction.candidates.extent import TooManyPlacesError
from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import Shop
from planner.jobfile.job import Job
from planner.records import dataclass

_METRIC_DRILLS_MM = tuple(0.5 * halves for halves in range(6, 61))
_INCH_DRILLS_MM = tuple(25.4 / 32.0 * number for number in range(4, 39))


@dataclass(frozen=True, kw_only=True)
class NothingFits:
    """Why nothing can be cut.

    Attributes
    ----------
    drills_mm : tuple of float
        The shop's drills [mm].
    room_mm : tuple of (str, float)
        Counterweights that may be cut, each with how wide a hole its thickness has room for between its walls [mm];
        not positive where there is none.  Empty when no counterweight may be cut.
    would_fit_mm : float or None
        The largest drill smaller than the shop's smallest that fits somewhere [mm].
    fits_on : tuple of str
        Where that drill fits.
    shallower_fits_on : tuple of str
        Where the shop's own drills fit if holes may be as shallow as one step of the stop; asked when no drill helps.
    """

    drills_mm: tuple[float, ...]
    room_mm: tuple[tuple[str, float], ...]
    would_fit_mm: float | None = None
    fits_on: tuple[str, ...] = ()
    shallower_fits_on: tuple[str, ...] = ()


def nothing_fits_of(job: Job, problem: CorrectionProblem) -> NothingFits | None:
    """Return why no allowed cut fits anywhere, and what would; None when at least one fits."""
    if problem.fixed or build_blocks(problem):
        return None
    shop = problem.shop
    open_ = [
        each
        for each in problem.counterweights
        if each.name not in shop.forbid and set(each.cuts) & set(shop.allow)
    ]
    room = tuple(
        (each.name, each.thickness_mm - 2.0 * shop.least_wall_mm - shop.hole_oversize_mm) for each in open_
    )
    found = NothingFits(drills_mm=shop.drills_mm, room_mm=room)
    if not open_:
        return found
    sizes = _INCH_DRILLS_MM if job.units.in_inches else _METRIC_DRILLS_MM
    for size in sorted((each for each in sizes if each < min(shop.drills_mm) - 1e-6), reverse=True):
        names = _names(problem, dataclasses.replace(shop, drills_mm=(size,)))
        if names:
            return dataclasses.replace(found, would_fit_mm=size, fits_on=names)
    shallow = dataclasses.replace(shop, least_depth_mm=min(shop.least_depth_mm, shop.depth_step_mm))
    return dataclasses.replace(found, shallower_fits_on=_names(problem, shallow))


def _names(problem: CorrectionProblem, shop: Shop) -> tuple[str, ...]:
    try:
        blocks = build_blocks(dataclasses.replace(problem, shop=shop))
    except TooManyPlacesError:
        return ()
    return tuple(dict.fromkeys(problem.counterweights[block.counterweight].name for block in blocks))
