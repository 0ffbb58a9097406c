"""Paper: a page's content set by Typst into PDF, PNG or SVG, by templates that stand beside this file.

What a page says goes in as JSON and is set as text, never as markup.  The letters are matplotlib's DejaVu, so that the same
content gives the same bytes everywhere; only letters that it lacks are taken from the system's fonts, and that is said.
Typst is imported where it is used: it is a compiled library, and most commands make no paper.
"""

from __future__ import annotations

import dataclasses
import datetime
import functools
import io
import json
import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from planner.errors import BobplanError, InputError
from planner.files import check_output, in_one_step
from planner.present.document import Part, Table
from planner.present.drawings import style
from planner.present.drawings.picture import Picture
from planner.present.drawings.svg import paper_svg
from planner.present.logo import Logo, as_svg
from planner.present.page_colours import NAMES
from planner.records import dataclass

PAPER_ENDINGS = (".pdf", ".png", ".svg")
SHEET_ENDINGS = (".pdf", ".html", ".png", ".svg")
Progress = Callable[[str], None]
MARGIN_IN = 0.5
TEMPLATES = Path(__file__).with_name("templates")
_STANDARDS: Any = ["a-2a", "ua-1"]
"""The PDF is an archive copy (ISO 19005-2, level A) and accessible (ISO 14289-1): tagged, fonts inside."""

_WIDTH_IN: Mapping[str, float] = {"full": 7.2, "wide": 4.15, "half": 3.55, "narrow": 2.95, "card": 2.05}


@dataclass(frozen=True, kw_only=True)
class Paper:
    """A size of paper [in]; ``typst`` is what the setter calls it."""

    name: str
    typst: str
    width_in: float
    height_in: float

    @property
    def room_in(self) -> float:
        """Width between the margins [in]."""
        return self.width_in - 2.0 * MARGIN_IN


A4 = Paper(name="A4", typst="a4", width_in=210.0 / 25.4, height_in=297.0 / 25.4)
LETTER = Paper(name="Letter", typst="us-letter", width_in=8.5, height_in=11.0)
PAPERS = (A4, LETTER)


def paper_of(name: str) -> Paper:
    """Return a paper by its name, capitals or not.

    Raises
    ------
    InputError
        If it is neither A4 nor Letter.
    """
    for paper in PAPERS:
        if paper.name.lower() == name.strip().lower():
            return paper
    raise InputError(
        f"`{name}` is no paper of a sheet: A4 and Letter are allowed", hint="leave it out for the usual one"
    )


def check_sheet_file(target: Path, *, endings: Sequence[str] = SHEET_ENDINGS) -> None:
    """Refuse a file that can't be written, before anything is worked out.

    Raises
    ------
    InputError
        If its ending says no format, or its folder does not exist.
    """
    check_output(target, endings=endings, hint=f"write for example `-o {target.stem or 'sheet'}.pdf`")


@dataclass(frozen=True, kw_only=True)
class Printed:
    """Pages as a file's bytes, how many there are, and what is to be said of their letters."""

    data: bytes
    pages: int
    notes: tuple[str, ...] = ()


def save_paper(
    template: str,
    content: Any,
    target: Path,
    *,
    paper: Paper,
    title: str,
    date: datetime.date | None = None,
    progress: Progress | None = None,
) -> Printed:
    """Set a content by a template and write it, by the file's ending; the file is replaced in one step or not at all.

    Raises
    ------
    InputError
        As `check_sheet_file`, or if the file can't be written there.
    """
    check_sheet_file(target, endings=PAPER_ENDINGS)
    printed = printed_pages(
        template,
        content,
        ending=target.suffix.lower(),
        paper=paper,
        title=title,
        date=date,
        progress=progress,
    )
    with in_one_step(target) as half_done:
        half_done.write_bytes(printed.data)
    return printed


