"""The drive of the pairing search: thresholds, bounds, the proof that no pairing grinds less.

Works on the whole numbers of `planner.engine.matching.pairing_weights.Weights`.
"""

from __future__ import annotations

import contextlib
import heapq
import time
from collections.abc import Sequence

from planner.engine.matching.pairing_bounds import (
    NEVER,
    SumBounds,
    in_coarsest_unit,
    least_throw_sums,
    throw_bound,
)
from planner.engine.matching.pairing_prices import PriceBound
from planner.engine.matching.pairing_swaps import anneal
from planner.engine.matching.pairing_weights import Clock, OutOfTime, Weights
from planner.engine.matching.pairing_windows import Windows, fits_windows
from planner.records import dataclass

#: Walks of random swaps where no proof is tried, and swaps of each per square of the number of cylinders.
_WALKS, _STEPS = 6, 400


@dataclass
class Outcome:
    """Best pairing known, and a lower bound on the cost of every pairing."""

    pins: list[int]
    rods: list[int]
    cost: int
    bound: int

    @property
    def proven(self) -> bool:
        """Whether nothing cheaper exists."""
        return self.bound >= self.cost


def least_cost_pairing(weights: Weights, *, seconds: float, walks: bool = True) -> Outcome:
    """Return the pairing with the least cost, proven when the time allows; the best found for large sets.

    The pairing as numbered is the first candidate, so that the answer never grinds more than it, and is kept
    when nothing is cheaper.  Without ``walks`` no random swaps go before the exact search.  More parts or rods on a
    throw than `fits_windows` get walks of random swaps and a lower bound, which rarely proves anything.
    """
    started = time.perf_counter()
    clock = Clock(stop_at=started + seconds)
    weights, unit = in_coarsest_unit(weights)
    drive = _Drive(weights, clock)
    if walks:
        drive.improve_by_swaps(walks=1, steps=60, until=clock.stop_at)
    if fits_windows(weights):
        with contextlib.suppress(OutOfTime):
            drive.prove_by_windows()
    else:
        drive.improve_by_swaps(walks=_WALKS, steps=_STEPS, until=clock.stop_at)
    drive.bound = min(drive.cost, drive.bound)
    return Outcome(
        pins=drive.pins,
        rods=drive.rods,
        cost=drive.cost * unit,
        bound=drive.bound * unit,
    )


class _Drive:
    """State of the search: the best pairing so far and what is proven."""

    def __init__(self, weights: Weights, clock: Clock) -> None:
        self.w, self.clock = weights, clock
        self.count = len(weights.piston)
        self.pins = list(range(self.count))
        self.rods = list(range(self.count))
        self.cost = weights.cost(self.pins, self.rods)
        self.recip_bounds = SumBounds(weights).of_all()
        bounds = {beta: throw_bound(weights, beta) for beta in least_throw_sums(weights)}
        self.throw_bounds = {beta: bound for beta, bound in bounds.items() if bound < NEVER}
        self.bound = min(min(self.recip_bounds.values()) + min(self.throw_bounds.values()), self.cost)

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
            (bound + throw_bound, abs(self.w.total - self.count * theta - half), theta, beta, ())
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
