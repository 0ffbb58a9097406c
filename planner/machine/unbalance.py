"""From spins to the unbalance that has to be corrected; what the display will show is `planner.frames.TwoPlanes.shown`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from planner.errors import InputError
from planner.frames import MachineConvention, TwoPlanes
from planner.machine.spin import KnownError, MountedPart, Spin
from planner.records import dataclass
from planner.rotor.crankshaft import Throw
from planner.rotor.vectors import ComplexArray, resolve, vector_gmm


@dataclass(frozen=True, kw_only=True)
class Reading:
    """The mean of the spins of one state in the crankshaft frame.

    Attributes
    ----------
    vectors_gmm : ndarray of complex, shape (2,)
        Left and right plane [g*mm], pointing to the heavy spot.
    scatter_gmm : tuple of 2 floats
        Largest distance of a single spin from the mean, per plane [g*mm]; 0 for one spin.
    count : int
        Number of spins averaged.
    """

    vectors_gmm: ComplexArray
    scatter_gmm: TwoPlanes[float]
    count: int


def spin_vectors(spin: Spin, *, machine: MachineConvention) -> ComplexArray:
    """Return what one spin read, as vectors in the crankshaft frame [g*mm], shape (2,): left, right."""
    return np.array([machine.vector_gmm(reading, side=side) for side, reading in spin.shown.items()])


def mean_reading(spins: Sequence[Spin], *, machine: MachineConvention) -> Reading:
    """Return the vector mean of spins of one state with its scatter."""
    each = np.array([spin_vectors(spin, machine=machine) for spin in spins])
    mean = each.mean(axis=0)
    scatter = np.abs(each - mean).max(axis=0)
    return Reading(
        vectors_gmm=mean, scatter_gmm=TwoPlanes(float(scatter[0]), float(scatter[1])), count=len(each)
    )


def bob_shift(
    *,
    throws: Sequence[Throw],
    bobs_on_g: Mapping[str, float],
    bobs_wanted_g: Mapping[str, float],
    planes_z_mm: TwoPlanes[float],
) -> ComplexArray:
    """Return what the wanted bobs would change against the bobs that were on [g*mm], shape (2,).

    ``sum((bob_wanted - bob_on) * radius)`` at each throw's angle, moved from the throw's z to the planes.

    Raises
    ------
    InputError
        If a throw has no bob stated.
    """
    sources = []
    for throw in throws:
        if throw.name not in bobs_on_g:
            raise InputError(
                f"the bob on throw `{throw.name}` is not stated for this spin",
                hint="say what was clamped on, 0 for a bare throw",
            )
        difference_g = bobs_wanted_g[throw.name] - bobs_on_g[throw.name]
        sources.append((throw.z_mm, vector_gmm(difference_g * throw.radius_mm, throw.angle_deg)))
    return resolve(sources, planes_z_mm)


def mounted_shift(
    *, parts: Sequence[MountedPart], mounted: Sequence[str], planes_z_mm: TwoPlanes[float]
) -> ComplexArray:
    """Return what the engine's mounted parts would change against those that were on [g*mm], shape (2,).

    In the engine but not on for the spin: added.  On but not in the engine: subtracted.  Both: nothing.
    """
    sources = []
    for part in parts:
        sign = int(part.in_engine) - int(part.name in mounted)
        if sign:
            sources.append((part.z_mm, sign * vector_gmm(part.unbalance_gmm, part.angle_deg)))
    return resolve(sources, planes_z_mm)


def known_error_sum(errors: Sequence[KnownError]) -> ComplexArray:
    """Return the sum of the known systematic errors [g*mm], shape (2,); they are subtracted from a reading."""
    total = np.zeros(2, dtype=np.complex128)
    for error in errors:
        total += np.array([error.left_gmm, error.right_gmm])
    return total
