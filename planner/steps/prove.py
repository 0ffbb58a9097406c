"""The machine's settings as a proven state: what is proved, which mass to put where, and what to mend.

What belongs to the machine (direction and viewing end, marked spot, kind of amounts, drill offset) is proved once where
``[machine]`` stands, so a shop's file carries it to every job.  The zero is set anew for every crankshaft, and planes,
unit and radii are the job's: they are proved with the job.  Each proof holds for the value that a setting had then.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from planner.errors import InputError
from planner.frames import SIDES, MachineAngle, MachineConvention, ShaftAngle, Side, SideReading, TwoPlanes
from planner.jobfile.job import PROVABLE, Job, Proof
from planner.machine.settings_fit import Explanation
from planner.machine.spin import KnownMass, Spin, newest_state
from planner.records import dataclass
from planner.rotor.vectors import difference_deg, plane_shares, wrap_deg
from planner.steps.known_mass import (
    KnownMassCheck,
    places_of,
    plain_vectors,
    reading_error,
    settings_of,
)

MACHINES = ("direction", "spot", "amounts", "drill_offset")
"""Settings that belong to the machine; the others are proved with the job."""

# a known mass should change the reading by this many times a reading's own error
_TIMES_ERROR = 20.0
# eccentricities that a crankshaft's first reading has: usual, least and greatest believed [um] (common practice)
_USUAL_UM, _LEAST_UM, _GREATEST_UM = 120.0, 20.0, 1500.0
_NICE_G = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8)
# two places this near to one line (0 or 180 degrees apart) tell a direction from a zero badly
_LEAST_SINE = 0.5
# a line scribed at a named place is brought under the drill to this angle
_LINE_DEG = 4.0
_SAME_THROW_DEG = 6.0


def setting_values(job: Job) -> dict[str, str]:
    """Return every provable setting's value as it is now, as text: what a proof is compared with."""
    machine = job.machine
    z1, z2 = job.planes_z_mm
    radii = machine.radii_mm
    return {
        "direction": f"{'ccw' if machine.sense > 0 else 'cw'} seen from the front",
        "zero": f"{machine.zero_deg:.6g}",
        "spot": machine.marks,
        "planes": f"{z1:.6g} mm, {z2:.6g} mm",
        "unit": job.display_unit,
        "radius": f"{radii[0]:.6g} mm, {radii[1]:.6g} mm" if machine.mass_at_radius else "none",
        "amounts": job.display_kind,
        "drill_offset": f"{machine.drill_offset_deg:.6g}",
    }


def proved_settings(job: Job) -> dict[str, bool]:
    """Return for every provable setting whether it is proved with the value that it has now."""
    now = setting_values(job)
    return {name: any(proof.values.get(name) == now[name] for proof in job.proofs) for name in PROVABLE}


def not_proved(job: Job) -> tuple[str, ...]:
    """Return the settings that are not proved yet."""
    return tuple(name for name, proved in proved_settings(job).items() if not proved)


@dataclass(frozen=True)
class Place:
    """A place for the known mass: its name on the crankshaft, angle [deg] in its frame, z and radius [mm]."""

    name: str
    angle_deg: float
    z_mm: float
    radius_mm: float
    how: str


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """Which mass [g] to put where, first one place, then the other; ``error_gmm`` is what a change is uncertain by."""

    mass_g: float
    places: tuple[Place, ...]
    offered: tuple[Place, ...]
    error_gmm: TwoPlanes[float]


def offered_places(job: Job) -> tuple[Place, ...]:
    """Return the places named on the crankshaft where a mass can be put: counterweights' rims, and bobs that are on."""
    places = []
    for each in job.crankshaft.counterweights:
        radius = each.outline.rim_radius_mm or each.outline.greatest_radius_mm
        name, how = f"counterweight {each.name}", "on the rim at the centre line"
        places.append(Place(name, each.angle_deg, each.z_mm, radius, how))
    bobs = job.spins[newest_state(job.spins)[-1]].bobs_g if job.spins else (job.bobs_wanted_g or {})
    for throw in job.crankshaft.throws:
        if bobs.get(throw.name, 0.0) > 0.0:
            how = "half of it on each side of the bob, so that it acts at the throw's radius"
            places.append(Place(f"throw {throw.name}", throw.angle_deg, throw.z_mm, throw.radius_mm, how))
    return tuple(places)


