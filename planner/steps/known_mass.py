"""The check before the first cut: a known mass at a known place must read where and what it is.

All check spins of the newest check are looked at together.  A place named on the crankshaft itself tests direction,
viewing end and zero; a place stated by the machine's own numbers can't, for the machine counts its own reading the same
way; either tests heavy or light spot, plane order and amounts.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence

from planner.errors import InputError
from planner.frames import MachineConvention, ShaftAngle, Shown, SideReading, TwoPlanes
from planner.jobfile.job import Job
from planner.machine.settings_fit import (
    Explanation,
    Placement,
    Settings,
    SettingsFit,
    fit_settings,
)
from planner.machine.spin import KnownMass, Spin, newest_state
from planner.quantity import factor
from planner.records import dataclass
from planner.rotor.vectors import angle_deg, wrap_deg

# a machine in a workshop repeats no better than this between two spins, however good its file says it is (common practice)
LEAST_PERCENT, LEAST_ANGLE_DEG = 2.0, 1.0
# units that displays of balancing machines for crankshafts have (common practice)
_UNBALANCE_UNITS = ("g*mm", "g*cm", "g*in", "oz*in")
_MASS_UNITS = ("g", "oz")


@dataclass(frozen=True, kw_only=True)
class CheckSpin:
    """One spin with a known mass: its number, where the mass was, what the display showed."""

    number: int
    known: KnownMass
    shown: TwoPlanes[SideReading]


@dataclass(frozen=True, kw_only=True)
class KnownMassCheck:
    """What the check spins prove, and the mean reading without the mass, in the display's own counting."""

    base: TwoPlanes[complex]
    spins: tuple[CheckSpin, ...]
    fit: SettingsFit

    @property
    def places(self) -> int:
        """How many placements there are."""
        return len(self.spins)

    @property
    def explanations(self) -> tuple[Explanation, ...]:
        """All that fit, best first."""
        return self.fit.explanations

    @property
    def settled(self) -> bool:
        """True when exactly one explanation fits."""
        return self.fit.settled

    @property
    def good(self) -> bool:
        """True when the settings as they are fit."""
        return self.fit.good


def places_of(job: Job) -> dict[str, tuple[ShaftAngle, float]]:
    """Return the places named on the crankshaft: their angle [deg] in its frame and their z [mm]."""
    places = {f"throw {each.name}": (each.angle_deg, each.z_mm) for each in job.crankshaft.throws}
    return places | {
        f"counterweight {each.name}": (each.angle_deg, each.z_mm) for each in job.crankshaft.counterweights
    }


def place_deg(job: Job, known: KnownMass) -> float | None:
    """Return the angle [deg] of a known mass in the crankshaft frame, None when only the machine's number is known.

    A mark that is no throw or counterweight (a keyway) has its angle as offset from the frame's zero.
    """
    if known.at is None:
        return None
    angle, _ = places_of(job).get(known.at, (0.0, 0.0))
    return wrap_deg(angle + known.offset_deg)


def has_checks(job: Job) -> bool:
    """Return whether there is a spin with a known mass."""
    return any(spin.known_mass is not None for spin in job.spins)


def check_known_masses(job: Job) -> KnownMassCheck:
    """Return what the newest check spins prove: those since the last ordinary spin before them.

    Raises
    ------
    InputError
        If there is no check spin, or none without the mass to compare it with, or bobs or parts differ.
    """
    last = next((i for i in range(len(job.spins) - 1, -1, -1) if job.spins[i].known_mass is not None), None)
    if last is None:
        raise InputError(
            "there is no spin with a known mass",
            hint="`bobplan prove` says which mass to put where, and takes the readings",
        )
    state = newest_state(job.spins[: last + 1])
    checks = [
        (index, spin)
        for index, spin in enumerate(job.spins[: last + 1])
        if index > state[-1] and spin.known_mass is not None
    ]
    bases = [job.spins[index] for index in state]
    for index, spin in checks:
        if dict(spin.bobs_g) != dict(bases[-1].bobs_g) or set(spin.mounted) != set(bases[-1].mounted):
            raise InputError(
                f"spin {index + 1} with the known mass had other bobs or parts on than spin {state[-1] + 1}",
                hint="a check changes nothing but the mass: spin without it first, with the bobs and parts that are on",
            )
    return check_of(job, [index + 1 for index in state], checks)


