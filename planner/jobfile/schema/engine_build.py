"""The engine round the crankshaft: layout, cylinders, weighed parts, the bobs that it wants."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from pydantic import ValidationError

from planner.engine.parts import STANDARD_PARTS, Part, PartSet, bobs, part
from planner.errors import InputError
from planner.jobfile.faults import did_you_mean, listed
from planner.jobfile.job import BobPiece, BobSetEntry, CylinderEntry, EngineEntry, JobDetails, MatchEntry
from planner.jobfile.schema.engine import (
    USUAL_ROTATION,
    BobPieceSection,
    BobSetSection,
    CylinderSection,
    EngineSection,
    FractionSection,
    JobSection,
    MatchSection,
    OtherPartSection,
)
from planner.jobfile.schema.sections import Sections, Where
from planner.jobfile.schema.spins import BobsSection
from planner.rotor.crankshaft import Throw


def build_details(sections: Sections) -> JobDetails:
    """Return ``[job]``."""
    section = sections.table("job", JobSection)
    return section.record(JobDetails) if section else JobDetails()


def build_engine(sections: Sections) -> EngineEntry:
    """Return ``[engine]``."""
    section = sections.table("engine", EngineSection)
    if section is None:
        return EngineEntry()
    known = set(sections.names("cylinders")) or set(_hanging(sections))
    # fewer cylinders than the firing order names are an engine not entered in full, no slip of the pen
    for index, name in enumerate(section.firing_order):
        place = sections.at("engine", "firing_order", index)
        if name in section.firing_order[:index]:
            place.fault(given=name, allowed="every cylinder fires once in a cycle")
        elif name not in known and len(known) >= len(section.firing_order):
            allowed = f"there is no such cylinder; there are {listed(sorted(known))}"
            place.fault(given=name, allowed=allowed)
    return section.record(EngineEntry, rotation=section.rotation or USUAL_ROTATION)


def _hanging(sections: Sections) -> dict[str, str]:
    """Return cylinder -> throw as the throws state it, faulty ones included."""
    raw = sections.raw("throws")
    return {
        str(cylinder): str(throw.get("name"))
        for throw in (raw if isinstance(raw, list) else ())
        if isinstance(throw, Mapping) and isinstance(throw.get("cylinders"), list)
        for cylinder in throw["cylinders"]
    }


def build_cylinders(sections: Sections) -> tuple[CylinderEntry, ...]:
    """Return ``[[cylinders]]``."""
    sections.check_unique("cylinders", noun="cylinder")
    cylinders = []
    hanging = _hanging(sections)
    for each in sections.array("cylinders", CylinderSection):
        entry = each.entry
        each.check_name("throw", name=entry.throw, of="throws", noun="throw")
        stated = hanging.get(entry.name)
        if stated is not None and stated != entry.throw:
            allowed = f"throw `{stated}` names this cylinder among its own; it hangs on one throw only"
            each.fault("throw", given=entry.throw, allowed=allowed)
        if entry.rod_length_mm is not None and abs(entry.offset_mm) >= entry.rod_length_mm:
            each.fault("offset", allowed="the pin's offset must be below the rod's length")
        cylinders.append(entry.record(CylinderEntry))
    return tuple(cylinders)


def build_parts(sections: Sections) -> PartSet | None:
    """Return the weighed parts; None when there is no ``[parts]``, or when it has faults."""
    raw, where = sections.raw("parts"), sections.at("parts")
    if raw is None:
        return None
    if not isinstance(raw, Mapping):
        where.fault(given=raw, allowed="a table is wanted here, [parts]")
        return None
    said = {key: raw[key] for key in raw if key == "reciprocating_fraction"}
    fraction = FractionSection().reciprocating_fraction
    try:
        fraction = FractionSection.model_validate(said).reciprocating_fraction
    except ValidationError as error:
        where.invalid(error, FractionSection)
    parts = [_part(where, name, value) for name, value in raw.items() if name != "reciprocating_fraction"]
    sound = [each for each in parts if each is not None]
    if "parts" in sections.faulty:
        return None
    if not sound:
        where.fault(allowed=f"no part is named; parts are {listed(STANDARD_PARTS)}")
        return None
    return PartSet(parts=tuple(sound), reciprocating_fraction=fraction)


def _part(where: Where, name: str, value: Any) -> Part | None:
    if name not in STANDARD_PARTS and not isinstance(value, Mapping):
        known = (*STANDARD_PARTS, "reciprocating_fraction")
        other = (
            f'another part says all of it: {name} = {{ mass = .., per = "cylinder", motion = "rotating" }}'
        )
        where.fault(
            name,
            given=value,
            allowed=f"there is no such part; parts are {listed(STANDARD_PARTS)}",
            hint=did_you_mean(name, known) or other,
        )
        return None
    table = value if isinstance(value, Mapping) else {"mass": value}
    try:
        entry = OtherPartSection.model_validate(table, context=where.units)
    except ValidationError as error:
        _note(where.at(name), error, value)
        return None
    try:
        return part(name, entry.mass_g, per=entry.per, motion=entry.motion)
    except InputError as error:
        where.error(error, name)
        return None


def _note(where: Where, error: ValidationError, value: object) -> None:
    """Note the faults of a part at its own key: a bare number or list has no key ``mass`` in the file."""
    found = where.sections.faults.found
    before = len(found)
    where.invalid(error, OtherPartSection)
    if isinstance(value, Mapping):
        return
    for index in range(before, len(found)):
        path = found[index].path.replace(f"{where.path}.mass", where.path)
        path = path if isinstance(value, list) else path.removesuffix("[1]")
        found[index] = replace(found[index], path=path)


def build_bobs_wanted(
    sections: Sections, parts: PartSet | None, throws: Sequence[Throw], *, notes: list[str]
) -> dict[str, float] | None:
    """Return the bob that the engine wants, per throw [g]; None when no file says so, or when it has faults."""
    section, where = sections.table("bobs", BobsSection), sections.at("bobs", "wanted")
    stated = {throw.name: throw.bob_wanted_g for throw in throws if throw.bob_wanted_g is not None}
    if section is not None:
        table = per_throw(where, section.wanted, throws)
        for mass in set(table.values()):
            if mass <= 0.0:
                where.fault(given=mass, allowed="a wanted bob is more than 0")
        for name in stated:
            where.fault(allowed=f"throw `{name}` has a bob_wanted of its own; say it in one place")
        return table
    if not throws or "throws" in sections.faulty or "parts" in sections.faulty:
        return None
    if parts is None:
        if not stated:
            return None
        missing = [throw.name for throw in throws if throw.name not in stated]
        if missing:
            sections.at("throws").fault(
                allowed=f"bob_wanted is said for some throws, but not for {listed(missing)}",
                hint="say it for all of them, or weigh the parts",
            )
            return None
        return stated
    try:
        table_of_bobs = bobs(parts, throws=throws)
        notes.extend(table_of_bobs.notes)
        return table_of_bobs.wanted_g()
    except InputError as error:
        sections.at("parts").error(error)
        return None


def per_throw(where: Where, bobs_g: float | Mapping[str, float], throws: Sequence[Throw]) -> dict[str, float]:
    """Return one mass per throw [g]; throws that are unknown or left out are noted."""
    names = [throw.name for throw in throws]
    if not isinstance(bobs_g, Mapping):
        return dict.fromkeys(names, bobs_g)
    for name in bobs_g:
        where.check_name(name, name=name, of="throws", noun="throw")
    left_out = [name for name in where.sections.names("throws") if name not in bobs_g]
    if left_out:
        where.fault(allowed=f"what was on throw {listed(left_out)} must be said too; 0 = bare")
    return {name: bobs_g.get(name, 0.0) for name in names}


def build_match(sections: Sections, parts: PartSet | None) -> MatchEntry:
    """Return ``[match]``."""
    section = sections.table("match", MatchSection)
    if section is None:
        return MatchEntry()
    known = [each.name for each in parts.parts] if parts else list(STANDARD_PARTS)
    for name in section.greatest_removal_g:
        if name not in known:
            allowed = f"there is no such part; there are {listed(known)}"
            hint = did_you_mean(name, known)
            sections.at("match", "greatest_removal", name).fault(allowed=allowed, hint=hint)
    return section.record(MatchEntry)


def build_bob_set(sections: Sections) -> BobSetEntry | None:
    """Return ``[bob_set]``; a piece without a name is called by its weight."""
    section = sections.table("bob_set", BobSetSection)
    if section is None:
        return None
    if not section.bodies:
        sections.at("bob_set", "bodies").fault(allowed="at least one body is wanted, a bob begins with it")
    units = sections.units("bob_set")

    def pieces(kind: Sequence[BobPieceSection]) -> tuple[BobPiece, ...]:
        return tuple(
            each.record(BobPiece, name=each.name or units.text(each.weight_g, "mass")) for each in kind
        )

    return BobSetEntry(
        bodies=pieces(section.bodies), plates=pieces(section.plates), washers=pieces(section.washers)
    )
