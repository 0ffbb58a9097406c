"""Press fits and centrifugal force against published answers.

Sources
-------
Budynas & Nisbett, Shigley's Mechanical Engineering Design, 8th ed., instructor's solutions, problems 3-64 to 3-68
(interference on the radius; the hub's outer diameter is twice the shaft's, E 207 GPa or 30 Mpsi).
Machinery's Handbook, 29th ed., pp. 187-188: centrifugal force ``0.000028416 W r n^2`` lbf (lb, inches, rpm).
"""

from __future__ import annotations

import math

import pytest

from planner.cuts.retention import bore_hoop_stress_mpa, centrifugal_force_n, press_fit_pressure_mpa

MPA_PER_PSI = 0.45359237 * 9.80665 / 0.0254**2 * 1e-6
GPA_PER_MPSI = MPA_PER_PSI * 1000.0
N_PER_LBF = 0.45359237 * 9.80665


def same_metal_pressure_mpa(
    *, diameter_mm: float, outer_mm: float, radial_mm: float, modulus_gpa: float
) -> float:
    return press_fit_pressure_mpa(
        fit_mm=2.0 * radial_mm,
        diameter_mm=diameter_mm,
        boss_diameter_mm=outer_mm,
        boss_modulus_gpa=modulus_gpa,
        boss_poisson=0.292,
        slug_modulus_gpa=modulus_gpa,
        slug_poisson=0.292,
    )


@pytest.mark.parametrize(
    ("problem", "radial_mm", "published_mpa"),
    [("3-64", 0.0295, 114.5), ("3-64", 0.009, 34.9), ("3-66", 0.038, 147.5), ("3-66", 0.0175, 67.9)],
)
def test_shigley_metric(problem: str, radial_mm: float, published_mpa: float) -> None:
    pressure = same_metal_pressure_mpa(
        diameter_mm=40.0, outer_mm=80.0, radial_mm=radial_mm, modulus_gpa=207.0
    )
    assert pressure == pytest.approx(published_mpa, abs=0.05), problem  # published to 0.1 MPa


@pytest.mark.parametrize(
    ("problem", "diameter_in", "radial_in", "published_psi"),
    [
        ("3-65", 1.5, 0.00115, 17_250.0),
        ("3-65", 1.5, 0.00035, 5_250.0),
        ("3-67", 1.5, 0.0015, 22_500.0),
        ("3-67", 1.5, 0.0007, 10_500.0),
        ("3-68", 1.0, 0.001, 22_500.0),
    ],
)
def test_shigley_inch(problem: str, diameter_in: float, radial_in: float, published_psi: float) -> None:
    pressure = same_metal_pressure_mpa(
        diameter_mm=diameter_in * 25.4,
        outer_mm=2.0 * diameter_in * 25.4,
        radial_mm=radial_in * 25.4,
        modulus_gpa=30.0 * GPA_PER_MPSI,
    )
    assert pressure / MPA_PER_PSI == pytest.approx(published_psi, rel=1e-6), problem


def test_shigley_3_68_hoop_stress_of_the_hub() -> None:
    stress = bore_hoop_stress_mpa(
        pressure_mpa=22_500.0 * MPA_PER_PSI, diameter_mm=25.4, boss_diameter_mm=50.8
    )
    assert stress / MPA_PER_PSI == pytest.approx(37_500.0, rel=1e-9)


def test_interference_on_the_radius_is_told_apart_from_the_diameter() -> None:
    halved = press_fit_pressure_mpa(
        fit_mm=0.0295,  # the radial figure of 3-64 taken for the diametral one
        diameter_mm=40.0,
        boss_diameter_mm=80.0,
        boss_modulus_gpa=207.0,
        boss_poisson=0.292,
        slug_modulus_gpa=207.0,
        slug_poisson=0.292,
    )
    assert halved == pytest.approx(114.5 / 2.0, abs=0.05)


def test_machinerys_handbook_centrifugal_force() -> None:
    """Published 0.000028416 (standard gravity rounded); exact 0.000028404: within 0.05 %."""
    weight_lb, radius_in, speed_rpm = 0.5, 3.2, 7000.0
    force = centrifugal_force_n(mass_g=weight_lb * 453.59237, radius_mm=radius_in * 25.4, speed_rpm=speed_rpm)
    published_lbf = 0.000028416 * weight_lb * radius_in * speed_rpm**2
    assert force / N_PER_LBF == pytest.approx(published_lbf, rel=6e-4)


def test_one_ounce_inch_at_1000_rpm() -> None:
    """Recomputed from the definitions: 1.775 lbf."""
    # recomputed
    force = centrifugal_force_n(mass_g=28.349523125, radius_mm=25.4, speed_rpm=1000.0)
    assert force / N_PER_LBF == pytest.approx(1.775, abs=5e-4)
    assert force == pytest.approx(28.349523125e-3 * 0.0254 * (2.0 * math.pi * 1000.0 / 60.0) ** 2, rel=1e-12)
