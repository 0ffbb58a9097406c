"""Plans of many cuts: whole numbers of those that the program of what has room beside each other picks.

Near the capacity of a crankshaft, or between its sectors, the windows of the master promise more than the walls allow.
The program over everything that could be cut in part (`packing`) says which cuts are worth something there; a mixed-integer
program makes a plan of the best of them, walls pair by pair.  What still remains above the limits is brought down
neighbourhood after neighbourhood: the cuts of one or two counterweights are taken out, and both programs asked about the room
that is left.  Finer steps on the shop's grid are left to the polish.
"""

from __future__ import annotations

import math

import numpy as np

from planner.correction.candidates.sections import IntArray
from planner.correction.search.master import SCALE_GMM, quiet_stdout, whole_numbers
from planner.correction.search.packing import Packing, Program, Solved
from planner.correction.search.working_plan import Place, Pool

DIRECTIONS = 32
NODES = 20
MOST_SITES = (600, 1200, 2400)
SOME_SITES = 250
"""So many cuts take part in a plan of all counterweights, more where that keeps no limits, and of some."""
MORE_UP_TO = 40
"""... unless more cuts than that are needed at least: nobody drills so many holes, and it takes minutes."""
AROUND = 150
"""So many cuts near those that are taken out take part again: turned, larger or smaller by some steps."""
TURNS = (0, 1, -1, 2, -2, 4, -4)
STEPS = (0, 1, -1, 2, -2, 5, -5)
ROUNDS = 2
ROUNDS_OF_SOME = 6
ITERATIONS_OF_SOME = 5_000
"""So often cuts join the program of some counterweights, and so long: it need not be solved to its end."""
BETTER = 0.01
ABOVE_IN_CUTS = 1000.0
"""What is above the limits is dearer than any cuts."""


def packed_plan(packing: Packing) -> tuple[list[Place], int]:
    """Return cuts that come near the limits or keep them, as few as the programs lead to.

    Returns
    -------
    places : list of Place
        Legal cuts.
    least_cuts : int
        How many a plan needs at least; 0 where nothing is proven.

    Raises
    ------
    TimeIsUpError
        If the time is up before anything is known.
    """
    pool = packing.pool
    per_excess = (
        ABOVE_IN_CUTS * SCALE_GMM / max(float(np.abs(block.amount_gmm).max()) for block in pool.blocks)
    )

    def score(places: list[Place]) -> float:
        return len(places) + per_excess * pool.above(pool.residual(places)) / SCALE_GMM

    def tried_again(kept: list[Place], gone: list[Place], where: set[int]) -> list[Place]:
        """Return the plan with the cuts of some counterweights replaced by what the programs lead to there."""
        program = packing.program(per_cut=1.0, per_excess=per_excess, beside=kept, where=where, more=gone)
        _, solved = packing.worked_out(program, ROUNDS_OF_SOME, ITERATIONS_OF_SOME)
        together = [*kept, *gone]
        if solved is None:
            return together
        least = math.ceil(solved.value - 1e-3) if pool.keeps(together) else solved.value
        if len(kept) + least > score(together) - BETTER:
            return together  # not even with cuts made in part is there anything better
        near = _around(pool, gone, kept)[:AROUND]
        sites = list(dict.fromkeys([*gone, *near, *_worth_most(program, solved)[:SOME_SITES]]))
        return [*kept, *_whole(pool, sites, kept, per_excess, packing.budget.left)]

    program = packing.program(per_cut=1.0, per_excess=per_excess)
    bound, solved = packing.worked_out(program)
    least_cuts = math.ceil(bound - 1e-3)
    sites = [] if solved is None else _worth_most(program, solved)
    counterweights = sorted({block.counterweight for block in pool.blocks})
    some = len(counterweights) > 2
    best: list[Place] = []
    for size, smaller in zip(MOST_SITES, (0, *MOST_SITES), strict=False):
        too_many = bool(best) and least_cuts > MORE_UP_TO
        if pool.keeps(best) or too_many or packing.budget.late() or len(sites) <= smaller:
            break
        tried = _whole(pool, sites[:size], [], per_excess, packing.budget.left)
        if score(tried) >= score(best) - BETTER:
            continue
        best = tried
        for _ in range(ROUNDS):
            before = score(best)
            for first, second in zip(counterweights, [*counterweights[1:], counterweights[0]], strict=True):
                if (len(best) <= least_cuts and pool.keeps(best)) or packing.budget.late():
                    break
                where = {first, second} if some else {first}
                gone = [place for place in best if pool.blocks[place[0]].counterweight in where]
                tried = tried_again([place for place in best if place not in gone], gone, where)
                if score(tried) < score(best) - BETTER:
                    best = tried
            if score(best) > before - BETTER:
                break
    return best, least_cuts if packing.knows_all else 0


