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

from planner.present.pages.sheet import sheet_content
from planner.present.to_html import html_page
from planner.present.to_paper import A4, save_paper

HERE = Path(__file__).parent
EXAMPLE = "cross_plane_v8"


def compare(found: str, name: str) -> None:
    golden = HERE / name
    if os.environ.get("BOBPLAN_REGENERATE") == "1":
        golden.write_text(found, encoding="utf-8", newline="\n")
        pytest.skip(f"{name} written anew")
    assert found.splitlines() == golden.read_text(encoding="utf-8").splitlines()


def test_text_of_the_pdf(tmp_path: Path) -> None:
    content = sheet_content(sheet_samples.example(EXAMPLE))
    save_paper("sheet", content, tmp_path / "sheet.pdf", paper=A4, title="golden")
    reader = pypdf.PdfReader(tmp_path / "sheet.pdf")
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
    compare(
        without_strokes(html_page("sheet", sheet_content(sheet_samples.example(EXAMPLE)), title="golden")),
        f"{EXAMPLE}.html",
    )


def without_strokes(markup: str) -> str:
    """Return the document with every drawing as its title, its words and the names of its parts."""

    def told(found: re.Match[str]) -> str:
        svg = found[0]
        words = re.findall(r"<(?:title|desc)[^>]*>([^<]*)<", svg)
        parts = sorted(set(re.findall(r'data-part="([^"]*)"', svg)))
        return "\n".join(["<svg>", *words, *parts, "</svg>"])

    return re.sub(r"<svg.*?</svg>", told, markup, flags=re.S)
