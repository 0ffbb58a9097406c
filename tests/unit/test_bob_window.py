"""Which bobs drilling alone can balance: against a closed form, and against plans and proofs at its ends."""

from __future__ import annotations

import dataclasses
from functools import cache

import pytest

from planner.correction.problem import PlanOutcome
from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from planner.frames import TwoPlanes
from planner.jobfile.job import Job
from planner.jobfile.read import load_job
from planner.rotor.crankshaft import Throw
from planner.rotor.limits import LimitRow
from planner.rotor.vectors import resolve, vector_gmm
from planner.steps.bob_window import BobWindow, bob_window_of, drilling_only, wanted_bob_g
from planner.steps.correction_question import pose
from tests.cli.conftest import EXAMPLES


@cache
def job_of(name: str) -> Job:
    return load_job(EXAMPLES / name / "job.toml")


@cache
def window_of(name: str) -> BobWindow:
    job = job_of(name)
    posed = pose(job)
    bob = wanted_bob_g(job, posed.spin_number)
    assert bob is not None
    return bob_window_of(job, posed.problem, bob_g=bob, seconds=30.0, steps=1)


def planned_with_bob(name: str, bob_g: float) -> PlanOutcome:
    """Return what drilling alone does with that bob on every throw; the sum over the throws written out here."""
    job = job_of(name)
    problem = drilling_only(pose(job).problem)
    z1, z2 = job.planes_z_mm
    left, right = problem.unbalance_gmm
    for throw in job.crankshaft.throws:
        change = vector_gmm((bob_g - window_of(name).bob_g) * throw.radius_mm, throw.angle_deg)
        left += change * (z2 - throw.z_mm) / (z2 - z1)
        right += change * (throw.z_mm - z1) / (z2 - z1)
    shop = dataclasses.replace(problem.shop, aim=1.0, one_drill=False)
    asked = dataclasses.replace(problem, unbalance_gmm=TwoPlanes(left, right), shop=shop)
    outcome = find_plan(asked, seconds=10.0)
    if outcome.feasible:
        assert verify(asked, [planned.cut for planned in outcome.cuts]).good
    return outcome


def test_outside_is_proven_and_inside_is_planned() -> None:
    name = "external_balance_v8"
    window = window_of(name)
    assert window.matters
    assert window.proven_g is not None
    assert window.confirmed_g is not None
    for bob in (window.proven_g[0] - 1.0, window.proven_g[1] + 1.0):
        assert planned_with_bob(name, bob).certificate is not None
    for bob in window.confirmed_g:
        assert planned_with_bob(name, bob).feasible
    assert window.proven_g[0] <= window.confirmed_g[0] <= window.confirmed_g[1] <= window.proven_g[1]
    # near the heavy end a few holes do: the proof is nearly sharp there
    assert window.confirmed_g[1] > window.proven_g[1] - 0.1 * (window.proven_g[1] - window.proven_g[0])


def test_a_heavier_bob_makes_the_counterweights_light() -> None:
    """The externally balanced crankshaft needs heavy metal: its bobs are above the window."""
    window = window_of("external_balance_v8")
    assert window.proven_g is not None
    assert window.too_heavy_g == pytest.approx(window.bob_g - window.proven_g[1])
    assert window.too_heavy_g > 0.0 == window.too_light_g
    # two rods on a throw, half of the reciprocating mass: one gram of piston is one gram of bob
    assert window.g_per_piston_g == pytest.approx(1.0)


def test_closed_form_when_nothing_may_be_cut() -> None:
    """With every counterweight left alone the bob itself must bring both planes in: an interval on one line."""
    job = job_of("cross_plane_v8")
    problem = pose(job).problem
    throw = Throw(name="1", angle_deg=30.0, z_mm=problem.planes_z_mm[0], radius_mm=40.0, rods=1)
    job = dataclasses.replace(job, crankshaft=dataclasses.replace(job.crankshaft, throws=(throw,)))
    shop = dataclasses.replace(problem.shop, forbid=tuple(each.name for each in problem.counterweights))
    problem = dataclasses.replace(
        problem,
        shop=shop,
        unbalance_gmm=TwoPlanes(vector_gmm(2000.0, 30.0), 0j),
        limits=(
            LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=400.0),
            LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=400.0),
        ),
    )
    window = bob_window_of(job, problem, bob_g=500.0, seconds=30.0, steps=1)
    assert window.proven_g is not None
    # 2000 + 40 x between -400 and 400: x from -60 to -40
    assert window.proven_g == pytest.approx((440.0, 460.0), abs=0.5)
    assert window.confirmed_g is not None
    assert 440.0 <= window.confirmed_g[0] <= window.confirmed_g[1] <= 460.0
    # one rod, half of it: a gram of piston is half a gram of bob
    assert window.g_per_piston_g == pytest.approx(0.5)


