"""The main job: from a job to its correction plan, checked by another route."""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Mapping, Sequence

from planner.correction.budget import Budget, Progress, budget_of
from planner.correction.candidates.obstacles import overlapping
from planner.correction.ordering import cost_of, worst_share
from planner.correction.problem import CorrectionProblem, PlannedCut, PlanOutcome, Proof
from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut, Shop
from planner.errors import BobplanError, InputError
from planner.frames import TwoPlanes
from planner.jobfile.job import Job, StoredPlan, StoredStep
from planner.machine.spin import Spin
from planner.rotor.crankshaft import Counterweight
from planner.rotor.vectors import difference_deg
from planner.rotor.verdict import judge, overall_verdict
from planner.steps.alternatives import alternatives_of
from planner.steps.broken_rules import rule_words
from planner.steps.chances import chances_of
from planner.steps.check import CheckAnswer, check_job
from planner.steps.correction_question import Posed, effect_on, pose, same_cut, stored_answer
from planner.steps.deepening import hole_name
from planner.steps.dialled import ensure_told
from planner.steps.expected_spins import FirstPass, first_pass_of
from planner.steps.first_pass import first_pass_stop_mm, plan_share
from planner.steps.heavy_metal import heavy_metal_of, with_way_out, with_window
from planner.steps.judging import drawn_in, judged_of
from planner.steps.nothing_fits import nothing_fits_of
from planner.steps.plan_answer import HeavyMetal, PlanAnswer, PlanStep
from planner.steps.reading_questions import far_words, questions_about
from planner.steps.reading_slips import asked_of_newest
from planner.steps.trial import raw_shown, with_trials
from planner.steps.wanted_chance import passing_of
from planner.steps.warnings import warnings_of
from planner.uncertainty.passing import Chances


def plan_job(
    job: Job,
    *,
    seconds: float | Budget = 10.0,
    progress: Progress | None = None,
    anew: bool = False,
    extras: bool = True,
) -> PlanAnswer:
    """Return the correction plan for the newest spin of a job.

    Parameters
    ----------
    job : Job
        The checked job.
    seconds : float or Budget
        Outer stop of all searches together [s]; when it strikes the answer says so.
    progress : callable, optional
        Called now and then with a short text.
    anew : bool
        The user asks for a plan by the files: a stored plan that was made with a wish (another drill, a counterweight left
        alone) does not stand against it.
    extras : bool
        Where there is no plan, or none by drilling, also work out for which bob masses there is one, and what else would do
        it.

    Returns
    -------
    PlanAnswer
        Steps in the shop's order with the residual recomputed by the verification route; ``outcome.feasible`` is
        False when no plan was found.

    Raises
    ------
    InputError
        If the job lacks something that a plan needs.
    OpenQuestionError
        If it is not said where cuts made under other settings of the machine are.
    BobplanError
        If the plan fails its own check (a fault of the program, never of the job).
    """
    job = with_trials(job)
    ensure_told(job)
    posed = pose(job)
    _refuse_overlaps(job, posed.problem)
    budget = budget_of(seconds, progress)
    known: dict[tuple[Cut, ...], Chances] = {}
    outcome, asked, closeness = _outcome_of(job, posed, known, budget)
    told = functools.partial(_answer, job, posed, known, asked=asked, budget=budget, extras=extras)
    kept = _kept_steps(job, posed, anew=anew)
    if kept is not None:
        of_kept = _outcome_of_kept(job, posed.problem, kept, outcome)
        if of_kept.feasible or not outcome.feasible:
            answer = told(of_kept, kept)
            return dataclasses.replace(answer, kept=True, closeness=None if kept else closeness)
    outcome = _first_pass_followed(job, posed, asked, outcome) or outcome
    fresh = [StoredStep(number=0, cut=each.cut, pinned=each.pinned) for each in outcome.cuts]
    answer = told(outcome, _numbered(job, fresh))
    gone = _wish_given_up(job, posed, anew=anew)
    notes = answer.notes if gone is None else (*answer.notes, gone)
    return dataclasses.replace(answer, closeness=closeness, notes=notes)


