"""What if: another drill, a counterweight left alone, a cut that is wanted.  The job's own file stays as it is."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from typing import TypeVar, get_args

from planner.correction.budget import Budget, Progress, budget_of
from planner.cuts.cut import FewestOf, HeavyMetalUse, Prefer, Shop
from planner.errors import InputError
from planner.jobfile.job import Job
from planner.jobfile.plausible import refuse_beyond_reason
from planner.quantity import percent
from planner.records import dataclass
from planner.rotor.crankshaft import CutKind
from planner.rotor.drills import parse_drill_mm
from planner.steps.correction_question import counterweight_named, pose
from planner.steps.deepening import hole_name
from planner.steps.plan import plan_job
from planner.steps.plan_answer import PlanAnswer
from planner.steps.requested_cut import KIND_WORDS, PinnedWish, choose_depths, read_wish

_DRILLING = "drilling"


@dataclass(frozen=True, kw_only=True)
class WhatIf:
    """What is different from the job's own files; None or empty means: as in the files."""

    pins: tuple[PinnedWish, ...] = ()
    forbid: tuple[str, ...] = ()
    drills_mm: tuple[float, ...] = ()
    greatest_depth_mm: float | None = None
    aim: float | None = None
    one_drill: bool | None = None
    heavy_metal: HeavyMetalUse | None = None
    prefer_cuts: FewestOf | None = None
    wanted_chance: float | None = None
    prefer: Prefer | None = None
    close_enough: float | None = None
    only: tuple[CutKind, ...] = ()

    def __bool__(self) -> bool:
        """True when anything is different."""
        return self != WhatIf()


def read_what_if(
    job: Job,
    *,
    fix: Sequence[str] = (),
    forbid: Sequence[str] = (),
    drill: Sequence[str] = (),
    greatest_depth: str | None = None,
    aim: float | None = None,
    one_drill: bool | None = None,
    heavy_metal: str | None = None,
    prefer_cuts: str | None = None,
    wanted_chance: float | None = None,
    prefer: str | None = None,
    close_enough: float | None = None,
    only: Sequence[str] = (),
) -> WhatIf:
    """Return what was typed as options, checked against the job.

    Lists may be typed as several options or with commas.  Sizes are in the job's units.

    Raises
    ------
    InputError
        If a size can't be read, or a counterweight or a kind of cut does not exist.
    """
    units = job.units
    drills_mm = tuple(parse_drill_mm(size, units, name="--drill") for size in _split(drill))
    deepest_mm = units.given(greatest_depth, "length", above=0.0, name="--greatest-depth")
    for name, what, sizes in (
        ("drill", "--drill", drills_mm),
        ("hole_depth", "--greatest-depth", () if deepest_mm is None else (deepest_mm,)),
    ):
        for size in sizes:
            refuse_beyond_reason(name, size, what=what, units=units, widened=job.plausible)
    return WhatIf(
        pins=tuple(read_wish(text, job) for text in fix),
        forbid=tuple(counterweight_named(job.crankshaft, name).name for name in _split(forbid)),
        drills_mm=drills_mm,
        greatest_depth_mm=deepest_mm,
        aim=_share("--aim", aim, "0.5 is the usual one, 1 is cheapest, 0.3 most certain"),
        one_drill=one_drill,
        heavy_metal=_one_of("--heavy-metal", heavy_metal, get_args(HeavyMetalUse)),
        prefer_cuts=_one_of("--prefer-cuts", prefer_cuts, get_args(FewestOf)),
        wanted_chance=_checked_chance(wanted_chance),
        prefer=_one_of("--prefer", prefer, get_args(Prefer)),
        close_enough=_share("--close-enough", close_enough, "0.1 is the usual one"),
        only=_kinds(_split(only), job),
    )


def plan_what_if(
    job: Job,
    what_if: WhatIf,
    *,
    seconds: float | Budget = 10.0,
    progress: Progress | None = None,
    anew: bool = False,
) -> PlanAnswer:
    """Return the plan of a job as if its files said what ``what_if`` says.

    Raises
    ------
    InputError
        If the question can't be posed.
    """
    changed = dataclasses.replace(job, shop=changed_shop(job.shop, what_if))
    lines = list(_lines(job, what_if))
    seconds = budget_of(seconds, progress)
    if what_if.pins:
        chosen = choose_depths(pose(changed).problem, what_if.pins, seconds=seconds)
        changed = dataclasses.replace(changed, fixed_cuts=(*job.fixed_cuts, *chosen.cuts))
        if chosen.tried:
            lines.append(
                f"the depth left open was chosen by the planner, the best of {chosen.tried} tried"
                if chosen.tried > 1
                else "the depth left open was chosen by the planner"
            )
    answer = plan_job(changed, seconds=seconds, anew=anew)
    return dataclasses.replace(answer, what_if=tuple(lines))


