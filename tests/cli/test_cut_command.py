"""``bobplan cut`` as typed: one JSON object, aligned lines, sums that come out, and clear refusals.

Run through the whole program's front door, so that exit codes and ``hint:`` lines are those a user gets.
"""

from __future__ import annotations

import json
import math
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from planner.cli.main import run

DATA = Path(__file__).parents[1] / "reference" / "data" / "drilled_solids.json"
CASES = {case["id"]: case for case in json.loads(DATA.read_text(encoding="utf-8"))["cases"]}
RIM = ["rim", "--outer-radius", "90 mm", "--diameter", "14"]
FACE = ["face", "--radius", "72", "--diameter", "14"]
SLUG = ["slug", "--radius", "72", "--diameter", "20"]


class Ran:
    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err

    @property
    def data(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.out)
        return found


@pytest.fixture
def bobplan_cut(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch):
    def typed(*arguments: str) -> Ran:
        monkeypatch.setattr(sys, "argv", ["bobplan", "cut", *arguments])
        with pytest.raises(SystemExit) as end:
            run()
        captured = capsys.readouterr()
        assert isinstance(end.value.code, int)
        return Ran(end.value.code, captured.out, captured.err)

    return typed


def test_rim_json(bobplan_cut) -> None:
    """Reference case R01 of the solids (two solid kernels), exactly the line that the guide shows."""
    ran = bobplan_cut(*RIM, "--depth", "20", "--point-angle", "118", "--density", "7.85", "--json")
    assert ran.code == 0
    assert ran.err == ""
    case = CASES["R01"]
    assert ran.data["volume_mm3"] == pytest.approx(case["volume_mm3"], rel=1e-10)
    assert ran.data["centroid_radius_mm"] == pytest.approx(case["centroid_radius_mm"], rel=1e-10)
    assert ran.data["unbalance_gmm"] == pytest.approx(case["moment_g_mm"], rel=1e-10)
    assert ran.data["mass_g"] == pytest.approx(case["volume_mm3"] * 7.85e-3, rel=1e-10)
    assert ran.data["depth_shoulder_mm"] == 20.0
    assert ran.data["depth_tip_mm"] == pytest.approx(20.0 + case["cone_height_mm"], rel=1e-10)
    assert ran.data["cautions"]


@pytest.mark.parametrize("name", ["R01", "R02", "R03", "R04", "X02", "X03"])
def test_rim_finds_the_depth(bobplan_cut, name: str) -> None:
    case, inputs = CASES[name], CASES[name]["inputs"]
    ran = bobplan_cut(
        "rim",
        "--outer-radius",
        str(inputs["R_mm"]),
        "--diameter",
        str(inputs["d_mm"]),
        "--unbalance",
        f"{case['moment_g_mm']} g*mm",
        "--point-angle",
        str(inputs["point_deg"]),
        "--density",
        str(inputs["rho_g_cm3"]),
        "--json",
    )
    assert ran.code == 0
    assert ran.data["depth_shoulder_mm"] == pytest.approx(inputs["depth_mm"], abs=1e-7)
    assert ran.data["unbalance_gmm"] == pytest.approx(case["moment_g_mm"], rel=1e-10)


def test_depth_to_tip_is_counted_from_the_tip(bobplan_cut) -> None:
    shoulder = bobplan_cut(*RIM, "--depth", "20", "--json").data
    tip = bobplan_cut(*RIM, "--depth", str(shoulder["depth_tip_mm"]), "--depth-to", "tip", "--json").data
    assert tip["unbalance_gmm"] == pytest.approx(shoulder["unbalance_gmm"], rel=1e-10)
    assert tip["depth_shoulder_mm"] == pytest.approx(20.0, abs=1e-9)
    asked = bobplan_cut(*RIM, "--unbalance", "1000", "--depth-to", "tip")
    assert re.search(r"depth to tip +\S+ mm +<- the stop", asked.out)
    assert "depth to shoulder" in asked.out


def test_a_bare_touch_of_the_tip(bobplan_cut) -> None:
    ran = bobplan_cut(*RIM, "--depth", "3", "--depth-to", "tip")
    assert ran.code == 0
    assert "note: only the drill's point enters the metal" in ran.out


