"""A plan under construction: cuts as indices into blocks, what they leave, and where one more would fit."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.correction.candidates.block import Block
from planner.correction.candidates.sections import (
    BoolArray,
    FloatArray,
    IntArray,
    between_deg,
    separation_deg,
)
from planner.correction.problem import CorrectionProblem
from planner.correction.store import content_key
from planner.frames import TwoPlanes
from planner.records import dataclass
from planner.rotor.crankshaft import FILLS

ComplexArray = NDArray[np.complex128]
Place = tuple[int, int, int]
"""One cut: block, setting, angle."""

MOST_TABLE = 60_000
"""Separations between all sections of two blocks are kept up to this size."""

_TABLES: dict[str, FloatArray] = {}
_COLUMNS: dict[tuple[str, int], FloatArray] = {}
MOST_COLUMNS = 4_000_000
"""Of larger tables the columns that were asked for are kept, up to so many numbers."""

MOST_ROOMS = 200
MOST_KEPT = 8_000_000
"""Of where cuts fit beside others so many answers are kept, and so many numbers in all."""

MOST_DEPTHS = 12
MOST_RADII = 8
"""So many depths and radii of blind face holes are enough for a fine choice of amounts: there are the products of both."""

LEAST_LEFT_GMM = 1e-6
"""What has to be left of an unbalance to count as not overshot, against rounding elsewhere."""

KEEPS_LIMIT = 1.0 - 1e-9
"""Share of a limit that counts as kept, so that rounding elsewhere can't turn a plan down."""


@dataclass(frozen=True)
class Family:
    """Settings of one tool in ascending amount, with quick answers to "the next one that fits"."""

    settings: IntArray
    size_gmm: FloatArray


@dataclass
class Room:
    """Where cuts of one block fit beside given other cuts, with what follows from it alone.

    Attributes
    ----------
    free : ndarray of bool, shape (C, A)
        Which sections fit at which angles.
    laid_out : tuple, optional
        Settings, angles (both shape (n,)) and contributions to the limits (shape (rows, n)) of all places that the
        polish looks at, once they were asked for and unless they are too many to keep.
    next_fitting : list of tuple, optional
        Per tool the next fitting positions at or after each one and before it, once they were asked for.
    """

    free: BoolArray
    laid_out: tuple[IntArray, IntArray, ComplexArray] | None = None
    next_fitting: list[tuple[IntArray, IntArray]] | None = None

    @property
    def numbers(self) -> int:
        """How many numbers are kept."""
        count = self.free.size // 8
        if self.laid_out is not None:
            count += 3 * self.laid_out[0].size + 2 * self.laid_out[2].size
        if self.next_fitting is not None:
            count += sum(after.size for after, _ in self.next_fitting)
        return count


def toward(problem: CorrectionProblem) -> ComplexArray:
    """Return each limit's unit vector to the heavy spot; 0 for limits that are kept before any cut."""
    first, second = problem.unbalance_gmm
    vectors = [complex(r.weight_1 * first + r.weight_2 * second) for r in problem.limits]
    return np.array([
        vector / abs(vector) if abs(vector) > limit.tolerance_gmm else 0.0
        for vector, limit in zip(vectors, problem.limits, strict=True)
    ], dtype=complex)  # fmt: skip