def changed_shop(shop: Shop, what_if: WhatIf) -> Shop:
    """Return the shop as ``what_if`` wants it."""
    greatest = what_if.greatest_depth_mm
    if greatest is not None and greatest < shop.least_depth_mm:
        raise InputError(
            f"--greatest-depth {greatest:g} mm is below the shop's least depth, {shop.least_depth_mm:g} mm",
            hint="give more, or lower `least_depth` in the file",
        )
    return dataclasses.replace(
        shop,
        drills_mm=what_if.drills_mm or shop.drills_mm,
        greatest_depth_mm=shop.greatest_depth_mm if greatest is None else greatest,
        aim=shop.aim if what_if.aim is None else what_if.aim,
        one_drill=shop.one_drill if what_if.one_drill is None else what_if.one_drill,
        heavy_metal=what_if.heavy_metal or shop.heavy_metal,
        prefer_cuts=what_if.prefer_cuts or shop.prefer_cuts,
        wanted_chance=shop.wanted_chance if what_if.wanted_chance is None else what_if.wanted_chance,
        prefer=what_if.prefer or shop.prefer,
        close_enough=shop.close_enough if what_if.close_enough is None else what_if.close_enough,
        forbid=tuple(dict.fromkeys((*shop.forbid, *what_if.forbid))),
        allow=what_if.only or shop.allow,
    )


def _lines(job: Job, what_if: WhatIf) -> Iterator[str]:
    units = job.units
    for wish in what_if.pins:
        where = f"{units.text(wish.cut.diameter_mm, 'length')} {wish.cut.kind} on {wish.cut.counterweight}"
        if wish.cut.on_rim:
            off = units.text(wish.cut.depth_shoulder_mm or 0.0, "length")
            over = "" if wish.cut.sector_deg is None else f" over {wish.cut.sector_deg:g} degrees"
            where = f"{wish.cut.kind} {off}{over} on {wish.cut.counterweight}"
        elif wish.cut.deepens:
            where = f"{hole_name(job, wish.cut)} on {wish.cut.counterweight} {'wider' if wish.cut.enlarges else 'deeper'},"
        yield f"pinned: {where} at {job.machine.dial_deg(wish.cut.angle_deg):g} on the dial"
    if what_if.forbid:
        yield f"left alone: {', '.join(what_if.forbid)}"
    if what_if.drills_mm:
        yield f"drills: {', '.join(units.text(size, 'length') for size in what_if.drills_mm)} only"
    if what_if.greatest_depth_mm is not None:
        yield f"greatest depth: {units.text(what_if.greatest_depth_mm, 'length')}"
    if what_if.aim is not None:
        yield f"aim: {what_if.aim:g} of the tolerance"
    if what_if.one_drill is not None:
        yield "one drill where it costs no cut" if what_if.one_drill else "any mixture of drills"
    if what_if.heavy_metal is not None:
        yield {
            "if needed": "heavy metal only where drilling alone can't do it",
            "allowed": "heavy metal wherever it saves a cut",
            "never": "no heavy metal",
        }[what_if.heavy_metal]
    if what_if.prefer_cuts is not None:
        yield (
            "the fewest cuts that pass with the wanted chance"
            if what_if.prefer_cuts == "passes"
            else "the fewest cuts on the bare tolerance"
        )
    if what_if.wanted_chance is not None:
        yield f"wanted chance that the next spin passes: {percent(what_if.wanted_chance)}"
    if what_if.prefer is not None:
        yield f"preferred: {what_if.prefer}"
    if what_if.close_enough is not None:
        yield f"close enough: {what_if.close_enough:g} of the tolerance"
    if what_if.only:
        yield f"only: {', '.join(what_if.only)}"


def _split(texts: Sequence[str]) -> list[str]:
    return [part.strip() for text in texts for part in text.split(",") if part.strip()]


def _share(option: str, share: float | None, usual: str) -> float | None:
    if share is not None and not 0.0 < share <= 1.0:
        raise InputError(
            f"{option} {share:g} is not a share of the tolerance",
            hint=f"give a number above 0 and up to 1: {usual}",
        )
    return share


Word = TypeVar("Word", bound=str)


def _one_of(option: str, given: str | None, allowed: tuple[Word, ...]) -> Word | None:
    if given is None:
        return None
    for word in allowed:
        if given.strip().lower() == word:
            return word
    raise InputError(
        f"{option} {given}: there is no such choice",
        hint="choose one of " + ", ".join(f'"{word}"' for word in allowed),
    )


def _checked_chance(chance: float | None) -> float | None:
    if chance is not None and not 0.5 <= chance <= 0.999:
        raise InputError(
            f"--wanted-chance {chance:g} is no chance to plan for",
            hint="give a number from 0.5 to 0.999: 0.95 is the usual one",
        )
    return chance


def _kinds(words: Sequence[str], job: Job) -> tuple[CutKind, ...]:
    kinds: list[CutKind] = []
    for word in words:
        key = word.lower()
        if key == _DRILLING:
            kinds += ["rim hole", "face hole"]
        elif key in KIND_WORDS:
            kinds.append(KIND_WORDS[key])
        else:
            raise InputError(
                f"--only {word}: there is no such cut",
                hint="known are rim, face, slug, fill, plug, turning, flat, bevel, and drilling for rim and face",
            )
    if kinds and not any(kind in each.cuts for kind in kinds for each in job.crankshaft.counterweights):
        raise InputError(
            f"no counterweight may have a {' or a '.join(dict.fromkeys(kinds))}",
            hint="add it to `cuts` of a counterweight if it is really possible there",
        )
    return tuple(dict.fromkeys(kinds))
