"""`bobplan start` as typed, and as answered from a pipe.  All data are invented."""

from __future__ import annotations

import io
import math
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from planner.errors import FileFaultsError
from planner.jobfile.read import load_job
from tests.cli.conftest import Ran

Bobplan = Callable[..., Ran]

OPTIONS = {
    "--title": 'Eight in a "V"',
    "--units": "mm",
    "--angle-direction": "ccw",
    "--viewed-from": "rear",
    "--angle-zero": "throw 1",
    "--angle-marks": "light",
    "--amounts": "mass",
    "--drill-offset": "90",
    "--drills": "10 12 14",
    "--layout": "V8, 90 degree banks, cross-plane",
    "--rotation": "cw",
    "--radius": "44.2",
    "--first-throw-z": "95",
    "--spacing": "110",
    "--bearing-1-z": "0",
    "--bearing-2-z": "520",
    "--mass": "24.1",
    "--material": "nodular iron",
    "--speed": "6500",
    "--left-plane": "52",
    "--right-plane": "468",
    "--left-radius": "80",
    "--right-radius": "80",
    "--thickness": "24",
    "--outer-radius": "88",
    "--half-angle": "58",
    "--inner-radius": "36",
    "--tolerance": "G 16",
    "--piston": "412.6 411.9 413.0 412.2 412.8 411.7 412.4 412.1",
    "--pin": "118",
    "--rings": "38.5",
    "--clips": "0",
    "--rod-small-end": "182",
    "--rod-big-end": "442",
    "--bearing-shells": "42",
    "--oil": "4",
    "--fraction": "0.5",
}
COUNTERWEIGHTS = ["--counterweight", "52,198", "--counterweight", "468,18"]


def flat(options: dict[str, str]) -> list[str]:
    return [word for pair in options.items() for word in pair]


