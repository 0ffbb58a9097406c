"""What `bobplan machine` is given: readings on the command line or in a CSV file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from planner.cli.options import number
from planner.errors import InputError
from planner.files import read_list_text

_GREATEST_ROWS = 1000
_GREATEST_BYTES = 2_000_000


def rows_of(
    given: Sequence[str], csv_file: Path | None, *, widths: Sequence[int], what: str
) -> list[list[str]]:
    """Return readings as rows of texts, each as wide as one of ``widths`` says.

    On the command line the numbers stand one after the other (rows of the first width); a CSV file has a row a line, and a
    line of names at its head is passed over.

    Raises
    ------
    InputError
        If both or neither are given, or a row has another width.
    """
    if given and csv_file is not None:
        raise InputError(
            "readings are given on the command line and in a CSV file, one of the two is wanted",
            hint="leave the numbers or `--csv` away",
        )
    if csv_file is not None:
        return _csv_rows(csv_file, widths=widths, what=what)
    if not given:
        raise InputError(f"no readings are given; {what}", hint="give the numbers, or a file with `--csv`")
    width = widths[0]
    if len(given) % width:
        raise InputError(f"given {len(given)} numbers; {what}", hint=f"a whole number of {width} is needed")
    return [list(given[start : start + width]) for start in range(0, len(given), width)]


def angle(text: str, *, what: str) -> float:
    """Return an angle or phase [deg].

    Raises
    ------
    InputError
        If it is no number from -360 to 360.
    """
    value = number(text, what=what)
    if not -360.0 <= value <= 360.0:
        raise InputError(
            f"{what}: given `{value:g}`, allowed -360 to 360 degrees", hint="is the order amount, angle?"
        )
    return value


def places_in_order(rows: Sequence[Sequence[str]]) -> tuple[list[float], float]:
    """Return the readings of rows ``place, reading`` in the order of growing places, and the first place [deg].

    Raises
    ------
    InputError
        If the places are not evenly spaced round the circle.
    """
    pairs = sorted(
        (angle(place, what="place") % 360.0, number(reading, what="reading")) for place, reading in rows
    )
    step = 360.0 / len(pairs)
    for index, (place, _) in enumerate(pairs):
        if abs(place - pairs[0][0] - index * step) > 1.0:
            raise InputError(
                f"the places are not evenly spaced: {step:g} degrees apart are wanted, given {_listed(pairs)}",
                hint="put the trial mass at 6, 8 or 12 evenly spaced places",
            )
    return [reading for _, reading in pairs], pairs[0][0]


def _listed(pairs: Sequence[tuple[float, float]]) -> str:
    return ", ".join(f"{place:g}" for place, _ in pairs)


def _csv_rows(path: Path, *, widths: Sequence[int], what: str) -> list[list[str]]:
    import csv

    text = read_list_text(path, greatest_bytes=_GREATEST_BYTES, what="a comma-separated file (CSV)")
    # a file with semicolons is what spreadsheets write where the comma is the decimal sign
    separator = next((each for each in (";", "\t") if each in text), ",")
    found = [[cell.strip() for cell in row] for row in csv.reader(text.splitlines(), delimiter=separator)]
    rows = [row for row in found if any(row)]
    if rows and not any(_has_digit(cell) for cell in rows[0]):
        rows = rows[1:]
    if not rows:
        raise InputError(f"`{path}` has no readings; {what}")
    if len(rows) > _GREATEST_ROWS:
        raise InputError(f"`{path}` has {len(rows)} rows, at most {_GREATEST_ROWS} are read", hint=f"{what}")
    for count, row in enumerate(rows, start=1):
        if len(row) not in widths or len(row) != len(rows[0]):
            raise InputError(f"`{path}`, reading {count} has {len(row)} columns; {what}")
    return rows


def _has_digit(cell: str) -> bool:
    return any(letter.isdigit() for letter in cell)
