"""What went wrong: each fault on vectors worked out by hand, and a sample of simulated histories.  Data invented."""

from __future__ import annotations

import cmath
import math
from itertools import islice

import numpy as np
import pytest
from histories import FAULTS, histories

from planner.machine.deciding_spin import NamedPlace, deciding_mass
from planner.machine.plane_maps import SWAP, Matrix, mirror, reading_covariance, turn, vector_covariance
from planner.machine.what_went_wrong import (
    BobEffect,
    Diagnosis,
    Explained,
    Kind,
    diagnose_change,
    turn_fault,
)
from planner.steps.fault_words import explained_faults, explained_words, fault_words, size_fault


def polar(amount: float, angle_deg: float) -> complex:
    return cmath.rect(amount, math.radians(angle_deg))


FORETOLD = (polar(3000.0, 20.0), polar(2000.0, 85.0))
ERROR = np.eye(4) * 60.0**2
BOB = BobEffect(throw="2", way="grams", per_unit_gmm=(polar(30.0, 90.0), polar(14.0, 90.0)), most=1700.0)


def diagnosed(measured: tuple[complex, complex], *, zero_deg: float = 40.0) -> Diagnosis:
    return diagnose_change(FORETOLD, measured, reading_covariance_gmm2=ERROR, zero_deg=zero_deg, bobs=(BOB,))


@pytest.mark.parametrize(
    ("measured", "kind", "words"),
    [
        (FORETOLD, "fine", "nothing is wrong"),
        ((-FORETOLD[0], -FORETOLD[1]), "swapped spot", "heavy and light spot are swapped"),
        # mirrored about 40 degrees: 20 becomes 60, 85 becomes -5
        ((polar(3000.0, 60.0), polar(2000.0, -5.0)), "reversed direction", "the angle direction is reversed"),
        ((FORETOLD[1], FORETOLD[0]), "swapped planes", "the left and right plane are swapped"),
        ((polar(3000.0, 50.0), polar(2000.0, 115.0)), "zero mark", "the zero mark is off by 30 degrees"),
        ((polar(3000.0, -70.0), polar(2000.0, -5.0)), "zero mark", "the zero mark is off by -90 degrees"),
        ((polar(2100.0, 20.0), polar(1400.0, 85.0)), "scale", "0.7 times the foretold one: cuts too shallow"),
        ((polar(3900.0, 20.0), polar(2600.0, 85.0)), "scale", "1.3 times the foretold one: cuts too deep"),
        ((polar(6000.0, 20.0), polar(4000.0, 85.0)), "scale", "are diameter and radius mixed up?"),
        ((0j, 0j), "scale", "were the cuts made"),
        # 25 g on throw 2: 750 and 350 at 90 degrees
        (
            (FORETOLD[0] + polar(750.0, 90.0), FORETOLD[1] + polar(350.0, 90.0)),
            "bobs moved",
            "the bob on throw 2 is 25 g heavier",
        ),
    ],
)
def test_each_fault_alone(measured: tuple[complex, complex], kind: str, words: str) -> None:
    found = diagnosed(measured)
    assert [each.kind for each in found.explanations] == [kind]
    assert words in explained_words(found.explanations[0])
    assert found.good == (kind == "fine")
    assert found.explanations[0].chi2 < 1e-3


def test_within_the_errors_nothing_is_blamed() -> None:
    """Zero mark off by one degree, changes 3 % small: less than the readings can tell."""
    measured = (polar(2910.0, 21.0), polar(1940.0, 86.0))
    assert diagnosed(measured).good


def test_nothing_known_fits() -> None:
    found = diagnosed((polar(3000.0, 170.0), polar(500.0, 10.0)))
    assert found.explanations == ()
    assert found.fine.misses_by > 5.0


def test_two_faults_at_once() -> None:
    """Light spot marked and planes exchanged."""
    found = diagnosed((-FORETOLD[1], -FORETOLD[0]))
    assert [each.kind for each in found.explanations] == ["several"]
    assert explained_faults(found.explanations[0]) == (
        "the left and right plane are swapped",
        "heavy and light spot are swapped",
    )


