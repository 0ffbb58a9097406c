"""What sizes a crankshaft, its parts and its machine can have: beyond reason is refused, unusual is questioned.

All bounds stand here, once, in the field's terms; the file reading and the questions of ``start`` share them.  They are
common practice (from the lawn mower's single to the ship's auxiliary diesel), chosen wide on purpose: their use is to catch
a slipped decimal, a wrong unit and two answers swapped, not to judge an engine.  ``[plausible]`` widens them.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

from planner.engine.parts import STANDARD_PARTS, PartSet
from planner.errors import InputError
from planner.frames import TwoPlanes
from planner.jobfile.faults import did_you_mean, listed
from planner.quantity import Kind, UnitSystem
from planner.quantity_reading import find_unit
from planner.records import dataclass
from planner.rotor.drills import is_named_drill, parse_drill_mm

if TYPE_CHECKING:
    from planner.cuts.cut import Shop
    from planner.jobfile.schema.sections import Sections, Where
    from planner.rotor.crankshaft import Counterweight, Crankshaft


@dataclass(frozen=True)
class Bound:
    """Bounds of one kind of size.

    Attributes
    ----------
    what : str
        What it is, with its article, as in "300 kg is unusual for a crankshaft".
    kind : Kind
        Of its unit.
    refused_below, unusual_below, unusual_above, refused_above : str
        As typed, with unit.  Zero is left to the field's own check.
    """

    what: str
    kind: Kind
    refused_below: str
    unusual_below: str
    unusual_above: str
    refused_above: str

    @property
    def inside(self) -> tuple[float, float, float, float]:
        """The four bounds in inner units (mm, g, g/cm3, rpm)."""
        return _inside(self)


@cache
def _inside(bound: Bound) -> tuple[float, float, float, float]:
    units = UnitSystem()
    low, few, many, high = (
        units.parse(text, bound.kind)
        for text in (bound.refused_below, bound.unusual_below, bound.unusual_above, bound.refused_above)
    )
    return low, few, many, high


BOUNDS: dict[str, Bound] = {
    "crankshaft_mass": Bound("a crankshaft", "mass", "1 kg", "2 kg", "300 kg", "2000 kg"),
    "throw_radius": Bound(
        "a throw's radius (half the stroke)", "length", "8 mm", "18 mm", "150 mm", "400 mm"
    ),
    "counterweight_radius": Bound("a counterweight's radius", "length", "15 mm", "30 mm", "250 mm", "700 mm"),
    "counterweight_thickness": Bound(
        "a counterweight's thickness", "length", "2 mm", "6 mm", "80 mm", "250 mm"
    ),
    "correction_radius": Bound("a correction radius", "length", "8 mm", "20 mm", "250 mm", "700 mm"),
    "hole_depth": Bound("the depth of a hole", "length", "0.1 mm", "1 mm", "120 mm", "300 mm"),
    "drill": Bound("a drill for counterweights", "length", "1 mm", "3 mm", "40 mm", "80 mm"),
    "slug": Bound("a heavy-metal slug", "length", "3 mm", "6 mm", "51 mm", "120 mm"),
    "wall": Bound("a wall", "length", "0 mm", "0 mm", "15 mm", "50 mm"),
    "rod_length": Bound("a connecting rod", "length", "30 mm", "70 mm", "400 mm", "1500 mm"),
    "bob": Bound("the bob mass of one throw", "mass", "20 g", "100 g", "12 kg", "150 kg"),
    "spin_speed": Bound(
        "a spin on the balancing machine", "speed", "20 rpm", "80 rpm", "3000 rpm", "12000 rpm"
    ),
    "service_speed": Bound("an engine's speed", "speed", "40 rpm", "300 rpm", "15000 rpm", "30000 rpm"),
    "reading": Bound("an unbalance of a crankshaft", "unbalance", "0 g*mm", "0 g*mm", "1e7 g*mm", "1e9 g*mm"),
    "density": Bound("a crankshaft's metal", "density", "2.5 g/cm3", "6.6 g/cm3", "8.3 g/cm3", "9 g/cm3"),
    "counterweight_density": Bound(
        "a counterweight's metal", "density", "2.5 g/cm3", "6.6 g/cm3", "9 g/cm3", "22.6 g/cm3"
    ),
    "slug_density": Bound("heavy metal", "density", "7 g/cm3", "11 g/cm3", "19.4 g/cm3", "22.6 g/cm3"),
    "filling_density": Bound(
        "what fills a hole", "density", "0.8 g/cm3", "2.5 g/cm3", "19.4 g/cm3", "22.6 g/cm3"
    ),
    "piston": Bound("a piston", "mass", "10 g", "50 g", "2.5 kg", "60 kg"),
    "pin": Bound("a piston pin", "mass", "2 g", "10 g", "1.2 kg", "30 kg"),
    "rings": Bound("a piston's rings", "mass", "0.5 g", "3 g", "300 g", "5 kg"),
    "clips": Bound("a piston's clips", "mass", "0.05 g", "0.2 g", "30 g", "500 g"),
    "rod_small_end": Bound("a rod's small end", "mass", "5 g", "25 g", "2 kg", "40 kg"),
    "rod_big_end": Bound("a rod's big end", "mass", "10 g", "50 g", "4 kg", "80 kg"),
    "bearing_shells": Bound("a rod's bearing shells", "mass", "1 g", "5 g", "400 g", "5 kg"),
    "oil_per_throw": Bound("the oil in one throw", "mass", "0.1 g", "0.5 g", "60 g", "1 kg"),
}
"""Name, as a key of ``[plausible]``, to its bounds."""

SWITCHES: dict[str, str] = {
    "throws_at_one_angle": "all throws stand at one angle, and that is right",
    "bearings_swapped": "bearing 1 is the rear one, and that is right",
    "centre_of_mass_outside": "the centre of mass lies outside the bearings",
    "places": "parts lie far from the bearings, and that is right",
    "wide_keep_outs": "keep-outs span more than half a turn",
    "parts_together": "the parts' weights are right beside each other",
    "bobs_off": "spins are made with bobs far from what is wanted",
    "counterweights_heavy": "the counterweights weigh what is reckoned",
    "drills_too_large": "no drill fits any counterweight, and that is known",
}
"""Names of what is questioned besides sizes; ``name = true`` in ``[plausible]`` says that it is right."""

Path = tuple[str, ...]

# where each bound holds; "[]" is every entry of a list, "*" every key of a table
_PLACES: tuple[tuple[Path, str], ...] = (
    (("crankshaft", "mass"), "crankshaft_mass"),
    (("tolerance", "drive_mass"), "crankshaft_mass"),
    (("crankshaft", "density"), "density"),
    (("crankshaft", "service_speed_rpm"), "service_speed"),
    (("crankshaft", "built_for_bob"), "bob"),
    (("throws", "[]", "radius"), "throw_radius"),
    (("throws", "[]", "bob_wanted"), "bob"),
    (("bobs", "wanted"), "bob"),
    (("bobs", "wanted", "*"), "bob"),
    (("counterweights", "[]", "thickness"), "counterweight_thickness"),
    (("counterweights", "[]", "density"), "counterweight_density"),
    (("counterweights", "[]", "outline", "outer_radius"), "counterweight_radius"),
    (("counterweights", "[]", "outline", "rim_radius"), "counterweight_radius"),
    (("counterweights", "[]", "existing", "[]", "diameter"), "drill"),
    (("counterweights", "[]", "existing", "[]", "depth"), "hole_depth"),
    (("counterweights", "[]", "existing", "[]", "radius"), "correction_radius"),
    (("counterweights", "[]", "existing", "[]", "filled_density"), "filling_density"),
    (("planes", "left_radius"), "correction_radius"),
    (("planes", "right_radius"), "correction_radius"),
    (("cylinders", "[]", "rod_length"), "rod_length"),
    (("spins", "[]", "speed_rpm"), "spin_speed"),
    (("spins", "[]", "left", "amount"), "reading"),
    (("spins", "[]", "right", "amount"), "reading"),
    (("mounted", "[]", "unbalance"), "reading"),
    (("trials", "[]", "unbalance"), "reading"),
    (("known_errors", "[]", "left", "amount"), "reading"),
    (("known_errors", "[]", "right", "amount"), "reading"),
    (("spins", "[]", "bobs"), "bob"),
    (("spins", "[]", "bobs", "*"), "bob"),
    (("spins", "[]", "known_mass", "radius"), "correction_radius"),
    (("trials", "[]", "speed_rpm"), "spin_speed"),
    (("trials", "[]", "bobs"), "bob"),
    (("trials", "[]", "bobs", "*"), "bob"),
    (("trials", "[]", "radius"), "correction_radius"),
    (("influence", "speed_rpm"), "spin_speed"),
    (("shop", "drills", "[]"), "drill"),
    (("shop", "slug_diameters", "[]"), "slug"),
    (("shop", "greatest_depth"), "hole_depth"),
    (("shop", "least_depth"), "hole_depth"),
    (("shop", "least_wall"), "wall"),
    (("shop", "slug_density"), "slug_density"),
    (("fixed_cuts", "[]", "depth"), "hole_depth"),
    (("fixed_cuts", "[]", "radius"), "correction_radius"),
    (("cuts_made", "[]", "depth"), "hole_depth"),
    (("cuts_made", "[]", "radius"), "correction_radius"),
    *(
        (("parts", name, *rest), name)
        for name in STANDARD_PARTS
        for rest in ((), ("[]",), ("mass",), ("mass", "[]"))
    ),
)

# not to be widened: a smaller step or a longer list makes tables that no computer finishes
_WORK: tuple[tuple[Path, Kind | Literal["number"], float, float, str], ...] = (
    (("shop", "depth_step"), "length", 0.01, math.inf, "a step of depths is 0.01 mm or more"),
    (("shop", "rim_cut_step"), "length", 0.01, math.inf, "a step off the rim is 0.01 mm or more"),
    (("shop", "slug_radius_step"), "length", 0.01, math.inf, "a step of radii is 0.01 mm or more"),
    (("shop", "angle_step"), "number", 0.05, math.inf, "a step of angles is 0.05 degrees or more"),
    (("throws", "[]", "rods"), "number", 0, 12, "no throw carries more than 12 rods"),
)
GREATEST_DRILLS = 60
"""Drills and slugs that a shop may list."""


class Widened:
    """The bounds as ``[plausible]`` of a job's files widens them, and what it says is right."""

    def __init__(self, sections: Sections | None = None) -> None:
        self.inside: dict[str, tuple[float, float, float, float]] = {}
        self.right: set[str] = set()
        raw = sections.raw("plausible") if sections is not None else None
        if sections is None or raw is None:
            return
        if not isinstance(raw, Mapping):
            sections.at("plausible").fault(given=raw, allowed="a table is wanted here, [plausible]")
            return
        for key, value in raw.items():
            self._read(sections.at("plausible", str(key)), str(key), value)

    def _read(self, where: Where, key: str, value: Any) -> None:
        if key in SWITCHES:
            if not isinstance(value, bool):
                where.fault(given=value, allowed="true or false is wanted here")
            elif value:
                self.right.add(key)
            return
        bound = BOUNDS.get(key)
        if bound is None:
            known = (*BOUNDS, *SWITCHES)
            where.fault(
                given=value,
                allowed="there is no such bound",
                hint=did_you_mean(key, known) or f"the keys here are {listed(known)}",
            )
            return
        given = value if isinstance(value, list) else [value]
        sizes = [size for each in given if (size := _parsed(each, bound.kind, where.units)) is not None]
        if len(sizes) != len(given) or not sizes:
            where.fault(
                given=value,
                allowed="the least and the greatest that are right are wanted",
                hint=f'for example {key} = ["{bound.refused_below}", "{bound.refused_above}"]',
            )
            return
        low, few, many, high = bound.inside
        self.inside[key] = (min(low, *sizes), min(few, *sizes), max(many, *sizes), max(high, *sizes))

    def of(self, name: str) -> tuple[float, float, float, float]:
        """Return refused below, unusual below, unusual above, refused above, in inner units."""
        return self.inside.get(name, BOUNDS[name].inside)

    def odd(
        self,
        where: Where,
        words: str,
        switch: str,
        *,
        refused: bool = False,
        hint: str = "",
        asked: str = ": is that right?",
    ) -> Iterator[str]:
        """Yield the question about something odd unless it is said to be right; what is ``refused`` is a fault instead."""
        if switch in self.right:
            return
        if refused:
            where.fault(allowed=words, hint=hint)
        else:
            yield f"{where.path}: {words}{asked} If so: `[plausible] {switch} = true`"


