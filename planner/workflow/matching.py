"""Matching the parts of a job by weight: kind by kind, by pairing, or out of a stock."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planner.engine.matching import (
    KindMatch,
    Pairing,
    PairingRequest,
    match_kind,
    pair_parts,
)
from planner.engine.parts import Part, PartSet, Per, cylinder_order, part
from planner.engine.stock import Stock, StockChoice, choose_from_stock
from planner.errors import InputError
from planner.job.model import Job
from planner.rotor.crankshaft import Throw
from planner.workflow.parts_csv import StockTable

#: The kinds that are paired, in the order in which they are shown.
PAIRED = ("piston", "pin", "rod_small_end", "rod_big_end")


@dataclass(frozen=True, kw_only=True)
class KindLine:
    """One kind of part, what one weight is per, and what to grind; ``match`` is None for a single number."""

    part: Part
    per: Per
    names: tuple[str, ...]
    match: KindMatch | None


@dataclass(frozen=True, kw_only=True)
class MatchAnswer:
    """All that `bobplan match` says.

    Attributes
    ----------
    job : Job
    parts : PartSet
        The job's, with what a CSV gave.
    cylinders : tuple of str
        In the order in which lists are read.
    throws : tuple of Throw
    tolerance_g : float
    greatest_removal_g : mapping
    kinds : tuple of KindLine
    pairing : Pairing or None
        When asked for.
    choice : StockChoice or None
        When parts come from a stock; then ``pairing`` is its pairing and ``stock`` the names.
    stock : StockTable or None
    notes : tuple of str
    """

    job: Job
    parts: PartSet
    cylinders: tuple[str, ...]
    throws: tuple[Throw, ...]
    tolerance_g: float
    greatest_removal_g: Mapping[str, float]
    kinds: tuple[KindLine, ...]
    pairing: Pairing | None
    choice: StockChoice | None
    stock: StockTable | None
    notes: tuple[str, ...]

    @property
    def good(self) -> bool:
        """Whether nothing would lose more than it may, the way that is asked for."""
        if self.pairing is not None:
            return not self.pairing.warnings
        return not any(line.match is not None and line.match.warnings for line in self.kinds)

    def throw_of(self, cylinder: str) -> str:
        """Return the throw a cylinder hangs on."""
        return next(throw.name for throw in self.throws if cylinder in throw.cylinders)


def match_job(
    job: Job,
    *,
    weights_g: Mapping[str, Mapping[str, float]] | None = None,
    stock: StockTable | None = None,
    pair: bool = False,
    tolerance_g: float | None = None,
    seconds: float = 5.0,
) -> MatchAnswer:
    """Return what to grind off which part.

    Parameters
    ----------
    job : Job
    weights_g : mapping of part to (mapping of cylinder to float), optional
        Weights that take the place of the job's [g].
    stock : StockTable, optional
        Parts to choose from; asks for pairing too.
    pair : bool
        Whether to find the pairing with the least grinding.
    tolerance_g : float, optional
        Instead of the job's [g].
    seconds : float
        Time for the search.

    Raises
    ------
    InputError
        If there are no parts, cylinders are not named where lists differ, or kinds needed for pairing are missing.
    NoAnswerError
        If no choice from a stock was found in time.
    """
    throws = _named(job.crankshaft.throws)
    cylinders = cylinder_order(throws)
    parts = _with_weights(job.parts, weights_g or {}, cylinders)
    tolerance = job.match.tolerance_g if tolerance_g is None else tolerance_g
    greatest = job.match.greatest_removal_g
    notes = []
    if not any(throw.cylinders for throw in job.crankshaft.throws):
        notes.append("the throws name no cylinders: they are numbered from the front, rod by rod")
    chosen = () if stock is None else tuple(stock.masses_g)
    kinds = tuple(_line(each, cylinders, throws, tolerance, greatest, notes, chosen) for each in parts.parts)
    pairing = choice = None
    if stock is not None:
        choice = choose_from_stock(
            _stock(stock, parts, cylinders),
            cylinders=cylinders,
            throws=_groups(throws),
            tolerance_g=tolerance,
            seconds=seconds,
        )
        pairing = choice.pairing
        if _other(parts, len(cylinders), uneven_only=True):
            notes.append(
                "rings, clips and what else stays with a cylinder differ; a choice from stock leaves that out"
            )
    elif pair:
        pairing = pair_parts(
            _request(parts, cylinders, throws, tolerance), seconds=seconds, greatest_removal_g=greatest
        )
    return MatchAnswer(
        job=job,
        parts=parts,
        cylinders=cylinders,
        throws=throws,
        tolerance_g=tolerance,
        greatest_removal_g=greatest,
        kinds=kinds,
        pairing=pairing,
        choice=choice,
        stock=stock,
        notes=tuple(notes),
    )


def _named(throws: Sequence[Throw]) -> tuple[Throw, ...]:
    """Return the throws with cylinders; numbered along the shaft when none are named."""
    named = [throw for throw in throws if throw.cylinders]
    if named and len(named) < len(throws):
        missing = ", ".join(f"`{throw.name}`" for throw in throws if not throw.cylinders)
        raise InputError(
            f"throw {missing} does not name its cylinders, others do",
            hint='for example cylinders = ["1", "5"]',
        )
    if named:
        return tuple(throws)
    number = 0
    found = {}
    for throw in sorted(throws, key=lambda each: each.z_mm):
        found[throw.name] = tuple(str(number + k + 1) for k in range(throw.rods))
        number += throw.rods
    return tuple(dataclasses.replace(throw, cylinders=found[throw.name]) for throw in throws)


def _with_weights(
    parts: PartSet | None, weights_g: Mapping[str, Mapping[str, float]], cylinders: tuple[str, ...]
) -> PartSet:
    if parts is None and not weights_g:
        raise InputError(
            "the job has no [parts]", hint="weigh them and add [parts], or give them with `--csv FILE`"
        )
    fresh = {}
    for name, by_cylinder in weights_g.items():
        unknown = [each for each in by_cylinder if each not in cylinders]
        missing = [each for each in cylinders if each not in by_cylinder]
        if unknown or missing:
            what = (
                f"cylinder {', '.join(unknown)} is unknown"
                if unknown
                else f"cylinder {', '.join(missing)} is missing"
            )
            raise InputError(
                f"the CSV's weights of `{name}`: {what}",
                hint=f"the job's cylinders are {', '.join(cylinders)}",
            )
        old = parts.named(name) if parts is not None else None
        masses = tuple(by_cylinder[each] for each in cylinders)
        fresh[name] = part(name, masses) if old is None else dataclasses.replace(old, masses_g=masses)
        if fresh[name].per == "throw":
            raise InputError(
                f"`{name}` is weighed per throw, a CSV has one row per cylinder",
                hint="leave it in the job file",
            )
    kept = parts.parts if parts is not None else ()
    names = [each.name for each in kept]
    merged = [fresh.get(each.name, each) for each in kept]
    merged += [each for name, each in fresh.items() if name not in names]
    return PartSet(
        parts=tuple(merged), reciprocating_fraction=0.5 if parts is None else parts.reciprocating_fraction
    )


def _line(
    each: Part,
    cylinders: tuple[str, ...],
    throws: Sequence[Throw],
    tolerance_g: float,
    greatest_g: Mapping[str, float],
    notes: list[str],
    chosen: Sequence[str],
) -> KindLine:
    names = tuple(throw.name for throw in throws) if each.per == "throw" else cylinders
    if len(each.masses_g) == 1 and len(names) > 1:
        # what comes from the stock is weighed there
        if each.name in PAIRED and each.name not in chosen:
            notes.append(f"{each.name}: one number serves all; weigh each one to match them")
        return KindLine(part=each, per=each.per, names=names, match=None)
    if len(each.masses_g) != len(names):
        noun = "throws" if each.per == "throw" else "cylinders"
        raise InputError(
            f"part `{each.name}` has {len(each.masses_g)} numbers, the engine has {len(names)} {noun}",
            hint="give one number for all, or one for each",
        )
    match = match_kind(
        each.name,
        masses_g=each.masses_g,
        tolerance_g=tolerance_g,
        greatest_removal_g=greatest_g.get(each.name),
        names=names,
    )
    return KindLine(part=each, per=each.per, names=names, match=match)


def _groups(throws: Sequence[Throw]) -> tuple[tuple[str, ...], ...]:
    return tuple(throw.cylinders for throw in throws)


def _masses(parts: PartSet, name: str, count: int) -> tuple[float, ...]:
    found = parts.named(name)
    if found is None:
        raise InputError(
            f"there are no weights of `{name}`",
            hint=f"pairing needs {', '.join(PAIRED)}, one number per cylinder",
        )
    return found.masses_g if len(found.masses_g) > 1 else found.masses_g * count


def _other(parts: PartSet, count: int, *, uneven_only: bool = False) -> tuple[float, ...]:
    """Return what stays with each cylinder and reciprocates: rings, clips, other parts; empty for nothing."""
    rest = [
        each
        for each in parts.parts
        if each.name not in PAIRED and each.motion == "reciprocating" and each.per != "throw"
    ]
    if uneven_only:
        rest = [each for each in rest if not each.all_alike]
    if not rest:
        return ()
    lists = [each.masses_g if len(each.masses_g) > 1 else each.masses_g * count for each in rest]
    return tuple(math.fsum(values) for values in zip(*lists, strict=True))


def _request(
    parts: PartSet, cylinders: tuple[str, ...], throws: Sequence[Throw], tolerance_g: float
) -> PairingRequest:
    count = len(cylinders)
    piston, pin, small, big = (_masses(parts, name, count) for name in PAIRED)
    return PairingRequest(
        piston_g=piston,
        pin_g=pin,
        small_end_g=small,
        big_end_g=big,
        cylinders=cylinders,
        throws=_groups(throws),
        other_g=_other(parts, count),
        tolerance_g=tolerance_g,
    )


def _stock(stock: StockTable, parts: PartSet, cylinders: tuple[str, ...]) -> Stock:
    """Return the stock; a kind that it does not list is the job's own set."""
    count = len(cylinders)
    found = {
        name: tuple(mass for _, mass in stock.masses_g[name])
        if name in stock.masses_g
        else _masses(parts, name, count)
        for name in PAIRED
    }
    return Stock(
        piston_g=found["piston"],
        pin_g=found["pin"],
        small_end_g=found["rod_small_end"],
        big_end_g=found["rod_big_end"],
    )
