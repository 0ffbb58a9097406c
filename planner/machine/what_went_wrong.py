"""What went wrong between two spins: the measured change beside the foretold one, both planes, as vectors.

Each explanation says what change F' the cuts really made (a slip at the drill; else the foretold F) and how the machine
shows it, a linear map T; some have one number fitted:

==================== ======================================== ==============
explanation          measured change                          fitted
==================== ======================================== ==============
fine                 ``F``
slip at the drill    ``F'``, the change with a hole missing,
                     elsewhere, shallower, of another drill
heavy/light swapped  ``-F``
direction reversed   ``z^2 conj(F)``, z the zero mark
planes swapped       ``(F2, F1)``
zero mark off        ``exp(i*delta) F``                       delta
scale                ``k F``, k > 0                           k
bobs moved           ``F + a d``, d what a throw's bob does   a, the throw
                     when it is heavier, or slides
slipped decimal      ``F + e``, e what the slip added to one
                     side's reading
==================== ======================================== ==============

They are compared by ``chi^2 + ln det C`` with ``chi^2 = r' C^-1 r`` of what each leaves unexplained and C from the errors
of both readings and (mapped by T) of the cuts as made: twice the negative logarithm of the likelihood.  "Fine" stands
unless it misses by more than one healthy case in a hundred does and another explanation is clearly better.  Every
explanation that is not clearly worse than the best is in the answer: slips and bobs before the machine's settings,
because a hole can be looked at and a right machine must not be set wrong.

Own method; likelihoods as in any textbook of statistics (common practice).
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import field
from typing import Literal

import numpy as np

from planner.frames import TwoPlanes
from planner.machine.plane_maps import SWAP, Matrix, mirror, pair, real, turn, turns
from planner.records import dataclass
from planner.rotor.vectors import ComplexArray

BobWay = Literal["grams", "slides", "turns"]
Kind = Literal[
    "fine",
    "swapped spot",
    "reversed direction",
    "swapped planes",
    "zero mark",
    "scale",
    "bobs moved",
    "several",
    "not made",
    "other side",
    "neighbour",
    "depth counted",
    "other drill",
    "no offset",
    "slipped decimal",
]
SLIPS: frozenset[Kind] = frozenset(
    {"not made", "other side", "neighbour", "depth counted", "other drill", "no offset"}
)
"""What goes wrong at the drill."""
SETTINGS: frozenset[Kind] = frozenset(
    {"swapped spot", "reversed direction", "swapped planes", "zero mark", "several"}
)
"""What may be set wrong on the machine or in its file."""

Likelihood = Literal["likely", "possible", "less likely"]

# chi^2 with 4 degrees of freedom exceeds this in one healthy case of a hundred
_FINE = 13.28
# ... and with 4, 3, 2 degrees of freedom this in one of two thousand: worse fits explain nothing
_PLAUSIBLE = {4: 20.00, 3: 17.73, 2: 15.20}
# ... and this in one of 200 000: a last resort before nothing, or two settings at once, is said
_LAST_RESORT = 30.0
# an explanation that is worse than the best by this much (odds of 200 to 1) is dropped
_CLEARLY = 10.6
# ... and this much better than "nothing is wrong" (20 to 1) must be what takes its place while that is believable
_BETTER = 6.0
# every fitted number costs this much; a bob also had its choice of throws
_PER_NUMBER = 2.0
_BOB = 3.0
# three amounts in a thousand are typed with their point in the wrong place, as when a reading is entered (judgement)
_TYPED = -2.0 * math.log(0.003)
# shares of the whole likelihood from which an explanation is called likely, or possible
_LIKELY, _POSSIBLE = 0.5, 0.1
# a zero mark off by this much or more is a swapped spot, unless the swapped spot alone does clearly worse
_NEAR_180_DEG = 160.0
_CLEARLY_NESTED = 9.0


@dataclass(frozen=True, kw_only=True)
class Slip:
    """What may have happened at the drill instead of what was entered.

    ``cuts`` are the places of the cuts it is about in the list of cuts made; ``change_gmm`` is what all cuts (and changed
    bobs) do in the two planes if so, ``covariance_gmm2`` its covariance, shape (4, 4).  ``other`` names the counterweight
    or the drill that was used instead (of the first of them), ``each`` says it cut by cut: place, kind, other.
    ``penalty`` is how much less believable it is beforehand than the others.
    """

    kind: Kind
    cuts: tuple[int, ...]
    words: str
    change_gmm: TwoPlanes[complex]
    covariance_gmm2: Matrix = field(repr=False, compare=False)
    each: tuple[tuple[int, Kind, str], ...] = ()
    other: str = ""
    penalty: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Mistyped:
    """A reading that may have been typed wrong: what that adds to the two planes, and the readings' covariance without it."""

    words: str
    side: str
    added_gmm: TwoPlanes[complex]
    reading_covariance_gmm2: Matrix = field(repr=False, compare=False)


