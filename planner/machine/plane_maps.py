"""Two vectors as four real numbers (left x, left y, right x, right y): linear maps of them, and their covariances."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.frames import TwoPlanes
from planner.rotor.vectors import ComplexArray

Matrix = NDArray[np.float64]


def mirror(zero_deg: float) -> Matrix:
    """Return the map of a reversed angle direction about the zero mark [deg], shape (4, 4)."""
    double = 2.0 * math.radians(zero_deg)
    one = np.array([[math.cos(double), math.sin(double)], [math.sin(double), -math.cos(double)]])
    return np.asarray(np.kron(np.eye(2), one))


SWAP: Matrix = np.kron(np.array([[0.0, 1.0], [1.0, 0.0]]), np.eye(2))


def turn(angle_rad: float) -> Matrix:
    """Return the map of a turn [rad], shape (4, 4)."""
    return np.asarray(turns(np.array([angle_rad]))[0])


def turns(angles_rad: Matrix) -> Matrix:
    """Return the maps of turns [rad], shape (n, 4, 4)."""
    result = np.zeros((len(angles_rad), 4, 4))
    for x in (0, 2):
        result[:, x, x] = result[:, x + 1, x + 1] = np.cos(angles_rad)
        result[:, x + 1, x] = np.sin(angles_rad)
        result[:, x, x + 1] = -np.sin(angles_rad)
    return result


def real(pair: Sequence[complex] | ComplexArray) -> Matrix:
    """Return the four components of two vectors: left x, left y, right x, right y."""
    return np.array([part for vector in pair for part in (complex(vector).real, complex(vector).imag)])


def pair(parts: Matrix) -> TwoPlanes[complex]:
    """Return the two vectors of four components: the way back of `real`."""
    return TwoPlanes(complex(parts[0], parts[1]), complex(parts[2], parts[3]))


def reading_covariance(
    reading_gmm: Sequence[complex] | ComplexArray,
    *,
    percent: float,
    angle_deg: float,
    floor_gmm: float = 0.0,
    count: int = 1,
) -> Matrix:
    """Return the covariance of a reading's four components [(g*mm)^2], shape (4, 4).

    Parameters
    ----------
    reading_gmm : sequence of 2 complex
        The reading [g*mm].
    percent, angle_deg : float
        Standard uncertainties of amount [%] and angle [deg].
    floor_gmm : float
        Standard uncertainty that stays when the amount is nothing [g*mm].
    count : int
        How many spins were averaged.
    """
    result = np.zeros((4, 4))
    for side in (0, 1):
        vector = complex(reading_gmm[side])
        direction = vector / abs(vector) if vector else 1.0 + 0j
        along = abs(vector) * percent / 100.0
        across = abs(vector) * math.radians(angle_deg)
        turn = np.array([[direction.real, -direction.imag], [direction.imag, direction.real]])
        block = turn @ np.diag([along**2 + floor_gmm**2, across**2 + floor_gmm**2]) @ turn.T
        result[2 * side : 2 * side + 2, 2 * side : 2 * side + 2] = block / count
    return result


def vector_covariance(
    direction: complex, shares: Sequence[float], *, along_gmm: float, across_gmm: float
) -> Matrix:
    """Return the covariance [(g*mm)^2], shape (4, 4), of a cut's effect in two planes.

    ``along_gmm`` and ``across_gmm`` are standard uncertainties along the cut's direction and across it [g*mm].
    """
    unit = direction / abs(direction)
    along = along_gmm * real([shares[0] * unit, shares[1] * unit])
    across = across_gmm * real([shares[0] * unit * 1j, shares[1] * unit * 1j])
    return np.asarray(np.outer(along, along) + np.outer(across, across))
