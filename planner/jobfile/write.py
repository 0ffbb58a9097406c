"""Writing into a job file: in one step or not at all, comments, order and formatting kept.

Every change goes the same way: the lock is taken, the file read, changed in memory, the new text loaded again as a
job and compared with the old one, written beside the old one, and put in its place in one step.
"""

from __future__ import annotations

import contextlib
import difflib
import glob
import os
import stat
import tempfile
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.errors import FileFaultsError, InputError
from planner.files import changed, sync, write_through
from planner.jobfile import render
from planner.jobfile.job import Job, MadeCut, StoredPlan
from planner.jobfile.loaded import keep_loaded, load_known
from planner.jobfile.lock import NotWrittenError, locked
from planner.jobfile.nothing_lost import check_confirmed, check_kept, check_settled
from planner.jobfile.read import file_of, load_job
from planner.jobfile.sources import parse_toml, read_text
from planner.jobfile.toml_document import (
    append_table,
    end_with_newline,
    put_key,
    put_plan,
    put_table,
    toml_item,
)
from planner.machine.spin import Spin, newest_state
from planner.machine.trial_masses import Influence
from planner.quantity import from_g
from planner.records import dataclass

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

Change = Callable[["TOMLDocument"], object]
Check = Callable[..., None]
"""Given the old and the new text and the file's ``name``, refuses a change by which something would be lost."""

_NOTHING_LOST = "nothing was changed; the file is as it was"


class ChangedMeanwhileError(InputError):
    """The file is no longer what a result was made from."""


class WouldNotLoadError(InputError):
    """The new text would have faults, each in ``faults``: it was not written."""

    def __init__(self, name: str, error: FileFaultsError) -> None:
        self.faults = error.faults
        super().__init__(f"the new text of `{name}` would not load: {error}", hint=_NOTHING_LOST)


@dataclass(frozen=True, kw_only=True)
class Entries:
    """What goes into a job file in one step: cuts made first, then spins; a plan in the place of the one there.

    ``cut_unproved``: it was asked and answered that the job is cut with settings that are not proved.
    """

    made: tuple[MadeCut, ...] = ()
    spins: tuple[Spin, ...] = ()
    plan: StoredPlan | None = None
    cut_unproved: bool = False


def enter(path: Path, prepare: Callable[[Job], Entries]) -> Entries:
    """Enter cuts and spins in one step, made from the file as it is under the lock.

    Parameters
    ----------
    path : Path
        The job file.
    prepare : callable
        Is given the job as it stands under the lock and returns what to enter (amounts in g*mm, or in g when the machine
        states masses); what it raises leaves the file as it is.

    Raises
    ------
    NotWrittenError
        If another program holds the file, or the system does not let it be written.
    InputError
        If the file can't be read, or was given a fault meanwhile.  The file is in every case as it was.
    """
    entered: list[Entries] = []

    def change(job: Job, document: TOMLDocument) -> None:
        entries = prepare(job)
        for made in entries.made:
            lines = render.made_cut_lines(made, units=job.units, shop=job.shop)
            append_table(document, "cuts_made", lines)
        if entries.plan is not None:
            put_plan(document, job, entries.plan)
        for spin in entries.spins:
            append_table(document, "spins", render.spin_lines(spin, units=job.units, machine=job.machine))
        if entries.cut_unproved:
            put_key(document, "proof", "cut_unproved", "true")
        entered.append(entries)

    _change_job(path, change, sections=("cuts_made", "spins", "plan", "former_plans", "proof"))
    return entered[0]


def confirm_spot(path: Path, check: Callable[[Job], None]) -> None:
    """Note at the newest spin that the heavy spot was found where it is said to be.

    ``check`` is given the job as it stands under the lock; what it raises leaves the file as it is.

    Raises
    ------
    InputError
        If there is no spin; see `enter`.
    """

    def change(job: Job, document: TOMLDocument) -> None:
        check(job)
        document["spins"][newest_state(job.spins)[-1]]["spot_seen"] = True

    _change_job(path, change, check=check_confirmed)


def settle_dialled(path: Path, decide: Callable[[Job], Mapping[int, MadeCut]]) -> None:
    """Write what was decided of cuts made under other settings: place of the cut (0 = first) to the cut as it is now.

    Only ``angle``, ``dialled`` and ``stays`` of those cuts change, and the stored plan, which started from them, gives way.

    Raises
    ------
    InputError
        See `enter`.
    """

    def change(job: Job, document: TOMLDocument) -> None:
        decided = decide(job)
        for place, made in decided.items():
            table = document["cuts_made"][place]
            values = {"angle": render.angle(made.cut.angle_deg)}
            if made.dial_deg is not None and made.dialled_under is not None:
                values["dialled"] = render.dialled_value(made.dial_deg, made.dialled_under)
            if made.stays_under is not None:
                values["stays"] = render.settings_value(made.stays_under)
            if "machine_angle" in table:
                del table["machine_angle"]
            for key, value in values.items():
                table[key] = toml_item(value)
        plan = job.stored_plan
        if decided and plan is not None:
            put_plan(document, job, StoredPlan(after_spin=plan.after_spin, steps=()))

    _change_job(path, change, check=check_settled)


