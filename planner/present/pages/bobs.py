"""The bobs as text and as plain data."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from planner.engine.bob_errors import BobSensitivity
from planner.engine.parts import Bob
from planner.jobfile.job import Job
from planner.present.numbers import degrees, neat, plural
from planner.present.table import table
from planner.present.to_json import picked, shown_json, vectors_json
from planner.present.words import judged_words, shown_amount_words, shown_vector_words, shown_words
from planner.steps.bobs import BobsAnswer, WhatIf


def bobs_text(answer: BobsAnswer) -> str:
    """Return the bobs, line by line, with what they are sensitive to."""
    job = answer.job
    blocks = [[job.details.title or "Bobs"]]
    blocks += [_bob(job, group) for group in _alike(answer.table.bobs)]
    blocks.append(_factors(answer))
    blocks.append(_off(answer))
    blocks.append(_exactness(answer))
    blocks.append(_over(answer))
    blocks.append([f"note: {note}" for note in answer.table.notes])
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _alike(found: Sequence[Bob]) -> list[list[Bob]]:
    """Return bobs in groups with the same lines, so that four equal throws are one sum."""
    groups: dict[tuple[object, ...], list[Bob]] = {}
    for bob in found:
        groups.setdefault((bob.lines, bob.stated_g), []).append(bob)
    return list(groups.values())


def _bob(job: Job, group: Sequence[Bob]) -> list[str]:
    bob = group[0]
    names = ", ".join(each.throw for each in group)
    throws = "throw" if len(group) == 1 else "throws"
    head = (
        f"BOB for {throws} {names} ({plural(bob.rods, 'rod')} each)"
        if len(group) > 1
        else (
            f"BOB for throw {names} ({plural(bob.rods, 'rod')}"
            + (
                f", cylinder{'s' * (len(bob.cylinders) > 1)} {', '.join(bob.cylinders)}"
                if bob.cylinders
                else ""
            )
            + ")"
        )
    )
    if not bob.lines:
        wanted = bob.wanted_g if job.bobs_wanted_g is None else job.bobs_wanted_g[bob.throw]
        return [
            head,
            f"  as stated: {'-' if wanted is None else job.units.text(wanted, 'mass', digits=_digits(job))}",
        ]
    rows: list[Sequence[str]] = [["part", "per", "moves", "count", "weights", "share", "bob"]]
    for line in bob.lines:
        weights = line.each_g[:1] if len(set(line.each_g)) == 1 else line.each_g
        rows.append(
            [
                line.part,
                line.per,
                line.motion,
                str(line.count),
                " + ".join(_grams(job, each) for each in weights),
                f"{line.fraction:g}",
                _grams(job, line.grams),
            ]
        )
    lines = [head, *table(rows, indent=2)]
    total = bob.sum_g if bob.sum_g is not None else 0.0
    lines.append(
        f"  bob = rotating {_grams(job, bob.rotating_g)} + {bob.fraction:g} x reciprocating "
        f"{_grams(job, bob.reciprocating_g)} = {job.units.text(total, 'mass', digits=_digits(job))}"
    )
    if bob.stated_g is not None:
        lines.append(
            f"  the file states {job.units.text(bob.stated_g, 'mass', digits=_digits(job))}, which is taken"
        )
    return lines


def _digits(job: Job) -> int:
    return 2 if job.units.mass == "g" else 4


def _grams(job: Job, mass_g: float) -> str:
    return job.units.text(mass_g, "mass", digits=_digits(job), with_unit=False)


def _factors(answer: BobsAnswer) -> list[str]:
    if not answer.factors:
        return []
    return ["WHAT A GRAM DOES", *(f"  {factor.text}" for factor in answer.factors)]


def _off(answer: BobsAnswer) -> list[str]:
    off, job = answer.off, answer.job
    if off is None:
        return []
    if max(abs(value) for value in off.off_g.values()) < 1e-9:
        return [f"THE BOBS OF SPIN {off.spin_number} were exactly as wanted."]
    lines = [f"THE BOBS OF SPIN {off.spin_number} (on minus wanted)"]
    lines += [
        f"  throw {name}: {job.units.text(value, 'mass', digits=_digits(job))}"
        for name, value in off.off_g.items()
    ]
    left, right = (
        shown_vector_words(job, side, v) for side, v in zip(("left", "right"), off.off_gmm, strict=True)
    )
    spot = "" if job.machine.marks == "heavy spot" else " (light spot, as the display shows it)"
    lines.append(f"  that is in the reading: left {left}, right {right}{spot}; the plan takes it out")
    return lines


def _exactness(answer: BobsAnswer) -> list[str]:
    if not answer.sensitivity:
        return []
    lines = ["HOW EXACT (a tenth of the tolerance is used up by)"]
    return lines + [f"  {_allowed(answer.job, each)}" for each in answer.sensitivity]


def _allowed(job: Job, each: BobSensitivity) -> str:
    who = each.throw if each.throw == "every throw" else f"throw {each.throw}"
    if math.isinf(each.allowed_g):
        return f"{who}: nothing; equal bobs cancel on this crankshaft, only their equality counts"
    left, right = (
        shown_amount_words(job, side, abs(v))
        for side, v in zip(("left", "right"), each.per_gram_gmm, strict=True)
    )
    return (
        f"{who}: {job.units.text(each.allowed_g, 'mass', digits=_digits(job))} (at {each.limit}); "
        f"1 g is {left} left, {right} right"
    )


def _over(answer: BobsAnswer) -> list[str]:
    if answer.over is None:
        return []
    lines = ["PERCENT OVER has two meanings; say which one is wanted"]
    for each in answer.over:
        masses = ", ".join(f"{name}: {_grams(answer.job, mass)}" for name, mass in each.bobs_g.items())
        lines += [f"  {each.name} ({each.meaning})", f"    {masses} {answer.job.units.mass}"]
    return lines


def _per(job: Job, name: str) -> str:
    """Return what one weight of a part is per; a bob is one per throw."""
    found = None if job.parts is None else job.parts.named(name)
    return "throw" if found is None else found.per


def what_if_text(job: Job, answer: WhatIf) -> str:
    """Return what other parts would change."""
    changes = ", ".join(
        f"{name} {value:+g} g per {_per(job, name)}" for name, value in answer.changes_g.items()
    )
    rows: list[Sequence[str]] = [["throw", "bob now", "bob then", "change"]]
    for name, before in answer.before_g.items():
        after = answer.after_g[name]
        rows.append([name, *(_grams(job, value) for value in (before, after, after - before))])
    lines = [f"WHAT IF: {changes}", *table(rows, indent=2)]
    if answer.shift_gmm is not None and answer.expected is not None:
        left, right = (
            shown_vector_words(job, side, v)
            for side, v in zip(("left", "right"), answer.shift_gmm, strict=True)
        )
        lines.append(f"  the new bobs move the {job.machine.marks} by: left {left}, right {right}")
        shown = [
            f"{side} {shown_words(job, value.amount)} at {degrees(value.angle_deg)}°"
            for side, value in zip(("left", "right"), answer.expected, strict=True)
        ]
        lines.append(f"  with them on the display would show now: {', '.join(shown)}")
    if answer.judged is None:
        lines.append("  there is no plan for the newest spin to hold against them")
    else:
        holds = (
            "still holds"
            if answer.verdict == "in tolerance"
            else "does NOT hold any more, plan again with the new parts"
        )
        lines.append(f"  the present plan {holds}:")
        lines += [
            f"    {each.at}: {judged_words(job, each.at, each.amount_gmm)} of "
            f"{judged_words(job, each.at, each.tolerance_gmm)}"
            for each in answer.judged
        ]
    return "\n".join(lines)


def bobs_json(answer: BobsAnswer) -> dict[str, Any]:
    """Return the bobs as plain data."""
    off, wanted, planes = answer.off, answer.job.bobs_wanted_g, answer.job.planes_z_mm
    return {
        "title": answer.job.details.title,
        "bobs": [
            {
                **picked(
                    bob,
                    "throw",
                    "rods",
                    "cylinders",
                    "rotating_g",
                    "reciprocating_g",
                    "sum_g",
                    reciprocating_fraction="fraction",
                ),
                "wanted_g": None if wanted is None else neat(wanted[bob.throw]),
                "lines": [
                    picked(line, "part", "per", "motion", "count", "each_g", "fraction", bob_g="grams")
                    for line in bob.lines
                ],
            }
            for bob in answer.table.bobs
        ],
        "factors": [picked(each, "part", "rods", "one_g", "every_g") for each in answer.factors],
        "off": None
        if off is None
        else {**picked(off, "off_g", spin="spin_number"), "unbalance": vectors_json(off.off_gmm, planes)},
        "exactness": [
            {
                **picked(each, "throw", "allowed_g"),
                "left_gmm_per_g": neat(abs(each.per_gram_gmm[0])),
                "right_gmm_per_g": neat(abs(each.per_gram_gmm[1])),
            }
            for each in answer.sensitivity
        ],
        "over": None if answer.over is None else [picked(each, "name", "bobs_g") for each in answer.over],
        "notes": list(answer.table.notes),
    }


def what_if_json(job: Job, answer: WhatIf) -> dict[str, Any]:
    """Return a what-if as plain data; ``expected`` is as the display would show it."""
    return {
        **picked(answer, "changes_g", "verdict", bobs_before_g="before_g", bobs_after_g="after_g"),
        "expected": None if answer.expected is None else shown_json(answer.expected, job),
        "plan_holds": None if answer.verdict is None else answer.verdict == "in tolerance",
    }
