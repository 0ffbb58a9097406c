"""What a cut's solid amounts to, and the checks at the door that all kernels share."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.errors import InputError
from planner.records import dataclass

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Solid:
    """Volume and first moment of a body about the shaft axis, amounts positive.

    Attributes
    ----------
    volume_mm3 : float
        Volume [mm3].
    first_moment_mm4 : float
        First moment about the shaft axis along the cut's own angle [mm4].
    from_face_mm : float or None
        How far the centroid lies inside the face that was entered, along the shaft [mm]; None for a radial
        body, whose centroid lies in its own middle plane.
    """

    volume_mm3: float
    first_moment_mm4: float
    from_face_mm: float | None = None

    @property
    def centroid_radius_mm(self) -> float:
        """Radius of the centroid [mm]; 0 for an empty body."""
        return self.first_moment_mm4 / self.volume_mm3 if self.volume_mm3 else 0.0

    def mass_g(self, density_g_per_cm3: float) -> float:
        """Return the mass [g] at a density [g/cm3]."""
        return self.volume_mm3 * density_g_per_cm3 / 1000.0

    def unbalance_gmm(self, density_g_per_cm3: float) -> float:
        """Return the unbalance [g*mm] at a density [g/cm3]."""
        return self.first_moment_mm4 * density_g_per_cm3 / 1000.0


def checked_positive(value: ArrayLike, what: str, unit: str) -> FloatArray:
    """Return the value(s) as floats; InputError unless all are finite and above zero."""
    array = np.asarray(value, dtype=np.float64)
    bad = ~(np.isfinite(array) & (array > 0.0))
    if np.any(bad):
        given = float(array[bad].flat[0]) if array.ndim else float(array)
        raise InputError(
            f"{what} is {given:g} {unit}, it must be a number above 0",
            hint=f"check the {what} and its unit",
        )
    return array


def checked_point_angle(point_angle_deg: ArrayLike) -> FloatArray:
    """Return the point angle(s) [deg]; InputError unless 10 <= angle <= 180 (180 is a flat bottom)."""
    array = np.asarray(point_angle_deg, dtype=np.float64)
    bad = ~((array >= 10.0) & (array <= 180.0))
    if np.any(bad):
        given = float(array[bad].flat[0]) if array.ndim else float(array)
        raise InputError(
            f"point angle is {given:g} degrees, allowed are 10 to 180",
            hint="118 is the usual twist drill, 180 means a flat bottom",
        )
    return array


def cone_height_array_mm(diameter_mm: FloatArray, point_angle_deg: FloatArray) -> FloatArray:
    """Return `planner.rotor.crankshaft.cone_height_mm` for arrays [mm]; exactly 0 for a flat bottom."""
    half = np.radians(np.minimum(point_angle_deg, 180.0)) / 2.0
    return np.where(point_angle_deg >= 180.0, 0.0, diameter_mm / (2.0 * np.tan(half)))


def root_of_increasing(function: Callable[[float], float], low: float, high: float) -> float:
    """Return where an increasing function changes sign between ``low`` and ``high``.

    Bisection to the last digit (some 55 steps): no tolerance to choose, the same answer everywhere.  The
    caller makes sure that the sign changes.
    """
    while True:
        middle = 0.5 * (low + high)
        if not low < middle < high:
            return middle
        if function(middle) < 0.0:
            low = middle
        else:
            high = middle
