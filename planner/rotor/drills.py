"""Drills by number and letter, and the drill of a tap: ``#7``, ``letter F``, ``tap 3/8-16``.

A tap in a list of drills stands for its tap drill: that is the drill which goes into the counterweight, and what the
plan reckons with.  The thread cut afterwards takes more (about 18 % of the hole for 3/8-16, by the 60 degree profile),
and a plug screwed in puts metal back: both are left to the operator, and the answer says so.

References
----------
.. [1] Number and letter sizes: ASME B94.11M, Twist Drills.  From memory, to be checked against the bought standard;
   all 106 agree with the size table of an open library of machine parts (PyPI bd-warehouse 0.4.0,
   ``data/drill_sizes.csv``, which rounds to a thousandth of an inch).
.. [2] Tap drills, inch: the usual table for a thread of about 75 %, ``D - 0.974/N``; agree with the column "soft" of
   the same library's ``data/tap_hole_sizes.csv``.
.. [3] Tap drills, metric: ``D - P``, rounded as in ISO 2306 (from memory); within 0.1 mm of the same column.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from planner.errors import InputError
from planner.quantity import MM_PER_IN, QuantityError, UnitSystem, nearest_64th

# ten-thousandths of an inch, numbers 1 to 80
_NUMBERS = (
    *(2280, 2210, 2130, 2090, 2055, 2040, 2010, 1990, 1960, 1935),  # 1 to 10
    *(1910, 1890, 1850, 1820, 1800, 1770, 1730, 1695, 1660, 1610),  # 11 to 20
    *(1590, 1570, 1540, 1520, 1495, 1470, 1440, 1405, 1360, 1285),  # 21 to 30
    *(1200, 1160, 1130, 1110, 1100, 1065, 1040, 1015, 995, 980),  # 31 to 40
    *(960, 935, 890, 860, 820, 810, 785, 760, 730, 700),  # 41 to 50
    *(670, 635, 595, 550, 520, 465, 430, 420, 410, 400),  # 51 to 60
    *(390, 380, 370, 360, 350, 330, 320, 310, 292, 280),  # 61 to 70
    *(260, 250, 240, 225, 210, 200, 180, 160, 145, 135),  # 71 to 80
)
# thousandths of an inch, A to Z
_LETTERS = (
    *(234, 238, 242, 246, 250, 257, 261, 266, 272, 277, 281, 290, 295),  # A to M
    *(302, 316, 323, 332, 339, 348, 358, 368, 377, 386, 397, 404, 413),  # N to Z
)

NUMBER_DRILLS_IN: dict[int, float] = {place: size / 10_000 for place, size in enumerate(_NUMBERS, start=1)}
"""Number of the drill -> diameter [in]."""
LETTER_DRILLS_IN: dict[str, float] = {
    chr(ord("A") + place): size / 1_000 for place, size in enumerate(_LETTERS)
}
"""Letter of the drill -> diameter [in]."""

INCH_TAPS: dict[str, str] = {
    "1/4-20": "#7",
    "1/4-28": "#3",
    "5/16-18": "F",
    "5/16-24": "I",
    "3/8-16": "5/16",
    "3/8-24": "Q",
    "7/16-14": "U",
    "7/16-20": "25/64",
    "1/2-13": "27/64",
    "1/2-20": "29/64",
    "9/16-12": "31/64",
    "9/16-18": "33/64",
    "5/8-11": "17/32",
    "5/8-18": "37/64",
    "3/4-10": "21/32",
    "3/4-16": "11/16",
    "7/8-9": "49/64",
    "7/8-14": "13/16",
    "1-8": "7/8",
}
"""Thread (diameter [in] - threads an inch) -> its tap drill."""

METRIC_TAPS_MM: dict[str, float] = {
    "M5x0.8": 4.2,
    "M6x1": 5.0,
    "M8x1.25": 6.8,
    "M8x1": 7.0,
    "M10x1.5": 8.5,
    "M10x1.25": 8.8,
    "M10x1": 9.0,
    "M12x1.75": 10.2,
    "M12x1.5": 10.5,
    "M12x1.25": 10.8,
    "M14x2": 12.0,
    "M14x1.5": 12.5,
    "M16x2": 14.0,
    "M16x1.5": 14.5,
    "M18x2.5": 15.5,
    "M18x1.5": 16.5,
    "M20x2.5": 17.5,
    "M20x1.5": 18.5,
    "M22x2.5": 19.5,
    "M24x3": 21.0,
}
"""Thread -> its tap drill [mm]; the first of a diameter is the coarse one, ``M10`` alone means it."""

_NUMBER = re.compile(r"(?:#|no\.?|nr\.?|number)\s*(\d{1,3})(?:\s*drill)?", re.IGNORECASE)
_LETTER = re.compile(r"(?:letter\s*)?([A-Za-z])(?:\s*drill)?", re.IGNORECASE)
_TAP = re.compile(r"tap\s+(?P<after>\S.*)|(?P<before>.*\S)\s+tap", re.IGNORECASE)
_INCH_THREAD = re.compile(r"(?P<size>\d+(?:/\d+)?)\s*\"?\s*-\s*(?P<pitch>\d+)", re.IGNORECASE)
_METRIC_THREAD = re.compile(r"M\s*(?P<size>\d+)(?:\s*[x*]\s*(?P<pitch>\d+(?:\.\d+)?))?", re.IGNORECASE)


def named_drill_mm(text: str) -> float | None:
    """Return the diameter [mm] of a drill by number or letter, or of a tap's drill; None for any other text.

    Parameters
    ----------
    text : str
        ``#7``, ``No. 7``, ``letter F``, ``F``, ``tap 3/8-16``, ``tap M10``.

    Raises
    ------
    QuantityError
        If it names a number, or a thread, that is not in the tables.
    """
    plain = " ".join(text.split())
    if match := _NUMBER.fullmatch(plain):
        size_in = NUMBER_DRILLS_IN.get(int(match[1]))
        if size_in is None:
            raise QuantityError(given=f"`{plain}`", allowed="drills by number go from #1 (0.228 in) to #80")
        return _mm(size_in)
    if match := _LETTER.fullmatch(plain):
        return _mm(LETTER_DRILLS_IN[match[1].upper()])
    if match := _TAP.fullmatch(plain):
        return _tap_drill_mm(match["after"] or match["before"])
    if _METRIC_THREAD.fullmatch(plain) or _INCH_THREAD.fullmatch(plain):
        raise QuantityError(
            given=f"`{plain}`",
            allowed="this is a thread",
            hint=f"`tap {plain}` means the drill for that thread",
        )
    return None


def parse_drill_mm(value: str | int | float, units: UnitSystem, *, name: str | None = None) -> float:
    """Return a drill's diameter [mm]: a length in the units given, or a drill by name (see `named_drill_mm`).

    Raises
    ------
    QuantityError
        If it can't be read or is not above 0.
    """
    if isinstance(value, str):
        try:
            found = named_drill_mm(value)
        except QuantityError as error:
            raise QuantityError(
                given=error.given, allowed=error.allowed, name=name, hint=error.hint
            ) from None
        if found is not None:
            return found
    return units.parse(value, "length", above=0.0, name=name)


def is_named_drill(text: str) -> bool:
    """Return whether a text names a drill by number, letter or tap."""
    try:
        return named_drill_mm(text) is not None
    except InputError:
        return False


def number_or_letter(diameter_mm: float) -> str | None:
    """Return ``#7`` or ``letter F`` for exactly that size, None where a 64th of an inch or a tenth of a mm is it too."""
    for whole in (diameter_mm / MM_PER_IN * 64.0, diameter_mm * 10.0):
        if abs(whole - round(whole)) < 1e-6:
            return None
    for number, size_in in NUMBER_DRILLS_IN.items():
        if abs(_mm(size_in) - diameter_mm) < 1e-6:
            return f"#{number}"
    for letter, size_in in LETTER_DRILLS_IN.items():
        if abs(_mm(size_in) - diameter_mm) < 1e-6:
            return f"letter {letter}"
    return None


