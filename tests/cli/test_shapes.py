"""Rims, rows and drawings through the commands: plan, done, profile; the drawing of a plan."""

from __future__ import annotations

import json
from pathlib import Path

import ezdxf
import pytest

from geometry_profiles import shapes
from geometry_profiles.exchange import write_dxf


def _job(folder: Path, example: Path, counterweight_a: str) -> Path:
    text = (example / "job.toml").read_text(encoding="utf-8")
    old = 'outline = { shape = "fan", outer_radius = 88.0, half_angle = 58.0, inner_radius = 36.0 }\n'
    assert old in text
    path = folder / "job.toml"
    path.write_text(text.replace(old, counterweight_a), encoding="utf-8")
    return path


EXAMPLE = Path(__file__).parents[2] / "examples" / "cross_plane_v8"
PLAIN = 'outline = { shape = "fan", outer_radius = 88.0, half_angle = 58.0, inner_radius = 36.0 }\n'


def test_a_bevelled_rim_asks_for_a_deeper_hole_and_says_how(bobplan, tmp_path: Path) -> None:
    plain = bobplan("plan", _job(tmp_path, EXAMPLE, PLAIN), "--no-store", "--json").json
    job = _job(
        tmp_path,
        EXAMPLE,
        PLAIN
        + 'rim = { form = "bevelled", width = 7, slope = 45 }\nmark = { name = "keyway", angle = 190 }\n',
    )
    ran = bobplan("plan", job, "--json")
    assert ran.code == 0
    for before, after in zip(plain["steps"], ran.json["steps"], strict=True):
        assert after["depth_shoulder_mm"] > before["depth_shoulder_mm"]
        assert after["from_middle_mm"] == 0.0
    text = bobplan("plan", job, "--show-work").out
    assert "along the rim from the keyway" in text
    assert "bevelled rim" in text
    assert "by quadrature" in text
    assert "% of the plain hole's" in text


def test_a_row_is_said_stored_made_and_drawn(bobplan, tmp_path: Path) -> None:
    job = _job(tmp_path, EXAMPLE, PLAIN.replace("}\n", "}\n") + "rim_rows = [-3.0]\n")
    ran = bobplan("plan", job, "--dxf", tmp_path / "drawings", "--plot", tmp_path / "plan.png")
    assert ran.code == 0
    assert "rim hole on A, 3.0 mm to the front of the middle" in ran.out
    assert "from_middle = -3" in job.read_text(encoding="utf-8")
    data = json.loads(bobplan("plan", job, "--json").out)
    in_the_row = [each for each in data["steps"] if each["from_middle_mm"] == -3.0]
    assert in_the_row
    for step in in_the_row:
        assert step["counterweight"] == "A"
        assert step["z_mm"] == pytest.approx(49.0, abs=0.05)
    drawing = ezdxf.readfile(tmp_path / "drawings" / "A.dxf")
    layers = [entity.dxf.layer for entity in drawing.modelspace()]
    assert "PLANNED_CUTS" in layers
    assert "EXISTING" in layers
    assert bobplan("done", str(in_the_row[0]["number"]), folder=tmp_path).code in (0, 1)
    made = job.read_text(encoding="utf-8").split("[[cuts_made]]")[1]
    assert "from_middle = -3" in made


def test_the_plan_lies_over_the_drawing_it_came_from(bobplan, tmp_path: Path) -> None:
    outline = shapes.fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0)
    from geometry_profiles.exchange import DrawingFrame

    write_dxf(
        tmp_path / "cheek.dxf", outline, frame=DrawingFrame(origin=(200.0, 100.0), centre_line_deg=90.0)
    )
    job = _job(
        tmp_path,
        EXAMPLE,
        'outline = { shape = "drawing", file = "cheek.dxf", layer = "OUTLINE", inner_radius = 36.0, '
        "origin = [200, 100], centre_line = 90 }\n",
    )
    assert bobplan("plan", job, "--no-store", "--dxf", tmp_path / "out").code == 0
    drawn = ezdxf.readfile(tmp_path / "out" / "A.dxf")
    ring = next(e for e in drawn.modelspace() if e.dxf.layer == "OUTLINE")
    xs = [point[0] for point in ring.get_points()]
    ys = [point[1] for point in ring.get_points()]
    # the centre line points up in that drawing: the fan lies above the shaft axis at (200, 100)
    assert 0.5 * (min(xs) + max(xs)) == pytest.approx(200.0, abs=0.01)
    assert min(ys) > 100.0


def test_profile_lists_weighs_traces_and_draws(bobplan, tmp_path: Path) -> None:
    listed = bobplan("profile", "--list", "--json").json["profiles"]
    assert {"fan 88", "knife edge"} <= {each["name"] for each in listed}
    assert "in a job file" in bobplan("profile", "--list").out
    knife = bobplan("profile", "--generic", "knife-edge", "--json", "--dxf", tmp_path / "k.dxf").json
    assert knife["rim"] == "bevelled"
    again = bobplan(
        "profile", "--drawing", tmp_path / "k.dxf", "--layer", "OUTLINE", "--inner-radius", "36", "--thickness", "22",
        "--rim", "bevelled width=10 slope=30", "--json",
    ).json  # fmt: skip
    assert again["mass_g"] == pytest.approx(knife["mass_g"], rel=1e-6)
    points = tmp_path / "points.csv"
    points.write_text(
        "on,x,y\nrim,88,0\nrim,60,64.4\nflank,20.1,32.2\nflank,40,64\nflank,20,-32\nflank,39.9,-64\n",
        encoding="utf-8",
    )
    traced = bobplan("profile", "--trace", points, "--inner-radius", "36", "--thickness", "24", "--json").json
    assert traced["tracing"]["flanks"] == "radial"
    assert traced["tracing"]["half_angle_deg"] == pytest.approx(58.0, abs=0.2)
    text = bobplan("profile", "--trace", points, "--inner-radius", "36", "--thickness", "24").out
    assert "root mean square" in text
    assert 'outline = { shape = "fan"' in text


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--generic", "star"], "no generic profile `star`"),
        (["--generic", "fan 88", "--outer-radius", "80"], "which says the outline itself"),
        (["--generic", "fan 88", "--shape", "disc"], "comes from one of them"),
        (["--generic", "fan 88", "--rim", "wavy"], "given --rim `wavy`"),
        (["--generic", "fan 88", "--rim", "bevelled depth=3"], "given `depth=3` for a bevelled rim"),
        (["--generic", "fan 88", "--rim", "tapered"], "needs taper_deg"),
        (["--generic", "fan 88", "--rim", "stepped plates=16,88"], "thickness:radius"),
        (["--generic", "fan 88", "--dxf", "x.txt"], r"\.dxf"),
        (["--drawing", "x.dxf", "--thickness", "20"], "not given: --inner-radius"),
        (["--drawing", "x.bmp", "--inner-radius", "20", "--thickness", "20"], "a .dxf drawing or a .csv"),
        (["--drawing", "x.dxf", "--inner-radius", "20", "--thickness", "20", "--origin", "1"], "two numbers with a comma"),
        (["--trace", "x.csv", "--thickness", "20"], "can't be read"),
        (["--shape", "stepped fan", "--outer-radius", "88", "--half-angle", "58", "--inner-radius", "36",
          "--steps", "60", "--thickness", "20"], "a length and an angle"),
    ],
)  # fmt: skip
def test_bad_input_is_refused_in_words(bobplan, arguments, words, tmp_path: Path) -> None:
    import re

    ran = bobplan("profile", *arguments, folder=tmp_path)
    assert ran.code == 2
    assert re.search(words, ran.err)