def propose(
    job: Job,
    *,
    names: Sequence[str] = (),
    mass_g: float | None = None,
    radius_mm: float | None = None,
) -> Proposal:
    """Return which mass to put at which two places: large against the machine's noise, both planes, not in one line.

    ``names``, ``mass_g`` and ``radius_mm`` override what is proposed.  Before the first spin the error is taken from the
    tolerance-free floor alone, so the mass is only a first guess.

    Raises
    ------
    InputError
        If a place is not one of the crankshaft's.
    """
    offered = offered_places(job)
    error = change_error(job)
    if names:
        chosen = tuple(named_place(job, name, radius_mm=radius_mm) for name in names)
    else:
        chosen = _best_pair(job, offered, error)
        if radius_mm is not None:
            chosen = tuple(dataclasses.replace(p, radius_mm=radius_mm, how="as you said") for p in chosen)
    needed = _needed_g(job, chosen, error)
    return Proposal(
        mass_g=mass_g if mass_g is not None else round_up(needed),
        places=chosen,
        offered=offered,
        error_gmm=error,
    )


def named_place(job: Job, name: str, *, radius_mm: float | None = None) -> Place:
    """Return a place by its name (``throw 1``, ``counterweight A``).

    Raises
    ------
    InputError
        If the crankshaft has no such place, or no radius is known for it.
    """
    places = places_of(job)
    if name not in places:
        raise InputError(f"there is no place `{name}`", hint=f"the places are {', '.join(places)}")
    found = next((each for each in offered_places(job) if each.name == name), None)
    angle, z_mm = places[name]
    if radius_mm is not None:
        return Place(name, angle, z_mm, radius_mm, "at the radius that you said")
    if found is None:
        raise InputError(f"{name}: at which radius is the mass?", hint="add `--radius`")
    return Place(name, angle, z_mm, found.radius_mm, found.how)


def ensure_uncut(job: Job) -> None:
    """Refuse a known mass where cuts were made since the spin without it that it is to be compared with.

    Raises
    ------
    InputError
        If there are such cuts, or no spin.
    """
    base = newest_state(job.spins)[-1] + 1
    if any(made.after_spin >= base for made in job.cuts_made):
        raise InputError(
            f"cuts were made since spin {base}: the reading without the mass is not that of this crankshaft any more",
            hint='spin without the mass first: `bobplan prove --base "LEFT ANGLE RIGHT ANGLE"`',
        )


def change_error(job: Job) -> TwoPlanes[float]:
    """Return what the change between two readings is uncertain by on each side [g*mm], one standard uncertainty.

    A reading far outside what a crankshaft has at first may be in another unit than is set (which is one of the things to
    be proved): a small one is taken for a usual one, a large one for the largest that is believed.
    """
    percent, angle, floor = reading_error(job)
    share = math.hypot(percent / 100.0, math.radians(angle))
    half_mass = 0.5 * rotor_mass_kg(job)
    usual = _USUAL_UM * half_mass
    amounts = TwoPlanes(usual, usual)
    if any(spin.known_mass is None for spin in job.spins):
        newest = job.spins[newest_state(job.spins)[-1]]
        amounts = plain_vectors(newest, job.machine).map(
            lambda v: usual if abs(v) < _LEAST_UM * half_mass else min(abs(v), _GREATEST_UM * half_mass)
        )
    return amounts.map(lambda amount: math.sqrt(2.0) * math.hypot(share * amount, floor))


def rotor_mass_kg(job: Job) -> float:
    """Return the crankshaft's mass [kg]; where it is not stated what goes with its bobs, or a small crankshaft's."""
    if job.crankshaft.mass_kg is not None:
        return job.crankshaft.mass_kg
    moment = sum((job.bobs_wanted_g or {}).get(t.name, 0.0) * t.radius_mm for t in job.crankshaft.throws)
    return moment / 12_000.0 if moment > 0.0 else 15.0


def _best_pair(job: Job, offered: Sequence[Place], error: TwoPlanes[float]) -> tuple[Place, ...]:
    pairs = [
        pair
        for pair in itertools.permutations(offered, 2)
        if abs(math.sin(math.radians(pair[0].angle_deg - pair[1].angle_deg))) >= _LEAST_SINE
    ] or list(itertools.permutations(offered, 2))

    def cost(pair: tuple[Place, Place]) -> tuple[float, str]:
        sine = abs(math.sin(math.radians(pair[0].angle_deg - pair[1].angle_deg)))
        grams = _needed_g(job, pair, error) / max(min(sine / 0.8, 1.0), 0.05)
        return round(grams, 6), pair[0].name

    return min(pairs, key=cost)


def _needed_g(job: Job, places: Sequence[Place], error: TwoPlanes[float]) -> float:
    """Return the mass [g] that shows clearly: the first place's in the left plane, the second's in the right one."""
    grams = 0.0
    for side in (0, 1):
        best = max(
            (p.radius_mm * abs(plane_shares(p.z_mm, job.planes_z_mm)[side]) for p in places), default=1.0
        )
        grams = max(grams, _TIMES_ERROR * error[side] / max(best, 1e-6))
    return grams


def round_up(grams: float) -> float:
    """Return the next mass that one would weigh out."""
    power = 10.0 ** math.floor(math.log10(max(grams, 1e-6)))
    for step in (*_NICE_G, 10):
        if step * power >= grams - 1e-9:
            return step * power
    return 10.0 * power


