"""The same crankshaft, seen otherwise: turned by whole dial steps, mirrored, its counterweights in another order."""

from __future__ import annotations

import cmath
import dataclasses
import math

from geometry_profiles.outline import Outline
from planner.correction.canonical import canonical
from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import Cut
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight
from planner.rotor.vectors import wrap_deg

IMAGES = ("turned", "mirrored", "in another order", "mirrored and turned")
ALL_AT_ONCE = "turned, mirrored, in another order"


def image(problem: CorrectionProblem, name: str) -> CorrectionProblem:
    """Return the problem as it looks in one of the `IMAGES`, or `ALL_AT_ONCE`."""
    if "in another order" in name:
        problem = dataclasses.replace(problem, counterweights=problem.counterweights[::-1])
    if "mirrored" in name:
        problem = _mirrored(problem)
    return _turned(problem, _turn_deg(problem)) if "turned" in name else problem


def described_alike(problem: CorrectionProblem, name: str) -> CorrectionProblem:
    """Return an image as a shop would describe it: a fan is the same fan, whichever way it is seen."""
    seen = image(problem, name)
    fans = {
        each.name: each.outline for each in problem.counterweights if each.outline.half_angle_deg is not None
    }
    return dataclasses.replace(
        seen,
        counterweights=tuple(
            dataclasses.replace(each, outline=fans.get(each.name, each.outline))
            for each in seen.counterweights
        ),
    )


def other_forms(problem: CorrectionProblem) -> list[str]:
    """Return which images of a problem have not its very form, to the last bit."""
    form = canonical(problem).problem
    images = (*IMAGES, ALL_AT_ONCE)
    return [name for name in images if canonical(described_alike(problem, name)).problem != form]


def back(cut: Cut, name: str, problem: CorrectionProblem) -> Cut:
    """Return a cut of an image as the plain problem has it."""
    angle = cut.angle_deg
    if "turned" in name:
        angle -= _turn_deg(problem)
    if "mirrored" in name:
        angle = -angle
    return dataclasses.replace(cut, angle_deg=round(wrap_deg(round(angle, 9)), 9))


def _turn_deg(problem: CorrectionProblem) -> float:
    step = problem.shop.angle_step_deg
    # a step that does not divide the turn leaves a gap in the dial, which would move
    return 0.0 if abs(360.0 / step - round(360.0 / step)) > 1e-9 else step * round(137.0 / step)


def _turned(problem: CorrectionProblem, by: float) -> CorrectionProblem:
    turn = cmath.exp(1j * math.radians(by))
    left, right = problem.unbalance_gmm
    return dataclasses.replace(
        problem,
        unbalance_gmm=TwoPlanes(left * turn, right * turn),
        counterweights=tuple(_moved(each, by, 1.0) for each in problem.counterweights),
        fixed=tuple(dataclasses.replace(cut, angle_deg=cut.angle_deg + by) for cut in problem.fixed),
        oil_drillings=tuple(
            dataclasses.replace(
                one, from_angle_deg=one.from_angle_deg + by, to_angle_deg=one.to_angle_deg + by
            )
            for one in problem.oil_drillings
        ),
    )


def _mirrored(problem: CorrectionProblem) -> CorrectionProblem:
    left, right = problem.unbalance_gmm
    return dataclasses.replace(
        problem,
        unbalance_gmm=TwoPlanes(left.conjugate(), right.conjugate()),
        angle_phase_deg=-problem.angle_phase_deg % problem.shop.angle_step_deg,
        counterweights=tuple(_moved(each, 0.0, -1.0) for each in problem.counterweights),
        fixed=tuple(dataclasses.replace(cut, angle_deg=-cut.angle_deg) for cut in problem.fixed),
        oil_drillings=tuple(
            dataclasses.replace(one, from_angle_deg=-one.from_angle_deg, to_angle_deg=-one.to_angle_deg)
            for one in problem.oil_drillings
        ),
    )


def _moved(counterweight: Counterweight, by: float, sign: float) -> Counterweight:
    keep_outs = []
    for one in counterweight.keep_outs:
        ends = (
            (one.from_angle_deg, one.to_angle_deg) if sign > 0.0 else (-one.to_angle_deg, -one.from_angle_deg)
        )
        keep_outs.append(dataclasses.replace(one, from_angle_deg=ends[0] + by, to_angle_deg=ends[1] + by))
    return dataclasses.replace(
        counterweight,
        angle_deg=sign * counterweight.angle_deg + by,
        outline=counterweight.outline if sign > 0.0 else _mirrored_outline(counterweight.outline),
        existing=tuple(
            dataclasses.replace(hole, angle_deg=sign * hole.angle_deg + by) for hole in counterweight.existing
        ),
        keep_outs=tuple(keep_outs),
    )


def _mirrored_outline(outline: Outline) -> Outline:
    return dataclasses.replace(
        outline,
        boundary_mm=tuple((x, -y) for x, y in outline.boundary_mm[::-1]),
        flanks_mm=tuple(((x2, -y2), (x1, -y1)) for (x1, y1), (x2, y2) in outline.flanks_mm[::-1]),
        rim_arcs_deg=tuple((-end, -start) for start, end in outline.rim_arcs_deg[::-1]),
        flank_names=outline.flank_names[::-1],
    )
