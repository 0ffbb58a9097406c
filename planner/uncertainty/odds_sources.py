"""Which error matters most for a plan's chance, and how much of it to cut first.

The variance of what remains at a limit is that of a vector: ``E|v - E v|^2`` [(g*mm)^2].  By first order it is the sum
of squares of each error's effect; by simulation each source is drawn alone.
"""

from __future__ import annotations

import dataclasses
import math
from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence

import numpy as np

from planner.records import dataclass
from planner.rotor.limits import LimitRow
from planner.rotor.vectors import vector_gmm
from planner.uncertainty.draws import Question, draw_planes, kept
from planner.uncertainty.error_model import ErrorModel

SOURCES: Mapping[str, tuple[str, ...]] = {
    "depth": ("depth_mm", "rim_cut_mm"),
    "angle": ("angle_deg",),
    "diameter": ("diameter_mm",),
    "radius": ("radius_mm",),
    "density": ("density_percent",),
    "reading amount": ("reading_percent",),
    "reading angle": ("reading_angle_deg",),
    "reading's floor": ("reading_absolute_gmm",),
    "bob masses": ("bob_mass_g",),
}
"""Sources of error and their keys in the error model."""

SHARE_STEP = 0.01
"""Of the plan that is cut first: shares this far apart are tried."""


@dataclass(frozen=True, kw_only=True)
class SourceShare:
    """One source of error at one limit: variance [(g*mm)^2], by first order and drawn alone, and its share of the sum."""

    source: str
    variance_gmm2: float
    share: float
    simulated_variance_gmm2: float
    simulated_share: float


@dataclass(frozen=True, kw_only=True)
class FirstCut:
    """Cutting a share of the plan first.

    ``share`` is the best one: least cost, where a spin that does not pass costs 1 and an over-drilled crankshaft
    ``over_cost``.  ``table`` has ``(share, chance to pass, chance to be over, cost)``.
    """

    share: float
    over_cost: float
    table: tuple[tuple[float, float, float, float], ...]


def errors_of(errors: ErrorModel, sources: Sequence[str]) -> ErrorModel:
    """Return the error model with the spreads of these sources only; biases stay."""
    wanted = {key for source in sources for key in SOURCES[source]}
    none = {key: 0.0 for keys in SOURCES.values() for key in keys if key not in wanted}
    return dataclasses.replace(errors, **none)


def first_order_variances(question: Question, row: LimitRow) -> dict[str, float]:
    """Return, per source, the variance of what remains at a limit [(g*mm)^2], by first order."""
    errors, planes = question.errors, question.planes_z_mm
    result = dict.fromkeys(SOURCES, 0.0)
    shared: dict[tuple[str, Hashable], complex] = defaultdict(complex)
    for cut in (*question.made, *question.cuts):
        weight = row.weight_of_source(cut.z_mm, planes)
        direction = vector_gmm(1.0, cut.angle_deg) * weight
        result["depth"] += (
            weight * cut.per_depth_gmm_per_mm * (errors.rim_cut_mm if cut.on_rim else errors.depth_mm)
        ) ** 2
        result["angle"] += (weight * cut.amount_gmm * math.radians(errors.angle_deg)) ** 2
        shared["diameter", cut.drill] += direction * cut.per_diameter_gmm_per_mm * errors.diameter_mm
        shared["radius", cut.radius_of] += direction * cut.per_radius_gmm_per_mm * errors.radius_mm
        part = errors.density_percent / 100.0
        shared["density", "metal"] += direction * (cut.amount_gmm - cut.heavy_gmm) * part
        shared["density", "heavy"] += direction * cut.heavy_gmm * part
    for (source, _), effect in shared.items():
        result[source] += abs(effect) ** 2
    weights = (row.weight_1, row.weight_2)
    for vector, weight, times in zip(question.reading_gmm, weights, question.reading_times, strict=True):
        square = (times * weight * abs(complex(vector))) ** 2 / max(1, question.readings)
        result["reading amount"] += square * (errors.reading_percent / 100.0) ** 2
        result["reading angle"] += square * math.radians(errors.reading_angle_deg) ** 2
    for weight, times in zip(weights, question.reading_times, strict=True):
        if times == 1.0:
            result["reading's floor"] += (
                2.0 * (weight * errors.reading_absolute_gmm) ** 2 / max(1, question.readings)
            )
    for throw in question.throws:
        weight = row.weight_of_source(throw.z_mm, planes)
        result["bob masses"] += (weight * throw.radius_mm * errors.bob_mass_g) ** 2
    return result