@dataclass(frozen=True, kw_only=True)
class Judged:
    """What is wrong with a size: ``refused`` or only unusual, and in words what is allowed and what to do."""

    refused: bool
    words: str
    hint: str


def judge_size(
    name: str, value: float, *, units: UnitSystem, widened: Widened | None = None
) -> Judged | None:
    """Return what is wrong with a size in inner units, None when nothing is."""
    bound = BOUNDS[name]
    low, few, many, high = BOUNDS[name].inside if widened is None else widened.of(name)
    # an oil of 0 g or a known zero of a list is a statement, not a size
    if value == 0.0 or few <= value <= many:
        return None
    size = _said(value, bound.kind, units)
    refused = not low <= value <= high
    if refused:
        words = f"{size} is beyond reason for {bound.what}: {_span(low, high, bound.kind, units)} is allowed"
        hint = "is the unit right, or did the decimal point slip? what is right all the same: " + _line(
            name, size
        )
    else:
        words = f"{size} is unusual for {bound.what}: {_span(few, many, bound.kind, units)} is usual. Is it right?"
        hint = _line(name, size)
    return Judged(refused=refused, words=words, hint=hint)


def refuse_beyond_reason(
    name: str, value: float, *, what: str, units: UnitSystem, widened: Widened | None = None
) -> None:
    """Refuse a size that was typed elsewhere than in a file.

    Parameters
    ----------
    name : str
        Of `BOUNDS`; any other name is not judged.
    value : float
        In inner units.
    what : str
        What the user calls it: an option, a column.

    Raises
    ------
    InputError
        If it is beyond reason; what is only unusual passes.
    """
    if name not in BOUNDS:
        return
    judged = judge_size(name, value, units=units, widened=widened)
    if judged is not None and judged.refused:
        raise InputError(
            f"{what}: {judged.words}",
            hint="is the unit right, or did the decimal point slip?" if widened is None else judged.hint,
        )