def _outcome_of(
    job: Job,
    posed: Posed,
    known: dict[tuple[Cut, ...], Chances],
    budget: Budget,
) -> tuple[PlanOutcome, CorrectionProblem, CheckAnswer | None]:
    """Return the outcome of the search, the question it answers, and how the state stands when it is too close to call.

    A state that was read inside the bare limits but too close to call has nothing to do for a search that knows only the
    limits, while `bobplan check` does not pass it.  So there the search is asked to reach what check accepts; when no cut
    reaches that, nothing is cut and the readings decide.  After cuts a new spin decides, not more cuts.
    """
    problem = posed.problem
    judged = judged_of(job, posed, problem.unbalance_gmm, foretold=bool(posed.made))
    if overall_verdict(judged) != "too close to call":
        passing = passing_of(job, posed, known=known)
        outcome = find_plan(problem, seconds=budget, passing=passing, progress=budget.say)
        return _surer(job, posed, outcome, budget) or outcome, problem, None
    closeness = check_job(job)
    inside = overall_verdict(judge(problem.unbalance_gmm, problem.limits)) == "in tolerance"
    if posed.made and inside:
        return find_plan(problem, seconds=budget, progress=budget.say), problem, closeness
    asked = drawn_in(job, problem)
    if asked is not None:
        passing = passing_of(job, posed, problem=asked, known=known)
        outcome = find_plan(asked, seconds=budget, passing=passing, progress=budget.say)
        if outcome.feasible:
            return outcome, asked, closeness
    return find_plan(problem, seconds=budget, progress=budget.say), problem, closeness


def _surer(job: Job, posed: Posed, outcome: PlanOutcome, budget: Budget) -> PlanOutcome | None:
    """Return a plan of no more cuts that check would pass, where the one found only just keeps the limits."""
    if not outcome.feasible or not outcome.cuts:
        return None
    judged = judged_of(job, posed, outcome.residual_gmm, foretold=True)
    asked = drawn_in(job, posed.problem)
    if overall_verdict(judged) == "in tolerance" or asked is None:
        return None
    other = find_plan(asked, seconds=budget, progress=budget.say)
    if not other.feasible or len(other.cuts) > len(outcome.cuts):
        return None
    # fewest for the limits as they are: that proof holds for any plan of as many cuts; the cost was bounded for others
    return dataclasses.replace(other, proof=dataclasses.replace(outcome.proof, gap_cost=other.proof.gap_cost))


def _refuse_overlaps(job: Job, problem: CorrectionProblem) -> None:
    """Refuse pinned cuts that run into each other: one of them can't be made."""
    found = [
        f"on {one.counterweight} the {_pinned_words(job, one)} and the {_pinned_words(job, other)}"
        for one, other in overlapping(problem.fixed, problem.counterweights, problem.shop)
    ]
    if found:
        raise InputError(
            f"pinned cuts run into each other: {'; '.join(found)}",
            hint="move one of them away, or leave it out",
        )


def _pinned_words(job: Job, cut: Cut) -> str:
    size = job.units.text(cut.diameter_mm, "length")
    return f"{size} {cut.kind} at {job.machine.dial_deg(cut.angle_deg):g} on the dial"


def lettered(answer: PlanAnswer, letter: str) -> PlanAnswer:
    """Return a what-if plan with numbers of its own, a1, a2 ...: they can't be taken for those of the job's plan."""
    steps = tuple(
        dataclasses.replace(step, number=number, letter=letter)
        for number, step in enumerate(answer.steps, start=1)
    )
    return dataclasses.replace(answer, steps=steps, letter=letter)


def numbered_plan(job: Job, plan: StoredPlan) -> StoredPlan:
    """Return a plan with the numbers that its cuts have in the job, or new ones."""
    return dataclasses.replace(plan, steps=_numbered(job, plan.steps))


def with_alternatives(
    answer: PlanAnswer, *, seconds: float | Budget = 10.0, progress: Progress | None = None
) -> PlanAnswer:
    """Return a plan with other ways to correct beside it; ``seconds`` is the outer stop."""
    budget = budget_of(seconds, progress)
    found = alternatives_of(answer.job, pose(answer.job), answer.outcome, seconds=budget)
    return dataclasses.replace(answer, alternatives=found)


