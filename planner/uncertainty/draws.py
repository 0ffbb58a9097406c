"""Draws of what a plan leaves: every draw with its own errors (which of them are shared: see `planner.uncertainty.odds`)."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.frames import TwoPlanes
from planner.records import dataclass
from planner.rotor.crankshaft import Throw
from planner.rotor.limits import LimitRow
from planner.rotor.vectors import plane_shares, vector_gmm
from planner.uncertainty.error_model import ErrorModel
from planner.uncertainty.uncertain_cut import UncertainCut

Floats = NDArray[np.float32]
Array = NDArray[np.float64]

CHUNK = 16_384
"""Draws that are worked on together."""


@dataclass(frozen=True, kw_only=True)
class Question:
    """Which plan, on which reading.

    Attributes
    ----------
    cuts : sequence of UncertainCut
        The cuts still to be made.
    made : sequence of UncertainCut
        The cuts made since the reading.
    reading_gmm : sequence of 2 complex
        What the machine read, in the crankshaft frame [g*mm]; carries the reading's errors.
    planes_z_mm : tuple of 2 floats
        The reading planes [mm].
    errors : ErrorModel
        Standard uncertainties and biases.
    shift_gmm : sequence of 2 complex
        What is added to the reading and known well (bobs, mounted parts, known errors) [g*mm].
    readings : int
        How many spins were averaged.
    throws : sequence of Throw
        Throws that carried a bob; empty for a bare crankshaft.
    reading_times : tuple of 2 floats
        How many times a reading's own error each plane is uncertain: what came from trial runs is more so.
    """

    cuts: Sequence[UncertainCut]
    reading_gmm: Sequence[complex]
    planes_z_mm: TwoPlanes[float]
    errors: ErrorModel
    made: Sequence[UncertainCut] = ()
    shift_gmm: Sequence[complex] = (0j, 0j)
    readings: int = 1
    throws: Sequence[Throw] = ()
    reading_times: tuple[float, float] = (1.0, 1.0)


class Planes:
    """Vectors in the two reading planes, one pair per draw [g*mm], single precision.

    Parameters
    ----------
    vectors : ndarray of float32, shape (4, draws)
        Left x and y, right x and y [g*mm].
    """

    def __init__(self, vectors: Floats) -> None:
        self.vectors = vectors

    def at(self, row: LimitRow) -> tuple[Floats, Floats]:
        """Return the vectors that a limit judges, x and y [g*mm]."""
        x, y = judged(row, self.vectors)
        return x, y


def judged(row: LimitRow, vectors: Floats) -> Floats:
    """Return the vectors that a limit judges, shape (2, draws) [g*mm], from both planes', shape (4, draws)."""
    first, second = np.float32(row.weight_1), np.float32(row.weight_2)
    return first * vectors[:2] + second * vectors[2:]


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """Draws of one plan, in parts: what the machine saw and the cuts made since, the cuts still to be made, the bobs' own errors.

    The bobs' errors count for the crankshaft in its engine; as long as the same bobs stay on, no spin shows them.  Each has
    the shape (4, draws): left x and y, right x and y [g*mm].
    """

    seen: Floats
    change: Floats
    bobs: Floats


def before_gmm(question: Question) -> TwoPlanes[complex]:
    """Return what there is to correct before the cuts still to be made [g*mm]."""
    left, right = (
        complex(reading) + complex(shift)
        for reading, shift in zip(question.reading_gmm, question.shift_gmm, strict=True)
    )
    for cut in question.made:
        first, second = plane_shares(cut.z_mm, question.planes_z_mm)
        vector = vector_gmm(cut.amount_gmm, cut.angle_deg)
        left += first * vector
        right += second * vector
    return TwoPlanes(left, right)


def draw_planes(question: Question, *, draws: int, seed: int) -> tuple[Planes, Planes]:
    """Return what is there before the cuts still to be made, and what these cuts change; equal input, equal output."""
    start, change = (np.empty((4, draws), dtype=np.float32) for _ in range(2))
    for part, drawn in draw_parts(question, draws=draws, seed=seed):
        start[:, part] = drawn.seen + drawn.bobs
        change[:, part] = drawn.change
    return Planes(start), Planes(change)


