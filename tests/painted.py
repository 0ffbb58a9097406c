"""Pieces of an answer as the terminal shows them, on lines wide enough for every sentence."""

from __future__ import annotations

from collections.abc import Iterable

from planner.present.document import Block, Part, block, document
from planner.present.to_text import to_text


def painted(*pieces: Block | Iterable[Block] | None) -> list[str]:
    """Return the lines of some blocks."""
    return to_text(document(*pieces), columns=2000).splitlines()


def painted_parts(parts: Iterable[Part]) -> list[str]:
    """Return the lines of some parts."""
    return painted(block("", parts))
