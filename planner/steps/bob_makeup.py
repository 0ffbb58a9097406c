"""Which pieces of the shop's bob set go on which throw."""

from __future__ import annotations

from planner.engine.matching.bob_set import BobMakeup, BobPiece, make_up_bobs
from planner.errors import InputError
from planner.jobfile.job import Job
from planner.steps.bobs import wanted_g

WITHIN_G = 0.5
"""Bobs are set to half a gram or better (common practice)."""


def makeup_of(job: Job) -> BobMakeup:
    """Return how to make up the wanted bobs of a job from its ``[bob_set]``.

    Raises
    ------
    InputError
        If the job has no bob set, states no wanted bobs, or has fewer bodies than throws.
    """
    if job.bob_set is None:
        raise InputError(
            "the job has no [bob_set]",
            hint="list the shop's pieces once in the shop file: bodies = [ { weight = 800, count = 4 } ], "
            "plates and washers likewise",
        )
    pieces = []
    for kind, found in (
        ("body", job.bob_set.bodies),
        ("plate", job.bob_set.plates),
        ("washer", job.bob_set.washers),
    ):
        for piece in found:
            name = piece.name if piece.name.casefold().startswith(kind) else f"{kind} {piece.name}"
            pieces.append(BobPiece(name=name, mass_g=piece.weight_g, count=piece.count, body=kind == "body"))
    return make_up_bobs(wanted_g(job), pieces=pieces, within_g=WITHIN_G)