def draw_parts(question: Question, *, draws: int, seed: int) -> Iterator[tuple[slice, Drawn]]:
    """Yield the draws some thousands at a time, so that they stay in the processor's cache, with the bobs' errors apart."""
    rng = np.random.default_rng(seed)
    sources = _Sources(question)
    for begin in range(0, draws, CHUNK):
        part = slice(begin, min(begin + CHUNK, draws))
        yield part, sources.drawn(rng, part.stop - part.start)


class _Sources:
    """The errors of a question as matrices: what is drawn for it are normal numbers, times these.

    Errors that enter linearly (drills, radii, densities) are drawn together: as many numbers as there are such errors, or
    as cuts if these are fewer, with the same covariance between the cuts' amounts.
    """

    def __init__(self, question: Question) -> None:
        errors = question.errors
        root = math.sqrt(max(1, question.readings))
        single = np.float32
        times = np.array(question.reading_times)
        self._read = np.array([complex(each) for each in question.reading_gmm])
        self._percent = (times * errors.reading_percent / 100.0 / root).astype(single)[:, None]
        self._turn = (times * math.radians(errors.reading_angle_deg) / root).astype(single)[:, None]
        # what trial runs came to has its whole uncertainty in ``reading_times``: an error of the whole vector, which may be
        # longer than the vector, so no turn, and no floor of its own
        self._turned = (0.5 * (times == 1.0)).astype(single)[:, None]
        self._floor = (times == 1.0) * errors.reading_absolute_gmm / root
        shift = np.array([complex(each) for each in question.shift_gmm])
        self._shift = np.stack([shift.real, shift.imag], axis=1).ravel().astype(single)[:, None]
        cuts = (*question.made, *question.cuts)
        self._cuts = len(cuts)
        amount = np.array(
            [cut.amount_gmm + cut.per_diameter_gmm_per_mm * errors.diameter_bias_mm for cut in cuts]
        )
        self._amount = amount.astype(single)[:, None]
        self._slope = np.array([cut.per_depth_gmm_per_mm for cut in cuts], dtype=single)[:, None]
        self._curve = np.array([cut.curvature_gmm_per_mm2 / 2.0 for cut in cuts], dtype=single)[:, None]
        self._depth: tuple[Any, Any] = (single(errors.depth_mm), single(errors.depth_bias_mm))
        on_rim = np.array([cut.on_rim for cut in cuts], dtype=bool)[:, None]
        if on_rim.any():
            self._depth = (
                np.where(on_rim, errors.rim_cut_mm, errors.depth_mm).astype(single),
                np.where(on_rim, 0.0, errors.depth_bias_mm).astype(single),
            )
        self._angle = (single(math.radians(errors.angle_deg)), single(math.radians(errors.angle_bias_deg)))
        self._linear = _linear(cuts, errors)
        made, still = np.zeros((4, 2 * self._cuts)), np.zeros((4, 2 * self._cuts))
        for place, cut in enumerate(cuts):
            into = made if place < len(question.made) else still
            unit = vector_gmm(1.0, cut.angle_deg)
            for side, share in enumerate(plane_shares(cut.z_mm, question.planes_z_mm)):
                into[2 * side : 2 * side + 2, place] = share * unit.real, share * unit.imag
                into[2 * side : 2 * side + 2, self._cuts + place] = -share * unit.imag, share * unit.real
        self._made = made.astype(single) if question.made else None
        self._still = still.astype(single) if question.cuts else None
        bobs = [
            share * errors.bob_mass_g * throw.radius_mm * vector_gmm(1.0, throw.angle_deg)
            for share_of in (0, 1)
            for throw in question.throws
            for share in (plane_shares(throw.z_mm, question.planes_z_mm)[share_of],)
        ]
        both = np.array(bobs, dtype=complex).reshape(2, -1)
        self._bobs = np.stack([both.real, both.imag], axis=1).reshape(4, -1).astype(single)

    def drawn(self, rng: np.random.Generator, count: int) -> Drawn:
        """Return the next draws."""
        one = np.float32(1.0)

        def normal(rows: int) -> Floats:
            return rng.standard_normal((rows, count), dtype=np.float32)

        along = one + self._percent * normal(2)
        turn = self._turn * normal(2)
        across = along * turn
        np.copyto(across, turn, where=self._turned == 0.0)
        along *= one - self._turned * turn * turn
        seen = np.empty((4, count), dtype=np.float32)
        for side, vector in enumerate(self._read):
            x, y = np.float32(vector.real), np.float32(vector.imag)
            seen[2 * side] = x * along[side] - y * across[side]
            seen[2 * side + 1] = y * along[side] + x * across[side]
            if self._floor[side]:
                seen[2 * side : 2 * side + 2] += np.float32(self._floor[side]) * normal(2)
        seen += self._shift
        change: Floats = np.zeros((4, 1), dtype=np.float32)
        if self._cuts:
            depth = self._depth[0] * normal(self._cuts) + self._depth[1]
            turn = self._angle[0] * normal(self._cuts) + self._angle[1]
            effect = np.empty((2, self._cuts, count), dtype=np.float32)
            amount = self._amount + depth * (self._slope + self._curve * depth)
            if self._linear.shape[1]:
                amount += self._linear @ normal(self._linear.shape[1])
            np.multiply(amount, turn, out=effect[1])
            np.multiply(amount, one - np.float32(0.5) * turn * turn, out=effect[0])
            flat = effect.reshape(2 * self._cuts, count)
            if self._made is not None:
                seen += self._made @ flat
            if self._still is not None:
                change = self._still @ flat
        bobs: Floats = np.zeros((4, 1), dtype=np.float32)
        if self._bobs.any():
            bobs = self._bobs @ normal(self._bobs.shape[1])
        return Drawn(seen=seen, change=change, bobs=bobs)


