"""What known masses prove, on readings worked out by hand in the display's own counting.  All data invented.

The machine of these tests shows a mass at place a (counter-clockwise from the front) at number ``sense * (a - zero)``,
half a turn on when it marks the light spot; the lever rule is written out in `shown`.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

import pytest

from planner.machine.settings_fit import Placement, Settings, SettingsFit, fit_settings

PLANES = (50.0, 450.0)
BASE = (cmath.rect(3000.0, 1.0), cmath.rect(2000.0, 4.0))
U = 4000.0
ALL = {"direction", "zero", "spot", "planes", "amounts"}


@dataclass(frozen=True)
class Real:
    """A machine as it really is."""

    sense: int = 1
    zero: float = 30.0
    spot: int = 1
    planes: tuple[float, float] = PLANES
    gains: tuple[float, float] = (1.0, 1.0)

    def shown(self, place: float, z: float) -> tuple[complex, complex]:
        z1, z2 = self.planes
        number = math.radians(self.sense * (place - self.zero))
        vector = self.spot * cmath.rect(U, number)
        left, right = vector * (z2 - z) / (z2 - z1), vector * (z - z1) / (z2 - z1)
        return self.gains[0] * (BASE[0] + left), self.gains[1] * (BASE[1] + right)

    def base(self) -> tuple[complex, complex]:
        return self.gains[0] * BASE[0], self.gains[1] * BASE[1]

    def number(self, place: float) -> float:
        return (self.sense * (place - self.zero)) % 360.0


SET = Settings(
    sense=1,
    zero_deg=30.0,
    spot=1,
    planes_z_mm=PLANES,
    by_mass=False,
    gains={"g*cm": 0.1, "oz*in": 1.0 / 720.0778},
    radii_for={"g": 1.0, "oz": 1.0 / 28.349523125},
)


def fitted(
    true: Real,
    places: list[tuple[float, float]],
    *,
    named: bool = True,
    pointer: bool = False,
    settings: Settings = SET,
) -> SettingsFit:
    placements = [
        Placement(
            unbalance_gmm=U,
            z_mm=z,
            place_deg=place if named else None,
            number_deg=true.number(place) if pointer or not named else None,
        )
        for place, z in places
    ]
    read = [true.shown(place, z) for place, z in places]
    return fit_settings(placements, read, true.base(), settings, percent=2.0, angle_deg=1.0, floor_gmm=0.1)


TWO = [(0.0, 80.0), (100.0, 400.0)]


def test_two_named_places_with_the_pointer_prove_all() -> None:
    fit = fitted(Real(), TWO, pointer=True)
    assert fit.good
    assert fit.settled
    assert fit.proved == ALL
    assert fit.zero_sigma_deg is not None
    assert fit.zero_sigma_deg < 3.0


def test_without_the_pointer_half_a_turn_of_zero_and_spot_is_not_told_apart() -> None:
    assert fitted(Real(), TWO).proved == ALL - {"zero", "spot"}


@pytest.mark.parametrize("wrong", [{"sense": -1}, {"zero_deg": 200.0}, {"sense": -1, "zero_deg": 77.0}])
def test_the_machines_own_numbers_test_neither_direction_nor_zero(wrong: dict[str, float]) -> None:
    """The readings are what they are, whatever is set: so nothing is claimed of it."""
    import dataclasses

    fit = fitted(Real(), TWO, named=False, settings=dataclasses.replace(SET, **wrong))  # type: ignore[arg-type]
    assert fit.good
    assert fit.proved == {"spot", "planes", "amounts"}


def test_mixed_placements_are_understood_together() -> None:
    """One named, one by the machine's number: spot, planes and amounts; two named beside it: all."""
    true = Real()
    own = Placement(unbalance_gmm=U, z_mm=200.0, number_deg=true.number(200.0))
    named = [Placement(unbalance_gmm=U, z_mm=z, place_deg=place) for place, z in TWO]

    def fit(placements: list[Placement], places: list[tuple[float, float]]) -> SettingsFit:
        read = [true.shown(*each) for each in places]
        return fit_settings(placements, read, BASE, SET, percent=2.0, angle_deg=1.0, floor_gmm=10.0)

    one = fit([named[0], own], [TWO[0], (200.0, 200.0)])
    assert one.good
    assert one.proved == {"spot", "planes", "amounts"}
    assert fit([*named, own], [*TWO, (200.0, 200.0)]).proved == ALL


