"""The simulated machine and drill press against plain geometry, and the program's foretold reading against them.

The simulation shares no code with the program: display numbers by turning about the line of sight, holes integrated over
the drill's circle, planes by moments.  Data invented.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from simulator import holes
from simulator.jobs import SHOP_ERRORS, SLIPS, Errors, SimulatedJob, random_job
from simulator.machine import Machine
from simulator.tool import checked

# all six choices (direction, end, spot, plane order, amounts, drill offset) both ways, every pair of them together
CONVENTIONS = (0, 63, 11, 52, 22, 41, 37, 26)


@pytest.mark.parametrize(
    ("counts", "seen_from", "at_zero_10", "number_up"),
    [
        # zero at 10 degrees; 30 on the wheel lies ...; the number at straight up (90 degrees from the front)
        ("ccw", "front", 40.0, 80.0),
        ("cw", "front", 340.0, 280.0),
        ("ccw", "rear", 340.0, 280.0),
        ("cw", "rear", 40.0, 80.0),
    ],
)
def test_numbers_by_hand(counts: str, seen_from: str, at_zero_10: float, number_up: float) -> None:
    machine = Machine(counts, seen_from, 10.0, "light spot", 0.0, 400.0, drill_deg=15.0)
    assert machine.under_drill_deg(45.0) == pytest.approx(at_zero_10)
    assert machine.number_deg(1j) == pytest.approx(number_up)
    # the light spot lies opposite; the right plane's vector is nothing
    assert machine.shown(-5j, 0j)[:2] == pytest.approx((5.0, number_up))
    assert machine.shares(100.0) == pytest.approx((0.75, 0.25))


def test_a_hole_in_a_flat_face_is_a_cylinder_with_a_cone() -> None:
    """12 mm, 20 mm deep, 118 degrees at radius 60: pi 36 (20 + c/3) cubic millimetres, c = 6/tan 59."""
    cone = 6.0 / math.tan(math.radians(59.0))
    mass = 7.85e-3 * math.pi * 36.0 * (20.0 + cone / 3.0)
    taken = holes.face_hole(
        radius_mm=60.0,
        diameter_mm=12.0,
        shoulder_mm=20.0,
        point_angle_deg=118.0,
        density=7.85,
        face_z_mm=100.0,
        inward=1,
    )
    assert taken.mass_g == pytest.approx(-mass, rel=1e-9)
    assert taken.moment_gmm == pytest.approx(-60.0 * mass, rel=1e-9)
    # its middle: that of the cylinder and the cone's, a quarter of the cone below the shoulder
    middle = (20.0 * 10.0 + cone / 3.0 * (20.0 + cone / 4.0)) / (20.0 + cone / 3.0)
    assert taken.z_mm == pytest.approx(100.0 + middle, rel=1e-9)


def test_a_rim_hole_by_hand() -> None:
    """Handbook sums: (pi a^2) (R h - h^2/2 - a^2/8) without a point; in a very large rim a plain cylinder."""
    flat = holes.rim_hole(
        rim_mm=88.0, diameter_mm=16.0, shoulder_mm=25.0, point_angle_deg=180.0, density=7.85, z_mm=5.0
    )
    moment = math.pi * 64.0 * (88.0 * 25.0 - 25.0**2 / 2.0 - 64.0 / 8.0)
    assert flat.moment_gmm == pytest.approx(-7.85e-3 * moment, rel=1e-6)
    assert flat.z_mm == 5.0


def test_an_exact_job_reads_what_was_foretold(tmp_path: Path) -> None:
    """No errors at all: every convention's foretold reading within 0.001 g*mm (and 0.001 degrees) of the simulation."""
    for seed in CONVENTIONS:
        job = random_job(seed, errors=Errors())
        plan = _first_plan(job, tmp_path)
        assert plan["steps"], f"job {seed} needs no cut"
        assert all(job.carry_out(step) for step in plan["steps"])
        shown = job.spin(rounded=False)
        per_unit = job.machine.unit_gmm if job.machine.radii_mm is None else max(job.machine.radii_mm)
        for side, foretold in enumerate(plan["foretold"]):
            amount, angle = shown[2 * side], shown[2 * side + 1]
            miss = math.dist(
                (amount * math.cos(math.radians(angle)), amount * math.sin(math.radians(angle))),
                (
                    foretold["amount"] * math.cos(math.radians(foretold["angle_deg"])),
                    foretold["amount"] * math.sin(math.radians(foretold["angle_deg"])),
                ),
            )
            # nine figures are printed of amounts
            assert miss * per_unit < 1e-3, f"job {seed}"
        assert job.inside


def test_every_slip_leaves_something_else(tmp_path: Path) -> None:
    """The same plan carried out with each slip: another residual every time, the drill's errors being nothing."""
    left: dict[str | None, float] = {}
    for slip in (None, *SLIPS):
        job = random_job(60, errors=Errors())
        plan = _first_plan(job, tmp_path)
        if all(job.carry_out(step, slip=slip) for step in plan["steps"]):
            left[slip] = round(job.worst, 6)
    assert len(left) == len(set(left.values())) >= 4
    assert min(left, key=lambda each: left[each]) is None


def test_the_same_seed_is_the_same_job() -> None:
    one, other = random_job(7), random_job(7)
    assert one.toml() == other.toml()
    assert one.spin() == other.spin()
    assert one.errors == SHOP_ERRORS


def _first_plan(job: SimulatedJob, folder: Path) -> dict[str, list[dict[str, object]]]:
    plan: dict[str, list[dict[str, object]]] = checked(
        "spin", job.write(folder), *job.spin(rounded=False), "--bobs", job.crankshaft.bob_g
    )
    return plan
