"""Choosing the parts of an engine out of a larger stock, so that the least is ground.

Walks of random swaps find a good choice; a mixed-integer programme (`scipy.optimize.milp`) with a time limit
improves on it and bounds it (which piston, pin and rod of the stock goes to which cylinder); then the exact
pairing of what was chosen.  Masses [g].
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.engine.matching.match import (
    UNIT_G,
    Pairing,
    PairingRequest,
    check_throws,
    pair_parts,
    whole_weights,
)
from planner.engine.matching.pairing_swaps import Arrangement, anneal
from planner.errors import InputError
from planner.records import dataclass

#: Walks of random swaps before the programme.
_WALKS = 5

if TYPE_CHECKING:
    from planner.engine.forces import FloatArray


@dataclass(frozen=True, kw_only=True)
class Stock:
    """What is on the shelf, by number of parts [g]; rod k has small end k and big end k.

    A kind with exactly as many parts as cylinders is simply paired.
    """

    piston_g: tuple[float, ...]
    pin_g: tuple[float, ...]
    small_end_g: tuple[float, ...]
    big_end_g: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class StockChoice:
    """The parts chosen (index in the stock, in the order of the cylinders) and what they grind.

    ``at_least_g`` is what any choice grinds at least, as far as it is proven.
    """

    pistons: tuple[int, ...]
    pins: tuple[int, ...]
    rods: tuple[int, ...]
    ground_g: float
    at_least_g: float
    proven: bool
    pairing: Pairing


def choose_from_stock(
    stock: Stock,
    *,
    cylinders: Sequence[str],
    throws: Sequence[Sequence[str]],
    tolerance_g: float = 0.0,
    greatest_removal_g: Mapping[str, float] | None = None,
    seconds: float = 10.0,
) -> StockChoice:
    """Return which parts of the stock to use, and where.

    Parameters
    ----------
    stock : Stock
    cylinders : sequence of str
    throws : sequence of sequence of str
        Cylinders by throw, as in `planner.engine.matching.match.PairingRequest`.
    tolerance_g : float
        What lies within this above the least is not ground [g].
    greatest_removal_g : mapping of kind to float, optional
        What may come off one part [g]; the choice is the one with the least grinding all the same, and warns.
    seconds : float
        Time limit of the programme.

    Raises
    ------
    InputError
        If the stock has fewer parts of a kind than cylinders, or the throws do not carry the cylinders.
    """
    names = tuple(cylinders)
    for kind, masses in (("pistons", stock.piston_g), ("pins", stock.pin_g), ("rods", stock.small_end_g)):
        if len(masses) < len(names):
            raise InputError(f"{len(masses)} {kind} in stock for {len(names)} cylinders")
    if len(stock.small_end_g) != len(stock.big_end_g):
        raise InputError(f"{len(stock.small_end_g)} small ends for {len(stock.big_end_g)} big ends in stock")
    groups = tuple(tuple(throw) for throw in throws)
    check_throws(names, groups)
    walked = _walk(stock, names, groups, tolerance_g)
    bound = 0.0
    if walked.cost > 0:
        programme = _Programme(stock, names, groups, tolerance_g, at_most_g=walked.cost * UNIT_G)
        solved, bound = programme.solve(seconds)
        if solved is not None:
            pistons, pins, rods = (tuple(row) for row in solved)
            start = Arrangement(pistons, pins, rods, cost=0)
            walked = min(
                (walked, _walk(stock, names, groups, tolerance_g, start=start, steps=1)),
                key=lambda found: found.cost,
            )
    pistons, pins, rods = walked.pistons, walked.pins, walked.rods
    request = PairingRequest(
        piston_g=tuple(stock.piston_g[k] for k in pistons),
        pin_g=tuple(stock.pin_g[k] for k in pins),
        small_end_g=tuple(stock.small_end_g[k] for k in rods),
        big_end_g=tuple(stock.big_end_g[k] for k in rods),
        cylinders=names,
        throws=groups,
        tolerance_g=tolerance_g,
    )
    # the places found are the numbering here, so pairing can only improve on them
    pairing = pair_parts(request, seconds=min(2.0, seconds), greatest_removal_g=greatest_removal_g)
    place = {name: k for k, name in enumerate(names)}
    return StockChoice(
        pistons=tuple(pistons),
        pins=tuple(pins[place[each.pin]] for each in pairing.sets),
        rods=tuple(rods[place[each.rod]] for each in pairing.sets),
        ground_g=pairing.ground_g,
        at_least_g=min(bound, pairing.ground_g),
        proven=pairing.ground_g - bound <= 1e-4,
        pairing=pairing,
    )


def _walk(
    stock: Stock,
    names: tuple[str, ...],
    groups: tuple[tuple[str, ...], ...],
    tolerance_g: float,
    *,
    start: Arrangement | None = None,
    steps: int = 60_000,
) -> Arrangement:
    """Return the best of some walks of random swaps, spare parts included."""
    kinds_g = (stock.piston_g, stock.pin_g, stock.small_end_g, stock.big_end_g)
    indices = tuple(tuple(names.index(name) for name in throw) for throw in groups)
    weights = whole_weights(*kinds_g, throws=indices, tolerance_g=tolerance_g)
    best = anneal(weights, steps=steps, seed=0, start=start, move_pistons=True)
    for seed in range(1, _WALKS):
        if best.cost == 0 or steps == 1:
            break
        best = min(
            best,
            anneal(weights, steps=steps, seed=seed, move_pistons=True),
            key=lambda found: found.cost,
        )
    return best


class _Programme:
    """Variables: piston, pin and rod places (0/1), least sums, what is ground off every sum (and whether)."""

    def __init__(
        self,
        stock: Stock,
        names: tuple[str, ...],
        throws: tuple[tuple[str, ...], ...],
        tolerance_g: float,
        *,
        at_most_g: float,
    ) -> None:
        count = len(names)
        self.count, self.kinds = count, (stock.piston_g, stock.pin_g, stock.small_end_g)
        sizes = [count * len(kind) for kind in self.kinds]
        self.offsets = np.concatenate([[0], np.cumsum(sizes)])
        sums = count + len(throws)
        self.theta, self.beta = int(self.offsets[-1]), int(self.offsets[-1]) + 1
        self.ground, self.flag = self.beta + 1, self.beta + 1 + sums
        self.size = self.flag + sums
        self.rows: list[tuple[FloatArray, float, float]] = []
        for kind, masses in enumerate(self.kinds):
            for k in range(count):
                self._add({self._at(kind, k, p): 1.0 for p in range(len(masses))}, 1.0, 1.0)
            for p in range(len(masses)):
                self._add({self._at(kind, k, p): 1.0 for k in range(count)}, 0.0, 1.0)
        # masses above the lightest of their kind: small numbers solve better
        low = [min(masses) for masses in self.kinds]
        reach = sum(max(masses) - min(masses) for masses in self.kinds)
        for k in range(count):
            own = {
                self._at(kind, k, p): mass - low[kind]
                for kind, masses in enumerate(self.kinds)
                for p, mass in enumerate(masses)
            }
            self._sum_rows(own, self.theta, k, tolerance_g, reach)
        big_low = min(stock.big_end_g)
        for t, throw in enumerate(throws):
            own = {
                self._at(2, names.index(name), r): mass - big_low
                for name in throw
                for r, mass in enumerate(stock.big_end_g)
            }
            reach_t = len(throw) * (max(stock.big_end_g) - big_low)
            self._sum_rows(own, self.beta, count + t, tolerance_g, reach_t)
        self._add({self.ground + number: 1.0 for number in range(sums)}, 0.0, at_most_g)

    def _at(self, kind: int, cylinder: int, index: int) -> int:
        return int(self.offsets[kind]) + cylinder * len(self.kinds[kind]) + index

    def _add(self, terms: dict[int, float], low: float, high: float) -> None:
        row = np.zeros(self.size)
        for column, value in terms.items():
            row[column] = value
        self.rows.append((row, low, high))

    def _sum_rows(
        self, own: dict[int, float], least: int, number: int, tolerance_g: float, reach: float
    ) -> None:
        """``own`` sum is above its least by ``over``; ground = over where the flag is set."""
        above = {**own, least: -1.0}
        self._add(above, 0.0, math.inf)
        if tolerance_g == 0.0:
            self._add({**above, self.ground + number: -1.0}, -math.inf, 0.0)
            return
        self._add({**above, self.flag + number: -max(reach, 1e-9)}, -math.inf, tolerance_g)
        self._add(
            {**above, self.ground + number: -1.0, self.flag + number: max(reach, 1e-9)},
            -math.inf,
            max(reach, 1e-9),
        )

    def solve(self, seconds: float) -> tuple[list[list[int]] | None, float]:
        """Return [pistons, pins, rods] by cylinder (None: nothing found), and the least that is ground [g]."""
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_matrix

        cost = np.zeros(self.size)
        cost[self.ground : self.flag] = 1.0
        whole_numbers = np.ones(self.size)
        whole_numbers[self.theta : self.flag] = 0
        upper = np.ones(self.size)
        upper[self.theta : self.flag] = np.inf
        found: Any = milp(
            cost,
            integrality=whole_numbers,
            bounds=Bounds(np.zeros(self.size), upper),
            constraints=LinearConstraint(
                csr_matrix(np.array([row for row, _, _ in self.rows])),
                [low for _, low, _ in self.rows],
                [high for _, _, high in self.rows],
            ),
            options={"time_limit": seconds, "mip_rel_gap": 0.0},
        )
        bound = found.mip_dual_bound
        least_g = max(0.0, float(bound)) if bound is not None and math.isfinite(bound) else 0.0
        if found.x is None:
            return None, least_g
        picked = []
        for kind, masses in enumerate(self.kinds):
            table = found.x[self.offsets[kind] : self.offsets[kind + 1]].reshape(self.count, len(masses))
            picked.append([int(np.argmax(row)) for row in table])
        return picked, least_g
