"""Both ends of a connecting rod, weighed or worked out, and what spoils the weighing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field

from planner.engine.rod_ends import (
    RodCheck,
    RodError,
    RodInertia,
    RodSplit,
    check_weighing,
    rod_errors,
    rod_inertia,
    split_rod,
)
from planner.errors import InputError
from planner.formula import Formula
from planner.records import dataclass


@dataclass(frozen=True, kw_only=True)
class WeighedRod:
    """What was weighed [g] and measured [mm]; ``centre_mm`` is the centre of gravity from the centre of the big end."""

    small_end_g: float | None
    big_end_g: float | None
    whole_g: float | None
    length_mm: float | None
    centre_mm: float | None


@dataclass(frozen=True, kw_only=True)
class RodAnswer:
    """What is known of a rod; ``centre_mm`` is from the big end, typed or from the two ends."""

    weighed: WeighedRod
    check: RodCheck | None
    split: RodSplit | None
    mass_g: float
    centre_mm: float | None
    by_difference: bool
    errors: tuple[RodError, ...]
    inertia: RodInertia | None
    spoiled: Mapping[str, float] = field(default_factory=dict)


def rod_answer(
    weighed: WeighedRod, *, scale_g: float, spoiled: Mapping[str, float], real_gmm2: float | None
) -> RodAnswer:
    """Return what is known of a rod.

    Parameters
    ----------
    weighed : WeighedRod
    scale_g : float
        What the scale shows [g].
    spoiled : mapping
        What spoils the weighing: ``tilt_deg``, ``centre_off_line_mm``, ``friction``, ``contact_off_mm``.
    real_gmm2 : float or None
        The real moment of inertia about the centre of gravity [g*mm*mm].

    Raises
    ------
    InputError
        If too little is given, or it can't be.
    """
    small, big, whole = weighed.small_end_g, weighed.big_end_g, weighed.whole_g
    centre, length = weighed.centre_mm, weighed.length_mm
    check = split = None
    if small is not None and big is not None:
        mass = whole if whole is not None else small + big
        if whole is not None:
            check = check_weighing(small_end_g=small, big_end_g=big, whole_g=whole, scale_g=scale_g)
    elif whole is None:
        raise InputError(
            "a rod needs both ends, or the whole rod with length and centre of gravity",
            hint="`bobplan rod --small-end 173.6 --big-end 446.3 --whole 620`, or "
            "`bobplan rod --whole 620 --length 150 --centre-of-gravity 42`",
        )
    else:
        mass = whole
    if centre is not None and length is not None:
        split = split_rod(mass, length_mm=length, centre_from_big_end_mm=centre)
    elif check is None and (small is None or big is None):
        split = _by_difference(small, big, mass)
        small, big = split.small_end_g, split.big_end_g
    by_difference = split is not None and (centre is None or length is None)
    if centre is None and length is not None and small is not None and big is not None:
        centre = length * small / (small + big)
    errors: tuple[RodError, ...] = ()
    if any(spoiled.values()):
        length, centre = _placed(length, centre, "what spoils a weighing")
        errors = rod_errors(mass, length_mm=length, centre_from_big_end_mm=centre, **spoiled)
    found = None
    if real_gmm2 is not None:
        length, centre = _placed(length, centre, "a moment of inertia")
        found = rod_inertia(mass, length_mm=length, centre_from_big_end_mm=centre, inertia_gmm2=real_gmm2)
    return RodAnswer(
        weighed=weighed,
        check=check,
        split=split,
        mass_g=mass,
        centre_mm=centre if length is not None else None,
        by_difference=by_difference,
        errors=errors,
        inertia=found,
        spoiled=spoiled,
    )


def _by_difference(small_g: float | None, big_g: float | None, mass_g: float) -> RodSplit:
    """One end weighed: the other is the difference, and nothing checks it."""
    end = small_g if small_g is not None else big_g
    if end is None:
        raise InputError(
            "the whole rod alone does not say how it splits",
            hint="weigh one end or both, or give --length and --centre-of-gravity (from the centre of the big end)",
        )
    if not end < mass_g:
        raise InputError(
            f"one end of a rod of {mass_g:g} g can't weigh {end:g} g",
            hint="an end is lighter than the whole rod",
        )
    small = end if small_g is not None else mass_g - end
    return RodSplit(small_end_g=small, big_end_g=mass_g - small)


def _placed(length: float | None, centre: float | None, what: str) -> tuple[float, float]:
    if length is None or centre is None:
        raise InputError(
            f"{what} needs --length and where the centre of gravity is",
            hint="give both ends and --length, or --length and --centre-of-gravity",
        )
    return length, centre


def rod_working(answer: RodAnswer) -> Iterator[Formula]:
    """Yield the sums behind the answer."""
    weighed, mass = answer.weighed, answer.mass_g
    length, centre = weighed.length_mm, answer.centre_mm
    small, big = weighed.small_end_g, weighed.big_end_g
    known = {
        "whole": mass,
        "small end": small,
        "big end": big,
        "weighed end": big if small is None else small,
        "length": length,
        "centre of gravity": centre,
    }
    of = {name: value for name, value in known.items() if value is not None}
    if answer.check is not None and small is not None and big is not None:
        yield Formula("difference", "small end + big end - whole", of, answer.check.difference_g, "g")
    if answer.split is not None and answer.by_difference:
        yield Formula("the other end", "whole - weighed end", of, mass - of["weighed end"], "g")
    elif answer.split is not None and centre is not None and length is not None:
        split = answer.split
        yield Formula("small end", "whole * centre of gravity / length", of, split.small_end_g, "g")
        yield Formula("big end", "whole * (length - centre of gravity) / length", of, split.big_end_g, "g")
    elif centre is not None and length is not None and small is not None and big is not None:
        symbols, remark = "length * small end / (small end + big end)", "from the centre of the big end"
        yield Formula("centre of gravity", symbols, of, centre, "mm", remark)
    if length is None or centre is None:
        return
    ends = {"small end": mass * centre / length, "big end": mass * (length - centre) / length}
    spoiled = answer.spoiled
    of |= {
        "lighter end": min(ends.values()),
        "tilt angle": spoiled.get("tilt_deg", 0.0),
        "off the line": spoiled.get("centre_off_line_mm", 0.0),
        "coefficient": spoiled.get("friction", 0.0),
        "off": spoiled.get("contact_off_mm", 0.0),
    }
    for error in answer.errors:
        if error.cause == "tilt":
            symbols = "whole * off the line / length * tan(tilt angle)"
            yield Formula("tilt", symbols, of, error.small_end_g, "g")
        elif error.cause == "friction":
            yield Formula(
                "friction", "coefficient * lighter end * tan(tilt angle)", of, error.small_end_g, "g"
            )
        else:
            for (name, end), value in zip(ends.items(), (error.small_end_g, error.big_end_g), strict=True):
                yield Formula(
                    f"contact, {name}", "-end * off / (length + off)", of | {"end": end}, value, "g"
                )
