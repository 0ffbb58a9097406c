"""Aligned columns for a terminal."""

from __future__ import annotations

from collections.abc import Sequence


def table(rows: Sequence[Sequence[str]], *, gap: int = 2, indent: int = 0) -> list[str]:
    """Return rows of equal length as lines with aligned columns (the last column is not padded)."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=True)]
        lines.append(" " * indent + (" " * gap).join(cells).rstrip())
    return lines
