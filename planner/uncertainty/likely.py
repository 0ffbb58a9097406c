"""How likely a reading is for a crankshaft, and which slip or wrong setting would make it likelier.

A reading is two amounts and two angles.  What is known of the crankshaft makes some readings likely: what it should read
by the spin before, or by the bobs that it was balanced for; else only the size that crankshafts have at first and that the
heavy spot mostly lies where the counterweights are.  Each slip says which reading was really meant; the slip is believed by
its own chance times how likely that reading is (Bayes' rule, any textbook of statistics).  Densities are those of the
logarithm of an amount and of the angle, in which a wrong unit is a shift and a wrong zero a turn.

The spreads and chances below are common practice and judgement, not measured values; how often right readings are
questioned is measured (`tests/benchmarks/first_spins.py`).
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence

from planner.frames import TwoPlanes
from planner.records import dataclass

Pair = TwoPlanes[complex]

# a crankshaft's first unbalance a side: common to both sides, and each side's own (standard deviations of the logarithm)
_COMMON, _OWN = 1.0, 0.65
_TYPICAL_UM = 100.0
# where the heavy spot lies: at the counterweights, opposite (heavier parts than built for), anywhere
_AT, _OPPOSITE = 0.66, 0.20
_ANYWHERE = 1.0 - _AT - _OPPOSITE
_SPREAD_DEG = 32.0
# what a spin should read is not to be had within the errors in this share of all cases (bobs, parts, entries forgotten)
_SURPRISE = 0.12


@dataclass(frozen=True, kw_only=True)
class Expected:
    """What a reading should be: left and right [g*mm], and the standard deviation of each component [g*mm]."""

    vectors_gmm: Pair
    sigma_gmm: tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Picture:
    """What makes readings likely.

    ``half_mass_kg`` is half of the crankshaft's mass; ``metal_deg`` are, per side, the directions of the counterweights
    that count there with their weights; ``expected`` are what the reading should be by one story or another.
    """

    half_mass_kg: float
    metal_deg: tuple[Sequence[tuple[float, float]], Sequence[tuple[float, float]]]
    expected: tuple[Expected, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Slip:
    """A slip or wrong setting: in words, how often it happens, and what was really meant [g*mm] by the reading.

    ``chance`` is already multiplied by any width that the slip leaves open.
    """

    kind: str
    words: str
    chance: float
    meant_gmm: Pair


@dataclass(frozen=True, kw_only=True)
class Suspicion:
    """A slip with its probability, given the reading."""

    slip: Slip
    probability: float


def suspicions(reading_gmm: Pair, picture: Picture, slips: Sequence[Slip]) -> tuple[Suspicion, ...]:
    """Return how probable each slip is, given what was read; the most probable first."""
    right = 1.0 - min(sum(slip.chance for slip in slips), 0.5)
    weights = [slip.chance * math.exp(_log_density(slip.meant_gmm, picture)) for slip in slips]
    total = right * math.exp(_log_density(reading_gmm, picture)) + sum(weights)
    if total <= 0.0:
        return ()
    found = [
        Suspicion(slip=slip, probability=weight / total) for slip, weight in zip(slips, weights, strict=True)
    ]
    return tuple(sorted(found, key=lambda each: -each.probability))


def _log_density(pair: Pair, picture: Picture) -> float:
    """Return the logarithm of a reading's density, in the logarithms of the amounts and in radians."""
    if abs(pair[0]) < 1e-9 or abs(pair[1]) < 1e-9:
        return -60.0
    broad = _broad(pair, picture)
    parts = [(1.0 if not picture.expected else _SURPRISE, broad)]
    for each in picture.expected:
        parts.append(((1.0 - _SURPRISE) / len(picture.expected), _near(pair, each)))
    highest = max(log for _, log in parts)
    return highest + math.log(sum(w * math.exp(log - highest) for w, log in parts))


def _near(pair: Pair, expected: Expected) -> float:
    total = 0.0
    for vector, wanted, sigma in zip(pair, expected.vectors_gmm, expected.sigma_gmm, strict=True):
        total += -0.5 * (abs(vector - wanted) / sigma) ** 2 - math.log(2.0 * math.pi * sigma**2)
        # from the plane to (ln amount, angle)
        total += 2.0 * math.log(abs(vector))
    return max(total, -200.0)


def _broad(pair: Pair, picture: Picture) -> float:
    typical = math.log(_TYPICAL_UM * picture.half_mass_kg)
    a, b = (math.log(abs(vector)) - typical for vector in pair)
    mean, apart = 0.5 * (a + b), a - b
    var_mean, var_apart = _COMMON**2 + 0.5 * _OWN**2, 2.0 * _OWN**2
    size = -0.5 * (mean**2 / var_mean + apart**2 / var_apart) - 0.5 * math.log(
        4.0 * math.pi**2 * var_mean * var_apart
    )
    one, other = (
        [_at(math.degrees(cmath.phase(vector)), metal, half) for half in (0.0, 180.0)]
        for vector, metal in zip(pair, picture.metal_deg, strict=True)
    )
    uniform = 1.0 / (2.0 * math.pi)
    direction = _AT * one[0] * other[0] + _OPPOSITE * one[1] * other[1] + _ANYWHERE * uniform**2
    return size + math.log(direction)


def _at(angle_deg: float, metal: Sequence[tuple[float, float]], turned_deg: float) -> float:
    """Return the density [1/rad] of a heavy spot at the counterweights of a side, or half a turn from them."""
    if not metal:
        return 1.0 / (2.0 * math.pi)
    spread = math.radians(_SPREAD_DEG)
    total = weights = 0.0
    for direction, weight in metal:
        off = math.radians((angle_deg - direction - turned_deg + 180.0) % 360.0 - 180.0)
        total += weight * math.exp(-0.5 * (off / spread) ** 2) / (spread * math.sqrt(2.0 * math.pi))
        weights += weight
    return total / weights
