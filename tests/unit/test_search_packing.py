"""No set of cuts leaves less than the proof by room says: two holes never stand on the same metal."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.sparse import csr_matrix

from geometry_profiles.shapes import fan
from planner.correction.budget import Budget, TimeIsUpError
from planner.correction.candidates.block import Block
from planner.correction.candidates.blocks import build_blocks
from planner.correction.candidates.reach_bounds import build_windows
from planner.correction.problem import CorrectionProblem, LimitRow, PlanOutcome
from planner.correction.search import room_proof, stages
from planner.correction.search.find_plan import NO_HEAVY_METAL, _Search, find_plan
from planner.correction.search.master import Master
from planner.correction.search.packing import DIRECTIONS, Counted, Packing, Prices, Program, counted_once
from planner.correction.search.sites import packed_plan
from planner.correction.search.stages import Attempt
from planner.correction.search.wanted_cuts import Passing
from planner.correction.search.working_plan import Place, Pool
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Shop
from planner.frames import ShaftAngle, TwoPlanes
from planner.jobfile.read import load_job
from planner.rotor.crankshaft import Counterweight, CutKind
from planner.steps.correction_question import pose
from tests.benchmarks.wide_problems import wide_problem
from tests.cli.conftest import EXAMPLES

KINDS: tuple[CutKind, ...] = ("rim hole", "face hole")


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BOBPLAN_CACHE", "off")


def asked(unbalance_gmm: tuple[complex, complex]) -> CorrectionProblem:
    """Two fans at the planes, with holes through and in their faces and in their rims."""
    outline = fan(outer_radius_mm=80.0, half_angle_deg=50.0, inner_radius_mm=35.0)
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes(*unbalance_gmm),
        planes_z_mm=TwoPlanes(20.0, 220.0),
        limits=(
            LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=200.0, z_mm=20.0),
            LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=200.0, z_mm=220.0),
        ),
        counterweights=tuple(
            Counterweight(
                name=name, z_mm=z, angle_deg=ShaftAngle(angle), thickness_mm=24.0, cuts=KINDS, outline=outline
            )
            for name, z, angle in (("A", 20.0, 90.0), ("B", 220.0, 200.0))
        ),
        shop=Shop(
            drills_mm=(10.0, 16.0), angle_step_deg=4.0, depth_step_mm=2.0, slug_radius_step_mm=2.0,
            greatest_depth_mm=30.0, allow=KINDS, aim=1.0,
        ),
        density_g_per_cm3=7.85,
    )  # fmt: skip


def pool_of(problem: CorrectionProblem) -> Pool:
    return Pool(problem, problem.unbalance_gmm, build_blocks(problem))


def two_rows(unbalance_gmm: tuple[complex, complex]) -> CorrectionProblem:
    """The same with one drill, two rows in each rim, blind holes from either face and a dial whose steps miss the points."""
    problem = asked(unbalance_gmm)
    counterweights = tuple(
        dataclasses.replace(each, thickness_mm=48.0, rim_rows_mm=(-12.0, 12.0))
        for each in problem.counterweights
    )
    shop = dataclasses.replace(
        problem.shop,
        drills_mm=(16.0,),
        angle_step_deg=13.3,
        depth_step_mm=9.0,
        slug_radius_step_mm=9.0,
        greatest_depth_mm=18.0,
    )
    return dataclasses.replace(problem, counterweights=counterweights, shop=shop)


QUESTIONS = {"one row": asked, "two rows": two_rows}


def packed_set(pool: Pool, random: np.random.Generator) -> list[Place]:
    """Return cuts put in one after another wherever they still fit, the largest of a few draws first, until none does."""
    places: list[Place] = []
    while True:
        draws: list[tuple[float, Place]] = []
        for block in range(len(pool.blocks)):
            settings, angles = np.nonzero(pool.free(block, places)[pool.blocks[block].section_of])
            if settings.size:
                some = random.integers(settings.size, size=6)
                draws += [
                    (
                        abs(float(pool.blocks[block].amount_gmm[settings[one]])),
                        (block, int(settings[one]), int(angles[one])),
                    )
                    for one in some.tolist()
                ]
        if not draws:
            return places
        places.append(max(draws)[1])


def excess_gmm(pool: Pool, places: list[Place]) -> float:
    """Return what is above the limits after cuts, written out."""
    left = pool.start + sum((pool.contribution(place) for place in places), np.zeros(2))
    return float(np.maximum(np.abs(left) - pool.full_tolerance, 0.0).sum())


@pytest.mark.parametrize("seed", range(4))
def test_what_cuts_can_do_is_never_proven_impossible(seed: int) -> None:
    pool = pool_of(asked((1.0 + 0.0j, 1.0 + 0.0j)))
    places = packed_set(pool, np.random.default_rng(seed))
    assert len(places) > 10
    done = -sum((pool.contribution(place) for place in places), np.zeros(2))
    pair = TwoPlanes(complex(done[0]), complex(done[1]))
    turned = Pool(asked(pair), pair, pool.blocks)
    assert excess_gmm(turned, places) == 0.0
    assert room_proof.least_excess(turned, Budget())[0] == 0.0


@pytest.mark.parametrize("seed", range(3))
def test_cuts_that_fit_beside_each_other_share_no_point(seed: int) -> None:
    pool = pool_of(asked((1.0 + 0.0j, 1.0 + 0.0j)))
    packing = Packing(pool, Budget())
    points = [packing.covered(place) for place in packed_set(pool, np.random.default_rng(seed))]
    together = np.concatenate(points)
    assert together.size > 200
    assert np.unique(together).size == together.size


@pytest.mark.parametrize("question", QUESTIONS)
@pytest.mark.parametrize("rings_mm", [1.0, 2.0])
def test_what_a_cut_still_pays_is_shared_by_the_points_that_it_covers(rings_mm: float, question: str) -> None:
    """Any cut of any block, at any costs: the points that it covers, one by one, are raised by no less than it lacks."""
    pool = pool_of(QUESTIONS[question]((1.0 + 0.0j, 1.0 + 0.0j)))
    packing = Packing(pool, Budget(), rings_mm=rings_mm)
    rng = np.random.default_rng(7)
    looked_at = 0
    for index in 5 * list(range(len(pool.blocks))):
        sections = packing.sections(index).size
        cost = rng.normal(0.8, 1.0, (sections, pool.blocks[index].relative_deg.size))
        dearer = np.zeros(packing.points)
        packing._raise(dearer, index, cost)
        paying = np.argwhere(cost < 0.0)
        looked_at += len(paying)
        for section, angle in rng.permutation(paying)[:50].tolist():
            place = packing.best_place(index, section, angle, (1.0 + 0.0j, 0.0j))
            raised = (dearer * packing._weights)[packing.covered(place)].sum()
            assert raised >= -cost[section, angle] - 1e-9
    assert looked_at > 100


@pytest.mark.parametrize("seed", range(2))
def test_no_prices_prove_more_than_a_known_set_of_cuts_leaves(seed: int) -> None:
    pool = pool_of(asked((1.0 + 0.0j, 1.0 + 0.0j)))
    rng = np.random.default_rng(seed)
    places = packed_set(pool, rng)
    done = -1.2 * sum((pool.contribution(place) for place in places), np.zeros(2))
    pair = TwoPlanes(complex(done[0]), complex(done[1]))
    turned = Pool(asked(pair), pair, pool.blocks)
    packing = Packing(turned, Budget(), rings_mm=1.0)
    free = [turned.free(index, []) for index in range(len(turned.blocks))]
    left_kgmm = excess_gmm(turned, places) / 1000.0
    for dear in (0.0, 0.002, 0.02, 0.2):
        points = dear * rng.random(packing.points) * (rng.random(packing.points) < 0.2)
        limits = counted_once(rng.random((turned.start.size, DIRECTIONS)) ** 8)
        toward = np.exp(2j * np.pi * np.arange(DIRECTIONS) / DIRECTIONS)
        ahead = (np.conj(toward)[None, :] * turned.start[:, None]).real > 0.9 * np.abs(turned.start)[:, None]
        for by_limit in (limits, counted_once(limits * ahead)):
            prices = Prices(points, by_limit.ravel(), np.zeros(len(packing.numbered)))
            assert packing.priced(prices, turned.start, free)[0] <= left_kgmm + 1e-9


def all_together(packing: Packing, places: list[Place]) -> tuple[float, Prices]:
    """Return what all cuts in part leave above the limits, and the prices, by one linear program over all cuts and points."""
    limits, bends = packing.pool.start.size, packing.pool.start.size * DIRECTIONS
    covers = np.zeros((packing.points, len(places)), dtype=bool)
    for column, place in enumerate(places):
        covers[packing.covered(place), column] = True
    rows, first = np.unique(covers, axis=0, return_index=True)
    blocks = np.array([place[0] for place in places])
    numbered = np.equal.outer(np.array(packing.numbered, dtype=int), blocks).astype(float)
    cuts = np.vstack([
        packing.by_direction([packing.pool.contribution(place) for place in places]).T, numbered, rows
    ])  # fmt: skip
    above = np.vstack([-np.repeat(np.eye(limits), DIRECTIONS, axis=0), np.zeros((len(cuts) - bends, limits))])
    most = [float(packing.pool.blocks[block].most_cuts) for block in packing.numbered]
    answer = linprog(
        np.append(np.zeros(len(places)), np.ones(limits)), A_ub=csr_matrix(np.hstack([cuts, above])),
        b_ub=np.concatenate([packing.left_by_limits(packing.pool.start), most, np.ones(len(rows))]),
    )  # fmt: skip
    prices = np.maximum(0.0, -answer.ineqlin.marginals)
    points = np.zeros(packing.points)
    points[first] = prices[bends + len(numbered) :]
    by_limit = counted_once(prices[:bends].reshape(limits, DIRECTIONS)).ravel()
    return float(answer.fun), Prices(points, by_limit, prices[bends : bends + len(numbered)])


@pytest.mark.parametrize("most_cuts", [1, 1000])
def test_of_one_cut_alone_what_it_does_is_taken_off(most_cuts: int) -> None:
    """Where no point costs anything what remains is the sum over the directions less what the cut does there."""
    blocks = [
        dataclasses.replace(block, most_cuts=most_cuts)
        for block in pool_of(asked((1.0 + 0.0j, 1.0 + 0.0j))).blocks
    ]
    pair = TwoPlanes(9000.0j, 5000.0 + 0.0j)
    pool = Pool(asked(pair), pair, blocks)
    packing = Packing(pool, Budget())
    rng = np.random.default_rng(3)
    helps = 0
    for index, block in enumerate(blocks):
        section, angle = rng.permutation(np.argwhere(block.legal))[0].tolist()
        free = [np.zeros_like(each.legal) for each in blocks]
        free[index][section, angle] = True
        limits = counted_once(rng.random((2, DIRECTIONS)) ** 8).ravel()
        prices = Prices(np.zeros(packing.points), limits, np.zeros(len(packing.numbered)))
        settings = np.flatnonzero(block.section_of == section).tolist()
        done = [
            float(packing.by_direction([pool.contribution((index, one, angle))])[0] @ limits)
            for one in settings
        ]
        least = min(0.0, *done)
        helps += least < 0.0
        bound, _ = packing.priced(prices, pool.start, free)
        assert bound == pytest.approx(-packing.left_by_limits(pool.start) @ limits + least, abs=1e-9)
    assert helps > 2


@pytest.mark.parametrize("seed", range(2))
def test_bounds_are_those_of_a_linear_program_over_all_cuts_and_points(seed: int) -> None:
    """scipy's HiGHS over everything at once: its prices prove its value, no others prove more; some blocks are cut once only."""
    rng = np.random.default_rng(seed)
    blocks = [
        dataclasses.replace(block, most_cuts=1) if rng.random() < 0.3 else block
        for block in pool_of(two_rows((1.0 + 0.0j, 1.0 + 0.0j))).blocks
    ]
    some = pool_of(two_rows((1.0 + 0.0j, 1.0 + 0.0j)))
    done = -1.5 * sum((some.contribution(place) for place in packed_set(some, rng)), np.zeros(2))
    pair = TwoPlanes(complex(done[0]), complex(done[1]))
    pool = Pool(two_rows(pair), pair, blocks)
    packing = Packing(pool, Budget(), rings_mm=room_proof.RINGS_MM)
    places = [
        (index, int(setting), int(angle))
        for index, block in enumerate(blocks)
        for setting, angle in zip(*np.nonzero(block.legal[block.section_of]), strict=True)
    ]
    value, prices = all_together(packing, places)
    assert value > 0.0
    free = [pool.free(index, []) for index in range(len(blocks))]
    assert packing.priced(prices, pool.start, free)[0] == pytest.approx(value, rel=1e-6)
    assert 0.5 * value <= room_proof.least_excess(pool, Budget())[0] / 1000.0 <= value
    for spread in (0.0, 0.02, 0.1, 0.4):
        for part in (0.5, 0.95, 1.0, 1.2):
            points = part * prices.points * rng.normal(1.0, spread, prices.points.size).clip(0.0)
            numbers = part * prices.numbers * rng.normal(1.0, spread, prices.numbers.size).clip(0.0)
            others = Prices(points, prices.limits, numbers)
            assert packing.priced(others, pool.start, free)[0] <= value + 1e-9


