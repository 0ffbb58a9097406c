"""What could be done, side by side, before money is spent: every way with its price, its chance, and what is proven.

What the crankshaft is off from what it was built for is not known before it is spun.  So every way is worked out for a
number of cases too: the unbalance that the quote takes, and on each plane as much more as the crankshaft may be off, at any
angle.  The cases are drawn with a fixed seed: the same question has the same answer, however busy the computer is.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterator
from typing import Any, Literal

import numpy as np

from planner.correction.budget import Budget, Progress, budget_of
from planner.correction.problem import CorrectionProblem, PlanOutcome
from planner.correction.search.find_plan import find_plan
from planner.cuts.cut import Shop
from planner.engine.parts import bobs as bob_table
from planner.frames import ShaftAngle, TwoPlanes, wrap_deg
from planner.jobfile.job import Job
from planner.records import dataclass
from planner.rotor.vectors import resolve
from planner.steps.alternatives import (
    Effort,
    effort_of,
    is_late,
    with_slugs_at_ends,
    without_plan_words,
)
from planner.steps.bob_window import drilling_only, shift_per_gram_gmm
from planner.steps.chances import chances_of
from planner.steps.correction_question import Posed, pose
from planner.steps.quote import Quote
from planner.steps.slugs import slug_cost
from planner.steps.wanted_chance import passing_of
from planner.uncertainty.passing import Chances

Need = Literal["not needed", "needed", "in some cases", "not known"]
DRAWS = 8
_SEED = 20_406
_NOTHING = TwoPlanes(0j, 0j)
_ROOM_G = 0.5


@dataclass(frozen=True, kw_only=True)
class Price:
    """What a way costs all in; ``missing`` names what has no price."""

    base: float
    spins: float
    labour: float = 0.0
    slugs: float = 0.0
    lightening: float = 0.0
    missing: tuple[str, ...] = ()

    @property
    def total(self) -> float:
        """Everything that has a price."""
        return self.base + self.spins + self.labour + self.slugs + self.lightening


@dataclass(frozen=True, kw_only=True)
class Way(Effort):
    """One way.

    ``lighter_g`` is off every bob; ``reciprocating_g`` off every cylinder's reciprocating parts or ``rod_g`` off every rod's
    big end for it; ``percent`` another share of the reciprocating mass.  ``external`` are (plane's z [mm], amount [g*mm],
    angle [deg]) of weights on parts at the shaft's ends.  ``share`` is the greatest share of a limit that remains.
    ``cases`` counts in how many of the ``draws`` cases the way does it, ``chance_range`` are the least and greatest chance to
    pass in those; in ``late`` of them the time was up before there was an answer.  ``proven`` is said of a way that does
    not do it.
    """

    name: str
    feasible: bool
    price: Price
    lighter_g: float = 0.0
    reciprocating_g: float | None = None
    rod_g: float | None = None
    percent: float | None = None
    external: tuple[tuple[float, float, ShaftAngle], ...] = ()
    share: float | None = None
    chances: Chances | None = None
    cases: int = 0
    draws: int = 0
    late: int = 0
    chance_range: tuple[float, float] | None = None
    proven: str = ""


@dataclass(frozen=True, kw_only=True)
class Decision:
    """The ways side by side.

    ``need`` says whether heavy metal is needed: in no case, in every case, or in ``needing`` of ``draws``.  ``metal_off`` is
    True when the new bobs are lighter: metal has to come off, heavy metal does nothing for that.  ``built_with`` and
    ``runs_with`` are the mounted parts that it was balanced with and that it will run with.
    """

    quote: Quote
    need: Need
    needing: int
    draws: int
    metal_off: bool
    ways: tuple[Way, ...]
    built_with: tuple[str, ...]
    runs_with: tuple[str, ...]


@dataclass(frozen=True)
class _Asked:
    """The quote's question, its cases, and what all searches together may take."""

    job: Job
    posed: Posed
    cases: tuple[TwoPlanes[complex], ...]
    budget: Budget


