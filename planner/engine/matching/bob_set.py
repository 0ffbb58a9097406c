"""Making up the bobs from the shop's own set: bodies, plates and washers, of each so many.

Plates and washers go on in pairs, the same on both sides, so that the bob stays centred on the pin.  For one
throw the makeup nearest to the wanted bob, with the fewest pieces, is exact (a bounded sum of whole numbers).
The throws share the pieces: they are served one after the other in several orders, and when no order gives
every throw its own best, a small integer programme settles who gets what.  Masses [g].
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.records import dataclass

if TYPE_CHECKING:
    from planner.engine.forces import FloatArray

#: Masses of pieces are whole numbers of this [g].
_FINEST_G = 0.005

#: Orders in which the throws are served before the programme is asked.
_ORDERS = 12

#: Slack on a step's result when it becomes a limit of the next [units of the set].
_SLACK = 1e-3

#: Time limit for each of the two steps of the programme, when it is needed.
_SECONDS = 2.0

#: Cells of the table of masses for one throw; a bob of 1 kg of pieces weighed to 0.005 g takes 200,000.
_MOST_CELLS = 8_000_000


@dataclass(frozen=True, kw_only=True)
class BobPiece:
    """One kind of piece of the set.

    Attributes
    ----------
    name : str
    mass_g : float
        Of one piece [g].
    count : int
        How many there are.
    body : bool
        The clamp itself: exactly one on every throw.  All other pieces are added.
    paired : bool
        Whether it goes on both sides at once (not for bodies).
    """

    name: str
    mass_g: float
    count: int
    body: bool = False
    paired: bool = True

    def __post_init__(self) -> None:
        """Refuse what can't be weighed or counted."""
        if not (math.isfinite(self.mass_g) and self.mass_g > 0.0):
            raise InputError(f"piece `{self.name}`: {self.mass_g:g} g, it must be above 0")
        if self.count < 0:
            raise InputError(f"piece `{self.name}`: {self.count} of them, it must be 0 or more")


@dataclass(frozen=True, kw_only=True)
class MadeBob:
    """The bob of one throw: pieces by name, its mass, and mass minus wanted [g]."""

    throw: str
    wanted_g: float
    pieces: Mapping[str, int]
    mass_g: float
    error_g: float


@dataclass(frozen=True, kw_only=True)
class BobMakeup:
    """All bobs, what is left over, and what is short.

    Attributes
    ----------
    bobs : tuple of MadeBob
    left_over : mapping of piece to int
        Pieces that stay in the box.
    largest_error_g : float
        Its amount [g].
    proven : bool
        Whether no other makeup has a smaller largest error, or the same and a smaller sum of errors.
    notes : tuple of str
        Throws that are off by more than asked for, with what would make them right.
    """

    bobs: tuple[MadeBob, ...]
    left_over: Mapping[str, int]
    largest_error_g: float
    proven: bool
    notes: tuple[str, ...]


def make_up_bobs(
    wanted_g: Mapping[str, float],
    *,
    pieces: Sequence[BobPiece],
    within_g: float = 0.5,
) -> BobMakeup:
    """Return which pieces go on which throw.

    Parameters
    ----------
    wanted_g : mapping of throw to float
        The bobs that the engine wants [g].
    pieces : sequence of BobPiece
    within_g : float
        Bobs further off are noted (bobs are set to 0.5 g or better: common practice) [g].

    Raises
    ------
    InputError
        If there are fewer bodies than throws, names repeat, or a wanted bob is not above 0.
    """
    names = [piece.name for piece in pieces]
    for name in names:
        if names.count(name) > 1:
            raise InputError(f"piece `{name}` is given twice", hint="give it one name and say how many")
    for throw, mass in wanted_g.items():
        if not mass > 0.0:
            raise InputError(f"throw `{throw}`: bob of {mass:g} g, it must be above 0")
    bodies = sum(piece.count for piece in pieces if piece.body)
    if bodies < len(wanted_g):
        raise InputError(
            f"the set has {bodies} bodies for {len(wanted_g)} throws",
            hint="a split pin needs one for each half",
        )
    table, proven = _share_out(list(wanted_g.values()), pieces)
    bobs = []
    for row, (throw, wanted) in zip(table, wanted_g.items(), strict=True):
        used = {
            piece.name: int(number) * _each(piece)
            for piece, number in zip(pieces, row, strict=True)
            if number
        }
        mass = math.fsum(piece.mass_g * used.get(piece.name, 0) for piece in pieces)
        bobs.append(MadeBob(throw=throw, wanted_g=wanted, pieces=used, mass_g=mass, error_g=mass - wanted))
    left = {piece.name: piece.count - sum(bob.pieces.get(piece.name, 0) for bob in bobs) for piece in pieces}
    return BobMakeup(
        bobs=tuple(bobs),
        left_over=left,
        largest_error_g=max(abs(bob.error_g) for bob in bobs),
        proven=proven,
        notes=tuple(_note(bob) for bob in bobs if abs(bob.error_g) > within_g),
    )