def test_rim_cuts_that_cover_no_point_join_without_a_warning() -> None:
    kinds: tuple[CutKind, ...] = ("rim hole", "face hole", "rim turning", "flat", "bevel")
    problem = asked((28000.0j, complex(14000.0 * np.exp(1j * np.radians(190.0)))))
    problem = dataclasses.replace(
        problem,
        counterweights=tuple(dataclasses.replace(each, cuts=kinds) for each in problem.counterweights),
        shop=dataclasses.replace(problem.shop, allow=kinds, drills_mm=(16.0,), rim_cut_step_mm=0.5),
    )
    pool = pool_of(problem)
    assert {"rim turning", "flat"} <= {block.kind for block in pool.blocks}
    assert room_proof.least_excess(pool, Budget())[0] >= 0.0


def test_what_is_proven_when_the_time_is_up_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    pool = pool_of(asked((28000.0j, complex(14000.0 * np.exp(1j * np.radians(190.0))))))
    monkeypatch.setattr(room_proof, "GOOD", 2.0)  # never good: one step more is made
    budget = Budget()
    real = Packing.priced

    def late(packing: Packing, *arguments: object, **wishes: object) -> tuple[float, list[Place]]:
        bound, new = real(packing, *arguments, **wishes)  # type: ignore[arg-type]
        if bound > 1.0:
            budget.deadline = 0.0
        return bound, new

    monkeypatch.setattr(Packing, "priced", late)
    assert room_proof.least_excess(pool, budget)[0] > 900.0


