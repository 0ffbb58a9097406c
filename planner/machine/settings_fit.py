"""Which settings of the machine explain what known masses read: all placements together, every setting as it may be.

Everything is compared in the display's own counting, before any setting is applied, so that no setting is trusted
beforehand.  A mass of unbalance u at a place changes what side i shows by

    x_i = k_i * p * share_i * u * exp(1j * a)

with p = -1 on a machine that marks the light spot, share_i the lever rule, k_i what the amounts are read too large by, and
a the machine's number of the place: ``s * (place - zero)`` for a place named on the crankshaft itself, the number as it
stands for a place stated by the machine's own numbers.  So the latter says nothing of s (direction and end) and zero.
A number read with the mass at the pointer is one more equation, ``a = s * (place - zero)``.

What is wrong is a change of s, zero, p, the order of the planes, or k.  Each combination is fitted by generalised least
squares (any textbook of statistics; common practice); the base reading's error is in every change and is correlated.  "As
set" stands unless it misses by more than one right machine in two thousand does.  A setting is proved when no combination
that fits has it otherwise.
"""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from planner.frames import TwoPlanes
from planner.machine.plane_maps import Matrix, reading_covariance, real, vector_covariance
from planner.records import dataclass
from planner.rotor.vectors import difference_deg

_Free = tuple[bool, bool] | Literal["common"]

Fault = Literal[
    "direction", "zero", "spot", "planes", "unit", "left radius", "right radius", "amounts", "scale"
]

# a place named on the crankshaft is found by eye to this angle, a radius and a mass are measured to this share, and the
# pointer is set to this angle (common practice)
PLACED_DEG, PLACED_PERCENT, POINTED_DEG = 2.0, 2.0, 2.0
# chances at which a fit is refused: "as set", and any other
_REFUSED, _IMPLAUSIBLE = 3.29, 3.89  # standard normal quantiles of 1 in 2,000 and 1 in 20,000
# ln-odds doubled: what a fault (a calibration that is off is no setting and counts twice), and a number that is fitted to
# the data, must win in chi^2
_PER_FAULT, _PER_NUMBER = 10.0, 3.0
# an explanation worse than the best by this much (odds of 90 to 1) is dropped; a setting is proved when none so near differs
_CLEARLY = 9.0
# ... and one that adds a fault to another must win this much more
_ADDED = 20.0
_CLAIMED = 14.0
# a zero mark found within this of half a turn from where it is set may as well be a swapped spot [deg]
_HALF_TURN_DEG = 12.0
# radii of correction planes that are believed, where none is known [mm]
_RADII_MM = (30.0, 200.0)
_AS_SET = TwoPlanes(1.0, 1.0)


@dataclass(frozen=True, kw_only=True)
class Settings:
    """The settings that matter here, as set: sense +1 or -1, zero [deg], p = +1 heavy or -1 light, planes [mm].

    ``gains`` are known mix-ups: what both sides' amounts are read too large by when the named unit is the right one.
    ``amounts`` are the two sides' when amounts are the other kind (unbalance for mass, or the other way round), by unit.
    Where that needs radii which are not known, ``radii_for`` has per unit of mass the radius [mm] at which a side reads
    right: a side's radius is that divided by what it reads too large by.
    """

    sense: int
    zero_deg: float
    spot: int
    planes_z_mm: TwoPlanes[float]
    by_mass: bool
    gains: Mapping[str, float] = field(default_factory=dict)
    amounts: Mapping[str, TwoPlanes[float]] = field(default_factory=dict)
    radii_for: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Placement:
    """A known mass: u [g*mm] at z [mm]; its place in the crankshaft frame, or the machine's number, or both [deg]."""

    unbalance_gmm: float
    z_mm: float
    place_deg: float | None = None
    number_deg: float | None = None


