"""What an experienced operator would point out on a plan before anybody cuts."""

from __future__ import annotations

from collections.abc import Iterator

from planner.quantity import percent
from planner.rotor.vectors import plane_shares
from planner.steps.first_pass import counterweights_without_room
from planner.steps.plan_answer import PlanAnswer

# beyond this share one plane's reading error grows more than it is worth (measured: 1.0/1.5/2.4/5.3 -> passes
# 0.89/0.34/0.05/0.002 of the time)
_GREATEST_SHARE = 1.5
# above this many tolerances one pass can't be relied on with a manual drill press
_ONE_PASS_RATIO = 20.0


def warnings_of(answer: PlanAnswer) -> tuple[str, ...]:
    """Return the warnings that belong on a plan, most serious first."""
    return (*_planes(answer), *_one_pass(answer), *_at_limits(answer), *_not_proven(answer))


def _planes(answer: PlanAnswer) -> Iterator[str]:
    planes = answer.problem.planes_z_mm
    worst, name = max(
        (max(abs(share) for share in plane_shares(each.z_mm, planes)), each.name)
        for each in answer.problem.counterweights
    )
    if worst > _GREATEST_SHARE:
        yield (
            f"the reading planes are badly placed for counterweight {name}: its cuts enter one plane {worst:.1f} times "
            "as large, and reading errors with them; set the machine's planes near the end counterweights"
        )


def _one_pass(answer: PlanAnswer) -> Iterator[str]:
    ratio = max(abs(row.seen_gmm(answer.unbalance_gmm)) / row.tolerance_gmm for row in answer.problem.limits)
    short = [
        step
        for step in answer.steps
        if step.first_pass_mm is not None
        and step.stop_mm is not None
        and step.first_pass_mm < step.stop_mm - 1e-9
    ]
    if not answer.steps or (not short and ratio <= _ONE_PASS_RATIO):
        return
    size = f"the unbalance is {ratio:.0f} times the tolerance" if ratio > _ONE_PASS_RATIO else ""
    if not short:
        yield f"{size}: one pass can't be relied on"
        return
    yield (
        f"{size}{': ' if size else ''}one pass can't be relied on; drill to the first-pass depths, spin again, then finish"
    )
    full = counterweights_without_room(answer.problem, [step.cut for step in answer.steps])
    for name in full:
        yield (
            f"after this plan there is no room left on counterweight {name} for a second pass: no hole there can go "
            "deeper and no further one fits; what the next spin shows must be corrected elsewhere"
        )


def _at_limits(answer: PlanAnswer) -> Iterator[str]:
    shop = answer.problem.shop
    for step in answer.steps:
        if step.stop_mm is not None and step.stop_mm > shop.greatest_depth_mm - shop.depth_step_mm / 2:
            yield f"step {step.number} is at the greatest depth the shop allows"
    if not answer.outcome.feasible:
        return
    near = [judged for judged in answer.judged if judged.amount_gmm > 0.9 * judged.tolerance_gmm]
    for judged in near:
        yield (
            f"{judged.at} would stay at {percent(judged.share)} of its limit: "
            "small errors at the drill can put it out"
        )


def _not_proven(answer: PlanAnswer) -> Iterator[str]:
    if answer.outcome.proof.stopped_by_time:
        found = "this is the best plan so far, a better one may exist"
        if not answer.outcome.feasible:
            found = "a plan may exist all the same; more time may find it (`--seconds 60`)"
        yield f"the search was stopped by time: {found}"