def test_a_cut_that_covers_no_point_proves_nothing() -> None:
    pool = pool_of(asked((1.0 + 0.0j, 1.0 + 0.0j)))
    packing = Packing(pool, Budget())
    packing._areas = [np.zeros_like(areas) for areas in packing._areas]
    dearer = np.zeros(packing.points)
    packing._raise(dearer, 0, np.full(packing._areas[0].shape, -1.0))
    assert np.isinf(dearer).any()


@pytest.mark.parametrize("seed", [101])
def test_no_set_of_cuts_leaves_less_than_the_proof_says(seed: int) -> None:
    """What a full set of cuts removes, and more: the more is what remains at least, as far as it is proven."""
    pool = pool_of(asked((1.0 + 0.0j, 1.0 + 0.0j)))
    places = packed_set(pool, np.random.default_rng(seed))
    done = -sum((pool.contribution(place) for place in places), np.zeros(2))
    for more in (1.5, 2.0):
        pair = TwoPlanes(complex(more * done[0]), complex(more * done[1]))
        turned = Pool(asked(pair), pair, pool.blocks)
        assert room_proof.least_excess(turned, Budget())[0] <= excess_gmm(turned, places)


def test_room_proves_what_the_windows_do_not() -> None:
    problem = asked((28000.0j, complex(14000.0 * np.exp(1j * np.radians(190.0)))))
    pool = pool_of(problem)
    windows = [one for index, block in enumerate(pool.blocks) for one in build_windows(block, index)]
    assert Master(problem, problem.unbalance_gmm, pool.blocks, windows).excess_gmm()[0] == 0.0
    outcome = find_plan(problem, seconds=3600.0)
    assert not outcome.feasible
    assert outcome.certificate is not None
    assert outcome.certificate.excess_sum_gmm > 1000.0
    assert "walls between them" in outcome.certificate.text
    # what is shown instead leaves at least as much
    left = outcome.residual_gmm
    assert sum(max(0.0, abs(one) - 200.0) for one in left) >= outcome.certificate.excess_sum_gmm


