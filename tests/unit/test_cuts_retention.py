"""Materials by name, and the press fit's own bookkeeping (its formulas are checked against published answers)."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from planner.cuts.retention import (
    NOT_A_RELEASE,
    axial_hold_n,
    centrifugal_force_n,
    fit_lost_hot_mm,
    press_fit_pressure_mpa,
    slug_retention,
)
from planner.errors import InputError
from planner.rotor.materials import HEAVY_ALLOYS, MATERIALS, density_of, material, slug_class

STEEL, HEAVY = material("forged steel"), material("ASTM B777 class 3")


def test_sizing_case() -> None:
    """Own arithmetic: a 3/4 in x 25 mm slug of 0.1286 kg at 80 mm and 7000 rpm pulls with 5530 N; a fit of
    0.0254 mm in a 38 mm boss with a slug of 330 GPa presses with 114 MPa and holds 20.6 kN at friction 0.12, and loses
    0.0133 mm when 100 K warmer (expansions 12 and 5)."""
    assert centrifugal_force_n(mass_g=128.6, radius_mm=80.0, speed_rpm=7000.0) == pytest.approx(
        5530.0, abs=5.0
    )
    pressure = press_fit_pressure_mpa(
        fit_mm=0.0254,
        diameter_mm=19.05,
        boss_diameter_mm=38.0,
        boss_modulus_gpa=207.0,
        boss_poisson=0.29,
        slug_modulus_gpa=330.0,
        slug_poisson=0.28,
    )
    assert pressure == pytest.approx(114.0, abs=1.0)
    hold = axial_hold_n(pressure_mpa=pressure, diameter_mm=19.05, length_mm=25.0, friction=0.12)
    assert hold == pytest.approx(20_600.0, rel=0.01)
    assert hold == pytest.approx(0.12 * pressure * math.pi * 19.05 * 25.0, rel=1e-13)
    lost = fit_lost_hot_mm(
        diameter_mm=19.05,
        temperature_rise_k=100.0,
        boss_expansion_per_million_k=12.0,
        slug_expansion_per_million_k=5.0,
    )
    assert lost == pytest.approx(0.0133, abs=5e-5)


def retention(**changed: float):
    numbers = {
        "slug_mass_g": 128.6,
        "radius_mm": 80.0,
        "diameter_mm": 19.05,
        "length_mm": 25.0,
        "speed_rpm": 7000.0,
        "fit_mm": 0.0254,
        "boss_diameter_mm": 38.0,
        **changed,
    }
    return slug_retention(**numbers, boss=STEEL, slug=HEAVY)


def test_the_hot_fit_counts_and_too_little_is_warned_of() -> None:
    found = retention()
    assert found.pressure_hot_mpa / found.pressure_cold_mpa == pytest.approx(
        (found.fit_mm - found.fit_lost_hot_mm) / found.fit_mm, rel=1e-12
    )
    assert found.safety_factor == pytest.approx(found.hold_hot_n / found.centrifugal_force_n, rel=1e-13)
    assert found.safety_factor < 2.0
    assert found.warnings[0].startswith(f"safety factor {found.safety_factor:.2f} is below 2")
    assert found.warnings[-1] == NOT_A_RELEASE


def test_enough_fit_is_still_never_a_release() -> None:
    # wide metal around it; in a ring of 38 mm so much fit would make the ring yield
    found = retention(fit_mm=0.024, boss_diameter_mm=80.0, speed_rpm=5500.0)
    assert found.safety_factor > 2.0
    assert found.warnings == (NOT_A_RELEASE,)
    assert "not a release" in NOT_A_RELEASE


def test_a_thin_ligament_yields_and_is_warned_of() -> None:
    """By hand: the pull on the wall is 5530/(19.05 x 25) = 11.6 MPa on top of the cold fit's pressure."""
    found = retention(fit_mm=0.05)
    p = found.pressure_cold_mpa + found.centrifugal_force_n / (19.05 * 25.0)
    t = p * (38.0**2 + 19.05**2) / (38.0**2 - 19.05**2)
    assert found.ligament_stress_mpa == pytest.approx(math.sqrt(t * t + t * p + p * p))
    assert found.yield_factor == pytest.approx(310.0 / found.ligament_stress_mpa)
    assert "the thinnest metal around the slug (9.5 mm)" in found.warnings[0]
    assert "may yield" in found.warnings[0]
    assert retention(fit_mm=0.024, boss_diameter_mm=80.0, speed_rpm=5500.0).yield_factor > 1.0


def test_a_fit_lost_hot_is_a_loose_slug() -> None:
    found = retention(fit_mm=0.0127)
    assert found.pressure_hot_mpa == 0.0
    assert found.safety_factor == 0.0
    assert found.warnings[0] == "the fit is lost when 100 K warmer: the slug is loose"


