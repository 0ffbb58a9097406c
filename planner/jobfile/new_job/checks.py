"""One thing that `bobplan start` asks, and how an answer is checked before it is kept."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from typing import Literal

from planner.engine.layouts import LAYOUTS, layout
from planner.errors import InputError
from planner.quantity import UnitSystem, number_or_nan
from planner.records import dataclass
from planner.rotor.drills import is_named_drill, parse_drill_mm
from planner.rotor.grades import parse_grade_mm_per_s
from planner.rotor.materials import material

File = Literal["shop", "crankshaft", "job"]
Answers = Mapping[str, str | None]
Kind = Literal[
    "text",
    "choice",
    "layout",
    "material",
    "place",
    "length",
    "lengths",
    "rotor mass",
    "masses",
    "mass",
    "speed",
    "angle",
    "half angle",
    "zero",
    "fraction",
    "tolerance",
    "count",
    "date",
    "mounted",
]

METRIC_UNITS = UnitSystem()
_GREATEST_DRILL_MM = 101.6
INCH_UNITS = UnitSystem(length="in", mass="g", unbalance="oz*in")


@dataclass(frozen=True, kw_only=True)
class Question:
    """One thing that is asked.

    Attributes
    ----------
    key : str
        Name of the answer.
    file : {"shop", "crankshaft", "job"}
        The file that it goes into.
    path : str
        Where it stands there, ``throws[].radius``; a fault of that path means that it is missing.
    text : str
        The question.
    kind : str
        How the answer is checked.
    choices : tuple of str
        For ``choice``.
    default : str or None
        What Enter means when nothing was answered before; None: not known yet.
    how : str
        How it is found out: with a tape, a scale, a look at the machine.
    inches : str
        The question in a job of inches, where its examples have lengths; empty: the same.
    option, takes, flag : str
        The help of the command's option, what it says to take, its name where that is not the key.
    comment, name, blank : str
        What stands behind the line in the file, its key there where that is another, the line while it is open.
    when : str
        Only then it is asked; empty: always.
    bound : str
        Its size in `planner.jobfile.plausible`.
    optional, once : bool
        Nothing waits for it; its answer belongs to one job and is never offered again.
    said : mapping
        Choice to what people say for it.
    """

    key: str
    file: File
    path: str
    text: str
    kind: Kind
    choices: tuple[str, ...] = ()
    default: str | None = None
    how: str = ""
    inches: str = ""
    option: str = ""
    takes: str = ""
    flag: str = ""
    comment: str = ""
    name: str = ""
    blank: str = ""
    when: str = ""
    bound: str = ""
    optional: bool = False
    once: bool = False
    said: Mapping[str, Sequence[str]] = field(default_factory=dict)


def units_of(answers: Answers) -> UnitSystem:
    """Return the units of the files' bare numbers."""
    return INCH_UNITS if answers.get("units") == "in" else METRIC_UNITS


def checked(question: Question, text: str, answers: Answers) -> str:
    """Return an answer in the form in which it is kept.

    Raises
    ------
    InputError
        If it can't be.
    """
    text = text.strip()
    if any(
        ord(letter) < 32 or 0x7F <= ord(letter) < 0xA0 or 0xD800 <= ord(letter) < 0xE000 for letter in text
    ):
        raise InputError(f"{question.text}: given signs that are no text", hint="type it again")
    if len(text) > 500:
        raise InputError(f"{question.text}: given {len(text)} signs, no more than 500 are allowed")
    return _CHECKS[question.kind](question, text, answers)


def _text(_question: Question, text: str, _answers: Answers) -> str:
    return text


def _plain(text: str) -> str:
    words = text.casefold().replace("-", " ").replace(".", " ").split()
    return " ".join(word for word in words if word not in ("the", "a", "an"))


def _choice(question: Question, text: str, _answers: Answers) -> str:
    plain = _plain(text)
    for choice, words in question.said.items():
        if plain in words:
            return choice
    wanted = text.casefold()
    found = [each for each in question.choices if each == wanted] or [
        each for each in question.choices if wanted and each.startswith(wanted)
    ]
    if len(found) != 1:
        raise InputError(f"{question.text}: given `{text}`", hint=f"allowed: {', '.join(question.choices)}")
    return found[0]


def _layout(_question: Question, text: str, _answers: Answers) -> str:
    if re.fullmatch(r"\d{1,3}", text):
        if not 1 <= int(text) <= len(LAYOUTS):
            raise InputError(
                f"layout: given number {text}, there are {len(LAYOUTS)}", hint="`bobplan engine --list`"
            )
        return LAYOUTS[int(text) - 1].name
    return layout(_layout_words(text)).name


