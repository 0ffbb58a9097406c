"""The correction as it is done by hand, for a trainee and as a yardstick for the best plan.

Each side is looked after by its own end counterweight.  One hole at the heavy spot if it fits; else the vector is
resolved into two angles by the parallelogram, as close together as walls and flanks allow, and the depth of each hole
comes from the formula.  No other counterweight, no slugs, no more than two holes a side.
"""

from __future__ import annotations

import bisect
import dataclasses
import functools
import math
from collections.abc import Iterator

from geometry_profiles.rims import RimForm
from planner.correction.problem import CorrectionProblem
from planner.correction.verify.verify_plan import broken_rules, verify
from planner.cuts.cut import Cut, CutEffect, Shop
from planner.cuts.effects import effect_of
from planner.cuts.rim_form_hole import rim_form_holes
from planner.errors import InputError
from planner.frames import ShaftAngle, TwoPlanes
from planner.records import dataclass
from planner.rotor.crankshaft import Counterweight
from planner.rotor.vectors import angle_deg, difference_deg, transfer, wrap_deg
from planner.steps.alternatives import end_counterweights

_MOST_TRIES = 400
_FINE_MM = 0.25
_WIDEST_DEG = 150.0


@dataclass(frozen=True, kw_only=True)
class HandHole:
    """One hole: the component it has to take off [g*mm], the depth that the formula gives, and the cut as rounded."""

    component_gmm: float
    depth_exact_mm: float
    cut: Cut
    effect: CutEffect


@dataclass(frozen=True, kw_only=True)
class HandSide:
    """One side: what has to come off its end counterweight [g*mm, crankshaft frame], and the holes for it.

    ``single_depth_mm`` is what one hole at the heavy spot would need, None when no depth would do.  ``note`` says why
    there are two holes, or none.
    """

    counterweight: Counterweight
    vector_gmm: complex
    drill_mm: float
    density_g_per_cm3: float
    single_depth_mm: float | None
    holes: tuple[HandHole, ...]
    note: str


@dataclass(frozen=True, kw_only=True)
class HandPlan:
    """The correction by hand: its sides, what remains [g*mm], and the greatest share of a limit that remains."""

    sides: tuple[HandSide, ...]
    residual_gmm: TwoPlanes[complex]
    share: float
    drilled_g: float

    @property
    def cuts(self) -> tuple[Cut, ...]:
        """All holes."""
        return tuple(hole.cut for side in self.sides for hole in side.holes)


def plan_by_hand(problem: CorrectionProblem) -> HandPlan:
    """Return the correction as it is done by hand.

    Raises
    ------
    InputError
        If the crankshaft has no two end counterweights with a rim, or no drill is allowed.
    """
    ends = [
        each
        for name in end_counterweights(problem.counterweights)
        for each in problem.counterweights
        if each.name == name
    ]
    if len(ends) < 2 or any(each.outline.rim_radius_mm is None for each in ends):
        raise InputError(
            "the method by hand needs two end counterweights with a rim to drill from",
            hint="use the plan without `--method hand`",
        )
    z_1, z_2 = ends[0].z_mm, ends[1].z_mm
    if abs(z_2 - z_1) < 1e-9:
        raise InputError(
            "the two end counterweights are at one z", hint="use the plan without `--method hand`"
        )
    wanted = transfer(problem.unbalance_gmm, problem.planes_z_mm, (z_1, z_2))
    sides = tuple(_side(problem, each, complex(vector)) for each, vector in zip(ends, wanted, strict=True))
    cuts = [hole.cut for side in sides for hole in side.holes]
    report = verify(dataclasses.replace(problem, fixed=()), cuts)
    left, right = report.residual_gmm
    return HandPlan(
        sides=sides,
        residual_gmm=TwoPlanes(complex(left), complex(right)),
        share=max(amount / max(row.tolerance_gmm, 1e-9) for row, amount in report.limits),
        drilled_g=report.mass_removed_g,
    )


def depth_of_moment_mm(
    moment_mm4: float, *, rim_radius_mm: float, diameter_mm: float, cone_mm: float
) -> float | None:
    """Return the shoulder depth of a rim hole with a first moment [mm], by the formula; None when no depth has it.

    ``M = pi a^2 [R h - h^2/2 - a^2/8 + (c/3)(R - h - c/4)]`` solved for h, a quadratic equation.
    """
    a = diameter_mm / 2.0
    middle = rim_radius_mm - cone_mm / 3.0
    constant = moment_mm4 / (math.pi * a * a) + a * a / 8.0 - cone_mm / 3.0 * (rim_radius_mm - cone_mm / 4.0)
    root = middle * middle - 2.0 * constant
    return None if root < 0.0 else middle - math.sqrt(root)


def parallelogram(vector: complex, first_deg: float, second_deg: float) -> tuple[float, float]:
    """Return the two components of a vector along two directions [deg]; a negative one lies outside of the two."""
    amount, angle = abs(vector), angle_deg(vector)
    between = math.sin(math.radians(second_deg - first_deg))
    first = amount * math.sin(math.radians(second_deg - angle)) / between
    second = amount * math.sin(math.radians(angle - first_deg)) / between
    return first, second


