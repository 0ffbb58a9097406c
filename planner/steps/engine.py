"""The engine that is meant: a layout of the catalogue, a job's throws with a layout's banks, or its own cylinders."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from planner.engine.engine import (
    Engine,
    EngineCylinder,
    Rotation,
    custom_engine,
    engine_from_layout,
    engine_from_throws,
    match_layout,
    sense_of,
)
from planner.engine.layouts import Layout, layout
from planner.engine.parts import masses_per_cylinder_g
from planner.errors import InputError
from planner.jobfile.job import Job
from planner.records import dataclass
from planner.rotor.crankshaft import Throw

USUAL_RATIO = 3.5
"""Rod length over throw radius where nothing is said (common practice: 3 to 4)."""


@dataclass(frozen=True, kw_only=True)
class EngineWishes:
    """What was typed for `bobplan engine`; None or empty where nothing was.

    Lengths [mm], masses [g] per cylinder, speed [rpm], ``reference_axis_deg`` counter-clockwise from the front.
    ``revolutions`` are turns of a working cycle, 2 or 1.
    """

    layout: str | None = None
    rotation: str | None = None
    firing_order: tuple[str, ...] = ()
    revolutions: int = 2
    reciprocating_g: float | None = None
    radius_mm: float | None = None
    rod_length_mm: float | None = None
    rod_ratio: float | None = None
    spacing_mm: float | None = None
    rods_apart_mm: float | None = None
    speed_rpm: float | None = None
    fraction: float | None = None
    weights: tuple[float, float] = (1.0, 1.0)
    reference_axis_deg: float | None = None


@dataclass(frozen=True, kw_only=True)
class BuiltEngine:
    """An engine and what is known of it.

    ``unit_gmm`` and ``spacing_mm`` are None when mass, radius or spacing are not known; ``masses_known`` says that the
    engine's masses are grams.  ``firing_order`` is the one to check, empty when none is known.
    """

    engine: Engine
    layout_name: str | None
    firing_order: tuple[str, ...]
    unit_gmm: float | None
    spacing_mm: float | None
    masses_known: bool
    notes: tuple[str, ...]
    warnings: tuple[str, ...]


def build_engine(job: Job | None, wishes: EngineWishes) -> BuiltEngine:
    """Return the engine.

    Raises
    ------
    InputError
        See `planner.steps.engine_forces.engine_answer`.
    """
    if wishes.rod_length_mm is not None and wishes.rod_ratio is not None:
        raise InputError(
            "given both --rod-length and --ratio", hint="one says the other, once the throw radius is known"
        )
    return _from_catalogue(wishes) if job is None else _from_job(job, wishes)


def _rotation(text: str) -> Rotation:
    sense_of(text)
    return "cw" if text == "cw" else "ccw"


def _from_catalogue(wishes: EngineWishes) -> BuiltEngine:
    if wishes.layout is None:
        raise InputError("no engine is named", hint="name a job, or a layout: `bobplan engine --list`")
    found = layout(wishes.layout)
    notes: list[str] = []
    ratio = wishes.rod_ratio
    if wishes.rod_length_mm is not None:
        if wishes.radius_mm is None:
            raise InputError(
                "--rod-length needs --radius too",
                hint="or give their ratio: `--ratio 3.5` (rod over throw radius)",
            )
        ratio = wishes.rod_length_mm / wishes.radius_mm
    if ratio is None:
        ratio = USUAL_RATIO
        notes.append(f"rod length over throw radius is not given: {USUAL_RATIO:g} is taken")
    apart = 0.0
    if wishes.rods_apart_mm:
        if wishes.spacing_mm is None:
            raise InputError("--rods-apart needs --spacing too", hint="the distance of neighbouring throws")
        apart = wishes.rods_apart_mm / wishes.spacing_mm
    engine = engine_from_layout(
        found, rotation=_rotation(wishes.rotation or "cw"), rod_ratio=ratio, rods_apart=apart
    )
    if wishes.reference_axis_deg is not None:
        engine = replace(engine, reference_axis_deg=wishes.reference_axis_deg)
    unit = None
    if wishes.reciprocating_g is not None and wishes.radius_mm is not None:
        unit = wishes.reciprocating_g * wishes.radius_mm
    elif (wishes.reciprocating_g is None) != (wishes.radius_mm is None):
        notes.append(
            "for newtons --reciprocating-mass, --radius and --speed are needed, for N*m --spacing too"
        )
    return BuiltEngine(
        engine=engine,
        layout_name=found.name,
        firing_order=wishes.firing_order or found.firing_order,
        unit_gmm=unit,
        spacing_mm=wishes.spacing_mm,
        masses_known=False,
        notes=tuple(notes),
        warnings=(),
    )


def _from_job(job: Job, wishes: EngineWishes) -> BuiltEngine:
    if wishes.radius_mm is not None or wishes.spacing_mm is not None:
        raise InputError(
            "--radius and --spacing are for a layout without a job; the job's throws say both",
            hint="leave them out, or leave the job out",
        )
    rotation = _rotation(wishes.rotation or job.engine.rotation)
    axis = job.engine.reference_axis_deg if wishes.reference_axis_deg is None else wishes.reference_axis_deg
    name = wishes.layout or job.engine.layout
    notes: list[str] = []
    warnings: list[str] = []
    if job.cylinders and wishes.layout is None:
        throws = _hang_own(job)
        masses = _masses(job, throws, wishes)
        cylinders = _own_cylinders(job, throws, masses, wishes, notes)
        name = None
        engine = custom_engine(throws=throws, cylinders=cylinders, rotation=rotation, reference_axis_deg=axis)
    elif name is not None:
        found = layout(name)
        name = found.name
        throws = _hang_layout(job, found, rotation)
        engine = _with_banks(job, found, throws, rotation, axis, wishes, notes, warnings)
    else:
        raise InputError(
            "the job says neither a layout nor its cylinders",
            hint='add `layout = ".."` under [engine] (`bobplan engine --list` shows them), or [[cylinders]], or give '
            "--layout",
        )
    if not engine.unit_gmm > 0.0:
        raise InputError(
            "[parts] has no reciprocating mass, so there is nothing that shakes",
            hint="weigh piston, pin, rings, clips and rod small ends, or give --reciprocating-mass",
        )
    known = job.parts is not None or wishes.reciprocating_g is not None
    if not known:
        notes.append(
            "no masses are known: all cylinders are taken alike; [parts] or --reciprocating-mass give newtons"
        )
    return BuiltEngine(
        engine=engine,
        layout_name=name,
        firing_order=wishes.firing_order or job.engine.firing_order,
        unit_gmm=engine.unit_gmm if known else None,
        spacing_mm=engine.spacing_mm,
        masses_known=known,
        notes=tuple(notes),
        warnings=tuple(warnings),
    )


def _masses(job: Job, throws: Sequence[Throw], wishes: EngineWishes) -> dict[str, tuple[float, float]]:
    """Return (reciprocating, rotating) of every cylinder [g]; 1 and 0 when nothing is known."""
    if job.parts is None:
        masses = {name: (1.0, 0.0) for throw in throws for name in throw.cylinders}
    else:
        masses = masses_per_cylinder_g(job.parts, throws=throws)
    if wishes.reciprocating_g is not None:
        masses = {name: (wishes.reciprocating_g, rotating) for name, (_, rotating) in masses.items()}
    return masses


def _hang_own(job: Job) -> tuple[Throw, ...]:
    """Return the throws with the cylinders that [[cylinders]] hang on them, in the file's order."""
    hung = []
    for throw in job.crankshaft.throws:
        names = tuple(each.name for each in job.cylinders if each.throw == throw.name)
        if len(names) != throw.rods or (throw.cylinders and set(names) != set(throw.cylinders)):
            stated = f"names {', '.join(throw.cylinders)}" if throw.cylinders else f"has {throw.rods} rods"
            raise InputError(
                f"throw `{throw.name}` {stated}, but [[cylinders]] hang {', '.join(names) or 'none'} on it",
                hint="list every cylinder once under [[cylinders]], or leave them all out and name a layout",
            )
        # lists of parts are read by the names on the throws, the order on one throw does not matter
        hung.append(replace(throw, cylinders=throw.cylinders or names))
    return tuple(hung)


