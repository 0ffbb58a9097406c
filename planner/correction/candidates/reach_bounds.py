"""What n cuts of one block can reach at most, direction by direction: the outer bounds that the proofs rest on.

Each block is split into *windows* at blocked angles and where old holes leave only shallow cuts; without that, the
hull of what can be reached would be wrong by whole holes.  For a window and n cuts a dynamic program along the angle
gives, per direction, the greatest reach of the summed effect, and the least of ``cost - Re(conj(slope) * effect)``.
Two relaxations keep it small and keep it a bound: settings are lumped into classes (each class offers its best legal
setting but asks only for its smallest separation), and only neighbours along the angle are checked.
"""

from __future__ import annotations

import math

import numpy as np

from planner.correction.candidates.block import Block
from planner.correction.candidates.sections import FloatArray, IntArray, separation_deg
from planner.correction.store import Tables, content_key, kept
from planner.records import dataclass

MOST_CLASSES = 20
MOST_CHAIN = 14
MOST_DISCS = 5
_MOST_PAIRS = 1_000_000
LEAST_STEP = 1e-6
"""Settings whose effects differ by less than this share of the greatest count as one step of cost."""
DIP = 0.7
"""A window is split where the reach falls below this share of what both sides reach."""


@dataclass(frozen=True)
class Window:
    """A run of neighbouring dial angles of one block, with its bounds.

    Attributes
    ----------
    block : int
        Index of the block.
    columns : ndarray of int
        Its angles, as indices into the block's.
    directions_rad : ndarray, shape (D,)
        Directions of the bounds in the crankshaft frame [rad].
    tilts_per_mm : ndarray, shape (T,)
        For each tilt t a reach of the effects weighted with ``1 + t*offset``; tilt 0 comes first [1/mm].
    reach_gmm : ndarray, shape (n+1, T, D)
        Greatest ``Re(conj(e^i direction) * sum of weighted effects)`` of exactly n cuts [g*mm].
    slopes : ndarray of complex, shape (L,)
        Cost slopes [cost per g*mm].
    least_excess : ndarray, shape (n+1, L)
        Least ``cost - Re(conj(slope) * effect)`` of exactly n cuts.
    most_cuts : int
        No more cuts than this fit.  May exceed the table; any n cuts reach at most n/c times what c of them
        reach at best (average over all choices of c out of the n), which extends the table and keeps it a bound.
    """

    block: int
    columns: IntArray
    directions_rad: FloatArray
    tilts_per_mm: FloatArray
    reach_gmm: FloatArray
    slopes: FloatArray
    least_excess: FloatArray
    most_cuts: int

    @property
    def most(self) -> int:
        """Greatest number of cuts in the table."""
        return int(self.reach_gmm.shape[0]) - 1


def split_columns(block: Block) -> list[IntArray]:
    """Return runs of neighbouring angles, cut where old holes leave a dip in the reach."""
    # A step that does not divide the turn leaves an odd gap where the dial closes: a window ends there too.
    gaps = np.flatnonzero(np.abs(np.diff(block.relative_deg) - block.step_deg) > 1e-6)
    runs = np.split(np.arange(block.relative_deg.size), gaps + 1)
    if block.kind != "rim hole":
        return runs  # discs pass an old hole above or below it
    reach = np.where(block.legal_settings(), np.abs(block.amount_gmm)[:, None], 0.0).max(axis=0)
    windows: list[IntArray] = []
    for run in runs:
        windows += _split_at_dips(run, reach)
    return windows


def _split_at_dips(run: IntArray, reach: FloatArray) -> list[IntArray]:
    if run.size < 3:
        return [run]
    values = reach[run]
    left, right = np.maximum.accumulate(values), np.maximum.accumulate(values[::-1])[::-1]
    depth = values / np.minimum(left, right)
    lowest = int(np.argmin(depth))
    if depth[lowest] >= DIP:
        return [run]
    return _split_at_dips(run[:lowest], reach) + _split_at_dips(run[lowest:], reach)


