"""Plans of many cuts: whole numbers of those that the program of what has room beside each other picks.

Near the capacity of a crankshaft, or between its sectors, the windows of the master promise more than the walls allow.
The program over everything that could be cut in part (`packing`) says which cuts are worth something there; a mixed-integer
program makes a plan of the best of them, walls pair by pair.  What still remains above the limits is brought down
neighbourhood after neighbourhood: the cuts of one or two counterweights are taken out, and both programs asked about the room
that is left.  Finer steps on the shop's grid are left to the polish.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from planner.correction.candidates.sections import IntArray
from planner.correction.search.master import SCALE_GMM, quiet_stdout, whole_numbers
from planner.correction.search.packing import POINTS_DEG, Counted, Packing, Program, Solved, row_per_set
from planner.correction.search.working_plan import Place, Pool

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

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
MOST_WHOLE = 1000
"""So many cuts of one counterweight, and of the others in part, where one is decided after another."""
FINER_DEG = (POINTS_DEG, 0.5 * POINTS_DEG)
"""So far from each other the points are then, one after the other; only after so little work:"""
ITERATIONS_OF_FINER = 10_000
ROUNDS_OF_SOME = 6
ITERATIONS_OF_SOME = 5_000
"""So often cuts join the program of some counterweights, and so long: it need not be solved to its end."""
BETTER = 0.01
ABOVE_IN_CUTS = 1000.0
"""What is above the limits is dearer than any cuts."""


def packed_plan(
    packing: Packing,
    counted: Counted | None = None,
    so_far: Callable[[list[Place]], None] = lambda _: None,
) -> tuple[list[Place], int]:
    """Return cuts that come near the limits or keep them, as few as the programs lead to.

    Parameters
    ----------
    packing : Packing
        The program over everything that could be cut.
    counted : Counted, optional
        Cuts and points that it may begin with.
    so_far : callable, optional
        Called with the first cuts that keep the limits, or come near them: what follows takes long.

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
    pool, knows_all = packing.pool, packing.knows_all
    per_excess = (
        ABOVE_IN_CUTS * SCALE_GMM / max(float(np.abs(block.amount_gmm).max()) for block in pool.blocks)
    )

    def score(places: list[Place]) -> float:
        return len(places) + per_excess * pool.above(pool.residual(places)) / SCALE_GMM

    def tried_again(kept: list[Place], gone: list[Place], where: set[int]) -> list[Place]:
        """Return the plan with the cuts of some counterweights replaced by what the programs lead to there."""
        program = packing.program(per_cut=1.0, per_excess=per_excess, beside=kept, where=where, more=gone)
        _, solved = packing.worked_out(program, ROUNDS_OF_SOME, ITERATIONS_OF_SOME, bounded=False)
        together = [*kept, *gone]
        if solved is None:
            return together
        least = math.ceil(solved.value - 1e-3) if pool.keeps(together) else solved.value
        if len(kept) + least > score(together) - BETTER:
            return together  # not even with cuts made in part is there anything better
        near = _around(pool, gone, kept)[:AROUND]
        sites = list(dict.fromkeys([*gone, *near, *_worth_most(program, solved)[:SOME_SITES]]))
        return [*kept, *_whole(pool, sites, kept, per_excess, packing.budget.left)]

    cuts, points = ([], None) if counted is None else (counted.cuts, packing.same_points(counted))
    program = packing.program(per_cut=1.0, per_excess=per_excess, more=cuts, points=points)
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
        if size == MOST_SITES[0] and pool.keeps(best):
            so_far(best)
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
        if size == MOST_SITES[0] and best and not pool.keeps(best):
            so_far(best)
    for points_deg in FINER_DEG:
        if pool.keeps(best) or packing.budget.late():
            break
        if points_deg != packing.points_deg:
            packing = Packing(pool, packing.budget, points_deg)
            program = packing.program(per_cut=1.0, per_excess=per_excess)
            _, solved = packing.worked_out(program, bounded=False)
        if solved is None or least_cuts > MORE_UP_TO or program.linear.iterations > ITERATIONS_OF_FINER:
            break
        tried = _one_after_another(packing, program, solved, per_excess)
        if score(tried) < score(best) - BETTER:
            best = tried
    return best, least_cuts if knows_all else 0