def check_sizes(sections: Sections, widened: Widened) -> tuple[str, ...]:
    """Note every size that can't be as a fault; return the unusual ones as questions, each with its key path."""
    questions: dict[tuple[str, str], str] = {}
    for path, name in _PLACES:
        section = path[0]
        raw = sections.raw(section)
        if raw is None:
            continue
        units, kind = sections.units(section), BOUNDS[name].kind
        if section == "spins" and path[-1] == "amount":
            shown = _shown_in(sections, units)
            if shown is None:
                continue
            units = shown
        for location, typed in _leaves(raw, path[1:], ()):
            value = _parsed(typed, kind, units, drill=name in ("drill", "slug"))
            if value is None:
                continue
            judged = judge_size(name, value, units=units, widened=widened)
            if judged is None:
                continue
            where = sections.at(section, *location)
            if any(fault.path == where.path for fault in sections.faults.found):
                continue
            if judged.refused:
                where.fault(given=typed, allowed=judged.words, hint=judged.hint)
            else:
                # a list of eight alike pistons is one question
                asked = f"{where.path}: {judged.words} If so: {judged.hint}"
                questions.setdefault((name, judged.words), asked)
    _check_work(sections)
    return tuple(questions.values())


def _shown_in(sections: Sections, units: UnitSystem) -> UnitSystem | None:
    """Return the units of what a display of unbalance shows; None for one that shows masses: they have bounds of no kind."""
    machine = sections.raw("machine")
    said = machine if isinstance(machine, Mapping) else {}
    unit = said.get("display_unit")
    if said.get("amounts") == "mass":
        return None
    return units.shown_in(unit) if isinstance(unit, str) and find_unit(unit, "unbalance") else units


