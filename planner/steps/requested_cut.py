"""A cut that the operator wants, as he would say it, and the depth for it when he leaves that to the planner."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Sequence

from planner.correction.budget import Budget, budget_of
from planner.correction.candidates.extent import refuse_too_many
from planner.correction.ordering import planned
from planner.correction.problem import CorrectionProblem, PlanOutcome
from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut
from planner.cuts.deepening import PLACE_MM, can_be_deepened, can_be_enlarged, cut_in_hole
from planner.errors import InputError
from planner.frames import Dial
from planner.jobfile.job import Job
from planner.quantity import parse_angle_deg
from planner.records import dataclass
from planner.rotor.crankshaft import FILLS, Counterweight, CutKind, ExistingHole, Face
from planner.rotor.drills import parse_drill_mm
from planner.rotor.vectors import difference_deg, vector_gmm
from planner.steps.correction_question import counterweight_named, effect_on, pose

KIND_WORDS: dict[str, CutKind] = {
    "rim hole": "rim hole",
    "rim": "rim hole",
    "face hole": "face hole",
    "face": "face hole",
    "slug": "slug",
    "fill": "fill",
    "plug": "plug",
    "rim turning": "rim turning",
    "turning": "rim turning",
    "flat": "flat",
    "bevel": "bevel",
}
GRAMMAR = (
    'say it like "16 mm at 131 on A, depth 22"; the angle is the one to dial; without `depth` the planner chooses it; '
    'a rim hole may have "row -7" (from the middle toward the rear), "beside 3", "tilt 5"; '
    'other cuts: "face hole 14 mm at 131 on A, radius 70, through", "slug 19 mm at 131 on A, radius 72", and a hole that is '
    'there: "hole 1 on A deeper to 27", "old hole at 131 on A deeper to 27", "hole 1 on A drilled out to 16 mm, depth 27"; '
    'off the rim: "turning 1.5 mm over 60 at 131 on A", '
    '"flat 3 mm at 131 on A", "bevel 2 mm over 60 at 131 on A, from rear"'
)
_DEGREES = r"\s*(?:deg|degrees|°)?"
_DIAL = rf"at\s+(?P<angle>[-+]?[0-9.]+){_DEGREES}"
_OPEN_HOLE = rf"^\s*(?:hole\s+(?P<number>\d+)|old\s+hole\s+{_DIAL})\s+on\s+(?P<name>.+?)\s*,?\s+"
_ON_RIM = re.compile(
    rf"^\s*(?P<kind>rim turning|turning|flat|bevel)\s+(?P<size>.+?)(?:\s+over\s+(?P<sector>[0-9.]+){_DEGREES})?"
    rf"\s+{_DIAL}\s+on\s+(?P<name>.+?)"
    r"(?:\s*,\s*from\s+(?P<face>front|rear))?\s*$",
    re.IGNORECASE,
)
_WISH = re.compile(
    r"^\s*(?:(?P<kind>rim hole|face hole|rim|face|slug|fill|plug)\s+)?(?P<size>.+?)\s+"
    rf"{_DIAL}\s+on\s+(?P<rest>.+?)\s*$",
    re.IGNORECASE,
)
_DEEPER = re.compile(rf"{_OPEN_HOLE}deeper(?:\s+to\s+(?P<depth>.+?))?\s*$", re.IGNORECASE)
_WIDER = re.compile(
    rf"{_OPEN_HOLE}drilled\s+out\s+to\s+(?P<size>.+?)(?:\s*,\s*depth\s+(?P<depth>.+?))?\s*$", re.IGNORECASE
)
_COARSE = (0.0, 0.25, 0.5, 0.75, 1.0)


@dataclass(frozen=True, kw_only=True)
class PinnedWish:
    """A cut that is wanted; ``depth_open`` means that its depth is still to be chosen."""

    cut: Cut
    depth_open: bool = False


def read_wish(text: str, job: Job) -> PinnedWish:
    """Return the cut that a text like ``16 mm at 131 on A, depth 22`` asks for.

    Sizes are in the job's units, the angle is the one to dial (drill offset included), the depth counts as the shop's
    ``depth_to`` says.

    Raises
    ------
    InputError
        If the text can't be read, the counterweight does not exist or a size is impossible.
    """
    for form, wish in ((_DEEPER, _deeper_wish), (_WIDER, _wider_wish), (_ON_RIM, _rim_wish)):
        found = form.match(text)
        if found is not None:
            return wish(found, text, job)
    match = _WISH.match(text)
    if match is None:
        raise InputError(f"`{text}` can't be read as a cut", hint=GRAMMAR)
    kind = KIND_WORDS[(match["kind"] or "rim hole").lower()]
    name, *details = [part.strip() for part in match["rest"].split(",")]
    units = job.units
    diameter = parse_drill_mm(match["size"], units, name="the drill's size")
    dial = _angle(match["angle"], text)
    numbers: dict[str, float] = {}
    through = False
    face: Face = "front"
    for detail in details:
        word, _, value = detail.partition(" ")
        word, value = word.lower(), value.strip()
        if word == "through" and not value:
            through = True
        elif word == "from" and value in ("front", "rear"):
            face = "front" if value == "front" else "rear"
        elif word in ("row", "beside") and value and kind == "rim hole":
            numbers[word] = units.parse(value, "length", name=word)
        elif word == "tilt" and value and kind == "rim hole":
            numbers[word] = parse_angle_deg(value, name=word)
        elif word in ("depth", "radius", "length") and value:
            numbers[word] = units.parse(value, "length", above=0.0, name=word)
        else:
            raise InputError(f"`{detail}` in `{text}` can't be read", hint=GRAMMAR)
    _check_details(kind, numbers, through, text)
    depth = numbers.get("depth")
    if depth is not None:
        depth = job.shop.shoulder_depth_mm(stop_mm=depth, diameter_mm=diameter)
        if depth <= 0.0:
            raise InputError(
                f"a depth of {units.text(numbers['depth'], 'length')} to the {job.shop.depth_to} leaves no "
                "full-diameter hole",
                hint="give the number that stands on the stop",
            )
    own = next((each for each in job.crankshaft.counterweights if each.name == name), None)
    rim = kind == "rim hole" and own is not None
    open_depth = kind in ("rim hole", "face hole") and depth is None and not through
    cut = Cut(
        kind=kind,
        counterweight=name,
        angle_deg=job.machine.under_drill_deg(dial),
        diameter_mm=diameter,
        depth_shoulder_mm=depth,
        radius_mm=numbers.get("radius"),
        length_mm=numbers.get("length"),
        through=through or (kind in ("slug", *FILLS) and "length" not in numbers),
        face=face,
        from_middle_mm=numbers.get("row", own.usual_row_mm if rim and own is not None else 0.0),
        beside_mm=numbers.get("beside", 0.0),
        tilt_deg=numbers.get("tilt", own.rim_hole_tilt_deg if rim and own is not None else 0.0),
    )
    # what can't be is refused here, with the words of the cut itself
    least = dataclasses.replace(cut, depth_shoulder_mm=job.shop.least_depth_mm) if open_depth else cut
    effect_on(job.crankshaft, least, shop=job.shop)
    check_place(cut, job.crankshaft.counterweight(name), text)
    return PinnedWish(cut=cut, depth_open=open_depth)


def _angle(found: str, text: str) -> Dial:
    """Return an angle that stands in a wish."""
    try:
        return Dial(float(found))
    except ValueError:
        raise InputError(f"`{found}` in `{text}` is not an angle", hint=GRAMMAR) from None


def _rim_wish(match: re.Match[str], text: str, job: Job) -> PinnedWish:
    """Return the cut of the rim that a text like ``turning 1.5 mm over 60 at 131 on A`` asks for."""
    kind = KIND_WORDS[match["kind"].lower()]
    if (match["sector"] is None) == (kind != "flat"):
        raise InputError(
            f"`{text}`: a {kind} has {'no sector' if kind == 'flat' else 'a sector, `over 60`'}", hint=GRAMMAR
        )
    if match["face"] is not None and kind != "bevel":
        raise InputError(f"`{text}`: only a bevel is on one face", hint=GRAMMAR)
    name = match["name"].strip()
    try:
        dial, sector = float(match["angle"]), float(match["sector"] or 0.0)
    except ValueError:
        raise InputError(f"`{text}` has something that is not an angle", hint=GRAMMAR) from None
    cut = Cut(
        kind=kind,
        counterweight=name,
        angle_deg=job.machine.under_drill_deg(Dial(dial)),
        diameter_mm=0.0,
        depth_shoulder_mm=job.units.parse(match["size"], "length", above=0.0, name="how far off the radius"),
        face="rear" if (match["face"] or "").lower() == "rear" else "front",
        sector_deg=sector if kind != "flat" else None,
        slope_deg=job.shop.bevel_slope_deg if kind == "bevel" else None,
    )
    effect_on(job.crankshaft, cut, shop=job.shop)
    check_place(cut, job.crankshaft.counterweight(name), text)
    return PinnedWish(cut=cut)


def _as_it_is_now(job: Job, name: str) -> Counterweight:
    """Return a counterweight as it is under the drill now: the cuts made since the spin are in those of the question.

    Raises
    ------
    InputError
        If there is none of that name.
    """
    now = pose(job).problem.counterweights
    return counterweight_named(dataclasses.replace(job.crankshaft, counterweights=now), name)


def _deeper_wish(match: re.Match[str], text: str, job: Job) -> PinnedWish:
    """Return the deepening that a text like ``hole 1 on A deeper to 27`` asks for."""
    name = match["name"]
    counterweight = _as_it_is_now(job, name)
    hole = _hole_named(match, text, job, counterweight)
    shop, units = job.shop, job.units
    start = hole.depth_shoulder_mm
    assert start is not None
    drill = hole.diameter_mm - shop.hole_oversize_mm
    depth = None
    if match["depth"] is not None:
        stop = units.parse(match["depth"], "length", above=0.0, name="the depth")
        depth = shop.shoulder_depth_mm(stop_mm=stop, diameter_mm=drill)
    cut = cut_in_hole(hole, name, diameter_mm=drill, depth_shoulder_mm=depth, from_depth_mm=start)
    if depth is not None and depth <= start:
        there = units.text(shop.stop_mm(depth_shoulder_mm=start, diameter_mm=drill), "length")
        raise InputError(
            f"`{text}`: the hole is {there} deep to the {shop.depth_to} already",
            hint="say the number that is to stand on the stop for the whole hole",
        )
    least = (
        cut if depth is not None else dataclasses.replace(cut, depth_shoulder_mm=start + shop.depth_step_mm)
    )
    effect_on(job.crankshaft, least, shop=shop)
    return PinnedWish(cut=cut, depth_open=depth is None)


def _wider_wish(match: re.Match[str], text: str, job: Job) -> PinnedWish:
    """Return the hole drilled out wider that a text like ``hole 1 on A drilled out to 16 mm`` asks for."""
    name = match["name"]
    counterweight = _as_it_is_now(job, name)
    hole = _hole_named(match, text, job, counterweight, wider=True)
    shop, units = job.shop, job.units
    drill = parse_drill_mm(match["size"], units, name="the drill's size")
    if drill + shop.hole_oversize_mm <= hole.diameter_mm + PLACE_MM:
        there = units.text(hole.diameter_mm, "length")
        raise InputError(
            f"`{text}`: the hole is {there} wide already", hint="a hole is drilled out with a wider drill"
        )
    depth = hole.depth_shoulder_mm
    if match["depth"] is not None:
        if hole.through:
            raise InputError(f"`{text}`: the hole goes through, it has no depth", hint=GRAMMAR)
        stop = units.parse(match["depth"], "length", above=0.0, name="the depth")
        depth = shop.shoulder_depth_mm(stop_mm=stop, diameter_mm=drill)
    cut = cut_in_hole(
        hole,
        name,
        diameter_mm=drill,
        depth_shoulder_mm=None if hole.through else depth,
        through=hole.through,
        from_depth_mm=None if hole.through else hole.depth_shoulder_mm,
        from_diameter_mm=hole.diameter_mm,
    )
    effect_on(job.crankshaft, cut, shop=shop)
    return PinnedWish(cut=cut)


def _hole_named(
    match: re.Match[str], text: str, job: Job, counterweight: Counterweight, *, wider: bool = False
) -> ExistingHole:
    """Return the open hole that a wish names, by its cut's number or by its dial."""
    number, angle = match["number"], match["angle"]
    if number is not None:
        made = next((each for each in job.cuts_made if each.number == int(number)), None)
        if made is None or made.cut.counterweight != counterweight.name:
            there = ", ".join(
                f"hole {each.number} on {each.cut.counterweight}"
                for each in job.cuts_made
                if each.cut.kind in ("rim hole", "face hole") and not each.cut.deepens
            )
            raise InputError(
                f"`{text}`: there is no hole {number} on {counterweight.name}",
                hint=f"made are {there}"
                if there
                else 'no hole is entered as made yet; an old one: "old hole at 213 on A ..."',
            )
        wanted, kind, radius = made.cut.angle_deg, made.cut.kind, made.cut.radius_mm
        candidates = [
            hole
            for hole in counterweight.existing
            if hole.kind == kind and (radius is None or abs((hole.radius_mm or 0.0) - radius) < 1e-3)
        ]
        within = 1e-3
    else:
        wanted = job.machine.under_drill_deg(_angle(angle, text))
        candidates, within = list(counterweight.existing), 0.51 * job.shop.angle_step_deg
    found = [
        hole
        for hole in candidates
        if abs(difference_deg(hole.angle_deg, wanted)) <= within
        and (can_be_enlarged if wider else can_be_deepened)(hole, shop=job.shop)
    ]
    if not found:
        raise InputError(
            f"`{text}`: there is no hole there that can be drilled {'out wider' if wider else 'deeper'}",
            hint="it must be open and have the point of the shop's drills, or be a face hole that goes through"
            if wider
            else "it must be open, not through, and have the point of the shop's drills",
        )
    return found[0]