def test_a_shallow_hole_says_so(bobplan_cut) -> None:
    ran = bobplan_cut("rim", "--outer-radius", "70", "--diameter", "22", "--depth", "0.5")
    assert "505.8 g*mm" in ran.out  # reference case X02
    assert "so shallow that the full diameter is not yet all around in the metal" in ran.out


def test_inches_in_inches_out_with_the_nearest_64th(bobplan_cut) -> None:
    ran = bobplan_cut(
        "rim", "--outer-radius", "3.48 in", "--diameter", "53/64 in", "--unbalance", "2.5 oz-in"
    )
    assert ran.code == 0
    assert ran.out.startswith("rim hole: 53/64 in drill, 118 degree point, rim at 3.480 in")
    assert re.search(r"depth to shoulder +0\.232 in +nearest 64th: 15/64 in +\(5\.89 mm\)", ran.out)
    assert "2.500 oz*in" in ran.out
    same = bobplan_cut(
        "rim", "--outer-radius", "88.392", "--diameter", "21.034375", "--unbalance", "1800.1947184375"
    )
    assert "64th" not in same.out
    assert "5.89 mm" in same.out


def test_material_by_name(bobplan_cut) -> None:
    iron = bobplan_cut(*RIM, "--depth", "20", "--material", "ductile iron", "--json").data
    assert iron["density_g_per_cm3"] == 7.15
    assumed = bobplan_cut(*RIM, "--depth", "20")
    assert "forged steel, 7.85 g/cm3 (assumed)" in assumed.out


def test_cautions_stand_under_every_cut(bobplan_cut) -> None:
    for arguments in ([*RIM, "--depth", "9"], [*FACE, "--depth", "9"], [*SLUG, "--length", "9"]):
        out = " ".join(bobplan_cut(*arguments).out.split())
        assert "caution: clamp the crankshaft, guard closed" in out
        assert "a qualified machinist's judgement stand above these numbers" in out


@pytest.mark.parametrize("name", ["A01", "A02"])
def test_face_through_and_out(bobplan_cut, name: str) -> None:
    case, inputs = CASES[name], CASES[name]["inputs"]
    place = ["face", "--radius", str(inputs["hole_radius_position_mm"]), "--diameter", str(inputs["d_mm"])]
    through = ["--through", "--thickness", str(inputs["thickness_mm"]), "--outer-radius", str(inputs["R_mm"])]
    ran = bobplan_cut(*place, *through, "--json")
    assert ran.code == 0
    assert ran.data["unbalance_gmm"] == pytest.approx(case["moment_g_mm"], rel=1e-10)
    assert ran.data["volume_mm3"] == pytest.approx(case["volume_mm3"], rel=1e-10)
    assert ran.data["centroid_radius_mm"] == pytest.approx(case["centroid_radius_mm"], rel=1e-10)
    assert ran.data["breaks_out"] is case["breaks_out"]
    assert ran.data["depth_shoulder_mm"] is None
    assert ("breaks out through the rim" in " ".join(ran.data["warnings"])) is case["breaks_out"]


def test_face_blind_both_ways(bobplan_cut) -> None:
    blind = bobplan_cut(*FACE, "--depth", "15", "--thickness", "25", "--json").data
    assert blind["unbalance_gmm"] == pytest.approx(blind["mass_g"] * 72.0, rel=1e-12)
    back = bobplan_cut(*FACE, "--unbalance", str(blind["unbalance_gmm"]), "--json").data
    assert back["depth_shoulder_mm"] == pytest.approx(15.0, abs=1e-9)
    pierced = bobplan_cut(*FACE, "--depth", "23", "--thickness", "25", "--json").data
    assert pierced["warnings"] == ["the drill's point comes out of the far face"]


def test_slug_net(bobplan_cut) -> None:
    """Reference case S04."""
    case = CASES["S04"]
    ran = bobplan_cut(*SLUG, "--length", "25", "--density", "7.85", "--slug-density", "17", "--json")
    assert ran.code == 0
    assert ran.data["unbalance_gmm"] == pytest.approx(case["moment_g_mm"], rel=1e-10)
    assert ran.data["removed_g"] == pytest.approx(case["volume_mm3"] * 7.85e-3, rel=1e-10)
    assert ran.data["slug_g"] == pytest.approx(case["volume_mm3"] * 17e-3, rel=1e-10)
    assert ran.data["net_g"] == pytest.approx(ran.data["slug_g"] - ran.data["removed_g"], rel=1e-12)
    back = bobplan_cut(
        *SLUG, "--unbalance", str(case["moment_g_mm"]), "--density", "7.85", "--slug-density", "17", "--json"
    )
    assert back.data["length_mm"] == pytest.approx(25.0, abs=1e-9)


