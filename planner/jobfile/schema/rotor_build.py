"""The crankshaft: throws, counterweights with their outlines and what is already cut, oil drillings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from planner.cuts.cut import Shop
from planner.errors import InputError
from planner.frames import ShaftAngle
from planner.jobfile.defaults import CRANKSHAFT_DENSITY_G_PER_CM3
from planner.jobfile.places import Places
from planner.jobfile.schema.base import Section
from planner.jobfile.schema.cuts_build import build_existing, check_existing
from planner.jobfile.schema.rotor import (
    CounterweightSection,
    CrankshaftSection,
    JournalSection,
    KeepOutSection,
    OilDrillingSection,
    OutlineSection,
    ThrowSection,
    WebSection,
)
from planner.jobfile.schema.sections import Placed, Sections, Where
from planner.jobfile.shop_folders import may_use
from planner.rotor.crankshaft import (
    CUT_KINDS,
    RIM_CUTS,
    Counterweight,
    Crankshaft,
    KeepOut,
    OilDrilling,
    RoundKeepOut,
    Throw,
    Web,
)
from planner.rotor.materials import material as known_material

if TYPE_CHECKING:
    from geometry_profiles.catalogue import GenericProfile
    from geometry_profiles.exchange import DrawingFrame
    from geometry_profiles.outline import Outline
    from geometry_profiles.rims import RimForm

MOST_RIM_ROWS = 6
LEAST_CRANKSHAFT_G = 100.0
"""A crankshaft lighter than this is a mass in the wrong unit [g]."""

# shapes that come from elsewhere: the keys that must be there, the ones that may be
_FROM_ELSEWHERE: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "drawing": (
        ("file", "inner_radius_mm"),
        ("rim_radius_mm", "units", "layer", "origin", "centre_line_deg", "seen_from"),
    ),
    "generic": (("profile",), ()),
}


def build_throws(places: Places, placed: Sequence[Placed[ThrowSection]]) -> tuple[Throw, ...]:
    """Return the throws; rods not said are one per cylinder named."""
    sections = places.sections
    if "throws" not in sections:
        sections.missing("throws", "at least one throw is wanted", hint="a split pin is two throws")
    elif not sections.raw("throws"):
        sections.at("throws").fault(allowed="at least one throw is wanted")
    sections.check_unique("throws", noun="throw")
    hangs: dict[str, str] = {}
    throws = []
    for each in placed:
        entry = each.entry
        rods = entry.rods if entry.rods is not None else len(entry.cylinders)
        if rods < 1:
            allowed = "how many rods hang on this throw must be said, or its cylinders named"
            each.fault("rods", allowed=allowed)
        elif entry.cylinders and len(entry.cylinders) != rods:
            allowed = f"the throw has {rods} rods, one cylinder is named for each"
            each.fault("cylinders", given=entry.cylinders, allowed=allowed)
        for place, name in enumerate(entry.cylinders):
            own = f"throws[{each.index + 1}]"
            other = hangs.setdefault(name, own)
            if other != own or name in entry.cylinders[:place]:
                allowed = f"a cylinder hangs on one throw only; this one hangs on {other}"
                each.fault("cylinders", place, given=name, allowed=allowed)
        bore, pin = entry.pin_bore_mm, entry.pin_diameter_mm
        if bore is not None and pin is not None and bore >= pin:
            each.fault("pin_bore", allowed="a bore is smaller than the crankpin it is in")
        throws.append(entry.record(Throw, angle_deg=places.angle_deg(each, entry), rods=max(1, rods)))
    return tuple(throws)


def build_counterweights(places: Places, shop: Shop, *, notes: list[str]) -> tuple[Counterweight, ...]:
    """Return the counterweights."""
    sections = places.sections
    if "counterweights" not in sections:
        sections.missing("counterweights", "at least one counterweight is wanted")
    elif not sections.raw("counterweights"):
        sections.at("counterweights").fault(allowed="at least one counterweight is wanted")
    sections.check_unique("counterweights", noun="counterweight")
    placed = sections.array("counterweights", CounterweightSection)
    built = [_counterweight(places, each, shop, notes=notes) for each in placed]
    return tuple(each for each in built if each is not None)


def _counterweight(
    places: Places, each: Placed[CounterweightSection], shop: Shop, *, notes: list[str]
) -> Counterweight | None:
    entry = each.entry
    outline = build_outline(each)
    if entry.cuts is not None and len(set(entry.cuts)) != len(entry.cuts):
        each.fault("cuts", given=entry.cuts, allowed="every kind is named once")
    angle = places.angle_deg(each, entry)
    existing = tuple(
        build_existing(places, each.at("existing", index), hole, shop)
        for index, hole in enumerate(entry.existing)
    )
    kept = [_keep_out(places, each.at("keep_out", index), what) for index, what in enumerate(entry.keep_out)]
    density = entry.density_g_per_cm3
    if entry.material is not None:
        density = _density(each, density, entry.material)
    if outline is None:
        return None
    possible = tuple(kind for kind in CUT_KINDS if kind != "rim hole" or outline.rim_radius_mm is not None)
    needing = {"rim hole", *RIM_CUTS}
    if entry.cuts is not None and needing & set(entry.cuts) and "rim hole" not in possible:
        drilled = "rim hole" in entry.cuts
        needs = "a rim hole needs a rim" if drilled else "to turn or mill a rim needs one"
        each.fault(
            "cuts",
            given=entry.cuts,
            allowed=f"{needs}, and this outline has none",
            hint=f"say outline.rim_radius, or leave {'rim holes' if drilled else 'it'} out",
        )
    rim = build_rim(each, outline)
    mark = None
    if entry.mark is not None:
        mark = (entry.mark.name, places.angle_deg(each.at("mark"), entry.mark))
    counterweight = entry.record(
        Counterweight,
        angle_deg=angle,
        outline=outline,
        cuts=possible if entry.cuts is None else tuple(entry.cuts),
        existing=existing,
        keep_outs=tuple(what for what in kept if isinstance(what, KeepOut)),
        density_g_per_cm3=density,
        rim=rim,
        rim_rows_mm=_rows(each),
        mark=mark,
        drawn_in=_drawn_in(entry.outline),
        round_keep_outs=tuple(what for what in kept if isinstance(what, RoundKeepOut)),
    )
    for index in range(len(existing)):
        check_existing(counterweight, index, where=each.at("existing", index), notes=notes)
    return counterweight


def _keep_out(places: Places, where: Where, entry: KeepOutSection) -> KeepOut | RoundKeepOut | None:
    """Return what is kept clear of, a ring sector or something round; None where it has faults."""
    if entry.at_radius_mm is not None or entry.diameter_mm is not None:
        if entry.at_radius_mm is None or entry.diameter_mm is None or entry.from_radius_mm is not None:
            where.fault(
                allowed="something round has at_radius, angle and diameter, and nothing of a ring sector"
            )
            return None
        angle = places.angle_deg(where, entry)
        what = entry.name or f"keep-out at {angle:g} degrees, radius {entry.at_radius_mm:g} mm"
        return entry.record(RoundKeepOut, angle_deg=angle, radius_mm=entry.at_radius_mm, what=what)
    if entry.from_radius_mm is None or entry.to_radius_mm is None:
        where.fault(
            allowed="a ring sector has from_radius and to_radius; something round has at_radius, angle and diameter"
        )
        return None
    first, last = places.sector_deg(where, entry)
    if entry.from_radius_mm >= entry.to_radius_mm:
        where.fault(allowed="from_radius must be below to_radius")
    return entry.record(KeepOut, from_angle_deg=first, to_angle_deg=last)


def with_neighbours(
    counterweights: Sequence[Counterweight], throws: Sequence[Throw], journals: Sequence[JournalSection]
) -> tuple[Counterweight, ...]:
    """Return counterweights that keep clear of the crankpins and main journals beside them, fillets included.

    One counts where its end, or its fillet, meets the counterweight's thickness; a crankpin where its fillet is stated.
    """
    found = []
    for each in counterweights:

        def beside(z_mm: float, length_mm: float, fillet_mm: float, each: Counterweight = each) -> bool:
            return abs(z_mm - each.z_mm) <= 0.5 * (length_mm + each.thickness_mm) + fillet_mm

        pins = [
            RoundKeepOut(
                angle_deg=throw.angle_deg,
                radius_mm=throw.radius_mm,
                diameter_mm=throw.pin_diameter_mm + 2.0 * throw.pin_fillet_mm,
                what=f"crankpin {throw.name} with its fillet",
            )
            for throw in throws
            if throw.pin_fillet_mm is not None
            and throw.pin_diameter_mm is not None
            and throw.pin_length_mm is not None
            and beside(throw.z_mm, throw.pin_length_mm, throw.pin_fillet_mm)
        ]
        mains = [
            RoundKeepOut(
                angle_deg=each.angle_deg,
                radius_mm=0.0,
                diameter_mm=journal.diameter_mm + 2.0 * journal.fillet_mm,
                what=f"main journal {journal.name}" + (" with its fillet" if journal.fillet_mm else ""),
            )
            for journal in journals
            if beside(journal.z_mm, journal.length_mm, journal.fillet_mm)
        ]
        found.append(replace(each, round_keep_outs=(*each.round_keep_outs, *pins, *mains)))
    return tuple(found)


def build_outline(each: Placed[CounterweightSection]) -> Outline | None:
    """Return a counterweight's outline; None when it has faults."""
    from geometry_profiles.catalogue import SHAPE_SIZES, outline_of
    from geometry_profiles.outline import OutlineError

    outline, where = each.entry.outline, each.at("outline")
    needed, possible = {**SHAPE_SIZES, **_FROM_ELSEWHERE}[outline.shape]
    given, sound = _stated(
        where, outline, but="shape", needed=needed, possible=possible, what=f"a {outline.shape}"
    )
    for index, point in enumerate(outline.points_mm or []):
        if len(point) != 2:
            where.fault("points", index, given=point, allowed="a point is two numbers, [x, y]")
            sound = False
    if not sound:
        return None
    if outline.points_mm is not None:
        given["points_mm"] = [tuple(point) for point in outline.points_mm]
    if outline.steps is not None:
        given["steps"] = tuple((step.radius_mm, step.half_angle_deg) for step in outline.steps)
    if outline.flats is not None:
        given["flats"] = tuple((flat.offset_mm, flat.angle_deg) for flat in outline.flats)
    try:
        if outline.shape == "drawing":
            return _from_drawing(each.sections, outline)
        if outline.shape == "generic":
            return _generic(outline.profile or "").outline()
        return outline_of(outline.shape, given)
    except OutlineError as error:
        where.fault(allowed=str(error))
        return None


