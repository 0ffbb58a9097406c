"""A balancing machine as it really is: what its display shows, and which place of the crankshaft lies under the drill.

The crankshaft's own axes: z from the front to the rear, x to the right and y up for someone who stands before the front
end, so that angles from x toward y turn counter-clockwise for him.  Someone at the rear end sees the same turning the
other way round.  A number on the display or the degree wheel is a turning by that many degrees from the zero mark, in
the sense printed on it, as seen by whoever stands at its end.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import numpy as np

# lines of sight: from the eye into the crankshaft
_SIGHT = {"front": np.array([0.0, 0.0, 1.0]), "rear": np.array([0.0, 0.0, -1.0])}


def _turned(vector: np.ndarray, axis: np.ndarray, angle_deg: float) -> np.ndarray:
    """Rodrigues' rotation: right-handed about ``axis``."""
    angle = math.radians(angle_deg)
    return np.asarray(
        vector * math.cos(angle)
        + np.cross(axis, vector) * math.sin(angle)
        + axis * float(axis @ vector) * (1.0 - math.cos(angle))
    )


@dataclass(frozen=True)
class Machine:
    """How the machine counts in truth.

    ``counts`` ("ccw", "cw") as seen from ``seen_from`` ("front", "rear"); ``zero_deg`` is where its zero mark stands on
    the crankshaft (counter-clockwise from the front); ``marks`` the "heavy spot" or the "light spot"; ``drill_deg``: the
    number under the drill is the number on the wheel less this.  ``left_z_mm`` may be the rear plane.  ``radii_mm``: the
    display shows grams at these radii (left, right), None: unbalance.  ``unit_gmm`` is one of the display's unbalance
    (or, with radii, mass) units in g*mm (or g).
    """

    counts: str
    seen_from: str
    zero_deg: float
    marks: str
    left_z_mm: float
    right_z_mm: float
    drill_deg: float = 0.0
    radii_mm: tuple[float, float] | None = None
    unit_gmm: float = 1.0

    def direction(self, number_deg: float) -> complex:
        """The direction on the crankshaft (x + iy from the front) at a number of the machine."""
        zero = np.array([math.cos(math.radians(self.zero_deg)), math.sin(math.radians(self.zero_deg)), 0.0])
        # about the sight of the front, z, a turn takes x to y: to the right, then up, counter-clockwise for that eye
        sign = 1.0 if self.counts == "ccw" else -1.0
        turned = _turned(zero, _SIGHT[self.seen_from], sign * number_deg)
        return complex(turned[0], turned[1])

    def number_deg(self, direction: complex) -> float:
        """The number of the machine at a direction on the crankshaft, 0 to 360."""
        # one degree on tells the sense; the rest is the angle between
        zero, on = self.direction(0.0), self.direction(1.0)
        between = math.atan2((direction * zero.conjugate()).imag, (direction * zero.conjugate()).real)
        sense = 1.0 if (on * zero.conjugate()).imag > 0 else -1.0
        return math.degrees(sense * between) % 360.0

    def under_drill_deg(self, dial_deg: float) -> float:
        """The angle on the crankshaft (counter-clockwise from the front) under the drill when the wheel shows a number."""
        place = self.direction(dial_deg - self.drill_deg)
        return math.degrees(math.atan2(place.imag, place.real)) % 360.0

    def shown(self, left_gmm: complex, right_gmm: complex) -> tuple[float, float, float, float]:
        """Left amount, left number, right amount, right number for true vectors in the planes [g*mm]."""
        result: list[float] = []
        for side, vector in enumerate((left_gmm, right_gmm)):
            spot = vector if self.marks == "heavy spot" else -vector
            amount = abs(vector) / (1.0 if self.radii_mm is None else self.radii_mm[side]) / self.unit_gmm
            result += [amount, self.number_deg(spot) if vector else 0.0]
        return result[0], result[1], result[2], result[3]

    def read(self, shown: tuple[float, float, float, float]) -> tuple[complex, complex]:
        """The vectors in the planes for which the display would show four numbers."""
        result: list[complex] = []
        for side in (0, 1):
            amount = shown[2 * side] * self.unit_gmm * (1.0 if self.radii_mm is None else self.radii_mm[side])
            spot = amount * self.direction(shown[2 * side + 1])
            result.append(spot if self.marks == "heavy spot" else -spot)
        return result[0], result[1]

    def shares(self, z_mm: float) -> tuple[float, float]:
        """What of a force at z the left and the right plane carry (moments about each other's plane)."""
        span = self.right_z_mm - self.left_z_mm
        right = (z_mm - self.left_z_mm) / span
        return 1.0 - right, right

    def changed(self, **keys: object) -> Machine:
        """The same machine with something else about it."""
        return dataclasses.replace(self, **keys)  # type: ignore[arg-type]
