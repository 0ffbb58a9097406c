"""The firing order held against pins and banks; when it does not fit, what it would fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.engine.engine import Engine, Rotation
from planner.engine.firing import Firing, check_firing_order
from planner.errors import InputError
from planner.steps.engine import BuiltEngine, EngineWishes


def firing_of(built: BuiltEngine, wishes: EngineWishes) -> tuple[Firing | None, tuple[str, str] | None]:
    """Return the checked firing order, or what is wrong with it and the way out; (None, None) when there is none.

    Raises
    ------
    InputError
        If the order misses, repeats or invents a cylinder.
    """
    order = built.firing_order
    if not order:
        return None, None
    names = [cylinder.name for cylinder in built.engine.cylinders]
    if sorted(order) != sorted(names):
        # this says which
        check_firing_order(order, dead_centres_deg=built.engine.dead_centres_deg())
    try:
        return _checked(built.engine, order, wishes.revolutions), None
    except InputError as error:
        return None, (error.message, _way_out(built.engine, order, wishes.revolutions))


def _checked(engine: Engine, order: Sequence[str], revolutions: int) -> Firing:
    return check_firing_order(order, dead_centres_deg=engine.dead_centres_deg(), revolutions=revolutions)


def _way_out(engine: Engine, order: Sequence[str], revolutions: int) -> str:
    other: Rotation = "ccw" if engine.rotation == "cw" else "cw"
    turned = replace(engine, rotation=other)
    swapped = tuple(replace(c, bank_angle_deg=-c.bank_angle_deg) for c in engine.cylinders)
    banks = "it would fit with the banks changed over"
    tries = (
        (f"it would fit an engine that turns {other}", turned),
        (banks, replace(engine, cylinders=swapped)),
        (f"{banks} and turning {other}", replace(turned, cylinders=swapped)),
    )
    fits = []
    for words, changed in tries:
        try:
            firing = _checked(changed, order, revolutions)
        except InputError:
            continue
        fits.append(f"{words}{' (evenly)' if firing.even else ''}")
    if fits:
        return "; ".join(fits)
    return "check the order and which cylinders hang on which throw: it fits neither way round, nor with the banks changed over"
