"""Matching the parts of a job by weight: kind by kind, by pairing, or out of a stock."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

from planner.engine.matching.match import (
    KindMatch,
    Pairing,
    PairingRequest,
    match_kind,
    pair_parts,
)
from planner.engine.matching.stock import Stock, StockChoice, choose_from_stock
from planner.engine.parts import STANDARD_PARTS, Part, PartSet, cylinder_order, part
from planner.errors import InputError
from planner.jobfile.job import Job
from planner.jobfile.plausible import refuse_beyond_reason
from planner.quantity import from_g
from planner.records import dataclass
from planner.rotor.crankshaft import Throw
from planner.steps.parts_csv import StockTable

#: The kinds that are paired, in the order in which they are shown.
PAIRED = ("piston", "pin", "rod_small_end", "rod_big_end")


@dataclass(frozen=True, kw_only=True)
class KindLine:
    """One kind of part and what to grind; ``match`` is None for a single number."""

    part: Part
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
    throws = named_throws(job.crankshaft.throws)
    cylinders = cylinder_order(throws)
    parts = _with_weights(job.parts, weights_g or {}, cylinders)
    _refuse_beyond_reason(job, weights_g or {}, stock)
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
            Stock(**_paired_g(parts, len(cylinders), stock)),
            cylinders=cylinders,
            throws=_groups(throws),
            tolerance_g=tolerance,
            greatest_removal_g=greatest,
            seconds=seconds,
        )
        pairing = choice.pairing
        if _other(parts, len(cylinders), uneven_only=True):
            notes.append(
                "rings, clips and what else stays with a cylinder differ; a choice from stock leaves that out"
            )
    elif pair:
        request = PairingRequest(
            **_paired_g(parts, len(cylinders)),
            cylinders=cylinders,
            throws=_groups(throws),
            other_kinds_g=_other(parts, len(cylinders)),
            tolerance_g=tolerance,
        )
        pairing = pair_parts(request, seconds=seconds, greatest_removal_g=greatest)
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


def placed_masses_g(answer: MatchAnswer, place: int) -> tuple[float, float, float, float]:
    """Return piston, pin, small end and big end that end up in a cylinder, by its place in the order [g]."""
    assert answer.pairing is not None
    each, count = answer.pairing.sets[place], len(answer.cylinders)
    own = (each.cylinder, each.pin, each.rod, each.rod)
    if answer.choice is not None:
        indices = (
            answer.choice.pistons[place],
            answer.choice.pins[place],
            answer.choice.rods[place],
            answer.choice.rods[place],
        )
    else:
        pin, rod = answer.cylinders.index(own[1]), answer.cylinders.index(own[2])
        indices = (place, pin, rod, rod)
    masses = []
    for kind, index in zip(PAIRED, indices, strict=True):
        if answer.stock is not None and kind in answer.stock.masses_g:
            masses.append(answer.stock.masses_g[kind][index][1])
        else:
            part = answer.parts.named(kind)
            assert part is not None
            masses.append((part.masses_g if len(part.masses_g) > 1 else part.masses_g * count)[index])
    return masses[0], masses[1], masses[2], masses[3]


def matched_masses_g(answer: MatchAnswer) -> dict[str, tuple[float, ...]]:
    """Return what the parts weigh once they are matched: name of the part to weights in the order of the cylinders [g].

    Of a pairing only sums are ground.  What a cylinder's sum loses is counted at its piston, what a throw's big ends lose
    at the heaviest of them: for the bobs it is the same wherever it comes off.
    """
    if answer.pairing is None:
        return {
            line.part.name: tuple(
                mass - off for mass, off in zip(line.match.masses_g, line.match.remove_g, strict=True)
            )
            for line in answer.kinds
            if line.match is not None
        }
    placed = [list(placed_masses_g(answer, place)) for place in range(len(answer.pairing.sets))]
    for row, each in zip(placed, answer.pairing.sets, strict=True):
        row[0] -= each.remove_g
    order = [each.cylinder for each in answer.pairing.sets]
    for throw in answer.pairing.throws:
        heaviest = max((order.index(name) for name in throw.cylinders), key=lambda index: placed[index][3])
        placed[heaviest][3] -= throw.remove_g
    return {
        kind: tuple(placed[order.index(name)][column] for name in answer.cylinders)
        for column, kind in enumerate(PAIRED)
    }


def unlisted_parts(answer: MatchAnswer) -> dict[str, object]:
    """Return ``[parts]`` as a whole, in the job file's units: what a job file needs that has no such section itself."""
    unit = answer.job.units.mass
    found: dict[str, object] = {}
    for each in answer.parts.parts:
        masses = [round(from_g(mass, unit), 9) for mass in each.masses_g]
        value: object = masses[0] if len(masses) == 1 else masses
        standard = part(each.name, each.masses_g) if each.name in STANDARD_PARTS else None
        if standard is None or (standard.per, standard.motion) != (each.per, each.motion):
            value = {"mass": value, "per": each.per, "motion": each.motion}
        found[each.name] = value
    found["reciprocating_fraction"] = answer.parts.reciprocating_fraction
    return found


def named_throws(throws: Sequence[Throw]) -> tuple[Throw, ...]:
    """Return the throws with cylinders; numbered along the shaft when none are named.

    Raises
    ------
    InputError
        If some name their cylinders and others don't.
    """
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


def _refuse_beyond_reason(
    job: Job, weights_g: Mapping[str, Mapping[str, float]], stock: StockTable | None
) -> None:
    """Refuse weights of a CSV that no part has: a wrong unit would make everything that follows wrong."""
    listed = [(name, list(by_name.items())) for name, by_name in weights_g.items()]
    if stock is not None:
        listed += [(name, list(rows)) for name, rows in stock.masses_g.items()]
    for name, rows in listed:
        for label, mass in rows:
            refuse_beyond_reason(
                name, mass, what=f"the CSV's {name} of {label}", units=job.units, widened=job.plausible
            )


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
        return KindLine(part=each, names=names, match=None)
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
    return KindLine(part=each, names=names, match=match)


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


def _other(parts: PartSet, count: int, *, uneven_only: bool = False) -> tuple[tuple[float, ...], ...]:
    """Return what stays with each cylinder and reciprocates, kind by kind: rings, clips, other parts."""
    return tuple(
        each.masses_g if len(each.masses_g) > 1 else each.masses_g * count
        for each in parts.parts
        if each.name not in PAIRED
        and each.motion == "reciprocating"
        and each.per != "throw"
        and not (uneven_only and each.all_alike)
    )


def _paired_g(parts: PartSet, count: int, stock: StockTable | None = None) -> dict[str, tuple[float, ...]]:
    """Return the weights of what is paired, as fields; a kind that the stock does not list is the job's own set."""
    listed = {} if stock is None else stock.masses_g
    return {
        f"{name.removeprefix('rod_')}_g": tuple(mass for _, mass in listed[name])
        if name in listed
        else _masses(parts, name, count)
        for name in PAIRED
    }
