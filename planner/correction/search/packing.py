"""What all cuts together can do at most when no two of them stand on the same metal: the proof of last resort.

Seen along the shaft every cut's section grown by half a wall holds any point of the counterweight for itself: at most one of
the cuts that are made covers it.  Asked of some points only, and with cuts that may be made in part, this is a linear
program over everything that could be cut.  What it leaves above the limits every plan leaves.

There are too many cuts to write all of them down.  The program is solved over a few; its prices of the points and of
the limits tell which others would pay (all of them are looked at), and those join it, as do points that are covered
more than once.  At every step the prices alone give a bound that holds for all cuts, solved to the end or not: each cut
costs at least what its points are priced at, and where one would still pay, its points are made dearer by what it would.

Cuts that may stand on one place, as seen along the shaft, are told apart by layers: rim holes of different rows, and
blind holes of the two halves of the thickness.  Fills and plugs take up no place; each of their holes is filled once.

The proof that too much remains is `room_proof`.  Asked for the fewest cuts instead, the same program bounds their number, and
the cuts that join it are those that plans of many cuts are made of (`sites`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from planner.correction.budget import Budget
from planner.correction.candidates.sections import (
    BoolArray,
    FloatArray,
    IntArray,
    disc_sections,
    separation_deg,
)
from planner.correction.search.growing_program import GrowingProgram
from planner.correction.search.master import SCALE_GMM
from planner.correction.search.working_plan import ComplexArray, Place, Pool
from planner.records import dataclass
from planner.rotor.crankshaft import FILLS

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

RING_MM = 2.0
POINTS_DEG = 0.5
"""How near to each other points are that may be asked about."""
FIRST_RINGS_MM, FIRST_POINTS = 6.0, 10
"""So far from each other are the rings, and so many of them from each other the points, that are asked about first."""
DIRECTIONS = 32
ROUNDS = 40
ITERATIONS = 20_000
"""A program that took so many in all is left as it is: near the limits of what can be done each round takes longer."""
MOST_POINTS = 300
MOST_COLUMNS = 80
"""So many points per counterweight, and so many cuts per block, join the program at once."""
FIRST_ANGLES = 10
FIRST_SETTINGS = 6
TOO_OFTEN = 1.02
"""A point that is covered so often joins the program."""
EPSILON = 1e-7
EDGE_DEG = 1e-6
_MOST_TOGETHER = 2_000_000
_MANY = 100


@dataclass(frozen=True)
class _Region:
    """The points of one counterweight: rings, angles around (from its centre line), layers; ids from ``first`` on."""

    rings_mm: FloatArray
    around: int
    layers: int
    first: int

    @property
    def count(self) -> int:
        return self.layers * self.rings_mm.size * self.around


@dataclass(frozen=True)
class _Kind:
    """One block as the program sees it: where its sections reach along the rings, in which layers, which settings count."""

    half_rad: FloatArray
    """Per section and ring how far to either side of its ray it covers, negative: not at all."""
    layers: tuple[int, ...]
    settings: IntArray
    """Settings ordered by section; ``starts`` says where each section's begin."""
    starts: IntArray
    sections: IntArray


@dataclass
class Program:
    """The cuts and points that take part, and what is asked: each cut costs so much, and each kg*mm above a limit."""

    columns: list[Place]
    covers: list[IntArray]
    effects: list[ComplexArray]
    asked: BoolArray
    start: ComplexArray
    free: list[BoolArray]
    """Per block which sections fit at which angles."""
    per_cut: float
    per_excess: float
    row_of: IntArray
    """Which row of the linear program each point has, -1: none yet."""
    linear: GrowingProgram


@dataclass(frozen=True)
class Prices:
    """What points, the limits' directions (limit by limit) and the numbers of blocks that have one cost."""

    points: FloatArray
    limits: FloatArray
    numbers: FloatArray

    def toward(self, other: Prices, part: float) -> Prices:
        """Return the prices a part of the way toward others."""
        return Prices(
            self.points + part * (other.points - self.points),
            self.limits + part * (other.limits - self.limits),
            self.numbers + part * (other.numbers - self.numbers),
        )


@dataclass(frozen=True)
class Counted:
    """What counted at last in a program about everything that can be cut: another one may begin with it."""

    cuts: Sequence[Place]
    asked: BoolArray
    regions: Mapping[int, _Region]
    """Whose points these are, counterweight by counterweight."""