@pytest.mark.parametrize("seed", [0])
def test_a_full_counterweight_is_packed_with_no_more_cuts(seed: int) -> None:
    """Cuts put in at random wherever they fit can be done: by as many at most, and by no fewer than is proven."""
    pool = pool_of(asked((1.0 + 0.0j, 1.0 + 0.0j)))
    known = packed_set(pool, np.random.default_rng(seed))[:14]
    done = -sum((pool.contribution(place) for place in known), np.zeros(2))
    pair = TwoPlanes(complex(done[0]), complex(done[1]))
    turned = Pool(asked(pair), pair, pool.blocks)
    assert excess_gmm(turned, known) == 0.0
    places, least = packed_plan(Packing(turned, Budget()))
    assert turned.legal_plan(places)
    assert excess_gmm(turned, places) == 0.0
    assert 2 < least <= len(places) <= len(known)


def test_holes_that_are_drilled_deeper_are_drilled_once() -> None:
    """A block of one cut counts once, however well that cut would serve again."""
    problem = asked((28000.0j, complex(14000.0 * np.exp(1j * np.radians(190.0)))))
    pool = pool_of(problem)
    single: list[Block] = [dataclasses.replace(block, most_cuts=1) for block in pool.blocks]
    once = room_proof.least_excess(Pool(problem, problem.unbalance_gmm, single), Budget())[0]
    # four blocks and more of one cut each: the greatest effects of all of them together
    most = sum(float(np.abs(block.amount_gmm).max()) for block in single)
    assert once >= 0.9 * (28000.0 + 14000.0 - 400.0 - most)


