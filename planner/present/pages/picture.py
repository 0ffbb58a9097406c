"""What a crankshaft is foretold to do from its picture, for the terminal and as plain data."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from planner.frames import TwoPlanes
from planner.present.document import Document, block, document, lines, table
from planner.present.numbers import neat
from planner.present.to_json import picked, vectors_json
from planner.present.words import amount_words, degrees, length_words, mass_words, percent
from planner.rotor.vectors import angle_deg
from planner.steps.picture import FITS_WITHIN, PART_SHARE, Picture


def picture_document(picture: Picture) -> Document:
    """Return what the picture foretells, and how a reading compares with it."""
    job = picture.job
    rows = [
        (
            f"{part.what} {part.name}",
            mass_words(job, part.mass_g),
            amount_words(job, abs(part.vector_gmm)),
            degrees(angle_deg(part.vector_gmm)) if abs(part.vector_gmm) > 1e-6 else "-",
            length_words(job, part.z_mm, with_64th=False),
        )
        for part in picture.parts
    ]
    return document(
        block(
            "THE CRANKSHAFT BY ITS PICTURE (angles in the crankshaft's own frame)",
            table(("part", "mass", "moment", "at", "z"), rows),
        ),
        lines(*_foretold(picture)),
        lines(*_check(picture)),
    )


def _foretold(picture: Picture) -> Iterator[str]:
    job = picture.job
    taken = ", cuts made so far taken off" if job.cuts_made else ""
    yield f"Bare{taken}: {_both(picture, picture.bare_gmm)}"
    if picture.to_correct_gmm is not None:
        yield f"With the bobs wanted, to correct (heavy spot): {_both(picture, picture.to_correct_gmm)}"
    rough = " and ".join(amount_words(job, amount) for amount in picture.rough_gmm)
    yield (
        f"Rough: every part is taken to be known to {percent(PART_SHARE)} of its moment, which leaves {rough} (left "
        "and right); fillets are left out."
    )
    if picture.missing:
        yield f"NOT WHOLE: the picture lacks {'; '.join(picture.missing)}. What they do is not in the figures."


def _both(picture: Picture, pair: TwoPlanes[complex]) -> str:
    return ", ".join(
        f"{side} {amount_words(picture.job, abs(vector))} at {degrees(angle_deg(vector))}"
        for side, vector in pair.items()
    )


def _check(picture: Picture) -> Iterator[str]:
    difference = picture.difference_gmm
    if difference is None or picture.read_gmm is None:
        return
    yield f"Read, to correct (heavy spot): {_both(picture, picture.read_gmm)}"
    yield f"Read less foretold: {_both(picture, difference)}"
    if picture.fits:
        yield "The reading is what the picture says, within its roughness."
    elif not picture.whole:
        yield "The difference is what the picture lacks, or more: it can't be a check until it is whole."
    else:
        yield (
            f"The reading is off the picture by more than {FITS_WITHIN:g} times its roughness: look at counterweights whose "
            "sizes were not measured, at the throws' angles, at the bobs and the machine's settings."
        )


def picture_json(picture: Picture) -> dict[str, Any]:
    """Return the picture as plain data."""

    def pair(vectors: TwoPlanes[complex] | None) -> list[dict[str, Any]] | None:
        return None if vectors is None else vectors_json(vectors, picture.job.planes_z_mm)

    return {
        "parts": [
            {
                **picked(part, "what name mass_g z_mm"),
                "unbalance_gmm": neat(abs(part.vector_gmm)),
                "angle_deg": neat(angle_deg(part.vector_gmm)),
            }
            for part in picture.parts
        ],
        **picked(picture, "whole missing rough_gmm fits"),
        "bare": pair(picture.bare_gmm),
        "to_correct": pair(picture.to_correct_gmm),
        "read": pair(picture.read_gmm),
        "difference": pair(picture.difference_gmm),
        "mass_g": neat(math.fsum(part.mass_g for part in picture.parts)),
    }