def test_one_place_or_two_in_one_line_settle_no_direction() -> None:
    assert "direction" not in fitted(Real(), TWO[:1], pointer=True).proved
    assert "direction" not in fitted(Real(), [(10.0, 80.0), (190.0, 400.0)], pointer=True).proved


@pytest.mark.parametrize(
    ("true", "fault"),
    [
        (Real(sense=-1), "direction"),
        (Real(zero=75.0), "zero"),
        (Real(zero=210.0), "zero"),
        (Real(spot=-1), "spot"),
        (Real(planes=(450.0, 50.0)), "planes"),
        (Real(gains=(0.1, 0.1)), "unit"),
        (Real(gains=(1.0 / 720.0778, 1.0 / 720.0778)), "unit"),
        (Real(gains=(1.0 / 70.0, 1.0 / 85.0)), "amounts"),
        (Real(gains=(1.0 / 78.0, 1.0 / 80.0)), "amounts"),
        (Real(gains=(0.8, 0.8)), "scale"),
    ],
)
def test_one_wrong_setting_is_named_alone(true: Real, fault: str) -> None:
    fit = fitted(true, TWO, pointer=True)
    assert [each.faults for each in fit.explanations] == [(fault,)]
    assert not fit.good
    assert fit.proved == frozenset()
    if fault == "zero":
        off = cmath.exp(1j * math.radians(fit.explanations[0].turn_deg - (true.zero - 30.0)))
        assert abs(math.degrees(cmath.phase(off))) < 2.0


def test_two_wrong_settings_are_named_together() -> None:
    fit = fitted(Real(sense=-1, planes=(450.0, 50.0)), TWO, pointer=True)
    assert [set(each.faults) for each in fit.explanations] == [{"direction", "planes"}]


def test_a_radius_is_found_by_its_side() -> None:
    import dataclasses

    masses = dataclasses.replace(SET, by_mass=True, gains={"oz": 1.0 / 28.35}, radii_for={})
    fit = fitted(Real(gains=(1.5, 1.0)), TWO, pointer=True, settings=masses)
    assert [each.faults for each in fit.explanations] == [("left radius",)]
    assert fit.explanations[0].gains[0] == pytest.approx(1.5, rel=0.03)


def test_a_mass_that_was_not_there_fits_nothing() -> None:
    placements = [
        Placement(unbalance_gmm=U, z_mm=z, place_deg=p, number_deg=Real().number(p)) for p, z in TWO
    ]
    fit = fit_settings(placements, [BASE, BASE], BASE, SET, percent=2.0, angle_deg=1.0, floor_gmm=10.0)
    assert not fit.good


def test_a_small_mass_raises_no_alarm_and_proves_nothing() -> None:
    """A fiftieth of the reading, read 3 % off: no alarm on right settings, and no claim either."""
    placements = [Placement(unbalance_gmm=60.0, z_mm=z, place_deg=p) for p, z in TWO]
    read = [(BASE[0] * 1.03, BASE[1] * 0.98), (BASE[0] * 0.98, BASE[1] * 1.02)]
    fit = fit_settings(placements, read, BASE, SET, percent=2.0, angle_deg=1.0, floor_gmm=10.0)
    assert fit.good
    assert fit.proved == frozenset()


def test_nothing_to_compare_with() -> None:
    with pytest.raises(ValueError, match="no known mass"):
        fit_settings([], [], BASE, SET, percent=2.0, angle_deg=1.0, floor_gmm=10.0)


@pytest.mark.parametrize(("pointer", "sigma"), [(False, 2.0204), (True, 1.6441)])
def test_how_well_the_zero_is_known_by_hand(pointer: bool, sigma: float) -> None:
    """4000 midway between the planes, readings good to 10 on each axis, nothing there before.

    Both planes change by 2000, together 2828 in one direction; a degree of the zero moves that by 49.37 across.  Across it is
    known by both readings, 2 * 10^2, and by where the mass sits, 2 degrees or 98.73: together 99.74, hence 2.0204 degrees.  The
    pointer, and the place it points to, each good to 2 degrees, weigh 1/8 beside 1/2.0204^2.
    """
    true = Real()
    place = Placement(unbalance_gmm=U, z_mm=250.0, place_deg=75.0, number_deg=45.0 if pointer else None)
    half = cmath.rect(U / 2.0, math.radians(45.0))
    assert true.shown(75.0, 250.0)[0] - BASE[0] == pytest.approx(half)
    fit = fit_settings([place], [(half, half)], (0j, 0j), SET, percent=0.0, angle_deg=0.0, floor_gmm=10.0)
    assert fit.good
    assert fit.zero_sigma_deg == pytest.approx(sigma, abs=2e-4)


