"""What whole cuts can do at most, all that one counterweight carries taken together: the proof of very last resort.

Cuts that are made in part (`packing`) do a few percent more than whole ones do.  Where that decides, the linear program is
asked over all that one counterweight could carry together (`decomposition`).  What that is worth at most at given prices of
the limits is a problem of whole numbers.

It is bounded with few variables: at one angle the sections of one tool whose worth differs little are one class, with the
worth of the best (if no two of them have room above each other), and two classes are in each other's way only if all their
members are.  The classes that are part of the bound are divided, and those that could not be worth enough any more left out,
until the bound is low enough.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from planner.correction.candidates.sections import BoolArray, FloatArray, IntArray, between_deg
from planner.correction.search.decomposition import Worth, least_excess
from planner.correction.search.master import SCALE_GMM, quiet_stdout, whole_numbers
from planner.correction.search.packing import Packing, row_per_set
from planner.correction.search.sites import cliques, conflicts
from planner.correction.search.working_plan import ComplexArray, Place
from planner.records import dataclass

CLASSES = 500
"""So many classes the sections of a counterweight are put into at first."""
ROUNDS, CLASSES_AT_ONCE = 6, 1000
"""So often and so far they are divided at any prices."""
MOST_ROUNDS, MOST_CLASSES = 20, 3000
"""... and at prices that are near a proof."""
NODES = 50
GAP = 0.002
SOME_SITES = 500
NEAR_ANGLES = 2
"""A packing is sought among so many sections, of the classes chosen and of their neighbours on the dial."""
WIDER = 1.3
LEAST_WORTH = 1e-9
LEAST_PART = 0.01
FEW_MEMBERS = 2
"""Whole numbers are asked for where the program of parts has come to classes of so few."""


def least_excess_gmm(packing: Packing) -> float:
    """Return what remains above the limits in all at least, whatever is cut [g*mm]; 0: nothing is proven.

    Raises
    ------
    TimeIsUpError
        If the time is up before it is known.
    """
    assert packing.knows_all
    pool = packing.pool
    parts = [
        _Carried(packing, counterweight)
        for counterweight in dict.fromkeys(block.counterweight for block in pool.blocks)
    ]
    return least_excess(pool, parts, packing.budget)


@dataclass(frozen=True)
class _Class:
    """Sections of one tool of a block at one angle, as indices into those that count, the one of most worth first."""

    block: int
    angle: int
    members: IntArray


class _Carried:
    """What one counterweight can carry."""

    def __init__(self, packing: Packing, counterweight: int) -> None:
        self.packing, self.pool = packing, packing.pool
        self.blocks = [
            index
            for index, b in enumerate(self.pool.blocks)
            if b.counterweight == counterweight and b.relative_deg.size
        ]
        self._free = {index: self.pool.free(index, []) for index in self.blocks}
        self._apart: dict[tuple[int, int], FloatArray] = {}
        self._known: list[list[Place]] = []
        self._gain: dict[int, tuple[complex, complex]] = {}
        self._worth: dict[int, FloatArray] = {}
        self._classes: list[_Class] = []
        self._by_limit: ComplexArray = np.zeros(0, dtype=complex)

    def best(self, by_limit: ComplexArray) -> Worth:
        """Return the most that cuts together are worth where the limits pay ``by_limit``: what is found and what is proven."""
        self._by_limit = by_limit
        self._gain = {index: self.pool.gain(index, by_limit) for index in self.blocks}
        self._worth = {
            index: -self.packing.paid(index, self._gain[index], self._free[index]) for index in self.blocks
        }
        self._classes = self._divided()
        worth = Worth(0.0, [], math.inf if self._classes else 0.0)
        for places in self._known:
            worth = self._better(worth, places)
        return self._closer(worth, 0.0, ROUNDS, CLASSES_AT_ONCE)

    def sharper(self, worth: Worth, enough: float) -> Worth:
        """Return what the last prices are worth, sought until that is known to be at most ``enough`` or to be more."""
        return self._closer(worth, enough, MOST_ROUNDS, MOST_CLASSES)

    def _closer(self, worth: Worth, enough: float, rounds: int, most: int) -> Worth:
        """Return what the last prices are worth with the classes divided further."""
        not_packed: list[_Class] = []
        for _ in range(rounds):
            self.packing.budget.check()
            target = max(enough, worth.found * (1.0 + GAP))
            if worth.at_most <= target or 0.0 < enough < worth.found:
                break
            bound, chosen, could_be = self._bound(self._classes, target)
            not_packed = chosen
            worth = replace(worth, at_most=min(worth.at_most, max(bound, target)))
            if len(self._classes) > most or all(one.members.size == 1 for one in chosen):
                break
            if sum(one.members.size for one in chosen) <= SOME_SITES:
                worth, not_packed = self._better(worth, self._packed(self._near(chosen))), []
            self._classes = self._divide(self._classes, chosen, could_be > target)
        return self._better(worth, self._packed(self._near(not_packed)))

    def _better(self, worth: Worth, places: list[Place]) -> Worth:
        """Return what cuts together are worth if that is more."""
        effect: ComplexArray = sum((self.pool.contribution(place) for place in places), 0.0 * self.pool.start)
        value = -float((self._by_limit * effect).real.sum()) / SCALE_GMM
        if value <= worth.found:
            return worth
        if places not in self._known:
            self._known.append(places)
        return Worth(value, places, max(worth.at_most, value))

    def _divided(self) -> list[_Class]:
        """Return few classes of all sections that are worth something."""
        groups: list[_Class] = []
        for index in self.blocks:
            worth, tools = self._worth[index], self.packing.tools(index)
            for angle in np.flatnonzero((worth > LEAST_WORTH).any(axis=0)).tolist():
                order = np.argsort(-worth[:, angle], kind="stable")
                order = order[worth[order, angle] > LEAST_WORTH]
                groups += [
                    _Class(index, angle, order[tools[order] == tool]) for tool in np.unique(tools[order])
                ]
        widest = max((self._most(group) for group in groups), default=0.0)
        width = 0.01 * widest
        while True:
            classes = [part for group in groups for part in self._within(group, width)]
            if len(classes) <= CLASSES or width > widest:
                return classes
            width *= WIDER

    def _most(self, one: _Class) -> float:
        return float(self._worth[one.block][one.members[0], one.angle])

    def _within(self, group: _Class, width: float) -> list[_Class]:
        """Return a class in parts whose worth differs by less than a width."""
        worth = self._worth[group.block][group.members, group.angle]
        parts, first = [], 0
        while first < worth.size:
            last = max(first + 1, int(np.searchsorted(-worth, width - worth[first], side="left")))
            parts += self._one_at_most(_Class(group.block, group.angle, group.members[first:last]))
            first = last
        return parts

    def _one_at_most(self, one: _Class) -> list[_Class]:
        """Return a class in parts of which no two members can be cut: on one ray two discs may have room above each other."""
        apart = self._apart_table(one.block, one.block)[np.ix_(one.members, one.members)]
        if one.members.size == 1 or np.all(apart[~np.eye(one.members.size, dtype=bool)] > 0.0):
            return [one]
        half = one.members.size // 2
        return [
            part
            for members in (one.members[:half], one.members[half:])
            for part in self._one_at_most(_Class(one.block, one.angle, members))
        ]

    def _divide(self, classes: list[_Class], chosen: list[_Class], could_be: BoolArray) -> list[_Class]:
        """Return the classes that could be part of enough, those in halves whose likes were chosen."""
        hit: dict[int, list[int]] = {}
        for one in chosen:
            if one.members.size > 1:
                hit.setdefault(one.block, []).append(int(one.members[0]))
        new = []
        for one, counts in zip(classes, could_be.tolist(), strict=True):
            if not counts:
                continue
            if one.members.size > 1 and np.isin(hit.get(one.block, []), one.members).any():
                half = one.members.size // 2
                new += [
                    _Class(one.block, one.angle, one.members[:half]),
                    _Class(one.block, one.angle, one.members[half:]),
                ]
            else:
                new.append(one)
        return new

    def _bound(self, classes: list[_Class], target: float) -> tuple[float, list[_Class], FloatArray]:
        """Return the most that classes are worth, those that are part of it, and what each could be part of at most."""
        worth = np.array([self._most(one) for one in classes])
        first, second = np.nonzero(np.triu(self._meets(classes)))
        rows, most = self._rows(cliques(len(classes), first, second), [one.block for one in classes])
        bound, could_be, parts = _in_part(worth, rows, most)
        chosen = np.flatnonzero(parts > LEAST_PART).tolist()
        if bound > target and all(classes[one].members.size <= FEW_MEMBERS for one in chosen):
            whole, chosen = _in_whole(worth, rows, most)
            bound = min(bound, whole)
        return bound, [classes[one] for one in chosen], could_be

    def _rows(self, together: list[IntArray], blocks: list[int]) -> tuple[list[IntArray], FloatArray]:
        """Return the rows of a program: sets, and how many of each there may be."""
        most = [1.0] * len(together)
        rows = list(together)
        of = np.array(blocks)
        for index in self.packing.numbered:
            own = np.flatnonzero(of == index)
            if own.size:
                rows.append(own)
                most.append(float(self.pool.blocks[index].most_cuts))
        return rows, np.array(most)

    def _meets(self, classes: list[_Class]) -> BoolArray:
        """Return which classes are in each other's way, whichever of their members are cut."""
        meets = np.zeros((len(classes), len(classes)), dtype=bool)
        of: dict[int, list[int]] = {}
        for number, one in enumerate(classes):
            of.setdefault(one.block, []).append(number)
        kinds: dict[int, tuple[IntArray, list[IntArray]]] = {}
        for block, numbers in of.items():
            names: dict[tuple[int, ...], int] = {}
            kind = [names.setdefault(tuple(classes[n].members.tolist()), len(names)) for n in numbers]
            kinds[block] = (np.array(kind), [np.array(name) for name in names])
        for first, some in of.items():
            for second, others in of.items():
                if second < first or (first != second and not self.pool.conflicts(first, second)):
                    continue
                apart = self._apart_table(first, second)
                least = np.stack([apart[members].min(axis=0) for members in kinds[first][1]])
                least = np.stack([least[:, members].min(axis=1) for members in kinds[second][1]], axis=1)
                a, b = self.pool.blocks[first], self.pool.blocks[second]
                at, other_at = (
                    block.relative_deg[[classes[n].angle for n in numbers]]
                    for block, numbers in ((a, some), (b, others))
                )
                near = (
                    between_deg(at[:, None], other_at[None, :])
                    < least[np.ix_(kinds[first][0], kinds[second][0])]
                )
                meets[np.ix_(some, others)] |= near
                meets[np.ix_(others, some)] |= near.T
        np.fill_diagonal(meets, val=False)
        return meets

    def _apart_table(self, first: int, second: int) -> FloatArray:
        """Return the least angles between the sections that count of two blocks [deg]."""
        if (first, second) not in self._apart:
            one, two = self.packing.sections(first), self.packing.sections(second)
            columns = [self.pool.sections_apart(first, second, section)[one] for section in two.tolist()]
            self._apart[first, second] = np.stack(columns, axis=1)
        return self._apart[first, second]

    def _near(self, chosen: list[_Class]) -> list[tuple[int, int, int]]:
        """Return sections and angles near those that were chosen, the likeliest first."""
        found: dict[tuple[int, int, int], float] = {}
        for one in chosen:
            worth = self._worth[one.block]
            best = self._most(one)
            for angle in range(one.angle - NEAR_ANGLES, one.angle + NEAR_ANGLES + 1):
                if 0 <= angle < worth.shape[1]:
                    for section in one.members.tolist():
                        if worth[section, angle] > LEAST_WORTH:
                            found[one.block, section, angle] = best - float(worth[section, angle])
        return sorted(found, key=lambda each: (found[each], each))[:SOME_SITES]

    def _packed(self, near: list[tuple[int, int, int]]) -> list[Place]:
        """Return the cuts that are worth most together among some sections."""
        if not near:
            return []
        sites = [
            self.packing.best_place(index, section, angle, self._gain[index])
            for index, section, angle in near
        ]
        worth = np.array([self._worth[index][section, angle] for index, section, angle in near])
        together = cliques(len(sites), *conflicts(self.pool, sites))
        rows, most = self._rows(together, [place[0] for place in sites])
        return [sites[one] for one in _in_whole(worth, rows, most)[1]]


