"""The record spin after spin, what went wrong, and taking entries back.  All data invented."""

from __future__ import annotations

import cmath
import math
import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Ran

Bobplan = Callable[..., Ran]
Example = Callable[[str], Path]


def _file(folder: Path) -> dict[str, Any]:
    return tomllib.loads((folder / "job.toml").read_text(encoding="utf-8"))


def _vectors(rows: list[dict[str, float]]) -> list[complex]:
    return [cmath.rect(row["amount_gmm"], math.radians(row["angle_deg"])) for row in rows]


def _numbers(vectors: list[complex]) -> list[str]:
    return [f"{value:.5f}" for v in vectors for value in (abs(v), math.degrees(cmath.phase(v)))]


@pytest.fixture
def cut(bobplan: Bobplan, example: Example) -> tuple[Path, list[complex], list[complex]]:
    """Return a job whose cuts of the first plan are made, the first reading and the foretold change.

    The heavy spots are 60 degrees from one line, so that direction and zero mark can be told apart.
    """
    folder = example("cross_plane_v8")
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("right = { amount = 2910, angle = 33 }", "right = { amount = 2300, angle = 335 }"),
        encoding="utf-8",
    )
    plan = bobplan("plan", "--json", folder=folder).json
    for step in plan["steps"]:
        bobplan("done", step["number"], folder=folder)
    before = _vectors(plan["reading"])
    foretold = [cmath.rect(row["amount"], math.radians(row["angle_deg"])) for row in plan["foretold"]]
    return folder, before, [after - first for after, first in zip(foretold, before, strict=True)]


@pytest.mark.parametrize(
    ("change", "kind", "words"),
    [
        (lambda left, right: (left, right), "fine", "The change is as foretold within the errors"),
        (lambda left, right: (-left, -right), "swapped spot", "heavy and light spot are swapped"),
        (
            lambda left, right: (left.conjugate(), right.conjugate()),
            "reversed direction",
            "the angle direction is reversed",
        ),
        (lambda left, right: (right, left), "swapped planes", "the left and right plane are swapped"),
        (lambda left, right: (left * 1j, right * 1j), "zero mark", "the zero mark is off by 90 degrees"),
        (
            lambda left, right: (0.8 * left, 0.8 * right),
            # with the shop's next smaller drill they would have removed about as much
            "scale, other drill",
            "0.8 times the foretold one: cuts too shallow",
        ),
    ],
)
def test_spin_and_history_say_what_went_wrong(
    change: Callable[[complex, complex], tuple[complex, complex]],
    kind: str,
    words: str,
    bobplan: Bobplan,
    cut: tuple[Path, list[complex], list[complex]],
) -> None:
    folder, before, foretold = cut
    left, right = change(foretold[0], foretold[1])
    ran = bobplan(
        "spin", *_numbers([before[0] + left, before[1] + right]), "--yes", "--seconds", "1", folder=folder
    )
    assert words in ran.out
    told = bobplan("history", "--json", folder=folder).json
    diagnosis = told["spins"][1]["diagnosis"]
    assert ", ".join(each["kind"] for each in diagnosis["explanations"]) == kind
    assert diagnosis["settled"] is (", " not in kind)
    assert diagnosis["against_settings"] is (kind not in ("fine", "scale, other drill"))
    assert words in bobplan("history", folder=folder).out


def test_a_bob_that_came_loose(bobplan: Bobplan, cut: tuple[Path, list[complex], list[complex]]) -> None:
    """15 g off throw 2 (90 degrees, z 205, radius 44.2) between planes 52 and 468."""
    folder, before, foretold = cut
    share = (468.0 - 205.0) / (468.0 - 52.0)
    lost = -40.0 * 44.2 * 1j
    after = [before[0] + foretold[0] + share * lost, before[1] + foretold[1] + (1 - share) * lost]
    out = bobplan("spin", *_numbers(after), "--yes", "--seconds", "1", folder=folder).out
    assert "the bob on throw 2 is 40 g lighter than it was" in out
    assert "weigh and clamp the bobs again" in out


