"""The cheapest experiment: where a known mass tells explanations of a change apart."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence

import numpy as np

from planner.frames import Side, TwoPlanes
from planner.machine.plane_maps import pair, real
from planner.machine.what_went_wrong import Explained
from planner.records import dataclass


@dataclass(frozen=True, kw_only=True)
class NamedPlace:
    """A place on the crankshaft that has a name of its own, so that no number of the machine is needed to find it.

    ``shares`` is what of a force there the left and the right plane carry.
    """

    name: str
    angle_deg: float
    radius_mm: float
    shares: tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class DecidingMass:
    """The place of a known mass that tells explanations apart: a named place, or a plane at an angle of the crankshaft.

    ``expected_gmm`` has, per explanation of ``tells_apart``, what the two planes would change by.
    """

    tells_apart: tuple[Explained, ...]
    plane: Side
    place: NamedPlace | None
    angle_deg: float
    unbalance_gmm: float
    expected_gmm: tuple[TwoPlanes[complex], ...]
    apart_gmm: float


def deciding_mass(
    explanations: Sequence[Explained],
    *,
    unbalance_gmm: float,
    places: Sequence[NamedPlace] | None = None,
    step_deg: float = 15.0,
) -> DecidingMass | None:
    """Return where a known mass [g*mm] tells explanations apart best; None when no place does.

    ``places`` are those that may be used; left out: every ``step_deg`` in either plane.  A mass that is known does not
    show an error of the cuts or of a bob: such explanations expect it as it is.
    """
    best: DecidingMass | None = None
    candidates: list[tuple[NamedPlace | None, float, tuple[float, float]]] = (
        [(each, each.angle_deg, each.shares) for each in places]
        if places is not None
        else [
            (None, float(angle), shares)
            for shares in ((1.0, 0.0), (0.0, 1.0))
            for angle in np.arange(0.0, 360.0, step_deg)
        ]
    )
    for place, angle, shares in candidates:
        vector = cmath.rect(unbalance_gmm, math.radians(angle))
        seen = [each.matrix @ real([shares[0] * vector, shares[1] * vector]) for each in explanations]
        apart = min(
            (float(np.linalg.norm(one - other)) for i, one in enumerate(seen) for other in seen[i + 1 :]),
            default=0.0,
        )
        if best is None or apart > best.apart_gmm * (1.0 + 1e-9):
            best = DecidingMass(
                tells_apart=tuple(explanations),
                plane="left" if abs(shares[0]) >= abs(shares[1]) else "right",
                place=place,
                angle_deg=angle,
                unbalance_gmm=unbalance_gmm,
                expected_gmm=tuple(pair(each) for each in seen),
                apart_gmm=apart,
            )
    if best is None or best.apart_gmm < 0.2 * unbalance_gmm:
        return None
    return best