def with_bob_window(
    answer: PlanAnswer, *, seconds: float | Budget = 10.0, progress: Progress | None = None
) -> PlanAnswer:
    """Return a plan with the bob masses that drilling alone could balance, confirmed by plans."""
    budget = budget_of(seconds, progress)
    heavy = with_window(answer.job, pose(answer.job), answer.heavy_metal, seconds=budget)
    return dataclasses.replace(answer, heavy_metal=heavy)


def stored_plan_of(answer: PlanAnswer, *, basis_of: Job | None = None) -> StoredPlan:
    """Return the record of a plan that goes into the job file.

    ``basis_of`` is the job as its files have it, when the plan was made as if they said something else: the steps are
    then kept once the first of them is cut.
    """
    posed = pose(answer.job if basis_of is None else basis_of)
    return StoredPlan(
        after_spin=answer.spin_number,
        steps=tuple(StoredStep(number=s.number, cut=s.cut, pinned=s.pinned) for s in answer.steps),
        basis=posed.basis,
        after_cuts=len(posed.made),
        learned_factor=answer.job.learned_factor,
        wish=answer.what_if,
        shown_under=answer.job.machine.drill_settings,
    )


def still_planned(job: Job, answer: PlanAnswer, *, basis_of: Job | None = None) -> bool:
    """Return whether a job, as its file is now, asks what a plan answers and holds the plan that it was made from."""
    asked = answer.job if basis_of is None else basis_of
    if (job.cuts_made, job.undone, len(_spun(job))) != (asked.cuts_made, asked.undone, len(_spun(asked))):
        return False
    there, ours = job.stored_plan, stored_plan_of(answer, basis_of=basis_of)
    same_plan = there == asked.stored_plan or (
        there is not None and [s.number for s in there.steps] == [s.number for s in ours.steps]
    )
    return same_plan and pose(job).basis == ours.basis


def _spun(job: Job) -> tuple[Spin, ...]:
    return tuple(spin for spin in job.spins if not spin.from_trials)


def _kept_steps(job: Job, posed: Posed, *, anew: bool) -> tuple[StoredStep, ...] | None:
    """Return the stored steps still to be made, or None when the rest has to be planned anew.

    Steps are kept as long as their spin is the newest and the cuts made since carried out their steps within half a step
    of the grid.  That no plan was possible is nothing to keep, and a wish is kept only until a plan by the files is asked
    for.
    """
    stored = stored_answer(job, posed)
    if stored is None or not stored.steps or (stored.wish and anew):
        return None
    if not posed.made and not stored.wish:
        return None  # nothing cut yet: the fresh plan is the plan
    steps = {step.number: step for step in stored.steps}
    for entry, _ in posed.made[stored.after_cuts :]:
        step = steps.pop(entry.step, None) if entry.step is not None else None
        if step is None or not same_cut(step.cut, entry.cut, shop=job.shop):
            return None
    return tuple(steps.values())


def _first_pass_followed(
    job: Job, posed: Posed, problem: CorrectionProblem, fresh: PlanOutcome
) -> PlanOutcome | None:
    """Return the stored plan with the holes that were stopped short drilled on, where that takes no more cuts than a fresh one.

    Who stops a drill early means to go on in that hole; a new hole elsewhere that saves a gram is not what was planned.
    """
    stored = stored_answer(job, posed)
    if stored is None or not fresh.feasible or stored.wish:
        return None
    steps = {step.number: step for step in stored.steps}
    short = False
    for entry, _ in posed.made[stored.after_cuts :]:
        step = steps.pop(entry.step, None) if entry.step is not None else None
        if step is None:
            return None
        if same_cut(step.cut, entry.cut, shop=job.shop):
            continue
        rest = _rest_of(step.cut, entry.cut, job)
        if rest is None:
            return None
        steps[step.number] = dataclasses.replace(step, cut=rest)
        short = True
    if not short or len(steps) > len(fresh.cuts):
        return None
    # the rest of a hole first: the drill is still in the chuck
    in_turn = sorted(steps.values(), key=lambda step: not step.cut.deepens)
    followed = _outcome_of_kept(job, problem, in_turn, fresh)
    return followed if followed.feasible else None


def _rest_of(planned: Cut, made: Cut, job: Job) -> Cut | None:
    """Return what is left of a planned hole that was stopped short, in the hole as it was made; None where it was not."""
    wanted, reached = planned.depth_shoulder_mm, made.depth_shoulder_mm
    if planned.through or wanted is None or reached is None or planned.kind not in ("rim hole", "face hole"):
        return None
    if reached >= wanted or not same_cut(
        dataclasses.replace(planned, depth_shoulder_mm=reached), made, shop=job.shop
    ):
        return None
    return dataclasses.replace(made, depth_shoulder_mm=wanted, from_depth_mm=reached)


