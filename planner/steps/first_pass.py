"""How deep to drill first: operators sneak up, because metal can't be put back.

The error model says how far the result may miss; the first pass leaves enough for it.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import Any

from planner.correction.problem import CorrectionProblem
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import is_formed
from planner.cuts.rim_form_hole import rim_form_hole, rim_form_hole_depth_mm
from planner.cuts.rim_hole import rim_hole_depth_mm, rim_hole_first_moment_mm4
from planner.frames import ShaftAngle
from planner.rotor.crankshaft import Counterweight
from planner.rotor.vectors import wrap_deg
from planner.steps.chances import uncertain_cuts
from planner.uncertainty.error_model import ErrorModel

# one-sided 1 % of the normal distribution: an overshoot in at most one spin of a hundred
_ONE_PERCENT = 2.33
# what remains must still point into the drillable sector: three sigma across
_ACROSS = 3.0
_LEAST_SHARE = 0.5
# a second pass's hole is looked for this far around the plan's first one, in steps of that
_ROOM_DEG = 60.0
_ROOM_STEP_DEG = 3.0


def first_pass_share(
    *,
    unbalance_gmm: float,
    tolerance_gmm: float,
    errors: ErrorModel,
    reading_gmm: float | None = None,
    depth_error_gmm: float = 0.0,
    across_error_gmm: float = 0.0,
) -> float:
    """Return the share of an unbalance to take off in the first pass.

    Parameters
    ----------
    unbalance_gmm, tolerance_gmm : float
        Amount to correct and tolerance [g*mm].
    errors : ErrorModel
        Standard uncertainties of drilling and reading.
    reading_gmm : float, optional
        What was read [g*mm], when that is not what has to be corrected.
    depth_error_gmm, across_error_gmm : float
        Standard uncertainties of the removed unbalance from depths, and across its direction from angles [g*mm].

    Returns
    -------
    float
        Between 0.5 and 1.

    Notes
    -----
    With ``s^2 = (reading_percent*U)^2 + reading_absolute^2 + depth_error^2`` the remainder ``b`` is at least
    ``2.33 s - tolerance`` (overshoot
    beyond the tolerance in at most 1 % of the spins) and, once it is not 0, at least three times the error across
    (of the cuts' angles and of the reading's), so that what remains still points to where metal can come off; the share
    is ``1 - b/U``.
    """
    if unbalance_gmm <= 0.0:
        return 1.0
    read = unbalance_gmm if reading_gmm is None else reading_gmm
    sigma = math.hypot(errors.reading_percent / 100.0 * read, errors.reading_absolute_gmm, depth_error_gmm)
    short = max(0.0, _ONE_PERCENT * sigma - tolerance_gmm)
    if short > 0.0:
        across = math.hypot(
            read * math.radians(errors.reading_angle_deg), errors.reading_absolute_gmm, across_error_gmm
        )
        short = max(short, _ACROSS * across)
    return min(1.0, max(_LEAST_SHARE, 1.0 - short / unbalance_gmm))


def plan_share(
    problem: CorrectionProblem,
    cuts: Sequence[Cut],
    *,
    reading_gmm: Sequence[complex],
    errors: ErrorModel,
) -> float:
    """Return the share of every hole's unbalance to take off in the first pass of a plan.

    Parameters
    ----------
    problem : CorrectionProblem
        The question.
    cuts : sequence of Cut
        The plan.
    reading_gmm : sequence of 2 complex
        What was read in the two planes [g*mm].
    errors : ErrorModel
        Standard uncertainties.

    Notes
    -----
    The smallest `first_pass_share` over the limits: every limit sees each cut with its own weight.
    """
    uncertain = uncertain_cuts(problem, cuts)
    shares = [1.0]
    for row in problem.limits:
        weights = [row.weight_of_source(cut.z_mm, problem.planes_z_mm) for cut in uncertain]
        depth = [
            weight * cut.per_depth_gmm_per_mm * errors.depth_mm
            for weight, cut in zip(weights, uncertain, strict=True)
        ]
        across = [
            weight * cut.amount_gmm * math.radians(errors.angle_deg)
            for weight, cut in zip(weights, uncertain, strict=True)
        ]
        shares.append(
            first_pass_share(
                unbalance_gmm=abs(row.seen_gmm(problem.unbalance_gmm)),
                tolerance_gmm=row.tolerance_gmm,
                errors=errors,
                reading_gmm=abs(row.seen_gmm(reading_gmm)),
                depth_error_gmm=math.hypot(*depth) if depth else 0.0,
                across_error_gmm=math.hypot(*across) if across else 0.0,
            )
        )
    return min(shares)


def first_pass_stop_mm(cut: Cut, counterweight: Counterweight, *, shop: Shop, share: float) -> float | None:
    """Return the number on the stop [mm] of the first pass, a whole step, or None where there is no stop.

    ``first_pass`` of the shop is a share of the depth; otherwise ``share`` is a share of the unbalance that the cut
    removes (see `plan_share`).  Of a deepening it is a share of what it adds.
    """
    if cut.depth_shoulder_mm is None or cut.through or cut.kind not in ("rim hole", "face hole"):
        return None
    drill_mm, before_mm = cut.diameter_mm, cut.from_depth_mm
    stop = shop.stop_mm(depth_shoulder_mm=cut.depth_shoulder_mm, diameter_mm=drill_mm)
    if cut.enlarges or (shop.first_pass is None and share >= 1.0):
        return stop  # a wider drill goes down in one pass: half way it has taken most
    start = 0.0 if before_mm is None else shop.stop_mm(depth_shoulder_mm=before_mm, diameter_mm=drill_mm)
    part = share if shop.first_pass is None else shop.first_pass
    first = start + part * (stop - start)
    rim_mm = counterweight.outline.rim_radius_mm
    if shop.first_pass is None and cut.kind == "rim hole" and rim_mm is not None:
        before = 0.0 if before_mm is None else _moment_mm4(cut, counterweight, shop, before_mm)
        after = _moment_mm4(cut, counterweight, shop, cut.depth_shoulder_mm)
        depth = _depth_mm(cut, counterweight, shop, before + share * (after - before))
        first = shop.stop_mm(depth_shoulder_mm=depth, diameter_mm=drill_mm)
    first = _rounded_down(first, stop, shop)
    # a deepening of which a step would add nothing is done at once
    return stop if before_mm is not None and first <= start + 1e-9 else first


def _moment_mm4(cut: Cut, counterweight: Counterweight, shop: Shop, depth_mm: float) -> float:
    """Return the first moment that a rim hole of this depth removes, in a rim of any form [mm4]."""
    drill, rim = _sizes(cut, counterweight, shop)
    if is_formed(cut, counterweight):
        return rim_form_hole(**rim, **drill, depth_shoulder_mm=depth_mm).first_moment_mm4
    return float(rim_hole_first_moment_mm4(**rim, **drill, depth_shoulder_mm=depth_mm))


def _depth_mm(cut: Cut, counterweight: Counterweight, shop: Shop, moment_mm4: float) -> float:
    """Return the shoulder depth that removes a first moment [mm]."""
    drill, rim = _sizes(cut, counterweight, shop)
    if is_formed(cut, counterweight):
        return rim_form_hole_depth_mm(first_moment_mm4=moment_mm4, **rim, **drill)
    return float(rim_hole_depth_mm(first_moment_mm4=moment_mm4, **rim, **drill))


def _sizes(cut: Cut, counterweight: Counterweight, shop: Shop) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the drill of a rim hole; the rim and where the hole lies in it."""
    drill = {
        "diameter_mm": cut.diameter_mm + shop.hole_oversize_mm,
        "point_angle_deg": shop.point_angle_deg,
    }
    if not is_formed(cut, counterweight):
        return drill, {"outer_radius_mm": counterweight.outline.rim_radius_mm or 0.0}
    place = {"from_middle_mm": cut.from_middle_mm, "beside_mm": cut.beside_mm, "tilt_deg": cut.tilt_deg}
    return drill, {"form": counterweight.rim_form(), **place}


