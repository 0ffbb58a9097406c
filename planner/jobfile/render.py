"""Records as the lines of a file: in the file's own units, rounded so that they read like typed numbers."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping

from planner.cuts.cut import Cut, Shop
from planner.frames import DrillSettings, MachineConvention, SideReading
from planner.jobfile.job import MadeCut, StoredPlan, StoredStep
from planner.machine.spin import Spin
from planner.machine.trial_masses import Influence
from planner.quantity import UnitSystem, factor, from_g, from_gmm
from planner.rotor.drills import number_or_letter
from planner.visible_text import visible

_DIGITS = 10
_SHORT_DECIMALS = 6
_SAME_MM = 1e-9


def text(value: str) -> str:
    """Return a TOML text in quotes."""
    # half a character comes from a name or an argument that is no text: no file can hold it
    value = "".join(visible(letter) if "\ud800" <= letter <= "\udfff" else letter for letter in value)
    # JSON's escapes are TOML's, but for the control character 127
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def number(value: float) -> str:
    """Return a number with 10 digits at most and no noise of the arithmetic: 5.85, not 5.8500000000000005."""
    if not math.isfinite(value):
        raise ValueError(f"{value} is no number to write into a file")
    if value == 0.0:
        return "0"
    rounded = float(f"{value:.{_DIGITS}g}")
    if rounded.is_integer() and abs(rounded) < 1e12:
        return str(int(rounded))
    return repr(rounded)


def angle(value_deg: float) -> str:
    """Return an angle [deg] to a millionth of a degree."""
    return number(round(value_deg, 6))


def length(value_mm: float, units: UnitSystem) -> str:
    """Return a length [mm] in the file's unit; a drill of the other world keeps its own unit, ``"14 mm"``."""
    for unit in (units.length, "mm", "in"):
        value = value_mm / factor(unit, "length")
        short = round(value, _SHORT_DECIMALS)
        if abs(short * factor(unit, "length") - value_mm) < _SAME_MM:
            return number(short) if unit == units.length else text(f"{number(short)} {unit}")
    return number(value_mm / factor(units.length, "length"))


def diameter(value_mm: float, units: UnitSystem) -> str:
    """Return a drill's diameter [mm] as a length, or by its number or letter where it has one and no round size."""
    name = number_or_letter(value_mm)
    return length(value_mm, units) if name is None else text(name)


def spin_lines(spin: Spin, *, units: UnitSystem, machine: MachineConvention) -> list[str]:
    """Return the lines of one of ``[[spins]]``, its header left out; amounts are in the display's unit."""
    lines = []
    if spin.speed_rpm is not None:
        lines.append(f"speed_rpm = {number(spin.speed_rpm)}")
    lines.append(f"bobs = {_bobs(spin.bobs_g, units)}")
    if spin.mounted:
        lines.append(f"mounted = [{', '.join(text(name) for name in spin.mounted)}]")
    for name, side in spin.shown.items():
        side_text = _side(side, units=units.shown_in(machine.display_unit), by_mass=machine.mass_at_radius)
        lines.append(f"{name} = {{ {side_text} }}")
    if spin.repeat:
        lines.append("repeat = true")
    if spin.known_mass is not None:
        known = spin.known_mass
        place = [] if known.at is None else [f"at = {text(known.at)}"]
        if known.offset_deg != 0.0:
            place.append(f"offset = {angle(known.offset_deg)}")
        if known.machine_angle_deg is not None:
            place.append(f"angle = {angle(known.machine_angle_deg)}")
        lines.append(
            f"known_mass = {{ mass = {number(from_g(known.mass_g, units.mass))}, "
            f"radius = {length(known.radius_mm, units)}, {', '.join(place)}, z = {length(known.z_mm, units)} }}"
        )
    if spin.as_read:
        lines.append("as_read = true")
    if spin.spot_seen:
        lines.append("spot_seen = true")
    return lines


def _bobs(bobs_g: Mapping[str, float], units: UnitSystem) -> str:
    masses = [number(from_g(mass, units.mass)) for mass in bobs_g.values()]
    if len(set(masses)) == 1:
        return masses[0]
    return (
        "{ " + ", ".join(f"{text(name)} = {mass}" for name, mass in zip(bobs_g, masses, strict=True)) + " }"
    )


def _side(side: SideReading, *, units: UnitSystem, by_mass: bool) -> str:
    amount = from_g(side.amount, units.mass) if by_mass else from_gmm(side.amount, units.unbalance)
    return f"amount = {number(amount)}, angle = {angle(side.angle_deg)}"


