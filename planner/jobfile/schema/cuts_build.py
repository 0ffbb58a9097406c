"""Cuts as the files state them: old holes, cuts made, cuts wanted, the plan as it was shown."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Sequence

from planner.cuts.cut import Cut, Shop
from planner.frames import Dial, DrillSettings, ShaftAngle
from planner.jobfile.job import MadeCut, StoredPlan, StoredStep
from planner.jobfile.places import Places
from planner.jobfile.schema.rotor import ExistingSection
from planner.jobfile.schema.sections import Sections
from planner.jobfile.schema.shop import (
    CutSection,
    FixedCutSection,
    FormerPlanSection,
    MadeCutSection,
    PlanSection,
    SettingsSection,
)
from planner.rotor.crankshaft import FILLS, RIM_CUTS, Counterweight, ExistingHole, cone_height_mm
from planner.rotor.vectors import difference_deg

Location = Sequence[str | int]

# per kind: the keys that must be there, the ones that may be
_KEYS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "rim hole": (("depth",), ("from_middle", "beside", "tilt")),
    "face hole": (("radius",), ("depth", "through")),
    "slug": (("radius",), ("length", "through")),
    "fill": (("radius",), ("length", "through")),
    "plug": (("radius",), ("length", "through")),
    "rim turning": (("off", "sector"), ()),
    "flat": (("off",), ()),
    "bevel": (("off", "sector", "slope"), ()),
}
_SAID = {
    "depth": "the depth must be said",
    "radius": "the radius at which the hole's axis lies must be said",
    "off": "how far off the greatest radius it goes must be said",
    "sector": "the whole angle that it goes over must be said",
    "slope": "the angle by which the radius falls must be said",
}


def build_existing(
    places: Places, section: str, location: Location, hole: ExistingSection, shop: Shop
) -> ExistingHole:
    """Return a hole that is already there; its depth counts as it says, else as the shop counts."""
    sections = places.sections
    if hole.cut == "face hole" and hole.radius_mm is None:
        sections.fault(section, (*location, "radius"), allowed=f"{_SAID['radius']}, for a face hole")
    if hole.cut == "rim hole" and hole.radius_mm is not None:
        sections.fault(
            section, (*location, "radius"), allowed="a rim hole begins at the rim: it has no radius"
        )
    for key, value in (
        ("from_middle", hole.from_middle_mm),
        ("beside", hole.beside_mm),
        ("tilt", hole.tilt_deg),
    ):
        if value and hole.cut != "rim hole":
            sections.fault(section, (*location, key), allowed=f"a {hole.cut} has no {key}, only a rim hole")
    if hole.depth_mm is None and not hole.through:
        sections.fault(section, location, allowed="depth must be said, or through = true")
    elif hole.depth_mm is not None and hole.through:
        sections.fault(
            section, (*location, "depth"), allowed="a hole that goes through has no depth: say one"
        )
    point = hole.point_angle_deg if hole.point_angle_deg is not None else shop.point_angle_deg
    depth = hole.depth_mm
    if depth is not None and (hole.depth_to or shop.depth_to) == "tip":
        cone = cone_height_mm(diameter_mm=hole.diameter_mm, point_angle_deg=point)
        depth = _shoulder(places, section, location, depth, cone)
    return ExistingHole(
        kind=hole.cut,
        angle_deg=ShaftAngle(
            places.angle_deg(
                section, location, angle_deg=hole.angle_deg, machine_angle_deg=hole.machine_angle_deg
            )
        ),
        diameter_mm=hole.diameter_mm,
        depth_shoulder_mm=depth,
        point_angle_deg=point,
        radius_mm=hole.radius_mm,
        through=hole.through,
        face=hole.face,
        filled_density_g_per_cm3=hole.filled_density_g_per_cm3,
        from_middle_mm=hole.from_middle_mm,
        beside_mm=hole.beside_mm,
        tilt_deg=hole.tilt_deg,
    )


def check_existing(
    sections: Sections, counterweight: Counterweight, index: int, *, location: Location, notes: list[str]
) -> None:
    """Check an old hole against its counterweight: what can't be is a fault, what is odd a note."""
    hole, outline = counterweight.existing[index], counterweight.outline
    units = sections.units("counterweights")
    thickness = units.text(counterweight.thickness_mm, "length")
    rim = units.text(outline.greatest_radius_mm, "length")
    depth = hole.depth_shoulder_mm
    if hole.radius_mm is not None and hole.radius_mm >= outline.greatest_radius_mm:
        sections.fault(
            "counterweights",
            (*location, "radius"),
            allowed=f"the hole's axis lies outside the outline, {rim}",
        )
    if hole.kind == "rim hole" and hole.diameter_mm >= counterweight.thickness_mm:
        sections.fault(
            "counterweights",
            (*location, "diameter"),
            allowed=f"a rim hole is narrower than the counterweight is thick, {thickness}",
        )
    if hole.kind == "rim hole" and depth is not None and depth >= outline.greatest_radius_mm:
        sections.fault(
            "counterweights", (*location, "depth"), allowed=f"a rim hole ends before the axis, {rim} deep"
        )
    if hole.kind == "face hole" and depth is not None and depth > counterweight.thickness_mm:
        sections.fault(
            "counterweights",
            (*location, "depth"),
            allowed=f"the counterweight is only {thickness} thick",
            hint="say through = true instead of the depth",
        )
    beside = abs(difference_deg(hole.angle_deg, counterweight.angle_deg))
    if outline.half_angle_deg is not None and beside > outline.half_angle_deg:
        notes.append(
            f"existing hole {index + 1} of counterweight {counterweight.name} lies {beside:.4g} degrees from the "
            f"centre line, outside its half angle of {outline.half_angle_deg:g} degrees: is its angle right?"
        )


