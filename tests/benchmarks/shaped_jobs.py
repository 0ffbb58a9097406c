"""Random questions with shapes of every kind: is there a plan, and do its walls stand before a solid kernel?

Run ``python -m tests.benchmarks.shaped_jobs 200`` in the project's folder.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from tests.physics.shaped_jobs import broken_walls, random_question


def main() -> None:
    """Print how many questions got a plan, and every rule or wall that one breaks."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    planned = proven = certified = wrong = 0
    start = time.process_time()
    for seed in range(first, first + count):
        problem = random_question(seed)
        outcome = find_plan(problem, seconds=60.0)
        if not outcome.feasible:
            certified += outcome.certificate is not None
            continue
        planned += 1
        proven += outcome.proof.fewest_cuts
        cuts = [each.cut for each in outcome.cuts]
        faults = [*verify(problem, cuts).faults, *broken_walls(problem, cuts)]
        wrong += bool(faults)
        for fault in faults:
            print(f"{seed}: {fault}", flush=True)
    spent = time.process_time() - start
    print(
        f"{count} questions: {planned} plans, {proven} proven fewest, {certified} proven impossible, "
        f"{count - planned - certified} neither; {wrong} plans with a broken rule or wall; {spent:.0f} processor seconds"
    )


if __name__ == "__main__":
    main()
