"""`bobplan match` and `bobplan bobs --make-up` as typed; the weights are invented, the least grinding is counted out."""

from __future__ import annotations

import csv
import itertools
import random
import re
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Ran

Bobplan = Callable[..., Ran]

PISTON = [412.3, 409.8, 411.1, 413.6]
PIN = [118.2, 117.4, 118.9, 117.0]
SMALL_END = [171.5, 173.2, 170.1, 172.6]

FOUR = """format = 1
[crankshaft]
bearing_1_z = 0
bearing_2_z = 400
[match]
tolerance = {tolerance}
{greatest}
[parts]
piston = {piston}
pin = {pin}
rod_small_end = {small}
rod_big_end = {big}
rings = 38.5
[[counterweights]]
name = "A"
z = 50
angle = 180
thickness = 24
outline = {{ shape = "fan", outer_radius = 88.0, half_angle = 58.0, inner_radius = 36.0 }}
"""
THROW = (
    '[[throws]]\nname = "{name}"\nangle = {angle}\nz = {z}\nradius = 45\nrods = 1\ncylinders = ["{name}"]\n'
)


def a_four(
    folder: Path,
    *,
    tolerance: float = 0.0,
    greatest: str = "",
    piston: list[float] | None = None,
    big: str = "440",
    more: str = "",
) -> Path:
    text = FOUR.format(
        tolerance=tolerance, greatest=greatest, piston=piston or PISTON, pin=PIN, small=SMALL_END, big=big
    )
    for number, angle in enumerate((0, 180, 180, 0), start=1):
        text += THROW.format(name=number, angle=angle, z=50 + 90 * (number - 1))
    path = folder / "job.toml"
    path.write_text(text + more, encoding="utf-8")
    return path


def ground(sums: list[float]) -> float:
    return sum(each - min(sums) for each in sums)


def test_pairing_against_all_576(bobplan: Bobplan, tmp_path: Path) -> None:
    every = []
    for pins in itertools.permutations(PIN):
        for rods in itertools.permutations(SMALL_END):
            every.append(ground([a + b + c for a, b, c in zip(PISTON, pins, rods, strict=True)]))
    assert len(every) == 576
    data = bobplan("match", a_four(tmp_path), "--pair", "--json").json
    pairing = data["pairing"]
    assert pairing["proven"]
    assert pairing["ground_g"] == pytest.approx(min(every), abs=1e-6)
    assert pairing["as_numbered_g"] == pytest.approx(every[0], abs=1e-6)
    assert pairing["each_to_lightest_g"] == pytest.approx(
        sum(map(ground, (PISTON, PIN, SMALL_END))), abs=1e-6
    )
    # who goes with whom really makes that sum
    sums = []
    for each in pairing["sets"]:
        assert each["piston"] == each["cylinder"]
        k, pin, rod = (int(each[key]) - 1 for key in ("piston", "pin", "rod"))
        sums.append(PISTON[k] + PIN[pin] + SMALL_END[rod] + 38.5)
        assert each["sum_g"] == pytest.approx(sums[-1], abs=1e-6)
    assert ground(sums) == pytest.approx(pairing["ground_g"], abs=1e-6)
    assert sorted(each["pin"] for each in pairing["sets"]) == ["1", "2", "3", "4"]
    assert sum(each["remove_g"] for each in pairing["sets"]) == pytest.approx(min(every), abs=1e-6)


def test_kind_by_kind(bobplan: Bobplan, tmp_path: Path) -> None:
    job = a_four(tmp_path, tolerance=0.5, piston=[412.6, 412.9, 408.1, 413.6])
    data = bobplan("match", job, "--json").json
    piston = next(each for each in data["kinds"] if each["kind"] == "piston")
    # by hand: 4.5 + 4.8 + 0 + 5.5; with a 412.6 instead of the 408.1: 0 + 0 + 0 + 1.0 (0.3 is within the tolerance)
    assert piston["remove_g"] == pytest.approx([4.5, 4.8, 0.0, 5.5])
    assert piston["ground_g"] == pytest.approx(14.8)
    assert piston["lightest"] == "3"
    assert piston["lightest_costs_g"] == pytest.approx(13.8)
    assert (piston["spread_before_g"], piston["spread_after_g"]) == pytest.approx((5.5, 0.0))
    assert {each["kind"]: each["per"] for each in data["kinds"]} == {
        "piston": "cylinder",
        "pin": "cylinder",
        "rod_small_end": "rod",
        "rod_big_end": "rod",
        "rings": "cylinder",
    }
    text = bobplan("match", job, "--show-work").out
    assert "3 is the one to replace" in text
    assert "piston (one weight per cylinder, reciprocating)" in text
    assert "413.6 - 408.1 = 5.5: take off 5.5" in text
    assert "rod_big_end: one number serves all" in text
    assert data["pairing"] is None