def _check_work(sections: Sections) -> None:
    for path, kind, least, most, words in _WORK:
        raw = sections.raw(path[0])
        if raw is None:
            continue
        for location, typed in _leaves(raw, path[1:], ()):
            if kind == "number":
                value = float(typed) if isinstance(typed, int | float) and abs(typed) < 1e300 else None
            else:
                value = _parsed(typed, kind, sections.units(path[0]))
            # zero and less have a fault of their own
            if value is not None and value > 0.0 and not least <= value <= most:
                sections.at(path[0], *location).fault(given=typed, allowed=words)
    shop = sections.raw("shop")
    for key in ("drills", "slug_diameters", "slug_lengths"):
        sizes = shop.get(key) if isinstance(shop, Mapping) else None
        if isinstance(sizes, list) and len(sizes) > GREATEST_DRILLS:
            allowed = f"no more than {GREATEST_DRILLS} sizes are planned with"
            sections.at("shop", key).fault(given=len(sizes), allowed=allowed)


def check_together(
    sections: Sections,
    widened: Widened,
    *,
    crankshaft: Crankshaft | None,
    planes_z_mm: TwoPlanes[float] | None,
    shop: Shop,
    parts: PartSet | None,
    wanted_g: Mapping[str, float] | None,
) -> tuple[str, ...]:
    """Note what can't be together as faults; return what is odd together as questions."""
    if crankshaft is None or sections.faulty & {"crankshaft", "throws", "counterweights"}:
        questions = []
    else:
        questions = [
            *_bearings(sections, widened, crankshaft),
            *_centre_of_mass(sections, widened, crankshaft),
            *_beyond(sections, widened, crankshaft, planes_z_mm),
            *_throw_angles(sections, widened, crankshaft),
            *_keep_outs(sections, widened, crankshaft),
            *_counterweight_mass(sections, widened, crankshaft),
            *_drills(sections, widened, crankshaft, shop),
        ]
    weights_g = {} if parts is None else {each.name: each.masses_g for each in parts.parts}
    for words in odd_parts(weights_g):
        questions += widened.odd(sections.at("parts"), words, "parts_together", asked="")
    questions += _bobs(sections, widened, wanted_g)
    return tuple(questions)


