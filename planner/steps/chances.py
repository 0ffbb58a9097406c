"""The chances of a plan, for a job's own error model: inside the limit, and proved by the next spin."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import Cut
from planner.cuts.deepening import same_hole
from planner.frames import TwoPlanes
from planner.jobfile.job import Job
from planner.steps.correction_question import Posed
from planner.steps.judging import error_of_one_spin
from planner.steps.trial import reading_times, with_trials
from planner.uncertainty.draws import Question
from planner.uncertainty.odds import DRAWS, SEED, UncertainCut, uncertain_cut
from planner.uncertainty.passing import Chances, chances_of_question


def chances_of(
    job: Job,
    posed: Posed,
    cuts: Sequence[Cut],
    *,
    problem: CorrectionProblem | None = None,
    draws: int = DRAWS,
    seed: int = SEED,
) -> Chances:
    """Return what passing means for these cuts, after those made since the spin, by the job's error model.

    Parameters
    ----------
    job, posed : Job, Posed
        The job and its question.
    cuts : sequence of Cut
        What is still to be cut.
    problem : CorrectionProblem, optional
        The question as it was answered, when its shop or counterweights differ from the job's.  Its limits do not
        count: a plan is judged by the job's.
    draws, seed : int
        Number of draws, and where they start; equal input gives equal output.
    """
    question = question_of_cuts(job, posed, cuts, problem=problem)
    return drawn_chances(job, posed, question, draws=draws, seed=seed)


def drawn_chances(
    job: Job, posed: Posed, question: Question, *, draws: int = DRAWS, seed: int = SEED
) -> Chances:
    """Return what passing means for a question that is drawn: by the job's limits and the error of one new spin."""
    limits = posed.problem.limits
    one_spin = error_of_one_spin(job, limits)
    return chances_of_question(
        question,
        limits,
        one_spin_errors_gmm=one_spin.errors_gmm,
        stated=one_spin.source == "stated",
        draws=draws,
        seed=seed,
    )


def question_of_cuts(
    job: Job, posed: Posed, cuts: Sequence[Cut], *, problem: CorrectionProblem | None = None
) -> Question:
    """Return what is drawn for these cuts, after those made since the spin."""
    job = with_trials(job)
    asked = posed.problem if problem is None else problem
    spin = job.spins[posed.spin_number - 1]
    before, still = uncertain_passes(
        asked,
        [entry.cut for entry, _ in posed.made],
        cuts,
        # the question's metal has what was learned by now in it, a cut made counts with what was known when it was planned
        factors=[entry.learned_factor / job.learned_factor for entry, _ in posed.made],
    )
    return Question(
        cuts=still,
        made=before,
        reading_gmm=posed.reading_gmm,
        shift_gmm=TwoPlanes.vectors(posed.not_read_gmm),
        planes_z_mm=asked.planes_z_mm,
        errors=job.errors,
        readings=posed.reading.count,
        throws=[throw for throw in job.crankshaft.throws if spin.bobs_g.get(throw.name, 0.0) > 0.0],
        reading_times=reading_times(job, posed.reading.vectors_gmm),
    )


def uncertain_passes(
    problem: CorrectionProblem,
    made: Sequence[Cut],
    cuts: Sequence[Cut],
    *,
    factors: Sequence[float] | None = None,
) -> tuple[tuple[UncertainCut, ...], tuple[UncertainCut, ...]]:
    """Return cuts made and cuts still to be made as the draws see them.

    A hole drilled in two passes is as deep as the last one made it: the error of a depth that a later pass goes beyond is
    drilled away with the metal.  The passes' angles are drawn apart.  ``factors`` are those of the metal of the cuts made,
    each against the question's; 1 if left out.
    """
    every = [*made, *cuts]
    metal = [*(factors or [1.0] * len(made)), *[1.0] * len(cuts)]
    uncertain = [
        dataclasses.replace(each, per_depth_gmm_per_mm=0.0, curvature_gmm_per_mm2=0.0)
        if any(later.deepens and same_hole(cut, later) for later in every[place + 1 :])
        else each
        for place, (cut, each) in enumerate(
            zip(every, uncertain_cuts(problem, every, factors=metal), strict=True)
        )
    ]
    return tuple(uncertain[: len(made)]), tuple(uncertain[len(made) :])


def uncertain_cuts(
    problem: CorrectionProblem, cuts: Sequence[Cut], *, factors: Sequence[float] | None = None
) -> tuple[UncertainCut, ...]:
    """Return cuts as the draws see them, each in metal that is a factor as heavy as the question's (1 if left out)."""
    named = {each.name: each for each in problem.counterweights}
    return tuple(
        uncertain_cut(
            cut,
            counterweight=named[cut.counterweight],
            density_g_per_cm3=factor * problem.density_of(named[cut.counterweight]),
            shop=problem.shop,
        )
        for cut, factor in zip(cuts, factors or [1.0] * len(cuts), strict=True)
    )
