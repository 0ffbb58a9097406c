"""Units at the edge, against exact definitions and against a general-purpose unit library.

Exact: international yard and pound agreement of 1959 (1 in = 25.4 mm, 1 lb = 453.59237 g), 1 oz av = 1 lb/16.
Independent: pint, with its own table of units.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import InputError
from planner.quantity import (
    GMM_PER_OZ_IN,
    METRIC,
    QuantityError,
    UnitSystem,
    factor,
    format_quantity,
    from_g,
    from_gmm,
    from_mm,
    nearest_64th,
    nearest_64th_mm,
    parse_angle_deg,
    parse_density_g_per_cm3,
    parse_length_mm,
    parse_mass_g,
    parse_quantity,
    parse_speed_rpm,
    parse_unbalance_gmm,
    unit_name,
)
from planner.quantity_units import FACTORS, KINDS, SPELLINGS, _spellings

# what pint calls our units; every canonical unit of ours has to be here
PINT_NAMES = {
    "length": ("mm", {"mm": "mm", "cm": "cm", "m": "m", "in": "inch"}),
    "mass": ("g", {"g": "g", "kg": "kg", "oz": "ounce", "lb": "pound"}),
    "unbalance": (
        "g*mm",
        {
            "g*mm": "g*mm",
            "g*cm": "g*cm",
            "g*m": "g*m",
            "g*in": "g*inch",
            "kg*mm": "kg*mm",
            "kg*cm": "kg*cm",
            "kg*m": "kg*m",
            "oz*in": "ounce*inch",
            "lb*in": "pound*inch",
        },
    ),
    "density": (
        "g/cm**3",
        {
            "g/cm3": "g/cm**3",
            "g/mm3": "g/mm**3",
            "kg/m3": "kg/m**3",
            "kg/dm3": "kg/dm**3",
            "oz/in3": "ounce/inch**3",
            "lb/in3": "pound/inch**3",
        },
    ),
    "angle": ("degree", {"deg": "degree", "rad": "radian"}),
    "speed": ("rpm", {"rpm": "rpm", "rad/s": "radian/s", "Hz": "turn/s"}),
}


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize("kind", KINDS)
def test_factors_agree_with_pint(kind, registry):
    inside, names = PINT_NAMES[kind]
    assert set(names) == set(FACTORS[kind])
    for unit, pint_name in names.items():
        expected = registry.Quantity(1.0, pint_name).to(inside).magnitude
        assert factor(unit, kind) == pytest.approx(expected, rel=1e-12), unit


@pytest.mark.parametrize(
    ("text", "gmm"),
    [
        # exact products of the definitions: 28.349523125 g/oz x 25.4 mm/in
        ("1 oz-in", 720.077887375),
        ("1 g-in", 25.4),
        ("1 g-cm", 10.0),
        ("1 cm*g", 10.0),
        ("1 kg*mm", 1000.0),
        ("1 kg*m", 1e6),
        ("1 lb*in", 11521.246198),
    ],
)
def test_one_unit_of_unbalance_is_exact(text, gmm):
    assert parse_unbalance_gmm(text) == gmm


def test_an_ounce_inch_from_its_definition():
    assert Fraction("453.59237") / 16 * Fraction("25.4") == Fraction("720.077887375")
    assert Fraction(720_077_887_375, 10**9) == FACTORS["unbalance"]["oz*in"]
    assert from_gmm(1.0, "oz*in") == pytest.approx(0.001388739, abs=5e-10)
    assert parse_mass_g("1 oz") == 28.349523125
    assert parse_mass_g("1 lb") == 453.59237


@pytest.mark.parametrize(
    "spelling",
    [
        "oz-in", "oz*in", "oz in", "oz.in", "oz·in", "ozin", "in-oz", "in*oz", "inoz", "OZ-IN", "Oz*In", "oz - in",
        "oz. in.", "oz⋅in", "oz×in", "ounce-inches", "ounce inch", 'oz*"', "  oz  in ",
    ],
)  # fmt: skip
def test_every_spelling_of_an_ounce_inch(spelling):
    assert parse_unbalance_gmm(f"0.5 {spelling}") == 360.0389436875
    assert unit_name(spelling, "unbalance") == "oz*in"


@pytest.mark.parametrize(
    ("text", "gmm"),
    [
        ("5 g-mm", 5.0),
        ("5 g*mm", 5.0),
        ("5gmm", 5.0),
        ("5 GMM", 5.0),
        ("5 mm*g", 5.0),
        ("5 g.cm", 50.0),
        ("5 g-in", 127.0),
        ("5 in*g", 127.0),
        ("5 g m", 5000.0),
        ("5e2 g*mm", 500.0),
        ("1/2 oz-in", GMM_PER_OZ_IN / 2),
        ("-3 g*mm", -3.0),
        ("7", 7.0),
    ],
)
def test_other_spellings_of_unbalance(text, gmm):
    assert parse_unbalance_gmm(text) == pytest.approx(gmm, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("12.7", 12.7),
        ("12.7 mm", 12.7),
        ("12.7mm", 12.7),
        ("1.27 CM", 12.7),
        ("1e-3 m", 1.0),
        ("3.48 in", 88.392),
        ("3.48 in.", 88.392),
        ("3.48 inches", 88.392),
        ('3.48"', 88.392),
        ("3.48″", 88.392),
        ("1 inch", 25.4),
        ("53/64 in", 21.034375),
        ("1 1/2 in", 38.1),
        ("1-1/2 in", 38.1),
        ("1 - 1/2 in", 38.1),
        ("1/2-in", 12.7),
        ("1½ in", 38.1),
        ("½ in", 12.7),
        ("-1 1/2 in", -38.1),
        ("−5 mm", -5.0),
        ("+5 mm", 5.0),
        (".5 in", 12.7),
        ("5. mm", 5.0),
    ],
)
def test_lengths_to_the_last_bit(text, mm):
    assert parse_length_mm(text) == mm


def test_a_bare_number_takes_the_default_unit_and_a_text_its_own():
    assert parse_length_mm(3.75, default_unit="inches") == 95.25
    assert parse_length_mm("3.75", default_unit="in") == 95.25
    assert parse_length_mm("3.75 mm", default_unit="in") == 3.75
    assert parse_mass_g(53, default_unit="lb") == pytest.approx(24040.39561)
    assert parse_quantity(5, "unbalance") == 5.0


@pytest.mark.parametrize(
    "text", ["7.85", "7.85 g/cm3", "7.85 g/cm^3", "7.85 g/cm³", "7.85 g/cc", "7850 kg/m3"]
)
def test_densities(text):
    assert parse_density_g_per_cm3(text) == 7.85


def test_imperial_densities():
    # 1 lb/in3 = 453.59237 g / (2.54 cm)^3
    assert parse_density_g_per_cm3("0.2836 lb/in3") == pytest.approx(0.2836 * 453.59237 / 2.54**3, rel=1e-14)
    assert parse_density_g_per_cm3("0.2836 lb/cu in") == parse_density_g_per_cm3("0.2836 lbs/in^3")


def test_angles_and_speeds():
    assert parse_angle_deg("131") == parse_angle_deg("131°") == parse_angle_deg("131 degrees") == 131.0
    assert parse_angle_deg("1 rad") == pytest.approx(180.0 / math.pi)
    assert parse_angle_deg(-400) == -400.0
    assert parse_speed_rpm("6500 rpm") == parse_speed_rpm("6500 r/min") == parse_speed_rpm(6500) == 6500.0
    assert parse_speed_rpm("100 Hz") == 6000.0
    assert parse_speed_rpm("1 rad/s") == pytest.approx(30.0 / math.pi)


def test_no_spelling_means_two_units_of_one_kind():
    seen: dict[tuple[str, str], str] = {}
    for kind, spelling, unit in _spellings():
        assert seen.setdefault((kind, spelling), unit) == unit, spelling
        # what the table holds is what the reader finds
        assert SPELLINGS[kind][spelling] == unit


@pytest.mark.parametrize("kind", KINDS)
def test_every_spelling_in_the_table_can_be_typed_after_a_number(kind):
    for spelling, unit in SPELLINGS[kind].items():
        expected = parse_quantity(f"2 {unit}", kind)
        assert parse_quantity(f"2 {spelling}", kind) == expected, spelling
        assert parse_quantity(f"2 {spelling.upper()}", kind) == expected, spelling


@pytest.mark.parametrize(
    ("text", "kind", "match", "hint"),
    [
        ("3,5 mm", "length", "commas are not read", "decimal point and no separator of thousands: `3.5 mm`"),
        ("1,234.5", "length", "commas are not read", "decimal point and no separator of thousands$"),
        ("nan", "length", "a length must be a finite number", None),
        ("-inf mm", "length", "a length must be a finite number", None),
        ("1e999 mm", "length", "a length must be a finite number", None),
        ("1e308 in", "length", "a length must be a finite number", None),
        ("9" * 400, "length", "a length must be a finite number", None),
        ("1/" + "9" * 400, "length", "a length must be a finite number", None),
        ("5 kg", "length", "given `5 kg`; a length is in mm, cm, m or in", "`kg` is a unit of a mass"),
        ("5 inhc", "length", "a length is in mm, cm, m or in", "did you mean `in`"),
        ("5 ft", "length", "a length is in mm, cm, m or in", "feet are not read: write inches"),
        ("5 '", "length", "a length is in mm, cm, m or in", "feet are not read"),
        ("5 zz", "length", "a length is in mm, cm, m or in", None),
        ("1 2 mm", "length", "a length is a number or a text such as", None),
        ("5-", "length", "a length is in mm, cm, m or in", None),
        ("", "length", "given an empty text; a length is a number or a text such as", None),
        ("in", "length", "given `in`; a length is a number or a text such as", None),
        ("1.2.3 mm", "length", "a length is a number or a text such as", None),
        ("1/2/3 in", "length", "a length is a number or a text such as", None),
        ("1/0 in", "length", "can't have 0 below its line", None),
        ("5 oz", "unbalance", "an unbalance .* is in g[*]mm, .* or lb[*]in", "did you mean `oz[*]in`"),
        ("5 g", "unbalance", "an unbalance", "did you mean `g[*]mm`"),
        ("5 gm", "unbalance", "an unbalance", "write `g[*]m` if mass x radius is meant"),
        ("5 mg", "unbalance", "an unbalance", "write `g[*]m` if mass x radius is meant"),
        ("5 oz-inn", "unbalance", "an unbalance", "did you mean `oz[*]in`"),
        ("5 oz*in", "mass", "a mass is in g, kg, oz or lb", "is a unit of an unbalance"),
        ("5 gr", "mass", "a mass is in g, kg, oz or lb", "did you mean `g`"),
        ("5 g/cm2", "density", "a density is in g/cm3", "did you mean `g/cm3`"),
        ("5 dge", "angle", "an angle is in deg or rad", "did you mean `deg`"),
        ("5 rmp", "speed", "a speed is in rpm", "did you mean `rpm`"),
    ],
)
def test_what_cannot_be_read_says_what_is_allowed(text, kind, match, hint):
    with pytest.raises(QuantityError, match=match) as caught:
        parse_quantity(text, kind)
    if hint is None:
        assert caught.value.hint is None
    else:
        assert caught.value.hint is not None
        assert re.search(hint, caught.value.hint), caught.value.hint
    assert len(caught.value.message) < 300


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 10**400, 1.7e308])
def test_numbers_that_are_not_finite(value):
    with pytest.raises(QuantityError, match="a length must be a finite number"):
        parse_length_mm(value, default_unit="in")


@pytest.mark.parametrize(("value", "shown"), [(True, "`true`"), (None, "`None`"), ([1], r"`\[1\]`")])
def test_values_that_are_no_numbers(value, shown):
    with pytest.raises(QuantityError, match=f"given {shown}; a mass is a number or a text such as"):
        parse_mass_g(value)


def test_errors_are_input_errors_with_their_two_halves():
    with pytest.raises(InputError) as caught:
        parse_length_mm("5 kg", name="counterweights[2].thickness")
    error = caught.value
    assert isinstance(error, QuantityError)
    assert error.message == "counterweights[2].thickness: given `5 kg`; a length is in mm, cm, m or in"
    assert (error.given, error.allowed) == ("`5 kg`", "a length is in mm, cm, m or in")


@pytest.mark.parametrize(
    ("text", "limits", "match"),
    [
        ("-3 in", {"least": 0.0}, "given `-3 in`; at least 0 in is allowed"),
        ("0", {"above": 0.0}, "given `0`; more than 0 mm is allowed"),
        ("4 in", {"most": 76.2}, "given `4 in`; at most 3 in is allowed"),
    ],
)
def test_limits(text, limits, match):
    with pytest.raises(QuantityError, match=match):
        parse_length_mm(text, **limits)


def test_limits_themselves_are_allowed():
    assert parse_length_mm("0", least=0.0) == 0.0
    assert parse_length_mm("3 in", most=76.2) == 76.2
    assert parse_length_mm("0.1", above=0.0) == 0.1


def test_a_wrong_default_unit_is_refused():
    with pytest.raises(QuantityError, match="given the unit `gms`; a mass is in g, kg, oz or lb"):
        parse_mass_g(3, default_unit="gms")


def test_very_many_digits_are_read_quickly():
    assert parse_length_mm("0.1" + "0" * 5000) == 0.1
    assert parse_length_mm("9" * 50 + "/" + "9" * 50) == 1.0


@pytest.mark.parametrize(
    ("mm", "text"),
    [
        (0.0, "0"),
        (0.1, "0"),
        (21.034375, "53/64"),
        (12.7, "1/2"),
        (34.925, "1 3/8"),
        (50.8, "2"),
        (25.39, "1"),
        (25.4 * 63 / 64, "63/64"),
        (-12.7, "-1/2"),
        (-38.1, "-1 1/2"),
        (-0.01, "0"),
    ],
)
def test_nearest_64th(mm, text):
    assert nearest_64th(mm) == text
    assert nearest_64th_mm(mm) == pytest.approx(parse_length_mm(f"{text} in"), abs=1e-12)


@given(st.floats(-500, 500))
def test_nearest_64th_is_within_half_of_one(mm):
    there = parse_length_mm(f"{nearest_64th(mm)} in")
    assert abs(there - mm) <= 25.4 / 128 + 1e-9
    assert nearest_64th_mm(mm) == pytest.approx(there, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (format_quantity(22.5, "length", "mm"), "22.5 mm"),
        (format_quantity(14.25, "length", "mm"), "14.25 mm"),
        (format_quantity(22.0, "length", "mm"), "22.0 mm"),
        (format_quantity(22.5, "length", "in"), "0.886 in"),
        (format_quantity(22.5, "length", "inches", with_unit=False), "0.886"),
        (format_quantity(4210.4, "unbalance", "g*mm"), "4210 g*mm"),
        (format_quantity(42.13, "unbalance", "g*mm"), "42.1 g*mm"),
        (format_quantity(4212.4557, "unbalance", "oz-in"), "5.85 oz*in"),
        (format_quantity(20.0, "unbalance", "oz-in"), "0.028 oz*in"),
        (format_quantity(-0.001, "unbalance", "g*mm"), "0.0 g*mm"),
        (format_quantity(231.387, "unbalance", "g*mm", digits=2), "231.39 g*mm"),
        (format_quantity(412.63, "mass", "g"), "412.6 g"),
        (format_quantity(24100.0, "mass", "kg"), "24.100 kg"),
        (format_quantity(7.85, "density", "g/cm3"), "7.85 g/cm3"),
        (format_quantity(7.85, "density", "lb/in3"), "0.2836 lb/in3"),
        (format_quantity(131.04, "angle", "deg"), "131.0 deg"),
        (format_quantity(6500.2, "speed", "rpm"), "6500 rpm"),
    ],
)
def test_texts_have_the_digits_that_the_unit_deserves(text, expected):
    assert text == expected


def test_back_to_other_units():
    assert from_mm(25.4, "in") == 1.0
    assert from_g(453.59237, "lb") == 1.0
    assert from_gmm(1440.15577475, "oz-in") == 2.0


def test_a_unit_system_keeps_canonical_names():
    units = UnitSystem(length="inches", mass="LB", unbalance="oz-in")
    assert (units.length, units.mass, units.unbalance) == ("in", "lb", "oz*in")
    assert units.in_inches
    assert not METRIC.in_inches
    assert units.parse(2, "unbalance", above=0.0) == 2 * GMM_PER_OZ_IN
    assert units.parse("2 g*mm", "unbalance") == 2.0
    assert units.parse(7.85, "density") == 7.85
    assert units.text(50.8, "length") == "2.000 in"
    assert units.unit_of("angle") == "deg"
    assert UnitSystem() == METRIC


def test_a_unit_system_refuses_unknown_units():
    with pytest.raises(QuantityError, match="given the unit `stone`; a mass is in g, kg, oz or lb"):
        UnitSystem(mass="stone")


finite = st.floats(-1e6, 1e6, allow_nan=False)


@settings(max_examples=200)
@given(st.sampled_from([(kind, unit) for kind in KINDS for unit in FACTORS[kind]]), finite)
def test_a_number_written_with_any_unit_comes_back(kind_and_unit, value):
    kind, unit = kind_and_unit
    inside = parse_quantity(f"{value!r} {unit}", kind)
    assert inside / factor(unit, kind) == pytest.approx(value, rel=1e-13, abs=1e-300)
    assert parse_quantity(value, kind, default_unit=unit) == inside


@settings(max_examples=200)
@given(st.integers(0, 9), st.integers(0, 63), st.sampled_from(["in", '"', " inch"]), st.booleans())
def test_fractions_of_an_inch_are_exact(whole, top, unit, hyphen):
    joint = "-" if hyphen else " "
    text = f"{whole}{joint}{top}/64 {unit}" if whole else f"{top}/64 {unit}"
    assert parse_length_mm(text) == float(Fraction(254, 10) * (whole + Fraction(top, 64)))


@given(st.text(max_size=12), st.sampled_from(KINDS))
def test_any_text_is_read_or_refused_in_words(text, kind):
    try:
        value = parse_quantity(text, kind)
    except InputError as error:
        refused = error.message
    else:
        assert math.isfinite(value)
        return
    assert refused.startswith("given ")
