"""The bobs made up from the shop's set, as text and as plain data."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from planner.engine.matching.bob_set import BobMakeup
from planner.jobfile.job import Job
from planner.present.document import Block, block, lines, table
from planner.present.to_json import picked


def makeup_block(job: Job, makeup: BobMakeup) -> Block:
    """Return which pieces go on which throw, how far each bob is off, and what is left in the box."""

    def grams(mass_g: float) -> str:
        return job.units.text(mass_g, "mass", digits=2 if job.units.mass == "g" else 4, with_unit=False)

    def signed(mass_g: float) -> str:
        text = grams(mass_g)
        return f"+{text}" if not text.startswith("-") and float(text) != 0.0 else text

    left = {name: count for name, count in makeup.left_over.items() if count}
    return block(
        f"MAKE UP from the bob set ({job.units.mass}; plates and washers the same on both sides)",
        table(
            ("throw", "wanted", "made up", "off", "pieces"),
            [
                (bob.throw, grams(bob.wanted_g), grams(bob.mass_g), signed(bob.error_g), _pieces(bob.pieces))
                for bob in makeup.bobs
            ],
            level=1,
        ),
        lines(
            "no other way has a smaller largest error"
            if makeup.proven
            else "the best that was found in time; another way may be nearer",
            f"left in the box: {_pieces(left) or 'nothing'}",
            *makeup.notes,
            "weigh every made-up bob before it goes on, and torque its clamp bolts",
            level=1,
        ),
    )


def _pieces(pieces: Mapping[str, int]) -> str:
    return ", ".join(f"{count} x {name}" for name, count in pieces.items())


def makeup_json(makeup: BobMakeup) -> dict[str, Any]:
    """Return the makeup as plain data."""
    bobs = [picked(bob, "throw wanted_g mass_g pieces off_g=error_g") for bob in makeup.bobs]
    return {"bobs": bobs, **picked(makeup, "left_over largest_error_g proven notes")}