def store_plan(path: Path, plan: StoredPlan, *, still: Callable[[Job], bool] | None = None) -> bool:
    """Store the plan as it was shown; return whether anything changed in the file.

    ``still`` is asked under the lock whether the job in the file is the one that was planned.

    Raises
    ------
    ChangedMeanwhileError
        If it is not: a slow plan must not stand in the place of a newer spin's.
    InputError
        See `enter`.
    """

    def change(job: Job, document: TOMLDocument) -> None:
        if still is not None and not still(job):
            raise ChangedMeanwhileError(
                f"`{path.name}` was changed while this plan was being made: it answers a question that is no longer asked",
                hint="the plan was not stored and is not shown; `bobplan plan` plans from what the file says now",
            )
        put_plan(document, job, plan)

    return _change_job(path, change, sections=("plan", "former_plans"))


def store_influence(path: Path, influence: Influence) -> bool:
    """Store influence coefficients for later readings; return whether anything changed in the file.

    Raises
    ------
    InputError
        See `enter`.
    """

    def change(job: Job, document: TOMLDocument) -> None:
        values = render.influence_values(influence, units=job.units, machine=job.machine)
        put_table(document, "influence", values)

    return _change_job(path, change, sections=("influence",))


@dataclass(frozen=True, kw_only=True)
class PartEntries:
    """What goes into ``[parts]`` in one step; what else it says stays, comments too.

    Attributes
    ----------
    masses_g : mapping of str to float or sequence of float
        Part to one weight for all, or to one for each [g].
    kinds : mapping of str to (per, motion)
        What is said besides its weight of a part that is new and no standard one.
    left_out : sequence of str
        Parts that are not in the engine any more.
    fraction : float, optional
        The share of the reciprocating mass that the bobs carry.
    others : mapping, optional
        What ``[parts]`` of a used file says, in the job file's units, where the job file has no such section.
    wanted_g : mapping of str to float, optional
        The wanted bob of every throw [g]; it is said where it stands, or under ``[bobs]``.
    weights_say_bob : bool
        Whether a wanted bob that is stated is taken out, so that the weights say it.
    """

    masses_g: Mapping[str, float | Sequence[float]] = field(default_factory=dict)
    kinds: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    left_out: Sequence[str] = ()
    fraction: float | None = None
    others: Mapping[str, object] | None = None
    wanted_g: Mapping[str, float] | None = None
    weights_say_bob: bool = False


def enter_parts(path: Path, prepare: Callable[[Job], PartEntries]) -> bool:
    """Enter weights of parts and wanted bobs as `enter` enters cuts; return whether anything changed."""

    def change(job: Job, document: TOMLDocument) -> None:
        entries = prepare(job)
        if entries.masses_g or entries.left_out or entries.fraction is not None:
            _put_parts(job, document, entries)
        if entries.weights_say_bob:
            _take_out_wanted(document)
        if entries.wanted_g is not None:
            _put_wanted(job, document, entries.wanted_g)

    return _change_job(path, change, sections=("parts", "bobs", "throws"))


def _put_parts(job: Job, document: TOMLDocument, entries: PartEntries) -> None:
    import tomlkit

    if "parts" not in document:
        if entries.others:
            document["parts"] = tomlkit.item(dict(entries.others))
        else:
            end_with_newline(document)
            document.add(tomlkit.nl())
            document.append("parts", tomlkit.table())
    section: Any = document["parts"]
    for name in entries.left_out:
        if name in section:
            del section[name]
    for name, masses in entries.masses_g.items():
        each = [masses] if isinstance(masses, int | float) else masses
        numbers = ", ".join(render.number(from_g(mass, job.units.mass)) for mass in each)
        text = numbers if isinstance(masses, int | float) else f"[{numbers}]"
        value = toml_item(text)
        old = section.get(name)
        if isinstance(old, Mapping):
            old["mass"] = value  # type: ignore[index]
        elif old is not None:
            section[name] = value
        elif name in entries.kinds:
            per, motion = (render.text(each) for each in entries.kinds[name])
            put_key(document, "parts", name, f"{{ mass = {text}, per = {per}, motion = {motion} }}")
        else:
            put_key(document, "parts", name, text)
    if entries.fraction is not None:
        put_key(document, "parts", "reciprocating_fraction", render.number(entries.fraction))


