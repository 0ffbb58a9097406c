"""Rims turned, flats and bevels through the whole job: planned, pinned, entered, taken back, on paper.  All data are invented."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import paper_checks
import pytest

from tests.cli.conftest import Ran

Run = Callable[..., Ran]
Copied = Callable[[str], Path]

RIM_CUTS = 'cuts = ["rim turning", "flat", "bevel"]'


@pytest.fixture
def turned(example: Copied) -> Path:
    folder = example("cross_plane_v8")
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    text = text.replace('cuts = ["rim hole"]', RIM_CUTS)
    text = text.replace('existing = [ { cut = "rim hole", angle = 171, diameter = 12, depth = 20 } ]', "")
    path.write_text(text, encoding="utf-8")
    return folder


def test_planned_entered_and_taken_back(bobplan: Run, turned: Path, tmp_path: Path) -> None:
    ran = bobplan("plan", turned, "--json", "--seconds", "100")
    assert ran.code == 0, ran.err
    steps = ran.json["steps"]
    assert [step["cut"] for step in steps] == ["rim turning", "rim turning"]
    first = steps[0]
    assert first["sector_deg"] in (30, 45, 60, 90, 120)
    assert first["depth_shoulder_mm"] == pytest.approx(round(first["depth_shoulder_mm"], 1))
    # the ring sector's moment, any handbook: 24 mm thick, 88 mm radius
    low = 88.0 - first["depth_shoulder_mm"]
    moment = 2 / 3 * math.sin(math.radians(first["sector_deg"] / 2)) * (88.0**3 - low**3) * 24.0
    assert -first["unbalance_gmm"] == pytest.approx(7.85e-3 * moment, rel=1e-6)
    text = bobplan("plan", turned, "--seconds", "100").out
    assert "off the radius, over" in text
    assert "taken off" in text
    assert "lathe" in text
    done = bobplan("done", turned / "job.toml", "1", "--yes", "--unproved", "--seconds", "100")
    assert done.code in (0, 1), done.err
    assert "entered: cut 1, rim turning on A, middle at" in done.out
    kept = (turned / "job.toml").read_text(encoding="utf-8")
    made = kept.partition("[[cuts_made]]")[2]
    assert 'cut = "rim turning"' in made
    assert f"sector = {first['sector_deg']:g}" in made
    assert "diameter" not in made.partition("[[")[0]
    # nothing more is cut where the rim is gone
    again = bobplan("plan", turned, "--json", "--seconds", "100").json
    assert all(
        step["counterweight"] != "A" or abs(step["angle_deg"] - first["angle_deg"]) > 20
        for step in again["steps"]
    )
    assert "rim turning on A" in bobplan("history", turned).out
    undone = bobplan("undo", "--job", turned, "--yes")
    assert undone.code == 0, undone.err
    assert (
        bobplan("plan", turned, "--json", "--seconds", "100").json["steps"][0]["depth_shoulder_mm"]
        == first["depth_shoulder_mm"]
    )
    target = tmp_path / "sheet.pdf"
    assert bobplan("sheet", turned, "-o", target, "--seconds", "100").code == 0
    pages = paper_checks.read_pages(target.read_bytes())
    words = paper_checks.all_words(pages).replace(" ", "")
    assert "thedialnumberisitsmiddle" in words
    numbers = paper_checks.big_numbers(pages[0])
    assert [value for label, value in numbers if label.startswith("stop")] == [
        f"{step['depth_shoulder_mm']:.1f}" for step in steps
    ]
    for page in pages:
        assert paper_checks.covered_letters(page) == []


def test_pinned_and_free_ones(bobplan: Run, turned: Path) -> None:
    pinned = bobplan(
        "plan",
        turned,
        "--no-store",
        "--json",
        "--fix",
        "turning 2 mm over 60 at 210 on A",
        "--fix",
        "flat 3 mm at 30 on F",
    )
    kinds = [
        (step["cut"], step["pinned"], step["sector_deg"]) for step in pinned.json["steps"] if step["pinned"]
    ]
    if kinds:
        assert sorted(kinds) == [("flat", True, None), ("rim turning", True, 60)]
    assert "rim turning 2.0 mm over 60 degrees on A" in " ".join(pinned.json["what_if"])
    free = bobplan(
        "done", "--kind", "bevel", "--sector", "60", "--depth", "2", "--on", "A", "--dial", "200", "--from", "rear",
        "--yes", "--unproved", "--seconds", "100", turned / "job.toml",
    )  # fmt: skip
    assert "bevel on A, middle at 200°, 2.0 mm off at the rear face, slope 45°, over 60°" in free.out
    assert 'face = "rear"' in (turned / "job.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("turning 2 mm at 200 on A", "has a sector"),
        ("flat 2 mm over 60 at 200 on A", "has no sector"),
        ("flat 2 mm at 200 on A, from rear", "only a bevel is on one face"),
        ("turning 90 mm over 60 at 200 on A", "leaves nothing"),
        ("turning 2 mm over 60 at 20 on A", "has no metal there"),
    ],
)
def test_wishes_that_can_not_be(typed: str, words: str, bobplan: Run, turned: Path) -> None:
    ran = bobplan("plan", turned, "--no-store", "--fix", typed)
    assert ran.code == 2
    assert words in ran.err


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (
            '{ counterweight = "A", cut = "rim turning", angle = 200, off = 2 }',
            "the whole angle that it goes over",
        ),
        ('{ counterweight = "A", cut = "flat", angle = 200, off = 2, sector = 30 }', "a flat has no sector"),
        (
            '{ counterweight = "A", cut = "flat", angle = 200, off = 2, diameter = 12 }',
            "a flat has no diameter",
        ),
        ('{ counterweight = "A", cut = "rim hole", angle = 200, depth = 12 }', "the diameter must be said"),
    ],
)
def test_files_that_can_not_be(line: str, words: str, bobplan: Run, turned: Path) -> None:
    path = turned / "job.toml"
    path.write_text(f"fixed_cuts = [ {line} ]\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    ran = bobplan("plan", turned)
    assert ran.code == 2
    assert words in ran.err.replace("\n  ", " ")


def test_a_disc_without_a_rim_can_not_be_turned(bobplan: Run, turned: Path) -> None:
    path = turned / "job.toml"
    text = path.read_text(encoding="utf-8")
    fan = 'outline = { shape = "fan", outer_radius = 88.0, half_angle = 58.0, inner_radius = 36.0 }'
    bare = "outline = { shape = 'points', points = [[36, -30], [80, -30], [80, 30], [36, 30]], inner_radius = 30.0 }"
    assert fan in text
    path.write_text(text.replace(fan, bare, 1), encoding="utf-8")
    ran = bobplan("plan", turned)
    assert ran.code == 2
    assert "to turn or mill a rim needs one" in ran.err.replace("\n  ", " ")


def test_an_old_hole_plugged_with_steel_is_planned_said_and_entered(bobplan: Run, example: Copied) -> None:
    """7.85e-3 x pi/4 x 20^2 x 24 x 72 = 4261 g*mm is missing at the hole: the display shows as much opposite of it."""
    path = example("cross_plane_v8") / "job.toml"
    text = path.read_text(encoding="utf-8")
    hole = 'existing = [ { cut = "face hole", angle = 198, diameter = 20, radius = 72, through = true } ]'
    text = text.replace('existing = [ { cut = "rim hole", angle = 171, diameter = 12, depth = 20 } ]', hole)
    text = text.replace('cuts = ["rim hole"]', 'cuts = ["rim hole", "plug"]', 1)
    text = text.replace("left = { amount = 3480, angle = 214 }", "left = { amount = 4250, angle = 18 }")
    path.write_text(text, encoding="utf-8")
    ran = bobplan("plan", path, "--seconds", "100")
    assert "plug on A at radius 72.0 mm" in ran.out, ran.out + ran.err
    assert "through, steel plug 24.0 mm long" in ran.out
    assert "Heavy metal: not needed" in ran.out
    (step,) = [
        each
        for each in bobplan("plan", path, "--json", "--seconds", "100").json["steps"]
        if each["cut"] == "plug"
    ]
    assert step["unbalance_gmm"] == pytest.approx(7.85e-3 * math.pi / 4 * 20**2 * 24 * 72, rel=1e-9)
    done = bobplan("done", path, str(step["number"]), "--yes", "--unproved", "--seconds", "100")
    assert "plug on A, 20 mm at 198°, radius 72.0 mm" in done.out, done.err
    assert 'cut = "plug"' in path.read_text(encoding="utf-8")
    assert all(
        each["cut"] != "plug" for each in bobplan("plan", path, "--json", "--seconds", "100").json["steps"]
    )
