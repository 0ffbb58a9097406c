"""What passing means, as two numbers that read the same on every screen."""

from __future__ import annotations

from typing import Any

from planner.present.numbers import neat
from planner.uncertainty.passing import Chances


def chances_words(chances: Chances) -> str:
    """Return the chances in one line: inside the limit, and that one spin, or two, prove it."""
    return (
        f"{percent_words(chances.inside)} inside the limit; {percent_words(chances.one_spin_proves)} that one spin proves "
        f"it ({percent_words(chances.two_spins_prove)} with two)"
    )


def percent_words(chance: float) -> str:
    """Return a chance in percent, never rounded to certain or impossible when it is not."""
    if chance >= 0.9995:
        return "over 99.9 %"
    if 0.0 < chance < 0.0005:
        return "under 0.1 %"
    return f"{100.0 * chance:.1f} %" if chance >= 0.99 or 0.0 < chance < 0.01 else f"{100.0 * chance:.0f} %"


def chances_json(chances: Chances | None) -> dict[str, Any]:
    """Return the chances as plain data; ``None`` in each when there is no plan."""
    if chances is None:
        return {"chance_inside": None, "chance_one_spin_proves": None, "chance_two_spins_prove": None}
    return {
        "chance_inside": neat(chances.inside),
        "chance_one_spin_proves": neat(chances.one_spin_proves),
        "chance_two_spins_prove": neat(chances.two_spins_prove),
    }