@dataclass(frozen=True, kw_only=True)
class Fault:
    """A setting or size that is wrong: ``amount`` is the zero mark's [deg], or the factor; ``sigma`` the factor's uncertainty."""

    kind: Kind
    amount: float = 0.0
    sigma: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Explained:
    """One explanation of a measured change.

    ``faults`` are the settings and sizes that are wrong if so (none: nothing is, or it is the slip, the bob, the typing);
    `planner.steps.fault_words` says it.  ``chi2`` is what it leaves unexplained and ``score`` what it is compared by (smaller
    is more likely); ``misses_by`` is what it leaves in multiples of the expected error (1 = as expected).  ``factor`` (of a
    bob: its grams or millimetres), ``turn_deg`` and ``bob`` are what was fitted; ``added_gmm`` is the change by a bob in the
    two planes; ``slip`` what happened at the drill, ``mistyped`` at the keys.  ``matrix`` maps true to measured changes.
    ``likelihood`` compares those that fit.
    """

    kind: Kind
    faults: tuple[Fault, ...]
    chi2: float
    misses_by: float
    matrix: Matrix = field(repr=False, compare=False)
    score: float = 0.0
    factor: float | None = None
    turn_deg: float | None = None
    bob: BobEffect | None = None
    added_gmm: TwoPlanes[complex] | None = None
    slip: Slip | None = None
    mistyped: Mistyped | None = None
    likelihood: Likelihood | None = None

    @property
    def is_setting(self) -> bool:
        """True when it is the machine that would be set wrong."""
        return self.kind in SETTINGS


@dataclass(frozen=True, kw_only=True)
class BobEffect:
    """What a bob does to the two planes per gram it gets heavier, or per millimetre it moves.

    ``way``: "grams"; "slides" along the shaft to the rear; "turns" square to its throw, with growing angles.  ``most`` is
    the greatest number of grams or millimetres that is believable, ``usual`` what is nothing out of the way (0: ``most``).
    """

    throw: str
    way: BobWay
    per_unit_gmm: TwoPlanes[complex]
    most: float
    usual: float = 0.0

    def penalty(self, amount: float) -> float:
        """Return how much less believable that amount is than none."""
        return 2.0 * math.log1p((amount / (self.usual or self.most)) ** 2)


@dataclass(frozen=True, kw_only=True)
class Diagnosis:
    """What explains a measured change.

    ``explanations`` are those that fit: one (the diagnosis), several (they can't be told apart by this change), or none
    (nothing known fits).  What can be looked at comes first, the machine's settings last, each best first.  ``fine`` is
    how well "nothing is wrong" does.  ``factor`` is the measured over the foretold change and ``factor_sigma`` its
    standard uncertainty, whatever the explanation.
    """

    explanations: tuple[Explained, ...]
    fine: Explained
    factor: float
    factor_sigma: float

    @property
    def good(self) -> bool:
        """True when nothing is wrong."""
        return bool(self.explanations) and self.explanations[0].kind == "fine"

    @property
    def settings(self) -> tuple[Explained, ...]:
        """Those that speak of the machine's settings."""
        return tuple(each for each in self.explanations if each.is_setting)


