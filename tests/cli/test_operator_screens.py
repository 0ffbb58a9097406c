"""What an operator at the machine stumbled over, screen by screen.  All data invented."""

from __future__ import annotations

import cmath
import math
import re
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Ran

Bobplan = Callable[..., Ran]
Example = Callable[[str], Path]


def change(folder: Path, *pairs: tuple[str, str], file: str = "job.toml") -> None:
    path = folder / file
    text = path.read_text(encoding="utf-8")
    for pattern, new in pairs:
        text, count = re.subn(pattern, new, text, flags=re.MULTILINE)
        assert count, pattern
    path.write_text(text, encoding="utf-8")


class TestNothingFits:
    def test_of_drills_that_are_too_wide(self, bobplan: Bobplan, example: Example) -> None:
        """Counterweights of 15 mm with walls of 3 mm have room for 9 mm: a 12 mm drill fits nowhere, a 9 mm drill does."""
        folder = example("cross_plane_v8")
        change(
            folder,
            (r"^thickness = .*", "thickness = 15"),
            (r"^drills = .*", "drills = [12, 14]"),
            (r"^existing = .*\n", ""),
        )
        ran = bobplan("plan", folder=folder)
        assert ran.code == 1
        assert "NO PLAN IS POSSIBLE" not in ran.out
        assert (
            "NOTHING CAN BE CUT: no counterweight has room for the drills at hand (12 mm, 14 mm) with walls of 3.0 mm"
        ) in ran.out
        assert "Room between the walls, along the shaft: 9.0 mm on each." in ran.out
        assert "What would fit: a 9 mm drill, on A, B, C, D, E, F" in ran.out
        told = bobplan("plan", "--json", folder=folder).json
        assert told["steps"] == []
        assert told["nothing_fits"]["would_fit_mm"] == 9.0
        assert told["nothing_fits"]["fits_on"] == ["A", "B", "C", "D", "E", "F"]
        assert told["nothing_fits"]["room_mm"]["A"] == 9.0
        # and it is true: with that drill there are cuts
        other = bobplan("plan", "--drill", "9 mm", "--json", folder=folder).json
        assert other["nothing_fits"] is None
        ran = bobplan("sheet", "-o", "sheet.html", folder=folder)
        assert "NOTHING CAN BE CUT" in (folder / "sheet.html").read_text(encoding="utf-8")

    def test_where_no_counterweight_may_be_cut(self, bobplan: Bobplan, example: Example) -> None:
        ran = bobplan("plan", *(f"--forbid={name}" for name in "ABCDEF"), folder=example("cross_plane_v8"))
        assert ran.code == 1
        assert "NOTHING CAN BE CUT: no counterweight may be cut" in ran.out

    def test_not_said_where_something_fits(self, bobplan: Bobplan, example: Example) -> None:
        folder = example("cross_plane_v8")
        others = [f"--forbid={name}" for name in "ACDEF"]
        told = bobplan("plan", *others, "--json", "--no-store", folder=folder).json
        assert not told["feasible"]
        assert told["nothing_fits"] is None


PROOF = (
    *("--reading", "7804.4 205.1 2910 33 198"),
    *("--reading", "2815.7 178.9 4585.1 56.7 88"),
)
"""50 g on the rims of A and D, added by hand (see `test_prove_command`)."""


def proved(bobplan: Bobplan, folder: Path, *more: str) -> Ran:
    places = ("--at", "counterweight A", "--at", "counterweight D")
    return bobplan("prove", *places, "--mass", "50 g", *PROOF, "--yes", *more, folder=folder)


class TestAfterAProof:
    def test_what_a_new_check_speaks_against_is_not_called_proved(
        self, bobplan: Bobplan, example: Example
    ) -> None:
        """The example is proved; a reading that fits another zero makes that one doubtful, not the others."""
        folder = example("cross_plane_v8")
        # the mass of A read 18 degrees early: 3480 at 214 and 4400 at 180 instead of 198, added by hand
        with_it = cmath.rect(3480, math.radians(214)) - 4400
        left = f"{abs(with_it):.1f} {math.degrees(cmath.phase(with_it)) % 360:.1f}"
        check = ("--at", "counterweight A", "--mass", "50 g", "--reading", f"{left} 2910 33 180")
        out = bobplan("prove", *check, folder=folder).out
        assert "WRONG: the zero mark is off" in out
        assert re.search(r"zero mark +in doubt", out)
        assert re.search(r"plane order +proved", out)

    def test_undo_knows_that_the_cut_came_last(self, bobplan: Bobplan, example: Example) -> None:
        """The cut comes after the check spins: it was an error that said "not recorded" before."""
        folder = example("cross_plane_v8")
        assert proved(bobplan, folder).code == 0
        bobplan("plan", folder=folder)
        assert bobplan("done", "1", "--unproved", folder=folder).code == 0
        ran = bobplan("undo", folder=folder)
        assert ran.code == 0, ran.err
        # by what was dialled and set, not by the keys of the file
        assert re.search(
            r"Taken back: cut 1: rim hole on A, 16 mm at 21\d°, [\d.]+ mm on the stop\.", ran.out
        )
        assert "cuts_made" not in tomllib.loads((folder / "job.toml").read_text(encoding="utf-8"))
        # with the cut gone a check spin is the newest again
        assert bobplan("undo", "--yes", folder=folder).out.startswith("Taken back: spin 3")

    def test_what_was_proved_keeps_its_name(self, bobplan: Bobplan, example: Example) -> None:
        """A scribed line added later is no new proof: who proved the rest stays."""
        folder = example("cross_plane_v8")
        ran = proved(bobplan, folder, "--by", "K")
        assert "Take the known mass off" in ran.out
        assert bobplan("prove", "--line", "throw 1 = 0", "--yes", folder=folder).code == 0
        assert 'by = "K"' in (folder / "job.toml").read_text(encoding="utf-8")

    def test_the_line_stands_before_what_follows_from_it(self, bobplan: Bobplan, example: Example) -> None:
        folder = example("cross_plane_v8")
        proved(bobplan, folder)
        out = bobplan("prove", "--line", "throw 1 = 0", folder=folder).out
        assert out.index("throw 1 under the drill") < out.index("Proved:")


