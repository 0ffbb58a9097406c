"""A cut is made: as planned or as it turned out."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence

from planner.cuts.cut import Cut
from planner.cuts.deepening import hole_to_deepen, same_hole
from planner.errors import InputError
from planner.frames import Dial, ShaftAngle
from planner.jobfile.job import Job, MadeCut, StoredStep
from planner.records import dataclass
from planner.rotor.crankshaft import FILLS, RIM_CUTS, Counterweight, CutKind, Face
from planner.rotor.vectors import difference_deg, wrap_deg
from planner.steps.broken_rules import walls_broken_by
from planner.steps.correction_question import effect_on, pose, shift_of
from planner.steps.deepening import passes_of
from planner.steps.plan_answer import PlanAnswer
from planner.steps.requested_cut import check_place, has_metal

# a first pass takes off at least half of what a hole removes: a depth below this share of the plan's is none
_SHALLOW = 0.4
# ... and this much beyond the plan's is more than an unsteady hand
_DEEP = 0.15
# a dial this far from the plan's is another place
_FAR_DEG = 10.0
_SLIPS = (
    (10.0, "a decimal point one place too far left"),
    (0.1, "a decimal point one place too far right"),
    (100.0, "a decimal point two places too far left"),
    (25.4, "inches typed as millimetres"),
    (1.0 / 25.4, "millimetres typed as inches"),
)


@dataclass(frozen=True, kw_only=True)
class AsMade:
    """What was typed of a cut as it turned out; None is as planned (or, without a plan, not said).

    ``stop_mm`` is the number on the stop, counted as the shop's ``depth_to`` says; ``dial_deg`` the angle as dialled;
    ``deeper`` the number of the cut whose hole was drilled deeper.
    """

    stop_mm: float | None = None
    dial_deg: float | None = None
    on: str | None = None
    drill_mm: float | None = None
    radius_mm: float | None = None
    length_mm: float | None = None
    kind: CutKind | None = None
    face: Face | None = None
    through: bool = False
    deeper: int | None = None
    sector_deg: float | None = None

    def __bool__(self) -> bool:
        """True when anything was typed."""
        return self != AsMade()


AS_PLANNED = AsMade()


def open_steps(job: Job) -> tuple[StoredStep, ...]:
    """Return the steps of the stored plan that belong to the newest spin and are not entered as made."""
    number = pose(job).spin_number
    if job.stored_plan is None or job.stored_plan.after_spin != number:
        return ()
    # older files: a step's number alone does not say which plan it was of
    done = {entry.step for entry in job.cuts_made if entry.after_spin >= number}
    return tuple(step for step in job.stored_plan.steps if step.number not in done)


def made_cut(job: Job, number: int, typed: AsMade = AS_PLANNED) -> MadeCut:
    """Return the record of a step that was cut.

    Parameters
    ----------
    job : Job
        The job with the stored plan.
    number : int
        The step's number as shown.
    typed : AsMade, optional
        What turned out otherwise.

    Raises
    ------
    InputError
        If there is no such step left to make, or what was typed is no cut.
    """
    steps = {step.number: step for step in open_steps(job)}
    if number not in steps:
        raise _no_step(job, number, steps)
    planned = steps[number].cut
    cut = _changed(job, planned, typed, f"step {number}")
    # older files: every plan began at 1 again, and a cut of an earlier one may have the number
    taken = any(made.number == number for made in job.cuts_made)
    own = job.highest_number + 1 if taken else number
    return _record(job, cut, number=own, step=number, dial_deg=typed.dial_deg)


def made_as_planned(job: Job) -> tuple[MadeCut, ...]:
    """Return the records of all open steps, cut as planned."""
    return made_in_turn(job, [step.number for step in open_steps(job)], AS_PLANNED)


def made_in_turn(job: Job, numbers: Sequence[int], typed: AsMade) -> tuple[MadeCut, ...]:
    """Return several steps as made, each with those before it in the metal."""
    made: list[MadeCut] = []
    for each in numbers:
        made.append(made_cut(job, each, typed))
        job = dataclasses.replace(job, cuts_made=(*job.cuts_made, made[-1]))
    return tuple(made)


def free_cut(job: Job, typed: AsMade) -> MadeCut:
    """Return the record of a cut that no plan had: where it is and how large is all typed.

    Raises
    ------
    InputError
        If something that the kind needs is missing, or what was typed is no cut.
    """
    number = job.highest_number + 1
    if typed.deeper is not None:
        return _record(job, _deepened(job, typed), number=number, step=None, dial_deg=None)
    kind: CutKind = typed.kind or "rim hole"
    on_rim = kind in RIM_CUTS
    needed = [("--on", typed.on), ("--dial", typed.dial_deg)]
    needed.append(("--depth", typed.stop_mm) if on_rim else ("--drill", typed.drill_mm))
    if on_rim and kind != "flat":
        needed.append(("--sector", typed.sector_deg))
    missing = [option for option, value in needed if value is None]
    if on_rim and typed.drill_mm is not None:
        raise InputError(f"a {kind} has no drill", hint="leave `--drill` away")
    if kind in ("rim hole", "face hole") and not typed.through and typed.stop_mm is None:
        missing.append("--depth")
    if kind != "rim hole" and not on_rim and typed.radius_mm is None:
        missing.append("--radius")
    if missing:
        raise InputError(
            f"a {kind} that no plan had needs {', '.join(missing)} too",
            hint="for example `bobplan done --on A --dial 213 --drill 16 --depth 27`",
        )
    assert typed.on is not None
    own = next((each for each in job.crankshaft.counterweights if each.name == typed.on), None)
    bare = Cut(
        kind=kind,
        counterweight=typed.on,
        angle_deg=ShaftAngle(0.0),
        diameter_mm=typed.drill_mm or 0.0,
        sector_deg=typed.sector_deg if on_rim and kind != "flat" else None,
        slope_deg=job.shop.bevel_slope_deg if kind == "bevel" else None,
        depth_shoulder_mm=0.0 if typed.stop_mm is not None else None,
        through=typed.through or (kind in ("slug", *FILLS) and typed.length_mm is None),
        from_middle_mm=own.usual_row_mm if own is not None and kind == "rim hole" else 0.0,
        tilt_deg=own.rim_hole_tilt_deg if own is not None and kind == "rim hole" else 0.0,
    )
    cut = _changed(job, bare, typed, "the cut")
    return _record(job, cut, number=number, step=None, dial_deg=typed.dial_deg)


def _no_step(job: Job, number: int, steps: Mapping[int, StoredStep]) -> InputError:
    entered = next((made for made in job.cuts_made if made.number == number), None)
    if entered is not None:
        return InputError(
            f"cut {number} is entered already; a cut is made once",
            hint=f"was its hole drilled deeper since? `bobplan done --deeper {number} --depth ...`; entered by mistake? "
            f"`bobplan undo --cut {number}`",
        )
    left = ", ".join(str(each) for each in steps) or "none"
    return InputError(
        f"there is no step {number} left to make",
        hint=f"steps left: {left}; `bobplan plan` shows them"
        if steps
        else "there is no plan for the newest spin with cuts left; `bobplan plan` shows where the job stands",
    )


def _record(job: Job, cut: Cut, *, number: int, step: int | None, dial_deg: float | None) -> MadeCut:
    # a cut that no metal could have given (a depth beyond the shaft) must not get into the file
    effect_on(job.crankshaft, cut, shop=job.shop)
    posed = pose(job)
    _check_not_twice(job, posed.problem.counterweights, cut)
    plan = job.stored_plan
    dial = job.machine.dial_deg(cut.angle_deg) if dial_deg is None else dial_deg
    # after a check spin entered since the newest state, else after that state
    checked = job.spins and job.spins[-1].known_mass is not None
    return MadeCut(
        after_spin=len(job.spins) if checked else posed.spin_number,
        step=step,
        number=number,
        cut=cut,
        learned_factor=1.0 if plan is None else plan.learned_factor,
        dial_deg=Dial(wrap_deg(round(dial, 6))),
        dialled_under=job.machine.drill_settings,
    )


def _changed(job: Job, cut: Cut, typed: AsMade, name: str) -> Cut:
    """Return a cut as it turned out."""
    if typed.on is not None:
        cut = dataclasses.replace(cut, counterweight=typed.on)
    if typed.kind is not None and typed.kind != cut.kind:
        raise InputError(
            f"{name} is a {cut.kind}, not a {typed.kind}",
            hint="enter a cut of another kind without the step's number",
        )
    if typed.sector_deg is not None:
        if cut.sector_deg is None:
            raise InputError(f"{name} is a {cut.kind}: it has no sector", hint="leave `--sector` away")
        cut = dataclasses.replace(cut, sector_deg=typed.sector_deg)
    if typed.drill_mm is not None and cut.on_rim:
        raise InputError(f"{name} is a {cut.kind}: it has no drill", hint="leave `--drill` away")
    if typed.drill_mm is not None:
        if cut.depth_shoulder_mm is not None and typed.stop_mm is None and job.shop.depth_to == "tip":
            # the stop stood where it was planned; another drill's point is longer or shorter
            stop = job.shop.stop_mm(depth_shoulder_mm=cut.depth_shoulder_mm, diameter_mm=cut.diameter_mm)
            shoulder = job.shop.shoulder_depth_mm(stop_mm=stop, diameter_mm=typed.drill_mm)
            cut = dataclasses.replace(cut, depth_shoulder_mm=shoulder)
        cut = dataclasses.replace(cut, diameter_mm=typed.drill_mm)
    if typed.through and (cut.kind == "rim hole" or cut.on_rim):
        raise InputError(f"{name} is a {cut.kind}: it does not go through", hint="leave `--through` away")
    if typed.through:
        cut = dataclasses.replace(cut, through=True, depth_shoulder_mm=None)
    if typed.stop_mm is not None:
        cut = dataclasses.replace(cut, depth_shoulder_mm=_shoulder_mm(job, cut, typed.stop_mm, name))
    if typed.radius_mm is not None:
        if cut.kind == "rim hole" or cut.on_rim:
            raise InputError(f"{name} is a {cut.kind}: it has no radius", hint="leave `--radius` away")
        cut = dataclasses.replace(cut, radius_mm=typed.radius_mm)
    if typed.length_mm is not None:
        if cut.kind not in ("slug", *FILLS):
            raise InputError(f"{name} is a {cut.kind}: it has no length", hint="give its `--depth`")
        cut = dataclasses.replace(cut, length_mm=typed.length_mm, through=False)
    if typed.face is not None:
        cut = dataclasses.replace(cut, face=typed.face)
    if typed.dial_deg is not None:
        if not -360.0 <= typed.dial_deg <= 360.0:
            raise InputError(
                f"`--angle`: given {typed.dial_deg:g}, allowed -360 to 360 degrees",
                hint="give the angle as dialled",
            )
        if cut.deepens:
            raise InputError(
                f"{name} deepens a hole: it is where it is", hint="a hole beside it is a cut of its own"
            )
        place = job.machine.under_drill_deg(Dial(typed.dial_deg))
        cut = dataclasses.replace(cut, angle_deg=place)
    return cut


def _shoulder_mm(job: Job, cut: Cut, stop_mm: float, name: str) -> float:
    if cut.depth_shoulder_mm is None or cut.through:
        raise InputError(f"{name} is a {cut.kind} without a depth", hint="leave `--depth` away")
    shoulder = job.shop.shoulder_depth_mm(stop_mm=stop_mm, diameter_mm=cut.diameter_mm)
    if shoulder <= 0:
        raise InputError(
            f"a depth of {job.units.text(stop_mm, 'length')} to the {job.shop.depth_to} leaves no full-diameter hole",
            hint="give the number that stood on the stop",
        )
    return shoulder


def _deepened(job: Job, typed: AsMade) -> Cut:
    """Return the deepening of a hole that was entered, to the number on the stop."""
    number = typed.deeper
    if typed != AsMade(deeper=number, stop_mm=typed.stop_mm):
        raise InputError(
            "a hole drilled deeper keeps its place and its drill: with `--deeper` only `--depth` is said",
            hint="for example `bobplan done --deeper 1 --depth 27`",
        )
    if typed.stop_mm is None:
        raise InputError(
            "how deep is the hole now? `--depth` is missing",
            hint=f"`bobplan done --deeper {number} --depth 27`: the number on the stop for the whole hole",
        )
    first = next((made for made in job.cuts_made if made.number == number), None)
    if first is None:
        there = ", ".join(str(made.number) for made in job.cuts_made) or "none"
        raise InputError(
            f"no cut {number} is entered as made", hint=f"cuts made: {there}; `bobplan history` shows them"
        )
    last = passes_of(job, first.cut)[-1].cut if first.cut.kind in ("rim hole", "face hole") else first.cut
    deeper = dataclasses.replace(last, from_depth_mm=last.depth_shoulder_mm)
    if deeper.from_depth_mm is None or deeper.through or deeper.kind not in ("rim hole", "face hole"):
        what = "through hole" if last.through else last.kind
        raise InputError(
            f"cut {number} is a {what}: it can't be made deeper",
            hint="only a rim hole or a blind face hole can be drilled deeper",
        )
    return dataclasses.replace(
        deeper, depth_shoulder_mm=_shoulder_mm(job, deeper, typed.stop_mm, f"hole {number}")
    )


def _check_not_twice(job: Job, counterweights: Sequence[Counterweight], cut: Cut) -> None:
    """Refuse a hole where the same drill has one: it was drilled deeper, or it is entered twice."""
    if cut.deepens:
        counterweight = next(each for each in counterweights if each.name == cut.counterweight)
        if hole_to_deepen(cut, counterweight, shop=job.shop) is None:
            raise InputError(
                f"there is no open hole of {job.units.text(cut.diameter_mm, 'length')} on {cut.counterweight} at its place "
                "to deepen",
                hint="it may have been filled or drilled deeper already; `bobplan history` shows the cuts made",
            )
        return
    for made in reversed(job.cuts_made):
        if same_hole(made.cut, cut) and made.after_spin >= 0:
            raise InputError(
                f"hole {made.number} on {cut.counterweight} is at that place already, made with the same drill",
                hint=f"was it drilled deeper? `bobplan done --deeper {made.number} --depth ...`, with the number on the stop "
                "for the whole hole",
            )


def questions_on(job: Job, made: MadeCut) -> tuple[str, ...]:
    """Return what looks like a slip of the keys in a cut that is about to be entered; empty for one that looks right."""
    planned = next((step.cut for step in open_steps(job) if step.number == made.step), None)
    return tuple(_slips(job, made, planned))


def dial_questions(job: Job, made: Sequence[MadeCut]) -> tuple[str, ...]:
    """Return which numbers were dialled as questions, where steps were shown with others than they have by now.

    ``job`` is the one with the plan; the cuts were entered as planned, without a word of the dial.
    """
    then = None if job.stored_plan is None else job.stored_plan.shown_under
    now = job.machine.drill_settings
    if then is None or then.agrees(now):
        return ()
    return tuple(
        f"[machine] has changed since this plan was shown: cut {each.number} was at {old:g} on the dial then and is at {new:g} "
        f"now; which number of today's dial is under the drill at the hole?"
        for each in made
        if not each.cut.deepens
        and (old := round(then.dial_deg(each.cut.angle_deg), 6))
        != (new := round(now.dial_deg(each.cut.angle_deg), 6))
    )


def _slips(job: Job, made: MadeCut, planned: Cut | None) -> Iterator[str]:
    cut, shop, units = made.cut, job.shop, job.units
    if planned is not None and cut.counterweight != planned.counterweight:
        yield f"the plan has this cut on {planned.counterweight}, not on {cut.counterweight}"
    try:
        check_place(cut, job.crankshaft.counterweight(cut.counterweight), "the cut")
    except InputError as error:
        others = [each.name for each in job.crankshaft.counterweights if has_metal(cut, each)]
        where = f"; the dial points at {', '.join(others)}" if others else ""
        yield f"{error.message.partition(': ')[2]}{where}"
    if planned is not None:
        apart = abs(difference_deg(cut.angle_deg, planned.angle_deg))
        if apart > max(_FAR_DEG, 5.0 * shop.angle_step_deg):
            yield f"the dial is {apart:.4g} degrees from the plan's {job.machine.dial_deg(planned.angle_deg):g}"
    sizes = shop.slug_diameters_mm if cut.kind == "slug" else shop.drills_mm
    tool = "slug" if cut.kind == "slug" else "drill"
    size = units.text(cut.diameter_mm, "length", digits=3)
    if (
        cut.kind not in FILLS
        and not cut.on_rim
        and not any(abs(cut.diameter_mm - each) < 1e-6 for each in sizes)
    ):
        yield f"the shop has no {tool} of {size}"
    elif planned is not None and abs(cut.diameter_mm - planned.diameter_mm) > 1e-6:
        yield f"the plan has this cut with {units.text(planned.diameter_mm, 'length', digits=3)}, not with {size}"
    yield from _depth_slips(job, cut, planned)
    if (
        planned is not None
        and cut.radius_mm is not None
        and planned.radius_mm is not None
        and abs(cut.radius_mm - planned.radius_mm) > 3.0 * shop.slug_radius_step_mm
    ):
        yield (
            f"the radius is {units.text(cut.radius_mm, 'length')}, the plan's is "
            f"{units.text(planned.radius_mm, 'length')}"
        )


def _depth_slips(job: Job, cut: Cut, planned: Cut | None) -> Iterator[str]:
    shop, units = job.shop, job.units
    if cut.depth_shoulder_mm is None or cut.through:
        return
    stop = shop.stop_mm(depth_shoulder_mm=cut.depth_shoulder_mm, diameter_mm=cut.diameter_mm)
    text = units.text(stop, "length")
    aim = None
    if planned is not None and planned.depth_shoulder_mm is not None:
        aim = shop.stop_mm(depth_shoulder_mm=planned.depth_shoulder_mm, diameter_mm=planned.diameter_mm)
    if aim is not None and not _SHALLOW * aim <= stop <= aim + max(_DEEP * aim, 2.0 * shop.depth_step_mm):
        for factor, words in _SLIPS:
            if abs(stop * factor / aim - 1.0) < 0.1:
                meant = units.text(stop * factor, "length")
                yield f"a depth of {text} looks like {words}: was {meant} meant? The plan has {units.text(aim, 'length')}"
                return
        yield f"a depth of {text} is far from the plan's {units.text(aim, 'length')}"
        return
    if cut.on_rim:
        if stop > shop.greatest_rim_cut_mm * (1.0 + 1e-9):
            most = units.text(shop.greatest_rim_cut_mm, "length")
            yield f"{text} off the rim is more than the shop's greatest_rim_cut, {most}"
        return
    slack = 0.5 * shop.depth_step_mm + 1e-9
    if stop > shop.greatest_depth_mm + slack:
        yield f"a depth of {text} is more than the shop's greatest, {units.text(shop.greatest_depth_mm, 'length')}"
    elif stop < shop.least_depth_mm - slack and (aim is None or stop < _SHALLOW * aim):
        yield f"a depth of {text} is less than the shop's least, {units.text(shop.least_depth_mm, 'length')}"


def wall_warnings(job: Job, made: Sequence[MadeCut]) -> tuple[str, ...]:
    """Return a warning per wall that cuts break as they turned out; ``job`` is the one before they were entered."""
    broken = walls_broken_by(job, pose(job).problem, [each.cut for each in made])
    return tuple(f"the cut as entered breaks a rule: {text}" for text in broken)


def overshoot_warnings(job: Job, answer: PlanAnswer) -> tuple[str, ...]:
    """Return a warning per plane where the cuts made did more than the reading asked for.

    A slug or a fill may go beyond what is to correct and a hole planned with it take it back: no reason to stop while the
    steps of the plan that are still open bring it back.
    """
    posed = pose(job)
    still = shift_of(
        [(step.cut, effect_on(answer.job.crankshaft, step.cut, shop=job.shop)) for step in open_steps(job)],
        planes_z_mm=job.planes_z_mm,
    )
    start = posed.problem.unbalance_gmm.plus(posed.made_shift_gmm, -1.0)
    now, with_rest = answer.unbalance_gmm, answer.unbalance_gmm.plus(still)
    least = min(row.tolerance_gmm for row in answer.problem.limits)
    warnings = []
    for side, before in start.items():
        if before == 0:
            continue
        along, along_rest = ((each.at(side) / before).real * abs(before) for each in (now, with_rest))
        if along < -least and along_rest < -least:
            warnings.append(
                f"STOP: on the {side} side {job.units.text(-along, 'unbalance')} too much is off already, more than the "
                "limit; don't drill on there, plan again from a fresh spin (a slug, a weld or cuts on the other side)"
            )
    return tuple(warnings)
