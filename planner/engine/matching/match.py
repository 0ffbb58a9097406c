"""Matching of parts by weight: kind by kind, or by pairing so that the sums match with the least grinding.

The lightest is left alone, the others are ground down to it; what lies within the match tolerance above the
lightest is not ground.  In a pairing the same holds for sums: the reciprocating sum of every cylinder (piston
+ pin + rod small end + whatever stays with the cylinder) and the big-end sum of every throw.  A piston stays
in its cylinder; a rod is one object, both of its ends travel together.  Masses [g].
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from planner.engine.matching.pairing_proof import least_cost_pairing
from planner.engine.matching.pairing_weights import Weights
from planner.errors import InputError
from planner.records import dataclass

#: Sums are compared in whole numbers of this unit [g]; a shop's scale shows 0.1 or 0.01 g.
UNIT_G = 1e-5


@dataclass(frozen=True, kw_only=True)
class KindMatch:
    """What to grind off one kind of part.

    Attributes
    ----------
    kind : str
    masses_g, remove_g : tuple of float
        As weighed, and what comes off each (0 = left alone) [g].
    lightest : int
        Index of the lightest.
    spread_before_g, spread_after_g, ground_g : float
        Heaviest minus lightest, before and after; sum of what comes off [g].
    outlier_costs_g : float
        What the lightest one costs the whole set: so much less would be ground if it weighed what the second
        lightest weighs [g].
    warnings : tuple of str
        Parts from which more would come off than is allowed.
    """

    kind: str
    masses_g: tuple[float, ...]
    remove_g: tuple[float, ...]
    lightest: int
    spread_before_g: float
    spread_after_g: float
    ground_g: float
    outlier_costs_g: float
    warnings: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class PairingRequest:
    """The weighed parts of an engine, one number per cylinder [g].

    Attributes
    ----------
    piston_g, pin_g, small_end_g, big_end_g : tuple of float
        In the order of ``cylinders``; rod k has small end k and big end k.
    cylinders : tuple of str
        Names, in the order of the lists.
    throws : tuple of tuple of str
        Which cylinders hang on which throw.
    other_kinds_g : tuple of tuple of float, optional
        What stays with the cylinder and is not paired, a list per kind: rings, clips.
    tolerance_g : float
        What lies within this above the least is not ground; 0 is allowed.
    """

    piston_g: tuple[float, ...]
    pin_g: tuple[float, ...]
    small_end_g: tuple[float, ...]
    big_end_g: tuple[float, ...]
    cylinders: tuple[str, ...]
    throws: tuple[tuple[str, ...], ...]
    other_kinds_g: tuple[tuple[float, ...], ...] = ()
    tolerance_g: float = 0.0

    @property
    def other_g(self) -> tuple[float, ...]:
        """What stays with each cylinder, all kinds together [g]."""
        return tuple(
            math.fsum(kind[place] for kind in self.other_kinds_g) for place in range(len(self.cylinders))
        )


@dataclass(frozen=True, kw_only=True)
class CylinderSet:
    """What belongs in a cylinder: pin and rod by the cylinder they were numbered for, the sum, what comes off."""

    cylinder: str
    pin: str
    rod: str
    sum_g: float
    remove_g: float


@dataclass(frozen=True, kw_only=True)
class ThrowSet:
    """The big ends of a throw: their sum and what comes off it [g]."""

    cylinders: tuple[str, ...]
    sum_g: float
    remove_g: float


@dataclass(frozen=True, kw_only=True)
class Pairing:
    """A pairing and what it grinds, beside the other ways of matching.

    Attributes
    ----------
    sets : tuple of CylinderSet
    throws : tuple of ThrowSet
    ground_g : float
        Grams ground in all.
    as_numbered_g : float
        The same with every part in the cylinder it is numbered for [g].
    each_to_lightest_g : float
        Every kind ground to its own lightest, big ends and what is not paired too [g].
    proven : bool
        Whether no pairing grinds less.
    at_least_g : float
        What every pairing grinds at least (equal to ``ground_g`` when proven) [g].
    warnings : tuple of str
    """

    sets: tuple[CylinderSet, ...]
    throws: tuple[ThrowSet, ...]
    ground_g: float
    as_numbered_g: float
    each_to_lightest_g: float
    proven: bool
    at_least_g: float
    warnings: tuple[str, ...]


def removals_g(masses_g: Sequence[float], *, tolerance_g: float = 0.0) -> tuple[float, ...]:
    """Return what comes off each so that all match the lightest; nothing within the tolerance.

    A part (or sum) is left alone when it is no more than ``tolerance_g`` above the lightest, otherwise it is
    ground down to the lightest, not only into the tolerance.

    Raises
    ------
    InputError
        If the tolerance is below 0 or there is nothing to match.
    """
    if not tolerance_g >= 0.0:
        raise InputError(f"match tolerance {tolerance_g:g} g, it must be 0 or more")
    if not masses_g:
        raise InputError("there is nothing to match", hint="give one mass per cylinder")
    least = min(masses_g)
    # sums of decimal fractions are off by rounding: half a unit decides
    return tuple(mass - least if mass - least > tolerance_g + 0.5 * UNIT_G else 0.0 for mass in masses_g)


def match_kind(
    kind: str,
    *,
    masses_g: Sequence[float],
    tolerance_g: float = 0.0,
    greatest_removal_g: float | None = None,
    names: Sequence[str] = (),
) -> KindMatch:
    """Return what to grind off which part of one kind.

    Parameters
    ----------
    kind : str
        ``piston``, ``pin``, ... for the warnings.
    masses_g : sequence of float [g]
    tolerance_g : float
        See `removals_g` [g].
    greatest_removal_g : float, optional
        More than this should not come off one part [g].
    names : sequence of str
        Names of the parts for the warnings; 1, 2, .. if left out.

    Raises
    ------
    InputError
        As `removals_g`; if names and masses differ in number.
    """
    names = tuple(names) or tuple(str(k + 1) for k in range(len(masses_g)))
    if len(names) != len(masses_g):
        raise InputError(f"{len(masses_g)} masses of `{kind}` for {len(names)} names")
    remove = removals_g(masses_g, tolerance_g=tolerance_g)
    lightest = min(range(len(masses_g)), key=lambda k: masses_g[k])
    after = [mass - off for mass, off in zip(masses_g, remove, strict=True)]
    rising = sorted(masses_g)
    without = [*rising[1:2], *rising[1:]] or rising
    warnings = []
    for name, off in zip(names, remove, strict=True):
        if greatest_removal_g is not None and off > greatest_removal_g:
            warnings.append(
                f"{kind} {name}: {off:.1f} g would have to come off, no more than {greatest_removal_g:g} g "
                f"may; replace {kind} {names[lightest]}, the lightest, or this one"
            )
    ground_g = math.fsum(remove)
    return KindMatch(
        kind=kind,
        masses_g=tuple(masses_g),
        remove_g=remove,
        lightest=lightest,
        spread_before_g=max(masses_g) - min(masses_g),
        spread_after_g=max(after) - min(after),
        ground_g=ground_g,
        outlier_costs_g=ground_g - math.fsum(removals_g(without, tolerance_g=tolerance_g)),
        warnings=tuple(warnings),
    )


def pair_parts(
    request: PairingRequest,
    *,
    seconds: float = 2.0,
    greatest_removal_g: Mapping[str, float] | None = None,
) -> Pairing:
    """Return which pin and which rod belong in which cylinder, with the least metal ground.

    Parameters
    ----------
    request : PairingRequest
    seconds : float
        Time for the search; when it is used up the best pairing found is returned with ``proven`` False and
        ``at_least_g`` says how much better another could be.
    greatest_removal_g : mapping of kind to float, optional
        ``piston``, ``pin``, ``rod_small_end``, ``rod_big_end``: what may come off one part [g].

    Notes
    -----
    Ground in all = sum over the cylinders of (reciprocating sum - least of them) + sum over the throws of
    (big-end sum - least of them), each counted only beyond the tolerance.  Never more than as numbered.

    Raises
    ------
    InputError
        If the lists differ in length, throws name cylinders that are not there (or not all, or twice), or
        have different numbers of rods.
    """
    groups = _check(request)
    piston_g = [p + o for p, o in zip(request.piston_g, request.other_g, strict=True)]
    kinds_g = (piston_g, request.pin_g, request.small_end_g, request.big_end_g)
    weights = whole_weights(*kinds_g, throws=groups, tolerance_g=request.tolerance_g)
    found = least_cost_pairing(weights, seconds=seconds)
    numbered = list(range(len(request.cylinders)))
    sets, throws = _book(request, groups, found.pins, found.rods)
    kinds = (request.piston_g, request.pin_g, request.small_end_g, request.big_end_g, *request.other_kinds_g)
    return Pairing(
        sets=sets,
        throws=throws,
        ground_g=round(found.cost * UNIT_G, 6),
        as_numbered_g=round(weights.cost(numbered, numbered) * UNIT_G, 6),
        each_to_lightest_g=math.fsum(
            math.fsum(removals_g(kind, tolerance_g=request.tolerance_g)) for kind in kinds
        ),
        proven=found.proven,
        at_least_g=round(found.bound * UNIT_G, 6),
        warnings=_warnings(sets, throws, greatest_removal_g or {}),
    )


def whole_weights(
    *kinds_g: Sequence[float], throws: tuple[tuple[int, ...], ...], tolerance_g: float
) -> Weights:
    """Return pistons, pins, small and big ends [g] as whole numbers of `UNIT_G`; throws are indices of cylinders."""
    piston, pin, small_end, big_end = (tuple(round(mass / UNIT_G) for mass in kind) for kind in kinds_g)
    return Weights(
        piston=piston,
        pin=pin,
        small_end=small_end,
        big_end=big_end,
        throws=throws,
        tolerance=round(tolerance_g / UNIT_G),
    )


def check_throws(names: Sequence[str], throws: Sequence[Sequence[str]]) -> None:
    """Refuse throws that do not carry every cylinder once, or carry different numbers of rods.

    Raises
    ------
    InputError
    """
    hung = [name for throw in throws for name in throw]
    if sorted(hung) != sorted(names):
        raise InputError(
            f"the throws carry {', '.join(hung) or 'no cylinders'}; the cylinders are {', '.join(names)}",
            hint="name every cylinder on one throw",
        )
    if len({len(throw) for throw in throws}) > 1:
        raise InputError(
            "the throws have different numbers of rods, big-end sums can then not be matched",
            hint="match the big ends kind by kind",
        )


def _check(request: PairingRequest) -> tuple[tuple[int, ...], ...]:
    """Return the throws as indices into the lists."""
    names = request.cylinders
    lists = {
        "piston": request.piston_g,
        "pin": request.pin_g,
        "rod_small_end": request.small_end_g,
        "rod_big_end": request.big_end_g,
    }
    for number, other in enumerate(request.other_kinds_g, start=1):
        lists["other parts" if len(request.other_kinds_g) == 1 else f"other parts, kind {number}"] = other
    for kind, masses in lists.items():
        if len(masses) != len(names):
            raise InputError(
                f"{len(masses)} masses of `{kind}` for {len(names)} cylinders",
                hint="pairing needs one number per cylinder",
            )
        if not all(math.isfinite(mass) and mass >= 0.0 for mass in masses):
            raise InputError(f"a mass of `{kind}` is not a number of 0 or more")
    if not request.tolerance_g >= 0.0:
        raise InputError(f"match tolerance {request.tolerance_g:g} g, it must be 0 or more")
    check_throws(names, request.throws)
    return tuple(tuple(names.index(name) for name in throw) for throw in request.throws)


def _book(
    request: PairingRequest, groups: tuple[tuple[int, ...], ...], pins: list[int], rods: list[int]
) -> tuple[tuple[CylinderSet, ...], tuple[ThrowSet, ...]]:
    names = request.cylinders
    other = request.other_g
    sums = [
        request.piston_g[k] + other[k] + request.pin_g[pins[k]] + request.small_end_g[rods[k]]
        for k in range(len(names))
    ]
    off = removals_g(sums, tolerance_g=request.tolerance_g)
    throw_sums = [math.fsum(request.big_end_g[rods[k]] for k in group) for group in groups]
    throw_off = removals_g(throw_sums, tolerance_g=request.tolerance_g)
    sets = tuple(
        CylinderSet(cylinder=names[k], pin=names[pins[k]], rod=names[rods[k]], sum_g=sums[k], remove_g=off[k])
        for k in range(len(names))
    )
    throws = tuple(
        ThrowSet(cylinders=tuple(names[k] for k in group), sum_g=total, remove_g=remove)
        for group, total, remove in zip(groups, throw_sums, throw_off, strict=True)
    )
    return sets, throws


def _warnings(
    sets: tuple[CylinderSet, ...], throws: tuple[ThrowSet, ...], greatest: Mapping[str, float]
) -> tuple[str, ...]:
    """Warn where all parts of a sum together may not lose what has to come off."""
    found = []
    reciprocating = [greatest.get(kind) for kind in ("piston", "pin", "rod_small_end")]
    if all(limit is not None for limit in reciprocating):
        allowed = math.fsum(limit for limit in reciprocating if limit is not None)
        found += [
            f"cylinder {each.cylinder}: {each.remove_g:.1f} g would have to come off, piston, pin and small "
            f"end together may lose {allowed:g} g"
            for each in sets
            if each.remove_g > allowed
        ]
    big_end = greatest.get("rod_big_end")
    if big_end is not None:
        found += [
            f"big ends of cylinders {', '.join(each.cylinders)}: {each.remove_g:.1f} g would have to come off, "
            f"together they may lose {big_end * len(each.cylinders):g} g"
            for each in throws
            if each.remove_g > big_end * len(each.cylinders)
        ]
    return tuple(found)
