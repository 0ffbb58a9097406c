"""Spins as recorded, and what they say about the crankshaft.

Bobs, mounted parts and cuts made belong to a spin; nothing here re-reads an old spin with new settings.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planner.errors import InputError
from planner.frames import MachineAngle, ShaftAngle, SideReading, TwoPlanes
from planner.records import dataclass


@dataclass(frozen=True, kw_only=True)
class KnownMass:
    """A mass [g] put on for a check spin, at a radius and z [mm].

    ``at`` names the place on the crankshaft itself ("throw 1", "counterweight A", or a mark of any other name) and
    ``offset_deg`` goes on from its centre line in the crankshaft's frame (for another mark: its angle there).
    ``machine_angle_deg`` is the machine's own number of the place: without ``at`` it is the place, beside ``at`` it is
    what the machine showed with the mass at the pointer.  At least one of the two is said.
    """

    mass_g: float
    radius_mm: float
    z_mm: float
    machine_angle_deg: MachineAngle | None = None
    at: str | None = None
    offset_deg: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Spin:
    """One spin as recorded.

    ``bobs_g`` has the mass clamped on every throw [g] (0 = bare).  ``mounted`` names the parts of the job's mounted
    parts that were on.  ``repeat`` says that the state is that of the spin before it.  ``from_trials`` marks what trial
    runs in raw vibration came to: it stands before the first spin and has the number 0.  ``as_read`` says that the
    operator was asked about the numbers and confirmed them, ``spot_seen`` that he looked where the heavy spot is said to be
    and found it there.
    """

    left: SideReading
    right: SideReading
    bobs_g: Mapping[str, float]
    mounted: tuple[str, ...] = ()
    repeat: bool = False
    speed_rpm: float | None = None
    known_mass: KnownMass | None = None
    from_trials: bool = False
    as_read: bool = False
    spot_seen: bool = False

    @property
    def shown(self) -> TwoPlanes[SideReading]:
        """What the display showed in both planes."""
        return TwoPlanes(self.left, self.right)


@dataclass(frozen=True, kw_only=True)
class MountedPart:
    """A damper, flywheel or adapter with the unbalance it is wanted to carry [g*mm], in the crankshaft frame.

    ``in_engine`` says that the engine runs with it, ``built_with`` that the crankshaft was balanced with it; an external
    balance that is made internal has parts that it was built with and won't run with.
    """

    name: str
    z_mm: float
    unbalance_gmm: float
    angle_deg: ShaftAngle
    in_engine: bool
    built_with: bool = True


@dataclass(frozen=True, kw_only=True)
class KnownError:
    """A systematic error of tooling, adapter or keys: vectors [g*mm] per plane, contained in every reading."""

    name: str
    left_gmm: complex
    right_gmm: complex


def newest_state(spins: Sequence[Spin]) -> tuple[int, ...]:
    """Return the indices of the spins of the newest state: the newest spin and the ones it repeats.

    Check spins with a known mass are not states of the crankshaft and are passed over.

    Raises
    ------
    InputError
        If there is no spin to plan from.
    """
    members: list[int] = []
    for index in range(len(spins) - 1, -1, -1):
        spin = spins[index]
        if spin.known_mass is not None:
            continue
        members.append(index)
        if not spin.repeat:
            break
    if not members:
        raise InputError(
            "there is no spin yet, a plan needs one",
            hint="spin the crankshaft and enter the four numbers: `bobplan spin LEFT ANGLE RIGHT ANGLE`",
        )
    return tuple(reversed(members))