def _own_cylinders(
    job: Job,
    throws: Sequence[Throw],
    masses_g: dict[str, tuple[float, float]],
    wishes: EngineWishes,
    notes: list[str],
) -> list[EngineCylinder]:
    by_name = {throw.name: throw for throw in throws}
    cylinders = []
    assumed = []
    for each in job.cylinders:
        throw = by_name[each.throw]
        length = wishes.rod_length_mm or each.rod_length_mm
        if wishes.rod_ratio is not None:
            length = wishes.rod_ratio * throw.radius_mm
        if length is None:
            length = USUAL_RATIO * throw.radius_mm
            assumed.append(each.name)
        reciprocating, rotating = masses_g[each.name]
        cylinders.append(
            EngineCylinder(
                name=each.name,
                throw=each.throw,
                bank_angle_deg=each.bank_angle_deg,
                z_mm=throw.z_mm if each.z_mm is None else each.z_mm,
                rod_length_mm=length,
                offset_mm=each.offset_mm,
                reciprocating_g=reciprocating,
                rotating_g=rotating,
            )
        )
    if assumed:
        notes.append(
            f"no rod length is given for cylinder {', '.join(assumed)}: {USUAL_RATIO:g} throw radii are taken"
        )
    return cylinders


def _hang_layout(job: Job, found: Layout, rotation: Rotation) -> tuple[Throw, ...]:
    """Return the throws, those without cylinders with the layout's own names."""
    match = match_layout(found, throws=job.crankshaft.throws, rotation=rotation)
    own = dict(zip(match.throw_names, (each.cylinders for each in found.throws), strict=True))
    named = [bool(throw.cylinders) for throw in job.crankshaft.throws]
    if any(named) and not all(named):
        missing = ", ".join(t.name for t in job.crankshaft.throws if not t.cylinders)
        raise InputError(
            f"throw {missing} does not name its cylinders, others do",
            hint="name the cylinders on every throw, or on none",
        )
    return tuple(
        throw if throw.cylinders else replace(throw, cylinders=own[throw.name])
        for throw in job.crankshaft.throws
    )


