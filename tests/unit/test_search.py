"""The planner: what it finds on small problems whose answer can be counted out, and which wishes it follows."""

from __future__ import annotations

import dataclasses
import itertools
import math
from typing import Any

import pytest

from geometry_profiles.shapes import disc, fan, half_disc
from planner.correction.problem import CorrectionProblem, LimitRow, PlanOutcome
from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import effect_of
from planner.errors import InputError
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight, ExistingHole, KeepOut, OilDrilling
from planner.rotor.vectors import plane_shares, vector_gmm

SECONDS = 120.0
PLANES = TwoPlanes(40.0, 480.0)


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BOBPLAN_CACHE", "off")


def counterweight(name: str, z: float, angle: float, **changes: Any) -> Counterweight:
    given: dict[str, Any] = {
        "name": name,
        "z_mm": z,
        "angle_deg": angle,
        "thickness_mm": 25.0,
        "outline": fan(outer_radius_mm=85.0, half_angle_deg=55.0, inner_radius_mm=36.0),
        "cuts": ("rim hole", "face hole", "slug", "fill"),
    }
    return Counterweight(**{**given, **changes})


FOUR = (
    counterweight("A", 52.0, 180.0),
    counterweight("B", 150.0, 90.0),
    counterweight("C", 370.0, 270.0),
    counterweight("D", 468.0, 0.0),
)
SHOP = Shop(
    drills_mm=(14.0,),
    angle_step_deg=5.0,
    depth_step_mm=1.0,
    allow=("rim hole",),
    aim=1.0,
    prefer="least metal",
    prefer_cuts="fewest",
    heavy_metal="allowed",
    slug_diameters_mm=(19.05, 25.4),
)


def problem(first: complex, second: complex, **changes: Any) -> CorrectionProblem:
    limits = (
        LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=250.0, z_mm=PLANES[0]),
        LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=250.0, z_mm=PLANES[1]),
    )
    shop = dataclasses.replace(SHOP, **{k: v for k, v in changes.items() if k in Shop.__dataclass_fields__})
    rest = {k: v for k, v in changes.items() if k not in Shop.__dataclass_fields__}
    given: dict[str, Any] = {
        "unbalance_gmm": TwoPlanes(first, second),
        "planes_z_mm": PLANES,
        "limits": limits,
        "counterweights": FOUR,
        "shop": shop,
        "density_g_per_cm3": 7.85,
    }
    return CorrectionProblem(**{**given, **rest})


def plan(asked: CorrectionProblem) -> PlanOutcome:
    """Find a plan and have it verified by the other route."""
    outcome = find_plan(asked, seconds=SECONDS)
    report = verify(asked, [item.cut for item in outcome.cuts])
    assert report.faults == ()
    for own, other in zip(outcome.residual_gmm, report.residual_gmm, strict=True):
        if outcome.feasible:
            assert own == pytest.approx(other, abs=1e-3)
    assert not outcome.proof.stopped_by_time
    return outcome


def polar(amount: float, angle: float) -> complex:
    return vector_gmm(amount, angle)


def test_nothing_to_do() -> None:
    outcome = plan(problem(polar(100.0, 20.0), polar(200.0, 80.0)))
    assert outcome.feasible
    assert outcome.cuts == ()
    assert outcome.cost == 0.0
    assert outcome.proof.fewest_cuts
    assert outcome.proof.bound_cuts == 0
    assert outcome.residual_gmm == (polar(100.0, 20.0), polar(200.0, 80.0))


def test_one_hole_where_one_does() -> None:
    shares = plane_shares(52.0, PLANES)
    heavy = polar(1800.0, 170.0)
    outcome = plan(problem(shares[0] * heavy, shares[1] * heavy))
    assert [item.cut.counterweight for item in outcome.cuts] == ["A"]
    assert outcome.proof.fewest_cuts
    assert outcome.proof.bound_cuts == 1
    assert outcome.proof.gap_cost == 0.0


