"""The bobs as text and as plain data."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from planner.engine.bob_errors import BobSensitivity
from planner.engine.parts import Bob
from planner.jobfile.job import Job
from planner.present.document import Block, Document, Line, block, document, lines, remarks, table
from planner.present.numbers import neat
from planner.present.to_json import picked, shown_json, vectors_json
from planner.present.words import kept_words, plural, readings_words, shown_amount_words, shown_vector_words
from planner.steps.bobs import BobsAnswer, WhatIf


def bobs_document(answer: BobsAnswer) -> Document:
    """Return the bobs, line by line, with what they are sensitive to."""
    job = answer.job
    return document(
        block(job.details.title or "Bobs"),
        (_bob(job, group) for group in _alike(answer.table.bobs)),
        block("WHAT A GRAM DOES", lines(*(each.text for each in answer.factors), level=1))
        if answer.factors
        else None,
        _off(answer),
        _exactness(answer),
        _over(answer),
        remarks("note", answer.table.notes),
    )


def _alike(found: Sequence[Bob]) -> list[list[Bob]]:
    """Return bobs in groups with the same lines, so that four equal throws are one sum."""
    groups: dict[tuple[object, ...], list[Bob]] = {}
    for bob in found:
        groups.setdefault((bob.lines, bob.stated_g), []).append(bob)
    return list(groups.values())


def _bob(job: Job, group: Sequence[Bob]) -> Block:
    bob = group[0]
    names = ", ".join(each.throw for each in group)
    rods = plural(bob.rods, "rod")
    if len(group) > 1:
        head = f"BOB for throws {names} ({rods} each)"
    else:
        cylinders = (
            f", cylinder{'s' * (len(bob.cylinders) > 1)} {', '.join(bob.cylinders)}" if bob.cylinders else ""
        )
        head = f"BOB for throw {names} ({rods}{cylinders})"
    if not bob.lines:
        wanted = bob.wanted_g if job.bobs_wanted_g is None else job.bobs_wanted_g[bob.throw]
        return block(head, lines(f"as stated: {'-' if wanted is None else _mass(job, wanted)}", level=1))
    rows = [
        (
            line.part,
            line.per,
            line.motion,
            str(line.count),
            " + ".join(
                _grams(job, each) for each in (line.each_g[:1] if len(set(line.each_g)) == 1 else line.each_g)
            ),
            f"{line.fraction:g}",
            _grams(job, line.grams),
        )
        for line in bob.lines
    ]
    said = [
        f"bob = rotating {_grams(job, bob.rotating_g)} + {bob.fraction:g} x reciprocating "
        f"{_grams(job, bob.reciprocating_g)} = {_mass(job, bob.sum_g if bob.sum_g is not None else 0.0)}"
    ]
    if bob.stated_g is not None:
        said.append(f"the file states {_mass(job, bob.stated_g)}, which is taken")
    return block(
        head,
        table(("part", "per", "moves", "count", "weights", "share", "bob"), rows, level=1),
        lines(*said, level=1),
    )


def _digits(job: Job) -> int:
    return 2 if job.units.mass == "g" else 4


def _grams(job: Job, mass_g: float) -> str:
    return job.units.text(mass_g, "mass", digits=_digits(job), with_unit=False)


def _mass(job: Job, mass_g: float) -> str:
    return job.units.text(mass_g, "mass", digits=_digits(job))


def _off(answer: BobsAnswer) -> Block | None:
    off, job = answer.off, answer.job
    if off is None:
        return None
    if max(abs(value) for value in off.off_g.values()) < 1e-9:
        return block(f"THE BOBS OF SPIN {off.spin_number} were exactly as wanted.")
    left, right = (shown_vector_words(job, side, v) for side, v in off.off_gmm.items())
    spot = "" if job.machine.marks == "heavy spot" else " (light spot, as the display shows it)"
    return block(
        f"THE BOBS OF SPIN {off.spin_number} (on minus wanted)",
        lines(
            *(f"throw {name}: {_mass(job, value)}" for name, value in off.off_g.items()),
            f"that is in the reading: left {left}, right {right}{spot}; the plan takes it out",
            level=1,
        ),
    )


def _exactness(answer: BobsAnswer) -> Block | None:
    if not answer.sensitivity:
        return None
    allowed = (_allowed(answer.job, each) for each in answer.sensitivity)
    return block("HOW EXACT (a tenth of the tolerance is used up by)", lines(*allowed, level=1))


def _allowed(job: Job, each: BobSensitivity) -> str:
    who = each.throw if each.throw == "every throw" else f"throw {each.throw}"
    if math.isinf(each.allowed_g):
        return f"{who}: nothing; equal bobs cancel on this crankshaft, only their equality counts"
    left, right = (shown_amount_words(job, side, abs(v)) for side, v in each.per_gram_gmm.items())
    return f"{who}: {_mass(job, each.allowed_g)} (at {each.limit}); 1 g is {left} left, {right} right"


def _over(answer: BobsAnswer) -> Block | None:
    if answer.over is None:
        return None
    said: list[Line] = []
    for each in answer.over:
        masses = ", ".join(f"{name}: {_grams(answer.job, mass)}" for name, mass in each.bobs_g.items())
        said.append(Line(f"{each.name} ({each.meaning})", level=1))
        said.append(Line(f"{masses} {answer.job.units.mass}", level=2))
    return block("PERCENT OVER has two meanings; say which one is wanted", said)


def _per(job: Job, name: str) -> str:
    """Return what one weight of a part is per; a bob is one per throw."""
    found = None if job.parts is None else job.parts.named(name)
    return "throw" if found is None else found.per


def what_if_block(job: Job, answer: WhatIf) -> Block:
    """Return what other parts would change."""
    changes = ", ".join(
        f"{name} {value:+g} g per {_per(job, name)}" for name, value in answer.changes_g.items()
    )
    rows = []
    for name, before in answer.before_g.items():
        after = answer.after_g[name]
        rows.append((name, *(_grams(job, value) for value in (before, after, after - before))))
    return block(
        f"WHAT IF: {changes}",
        table(("throw", "bob now", "bob then", "change"), rows, level=1),
        _then(job, answer),
    )


def _then(job: Job, answer: WhatIf) -> Iterator[Line]:
    if answer.shift_gmm is not None and answer.expected is not None:
        left, right = (shown_vector_words(job, side, v) for side, v in answer.shift_gmm.items())
        yield Line(f"the new bobs move the {job.machine.marks} by: left {left}, right {right}", level=1)
        shown = readings_words(job, answer.expected)
        yield Line(f"with them on the display would show now: {shown}", level=1)
    if answer.judged is None:
        yield Line("there is no plan for the newest spin to hold against them", level=1)
        return
    good = answer.verdict == "in tolerance"
    holds = "still holds" if good else "does NOT hold any more, plan again with the new parts"
    yield Line(f"the present plan {holds}:", level=1)
    for each in answer.judged:
        yield Line(f"{each.at}: {kept_words(job, each)}", level=2)


def bobs_json(answer: BobsAnswer) -> dict[str, Any]:
    """Return the bobs as plain data."""
    off, wanted, planes = answer.off, answer.job.bobs_wanted_g, answer.job.planes_z_mm
    return {
        "title": answer.job.details.title,
        "bobs": [
            {
                **picked(
                    bob,
                    "throw rods cylinders rotating_g reciprocating_g sum_g reciprocating_fraction=fraction",
                ),
                "wanted_g": None if wanted is None else neat(wanted[bob.throw]),
                "lines": [
                    picked(line, "part per motion count each_g fraction bob_g=grams") for line in bob.lines
                ],
            }
            for bob in answer.table.bobs
        ],
        "factors": [picked(each, "part rods one_g every_g") for each in answer.factors],
        "off": None
        if off is None
        else {**picked(off, "off_g spin=spin_number"), "unbalance": vectors_json(off.off_gmm, planes)},
        "exactness": [
            {
                **picked(each, "throw allowed_g"),
                "left_gmm_per_g": neat(abs(each.per_gram_gmm[0])),
                "right_gmm_per_g": neat(abs(each.per_gram_gmm[1])),
            }
            for each in answer.sensitivity
        ],
        "over": None if answer.over is None else [picked(each, "name bobs_g") for each in answer.over],
        "notes": list(answer.table.notes),
    }


def what_if_json(job: Job, answer: WhatIf) -> dict[str, Any]:
    """Return a what-if as plain data; ``expected`` is as the display would show it."""
    return {
        **picked(answer, "changes_g verdict bobs_before_g=before_g bobs_after_g=after_g"),
        "expected": None if answer.expected is None else shown_json(answer.expected, job),
        "plan_holds": None if answer.verdict is None else answer.verdict == "in tolerance",
    }
