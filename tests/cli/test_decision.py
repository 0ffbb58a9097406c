"""``bobplan quote --decide``: the ways side by side, their price by own arithmetic.  All data are invented."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest
from html_checks import HtmlCheck

from planner.jobfile.read import load_job
from planner.steps.decision import decision_of
from planner.steps.quote import quote_of
from tests.cli.conftest import Ran

Run = Callable[..., Ran]
Copied = Callable[[str], Path]

PRICES = """[shop]
base_price = 200
price_per_spin = 30
quoted_spins = 2
labour_per_hour = 80
minutes_per_slug = 25
lightening_price = { piston = 12, rod = 9 }
slug_price = { "5/8 in" = 45 }
"""


def priced(folder: Path) -> Path:
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8").replace("[shop]\n", PRICES)
    path.write_text(text + '\n[shop_details]\nname = "Invented Crank Works"\n', encoding="utf-8")
    return folder


def test_heavier_bobs_need_metal_and_the_sheet_says_what_each_way_costs(
    bobplan: Run, example: Copied, tmp_path: Path
) -> None:
    """Built for 1724 g on every throw, 1820 g wanted: about three times what drilling could leave (see the quick quote)."""
    folder = priced(example("cross_plane_v8"))
    ran = bobplan(
        "quote",
        folder,
        "--bob",
        "1820",
        "--built-for",
        "1724",
        "--within",
        "5",
        "--cases",
        "2",
        "--json",
        "-o",
        tmp_path / "d.pdf",
    )
    assert ran.code == 0, ran.err
    told = ran.json["decision"]
    assert told["need"] == "needed"
    assert told["cases_that_need_more_than_drilling"] == told["cases"]
    assert not told["metal_off"]
    ways = {way["name"]: way for way in told["ways"]}
    drill = ways["drilling only"]
    assert not drill["feasible"]
    assert drill["proven"] == "not possible, proven"
    metal = ways["heavy metal, fewest pieces"]
    assert metal["feasible"]
    pieces = sum(slug["pieces"] for slug in metal["slugs"])
    assert metal["minutes"] >= 25 * pieces
    prices = {"15.875": 45}
    slugs = sum(prices[f"{slug['diameter_mm']:g}"] * slug["pieces"] for slug in metal["slugs"])
    # 200 for the job, two spins of 30, the minutes at 80 an hour, the slugs
    assert metal["price"]["total"] == pytest.approx(200 + 60 + 80 * metal["minutes"] / 60 + slugs)
    assert metal["price"]["missing"] == []
    lighter = ways["lighter parts"]
    # eight cylinders, the cheaper of 12 a piston and 9 a rod
    assert lighter["price"]["lightening"] == pytest.approx(8 * 9)
    assert lighter["off_rod_big_end_g"] == pytest.approx(lighter["lighter_bob_g"] / 2)
    fraction = ways["another fraction"]
    assert 30 <= fraction["percent"] < 50
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(tmp_path / "d.pdf").pages)
    for wanted in (
        "Decision sheet",
        "Invented Crank Works",
        "The ways side by side",
        f"{metal['price']['total']:.2f}",
    ):
        assert wanted in text


def test_lighter_bobs_ask_for_metal_off(bobplan: Run, example: Copied, tmp_path: Path) -> None:
    folder = priced(example("cross_plane_v8"))
    target = tmp_path / "d.html"
    ran = bobplan("quote", folder, "--bob", "1680", "--built-for", "1724", "--cases", "2", "-o", target)
    assert ran.code == 0, ran.err
    assert "the new bobs are lighter" in ran.out.lower()
    assert "Heavy metal adds weight there and does nothing for this" in ran.out
    checked = HtmlCheck(target.read_text(encoding="utf-8"))
    assert checked.faults == []
    assert "Drilling only" in checked.words()
    refused = bobplan("quote", folder, "-o", tmp_path / "d.doc")
    assert refused.code == 2
    assert "allowed as endings" in refused.err


def test_what_has_no_price_is_not_shown_as_free(bobplan: Run, example: Copied) -> None:
    folder = example("cross_plane_v8")
    asked = ("quote", folder, "--bob", "1820", "--built-for", "1724", "--within", "5", "--cases", "2")
    none = bobplan(*asked, "-o", folder / "d.html")
    assert none.code == 0, none.err
    for text in (none.out, (folder / "d.html").read_text(encoding="utf-8")):
        assert "0.00" not in text
        assert "no price stated" in text
    path = folder / "job.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("[shop]\n", "[shop]\nlabour_per_hour = 80\n"))
    some = bobplan(*asked, "-o", folder / "d.html")
    rows = [line for line in some.out.splitlines() if line.startswith("heavy metal, fewest")]
    assert len(rows) == 1
    # job, spins and slugs have no price; labour has; nothing is made lighter
    assert re.fullmatch(
        r"heavy metal, fewest pieces +not stated +not stated +[1-9]\d*\.\d\d +not stated +- +[1-9]\d*\.\d\d",
        rows[0].strip(),
    )
    assert re.search(r"(?<!\d)0\.00", some.out) is None
    assert "has no price for it" in some.out


def test_the_same_question_has_the_same_answer_and_says_when_time_was_up() -> None:
    job = load_job(Path(__file__).parents[2] / "examples" / "cross_plane_v8" / "job.toml")
    quote = quote_of(job, bob_g=1710.0, built_for_g=1724.0, within_g=15.0)
    one, other = (decision_of(quote, draws=2) for _ in range(2))
    assert one.ways == other.ways
    assert one.need == other.need
    late = decision_of(quote, draws=2, seconds=0.0)
    assert late.need in ("not known", one.need)
    for way in late.ways:
        if way.late:
            assert not way.feasible or way.cases < way.draws
            assert way.proven in ("", "not known, the time was up")


def test_built_for_a_bob_per_throw(bobplan: Run, example: Copied) -> None:
    """One throw was built for 20 g less: that throw alone asks for 20 g at its radius, by the lever rule."""
    folder = example("external_balance_v8")
    file = folder / "crankshaft.toml"
    text = file.read_text(encoding="utf-8")
    built = '{ "1" = "2198 g", "2" = "2218 g", "3" = "2218 g", "4" = "2218 g" }'
    file.write_text(
        text.replace("[crankshaft]\n", f"[crankshaft]\nbuilt_for_bob = {built}\n"), encoding="utf-8"
    )
    path = folder / "job.toml"
    path.write_text(path.read_text(encoding="utf-8").partition("[[spins]]")[0], encoding="utf-8")
    ran = bobplan("quote", folder, "--json")
    assert ran.code in (0, 1), ran.err
    # throw 1 at 3.74 in, planes at 2.05 and 18.45 in, radius 2 in
    right = (3.74 - 2.05) / 16.4
    amounts = [side["amount_gmm"] for side in ran.json["unbalance"]]
    assert amounts == pytest.approx([20.0 * 50.8 * (1.0 - right), 20.0 * 50.8 * right], rel=1e-3)
    file.write_text(
        text.replace("[crankshaft]\n", '[crankshaft]\nbuilt_for_bob = { "1" = 2198, "9" = 2218 }\n'),
        encoding="utf-8",
    )
    ran = bobplan("quote", folder)
    assert ran.code == 2
    assert "there is no such throw" in ran.err
