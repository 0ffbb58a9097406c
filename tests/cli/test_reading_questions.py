"""Readings that can't be what they say are asked about before anything is planned or stored.  All data invented."""

from __future__ import annotations

import dataclasses
import io
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.benchmarks.first_spins import questioned
from tests.benchmarks.prove_settings import make_case
from tests.cli.conftest import Ran
from tests.fuzz.harness import SMALL

Bobplan = Callable[..., Ran]
Example = Callable[[str], Path]


def _spins(folder: Path) -> list[dict[str, Any]]:
    data = tomllib.loads((folder / "job.toml").read_text(encoding="utf-8"))
    spins: list[dict[str, Any]] = data.get("spins", [])
    return spins


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_no_stores_nothing_a_yes_is_remembered(
    bobplan: Bobplan, example: Example, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = example("cross_plane_v8")
    before = (folder / "job.toml").read_bytes()
    odd = ("spin", "3480", "34", "2910", "213", "--seconds", "1")
    monkeypatch.setattr(sys, "stdin", _Terminal("n\n"))
    ran = bobplan(*odd, folder=folder)
    assert ran.code == 1
    assert "QUESTION: this reading is odd" in ran.out
    assert "it would fit better if the angles of the two planes are exchanged" in ran.out
    assert "Nothing was entered." in ran.out
    assert "PLAN" not in ran.out
    assert (folder / "job.toml").read_bytes() == before
    monkeypatch.setattr(sys, "stdin", _Terminal("y\n"))
    bobplan(*odd, folder=folder)
    assert _spins(folder)[1]["as_read"] is True
    assert "this reading is odd" not in bobplan("plan", "--seconds", "1", folder=folder).out


def test_without_a_terminal_it_is_stored_but_not_planned(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    ran = bobplan("spin", "3480", "34", "2910", "213", folder=folder)
    assert ran.code == 1
    assert "QUESTION" in ran.out
    assert "`bobplan undo` takes it back" in ran.out
    assert len(_spins(folder)) == 2
    assert "plan" not in tomllib.loads((folder / "job.toml").read_text(encoding="utf-8"))
    stands = bobplan(folder=folder)
    assert stands.code == 1
    assert "QUESTION: this reading is odd" in stands.out


@pytest.mark.parametrize(
    ("numbers", "says"),
    [
        (("34800", "214", "2910", "33"), "the left amount has a slipped decimal point (ten times too large)"),
        (("3480", "214", "291", "33"), "the right amount has a slipped decimal point (ten times too small)"),
        (("3480", "214", "2910", "33"), "the very numbers of spin 1"),
        (("3475", "33", "2915", "33"), "the left angle is that of the right plane"),
        (("3475", "33", "2915", "214"), "the angles of the two planes are exchanged"),
        (("2915", "33", "3470", "214"), "the left and right plane are swapped"),
        (("4.83", "214", "4.04", "33"), "the display shows oz*in"),
    ],
)
def test_slips_are_named(numbers: tuple[str, ...], says: str, bobplan: Bobplan, example: Example) -> None:
    """The example read 3480 at 214 and 2910 at 33 and nothing was done since."""
    ran = bobplan("spin", *numbers, "--json", folder=example("cross_plane_v8"))
    assert ran.code == 1
    assert any(says in each for each in ran.json["questions"]), ran.json["questions"]
    assert ran.json["steps"] == []


def test_a_first_spin_of_40_2_for_4_02(bobplan: Bobplan, example: Example) -> None:
    """Ounce-inches, no spin before: the two sides and the size of the crankshaft say that a decimal slipped."""
    folder = example("external_balance_v8")
    path = folder / "job.toml"
    path.write_text(path.read_text(encoding="utf-8").split("[[spins]]")[0], encoding="utf-8")
    given = ("--bobs", "2218", "--mounted", "damper,flywheel")
    ran = bobplan("spin", "40.2", "205", "3.07", "12", *given, "--json", folder=folder)
    assert ran.code == 1
    assert any("the left amount has a slipped decimal point" in each for each in ran.json["questions"])


def test_what_it_was_built_for_foretells_the_first_spin(bobplan: Bobplan, example: Example) -> None:
    """Balanced for lighter bobs it must be heavy at the throws: no question; and with all turned round there is one.

    80 g more on throws 1 to 4 at 0, 90, 270, 180 degrees, radius 50.8 mm: at the planes 2.05 in and 18.45 in of
    throws at 3.74, 8.08, 12.42, 16.76 in by the lever rule.
    """
    import cmath
    import math

    folder = example("external_balance_v8")
    for name in ("job.toml", "shop.toml"):
        path = folder / name
        lines = [x for x in path.read_text(encoding="utf-8").splitlines(True) if not x.startswith("proved =")]
        path.write_text("".join(lines).split("[[spins]]")[0], encoding="utf-8")
    crank = folder / "crankshaft.toml"
    crank.write_text(
        crank.read_text(encoding="utf-8").replace(
            "service_speed_rpm = 5500", 'service_speed_rpm = 5500\nbuilt_for_bob = "2138 g"'
        ),
        encoding="utf-8",
    )
    left = right = 0j
    for angle, z in ((0, 3.74), (90, 8.08), (270, 12.42), (180, 16.76)):
        u = cmath.rect(80.0 * 50.8 / (28.349523125 * 25.4), math.radians(angle))
        left, right = left + u * (18.45 - z) / 16.4, right + u * (z - 2.05) / 16.4

    def typed(turn: float) -> list[str]:
        return [
            f"{v:.2f}"
            for each in (left, right)
            for v in (abs(each), (math.degrees(cmath.phase(each)) + turn) % 360.0)
        ]

    given = ("--bobs", "2218 g", "--mounted", "damper,flywheel", "--json", "--seconds", "1")
    before = (folder / "job.toml").read_bytes()
    right_way = bobplan("spin", *typed(0.0), *given, folder=folder).json
    assert not any("odd for this crankshaft" in each for each in right_way["questions"])
    (folder / "job.toml").write_bytes(before)
    wrong_way = bobplan("spin", *typed(180.0), *given, folder=folder).json
    assert any("heavy and light spot are swapped" in each for each in wrong_way["questions"])


@pytest.mark.parametrize("seed", range(40, 52))
def test_right_first_spins_are_not_questioned(seed: int, tmp_path: Path) -> None:
    """A sample; `python -m tests.benchmarks.first_spins` measures how rare a false question is."""
    case = make_case(seed, "")
    assert not questioned(case, "", tmp_path)[0]


@pytest.mark.parametrize("unit", ["g*mm", "oz*in"])
def test_a_wrong_unit_is_questioned_at_the_first_spin(unit: str, tmp_path: Path) -> None:
    case = make_case(61, "")
    true = dataclasses.replace(case.true, shows="unbalance", unit=unit)
    said = dataclasses.replace(true, unit="oz*in" if unit == "g*mm" else "g*mm")
    asked, first = questioned(dataclasses.replace(case, true=true, said=said), "", tmp_path)
    assert asked
    assert first in ("unit", "")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (
            ("86", "214", "840", "33"),
            "the left amount was typed ten times too small: 86.0 g*mm instead of 860 g*mm",
        ),
        (
            ("860", "214", "8400", "33"),
            "the right amount was typed ten times too large: 8400 g*mm instead of 840 g*mm",
        ),
    ],
)
def test_a_slipped_point_after_cuts_is_blamed_on_no_bob(
    bobplan: Bobplan, example: Example, typed: tuple[str, ...], words: str
) -> None:
    """Both holes are stopped short; what is left is 861 and 835 g*mm, foretold by the program and typed with a slip."""
    folder = example("cross_plane_v8")
    assert bobplan("plan", folder=folder).code == 0
    for step, depth in (("1", "20"), ("2", "15")):
        assert bobplan("done", step, "--depth", depth, "--yes", "--unproved", folder=folder).code in (0, 1)
    ran = bobplan("spin", *typed, "--bobs", "1724", folder=folder)
    assert ran.code == 1
    assert f"WHAT WENT WRONG: {words}" in ran.out
    assert "look at the display again" in ran.out
    # who has looked is not doubted for that again
    bobplan("undo", "--yes", folder=folder)
    ran = bobplan("spin", *typed, "--bobs", "1724", "--yes", folder=folder)
    assert "typed ten times" not in ran.out


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def _odd_job(folder: Path) -> Path:
    """A centre of mass behind the rear bearing, and a crankshaft of 400 kg: unusual, and possible (invented)."""
    path = folder / "job.toml"
    path.write_text(
        SMALL.replace('mass = "12 kg"', 'mass = "400 kg"\ncentre_of_mass_z = 330') + "as_read = true\n",
        encoding="utf-8",
    )
    return path