def test_two_cuts_are_the_best_of_all_pairs_counted_out() -> None:
    """Brute force with plain loops over a coarse grid: no code shared but the weighing of one cut."""
    asked = problem(
        polar(1900.0, 186.0),
        polar(2300.0, 8.0),
        limits=tuple(dataclasses.replace(limit, tolerance_gmm=450.0) for limit in problem(0j, 0j).limits),
        drills_mm=(12.0, 16.0),
        angle_step_deg=15.0,
        depth_step_mm=5.0,
        one_drill=False,
    )
    items = []
    for one in asked.counterweights:
        for drill, depth, turn in itertools.product((12.0, 16.0), range(5, 46, 5), range(0, 360, 15)):
            cut = Cut(
                kind="rim hole",
                counterweight=one.name,
                angle_deg=turn,
                diameter_mm=drill,
                depth_shoulder_mm=depth,
            )
            if verify(asked, [cut]).faults:
                continue
            effect = effect_of(cut, counterweight=one, density_g_per_cm3=7.85, shop=asked.shop)
            vector = polar(effect.unbalance_gmm, turn)
            share = plane_shares(effect.z_mm, PLANES)
            items.append((-effect.mass_g, share[0] * vector, share[1] * vector, cut))
    first, second = asked.unbalance_gmm
    assert not any(abs(first + i[1]) <= 450.0 and abs(second + i[2]) <= 450.0 for i in items)
    best = math.inf
    for one_item, other in itertools.combinations(items, 2):
        if (
            one_item[0] + other[0] < best
            and abs(first + one_item[1] + other[1]) <= 450.0
            and abs(second + one_item[2] + other[2]) <= 450.0
            and not verify(asked, [one_item[3], other[3]]).faults
        ):
            best = one_item[0] + other[0]
    assert math.isfinite(best)
    outcome = plan(asked)
    assert len(outcome.cuts) == 2
    assert outcome.cost == pytest.approx(best, abs=1e-6)
    assert outcome.proof.fewest_cuts
    assert outcome.proof.gap_cost == 0.0


def test_cuts_stand_in_the_shops_order() -> None:
    """Largest drill first, then front to rear, then angle."""
    order = (("D", 10.0, 16.0), ("A", 170.0, 12.0), ("A", 200.0, 12.0), ("C", 270.0, 12.0), ("B", 90.0, 10.0))
    cuts = tuple(
        Cut(kind="rim hole", counterweight=name, angle_deg=angle, diameter_mm=drill, depth_shoulder_mm=10.0)
        for name, angle, drill in order
    )
    effects = [
        effect_of(
            cut,
            counterweight=next(c for c in FOUR if c.name == cut.counterweight),
            density_g_per_cm3=7.85,
            shop=SHOP,
        )
        for cut in cuts
    ]
    shares = [plane_shares(effect.z_mm, PLANES) for effect in effects]
    vectors = [polar(effect.unbalance_gmm, cut.angle_deg) for effect, cut in zip(effects, cuts, strict=True)]
    first = -sum(s[0] * v for s, v in zip(shares, vectors, strict=True))
    second = -sum(s[1] * v for s, v in zip(shares, vectors, strict=True))
    outcome = plan(problem(first, second, fixed=(cuts[3], cuts[0], cuts[4], cuts[2], cuts[1])))
    assert tuple(item.cut for item in outcome.cuts) == cuts
    found = plan(problem(polar(5200.0, 175.0), polar(4800.0, 10.0), drills_mm=(12.0, 16.0), one_drill=False))
    keys = [
        (-item.cut.diameter_mm, "ABCD".index(item.cut.counterweight), item.cut.angle_deg)
        for item in found.cuts
    ]
    assert len(keys) >= 3
    assert keys == sorted(keys)


def test_the_aim_is_kept_where_it_costs_no_cut() -> None:
    wanted = (polar(2000.0, 183.0), polar(1700.0, 5.0))
    edge = plan(problem(*wanted, aim=1.0, angle_step_deg=1.0, depth_step_mm=0.5))
    inside = plan(problem(*wanted, aim=0.5, angle_step_deg=1.0, depth_step_mm=0.5))
    assert len(edge.cuts) == len(inside.cuts)
    assert inside.aim_reached is not None
    assert inside.aim_reached <= 0.5
    assert edge.cost <= inside.cost