def _shoulder(
    places: Places,
    section: str,
    location: Location,
    depth_mm: float,
    cone_mm: float,
    *,
    key: str = "depth",
) -> float:
    """Return the shoulder depth [mm] of a depth counted to the tip; a bare dimple of a point has 0."""
    if depth_mm < cone_mm - 1e-9:
        units = places.sections.units(section)
        places.sections.fault(
            section,
            (*location, key),
            given=units.text(depth_mm, "length"),
            allowed=f"the depth counts to the tip here, and the drill's point alone is "
            f"{units.text(cone_mm, 'length')} long",
            hint='depth_to = "shoulder" if the depth was measured to the shoulder',
        )
    return max(0.0, depth_mm - cone_mm)


def build_cut(places: Places, section: str, location: Location, entry: CutSection, shop: Shop) -> Cut:
    """Return a cut; its depth counts as it says, else as the shop counts."""
    sections = places.sections
    needed, possible = _KEYS[entry.cut]
    given = {
        "depth": entry.depth_mm is not None,
        "radius": entry.radius_mm is not None,
        "length": entry.length_mm is not None,
        "through": bool(entry.through),
        "from_middle": bool(entry.from_middle_mm),
        "beside": bool(entry.beside_mm),
        "tilt": bool(entry.tilt_deg),
        "off": entry.off_mm is not None,
        "sector": entry.sector_deg is not None,
        "slope": entry.slope_deg is not None,
    }
    if entry.diameter_mm is None and entry.cut not in RIM_CUTS:
        sections.fault(
            section, (*location, "diameter"), allowed=f"the diameter must be said, for a {entry.cut}"
        )
    elif entry.diameter_mm is not None and entry.cut in RIM_CUTS:
        sections.fault(section, (*location, "diameter"), allowed=f"a {entry.cut} has no diameter")
    diameter = entry.diameter_mm or 0.0
    for key in needed:
        if not given[key]:
            sections.fault(section, (*location, key), allowed=f"{_SAID[key]}, for a {entry.cut}")
    for key in given:
        if given[key] and key not in (*needed, *possible):
            sections.fault(section, (*location, key), allowed=f"a {entry.cut} has no {key}")
    if entry.cut == "face hole" and given["depth"] == given["through"]:
        sections.fault(section, location, allowed="a face hole needs depth, or through = true, and not both")
    if entry.cut in ("slug", *FILLS) and entry.through is False and not given["length"]:
        sections.fault(
            section, (*location, "length"), allowed=f"a {entry.cut} that is not through has a length"
        )
    depth = entry.off_mm if entry.cut in RIM_CUTS else entry.depth_mm
    if depth is not None and entry.cut not in RIM_CUTS and (entry.depth_to or shop.depth_to) == "tip":
        cone = shop.cone_height_mm(diameter)
        # a shop that counts to the tip can stop while only the drill's point has entered: below the shoulder's 0
        depth = (
            depth - cone
            if entry.cut in ("rim hole", "face hole")
            else _shoulder(places, section, location, depth, cone)
        )
    from_depth = entry.from_depth_mm
    if from_depth is not None:
        if entry.cut not in ("rim hole", "face hole") or depth is None or given["through"]:
            sections.fault(
                section,
                (*location, "from_depth"),
                allowed="only a rim hole or a blind face hole can be drilled deeper, with its depth said",
            )
        elif (entry.depth_to or shop.depth_to) == "tip":
            from_depth -= shop.cone_height_mm(diameter)
        larger = entry.from_diameter_mm is not None
        if (
            larger
            and entry.from_diameter_mm is not None
            and entry.from_diameter_mm >= diameter + shop.hole_oversize_mm
        ):
            sections.fault(
                section,
                (*location, "from_diameter"),
                allowed="a hole is enlarged by a wider drill than made it",
            )
        if depth is not None and (from_depth > depth if larger else from_depth >= depth):
            units = sections.units(section)
            sections.fault(
                section,
                (*location, "from_depth"),
                given=units.text(entry.from_depth_mm or 0.0, "length"),
                allowed=f"a hole is drilled deeper: less than its depth, {units.text(entry.depth_mm or 0.0, 'length')}",
            )
    elif entry.from_diameter_mm is not None and entry.cut == "face hole" and given["through"]:
        if entry.from_diameter_mm >= diameter + shop.hole_oversize_mm:
            sections.fault(
                section,
                (*location, "from_diameter"),
                allowed="a hole is enlarged by a wider drill than made it",
            )
    elif entry.from_diameter_mm is not None:
        sections.fault(
            section,
            (*location, "from_diameter"),
            allowed="goes with from_depth (how deep the hole was that is enlarged), or with through = true",
        )
    sections.check_name(
        section,
        (*location, "counterweight"),
        entry.counterweight,
        of="counterweights",
        noun="counterweight",
    )
    # a slug without a length fills the full thickness
    through = bool(entry.through) or (entry.cut in ("slug", *FILLS) and not given["length"])
    return Cut(
        kind=entry.cut,
        counterweight=entry.counterweight,
        angle_deg=ShaftAngle(
            places.angle_deg(
                section, location, angle_deg=entry.angle_deg, machine_angle_deg=entry.machine_angle_deg
            )
        ),
        diameter_mm=diameter,
        depth_shoulder_mm=depth,
        radius_mm=entry.radius_mm,
        length_mm=entry.length_mm,
        through=through,
        face=entry.face,
        from_depth_mm=from_depth,
        from_diameter_mm=entry.from_diameter_mm,
        from_middle_mm=entry.from_middle_mm or 0.0,
        beside_mm=entry.beside_mm or 0.0,
        tilt_deg=entry.tilt_deg or 0.0,
        sector_deg=entry.sector_deg,
        slope_deg=entry.slope_deg,
    )


