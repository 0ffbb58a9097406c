"""Writing into a job file: in one step or not at all, comments, order and formatting kept.

Every change goes the same way: the lock is taken, the file read, changed in memory, the new text loaded again as a
job and compared with the old one, written beside the old one, and put in its place in one step.
"""

from __future__ import annotations

import contextlib
import os
import stat
import tempfile
from collections.abc import Callable, Collection, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.errors import FileFaultsError, InputError
from planner.job import rendering
from planner.job.keeping import check_kept
from planner.job.locking import NotWrittenError, locked
from planner.job.model import Job, MadeCut, StoredPlan
from planner.job.reading import load_job
from planner.job.sources import parse_toml, read_text
from planner.reading.spin import Spin
from planner.reading.trial_masses import Influence

if TYPE_CHECKING:
    from tomlkit import TOMLDocument
    from tomlkit.items import AoT, Table

Change = Callable[["TOMLDocument"], object]
_NOTHING_LOST = "nothing was changed; the file is as it was"


def add_spin(path: Path, spin: Spin, *, plan: StoredPlan | None = None, lock_seconds: float = 10.0) -> int:
    """Add a spin, and its plan in the same step.

    Parameters
    ----------
    path : Path
        The job file.
    spin : Spin
        Amounts in g*mm, or in g when the machine states masses.
    plan : StoredPlan, optional
        The plan made from it.
    lock_seconds : float
        How long to wait for another writer.

    Returns
    -------
    int
        The spin's number, 1 = first.

    Raises
    ------
    NotWrittenError
        If another program holds the file, or the system does not let it be written.
    InputError
        If the file can't be read, or was given a fault meanwhile.  The file is in every case as it was.
    """
    counted = [0]

    def change(job: Job, document: TOMLDocument) -> None:
        lines = rendering.spin_lines(spin, units=job.units, by_mass=job.machine.mass_at_radius)
        _append(document, "spins", lines)
        counted[0] = len(job.spins) + 1
        if plan is not None:
            _put_plan(document, job, plan)

    _change_job(path, change, sections=("spins", "plan"), lock_seconds=lock_seconds)
    return counted[0]


def store_plan(path: Path, plan: StoredPlan, *, lock_seconds: float = 10.0) -> bool:
    """Store the plan as it was shown; return whether anything changed in the file.

    Raises
    ------
    InputError
        See `add_spin`.
    """

    def change(job: Job, document: TOMLDocument) -> None:
        _put_plan(document, job, plan)

    return _change_job(path, change, sections=("plan",), lock_seconds=lock_seconds)


def store_influence(path: Path, influence: Influence, *, lock_seconds: float = 10.0) -> bool:
    """Store influence coefficients for later readings; return whether anything changed in the file.

    Raises
    ------
    InputError
        See `add_spin`.
    """

    def change(job: Job, document: TOMLDocument) -> None:
        _put_table(
            document,
            "influence",
            rendering.influence_values(influence, units=job.units, machine=job.machine),
        )

    return _change_job(path, change, sections=("influence",), lock_seconds=lock_seconds)


def add_made_cut(
    path: Path, made: MadeCut, *, plan: StoredPlan | None = None, lock_seconds: float = 10.0
) -> None:
    """Add a cut that was made, and the plan for what is left in the same step.

    Raises
    ------
    InputError
        See `add_spin`.
    """

    def change(job: Job, document: TOMLDocument) -> None:
        lines = rendering.made_cut_lines(made, units=job.units, shop=job.shop)
        _append(document, "cuts_made", lines)
        if plan is not None:
            _put_plan(document, job, plan)

    _change_job(path, change, sections=("cuts_made", "plan"), lock_seconds=lock_seconds)


def update_job(
    path: Path, change: Change, *, sections: Collection[str] | None = None, lock_seconds: float = 10.0
) -> bool:
    """Change a job file.

    Parameters
    ----------
    path : Path
        The job file; a link is followed, the link itself stays.
    change : callable
        Is given the document (tomlkit) and changes it.
    sections : collection of str, optional
        The sections that the change may touch: a change in any other is refused.
    lock_seconds : float
        How long to wait for another writer.

    Returns
    -------
    bool
        Whether the file changed; when the text is the same nothing is written.

    Raises
    ------
    NotWrittenError
        If another program holds the file, or the system does not let it be written.
    InputError
        If the file can't be read, or would no longer load.  The file is in every case as it was.
    """
    return _change_text(path, change, sections=sections, lock_seconds=lock_seconds)


def _change_job(
    path: Path, change: Callable[[Job, TOMLDocument], None], *, sections: Collection[str], lock_seconds: float
) -> bool:
    """Change a job file with its own content at hand, read under the lock."""

    def with_job(document: TOMLDocument) -> None:
        change(load_job(path), document)

    return _change_text(path, with_job, sections=sections, lock_seconds=lock_seconds)


def _change_text(
    path: Path, change: Change, *, sections: Collection[str] | None, lock_seconds: float
) -> bool:
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    # through the library's own reading first: its errors have lines and carets
    parse_toml(read_text(path), name=path.name)
    real = path.resolve()
    with locked(real, seconds=lock_seconds):
        old = _raw(real)
        mark = b"\xef\xbb\xbf" if old.startswith(b"\xef\xbb\xbf") else b""
        old_text = old.removeprefix(mark).decode("utf-8")
        try:
            document = tomlkit.parse(old_text)
            change(document)
            new_text = tomlkit.dumps(document)
        except TOMLKitError as error:
            raise InputError(f"`{path.name}` can't be changed: {error}", hint=_NOTHING_LOST) from None
        new_text = _with_old_line_ends(old_text, new_text)
        if new_text == old_text:
            return False
        check_kept(old_text, new_text, name=path.name, sections=sections)
        _replace(path, real, old=old, new=mark + new_text.encode("utf-8"))
    return True