@dataclass(frozen=True, kw_only=True)
class LineCheck:
    """A line at a named place, brought under the drill: what the dial should show and showed [deg].

    ``mended_deg`` is the ``drill_offset`` that fits, None when the one that is set does; ``sign`` says that only its sign
    is wrong.
    """

    place: str
    should_deg: float
    showed_deg: float
    mended_deg: float | None
    sign: bool = False


def check_line(job: Job, name: str, showed_deg: float) -> LineCheck:
    """Return whether the dial shows what it should with the middle of a named place under the drill.

    Raises
    ------
    InputError
        If the crankshaft has no such place.
    """
    place = named_place(job, name, radius_mm=1.0)
    machine = job.machine
    number = machine.machine_angle_deg(ShaftAngle(place.angle_deg))
    should = wrap_deg(number + machine.drill_offset_deg)
    if abs(difference_deg(showed_deg, should)) <= _LINE_DEG:
        return LineCheck(place=name, should_deg=should, showed_deg=wrap_deg(showed_deg), mended_deg=None)
    other = wrap_deg(number - machine.drill_offset_deg)
    sign = abs(difference_deg(showed_deg, other)) <= _LINE_DEG
    mended = -machine.drill_offset_deg if sign else float(round(difference_deg(showed_deg, number)))
    return LineCheck(
        place=name, should_deg=should, showed_deg=wrap_deg(showed_deg), mended_deg=mended, sign=sign
    )


def check_drill_lines(job: Job, lines: Sequence[tuple[str, float]]) -> tuple[LineCheck, ...]:
    """Return `check_line` of several lines (place, dial)."""
    return tuple(check_line(job, name, showed) for name, showed in lines)


def settings_tested(check: KnownMassCheck, lines: Sequence[LineCheck] = ()) -> tuple[str, ...]:
    """Return the settings that a good check proves; unit, radius and kind of amounts act together, as one factor."""
    proved = set(check.fit.proved) - {"unit", "radius", "drill_offset"}
    if "amounts" in proved:
        proved |= {"unit", "radius"}
    # the line was compared with the zero and the direction: it proves nothing while these are open
    if lines and all(line.mended_deg is None for line in lines) and {"zero", "direction"} <= proved:
        proved.add("drill_offset")
    return tuple(name for name in PROVABLE if name in proved)


def mended_values(job: Job, found: Explanation) -> Mapping[str, Mapping[str, str | float]] | None:
    """Return the keys that an explanation would change, by section of the files; None when no key mends it."""
    changes: dict[str, dict[str, str | float]] = {}
    for fault in found.faults:
        mend = _mended(job, found, fault)
        if mend is None:
            return None
        for section, keys in mend.items():
            changes.setdefault(section, {}).update(keys)
    return changes


def _mended(job: Job, found: Explanation, fault: str) -> dict[str, dict[str, str | float]] | None:
    machine = job.machine
    if fault == "direction":
        return {"machine": {"angle_direction": "cw" if machine.direction == "ccw" else "ccw"}}
    if fault == "spot":
        return {"machine": {"angle_marks": "light spot" if machine.marks == "heavy spot" else "heavy spot"}}
    if fault == "zero":
        return {"machine": {"angle_zero": mended_zero(job, found.turn_deg)}}
    if fault == "planes":
        left, right = job.planes_z_mm
        swapped: dict[str, str | float] = {"left": f"{right:.9g} mm", "right": f"{left:.9g} mm"}
        return {"planes": swapped}
    if fault == "unit" and found.unit is not None:
        return {"machine": {"display_unit": found.unit}}
    if fault in ("left radius", "right radius"):
        side: Side = "left" if fault == "left radius" else "right"
        radius = machine.radii_mm.at(side)
        if radius is None:
            return None
        return {"planes": {f"{side}_radius": f"{radius / found.gains.at(side):.3g} mm"}}
    if fault == "amounts":
        return _mended_amounts(job, found)
    return None


def _mended_amounts(job: Job, found: Explanation) -> dict[str, dict[str, str | float]]:
    kind: Literal["unbalance", "mass"] = "unbalance" if job.machine.mass_at_radius else "mass"
    section: dict[str, str | float] = {"amounts": kind}
    if found.unit is not None and found.unit != job.units.unit_of(kind):
        section["display_unit"] = found.unit
    settings = settings_of(job)
    if kind == "unbalance" or found.unit in settings.amounts:
        return {"machine": section}
    radius = settings.radii_for[found.unit or "g"]
    radii: dict[str, str | float] = {
        f"{side}_radius": f"{radius / gain:.3g} mm" for side, gain in found.gains.items()
    }
    return {"machine": section, "planes": radii}


