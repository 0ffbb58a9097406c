"""What explains a measured change, in words; of a factor, which mix-up it is near."""

from __future__ import annotations

from planner.machine.what_went_wrong import BobEffect, Explained, Fault, Kind
from planner.quantity import G_PER_OZ, GMM_PER_OZ_IN, MM_PER_IN

_SETTINGS: dict[Kind, str] = {
    "swapped spot": "heavy and light spot are swapped",
    "reversed direction": "the angle direction is reversed",
    "swapped planes": "the left and right plane are swapped",
}
# a factor counts as a known mix-up within this share
_SHARE = 0.06
_FACTORS = (
    (GMM_PER_OZ_IN, "ounce-inches and gram-millimetres"),
    (G_PER_OZ, "ounces and grams"),
    (MM_PER_IN, "inches and millimetres"),
    (10.0, "gram-centimetres and gram-millimetres"),
    (2.0, "diameter and radius"),
)


def explained_words(each: Explained) -> str:
    """Return an explanation of a measured change in one line."""
    return " and ".join(explained_faults(each)) or "nothing is wrong"


def explained_faults(each: Explained) -> tuple[str, ...]:
    """Return what an explanation says is wrong, singly; nothing where nothing is."""
    if each.slip is not None:
        return (each.slip.words,)
    if each.mistyped is not None:
        return (each.mistyped.words,)
    if each.bob is not None:
        return (bob_fault(each.bob, each.factor or 0.0),)
    return tuple(fault_words(fault) for fault in each.faults)


def fault_words(fault: Fault) -> str:
    """Return what is wrong with settings or sizes."""
    if fault.kind == "zero mark":
        return f"the zero mark is off by {fault.amount:.0f} degrees"
    if fault.kind == "scale":
        return size_fault(fault.amount, sigma=fault.sigma)
    return _SETTINGS[fault.kind]


def bob_fault(bob: BobEffect, amount: float) -> str:
    """Return what an amount [g or mm] means that a bob is heavier, or has moved."""
    throw = f"the bob on throw {bob.throw}"
    if bob.way == "grams":
        return f"{throw} is {abs(amount):.3g} g {'heavier' if amount > 0 else 'lighter'} than it was"
    if bob.way == "turns":
        return f"{throw} has turned on its throw: its weight sits {abs(amount):.2g} mm to the side"
    end = "rear" if amount > 0 else "front"
    return f"{throw} has moved along the shaft, {abs(amount):.2g} mm to the {end}"


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
