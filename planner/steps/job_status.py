"""Where a job stands and what comes next."""

from __future__ import annotations

from planner.errors import InputError
from planner.jobfile.job import Job
from planner.machine.spin import newest_state
from planner.records import dataclass
from planner.rotor.verdict import overall_verdict
from planner.steps.correction_question import pose, stored_answer
from planner.steps.dialled import open_cuts
from planner.steps.done import open_steps
from planner.steps.judging import judged_of
from planner.steps.spin import bob_words
from planner.steps.trial import spin_words, with_trials


@dataclass(frozen=True)
class Standing:
    """Two sentences: where the job stands, and what the operator does next."""

    stands: str
    next_step: str


def standing_of(job: Job) -> Standing:
    """Return where a job stands."""
    try:
        newest_state(with_trials(job).spins)
    except InputError as error:
        if job.trials and not job.spins:
            return Standing(
                f"There are trial runs, but {error.message}.",
                error.hint or "`bobplan trial`",
            )
        return _before_spin(job)
    if job.tolerance is None:
        return Standing(
            "There is a spin, but no tolerance.",
            'ask the builder for the limit and add `[tolerance]`, for example `grade = "G 16"`',
        )
    waiting = open_cuts(job)
    if waiting:
        return Standing(
            "[machine] has changed since cuts were made: it must be said first where those holes are.",
            "`bobplan plan` asks",
        )
    posed = pose(job)
    spin = spin_words(posed.spin_number)
    foretold = bool(posed.made)
    verdict = overall_verdict(judged_of(job, posed, posed.problem.unbalance_gmm, foretold=foretold))
    if verdict == "in tolerance":
        if foretold:
            return Standing(
                f"After the cuts made since {spin} the limits should be met.",
                "spin again to confirm it: `bobplan spin LEFT ANGLE RIGHT ANGLE`",
            )
        return Standing(
            f"{spin[0].upper()}{spin[1:]} is in tolerance.",
            "`bobplan check` judges it with the reading's own error; then keep the record: "
            "`bobplan sheet --customer -o record.pdf`",
        )
    close = verdict == "too close to call"
    if close and not (stored_answer(job, posed) and open_steps(job)):
        if foretold:
            return Standing(
                f"After the cuts made since {spin} it should be near the limits, too close to call.",
                "spin again, only a reading decides: `bobplan spin LEFT ANGLE RIGHT ANGLE`",
            )
        return Standing(
            f"{spin[0].upper()}{spin[1:]} is too close to call with the reading's error.",
            "`bobplan check` names the reading that would pass and what decides it; `bobplan plan` the cuts that "
            "bring it there",
        )
    is_out = "is too close to call" if close else "is out of tolerance"
    if stored_answer(job, posed) is None:
        return Standing(
            f"{spin[0].upper()}{spin[1:]} {is_out} and has no plan yet.",
            "`bobplan plan`",
        )
    left = open_steps(job)
    if left:
        numbers = ", ".join(str(step.number) for step in left)
        done = f"{len(posed.made)} cut{'' if len(posed.made) == 1 else 's'} made, " if posed.made else ""
        return Standing(
            f"{spin[0].upper()}{spin[1:]} has a plan: {done}left to cut: step {numbers}.",
            f"cut step {left[0].number} and enter it with `bobplan done {left[0].number}`",
        )
    if not posed.made:
        return Standing(
            f"For {spin} no plan was possible with the cuts allowed.",
            "`bobplan plan` says why",
        )
    return Standing(
        f"All steps of the plan for {spin} are made.",
        "spin again: `bobplan spin LEFT ANGLE RIGHT ANGLE`",
    )


def _before_spin(job: Job) -> Standing:
    bobs = ""
    if job.bobs_wanted_g:
        bobs = f"make up the bobs ({bob_words(job, job.bobs_wanted_g)}), "
    return Standing(
        "The files are in order; there is no spin yet.",
        f"{bobs}spin the crankshaft and enter the four numbers: "
        "`bobplan spin LEFT ANGLE RIGHT ANGLE --bobs GRAMS`",
    )
