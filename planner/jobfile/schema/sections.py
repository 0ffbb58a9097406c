"""The sections of a job's files, put together: whose section counts, and each checked on its own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Generic, TypeVar

from pydantic import ValidationError

from planner.errors import InputError
from planner.jobfile.faults import Faults, did_you_mean, key_path, listed, value_at
from planner.jobfile.schema.base import Section, shown
from planner.jobfile.schema.engine import UseSection
from planner.jobfile.shop_folders import VARIABLE, may_use
from planner.jobfile.sources import Source, SyntaxFaultError, parse_toml, read_text, sum_of
from planner.quantity import UnitSystem

S = TypeVar("S", bound=Section)

ARRAYS = (
    "throws",
    "cylinders",
    "counterweights",
    "mounted",
    "oil_drillings",
    "webs",
    "journals",
    "spins",
    "trials",
    "known_errors",
    "fixed_cuts",
    "cuts_made",
    "former_plans",
    "undone",
)
TABLES = (
    "use",
    "job",
    "units",
    "machine",
    "planes",
    "engine",
    "crankshaft",
    "tolerance",
    "shop",
    "shop_details",
    "errors",
    "parts",
    "bobs",
    "match",
    "bob_set",
    "influence",
    "plausible",
    "plan",
    "proof",
)
JOB_ONLY = ("use", "job", "spins", "trials", "plan", "former_plans", "proof", "cuts_made", "undone")
"""Sections that belong to one crankshaft on the machine: they stand in the job file alone."""

FORMAT = 1


class UnitsSection(Section):
    """``[units]``: for the bare numbers of its file."""

    length: str = "mm"
    mass: str = "g"
    unbalance: str = "g*mm"


class Where:
    """A place in a job's files: a section, a table in it or one of its keys.

    What is wrong is noted by the keys that lead on from here, an int for a place in a list (0 = first).
    """

    def __init__(self, sections: Sections, section: str, *location: str | int) -> None:
        self.sections = sections
        self.section = section
        self.location = location

    def at(self, *keys: str | int) -> Where:
        """Return a place inside this one."""
        return Where(self.sections, self.section, *self.location, *keys)

    @property
    def units(self) -> UnitSystem:
        """The units of the bare numbers here."""
        return self.sections.units(self.section)

    @property
    def path(self) -> str:
        """The key path as a person would write it."""
        return key_path(self.section, self.location, self.sections.raw(self.section))

    def fault(self, *keys: str | int, allowed: str, given: object = None, hint: str = "") -> None:
        """Note a fault; ``given`` is the value, left out: the one that stands there, if it is no table."""
        sections, there = self.sections, self.at(*keys)
        sections.faulty.add(self.section)
        if given is None:
            value = value_at(sections.raw(self.section), there.location)
            given = None if isinstance(value, Mapping | list) else value
        sections.faults.add(
            path=there.path,
            given="" if given is None else shown(given),
            allowed=allowed,
            hint=hint,
            file=sections.source(self.section).name,
        )

    def error(self, error: InputError, *keys: str | int) -> None:
        """Note an error of the library as a fault."""
        self.sections.faulty.add(self.section)
        file = self.sections.source(self.section).name
        self.sections.faults.add_error(error, path=self.at(*keys).path, file=file)

    def invalid(self, error: ValidationError, model: type[Section]) -> None:
        """Note every fault that pydantic found in what stands here."""
        self.sections.faulty.add(self.section)
        self.sections.faults.add_validation(
            error,
            model=model,
            section=self.section,
            place=self.location,
            data=self.sections.raw(self.section),
            file=self.sections.source(self.section).name,
        )

    def check_name(self, *keys: str | int, name: str, of: str, noun: str, given: object = None) -> bool:
        """Note a fault unless a table of the array ``of`` has that name."""
        names = self.sections.names(of)
        if name in names:
            return True
        if self.sections.complete or of in self.sections:
            others = f"there is no such {noun}; there are {listed(names)}"
            allowed = others if names else f"there is no {noun}"
            hint = did_you_mean(name, names)
            self.fault(*keys, given=name if given is None else given, allowed=allowed, hint=hint)
        return False


class Placed(Where, Generic[S]):
    """A table of an array of tables that was read without a fault: what it says, and its index there (0 = first)."""

    def __init__(self, sections: Sections, section: str, index: int, entry: S) -> None:
        super().__init__(sections, section, index)
        self.index = index
        self.entry = entry


class Sections:
    """What stands in a job's files, section by section; every fault goes into ``faults``.

    Parameters
    ----------
    job, others : Source
        The job file, and the files that it uses, the nearer one first.
    faults : Faults
        Where faults are noted.
    complete : bool
        False when a used file could not be read: then a section that is missing is no fault of its own.
    """

    def __init__(self, job: Source, others: Sequence[Source], *, faults: Faults, complete: bool) -> None:
        self.job = job
        self.faults = faults
        self.complete = complete
        self.faulty: set[str] = set()
        self.sources = (job, *others)
        self._owner: dict[str, Source] = {}
        for source in self.sources:
            for section in source.data:
                self._owner.setdefault(section, source)

    def __contains__(self, section: str) -> bool:
        return section in self._owner

    def raw(self, section: str) -> Any:
        """Return a section as it stands in its file, None when no file has it."""
        return self._owner[section].data[section] if section in self._owner else None

    def source(self, section: str) -> Source:
        """Return the file that a section stands in; the job file when none has it."""
        return self._owner.get(section, self.job)

    def put(self, section: str, value: object) -> None:
        """Let a section hold another value, in the file that has it (else in the job file); for contents of one's own."""
        owner = self.source(section)
        assert isinstance(owner.data, dict)
        owner.data[section] = value
        self._owner[section] = owner

    def units(self, section: str) -> UnitSystem:
        """Return the units of a section's bare numbers."""
        return self.source(section).units

    def at(self, section: str, *location: str | int) -> Where:
        """Return a place in a section, to note what is wrong there."""
        return Where(self, section, *location)

    def missing(self, section: str, why: str, *, hint: str = "") -> None:
        """Note that a section is missing, unless it may stand in a file that could not be read."""
        if self.complete and section not in self._owner:
            name = f"[[{section}]]" if section in ARRAYS else f"[{section}]"
            self.faults.add(path=name, allowed=why, hint=hint, file=self.job.name)

    def table(self, section: str, model: type[S]) -> S | None:
        """Return a section that is one table; None when it is absent or has faults."""
        raw = self.raw(section)
        if raw is None:
            return None
        return self._validated(self.at(section), raw, model)

    def array(self, section: str, model: type[S]) -> tuple[Placed[S], ...]:
        """Return those tables of an array of tables that have no faults."""
        raw = self.raw(section)
        if raw is None:
            return ()
        if not isinstance(raw, list):
            hint = f"write [[{section}]], with two brackets, before each one"
            self.at(section).fault(given=raw, allowed="a list of tables is wanted here", hint=hint)
            return ()
        checked = [self._validated(self.at(section, index), each, model) for index, each in enumerate(raw)]
        return tuple(
            Placed(self, section, index, entry) for index, entry in enumerate(checked) if entry is not None
        )

    def names(self, section: str) -> tuple[str, ...]:
        """Return the names that the tables of an array bear, faulty tables included."""
        raw = self.raw(section)
        tables = raw if isinstance(raw, list) else []
        names = [each.get("name") for each in tables if isinstance(each, Mapping)]
        return tuple(
            str(name) for name in names if isinstance(name, str | int) and not isinstance(name, bool)
        )

    def check_unique(self, section: str, *, noun: str) -> None:
        """Note a fault for every table of an array whose name an earlier one has."""
        raw = self.raw(section)
        seen: dict[str, int] = {}
        for index, each in enumerate(raw if isinstance(raw, list) else ()):
            name = each.get("name") if isinstance(each, Mapping) else None
            if not isinstance(name, str | int) or isinstance(name, bool):
                continue
            first = seen.setdefault(str(name), index)
            if first != index:
                allowed = f"every {noun} needs a name of its own; {section}[{first + 1}] has this one"
                self.at(section, index, "name").fault(given=name, allowed=allowed)

    def _validated(self, where: Where, raw: Any, model: type[S]) -> S | None:
        try:
            return model.model_validate(raw, context=where.units)
        except ValidationError as error:
            where.invalid(error, model)
            return None


