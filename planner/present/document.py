"""The parts of any answer: what it says, without how wide it is printed.

A page (`planner.present.pages`) makes a `Document` of an answer; painters make text, a page or paper of it.  A document is a
row of blocks, a block a heading with parts under it.  No part knows columns, colours or line breaks.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from planner.records import dataclass


@dataclass(frozen=True)
class Line:
    """A sentence or a few; ``level`` is how far it stands in, ``mark`` what stands before it (``-``, ``1.``)."""

    text: str
    level: int = 0
    mark: str = ""


@dataclass(frozen=True, kw_only=True)
class Remark:
    """Something to heed: ``kind`` is what it is (``warning``, ``note``, ``QUESTION``)."""

    kind: str
    text: str
    level: int = 0


@dataclass(frozen=True, kw_only=True)
class Table:
    """Rows under heads, numbers with their unit in the head or in the cell.

    ``below`` has a line under each row that belongs to it (or none); a row and what is below it stay together.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    below: tuple[str, ...] = ()
    level: int = 0


@dataclass(frozen=True, kw_only=True)
class Values:
    """Names with a value each, the values under one another."""

    rows: tuple[tuple[str, str], ...]
    level: int = 0


@dataclass(frozen=True, kw_only=True)
class Ticks:
    """Boxes to tick; what is known stands with each: True ticked, False crossed out, None still to be ticked by hand."""

    boxes: tuple[tuple[str, bool | None], ...]
    level: int = 0


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A drawing: what it shows, and the file that it was drawn into."""

    caption: str
    file: str


Part = Line | Remark | Table | Values | Ticks | Figure


@dataclass(frozen=True)
class Block:
    """Parts that belong together, under a heading or none."""

    heading: str = ""
    parts: tuple[Part, ...] = ()


@dataclass(frozen=True)
class Document:
    """An answer as it is said: its blocks in order, none of them empty."""

    blocks: tuple[Block, ...]

    def __add__(self, other: Document) -> Document:
        """Return one document with the blocks of both."""
        return Document(self.blocks + other.blocks)


def texts(block: Block) -> tuple[str, ...]:
    """Return the sentences of a block of lines and remarks, its heading first."""
    said = [
        f"{each.kind}: {each.text}" if isinstance(each, Remark) else each.text
        for each in block.parts
        if isinstance(each, Line | Remark)
    ]
    return tuple(each for each in (block.heading, *said) if each)


def lines(*texts: str, level: int = 0, mark: str = "") -> tuple[Line, ...]:
    """Return sentences as lines."""
    return tuple(Line(text, level=level, mark=mark) for text in texts)


def remarks(kind: str, texts: Iterable[str], *, level: int = 0) -> tuple[Remark, ...]:
    """Return one remark of a kind per text."""
    return tuple(Remark(kind=kind, text=text, level=level) for text in texts)


def table(
    heads: Sequence[str], rows: Iterable[Sequence[str]], *, below: Sequence[str] = (), level: int = 0
) -> Table:
    """Return a table of rows of text."""
    return Table(heads=tuple(heads), rows=tuple(tuple(row) for row in rows), below=tuple(below), level=level)


def block(heading: str = "", *parts: Part | Iterable[Part]) -> Block:
    """Return a block of parts; rows of parts are taken apart."""
    flat: list[Part] = []
    for part in parts:
        flat.extend([part] if isinstance(part, Part) else part)
    return Block(heading, tuple(flat))


def working_blocks(texts: Sequence[str]) -> Iterator[Block]:
    """Yield a working as blocks: an empty text parts them."""
    said: list[Line] = []
    for text in (*texts, ""):
        if text:
            said.append(Line(text))
        elif said:
            yield block("", said)
            said = []


def document(*blocks: Block | Part | Iterable[Block | Part] | None) -> Document:
    """Return a document of blocks; empty ones are left out, parts without one are a block without a heading."""
    flat: list[Block] = []
    for each in blocks:
        parts: list[Part] = []
        for one in [] if each is None else [each] if isinstance(each, Block | Part) else each:
            if isinstance(one, Block):
                flat += [block("", parts), one]
                parts = []
            else:
                parts.append(one)
        flat.append(block("", parts))
    return Document(tuple(each for each in flat if each.heading or each.parts))
