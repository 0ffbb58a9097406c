"""Nothing that a person typed is ever lost: a changed text is compared with the old one before it is written."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Collection, Iterator
from typing import Any

from planner.errors import InputError

_GROWING = ("spins", "cuts_made", "undone", "former_plans")
"""Arrays that only ever grow: what stands in them stays."""

_REPLACED = ("plan", "former_plans", "influence")
"""Sections that the program writes and replaces: only there may a comment go."""


def check_kept(old_text: str, new_text: str, *, name: str, sections: Collection[str] | None = None) -> None:
    """Check that a change kept everything that it was not meant to change.

    Parameters
    ----------
    old_text, new_text : str
        The file's text before and after.
    name : str
        The file's name, for the message.
    sections : collection of str, optional
        The sections that may differ; None: any.

    Raises
    ------
    InputError
        If another section differs, a spin or a cut made is gone, or a comment is gone.
    """
    old = tomllib.loads(old_text)
    try:
        new = tomllib.loads(new_text)
    except tomllib.TOMLDecodeError as error:
        raise _refused(name, f"the new text is no TOML: {error}") from None
    if sections is not None:
        _check_sections(old, new, sections, name)
        for section in _GROWING:
            if _list(new, section)[: len(_list(old, section))] != _list(old, section):
                raise _refused(name, f"an entry of `{section}` would be lost")
    _check_comments(old_text, new_text, name)


def _check_sections(old: dict[str, Any], new: dict[str, Any], may: Collection[str], name: str) -> None:
    """Check that no section differs but those that may."""
    for section in {*old, *new}.difference(may):
        if old.get(section) != new.get(section):
            raise _refused(name, f"section `{section}` would change")


def _check_comments(old_text: str, new_text: str, name: str) -> None:
    gone = Counter(comments(old_text)) - Counter(comments(new_text))
    if gone:
        raise _refused(name, f"the comment `{next(iter(gone))[:60]}` would be lost")


def check_confirmed(old_text: str, new_text: str, *, name: str) -> None:
    """Check that nothing changed but that one spin's heavy spot was found where it is said to be.

    Raises
    ------
    InputError
        If anything else differs, or a comment is gone.
    """
    old, new = tomllib.loads(old_text), tomllib.loads(new_text)
    for spin in [*_list(old, "spins"), *_list(new, "spins")]:
        if isinstance(spin, dict):
            spin.pop("spot_seen", None)
    if old != new:
        raise _refused(name, "more than the spin's `spot_seen` would change")
    _check_comments(old_text, new_text, name)


def check_settled(old_text: str, new_text: str, *, name: str) -> None:
    """Check that of the cuts made only their angles, and what was dialled for them, changed; the plan may give way.

    Raises
    ------
    InputError
        If anything else differs.
    """
    old, new = tomllib.loads(old_text), tomllib.loads(new_text)
    _check_sections(old, new, ("cuts_made", "plan", "former_plans"), name)
    may = {"angle", "machine_angle", "dialled", "stays"}
    before, after = (
        [{key: value for key, value in entry.items() if key not in may} for entry in _list(data, "cuts_made")]
        for data in (old, new)
    )
    if before != after:
        raise _refused(name, "more than the angles of cuts made would change")
    _check_comments(old_text, new_text, name)


def check_moved(
    old_text: str, new_text: str, *, section: str, index: int, back: bool = False, name: str
) -> None:
    """Check that an entry was moved from its array to ``[[undone]]``, or back, and that nothing else was lost.

    Parameters
    ----------
    old_text, new_text : str
        The file's text before and after.
    section : str
        ``spins`` or ``cuts_made``.
    index : int
        Which entry was taken back, or put back; 0 = first.
    back : bool
        Whether it is the last of ``[[undone]]`` that went back.
    name : str
        The file's name, for the message.

    Raises
    ------
    InputError
        If another section differs, an entry or a comment is gone, or the entry lacks something of its trace, or the
        trace something of the entry.
    """
    old, new = tomllib.loads(old_text), tomllib.loads(new_text)
    _check_others(old, new, section=section, index=index, goes=not back, name=name)
    there, gone = (new, old) if back else (old, new)
    entry, trace = _list(there, section)[index], _list(gone, "undone")
    if not trace or _list(there, "undone") != trace[:-1] or not entry.items() <= trace[-1].items():
        what = "what is put back" if back else "the trace of what is taken back"
        raise _refused(name, f"{what} would not be complete")
    _check_comments(old_text, new_text, name)


def _check_others(
    old: dict[str, Any], new: dict[str, Any], *, section: str, index: int, goes: bool, name: str
) -> None:
    """Check that a file differs in the entry that goes, or comes, in what counts spins, and in nothing else."""
    _check_sections(old, new, ("spins", "cuts_made", "plan", "former_plans", "undone"), name)
    for growing in ("spins", "cuts_made"):
        before, after = _uncounted(old, growing), _uncounted(new, growing)
        if growing == section:
            del (before if goes else after)[index]
        if not _same_entries(before, after):
            raise _refused(name, f"another entry of `{growing}` would change")


def _uncounted(data: dict[str, Any], section: str) -> list[dict[str, Any]]:
    """Return the entries of an array without what only counts spins: that is counted anew."""
    counted = {"spins": "repeat", "cuts_made": "after_spin"}[section]
    return [{key: value for key, value in entry.items() if key != counted} for entry in _list(data, section)]


def _same_entries(before: list[dict[str, Any]], after: list[dict[str, Any]]) -> bool:
    """Return whether entries are the same, but for a number that a cut had by its place and is said from now on."""
    return len(before) == len(after) and all(
        one == ({key: other[key] for key in other if key != "cut_number" or key in one})
        for one, other in zip(before, after, strict=True)
    )


def _list(data: dict[str, Any], section: str) -> list[Any]:
    found = data.get(section, [])
    return found if isinstance(found, list) else []


def _refused(name: str, what: str) -> InputError:
    return InputError(
        f"`{name}` can't be changed safely: {what}",
        hint="nothing was changed; add the lines by hand, or write the section in its plain form",
    )


def comments(text: str) -> Iterator[str]:
    """Yield the comments of a TOML text, those within a section that the program replaces left out."""
    section = ""
    for kind, start, found in _marks(text):
        if kind == "header":
            section = found.partition(".")[0].strip().strip("\"'")
        elif section not in _REPLACED:
            yield text[start : start + len(found)].strip()


def headers(text: str) -> Iterator[tuple[int, str]]:
    """Yield where the header of every table begins, and its name with the dots (brackets left out)."""
    for kind, start, found in _marks(text):
        if kind == "header":
            yield start, found


def _marks(text: str) -> Iterator[tuple[str, int, str]]:
    """Yield ``(header or comment, where it begins, its text)`` of a TOML text; strings are passed over."""
    position, start_of_line = 0, True
    while position < len(text):
        letter = text[position]
        if letter == "\n":
            start_of_line = True
        elif letter in "\"'":
            position = _end_of_string(text, position)
            start_of_line = False
            continue
        elif letter == "#":
            end = text.find("\n", position)
            end = len(text) if end < 0 else end
            yield "comment", position, text[position:end]
            position = end
            continue
        elif letter == "[" and start_of_line:
            line = text[position : text.find("\n", position) % (len(text) + 1)]
            header = line.partition("#")[0].strip()
            if _is_header(header):
                yield "header", position, header.strip("[] \t")
            start_of_line = False
        elif not letter.isspace():
            start_of_line = False
        position += 1


def _is_header(line: str) -> bool:
    """Return whether a line that begins with a bracket is a header, and no row of a list."""
    inner = line.strip("[]").strip()
    return line.endswith("]") and bool(inner) and not any(letter in inner for letter in ",=[]{}")


def _end_of_string(text: str, start: int) -> int:
    """Return the place after a string that begins at ``start``."""
    quote = text[start]
    long = text.startswith(quote * 3, start)
    mark = quote * 3 if long else quote
    position = start + len(mark)
    while position < len(text):
        if text[position] == "\\" and quote == '"':
            position += 2
        elif text.startswith(mark, position):
            position += len(mark)
            # a long string may end with one or two quotes of its own
            while long and position < len(text) and text[position] == quote:
                position += 1
            return position
        elif text[position] == "\n" and not long:
            return position
        else:
            position += 1
    return position
