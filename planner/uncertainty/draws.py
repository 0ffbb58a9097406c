"""Draws of what a plan leaves: every draw with its own errors (which of them are shared: see `planner.uncertainty.odds`)."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.rotor.crankshaft import Throw
from planner.rotor.limits import LimitRow
from planner.rotor.vectors import plane_shares, vector_gmm
from planner.uncertainty.error_model import ErrorModel
from planner.uncertainty.uncertain_cut import UncertainCut

Floats = NDArray[np.float32]


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
    planes_z_mm: tuple[float, float]
    errors: ErrorModel
    made: Sequence[UncertainCut] = ()
    shift_gmm: Sequence[complex] = (0j, 0j)
    readings: int = 1
    throws: Sequence[Throw] = ()
    reading_times: tuple[float, float] = (1.0, 1.0)


class Planes:
    """Vectors in the two reading planes, one pair per draw [g*mm], single precision."""

    def __init__(self, draws: int) -> None:
        self.left_x, self.left_y, self.right_x, self.right_y = (
            np.zeros(draws, dtype=np.float32) for _ in range(4)
        )

    def add(self, vector: complex, shares: Sequence[float], along: Floats, across: Floats) -> None:
        """Add ``vector * (along + i*across)`` to the planes with its shares."""
        x = np.float32(vector.real) * along - np.float32(vector.imag) * across
        y = np.float32(vector.imag) * along + np.float32(vector.real) * across
        for share, to_x, to_y in (
            (shares[0], self.left_x, self.left_y),
            (shares[1], self.right_x, self.right_y),
        ):
            to_x += np.float32(share) * x
            to_y += np.float32(share) * y

    def add_all(self, other: Planes) -> None:
        """Add other draws, one to one."""
        self.left_x += other.left_x
        self.left_y += other.left_y
        self.right_x += other.right_x
        self.right_y += other.right_y

    def at(self, row: LimitRow) -> tuple[Floats, Floats]:
        """Return the vectors that a limit judges, x and y [g*mm]."""
        first, second = np.float32(row.weight_1), np.float32(row.weight_2)
        return first * self.left_x + second * self.right_x, first * self.left_y + second * self.right_y


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """Draws of one plan, in parts: what the machine saw and the cuts made since, the cuts still to be made, the bobs' own errors.

    The bobs' errors count for the crankshaft in its engine; as long as the same bobs stay on, no spin shows them.
    """

    seen: Planes
    change: Planes
    bobs: Planes


def draw_planes(question: Question, *, draws: int, seed: int) -> tuple[Planes, Planes]:
    """Return what is there before the cuts still to be made, and what these cuts change; equal input, equal output."""
    drawn = draw_parts(question, draws=draws, seed=seed)
    drawn.seen.add_all(drawn.bobs)
    return drawn.seen, drawn.change


def draw_parts(question: Question, *, draws: int, seed: int) -> Drawn:
    """Return the same draws with the bobs' errors apart."""
    rng = np.random.default_rng(seed)
    errors = question.errors

    def normal(sigma: float, mean: float = 0.0) -> Floats:
        drawn = rng.standard_normal(draws, dtype=np.float32) * np.float32(sigma)
        return drawn + np.float32(mean) if mean else drawn

    start, change, bobs = Planes(draws), Planes(draws), Planes(draws)
    one, half = np.float32(1.0), np.float32(0.5)
    nothing: Floats = np.zeros(1, dtype=np.float32)
    once: Floats = np.ones(1, dtype=np.float32)
    root = math.sqrt(max(1, question.readings))
    for vector, shift, own, times in zip(
        question.reading_gmm,
        question.shift_gmm,
        ((1.0, 0.0), (0.0, 1.0)),
        question.reading_times,
        strict=True,
    ):
        amount = one + normal(times * errors.reading_percent / 100.0 / root)
        turn = normal(times * math.radians(errors.reading_angle_deg) / root)
        if times == 1.0:
            start.add(complex(vector), own, amount * (one - half * turn * turn), amount * turn)
        else:
            # an error of the whole vector, which may be longer than the vector: no turn
            start.add(complex(vector), own, amount, turn)
        start.add(complex(shift), own, once, nothing)
    metal, heavy = normal(errors.density_percent / 100.0), normal(errors.density_percent / 100.0)
    shared: dict[Hashable, Floats] = {}
    for place, cut in enumerate((*question.made, *question.cuts)):
        for key, sigma, mean in (
            (cut.drill, errors.diameter_mm, errors.diameter_bias_mm),
            (cut.radius_of, errors.radius_mm, 0.0),
        ):
            if key not in shared:
                shared[key] = normal(sigma, mean)
        depth = normal(errors.depth_mm, errors.depth_bias_mm)
        turn = normal(math.radians(errors.angle_deg), math.radians(errors.angle_bias_deg))
        amount = (
            np.float32(cut.amount_gmm)
            + np.float32(cut.per_depth_gmm_per_mm) * depth
            + np.float32(cut.curvature_gmm_per_mm2 / 2.0) * depth**2
            + np.float32(cut.per_diameter_gmm_per_mm) * shared[cut.drill]
            + np.float32(cut.per_radius_gmm_per_mm) * shared[cut.radius_of]
            + np.float32(cut.amount_gmm - cut.heavy_gmm) * metal
            + np.float32(cut.heavy_gmm) * heavy
        )
        direction = vector_gmm(1.0, cut.angle_deg)
        into = start if place < len(question.made) else change
        into.add(
            direction,
            plane_shares(cut.z_mm, question.planes_z_mm),
            amount * (one - half * turn * turn),
            amount * turn,
        )
    for throw in question.throws:
        bob = normal(errors.bob_mass_g * throw.radius_mm)
        bobs.add(
            vector_gmm(1.0, throw.angle_deg), plane_shares(throw.z_mm, question.planes_z_mm), bob, nothing
        )
    # last, so that the other errors' draws stay what they are
    for own, times in zip(((1.0, 0.0), (0.0, 1.0)), question.reading_times, strict=True):
        # what trial runs came to has its whole uncertainty in ``reading_times``
        if times == 1.0 and errors.reading_absolute_gmm:
            x, y = (normal(errors.reading_absolute_gmm / root) for _ in range(2))
            start.add(1.0 + 0j, own, x, y)
    return Drawn(seen=start, change=change, bobs=bobs)


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
