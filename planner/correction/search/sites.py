"""Starts from real places: a mixed-integer program over thinned-out places with free amounts, walls pair by pair.

Near the capacity of a crankshaft, or between its sectors, the windows of the master promise more than the walls allow.
Here every place is one that exists: a tool at a dial angle in a class of depths, its amount free within the class.
Walls between classes are those of their deepest settings, so that what comes out can be cut; rounding to the shop's grid
and everything finer is left to the polish.  Nothing is proven here.
"""

from __future__ import annotations

import numpy as np

from planner.correction.candidates.sections import FloatArray, IntArray
from planner.correction.search.master import quiet_stdout
from planner.correction.search.working_plan import ComplexArray, Place, Pool
from planner.records import dataclass

MOST_SITES = 420
CLASSES = 2
DIRECTIONS = 16
SCALE_GMM = 1000.0
NODES = 100
INSIDE = 0.9
"""The limits are drawn in so far, because of what rounding costs."""


@dataclass(frozen=True)
class _Sites:
    """Places of all blocks: where, from which to which amount (sizes), and the setting that stands for its walls."""

    block: IntArray
    angle: IntArray
    wall_setting: IntArray
    low: FloatArray
    high: FloatArray
    family: IntArray


def site_plan(pool: Pool, *, most_cuts: int, least_cuts: int, seconds: float) -> list[Place] | None:
    """Return cuts that come near the limits, as few as the program finds; None if it finds none.

    Parameters
    ----------
    pool : Pool
        Blocks and limits.
    most_cuts, least_cuts : int
        Between which the number of cuts must be.
    seconds : float
        Outer stop [s]; branches are counted and end it on ordinary problems.
    """
    sites = _sites(pool)
    if sites is None:
        return None
    x = _solve(pool, sites, most_cuts=most_cuts, least_cuts=least_cuts, seconds=seconds)
    if x is None:
        return None
    count = sites.block.size
    chosen = np.flatnonzero(x[:count] > 0.5)
    places: list[Place] = []
    for one in chosen:
        block = int(sites.block[one])
        b = pool.blocks[block]
        angle = int(sites.angle[one])
        member = np.flatnonzero((b.family == sites.family[one]) & pool.legal(block)[:, angle])
        size = np.abs(b.amount_gmm[member])
        member = member[(size >= sites.low[one] - 1e-6) & (size <= sites.high[one] + 1e-6)]
        if not member.size:
            return None
        wanted = float(x[count + one]) * SCALE_GMM
        setting = int(member[np.argmin(np.abs(np.abs(b.amount_gmm[member]) - wanted))])
        places.append((block, setting, angle))
    return places if pool.legal_plan(places) else None