def test_no_bob_would_do_when_the_unbalance_lies_across() -> None:
    job = job_of("cross_plane_v8")
    problem = pose(job).problem
    throw = Throw(name="1", angle_deg=30.0, z_mm=problem.planes_z_mm[0], radius_mm=40.0, rods=1)
    job = dataclasses.replace(job, crankshaft=dataclasses.replace(job.crankshaft, throws=(throw,)))
    shop = dataclasses.replace(problem.shop, forbid=tuple(each.name for each in problem.counterweights))
    problem = dataclasses.replace(problem, shop=shop, unbalance_gmm=TwoPlanes(vector_gmm(2000.0, 120.0), 0j))
    window = bob_window_of(job, problem, bob_g=500.0, confirm=False)
    assert window.matters
    assert window.proven_g is None
    assert window.too_heavy_g == window.too_light_g == 0.0


def test_equal_bobs_that_cancel_do_not_matter() -> None:
    """Four throws 0, 180, 180, 0 and evenly spaced: force and couple of equal bobs are both zero."""
    job = job_of("cross_plane_v8")
    throws = tuple(
        Throw(name=str(number), angle_deg=angle, z_mm=100.0 * number, radius_mm=40.0, rods=1)
        for number, angle in enumerate((0.0, 180.0, 180.0, 0.0), start=1)
    )
    per_gram = resolve(
        [(throw.z_mm, vector_gmm(throw.radius_mm, throw.angle_deg)) for throw in throws], job.planes_z_mm
    )
    assert abs(per_gram).max() < 1e-9
    job = dataclasses.replace(job, crankshaft=dataclasses.replace(job.crankshaft, throws=throws))
    window = bob_window_of(job, pose(job_of("cross_plane_v8")).problem, bob_g=500.0)
    assert not window.matters
    assert window.proven_g is None


def test_rods_that_differ_have_no_grams_per_piston() -> None:
    job = job_of("cross_plane_v8")
    first, *rest = job.crankshaft.throws
    uneven = (dataclasses.replace(first, rods=1), *rest)
    job = dataclasses.replace(job, crankshaft=dataclasses.replace(job.crankshaft, throws=uneven))
    window = bob_window_of(job, pose(job).problem, bob_g=1724.0, confirm=False)
    assert window.g_per_piston_g is None


def test_the_wanted_bob() -> None:
    job = job_of("external_balance_v8")
    assert wanted_bob_g(job) == pytest.approx(2218.0)
    bare = dataclasses.replace(job, bobs_wanted_g=None)
    assert wanted_bob_g(bare) is None
    assert wanted_bob_g(bare, 1) == pytest.approx(2218.0)


@pytest.mark.parametrize(
    ("at_g", "tolerance_gmm", "window_g"),
    [
        # beyond twice the wanted bob: no limit may stand at the end of what was looked at
        (1400.0, 400.0, (1390.0, 1410.0)),
        (1400.0, 40_000.0, (400.0, 2400.0)),
        (500.0, 60_000.0, (0.0, 2000.0)),
    ],
)
def test_a_limit_is_never_the_end_of_the_search(
    at_g: float, tolerance_gmm: float, window_g: tuple[float, float]
) -> None:
    """Nothing may be cut, one throw of 40 mm: 40 g*mm a gram, so the window is tolerance/40 to both sides of ``at_g``."""
    job = job_of("cross_plane_v8")
    problem = pose(job).problem
    throw = Throw(name="1", angle_deg=30.0, z_mm=problem.planes_z_mm[0], radius_mm=40.0, rods=1)
    job = dataclasses.replace(job, crankshaft=dataclasses.replace(job.crankshaft, throws=(throw,)))
    shop = dataclasses.replace(problem.shop, forbid=tuple(each.name for each in problem.counterweights))
    problem = dataclasses.replace(
        problem,
        shop=shop,
        unbalance_gmm=TwoPlanes(vector_gmm(40.0 * (at_g - 500.0), 210.0), 0j),
        limits=(
            LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=tolerance_gmm),
            LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=tolerance_gmm),
        ),
    )
    window = bob_window_of(job, problem, bob_g=500.0, confirm=False)
    assert window.proven_g == pytest.approx(window_g, abs=0.5)


def test_a_bob_of_any_size_ends_the_search() -> None:
    job = job_of("cross_plane_v8")
    problem = pose(job).problem
    shop = dataclasses.replace(problem.shop, forbid=tuple(each.name for each in problem.counterweights))
    asked = dataclasses.replace(problem, shop=shop)
    window = bob_window_of(job, asked, bob_g=1e21, confirm=False)
    assert window.matters
