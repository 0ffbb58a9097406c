"""Numbers for people and for JSON."""

from __future__ import annotations

from typing import overload


@overload
def neat(value: float) -> float: ...


@overload
def neat(value: None) -> None: ...


@overload
def neat(value: float | None) -> float | None: ...


def neat(value: float | None) -> float | None:
    """Return a number without the dust of floating point (9 decimals, no negative zero)."""
    if value is None:
        return None
    rounded = round(float(value), 9)
    return 0.0 if rounded == 0.0 else rounded


def plural(count: int, noun: str) -> str:
    """Return ``1 cut`` or ``3 cuts``."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def degrees(angle: float) -> str:
    """Return an angle [deg] as text with at most one decimal: ``131``, ``293.7``; never ``360``."""
    rounded = round(angle, 1)
    if rounded == 360.0:
        rounded = 0.0
    return f"{rounded:g}" if rounded != int(rounded) else f"{int(rounded)}"