def test_without_warming_nothing_is_lost() -> None:
    found = retention(temperature_rise_k=0.0)
    assert found.hold_hot_n == found.hold_cold_n


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"slug_mass_g": 0.0}, "mass is 0 g"),
        ({"radius_mm": math.nan}, "radius is nan mm"),
        ({"speed_rpm": -1.0}, "speed is -1 rpm"),
        ({"fit_mm": 0.0}, "fit is 0 mm"),
        ({"length_mm": 0.0}, "length is 0 mm"),
        ({"friction": 0.0}, "friction is 0"),
        ({"boss_diameter_mm": 19.0}, "diameters 19.05 and 19 mm do not grow"),
        ({"temperature_rise_k": math.nan}, "fit is not a number"),
    ],
)
def test_retention_refuses(changed: dict[str, float], message: str) -> None:
    with pytest.raises(InputError, match=message):
        retention(**changed)


def test_retention_needs_elastic_figures() -> None:
    with pytest.raises(InputError, match="there are no elastic figures for lead"):
        slug_retention(
            slug_mass_g=100.0,
            radius_mm=80.0,
            diameter_mm=19.0,
            length_mm=25.0,
            speed_rpm=7000.0,
            fit_mm=0.02,
            boss_diameter_mm=38.0,
            boss=STEEL,
            slug=material("lead"),
        )
    assert replace(STEEL, elastic_modulus_gpa=None).elastic_modulus_gpa is None


def test_heavy_alloy_classes() -> None:
    """ASTM B777-15, Table 1: density ranges of classes 1 to 4 [g/cm3]."""
    ranges = [(16.85, 17.30), (17.15, 17.85), (17.75, 18.35), (18.25, 18.85)]
    for alloy, (low, high) in zip(HEAVY_ALLOYS, ranges, strict=True):
        assert (alloy.density_low_g_per_cm3, alloy.density_high_g_per_cm3) == (low, high)
        assert alloy.density_g_per_cm3 == pytest.approx((low + high) / 2.0, abs=0.0051)


def test_every_material_lies_in_its_range_and_says_where_from() -> None:
    for one in MATERIALS:
        assert one.density_low_g_per_cm3 <= one.density_g_per_cm3 <= one.density_high_g_per_cm3, one.name
        assert one.source, one.name
        assert bool(one.elastic_modulus_gpa) == bool(one.elastic_source), one.name
        assert material(one.name) is one


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("Forged Steel", "forged steel"),
        ("forged-steel", "forged steel"),
        ("steel", "forged steel"),
        ("ductile iron", "nodular iron"),
        ("SG iron", "nodular iron"),
        ("grey iron", "gray iron"),
        ("b777 class 2", "ASTM B777 class 2"),
        ("Class 4", "ASTM B777 class 4"),
    ],
)
def test_names_are_read_kindly(typed: str, name: str) -> None:
    assert material(typed).name == name
    assert density_of(typed) == material(name).density_g_per_cm3


def test_unknown_names() -> None:
    with pytest.raises(
        InputError, match="material `nodula iron` is not known, known are: forged steel"
    ) as caught:
        material("nodula iron")
    assert caught.value.hint == "did you mean `nodular iron`? Or give the density itself in g/cm3"
    with pytest.raises(InputError, match="material `xyzzy` is not known") as caught:
        material("xyzzy")
    assert caught.value.hint == "give the density itself in g/cm3"
    for wrong in ("class 5", "forged steel"):
        with pytest.raises(
            InputError, match=f"slug class `{wrong}` is not known, known are: ASTM B777 class 1"
        ):
            slug_class(wrong)


def test_slug_and_boss_of_one_steel() -> None:
    """Both of one steel: ``p = E fit / (4 R^3) (ro^2 - R^2)(R^2 - ri^2) / (ro^2 - ri^2)``, fit on the diameter.

    Shigley's form for two members of the same metal, from memory; a ring of 40 on a solid slug of 20 mm.
    """
    R, ro, ri = 10.0, 20.0, 0.0
    by_radii = (
        207_000.0 * 0.02 / (4.0 * R**3) * (ro**2 - R**2) * (R**2 - ri**2) / (ro**2 - ri**2)
    )  # fmt: skip
    found = press_fit_pressure_mpa(
        fit_mm=0.02,
        diameter_mm=20.0,
        boss_diameter_mm=40.0,
        boss_modulus_gpa=207.0,
        boss_poisson=0.29,
        slug_modulus_gpa=207.0,
        slug_poisson=0.29,
    )
    assert found == pytest.approx(by_radii, rel=1e-9)
    assert found == pytest.approx(77.625)


def test_warnings_stand_in_the_order_of_danger() -> None:
    """Too little hold first, then metal that may yield, the caution last."""
    found = retention(fit_mm=0.02, boss_diameter_mm=21.0)
    assert [each.split()[0] for each in found.warnings[:2]] == ["safety", "the"]
    assert "may yield" in found.warnings[1]
    assert found.warnings[-1] == NOT_A_RELEASE