def build_windows(block: Block, index: int) -> list[Window]:
    """Return the windows of a block with their bounds; made once for all blocks of the same shape and dial grid."""
    key = content_key(
        "windows", block.kind, block.most_cuts, block.wall_mm, block.step_deg, block.amount_gmm, block.offset_mm,
        block.cost, block.family, block.tool_mm, block.depth_mm, block.radius_mm, block.section_of,
        block.sections.radius_mm, block.sections.angle_rad, block.sections.grow_mm, block.relative_deg, block.legal,
    )  # fmt: skip
    tables = kept(key, lambda: _make_tables(block))
    centre = math.radians(block.centre_deg)
    windows = []
    for number in range(int(tables["count"][0])):
        slopes = tables["slopes"][0] + 1j * tables["slopes"][1]
        windows.append(
            Window(
                block=index,
                columns=tables[f"columns_{number}"].astype(np.int64),
                directions_rad=tables["directions"] + centre,
                tilts_per_mm=tables["tilts"],
                reach_gmm=tables[f"reach_{number}"],
                slopes=slopes * np.exp(1j * centre),
                least_excess=tables[f"excess_{number}"],
                most_cuts=int(tables[f"most_{number}"][0]),
            )
        )
    return windows


def _make_tables(block: Block) -> Tables:
    """Return the bounds of all windows of a block, in the frame of its own centre line."""
    classes = _classes(block)
    separation = _class_separation_steps(block, classes)
    tilts = np.array([0.0])
    if block.has_offset:
        tilt = 0.8 / float(np.abs(block.offset_mm).max())
        tilts = np.array([0.0, tilt, -tilt])
    runs = split_columns(block)
    directions = _directions_rad(block, runs)
    slopes = _slopes(block)
    tables: Tables = {
        "count": np.array([float(len(runs))]),
        "directions": directions,
        "tilts": tilts,
        "slopes": np.stack([slopes.real, slopes.imag]),
    }
    for number, columns in enumerate(runs):
        at = np.radians(block.relative_deg[columns])
        factors = [np.cos(at[None, :] - directions[:, None]) for _ in tilts]
        weights = [block.amount_gmm * (1.0 + t * block.offset_mm) for t in tilts]
        costs = [np.zeros(block.cost.size) for _ in tilts]
        factors.append(np.abs(slopes)[:, None] * np.cos(at[None, :] - np.angle(slopes)[:, None]))
        weights.append(block.amount_gmm)
        costs.append(block.cost)
        gains = [
            _class_gains(block, classes, columns, factor, weight, cost)
            for factor, weight, cost in zip(factors, weights, costs, strict=True)
        ]
        rows = np.cumsum([0] + [g.shape[1] for g in gains])
        chain, most_cuts = _best_chains(np.concatenate(gains, axis=1), separation, columns, block)
        # what single precision may have lost
        chain += 1e-6 * np.abs(np.where(np.isfinite(chain), chain, 0.0)) + 1e-6
        tables[f"columns_{number}"] = columns.astype(float)
        tables[f"reach_{number}"] = np.stack(
            [chain[:, rows[t] : rows[t + 1]] for t in range(tilts.size)], axis=1
        )
        tables[f"excess_{number}"] = -chain[:, rows[-2] :]
        tables[f"most_{number}"] = np.array([float(most_cuts)])
    return tables


def _directions_rad(block: Block, runs: list[IntArray]) -> FloatArray:
    """Return the directions: finer away from the metal, where the flanks' normals lie, and these themselves."""
    if block.most_cuts == 1:
        half = np.arange(0.0, 180.0, 22.5)
    elif block.kind == "rim hole":
        half = np.concatenate([np.arange(0.0, 84.0, 12.0), np.arange(84.0, 180.0, 6.0)])
    else:
        half = np.arange(0.0, 180.0, 15.0)
    # Effects of removed metal point away from the cuts, so the hull's tip lies opposite to the centre line.
    turned = 180.0 if block.amount_gmm[0] < 0.0 else 0.0
    normals = []
    for run in runs:
        # nothing is reached beyond the first and the last angle: exact there, or many cuts would reach far beyond
        first, last = float(block.relative_deg[run[0]]), float(block.relative_deg[run[-1]])
        if last - first < 180.0:
            inside = 180.0 if turned == 0.0 else 0.0
            normals += [first + 90.0 + inside - turned, last - 90.0 + inside - turned]
    around = np.concatenate([half, -half[1:], [180.0], normals])
    wrapped = (around + 180.0) % 360.0 - 180.0
    return np.radians(np.unique(np.round(wrapped, 6)) + turned)


