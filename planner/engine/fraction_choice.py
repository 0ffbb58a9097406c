"""Which share of the reciprocating mass the bobs should carry: four criteria, and what another share costs.

With the fraction f the first order that turns with the crank is ``P0 - f*S``, S the sum of reciprocating mass
times throw radius at the pins (times z for the couple); everything else does not depend on f.  Equal centred
cylinders have ``P0 = S/2``.

* least root mean square of everything: ``f = Re(conj(S)*P0)/|S|**2``, exactly one half without pin offset,
  because harmonics are orthogonal;
* least peak, with all harmonics: the largest of convex functions of f is convex, so its least value is found
  by golden section on the exact slider-crank;
* one plane only: ``|P0 - f*S| = |Q|``, the ellipse has become a line; two values;
* weighted axes: least ``w_along*X**2 + w_across*Y**2`` of the first order's amplitudes along and across the
  reference axis.
"""

from __future__ import annotations

import cmath
import math
from typing import Literal

import numpy as np

from planner.engine.engine import Engine
from planner.engine.forces import ORDERS, HarmonicVector, exact_forces, inherent
from planner.errors import InputError
from planner.records import dataclass

Quantity = Literal["force", "couple"]

#: Below this share of what all cylinders could do together a sum counts as zero.
_NOTHING = 1e-9

_PEAK_POINTS = 2880


@dataclass(frozen=True, kw_only=True)
class OnePlane:
    """A fraction that leaves the first order in one plane only: along ``axis_deg`` [deg, block frame]."""

    fraction: float
    axis_deg: float
    amplitude: float


@dataclass(frozen=True, kw_only=True)
class FractionChoice:
    """The criteria for one quantity (force, or couple).

    Attributes
    ----------
    quantity : {"force", "couple"}
    acts : bool
        Whether the fraction changes this quantity at all; if not, every fraction below is None.
    least_rms, least_peak : float or None
        Fractions for the least root mean square, and the least peak with all harmonics.
    one_plane : tuple of OnePlane
        Two values, the smaller first; one when both are the same (backward part zero: complete balance of the
        first order); none when pin offsets allow no such fraction.
    weighted : float or None
        For the weights asked for.
    peak_at_least_peak, peak_at_half : float or None
        Peaks in units: ``unit_gmm`` for the force, times ``spacing_mm`` for the couple.
    """

    quantity: Quantity
    acts: bool
    least_rms: float | None = None
    least_peak: float | None = None
    one_plane: tuple[OnePlane, ...] = ()
    weighted: float | None = None
    peak_at_least_peak: float | None = None
    peak_at_half: float | None = None


@dataclass(frozen=True, kw_only=True)
class FractionCost:
    """What a fraction leaves, beside one half.

    Root mean square and peak of force [units of ``unit_gmm``] and couple [times ``spacing_mm``], with all
    harmonics; the first order alone as the ellipses ``force_1`` and ``couple_1``, in the same units.
    """

    fraction: float
    force_rms: float
    force_peak: float
    couple_rms: float
    couple_peak: float
    force_1: HarmonicVector
    couple_1: HarmonicVector


def choose_fraction(
    engine: Engine, *, quantity: Quantity, weight_along: float = 1.0, weight_across: float = 1.0
) -> FractionChoice:
    """Return the fractions of all criteria for the force or the couple.

    Parameters
    ----------
    engine : Engine
    quantity : {"force", "couple"}
    weight_along, weight_across : float
        Weights of the two axes; the reference axis is the engine's.

    Raises
    ------
    InputError
        If a weight is negative, or both are 0.
    """
    if not (weight_along >= 0.0 and weight_across >= 0.0 and weight_along + weight_across > 0.0):
        raise InputError(
            f"weights {weight_along:g} along and {weight_across:g} across, they must be 0 or more and not both 0"
        )
    bare = _vector(engine, quantity, fraction=0.0)
    acting = bare.forward - _vector(engine, quantity, fraction=1.0).forward
    scale = engine.unit_gmm * len(engine.cylinders) * (1.0 if quantity == "force" else engine.spacing_mm)
    if abs(acting) <= _NOTHING * scale:
        return FractionChoice(quantity=quantity, acts=False)
    backward = bare.backward if abs(bare.backward) > _NOTHING * scale else 0j
    # everything relative to the direction and amount of S
    start, rest = bare.forward / acting, backward / abs(acting)
    axis = cmath.exp(1j * math.radians(engine.reference_axis_deg))
    unit = acting / abs(acting)
    along, across = weight_along, weight_across
    pull = (unit.conjugate() * axis * (rest / axis).conjugate()).real * (along - across) / (along + across)
    peak = _PeakOf(engine, quantity)
    least_peak = _golden(peak, -1.0, 2.0)
    return FractionChoice(
        quantity=quantity,
        acts=True,
        least_rms=start.real,
        least_peak=least_peak,
        one_plane=_one_plane(bare.forward, acting, backward, start),
        weighted=start.real + pull,
        peak_at_least_peak=peak(least_peak),
        peak_at_half=peak(0.5),
    )


