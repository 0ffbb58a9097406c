"""The bobs made up from the shop's set, as text and as plain data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from planner.engine.matching.bob_set import BobMakeup
from planner.jobfile.job import Job
from planner.present.table import table
from planner.present.to_json import picked


def makeup_text(job: Job, makeup: BobMakeup) -> str:
    """Return which pieces go on which throw, how far each bob is off, and what is left in the box."""

    def grams(mass_g: float, *, sign: bool = False) -> str:
        digits = 2 if job.units.mass == "g" else 4
        text = job.units.text(mass_g, "mass", digits=digits, with_unit=False)
        return f"+{text}" if sign and not text.startswith("-") and float(text) != 0.0 else text

    rows: list[Sequence[str]] = [["throw", "wanted", "made up", "off", "pieces"]]
    for bob in makeup.bobs:
        row = [bob.throw, grams(bob.wanted_g), grams(bob.mass_g), grams(bob.error_g, sign=True)]
        rows.append([*row, _pieces(bob.pieces)])
    lines = [f"MAKE UP from the bob set ({job.units.mass}; plates and washers the same on both sides)"]
    lines += table(rows, indent=2)
    lines.append(
        "  no other way has a smaller largest error"
        if makeup.proven
        else "  the best that was found in time; another way may be nearer"
    )
    left = {name: count for name, count in makeup.left_over.items() if count}
    lines.append(f"  left in the box: {_pieces(left) or 'nothing'}")
    lines += [f"  {note}" for note in makeup.notes]
    lines.append("  weigh every made-up bob before it goes on, and torque its clamp bolts")
    return "\n".join(lines)


def _pieces(pieces: Mapping[str, int]) -> str:
    return ", ".join(f"{count} x {name}" for name, count in pieces.items())


def makeup_json(makeup: BobMakeup) -> dict[str, Any]:
    """Return the makeup as plain data."""
    bobs = [picked(bob, "throw", "wanted_g", "mass_g", "pieces", off_g="error_g") for bob in makeup.bobs]
    return {"bobs": bobs, **picked(makeup, "left_over", "largest_error_g", "proven", "notes")}
