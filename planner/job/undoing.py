"""Taking back a wrong entry: it leaves the record but not the file, where it stays under ``[[undone]]``.

There is no clock in a job file: the order of ``[[undone]]`` is the order in which entries were taken back, and the user
may say why in a note.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from planner.errors import InputError
from planner.job import rendering
from planner.job.document import put_plan
from planner.job.keeping import check_undone, headers
from planner.job.model import Job, StoredPlan
from planner.job.reading import load_job
from planner.job.writing import edit_text

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

What = Literal["spin", "cut"]
SECTIONS: dict[What, str] = {"spin": "spins", "cut": "cuts_made"}


def newest_entry(job: Job) -> tuple[What, int]:
    """Return the entry made last: what it is and its number, 1 = first.

    Raises
    ------
    InputError
        If there is none, or if it can't be told whether a check spin or a cut came last.
    """
    if not job.spins and job.cuts_made:
        # cut to a plan from trial runs, before any spin
        return "cut", len(job.cuts_made)
    if not job.spins:
        raise InputError("there is nothing to take back: no spin and no cut is entered")
    states = [number for number, spin in enumerate(job.spins, start=1) if spin.known_mass is None]
    newest_state = states[-1] if states else 1
    cut_since = any(made.after_spin >= newest_state for made in job.cuts_made)
    if cut_since and job.spins[-1].known_mass is not None:
        raise InputError(
            "a check spin and a cut both follow the newest spin, which of them came last is not recorded",
            hint=f"say which: `bobplan undo --spin {len(job.spins)}` or `bobplan undo --cut {len(job.cuts_made)}`",
        )
    return ("cut", len(job.cuts_made)) if cut_since else ("spin", len(job.spins))


def take_back(path: Path, what: What, number: int, *, note: str = "", lock_seconds: float = 10.0) -> None:
    """Move a spin or a cut made to ``[[undone]]``, comments included; what counts spins is counted anew.

    Parameters
    ----------
    path : Path
        The job file.
    what : {"spin", "cut"}
        What is taken back.
    number : int
        Its number, 1 = first.
    note : str
        Why, in the user's words.
    lock_seconds : float
        How long to wait for another writer.

    Raises
    ------
    InputError
        If there is no such entry, a cut hangs on the spin, or the file can't be written (see `planner.job.writing`).
        The file is in every case as it was.
    """
    section = SECTIONS[what]

    def edit(old_text: str) -> str:
        import tomlkit

        job = load_job(path)
        _check_can_go(job, what, number)
        text = _moved(old_text.replace("\r\n", "\n"), section, number - 1, _trace(what, number, note))
        if what == "spin" and len(job.spins) == 1 and job.stored_plan is not None:
            text = _without_plan(text)
        document = tomlkit.parse(text)
        if what == "spin":
            _count_anew(document, job, number)
        elif _started_from(job, number):
            put_plan(document, job, StoredPlan(after_spin=_plan_spin(job), steps=()))
        return tomlkit.dumps(document)

    def check(old_text: str, new_text: str) -> None:
        check_undone(old_text, new_text, section=section, index=number - 1, name=path.name)

    edit_text(path, edit, check=check, lock_seconds=lock_seconds)


def _check_can_go(job: Job, what: What, number: int) -> None:
    count = len(job.spins) if what == "spin" else len(job.cuts_made)
    if not 1 <= number <= count:
        there = f"there are {count}" if count != 1 else "there is 1"
        raise InputError(
            f"there is no {what} {number} to take back; {there}", hint="`bobplan history` shows their numbers"
        )
    hanging = [place for place, made in enumerate(job.cuts_made, start=1) if made.after_spin == 1]
    if what == "spin" and number == 1 and hanging:
        raise InputError(
            "spin 1 can't be taken back while cuts made after it stand in the record",
            hint=f"take those back first: `bobplan undo --cut {hanging[-1]}`",
        )


def _trace(what: What, number: int, note: str) -> str:
    lines = [f"what = {rendering.text(what)}", f"number = {number}"]
    if note:
        lines.append(f"note = {rendering.text(note)}")
    return "".join(f"{line}\n" for line in lines)


def _moved(text: str, section: str, index: int, trace: str) -> str:
    """Return the text with an entry of an array of tables moved to ``[[undone]]`` at its end."""
    found = list(headers(text))
    starts = [place for place, (_, name) in enumerate(found) if _plain(name) == section]
    if len(starts) <= index:
        return _moved_out_of_list(text, section, index, trace)
    first = starts[index]
    after = next(
        (
            place
            for place in range(first + 1, len(found))
            if not _plain(found[place][1]).startswith(f"{section}.")
        ),
        len(found),
    )
    start = found[first][0]
    end = found[after][0] if after < len(found) else len(text)
    size = _own_size(text[start:end])
    entry = text[start : start + size]
    renamed = ""
    position = 0
    for place, _ in found[first:after]:
        at = place - start
        renamed += entry[position:at]
        line_end = entry.find("\n", at) % (len(entry) + 1)
        renamed += entry[at:line_end].replace(section, "undone", 1)
        position = line_end
    renamed += entry[position:]
    header, _, lines = renamed.partition("\n")
    return _appended(_closed_up(text[:start], text[start + size :]), f"{header}\n{trace}{lines}")


def _moved_out_of_list(text: str, section: str, index: int, trace: str) -> str:
    """Return the same for an array written as ``spins = [ {..}, {..} ]``."""
    import tomlkit
    from tomlkit.items import Array

    document = tomlkit.parse(text)
    entries = document[section]
    if not isinstance(entries, Array):
        raise InputError(
            f"`{section}` is written in a form that can't be changed safely",
            hint=f"write [[{section}]], with two brackets, before each one; nothing was changed",
        )
    entry = entries[index]
    lines = "".join(f"{key} = {value.as_string()}\n" for key, value in entry.items())
    del entries[index]
    return _appended(tomlkit.dumps(document), f"[[undone]]\n{trace}{lines}")


def _plain(name: str) -> str:
    return re.sub(r"[\s\"']", "", name)


def _own_size(block: str) -> int:
    """Return how much of a table's text is its own: comments after a blank line head what comes next."""
    lines = block.splitlines(keepends=True)
    last = max(
        place for place, line in enumerate(lines) if line.strip() and not line.lstrip().startswith("#")
    )
    while last + 1 < len(lines) and lines[last + 1].strip():
        last += 1
    return sum(len(line) for line in lines[: last + 1])