def odd_parts(weights_g: Mapping[str, Sequence[float]]) -> Iterator[str]:
    """Yield what is odd between the weights of parts, in words.

    Parameters
    ----------
    weights_g : mapping of str to sequence of float
        Part to weights [g]; parts that are not known are left out.
    """
    for lighter, heavier, words in (
        ("rod_small_end", "rod_big_end", "a rod's big end is lighter than its small end"),
        ("pin", "piston", "a piston pin is heavier than its piston"),
        ("rings", "piston", "a piston's rings are heavier than the piston"),
        ("clips", "pin", "a piston's clips are heavier than its pin"),
        ("bearing_shells", "rod_big_end", "the bearing shells are heavier than the rod's big end"),
        ("oil_per_throw", "rod_big_end", "the oil in a throw is heavier than a rod's big end"),
    ):
        light, heavy = weights_g.get(lighter), weights_g.get(heavier)
        if light and heavy and max(light) > min(heavy):
            yield f"{words} ({max(light):g} g beside {min(heavy):g} g): were answers swapped or shifted by one?"


def _bearings(sections: Sections, widened: Widened, crankshaft: Crankshaft) -> Iterator[str]:
    first, second = crankshaft.bearing_1_z_mm, crankshaft.bearing_2_z_mm
    units = sections.units("crankshaft")
    where = sections.at("crankshaft", "bearing_1_z")
    if first > second:
        words = (
            f"bearing 1 is the front one and z runs from the front to the rear, but it stands at {_mm(first, units)}, behind "
            f"bearing 2 at {_mm(second, units)}: are the two swapped, or was z measured from the rear?"
        )
        yield from widened.odd(where, words, "bearings_swapped", asked="")
    low, high = min(first, second), max(first, second)
    if high - low < 15.0 or high - low > 6000.0:
        allowed = f"the bearings are {_mm(high - low, units)} apart: 15 mm to 6000 mm is allowed"
        sections.at("crankshaft", "bearing_2_z").fault(allowed=allowed, hint="is the unit right?")
    outside = [throw for throw in crankshaft.throws if not low <= throw.z_mm <= high]
    if outside and len(outside) == len(crankshaft.throws):
        words = (
            f"no throw stands between the bearings ({_mm(low, units)} to {_mm(high, units)}): "
            "were the bearings measured from another zero?"
        )
        hint = "z of all parts counts from one zero"
        yield from widened.odd(where, words, "places", refused=len(outside) > 1, hint=hint, asked="")
        return
    ends = [throw.z_mm for throw in crankshaft.throws]
    for each in crankshaft.counterweights:
        ends += [each.z_mm - each.thickness_mm / 2.0, each.z_mm + each.thickness_mm / 2.0]
    start, stop = min(ends), max(ends)
    length = stop - start
    for key, place in (("bearing_1_z", first), ("bearing_2_z", second)):
        gap = max(start - place, place - stop, 0.0)
        if gap > 0.5 * length + 100.0:
            words = f"the bearing stands {_mm(gap, units)} away from every throw and counterweight"
            slipped, hint = gap > 6.0 * length + 1000.0, "did the decimal point slip?"
            where = sections.at("crankshaft", key)
            yield from widened.odd(where, words, "places", refused=slipped, hint=hint)


