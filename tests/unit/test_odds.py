"""The chance to pass, against distributions that are known in closed form and against a slow simulation.

check                                       source
distance of a two-dimensional normal from   Johnson, Kotz, Balakrishnan, Continuous Univariate Distributions,
a point: non-central chi-square             vol. 2, 2nd ed., chapter 29 (from memory); numbers: scipy.stats.ncx2
its centre in the middle: Rayleigh,         the same, vol. 1, chapter 18 (from memory)
``1 - exp(-r^2/(2 s^2))``
normal intervals                            any table of the normal distribution
"""

from __future__ import annotations

import dataclasses
import math
import time

import numpy as np
import pytest
from scipy.stats import ncx2, norm

from geometry_profiles.shapes import fan
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import effect_of
from planner.rotor.crankshaft import Counterweight, Throw
from planner.rotor.limits import LimitRow
from planner.rotor.vectors import plane_shares, vector_gmm
from planner.uncertainty.error_model import ErrorModel
from planner.uncertainty.odds import UncertainCut, chance_to_pass, uncertain_cut

PLANES = (0.0, 100.0)
NONE = ErrorModel(
    depth_mm=0.0,
    angle_deg=0.0,
    diameter_mm=0.0,
    radius_mm=0.0,
    density_percent=0.0,
    reading_percent=0.0,
    reading_angle_deg=0.0,
    reading_absolute_gmm=0.0,
    bob_mass_g=0.0,
)
# 100 000 draws: a share of a half scatters by 0.0016
CLOSE = 0.008

SHOP = Shop(drills_mm=(16.0,), slug_diameters_mm=(19.0,))
FAN = Counterweight(
    name="A",
    z_mm=20.0,
    angle_deg=0.0,
    thickness_mm=24.0,
    outline=fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0),
    cuts=("rim hole", "face hole", "slug"),
)
RIM = Cut(kind="rim hole", counterweight="A", angle_deg=10.0, diameter_mm=16.0, depth_shoulder_mm=25.0)
FACE = Cut(
    kind="face hole",
    counterweight="A",
    angle_deg=-20.0,
    diameter_mm=16.0,
    depth_shoulder_mm=10.0,
    radius_mm=70.0,
)
SLUG = Cut(kind="slug", counterweight="A", angle_deg=30.0, diameter_mm=19.0, radius_mm=70.0, through=True)


def row(tolerance: float) -> LimitRow:
    return LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=tolerance, z_mm=0.0)


def cut_with(**changes: float) -> UncertainCut:
    base = UncertainCut(
        amount_gmm=-1000.0,
        angle_deg=0.0,
        z_mm=0.0,
        heavy_gmm=0.0,
        per_depth_gmm_per_mm=0.0,
        curvature_gmm_per_mm2=0.0,
        per_diameter_gmm_per_mm=0.0,
        per_radius_gmm_per_mm=0.0,
        drill=16.0,
        radius_of="A",
    )
    return dataclasses.replace(base, **changes)  # type: ignore[arg-type]


def test_reading_error_about_the_middle_is_rayleigh() -> None:
    # the same spread along and across: 1 % of 1000 and 0.01 rad of 1000
    errors = dataclasses.replace(NONE, reading_percent=1.0, reading_angle_deg=math.degrees(0.01))
    got = chance_to_pass(
        [cut_with()], reading_gmm=(1000 + 0j, 0j), planes_z_mm=PLANES, limits=[row(12.0)], errors=errors
    )
    assert got == pytest.approx(1.0 - math.exp(-(12.0**2) / (2 * 10.0**2)), abs=CLOSE)


@pytest.mark.parametrize("off", [5.0, 15.0, 30.0])
def test_reading_error_off_the_middle_is_non_central_chi_square(off: float) -> None:
    errors = dataclasses.replace(NONE, reading_percent=1.0, reading_angle_deg=math.degrees(0.01))
    got = chance_to_pass(
        [cut_with(amount_gmm=-1000.0 + off)],
        reading_gmm=(1000 + 0j, 0j),
        planes_z_mm=PLANES,
        limits=[row(20.0)],
        errors=errors,
    )
    assert got == pytest.approx(float(ncx2.cdf((20 / 10) ** 2, 2, (off / 10) ** 2)), abs=CLOSE)


