"""Angles of places: in the crankshaft's frame, or as read on the machine."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from planner.frames import MachineAngle, MachineConvention, ShaftAngle
from planner.jobfile.schema.rotor import KeepOutSection
from planner.jobfile.schema.sections import Sections, Where
from planner.rotor.vectors import wrap_deg


def names_machine_angle(data: Any) -> bool:
    """Return whether any table in ``data`` states a place as read on the machine."""
    if isinstance(data, Mapping):
        return any(str(key).endswith("machine_angle") for key in data) or any(
            names_machine_angle(value) for value in data.values()
        )
    return isinstance(data, list) and any(names_machine_angle(value) for value in data)


class Turned(Protocol):
    """What says its angle [deg], in one of two ways."""

    angle_deg: float | None
    machine_angle_deg: float | None


class Places:
    """Turns ``angle`` or ``machine_angle`` into an angle of the crankshaft's frame.

    ``machine`` is None when its section has faults: then a machine angle reads 0, for the job is refused anyway.
    """

    def __init__(self, sections: Sections, machine: MachineConvention | None) -> None:
        self.sections = sections
        self.machine = machine

    def angle_deg(self, where: Where, said: Turned) -> ShaftAngle:
        """Return the angle [deg] in 0 <= angle < 360; a fault is noted unless exactly one is said."""
        if said.angle_deg is not None and said.machine_angle_deg is not None:
            where.fault("machine_angle", allowed="say angle or machine_angle, not both")
            return ShaftAngle(0.0)
        if said.machine_angle_deg is not None:
            at_machine = MachineAngle(said.machine_angle_deg)
            return self.machine.place_deg(at_machine) if self.machine else ShaftAngle(0.0)
        if said.angle_deg is None:
            hint = "angle in the crankshaft's frame, or machine_angle as read on the machine"
            where.fault("angle", allowed="must be said, it is missing", hint=hint)
            return ShaftAngle(0.0)
        return ShaftAngle(wrap_deg(said.angle_deg))

    def sector_deg(self, where: Where, said: KeepOutSection) -> tuple[ShaftAngle, ShaftAngle]:
        """Return a sector's two angles [deg], counter-clockwise from/to, not wrapped."""
        own = [each for each in (said.from_angle_deg, said.to_angle_deg) if each is not None]
        at_machine = [
            MachineAngle(each)
            for each in (said.from_machine_angle_deg, said.to_machine_angle_deg)
            if each is not None
        ]
        if (len(own), len(at_machine)) not in ((2, 0), (0, 2)):
            where.fault(
                allowed="a sector needs from_angle and to_angle, or from_machine_angle and to_machine_angle"
            )
            return ShaftAngle(0.0), ShaftAngle(1.0)
        if own:
            first, last = ShaftAngle(own[0]), ShaftAngle(own[1])
        elif self.machine is not None:
            first, last = self.machine.sector_deg(*at_machine)
        else:
            return ShaftAngle(0.0), ShaftAngle(1.0)
        if first == last:
            where.fault(allowed="from and to are the same angle, a sector has a width")
        return first, last