def test_on_one_line_the_answer_is_a_list_and_an_experiment(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    bobplan("plan", folder=folder)
    # one cut only: both planes change along one line
    bobplan("done", "1", "--json", folder=folder)
    first = [cmath.rect(3480.0, math.radians(214.0)), cmath.rect(2910.0, math.radians(33.0))]
    made = bobplan("plan", "--json", folder=folder).json["made_shift"]
    change = [vector.conjugate() for vector in _vectors(made)]
    after = [a + b for a, b in zip(first, change, strict=True)]
    ran = bobplan("spin", *_numbers(after), "--yes", "--seconds", "1", folder=folder)
    assert "the angle direction is reversed" in ran.out
    assert "the zero mark is off by" in ran.out
    assert "The cheapest way to decide: one spin with a known mass" in ran.out
    kinds = bobplan("history", "--json", folder=folder).json["spins"][1]["diagnosis"]["explanations"]
    assert {each["kind"] for each in kinds} >= {"reversed direction", "zero mark"}


def test_history_shows_reading_foretold_difference_cuts_and_verdict(
    bobplan: Bobplan, cut: tuple[Path, list[complex], list[complex]]
) -> None:
    folder, before, foretold = cut
    after = [a + b for a, b in zip(before, foretold, strict=True)]
    bobplan("spin", *_numbers([after[0] + 30.0, after[1]]), folder=folder)
    told = bobplan("history", "--json", folder=folder).json
    one, two = told["spins"]
    assert one["verdict"] == "out of tolerance"
    assert one["foretold"] is None
    assert len(one["cuts_after"]) >= 2
    assert two["verdict"] == "in tolerance"
    for shown, expected in zip(_vectors(two["foretold"]), after, strict=True):
        assert shown == pytest.approx(expected, abs=0.01)
    assert _vectors(two["difference"])[0] == pytest.approx(30.0, abs=0.01)
    text = bobplan("history", folder=folder).out
    for words in (
        "SPIN 1 (bobs 1724.0 g on every throw, 500 rpm)",
        "foretold",
        "difference",
        "cut 1: rim hole on A, dial 2",
        "Limit: G 16",
    ):
        assert words in text


def test_history_of_a_job_without_spins(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    path = folder / "job.toml"
    path.write_text(path.read_text(encoding="utf-8").split("[[spins]]")[0], encoding="utf-8")
    assert "There is no spin yet" in bobplan("history", folder=folder).out
    assert bobplan("undo", folder=folder).code == 2


def test_repeats_and_checks_are_told_apart(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    bobplan("spin", "3490", "214", "2900", "33", "--repeat", folder=folder)
    check = ("--known-mass", "20", "--known-radius", "85", "--known-at", "throw 1", "--known-z", "120")
    bobplan("spin", "2400", "224", "3190", "30", *check, folder=folder)
    text = bobplan("history", folder=folder).out
    assert "SPIN 2, repeats the one before" in text
    assert "mean of 2 spins" in text
    assert "SPIN 3, a check with a known mass" in text
    assert "20.0 g at radius 85.0 mm" in text


def test_undo_takes_back_the_last_entry_and_says_what_comes_next(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    bobplan("plan", folder=folder)
    bobplan("done", "1", folder=folder)
    bobplan("spin", "34.8", "214", "2910", "33", "--yes", folder=folder)
    ran = bobplan("undo", "--yes", "--note", "a zero too few", folder=folder)
    assert ran.code == 0, ran.err
    assert "Taken back: spin 2 (a zero too few)" in ran.out
    assert "left 34.8 g*mm at 214°, right 2910 g*mm at 33°" in ran.out
    assert len(_file(folder)["spins"]) == 1
    # the cut stands, and is the newest entry now
    again = bobplan("undo", "--json", folder=folder).json
    assert (again["what"], again["number"]) == ("cut", 1)
    assert "cuts_made" not in _file(folder)
    assert [each["what"] for each in _file(folder)["undone"]] == ["spin", "cut"]
    assert "Taken back:\n  spin 2 (a zero too few)" in bobplan("history", folder=folder).out
    # and the job goes on as it was
    assert len(bobplan("plan", "--json", folder=folder).json["steps"]) == 2


def test_undo_by_number(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    bobplan("plan", folder=folder)
    bobplan("done", "1", "2", folder=folder)
    assert bobplan("undo", "--cut", "1", folder=folder).code == 0
    assert [each["step"] for each in _file(folder)["cuts_made"]] == [2]
    refused = bobplan("undo", "--spin", "4", folder=folder)
    assert refused.code == 2
    assert "there is no spin 4" in refused.err
    assert bobplan("undo", "--spin", "1", "--cut", "1", folder=folder).code == 2


def test_the_working_of_the_record_adds_up(bobplan: Bobplan, example: Example) -> None:
    """What is printed is summed again: before + cuts + bobs = foretold, read - foretold = what it missed by."""
    folder = example("cross_plane_v8")
    assert bobplan("plan", folder=folder).code == 0
    assert bobplan("done", "1", "2", "--yes", "--unproved", folder=folder).code in (0, 1)
    assert bobplan("spin", "30", "210", "35", "30", "--bobs", "1724.5", "--yes", folder=folder).code == 0
    work = "\n".join(bobplan("history", "--show-work", "--json", folder=folder).json["working"])
    assert bobplan("history", "--show-work", folder=folder).out.rstrip("\n").endswith(work)
    second = work.split("SPIN 2\n")[1]
    pair = r"X ([+-][\d.]+)  Y ([+-][\d.]+)"

    def vector(pattern: str) -> complex:
        found = re.search(pattern, second)
        assert found is not None, pattern
        return complex(float(found[1]), float(found[2]))

    for side, amount, angle in (("left", 30.0, 210.0), ("right", 35.0, 30.0)):
        read = vector(rf"{side} read: {pair}")
        assert abs(read - cmath.rect(amount, math.radians(angle))) < 0.15
        before, bobs = (
            vector(rf"{side} foretold: before {pair}"),
            vector(rf"{side} foretold: .*parts \({pair}"),
        )
        cuts = sum(
            complex(float(x), float(y))
            for x, y in re.findall(rf"cut \d+: .*?{side} x [\d.]+: {pair}", second)
        )
        foretold = vector(rf"{side} foretold: .*\) = {pair}; read")
        assert abs(before + cuts + bobs - foretold) < 0.3
        assert abs(read - foretold - vector(rf"{side} foretold: .*read - foretold = {pair}")) < 0.2
    assert "U = 21.2" in second