def _put_wanted(job: Job, document: TOMLDocument, wanted_g: Mapping[str, float]) -> None:
    """Say the wanted bobs where a throw says its own, else under ``[bobs]``."""
    texts = {name: render.number(from_g(mass, job.units.mass)) for name, mass in wanted_g.items()}
    throws = document.get("throws", [])
    if any("bob_wanted" in throw for throw in throws):
        for throw in throws:
            throw["bob_wanted"] = toml_item(texts[str(throw["name"])])
        return
    if len(set(texts.values())) == 1:
        put_key(document, "bobs", "wanted", next(iter(texts.values())))
        return
    pairs = ", ".join(f"{render.text(name)} = {text}" for name, text in texts.items())
    put_key(document, "bobs", "wanted", f"{{ {pairs} }}")


def _take_out_wanted(document: TOMLDocument) -> None:
    section = document.get("bobs")
    if section is not None and "wanted" in section:
        del section["wanted"]
        if not section:
            del document["bobs"]
    for throw in document.get("throws", []):
        if "bob_wanted" in throw:
            del throw["bob_wanted"]


def name_cylinders(job: Job, cylinders: Mapping[str, Sequence[str]], check: Callable[[Job], None]) -> Path:
    """Write which cylinders hang on which throw, into the file that has the throws; return the file.

    ``check`` is given the job as it stands under the lock; what it raises leaves the file as it is.

    Raises
    ------
    InputError
        See `enter`.
    """

    def change(document: TOMLDocument) -> None:
        check(load_known(job.files.job))
        for throw in document["throws"]:
            names = cylinders[str(throw["name"])]
            throw["cylinders"] = toml_item(f"[{', '.join(render.text(name) for name in names)}]")

    return _change_section(job, "throws", change)


def write_proof(
    job: Job,
    *,
    mended: Mapping[str, Mapping[str, str | float]] | None = None,
    machine: Mapping[str, str] | None = None,
    crankshaft: Mapping[str, str] | None = None,
    still: Callable[[], None] | None = None,
) -> tuple[Path, ...]:
    """Write mended settings and what was proved; each file in one step, what is proved last.

    Parameters
    ----------
    job : Job
        The job as it is.
    mended : mapping, optional
        Section to its keys and new values; each is written into the file that has the section.
    machine, crankshaft : mapping, optional
        Keys and values (as TOML) of ``proved`` under ``[machine]``, and of the job's under ``[proof]``.
    still : callable, optional
        Called under the lock before the first file is written; what it raises leaves all files as they are.

    Returns
    -------
    tuple of Path
        The files that changed.

    Raises
    ------
    InputError
        See `enter`.
    """
    tasks = [
        (
            section,
            {
                key: render.text(value) if isinstance(value, str) else render.number(value)
                for key, value in keys.items()
            },
        )
        for section, keys in (mended or {}).items()
    ]
    for section, proved in (("machine", machine), ("proof", crankshaft)):
        if proved is not None:
            inner = ", ".join(f"{key} = {value}" for key, value in proved.items())
            tasks.append((section, {"proved": f"{{ {inner} }}"}))
    return _put_keys(job, tasks, still=still)


def write_settings(
    job: Job,
    settings: Mapping[str, Mapping[str, str]],
    *,
    still: Callable[[], None] | None = None,
) -> tuple[Path, ...]:
    """Write settings of the shop or the machine (TOML texts); each file in one step, comments and everything else kept.

    ``still``, what is returned and what else is raised are as with `write_proof`.

    Raises
    ------
    WouldNotLoadError
        If the job would have faults with these settings; ``faults`` has each.
    """
    tasks = [(section, keys) for section, keys in settings.items() if keys]
    return _put_keys(job, tasks, still=still)


def _put_keys(
    job: Job, settings: Sequence[tuple[str, Mapping[str, str]]], *, still: Callable[[], None] | None
) -> tuple[Path, ...]:
    """Put keys (their values as TOML) into sections, each in the file that has it, the job file last; return what changed."""
    tasks: dict[Path, list[tuple[str, Mapping[str, str]]]] = {}
    for section, keys in settings:
        tasks.setdefault(file_of(job, section), []).append((section, keys))
    written: list[Path] = []
    for path in sorted(tasks, key=lambda each: each == job.files.job):
        sections = [section for section, _ in tasks[path]]

        def change(document: TOMLDocument, path: Path = path) -> None:
            # after the first file of this step the state is another, by this step itself
            if still is not None and not written:
                still()
            for section, keys in tasks[path]:
                for key, value in keys.items():
                    put_key(document, section, key, value)

        if update_job(path, change, sections=sections, used_by=_used_by(job, path)):
            written.append(path)
    return tuple(written)


