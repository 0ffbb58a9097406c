"""The correction by hand, every step with its numbers, beside the best plan."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from planner.cuts.cut import metal_moved
from planner.formula import Formula, working_lines
from planner.present.document import Block, block, lines
from planner.present.to_json import picked, vector_json, vectors_json
from planner.present.words import amount_words, degrees, length_words, mass_words, percent, plural, row_words
from planner.rotor.vectors import angle_deg, difference_deg, plane_shares
from planner.steps.hand import HandHole, HandPlan, HandSide, is_formed
from planner.steps.plan_answer import PlanAnswer


def hand_blocks(answer: PlanAnswer) -> tuple[Block, ...]:
    """Return the working by hand; empty when it was not asked for."""
    hand = answer.hand
    if hand is None:
        return ()
    left, right = hand.residual_gmm
    remains = (
        f"What would remain: left {amount_words(answer.job, abs(left))}, right {amount_words(answer.job, abs(right))}: "
        f"{percent(hand.share)} of a limit, {'in' if hand.share <= 1.0 else 'OUT OF'} tolerance."
    )
    return (
        block(
            "BY HAND (mm, g, g*mm, angles in the crankshaft's frame; one or two holes in the end counterweight of each side)"
        ),
        _to_the_counterweights(answer, hand),
        *(_side(answer, side, number) for number, side in enumerate(hand.sides, start=2)),
        block("", lines(remains, _difference(answer, hand))),
    )


def _to_the_counterweights(answer: PlanAnswer, hand: HandPlan) -> Block:
    z_1, z_2 = answer.problem.planes_z_mm
    own = [side.counterweight.z_mm for side in hand.sides]
    first, last = (side.counterweight.name for side in hand.sides)
    shares: list[str] = []
    if sorted(own) == sorted((z_1, z_2)):
        head = f"1. The planes are those of the counterweights {first} and {last}: the vectors are taken as they are."
    else:
        head = (
            f"1. From the planes (z = {z_1:g} and {z_2:g}) to the counterweights {first} and {last} (z = {own[0]:g} "
            f"and {own[1]:g}), lever rule: share = (distance to the other counterweight) / (distance between them)"
        )
        for word, z in (("left", z_1), ("right", z_2)):
            to_first, to_last = plane_shares(z, own)
            shares.append(f"{word} plane: {first} x {to_first:.4f}, {last} x {to_last:.4f}")
    vectors = [
        f"{side.counterweight.name}: X {side.vector_gmm.real:+.1f}, Y {side.vector_gmm.imag:+.1f}; U = sqrt(X^2 + Y^2) = "
        f"{abs(side.vector_gmm):.1f}, angle = atan2(Y, X) = {angle_deg(side.vector_gmm):.2f}"
        for side in hand.sides
    ]
    return block(head, lines(*shares, *vectors, level=1))


def _side(answer: PlanAnswer, side: HandSide, number: int) -> Block:
    counterweight = side.counterweight
    vector = side.vector_gmm
    head = (
        f"{number}. Counterweight {counterweight.name}: {abs(vector):.1f} at {angle_deg(vector):.2f}, "
        f"{difference_deg(angle_deg(vector), counterweight.angle_deg):+.1f} from its centre line; {side.note}"
    )
    worked: list[Formula | str] = list(_parallelogram(side)) if len(side.holes) == 2 else []
    for hole in side.holes:
        worked += _depth(answer, side, hole)
    return block(head, lines(*working_lines(worked), level=1))


def _parallelogram(side: HandSide) -> Iterator[Formula | str]:
    first, second = side.holes
    angle = angle_deg(side.vector_gmm)
    one, two = first.cut.angle_deg, second.cut.angle_deg
    yield f"parallelogram with the angles {degrees(one)} and {degrees(two)} on either side of {angle:.2f}:"
    of = {"U angle": math.radians(angle), "angle 1": math.radians(one), "angle 2": math.radians(two)}
    of["U"] = abs(side.vector_gmm)
    for name, symbols, hole in (
        ("u1", "U * sin(angle 2 - U angle) / sin(angle 2 - angle 1)", first),
        ("u2", "U * sin(U angle - angle 1) / sin(angle 2 - angle 1)", second),
    ):
        yield Formula(name, symbols, of, hole.component_gmm, "g*mm", "angles in radians")


def _depth(answer: PlanAnswer, side: HandSide, hole: HandHole) -> Iterator[Formula | str]:
    job, shop = answer.job, answer.problem.shop
    diameter = hole.cut.diameter_mm + shop.hole_oversize_mm
    a, c = diameter / 2.0, shop.cone_height_mm(diameter)
    R = side.counterweight.outline.rim_radius_mm or 0.0
    moment = hole.component_gmm / side.density_g_per_cm3 * 1000.0
    constant = moment / (math.pi * a * a) + a * a / 8.0 - c / 3.0 * (R - c / 4.0)
    of = {"u": hole.component_gmm, "density": side.density_g_per_cm3}
    of |= {"M": moment, "R": R, "a": a, "c": c, "K": constant}
    wanted = Formula("M", "u / density * 1000", of, moment, "mm^4")
    if is_formed(side.counterweight):
        form = side.counterweight.rim
        what = f"a {form.name} rim" if form is not None else "a hole off the middle or tilted"
        yield f"hole at {degrees(hole.cut.angle_deg)}: {what} has no formula of its own, its exact moment is tried:"
        yield wanted
        yield f"a hole {hole.depth_exact_mm:.2f} deep to the shoulder takes M off (`bobplan cut rim --rim ..` tells it)"
    else:
        yield f"hole at {degrees(hole.cut.angle_deg)}: R = {R:g} to the rim, a = d/2 = {a:g}, c = {c:.3f} of point"
        yield wanted
        yield Formula("K", "M / (pi * a^2) + a^2 / 8 - c / 3 * (R - c / 4)", of, constant, "mm^2")
        if (R - c / 3.0) ** 2 >= 2.0 * constant:
            yield Formula("h", "R - c / 3 - sqrt((R - c / 3)^2 - 2 * K)", of, hole.depth_exact_mm, "mm")
    stop = shop.stop_mm(depth_shoulder_mm=hole.cut.depth_shoulder_mm or 0.0, diameter_mm=hole.cut.diameter_mm)
    dial = job.machine.dial_deg(hole.cut.angle_deg)
    yield (
        f"-> dial {degrees(dial)}, {hole.cut.diameter_mm:g} mm drill, {length_words(job, stop)} to the {job.shop.depth_to}"
        f"{row_words(job, hole.cut)}: takes off {-hole.effect.unbalance_gmm:.1f}"
    )


def _difference(answer: PlanAnswer, hand: HandPlan) -> str:
    cuts, best = len(hand.cuts), len(answer.steps)
    if not answer.outcome.feasible:
        return "The planner has no plan either." if hand.share > 1.0 else "By hand it is in tolerance."
    planned = metal_moved(step.effect for step in answer.steps).drilled_g
    share = max(judged.amount_gmm / max(judged.tolerance_gmm, 1e-9) for judged in answer.judged)
    job = answer.job
    return (
        f"Difference to the best plan: by hand {plural(cuts, 'cut')}, {mass_words(job, hand.drilled_g)} drilled, "
        f"{percent(hand.share)} of a limit remains; the plan has {plural(best, 'cut')}, {mass_words(job, planned)} drilled, "
        f"{percent(share)} remains."
    )


def hand_json(hand: HandPlan | None, planes_z_mm: Sequence[float]) -> dict[str, Any] | None:
    """Return the correction by hand as plain data."""
    if hand is None:
        return None
    return {
        "sides": [
            {
                "counterweight": side.counterweight.name,
                **vector_json(side.vector_gmm),
                **picked(side, "single_depth_mm note"),
                "holes": [
                    {
                        **picked(hole.cut, "angle_deg diameter_mm depth_shoulder_mm"),
                        **picked(hole, "component_gmm depth_exact_mm"),
                        **picked(hole.effect, "unbalance_gmm"),
                    }
                    for hole in side.holes
                ],
            }
            for side in hand.sides
        ],
        "cuts": len(hand.cuts),
        **picked(hand, "drilled_g share"),
        "residual": vectors_json(hand.residual_gmm, planes_z_mm),
    }
