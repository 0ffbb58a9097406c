"""Everything that the display shows is printed as the display shows it, on every screen.

An inch job on a machine that reads grams at 3.25 in, marks the light spot and counts clockwise seen from the rear: a display
of 54.6 g at 244 is 6.26 oz-in heavy at 64, and the operator must never have to turn the one into the other.  Data invented.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Ran

Bobplan = Callable[..., Ran]
Example = Callable[[str], Path]
SHOWN = "54.6 g at 244°"


@pytest.fixture
def folder(example: Example) -> Path:
    where = example("external_balance_v8")
    shop = where / "shop.toml"
    text = shop.read_text(encoding="utf-8")
    text = text.replace('"heavy spot"', '"light spot"').replace('amounts = "unbalance"', 'amounts = "mass"')
    text = text.replace('"ccw"', '"cw"').replace('viewed_from = "front"', 'viewed_from = "rear"')
    shop.write_text(text, encoding="utf-8")
    crankshaft = where / "crankshaft.toml"
    text = crankshaft.read_text(encoding="utf-8")
    text = text.replace(
        "left = 2.05\nright = 18.45\n",
        "left = 2.05\nright = 18.45\nleft_radius = 3.25\nright_radius = 3.25\n",
    )
    crankshaft.write_text(text, encoding="utf-8")
    job = where / "job.toml"
    text = job.read_text(encoding="utf-8")
    text = re.sub(r"left = \{.*", "left = { amount = 54.6, angle = 244 }", text)
    text = re.sub(r"right = \{.*", "right = { amount = 45.5, angle = 50 }", text)
    text = text.replace("each_side = 0.5 ", "each_side = 3.5 ")
    job.write_text(text, encoding="utf-8")
    return where


def _no_conversion(out: str) -> None:
    """6.26 oz-in is 54.6 g; 45.5 g is 5.22 oz-in: no screen shows what the display does not."""
    assert "6.26 oz*in" not in out
    assert "5.22 oz*in" not in out


def test_every_screen(bobplan: Bobplan, folder: Path) -> None:
    plan = bobplan("plan", folder, "--no-store")
    assert re.search(r"reading +54\.6 g at 244° +45\.5 g at 50°", plan.out)
    assert "left: 54.6 g light at 244°, heavy at 64°" in plan.out
    # the limit, 3.5 oz-in, is 30.5 g on this display
    assert re.search(r"left: [\d.]+ g of 30\.5 g", plan.out)
    check = bobplan("check", folder=folder)
    assert SHOWN in check.out
    assert re.search(r"left +54\.6 g +30\.5 g +179 % +±3\.\d g", check.out)
    history = bobplan("history", folder=folder)
    assert re.search(
        r"light spot +left plane +right plane\n +read +54\.6 g at 244° +45\.5 g at 50°", history.out
    )
    odds = bobplan("odds", folder=folder)
    assert "within 30.5 g" in odds.out
    quote = bobplan("quote", folder, "--seconds", "1")
    assert "left 54.6 g, right 45.5 g" in quote.out
    for ran in (plan, check, history, odds, quote):
        _no_conversion(ran.out)


def test_a_new_spin_is_compared_as_it_is_shown(bobplan: Bobplan, folder: Path) -> None:
    ran = bobplan("spin", "54.6", "244", "45.5", "50", "--yes", folder=folder)
    assert "left: 54.6 g light at 244°, heavy at 64°" in ran.out
    assert f"nothing was cut since: {SHOWN}; off by 0.0 g" in ran.out
    _no_conversion(ran.out)


def test_the_sheet_and_the_drawing(bobplan: Bobplan, folder: Path) -> None:
    bobplan("sheet", folder, "-o", folder / "sheet.html")
    html = (folder / "sheet.html").read_text(encoding="utf-8")
    assert SHOWN in html
    assert "6.26 oz" not in html
    assert "5.22 oz" not in html


def test_the_working_is_where_the_frame_is_shown(bobplan: Bobplan, folder: Path) -> None:
    """It was asked for: millimetres, grams and the file's own angles, and it says so."""
    out = bobplan("plan", folder, "--no-store", "--show-work").out
    assert "angles counter-clockwise seen from the front" in out
    # 54.6 g x 82.55 mm = 4507.2 g*mm, at 244 + 180
    assert re.search(r"U = 54\.6 g x 82\.55 mm = 4507\.2; angle = 0 \+ 244 \+ 180 = 64\.00", out)