def test_time_that_is_up_breaks_it_off() -> None:
    with pytest.raises(TimeIsUpError):
        room_proof.least_excess(pool_of(asked((28000.0j, 14000.0 + 0.0j))), Budget(0.0))


def test_points_of_another_program_are_asked_about_where_they_stand() -> None:
    """Half a millimetre to either side of a ring of the wider program are two of the finer one, at the same angles."""
    pool = pool_of(asked((28000.0j, 14000.0 + 0.0j)))
    fine, wide = Packing(pool, Budget(), rings_mm=1.0), Packing(pool, Budget(), rings_mm=2.0)
    for place in packed_set(pool, np.random.default_rng(1)):
        covered = np.zeros(fine.points, dtype=bool)
        covered[fine.covered(place)] = True
        found = np.flatnonzero(wide.same_points(fine.counted([place], covered)))
        own = wide.covered(place)
        # a ring of the wider program that is covered has a covered ring beside it; at most the outermost point is off
        assert np.isin(own, found).all()
        assert own.size <= found.size < 1.5 * own.size


def test_a_program_for_few_cuts_begins_with_what_counted_in_the_proof() -> None:
    """Asked the same questions of the points that counted there, it promises less at its first step."""
    pool = pool_of(asked((20000.0j, complex(-15000.0, -5500.0))))
    excess, counted = room_proof.least_excess(pool, Budget())
    assert excess == 0.0
    assert counted is not None
    values = []
    for begins in (False, True):
        packing = Packing(pool, Budget())
        points = packing.same_points(counted) if begins else None
        program = packing.program(per_cut=1.0, per_excess=100.0, more=counted.cuts, points=points)
        assert set(packing.fitting(counted.cuts, program.free)) <= set(program.columns)
        _, solved = packing.worked_out(program, rounds=1)
        assert solved is not None
        values.append(solved.value)
    assert values[1] > values[0] * 1.1


