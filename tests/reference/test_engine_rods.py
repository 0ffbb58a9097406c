"""Connecting rods as two masses: problems whose statements were read and whose answers were computed apart from this project.

R. L. Norton, Design of Machinery, Problem 13-7; three problems of other textbooks whose titles are not known; moments of inertia
and two-mass models.
"""

from __future__ import annotations

import pytest

from planner.engine.rod_ends import rod_inertia, split_rod


def test_norton_13_7():
    """l 12, m 0.020, I 0.620, centre of gravity 0.4 l from the crank pin (inch blob units)."""
    split = split_rod(0.020, length_mm=12.0, centre_from_big_end_mm=4.8)
    assert (split.big_end_g, split.small_end_g) == pytest.approx((0.012, 0.008), rel=1e-12)
    inertia = rod_inertia(0.020, length_mm=12.0, centre_from_big_end_mm=4.8, inertia_gmm2=0.620)
    assert inertia.model_gmm2 == pytest.approx(0.6912, rel=1e-9)
    assert inertia.excess == pytest.approx(0.1148, abs=5e-5)


def test_rod_of_381_mm():
    """381 mm, 4.738 kg, I 0.115 kg m2, centre of gravity a quarter from the crank pin."""
    split = split_rod(4738.0, length_mm=381.0, centre_from_big_end_mm=0.25 * 381.0)
    assert (split.big_end_g, split.small_end_g) == pytest.approx((3553.5, 1184.5), rel=1e-9)
    inertia = rod_inertia(4738.0, length_mm=381.0, centre_from_big_end_mm=0.25 * 381.0, inertia_gmm2=0.115e9)
    assert inertia.model_gmm2 == pytest.approx(0.1290e9, rel=5e-4)
    assert inertia.excess == pytest.approx(0.121, abs=1e-3)


def test_rod_of_220_mm_and_its_correction_couple():
    """220 mm, 2 kg, I 0.02 kg m2, 150 mm from the small end; 20 000 rad/s2: 20 N*m; pair 0.6154 + 1.3846 kg."""
    split = split_rod(2000.0, length_mm=220.0, centre_from_big_end_mm=70.0)
    assert (split.small_end_g, split.big_end_g) == pytest.approx((636.4, 1363.6), abs=0.05)
    inertia = rod_inertia(2000.0, length_mm=220.0, centre_from_big_end_mm=70.0, inertia_gmm2=0.02e9)
    assert inertia.correction_couple_gmm2 * 1e-9 * 20_000.0 == pytest.approx(20.0, rel=1e-9)
    assert (inertia.small_end_g, inertia.far_mass_g) == pytest.approx((615.4, 1384.6), abs=0.05)
    assert inertia.far_distance_mm == pytest.approx(66.7, abs=0.05)


def test_rod_of_400_mm():
    """400 mm, 4.5 kg, radius of gyration 125 mm, 260 mm from the small end; pair 0.8448 + 3.6552 kg at 60.1 mm."""
    split = split_rod(4500.0, length_mm=400.0, centre_from_big_end_mm=140.0)
    assert (split.small_end_g, split.big_end_g) == pytest.approx((1575.0, 2925.0), rel=1e-9)
    inertia = rod_inertia(
        4500.0, length_mm=400.0, centre_from_big_end_mm=140.0, inertia_gmm2=4500.0 * 125.0**2
    )
    assert (inertia.small_end_g, inertia.far_mass_g) == pytest.approx((844.8, 3655.2), abs=0.1)
    assert inertia.far_distance_mm == pytest.approx(60.1, abs=0.05)
