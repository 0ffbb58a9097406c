"""Heavy metal: needed or not and why, what to order, what would hold it, in words and as plain data."""

from __future__ import annotations

import dataclasses
from functools import cache

import pytest
from painted import painted

from planner.correction.problem import Certificate
from planner.cuts.retention import slug_retention
from planner.frames import TwoPlanes
from planner.jobfile.job import Job, StoredStep
from planner.jobfile.read import load_job
from planner.present.pages.heavy_metal import (
    certificate_words,
    heavy_metal_block,
    heavy_metal_json,
    reason_words,
)
from planner.rotor.materials import material
from planner.steps.bob_window import BobWindow
from planner.steps.correction_question import pose
from planner.steps.heavy_metal import heavy_metal_of
from planner.steps.plan import _outcome_of_kept, plan_job
from planner.steps.plan_answer import PlanAnswer
from planner.steps.slugs import slug_cost, slug_holds, slug_orders
from tests.cli.conftest import EXAMPLES


@cache
def job_of(name: str) -> Job:
    return load_job(EXAMPLES / name / "job.toml")


@cache
def light() -> PlanAnswer:
    return plan_job(job_of("external_balance_v8"))


def test_needed_with_a_proof_in_the_jobs_units() -> None:
    heavy = light().heavy_metal
    assert heavy.needed
    assert heavy.certificate is not None
    words = reason_words(light().job, light().problem, heavy)
    assert "oz*in" in words
    assert "g*mm" not in words
    # 720.078 g*mm are an ounce-inch
    amount = heavy.certificate.excess_sum_gmm / 720.078
    assert f"{amount:.2f} oz*in" in words


def test_not_needed_when_drilling_does() -> None:
    job = job_of("cross_plane_v8")
    answer = plan_job(job)
    assert not answer.heavy_metal.needed
    assert answer.heavy_metal.window is None, "the window costs time: only on request"
    assert answer.heavy_metal.orders == ()
    assert answer.heavy_metal.holds == ()


def test_what_heavy_metal_would_make_of_many_holes_is_told() -> None:
    answer = plan_job(job_of("cross_plane_v8"))
    slug = next(step.effect for step in light().steps if step.effect.slug_mass_g is not None)
    cut = answer.outcome.cuts[0]
    other = (cut, dataclasses.replace(cut, effect=slug), dataclasses.replace(cut, effect=slug))
    outcome = dataclasses.replace(answer.outcome, cuts=answer.outcome.cuts * 4, with_heavy_metal=other)
    heavy = heavy_metal_of(answer.job, pose(answer.job), outcome)
    assert heavy.fewer == 3
    words = reason_words(answer.job, answer.problem, heavy)
    assert "with 8 cuts; a plan of 3 cuts with heavy metal was met on the way, `--heavy-metal" in words
    assert "on the way" not in reason_words(answer.job, answer.problem, answer.heavy_metal)


def test_what_heavy_metal_would_save_is_about_the_cuts_that_are_shown() -> None:
    """Of a stored plan two cuts are left: three with heavy metal are not fewer, and nothing is none."""
    answer = plan_job(job_of("cross_plane_v8"))
    fresh = dataclasses.replace(
        answer.outcome, cuts=answer.outcome.cuts * 2, with_heavy_metal=(light().outcome.cuts * 2)[:3]
    )
    assert len(fresh.with_heavy_metal) == 3
    steps = [StoredStep(number=step.number, cut=step.cut) for step in answer.steps]
    for kept, with_heavy_metal in ((steps, ()), (steps * 2, fresh.with_heavy_metal)):
        assert _outcome_of_kept(answer.job, answer.problem, kept, fresh).with_heavy_metal == with_heavy_metal
    nothing = dataclasses.replace(fresh, cuts=())
    assert heavy_metal_of(answer.job, pose(answer.job), nothing).fewer is None


def test_the_window_comes_with_a_plan_that_needs_heavy_metal() -> None:
    window = light().heavy_metal.window
    assert window is not None
    assert window.proven_g is not None
    assert window.proven_g[1] < 2218.0


def test_orders_add_up_to_the_plan() -> None:
    answer = light()
    orders = answer.heavy_metal.orders
    slugs = [step for step in answer.steps if step.effect.slug_mass_g is not None]
    assert sum(order.pieces for order in orders) == len(slugs)
    assert sum(order.total_g for order in orders) == pytest.approx(
        sum(step.effect.slug_mass_g or 0.0 for step in slugs)
    )
    assert sorted(name for order in orders for name in order.counterweights) == sorted(
        step.cut.counterweight for step in slugs
    )
    assert answer.heavy_metal.cost is None, "the shop file has no prices"


def test_prices() -> None:
    answer = light()
    sizes = {order.diameter_mm for order in answer.heavy_metal.orders}
    prices = {size: 10.0 * number for number, size in enumerate(sorted(sizes), start=1)}
    problem = dataclasses.replace(
        answer.problem, shop=dataclasses.replace(answer.problem.shop, slug_price=prices)
    )
    orders = slug_orders(problem, answer.outcome.cuts)
    assert slug_cost(orders) == pytest.approx(
        sum(order.pieces * prices[order.diameter_mm] for order in orders)
    )
    prices.pop(min(prices))
    missing = dataclasses.replace(problem, shop=dataclasses.replace(problem.shop, slug_price=prices))
    assert slug_cost(slug_orders(missing, answer.outcome.cuts)) is None
    assert slug_cost(()) is None


