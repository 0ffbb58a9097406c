"""From a signature to a first set of cuts: in each window a fan of equal cuts, as close together as they may stand."""

from __future__ import annotations

import numpy as np

from planner.correction.candidates.reach_bounds import Window
from planner.correction.candidates.sections import BoolArray, IntArray, separation_deg
from planner.correction.search.master import Signature
from planner.correction.search.working_plan import ComplexArray, Place, Pool


def start_plan(pool: Pool, windows: list[Window], signature: Signature) -> list[Place] | None:
    """Return a legal set of cuts with the signature's numbers, near its sums; None if no such fan fits."""
    places: list[Place] = []
    order = sorted(range(len(signature.counts)), key=lambda k: (-signature.counts[k][1], k))
    for number in order:
        index, count = signature.counts[number]
        fan = _fan(pool, windows[index], count, signature.targets_gmm[number], places)
        if fan is None:
            return None
        places += fan
    return places


def _fan(pool: Pool, window: Window, count: int, target: complex, others: list[Place]) -> list[Place] | None:
    block = pool.blocks[window.block]
    free = pool.free(window.block, others)[:, window.columns][block.section_of]
    phases = pool.phases(window.block)[window.columns]
    grid = np.round(
        (block.relative_deg[window.columns] - block.relative_deg[window.columns[0]]) / block.step_deg
    )
    column_at = np.full(int(grid[-1]) + 1, -1)
    column_at[grid.astype(int)] = np.arange(grid.size)
    same = separation_deg(block.sections, block.sections, block.wall_mm)[block.section_of]
    best: tuple[float, list[Place]] | None = None
    stride = max(1, block.amount_gmm.size // 400)
    for setting in range(0, block.amount_gmm.size, stride):
        step = max(1, int(np.ceil(same[setting] / block.step_deg - 1e-9)))
        for spread in (step, step + max(1, step // 3)) if count > 1 else (step,):
            found = _place_fan(
                free[setting], column_at, spread, count, phases, float(block.amount_gmm[setting]), target
            )
            if found is None:
                continue
            off, columns = found
            score = off * pool.cost_per_gmm * 3.0 + count * float(block.cost[setting])
            if best is None or score < best[0] - 1e-12:
                best = (score, [(window.block, setting, int(window.columns[c])) for c in columns])
    if best is None and count > 1:
        return _greedy(pool, window, count, target, others)
    return None if best is None else best[1]


def _place_fan(
    free: BoolArray,
    column_at: IntArray,
    spread: int,
    count: int,
    phases: ComplexArray,
    amount: float,
    target: complex,
) -> tuple[float, IntArray] | None:
    length = (count - 1) * spread
    first = np.arange(column_at.size - length)
    if first.size == 0:
        return None
    columns = column_at[first[:, None] + spread * np.arange(count)[None, :]]
    fits = (columns >= 0).all(axis=1) & free[columns].all(axis=1)
    if not fits.any():
        return None
    columns = columns[fits]
    off = np.abs(amount * phases[columns].sum(axis=1) - target)
    one = int(np.argmin(off))
    return float(off[one]), columns[one]


def _greedy(
    pool: Pool, window: Window, count: int, target: complex, others: list[Place]
) -> list[Place] | None:
    """Return cuts packed one after another from one flank, for windows near their capacity."""
    block = pool.blocks[window.block]
    best: tuple[float, list[Place]] | None = None
    size = np.abs(block.amount_gmm)
    for share in (1.0, 0.8, 0.6, 0.4, 0.0):
        for backward in (False, True):
            places: list[Place] = []
            columns = window.columns[::-1] if backward else window.columns
            start = 0
            while len(places) < count and start < columns.size:
                free = pool.free(window.block, others + places)[:, columns[start:]][block.section_of]
                free &= (size <= max(share * abs(target) / count * 1.3, float(size.min())))[:, None]
                open_columns = np.flatnonzero(free.any(axis=0))
                if not open_columns.size:
                    break
                column = int(open_columns[0])
                settings = np.flatnonzero(free[:, column])
                setting = int(settings[np.argmax(size[settings])])
                places.append((window.block, setting, int(columns[start + column])))
                start += column
            if len(places) < count:
                continue
            off = abs(sum(pool.effect(p) for p in places) - target)
            if best is None or off < best[0]:
                best = (off, places)
    return None if best is None else best[1]
