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
from dataclasses import dataclass

import numpy as np

from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import Cut
from planner.jobfile.job import Job
from planner.rotor.limits import LimitRow
from planner.steps.chances import question_of_cuts
from planner.steps.correction_question import Posed
from planner.steps.judging import error_of_one_spin
from planner.uncertainty.draws import Question, draw_planes
from planner.uncertainty.odds import SEED
from planner.uncertainty.passing import chances_of_question
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
    chance: float | None = None,
    problem: CorrectionProblem | None = None,
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
    chance : float, optional
        The chance that one spin proves the whole plan, where it is known already.
    problem : CorrectionProblem, optional
        The question as it was answered, when its shop or counterweights differ from the job's.
    """
    question = question_of_cuts(job, posed, cuts, problem=problem)
    limits = posed.problem.limits
    one_spin = error_of_one_spin(job, limits)

    def passes(asked: Question) -> float:
        return chances_of_question(
            asked,
            limits,
            one_spin_errors_gmm=one_spin.errors_gmm,
            stated=one_spin.source == "stated",
            draws=DRAWS,
            seed=SEED,
        ).one_spin_proves

    def weighed(first: float) -> FirstPass:
        over = over_chance(cut_by(question, first), limits, question)
        good = chance if chance is not None and first >= 1.0 else passes(cut_by(question, first))
        second = max(_LEAST_CHANCE, passes(second_pass(question, max(1.0 - first, _LEAST_LEFT))))
        return FirstPass(share=first, expected_spins=1.0 + (1.0 - good) / second, over=over)

    if share >= 1.0:
        whole = weighed(1.0)
        if whole.over <= MOST_OVER:
            return whole
        share = 1.0 - _STEP
    while share > _LEAST_SHARE and over_chance(cut_by(question, share), limits, question) > MOST_OVER:
        share -= _STEP
    tried = [weighed(share - step * _STEP) for step in range(_STEPS)]
    return min(tried, key=lambda each: (round(each.expected_spins, 3), -each.share))


def cut_by(question: Question, share: float) -> Question:
    """Return the question with the cuts doing a share of their work; their depths err as much as ever."""
    return dataclasses.replace(question, cuts=[_scaled(cut, share) for cut in question.cuts])


def second_pass(question: Question, left: float) -> Question:
    """Return the question of a pass that takes off a share of the whole job, newly read."""
    return dataclasses.replace(
        question,
        cuts=[_scaled(cut, left) for cut in question.cuts],
        made=(),
        reading_gmm=[left * complex(each) for each in _before(question)],
        shift_gmm=(0j, 0j),
        reading_times=(1.0, 1.0),
        readings=1,
    )


def over_chance(asked: Question, limits: Sequence[LimitRow], whole: Question) -> float:
    """Return the chance that some limit is overshot: more than the limit left on the other side of the axis."""
    start, change = draw_planes(asked, draws=DRAWS, seed=SEED)
    over = np.zeros(DRAWS, dtype=bool)
    before = _before(whole)
    for row in limits:
        vector = row.weight_1 * before[0] + row.weight_2 * before[1]
        if abs(vector) <= row.tolerance_gmm:
            continue
        unit = vector / abs(vector)
        (x, y), (dx, dy) = start.at(row), change.at(row)
        over |= (x + dx) * np.float32(unit.real) + (y + dy) * np.float32(unit.imag) < -np.float32(
            row.tolerance_gmm
        )
    return float(over.mean())


def _before(question: Question) -> tuple[complex, complex]:
    """Return what there is to correct before the cuts still to be made [g*mm]."""
    planes = question.planes_z_mm
    left, right = (
        complex(reading) + complex(shift)
        for reading, shift in zip(question.reading_gmm, question.shift_gmm, strict=True)
    )
    for cut in question.made:
        angle = np.exp(1j * np.radians(cut.angle_deg))
        second = (cut.z_mm - planes[0]) / (planes[1] - planes[0])
        left += complex(cut.amount_gmm * angle * (1.0 - second))
        right += complex(cut.amount_gmm * angle * second)
    return left, right


def _scaled(cut: UncertainCut, share: float) -> UncertainCut:
    return dataclasses.replace(
        cut,
        amount_gmm=share * cut.amount_gmm,
        heavy_gmm=share * cut.heavy_gmm,
        per_diameter_gmm_per_mm=share * cut.per_diameter_gmm_per_mm,
        per_radius_gmm_per_mm=share * cut.per_radius_gmm_per_mm,
    )