def test_the_readings_floor_is_rayleigh_however_small_the_reading() -> None:
    """10 g*mm per component on a reading of nothing; four spins averaged: 5."""
    errors = dataclasses.replace(NONE, reading_absolute_gmm=10.0)
    for spins, sigma in ((1, 10.0), (4, 5.0)):
        got = chance_to_pass(
            [],
            reading_gmm=(0j, 0j),
            planes_z_mm=PLANES,
            limits=[row(12.0)],
            errors=errors,
            readings=spins,
        )
        assert got == pytest.approx(1.0 - math.exp(-(12.0**2) / (2 * sigma**2)), abs=CLOSE)


def test_averaged_spins_count_with_the_root_of_their_number() -> None:
    errors = dataclasses.replace(NONE, reading_percent=2.0, reading_angle_deg=math.degrees(0.02))
    got = chance_to_pass(
        [cut_with()],
        reading_gmm=(1000 + 0j, 0j),
        planes_z_mm=PLANES,
        limits=[row(12.0)],
        errors=errors,
        readings=4,
    )
    assert got == pytest.approx(1.0 - math.exp(-(12.0**2) / (2 * 10.0**2)), abs=CLOSE)


@pytest.mark.parametrize(
    ("change", "error"),
    [
        ({"per_depth_gmm_per_mm": -40.0}, {"depth_mm": 0.5}),
        ({"per_diameter_gmm_per_mm": -40.0}, {"diameter_mm": 0.5}),
        ({"per_radius_gmm_per_mm": -40.0}, {"radius_mm": 0.5}),
        ({}, {"density_percent": 2.0}),
        ({"amount_gmm": 1000.0, "heavy_gmm": 1000.0}, {"density_percent": 2.0}),
    ],
)
def test_each_error_along_is_normal(change: dict[str, float], error: dict[str, float]) -> None:
    """A spread of 20 g*mm along a vector that leaves 10: the normal distribution between -30 and 30 less 10."""
    cut = cut_with(**change)
    got = chance_to_pass(
        [cut],
        reading_gmm=(10.0 - cut.amount_gmm + 0j, 0j),
        planes_z_mm=PLANES,
        limits=[row(30.0)],
        errors=dataclasses.replace(NONE, **error),
    )
    assert got == pytest.approx(norm.cdf((30 - 10) / 20) - norm.cdf((-30 - 10) / 20), abs=CLOSE)


def test_the_angle_of_a_cut_moves_it_across() -> None:
    errors = dataclasses.replace(NONE, angle_deg=math.degrees(0.02))
    got = chance_to_pass(
        [cut_with()], reading_gmm=(1000 + 0j, 0j), planes_z_mm=PLANES, limits=[row(30.0)], errors=errors
    )
    assert got == pytest.approx(norm.cdf(1.5) - norm.cdf(-1.5), abs=CLOSE)


def test_one_drill_errs_alike_and_two_drills_do_not() -> None:
    """Two cuts: with one drill the spreads add up (2 x 20), with two they add as squares (root 2 x 20)."""
    errors = dataclasses.replace(NONE, diameter_mm=0.5)

    def chance(second: float) -> float:
        cuts = [
            cut_with(per_diameter_gmm_per_mm=-40.0),
            cut_with(per_diameter_gmm_per_mm=-40.0, drill=second),
        ]
        return chance_to_pass(
            cuts, reading_gmm=(2000 + 0j, 0j), planes_z_mm=PLANES, limits=[row(40.0)], errors=errors
        )

    assert chance(16.0) == pytest.approx(norm.cdf(1.0) - norm.cdf(-1.0), abs=CLOSE)
    assert chance(14.0) == pytest.approx(norm.cdf(2**0.5) - norm.cdf(-(2**0.5)), abs=CLOSE)


def test_bob_masses_act_at_their_throws() -> None:
    """0.5 g at 40 mm is 20 g*mm, of which a quarter reaches the left plane."""
    throw = Throw(name="1", angle_deg=77.0, z_mm=75.0, radius_mm=40.0, rods=2)
    errors = dataclasses.replace(NONE, bob_mass_g=0.5)
    got = chance_to_pass(
        [], reading_gmm=(0j, 0j), planes_z_mm=PLANES, limits=[row(5.0)], errors=errors, throws=[throw]
    )
    assert got == pytest.approx(norm.cdf(1.0) - norm.cdf(-1.0), abs=CLOSE)
    bare = chance_to_pass([], reading_gmm=(0j, 0j), planes_z_mm=PLANES, limits=[row(5.0)], errors=errors)
    assert bare == 1.0


