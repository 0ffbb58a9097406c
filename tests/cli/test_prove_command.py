"""`bobplan prove` from the first word to the file, and what settings that are not proved do to plans.

The readings come from the simulated machine of `tests.benchmarks.prove_settings` (conventions of its own, no product
code).  All data invented.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.benchmarks.prove_settings import FAULTS, found, make_case, prove_case, run
from tests.cli.conftest import Ran

Bobplan = Callable[..., Ran]
Example = Callable[[str], Path]


def _text(folder: Path, name: str = "job.toml") -> str:
    return (folder / name).read_text(encoding="utf-8")


def _unproved(folder: Path, name: str = "job.toml") -> None:
    lines = [line for line in _text(folder, name).splitlines(True) if not line.startswith("proved =")]
    (folder / name).write_text("".join(lines), encoding="utf-8")


# 50 g at the rim of A (198 degrees, z 52 = left plane, 88 mm): 4400 g*mm in the left plane; and of D (88 degrees, 85 mm,
# z 272): 4250 * 196/416 and 4250 * 220/416 g*mm; added by hand to 3480 at 214 and 2910 at 33
RIGHT = ("7804.4 205.1 2910 33 198", "2815.7 178.9 4585.1 56.7 88")


@pytest.mark.parametrize("index", range(len(FAULTS)))
def test_a_wrong_setting_is_named_alone(index: int, tmp_path: Path) -> None:
    """One job per setting; `python -m tests.benchmarks.prove_settings` runs hundreds."""
    case = make_case(7100 + index, FAULTS[index])
    told = prove_case(case, tmp_path)
    assert found(case, told) == "right and alone", told["explanations"]
    assert told["code"] == 1
    assert told["written"] == []


@pytest.mark.parametrize("seed", range(7200, 7204))
def test_right_settings_are_proved(seed: int, tmp_path: Path) -> None:
    told = prove_case(make_case(seed, ""), tmp_path)
    assert told["good"]
    assert len(told["proved"]) == 8
    assert told["code"] == 0


@pytest.mark.parametrize("fault", ["direction", "zero", "planes", "unit", "amounts", "drill_offset"])
def test_on_yes_the_setting_is_mended_and_the_proof_written(fault: str, tmp_path: Path) -> None:
    """What was mended must be what is really so: read by the simulated machine's own words."""
    case = make_case(7300, fault)
    path = prove_case(case, tmp_path)["path"]
    line = (
        f"throw {case.throws[-1][0]} = {case.true.number_at(case.throws[-1][1]) + case.true.drill_offset:.1f}"
    )
    code, out, err = run("prove", str(path), "--yes", "--on", "2026-05-01", "--by", "K", "--line", line)
    assert code == 0, out + err
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    machine, planes = data["machine"], data["planes"]
    proved = machine["proved"]
    assert (str(proved["on"]), proved["by"], len(proved["places"])) == ("2026-05-01", "K", 2)
    true = case.true
    grows_ccw = (machine["angle_direction"] == "ccw") == (machine["viewed_from"] == "front")
    assert grows_ccw == ((true.way == "ccw") == (true.seen_from == "front"))
    zero = machine["angle_zero"]
    if isinstance(zero, str):
        zero = next(angle for name, angle, _ in case.throws if f"throw {name}" == zero)
    assert abs((zero - true.zero + 180.0) % 360.0 - 180.0) < 5.0
    assert machine["angle_marks"] == true.marks
    assert machine["amounts"] == true.shows
    left = float(str(planes["left"]).removesuffix(" mm"))
    assert left == pytest.approx(true.left_z)
    assert machine["drill_offset"] == true.drill_offset
    kind = "g*mm" if true.shows == "mass" else data["units"]["unbalance"]
    assert machine.get("display_unit", "g" if true.shows == "mass" else kind) == true.unit
    # and from now on nothing heads a plan
    code, out, _ = run("prove", str(path), "--json")
    assert code == 0
    assert '"drill_offset": true' in out.split('"state"')[1]


