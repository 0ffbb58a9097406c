"""Cuts as the files state them: old holes, cuts made, cuts wanted, the plan as it was shown."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Sequence

from planner.cuts.cut import Cut, Shop
from planner.frames import Dial, DrillSettings
from planner.jobfile.job import MadeCut, StoredPlan, StoredStep
from planner.jobfile.places import Places
from planner.jobfile.schema.base import toml_key
from planner.jobfile.schema.rotor import ExistingSection
from planner.jobfile.schema.sections import Where
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
_SIZES = (
    *("depth_mm", "radius_mm", "length_mm", "through", "from_middle_mm", "beside_mm", "tilt_deg"),
    *("off_mm", "sector_deg", "slope_deg"),
)
_SAID = {
    "depth": "the depth must be said",
    "radius": "the radius at which the hole's axis lies must be said",
    "off": "how far off the greatest radius it goes must be said",
    "sector": "the whole angle that it goes over must be said",
    "slope": "the angle by which the radius falls must be said",
}


def build_existing(places: Places, where: Where, hole: ExistingSection, shop: Shop) -> ExistingHole:
    """Return a hole that is already there; its depth counts as it says, else as the shop counts."""
    if hole.cut == "face hole" and hole.radius_mm is None:
        where.fault("radius", allowed=f"{_SAID['radius']}, for a face hole")
    if hole.cut == "rim hole" and hole.radius_mm is not None:
        where.fault("radius", allowed="a rim hole begins at the rim: it has no radius")
    for key, value in (
        ("from_middle", hole.from_middle_mm),
        ("beside", hole.beside_mm),
        ("tilt", hole.tilt_deg),
    ):
        if value and hole.cut != "rim hole":
            where.fault(key, allowed=f"a {hole.cut} has no {key}, only a rim hole")
    if hole.depth_mm is None and not hole.through:
        where.fault(allowed="depth must be said, or through = true")
    elif hole.depth_mm is not None and hole.through:
        where.fault("depth", allowed="a hole that goes through has no depth: say one")
    point = hole.point_angle_deg if hole.point_angle_deg is not None else shop.point_angle_deg
    depth = hole.depth_mm
    if depth is not None and (hole.depth_to or shop.depth_to) == "tip":
        cone = cone_height_mm(diameter_mm=hole.diameter_mm, point_angle_deg=point)
        depth = _shoulder(where, depth, cone)
    return hole.record(
        ExistingHole,
        kind=hole.cut,
        angle_deg=places.angle_deg(where, hole),
        depth_shoulder_mm=depth,
        point_angle_deg=point,
    )


def check_existing(counterweight: Counterweight, index: int, *, where: Where, notes: list[str]) -> None:
    """Check an old hole against its counterweight: what can't be is a fault, what is odd a note."""
    hole, outline = counterweight.existing[index], counterweight.outline
    thickness = where.units.text(counterweight.thickness_mm, "length")
    rim = where.units.text(outline.greatest_radius_mm, "length")
    depth = hole.depth_shoulder_mm
    if hole.radius_mm is not None and hole.radius_mm >= outline.greatest_radius_mm:
        where.fault("radius", allowed=f"the hole's axis lies outside the outline, {rim}")
    if hole.kind == "rim hole" and hole.diameter_mm >= counterweight.thickness_mm:
        allowed = f"a rim hole is narrower than the counterweight is thick, {thickness}"
        where.fault("diameter", allowed=allowed)
    if hole.kind == "rim hole" and depth is not None and depth >= outline.greatest_radius_mm:
        where.fault("depth", allowed=f"a rim hole ends before the axis, {rim} deep")
    if hole.kind == "face hole" and depth is not None and depth > counterweight.thickness_mm:
        hint = "say through = true instead of the depth"
        where.fault("depth", allowed=f"the counterweight is only {thickness} thick", hint=hint)
    beside = abs(difference_deg(hole.angle_deg, counterweight.angle_deg))
    if outline.half_angle_deg is not None and beside > outline.half_angle_deg:
        notes.append(
            f"existing hole {index + 1} of counterweight {counterweight.name} lies {beside:.4g} degrees from the "
            f"centre line, outside its half angle of {outline.half_angle_deg:g} degrees: is its angle right?"
        )