def test_more_than_may_come_off(bobplan: Bobplan, tmp_path: Path) -> None:
    job = a_four(tmp_path, greatest="greatest_removal = { piston = 3 }")
    ran = bobplan("match", job)
    assert ran.code == 1
    assert "WARNING: piston 4: 3.8 g would have to come off" in ran.out
    # paired it is well within
    ran = bobplan(
        "match",
        a_four(tmp_path, greatest="greatest_removal = { piston = 3, pin = 1, rod_small_end = 1 }"),
        "--pair",
    )
    assert ran.code == 0


def test_csv_out_and_in_again(bobplan: Bobplan, tmp_path: Path) -> None:
    job = a_four(tmp_path, big="[440.1, 441, 440.4, 440.2]")
    ran = bobplan("match", job, "--pair", "--csv-out", "paired.csv", "--json")
    assert ran.code == 0
    with (tmp_path / "paired.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["cylinder"] for row in rows] == ["1", "2", "3", "4"]
    for row, each in zip(rows, ran.json["pairing"]["sets"], strict=True):
        assert (row["pin_from"], row["rod_from"]) == (each["pin"], each["rod"])
        parts = [float(row[f"{name}_g"]) for name in ("piston", "pin", "rod_small_end")]
        assert sum(parts) + 38.5 == pytest.approx(float(row["reciprocating_sum_g"]))
        assert float(row["rod_big_end_g"]) == [440.1, 441, 440.4, 440.2][int(each["rod"]) - 1]
    # numbered anew in that way they are as good as paired
    again = bobplan("match", job, "--csv", "paired.csv", "--pair", "--json").json["pairing"]
    assert again["as_numbered_g"] == pytest.approx(ran.json["pairing"]["ground_g"], abs=1e-6)
    plain = bobplan("match", job, "--csv-out", "kinds.csv")
    assert plain.code == 0
    assert (
        (tmp_path / "kinds.csv")
        .read_text(encoding="utf-8")
        .startswith("cylinder,throw,piston_g,piston_off_g,")
    )


def test_csv_in_other_units_and_marks(bobplan: Bobplan, tmp_path: Path) -> None:
    job = a_four(tmp_path)
    (tmp_path / "a.csv").write_text("cylinder,piston_oz\n1,14.5\n2,14.6\n3,14.5\n4,14.5\n", encoding="utf-8")
    data = bobplan("match", job, "--csv", "a.csv", "--json").json
    assert data["kinds"][0]["masses_g"][0] == pytest.approx(14.5 * 28.349523125)
    (tmp_path / "b.csv").write_text(
        "\ufeffcylinder;piston\n4;413,6\n1;412,3\n2;409,8\n3;411,1\n", encoding="utf-8"
    )
    data = bobplan("match", job, "--csv", "b.csv", "--json").json
    assert data["kinds"][0]["masses_g"] == pytest.approx(PISTON)


def test_from_stock(bobplan: Bobplan, tmp_path: Path) -> None:
    """Twelve pistons, of which four weigh the same; pins and rods are the job's own and are made to fit them."""
    dice = random.Random(5)
    lines = ["part,piston_g", *(f"P{k},{410 + dice.uniform(-3, 3):.1f}" for k in range(8))]
    (tmp_path / "stock.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    pistons = {line.split(",")[0]: float(line.split(",")[1]) for line in lines[1:]}
    job = a_four(tmp_path)
    ran = bobplan("match", job, "--from-stock", "stock.csv", "--json", "--seconds", "20")
    pairing = ran.json["pairing"]
    best = min(
        ground([a + b + c for a, b, c in zip(sorted(chosen), pins, rods, strict=True)])
        for chosen in itertools.combinations(pistons.values(), 4)
        for pins in itertools.permutations(PIN)
        for rods in itertools.permutations(SMALL_END)
    )
    assert pairing["ground_g"] == pytest.approx(best, abs=1e-3)
    assert pairing["as_numbered_g"] is None
    for each in pairing["sets"]:
        total = pistons[each["piston"]] + PIN[int(each["pin"]) - 1] + SMALL_END[int(each["rod"]) - 1]
        assert each["sum_g"] == pytest.approx(total, abs=1e-6)
    assert len({each["piston"] for each in pairing["sets"]}) == 4


CSV_FAULTS = {
    "no such part": ("cylinder,pistn_g\n1,2\n", "did you mean `piston`?"),
    "missing cylinders": ("cylinder,piston_g\n1,2\n", "cylinder 2, 3, 4 is missing"),
    "unknown cylinder": ("cylinder,piston_g\n1,2\n2,2\n3,2\n4,2\n9,2\n", "cylinder 9 is unknown"),
    "twice": ("cylinder,piston_g\n1,2\n1,2\n", "given twice"),
    "negative": ("cylinder,piston_g\n1,-2\n", "-2"),
    "word": ("cylinder,piston_g\n1,two\n", "two"),
    "empty cell": ("cylinder,piston_g\n1,\n", "is empty"),
    "cells": ("cylinder,piston_g\n1,2,3\n", "3 cells"),
    "first column": ("number,piston_g\n1,2\n", "the first column is `number`"),
    "two columns": ("cylinder,piston_g,piston_oz\n1,2,2\n", "two columns"),
    "no weights": ("cylinder,throw\n1,2\n", "no column has weights"),
    "no rows": ("cylinder,piston_g\n", "no rows"),
    "nothing": ("", "no rows"),
    "no name": ("cylinder,piston_g\n,2\n", "is empty"),
    "per throw": ("cylinder,oil_per_throw_g\n1,2\n2,2\n3,2\n4,2\n", "per throw"),
}


@pytest.mark.parametrize("name", CSV_FAULTS)
def test_faults_of_a_csv(name: str, bobplan: Bobplan, tmp_path: Path) -> None:
    text, words = CSV_FAULTS[name]
    (tmp_path / "in.csv").write_text(text, encoding="utf-8")
    ran = bobplan("match", a_four(tmp_path), "--csv", "in.csv")
    assert ran.code == 2, ran.out + ran.err
    assert words in ran.err
    assert "Traceback" not in ran.err


def test_faults_of_a_stock(bobplan: Bobplan, tmp_path: Path) -> None:
    job = a_four(tmp_path)
    for text, words in (
        ("part,rod_small_end_g\nA,170\n", "rods need both columns"),
        ("part,rod_small_end_g,rod_big_end_g\nA,170,\n", "only one of its ends"),
        ("part,rings_g\nA,38\n", "can't be chosen from a stock"),
        ("part,piston_g\nA,410\nA,411\n", "given twice"),
        ("part,piston_g\nA,410\nB,411\n", "2 pistons in stock for 4 cylinders"),
    ):
        (tmp_path / "stock.csv").write_text(text, encoding="utf-8")
        ran = bobplan("match", job, "--from-stock", "stock.csv")
        assert ran.code == 2
        assert words in ran.err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--csv", "nothing.csv"], "nothing.csv"),
        (["--csv", "."], "can't be read"),
        (["--csv-out", "out.txt"], ".csv"),
        (["--csv-out", "no/such/folder/out.csv"], "can't be written"),
        (["--tolerance", "-1"], "--tolerance"),
        (["--tolerance", "half"], "--tolerance"),
        (["--pair", "--from-stock", "x.csv"], "two ways"),
        (["--seconds", "0"], "--seconds"),
    ],
)
def test_bad_input(bobplan: Bobplan, tmp_path: Path, arguments: list[str], words: str) -> None:
    ran = bobplan("match", a_four(tmp_path), *arguments)
    assert ran.code == 2, ran.out + ran.err
    assert words in ran.err
    assert "Traceback" not in ran.err