def _sites(pool: Pool) -> _Sites | None:
    """Return places thinned out so that the program stays small."""
    rows: list[tuple[int, int, int, float, float, int]] = []
    every = sum(b.relative_deg.size * len(pool.families(i)) for i, b in enumerate(pool.blocks))
    stride_of = max(1.0, every * CLASSES / MOST_SITES)
    for index, b in enumerate(pool.blocks):
        legal = pool.legal(index)
        size = np.abs(b.amount_gmm)
        families = pool.families(index)
        # of many tools the few that do most serve as well
        if len(families) > 3:
            best = sorted(families, key=lambda family: -float(family.size_gmm[-1]))
            families = [best[0], best[len(best) // 2], best[-1]]
        angles = b.relative_deg.size
        stride = max(1, round(stride_of * len(families) / max(1, len(pool.families(index)))))
        columns = np.unique(np.linspace(0, angles - 1, max(2, angles // stride + 1)).astype(int))
        for family in families:
            number = int(b.family[family.settings[0]])
            mask = legal[family.settings]
            for column in columns:
                fitting = family.settings[mask[:, column]]
                if not fitting.size:
                    continue
                fitting = fitting[np.argsort(size[fitting], kind="stable")]
                for part in np.array_split(fitting, CLASSES if fitting.size >= 6 else 1):
                    deepest = _widest(pool, index, part)
                    rows.append(
                        (index, int(column), deepest, float(size[part[0]]), float(size[part[-1]]), number)
                    )
    if not rows:
        return None
    block, angle, wall, low, high, family_of = zip(*rows, strict=True)
    return _Sites(
        np.array(block), np.array(angle), np.array(wall), np.array(low), np.array(high), np.array(family_of)
    )


def _widest(pool: Pool, block: int, settings: IntArray) -> int:
    """Return the setting whose walls stand for all of them: the deepest hole; of discs the one nearest the shaft."""
    b = pool.blocks[block]
    if b.kind == "rim hole":
        return int(settings[-1])
    inner = np.nan_to_num(b.radius_mm[settings], nan=0.0)
    return int(settings[int(np.argmin(inner))])


def _solve(
    pool: Pool, sites: _Sites, *, most_cuts: int, least_cuts: int, seconds: float
) -> FloatArray | None:
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_matrix

    count = sites.block.size
    rows_i: list[IntArray] = []
    rows_j: list[IntArray] = []
    values: list[FloatArray] = []
    low: list[FloatArray] = []
    high: list[FloatArray] = []
    total = 0

    def add(i: IntArray, j: IntArray, v: FloatArray, lows: FloatArray, highs: FloatArray) -> None:
        nonlocal total
        rows_i.append(i + total)
        rows_j.append(j)
        values.append(v)
        low.append(lows)
        high.append(highs)
        total += lows.size

    every = np.arange(count)
    # low*x <= u <= high*x
    add(
        np.concatenate([every, every]), np.concatenate([every + count, every]),
        np.concatenate([np.ones(count), -sites.high / SCALE_GMM]), np.full(count, -np.inf), np.zeros(count),
    )  # fmt: skip
    add(
        np.concatenate([every, every]), np.concatenate([every + count, every]),
        np.concatenate([np.ones(count), -sites.low / SCALE_GMM]), np.zeros(count), np.full(count, np.inf),
    )  # fmt: skip
    add(
        np.zeros(count, dtype=np.int64), every, np.ones(count),
        np.array([float(least_cuts)]), np.array([float(most_cuts)]),
    )  # fmt: skip
    cliques = _cliques(count, *_conflicts(pool, sites))
    if cliques:
        add(
            np.repeat(np.arange(len(cliques)), [clique.size for clique in cliques]), np.concatenate(cliques),
            np.ones(sum(clique.size for clique in cliques)),
            np.full(len(cliques), -np.inf), np.ones(len(cliques)),
        )  # fmt: skip
    unit: ComplexArray = np.array([
        pool.phases(int(b))[a] * (-1.0 if pool.blocks[int(b)].amount_gmm[0] < 0.0 else 1.0)
        for b, a in zip(sites.block, sites.angle, strict=True)
    ])  # fmt: skip
    weight = np.stack([
        pool.row_weights(int(b), np.array([s]))[:, 0]
        for b, s in zip(sites.block, sites.wall_setting, strict=True)
    ], axis=1)  # fmt: skip
    around = np.exp(2j * np.pi * np.arange(DIRECTIONS) / DIRECTIONS)
    for row in range(pool.start.size):
        matrix = (np.conj(around)[:, None] * (weight[row] * unit)[None, :]).real
        start = (np.conj(around) * pool.start[row]).real / SCALE_GMM
        room = INSIDE * pool.tolerance[row] * np.cos(np.pi / DIRECTIONS) / SCALE_GMM
        i, j = np.nonzero(np.ones_like(matrix))
        add(i, j + count, matrix.ravel(), np.full(DIRECTIONS, -np.inf), room - start)
    objective = np.concatenate([np.ones(count), np.full(count, 1e-4)])
    with quiet_stdout():
        answer = milp(
            objective,
            integrality=np.concatenate([np.ones(count), np.zeros(count)]),
            bounds=Bounds(np.zeros(2 * count), np.concatenate([np.ones(count), sites.high / SCALE_GMM])),
            constraints=LinearConstraint(
                coo_matrix(
                    (np.concatenate(values), (np.concatenate(rows_i), np.concatenate(rows_j))),
                    shape=(total, 2 * count),
                ).tocsr(),
                np.concatenate(low),
                np.concatenate(high),
            ),
            options={
                "time_limit": max(0.05, seconds),
                "node_limit": NODES,
                "mip_rel_gap": 0.0,
            },
        )
    return None if answer.x is None else np.asarray(answer.x)


def _conflicts(pool: Pool, sites: _Sites) -> tuple[IntArray, IntArray]:
    """Return pairs of sites that can't both be cut."""
    found_1, found_2 = [], []
    where = np.array([pool.blocks[int(b)].counterweight for b in sites.block])
    for counterweight in np.unique(where):
        own = np.flatnonzero(where == counterweight)
        for first in np.unique(sites.block[own]):
            one = own[sites.block[own] == first]
            for second in np.unique(sites.block[own]):
                if second < first:
                    continue
                two = own[sites.block[own] == second]
                i, j = (grid.ravel() for grid in np.meshgrid(one, two, indexing="ij"))
                keep = i < j if first == second else np.ones(i.size, dtype=bool)
                i, j = i[keep], j[keep]
                apart = pool.apart(
                    (int(first), sites.wall_setting[i], sites.angle[i]),
                    (int(second), sites.wall_setting[j], sites.angle[j]),
                )
                found_1.append(i[~apart])
                found_2.append(j[~apart])
    return np.concatenate(found_1), np.concatenate(found_2)


def _cliques(count: int, first: IntArray, second: IntArray) -> list[IntArray]:
    """Return sets of sites of which at most one can be cut, that have every pair in one of them: far fewer rows than pairs."""
    meets = np.zeros((count, count), dtype=bool)
    meets[first, second] = meets[second, first] = True
    left = meets.copy()
    cliques = []
    for site in range(count):
        while left[site].any():
            clique = [site, int(np.argmax(left[site]))]
            common = meets[clique[0]] & meets[clique[1]]
            while common.any():
                members = np.flatnonzero(common)
                # the one that has most pairs with the others not yet in a row
                gain = left[members[:, None], np.array(clique)[None, :]].sum(axis=1)
                one = int(members[np.argmax(gain)])
                clique.append(one)
                common &= meets[one]
            members = np.sort(np.array(clique))
            left[np.ix_(members, members)] = False
            cliques.append(members)
    return cliques