def decision_of(
    quote: Quote,
    *,
    draws: int = DRAWS,
    seconds: float | Budget = 600.0,
    progress: Progress | None = None,
) -> Decision:
    """Return the ways to do a quoted job, side by side.

    Parameters
    ----------
    quote : Quote
        The quick answer.
    draws : int
        Cases of what the crankshaft may be off, 1 or more.
    seconds : float or Budget
        Outer stop of all searches together [s].
    progress : callable, optional
        Called with what is being done.
    """
    job = quote.job
    # nothing is unknown but what the reading itself is off, and that the chances have in them
    draws = draws if quote.within_g > 0.0 else 1
    posed = pose(job)
    posed = dataclasses.replace(
        posed, problem=dataclasses.replace(posed.problem, unbalance_gmm=quote.unbalance_gmm)
    )
    asked = _Asked(
        job=job,
        posed=posed,
        cases=_cases(quote, draws),
        budget=budget_of(seconds, progress),
    )
    drilling = [_drills(asked, case) for case in asked.cases]
    needing = sum(not outcome.feasible for outcome in drilling)
    late = sum(map(is_late, drilling))
    ways = tuple(_ways(asked, quote, drilling))
    return Decision(
        quote=quote,
        need="not known"
        if late
        else "not needed"
        if needing == 0
        else "needed"
        if needing == draws
        else "in some cases",
        needing=needing,
        draws=draws,
        metal_off=quote.built_for_g is not None and quote.bob_g < quote.built_for_g,
        ways=ways,
        built_with=tuple(part.name for part in job.mounted if part.built_with),
        runs_with=tuple(part.name for part in job.mounted if part.in_engine),
    )


def _cases(quote: Quote, draws: int) -> tuple[TwoPlanes[complex], ...]:
    """Return unbalances [g*mm] to plan for: the quote's own, then others as far off as the crankshaft may be, at any angle."""
    job = quote.job
    radius_mm = max((throw.radius_mm for throw in job.crankshaft.throws), default=0.0)
    reach_gmm = quote.within_g * radius_mm
    draw = np.random.default_rng(_SEED)
    cases = [quote.unbalance_gmm]
    for _ in range(draws - 1):
        amounts = reach_gmm * np.sqrt(draw.uniform(size=2))
        turns = np.exp(1j * draw.uniform(0.0, 2.0 * math.pi, size=2))
        cases.append(quote.unbalance_gmm.plus(amounts * turns))
    return tuple(cases)


def _planned(asked: _Asked, posed: Posed, problem: CorrectionProblem) -> PlanOutcome:
    return find_plan(problem, seconds=asked.budget, passing=passing_of(asked.job, posed, problem=problem))


def _drills(asked: _Asked, case: TwoPlanes[complex]) -> PlanOutcome:
    asked.budget.say("deciding: drilling, case by case")
    posed = asked.posed.with_unbalance(case)
    return _planned(asked, posed, drilling_only(posed.problem))


def _ways(asked: _Asked, quote: Quote, drilling: list[PlanOutcome]) -> Iterator[Way]:
    shop = asked.job.shop
    yield _as_it_is(asked)
    yield _planned_way(asked, "drilling only", drilling_only, outcomes=drilling)
    if all(outcome.feasible for outcome in drilling):
        return
    slugs: list[Way] = []
    if asked.posed.problem.shop.slug_diameters_mm:
        slugs = [_planned_way(asked, "heavy metal, fewest pieces", with_slugs_at_ends)]
        slugs += _cheapest(asked, slugs[0])
        yield from slugs
    yield from _lighter(asked, quote)
    yield from _external(asked)
    if not drilling[0].feasible and slugs and not any(way.feasible for way in slugs):
        yield from _combined(asked, quote, shop)


def _as_it_is(asked: _Asked) -> Way:
    limits = asked.posed.problem.limits
    share = _share(asked.posed.problem, asked.posed.problem.unbalance_gmm)
    inside = sum(_share(asked.posed.problem, case) <= 1.0 for case in asked.cases)
    return Way(
        name="as it is",
        feasible=bool(limits) and share <= 1.0,
        price=_price(asked.job.shop, spins=1),
        share=share,
        cases=inside,
        draws=len(asked.cases),
        proven="" if share <= 1.0 else "out of the limits",
    )