def has_metal(cut: Cut, counterweight: Counterweight) -> bool:
    """Return whether a counterweight has metal at all where a cut would be."""
    outline = counterweight.outline
    beside = difference_deg(cut.angle_deg, counterweight.angle_deg)
    if cut.kind == "rim hole" or cut.on_rim:
        return any(
            start <= beside + turn <= end for start, end in outline.rim_arcs_deg for turn in (-360, 0, 360)
        )
    from shapely import Point

    place = vector_gmm(cut.radius_mm or 0.0, beside)
    return bool(outline.polygon().covers(Point(place.real, place.imag)))


def check_place(cut: Cut, counterweight: Counterweight, text: str) -> None:
    """Refuse a cut where the counterweight has no metal at all; a wall that is too thin is only warned of."""
    if not has_metal(cut, counterweight):
        beside = difference_deg(cut.angle_deg, counterweight.angle_deg)
        half = counterweight.outline.half_angle_deg
        reach = "" if half is None else f" (it reaches {half:g} to either side)"
        raise InputError(
            f"`{text}`: counterweight {cut.counterweight} has no metal there, {abs(beside):.0f} degrees from its centre "
            f"line{reach}",
            hint="the angle is the one to dial, in the machine's counting; the plan shows it for every cut",
        )


def _check_details(kind: CutKind, numbers: dict[str, float], through: bool, text: str) -> None:
    allowed = {
        "rim hole": ("depth", "row", "beside", "tilt"),
        "face hole": ("depth", "radius"),
        "slug": ("radius", "length"),
        "fill": ("radius", "length"),
        "plug": ("radius", "length"),
    }.get(kind, ())
    for word in numbers:
        if word not in allowed:
            raise InputError(f"a {kind} has no {word}: `{text}`", hint=GRAMMAR)
    if kind != "rim hole" and "radius" not in numbers:
        raise InputError(f"a {kind} needs the radius of its axis: `{text}`", hint=GRAMMAR)
    if through and (kind == "rim hole" or "depth" in numbers or "length" in numbers):
        raise InputError(f"`through` does not go with the rest of `{text}`", hint=GRAMMAR)


