"""One question, one form: turned, mirrored or listed in another order it is the same question and gets the same plan.

The searches below look at things in some order, and where two plans are as good the first one met may win.  So every
question is brought into one form before it is searched: counterweights by their place along the shaft, the crankshaft
turned by whole dial steps until its first counterweight stands near zero, and the one of the two mirror images that
comes first.  The plan found is turned back.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator
from dataclasses import replace

from geometry_profiles.outline import Outline
from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import Cut
from planner.frames import ShaftAngle, TwoPlanes
from planner.records import dataclass
from planner.rotor.crankshaft import Counterweight, ExistingHole, KeepOut, OilDrilling, RoundKeepOut
from planner.rotor.vectors import wrap_deg

_DIGITS = 9
_GMM_DIGITS = 6


@dataclass(frozen=True)
class Canonical:
    """A question in its one form, and the way back."""

    problem: CorrectionProblem
    turned_deg: float
    mirrored: bool

    def back(self, cut: Cut) -> Cut:
        """Return a cut of the canonical question as the user's crankshaft has it."""
        angle = cut.angle_deg + self.turned_deg
        turned = replace(cut, angle_deg=ShaftAngle(_angle(-angle if self.mirrored else angle)))
        return replace(turned, beside_mm=-cut.beside_mm) if self.mirrored and cut.beside_mm else turned


def canonical(problem: CorrectionProblem) -> Canonical:
    """Return a question in the form that all its turned, mirrored and re-ordered versions share."""
    if not problem.counterweights:
        return Canonical(problem, 0.0, mirrored=False)
    forms = [
        _turned(image, first, mirrored=mirrored)
        for mirrored, image in ((False, problem), (True, _mirrored(problem)))
        for first in _first(image)
    ]
    return min(forms, key=lambda form: (_key(form.problem), form.mirrored))


def _first(problem: CorrectionProblem) -> list[Counterweight]:
    """Return the counterweights that may be the first one: alike in everything but where they stand."""
    least = min(_sizes(each) for each in problem.counterweights)
    return [each for each in problem.counterweights if _sizes(each) == least]


def _sizes(counterweight: Counterweight) -> tuple[float, ...]:
    outline = counterweight.outline
    return (
        round(counterweight.z_mm, _DIGITS),
        counterweight.thickness_mm,
        outline.greatest_radius_mm,
        outline.inner_radius_mm,
        outline.half_angle_deg or 0.0,
    )


def _turned(problem: CorrectionProblem, first: Counterweight, *, mirrored: bool) -> Canonical:
    step = problem.shop.angle_step_deg
    turns = 360.0 / step
    # a step that does not divide the turn leaves a gap in the dial that would move
    whole = abs(turns - round(turns)) < 1e-9
    steps = math.floor(wrap_deg(first.angle_deg) / step + 1e-9) if whole else 0
    by = steps * step
    back = cmath.exp(-1j * math.radians(by))
    unbalance = tuple(_rounded(complex(u) * back) for u in problem.unbalance_gmm)
    counterweights = tuple(
        replace(
            each,
            angle_deg=ShaftAngle(_angle(each.angle_deg - by)),
            existing=tuple(
                sorted(
                    (
                        replace(hole, angle_deg=ShaftAngle(_angle(hole.angle_deg - by)))
                        for hole in each.existing
                    ),
                    key=_hole_key,
                )
            ),
            round_keep_outs=tuple(
                sorted(
                    (
                        replace(one, angle_deg=ShaftAngle(_angle(one.angle_deg - by)))
                        for one in each.round_keep_outs
                    ),
                    key=_round_key,
                )
            ),
            keep_outs=tuple(
                sorted(
                    (
                        replace(
                            one,
                            from_angle_deg=ShaftAngle(_angle(one.from_angle_deg - by)),
                            to_angle_deg=ShaftAngle(
                                round(
                                    _angle(one.from_angle_deg - by) + (one.to_angle_deg - one.from_angle_deg),
                                    _DIGITS,
                                )
                            ),
                        )
                        for one in each.keep_outs
                    ),
                    key=_keep_out_key,
                )
            ),
        )
        for each in problem.counterweights
    )
    return Canonical(
        replace(
            problem,
            unbalance_gmm=TwoPlanes.vectors(unbalance),
            angle_phase_deg=round(problem.angle_phase_deg % step, _DIGITS)
            if whole
            else problem.angle_phase_deg,
            counterweights=tuple(sorted(counterweights, key=lambda each: (_sizes(each), each.angle_deg))),
            fixed=tuple(
                replace(cut, angle_deg=ShaftAngle(_angle(cut.angle_deg - by))) for cut in problem.fixed
            ),
            oil_drillings=tuple(
                replace(
                    one,
                    from_angle_deg=ShaftAngle(_angle(one.from_angle_deg - by)),
                    to_angle_deg=ShaftAngle(_angle(one.to_angle_deg - by)),
                )
                for one in problem.oil_drillings
            ),
        ),
        by,
        mirrored,
    )


