"""Matching as text, as plain data, as working and as rows of a CSV."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from planner.engine.matching.match import KindMatch, Pairing
from planner.formula import Formula
from planner.jobfile.job import Job
from planner.present.document import Block, Document, block, document, lines, remarks, table
from planner.present.numbers import neat
from planner.present.to_json import picked
from planner.present.words import percent
from planner.steps.match import PAIRED, KindLine, MatchAnswer, placed_masses_g

_WORDS = {"rod_small_end": "small end", "rod_big_end": "big end"}


def grams(job: Job, mass_g: float) -> str:
    """Return a mass in the job's unit without it, with no more decimals than it has."""
    text = job.units.text(mass_g, "mass", digits=2 if job.units.mass == "g" else 5, with_unit=False)
    short = text.rstrip("0").rstrip(".") if "." in text else text
    return short if short not in ("-0", "") else "0"


def match_document(answer: MatchAnswer) -> Document:
    """Return what to grind off which part, kind by kind, and the pairing when there is one."""
    job = answer.job
    chosen = {} if answer.stock is None else answer.stock.masses_g
    within = _mass(job, answer.tolerance_g)
    return document(
        block(
            f"{job.details.title or 'Parts'}: weights in {job.units.mass}",
            lines(
                f"The lightest of a kind is left alone; what is within {within} of it too; the others are ground down to it."
            ),
        ),
        (_kind(answer, line) for line in answer.kinds if line.part.name not in chosen),
        None if answer.pairing is None else _pairing(answer, answer.pairing),
        remarks("note", answer.notes),
        lines(
            "Grind where the maker allows it, never at a rod's beam, bolts or pin boss; weigh again after grinding."
        ),
    )


def _mass(job: Job, mass_g: float) -> str:
    return f"{grams(job, mass_g)} {job.units.mass}"


def _off(job: Job, mass_g: float) -> str:
    return grams(job, mass_g) if mass_g else "-"


def _kind(answer: MatchAnswer, line: KindLine) -> Block:
    job, match = answer.job, line.match
    head = f"{line.part.name} (one weight per {line.part.per}, {line.part.motion})"
    if match is None:
        return block(f"{head}: {_mass(job, line.part.masses_g[0])} for all")
    after = [mass - off for mass, off in zip(match.masses_g, match.remove_g, strict=True)]
    return block(
        head,
        table(
            ("throw" if line.part.per == "throw" else "cylinder", *line.names),
            (
                ("weighs", *(grams(job, each) for each in match.masses_g)),
                ("take off", *(_off(job, each) for each in match.remove_g)),
                ("leaves", *(grams(job, each) for each in after)),
            ),
            level=1,
        ),
        lines(*kind_words(job, line.names, match), level=1),
        remarks("WARNING", match.warnings, level=1),
    )


def kind_words(job: Job, names: Sequence[str], match: KindMatch) -> list[str]:
    """Return how far one kind is apart, what is ground in all, and what the lightest costs when that is worth a word."""
    name = names[match.lightest]
    said = [
        f"spread {_mass(job, match.spread_before_g)} before, {_mass(job, match.spread_after_g)} after; "
        f"{_mass(job, match.ground_g)} ground in all; {name} is the lightest"
    ]
    cost = match.outlier_costs_g
    if match.ground_g <= 0.0 or cost <= 0.0:
        return said
    share = cost / match.ground_g
    words = f"were {name} as heavy as the next lightest, {_mass(job, cost)} less would be ground ({percent(share)} of all)"
    if match.warnings or (share > 0.5 and len(match.masses_g) > 2):
        words += f": {name} is the one to replace"
    return [*said, words]


def pairing_block(answer: MatchAnswer) -> Block | None:
    """Return which pin and rod go with which piston; None where it was not asked for."""
    return None if answer.pairing is None else _pairing(answer, answer.pairing)