def _wish_given_up(job: Job, posed: Posed, *, anew: bool) -> str | None:
    stored = job.stored_plan
    if not anew or stored is None or not stored.wish or stored.after_spin != posed.spin_number:
        return None
    return (
        f"the plan stored before was made with a wish ({'; '.join(stored.wish)}); this one is made by the files, "
        "without it"
    )


def _numbered(job: Job, steps: Sequence[StoredStep]) -> tuple[StoredStep, ...]:
    """Return steps with numbers: a cut that was printed before keeps its own, which is never another cut's; others get new ones.

    Alike are cuts to the last figure that is printed.  Half a step of the stop is another number on the stop, and a
    half-old sheet at the machine would not tell.
    """
    plans = [*([] if job.stored_plan is None else [job.stored_plan]), *reversed(job.former_plans)]
    printed = [step for plan in plans for step in plan.steps]
    taken = {made.number for made in job.cuts_made}
    highest = job.highest_number
    found = []
    for step in steps:
        free = (old for old in printed if old.number not in taken)
        number = next((old.number for old in free if same_cut(old.cut, step.cut, shop=_PRINTED)), 0)
        if not number:
            number = highest = highest + 1
        taken.add(number)
        found.append(dataclasses.replace(step, number=number))
    return tuple(found)


def _outcome_of_kept(
    job: Job, problem: CorrectionProblem, kept: Sequence[StoredStep], fresh: PlanOutcome
) -> PlanOutcome:
    """Return the outcome of the stored steps, with the bound that the fresh search proved for the rest."""
    cuts = tuple(
        PlannedCut(cut=s.cut, effect=effect_on(job.crankshaft, s.cut, shop=job.shop), pinned=s.pinned)
        for s in kept
    )
    report = verify(problem, [planned.cut for planned in cuts])
    return dataclasses.replace(
        fresh,
        feasible=report.keeps_limits,
        cuts=cuts,
        residual_gmm=report.residual_gmm,
        cost=cost_of(problem, cuts),
        proof=Proof(
            fewest_cuts=fresh.proof.fewest_cuts and len(cuts) <= len(fresh.cuts),
            bound_cuts=fresh.proof.bound_cuts,
            stopped_by_time=fresh.proof.stopped_by_time,
        ),
        # what the fresh search weighed and reached is not about these steps
        aim_reached=worst_share(problem, TwoPlanes.vectors(report.residual_gmm)),
        levels=(),
        best_effort=(),
        with_heavy_metal=fresh.with_heavy_metal if len(fresh.with_heavy_metal) < len(cuts) else (),
    )


_PRINTED = Shop(drills_mm=(), depth_step_mm=0.01, angle_step_deg=0.01, slug_radius_step_mm=0.01)