def mended_zero(job: Job, turn_deg: float) -> str | float:
    """Return where the zero lies: at a throw when one is near, else in whole degrees of the crankshaft's frame."""
    zero = wrap_deg(job.machine.zero_deg + turn_deg)
    near = [
        (abs(difference_deg(each.angle_deg, zero)), index, each.name)
        for index, each in enumerate(job.crankshaft.throws)
    ]
    if near and min(near)[0] <= _SAME_THROW_DEG:
        return f"throw {min(near)[2]}"
    return float(round(zero)) % 360.0


def known_mass_at(place: Place, mass_g: float, *, number_deg: float | None = None) -> KnownMass:
    """Return the record of a mass put at a place."""
    return KnownMass(
        mass_g=mass_g,
        radius_mm=place.radius_mm,
        z_mm=place.z_mm,
        machine_angle_deg=None if number_deg is None else MachineAngle(number_deg),
        at=place.name,
    )


def proof_words(job: Job) -> Iterator[str]:
    """Yield one line per proof on file."""
    for proof in job.proofs:
        by = f" by {proof.by}" if proof.by else ""
        on = f" on {proof.on.isoformat()}" if proof.on else ""
        mass = f" with {job.units.text(proof.mass_g, 'mass')}" if proof.mass_g else ""
        at = f" at {' and '.join(proof.places)}" if proof.places else ""
        yield f"proved{on}{by}{mass}{at}: {', '.join(proof.values)}"


def mended_job(job: Job, found: Explanation, lines: Sequence[LineCheck] = ()) -> Job:
    """Return the job as it reads with an explanation's settings (and a line's ``drill_offset``) put right."""
    machine = job.machine
    planes = job.planes_z_mm
    changes = mended_values(job, found) or {}
    keys = dict(changes.get("machine", {}))
    fields = {"angle_direction": "direction", "angle_marks": "marks", "display_unit": "display_unit"}
    new: dict[str, object] = {field: keys[key] for key, field in fields.items() if key in keys}
    if "angle_zero" in keys:
        zero = keys["angle_zero"]
        if isinstance(zero, str):
            zero = job.crankshaft.throw(zero.removeprefix("throw ")).angle_deg
        new["zero_deg"] = wrap_deg(float(zero))
    if "amounts" in keys:
        new["mass_at_radius"] = keys["amounts"] == "mass"
    for side in SIDES:
        radius = changes.get("planes", {}).get(f"{side}_radius")
        if isinstance(radius, str):
            new[f"{side}_radius_mm"] = float(radius.removesuffix(" mm"))
    if found.planes_swapped:
        planes = TwoPlanes(planes.right, planes.left)
    for line in lines:
        if line.mended_deg is not None:
            new["drill_offset_deg"] = line.mended_deg
    mended = dataclasses.replace(machine, **new)  # type: ignore[arg-type]
    return dataclasses.replace(
        job,
        machine=mended,
        planes_z_mm=planes,
        spins=tuple(_reread(spin, machine, mended, found.gains) for spin in job.spins),
    )


def _reread(
    spin: Spin, machine: MachineConvention, mended: MachineConvention, gains: TwoPlanes[float]
) -> Spin:
    """Return a spin's amounts as they read with other units or radii: what was shown stays what was shown."""
    if gains == (1.0, 1.0):
        return spin
    read: dict[str, SideReading] = {}
    for side, shown in spin.shown.items():
        amount_gmm = machine.amount_gmm(shown.amount, side=side) / gains.at(side)
        read[side] = dataclasses.replace(shown, amount=mended.display_amount(amount_gmm, side=side))
    return dataclasses.replace(spin, **read)  # type: ignore[arg-type]


def proofs_after(job: Job, new: Proof, *, renewed: Sequence[str]) -> tuple[Proof, ...]:
    """Return what is proved of a job after a new proof, the new one first; every setting stands in one of them.

    Parameters
    ----------
    job : Job
        The job with its settings as they are from now on, and its proofs as they were.
    new : Proof
        The new proof; its values are worked out here.
    renewed : sequence of str
        The settings that it tested.  What it did not test, and stood proved, keeps its day, mass and places.
    """
    now = setting_values(job)
    found = [dataclasses.replace(new, values={name: now[name] for name in PROVABLE if name in renewed})]
    taken = set(renewed)
    for proof in job.proofs:
        kept = {
            name: value for name, value in proof.values.items() if name not in taken and now[name] == value
        }
        taken |= set(kept)
        head = dataclasses.replace(proof, values={})
        # of one day, mass and place: one proof
        place = next(
            (k for k, each in enumerate(found) if dataclasses.replace(each, values={}) == head), None
        )
        if place is None:
            found.append(dataclasses.replace(proof, values=kept))
        else:
            found[place] = dataclasses.replace(head, values={**found[place].values, **kept})
    return tuple(each for each in found if each.values)