def source_shares(question: Question, row: LimitRow, *, draws: int, seed: int) -> tuple[SourceShare, ...]:
    """Return the share of every source at a limit, the largest first.

    Parameters
    ----------
    question : Question
        The plan and its reading.
    row : LimitRow
        The limit.
    draws, seed : int
        Draws per source, and where they start.
    """
    exact = first_order_variances(question, row)
    drawn = {}
    for source in SOURCES:
        alone = dataclasses.replace(question, errors=errors_of(question.errors, [source]))
        start, change = draw_planes(alone, draws=draws, seed=seed)
        (x, y), (dx, dy) = start.at(row), change.at(row)
        drawn[source] = float(np.var(x + dx, dtype=np.float64) + np.var(y + dy, dtype=np.float64))
    total, total_drawn = sum(exact.values()) or 1.0, sum(drawn.values()) or 1.0
    return tuple(
        sorted(
            (
                SourceShare(
                    source=source,
                    variance_gmm2=exact[source],
                    share=exact[source] / total,
                    simulated_variance_gmm2=drawn[source],
                    simulated_share=drawn[source] / total_drawn,
                )
                for source in SOURCES
            ),
            key=lambda each: -each.variance_gmm2,
        )
    )


def best_first_cut(
    question: Question,
    limits: Sequence[LimitRow],
    *,
    over_cost: float,
    draws: int,
    seed: int,
    least: float = 0.7,
) -> FirstCut:
    """Return how much of the plan to cut before the next spin.

    Parameters
    ----------
    question : Question
        The plan and its reading.
    limits : sequence of LimitRow
        The limits.
    over_cost : float
        What an over-drilled crankshaft costs (a weld, a slug), in spins with their handling.
    draws, seed : int
        Number of draws, and where they start.
    least : float
        The smallest share tried, up to 1 in steps of a hundredth.

    Notes
    -----
    Over means: along the direction of what there is to correct, more than the limit is off already at a limit.
    """
    start, change = draw_planes(question, draws=draws, seed=seed)
    towards = [_unit(question, row) for row in limits]
    table = []
    for share in np.arange(1.0, least - SHARE_STEP / 2.0, -SHARE_STEP):
        part = np.float32(share)
        good = np.ones(draws, dtype=bool)
        over = np.zeros(draws, dtype=bool)
        for row, inside, unit in zip(
            limits, kept(start, change, limits, share=float(share)), towards, strict=True
        ):
            good &= inside
            if unit is None:
                continue
            (x, y), (dx, dy) = start.at(row), change.at(row)
            along = (x + part * dx) * np.float32(unit.real) + (y + part * dy) * np.float32(unit.imag)
            over |= along < -np.float32(row.tolerance_gmm)
        passed, too_much = float(good.mean()), float(over.mean())
        cost = (1.0 - passed - too_much) + over_cost * too_much
        table.append((round(float(share), 6), passed, too_much, cost))
    # the largest share among equals: the fewest spins
    best = min(table, key=lambda each: (round(each[3], 4), -each[0]))
    return FirstCut(share=best[0], over_cost=over_cost, table=tuple(table))


def _unit(question: Question, row: LimitRow) -> complex | None:
    """Return the direction of what there is to correct at a limit before the cuts still to be made."""
    planes = question.planes_z_mm
    vector = sum(
        weight * (complex(reading) + complex(shift))
        for weight, reading, shift in zip(
            (row.weight_1, row.weight_2), question.reading_gmm, question.shift_gmm, strict=True
        )
    )
    for cut in question.made:
        vector += vector_gmm(1.0, cut.angle_deg) * cut.amount_gmm * row.weight_of_source(cut.z_mm, planes)
    return None if abs(vector) <= row.tolerance_gmm else complex(vector / abs(vector))