@dataclass(frozen=True, kw_only=True)
class ChosenDepths:
    """Pinned cuts with all their depths, and how many sets of depths were tried."""

    cuts: tuple[Cut, ...]
    tried: int


def choose_depths(
    problem: CorrectionProblem,
    wishes: Sequence[PinnedWish],
    *,
    seconds: float | Budget = 10.0,
) -> ChosenDepths:
    """Return the wanted cuts with the depths that give the best plan of those tried.

    Parameters
    ----------
    problem : CorrectionProblem
        The question; its ``fixed`` are kept.
    wishes : sequence of PinnedWish
        What is wanted.
    seconds : float or Budget
        Outer stop [s].

    Notes
    -----
    First the depths that leave least by themselves (vector sums over the whole grid of depths); when other cuts are
    needed too, plans are made for depths spread over the range and then ever closer to the best of them.  Best means:
    in tolerance, fewest cuts, closest to zero, least cost.  It is the best of what was tried, not a proof.
    """
    if not any(wish.depth_open for wish in wishes):
        return ChosenDepths(cuts=tuple(wish.cut for wish in wishes), tried=0)
    budget = budget_of(seconds)
    choices = [_depths_of(problem, wish) for wish in wishes]
    best = _least_left(problem, choices)
    scores: dict[tuple[int, ...], tuple[float, ...]] = {}

    def score(index: tuple[int, ...]) -> tuple[float, ...]:
        if index not in scores:
            budget.say("choosing the depth of a pinned cut")
            cuts = tuple(choice[at] for choice, at in zip(choices, index, strict=True))
            asked = dataclasses.replace(problem, fixed=(*problem.fixed, *cuts))
            scores[index] = _rank(find_plan(asked, seconds=budget))
        return scores[index]

    pinned = len(problem.fixed) + len(wishes)
    if score(best)[:2] == (0.0, float(pinned)):
        return _chosen(choices, best, len(scores))
    for which, choice in enumerate(choices):
        if len(choice) < 2:
            continue
        step = (len(choice) - 1) / 4.0
        tries = [round(share * (len(choice) - 1)) for share in _COARSE]
        while True:
            for at in tries:
                index = (*best[:which], at, *best[which + 1 :])
                if not budget.late() and score(index) < score(best):
                    best = index
            if step <= 1.0 or budget.late():
                break
            step /= 2.0
            middle = best[which]
            tries = [at for at in (middle - round(step), middle + round(step)) if 0 <= at < len(choice)]
    return _chosen(choices, best, len(scores))