def printed_pages(
    template: str,
    content: Any,
    *,
    ending: str,
    paper: Paper,
    title: str,
    date: datetime.date | None = None,
    progress: Progress | None = None,
) -> Printed:
    """Return a content set by a template.

    Parameters
    ----------
    template : str
        Name of a template without its ending: ``sheet``.
    content : dataclass or mapping
        What the template sets; texts, numbers, parts of documents and `Picture` in it, however deep.
    ending : {".pdf", ".png", ".svg"}
        The format; PNG and SVG have the pages one below the other.
    paper : Paper
        Its size.
    title : str
        The document's title.
    date : datetime.date, optional
        The document's date, the job's own; a fixed day where the job has none, never the clock's.
    progress : callable, optional
        Called with a short text before every drawing.
    """
    say = progress or (lambda text: None)
    data = plain(content, say)
    data |= {
        "name": title,
        "title": data.get("title") or title,
        "date": [*(date or _NO_DATE).timetuple()[:3]],
        "paper": paper.typst,
        "room_in": paper.room_in,
        "card_width": _WIDTH_IN["card"],
        "style": NAMES,
    }
    text = json.dumps(data, ensure_ascii=False, allow_nan=False)
    lacking = lacking_letters(text)
    data["fonts"] = [style.FONT_FAMILY, *(_fonts_with(lacking) if lacking else ())]
    say("setting the pages")
    made = _compiled(
        template, json.dumps(data, ensure_ascii=False), ending=ending, system_fonts=bool(lacking)
    )
    notes = _letters_note(lacking, data["fonts"][1:])
    if ending == ".pdf":
        return Printed(data=made[0], pages=len(_A_PAGE.findall(made[0])), notes=notes)
    joined = _png_below(made) if ending == ".png" else _svg_below(made, title)
    return Printed(data=joined, pages=len(made), notes=notes)


_NO_DATE = datetime.date(2000, 1, 1)
_A_PAGE = re.compile(rb"/Type\s*/Page\b(?!s)")


def _compiled(template: str, data: str, *, ending: str, system_fonts: bool) -> list[bytes]:
    import typst

    settings: dict[str, Any] = {
        "root": TEMPLATES,
        "font_paths": [_own_fonts()],
        "ignore_system_fonts": not system_fonts,
        "format": ending[1:],
        "sys_inputs": {"data": data},
        "timestamp": 0,
        "ppi": float(style.DOTS_PER_INCH),
    }
    source = TEMPLATES / f"{template}.typ"
    try:
        made: Any = typst.compile(source, **settings, pdf_standards=_STANDARDS if ending == ".pdf" else [])
    except typst.TypstError as error:
        if ending != ".pdf" or not system_fonts:
            raise BobplanError(f"the page could not be set: {error.message}\n{error.diagnostic}") from error
        # a letter that no font has is no reason to hand out nothing; an archive copy it can't be
        made = typst.compile(source, **settings)
    return made if isinstance(made, list) else [made]