def test_radial_slug_is_shown_with_a_warning(bobplan_cut) -> None:
    """Reference case S01."""
    case = CASES["S01"]
    ran = bobplan_cut(
        *["slug", "--radial", "--outer-radius", "90", "--diameter", "14", "--depth", "30", "--length", "25"],
        *["--density", "7.85", "--slug-density", "17", "--json"],
    )
    assert ran.data["unbalance_gmm"] == pytest.approx(case["moment_g_mm"], rel=1e-9)
    assert "friction alone holds it" in ran.data["warnings"][0]
    assert "never planned" in ran.data["warnings"][0]


def test_slug_in_a_thicker_counterweight_sits_in_a_blind_bore(bobplan_cut) -> None:
    blind = bobplan_cut(*SLUG, "--length", "15", "--thickness", "25", "--json").data
    said = bobplan_cut(*SLUG, "--length", "15", "--blind", "--json").data
    whole = bobplan_cut(*SLUG, "--length", "15", "--json").data
    fill = bobplan_cut(*SLUG, "--length", "15", "--existing", "--json").data
    assert (blind["bore"], said["bore"], whole["bore"], fill["bore"]) == (
        "blind",
        "blind",
        "through",
        "existing",
    )
    assert blind["unbalance_gmm"] == pytest.approx(said["unbalance_gmm"], rel=1e-12)
    assert blind["unbalance_gmm"] < whole["unbalance_gmm"] < fill["unbalance_gmm"]
    assert fill["removed_g"] == 0.0
    assert fill["cut"] == "fill"
    for kind in ([], ["--blind"], ["--existing"], ["--thickness", "40"]):
        back = bobplan_cut(*SLUG, *kind, "--unbalance", "2000", "--json").data
        assert back["unbalance_gmm"] == pytest.approx(2000.0, rel=1e-9)


def test_slug_class_and_default(bobplan_cut) -> None:
    named = bobplan_cut(*SLUG, "--length", "25", "--slug-class", "ASTM B777 class 3", "--json").data
    assert named["slug_density_g_per_cm3"] == 18.05
    assumed = bobplan_cut(*SLUG, "--length", "25", "--json").data
    assert assumed["slug_density_g_per_cm3"] == 17.5
    assert "ASTM B777 class 2" in assumed["notes"][0]


def test_retention(bobplan_cut) -> None:
    arguments = [*SLUG, "--length", "25", "--speed", "7000", "--outer-radius", "90"]
    force = bobplan_cut(*arguments, "--json").data["centrifugal_force_n"]
    assert force == pytest.approx(
        17.5e-6 * math.pi * 100 * 25 * 0.072 * (2 * math.pi * 7000 / 60) ** 2, rel=1e-12
    )
    tight = bobplan_cut(*arguments, "--fit", "0.04", "--json").data
    assert tight["retention"]["safety_factor"] > 2.0
    assert tight["retention"]["boss_diameter_mm"] == 36.0
    # so much fit in a ring of 36 mm: it holds, but the ring may yield
    ligament, release = tight["warnings"]
    assert "the thinnest metal around the slug (8.0 mm)" in ligament
    assert (
        release
        == "an estimate, not a release for use: the fit and its safety are a qualified machinist's judgement"
    )
    weak = bobplan_cut(*arguments, "--fit", "0.02")
    assert re.search(r"warning: safety factor \d\.\d\d is below 2", weak.out)
    cold = bobplan_cut(
        *arguments, "--fit", "0.02", "--temperature-rise", "0", "--friction", "0.06", "--json"
    ).data
    assert cold["retention"]["hold_hot_n"] == cold["retention"]["hold_cold_n"]
    iron = bobplan_cut(*arguments, "--fit", "0.02", "--density", "7.2", "--json").data
    assert "elastic figures of nodular iron taken for the counterweight" in iron["notes"]


