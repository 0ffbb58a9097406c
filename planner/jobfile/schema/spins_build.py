"""What was read: spins, mounted parts, known errors, trials in raw vibration."""

from __future__ import annotations

from collections.abc import Sequence

from planner.errors import InputError
from planner.frames import SIDES, MachineConvention, Shown, Side, SideReading
from planner.jobfile.job import TrialRun, TrialSide, Undone
from planner.jobfile.places import Places
from planner.jobfile.schema.engine_build import per_throw
from planner.jobfile.schema.rotor import MountedSection
from planner.jobfile.schema.sections import Placed, Sections, Where
from planner.jobfile.schema.spins import (
    InfluenceSection,
    KnownErrorSection,
    KnownMassSection,
    ReadingSection,
    SpinSection,
    TrialSection,
    UndoneSection,
)
from planner.machine.spin import KnownError, KnownMass, MountedPart, Spin
from planner.machine.trial_masses import Influence
from planner.rotor.crankshaft import Throw
from planner.rotor.vectors import vector_gmm


def build_mounted(places: Places) -> tuple[MountedPart, ...]:
    """Return ``[[mounted]]``."""
    places.sections.check_unique("mounted", noun="mounted part")
    return tuple(
        each.entry.record(MountedPart, angle_deg=places.angle_deg(each, each.entry))
        for each in places.sections.array("mounted", MountedSection)
    )


def build_known_errors(sections: Sections) -> tuple[KnownError, ...]:
    """Return ``[[known_errors]]``."""
    sections.check_unique("known_errors", noun="known error")
    return tuple(
        KnownError(
            name=each.entry.name,
            left_gmm=vector_gmm(each.entry.left.amount_gmm, each.entry.left.angle_deg),
            right_gmm=vector_gmm(each.entry.right.amount_gmm, each.entry.right.angle_deg),
        )
        for each in sections.array("known_errors", KnownErrorSection)
    )


def build_spins(
    sections: Sections, throws: Sequence[Throw], machine: MachineConvention | None
) -> tuple[Spin, ...]:
    """Return ``[[spins]]``; amounts are masses when the machine states them so, bare ones in the display's unit."""
    return tuple(_spin(each, throws, machine) for each in sections.array("spins", SpinSection))


def _spin(each: Placed[SpinSection], throws: Sequence[Throw], machine: MachineConvention | None) -> Spin:
    entry = each.entry
    if entry.repeat and each.index == 0:
        each.fault("repeat", allowed="the first spin repeats nothing: there is none before it")
    _check_mounted(each, entry.mounted)
    known = entry.known_mass
    return entry.record(
        Spin,
        left=_side(each.at("left"), entry.left, machine),
        right=_side(each.at("right"), entry.right, machine),
        bobs_g=per_throw(each.at("bobs"), entry.bobs, throws),
        known_mass=None if known is None else _known_mass(each.at("known_mass"), known),
    )


def _known_mass(where: Where, known: KnownMassSection) -> KnownMass:
    if known.angle_deg is None and known.at is None:
        where.fault(
            "angle",
            allowed="an angle must be said: the machine's own number of the place as angle, or the place on the "
            "crankshaft as at",
            hint='at = "throw 1", at = "counterweight A"',
        )
    for noun, section in (("throw", "throws"), ("counterweight", "counterweights")):
        if known.at is not None and known.at.startswith(f"{noun} "):
            name = known.at.removeprefix(f"{noun} ").strip()
            where.check_name("at", name=name, of=section, noun=noun, given=known.at)
    return known.record(KnownMass, machine_angle_deg=known.angle_deg)


def _check_mounted(where: Where, mounted: Sequence[str]) -> None:
    for place, name in enumerate(mounted):
        where.check_name("mounted", place, name=name, of="mounted", noun="mounted part")
        if name in mounted[:place]:
            where.fault("mounted", place, given=name, allowed="every part is named once")


def _side(where: Where, side: ReadingSection, machine: MachineConvention | None) -> SideReading:
    by_mass = machine is not None and machine.mass_at_radius
    units = where.units.shown_in(None if machine is None else machine.display_unit)
    try:
        amount = units.parse(side.amount, "mass" if by_mass else "unbalance", least=0.0)
    except InputError as error:
        where.error(error, "amount")
        amount = 0.0
    return SideReading(amount=amount, angle_deg=Shown(side.angle_deg))


