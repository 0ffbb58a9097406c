"""What can have happened at the drill instead of what was entered, against holes integrated numerically.  Data invented.

`tests/simulator` shares no code with the program: fans, holes by integration, planes by moments.
"""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest
from simulator import holes
from simulator.crankshaft import unit

from planner.cuts.cut import Cut
from planner.jobfile.job import Job, MadeCut
from planner.jobfile.read import load_job
from planner.machine.what_went_wrong import Slip
from planner.rotor.vectors import ComplexArray
from planner.steps.correction_question import effect_on, shift_of
from planner.steps.cut_slips import cuts_covariance, double_slips, possible_slips

EXAMPLE = Path(__file__).parents[2] / "examples" / "cross_plane_v8" / "job.toml"
PLANES = (52.0, 468.0)
# counterweights of the example: z, centre line, rim
A, B, E, F = (52.0, 198.0, 88.0), (140.0, 175.0, 85.0), (380.0, 355.0, 85.0), (468.0, 18.0, 88.0)
CUTS = (
    Cut(kind="rim hole", counterweight="A", angle_deg=213.0, diameter_mm=16.0, depth_shoulder_mm=27.0),
    Cut(kind="rim hole", counterweight="F", angle_deg=33.0, diameter_mm=14.0, depth_shoulder_mm=21.0),
)


def job_with(*cuts: Cut, offset_deg: float = 0.0) -> Job:
    job = load_job(EXAMPLE)
    return dataclasses.replace(
        job,
        machine=dataclasses.replace(job.machine, drill_offset_deg=offset_deg),
        cuts_made=tuple(MadeCut(after_spin=1, cut=cut) for cut in cuts),
    )


def foretold(job: Job) -> ComplexArray:
    return shift_of(
        [(made.cut, effect_on(job.crankshaft, made.cut, shop=job.shop)) for made in job.cuts_made],
        planes_z_mm=job.planes_z_mm,
    )


def slips_of(job: Job) -> tuple[Slip, ...]:
    return possible_slips(job, job.cuts_made, foretold_gmm=foretold(job))


def hole(
    place: tuple[float, float, float], angle_deg: float, *, diameter: float = 16.0, depth: float = 27.0
) -> list[complex]:
    """What a hole does in the two planes, by integration and moments."""
    z, _, rim = place
    taken = holes.rim_hole(
        rim_mm=rim, diameter_mm=diameter, shoulder_mm=depth, point_angle_deg=118.0, density=7.85, z_mm=z
    )
    right = (z - PLANES[0]) / (PLANES[1] - PLANES[0])
    return [share * taken.moment_gmm * unit(angle_deg) for share in (1.0 - right, right)]


def the(slips: tuple[Slip, ...], kind: str, cuts: tuple[int, ...], other: str = "") -> list[Slip]:
    return [s for s in slips if s.kind == kind and s.cuts == cuts and other in ("", s.other)]


CONE_16 = 8.0 / np.tan(np.radians(59.0))


@pytest.mark.parametrize(
    ("kind", "other", "instead"),
    [
        ("not made", "", [0j, 0j]),
        # 15 degrees ahead of 198 becomes 15 behind
        ("other side", "", hole(A, 183.0)),
        # B reaches 52 degrees to either side of 175: 213 is in it
        ("neighbour", "B", hole(B, 213.0)),
        ("depth counted", "", hole(A, 213.0, depth=27.0 - CONE_16)),
        ("other drill", "12 mm", hole(A, 213.0, diameter=12.0)),
        ("other drill", "14 mm", hole(A, 213.0, diameter=14.0)),
    ],
)
def test_each_slip_of_one_hole(kind: str, other: str, instead: list[complex]) -> None:
    job = job_with(CUTS[0])
    found = the(slips_of(job), kind, (0,), other)
    assert len(found) == (2 if kind == "neighbour" else 1)
    assert found[0].change_gmm == pytest.approx(instead, abs=1e-3)
    if kind == "neighbour":
        # or as far from B's own centre line
        assert found[1].change_gmm == pytest.approx(hole(B, 190.0), abs=1e-3)


def test_the_dial_without_its_offset() -> None:
    """The drill stands 20 machine degrees from the pointer; dialled is what should lie under it: 20 behind."""
    job = job_with(CUTS[0], offset_deg=20.0)
    (found,) = the(slips_of(job), "no offset", (0,))
    assert found.change_gmm == pytest.approx(hole(A, 193.0), abs=1e-3)
    # a quarter turn away there is no counterweight: nobody drills there
    assert not the(slips_of(job_with(CUTS[0], offset_deg=90.0)), "no offset", (0,))
    assert not the(slips_of(job_with(CUTS[0])), "no offset", (0,))


