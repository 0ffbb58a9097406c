"""Taking back a wrong entry: it leaves the record but not the file, where it stays under ``[[undone]]``; and putting it back.

There is no clock in a job file: the order of ``[[undone]]`` is the order in which entries were taken back, and the user
may say why in a note.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from planner.cuts.deepening import fills_hole, same_hole
from planner.errors import InputError
from planner.jobfile import render
from planner.jobfile.job import Job, StoredPlan, Undone
from planner.jobfile.loaded import load_known
from planner.jobfile.nothing_lost import check_moved, headers
from planner.jobfile.toml_document import keep_former, put_plan
from planner.jobfile.write import edit_text
from planner.rotor.crankshaft import FILLS

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

What = Literal["spin", "cut"]
SECTIONS: dict[What, str] = {"spin": "spins", "cut": "cuts_made"}


def newest_entry(job: Job) -> tuple[What, int]:
    """Return the entry made last: what it is and its number (a spin's counts the spins, a cut's is its own).

    Raises
    ------
    InputError
        If there is none, or if it can't be told whether a check spin or a cut came last.
    """
    if not job.spins and job.cuts_made:
        # cut to a plan from trial runs, before any spin
        return "cut", job.cuts_made[-1].number
    if not job.spins:
        raise InputError("there is nothing to take back: no spin and no cut is entered")
    states = [number for number, spin in enumerate(job.spins, start=1) if spin.known_mass is None]
    newest_state = states[-1] if states else 1
    cut_since = any(made.after_spin >= newest_state for made in job.cuts_made)
    # a cut made after a check spin says so; of one made before it nothing tells
    cut_last = cut_since and job.cuts_made[-1].after_spin == len(job.spins)
    if cut_since and not cut_last and job.spins[-1].known_mass is not None:
        raise InputError(
            "a check spin and a cut both follow the newest spin, which of them came last is not recorded",
            hint=f"say which: `bobplan undo --spin {len(job.spins)}` or "
            f"`bobplan undo --cut {job.cuts_made[-1].number}`",
        )
    return ("cut", job.cuts_made[-1].number) if cut_since else ("spin", len(job.spins))


def take_back(
    path: Path,
    what: What,
    number: int,
    *,
    note: str = "",
    still: Callable[[Job], None] | None = None,
) -> None:
    """Move a spin or a cut made to ``[[undone]]``, comments included; what counts spins is counted anew.

    Parameters
    ----------
    path : Path
        The job file.
    what : {"spin", "cut"}
        What is taken back.
    number : int
        Its number: a spin's counts the spins, 1 = first; a cut's is the cut's own.
    still : callable, optional
        Is given the job as it stands under the lock; what it raises leaves the file as it is.
    note : str
        Why, in the user's words.

    Raises
    ------
    InputError
        If there is no such entry, a cut hangs on the spin or was made in the hole, or the file can't be written (see
        `planner.jobfile.write`).
        The file is in every case as it was.
    """
    section = SECTIONS[what]
    places: list[int] = []

    def edit(old_text: str) -> str:
        import tomlkit

        job = load_known(path)
        if still is not None:
            still(job)
        place = place_of(job, what, number)
        places[:] = [place]
        text = _moved(
            old_text.replace("\r\n", "\n"), section, place - 1, _trace(job, what, number, place, note)
        )
        plan = job.stored_plan
        if what == "spin" and len(job.spins) == 1 and plan is not None:
            text = _without_plan(text)
        document = tomlkit.parse(text)
        if what == "spin":
            if len(job.spins) == 1 and plan is not None and plan.steps:
                keep_former(document, job, plan)
            _count_anew(document, job, number)
        else:
            _name_the_rest(document, job, place)
            if _started_from(job, place):
                _bring_back(document, job, place)
        return tomlkit.dumps(document)

    def check(old_text: str, new_text: str) -> None:
        check_moved(old_text, new_text, section=section, index=places[0] - 1, name=path.name)

    edit_text(path, edit, check=check)


def place_of(job: Job, what: What, number: int) -> int:
    """Return where an entry stands in its list (1 = first), which can be taken back.

    Raises
    ------
    InputError
        If there is no such entry, a cut hangs on the spin, or another cut was made in the hole.
    """
    count = len(job.spins) if what == "spin" else len(job.cuts_made)
    numbers = list(range(1, count + 1)) if what == "spin" else [made.number for made in job.cuts_made]
    if number not in numbers:
        there = f"there are {count}" if count != 1 else "there is 1"
        if what == "cut" and numbers and numbers != list(range(1, count + 1)):
            there += f", numbered {', '.join(map(str, numbers))}"
        raise InputError(
            f"there is no {what} {number} to take back; {there}", hint="`bobplan history` shows their numbers"
        )
    hanging = [made.number for made in job.cuts_made if made.after_spin == 1]
    if what == "spin" and number == 1 and hanging:
        raise InputError(
            "spin 1 can't be taken back while cuts made after it stand in the record",
            hint=f"take those back first: `bobplan undo --cut {hanging[-1]}`",
        )
    place = numbers.index(number) + 1
    if what == "cut":
        _check_nothing_rests(job, place)
    return place


def _check_nothing_rests(job: Job, place: int) -> None:
    """Refuse to take back a hole (by its place, 1 = first) that a later cut drilled deeper or filled: it is there."""
    gone = job.cuts_made[place - 1]
    resting = [
        made
        for made in job.cuts_made[place:]
        if (made.cut.deepens and same_hole(made.cut, gone.cut)) or fills_hole(made.cut, gone.cut)
    ]
    if resting:
        last = resting[-1]
        did = "filled it" if last.cut.kind in FILLS else "drilled it deeper"
        raise InputError(
            f"cut {gone.number} can't be taken back while cut {last.number}, which {did}, stands in the record",
            hint=f"take that back first: `bobplan undo --cut {last.number}`",
        )


_TRACE_KEYS = ("what", "number", "place", "of", "cuts_after", "repeated", "note")


def _trace(job: Job, what: What, number: int, place: int, note: str) -> str:
    lines = [f"what = {render.text(what)}", f"number = {number}"]
    if place != number:
        lines.append(f"place = {place}")
    lines.append(f"of = {len(job.spins) if what == 'spin' else len(job.cuts_made)}")
    if what == "spin":
        after = [made.number for made in job.cuts_made if made.after_spin == number]
        if after:
            lines.append(f"cuts_after = [{', '.join(map(str, after))}]")
        if _first_repeat_left_alone(job, number) is not None:
            lines.append("repeated = true")
    if note:
        lines.append(f"note = {render.text(note)}")
    return "".join(f"{line}\n" for line in lines)


def _moved(text: str, section: str, index: int, trace: str) -> str:
    """Return the text with an entry of an array of tables moved to ``[[undone]]`` at its end."""
    there = list(_tables(text, section))
    if len(there) <= index:
        return _moved_out_of_list(text, section, index, trace)
    start, end = there[index]
    header, _, lines = _renamed(text[start:end], section, "undone").partition("\n")
    return _appended(_closed_up(text[:start], text[end:]), f"{header}\n{trace}{lines}")


def _tables(text: str, section: str) -> Iterator[tuple[int, int]]:
    """Yield where each table of a section begins and ends, tables in it included; what heads the next one is not its own."""
    found = [(start, _plain(name)) for start, name in headers(text)]
    for place, (start, name) in enumerate(found):
        if name == section:
            after = (at for at, other in found[place + 1 :] if not other.startswith(f"{section}."))
            yield start, start + _own_size(text[start : next(after, len(text))])


def _renamed(table: str, old: str, new: str) -> str:
    """Return a table's text as one of another section: in its header, and in those of tables in it."""
    for start, _ in reversed(list(headers(table))):
        table = table[:start] + table[start:].replace(old, new, 1)
    return table


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
    # a truth value comes out of tomlkit as a bare bool, which has no text of its own
    lines = "".join(f"{key} = {tomlkit.item(value).as_string()}\n" for key, value in entry.items())
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
    there = next(_tables(text, "plan"), None)
    return text if there is None else _closed_up(text[: there[0]], text[there[1] :])


