"""Rim strips read back from the PDF: every place to a tenth of a millimetre, by own arithmetic.  Invented data."""

from __future__ import annotations

import math

import numpy as np
import paper_checks as paper
import pytest
import sheet_samples

from planner.errors import InputError
from planner.present.drawings import style
from planner.present.pages.strip import TILE_MM, strip_content
from planner.present.to_paper import A4, LETTER, printed_pages
from planner.rotor.vectors import difference_deg

MM = 72.0 / 25.4


def pages_of(name: str) -> list[paper.Page]:
    answer = sheet_samples.sample(name).answer
    size = LETTER if answer.job.units.in_inches else A4
    return paper.read_pages(
        printed_pages("strip", strip_content(answer), ending=".pdf", paper=size, title="t").data
    )


def lines_mm(page: paper.Page, *, colour: str = "") -> list[tuple[float, float, float, float]]:
    wanted = [int(colour[start : start + 2], 16) / 255.0 for start in (1, 3, 5)] if colour else []
    found = []
    for each in page.shapes:
        stroke = each.get("stroking_color")
        if each.get("fill") or len(each["pts"]) != 2 or not isinstance(stroke, list | tuple):
            continue
        if wanted and (
            len(stroke) != 3 or max(abs(a - b) for a, b in zip(stroke, wanted, strict=True)) > 0.004
        ):
            continue
        (x0, y0), (x1, y1) = each["pts"]
        found.append((x0 / MM, y0 / MM, x1 / MM, y1 / MM))
    return found


@pytest.mark.parametrize(("name", "bar"), [("one cut", 100.0), ("inches", 101.6)])
def test_the_check_bar_is_as_long_as_it_says(name: str, bar: float) -> None:
    for page in pages_of(name):
        level = [abs(x1 - x0) for x0, y0, x1, y1 in lines_mm(page) if abs(y1 - y0) < 0.01]
        assert any(each == pytest.approx(bar, abs=0.05) for each in level)
        assert "Print at 100 %" in page.words
        assert ("this bar is 4 in long" if name == "inches" else "this bar is 100 mm long") in page.words
        assert paper.covered_letters(page) == []
        assert paper.outside(page) == []


def test_crosses_are_where_the_holes_belong() -> None:
    """From the centre line, radius times angle to the left for what lies counter-clockwise seen from the front."""
    answer = sheet_samples.sample("eight cuts").answer
    page = pages_of("eight cuts")[0]
    crosses = lines_mm(page, colour=style.WAY)
    upright = sorted(
        0.5 * (x0 + x1) for x0, y0, x1, y1 in crosses if abs(x1 - x0) < 0.01 and 17.0 < abs(y1 - y0) < 19.0
    )
    level = [0.5 * (y0 + y1) for x0, y0, x1, y1 in crosses if abs(y1 - y0) < 0.01]
    subject = next(each for each in answer.problem.counterweights if each.name == "A")
    wanted = sorted(
        -math.radians(difference_deg(step.cut.angle_deg, subject.angle_deg)) * 88.0
        for step in answer.steps
        if step.cut.counterweight == "A"
    )
    assert len(upright) == 4
    # the strip runs from edge to edge of a fan of twice 58 degrees, its centre line in the middle
    half = math.radians(58.0) * 88.0
    edge = 14.0  # the page's margin: the strip begins there
    assert [x - edge - half for x in upright] == pytest.approx(wanted, abs=0.1)
    # all in the middle of the thickness, 24 mm: 12 mm from both long edges
    strip = next(
        each
        for each in page.shapes
        if abs((each["x1"] - each["x0"]) / MM - 2.0 * half) < 0.2 and not each.get("fill")
    )
    assert level[0] == pytest.approx(strip["top"] / MM + 12.0, abs=0.1)


def test_a_long_rim_is_tiled_with_an_overlap() -> None:
    """A disc of 75 mm radius is 471 mm round: three pieces, each no longer than a sheet, that together hold every hole."""
    answer = sheet_samples.sample("other outlines").answer
    content = strip_content(answer)
    disc = [tile for tile in content.tiles if tile.title.startswith("counterweight F")]
    whole = 2.0 * math.pi * 75.0
    assert len(disc) == math.ceil((whole - 15.0) / (TILE_MM - 15.0))
    assert sum(tile.wide for tile in disc) - 15.0 * (len(disc) - 1) == pytest.approx(whole)
    assert all(tile.wide <= TILE_MM + 1e-9 for tile in disc)
    new = {
        (round(hole.x, 3), index) for index, tile in enumerate(disc) for hole in tile.holes if not hole.old
    }
    assert len(new) >= 2
    assert np.isfinite([hole.x for tile in disc for hole in tile.holes]).all()
    for page in pages_of("other outlines"):
        assert paper.outside(page) == []


def test_nothing_to_cut_has_no_strip() -> None:
    with pytest.raises(InputError, match="nothing is to be cut"):
        strip_content(sheet_samples.sample("nothing to cut").answer)
