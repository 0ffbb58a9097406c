"""Numbers for JSON (those for people: `planner.present.words`)."""

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