def note_drill_line(
    job: Job, place: str, dial_deg: float, *, still: Callable[[], None] | None = None
) -> None:
    """Write what the dial showed with a named place under the drill: while it speaks against ``drill_offset``, it counts.

    ``still`` is called under the lock; what it raises leaves the file as it is.

    Raises
    ------
    InputError
        See `enter`.
    """
    line = f"{{ place = {render.text(place)}, dial = {render.angle(dial_deg)} }}"
    _put_keys(job, [("proof", {"drill_line": line})], still=still)


def remember_right(job: Job, lines: Mapping[str, str]) -> Path:
    """Write under ``[plausible]`` that what was asked is right, beside what stands there; return the file.

    Parameters
    ----------
    job : Job
        The job whose questions were answered.
    lines : mapping
        Keys to values as TOML, as `planner.jobfile.plausible.right_lines` has them.

    Raises
    ------
    InputError
        See `enter`.
    """

    def change(document: TOMLDocument) -> None:
        there = document.get("plausible", {})
        for key, value in lines.items():
            if key in there and value != "true":
                old = there[key]
                kept = [str(each.as_string()) for each in (old if isinstance(old, list) else [old])]
                value = f"[{', '.join([*kept, value.strip('[]')])}]"
            put_key(document, "plausible", key, value)

    return _change_section(job, "plausible", change)


def _used_by(job: Job, path: Path) -> Path | None:
    return None if path == job.files.job else job.files.job


def _change_section(job: Job, section: str, change: Change) -> Path:
    """Change a section in the file that has it; return the file."""
    path = file_of(job, section)
    update_job(path, change, sections=(section,), used_by=_used_by(job, path))
    return path


def _change_job(
    path: Path,
    change: Callable[[Job, TOMLDocument], None],
    *,
    sections: Collection[str] | None = None,
    check: Check | None = None,
) -> bool:
    """Change a job file with its own content at hand, read under the lock."""
    return update_job(
        path, lambda document: change(load_known(path), document), sections=sections, check=check
    )