def _planned_way(
    asked: _Asked,
    name: str,
    allowed: Callable[[CorrectionProblem], CorrectionProblem],
    *,
    outcomes: list[PlanOutcome] | None = None,
    lighter_g: float = 0.0,
    per_gram: TwoPlanes[complex] = _NOTHING,
    **about: float | None,
) -> Way:
    """Return a way that is planned: for the quote's own unbalance, and for every other case."""
    feasible, late, chances = 0, 0, []
    first: tuple[PlanOutcome, CorrectionProblem, Chances | None] | None = None
    for index, case in enumerate(asked.cases):
        asked.budget.say(f"deciding: {name}, case {index + 1} of {len(asked.cases)}")
        posed = asked.posed.with_unbalance(case.plus(per_gram, -lighter_g))
        problem = allowed(posed.problem)
        outcome = outcomes[index] if outcomes is not None else _planned(asked, posed, problem)
        late += is_late(outcome)
        chance = None
        if outcome.feasible:
            feasible += 1
            chance = chances_of(asked.job, posed, [each.cut for each in outcome.cuts], problem=problem)
            chances.append(chance.inside)
        if first is None:
            first = (outcome, problem, chance)
    assert first is not None
    outcome, problem, chance = first
    shop = asked.job.shop
    common: dict[str, Any] = {
        "name": name,
        "lighter_g": lighter_g,
        "cases": feasible,
        "draws": len(asked.cases),
        "late": late,
        "chance_range": (min(chances), max(chances)) if chances else None,
        **about,
    }
    lightening, missing = _lightening(asked.job, lighter_g)
    if not outcome.feasible:
        proven = "not known, the time was up" if is_late(outcome) else without_plan_words(outcome)
        return Way(feasible=False, price=_price(shop), proven=proven, **common)
    effort = effort_of(problem, outcome.cuts)
    money = slug_cost(effort["orders"])
    if effort["orders"] and money is None:
        missing = (*missing, "slugs")
    if shop.labour_per_hour == 0.0 and effort["minutes"] > 0.0:
        missing = (*missing, "labour")
    return Way(
        feasible=True,
        price=_price(
            shop,
            labour=effort["minutes"] / 60.0 * shop.labour_per_hour,
            slugs=money or 0.0,
            lightening=lightening,
            missing=missing,
        ),
        share=_share(problem, outcome.residual_gmm),
        chances=chance,
        **effort,
        **common,
    )


def _cheapest(asked: _Asked, fewest: Way) -> list[Way]:
    """Return the cheapest way by slugs of one size, when it costs less than the fewest pieces; nothing without prices."""
    shop = asked.job.shop
    best: tuple[float, float] | None = None
    for diameter_mm in shop.slug_diameters_mm:
        if shop.price_of_slug(diameter_mm) is None:
            continue
        outcome = _planned(asked, asked.posed, _of_one_size(asked.posed.problem, diameter_mm))
        if not outcome.feasible:
            continue
        effort = effort_of(asked.posed.problem, outcome.cuts)
        cost = (slug_cost(effort["orders"]) or 0.0) + effort["minutes"] / 60.0 * shop.labour_per_hour
        if best is None or cost < best[0] - 1e-9:
            best = (cost, diameter_mm)
    if best is None or (
        fewest.feasible
        and not fewest.price.missing
        and best[0] >= fewest.price.slugs + fewest.price.labour - 1e-9
    ):
        return []
    size = best[1]
    return [_planned_way(asked, "heavy metal, cheapest", lambda problem: _of_one_size(problem, size))]


def _of_one_size(problem: CorrectionProblem, diameter_mm: float) -> CorrectionProblem:
    return with_slugs_at_ends(problem).with_shop(slug_diameters_mm=(diameter_mm,))


