"""Plans for counterweights of every shape: verified by the project's second route and by a solid kernel's own walls.

The whole run of 200 is ``python -m tests.benchmarks.shaped_jobs``.
"""

from __future__ import annotations

import dataclasses

import pytest

from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut
from tests.physics.shaped_jobs import broken_walls, off_by, random_question, with_rim_cuts


@pytest.mark.parametrize("seed", [1, 7, 10])
def test_every_plan_keeps_its_walls(seed: int) -> None:
    problem = random_question(seed)
    outcome = find_plan(problem, seconds=60.0)
    assert outcome.feasible
    cuts = [each.cut for each in outcome.cuts]
    report = verify(problem, cuts)
    assert report.good
    # what the search says of itself and what the columns say
    assert report.residual_gmm == pytest.approx(outcome.residual_gmm, abs=1e-4)
    assert list(broken_walls(problem, cuts)) == []


def test_the_kernel_and_the_verification_see_a_hole_that_is_too_near() -> None:
    problem = random_question(7)
    cut = next(each.cut for each in find_plan(problem, seconds=60.0).cuts)
    beside = dataclasses.replace(cut, angle_deg=cut.angle_deg + 8.0)
    assert any("needed" in text for text in broken_walls(problem, [cut, beside]))
    assert any("wall" in text or "runs" in text for text in verify(problem, [cut, beside]).faults)
    far = dataclasses.replace(cut, from_middle_mm=0.45 * problem.counterweights[0].thickness_mm)
    text = " ".join(verify(problem, [far]).faults)
    assert "from the middle; the rows" in text
    assert "wall to either face" in text
    aside = dataclasses.replace(cut, beside_mm=3.0, tilt_deg=2.0)
    text = " ".join(verify(problem, [aside]).faults)
    assert "beside the shaft axis" in text
    assert "tilted by 2" in text
    assert isinstance(cut, Cut)


@pytest.mark.parametrize("seed", [1, 3])
def test_rims_turned_and_milled_take_what_the_kernel_says_and_keep_their_walls(seed: int) -> None:
    problem = with_rim_cuts(random_question(seed), seed)
    outcome = find_plan(problem, seconds=60.0)
    assert outcome.feasible
    cuts = [planned.cut for planned in outcome.cuts]
    on_rim = [cut for cut in cuts if cut.on_rim]
    assert on_rim
    assert verify(problem, cuts).good
    assert list(broken_walls(problem, cuts)) == []
    for cut in on_rim:
        assert off_by(problem, cut) < 2e-6


def test_the_kernel_sees_a_rim_cut_that_meets_a_hole() -> None:
    problem = with_rim_cuts(random_question(1), 1)
    cuts = [planned.cut for planned in find_plan(problem, seconds=60.0).cuts]
    turned = next(cut for cut in cuts if cut.on_rim)
    hole = dataclasses.replace(
        next(cut for cut in cuts if not cut.on_rim),
        counterweight=turned.counterweight,
        angle_deg=turned.angle_deg,
        from_middle_mm=0.0,
        tilt_deg=0.0,
    )
    assert any("needed" in text for text in broken_walls(problem, [turned, hole]))
