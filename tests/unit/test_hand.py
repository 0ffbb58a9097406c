"""The correction by hand: parallelogram and depth formula against first principles, the whole against verification.

The parallelogram of forces is in any textbook of statics (from memory); checked here by adding the components up again.
"""

from __future__ import annotations

import cmath
import dataclasses
import math
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from painted import painted

from planner.correction.problem import CorrectionProblem
from planner.correction.verify.verify_plan import verify
from planner.cuts.rim_hole import rim_hole_first_moment_mm4
from planner.errors import InputError
from planner.frames import TwoPlanes
from planner.jobfile.job import Job
from planner.jobfile.read import load_job
from planner.present.pages.hand import hand_blocks, hand_json
from planner.rotor.vectors import vector_gmm
from planner.steps.correction_question import pose
from planner.steps.hand import depth_of_moment_mm, parallelogram, plan_by_hand, row_mm
from planner.steps.plan import plan_job
from tests.cli.conftest import EXAMPLES


@cache
def job_of(name: str) -> Job:
    return load_job(EXAMPLES / name / "job.toml")


def problem_with(left: complex, right: complex, **shop: object) -> CorrectionProblem:
    problem = pose(job_of("cross_plane_v8")).problem
    return dataclasses.replace(
        problem,
        unbalance_gmm=TwoPlanes(left, right),
        shop=dataclasses.replace(problem.shop, **shop),  # type: ignore[arg-type]
    )


@settings(max_examples=60, derandomize=True)
@given(
    amount=st.floats(1.0, 1e5),
    first=st.floats(0.0, 360.0),
    apart=st.floats(5.0, 170.0),
    inside=st.floats(0.0, 1.0),
)
def test_the_components_add_up_to_the_vector(
    amount: float, first: float, apart: float, inside: float
) -> None:
    vector = vector_gmm(amount, first + inside * apart)
    one, two = parallelogram(vector, first, first + apart)
    total = vector_gmm(1.0, first) * one + vector_gmm(1.0, first + apart) * two
    assert abs(total - vector) < 1e-6 * amount
    assert min(one, two) > -1e-6 * amount


def test_outside_of_the_two_angles_a_component_is_negative() -> None:
    assert min(parallelogram(vector_gmm(100.0, 50.0), 10.0, 40.0)) < 0.0


@pytest.mark.parametrize("depth", [8.0, 15.0, 30.0, 45.0])
def test_the_formula_solved_for_the_depth(depth: float) -> None:
    """Put the depth into the moment's formula, written out again, and get it back; the exact moment agrees to 0.02 mm."""
    R, a, c = 88.0, 8.0, 8.0 / math.tan(math.radians(59.0))
    moment = math.pi * a * a * (R * depth - depth**2 / 2 - a * a / 8 + c / 3 * (R - depth - c / 4))
    got = depth_of_moment_mm(moment, rim_radius_mm=R, diameter_mm=2 * a, cone_mm=c)
    assert got == pytest.approx(depth, abs=1e-9)
    exact = float(
        rim_hole_first_moment_mm4(
            outer_radius_mm=R, diameter_mm=2 * a, depth_shoulder_mm=depth, point_angle_deg=118.0
        )
    )
    other = depth_of_moment_mm(exact, rim_radius_mm=R, diameter_mm=2 * a, cone_mm=c)
    assert other == pytest.approx(depth, abs=0.02)


def test_more_than_any_hole_has_no_depth() -> None:
    assert depth_of_moment_mm(1e9, rim_radius_mm=88.0, diameter_mm=16.0, cone_mm=4.8) is None


def test_one_hole_when_one_does() -> None:
    problem = problem_with(vector_gmm(2500.0, 200.0), vector_gmm(2000.0, 20.0))
    hand = plan_by_hand(problem)
    assert [len(side.holes) for side in hand.sides] == [1, 1]
    assert [hole.cut.angle_deg for side in hand.sides for hole in side.holes] == [200.0, 20.0]
    assert hand.share < 0.3
    report = verify(problem, hand.cuts)
    assert report.faults == ()
    for got, want in zip(hand.residual_gmm, report.residual_gmm, strict=True):
        assert got == pytest.approx(want)


def test_two_holes_keep_their_walls_and_add_up() -> None:
    """More than one hole of 30 mm takes off: two, and the components of the parallelogram are what they take off."""
    problem = problem_with(vector_gmm(5200.0, 205.0), 0j, greatest_depth_mm=30.0)
    hand = plan_by_hand(problem)
    first, second = hand.sides
    assert len(first.holes) == 2
    assert second.holes == ()
    assert "nothing to drill" in second.note
    assert verify(problem, hand.cuts).faults == ()
    total = sum((vector_gmm(hole.component_gmm, hole.cut.angle_deg) for hole in first.holes), start=0j)
    assert total == pytest.approx(cmath.rect(5200.0, math.radians(205.0)))
    for hole in first.holes:
        assert -hole.effect.unbalance_gmm == pytest.approx(hole.component_gmm, abs=30.0)  # half a depth step
    assert hand.share < 0.3