def test_the_walk_through(bobplan: Bobplan, example: Example, tmp_path: Path) -> None:
    folder = example("cross_plane_v8")
    _unproved(folder)
    before = _text(folder)
    shown = bobplan("prove", "--plot", tmp_path / "where.svg", folder=folder)
    assert shown.code == 1
    assert "50.0 g at counterweight A, radius 88.0 mm" in shown.out
    assert "50.0 g at counterweight D, radius 85.0 mm" in shown.out
    # the number that should stand at the pointer is not said: it would be copied
    assert "198" not in shown.out
    assert 'id="mass"' in (tmp_path / "where.svg").read_text(encoding="utf-8")
    assert _text(folder) == before
    readings = [part for each in RIGHT for part in ("--reading", each)]
    told = bobplan("prove", *readings, "--line", "throw 2 = 90", folder=folder)
    assert told.code == 0, told.out
    assert "Proved: direction and viewing end, zero mark, heavy or light spot, plane order, unit" in told.out
    assert "Not written" in told.out
    written = bobplan("prove", "--yes", "--line", "throw 2 = 90", folder=folder)
    assert "Written into job.toml" in written.out
    text = _text(folder)
    # every comment and line stays, one line is new
    assert [line for line in before.splitlines() if line not in text.splitlines()] == []
    proved = tomllib.loads(text)["machine"]["proved"]
    assert proved["mass"] == "50 g"
    assert proved["places"] == ["counterweight A", "counterweight D"]
    # the job's date, never the clock's
    assert str(proved["on"]) == "2026-01-31"
    assert "SETTINGS NOT PROVED" not in bobplan("plan", "--no-store", folder=folder).out
    # a setting changed later is not proved any more, the others are
    changed = text.replace("drill_offset = 0\n", "drill_offset = 90\n")
    (folder / "job.toml").write_text(changed, encoding="utf-8")
    first = bobplan("plan", "--no-store", folder=folder).out.splitlines()[0]
    assert first == "SETTINGS NOT PROVED (not yet drill_offset): `bobplan prove` before metal is lost"


def test_a_shop_file_keeps_what_is_the_machines(bobplan: Bobplan, example: Example) -> None:
    """Zero, planes, unit and radii go with the job; a second job of the shop has them to prove."""
    folder = example("external_balance_v8")
    before = {name: _text(folder, name) for name in ("job.toml", "shop.toml", "crankshaft.toml")}
    _unproved(folder)
    _unproved(folder, "shop.toml")
    shown = bobplan("prove", "--json", folder=folder).json["proposal"]
    assert [each["at"] for each in shown["places"]] == ["counterweight front", "throw 3"]
    readings = _external_readings(shown["mass_g"])
    ran = bobplan("prove", *readings, "--line", "throw 1 = 90", "--yes", folder=folder)
    assert ran.code == 0, ran.out + ran.err
    assert "Written into shop.toml and job.toml" in ran.out
    shop = tomllib.loads(_text(folder, "shop.toml"))["machine"]["proved"]
    job = tomllib.loads(_text(folder))["proof"]["proved"]
    assert {"direction", "spot", "amounts", "drill_offset"} <= set(shop)
    assert {"zero", "planes", "unit", "radius"} <= set(job)
    assert not {"zero", "planes"} & set(shop)
    assert _text(folder, "crankshaft.toml") == before["crankshaft.toml"]
    other = folder / "other.toml"
    other.write_text(
        before["job.toml"].split("[proof]")[0] + "[[spins]]" + before["job.toml"].split("[[spins]]")[1]
    )
    head = bobplan("plan", other, "--no-store", folder=folder).out.splitlines()[0]
    assert head.startswith("SETTINGS NOT PROVED (not yet zero mark, plane order, unit, radius of the planes)")


def _external_readings(mass_g: float) -> list[str]:
    """The example's machine, by hand: ounce-inches, front plane at 2.05 in, rear plane at 18.45 in."""
    import cmath
    import math

    base = (cmath.rect(7.85, math.radians(12)), cmath.rect(7.07, math.radians(205)))
    options: list[str] = []
    for angle, z, radius in ((198.0, 2.05, 3.45), (270.0, 12.42, 2.0)):
        ounce_inches = mass_g / 28.349523125 * radius
        share = (18.45 - z) / (18.45 - 2.05)
        mass = cmath.rect(ounce_inches, math.radians(angle))
        pair = (base[0] + share * mass, base[1] + (1.0 - share) * mass)
        numbers = [f"{v:.3f}" for each in pair for v in (abs(each), math.degrees(cmath.phase(each)) % 360.0)]
        options += ["--reading", " ".join([*numbers, f"{angle}"])]
    return options


