"""``bobplan profile``: numbers from first principles, and every way to ask wrongly."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
import typer
from typer.testing import CliRunner

from geometry_profiles import shapes
from planner.cli.profile import profile
from planner.errors import InputError
from planner.formula import working_lines
from planner.present.drawings.profile import plot_profile, save_profile
from planner.rotor.weighing import weigh, weighing_work

app = typer.Typer(rich_markup_mode=None)
app.command()(profile)

FAN = ["--outer-radius", "88", "--half-angle", "58", "--inner-radius", "36", "--thickness", "24"]
# half angle a, ring of radii 88 and 36: area a*(R^2 - r^2), first moment 2/3*sin(a)*(R^3 - r^3)
AREA_MM2 = math.radians(58.0) * (88.0**2 - 36.0**2)
FIRST_MM3 = 2.0 / 3.0 * math.sin(math.radians(58.0)) * (88.0**3 - 36.0**3)


def run(*arguments: str) -> str:
    result = CliRunner().invoke(app, list(arguments))
    if result.exception is not None:
        raise result.exception
    return result.stdout


def answer(*arguments: str) -> dict[str, Any]:
    data = json.loads(run(*arguments, "--json"))
    assert isinstance(data, dict)
    return data


def test_a_fan_is_weighed() -> None:
    data = answer("--shape", "fan", *FAN, "--density", "7.85")
    assert data["area_mm2"] == pytest.approx(AREA_MM2)
    assert data["volume_mm3"] == pytest.approx(AREA_MM2 * 24.0)
    assert data["mass_g"] == pytest.approx(AREA_MM2 * 24.0 * 7.85 / 1000.0)
    assert data["unbalance_gmm"] == pytest.approx(FIRST_MM3 * 24.0 * 7.85 / 1000.0)
    assert data["unbalance_ozin"] == pytest.approx(data["unbalance_gmm"] / (28.349523125 * 25.4))
    assert data["centroid_radius_mm"] == pytest.approx(FIRST_MM3 / AREA_MM2)
    assert data["polar_mass_moment_gmm2"] == pytest.approx(
        math.radians(58.0) / 2.0 * (88.0**4 - 36.0**4) * 24.0 * 7.85 / 1000.0
    )


def test_units_are_read_and_the_shape_may_be_spelt_freely() -> None:
    metric = answer(
        "--shape", "half disc", "--outer-radius", "88.9", "--inner-radius", "25.4", "--thickness", "25.4"
    )
    inches = answer(
        "--shape", "Half-Disc", "--outer-radius", "3.5 in", "--inner-radius", "1 in", "--thickness", "1 in"
    )
    assert inches == metric
    assert metric["shape"] == "half disc"


def test_points_and_trimmed_fan_and_disc() -> None:
    block = answer(
        "--shape",
        "points",
        "--points",
        "40,-10; 60,-10; 60,10; 40,10",
        "--inner-radius",
        "30",
        "--thickness",
        "10",
    )
    assert block["area_mm2"] == pytest.approx(400.0)
    assert block["centroid_radius_mm"] == pytest.approx(50.0)
    slim = answer("--shape", "trimmed fan", *FAN, "--half-width", "40")
    assert slim["mass_g"] < answer(*FAN)["mass_g"]
    ring = answer("--shape", "disc", "--outer-radius", "88", "--inner-radius", "36", "--thickness", "24")
    assert ring["unbalance_gmm"] == pytest.approx(0.0, abs=1e-6)


def test_the_text_says_what_was_weighed() -> None:
    text = run(*FAN, "--show-work")
    assert "fan, 24 mm thick, density 7.85 g/cm3, outside the inner radius of 36 mm" in text
    assert f"mass                {AREA_MM2 * 24.0 * 7.85 / 1000.0:.1f} g" in text
    assert "= 1.012291 * (88^2 - 36^2) = 6527.25 mm2" in text
    assert "unbalance = mass * centroid radius" in text
    assert "= 67617.3 g*mm" in text


def test_the_work_can_be_followed_with_a_calculator() -> None:
    lines = weighing_work(
        weigh(
            shapes.fan(outer_radius_mm=88, half_angle_deg=58, inner_radius_mm=36),
            thickness_mm=24,
            density_g_per_cm3=7.85,
        )
    )
    put_in = [line for line in working_lines(lines) if line.startswith("  = ")]
    assert len(put_in) == 7
    for line in put_in:
        formula, _, result = line.removeprefix("  = ").rpartition(" = ")
        formula = formula.replace("^", "**")
        value = eval(formula, {"__builtins__": {}}, {"sin": math.sin, "pi": math.pi})  # our own text
        assert value == pytest.approx(float(result.split()[0]), rel=2e-5), line


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--shape", "blob", "--thickness", "24"], "given --shape `blob`; `fan`, `trimmed fan`"),
        (FAN[:-2], "not given: --thickness"),
        (FAN[2:], "not given: --outer-radius; a fan needs it"),
        (FAN[4:], "not given: --outer-radius, --half-angle; a fan needs them"),
        ([*FAN, "--half-width", "3"], "given --half-width; a fan has no such size"),
        ([*FAN, "--thickness", "0"], "--thickness"),
        ([*FAN, "--density", "heavy"], "--density"),
        ([*FAN, "--outer-radius", "30"], "outline `fan` has inner radius 36.0 mm"),
        (
            ["--shape", "points", "--points", "1,2;3", "--inner-radius", "3", "--thickness", "2"],
            "corner 2 `3` of --points",
        ),
        (
            ["--shape", "points", "--points", "1,2;3,x", "--inner-radius", "3", "--thickness", "2"],
            "--points, corner 2",
        ),
        ([*FAN, "--plot", "profile.bmp"], "given `profile.bmp`; .png, .svg and .pdf are allowed"),
        ([*FAN, "--plot", "nowhere/profile.png"], "there is no folder `nowhere`"),
    ],
)
def test_bad_input_is_told_apart(arguments: list[str], message: str) -> None:
    with pytest.raises(InputError, match=message):
        run(*arguments)


@pytest.mark.parametrize(
    ("sizes", "message"), [((0.0, 7.85), "given thickness 0 mm"), ((24.0, -1.0), "given density -1 g/cm3")]
)
def test_weigh_checks_its_numbers(sizes: tuple[float, float], message: str) -> None:
    disc = shapes.disc(outer_radius_mm=88.0, inner_radius_mm=36.0)
    with pytest.raises(InputError, match=message):
        weigh(disc, thickness_mm=sizes[0], density_g_per_cm3=sizes[1])


def test_the_drawing_shows_outline_axis_and_centroid_to_scale() -> None:
    weighed = weigh(
        shapes.fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0),
        thickness_mm=24.0,
        density_g_per_cm3=7.85,
    )
    ax = plot_profile(weighed)
    by_id = {artist.get_gid(): artist for artist in (*ax.patches, *ax.lines)}
    assert set(by_id) == {"outline", "inner radius", "shaft", "centroid", "centre line"}
    corners = by_id["outline"].get_path().vertices
    assert len(corners) == len(weighed.outline.boundary_mm) + 1
    assert by_id["centroid"].get_xdata()[0] == pytest.approx(FIRST_MM3 / AREA_MM2)
    assert by_id["inner radius"].get_radius() == 36.0
    assert ax.get_aspect() == 1.0
    assert "[mm]" in ax.get_xlabel()
    assert "[mm]" in ax.get_ylabel()
    assert plot_profile(weighed, ax=ax) is ax


@pytest.mark.parametrize("ending", ["png", "svg", "pdf"])
def test_a_saved_drawing_is_the_same_every_time(tmp_path: Path, ending: str) -> None:
    weighed = weigh(
        shapes.disc(outer_radius_mm=88.0, inner_radius_mm=36.0), thickness_mm=24.0, density_g_per_cm3=7.85
    )
    first, second = tmp_path / f"first.{ending}", tmp_path / f"second.{ending}"
    save_profile(weighed, first)
    save_profile(weighed, second)
    starts = {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}
    assert first.read_bytes().startswith(starts[ending])
    assert first.read_bytes() == second.read_bytes()


def test_the_command_names_its_drawing(tmp_path: Path) -> None:
    file = tmp_path / "fan.png"
    assert f"drawn to `{file}`" in run(*FAN, "--plot", str(file))
    assert file.stat().st_size > 5000
    data = answer(*FAN, "--plot", str(file), "--show-work")
    assert data["plot"] == str(file)
    assert len(data["work"]) == 14


def test_the_body_says_which_face_is_front_and_shows_what_is_behind_it() -> None:
    """The rear face is the front one moved by one thickness in one direction; only sides turned that way are drawn."""
    from matplotlib.figure import Figure

    from planner.present.drawings.solid import plot_solid

    weighed = weigh(
        shapes.fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0),
        thickness_mm=24.0,
        density_g_per_cm3=7.85,
    )
    ax = plot_solid(weighed, ax=Figure().add_subplot())
    faces = {
        patch.get_gid(): patch.get_xy()
        for patch in ax.patches
        if patch.get_gid() in ("front face", "rear face")
    }
    moved = faces["rear face"] - faces["front face"]
    assert moved == pytest.approx(moved[0] + 0.0 * moved)
    # up and to the right, by a share of the thickness
    assert moved[0][0] > 0.0
    assert moved[0][1] > 0.0
    sides = [patch for patch in ax.patches if patch.get_gid() == "side"]
    assert 10 < len(sides) < len(faces["front face"])
    greys = {patch.get_facecolor()[0] for patch in sides}
    assert max(greys) - min(greys) > 0.1
    assert {text.get_text() for text in ax.texts} == {"front face", "rear face"}


def test_a_profile_typed_in_inches_is_drawn_in_inches() -> None:
    from planner.quantity import UnitSystem

    weighed = weigh(
        shapes.disc(outer_radius_mm=76.2, inner_radius_mm=25.4), thickness_mm=25.4, density_g_per_cm3=7.85
    )
    ax = plot_profile(weighed, units=UnitSystem(length="in", unbalance="oz*in"))
    said = " ".join(
        [ax.get_xlabel(), ax.get_ylabel(), ax.get_title(), *(line.get_label() for line in ax.lines)]
    )
    assert "[in]" in ax.get_xlabel()
    assert "thickness 1.000 in" in ax.get_title()
    assert "mm" not in said.replace("g/cm3", "")
    ax.figure.draw_without_rendering()
    # 3 in is 76.2 mm
    assert [
        label.get_text() for label in ax.get_xticklabels() if label.get_position()[0] == pytest.approx(76.2)
    ] == ["3"]
