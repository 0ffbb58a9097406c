"""``[machine]`` and ``[planes]``: how the balancing machine states a reading, and where its planes are."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.frames import MachineConvention, ShaftAngle, TwoPlanes
from planner.jobfile.job import PROVABLE, Proof
from planner.jobfile.places import names_machine_angle
from planner.jobfile.schema.rotor import CrankshaftSection, PlanesSection, ThrowSection
from planner.jobfile.schema.sections import Placed, Sections, Where
from planner.jobfile.schema.spins import MachineSection, ProofSection
from planner.quantity import Kind
from planner.quantity_reading import allowed_units, find_unit
from planner.rotor.vectors import wrap_deg

LEAST_SHARE_OF_SPAN = 0.1
"""Reading planes closer together than this share of the bearing span are refused."""

_DECIDING = {
    "angle_direction": 'the way the machine\'s angles grow must be said: "ccw" or "cw"',
    "viewed_from": 'from which end of the crankshaft that is seen must be said: "front" or "rear"',
    "angle_zero": "where the machine's 0 lies must be said: \"throw NAME\", or degrees in the crankshaft's frame",
    "angle_marks": 'what the angle shown marks must be said: "heavy spot" (take off there) or "light spot"',
}


def build_machine(
    sections: Sections, throws: Sequence[Placed[ThrowSection]], planes: PlanesSection | None
) -> MachineConvention | None:
    """Return the machine's way of counting; None when its section has faults.

    The four keys that decide where metal comes off must be said as soon as anything was read on the machine.
    """
    section, where = sections.table("machine", MachineSection), sections.at("machine")
    read = _what_was_read(sections)
    if section is None:
        if "machine" not in sections and read:
            sections.missing("machine", f"how the machine counts must be said, for {read}")
        return None if read or "machine" in sections else MachineConvention()
    if read:
        for key, said in _DECIDING.items():
            if getattr(section, key) is None:
                where.fault(key, allowed=said)
    by_mass = section.amounts == "mass"
    if by_mass and planes is not None:
        for key in ("left_radius", "right_radius"):
            if getattr(planes, f"{key}_mm") is None:
                sections.at("planes", key).fault(
                    allowed='must be said, because the machine\'s amounts are masses (machine.amounts = "mass")'
                )
    zero = _zero_deg(where.at("angle_zero"), section.angle_zero, throws)
    if zero is None or "machine" in sections.faulty:
        return None
    return section.record(
        MachineConvention,
        direction=section.angle_direction or "ccw",
        viewed_from=section.viewed_from or "front",
        zero_deg=ShaftAngle(zero),
        marks=section.angle_marks or "heavy spot",
        mass_at_radius=by_mass,
        left_radius_mm=planes.left_radius_mm if planes else None,
        right_radius_mm=planes.right_radius_mm if planes else None,
        phase_grows=section.phase_grows or "with angles",
        phase_stated=section.phase_grows is not None,
        display_unit=_display_unit(where, section),
    )


def _display_unit(machine: Where, section: MachineSection) -> str | None:
    """Return the unit that the display's amounts have; a fault unless it is of the kind that the display shows."""
    if section.display_unit is None:
        return None
    kind: Kind = "mass" if section.amounts == "mass" else "unbalance"
    unit = find_unit(section.display_unit, kind)
    if unit is None:
        allowed = f"the display shows {section.amounts}: allowed is one of {allowed_units(kind)}"
        machine.fault("display_unit", allowed=allowed)
    return unit


def _what_was_read(sections: Sections) -> str:
    """Return what in the files is in the machine's counting, or an empty text."""
    for section in ("spins", "trials"):
        if sections.raw(section):
            return f"[[{section}]] are in its counting"
    if sections.raw("influence"):
        return "[influence] is in its counting"
    for section in (
        "throws",
        "counterweights",
        "mounted",
        "oil_drillings",
        "fixed_cuts",
        "cuts_made",
        "plan",
    ):
        if names_machine_angle(sections.raw(section)):
            return f"a machine_angle in `{section}` is in its counting"
    return ""


def _zero_deg(where: Where, zero: str | float | None, throws: Sequence[Placed[ThrowSection]]) -> float | None:
    if not isinstance(zero, str):
        return wrap_deg(zero or 0.0)
    name = zero.removeprefix("throw ").strip()
    if not where.check_name(name=name, of="throws", noun="throw", given=zero):
        return None
    throw = next((each.entry for each in throws if each.entry.name == name), None)
    if throw is None:
        return None
    if throw.angle_deg is None:
        if throw.machine_angle_deg is not None:
            where.fault(
                given=zero,
                allowed=f"throw `{name}` is itself given by a machine_angle, which leaves both open",
                hint=f"give throw `{name}` an angle in the crankshaft's frame, for example angle = 0",
            )
        return None
    return wrap_deg(throw.angle_deg)


def build_planes(
    sections: Sections,
    planes: PlanesSection | None,
    crankshaft: CrankshaftSection | None,
    *,
    notes: list[str],
) -> TwoPlanes[float] | None:
    """Return the two reading planes [mm]: left, right; None when there are faults."""
    if planes is None:
        if "planes" in sections:
            return None
        if sections.raw("spins") or sections.raw("trials"):
            sections.missing(
                "planes", "where the machine's two reading planes are must be said, left and right"
            )
            return None
        if crankshaft is None:
            return None
        notes.append("[planes] is not given: the bearing planes are taken as reading planes")
        return TwoPlanes(crankshaft.bearing_1_z_mm, crankshaft.bearing_2_z_mm)
    left, right = planes.left_mm, planes.right_mm
    where, units = sections.at("planes"), sections.units("planes")
    if left == right:
        where.fault(
            allowed=f"left and right are both at z = {units.text(left, 'length')}, they must be apart",
            hint="measure both from the same zero point",
        )
        return None
    if crankshaft is not None:
        span = abs(crankshaft.bearing_2_z_mm - crankshaft.bearing_1_z_mm)
        apart = abs(right - left)
        if apart < LEAST_SHARE_OF_SPAN * span:
            where.fault(
                allowed=f"left and right are {units.text(apart, 'length')} apart; at least a tenth of the bearing "
                f"span, {units.text(LEAST_SHARE_OF_SPAN * span, 'length')}, is needed: closer planes make small "
                "errors of a reading into large couples",
                hint="take planes near the two ends of the crankshaft",
            )
            return None
    return TwoPlanes(left, right)


def build_proof(sections: Sections) -> dict[str, Any]:
    """Return what ``[machine] proved`` and the job's ``[proof]`` say, by the job's fields.

    ``proofs`` is what was proved of the machine's settings, ``cut_unproved`` whether it was said that this job is cut with
    settings that are not proved, ``drill_line`` the place under the drill, and the dial's number then [deg], that spoke
    against ``drill_offset``.
    """
    machine, job = sections.table("machine", MachineSection), sections.table("proof", ProofSection)
    newest = [each.proved for each in (machine, job) if each is not None and each.proved is not None]
    found = [proof for each in newest for proof in (each, *each.earlier)]
    proofs = tuple(
        each.record(
            Proof,
            values={name: value for name in PROVABLE if (value := getattr(each, name)) is not None},
        )
        for each in found
    )
    line = None if job is None else job.drill_line
    return {
        "proofs": proofs,
        "cut_unproved": job is not None and job.cut_unproved,
        "drill_line": None if line is None else (line.place, line.dial_deg),
    }