def _side(problem: CorrectionProblem, counterweight: Counterweight, vector: complex) -> HandSide:
    shop = problem.shop
    widest = counterweight.thickness_mm - 2.0 * shop.least_wall_mm - shop.hole_oversize_mm
    if is_formed(counterweight) and counterweight.outline.rim_radius_mm is not None:
        place = row_mm(counterweight)
        low, high = counterweight.rim_form().land_mm(place)
        widest = 2.0 * (min(place - low, high - place) - shop.least_wall_mm) - shop.hole_oversize_mm
    drills = [size for size in shop.drills_mm if size <= widest + 1e-9]
    side = HandSide(
        counterweight=counterweight,
        vector_gmm=vector,
        drill_mm=max(drills, default=0.0),
        density_g_per_cm3=problem.density_of(counterweight),
        single_depth_mm=None,
        holes=(),
        note="",
    )
    tolerance = min(row.tolerance_gmm for row in problem.limits)
    if abs(vector) <= 0.5 * tolerance:
        return dataclasses.replace(side, note="less than half of the limit: nothing to drill here")
    if not drills or "rim hole" not in shop.allow or "rim hole" not in counterweight.cuts:
        return dataclasses.replace(side, note="no rim hole may be drilled here")
    if counterweight.name in shop.forbid:
        return dataclasses.replace(side, note="this counterweight is to be left alone")
    angle = angle_deg(vector)
    single = _hole(problem, side, abs(vector), angle)
    needed = None if single is None else single.depth_exact_mm
    side = dataclasses.replace(side, single_depth_mm=needed)
    why = _why_not(problem, side, single)
    if single is not None and not why:
        return dataclasses.replace(side, holes=(single,), note="one hole at the heavy spot")
    for first, second in _pairs(problem, counterweight, angle, side.drill_mm):
        shares = parallelogram(vector, first, second)
        if min(shares) <= 0.0:
            continue
        cuts = [_cut(problem, side, share, at) for share, at in zip(shares, (first, second), strict=True)]
        if any(cut is None for cut in cuts) or _misfits(problem, [cut[1] for cut in cuts if cut is not None]):
            continue
        holes = [_hole(problem, side, share, at) for share, at in zip(shares, (first, second), strict=True)]
        both = tuple(hole for hole in holes if hole is not None)
        if len(both) == 2:
            return dataclasses.replace(
                side, holes=both, note=f"one hole does not do ({why}): two, by the parallelogram"
            )
    beside = abs(difference_deg(angle, counterweight.angle_deg))
    half = counterweight.outline.half_angle_deg
    where = (
        f"the heavy spot lies {beside:.0f} degrees from the centre line, beyond the flank at {half:.0f}: "
        "metal would have to go in, not off"
        if half is not None and beside > half
        else "two holes do not do it: the rest would have to come off another counterweight"
    )
    return dataclasses.replace(side, note=where)


def _why_not(problem: CorrectionProblem, side: HandSide, single: HandHole | None) -> str:
    if single is None:
        return "its depth would be outside of what the shop drills"
    misfits = _misfits(problem, [single.cut])
    return misfits[0] if misfits else ""


def _hole(problem: CorrectionProblem, side: HandSide, amount_gmm: float, at_deg: float) -> HandHole | None:
    """Return a hole of that amount, rounded to the shop's steps; None when its depth is outside the limits."""
    found = _cut(problem, side, amount_gmm, at_deg)
    if found is None:
        return None
    exact, cut = found
    effect = effect_of(
        cut,
        counterweight=side.counterweight,
        density_g_per_cm3=side.density_g_per_cm3,
        shop=problem.shop,
    )
    return HandHole(component_gmm=amount_gmm, depth_exact_mm=exact, cut=cut, effect=effect)


def _cut(
    problem: CorrectionProblem, side: HandSide, amount_gmm: float, at_deg: float
) -> tuple[float, Cut] | None:
    """Return the depth of a hole of that amount [mm], and the hole on the shop's steps; None outside the limits."""
    shop, rim = problem.shop, side.counterweight.outline.rim_radius_mm or 0.0
    diameter = side.drill_mm + shop.hole_oversize_mm
    moment = amount_gmm / side.density_g_per_cm3 * 1000.0
    if is_formed(side.counterweight):
        exact = _formed_depth_mm(side.counterweight, shop, diameter, moment)
    else:
        exact = depth_of_moment_mm(
            moment, rim_radius_mm=rim, diameter_mm=diameter, cone_mm=shop.cone_height_mm(diameter)
        )
    if exact is None:
        return None
    stop = shop.stop_mm(depth_shoulder_mm=exact, diameter_mm=side.drill_mm)
    steps = round((stop - shop.least_depth_mm) / shop.depth_step_mm)
    rounded = shop.least_depth_mm + steps * shop.depth_step_mm
    if steps < 0 or rounded > shop.greatest_depth_mm + 1e-9:
        return None
    grid = round((at_deg - problem.angle_phase_deg) / shop.angle_step_deg)
    cut = Cut(
        kind="rim hole",
        counterweight=side.counterweight.name,
        angle_deg=ShaftAngle(wrap_deg(problem.angle_phase_deg + grid * shop.angle_step_deg)),
        diameter_mm=side.drill_mm,
        depth_shoulder_mm=shop.shoulder_depth_mm(stop_mm=rounded, diameter_mm=side.drill_mm),
        from_middle_mm=row_mm(side.counterweight),
        tilt_deg=side.counterweight.rim_hole_tilt_deg,
    )
    if (cut.depth_shoulder_mm or 0.0) <= 0.0:
        return None
    return exact, cut