def test_a_machines_own_number_says_nothing_of_the_zero() -> None:
    assert fitted(Real(), TWO, named=False).zero_sigma_deg is None


def test_what_is_compared_and_what_is_fitted_is_counted() -> None:
    """Two masses: four components each, and two pointers; a factor fitted takes one of the ten."""
    fit = fitted(Real(gains=(0.8, 0.8)), TWO, pointer=True)
    assert fit.as_set.freedom == 10
    assert (fit.explanations[0].freedom, fit.explanations[0].numbers) == (9, 1)
    assert fit.explanations[0].gains == pytest.approx((0.8, 0.8), rel=0.02)
    assert fitted(Real(), TWO).as_set.freedom == 8


@pytest.mark.parametrize(("radius", "believed"), [(20.0, False), (40.0, True), (150.0, True), (300.0, False)])
def test_a_display_of_masses_needs_a_radius_that_can_be(radius: float, believed: bool) -> None:
    """Grams at a radius in place of g*mm read too small by just that radius; 30 to 200 mm are believed, else all is too small."""
    fit = fitted(Real(gains=(1.0 / radius, 1.1 / radius)), TWO, pointer=True)
    assert [each.faults for each in fit.explanations] == [("amounts",) if believed else ("scale",)]
    if believed:
        left, right = fit.explanations[0].gains
        assert 1.0 / left == pytest.approx(radius, rel=0.05)
        assert 1.1 / right == pytest.approx(radius, rel=0.05)


def test_what_an_explanation_expects_is_what_was_shown() -> None:
    """The zero 45 degrees off: what each side should change by, in the display's counting."""
    true = Real(zero=75.0)
    fit = fitted(true, TWO, pointer=True)
    for (left, right), (place, z) in zip(fit.explanations[0].predicted, TWO, strict=True):
        shown = true.shown(place, z)
        assert left == pytest.approx(shown[0] - BASE[0], abs=0.03 * U)
        assert right == pytest.approx(shown[1] - BASE[1], abs=0.03 * U)


@pytest.mark.parametrize(("chi2", "good"), [(18.5, True), (20.8, False)])
def test_right_settings_are_refused_once_in_two_thousand(chi2: float, good: bool) -> None:
    """Table of chi^2: with 4 degrees of freedom 20.0 is exceeded once in 2,000.

    As in the zero's sum above, but the left plane changed by d too much and the right one by d too little: each has the errors
    of two readings, so that this misses by 2 d^2 / (2 * 10^2).  Midway between the planes they may as well be exchanged.
    """
    d = 10.0 * math.sqrt(chi2)
    place = Placement(unbalance_gmm=U, z_mm=250.0, place_deg=75.0)
    half, off = cmath.rect(U / 2.0, math.radians(45.0)), cmath.rect(d, math.radians(45.0))
    fit = fit_settings(
        [place], [(half + off, half - off)], (0j, 0j), SET, percent=0.0, angle_deg=0.0, floor_gmm=10.0
    )
    assert fit.as_set.chi2 == pytest.approx(chi2, rel=0.01)
    assert fit.as_set.misses_by == pytest.approx(math.sqrt(chi2 / 4.0), rel=0.01)
    assert fit.good == good
    if not good:
        assert fit.proved == frozenset()


def test_a_swapped_spot_and_a_zero_off_are_both_found_where_the_machines_own_number_helps() -> None:
    """By places on the crankshaft half a turn of the zero hides a swapped spot; a mass at the machine's number does not."""
    true = Real(spot=-1, zero=75.0)
    places = [*TWO, (200.0, 200.0)]
    placements = [Placement(unbalance_gmm=U, z_mm=z, place_deg=place) for place, z in TWO]
    placements.append(Placement(unbalance_gmm=U, z_mm=200.0, number_deg=true.number(200.0)))
    read = [true.shown(*each) for each in places]
    fit = fit_settings(placements, read, BASE, SET, percent=2.0, angle_deg=1.0, floor_gmm=10.0)
    assert [set(each.faults) for each in fit.explanations] == [{"zero", "spot"}]
    assert fit.explanations[0].turn_deg == pytest.approx(45.0, abs=2.0)
    # without that number it is a zero that is off by the other half of a turn
    named = fit_settings(placements[:2], read[:2], BASE, SET, percent=2.0, angle_deg=1.0, floor_gmm=10.0)
    assert [each.faults for each in named.explanations] == [("zero",)]
    assert named.explanations[0].turn_deg == pytest.approx(-135.0, abs=2.0)