def _centre_of_mass(sections: Sections, widened: Widened, crankshaft: Crankshaft) -> Iterator[str]:
    where = sections.at("crankshaft", "centre_of_mass_z")
    low, high = sorted((crankshaft.bearing_1_z_mm, crankshaft.bearing_2_z_mm))
    centre = crankshaft.centre_of_mass_z_mm
    if centre is not None and not low <= centre <= high:
        far = max(low - centre, centre - high) > 0.5 * (high - low)
        span = f"{_mm(low, where.units)} to {_mm(high, where.units)}"
        words = f"the centre of mass lies outside the bearings ({span})"
        words += ", more than half their distance" if far else ""
        yield from widened.odd(where, words, "centre_of_mass_outside", refused=far)


def _beyond(
    sections: Sections, widened: Widened, crankshaft: Crankshaft, planes_z_mm: TwoPlanes[float] | None
) -> Iterator[str]:
    """Parts far beyond the bearings: a slipped decimal, or another zero."""
    low, high = sorted((crankshaft.bearing_1_z_mm, crankshaft.bearing_2_z_mm))
    span = high - low
    places: list[tuple[Where, float, float]] = []
    for section, parts in (("throws", crankshaft.throws), ("counterweights", crankshaft.counterweights)):
        index_of = {name: index for index, name in enumerate(sections.names(section))}
        places += [
            (sections.at(section, index_of[each.name], "z"), each.z_mm, 1.0)
            for each in parts
            if each.name in index_of
        ]
    if planes_z_mm is not None and "planes" in sections:
        places += [(sections.at("planes", side), z, 2.0) for side, z in planes_z_mm.items()]
    hint = "did the decimal point slip, or is the unit wrong?"
    for where, place, times in places:
        units = where.units
        beyond = max(low - place, place - high, 0.0)
        if beyond > times * (0.4 * span + 60.0):
            words = f"{_mm(place, units)} lies {_mm(beyond, units)} beyond the bearings ({_mm(low, units)} to {_mm(high, units)})"
            yield from widened.odd(where, words, "places", refused=beyond > times * (span + 200.0), hint=hint)


