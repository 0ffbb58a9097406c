"""`bobplan sheet` and `bobplan chart` as a user types them.  The examples' data are invented."""

from __future__ import annotations

import itertools
import math
import subprocess
import sys
import webbrowser
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest

from tests.cli.conftest import Ran


def test_a_sheet_stores_the_plan_that_it_shows(
    bobplan: Callable[..., Ran], example: Callable[[str], Path]
) -> None:
    folder = example("cross_plane_v8")
    ran = bobplan("sheet", folder, "-o", folder / "out.pdf", "--json")
    assert ran.code == 0, ran.err
    told = ran.json
    assert told["file"] == str(folder / "out.pdf")
    assert told["verdict"] == "with this plan in tolerance"
    reader = pypdf.PdfReader(folder / "out.pdf")
    assert len(reader.pages) == told["pages"]
    first = reader.pages[0].extract_text()
    for step in told["plan"]["steps"]:
        assert f"{step['dial_deg']:g}°" in first
        assert f"{step['stop_mm']:.1f}" in first
    assert [float(each) for each in reader.pages[0].mediabox[2:]] == pytest.approx(
        [595.276, 841.89], abs=0.01
    )
    stored = (folder / "job.toml").read_bytes()
    assert b"[plan]" in stored
    # a step can be entered as shown, and the sheet then has what is left
    number = told["plan"]["steps"][0]["number"]
    assert bobplan("done", str(number), "--job", folder).code == 0
    again = bobplan("sheet", folder, "-o", folder / "again.pdf", "--json").json
    assert [step["number"] for step in again["plan"]["steps"]] == [
        step["number"] for step in told["plan"]["steps"][1:]
    ]
    assert "made since the spin" in pypdf.PdfReader(folder / "again.pdf").pages[0].extract_text()


def test_no_store_and_the_default_file(bobplan: Callable[..., Ran], example: Callable[[str], Path]) -> None:
    folder = example("inline_three_light_spot")
    before = (folder / "job.toml").read_bytes()
    ran = bobplan("sheet", "--no-store", "--paper", "letter", folder=folder)
    assert ran.code == 0
    assert (folder / "job.toml").read_bytes() == before
    reader = pypdf.PdfReader(folder / "sheet.pdf")
    assert [float(each) for each in reader.pages[0].mediabox[2:]] == [612.0, 792.0]
    assert "seen from the rear" in reader.pages[0].extract_text().replace("\n", " ")


