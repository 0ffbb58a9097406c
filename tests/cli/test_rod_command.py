"""`bobplan rod` as typed; figures from textbooks have their source beside them, the others are invented."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from tests.cli.conftest import Ran

Bobplan = Callable[..., Ran]


def test_two_ends_against_the_whole_rod(bobplan: Bobplan) -> None:
    ran = bobplan("rod", "--small-end", "173.6", "--big-end", "446.3", "--whole", "620", "--show-work")
    assert ran.code == 0
    assert "difference -0.10 g: AGREES" in ran.out
    assert "173.6 + 446.3 - 620 = -0.1 g" in ran.out
    ran = bobplan("rod", "--small-end", "173", "--big-end", "444", "--whole", "620")
    assert ran.code == 1
    assert "DOES NOT AGREE" in ran.out
    assert "3.0 g less" in ran.out


def test_split_by_centre_of_gravity(bobplan: Bobplan) -> None:
    """Textbook problem (Theory of Machines): 220 mm, 2 kg, centre of gravity 150 mm from the small end.

    Its two masses at the centres are 0.6364 kg at the small end and 1.3636 kg at the big end.
    """
    ran = bobplan("rod", "--whole", "2 kg", "--length", "220", "--centre-of-gravity", "70", "--json")
    assert ran.code == 0
    assert ran.json["small_end_g"] == pytest.approx(636.4, abs=0.05)
    assert ran.json["big_end_g"] == pytest.approx(1363.6, abs=0.05)
    assert ran.json["per"] == "rod"


def test_moment_of_inertia_of_the_two_masses(bobplan: Bobplan) -> None:
    """Textbook problem, statement read: 381 mm, 4.738 kg, I 0.115 kg m2, centre of gravity 0.25 l from the crankpin.

    By hand: m l_b l_s = 4.738 * 0.09525 * 0.28575 = 0.1290 kg m2, 12.1 percent too much.
    """
    ran = bobplan(
        *("rod", "--whole", "4.738 kg", "--length", "381", "--centre-of-gravity", "95.25"),
        *("--inertia", "0.115", "--json"),
    )
    assert ran.json["inertia"]["two_masses_kgm2"] == pytest.approx(4.738 * 0.09525 * 0.28575, rel=1e-9)
    assert ran.json["inertia"]["excess"] == pytest.approx(0.121, abs=5e-4)


def test_what_spoils_a_weighing(bobplan: Bobplan) -> None:
    """620 g, 150 mm, 2 degrees, centre of gravity 2 mm off the line, friction 0.1, contact 0.5 mm off (by hand)."""
    ran = bobplan(
        *("rod", "--small-end", "173.6", "--big-end", "446.4", "--whole", "620", "--length", "150"),
        *(
            "--tilt",
            "2",
            "--off-line",
            "2",
            "--friction",
            "0.1",
            "--contact-off",
            "0.5",
            "--json",
            "--show-work",
        ),
    )
    assert ran.json["centre_of_gravity_mm"] == pytest.approx(42.0)
    found = {each["cause"]: (each["small_end_g"], each["big_end_g"]) for each in ran.json["errors"]}
    slope = math.tan(math.radians(2))
    assert found["tilt"] == pytest.approx((620 * 2 / 150 * slope,) * 2)
    assert found["friction"] == pytest.approx((0.1 * 173.6 * slope,) * 2)
    assert found["contact"] == pytest.approx((-173.6 * 0.5 / 150.5, -446.4 * 0.5 / 150.5))
    assert ran.json["working"]


def test_one_end_and_the_whole(bobplan: Bobplan) -> None:
    ran = bobplan("rod", "--big-end", "446.4", "--whole", "620", "--length", "150", "--show-work")
    assert ran.code == 0
    assert "small end 173.60 g" in ran.out
    assert "nothing checks it" in ran.out
    assert "42.00 mm" in ran.out
    assert "620 - 446.4 = 173.6 g" in ran.out


def test_units(bobplan: Bobplan) -> None:
    ran = bobplan("rod", "--whole", "1 lb", "--length", "6 in", "--centre-of-gravity", "1.5 in", "--json")
    assert ran.json["small_end_g"] == pytest.approx(453.59237 / 4)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "both ends"),
        (["--small-end", "100"], "both ends"),
        (["--whole", "620"], "does not say how it splits"),
        (["--whole", "620", "--centre-of-gravity", "42"], "does not say how it splits"),
        (["--whole", "620", "--length", "150", "--centre-of-gravity", "160"], "160 mm"),
        (["--whole", "620", "--length", "0", "--centre-of-gravity", "42"], "--length"),
        (["--whole", "-620", "--small-end", "100"], "--whole"),
        (["--whole", "620", "--small-end", "900"], "can't weigh 900 g"),
        (["--whole", "620", "--small-end", "9 mm"], "--small-end"),
        (["--whole", "620", "--small-end", "nan"], "--small-end"),
        (["--small-end", "100", "--big-end", "400", "--tilt", "2"], "--length"),
        (["--small-end", "100", "--big-end", "400", "--length", "150", "--tilt", "steep"], "--tilt"),
        (["--small-end", "100", "--big-end", "400", "--length", "150", "--tilt", "80"], "tilt 80"),
        (["--small-end", "100", "--big-end", "400", "--length", "150", "--friction", "-1"], "friction"),
        (["--small-end", "100", "--big-end", "400", "--length", "150", "--contact-off", "90"], "contact 90"),
        (
            ["--small-end", "100", "--big-end", "400", "--length", "150", "--inertia", "0"],
            "moment of inertia",
        ),
        (["--small-end", "100", "--big-end", "400", "--whole", "500", "--scale", "0"], "--scale"),
    ],
)
def test_bad_input(bobplan: Bobplan, arguments: list[str], words: str) -> None:
    ran = bobplan("rod", *arguments)
    assert ran.code == 2, ran.out + ran.err
    assert words in ran.err
    assert "Traceback" not in ran.err
