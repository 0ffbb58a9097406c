"""All cuts moved together: hidden plans, or as good ones, are found again from starts beside them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry_profiles.shapes import fan
from planner.correction.candidates.blocks import build_blocks
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.correction.search.together import Together
from planner.correction.search.working_plan import Place, Pool
from planner.cuts.cut import Shop
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight

PLANES = TwoPlanes(40.0, 480.0)


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BOBPLAN_CACHE", "off")


def asked(angle_step_deg: float) -> CorrectionProblem:
    outline = fan(outer_radius_mm=85.0, half_angle_deg=62.0, inner_radius_mm=36.0)
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes(0j, 0j),
        planes_z_mm=PLANES,
        limits=(
            LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=150.0, z_mm=PLANES[0]),
            LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=150.0, z_mm=PLANES[1]),
        ),
        counterweights=tuple(
            Counterweight(
                name=name, z_mm=z, angle_deg=angle, thickness_mm=25.0, outline=outline, cuts=("rim hole",)
            )
            for name, z, angle in (("A", 52.0, 180.0), ("B", 150.0, 90.0), ("C", 468.0, 0.0))
        ),
        shop=Shop(drills_mm=(14.0,), angle_step_deg=angle_step_deg, depth_step_mm=0.25, allow=("rim hole",)),
        density_g_per_cm3=7.85,
    )


def side_by_side(pool: Pool, block: int, first_deg: float, size: float, count: int) -> list[Place]:
    """Return holes of about one size from an angle on, each as near to the one before as the wall allows."""
    b = pool.blocks[block]
    setting = int(np.argmin(np.abs(np.abs(b.amount_gmm) - size)))
    places: list[Place] = []
    for column in np.flatnonzero(b.relative_deg >= first_deg - 1e-9):
        if len(places) < count and pool.free(block, places)[b.section_of[setting], column]:
            places.append((block, setting, int(column)))
    assert len(places) == count
    return places


def pool_for(problem: CorrectionProblem, hidden: list[Place]) -> Pool:
    """Return the pool of a question that hidden cuts answer exactly."""
    blocks = build_blocks(problem)
    bare = Pool(problem, (0j, 0j), blocks)
    removed = sum((bare.contribution(place) for place in hidden), np.zeros(2, complex))
    return Pool(problem, (complex(-removed[0]), complex(-removed[1])), blocks)


@pytest.mark.parametrize("step_deg", [1.0, 5.0])
@pytest.mark.parametrize("off_deg", [5.0, -10.0])
def test_holes_at_the_wrong_angles_and_depths_move_round_together(step_deg: float, off_deg: float) -> None:
    problem = asked(step_deg)
    bare = Pool(problem, (0j, 0j), build_blocks(problem))
    there, start = [], []
    for block, first, size in ((0, -35.0, 2200.0), (0, 5.0, 1800.0), (2, -20.0, 1500.0), (2, 25.0, 1300.0)):
        there += side_by_side(bare, block, first, size, 1)
        start += side_by_side(bare, block, first + off_deg, size + 300.0, 1)
    pool = pool_for(problem, there)
    assert pool.worst_share(there) < 1e-9
    assert pool.worst_share(start) > 2.0
    found = Together(pool, math.inf).closer(start, 0.1)
    assert found is not None
    assert pool.legal_plan(found)
    assert [place[0] for place in found] == [place[0] for place in start]
    assert pool.worst_share(found) < 0.3
    assert found == Together(pool, math.inf).closer(start, 0.1)


def test_a_hole_in_the_wrong_counterweight_is_moved_to_another() -> None:
    problem = asked(1.0)
    bare = Pool(problem, (0j, 0j), build_blocks(problem))
    there = [
        *side_by_side(bare, 0, -30.0, 2200.0, 2),
        *side_by_side(bare, 1, 20.0, 2500.0, 1),
        *side_by_side(bare, 2, -10.0, 1500.0, 1),
    ]
    start = [*there[:2], *side_by_side(bare, 2, 30.0, 1800.0, 1), there[3]]
    pool = pool_for(problem, there)
    assert pool.worst_share(start) > 3.0
    found = Together(pool, math.inf).elsewhere(start, 0.1)
    assert found is not None
    assert pool.legal_plan(found)
    assert sorted(place[0] for place in found) == [0, 0, 1, 2]
    assert pool.worst_share(found) < 0.15


def test_what_is_as_close_as_was_asked_for_stays() -> None:
    problem = asked(1.0)
    bare = Pool(problem, (0j, 0j), build_blocks(problem))
    there = side_by_side(bare, 0, -30.0, 2200.0, 3)
    assert Together(pool_for(problem, there), math.inf).elsewhere(there, 0.1) is None