def test_what_was_read_is_not_written_over(bobplan: Bobplan, tmp_path: Path) -> None:
    text = "cylinder,piston_g\n1,2\n2,2\n3,2\n4,2\n"
    (tmp_path / "in.csv").write_text(text, encoding="utf-8")
    ran = bobplan("match", a_four(tmp_path), "--csv", "in.csv", "--csv-out", "in.csv")
    assert ran.code == 2
    assert (tmp_path / "in.csv").read_text(encoding="utf-8") == text


def test_a_job_without_weights(bobplan: Bobplan, example: Callable[[str], Path]) -> None:
    ran = bobplan("match", example("external_balance_v8"))
    assert ran.code == 2
    assert "no [parts]" in ran.err


SET = """
[bob_set]
bodies = [ { name = "shell", weight = 500, count = 4 } ]
plates = [ { weight = 50, count = 8 }, { weight = 5, count = 8 } ]
washers = [ { weight = 0.5, count = 8 } ]
"""


def test_making_up_the_bobs(bobplan: Bobplan, tmp_path: Path) -> None:
    """Wanted by hand: 440 + 0.5 * (piston + pin + small end + rings); plates and washers go on in pairs."""
    wanted = [440 + 0.5 * (a + b + c + 38.5) for a, b, c in zip(PISTON, PIN, SMALL_END, strict=True)]
    ran = bobplan("bobs", a_four(tmp_path, more=SET), "--make-up", "--json")
    made = ran.json["make_up"]
    weights = {"body shell": 500, "plate 50.0 g": 50, "plate 5.0 g": 5, "washer 0.5 g": 0.5}
    used = dict.fromkeys(weights, 0)
    for bob, mass in zip(made["bobs"], wanted, strict=True):
        assert bob["wanted_g"] == pytest.approx(mass)
        assert bob["pieces"]["body shell"] == 1
        assert sum(weights[name] * count for name, count in bob["pieces"].items()) == pytest.approx(
            bob["mass_g"]
        )
        assert bob["off_g"] == pytest.approx(bob["mass_g"] - mass)
        for name, count in bob["pieces"].items():
            used[name] += count
            assert name == "body shell" or count % 2 == 0
    assert {name: used[name] + made["left_over"][name] for name in used} == {
        "body shell": 4,
        "plate 50.0 g": 8,
        "plate 5.0 g": 8,
        "washer 0.5 g": 8,
    }
    # 500 + 2*50 + 2*5 + 2*0.5 a throw is all there is: some 200 g short
    assert ran.code == 1
    text = bobplan("bobs", a_four(tmp_path, more=SET), "--make-up")
    assert text.code == 1
    assert "g short of" in text.out


