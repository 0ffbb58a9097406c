"""Numbers as people type them at the machine: ``5,85`` is read as ``5.85``; everything else as the commands read it."""

from __future__ import annotations

import re
from typing import Literal

from planner.errors import InputError
from planner.jobfile.job import Job

_COMMA = re.compile(r"^(\s*[+-]?\s*)([0-9]{1,3}(?:\.[0-9]{3})+|[0-9]*),([0-9]+)(\s*[^0-9,.]*)$")


def with_point(text: str, *, name: str, thousands: Literal["likely", "absurd"] = "absurd") -> str:
    """Return a number's text with a decimal point in the place of a decimal comma.

    Parameters
    ----------
    text : str
        As typed: ``5,85``, ``1.234,5``, ``13 1/2``, ``5.85 oz-in``.
    name : str
        What the number is, for the message.
    thousands : {"likely", "absurd"}
        Whether a comma with three digits behind may well part thousands (an amount of 1,234 g*mm, a bob of 1,729 g).

    Raises
    ------
    InputError
        If the comma can be read in two ways a thousandfold apart.
    """
    match = _COMMA.match(text)
    if match is None:
        return text
    before, whole, decimals, unit = match.groups()
    grouped = "." in whole
    if thousands == "likely" and len(decimals) > 3:
        raise InputError(
            f"{name}: `{text.strip()}` can be one number or two",
            hint=f"type one number, `{whole}.{decimals[:2]}`",
        )
    if thousands == "likely" and len(decimals) == 3 and not grouped and whole.strip("0"):
        raise InputError(
            f"{name}: `{text.strip()}` can be {whole}{decimals} or {whole}.{decimals}",
            hint=f"type `{whole}{decimals}` or `{whole}.{decimals}`",
        )
    return f"{before}{whole.replace('.', '') or '0'}.{decimals}{unit}"


def mass_g(job: Job, text: str, name: str, **limits: float) -> float:
    """Return a mass [g] as it was typed, bare numbers in the job's unit; ``limits`` as of `planner.quantity.parse_quantity`.

    Raises
    ------
    InputError
        If it can't be read.
    """
    pointed = with_point(text, name=name, thousands="likely" if job.units.mass == "g" else "absurd")
    return job.units.parse(pointed, "mass", name=name, **limits)


_IN_TEXT = re.compile(r"(?<![\d.,])(\d+),(\d+)(?![\d.,])")
_ONE = re.compile(r"\d+,(\d+)([^\d.,]*)")


def with_points(text: str, *, name: str) -> str:
    """Return a text with a decimal point in the place of each decimal comma: ``20,5 oz*in at 180, z 54,5``.

    Raises
    ------
    InputError
        If a comma may as well part thousands.
    """

    def point(match: re.Match[str]) -> str:
        if len(match[2]) == 3 and match[1].strip("0"):
            raise InputError(
                f"{name}: `{match[0]}` can be {match[1]}{match[2]} or {match[1]}.{match[2]}",
                hint="type it without the comma, or with a point",
            )
        return f"{match[1]}.{match[2]}"

    return _IN_TEXT.sub(point, text)


def list_with_points(text: str, *, name: str, one: Literal["decimal", "unclear"]) -> str:
    """Return a list of numbers with decimal points: ``412,6; 411,9`` and ``412,6 411,9``; commas with a blank part.

    Parameters
    ----------
    text : str
        As typed.
    name : str
        What the numbers are, for the message.
    one : {"decimal", "unclear"}
        What a comma without a blank is where nothing else parts the text, ``10,12``: a decimal comma, or a question.

    Raises
    ------
    InputError
        If commas can be read in two ways.
    """
    pieces = [each for each in re.split(r"\s*;\s*|\s+", text.strip()) if each]
    if not any(_ONE.fullmatch(each) for each in pieces):
        return text
    numbers = [each for each in pieces if any(letter.isdigit() for letter in each)]
    if len(numbers) == 1 and (one == "unclear" or len((_ONE.match(numbers[0]) or ["", ""])[1]) == 3):
        raise InputError(
            f"{name}: `{text.strip()}` can be one number or two",
            hint="one: type a point; two: type a blank behind the comma",
        )
    return _IN_TEXT.sub(r"\1.\2", text)
