"""The sums behind a tolerance as they are shown: shares by the lever rule, and when their limits change them.  By hand.

Limits 0.3 and 0.7 between the places: Bloch & Geitner, Machinery Component Maintenance and Repair, ch. 6, p. 307; 0.3 and 1.3
with the centre of mass outside: ISO 21940-11, from memory.
"""

from __future__ import annotations

import pytest

from planner.errors import InputError
from planner.formula import Formula
from planner.rotor.grades import parse_grade_mm_per_s
from planner.rotor.tolerance import allocate
from planner.rotor.tolerance_work import allocation_work, residual_work


def shown(centre_of_mass_z_mm: float) -> list[str]:
    """What is shown for two bearings at 0 and 100 mm and 500 g*mm: name and value of a sum, or a sentence."""
    places = (0.0, 100.0)
    lines = allocation_work(
        allocate(places, centre_of_mass_z_mm=centre_of_mass_z_mm),
        names=("bearing 1", "bearing 2"),
        places_z_mm=places,
        centre_of_mass_z_mm=centre_of_mass_z_mm,
        total_gmm=500.0,
    )
    return [
        f"{each.name} {each.value.real:g}" if isinstance(each, Formula) else each.strip() for each in lines
    ]


@pytest.mark.parametrize(
    ("centre", "lines"),
    [
        # 40 from the first: it carries 60 %, both shares inside their limits
        (40.0, ["share of bearing 1 0.6", "limit at bearing 1 300", "share of bearing 2 0.4", "limit at bearing 2 200"]),
        # 20 from the first: 80 and 20 % become 70 and 30
        (
            20.0,
            [
                "share of bearing 1 0.8",
                "as an amount within 0.3..0.7: 0.7000",
                "limit at bearing 1 350",
                "share of bearing 2 0.2",
                "as an amount within 0.3..0.7: 0.3000",
                "limit at bearing 2 150",
            ],
        ),
        # overhung by 40: 1.4 and -0.4 of the total; a lever below nothing is an amount above nothing
        (
            -40.0,
            [
                "share of bearing 1 1.4",
                "as an amount within 0.3..1.3: 1.3000",
                "limit at bearing 1 650",
                "share of bearing 2 -0.4",
                "as an amount: 0.4000",
                "limit at bearing 2 200",
            ],
        ),
        # overhung by 10 at the other end: -0.1 becomes 0.3, 1.1 stays
        (
            110.0,
            [
                "share of bearing 1 -0.1",
                "as an amount within 0.3..1.3: 0.3000",
                "limit at bearing 1 150",
                "share of bearing 2 1.1",
                "limit at bearing 2 550",
            ],
        ),
    ],
)  # fmt: skip
def test_the_lever_rule_as_shown(centre: float, lines: list[str]) -> None:
    assert shown(centre) == lines


def test_the_residual_of_a_grade_as_shown() -> None:
    """G 6.3, 20 kg, 3000 rpm: omega 314.159 rad/s, 1000 * 6.3 * 20 / 314.159 = 401.07 g*mm."""
    omega, total = residual_work(6.3, mass_kg=20.0, speed_rpm=3000.0)
    assert omega.value == pytest.approx(314.159, abs=0.001)
    assert total.value == pytest.approx(401.07, abs=0.01)


@pytest.mark.parametrize(
    ("text", "hint"), [("G 6,3", "write a decimal point"), ("G six", "the standard grades are")]
)
def test_a_grade_with_a_decimal_comma_is_refused_with_the_way_to_write_it(text: str, hint: str) -> None:
    """Not read as G 63 or as G 6: ten times the tolerance, or a little less of it."""
    with pytest.raises(InputError) as caught:
        parse_grade_mm_per_s(text)
    assert (caught.value.hint or "").startswith(hint)