def _one_after_another(packing: Packing, program: Program, solved: Solved, per_excess: float) -> list[Place]:
    """Return cuts chosen whole on one counterweight after another, those of the others still made in part.

    The counterweight whose room is dearest comes first: what it can do whole decides, and the others make good the rest.
    """
    pool = packing.pool
    order = sorted(packing.room_prices(solved), key=lambda one: (-one[1], one[0]))
    kept: list[Place] = []
    for number, (counterweight, _) in enumerate(order):
        others = {each for each, _ in order[number + 1 :]}
        if kept:
            where = {counterweight, *others}
            program = packing.program(per_cut=1.0, per_excess=per_excess, beside=kept, where=where)
            _, found = packing.worked_out(program, bounded=False)
            if found is None:
                break
            solved = found
        worth = _worth_most(program, solved)
        whole, parts = (
            [site for site in worth if pool.blocks[site[0]].counterweight in some][:MOST_WHOLE]
            for some in ({counterweight}, others)
        )
        rows = packing.rows_of(program, [*whole, *parts])
        kept += _whole(pool, whole, kept, per_excess, packing.budget.left, in_part=parts, rows=rows)
    return kept


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
    pool: Pool,
    sites: list[Place],
    kept: list[Place],
    per_excess: float,
    seconds: float,
    *,
    in_part: Sequence[Place] = (),
    rows: csr_matrix | None = None,
) -> list[Place]:
    """Return the sites that cost the program least beside other cuts.

    Others may be made ``in_part``; ``rows`` says which of all of them no more than one can be of.
    """
    from scipy.optimize import Bounds, LinearConstraint
    from scipy.sparse import csr_matrix, hstack, vstack

    every, limits = [*sites, *in_part], pool.start.size
    count = len(every)
    if not sites:
        return []
    together = cliques(len(sites), *conflicts(pool, sites))
    program = [row_per_set(together, count + limits)]
    high = [np.ones(len(together))]
    if rows is not None:
        program.append(hstack([rows, csr_matrix((rows.shape[0], limits))]))
        high.append(np.ones(rows.shape[0]))
    around = np.exp(2j * np.pi * np.arange(DIRECTIONS) / DIRECTIONS)
    effects = np.array([pool.contribution(place) for place in every]).T / SCALE_GMM
    left = pool.residual(kept)
    for limit in range(limits):
        above = np.zeros((DIRECTIONS, limits))
        above[:, limit] = -1.0
        program.append(np.hstack([(np.conj(around)[:, None] * effects[limit][None, :]).real, above]))
        inside = pool.tolerance[limit] * math.cos(math.pi / DIRECTIONS)
        high.append((inside - (np.conj(around) * left[limit]).real) / SCALE_GMM)
    most = np.concatenate(high)
    with quiet_stdout():
        answer = whole_numbers(
            np.append(np.ones(count), np.full(limits, per_excess)),
            np.concatenate([np.ones(len(sites)), np.zeros(len(in_part) + limits)]),
            bounds=Bounds(np.zeros(count + limits), np.append(np.ones(count), np.full(limits, np.inf))),
            constraints=LinearConstraint(vstack(program).tocsr(), np.full(most.size, -np.inf), most),
            options={"time_limit": max(0.05, seconds), "node_limit": NODES, "mip_rel_gap": 0.01},
        )
    if answer.x is None:
        return []
    return [sites[one] for one in np.flatnonzero(np.asarray(answer.x)[: len(sites)] > 0.5).tolist()]


def conflicts(pool: Pool, sites: list[Place]) -> tuple[IntArray, IntArray]:
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


def cliques(count: int, first: IntArray, second: IntArray) -> list[IntArray]:
    """Return sets of sites of which at most one can be cut, that have every pair in one of them: far fewer rows than pairs."""
    meets = np.zeros((count, count), dtype=bool)
    meets[first, second] = meets[second, first] = True
    left = meets.copy()
    found = []
    for site in range(count):
        while left[site].any():
            clique = [site, int(np.argmax(left[site]))]
            common = meets[clique[0]] & meets[clique[1]]
            # how many pairs with the others are not yet in a row
            gain = left[clique].sum(axis=0)
            looked, added = 1, 0
            while (members := np.flatnonzero(common)).size:
                added += 1
                if added == looked:
                    looked *= 2
                    if meets[np.ix_(members, members)].sum() == members.size * (members.size - 1):
                        clique += members.tolist()  # all of them, whatever the order
                        break
                one = int(members[np.argmax(gain[members])])
                clique.append(one)
                common &= meets[one]
                gain += left[one]
            members = np.sort(np.array(clique))
            left[np.ix_(members, members)] = False
            found.append(members)
    return found
