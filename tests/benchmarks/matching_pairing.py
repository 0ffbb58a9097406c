"""How long pairing takes, and how often the optimum is proven.  Run: ``python tests/benchmarks/matching_pairing.py``.

Random sets (invented): pistons, pins, small ends and big ends spread by 1, 0.5, 1.2 and 1.5 g, weighed to 0.1 g; the
second half of the sets with one or two outliers of 3 to 8 g.
"""

from __future__ import annotations

import itertools
import random
import statistics
import sys
import time

from planner.engine.matching.match import PairingRequest, pair_parts


def random_set(
    dice: random.Random, count: int, rods: int, tolerance_g: float, outliers: int
) -> PairingRequest:
    kinds = [
        [round(dice.gauss(mean, spread), 1) for _ in range(count)]
        for mean, spread in ((412, 1.0), (118, 0.5), (172, 1.2), (442, 1.5))
    ]
    for _ in range(outliers):
        kinds[dice.randrange(4)][dice.randrange(count)] += round(dice.choice((-1, 1)) * dice.uniform(3, 8), 1)
    names = tuple(str(k + 1) for k in range(count))
    return PairingRequest(
        piston_g=tuple(kinds[0]),
        pin_g=tuple(kinds[1]),
        small_end_g=tuple(kinds[2]),
        big_end_g=tuple(kinds[3]),
        cylinders=names,
        throws=tuple(names[k : k + rods] for k in range(0, count, rods)),
        tolerance_g=tolerance_g,
    )


def main(sets: int = 20) -> None:
    """Print a line per size and tolerance; more time than a shop would give, so that every set is finished."""
    print("cylinders rods tolerance g | processor s: median    p90    max | proven | in 2 s | widest gap g")
    for count, rods in itertools.product((8, 10, 12), (1, 2)):
        for tolerance in (0.0, 0.5, 1.0):
            dice = random.Random(count * 10 + rods)
            seconds, proven, gap = [], 0, 0.0
            for number in range(sets):
                request = random_set(
                    dice, count, rods, tolerance, 0 if number < sets // 2 else 1 + number % 2
                )
                start = time.process_time()
                found = pair_parts(request, seconds=20.0)
                seconds.append(time.process_time() - start)
                proven += found.proven
                gap = max(gap, found.ground_g - found.at_least_g)
            seconds.sort()
            print(
                f"{count:9d} {rods:4d} {tolerance:11.1f} | {statistics.median(seconds):19.3f} "
                f"{seconds[int(0.9 * sets)]:6.2f} {seconds[-1]:6.2f} | {proven:3d}/{sets} "
                f"| {sum(each < 2.0 for each in seconds):3d}/{sets} | {gap:.1f}",
                flush=True,
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
