"""How fast the planner is on an ordinary V8 with one drill: tables made, tables kept.

Run ``python -m tests.benchmarks.planner_speed`` in the project's folder.  The crankshafts are invented
(``tests/generator.py``, cross-plane V8, one drill, rim holes).  Times are processor seconds of the whole search,
without the import of numpy and scipy.
"""

from __future__ import annotations

import argparse
import dataclasses
import os
import tempfile
import time

import numpy as np
import scipy.optimize  # noqa: F401  loaded beforehand: its import is not what is measured

from planner.correction import store
from planner.correction.search.find_plan import find_plan
from tests.generator import random_case


def main() -> None:
    """Print the medians."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=40)
    count = parser.parse_args().count
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_CACHE_HOME"] = folder
        os.environ.pop("BOBPLAN_CACHE", None)
        rows = []
        for seed in range(count):
            case = random_case(seed, feasible=True, slugs=False, layout="V8 cross-plane")
            shop = dataclasses.replace(
                case.problem.shop, drills_mm=case.problem.shop.drills_mm[:1], allow=("rim hole",)
            )
            problem = dataclasses.replace(case.problem, shop=shop)
            row: list[float] = []
            cuts = 0
            for again in ("made", "kept on disk", "kept in memory"):
                if again != "kept in memory":
                    store.forget()
                first: list[float] = []
                start = time.process_time()

                def told(text: str, first: list[float] = first, start: float = start) -> None:
                    if text.startswith("a plan") and not first:
                        first.append(time.process_time() - start)

                outcome = find_plan(problem, seconds=60.0, progress=told)
                row += [first[0] if first else np.nan, time.process_time() - start]
                cuts = len(outcome.cuts)
            rows.append((cuts, row))
    for name, chosen in (("all", rows), ("three cuts or more", [row for row in rows if row[0] >= 3])):
        if not chosen:
            continue
        times = np.array([row[1] for row in chosen])
        median, tenth = np.nanmedian(times, axis=0), np.nanquantile(times, 0.9, axis=0)
        print(f"{name}: {len(chosen)} crankshafts; processor seconds, median (p90)")
        for column, what in enumerate(("tables made", "tables kept on disk", "tables kept in memory")):
            print(
                f"  {what}: first plan {median[2 * column]:.2f} ({tenth[2 * column]:.2f}), "
                f"finished {median[2 * column + 1]:.2f} ({tenth[2 * column + 1]:.2f})"
            )


if __name__ == "__main__":
    main()
