"""Other ways to correct, side by side: every number recalculated from the cuts."""

from __future__ import annotations

import dataclasses
import math
from functools import cache

import pytest
from painted import painted

from planner.jobfile.job import Job, MadeCut
from planner.jobfile.read import load_job
from planner.present.pages.alternatives import alternative_json, alternatives_block
from planner.present.words import chance_words
from planner.steps.alternatives import Alternative, end_counterweights, press_minutes
from planner.steps.plan import plan_job, stored_plan_of, with_alternatives
from planner.steps.plan_answer import PlanAnswer
from tests.cli.conftest import EXAMPLES


def job_of(name: str) -> Job:
    return load_job(EXAMPLES / name / "job.toml")


@cache
def answer_of(name: str) -> PlanAnswer:
    return with_alternatives(plan_job(job_of(name)))


def by_name(answer: PlanAnswer) -> dict[str, Alternative]:
    return {each.name: each for each in answer.alternatives}


@pytest.mark.parametrize("name", ["cross_plane_v8", "external_balance_v8"])
def test_the_rows_are_all_there_and_add_up(name: str) -> None:
    answer = answer_of(name)
    assert [each.name for each in answer.alternatives] == [
        "plan",
        "drilling only",
        "heavy metal",
        "one drill",
        "end counterweights",
        "cheapest",
        "most certain",
    ]
    z1, z2 = answer.problem.planes_z_mm
    for each in answer.alternatives:
        if not each.feasible:
            assert each.note
            continue
        left, right = answer.problem.unbalance_gmm
        for planned in each.cuts:
            angle = math.radians(planned.cut.angle_deg)
            vector = planned.effect.unbalance_gmm * complex(math.cos(angle), math.sin(angle))
            left += vector * (z2 - planned.effect.z_mm) / (z2 - z1)
            right += vector * (planned.effect.z_mm - z1) / (z2 - z1)
        share = max(
            abs(row.weight_1 * left + row.weight_2 * right) / row.tolerance_gmm
            for row in answer.problem.limits
        )
        assert each.share == pytest.approx(share, rel=1e-9)
        assert share <= 1.0
        assert each.chance_to_pass is not None
        assert 0.0 <= each.chance_to_pass <= 1.0
        drilled = -sum(p.effect.mass_g for p in each.cuts if p.cut.kind in ("rim hole", "face hole"))
        assert each.drilled_g == pytest.approx(drilled)


def test_each_keeps_what_its_name_says() -> None:
    answer = answer_of("cross_plane_v8")
    rows = by_name(answer)
    assert {p.cut.kind for p in rows["drilling only"].cuts} <= {"rim hole", "face hole"}
    assert len({p.cut.diameter_mm for p in rows["one drill"].cuts}) == 1
    assert {p.cut.counterweight for p in rows["end counterweights"].cuts} <= {"A", "F"}
    assert rows["cheapest"].drilled_g <= rows["plan"].drilled_g + 1e-9
    certain = rows["most certain"]
    assert certain.share is not None
    assert certain.share <= 0.3 + 1e-9
    assert certain.chance_to_pass is not None
    assert rows["cheapest"].chance_to_pass is not None
    # a plan at the edge of the tolerance passes about every other time at best
    assert rows["cheapest"].chance_to_pass < 0.6 < certain.chance_to_pass


def test_a_light_crankshaft_cannot_be_drilled() -> None:
    rows = by_name(answer_of("external_balance_v8"))
    assert not rows["drilling only"].feasible
    assert "proven" in rows["drilling only"].note
    assert rows["heavy metal"].heavy_metal_g > 0.0


def test_the_chance_counts_the_cuts_made_since_the_spin() -> None:
    """With the first of two cuts made as planned, the chance of the rest is that of both: nothing else has changed."""
    answer = answer_of("external_balance_v8")
    first, second = answer.steps
    made = MadeCut(after_spin=1, cut=first.cut, step=1)
    job = dataclasses.replace(answer.job, cuts_made=(made,), stored_plan=stored_plan_of(answer))
    after = plan_job(job)
    assert [step.cut for step in after.steps] == [second.cut]
    assert after.chance_to_pass == pytest.approx(answer.chance_to_pass, abs=0.01)


def test_minutes_at_the_press() -> None:
    answer = answer_of("external_balance_v8")
    shop = dataclasses.replace(answer.job.shop, minutes_per_cut=7.0, minutes_per_drill_change=3.0)
    # two slugs of two sizes: two cuts and one change
    assert len({p.cut.diameter_mm for p in answer.outcome.cuts}) == 2
    assert press_minutes(shop, answer.outcome.cuts) == 2 * 7.0 + 3.0
    assert press_minutes(shop, answer.outcome.cuts[:1]) == 7.0
    assert press_minutes(shop, ()) == 0.0


def test_ends_are_those_of_the_crankshaft_itself() -> None:
    counterweights = job_of("cross_plane_v8").crankshaft.counterweights
    damper = dataclasses.replace(counterweights[0], name="damper", z_mm=-60.0, part="damper")
    assert end_counterweights([damper, *counterweights]) == ("A", "F")
    assert end_counterweights([damper]) == ()


def test_the_table_and_the_plain_data_agree() -> None:
    answer = answer_of("external_balance_v8")
    lines = painted(alternatives_block(answer))
    assert any(line.startswith("drilling only") and "proven" in line for line in lines)
    for each in answer.alternatives:
        data = alternative_json(each)
        assert data["feasible"] is each.feasible
        assert (data["cuts"] is None) == (not each.feasible)
        assert len(data["steps"]) == len(each.cuts)
    assert painted(alternatives_block(dataclasses.replace(answer, alternatives=()))) == []


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (1.0, "over 99.9 %"),
        (0.9999, "over 99.9 %"),
        (0.993, "99.3 %"),
        (0.97, "97 %"),
        (0.004, "0.4 %"),
        (0.0001, "under 0.1 %"),
        (0.0, "0 %"),
    ],
)
def test_chance_words(chance: float, words: str) -> None:
    assert chance_words(chance) == words