def _generic(name: str) -> GenericProfile:
    """Return a generic profile by its name (OutlineError when there is none like it)."""
    from geometry_profiles.catalogue import generic_profiles
    from geometry_profiles.outline import OutlineError

    found = generic_profiles()
    plain = " ".join(name.replace("_", " ").casefold().split())
    if plain not in found:
        raise OutlineError(f"there is no generic profile `{name}`; there are {', '.join(found)}")
    return found[plain]


def _frame(outline: OutlineSection) -> DrawingFrame:
    """Return where a drawing has shaft axis and centre line (OutlineError when that can't be)."""
    from geometry_profiles.exchange import DrawingFrame
    from geometry_profiles.outline import OutlineError

    origin = outline.origin or [0.0, 0.0]
    if len(origin) != 2:
        raise OutlineError(
            f"origin is {origin}, two numbers are wanted: where the drawing has the shaft axis"
        )
    return DrawingFrame(
        origin=(origin[0], origin[1]),
        centre_line_deg=outline.centre_line_deg or 0.0,
        seen_from_rear=outline.seen_from == "rear",
    )


def _drawn_in(outline: OutlineSection) -> tuple[DrawingFrame, str] | None:
    """Return the frame and the unit in which a plan lies over the drawing that an outline came from."""
    if outline.shape != "drawing":
        return None
    from geometry_profiles.exchange import MM_PER

    return _frame(outline), outline.units if outline.units in MM_PER else "mm"