def _lighter(asked: _Asked, quote: Quote) -> Iterator[Way]:
    """Return lighter parts, and another share of the reciprocating mass, by as much as drilling alone needs."""
    window = quote.window
    if window.proven_g is None or window.too_heavy_g <= 0.0:
        return
    # so much that drilling alone is likely to do it even where the crankshaft is off as far as it may be
    less_g = window.bob_g - window.likely_g(max(_ROOM_G, quote.within_g))
    per_gram = TwoPlanes.vectors(shift_per_gram_gmm(asked.job))
    per_rod = asked.job.crankshaft.rods_per_throw
    recip = less_g / window.g_per_piston_g if window.g_per_piston_g else None
    lighter = _planned_way(
        asked,
        "lighter parts",
        drilling_only,
        lighter_g=less_g,
        per_gram=per_gram,
        reciprocating_g=recip,
        rod_g=less_g / per_rod if per_rod else None,
    )
    yield lighter
    parts = asked.job.parts
    if parts is None or not window.g_per_piston_g or recip is None:
        return
    fraction = parts.reciprocating_fraction
    mass_g = _reciprocating_g(asked.job)
    if mass_g <= 0.0:
        return
    # a bob has fraction x rods x reciprocating mass of a cylinder in it
    percent = 100.0 * (fraction - less_g / (window.g_per_piston_g / fraction * mass_g))
    if 30.0 <= percent < 100.0 * fraction:
        # the same bob, come to in another way: nothing is made lighter, nothing of that costs
        money = dataclasses.replace(
            lighter.price,
            lightening=0.0,
            missing=tuple(each for each in lighter.price.missing if each != "lightening"),
        )
        yield dataclasses.replace(
            lighter, name="another fraction", percent=percent, reciprocating_g=None, rod_g=None, price=money
        )


def _reciprocating_g(job: Job) -> float:
    """Return the mean reciprocating mass of a cylinder [g]; 0 without parts."""
    if job.parts is None:
        return 0.0
    table = bob_table(
        job.parts, throws=[dataclasses.replace(each, bob_wanted_g=None) for each in job.crankshaft.throws]
    )
    return sum(bob.reciprocating_g for bob in table.bobs) / max(1, sum(bob.rods for bob in table.bobs))


def _external(asked: _Asked) -> Iterator[Way]:
    """Return weights on the parts at the shaft's ends, where two of them are mounted: they carry all that is to correct."""
    job = asked.job
    places = sorted({part.z_mm for part in job.mounted if part.in_engine})
    if len(places) < 2 or places[-1] - places[0] < 1.0:
        return
    ends = (places[0], places[-1])
    z_left, z_right = job.planes_z_mm
    left, right = asked.posed.problem.unbalance_gmm
    wanted = resolve(((z_left, -left), (z_right, -right)), ends)
    yield Way(
        name="external weights",
        feasible=True,
        price=_price(job.shop, missing=("damper and flywheel",)),
        external=tuple(
            (z, abs(complex(each)), ShaftAngle(wrap_deg(math.degrees(float(np.angle(complex(each)))))))
            for z, each in zip(ends, wanted, strict=True)
        ),
        share=0.0,
        cases=len(asked.cases),
        draws=len(asked.cases),
        proven="by arithmetic; what the weights themselves are off comes on top",
    )


def _combined(asked: _Asked, quote: Quote, shop: Shop) -> Iterator[Way]:
    """Return lighter parts and heavy metal together, with the least lightening of a few that does it."""
    window = quote.window
    if window.too_heavy_g <= 0.0:
        return
    per_gram = TwoPlanes.vectors(shift_per_gram_gmm(asked.job))
    for share in (0.25, 0.5, 0.75):
        less_g = share * window.too_heavy_g
        way = _planned_way(
            asked,
            "lighter parts and heavy metal",
            with_slugs_at_ends,
            lighter_g=less_g,
            per_gram=per_gram,
            reciprocating_g=less_g / window.g_per_piston_g if window.g_per_piston_g else None,
        )
        if way.feasible:
            yield way
            return


def _lightening(job: Job, lighter_g: float) -> tuple[float, tuple[str, ...]]:
    """Return the least that making parts lighter costs: one kind of part on every cylinder or rod; what has no price."""
    if lighter_g <= 0.0:
        return 0.0, ()
    prices = job.shop.lightening_price
    if not prices:
        return 0.0, ("lightening",)
    count = sum(throw.rods for throw in job.crankshaft.throws)
    return min(prices.values()) * count, ()


def _price(shop: Shop, *, spins: int | None = None, **parts: Any) -> Price:
    """Return a price with what any way costs: the job, and its spins (as many as are quoted if left out)."""
    count = shop.quoted_spins if spins is None else spins
    return Price(base=shop.base_price, spins=count * shop.price_per_spin, **parts)


def _share(problem: CorrectionProblem, vectors_gmm: TwoPlanes[complex]) -> float:
    """Return the greatest share of a limit; infinite without limits."""
    shares = (abs(row.seen_gmm(vectors_gmm)) / row.tolerance_gmm for row in problem.limits)
    return max(shares, default=math.inf)
