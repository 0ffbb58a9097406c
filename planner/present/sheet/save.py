"""Pages into one file: PDF with a page per page, PNG and SVG with the pages one below the other; equal pages, equal bytes."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.files import check_output, in_one_step
from planner.present.drawings import style
from planner.present.drawings.save import METADATA, SETTINGS, quiet_about_glyphs

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PAPER_ENDINGS = (".pdf", ".png", ".svg")
SHEET_ENDINGS = (*PAPER_ENDINGS[:1], ".html", *PAPER_ENDINGS[1:])
Progress = Callable[[str], None]


def check_sheet_file(target: Path, *, endings: Sequence[str] = SHEET_ENDINGS) -> None:
    """Refuse a file that can't be written, before anything is worked out.

    Raises
    ------
    InputError
        If its ending says no format, or its folder does not exist.
    """
    check_output(target, endings=endings, hint=f"write for example `-o {target.stem or 'sheet'}.pdf`")


def save_pages(
    figures: Sequence[Figure], target: Path, *, title: str, progress: Progress | None = None
) -> Path:
    """Write pages as PDF, PNG or SVG, by the file's ending; the file is replaced in one step or not at all.

    Parameters
    ----------
    figures : sequence of matplotlib Figure
        The pages.
    target : Path
        Where to.
    title : str
        The document's title.
    progress : callable, optional
        Called with a short text before every page.

    Returns
    -------
    Path
        The path written.

    Raises
    ------
    InputError
        As `check_sheet_file`, or if the file can't be written there.
    """
    import matplotlib as mpl

    check_sheet_file(target, endings=PAPER_ENDINGS)
    say = progress or (lambda text: None)
    write = {".pdf": _write_pdf, ".png": _write_png, ".svg": _write_svg}[target.suffix.lower()]
    with in_one_step(target) as half_done, mpl.rc_context(SETTINGS), quiet_about_glyphs():
        write(figures, half_done, title, say)
    return target


def _write_pdf(figures: Sequence[Figure], path: Path, title: str, say: Progress) -> None:
    from matplotlib.backends.backend_pdf import PdfPages

    metadata = {**METADATA[".pdf"], "Title": title}
    with PdfPages(path, metadata=metadata) as pdf:
        for number, figure in enumerate(figures, start=1):
            say(f"page {number} of {len(figures)}")
            pdf.savefig(figure)


def _write_png(figures: Sequence[Figure], path: Path, title: str, say: Progress) -> None:
    import numpy as np
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.image import imsave

    pictures = []
    for number, figure in enumerate(figures, start=1):
        say(f"page {number} of {len(figures)}")
        canvas = FigureCanvasAgg(figure)
        figure.set_dpi(style.DOTS_PER_INCH)
        canvas.draw()  # type: ignore[no-untyped-call]
        pictures.append(np.asarray(canvas.buffer_rgba()))  # type: ignore[no-untyped-call]
    imsave(
        path,
        np.concatenate(pictures),
        format="png",
        dpi=style.DOTS_PER_INCH,
        metadata={**METADATA[".png"], "Title": title},
    )


def _write_svg(figures: Sequence[Figure], path: Path, title: str, say: Progress) -> None:
    from html import escape

    pages = []
    down_pt, wide_pt = 0.0, 0.0
    for number, figure in enumerate(figures, start=1):
        say(f"page {number} of {len(figures)}")
        width_in, height_in = figure.get_size_inches()
        pages.append(
            f'<svg x="0" y="{down_pt:g}" width="{72.0 * width_in:g}" height="{72.0 * height_in:g}" '
            f'viewBox="0 0 {72.0 * width_in:g} {72.0 * height_in:g}">{svg_inside(figure, prefix=f"p{number}-")}</svg>'
        )
        down_pt += 72.0 * height_in
        wide_pt = max(wide_pt, 72.0 * width_in)
    size = f'width="{wide_pt:g}pt" height="{down_pt:g}pt" viewBox="0 0 {wide_pt:g} {down_pt:g}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" {size}><title>{escape(title)}</title>\n'
    path.write_text(head + letters_once("\n".join(pages)) + "\n</svg>\n", encoding="utf-8")


def svg_inside(figure: Figure, *, prefix: str) -> str:
    """Return what stands inside a figure's SVG, its ids made unique by a prefix, without outside links.

    What matplotlib calls the artist (its ``gid``) becomes ``data-part``, because an id may hold no blanks.
    """
    import matplotlib as mpl

    held = io.BytesIO()
    with mpl.rc_context(SETTINGS), quiet_about_glyphs():
        figure.savefig(held, format="svg", metadata=METADATA[".svg"])
    return prefixed(held.getvalue().decode("utf-8"), prefix=prefix)


def prefixed(svg: str, *, prefix: str) -> str:
    """Return what stands inside an SVG of matplotlib's, ids and their uses prefixed, for use in another document."""
    from xml.etree import ElementTree

    root = ElementTree.fromstring(re.sub(r"<!DOCTYPE[^>]*>", "", svg))
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag.endswith("}metadata"):
                parent.remove(child)
    used = set(_ANY_USE.findall(svg))
    for element in root.iter():
        _renamed(element, prefix, used)
    inside = "".join(ElementTree.tostring(child, encoding="unicode") for child in root)
    return _LONG_NUMBER.sub(_shorter, inside)


def letters_once(body: str) -> str:
    """Return markup in which every letter and hatch is defined once, by the first drawing that has it."""
    told: set[str] = set()

    def first(found: re.Match[str]) -> str:
        name = found[1] or found[2]
        if name in told:
            return ""
        told.add(name)
        return found[0]

    return _ONCE.sub(first, body)


def _shorter(found: re.Match[str]) -> str:
    """Return a number without digits that nobody sees (a drawing's unit is 1/72 in)."""
    value = float(found[0])
    return f"{value:.5g}" if abs(value) < 1.0 else f"{round(value, 2):g}"


_LONG_NUMBER = re.compile(r"-?\d+\.\d{3,}(?![\d%])")
SHARED = re.compile(r"DejaVuSans[\w-]*|h[0-9a-f]{10}")
"""Ids of letters and hatches (made from what they hold): the same in every drawing, they need not be told twice."""

_ONCE = re.compile(r'<path id="(DejaVuSans[^"]*)"[^>]*/>|<pattern id="(h[0-9a-f]{10})".*?</pattern>', re.S)
_USE = re.compile(r"url\(#([^)]+)\)")


_ANY_USE = re.compile(r"(?:url\(|href=\")#([^)\"]+)")
_AUTOMATIC = re.compile(r"[\w.]+_\d+")  # what matplotlib calls an artist that has no name


def _renamed(element: Any, prefix: str, used: set[str]) -> None:
    """Strip namespaces (HTML and a nested svg need none) and prefix the ids that are used; the others are names."""

    def shared(name: str) -> str:
        return name if SHARED.fullmatch(name) else prefix + name

    element.tag = element.tag.rpartition("}")[2]
    for key, value in list(element.attrib.items()):
        del element.attrib[key]
        plain = key.rpartition("}")[2]
        if plain == "id":
            if value in used:
                element.set("id", shared(value))
            elif not _AUTOMATIC.fullmatch(value):
                element.set("data-part", value)
        elif plain == "href":
            name = value.removeprefix("#")
            if name != value:
                element.set("href", f"#{shared(name)}")
        else:
            element.set(plain, _USE.sub(lambda found: f"url(#{shared(found[1])})", value))
