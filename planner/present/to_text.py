"""A document painted for a terminal: wrapped at the window's width, columns and decimal points under one another."""

from __future__ import annotations

import re
import shutil
import unicodedata
from collections.abc import Iterator, Sequence

from planner.present.document import Block, Document, Figure, Line, Part, Remark, Table, Ticks, Values

_PIPED_COLUMNS = 80
"""The width when the output goes into a file or another program."""
WHOLE = 1 << 20
"""A width at which no sentence is wrapped."""
_LEAST_COLUMNS = 40
_INDENT = 2
_GAP = 2
_GLUE = "\x1f"
# `a command` stays whole, so that it can be copied; a number keeps its unit, `at` its angle
_COMMAND = re.compile(r"`[^`\n]*`")
_NUMBER_UNIT = re.compile(
    r"(?<=\d) (?=(?:%|(?:kg|g|oz|lb|mm|cm|m|in|N|MPa|rpm|deg|degrees)\b)|\(|\d+/\d)|(?<=\bat) (?=[\d.]+°)"
    r"|(?<=\bthrow) (?=\w)|(?<=\b(?:spin|step)) (?=\d)|(?<=\bcut) (?=\d)"
    r"|(?<=\b[A-Za-z]) (?== )|(?<=\b[A-Za-z] =) "
)
_NUMBER = re.compile(r"(?P<whole>[±+-]?\d[\d,]*)(?P<rest>(?:\.\d+)?(?![\d/]).*)", re.DOTALL)


def window_columns() -> int:
    """Return how many letters fit on a line: ``COLUMNS`` where it is set, the window's width, else 80."""
    return max(_LEAST_COLUMNS, shutil.get_terminal_size(fallback=(_PIPED_COLUMNS, 24)).columns)


def to_text(document: Document, *, columns: int | None = None) -> str:
    """Return a document as text for a terminal.

    Parameters
    ----------
    document : Document
    columns : int, optional
        Letters on a line; the window's if left out.
    """
    width = window_columns() if columns is None else columns
    return "\n\n".join("\n".join(_block(each, width)) for each in document.blocks)


def wrapped(text: str, columns: int, *, first: str = "", then: str = "") -> list[str]:
    """Return a text as lines no wider than ``columns``, where words allow it.

    Parameters
    ----------
    text : str
        Its own line breaks are kept.
    columns : int
        Letters on a line.
    first, then : str
        What stands before the first line and before the others.
    """
    found: list[str] = []
    for paragraph in text.split("\n"):
        line = first
        empty = True
        for word in _words(paragraph, columns - wide(then)):
            if empty:
                line, empty = line + word, False
            elif wide(line) + 1 + wide(word) <= columns:
                line += " " + word
            else:
                found.append(line)
                line = then + word
        found.append(line.rstrip() if empty else line)
        first = then
    return [line.replace(_GLUE, " ") for line in found]


def wide(text: str) -> int:
    """Return how many columns a text takes: two for a wide letter, none for a mark upon the letter before."""
    return sum(
        0 if unicodedata.combining(letter) else 2 if unicodedata.east_asian_width(letter) in "WF" else 1
        for letter in text
    )


def _words(text: str, room: int) -> list[str]:
    def whole(found: re.Match[str]) -> str:
        return found[0].replace(" ", _GLUE) if wide(found[0]) <= room else found[0]

    text = _COMMAND.sub(whole, text)
    return _NUMBER_UNIT.sub(_GLUE, text).split(" ") if text.strip() else []


def _block(block: Block, columns: int) -> Iterator[str]:
    if block.heading:
        yield from wrapped(block.heading, columns, then=" " * _INDENT)
    for part in block.parts:
        yield from _part(part, columns)