def test_a_failed_proof_withholds_every_cut_list(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    _unproved(folder)
    path = folder / "job.toml"
    path.write_text(_text(folder).replace('angle_zero = "throw 1"', "angle_zero = 30"), encoding="utf-8")
    bobplan("plan", folder=folder)
    readings = [part for each in RIGHT for part in ("--reading", each)]
    failed = bobplan("prove", *readings, folder=folder)
    assert failed.code == 1
    assert "WRONG: the zero mark is off by -30 degrees: it lies at throw 1" in failed.out
    assert "the display should have shown, as set" in failed.out
    assert "the display should have shown, as mended" in failed.out
    for command in (("plan",), ("odds",), ("sheet", "-o", folder / "s.pdf"), ()):
        ran = bobplan(*command, folder=folder)
        assert ran.code == 1, command
        assert "no cut list" in ran.out.lower()
        assert "PLAN:" not in ran.out
        assert "CHANCES" not in ran.out
    assert not (folder / "s.pdf").exists()
    data = bobplan("plan", "--json", folder=folder).json
    assert data["steps"] == []
    assert data["withheld"]["because"] == "known mass"
    assert "PLAN:" in bobplan("plan", "--anyway", "--no-store", folder=folder).out
    mended = bobplan("prove", "--yes", folder=folder)
    assert mended.code == 0
    assert 'angle_zero = "throw 1"' in _text(folder)
    assert "PLAN:" in bobplan("plan", folder=folder).out


def test_the_first_done_asks_once(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    _unproved(folder)
    planned = bobplan("plan", folder=folder)
    assert planned.out.startswith("SETTINGS NOT PROVED (none is proved)")
    assert bobplan("plan", "--json", folder=folder).json["settings_proved"]["zero"] is False
    before = _text(folder)
    refused = bobplan("done", "1", folder=folder)
    assert refused.code == 1
    assert "nothing was entered" in refused.err
    assert "--unproved" in refused.err
    assert _text(folder) == before
    bobplan("done", "1", "--unproved", folder=folder)
    data = tomllib.loads(_text(folder))
    assert data["proof"] == {"cut_unproved": True}
    assert len(data["cuts_made"]) == 1
    bobplan("done", "2", folder=folder)
    assert len(tomllib.loads(_text(folder))["cuts_made"]) == 2


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--reading", "1 2 3"), "four or five numbers"),
        (("--at", "throw 9", "--reading", "1 2 3 4"), "no place `throw 9`"),
        (("--line", "throw 1"), "--line"),
        (("--on", "May"), "--on"),
        (("--mass", "0"), "--mass"),
        (("--reading", "1 2 3 4", "--reading", "1 2 3 4", "--reading", "1 2 3 4"), "3 readings are given"),
        (("--reading", "1 2 3 4 400"), "pointer"),
        (("--reading", "a 2 3 4"), "left amount"),
    ],
)
def test_bad_input_is_refused_and_nothing_written(
    options: tuple[str, ...], says: str, bobplan: Bobplan, example: Example
) -> None:
    folder = example("cross_plane_v8")
    before = _text(folder)
    ran = bobplan("prove", *options, folder=folder)
    assert ran.code == 2
    assert says in ran.err
    assert _text(folder) == before


