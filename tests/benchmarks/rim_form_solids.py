"""Random cuts in rims of every form against a solid kernel: how far the formulas are off at most, by kind.

Run ``python -m tests.benchmarks.rim_form_solids 300`` in the project's folder (about a second a cut).  Volume, moment along
the ray and across it, both times the place along the shaft: each off by at most 2e-6 of volume or moment.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.physics.rim_form_solids import by_formula, by_solids, random_cases

WANTED = 2e-6


def main() -> None:
    """Print the greatest difference per kind of cut."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 15
    worst: dict[str, tuple[int, float, float]] = {}
    finer = 0
    start = time.process_time()
    for case in random_cases(count, seed):
        before = time.process_time()
        ours = by_formula(case)
        spent = time.process_time() - before
        theirs = by_solids(case)
        scale = np.array([theirs[0], *[abs(theirs[1])] * 2, *[10.0 * abs(theirs[1])] * 2, 10.0 * theirs[0]])
        off = float(np.max(np.abs(ours - theirs) / scale))
        if off > WANTED:  # the kernel's own error: twice the facets
            finer += 1
            theirs = by_solids(case, 192)
            off = float(np.max(np.abs(ours - theirs) / scale))
        number, so_far, longest = worst.get(case.kind, (0, 0.0, 0.0))
        worst[case.kind] = number + 1, max(so_far, off), max(longest, spent)
        if off > WANTED:
            print(f"{case.name}: off by {off:.1e}; {case.form}; {case.numbers}")
    for kind, (number, off, longest) in worst.items():
        print(f"{kind}: {number} cuts, at most {off:.1e} off; a formula takes {longest:.2f} s at most")
    print(f"{finer} needed twice the facets; {time.process_time() - start:.0f} processor seconds")


if __name__ == "__main__":
    main()
