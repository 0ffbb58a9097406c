"""How long a plan takes, as a multiple of what it takes to import the libraries: tables made, and tables kept.

Run ``python -m tests.benchmarks.planner_speed --count 60`` in the project's folder.  The problems are invented
(``tests/benchmarks/wide_problems.py``): 2 to 14 counterweights, one to six drills, grids from 0.1 mm to 1 mm, limits of every
kind, 1 to 60 times the limit.  ``--kinds rim`` (the default) drills from the rim only, ``--kinds all`` uses the cuts that
each problem allows, blind face holes and slugs too.  A time is the processor time of one whole search; one is the
processor time of ``import numpy, scipy.optimize, shapely`` in a process of its own (median of seven).

With ``--command`` the whole command ``bobplan plan examples/cross_plane_v8`` is measured, tables and byte code kept.
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import scipy.optimize  # noqa: F401  loaded beforehand: its import is what the times are measured in
import shapely  # noqa: F401

from planner.correction import store
from planner.correction.search.find_plan import find_plan
from tests.benchmarks.wide_problems import wide_problem

ROOT = Path(__file__).parents[2]
LIBRARIES = "import numpy, scipy.optimize, shapely"
FINE_MM = 0.101


def processor_seconds(command: list[str], again: int = 7) -> float:
    """Return the median processor time of a process [s]; the first run warms the disk and does not count."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    times = []
    for _ in range(again + 1):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd=ROOT, env=environment)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        times.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return float(np.median(times[1:]))


def whole_command() -> float:
    """Return the processor time of the whole plan command for a V8, tables kept [s]."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_CACHE_HOME"] = folder
        os.environ.pop("BOBPLAN_CACHE", None)
        job = Path(folder) / "v8"
        shutil.copytree(ROOT / "examples" / "cross_plane_v8", job)
        return processor_seconds([sys.executable, "-m", "planner", "plan", str(job)])


def searches(seed: int, kinds: str) -> dict[str, object]:
    """Return the processor times of one problem [s]: tables made, tables kept on disk."""
    problem = wide_problem(seed)
    if kinds == "rim":
        problem = dataclasses.replace(problem, shop=dataclasses.replace(problem.shop, allow=("rim hole",)))
    times = []
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_CACHE_HOME"] = folder
        os.environ.pop("BOBPLAN_CACHE", None)
        for _ in ("made", "kept"):
            store.forget()
            start = time.process_time()
            outcome = find_plan(problem, seconds=3600.0)
            times.append(time.process_time() - start)
    return {
        "seed": seed, "made": times[0], "kept": times[1], "fine": problem.shop.depth_step_mm < FINE_MM,
        "counterweights": len(problem.counterweights), "drills": len(problem.shop.drills_mm),
        "cuts": len(outcome.cuts),
    }  # fmt: skip


def main() -> None:
    """Print the ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--kinds", choices=("rim", "all"), default="rim")
    parser.add_argument("--command", action="store_true", help="the whole command only")
    parser.add_argument("--rows", type=Path, help="a file for one line of JSON per problem")
    chosen = parser.parse_args()
    one = processor_seconds([sys.executable, "-c", LIBRARIES])
    print(f"one is {one:.2f} s: {LIBRARIES}")
    if chosen.command:
        print(f"bobplan plan examples/cross_plane_v8, tables kept: {whole_command() / one:.2f}")
        return
    rows = []
    for seed in range(chosen.first, chosen.first + chosen.count):
        row = searches(seed, chosen.kinds)
        rows.append(row)
        if chosen.rows is not None:
            with chosen.rows.open("a", encoding="utf-8") as file:
                file.write(json.dumps({**row, "one": one}) + "\n")
    print(summary(rows, one))


def summary(rows: list[dict[str, object]], one: float) -> str:
    """Return the figures in words."""
    lines = []
    for name, some in (
        ("all", rows),
        ("grid of 0.1 mm", [row for row in rows if row["fine"]]),
        ("coarser grids", [row for row in rows if not row["fine"]]),
        ("8 and more counterweights", [row for row in rows if int(str(row["counterweights"])) >= 8]),
    ):
        for when in ("made", "kept"):
            ratios = np.array([float(str(row[when])) for row in some]) / one
            if ratios.size:
                lines.append(
                    f"{name}: {ratios.size} problems, tables {when}: median {np.median(ratios):.2f}, "
                    f"p95 {np.quantile(ratios, 0.95):.1f}, greatest {ratios.max():.1f}"
                )
    return "\n".join(lines)


if __name__ == "__main__":
    main()