def _count_anew(document: TOMLDocument, job: Job, number: int) -> None:
    """Let everything that names a later spin by its number name it by its new one."""
    for place, made in enumerate(job.cuts_made):
        if made.after_spin >= number:
            document["cuts_made"][place]["after_spin"] = made.after_spin - 1
    later = _first_repeat_left_alone(job, number)
    if later is not None:
        document["spins"][later - 2]["repeat"] = False
    former = _newest_former(job, number - 1)
    plan = job.stored_plan
    if plan is not None and len(job.spins) == 1:
        if former is not None:
            put_plan(document, job, former)
    elif plan is not None and "plan" in document:
        if plan.after_spin == number:
            nothing = StoredPlan(after_spin=max(1, number - 1), steps=())
            put_plan(document, job, nothing if former is None else former)
        elif plan.after_spin > number:
            document["plan"]["after_spin"] = plan.after_spin - 1
    for place in range(len(document.get("former_plans", ()))):
        table = document["former_plans"][place]
        after_spin = int(table["after_spin"])
        if after_spin == number:
            table["withdrawn"] = True
        elif after_spin > number and not table.get("withdrawn", False):
            table["after_spin"] = after_spin - 1


def _newest_former(
    job: Job, after_spin: int, *, basis: str | None = None, most_cuts: int | None = None
) -> StoredPlan | None:
    """Return the plan shown last for a spin before the one there now; None when there was none."""
    for plan in reversed(job.former_plans):
        if (
            plan.after_spin == after_spin
            and not plan.withdrawn
            and (basis is None or plan.basis == basis)
            and (most_cuts is None or plan.after_cuts <= most_cuts)
        ):
            return plan
    return None


