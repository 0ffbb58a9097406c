"""A connecting rod's ends: do they agree, how does it split, what spoils the weighing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from planner.engine.rod_ends import RodError
from planner.present.document import Block, Document, block, document, lines, table
from planner.present.to_json import chosen
from planner.present.words import percent
from planner.steps.rod import RodAnswer

G_MM2_PER_KG_M2 = 1e9

_CAUSES = {
    "tilt": "rod not level, centre of gravity off the line (the low end on the scale reads too much)",
    "friction": "friction of the support in a rod not level (either way)",
    "contact": "support off the centre of the end on the scale",
}


def rod_document(answer: RodAnswer) -> Document:
    """Return what is known of a rod."""
    return document(lines(*_ends(answer)), _wrong(answer), _inertia(answer))


def _ends(answer: RodAnswer) -> Iterator[str]:
    weighed = answer.weighed
    if weighed.small_end_g is not None and weighed.big_end_g is not None:
        total = weighed.small_end_g + weighed.big_end_g
        yield f"small end {weighed.small_end_g:.2f} g + big end {weighed.big_end_g:.2f} g = {total:.2f} g (per rod)"
    if answer.check is not None:
        verdict = "AGREES" if answer.check.agrees else "DOES NOT AGREE"
        yield (
            f"whole rod {answer.mass_g:.2f} g, difference {answer.check.difference_g:+.2f} g: {verdict}, {answer.check.text}"
        )
        yield "(the sum shows friction, a slope and a false scale; a support off the centre it can't show)"
    if answer.split is not None:
        how = (
            "one end weighed, the other is the difference; nothing checks it"
            if answer.by_difference
            else "split from the centre of gravity"
        )
        yield (
            f"small end {answer.split.small_end_g:.2f} g (reciprocating), big end {answer.split.big_end_g:.2f} g "
            f"(rotating), per rod: {how}"
        )
    if answer.centre_mm is not None:
        yield f"centre of gravity {answer.centre_mm:.2f} mm from the centre of the big end"


def _wrong(answer: RodAnswer) -> Block | None:
    if not answer.errors:
        return None
    return block(
        "WHAT IT WEIGHS WRONG",
        table(
            ("", "small end", "big end"),
            [
                (each.cause, _grams(each, each.small_end_g), _grams(each, each.big_end_g))
                for each in answer.errors
            ],
            level=1,
        ),
        lines(*(f"{each.cause}: {_CAUSES[each.cause]}" for each in answer.errors), level=1),
    )


def _grams(error: RodError, mass_g: float) -> str:
    return f"±{abs(mass_g):.2f} g" if error.cause == "friction" else f"{mass_g:+.2f} g"


def _inertia(answer: RodAnswer) -> Block | None:
    found = answer.inertia
    if found is None:
        return None
    return block(
        "",
        lines(
            f"two masses at the centres: moment of inertia {found.model_gmm2 / G_MM2_PER_KG_M2:.6f} kg*m2, "
            f"real {found.real_gmm2 / G_MM2_PER_KG_M2:.6f} ({percent(found.excess, digits=1, signed=True)})",
            "for force and couple the two masses are exact, only torque and side force are off by this",
        ),
    )


def rod_json(answer: RodAnswer) -> dict[str, Any]:
    """Return one rod for a program."""
    return {
        **chosen(answer.split or answer.weighed, "small_end_g big_end_g"),
        "whole_g": answer.mass_g,
        "per": "rod",
        **chosen(answer, "centre_of_gravity_mm=centre_mm weighed.length_mm check.difference_g check.agrees"),
        "errors": [chosen(each, "cause small_end_g big_end_g") for each in answer.errors],
        "inertia": None
        if answer.inertia is None
        else {
            "two_masses_kgm2": answer.inertia.model_gmm2 / G_MM2_PER_KG_M2,
            "real_kgm2": answer.inertia.real_gmm2 / G_MM2_PER_KG_M2,
            "excess": answer.inertia.excess,
        },
    }
