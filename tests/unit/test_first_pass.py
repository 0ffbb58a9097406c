"""How deep to drill first, and whether there is room for a second pass."""

from __future__ import annotations

import cmath
import dataclasses
import math

import pytest
from scipy.stats import norm

from geometry_profiles.shapes import fan
from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import effect_of
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight, ExistingHole
from planner.rotor.limits import LimitRow
from planner.steps.first_pass import (
    counterweights_without_room,
    first_pass_share,
    first_pass_stop_mm,
    plan_share,
)
from planner.uncertainty.error_model import ErrorModel

ERRORS = ErrorModel()
SHOP = Shop(drills_mm=(16.0,), greatest_depth_mm=40.0)
FAN = Counterweight(
    name="A",
    z_mm=0.0,
    angle_deg=0.0,
    thickness_mm=24.0,
    outline=fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0),
    cuts=("rim hole",),
)


def problem_for(
    amount_gmm: float, tolerance_gmm: float, *, counterweight: Counterweight = FAN
) -> CorrectionProblem:
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes(complex(amount_gmm), 0j),
        planes_z_mm=TwoPlanes(0.0, 400.0),
        limits=(LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=tolerance_gmm),),
        counterweights=(counterweight,),
        shop=SHOP,
        density_g_per_cm3=7.85,
    )


def hole(depth_mm: float, angle_deg: float = 0.0) -> Cut:
    return Cut(
        kind="rim hole", counterweight="A", angle_deg=angle_deg, diameter_mm=16.0, depth_shoulder_mm=depth_mm
    )


def test_twenty_tolerances_or_less_are_one_pass() -> None:
    assert first_pass_share(unbalance_gmm=3000.0, tolerance_gmm=150.0, errors=ERRORS) == 1.0
    assert first_pass_share(unbalance_gmm=0.0, tolerance_gmm=150.0, errors=ERRORS) == 1.0


@pytest.mark.parametrize("amount", [6000.0, 8000.0, 12000.0])
def test_far_from_the_tolerance_some_is_left_on(amount: float) -> None:
    """Both conditions written out again: overshoot in at most 1 % of the spins, and three sigma across."""
    share = first_pass_share(
        unbalance_gmm=amount, tolerance_gmm=150.0, errors=ERRORS, depth_error_gmm=40.0, across_error_gmm=60.0
    )
    along = math.sqrt((0.015 * amount) ** 2 + 5.0**2 + 40.0**2)
    across = math.sqrt((amount * math.radians(0.5)) ** 2 + 5.0**2 + 60.0**2)
    left = (1.0 - share) * amount
    overshoot = 1.0 - norm.cdf((left + 150.0) / along)
    assert overshoot <= 0.0101
    assert left >= 3.0 * across - 1e-9
    assert left == pytest.approx(max(2.33 * along - 150.0, 3.0 * across))
    assert 0.9 < share < 1.0


def test_never_less_than_half() -> None:
    errors = dataclasses.replace(ERRORS, reading_percent=60.0)
    assert first_pass_share(unbalance_gmm=9000.0, tolerance_gmm=10.0, errors=errors) == 0.5


def test_a_plans_share_counts_depths_and_angles_of_all_its_cuts() -> None:
    """Five equal holes: depth errors as root five times density * area * (R - h) * 0.25, angles likewise."""
    cuts = [hole(30.0, angle) for angle in (-36.0, -18.0, 0.0, 18.0, 36.0)]
    problem = problem_for(9000.0, 150.0)
    got = plan_share(problem, cuts, reading_gmm=(9000 + 0j, 0j), errors=ERRORS)
    one = abs(effect_of(cuts[0], counterweight=FAN, density_g_per_cm3=7.85, shop=SHOP).unbalance_gmm)
    per_mm = 7.85e-3 * math.pi / 4 * 16.0**2 * (88.0 - 30.0)
    along = math.hypot(0.015 * 9000.0, math.sqrt(5) * per_mm * 0.25)
    across = math.hypot(9000.0 * math.radians(0.5), math.sqrt(5) * one * math.radians(1.0))
    # the cone's share of the derivative is neglected here
    assert got == pytest.approx(1.0 - max(2.33 * along - 150.0, 3.0 * across) / 9000.0, abs=2e-3)


def test_the_first_stop_removes_that_share() -> None:
    cut = hole(30.0)
    first = first_pass_stop_mm(cut, FAN, shop=SHOP, share=0.9)
    assert first is not None
    full, part, next_step = (
        abs(
            effect_of(
                dataclasses.replace(cut, depth_shoulder_mm=depth),
                counterweight=FAN,
                density_g_per_cm3=7.85,
                shop=SHOP,
            ).unbalance_gmm
        )
        for depth in (30.0, first, first + SHOP.depth_step_mm)
    )
    assert part <= 0.9 * full < next_step
    assert (first - SHOP.least_depth_mm) / SHOP.depth_step_mm == pytest.approx(
        round((first - SHOP.least_depth_mm) / SHOP.depth_step_mm)
    )


def test_the_shops_own_first_pass_wins() -> None:
    shop = dataclasses.replace(SHOP, first_pass=0.8)
    assert first_pass_stop_mm(hole(30.0), FAN, shop=shop, share=1.0) == 24.0


def test_no_stop_no_first_pass() -> None:
    slug = Cut(kind="slug", counterweight="A", angle_deg=0.0, diameter_mm=19.0, radius_mm=70.0, through=True)
    assert first_pass_stop_mm(slug, FAN, shop=SHOP, share=0.9) is None
    assert first_pass_stop_mm(hole(30.0), FAN, shop=SHOP, share=1.0) == 30.0


def test_room_is_a_deeper_hole_or_one_more() -> None:
    assert counterweights_without_room(problem_for(2000.0, 50.0), [hole(20.0)]) == ()
    # at the greatest depth, but there is place beside it
    assert counterweights_without_room(problem_for(2000.0, 50.0), [hole(40.0)]) == ()


def test_no_room() -> None:
    """A narrow counterweight with its one hole at the greatest depth, and old holes on both sides."""
    narrow = dataclasses.replace(
        FAN,
        outline=fan(outer_radius_mm=88.0, half_angle_deg=30.0, inner_radius_mm=36.0),
        existing=tuple(
            ExistingHole(kind="rim hole", angle_deg=angle, diameter_mm=12.0, depth_shoulder_mm=20.0)
            for angle in (-18.0, 18.0)
        ),
    )
    problem = problem_for(2000.0, 50.0, counterweight=narrow)
    shop = dataclasses.replace(SHOP, greatest_depth_mm=15.0)
    assert counterweights_without_room(dataclasses.replace(problem, shop=shop), [hole(15.0)]) == ("A",)
    # a deeper limit makes room again
    assert counterweights_without_room(problem, [hole(15.0)]) == ()


def test_a_place_has_its_own_angle() -> None:
    """The room is judged where the hole is, in the frame of the crankshaft."""
    turned = dataclasses.replace(FAN, angle_deg=350.0)
    cut = hole(40.0, angle_deg=(cmath.phase(cmath.exp(1j * math.radians(345.0))) * 180 / math.pi) % 360.0)
    assert counterweights_without_room(problem_for(2000.0, 50.0, counterweight=turned), [cut]) == ()