def _bring_back(document: TOMLDocument, job: Job, place: int) -> None:
    """Put the plan in its place again that was shown before a cut (by its place, 1 = first) was entered."""
    plan = job.stored_plan
    assert plan is not None
    before = sum(made.after_spin >= plan.after_spin for made in job.cuts_made[: place - 1])
    former = _newest_former(job, plan.after_spin, basis=plan.basis, most_cuts=before)
    put_plan(document, job, StoredPlan(after_spin=plan.after_spin, steps=()) if former is None else former)


def _name_the_rest(document: TOMLDocument, job: Job, gone: int) -> None:
    """Write the numbers of cuts that only had them by their place: the places change now."""
    for place, made in enumerate(job.cuts_made, start=1):
        table = place - 1 if place < gone else place - 2
        if place != gone and made.number != made.step:
            entry = document["cuts_made"][table]
            if "cut_number" not in entry:
                entry["cut_number"] = made.number


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


def _started_from(job: Job, number: int) -> bool:
    """Return whether the stored plan was made with that cut (by its place, 1 = first) already in the metal."""
    plan = job.stored_plan
    if plan is None:
        return False
    since = [place for place, made in enumerate(job.cuts_made, start=1) if made.after_spin >= plan.after_spin]
    return number in since[: plan.after_cuts] or number not in since


def newest_undone(job: Job) -> Undone:
    """Return what was taken back last, which can be put back.

    Raises
    ------
    InputError
        If nothing was taken back, or something was entered since, so that it no longer fits.
    """
    if not job.undone:
        raise InputError("there is nothing to put back: nothing was taken back")
    entry = job.undone[-1]
    name = f"{entry.what} {entry.number}"
    if not entry.of:
        raise InputError(
            f"{name} was taken back by an older version, which did not keep where it stood",
            hint="enter it again; its numbers stand under [[undone]]",
        )
    count = len(job.spins) if entry.what == "spin" else len(job.cuts_made)
    if count != entry.of - 1:
        raise InputError(
            f"{name} can't be put back: since it was taken back another {entry.what} was entered or taken back",
            hint="enter it again; its numbers stand under [[undone]]",
        )
    if entry.what == "cut" and any(made.number == entry.number for made in job.cuts_made):
        raise InputError(
            f"{name} can't be put back: there is another cut {entry.number} by now",
            hint=f"take that back first: `bobplan undo --cut {entry.number}`",
        )
    return entry