WORK = [
    [*RIM, "--depth", "20"],
    [*RIM, "--unbalance", "1500"],
    ["rim", "--outer-radius", "3.48 in", "--diameter", "53/64 in", "--unbalance", "2.5 oz-in"],
    ["rim", "--outer-radius", "90", "--diameter", "16", "--depth", "22", "--point-angle", "180"],
    [*FACE, "--depth", "15"],
    [*FACE, "--unbalance", "900"],
    [*FACE, "--through", "--thickness", "25"],
    ["face", "--radius", "86", "--diameter", "14", "--through", "--thickness", "25", "--outer-radius", "90"],
    [*SLUG, "--length", "25"],
    [*SLUG, "--unbalance", "2000", "--thickness", "30"],
    [*SLUG, "--unbalance", "2000", "--existing"],
    [*SLUG, "--length", "25", "--speed", "7000", "--fit", "0.04", "--outer-radius", "90"],
    ["slug", "--radial", "--outer-radius", "90", "--diameter", "14", "--depth", "30", "--length", "25"],
]


@pytest.mark.parametrize("arguments", WORK, ids=" ".join)
def test_the_sums_shown_come_out(bobplan_cut, arguments: list[str]) -> None:
    """Every ``= numbers = result`` line, put into a calculator, gives the result shown to five digits."""
    lines = bobplan_cut(*arguments, "--show-work", "--json").data["work"]
    sums = [line for line in lines if line.lstrip().startswith("=") and line.count("=") == 2]
    assert len(sums) >= 5
    calculator = {
        "pi": math.pi,
        "sqrt": math.sqrt,
        "acos": math.acos,
        "sin": math.sin,
        "cos": math.cos,
        "tan": lambda degrees: math.tan(math.radians(degrees)),
    }
    for line in sums:
        _, formula, result = line.split("=")
        value = eval(
            formula.replace("^", "**"), {"__builtins__": {}}, calculator
        )  # our own text, not a user's
        shown = float(result.split()[0])
        assert value == pytest.approx(shown, rel=2e-5, abs=1e-9), line


@pytest.mark.parametrize("arguments", WORK, ids=" ".join)
def test_the_sums_end_at_the_answer(bobplan_cut, arguments: list[str]) -> None:
    data = bobplan_cut(*arguments, "--show-work", "--json").data
    text = "\n".join(data["work"])
    assert f"{data['unbalance_gmm']:.6g} g*mm" in text
    assert f"{data['net_g'] if 'net_g' in data else data['mass_g']:.6g} g" in text


def test_a_shallow_hole_admits_that_no_calculator_will_do(bobplan_cut) -> None:
    work = bobplan_cut("rim", "--outer-radius", "70", "--diameter", "22", "--depth", "0.5", "--show-work").out
    assert "no calculator formula, integrated column by column" in work


