"""What is wanted of a plan, wish after wish; crankshafts of `tests.unit.test_search`, all invented."""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Sequence

import pytest

from geometry_profiles.shapes import disc
from planner.correction.problem import CorrectionProblem, PlanOutcome
from planner.correction.search import find_plan as search
from planner.correction.search.find_plan import find_plan
from planner.correction.search.wanted_cuts import Passing
from planner.correction.verify.verify_plan import VerificationReport, verify
from planner.cuts.cut import Cut
from planner.rotor.crankshaft import ExistingHole
from tests.unit.test_search import FOUR, plan, polar, problem

WISH = {
    "prefer": "closest", "prefer_cuts": "passes", "heavy_metal": "if needed", "aim": 0.5, "close_enough": 0.1,
    "angle_step_deg": 1.0, "depth_step_mm": 0.5,
}  # fmt: skip


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BOBPLAN_CACHE", "off")


def share_of(asked: CorrectionProblem, cuts: Sequence[Cut]) -> float:
    return max(amount / row.tolerance_gmm for row, amount in verify(asked, cuts).limits)


def nearer_is_surer(asked: CorrectionProblem, wanted: float) -> Passing:
    """Return a chance that falls with what is left: enough to see who asks for it."""
    return Passing(
        wanted=wanted,
        room_gmm=tuple(row.tolerance_gmm for row in asked.limits),
        circle_gmm=lambda: tuple((1.0 - wanted) * row.tolerance_gmm for row in asked.limits),
        chance=lambda cuts: max(0.0, 1.0 - share_of(asked, cuts)),
        centred_chance=lambda cuts: 1.0,
    )


def test_as_close_as_is_wanted() -> None:
    asked = problem(polar(2000.0, 183.0), polar(1700.0, 5.0), drills_mm=(12.0, 14.0, 16.0), **WISH)
    outcome = plan(asked)
    assert len(outcome.cuts) == 2
    assert outcome.proof.closest
    assert outcome.aim_reached is not None
    assert outcome.aim_reached <= 0.1
    # the least metal inside the aim stops far short of that
    cheap = plan(
        dataclasses.replace(asked, shop=dataclasses.replace(asked.shop, prefer="least metal", aim=0.5))
    )
    assert cheap.aim_reached is not None
    assert cheap.aim_reached > 0.3
    assert cheap.cost < outcome.cost


@pytest.mark.parametrize("aim", [1.0, 0.5, 0.3, 0.1, 0.02])
def test_a_tighter_aim_is_never_farther_out(aim: float) -> None:
    asked = problem(
        polar(2000.0, 183.0), polar(1700.0, 5.0), drills_mm=(14.0,),
        **{**WISH, "prefer": "least metal", "prefer_cuts": "fewest", "angle_step_deg": 5.0, "aim": aim},
    )  # fmt: skip
    closest = plan(
        dataclasses.replace(asked, shop=dataclasses.replace(asked.shop, prefer="closest", close_enough=0.001))
    )
    outcome = plan(asked)
    assert outcome.aim_reached is not None
    assert closest.aim_reached is not None
    assert outcome.aim_reached <= max(aim, closest.aim_reached + 0.02)


def test_a_third_cut_where_two_do_not_pass() -> None:
    """On a dial of 15 degrees two holes stay far out; for the wanted chance a third one comes."""
    asked = problem(
        polar(2000.0, 183.0), polar(1700.0, 22.0), drills_mm=(10.0, 16.0),
        **{**WISH, "angle_step_deg": 15.0, "depth_step_mm": 1.0},
    )  # fmt: skip
    bare = plan(asked)
    assert len(bare.cuts) == 2
    assert bare.proof.fewest_cuts
    wanted = 0.9
    outcome = find_plan(asked, seconds=120.0, passing=nearer_is_surer(asked, wanted))
    assert len(outcome.cuts) > 2
    assert outcome.chance is not None
    assert outcome.chance >= wanted
    assert not outcome.proof.fewest_cuts
    assert outcome.proof.bound_passing_cuts is not None
    assert 2 <= outcome.proof.bound_passing_cuts <= len(outcome.cuts)
    assert [level.cuts for level in outcome.levels] == list(range(2, len(outcome.cuts) + 1))
    chances = [level.chance for level in outcome.levels]
    assert all(chance is not None and chance < wanted for chance in chances[:-1])
    assert verify(asked, [item.cut for item in outcome.cuts]).good
    fewest = dataclasses.replace(asked, shop=dataclasses.replace(asked.shop, prefer_cuts="fewest"))
    assert len(find_plan(fewest, seconds=120.0, passing=nearer_is_surer(fewest, wanted)).cuts) == 2


def test_a_state_too_close_to_call_is_cut() -> None:
    asked = problem(polar(240.0, 183.0), polar(20.0, 5.0), drills_mm=(8.0,), **WISH)
    assert find_plan(asked).cuts == ()
    room = dataclasses.replace(nearer_is_surer(asked, 0.8), room_gmm=(212.0, 212.0))
    outcome = find_plan(asked, passing=room)
    assert len(outcome.cuts) == 1
    assert outcome.chance is not None
    assert outcome.chance > 0.6


