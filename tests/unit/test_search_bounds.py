"""The proofs rest on outer bounds: nothing that can really be cut may lie beyond them."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from geometry_profiles.shapes import disc, fan
from planner.correction.candidates.block import Block
from planner.correction.candidates.blocks import build_blocks
from planner.correction.candidates.reach_bounds import build_windows, split_columns
from planner.correction.candidates.shared_reach import shared_bounds
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.correction.search.master import Master
from planner.correction.search.working_plan import Place, Pool
from planner.cuts.cut import Shop
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight, CutKind, ExistingHole

KINDS: tuple[CutKind, ...] = ("rim hole", "face hole", "slug")


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BOBPLAN_CACHE", "off")


def asked(kind: CutKind) -> CorrectionProblem:
    old = ExistingHole(kind="rim hole", angle_deg=170.0, diameter_mm=16.0, depth_shoulder_mm=20.0)
    outline = fan(outer_radius_mm=84.0, half_angle_deg=57.0, inner_radius_mm=35.0)
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes(3000.0 + 500.0j, -2000.0j),
        planes_z_mm=TwoPlanes(20.0, 460.0),
        limits=(
            LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=200.0, z_mm=20.0),
            LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=200.0, z_mm=460.0),
        ),
        counterweights=(
            Counterweight(
                name="A", z_mm=30.0, angle_deg=181.5, thickness_mm=26.0, outline=outline, cuts=KINDS, existing=(old,)
            ),
            Counterweight(
                name="B", z_mm=450.0, angle_deg=20.0, thickness_mm=26.0, cuts=KINDS,
                outline=disc(outer_radius_mm=80.0, inner_radius_mm=35.0),
            ),
        ),
        shop=Shop(
            drills_mm=(10.0, 16.0), angle_step_deg=3.0, depth_step_mm=1.0, slug_diameters_mm=(19.05, 25.4),
            slug_lengths_mm=(12.0, 26.0), allow=(kind,), aim=1.0,
        ),
        density_g_per_cm3=7.85,
    )  # fmt: skip


def random_set(
    pool: Pool, block: int, columns: np.ndarray, random: np.random.Generator, most: int
) -> list[Place]:
    """Return cuts of one window drawn one by one wherever they still fit."""
    places: list[Place] = []
    for _ in range(most):
        free = pool.free(block, places)[:, columns][pool.blocks[block].section_of]
        settings, angles = np.nonzero(free)
        if settings.size == 0:
            break
        # half of the draws pack from one side, so that full windows are met too
        one = int(random.integers(settings.size)) if random.random() < 0.5 else int(np.argmin(angles))
        places.append((block, int(settings[one]), int(columns[angles[one]])))
    return places


@pytest.mark.parametrize("kind", KINDS)
def test_no_set_of_cuts_reaches_beyond_the_bounds(kind: CutKind) -> None:
    problem = asked(kind)
    blocks = build_blocks(problem)
    pool = Pool(problem, problem.unbalance_gmm, blocks)
    random = np.random.default_rng(7)
    checked = 0
    for index, block in enumerate(blocks):
        for window in build_windows(block, index):
            for _ in range(40):
                places = random_set(pool, index, window.columns, random, int(random.integers(1, 9)))
                number = len(places)
                assert number <= window.most_cuts
                assert pool.legal_plan(places)
                row = min(number, window.most)
                beyond = number / row
                effects = np.array([pool.effect(place) for place in places])
                offsets = np.array([block.offset_mm[place[1]] for place in places])
                for tilt, reach in zip(window.tilts_per_mm, window.reach_gmm[row], strict=True):
                    total = (effects * (1.0 + tilt * offsets)).sum()
                    along = (np.exp(-1j * window.directions_rad) * total).real
                    assert (along <= reach * beyond + 1e-3).all()
                excess = pool.cost(places) - (np.conj(window.slopes) * effects.sum()).real
                assert (excess >= window.least_excess[row] * beyond - 1e-3).all()
                checked += number > 1
    assert checked > 20


@pytest.mark.parametrize("kind", KINDS)
def test_single_cuts_meet_the_bounds(kind: CutKind) -> None:
    """For one cut the bound is no relaxation: some setting reaches it in every direction."""
    problem = asked(kind)
    blocks = build_blocks(problem)
    pool = Pool(problem, problem.unbalance_gmm, blocks)
    for index, block in enumerate(blocks):
        for window in build_windows(block, index):
            legal = pool.legal(index)[:, window.columns]
            effect = block.amount_gmm[:, None] * pool.phases(index)[window.columns][None, :]
            for direction, reach in zip(window.directions_rad, window.reach_gmm[1, 0], strict=True):
                along = np.where(legal, (np.exp(-1j * direction) * effect).real, -np.inf).max()
                assert along == pytest.approx(reach, rel=1e-5, abs=0.01)


def test_windows_are_split_at_old_holes_and_cover_every_angle() -> None:
    block = build_blocks(asked("rim hole"))[0]
    runs = split_columns(block)
    assert len(runs) >= 2
    assert np.concatenate(runs).tolist() == list(range(block.relative_deg.size))


def test_what_remains_at_least_is_never_more_than_what_some_cuts_leave() -> None:
    problem = dataclasses.replace(asked("rim hole"), unbalance_gmm=TwoPlanes(40000.0 + 0j, 30000.0j))
    blocks = build_blocks(problem)
    windows = [w for i, b in enumerate(blocks) for w in build_windows(b, i)]
    total, each = Master(problem, problem.unbalance_gmm, blocks, windows).excess_gmm()
    assert total > 0.0
    assert sum(each) <= total + 1e-6
    pool = Pool(problem, problem.unbalance_gmm, blocks)
    random = np.random.default_rng(3)
    for _ in range(30):
        places = [
            place
            for i, b in enumerate(blocks)
            for place in random_set(pool, i, np.arange(b.relative_deg.size), random, 6)
        ]
        left = np.abs(pool.residual(places)) - pool.tolerance
        assert np.maximum(left, 0.0).sum() >= total
        assert (left >= np.array(each) - 1e-6).all()


def test_bounds_turn_with_the_counterweight() -> None:
    problem = asked("rim hole")
    turned = dataclasses.replace(
        problem,
        counterweights=tuple(
            dataclasses.replace(
                c,
                angle_deg=c.angle_deg + 30.0,
                existing=tuple(dataclasses.replace(h, angle_deg=h.angle_deg + 30.0) for h in c.existing),
            )
            for c in problem.counterweights
        ),
    )

    def windows(one: CorrectionProblem) -> list[tuple[Block, object]]:
        return [(b, w) for i, b in enumerate(build_blocks(one)) for w in build_windows(b, i)]

    for (_, before), (_, after) in zip(windows(problem), windows(turned), strict=True):
        assert np.allclose(before.reach_gmm, after.reach_gmm, equal_nan=True)  # type: ignore[attr-defined]
        assert np.allclose(
            np.exp(1j * (before.directions_rad + np.radians(30.0))),  # type: ignore[attr-defined]
            np.exp(1j * after.directions_rad),  # type: ignore[attr-defined]
        )


def mixed_set(pool: Pool, own: list[int], random: np.random.Generator) -> list[Place]:
    """Return cuts of all kinds in one counterweight, drawn one by one until hardly anything fits any more."""
    places: list[Place] = []
    missed = 0
    while missed < 6:
        block = int(random.choice(own))
        free = pool.free(block, places)[pool.blocks[block].section_of]
        settings, angles = np.nonzero(free)
        if settings.size == 0:
            missed += 1
            continue
        size = np.abs(pool.blocks[block].amount_gmm[settings])
        large = np.flatnonzero(size >= np.quantile(size, random.choice([0.0, 0.9])))
        one = int(random.choice(large))
        places.append((block, int(settings[one]), int(angles[one])))
    return places


def test_all_kinds_together_reach_no_farther_than_what_they_share() -> None:
    problem = asked("rim hole")
    problem = dataclasses.replace(
        problem, shop=dataclasses.replace(problem.shop, allow=("rim hole", "face hole", "slug"))
    )
    blocks = build_blocks(problem)
    pool = Pool(problem, problem.unbalance_gmm, blocks)
    random = np.random.default_rng(3)
    bounds = shared_bounds(blocks)
    assert len(bounds) == 2
    nearest = 0.0
    for shared in bounds:
        for holes_only in (True, False):
            own = [number for number in shared.blocks if not holes_only or blocks[number].kind != "slug"]
            for _ in range(25):
                places = mixed_set(pool, own, random)
                assert len(places) >= 3
                assert pool.legal_plan(places)
                total = sum(pool.effect(place) for place in places)
                along = (np.exp(-1j * shared.directions_rad) * total).real
                assert np.all(along <= shared.reach_gmm)
                nearest = max(nearest, float((along / shared.reach_gmm).max()))
                taken = sum(shared.own_mm2[shared.blocks.index(place[0])] for place in places)
                assert taken <= shared.area_mm2
    # a bound that nothing comes near would prove nothing
    assert nearest > 0.2


def packed_set(pool: Pool, own: list[int]) -> list[Place]:
    """Return as many of the largest cuts as stand side by side from the first angle on, block after block."""
    places: list[Place] = []
    for block in own:
        b = pool.blocks[block]
        for column in range(b.relative_deg.size):
            fitting = np.flatnonzero(pool.free(block, places)[b.section_of, column])
            if fitting.size:
                setting = int(fitting[np.argmax(np.abs(b.amount_gmm[fitting]))])
                places.append((block, setting, column))
    return places


@pytest.mark.parametrize("what", ["rows", "halves", "discs in halves", "rows and halves"])
def test_cuts_that_stand_before_one_another_reach_no_farther_than_what_they_share(what: str) -> None:
    """Rim holes side by side along the shaft and blind holes back to back stand on one place as seen along it."""
    problem = asked("rim hole")
    rows = (-16.0, 0.0, 16.0) if "rows" in what else (0.0,)
    # hardly wider than the holes, so that they fill the place that is counted
    narrow = fan(outer_radius_mm=82.0, half_angle_deg=60.0, inner_radius_mm=62.0)
    problem = dataclasses.replace(
        problem,
        shop=dataclasses.replace(
            problem.shop, drills_mm=(10.0,), least_depth_mm=8.0, angle_step_deg=1.0,
            allow=("face hole",) if "discs" in what else ("rim hole", "face hole"),
            opposite_face_holes="halves" in what,
        ),
        counterweights=tuple(
            dataclasses.replace(each, thickness_mm=64.0, rim_rows_mm=rows, existing=(), outline=narrow)
            for each in problem.counterweights
        ),
    )  # fmt: skip
    blocks = build_blocks(problem)
    pool = Pool(problem, problem.unbalance_gmm, blocks)
    random = np.random.default_rng(5)
    bounds = shared_bounds(blocks)
    assert len(bounds) == 2  # nothing is left out
    nearest = 0.0
    for shared in bounds:
        discs = [number for number in shared.blocks if blocks[number].kind == "face hole"]
        holes = [number for number in shared.blocks if blocks[number].kind == "rim hole"]
        halves = [number for number in discs if blocks[number].in_half is not None]
        for own in (list(shared.blocks), discs, holes, halves):
            if not own:
                continue
            for places in (packed_set(pool, own), *(mixed_set(pool, own, random) for _ in range(4))):
                assert len(places) >= 3
                total = sum(pool.effect(place) for place in places)
                along = (np.exp(-1j * shared.directions_rad) * total).real
                assert np.all(along <= shared.reach_gmm)
                nearest = max(nearest, float((along / shared.reach_gmm).max()))
                taken = sum(shared.own_mm2[shared.blocks.index(place[0])] for place in places)
                assert taken <= shared.area_mm2
    assert nearest > 0.2


def test_nothing_is_reached_beyond_the_first_and_the_last_angle() -> None:
    """However many cuts: their sum lies between the two outermost directions, and the bounds know that."""
    problem = asked("face hole")
    for index, block in enumerate(build_blocks(problem)):
        if float(np.ptp(block.relative_deg)) >= 180.0:
            continue
        for window in build_windows(block, index):
            first, last = (block.centre_deg + float(block.relative_deg[c]) for c in window.columns[[0, -1]])
            for beyond_deg in (first + 90.0, last - 90.0):  # holes pull the other way
                off = np.abs(np.exp(1j * window.directions_rad) - np.exp(1j * np.radians(beyond_deg)))
                assert off.min() < 1e-6
                at = window.reach_gmm[1:, 0, int(np.argmin(off))]
                # no more than what the deepest hole leaves of rounding
                assert np.all(at <= 1e-3 * np.abs(block.amount_gmm).max())