def test_packed_plans_begin_with_what_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first program of a plan of many cuts asks about those points and has those cuts."""
    pool = pool_of(asked((20000.0j, complex(-15000.0, -5500.0))))
    _, counted = room_proof.least_excess(pool, Budget())
    assert counted is not None

    class SeenError(Exception):
        pass

    def seen(self: Packing, program: Program) -> tuple[float, None]:
        assert (self.same_points(counted) <= program.asked).all()
        assert set(self.fitting(counted.cuts, program.free)) <= set(program.columns)
        raise SeenError

    monkeypatch.setattr(Packing, "worked_out", seen)
    with pytest.raises(SeenError):
        packed_plan(Packing(pool, Budget()), counted)


def test_the_first_packed_plan_is_in_hand_when_the_time_is_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """A set of cuts that is known to do it stands for what the first program packs; what follows has no time."""
    pool = pool_of(asked((1.0 + 0.0j, 1.0 + 0.0j)))
    places = packed_set(pool, np.random.default_rng(0))
    done = -sum((pool.contribution(place) for place in places), np.zeros(2))

    def too_late(
        packing: Packing, counted: Counted | None, so_far: Callable[[list[Place]], None]
    ) -> tuple[list[Place], int]:
        so_far(places)
        packing.budget.deadline = 0.0
        packing.budget.check()
        return [], 0

    monkeypatch.setattr(stages, "packed_plan", too_late)
    outcome = find_plan(asked((complex(done[0]), complex(done[1]))), seconds=600.0)
    assert outcome.proof.stopped_by_time
    assert outcome.feasible
    assert len(outcome.cuts) <= len(places)


@pytest.mark.parametrize("packed", [False, True])
def test_a_plan_with_heavy_metal_is_in_hand_when_the_time_is_up_before_drilling_is_decided(
    packed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Drilling alone takes 72 holes at least there, and a long search; three cuts with slugs do (invented problem).

    Where one cut after another leads to no plan, one is packed.
    """
    if packed:
        monkeypatch.setattr(Attempt, "some_plan", lambda self: None)
    real = room_proof.least_excess
    packings: list[Packing] = []

    def recorded(packing: Packing, *given: Any) -> tuple[list[Place], int]:
        packings.append(packing)
        return packed_plan(packing, *given)

    monkeypatch.setattr(stages, "packed_plan", recorded)

    def too_late(pool: Pool, budget: Budget) -> tuple[float, Counted | None]:
        assert not any(block.kind == "slug" for block in pool.blocks)
        budget.deadline = 0.0
        return real(pool, budget)

    monkeypatch.setattr(room_proof, "least_excess", too_late)
    outcome = find_plan(wide_problem(293), seconds=600.0)
    assert outcome.proof.stopped_by_time
    assert packed == (len(packings) > 0)
    assert outcome.feasible
    assert any(item.cut.kind == "slug" for item in outcome.cuts)
    assert outcome.drilling is not None
    assert not outcome.drilling.feasible
    assert not verify(wide_problem(293), [item.cut for item in outcome.cuts]).faults