def _shoulder(where: Where, depth_mm: float, cone_mm: float) -> float:
    """Return the shoulder depth [mm] of a depth counted to the tip; a bare dimple of a point has 0."""
    if depth_mm < cone_mm - 1e-9:
        cone = where.units.text(cone_mm, "length")
        where.fault(
            "depth",
            given=where.units.text(depth_mm, "length"),
            allowed=f"the depth counts to the tip here, and the drill's point alone is {cone} long",
            hint='depth_to = "shoulder" if the depth was measured to the shoulder',
        )
    return max(0.0, depth_mm - cone_mm)


def build_cut(places: Places, where: Where, entry: CutSection, shop: Shop) -> Cut:
    """Return a cut; its depth counts as it says, else as the shop counts."""
    needed, possible = _KEYS[entry.cut]
    given = {toml_key(name): bool(getattr(entry, name)) for name in _SIZES}
    if entry.diameter_mm is None and entry.cut not in RIM_CUTS:
        where.fault("diameter", allowed=f"the diameter must be said, for a {entry.cut}")
    elif entry.diameter_mm is not None and entry.cut in RIM_CUTS:
        where.fault("diameter", allowed=f"a {entry.cut} has no diameter")
    diameter = entry.diameter_mm or 0.0
    for key in needed:
        if not given[key]:
            where.fault(key, allowed=f"{_SAID[key]}, for a {entry.cut}")
    for key in given:
        if given[key] and key not in (*needed, *possible):
            where.fault(key, allowed=f"a {entry.cut} has no {key}")
    if entry.cut == "face hole" and given["depth"] == given["through"]:
        where.fault(allowed="a face hole needs depth, or through = true, and not both")
    if entry.cut in ("slug", *FILLS) and entry.through is False and not given["length"]:
        where.fault("length", allowed=f"a {entry.cut} that is not through has a length")
    to_tip = entry.cut not in RIM_CUTS and (entry.depth_to or shop.depth_to) == "tip"
    cone = shop.cone_height_mm(diameter) if to_tip else 0.0
    depth = entry.off_mm if entry.cut in RIM_CUTS else entry.depth_mm
    if depth is not None and to_tip:
        # a shop that counts to the tip can stop while only the drill's point has entered: below the shoulder's 0
        drilled = entry.cut in ("rim hole", "face hole")
        depth = depth - cone if drilled else _shoulder(where, depth, cone)
    from_depth = _from_depth_mm(
        where, entry, depth_mm=depth, cone_mm=cone, hole_mm=diameter + shop.hole_oversize_mm
    )
    where.check_name("counterweight", name=entry.counterweight, of="counterweights", noun="counterweight")
    return entry.record(
        Cut,
        kind=entry.cut,
        angle_deg=places.angle_deg(where, entry),
        diameter_mm=diameter,
        depth_shoulder_mm=depth,
        # a slug without a length fills the full thickness
        through=bool(entry.through) or (entry.cut in ("slug", *FILLS) and not given["length"]),
        from_depth_mm=from_depth,
        from_middle_mm=entry.from_middle_mm or 0.0,
        beside_mm=entry.beside_mm or 0.0,
        tilt_deg=entry.tilt_deg or 0.0,
    )