def _closed_up(before: str, after: str) -> str:
    """Return two pieces of text put together, without the blank line that the piece between them leaves."""
    if before.endswith("\n\n") and after.startswith("\n"):
        after = after[1:]
    return before.rstrip("\n") + "\n" if not after.strip() and before.strip() else before + after


def _appended(text: str, entry: str) -> str:
    gap = "" if not text or text.endswith("\n\n") else "\n" if text.endswith("\n") else "\n\n"
    return f"{text}{gap}{entry}" + ("" if entry.endswith("\n") else "\n")


def _without_plan(text: str) -> str:
    """Return the text without ``[plan]``: it belonged to a spin, and there is none any more."""
    found = list(headers(text))
    for place, (start, name) in enumerate(found):
        if _plain(name) == "plan":
            after = [at for at, other in found[place + 1 :] if not _plain(other).startswith("plan.")]
            end = after[0] if after else len(text)
            size = _own_size(text[start:end])
            return _closed_up(text[:start], text[start + size :])
    return text


def _count_anew(document: TOMLDocument, job: Job, number: int) -> None:
    """Let everything that names a later spin by its number name it by its new one."""
    for place, made in enumerate(job.cuts_made):
        new = _new_number(made.after_spin, number)
        if new != made.after_spin:
            document["cuts_made"][place]["after_spin"] = new
    later = _first_repeat_left_alone(job, number)
    if later is not None:
        document["spins"][later - 2]["repeat"] = False
    if job.stored_plan is not None and "plan" in document:
        after_spin = job.stored_plan.after_spin
        if after_spin == number:
            put_plan(document, job, StoredPlan(after_spin=max(1, number - 1), steps=()))
        elif after_spin > number:
            document["plan"]["after_spin"] = after_spin - 1


def _new_number(after_spin: int, gone: int) -> int:
    return after_spin - 1 if after_spin >= gone else after_spin


def _first_repeat_left_alone(job: Job, number: int) -> int | None:
    """Return the spin that repeats the one taken back, when that one began the state: it begins it from now on."""
    gone = job.spins[number - 1]
    if gone.repeat or gone.known_mass is not None:
        return None
    states: Iterator[int] = (
        each for each in range(number + 1, len(job.spins) + 1) if job.spins[each - 1].known_mass is None
    )
    following = next(states, None)
    return following if following is not None and job.spins[following - 1].repeat else None


def _plan_spin(job: Job) -> int:
    return job.stored_plan.after_spin if job.stored_plan is not None else 1


def _started_from(job: Job, number: int) -> bool:
    """Return whether the stored plan was made with that cut (1 = first) already in the metal."""
    plan = job.stored_plan
    if plan is None:
        return False
    since = [place for place, made in enumerate(job.cuts_made, start=1) if made.after_spin >= plan.after_spin]
    return number in since[: plan.after_cuts] or number not in since
