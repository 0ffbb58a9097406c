"""What whole cuts can do at most: against integer programs on shapely's polygons; what can and what can't be done."""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix, hstack, vstack

from planner.correction.budget import Budget
from planner.correction.candidates.blocks import build_blocks
from planner.correction.problem import CorrectionProblem
from planner.correction.search import room_proof, sites, whole_packings
from planner.correction.search.packing import Packing
from planner.correction.search.working_plan import Pool
from planner.correction.verify.verify_plan import verify
from planner.frames import TwoPlanes
from tests.benchmarks.planner_best import Places, Small, far_enough, places, small
from tests.benchmarks.planner_best import asked as asked_small
from tests.unit.test_search_packing import asked as asked_fine
from tests.unit.test_search_packing import excess_gmm, packed_set, pool_of

SIDES = 64


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BOBPLAN_CACHE", "off")


def asked(unbalance_gmm: tuple[complex, complex]) -> CorrectionProblem:
    """Two fans with holes through and in their faces and in their rims, one drill and coarse steps."""
    problem = asked_fine(unbalance_gmm)
    shop = dataclasses.replace(problem.shop, drills_mm=(16.0,), angle_step_deg=10.0, depth_step_mm=4.0)
    return dataclasses.replace(problem, shop=shop)


def at(unbalance_gmm: np.ndarray) -> Pool:
    return pool_of(asked((complex(unbalance_gmm[0]), complex(unbalance_gmm[1]))))


def done_gmm(seed: int) -> tuple[list[tuple[int, int, int]], np.ndarray]:
    """Return cuts that fill both counterweights, and what they take off."""
    pool = at(np.array([1.0 + 0.0j, 1.0 + 0.0j]))
    cuts = packed_set(pool, np.random.default_rng(seed))
    return cuts, -sum((pool.contribution(cut) for cut in cuts), np.zeros(2))


def small_pool(problem: Small) -> Pool:
    question = asked_small(problem)
    return Pool(question, question.unbalance_gmm, build_blocks(question))


