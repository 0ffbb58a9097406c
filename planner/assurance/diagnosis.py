"""What went wrong between two spins: the measured change beside the foretold one, both planes, as vectors.

Each explanation is a linear map T of the foretold change F (written as four real numbers), some with one number fitted:

==================== ======================================== ==============
explanation          measured change                          fitted
==================== ======================================== ==============
fine                 ``F``
heavy/light swapped  ``-F``
direction reversed   ``z^2 conj(F)``, z the zero mark
planes swapped       ``(F2, F1)``
zero mark off        ``exp(i*delta) F``                       delta
scale                ``k F``, k > 0                           k
bobs moved           ``F + a d``, d what a throw's bob does   a, the throw
                     when it is heavier, or slides
==================== ======================================== ==============

They are compared by ``chi^2 = r' C^-1 r`` of what each leaves unexplained, with C from the errors of both readings and
(mapped by T) of the cuts.  "Fine" stands unless it misses by more than one healthy case in two hundred does and another
explanation is clearly better.  Where several fit about equally well the answer is their list.

Own method; weighted least squares as in any textbook of statistics (common practice).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from planner.assurance.fault_words import size_fault, turn_fault
from planner.assurance.plane_maps import SWAP, Matrix, mirror, real, turn, turns
from planner.rotor.vectors import ComplexArray

Kind = Literal[
    "fine",
    "swapped spot",
    "reversed direction",
    "swapped planes",
    "zero mark",
    "scale",
    "bobs moved",
    "several",
]

# chi^2 with 4 degrees of freedom exceeds this in one healthy case of two hundred
_FINE = 14.86
# ... and with 4, 3, 2 degrees of freedom this in one of two thousand: worse fits explain nothing
_PLAUSIBLE = {4: 20.00, 3: 17.73, 2: 15.20}
# an explanation that is worse than another by this much in chi^2 (odds of 20 to 1) is dropped
_CLEARLY = 6.0
# every fitted number costs this much; a bob also had its choice of throws
_PER_NUMBER = 2.0
_BOB = 5.0
# a zero mark off by this much or more is a swapped spot, unless the swapped spot alone does clearly worse
_NEAR_180_DEG = 160.0
_CLEARLY_NESTED = 9.0


@dataclass(frozen=True, kw_only=True)
class Explained:
    """One explanation of a measured change.

    ``faults`` says it in words (empty: nothing is wrong); ``chi2`` is what it leaves unexplained; ``misses_by`` the same
    in multiples of the expected error (1 = as expected).  ``factor``, ``turn_deg`` and ``bob`` are what was fitted;
    ``added_gmm`` is the change by a bob in the two planes.  ``matrix`` maps foretold to measured changes.
    """

    kind: Kind
    faults: tuple[str, ...]
    chi2: float
    misses_by: float
    matrix: Matrix = field(repr=False, compare=False)
    factor: float | None = None
    turn_deg: float | None = None
    bob: str | None = None
    added_gmm: tuple[complex, complex] | None = None

    @property
    def words(self) -> str:
        """What is wrong, in words."""
        return " and ".join(self.faults) if self.faults else "nothing is wrong"


@dataclass(frozen=True, kw_only=True)
class BobEffect:
    """What a bob does to the two planes when it gets heavier by a gram, or slides rearward by a millimetre.

    ``most`` is the greatest number of grams or millimetres that is believable.
    """

    throw: str
    way: Literal["grams", "slides"]
    per_unit_gmm: tuple[complex, complex]
    most: float

    def words(self, amount: float) -> str:
        """Return in words what that amount means."""
        if self.way == "grams":
            return f"the bob on throw {self.throw} is {abs(amount):.3g} g {'heavier' if amount > 0 else 'lighter'} than it was"
        return (
            f"the bob on throw {self.throw} has moved along the shaft, {abs(amount):.2g} mm to the "
            f"{'rear' if amount > 0 else 'front'}"
        )


@dataclass(frozen=True, kw_only=True)
class Diagnosis:
    """What explains a measured change.

    ``explanations`` are those that fit, best first: one (the diagnosis), several (they can't be told apart by this
    change), or none (nothing known fits).  ``fine`` is how well "nothing is wrong" does.  ``factor`` is the measured
    over the foretold change and ``factor_sigma`` its standard uncertainty, whatever the explanation.
    """

    explanations: tuple[Explained, ...]
    fine: Explained
    factor: float
    factor_sigma: float

    @property
    def good(self) -> bool:
        """True when nothing is wrong."""
        return bool(self.explanations) and self.explanations[0].kind == "fine"


def diagnose_change(
    foretold_gmm: Sequence[complex] | ComplexArray,
    measured_gmm: Sequence[complex] | ComplexArray,
    *,
    reading_covariance_gmm2: Matrix,
    foretold_covariance_gmm2: Matrix | None = None,
    zero_deg: float = 0.0,
    bobs: Sequence[BobEffect] = (),
) -> Diagnosis:
    """Return what explains a measured change.

    Parameters
    ----------
    foretold_gmm, measured_gmm : sequence of 2 complex
        Change of the heavy spot in the left and right plane [g*mm], in the crankshaft frame.
    reading_covariance_gmm2 : ndarray, shape (4, 4)
        Covariance of the measured change (both readings), components left x, left y, right x, right y.
    foretold_covariance_gmm2 : ndarray, shape (4, 4), optional
        Covariance of the foretold change (errors of the cuts).
    zero_deg : float
        Where the machine's zero mark is supposed to be [deg].
    bobs : sequence of BobEffect
        What the bobs can have done.

    Raises
    ------
    ValueError
        If nothing was foretold to change.
    """
    F, M = real(foretold_gmm), real(measured_gmm)
    if not np.any(F):
        raise ValueError("nothing was foretold to change, there is nothing to compare with")
    fit = _Fit(F, M, reading_covariance_gmm2, foretold_covariance_gmm2)
    fine = fit.explained("fine", np.eye(4), ())
    singles = [fine, *_without_numbers(fit, zero_deg), *_with_a_number(fit), *_bobs(fit, bobs)]
    factor, sigma = fit.scale_of(np.eye(4))
    chosen = _chosen(singles, fine)
    if not chosen:
        chosen = tuple(_several(fit, zero_deg))
    return Diagnosis(explanations=chosen, fine=fine, factor=factor, factor_sigma=sigma)


def _chosen(singles: Sequence[Explained], fine: Explained) -> tuple[Explained, ...]:
    if fine.chi2 <= _FINE:
        return (fine,)
    fitting = _simplest([each for each in singles if each.chi2 <= _PLAUSIBLE[4 - _numbers(each)]])
    if not fitting:
        return ()
    best = min(_score(each) for each in fitting)
    if fine.chi2 <= _PLAUSIBLE[4] and fine.chi2 <= best + _CLEARLY:
        return (fine,)
    near = [each for each in fitting if _score(each) <= best + _CLEARLY and each.kind != "fine"]
    return tuple(sorted(near, key=_score))


def _simplest(fitting: list[Explained]) -> list[Explained]:
    """Return the explanations without a zero mark off by about 180 degrees where a swapped spot says the same."""
    swapped = next((each for each in fitting if each.kind == "swapped spot"), None)
    return [
        each
        for each in fitting
        if swapped is None
        or each.kind != "zero mark"
        or abs(each.turn_deg or 0.0) < _NEAR_180_DEG
        or swapped.chi2 - each.chi2 > _CLEARLY_NESTED
    ]


def _numbers(each: Explained) -> int:
    return 1 if each.kind in ("zero mark", "scale", "bobs moved") else 2 if each.kind == "several" else 0


def _score(each: Explained) -> float:
    return each.chi2 + _PER_NUMBER * _numbers(each) + (_BOB if each.kind == "bobs moved" else 0.0)


class _Fit:
    """Foretold and measured change with their covariances."""

    def __init__(self, F: Matrix, M: Matrix, reading: Matrix, foretold: Matrix | None) -> None:
        self.F, self.M = F, M
        self.reading = reading
        self.foretold = np.zeros((4, 4)) if foretold is None else foretold
        # a reading of nothing has no error by the percentages: keep the matrix regular
        self.least = 1e-12 * float(np.trace(reading) + np.trace(self.foretold)) + 1e-12 * float(M @ M + F @ F)

    def weight(self, T: Matrix) -> Matrix:
        return np.asarray(
            np.linalg.inv(self.reading + T @ self.foretold @ T.T + self.least * np.eye(4)), dtype=np.float64
        )

    def chi2(self, T: Matrix, added: Matrix | None = None) -> float:
        rest = self.M - T @ self.F - (0.0 if added is None else added)
        return float(rest @ self.weight(T) @ rest)

    def explained(
        self, kind: Kind, T: Matrix, faults: tuple[str, ...], *, numbers: int = 0, added: Matrix | None = None,
        factor: float | None = None, turn_deg: float | None = None, bob: str | None = None,
    ) -> Explained:  # fmt: skip
        chi2 = self.chi2(T, added)
        return Explained(
            kind=kind,
            faults=faults,
            chi2=chi2,
            misses_by=math.sqrt(chi2 / (4 - numbers)),
            matrix=T,
            factor=factor,
            turn_deg=turn_deg,
            bob=bob,
            added_gmm=None if added is None else (complex(added[0], added[1]), complex(added[2], added[3])),
        )

    def scale_of(self, T: Matrix) -> tuple[float, float]:
        """Return k of ``M = k T F`` and its standard uncertainty."""
        v = T @ self.F
        k, sigma = 1.0, math.inf
        for _ in range(6):
            W = self.weight(max(abs(k), 1e-6) * T)
            k, sigma = float(v @ W @ self.M / (v @ W @ v)), 1.0 / math.sqrt(float(v @ W @ v))
        return k, sigma

    def turn_of(self, T: Matrix) -> float:
        """Return delta [rad] of ``M = rotated by delta (T F)``."""
        best, width = 0.0, math.pi
        for _ in range(4):
            angles = best + np.linspace(-width, width, 73)
            turned = turns(angles) @ T
            C = self.reading + turned @ self.foretold @ turned.transpose(0, 2, 1) + self.least * np.eye(4)
            rest = self.M - turned @ self.F
            chi2 = np.einsum("ni,ni->n", rest, np.linalg.solve(C, rest[:, :, None])[:, :, 0])
            best = float(angles[int(np.argmin(chi2))])
            width /= 24.0
        return math.remainder(best, 2.0 * math.pi)


def _without_numbers(fit: _Fit, zero_deg: float) -> Iterator[Explained]:
    yield fit.explained("swapped spot", -np.eye(4), ("heavy and light spot are swapped",))
    yield fit.explained("reversed direction", mirror(zero_deg), ("the angle direction is reversed",))
    yield fit.explained("swapped planes", SWAP, ("the left and right plane are swapped",))


def _with_a_number(fit: _Fit) -> Iterator[Explained]:
    delta = fit.turn_of(np.eye(4))
    degrees = math.degrees(delta)
    yield fit.explained(
        "zero mark",
        turn(delta),
        (f"the zero mark is off by {degrees:.0f} degrees",),
        numbers=1,
        turn_deg=degrees,
    )
    k, sigma = fit.scale_of(np.eye(4))
    if k > -2.0 * sigma:
        k = max(k, 0.0)
        yield fit.explained("scale", k * np.eye(4), (size_fault(k, sigma=sigma),), numbers=1, factor=k)


def _bobs(fit: _Fit, bobs: Sequence[BobEffect]) -> Iterator[Explained]:
    W = fit.weight(np.eye(4))
    rest = fit.M - fit.F
    for bob in bobs:
        d = real(bob.per_unit_gmm)
        if not np.any(d):
            continue
        amount = float(d @ W @ rest / (d @ W @ d))
        if abs(amount) > bob.most:
            continue
        yield fit.explained(
            "bobs moved",
            np.eye(4),
            (bob.words(amount),),
            numbers=1,
            added=amount * d,
            factor=amount,
            bob=bob.throw,
        )


def _several(fit: _Fit, zero_deg: float) -> Iterator[Explained]:
    """Yield two faults at once: turned, mirrored or exchanged planes with a factor and a turn."""
    found = []
    for mirrored in (False, True):
        for exchanged in (False, True):
            base = (mirror(zero_deg) if mirrored else np.eye(4)) @ (SWAP if exchanged else np.eye(4))
            T = base
            for _ in range(3):
                delta = fit.turn_of(T if T is base else base)
                T = turn(delta) @ base
                k, sigma = fit.scale_of(T)
            if k <= 0.0:
                continue
            faults = [
                *(["the left and right plane are swapped"] if exchanged else []),
                *(["the angle direction is reversed"] if mirrored else []),
                *turn_fault(math.degrees(delta), within_deg=4.0),
                *([size_fault(k, sigma=sigma)] if abs(k - 1.0) > max(0.06, 3.0 * sigma) else []),
            ]
            each = fit.explained(
                "several", k * T, tuple(faults), numbers=2, factor=k, turn_deg=math.degrees(delta)
            )
            if each.chi2 <= _PLAUSIBLE[2]:
                found.append(each)
    best = min((each.chi2 for each in found), default=0.0)
    near = [each for each in found if each.chi2 <= best + _CLEARLY]
    yield from sorted(near, key=lambda each: (len(each.faults), each.chi2))