def _each(piece: BobPiece) -> int:
    return 2 if piece.paired and not piece.body else 1


def _note(bob: MadeBob) -> str:
    if bob.error_g < 0.0:
        return (
            f"throw {bob.throw}: the set is {-bob.error_g:.2f} g short of {bob.wanted_g:.2f} g, add "
            f"{-bob.error_g / 2:.2f} g on each side"
        )
    return f"throw {bob.throw}: the nearest makeup is {bob.error_g:.2f} g over {bob.wanted_g:.2f} g"


def _share_out(wanted_g: list[float], pieces: Sequence[BobPiece]) -> tuple[list[list[int]], bool]:
    """Return how many (pairs) of each piece on each throw, and whether no other way is better."""
    unit = math.gcd(*(round(piece.mass_g * _each(piece) / _FINEST_G) for piece in pieces)) or 1
    masses = [round(piece.mass_g * _each(piece) / _FINEST_G) // unit for piece in pieces]
    wanted = [mass / (_FINEST_G * unit) for mass in wanted_g]
    stock = [piece.count // _each(piece) for piece in pieces]
    alone = [_nearest(target, masses, stock, pieces, None) for target in wanted]
    floor = [abs(_sum(row, masses) - target) for row, target in zip(alone, wanted, strict=True)]
    best: list[list[int]] | None = None
    dice = random.Random(7)
    for attempt in range(_ORDERS):
        order = sorted(range(len(wanted)), key=lambda t: -wanted[t])
        # the first time the fewest pieces; then other tastes, so that scarce ones are not always used up
        taste = None if attempt == 0 else [1.0 + 2.0 * dice.random() for _ in pieces]
        if attempt > 1:
            dice.shuffle(order)
        left = stock.copy()
        table = [[0] * len(pieces) for _ in wanted]
        for t in order:
            table[t] = _nearest(wanted[t], masses, left, pieces, taste)
            left = [have - used for have, used in zip(left, table[t], strict=True)]
        if best is None or _errors(table, masses, wanted) < _errors(best, masses, wanted):
            best = table
        if _errors(best, masses, wanted)[1] <= sum(floor) + 1e-6:
            return best, True
    assert best is not None
    return _Programme(wanted, masses, stock, pieces).solve(best)


def _sum(row: Sequence[int], masses: Sequence[int]) -> int:
    return sum(number * mass for number, mass in zip(row, masses, strict=True))


def _errors(table: list[list[int]], masses: list[int], wanted: list[float]) -> tuple[float, float]:
    """Return (largest, sum) of the errors, rounded so that equal ones compare equal."""
    errors = [abs(_sum(row, masses) - target) for row, target in zip(table, wanted, strict=True)]
    return round(max(errors), 6), round(math.fsum(errors), 6)


def _nearest(
    target: float,
    masses: list[int],
    stock: list[int],
    pieces: Sequence[BobPiece],
    taste: list[float] | None,
) -> list[int]:
    """Return the makeup of one throw nearest to the target; among equals the one with the least taste."""
    most = sum(have * mass for have, mass, piece in zip(stock, masses, pieces, strict=True) if not piece.body)
    # nothing is nearer to a target beyond all pieces than all pieces; a float could not tell them apart up there
    target = min(target, float(max(masses) + most))
    top = round(target) + max(masses)
    best: tuple[float, float, list[int]] | None = None
    for body, piece in enumerate(pieces):
        if not piece.body or stock[body] < 1:
            continue
        # a bob heavier than all pieces together gets all of them: the table need not go further
        reach = min(max(top - masses[body], 0), most)
        if reach > _MOST_CELLS:
            raise InputError(
                f"the set's pieces come to {reach} different masses, more than {_MOST_CELLS} can't be tried",
                hint="is a weight or a count of [bob_set] wrong? weights that are round to 0.1 g need fewer",
            )
        price = np.full(reach + 1, np.inf)
        price[0] = 0.0
        steps: list[tuple[int, int, NDArray[np.bool_]]] = []
        for p, have in enumerate(stock):
            if pieces[p].body:
                continue
            chunk, rest = 1, have
            while rest > 0:
                number = min(chunk, rest)
                shift = number * masses[p]
                cost = number * (1.0 if taste is None else taste[p])
                moved = np.full(reach + 1, np.inf)
                if shift <= reach:
                    moved[shift:] = price[: reach + 1 - shift] + cost
                taken = moved < price
                price = np.where(taken, moved, price)
                steps.append((p, number, taken))
                rest -= number
                chunk *= 2
        error = np.where(np.isfinite(price), np.abs(np.arange(reach + 1) + masses[body] - target), np.inf)
        nearest = float(np.min(error))
        ties = np.flatnonzero(error <= nearest + 1e-9)
        place = int(ties[np.argmin(price[ties])])
        if best is not None and (nearest, float(price[place])) >= best[:2]:
            continue
        row, at = [0] * len(pieces), place
        row[body] = 1
        for p, number, taken in reversed(steps):
            if taken[at]:
                row[p] += number
                at -= number * masses[p]
        best = (nearest, float(price[place]), row)
    assert best is not None, "there is a body for every throw"
    return best[2]


class _Programme:
    """Variables: how many (pairs) of each piece on each throw; error of each throw; largest error."""

    def __init__(
        self, wanted: list[float], masses: list[int], stock: list[int], pieces: Sequence[BobPiece]
    ) -> None:
        throws, kinds = len(wanted), len(pieces)
        self.wanted, self.masses = wanted, masses
        self.throws, self.kinds = throws, kinds
        self.errors = throws * kinds
        self.largest = self.errors + throws
        self.size = self.largest + 1
        self.rows: list[tuple[FloatArray, float, float]] = []
        self.upper = np.full(self.size, np.inf)
        for t, mass in enumerate(wanted):
            body, total, error = (np.zeros(self.size) for _ in range(3))
            for p, piece in enumerate(pieces):
                column = t * kinds + p
                total[column] = masses[p]
                body[column] = 1.0 if piece.body else 0.0
                self.upper[column] = 1 if piece.body else stock[p]
            error[self.errors + t] = 1.0
            above = -error
            above[self.largest] = 1.0
            self.rows.append((body, 1.0, 1.0))
            self.rows.append((total - error, -math.inf, mass))  # total - mass <= error
            self.rows.append((total + error, mass, math.inf))
            self.rows.append((above, 0.0, math.inf))
        for p, have in enumerate(stock):
            row = np.zeros(self.size)
            row[p : self.errors : kinds] = 1.0
            self.rows.append((row, 0.0, float(have)))

    def solve(self, start: list[list[int]]) -> tuple[list[list[int]], bool]:
        """Return the better of the start and what the programme finds, and whether that is proven."""
        largest, errors = np.zeros(self.size), np.zeros(self.size)
        largest[self.largest] = 1.0
        errors[self.errors : self.largest] = 1.0
        best, proven = start, True
        for cost, at_most in zip((largest, errors), _errors(start, self.masses, self.wanted), strict=True):
            self.rows.append((cost, -math.inf, at_most + _SLACK))
            found = self._step(cost)
            proven = proven and found.status == 0
            if found.x is None:
                break
            whole = np.rint(found.x[: self.errors]).astype(int).reshape(self.throws, self.kinds)
            table = [[int(value) for value in row] for row in whole]
            if _errors(table, self.masses, self.wanted) < _errors(best, self.masses, self.wanted):
                best = table
            self.rows.append((cost, -math.inf, float(cost @ found.x) + _SLACK))
        return best, proven

    def _step(self, cost: FloatArray) -> Any:
        from scipy.optimize import Bounds, LinearConstraint, milp

        whole = np.zeros(self.size)
        whole[: self.errors] = 1
        return milp(
            cost,
            integrality=whole,
            bounds=Bounds(np.zeros(self.size), self.upper),
            constraints=LinearConstraint(
                np.array([row for row, _, _ in self.rows]),
                [low for _, low, _ in self.rows],
                [high for _, _, high in self.rows],
            ),
            options={"time_limit": _SECONDS, "mip_rel_gap": 0.0},
        )