def _layout_words(text: str) -> str:
    """Return a layout as people say it in the catalogue's words; a plain V8 is the cross-plane one, by far the usual."""
    plain = _plain(text).replace("cylinders", "").replace("cylinder", "").strip()
    counts = {
        "three": "3",
        "four": "4",
        "five": "5",
        "six": "6",
        "eight": "8",
        "two": "2",
        "ten": "10",
        "twelve": "12",
    }
    plain = " ".join(counts.get(word, word) for word in plain.split())
    if match := re.fullmatch(r"(?:straight|inline|in line|i|l|r)\s*(\d{1,2})", plain):
        return f"in-line {match[1]}"
    if match := re.fullmatch(r"(?:boxer|flat|opposed|b|h)\s*(\d{1,2})", plain):
        return f"flat {match[1]}"
    if match := re.fullmatch(r"v\s*8(.*)", plain):
        rest = match[1].replace("90", "").replace("degrees", "").replace("degree", "").strip()
        if rest in ("", "cross plane", "crossplane", "cross"):
            return "V8, 90 degree banks, cross-plane"
        if rest in ("flat plane", "flatplane", "flat"):
            return "V8, 90 degree banks, flat-plane"
    if match := re.fullmatch(r"v\s*(\d{1,2})", plain):
        alike = [each.name for each in LAYOUTS if each.name.startswith(f"V{match[1]},")]
        return alike[0] if len(alike) == 1 else f"V{match[1]}"
    return text


def _material(_question: Question, text: str, _answers: Answers) -> str:
    # a thin parting line says "cast", and cast crankshafts of engines are nearly all nodular iron (common practice)
    said = {
        "cast": "nodular iron",
        "cast iron": "nodular iron",
        "forging": "forged steel",
        "billet": "forged steel",
    }
    return material(said.get(_plain(text), text)).name


def _quantity(question: Question, text: str, answers: Answers) -> str:
    units = units_of(answers)
    name = question.text
    if question.kind == "place":
        units.parse(text, "length", name=name)
    elif question.kind == "length":
        units.parse(text, "length", name=name, above=0.0)
    elif question.kind == "mass":
        units.parse(text, "mass", name=name, least=0.0)
    elif question.kind == "speed":
        units.parse(text, "speed", name=name, above=0.0)
    else:
        units.parse(text, "angle", name=name, least=-360.0, most=360.0)
    return text


def _rotor_mass(question: Question, text: str, answers: Answers) -> str:
    """A bare number is kilograms (pounds in inches): nobody weighs a crankshaft in grams."""
    bare = re.fullmatch(r"[0-9]*\.?[0-9]+", text)
    full = f"{text} {'lb' if units_of(answers).in_inches else 'kg'}" if bare else text
    units_of(answers).parse(full, "mass", name=question.text, least=100.0)
    return full


def _several(question: Question, text: str, answers: Answers) -> str:
    """Return sizes or weights with commas between; a unit may follow its number after a space, ``1/2 in 5/8 in``."""
    units = units_of(answers)
    mass = question.kind == "masses"
    if mass and _plain(text) in ("none", "no", "nothing"):
        return "0"
    parts = [each.strip() for each in re.split(r"[,;]", text) if each.strip()]
    if (
        not mass
        and len(parts) == 1
        and re.search(r"#|no\.?\s*\d|letter|tap|\b[A-Za-z]\b", text, re.IGNORECASE)
    ):
        parts = _drills(text)
    if len(parts) == 1 and not is_named_drill(parts[0]):
        # a fraction's own digits before a blank are no whole inches: "1/2 9/16" is two sizes
        mixed = re.search(r"(?<![\d/.])\d+\s+\d+/\d+", text)
        if mixed is not None and text.strip(' "in').strip() != mixed[0]:
            raise InputError(
                f"{question.text}: given `{text}`, is `{mixed[0]}` one size or two?",
                hint="put commas between: `14, 1/2 in`",
            )
        parts = [
            each.strip() for each in re.findall(r"(?:\d+\s+\d+/\d+|[-+]?\d[\d./]*)(?:\s*[A-Za-z\"]+)?", text)
        ]
        if "".join(parts).replace(" ", "") != text.replace(" ", ""):
            parts = [text]
    if not parts:
        raise InputError(f"{question.text}: given nothing", hint="for example `10 12 14`")
    for each in parts:
        if mass:
            units.parse(each, "mass", name=question.text, least=0.0)
        else:
            # nobody drills a counterweight with 10 inches: a bare 10 was meant in millimetres
            if parse_drill_mm(each, units, name=question.text) > _GREATEST_DRILL_MM:
                units.parse(each, "length", name=question.text, above=0.0, most=_GREATEST_DRILL_MM)
    return ", ".join(parts)


_DRILL = re.compile(
    r"(?:tap\s+\S+|(?:#|no\.?|number)\s*\d+|letter\s+[A-Za-z]|\d+\s*-\s*\d+/\d+|\d[\d./]*\s*(?:mm|in|inch|\")?|[A-Za-z])(?=\s|$)",
    re.IGNORECASE,
)


def _drills(text: str) -> list[str]:
    """Return drills with blanks between, some of them by name; the text itself when something is left over."""
    found = [each.strip() for each in _DRILL.findall(text)]
    return found if "".join(found).replace(" ", "") == text.replace(" ", "") else [text]