@pytest.mark.parametrize("apart_deg", [0.0, 180.0])
def test_on_one_line_direction_and_zero_can_not_be_told_apart(apart_deg: float) -> None:
    """Foretold at 20 and 20 (or 200), read at 60: mirrored about 40, or turned by 40.  The list says both."""
    foretold = (polar(3000.0, 20.0), polar(2000.0, 20.0 + apart_deg))
    measured = (polar(3000.0, 60.0), polar(2000.0, 60.0 + apart_deg))
    found = diagnose_change(foretold, measured, reading_covariance_gmm2=ERROR, zero_deg=40.0)
    assert {each.kind for each in found.explanations} == {"reversed direction", "zero mark"}
    mass = deciding_mass(found.explanations, unbalance_gmm=1000.0)
    assert mass is not None
    # a mass off that line separates them: mirrored at 80 - a, turned to a + 40; farthest apart where 2a - 40 = 180
    assert mass.angle_deg in (105.0, 120.0, 285.0, 300.0)
    assert mass.apart_gmm > 1900.0


def test_what_fits_clearly_worse_is_dropped() -> None:
    """Four degrees off one line: a turn would fit by itself (chi^2 below 17.7), but 15 worse than the mirror does."""
    foretold = (polar(3000.0, 20.0), polar(2000.0, 24.0))
    measured = (polar(3000.0, 60.0), polar(2000.0, 56.0))
    found = diagnose_change(foretold, measured, reading_covariance_gmm2=ERROR, zero_deg=40.0)
    assert [each.kind for each in found.explanations] == ["reversed direction"]


def test_a_known_mass_that_reads_alike_decides_nothing() -> None:
    """A bob and a cut do not change how a known mass reads."""
    other = BobEffect(throw="3", way="slides", per_unit_gmm=(30j, 14j), most=1700.0)
    found = diagnose_change(
        FORETOLD,
        (FORETOLD[0] + polar(750.0, 90.0), FORETOLD[1] + polar(350.0, 90.0)),
        reading_covariance_gmm2=ERROR,
        bobs=(BOB, other),
    )
    assert {each.bob.throw for each in found.explanations} == {"2", "3"}
    assert "mm to the rear" in " ".join(map(explained_words, found.explanations))
    assert deciding_mass(found.explanations, unbalance_gmm=1000.0) is None


def test_two_that_fit_alike_are_weighed_by_what_was_fitted() -> None:
    """Foretold at 20 and 20, read at 60, zero at 40: a mirror explains it as it is, a turn by one number fitted.

    That number costs 2: the turn's odds are exp(-1) = 0.37 to 1, shares 0.73 and 0.27.
    """
    found = diagnose_change(
        (polar(3000.0, 20.0), polar(2000.0, 20.0)),
        (polar(3000.0, 60.0), polar(2000.0, 60.0)),
        reading_covariance_gmm2=ERROR,
        zero_deg=40.0,
    )
    assert [(each.kind, each.likelihood) for each in found.explanations] == [
        ("reversed direction", "likely"),
        ("zero mark", "possible"),
    ]
    # one alone is not compared with anything
    assert diagnosed((-FORETOLD[0], -FORETOLD[1])).explanations[0].likelihood is None


@pytest.mark.parametrize(("misses", "fits"), [(19.0, True), (20.5, False)])
def test_how_badly_a_swapped_spot_may_fit(misses: float, fits: bool) -> None:
    """Nothing is fitted: chi^2 has 4 degrees of freedom and exceeds 20.0 in one of 2,000 (table of chi^2: 19.997)."""
    off = 60.0 * math.sqrt(misses)
    found = diagnosed((-FORETOLD[0] - polar(off, 20.0), -FORETOLD[1]))
    assert ("swapped spot" in {each.kind for each in found.explanations}) == fits
    if fits:
        # per number compared, in multiples of the expected error
        assert found.explanations[0].misses_by == pytest.approx(math.sqrt(misses / 4.0))


@pytest.mark.parametrize(("misses", "fits"), [(17.0, True), (19.0, False)])
def test_how_badly_a_zero_mark_may_fit(misses: float, fits: bool) -> None:
    """The turn is fitted: 3 degrees of freedom, 17.7 in one of 2,000 (table of chi^2: 17.730)."""
    off = 60.0 * math.sqrt(misses)
    found = diagnosed((polar(3000.0 + off, 90.0), polar(2000.0, 155.0)))
    assert ("zero mark" in {each.kind for each in found.explanations}) == fits


def test_a_change_that_is_a_little_off_is_no_alarm_where_nothing_explains_it_better() -> None:
    """One healthy case of a hundred is off by more than 13.28 (table of chi^2); this one by 15.

    The left plane changed too much and the right one too little, 3000 a = 2000 b, so that neither a factor nor a turn helps.
    """
    a = 60.0 * math.sqrt(15.0 / (1.0 + 1.5**2))
    found = diagnose_change(
        FORETOLD,
        (FORETOLD[0] + polar(a, 20.0), FORETOLD[1] - polar(1.5 * a, 85.0)),
        reading_covariance_gmm2=ERROR,
    )
    assert found.fine.chi2 == pytest.approx(15.0)
    assert found.good


