"""What a crankshaft is foretold to do from its picture, for the terminal and as plain data."""

from __future__ import annotations

import math
from typing import Any

from planner.present.numbers import degrees, neat
from planner.present.table import table
from planner.present.words import amount_words
from planner.rotor.vectors import angle_deg
from planner.steps.picture import FITS_WITHIN, PART_SHARE, Picture


def picture_text(picture: Picture) -> str:
    """Return the picture as text."""
    job = picture.job
    units = job.units
    rows = [["part", "mass", "moment", "at", "z"]]
    for part in picture.parts:
        rows.append(
            [
                f"{part.what} {part.name}",
                units.text(part.mass_g, "mass"),
                amount_words(job, abs(part.vector_gmm)),
                f"{degrees(angle_deg(part.vector_gmm))}°" if abs(part.vector_gmm) > 1e-6 else "-",
                units.text(part.z_mm, "length"),
            ]
        )
    lines = ["THE CRANKSHAFT BY ITS PICTURE (angles in the crankshaft's own frame)", *table(rows), ""]
    lines.append(
        f"Bare{', cuts made so far taken off' if job.cuts_made else ''}: " + _both(picture, picture.bare_gmm)
    )
    if picture.to_correct_gmm is not None:
        lines.append(
            "With the bobs wanted, to correct (heavy spot): " + _both(picture, picture.to_correct_gmm)
        )
    rough = " and ".join(amount_words(job, amount) for amount in picture.rough_gmm)
    lines.append(
        f"Rough: every part is taken to be known to {100 * PART_SHARE:g} percent of its moment, which leaves {rough} (left "
        "and right); fillets are left out."
    )
    if picture.missing:
        lines.append(
            f"NOT WHOLE: the picture lacks {'; '.join(picture.missing)}. What they do is not in the figures."
        )
    lines += _check(picture)
    return "\n".join(lines)


def _both(picture: Picture, pair: tuple[complex, complex]) -> str:
    return ", ".join(
        f"{side} {amount_words(picture.job, abs(vector))} at {degrees(angle_deg(vector))}°"
        for side, vector in zip(("left", "right"), pair, strict=True)
    )


def _check(picture: Picture) -> list[str]:
    difference = picture.difference_gmm
    if difference is None or picture.read_gmm is None:
        return []
    lines = [
        "",
        "Read, to correct (heavy spot): " + _both(picture, picture.read_gmm),
        "Read less foretold: " + _both(picture, difference),
    ]
    if picture.fits:
        lines.append("The reading is what the picture says, within its roughness.")
    elif not picture.whole:
        lines.append(
            "The difference is what the picture lacks, or more: it can't be a check until it is whole."
        )
    else:
        lines.append(
            f"The reading is off the picture by more than {FITS_WITHIN:g} times its roughness: look at counterweights whose "
            "sizes were not measured, at the throws' angles, at the bobs and the machine's settings."
        )
    return lines


def picture_json(picture: Picture) -> dict[str, Any]:
    """Return the picture as plain data."""

    def pair(vectors: tuple[complex, complex] | None) -> list[dict[str, Any]] | None:
        if vectors is None:
            return None
        return [
            {
                "plane": side,
                "z_mm": neat(z),
                "amount_gmm": neat(abs(vector)),
                "angle_deg": neat(angle_deg(vector) if abs(vector) > 0 else 0.0),
            }
            for side, z, vector in zip(("left", "right"), picture.job.planes_z_mm, vectors, strict=True)
        ]

    return {
        "parts": [
            {
                "what": part.what,
                "name": part.name,
                "mass_g": neat(part.mass_g),
                "unbalance_gmm": neat(abs(part.vector_gmm)),
                "angle_deg": neat(angle_deg(part.vector_gmm) if abs(part.vector_gmm) > 0 else 0.0),
                "z_mm": neat(part.z_mm),
            }
            for part in picture.parts
        ],
        "whole": picture.whole,
        "missing": list(picture.missing),
        "bare": pair(picture.bare_gmm),
        "rough_gmm": [neat(amount) for amount in picture.rough_gmm],
        "to_correct": pair(picture.to_correct_gmm),
        "read": pair(picture.read_gmm),
        "difference": pair(picture.difference_gmm),
        "fits": picture.fits,
        "mass_g": neat(math.fsum(part.mass_g for part in picture.parts)),
    }