def _mirrored(problem: CorrectionProblem) -> CorrectionProblem:
    return replace(
        problem,
        unbalance_gmm=TwoPlanes.vectors(each.conjugate() for each in problem.unbalance_gmm),
        angle_phase_deg=-problem.angle_phase_deg,
        counterweights=tuple(_mirrored_counterweight(each) for each in problem.counterweights),
        fixed=tuple(
            replace(cut, angle_deg=ShaftAngle(-cut.angle_deg), beside_mm=0.0 - cut.beside_mm)
            for cut in problem.fixed
        ),
        oil_drillings=tuple(
            replace(
                one,
                from_angle_deg=ShaftAngle(-one.from_angle_deg),
                to_angle_deg=ShaftAngle(-one.to_angle_deg),
            )
            for one in problem.oil_drillings
        ),
    )


def _mirrored_counterweight(counterweight: Counterweight) -> Counterweight:
    return replace(
        counterweight,
        angle_deg=ShaftAngle(-counterweight.angle_deg),
        outline=_mirrored_outline(counterweight.outline),
        existing=tuple(
            replace(hole, angle_deg=ShaftAngle(-hole.angle_deg), beside_mm=0.0 - hole.beside_mm)
            for hole in counterweight.existing
        ),
        round_keep_outs=tuple(
            replace(one, angle_deg=ShaftAngle(-one.angle_deg)) for one in counterweight.round_keep_outs
        ),
        keep_outs=tuple(
            replace(
                one,
                from_angle_deg=ShaftAngle(-one.to_angle_deg),
                to_angle_deg=ShaftAngle(-one.from_angle_deg),
            )
            for one in counterweight.keep_outs
        ),
    )


def _mirrored_outline(outline: Outline) -> Outline:
    if outline.half_angle_deg is not None:
        return outline  # a fan is its own mirror image
    return replace(
        outline,
        boundary_mm=tuple((x, -y) for x, y in reversed(outline.boundary_mm)),
        flanks_mm=tuple(((x2, -y2), (x1, -y1)) for (x1, y1), (x2, y2) in reversed(outline.flanks_mm)),
        rim_arcs_deg=tuple((-end, -start) for start, end in reversed(outline.rim_arcs_deg)),
        flank_names=tuple(reversed(outline.flank_names)),
    )


def _angle(angle_deg: float) -> float:
    wrapped = wrap_deg(round(angle_deg, _DIGITS))
    return 0.0 if wrapped >= 360.0 - 1e-9 else round(wrapped, _DIGITS)


def _rounded(vector: complex) -> complex:
    # + 0.0: no negative zeros
    return complex(round(vector.real, _GMM_DIGITS) + 0.0, round(vector.imag, _GMM_DIGITS) + 0.0)


def _hole_key(hole: ExistingHole) -> tuple[float, ...]:
    plain = hole.angle_deg, hole.diameter_mm, hole.radius_mm or 0.0, hole.depth_shoulder_mm or 0.0
    return *plain, hole.from_middle_mm, hole.beside_mm, hole.tilt_deg


def _round_key(one: RoundKeepOut) -> tuple[float, ...]:
    return one.angle_deg, one.radius_mm, one.diameter_mm


def _keep_out_key(one: KeepOut) -> tuple[float, ...]:
    return one.from_angle_deg, one.to_angle_deg, one.from_radius_mm, one.to_radius_mm


def _key(problem: CorrectionProblem) -> tuple[float, ...]:
    """Return numbers that tell two forms of one question apart."""

    def numbers() -> Iterator[float]:
        for u in problem.unbalance_gmm:
            yield from (u.imag, u.real)
        yield problem.angle_phase_deg
        for each in problem.counterweights:
            yield each.angle_deg
            for hole in each.existing:
                yield from _hole_key(hole)
            for one in each.keep_outs:
                yield from _keep_out_key(one)
            for round_one in each.round_keep_outs:
                yield from _round_key(round_one)
            if each.outline.half_angle_deg is None:
                for x, y in each.outline.boundary_mm:
                    yield from (x, y)
        for cut in problem.fixed:
            yield cut.angle_deg
        for drilling in problem.oil_drillings:
            yield from _oil_key(drilling)

    return tuple(numbers())


def _oil_key(one: OilDrilling) -> tuple[float, ...]:
    return one.from_angle_deg, one.to_angle_deg, one.from_z_mm, one.to_z_mm
