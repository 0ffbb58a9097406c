"""`bobplan engine` as typed.  Published figures have their source beside them; all other data are invented."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Ran

Bobplan = Callable[..., Ran]

HEAD = """format = 1
[crankshaft]
bearing_1_z = 0
bearing_2_z = 900
service_speed_rpm = 2000
"""
TAIL = """
[[counterweights]]
name = "A"
z = 50
angle = 180
thickness = 24
outline = { shape = "fan", outer_radius = 88.0, half_angle = 58.0, inner_radius = 36.0 }
"""


#: By hand: on shared pins only banks of 720/cylinders degrees (or a multiple that the pins allow) fire evenly.
UNEVEN = ("V2, 60 degree banks", "V2, 90 degree banks", "V6, 90 degree banks, shared pins")


def a_job(
    folder: Path,
    throws: Sequence[tuple[float, float, list[str]]],
    *,
    engine: str = "",
    cylinders: str = "",
    parts: str = "",
    radius: float = 50.0,
) -> Path:
    """Write a job; a throw is (angle, z, cylinders)."""
    text = HEAD + (f"[engine]\n{engine}\n" if engine else "")
    for number, (angle, z, names) in enumerate(throws, start=1):
        listed = ", ".join(f'"{name}"' for name in names)
        text += f'[[throws]]\nname = "{number}"\nangle = {angle}\nz = {z}\nradius = {radius}\n'
        text += f"rods = {len(names)}\ncylinders = [{listed}]\n"
    path = folder / "job.toml"
    path.write_text(text + cylinders + parts + TAIL, encoding="utf-8")
    return path


def cylinder(name: str, throw: str, bank: float, more: str = "") -> str:
    return f'[[cylinders]]\nname = "{name}"\nthrow = "{throw}"\nbank_angle = {bank}\n{more}\n'


def largest(data: Any, state: str, quantity: str, order: int) -> float:
    found = data[state][quantity][str(order)]["largest"]
    assert isinstance(found, float)
    return found


@pytest.mark.parametrize(
    ("layout", "bare_force", "bare_couple", "half_force", "half_couple", "second_force", "second_couple"),
    [
        # Automotive Handbook (Bosch), table of free forces and moments (figures from memory): in-line engines, V6
        ("in-line 3", 0, math.sqrt(3), 0, math.sqrt(3) / 2, 0, math.sqrt(3)),
        ("in-line 4", 0, 0, 0, 0, 4, 0),
        ("in-line 5", 0, 0.449, 0, 0.2245, 0, 4.98),
        ("in-line 6", 0, 0, 0, 0, 0, 0),
        ("flat 4", 0, 0, 0, 0, 0, 2),
        ("V6, 90 degree banks, shared pins", 0, math.sqrt(3), 0, 0, 0, math.sqrt(6)),
        ("V6, 90 degree banks, pins split 30 degrees", 0, 2.121, 0, 0.4483, 0, 2.121),
        ("V6, 60 degree banks, pins split 60 degrees", 0, 1.5, 0, 0, 0, 1.5),
        ("V8, 90 degree banks, cross-plane", 0, math.sqrt(10), 0, 0, 0, 0),
        # Khurmi and Gupta, Theory of Machines, balancing of V engines (formulas from memory): 60 and 90 degrees
        ("V2, 60 degree banks", 1.5, 0, 0.5, 0, math.sqrt(3) / 2, 0),
        ("V2, 90 degree banks", 1, 0, 0, 0, math.sqrt(2), 0),
    ],
)
@pytest.mark.parametrize("rotation", ["cw", "ccw"])
def test_published_layouts(
    bobplan: Bobplan,
    layout: str,
    rotation: str,
    bare_force: float,
    bare_couple: float,
    half_force: float,
    half_couple: float,
    second_force: float,
    second_couple: float,
) -> None:
    data = bobplan("engine", "--layout", layout, "--rotation", rotation, "--json").json
    state = "rotating_balanced_only"
    assert largest(data, state, "force", 1) == pytest.approx(bare_force, abs=6e-4)
    assert largest(data, state, "couple", 1) == pytest.approx(bare_couple, abs=6e-4)
    assert largest(data, "with_bobs", "force", 1) == pytest.approx(half_force, abs=6e-4)
    assert largest(data, "with_bobs", "couple", 1) == pytest.approx(half_couple, abs=6e-4)
    second = data["second_coefficient"]  # the books' unit of the secondary is m r omega^2 A2 (or lambda)
    assert largest(data, "with_bobs", "force", 2) / second == pytest.approx(second_force, abs=3e-3)
    assert largest(data, "with_bobs", "couple", 2) / second == pytest.approx(second_couple, abs=3e-3)
    assert data["firing"]["even"] == (layout not in UNEVEN)


def test_second_coefficient_is_the_textbook_series(bobplan: Bobplan) -> None:
    data = bobplan("engine", "--layout", "single cylinder", "--ratio", "4", "--json").json
    lam = 0.25
    # expansion of the slider-crank's acceleration, in every textbook of machine dynamics
    assert data["second_coefficient"] == pytest.approx(lam + lam**3 / 4 + 15 * lam**5 / 128, abs=1e-5)
    assert data["fourth_coefficient"] == pytest.approx(-(lam**3 / 4 + 3 * lam**5 / 16), abs=1e-5)


def test_four_cranks_in_newton_metres(bobplan: Bobplan, tmp_path: Path) -> None:
    """Textbook problem (statement only, result by hand): cranks at 90 degrees in the order 1-4-2-3, 2 kg, r 50 mm.

    Rods 200 mm, 0.2 m apart, 2000 rpm: F1 = m r omega^2; forces balance, the primary couple is sqrt(2) F1 a.
    """
    throws = [(0, 100, ["1"]), (180, 300, ["2"]), (270, 500, ["3"]), (90, 700, ["4"])]
    cylinders = "".join(cylinder(str(k), str(k), 0, "rod_length = 200") for k in range(1, 5))
    job = a_job(tmp_path, throws, cylinders=cylinders, engine='rotation = "cw"')
    ran = bobplan("engine", job, "--reciprocating-mass", "2 kg", "--json")
    data = ran.json
    unit = 2.0 * 0.05 * (2 * math.pi * 2000 / 60) ** 2
    assert data["unit_force_n"] == pytest.approx(unit)
    assert data["unit_couple_nm"] == pytest.approx(unit * 0.2)
    bare = data["rotating_balanced_only"]
    assert bare["couple"]["1"]["largest_nm"] == pytest.approx(math.sqrt(2) * unit * 0.2, rel=1e-9)
    assert bare["couple"]["1"]["largest_nm"] == pytest.approx(1241, abs=1)
    assert bare["force"]["1"]["largest_n"] == pytest.approx(0, abs=1e-6)
    # the secondary couple 4 lambda F1 a = 877 N*m, A2 instead of lambda is 1.6 percent more
    assert bare["couple"]["2"]["largest_nm"] == pytest.approx(877, rel=0.02)


def test_the_one_plane_fraction_of_a_split_v6(bobplan: Bobplan) -> None:
    # (sqrt(3) - 1) / 2 = 36.6 percent, quoted for this engine (common practice); derived: (1 - tan 15)/2
    ran = bobplan("engine", "--layout", "V6, 90 degree banks, pins split 30 degrees", "--json")
    fractions = [each["fraction"] for each in ran.json["fractions"]["couple"]["one_plane"]]
    assert fractions == pytest.approx([(math.sqrt(3) - 1) / 2, 1 - (math.sqrt(3) - 1) / 2])
    assert ran.json["fractions"]["force"] is None


def test_weights_of_the_axes(bobplan: Bobplan) -> None:
    # a single cylinder: f = w_along / (w_along + w_across), the share that 2:1 gives is the old rule of two thirds
    ran = bobplan("engine", "--layout", "single cylinder", "--weights", "2:1", "--json")
    assert ran.json["fractions"]["force"]["weighted"] == pytest.approx(2 / 3)
    assert ran.json["fractions"]["force"]["least_rms"] == pytest.approx(0.5)


def test_clockwise_is_not_mirrored(bobplan: Bobplan, tmp_path: Path) -> None:
    """A 90 degree twin on one pin, cylinder 1 to the right as seen from the front (-45), cylinder 2 to the left.

    By hand: a pin that turns clockwise passes the left cylinder first and the right one 90 degrees later, so from
    1 to 2 it is 270 degrees and from 2 to 1 the 90 plus a turn; counter-clockwise it is the other way round.
    """
    cylinders = cylinder("1", "1", -45) + cylinder("2", "1", 45)
    for rotation, intervals in (("cw", [270, 450]), ("ccw", [450, 270])):
        engine = f'rotation = "{rotation}"\nfiring_order = ["1", "2"]'
        job = a_job(tmp_path, [(30, 100, ["1", "2"])], engine=engine, cylinders=cylinders)
        data = bobplan("engine", job, "--json").json
        assert data["firing"]["intervals_deg"] == pytest.approx(intervals)


def split_v6(sense: int) -> list[tuple[float, float, list[str]]]:
    """Pins of a 60 degree V6 with even firing: bank A leads by 30, counted in the direction of rotation."""
    throws: list[tuple[float, float, list[str]]] = []
    for pair, angle in enumerate((0, 240, 120)):
        z = 100.0 + 110.0 * pair
        throws.append(((sense * (angle - 30)) % 360, z, [str(2 * pair + 1)]))
        throws.append(((sense * (angle + 30)) % 360, z, [str(2 * pair + 2)]))
    return throws


@pytest.mark.parametrize(("rotation", "sense"), [("cw", -1), ("ccw", 1)])
def test_a_split_crankshaft_only_turns_one_way(
    bobplan: Bobplan, tmp_path: Path, rotation: str, sense: int
) -> None:
    engine = f'layout = "V6, 60 degree banks, pins split 60 degrees"\nrotation = "{rotation}"'
    job = a_job(tmp_path, split_v6(sense), engine=engine)
    ran = bobplan("engine", job, "--firing-order", "1-3-2-4-6-5", "--json")
    assert ran.code == 0
    assert ran.json["firing"]["even"]
    assert ran.json["with_bobs"]["couple"]["1"]["largest"] == pytest.approx(0.0, abs=1e-9)
    job = a_job(tmp_path, split_v6(-sense), engine=engine)
    refused = bobplan("engine", job)
    assert refused.code == 2
    assert "the other way" in refused.err


def test_mirrored_throws_with_shared_pins_are_questioned(bobplan: Bobplan, tmp_path: Path) -> None:
    throws = [(a, 95 + 110 * k, [str(2 * k + 1), str(2 * k + 2)]) for k, a in enumerate((0, 90, 270, 180))]
    engine = 'layout = "V8, 90 degree banks, cross-plane"\nrotation = "cw"'
    job = a_job(tmp_path, throws, engine=engine)
    ran = bobplan("engine", job)
    assert ran.code == 0
    assert "WARNING: the throws of the file" in ran.out
    assert "turning `ccw`" in ran.out


def test_a_firing_order_that_does_not_fit(bobplan: Bobplan) -> None:
    ran = bobplan(
        "engine", "--layout", "V8, 90 degree banks, cross-plane", "--firing-order", "1-2-3-4-5-6-7-8"
    )
    assert ran.code == 1
    assert "FIRING ORDER: NO" in ran.out
    ran = bobplan("engine", "--layout", "in-line 3", "--firing-order", "1-3-2", "--two-stroke")
    assert ran.code == 1
    assert "it would fit an engine that turns ccw (evenly)" in ran.out


def test_whether_bobs_matter(bobplan: Bobplan, tmp_path: Path) -> None:
    assert bobplan("engine", "--layout", "in-line 4", "--json").json["bobs_matter"] == "no"
    assert bobplan("engine", "--layout", "in-line 3", "--json").json["bobs_matter"] == "needed"
    # measured with a tape: one throw 0.4 mm off
    throws = [(0, 100, ["1"]), (180, 190.4, ["2"]), (180, 280, ["3"]), (0, 370, ["4"])]
    job = a_job(tmp_path, throws, engine='layout = "in-line 4"')
    ran = bobplan("engine", job)
    assert "BOBS: hardly matter" in ran.out
    assert "it makes no difference" in ran.out


def test_the_cost_of_a_fraction(bobplan: Bobplan, example: Callable[[str], Path]) -> None:
    job = example("cross_plane_v8")
    ran = bobplan("engine", job, "--fraction", "0.52", "--firing-order", "1-5-4-2-6-3-7-8", "--json")
    half, more = ran.json["costs"]
    assert (half["fraction"], more["fraction"]) == (0.5, 0.52)
    # by hand: 2 percent of the reciprocating mass of two cylinders, 752.8 g each (mean of the example's parts)
    for name, mass in more["bobs_g"].items():
        assert mass - half["bobs_g"][name] == pytest.approx(0.02 * 2 * 752.6, abs=0.1)
    # the crankshaft alone: sqrt(10) times spacing, per gram and radius, over the distance of the planes
    change = 0.02 * 2 * 752.6 * 44.2 * math.sqrt(10) * 110 / (468 - 52)
    assert more["bob_shift"][0]["amount_gmm"] == pytest.approx(change, rel=1e-3)


def test_text_says_it_all(bobplan: Bobplan) -> None:
    ran = bobplan(
        *(
            "engine",
            "--layout",
            "V6, 90 degree banks, pins split 30 degrees",
            "--speed",
            "6000",
            "--weights",
            "2:1",
        ),
        *("--reciprocating-mass", "600", "--radius", "43", "--spacing", "110", "--show-work"),
    )
    assert ran.code == 0
    unit = 0.6 * 0.043 * (2 * math.pi * 100) ** 2
    assert f"{unit:.0f} N at 6000 rpm" in ran.out
    for words in (
        "with",
        "against",
        "secondary",
        "4th order",
        "least RMS",
        "primary in one plane only: 0.366",
    ):
        assert words in ran.out
    assert "axes weighted 2:1" in ran.out
    # the working's sums: sqrt(3) cos 15 and sqrt(3) cos 105, in units of the force of one cylinder
    assert re.search(rf"couple with: .*amount {math.sqrt(3) * math.cos(math.radians(15)):.4f}", ran.out)
    assert re.search(rf"couple against: .*amount {-math.sqrt(3) * math.cos(math.radians(105)):.4f}", ran.out)


def test_the_catalogue(bobplan: Bobplan) -> None:
    ran = bobplan("engine", "--list", "--json")
    names = [row["name"] for row in ran.json["layouts"]]
    assert len(names) == len(set(names)) >= 29
    text = bobplan("engine", "--list")
    assert all(name in text.out for name in names)


@pytest.mark.parametrize("ending", ["png", "svg"])
def test_plot(bobplan: Bobplan, tmp_path: Path, ending: str) -> None:
    ran = bobplan("engine", "--layout", "V2, 45 degree banks", "--plot", f"shaking.{ending}")
    assert ran.code == 0
    assert (tmp_path / f"shaking.{ending}").stat().st_size > 10_000


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--layout", "V9"], "there is no layout `V9`"),
        (["--layout", "V8"], "did you mean `V8"),
        (["--layout", "in-line 4", "--rotation", "left"], "rotation `left`"),
        (["--layout", "in-line 4", "--firing-order", "1-2-3"], "each of the 4 cylinders once"),
        (["--layout", "in-line 4", "--firing-order", "1-2-3-9"], "cylinder `9`"),
        (["--layout", "in-line 4", "--firing-order", "-"], "--firing-order"),
        (["--layout", "in-line 4", "--fraction", "50"], "fraction 50"),
        (["--layout", "in-line 4", "--weights", "2"], "--weights"),
        (["--layout", "in-line 3", "--weights", "0:0"], "weights"),
        (["--layout", "in-line 3", "--weights", "-1:2"], "weights"),
        (["--layout", "in-line 4", "--ratio", "0.5"], "--ratio"),
        (["--layout", "in-line 4", "--ratio", "three"], "--ratio"),
        (["--layout", "in-line 4", "--ratio", "3", "--rod-length", "150"], "both --rod-length and --ratio"),
        (["--layout", "in-line 4", "--rod-length", "150"], "--rod-length needs --radius"),
        (["--layout", "in-line 4", "--rod-length", "40", "--radius", "45"], "rod length"),
        (["--layout", "V2, 90 degree banks", "--rods-apart", "20"], "--rods-apart needs --spacing"),
        (["--layout", "in-line 4", "--speed", "0"], "--speed"),
        (["--layout", "in-line 4", "--speed", "nan"], "--speed"),
        (["--layout", "in-line 4", "--reciprocating-mass", "5 mm"], "--reciprocating-mass"),
        (["--layout", "in-line 4", "--radius", "-3"], "--radius"),
        (["--layout", "in-line 4", "--plot", "picture.bmp"], ".png"),
        (["nowhere.toml"], "nowhere.toml"),
        ([], "no job file"),
    ],
)
def test_bad_input(bobplan: Bobplan, arguments: list[str], words: str) -> None:
    ran = bobplan("engine", *arguments)
    assert ran.code == 2, ran.out + ran.err
    assert words in ran.err
    assert "Traceback" not in ran.err


def test_a_job_that_can_not_be_an_engine(bobplan: Bobplan, tmp_path: Path) -> None:
    throws = [(0, 100, ["1", "2"]), (180, 200, ["3", "4"])]
    ran = bobplan("engine", a_job(tmp_path, throws))
    assert ran.code == 2
    assert "neither a layout nor its cylinders" in ran.err
    ran = bobplan("engine", a_job(tmp_path, throws, cylinders=cylinder("1", "1", 0)))
    assert ran.code == 2
    assert "throw `1` names 1, 2, but [[cylinders]] hang 1 on it" in ran.err
    ran = bobplan("engine", a_job(tmp_path, throws, engine='layout = "in-line 4"'))
    assert ran.code == 2
    assert "has 4 throws" in ran.err
    job = a_job(tmp_path, throws, engine='layout = "V4, 90 degree banks, pins at 180 degrees"')
    assert bobplan("engine", job).code == 0
    assert bobplan("engine", job, "--radius", "40").code == 2
    heavy = a_job(
        tmp_path,
        throws,
        engine='layout = "V4, 90 degree banks, pins at 180 degrees"',
        parts="[parts]\nrod_big_end = 400\n",
    )
    ran = bobplan("engine", heavy)
    assert ran.code == 2
    assert "no reciprocating mass" in ran.err


def test_a_whole_turn_between_firings(bobplan: Bobplan) -> None:
    """Intervals are travel, not directions: a single fires every 360 or 720 degrees, never every 0."""
    ran = bobplan("engine", "--layout", "single cylinder", "--two-stroke")
    assert "even, every 360° of crank travel" in ran.out
    assert "even, every 720° of crank travel" in bobplan("engine", "--layout", "single cylinder").out
    ran = bobplan("engine", "--layout", "in-line 4", "--firing-order", "1-2-3-4")
    steps = re.search(r"from one to the next: (.*)", ran.out)
    assert steps is not None
    assert sum(float(each) for each in steps[1].split(", ")) == 720


def test_no_bob_where_rotating_masses_are_not_known(bobplan: Bobplan, example: Callable[[str], Path]) -> None:
    """A reciprocating mass typed for a job without [parts] makes no bob: big ends and shells are not known."""
    arguments = ("--reciprocating-mass", "600 g", "--fraction", "0.52")
    ran = bobplan("engine", example("external_balance_v8"), *arguments, "--json")
    assert [each["bobs_g"] for each in ran.json["costs"]] == [None, None]
    # by hand: 2 percent of 1200 g at 2 in on every throw, sqrt(10) x 4.34 in over 16.4 in between the planes
    shift = 0.02 * 1200 * 2 * 25.4 * math.sqrt(10) * 4.34 / 16.4
    assert ran.json["costs"][1]["bob_shift"][0]["amount_gmm"] == pytest.approx(shift, rel=1e-3)
