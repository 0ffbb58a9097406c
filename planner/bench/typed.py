"""Numbers as people type them at the machine: ``5,85`` is read as ``5.85``; everything else as the commands read it."""

from __future__ import annotations

import re
from typing import Literal

from planner.errors import InputError

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
    if thousands == "likely" and len(decimals) == 3 and not grouped and whole.strip("0"):
        raise InputError(
            f"{name}: `{text.strip()}` can be {whole}{decimals} or {whole}.{decimals}",
            hint=f"type `{whole}{decimals}` or `{whole}.{decimals}`",
        )
    return f"{before}{whole.replace('.', '') or '0'}.{decimals}{unit}"
