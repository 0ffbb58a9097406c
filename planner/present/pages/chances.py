"""What passing means, as two numbers that read the same on every screen."""

from __future__ import annotations

from typing import Any

from planner.present.to_json import picked
from planner.present.words import chance_words
from planner.uncertainty.passing import Chances


def chances_words(chances: Chances) -> str:
    """Return the chances in one line: inside the limit, and that one spin, or two, prove it."""
    return (
        f"{chance_words(chances.inside)} inside the limit; {chance_words(chances.one_spin_proves)} that one spin proves "
        f"it ({chance_words(chances.two_spins_prove)} with two)"
    )


def chances_cells(chances: Chances | None) -> tuple[str, str]:
    """Return the chances inside the limit, and that one spin proves it, as cells of a table."""
    return (
        ("-", "-")
        if chances is None
        else (chance_words(chances.inside), chance_words(chances.one_spin_proves))
    )


def chances_json(chances: Chances | None) -> dict[str, Any]:
    """Return the chances as plain data; ``None`` in each when there is no plan."""
    return {
        f"chance_{name}": value
        for name, value in picked(chances, "inside one_spin_proves two_spins_prove").items()
    }
