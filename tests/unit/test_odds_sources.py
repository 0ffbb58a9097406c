"""Which error matters, biases, how much to cut first; and the draws against the whole verification route.

check                                    source
chance to be in, or over, along one line normal distribution (any table; numbers: scipy.stats.norm)
chance in one plane, off the middle      Rice's distribution (scipy.stats.rice)
what perturbed cuts leave                `planner.correction.verify.verify_plan`: numerical integration of holes, no formula
                                         of the cuts
All data invented.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from scipy.stats import norm, rice

from geometry_profiles.shapes import fan
from planner.correction.problem import CorrectionProblem
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut, Shop
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight, Throw
from planner.rotor.limits import LimitRow
from planner.rotor.vectors import vector_gmm
from planner.uncertainty.draws import Question, draw_planes, kept
from planner.uncertainty.error_model import ErrorModel
from planner.uncertainty.odds import uncertain_cut
from planner.uncertainty.odds_sources import (
    SOURCES,
    best_first_cut,
    errors_of,
    first_order_variances,
    source_shares,
)
from planner.uncertainty.uncertain_cut import UncertainCut

PLANES = TwoPlanes(20.0, 320.0)
LEFT = LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=150.0)
RIGHT = LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=150.0)
NONE = errors_of(ErrorModel(), [])
SHOP = Shop(drills_mm=(14.0, 16.0), slug_diameters_mm=(19.0,))
DRAWS = 100_000
# the share of a half in 100 000 draws scatters by 0.0016
CLOSE = 0.007


def counterweight(name: str, z_mm: float, angle_deg: float) -> Counterweight:
    return Counterweight(
        name=name,
        z_mm=z_mm,
        angle_deg=angle_deg,
        thickness_mm=24.0,
        outline=fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0),
        cuts=("rim hole", "face hole", "slug"),
    )


WEIGHTS = (counterweight("A", 20.0, 0.0), counterweight("B", 300.0, 180.0))
CUTS = (
    Cut(kind="rim hole", counterweight="A", angle_deg=10.0, diameter_mm=16.0, depth_shoulder_mm=25.0),
    Cut(kind="rim hole", counterweight="A", angle_deg=-18.0, diameter_mm=14.0, depth_shoulder_mm=18.0),
    Cut(
        kind="face hole",
        counterweight="B",
        angle_deg=170.0,
        diameter_mm=14.0,
        depth_shoulder_mm=12.0,
        radius_mm=70.0,
    ),
    Cut(
        kind="slug",
        counterweight="B",
        angle_deg=205.0,
        diameter_mm=19.0,
        radius_mm=66.0,
        length_mm=24.0,
        through=True,
    ),
)
THROWS = (Throw(name="1", angle_deg=90.0, z_mm=120.0, radius_mm=45.0, rods=2),)


def uncertain(cut: Cut) -> UncertainCut:
    own = next(each for each in WEIGHTS if each.name == cut.counterweight)
    return uncertain_cut(cut, counterweight=own, density_g_per_cm3=7.85, shop=SHOP)


def problem(
    unbalance: tuple[complex, complex], *, density: float = 7.85, shop: Shop = SHOP
) -> CorrectionProblem:
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes(*unbalance),
        planes_z_mm=PLANES,
        limits=(LEFT, RIGHT),
        counterweights=WEIGHTS,
        shop=shop,
        density_g_per_cm3=density,
    )


# a reading that the cuts leave 60 and 40 g*mm of
REST = (60.0 + 0j, -40j)
READING = tuple(
    rest - done for rest, done in zip(REST, verify(problem((0j, 0j)), CUTS).residual_gmm, strict=True)
)


def question(errors: ErrorModel, *, throws: tuple[Throw, ...] = ()) -> Question:
    return Question(
        cuts=[uncertain(cut) for cut in CUTS],
        reading_gmm=READING,
        planes_z_mm=PLANES,
        errors=errors,
        throws=throws,
    )


def residual(errors: ErrorModel) -> tuple[complex, complex]:
    """Return what a single draw without spread leaves."""
    start, change = draw_planes(question(errors), draws=1, seed=1)
    seen = []
    for row in (LEFT, RIGHT):
        (x, y), (dx, dy) = start.at(row), change.at(row)
        seen.append(complex(float(x[0] + dx[0]), float(y[0] + dy[0])))
    return seen[0], seen[1]


class TestAgainstTheVerificationRoute:
    def test_without_errors(self) -> None:
        assert residual(NONE) == pytest.approx(REST, abs=0.01)

    def test_deeper_holes(self) -> None:
        """All holes 0.8 mm too deep (not the through slug)."""
        deeper = [
            cut
            if cut.depth_shoulder_mm is None
            else dataclasses.replace(cut, depth_shoulder_mm=cut.depth_shoulder_mm + 0.8)
            for cut in CUTS
        ]
        expected = verify(problem(READING), deeper).residual_gmm
        assert abs(expected[0] - REST[0]) > 50.0
        # the blind face hole's centre moves 0.4 mm along the shaft, which the draws neglect
        assert residual(dataclasses.replace(NONE, depth_bias_mm=0.8)) == pytest.approx(expected, abs=2.0)

    def test_wider_holes(self) -> None:
        """Holes and the slug's bore with its slug 0.1 mm wider."""
        wider = [dataclasses.replace(cut, diameter_mm=cut.diameter_mm + 0.1) for cut in CUTS]
        expected = verify(problem(READING), wider).residual_gmm
        assert abs(expected[0] - REST[0]) > 20.0
        assert residual(dataclasses.replace(NONE, diameter_bias_mm=0.1)) == pytest.approx(expected, abs=0.5)

    def test_cuts_ahead(self) -> None:
        ahead = [dataclasses.replace(cut, angle_deg=cut.angle_deg + 1.5) for cut in CUTS]
        expected = verify(problem(READING), ahead).residual_gmm
        assert abs(expected[0] - REST[0]) > 50.0
        assert residual(dataclasses.replace(NONE, angle_bias_deg=1.5)) == pytest.approx(expected, abs=0.5)

    def test_a_brute_force_simulation(self) -> None:
        """200 crankshafts cut with errors of depth, angle and density, each verified by integration."""
        errors = dataclasses.replace(
            NONE, depth_mm=0.5, angle_deg=2.0, density_percent=1.0, reading_percent=2.0
        )
        rng = np.random.default_rng(8)
        count, passed, rests = 200, 0, []
        for _ in range(count):
            cuts = [
                dataclasses.replace(
                    cut,
                    angle_deg=cut.angle_deg + rng.normal(0.0, 2.0),
                    depth_shoulder_mm=None
                    if cut.depth_shoulder_mm is None
                    else cut.depth_shoulder_mm + rng.normal(0.0, 0.5),
                )
                for cut in CUTS
            ]
            shop = dataclasses.replace(SHOP, slug_density_g_per_cm3=17.5 * (1.0 + rng.normal(0.0, 0.01)))
            read = (READING[0] * (1.0 + rng.normal(0.0, 0.02)), READING[1] * (1.0 + rng.normal(0.0, 0.02)))
            report = verify(problem(read, density=7.85 * (1.0 + rng.normal(0.0, 0.01)), shop=shop), cuts)
            passed += report.keeps_limits
            rests.append(report.residual_gmm)
        start, change = draw_planes(question(errors), draws=DRAWS, seed=1)
        chance = float(np.logical_and.reduce(kept(start, change, (LEFT, RIGHT))).mean())
        # three times the scatter of a share in 200 draws
        assert passed / count == pytest.approx(chance, abs=3.0 * math.sqrt(chance * (1.0 - chance) / count))
        for row, plane in ((LEFT, 0), (RIGHT, 1)):
            spread = math.sqrt(sum(first_order_variances(question(errors), row).values()))
            brute = np.array([rest[plane] for rest in rests])
            assert math.sqrt(float(np.mean(np.abs(brute - brute.mean()) ** 2))) == pytest.approx(
                spread, rel=0.15
            )