def test_a_flat_crankshaft_says_how_its_direction_is_proved(bobplan: Bobplan, example: Example) -> None:
    """All its named places lie in one line; a mass beside one of them proves what they can't."""
    folder = example("cross_plane_v8")
    path = folder / "job.toml"

    def flat(found: re.Match[str]) -> str:
        return f"angle = {180 if 90 < float(found[1]) <= 270 else 0}"

    path.write_text(
        re.sub(r"(?m)^angle = ([\d.]+)$", flat, path.read_text(encoding="utf-8")), encoding="utf-8"
    )
    # 50 g at 88 mm on A, which stands at 180 in the left plane; what is read there is 3480 at 214
    with_it = cmath.rect(3480, math.radians(214)) - 4400
    left = f"{abs(with_it):.1f} {math.degrees(cmath.phase(with_it)) % 360:.1f}"
    ran = bobplan(
        "prove",
        "--at",
        "counterweight A",
        "--mass",
        "50 g",
        "--reading",
        f"{left} 2910 33 180",
        folder=folder,
    )
    assert "All throws and counterweights of this crankshaft lie in one line" in ran.out
    assert "--known-offset 45" in ran.out


@pytest.mark.parametrize("short_mm", [4.0, 8.0])
def test_a_hole_stopped_short_is_drilled_on(bobplan: Bobplan, example: Example, short_mm: float) -> None:
    """Whoever stops early goes on in the same hole, to the depth that was planned; the other cut keeps number and dial."""
    folder = example("cross_plane_v8")
    one, two = bobplan("plan", "--json", folder=folder).json["steps"]
    bobplan("done", "1", "--depth", f"{one['stop_mm'] - short_mm}", "--yes", "--unproved", folder=folder)
    rest = {step["number"]: step for step in bobplan("plan", "--json", folder=folder).json["steps"]}
    deeper = rest.pop(3)
    assert deeper["counterweight"] == one["counterweight"]
    assert deeper["dial_deg"] == one["dial_deg"]
    assert deeper["stop_mm"] == one["stop_mm"]
    assert (rest[2]["dial_deg"], rest[2]["stop_mm"]) == (two["dial_deg"], two["stop_mm"])
    # it can be entered by that number
    ran = bobplan("done", "3", folder=folder)
    assert ran.code == 0, ran.err
    assert "hole 1 on A, deeper" in ran.out


def test_examples_of_sizes_are_in_the_job_s_unit() -> None:
    from planner.jobfile.new_job.questions import questions

    def asked(units: str) -> dict[str, str]:
        answers = {"units": units}
        found = questions(answers, ask_shop=False, ask_crankshaft=True, opposite_deg=lambda _: None)
        return {question.key: question.text for question in found}

    metric, inches = asked("mm"), asked("in")
    for key in ("tolerance", "damper", "flywheel"):
        assert metric[key] != inches[key]
    assert "z 545" in metric["flywheel"]
    assert "z 21.5" in inches["flywheel"]
    assert "mm" not in inches["tolerance"]


def test_what_decides_is_a_look_where_only_a_slip_fits(bobplan: Bobplan, example: Example) -> None:
    """A hole on the wrong side of the centre line: no known mass shows that, so none is asked for."""
    folder = example("cross_plane_v8")
    one, two = bobplan("plan", "--json", folder=folder).json["steps"]
    bobplan("done", "1", "2", "--unproved", folder=folder)
    # the hole on A as far on the other side, from 214 to 182, that on F as printed; what they take are the plan's figures
    read = [cmath.rect(3480, math.radians(214)), cmath.rect(2910, math.radians(33))]
    for step, dial in ((one, 2 * 198.0 - one["dial_deg"]), (two, two["dial_deg"])):
        for side, z in enumerate((52.0, 468.0)):
            share = 1.0 - abs(step["z_mm"] - z) / 416.0
            read[side] += share * step["unbalance_gmm"] * cmath.rect(1.0, math.radians(dial))
    typed = [f"{part:.1f}" for v in read for part in (abs(v), math.degrees(cmath.phase(v)) % 360.0)]
    ran = bobplan("spin", *typed, "--yes", folder=folder)
    assert ran.code == 1
    assert "on the wrong side" in ran.out
    assert "NO CUT LIST" in ran.out
    assert "What decides: the look named above" in ran.out
    assert "bobplan undo --cut" in ran.out
    assert "a known mass tests every setting" not in ran.out
    standing = bobplan(folder=folder).out
    assert "`bobplan history` says what fits and what to look at" in standing
