"""What the three ``bobplan cut`` commands read and print alike."""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from planner.cli.console import say, say_json
from planner.errors import InputError
from planner.quantity import (
    QuantityError,
    UnitSystem,
    format_density,
    format_length,
    format_unbalance,
    nearest_64th,
    nearest_64th_mm,
    parse_density_g_per_cm3,
    parse_length_mm,
    parse_unbalance_gmm,
    unit_name,
)
from planner.rotor.drills import parse_drill_mm
from planner.rotor.materials import Material, material

ASSUMED_METAL = "forged steel"
CUTTING_CAUTION = (
    "clamp the crankshaft, guard closed, eye protection; stay clear of oil drillings and fillets; the machine's "
    "manual, the engine maker's limits and a qualified machinist's judgement stand above these numbers"
)


@dataclass(frozen=True, kw_only=True)
class Metal:
    """The counterweight's metal: density [g/cm3], how it was named, and its figures when it has some."""

    density_g_per_cm3: float
    words: str
    material: Material | None = None


@dataclass(kw_only=True)
class CutAnswer:
    """What one command found: a title, aligned rows, plain data, and the sums behind it."""

    title: str
    in_inches: bool
    rows: list[tuple[str, str]] = field(default_factory=list)
    data: dict[str, Any] = field(default_factory=dict)
    work: Sequence[str] = ()
    notes: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    cautions: list[str] = field(default_factory=lambda: [CUTTING_CAUTION])

    def length(self, length_mm: float) -> str:
        """Return a length [mm] as text, with inches and the nearest 64th when the input was in inches."""
        plain = f"{length_mm:.2f} mm"
        if not self.in_inches:
            return plain
        return (
            f"{format_length(length_mm, 'in'):>10}   nearest 64th: {nearest_64th(length_mm)} in   ({plain})"
        )

    def show(self, *, show_work: bool, as_json: bool) -> None:
        """Print it."""
        if as_json:
            extra: dict[str, Any] = {
                "notes": self.notes,
                "warnings": self.warnings,
                "cautions": self.cautions,
            }
            if show_work:
                extra["work"] = list(self.work)
            say_json({**self.data, **extra})
            return
        say(f"{self.title}\n")
        width = max(len(label) for label, _ in self.rows)
        for label, text in self.rows:
            say(f"  {label:<{width}}   {text}")
        if show_work:
            say("\nthe sums, to follow with a calculator (mm, g, degrees)")
            for line in self.work:
                say(f"  {line}")
        say()
        for kind, texts in (("note", self.notes), ("warning", self.warnings), ("caution", self.cautions)):
            for text in texts:
                say(textwrap.fill(f"{kind}: {text}", width=100, subsequent_indent="  "))


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
    return None if text is None else parse_length_mm(text, name=name, above=0.0)


def plain_number(text: str, *, name: str, above: float | None = None) -> float:
    """Return a number without unit."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value) or (above is not None and value <= above):
        limit = "" if above is None else f" above {above:g}"
        raise InputError(f"{name}: given `{text}`; allowed is a number{limit}", hint=f"check {name}")
    return value


def one_of_two(first: str | None, second: str | None, *, names: tuple[str, str]) -> None:
    """Refuse both or neither of two options of which one is asked and the other is the answer."""
    if first is not None and second is not None:
        raise InputError(
            f"both {names[0]} and {names[1]} are given, allowed is one of them",
            hint=f"give {names[0]} to learn the unbalance, or {names[1]} to learn what it takes",
        )
    if first is None and second is None:
        raise InputError(
            f"neither {names[0]} nor {names[1]} is given, one of them is needed",
            hint=f"give {names[0]} to learn the unbalance, or {names[1]} to learn what it takes",
        )


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
    if density is not None and material_name is not None:
        raise InputError(
            "both --density and --material are given, allowed is one of them",
            hint="a measured density is better than a table's",
        )
    if density is not None:
        value = parse_density_g_per_cm3(density, name="--density", above=0.0)
        return Metal(density_g_per_cm3=value, words=format_density(value, "g/cm3"))
    found = material(material_name if material_name is not None else ASSUMED_METAL)
    words = f"{found.name}, {format_density(found.density_g_per_cm3, 'g/cm3')}"
    return Metal(
        density_g_per_cm3=found.density_g_per_cm3,
        words=words if material_name is not None else f"{words} (assumed)",
        material=found,
    )


def wanted_gmm(text: str | None) -> float:
    """Return the wanted unbalance [g*mm]."""
    return parse_unbalance_gmm(text or "", name="--unbalance", above=0.0)


def unbalance_words(unbalance_gmm: float) -> str:
    """Return an unbalance [g*mm] in both units of the trade."""
    metric = format_unbalance(unbalance_gmm, "g*mm", digits=1)
    return f"{metric} ({format_unbalance(unbalance_gmm, 'oz*in', digits=3)})"


def size_words(length_mm: float, *, in_inches: bool) -> str:
    """Return a size [mm] for a title, in the unit that was typed: a 64th where it is one, else decimals."""
    if not in_inches:
        return f"{round(length_mm, 2):g} mm"
    if abs(nearest_64th_mm(length_mm) - length_mm) < 1e-6:
        return f"{nearest_64th(length_mm)} in"
    return format_length(length_mm, "in")


def density_warning(density_g_per_cm3: float) -> list[str]:
    """Return a question when a density is no metal's [g/cm3]."""
    if 1.5 <= density_g_per_cm3 <= 20.0:
        return []
    return [f"{density_g_per_cm3:g} g/cm3 is no crankshaft metal: is the unit right?"]