def drill_size(diameter_mm: float, units: UnitSystem, names: Mapping[float, str] | None = None) -> str:
    """Return how a drill of a diameter [mm] is called: as the shop calls it, by number, inches as a fraction, or in mm.

    ``names`` has what the shop calls its drills, by diameter [mm, 6 decimals].
    """
    name = (names or {}).get(round(diameter_mm, 6)) or number_or_letter(diameter_mm)
    if name is not None:
        return name
    sixty_fourths = diameter_mm / MM_PER_IN * 64.0
    is_fraction = abs(sixty_fourths - round(sixty_fourths)) < 1e-6
    if is_fraction and (units.in_inches or diameter_mm % 0.5 > 1e-9):
        return f"{nearest_64th(diameter_mm)} in"
    if units.in_inches and abs(diameter_mm * 10.0 - round(diameter_mm * 10.0)) > 1e-6:
        return f"{diameter_mm / MM_PER_IN:.3f} in"
    return f"{diameter_mm:g} mm"


def _mm(size_in: float) -> float:
    # as a fraction: 0.201 in is 5.1054 mm to the last bit
    return float(Fraction(str(size_in)) * Fraction(254, 10))


def _tap_drill_mm(thread: str) -> float:
    words = re.sub(r"\s*(?:unc|unf)\s*$", "", thread.strip(), flags=re.IGNORECASE)
    if match := _INCH_THREAD.fullmatch(words):
        name = f"{match['size']}-{match['pitch']}"
        if name in INCH_TAPS:
            drill = INCH_TAPS[name]
            named = named_drill_mm(drill)
            return named if named is not None else float(Fraction(drill) * Fraction(254, 10))
    elif match := _METRIC_THREAD.fullmatch(words):
        pitch = match["pitch"] and f"{float(match['pitch']):g}"
        for each, size_mm in METRIC_TAPS_MM.items():
            head, _, its_pitch = each.partition("x")
            if head == f"M{match['size']}" and pitch in (None, its_pitch):
                return size_mm
    raise QuantityError(
        given=f"`tap {thread.strip()}`",
        allowed="the drill for this thread is not in the table",
        hint="give the size of the tap drill itself; known are "
        f"{', '.join(INCH_TAPS)}, {', '.join(METRIC_TAPS_MM)}",
    )
