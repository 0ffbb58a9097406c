"""How often a first spin is questioned: with a wrong setting, with a slip of the keys, and when all is right.

    python -m tests.benchmarks.first_spins 1000 3

The jobs and the simulated machine are those of `tests.benchmarks.prove_settings`; nothing is planned.  All data invented.
"""

from __future__ import annotations

import collections
import dataclasses
import os
import random
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.prove_settings import Case, make_case, typed

FAULTS = ("direction", "zero", "spot", "planes", "unit", "radius", "amounts")
SLIPS = ("decimal", "other angle", "exchanged")


def slipped(values: tuple[float, float, float, float], slip: str, draw: random.Random) -> tuple[float, ...]:
    """Return four numbers as somebody types them who slips."""
    left, left_at, right, right_at = values
    if slip == "decimal":
        by = draw.choice((0.1, 10.0))
        return (
            (left * by, left_at, right, right_at)
            if draw.random() < 0.5
            else (left, left_at, right * by, right_at)
        )
    if slip == "other angle":
        return (left, right_at, right, right_at) if draw.random() < 0.5 else (left, left_at, right, left_at)
    if slip == "exchanged":
        return left, right_at, right, left_at
    return values


def questioned(case: Case, slip: str, folder: Path, *, proved: bool = False) -> tuple[bool, str]:
    """Return whether the first spin of a job is questioned, and the slip thought of first."""
    from planner.jobfile.job import Proof
    from planner.jobfile.read import load_job
    from planner.steps.prove import setting_values
    from planner.steps.reading_slips import asked_about
    from planner.steps.spin import spin_of
    from planner.steps.typed_spin import four_numbers

    path = folder / "job.toml"
    path.write_text(case.job_text(), encoding="utf-8")
    draw = random.Random(f"first {case.seed} {case.fault} {slip}")
    job = load_job(path)
    if proved:
        job = dataclasses.replace(job, proofs=(Proof(on=None, values=setting_values(job)),))
    given = typed(slipped(case.shows(draw), slip, draw)).split()
    spin, _ = spin_of(
        job, four_numbers(given, job), bobs_g=dict.fromkeys((t[0] for t in case.throws), case.bob)
    )
    asked = asked_about(job, spin)
    first = asked.suspicions[0].slip.kind if asked.suspicions else ""
    return bool(asked.words), first


def main() -> None:
    """Run the benchmark and print its table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 3
    table: dict[str, collections.Counter[str]] = collections.defaultdict(collections.Counter)
    with tempfile.TemporaryDirectory() as name:
        os.environ.setdefault("XDG_STATE_HOME", name)
        for index in range(count):
            kinds = [("right", "", ""), ("right, proved", "", "")]
            kinds += [(fault, fault, "") for fault in (FAULTS[index % len(FAULTS)],)]
            kinds += [(f"typed: {slip}", "", slip) for slip in (SLIPS[index % len(SLIPS)],)]
            for label, fault, slip in kinds:
                case = make_case(seed * 100_000 + index, fault)
                asked, _ = questioned(case, slip, Path(name), proved=label == "right, proved" or bool(slip))
                known = "built for known" if case.built_for is not None else "built for unknown"
                for row in (label, f"{label}, {known}"):
                    table[row]["n"] += 1
                    table[row]["asked"] += asked
    for label in sorted(table):
        print(
            f"{label:36} {table[label]['asked']:5d} of {table[label]['n']:5d} = {table[label]['asked'] / table[label]['n']:.1%}"
        )


if __name__ == "__main__":
    main()
