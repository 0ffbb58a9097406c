"""The same correction planned in other ways, side by side."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Literal

from planner.correction.budget import Budget, budget_of
from planner.correction.candidates.extent import TooManyPlacesError
from planner.correction.ordering import worst_share
from planner.correction.problem import CorrectionProblem, PlannedCut, PlanOutcome
from planner.correction.search.find_plan import find_plan
from planner.cuts.cut import Shop, metal_moved
from planner.jobfile.job import Job
from planner.records import dataclass
from planner.rotor.crankshaft import CUT_KINDS, DRILLING, RIM_CUTS, Counterweight
from planner.steps.bob_window import drilling_only
from planner.steps.chances import chances_of
from planner.steps.correction_question import Posed
from planner.steps.slugs import SlugOrder, slug_orders
from planner.steps.wanted_chance import passing_of
from planner.uncertainty.passing import Chances

Name = Literal[
    "plan", "drilling only", "heavy metal", "one drill", "end counterweights", "cheapest", "most certain"
]
_CERTAIN_SHARE, _CERTAIN_CHANCE = 0.05, 0.99


@dataclass(frozen=True, kw_only=True)
class Alternative:
    """One way to correct, in numbers.

    ``share`` is the greatest share of a limit that remains, ``minutes`` the time at the press.  When ``feasible`` is
    False there are no numbers and ``note`` says why.
    """

    name: Name
    feasible: bool
    cuts: tuple[PlannedCut, ...] = ()
    drilled_g: float = 0.0
    heavy_metal_g: float = 0.0
    share: float | None = None
    chances: Chances | None = None
    minutes: float = 0.0
    note: str = ""

    @property
    def chance_to_pass(self) -> float | None:
        """The chance that the limits are truly kept."""
        return None if self.chances is None else self.chances.inside


def alternatives_of(
    job: Job,
    posed: Posed,
    outcome: PlanOutcome,
    *,
    seconds: float | Budget = 10.0,
) -> tuple[Alternative, ...]:
    """Return the plan at hand and six other ways, in a fixed order.

    Parameters
    ----------
    job, posed, outcome : Job, Posed, PlanOutcome
        The job, its question and the plan at hand.
    seconds : float or Budget
        Outer stop of all searches together [s].
    """
    found = [_alternative("plan", job, posed, posed.problem, outcome)]

    budget = budget_of(seconds)

    def planned(name: Name, problem: CorrectionProblem) -> PlanOutcome:
        if _same_question(problem, posed.problem) or (name == "one drill" and len(_drills(outcome.cuts)) < 2):
            return outcome
        budget.say(f"another way: {name}")
        return find_plan(problem, seconds=budget, passing=passing_of(job, posed, problem=problem))

    for name, problems, note in _questions(posed.problem):
        best: tuple[CorrectionProblem, PlanOutcome] | None = None
        for problem in problems:
            try:
                other = planned(name, problem)
            except TooManyPlacesError:
                note = "too many places to look at"
                continue
            if best is None or _rank(other) < _rank(best[1]):
                best = problem, other
            if name == "one drill" and len(_drills(other.cuts)) < 2 and other.feasible:
                break
        if best is None:
            found.append(Alternative(name=name, feasible=False, note=note))
            continue
        if (
            name == "heavy metal"
            and best[1].feasible
            and not any(each.effect.slug_mass_g for each in best[1].cuts)
        ):
            note = "no slug would help here"
        found.append(_alternative(name, job, posed, *best, note=note))
    return tuple(found)


def _same_question(one: CorrectionProblem, other: CorrectionProblem) -> bool:
    """Return whether two questions differ in nothing but kinds of cuts that no counterweight has."""

    def bare(problem: CorrectionProblem) -> CorrectionProblem:
        here = {kind for each in problem.counterweights for kind in each.cuts}
        allow = tuple(kind for kind in (*CUT_KINDS, *RIM_CUTS) if kind in problem.shop.allow and kind in here)
        return problem.with_shop(allow=allow)

    return bare(one) == bare(other)


def press_minutes(shop: Shop, cuts: Iterable[PlannedCut]) -> float:
    """Return the time at the press [min]: every cut, and every change from one size to the next."""
    made = list(cuts)
    sizes = {round(planned.cut.diameter_mm, 6) for planned in made}
    slug_minutes = shop.minutes_per_cut if shop.minutes_per_slug is None else shop.minutes_per_slug
    slugs = sum(planned.effect.slug_mass_g is not None for planned in made)
    return (
        slugs * slug_minutes
        + (len(made) - slugs) * shop.minutes_per_cut
        + max(0, len(sizes) - 1) * shop.minutes_per_drill_change
    )


def end_counterweights(counterweights: Iterable[Counterweight]) -> tuple[str, ...]:
    """Return the names of the foremost and the rearmost counterweight of the crankshaft itself."""
    own = sorted((each for each in counterweights if not each.part), key=lambda each: each.z_mm)
    return tuple(dict.fromkeys((own[0].name, own[-1].name))) if own else ()


def is_late(outcome: PlanOutcome) -> bool:
    """Return whether time, and not the search, left a question without an answer."""
    return not outcome.feasible and outcome.certificate is None and outcome.proof.stopped_by_time


def without_plan_words(outcome: PlanOutcome, *, found: str = "no plan found") -> str:
    """Return in words how sure it is that there is no plan."""
    return "not possible, proven" if outcome.certificate is not None else f"{found}, not proven impossible"


@dataclass(frozen=True, kw_only=True)
class Effort:
    """What cuts take: slugs to order, grams, how many cuts, and the time at the press [min]."""

    orders: tuple[SlugOrder, ...] = ()
    heavy_metal_g: float = 0.0
    drilled_g: float = 0.0
    cuts: int = 0
    minutes: float = 0.0

    @property
    def pieces(self) -> int:
        """How many slugs."""
        return sum(order.pieces for order in self.orders)


def effort_of(problem: CorrectionProblem, cuts: Sequence[PlannedCut]) -> dict[str, Any]:
    """Return what cuts take, as the fields of an `Effort`."""
    orders = slug_orders(problem, cuts)
    return {
        "orders": orders,
        "heavy_metal_g": sum(order.total_g for order in orders),
        "drilled_g": metal_moved(each.effect for each in cuts).drilled_g,
        "cuts": len(cuts),
        "minutes": press_minutes(problem.shop, cuts),
    }


def with_slugs_at_ends(problem: CorrectionProblem) -> CorrectionProblem:
    """Return the question with slugs allowed, on the end counterweights if no counterweight has them yet."""
    problem = problem.with_shop(allow=tuple(dict.fromkeys((*problem.shop.allow, "slug", "fill"))))
    if any("slug" in each.cuts for each in problem.counterweights):
        return problem
    ends = end_counterweights(problem.counterweights)
    return dataclasses.replace(
        problem,
        counterweights=tuple(
            dataclasses.replace(each, cuts=(*each.cuts, "slug")) if each.name in ends else each
            for each in problem.counterweights
        ),
    )


def _questions(problem: CorrectionProblem) -> Iterator[tuple[Name, list[CorrectionProblem], str]]:
    shop = problem.shop

    shop_with = problem.with_shop
    holes = any(kind in DRILLING for kind in shop.allow)
    drilled = [drilling_only(problem)] if holes else []
    yield "drilling only", drilled, "" if holes else "the shop allows no drilling"
    if not shop.slug_diameters_mm:
        yield "heavy metal", [], "the shop has no slugs"
    else:
        allowed = any("slug" in each.cuts for each in problem.counterweights)
        yield (
            "heavy metal",
            [with_slugs_at_ends(shop_with(heavy_metal="allowed"))],
            "" if allowed else "if slugs were allowed on the end counterweights",
        )
    each_drill = [shop_with(drills_mm=(drill,)) for drill in shop.drills_mm]
    yield "one drill", [shop_with(one_drill=True), *each_drill], ""
    ends = end_counterweights(problem.counterweights)
    others = tuple(each.name for each in problem.counterweights if each.name not in ends)
    yield "end counterweights", [shop_with(forbid=tuple(dict.fromkeys((*shop.forbid, *others))))], ""
    yield "cheapest", [shop_with(aim=1.0, prefer="least metal", prefer_cuts="fewest")], ""
    certain = {"prefer": "closest", "close_enough": min(shop.close_enough, _CERTAIN_SHARE)}
    yield "most certain", [shop_with(wanted_chance=max(shop.wanted_chance, _CERTAIN_CHANCE), **certain)], ""


def _alternative(
    name: Name, job: Job, posed: Posed, problem: CorrectionProblem, outcome: PlanOutcome, *, note: str = ""
) -> Alternative:
    if not outcome.feasible:
        why = without_plan_words(outcome, found="none found")
        return Alternative(name=name, feasible=False, note=f"{why}; {note}" if note else why)
    cuts = outcome.cuts
    moved = metal_moved(each.effect for each in cuts)
    return Alternative(
        name=name,
        feasible=True,
        cuts=cuts,
        drilled_g=moved.drilled_g,
        heavy_metal_g=moved.slugs_g,
        share=worst_share(problem, outcome.residual_gmm),
        chances=chances_of(job, posed, [planned.cut for planned in cuts], problem=problem),
        minutes=press_minutes(problem.shop, cuts),
        note=note,
    )


def _rank(outcome: PlanOutcome) -> tuple[bool, bool, int, float]:
    mixed = len(_drills(outcome.cuts)) > 1
    return not outcome.feasible, mixed, len(outcome.cuts), outcome.cost


def _drills(cuts: Iterable[PlannedCut]) -> set[float]:
    return {planned.cut.diameter_mm for planned in cuts if planned.cut.kind in DRILLING}
