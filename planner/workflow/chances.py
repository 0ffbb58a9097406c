"""The chance that a plan passes, for a job's own error model."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from planner.assurance.odds import DRAWS, UncertainCut, chance_to_pass, uncertain_cut
from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import Cut
from planner.cuts.deepening import same_hole
from planner.job.model import Job
from planner.workflow.posing import Posed
from planner.workflow.trial import reading_times


def chance_of(
    job: Job,
    posed: Posed,
    cuts: Sequence[Cut],
    *,
    problem: CorrectionProblem | None = None,
    draws: int = DRAWS,
) -> float:
    """Return the chance that these cuts, after those made since the spin, bring every limit in.

    Parameters
    ----------
    job, posed : Job, Posed
        The job and its question.
    cuts : sequence of Cut
        What is still to be cut.
    problem : CorrectionProblem, optional
        The question as it was answered, when its shop or counterweights differ from the job's.
    draws : int
        Number of draws.
    """
    asked = posed.problem if problem is None else problem
    made = [entry.cut for entry, _ in posed.made]
    spin = job.spins[posed.spin_number - 1]
    shift = posed.bob_shift_gmm + posed.mounted_shift_gmm - posed.known_error_gmm
    reading = posed.reading.vectors_gmm
    return chance_to_pass(
        [each for part in uncertain_passes(asked, made, cuts) for each in part],
        reading_gmm=(complex(reading[0]), complex(reading[1])),
        shift_gmm=(complex(shift[0]), complex(shift[1])),
        planes_z_mm=asked.planes_z_mm,
        limits=asked.limits,
        errors=job.errors,
        readings=posed.reading.count,
        throws=[throw for throw in job.crankshaft.throws if spin.bobs_g.get(throw.name, 0.0) > 0.0],
        reading_times=reading_times(job, reading),
        draws=draws,
    )


def uncertain_passes(
    problem: CorrectionProblem, made: Sequence[Cut], cuts: Sequence[Cut]
) -> tuple[tuple[UncertainCut, ...], tuple[UncertainCut, ...]]:
    """Return cuts made and cuts still to be made as the draws see them.

    A hole drilled in two passes is as deep as the last one made it: the error of a depth that a later pass goes beyond is
    drilled away with the metal.  The passes' angles are drawn apart.
    """
    every = [*made, *cuts]
    uncertain = [
        dataclasses.replace(each, per_depth_gmm_per_mm=0.0, curvature_gmm_per_mm2=0.0)
        if any(later.deepens and same_hole(cut, later) for later in every[place + 1 :])
        else each
        for place, (cut, each) in enumerate(zip(every, uncertain_cuts(problem, every), strict=True))
    ]
    return tuple(uncertain[: len(made)]), tuple(uncertain[len(made) :])


def uncertain_cuts(problem: CorrectionProblem, cuts: Sequence[Cut]) -> tuple[UncertainCut, ...]:
    """Return cuts as the draws see them."""
    named = {each.name: each for each in problem.counterweights}
    return tuple(
        uncertain_cut(
            cut,
            counterweight=named[cut.counterweight],
            density_g_per_cm3=problem.density_of(named[cut.counterweight]),
            shop=problem.shop,
        )
        for cut in cuts
    )