def test_an_inch_job_as_html_opened(
    bobplan: Callable[..., Ran], example: Callable[[str], Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[str] = []

    def answers_yes(address: str) -> bool:
        opened.append(address)
        return True

    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(webbrowser, "open", answers_yes)
    folder = example("external_balance_v8")
    target = folder / "out.html"
    ran = bobplan("sheet", folder, "-o", target, "--open", "--no-store")
    assert ran.code == 0
    assert opened == [target.resolve().as_uri()]
    markup = target.read_text(encoding="utf-8")
    assert "slug, bore 0." in markup
    assert "radius from the shaft axis" in markup
    monkeypatch.setattr(webbrowser, "open", lambda address: False)
    ran = bobplan("chart", "--radius", "88", "--drills", "12", "-o", folder / "chart.svg", "--open")
    assert ran.code == 0
    assert "open it yourself" in ran.err


def test_the_customers_record(bobplan: Callable[..., Ran], example: Callable[[str], Path]) -> None:
    folder = example("cross_plane_v8")
    ran = bobplan("sheet", folder, "--customer", "-o", folder / "before.pdf")
    assert ran.code == 1, "not balanced yet: the answer is no"
    assert b"[plan]" not in (folder / "job.toml").read_bytes()
    plan = bobplan("plan", folder, "--json").json
    for step in plan["steps"]:
        bobplan("done", str(step["number"]), "--job", folder)
    foretold = [f"{each['amount']:g} {each['angle_deg']:g}".split() for each in plan["foretold"]]
    ran = bobplan("sheet", folder, "--customer", "-o", folder / "cut.html")
    assert ran.code == 0
    assert "(foretold)" in ran.out
    bobplan("spin", *itertools.chain(*foretold), "--job", folder)
    ran = bobplan("sheet", folder, "--customer")
    assert ran.code == 0
    reader = pypdf.PdfReader(folder / "record.pdf")
    assert 1 <= len(reader.pages) <= 2
    text = " ".join(page.extract_text() for page in reader.pages)
    for wanted in (
        "Balancing record",
        "Example",
        "EX-1",
        "2026-01-31",
        "In tolerance",
        "G 16",
        "Metal out",
        "Balanced by, date",
    ):
        assert wanted in text


def test_bad_input(bobplan: Callable[..., Ran], example: Callable[[str], Path]) -> None:
    folder = example("cross_plane_v8")
    for arguments, words in (
        (["-o", "sheet.doc"], "allowed as endings"),
        (["-o", "none/sheet.pdf"], "no folder"),
        (["-o", "sheet.pdf", "--paper", "A3"], "A4 and Letter are allowed"),
    ):
        ran = bobplan("sheet", folder, *arguments)
        assert ran.code == 2
        assert words in ran.err
        assert ran.out == ""
    text = (folder / "job.toml").read_text(encoding="utf-8")
    (folder / "job.toml").write_text(text[: text.index("[[spins]]")], encoding="utf-8")
    for more in ([], ["--customer"]):
        ran = bobplan("sheet", folder, "-o", folder / "x.pdf", *more)
        assert ran.code == 2
        assert "there is no spin yet" in ran.err
        assert not (folder / "x.pdf").exists()


def test_chart(bobplan: Callable[..., Ran], tmp_path: Path) -> None:
    arguments = ["--radius", "3.25 in", "--drills", "5/8 in,1/2 in", "-o", tmp_path / "chart.pdf"]
    ran = bobplan("chart", *arguments, "--json")
    assert ran.code == 0, ran.err
    told = ran.json
    assert told["drills_mm"] == [12.7, 15.875]
    reader = pypdf.PdfReader(tmp_path / "chart.pdf")
    assert len(reader.pages) == 1
    assert [float(each) for each in reader.pages[0].mediabox[2:]] == [612.0, 792.0]
    text = reader.pages[0].extract_text()
    assert "3.250 in (3 1/4)" in text
    # `bobplan cut` computes the same hole
    row = next(row for row in told["rows"] if math.isclose(row["stop_mm"], 25.4))
    cut = bobplan(
        "cut", "rim", "--outer-radius", "3.25 in", "--diameter", "1/2 in", "--depth", "1 in", "--json"
    ).json
    assert row["unbalance_gmm"][0] == pytest.approx(cut["unbalance_gmm"], rel=1e-6)


def test_chart_in_other_units(bobplan: Callable[..., Ran], tmp_path: Path) -> None:
    ran = bobplan(
        "chart", "--radius", "3.5", "--drills", "0.5", "--units", "in", "--depth-unit", "mm",
        "--unbalance-unit", "g-in", "--depth-to", "tip", "--paper", "A4", "-o", tmp_path / "c.pdf",
    )  # fmt: skip
    assert ran.code == 0, ran.err
    text = pypdf.PdfReader(tmp_path / "c.pdf").pages[0].extract_text()
    assert "to the tip [mm]" in text
    assert "[g·in]" in text
    assert "88.9 mm" in text


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "--radius is missing"),
        (["--radius", "88"], "--drills is missing"),
        (["--radius", "88", "--drills", ","], "1 to 6 drills"),
        (["--radius", "88", "--drills", "12", "--units", "furlong"], "furlong"),
        (["--radius", "-5", "--drills", "12"], "--radius"),
        (["--radius", "88", "--drills", "12", "--depth-to", "middle"], "shoulder"),
        (["--radius", "88", "--drills", "12", "-o", "c.html"], "allowed as endings"),
        (["--radius", "88", "--drills", "12", "--point-angle", "5"], "point angle"),
    ],
)
def test_bad_chart(arguments: list[str], words: str, bobplan: Callable[..., Ran]) -> None:
    ran = bobplan("chart", *arguments)
    assert ran.code == 2
    assert words in ran.err


@pytest.mark.parametrize("name", ["sheet", "chart"])
def test_commands_alone_load_nothing_heavy(name: str) -> None:
    heavy = ("numpy", "scipy", "matplotlib", "shapely", "tomlkit", "pydantic")
    code = (
        f"import sys\nimport planner.cli.{name}\n"
        f"own = [each for each in sys.modules if each.startswith('planner.present') or each.startswith('planner.steps')]\n"
        f"heavy = [each for each in {heavy!r} if each in sys.modules and each != 'pydantic']\n"
        "sys.exit(f'{own} {heavy}' if own or heavy else 0)\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