@dataclass(frozen=True, kw_only=True)
class Explanation:
    """Settings that explain the readings.

    ``faults`` are what is otherwise than set (empty: nothing).  ``turn_deg`` is how far the zero lies from where it is
    set, in the crankshaft's frame; ``gains`` by what the sides' amounts are read too large; ``unit`` names the right
    unit where one explains that.  ``predicted`` has per placement what the two sides should change by [g*mm as set], in
    the display's counting.  ``chi2`` with ``freedom`` degrees is what it leaves unexplained, ``numbers`` of them fitted.
    """

    faults: tuple[Fault, ...]
    chi2: float
    freedom: int
    score: float
    sense: int
    spot: int
    planes_swapped: bool
    turn_deg: float
    gains: TwoPlanes[float]
    predicted: tuple[TwoPlanes[complex], ...]
    unit: str | None = None
    numbers: int = 0

    @property
    def misses_by(self) -> float:
        """What is unexplained in multiples of the expected error (1 = as expected)."""
        return math.sqrt(self.chi2 / max(self.freedom, 1))


@dataclass(frozen=True, kw_only=True)
class SettingsFit:
    """What known masses prove.

    ``explanations`` fit, best first; ``as_set`` is how well the settings as they are do; ``proved`` names the settings
    ("direction", "zero", "spot", "planes", "amounts") that no fitting combination has otherwise; "amounts" is unit, radius
    and kind together, for only their product acts.  ``zero_sigma_deg`` is how well the zero is known.
    """

    explanations: tuple[Explanation, ...]
    as_set: Explanation
    proved: frozenset[str]
    zero_sigma_deg: float | None

    @property
    def good(self) -> bool:
        """True when the settings as they are fit."""
        return bool(self.explanations) and not self.explanations[0].faults

    @property
    def settled(self) -> bool:
        """True when exactly one explanation fits."""
        return len(self.explanations) == 1


def fit_settings(
    placements: Sequence[Placement],
    read: Sequence[TwoPlanes[complex]],
    base: TwoPlanes[complex],
    settings: Settings,
    *,
    percent: float,
    angle_deg: float,
    floor_gmm: float,
    base_count: int = 1,
) -> SettingsFit:
    """Return which settings explain the readings.

    Parameters
    ----------
    placements : sequence of Placement
        One per check spin.
    read : sequence of pairs of complex
        What the sides showed with each mass on [g*mm as set], in the display's counting, no setting applied.
    base : pair of complex
        The same without a mass.
    settings : Settings
        As set.
    percent, angle_deg, floor_gmm : float
        Standard uncertainties of a reading's amount [%], of its angle [deg], and what stays when it is nothing [g*mm].
    base_count : int
        How many spins the base is the mean of.

    Raises
    ------
    ValueError
        If there is no placement.
    """
    if not placements:
        raise ValueError("there is no known mass to compare with")
    data = _Data(placements, read, base, settings, percent, angle_deg, floor_gmm, base_count)
    as_set = data.explained((), _Counting(sense=settings.sense, spot=settings.spot))
    every = [as_set, *_candidates(data)]
    fitting = [
        each
        for each in every
        # an amount that reads backwards is a swapped spot, which is tried on its own
        if each.chi2 <= _quantile(each.freedom, _IMPLAUSIBLE) and min(each.gains) > 0.0
    ]
    return SettingsFit(
        explanations=tuple(_chosen(_simplest(fitting), as_set)),
        as_set=as_set,
        proved=_proved(data, as_set),
        zero_sigma_deg=data.zero_sigma_deg(),
    )


def _quantile(freedom: int, normal: float) -> float:
    """Return the chi^2 value with ``freedom`` degrees at a standard normal quantile (Wilson and Hilferty's formula)."""
    n = max(freedom, 1)
    return n * (1.0 - 2.0 / (9.0 * n) + normal * math.sqrt(2.0 / (9.0 * n))) ** 3


def _chosen(fitting: Sequence[Explanation], as_set: Explanation) -> list[Explanation]:
    if not fitting:
        return []
    best = min(each.score for each in fitting)
    if as_set.chi2 <= _quantile(as_set.freedom, _REFUSED) and as_set.score <= best + _CLEARLY:
        return [as_set]
    near = [each for each in fitting if each.faults and each.score <= best + _CLEARLY]
    return sorted(near, key=lambda each: each.score)


def _simplest(fitting: list[Explanation]) -> list[Explanation]:
    """Return the explanations without those that only say another one in a more general way."""
    # one after the other: what was dropped must not drop another
    for drops in (_says_more, _says_generally):
        fitting = [
            each for each in fitting if not any(drops(each, other) for other in fitting if other is not each)
        ]
    return fitting


