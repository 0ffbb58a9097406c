"""The generator of random cases: what it promises, and that its job files say the same as its problems."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest
import tomlkit

from planner.correction.problem import CorrectionProblem
from planner.correction.verify.verify_plan import verify
from planner.jobfile.read import load_job
from planner.steps.correction_question import pose
from tests.generator import LAYOUTS, random_case
from tests.generator_job import job_tables, judged_at_planes

SEEDS = range(40)


def test_the_same_seed_gives_the_same_case():
    assert random_case(7, feasible=True) == random_case(7, feasible=True)
    assert random_case(7) != random_case(8)


def test_cases_cover_what_the_heading_says():
    cases = [random_case(seed) for seed in range(200)]
    counterweights = [c for case in cases for c in case.problem.counterweights]
    fans = [c.outline for c in counterweights if c.outline.name == "fan"]
    assert {case.layout for case in cases} == set(LAYOUTS)
    assert {len(case.problem.counterweights) for case in cases} == {4, 5, 6, 7, 8}
    assert {c.outline.name for c in counterweights} == {"fan", "half disc", "disc", "points"}
    assert all(76.0 <= c.outline.greatest_radius_mm <= 94.0 for c in counterweights)
    assert all(45.0 <= outline.half_angle_deg <= 65.0 for outline in fans)
    assert {len(case.problem.shop.drills_mm) for case in cases} == {1, 2, 3}
    assert all(150.0 <= row.tolerance_gmm <= 400.0 for case in cases for row in case.problem.limits)
    assert all(400.0 <= abs(u) <= 20000.0 for case in cases for u in case.problem.unbalance_gmm)
    assert 0.25 < np.mean([bool(c.existing) for c in counterweights]) < 0.45
    assert any(c.keep_outs for c in counterweights)
    assert any(case.crankshaft.oil_drillings for case in cases)
    assert any("slug" in case.problem.shop.allow for case in cases)
    assert {case.problem.shop.depth_to for case in cases} == {"shoulder", "tip"}
    assert {case.machine.viewed_from for case in cases} == {"front", "rear"}
    assert {case.problem.planes_z_mm[0] < case.problem.planes_z_mm[1] for case in cases} == {True, False}


@pytest.mark.parametrize("seed", SEEDS)
def test_a_hidden_plan_keeps_every_rule_and_limit(seed):
    case = random_case(seed, feasible=True)
    report = verify(case.problem, case.hidden)
    assert case.hidden
    assert report.good, report


def test_only_limits_at_the_planes_can_be_written():
    other = next(case for case in map(random_case, SEEDS) if not judged_at_planes(case))
    with pytest.raises(ValueError, match="not judged at its reading planes"):
        job_tables(other)


@pytest.mark.parametrize("seed", [seed for seed in SEEDS if judged_at_planes(random_case(seed))])
def test_a_job_file_asks_the_same_question(seed, tmp_path: Path):
    case = random_case(seed)
    tables = job_tables(case)
    path = tmp_path / "job.toml"
    path.write_text(tomlkit.dumps(tables), encoding="utf-8")
    posed = pose(load_job(path)).problem
    expected = case.problem
    # readings are rounded to 1e-6 degrees: 2e4 g*mm times half of that is 2e-4 g*mm
    np.testing.assert_allclose(posed.unbalance_gmm, expected.unbalance_gmm, atol=2e-4, rtol=0)
    for field in dataclasses.fields(CorrectionProblem):
        if field.name != "unbalance_gmm":
            assert getattr(posed, field.name) == getattr(expected, field.name), field.name
