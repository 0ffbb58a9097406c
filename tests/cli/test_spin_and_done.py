"""The act at the machine: spins entered, cuts entered, plans kept or made anew.  All data invented."""

from __future__ import annotations

import cmath
import math
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


def test_a_spin_says_where_the_heavy_spot_is_and_is_written(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    before = (folder / "job.toml").read_text(encoding="utf-8")
    ran = bobplan("spin", "1500", "205", "1320", "12", folder=folder)
    assert ran.code == 0, ran.err
    # by hand, bobs still wanted 20 g*mm at 48.9 and 22 g*mm at 178.9: 1500 + 20 cos 156.1 and atan of 20 sin 156.1 on that;
    # the centre lines of A and F are at 198 and 18
    assert (
        "left: 1482 g*mm heavy at 204.7°, 6.7° from the centre line of counterweight A, toward higher numbers"
        in ran.out
    )
    assert (
        "right: 1299 g*mm heavy at 12.2°, 5.8° from the centre line of counterweight F, toward lower numbers"
        in ran.out
    )
    # said once, not once as read and once as it is to be corrected
    assert ran.out.count("heavy at") == 2
    assert "PLAN:" in ran.out
    written = _file(folder)
    assert len(written["spins"]) == 2
    assert written["spins"][1]["left"] == {"amount": 1500, "angle": 205}
    assert written["spins"][1]["bobs"] == 1724
    assert written["plan"]["after_spin"] == 2
    # comments and order are kept
    head = before.split("[[spins]]")[0]
    assert (folder / "job.toml").read_text(encoding="utf-8").startswith(head)


def test_numbers_are_in_the_jobs_units(bobplan: Bobplan, example: Example) -> None:
    folder = example("external_balance_v8")
    ran = bobplan("spin", "5.85", "205", "5.07", "12", folder=folder)
    assert ran.code == 0, ran.err
    # 198 is the front counterweight's centre line
    assert "left: 5.85 oz*in heavy at 205°, 7° from the centre line of counterweight front" in ran.out


def test_bobs_must_be_said_for_the_first_spin(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    path = folder / "job.toml"
    path.write_text(path.read_text(encoding="utf-8").split("[[spins]]")[0], encoding="utf-8")
    refused = bobplan("spin", "1500", "205", "1320", "12", folder=folder)
    assert refused.code == 2
    assert "--bobs" in refused.err
    assert "spins" not in _file(folder)
    taken = bobplan(
        "spin", "1500", "205", "1320", "12", "--bobs", "1=1720,2=1721,3=1722,4=1723", folder=folder
    )
    assert taken.code == 0, taken.err
    assert _file(folder)["spins"][0]["bobs"] == {"1": 1720, "2": 1721, "3": 1722, "4": 1723}


def test_repeats_are_averaged(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    ran = bobplan("spin", "3500", "216", "2910", "33", "--repeat", "--json", folder=folder)
    plan = ran.json
    assert plan["spins_averaged"] == 2
    assert plan["reading"][0]["angle_deg"] == pytest.approx(215.0, abs=0.1)
    assert plan["reading_scatter_gmm"][0] > 0
    assert _file(folder)["spins"][1]["repeat"] is True


def test_done_as_planned_keeps_the_other_steps(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    plan = bobplan("plan", "--json", folder=folder).json
    assert [step["number"] for step in plan["steps"]] == [1, 2]
    after = bobplan("done", "1", "--json", folder=folder).json
    assert [step["number"] for step in after["steps"]] == [2]
    assert after["steps"][0] == plan["steps"][1]
    for now, then in zip(after["foretold"], plan["foretold"], strict=True):
        assert now["amount"] == pytest.approx(then["amount"], rel=1e-6)
    rest = bobplan("done", "2", folder=folder)
    assert rest.code == 0
    assert "Nothing to cut" in rest.out
    stands = bobplan(folder=folder)
    assert "limits should be met" in stands.out


def test_done_otherwise_plans_the_rest_under_new_numbers(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    plan = bobplan("plan", "--json", folder=folder).json
    stop = plan["steps"][0]["stop_mm"] - 1.5
    after = bobplan("done", "1", "--depth", f"{stop} mm", "--json", folder=folder).json
    assert all(step["number"] > 2 for step in after["steps"])
    assert _file(folder)["cuts_made"][0]["depth"] == stop
    # and it stays so when it is shown again
    again = bobplan("plan", "--json", folder=folder).json
    assert again["steps"] == after["steps"]
    # the made cut is metal gone: the sum says so
    assert after["made_shift"][0]["amount_gmm"] > 1000


def test_done_warns_to_stop_when_metal_is_over(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    bobplan("plan", folder=folder)
    ran = bobplan("done", "1", "--depth", "40", "--yes", folder=folder)
    assert "STOP: on the left side" in ran.out


def test_done_warns_of_a_cut_that_ran_into_an_old_hole(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")  # counterweight A has an old hole at 171 degrees
    bobplan("plan", folder=folder)
    assert "breaks a rule" not in bobplan("done", "2", folder=folder).out
    ran = bobplan("done", "1", "--angle", "175", "--json", "--yes", folder=folder)
    assert any("into old rim hole" in each and "counted again" in each for each in ran.json["warnings"])


@pytest.mark.parametrize(
    ("given", "message"),
    [
        (("2", "2"), "step 2 is named twice"),
        (("2", "--angle", "900"), "allowed -360 to 360 degrees"),
    ],
)
def test_cuts_that_cannot_have_been_made(
    bobplan: Bobplan, example: Example, given: tuple[str, ...], message: str
) -> None:
    folder = example("cross_plane_v8")
    bobplan("plan", folder=folder)
    before = (folder / "job.toml").read_bytes()
    ran = bobplan("done", *given, folder=folder)
    assert ran.code == 2
    assert message in ran.err
    assert (folder / "job.toml").read_bytes() == before


def test_what_is_left_after_a_cut_is_not_questioned(bobplan: Bobplan, example: Example) -> None:
    """An odd reading is asked about while it is a reading; what is left after a cut may be anything."""
    folder = example("external_balance_v8")
    path = folder / "job.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("7.07", "0.35"), encoding="utf-8")
    assert bobplan("plan", "--json", folder=folder).json["questions"]
    assert bobplan("done", "1", "--json", folder=folder).json["questions"] == []
    assert bobplan("spin", "0.1", "90", "0.1", "200", "--json", folder=folder).json["questions"] == []


def test_done_knows_its_steps(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    assert bobplan("done", "1", folder=folder).code == 2  # no plan yet
    bobplan("plan", folder=folder)
    ran = bobplan("done", "7", folder=folder)
    assert ran.code == 2
    assert "there is no step 7 left to make" in ran.err
    assert "steps left: 1, 2" in ran.err
    assert "cuts_made" not in _file(folder)


def test_the_next_spin_is_compared_with_what_was_foretold(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    plan = bobplan("plan", "--json", folder=folder).json
    bobplan("done", "1", folder=folder)
    bobplan("done", "2", folder=folder)
    numbers = [f"{plan['foretold'][i][key]:.6f}" for i in (0, 1) for key in ("amount", "angle_deg")]
    ran = bobplan("spin", *numbers, "--json", folder=folder)
    before = ran.json["foretold_before"]
    assert before["cuts_between"] == 2
    for expected, measured in zip(before["expected"], before["measured"], strict=True):
        assert measured["amount_gmm"] == pytest.approx(expected["amount_gmm"], abs=1e-4)
    assert ran.json["feasible"] is True
    assert ran.json["steps"] == []


def test_a_spin_after_cuts_that_were_not_entered_is_noticed(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    plan = bobplan("plan", "--json", folder=folder).json
    numbers = [f"{plan['foretold'][i][key]:.3f}" for i in (0, 1) for key in ("amount", "angle_deg")]
    ran = bobplan("spin", *numbers, folder=folder)
    assert (
        "Steps 1 and 2 of the plan for spin 1 are not entered as made, but the reading looks as if cut"
        in ran.out
    )
    # nobody is there to answer, so nothing is planned on it
    assert ran.code == 1
    assert "NO CUT LIST" in ran.out
    assert "VERDICT" not in ran.out
    assert "no cut list" in bobplan(folder=folder).out
    # with a word that the reading is right it is planned on
    bobplan("undo", "--yes", folder=folder)
    assert "VERDICT" in bobplan("spin", *numbers, "--yes", folder=folder).out
    # what it advises: the same plan again, and the cuts in the file
    bobplan("undo", "--yes", folder=folder)
    assert bobplan("plan", "--json", folder=folder).json["steps"] == plan["steps"]
    bobplan("spin", *numbers, "--cut-as-planned", folder=folder)
    assert [made["step"] for made in _file(folder)["cuts_made"]] == [1, 2]


def test_cut_as_planned_enters_the_steps_first(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    plan = bobplan("plan", "--json", folder=folder).json
    numbers = [f"{plan['foretold'][i][key]:.3f}" for i in (0, 1) for key in ("amount", "angle_deg")]
    ran = bobplan("spin", *numbers, "--cut-as-planned", folder=folder)
    assert ran.code == 0, ran.err
    assert [cut["step"] for cut in _file(folder)["cuts_made"]] == [1, 2]
    assert "foretold" in ran.out


def test_a_unit_slip_is_questioned(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    ran = bobplan("spin", "4.85", "205", "4.07", "12", folder=folder)
    assert "QUESTION:" in ran.out
    assert "720 times" in ran.out
    assert len(_file(folder)["spins"]) == 2  # nothing typed is lost


def test_a_swapped_spot_is_questioned(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    ran = bobplan("spin", "3480", "34", "2910", "213", folder=folder)
    assert "far from every counterweight" in ran.out
    assert ran.code == 1


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            lambda left, right: (left, right),
            "Proved: direction and viewing end, zero mark, heavy or light spot, plane",
        ),
        (lambda left, right: (-left, -right), "heavy and light spot are swapped"),
        (lambda left, right: (right, left), "the left and right plane are swapped"),
        (lambda left, right: (left.conjugate(), right.conjugate()), "the angle direction is reversed"),
        (lambda left, right: (left / 10, right / 10), "the display shows g*cm, not g*mm"),
    ],
)
def test_known_masses_at_two_places_settle_it(
    change: Callable[[complex, complex], tuple[complex, complex]],
    words: str,
    bobplan: Bobplan,
    example: Example,
) -> None:
    """40 g at 85 mm, z 120 mm, at throws 1 and 2; the machine of the example has its zero at throw 1.

    Everything the machine shows is changed alike, the reading without the mass too; the number at the pointer shows 0
    and 90, or 270 on a machine that counts backwards.
    """
    folder = example("cross_plane_v8")
    true = [cmath.rect(3480, math.radians(214)), cmath.rect(2910, math.radians(33))]

    def numbers(left: complex, right: complex) -> list[str]:
        shown = change(left, right)
        return [f"{value:.4f}" for v in shown for value in (abs(v), math.degrees(cmath.phase(v)))]

    bobplan("spin", *numbers(true[0], true[1]), "--yes", folder=folder)
    out = ""
    back = "reversed" in words
    for throw, place in ((1, 0.0), (2, 90.0)):
        mass = cmath.rect(40.0 * 85.0, math.radians(place))
        share = (468.0 - 120.0) / (468.0 - 52.0)
        shown = numbers(true[0] + share * mass, true[1] + (1.0 - share) * mass)
        at = (
            "--known-at",
            f"throw {throw}",
            "--known-z",
            "120",
            "--known-angle",
            (-place if back else place),
        )
        ran = bobplan("spin", *shown, "--known-mass", "40 g", "--known-radius", "85", *at, folder=folder)
        out = ran.out
    assert words in out
    if words.startswith("Proved"):
        assert "WRONG" not in out
        assert ran.code == 0
    else:
        assert "WRONG" in out
        assert ran.code == 1
    # a check spin is no state to plan from
    assert bobplan("plan", "--json", "--anyway", folder=folder).json["spin"] == 2


def test_a_place_by_the_machines_own_numbers_proves_no_direction(bobplan: Bobplan, example: Example) -> None:
    """The machine counts the place and its reading alike: a wrong end, direction or zero reads as foretold."""
    folder = example("cross_plane_v8")
    path = folder / "job.toml"
    wrong = path.read_text(encoding="utf-8").replace('viewed_from = "front"', 'viewed_from = "rear"')
    path.write_text(wrong.replace('angle_zero = "throw 1"', "angle_zero = 77"), encoding="utf-8")
    base = [cmath.rect(3480, math.radians(214)), cmath.rect(2910, math.radians(33))]
    share = (468.0 - 120.0) / (468.0 - 52.0)
    for number in (60.0, 150.0):
        mass = cmath.rect(40.0 * 85.0, math.radians(number))
        shown = (base[0] + share * mass, base[1] + (1.0 - share) * mass)
        typed = [f"{value:.4f}" for v in shown for value in (abs(v), math.degrees(cmath.phase(v)))]
        at = ("--known-angle", number, "--known-z", "120")
        ran = bobplan("spin", *typed, "--known-mass", "40 g", "--known-radius", "85", *at, folder=folder)
    assert "Proved: heavy or light spot, plane order, unit" in ran.out
    assert "Not yet: direction and viewing end, zero mark" in ran.out


def test_one_known_mass_leaves_something_open(bobplan: Bobplan, example: Example) -> None:
    """With the mass at one place a reversed direction with another zero reads the same: the answer must not claim it."""
    folder = example("cross_plane_v8")
    share = (468.0 - 120.0) / (468.0 - 52.0)
    left = cmath.rect(3480, math.radians(214)) + share * 3400.0
    right = cmath.rect(2910, math.radians(33)) + (1 - share) * 3400.0
    numbers = [f"{value:.4f}" for v in (left, right) for value in (abs(v), math.degrees(cmath.phase(v)))]
    at = ("--known-at", "throw 1", "--known-z", "120")
    ran = bobplan("spin", *numbers, "--known-mass", "40 g", "--known-radius", "85", *at, folder=folder)
    assert ran.code == 0
    assert "Not yet: direction and viewing end, zero mark" in ran.out
    assert "two places named on the crankshaft itself" in ran.out


def test_bare_bobplan_says_what_comes_next(bobplan: Bobplan, example: Example, tmp_path: Path) -> None:
    nowhere = tmp_path / "empty"
    nowhere.mkdir()
    lost = bobplan(folder=nowhere)
    assert lost.code == 0
    folder = example("cross_plane_v8")
    assert "Next: `bobplan plan`" in bobplan(folder=folder).out
    bobplan("plan", folder=folder)
    assert "cut step 1 and enter it with `bobplan done 1`" in bobplan(folder=folder).out
    assert bobplan("--json", folder=folder).json["next"].startswith("cut step 1")


def test_no_numbers_ask_four_questions(
    bobplan: Bobplan, example: Example, monkeypatch: pytest.MonkeyPatch
) -> None:
    import io
    import sys

    folder = example("cross_plane_v8")
    monkeypatch.setattr(sys, "stdin", io.StringIO("1500\n205\n1320\n12\n"))
    ran = bobplan("spin", folder=folder)
    assert "left amount" in ran.err
    assert _file(folder)["spins"][1]["right"] == {"amount": 1320, "angle": 12}
    monkeypatch.setattr(sys, "stdin", io.StringIO("1500\n"))
    assert bobplan("spin", folder=folder).code == 2
    assert len(_file(folder)["spins"]) == 2


def test_a_depth_that_cannot_be_is_refused_and_not_written(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    bobplan("plan", folder=folder)
    ran = bobplan("done", "1", "--depth", "9 in", folder=folder)
    assert ran.code == 2
    assert "beyond the shaft axis" in ran.err
    assert "cuts_made" not in _file(folder)
    assert bobplan("plan", folder=folder).code == 0


def test_what_is_left_of_a_plan_is_told_by_its_own_figures(bobplan: Bobplan, example: Example) -> None:
    # after these two the bare state passes already: what the fresh search reached is not about the step that is left
    folder = example("cross_plane_v8")
    assert bobplan("plan", folder=folder).code == 0
    assert bobplan("done", "1", "--depth", "26", "--unproved", folder=folder).code == 0
    ran = bobplan("done", "2", "--unproved", folder=folder)
    assert ran.code == 0, ran.err
    assert "what is left of the plan as it was shown; as close as is wanted" in ran.out
    assert "is missed" not in ran.out


def test_where_it_is_spun_again_the_caution_of_spinning_stands(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    guard = "guard closed, nobody in line with the bobs"
    assert bobplan("plan", folder=folder).code == 0
    ran = bobplan("done", "1", "2", "--yes", "--unproved", folder=folder)
    assert "spin again to prove it" in ran.out
    assert guard in ran.out
    # nothing is cut, so nothing is said of cutting
    assert "Before cutting" not in ran.out
    for command in ((), ("check",)):
        assert guard in bobplan(*command, folder=folder).out
    assert bobplan("spin", "27.7", "214", "34.4", "33", "--yes", folder=folder).code == 0
    assert guard not in bobplan("plan", folder=folder).out
