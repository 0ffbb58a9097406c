"""A counterweight weighed: mass, unbalance and where it acts along the shaft, by integrals done by hand.  Sizes invented.

A sector of a ring of half angle a has the area ``a (R^2 - r^2)`` and the first moment ``2/3 sin(a) (R^3 - r^3)`` (any
handbook); a rim that is not plain is a pile of such sectors.
"""

from __future__ import annotations

import math

import pytest

from geometry_profiles.rims import bevelled
from geometry_profiles.shapes import disc, fan
from planner.errors import InputError
from planner.formula import Formula
from planner.rotor.weighing import WeighedCounterweight, weigh, weighing_work

OUTLINE = fan(outer_radius_mm=88.0, half_angle_deg=60.0, inner_radius_mm=36.0)
# from 84 mm at the front face to 88 mm, 4 mm behind it; 20 mm thick
RIM = bevelled(outer_radius_mm=88.0, thickness_mm=20.0, front_width_mm=4.0)
HALF = math.radians(60.0)


def plain() -> WeighedCounterweight:
    return weigh(OUTLINE, thickness_mm=20.0, density_g_per_cm3=7.85)


def bevelled_fan() -> WeighedCounterweight:
    return weigh(OUTLINE, thickness_mm=20.0, density_g_per_cm3=7.85, rim=RIM)


def test_a_plain_fan_by_hand() -> None:
    area = HALF * (88.0**2 - 36.0**2)
    moment = 2.0 / 3.0 * math.sin(HALF) * (88.0**3 - 36.0**3)
    found = plain()
    assert found.mass_g == pytest.approx(area * 20.0 * 7.85e-3, rel=1e-6)
    assert found.unbalance_gmm == pytest.approx(moment * 20.0 * 7.85e-3, rel=1e-6)
    assert found.centroid_mm == pytest.approx(moment / area, rel=1e-6)
    assert found.from_middle_mm == pytest.approx(0.0, abs=1e-9)
    # r dr dt r^2: a/2 (R^4 - r^4)
    polar = 0.5 * HALF * (88.0**4 - 36.0**4) * 20.0 * 7.85e-3
    assert found.polar_mass_moment_gmm2 == pytest.approx(polar, rel=1e-6)


def test_a_bevel_in_front_moves_the_unbalance_to_the_rear() -> None:
    """Along the bevel s = R - 94 (from the middle): the sum of R^3 ds is R^4/4, that of s R^3 ds is R^5/5 - 94 R^4/4."""

    def between(power: int) -> float:
        return (88.0**power - 84.0**power) / power

    land, inner = 88.0**3 * 16.0, 36.0**3
    volume = HALF * (between(3) + 88.0**2 * 16.0 - 36.0**2 * 20.0)
    moment = between(4) + land - inner * 20.0
    # the land from -6 to +10 has its middle at +2; the inner radius is alike in front and behind
    along = between(5) - 94.0 * between(4) + land * 2.0
    found = bevelled_fan()
    assert found.volume_mm3 == pytest.approx(volume, rel=1e-6)
    assert abs(found.unbalance_gmm) == pytest.approx(2.0 / 3.0 * math.sin(HALF) * moment * 7.85e-3, rel=1e-6)
    assert found.from_middle_mm == pytest.approx(along / moment, rel=1e-5)
    assert found.from_middle_mm > 0.1


def test_a_whole_disc_is_in_balance_wherever_it_is_bevelled() -> None:
    found = weigh(
        disc(outer_radius_mm=88.0, inner_radius_mm=36.0), thickness_mm=20.0, density_g_per_cm3=7.85, rim=RIM
    )
    assert abs(found.unbalance_gmm) < 1e-3
    assert found.mass_g > 1000.0


@pytest.mark.parametrize(("thickness", "density"), [(0.0, 7.85), (20.0, 0.0), (-1.0, 7.85), (math.nan, 7.85)])
def test_no_thickness_or_density_is_refused(thickness: float, density: float) -> None:
    with pytest.raises(InputError, match="more than 0 is allowed"):
        weigh(OUTLINE, thickness_mm=thickness, density_g_per_cm3=density)


def test_a_shim_is_weighed_too() -> None:
    """Half a millimetre of plastic of 0.95 g/cm3: the fortieth part of the plain fan, and less dense."""
    shim = weigh(OUTLINE, thickness_mm=0.5, density_g_per_cm3=0.95)
    assert shim.mass_g == pytest.approx(plain().mass_g / 40.0 * 0.95 / 7.85)


def names(weighed: WeighedCounterweight) -> list[str]:
    return [each.name if isinstance(each, Formula) else "sentence" for each in weighing_work(weighed)]


def test_the_sums_shown_are_those_of_the_shape() -> None:
    """The formulas of a ring's sector only for a fan; a rim that is not plain is said to be summed."""
    assert names(plain()) == [
        "half angle", "area", "first moment", "centroid radius", "volume", "mass", "unbalance",
    ]  # fmt: skip
    assert names(bevelled_fan())[4:] == ["volume", "sentence", "mass", "unbalance"]
    whole = weigh(disc(outer_radius_mm=88.0, inner_radius_mm=36.0), thickness_mm=20.0, density_g_per_cm3=7.85)
    assert names(whole) == ["volume", "mass", "unbalance"]


def test_what_the_bevel_takes_off_is_said_with_its_sign() -> None:
    sentence = next(each for each in weighing_work(bevelled_fan()) if isinstance(each, str))
    before, after = plain().volume_mm3, bevelled_fan().volume_mm3
    assert f"{before:.1f} -{before - after:.1f} = {after:.1f} mm3" in sentence