def _part(part: Part, columns: int) -> Iterator[str]:
    if isinstance(part, Figure):
        yield from wrapped(f"{part.caption}: {part.file}", columns, then=" " * _INDENT)
        return
    indent = " " * _INDENT * part.level
    if isinstance(part, Line):
        first = f"{indent}{part.mark} " if part.mark else indent
        # a working stands in by its own blanks
        own = len(part.text) - len(part.text.lstrip())
        then = " " * max(wide(first), len(indent) + own + _INDENT)
        yield from wrapped(part.text, columns, first=first, then=then)
    elif isinstance(part, Remark):
        yield from wrapped(f"{part.kind}: {part.text}", columns, first=indent, then=indent + " " * _INDENT)
    elif isinstance(part, Ticks):
        for text, state in part.boxes:
            box = " " if state is None else "x" if state else "-"
            yield from wrapped(text, columns, first=f"{indent}[{box}] ", then=f"{indent}    ")
    elif isinstance(part, Values):
        across = max((wide(name) for name, _ in part.rows), default=0)
        for name, value in part.rows:
            first = f"{indent}{_padded(name, across)}{' ' * _GAP}"
            yield from wrapped(value, columns, first=first, then=" " * wide(first))
    else:
        yield from _table(part, columns, indent)


def _table(part: Table, columns: int, indent: str) -> Iterator[str]:
    """Paint a table: in bands of columns under the first where it is too wide even with its cells wrapped."""
    grid = _aligned([part.heads, *part.rows])
    room = columns - len(indent)
    least = [max(_longest_word(row[place]) for row in grid) for place in range(len(part.heads))]
    bands: list[list[int]] = [[0]]
    for place in range(1, len(part.heads)):
        taken = sum(least[each] + _GAP for each in bands[-1])
        if len(bands[-1]) > 1 and taken + least[place] > room:
            bands.append([0])
        bands[-1].append(place)
    for number, band in enumerate(bands):
        below = part.below if number == len(bands) - 1 else ()
        for line in _band([[row[place] for place in band] for row in grid], room, below):
            yield indent + line


def _band(grid: Sequence[Sequence[str]], room: int, below: Sequence[str]) -> Iterator[str]:
    widths = _widths(grid, room)
    for index, row in enumerate(grid):
        if not index and not any(row):
            continue
        cells = [
            wrapped(cell, width) if wide(cell) > width else [cell]
            for cell, width in zip(row, widths, strict=True)
        ]
        for step in range(max(len(cell) for cell in cells)):
            texts = [cell[step] if step < len(cell) else "" for cell in cells]
            padded = [_padded(text, width) for text, width in zip(texts, widths, strict=True)]
            yield (" " * _GAP).join(padded).rstrip()
        if index and below and below[index - 1]:
            stand = " " * (_INDENT + widths[0] + _GAP)
            yield from wrapped(below[index - 1], room, first=stand, then=stand)


def _widths(grid: Sequence[Sequence[str]], room: int) -> list[int]:
    """Return the width of every column: long heads give way where a row would not fit, then the widest columns."""
    columns = [[row[place] for row in grid] for place in range(len(grid[0]))]
    widths = [max(map(wide, column)) for column in columns]
    words = [max(map(_longest_word, column)) for column in columns]
    bodies = [max([word, *map(wide, column[1:])]) for word, column in zip(words, columns, strict=True)]
    for least in (bodies, words):
        while sum(widths) + _GAP * (len(widths) - 1) > room:
            loose = [place for place, width in enumerate(widths) if width > least[place]]
            if not loose:
                break
            widths[max(loose, key=lambda place: widths[place])] -= 1
    return widths


def _longest_word(cell: str) -> int:
    return max((wide(word) for word in _words(cell, 1 << 30)), default=0)


def _padded(text: str, width: int) -> str:
    return text + " " * (width - wide(text))


def _aligned(grid: Sequence[Sequence[str]]) -> list[list[str]]:
    """Return the cells of a table with the decimal points of a column of numbers under one another."""
    columns = [_aligned_column([row[place] for row in grid]) for place in range(len(grid[0]))]
    return [list(row) for row in zip(*columns, strict=True)]


def _aligned_column(cells: Sequence[str]) -> list[str]:
    head, *values = cells
    found = [_NUMBER.fullmatch(value) for value in values]
    numbers = [match for match in found if match is not None]
    if not numbers or any(
        match is None and value not in ("", "-") for match, value in zip(found, values, strict=True)
    ):
        return list(cells)
    whole = max(len(match["whole"]) for match in numbers)
    shown = [
        value.rjust(whole)
        if match is None and value
        else ""
        if match is None
        else match["whole"].rjust(whole) + match["rest"]
        for match, value in zip(found, values, strict=True)
    ]
    return [head, *shown]