class TestClosedForms:
    def test_equal_spread_along_and_across_is_rice(self) -> None:
        """What remains is 60 off the middle; the reading (2000) errs by 30 along and across."""
        reading = (2000.0 + 0j, 0j)
        cut = UncertainCut(
            amount_gmm=-1940.0, angle_deg=0.0, z_mm=20.0, heavy_gmm=0.0, per_depth_gmm_per_mm=0.0,
            curvature_gmm_per_mm2=0.0, per_diameter_gmm_per_mm=0.0, per_radius_gmm_per_mm=0.0, drill=1, radius_of=1,
        )  # fmt: skip
        errors = dataclasses.replace(NONE, reading_percent=1.5, reading_angle_deg=math.degrees(0.015))
        asked = Question(cuts=[cut], reading_gmm=reading, planes_z_mm=PLANES, errors=errors)
        for tolerance in (50.0, 80.0, 110.0):
            row = dataclasses.replace(LEFT, tolerance_gmm=tolerance)
            inside = kept(*draw_planes(asked, draws=DRAWS, seed=2), (row,))[0].mean()
            # Rice: distance from the middle of a normal cloud 60 off it
            assert inside == pytest.approx(rice.cdf(tolerance / 30.0, 60.0 / 30.0), abs=CLOSE)

    def test_first_cut_along_one_line_is_normal(self) -> None:
        """U = 8000, the reading errs by 1.5 % along: what remains of a share f is normal about (1 - f) U."""
        cut = UncertainCut(
            amount_gmm=-8000.0, angle_deg=0.0, z_mm=20.0, heavy_gmm=0.0, per_depth_gmm_per_mm=0.0,
            curvature_gmm_per_mm2=0.0, per_diameter_gmm_per_mm=0.0, per_radius_gmm_per_mm=0.0, drill=1, radius_of=1,
        )  # fmt: skip
        errors = dataclasses.replace(NONE, reading_percent=1.5)
        asked = Question(cuts=[cut], reading_gmm=(8000.0 + 0j, 0j), planes_z_mm=PLANES, errors=errors)
        found = best_first_cut(asked, (LEFT,), over_cost=10.0, draws=DRAWS, seed=3, least=0.9)
        costs = {}
        for share, passed, over, cost in found.table:
            rest, sigma = 8000.0 * (1.0 - share), 120.0
            low, high = norm.cdf((np.array([-150.0, 150.0]) - rest) / sigma)
            assert passed == pytest.approx(high - low, abs=CLOSE)
            assert over == pytest.approx(low, abs=CLOSE)
            costs[share] = (1.0 - high) + 10.0 * low
            assert cost == pytest.approx(costs[share], abs=0.05)
        assert found.share == min(costs, key=lambda share: costs[share])
        assert found.share == 0.99
        # who over-drills for nothing cuts all of it
        cheap = best_first_cut(asked, (LEFT,), over_cost=0.0, draws=DRAWS, seed=3, least=0.9)
        assert cheap.share == 1.0
        dear = best_first_cut(asked, (LEFT,), over_cost=1000.0, draws=DRAWS, seed=3, least=0.9)
        assert dear.share < found.share


