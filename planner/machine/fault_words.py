"""Faults of reading in words: which factor is near a known mix-up, which turn is a swapped spot."""

from __future__ import annotations

from collections.abc import Iterator

from planner.quantity import G_PER_OZ, GMM_PER_OZ_IN, MM_PER_IN

# a factor counts as a known mix-up within this share
_SHARE = 0.06
_FACTORS = (
    (GMM_PER_OZ_IN, "ounce-inches and gram-millimetres"),
    (G_PER_OZ, "ounces and grams"),
    (MM_PER_IN, "inches and millimetres"),
    (10.0, "gram-centimetres and gram-millimetres"),
    (2.0, "diameter and radius"),
)


def turn_fault(turn_deg: float, *, within_deg: float) -> Iterator[str]:
    """Yield what a turn [deg] means, nothing when it is smaller than ``within_deg``."""
    if abs(abs(turn_deg) - 180.0) <= within_deg:
        yield "heavy and light spot are swapped"
    elif abs(turn_deg) > within_deg:
        yield f"the zero mark is off by {turn_deg:.0f} degrees"


def size_fault(size: float, *, sigma: float = 0.0) -> str:
    """Return what a factor between foretold and measured change means, the likely cause named.

    ``sigma`` is the factor's standard uncertainty: a factor that can't be told from nothing names no cause.
    """
    if size < 3.0 * sigma:
        return (
            f"the change is less than {max(size + 2.0 * sigma, 0.01):.2g} of the foretold one: were the cuts made, and on this "
            "crankshaft? or is the unit of the readings wrong?"
        )
    words = known_mix_up(size, share=max(_SHARE, 2.0 * sigma / size))
    if words is not None:
        return f"the change is {size:.3g} times the foretold one: are {words} mixed up?"
    if size < 1.0:
        return (
            f"the change is {size:.3g} times the foretold one: cuts too shallow or drill too small (depth counted to the tip?), "
            "or radius, density or unit wrong"
        )
    return (
        f"the change is {size:.3g} times the foretold one: cuts too deep or holes too wide (depth counted to the shoulder?), "
        "or radius, density or unit wrong"
    )


def known_mix_up(size: float, *, share: float = _SHARE) -> str | None:
    """Return which mix-up of units a factor is near, None when it is near none."""
    near = [
        (abs(size / power - 1.0), words)
        for value, words in _FACTORS
        for power in (value, 1.0 / value)
        if abs(size / power - 1.0) <= share
    ]
    return min(near)[1] if near else None
