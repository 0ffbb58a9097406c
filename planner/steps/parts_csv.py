"""Weights of parts in comma-separated files: one row per cylinder in, one row per cylinder out; a stock of parts.

The head of a column says what it is and in which unit: ``piston_g``, ``rod_small_end_oz``; without a unit
(``piston``) the job's own unit of mass counts.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping, Sequence
from pathlib import Path

from planner.engine.parts import STANDARD_PARTS
from planner.errors import InputError
from planner.files import read_list_text, write_bytes
from planner.jobfile.faults import did_you_mean
from planner.quantity import QuantityError, UnitSystem, parse_mass_g
from planner.records import dataclass
from planner.visible_text import visible

_GREATEST_BYTES = 2_000_000
_FORMULA_SIGNS = ("=", "+", "-", "@")
_UNITS = ("g", "kg", "oz", "lb")
#: Columns that `--csv-out` writes besides weights: reading such a file again, they are passed over.
_PASSED_OVER = ("throw", "piston_from", "pin_from", "rod_from")


@dataclass(frozen=True, kw_only=True)
class StockTable:
    """Parts on the shelf: per kind (name, mass [g]) in the order of the file; rods have both ends."""

    masses_g: Mapping[str, tuple[tuple[str, float], ...]]


def read_weights(path: Path, *, units: UnitSystem, known: Sequence[str] = ()) -> dict[str, dict[str, float]]:
    """Return weights by part and cylinder [g] of a CSV with one row per cylinder.

    Parameters
    ----------
    path : Path
    units : UnitSystem
        Unit of mass of columns without one.
    known : sequence of str
        Names of other parts that the job knows.

    Raises
    ------
    InputError
        If the file can't be read, has no column ``cylinder``, an unknown column, an empty cell, or a cylinder twice.
    """
    called = path.name
    heads, rows = _rows(_text(path), called=called, first="cylinder")
    columns = _columns(
        heads, called=called, units=units, known=tuple(dict.fromkeys((*STANDARD_PARTS, *known)))
    )
    weights: dict[str, dict[str, float]] = {name: {} for name, _ in columns.values()}
    for number, row in rows:
        cylinder = row[0].strip()
        for place, (name, unit) in columns.items():
            if cylinder in weights[name]:
                raise InputError(f"{called}, line {number}: cylinder `{cylinder}` is given twice")
            if not row[place].strip():
                raise InputError(
                    f"{called}, line {number}: `{heads[place]}` is empty",
                    hint="one weight per cylinder is needed; leave out the whole column where there is none",
                )
            weights[name][cylinder] = _mass(row[place], unit, called, number, heads[place])
    return weights


def read_stock(path: Path, *, units: UnitSystem) -> StockTable:
    """Return a stock of parts of a CSV file, see `stock_of_text`.

    Raises
    ------
    InputError
        If the file can't be read; see `stock_of_text`.
    """
    return stock_of_text(_text(path), called=path.name, units=units)


def stock_of_text(text: str, *, called: str, units: UnitSystem) -> StockTable:
    """Return a stock of parts: first column ``part`` (a name or number), then ``piston_g``, ``pin_g`` and so on.

    Empty cells mean that there is no such part in that row; a rod has both ends in one row.

    ``called`` is what messages call the text.

    Raises
    ------
    InputError
        As `read_weights`; if a rod has only one of its ends.
    """
    heads, rows = _rows(text, called=called, first="part")
    kinds = ("piston", "pin", "rod_small_end", "rod_big_end")
    columns = _columns(heads, called=called, units=units, known=tuple(STANDARD_PARTS))
    other = [name for name, _ in columns.values() if name not in kinds]
    if other:
        raise InputError(
            f"{called}: `{other[0]}` can't be chosen from a stock", hint=f"kinds are {', '.join(kinds)}"
        )
    found: dict[str, list[tuple[str, float]]] = {name: [] for name, _ in columns.values()}
    if ("rod_small_end" in found) != ("rod_big_end" in found):
        raise InputError(
            f"{called}: rods need both columns, rod_small_end and rod_big_end",
            hint="a rod is one part with two ends",
        )
    for number, row in rows:
        given = []
        for place, (name, unit) in columns.items():
            if row[place].strip():
                found[name].append((row[0].strip(), _mass(row[place], unit, called, number, heads[place])))
                given.append(name)
        if ("rod_small_end" in given) != ("rod_big_end" in given):
            raise InputError(
                f"{called}, line {number}: rod `{row[0].strip()}` has only one of its ends",
                hint="weigh both, or leave both cells empty",
            )
    for name, parts in found.items():
        names = [each for each, _ in parts]
        twice = next((each for each in names if names.count(each) > 1), None)
        if twice is not None:
            raise InputError(f"{called}: {name} `{twice}` is given twice")
    return StockTable(masses_g={name: tuple(parts) for name, parts in found.items()})


def _text(path: Path) -> str:
    return read_list_text(path, greatest_bytes=_GREATEST_BYTES, what="a comma-separated file (CSV)")


def _rows(text: str, *, called: str, first: str) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """Return heads and (line number, cells) of the rows that are not empty."""
    lines = text.splitlines()
    head = next((line for line in lines if line.strip()), "")
    # spreadsheets of half the world write semicolons, because the comma is their decimal point
    mark = ";" if head.count(";") > head.count(",") else "\t" if "\t" in head and "," not in head else ","
    try:
        table = [
            (number, row)
            for number, row in enumerate(csv.reader(io.StringIO(text), delimiter=mark), start=1)
            if any(cell.strip() for cell in row)
        ]
    except csv.Error as error:
        raise InputError(f"`{called}` is no comma-separated file: {error}") from None
    if len(table) < 2:
        raise InputError(
            f"`{called}` has no rows", hint=f"a head such as `{first},piston_g,pin_g`, then the weights"
        )
    heads = [cell.strip() for cell in table[0][1]]
    if heads[0].casefold() != first:
        raise InputError(
            f"{called}: the first column is `{heads[0]}`, it must be `{first}`",
            hint=f"for example `{first},piston_g,pin_g,rod_small_end_g,rod_big_end_g`",
        )
    for number, row in table[1:]:
        if len(row) != len(heads):
            raise InputError(f"{called}, line {number}: {len(row)} cells, the head has {len(heads)}")
        if not row[0].strip():
            raise InputError(f"{called}, line {number}: the first cell, `{first}`, is empty")
    if mark != ",":
        table = [(number, [cell.replace(",", ".") for cell in row]) for number, row in table]
    return heads, table[1:]


def _columns(
    heads: Sequence[str], *, called: str, units: UnitSystem, known: Sequence[str]
) -> dict[int, tuple[str, str]]:
    """Return place -> (part, unit) of the columns with weights."""
    found: dict[int, tuple[str, str]] = {}
    for place, head in enumerate(heads[1:], start=1):
        name, unit = split_head(head, default=units.mass)
        if name in _PASSED_OVER or name.endswith(("_off", "_sum")):
            continue
        if name not in known:
            hint = did_you_mean(name, known) or f"parts are {', '.join(known)}; with a unit: piston_g"
            raise InputError(f"{called}: there is no part `{name}` (column `{head}`)", hint=hint)
        if any(other == name for other, _ in found.values()):
            raise InputError(f"{called}: `{name}` has two columns")
        found[place] = (name, unit)
    if not found:
        raise InputError(f"{called}: no column has weights", hint="for example piston_g, pin_g")
    return found


def split_head(head: str, *, default: str) -> tuple[str, str]:
    """Return (part, unit) of a column's head: ``piston_g`` -> (``piston``, ``g``)."""
    text = head.strip().casefold().replace(" ", "_")
    for unit in _UNITS:
        if text.endswith(f"_{unit}"):
            return text.removesuffix(f"_{unit}"), unit
        if text.endswith((f"_({unit})", f"_[{unit}]")):
            return text[: -len(unit) - 3], unit
    return text, default


