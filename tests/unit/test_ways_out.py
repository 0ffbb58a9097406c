"""No plan: the ways out that are offered have a plan, checked here by the verification route."""

from __future__ import annotations

import dataclasses
from functools import cache

import pytest
from painted import painted

from planner.correction.problem import CorrectionProblem
from planner.correction.search.capacity import Capacity
from planner.frames import TwoPlanes
from planner.jobfile.job import Job
from planner.jobfile.read import load_job
from planner.present.pages.heavy_metal import heavy_metal_block, heavy_metal_json, reason_words
from planner.present.pages.ways_out import no_plan_block, ways_out_json
from planner.rotor.vectors import vector_gmm
from planner.steps.bob_window import BobWindow
from planner.steps.correction_question import pose
from planner.steps.heavy_metal import with_way_out
from planner.steps.plan import plan_job
from planner.steps.plan_answer import PlanAnswer
from planner.steps.ways_out import WaysOut, ways_out_of
from tests.cli.conftest import EXAMPLES


@cache
def job_of(name: str) -> Job:
    return load_job(EXAMPLES / name / "job.toml")


def heavy_problem(factor: float, **shop: object) -> CorrectionProblem:
    """The V8's reading made larger, in front of its end counterweights: too heavy for a weak shop."""
    problem = pose(job_of("cross_plane_v8")).problem
    left, right = problem.unbalance_gmm
    return dataclasses.replace(
        problem,
        unbalance_gmm=TwoPlanes(factor * left, factor * right),
        shop=dataclasses.replace(problem.shop, **shop),  # type: ignore[arg-type]
    )


@cache
def refused() -> PlanAnswer:
    job = job_of("external_balance_v8")
    shop = dataclasses.replace(job.shop, allow=("rim hole", "face hole"))
    return plan_job(dataclasses.replace(job, shop=shop), seconds=6.0)


def test_a_light_crankshaft_is_offered_heavy_metal_and_lighter_bobs() -> None:
    ways = refused().ways_out
    assert ways is not None
    kinds = [each.kind for each in ways.found]
    assert "heavy metal" in kinds
    assert "bobs" in kinds
    # what makes the counterweights lighter still can't help a light crankshaft
    assert not {"larger drill", "turn the rim", "deeper"} & set(kinds)
    assert {"turn the rim"} <= {each.kind for each in ways.ruled_out}
    heavy = next(each for each in ways.found if each.kind == "heavy metal")
    assert heavy.heavy_metal_g > 0.0
    assert refused().heavy_metal.needed


def test_the_words_for_it() -> None:
    lines = painted(no_plan_block(refused()))
    text = "\n".join(lines)
    assert "proven" in lines[0]
    assert "oz*in too much remains" in text
    assert "g*mm" not in text
    assert "allow slugs of heavy metal" in text
    assert "lighter bobs" in text
    assert "turning rims down" in text


@pytest.mark.parametrize(
    ("shop", "factor", "kind"),
    [
        ({"drills_mm": (8.0,)}, 2.5, "larger drill"),
        ({"drills_mm": (16.0,), "greatest_depth_mm": 10.0}, 2.5, "deeper"),
    ],
)
def test_a_heavy_crankshaft_wants_more_metal_off(shop: dict[str, object], factor: float, kind: str) -> None:
    problem = heavy_problem(factor, forbid=("B", "C", "D", "E"), **shop)
    assert Capacity(problem).excess_gmm()[0] > 0.0, "the case must have no plan"
    ways = ways_out_of(job_of("cross_plane_v8"), problem, kinds=(kind,), seconds=30.0)  # type: ignore[arg-type]
    assert kind in [each.kind for each in ways.found], ways


def test_a_crankshaft_too_heavy_for_any_drill_has_its_rims_turned() -> None:
    """Heavy spots on the centre lines of the end counterweights, and a shop that may only scratch them."""
    problem = dataclasses.replace(
        heavy_problem(1.0, drills_mm=(12.0,), greatest_depth_mm=5.5, forbid=("B", "C", "D", "E")),
        unbalance_gmm=TwoPlanes(vector_gmm(9000.0, 198.0), vector_gmm(9000.0, 18.0)),
    )
    assert Capacity(problem).excess_gmm()[0] > 0.0, "the case must have no plan"
    ways = ways_out_of(job_of("cross_plane_v8"), problem, kinds=("turn the rim",), seconds=30.0)
    assert "turn the rim" in [each.kind for each in ways.found], ways


