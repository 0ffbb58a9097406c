"""Angles and where they are counted from: the only place that knows zero, sense, light spot and drill offset, both ways.

=============== ================================================================================================
type            what the number means
=============== ================================================================================================
`ShaftAngle`    degrees of the crankshaft's own frame: counter-clockwise seen from the front
`MachineAngle`  a **place** in the machine's counting: its zero, its direction; never with the 180 of a light spot
`Shown`         an angle on the display: of the spot that it marks, light or heavy
`Dial`          what is dialled to bring a place under the drill: a machine angle and the drill's offset
=============== ================================================================================================

To a program they are all floats; to mypy they are four kinds of thing, so that a number of one frame handed to another's
door is an error before anything runs.  Where a number comes from outside (a file, an option), it gets its type there, once.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Iterable
from typing import Generic, Literal, NamedTuple, NewType, TypeVar

from planner.records import dataclass

ShaftAngle = NewType("ShaftAngle", float)
"""Degrees of the crankshaft's own frame."""

MachineAngle = NewType("MachineAngle", float)
"""Degrees of a place in the machine's counting."""

Shown = NewType("Shown", float)
"""Degrees on the display, of the spot that it marks."""

Dial = NewType("Dial", float)
"""Degrees to dial, the drill's offset included."""

AngleDirection = Literal["ccw", "cw"]
ViewedFrom = Literal["front", "rear"]
AngleMarks = Literal["heavy spot", "light spot"]
PhaseGrows = Literal["with angles", "against angles"]


Side = Literal["left", "right"]
SIDES: tuple[Side, Side] = ("left", "right")
"""The two reading planes, in the order in which every pair of vectors has them."""

_T = TypeVar("_T")
_U = TypeVar("_U")

_ANGLE_QUANTUM_DEG = 1e-9


@dataclass(frozen=True, kw_only=True)
class SideReading:
    """Amount and angle as shown for one plane: g*mm, or g at the plane's radius; machine degrees."""

    amount: float
    angle_deg: Shown


class TwoPlanes(NamedTuple, Generic[_T]):
    """A value for each of the two reading planes; vectors are of the crankshaft's frame, pointing to the heavy spot [g*mm]."""

    left: _T
    right: _T

    @staticmethod
    def vectors(vectors_gmm: Iterable[complex]) -> TwoPlanes[complex]:
        """Return two vectors [g*mm] as a pair, left first; they may be an array of shape (2,)."""
        left, right = vectors_gmm
        return TwoPlanes(complex(left), complex(right))

    def items(self) -> tuple[tuple[Side, _T], tuple[Side, _T]]:
        """Return both values, each behind the name of its plane."""
        return (("left", self.left), ("right", self.right))

    def at(self, side: Side) -> _T:
        """Return the value of a plane."""
        return self.left if side == "left" else self.right

    def map(self, function: Callable[[_T], _U]) -> TwoPlanes[_U]:
        """Return what a function makes of each value."""
        return TwoPlanes(function(self.left), function(self.right))

    def plus(  # type: ignore[misc]
        self: TwoPlanes[complex], change_gmm: Iterable[complex], times: float = 1.0
    ) -> TwoPlanes[complex]:
        """Return these vectors with a change of both added [g*mm], so many times."""
        left, right = change_gmm
        return TwoPlanes(self.left + times * complex(left), self.right + times * complex(right))

    def shown(self: TwoPlanes[complex], machine: MachineConvention) -> TwoPlanes[SideReading]:  # type: ignore[misc]
        """Return what the machine's display shows for these vectors: the way back of a reading."""
        return TwoPlanes(*(machine.reading(vector, side=side) for side, vector in self.items()))


def wrap_deg(angle: float) -> float:
    """Return an angle [deg] brought into 0 <= angle < 360."""
    wrapped = angle % 360.0
    # -1e-15 % 360 is 360.0 in floating point: an angle must never read 360
    return 0.0 if 360.0 - wrapped < _ANGLE_QUANTUM_DEG else wrapped


