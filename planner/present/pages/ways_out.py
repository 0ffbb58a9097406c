"""No plan: the proof in words and the ways out, for the terminal and as plain data."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from planner.jobfile.job import Job
from planner.present.document import Block, Line, block, lines
from planner.present.pages.heavy_metal import certificate_words
from planner.present.to_json import picked, plain, without
from planner.present.words import drill_words, length_words, mass_words, percent, plural
from planner.steps.nothing_fits import NothingFits
from planner.steps.plan_answer import PlanAnswer

if TYPE_CHECKING:
    from planner.steps.ways_out import Kind, WayOut, WaysOut

_KINDS: dict[Kind, str] = {
    "larger drill": "a larger drill",
    "deeper": "deeper holes",
    "drill out": "drilling old holes out",
    "counterweights left alone": "cutting where nothing may be cut now",
    "heavy metal": "heavy metal",
    "bobs": "other bobs",
    "fill a hole": "filling old holes with steel",
    "turn the rim": "turning rims down",
    "rim cuts": "turning rims over a sector, flats, bevels",
}
NOTHING_FITS = "NOTHING CAN BE CUT"


def no_plan_block(answer: PlanAnswer) -> Block:
    """Return that there is no plan, why, and what would help."""
    outcome, job = answer.outcome, answer.job
    head, *rest = _why_none(answer)
    said: list[Line] = list(lines(*rest))
    if outcome.best_effort:
        share = "an unknown share" if outcome.aim_reached is None else percent(outcome.aim_reached)
        said.append(
            Line(
                f"The best cuts found ({plural(len(outcome.best_effort), 'cut')}) would not reach the limits: "
                f"{share} of a limit would remain."
            )
        )
    ways = answer.ways_out
    if ways is not None:
        said += _ways(job, ways, proven=outcome.certificate is not None)
    return block(head, said)


def _why_none(answer: PlanAnswer) -> list[str]:
    outcome, job = answer.outcome, answer.job
    if answer.nothing_fits is not None:
        return nothing_fits_lines(job, answer.nothing_fits)
    if outcome.certificate is not None:
        words = certificate_words(job, answer.problem, outcome.certificate)
        return ["NO PLAN IS POSSIBLE with the cuts allowed: proven.", f"Whatever is cut, {words}."]
    bound = outcome.proof.bound_cuts
    least = f" It would take at least {plural(bound, 'cut')}." if bound > 1 else ""
    time = " The search was stopped by time." if outcome.proof.stopped_by_time else ""
    return [f"NO PLAN WAS FOUND; that there is none is not proven.{least}{time}"]


def _ways(job: Job, ways: WaysOut, *, proven: bool) -> Iterator[Line]:
    if ways.found:
        if not proven:
            yield Line(
                "A plan may exist without any of these, as the search ended without a proof: more time first (`--seconds 60`)."
            )
        yield Line("WAYS OUT, each one checked by a plan:")
        yield from lines(*(f"{each.words}{_result(job, each)}" for each in ways.found), level=1, mark="-")
    else:
        yield Line("No way out was found among those looked at.")
    offered = {each.kind for each in ways.found}
    open_kinds = dict.fromkeys(each.kind for each in ways.open if each.kind not in offered)
    ruled_out = dict.fromkeys(
        each.kind for each in ways.ruled_out if each.kind not in offered and each.kind not in open_kinds
    )
    if ruled_out:
        yield Line(f"Not enough by itself, proven: {', '.join(_KINDS[kind] for kind in ruled_out)}.")
    if open_kinds:
        yield Line(
            f"No plan found either, not proven impossible: {', '.join(_KINDS[kind] for kind in open_kinds)}."
        )


def nothing_fits_lines(job: Job, found: NothingFits) -> list[str]:
    """Return that no cut fits anywhere, why, and what would fit."""
    if not found.room_mm:
        return [
            f"{NOTHING_FITS}: no counterweight may be cut with what is allowed (`cuts`, `forbid`, `--only`)."
        ]
    drills = ", ".join(drill_words(job, each) for each in found.drills_mm)
    walls = f"walls of {length_words(job, job.shop.least_wall_mm)} (`least_wall`)"
    lines = [f"{NOTHING_FITS}: no counterweight has room for the drills at hand ({drills}) with {walls}."]
    widest = max(room for _, room in found.room_mm)
    if widest < min(found.drills_mm):
        rooms = {name: length_words(job, each) if each > 0 else "none" for name, each in found.room_mm}
        alike = len(set(rooms.values())) == 1
        room = (
            f"{next(iter(rooms.values()))} on each"
            if alike
            else ", ".join(f"{name} {each}" for name, each in rooms.items())
        )
        lines.append(f"Room between the walls, along the shaft: {room}.")
    if found.would_fit_mm is not None:
        size = drill_words(job, found.would_fit_mm)
        lines.append(
            f"What would fit: a {size} drill, on {', '.join(found.fits_on)} (`--drill`, or `drills` in the file)."
        )
    elif found.shallower_fits_on:
        least = length_words(job, job.shop.least_depth_mm)
        lines.append(
            f"What would fit: holes that are less than {least} deep (`least_depth`), on {', '.join(found.shallower_fits_on)}."
        )
    else:
        lines.append(
            "No smaller drill would fit either: are the sizes of the counterweights in the file right?"
        )
    return lines


def nothing_fits_json(found: NothingFits | None) -> dict[str, Any] | None:
    """Return the same as plain data."""
    return None if found is None else {**without(found, "room_mm"), "room_mm": plain(dict(found.room_mm))}


def _result(job: Job, each: WayOut) -> str:
    if not each.cuts:
        return "" if each.kind == "bobs" else ": nothing has to be cut then"
    metal = []
    if each.drilled_g > 0:
        way = "taken" if any(planned.cut.on_rim for planned in each.cuts) else "drilled"
        metal.append(f"{mass_words(job, each.drilled_g)} {way} off")
    if each.heavy_metal_g > 0:
        metal.append(f"{mass_words(job, each.heavy_metal_g)} heavy metal")
    fewer = "" if each.fewest else " or fewer"
    return f": {plural(len(each.cuts), 'cut')}{fewer}, {', '.join(metal)}"


def ways_out_json(ways: WaysOut | None) -> dict[str, Any] | None:
    """Return the ways out as plain data."""
    if ways is None:
        return None
    return {
        "found": [
            {
                **picked(each, "kind words drilled_g heavy_metal_g fewest_cuts=fewest"),
                "cuts": len(each.cuts),
            }
            for each in ways.found
        ],
        "ruled_out": [picked(each, "kind words") for each in ways.ruled_out],
        "open": [picked(each, "kind words") for each in ways.open],
    }