def cut_pairs(cut: Cut, *, units: UnitSystem, shop: Shop) -> list[tuple[str, str]]:
    """Return keys and values of a cut.

    A depth counts as the shop counts, and says so: the shop's file may change while the cut stays.
    """
    pairs = [
        ("counterweight", text(cut.counterweight)),
        ("cut", text(cut.kind)),
        ("angle", angle(cut.angle_deg)),
    ]
    if cut.on_rim:
        pairs.append(("off", length(cut.depth_shoulder_mm or 0.0, units)))
        if cut.sector_deg is not None:
            pairs.append(("sector", number(cut.sector_deg)))
        if cut.slope_deg is not None:
            pairs += [("slope", number(cut.slope_deg)), ("face", text(cut.face))]
        return pairs
    pairs.append(("diameter", diameter(cut.diameter_mm, units)))
    if cut.depth_shoulder_mm is not None and not cut.through:
        stop = shop.stop_mm(depth_shoulder_mm=cut.depth_shoulder_mm, diameter_mm=cut.diameter_mm)
        pairs += [("depth", length(stop, units)), ("depth_to", text(shop.depth_to))]
        start = shop.stop_before_mm(cut)
        if start is not None:
            pairs.append(("from_depth", length(start, units)))
        if cut.from_diameter_mm is not None:
            pairs.append(("from_diameter", length(cut.from_diameter_mm, units)))
    elif cut.from_diameter_mm is not None:
        pairs.append(("from_diameter", length(cut.from_diameter_mm, units)))
    for key, place in (("from_middle", cut.from_middle_mm), ("beside", cut.beside_mm)):
        if place:
            pairs.append((key, length(place, units)))
    if cut.tilt_deg:
        pairs.append(("tilt", number(cut.tilt_deg)))
    if cut.radius_mm is not None:
        pairs.append(("radius", length(cut.radius_mm, units)))
    if cut.length_mm is not None:
        pairs.append(("length", length(cut.length_mm, units)))
    if cut.through:
        pairs.append(("through", "true"))
    elif cut.kind != "rim hole":
        pairs.append(("face", text(cut.face)))
    return pairs


def made_cut_lines(made: MadeCut, *, units: UnitSystem, shop: Shop) -> list[str]:
    """Return the lines of one of ``[[cuts_made]]``, its header left out."""
    pairs = [("after_spin", str(made.after_spin))]
    if made.step is not None:
        pairs.append(("step", str(made.step)))
    if made.number and made.number != made.step:
        pairs.append(("cut_number", str(made.number)))
    pairs += cut_pairs(made.cut, units=units, shop=shop)
    if made.learned_factor != 1.0:
        pairs.append(("learned_factor", number(made.learned_factor)))
    if made.dial_deg is not None and made.dialled_under is not None:
        pairs.append(("dialled", dialled_value(made.dial_deg, made.dialled_under)))
    if made.stays_under is not None:
        pairs.append(("stays", settings_value(made.stays_under)))
    return [f"{key} = {value}" for key, value in pairs]


def settings_value(settings: DrillSettings) -> str:
    """Return what a number on the dial meant, as one value of a cut made."""
    return f"{{ {_settings(settings)} }}"


def dialled_value(dial_deg: float, settings: DrillSettings) -> str:
    """Return what was dialled and what it meant, as one value of a cut made."""
    return f"{{ dial = {angle(dial_deg)}, {_settings(settings)} }}"


def _settings(settings: DrillSettings) -> str:
    offset = f", offset = {angle(settings.offset_deg)}" if settings.offset_deg else ""
    return f"zero = {angle(settings.zero_deg)}, sense = {settings.sense}{offset}"


def influence_values(
    influence: Influence, *, units: UnitSystem, machine: MachineConvention
) -> dict[str, str]:
    """Return keys and values of ``[influence]``: what the sides read for one round unbalance at the machine's 0."""
    unit_gmm = factor(units.unbalance, "unbalance")
    greatest = max(abs(each) for row in influence.per_gmm for each in row) * unit_gmm
    # the power of ten for which the greatest reading lies between 1 and 10
    unbalance = 10.0 ** -math.floor(math.log10(greatest))
    values = {"unbalance": number(unbalance)}
    if influence.speed_rpm is not None:
        values["speed_rpm"] = number(influence.speed_rpm)
    for side, row in zip(influence.sides, influence.per_gmm, strict=True):
        for plane, each in zip(influence.planes, row, strict=True):
            amount, phase = abs(each) * unbalance * unit_gmm, machine.raw_phase_deg(each)
            values[f"{side}_from_{plane}"] = f"{{ amount = {number(amount)}, phase = {angle(phase)} }}"
    return values


def plan_values(plan: StoredPlan, *, units: UnitSystem, shop: Shop) -> dict[str, str]:
    """Return keys and values of ``[plan]``; ``steps`` is a list of tables, one a line."""
    values = {"after_spin": str(plan.after_spin)}
    if plan.after_cuts:
        values["after_cuts"] = str(plan.after_cuts)
    if plan.basis:
        values["basis"] = text(plan.basis)
    if plan.learned_factor != 1.0:
        values["learned_factor"] = number(plan.learned_factor)
    if plan.wish:
        values["wish"] = f"[{', '.join(text(line) for line in plan.wish)}]"
    if plan.shown_under is not None:
        values["shown"] = settings_value(plan.shown_under)
    steps = [f"    {{ {step_value(step, units=units, shop=shop)} }},\n" for step in plan.steps]
    if plan.withdrawn:
        values["withdrawn"] = "true"
    values["steps"] = "[\n" + "".join(steps) + "]" if steps else "[]"
    return values


def step_value(step: StoredStep, *, units: UnitSystem, shop: Shop) -> str:
    """Return a step of a plan, the braces left out."""
    pairs = [("number", str(step.number)), *cut_pairs(step.cut, units=units, shop=shop)]
    if step.pinned:
        pairs.append(("pinned", "true"))
    return ", ".join(f"{key} = {value}" for key, value in pairs)