@pytest.mark.parametrize(("turn_deg", "said"), [(3.9, False), (4.2, True), (-4.2, True)])
def test_beside_swapped_planes_a_turn_is_said_from_four_degrees(turn_deg: float, said: bool) -> None:
    measured = tuple(polar(1.0, turn_deg) * each for each in (FORETOLD[1], FORETOLD[0]))
    found = diagnose_change(FORETOLD, measured, reading_covariance_gmm2=np.eye(4) * 20.0**2)
    faults = [explained_faults(each) for each in found.explanations if each.kind == "several"]
    assert faults
    planes = "the left and right plane are swapped"
    assert faults[0] == ((planes, f"the zero mark is off by {turn_deg:.0f} degrees") if said else (planes,))


@pytest.mark.parametrize(("factor", "said"), [(1.05, False), (1.08, True), (0.93, True)])
def test_beside_swapped_planes_a_factor_is_said_from_six_percent(factor: float, said: bool) -> None:
    measured = tuple(factor * each for each in (FORETOLD[1], FORETOLD[0]))
    found = diagnose_change(FORETOLD, measured, reading_covariance_gmm2=np.eye(4) * 10.0**2)
    faults = [explained_faults(each) for each in found.explanations if each.kind == "several"]
    assert faults
    assert faults[0][0] == "the left and right plane are swapped"
    assert any(f"{factor:.3g} times the foretold" in each for each in faults[0]) == said


def test_a_bob_that_is_off_by_more_than_is_usual_is_believed_less() -> None:
    """25 g on either of two throws that act alike: where 10 g are usual, and where 500 g are nothing out of the way.

    ``2 ln(1 + 2.5^2) = 3.96`` against 0.005: odds of exp(-1.98) = 0.138, shares 0.88 and 0.12.
    """
    careful, careless = (
        BobEffect(throw=name, way="grams", per_unit_gmm=BOB.per_unit_gmm, most=1700.0, usual=usual)
        for name, usual in (("1", 10.0), ("4", 500.0))
    )
    found = diagnose_change(
        FORETOLD,
        (FORETOLD[0] + polar(750.0, 90.0), FORETOLD[1] + polar(350.0, 90.0)),
        reading_covariance_gmm2=ERROR,
        bobs=(careful, careless),
    )
    assert [(each.bob and each.bob.throw, each.likelihood) for each in found.explanations] == [
        ("4", "likely"),
        ("1", "possible"),
    ]


def as_if(kind: Kind, matrix: Matrix) -> Explained:
    return Explained(kind=kind, faults=(), chi2=0.0, misses_by=0.0, matrix=matrix)


FINE = as_if("fine", np.eye(4))


def test_swapped_planes_show_wherever_a_mass_is_put() -> None:
    """1000 put in the left plane shows there or in the right one: apart by 1000 * sqrt(2), what is expected said for both."""
    mass = deciding_mass([FINE, as_if("swapped planes", SWAP)], unbalance_gmm=1000.0)
    assert mass is not None
    # every place does as well: the first one is taken, the left plane at 0
    assert (mass.plane, mass.angle_deg, mass.place) == ("left", 0.0, None)
    assert mass.expected_gmm == ((1000.0, 0.0), (0.0, 1000.0))
    assert mass.apart_gmm == pytest.approx(1000.0 * math.sqrt(2.0))


def test_a_reversed_direction_shows_square_to_the_zero_mark() -> None:
    """Mirrored about 40 degrees: at 130 a mass reads as at -50, 2000 apart; at 40 and 220 it tells nothing."""
    mass = deciding_mass(
        [FINE, as_if("reversed direction", mirror(40.0))], unbalance_gmm=1000.0, step_deg=10.0
    )
    assert mass is not None
    assert mass.angle_deg in (130.0, 310.0)
    assert mass.apart_gmm == pytest.approx(2000.0)
    right, mirrored = (left for left, _ in mass.expected_gmm)
    assert right == pytest.approx(polar(1000.0, mass.angle_deg))
    assert mirrored == pytest.approx(polar(1000.0, 80.0 - mass.angle_deg))