def _answer(
    job: Job,
    posed: Posed,
    known: Mapping[tuple[Cut, ...], Chances],
    outcome: PlanOutcome,
    steps: Sequence[StoredStep],
    *,
    asked: CorrectionProblem,
    budget: Budget,
    extras: bool,
) -> PlanAnswer:
    problem = posed.problem
    # without a plan it stands as it is: not even the pinned cuts are made
    checked = problem if steps else dataclasses.replace(problem, fixed=())
    report = verify(checked, [step.cut for step in steps])
    if report.faults:
        raise BobplanError(
            "the plan failed its own check and is not shown: " + "; ".join(report.faults),
            hint="this is a fault of the program: please report it with the job file",
        )
    residual = TwoPlanes.vectors(report.residual_gmm)
    judged = judged_of(job, posed, residual, foretold=bool(posed.made or steps))
    judged_verdict = overall_verdict(judged)
    cuts = [step.cut for step in steps]
    reading = posed.reading_gmm
    share = plan_share(problem, cuts, reading_gmm=reading, errors=job.errors)
    chances = (known.get(tuple(cuts)) or chances_of(job, posed, cuts)) if outcome.feasible else None
    first: FirstPass | None = None
    if chances is not None and cuts:
        first = first_pass_of(job, posed, cuts, share=share, chances=chances)
        share = first.share
    named = {each.name: each for each in problem.counterweights}
    plan_steps = tuple(_step(job, named[each.cut.counterweight], each, share=share) for each in steps)
    question = dataclasses.replace(posed, problem=asked)
    heavy: HeavyMetal = heavy_metal_of(job, question, outcome, window=extras, seconds=budget)
    ways = None
    if extras and not outcome.feasible and not steps:
        # loaded where there is no plan: most questions have one
        from planner.steps.ways_out import ways_out_of

        ways = ways_out_of(job, problem, window=heavy.window, seconds=budget)
        heavy = with_way_out(heavy, ways, outcome)
    # what the next spin shows: with the bobs and parts that are on now, so the shifts go back out
    next_gmm = residual.plus(posed.not_read_gmm, -1.0)
    settled = bool(posed.made) or (outcome.feasible and not steps)
    odd = questions_about(job, reading_gmm=reading) if posed.made else asked_of_newest(job)
    # no fault by itself, so no question; but who did not expect it wants to know
    far = () if settled else tuple(filter(None, [far_words(job, problem.unbalance_gmm).strip()]))
    answer = PlanAnswer(
        job=job,
        spin_number=posed.spin_number,
        problem=problem,
        outcome=outcome,
        reading_gmm=reading,
        reading_scatter_gmm=posed.reading.scatter_gmm,
        reading_count=posed.reading.count,
        known_error_gmm=TwoPlanes.vectors(posed.known_error_gmm),
        bob_shift_gmm=TwoPlanes.vectors(posed.bob_shift_gmm),
        mounted_shift_gmm=TwoPlanes.vectors(posed.mounted_shift_gmm),
        made_shift_gmm=TwoPlanes.vectors(posed.made_shift_gmm),
        unbalance_gmm=problem.unbalance_gmm,
        steps=plan_steps,
        residual_gmm=residual,
        foretold=next_gmm.shown(job.machine),
        foretold_raw=raw_shown(job, next_gmm),
        judged=judged,
        verdict=judged_verdict,
        heavy_metal=heavy,
        made=tuple((entry.cut, effect) for entry, effect in posed.made),
        questions=job.questions + odd,
        asked=odd,
        notes=(*posed.notes, *far),
        ways_out=ways,
        nothing_fits=nothing_fits_of(job, problem) if not outcome.feasible and not steps else None,
        chances=chances,
        first_pass=first,
    )
    pinned_warnings = tuple(
        f"a pinned cut breaks a rule: {rule_words(job, text)}" for text in report.warnings
    )
    return dataclasses.replace(answer, warnings=(*pinned_warnings, *warnings_of(answer)))


def _step(job: Job, counterweight: Counterweight, stored: StoredStep, *, share: float) -> PlanStep:
    first_mm = first_pass_stop_mm(stored.cut, counterweight, shop=job.shop, share=share)
    step = step_of(job, counterweight, stored.cut, number=stored.number)
    return dataclasses.replace(step, first_pass_mm=first_mm, pinned=stored.pinned)


def step_of(job: Job, counterweight: Counterweight, cut: Cut, *, number: int) -> PlanStep:
    """Return a cut as a step of that number: where it is on the machine, how deep, what it does."""
    from_centre = difference_deg(cut.angle_deg, counterweight.angle_deg)
    radius = counterweight.rim_radius_at_mm(cut.from_middle_mm) or cut.radius_mm or 0.0
    deep = cut.drilled_mm
    return PlanStep(
        number=number,
        cut=cut,
        effect=effect_on(job.crankshaft, cut, shop=job.shop),
        counterweight=counterweight,
        machine_angle_deg=job.machine.machine_angle_deg(cut.angle_deg),
        dial_deg=job.machine.dial_deg(cut.angle_deg),
        from_centre_deg=from_centre,
        from_centre_along_rim_mm=math.radians(from_centre) * radius,
        depth_tip_mm=None if deep is None else deep + job.shop.cone_height_mm(cut.diameter_mm),
        stop_mm=job.shop.stop_of_mm(cut),
        first_pass_mm=None,
        hole=hole_name(job, cut) if cut.deepens else "",
        from_stop_mm=job.shop.stop_before_mm(cut),
    )