def _from_depth_mm(
    where: Where, entry: CutSection, *, depth_mm: float | None, cone_mm: float, hole_mm: float
) -> float | None:
    """Return the shoulder depth [mm] that a hole had before it was drilled deeper or enlarged; None where it had none."""
    from_depth, from_diameter = entry.from_depth_mm, entry.from_diameter_mm
    if from_depth is not None:
        if entry.cut not in ("rim hole", "face hole") or depth_mm is None or entry.through:
            allowed = "only a rim hole or a blind face hole can be drilled deeper, with its depth said"
            where.fault("from_depth", allowed=allowed)
        else:
            from_depth -= cone_mm
    elif from_diameter is not None and not (entry.cut == "face hole" and entry.through):
        allowed = "goes with from_depth (how deep the hole was that is enlarged), or with through = true"
        where.fault("from_diameter", allowed=allowed)
        return None
    if from_diameter is not None and from_diameter >= hole_mm:
        where.fault("from_diameter", allowed="a hole is enlarged by a wider drill than made it")
    # a hole that is enlarged may stay as deep as it was
    as_deep = from_depth == depth_mm and from_diameter is not None
    if from_depth is not None and depth_mm is not None and from_depth >= depth_mm and not as_deep:
        where.fault(
            "from_depth",
            given=where.units.text(entry.from_depth_mm or 0.0, "length"),
            allowed="a hole is drilled deeper: less than its depth, "
            f"{where.units.text(entry.depth_mm or 0.0, 'length')}",
        )
    return from_depth


def build_fixed(places: Places, shop: Shop) -> tuple[Cut, ...]:
    """Return ``[[fixed_cuts]]``."""
    return tuple(
        build_cut(places, each, each.entry, shop)
        for each in places.sections.array("fixed_cuts", FixedCutSection)
    )


def build_made(places: Places, shop: Shop, *, first: int, spins: int) -> tuple[MadeCut, ...]:
    """Return ``[[cuts_made]]``; ``first`` is 0 when there are trial runs, else 1; ``spins`` is how many spins there are."""
    made: list[MadeCut] = []
    numbers: set[int] = set()
    for each in places.sections.array("cuts_made", MadeCutSection):
        entry = each.entry
        _check_spin(each, entry.after_spin, first, spins)
        cut = build_cut(places, each, entry, shop)
        number = entry.cut_number or entry.step or 0
        if entry.cut_number is not None and entry.cut_number in numbers:
            each.fault("cut_number", given=entry.cut_number, allowed="every cut has a number of its own")
        # older files: every plan began at 1 again, and a cut of no plan had no number
        if number in numbers:
            number = 0
        numbers.add(number)
        dialled, stays = entry.dialled, entry.stays
        made.append(
            entry.record(
                MadeCut,
                cut=cut,
                number=number,
                dial_deg=None if dialled is None else Dial(dialled.dial_deg),
                dialled_under=None if dialled is None else _settings(dialled),
                stays_under=None if stays is None else _settings(stays),
            )
        )
    return tuple(made)


def _settings(section: SettingsSection) -> DrillSettings:
    return section.record(DrillSettings)


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
    section, where = places.sections.table("plan", PlanSection), places.sections.at("plan")
    if section is None:
        return None
    _check_spin(where, section.after_spin, first, spins)
    return _plan(places, where, section, shop)


def build_former_plans(places: Places, shop: Shop) -> tuple[StoredPlan, ...]:
    """Return ``[[former_plans]]``, plans that were shown and gave way to others; some spins may be gone since."""
    return tuple(
        _plan(places, each, each.entry, shop)
        for each in places.sections.array("former_plans", FormerPlanSection)
    )


def _plan(places: Places, where: Where, section: PlanSection, shop: Shop) -> StoredPlan:
    numbers = [step.number for step in section.steps]
    steps = []
    for index, step in enumerate(section.steps):
        at_step = where.at("steps", index)
        if step.number in numbers[:index]:
            at_step.fault("number", given=step.number, allowed="every step has a number of its own")
        steps.append(step.record(StoredStep, cut=build_cut(places, at_step, step, shop)))
    shown_under = None if section.shown is None else _settings(section.shown)
    return section.record(StoredPlan, steps=tuple(steps), shown_under=shown_under)


def _check_spin(where: Where, after_spin: int, first: int, spins: int) -> None:
    if not first <= after_spin <= spins:
        there = f"there are {spins}" if spins != 1 else "there is 1"
        wanted = f"the number of a spin is wanted, 1 = first; {there}" if spins else "there is no spin yet"
        hint = "delete [plan], the next `bobplan plan` writes it again" if where.section == "plan" else ""
        where.fault("after_spin", given=after_spin, allowed=wanted, hint=hint)
