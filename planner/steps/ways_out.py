"""No plan is possible with the cuts allowed: what else would do, each way checked by the planner before it is offered."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterator
from typing import Literal, get_args

from planner.correction.budget import Budget, budget_of
from planner.correction.candidates.extent import TooManyPlacesError
from planner.correction.problem import CorrectionProblem, PlannedCut
from planner.correction.search.capacity import Capacity
from planner.correction.search.find_plan import find_plan
from planner.cuts.cut import metal_moved
from planner.cuts.deepening import can_be_enlarged
from planner.jobfile.job import Job
from planner.quantity import nearest_64th
from planner.records import dataclass
from planner.rotor.crankshaft import RIM_CUTS
from planner.steps.alternatives import end_counterweights, with_slugs_at_ends
from planner.steps.bob_window import BobWindow, any_plan
from planner.steps.reshaping import with_hole_filled, with_rim_turned

Kind = Literal[
    "larger drill",
    "deeper",
    "drill out",
    "counterweights left alone",
    "heavy metal",
    "bobs",
    "fill a hole",
    "turn the rim",
    "rim cuts",
]
KINDS: tuple[Kind, ...] = get_args(Kind)
_METRIC_DRILLS_MM = (8.0, 10.0, 12.0, 13.0, 14.0, 15.0, 16.0, 18.0, 20.0, 22.0, 24.0, 25.0, 28.0, 30.0)
_INCH_DRILLS_IN = tuple(number / 16.0 for number in range(5, 21))
_STANDARD_SLUGS_IN = (0.5, 0.625, 0.75, 0.875, 1.0)
_LARGER = 3
_DEEPER_SHARES = (1.25, 1.5, 2.0)
_TURNED_MM = (1.0, 2.0, 3.0, 4.0)
_TURNED_IN = (1.0 / 32.0, 1.0 / 16.0, 3.0 / 32.0, 1.0 / 8.0)
_MM_PER_IN = 25.4


@dataclass(frozen=True, kw_only=True)
class WayOut:
    """Something else that would do; a plan was made with it.

    ``cuts`` are that plan's, ``words`` say what has to be done or allowed.  ``fewest`` is False where the search for that
    plan ended before it was proven that fewer cuts won't do.
    """

    kind: Kind
    words: str
    cuts: tuple[PlannedCut, ...] = ()
    drilled_g: float = 0.0
    heavy_metal_g: float = 0.0
    fewest: bool = True


@dataclass(frozen=True, kw_only=True)
class Tried:
    """A way that was looked at and is not offered."""

    kind: Kind
    words: str


@dataclass(frozen=True, kw_only=True)
class WaysOut:
    """All ways that were looked at: those with a plan, those proven not to do alone, those that stay open."""

    found: tuple[WayOut, ...] = ()
    ruled_out: tuple[Tried, ...] = ()
    open: tuple[Tried, ...] = ()


@dataclass(frozen=True)
class _Way:
    kind: Kind
    words: str
    problem: CorrectionProblem


def ways_out_of(
    job: Job,
    problem: CorrectionProblem,
    *,
    window: BobWindow | None = None,
    kinds: Collection[Kind] = KINDS,
    seconds: float | Budget = 10.0,
) -> WaysOut:
    """Return what would make a plan possible; the mildest of every kind that does.

    Parameters
    ----------
    job : Job
        For units and names.
    problem : CorrectionProblem
        The question that has no plan.
    window : BobWindow, optional
        Which bobs drilling alone could balance.
    kinds : collection of str
        Which kinds of ways to look at.
    seconds : float or Budget
        Outer stop [s].
    """
    budget = budget_of(seconds)
    found: list[WayOut] = []
    ruled_out: list[Tried] = []
    open_ways: list[Tried] = []
    done: set[str] = set()
    for way in _ways(job, problem):
        if way.kind in done or way.kind not in kinds:
            continue
        if budget.late():
            open_ways.append(Tried(kind=way.kind, words=f"{way.words} (not looked at, no time left)"))
            continue
        budget.say(f"no plan: would it do to {way.words}?")
        try:
            capacity = Capacity(way.problem)
        except TooManyPlacesError:
            open_ways.append(Tried(kind=way.kind, words=f"{way.words} (too many places to look at)"))
            continue
        if capacity.excess_sum_gmm() > 0.0:
            ruled_out.append(Tried(kind=way.kind, words=way.words))
            continue
        # any plan inside the limits will do here: which one is asked when the way is taken
        quick = any_plan(way.problem.shop)
        outcome = find_plan(dataclasses.replace(way.problem, shop=quick), seconds=budget, quick=True)
        if not outcome.feasible:
            open_ways.append(Tried(kind=way.kind, words=way.words))
            continue
        done.add(way.kind)
        moved = metal_moved(planned.effect for planned in outcome.cuts)
        found.append(
            WayOut(
                kind=way.kind,
                words=way.words,
                cuts=outcome.cuts,
                drilled_g=moved.drilled_g,
                heavy_metal_g=moved.slugs_g,
                fewest=outcome.proof.fewest_cuts,
            )
        )
    bobs = _bobs(job, window)
    if bobs is not None and bobs.kind in kinds:
        found.append(bobs)
    return WaysOut(found=tuple(found), ruled_out=tuple(ruled_out), open=tuple(open_ways))


def _ways(job: Job, problem: CorrectionProblem) -> Iterator[_Way]:
    yield from _left_alone(problem)
    yield from _larger_drills(job, problem)
    yield from _deeper(job, problem)
    yield from _drilled_out(problem)
    yield from _heavy_metal(problem)
    yield from _holes_filled(job, problem)
    yield from _rims_turned(job, problem)
    yield from _rim_cuts(problem)


def _left_alone(problem: CorrectionProblem) -> Iterator[_Way]:
    if not problem.shop.forbid:
        return
    for name in problem.shop.forbid:
        rest = tuple(each for each in problem.shop.forbid if each != name)
        part = next((each.part for each in problem.counterweights if each.name == name), "")
        where = f"{name} ({part})" if part else name
        yield _Way("counterweights left alone", f"cut on {where} too", problem.with_shop(forbid=rest))
    if len(problem.shop.forbid) > 1:
        names = ", ".join(problem.shop.forbid)
        yield _Way("counterweights left alone", f"cut on {names} too", problem.with_shop(forbid=()))


def _larger_drills(job: Job, problem: CorrectionProblem) -> Iterator[_Way]:
    shop = problem.shop
    if not any(kind in shop.allow for kind in ("rim hole", "face hole")):
        return
    largest = max(shop.drills_mm)
    widest = max(each.thickness_mm for each in problem.counterweights) - 2.0 * shop.least_wall_mm
    sizes = [size * _MM_PER_IN for size in _INCH_DRILLS_IN] if job.units.in_inches else _METRIC_DRILLS_MM
    larger = [size for size in sizes if largest + 1e-6 < size <= widest - shop.hole_oversize_mm + 1e-6]
    for size in larger[:_LARGER]:
        words = f"{nearest_64th(size)} in" if job.units.in_inches else f"{size:g} mm"
        asked = problem.with_shop(drills_mm=(*shop.drills_mm, size))
        yield _Way("larger drill", f"take a {words} drill", asked)


def _deeper(job: Job, problem: CorrectionProblem) -> Iterator[_Way]:
    shop = problem.shop
    room = max(
        (
            each.outline.rim_radius_mm - each.outline.inner_radius_mm
            for each in problem.counterweights
            if each.outline.rim_radius_mm is not None
        ),
        default=0.0,
    )
    for share in _DEEPER_SHARES:
        steps = round((shop.greatest_depth_mm * share - shop.least_depth_mm) / shop.depth_step_mm)
        depth = shop.least_depth_mm + steps * shop.depth_step_mm
        if shop.greatest_depth_mm * (share - 0.25) >= room:
            return
        deep, now = (job.units.text(each, "length") for each in (depth, shop.greatest_depth_mm))
        asked = problem.with_shop(greatest_depth_mm=depth)
        yield _Way("deeper", f"drill up to {deep} deep (now {now})", asked)


def _drilled_out(problem: CorrectionProblem) -> Iterator[_Way]:
    shop = problem.shop
    if shop.enlarge_holes:
        return
    wider = any(
        can_be_enlarged(hole, shop=shop)
        and hole.kind in shop.allow
        and hole.kind in each.cuts
        and max(shop.drills_mm, default=0.0) + shop.hole_oversize_mm > hole.diameter_mm
        for each in problem.counterweights
        if each.name not in shop.forbid
        for hole in each.existing
    )
    if wider:
        asked = problem.with_shop(enlarge_holes=True)
        yield _Way("drill out", "drill old holes out with a wider drill", asked)


def _heavy_metal(problem: CorrectionProblem) -> Iterator[_Way]:
    shop = problem.shop
    allowed = any("slug" in each.cuts for each in problem.counterweights)
    if allowed and "slug" in shop.allow:
        return  # they were allowed and there is no plan
    asked = problem
    if not shop.slug_diameters_mm:
        asked = problem.with_shop(slug_diameters_mm=tuple(size * _MM_PER_IN for size in _STANDARD_SLUGS_IN))
    ends = [name for name in end_counterweights(problem.counterweights) if name not in shop.forbid]
    if not allowed and not ends:
        return
    where = "where the files have them" if allowed else f"in the end counterweights ({', '.join(ends)})"
    yield _Way("heavy metal", f"allow slugs of heavy metal {where}", with_slugs_at_ends(asked))


def _holes_filled(job: Job, problem: CorrectionProblem) -> Iterator[_Way]:
    holes = [
        (each.name, index, hole)
        for each in problem.counterweights
        if each.name not in problem.shop.forbid
        for index, hole in enumerate(each.existing)
        if hole.filled_density_g_per_cm3 is None
    ]
    for name, index, hole in holes:
        at = job.machine.dial_deg(hole.angle_deg)
        words = f"weld shut or plug with steel the old {hole.kind} on {name} at {at:.4g} on the dial"
        yield _Way("fill a hole", words, with_hole_filled(problem, name, index))
    if len(holes) > 1:
        asked = problem
        # from the last to the first, so that the numbers of the others stay
        for name, index, _ in reversed(holes):
            asked = with_hole_filled(asked, name, index)
        yield _Way("fill a hole", f"weld shut or plug with steel all {len(holes)} old holes", asked)


def _rims_turned(job: Job, problem: CorrectionProblem) -> Iterator[_Way]:
    forbidden = problem.shop.forbid
    own = tuple(each.name for each in problem.counterweights if not each.part and each.name not in forbidden)
    ends = tuple(name for name in end_counterweights(problem.counterweights) if name not in forbidden)
    groups = [group for group in (*((name,) for name in ends), ends, own) if group]
    inches = job.units.in_inches
    for off in [each * _MM_PER_IN for each in _TURNED_IN] if inches else _TURNED_MM:
        words = f"{nearest_64th(off)} in" if inches else f"{off:g} mm"
        for names in dict.fromkeys(groups):
            asked: CorrectionProblem | None = problem
            for name in names:
                asked = None if asked is None else with_rim_turned(asked, name, off)
            if asked is not None:
                down = f"turn the rim of {', '.join(names)} down by {words} (on the radius)"
                yield _Way("turn the rim", down, asked)


def _rim_cuts(problem: CorrectionProblem) -> Iterator[_Way]:
    """Yield rims turned over a sector, flats and bevels, where they are not allowed yet."""
    if not set(RIM_CUTS) <= set(problem.shop.allow):
        return
    changed = tuple(
        dataclasses.replace(each, cuts=tuple(dict.fromkeys((*each.cuts, *RIM_CUTS))))
        if each.outline.rim_radius_mm is not None and each.name not in problem.shop.forbid
        else each
        for each in problem.counterweights
    )
    names = [
        each.name for each, before in zip(changed, problem.counterweights, strict=True) if each != before
    ]
    if names:
        words = (
            f"allow rims to be turned over a sector, flats and bevels on {', '.join(names)} "
            '(`cuts = ["rim turning", "flat", "bevel"]` beside those allowed)'
        )
        yield _Way("rim cuts", words, dataclasses.replace(problem, counterweights=changed))


def _bobs(job: Job, window: BobWindow | None) -> WayOut | None:
    if window is None or not window.matters or window.confirmed_g is None:
        return None
    units = job.units
    low, high = window.confirmed_g
    if low <= window.bob_g <= high:
        return None
    nearest = high if window.bob_g > high else low
    if units.text(nearest, "mass") == units.text(window.bob_g, "mass"):
        return None  # nothing that a scale shows
    change = abs(window.bob_g - nearest)
    word = "lighter" if window.bob_g > nearest else "heavier"
    piston = ""
    if window.g_per_piston_g:
        grams = units.text(change / window.g_per_piston_g, "mass")
        piston = f", that is {grams} of reciprocating mass {word} on every cylinder"
    return WayOut(
        kind="bobs",
        words=f"have {word} bobs: {units.text(nearest, 'mass')} instead of {units.text(window.bob_g, 'mass')}{piston}, then "
        "drilling alone does it",
    )