def _in_whole(worth: FloatArray, rows: list[IntArray], most: FloatArray) -> tuple[float, list[int]]:
    """Return the most that whole numbers are worth, as far as it is proven, and which are chosen."""
    from scipy.optimize import Bounds, LinearConstraint

    if not rows:
        return float(worth.sum()), list(range(worth.size))
    with quiet_stdout():
        answer = whole_numbers(
            -worth, np.ones(worth.size), bounds=Bounds(np.zeros(worth.size), np.ones(worth.size)),
            constraints=LinearConstraint(row_per_set(rows, worth.size), np.full(most.size, -np.inf), most),
            options={"node_limit": NODES, "mip_rel_gap": GAP},
        )  # fmt: skip
    bound = math.inf if answer.mip_dual_bound is None else -float(answer.mip_dual_bound)
    return bound, [] if answer.x is None else np.flatnonzero(np.asarray(answer.x) > 0.5).tolist()


def _in_part(
    worth: FloatArray, rows: list[IntArray], most: FloatArray
) -> tuple[float, FloatArray, FloatArray]:
    """Return the most that parts are worth together, the most that could be with each of them chosen, and the parts."""
    from scipy.optimize import linprog

    prices, parts = np.zeros(most.size), np.ones(worth.size)
    if rows:
        with quiet_stdout():
            answer = linprog(
                -worth, A_ub=row_per_set(rows, worth.size), b_ub=most, bounds=(0.0, 1.0), method="highs-ds"
            )
        if answer.status == 0:
            prices, parts = np.maximum(0.0, -np.asarray(answer.ineqlin.marginals)), np.asarray(answer.x)
    # what any prices prove, whatever the solver's rounding made of them: each is there once at most
    too_dear = row_per_set(rows, worth.size).T @ prices - worth
    proven = float(prices @ most) + float(np.maximum(0.0, -too_dear).sum())
    return proven, proven - np.maximum(0.0, too_dear), parts
