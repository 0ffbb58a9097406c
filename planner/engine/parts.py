"""Weighed parts, and the bob mass that they make on each throw.

``bob = sum over the rods on the throw of (big end + shells) + oil per throw
+ fraction * sum(piston + pin + rings + clips + small end)``, where the fraction is always the share of
**all** reciprocating mass on that throw.  Masses [g], lengths [mm].
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from planner.errors import InputError
from planner.records import dataclass
from planner.rotor.crankshaft import Throw

Per = Literal["rod", "cylinder", "throw"]
Motion = Literal["rotating", "reciprocating"]

#: The parts every file may name without saying more: what one number is per, and how the part moves.
STANDARD_PARTS: Mapping[str, tuple[Per, Motion]] = {
    "piston": ("cylinder", "reciprocating"),
    "pin": ("cylinder", "reciprocating"),
    "rings": ("cylinder", "reciprocating"),
    "clips": ("cylinder", "reciprocating"),
    "rod_small_end": ("rod", "reciprocating"),
    "rod_big_end": ("rod", "rotating"),
    "bearing_shells": ("rod", "rotating"),
    "oil_per_throw": ("throw", "rotating"),
}

#: Outside this range a fraction is questioned (common practice: 0.5, seldom below 0.36 or above 0.6).
USUAL_FRACTION = (0.3, 0.7)


@dataclass(frozen=True, kw_only=True)
class Part:
    """One kind of part.

    Attributes
    ----------
    name : str
        ``piston``, ``rod_big_end``, ... or any other name.
    masses_g : tuple of float
        One number for all, or one per cylinder in the order of the cylinders' names (`cylinder_order`);
        for a part that is per throw, one per throw in the order of the throws [g].
    per : {"rod", "cylinder", "throw"}
        What one number is for.  A rod belongs to one cylinder, so lists per rod count cylinders too.
    motion : {"rotating", "reciprocating"}
        Whether the part turns with the crankpin or goes to and fro with the piston.
    """

    name: str
    masses_g: tuple[float, ...]
    per: Per
    motion: Motion

    def __post_init__(self) -> None:
        """Refuse what can't be a weight."""
        if self.per not in ("rod", "cylinder", "throw"):
            raise InputError(
                f"part `{self.name}`: per = `{self.per}`, it must be `rod`, `cylinder` or `throw`",
                hint="say what one number is for",
            )
        if self.motion not in ("rotating", "reciprocating"):
            raise InputError(
                f"part `{self.name}`: motion = `{self.motion}`, it must be `rotating` or `reciprocating`",
                hint="what turns with the crankpin is rotating, what goes with the piston is reciprocating",
            )
        if not self.masses_g:
            raise InputError(f"part `{self.name}` has no mass", hint="give one number, or one per cylinder")
        for mass_g in self.masses_g:
            if not (math.isfinite(mass_g) and mass_g >= 0.0):
                raise InputError(
                    f"part `{self.name}`: {mass_g:g} g, a mass must be 0 or more",
                    hint="weigh it again, or leave the part out",
                )

    @property
    def all_alike(self) -> bool:
        """Whether every entry is the same number."""
        return min(self.masses_g) == max(self.masses_g)


def part(
    name: str,
    masses_g: float | Sequence[float],
    *,
    per: Per | None = None,
    motion: Motion | None = None,
) -> Part:
    """Return a part; the standard ones know what they are per and how they move.

    Parameters
    ----------
    name : str
        A key of `STANDARD_PARTS`, or another name (then ``per`` and ``motion`` must be said).
    masses_g : float or sequence of float
        One number for all, or a list [g].
    per, motion : str, optional
        See `Part`; they override the standard.

    Raises
    ------
    InputError
        If ``per`` or ``motion`` of a part that is not standard is not said, or a mass is not 0 or more.
    """
    standard = STANDARD_PARTS.get(name)
    per = per or (standard[0] if standard else None)
    motion = motion or (standard[1] if standard else None)
    if per is None or motion is None:
        known = ", ".join(f"`{key}`" for key in STANDARD_PARTS)
        raise InputError(
            f"part `{name}` is none of {known}: it must say `per`, and rotating or reciprocating",
            hint='for example per = "cylinder", motion = "reciprocating"',
        )
    masses = (float(masses_g),) if isinstance(masses_g, (int, float)) else tuple(float(m) for m in masses_g)
    return Part(name=name, masses_g=masses, per=per, motion=motion)