def test_more_cuts_where_they_are_cheaper_and_the_number_does_not_matter() -> None:
    """One slug does it, but it is dear: holes on the other side are cheaper, more of them though."""
    light = polar(6000.0, 0.0)
    shares = plane_shares(52.0, PLANES)
    asked = problem(
        shares[0] * light, shares[1] * light, allow=("rim hole", "slug"), counterweights=(
            *FOUR, counterweight("E", 60.0, 0.0),
        ),
    )  # fmt: skip
    fewest = plan(asked)
    cheapest = plan(dataclasses.replace(asked, shop=dataclasses.replace(asked.shop, least_cuts=False)))
    assert len(fewest.cuts) < len(cheapest.cuts)
    assert cheapest.cost < fewest.cost / 2.0
    assert fewest.proof.fewest_cuts
    assert not cheapest.proof.fewest_cuts


def test_the_aim_gives_way_to_the_number_of_cuts() -> None:
    """On a dial of 15 degrees two holes can't always be inside the aim: then they are still two."""
    wanted = (polar(2400.0, 187.5), polar(2300.0, 7.5))
    outcome = plan(problem(*wanted, aim=0.1, angle_step_deg=15.0, depth_step_mm=2.0, drills_mm=(16.0,)))
    edge = plan(problem(*wanted, aim=1.0, angle_step_deg=15.0, depth_step_mm=2.0, drills_mm=(16.0,)))
    assert len(outcome.cuts) == len(edge.cuts)
    assert outcome.aim_reached is not None
    assert 0.1 < outcome.aim_reached <= 1.0


def test_one_drill_where_it_costs_no_cut() -> None:
    outcome = plan(
        problem(
            polar(2900.0, 183.0), polar(1200.0, 5.0), drills_mm=(10.0, 12.0, 16.0), one_drill=True, aim=0.5
        )
    )
    assert len({item.cut.diameter_mm for item in outcome.cuts}) == 1
    mixed = plan(
        problem(
            polar(2900.0, 183.0), polar(1200.0, 5.0), drills_mm=(10.0, 12.0, 16.0), one_drill=False, aim=0.5
        )
    )
    assert len(mixed.cuts) == len(outcome.cuts)


def test_forbidden_counterweights_and_kinds_are_left_alone() -> None:
    wanted = (polar(2000.0, 183.0), polar(1700.0, 5.0))
    assert {item.cut.counterweight for item in plan(problem(*wanted)).cuts} == {"A", "D"}
    without = find_plan(problem(*wanted, forbid=("A",)), seconds=SECONDS)
    assert "A" not in {item.cut.counterweight for item in (*without.cuts, *without.best_effort)}
    no_rim = tuple(dataclasses.replace(c, cuts=("slug",)) for c in FOUR)
    light = (-wanted[0] * 2.5, -wanted[1] * 2.5)
    only_slugs = plan(problem(*light, counterweights=no_rim, allow=("rim hole", "slug"), angle_step_deg=1.0))
    assert {item.cut.kind for item in only_slugs.cuts} == {"slug"}


@pytest.mark.parametrize("through", [True, False])
def test_face_holes(through: bool) -> None:
    thickness = 25.0 if through else 60.0  # too thick for the drill's reach: blind ones suit better
    weights = tuple(dataclasses.replace(c, thickness_mm=thickness) for c in FOUR)
    outcome = plan(
        problem(
            polar(2000.0, 183.0), polar(1700.0, 5.0), counterweights=weights, allow=("face hole",), aim=0.5,
            angle_step_deg=1.0, depth_step_mm=0.5,
        )
    )  # fmt: skip
    assert outcome.feasible
    assert {item.cut.kind for item in outcome.cuts} == {"face hole"}
    assert len(outcome.cuts) == 2


def test_part_length_slugs_act_at_their_own_place() -> None:
    outcome = plan(
        problem(
            polar(3000.0, 0.0), polar(2500.0, 180.0), allow=("slug",), slug_lengths_mm=(10.0, 15.0),
            angle_step_deg=1.0,
        )
    )  # fmt: skip
    assert outcome.feasible
    for item in outcome.cuts:
        assert item.cut.length_mm in (10.0, 15.0)
        assert not item.cut.through
        place = {"A": 52.0, "B": 150.0, "C": 370.0, "D": 468.0}[item.cut.counterweight]
        assert (item.effect.z_mm < place) == (item.cut.face == "front")


SMALL_MM, LARGE_MM = 19.05, 22.225


