"""The crankshaft: throws, counterweights with their outlines and what is already cut, oil drillings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from geometry_profiles.exchange import MM_PER, DrawingFrame
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
from planner.jobfile.schema.sections import Placed, Sections
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
        sections.fault("throws", (), allowed="at least one throw is wanted")
    sections.check_unique("throws", noun="throw")
    hangs: dict[str, str] = {}
    throws = []
    for each in placed:
        entry = each.entry
        rods = entry.rods if entry.rods is not None else len(entry.cylinders)
        if rods < 1:
            sections.fault(
                "throws",
                (each.index, "rods"),
                allowed="how many rods hang on this throw must be said, or its cylinders named",
            )
        elif entry.cylinders and len(entry.cylinders) != rods:
            sections.fault(
                "throws",
                (each.index, "cylinders"),
                given=entry.cylinders,
                allowed=f"the throw has {rods} rods, one cylinder is named for each",
            )
        for place, name in enumerate(entry.cylinders):
            other = hangs.setdefault(name, f"throws[{each.index + 1}]")
            if other != f"throws[{each.index + 1}]" or name in entry.cylinders[:place]:
                sections.fault(
                    "throws",
                    (each.index, "cylinders", place),
                    given=name,
                    allowed=f"a cylinder hangs on one throw only; this one hangs on {other}",
                )
        if (
            entry.pin_bore_mm is not None
            and entry.pin_diameter_mm is not None
            and entry.pin_bore_mm >= entry.pin_diameter_mm
        ):
            sections.fault(
                "throws", (each.index, "pin_bore"), allowed="a bore is smaller than the crankpin it is in"
            )
        throws.append(
            Throw(
                name=entry.name,
                angle_deg=ShaftAngle(
                    places.angle_deg(
                        "throws",
                        (each.index,),
                        angle_deg=entry.angle_deg,
                        machine_angle_deg=entry.machine_angle_deg,
                    )
                ),
                z_mm=entry.z_mm,
                radius_mm=entry.radius_mm,
                rods=max(1, rods),
                cylinders=tuple(entry.cylinders),
                bob_wanted_g=entry.bob_wanted_g,
                pin_diameter_mm=entry.pin_diameter_mm,
                pin_length_mm=entry.pin_length_mm,
                pin_bore_mm=entry.pin_bore_mm,
                pin_fillet_mm=entry.pin_fillet_mm,
            )
        )
    return tuple(throws)


def build_counterweights(places: Places, shop: Shop, *, notes: list[str]) -> tuple[Counterweight, ...]:
    """Return the counterweights."""
    sections = places.sections
    if "counterweights" not in sections:
        sections.missing("counterweights", "at least one counterweight is wanted")
    elif not sections.raw("counterweights"):
        sections.fault("counterweights", (), allowed="at least one counterweight is wanted")
    sections.check_unique("counterweights", noun="counterweight")
    placed = sections.array("counterweights", CounterweightSection)
    built = [_counterweight(places, each, shop, notes=notes) for each in placed]
    return tuple(each for each in built if each is not None)


def _counterweight(
    places: Places, each: Placed[CounterweightSection], shop: Shop, *, notes: list[str]
) -> Counterweight | None:
    sections, entry = places.sections, each.entry
    outline = build_outline(sections, entry, each.index)
    if entry.cuts is not None and len(set(entry.cuts)) != len(entry.cuts):
        sections.fault(
            "counterweights", (each.index, "cuts"), given=entry.cuts, allowed="every kind is named once"
        )
    angle = places.angle_deg(
        "counterweights", (each.index,), angle_deg=entry.angle_deg, machine_angle_deg=entry.machine_angle_deg
    )
    existing = tuple(
        build_existing(places, "counterweights", (each.index, "existing", index), hole, shop)
        for index, hole in enumerate(entry.existing)
    )
    keep_outs = []
    round_ones: list[RoundKeepOut] = []
    for index, sector in enumerate(entry.keep_out):
        location = (each.index, "keep_out", index)
        if sector.at_radius_mm is not None or sector.diameter_mm is not None:
            round_ones += _round(places, location, sector)
            continue
        if sector.from_radius_mm is None or sector.to_radius_mm is None:
            sections.fault(
                "counterweights",
                location,
                allowed="a ring sector has from_radius and to_radius; something round has at_radius, angle and diameter",
            )
            continue
        first, last = places.sector_deg(
            "counterweights",
            location,
            angles_deg=(sector.from_angle_deg, sector.to_angle_deg),
            machine_angles_deg=(sector.from_machine_angle_deg, sector.to_machine_angle_deg),
        )
        if sector.from_radius_mm >= sector.to_radius_mm:
            sections.fault("counterweights", location, allowed="from_radius must be below to_radius")
        keep_outs.append(
            KeepOut(
                from_angle_deg=ShaftAngle(first),
                to_angle_deg=ShaftAngle(last),
                from_radius_mm=sector.from_radius_mm,
                to_radius_mm=sector.to_radius_mm,
            )
        )
    density = entry.density_g_per_cm3
    if entry.material is not None:
        density = _density(sections, "counterweights", (each.index,), density, entry.material)
    if outline is None:
        return None
    possible = tuple(kind for kind in CUT_KINDS if kind != "rim hole" or outline.rim_radius_mm is not None)
    needing = {"rim hole", *RIM_CUTS}
    if entry.cuts is not None and needing & set(entry.cuts) and "rim hole" not in possible:
        sections.fault(
            "counterweights",
            (each.index, "cuts"),
            given=entry.cuts,
            allowed="a rim hole needs a rim, and this outline has none"
            if "rim hole" in entry.cuts
            else "to turn or mill a rim needs one, and this outline has none",
            hint="say outline.rim_radius, or leave "
            + ("rim holes out" if "rim hole" in entry.cuts else "it out"),
        )
    rim = build_rim(sections, entry, index=each.index, outline=outline)
    mark = None
    if entry.mark is not None:
        mark = (
            entry.mark.name,
            places.angle_deg(
                "counterweights",
                (each.index, "mark"),
                angle_deg=entry.mark.angle_deg,
                machine_angle_deg=entry.mark.machine_angle_deg,
            ),
        )
    counterweight = Counterweight(
        name=entry.name,
        break_outs=entry.break_outs,
        z_mm=entry.z_mm,
        angle_deg=ShaftAngle(angle),
        thickness_mm=entry.thickness_mm,
        outline=outline,
        cuts=possible if entry.cuts is None else tuple(entry.cuts),
        existing=existing,
        keep_outs=tuple(keep_outs),
        part=entry.part,
        density_g_per_cm3=density,
        rim=rim,
        rim_rows_mm=_rows(sections, entry, each.index),
        rim_hole_tilt_deg=entry.rim_hole_tilt_deg,
        mark=mark,
        drawn_in=_drawn_in(entry.outline),
        round_keep_outs=tuple(round_ones),
    )
    for index in range(len(existing)):
        check_existing(sections, counterweight, index, location=(each.index, "existing", index), notes=notes)
    return counterweight


def _round(places: Places, location: tuple[int | str, ...], entry: KeepOutSection) -> list[RoundKeepOut]:
    """Return something round that is kept clear of; nothing where it has faults."""
    if entry.at_radius_mm is None or entry.diameter_mm is None or entry.from_radius_mm is not None:
        places.sections.fault(
            "counterweights",
            location,
            allowed="something round has at_radius, angle and diameter, and nothing of a ring sector",
        )
        return []
    angle = places.angle_deg(
        "counterweights", location, angle_deg=entry.angle_deg, machine_angle_deg=entry.machine_angle_deg
    )
    what = entry.name or f"keep-out at {angle:g} degrees, radius {entry.at_radius_mm:g} mm"
    return [
        RoundKeepOut(
            angle_deg=ShaftAngle(angle),
            radius_mm=entry.at_radius_mm,
            diameter_mm=entry.diameter_mm,
            what=what,
        )
    ]


def with_pins(counterweights: Sequence[Counterweight], throws: Sequence[Throw]) -> tuple[Counterweight, ...]:
    """Return counterweights that keep clear of the crankpins that run into them, fillets included.

    A crankpin with a stated fillet counts where its end, or its fillet, meets the counterweight's thickness.
    """
    found = []
    for each in counterweights:
        pins = []
        for throw in throws:
            if throw.pin_fillet_mm is None or throw.pin_diameter_mm is None or throw.pin_length_mm is None:
                continue
            reach = 0.5 * (throw.pin_length_mm + each.thickness_mm) + throw.pin_fillet_mm
            if abs(throw.z_mm - each.z_mm) <= reach:
                pins.append(
                    RoundKeepOut(
                        angle_deg=throw.angle_deg,
                        radius_mm=throw.radius_mm,
                        diameter_mm=throw.pin_diameter_mm + 2.0 * throw.pin_fillet_mm,
                        what=f"crankpin {throw.name} with its fillet",
                    )
                )
        found.append(replace(each, round_keep_outs=(*each.round_keep_outs, *pins)) if pins else each)
    return tuple(found)


def with_journals(
    counterweights: Sequence[Counterweight], journals: Sequence[JournalSection]
) -> tuple[Counterweight, ...]:
    """Return counterweights that keep clear of the main journals beside them, fillets included."""
    found = []
    for each in counterweights:
        beside = tuple(
            RoundKeepOut(
                angle_deg=each.angle_deg,
                radius_mm=0.0,
                diameter_mm=journal.diameter_mm + 2.0 * journal.fillet_mm,
                what=f"main journal {journal.name}" + (" with its fillet" if journal.fillet_mm else ""),
            )
            for journal in journals
            if abs(journal.z_mm - each.z_mm)
            <= 0.5 * (journal.length_mm + each.thickness_mm) + journal.fillet_mm
        )
        found.append(replace(each, round_keep_outs=(*each.round_keep_outs, *beside)) if beside else each)
    return tuple(found)


def build_outline(sections: Sections, entry: CounterweightSection, index: int) -> Outline | None:
    """Return a counterweight's outline; None when it has faults."""
    from geometry_profiles.catalogue import SHAPE_SIZES, outline_of
    from geometry_profiles.outline import OutlineError

    outline = entry.outline
    location = (index, "outline")
    needed, possible = {**SHAPE_SIZES, **_FROM_ELSEWHERE}[outline.shape]
    given, sound = _stated(
        sections, location, outline, but="shape", needed=needed, possible=possible, what=f"a {outline.shape}"
    )
    if "points_mm" in given:
        sound = _check_points(sections, location, given["points_mm"]) and sound
        given["points_mm"] = [tuple(point) for point in given["points_mm"]]
    if not sound:
        return None
    if outline.steps is not None:
        given["steps"] = tuple((each.radius_mm, each.half_angle_deg) for each in outline.steps)
    if outline.flats is not None:
        given["flats"] = tuple((each.offset_mm, each.angle_deg) for each in outline.flats)
    try:
        if outline.shape == "drawing":
            return _from_drawing(sections, outline)
        if outline.shape == "generic":
            return _generic(outline.profile or "").outline()
        return outline_of(outline.shape, given)
    except OutlineError as error:
        sections.fault("counterweights", location, allowed=str(error))
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
    return _frame(outline), outline.units if outline.units in MM_PER else "mm"


