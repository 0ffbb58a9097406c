"""Fifty random sheets looked at for texts that cover one another: ``python tests/benchmarks/sheet_overlaps.py [count]``.

Prints the sheets with faults, the number of pages, and the time per sheet.  All data are invented (see plan_samples).
"""

from __future__ import annotations

import collections
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(ROOT / "tests" / "physics")]

import sheet_samples  # noqa: E402

from planner.present.sheet.pages import sheet_figures  # noqa: E402
from planner.present.sheet.paper import PAPERS  # noqa: E402
from tests.unit.test_sheet_pages import faults_of  # noqa: E402


def main() -> int:
    """Return how many sheets have faults."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    bad, pages = 0, collections.Counter[int]()
    start = time.process_time()
    for seed in range(count):
        told = sheet_samples.sample(f"random {seed}")
        figures = sheet_figures(told, paper=PAPERS[seed % 2])
        faults = faults_of(figures)
        pages[len(figures)] += 1
        if faults:
            bad += 1
            print(f"seed {seed}: {faults}")
    each = (time.process_time() - start) / count
    print(f"{count} sheets, {bad} with faults; pages {dict(sorted(pages.items()))}; {each:.2f} s a sheet")
    return bad


if __name__ == "__main__":
    sys.exit(min(main(), 1))
