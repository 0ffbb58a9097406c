"""``bobplan cut``: holes in formed rims, beside the radius, tilted, coming out; rims turned down, flats, bevels.

C01 and X04 are reference solids (``tests/reference/data/drilled_solids.json``: two solid kernels and mpmath); the moments of a
turned sector and of a flat are elementary and written out here.
"""

from __future__ import annotations

import math
import re

import pytest


def test_a_hole_that_runs_into_a_bevel(bobplan) -> None:
    """Reference C01: 2022.13879945 g*mm."""
    arguments = ["--outer-radius", "90", "--thickness", "25", "--rim", "bevelled width=4 slope=45", "--from-middle", "4.5",
                 "--diameter", "14", "--density", "7.85"]  # fmt: skip
    data = bobplan("cut", "rim", *arguments, "--depth", "20", "--json").json
    assert data["unbalance_gmm"] == pytest.approx(2022.13879945, rel=1e-9)
    back = bobplan("cut", "rim", *arguments, "--unbalance", "2022.13879945", "--json").json
    assert back["depth_shoulder_mm"] == pytest.approx(20.0, abs=1e-6)
    text = bobplan("cut", "rim", *arguments, "--depth", "20", "--show-work").out
    assert "bevelled rim" in text
    assert "by quadrature" in text


def test_a_hole_beside_the_radius_says_its_direction(bobplan) -> None:
    """Reference X04: 2043.02543121 g*mm, 2.15561222625 degrees."""
    data = bobplan("cut", "rim", "--outer-radius", "90", "--thickness", "30", "--beside", "3", "--diameter", "14",
                   "--depth", "20", "--density", "7.85", "--json").json  # fmt: skip
    assert data["unbalance_gmm"] == pytest.approx(2043.02543121, rel=1e-9)
    assert data["turned_deg"] == pytest.approx(2.15561222625, rel=1e-9)


def test_a_hole_that_comes_out_is_refused_with_the_place_or_reckoned(bobplan) -> None:
    plain = ["cut", "rim", "--outer-radius", "90", "--thickness", "25", "--diameter", "14", "--depth", "20"]
    ran = bobplan(*plain, "--from-middle", "9")
    assert ran.code == 2
    assert "comes out at the rear face, by 3.50 mm" in ran.err
    ran = bobplan(*plain, "--flank", "-5")
    assert ran.code == 2
    assert "comes out at the flank -5 degrees from it" in ran.err
    reckoned = bobplan(*plain, "--flank", "-5", "--allow-break-out", "--json").json
    whole = bobplan(*plain, "--json").json
    assert reckoned["unbalance_gmm"] < whole["unbalance_gmm"]
    assert reckoned["breaks_out"]
    assert any("comes out" in text for text in reckoned["warnings"])
    assert bobplan(*plain, "--flank", "5", "--tilt", "4", "--allow-break-out").code == 2


def test_a_rim_turned_down_over_a_sector_three_ways(bobplan) -> None:
    """M = 2/3 sin(sector/2) (R^3 - r^3) t."""
    body = ["cut", "turn", "--outer-radius", "88", "--thickness", "24", "--density", "7.85"]
    expected = 2.0 / 3.0 * math.sin(math.radians(30.0)) * (88.0**3 - 86.5**3) * 24.0 * 7.85 / 1000.0
    data = bobplan(*body, "--sector", "60", "--depth", "1.5", "--json").json
    assert data["unbalance_gmm"] == pytest.approx(expected, rel=1e-12)
    deep = bobplan(*body, "--sector", "60", "--unbalance", str(expected), "--json").json
    assert deep["off_mm"] == pytest.approx(1.5, abs=1e-9)
    wide = bobplan(*body, "--depth", "1.5", "--unbalance", str(expected), "--json").json
    assert wide["sector_deg"] == pytest.approx(60.0, abs=1e-9)
    text = bobplan(*body, "--sector", "60", "--depth", "1.5", "--show-work").out
    assert "2/3 * sin(30)" in text
    assert "caution: clamp the crankshaft" in text


def test_a_flat_both_ways(bobplan) -> None:
    """M = 2/3 (R^2 - q^2)^(3/2) t."""
    body = ["cut", "flat", "--outer-radius", "88", "--thickness", "24", "--density", "7.85"]
    expected = 2.0 / 3.0 * (88.0**2 - 84.0**2) ** 1.5 * 24.0 * 7.85 / 1000.0
    data = bobplan(*body, "--depth", "4", "--json").json
    assert data["unbalance_gmm"] == pytest.approx(expected, rel=1e-9)
    assert data["width_mm"] == pytest.approx(2.0 * math.sqrt(88.0**2 - 84.0**2))
    assert bobplan(*body, "--unbalance", str(expected), "--json").json["off_mm"] == pytest.approx(
        4.0, abs=1e-8
    )


def test_a_bevel_acts_near_its_face(bobplan) -> None:
    body = [
        "cut",
        "bevel",
        "--outer-radius",
        "88",
        "--thickness",
        "24",
        "--width",
        "4",
        "--sector",
        "90",
        "--json",
    ]
    front, rear = bobplan(*body).json, bobplan(*body, "--face", "rear").json
    assert front["unbalance_gmm"] == pytest.approx(rear["unbalance_gmm"])
    assert front["acts_from_middle_mm"] == pytest.approx(-rear["acts_from_middle_mm"])
    assert -12.0 < front["acts_from_middle_mm"] < -8.0


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["turn", "--outer-radius", "88", "--thickness", "24", "--sector", "60"], "two of --sector, --depth"),
        (["turn", "--outer-radius", "88", "--sector", "60", "--depth", "1"], "--thickness is missing"),
        (["turn", "--outer-radius", "88", "--thickness", "24", "--sector", "60", "--unbalance", "1e12"], "can't be reached"),
        (["flat", "--outer-radius", "88", "--thickness", "24"], "one of --depth and --unbalance"),
        (["bevel", "--outer-radius", "88", "--thickness", "24", "--width", "4"], "--sector is missing"),
        (["bevel", "--outer-radius", "88", "--thickness", "24", "--width", "4", "--sector", "9", "--face", "top"],
         "front or rear"),
        (["rim", "--outer-radius", "88", "--diameter", "14", "--depth", "20", "--tilt", "5"], "--thickness is missing"),
        (["rim", "--outer-radius", "88", "--thickness", "24", "--diameter", "14", "--depth", "20", "--tilt", "50"],
         "tilted by 50"),
    ],
)  # fmt: skip
def test_bad_input_is_refused_in_words(bobplan, arguments, words) -> None:
    ran = bobplan("cut", *arguments)
    assert ran.code == 2
    assert re.search(words, ran.err)
