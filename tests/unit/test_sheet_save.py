"""Pages into files: vector PDF with its fonts inside, pictures of all pages, equal bytes, one step.  Invented data."""

from __future__ import annotations

import functools
from pathlib import Path
from xml.etree import ElementTree

import plan_samples
import pypdf
import pytest
import sheet_samples
from matplotlib.figure import Figure

from planner.errors import InputError
from planner.present.drawings.gallery import plan_figure
from planner.present.sheet.pages import sheet_figures
from planner.present.sheet.paper import PAPERS
from planner.present.sheet.save import check_sheet_file, save_pages

A4, LETTER = PAPERS


@functools.cache
def pages() -> list[Figure]:
    return sheet_figures(sheet_samples.sample("slugs"), paper=LETTER)


def test_pdf_has_selectable_text_and_its_own_fonts(tmp_path: Path) -> None:
    figures = pages()
    target = save_pages(figures, tmp_path / "sheet.pdf", title="Invented")
    reader = pypdf.PdfReader(target)
    assert len(reader.pages) == len(figures)
    assert reader.metadata is not None
    assert reader.metadata.title == "Invented"
    assert "/CreationDate" not in reader.metadata
    assert "dial" in reader.pages[0].extract_text()
    for page in reader.pages:
        assert [float(each) for each in page.mediabox[2:]] == [612.0, 792.0]
        resources = page["/Resources"]
        drawn = resources.get("/XObject", {}).get_object()  # type: ignore[union-attr]
        assert all(each.get_object()["/Subtype"] != "/Image" for each in drawn.values()), "not vectors"
        for font in resources["/Font"].values():  # type: ignore[index]
            (inner,) = font.get_object()["/DescendantFonts"]
            assert inner.get_object()["/Subtype"] == "/CIDFontType2"
            assert "/FontFile2" in inner.get_object()["/FontDescriptor"]


@pytest.mark.parametrize("ending", [".pdf", ".svg", ".png"])
def test_equal_pages_are_equal_bytes(ending: str, tmp_path: Path) -> None:
    one, other = tmp_path / f"one{ending}", tmp_path / f"other{ending}"
    for target in (one, other):
        save_pages([plan_figure(plan_samples.slugs())], target, title="t")
    assert one.read_bytes() == other.read_bytes()
    assert sorted(each.name for each in tmp_path.iterdir()) == sorted([one.name, other.name])


def test_svg_holds_all_pages_and_nothing_from_outside(tmp_path: Path) -> None:
    figures = pages()
    target = save_pages(figures, tmp_path / "sheet.svg", title="a < b")
    root = ElementTree.parse(target).getroot()
    assert root.attrib["height"] == f"{792 * len(figures)}pt"
    nested = root.findall("{http://www.w3.org/2000/svg}svg")
    assert [each.attrib["y"] for each in nested] == [f"{792 * index}" for index in range(len(figures))]
    ids = [each.attrib["id"] for each in root.iter() if "id" in each.attrib]
    assert len(ids) == len(set(ids))
    for each in root.iter():
        assert each.attrib.get("href", "#").startswith("#")


def test_png_has_all_pages_below_each_other(tmp_path: Path) -> None:
    from matplotlib.image import imread

    figures = pages()
    picture = imread(save_pages(figures, tmp_path / "sheet.png", title="t"))
    assert picture.shape[:2] == (1650 * len(figures), 1275)


def test_a_file_that_can_not_be_written_is_refused_before_any_work(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"sheet\.doc.*\.html"):
        check_sheet_file(tmp_path / "sheet.doc")
    with pytest.raises(InputError, match="no folder"):
        check_sheet_file(tmp_path / "none" / "sheet.pdf")
    with pytest.raises(InputError, match=r"\.pdf, \.png and \.svg"):
        save_pages([], tmp_path / "sheet.html", title="t")


def test_progress_tells_the_pages(tmp_path: Path) -> None:
    told: list[str] = []
    save_pages(pages()[:2], tmp_path / "sheet.pdf", title="t", progress=told.append)
    assert told == ["page 1 of 2", "page 2 of 2"]