def _says_generally(each: Explanation, other: Explanation) -> bool:
    """Return whether an explanation has numbers fitted where another says the same without."""
    return (
        len(other.faults) <= len(each.faults)
        and other.sense == each.sense
        and other.spot == each.spot
        and other.planes_swapped == each.planes_swapped
        and abs(difference_deg(other.turn_deg, each.turn_deg)) < _HALF_TURN_DEG
        and other.numbers < each.numbers
        and other.chi2 - each.chi2 < _CLEARLY
        and all(abs(a / b - 1.0) < 0.15 for a, b in zip(other.gains, each.gains, strict=True))
    )


def _says_more(each: Explanation, other: Explanation) -> bool:
    """Return whether an explanation only adds to another, with no more success than chance gives."""
    if set(other.faults) < set(each.faults):
        return bool(other.faults) and other.chi2 - each.chi2 < _ADDED
    # a display of masses reads far too small or too large as a matter of course, a calibration is never that far off
    far = abs(math.log(each.gains[0])) > math.log(2.0)
    return each.faults[-1:] == ("scale",) and other.faults == (*each.faults[:-1], "amounts") and far


def _candidates(data: _Data) -> Iterator[Explanation]:
    """Yield settings with one or two faults of counting, each with at most one fault of the amounts."""
    s = data.settings
    places: list[tuple[Fault, ...]] = [()]
    for count in (1, 2):
        places += list(itertools.combinations(("direction", "zero", "spot", "planes"), count))
    for faults in places:
        # half a turn of the zero undoes a swapped spot: both at once are no explanation but an idle one
        if {"spot", "zero"} <= set(faults) and not data.has_numbers:
            continue
        way = _Counting(
            sense=-s.sense if "direction" in faults else s.sense,
            spot=-s.spot if "spot" in faults else s.spot,
            swapped="planes" in faults,
            free_zero="zero" in faults,
        )
        if faults:
            yield data.explained(faults, way)
        if len(faults) == 2:
            continue
        for name, gain in s.gains.items():
            yield data.explained((*faults, "unit"), way, gains=TwoPlanes(gain, gain), unit=name)
        for name, pair in s.amounts.items():
            yield data.explained((*faults, "amounts"), way, gains=pair, unit=name)
        if s.by_mass:
            yield data.explained((*faults, "left radius"), way, free=(True, False))
            yield data.explained((*faults, "right radius"), way, free=(False, True))
            yield data.explained((*faults, "left radius", "right radius"), way, free=(True, True))
        else:
            for name, radius in s.radii_for.items():
                found = data.explained((*faults, "amounts"), way, free=(True, True), unit=name)
                if all(gain > 0 and _RADII_MM[0] <= radius / gain <= _RADII_MM[1] for gain in found.gains):
                    yield found
            yield data.explained((*faults, "scale"), way, free="common")


def _proved(data: _Data, as_set: Explanation) -> frozenset[str]:
    """Return the settings that no combination which fits about as well has otherwise; none unless "as set" fits."""
    if as_set.chi2 > _quantile(as_set.freedom, _REFUSED):
        return frozenset()
    s = data.settings
    combinations = itertools.product((s.sense, -s.sense), (s.spot, -s.spot), (False, True))
    limit = as_set.chi2 + _CLAIMED
    otherwise: set[str] = set()
    for sense, spot, swapped in combinations:
        way = _Counting(sense=sense, spot=spot, swapped=swapped, free_zero=True)
        frees: tuple[_Free, ...] = ((False, False), "common")
        for free in frees:
            found = data.explained(("zero",), way, free=free)
            if found.chi2 > limit:
                continue
            if free == "common" and found.gains[0] <= 0.0:
                continue
            otherwise |= {"direction"} if sense != s.sense else set()
            otherwise |= {"spot"} if spot != s.spot else set()
            otherwise |= {"planes"} if swapped else set()
            if not data.has_named or abs(difference_deg(found.turn_deg, 0.0)) > 3.0 * max(
                data.zero_sigma_deg() or 180.0, 5.0
            ):
                otherwise.add("zero")
            if any(abs(math.log(max(gain, 1e-9))) > math.log(1.3) for gain in found.gains):
                otherwise.add("amounts")
    if (data.zero_sigma_deg() or 180.0) > 8.0:
        otherwise.add("zero")
    if data.gain_sigma() > 0.1:
        otherwise.add("amounts")
    return frozenset({"direction", "zero", "spot", "planes", "amounts"} - otherwise)