@dataclass(frozen=True)
class Solved:
    """The program's value, the parts of the cuts and what each costs too much, and the prices."""

    value: float
    parts: FloatArray
    too_dear: FloatArray
    prices: Prices


class Packing:
    """The program for one problem.

    Parameters
    ----------
    pool : Pool
        Blocks, limits and what is left to correct.
    budget : Budget
        The outer stop.
    points_deg, rings_mm : float, optional
        How near to each other the points are along a ring, and the rings.
    """

    def __init__(
        self, pool: Pool, budget: Budget, points_deg: float = POINTS_DEG, rings_mm: float = RING_MM
    ) -> None:
        self.points_deg, self.rings_mm = points_deg, rings_mm
        self.pool = pool
        self.budget = budget
        self._regions: dict[int, _Region] = {}
        self._kinds: list[_Kind] = []
        self.points = 0
        for counterweight in dict.fromkeys(block.counterweight for block in pool.blocks):
            self._lay_out(counterweight)
        self._kinds = [self._kind_of(index) for index in range(len(pool.blocks))]
        self.numbered = [index for index, b in enumerate(pool.blocks) if b.most_cuts < _MANY]
        self.most_of_numbered = np.array([float(pool.blocks[index].most_cuts) for index in self.numbered])
        self.knows_all = knows_all(pool)
        self._weights = np.concatenate([
            np.tile(np.repeat(region.rings_mm, region.around), region.layers)
            for region in self._regions.values()
        ])  # fmt: skip
        self._areas = [self._of_points(index, self._weights) for index in range(len(pool.blocks))]
        around = 2.0 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
        self._around = np.exp(1j * around)
        self._known: Program | None = None
        """The last program of the whole crankshaft: other questions begin with the cuts and points that joined it."""

    def _lay_out(self, counterweight: int) -> None:
        blocks = [b for b in self.pool.blocks if b.counterweight == counterweight]
        reach = [b.sections.radius_mm.max() + b.sections.grow_mm.max() for b in blocks]
        outer = float(max(reach))
        rings = np.arange(0.5 * self.rings_mm, outer, self.rings_mm)
        layers = len(self._rows(counterweight)) * len(self._halves(counterweight))
        region = _Region(rings, round(360.0 / self.points_deg), layers, self.points)
        self._regions[counterweight] = region
        self.points += region.count

    def _rows(self, counterweight: int) -> list[float | None]:
        rows = {
            float(b.from_middle_mm[0])
            for b in self.pool.blocks
            if b.counterweight == counterweight and b.extent_mm is not None and b.from_middle_mm is not None
        }
        return sorted(rows) or [None]  # type: ignore[return-value]

    def _halves(self, counterweight: int) -> tuple[str | None, ...]:
        some = any(b.counterweight == counterweight and b.in_half is not None for b in self.pool.blocks)
        return ("front", "rear") if some else (None,)

    def _kind_of(self, index: int) -> _Kind:
        b = self.pool.blocks[index]
        region = self._regions[b.counterweight]
        half = np.full((len(b.sections), region.rings_mm.size), -1.0)
        disc = bool(np.all(b.sections.angle_rad == 0.0))
        if b.kind not in FILLS and (disc or b.kind == "rim hole"):
            # on a ring a disc covers an arc about its ray, and a hole from the rim too, as far as its mouth
            points = disc_sections(radius_mm=region.rings_mm, diameter_mm=np.zeros(region.rings_mm.size))
            apart = separation_deg(
                b.sections.take((slice(None), None)), points.take((None, slice(None))), 0.5 * b.wall_mm
            )
            mouth = (b.sections.radius_mm[:, 0] * np.cos(b.sections.angle_rad[:, 0]))[:, None]
            inside = (apart > 2.0 * EDGE_DEG) & (disc | (region.rings_mm[None, :] <= mouth))
            half = np.where(inside, np.radians(np.minimum(apart, 180.0) - EDGE_DEG), -1.0)
        rows, row = self._rows(b.counterweight), None
        if b.extent_mm is not None and b.from_middle_mm is not None:
            row = float(b.from_middle_mm[0])
        halves = self._halves(b.counterweight)
        layers = tuple(
            number * len(halves) + side
            for number, one in enumerate(rows)
            for side, name in enumerate(halves)
            if (row is None or one == row) and (b.in_half is None or b.in_half == name)
        )
        order = np.argsort(b.section_of, kind="stable")
        if not b.has_offset:  # of one section the greatest effect does most
            size = np.abs(b.amount_gmm[order])
            order = order[np.lexsort((-size, b.section_of[order]))]
            order = order[np.unique(b.section_of[order], return_index=True)[1]]
        sections, starts = np.unique(b.section_of[order], return_index=True)
        return _Kind(half, layers, order, starts, sections)

    def covered(self, place: Place) -> IntArray:
        """Return the ids of the points that a cut covers."""
        index, setting, angle = place
        b, kind = self.pool.blocks[index], self._kinds[index]
        region = self._regions[b.counterweight]
        step = math.radians(self.points_deg)
        half, at = kind.half_rad[b.section_of[setting]], math.radians(b.relative_deg[angle])
        first = np.ceil((at - half) / step).astype(np.int64)
        last = np.minimum(np.floor((at + half) / step).astype(np.int64), first + region.around - 1)
        found = []
        for ring in np.flatnonzero((half >= 0.0) & (last >= first)).tolist():
            here = np.arange(first[ring], last[ring] + 1) % region.around
            found += [
                region.first + (layer * region.rings_mm.size + ring) * region.around + here
                for layer in kind.layers
            ]
        return np.concatenate(found) if found else np.zeros(0, dtype=np.int64)

    def room_prices(self, solved: Solved) -> list[tuple[int, float]]:
        """Return each counterweight, and what all of its points are worth together at a solution."""
        return [
            (counterweight, float(solved.prices.points[region.first : region.first + region.count].sum()))
            for counterweight, region in self._regions.items()
        ]

    def rows_of(self, program: Program, places: Sequence[Place]) -> csr_matrix:
        """Return which of the points that a program asks about some cuts cover, where several do: a row per point."""
        points = np.flatnonzero(program.row_of >= 0)
        points = points[np.argsort(program.row_of[points])]
        covers = row_per_set([self.covered(place) for place in places], self.points)
        rows = covers.T.tocsr()[points]
        return rows[np.flatnonzero(np.diff(rows.indptr) > 1)]

    def _of_points(self, index: int, points: FloatArray) -> FloatArray:
        """Return the sum over the points that each section covers at each angle."""
        b, kind = self.pool.blocks[index], self._kinds[index]
        region = self._regions[b.counterweight]
        shape = (region.layers, region.rings_mm.size, region.around)
        own = points[region.first : region.first + region.count].reshape(shape)[list(kind.layers)].sum(axis=0)
        sums = np.concatenate([np.zeros((own.shape[0], 1)), np.cumsum(np.tile(own, (1, 3)), axis=1)], axis=1)
        turn = region.around
        angles = np.arange(b.relative_deg.size)
        cost = np.zeros((kind.sections.size, angles.size))
        rings = np.flatnonzero(own.any(axis=1))
        some = max(1, _MOST_TOGETHER // max(1, angles.size * max(1, rings.size)))
        step = math.radians(self.points_deg)
        at = np.radians(b.relative_deg)[None, :, None]
        for begin in range(0, kind.sections.size if rings.size else 0, some):
            part = slice(begin, begin + some)
            half = kind.half_rad[kind.sections[part]][:, None, rings]
            first = np.ceil((at - half) / step).astype(np.int64)
            last = np.floor((at + half) / step).astype(np.int64)
            last = np.where(half < 0.0, first - 1, np.minimum(last, first + turn - 1))
            ring = rings[None, None, :]
            cost[part] = (sums[ring, last + 1 + turn] - sums[ring, first + turn]).sum(axis=2)
        return cost

    def paid(self, index: int, gain: tuple[complex, complex], free: BoolArray) -> FloatArray:
        """Return what the limits ask for each section at each angle, negative: pay, with its best setting."""
        b, kind = self.pool.blocks[index], self._kinds[index]
        angles = np.arange(b.relative_deg.size)
        phase = self.pool.phases(index)
        one, two = (gain[0] * phase).real, (gain[1] * phase).real
        rows = max(1, _MOST_TOGETHER // max(1, angles.size))
        paid = np.full((kind.sections.size, angles.size), np.inf)
        ends = np.append(kind.starts, kind.settings.size)
        begin = 0
        while begin < kind.sections.size:
            end = max(begin + 1, int(np.searchsorted(ends, ends[begin] + rows, side="right")) - 1)
            settings = kind.settings[ends[begin] : ends[end]]
            amount, offset = b.amount_gmm[settings], b.offset_mm[settings]
            value = amount[:, None] * one[None, :] + (amount * offset)[:, None] * two[None, :]
            paid[begin:end] = np.minimum.reduceat(value, ends[begin:end] - ends[begin], axis=0)
            begin = end
        paid[~free[kind.sections]] = np.inf
        return np.asarray(paid / SCALE_GMM)

    def sections(self, index: int) -> IntArray:
        """Return the sections of a block that some cut has."""
        return self._kinds[index].sections

    def tools(self, index: int) -> FloatArray:
        """Return the tool of each of these sections [mm]."""
        kind = self._kinds[index]
        return self.pool.blocks[index].tool_mm[kind.settings[kind.starts]]

    def best_place(self, index: int, section: int, angle: int, gain: tuple[complex, complex]) -> Place:
        """Return the cut of one of these sections that the limits pay most for."""
        return (index, self._setting(index, int(self.sections(index)[section]), angle, gain), angle)

    def _gain(self, index: int, limits: FloatArray) -> tuple[complex, complex]:
        """Return what the limits pay for an effect of a block, and for it times its offset, as vectors."""
        prices = (limits.reshape(-1, DIRECTIONS) * np.conj(self._around)[None, :]).sum(axis=1)
        return self.pool.gain(index, prices)

    def _setting(self, index: int, section: int, angle: int, gain: tuple[complex, complex]) -> int:
        """Return the setting of a section that the limits pay most for at an angle."""
        b = self.pool.blocks[index]
        settings = np.flatnonzero(b.section_of == section)
        phase = self.pool.phases(index)[angle]
        value = b.amount_gmm[settings] * ((gain[0] + gain[1] * b.offset_mm[settings]) * phase).real
        return int(settings[int(np.argmin(value))])

    def first_cuts(self) -> list[Place]:
        """Return some cuts of each block to begin with."""
        places: list[Place] = []
        for index, b in enumerate(self.pool.blocks):
            size = np.abs(b.amount_gmm)
            legal = self.pool.legal(index)
            angles = np.unique(
                np.linspace(0, b.relative_deg.size - 1, min(FIRST_ANGLES, b.relative_deg.size)).astype(int)
            )
            for angle in angles.tolist():
                fitting = np.flatnonzero(legal[:, angle])
                fitting = fitting[np.argsort(-size[fitting], kind="stable")]
                some = np.unique(
                    np.linspace(0, fitting.size - 1, min(FIRST_SETTINGS, fitting.size)).astype(int)
                )
                places += [(index, int(setting), angle) for setting in fitting[some].tolist()]
        return places

    def first_points(self) -> BoolArray:
        """Return some points to begin with, wide apart."""
        asked = np.zeros(self.points, dtype=bool)
        for region in self._regions.values():
            shape = (region.layers, region.rings_mm.size, region.around)
            own = asked[region.first : region.first + region.count].reshape(shape)
            own[:, 1 :: max(1, round(FIRST_RINGS_MM / self.rings_mm)), ::FIRST_POINTS] = True
        return asked

    def counted(self, cuts: Sequence[Place], asked: BoolArray) -> Counted:
        """Return cuts and points of a program for another one to begin with."""
        return Counted(cuts, asked, self._regions)

    def same_points(self, counted: Counted) -> BoolArray:
        """Return the points that stand where those are which another program about the same crankshaft asks about."""
        found = np.zeros(self.points, dtype=bool)
        for counterweight, region in self._regions.items():
            its = counted.regions[counterweight]
            own = counted.asked[its.first : its.first + its.count]
            layer, ring, turn = np.nonzero(own.reshape(its.layers, its.rings_mm.size, its.around))
            # the ring that the other's ring lies on
            near = np.minimum((its.rings_mm[ring] / self.rings_mm).astype(np.int64), region.rings_mm.size - 1)
            found[region.first + (layer * region.rings_mm.size + near) * region.around + turn] = True
        return found

    def program(
        self,
        *,
        per_cut: float = 0.0,
        per_excess: float = 1.0,
        beside: Sequence[Place] = (),
        where: set[int] | None = None,
        more: Sequence[Place] = (),
        points: BoolArray | None = None,
    ) -> Program:
        """Return the program that a few cuts take part in.

        Parameters
        ----------
        per_cut, per_excess : float
            What each cut costs, and each kg*mm above a limit.
        beside : sequence of Place
            Cuts that are made in any case; the others fit beside them.
        where : set of int, optional
            The counterweights of the others; None: any.
        more : sequence of Place
            Cuts that take part too.
        points : array of bool, optional
            Points that are asked about too.
        """
        pool = self.pool
        free = [
            pool.free(index, list(beside))
            if where is None or block.counterweight in where
            else np.zeros_like(block.legal)
            for index, block in enumerate(pool.blocks)
        ]
        places = self.first_cuts() if self._known is None else self._known.columns
        asked = (self.first_points() if self._known is None else self._known.asked).copy()
        if points is not None:
            asked |= points
        for counterweight, region in self._regions.items():
            if where is not None and counterweight not in where:
                asked[region.first : region.first + region.count] = False
        start = pool.residual(list(beside))
        row_of = np.full(self.points, -1)
        linear = self._limits_alone(start, per_excess)
        program = Program([], [], [], asked, start, free, per_cut, per_excess, row_of, linear)
        some = dict.fromkeys([*more, *places])
        self._join(program, self.fitting(some, free))
        if not beside and where is None:
            self._known = program
        return program

    def fitting(self, places: Iterable[Place], free: list[BoolArray]) -> list[Place]:
        """Return the cuts whose sections are free at their angles."""
        blocks = self.pool.blocks
        return [(b, s, a) for b, s, a in places if free[b][blocks[b].section_of[s], a]]

    def _join(self, program: Program, places: list[Place]) -> None:
        program.columns = program.columns + places
        program.covers = program.covers + [self.covered(place) for place in places]
        program.effects = program.effects + [self.pool.contribution(place) for place in places]

    def worked_out(
        self, program: Program, rounds: int = ROUNDS, iterations: int = ITERATIONS, *, bounded: bool = True
    ) -> tuple[float, Solved | None]:
        """Return what the program costs at least, as far as it is proven, and its last solution; cuts and points join it.

        Nothing is proven unless it is ``bounded``.
        """
        best, solved = 0.0, None
        for _ in range(rounds):
            self.budget.check()
            new_solution = self._solve(program)
            if new_solution is None:
                break
            solved = new_solution
            bound, new = self.priced(
                solved.prices, program.start, program.free, program.per_cut, bounded=bounded
            )
            best = max(best, bound)
            seen = self.too_often(solved.parts, program.covers)
            seen[program.asked] = False
            known = set(program.columns)
            fresh = [place for place in dict.fromkeys(new) if place not in known]
            if (solved.value <= EPSILON and not seen.any()) or (not fresh and not seen.any()):
                break
            if program.linear.iterations > iterations:
                break
            program.asked = program.asked | seen
            self._join(program, fresh)
        return best, solved

    def priced(
        self,
        prices: Prices,
        start: ComplexArray,
        free: list[BoolArray],
        per_cut: float = 0.0,
        *,
        bounded: bool = True,
        per_area: bool = False,
    ) -> tuple[float, list[Place]]:
        """Return what prices alone prove, of all cuts, and the cuts that would pay at them.

        Parameters
        ----------
        prices : Prices
            Any from 0 on; those of one limit's directions together no more than what is above it costs.
        start : array of complex
            What is left to correct, limit by limit [g*mm].
        free : list of array of bool
            Per block which sections fit at which angles.
        per_cut : float
            What each cut costs.
        bounded : bool
            Whether to look for what is proven; 0 if not.
        per_area : bool
            Return those too that would pay most for the room they take.
        """
        bound = -float(self.left_by_limits(start) @ prices.limits) - float(prices.points.sum())
        bound -= float(self.most_of_numbered @ prices.numbers)
        new: list[Place] = []
        dearer = np.zeros(self.points)
        for index in range(len(self.pool.blocks)):
            if not free[index].any():
                continue
            gain = self._gain(index, prices.limits)
            cost = self._of_points(index, prices.points) + self.paid(index, gain, free[index]) + per_cut
            if index in self.numbered:
                cost += float(prices.numbers[self.numbered.index(index)])
            least = float(cost.min(initial=np.inf))
            if least < 0.0 and index in self.numbered:
                bound += least * self.pool.blocks[index].most_cuts
            elif least < 0.0 and bounded:
                self._raise(dearer, index, cost)
            if least < -EPSILON:
                new += self._paying(index, cost, gain)
                areas = self._areas[index]
                if per_area and areas.any():
                    new += self._paying(index, cost * float(areas.max()) / np.maximum(areas, 1.0), gain)
        return (bound - float(dearer @ self._weights) if bounded else 0.0), new

    def _raise(self, dearer: FloatArray, index: int, cost: FloatArray) -> None:
        """Raise what the points cost more for each piece of their area until no cut of a block would pay any more.

        What a cut still pays its points share by their areas.
        """
        from scipy.ndimage import maximum_filter1d

        b, kind, areas = self.pool.blocks[index], self._kinds[index], self._areas[index]
        region = self._regions[b.counterweight]
        if np.any((cost < 0.0) & (areas <= 0.0)):
            dearer[region.first] = np.inf  # it covers nothing that could be made dearer
            return
        lacking = np.where(cost < 0.0, -cost / np.maximum(areas, EPSILON), 0.0)
        own = dearer[region.first : region.first + region.count]
        own = own.reshape(region.layers, region.rings_mm.size, region.around)
        at = b.relative_deg / self.points_deg
        middle = np.round(at).astype(np.int64)
        beside = float(np.abs(at - middle).max())
        paying = np.flatnonzero(lacking.any(axis=1))
        half = np.degrees(kind.half_rad[kind.sections[paying]]) / self.points_deg
        reach = np.where(half < 0.0, -1, np.floor(half + beside + EPSILON)).astype(np.int64)
        for ring in np.flatnonzero((reach >= 0).any(axis=0)).tolist():
            most = np.zeros(region.around)
            for points in np.unique(reach[:, ring]).tolist():
                if points >= 0:
                    here = np.zeros(region.around)
                    lack = lacking[paying[reach[:, ring] == points]].max(axis=0)
                    np.maximum.at(here, middle % region.around, lack)
                    size = min(2 * points + 1, region.around)
                    most = np.maximum(most, maximum_filter1d(here, size, mode="wrap"))
            for layer in kind.layers:
                own[layer, ring] = np.maximum(own[layer, ring], most)

    def left_by_limits(self, start: ComplexArray) -> FloatArray:
        """Return what the limits leave in each of their directions, limit by limit [kg*mm]."""
        around = (np.conj(self._around)[None, :] * start[:, None]).real
        return np.asarray((self.pool.full_tolerance[:, None] - around).ravel() / SCALE_GMM)

    def by_direction(self, effects: Sequence[ComplexArray]) -> FloatArray:
        """Return what cuts do in each direction of each limit [kg*mm], a row per cut."""
        limits = self.pool.start.size
        effect = np.array(effects).reshape(len(effects), limits) / SCALE_GMM
        turned = (effect[:, :, None] * np.conj(self._around)[None, None, :]).real
        return np.asarray(turned.reshape(len(effects), limits * DIRECTIONS))

    def _solve(self, program: Program) -> Solved | None:
        """Return the program's solution; None if there is none."""
        limits = self.pool.start.size
        bends = limits * DIRECTIONS
        columns = program.linear.columns - limits
        self._add_points(program, columns)
        self._add_columns(program, columns)
        best = program.linear.solve(self.budget.left)
        if best is None:
            return None
        points = np.zeros(self.points)
        there = np.flatnonzero(program.row_of >= 0)
        points[there] = best.prices[program.row_of[there]]
        by_limit = counted_once(best.prices[:bends].reshape(limits, DIRECTIONS), program.per_excess)
        prices = Prices(points, by_limit.ravel(), best.prices[bends : bends + len(self.numbered)])
        return Solved(best.value, best.amounts[limits:], best.too_dear[limits:], prices)

    def _limits_alone(self, start: ComplexArray, per_excess: float) -> GrowingProgram:
        """Return the linear program without any cut: rows of the limits' directions and of numbers, columns of what is above."""
        limits = start.size
        nothing = np.zeros(0, dtype=np.int64)
        linear = GrowingProgram()
        linear.add_rows(
            np.append(self.left_by_limits(start), self.most_of_numbered), nothing, nothing, np.zeros(0)
        )
        above = np.repeat(np.arange(limits), DIRECTIONS)
        linear.add_columns(
            np.full(limits, per_excess), above, np.arange(above.size), np.full(above.size, -1.0)
        )
        return linear

    def _add_points(self, program: Program, columns: int) -> None:
        """Add the points that were not asked about before to the program that has so many cuts."""
        new = np.flatnonzero(program.asked & (program.row_of < 0))
        first = program.linear.rows
        program.row_of[new] = first + np.arange(new.size)
        covers = program.covers[:columns]
        column = np.repeat(np.arange(columns), [cover.size for cover in covers])
        row = program.row_of[np.concatenate(covers)] if covers else np.zeros(0, dtype=np.int64)
        fresh = row >= first
        program.linear.add_rows(
            np.ones(new.size),
            row[fresh] - first,
            self.pool.start.size + column[fresh],
            np.ones(int(fresh.sum())),
        )

    def _add_columns(self, program: Program, columns: int) -> None:
        """Add the cuts that joined after the first so many."""
        new = program.columns[columns:]
        if not new:
            return
        bends = self.pool.start.size * DIRECTIONS
        covers = program.covers[columns:]
        column = np.repeat(np.arange(len(new)), [cover.size for cover in covers])
        row = program.row_of[np.concatenate(covers)]
        there = row >= 0
        counted = [one for one, place in enumerate(new) if place[0] in self.numbered]
        of_number = [bends + self.numbered.index(new[one][0]) for one in counted]
        turned = self.by_direction(program.effects[columns:])
        program.linear.add_columns(
            np.full(len(new), program.per_cut),
            np.concatenate([np.repeat(np.arange(len(new)), bends), column[there], np.array(counted, dtype=np.int64)]),
            np.concatenate([
                np.tile(np.arange(bends), len(new)), row[there], np.array(of_number, dtype=np.int64)
            ]),
            np.concatenate([turned.ravel(), np.ones(int(there.sum()) + len(counted))]),
        )  # fmt: skip

    def _paying(self, index: int, cost: FloatArray, gain: tuple[complex, complex]) -> list[Place]:
        """Return the cuts of a block that pay most: of every tool one per angle, and the most of these."""
        kind = self._kinds[index]
        tools = self.tools(index)
        found: list[tuple[float, int, int]] = []
        for tool in np.unique(tools):
            own = np.flatnonzero(tools == tool)
            best = own[cost[own].argmin(axis=0)]
            least = cost[best, np.arange(best.size)]
            paying = np.flatnonzero(least < -EPSILON).tolist()
            found += [(float(least[angle]), int(kind.sections[best[angle]]), angle) for angle in paying]
        found.sort()
        return [
            (index, self._setting(index, section, angle, gain), angle)
            for _, section, angle in found[:MOST_COLUMNS]
        ]

    def too_often(self, parts: FloatArray, covers: list[IntArray]) -> BoolArray:
        """Return which points are covered more than once, of each counterweight those that are so most."""
        covered = np.zeros(self.points)
        for share, cover in zip(parts.tolist(), covers, strict=False):
            if share > EPSILON:
                covered[cover] += share
        found = np.zeros(self.points, dtype=bool)
        for region in self._regions.values():
            own = covered[region.first : region.first + region.count]
            rings = own.reshape(-1, region.around)
            # beside each other points say much the same: of those next to one another the first that is covered most
            peak = (rings > np.roll(rings, 1, axis=1)) & (rings >= np.roll(rings, -1, axis=1))
            peak[np.arange(rings.shape[0]), rings.argmax(axis=1)] = True
            often = np.flatnonzero(peak.ravel() & (own > TOO_OFTEN))
            found[region.first + often[np.argsort(-own[often], kind="stable")[:MOST_POINTS]]] = True
        return found


def knows_all(pool: Pool) -> bool:
    """Whether points and numbers bound everything that can be cut: how many fills there may be is known."""
    return all(b.kind not in FILLS or b.most_cuts < _MANY for b in pool.blocks)


def row_per_set(sets: Sequence[IntArray], count: int) -> csr_matrix:
    """Return which of so many columns are in which sets, a row for each set."""
    from scipy.sparse import csr_matrix

    row = np.repeat(np.arange(len(sets)), [each.size for each in sets])
    column = np.concatenate(sets) if sets else np.zeros(0, dtype=np.int64)
    return csr_matrix((np.ones(row.size), (row, column)), shape=(len(sets), count))


def counted_once(by_limit: FloatArray, per_excess: float = 1.0) -> FloatArray:
    """Return the prices of each limit's directions; what is above it counts once, whatever the solver's rounding made of them."""
    return np.asarray(by_limit / np.maximum(1.0, by_limit.sum(axis=1) / per_excess)[:, None])
