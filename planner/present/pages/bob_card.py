"""Parts and bobs on the sheets: the bob card, and the weighed parts numbered per cylinder with what to grind off."""

from __future__ import annotations

from collections.abc import Sequence

from planner.engine.matching.match import match_kind
from planner.engine.parts import Bob, cylinder_order
from planner.jobfile.job import Job
from planner.present.document import Block, block, lines, table
from planner.steps.bobs import BobsAnswer

_MOST_COLUMNS = 8


def bob_card(bobs: BobsAnswer | None, job: Job, spin_index: int | None) -> Block | None:
    """Return the bobs, a column per throw (throws that are alike share one): every part's grams on the bob, the sum.

    ``spin_index`` is the spin whose bobs are compared, None for none.
    """
    if bobs is None:
        return None
    groups = _alike(bobs.table.bobs, job, spin_index)
    unit = job.units.mass
    rows: list[list[str]] = [
        [f"bob [{unit}]", "per", "share", *("throw " + ", ".join(b.throw for b in group) for group in groups)]
    ]
    first = [group[0] for group in groups]
    for line in first[0].lines:
        shares = {other.fraction for bob in first for other in bob.lines if other.part == line.part}
        cells = [_on_bob(bob, line.part, job) for bob in first]
        rows.append([_named(line.part), line.per, "/".join(f"{s:g}" for s in sorted(shares)), *cells])
    if job.bobs_wanted_g is not None:
        rows.append(["bob wanted", "", "", *(_grams(job, job.bobs_wanted_g[bob.throw]) for bob in first)])
    if spin_index is not None:
        on = job.spins[spin_index].bobs_g
        rows.append(["on for the spin", "", "", *(_grams(job, on[bob.throw]) for bob in first)])
    fractions = sorted({bob.fraction for bob in first if bob.lines})
    said = []
    if fractions:
        share = ", ".join(f"{each:.0%}" for each in fractions)
        said.append(f"Bob = rotating parts + {share} of the reciprocating parts of every rod on the throw.")
    head, *body = without_empty_columns(rows)
    return block("Bob card", table(head, body), lines(*said, *bobs.table.notes))


def without_empty_columns(rows: Sequence[Sequence[str]]) -> tuple[tuple[str, ...], ...]:
    """Return a table without the columns that say nothing below their head."""
    kept = [column for column in range(len(rows[0])) if any(row[column] for row in rows[1:])]
    return tuple(tuple(row[column] for column in kept) for row in rows)


def parts_by_cylinder(job: Job) -> Block | None:
    """Return the parts that differ, a column per cylinder, with what comes off each to match the lightest."""
    if job.parts is None:
        return None
    tolerance = job.match.tolerance_g
    listed = [part for part in job.parts.parts if part.per != "throw" and len(part.masses_g) > 1]
    alike = [part for part in job.parts.parts if part not in listed]
    said = []
    if alike:
        texts = ", ".join(f"{_named(p.name)} {_grams(job, p.masses_g[0])} per {p.per}" for p in alike)
        said.append(f"The same everywhere [{job.units.mass}]: {texts}.")
    if not listed:
        return block("Parts", lines(*said))
    count = len(listed[0].masses_g)
    order = cylinder_order(job.crankshaft.throws)
    names = order if len(order) == count else tuple(str(number) for number in range(1, count + 1))
    matched = {
        part.name: match_kind(
            _named(part.name),
            masses_g=part.masses_g,
            tolerance_g=tolerance,
            greatest_removal_g=job.match.greatest_removal_g.get(part.name),
            names=names if len(names) == len(part.masses_g) else (),
        )
        for part in listed
    }
    rows: list[list[str]] = []
    for start in range(0, count, _MOST_COLUMNS):
        chunk = slice(start, start + _MOST_COLUMNS)
        padding = [""] * (min(count, _MOST_COLUMNS) - len(names[chunk]))
        rows.append([f"cylinder [{job.units.mass}]", *names[chunk], *padding])
        for part in listed:
            rows.append([_named(part.name), *(_grams(job, mass) for mass in part.masses_g[chunk]), *padding])
            off = matched[part.name].remove_g
            if any(off):
                cells = [f"-{_grams(job, mass)}" if mass else "0" for mass in off[chunk]]
                rows.append(["  grind off", *cells, *padding])
    ground = sum(each.ground_g for each in matched.values())
    said.append(
        f"Grinding takes the heavier ones down to the lightest of their kind, {job.units.text(ground, 'mass')} in all."
        if ground
        else f"All kinds are matched within {job.units.text(tolerance, 'mass')}."
    )
    said += [text for each in matched.values() for text in each.warnings]
    return block("Parts, numbered by cylinder", table(rows[0], rows[1:]), lines(*said))


def _alike(found: Sequence[Bob], job: Job, spin_index: int | None) -> list[list[Bob]]:
    groups: dict[tuple[object, ...], list[Bob]] = {}
    for bob in found:
        on = None if spin_index is None else job.spins[spin_index].bobs_g.get(bob.throw)
        wanted = None if job.bobs_wanted_g is None else job.bobs_wanted_g.get(bob.throw)
        lines = tuple((line.part, round(line.grams, 6)) for line in bob.lines)
        groups.setdefault((lines, wanted and round(wanted, 6), on), []).append(bob)
    return list(groups.values())


def _on_bob(bob: Bob, part: str, job: Job) -> str:
    for line in bob.lines:
        if line.part == part:
            return _grams(job, line.grams)
    return "-"


def _named(part: str) -> str:
    return part.replace("_", " ")


def _grams(job: Job, mass_g: float) -> str:
    digits = 1 if job.units.mass == "g" else None
    return job.units.text(mass_g, "mass", digits=digits, with_unit=False)