def _chosen(choices: Sequence[Sequence[Cut]], index: tuple[int, ...], tried: int) -> ChosenDepths:
    return ChosenDepths(
        cuts=tuple(choice[at] for choice, at in zip(choices, index, strict=True)), tried=tried
    )


def _rank(outcome: PlanOutcome) -> tuple[float, ...]:
    """Return what a plan is worth, smaller is better."""
    if not outcome.feasible:
        return 1.0, outcome.aim_reached if outcome.aim_reached is not None else float("inf"), 0.0, 0.0
    # as close as to a fiftieth of a limit counts as equal
    share = round(50.0 * (outcome.aim_reached or 0.0))
    return 0.0, float(len(outcome.cuts)), float(share), outcome.cost


def _depths_of(problem: CorrectionProblem, wish: PinnedWish) -> tuple[Cut, ...]:
    """Return the wanted cut at every depth of the grid that breaks no wall; at least one."""
    if not wish.depth_open:
        return (wish.cut,)
    shop = problem.shop
    counterweight = next(each for each in problem.counterweights if each.name == wish.cut.counterweight)
    refuse_too_many(problem, counterweight, wish.cut.kind)
    count = int((shop.greatest_depth_mm - shop.least_depth_mm) / shop.depth_step_mm + 1e-9) + 1
    start = wish.cut.from_depth_mm or 0.0
    shoulders = [
        shop.shoulder_depth_mm(
            stop_mm=shop.least_depth_mm + n * shop.depth_step_mm, diameter_mm=wish.cut.diameter_mm
        )
        for n in range(count)
    ]
    cuts = [dataclasses.replace(wish.cut, depth_shoulder_mm=depth) for depth in shoulders if depth > start]
    if not cuts:  # a hole at the greatest depth already: what can't be is said by the verification
        return (dataclasses.replace(wish.cut, depth_shoulder_mm=start + shop.depth_step_mm),)
    least = len(_complaints(problem, cuts[0]))
    low, high = 0, len(cuts)
    while high - low > 1:
        middle = (low + high) // 2
        if len(_complaints(problem, cuts[middle])) <= least:
            low = middle
        else:
            high = middle
    return tuple(cuts[: low + 1])