REFUSALS = [
    ([*RIM], "neither --depth nor --unbalance is given"),
    ([*RIM, "--depth", "9", "--unbalance", "900"], "both --depth and --unbalance are given"),
    ([*RIM, "--depth", "nan"], "--depth: given `nan`"),
    ([*RIM, "--depth", "-3"], "--depth: given `-3`"),
    ([*RIM, "--depth", "0"], "--depth: given `0`"),
    ([*RIM, "--depth", "deep"], "--depth: given `deep`"),
    ([*RIM, "--depth", "20 g"], "--depth: given `20 g`"),
    ([*RIM, "--depth", "95"], "beyond the shaft axis at 90 mm"),
    (
        [*RIM, "--depth", "9", "--depth-to", "bottom"],
        "--depth-to: given `bottom`; allowed are `shoulder` and `tip`",
    ),
    ([*RIM, "--depth", "9", "--point-angle", "200"], "point angle is 200 degrees, allowed are 10 to 180"),
    ([*RIM, "--depth", "9", "--density", "0"], "--density: given `0`"),
    (
        [*RIM, "--depth", "9", "--density", "7", "--material", "steel"],
        "both --density and --material are given",
    ),
    ([*RIM, "--depth", "9", "--material", "cheese"], "material `cheese` is not known"),
    ([*RIM, "--unbalance", "-1"], "--unbalance: given `-1`"),
    ([*RIM, "--unbalance", "inf"], "--unbalance: given `inf`"),
    (
        [*RIM, "--unbalance", "10000"],
        "--unbalance: 10000.0 g*mm (13.887 oz*in) can't be reached with one 14 mm rim hole; the greatest is "
        "4881.3 g*mm (6.779 oz*in) at depth 85.79 mm to the shoulder",
    ),
    (["rim", "--diameter", "14", "--depth", "9"], "--outer-radius is missing"),
    (["rim", "--outer-radius", "90", "--depth", "9"], "--diameter is missing"),
    (["rim", "--outer-radius", "0", "--diameter", "14", "--depth", "9"], "--outer-radius: given `0`"),
    ([*FACE], "neither --depth nor --unbalance is given"),
    ([*FACE, "--through"], "--through needs --thickness"),
    ([*FACE, "--through", "--depth", "9"], "both --through and --depth are given"),
    ([*FACE, "--through", "--unbalance", "9"], "both --through and --unbalance are given"),
    (
        [*FACE, "--depth", "30", "--thickness", "25"],
        "30 mm to the shoulder is more than the thickness, 25 mm",
    ),
    (
        [*FACE, "--unbalance", "5000", "--thickness", "25"],
        "the greatest is 2175.1 g*mm (3.021 oz*in) at depth 25 mm",
    ),
    (["face", "--radius", "5", "--diameter", "14", "--depth", "9"], "reaches the shaft axis"),
    ([*SLUG], "neither --length nor --unbalance is given"),
    (
        [*SLUG, "--length", "30", "--thickness", "25"],
        "a slug 30 mm long does not fit a counterweight 25 mm thick",
    ),
    ([*SLUG, "--unbalance", "9000", "--thickness", "25"], "the greatest is 5456.9 g*mm at length 25 mm"),
    ([*SLUG, "--length", "9", "--outer-radius", "80"], "the slug's outer edge is at 82 mm, the rim at 80 mm"),
    (
        [*SLUG, "--length", "9", "--blind", "--existing"],
        "--blind and --existing are given, allowed is one of them",
    ),
    ([*SLUG, "--length", "9", "--depth", "9"], "--depth belongs to --radial"),
    (
        [*SLUG, "--length", "9", "--radial"],
        "a radial slug needs --outer-radius, --diameter, --depth and --length",
    ),
    (
        [*SLUG, "--length", "9", "--slug-density", "17", "--slug-class", "class 2"],
        "both --slug-density and --slug-class",
    ),
    ([*SLUG, "--length", "9", "--slug-class", "class 9"], "slug class `class 9` is not known"),
    ([*SLUG, "--length", "9", "--fit", "0.02"], "--fit needs --speed"),
    ([*SLUG, "--length", "9", "--fit", "0.02", "--speed", "0"], "--speed: given `0`"),
    (
        [*SLUG, "--length", "9", "--fit", "0.02", "--speed", "7000", "--friction", "x"],
        "--friction: given `x`",
    ),
    (
        [*SLUG, "--length", "9", "--fit", "0.02", "--speed", "7000", "--slug-density", "11.3"],
        "there are no elastic figures for a slug of that density",
    ),
]


@pytest.mark.parametrize(("arguments", "message"), REFUSALS, ids=[" ".join(case[0]) for case in REFUSALS])
def test_refusals(bobplan_cut, arguments: list[str], message: str) -> None:
    ran = bobplan_cut(*arguments)
    assert ran.code == 2
    assert ran.out == ""
    assert ran.err.startswith("error: ")
    assert message in ran.err
    assert "Traceback" not in ran.err
    as_json = bobplan_cut(*arguments, "--json")
    assert as_json.code == 2
    assert message in as_json.data["error"]


def test_an_option_that_is_not_there(bobplan_cut) -> None:
    ran = bobplan_cut(*RIM, "--deepth", "9")
    assert ran.code == 2
    assert "--deepth" in ran.err


def test_a_density_that_is_no_metal_is_questioned(bobplan_cut) -> None:
    ran = bobplan_cut(*RIM, "--depth", "9", "--density", "7850", "--json")
    assert ran.data["warnings"] == ["7850 g/cm3 is no crankshaft metal: is the unit right?"]


def test_heavy_libraries_stay_out() -> None:
    """Importing the command must not load scipy, shapely or matplotlib."""
    code = (
        "import sys, planner.cli.cut; "
        "print([m for m in ('scipy', 'shapely', 'matplotlib') if m in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"