def read_sections(
    path: Path, *, faults: Faults, name: str | None = None, instead: Mapping[Path, Path] | None = None
) -> tuple[Sections, dict[str, Path]]:
    """Read a job file and the files that it uses.

    Parameters
    ----------
    path : Path
        The job file.
    faults : Faults
        Where faults are noted.
    name : str, optional
        What messages call the job file.
    instead : mapping, optional
        Files (resolved; the job file too) to those that are read in their stead: a new text, checked before it takes its
        place.

    Returns
    -------
    sections : Sections
        What stands in them.
    used : dict
        ``shop`` and ``crankshaft`` to their paths, as far as they are named.

    Raises
    ------
    InputError
        If the job file itself can't be read.
    """
    called = name or path.name
    text_of = instead.get(path.resolve(), path) if instead else path
    return _with_used_files(
        path, read_text(text_of, name=name), called=called, faults=faults, instead=instead or {}
    )


def sections_of_text(
    text: str, *, path: Path, faults: Faults, instead: Mapping[Path, Path] | None = None
) -> tuple[Sections, dict[str, Path]]:
    """Read a job that is no file, as if it stood at ``path``; see `read_sections`."""
    return _with_used_files(path, text, called=path.name, faults=faults, instead=instead or {})


def _with_used_files(
    path: Path, text: str, *, called: str, faults: Faults, instead: Mapping[Path, Path]
) -> tuple[Sections, dict[str, Path]]:
    job = _source(path, name=called, text=text, faults=faults)
    _check_format(job, needed=True, faults=faults)
    others: list[Source] = []
    used = dict(_used(job, faults))
    complete = True
    # a crankshaft's file is nearer to the job than the shop's
    for kind in ("crankshaft", "shop"):
        file = job.data["use"][kind] if kind in used else ""
        if not file:
            continue
        try:
            text_of = instead.get(used[kind].resolve(), used[kind])
            source = _source(used[kind], name=file, text=read_text(text_of, name=file), faults=faults)
        except InputError as error:
            complete = False
            broken = isinstance(error, SyntaxFaultError)
            faults.add(
                path="" if broken else f"use.{kind}",
                allowed=error.message,
                hint=error.hint or "",
                file=file if broken else job.name,
            )
            continue
        _check_format(source, needed=False, faults=faults)
        for section in JOB_ONLY:
            if section in source.data:
                faults.add(path=section, allowed="this section stands in the job file only", file=file)
        others.append(source)
    return Sections(job, others, faults=faults, complete=complete), used


