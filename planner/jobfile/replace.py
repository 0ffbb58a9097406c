"""A job with some of its values changed, each said as the file would say it and checked like the file."""

from __future__ import annotations

import copy
import dataclasses
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from planner.errors import InputError
from planner.frames import SIDES
from planner.jobfile.faults import Faults, did_you_mean, listed
from planner.jobfile.job import Job
from planner.jobfile.read import built
from planner.jobfile.schema.base import Section
from planner.jobfile.schema.engine import JobSection, MatchSection
from planner.jobfile.schema.rotor import CrankshaftSection, PlanesSection
from planner.jobfile.schema.sections import ARRAYS, TABLES, Sections
from planner.jobfile.schema.shop import ErrorsSection, ShopSection
from planner.jobfile.schema.spins import MachineSection
from planner.jobfile.schema.tolerance_build import WAYS, ToleranceSection

_MODELS: Mapping[str, type[Section]] = {
    "shop": ShopSection,
    "tolerance": ToleranceSection,
    "machine": MachineSection,
    "crankshaft": CrankshaftSection,
    "planes": PlanesSection,
    "errors": ErrorsSection,
    "match": MatchSection,
    "job": JobSection,
}
_SPIN = ("left", "right", "bobs", "speed_rpm", "mounted")


def replaced(job: Job, changes: Mapping[str, object]) -> Job:
    """Return a job as if its files said something else; see `Job.replace`."""
    if job.sections is None:
        raise InputError(
            "this job was not read from a text", hint="change one that `load_job` or `loads_job` gave"
        )
    sections, faults = _copied(job.sections)
    for name, value in changes.items():
        _change(sections, name, value)
    return built(sections, faults=faults, files=job.files)


def _copied(sections: Sections) -> tuple[Sections, Faults]:
    """Return sections of their own with contents that may be changed."""
    faults = Faults()
    sources = [dataclasses.replace(each, data=copy.deepcopy(dict(each.data))) for each in sections.sources]
    return Sections(sources[0], sources[1:], faults=faults, complete=sections.complete), faults


def _change(sections: Sections, name: str, value: object) -> None:
    value = _plain(value)
    if name == "tolerance" and isinstance(value, str):
        way = "grade" if value.strip().upper().startswith("G") else "each_side"
        there = sections.raw("tolerance")
        rest = {key: each for key, each in (there or {}).items() if key not in WAYS}
        sections.put("tolerance", {**rest, way: value})
    elif name in _SPIN and not (name == "mounted" and isinstance(value, list) and _tables(value)):
        _spin(sections, name, value)
    elif name in TABLES:
        if not isinstance(value, Mapping):
            raise InputError(f"replace({name}=...): given {value!r}, a mapping of its keys is wanted")
        there = sections.raw(name)
        merged = dict(there) if isinstance(there, Mapping) else {}
        merged.update(value)
        # a key that is given as None is left out of the file
        sections.put(name, {key: each for key, each in merged.items() if each is not None})
    elif name in ARRAYS:
        if not isinstance(value, list) or not _tables(value):
            raise InputError(f"replace({name}=...): given {value!r}, a list of mappings is wanted")
        sections.put(name, value)
    else:
        section = _section_with(name)
        _change(sections, section, {name: value})


def _section_with(key: str) -> str:
    """Return the one table that has a key."""
    found = [section for section, model in _MODELS.items() if key in _keys(model)]
    if len(found) == 1:
        return found[0]
    if not found:
        known = sorted(
            {each for model in _MODELS.values() for each in _keys(model)} | {*_SPIN, *TABLES, *ARRAYS}
        )
        raise InputError(
            f"replace({key}=...): there is no such key or section",
            hint=did_you_mean(key, known) or f"the sections are {listed(sorted((*TABLES, *ARRAYS)))}",
        )
    raise InputError(
        f"replace({key}=...): this key stands in {listed(found)}",
        hint=f'say which: replace({found[0]}={{"{key}": ...}})',
    )


def _keys(model: type[Section]) -> set[str]:
    return {field.alias or name for name, field in model.model_fields.items()}


def _spin(sections: Sections, name: str, value: object) -> None:
    """Change the newest spin; the first change of a job without spins makes one."""
    spins = list(sections.raw("spins") or [])
    if not spins:
        spins = [{}]
    newest = dict(spins[-1])
    if name in SIDES:
        if not isinstance(value, Mapping):
            if not isinstance(value, list) or len(value) != 2:
                raise InputError(
                    f"replace({name}=...): given {value!r}, (amount, angle) is wanted",
                    hint=f"as the display shows them, for example replace({name}=(3480, 214))",
                )
            value = {"amount": value[0], "angle": value[1]}
        # a reading that is asked about is confirmed for its own numbers only
        newest.pop("as_read", None)
        newest.pop("spot_seen", None)
    newest[name] = value
    sections.put("spins", [*spins[:-1], newest])


def _tables(value: Sequence[object]) -> bool:
    return all(isinstance(each, Mapping) for each in value)


def _plain(value: object) -> Any:
    """Return a value as a TOML file could hold it: tuples and arrays become lists, numbers of numpy plain ones."""
    if isinstance(value, Mapping):
        return {str(key): _plain(each) for key, each in value.items()}
    if isinstance(value, str | bool | int | float) or value is None:
        return value
    if isinstance(value, Path):
        return str(value)
    if hasattr(value, "tolist"):
        return _plain(value.tolist())
    if isinstance(value, Sequence):
        return [_plain(each) for each in value]
    return value