def test_an_over_drilled_hole_is_filled_again() -> None:
    """A hole that took off too much on an otherwise good crankshaft: filling it is offered, and needs no cut."""
    from planner.rotor.crankshaft import ExistingHole
    from planner.steps.reshaping import with_hole_filled

    base = pose(job_of("cross_plane_v8")).problem
    hole = ExistingHole(kind="rim hole", angle_deg=205.0, diameter_mm=16.0, depth_shoulder_mm=40.0)
    counterweights = tuple(
        dataclasses.replace(each, existing=(hole,)) if each.name == "A" else each
        for each in base.counterweights
    )
    drilled = dataclasses.replace(
        base,
        counterweights=counterweights,
        unbalance_gmm=TwoPlanes(0j, 0j),
        shop=dataclasses.replace(base.shop, forbid=()),
    )
    filled = with_hole_filled(drilled, "A", 0)
    # over-drilled: what is missing is exactly that hole, and nothing may be drilled to make up for it
    over = dataclasses.replace(
        drilled,
        unbalance_gmm=TwoPlanes(-filled.unbalance_gmm[0], -filled.unbalance_gmm[1]),
        shop=dataclasses.replace(base.shop, greatest_depth_mm=5.5),
    )
    ways = ways_out_of(job_of("cross_plane_v8"), over, kinds=("fill a hole",), seconds=30.0)
    found = [each for each in ways.found if each.kind == "fill a hole"]
    assert found, ways
    assert found[0].cuts == ()
    assert "at 205 on the dial" in found[0].words


def test_old_holes_are_drilled_out() -> None:
    """A narrow old hole sits where the metal has to go: a wider drill may follow it, where the shop hadn't thought of it."""
    from planner.rotor.crankshaft import ExistingHole

    base = heavy_problem(1.0, drills_mm=(16.0,), greatest_depth_mm=20.0, forbid=("B", "C", "D", "E"))
    holes = tuple(
        ExistingHole(kind="rim hole", angle_deg=angle, diameter_mm=10.0, depth_shoulder_mm=14.0)
        for angle in (148.0, 162.0, 180.0, 198.0, 216.0, 234.0, 248.0)
    )
    counterweights = tuple(
        dataclasses.replace(each, existing=holes) if each.name == "A" else each
        for each in base.counterweights
    )
    problem = dataclasses.replace(
        base, counterweights=counterweights, unbalance_gmm=TwoPlanes(vector_gmm(1500.0, 198.0), 0j)
    )
    assert Capacity(problem).excess_gmm()[0] > 0.0, "the case must have no plan"
    ways = ways_out_of(job_of("cross_plane_v8"), problem, kinds=("drill out",), seconds=30.0)
    assert [each.words for each in ways.found] == ["drill old holes out with a wider drill"], ways
    assert any(planned.cut.enlarges for planned in ways.found[0].cuts)
    # nothing to drill out: the way is not even named
    none = tuple(dataclasses.replace(each, existing=()) for each in base.counterweights)
    bare = dataclasses.replace(problem, counterweights=none)
    named = ways_out_of(job_of("cross_plane_v8"), bare, kinds=("drill out",), seconds=30.0)
    assert named == WaysOut()


def test_a_ban_is_lifted() -> None:
    problem = heavy_problem(1.0, forbid=("A", "B", "C", "D", "E", "F"))
    ways = ways_out_of(job_of("cross_plane_v8"), problem, kinds=("counterweights left alone",), seconds=30.0)
    assert [each.kind for each in ways.found] == ["counterweights left alone"]


def test_bobs_inside_their_window_are_no_way_out() -> None:
    problem = pose(job_of("cross_plane_v8")).problem
    inside = BobWindow(bob_g=500.0, matters=True, proven_g=(400.0, 600.0), confirmed_g=(450.0, 550.0))
    light = dataclasses.replace(inside, bob_g=430.0, g_per_piston_g=0.5)
    job = job_of("cross_plane_v8")
    without = dataclasses.replace(problem, shop=dataclasses.replace(problem.shop, drills_mm=(12.0,)))

    def words(window: BobWindow) -> list[str]:
        ways = ways_out_of(job, without, window=window, seconds=0.0)
        return [each.words for each in ways.found if each.kind == "bobs"]

    assert words(inside) == []
    assert words(dataclasses.replace(inside, confirmed_g=None)) == []
    (text,) = words(light)
    assert "heavier bobs: 450.0 g instead of 430.0 g" in text
    assert "40.0 g of reciprocating mass heavier" in text


