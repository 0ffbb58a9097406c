"""What the three ``bobplan cut`` commands read alike."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from planner.cli.console import say_json, show
from planner.cuts.solid import checked_point_angle
from planner.errors import InputError
from planner.quantity import (
    METRIC,
    QuantityError,
    UnitSystem,
    number_or_nan,
    parse_angle_deg,
    parse_length_mm,
    unit_name,
)
from planner.rotor.drills import parse_drill_mm

if TYPE_CHECKING:
    from planner.steps.one_cut import Metal, OneCut


def tell(cut: OneCut, *, in_inches: bool, show_work: bool, as_json: bool) -> None:
    """Print what a cut does."""
    from planner.present.pages.one_cut import one_cut_document, one_cut_json, one_cut_working

    if as_json:
        say_json(one_cut_json(cut, show_work=show_work))
    else:
        show(one_cut_document(cut, in_inches=in_inches), working=one_cut_working(cut) if show_work else ())


def any_inches(*texts: str | None) -> bool:
    """Return whether any of the lengths as typed carries inches."""
    for text in texts:
        tail = re.search(r"[^\d.\s/][^\d]*$", text or "")
        if tail is None:
            continue
        try:
            if unit_name(tail[0].lstrip("-− "), "length") == "in":
                return True
        except QuantityError:
            continue  # the parser says what is wrong with it
    return False


def needed_mm(text: str | None, *, name: str, example: str) -> float:
    """Return a length above zero [mm] that must be given."""
    if text is None:
        raise InputError(f"{name} is missing", hint=f"for example: {example}")
    return (
        parse_drill_mm(text, UnitSystem(), name=name)
        if name == "--diameter"
        else parse_length_mm(text, name=name, above=0.0)
    )


def optional_mm(text: str | None, *, name: str) -> float | None:
    """Return a length above zero [mm], or None when it was left out."""
    return METRIC.given(text, "length", name=name, above=0.0)


def plain_number(text: str, *, name: str, above: float | None = None) -> float:
    """Return a number without unit."""
    value = number_or_nan(text)
    if not math.isfinite(value) or (above is not None and value <= above):
        limit = "" if above is None else f" above {above:g}"
        raise InputError(f"{name}: given `{text}`; allowed is a number{limit}", hint=f"check {name}")
    return value


def one_of_two(first: str | None, second: str | None, *, names: tuple[str, str]) -> None:
    """Refuse both or neither of two options of which one is asked and the other is the answer."""
    hint = f"give {names[0]} to learn the unbalance, or {names[1]} to learn what it takes"
    not_both(first, second, names, hint)
    if first is None and second is None:
        raise InputError(f"neither {names[0]} nor {names[1]} is given, one of them is needed", hint=hint)


def depth_to_of(text: str) -> str:
    """Return ``shoulder`` or ``tip``."""
    if text not in ("shoulder", "tip"):
        raise InputError(
            f"--depth-to: given `{text}`; allowed are `shoulder` and `tip`",
            hint="shoulder: to where the full diameter ends; tip: to the drill's point",
        )
    return text


def metal_of(density: str | None, material_name: str | None) -> Metal:
    """Return the counterweight's metal from ``--density`` or ``--material``."""
    from planner.steps.one_cut import metal_of as found

    not_both(
        density, material_name, ("--density", "--material"), "a measured density is better than a table's"
    )
    return found(METRIC.given(density, "density", name="--density", above=0.0), material_name)


def not_both(first: str | None, second: str | None, names: tuple[str, str], hint: str) -> None:
    """Refuse two options that say the same thing."""
    if first is not None and second is not None:
        raise InputError(f"both {names[0]} and {names[1]} are given, allowed is one of them", hint=hint)


def wanted_gmm(text: str | None) -> float | None:
    """Return the wanted unbalance [g*mm], or None when it was left out."""
    return METRIC.given(text, "unbalance", name="--unbalance", above=0.0)


def point_angle_of(text: str) -> float:
    """Return a drill's point angle [deg]."""
    return float(checked_point_angle(parse_angle_deg(text, name="--point-angle")))