def _throw_angles(sections: Sections, widened: Widened, crankshaft: Crankshaft) -> Iterator[str]:
    throws = crankshaft.throws
    turned = [abs((throw.angle_deg - throws[0].angle_deg + 180.0) % 360.0 - 180.0) for throw in throws]
    if len(throws) < 3 or max(turned) > 1.0:
        return
    words = f"all {len(throws)} throws stand at one angle, which no engine has"
    hint = (
        "`bobplan engine --list` has the angles of the usual layouts; if it is right: "
        "`[plausible] throws_at_one_angle = true`"
    )
    yield from widened.odd(
        sections.at("throws"), words, "throws_at_one_angle", refused=len(throws) >= 4, hint=hint
    )


def _keep_outs(sections: Sections, widened: Widened, crankshaft: Crankshaft) -> Iterator[str]:
    index_of = {name: index for index, name in enumerate(sections.names("counterweights"))}
    hint = (
        "a keep-out runs counter-clockwise, seen from the front, from from_angle to to_angle; if it is "
        "right: `[plausible] wide_keep_outs = true`"
    )
    for each in crankshaft.counterweights:
        for place, sector in enumerate(each.keep_outs):
            where = sections.at("counterweights", index_of[each.name], "keep_out", place)
            turn = sector.to_angle_deg - sector.from_angle_deg
            width = turn % 360.0 or 360.0
            if abs(turn) < 360.0 - 1e-9 and width > 180.0:
                words = (
                    f"from {sector.from_angle_deg:g} counter-clockwise to {sector.to_angle_deg:g} it spans {width:g} degrees: "
                    "are from and to reversed?"
                )
                yield from widened.odd(
                    where, words, "wide_keep_outs", refused=width > 270.0, hint=hint, asked=""
                )
            rim = each.outline.greatest_radius_mm
            if sector.from_radius_mm >= rim:
                begins, end = _mm(sector.from_radius_mm, where.units), _mm(rim, where.units)
                words = f"it begins at radius {begins}, beyond the rim at {end}, and keeps nothing out"
                yield from widened.odd(where, words, "wide_keep_outs")


def _counterweight_mass(sections: Sections, widened: Widened, crankshaft: Crankshaft) -> Iterator[str]:
    if crankshaft.mass_kg is None:
        return
    total_kg = sum(_mass_kg(each, crankshaft) for each in crankshaft.counterweights if not each.part)
    if total_kg > crankshaft.mass_kg:
        words = (
            f"by their sizes they weigh {total_kg:.3g} kg, the whole crankshaft weighs {crankshaft.mass_kg:.3g} kg "
            "(crankshaft.mass): is a radius, a thickness or the mass wrong?"
        )
        yield from widened.odd(sections.at("counterweights"), words, "counterweights_heavy", asked="")


def _mass_kg(counterweight: Counterweight, crankshaft: Crankshaft) -> float:
    points = counterweight.outline.boundary_mm
    twice = sum(x * v - u * y for (x, y), (u, v) in zip(points, (*points[1:], points[0]), strict=True))
    density = counterweight.density_g_per_cm3 or crankshaft.density_g_per_cm3
    return abs(twice) / 2.0 * counterweight.thickness_mm * density * 1e-6


def _drills(sections: Sections, widened: Widened, crankshaft: Crankshaft, shop: Shop) -> Iterator[str]:
    """Yield a question when no drill fits any counterweight, for the kinds of hole that may be drilled."""
    if "shop" in sections.faulty:
        return
    room = [
        each.thickness_mm - 2.0 * shop.least_wall_mm if kind == "rim hole" else _radial_room_mm(each, shop)
        for each in crankshaft.counterweights
        for kind in set(each.cuts) & set(shop.allow) & {"rim hole", "face hole"}
    ]
    if not room or min(shop.drills_mm) + shop.hole_oversize_mm <= max(room) + 1e-9:
        return
    units = sections.units("shop")
    words = (
        f"no drill fits any counterweight: with walls of {_mm(shop.least_wall_mm, units)} there is room for "
        f"{_mm(max(max(room), 0.0), units)} at most, the smallest drill is {_mm(min(shop.drills_mm), units)}."
    )
    yield from widened.odd(sections.at("shop", "drills"), words, "drills_too_large", asked="")