def _slopes(block: Block) -> FloatArray:
    """Return cost slopes along the directions in which the block's effects point."""
    size = np.abs(block.amount_gmm)
    ratio = block.cost / size
    if np.ptp(block.cost) < 1e-9:  # a slug costs the same wherever it stands
        return np.array([0.0 + 0.0j])
    low, high = float(ratio.min()) * 0.9, float(ratio.max())
    # settings of nearly one size would make a slope without end, of no use as a bound and too steep for the solver
    same = np.flatnonzero((np.diff(block.family) == 0) & (np.diff(size) > LEAST_STEP * float(size.max())))
    if same.size:
        steps = np.diff(block.cost)[same] / np.diff(size)[same]
        high = max(high, float(np.quantile(steps, 0.98)))
        low = min(low, float(np.quantile(steps, 0.02)))
    steepness = np.linspace(low, high, 4)
    first, last = float(block.relative_deg[0]), float(block.relative_deg[-1])
    count = int(min(15, max(3, math.ceil((last - first) / 12.0) + 1)))
    at = np.radians(np.linspace(first, last, count))
    sign = math.copysign(1.0, float(block.amount_gmm[0]))
    return np.asarray((steepness[:, None] * sign * np.exp(1j * at)[None, :]).ravel())


def _classes(block: Block) -> IntArray:
    """Return a class per section: same tool, neighbouring depths (rim holes) or radii (discs)."""
    tools = np.full(len(block.sections), -1.0)
    place = np.zeros(len(block.sections))
    along = block.depth_mm if block.kind == "rim hole" or block.sector_deg is not None else block.radius_mm
    tools[block.section_of] = block.tool_mm
    place[block.section_of] = along
    distinct = np.unique(tools)
    span = sum(float(np.ptp(place[tools == tool])) for tool in distinct)
    width = max(4.0, span / max(1, MOST_CLASSES - distinct.size))
    label = np.zeros(len(block.sections), dtype=np.int64)
    offset = 0
    for tool in distinct:
        member = tools == tool
        low, high = float(place[member].min()), float(place[member].max())
        count = max(1, math.ceil((high - low + 1e-9) / width))
        bins = np.minimum(
            ((place[member] - low) / max((high - low) / count, 1e-9)).astype(np.int64), count - 1
        )
        label[member] = offset + bins
        offset += count
    return np.asarray(np.unique(label, return_inverse=True)[1]).astype(np.int64)


