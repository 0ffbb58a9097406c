"""The drive of the pairing search: thresholds, bounds, the proof that no pairing grinds less.

Works on the whole numbers of `planner.engine.matching.pairing_search.Weights`.
"""

from __future__ import annotations

import contextlib
import heapq
import time
from collections.abc import Sequence
from dataclasses import dataclass

from planner.engine.matching.pairing_bounds import (
    NEVER,
    SumBounds,
    in_coarsest_unit,
    least_throw_sums,
    throw_plan,
)
from planner.engine.matching.pairing_prices import PriceBound
from planner.engine.matching.pairing_search import (
    Clock,
    OutOfTime,
    ThresholdSearch,
    ThrowPlan,
    TripleTable,
    Weights,
)
from planner.engine.matching.pairing_swaps import anneal
from planner.engine.matching.pairing_windows import Windows, fits_windows

#: Share of the time for descents before the exhaustive search.
_SWAP_SHARE = 0.2

#: Nodes of the first attempt; most sets need no more.
_FIRST_NODES = 1500


@dataclass
class Outcome:
    """Best pairing known, a lower bound on the cost of every pairing, nodes searched."""

    pins: list[int]
    rods: list[int]
    cost: int
    bound: int
    nodes: int

    @property
    def proven(self) -> bool:
        """Whether nothing cheaper exists."""
        return self.bound >= self.cost


def least_cost_pairing(
    weights: Weights, *, seconds: float, walks: bool = True, windows: bool = True
) -> Outcome:
    """Return the pairing with the least cost, proven when the time allows.

    The pairing as numbered is the first candidate, so that the answer never grinds more than it, and is kept
    when nothing is cheaper.  Without ``walks`` no random swaps go before the exact search; without ``windows``
    the search for large sets is used for small ones too.
    """
    started = time.perf_counter()
    clock = Clock(stop_at=started + seconds)
    weights, unit = in_coarsest_unit(weights)
    drive = _Drive(weights, clock)
    if walks:
        drive.improve_by_swaps(walks=1, steps=60, until=clock.stop_at)
    if windows and fits_windows(weights):
        with contextlib.suppress(OutOfTime):
            drive.prove_by_windows()
    else:
        _prove_by_thresholds(drive, seconds if walks else 0.0)
    drive.bound = min(drive.cost, drive.bound)
    return Outcome(
        pins=drive.pins,
        rods=drive.rods,
        cost=drive.cost * unit,
        bound=drive.bound * unit,
        nodes=clock.nodes,
    )


def _prove_by_thresholds(drive: _Drive, seconds_for_swaps: float) -> None:
    """Search threshold by threshold, triple by triple: for more parts than `Windows` can hold."""
    clock = drive.clock
    clock.most_nodes = _FIRST_NODES
    try:
        drive.prove()
    except OutOfTime:
        # not settled at once: a better pairing to start from makes the search shorter
        clock.most_nodes = NEVER
        if seconds_for_swaps and drive.w.tolerance:
            until = time.perf_counter() + _SWAP_SHARE * seconds_for_swaps
            drive.improve_by_swaps(walks=6, steps=400, until=until)
        with contextlib.suppress(OutOfTime):
            drive.prove()


