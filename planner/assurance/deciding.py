"""The cheapest experiment: where a known mass tells explanations of a change apart."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from planner.assurance.diagnosis import Explained
from planner.assurance.plane_maps import real


@dataclass(frozen=True, kw_only=True)
class DecidingMass:
    """The place of a known mass that tells explanations apart: in the left or right plane, at an angle of the crankshaft.

    ``expected_gmm`` has, per explanation, what the two planes would change by.
    """

    plane: Literal["left", "right"]
    angle_deg: float
    unbalance_gmm: float
    expected_gmm: tuple[tuple[complex, complex], ...]
    apart_gmm: float


def deciding_mass(
    explanations: Sequence[Explained], *, unbalance_gmm: float, step_deg: float = 15.0
) -> DecidingMass | None:
    """Return where a known mass [g*mm] tells explanations apart best; None when no place does.

    A mass that is known does not show an error of the cuts or of a bob: such explanations expect it as it is.
    """
    best: DecidingMass | None = None
    for side, plane in enumerate(("left", "right")):
        for angle in np.arange(0.0, 360.0, step_deg):
            pair = [0j, 0j]
            pair[side] = cmath.rect(unbalance_gmm, math.radians(float(angle)))
            seen = [each.matrix @ real(pair) for each in explanations]
            apart = min(
                (float(np.linalg.norm(one - other)) for i, one in enumerate(seen) for other in seen[i + 1 :]),
                default=0.0,
            )
            if best is None or apart > best.apart_gmm * (1.0 + 1e-9):
                best = DecidingMass(
                    plane="left" if plane == "left" else "right",
                    angle_deg=float(angle),
                    unbalance_gmm=unbalance_gmm,
                    expected_gmm=tuple((complex(v[0], v[1]), complex(v[2], v[3])) for v in seen),
                    apart_gmm=apart,
                )
    if best is None or best.apart_gmm < 0.2 * unbalance_gmm:
        return None
    return best