def build_fixed(places: Places, shop: Shop) -> tuple[Cut, ...]:
    """Return ``[[fixed_cuts]]``."""
    return tuple(
        build_cut(places, "fixed_cuts", (each.index,), each.entry, shop)
        for each in places.sections.array("fixed_cuts", FixedCutSection)
    )


def build_made(places: Places, shop: Shop, *, first: int, spins: int) -> tuple[MadeCut, ...]:
    """Return ``[[cuts_made]]``; ``first`` is 0 when there are trial runs, else 1; ``spins`` is how many spins there are."""
    made: list[MadeCut] = []
    numbers: set[int] = set()
    for each in places.sections.array("cuts_made", MadeCutSection):
        _check_spin(
            places.sections, "cuts_made", (each.index, "after_spin"), each.entry.after_spin, first, spins
        )
        cut = build_cut(places, "cuts_made", (each.index,), each.entry, shop)
        entry = each.entry
        number = entry.cut_number or entry.step or 0
        if entry.cut_number is not None and entry.cut_number in numbers:
            places.sections.fault(
                "cuts_made",
                (each.index, "cut_number"),
                given=entry.cut_number,
                allowed="every cut has a number of its own",
            )
        # older files: every plan began at 1 again, and a cut of no plan had no number
        if number in numbers:
            number = 0
        numbers.add(number)
        dialled, stays = entry.dialled, entry.stays
        made.append(
            MadeCut(
                after_spin=entry.after_spin,
                cut=cut,
                step=entry.step,
                number=number,
                learned_factor=entry.learned_factor,
                dial_deg=None if dialled is None else Dial(dialled.dial_deg),
                dialled_under=None if dialled is None else _settings(dialled),
                stays_under=None if stays is None else _settings(stays),
            )
        )
    return tuple(made)