def _mass(text: str, unit: str, called: str, number: int, head: str) -> float:
    try:
        mass = parse_mass_g(text.strip(), default_unit=unit, least=0.0)
    except QuantityError as error:
        raise InputError(f"{called}, line {number}, `{head}`: {error.message}", hint=error.hint) from None
    if not math.isfinite(mass):
        raise InputError(f"{called}, line {number}, `{head}`: given `{text}`, a weight is needed")
    return mass


def write_csv(path: Path, rows: Sequence[Sequence[str]]) -> None:
    """Write rows as a comma-separated file, in one step; what is there is replaced.

    Raises
    ------
    InputError
        If the ending is not .csv, or the file can't be written.
    """
    if path.suffix.lower() != ".csv":
        raise InputError(
            f"`{path.name}`: .csv is the ending allowed", hint=f"write for example `{path.stem}.csv`"
        )
    write_bytes(path, csv_bytes(rows))


def csv_bytes(rows: Sequence[Sequence[str]]) -> bytes:
    """Return rows as a comma-separated file holds them; no cell is a formula to a spreadsheet."""
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows([_plain(cell) for cell in row] for row in rows)
    return text.getvalue().encode("utf-8", errors="backslashreplace")


def _plain(cell: str) -> str:
    """Return a cell that a spreadsheet takes for a text or a number, never for a formula to be worked out."""
    cell = visible(cell)
    if not cell.lstrip().startswith(_FORMULA_SIGNS):
        return cell
    try:
        float(cell)
    except ValueError:
        return f"'{cell}"
    return cell