def _radial_room_mm(counterweight: Counterweight, shop: Shop) -> float:
    outline = counterweight.outline
    return outline.greatest_radius_mm - shop.least_wall_mm - outline.inner_radius_mm


def _bobs(sections: Sections, widened: Widened, wanted_g: Mapping[str, float] | None) -> Iterator[str]:
    """Yield a question about the newest spin's bobs when they are far from what is wanted."""
    spins = sections.raw("spins")
    if not wanted_g or not isinstance(spins, list) or not spins:
        return
    typed = spins[-1].get("bobs") if isinstance(spins[-1], Mapping) else None
    units = sections.units("spins")
    given = typed if isinstance(typed, Mapping) else dict.fromkeys(wanted_g, typed)
    for name, value in given.items():
        wanted, on = wanted_g.get(str(name)), _parsed(value, "mass", units)
        if wanted and on and not 1.0 / 3.0 <= on / wanted <= 3.0:
            words = f"{_said(on, 'mass', units)} was on, {_said(wanted, 'mass', units)} is wanted"
            where = sections.at("spins", len(spins) - 1, "bobs")
            yield from widened.odd(where, words, "bobs_off", asked=": is the unit right?")
            return


def right_lines(questions: Sequence[str]) -> dict[str, str]:
    """Return what to write under ``[plausible]`` when what is asked is right: keys to their values as TOML."""
    found: dict[str, str] = {}
    for key, value in re.findall(r"`\[plausible\] (\w+) = ([^`]+)`", "\n".join(questions)):
        there = found.get(key)
        # two unusual sizes of one kind: both are right
        found[key] = value if there in (None, value) else f"[{there.strip('[]')}, {value}]"
    return found


def _line(name: str, size: str) -> str:
    return f'`[plausible] {name} = "{size}"`'


def _leaves(
    here: Any, path: Path, location: tuple[str | int, ...]
) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    """Yield location and value of the numbers and texts that a path leads to."""
    # an array of tables begins with the list itself
    if not path:
        if isinstance(here, str | int | float) and not isinstance(here, bool):
            yield location, here
        return
    first, *rest = path
    if first == "[]":
        for index, each in enumerate(here if isinstance(here, list) else ()):
            yield from _leaves(each, tuple(rest), (*location, index))
    elif isinstance(here, Mapping):
        for key in here if first == "*" else (first,) if first in here else ():
            yield from _leaves(here[key], tuple(rest), (*location, str(key)))


def _parsed(typed: object, kind: Kind, units: UnitSystem, *, drill: bool = False) -> float | None:
    """Return a size in inner units, None when it can't be read: that is a fault of its own."""
    if isinstance(typed, bool) or not isinstance(typed, str | int | float):
        return None
    try:
        if drill and isinstance(typed, str) and is_named_drill(typed):
            return parse_drill_mm(typed, units)
        return units.parse(typed, kind)
    except InputError:
        return None


def _mm(length_mm: float, units: UnitSystem) -> str:
    return _said(length_mm, "length", units)


def _said(value: float, kind: Kind, units: UnitSystem) -> str:
    """Return a size for a message: in the file's unit, masses from a kilogram on in kilograms."""
    unit = units.unit_of(kind)
    if kind == "mass" and unit == "g" and abs(value) >= 1000.0:
        return f"{value / 1000.0:.6g} kg"
    text = units.text(value, kind, digits=6, with_unit=False)
    number = text.rstrip("0").rstrip(".") if "." in text else text
    return f"{float(number):.6g} {unit}" if re.fullmatch(r"-?[0-9.]+", number) else f"{value:.6g} {unit}"


def _span(low: float, high: float, kind: Kind, units: UnitSystem) -> str:
    return f"{_said(low, kind, units)} to {_said(high, kind, units)}"