@dataclass(frozen=True, kw_only=True)
class _Counting:
    """One way that the machine may count: sense, p, the order of the planes; the zero as set, or fitted."""

    sense: int
    spot: int
    swapped: bool = False
    free_zero: bool = False


class _Data:
    """The readings, whitened, and what settings make of the placements."""

    def __init__(
        self,
        placements: Sequence[Placement],
        read: Sequence[TwoPlanes[complex]],
        base: TwoPlanes[complex],
        settings: Settings,
        percent: float,
        angle_deg: float,
        floor_gmm: float,
        base_count: int,
    ) -> None:
        self.placements, self.settings = tuple(placements), settings
        count = len(self.placements)
        changes = [(a - base[0], b - base[1]) for a, b in read]
        self.y = np.concatenate([real(pair) for pair in changes])
        # of a mass placed by name: does the machine's own number of the place stand beside it?
        self.pointed = [p for p in self.placements if p.place_deg is not None and p.number_deg is not None]
        self.has_named = any(p.place_deg is not None for p in self.placements)
        self.has_numbers = any(p.number_deg is not None for p in self.placements)

        def noise(pair: TwoPlanes[complex], times: int = 1) -> Matrix:
            return reading_covariance(
                pair, percent=percent, angle_deg=angle_deg, floor_gmm=floor_gmm, count=times
            )

        of_base = noise(base, base_count)
        C = np.kron(np.ones((count, count)), of_base)
        for index, (pair, change) in enumerate(zip(read, changes, strict=True)):
            here = slice(4 * index, 4 * index + 4)
            C[here, here] += noise(pair)
            C[here, here] += _placed(change)
        self.L = np.linalg.inv(np.linalg.cholesky(C + 1e-9 * np.trace(C) / len(C) * np.eye(len(C))))
        self.white = self.L @ self.y

    def explained(
        self,
        faults: tuple[Fault, ...],
        way: _Counting,
        *,
        gains: TwoPlanes[float] = _AS_SET,
        free: _Free = (False, False),
        unit: str | None = None,
    ) -> Explanation:
        """Return how well settings do, the zero and the gains fitted where they are free."""

        def at(turns: NDArray[np.float64]) -> tuple[Matrix, Matrix]:
            return self._fitted(turns, way, gains=gains, free=free)

        turn = 0.0
        if way.free_zero and self.has_named:
            width = 180.0
            for _ in range(4):
                turns = turn + np.linspace(-width, width, 73)
                turn = float(turns[int(np.argmin(at(turns)[0]))])
                width /= 18.0
        chi2, fitted = at(np.array([turn]))
        left, right = float(fitted[0, 0]), float(fitted[0, 1])
        numbers = int(way.free_zero) + (1 if free == "common" else int(free[0]) + int(free[1]))
        predicted = self._predicted(np.array([turn]), way)[0]
        return Explanation(
            faults=faults,
            chi2=float(chi2[0]),
            freedom=max(len(self.y) + len(self.pointed) - numbers, 1),
            score=float(chi2[0]) + _PER_FAULT * (len(faults) + ("scale" in faults)) + _PER_NUMBER * numbers,
            sense=way.sense,
            spot=way.spot,
            planes_swapped=way.swapped,
            turn_deg=math.remainder(turn, 360.0),
            gains=TwoPlanes(left, right),
            predicted=tuple(TwoPlanes(complex(left * row[0]), complex(right * row[1])) for row in predicted),
            unit=unit,
            numbers=numbers,
        )

    def _predicted(self, turns_deg: NDArray[np.float64], way: _Counting) -> NDArray[np.complex128]:
        """Return what the sides change by for each turn of the zero, shape (turns, placements, 2)."""
        z1, z2 = self.settings.planes_z_mm
        if way.swapped:
            z1, z2 = z2, z1
        result = np.empty((len(turns_deg), len(self.placements), 2), dtype=np.complex128)
        for index, each in enumerate(self.placements):
            shares = np.array([(z2 - each.z_mm) / (z2 - z1), (each.z_mm - z1) / (z2 - z1)])
            if each.place_deg is not None:
                numbers = way.sense * (each.place_deg - self.settings.zero_deg - turns_deg)
            else:
                numbers = np.full(len(turns_deg), each.number_deg or 0.0)
            vector = way.spot * each.unbalance_gmm * np.exp(1j * np.radians(numbers))
            result[:, index, :] = vector[:, None] * shares[None, :]
        return result

    def _fitted(
        self,
        turns_deg: NDArray[np.float64],
        way: _Counting,
        *,
        gains: TwoPlanes[float],
        free: _Free,
    ) -> tuple[Matrix, Matrix]:
        """Return chi^2 for each turn, shape (n,), and the gains of both sides, shape (n, 2)."""
        predicted = self._predicted(turns_deg, way)
        count = len(turns_deg)
        parts = np.zeros((count, 2, len(self.y)))
        for side in (0, 1):
            parts[:, side, 2 * side :: 4] = predicted[:, :, side].real
            parts[:, side, 2 * side + 1 :: 4] = predicted[:, :, side].imag
        parts = parts @ self.L.T
        k = np.tile(np.array(gains, dtype=np.float64), (count, 1))
        if free == "common":
            both = parts.sum(axis=1)
            k[:] = ((both @ self.white) / np.maximum((both * both).sum(axis=1), 1e-300))[:, None]
        elif free[0] and free[1]:
            normal = parts @ parts.transpose(0, 2, 1) + 1e-12 * np.eye(2)
            k = np.linalg.solve(normal, (parts @ self.white)[:, :, None])[:, :, 0]
        elif free[0] or free[1]:
            side = 0 if free[0] else 1
            rest = self.white - gains[1 - side] * parts[:, 1 - side]
            own = parts[:, side]
            k[:, side] = (own * rest).sum(axis=1) / np.maximum((own * own).sum(axis=1), 1e-300)
        missed = self.white - (k[:, :, None] * parts).sum(axis=1)
        chi2 = (missed * missed).sum(axis=1)
        for each in self.pointed:
            number = way.sense * ((each.place_deg or 0.0) - self.settings.zero_deg - turns_deg)
            off = (number - (each.number_deg or 0.0) + 180.0) % 360.0 - 180.0
            chi2 = chi2 + (off / math.hypot(POINTED_DEG, PLACED_DEG)) ** 2
        return chi2, k

    def zero_sigma_deg(self) -> float | None:
        """Return the standard uncertainty of the zero [deg] by what is there; None when nothing tests it."""
        if not self.has_named:
            return None
        s = self.settings
        step = 0.5
        way = _Counting(sense=s.sense, spot=s.spot)
        ahead, back = (self._predicted(np.array([turn]), way)[0] for turn in (step, -step))
        slope = np.concatenate([real([complex(v) for v in row]) for row in (ahead - back) / (2.0 * step)])
        weight = float(np.sum((self.L @ slope) ** 2))
        weight += len(self.pointed) / (POINTED_DEG**2 + PLACED_DEG**2)
        return 1.0 / math.sqrt(weight) if weight > 0 else None

    def gain_sigma(self) -> float:
        """Return the standard uncertainty of a factor of all amounts."""
        s = self.settings
        row = self._predicted(np.array([0.0]), _Counting(sense=s.sense, spot=s.spot))[0]
        slope = np.concatenate([real([complex(v) for v in pair]) for pair in row])
        weight = float(np.sum((self.L @ slope) ** 2))
        return 1.0 / math.sqrt(weight) if weight > 0 else math.inf


def _placed(change: Sequence[complex]) -> Matrix:
    """Return the covariance of a change [(g*mm)^2] by how well the mass, its radius and its place are known."""
    largest = max(change, key=abs)
    if largest == 0:
        return np.zeros((4, 4))
    size = math.hypot(abs(change[0]), abs(change[1]))
    shares = [(each / largest).real * abs(largest) / size for each in change]
    return vector_covariance(
        cmath.exp(1j * cmath.phase(largest)),
        shares,
        along_gmm=size * PLACED_PERCENT / 100.0,
        across_gmm=size * math.radians(PLACED_DEG),
    )
