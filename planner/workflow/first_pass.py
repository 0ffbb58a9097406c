"""How deep to drill first: operators sneak up, because metal can't be put back.

The error model says how far the result may miss; the first pass leaves enough for it.
"""

from __future__ import annotations

import math

from planner.assurance.error_model import ErrorModel
from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import Cut, Shop
from planner.cuts.rim_hole import rim_hole_depth_mm, rim_hole_first_moment_mm4
from planner.rotor.crankshaft import Counterweight

# one-sided 1 % of the normal distribution: an overshoot in at most one spin of a hundred
_ONE_PERCENT = 2.33
# what remains must still point into the drillable sector: three sigma across
_ACROSS = 3.0
_LEAST_SHARE = 0.5


def first_pass_share(
    *, unbalance_gmm: float, tolerance_gmm: float, errors: ErrorModel, depth_error_gmm: float = 0.0
) -> float:
    """Return the share of an unbalance to take off in the first pass.

    Parameters
    ----------
    unbalance_gmm, tolerance_gmm : float
        Amount to correct and tolerance [g*mm].
    errors : ErrorModel
        Standard uncertainties of drilling and reading.
    depth_error_gmm : float
        Standard uncertainty of the removed unbalance from depths [g*mm].

    Returns
    -------
    float
        Between 0.5 and 1.

    Notes
    -----
    With ``s^2 = (reading_percent*U)^2 + depth_error^2`` the remainder ``b`` is at least ``2.33 s - tolerance`` (overshoot
    beyond the tolerance in at most 1 % of the spins) and, once it is not 0, at least three times the error across
    (``U * angle error``); the share is ``1 - b/U``.
    """
    if unbalance_gmm <= 0.0:
        return 1.0
    sigma = math.hypot(errors.reading_percent / 100.0 * unbalance_gmm, depth_error_gmm)
    short = max(0.0, _ONE_PERCENT * sigma - tolerance_gmm)
    if short > 0.0:
        across = unbalance_gmm * math.radians(math.hypot(errors.angle_deg, errors.reading_angle_deg))
        short = max(short, _ACROSS * across - tolerance_gmm)
    return min(1.0, max(_LEAST_SHARE, 1.0 - short / unbalance_gmm))


def first_pass_stop_mm(
    cut: Cut, counterweight: Counterweight, *, problem: CorrectionProblem, errors: ErrorModel
) -> float | None:
    """Return the number on the stop [mm] of the first pass, a whole step, or None where there is no stop.

    ``first_pass`` of the shop is a share of the depth; otherwise the share comes from the error model and is a share of
    the unbalance that the cut removes.
    """
    shop = problem.shop
    if cut.depth_shoulder_mm is None or cut.through or cut.kind not in ("rim hole", "face hole"):
        return None
    stop = shop.stop_mm(depth_shoulder_mm=cut.depth_shoulder_mm, diameter_mm=cut.diameter_mm)
    if shop.first_pass is not None:
        return _rounded_down(stop * shop.first_pass, stop, shop)
    share = min(
        first_pass_share(
            unbalance_gmm=abs(
                row.weight_1 * problem.unbalance_gmm[0] + row.weight_2 * problem.unbalance_gmm[1]
            ),
            tolerance_gmm=row.tolerance_gmm,
            errors=errors,
        )
        for row in problem.limits
    )
    if cut.kind == "face hole" or counterweight.outline.rim_radius_mm is None:
        return _rounded_down(stop * share, stop, shop)
    rim = {
        "outer_radius_mm": counterweight.outline.rim_radius_mm,
        "diameter_mm": cut.diameter_mm + shop.hole_oversize_mm,
        "point_angle_deg": shop.point_angle_deg,
    }
    moment = rim_hole_first_moment_mm4(depth_shoulder_mm=cut.depth_shoulder_mm, **rim)
    first = float(rim_hole_depth_mm(first_moment_mm4=share * float(moment), **rim))
    return _rounded_down(shop.stop_mm(depth_shoulder_mm=first, diameter_mm=cut.diameter_mm), stop, shop)


def _rounded_down(first_mm: float, stop_mm: float, shop: Shop) -> float:
    """Return a whole step at or below ``first_mm``, at least the least depth and at most the full depth."""
    steps = math.floor((first_mm - shop.least_depth_mm) / shop.depth_step_mm + 1e-9)
    return min(stop_mm, max(shop.least_depth_mm, shop.least_depth_mm + steps * shop.depth_step_mm))
