"""A job file and the files that it uses, read and checked: a `Job`, or every fault at once."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from planner.errors import Fault, FileFaultsError
from planner.jobfile.faults import Faults
from planner.jobfile.job import Job, JobFiles
from planner.jobfile.places import Places
from planner.jobfile.plausible import Widened, check_sizes, check_together
from planner.jobfile.schema.cuts_build import (
    build_fixed,
    build_former_plans,
    build_made,
    build_plan,
    numbered,
)
from planner.jobfile.schema.engine_build import (
    build_bob_set,
    build_bobs_wanted,
    build_cylinders,
    build_details,
    build_engine,
    build_match,
    build_parts,
)
from planner.jobfile.schema.machine_build import (
    build_machine,
    build_planes,
    build_proof,
)
from planner.jobfile.schema.rotor import CrankshaftSection, PlanesSection, ThrowSection
from planner.jobfile.schema.rotor_build import build_counterweights, build_crankshaft, build_throws
from planner.jobfile.schema.sections import Sections, read_sections, sections_of_text
from planner.jobfile.schema.shop_build import (
    build_drill_names,
    build_errors,
    build_shop,
    build_shop_details,
)
from planner.jobfile.schema.spins_build import (
    build_influence,
    build_known_errors,
    build_mounted,
    build_spins,
    build_trials,
    build_undone,
)
from planner.jobfile.schema.tolerance_build import build_tolerance

GREATEST_SHOWN = 100
"""Faults shown at once."""


def load_job(path: Path, *, name: str | None = None, instead: Mapping[Path, Path] | None = None) -> Job:
    """Read a job file with the shop and crankshaft files that it uses.

    Parameters
    ----------
    path : Path
        The job file; the files under ``[use]`` are relative to it.
    name : str, optional
        What messages call it; its own name if left out.
    instead : mapping, optional
        Files (resolved; the job file too) to those that are read in their stead.

    Returns
    -------
    Job
        Everything checked, in mm, g, g*mm, and degrees of the crankshaft's frame.

    Raises
    ------
    FileFaultsError
        With every fault of all files.
    InputError
        If the job file itself can't be read, or is no TOML.
    """
    faults = Faults()
    sections, used = read_sections(path, faults=faults, name=name, instead=instead)
    return built(sections, faults=faults, files=_files(path, sections, used))


def loads_job(
    text: str, *, folder: str | Path | None = None, instead: Mapping[Path, Path] | None = None
) -> Job:
    """Read a job from a text instead of a file.

    Parameters
    ----------
    text : str
        What a job file would hold.
    folder : str or Path, optional
        Where the files under ``[use]`` are looked for; left out, the current folder.
    instead : mapping, optional
        See `load_job`; such a file need not be there yet.

    Raises
    ------
    FileFaultsError
        With every fault; the text is called ``job text``.
    InputError
        If it is no TOML.
    """
    faults = Faults()
    path = Path(folder or ".") / "job text"
    sections, used = sections_of_text(text, path=path, faults=faults, instead=instead)
    return built(sections, faults=faults, files=_files(path, sections, used))


def built(sections: Sections, *, faults: Faults, files: JobFiles) -> Job:
    """Return the job that sections make.

    Raises
    ------
    FileFaultsError
        With every fault of all files.
    """
    job = _build(sections, files=files)
    if faults.found or job is None:
        raise FileFaultsError(_shortened(faults.found))
    return job


def _files(path: Path, sections: Sections, used: Mapping[str, Path]) -> JobFiles:
    return JobFiles(
        job=path,
        shop=used.get("shop"),
        crankshaft=used.get("crankshaft"),
        machine=sections.source("machine").path,
    )


def _shortened(found: Sequence[Fault]) -> Sequence[Fault]:
    """Return the first faults and how many more there are: a wall of text helps nobody."""
    if len(found) <= GREATEST_SHOWN:
        return found
    more = len(found) - GREATEST_SHOWN
    return [
        *found[:GREATEST_SHOWN],
        Fault(path="", given="", allowed=f"and {more} more", file=found[-1].file),
    ]


def _build(sections: Sections, *, files: JobFiles) -> Job | None:
    """Return the job; None when a part of it has faults, which are then all noted."""
    notes: list[str] = []
    shop = build_shop(sections, notes=notes)
    rotor = sections.table("crankshaft", CrankshaftSection)
    planes_section = sections.table("planes", PlanesSection)
    throw_sections = sections.array("throws", ThrowSection)
    machine = build_machine(sections, throw_sections, planes_section)
    planes = build_planes(sections, planes_section, rotor, notes=notes)
    places = Places(sections, machine)
    throws = build_throws(places, throw_sections)
    counterweights = build_counterweights(places, shop, notes=notes)
    crankshaft = build_crankshaft(
        places, rotor, throws=throws, counterweights=counterweights, shop=shop, notes=notes
    )
    tolerance = build_tolerance(sections, rotor)
    parts = build_parts(sections)
    wanted = build_bobs_wanted(sections, parts, throws, notes=notes)
    count = len(sections.raw("spins")) if isinstance(sections.raw("spins"), list) else 0
    # what trial runs came to stands before the first spin and has the number 0
    first = 0 if sections.raw("trials") else 1
    # each is built, whatever is wrong elsewhere: all faults are noted
    others: dict[str, Any] = {
        "spins": build_spins(sections, throws, machine),
        **build_proof(sections),
        "mounted": build_mounted(places),
        "known_errors": build_known_errors(sections),
        "cuts_made": build_made(places, shop, first=first, spins=count),
        "fixed_cuts": build_fixed(places, shop),
        "stored_plan": build_plan(places, shop, first=first, spins=count),
        "former_plans": build_former_plans(places, shop),
        "details": build_details(sections),
        "engine": build_engine(sections),
        "cylinders": build_cylinders(sections),
        "match": build_match(sections, parts),
        "bob_set": build_bob_set(sections),
        "trials": build_trials(sections, throws),
        "influence": build_influence(sections, machine),
        "errors": build_errors(sections, machine),
        "undone": build_undone(sections),
        "drill_names": build_drill_names(sections, notes=notes),
        "shop_details": build_shop_details(sections),
    }
    widened = Widened(sections)
    questions = check_sizes(sections, widened)
    questions += check_together(
        sections, widened, crankshaft=crankshaft, planes_z_mm=planes, shop=shop, parts=parts, wanted_g=wanted
    )
    if machine is None or planes is None or crankshaft is None:
        return None
    job = Job(
        files=files,
        units=sections.job.units,
        machine=machine,
        planes_z_mm=planes,
        crankshaft=crankshaft,
        shop=shop,
        tolerance=tolerance,
        parts=parts,
        bobs_wanted_g=wanted,
        notes=tuple(notes),
        questions=questions,
        plausible=widened,
        sections=sections,
        **others,
    )
    return dataclasses.replace(job, cuts_made=numbered(job.cuts_made, used=job.numbers_used))


def file_of(job: Job, section: str) -> Path:
    """Return the file that a section stands in; the job's own where none has it."""
    sections = job.sections or read_sections(job.files.job, faults=Faults())[0]
    return sections.source(section).path if section in sections else job.files.job
