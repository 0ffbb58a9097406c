"""Whatever the machine's way of counting, it is the same crankshaft: same unbalance, same number of cuts, same cost.

One invented crankshaft is written as a job file in every convention: the way the angles grow, the end they are seen
from, the marked spot, unbalance or mass at a radius, left plane in front or behind, zeros, drill offsets and turns
of the whole crankshaft by whole multiples of the angle step.
"""

from __future__ import annotations

import cmath
import dataclasses
import itertools
import math
from pathlib import Path

import numpy as np
import pytest
import tomlkit

from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut
from planner.frames import TwoPlanes
from planner.jobfile.read import load_job
from planner.rotor.vectors import resolve, vector_gmm
from planner.steps.correction_question import Posed, pose
from planner.steps.plan import plan_job

STEP = 5.0
FRONT_Z, REAR_Z = 52.0, 470.0
HEAVY_FRONT = cmath.rect(3150.0, math.radians(163.0))  # g*mm in the crankshaft's own frame
HEAVY_REAR = cmath.rect(2480.0, math.radians(21.0))
RADII = {"front": 80.0, "rear": 72.5}

CONVENTIONS = list(
    itertools.product(
        ("ccw", "cw"),
        ("front", "rear"),
        ("heavy spot", "light spot"),
        ("unbalance", "mass"),
        ("left in front", "left behind"),
    )
)
# zero of the machine, drill offset, turn of the whole crankshaft [deg]: multiples of the angle step
SETTINGS = [(0.0, 0.0, 0.0), (95.0, 90.0, 0.0), (-40.0, -15.0, 35.0), (355.0, 180.0, 270.0)]


def job_text(convention: tuple[str, ...], setting: tuple[float, float, float]) -> str:
    """Return the job file.  What the display shows is worked out here, from the words of the convention."""
    direction, seen_from, marks, amounts, order = convention
    zero, offset, turn = setting
    sides = ("front", "rear") if order == "left in front" else ("rear", "front")
    z = {"front": FRONT_Z, "rear": REAR_Z}
    heavy = {"front": HEAVY_FRONT, "rear": HEAVY_REAR}
    shown = {}
    for name, side in zip(("left", "right"), sides, strict=True):
        place = math.degrees(cmath.phase(heavy[side])) + turn
        if marks == "light spot":
            place += 180.0
        counted = place - (zero + turn)
        # counted counter-clockwise seen from the front; from the rear the same turn looks clockwise
        if (direction == "cw") != (seen_from == "rear"):
            counted = -counted
        amount = abs(heavy[side]) / (RADII[side] if amounts == "mass" else 1.0)
        shown[name] = {"amount": amount, "angle": counted % 360.0}
    planes = {"left": z[sides[0]], "right": z[sides[1]]}
    if amounts == "mass":
        planes |= {"left_radius": RADII[sides[0]], "right_radius": RADII[sides[1]]}
    fans = {"shape": "fan", "outer_radius": 88.0, "half_angle": 58.0, "inner_radius": 36.0}
    old = [{"cut": "rim hole", "angle": (171.0 + turn) % 360.0, "diameter": 12.0, "depth": 15.0}]
    counterweights = [
        {
            "name": name,
            "z": at,
            "angle": (angle + turn) % 360.0,
            "thickness": 24.0,
            "outline": fans,
            "cuts": ["rim hole"],
            "existing": old if name == "A" else [],
        }
        for name, at, angle in (
            ("A", 52.0, 180.0),
            ("B", 160.0, 270.0),
            ("C", 365.0, 90.0),
            ("D", 470.0, 0.0),
        )
    ]
    return tomlkit.dumps(
        {
            "format": 1,
            "machine": {
                "angle_direction": direction,
                "viewed_from": seen_from,
                "angle_zero": math.fmod(zero + turn, 360.0),
                "angle_marks": marks,
                "amounts": amounts,
                "drill_offset": offset,
            },
            "planes": planes,
            "crankshaft": {"mass": "24.1 kg", "density": 7.85, "bearing_1_z": 0.0, "bearing_2_z": 520.0},
            "tolerance": {"each_side": 250.0},
            "throws": [{"name": "1", "angle": turn % 360.0, "z": 95.0, "radius": 44.2, "rods": 2}],
            "counterweights": counterweights,
            "shop": {"drills": [16.0], "angle_step": STEP, "depth_step": 1.0},
            "bobs": {"wanted": 1800.0},
            "spins": [{"bobs": 1800.0, **shown}],
        }
    )


def posed_in(folder: Path, convention: tuple[str, ...], setting: tuple[float, float, float]) -> Posed:
    path = folder / "job.toml"
    path.write_text(job_text(convention, setting), encoding="utf-8")
    return pose(load_job(path))