class Pool:
    """All blocks of a problem as seen from its limits.

    Parameters
    ----------
    problem : CorrectionProblem
        Limits, planes.
    unbalance_gmm : tuple of 2 complex
        What is left to correct [g*mm].
    blocks : list of Block
        What may be cut.
    share : float
        Share of the tolerances to aim at.
    undershoot : bool
        Also ask that no limit's vector ends on the other side of the shaft axis: what is left of an unbalance above
        its tolerance may not point away from it.
    """

    def __init__(
        self,
        problem: CorrectionProblem,
        unbalance_gmm: TwoPlanes[complex],
        blocks: list[Block],
        share: float = 1.0,
        undershoot: bool = False,
    ) -> None:
        self.blocks = blocks
        self.toward: ComplexArray = toward(problem) if undershoot else np.zeros(len(problem.limits), complex)
        self._one_sided = [row for row, one in enumerate(self.toward) if one != 0.0]
        self.start: ComplexArray = np.array(
            [r.weight_1 * unbalance_gmm[0] + r.weight_2 * unbalance_gmm[1] for r in problem.limits]
        )
        self.full_tolerance = np.array([max(r.tolerance_gmm, 1e-9) for r in problem.limits])
        self.tolerance = np.maximum(share * self.full_tolerance * KEEPS_LIMIT, 1e-9)
        planes = problem.planes_z_mm
        self.weight = np.array(
            [[r.weight_of_source(b.z_mm, planes) for b in blocks] for r in problem.limits]
        ).reshape(len(problem.limits), len(blocks))
        self.slope = np.array(
            [r.weight_of_source(1.0, planes) - r.weight_of_source(0.0, planes) for r in problem.limits]
        )
        self._tables: dict[tuple[int, int], FloatArray] = {}
        self._keys: dict[tuple[int, int], str] = {}
        self._families: dict[int, list[Family]] = {}
        self._phases: dict[int, ComplexArray] = {}
        self._some: dict[int, IntArray] = {}
        self._some_families: dict[int, list[Family]] = {}
        self._legal: dict[int, BoolArray] = {}
        self._rooms: dict[tuple[int, tuple[Place, ...]], Room] = {}

    @cached_property
    def cost_per_gmm(self) -> float:
        """A typical price of a g*mm, to weigh cost against what is above a limit."""
        ratios = [float(np.median(b.cost / np.abs(b.amount_gmm))) for b in self.blocks]
        return max(float(np.median(ratios)) if ratios else 1.0, 1e-6)

    def phases(self, block: int) -> ComplexArray:
        """Return ``exp(i*angle)`` of a block's dial angles in the crankshaft frame."""
        if block not in self._phases:
            b = self.blocks[block]
            self._phases[block] = np.exp(1j * np.radians(b.centre_deg + b.relative_deg))
        return self._phases[block]

    def legal(self, block: int) -> BoolArray:
        """Return which settings fit at which angles, shape (S, A)."""
        if block not in self._legal:
            self._legal[block] = self.blocks[block].legal_settings()
        return self._legal[block]

    def families(self, block: int) -> list[Family]:
        """Return the tools of a block."""
        if block not in self._families:
            b = self.blocks[block]
            size = np.abs(b.amount_gmm)
            found = []
            for number in np.unique(b.family):
                member = np.flatnonzero(b.family == number)
                order = member[np.lexsort((b.cost[member], size[member]))]
                found.append(Family(order, size[order]))
            self._families[block] = found
        return self._families[block]

    def some_settings(self, block: int) -> IntArray:
        """Return the settings that the polish looks at: all of them, but of blind face holes some depths and radii only."""
        if block not in self._some:
            b = self.blocks[block]
            keep = np.ones(b.amount_gmm.size, dtype=bool)
            if b.kind == "face hole" and b.has_offset:
                for number in np.unique(b.family):
                    own = b.family == number
                    for values, most in ((b.depth_mm, MOST_DEPTHS), (b.radius_mm, MOST_RADII)):
                        distinct = np.unique(values[own & ~np.isnan(values)])
                        if distinct.size > most:
                            some = distinct[np.linspace(0, distinct.size - 1, most).round().astype(int)]
                            keep &= ~own | np.isin(values, some)
            self._some[block] = np.flatnonzero(keep)
        return self._some[block]

    def some_families(self, block: int) -> list[Family]:
        """Return the tools of a block with the settings that the polish looks at."""
        if block not in self._some_families:
            some = self.some_settings(block)
            every = self.families(block)
            if some.size < self.blocks[block].amount_gmm.size:
                inside = np.zeros(self.blocks[block].amount_gmm.size, dtype=bool)
                inside[some] = True
                kept = [(each, inside[each.settings]) for each in every]
                every = [Family(each.settings[own], each.size_gmm[own]) for each, own in kept if own.any()]
            self._some_families[block] = every
        return self._some_families[block]

    def effect(self, place: Place) -> complex:
        """Return the effect of one cut [g*mm]."""
        block, setting, angle = place
        return complex(self.blocks[block].amount_gmm[setting] * self.phases(block)[angle])

    def row_weights(self, block: int, setting: int | IntArray) -> FloatArray:
        """Return the weights of settings in the limits, shape (rows, ...)."""
        offset = self.blocks[block].offset_mm[setting]
        return np.asarray(
            self.weight[:, block][(slice(None), *([None] * np.ndim(offset)))]
            + self.slope[(slice(None), *([None] * np.ndim(offset)))] * offset
        )

    def contribution(self, place: Place) -> ComplexArray:
        """Return what one cut adds to each limit's vector [g*mm]."""
        return np.asarray(self.row_weights(place[0], place[1]) * self.effect(place))

    def gain(self, block: int, prices: ComplexArray) -> tuple[complex, complex]:
        """Return what the limits pay for an effect of a block, and for it times its offset, at each limit's price, as vectors."""
        return complex(prices @ self.weight[:, block]), complex(prices @ self.slope)

    def residual(self, places: list[Place]) -> ComplexArray:
        """Return each limit's vector after the cuts [g*mm]."""
        total = self.start.copy()
        for place in places:
            total = total + self.contribution(place)
        return total

    def worst_share(self, places: Sequence[Place]) -> float:
        """Return the greatest share of its whole limit that any limit's vector still has after the cuts."""
        return float((np.abs(self.residual(list(places))) / self.full_tolerance).max(initial=0.0))

    def cost(self, places: list[Place]) -> float:
        """Return the cost of cuts."""
        return float(sum(self.blocks[b].cost[s] for b, s, _ in places))

    def above(self, residual: ComplexArray) -> float:
        """Return the sum of what is above the limits, and beyond the axis where that is asked for [g*mm]."""
        total = float(np.maximum(np.abs(residual) - self.tolerance, 0.0).sum())
        for row in self._one_sided:
            total += max(0.0, LEAST_LEFT_GMM - float((np.conj(self.toward[row]) * residual[row]).real))
        return total

    def kept(self, residual: ComplexArray) -> BoolArray:
        """Return whether residuals (rows first, any shape after) keep all limits."""
        by_row = (slice(None), *([None] * (residual.ndim - 1)))
        good: BoolArray = np.asarray((np.abs(residual) <= self.tolerance[by_row]).all(axis=0))
        for row in self._one_sided:
            good = good & ((np.conj(self.toward[row]) * residual[row]).real >= LEAST_LEFT_GMM)
        return good

    def one_sided(
        self, left: ComplexArray, phase: ComplexArray, block: int, low: FloatArray, high: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Return intervals of a cut's size narrowed to where no limit's vector ends beyond the axis.

        ``left`` has rows and states, ``phase`` (angles) or (states, angles): unit vectors of the cut's effect.
        """
        for row in self._one_sided:
            here = (np.conj(self.toward[row]) * left[row]).real[:, None] - LEAST_LEFT_GMM
            slope = self.weight[row, block] * (np.conj(self.toward[row]) * phase).real
            steep = np.abs(slope) > 1e-9
            end = -here / np.where(steep, slope, 1.0)
            low = np.where(steep & (slope > 0.0), np.maximum(low, end), low)
            high = np.where(steep, np.where(slope < 0.0, np.minimum(high, end), high),
                            np.where(here >= 0.0, high, -np.inf))  # fmt: skip
        return low, high

    def keeps(self, places: list[Place]) -> bool:
        """Whether all limits are kept."""
        return bool(self.kept(self.residual(places)))

    def conflicts(self, first: int, second: int) -> bool:
        """Whether cuts of two blocks could meet at all."""
        a, b = self.blocks[first], self.blocks[second]
        if a.in_half is not None and b.in_half is not None and a.in_half != b.in_half:
            return False
        return a.counterweight == b.counterweight and a.kind not in FILLS and b.kind not in FILLS

    def free(self, block: int, others: list[Place]) -> BoolArray:
        """Return which sections of a block fit at which angles beside other new cuts, shape (C, A)."""
        b = self.blocks[block]
        free = b.legal
        for other in others:
            if other[0] == block and b.most_cuts == 1:
                return np.zeros_like(free)
            if not self.conflicts(block, other[0]):
                continue
            o = self.blocks[other[0]]
            apart = between_deg(b.relative_deg, o.relative_deg[other[2]])
            needed = self._separation(block, other[0], slice(None), o.section_of[other[1]])
            free = free & (apart[None, :] >= needed[:, None])
        return free

    def room(self, block: int, others: list[Place]) -> Room:
        """Return where cuts of a block fit beside other new cuts; kept, for the same few are asked about again and again."""
        own = self.blocks[block].most_cuts == 1
        near = sorted({o for o in others if self.conflicts(block, o[0]) or (own and o[0] == block)})
        key = (block, tuple(near))
        if key not in self._rooms:
            if len(self._rooms) >= MOST_ROOMS or sum(r.numbers for r in self._rooms.values()) > MOST_KEPT:
                self._rooms.clear()
            self._rooms[key] = Room(self.free(block, near))
        return self._rooms[key]

    def apart(
        self, first: tuple[int, IntArray, IntArray], second: tuple[int, IntArray, IntArray]
    ) -> BoolArray:
        """Return whether pairs of cuts keep the wall to each other (element by element)."""
        if first[0] == second[0] and self.blocks[first[0]].most_cuts == 1:
            return np.zeros(first[1].shape, dtype=bool)
        if not self.conflicts(first[0], second[0]):
            return np.ones(first[1].shape, dtype=bool)
        a, b = self.blocks[first[0]], self.blocks[second[0]]
        needed = self._separation(first[0], second[0], a.section_of[first[1]], b.section_of[second[1]])
        return np.asarray(between_deg(a.relative_deg[first[2]], b.relative_deg[second[2]]) >= needed)

    def separation(self, first: int, setting_1: int, second: int, setting_2: int) -> float:
        """Return the least angle between cuts of two blocks [deg]."""
        return float(self.separations(first, np.array([setting_1]), second, setting_2)[0])

    def separations(self, first: int, settings_1: IntArray, second: int, setting_2: int) -> FloatArray:
        """Return the least angles between cuts of one block and one of another [deg]."""
        a, b = self.blocks[first], self.blocks[second]
        other = np.full(settings_1.shape, b.section_of[setting_2])
        return self._separation(first, second, a.section_of[settings_1], other)

    def sections_apart(self, first: int, second: int, section: int) -> FloatArray:
        """Return the least angles between all sections of one block and a section of another [deg]."""
        return self._separation(first, second, slice(None), section)

    def _separation(
        self, first: int, second: int, sections_1: IntArray | slice, sections_2: IntArray | int
    ) -> FloatArray:
        """Return the least angles between sections of two blocks, from a table where that is small [deg]."""
        a, b = self.blocks[first], self.blocks[second]
        if len(a.sections) * len(b.sections) > MOST_TABLE:
            if isinstance(sections_1, slice) and np.ndim(sections_2) == 0:
                return self._column(first, second, int(sections_2))
            needed = separation_deg(a.sections.take(sections_1), b.sections.take(sections_2), a.wall_mm)
            beside = _beside_along_shaft(a, b, sections_1, sections_2)
            return needed if beside is None else np.where(beside, 0.0, needed)
        if (first, second) not in self._tables:
            key = self._key(first, second)
            if key not in _TABLES:
                if len(_TABLES) > 200:
                    _TABLES.clear()
                table = separation_deg(
                    a.sections.take((slice(None), None)), b.sections.take((None, slice(None))), a.wall_mm
                )
                beside = _beside_along_shaft(a, b, (slice(None), None), (None, slice(None)))
                _TABLES[key] = table if beside is None else np.where(beside, 0.0, table)
            self._tables[first, second] = _TABLES[key]
        return np.asarray(self._tables[first, second][sections_1, sections_2])

    def _key(self, first: int, second: int) -> str:
        if (first, second) not in self._keys:
            a, b = self.blocks[first], self.blocks[second]
            self._keys[first, second] = content_key(
                a.sections.radius_mm, a.sections.angle_rad, a.sections.grow_mm,
                b.sections.radius_mm, b.sections.angle_rad, b.sections.grow_mm, a.wall_mm,
                *(() if a.extent_mm is None or b.extent_mm is None else (a.extent_mm, b.extent_mm)),
            )  # fmt: skip
        return self._keys[first, second]

    def _column(self, first: int, second: int, section: int) -> FloatArray:
        """Return the least angles between all sections of one block and one section of another [deg]."""
        key = (self._key(first, second), section)
        if key not in _COLUMNS:
            a, b = self.blocks[first], self.blocks[second]
            if len(_COLUMNS) * len(a.sections) > MOST_COLUMNS:
                _COLUMNS.clear()
            needed = separation_deg(a.sections, b.sections.take(section), a.wall_mm)
            beside = _beside_along_shaft(a, b, slice(None), section)
            _COLUMNS[key] = needed if beside is None else np.where(beside, 0.0, needed)
        return _COLUMNS[key]

    def legal_plan(self, places: list[Place]) -> bool:
        """Whether all cuts fit beside each other."""
        for index, place in enumerate(places):
            if not self.legal(place[0])[place[1], place[2]]:
                return False
            for other in places[:index]:
                one = (place[0], np.array([place[1]]), np.array([place[2]]))
                two = (other[0], np.array([other[1]]), np.array([other[2]]))
                if not self.apart(one, two)[0]:
                    return False
        return True


def _beside_along_shaft(a: Block, b: Block, sections_1: Any, sections_2: Any) -> BoolArray | None:
    """Return which sections of two blocks are apart along the shaft by the wall; None where that is of no account."""
    if a.extent_mm is None or b.extent_mm is None:
        return None
    low_1, high_1 = a.extent_mm[:, 0][sections_1], a.extent_mm[:, 1][sections_1]
    low_2, high_2 = b.extent_mm[:, 0][sections_2], b.extent_mm[:, 1][sections_2]
    gap = np.maximum(low_2 - high_1, low_1 - high_2)
    return np.asarray(gap >= a.wall_mm - 1e-9)
