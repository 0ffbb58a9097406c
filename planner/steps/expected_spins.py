"""How many spins a plan takes on average until one proves it, and how much of it to cut in the first pass for that.

A first pass of a share s passes its spin with the chance p(s), drawn by the job's error model.  What it leaves is read
again and taken off in a second pass, which has a reading's errors of what is left only; its chance q is drawn for a share
``max(1 - s, 0.1)`` of the whole job, and further passes are taken to have the same.  So

    expected spins = 1 + (1 - p(s)) / q.

Where the whole plan at once would overshoot a limit in more than 1 % of the draws, the share with the fewest expected
spins is taken among those that do not.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from planner.cuts.cut import Cut
from planner.jobfile.job import Job
from planner.records import dataclass
from planner.steps.chances import drawn_chances, question_of_cuts
from planner.steps.correction_question import Posed
from planner.uncertainty.draws import Question, before_gmm
from planner.uncertainty.passing import Chances
from planner.uncertainty.uncertain_cut import UncertainCut

DRAWS = 20_000
MOST_OVER = 0.01
_LEAST_LEFT = 0.1
_LEAST_CHANCE = 0.02
_STEP = 0.02
_STEPS = 3
_LEAST_SHARE = 0.5


@dataclass(frozen=True, kw_only=True)
class FirstPass:
    """A share of the plan to cut first, and what comes of it.

    ``over`` is the chance that it overshoots some limit: leaves more than the limit on the other side.
    """

    share: float
    expected_spins: float
    over: float


def first_pass_of(
    job: Job,
    posed: Posed,
    cuts: Sequence[Cut],
    *,
    share: float,
    chances: Chances | None = None,
) -> FirstPass:
    """Return the first pass of a plan.

    Parameters
    ----------
    job, posed : Job, Posed
        The job and its question.
    cuts : sequence of Cut
        The plan.
    share : float
        The greatest share that leaves room for the errors by first order (see `planner.steps.first_pass`).
    chances : Chances, optional
        The chances of the whole plan at once, where they are known already.
    """
    question = question_of_cuts(job, posed, cuts)
    drawn: dict[float, Chances] = {} if chances is None else {1.0: chances}

    def drawn_of(asked: Question) -> Chances:
        return drawn_chances(job, posed, asked, draws=DRAWS)

    def of_share(first: float) -> Chances:
        if first not in drawn:
            # the cuts do a share of their work; their depths err as much as ever
            scaled = [_scaled(cut, first) for cut in question.cuts]
            drawn[first] = drawn_of(dataclasses.replace(question, cuts=scaled))
        return drawn[first]

    def weighed(first: float) -> FirstPass:
        there = of_share(first)
        if there.one_spin_proves >= 1.0:  # whatever a second pass would do
            return FirstPass(share=first, expected_spins=1.0, over=there.over)
        left = second_pass(question, max(1.0 - first, _LEAST_LEFT))
        second = max(_LEAST_CHANCE, drawn_of(left).one_spin_proves)
        return FirstPass(
            share=first, expected_spins=1.0 + (1.0 - there.one_spin_proves) / second, over=there.over
        )

    if share >= 1.0:
        if of_share(1.0).over <= MOST_OVER:
            return weighed(1.0)
        share = 1.0 - _STEP
    while share > _LEAST_SHARE and of_share(share).over > MOST_OVER:
        share -= _STEP
    tried = [weighed(share - step * _STEP) for step in range(_STEPS)]
    return min(tried, key=lambda each: (round(each.expected_spins, 3), -each.share))


def second_pass(question: Question, left: float) -> Question:
    """Return the question of a pass that takes off a share of the whole job, newly read."""
    return dataclasses.replace(
        question,
        cuts=[_scaled(cut, left) for cut in question.cuts],
        made=(),
        reading_gmm=[left * complex(each) for each in before_gmm(question)],
        shift_gmm=(0j, 0j),
        reading_times=(1.0, 1.0),
        readings=1,
    )


def _scaled(cut: UncertainCut, share: float) -> UncertainCut:
    return dataclasses.replace(
        cut,
        amount_gmm=share * cut.amount_gmm,
        heavy_gmm=share * cut.heavy_gmm,
        per_diameter_gmm_per_mm=share * cut.per_diameter_gmm_per_mm,
        per_radius_gmm_per_mm=share * cut.per_radius_gmm_per_mm,
    )