def test_the_mass_goes_where_the_worst_told_pair_is_told_best() -> None:
    """Fine, turned by 90, mirrored about 0: a mass at a reads at a, a + 90, -a.

    Fine and turned are 1.41 of it apart wherever it is; fine and mirrored 2 |sin a|, turned and mirrored 2 |sin(a + 45)|: from
    45 to 90 degrees, and opposite, neither is less than 1.41.
    """
    mass = deciding_mass(
        [FINE, as_if("zero mark", turn(math.pi / 2.0)), as_if("reversed direction", mirror(0.0))],
        unbalance_gmm=1000.0,
    )
    assert mass is not None
    assert mass.apart_gmm == pytest.approx(1000.0 * math.sqrt(2.0))
    assert 45.0 <= mass.angle_deg % 180.0 <= 90.0
    assert len(mass.expected_gmm) == 3


THROWS = (
    NamedPlace(name="throw 1", angle_deg=40.0, radius_mm=45.0, shares=(0.9, 0.1)),
    NamedPlace(name="throw 2", angle_deg=130.0, radius_mm=45.0, shares=(0.3, 0.7)),
    NamedPlace(name="throw 3", angle_deg=100.0, radius_mm=45.0, shares=(0.3, 0.7)),
)


def test_only_places_with_a_name_where_the_zero_is_in_doubt() -> None:
    """A reversed direction about 40: throw 1 stands on that line, throw 2 square to it."""
    mass = deciding_mass(
        [FINE, as_if("reversed direction", mirror(40.0))], unbalance_gmm=1000.0, places=THROWS
    )
    assert mass is not None
    assert mass.place == THROWS[1]
    assert mass.angle_deg == 130.0
    # 700 of it are carried by the right plane: that is where it mostly shows
    assert mass.plane == "right"
    assert mass.expected_gmm[0] == pytest.approx((polar(300.0, 130.0), polar(700.0, 130.0)))
    assert mass.apart_gmm == pytest.approx(2.0 * math.hypot(300.0, 700.0))
    # on the line alone nothing is told apart
    assert (
        deciding_mass(
            [FINE, as_if("reversed direction", mirror(40.0))], unbalance_gmm=1000.0, places=THROWS[:1]
        )
        is None
    )
    assert deciding_mass([FINE, FINE], unbalance_gmm=1000.0, places=()) is None


def test_one_explanation_needs_no_experiment() -> None:
    assert deciding_mass([FINE], unbalance_gmm=1.0) is None


@pytest.mark.parametrize(("degrees", "tells"), [(11.0, False), (12.0, True)])
@pytest.mark.parametrize("size", [5.0, 1000.0])
def test_what_differs_by_less_than_a_fifth_of_the_mass_tells_nothing(
    degrees: float, tells: bool, size: float
) -> None:
    """A turn by d moves a vector by 2 sin(d/2) of it: 0.192 for 11 degrees, 0.209 for 12; whatever the size of the mass."""
    turned = as_if("zero mark", turn(math.radians(degrees)))
    assert (deciding_mass([FINE, turned], unbalance_gmm=size) is not None) == tells


def test_a_bob_does_not_weigh_more_than_believable() -> None:
    light = BobEffect(throw="2", way="grams", per_unit_gmm=BOB.per_unit_gmm, most=10.0)
    measured = (FORETOLD[0] + polar(750.0, 90.0), FORETOLD[1] + polar(350.0, 90.0))
    found = diagnose_change(FORETOLD, measured, reading_covariance_gmm2=ERROR, bobs=(light,))
    assert "bobs moved" not in {each.kind for each in found.explanations}


def test_the_factor_is_weighted_least_squares() -> None:
    """By hand: equal weights, k = sum(F.M)/sum(F.F) over the four components, sigma = 60/|F|."""
    found = diagnosed((polar(2700.0, 20.0), polar(2200.0, 85.0)))
    square = 3000.0**2 + 2000.0**2
    assert found.factor == pytest.approx((3000.0 * 2700.0 + 2000.0 * 2200.0) / square)
    assert found.factor_sigma == pytest.approx(60.0 / math.sqrt(square))


def test_covariance_of_a_reading_by_hand() -> None:
    """1000 at 90 degrees, 3 % and 2 degrees: 30 along y, 34.9 along x; a second plane of nothing has the floor."""
    matrix = reading_covariance((1000j, 0j), percent=3.0, angle_deg=2.0, floor_gmm=5.0, count=2)
    across = math.radians(2.0) * 1000.0
    expected = np.diag([across**2 + 25.0, 30.0**2 + 25.0, 25.0, 25.0]) / 2.0
    assert matrix == pytest.approx(expected, abs=1e-6)