def build_undone(sections: Sections) -> tuple[Undone, ...]:
    """Return ``[[undone]]``: what was taken back, as it was typed."""
    return tuple(
        each.entry.record(
            Undone,
            place=each.entry.place or (each.entry.number if each.entry.of is not None else 0),
            of=each.entry.of or 0,
            values=dict(each.entry.model_extra or {}),
        )
        for each in sections.array("undone", UndoneSection)
    )


def build_trials(sections: Sections, throws: Sequence[Throw]) -> tuple[TrialRun, ...]:
    """Return ``[[trials]]``: raw vibration without and with trial masses."""
    sections.check_unique("trials", noun="trial")
    placed = sections.array("trials", TrialSection)
    bare = next((each.index for each in placed if each.entry.mass_plane is None), None)
    if placed and bare is None and "trials" not in sections.faulty:
        sections.at("trials").fault(
            allowed="one run without a trial mass is wanted, it is what the others are compared with",
            hint="leave mass_plane out of the run without a trial mass",
        )
    for each in placed:
        _check_sides(each, placed[0].entry)
        for key, value in (
            ("bobs", each.entry.bobs),
            ("mounted", each.entry.mounted or None),
            ("speed_rpm", each.entry.speed_rpm),
        ):
            if value is not None and bare is not None and each.index != bare:
                each.fault(
                    key,
                    allowed="this is the same for all runs and said once, in the first run without a trial mass",
                )
    return tuple(_trial(each, throws) for each in placed)


def _check_sides(each: Placed[TrialSection], first: TrialSection) -> None:
    read = [side for side in SIDES if getattr(each.entry, side) is not None]
    if not read:
        each.fault(allowed="what was read must be said: left, right, or both of them")
    elif read != [side for side in SIDES if getattr(first, side) is not None]:
        each.fault(allowed="the same sides must be read in every run")


def build_influence(sections: Sections, machine: MachineConvention | None) -> Influence | None:
    """Return ``[influence]``: coefficients of earlier trial runs, all four or the one of a single plane."""
    section = sections.table("influence", InfluenceSection)
    if section is None or machine is None:
        return None
    both: tuple[Side, Side] = SIDES
    given = {
        (side, plane): entry
        for side in both
        for plane in both
        if (entry := getattr(section, f"{side}_from_{plane}")) is not None
    }
    if len(given) not in (1, 4):
        sections.at("influence").fault(
            allowed="all four coefficients are wanted, left_from_left, left_from_right, right_from_left, "
            "right_from_right, or the one of a single plane",
            hint="delete [influence]; `bobplan trial` writes it again from the trial runs",
        )
        return None
    sides = tuple(side for side in both if any(key[0] == side for key in given))
    planes = tuple(plane for plane in both if any(key[1] == plane for key in given))
    return Influence(
        sides=sides,
        planes=planes,
        per_gmm=tuple(
            tuple(
                machine.raw_vector(given[side, plane].amount, given[side, plane].phase_deg)
                / section.unbalance_gmm
                for plane in planes
            )
            for side in sides
        ),
        speed_rpm=section.speed_rpm,
    )


def _trial(each: Placed[TrialSection], throws: Sequence[Throw]) -> TrialRun:
    entry = each.entry
    _check_mounted(each, entry.mounted)
    amount = entry.unbalance_gmm
    by_mass = entry.mass_g is not None and entry.radius_mm is not None
    if entry.mass_g is not None and entry.radius_mm is not None:
        if amount is not None:
            each.fault("mass", allowed="say unbalance, or mass and radius, and not both")
        amount = entry.mass_g * entry.radius_mm
    elif entry.mass_g is not None or entry.radius_mm is not None:
        each.fault(allowed="mass and radius of the trial mass belong together")
    if entry.mass_plane is None:
        for key, value in (("mass" if by_mass else "unbalance", amount), ("angle", entry.angle_deg)):
            if value is not None:
                allowed = 'a run with a trial mass says in which plane it is: mass_plane = "left" or "right"'
                each.fault(key, allowed=allowed)
        if entry.left_on:
            each.fault("left_on", allowed="a run without a trial mass leaves none on")
    else:
        if amount is None:
            each.fault(allowed="the trial mass must be said: unbalance, or mass and radius")
        if entry.angle_deg is None:
            each.fault("angle", allowed="where the trial mass is must be said, in the machine's counting")
    return entry.record(
        TrialRun,
        left=None if entry.left is None else entry.left.record(TrialSide),
        right=None if entry.right is None else entry.right.record(TrialSide),
        trial_gmm=amount,
        machine_angle_deg=entry.angle_deg,
        bobs_g=None if entry.bobs is None else per_throw(each.at("bobs"), entry.bobs, throws),
    )