def _linear(cuts: Sequence[UncertainCut], errors: ErrorModel) -> Floats:
    """Return a matrix M, shape (cuts, sources), so that M times normal numbers are the errors that enter linearly [g*mm]."""
    columns: dict[Hashable, Array] = {}
    for place, cut in enumerate(cuts):
        for key, amount_gmm in (
            (("drill", cut.drill), cut.per_diameter_gmm_per_mm * errors.diameter_mm),
            (("radius", cut.radius_of), cut.per_radius_gmm_per_mm * errors.radius_mm),
            ("metal", (cut.amount_gmm - cut.heavy_gmm) * errors.density_percent / 100.0),
            ("heavy", cut.heavy_gmm * errors.density_percent / 100.0),
        ):
            if amount_gmm:
                columns.setdefault(key, np.zeros(len(cuts)))[place] += amount_gmm
    if not columns:
        return np.zeros((len(cuts), 0), dtype=np.float32)
    matrix = np.stack(list(columns.values()), axis=1)
    if matrix.shape[1] > len(cuts):
        matrix = _root(matrix @ matrix.T)
    return matrix.astype(np.float32)


def _root(covariance: Array) -> Array:
    """Return a lower triangular R with ``R R^T`` the covariance, which may be singular (Cholesky)."""
    size = len(covariance)
    root = np.zeros((size, size))
    for column in range(size):
        left = covariance[column:, column] - root[column:, :column] @ root[column, :column]
        if left[0] > 1e-12 * covariance[column, column]:
            root[column:, column] = left / math.sqrt(left[0])
    return root


def kept(
    start: Planes, change: Planes, limits: Sequence[LimitRow], *, share: float = 1.0
) -> tuple[NDArray[np.bool_], ...]:
    """Return, per limit, in which draws it is kept when the cuts do ``share`` of what was drawn."""
    part = np.float32(share)
    result = []
    for row in limits:
        (x, y), (dx, dy) = start.at(row), change.at(row)
        result.append((x + part * dx) ** 2 + (y + part * dy) ** 2 <= np.float32(row.tolerance_gmm) ** 2)
    return tuple(result)