def _class_separation_steps(block: Block, classes: IntArray) -> IntArray:
    """Return the least separation between members of two classes in whole dial steps, shape (c, c)."""
    count = int(classes.max()) + 1
    wall = block.wall_mm
    if block.most_cuts == 1:
        return np.zeros((count, count), dtype=np.int64)  # there is no second cut to keep away from
    if block.kind == "rim hole":
        # the shallowest hole of a class needs the least angle
        first = np.array([int(np.flatnonzero(classes == c)[0]) for c in range(count)])
        some = block.sections.take(first)
        table = separation_deg(some.take((slice(None), None)), some.take((None, slice(None))), wall)
    else:
        table = np.full((count, count), np.inf)
        rows = max(1, _MOST_PAIRS // classes.size)
        for begin in range(0, classes.size, rows):
            part = slice(begin, begin + rows)
            apart = separation_deg(
                block.sections.take((part, None)), block.sections.take((None, slice(None))), wall
            )
            np.minimum.at(table, (classes[part, None], classes[None, :]), apart)
    return np.ceil(table / block.step_deg - 1e-9).astype(np.int64)


def _class_gains(
    block: Block,
    classes: IntArray,
    columns: IntArray,
    factor: FloatArray,
    weight: FloatArray,
    cost: FloatArray,
) -> FloatArray:
    """Return per class the best gain ``factor*weight - cost`` of a legal setting, shape (c, D, A)."""
    count = int(classes.max()) + 1
    gains = np.full((count, *factor.shape), -np.inf, dtype=np.float32)
    single = factor.astype(np.float32)
    # sections of one class that fit at the same angles are one: the best of all their settings
    legal = block.legal[:, columns]
    packed = np.column_stack([classes, np.packbits(legal, axis=1)])
    alike = np.unique(packed, axis=0, return_inverse=True)[1].ravel()
    group_of = alike[block.section_of]
    by_group = np.argsort(group_of, kind="stable")
    ends = np.searchsorted(group_of[by_group], np.arange(int(alike.max()) + 2))
    first = np.unique(alike, return_index=True)[1]
    for group, section in enumerate(first.tolist()):
        inside = legal[section]
        if not inside.any():
            continue
        settings = by_group[ends[group] : ends[group + 1]]
        if settings.size > 6:
            settings = settings[_extreme(weight[settings], cost[settings])]
        target = gains[classes[section]]
        everywhere = bool(inside.all())
        used = single if everywhere else single[:, inside]
        for setting in settings:
            gain = used * np.float32(weight[setting]) - np.float32(cost[setting])
            if everywhere:
                np.maximum(target, gain, out=target)
            else:
                target[:, inside] = np.maximum(target[:, inside], gain)
    return gains


def _extreme(weight: FloatArray, cost: FloatArray) -> IntArray:
    """Return settings that can be best for some factor: the lower convex hull of cost over weight."""
    if not cost.any():  # of what costs nothing the ends
        return np.unique([int(weight.argmin()), int(weight.argmax())])
    order = np.lexsort((cost, weight)).tolist()
    # plain numbers: one after another they are several times as quick as those of an array
    x, y = weight.tolist(), cost.tolist()
    hull: list[int] = []
    for one in order:
        if hull and abs(x[hull[-1]] - x[one]) < 1e-12:
            continue
        while len(hull) >= 2:
            a, b = hull[-2], hull[-1]
            if (x[b] - x[a]) * (y[one] - y[a]) - (y[b] - y[a]) * (x[one] - x[a]) > 0.0:
                break
            hull.pop()
        hull.append(one)
    return np.array(hull)


def _best_chains(
    gains: FloatArray, separation: IntArray, columns: IntArray, block: Block
) -> tuple[FloatArray, int]:
    """Return the best sum of exactly n gains, n = 0, 1, ..., shape (n+1, D), and a bound on the number that fits."""
    classes, rows, _ = gains.shape
    steps = np.round(np.diff(block.relative_deg[columns]) / block.step_deg).astype(np.int64)
    width = int(steps.sum()) + 1
    place = np.concatenate([[0], np.cumsum(steps)])
    grid = np.full((classes, rows, width), -np.inf, dtype=np.float32)
    grid[:, :, place] = gains
    results = [np.zeros(rows), grid.max(axis=(0, 2)).astype(np.float64)]
    fitting = _packing_bound(separation, columns, block, width)
    most = min(fitting, MOST_CHAIN if block.kind == "rim hole" else MOST_DISCS)
    last, following = grid, np.empty_like(grid)
    while len(results) <= most:
        best_until = np.maximum.accumulate(last, axis=2)
        following.fill(-np.inf)
        for before in range(classes):
            for shift in np.unique(separation[:, before]):
                if shift >= width:
                    continue
                after = np.flatnonzero(separation[:, before] == shift)
                tail = best_until[before][:, : width - shift]
                for one in after:
                    np.maximum(following[one][:, shift:], tail, out=following[one][:, shift:])
        last = grid + following
        best = last.max(axis=(0, 2)).astype(np.float64)
        if not np.isfinite(best).any():
            return np.array(results), len(results) - 1
        results.append(best)
    return np.array(results), fitting


def _packing_bound(separation: IntArray, columns: IntArray, block: Block, width: int) -> int:
    """Return a number that more cuts than fit into the window can't exceed."""
    if block.most_cuts == 1:
        return 1
    if block.kind == "rim hole":
        least = int(separation.min())
        return min(block.most_cuts, (width - 1) // max(least, 1) + 1)
    # Discs grown by half a wall do not overlap and lie in the ring sector grown as much.
    reach = block.sections.grow_mm.min() + block.wall_mm / 2.0
    inner = max(0.0, float(block.sections.radius_mm.min()) - reach)
    outer = float(block.sections.radius_mm.max()) + reach
    middle = max(float(block.sections.radius_mm.min()), reach)
    angle = math.radians(float(np.ptp(block.relative_deg[columns]))) + 2.0 * math.asin(
        min(1.0, reach / middle)
    )
    area = min(angle, 2.0 * math.pi) / 2.0 * (outer**2 - inner**2)
    return min(block.most_cuts, max(1, int(area / (math.pi * reach**2))))