class TestShares:
    def test_first_order_and_drawn_alone_agree(self) -> None:
        shares = source_shares(question(ErrorModel(), throws=THROWS), LEFT, draws=DRAWS, seed=4)
        assert {each.source for each in shares} == set(SOURCES)
        assert sum(each.share for each in shares) == pytest.approx(1.0)
        for each in shares:
            assert each.simulated_variance_gmm2 == pytest.approx(each.variance_gmm2, rel=0.03)
            assert each.simulated_share == pytest.approx(each.share, abs=0.01)
        assert [each.variance_gmm2 for each in shares] == sorted(
            (each.variance_gmm2 for each in shares), reverse=True
        )

    def test_a_bob_by_hand(self) -> None:
        """0.3 g at 45 mm, a third of the way from left to right: (2/3 * 13.5)^2."""
        errors = dataclasses.replace(NONE, bob_mass_g=0.3)
        variance = first_order_variances(question(errors, throws=THROWS), LEFT)
        assert variance["bob masses"] == pytest.approx((2.0 / 3.0 * 13.5) ** 2)
        assert sum(variance.values()) == variance["bob masses"]

    def test_reading_by_hand(self) -> None:
        errors = dataclasses.replace(NONE, reading_percent=1.5, reading_angle_deg=0.5)
        asked = dataclasses.replace(question(errors), readings=4)
        variance = first_order_variances(asked, RIGHT)
        amount = abs(READING[1])
        assert variance["reading amount"] == pytest.approx((0.015 * amount) ** 2 / 4.0)
        assert variance["reading angle"] == pytest.approx((math.radians(0.5) * amount) ** 2 / 4.0)

    def test_two_holes_of_one_drill_err_together(self) -> None:
        pair = [uncertain(CUTS[0]), uncertain(dataclasses.replace(CUTS[0], angle_deg=100.0))]
        errors = dataclasses.replace(NONE, diameter_mm=0.05)
        asked = dataclasses.replace(question(errors), cuts=pair)
        one = pair[0].per_diameter_gmm_per_mm * 0.05
        together = abs(one * (vector_gmm(1.0, 10.0) + vector_gmm(1.0, 100.0))) ** 2
        assert first_order_variances(asked, LEFT)["diameter"] == pytest.approx(together)

    def test_only_the_wanted_sources(self) -> None:
        only = errors_of(dataclasses.replace(ErrorModel(), depth_bias_mm=0.2), ["depth"])
        assert (only.depth_mm, only.angle_deg, only.bob_mass_g, only.depth_bias_mm) == (0.25, 0.0, 0.0, 0.2)


def test_cuts_made_belong_to_the_start() -> None:
    """What is made is not scaled by the share that is still to be cut, but has its errors."""
    errors = dataclasses.replace(NONE, depth_mm=0.3)
    asked = Question(
        cuts=[], made=[uncertain(CUTS[0])], reading_gmm=READING, planes_z_mm=PLANES, errors=errors
    )
    start, change = draw_planes(asked, draws=1000, seed=1)
    assert not change.vectors.any()
    assert start.vectors[0].std() > 10.0