@pytest.mark.parametrize("prefer", ["least metal", "closest"])
@pytest.mark.parametrize(
    ("prices", "dearest"),
    [
        ({}, LARGE_MM),
        ({SMALL_MM: 20.0, LARGE_MM: 25.0}, LARGE_MM),
        ({SMALL_MM: 60.0, LARGE_MM: 25.0}, SMALL_MM),
        ({LARGE_MM: 1.0}, LARGE_MM),  # not all prices are known: by grams
    ],
)
@pytest.mark.parametrize("sides", [1, 2])
def test_the_least_heavy_metal_is_by_price_where_prices_are_known(
    prefer: str, prices: dict[float, float], dearest: float, sides: int
) -> None:
    """Both sizes can do it, the small one far out and the large one further in: (17.5 - 7.85) g/cm3 * d^2 pi/4 * 25 mm * r."""
    for size, radius in ((SMALL_MM, 69.0), (LARGE_MM, 51.0)):
        amount = 9.65e-3 * math.pi / 4.0 * size**2 * 25.0 * radius
        assert abs(amount - 4750.0) < 60.0  # both radii are on the grid, 250 g*mm are allowed
    wanted = [(52.0, polar(-4750.0, 180.0)), (468.0, polar(-4750.0, 0.0))][:sides]
    first = sum((plane_shares(z, PLANES)[0] * vector for z, vector in wanted), 0j)
    second = sum((plane_shares(z, PLANES)[1] * vector for z, vector in wanted), 0j)
    asked = problem(
        first, second, allow=("slug",), slug_diameters_mm=(SMALL_MM, LARGE_MM), slug_price=prices,
        prefer=prefer, close_enough=0.3,
    )  # fmt: skip
    outcome = plan(asked)
    assert len(outcome.cuts) == sides
    assert {item.cut.diameter_mm for item in outcome.cuts} == {SMALL_MM, LARGE_MM} - {dearest}


def test_heavy_metal_cost_keeps_its_meaning_where_all_slugs_cost_the_same_by_the_gram() -> None:
    """With one price by the gram a plan costs the same as without prices."""
    wanted = polar(-4750.0, 180.0)
    shares = plane_shares(52.0, PLANES)
    sizes = (SMALL_MM, LARGE_MM)
    by_gram = {size: 0.3 * 17.5e-3 * 25.0 * math.pi / 4.0 * size**2 for size in sizes}
    costs = [
        plan(
            problem(
                shares[0] * wanted, shares[1] * wanted, allow=("slug",), slug_diameters_mm=sizes,
                slug_price=prices,
            )
        ).cost
        for prices in ({}, by_gram)
    ]  # fmt: skip
    assert costs[0] == pytest.approx(costs[1], rel=1e-9)
    assert costs[0] == pytest.approx(10.0 * 17.5e-3 * 25.0 * math.pi / 4.0 * SMALL_MM**2, rel=1e-9)


def test_an_empty_hole_is_filled_when_that_does_it() -> None:
    hole = ExistingHole(kind="face hole", angle_deg=180.0, diameter_mm=19.0, radius_mm=60.0, through=True)
    weights = (dataclasses.replace(FOUR[0], existing=(hole,)), *FOUR[1:])
    filled = Cut(
        kind="fill",
        counterweight="A",
        angle_deg=180.0,
        diameter_mm=19.0,
        radius_mm=60.0,
        length_mm=25.0,
        through=True,
    )
    effect = effect_of(filled, counterweight=weights[0], density_g_per_cm3=7.85, shop=SHOP)
    shares = plane_shares(effect.z_mm, PLANES)
    light = polar(effect.unbalance_gmm, 0.0)
    asked = problem(shares[0] * light, shares[1] * light, counterweights=weights, allow=("fill",))
    outcome = plan(asked)
    assert [item.cut for item in outcome.cuts] == [filled]
    assert abs(outcome.residual_gmm[0]) < 1e-6
    taken = dataclasses.replace(hole, filled_density_g_per_cm3=17.5)
    nothing = find_plan(
        dataclasses.replace(
            asked, counterweights=(dataclasses.replace(FOUR[0], existing=(taken,)), *FOUR[1:])
        )
    )
    assert not nothing.feasible
    assert nothing.certificate is not None