def test_a_set_that_fits(bobplan: Bobplan, tmp_path: Path) -> None:
    ran = bobplan("bobs", a_four(tmp_path, more=SET.replace("weight = 500", "weight = 700")), "--make-up")
    assert "1 x body shell" in ran.out
    assert "left in the box" in ran.out


def test_no_bob_set(bobplan: Bobplan, tmp_path: Path) -> None:
    ran = bobplan("bobs", a_four(tmp_path), "--make-up")
    assert ran.code == 2
    assert "no [bob_set]" in ran.err
    few = SET.replace("count = 4", "count = 3")
    ran = bobplan("bobs", a_four(tmp_path, more=few), "--make-up")
    assert ran.code == 2
    assert "3 bodies for 4 throws" in ran.err


def test_no_call_to_weigh_what_comes_from_the_stock(bobplan: Bobplan, tmp_path: Path) -> None:
    job = a_four(tmp_path)
    lines = ["part,rod_small_end_g,rod_big_end_g", *(f"R{k},{170 + k},{440 + k}" for k in range(5))]
    (tmp_path / "stock.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert "rod_big_end: one number serves all" in bobplan("match", job).out
    assert "one number serves all" not in bobplan("match", job, "--from-stock", "stock.csv").out


class TestStore:
    """`match --store`: the weights after grinding go into [parts]; nothing else of the file is lost."""

    def test_kind_by_kind(self, bobplan: Bobplan, tmp_path: Path) -> None:
        job = a_four(tmp_path, tolerance=0.5, more="# a note at the end\n")
        job.write_text(job.read_text().replace("rings = 38.5", "rings = 38.5   # all three\n# mine"))
        before = tomllib.loads(job.read_text())
        ran = bobplan("match", job, "--store")
        assert ran.code == 0, ran.err
        assert "[parts] of job.toml has the weights after grinding" in ran.err
        text = job.read_text()
        after = tomllib.loads(text)
        # by hand: all within 0.5 of the lightest stay, the others come down to it
        assert after["parts"]["piston"] == [409.8] * 4
        assert after["parts"]["pin"] == [117.0, 117.4, 117.0, 117.0]
        assert after["parts"]["rod_small_end"] == [170.1] * 4
        assert (after["parts"]["rod_big_end"], after["parts"]["rings"]) == (440, 38.5)
        assert {k: v for k, v in after.items() if k != "parts"} == {
            k: v for k, v in before.items() if k != "parts"
        }
        for comment in ("# all three", "# mine", "# a note at the end"):
            assert comment in text
        again = job.read_bytes()
        assert "has these weights already" in bobplan("match", job, "--store").err
        assert job.read_bytes() == again

    def test_a_pairing_is_stored_as_it_is_put_together(self, bobplan: Bobplan, tmp_path: Path) -> None:
        job = a_four(tmp_path)
        pairing = bobplan("match", job, "--pair", "--store", "--json").json["pairing"]
        parts = tomllib.loads(job.read_text())["parts"]
        for place, each in enumerate(pairing["sets"]):
            weight = sum(parts[kind][place] for kind in ("piston", "pin", "rod_small_end")) + 38.5
            assert weight == pytest.approx(each["sum_g"] - each["remove_g"], abs=1e-6)
            assert parts["pin"][place] == PIN[int(each["pin"]) - 1]

    def test_parts_of_another_file_move_into_the_job(self, bobplan: Bobplan, tmp_path: Path) -> None:
        whole = a_four(tmp_path).read_text()
        start, end = whole.index("[parts]"), whole.index("[[counterweights]]")
        (tmp_path / "crank.toml").write_text(whole[start:end] + "oil_per_throw = 3\n")
        job = tmp_path / "job.toml"
        job.write_text(
            whole[:start].replace(
                "format = 1\n", 'format = 1\n[units]\nmass = "oz"\n[use]\ncrankshaft = "crank.toml"\n'
            )
            + whole[end:]
        )
        before = (tmp_path / "crank.toml").read_bytes()
        assert bobplan("match", job, "--store").code == 0
        parts = tomllib.loads(job.read_text())["parts"]
        assert parts["piston"] == pytest.approx([409.8 / 28.349523125] * 4)
        assert parts["oil_per_throw"] == pytest.approx(3 / 28.349523125)
        assert parts["rings"] == pytest.approx(38.5 / 28.349523125)
        assert (tmp_path / "crank.toml").read_bytes() == before

    def test_nothing_to_store(self, bobplan: Bobplan, tmp_path: Path) -> None:
        job = a_four(tmp_path)
        text = job.read_text()
        for kind in (PISTON, PIN, SMALL_END):
            text = text.replace(str(kind), "400" if kind is PISTON else "100")
        job.write_text(text)
        ran = bobplan("match", job, "--store")
        assert ran.code == 2
        assert "every part has one weight for all" in ran.err


def test_show_work_of_a_choice_from_stock_is_about_the_shelf(bobplan: Bobplan, tmp_path: Path) -> None:
    """Four pistons of the shelf; by hand every sum is piston + pin + small end as named."""
    (tmp_path / "stock.csv").write_text("part,piston_g\nP1,410\nP2,411\nP3,412\nP4,413\n")
    job = a_four(tmp_path, more="")
    out = bobplan("match", job, "--from-stock", "stock.csv", "--show-work").out
    work = out.split("WORKING")[1]
    assert "piston 1:" not in work
    shelf = {"P1": 410.0, "P2": 411.0, "P3": 412.0, "P4": 413.0}
    found = re.findall(
        r"cylinder (\d): piston (P\d) ([\d.]+) \+ pin (\d) ([\d.]+) \+ small end (\d) ([\d.]+) = ([\d.]+); - least ([\d.]+)"
        r" = ([\d.]+)",
        work,
    )
    assert len(found) == 4
    sums = []
    for _, piston, p, pin, q, rod, s, total, _, _ in found:
        assert float(p) == shelf[piston]
        assert float(q) == PIN[int(pin) - 1]
        assert float(s) == SMALL_END[int(rod) - 1]
        assert float(total) == pytest.approx(float(p) + float(q) + float(s))
        sums.append(float(total))
    for each in found:
        assert float(each[8]) == min(sums)
        assert float(each[9]) == pytest.approx(float(each[7]) - min(sums), abs=1e-6)
    assert len(re.findall(r"throw \d: big end \d 440 = 440", work)) == 4


@pytest.mark.parametrize("mass", ["1e21", "6e9", "0.001"])
def test_weights_that_no_part_has_are_refused_at_once(bobplan: Bobplan, tmp_path: Path, mass: str) -> None:
    job = a_four(tmp_path)
    (tmp_path / "a.csv").write_text(f"cylinder,piston_g\n1,{mass}\n2,410\n3,410\n4,410\n")
    ran = bobplan("match", job, "--csv", "a.csv", "--pair")
    assert ran.code == 2
    assert re.search(r"the CSV's piston of 1: .* is beyond reason for a piston", ran.err)
    (tmp_path / "b.csv").write_text(f"part,piston_g\nx,{mass}\n" + "".join(f"y{n},410\n" for n in range(5)))
    ran = bobplan("match", job, "--from-stock", "b.csv")
    assert ran.code == 2
    assert "the CSV's piston of x" in ran.err


def test_each_to_its_lightest_counts_what_is_not_paired_too(bobplan: Bobplan, tmp_path: Path) -> None:
    """Pairing takes the rings' differences into its sums, so they belong into what it is held against."""
    rings = [38.5, 39.5, 38.0, 38.7]
    job = a_four(tmp_path)
    listed = ", ".join(str(each) for each in rings)
    job.write_text(
        job.read_text(encoding="utf-8").replace("rings = 38.5", f"rings = [{listed}]"), encoding="utf-8"
    )
    pairing = bobplan("match", job, "--pair", "--json").json["pairing"]
    # by hand: the rings alone are 0.5 + 1.5 + 0 + 0.7 above their lightest
    without = sum(map(ground, (PISTON, PIN, SMALL_END)))
    assert pairing["each_to_lightest_g"] == pytest.approx(without + 2.7, abs=1e-6)


def test_a_choice_from_stock_says_when_more_would_come_off_than_may(bobplan: Bobplan, tmp_path: Path) -> None:
    """Four pistons for four cylinders: there is no choice, 20 g are between them (invented)."""
    (tmp_path / "stock.csv").write_text(
        "part,piston_g,pin_g,rod_small_end_g,rod_big_end_g\n"
        + "".join(
            f"{name},{mass},118,172,440\n" for name, mass in zip("ABCD", (400, 400, 400, 420), strict=True)
        ),
        encoding="utf-8",
    )
    limits = "greatest_removal = {{ piston = {0}, pin = 1, rod_small_end = 1 }}"
    ran = bobplan("match", a_four(tmp_path, greatest=limits.format(8)), "--from-stock", "stock.csv")
    assert ran.code == 1
    assert "20.0 g would have to come off, piston, pin and small end together may lose 10 g" in ran.out
    assert (
        bobplan("match", a_four(tmp_path, greatest=limits.format(18)), "--from-stock", "stock.csv").code == 0
    )


def test_the_receipt_of_storing_stands_below_the_table(
    bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import planner.cli.match as command
    from planner.present.to_text import to_text

    said: list[str] = []
    monkeypatch.setattr(command, "tell", lambda answer, data, page, **_: said.append(to_text(page(answer))))
    monkeypatch.setattr(command, "note", said.append)
    assert bobplan("match", a_four(tmp_path), "--store").code == 0
    assert "take off" in said[0]
    assert "has the weights after grinding now" in said[1]
