"""`bobplan rod`: both ends of a connecting rod, weighed or worked out, and what spoils the weighing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planner.cli.console import ANSWER_IS_NO, leave, say, say_json
from planner.cli.options import JsonOption, WorkOption, number
from planner.errors import InputError
from planner.quantity import parse_length_mm, parse_mass_g

if TYPE_CHECKING:
    from planner.engine.rod_ends import RodCheck, RodError, RodInertia, RodSplit

_G_MM2_PER_KG_M2 = 1e9


def rod(
    small_end: Annotated[
        str | None, typer.Option("--small-end", help="Weighed small end, rod level.")
    ] = None,
    big_end: Annotated[str | None, typer.Option("--big-end", help="Weighed big end, rod level.")] = None,
    whole: Annotated[str | None, typer.Option("--whole", help="The rod weighed whole.")] = None,
    scale: Annotated[str, typer.Option("--scale", help="What the scale shows.")] = "0.1 g",
    length: Annotated[str | None, typer.Option("--length", help="Centre to centre.")] = None,
    centre: Annotated[
        str | None,
        typer.Option(
            "--centre-of-gravity", help="From the centre of the big end; splits --whole without weighing."
        ),
    ] = None,
    tilt: Annotated[str | None, typer.Option("--tilt", help="Rod not level by so many degrees.")] = None,
    off_line: Annotated[
        str, typer.Option("--off-line", help="Centre of gravity above the line of the two centres.")
    ] = "0",
    friction: Annotated[
        str, typer.Option("--friction", help="Coefficient of friction of the support.")
    ] = "0",
    contact_off: Annotated[
        str | None, typer.Option("--contact-off", help="Support so far outside the end's centre.")
    ] = None,
    inertia: Annotated[
        str | None,
        typer.Option("--inertia", help="Real moment of inertia about the centre of gravity [kg*m2]."),
    ] = None,
    as_json: JsonOption = False,
    show_work: WorkOption = False,
) -> None:
    """Check a rod's two ends against the whole rod, or split it; what a rod that is not level weighs wrong."""
    weighed = _Weighed(
        small_end_g=_mass(small_end, "--small-end"),
        big_end_g=_mass(big_end, "--big-end"),
        whole_g=_mass(whole, "--whole"),
        length_mm=_length(length, "--length"),
        centre_mm=None if centre is None else parse_length_mm(centre, name="--centre-of-gravity", least=0.0),
    )
    spoiled = {
        "tilt_deg": number(tilt, what="--tilt") if tilt is not None else 0.0,
        "centre_off_line_mm": parse_length_mm(off_line, name="--off-line"),
        "friction": number(friction, what="--friction"),
        "contact_off_mm": 0.0 if contact_off is None else parse_length_mm(contact_off, name="--contact-off"),
    }
    real = None if inertia is None else number(inertia, what="--inertia") * _G_MM2_PER_KG_M2
    answer = _answer(
        weighed, scale_g=parse_mass_g(scale, name="--scale", above=0.0), spoiled=spoiled, real=real
    )
    work = _work(answer, spoiled) if show_work else []
    if as_json:
        data = _data(answer)
        if show_work:
            data["working"] = work
        say_json(data)
    else:
        say("\n".join([*_text(answer), *(["", *work] if work else [])]))
    if answer.check is not None and not answer.check.agrees:
        leave(ANSWER_IS_NO)


@dataclass(frozen=True, kw_only=True)
class _Weighed:
    small_end_g: float | None
    big_end_g: float | None
    whole_g: float | None
    length_mm: float | None
    centre_mm: float | None


@dataclass(frozen=True, kw_only=True)
class _Answer:
    """What is known of a rod; ``centre_mm`` is from the big end, typed or from the two ends."""

    weighed: _Weighed
    check: RodCheck | None
    split: RodSplit | None
    mass_g: float
    centre_mm: float | None
    by_difference: bool
    errors: tuple[RodError, ...]
    inertia: RodInertia | None


def _mass(text: str | None, name: str) -> float | None:
    return None if text is None else parse_mass_g(text, name=name, above=0.0)


def _length(text: str | None, name: str) -> float | None:
    return None if text is None else parse_length_mm(text, name=name, above=0.0)


def _answer(weighed: _Weighed, *, scale_g: float, spoiled: dict[str, float], real: float | None) -> _Answer:
    from planner.engine.rod_ends import check_weighing, rod_errors, rod_inertia, split_rod

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
    if real is not None:
        length, centre = _placed(length, centre, "a moment of inertia")
        found = rod_inertia(mass, length_mm=length, centre_from_big_end_mm=centre, inertia_gmm2=real)
    return _Answer(
        weighed=weighed,
        check=check,
        split=split,
        mass_g=mass,
        centre_mm=centre if length is not None else None,
        by_difference=by_difference,
        errors=errors,
        inertia=found,
    )


def _by_difference(small_g: float | None, big_g: float | None, mass_g: float) -> RodSplit:
    """One end weighed: the other is the difference, and nothing checks it."""
    from planner.engine.rod_ends import RodSplit

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


_CAUSES = {
    "tilt": "rod not level, centre of gravity off the line (the low end on the scale reads too much)",
    "friction": "friction of the support in a rod not level (either way)",
    "contact": "support off the centre of the end on the scale",
}