def check_of(job: Job, base_numbers: Sequence[int], checks: Sequence[tuple[int, Spin]]) -> KnownMassCheck:
    """Return what check spins (index, spin) prove against the spins of those numbers (1 = first)."""
    machine = job.machine
    bases = [plain_vectors(job.spins[number - 1], machine) for number in base_numbers]
    base = TwoPlanes(sum(b.left for b in bases) / len(bases), sum(b.right for b in bases) / len(bases))
    placements, read, told = [], [], []
    for index, spin in checks:
        known = spin.known_mass
        assert known is not None
        placements.append(
            Placement(
                unbalance_gmm=known.mass_g * known.radius_mm,
                z_mm=known.z_mm,
                place_deg=place_deg(job, known),
                number_deg=known.machine_angle_deg,
            )
        )
        read.append(plain_vectors(spin, machine))
        told.append(CheckSpin(number=index + 1, known=known, shown=spin.shown))
    percent, angle, floor = reading_error(job)
    fit = fit_settings(
        placements,
        read,
        base,
        settings_of(job),
        percent=percent,
        angle_deg=angle,
        floor_gmm=floor,
        base_count=len(bases),
    )
    return KnownMassCheck(base=base, spins=tuple(told), fit=fit)


def reading_error(job: Job) -> tuple[float, float, float]:
    """Return the standard uncertainties of a reading: amount [%], angle [deg], and what always stays [g*mm]."""
    return (
        max(job.errors.reading_percent, LEAST_PERCENT),
        max(job.errors.reading_angle_deg, LEAST_ANGLE_DEG),
        job.errors.reading_absolute_gmm,
    )


def plain_vectors(spin: Spin, machine: MachineConvention) -> TwoPlanes[complex]:
    """Return what a spin showed [g*mm as set] in the display's own counting: no direction, zero or spot applied."""
    return TwoPlanes(
        *(
            cmath.rect(machine.amount_gmm(each.amount, side=side), math.radians(each.angle_deg))
            for side, each in spin.shown.items()
        )
    )


def shown_for(vectors: TwoPlanes[complex], machine: MachineConvention) -> TwoPlanes[SideReading]:
    """Return what the display shows for vectors in its own counting [g*mm as set]: the way back of `plain_vectors`."""
    return TwoPlanes(
        *(
            SideReading(
                amount=machine.display_amount(abs(vector), side=side), angle_deg=Shown(angle_deg(vector))
            )
            for side, vector in vectors.items()
        )
    )


def settings_of(job: Job) -> Settings:
    """Return the settings as the files have them, with the known mix-ups of unit and kind of amounts."""
    machine = job.machine
    left, right = machine.radii_mm
    kind = job.display_kind
    units = _MASS_UNITS if machine.mass_at_radius else _UNBALANCE_UNITS
    own = factor(job.display_unit, kind)
    # a display in another unit shows 1/factor; it was taken for the unit set
    gains = {unit: own / factor(unit, kind) for unit in units if abs(factor(unit, kind) / own - 1.0) > 0.01}
    amounts: dict[str, TwoPlanes[float]] = {}
    radii_for: dict[str, float] = {}
    if left is not None and right is not None:
        if machine.mass_at_radius:
            amounts = {
                unit: TwoPlanes(
                    own * left / factor(unit, "unbalance"), own * right / factor(unit, "unbalance")
                )
                for unit in _UNBALANCE_UNITS
            }
        else:
            amounts = {
                unit: TwoPlanes(own / (left * factor(unit, "mass")), own / (right * factor(unit, "mass")))
                for unit in ("g", "oz")
            }
    elif not machine.mass_at_radius:
        radii_for = {unit: own / factor(unit, "mass") for unit in ("g", "oz")}
    return Settings(
        sense=machine.sense,
        zero_deg=machine.zero_deg,
        spot=1 if machine.marks == "heavy spot" else -1,
        planes_z_mm=job.planes_z_mm,
        by_mass=machine.mass_at_radius,
        gains=gains,
        amounts=amounts,
        radii_for=radii_for,
    )
