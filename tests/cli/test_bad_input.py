"""Bad input: a message for a person, exit code 2, no traceback, nothing written.  All data invented."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import EXAMPLES, Ran

Bobplan = Callable[..., Ran]
GOOD = (EXAMPLES / "cross_plane_v8" / "job.toml").read_text(encoding="utf-8")


def _refused(ran: Ran, *words: str) -> None:
    assert ran.code == 2, ran.out + ran.err
    assert "Traceback" not in ran.err + ran.out
    assert ran.out == "" or "--json" in ran.err
    for word in words:
        assert word in ran.err


FAULTS = {
    "unknown key": ("half_angle = 58.0", "half_angel = 58.0", ["half_angel", "half_angle"]),
    "unknown section": ("[tolerance]", "[tolerances]", ["tolerances", "did you mean `tolerance`"]),
    "wrong type": ("rods = 2", 'rods = "two"', ["rods", "two"]),
    "wrong unit": ('mass = "24.1 kg"', 'mass = "24.1 mm"', ["mass", "24.1 mm"]),
    "negative mass": ("pin = 118.0", "pin = -118.0", ["pin", "-118"]),
    "not a number": ("thickness = 24.0", "thickness = nan", ["thickness", "nan"]),
    "infinite": ("greatest_depth = 45", "greatest_depth = inf", ["greatest_depth", "inf"]),
    "angle as text": ("angle = 198.0", 'angle = "north"', ["angle", "north"]),
    "equal planes": ("right = 468.0", "right = 52.0", ["planes", "52"]),
    "planes too close": ("right = 468.0", "right = 80.0", ["planes"]),
    "spin without bobs": ("bobs = 1724.0 ", "# ", ["spins[1]", "bobs"]),
    "unknown throw": ('angle_zero = "throw 1"', 'angle_zero = "throw 9"', ["angle_zero", "throw 9"]),
    "unknown cut": ('cuts = ["rim hole"]', 'cuts = ["rim holes"]', ["rim holes", "did you mean `rim hole`"]),
    "unknown direction": ('angle_direction = "ccw"', 'angle_direction = "left"', ["angle_direction", "left"]),
    "step that does not divide": ("angle_step = 1", "angle_step = 7", ["angle_step", "7"]),
    "depths upside down": ("least_depth = 5", "least_depth = 50", ["least_depth"]),
    "fraction above one": (
        "reciprocating_fraction = 0.5",
        "reciprocating_fraction = 1.5",
        ["reciprocating_fraction"],
    ),
    "list too short": ("rod_big_end = [442.0, ", "rod_big_end = [", ["rod_big_end", "8"]),
    "tolerance twice": ('grade = "G 16"', 'grade = "G 16"\ntotal = 300', ["tolerance"]),
    "hole without depth": ("diameter = 12, depth = 20", "diameter = 12", ["existing", "depth"]),
    "no reading": (
        "left = { amount = 3480, angle = 214 }",
        "left = { amount = 3480 }",
        ["spins[1].left", "angle"],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_in_the_file(name: str, bobplan: Bobplan, tmp_path: Path) -> None:
    old, new, words = FAULTS[name]
    assert old in GOOD, f"the example no longer has `{old}`"
    path = tmp_path / "job.toml"
    path.write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    _refused(bobplan("plan", path), *words)
    assert path.read_text(encoding="utf-8") == GOOD.replace(old, new, 1)


def test_all_faults_at_once(bobplan: Bobplan, tmp_path: Path) -> None:
    text = GOOD
    for name in ("unknown key", "negative mass", "angle as text", "spin without bobs", "unknown cut"):
        old, new, _ = FAULTS[name]
        text = text.replace(old, new, 1)
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    ran = bobplan("plan", path)
    _refused(ran, "half_angel", "-118", "spins[1]", "rim holes")
    count = re.search(r"(\d+) faults found", ran.err)
    assert count is not None
    assert int(count.group(1)) >= 5


def test_faults_as_json(bobplan: Bobplan, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(GOOD.replace("half_angle = 58.0", "half_angel = 58.0", 1), encoding="utf-8")
    ran = bobplan("plan", path, "--json")
    assert ran.code == 2
    faults = ran.json["faults"]
    assert any("half_angel" in fault["path"] for fault in faults)


def test_no_counterweight(bobplan: Bobplan, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    parts = GOOD.split("[[counterweights]]")
    path.write_text(parts[0] + "[shop]" + parts[-1].split("[shop]")[1], encoding="utf-8")
    _refused(bobplan("plan", path), "counterweight")


def test_no_spin(bobplan: Bobplan, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(GOOD.split("[[spins]]")[0], encoding="utf-8")
    _refused(bobplan("plan", path), "there is no spin yet", "bobplan spin")


def test_no_tolerance(bobplan: Bobplan, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        GOOD.replace('[tolerance]\ngrade = "G 16"                  # judged at the bearings\n', ""),
        encoding="utf-8",
    )
    _refused(bobplan("plan", path), "tolerance", "builder")


def test_not_toml(bobplan: Bobplan, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text("[job\ntitle = 1", encoding="utf-8")
    _refused(bobplan("plan", path), "line 1")


def test_not_a_file_and_a_folder_without_jobs(bobplan: Bobplan, tmp_path: Path) -> None:
    _refused(bobplan("plan", tmp_path / "nothing.toml"), "nothing.toml")
    folder = tmp_path / "folder"
    folder.mkdir()
    _refused(bobplan("plan", folder), "folder")


def test_ten_megabytes_of_noise(bobplan: Bobplan, tmp_path: Path) -> None:
    path = tmp_path / "noise.toml"
    path.write_bytes(os.urandom(10_000_000))
    _refused(bobplan("plan", path), "noise.toml")


def test_text_that_is_not_utf8(bobplan: Bobplan, tmp_path: Path) -> None:
    path = tmp_path / "latin.toml"
    path.write_bytes(GOOD.replace("Example", "B\xfcro").encode("latin-1"))
    _refused(bobplan("plan", path), "latin.toml")


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["plan", "--no-such-option"], "--no-such-option"),
        (["no-such-command"], "no-such-command"),
        (["spin", "1", "2", "3"], "four numbers"),
        (["spin", "1", "north", "3", "4"], "north"),
        (["spin", "1", "2000", "3", "4"], "2000"),
        (["spin", "-5", "20", "3", "4"], "-5"),
        (["spin", "5 furlongs", "20", "3", "4"], "furlongs"),
        (["spin", "5", "20", "3", "4", "--bobs", "9=1"], "9"),
        (["spin", "5", "20", "3", "4", "--bobs", "1=1"], "2"),
        (["spin", "5", "20", "3", "4", "--mounted", "flywheel"], "flywheel"),
        (["spin", "5", "20", "3", "4", "--known-mass", "10"], "place"),
        (["spin", "5", "20", "3", "4", "--known-at", "throw 1"], "--known-mass"),
        (
            ["spin", "5", "20", "3", "4", "--known-mass", "1", "--known-radius", "9", "--known-at", "x"],
            "counterweight A",
        ),
        (["done", "0"], "0"),
        (["done", "one"], "one"),
        (["done", "1", "2", "--depth", "3"], "one step at a time"),
        (["plan", "--plot", "picture.bmp"], ".png"),
    ],
)
def test_bad_arguments(arguments: list[str], word: str, bobplan: Bobplan, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(GOOD, encoding="utf-8")
    ran = bobplan(*arguments, folder=tmp_path)
    assert ran.code == 2, ran.out + ran.err
    assert word in ran.err
    assert "Traceback" not in ran.err
    assert "spins = " not in path.read_text(encoding="utf-8")
    assert path.read_text(encoding="utf-8").count("[[spins]]") == 1