class _Drive:
    """State of the search: the best pairing so far and what is proven."""

    def __init__(self, weights: Weights, clock: Clock) -> None:
        self.w, self.clock = weights, clock
        self.count = len(weights.piston)
        self.pins = list(range(self.count))
        self.rods = list(range(self.count))
        self.cost = weights.cost(self.pins, self.rods)
        self.table = TripleTable(weights)
        self.recip_bounds = SumBounds(weights, self.table).of_all()
        self.thetas = list(self.recip_bounds)
        plans = {beta: throw_plan(weights, self.table, beta, None) for beta in least_throw_sums(weights)}
        self.throw_bounds = {beta: plan.bound for beta, plan in plans.items() if plan.bound < NEVER}
        self.lowest = min(self.recip_bounds.values()) + min(self.throw_bounds.values())
        self.bound = min(self.lowest, self.cost)

    def keep(self, pins: Sequence[int], rods: Sequence[int]) -> None:
        """Take a pairing when it is cheaper."""
        cost = self.w.cost(pins, rods)
        if cost < self.cost:
            self.pins, self.rods, self.cost = list(pins), list(rods), cost

    def improve_by_swaps(self, *, walks: int, steps: int, until: float) -> None:
        """Walks of random swaps until the time is up or nothing is left to gain."""
        for seed in range(walks):
            if self.cost <= self.bound or time.perf_counter() > until:
                return
            found = anneal(self.w, steps=steps * self.count**2, seed=seed)
            self.keep(found.pins, found.rods)

    def prove_by_windows(self) -> None:
        """Find the optimum and prove it, window by window, the one with the lowest bound first.

        A window's bound is first what its two sums cost each on their own, then what the prices of another
        window show, then what its own prices show; when it is still the lowest of all, the window is searched.

        Raises
        ------
        OutOfTime
            ``bound`` is then the lowest bound of what is left.
        """
        windows = Windows(self.w, self.clock)
        # with one rod on a throw the big ends cost the same whatever the pairing
        fixed = min(self.throw_bounds.values()) if self.w.rods_per_throw == 1 else 0
        half = self.count * self.w.tolerance // 2
        # of two with the same bound the one in whose middle the sums would lie is the likelier to reach it
        queue: list[tuple[int, int, int, int, tuple[PriceBound, ...]]] = [
            (bound + throw_bound, abs(self.table.total - self.count * theta - half), theta, beta, ())
            for theta, bound in self.recip_bounds.items()
            for beta, throw_bound in self.throw_bounds.items()
            if bound + throw_bound < self.cost
        ]
        heapq.heapify(queue)
        while queue:
            bound, tie, theta, beta, shown = heapq.heappop(queue)
            self.bound = min(bound, self.cost)
            if bound >= self.cost:
                return
            budget = self.cost - fixed
            if len(shown) < 2:
                look = windows.bound if shown else windows.quick_bound
                new = look(theta, beta, target=budget)
                if new.bound < budget:
                    heapq.heappush(queue, (max(bound, new.bound + fixed), tie, theta, beta, (*shown, new)))
                continue
            found = windows.cheapest(theta, beta, budget=budget, prices=shown[-1].prices)
            if found is not None:
                self.keep(*found)
        self.bound = self.cost

    def _try(self, theta: int, throws: ThrowPlan, *, budget: int, exact: bool) -> bool:
        """Search one pair of thresholds; True when a cheaper pairing was found."""
        search = ThresholdSearch(
            self.w, self.table, theta=theta, throws=throws, exact=exact, budget=budget, clock=self.clock
        )
        try:
            return search.run()
        finally:
            if search.best is not None:
                self.keep(*search.best)

    def prove(self) -> None:
        """Find the optimum and prove it, by searches with a rising limit on the cost.

        With a low limit hardly anything fits, so these searches are short; the first limit that anything
        fits below contains the optimum, and all lower ones are the proof.
        """
        tolerance = self.w.tolerance
        recip_bounds, throw_bounds, lowest = self.recip_bounds, self.throw_bounds, self.lowest
        # with nothing that must be ground, the least cost above none is just beyond the tolerance
        forced = min(recip_bounds.values()) or (self.w.rods_per_throw > 1 and min(throw_bounds.values()))
        step, first = 0, max(1, tolerance // 16) if forced else tolerance + 1
        if not tolerance:
            step = first = max(1, (self.cost - lowest) // 256)
        search_up_to = self._with_tolerance if tolerance else self._without_tolerance
        found = False
        while self.bound < self.cost:
            limit = self.cost - 1 if found else min(self.cost - 1, lowest + step)
            found = search_up_to(limit, recip_bounds, throw_bounds)
            if not found:
                self.bound = limit + 1 if forced or step or not tolerance else lowest + first
                self.bound = min(self.bound, self.cost)
            elif tolerance:
                self.bound = self.cost
                return  # nothing cheaper at this limit: it was searched to the end
            step = max(2 * step, first)

    def _without_tolerance(
        self, limit: int, recip_bounds: dict[int, int], throw_bounds: dict[int, int]
    ) -> bool:
        """Search for a pairing that costs no more than the limit, for tolerance 0; True when there is one.

        The cost of reaching thresholds is then fixed by them, and reaching gets harder when either rises: for
        every beta only the lowest theta within the limit needs a search.
        """
        for beta, throw_bound in sorted(throw_bounds.items(), key=lambda pair: pair[1]):
            within = [theta for theta in self.thetas if recip_bounds[theta] + throw_bound <= limit]
            if within:
                plan = throw_plan(self.w, self.table, beta, throw_bound)
                if self._try(within[0], plan, budget=limit + 1, exact=False):
                    return True
        return False

    def _with_tolerance(self, limit: int, recip_bounds: dict[int, int], throw_bounds: dict[int, int]) -> bool:
        """Search every pair of thresholds whose pairings could cost no more than the limit.

        Those in whose middle the sums would lie come first: they are the likeliest to be cheap.
        """
        room = limit - min(recip_bounds.values())
        plans = [
            throw_plan(self.w, self.table, beta, room)
            for beta, bound in throw_bounds.items()
            if bound <= room
        ]
        half = self.count * self.w.tolerance // 2
        pairs = sorted(
            (bound + plan.bound, abs(self.table.total - self.count * theta - half), theta, index)
            for theta, bound in recip_bounds.items()
            for index, plan in enumerate(plans)
            if bound + plan.bound <= limit
        )
        found = False
        for bound, _, theta, index in pairs:
            budget = min(self.cost, limit + 1)
            if bound < budget:
                found |= self._try(theta, plans[index], budget=budget, exact=True)
        return found
