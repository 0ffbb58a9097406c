"""Plan, certificate or neither: random problems of all kinds, every plan verified by the other route.

Run ``python -m tests.benchmarks.planner_wide --first 0 --count 100`` in the project's folder.  The problems are invented
(``tests/benchmarks/wide_problems.py``).  The clock of each is far off, so that counted work decides.
"""

from __future__ import annotations

import argparse
import json
import os
import time
from collections import Counter
from pathlib import Path

import numpy as np

from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from tests.benchmarks.wide_problems import wide_problem


def main() -> None:
    """Print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seconds", type=float, default=60.0, help="outer stop of one problem")
    parser.add_argument("--only", type=int, nargs="*", help="these seeds")
    parser.add_argument("--rows", type=Path, help="a file for one line of JSON per problem")
    chosen = parser.parse_args()
    os.environ["BOBPLAN_CACHE"] = "off"
    kinds: Counter[str] = Counter()
    times = []
    for seed in chosen.only or range(chosen.first, chosen.first + chosen.count):
        problem = wide_problem(seed)
        start = time.process_time()
        outcome = find_plan(problem, seconds=chosen.seconds)
        times.append(time.process_time() - start)
        if outcome.feasible:
            kind = "plan" if outcome.cuts else "nothing to do"
        else:
            kind = "certificate" if outcome.certificate is not None else "NEITHER"
        kinds[kind] += 1
        kinds["fewest proven"] += outcome.feasible and outcome.proof.fewest_cuts
        kinds["closest"] += outcome.feasible and outcome.proof.closest
        kinds["stopped by time"] += outcome.proof.stopped_by_time
        broken = bool(verify(problem, [item.cut for item in outcome.cuts]).faults)
        kinds["broken rule"] += broken
        row = {
            "seed": seed, "kind": kind, "cuts": len(outcome.cuts), "bound": outcome.proof.bound_cuts,
            "share": outcome.aim_reached, "closest": outcome.proof.closest, "seconds": round(times[-1], 2),
            "heavy": sum(item.effect.slug_mass_g is not None for item in outcome.cuts),
            "stopped": outcome.proof.stopped_by_time, "broken": broken,
        }  # fmt: skip
        if chosen.rows is not None:
            with chosen.rows.open("a", encoding="utf-8") as file:
                file.write(json.dumps(row) + "\n")
        if kind == "NEITHER" or broken or times[-1] > 10.0 or (chosen.only and outcome.cuts):
            print(json.dumps(row), flush=True)
    print(", ".join(f"{name} {count}" for name, count in sorted(kinds.items())))
    print(
        f"processor seconds: median {np.median(times):.2f}, p95 {np.quantile(times, 0.95):.2f}, max {max(times):.2f}"
    )


if __name__ == "__main__":
    main()
