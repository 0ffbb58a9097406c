"""Which hole a deepening deepens, as the operator calls it."""

from __future__ import annotations

from planner.cuts.cut import Cut
from planner.cuts.deepening import same_hole
from planner.jobfile.job import Job, MadeCut


def passes_of(job: Job, cut: Cut) -> tuple[MadeCut, ...]:
    """Return the cuts made in a cut's own hole, in the order of the record."""
    return tuple(made for made in job.cuts_made if same_hole(made.cut, cut))


def hole_name(job: Job, cut: Cut) -> str:
    """Return ``hole 1``: the number of the cut that made it; ``the old hole`` for one that was there before."""
    before = passes_of(job, cut)
    if not before or before[0].cut.deepens:
        return "the old hole"
    return f"hole {before[0].number}"
