"""Random questions with shapes of every kind: is there a plan, and do its walls stand before a solid kernel?

Run ``python -m tests.benchmarks.shaped_jobs 200`` in the project's folder; ``... 100 0 rims`` lets rims be turned, milled and
bevelled too, and holds every such cut of a plan against the kernel's moment.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from tests.physics.shaped_jobs import broken_walls, off_by, random_question, with_rim_cuts


def main() -> None:
    """Print how many questions got a plan, and every rule or wall that one breaks."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    rims = len(sys.argv) > 3 and sys.argv[3] == "rims"
    used, furthest = 0, 0.0
    planned = proven = certified = wrong = 0
    start = time.process_time()
    for seed in range(first, first + count):
        problem = with_rim_cuts(random_question(seed), seed) if rims else random_question(seed)
        outcome = find_plan(problem, seconds=60.0)
        if not outcome.feasible:
            certified += outcome.certificate is not None
            continue
        planned += 1
        proven += outcome.proof.fewest_cuts
        cuts = [each.cut for each in outcome.cuts]
        faults = [*verify(problem, cuts).faults, *broken_walls(problem, cuts)]
        wrong += bool(faults)
        for cut in cuts:
            if cut.on_rim:
                used += 1
                furthest = max(furthest, off_by(problem, cut))
        for fault in faults:
            print(f"{seed}: {fault}", flush=True)
    if rims:
        print(f"{used} cuts of the rim in the plans; moment off the kernel's by {furthest:.1e} at most")
    spent = time.process_time() - start
    print(
        f"{count} questions: {planned} plans, {proven} proven fewest, {certified} proven impossible, "
        f"{count - planned - certified} neither; {wrong} plans with a broken rule or wall; {spent:.0f} processor seconds"
    )


if __name__ == "__main__":
    main()