def test_all_alike() -> None:
    job = job_with(*CUTS)
    slips = slips_of(job)
    (missing,) = the(slips, "not made", (0, 1))
    assert missing.change_gmm == pytest.approx((0.0, 0.0), abs=1e-6)
    (mirrored,) = the(slips, "other side", (0, 1))
    both = np.add(hole(A, 183.0), hole(F, 3.0, diameter=14.0, depth=21.0))
    assert mirrored.change_gmm == pytest.approx(tuple(both), abs=1e-3)
    assert mirrored.words == "both rim holes are on the wrong side of their counterweights' centre lines"
    # one of them leaves the other as entered
    (one,) = the(slips, "other side", (1,))
    assert one.change_gmm == pytest.approx(
        tuple(np.add(hole(A, 213.0), hole(F, 3.0, diameter=14.0, depth=21.0))), abs=1e-3
    )
    assert one.words == "the rim hole on F is on the wrong side of the counterweight's centre line"
    # 12 mm instead of 16 and of 14
    (small,) = the(slips, "other drill", (0, 1), "12 mm")
    smaller = np.add(hole(A, 213.0, diameter=12.0), hole(F, 33.0, diameter=12.0, depth=21.0))
    assert small.change_gmm == pytest.approx(tuple(smaller), abs=1e-3)


def test_two_different_slips_are_kept_for_last() -> None:
    job = job_with(*CUTS)
    doubles = double_slips(job, job.cuts_made, foretold_gmm=foretold(job))
    words = "the rim hole on A was not made and the rim hole on F is on the wrong side of the counterweight's centre line"
    (found,) = [s for s in doubles if s.words == words]
    assert found.change_gmm == pytest.approx(hole(F, 3.0, diameter=14.0, depth=21.0), abs=1e-3)
    assert found.each == ((0, "not made", ""), (1, "other side", ""))


def test_on_the_centre_line_there_is_no_other_side() -> None:
    on = dataclasses.replace(CUTS[0], angle_deg=198.0)
    assert not the(slips_of(job_with(on)), "other side", (0,))


def test_a_hole_made_deeper_lies_where_it_lay() -> None:
    """Only whether it was done, and to where: place and drill are the old hole's."""
    deeper = dataclasses.replace(CUTS[0], from_depth_mm=12.0)
    slips = slips_of(job_with(deeper))
    assert {s.kind for s in slips} == {"not made", "depth counted"}
    (short,) = the(slips, "depth counted", (0,))
    expected = np.subtract(hole(A, 213.0, depth=27.0 - CONE_16), hole(A, 213.0, depth=12.0))
    assert short.change_gmm == pytest.approx(tuple(expected), abs=1e-3)


def test_several_holes_on_one_counterweight_are_told_apart_by_the_dial() -> None:
    second = dataclasses.replace(CUTS[0], angle_deg=183.0)
    slips = slips_of(job_with(CUTS[0], second))
    assert {s.words for s in slips if s.kind == "not made"} == {
        "the rim hole on A at 213 on the dial was not made",
        "the rim hole on A at 183 on the dial was not made",
        "both rim holes were not made",
    }


def test_the_errors_are_those_of_the_hole_that_was_made() -> None:
    """By hand for the depth alone: 0.25 mm times density, area and the radius of the hole's bottom."""
    job = job_with(CUTS[0])
    quiet = dict.fromkeys(vars(job.errors), 0.0)
    job = dataclasses.replace(job, errors=dataclasses.replace(job.errors, **{**quiet, "depth_mm": 0.25}))
    sigma = 0.25 * 7.85e-3 * np.pi * 64.0 * (88.0 - 27.0 - CONE_16 / 3.0)
    covariance = cuts_covariance(job, job.cuts_made)
    assert np.trace(covariance) == pytest.approx(sigma**2, rel=1e-3)
    (missing,) = the(slips_of(job), "not made", (0,))
    assert not np.any(missing.covariance_gmm2)
    (small,) = the(slips_of(job), "other drill", (0,), "12 mm")
    smaller = 0.25 * 7.85e-3 * np.pi * 36.0 * (88.0 - 27.0 - CONE_16 * 0.75 / 3.0)
    assert np.trace(small.covariance_gmm2) == pytest.approx(smaller**2, rel=1e-3)


def test_counted_to_the_tip_another_drills_shoulder_lies_where_its_own_cone_leaves_it() -> None:
    """The stop stands at 27 mm and the cone of 16 mm; a 12 mm drill has three quarters of that cone."""
    job = job_with(CUTS[0])
    job = dataclasses.replace(job, shop=dataclasses.replace(job.shop, depth_to="tip"))
    slips = slips_of(job)
    (small,) = the(slips, "other drill", (0,), "12 mm")
    deep = 27.0 + CONE_16 - 0.75 * CONE_16
    assert small.change_gmm == pytest.approx(hole(A, 213.0, diameter=12.0, depth=deep), abs=1e-3)
    # and what was counted to the shoulder is a cone deeper
    (deeper,) = the(slips, "depth counted", (0,))
    assert deeper.change_gmm == pytest.approx(hole(A, 213.0, depth=27.0 + CONE_16), abs=1e-3)
    assert deeper.words == (
        "the rim hole on A was drilled to its depth counted to the shoulder instead of the tip"
    )
