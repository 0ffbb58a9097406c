"""Random jobs and command lines by the thousand: `python -m tests.benchmarks.fuzz 100000 --workers 2`.

Prints what was found; every finding can be run again by its number: `--only 4711 --show`.
"""

from __future__ import annotations

import argparse
import multiprocessing
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.fuzz.harness import Outcome, run_case


def _some(given: tuple[int, int, int, bool]) -> tuple[Counter[str], list[Outcome], float]:
    first, last, seed, sane = given
    codes: Counter[str] = Counter()
    found = []
    start = time.process_time()
    with tempfile.TemporaryDirectory() as folder:
        for number in range(first, last):
            outcome = run_case(number, seed=seed, sane=sane, folder=Path(folder))
            codes[str(outcome.code)] += 1
            if outcome.broken:
                found.append(outcome)
    return codes, found, time.process_time() - start


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("count", type=int, nargs="?", default=1000)
    parser.add_argument("--start", type=int, default=0)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--sane", action="store_true", help="jobs and commands that are most often right")
    parser.add_argument("--only", type=int)
    parser.add_argument("--show", action="store_true")
    asked = parser.parse_args()
    if asked.only is not None:
        outcome = run_case(asked.only, seed=asked.seed, sane=asked.sane)
        print(outcome.code, outcome.broken, outcome.arguments)
        print(outcome.shown)
        if asked.show:
            print(outcome.job.decode("utf-8", errors="replace"))
        return
    size = 50
    last = asked.start + asked.count
    parts = [
        (first, min(first + size, last), asked.seed, asked.sane) for first in range(asked.start, last, size)
    ]
    codes: Counter[str] = Counter()
    kinds: Counter[str] = Counter()
    seconds = 0.0
    with multiprocessing.get_context("spawn").Pool(asked.workers, maxtasksperchild=20) as pool:
        for some, found, took in pool.imap_unordered(_some, parts):
            codes += some
            seconds += took
            for outcome in found:
                kinds[outcome.broken[0]] += 1
                last_line = (outcome.shown.strip().splitlines() or [""])[0][:160]
                print(
                    f"case {outcome.number}: {outcome.broken} {outcome.arguments!r:.160} {last_line}",
                    flush=True,
                )
    print(
        f"{sum(codes.values())} cases, {seconds:.0f} s of processor time; exit codes {dict(codes)}; broken {dict(kinds)}"
    )


if __name__ == "__main__":
    main()