def _from_drawing(sections: Sections, outline: OutlineSection) -> Outline:
    """Return an outline from a DXF or CSV file beside the file that names it, within the folders that a job may use."""
    from geometry_profiles import shapes
    from geometry_profiles.exchange import (
        MM_PER,
        greatest_rim_mm,
        read_dxf_ring,
        read_points_csv,
    )
    from geometry_profiles.outline import OutlineError

    name = outline.file or ""
    source = sections.source("counterweights")
    if "\0" in name or not name.strip():
        raise OutlineError("file must name a .dxf drawing or a .csv with points")
    file = source.path.parent / name
    if not may_use(file, job_folder=sections.job.path.parent):
        raise OutlineError(
            f"`{name}` is outside the job's folder and no shop folder has it; put it beside the job, or state its folder "
            "(see README, shop folders)"
        )
    frame = _frame(outline)
    if file.suffix.lower() == ".csv":
        unit = outline.units or sections.units("counterweights").length
        points = tuple(
            frame.inward((x / MM_PER[unit], y / MM_PER[unit]), mm_per_unit=MM_PER[unit])
            for x, y in read_points_csv(file, units=unit)
        )
    elif file.suffix.lower() == ".dxf":
        points = read_dxf_ring(file, units=outline.units, layer=outline.layer, frame=frame).points_mm
    else:
        raise OutlineError(f"`{name}` is neither a .dxf drawing nor a .csv with points")
    rim = outline.rim_radius_mm if outline.rim_radius_mm is not None else greatest_rim_mm(points)
    return shapes.points(points, inner_radius_mm=outline.inner_radius_mm or 0.0, rim_radius_mm=rim)