def _pairing(answer: MatchAnswer, pairing: Pairing) -> Block:
    job = answer.job
    stock = answer.stock is not None
    kept = "piston, pin and small end" if stock else "piston, pin, small end and what stays with the cylinder"
    proven = answer.choice.proven if answer.choice is not None else pairing.proven
    least = answer.choice.at_least_g if answer.choice is not None else pairing.at_least_g
    beside = (
        f"beside that: as numbered {_mass(job, pairing.as_numbered_g)}, each kind to its lightest "
        f"{_mass(job, pairing.each_to_lightest_g)}"
    )
    return block(
        "FROM STOCK: which part goes where" if stock else "PAIRING: which pin and rod go with which piston",
        table(
            ("cylinder", "throw", "piston", "pin", "rod", "sum", "take off"),
            [
                (
                    each.cylinder,
                    answer.throw_of(each.cylinder),
                    *who(answer, place),
                    grams(job, each.sum_g),
                    _off(job, each.remove_g),
                )
                for place, each in enumerate(pairing.sets)
            ],
            level=1,
        ),
        lines(f"sum per cylinder: {kept}; a rod goes with both its ends", level=1),
        table(
            ("throw", "cylinders", "big ends together", "take off"),
            [
                (
                    answer.throw_of(throw.cylinders[0]),
                    ", ".join(throw.cylinders),
                    grams(job, throw.sum_g),
                    _off(job, throw.remove_g),
                )
                for throw in pairing.throws
            ],
            level=1,
        ),
        lines(
            f"ground in all: {_mass(job, pairing.ground_g)}",
            *([] if stock else [beside]),
            "proven: none grinds less"
            if proven
            else f"not proven: the best found; none can grind less than {_mass(job, least)}",
            "number every set: a part replaced later breaks the match of its set",
            level=1,
        ),
        remarks("WARNING", pairing.warnings, level=1),
    )


def who(answer: MatchAnswer, place: int) -> tuple[str, str, str]:
    """Return the names of piston, pin and rod of a cylinder (by its place in the order)."""
    assert answer.pairing is not None
    each = answer.pairing.sets[place]
    if answer.choice is None or answer.stock is None:
        return each.cylinder, each.pin, each.rod
    names = []
    for kind, taken in (
        ("piston", answer.choice.pistons),
        ("pin", answer.choice.pins),
        ("rod_small_end", answer.choice.rods),
    ):
        listed = answer.stock.masses_g.get(kind)
        names.append(answer.cylinders[taken[place]] if listed is None else listed[taken[place]][0])
    return names[0], names[1], names[2]


def match_json(answer: MatchAnswer) -> dict[str, Any]:
    """Return the answer as plain data."""
    return {
        "title": answer.job.details.title,
        "tolerance_g": neat(answer.tolerance_g),
        "cylinders": [{"name": name, "throw": answer.throw_of(name)} for name in answer.cylinders],
        "kinds": [_kind_json(line) for line in answer.kinds],
        "pairing": None if answer.pairing is None else _pairing_json(answer, answer.pairing),
        "good": answer.good,
        "notes": list(answer.notes),
    }


def _kind_json(line: KindLine) -> dict[str, Any]:
    match = line.match
    data = {
        **picked(line.part, "motion masses_g kind=name"),
        **picked(line, "part.per names"),
        "weighed": match is not None,
    }
    if match is not None:
        data |= picked(
            match,
            "remove_g spread_before_g spread_after_g ground_g warnings lightest_costs_g=outlier_costs_g",
        )
        data["lightest"] = line.names[match.lightest]
    return data


def _pairing_json(answer: MatchAnswer, pairing: Pairing) -> dict[str, Any]:
    sets = []
    for place, each in enumerate(pairing.sets):
        piston, pin, rod = who(answer, place)
        sets.append(
            {
                "cylinder": each.cylinder,
                "throw": answer.throw_of(each.cylinder),
                "piston": piston,
                "pin": pin,
                "rod": rod,
                **picked(each, "sum_g remove_g"),
            }
        )
    choice = answer.choice
    return {
        **picked(pairing, "ground_g as_numbered_g each_to_lightest_g"),
        # what was on the shelf has no numbers of its own
        **({} if choice is None else {"as_numbered_g": None}),
        **picked(pairing if choice is None else choice, "proven at_least_g"),
        "sets": sets,
        "throws": [
            {
                "throw": answer.throw_of(each.cylinders[0]),
                **picked(each, "cylinders big_ends_g=sum_g remove_g"),
            }
            for each in pairing.throws
        ],
        "warnings": list(pairing.warnings),
    }