def diagnose_change(
    foretold_gmm: Sequence[complex] | ComplexArray,
    measured_gmm: Sequence[complex] | ComplexArray,
    *,
    reading_covariance_gmm2: Matrix,
    foretold_covariance_gmm2: Matrix | None = None,
    zero_deg: float = 0.0,
    bobs: Sequence[BobEffect] = (),
    slips: Sequence[Slip] = (),
    more_slips: Callable[[], Iterable[Slip]] = tuple,
    mistyped: Sequence[Mistyped] = (),
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
    slips : sequence of Slip
        What can have happened at the drill.
    more_slips : callable, optional
        Returns what else can have happened there, asked for only where nothing simpler fits.
    mistyped : sequence of Mistyped
        How the new reading can have been typed wrong.

    Raises
    ------
    ValueError
        If nothing was foretold to change.
    """
    F, M = real(foretold_gmm), real(measured_gmm)
    if not np.any(F):
        raise ValueError("nothing was foretold to change, there is nothing to compare with")
    fit = _Fit(F, M, reading_covariance_gmm2, foretold_covariance_gmm2)
    fine = fit.explained("fine", np.eye(4))
    singles = [
        fine,
        *_slips(fit, slips),
        *_without_numbers(fit, zero_deg),
        *_with_a_number(fit, said=bool(slips)),
        *_bobs(fit, bobs),
        *_mistyped(fit, mistyped),
    ]
    factor, sigma = fit.scale_of(np.eye(4))
    chosen = _chosen(singles, fine)
    if not chosen:
        # a slip that fits not quite is still likelier than two settings at once
        further = [each for each in _slips(fit, [*slips, *more_slips()]) if each.chi2 <= _LAST_RESORT]
        best = min((each.score for each in further), default=0.0)
        chosen = tuple(each for each in further if each.score <= best + _CLEARLY)
        # one at a time is simpler than a setting and a factor together; those are listed all the same
        chosen += tuple(_several(fit, zero_deg))
    return Diagnosis(explanations=_weighed(chosen), fine=fine, factor=factor, factor_sigma=sigma)


def _chosen(singles: Sequence[Explained], fine: Explained) -> tuple[Explained, ...]:
    if fine.chi2 <= _FINE:
        return (fine,)
    fitting = _simplest([each for each in singles if each.chi2 <= _PLAUSIBLE[4 - _numbers(each)]])
    if not fitting:
        return ()
    best = min(each.score for each in fitting)
    if fine.chi2 <= _PLAUSIBLE[4] and fine.score <= best + _BETTER:
        return (fine,)
    return tuple(each for each in fitting if each.score <= best + _CLEARLY and each.kind != "fine")


def _weighed(chosen: Sequence[Explained]) -> tuple[Explained, ...]:
    """Return them with their likelihood in a word: what can be looked at first, settings last."""
    if len(chosen) < 2:
        return tuple(chosen)
    best = min(each.score for each in chosen)
    weights = [math.exp(-0.5 * (each.score - best)) for each in chosen]
    whole = sum(weights)
    words: list[Explained] = []
    for each, weight in zip(chosen, weights, strict=True):
        share = weight / whole
        likelihood: Likelihood = (
            "likely" if share >= _LIKELY else "possible" if share >= _POSSIBLE else "less likely"
        )
        words.append(dataclasses.replace(each, likelihood=likelihood))
    return tuple(sorted(words, key=lambda each: (each.is_setting, each.score)))


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


class _Fit:
    """Foretold and measured change with their covariances."""

    def __init__(self, F: Matrix, M: Matrix, reading: Matrix, foretold: Matrix | None) -> None:
        self.F, self.M = F, M
        self.reading = reading
        self.foretold = np.zeros((4, 4)) if foretold is None else foretold
        # a reading of nothing has no error by the percentages: keep the matrix regular
        self.least = 1e-12 * float(np.trace(reading) + np.trace(self.foretold)) + 1e-12 * float(M @ M + F @ F)

    def covariance(self, T: Matrix, foretold: Matrix | None = None, reading: Matrix | None = None) -> Matrix:
        cuts = self.foretold if foretold is None else foretold
        return np.asarray(
            (self.reading if reading is None else reading) + T @ cuts @ T.T + self.least * np.eye(4),
            dtype=np.float64,
        )

    def weight(self, T: Matrix) -> Matrix:
        return np.asarray(np.linalg.inv(self.covariance(T)), dtype=np.float64)

    def explained(
        self, kind: Kind, T: Matrix, *faults: Fault, numbers: int = 0, added: Matrix | None = None,
        factor: float | None = None, turn_deg: float | None = None, bob: BobEffect | None = None,
        slip: Slip | None = None, penalty: float = 0.0, mistyped: Mistyped | None = None,
    ) -> Explained:  # fmt: skip
        made = self.F if slip is None else real(slip.change_gmm)
        reading = None if mistyped is None else mistyped.reading_covariance_gmm2
        C = self.covariance(T, None if slip is None else slip.covariance_gmm2, reading)
        rest = self.M - T @ made - (0.0 if added is None else added)
        chi2 = float(rest @ np.linalg.solve(C, rest))
        # ln det C tells how much a wide error takes from the likelihood where it explains much
        score = chi2 + float(np.linalg.slogdet(C)[1]) + _PER_NUMBER * numbers + penalty
        return Explained(
            kind=kind,
            faults=faults,
            chi2=chi2,
            score=score,
            slip=slip,
            mistyped=mistyped,
            misses_by=math.sqrt(chi2 / (4 - numbers)),
            matrix=T,
            factor=factor,
            turn_deg=turn_deg,
            bob=bob,
            added_gmm=None if added is None else pair(added),
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


def _slips(fit: _Fit, slips: Iterable[Slip]) -> Iterator[Explained]:
    for slip in slips:
        yield fit.explained(slip.kind, np.eye(4), slip=slip, penalty=slip.penalty)


def _without_numbers(fit: _Fit, zero_deg: float) -> Iterator[Explained]:
    maps: tuple[tuple[Kind, Matrix], ...] = (
        ("swapped spot", -np.eye(4)),
        ("reversed direction", mirror(zero_deg)),
        ("swapped planes", SWAP),
    )
    for kind, T in maps:
        yield fit.explained(kind, T, Fault(kind=kind))


def _with_a_number(fit: _Fit, *, said: bool) -> Iterator[Explained]:
    delta = fit.turn_of(np.eye(4))
    degrees = math.degrees(delta)
    off = Fault(kind="zero mark", amount=degrees)
    yield fit.explained("zero mark", turn(delta), off, numbers=1, turn_deg=degrees)
    k, sigma = fit.scale_of(np.eye(4))
    # cuts that were not made at all are a slip where slips are asked for
    if k > (3.0 if said else -2.0) * sigma:
        k = max(k, 0.0)
        fault = Fault(kind="scale", amount=k, sigma=sigma)
        yield fit.explained("scale", k * np.eye(4), fault, numbers=1, factor=k)


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
            numbers=1,
            added=amount * d,
            factor=amount,
            bob=bob,
            penalty=_BOB + bob.penalty(amount),
        )


def _mistyped(fit: _Fit, mistyped: Sequence[Mistyped]) -> Iterator[Explained]:
    for each in mistyped:
        yield fit.explained(
            "slipped decimal",
            np.eye(4),
            added=real(each.added_gmm),
            mistyped=each,
            penalty=_TYPED,
        )


def turn_fault(turn_deg: float, *, within_deg: float) -> Iterator[Fault]:
    """Yield what a turn [deg] means, nothing when it is smaller than ``within_deg``."""
    if abs(abs(turn_deg) - 180.0) <= within_deg:
        yield Fault(kind="swapped spot")
    elif abs(turn_deg) > within_deg:
        yield Fault(kind="zero mark", amount=turn_deg)


def _several(fit: _Fit, zero_deg: float) -> Iterator[Explained]:
    """Yield two faults at once: turned, mirrored or exchanged planes with a factor and a turn."""
    found = []
    for mirrored in (False, True):
        for exchanged in (False, True):
            base = (mirror(zero_deg) if mirrored else np.eye(4)) @ (SWAP if exchanged else np.eye(4))
            delta = fit.turn_of(base)
            T = turn(delta) @ base
            k, sigma = fit.scale_of(T)
            if k <= 0.0:
                continue
            faults = [
                *([Fault(kind="swapped planes")] if exchanged else []),
                *([Fault(kind="reversed direction")] if mirrored else []),
                *turn_fault(math.degrees(delta), within_deg=4.0),
                *(
                    [Fault(kind="scale", amount=k, sigma=sigma)]
                    if abs(k - 1.0) > max(0.06, 3.0 * sigma)
                    else []
                ),
            ]
            each = fit.explained("several", k * T, *faults, numbers=2, factor=k, turn_deg=math.degrees(delta))
            if each.chi2 <= _PLAUSIBLE[2]:
                found.append(each)
    best = min((each.chi2 for each in found), default=0.0)
    near = [each for each in found if each.chi2 <= best + _CLEARLY]
    yield from sorted(near, key=lambda each: (len(each.faults), each.chi2))
