"""Taking a typed quantity apart: number, unit, and what to say when there is no such unit.  For `planner.quantity`."""

from __future__ import annotations

import difflib
import math
import re
from fractions import Fraction

from planner.errors import InputError
from planner.quantity_units import FACTORS, KINDS, NEED_SEPARATOR, SAMPLES, SPELLINGS, WORDS, Kind

_UNSIGNED = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_NUMBER = re.compile(
    r"(?P<sign>[+-]?)\s*(?:"
    r"(?:(?P<whole>[0-9]+)(?:\s+|\s*-\s*))?(?P<top>[0-9]+)\s*/\s*(?P<bottom>[0-9]+)"
    rf"|(?P<decimal>{_UNSIGNED})"
    r")(?![0-9./])"
)
_VULGAR = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_LOOKALIKES = str.maketrans(
    {
        "−": "-",
        "–": "-",
        "⁄": "/",
        "″": '"',
        "“": '"',
        "”": '"',
        "\N{NO-BREAK SPACE}": " ",
        "²": "2",
        "³": "3",
    }
)


class QuantityError(InputError):
    """A number with a unit that can't be read or lies outside its limits.

    Attributes
    ----------
    given, allowed : str
        The two halves of the message, for callers that collect faults.
    """

    def __init__(self, *, given: str, allowed: str, name: str | None = None, hint: str | None = None) -> None:
        given = given if len(given) <= 80 else f"{given[:76]}...`"
        self.given = given
        self.allowed = allowed
        super().__init__(f"{name + ': ' if name else ''}given {given}; {allowed}", hint=hint)


def find_unit(text: str, kind: Kind) -> str | None:
    """Return the canonical unit, or None."""
    return SPELLINGS[kind].get(_normalised(text, kind))


def _normalised(text: str, kind: Kind) -> str:
    """Return a unit text with one spelling of case, separators and powers."""
    plain = text.translate(_LOOKALIKES).casefold().strip()
    if kind == "density":
        plain = plain.replace("**", "").replace("^", "").replace("cubic", "cu").replace("cu.", "cu")
        return re.sub(r"\s+", "", plain).replace("inch", "in")
    if kind == "unbalance":
        plain = plain.removesuffix(".")
        # one separator, with or without spaces; `.` may also end an abbreviation ("oz. in")
        return re.sub(r"\s*[*·⋅•×.\-]\s*|\s+", "*", plain)
    if kind == "speed":
        return re.sub(r"\s+", "", plain).replace("^", "")
    return plain.removesuffix(".")


def exact(decimal: str) -> Fraction | None:
    """Return a decimal number as typed, or None if it is not finite."""
    if not math.isfinite(float(decimal)):
        return None
    # more digits than a float can hold say nothing, and very many of them would be slow
    return Fraction(decimal) if len(decimal) <= 40 else Fraction(float(decimal))


def in_range(number: Fraction | int) -> Fraction | None:
    """Return a number that a float can hold, or None."""
    try:
        float(number)
    except OverflowError:
        return None
    return Fraction(number)


def split_number(text: str, kind: Kind, name: str | None) -> tuple[Fraction | None, str]:
    """Return the number and the unit text of ``1-1/2 in``."""
    plain = text.translate(_LOOKALIKES).strip()
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, f" {fraction}").strip()
    given = f"`{text.strip()}`" if text.strip() else "an empty text"
    if "," in plain:
        raise QuantityError(
            given=given,
            allowed="commas are not read",
            name=name,
            hint=f"write a decimal point and no separator of thousands: `{plain.replace(',', '.')}`"
            if plain.count(",") == 1 and "." not in plain
            else "write a decimal point and no separator of thousands",
        )
    if re.match(r"[+-]?\s*(nan|inf)", plain, re.IGNORECASE):
        raise QuantityError(given=given, allowed=f"{WORDS[kind]} must be a finite number", name=name)
    match = _NUMBER.match(plain)
    if match is None:
        raise QuantityError(given=given, allowed=wanted(kind), name=name)
    number: Fraction | None
    if match["decimal"] is not None:
        number = exact(match["decimal"])
    else:
        whole, top, bottom = (exact(match[part] or "0") for part in ("whole", "top", "bottom"))
        if bottom == 0:
            raise QuantityError(given=given, allowed="a fraction can't have 0 below its line", name=name)
        number = whole + top / bottom if whole is not None and top is not None and bottom else None
    rest = plain[match.end() :].strip()
    if rest[:1].isdigit() and kind != "speed":  # "1/min" is a speed's unit, "1 2 mm" is nothing
        raise QuantityError(given=given, allowed=wanted(kind), name=name)
    # "1/2-in" and "5-mm" are shop spellings
    unit_text = rest[1:].strip() if len(rest) > 1 and rest[0] == "-" and rest[1].isalpha() else rest
    return (-number if number is not None and match["sign"] == "-" else number), unit_text


def wanted(kind: Kind) -> str:
    """Return what a number of that kind looks like."""
    return f"{WORDS[kind]} is a number or a text such as {SAMPLES[kind]}"


def allowed_units(kind: Kind) -> str:
    """Return which units that kind may have."""
    *others, last = FACTORS[kind]
    return f"{WORDS[kind]} is in {', '.join(others)} or {last}"


def unit_hint(text: str, kind: Kind) -> str | None:
    """Return a "did you mean", or what the unit is a unit of."""
    for other in KINDS:
        found = find_unit(text, other) if other != kind else None
        if found is not None:
            twin = {"oz": "oz*in", "g": "g*mm", "kg": "kg*mm", "lb": "lb*in"}.get(found)
            also = f"; did you mean `{twin}`?" if kind == "unbalance" and twin else ""
            return f"`{found}` is a unit of {WORDS[other]}{also}"
    plain = _normalised(text, kind)
    if kind == "unbalance" and plain in NEED_SEPARATOR:
        return f"write `{NEED_SEPARATOR[plain]}` if mass x radius is meant"
    if kind == "length" and plain in ("'", "ft", "foot", "feet"):
        return "feet are not read: write inches"
    close = difflib.get_close_matches(plain, SPELLINGS[kind], n=1, cutoff=0.5)
    return f"did you mean `{SPELLINGS[kind][close[0]]}`?" if close else None