def _from_drawing(sections: Sections, outline: OutlineSection) -> Outline:
    """Return an outline from a DXF or CSV file beside the file that names it, within the folders that a job may use."""
    from geometry_profiles import shapes
    from geometry_profiles.exchange import (
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


def build_rim(
    sections: Sections, entry: CounterweightSection, index: int, outline: Outline
) -> RimForm | None:
    """Return the form of a counterweight's rim; None for a plain one, or when it has faults."""
    from geometry_profiles.catalogue import RIM_SIZES, rim_of
    from geometry_profiles.outline import OutlineError

    location = (index, "rim")
    if entry.rim is None:
        if entry.outline.shape == "generic":
            found = _generic(entry.outline.profile or "")
            if found.rim_form is not None and abs(found.thickness_mm - entry.thickness_mm) < 1e-6:
                return found.rim()
        return None
    if outline.rim_radius_mm is None:
        sections.fault("counterweights", location, allowed="this outline has no rim; say its rim_radius")
        return None
    needed, possible = RIM_SIZES[entry.rim.form]
    given, sound = _stated(
        sections,
        location,
        entry.rim,
        but="form",
        needed=needed,
        possible=possible,
        what=f"a {entry.rim.form} rim",
    )
    if not sound:
        return None
    if entry.rim.plates is not None:
        given["plates"] = tuple((each.thickness_mm, each.outer_radius_mm) for each in entry.rim.plates)
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
        sections.fault("counterweights", location, allowed=str(error))
        return None


def _rows(sections: Sections, entry: CounterweightSection, index: int) -> tuple[float, ...]:
    rows = tuple(entry.rim_rows_mm) if entry.rim_rows_mm is not None else (0.0,)
    location = (index, "rim_rows")
    if not rows:
        sections.fault("counterweights", location, allowed="at least one row is wanted; [0] is the middle")
        return (0.0,)
    if len(set(rows)) != len(rows) or len(rows) > MOST_RIM_ROWS:
        sections.fault(
            "counterweights", location, allowed=f"up to {MOST_RIM_ROWS} rows, each named once, are allowed"
        )
    for place in rows:
        if abs(place) >= 0.5 * entry.thickness_mm:
            sections.fault(
                "counterweights",
                location,
                allowed=f"rows are places from the middle, toward the rear, inside the thickness: less than "
                f"{sections.units('counterweights').text(0.5 * entry.thickness_mm, 'length')} either way",
            )
    return tuple(sorted(rows))


def _check_points(sections: Sections, location: tuple[int, str], points: list[list[float]]) -> bool:
    wrong = [index for index, point in enumerate(points) if len(point) != 2]
    for index in wrong:
        sections.fault(
            "counterweights",
            (*location, "points", index),
            given=points[index],
            allowed="a point is two numbers, [x, y]",
        )
    return not wrong


def _density(
    sections: Sections,
    section: str,
    location: tuple[int, ...],
    density_g_per_cm3: float | None,
    material: str,
) -> float | None:
    """Return the density [g/cm3] of a material's name."""
    where: tuple[int | str, ...] = (*location, "material")
    if density_g_per_cm3 is not None:
        sections.fault(section, where, given=material, allowed="say density or material, not both")
        return density_g_per_cm3
    try:
        return known_material(material).density_g_per_cm3
    except InputError as error:
        sections.error(section, where, error)
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
    sections = places.sections
    drillings = tuple(
        _oil_drilling(places, each, shop) for each in sections.array("oil_drillings", OilDrillingSection)
    )
    if section is None:
        sections.missing("crankshaft", "bearing_1_z and bearing_2_z at least must be said")
        return None
    if section.bearing_1_z_mm == section.bearing_2_z_mm:
        sections.fault("crankshaft", ("bearing_2_z",), allowed="the two bearings are at the same z")
    if section.mass_g is not None and section.mass_g < LEAST_CRANKSHAFT_G:
        given = sections.raw("crankshaft")["mass"]
        sections.fault(
            "crankshaft",
            ("mass",),
            given=given,
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
            sections.check_name("crankshaft", ("built_for_bob", name), name, of="throws", noun="throw")
        left_out = [throw.name for throw in throws if throw.name not in built]
        if left_out and set(built) <= known:
            sections.fault(
                "crankshaft",
                ("built_for_bob",),
                allowed=f"every throw needs its bob; {', '.join(left_out)} has none",
                hint='write one mass for all, or a table: built_for_bob = { "1" = 1729.0, "2" = 1729.5 }',
            )
    density = section.density_g_per_cm3
    if section.material is not None:
        density = _density(sections, "crankshaft", (), density, section.material)
    elif density is None:
        density = CRANKSHAFT_DENSITY_G_PER_CM3
        notes.append(f"[crankshaft] does not say its density: {density:g} g/cm3 is taken")
    return Crankshaft(
        throws=throws,
        counterweights=with_journals(
            with_pins(counterweights, throws),
            [each.entry for each in sections.array("journals", JournalSection)],
        ),
        bearing_1_z_mm=section.bearing_1_z_mm,
        bearing_2_z_mm=section.bearing_2_z_mm,
        density_g_per_cm3=density or CRANKSHAFT_DENSITY_G_PER_CM3,
        mass_kg=None if section.mass_g is None else section.mass_g / 1000.0,
        centre_of_mass_z_mm=section.centre_of_mass_z_mm,
        service_speed_rpm=section.service_speed_rpm,
        built_for_bob_g=section.built_for_bob_g,
        built_for_percent=section.built_for_percent,
        oil_drillings=drillings,
        webs=tuple(_web(places, each) for each in sections.array("webs", WebSection)),
    )


def _web(places: Places, each: Placed[WebSection]) -> Web:
    entry = each.entry
    if entry.to_radius_mm - 0.5 * entry.width_mm <= entry.from_radius_mm:
        places.sections.fault(
            "webs",
            (each.index, "to_radius"),
            allowed="an arm is longer than half its width: to_radius is where its round end is farthest out",
        )
    return Web(
        angle_deg=ShaftAngle(
            places.angle_deg(
                "webs", (each.index,), angle_deg=entry.angle_deg, machine_angle_deg=entry.machine_angle_deg
            )
        ),
        z_mm=entry.z_mm,
        thickness_mm=entry.thickness_mm,
        width_mm=entry.width_mm,
        from_radius_mm=entry.from_radius_mm,
        to_radius_mm=entry.to_radius_mm,
    )


def _oil_drilling(places: Places, each: Placed[OilDrillingSection], shop: Shop) -> OilDrilling:
    entry = each.entry
    start, end = (
        places.angle_deg(
            "oil_drillings",
            (each.index, key),
            # on the axis an angle has no meaning
            angle_deg=0.0 if side.radius_mm == 0.0 and side.machine_angle_deg is None else side.angle_deg,
            machine_angle_deg=side.machine_angle_deg,
        )
        for key, side in (("from", entry.from_), ("to", entry.to))
    )
    if (entry.from_.z_mm, entry.from_.radius_mm, start) == (entry.to.z_mm, entry.to.radius_mm, end):
        places.sections.fault(
            "oil_drillings", (each.index,), allowed="from and to are the same point, a passage has a length"
        )
    return OilDrilling(
        from_z_mm=entry.from_.z_mm,
        from_radius_mm=entry.from_.radius_mm,
        from_angle_deg=ShaftAngle(start),
        to_z_mm=entry.to.z_mm,
        to_radius_mm=entry.to.radius_mm,
        to_angle_deg=ShaftAngle(end),
        diameter_mm=entry.diameter_mm,
        clearance_mm=shop.least_wall_mm if entry.clearance_mm is None else entry.clearance_mm,
    )


def _stated(
    sections: Sections,
    location: Sequence[str | int],
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
    fields = type(section).model_fields
    given = {
        name: getattr(section, name) for name in fields if name != but and getattr(section, name) is not None
    }
    aliases = {name: field.alias or name for name, field in fields.items()}
    sound = True
    for name in needed:
        if name not in given:
            sections.fault("counterweights", (*location, aliases[name]), allowed=f"must be said, for {what}")
            sound = False
    for name in given:
        if name not in (*needed, *possible):
            keys = ", ".join(aliases[each] for each in (*needed, *possible))
            sections.fault(
                "counterweights",
                (*location, aliases[name]),
                allowed=f"{what} has no {aliases[name]}; its keys are {keys}",
            )
            sound = False
    return given, sound
