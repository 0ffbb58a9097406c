"""Improving a set of cuts two at a time, on the shop's grid: rounding is part of the search, never an afterthought.

All cuts but two are frozen.  For every place where the first of the two still fits, what the second has to do is known
up to the limits' circles: along each dial angle the circles leave an interval of amounts, and the smallest setting in
it that fits is the cheapest.  Cuts of the same signature that reach the limits are found this way from rough starts,
because each pair move is exact in the one that follows.
"""

from __future__ import annotations

import time
from collections.abc import Iterator

import numpy as np

from planner.correction.candidates.sections import BoolArray, FloatArray, IntArray
from planner.correction.search.working_plan import (
    LEAST_LEFT_GMM,
    ComplexArray,
    Family,
    Place,
    Pool,
    Room,
)
from planner.records import dataclass

MOST_CANDIDATES = 2200
MOST_LAID_OUT = 500_000
"""Places of a block that are looked at together: on a fine grid all of them at once would fill the memory."""
ANGLE_OFFSETS = np.array([0, 1, -1, 2, -2, 3, -3, 5, -5, 8, -8])
PENALTIES = (3.0, 10.0, 400.0)
NEAREST = 300
"""Where no first cut leaves what the second can do, so many that come nearest are looked at."""
MOST_PASSES = 14
HOPELESS = 4.0
"""A start that after a penalty's passes is so many times the limits above them is given up."""
FULL_PASS = 8
"""Below twice as many cuts a pass over all pairs is short enough."""
CHECKED_PAIRS = 160
MOST_HERE = 300
"""Settings tried at the angle where a cut stands."""


@dataclass(frozen=True)
class Polished:
    """A set of cuts with its cost and what is above the limits [g*mm] (0: all kept)."""

    places: tuple[Place, ...]
    cost: float
    above_gmm: float
    """Infinite for cuts that break a wall."""


