"""How likely a reading is, and which slip makes it likelier: worked out by hand where it can be.  All data invented."""

from __future__ import annotations

import cmath
import math
import random

import pytest

from planner.uncertainty.likely import Expected, Picture, Slip, suspicions

METAL = ([(200.0, 1.0)], [(20.0, 1.0)])
BARE = Picture(half_mass_kg=12.0, metal_deg=METAL)


def polar(amount: float, angle_deg: float) -> complex:
    return cmath.rect(amount, math.radians(angle_deg))


def slip(kind: str, left: complex, right: complex, chance: float = 0.02) -> Slip:
    return Slip(kind=kind, words=kind, chance=chance, meant_gmm=(left, right))


def test_an_expected_reading_is_not_suspected() -> None:
    read = (polar(1500.0, 200.0), polar(1200.0, 20.0))
    found = suspicions(
        read, BARE, [slip("spot", -read[0], -read[1]), slip("unit", 720 * read[0], 720 * read[1])]
    )
    assert sum(each.probability for each in found) < 0.02


def test_a_unit_that_is_far_off_is_found() -> None:
    read = (polar(2.1, 200.0), polar(1.7, 20.0))
    found = suspicions(
        read, BARE, [slip("spot", -read[0], -read[1]), slip("unit", 720 * read[0], 720 * read[1])]
    )
    assert found[0].slip.kind == "unit"
    assert found[0].probability > 0.9


def test_what_it_should_read_decides() -> None:
    """By the counterweights alone a swapped spot is no more than likely; by what the spin before read it is certain."""
    read = (polar(1500.0, 20.0), polar(1200.0, 200.0))
    swapped = slip("spot", -read[0], -read[1])
    before = Expected(vectors_gmm=(polar(1520.0, 201.0), polar(1180.0, 19.0)), sigma_gmm=(60.0, 60.0))
    alone = suspicions(read, BARE, [swapped])[0].probability
    known = suspicions(read, Picture(half_mass_kg=12.0, metal_deg=METAL, expected=(before,)), [swapped])[
        0
    ].probability
    assert alone < 0.3
    assert known > 0.9


def test_a_ratio_of_one_slip_to_right_is_bayes_rule() -> None:
    """One expected reading, both candidates the same distance from it: the chances alone count."""
    at = Expected(vectors_gmm=(1000.0 + 0j, 1000.0 + 0j), sigma_gmm=(50.0, 50.0))
    picture = Picture(half_mass_kg=12.0, metal_deg=([], []), expected=(at,))
    read, meant = (1000.0 + 30j, 1000.0 + 0j), (1000.0 - 30j, 1000.0 + 0j)
    found = suspicions(read, picture, [slip("x", *meant, chance=0.2)])
    assert found[0].probability == pytest.approx(0.2, abs=1e-9)


def test_the_density_is_one() -> None:
    """Summed over amounts (in their logarithm) and angles by chance draws: what is likely is shared out once."""
    from planner.uncertainty import likely

    draw = random.Random(4)
    at = Expected(vectors_gmm=(polar(900.0, 40.0), polar(1400.0, 250.0)), sigma_gmm=(200.0, 300.0))
    picture = Picture(half_mass_kg=12.0, metal_deg=METAL, expected=(at,))
    typical, width = math.log(1200.0), 7.0
    total, count = 0.0, 40_000
    for _ in range(count):
        pair = [
            cmath.rect(
                math.exp(typical + draw.uniform(-width / 2, width / 2)), draw.uniform(0.0, 2.0 * math.pi)
            )
            for _ in "lr"
        ]
        total += math.exp(likely._log_density((pair[0], pair[1]), picture))
    assert total / count * (width * 2.0 * math.pi) ** 2 == pytest.approx(1.0, abs=0.12)