def _vector(engine: Engine, quantity: Quantity, *, fraction: float) -> HarmonicVector:
    left = inherent(engine, fraction=fraction, orders=(1,))
    return left.force[1] if quantity == "force" else left.couple[1]


def _one_plane(forward: complex, acting: complex, backward: complex, start: complex) -> tuple[OnePlane, ...]:
    """Solve ``|P0 - f*S| = |Q|`` for f."""
    width = abs(backward / acting) ** 2 - start.imag**2
    if width < -_NOTHING:
        return ()
    half = math.sqrt(max(width, 0.0))
    found = []
    for fraction in sorted({start.real - half, start.real + half}):
        left = HarmonicVector(order=1, forward=forward - fraction * acting, backward=backward)
        found.append(OnePlane(fraction=fraction, axis_deg=left.long_axis_deg, amplitude=left.largest))
    return tuple(found)


class _PeakOf:
    """Peak of the exact force or couple as a function of the fraction, in units."""

    def __init__(self, engine: Engine, quantity: Quantity) -> None:
        travel = 360.0 * np.arange(_PEAK_POINTS) / _PEAK_POINTS
        pick = 0 if quantity == "force" else 1
        unit = engine.unit_gmm * (1.0 if quantity == "force" else engine.spacing_mm)
        self._bare = exact_forces(engine, travel, bobs_g=engine.bobs_g(0.0))[pick] / unit
        self._step = exact_forces(engine, travel, bobs_g=engine.bobs_g(1.0))[pick] / unit - self._bare

    def __call__(self, fraction: float) -> float:
        square = np.abs(self._bare + fraction * self._step) ** 2
        before, after = np.roll(square, 1), np.roll(square, -1)
        # the peaks between the samples: a parabola through each local maximum and its neighbours
        tops = (square >= before) & (square >= after)
        bend = (2.0 * square - before - after)[tops]
        rise = (after - before)[tops] ** 2 / (8.0 * np.where(bend > 0.0, bend, np.inf))
        return math.sqrt(float(np.max(square[tops] + rise)))

    def rms(self, fraction: float) -> float:
        """Return the root mean square over a turn."""
        return float(np.sqrt(np.mean(np.abs(self._bare + fraction * self._step) ** 2)))


def _golden(function: _PeakOf, low: float, high: float) -> float:
    """Return where a convex function is least, by golden section."""
    ratio = 0.5 * (math.sqrt(5.0) - 1.0)
    left, right = high - ratio * (high - low), low + ratio * (high - low)
    at_left, at_right = function(left), function(right)
    while high - low > 1e-9:
        if at_left <= at_right:
            high, right, at_right = right, left, at_left
            left = high - ratio * (high - low)
            at_left = function(left)
        else:
            low, left, at_left = left, right, at_right
            right = low + ratio * (high - low)
            at_right = function(right)
    return 0.5 * (low + high)


def fraction_cost(engine: Engine, *, fraction: float) -> FractionCost:
    """Return what a fraction leaves of force and couple, in units (see `FractionCost`)."""
    force, couple = _PeakOf(engine, "force"), _PeakOf(engine, "couple")
    left = inherent(engine, fraction=fraction, orders=ORDERS)
    return FractionCost(
        fraction=fraction,
        force_rms=force.rms(fraction),
        force_peak=force(fraction),
        couple_rms=couple.rms(fraction),
        couple_peak=couple(fraction),
        force_1=_in_units(left.force[1], engine.unit_gmm),
        couple_1=_in_units(left.couple[1], engine.unit_gmm * engine.spacing_mm),
    )


def _in_units(vector: HarmonicVector, unit: float) -> HarmonicVector:
    return HarmonicVector(
        order=vector.order,
        forward=vector.forward / unit,
        backward=vector.backward / unit,
        reference_axis_deg=vector.reference_axis_deg,
    )
