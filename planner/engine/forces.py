"""What a layout leaves unbalanced: harmonics of force and couple, and the exact slider-crank beside them.

For every cylinder the inertia force on the block is ``m*r*omega**2 * a(alpha)`` along its bank, ``alpha`` the
angle of the pin from the bank in the direction of rotation.  ``a`` is a Fourier sum of complex coefficients
``c_n``; every harmonic of every cylinder is a vector that turns with the crank and one that turns against it:
``m*r*omega**2 * 1/2 [c_n e^(j(n*phi - (n-1)*beta)) e^(jn wt) + conj(c_n) e^(j(-n*phi + (n+1)*beta)) e^(-jn wt)]``
(derivation: textbooks of machine dynamics, the method of direct and reverse cranks).  For n = 1 the bank has
dropped out of the first term: a bob of rotating mass plus one half cancels it for any layout.

Forces are returned divided by ``omega**2`` [g*mm], couples [g*mm*mm]; `force_n` and `couple_nm` make newtons.
"""

from __future__ import annotations

import cmath
import functools
import math
from collections.abc import Mapping, Sequence
from typing import cast

import numpy as np
from numpy.typing import NDArray

from planner.engine.engine import Engine, EngineCylinder
from planner.records import dataclass
from planner.rotor.vectors import ComplexArray, wrap_deg

FloatArray = NDArray[np.float64]

#: Harmonics that are reported: the odd ones above the first need an offset pin.
ORDERS = (1, 2, 4, 6)

_FFT_POINTS = 512


def piston_acceleration(alpha: FloatArray, *, rod_ratio: float, offset_ratio: float = 0.0) -> FloatArray:
    """Return the exact outward inertia force of a piston over ``m*r*omega**2``.

    Parameters
    ----------
    alpha : ndarray
        Angle of the pin from the cylinder's axis in the direction of rotation [rad].
    rod_ratio : float
        Rod length over throw radius.
    offset_ratio : float
        Offset of the piston pin's line over throw radius, positive in the direction of rotation.

    Notes
    -----
    From ``x = cos(alpha) + sqrt(L**2 - u**2)``, ``u = sin(alpha) - d`` (all over r), differentiated twice.
    Without offset this is ``cos a + lam*(cos 2a + lam**2*sin(a)**4)/(1 - lam**2*sin(a)**2)**1.5``.
    """
    sin, cos = np.sin(alpha), np.cos(alpha)
    u = sin - offset_ratio
    root = np.sqrt(rod_ratio**2 - u**2)
    return cast(FloatArray, cos + (cos**2 - u * sin) / root + (u * cos) ** 2 / root**3)


@functools.lru_cache(maxsize=256)
def acceleration_coefficients(rod_ratio: float, offset_ratio: float = 0.0) -> tuple[complex, ...]:
    """Return ``c_n``, n = 0..12, of the exact acceleration: ``a = Re(sum c_n e^(jn alpha))``.

    Without offset ``c_1 = 1`` and ``c_2 = lam + lam**3/4 + 15*lam**5/128 + ...``; computed by a discrete
    Fourier transform of the exact function, which has converged to rounding for rod ratios above 1.1.
    """
    alpha = 2.0 * np.pi * np.arange(_FFT_POINTS) / _FFT_POINTS
    exact = piston_acceleration(alpha, rod_ratio=rod_ratio, offset_ratio=offset_ratio)
    found = 2.0 * np.fft.rfft(exact)[:13] / _FFT_POINTS
    found[0] *= 0.5
    return tuple(complex(value) for value in found)


@dataclass(frozen=True, kw_only=True)
class HarmonicVector:
    """A vector that goes round an ellipse ``order`` times per turn of the crank.

    At crank travel t it is ``forward*e^(j*sense*order*t) + backward*e^(-j*sense*order*t)`` in the frame of the
    block (counter-clockwise from the front); ``forward`` turns with the crank.
    """

    order: int
    forward: complex
    backward: complex
    reference_axis_deg: float = 0.0

    @property
    def largest(self) -> float:
        """Long half axis of the ellipse: the largest amount in a turn."""
        return abs(self.forward) + abs(self.backward)

    @property
    def least(self) -> float:
        """Short half axis of the ellipse: the least amount in a turn."""
        return abs(abs(self.forward) - abs(self.backward))

    @property
    def rms(self) -> float:
        """Root mean square of the amount over a turn."""
        return math.hypot(abs(self.forward), abs(self.backward))

    @property
    def long_axis_deg(self) -> float:
        """Direction of the long axis [deg, 0 <= angle < 180]; of the reference axis for a circle."""
        product = self.forward * self.backward
        if abs(product) < 1e-18 * max(self.rms**2, 1e-300):
            return self.reference_axis_deg % 180.0
        return wrap_deg(math.degrees(cmath.phase(product))) / 2.0

    def amplitude(self, axis_deg: float) -> float:
        """Return the amplitude of the component along an axis [deg]."""
        turn = cmath.exp(-1j * math.radians(axis_deg))
        return abs(self.forward * turn + (self.backward * turn).conjugate())

    @property
    def along(self) -> float:
        """Amplitude along the reference axis."""
        return self.amplitude(self.reference_axis_deg)

    @property
    def across(self) -> float:
        """Amplitude across the reference axis."""
        return self.amplitude(self.reference_axis_deg + 90.0)