@dataclass(frozen=True, kw_only=True)
class PartSet:
    """All weighed parts of an engine, and the share of the reciprocating ones that the bob carries."""

    parts: tuple[Part, ...]
    reciprocating_fraction: float = 0.5

    def __post_init__(self) -> None:
        """Refuse a fraction that is none, and a part named twice."""
        check_fraction(self.reciprocating_fraction)
        names = [each.name for each in self.parts]
        for name in names:
            if names.count(name) > 1:
                raise InputError(f"part `{name}` is given twice", hint="give one list for all cylinders")

    def named(self, name: str) -> Part | None:
        """Return the part of that name, or None."""
        return next((each for each in self.parts if each.name == name), None)


@dataclass(frozen=True, kw_only=True)
class BobLine:
    """One line of the sum of a bob.

    Attributes
    ----------
    part, per, motion : str
        As in `Part`.
    count : int
        How many of them sit on this throw.
    each_g : tuple of float, length ``count``
        Their masses [g].
    fraction : float
        1 for rotating parts, the reciprocating fraction for the others.
    grams : float
        ``fraction * sum(each_g)`` [g].
    """

    part: str
    per: Per
    motion: Motion
    count: int
    each_g: tuple[float, ...]
    fraction: float
    grams: float


@dataclass(frozen=True, kw_only=True)
class Bob:
    """The bob of one throw: its sum line by line [g].

    ``wanted_g`` is the throw's own stated bob when it has one, else the sum of the lines; None if neither.
    """

    throw: str
    rods: int
    cylinders: tuple[str, ...]
    lines: tuple[BobLine, ...]
    rotating_g: float
    reciprocating_g: float
    fraction: float
    stated_g: float | None

    @property
    def sum_g(self) -> float | None:
        """Rotating + fraction * reciprocating [g]; None without parts."""
        return self.rotating_g + self.fraction * self.reciprocating_g if self.lines else None

    @property
    def wanted_g(self) -> float | None:
        """What the engine wants clamped on this throw [g]."""
        return self.sum_g if self.stated_g is None else self.stated_g


@dataclass(frozen=True, kw_only=True)
class BobTable:
    """The bobs of all throws, and what to question."""

    bobs: tuple[Bob, ...]
    notes: tuple[str, ...]

    def wanted_g(self) -> dict[str, float]:
        """Return the bob that the engine wants, per throw [g].

        Raises
        ------
        InputError
            If a throw has neither parts nor a stated bob.
        """
        wanted: dict[str, float] = {}
        for bob in self.bobs:
            if bob.wanted_g is None:
                raise InputError(
                    f"throw `{bob.throw}` has neither parts nor a bob of its own",
                    hint="weigh the parts, or state `bob_wanted`",
                )
            wanted[bob.throw] = bob.wanted_g
        return wanted


def check_fraction(fraction: float) -> tuple[str, ...]:
    """Return a note if the fraction is unusual.

    Raises
    ------
    InputError
        If it is outside 0..1.
    """
    if not 0.0 <= fraction <= 1.0:
        raise InputError(
            f"reciprocating fraction {fraction:g}, it must be from 0 to 1",
            hint=f"50 percent is written 0.5{_percent_hint(fraction)}",
        )
    low, high = USUAL_FRACTION
    if low <= fraction <= high:
        return ()
    return (
        f"reciprocating fraction {fraction:g} is unusual (0.5 is normal, {low:g} to {high:g} is usual); "
        "it is the share of all reciprocating mass on a throw, both cylinders of a V together",
    )


def _percent_hint(fraction: float) -> str:
    return f", so {fraction:g} percent is {fraction / 100:g}" if 1.0 < fraction <= 100.0 else ""


def cylinder_order(throws: Iterable[Throw]) -> tuple[str, ...]:
    """Return the cylinders' names in the order in which lists of parts are read: 1, 2, ... 10; L1, L2, R1.

    Raises
    ------
    InputError
        If a cylinder hangs on two throws.
    """
    names: list[str] = []
    for throw in throws:
        for name in throw.cylinders:
            if name in names:
                raise InputError(
                    f"cylinder `{name}` hangs on two throws", hint="name every cylinder on one throw only"
                )
            names.append(name)
    return tuple(sorted(names, key=_natural))


def _natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """Sort key that counts digits as numbers, so that 10 comes after 9."""
    pieces = re.findall(r"\d+|\D+", name)
    return tuple((0, int(piece), "") if piece.isdigit() else (1, 0, piece) for piece in pieces)