def build_rim(each: Placed[CounterweightSection], outline: Outline) -> RimForm | None:
    """Return the form of a counterweight's rim; None for a plain one, or when it has faults."""
    from geometry_profiles.catalogue import RIM_SIZES, rim_of
    from geometry_profiles.outline import OutlineError

    entry, where = each.entry, each.at("rim")
    if entry.rim is None:
        if entry.outline.shape == "generic":
            found = _generic(entry.outline.profile or "")
            if found.rim_form is not None and abs(found.thickness_mm - entry.thickness_mm) < 1e-6:
                return found.rim()
        return None
    if outline.rim_radius_mm is None:
        where.fault(allowed="this outline has no rim; say its rim_radius")
        return None
    needed, possible = RIM_SIZES[entry.rim.form]
    given, sound = _stated(
        where, entry.rim, but="form", needed=needed, possible=possible, what=f"a {entry.rim.form} rim"
    )
    if not sound:
        return None
    if entry.rim.plates is not None:
        given["plates"] = tuple((plate.thickness_mm, plate.outer_radius_mm) for plate in entry.rim.plates)
    try:
        form = rim_of(
            entry.rim.form, given, outer_radius_mm=outline.rim_radius_mm, thickness_mm=entry.thickness_mm
        )
        lowest = form.least_radius_mm(form.breaks_mm[0], form.breaks_mm[-1])
        if lowest <= outline.inner_radius_mm:
            raise OutlineError(
                f"the rim comes down to radius {lowest:.4g} mm, more than the inner radius "
                f"{outline.inner_radius_mm:g} mm is allowed"
            )
        return form
    except OutlineError as error:
        where.fault(allowed=str(error))
        return None


def _rows(each: Placed[CounterweightSection]) -> tuple[float, ...]:
    entry, where = each.entry, each.at("rim_rows")
    rows = tuple(entry.rim_rows_mm) if entry.rim_rows_mm is not None else (0.0,)
    if not rows:
        where.fault(allowed="at least one row is wanted; [0] is the middle")
        return (0.0,)
    if len(set(rows)) != len(rows) or len(rows) > MOST_RIM_ROWS:
        where.fault(allowed=f"up to {MOST_RIM_ROWS} rows, each named once, are allowed")
    if any(abs(place) >= 0.5 * entry.thickness_mm for place in rows):
        half = where.units.text(0.5 * entry.thickness_mm, "length")
        where.fault(
            allowed="rows are places from the middle, toward the rear, inside the thickness: less than "
            f"{half} either way"
        )
    return tuple(sorted(rows))


def _density(where: Where, density_g_per_cm3: float | None, material: str) -> float | None:
    """Return the density [g/cm3] of a material's name."""
    if density_g_per_cm3 is not None:
        where.fault("material", given=material, allowed="say density or material, not both")
        return density_g_per_cm3
    try:
        return known_material(material).density_g_per_cm3
    except InputError as error:
        where.error(error, "material")
        return None


