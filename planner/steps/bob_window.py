"""Which bob masses drilling alone can balance: what is proven outside, and what is confirmed inside.

A heavier bob on every throw makes the counterweights light, a lighter one makes them heavy.  What drilling can reach is
bounded by a linear program (`correction/search/capacity.py`); the least it leaves above the limits is a convex function of
the bob mass, so that the masses that are not ruled out are one interval.  Outside of it there is proof; inside, a real
plan is made to confirm how far drilling really does.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence

from planner.correction.budget import Budget, budget_of
from planner.correction.problem import CorrectionProblem
from planner.correction.search.capacity import Capacity
from planner.correction.search.find_plan import find_plan
from planner.cuts.cut import Shop
from planner.frames import TwoPlanes
from planner.jobfile.job import Job
from planner.records import dataclass
from planner.rotor.crankshaft import DRILLING
from planner.rotor.vectors import ComplexArray, resolve, vector_gmm

RESOLUTION_G = 0.2
_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0
_HEAVIEST = 2.0
"""Bobs up to this many times the wanted one are looked at first; further out where there is no proof yet."""
_DOUBLINGS = 40
# steps of a search for an edge: no mass, however large, makes it run on
_STEPS = 200


@dataclass(frozen=True, kw_only=True)
class BobWindow:
    """Bob masses [g] per throw (the mean, when throws differ) that drilling alone can balance.

    ``bob_g`` is what is wanted now.  ``proven_g``: outside of this nothing can be drilled into the limits, proven; None
    when no bob mass at all would do.  ``confirmed_g``: at both ends of this a plan was found; None when none was.
    ``matters`` is False when equal bobs cancel in this crankshaft, so that their mass changes nothing.
    ``g_per_piston_g`` is how much bob one gram on every piston makes; None when throws carry different numbers of rods.
    """

    bob_g: float
    matters: bool
    proven_g: tuple[float, float] | None = None
    confirmed_g: tuple[float, float] | None = None
    g_per_piston_g: float | None = None

    @property
    def too_heavy_g(self) -> float:
        """How much lighter the bobs would have to be [g]; 0 when they are not too heavy."""
        return 0.0 if self.proven_g is None else max(0.0, self.bob_g - self.proven_g[1])

    def likely_g(self, room_g: float) -> float:
        """Return the heaviest bob [g] that drilling alone is likely to do, as far inside of what is proven as ``room_g``."""
        low, high = self.proven_g or (self.bob_g, self.bob_g)
        confirmed = self.confirmed_g[1] if self.confirmed_g is not None else high
        return max(low, min(confirmed, high - room_g))

    @property
    def too_light_g(self) -> float:
        """How much heavier the bobs would have to be [g]; 0 when they are not too light."""
        return 0.0 if self.proven_g is None else max(0.0, self.proven_g[0] - self.bob_g)


def bob_window_of(
    job: Job,
    problem: CorrectionProblem,
    *,
    bob_g: float,
    seconds: float | Budget = 10.0,
    confirm: bool = True,
    steps: int = 4,
    nearest_end_only: bool = False,
) -> BobWindow:
    """Return which bob masses drilling alone can balance.

    Parameters
    ----------
    job : Job
        For throws, parts and the reciprocating fraction.
    problem : CorrectionProblem
        The question with the bobs that are wanted now.
    bob_g : float
        Those bobs (the mean) [g].
    seconds : float or Budget
        Outer stop [s].
    confirm : bool
        Whether to look for plans that confirm the window.
    steps : int
        How many plans to try on each side.
    nearest_end_only : bool
        Confirm only the end that lies nearer to the wanted bobs.  Near the light end plans take very many cuts, and how
        far they are found depends on the time.
    """
    asked = drilling_only(problem)
    per_gram = shift_per_gram_gmm(job)
    share = _g_per_piston_g(job)
    most = max(abs(row.seen_gmm(per_gram)) for row in asked.limits)
    greatest_radius = max(throw.radius_mm for throw in job.crankshaft.throws)
    if most < 1e-6 * greatest_radius:
        return BobWindow(bob_g=bob_g, matters=False, g_per_piston_g=share)
    budget = budget_of(seconds)
    budget.say("which bob masses drilling alone could balance")
    capacity = Capacity(asked)

    def shifted(grams: float) -> TwoPlanes[complex]:
        return problem.unbalance_gmm.plus(per_gram, grams)

    def excess(grams: float) -> float:
        return capacity.excess_sum_gmm(shifted(grams))

    lightest, heaviest = -bob_g, _far_enough(excess, (_HEAVIEST - 1.0) * max(bob_g, 100.0))
    inside = _inside(excess, lightest, heaviest)
    if inside is None:
        return BobWindow(bob_g=bob_g, matters=True, g_per_piston_g=share)
    low, high = _edge(excess, inside, lightest), _edge(excess, inside, heaviest)
    confirmed = None
    if confirm:

        def possible(grams: float) -> bool:
            if budget.late():
                return False
            budget.say("confirming the bob window by plans")
            cheap = any_plan(asked.shop)
            shifted_problem = dataclasses.replace(asked, unbalance_gmm=shifted(grams), shop=cheap)
            return find_plan(shifted_problem, seconds=budget, quick=True).feasible

        towards = [high, low]
        if nearest_end_only:
            towards = [high] if abs(high) <= abs(low) else [low]
        confirmed = _confirmed(possible, low, high, steps=steps, towards=towards)
    return BobWindow(
        bob_g=bob_g,
        matters=True,
        proven_g=(_rounded(bob_g + low, up=False), _rounded(bob_g + high, up=True)),
        confirmed_g=None
        if confirmed is None
        else (round(bob_g + confirmed[0], 3), round(bob_g + confirmed[1], 3)),
        g_per_piston_g=share,
    )


def shift_per_gram_gmm(job: Job) -> ComplexArray:
    """Return what a gram more bob on every throw does to the planes [g*mm], shape (2,)."""
    throws = job.crankshaft.throws
    return resolve(((t.z_mm, vector_gmm(t.radius_mm, t.angle_deg)) for t in throws), job.planes_z_mm)


def any_plan(shop: Shop) -> Shop:
    """Return a shop to which any plan inside the limits will do."""
    return dataclasses.replace(
        shop, aim=1.0, one_drill=False, prefer="least metal", prefer_cuts="fewest", heavy_metal="allowed"
    )


def drilling_only(problem: CorrectionProblem) -> CorrectionProblem:
    """Return the question with nothing but drilling allowed; pinned slugs are left out."""
    allow = tuple(kind for kind in problem.shop.allow if kind in DRILLING)
    fixed = tuple(cut for cut in problem.fixed if cut.kind in DRILLING)
    return dataclasses.replace(problem.with_shop(allow=allow), fixed=fixed)


def wanted_bob_g(job: Job, spin_number: int | None = None) -> float | None:
    """Return the mean bob mass that the engine wants [g]; that of a spin (1 = first) when the job states none."""
    if job.bobs_wanted_g:
        values = list(job.bobs_wanted_g.values())
    elif spin_number is not None:
        values = list(job.spins[spin_number - 1].bobs_g.values())
    else:
        return None
    return sum(values) / len(values)


def _g_per_piston_g(job: Job) -> float | None:
    rods = job.crankshaft.rods_per_throw
    fraction = 0.5 if job.parts is None else job.parts.reciprocating_fraction
    return None if rods is None else rods * fraction


def _far_enough(excess: Callable[[float], float], shift_g: float) -> float:
    """Return a shift [g] beyond which nothing more is to be found: ruled out, and worse than half of it.

    The least excess is convex in the bob mass and grows without end, so that doubling gets there.  The end of what was
    looked at would be no proof.
    """
    for _ in range(_DOUBLINGS):
        here = excess(shift_g)
        if here > 0.0 and here > excess(0.5 * shift_g):
            break
        shift_g *= 2.0
    return shift_g


def _inside(excess: Callable[[float], float], low: float, high: float) -> float | None:
    """Return a shift [g] that is not ruled out, None when the least of the convex function is above 0."""
    if excess(0.0) <= 0.0:
        return 0.0
    left, right = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_left, at_right = excess(left), excess(right)
    for _ in range(_STEPS):
        if high - low <= RESOLUTION_G:
            break
        for grams, value in ((left, at_left), (right, at_right)):
            if value <= 0.0:
                return grams
        if at_left < at_right:
            high, right, at_right = right, left, at_left
            left = high - _GOLDEN * (high - low)
            at_left = excess(left)
        else:
            low, left, at_left = left, right, at_right
            right = low + _GOLDEN * (high - low)
            at_right = excess(right)
    return None


def _edge(excess: Callable[[float], float], inside: float, outside: float) -> float:
    """Return the shift [g] on the far side of the edge between one not ruled out and one that is."""
    if excess(outside) <= 0.0:
        return outside
    for _ in range(_STEPS):
        if abs(outside - inside) <= RESOLUTION_G:
            break
        middle = 0.5 * (inside + outside)
        if excess(middle) <= 0.0:
            inside = middle
        else:
            outside = middle
    return outside


def _confirmed(
    possible: Callable[[float], bool], low: float, high: float, *, steps: int, towards: Sequence[float]
) -> tuple[float, float] | None:
    """Return the ends [g] of an interval inside (low, high) at which plans were found."""
    width = high - low
    # the wanted bob first, where it is inside: it is the one that interests; then from the heavy end, where plans
    # take few cuts
    starts = [0.0] if low < 0.0 < high else []
    starts += [low + share * width for share in (0.95, 0.75, 0.5)]
    start = next((grams for grams in starts if possible(grams)), None)
    if start is None:
        return None
    ends = [start, start]
    for edge in towards:
        good, bad = start, edge
        middle = good + (0.95 if edge == high else 0.5) * (bad - good)
        for _ in range(steps):
            if possible(middle):
                good = middle
            else:
                bad = middle
            middle = 0.5 * (good + bad)
        ends[int(edge == high)] = good
    return ends[0], ends[1]


def _rounded(mass_g: float, *, up: bool) -> float:
    """Return a mass [g] rounded outward to a tenth, not below 0."""
    tenths = math.ceil(10.0 * mass_g - 1e-6) if up else math.floor(10.0 * mass_g + 1e-6)
    return max(0.0, tenths / 10.0)