@dataclass(frozen=True, kw_only=True)
class Inherent:
    """What is left of an engine's forces [g*mm] and couples [g*mm*mm], over ``omega**2``, per harmonic.

    ``bobs_g`` are the bobs to which the crankshaft's counterweights are taken to be balanced.
    """

    force: Mapping[int, HarmonicVector]
    couple: Mapping[int, HarmonicVector]
    bobs_g: Mapping[str, float]
    unit_gmm: float
    spacing_mm: float


def _pin(engine: Engine, cylinder: EngineCylinder) -> tuple[float, float, float]:
    """Return (pin angle [rad], bank [rad], throw radius [mm]) counted in the direction of rotation."""
    throw = engine.throw(cylinder.throw)
    sense = engine.sense
    return (
        sense * math.radians(throw.angle_deg),
        sense * math.radians(cylinder.bank_angle_deg),
        throw.radius_mm,
    )


def inherent(
    engine: Engine,
    *,
    fraction: float = 0.5,
    bobs_g: Mapping[str, float] | None = None,
    orders: Sequence[int] = ORDERS,
) -> Inherent:
    """Return the harmonics of force and couple that are left when the crankshaft is balanced to its bobs.

    Parameters
    ----------
    engine : Engine
    fraction : float
        Share of the reciprocating mass in the bobs; 0 leaves the whole first order, the rotating masses
        are always balanced.  Not used when ``bobs_g`` is given.
    bobs_g : mapping of throw to float, optional
        The bobs [g], when they are not exactly rotating plus a fraction.
    orders : sequence of int
        Harmonics from 1 to 12.
    """
    bobs = engine.bobs_g(fraction) if bobs_g is None else dict(bobs_g)
    force: dict[int, HarmonicVector] = {}
    couple: dict[int, HarmonicVector] = {}
    for order in orders:
        sums = np.zeros(4, dtype=np.complex128)  # force forward, backward; couple forward, backward
        for cylinder in engine.cylinders:
            phi, beta, radius = _pin(engine, cylinder)
            coefficient = acceleration_coefficients(
                cylinder.rod_length_mm / radius, engine.sense * cylinder.offset_mm / radius
            )[order]
            half = 0.5 * cylinder.reciprocating_g * radius
            forward = half * coefficient * cmath.exp(1j * (order * phi - (order - 1) * beta))
            backward = half * coefficient.conjugate() * cmath.exp(1j * (-order * phi + (order + 1) * beta))
            if order == 1:
                forward += cylinder.rotating_g * radius * cmath.exp(1j * phi)
            z = cylinder.z_mm - engine.middle_z_mm
            sums += np.array([forward, backward, z * forward, z * backward])
        if order == 1:
            for throw in engine.throws:
                turn = cmath.exp(1j * engine.sense * math.radians(throw.angle_deg))
                vector = bobs.get(throw.name, 0.0) * throw.radius_mm * turn
                sums -= np.array([vector, 0.0, (throw.z_mm - engine.middle_z_mm) * vector, 0.0])
        if engine.sense < 0:
            sums = np.conj(sums)  # from the direction of rotation into the frame of the block
        parts = [complex(value) for value in sums]
        axis = engine.reference_axis_deg
        force[order] = HarmonicVector(
            order=order, forward=parts[0], backward=parts[1], reference_axis_deg=axis
        )
        couple[order] = HarmonicVector(
            order=order, forward=parts[2], backward=parts[3], reference_axis_deg=axis
        )
    return Inherent(
        force=force, couple=couple, bobs_g=bobs, unit_gmm=engine.unit_gmm, spacing_mm=engine.spacing_mm
    )


@dataclass(frozen=True, kw_only=True)
class ShakingCurve:
    """Force and couple over one turn of the crank.

    Attributes
    ----------
    travel_deg : ndarray, shape (n,)
        Crank travel in the direction of rotation [deg], 0..360.
    force_gmm, couple_gmm2 : ndarray of complex, shape (n,)
        Exact slider-crank, over ``omega**2``, in the frame of the block [g*mm, g*mm*mm].
    series_force_gmm, series_couple_gmm2 : ndarray of complex, shape (n,)
        The same from the harmonics.
    force_error_gmm, couple_error_gmm2 : float
        Largest difference between the two.
    """

    travel_deg: FloatArray
    force_gmm: ComplexArray
    couple_gmm2: ComplexArray
    series_force_gmm: ComplexArray
    series_couple_gmm2: ComplexArray
    force_error_gmm: float
    couple_error_gmm2: float