def _half_angle(question: Question, text: str, answers: Answers) -> str:
    units = units_of(answers)
    if not text.casefold().startswith("chord"):
        units.parse(text, "angle", name=question.text, above=0.0, most=180.0)
        return text
    chord = units.parse(text[5:].strip(), "length", name="chord", above=0.0)
    radius = answers.get("outer_radius")
    if radius is None:
        raise InputError(
            "a chord needs the outer radius too", hint="measure that first, or give the half angle"
        )
    half = chord / (2.0 * units.parse(radius, "length"))
    if half > 1.0:
        raise InputError(
            f"chord: given `{text[5:].strip()}`, it can't be longer than twice the outer radius, {radius}",
            hint="straight across the two rim corners, not along the rim",
        )
    return f"{math.degrees(math.asin(half)):.1f}"


def _zero(question: Question, text: str, _answers: Answers) -> str:
    if match := re.fullmatch(
        r"(?:throw|pin|crankpin|rod journal)\s*(?:no\.?|number|#)?\s*(\S+)", text, re.IGNORECASE
    ):
        return f"throw {match[1]}"
    if text.casefold().startswith("throw ") and text[6:].strip():
        return f"throw {text[6:].strip()}"
    if not abs(number_or_nan(text)) <= 360.0:
        raise InputError(f"{question.text}: given `{text}`", hint="for example `throw 1`, or 0")
    return text


def _fraction(question: Question, text: str, _answers: Answers) -> str:
    percent = re.fullmatch(r"(\d+(?:\.\d+)?)\s*(?:%|percent)", text)
    if percent is not None and float(percent[1]) <= 100.0:
        return f"{float(percent[1]) / 100.0:g}"
    value = number_or_nan({"half": "0.5", "1/2": "0.5"}.get(text.casefold(), text))
    if not 0.0 <= value <= 1.0:
        given = text if math.isnan(value) else f"{value:g}"
        raise InputError(f"{question.text}: given `{given}`, allowed 0 to 1", hint="50 percent is 0.5")
    return f"{value:g}"


def _tolerance(question: Question, text: str, answers: Answers) -> str:
    if text[:1] in "gG" and not text[:2].casefold().startswith(("g*", "g-", "g.")):
        return f"G {parse_grade_mm_per_s(text):g}"
    from planner.jobfile.schema.tolerance_build import limit_gmm

    try:
        limit_gmm(text, units=units_of(answers))
    except InputError as error:
        raise InputError(f"{question.text}: {error.message}", hint=error.hint) from None
    return text


def _count(question: Question, text: str, _answers: Answers) -> str:
    if not re.fullmatch(r"\d{1,3}", text) or not 0 <= int(text) <= 40:
        raise InputError(f"{question.text}: given `{text}`, a whole number from 0 to 40 is allowed")
    return str(int(text))


def _date(question: Question, text: str, _answers: Answers) -> str:
    try:
        return datetime.date.fromisoformat(text).isoformat()
    except ValueError:
        raise InputError(f"{question.text}: given `{text}`", hint="year, month, day: 2026-01-31") from None


_MOUNTED = re.compile(
    r"(?P<amount>.+?)\s+at\s+(?P<angle>[-+]?[\d.]+)\s*(?:deg|degrees|°)?\s*,?\s*z\s*=?\s*(?P<z>.+)", re.I
)


def mounted_part(text: str, units: UnitSystem) -> tuple[str, str, str] | None:
    """Return amount, angle and z, each as typed, of a part that carries unbalance; None for one that is neutral.

    Raises
    ------
    InputError
        If it can't be read.
    """
    if text == NEUTRAL:
        return None
    match = _MOUNTED.fullmatch(text)
    if match is None:
        raise InputError(
            f"given `{text}`", hint="`neutral`, or amount, angle and z: `20 oz*in at 180, z 545`"
        )
    units.parse(match["amount"], "unbalance", name="its unbalance", least=0.0)
    units.parse(match["angle"], "angle", name="its angle", least=-360.0, most=360.0)
    units.parse(match["z"], "length", name="its z")
    return match["amount"].strip(), match["angle"], match["z"].strip()


NEUTRAL = "neutral"


def _mounted(question: Question, text: str, answers: Answers) -> str:
    if _plain(text) in ("neutral", "none", "no", "0", "zero", "balanced", "neutral balanced", "internal"):
        return NEUTRAL
    try:
        mounted_part(text, units_of(answers))
    except InputError as error:
        raise InputError(f"{question.text}: {error.message}", hint=error.hint) from None
    return text


_CHECKS: Mapping[Kind, Callable[[Question, str, Answers], str]] = {
    "text": _text,
    "choice": _choice,
    "layout": _layout,
    "material": _material,
    "place": _quantity,
    "length": _quantity,
    "lengths": _several,
    "rotor mass": _rotor_mass,
    "masses": _several,
    "mass": _quantity,
    "speed": _quantity,
    "angle": _quantity,
    "half angle": _half_angle,
    "zero": _zero,
    "fraction": _fraction,
    "tolerance": _tolerance,
    "count": _count,
    "date": _date,
    "mounted": _mounted,
}
