"""Plan, certificate or neither: random problems of all kinds, every plan verified by the other route.

Run ``python -m tests.benchmarks.planner_wide --first 0 --count 100`` in the project's folder.  The problems are invented
(``tests/benchmarks/wide_problems.py``).  The clock of each is far off, so that counted work decides.  With ``--rows FILE`` a
run goes on where the last one ended (``--stop-after`` seconds), and the counts are those of the whole file; with ``--solids``
every plan is made in solids too (``wide_solids.py``).

With ``--otherwise`` every problem is asked turned by whole dial steps, mirrored, its counterweights in another order and with
tables kept on disk; plans are turned back.  ``--against FILE`` says which plans are others than in the rows of another run.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import math
import os
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np

from planner.correction import store
from planner.correction.budget import Budget
from planner.correction.candidates.blocks import build_blocks
from planner.correction.canonical import canonical
from planner.correction.problem import CorrectionProblem
from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut
from tests.benchmarks.wide_problems import wide_problem
from tests.same_question import ALL_AT_ONCE, back, image


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seconds", type=float, default=60.0, help="outer stop of one problem")
    parser.add_argument("--only", type=int, nargs="*", help="these seeds")
    parser.add_argument("--stop-after", type=float, default=math.inf, help="begin no other problem then")
    parser.add_argument("--solids", action="store_true", help="every plan through a solid kernel too")
    parser.add_argument("--rows", type=Path, help="a file for one line of JSON per problem")
    parser.add_argument(
        "--otherwise", action="store_true", help="turned, mirrored, in another order, tables kept"
    )
    parser.add_argument("--against", type=Path, help="the rows of another run, for the same plans")
    chosen = parser.parse_args()
    if chosen.otherwise:
        with tempfile.TemporaryDirectory() as folder:
            os.environ["BOBPLAN_CACHE"] = folder
            ask(chosen)
    else:
        os.environ["BOBPLAN_CACHE"] = "off"
        ask(chosen)


def ask(chosen: argparse.Namespace) -> None:
    """Ask the problems that are not in the rows yet, and print the counts of all."""
    rows = read_rows(chosen.rows)
    known = {row["seed"] for row in rows}
    until = time.monotonic() + chosen.stop_after
    for seed in chosen.only or range(chosen.first, chosen.first + chosen.count):
        if seed in known or time.monotonic() > until:
            continue
        problem = wide_problem(seed)
        if chosen.otherwise:
            problem = image(problem, ALL_AT_ONCE)
            build_blocks(canonical(problem).problem, Budget())
            store.forget()  # in memory: they are read from the disk
        start = time.process_time()
        outcome = find_plan(problem, seconds=chosen.seconds)
        spent = time.process_time() - start
        if outcome.feasible:
            kind = "plan" if outcome.cuts else "nothing to do"
        else:
            kind = "certificate" if outcome.certificate is not None else "NEITHER"
        cuts = [item.cut for item in outcome.cuts]
        broken = [str(fault) for fault in verify(problem, cuts).faults]
        if chosen.solids and cuts:
            from tests.benchmarks.wide_solids import solid_faults

            broken += solid_faults(problem, cuts, outcome.residual_gmm)
        row = {
            "seed": seed, "kind": kind, "cuts": len(cuts), "bound": outcome.proof.bound_cuts,
            "share": outcome.aim_reached, "fewest": outcome.proof.fewest_cuts, "closest": outcome.proof.closest,
            "seconds": round(spent, 2), "heavy": sum(item.effect.slug_mass_g is not None for item in outcome.cuts),
            "stopped": outcome.proof.stopped_by_time, "broken": broken, "solids": chosen.solids,
            "otherwise": chosen.otherwise, "plan": digest(wide_problem(seed), cuts, otherwise=chosen.otherwise),
        }  # fmt: skip
        rows.append(row)
        if chosen.rows is not None:
            with chosen.rows.open("a", encoding="utf-8") as file:
                file.write(json.dumps(row) + "\n")
        if kind == "NEITHER" or broken or spent > 10.0 or (chosen.only and cuts):
            print(json.dumps(row), flush=True)
    print(summary(rows))
    if chosen.against is not None:
        print(compared(rows, read_rows(chosen.against)))


def read_rows(file: Path | None) -> list[dict[str, Any]]:
    """Return the rows of a file; none where there is no file."""
    if file is None or not file.exists():
        return []
    return [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]


def digest(problem: CorrectionProblem, cuts: list[Cut], *, otherwise: bool) -> str:
    """Return a sum over the cuts, those of a problem seen otherwise turned back."""
    plain = sorted(repr(back(cut, ALL_AT_ONCE if otherwise else "", problem)) for cut in cuts)
    return hashlib.sha256("\n".join(plain).encode()).hexdigest()[:16]


def compared(rows: list[dict[str, Any]], others: list[dict[str, Any]]) -> str:
    """Return in words which answers are others than in another run; what the clock decided in either is left out."""
    known = {row["seed"]: row for row in others}
    both = [(row, known[row["seed"]]) for row in rows if row["seed"] in known]
    counted = [(row, other) for row, other in both if not (row["stopped"] or other["stopped"])]
    same = ("kind", "plan", "bound", "fewest", "closest")
    differ = [row["seed"] for row, other in counted if any(row.get(key) != other.get(key) for key in same)]
    clock = [row["seed"] for row, other in both if row["stopped"] or other["stopped"]]
    return f"{len(counted)} answers compared, {len(differ)} others: {differ}; the clock decided: {clock}"


def summary(rows: list[dict[str, Any]]) -> str:
    """Return the counts in words."""
    kinds: Counter[str] = Counter(row["kind"] for row in rows)
    plans = [row for row in rows if row["kind"] == "plan"]
    kinds["fewest proven"] = sum(row["fewest"] for row in plans)
    kinds["closest"] = sum(row["closest"] for row in plans)
    kinds["stopped by time"] = sum(row["stopped"] for row in rows)
    kinds["broken rule"] = sum(bool(row["broken"]) for row in rows)
    kinds["plans made in solids"] = sum(row["solids"] for row in plans)
    times = [row["seconds"] for row in rows]
    lines = [
        f"{len(rows)} problems: " + ", ".join(f"{name} {count}" for name, count in sorted(kinds.items()))
    ]
    if times:
        lines.append(
            f"processor seconds: median {np.median(times):.2f}, p95 {np.quantile(times, 0.95):.2f}, max {max(times):.2f}"
        )
    lines.append(f"neither: {[row['seed'] for row in rows if row['kind'] == 'NEITHER']}")
    return "\n".join(lines)


if __name__ == "__main__":
    main()
