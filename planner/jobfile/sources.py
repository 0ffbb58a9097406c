"""Reading the text of a file: what can be wrong before any key is looked at."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from planner.errors import InputError
from planner.files import NotOrdinaryError, TooLargeError, read_bytes
from planner.quantity import UnitSystem
from planner.records import dataclass

GREATEST_FILE_BYTES = 2_000_000
"""A job with hundreds of spins has some ten kilobytes: far more is no job file [bytes]."""

_WHERE = re.compile(r"\s*\(at line (\d+), column (\d+)\)\s*$")
_GREATEST_NESTING = 200


class SyntaxFaultError(InputError):
    """The text of a file is no TOML; the message has the line, the column, the line's text and a caret."""


@dataclass(frozen=True, kw_only=True)
class Source:
    """One file of a job: its name as the user gave it, its content, the units of its bare numbers, the `sum_of` its text."""

    name: str
    path: Path
    data: Mapping[str, Any]
    units: UnitSystem
    sum: str


def read_text(path: Path, *, name: str | None = None) -> str:
    """Return the text of a file.

    Raises
    ------
    InputError
        If it is missing, a directory, unreadable, far too large, empty or not UTF-8.
    """
    called = f"`{name or path}`"
    try:
        raw = read_bytes(path, greatest_bytes=GREATEST_FILE_BYTES)
    except IsADirectoryError:
        raise InputError(
            f"{called} is a folder, a job file is wanted", hint="name the .toml file inside that folder"
        ) from None
    except NotOrdinaryError:
        raise InputError(f"{called} is no ordinary file, a job file is wanted") from None
    except TooLargeError as error:
        raise InputError(
            f"{called} has {error.size_bytes / 1e6:.1f} MB, at most {GREATEST_FILE_BYTES / 1e6:.0f} MB is allowed",
            hint="a job file is a short text; this is probably another file",
        ) from None
    except FileNotFoundError:
        raise InputError(
            f"{called} is not there", hint="check the name, or make a new job with `bobplan start`"
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(
            f"{called} can't be read: {reason}", hint="check the file's permissions and its name"
        ) from None
    return _decoded(raw, called)


def _decoded(raw: bytes, called: str) -> str:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(f"{called} is UTF-16 text, UTF-8 is wanted", hint="save it again as UTF-8")
    try:
        # some editors put a mark in front of UTF-8
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise InputError(
            f"{called} is not UTF-8 text: byte {error.start + 1}, in line {line}",
            hint="save it again as UTF-8; if it is no text at all, it is not a job file",
        ) from None
    if not text.strip():
        raise InputError(f"{called} is empty", hint="make a new job with `bobplan start`")
    return text


def sum_of(text: str) -> str:
    """Return a sum that tells one text from another."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def parse_toml(text: str, *, name: str) -> dict[str, Any]:
    """Return the content of a TOML text.

    Raises
    ------
    SyntaxFaultError
        If it is no TOML: with line, column, the line's text and a caret.
    """
    try:
        data = tomllib.loads(text)
    except ValueError as error:
        # TOMLDecodeError, and what Python says to a number of thousands of digits
        raise _syntax_fault(text, error, name=name) from None
    except RecursionError:
        data = None
    if data is None or _depth(data) > _GREATEST_NESTING:
        raise InputError(
            f"`{name}` has tables or lists nested hundreds deep", hint="this is not a job file"
        ) from None
    return data


def _depth(value: object) -> int:
    """Return how deep tables and lists are nested, without recursion."""
    deepest = 0
    waiting = [(value, 1)]
    while waiting:
        each, depth = waiting.pop()
        deepest = max(deepest, depth)
        inner = each.values() if isinstance(each, dict) else each if isinstance(each, list) else ()
        waiting.extend((item, depth + 1) for item in inner)
    return deepest


def _syntax_fault(text: str, error: ValueError, *, name: str) -> SyntaxFaultError:
    message = str(error)
    match = _WHERE.search(message)
    lines = text.split("\n")
    if match:
        line, column = int(match[1]), int(match[2])
    else:
        # "at end of document"
        filled = [number for number, each in enumerate(lines, start=1) if each.strip()]
        line = filled[-1] if filled else 1
        column = len(lines[line - 1].rstrip()) + 1
    what = _WHERE.sub("", message).removesuffix("(at end of document)").strip()
    shown = lines[line - 1].rstrip("\r") if line <= len(lines) else ""
    # a window of a very long line, so that the caret stays in sight
    start = max(0, column - 60)
    window = shown[start : start + 90].replace("\t", " ")
    window = "".join(letter if letter.isprintable() else "?" for letter in window)
    caret = " " * (column - 1 - start) + "^"
    return SyntaxFaultError(
        f"`{name}`, line {line}, column {column}: {_in_our_words(what)}\n  {window}\n  {caret}",
        hint=_syntax_hint(shown, what),
    )


def _in_our_words(text: str) -> str:
    """Return the parser's words as part of a sentence; a key as Python shows it becomes ``[use]``."""
    keys = re.sub(
        r"\('([^()]*)',?\)", lambda match: f"[{match[1].replace(chr(39) + ', ' + chr(39), '.')}]", text
    )
    return keys[:1].lower() + keys[1:]


def _syntax_hint(line: str, what: str) -> str:
    value = line.partition("=")[2].strip()
    if re.match(r"[+-]?\d+,\d+\s*(#|$)", value):
        return "write a decimal point, not a comma"
    if "scape" in what or re.match(r'"[^"]*\\', value):
        return (
            'a backslash has a meaning of its own in quotes: write folders with /, for example "../shop.toml"'
        )
    if re.match(r"[+-]?[\d.]+(\s*/\s*\d+)?\s*(in|mm|oz|g|kg|lb|\")", value):
        return 'a number with a unit stands in quotes, for example "3.48 in"'
    if re.match(r"\d+\s*/\s*\d+", value):
        return 'a fraction stands in quotes, for example "53/64 in"'
    if "overwrite" in what.lower() or "twice" in what.lower() or "Cannot declare" in what:
        return "every key and every [section] may stand only once; arrays of tables are written [[like this]]"
    if re.match(r"[A-Za-z]", value) and value.split()[0] not in ("true", "false", "inf", "nan"):
        return 'a text stands in quotes, for example "front"'
    return "lines are `key = value`; texts stand in quotes, lists in [ ], a section begins with [name]"