def put_back(path: Path, *, still: Callable[[Job], None] | None = None) -> Undone:
    """Put what was taken back last where it stood, comments included; return what it was.

    ``still`` is given the job as it stands under the lock; what it raises leaves the file as it is.

    Raises
    ------
    InputError
        See `newest_undone`; or if the file can't be written.  The file is in every case as it was.
    """
    put: list[Undone] = []

    def edit(old_text: str) -> str:
        import tomlkit

        job = load_known(path)
        if still is not None:
            still(job)
        entry = newest_undone(job)
        put[:] = [entry]
        section = SECTIONS["spin" if entry.what == "spin" else "cut"]
        text = _moved_back(old_text.replace("\r\n", "\n"), section, entry.place - 1)
        document = tomlkit.parse(text)
        if entry.what == "spin":
            _count_back(document, job, entry)
        return tomlkit.dumps(document)

    def check(old_text: str, new_text: str) -> None:
        section = SECTIONS["spin" if put[0].what == "spin" else "cut"]
        place = put[0].place - 1
        check_moved(old_text, new_text, section=section, index=place, back=True, name=path.name)

    edit_text(path, edit, check=check)
    return put[0]


def _moved_back(text: str, section: str, index: int) -> str:
    """Return the text with the last of ``[[undone]]`` back in its array, without what only the trace had."""
    undone = list(_tables(text, "undone"))
    if not undone:
        raise InputError(
            "`undone` is written in a form that can't be changed safely",
            hint="enter it again; its numbers stand under [[undone]]; nothing was changed",
        )
    start, end = undone[-1]
    lines = _renamed(text[start:end], "undone", section).splitlines(keepends=True)
    entry = "".join(
        line
        for line in lines
        if line.lstrip().startswith("[") or line.partition("=")[0].strip() not in _TRACE_KEYS
    ).rstrip("\n")
    rest = _closed_up(text[:start], text[end:])
    there = list(_tables(rest, section))
    if index < len(there):
        at = there[index][0]
        return f"{rest[:at]}{entry}\n\n{rest[at:]}"
    if not there:
        return _appended(rest, entry)
    at = there[-1][1]
    before = rest[:at] if rest[:at].endswith("\n") else rest[:at] + "\n"
    return f"{before}\n{entry}\n{rest[at:]}"


def _count_back(document: TOMLDocument, job: Job, entry: Undone) -> None:
    """Let everything that names a later spin name it by the number that it has with the spin put back."""
    number = entry.number
    for place, made in enumerate(job.cuts_made):
        if made.after_spin >= number:
            document["cuts_made"][place]["after_spin"] = made.after_spin + 1
        elif made.after_spin == number - 1 and made.number in entry.cuts_after:
            document["cuts_made"][place]["after_spin"] = number
    if entry.repeated:
        later = next(
            index for index in range(number, len(job.spins) + 1) if job.spins[index - 1].known_mass is None
        )
        document["spins"][later]["repeat"] = True
    plan = job.stored_plan
    restored: StoredPlan | None = None
    for place, former in enumerate(job.former_plans):
        table = document["former_plans"][place]
        if former.withdrawn and former.after_spin == number:
            del table["withdrawn"]
            restored = dataclasses.replace(former, withdrawn=False)
        elif former.after_spin >= number and not former.withdrawn:
            table["after_spin"] = former.after_spin + 1
    if plan is not None and "plan" in document and plan.after_spin >= number:
        document["plan"]["after_spin"] = plan.after_spin + 1
    elif restored is not None and number == len(job.spins) + 1:
        put_plan(document, job, restored)