def _worth_most(program: Program, solved: Solved) -> list[Place]:
    """Return the cuts of a program, those first that cost least too much."""
    new = np.zeros(len(program.columns) - solved.too_dear.size)
    order = np.argsort(np.concatenate([solved.too_dear, new]), kind="stable")
    return [program.columns[one] for one in order.tolist()]


def _around(pool: Pool, gone: list[Place], kept: list[Place]) -> list[Place]:
    """Return cuts near some: turned by steps of the dial, larger or smaller by some settings of their tool."""
    found = []
    for block, setting, angle in gone:
        free = pool.free(block, kept)[pool.blocks[block].section_of]
        family = next(each for each in pool.families(block) if setting in each.settings)
        at = int(np.flatnonzero(family.settings == setting)[0])
        for size in (at + step for step in STEPS if 0 <= at + step < family.settings.size):
            own = int(family.settings[size])
            turned = (angle + turn for turn in TURNS if 0 <= angle + turn < free.shape[1])
            found += [(block, own, one) for one in turned if free[own, one]]
    return list(dict.fromkeys(found))


def _whole(
    pool: Pool, sites: list[Place], kept: list[Place], per_excess: float, seconds: float
) -> list[Place]:
    """Return the sites that cost the program least beside other cuts."""
    from scipy.optimize import Bounds, LinearConstraint
    from scipy.sparse import coo_matrix, vstack

    count, limits = len(sites), pool.start.size
    if not count:
        return []
    cliques = _cliques(count, *_conflicts(pool, sites))
    rows = np.repeat(np.arange(len(cliques)), [clique.size for clique in cliques])
    columns = np.concatenate(cliques) if cliques else np.zeros(0, dtype=np.int64)
    walls = coo_matrix((np.ones(rows.size), (rows, columns)), shape=(len(cliques), count + limits))
    around = np.exp(2j * np.pi * np.arange(DIRECTIONS) / DIRECTIONS)
    effects = np.array([pool.contribution(place) for place in sites]).T / SCALE_GMM
    left = pool.residual(kept)
    high = [np.ones(len(cliques))]
    parts = [walls]
    for row in range(limits):
        above = np.zeros((DIRECTIONS, limits))
        above[:, row] = -1.0
        parts.append(np.hstack([(np.conj(around)[:, None] * effects[row][None, :]).real, above]))
        inside = pool.tolerance[row] * math.cos(math.pi / DIRECTIONS)
        high.append((inside - (np.conj(around) * left[row]).real) / SCALE_GMM)
    most = np.concatenate(high)
    with quiet_stdout():
        answer = whole_numbers(
            np.append(np.ones(count), np.full(limits, per_excess)),
            np.append(np.ones(count), np.zeros(limits)),
            bounds=Bounds(np.zeros(count + limits), np.append(np.ones(count), np.full(limits, np.inf))),
            constraints=LinearConstraint(vstack(parts).tocsr(), np.full(most.size, -np.inf), most),
            options={"time_limit": max(0.05, seconds), "node_limit": NODES, "mip_rel_gap": 0.01},
        )
    if answer.x is None:
        return []
    return [sites[one] for one in np.flatnonzero(np.asarray(answer.x)[:count] > 0.5).tolist()]


def _conflicts(pool: Pool, sites: list[Place]) -> tuple[IntArray, IntArray]:
    """Return pairs of sites that can't both be cut."""
    block, setting, angle = (np.array(each) for each in zip(*sites, strict=True))
    found_1, found_2 = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for first in np.unique(block).tolist():
        for second in np.unique(block[block >= first]).tolist():
            if first != second and not pool.conflicts(first, second):
                continue
            one, two = np.flatnonzero(block == first), np.flatnonzero(block == second)
            i, j = (grid.ravel() for grid in np.meshgrid(one, two, indexing="ij"))
            i, j = i[keep := (i < j) | (first != second)], j[keep]
            apart = pool.apart((first, setting[i], angle[i]), (second, setting[j], angle[j]))
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