def build_crankshaft(
    places: Places,
    section: CrankshaftSection | None,
    *,
    throws: tuple[Throw, ...],
    counterweights: tuple[Counterweight, ...],
    shop: Shop,
    notes: list[str],
) -> Crankshaft | None:
    """Return the whole rotor; None when ``[crankshaft]`` is missing or has faults."""
    sections, where = places.sections, places.sections.at("crankshaft")
    drillings = tuple(
        _oil_drilling(places, each, shop) for each in sections.array("oil_drillings", OilDrillingSection)
    )
    if section is None:
        sections.missing("crankshaft", "bearing_1_z and bearing_2_z at least must be said")
        return None
    if section.bearing_1_z_mm == section.bearing_2_z_mm:
        where.fault("bearing_2_z", allowed="the two bearings are at the same z")
    if section.mass_g is not None and section.mass_g < LEAST_CRANKSHAFT_G:
        where.fault(
            "mass",
            given=sections.raw("crankshaft")["mass"],
            allowed=f"this reads as {section.mass_g:g} g, which no crankshaft weighs",
            hint='a bare number is in the file\'s [units] mass; write the unit with it, for example "24.1 kg"',
        )
    if section.mass_g is None and "crankshaft" not in sections.faulty:
        notes.append("[crankshaft] does not say its mass: a grade can't be reckoned")
    if section.centre_of_mass_z_mm is None:
        notes.append("[crankshaft] does not say its centre of mass: the middle of the bearings is taken")
    built = section.built_for_bob_g
    if isinstance(built, dict):
        known = {throw.name for throw in throws}
        for name in built:
            where.check_name("built_for_bob", name, name=name, of="throws", noun="throw")
        left_out = [throw.name for throw in throws if throw.name not in built]
        if left_out and set(built) <= known:
            where.fault(
                "built_for_bob",
                allowed=f"every throw needs its bob; {', '.join(left_out)} has none",
                hint='write one mass for all, or a table: built_for_bob = { "1" = 1729.0, "2" = 1729.5 }',
            )
    density = section.density_g_per_cm3
    if section.material is not None:
        density = _density(where, density, section.material)
    elif density is None:
        density = CRANKSHAFT_DENSITY_G_PER_CM3
        notes.append(f"[crankshaft] does not say its density: {density:g} g/cm3 is taken")
    journals = [each.entry for each in sections.array("journals", JournalSection)]
    return section.record(
        Crankshaft,
        throws=throws,
        counterweights=with_neighbours(counterweights, throws, journals),
        density_g_per_cm3=density or CRANKSHAFT_DENSITY_G_PER_CM3,
        mass_kg=None if section.mass_g is None else section.mass_g / 1000.0,
        oil_drillings=drillings,
        webs=tuple(_web(places, each) for each in sections.array("webs", WebSection)),
    )


def _web(places: Places, each: Placed[WebSection]) -> Web:
    entry = each.entry
    if entry.to_radius_mm - 0.5 * entry.width_mm <= entry.from_radius_mm:
        each.fault(
            "to_radius",
            allowed="an arm is longer than half its width: to_radius is where its round end is farthest out",
        )
    return entry.record(Web, angle_deg=places.angle_deg(each, entry))


def _oil_drilling(places: Places, each: Placed[OilDrillingSection], shop: Shop) -> OilDrilling:
    entry = each.entry
    start, end = (
        # on the axis an angle has no meaning
        ShaftAngle(0.0)
        if side.radius_mm == 0.0 and side.machine_angle_deg is None
        else places.angle_deg(each.at(key), side)
        for key, side in (("from", entry.from_), ("to", entry.to))
    )
    if (entry.from_.z_mm, entry.from_.radius_mm, start) == (entry.to.z_mm, entry.to.radius_mm, end):
        each.fault(allowed="from and to are the same point, a passage has a length")
    return OilDrilling(
        from_z_mm=entry.from_.z_mm,
        from_radius_mm=entry.from_.radius_mm,
        from_angle_deg=start,
        to_z_mm=entry.to.z_mm,
        to_radius_mm=entry.to.radius_mm,
        to_angle_deg=end,
        diameter_mm=entry.diameter_mm,
        clearance_mm=shop.least_wall_mm if entry.clearance_mm is None else entry.clearance_mm,
    )


def _stated(
    where: Where,
    section: Section,
    *,
    but: str,
    needed: Sequence[str],
    possible: Sequence[str],
    what: str,
) -> tuple[dict[str, Any], bool]:
    """Return what is stated of a shape or form, one key left out, and whether its keys are those that it takes.

    A fault is noted for each that it needs and lacks, or has and does not take.
    """
    aliases = {name: field.alias or name for name, field in type(section).model_fields.items()}
    given = {name: value for name, value in section if name != but and value is not None}
    missing = [name for name in needed if name not in given]
    for name in missing:
        where.fault(aliases[name], allowed=f"must be said, for {what}")
    odd = [name for name in given if name not in (*needed, *possible)]
    keys = ", ".join(aliases[each] for each in (*needed, *possible))
    for name in odd:
        where.fault(aliases[name], allowed=f"{what} has no {aliases[name]}; its keys are {keys}")
    return given, not missing and not odd