def answered(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


def texts(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.toml"))}


def test_options_for_all_of_it(bobplan: Bobplan, tmp_path: Path) -> None:
    ran = bobplan("start", "job", *flat(OPTIONS), *COUNTERWEIGHTS, "--json", "-y")
    assert ran.code == 0
    assert ran.json["loads"]
    assert ran.json["to_measure"] == []
    job = load_job(tmp_path / "job.toml")
    assert job.details.title == 'Eight in a "V"'
    assert [throw.angle_deg for throw in job.crankshaft.throws] == [0, 270, 90, 180]
    assert [throw.z_mm for throw in job.crankshaft.throws] == [95, 205, 315, 425]
    assert [throw.cylinders for throw in job.crankshaft.throws] == [
        ("1", "2"),
        ("3", "4"),
        ("5", "6"),
        ("7", "8"),
    ]
    assert {throw.radius_mm for throw in job.crankshaft.throws} == {44.2}
    assert [(each.name, each.z_mm, each.angle_deg) for each in job.crankshaft.counterweights] == [
        ("A", 52, 198),
        ("B", 468, 18),
    ]
    assert job.crankshaft.counterweights[0].outline.half_angle_deg == 58
    assert job.crankshaft.mass_kg == pytest.approx(24.1)
    assert (job.machine.viewed_from, job.machine.marks) == ("rear", "light spot")
    assert job.machine.mass_at_radius
    assert job.machine.drill_offset_deg == 90
    assert job.planes_z_mm == (52, 468)
    assert job.shop.drills_mm == (10, 12, 14)
    assert job.parts is not None
    assert job.tolerance is not None
    # by hand: 2 * (442 + 42) + 4 + 0.5 * (412.6 + 411.9 + 2 * (118 + 38.5 + 0 + 182))
    assert job.bobs_wanted_g is not None
    assert job.bobs_wanted_g["1"] == pytest.approx(968 + 4 + 0.5 * (824.5 + 677))


@pytest.mark.parametrize("rotation", ["cw", "ccw"])
def test_what_it_writes_fires_evenly_either_way(bobplan: Bobplan, rotation: str) -> None:
    for layout in ("V6, 60 degree banks, pins split 60 degrees", "in-line 5"):
        options = OPTIONS | {"--layout": layout, "--rotation": rotation}
        del options["--piston"]
        folder = f"{layout[:2]}-{rotation}"
        ran = bobplan("start", f"{folder}/job", *flat(options), *COUNTERWEIGHTS, "-y")
        assert ran.code == 0, ran.err
        ran = bobplan("engine", folder, "--json")
        assert ran.code == 0
        assert ran.json["firing"]["even"]
        assert ran.json["warnings"] == []
    # the split pins lead the right way round: nothing is left of the primary couple at one half
    ran = bobplan("engine", f"V6-{rotation}", "--json")
    assert ran.json["with_bobs"]["couple"]["1"]["largest"] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    "missing", [*(o for o in OPTIONS if o not in ("--title", "--amounts")), "--counterweight"]
)
def test_whatever_is_left_out_is_on_the_list(bobplan: Bobplan, tmp_path: Path, missing: str) -> None:
    """Faults of a file that was just made are only such as the list of things to measure names."""
    options = {name: value for name, value in OPTIONS.items() if name != missing}
    if missing == "--layout":
        options = {
            k: v
            for k, v in options.items()
            if k not in ("--radius", "--first-throw-z", "--spacing", "--rotation")
        }
    if missing == "--counterweight":
        options = {
            k: v
            for k, v in options.items()
            if k not in ("--thickness", "--outer-radius", "--half-angle", "--inner-radius")
        }
    counterweights = [] if missing == "--counterweight" else COUNTERWEIGHTS
    ran = bobplan("start", "job", *flat(options), *counterweights, "--json", "-y")
    assert ran.code == 0, ran.err
    listed = {each["path"] for each in ran.json["to_measure"]}
    if ran.json["loads"]:
        load_job(tmp_path / "job.toml")
        return
    with pytest.raises(FileFaultsError) as found:
        load_job(tmp_path / "job.toml")
    for fault in found.value.faults:
        path = re.sub(r'\[\d+\]( "\w+")?', "[]", fault.path).replace("[[", "").replace("]]", "")
        consequence = path == "machine.angle_zero" and "throws" in listed
        assert path in listed or consequence, fault
    assert ran.json["faults"]


def test_nothing_is_known(bobplan: Bobplan, tmp_path: Path) -> None:
    ran = bobplan("start", "-y")
    assert ran.code == 0
    assert "STILL TO BE MEASURED" in ran.out
    assert "throws; at least one throw is wanted" in ran.out or "[[throws]]" in ran.out
    for text in texts(tmp_path).values():
        assert "STILL OPEN" in text
    # the hint for the half angle is right: a chord of 149.3 at 88 is 58 degrees
    assert math.degrees(math.asin(149.3 / (2 * 88))) == pytest.approx(58, abs=0.05)


def test_a_half_angle_from_a_chord(bobplan: Bobplan, tmp_path: Path) -> None:
    options = OPTIONS | {"--half-angle": "chord 149.3"}
    assert bobplan("start", *flat(options), *COUNTERWEIGHTS, "-y").code == 0
    half = load_job(tmp_path / "job.toml").crankshaft.counterweights[0].outline.half_angle_deg
    assert half == pytest.approx(math.degrees(math.asin(149.3 / 176)), abs=0.05)


def test_parts_that_are_not_all_weighed_make_no_bob(bobplan: Bobplan, tmp_path: Path) -> None:
    options = {name: value for name, value in OPTIONS.items() if name != "--rings"}
    ran = bobplan("start", *flat(options), *COUNTERWEIGHTS, "-y")
    assert ran.code == 0
    assert load_job(tmp_path / "job.toml").bobs_wanted_g is None
    assert "# pin = 118" in (tmp_path / "job.toml").read_text(encoding="utf-8")
    assert "not known before the parts are weighed" in ran.out


PIPED = [
    *(
        "From a pipe",
        "in",
        "ccw",
        "front",
        "",
        "heavy",
        "",
        "",
        "1/2 in, 3/4 in",
        "24",
        "",
        "2.0",
        "3.74",
        "4.34",
    ),
    *("", "20.5", "56", "", "5500", "2.05", "18.45", "2", "7/8 in", "3.45", "chord 5.7", "1.45"),
    *("2.05", "", "18.45", "", "0.5", "412.6", "118", "38.5", "0", "182", "442", "42", "", ""),
]


def test_answers_from_a_pipe(bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answered(monkeypatch, *PIPED)
    ran = bobplan("start", "piped.toml")
    assert ran.code == 0, ran.err
    job = load_job(tmp_path / "piped.toml")
    assert job.units.in_inches
    assert job.crankshaft.mass_kg == pytest.approx(56 * 0.45359237)
    assert job.crankshaft.throws[1].z_mm == pytest.approx(8.08 * 25.4)
    # Enter took the angle offered: opposite the nearest throw
    assert [each.angle_deg for each in job.crankshaft.counterweights] == [180, 0]
    assert "written: " in ran.out


def test_enter_keeps_the_last_answer(
    bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answered(monkeypatch, *PIPED)
    assert bobplan("start", "first/job").code == 0
    first = texts(tmp_path / "first")
    for name in first:
        (tmp_path / "first" / name).unlink()
    answered(monkeypatch, *[""] * len(PIPED))
    ran = bobplan("start", "first/job")
    assert ran.code == 0
    assert "throw radius, half the stroke [2.0]" in ran.err
    # a title belongs to one job
    assert "From a pipe" not in ran.err
    second = texts(tmp_path / "first")
    assert second == {name: text.replace("From a pipe", "") for name, text in first.items()}
    # a minus leaves open what was answered before; asking nothing takes nothing from before
    answered(monkeypatch, "Third", "-")
    assert bobplan("start", "third/job").code == 0
    assert 'title = "Third"' in (tmp_path / "third" / "job.toml").read_text(encoding="utf-8")
    assert bobplan("start", "fourth/job", "-y").code == 0
    assert 'title = ""' in (tmp_path / "fourth" / "job.toml").read_text(encoding="utf-8")


def test_a_bare_number_of_an_inch_job_is_not_kept_in_a_metric_one(
    bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """1.75 in of throw radius must not come back as 1.75 mm; what carries its unit, and weights, may."""
    lengths = ("--radius", "1.75", "--first-throw-z", "3.2 in", "--spacing", "3", "--bearing-2-z", "12")
    options = (
        "--units",
        "in",
        "--layout",
        "in-line 4",
        *lengths,
        "--drills",
        "1/2 in, 5/8 in",
        "--pin",
        "118",
    )
    answered(monkeypatch, *[""] * 60)
    assert bobplan("start", "first/job", *options).code == 0
    assert "radius = 1.75" in (tmp_path / "first" / "crankshaft.toml").read_text(encoding="utf-8")
    for name in texts(tmp_path / "first"):
        (tmp_path / "first" / name).unlink()
    answered(monkeypatch, "", "mm", *[""] * 60)
    ran = bobplan("start", "first/job")
    assert ran.code == 0, ran.err
    text = "".join(texts(tmp_path / "first").values())
    for name in texts(tmp_path / "first"):
        (tmp_path / "first" / name).unlink()
    assert 'layout = "in-line 4"' in text
    for each in ("1.75", "spacing = 3", "bearing_2_z = 12"):
        assert each not in text
    assert 'drills = ["1/2 in", "5/8 in"]' in text
    assert "pin = 118" in text
    # nor do they come back as inches later: a metric job was the last one
    answered(monkeypatch, "", "in", *[""] * 60)
    assert "throw radius, half the stroke:" in bobplan("start", "first/job").err


def test_where_throw_1_stands(bobplan: Bobplan, tmp_path: Path) -> None:
    arguments = ("--layout", "V6, 90 degree banks, pins split 30 degrees", "--rotation", "cw", "-y")
    assert bobplan("start", "job", *arguments).code == 0
    text = (tmp_path / "crankshaft.toml").read_text(encoding="utf-8")
    assert "throw 1\n# stands at 15." in text
    assert 'name = "1"\nangle = 15\n' in text


def test_an_input_that_ends_leaves_the_rest_open(
    bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answered(monkeypatch, *PIPED)
    assert bobplan("start", "first/job").code == 0
    answered(monkeypatch, "Only a title", "mm", "ccw")
    ran = bobplan("start", "second/job")
    assert ran.code == 0
    text = (tmp_path / "second" / "shop.toml").read_text(encoding="utf-8")
    assert 'angle_direction = "ccw"' in text
    assert "# viewed_from =" in text


def test_a_question_mark_says_how(bobplan: Bobplan, monkeypatch: pytest.MonkeyPatch) -> None:
    answered(monkeypatch, "", "", "?", "ccw")
    ran = bobplan("start")
    assert ran.code == 0
    assert "turn the crankshaft by hand" in ran.err


def test_a_wrong_answer_from_a_pipe_writes_nothing(
    bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answered(monkeypatch, "Title", "mm", "sideways")
    ran = bobplan("start")
    assert ran.code == 2
    assert "line 3 of the answers" in ran.err
    assert texts(tmp_path) == {}


def test_never_overwrites(bobplan: Bobplan, tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("mine", encoding="utf-8")
    ran = bobplan("start", "-y")
    assert ran.code == 2
    assert "is there already" in ran.err
    assert texts(tmp_path) == {"job.toml": "mine"}


def test_a_shop_file_that_is_there_is_used(bobplan: Bobplan, tmp_path: Path) -> None:
    assert bobplan("start", "shop/first", *flat(OPTIONS), *COUNTERWEIGHTS, "-y").code == 0
    before = texts(tmp_path / "shop")
    ran = bobplan("start", "shop/second", "-y", "--title", "Second", "--tolerance", "300")
    assert ran.code == 0
    assert "is there already: it is used as it is" in ran.err
    after = texts(tmp_path / "shop")
    assert {name: after[name] for name in before} == before
    job = load_job(tmp_path / "shop" / "second.toml")
    assert job.crankshaft.mass_kg == pytest.approx(24.1)
    ran = bobplan("start", "shop/third", "-y", "--radius", "40")
    assert ran.code == 2
    assert "nothing asks for `--radius`" in ran.err
    assert not (tmp_path / "shop" / "third.toml").exists()


def test_all_files_or_none(bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program makes the job file while questions are asked: its file stays, ours are taken away again."""
    real = os.link

    def link(source: str | Path, target: str | Path) -> None:
        if Path(target).name == "job.toml":
            Path(target).write_text("theirs", encoding="utf-8")
        real(source, target)

    monkeypatch.setattr(os, "link", link)
    ran = bobplan("start", "-y")
    assert ran.code == 2
    assert "is there already" in ran.err
    assert texts(tmp_path) == {"job.toml": "theirs"}
    assert [path.name for path in tmp_path.iterdir()] == ["job.toml"]


def test_a_disk_without_links(bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def link(source: str | Path, target: str | Path) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", link)
    assert bobplan("start", *flat(OPTIONS), *COUNTERWEIGHTS, "-y").code == 0
    load_job(tmp_path / "job.toml")
    (tmp_path / "job2.toml").write_text("mine", encoding="utf-8")
    assert bobplan("start", "job2", "-y").code == 2
    assert (tmp_path / "job2.toml").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([""], "empty name"),
        (["--shop", "job.toml"], "files of their own"),
        (["--units", "furlongs"], "furlongs"),
        (["--layout", "V9"], "V9"),
        (["--layout", "99"], "number 99"),
        (["--layout", "in-line 4", "--radius", "-3"], "-3"),
        (["--layout", "in-line 4", "--radius", "3 kg"], "3 kg"),
        (["--radius", "44"], "nothing asks for `--radius`"),
        (["--mass", "24 mm"], "24 mm"),
        (["--mass", "24 g"], "24 g"),
        (["--material", "cheese"], "cheese"),
        (["--tolerance", "G"], "grade"),
        (["--tolerance", "-5"], "-5"),
        (["--angle-zero", "north"], "north"),
        (["--angle-marks", "spot"], "heavy spot, light spot"),
        (["--drills", "14 1/2 in 5"], "one size or two"),
        (["--drills", "ten"], "ten"),
        (["--units", "in", "--drills", "10 12 14"], "at most 4 in"),
        (["--piston", "412 -3"], "-3"),
        (["--fraction", "50"], "50 percent is 0.5"),
        (["--counterweight", "52"], "52"),
        (["--counterweight", "52,east"], "east"),
        (["--counterweight", "52,198", "--half-angle", "chord 10"], "outer radius"),
        (
            ["--counterweight", "52,198", "--outer-radius", "50", "--half-angle", "chord 120"],
            "twice the outer radius",
        ),
        (["--title", "two\nlines"], "no text"),
    ],
)
def test_bad_input(bobplan: Bobplan, tmp_path: Path, arguments: list[str], words: str) -> None:
    ran = bobplan("start", *arguments, "-y")
    assert ran.code == 2, ran.out + ran.err
    assert words in ran.err
    assert "Traceback" not in ran.err
    assert texts(tmp_path) == {}


@pytest.mark.parametrize("command", ["start", "match", "engine", "rod"])
def test_the_command_alone_loads_nothing_heavy(command: str) -> None:
    code = (
        f"import sys, planner.cli.{command}\n"
        "heavy = ('numpy', 'scipy', 'matplotlib', 'shapely', 'tomlkit', 'pydantic')\n"
        "sys.exit(str([name for name in heavy if name in sys.modules] or '') or 0)\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr


def test_bevelled_edges_of_the_rims(bobplan: Bobplan, tmp_path: Path) -> None:
    assert bobplan("start", *flat(OPTIONS | {"--rim-bevel": "4"}), *COUNTERWEIGHTS, "-y").code == 0
    for counterweight in load_job(tmp_path / "job.toml").crankshaft.counterweights:
        assert counterweight.rim is not None
        # 45 degrees: 4 mm less at both faces
        faces = [counterweight.rim.radius_mm(s) for s in counterweight.rim.breaks_mm]
        assert faces[0] == pytest.approx(84.0)
        assert faces[-1] == pytest.approx(84.0)