def walls(given: Places) -> coo_matrix:
    """Return a row for every two holes that shapely finds nearer to each other than the wall."""
    count = given.left_gmm.size
    pairs = [pair for pair in itertools.combinations(range(count), 2) if not far_enough(given, *pair)]
    column = np.array(pairs, dtype=int).ravel()
    return coo_matrix(
        (np.ones(column.size), (np.repeat(np.arange(len(pairs)), 2), column)), (len(pairs), count)
    )


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("toward_deg", [0.0, 35.0])
@pytest.mark.parametrize(("classes", "finds"), [(1, True), (1, False), (500, True)])
def test_what_a_counterweight_carries_is_that_of_an_integer_program(
    seed: int, toward_deg: float, classes: int, finds: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """HiGHS over every hole of the grid; moments by hand; bounded to within the gap that is allowed, whatever cuts are found."""
    monkeypatch.setattr(whole_packings, "CLASSES", classes)
    monkeypatch.setattr(whole_packings, "ROUNDS", 1)
    if not finds:
        monkeypatch.setattr(whole_packings._Carried, "_packed", lambda *_: [])
    problem = small(seed, holes=1, coarse=True)
    problem = dataclasses.replace(problem, fans=problem.fans[:1], planes_mm=TwoPlanes(50.0, 100.0))
    given = places(problem)
    here = np.exp(1j * np.radians(problem.fans[0].angle_deg + toward_deg))
    pays = (np.conj(here) * (given.left_gmm + given.right_gmm)).real
    answer = milp(
        -pays, integrality=np.ones(pays.size), bounds=(0, 1),
        constraints=LinearConstraint(walls(given), ub=1.0),
    )  # fmt: skip
    pool = small_pool(problem)
    carried = whole_packings._Carried(Packing(pool, Budget()), 0)
    worth = carried.best(np.conj(here) * np.ones(2))
    most = -answer.fun / 1000.0
    assert worth.found <= most + 1e-9
    assert worth.at_most >= most - 1e-9
    worth = carried.sharper(worth, 0.0)
    assert worth.found <= most + 1e-9
    assert worth.at_most >= most - 1e-9
    assert not finds or worth.found >= (1.0 - 2.0 * whole_packings.GAP) * most
    assert worth.at_most <= (1.0 + 2.0 * whole_packings.GAP) * most
    effect = sum((pool.contribution(cut) for cut in worth.cuts), np.zeros(2))
    assert worth.found * 1000.0 == pytest.approx(-(np.conj(here) * effect.sum()).real, rel=1e-9)


def least_left_gmm(problem: Small) -> float:
    """Return what remains above the limits at least, by HiGHS over every hole; circles are polygons around them."""
    given = places(problem)
    count = given.left_gmm.size
    around = np.exp(2j * np.pi * np.arange(SIDES) / SIDES)
    rows, most = (
        [hstack([walls(given), coo_matrix((walls(given).shape[0], 2))])],
        [np.ones(walls(given).shape[0])],
    )
    for plane, (start, effect) in enumerate(
        zip(problem.unbalance_gmm, (given.left_gmm, given.right_gmm), strict=True)
    ):
        above = np.zeros((SIDES, 2))
        above[:, plane] = -1.0
        rows.append(coo_matrix(np.hstack([-(np.conj(around)[:, None] * effect[None, :]).real, above])))
        most.append(problem.limit_gmm - (np.conj(around) * start).real)
    answer = milp(
        np.append(np.zeros(count), np.ones(2)), integrality=np.append(np.ones(count), np.zeros(2)),
        bounds=Bounds(np.zeros(count + 2), np.append(np.ones(count), np.full(2, np.inf))),
        constraints=LinearConstraint(vstack(rows).tocsr(), np.full(sum(map(len, most)), -np.inf), np.concatenate(most)),
        options={"mip_rel_gap": 1e-4},
    )  # fmt: skip
    assert answer.status == 0
    return float(answer.fun)


@pytest.mark.parametrize(("seed", "times"), [(0, 6.0), (1, 3.0), (2, 2.2), (3, 2.2), (4, 2.2), (4, 3.0)])
def test_the_bound_is_no_more_than_what_integer_programs_leave(seed: int, times: float) -> None:
    problem = small(seed, holes=5, coarse=True)
    problem = dataclasses.replace(problem, unbalance_gmm=problem.unbalance_gmm.map(lambda one: times * one))
    left = least_left_gmm(problem)
    least = whole_packings.least_excess_gmm(Packing(small_pool(problem), Budget()))
    assert 0.0 < least <= left + 0.05
    in_part = room_proof.least_excess(small_pool(problem), Budget())[0]
    assert 0.0 < in_part <= left + 0.05


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("classes", [1, 500])
def test_what_cuts_can_do_is_never_proven_impossible(
    seed: int, classes: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(whole_packings, "CLASSES", classes)
    cuts, done = done_gmm(seed)
    pool = at(done)
    assert excess_gmm(pool, cuts) < 1e-6
    assert whole_packings.least_excess_gmm(Packing(pool, Budget())) == 0.0


def test_of_a_class_no_two_can_be_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    """On one ray two holes in the face have room above each other: they are never one class."""
    monkeypatch.setattr(whole_packings, "CLASSES", 1)
    pool = at(np.array([1.0 + 0.0j, 1.0 + 0.0j]))
    packing = Packing(pool, Budget())
    carried = whole_packings._Carried(packing, 0)
    carried.best(np.exp(-1j * np.radians([70.0, 110.0])))
    above_each_other = 0
    for block in carried.blocks:
        for angle in range(pool.blocks[block].relative_deg.size):
            own = [one.members for one in carried._divided() if (one.block, one.angle) == (block, angle)]
            cuts = [
                [packing.best_place(block, int(one), angle, (1.0 + 0j, 0j)) for one in members]
                for members in own
            ]
            for members in cuts:
                for first, second in itertools.combinations(members, 2):
                    assert not apart(pool, first, second)
            every = [cut for members in cuts for cut in members]
            above_each_other += sum(apart(pool, *pair) for pair in itertools.combinations(every, 2))
    assert above_each_other > 0


def apart(pool: Pool, first: tuple[int, int, int], second: tuple[int, int, int]) -> bool:
    """Whether the first has room beside the second."""
    return bool(pool.free(first[0], [second])[pool.blocks[first[0]].section_of[first[1]], first[2]])


def test_it_proves_more_than_cuts_in_part() -> None:
    """Cuts in part would do it; no set of whole ones does, and none that is known leaves less than is said."""
    unbalance_gmm = 0.667 * np.array([28000j, 14000.0 * np.exp(1j * np.radians(190.0))])
    pool = at(unbalance_gmm)
    assert room_proof.least_excess(pool, Budget())[0] == 0.0
    least = whole_packings.least_excess_gmm(Packing(pool, Budget()))
    assert least > 0.0
    for seed in range(40):
        assert least <= excess_gmm(pool, packed_set(pool, np.random.default_rng(seed)))


@pytest.mark.parametrize("seed", range(3))
def test_one_counterweight_after_another_keeps_what_can_be_kept(seed: int) -> None:
    _, done = done_gmm(seed)
    pool = at(done)
    packing = Packing(pool, Budget())
    program = packing.program(per_cut=1.0, per_excess=1000.0)
    _, solved = packing.worked_out(program)
    assert solved is not None
    chosen = sites._one_after_another(packing, program, solved, 1000.0)
    problem = asked((complex(done[0]), complex(done[1])))
    names = [each.name for each in problem.counterweights]
    cuts = [pool.blocks[b].cut(s, a, names[pool.blocks[b].counterweight]) for b, s, a in chosen]
    made = verify(problem, cuts)
    assert not made.faults
    assert np.abs(np.array(list(made.residual_gmm))).max() <= 200.0


def test_a_packed_plan_that_does_not_keep_the_limits_is_told_before_what_takes_long() -> None:
    pool = at(0.667 * np.array([28000j, 14000.0 * np.exp(1j * np.radians(190.0))]))
    told: list[list[tuple[int, int, int]]] = []
    places, _ = sites.packed_plan(Packing(pool, Budget()), so_far=told.append)
    assert len(told) == 1
    assert pool.legal_plan(told[0])
    assert not pool.keeps(told[0])
    assert excess_gmm(pool, places) <= excess_gmm(pool, told[0])