def bobs(parts: PartSet | None, *, throws: Sequence[Throw]) -> BobTable:
    """Return the bob of every throw, line by line.

    Parameters
    ----------
    parts : PartSet or None
        None when every throw states its own bob.
    throws : sequence of Throw
        A split pin is two throws.

    Raises
    ------
    InputError
        If a list has neither one number nor one per cylinder; if a list's values differ and a throw does not
        name its cylinders; if a throw names more or fewer cylinders than it has rods.
    """
    order = cylinder_order(throws)
    for throw in throws:
        if throw.rods < 1:
            raise InputError(f"throw `{throw.name}` has {throw.rods} rods, it must have one or more")
        if throw.cylinders and len(throw.cylinders) != throw.rods:
            raise InputError(
                f"throw `{throw.name}` has {throw.rods} rods but names {len(throw.cylinders)} cylinders",
                hint="one rod belongs to one cylinder",
            )
    if parts is None:
        empty = tuple(_bob(throw, lines=(), fraction=0.5) for throw in throws)
        return BobTable(bobs=empty, notes=())
    rods = sum(throw.rods for throw in throws)
    for each in parts.parts:
        _check_length(each, cylinders=rods, throws=len(throws))
    fraction = parts.reciprocating_fraction
    table = []
    for index, throw in enumerate(throws):
        lines = tuple(_line(each, throw, index=index, order=order, fraction=fraction) for each in parts.parts)
        table.append(_bob(throw, lines=lines, fraction=fraction))
    return BobTable(bobs=tuple(table), notes=check_fraction(fraction))


def _check_length(each: Part, *, cylinders: int, throws: int) -> None:
    allowed = throws if each.per == "throw" else cylinders
    if len(each.masses_g) not in (1, allowed):
        noun = "throws" if each.per == "throw" else "cylinders"
        raise InputError(
            f"part `{each.name}` has {len(each.masses_g)} numbers, the engine has {allowed} {noun}",
            hint=f"give one number for all, or {allowed} of them in the order of the {noun}",
        )


def _masses_on(each: Part, throw: Throw, *, index: int, order: tuple[str, ...]) -> tuple[float, ...]:
    """Return the masses of one kind of part that sit on a throw [g]."""
    if each.per == "throw":
        return (each.masses_g[index if len(each.masses_g) > 1 else 0],)
    if each.all_alike:
        return each.masses_g[:1] * throw.rods
    if not throw.cylinders:
        raise InputError(
            f"the masses of `{each.name}` differ, but throw `{throw.name}` does not name its cylinders",
            hint='name them, for example cylinders = ["1", "5"]',
        )
    if len(order) != len(each.masses_g):
        raise InputError(
            f"the masses of `{each.name}` differ, but only {len(order)} of {len(each.masses_g)} cylinders "
            "are named on the throws",
            hint="name the cylinders on every throw",
        )
    return tuple(each.masses_g[order.index(name)] for name in throw.cylinders)


def _line(each: Part, throw: Throw, *, index: int, order: tuple[str, ...], fraction: float) -> BobLine:
    masses = _masses_on(each, throw, index=index, order=order)
    share = 1.0 if each.motion == "rotating" else fraction
    return BobLine(
        part=each.name,
        per=each.per,
        motion=each.motion,
        count=len(masses),
        each_g=masses,
        fraction=share,
        grams=share * math.fsum(masses),
    )


def _bob(throw: Throw, *, lines: tuple[BobLine, ...], fraction: float) -> Bob:
    return Bob(
        throw=throw.name,
        rods=throw.rods,
        cylinders=throw.cylinders,
        lines=lines,
        rotating_g=math.fsum(sum(line.each_g) for line in lines if line.motion == "rotating"),
        reciprocating_g=math.fsum(sum(line.each_g) for line in lines if line.motion == "reciprocating"),
        fraction=fraction,
        stated_g=throw.bob_wanted_g,
    )


def masses_per_cylinder_g(parts: PartSet, *, throws: Sequence[Throw]) -> dict[str, tuple[float, float]]:
    """Return (reciprocating, rotating) mass of every named cylinder [g].

    What is per throw (oil) is shared evenly by the throw's rods.

    Raises
    ------
    InputError
        As `bobs`, and if a throw does not name its cylinders.
    """
    table = bobs(parts, throws=throws)
    masses: dict[str, tuple[float, float]] = {}
    for bob in table.bobs:
        if not bob.cylinders:
            raise InputError(
                f"throw `{bob.throw}` does not name its cylinders", hint='for example cylinders = ["1", "5"]'
            )
        for place, name in enumerate(bob.cylinders):
            sums = {"rotating": 0.0, "reciprocating": 0.0}
            for line in bob.lines:
                own = line.each_g[0] / bob.rods if line.per == "throw" else line.each_g[place]
                sums[line.motion] += own
            masses[name] = (sums["reciprocating"], sums["rotating"])
    return masses