def test_a_job_without_a_spin_is_asked_for_one(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    path = folder / "job.toml"
    path.write_text(_text(folder).split("[[spins]]")[0], encoding="utf-8")
    ran = bobplan("prove", folder=folder)
    assert ran.code == 2
    assert "--base" in ran.err
    ran = bobplan("prove", "--base", "3480 214 2910 33", "--bobs", "1724", folder=folder)
    assert "50.0 g at counterweight A" in ran.out
    assert tomllib.loads(_text(folder))["spins"][0]["bobs"] == 1724


def test_old_files_with_a_machine_angle_are_read(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    path = folder / "job.toml"
    spin = (
        "\n[[spins]]\nbobs = 1724\nleft = { amount = 7804.4, angle = 205.1 }\nright = { amount = 2910, angle = 33 }\n"
        "known_mass = { mass = 50, radius = 88, angle = 198, z = 52 }\n"
    )
    path.write_text(_text(folder) + spin, encoding="utf-8")
    told = bobplan("prove", "--json", folder=folder).json
    assert told["good"]
    assert "direction" not in told["proved"]
    assert "at machine angle 198" in bobplan("history", folder=folder).out


def test_cuts_between_are_noticed(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    bobplan("plan", folder=folder)
    bobplan("done", "1", folder=folder)
    ran = bobplan("prove", "--reading", RIGHT[0], folder=folder)
    assert ran.code == 2
    assert "cuts were made since spin 1" in ran.err


def test_the_numbers_of_the_example_by_hand() -> None:
    """RIGHT above: 3480 at 214 plus 4400 at 198, and 3480 at 214 plus 2002.4 at 88, 2910 at 33 plus 2247.6 at 88."""
    import cmath
    import math

    def plus(a: float, at: float, b: float, also: float) -> tuple[float, float]:
        v = cmath.rect(a, math.radians(at)) + cmath.rect(b, math.radians(also))
        return abs(v), math.degrees(cmath.phase(v)) % 360.0

    for reading, pairs in zip(
        RIGHT,
        (
            ((3480, 214, 4400, 198), (2910, 33, 0, 0)),
            ((3480, 214, 4250 * 196 / 416, 88), (2910, 33, 4250 * 220 / 416, 88)),
        ),
        strict=True,
    ):
        numbers: list[Any] = [float(each) for each in reading.split()]
        for side, pair in enumerate(pairs):
            amount, angle = plus(*pair)
            assert numbers[2 * side] == pytest.approx(amount, abs=0.06)
            assert numbers[2 * side + 1] == pytest.approx(angle, abs=0.06)


def test_at_a_terminal_it_asks_and_mends(
    bobplan: Bobplan, example: Example, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Five numbers a place, one of them mistyped and asked again, the dial, and yes."""
    import io
    import sys

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    folder = example("cross_plane_v8")
    _unproved(folder)
    path = folder / "job.toml"
    path.write_text(_text(folder).replace('"heavy spot"', '"light spot"'), encoding="utf-8")
    first, second = (each.split() for each in RIGHT)
    answers = ["x", "1", "2", "3", "", *first, *second, "0", "y"]
    monkeypatch.setattr(sys, "stdin", Terminal("\n".join(answers) + "\n"))
    ran = bobplan("prove", folder=folder)
    assert ran.code == 0, ran.out + ran.err
    assert "once more" in ran.err
    assert "WRONG: heavy and light spot are swapped: the display marks the heavy spot" in ran.out
    data = tomllib.loads(_text(folder))
    assert data["machine"]["angle_marks"] == "heavy spot"
    assert data["machine"]["proved"]["spot"] == "heavy spot"
    assert len(data["spins"]) == 3
    # a no writes nothing but the readings
    monkeypatch.setattr(sys, "stdin", Terminal("n\n"))
    path.write_text(_text(folder).replace("drill_offset = 0\n", "drill_offset = 30\n"), encoding="utf-8")
    before = _text(folder)
    assert bobplan("prove", "--line", "throw 1 = 0", folder=folder).code == 1
    # .. and what the line showed: it was refused, not refuted
    assert _text(folder) == before + '\n[proof]\ndrill_line = { place = "throw 1", dial = 0 }\n'


def test_cuts_entered_with_the_spin_are_asked_about_too(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    _unproved(folder)
    assert bobplan("plan", folder=folder).code == 0
    before = _text(folder)
    typed = ("spin", "27.7", "214", "34.4", "33", "--cut-as-planned", "--yes")
    ran = bobplan(*typed, folder=folder)
    assert ran.code == 1
    assert "nothing was entered" in ran.err
    assert "--unproved" in ran.err
    assert _text(folder) == before
    assert bobplan(*typed, "--unproved", folder=folder).code == 0
    data = tomllib.loads(_text(folder))
    assert (data["proof"], len(data["cuts_made"]), len(data["spins"])) == ({"cut_unproved": True}, 2, 2)


def test_a_later_proof_dates_only_what_it_tested(bobplan: Bobplan, example: Example) -> None:
    """The known mass was spun in May, the line scribed in June: eight settings, two days."""
    folder = example("cross_plane_v8")
    _unproved(folder)
    readings = [part for each in RIGHT for part in ("--reading", each)]
    assert bobplan("prove", *readings, "--yes", "--on", "2026-05-01", "--by", "M", folder=folder).code == 0
    first = tomllib.loads(_text(folder))["machine"]["proved"]
    line = ("--line", "throw 2 = 90", "--yes", "--by", "N")
    assert bobplan("prove", *line, "--on", "2026-06-01", folder=folder).code == 0
    proved = tomllib.loads(_text(folder))["machine"]["proved"]
    assert proved["earlier"] == [first]
    assert {key: str(proved[key]) for key in ("on", "by", "drill_offset")} == {
        "on": "2026-06-01", "by": "N", "drill_offset": "0",
    }  # fmt: skip
    assert not {"direction", "zero", "spot"} & set(proved)
    assert all(load_proved(folder).values())
    assert "proved with a known mass, 2026-05-01 to 2026-06-01" in bobplan(
        "sheet", "--customer", "-o", "record.html", folder=folder
    ).out + (folder / "record.html").read_text(encoding="utf-8")
    # the mass spun once more tests everything but the line
    assert bobplan("prove", *readings, "--yes", "--on", "2026-07-01", "--by", "M", folder=folder).code == 0
    proved = tomllib.loads(_text(folder))["machine"]["proved"]
    assert str(proved["on"]) == "2026-07-01"
    assert proved["direction"] == first["direction"]
    assert [(str(each["on"]), each["drill_offset"]) for each in proved["earlier"]] == [("2026-06-01", "0")]
    assert "direction" not in proved["earlier"][0]


def load_proved(folder: Path) -> dict[str, bool]:
    from planner.jobfile.read import load_job
    from planner.steps.prove import proved_settings

    return proved_settings(load_job(folder / "job.toml"))


def test_a_line_that_was_refused_withholds_the_cut_list(bobplan: Bobplan, example: Example) -> None:
    """Offset 30 is set; throw 1, where the zero is, stood under the drill at 0: 30 is wrong until something else is shown."""
    folder = example("cross_plane_v8")
    _unproved(folder)
    path = folder / "job.toml"
    path.write_text(_text(folder).replace("drill_offset = 0\n", "drill_offset = 30\n"), encoding="utf-8")
    readings = [part for each in RIGHT for part in ("--reading", each)]
    assert bobplan("prove", *readings, "--line", "throw 1 = 0", folder=folder).code == 1
    for command in (("plan",), ("done", "1", "--yes", "--unproved"), ("odds",), ("sheet", "-o", "a.html")):
        ran = bobplan(*command, folder=folder)
        assert ran.code in (1, 2), command
        assert "PLAN:" not in ran.out
        assert "entered:" not in ran.out
    shown = bobplan("plan", folder=folder)
    assert "NO CUT LIST: a line under the drill did not read as the settings say" in shown.out
    assert "throw 1 under the drill: the dial should show 30°, it showed 0°" in shown.out
    assert bobplan("plan", "--json", folder=folder).json["withheld"]["because"] == "line under the drill"
    assert "No cut list" in bobplan(folder=folder).out or "no cut list" in bobplan(folder=folder).out
    assert "PLAN:" in bobplan("plan", "--anyway", "--no-store", folder=folder).out
    # read again, it fits; or the setting is mended
    kept = _text(folder)
    assert bobplan("prove", "--line", "throw 1 = 30", "--yes", folder=folder).code == 0
    assert "PLAN:" in bobplan("plan", "--no-store", folder=folder).out
    path.write_text(kept.replace("drill_offset = 30\n", "drill_offset = 0\n"), encoding="utf-8")
    assert "PLAN:" in bobplan("plan", "--no-store", folder=folder).out