def match_working(answer: MatchAnswer) -> list[str]:
    """Return the sums with the numbers put in."""
    job = answer.job
    said = [f"WORKING (in {job.units.mass})"]
    chosen = {} if answer.stock is None else answer.stock.masses_g
    for line in answer.kinds:
        match = line.match
        # what comes from the shelf is not ground kind by kind: its sums stand below
        if match is None or line.part.name in chosen:
            continue
        least = match.masses_g[match.lightest]
        for name, mass, off in zip(line.names, match.masses_g, match.remove_g, strict=True):
            of = {"mass": mass, "least": least}
            over = Formula("over", "mass - least", of, off or mass - least).in_line(
                lambda _, value: grams(job, value.real)
            )
            said.append(f"{line.part.name} {name}: {over}: {_taken_off(job, off)}")
    if answer.pairing is not None:
        said += _pairing_working(answer, answer.pairing)
        ground = [each.remove_g for each in answer.pairing.sets]
        total = math.fsum([*ground, *(each.remove_g for each in answer.pairing.throws)])
        said.append(f"all that comes off, cylinders and throws: {grams(job, total)}")
    return said


def _taken_off(job: Job, mass_g: float) -> str:
    return f"take off {grams(job, mass_g)}" if mass_g else "within the tolerance, left alone"


def _pairing_working(answer: MatchAnswer, pairing: Pairing) -> Iterator[str]:
    """Yield the sums of every cylinder and throw, each part with its name and weight."""
    job = answer.job

    def summed(what: str, terms: Mapping[str, float], sum_g: float, least_g: float, off_g: float) -> str:
        total = Formula(what, " + ".join(terms), terms, sum_g)
        worked = total.in_line(lambda name, mass_g: f"{name} {grams(job, mass_g.real)}".lstrip())
        return f"{what}: {worked}; - least {grams(job, least_g)} = {grams(job, sum_g - least_g)}: {_taken_off(job, off_g)}"

    least = min(each.sum_g for each in pairing.sets)
    big_ends: dict[str, tuple[str, float]] = {}
    for place, each in enumerate(pairing.sets):
        names = who(answer, place)
        masses = placed_masses_g(answer, place)
        other = each.sum_g - math.fsum(masses[:3])
        terms = {
            f"{word} {name}": mass
            for word, name, mass in zip(("piston", "pin", "small end"), names, masses[:3], strict=True)
        }
        if abs(other) > 1e-9:
            terms["what stays with the cylinder"] = other
        yield summed(f"cylinder {each.cylinder}", terms, each.sum_g, least, each.remove_g)
        big_ends[each.cylinder] = (f"big end {names[2]}", masses[3])
    lightest = min(throw.sum_g for throw in pairing.throws)
    for throw in pairing.throws:
        what = f"throw {answer.throw_of(throw.cylinders[0])}"
        terms = dict(big_ends[name] for name in throw.cylinders)
        yield summed(what, terms, throw.sum_g, lightest, throw.remove_g)


def csv_rows(answer: MatchAnswer) -> list[list[str]]:
    """Return one row per cylinder; heads carry the part's name and the job's unit of mass."""
    job = answer.job
    unit = job.units.mass
    kinds = [line for line in answer.kinds if line.match is not None and line.part.per != "throw"]
    if answer.pairing is not None:
        return _paired_rows(answer, answer.pairing)
    heads = ["cylinder", "throw"]
    for line in kinds:
        heads += [f"{line.part.name}_{unit}", f"{line.part.name}_off_{unit}"]
    rows = [heads]
    for place, name in enumerate(answer.cylinders):
        row = [name, answer.throw_of(name)]
        for line in kinds:
            assert line.match is not None
            row += [_exact(job, line.match.masses_g[place]), _exact(job, line.match.remove_g[place])]
        rows.append(row)
    return rows


def _paired_rows(answer: MatchAnswer, pairing: Pairing) -> list[list[str]]:
    job = answer.job
    unit = job.units.mass
    heads = ["cylinder", "throw", "piston_from", "pin_from", "rod_from"]
    heads += [f"{name}_{unit}" for name in PAIRED]
    heads += [f"reciprocating_sum_{unit}", f"reciprocating_off_{unit}"]
    heads += [f"throw_big_ends_sum_{unit}", f"throw_big_ends_off_{unit}"]
    throws = {name: throw for throw in pairing.throws for name in throw.cylinders}
    rows = [heads]
    for place, each in enumerate(pairing.sets):
        throw = throws[each.cylinder]
        masses = placed_masses_g(answer, place)
        numbers = (*masses, each.sum_g, each.remove_g, throw.sum_g, throw.remove_g)
        rows.append(
            [
                each.cylinder,
                answer.throw_of(each.cylinder),
                *who(answer, place),
                *(_exact(job, value) for value in numbers),
            ]
        )
    return rows


def _exact(job: Job, mass_g: float) -> str:
    text = job.units.text(mass_g, "mass", digits=6, with_unit=False)
    return text.rstrip("0").rstrip(".")
