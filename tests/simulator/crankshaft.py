"""A crankshaft as it truly is: counterweight fans, throws with bobs, a hidden unbalance, and what was cut.

Angles [deg] counter-clockwise seen from the front, z from the front to the rear [mm], unbalance [g*mm].
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from simulator.holes import Taken
from simulator.machine import Machine


def unit(angle_deg: float) -> complex:
    """The direction at an angle."""
    return cmath.rect(1.0, math.radians(angle_deg))


def apart_deg(one_deg: float, other_deg: float) -> float:
    """Signed difference of two angles, -180 to 180."""
    return (one_deg - other_deg + 180.0) % 360.0 - 180.0


@dataclass(frozen=True)
class Fan:
    """A counterweight: a sector of a ring about ``angle_deg``, ``half_deg`` to both sides."""

    name: str
    z_mm: float
    angle_deg: float
    thickness_mm: float
    outer_mm: float
    inner_mm: float
    half_deg: float

    def has_metal_at(self, angle_deg: float) -> bool:
        """True where a drill finds rim."""
        return abs(apart_deg(angle_deg, self.angle_deg)) < self.half_deg - 3.0


@dataclass(frozen=True)
class Throw:
    """A crankpin that carries a bob."""

    name: str
    z_mm: float
    angle_deg: float
    radius_mm: float


@dataclass
class Crankshaft:
    """What is really there.

    ``hidden`` are sources ``(z, vector)`` with the bobs wanted on every throw: what the balancer must find.  ``cut`` are
    the sources of what was taken since.
    """

    fans: tuple[Fan, ...]
    throws: tuple[Throw, ...]
    bearings_z_mm: tuple[float, float]
    mass_kg: float
    density: float
    bob_g: float
    hidden: list[tuple[float, complex]]
    cut: list[tuple[float, complex]] = field(default_factory=list)

    def fan(self, name: str) -> Fan:
        """The counterweight of that name."""
        return next(each for each in self.fans if each.name == name)

    def neighbours(self, name: str) -> list[Fan]:
        """The counterweights beside one, nearest along the shaft first."""
        own = self.fan(name)
        others = sorted((f for f in self.fans if f is not own), key=lambda f: f.z_mm)
        before = [f for f in others if f.z_mm <= own.z_mm]
        after = [f for f in others if f.z_mm > own.z_mm]
        return sorted([*before[-1:], *after[:1]], key=lambda f: abs(f.z_mm - own.z_mm))

    def take(self, taken: Taken, angle_deg: float) -> None:
        """Let a cut happen."""
        self.cut.append((taken.z_mm, taken.moment_gmm * unit(angle_deg)))

    def bob_sources(self, on_g: Mapping[str, float]) -> list[tuple[float, complex]]:
        """What bobs that differ from the wanted ones do."""
        return [
            (t.z_mm, (on_g.get(t.name, self.bob_g) - self.bob_g) * t.radius_mm * unit(t.angle_deg))
            for t in self.throws
        ]

    def in_planes(
        self, machine: Machine, extra: list[tuple[float, complex]] | None = None
    ) -> tuple[complex, complex]:
        """The true unbalance in the machine's planes [g*mm], right bobs on, plus extra sources."""
        left = right = 0j
        for z_mm, vector in [*self.hidden, *self.cut, *(extra or [])]:
            share = machine.shares(z_mm)
            left += share[0] * vector
            right += share[1] * vector
        return left, right

    def at_bearings(self) -> tuple[complex, complex]:
        """The true forces at the bearings per speed squared, as unbalance [g*mm]: balance of moments."""
        first, second = self.bearings_z_mm
        sources = [*self.hidden, *self.cut]
        at_second = sum(vector * (z - first) for z, vector in sources) / (second - first)
        return complex(sum(vector for _, vector in sources) - at_second), complex(at_second)