def polish(
    pool: Pool,
    places: list[Place],
    *,
    deadline: float,
    penalties: tuple[float, ...] = PENALTIES,
    most_passes: int = MOST_PASSES,
) -> Polished:
    """Return the set of cuts improved until no pair move helps.

    Parameters
    ----------
    pool : Pool
        The blocks, limits and aim.
    places : list of Place
        Legal cuts to start from; their number stays.
    deadline : float
        ``time.monotonic()`` at which to give up (an outer stop; passes are bounded anyway).
    penalties : tuple of float
        Price of a g*mm above a limit, in typical prices of a g*mm removed, one after another.
    most_passes : int
        Passes over all pairs at the last penalty.
    """
    current = list(places)
    settled: dict[tuple[int, int], tuple[Place, ...]] = {}
    # Of very many cuts a pass looks at some of the pairs only, the next pass at others.
    turns = max(1, len(current) // FULL_PASS)
    for step, penalty in enumerate(penalties):
        price = penalty * pool.cost_per_gmm
        settled.clear()
        last = step == len(penalties) - 1
        idle = 0
        for number in range((most_passes if last else 3) * min(turns, 2)):
            before = _score(pool, current, price)
            current = _one_pass(pool, current, price, deadline, settled, (number % turns, turns))
            idle = idle + 1 if _score(pool, current, price) > before - 1e-9 else 0
            if idle >= turns or time.monotonic() > deadline:
                break
        if time.monotonic() > deadline:
            break
        if pool.above(pool.residual(current)) > HOPELESS * float(pool.full_tolerance.sum()):
            break
    # Moves keep every wall; a start that does not (a cut taken over into another block) may not come out as it is.
    above = pool.above(pool.residual(current)) if pool.legal_plan(current) else np.inf
    return Polished(tuple(current), pool.cost(current), float(above))


def _score(pool: Pool, places: list[Place], price: float) -> float:
    return pool.cost(places) + price * pool.above(pool.residual(places))


def _one_pass(
    pool: Pool,
    places: list[Place],
    price: float,
    deadline: float,
    settled: dict[tuple[int, int], tuple[Place, ...]],
    turn: tuple[int, int],
) -> list[Place]:
    """Try all pairs once; a pair that did not help is left alone until some cut has moved."""
    count = len(places)
    for first in range(count):
        for second in range(count):
            if first == second or (first + second) % turn[1] != turn[0] or time.monotonic() > deadline:
                continue
            if settled.get((first, second)) == tuple(places):
                continue
            places = _pair_move(pool, places, first, second, price)
            settled[first, second] = tuple(places)
    return places


def _pair_move(pool: Pool, places: list[Place], first: int, second: int, price: float) -> list[Place]:
    frozen = [p for k, p in enumerate(places) if k not in (first, second)]
    base = pool.residual(frozen)
    best = _score(pool, places, price) - pool.cost(frozen)
    block_1, block_2 = places[first][0], places[second][0]
    found = _best_pair(
        pool,
        base,
        (block_1, pool.room(block_1, frozen)),
        (block_2, pool.room(block_2, frozen)),
        price,
        best,
        places[first],
    )
    if found is None:
        return places
    result = list(places)
    _, result[first], result[second] = found
    return result


def candidates(
    pool: Pool,
    base: ComplexArray,
    block: int,
    room: Room,
    other: int,
    near: Place | None,
    most_cost: float,
) -> tuple[IntArray, IntArray, ComplexArray]:
    """Return settings, angles and contributions of places for the first cut, thinned to a few thousand in a fixed way."""
    found = []
    for settings, angles, part in laid_out(pool, block, room, most_cost):
        off = _unreachable(pool, base, part, other)
        if off is not None and off.size:
            # what can't do is not kept, nor (as far as is known) what is not among the nearest of those
            keep: BoolArray = np.asarray(off <= 0.0)
            if not keep.any():
                nearest = np.partition(off, min(NEAREST, off.size - 1))[min(NEAREST, off.size - 1)]
                keep = np.asarray(off <= nearest)
            settings, angles, part, off = settings[keep], angles[keep], part[:, keep], off[keep]
        found.append((settings, angles, part, np.zeros(0) if off is None else off))
    if not found:
        return np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros((base.size, 0), complex)
    settings, angles, part, over = (np.concatenate(parts, axis=-1) for parts in zip(*found, strict=True))
    if len(found) > 1 and over.size:
        keep = np.asarray(over <= 0.0)
        if not keep.any():
            keep = np.asarray(
                over <= np.partition(over, min(NEAREST, over.size - 1))[min(NEAREST, over.size - 1)]
            )
        settings, angles, part = settings[keep], angles[keep], part[:, keep]
    # with many tools for the second cut every state takes longer
    most = MOST_CANDIDATES // max(1, (len(pool.families(other)) + 1) // 2)
    if settings.size > most:
        stride = int(np.ceil(settings.size / (most * 0.6)))
        keep = np.zeros(settings.size, dtype=bool)
        keep[::stride] = True
        if near is not None:
            keep |= (np.abs(settings - near[1]) <= 5) & (np.abs(angles - near[2]) <= 6)
            keep |= settings == near[1]
            here = np.flatnonzero(angles == near[2])
            keep[here[:: max(1, here.size // MOST_HERE)]] = True
        settings, angles, part = settings[keep], angles[keep], part[:, keep]
    return settings, angles, part


def laid_out(
    pool: Pool, block: int, room: Room, most_cost: float
) -> Iterator[tuple[IntArray, IntArray, ComplexArray]]:
    """Yield settings, angles and contributions of the places that fit and cost less, all at once or in slices."""
    b = pool.blocks[block]
    some_settings = pool.some_settings(block)
    if room.laid_out is None and room.free.shape[1] * some_settings.size <= MOST_LAID_OUT:
        number, angles = np.nonzero(room.free[b.section_of[some_settings]])
        settings = some_settings[number]
        effect = b.amount_gmm[settings] * pool.phases(block)[angles]
        room.laid_out = settings, angles, pool.row_weights(block, settings) * effect
    if room.laid_out is not None:
        settings, angles, part = room.laid_out
        dear = b.cost >= most_cost
        if dear.any():
            keep = ~dear[settings]
            settings, angles, part = settings[keep], angles[keep], part[:, keep]
        yield settings, angles, part
        return
    affordable = some_settings[b.cost[some_settings] < most_cost]
    rows = max(1, MOST_LAID_OUT // max(1, room.free.shape[1]))
    for begin in range(0, max(1, affordable.size), rows):
        some = affordable[begin : begin + rows]
        number, angles = np.nonzero(room.free[b.section_of[some]])
        settings = some[number]
        effect = b.amount_gmm[settings] * pool.phases(block)[angles]
        yield settings, angles, pool.row_weights(block, settings) * effect


def _unreachable(pool: Pool, base: ComplexArray, contribution: ComplexArray, other: int) -> FloatArray | None:
    """Return by how much the first cut alone rules the limits out, whatever the second does; None if unknown."""
    if pool.blocks[other].has_offset:
        return None
    weight = pool.weight[:, other]
    worst: FloatArray | None = None
    for a in range(base.size):
        for b in range(a):
            if abs(weight[a]) + abs(weight[b]) < 1e-9:
                continue
            left = weight[b] * (base[a] + contribution[a]) - weight[a] * (base[b] + contribution[b])
            over = np.abs(left) - abs(weight[b]) * pool.tolerance[a] - abs(weight[a]) * pool.tolerance[b]
            worst = over if worst is None else np.maximum(worst, over)
    return worst


def _best_pair(
    pool: Pool,
    base: ComplexArray,
    first: tuple[int, Room],
    second: tuple[int, Room],
    price: float,
    best: float,
    near: Place | None,
) -> tuple[float, Place, Place] | None:
    block_1, block_2 = first[0], second[0]
    b1, b2 = pool.blocks[block_1], pool.blocks[block_2]
    fitting: BoolArray = np.asarray(second[1].free.any(axis=1))
    if not fitting.any():
        return None
    cheapest = float(b2.cost[fitting[b2.section_of]].min())
    settings, angles, part = candidates(pool, base, block_1, first[1], block_2, near, best - cheapest)
    if settings.size == 0:
        return None
    left = base[:, None] + part
    options = second_cut_options(pool, left, block_2, second[1], price)
    if options is None:
        return None
    score, setting_2, angle_2 = options
    score = score + b1.cost[settings][:, None]
    flat = np.flatnonzero(score.ravel() < best - 1e-9)
    if flat.size == 0:
        return None
    order = flat[np.argsort(np.round(score.ravel()[flat], 9), kind="stable")][:CHECKED_PAIRS]
    row = order // score.shape[1]
    s2, a2 = setting_2.ravel()[order], angle_2.ravel()[order]
    apart = pool.apart((block_1, settings[row], angles[row]), (block_2, s2, a2))
    good = np.flatnonzero(apart)
    if good.size == 0:
        return None
    one = int(good[0])
    return (
        float(score.ravel()[order[one]]),
        (block_1, int(settings[row[one]]), int(angles[row[one]])),
        (block_2, int(s2[one]), int(a2[one])),
    )


def second_cut_options(
    pool: Pool, left: ComplexArray, block: int, room: Room, price: float
) -> tuple[FloatArray, IntArray, IntArray] | None:
    """Return for each state (columns of ``left``) some good second cuts: scores, settings and angles, shape (n, m)."""
    b = pool.blocks[block]
    weight = pool.weight[:, block]
    stiffness = (weight / pool.tolerance) ** 2
    if stiffness.sum() <= 0.0:
        return None
    wanted = -(weight[:, None] / pool.tolerance[:, None] ** 2 * left).sum(axis=0) / stiffness.sum()
    sign = -1.0 if b.amount_gmm[0] < 0.0 else 1.0
    angle = _nearest_angles(b.relative_deg, np.degrees(np.angle(sign * wanted)) - b.centre_deg)
    phase = pool.phases(block)[angle] * sign  # of a positive size
    conjugate = np.conj(phase)
    along = [row[:, None] * conjugate for row in left]
    low, high = np.zeros(angle.shape), np.full(angle.shape, np.inf)
    for row, each in enumerate(along):
        w = weight[row]
        if abs(w) < 1e-9:
            high = np.where(np.abs(left[row])[:, None] > pool.tolerance[row], -np.inf, high)
            continue
        under = pool.tolerance[row] ** 2 - each.imag**2
        half = np.sqrt(np.maximum(under, 0.0)) / abs(w)
        middle = each.real / -w
        low = np.maximum(low, middle - half)
        high = np.where(under < 0.0, -np.inf, np.minimum(high, middle + half))
    low, high = pool.one_sided(left, phase, block, low, high)
    aim = (conjugate * wanted[:, None]).real
    want = np.where(low <= high, low, aim) - 1e-9
    if room.next_fitting is None:
        free_settings = room.free[b.section_of]
        room.next_fitting = [_next_fitting(family, free_settings) for family in pool.some_families(block)]
    scores, chosen = [], []
    tables = zip(pool.some_families(block), room.next_fitting, strict=True)
    for family, (following, preceding) in tables:
        at = np.searchsorted(family.size_gmm, want)
        for pick in (following[at, angle], preceding[at, angle]):
            setting = np.where(pick >= 0, family.settings[pick], -1)
            scores.append(_second_score(pool, (left, along, phase), block, setting, price))
            chosen.append(setting)
    return (
        np.concatenate(scores, axis=1),
        np.concatenate(chosen, axis=1),
        np.concatenate([angle] * len(chosen), axis=1),
    )


def _nearest_angles(relative_deg: FloatArray, wanted_deg: FloatArray) -> IntArray:
    """Return the indices of the dial angles around a wanted one, shape (n, m); clipped to the block's ends."""
    wrapped = (wanted_deg - relative_deg[0] + 180.0) % 360.0 - 180.0 + relative_deg[0]
    # beyond both ends the nearer end serves
    span = relative_deg[-1] - relative_deg[0]
    ahead = (wanted_deg - relative_deg[0]) % 360.0
    wrapped = np.where(
        ahead <= span,
        relative_deg[0] + ahead,
        np.where(ahead - span < 360.0 - ahead, relative_deg[-1], relative_deg[0]),
    )
    right = np.clip(np.searchsorted(relative_deg, wrapped), 0, relative_deg.size - 1)
    left = np.maximum(right - 1, 0)
    nearest = np.where(
        np.abs(relative_deg[left] - wrapped) < np.abs(relative_deg[right] - wrapped), left, right
    )
    offsets = ANGLE_OFFSETS[np.abs(ANGLE_OFFSETS) < max(relative_deg.size, 1)]
    return np.asarray(np.clip(nearest[:, None] + offsets[None, :], 0, relative_deg.size - 1))


def _next_fitting(family: Family, free: BoolArray) -> tuple[IntArray, IntArray]:
    """Return, per position and angle, the next fitting position at or after it and the last one before it (-1: none)."""
    mask = free[family.settings]
    count = family.settings.size
    # half the memory of an index: kept for every place on the dial
    position = np.arange(count, dtype=np.int32)[:, None]
    after = np.where(mask, position, np.int32(count))
    after = np.minimum.accumulate(after[::-1], axis=0)[::-1]
    nothing = np.full((1, mask.shape[1]), -1, dtype=np.int32)
    following = np.vstack([np.where(after == count, np.int32(-1), after), nothing])
    before = np.maximum.accumulate(np.where(mask, position, np.int32(-1)), axis=0)
    preceding = np.vstack([nothing, before])
    return following, preceding


def _second_score(
    pool: Pool,
    states: tuple[ComplexArray, list[ComplexArray], ComplexArray],
    block: int,
    setting: IntArray,
    price: float,
) -> FloatArray:
    """Return cost and price of what is above the limits; ``states`` are what is left, the same as seen along the angles of
    the second cut, and these as unit vectors."""
    left, along, phase = states
    b = pool.blocks[block]
    size = np.abs(b.amount_gmm)[setting]
    score = b.cost[setting]
    blind = b.has_offset
    for row, each in enumerate(along):
        weight = pool.weight[row, block]
        total = (weight + pool.slope[row] * b.offset_mm[setting]) if blind else weight
        after = np.sqrt((each.real + total * size) ** 2 + each.imag**2)
        score = score + price * np.maximum(after - pool.tolerance[row], 0.0)
        if pool.toward[row] != 0.0:
            vector = left[row][:, None] + total * size * phase
            beyond = LEAST_LEFT_GMM - (np.conj(pool.toward[row]) * vector).real
            score = score + price * np.maximum(beyond, 0.0)
    return np.where(setting >= 0, score, np.inf)