def test_pinned_cuts_are_part_of_the_plan_and_keep_their_walls() -> None:
    pinned = Cut(
        kind="rim hole", counterweight="A", angle_deg=185.0, diameter_mm=14.0, depth_shoulder_mm=20.0
    )
    outcome = plan(problem(polar(4500.0, 183.0), polar(1700.0, 5.0), fixed=(pinned,)))
    assert [item.cut for item in outcome.cuts if item.pinned] == [pinned]
    assert outcome.feasible
    assert outcome.proof.bound_cuts >= 2
    enough = plan(problem(polar(2050.0, 183.0) * 0.97, polar(30.0, 5.0), fixed=(pinned,)))
    assert [item.cut for item in enough.cuts] == [pinned]


def test_a_pinned_cut_in_an_unknown_counterweight_is_refused() -> None:
    pinned = Cut(
        kind="rim hole", counterweight="X", angle_deg=185.0, diameter_mm=14.0, depth_shoulder_mm=20.0
    )
    with pytest.raises(InputError, match="a cut is in counterweight `X`, this crankshaft has A, B, C, D"):
        find_plan(problem(1000.0 + 0j, 0j, fixed=(pinned,)))


def test_old_holes_keep_outs_and_oil_drillings_are_avoided() -> None:
    old = ExistingHole(kind="rim hole", angle_deg=182.0, diameter_mm=12.0, depth_shoulder_mm=30.0)
    ring = KeepOut(from_angle_deg=350.0, to_angle_deg=3.0, from_radius_mm=50.0, to_radius_mm=85.0)
    oil = OilDrilling(
        from_z_mm=430.0, from_radius_mm=20.0, from_angle_deg=20.0, to_z_mm=500.0, to_radius_mm=80.0, to_angle_deg=25.0,
        diameter_mm=6.0, clearance_mm=4.0,
    )  # fmt: skip
    weights = (
        dataclasses.replace(FOUR[0], existing=(old,)),
        *FOUR[1:3],
        dataclasses.replace(FOUR[3], keep_outs=(ring,)),
    )
    outcome = plan(
        problem(
            polar(2300.0, 182.0),
            polar(1900.0, 5.0),
            counterweights=weights,
            oil_drillings=(oil,),
            angle_step_deg=1.0,
        )
    )
    assert outcome.feasible


@pytest.mark.parametrize(
    "outline",
    [
        disc(outer_radius_mm=85.0, inner_radius_mm=36.0),
        half_disc(outer_radius_mm=85.0, inner_radius_mm=20.0),
    ],
)
def test_other_outlines(outline: Any) -> None:
    weights = tuple(dataclasses.replace(c, outline=outline) for c in FOUR)
    outcome = plan(problem(polar(2000.0, 195.0), polar(1700.0, -35.0), counterweights=weights, aim=0.5))
    assert outcome.feasible
    assert outcome.proof.fewest_cuts


def test_depths_counted_to_the_tip_and_wider_holes() -> None:
    outcome = plan(
        problem(
            polar(2000.0, 183.0),
            polar(1700.0, 5.0),
            depth_to="tip",
            hole_oversize_mm=0.1,
            point_angle_deg=135.0,
        )
    )
    assert outcome.feasible
    for item in outcome.cuts:
        assert item.cut.depth_shoulder_mm is not None
        stop = item.cut.depth_shoulder_mm + 7.0 / math.tan(math.radians(67.5))
        assert stop == pytest.approx(round(stop), abs=1e-9)


def test_more_limits_than_two_and_other_weights() -> None:
    limits = (
        LimitRow(at="static", weight_1=1.0, weight_2=1.0, tolerance_gmm=200.0),
        LimitRow(at="couple", weight_1=-0.5, weight_2=0.5, tolerance_gmm=150.0),
        LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=180.0, z_mm=PLANES[1]),
    )
    outcome = plan(
        problem(
            polar(2000.0, 183.0),
            polar(1700.0, 5.0),
            limits=limits,
            angle_step_deg=1.0,
            depth_step_mm=0.5,
            aim=0.7,
        )
    )
    assert outcome.feasible
    first, second = outcome.residual_gmm
    for limit in limits:
        assert abs(limit.weight_1 * first + limit.weight_2 * second) <= limit.tolerance_gmm
    single = plan(problem(polar(2000.0, 183.0), polar(1700.0, 5.0), limits=limits[:1], angle_step_deg=1.0))
    assert single.feasible
    assert len(single.cuts) <= len(outcome.cuts)