@dataclass(frozen=True, kw_only=True)
class DrillSettings:
    """The settings that turn a number on the dial into a place: what a hole was, or is, dialled under.

    ``zero_deg`` and ``offset_deg`` as in `MachineConvention`; ``sense`` is its `MachineConvention.sense`.
    """

    zero_deg: ShaftAngle
    sense: int
    offset_deg: float

    def place_deg(self, dial_deg: Dial) -> ShaftAngle:
        """Return the crankshaft-frame angle [deg] of what is under the drill at a number on the dial."""
        return ShaftAngle(wrap_deg(self.zero_deg + self.sense * (dial_deg - self.offset_deg)))

    def dial_deg(self, place_deg: ShaftAngle) -> Dial:
        """Return the number on the dial [deg] for a place in the crankshaft frame."""
        return Dial(wrap_deg(self.sense * (place_deg - self.zero_deg) + self.offset_deg))

    def agrees(self, other: DrillSettings) -> bool:
        """Return whether both put every number on the dial at the same place."""
        apart = wrap_deg(self.place_deg(Dial(0.0)) - other.place_deg(Dial(0.0)) + 180.0) - 180.0
        return self.sense == other.sense and abs(apart) < 1e-6


@dataclass(frozen=True, kw_only=True)
class MachineConvention:
    """The machine's way of counting.

    ``zero_deg`` is where the machine's 0 lies in the crankshaft frame [deg].  ``drill_offset_deg`` is how many
    machine degrees the drill stands away from the pointer.  When ``mass_at_radius`` is true the display shows a
    mass [g] at ``left_radius_mm``/``right_radius_mm``.  ``phase_grows`` is for raw vibration: a mass moved toward larger
    machine angles makes the phase grow ("with angles"), or fall ("against angles"); ``phase_stated`` is False where nobody
    said which: a meter that shows the lag and one that shows the lead differ in just that.
    ``display_unit`` is the unit of the display's bare amounts where it is another than the job file's.
    """

    direction: AngleDirection = "ccw"
    viewed_from: ViewedFrom = "front"
    zero_deg: ShaftAngle = ShaftAngle(0.0)
    marks: AngleMarks = "heavy spot"
    mass_at_radius: bool = False
    left_radius_mm: float | None = None
    right_radius_mm: float | None = None
    drill_offset_deg: float = 0.0
    least_unbalance_gmm: float | None = None
    phase_grows: PhaseGrows = "with angles"
    phase_stated: bool = False
    display_unit: str | None = None

    @property
    def sense(self) -> int:
        """+1 when the machine's angles grow the way the crankshaft frame's do, else -1."""
        same = (self.direction == "ccw") == (self.viewed_from == "front")
        return 1 if same else -1

    def sense_seen_from(self, end: ViewedFrom) -> int:
        """+1 when the machine's angles grow counter-clockwise as seen from an end, else -1; from the rear all is mirrored."""
        return self.sense if end == "front" else -self.sense

    @property
    def radii_mm(self) -> TwoPlanes[float | None]:
        """The radii of the two planes [mm]: of masses that the display shows, or for those that want to know."""
        return TwoPlanes(self.left_radius_mm, self.right_radius_mm)

    @property
    def drill_settings(self) -> DrillSettings:
        """What a number on the dial means now."""
        return DrillSettings(zero_deg=self.zero_deg, sense=self.sense, offset_deg=self.drill_offset_deg)

    def place_deg(self, machine_angle_deg: MachineAngle) -> ShaftAngle:
        """Return the crankshaft-frame angle [deg] of a place on the machine (never with the 180 of a light spot)."""
        return ShaftAngle(wrap_deg(self.zero_deg + self.sense * machine_angle_deg))

    def machine_angle_deg(self, place_deg: ShaftAngle) -> MachineAngle:
        """Return the machine's angle [deg] of a place in the crankshaft frame."""
        return MachineAngle(wrap_deg(self.sense * (place_deg - self.zero_deg)))

    def dial_deg(self, place_deg: ShaftAngle) -> Dial:
        """Return what the operator dials [deg] to bring a place under the drill (drill offset included)."""
        return Dial(wrap_deg(self.machine_angle_deg(place_deg) + self.drill_offset_deg))

    def under_drill_deg(self, dial_deg: Dial) -> ShaftAngle:
        """Return the crankshaft-frame angle [deg] of what is under the drill at a number on the dial."""
        return self.drill_settings.place_deg(dial_deg)

    def dialled_without_offset_deg(self, place_deg: ShaftAngle) -> ShaftAngle:
        """Return where a hole comes to that was meant for a place and dialled by its machine angle, the offset forgotten."""
        return self.under_drill_deg(Dial(self.machine_angle_deg(place_deg)))

    def sector_deg(self, first: MachineAngle, last: MachineAngle) -> tuple[ShaftAngle, ShaftAngle]:
        """Return a sector of machine angles in the crankshaft frame, from and to counter-clockwise; not wrapped."""
        ends = [ShaftAngle(self.zero_deg + self.sense * each) for each in (first, last)]
        # a machine that counts the other way runs through the sector backwards
        return (ends[0], ends[1]) if self.sense > 0 else (ends[1], ends[0])

    def heavy_spot_deg(self, reading_angle_deg: Shown) -> ShaftAngle:
        """Return the crankshaft-frame angle [deg] of the heavy spot for an angle read off the display."""
        turn = 180.0 if self.marks == "light spot" else 0.0
        # rounded so that equal readings give equal plans whatever the convention they were stated in
        place = self.place_deg(MachineAngle(reading_angle_deg))
        return ShaftAngle(wrap_deg(round(place + turn, 6)))

    def reading_angle_deg(self, heavy_spot_deg: ShaftAngle) -> Shown:
        """Return the angle [deg] that the display shows for a heavy spot in the crankshaft frame."""
        turn = 180.0 if self.marks == "light spot" else 0.0
        return Shown(wrap_deg(self.machine_angle_deg(heavy_spot_deg) + turn))

    def vector_gmm(self, reading: SideReading, *, side: Side) -> complex:
        """Return the vector [g*mm] in the crankshaft frame of what the display shows for a plane."""
        angle = math.radians(self.heavy_spot_deg(reading.angle_deg))
        return cmath.rect(self.amount_gmm(reading.amount, side=side), angle)

    def reading(self, vector_gmm: complex, *, side: Side) -> SideReading:
        """Return what the display shows for a vector [g*mm] in the crankshaft frame; nothing is shown at the frame's 0."""
        at = ShaftAngle(wrap_deg(math.degrees(cmath.phase(vector_gmm))) if vector_gmm else 0.0)
        return SideReading(
            amount=self.display_amount(abs(vector_gmm), side=side), angle_deg=self.reading_angle_deg(at)
        )

    def raw_vector(self, amount: float, phase_deg: float) -> complex:
        """Return a raw vibration reading as a vector whose angle grows with the machine's angles."""
        turn = -phase_deg if self.phase_grows == "against angles" else phase_deg
        return cmath.rect(amount, math.radians(turn))

    def raw_phase_deg(self, vector: complex) -> float:
        """Return the phase [deg] that the instrument shows for a raw vector: the way back of `raw_vector`."""
        angle = math.degrees(cmath.phase(vector)) if vector else 0.0
        return wrap_deg(-angle if self.phase_grows == "against angles" else angle)

    def amount_gmm(self, amount: float, *, side: Side) -> float:
        """Return the unbalance [g*mm] of an amount read off the display (g*mm, or g at the plane's radius)."""
        return amount * self._radius_mm(side)

    def display_amount(self, amount_gmm: float, *, side: Side) -> float:
        """Return what the display shows [g*mm, or g at the plane's radius] for an unbalance [g*mm]."""
        return amount_gmm / self._radius_mm(side)

    def angle_phase_deg(self, angle_step_deg: float) -> float:
        """Return the phase [deg] of the grid of crankshaft-frame angles whose dial number is a whole step."""
        phase = (self.zero_deg - self.sense * self.drill_offset_deg) % angle_step_deg
        # -1e-15 % 1.0 is 1.0 in floating point: the same grid must not come with two phases
        return 0.0 if angle_step_deg - phase < 1e-9 else phase

    def _radius_mm(self, side: Side) -> float:
        if not self.mass_at_radius:
            return 1.0
        radius = self.radii_mm.at(side)
        if radius is None:
            raise ValueError(f"amounts are masses but there is no {side} radius")
        return radius