def _with_banks(
    job: Job,
    found: Layout,
    throws: tuple[Throw, ...],
    rotation: Rotation,
    axis_deg: float,
    wishes: EngineWishes,
    notes: list[str],
    warnings: list[str],
) -> Engine:
    """Return the job's throws with the banks of the layout."""
    radius = math.fsum(throw.radius_mm for throw in throws) / len(throws)
    length = wishes.rod_length_mm
    if length is None:
        ratio = wishes.rod_ratio or USUAL_RATIO
        length = ratio * radius
        if wishes.rod_ratio is None:
            notes.append(f"the rod length is not given: {USUAL_RATIO:g} throw radii are taken (--rod-length)")
    masses = _masses(job, throws, wishes)
    match = match_layout(found, throws=throws, rotation=rotation)
    turning = rotation
    split = any(each.rod_offset and len(found.throws[each.throw].cylinders) == 1 for each in found.cylinders)
    if match.mirrored and not split:
        # the same crankshaft seen from the other end: with shared pins an engine of its own right
        turning = "ccw" if rotation == "cw" else "cw"
        warnings.append(
            f"the throws of the file (counter-clockwise seen from the front) are those of the layout turning `{turning}`, "
            f"but `{rotation}` is stated (or taken): check the throws' angles and the rotation; calculated with "
            "the throws as they are"
        )
    engine = engine_from_throws(
        found,
        throws=throws,
        rotation=turning,
        rod_length_mm=length,
        masses_g=masses,
        rods_apart_mm=wishes.rods_apart_mm or 0.0,
        reference_axis_deg=axis_deg,
    )
    if turning == rotation:
        return engine
    # bank A stays the one further on in the direction in which the engine turns
    turned = tuple(replace(c, bank_angle_deg=-c.bank_angle_deg) for c in engine.cylinders)
    return replace(engine, cylinders=turned, rotation=rotation)
