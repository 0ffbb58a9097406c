"""What an error of a bob does: factors of the parts, vectors in the planes, how exact the bobs must be.

Masses [g], lengths [mm], unbalance [g*mm] in the crankshaft's frame.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from planner.engine.parts import PartSet, bobs, check_fraction
from planner.errors import InputError
from planner.frames import TwoPlanes
from planner.records import dataclass
from planner.rotor.crankshaft import Throw
from planner.rotor.limits import LimitRow
from planner.rotor.vectors import ComplexArray, resolve, vector_gmm


@dataclass(frozen=True, kw_only=True)
class BobFactor:
    """How much bob one gram of a part is.

    ``one_g`` [g/g]: one gram on one of them; ``every_g``: one gram on every one of this throw.
    """

    part: str
    rods: int
    one_g: float
    every_g: float
    text: str


@dataclass(frozen=True, kw_only=True)
class OverBalance:
    """One of the two meanings of "so many percent over".

    ``bobs_g`` [g] per throw; ``fraction`` is the reciprocating fraction that gives these bobs (per throw they
    may differ when the bob as a whole is scaled, then it is None).
    """

    name: str
    meaning: str
    bobs_g: Mapping[str, float]
    fraction: float | None


@dataclass(frozen=True, kw_only=True)
class BobSensitivity:
    """How exact the bob of one throw must be.

    Attributes
    ----------
    throw : str
        The throw, or ``every throw`` for the same error on all of them.
    per_gram_gmm : tuple of 2 complex
        What one gram more does in the two planes [g*mm].
    allowed_g : float
        Grams that use up the share of the tightest limit; infinite when the bob does not act [g].
    limit : str
        The limit that is used up first (its ``at``), empty when the bob does not act.
    """

    throw: str
    per_gram_gmm: TwoPlanes[complex]
    allowed_g: float
    limit: str


def bob_factors(parts: PartSet, *, throws: Sequence[Throw]) -> tuple[BobFactor, ...]:
    """Return the factor of every part, once for each number of rods on a throw.

    ``1 g on a piston is 0.5 g of bob on its throw; 1 g on every big end is 2 g on a throw with two rods``.
    """
    words = {"rod_big_end": "big end", "rod_small_end": "small end", "oil_per_throw": "oil of a throw"}
    plural = {"rings": "set of rings", "clips": "set of clips", "bearing_shells": "set of bearing shells"}
    found = []
    for rods in sorted({throw.rods for throw in throws}):
        for each in parts.parts:
            one = 1.0 if each.motion == "rotating" else parts.reciprocating_fraction
            every = one if each.per == "throw" else one * rods
            noun = words.get(each.name) or plural.get(each.name) or each.name.replace("_", " ")
            text = f"1 g on one {noun} is {one:g} g of bob"
            if each.per == "throw":
                text = f"1 g on the {noun} is {one:g} g of bob"
            elif rods > 1:
                text += f"; 1 g on every {noun} is {every:g} g on a throw with {rods} rods"
            found.append(BobFactor(part=each.name, rods=rods, one_g=one, every_g=every, text=text))
    return tuple(found)


def over_balance(
    parts: PartSet, *, throws: Sequence[Throw], percent: float
) -> tuple[OverBalance, OverBalance]:
    """Return both meanings of "so many percent over", each by its name; neither is guessed.

    Parameters
    ----------
    percent : float
        2 for "two percent over", negative for under.

    Raises
    ------
    InputError
        As `planner.engine.parts.bobs`; if the fraction would leave 0..1.
    """
    fraction = parts.reciprocating_fraction + percent / 100.0
    check_fraction(fraction)
    normal = _sums_g(parts, throws)
    raised = _sums_g(replace(parts, reciprocating_fraction=fraction), throws)
    factor = 1.0 + percent / 100.0
    scaled = {name: factor * mass for name, mass in normal.items()}
    return (
        OverBalance(
            name=f"fraction {fraction:g}",
            meaning=f"{100 * fraction:g} percent of the reciprocating mass instead of "
            f"{100 * parts.reciprocating_fraction:g}",
            bobs_g=raised,
            fraction=fraction,
        ),
        OverBalance(
            name=f"bob x {factor:g}",
            meaning=f"the whole bob times {factor:g}, rotating parts included",
            bobs_g=scaled,
            fraction=None,
        ),
    )


def _sums_g(parts: PartSet, throws: Sequence[Throw]) -> dict[str, float]:
    return {bob.throw: bob.sum_g or 0.0 for bob in bobs(parts, throws=throws).bobs}


def bob_error_gmm(
    errors_g: Mapping[str, float], *, throws: Sequence[Throw], planes_z_mm: TwoPlanes[float]
) -> ComplexArray:
    """Return what bobs that are too heavy by ``errors_g`` [g] per throw do in the two planes.

    Parameters
    ----------
    errors_g : mapping of throw name to float
        Bob minus the right bob [g]; a throw that is not named has no error.
    throws : sequence of Throw
    planes_z_mm : tuple of 2 floats [mm]

    Returns
    -------
    ndarray of complex, shape (2,)
        ``sum(error * radius * exp(1j*angle))``, moved to the planes [g*mm].

    Raises
    ------
    InputError
        If a name is no throw.
    """
    names = [throw.name for throw in throws]
    for name in errors_g:
        if name not in names:
            known = ", ".join(f"`{each}`" for each in names)
            raise InputError(f"there is no throw `{name}`, the throws are {known}")
    return resolve(
        (
            (throw.z_mm, vector_gmm(errors_g[throw.name] * throw.radius_mm, throw.angle_deg))
            for throw in throws
            if throw.name in errors_g
        ),
        planes_z_mm,
    )


def bob_sensitivity(
    *,
    throws: Sequence[Throw],
    planes_z_mm: TwoPlanes[float],
    limits: Sequence[LimitRow],
    share: float = 0.1,
) -> tuple[BobSensitivity, ...]:
    """Return, per throw and for the same error on all of them, the grams that use up a share of the tolerance.

    Parameters
    ----------
    throws, planes_z_mm : as in `bob_error_gmm`
    limits : sequence of LimitRow
        What the residual is judged by.
    share : float
        Share of each limit that the bobs may use up, 0.1 for a tenth.

    Raises
    ------
    InputError
        If ``share`` is not above 0, or the planes are equal.
    """
    if not share > 0.0:
        raise InputError(f"share {share:g} of the tolerance, it must be above 0")
    found = []
    for throw in throws:
        per_gram = bob_error_gmm({throw.name: 1.0}, throws=(throw,), planes_z_mm=planes_z_mm)
        found.append(_sensitivity(throw.name, per_gram, throws, limits, share))
    together = bob_error_gmm(
        dict.fromkeys((t.name for t in throws), 1.0), throws=throws, planes_z_mm=planes_z_mm
    )
    found.append(_sensitivity("every throw", together, throws, limits, share))
    return tuple(found)


def _sensitivity(
    name: str,
    per_gram: ComplexArray,
    throws: Sequence[Throw],
    limits: Sequence[LimitRow],
    share: float,
) -> BobSensitivity:
    # equal bobs cancel only up to rounding: what is left of the sum is no effect
    noise = 1e-9 * math.fsum(throw.radius_mm for throw in throws)
    per_gram = np.where(np.abs(per_gram) < noise, 0.0, per_gram)
    allowed, tightest = math.inf, ""
    for row in limits:
        effect = abs(row.weight_1 * per_gram[0] + row.weight_2 * per_gram[1])
        if effect > noise and share * row.tolerance_gmm / effect < allowed:
            allowed, tightest = share * row.tolerance_gmm / effect, row.at
    return BobSensitivity(
        throw=name,
        per_gram_gmm=TwoPlanes.vectors(per_gram),
        allowed_g=allowed,
        limit=tightest,
    )