def test_some_plan_is_in_hand_when_the_time_is_up_before_anything_is_packed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A V8 four times as far out as the example: ten holes at least, and a plan of more of them before the long search."""

    def too_late(packing: Packing, *_: Any) -> tuple[list[Place], int]:
        packing.budget.deadline = 0.0
        packing.budget.check()
        return [], 0

    monkeypatch.setattr(stages, "packed_plan", too_late)
    problem = dataclasses.replace(
        pose(load_job(EXAMPLES / "cross_plane_v8" / "job.toml")).problem,
        unbalance_gmm=TwoPlanes(
            14000.0 * np.exp(1j * np.radians(214.0)), 14000.0 * np.exp(1j * np.radians(60.0))
        ),
    )
    outcome = find_plan(problem, seconds=600.0)
    assert outcome.proof.stopped_by_time
    assert outcome.feasible
    assert len(outcome.cuts) >= outcome.proof.bound_cuts >= 10
    report = verify(problem, [item.cut for item in outcome.cuts])
    assert not report.faults
    assert all(amount <= row.tolerance_gmm for row, amount in report.limits)


def test_time_that_is_up_after_some_cuts_were_tried_in_vain_is_an_answer() -> None:
    """What one cut after another leads to is shown as the best that was found, with nothing else laid out any more."""
    problem = pose(load_job(EXAMPLES / "cross_plane_v8" / "job.toml")).problem
    far = 40000.0 * np.exp(1j * np.radians(214.0))
    search = _Search(
        dataclasses.replace(problem, unbalance_gmm=TwoPlanes(far, far)),
        Budget(600.0),
        None,
        None,
        quick=False,
    )
    attempt = search.attempt(NO_HEAVY_METAL)
    assert attempt.some_plan() is None
    search.budget.deadline = 0.0
    outcome = search.run(NO_HEAVY_METAL)
    assert not outcome.feasible
    assert outcome.proof.stopped_by_time
    assert len(outcome.best_effort) > 1


def test_a_plan_of_fewer_cuts_with_heavy_metal_that_is_in_hand_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Seven holes do it (proven fewest), so they are the plan; that a slug saves some of them the answer says."""
    kinds: tuple[CutKind, ...] = ("rim hole", "slug")
    plain = asked((9000.0j, complex(-6765.8, -2462.5)))
    both = [
        dataclasses.replace(each, name=f"{each.name}{number}", cuts=kinds,
                            angle_deg=ShaftAngle(each.angle_deg + turn), z_mm=each.z_mm + along)
        for each in plain.counterweights
        for number, turn, along in ((1, 0.0, 0.0), (2, 180.0, 30.0))
    ]  # fmt: skip
    shop = dataclasses.replace(plain.shop, allow=kinds, drills_mm=(16.0,), slug_diameters_mm=(25.4,))
    problem = dataclasses.replace(plain, shop=shop, counterweights=tuple(both))
    real = _Search.run

    def prepared(
        self: _Search, kinds: tuple[CutKind, ...], before_long: Callable[[], None] = lambda: None
    ) -> PlanOutcome:
        before_long()  # as a search does that takes long
        return real(self, kinds, before_long)

    assert find_plan(problem, seconds=600.0).with_heavy_metal == (), "none was met"
    monkeypatch.setattr(_Search, "run", prepared)
    outcome = find_plan(problem, seconds=600.0)
    assert outcome.feasible
    assert all(item.cut.kind == "rim hole" for item in outcome.cuts)
    worse = Passing(
        wanted=0.95, room_gmm=(200.0, 200.0), circle_gmm=lambda: None, centred_chance=lambda cuts: 0.9,
        chance=lambda cuts: 0.5 if any(cut.kind == "slug" for cut in cuts) else 0.9,
    )  # fmt: skip
    assert find_plan(problem, seconds=600.0, passing=worse).with_heavy_metal == (), "it is less sure to pass"
    other = outcome.with_heavy_metal
    assert any(item.cut.kind == "slug" for item in other)
    assert 0 < len(other) < len(outcome.cuts)
    report = verify(problem, [item.cut for item in other])
    assert not report.faults
    assert all(amount <= row.tolerance_gmm for row, amount in report.limits)
