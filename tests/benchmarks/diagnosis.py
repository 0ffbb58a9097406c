"""How often the right fault is named on real plans.

``python -m tests.benchmarks.diagnosis [histories per fault] [random crankshafts] [seed] [noise]`` (PYTHONPATH=.:tests)

Per fault: histories in which the fault lies at least six standard deviations from "nothing is wrong" (nearer than that no
method can find it at a false alarm in fifty); right and alone; truth among what fits; a wrong cause alone; said to be
fine; how long the list is.  ``noise`` multiplies all errors, in the shop and in the file; ``trim`` in its place plans small
rests to a tight limit.  Simulation: `tests/simulator`.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from simulator.faults import FAULTS, STANDARD, Case, History, cases, history, times

from planner.steps import diagnosis

FAR = 6.0


def histories(made: list[Case], fault: str, count: int, draw: random.Random) -> list[History]:
    """So many histories far enough from fine (all of them where nothing is wrong), going round the cases."""
    found: list[History] = []
    tried = 0
    while len(found) < count and tried < 20 * count:
        each = history(made[tried % len(made)], fault, draw)
        tried += 1
        if each is not None and (fault == "fine" or each.distance >= FAR):
            found.append(each)
    return found


def remember_slips() -> None:
    """Let the slips of a case be worked out once: they are the same in all its histories."""
    kept: dict[tuple[str, int], object] = {}

    def remembering(name: str) -> None:
        work_out = getattr(diagnosis, name)

        def of(job: object, cuts: object, **keys: object) -> object:
            # a case's job lives as long as the run, so its identity is its own
            key = (name, id(job))
            if key not in kept:
                kept[key] = work_out(job, cuts, **keys)
            return kept[key]

        setattr(diagnosis, name, of)

    remembering("possible_slips")
    remembering("double_slips")


def main() -> None:
    """Print one line per fault."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    crankshafts = int(sys.argv[2]) if len(sys.argv) > 2 else 30
    seed = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    noise = sys.argv[4] if len(sys.argv) > 4 else "1"
    faults = sys.argv[5].split("/") if len(sys.argv) > 5 else FAULTS
    start = time.perf_counter()
    remember_slips()
    errors = STANDARD if noise == "trim" else times(STANDARD, float(noise))
    with tempfile.TemporaryDirectory() as folder:
        made = list(cases(Path(folder), count=crankshafts, errors=errors, trim=noise == "trim"))
        print(
            f"{len(made)} plans, {sum(len(c.steps) for c in made)} cuts, {time.perf_counter() - start:.0f} s"
        )
        print(
            f"{'fault':<22}{'n':>5}{'alone':>8}{'listed':>8}{'wrong alone':>12}{'said fine':>10}{'list':>6}"
            f"{'settings first':>15}  otherwise"
        )
        for fault in faults:
            told = histories(made, fault, count, random.Random(f"{fault} {seed}"))
            if not told:
                print(f"{fault:<22}{0:>5}")
                continue
            n = len(told)
            fine = [each for each in told if each.found.good]
            length = sum(len(each.said) for each in told) / n
            early = sum(each.said[:1] != () and each.said[0][0] in _SETTINGS for each in told)
            missed = Counter(
                "/".join(dict.fromkeys(s[0] for s in each.said)) or "nothing"
                for each in told
                if not each.listed
            )
            print(
                f"{fault:<22}{n:>5}{sum(e.alone for e in told) / n:>8.1%}{sum(e.listed for e in told) / n:>8.1%}"
                f"{sum(e.wrong_alone for e in told) / n:>12.1%}{len(fine) / n:>10.1%}{length:>6.1f}"
                f"{early / n:>15.1%}  {dict(missed.most_common(3))}",
                flush=True,
            )
    print(f"{time.perf_counter() - start:.0f} s")


_SETTINGS = ("swapped spot", "reversed direction", "swapped planes", "zero mark", "several")

if __name__ == "__main__":
    main()
