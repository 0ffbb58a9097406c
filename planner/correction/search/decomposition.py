"""Linear programs over all that parts of a crankshaft could carry, each part's best asked for at the prices of the limits.

What each part does is a whole row or packing, made in part or whole; those join the program that its prices ask for (Dantzig
and Wolfe: Decomposition principle for linear programs, Operations Research 8, 1960; from memory).  Every step's prices prove
a bound by themselves: what remains above the limits less what all parts are worth at most.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np

from planner.correction.budget import Budget
from planner.correction.candidates.sections import FloatArray
from planner.correction.search.master import SCALE_GMM, quiet_stdout
from planner.correction.search.packing import EPSILON, counted_once
from planner.correction.search.working_plan import ComplexArray, Place, Pool
from planner.records import dataclass

DIRECTIONS = 48
ROUNDS = 60
STEADY = 0.5
"""A bound of so much of the program's own value is not sought to be bettered: a proof it is."""
NEAR_PROOF = 0.5
"""Bounds of the parts are sharpened where what is found would prove so much of the program's value, and of what is missing."""
WORTH_SAYING = 0.01
"""Bounds are sharpened until they prove that so much of the limits remains above them."""
MARGIN_GMM = 0.01
"""What remains above each limit counts from there on, whatever the solver's rounding."""


@dataclass(frozen=True)
class Worth:
    """What cuts together are worth at some prices, the cuts, and what any are worth at most, as far as it is proven."""

    found: float
    cuts: list[Place]
    at_most: float


class Part(Protocol):
    """Something that carries cuts."""

    def best(self, by_limit: ComplexArray) -> Worth:
        """Return the best it can carry where the limits pay ``by_limit`` for an effect."""

    def sharper(self, worth: Worth, enough: float) -> Worth:
        """Return what it is worth at the last prices, sought until that is known to be at most ``enough``, or more."""


def least_excess(pool: Pool, parts: Sequence[Part], budget: Budget) -> float:
    """Return what remains above the limits in all at least [g*mm], 0 where that is not proven.

    Raises
    ------
    TimeIsUpError
        If the time is up before it is known.
    """
    around = np.exp(2j * np.pi * np.arange(DIRECTIONS) / DIRECTIONS)
    columns: list[tuple[int, ComplexArray]] = []
    best = 0.0
    for _ in range(ROUNDS):
        budget.check()
        value, prices, shares = _solved(pool, columns, len(parts), around, budget)
        if value <= EPSILON:
            break
        by_limit = (prices * np.conj(around)[None, :]).sum(axis=1)
        asked = float((by_limit * pool.start).real.sum() - (prices.sum(axis=1) * pool.full_tolerance).sum())
        asked = (asked - MARGIN_GMM * pool.start.size) / SCALE_GMM
        worths = []
        for part in parts:
            budget.check()
            worths.append(part.best(by_limit))
        sharpened = False
        missing, room = _at_most(worths) - asked, asked - _found(worths)
        if missing >= 0.0 and room >= max(NEAR_PROOF * value, NEAR_PROOF * missing):
            worth_saying = WORTH_SAYING * float(pool.full_tolerance.sum()) / SCALE_GMM
            worths, sharpened = _sharper(parts, worths, asked - min(worth_saying, 0.1 * value)), True
        best = max(best, asked - _at_most(worths))
        joined = False
        for number, worth in enumerate(worths):
            if worth.found > shares[number] + EPSILON:
                effect = sum((pool.contribution(cut) for cut in worth.cuts), 0.0 * pool.start)
                columns.append((number, effect))
                joined = True
        if not joined or best >= STEADY * value or (sharpened and best > 0.0):
            break
    return best * SCALE_GMM


def _found(worths: list[Worth]) -> float:
    return sum(worth.found for worth in worths)


def _at_most(worths: list[Worth]) -> float:
    return sum(worth.at_most for worth in worths)


def _sharper(parts: Sequence[Part], worths: list[Worth], asked: float) -> list[Worth]:
    """Return what the parts are worth, sought further until it proves something or is known not to."""
    worths = list(worths)
    assert all(np.isfinite(worth.at_most) for worth in worths)
    gaps = [worth.at_most - worth.found for worth in worths]
    room, all_gaps = asked - _found(worths), sum(gaps)
    for number in np.argsort(-np.array(gaps), kind="stable").tolist():
        worth, missing = worths[number], _at_most(worths) - asked
        if missing <= 0.0 or gaps[number] <= 0.0 or asked <= _found(worths):
            break
        share = worth.found + 0.9 * room * gaps[number] / all_gaps
        worths[number] = parts[number].sharper(worth, max(share, worth.at_most - missing))
    return worths


def _solved(
    pool: Pool, columns: list[tuple[int, ComplexArray]], parts: int, around: ComplexArray, budget: Budget
) -> tuple[float, FloatArray, FloatArray]:
    """Return what remains above the limits with these columns in part, the prices of the limits and of each part's one."""
    from scipy.optimize import linprog

    limits, count = pool.start.size, len(columns)
    effect = np.array([each for _, each in columns]).reshape(count, limits).T / SCALE_GMM
    turned = (np.conj(around)[None, :, None] * effect[:, None, :]).real
    above = -np.repeat(np.eye(limits), around.size, axis=0)
    one = np.zeros((parts, count + limits))
    one[[number for number, _ in columns], np.arange(count)] = 1.0
    start = (np.conj(around)[None, :] * pool.start[:, None]).real
    high = (pool.full_tolerance[:, None] - start) / SCALE_GMM
    with quiet_stdout():
        answer = linprog(
            np.append(np.zeros(count), np.ones(limits)),
            A_ub=np.vstack([np.hstack([turned.reshape(limits * around.size, count), above]), one]),
            b_ub=np.append(high.ravel(), np.ones(parts)),
            bounds=(0.0, None), method="highs-ds", options={"time_limit": max(0.05, budget.left)},
        )  # fmt: skip
    if answer.status != 0:
        return 0.0, np.zeros((limits, around.size)), np.zeros(parts)
    prices = np.maximum(0.0, -np.asarray(answer.ineqlin.marginals))
    by_limit = prices[: limits * around.size].reshape(limits, around.size)
    return float(answer.fun), counted_once(by_limit), prices[limits * around.size :]