def _raw(real: Path) -> bytes:
    try:
        return real.read_bytes()
    except OSError as error:
        raise InputError(
            f"`{real.name}` can't be read: {error.strerror or error}", hint=_NOTHING_LOST
        ) from None


def _with_old_line_ends(old_text: str, new_text: str) -> str:
    """Return the new text with the old one's line ends, when that has one kind throughout."""
    if "\r\n" in old_text and old_text.count("\n") == old_text.count("\r\n"):
        return new_text.replace("\r\n", "\n").replace("\n", "\r\n")
    return new_text


def _replace(path: Path, real: Path, *, old: bytes, new: bytes) -> None:
    """Put the new content in the file's place in one step."""
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(dir=real.parent, prefix=f".{real.name}.", suffix=".new")
        with os.fdopen(handle, "wb") as file:
            file.write(new)
            file.flush()
            os.fsync(file.fileno())
        _check_loads(Path(temporary), path)
        _look_alike(Path(temporary), real)
        if real.read_bytes() != old:
            raise NotWrittenError(
                f"`{path.name}` was changed by another program meanwhile",
                hint=f"{_NOTHING_LOST}; close it in the editor and run the command again",
            )
        os.replace(temporary, real)
        temporary = None
        _sync_folder(real.parent)
    except NotWrittenError:
        raise
    except OSError as error:
        raise NotWrittenError(
            f"`{path.name}` can't be written: {error.strerror or error}", hint=_NOTHING_LOST
        ) from None
    finally:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)


def _look_alike(temporary: Path, real: Path) -> None:
    """Give the new file the mode of the old one, and its owner where the system lets that be given."""
    old = real.stat()
    os.chmod(temporary, stat.S_IMODE(old.st_mode))
    if hasattr(os, "chown") and old.st_uid != temporary.stat().st_uid:
        with contextlib.suppress(OSError):
            os.chown(temporary, old.st_uid, old.st_gid)


def _check_loads(temporary: Path, path: Path) -> None:
    """Check that the new text, read at its place, is a job."""
    try:
        load_job(temporary, name=path.name)
    except FileFaultsError as error:
        raise InputError(
            f"the new text of `{path.name}` would not load: {error}", hint=_NOTHING_LOST
        ) from None


def _sync_folder(folder: Path) -> None:
    """Make the new name last through a power cut, where the system can do that for a folder."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)


def _append(document: TOMLDocument, section: str, lines: list[str]) -> None:
    """Append a table to an array of tables, before the comments that head what comes after it."""
    import tomlkit
    from tomlkit.items import AoT, Array, Table

    if section not in document:
        _end_with_newline(document)
        document.add(tomlkit.nl())
        document.append(section, _table_array(section, lines))
        return
    there = document[section]
    if isinstance(there, Array):
        # written as `spins = [ {..}, {..} ]`
        there.append(tomlkit.parse(f"x = {{ {', '.join(lines)} }}")["x"])
        return
    if not isinstance(there, AoT):
        raise InputError(f"`{section}` is no list of tables", hint=f"write [[{section}]], with two brackets")
    last = there[-1]
    added = _table_array(section, lines)[0]
    if isinstance(last, Table):
        tail = _take_tail(last)
        added.trivia.indent = "\n"
        there.append(added)
        for item in tail:
            there[-1].add(item)
    else:
        there.append(added)


def _table_array(section: str, lines: list[str]) -> AoT:
    import tomlkit
    from tomlkit.items import AoT

    parsed = tomlkit.parse("\n".join([f"[[{section}]]", *lines, ""]))[section]
    assert isinstance(parsed, AoT)
    return parsed


def _take_tail(table: Table) -> list[Any]:
    """Take from a table's end what comes after a blank line: those comments head the next section."""
    body = table.value.body
    # a sub-table at the end holds the tail itself
    if (
        body
        and body[-1][0] is not None
        and hasattr(body[-1][1], "value")
        and hasattr(body[-1][1].value, "body")
    ):
        from tomlkit.items import Table

        return _take_tail(body[-1][1]) if isinstance(body[-1][1], Table) else []
    start = len(body)
    while start > 0 and body[start - 1][0] is None:
        start -= 1
    blank = next((i for i in range(start, len(body)) if not body[i][1].as_string().strip()), len(body))
    tail = [item for _, item in body[blank:]]
    del body[blank:]
    return tail


def _end_with_newline(document: TOMLDocument) -> None:
    import tomlkit

    text = tomlkit.dumps(document)
    if text and not text.endswith("\n"):
        document.add(tomlkit.nl())


def _put_plan(document: TOMLDocument, job: Job, plan: StoredPlan) -> None:
    """Put the plan in the document; a plan that stands there already is left alone."""
    _put_table(document, "plan", rendering.plan_values(plan, units=job.units, shop=job.shop))


def _put_table(document: TOMLDocument, section: str, values: Mapping[str, str]) -> None:
    """Put a table that the program writes in the document; what stands there already with these values is left alone."""
    import tomlkit
    from tomlkit.items import Table

    lines = "".join(f"{key} = {value}\n" for key, value in values.items())
    block = tomlkit.parse(f"[{section}]\n{lines}")[section]
    assert isinstance(block, Table)
    there = document.get(section)
    if there is None:
        _end_with_newline(document)
        document.add(tomlkit.nl())
        document.append(section, block)
        return
    for key in [key for key in there if key not in block]:
        del there[key]
    for key, value in block.items():
        if key not in there or there[key].unwrap() != value.unwrap():
            there[key] = value
