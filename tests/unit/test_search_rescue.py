"""One cut more: the one that brings what is left down most, against all of them looked at one by one."""

from __future__ import annotations

import numpy as np
import pytest

from geometry_profiles.shapes import fan
from planner.correction.candidates.blocks import build_blocks
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.correction.search.rescue import add_one
from planner.correction.search.working_plan import Place, Pool
from planner.cuts.cut import Shop
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight

PLANES = TwoPlanes(40.0, 480.0)


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BOBPLAN_CACHE", "off")


def invented(seed: int) -> Pool:
    """Return an invented question: holes from the rim and into the faces of three counterweights."""
    random = np.random.default_rng(seed)
    outline = fan(outer_radius_mm=85.0, half_angle_deg=55.0, inner_radius_mm=40.0)
    sizes, turns = random.uniform(500.0, 9000.0, 2), random.uniform(0.0, 2.0 * np.pi, 2)
    unbalance = TwoPlanes(*(complex(each) for each in sizes * np.exp(1j * turns)))
    problem = CorrectionProblem(
        unbalance_gmm=unbalance,
        planes_z_mm=PLANES,
        limits=(
            LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=150.0, z_mm=PLANES[0]),
            LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=220.0, z_mm=PLANES[1]),
        ),
        counterweights=tuple(
            Counterweight(
                name=name, z_mm=z, angle_deg=angle, thickness_mm=30.0, outline=outline,
                cuts=("rim hole", "face hole"),
            )
            for name, z, angle in (("A", 52.0, 180.0), ("B", 150.0, 60.0), ("C", 468.0, 300.0))
        ),
        shop=Shop(
            drills_mm=(10.0, 16.0), angle_step_deg=6.0, depth_step_mm=4.0, slug_radius_step_mm=4.0,
            allow=("rim hole", "face hole"),
        ),
        density_g_per_cm3=7.85,
    )  # fmt: skip
    return Pool(problem, unbalance, build_blocks(problem))


def score(pool: Pool, places: list[Place]) -> float:
    """Return the sum of the limits' shares that are left, a limit that is kept counted as one."""
    return float(np.maximum(np.abs(pool.residual(places)) / pool.tolerance, 1.0).sum())


@pytest.mark.parametrize("seed", range(4))
def test_the_cut_that_is_added_is_the_best_of_all(seed: int) -> None:
    pool = invented(seed)
    assert any(block.has_offset for block in pool.blocks)
    places: list[Place] = []
    for _ in range(3):
        every = [
            (block, setting, angle)
            for block in range(len(pool.blocks))
            for setting, angle in np.argwhere(
                pool.free(block, places)[pool.blocks[block].section_of]
            ).tolist()
        ]
        least = min(score(pool, [*places, place]) for place in every)
        more = add_one(pool, places)
        if more is None:
            assert least > score(pool, places) - 1e-5
            return
        assert pool.legal_plan(more)
        assert score(pool, more) == pytest.approx(least, abs=2e-9)
        places = more