def test_the_fit_that_is_needed_gives_a_safety_factor_of_two() -> None:
    answer = light()
    holds = answer.heavy_metal.holds
    assert len(holds) == len(answer.steps)
    for hold, step in zip(holds, answer.steps, strict=True):
        assert step.cut.radius_mm is not None
        found = slug_retention(
            slug_mass_g=step.effect.slug_mass_g or 0.0,
            radius_mm=step.cut.radius_mm,
            diameter_mm=step.cut.diameter_mm,
            length_mm=step.counterweight.thickness_mm,
            speed_rpm=5500.0,
            fit_mm=hold.fit_needed_mm,
            boss_diameter_mm=hold.ring.diameter_mm,
            boss=material("nodular iron"),
            slug=material("ASTM B777 class 2"),
        )
        assert found.safety_factor == pytest.approx(2.0)
        assert found.bore_hoop_stress_mpa == pytest.approx(hold.stress_needed_mpa)


def test_holds_need_a_speed_and_a_known_alloy() -> None:
    answer = light()
    assert slug_holds(answer.problem, answer.outcome.cuts, speed_rpm=None) == ()
    lead = dataclasses.replace(
        answer.problem, shop=dataclasses.replace(answer.problem.shop, slug_density_g_per_cm3=11.34)
    )
    assert slug_holds(lead, answer.outcome.cuts, speed_rpm=5500.0) == ()


def test_words_say_it_is_no_release_and_warn_below_two() -> None:
    lines = painted(heavy_metal_block(light()))
    text = "\n".join(lines)
    assert "not a release for use" in text
    assert "order: 1 x" in text
    assert "safety factor" in text
    weak = [hold for hold in light().heavy_metal.holds if hold.retention.safety_factor < 2.0]
    assert text.count("is below 2") == len(weak)


def test_heavy_metal_that_only_saves_cuts() -> None:
    """A reading that three holes correct; a plan with slugs that reaches it too does not make them needed."""
    job = job_of("external_balance_v8")
    answer = light()
    posed = pose(job)
    small = dataclasses.replace(
        posed,
        problem=dataclasses.replace(
            posed.problem, unbalance_gmm=TwoPlanes(-posed.problem.unbalance_gmm[0] / 8, 0j)
        ),
    )
    heavy = heavy_metal_of(job, small, dataclasses.replace(answer.outcome, drilling=None))
    assert not heavy.needed
    words = reason_words(job, small.problem, heavy)
    assert "drilling alone reaches the tolerance too" in words
    drilled = int(words.split("with ")[1].split(" ")[0])
    fewer = len(answer.outcome.cuts) < drilled
    assert ("only saves cuts" in words) is fewer


def test_certificate_words() -> None:
    job = job_of("external_balance_v8")
    problem = pose(job).problem
    each = Certificate(excess_sum_gmm=1440.156, excess_gmm=(720.078, 0.0), text="")
    assert certificate_words(job, problem, each) == (
        "at least 2.00 oz*in too much remains over both limits together; each taken by itself: left at least 1.00 oz*in"
    )
    none = Certificate(excess_sum_gmm=720.078, excess_gmm=(0.0, 0.0), text="")
    assert "each limit alone could be kept" in certificate_words(job, problem, none)
    one = dataclasses.replace(problem, limits=problem.limits[:1])
    alone = Certificate(excess_sum_gmm=720.078, excess_gmm=(720.078,), text="")
    assert certificate_words(job, one, alone) == "left: at least 1.00 oz*in too much remains"


@pytest.mark.parametrize(
    ("window", "words"),
    [
        (BobWindow(bob_g=500.0, matters=False), "equal bobs cancel"),
        (BobWindow(bob_g=500.0, matters=True), "no equal change of the bobs"),
        (BobWindow(bob_g=500.0, matters=True, proven_g=(0.0, 480.0)), "can't do with bobs above 480.0 g"),
        (
            BobWindow(bob_g=500.0, matters=True, proven_g=(510.0, 600.0), g_per_piston_g=0.5),
            "that is 20.0 g of reciprocating mass",
        ),
        (
            BobWindow(bob_g=500.0, matters=True, proven_g=(400.0, 600.0), confirmed_g=(450.0, 590.0)),
            "confirmed by plans: 450.0 g to 590.0 g",
        ),
        (
            BobWindow(bob_g=500.0, matters=True, proven_g=(400.0, 600.0), confirmed_g=(500.0, 500.0)),
            "confirmed by a plan: 500.0 g",
        ),
    ],
)
def test_window_words(window: BobWindow, words: str) -> None:
    answer = light()
    heavy = dataclasses.replace(answer.heavy_metal, window=window)
    assert words in "\n".join(painted(heavy_metal_block(dataclasses.replace(answer, heavy_metal=heavy))))


def test_plain_data() -> None:
    heavy = light().heavy_metal
    data = heavy_metal_json(light())
    assert data["needed"] is True
    assert heavy.window is not None
    assert data["bob_window_g"] == list(heavy.window.proven_g or ())
    assert len(data["slugs"]) == len(heavy.orders)
    assert len(data["retention"]) == len(heavy.holds)
    assert data["certificate"]["excess_sum_gmm"] > 0.0
