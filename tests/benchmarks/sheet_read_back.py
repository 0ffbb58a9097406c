"""Fifty random sheets read back from their PDF: ``python tests/benchmarks/sheet_read_back.py [count] [first seed]``.

Every dial, stop and radius, every drawing on a card, the overview, covered letters and page edges, over all conventions with
and without an offset of the drill (see tests/unit/test_paper_sheet.py, which runs a slice).  All data are invented.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(ROOT / "tests" / "physics")]

import paper_checks  # noqa: E402
import sheet_samples  # noqa: E402

from planner.present.pages.sheet import sheet_content  # noqa: E402
from planner.present.to_paper import PAPERS, printed_pages  # noqa: E402
from tests.unit.test_paper_sheet import faults_of  # noqa: E402


def main() -> int:
    """Return how many sheets have faults."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    bad, pages, offsets, making = 0, 0, 0, 0.0
    for seed in range(first, first + count):
        told = sheet_samples.sample(f"random {seed}")
        offsets += told.answer.job.machine.drill_offset_deg != 0.0
        start = time.process_time()
        made = printed_pages("sheet", sheet_content(told), ending=".pdf", paper=PAPERS[seed % 2], title="t")
        making += time.process_time() - start
        pages += made.pages
        faults = faults_of(told, paper_checks.read_pages(made.data))
        if faults:
            bad += 1
            print(f"seed {seed}: {faults[:5]}", flush=True)
    print(
        f"{count} sheets, {offsets} with an offset of the drill, {pages} pages, {bad} with faults; "
        f"{making / count:.2f} s of processor time to make one"
    )
    return bad


if __name__ == "__main__":
    sys.exit(min(main(), 1))