def _settings(section: SettingsSection) -> DrillSettings:
    return DrillSettings(
        zero_deg=ShaftAngle(section.zero_deg), sense=section.sense, offset_deg=section.offset_deg
    )


def numbered(made: Sequence[MadeCut], *, used: Collection[int]) -> tuple[MadeCut, ...]:
    """Return cuts made with a number each.

    Those without one (of no plan, in older files) get their place in the list, as it used to be printed, or where another
    cut has that number the next one above all.
    """
    given = []
    above = max((*used, len(made)), default=0)
    for place, each in enumerate(made, start=1):
        number = each.number
        if number == 0:
            number = place
            if place in used:
                number = above = above + 1
        given.append(each if each.number else dataclasses.replace(each, number=number))
    return tuple(given)


def build_plan(places: Places, shop: Shop, *, first: int, spins: int) -> StoredPlan | None:
    """Return ``[plan]``, the plan as it was shown."""
    sections = places.sections
    section = sections.table("plan", PlanSection)
    if section is None:
        return None
    _check_spin(sections, "plan", ("after_spin",), section.after_spin, first, spins)
    return _plan(places, "plan", (), section, shop)


def build_former_plans(places: Places, shop: Shop) -> tuple[StoredPlan, ...]:
    """Return ``[[former_plans]]``, plans that were shown and gave way to others; some spins may be gone since."""
    return tuple(
        _plan(places, "former_plans", (each.index,), each.entry, shop)
        for each in places.sections.array("former_plans", FormerPlanSection)
    )


def _plan(places: Places, name: str, location: Location, section: PlanSection, shop: Shop) -> StoredPlan:
    numbers = [step.number for step in section.steps]
    steps = []
    for index, step in enumerate(section.steps):
        if step.number in numbers[:index]:
            places.sections.fault(
                name,
                (*location, "steps", index, "number"),
                given=step.number,
                allowed="every step has a number of its own",
            )
        cut = build_cut(places, name, (*location, "steps", index), step, shop)
        steps.append(StoredStep(number=step.number, cut=cut, pinned=step.pinned))
    return StoredPlan(
        after_spin=section.after_spin,
        steps=tuple(steps),
        basis=section.basis,
        after_cuts=section.after_cuts,
        learned_factor=section.learned_factor,
        wish=tuple(section.wish),
        shown_under=None if section.shown is None else _settings(section.shown),
        withdrawn=isinstance(section, FormerPlanSection) and section.withdrawn,
    )


def _check_spin(
    sections: Sections, section: str, location: Location, after_spin: int, first: int, spins: int
) -> None:
    if not first <= after_spin <= spins:
        there = f"there are {spins}" if spins != 1 else "there is 1"
        sections.fault(
            section,
            location,
            given=after_spin,
            allowed=f"the number of a spin is wanted, 1 = first; {there}"
            if spins
            else "there is no spin yet",
            hint="delete [plan], the next `bobplan plan` writes it again" if section == "plan" else "",
        )