def test_what_the_files_say_is_asked_about_once(
    bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = _odd_job(tmp_path)
    before = path.read_text(encoding="utf-8")
    # a no leaves everything as it was
    monkeypatch.setattr(sys, "stdin", _Terminal("n\n"))
    ran = bobplan("spin", "300", "190", "250", "10")
    assert ran.code == 1
    assert ran.out.count("QUESTION:") == 2
    assert path.read_text(encoding="utf-8") == before
    # a yes is remembered, beside what stands there
    monkeypatch.setattr(sys, "stdin", _Terminal("y\n"))
    assert "QUESTION:" in bobplan("plan").out
    said = tomllib.loads(path.read_text(encoding="utf-8"))["plausible"]
    assert said == {"crankshaft_mass": "400 kg", "centre_of_mass_outside": True}
    assert path.read_text(encoding="utf-8").startswith(before.rstrip("\n"))
    # not asked again: this terminal has no answers
    monkeypatch.setattr(sys, "stdin", _Terminal(""))
    for command in ((), ("plan",), ("check",)):
        assert "QUESTION:" not in bobplan(*command).out, command


def test_and_by_a_word_where_nobody_sits(bobplan: Bobplan, tmp_path: Path) -> None:
    path = _odd_job(tmp_path)
    text = path.read_text(encoding="utf-8") + '\n[plausible]\ncrankshaft_mass = "350 kg"\n'
    path.write_text(text, encoding="utf-8")
    assert bobplan("plan", "--no-store").out.count("QUESTION:") == 2
    ran = bobplan("plan", "--as-stated", "--no-store")
    assert "remembered under [plausible] of job.toml" in ran.err
    assert tomllib.loads(path.read_text(encoding="utf-8"))["plausible"] == {
        "crankshaft_mass": ["350 kg", "400 kg"],
        "centre_of_mass_outside": True,
    }
    assert "QUESTION:" not in bobplan("plan").out