def _complaints(problem: CorrectionProblem, cut: Cut) -> tuple[str, ...]:
    """Return the rules that a pinned cut breaks by itself."""
    report = verify(dataclasses.replace(problem, fixed=(*problem.fixed, cut)), [*problem.fixed, cut])
    return (*report.faults, *report.warnings)


def _least_left(problem: CorrectionProblem, choices: Sequence[Sequence[Cut]]) -> tuple[int, ...]:
    """Return the depths that leave least by themselves, limit by limit as shares of the tolerances."""
    rows = problem.limits
    fixed = [_shares(problem, cut) for cut in problem.fixed]
    start = [
        row.seen_gmm(problem.unbalance_gmm) + sum(each[number] for each in fixed)
        for number, row in enumerate(rows)
    ]
    tables = [[_shares(problem, cut) for cut in choice] for choice in choices]
    best = [0] * len(choices)
    for _ in range(20):
        before = list(best)
        for which, table in enumerate(tables):
            rest = [
                value
                + sum(tables[other][best[other]][number] for other in range(len(tables)) if other != which)
                for number, value in enumerate(start)
            ]
            best[which] = min(
                range(len(table)),
                key=lambda at: sum(
                    (abs(left + table[at][number]) / max(rows[number].tolerance_gmm, 1e-9)) ** 2
                    for number, left in enumerate(rest)
                ),
            )
        if best == before:
            break
    return tuple(best)


def _shares(problem: CorrectionProblem, cut: Cut) -> list[complex]:
    """Return what a cut changes in every limit row [g*mm]."""
    effect = planned(problem, cut).effect
    vector = effect.vector_gmm(cut.angle_deg)
    return [row.weight_of_source(effect.z_mm, problem.planes_z_mm) * vector for row in problem.limits]