def test_a_hopeless_reading_gets_a_certificate_and_the_best_that_can_be_done() -> None:
    outcome = find_plan(problem(polar(60000.0, 183.0), polar(1700.0, 5.0)), seconds=SECONDS)
    assert not outcome.feasible
    assert outcome.cuts == ()
    assert outcome.certificate is not None
    assert outcome.certificate.excess_sum_gmm > 10000.0
    assert outcome.certificate.excess_gmm[0] > 10000.0
    assert outcome.best_effort
    # what is done at its best can't beat the proof
    above = sum(max(0.0, abs(r) - 250.0) for r in outcome.residual_gmm)
    assert above >= outcome.certificate.excess_sum_gmm - 1e-6
    assert f"{outcome.certificate.excess_sum_gmm:.0f} g*mm too much" in outcome.certificate.text


def test_no_counterweight_to_cut_is_a_certificate_too() -> None:
    outcome = find_plan(problem(polar(1000.0, 10.0), 0j, counterweights=()))
    assert not outcome.feasible
    assert outcome.certificate is not None
    assert outcome.certificate.excess_sum_gmm == pytest.approx(750.0, abs=0.1)


def test_planes_at_one_place_are_refused() -> None:
    with pytest.raises(InputError, match="the two planes are both at z = 40 mm"):
        find_plan(problem(polar(1000.0, 10.0), 0j, planes_z_mm=TwoPlanes(40.0, 40.0)))


def test_the_same_problem_gives_the_same_plan() -> None:
    asked = problem(polar(5200.0, 175.0), polar(4800.0, 10.0), angle_step_deg=1.0, depth_step_mm=0.5, aim=0.5)
    first, second = find_plan(asked, seconds=SECONDS), find_plan(asked, seconds=SECONDS)
    assert first == second


def test_a_turned_crankshaft_has_as_good_a_plan() -> None:
    """Turning everything by whole dial steps changes neither the number of cuts nor their cost."""
    asked = problem(polar(3200.0, 175.0), polar(2800.0, 10.0))
    turn = 35.0
    turned = dataclasses.replace(
        asked,
        unbalance_gmm=TwoPlanes(
            asked.unbalance_gmm[0] * polar(1.0, turn), asked.unbalance_gmm[1] * polar(1.0, turn)
        ),
        counterweights=tuple(dataclasses.replace(c, angle_deg=c.angle_deg + turn) for c in FOUR),
    )
    one, two = plan(asked), plan(turned)
    assert len(one.cuts) == len(two.cuts)
    assert one.cost == pytest.approx(two.cost, rel=2e-2)


@pytest.mark.parametrize(("step", "phase"), [(7.0, 0.0), (1.0, 0.37), (2.5, 1.1)])
def test_any_dial_grid(step: float, phase: float) -> None:
    weights = (*FOUR[:3], dataclasses.replace(FOUR[3], angle_deg=180.0), counterweight("E", 440.0, 3.0))
    asked = problem(
        polar(2600.0, 178.0),
        polar(2300.0, 181.0),
        counterweights=weights,
        angle_step_deg=step,
        angle_phase_deg=phase,
    )
    outcome = plan(asked)  # the other route judges the grid
    assert outcome.feasible
    assert outcome.proof.fewest_cuts


def test_progress_is_told_in_words() -> None:
    told: list[str] = []
    find_plan(problem(polar(2000.0, 183.0), polar(1700.0, 5.0)), progress=told.append)
    assert told[0] == "laying out what can be cut"
    assert any(text.startswith("a plan of 2 cuts that leaves at most ") for text in told)


def test_out_of_time_says_so() -> None:
    outcome = find_plan(problem(polar(5200.0, 175.0), polar(4800.0, 10.0)), seconds=0.0)
    assert outcome.proof.stopped_by_time or outcome.feasible


def test_nothing_is_printed(capfd: pytest.CaptureFixture[str]) -> None:
    find_plan(problem(polar(5200.0, 175.0), polar(4800.0, 10.0)), seconds=SECONDS)
    assert capfd.readouterr().out == ""