def _text(answer: _Answer) -> list[str]:
    weighed = answer.weighed
    lines = []
    if weighed.small_end_g is not None and weighed.big_end_g is not None:
        total = weighed.small_end_g + weighed.big_end_g
        lines.append(
            f"small end {weighed.small_end_g:.2f} g + big end {weighed.big_end_g:.2f} g = {total:.2f} g (per rod)"
        )
    if answer.check is not None:
        verdict = "AGREES" if answer.check.agrees else "DOES NOT AGREE"
        lines.append(
            f"whole rod {answer.mass_g:.2f} g, difference {answer.check.difference_g:+.2f} g: {verdict}, "
            f"{answer.check.text}"
        )
        lines.append(
            "(the sum shows friction, a slope and a false scale; a support off the centre it can't show)"
        )
    if answer.split is not None:
        how = (
            "one end weighed, the other is the difference; nothing checks it"
            if answer.by_difference
            else "split from the centre of gravity"
        )
        lines.append(
            f"small end {answer.split.small_end_g:.2f} g (reciprocating), big end {answer.split.big_end_g:.2f} g "
            f"(rotating), per rod: {how}"
        )
    if answer.centre_mm is not None:
        lines.append(f"centre of gravity {answer.centre_mm:.2f} mm from the centre of the big end")
    if answer.errors:
        lines += ["", "WHAT IT WEIGHS WRONG               small end     big end"]
        for error in answer.errors:
            sign = "±" if error.cause == "friction" else " "
            small, big = (
                f"{sign}{abs(e):.2f} g" if error.cause == "friction" else f"{e:+.2f} g"
                for e in (error.small_end_g, error.big_end_g)
            )
            lines.append(f"  {error.cause:<32} {small:>9}  {big:>9}")
        lines += [f"  {error.cause}: {_CAUSES[error.cause]}" for error in answer.errors]
    if answer.inertia is not None:
        found = answer.inertia
        lines += [
            "",
            f"two masses at the centres: moment of inertia {found.model_gmm2 / _G_MM2_PER_KG_M2:.6f} kg*m2, "
            f"real {found.real_gmm2 / _G_MM2_PER_KG_M2:.6f} ({100 * found.excess:+.1f} percent)",
            "for force and couple the two masses are exact, only torque and side force are off by this",
        ]
    return lines


def _data(answer: _Answer) -> dict[str, Any]:
    weighed, check, split = answer.weighed, answer.check, answer.split
    return {
        "small_end_g": split.small_end_g if split is not None else weighed.small_end_g,
        "big_end_g": split.big_end_g if split is not None else weighed.big_end_g,
        "whole_g": answer.mass_g,
        "per": "rod",
        "centre_of_gravity_mm": answer.centre_mm,
        "length_mm": weighed.length_mm,
        "difference_g": None if check is None else check.difference_g,
        "agrees": None if check is None else check.agrees,
        "errors": [
            {"cause": each.cause, "small_end_g": each.small_end_g, "big_end_g": each.big_end_g}
            for each in answer.errors
        ],
        "inertia": None
        if answer.inertia is None
        else {
            "two_masses_kgm2": answer.inertia.model_gmm2 / _G_MM2_PER_KG_M2,
            "real_kgm2": answer.inertia.real_gmm2 / _G_MM2_PER_KG_M2,
            "excess": answer.inertia.excess,
        },
    }


def _work(answer: _Answer, spoiled: dict[str, float]) -> list[str]:
    weighed, mass, length, centre = answer.weighed, answer.mass_g, answer.weighed.length_mm, answer.centre_mm
    lines = []
    if answer.check is not None:
        lines.append(
            f"difference = {weighed.small_end_g:g} + {weighed.big_end_g:g} - {mass:g} = {answer.check.difference_g:+.2f} g"
        )
    if answer.split is not None and answer.by_difference:
        lines.append(
            f"the other end = {mass:g} - {weighed.small_end_g or weighed.big_end_g:g} g = "
            f"{mass - (weighed.small_end_g or weighed.big_end_g or 0.0):.2f} g"
        )
    elif answer.split is not None and centre is not None and length is not None:
        lines += [
            f"small end = {mass:g} x {centre:g} / {length:g} = {answer.split.small_end_g:.2f} g",
            f"big end = {mass:g} x ({length:g} - {centre:g}) / {length:g} = {answer.split.big_end_g:.2f} g",
        ]
    elif centre is not None and length is not None:
        lines.append(
            f"centre of gravity = {length:g} x {weighed.small_end_g:g} / ({weighed.small_end_g:g} + "
            f"{weighed.big_end_g:g}) = {centre:.2f} mm from the big end"
        )
    for error in answer.errors:
        if error.cause == "tilt":
            lines.append(
                f"tilt: {mass:g} x {spoiled['centre_off_line_mm']:g} / {length:g} x tan({spoiled['tilt_deg']:g}) = "
                f"{error.small_end_g:+.2f} g"
            )
        elif error.cause == "friction":
            lines.append(
                f"friction: {spoiled['friction']:g} x the lighter end x tan({spoiled['tilt_deg']:g}) = "
                f"{error.small_end_g:.2f} g"
            )
        else:
            off = spoiled["contact_off_mm"]
            lines.append(
                f"contact: - end x {off:g} / ({length:g} + {off:g}) = {error.small_end_g:+.2f} g small, "
                f"{error.big_end_g:+.2f} g big end"
            )
    return lines