def _source(path: Path, *, name: str, text: str, faults: Faults) -> Source:
    """Return a file with its units, its unknown sections noted.

    Raises
    ------
    InputError
        If the text is no TOML.
    """
    data = parse_toml(text, name=name)
    known = (*TABLES, *ARRAYS)
    for section, value in data.items():
        if section in known or section == "format":
            continue
        hint = did_you_mean(section, known)
        if not hint and not isinstance(value, dict | list):
            hint = "a key belongs below the [section] that it is part of"
        faults.add(
            path=key_path("", (section,), {}),
            given=shown(value) if not isinstance(value, dict | list) else "",
            allowed="there is no such section",
            hint=hint or f"the sections are {listed(sorted(known))}",
            file=name,
        )
    units = _units(data, name=name, faults=faults)
    return Source(name=name, path=path, data=data, units=units, sum=sum_of(text))


def _units(data: dict[str, Any], *, name: str, faults: Faults) -> UnitSystem:
    raw = data.get("units", {})
    try:
        section = UnitsSection.model_validate(raw)
    except ValidationError as error:
        faults.add_validation(error, model=UnitsSection, section="units", place=(), data=raw, file=name)
        return UnitSystem()
    units: dict[str, str] = {}
    for key, text in section.model_dump().items():
        try:
            UnitSystem(**{key: text})
        except InputError as error:
            faults.add_error(error, path=f"units.{key}", file=name)
        else:
            units[key] = text
    return UnitSystem(**units)


def _check_format(source: Source, *, needed: bool, faults: Faults) -> None:
    given = source.data.get("format")
    if given is None:
        if needed:
            faults.add(
                path="format",
                allowed="must be said, it is missing",
                hint=f"write `format = {FORMAT}` as the first line of the job file",
                file=source.name,
            )
    elif isinstance(given, bool) or given != FORMAT:
        faults.add(
            path="format",
            given=shown(given),
            allowed=f"this program reads format {FORMAT}",
            hint="a file of a later format needs a later program" if isinstance(given, int) else "",
            file=source.name,
        )


def _used(job: Source, faults: Faults) -> Iterator[tuple[str, Path]]:
    """Yield the files that the job uses, relative to itself."""
    raw = job.data.get("use")
    if raw is None:
        return
    try:
        section = UseSection.model_validate(raw, context=job.units)
    except ValidationError as error:
        faults.add_validation(error, model=UseSection, section="use", place=(), data=raw, file=job.name)
        return
    # "relative to itself" means the file, not a link to it
    folder = job.path.resolve().parent if job.path.is_symlink() else job.path.parent
    for kind, name in (("shop", section.shop), ("crankshaft", section.crankshaft)):
        if name is None:
            continue
        path = folder / name if name.strip() and "\0" not in name else None
        hint = ""
        if path is None:
            wrong = "the name of a file, relative to the job file, is wanted"
            hint = f"leave `{kind}` out when there is none"
        elif path.resolve() == job.path.resolve():
            wrong = "this is the job file itself"
        elif not may_use(path, job_folder=folder):
            wrong = (
                "files of the job's own folder, of folders below it, and of the shop's folders may be used"
            )
            hint = f"move it there, or state the shop's folder once: {VARIABLE}=/folder/of/the/shop"
        else:
            yield kind, path
            continue
        faults.add(path=f"use.{kind}", given=shown(name), allowed=wrong, hint=hint, file=job.name)