def test_no_time_is_said() -> None:
    problem = heavy_problem(5.0, drills_mm=(8.0,))
    ways = ways_out_of(job_of("cross_plane_v8"), problem, seconds=0.0)
    assert ways.found == ()
    assert all("no time left" in each.words for each in ways.open)
    assert ways.open


def test_neither_plan_nor_proof_says_so() -> None:
    answer = refused()
    unknown = dataclasses.replace(answer.outcome, certificate=None)
    text = "\n".join(painted(no_plan_block(dataclasses.replace(answer, outcome=unknown, ways_out=WaysOut()))))
    assert "NO PLAN WAS FOUND; that there is none is not proven" in text
    assert "No way out was found" in text


def test_plain_data() -> None:
    data = ways_out_json(refused().ways_out)
    assert data is not None
    assert {each["kind"] for each in data["found"]} >= {"heavy metal", "bobs"}
    assert all(each["words"] for each in data["ruled_out"])
    assert ways_out_json(None) is None


def test_a_way_without_a_plan_is_never_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    """The bound lets it pass, but no plan is found: then it stays open, and is not called proven either."""
    from planner.steps import ways_out

    problem = heavy_problem(1.0, forbid=("A", "B", "C", "D", "E", "F"))
    none = dataclasses.replace(refused().outcome, certificate=None)
    monkeypatch.setattr(ways_out, "find_plan", lambda asked, *, seconds, quick: none)
    ways = ways_out_of(job_of("cross_plane_v8"), problem, kinds=("counterweights left alone",), seconds=30.0)
    assert ways.found == ()
    assert "cut on A, B, C, D, E, F too" in [each.words for each in ways.open]
    answer = dataclasses.replace(refused(), ways_out=ways)
    assert "No plan found either, not proven impossible: cutting where nothing" in "\n".join(
        painted(no_plan_block(answer))
    )


def test_a_search_that_was_stopped_proves_no_need() -> None:
    """Without a proof the ways out are no results: a plan may exist without any of them, and heavy metal is not needed."""
    found = refused()
    outcome = dataclasses.replace(
        found.outcome,
        certificate=None,
        proof=dataclasses.replace(found.outcome.proof, stopped_by_time=True),
    )
    lines = painted(no_plan_block(dataclasses.replace(found, outcome=outcome)))
    warned = next(
        index for index, line in enumerate(lines) if "A plan may exist without any of these" in line
    )
    assert warned < next(index for index, line in enumerate(lines) if line.startswith("WAYS OUT"))
    assert not any("A plan may exist without" in line for line in painted(no_plan_block(found)))
    assert found.ways_out is not None
    unknown = with_way_out(dataclasses.replace(found.heavy_metal, needed=None), found.ways_out, outcome)
    assert unknown.needed is None
    words = reason_words(found.job, found.problem, unknown)
    assert "not proven that there is none; with heavy metal there is one" in words


def test_a_plan_that_may_not_be_the_shortest_says_so() -> None:
    found = refused()
    assert found.ways_out is not None
    some = tuple(dataclasses.replace(each, fewest=False) for each in found.ways_out.found)
    ways = dataclasses.replace(found.ways_out, found=some)
    text = "\n".join(painted(no_plan_block(dataclasses.replace(found, ways_out=ways))))
    assert " or fewer, " in text
    assert ways_out_json(ways)["found"][0]["fewest_cuts"] is False  # type: ignore[index]


def test_no_plan_with_heavy_metal_or_without_is_no_answer() -> None:
    """Slugs are allowed and do not help: that they are not needed would be as wrong as that they are."""
    job = job_of("external_balance_v8")
    shop = dataclasses.replace(job.shop, forbid=tuple(c.name for c in job.crankshaft.counterweights))
    answer = plan_job(dataclasses.replace(job, shop=shop), seconds=1.0)
    assert not answer.outcome.feasible
    assert answer.heavy_metal.needed is None
    assert "with heavy metal or without" in reason_words(answer.job, answer.problem, answer.heavy_metal)
    assert "Heavy metal: no answer" in "\n".join(painted(heavy_metal_block(answer)))
    assert heavy_metal_json(answer)["needed"] is None