def test_without_errors_it_is_certain_or_impossible() -> None:
    for tolerance, chance in ((50.0, 1.0), (49.0, 0.0)):
        got = chance_to_pass(
            [cut_with(amount_gmm=-950.0)],
            reading_gmm=(1000 + 0j, 0j),
            planes_z_mm=PLANES,
            limits=[row(tolerance + 0.001)],
            errors=NONE,
        )
        assert got == chance


def test_shift_is_added() -> None:
    got = chance_to_pass(
        [cut_with()],
        reading_gmm=(400 + 0j, 0j),
        shift_gmm=(600 + 0j, 0j),
        planes_z_mm=PLANES,
        limits=[row(0.01)],
        errors=NONE,
    )
    assert got == 1.0


def test_equal_input_gives_equal_output() -> None:
    def chance(seed: int) -> float:
        return chance_to_pass(
            [cut_with()],
            reading_gmm=(1000 + 0j, 0j),
            planes_z_mm=PLANES,
            limits=[row(20.0)],
            errors=ErrorModel(),
            seed=seed,
        )

    assert chance(1) == chance(1)
    assert chance(1) != chance(2)


def test_against_a_slow_simulation_with_the_full_formulas() -> None:
    """Every draw with its own sizes through the cuts' own formulas, 1000 times; independent random numbers."""
    errors = ErrorModel(depth_mm=0.8, angle_deg=2.0, diameter_mm=0.15, radius_mm=0.8, density_percent=1.0)
    cuts = [RIM, FACE, SLUG]
    planned = [effect_of(c, counterweight=FAN, density_g_per_cm3=7.85, shop=SHOP) for c in cuts]
    left = -sum(
        plane_shares(e.z_mm, PLANES)[0] * vector_gmm(e.unbalance_gmm, c.angle_deg)
        for c, e in zip(cuts, planned, strict=True)
    )
    right = -sum(
        plane_shares(e.z_mm, PLANES)[1] * vector_gmm(e.unbalance_gmm, c.angle_deg)
        for c, e in zip(cuts, planned, strict=True)
    )
    limits = [row(180.0)]
    rng = np.random.default_rng(5)
    passed, draws = 0, 1000
    for _ in range(draws):
        drill, metal, heavy = rng.normal(0, 0.15), 1 + rng.normal(0, 0.01), 1 + rng.normal(0, 0.01)
        slug_drill = rng.normal(0, 0.15)
        total = complex(left) * (1 + rng.normal(0, 0.015)) * np.exp(1j * math.radians(rng.normal(0, 0.5)))
        for cut in cuts:
            moved = rng.normal(0, 0.8)
            changed = dataclasses.replace(
                cut,
                angle_deg=cut.angle_deg + rng.normal(0, 2.0),
                diameter_mm=cut.diameter_mm + (slug_drill if cut.kind == "slug" else drill),
                depth_shoulder_mm=None
                if cut.depth_shoulder_mm is None
                else cut.depth_shoulder_mm + rng.normal(0, 0.8),
                radius_mm=None if cut.radius_mm is None else cut.radius_mm + moved,
            )
            weight = FAN
            if cut.kind == "rim hole":
                outline = fan(outer_radius_mm=88.0 + moved, half_angle_deg=58.0, inner_radius_mm=36.0)
                weight = dataclasses.replace(FAN, outline=outline)
            shop = dataclasses.replace(SHOP, slug_density_g_per_cm3=17.5 * heavy)
            effect = effect_of(changed, counterweight=weight, density_g_per_cm3=7.85 * metal, shop=shop)
            total += plane_shares(effect.z_mm, PLANES)[0] * vector_gmm(
                effect.unbalance_gmm, changed.angle_deg
            )
        passed += abs(total) <= 180.0
    got = chance_to_pass(
        [uncertain_cut(c, counterweight=FAN, density_g_per_cm3=7.85, shop=SHOP) for c in cuts],
        reading_gmm=(complex(left), complex(right)),
        planes_z_mm=PLANES,
        limits=limits,
        errors=errors,
    )
    assert 0.2 < got < 0.9, "the case must be able to tell"
    # four times the scatter of a share of a half in 1000 draws
    assert got == pytest.approx(passed / draws, abs=4 * 0.5 / math.sqrt(draws))


def test_eight_cuts_take_less_than_a_third_of_a_second() -> None:
    cuts = [uncertain_cut(RIM, counterweight=FAN, density_g_per_cm3=7.85, shop=SHOP)] * 8
    start = time.process_time()
    chance_to_pass(
        cuts, reading_gmm=(2300 + 0j, 0j), planes_z_mm=PLANES, limits=[row(100.0)], errors=ErrorModel()
    )
    assert time.process_time() - start < 0.3