def counterweights_without_room(problem: CorrectionProblem, cuts: Sequence[Cut]) -> tuple[str, ...]:
    """Return the counterweights that a plan drills and that leave no room for a second pass.

    Room is: one of the plan's holes there can go a step deeper, or one more hole of the least depth fits beside them.

    Parameters
    ----------
    problem : CorrectionProblem
        The question.
    cuts : sequence of Cut
        The plan.
    """
    names = dict.fromkeys(cut.counterweight for cut in cuts if cut.kind in ("rim hole", "face hole"))
    return tuple(
        name for name in names if not _has_room(problem, [c for c in cuts if c.counterweight == name])
    )


def _has_room(problem: CorrectionProblem, cuts: Sequence[Cut]) -> bool:
    asked = dataclasses.replace(problem, fixed=())
    before = set(verify(asked, cuts).faults)

    def fits(changed: Sequence[Cut]) -> bool:
        return len(verify(asked, changed).faults) <= len(before)

    for index, cut in enumerate(cuts):
        if cut.depth_shoulder_mm is not None and not cut.through:
            deeper = dataclasses.replace(
                cut, depth_shoulder_mm=cut.depth_shoulder_mm + problem.shop.depth_step_mm
            )
            if fits([*cuts[:index], deeper, *cuts[index + 1 :]]):
                return True
    drilled = [cut for cut in cuts if cut.kind == "rim hole"]
    if not drilled:
        return False
    shop = problem.shop
    middle = drilled[0].angle_deg
    reach = round(_ROOM_DEG / shop.angle_step_deg)
    stride = max(1, round(_ROOM_STEP_DEG / shop.angle_step_deg))
    for drill in sorted({cut.diameter_mm for cut in drilled}):
        least = shop.shoulder_depth_mm(stop_mm=shop.least_depth_mm, diameter_mm=drill)
        if least <= 0.0:
            continue
        for step in range(-reach, reach + 1, stride):
            extra = dataclasses.replace(
                drilled[0],
                angle_deg=ShaftAngle(wrap_deg(middle + step * shop.angle_step_deg)),
                diameter_mm=drill,
                depth_shoulder_mm=least,
            )
            if fits([*cuts, extra]):
                return True
    return False


def _rounded_down(first_mm: float, stop_mm: float, shop: Shop) -> float:
    """Return a whole step at or below ``first_mm``, at least the least depth and at most the full depth."""
    steps = math.floor((first_mm - shop.least_depth_mm) / shop.depth_step_mm + 1e-9)
    return min(stop_mm, max(shop.least_depth_mm, shop.least_depth_mm + steps * shop.depth_step_mm))
