"""Unbalance vectors and how they move along the shaft.

The one frame of the whole project: z [mm] grows from the front (nose) to the rear (flange); angles [deg] grow
counter-clockwise as seen from the front; an unbalance vector is the complex number
``amount_gmm * exp(1j * angle)`` and points to the heavy spot.  Removing metal at an angle subtracts there,
adding metal adds.  (Seen along +z this triad is left-handed; nothing here uses a cross product.)
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.frames import ShaftAngle
from planner.frames import wrap_deg as wrap_deg

ComplexArray = NDArray[np.complex128]


def vector_gmm(amount_gmm: float, angle_deg: float) -> complex:
    """Return the unbalance vector of an amount [g*mm] at an angle [deg] of the crankshaft frame."""
    return cmath.rect(amount_gmm, math.radians(angle_deg))


def angle_deg(vector: complex) -> ShaftAngle:
    """Return the angle [deg] of a vector in the crankshaft frame, in 0 <= angle < 360 (0 for the zero vector)."""
    if vector == 0:
        return ShaftAngle(0.0)
    return ShaftAngle(wrap_deg(math.degrees(cmath.phase(vector))))


def difference_deg(angle: float, reference: float) -> float:
    """Return ``angle - reference`` [deg] brought into -180 < difference <= 180."""
    difference = (angle - reference) % 360.0
    return difference - 360.0 if difference > 180.0 else difference


def plane_shares(z_mm: float, planes_z_mm: Sequence[float]) -> tuple[float, float]:
    """Return the shares with which a vector at ``z_mm`` acts in two planes.

    Parameters
    ----------
    z_mm : float
        Where the vector sits [mm].
    planes_z_mm : sequence of 2 floats
        The planes [mm]; either may be the front one.

    Returns
    -------
    tuple of 2 floats
        Shares that add up to 1; outside the planes one is negative and the other above 1.

    Raises
    ------
    InputError
        If the planes are equal.

    Notes
    -----
    Statics of a rigid shaft: force sum and moment sum are kept.
    """
    z1, z2 = planes_z_mm
    if z1 == z2:
        raise InputError(
            f"the two planes are both at z = {z1:g} mm, they must be apart",
            hint="measure the two planes' z from the same zero point",
        )
    return (z2 - z_mm) / (z2 - z1), (z_mm - z1) / (z2 - z1)


def resolve(sources: Iterable[tuple[float, complex]], planes_z_mm: Sequence[float]) -> ComplexArray:
    """Return the sum of vectors at their own z, seen in two planes.

    Parameters
    ----------
    sources : iterable of (z_mm, vector)
        Vectors [g*mm] and where they sit [mm].
    planes_z_mm : sequence of 2 floats
        The planes [mm].

    Returns
    -------
    ndarray of complex, shape (2,)
        Vectors in the two planes [g*mm].
    """
    total = np.zeros(2, dtype=np.complex128)
    for z_mm, vector in sources:
        share1, share2 = plane_shares(z_mm, planes_z_mm)
        total += np.array([share1 * vector, share2 * vector])
    return total


def transfer(
    vectors: Sequence[complex] | ComplexArray, from_z_mm: Sequence[float], to_z_mm: Sequence[float]
) -> ComplexArray:
    """Return a pair of vectors [g*mm] moved from one pair of planes to another.

    Force sum and moment sum are the same in both pairs.
    """
    return resolve(zip(from_z_mm, (complex(v) for v in vectors), strict=True), to_z_mm)
