"""Angles of places: in the crankshaft's frame, or as read on the machine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from planner.frames import MachineAngle, MachineConvention
from planner.jobfile.schema.sections import Sections
from planner.rotor.vectors import wrap_deg


def names_machine_angle(data: Any) -> bool:
    """Return whether any table in ``data`` states a place as read on the machine."""
    if isinstance(data, Mapping):
        return any(str(key).endswith("machine_angle") for key in data) or any(
            names_machine_angle(value) for value in data.values()
        )
    return isinstance(data, list) and any(names_machine_angle(value) for value in data)


class Places:
    """Turns ``angle`` or ``machine_angle`` into an angle of the crankshaft's frame.

    ``machine`` is None when its section has faults: then a machine angle reads 0, for the job is refused anyway.
    """

    def __init__(self, sections: Sections, machine: MachineConvention | None) -> None:
        self.sections = sections
        self.machine = machine

    def angle_deg(
        self,
        section: str,
        location: Sequence[str | int],
        *,
        angle_deg: float | None,
        machine_angle_deg: float | None,
    ) -> float:
        """Return the angle [deg] in 0 <= angle < 360; a fault is noted unless exactly one is said."""
        if angle_deg is not None and machine_angle_deg is not None:
            self.sections.fault(
                section, (*location, "machine_angle"), allowed="say angle or machine_angle, not both"
            )
            return 0.0
        if machine_angle_deg is not None:
            return self.machine.place_deg(MachineAngle(machine_angle_deg)) if self.machine else 0.0
        if angle_deg is None:
            self.sections.fault(
                section,
                (*location, "angle"),
                allowed="must be said, it is missing",
                hint="angle in the crankshaft's frame, or machine_angle as read on the machine",
            )
            return 0.0
        return wrap_deg(angle_deg)

    def sector_deg(
        self,
        section: str,
        location: Sequence[str | int],
        *,
        angles_deg: tuple[float | None, float | None],
        machine_angles_deg: tuple[float | None, float | None],
    ) -> tuple[float, float]:
        """Return a sector's two angles [deg], counter-clockwise from/to, not wrapped."""
        said = [each is not None for each in (*angles_deg, *machine_angles_deg)]
        if said not in ([True, True, False, False], [False, False, True, True]):
            self.sections.fault(
                section,
                location,
                allowed="a sector needs from_angle and to_angle, or from_machine_angle and to_machine_angle",
            )
            return 0.0, 1.0
        first, last = angles_deg
        if first is not None and last is not None:
            pass
        elif self.machine is not None:
            ends = [MachineAngle(each) for each in machine_angles_deg if each is not None]
            first, last = self.machine.sector_deg(*ends)
        else:
            return 0.0, 1.0
        if first == last:
            self.sections.fault(
                section, location, allowed="from and to are the same angle, a sector has a width"
            )
        return first, last