def update_job(
    path: Path,
    change: Change,
    *,
    sections: Collection[str] | None = None,
    check: Check | None = None,
    used_by: Path | None = None,
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
    check : callable, optional
        Refuses another text than the change was to make, instead of going by sections.
    used_by : Path, optional
        The job that uses the file, where it is a shop's or a crankshaft's.

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
    import tomlkit

    def edit(old_text: str) -> str:
        document = tomlkit.parse(old_text)
        change(document)
        return tomlkit.dumps(document)

    kept = partial(check_kept, sections=sections) if check is None else check
    return edit_text(path, edit, check=partial(kept, name=path.name), used_by=used_by)


def edit_text(
    path: Path,
    edit: Callable[[str], str],
    *,
    check: Callable[[str, str], None],
    used_by: Path | None = None,
) -> bool:
    """Change the text of a job file, or of one that a job uses, in one step or not at all.

    Parameters
    ----------
    path : Path
        The job file; a link is followed, the link itself stays.
    edit : callable
        Is given the text, read under the lock, and returns the new one.
    check : callable
        Is given the old and the new text, and raises when something would be lost.
    used_by : Path, optional
        The job that uses the file; left out: the file is the job itself.

    Returns
    -------
    bool
        Whether the file changed.

    Raises
    ------
    NotWrittenError
        If another program holds the file, or the system does not let it be written.
    InputError
        If the file can't be read or changed, or would no longer load.  The file is in every case as it was.
    """
    from tomlkit.exceptions import TOMLKitError

    # through the library's own reading first: its errors have lines and carets
    parse_toml(read_text(path), name=path.name)
    real = path.resolve()
    with locked(real):
        _check_may_be_replaced(real, path)
        old = _raw(real)
        mark = b"\xef\xbb\xbf" if old.startswith(b"\xef\xbb\xbf") else b""
        old_text = old.removeprefix(mark).decode("utf-8")
        try:
            new_text = edit(old_text)
        except TOMLKitError as error:
            raise InputError(f"`{path.name}` can't be changed: {error}", hint=_NOTHING_LOST) from None
        new_text = with_old_line_ends(old_text, new_text)
        if new_text == old_text:
            return False
        check(old_text, new_text)
        _sweep(real)
        _replace(path, real, old=old, new=mark + new_text.encode("utf-8"), used_by=used_by)
    return True


def _raw(real: Path) -> bytes:
    try:
        return real.read_bytes()
    except OSError as error:
        raise InputError(
            f"`{real.name}` can't be read: {error.strerror or error}", hint=_NOTHING_LOST
        ) from None


def with_old_line_ends(old_text: str, new_text: str) -> str:
    """Return the new text with the old one's line ends: each old line its own, a new one as most of the old.

    A file that two editors wrote has both kinds; a change of one entry must not touch the others' lines.
    """
    crlf = old_text.count("\r\n")
    if not crlf:
        return new_text
    usual = "\r\n" if 2 * crlf >= old_text.count("\n") else "\n"
    if crlf == old_text.count("\n"):
        return new_text.replace("\r\n", "\n").replace("\n", "\r\n")
    old = old_text.splitlines(keepends=True)
    new = new_text.splitlines(keepends=True)
    bare_new = [line.rstrip("\r\n") for line in new]
    ends = [usual] * len(new)
    same = difflib.SequenceMatcher(None, [line.rstrip("\r\n") for line in old], bare_new, autojunk=False)
    for block in same.get_matching_blocks():
        for place in range(block.size):
            line = old[block.a + place]
            ends[block.b + place] = line[len(line.rstrip("\r\n")) :] or usual
    if new and not new[-1].endswith("\n"):
        ends[-1] = ""
    return "".join(f"{line}{end}" for line, end in zip(bare_new, ends, strict=True))


def _sweep(real: Path) -> None:
    """Remove unfinished copies that writers left who were killed: under the lock nobody else has one."""
    for left in real.parent.glob(f".{glob.escape(real.name)}.*.new"):
        with contextlib.suppress(OSError):
            left.unlink()


def _replace(path: Path, real: Path, *, old: bytes, new: bytes, used_by: Path | None = None) -> None:
    """Put the new content in the file's place in one step."""
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(dir=real.parent, prefix=f".{real.name}.", suffix=".new")
        write_through(handle, new)
        job = _loaded(Path(temporary), path, real=real, used_by=used_by)
        _look_alike(Path(temporary), real, path)
        if real.read_bytes() != old:
            raise NotWrittenError(
                f"`{path.name}` was changed by another program meanwhile",
                hint=f"{_NOTHING_LOST}; close it in the editor and run the command again",
            )
        os.replace(temporary, real)
        temporary = None
        changed.append(path)
        keep_loaded(job)
        sync(real.parent)
    except NotWrittenError:
        raise
    except OSError as error:
        raise NotWrittenError(
            f"`{path.name}` can't be written: {error.strerror or error}", hint=_NOTHING_LOST
        ) from None
    finally:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)


def _check_may_be_replaced(real: Path, path: Path) -> None:
    """Refuse a file that putting a new one in its place would spoil for others."""
    found = real.stat()
    if not found.st_mode & 0o222:
        raise NotWrittenError(
            f"`{path.name}` can't be written: it is read-only",
            hint=f"{_NOTHING_LOST}; if it is to go on, make it writable (`chmod u+w`), or work on a copy",
        )
    if found.st_nlink > 1 and os.name != "nt":
        raise NotWrittenError(
            f"`{path.name}` has {found.st_nlink} names (hard links): the others would keep the old content",
            hint=f"{_NOTHING_LOST}; work on a copy of it, or make the other name a symbolic link",
        )


def _look_alike(temporary: Path, real: Path, path: Path) -> None:
    """Give the new file mode and group of the old one, and its owner where the system lets that be given."""
    old, new = real.stat(), temporary.stat()
    if hasattr(os, "chown") and (old.st_uid, old.st_gid) != (new.st_uid, new.st_gid):
        with contextlib.suppress(OSError):
            os.chown(temporary, old.st_uid, -1)
        try:
            os.chown(temporary, -1, old.st_gid)
        except OSError:
            if old.st_mode & 0o070:
                raise NotWrittenError(
                    f"`{path.name}` can't be written: its group can't be kept, and others of it could no longer use it",
                    hint=f"{_NOTHING_LOST}; ask whoever looks after this folder",
                ) from None
    # after the owner: giving a file away may take rights from it
    os.chmod(temporary, stat.S_IMODE(old.st_mode))


def _loaded(temporary: Path, path: Path, *, real: Path, used_by: Path | None) -> Job:
    """Return the job that the new text, read at its place, is; or the job that uses it."""
    try:
        return load_job(used_by or path, name=None if used_by else path.name, instead={real: temporary})
    except FileFaultsError as error:
        raise WouldNotLoadError(path.name, error) from None