def row_mm(counterweight: Counterweight) -> float:
    """Return the row that is drilled by hand, from the middle plane [mm]: the one with most rim to either side of it."""
    if counterweight.outline.rim_radius_mm is None:
        return counterweight.usual_row_mm
    form = counterweight.rim_form()

    def room(place: float) -> tuple[float, float]:
        low, high = form.land_mm(place)
        return min(place - low, high - place), -abs(place)

    return max(counterweight.rim_rows_mm, key=room, default=0.0)


def is_formed(counterweight: Counterweight) -> bool:
    """Return whether rim holes of a counterweight are other than plain ones: the closed formula does not hold then."""
    return (
        counterweight.rim is not None
        or row_mm(counterweight) != 0.0
        or counterweight.rim_hole_tilt_deg != 0.0
    )


def _formed_depth_mm(
    counterweight: Counterweight, shop: Shop, diameter_mm: float, moment_mm4: float
) -> float | None:
    """Return the depth of a hole in a rim that is not plain [mm], between the exact moments of close depths; None: beyond.

    A quarter of a millimetre between depths is good to some ten thousandths: the moment is nearly straight in between.
    """
    if counterweight.outline.rim_radius_mm is None:
        return None
    depths, moments = _moments(
        counterweight.rim_form(),
        diameter_mm,
        shop.point_angle_deg,
        row_mm(counterweight),
        counterweight.rim_hole_tilt_deg,
        shop.greatest_depth_mm + shop.depth_step_mm,
    )
    place = bisect.bisect_left(moments, moment_mm4)
    if not 0 < place < len(moments):
        return None
    share = (moment_mm4 - moments[place - 1]) / (moments[place] - moments[place - 1])
    return depths[place - 1] + share * (depths[place] - depths[place - 1])


@functools.lru_cache(maxsize=64)
def _moments(
    form: RimForm,
    diameter_mm: float,
    point_angle_deg: float,
    from_middle_mm: float,
    tilt_deg: float,
    deepest_mm: float,
) -> tuple[list[float], list[float]]:
    """Return depths to the shoulder [mm] from 0 on and the exact moments of holes that deep [mm4]."""
    count = int(min(deepest_mm, form.radius_mm(from_middle_mm) - diameter_mm) / _FINE_MM)
    depths = [_FINE_MM * number for number in range(1, count + 1)]
    holes = rim_form_holes(
        form=form,
        diameter_mm=diameter_mm,
        depths_shoulder_mm=tuple(depths),
        point_angle_deg=point_angle_deg,
        from_middle_mm=from_middle_mm,
        tilt_deg=tilt_deg,
    )
    return depths, [hole.first_moment_mm4 for hole in holes]


def _misfits(problem: CorrectionProblem, cuts: list[Cut]) -> tuple[str, ...]:
    """Return why cuts do not fit, without the name of the cut."""
    faults = broken_rules(dataclasses.replace(problem, fixed=()), cuts)
    return tuple(text.split(": ", 1)[-1] for text in faults)


def _pairs(
    problem: CorrectionProblem, counterweight: Counterweight, angle: float, drill_mm: float
) -> Iterator[tuple[float, float]]:
    """Yield pairs of dial angles [deg] around the heavy spot, the closest first, as even as can be."""
    step, phase = problem.shop.angle_step_deg, problem.angle_phase_deg
    rim = counterweight.outline.rim_radius_mm or 1.0
    # two holes side by side at the rim are never closer than this
    closest = math.degrees((drill_mm + problem.shop.least_wall_mm) / rim)
    below = math.floor((angle - phase) / step)
    count = 0
    for apart in range(max(1, int(closest / step)), int(_WIDEST_DEG / step) + 1):
        # the lower angle at or below the heavy spot, the upper one above it, evenly first
        lowers = sorted(range(apart), key=lambda lower: (abs(2 * lower + 1 - apart), lower))
        for lower in lowers[:: max(1, len(lowers) // 7)]:
            first = phase + (below - lower) * step
            yield first, first + apart * step
            count += 1
            if count >= _MOST_TRIES:
                return