def test_near_a_flank_the_holes_move_inward() -> None:
    """The heavy spot is 50 degrees from the centre line of a counterweight whose flank is at 58."""
    problem = problem_with(vector_gmm(3000.0, 248.0), 0j)
    hand = plan_by_hand(problem)
    assert verify(problem, hand.cuts).faults == ()
    for hole in hand.sides[0].holes:
        assert abs(hole.cut.angle_deg - 198.0) < 58.0


def test_a_light_counterweight_is_said() -> None:
    hand = plan_by_hand(problem_with(vector_gmm(3000.0, 18.0), 0j))
    assert hand.sides[0].holes == ()
    assert "beyond the flank" in hand.sides[0].note
    assert hand.share > 1.0


def test_too_much_for_two_holes() -> None:
    hand = plan_by_hand(problem_with(vector_gmm(20000.0, 198.0), 0j))
    assert hand.sides[0].holes == ()
    assert "two holes do not do it" in hand.sides[0].note


def test_counterweights_beside_the_planes_get_their_share() -> None:
    """By hand: A lies 52 mm before a plane at 104: the lever rule over 416 mm between A and F."""
    problem = dataclasses.replace(
        problem_with(vector_gmm(2500.0, 200.0), 0j), planes_z_mm=TwoPlanes(104.0, 468.0)
    )
    hand = plan_by_hand(problem)
    assert hand.sides[0].vector_gmm == pytest.approx(vector_gmm(2500.0 * (468 - 104) / 416, 200.0))
    assert hand.sides[1].vector_gmm == pytest.approx(vector_gmm(2500.0 * (104 - 52) / 416, 200.0))


@pytest.mark.parametrize(
    ("shop", "note"),
    [({"forbid": ("A",)}, "left alone"), ({"allow": ("face hole",)}, "no rim hole may be drilled")],
)
def test_what_may_not_be_drilled(shop: dict[str, object], note: str) -> None:
    hand = plan_by_hand(problem_with(vector_gmm(2500.0, 200.0), 0j, **shop))
    assert note in hand.sides[0].note


def test_two_ends_with_a_rim_are_needed() -> None:
    problem = problem_with(vector_gmm(2500.0, 200.0), 0j)
    one = dataclasses.replace(problem, counterweights=problem.counterweights[:1])
    with pytest.raises(InputError, match="two end counterweights with a rim"):
        plan_by_hand(one)
    first, *rest = problem.counterweights
    together = dataclasses.replace(
        problem, counterweights=(first, dataclasses.replace(rest[0], z_mm=first.z_mm))
    )
    with pytest.raises(InputError, match="at one z"):
        plan_by_hand(together)


def test_the_words_and_the_difference() -> None:
    answer = plan_job(job_of("cross_plane_v8"))
    assert painted(hand_blocks(answer)) == []
    assert hand_json(answer.hand, answer.problem.planes_z_mm) is None
    hand = plan_by_hand(answer.problem)
    text = "\n".join(painted(hand_blocks(dataclasses.replace(answer, hand=hand))))
    assert "Difference to the best plan" in text
    assert "h = R - c / 3 - sqrt" in text
    data = hand_json(hand, answer.problem.planes_z_mm)
    assert data is not None
    assert data["cuts"] == len(hand.cuts)
    # whoever is best at the aim, the plan does not drill more than the hand does
    planned = -sum(step.effect.mass_g for step in answer.steps)
    assert planned <= hand.drilled_g + 1e-6


def test_a_bevelled_rim_is_drilled_as_deep_as_it_needs() -> None:
    """The exact moment at the depth found is the wanted one; the hole stands where the rim is full, in a row beside the bevel."""
    from planner.cuts.rim_form_hole import rim_form_hole

    job = job_of("v_twin_bevelled")
    posed = pose(job).problem
    posed = dataclasses.replace(
        posed, unbalance_gmm=TwoPlanes(vector_gmm(1500.0, 180.0), vector_gmm(1350.0, 180.0)), oil_drillings=()
    )
    hand = plan_by_hand(posed)
    assert len(hand.cuts) == 2
    for side in hand.sides:
        (hole,) = side.holes
        form = side.counterweight.rim_form()
        moment = rim_form_hole(
            form=form,
            diameter_mm=hole.cut.diameter_mm + posed.shop.hole_oversize_mm,
            depth_shoulder_mm=hole.depth_exact_mm,
            point_angle_deg=posed.shop.point_angle_deg,
            from_middle_mm=row_mm(side.counterweight),
        ).first_moment_mm4
        assert moment == pytest.approx(hole.component_gmm / side.density_g_per_cm3 * 1000.0, rel=2e-5)
        assert hole.cut.from_middle_mm == row_mm(side.counterweight)
        low, high = form.land_mm(row_mm(side.counterweight))
        assert low + 3.0 <= hole.cut.from_middle_mm - 6.0 + 3.0
        assert hole.cut.from_middle_mm + 6.0 <= high - 3.0
    report = verify(posed, list(hand.cuts))
    assert report.good, report.faults