def heavy(outcome: PlanOutcome) -> int:
    return sum(item.effect.slug_mass_g is not None for item in outcome.cuts)


def test_drilling_before_heavy_metal() -> None:
    """In a disc a slug opposite does what two shallow holes do; the holes are taken all the same."""
    weights = tuple(
        dataclasses.replace(each, outline=disc(outer_radius_mm=85.0, inner_radius_mm=36.0))
        for each in (FOUR[0], FOUR[3])
    )
    asked = problem(
        polar(1450.0, 160.0), polar(1450.0, 350.0), allow=("rim hole", "slug"), drills_mm=(12.0,),
        greatest_depth_mm=10.0, counterweights=weights, slug_diameters_mm=(12.7,),
        **{**WISH, "angle_step_deg": 5.0, "depth_step_mm": 1.0},
    )  # fmt: skip

    def with_use(use: str) -> PlanOutcome:
        return plan(dataclasses.replace(asked, shop=dataclasses.replace(asked.shop, heavy_metal=use)))  # type: ignore[arg-type]

    allowed, needed, never = with_use("allowed"), with_use("if needed"), with_use("never")
    assert heavy(allowed) > 0
    assert heavy(needed) == heavy(never) == 0
    assert needed.feasible
    assert needed.cuts == never.cuts
    assert len(allowed.cuts) < len(needed.cuts)


def test_heavy_metal_where_drilling_can_not_with_the_proof() -> None:
    asked = problem(polar(1500.0, 0.0), polar(1500.0, 180.0), allow=("rim hole", "slug"), **WISH)
    outcome = plan(asked)
    assert heavy(outcome) > 0
    assert outcome.drilling is not None
    assert outcome.drilling.certificate is not None
    never = plan(dataclasses.replace(asked, shop=dataclasses.replace(asked.shop, heavy_metal="never")))
    assert not never.feasible
    assert never.certificate is not None


def test_a_symmetric_question_gets_a_symmetric_plan() -> None:
    asked = problem(polar(2000.0, 180.0), polar(2000.0, 0.0), drills_mm=(12.0, 14.0, 16.0), **WISH)
    assert sorted(item.cut.angle_deg for item in plan(asked).cuts) == [0.0, 180.0]


def test_a_hole_is_drilled_on() -> None:
    """The place is taken by a hole that is not deep enough: drilled on it does what nothing beside it does as well."""
    old = ExistingHole(kind="rim hole", angle_deg=180.0, diameter_mm=14.0, depth_shoulder_mm=12.0)
    weights = (dataclasses.replace(FOUR[0], existing=(old,)), *FOUR[1:])
    asked = problem(polar(1100.0, 180.0), polar(30.0, 0.0), counterweights=weights, **WISH)
    outcome = plan(asked)
    (only,) = outcome.cuts
    assert only.cut.deepens
    assert only.cut.from_depth_mm == 12.0
    assert only.cut.angle_deg == 180.0
    assert outcome.aim_reached is not None
    assert outcome.aim_reached < 0.3


def test_a_plan_that_the_other_route_faults_gives_way_to_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = problem(
        polar(2000.0, 183.0), polar(1700.0, 22.0), drills_mm=(10.0, 16.0),
        **{**WISH, "angle_step_deg": 15.0, "depth_step_mm": 1.0},
    )  # fmt: skip
    passing = nearer_is_surer(asked, 0.9)
    best = find_plan(asked, seconds=120.0, passing=passing)

    def faulty(question: CorrectionProblem, cuts: Sequence[Cut]) -> VerificationReport:
        report = verify(question, cuts)
        if len(cuts) == len(best.cuts):
            report = dataclasses.replace(report, faults=("made up for this test",))
        return report

    monkeypatch.setattr(search, "verify", faulty)
    second = find_plan(asked, seconds=120.0, passing=passing)
    assert second.feasible
    assert len(second.cuts) < len(best.cuts)
    monkeypatch.setattr(
        search, "verify", lambda q, c: dataclasses.replace(verify(q, c), faults=("made up",) if c else ())
    )
    none = find_plan(asked, seconds=120.0, passing=passing)
    assert not none.feasible
    assert none.cuts == ()


@pytest.mark.parametrize("allow", [("rim hole",), ("rim hole", "slug"), ("rim hole", "face hole")])
def test_interrupted_anywhere_no_broken_rule_comes_out(
    allow: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A clock that counts how often it is asked strikes in every stage."""
    asked = problem(
        polar(5200.0, 165.0), polar(4800.0, 20.0), drills_mm=(10.0, 14.0), allow=allow,
        **{**WISH, "angle_step_deg": 5.0},
    )  # fmt: skip
    ticks = [0.0]

    def clock() -> float:
        ticks[0] += 1.0
        return ticks[0]

    struck = 0
    monkeypatch.setattr(time, "monotonic", clock)
    for after in (1, 3, 9, 27, 60, 100, 200, 400):
        outcome = find_plan(asked, seconds=float(after))
        struck += outcome.proof.stopped_by_time
        report = verify(asked, [item.cut for item in outcome.cuts])
        assert report.faults == ()
        assert report.keeps_limits or not outcome.feasible
        best = verify(asked, [item.cut for item in outcome.best_effort])
        assert best.faults == ()
    assert struck > 3