def test_without_a_floor_nothing_is_known_exactly_to_be_nothing() -> None:
    """100 at 0 degrees, 2 %: 2 along x; where no error of the angle and no floor is stated there is none."""
    matrix = reading_covariance((100.0 + 0j, 0j), percent=2.0, angle_deg=0.0)
    assert matrix == pytest.approx(np.diag([4.0, 0.0, 0.0, 0.0]))


def test_covariance_of_a_cut_is_that_of_its_draws() -> None:
    rng = np.random.default_rng(3)
    along, across = rng.normal(scale=20.0, size=200_000), rng.normal(scale=7.0, size=200_000)
    vectors = polar(1.0, 30.0) * (along + 1j * across)
    draws = np.array([0.8 * vectors.real, 0.8 * vectors.imag, 0.2 * vectors.real, 0.2 * vectors.imag])
    matrix = vector_covariance(polar(1.0, 30.0), (0.8, 0.2), along_gmm=20.0, across_gmm=7.0)
    assert matrix == pytest.approx(np.cov(draws), abs=3.0)


def test_mirror_about_the_zero_mark() -> None:
    vector = mirror(40.0) @ np.array([math.cos(math.radians(20.0)), math.sin(math.radians(20.0)), 0.0, 0.0])
    assert vector == pytest.approx([math.cos(math.radians(60.0)), math.sin(math.radians(60.0)), 0.0, 0.0])


def test_nothing_foretold() -> None:
    with pytest.raises(ValueError, match="nothing was foretold to change"):
        diagnose_change((0j, 0j), FORETOLD, reading_covariance_gmm2=ERROR)


@pytest.mark.parametrize(
    ("size", "words"),
    [
        (720.078, "ounce-inches and gram-millimetres"),
        (1.0 / 28.35, "ounces and grams"),
        (25.0, "inches and millimetres"),
        (0.1, "gram-centimetres"),
        (0.5, "diameter and radius"),
    ],
)
def test_known_mix_ups(size: float, words: str) -> None:
    assert words in size_fault(size)


@pytest.mark.parametrize(
    ("size", "sigma", "words"),
    [
        # nothing changed, as far as 3 of its uncertainties tell; at most 2 more than it are said
        (0.29, 0.1, "less than 0.49 of the foretold"),
        (0.31, 0.1, "0.31 times the foretold one: are diameter and radius mixed up"),
        (0.001, 0.001, "less than 0.01 of the foretold"),
        # within 6 % of a known factor, or within two uncertainties where those are wider
        (2.11, 0.0, "are diameter and radius mixed up"),
        (2.13, 0.0, "cuts too deep"),
        (2.13, 0.1, "are diameter and radius mixed up"),
        (2.25, 0.1, "cuts too deep"),
        (0.6, 0.01, "cuts too shallow"),
        (0.97, 0.0, "cuts too shallow"),
        (1.03, 0.0, "cuts too deep"),
        # 28.35 and 25.4 are 11 % apart: the nearer one is named even where both would do
        (27.4, 3.0, "ounces and grams"),
        (26.3, 3.0, "inches and millimetres"),
    ],
)
def test_a_factor_in_words(size: float, sigma: float, words: str) -> None:
    assert words in size_fault(size, sigma=sigma)


@pytest.mark.parametrize(
    ("turn_deg", "words"),
    [
        (4.0, []),
        (-4.1, ["the zero mark is off by -4 degrees"]),
        (175.9, ["the zero mark is off by 176 degrees"]),
        (176.0, ["heavy and light spot are swapped"]),
        (-180.0, ["heavy and light spot are swapped"]),
    ],
)
def test_a_turn_in_words(turn_deg: float, words: list[str]) -> None:
    assert [fault_words(each) for each in turn_fault(turn_deg, within_deg=4.0)] == words


def test_words_without_a_known_mix_up() -> None:
    assert [fault_words(each) for each in turn_fault(2.0, within_deg=4.0)] == []
    assert [fault_words(each) for each in turn_fault(-178.0, within_deg=4.0)] == [
        "heavy and light spot are swapped"
    ]


@pytest.mark.parametrize("fault", FAULTS)
def test_a_sample_of_simulated_histories(fault: str) -> None:
    """Forty of each; the benchmark has hundreds.  Readings with 3 % and 2 degrees of noise."""
    told = [each for each in islice(histories(fault, seed=11), 90) if each.is_told_apart][:40]
    right = [{each.kind for each in history.diagnosis().explanations} == {fault} for history in told]
    assert len(right) == 40
    assert sum(right) >= 36
