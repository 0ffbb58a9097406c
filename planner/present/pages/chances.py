"""What passing means, as two numbers that read the same on every screen."""

from __future__ import annotations

from typing import Any

from planner.present.numbers import neat
from planner.present.words import chance_words
from planner.uncertainty.passing import Chances


def chances_words(chances: Chances) -> str:
    """Return the chances in one line: inside the limit, and that one spin, or two, prove it."""
    return (
        f"{chance_words(chances.inside)} inside the limit; {chance_words(chances.one_spin_proves)} that one spin proves "
        f"it ({chance_words(chances.two_spins_prove)} with two)"
    )


def chances_json(chances: Chances | None) -> dict[str, Any]:
    """Return the chances as plain data; ``None`` in each when there is no plan."""
    if chances is None:
        return {"chance_inside": None, "chance_one_spin_proves": None, "chance_two_spins_prove": None}
    return {
        "chance_inside": neat(chances.inside),
        "chance_one_spin_proves": neat(chances.one_spin_proves),
        "chance_two_spins_prove": neat(chances.two_spins_prove),
    }
