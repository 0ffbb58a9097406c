"""The sheet of one example against what it was when it was last looked at: a guard against changes nobody meant.

Own earlier output, so no validation.  After a wanted change: ``BOBPLAN_REGENERATE=1 pytest -n0 tests/golden``, then
read the difference before committing it.  Of the drawings only the named parts are kept, not the strokes: those depend on
the version of the plotting library.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

import pypdf
import pytest
import sheet_samples

from planner.present.html.sheet import sheet_html
from planner.present.sheet.pages import sheet_figures
from planner.present.sheet.paper import paper_of
from planner.present.sheet.save import save_pages

HERE = Path(__file__).parent
EXAMPLE = "cross_plane_v8"


def compare(found: str, name: str) -> None:
    golden = HERE / name
    if os.environ.get("BOBPLAN_REGENERATE") == "1":
        golden.write_text(found, encoding="utf-8", newline="\n")
        pytest.skip(f"{name} written anew")
    assert found.splitlines() == golden.read_text(encoding="utf-8").splitlines()


def test_text_of_the_pdf(tmp_path: Path) -> None:
    figures = sheet_figures(sheet_samples.example(EXAMPLE), paper=paper_of("A4"))
    reader = pypdf.PdfReader(save_pages(figures, tmp_path / "sheet.pdf", title="golden"))
    pages = [
        "\n".join(
            re.sub(r"\s+", " ", line).strip() for line in page.extract_text().splitlines() if line.strip()
        )
        for page in reader.pages
    ]
    compare(
        "\n\n".join(f"--- page {n}\n{text}" for n, text in enumerate(pages, start=1)) + "\n", f"{EXAMPLE}.txt"
    )


def test_html() -> None:
    compare(without_strokes(sheet_html(sheet_samples.example(EXAMPLE))), f"{EXAMPLE}.html")


def without_strokes(markup: str) -> str:
    """Return the document with every drawing as its title, its words and the names of its parts."""

    def told(found: re.Match[str]) -> str:
        svg = found[0]
        words = re.findall(r"<(?:title|desc)[^>]*>([^<]*)<", svg)
        parts = sorted(set(re.findall(r'data-part="([^"]*)"', svg)))
        return "\n".join(["<svg>", *words, *parts, "</svg>"])

    return re.sub(r"<svg.*?</svg>", told, markup, flags=re.S)