@pytest.mark.parametrize("setting", SETTINGS, ids=str)
@pytest.mark.parametrize("convention", CONVENTIONS, ids=", ".join)
def test_any_convention_reads_the_same_unbalance(convention, setting, tmp_path):
    problem = posed_in(tmp_path, convention, setting).problem
    back = cmath.exp(-1j * math.radians(setting[2]))
    by_z = dict(zip(problem.planes_z_mm, problem.unbalance_gmm, strict=True))
    assert by_z[FRONT_Z] * back == pytest.approx(HEAVY_FRONT, abs=1e-9)
    assert by_z[REAR_Z] * back == pytest.approx(HEAVY_REAR, abs=1e-9)
    assert problem.angle_phase_deg == pytest.approx(0.0, abs=1e-9)


def plan_numbers(posed: Posed) -> tuple[bool, int, float]:
    outcome = find_plan(posed.problem, seconds=60.0)
    report = verify(posed.problem, [planned.cut for planned in outcome.cuts])
    assert report.good, report
    corrections = [
        (planned.effect.z_mm, vector_gmm(1.0, planned.cut.angle_deg) * planned.effect.unbalance_gmm)
        for planned in outcome.cuts
    ]
    # sum of corrections + unbalance = residual, by the other route
    total = np.array(posed.problem.unbalance_gmm) + resolve(corrections, posed.problem.planes_z_mm)
    np.testing.assert_allclose(total, report.residual_gmm, atol=1e-7, rtol=0)
    np.testing.assert_allclose(total, outcome.residual_gmm, atol=1e-7, rtol=0)
    return outcome.feasible, len(outcome.cuts), outcome.cost


@pytest.fixture(scope="module")
def usual(tmp_path_factory) -> tuple[bool, int, float]:
    return plan_numbers(posed_in(tmp_path_factory.mktemp("usual"), CONVENTIONS[0], SETTINGS[0]))


# every convention once, each with one of the settings in turn
PLANNED = [(c, SETTINGS[index % len(SETTINGS)]) for index, c in enumerate(CONVENTIONS)]


@pytest.mark.parametrize(("convention", "setting"), PLANNED, ids=str)
def test_any_convention_gives_as_many_cuts_at_the_same_cost(convention, setting, usual, tmp_path):
    feasible, count, cost = plan_numbers(posed_in(tmp_path, convention, setting))
    assert feasible
    assert count == usual[1]
    assert cost == pytest.approx(usual[2], rel=1e-9)


@pytest.mark.parametrize(("convention", "setting"), PLANNED[::5], ids=str)
def test_what_the_operator_dials_and_what_the_display_will_show(convention, setting, tmp_path):
    """Every place stands on the dial's own grid, and the foretold reading is the residual in the machine's words."""
    path = tmp_path / "job.toml"
    path.write_text(job_text(convention, setting), encoding="utf-8")
    job = load_job(path)
    answer = plan_job(job)
    assert answer.verdict == "in tolerance"
    for step in answer.steps:
        assert step.dial_deg == pytest.approx(STEP * round(step.dial_deg / STEP), abs=1e-9)
        assert job.machine.place_deg(step.machine_angle_deg) == pytest.approx(
            step.cut.angle_deg % 360.0, abs=1e-9
        )
    sources = [
        (s.effect.z_mm, vector_gmm(1.0, s.cut.angle_deg) * s.effect.unbalance_gmm) for s in answer.steps
    ]
    total = np.array(answer.unbalance_gmm) + resolve(sources, job.planes_z_mm)
    np.testing.assert_allclose(total, answer.residual_gmm, atol=1e-7, rtol=0)
    again = TwoPlanes.vectors(answer.residual_gmm).shown(job.machine)
    for found, side in zip(answer.foretold, again, strict=True):
        assert found.amount == pytest.approx(side.amount, rel=1e-9)
        assert found.angle_deg == pytest.approx(side.angle_deg, abs=1e-6)


def test_the_plan_itself_turns_with_the_crankshaft(tmp_path):
    """Ties are broken in the crankshaft's frame, so that a turned crankshaft has the turned plan."""
    turn = SETTINGS[2][2]
    plain = posed_in(tmp_path, CONVENTIONS[0], (0.0, 0.0, 0.0))
    turned = posed_in(tmp_path, CONVENTIONS[0], (0.0, 0.0, turn))

    def normal(cut: Cut, by: float) -> Cut:
        return dataclasses.replace(cut, angle_deg=round((cut.angle_deg - by) % 360.0, 6) % 360.0)

    first = {normal(planned.cut, 0.0) for planned in find_plan(plain.problem, seconds=60.0).cuts}
    second = {normal(planned.cut, turn) for planned in find_plan(turned.problem, seconds=60.0).cuts}
    assert first == second