def plain(value: Any, say: Progress) -> Any:
    """Return records, drawings and tables as plain data for a template; every drawing is drawn here."""
    if isinstance(value, Picture):
        say(f"drawing: {value.title}")
        figure = value.figure(_WIDTH_IN[value.size])
        width_in, height_in = figure.get_size_inches()
        return {
            "name": value.name,
            "title": value.title,
            "says": value.says,
            "size": value.size,
            "width": width_in,
            "height": height_in,
            "svg": paper_svg(figure),
        }
    if isinstance(value, Logo):
        return {"svg": as_svg(value), "aspect": value.aspect}
    if isinstance(value, Path):
        return str(value)
    if isinstance(value, Table):
        return {"part": "Table", **table_data(plain([value.heads, *value.rows], say))}
    if isinstance(value, Part):
        return {"part": type(value).__name__, **_fields(value, say)}
    if dataclasses.is_dataclass(value):
        return _fields(value, say)
    if isinstance(value, Mapping):
        return {str(key): plain(each, say) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [plain(each, say) for each in value]
    # what is to be typed stands between backticks, which paper has no use for
    return value.replace("`", "") if isinstance(value, str) else value


def _fields(value: Any, say: Progress) -> dict[str, Any]:
    return {field.name: plain(getattr(value, field.name), say) for field in dataclasses.fields(value)}


def table_data(rows: Sequence[Sequence[str]]) -> dict[str, Any]:
    """Return a table with the alignment of every column: numbers at the right, words at the left."""
    aligned = []
    for column in range(len(rows[0])):
        cells = [row[column] for row in rows[1:] if row[column] not in ("", "-")]
        numbers = bool(cells) and all(_NUMBER.fullmatch(cell) for cell in cells)
        aligned.append("right" if numbers else "left")
    return {"rows": [list(row) for row in rows], "align": aligned}


_NUMBER = re.compile(r"[-+±]?\d[\d.,\u2007\u2008]*\s?(?:%|°|[a-z]+(?:[·*/-][a-z]+)?)?")


def lacking_letters(text: str) -> str:
    """Return the letters of a text that the document's own font has not, each once."""
    own = _own_letters()
    return "".join(sorted({letter for letter in text if ord(letter) not in own and not letter.isspace()}))


def _own_fonts() -> Path:
    import matplotlib as mpl

    return Path(mpl.get_data_path()) / "fonts" / "ttf"


@functools.cache
def _own_letters() -> frozenset[int]:
    from matplotlib.ft2font import FT2Font

    return frozenset(FT2Font(str(_own_fonts() / "DejaVuSans.ttf")).get_charmap())


@functools.cache
def _fonts_with(letters: str) -> tuple[str, ...]:
    """Return families of the system that together have most of these letters, the one with most first."""
    from matplotlib.font_manager import fontManager
    from matplotlib.ft2font import FT2Font

    wanted = {ord(letter) for letter in letters}
    found: list[str] = []
    entries = sorted({(entry.name, entry.fname) for entry in fontManager.ttflist})
    charmaps: list[tuple[str, set[int]]] = []
    for name, file in entries:
        try:
            has = wanted & set(FT2Font(file).get_charmap())
        except (RuntimeError, OSError):
            continue
        if has:
            charmaps.append((name, has))
    while wanted and charmaps:
        name, has = max(charmaps, key=lambda each: (len(each[1] & wanted), -len(each[0]), each[0]))
        if not has & wanted:
            break
        found.append(name)
        wanted -= has
    return tuple(found)


def _letters_note(lacking: str, families: Sequence[str]) -> tuple[str, ...]:
    if not lacking:
        return ()
    some = lacking if len(lacking) <= 12 else f"{lacking[:12]} .."
    if not families:
        return (
            f"no font of this computer has the letters {some}: they are left blank or shown as boxes; install a font that "
            "has them",
        )
    return (
        f"the letters {some} are written in fonts of this computer ({', '.join(families)}): another computer may make "
        "other pages of them",
    )


_NO_SOFTWARE: Any = {"Software": None}


def _png_below(pages: Sequence[bytes]) -> bytes:
    import numpy as np
    from matplotlib.image import imread, imsave

    pictures = [imread(io.BytesIO(page), format="png") for page in pages]
    held = io.BytesIO()
    imsave(held, np.concatenate(pictures), format="png", dpi=style.DOTS_PER_INCH, metadata=_NO_SOFTWARE)
    return held.getvalue()


def _svg_below(pages: Sequence[bytes], title: str) -> bytes:
    from html import escape

    from planner.present.drawings.svg import prefixed

    bodies = []
    down, wide = 0.0, 0.0
    for number, page in enumerate(pages, start=1):
        text = page.decode("utf-8")
        size = _VIEW_BOX.search(text)
        if size is None:
            raise BobplanError("a page has no size")
        width, height = float(size[1]), float(size[2])
        inside = prefixed(text, prefix=f"p{number}-")
        bodies.append(
            f'<svg x="0" y="{down:g}" width="{width:g}" height="{height:g}" viewBox="0 0 {width:g} {height:g}">{inside}</svg>'
        )
        down += height
        wide = max(wide, width)
    size_words = f'width="{wide:g}pt" height="{down:g}pt" viewBox="0 0 {wide:g} {down:g}"'
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" {size_words}><title>{escape(title)}</title>\n'
    )
    return (head + "\n".join(bodies) + "\n</svg>\n").encode("utf-8")


_VIEW_BOX = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')
