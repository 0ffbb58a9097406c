"""Figures of metals against the ranges that their sources give.

Sources: a vocational college's table of ferrous metals (4340 7.85, 1045 7.87, forged 1055 7.85 g/cm3; E 200 to 207 GPa,
Poisson's ratio 0.29 to 0.30, expansion 12e-6/K); an open database of materials (ductile iron 7.1 to 7.5 g/cm3, E 170 to 180
GPa, ratio 0.28 to 0.31, expansion 11e-6/K; tungsten heavy alloy of 97 %: E 270 GPa, ratio 0.28, expansion 4.5e-6/K); public
tables of densities (plain steel 7.85, cast steel 7.8, gray iron 6.6 to 7.4, tungsten 19.25 to 19.3, lead 11.34).
"""

from __future__ import annotations

import pytest

from planner.rotor.materials import HEAVY_ALLOYS, MATERIALS, material


@pytest.mark.parametrize(
    ("name", "density"),
    [("forged steel", 7.85), ("cast steel", 7.8), ("tungsten", 19.25), ("lead", 11.34)],
)
def test_densities_are_those_of_the_tables(name: str, density: float) -> None:
    assert material(name).density_g_per_cm3 == density


@pytest.mark.parametrize(
    ("name", "low", "high"), [("nodular iron", 7.1, 7.5), ("gray iron", 6.6, 7.4), ("tungsten", 19.25, 19.3)]
)
def test_ranges_are_those_of_the_tables(name: str, low: float, high: float) -> None:
    found = material(name)
    assert found.density_low_g_per_cm3 == low
    assert found.density_high_g_per_cm3 == high
    # the single figure is between, for irons not above where foundries put nodular iron (7.1 to 7.3)
    assert low <= found.density_g_per_cm3 <= (7.3 if "iron" in name else high)


def test_forged_steel_reaches_from_plain_to_the_densest_of_the_table() -> None:
    found = material("forged steel")
    assert found.density_low_g_per_cm3 <= 7.85
    assert found.density_high_g_per_cm3 == 7.87


@pytest.mark.parametrize(
    ("names", "modulus_gpa", "ratio", "expansion"),
    [
        (("forged steel", "cast steel"), (200.0, 207.0), (0.29, 0.30), 12.0),
        (("nodular iron",), (170.0, 180.0), (0.28, 0.31), 11.0),
        (tuple(each.name for each in HEAVY_ALLOYS), (270.0, 270.0), (0.28, 0.28), 4.5),
    ],
)
def test_elastic_figures_are_within_their_sources(
    names: tuple[str, ...], modulus_gpa: tuple[float, float], ratio: tuple[float, float], expansion: float
) -> None:
    for name in names:
        found = material(name)
        assert modulus_gpa[0] <= (found.elastic_modulus_gpa or 0.0) <= modulus_gpa[1]
        assert ratio[0] <= (found.poisson_ratio or 0.0) <= ratio[1]
        assert found.expansion_per_million_k == expansion


def test_no_press_fit_is_reckoned_with_figures_that_nobody_gave() -> None:
    for each in MATERIALS:
        given = (each.elastic_modulus_gpa, each.poisson_ratio, each.expansion_per_million_k)
        assert (None in given) == (given == (None, None, None))
        assert bool(each.elastic_source) == (None not in given)
