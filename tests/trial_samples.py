"""Job files with trial runs made from a known linear rotor.  All numbers are invented."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from pathlib import Path

from planner.frames import MachineConvention

EXAMPLE = Path(__file__).parents[1] / "examples" / "cross_plane_v8" / "job.toml"

Pair = tuple[complex, complex]


def polar(amount: float, angle_deg: float) -> complex:
    return cmath.rect(amount, math.radians(angle_deg))


def degrees_of(vector: complex) -> float:
    return math.degrees(cmath.phase(vector)) % 360.0


# what the rotor does to the two sides, reading per g*mm, in the crankshaft frame
ALPHA: tuple[Pair, Pair] = (
    (polar(0.9e-3, 40), polar(0.3e-3, 70)),
    (polar(0.25e-3, 55), polar(0.8e-3, 30)),
)
UNBALANCE: Pair = (polar(3480, 214), polar(2910, 33))


class Rig:
    """A linear rotor on a machine that counts in its own way, and the lines of its trial runs."""

    def __init__(
        self,
        machine: MachineConvention | None = None,
        *,
        unbalance: Pair = UNBALANCE,
        zero_text: str = '"throw 1"',
    ) -> None:
        self.machine = machine or MachineConvention()
        self.unbalance = unbalance
        self.zero_text = zero_text

    def reading(self, masses: Sequence[complex] = (0j, 0j)) -> Pair:
        """Return the raw vectors with these masses on, all in the crankshaft frame."""
        total = [u + w for u, w in zip(self.unbalance, masses, strict=True)]
        left, right = (row[0] * total[0] + row[1] * total[1] for row in ALPHA)
        return left, right

    def typed(self, vector: complex) -> tuple[float, float]:
        """Return amount and phase as the instrument shows them, worked out here on its own."""
        place = (degrees_of(vector) - self.machine.zero_deg) * self.machine.sense
        return abs(vector), (-place if self.machine.phase_grows == "against angles" else place) % 360.0

    def run(
        self,
        name: str,
        *,
        plane: str | None = None,
        mass: complex = 0j,
        already: Sequence[complex] = (0j, 0j),
        left_on: bool = False,
        extra: str = "",
    ) -> str:
        """Return one of ``[[trials]]``; ``mass`` is in the crankshaft frame, ``already`` was left on before."""
        on = list(already)
        lines = ["[[trials]]", f'name = "{name}"']
        if plane is not None:
            on[("left", "right").index(plane)] += mass
            at = (degrees_of(mass) - self.machine.zero_deg) * self.machine.sense % 360.0
            lines += [f'mass_plane = "{plane}"', f'unbalance = "{abs(mass)!r} g*mm"', f"angle = {at!r}"]
            if left_on:
                lines.append("left_on = true")
        for side, vector in zip(("left", "right"), self.reading(on), strict=True):
            amount, phase = self.typed(vector)
            lines.append(f"{side} = {{ amount = {amount!r}, phase = {phase!r} }}")
        return "\n".join([*lines, extra, ""])

    def three_runs(self, *, bobs: str = "bobs = 1724.0") -> str:
        return "".join(
            [
                self.run("as it came", extra=bobs),
                self.run("left", plane="left", mass=polar(2400, 90)),
                self.run("right", plane="right", mass=polar(2400, 10)),
            ]
        )

    def job(self, trials: str, *, spins: str = "") -> str:
        """Return the example's job with these trials in place of its spins, on this machine."""
        text = EXAMPLE.read_text(encoding="utf-8").split("[[spins]]")[0]
        machine = self.machine
        for key, old, new in (
            ("angle_direction", '"ccw"', f'"{machine.direction}"'),
            ("viewed_from", '"front"', f'"{machine.viewed_from}"'),
            ("angle_zero", '"throw 1"', self.zero_text),
            ("angle_marks", '"heavy spot"', f'"{machine.marks}"'),
        ):
            assert f"{key} = {old}" in text
            text = text.replace(f"{key} = {old}", f"{key} = {new}")
        text = text.replace("[machine]\n", f'[machine]\nphase_grows = "{machine.phase_grows}"\n')
        return text + trials + spins
