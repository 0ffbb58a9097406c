"""The same plan for the same question, whatever is around it.

Run ``python -m tests.benchmarks.planner_same --count 20 --busy 8`` in the project's folder.  Every problem (invented, see
``tests/benchmarks/wide_problems.py``) is planned as it is; turned by whole dial steps, mirrored and with its counterweights in
another order (`tests.same_question`); with tables kept on disk twice and without any; in processes with other hash
seeds, while so many other processes keep the computer busy.

With ``--forms`` nothing is planned: only whether every image has the very form that the search is asked in, to the last bit.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager

from planner.correction import store
from planner.correction.problem import CorrectionProblem
from planner.correction.search.find_plan import find_plan
from tests.benchmarks.wide_problems import wide_problem
from tests.same_question import IMAGES, back, image, other_forms

SECONDS = 3600.0
HASH_SEEDS = ("1", "4242")


def planned(problem: CorrectionProblem, name: str = "") -> list[str]:
    """Return the cuts of a problem's plan as text, those of an image turned back."""
    outcome = find_plan(image(problem, name) if name else problem, seconds=SECONDS)
    if outcome.proof.stopped_by_time:
        raise AssertionError("the clock decided")
    cuts = [item.cut for item in outcome.cuts]
    return sorted(repr(back(cut, name, problem) if name else cut) for cut in cuts)


def in_another_process(seed: int, hash_seed: str) -> list[str]:
    """Return the same from a process with its own hash seed."""
    script = (
        "from tests.benchmarks.planner_same import planned; "
        "from tests.benchmarks.wide_problems import wide_problem; "
        f"print('\\n'.join(planned(wide_problem({seed}))))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", script],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONHASHSEED": hash_seed},
    )
    return [line for line in ran.stdout.splitlines() if line]


@contextmanager
def busy(count: int) -> Iterator[None]:
    """Keep the computer busy with so many processes."""
    others = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(count)]
    try:
        yield
    finally:
        for other in others:
            other.kill()
            other.wait()


def differences(seed: int, *, hash_seeds: tuple[str, ...] = HASH_SEEDS) -> list[str]:
    """Return in which surroundings a problem gets another plan."""
    problem = wide_problem(seed)
    os.environ["BOBPLAN_CACHE"] = "off"
    store.forget()
    plain = planned(problem)
    found = [name for name in IMAGES if planned(problem, name) != plain]
    with tempfile.TemporaryDirectory() as folder:
        os.environ["BOBPLAN_CACHE"] = folder
        for when in ("tables made", "tables kept"):
            store.forget()
            if planned(problem) != plain:
                found.append(when)
    os.environ["BOBPLAN_CACHE"] = "off"
    found += [f"hash seed {each}" for each in hash_seeds if in_another_process(seed, each) != plain]
    return found


def main() -> None:
    """Print which problems got another plan."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=20)
    parser.add_argument("--busy", type=int, default=8, help="processes that keep the computer busy")
    parser.add_argument("--forms", action="store_true", help="only the forms of the questions")
    chosen = parser.parse_args()
    others: Counter[str] = Counter()
    what = "form" if chosen.forms else "plan"
    with busy(0 if chosen.forms else chosen.busy):
        for seed in range(chosen.first, chosen.first + chosen.count):
            found = other_forms(wide_problem(seed)) if chosen.forms else differences(seed)
            others.update(found)
            if found:
                print(f"seed {seed}: another {what} {', '.join(found)}", flush=True)
    print(f"{chosen.count} problems; another {what}: {dict(others) or 'none'}")


if __name__ == "__main__":
    main()