def exact_forces(
    engine: Engine, travel_deg: FloatArray, *, bobs_g: Mapping[str, float]
) -> tuple[ComplexArray, ComplexArray]:
    """Return exact (force [g*mm], couple [g*mm*mm]), over ``omega**2``, at every crank travel [deg].

    The time domain, without any series: every pin is turned to its angle in the frame of the block and its
    piston's acceleration taken there.
    """
    turn = engine.sense * np.radians(travel_deg)
    force = np.zeros(len(travel_deg), dtype=np.complex128)
    couple = np.zeros(len(travel_deg), dtype=np.complex128)
    for cylinder in engine.cylinders:
        throw = engine.throw(cylinder.throw)
        pin = turn + math.radians(throw.angle_deg)
        bank = math.radians(cylinder.bank_angle_deg)
        # the kinematics do not know which way time runs: angle and offset count the same way round
        along = piston_acceleration(
            pin - bank,
            rod_ratio=cylinder.rod_length_mm / throw.radius_mm,
            offset_ratio=cylinder.offset_mm / throw.radius_mm,
        )
        own = cylinder.reciprocating_g * along * cmath.exp(1j * bank) + cylinder.rotating_g * np.exp(1j * pin)
        own *= throw.radius_mm
        force += own
        couple += (cylinder.z_mm - engine.middle_z_mm) * own
    for throw in engine.throws:
        weight = -bobs_g.get(throw.name, 0.0) * throw.radius_mm
        vector = weight * np.exp(1j * (turn + math.radians(throw.angle_deg)))
        force += vector
        couple += (throw.z_mm - engine.middle_z_mm) * vector
    return force, couple


def shaking_curve(
    engine: Engine,
    *,
    fraction: float = 0.5,
    bobs_g: Mapping[str, float] | None = None,
    orders: Sequence[int] = ORDERS,
    points: int = 361,
) -> ShakingCurve:
    """Return force and couple over one turn, exact and from the harmonics (parameters as `inherent`)."""
    travel = np.linspace(0.0, 360.0, points)
    left = inherent(engine, fraction=fraction, bobs_g=bobs_g, orders=orders)
    force, couple = exact_forces(engine, travel, bobs_g=left.bobs_g)
    series_force = _sum_of(left.force, travel, engine.sense)
    series_couple = _sum_of(left.couple, travel, engine.sense)
    return ShakingCurve(
        travel_deg=travel,
        force_gmm=force,
        couple_gmm2=couple,
        series_force_gmm=series_force,
        series_couple_gmm2=series_couple,
        force_error_gmm=float(np.max(np.abs(force - series_force))),
        couple_error_gmm2=float(np.max(np.abs(couple - series_couple))),
    )


def _sum_of(vectors: Mapping[int, HarmonicVector], travel_deg: FloatArray, sense: int) -> ComplexArray:
    turn = sense * np.radians(travel_deg)
    total = np.zeros(len(travel_deg), dtype=np.complex128)
    for order, vector in vectors.items():
        total += vector.forward * np.exp(1j * order * turn) + vector.backward * np.exp(-1j * order * turn)
    return total


def force_n(amount_gmm: float, *, speed_rpm: float) -> float:
    """Return the force [N] of an amount over ``omega**2`` [g*mm] at a speed."""
    return amount_gmm * 1e-6 * (2.0 * math.pi * speed_rpm / 60.0) ** 2


def couple_nm(amount_gmm2: float, *, speed_rpm: float) -> float:
    """Return the couple [N*m] of an amount over ``omega**2`` [g*mm*mm] at a speed."""
    return amount_gmm2 * 1e-9 * (2.0 * math.pi * speed_rpm / 60.0) ** 2


@dataclass(frozen=True, kw_only=True)
class BobNeed:
    """Whether equal bobs matter on the balancing machine.

    ``static`` = ``sum(rods * r * e^(j angle))`` and ``couple`` = the same times z, of one gram per rod
    [g*mm, g*mm*mm].  When both vanish the bobs may be left off; unequal ones still read.
    """

    needed: bool
    static: complex
    couple: complex
    text: str


def bobs_needed(engine: Engine) -> BobNeed:
    """Return whether equal bobs (in proportion to the rods) read anything on the machine."""
    static = couple = 0j
    scale = 0.0
    for throw in engine.throws:
        vector = throw.rods * throw.radius_mm * cmath.exp(1j * math.radians(throw.angle_deg))
        static += vector
        couple += (throw.z_mm - engine.middle_z_mm) * vector
        scale += abs(vector)
    needed = abs(static) > 1e-6 * scale or abs(couple) > 1e-6 * scale * engine.spacing_mm
    if needed:
        text = "bobs are needed: equal bobs read on the machine"
    else:
        text = (
            "equal bobs cancel in force and couple: the crankshaft can be spun without them, and their mass "
            "is free, only they must be equal"
        )
    return BobNeed(needed=needed, static=static, couple=couple, text=text)
